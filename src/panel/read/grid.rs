//! Height maps as CSV: a row for each node with its place and height. Rows stand in any order; a node
//! that has no row is not on the panel.

use super::table::Table;
use super::{ReadError, ReadErrorKind, load};
use crate::panel::mesh::border::around;
use crate::panel::mesh::extend::extend;
use crate::panel::mesh::raster::Grid;
use crate::panel::{HeightMap, MAX_NODES, Outline};
use std::path::Path;

/// Share of a step by which a place may miss its node: what rounding to few digits does.
const SLACK: f64 = 0.02;
/// Nodes kept free beyond each side.
const MARGIN: usize = 2;

/// A height map from a table.
#[derive(Debug, Clone, PartialEq)]
pub struct HeightTable {
    /// The heights; the outline runs through the outermost nodes given.
    pub heights: HeightMap,
    /// Nodes given.
    pub given: usize,
    /// Nodes of the full rectangle that have no row.
    pub missing: usize,
    /// What is worth saying, in words.
    pub notes: Vec<String>,
}

/// Reads a height map: columns `x_mm,y_mm,z_mm`, or with `_cm`, `_m`, `_in`.
///
/// See the example of [`height_map_from_csv`].
///
/// # Errors
/// A file that cannot be read or is too large, and whatever [`height_map_from_csv`] refuses.
pub fn read_height_map(path: &Path) -> Result<HeightTable, ReadError> {
    height_map_from_csv(&path.display().to_string(), &load(path)?)
}

/// Reads a height map from the bytes of a table; `name` is for messages. The step is found from the
/// places and must be the same along x and y; a place may miss its node by 2 % of it.
///
/// # Errors
/// A header without units or with unknown columns, a row of another length, a number that is not finite
/// or beyond 1 km, places off a regular grid, a place given twice, fewer than 3 x 3 nodes, more than
/// [`MAX_NODES`], no three neighbouring nodes that span an area.
///
/// # Example
/// ```
/// use trochoid::panel::read::height_map_from_csv;
/// # fn main() -> Result<(), trochoid::panel::read::ReadError> {
/// // Nine nodes 10 mm apart on a plane that rises by 1 mm a step of x: at x = 5 mm it is 0.5 mm high.
/// let mut text = String::from("x_mm,y_mm,z_mm\n");
/// for k in 0..9 {
///     text.push_str(&format!("{},{},{}\n", 10 * (k % 3), 10 * (k / 3), k % 3));
/// }
/// let table = height_map_from_csv("ramp.csv", text.as_bytes())?;
/// assert_eq!((table.given, table.missing), (9, 0));
/// assert!((table.heights.step() - 0.01).abs() < 1e-12);
/// assert!((table.heights.height_at(5e-3, 0.01) - 0.5e-3).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
pub fn height_map_from_csv(name: &str, bytes: &[u8]) -> Result<HeightTable, ReadError> {
    let table = Table::read(name, bytes, ["x", "y", "z"])?;
    let fail = |kind, what: String| ReadError::new(name, kind, what);
    let x = Axis::of(name, "x", table.rows.iter().map(|(r, line)| (r[0], *line)).collect())?;
    let y = Axis::of(name, "y", table.rows.iter().map(|(r, line)| (r[1], *line)).collect())?;
    if (x.step - y.step).abs() > SLACK * x.step.min(y.step) {
        let what = format!("steps of {:.4} mm along x and {:.4} mm along y", x.step * 1e3, y.step * 1e3);
        return Err(fail(ReadErrorKind::Content, what).allowed("the same step along both"));
    }
    // The mean; half the difference is far below the slack over the whole map, or the next check fails.
    let step = 0.5 * (x.step + y.step);
    let most = x.count.max(y.count) as f64;
    if (x.step - step).abs() * most > SLACK * step {
        let what = format!("steps of {:.7} mm along x and {:.7} mm along y", x.step * 1e3, y.step * 1e3);
        return Err(fail(ReadErrorKind::Content, what).allowed("the same step along both, to the map's far end"));
    }
    let count = (x.count + 2 * MARGIN, y.count + 2 * MARGIN);
    if count.0.saturating_mul(count.1) > MAX_NODES {
        let what = format!("{} x {} nodes at a step of {:.4} mm", x.count, y.count, step * 1e3);
        return Err(fail(ReadErrorKind::Claim, what).allowed(format!("at most {MAX_NODES}, margin included")));
    }
    let margin = MARGIN as f64 * step;
    let grid = Grid { origin: (x.low - margin, y.low - margin), step, count };
    let mut height = vec![f64::NEG_INFINITY; grid.nodes()];
    let mut from = vec![0_usize; grid.nodes()];
    for (row, line) in &table.rows {
        let node = (y.index(row[1]) + MARGIN) * count.0 + x.index(row[0]) + MARGIN;
        if height[node].is_finite() {
            let what = format!(
                "the place ({:.4}, {:.4}) mm stands in line {} already",
                row[0] * 1e3,
                row[1] * 1e3,
                from[node]
            );
            return Err(fail(ReadErrorKind::Content, what).line(*line).allowed("each place once"));
        }
        height[node] = row[2];
        from[node] = *line;
    }
    let on: Vec<bool> = height.iter().map(|z| z.is_finite()).collect();
    let loops = around(&grid, &on, 0.0);
    if loops.is_empty() {
        let what = "no three neighbouring nodes have heights, so there is no area";
        return Err(fail(ReadErrorKind::Content, what.into()).allowed("a map with an area"));
    }
    let given = table.rows.len();
    let missing = x.count * y.count - given;
    let mut notes = vec![format!("step {:.4} mm, {} x {} nodes", step * 1e3, x.count, y.count)];
    if missing > 0 {
        notes.push(format!("{missing} node(s) have no row: they are not on the panel"));
    }
    let content = |e: crate::RangeError| ReadError::new(name, ReadErrorKind::Content, e.to_string());
    let outline = Outline::new(loops).map_err(content)?;
    extend(count, &mut height);
    let heights = HeightMap::new(grid.origin, step, count, height, outline).map_err(content)?;
    Ok(HeightTable { heights, given, missing, notes })
}

