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
    /// How far it is moved, panel axes, m.
    pub by: (f64, f64),
    /// What its deposit is multiplied by.
    pub factor: f64,
}

/// A footprint's running line integrals along the directions of a path, ready to be put on any grid.
pub struct SweptPath {
    tables: Vec<Swept>,
    strokes: Vec<Stroke>,
}

impl SweptPath {
    /// Tabulates one quantity of `footprint` along the directions of `path`.
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

    /// The deposit at the cell centres of `grid`, row by row.
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
    /// Pairs of cell and leg that one deposit of legs moved by at most `by` \[m\] looks at.
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
/// row.
///
/// # Accuracy
/// No time step. The running line integrals are tabulated (1024 steps along twice the reach, 1024
/// across one reach) and read linearly: error below 1e-4 of the peak, held against quadrature in
/// the tests.
#[must_use]
pub fn deposit_quantity(footprint: &Footprint, path: &ToolPath, grid: &Grid, quantity: Quantity) -> Vec<f64> {
    SweptPath::new(footprint, path, quantity).onto(grid)
}

/// Deposits every field of `footprint` along `path`.
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

/// How many pass lines come within `reach` of each cell centre; joints between lines do not count.
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

/// The slow obvious method: the footprint put down `steps_per_mm` times a millimetre of path.
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
