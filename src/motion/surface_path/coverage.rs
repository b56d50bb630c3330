//! What a path reaches: covered shares, revisit times, turns, lifts, lengths and times.
//!
//! A place counts as covered where the pad centre comes within the pad's reach of it, measured straight
//! through space, with the pad on. Contact is not asked about: a pad that overhangs, or bridges a hollow,
//! reaches what it may not touch.

use super::ring::to_piece;
use super::sections::cell_area;
use super::{PathError, SurfacePath, is_on};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::reduce::map_indexed;
use crate::math::statistics::percentile;
use crate::panel::Surface;

/// Most cells of the grid on which coverage is counted.
const MAX_CELLS: f64 = 4e6;
/// Cells at which revisits are timed: a subset of the grid where that has more.
const TIMED_CELLS: f64 = 20_000.0;
/// Most intervals kept.
const MAX_INTERVALS: usize = 20_000_000;

/// Times between the end of one visit of the pad at a place and the start of the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Revisits {
    /// Median over all places and visits \[s\].
    pub median: f64,
    /// Longest \[s\].
    pub longest: f64,
    /// Mean \[s\].
    pub mean: f64,
    /// Number of intervals.
    pub count: usize,
}

/// What a path covers, and what it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathReport {
    /// Covered share of the area to be worked, by area on the surface \[1\].
    pub covered_share: f64,
    /// The same of the area whose clearance is at least the inset \[1\]; `None` where there is none.
    pub covered_share_inset: Option<f64>,
    /// Area to be worked, on the surface \[m²\].
    pub workable_area: f64,
    /// Its part whose clearance is at least the inset \[m²\].
    pub inset_area: f64,
    /// Revisit times; `None` where no place is visited twice.
    pub revisits: Option<Revisits>,
    /// Changes of direction above 45°.
    pub turns: usize,
    /// Lifts.
    pub lifts: usize,
    /// Length with the pad on \[m\].
    pub length: f64,
    /// Length lifted \[m\].
    pub travel_length: f64,
    /// Length with the pad on and its centre where nothing is to be worked (tape, outside the region) \[m\].
    pub length_off_work: f64,
    /// Time, lifts included \[s\].
    pub time: f64,
    /// Time with the pad on \[s\].
    pub time_on: f64,
}

struct Piece {
    from: [f64; 3],
    to: [f64; 3],
    times: (f64, f64),
}

#[derive(Default)]
struct Row {
    area: f64,
    covered: f64,
    inset_area: f64,
    inset_covered: f64,
    intervals: Vec<f64>,
}