/// The places along one axis.
#[derive(Debug)]
struct Axis {
    low: f64,
    step: f64,
    count: usize,
}

impl Axis {
    fn of(name: &str, axis: &str, mut places: Vec<(f64, usize)>) -> Result<Self, ReadError> {
        places.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let fail = |what: String| ReadError::new(name, ReadErrorKind::Content, what);
        let ends = places.first().zip(places.last()).map(|(a, b)| (a.0, b.0));
        let Some((low, high)) = ends.filter(|(a, b)| b > a) else {
            return Err(fail(format!("{} row(s), all with the same {axis}", places.len()))
                .allowed("3 or more places along x and y"));
        };
        let span = high - low;
        // Places closer than a millionth of the span are one place, written with rounding.
        let gaps = places.windows(2).filter(|p| p[1].0 - p[0].0 > 1e-6 * span);
        let least = gaps.map(|p| p[1].0 - p[0].0).fold(span, f64::min);
        let steps = (span / least).round();
        let step = span / steps;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to a million
        let count = steps as usize + 1;
        if let Some((at, line)) = places.iter().find(|(p, _)| {
            let k = (p - low) / step;
            (k - k.round()).abs() > SLACK
        }) {
            let what = format!(
                "{axis} = {:.4} mm is off the grid that starts at {:.4} mm with a step of {:.4} mm (from the smallest gap)",
                at * 1e3,
                low * 1e3,
                step * 1e3
            );
            return Err(fail(what).line(*line).allowed("places on a regular grid, to 2 % of its step"));
        }
        if count < 3 {
            return Err(fail(format!("{count} places along {axis}")).allowed("3 or more"));
        }
        Ok(Self { low, step, count })
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // within the axis: checked in `of`
    fn index(&self, at: f64) -> usize {
        (((at - self.low) / self.step).round().max(0.0) as usize).min(self.count - 1)
    }
}
