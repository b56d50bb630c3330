//! Deposit of a footprint along straight legs, exactly: no time step.
//!
//! `deposit_by_steps` is the slow obvious method beside it.

use super::field::{Field, Grid};
use super::footprint::Footprint;
use super::peak::peak_pressure;
pub use super::swept::Quantity;
use super::swept::{Swept, Thinned};
use crate::math::reduce::for_bands;
use crate::motion::{Leg, ToolPath};

/// Unit vector along a leg, with a fixed sign: legs that run back along a line share a table.
fn direction_of(leg: &Leg) -> ((f64, f64), bool) {
    let l = leg.length();
    let (x, y) = ((leg.to.0 - leg.from.0) / l, (leg.to.1 - leg.from.1) / l);
    if x < -1e-12 || (x.abs() <= 1e-12 && y < 0.0) { ((-x, -y), true) } else { ((x, y), false) }
}

fn is_steady(leg: &Leg) -> bool {
    (leg.slowness.0 - leg.slowness.1).abs() <= 1e-12 * leg.slowness.0
}

/// A leg in the frame of its table.
#[derive(Clone)]
struct Stroke {
    table: usize,
    start: (f64, f64),
    direction: (f64, f64),
    /// Whether the leg runs against that direction.
    backward: bool,
    length: f64,
    slowness: (f64, f64),
    steady: bool,
    low: (f64, f64),
    high: (f64, f64),
}

/// A leg put down beside its place and with another strength.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MovedStroke {
    /// How far it is moved, panel axes \[m\].
    pub by: (f64, f64),
    /// What its deposit is multiplied by \[1\].
    pub factor: f64,
}

/// A footprint's running line integrals along the directions of a path, ready to be put on any grid.
pub struct SweptPath {
    tables: Vec<Swept>,
    strokes: Vec<Stroke>,
}

impl SweptPath {
    /// Tabulates one quantity of `footprint` along the directions of `path`: one table a direction, one
    /// in all for a round footprint.
    #[must_use]
    pub fn new(footprint: &Footprint, path: &ToolPath, quantity: Quantity) -> Self {
        let [one] = Self::several(footprint, path, [quantity]);
        one
    }

    /// Tabulates several quantities, for which the footprint is read once.
    fn several<const N: usize>(footprint: &Footprint, path: &ToolPath, quantities: [Quantity; N]) -> [Self; N] {
        let legs: Vec<&Leg> = path.legs().iter().filter(|l| l.length() > 0.0).collect();
        let with_moment = !legs.iter().all(|l| is_steady(l));
        Self::tabulate(footprint, &legs, quantities, with_moment)
    }

    /// The same for `legs` that have a length; with running first moments where asked for.
    pub(super) fn tabulate<const N: usize>(
        footprint: &Footprint,
        legs: &[&Leg],
        quantities: [Quantity; N],
        with_moment: bool,
    ) -> [Self; N] {
        let mut directions: Vec<(f64, f64)> = Vec::new();
        let mut strokes = Vec::with_capacity(legs.len());
        let reach = footprint.reach();
        for leg in legs {
            let (direction, backward) = direction_of(leg);
            let same = |d: &(f64, f64)| (d.0 - direction.0).abs() < 1e-12 && (d.1 - direction.1).abs() < 1e-12;
            let table = directions.iter().position(|d| footprint.is_round() || same(d)).unwrap_or_else(|| {
                directions.push(direction);
                directions.len() - 1
            });
            let (start, end) = if backward { (leg.to, leg.from) } else { (leg.from, leg.to) };
            strokes.push(Stroke {
                table,
                start,
                direction,
                backward,
                length: leg.length(),
                slowness: if backward { (leg.slowness.1, leg.slowness.0) } else { leg.slowness },
                steady: is_steady(leg),
                low: (start.0.min(end.0) - reach, start.1.min(end.1) - reach),
                high: (start.0.max(end.0) + reach, start.1.max(end.1) + reach),
            });
        }
        let mut out: [Self; N] = core::array::from_fn(|_| Self { tables: Vec::new(), strokes: strokes.clone() });
        for direction in directions {
            let made = Swept::several(footprint, direction, quantities, with_moment);
            for (own, table) in out.iter_mut().zip(made) {
                own.tables.push(table);
            }
        }
        out
    }