impl SurfacePath {
    /// Reports what the path covers of `surface`.
    ///
    /// `reach` of the pad (radius and face orbit) \[m\], `inset` of the second covered share \[m\], `cell`
    /// the side of the grid cells \[m\], at most 5 mm unless the panel is so large that it needs more. A
    /// share is known to about the cells on the border of the bare area; revisits are timed at about
    /// 20 000 places evenly spread.
    ///
    /// # Errors
    /// A reach outside 1 mm to 1 m, an inset outside 0 to 10 m, a cell outside 0.1 mm to 0.1 m or one
    /// that makes more than 4 million cells; more than 20 million revisits.
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::{Steady, SurfacePath, SurfacePathOptions};
    /// use trochoid::panel::{HeightMap, Surface};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let flat = Surface::new(HeightMap::from_function((0.0, 0.0), (0.4, 0.3), 0.01, |_, _| 0.0)?);
    /// // One line of 400 mm through the middle of 400 x 300 mm covers a band of twice the reach: 120/300 of it.
    /// let steady = Steady { feed: 0.04, force: 35.0 };
    /// let text = "x_mm,y_mm\n0,150\n400,150\n";
    /// let path = SurfacePath::from_polyline_csv(&flat, "line.csv", text, steady, &SurfacePathOptions::default())?;
    /// let report = path.report(&flat, 0.06, 0.0, 5e-3)?;
    /// assert!((report.covered_share - 0.4).abs() < 0.02); // half a cell of 5 mm on both sides: 0.017
    /// assert!((report.time_on - 10.0).abs() < 1e-9 && report.revisits.is_none());
    /// # Ok(())
    /// # }
    /// ```
    pub fn report(&self, surface: &Surface, reach: f64, inset: f64, cell: f64) -> Result<PathReport, PathError> {
        within("pad reach", reach * 1e3, 1.0, 1000.0, "mm")?;
        within("inset_mm", inset * 1e3, 0.0, 10_000.0, "mm")?;
        within("coverage cell", cell * 1e3, 0.1, 100.0, "mm")?;
        let heights = surface.heights();
        let (low, (nodes_x, nodes_y)) = (heights.origin(), heights.count());
        let size = ((nodes_x - 1) as f64 * heights.step(), (nodes_y - 1) as f64 * heights.step());
        let cells = ((size.0 / cell).ceil().max(1.0), (size.1 / cell).ceil().max(1.0));
        if cells.0 * cells.1 > MAX_CELLS {
            let allowed = format!("a cell that makes at most {MAX_CELLS} cells");
            return Err(RangeError::new("coverage cell", cell * 1e3, "mm", allowed).into());
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // bounded above
        let (nx, ny) = (cells.0 as usize, cells.1 as usize);
        let side = (size.0 / cells.0, size.1 / cells.1);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // small and positive
        let stride = (cells.0 * cells.1 / TIMED_CELLS).sqrt().ceil().max(1.0) as usize;
        let pieces = self.on_pieces(surface);
        let rows = map_indexed(ny, |j| {
            let y = low.1 + (j as f64 + 0.5) * side.1;
            let middle = |i: usize| (low.0 + (i as f64 + 0.5) * side.0, y);
            let timed = |i: usize| i % stride == stride / 2 && j % stride == stride / 2;
            let clear: Vec<f64> = (0..nx).map(|i| surface.clearance_at(middle(i).0, y)).collect();
            let spot: Vec<[f64; 3]> = (0..nx).map(|i| heights.point_at(middle(i).0, y)).collect();
            // End of the last visit; not a number before the first.
            let mut seen = vec![f64::NAN; nx];
            let mut row = Row::default();
            for p in &pieces {
                let (a, b) = (p.from, p.to);
                if a[1].min(b[1]) - reach > y || a[1].max(b[1]) + reach < y {
                    continue;
                }
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the row
                let index = |x: f64| ((x - low.0) / side.0).clamp(0.0, (nx - 1) as f64) as usize;
                for i in index(a[0].min(b[0]) - reach)..=index(a[0].max(b[0]) + reach) {
                    let counts = clear[i] >= 0.0 && (seen[i].is_nan() || timed(i));
                    if counts && to_piece(spot[i], a, b) <= reach {
                        // Pieces that follow each other share their times to the bit.
                        if p.times.0 > seen[i] && row.intervals.len() <= MAX_INTERVALS {
                            row.intervals.push(p.times.0 - seen[i]);
                        }
                        seen[i] = p.times.1;
                    }
                }
            }
            for i in (0..nx).filter(|i| clear[*i] >= 0.0) {
                let area = cell_area(surface, middle(i), side);
                let covered = if seen[i].is_nan() { 0.0 } else { area };
                row.area += area;
                row.covered += covered;
                if clear[i] >= inset {
                    row.inset_area += area;
                    row.inset_covered += covered;
                }
            }
            row
        });
        let sum = |f: fn(&Row) -> f64| rows.iter().map(f).sum::<f64>();
        let (area, inset_area) = (sum(|r| r.area), sum(|r| r.inset_area));
        if rows.iter().map(|r| r.intervals.len()).sum::<usize>() > MAX_INTERVALS {
            return Err(RangeError::new("revisits", MAX_INTERVALS as f64, "", "fewer: a shorter path").into());
        }
        Ok(PathReport {
            covered_share: if area > 0.0 { sum(|r| r.covered) / area } else { 0.0 },
            covered_share_inset: (inset_area > 0.0).then(|| sum(|r| r.inset_covered) / inset_area),
            workable_area: area,
            inset_area,
            revisits: revisits(rows.into_iter().flat_map(|r| r.intervals).collect()),
            turns: self.turns(),
            lifts: self.lifts(),
            length: self.length(),
            travel_length: self.travel_length(),
            length_off_work: pieces
                .iter()
                .filter(|p| surface.clearance_at(0.5 * (p.from[0] + p.to[0]), 0.5 * (p.from[1] + p.to[1])) < -1e-6)
                .map(|p| (p.to[0] - p.from[0]).hypot(p.to[1] - p.from[1]).hypot(p.to[2] - p.from[2]))
                .fold(0.0, |sum, l| sum + l),
            time: self.time(),
            time_on: self.time_on(),
        })
    }

    fn on_pieces(&self, surface: &Surface) -> Vec<Piece> {
        let point = |at: (f64, f64)| surface.heights().point_at(at.0, at.1);
        self.waypoints()
            .windows(2)
            .filter(|w| is_on(&w[0], &w[1]))
            .map(|w| Piece { from: point(w[0].at), to: point(w[1].at), times: (w[0].time_s, w[1].time_s) })
            .collect()
    }
}

fn revisits(mut intervals: Vec<f64>) -> Option<Revisits> {
    intervals.sort_unstable_by(f64::total_cmp);
    let longest = *intervals.last()?;
    let count = intervals.len();
    let mean = intervals.iter().sum::<f64>() / count as f64;
    Some(Revisits { median: percentile(&intervals, 0.5), longest, mean, count })
}