    /// What stroke `k` leaves on the cells of `grid` at a slowness of 1 s/m at its leg's start that falls to
    /// 0 at the end, and at one that rises: (cell, amount). Needs the running first moments.
    pub(super) fn parts_of(&self, k: usize, grid: &Grid) -> [Vec<(u32, f64)>; 2] {
        let stroke = &self.strokes[k];
        let table = &self.tables[stroke.table];
        let ((nx, ny), (dx, dy)) = (grid.count(), grid.cell());
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
        let range = |low: f64, high: f64, step: f64, count: usize| {
            let inside = |v: f64| v.clamp(0.0, count as f64) as usize;
            inside((low / step - 0.5).ceil())..inside((high / step - 0.5).floor() + 1.0)
        };
        let (ux, uy) = stroke.direction;
        let (mut falling, mut rising) = (Vec::new(), Vec::new());
        for j in range(stroke.low.1, stroke.high.1, dy, ny) {
            for i in range(stroke.low.0, stroke.high.0, dx, nx) {
                let at = grid.centre(i, j);
                let (rx, ry) = (at.0 - stroke.start.0, at.1 - stroke.start.1);
                let Some(rows) = table.rows(ux * ry - uy * rx) else { continue };
                let s = ux * rx + uy * ry;
                let (first, last) = (
                    table.changing(rows, s, stroke.length, (1.0, 0.0)).max(0.0),
                    table.changing(rows, s, stroke.length, (0.0, 1.0)).max(0.0),
                );
                if first > 0.0 || last > 0.0 {
                    let cell = u32::try_from(j * nx + i).unwrap_or(u32::MAX);
                    falling.push((cell, first));
                    rising.push((cell, last));
                }
            }
        }
        if stroke.backward { [rising, falling] } else { [falling, rising] }
    }

    /// The deposit at the cell centres of `grid`, row by row, in the unit of the quantity: \[J/m²\], \[m\]
    /// or \[s\]. See the example of [`deposit_quantity`].
    #[must_use]
    pub fn onto(&self, grid: &Grid) -> Vec<f64> {
        let (nx, ny) = grid.count();
        let mut out = vec![0.0; nx * ny];
        for_bands(&mut out, nx, 16, |first_row, rows| {
            let mut scratch = Vec::new();
            for (k, row) in rows.chunks_mut(nx).enumerate() {
                let y = grid.centre(0, first_row + k).1;
                for stroke in &self.strokes {
                    self.add_to_row(stroke, grid, y, row, &mut scratch);
                }
            }
        });
        out
    }

    /// Legs that can be put down elsewhere, many times over.
    #[must_use]
    pub fn movable(self) -> MovablePath {
        MovablePath { tables: self.tables.iter().map(Thinned::of).collect(), strokes: self.strokes }
    }

    fn add_to_row(&self, stroke: &Stroke, grid: &Grid, y: f64, row: &mut [f64], scratch: &mut Vec<f64>) {
        if y < stroke.low.1 || y > stroke.high.1 {
            return;
        }
        let (nx, dx) = (grid.count().0, grid.cell().0);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the row
        let (i0, i1) = (
            (stroke.low.0 / dx - 0.5).ceil().clamp(0.0, nx as f64) as usize,
            ((stroke.high.0 / dx - 0.5).floor() + 1.0).clamp(0.0, nx as f64) as usize,
        );
        let table = &self.tables[stroke.table];
        let (ux, uy) = stroke.direction;
        let ry = y - stroke.start.1;
        // A leg along the rows keeps its distance w, so that its table rows are found once.
        let along_rows = uy.abs() < 1e-15;
        let kept = if along_rows { table.rows(ux * ry) } else { None };
        if along_rows {
            let Some(rows) = kept else { return };
            if stroke.steady && i0 < i1 {
                // Along the rows s grows cell by cell (the sign of the direction is fixed).
                let first = (i0 as f64 + 0.5) * dx - stroke.start.0;
                table.add_steady_run(rows, (first, dx), stroke.length, stroke.slowness.0, scratch, &mut row[i0..i1]);
                return;
            }
        }
        for (i, cell) in row.iter_mut().enumerate().take(i1).skip(i0) {
            let rx = (i as f64 + 0.5) * dx - stroke.start.0;
            // The tool comes from behind: at t along the leg the point lies at s − t ahead of it.
            let s = ux * rx + uy * ry;
            let Some(rows) = kept.or_else(|| table.rows(ux * ry - uy * rx)) else { continue };
            *cell += if stroke.steady {
                table.steady(rows, s, stroke.length, stroke.slowness.0)
            } else {
                table.changing(rows, s, stroke.length, stroke.slowness)
            };
        }
    }
}

/// Legs with their footprint, each of which can be moved and strengthened: for many deposits of short legs.
pub struct MovablePath {
    tables: Vec<Thinned>,
    strokes: Vec<Stroke>,
}

impl MovablePath {
    /// Pairs of cell and leg that one deposit of legs moved by at most `by` \[m\] looks at: an upper bound,
    /// since the grid's own borders are not counted.
    #[must_use]
    pub fn visits(&self, grid: &Grid, by: f64) -> f64 {
        let (dx, dy) = grid.cell();
        let cells = |low: f64, high: f64, d: f64| (high - low + 2.0 * by) / d + 1.0;
        self.strokes.iter().map(|s| cells(s.low.0, s.high.0, dx) * cells(s.low.1, s.high.1, dy)).sum()
    }

    /// Adds the deposit of every leg, each moved and strengthened in its own way, to `out`: one value a
    /// cell, row by row. Legs beyond the shorter of the two lists are left out. On this thread.
    ///
    /// # Accuracy
    /// Tables of 128 steps along twice the reach and 128 across one reach, read linearly: below 1e-3 of the
    /// peak, held against [`deposit_quantity`] in the tests. A leg that changes its feed is taken at its mean
    /// slowness, so it is to be short.
    ///
    /// # Example
    /// ```
    /// use trochoid::contact::{ContactSettings, Hold, solve};
    /// use trochoid::motion::{Leg, ToolPath};
    /// use trochoid::removal::{Footprint, Grid, MovedStroke, Quantity, SweptPath};
    /// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
    /// # fn main() -> Result<(), trochoid::Error> {
    /// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
    /// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
    /// # let contact = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 40.0, &ContactSettings::default())?;
    /// let print = Footprint::new(&contact, &Patch::flat(), 0.0, 200.0);
    /// let path = ToolPath::from_legs(vec![Leg::steady((-0.2, 0.105), (0.4, 0.105), 0.04, 0)])?;
    /// let legs = SweptPath::new(&print, &path, Quantity::Dwell).movable();
    /// // Moved by 20 mm, two rows up, and twice as strong: 2 × 140 mm/(40 mm/s) = 7 s in cell (10, 12) of 20 x 20.
    /// let mut dwell = vec![0.0; 400];
    /// legs.add(&Grid::over((0.2, 0.2), 0.01)?, &[MovedStroke { by: (0.0, 0.02), factor: 2.0 }], &mut dwell);
    /// assert!((dwell[250] - 7.0).abs() < 7e-3);
    /// # Ok(())
    /// # }
    /// ```
    pub fn add(&self, grid: &Grid, moved: &[MovedStroke], out: &mut [f64]) {
        let ((nx, ny), (dx, dy)) = (grid.count(), grid.cell());
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
        let span = |low: f64, high: f64, d: f64, n: usize| {
            let first = (low / d - 0.5).ceil().clamp(0.0, n as f64) as usize;
            (first, ((high / d - 0.5).floor() + 1.0).clamp(first as f64, n as f64) as usize)
        };
        for (stroke, m) in self.strokes.iter().zip(moved) {
            let table = &self.tables[stroke.table];
            let (ux, uy) = stroke.direction;
            let (i0, i1) = span(stroke.low.0 + m.by.0, stroke.high.0 + m.by.0, dx, nx);
            let (j0, j1) = span(stroke.low.1 + m.by.1, stroke.high.1 + m.by.1, dy, ny);
            let start = (stroke.start.0 + m.by.0, stroke.start.1 + m.by.1);
            let q = 0.5 * m.factor * (stroke.slowness.0 + stroke.slowness.1);
            for j in j0..j1 {
                let ry = (j as f64 + 0.5) * dy - start.1;
                // A leg along the rows keeps its distance w, so that its table rows are found once.
                let along_rows = uy.abs() < 1e-15;
                let kept = if along_rows { table.rows(ux * ry) } else { None };
                if along_rows && kept.is_none() {
                    continue;
                }
                for (i, cell) in out[j * nx + i0..j * nx + i1].iter_mut().enumerate() {
                    let rx = ((i0 + i) as f64 + 0.5) * dx - start.0;
                    let Some(rows) = kept.or_else(|| table.rows(ux * ry - uy * rx)) else { continue };
                    *cell += q * table.steady(rows, ux * rx + uy * ry, stroke.length);
                }
            }
        }
    }
}

/// Deposits one quantity of `footprint` along `path` on `grid`: values at the cell centres, row by
/// row, in the unit of the quantity: \[J/m²\], \[m\] or \[s\].
///
/// ```text
/// D(x) = Σ ∫ F(x − c(s)) q(s) ds      F rate of the footprint, c the path [m], q slowness [s/m], sum over the legs
/// ```
///
/// # Accuracy
/// No time step. The running line integrals are tabulated (1024 steps along twice the reach, 1024
/// across one reach) and read linearly: error below 1e-4 of the peak, held against quadrature in
/// the tests. Values are those at the cell centres, not cell means.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::motion::{Leg, ToolPath};
/// use trochoid::removal::{Footprint, Grid, Quantity, deposit_quantity};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let contact = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // A rotary pad of 140 mm led at 40 mm/s over the middle of cell (10, 10) of 20 x 20: pressed for 140/40 = 3.5 s.
/// let print = Footprint::new(&contact, &Patch::flat(), 0.0, 200.0);
/// let path = ToolPath::from_legs(vec![Leg::steady((-0.2, 0.105), (0.4, 0.105), 0.04, 0)])?;
/// let dwell = deposit_quantity(&print, &path, &Grid::over((0.2, 0.2), 0.01)?, Quantity::Dwell);
/// assert!((dwell[210] - 3.5).abs() < 1e-3);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-removal.md`.
#[must_use]
pub fn deposit_quantity(footprint: &Footprint, path: &ToolPath, grid: &Grid, quantity: Quantity) -> Vec<f64> {
    SweptPath::new(footprint, path, quantity).onto(grid)
}

/// Deposits every field of `footprint` along `path`.
///
/// # Accuracy
/// Work, slide and dwell as [`deposit_quantity`]; passes are exact; the peak as [`peak_pressure`].
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::motion::{Leg, ToolPath};
/// use trochoid::removal::{Footprint, Grid, deposit};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let contact = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // Rotary at 200 rad/s, led over a cell at 40 mm/s: ∫ p ω|s| ds/f = p ω R²/f = N ω/(π f) = 63 662 J/m².
/// let print = Footprint::new(&contact, &Patch::flat(), 0.0, 200.0);
/// let path = ToolPath::from_legs(vec![Leg::steady((-0.2, 0.105), (0.4, 0.105), 0.04, 0)])?;
/// let field = deposit(&print, &path, Grid::over((0.2, 0.2), 0.01)?);
/// assert!((field.work[210] - 63_662.0).abs() < 64.0);
/// assert!((field.passes[210] - 1.0).abs() < 1e-12 && (field.peak[210] - 2598.4).abs() < 0.1);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn deposit(footprint: &Footprint, path: &ToolPath, grid: Grid) -> Field {
    let mut field = Field::zero(grid);
    let [work, slide, dwell] = SweptPath::several(footprint, path, [Quantity::Work, Quantity::Slide, Quantity::Dwell]);
    field.work = work.onto(&grid);
    field.slide = slide.onto(&grid);
    field.dwell = dwell.onto(&grid);
    field.passes = count_passes(path, &grid, footprint.reach());
    field.peak = peak_pressure(footprint, path, &grid);
    field
}

/// How many pass lines come within `reach` \[m\] of each cell centre \[1\], row by row; joints between
/// lines do not count.
///
/// # Example
/// ```
/// use trochoid::motion::{Leg, ToolPath};
/// use trochoid::removal::{Grid, count_passes};
/// # fn main() -> Result<(), trochoid::Error> {
/// // Lines at 50 and 100 mm. A cell at 75 mm is 25 mm from both; one at 45 mm is 5 and 55 mm away.
/// let line = |y: f64| Leg::steady((0.0, y), (0.2, y), 0.04, 0);
/// let path = ToolPath::from_legs(vec![line(0.05), line(0.10)])?;
/// let passes = count_passes(&path, &Grid::over((0.2, 0.2), 0.01)?, 0.03);
/// let column: Vec<u8> = [4, 7].map(|row| passes[20 * row + 10] as u8).to_vec();
/// assert_eq!(column, [1, 2]);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn count_passes(path: &ToolPath, grid: &Grid, reach: f64) -> Vec<f64> {
    let (nx, ny) = grid.count();
    let mut out = vec![0.0; nx * ny];
    for_bands(&mut out, nx, 16, |first_row, rows| {
        for (k, row) in rows.chunks_mut(nx).enumerate() {
            for (i, cell) in row.iter_mut().enumerate() {
                let p = grid.centre(i, first_row + k);
                for (from, to) in path.lines() {
                    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
                    let square = dx * dx + dy * dy;
                    let t = if square > 0.0 {
                        (((p.0 - from.0) * dx + (p.1 - from.1) * dy) / square).clamp(0.0, 1.0)
                    } else {
                        0.0
                    };
                    let (rx, ry) = (p.0 - from.0 - t * dx, p.1 - from.1 - t * dy);
                    if rx * rx + ry * ry <= reach * reach {
                        *cell += 1.0;
                    }
                }
            }
        }
    });
    out
}

/// The slow obvious method beside [`deposit`]: the footprint put down `steps_per_mm` times a millimetre of
/// path \[1/mm\].
///
/// # Accuracy
/// Midpoints in time: the error falls with the square of the step where the footprint is smooth, with the
/// step itself where it ends in one. Every step visits every cell.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::motion::{Leg, ToolPath};
/// use trochoid::removal::{Footprint, Grid, deposit_by_steps};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let contact = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // 140 mm at 40 mm/s are 3.5 s, told to one step of 1 mm: 0.025 s.
/// let print = Footprint::new(&contact, &Patch::flat(), 0.0, 200.0);
/// let path = ToolPath::from_legs(vec![Leg::steady((-0.2, 0.005), (0.2, 0.005), 0.04, 0)])?;
/// let field = deposit_by_steps(&print, &path, Grid::over((0.02, 0.02), 0.01)?, 1.0);
/// assert!((field.dwell[0] - 3.5).abs() <= 0.025 + 1e-9);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn deposit_by_steps(footprint: &Footprint, path: &ToolPath, grid: Grid, steps_per_mm: f64) -> Field {
    let mut field = Field::zero(grid);
    let (nx, ny) = grid.count();
    for leg in path.legs() {
        let length = leg.length();
        let steps = (length * 1e3 * steps_per_mm).ceil().max(1.0);
        let mut k = 0.0;
        while k < steps {
            let t = (k + 0.5) / steps;
            let at = leg.at(t);
            let slowness = leg.slowness.0 + t * (leg.slowness.1 - leg.slowness.0);
            let dt = slowness * length / steps;
            for j in 0..ny {
                for i in 0..nx {
                    let (x, y) = grid.centre(i, j);
                    let r = footprint.at(x - at.0, y - at.1);
                    let c = j * nx + i;
                    field.work[c] += r.work * dt;
                    field.slide[c] += r.slide * dt;
                    field.dwell[c] += r.dwell * dt;
                    field.peak[c] = field.peak[c].max(r.peak);
                }
            }
            k += 1.0;
        }
    }
    field.passes = count_passes(path, &grid, footprint.reach());
    field
}
