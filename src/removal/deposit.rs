//! Deposit of a footprint along straight legs.
//!
//! A leg at constant feed leaves (1/f)∫F ds at every point: one difference of two values of the
//! footprint's running line integral, without a time step. The running integral is tabulated once a
//! direction. `deposit_by_steps` is the slow obvious method beside it.

use super::field::{Field, Grid};
use super::footprint::{Footprint, Rates};
use crate::math::reduce::{for_bands, map_indexed};
use crate::motion::{Leg, ToolPath};

/// Steps of the table along the leg, over twice the reach.
const ALONG: usize = 1024;
/// Steps of the table across the leg, over one reach.
const ACROSS: usize = 1024;

/// Running line integral ∫_{−∞}^{s} F(s', w) ds' of a footprint along one direction.
struct Swept {
    direction: (f64, f64),
    reach: f64,
    /// Lowest w in the table: 0 for a footprint that is even in w, else −reach.
    first: f64,
    rows: Vec<Vec<Rates>>,
}

impl Swept {
    fn new(footprint: &Footprint, direction: (f64, f64)) -> Self {
        let reach = footprint.reach();
        let (ux, uy) = direction;
        let (first, count) = if footprint.is_round() { (0.0, ACROSS + 1) } else { (-reach, 2 * ACROSS + 1) };
        let step = 2.0 * reach / ALONG as f64;
        let offset = 0.5 * step / 3f64.sqrt();
        let rows = map_indexed(count, |j| {
            let w = first + reach * j as f64 / ACROSS as f64;
            let mut row = Vec::with_capacity(ALONG + 1);
            let mut sum = Rates::default();
            row.push(sum);
            for i in 0..ALONG {
                let middle = -reach + (i as f64 + 0.5) * step;
                for s in [middle - offset, middle + offset] {
                    sum.add_scaled(footprint.at(ux * s - uy * w, uy * s + ux * w), 0.5 * step);
                }
                row.push(sum);
            }
            row
        });
        Self { direction, reach, first, rows }
    }

    /// The two table rows around w and the weight of the second.
    fn rows_at(&self, w: f64) -> Option<(&[Rates], &[Rates], f64)> {
        let w = if self.first < 0.0 { w } else { w.abs() };
        let place = (w - self.first) / self.reach * ACROSS as f64;
        if !(place >= 0.0 && place < (self.rows.len() - 1) as f64) {
            return None;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // checked just above
        let j = place as usize;
        Some((&self.rows[j], &self.rows[j + 1], place - j as f64))
    }
}

/// Value of two neighbouring rows at s, linear in both directions.
fn read((low, high, t): (&[Rates], &[Rates], f64), s: f64, reach: f64) -> Rates {
    let place = ((s + reach) / (2.0 * reach) * ALONG as f64).clamp(0.0, ALONG as f64);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped just above
    let i = (place as usize).min(ALONG - 1);
    let f = place - i as f64;
    low[i].lerp(low[i + 1], f).lerp(high[i].lerp(high[i + 1], f), t)
}

fn direction_of(leg: &Leg) -> (f64, f64) {
    let l = leg.length();
    // Legs that run back along a line share a table: the direction is taken with a fixed sign.
    let (x, y) = ((leg.to.0 - leg.from.0) / l, (leg.to.1 - leg.from.1) / l);
    if x < -1e-12 || (x.abs() <= 1e-12 && y < 0.0) { (-x, -y) } else { (x, y) }
}

/// Deposits `footprint` along `path` on `grid`: values at the cell centres.
///
/// # Accuracy
/// No time step. The table (1024 steps over the reach across, 1024 over twice the reach along) is
/// read linearly: error below 1e-4 of the peak, asserted against quadrature in the tests.
///
/// # Panics
/// Never; the grid's size was bounded when it was made.
#[must_use]
pub fn deposit(footprint: &Footprint, path: &ToolPath, grid: Grid) -> Field {
    let legs: Vec<&Leg> = path.legs().iter().filter(|l| l.length() > 0.0).collect();
    let mut tables: Vec<Swept> = Vec::new();
    let mut table_of = Vec::with_capacity(legs.len());
    for leg in &legs {
        let d = direction_of(leg);
        let known = tables.iter().position(|t| {
            footprint.is_round() || ((t.direction.0 - d.0).abs() < 1e-12 && (t.direction.1 - d.1).abs() < 1e-12)
        });
        table_of.push(known.unwrap_or_else(|| {
            tables.push(Swept::new(footprint, d));
            tables.len() - 1
        }));
    }
    let (nx, ny) = grid.count();
    let mut all = vec![0.0; nx * ny * 3];
    let reach = footprint.reach();
    for_bands(&mut all, 3 * nx, 8, |first_row, rows| {
        for (k, row) in rows.chunks_mut(3 * nx).enumerate() {
            let y = grid.centre(0, first_row + k).1;
            for (leg, table) in legs.iter().zip(&table_of) {
                deposit_row(&tables[*table], leg, path.feed(), reach, &grid, y, row);
            }
        }
    });
    let mut field = Field::zero(grid);
    for (i, c) in all.chunks_exact(3).enumerate() {
        (field.work[i], field.slide[i], field.dwell[i]) = (c[0], c[1], c[2]);
    }
    field
}

fn deposit_row(table: &Swept, leg: &Leg, feed: f64, reach: f64, grid: &Grid, y: f64, row: &mut [f64]) {
    let (ya, yb) = (leg.from.1.min(leg.to.1), leg.from.1.max(leg.to.1));
    if y < ya - reach || y > yb + reach {
        return;
    }
    let (xa, xb) = (leg.from.0.min(leg.to.0) - reach, leg.from.0.max(leg.to.0) + reach);
    let (nx, dx) = (grid.count().0, grid.cell().0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the row
    let (i0, i1) = (
        (xa / dx - 0.5).ceil().clamp(0.0, nx as f64) as usize,
        ((xb / dx - 0.5).floor() + 1.0).clamp(0.0, nx as f64) as usize,
    );
    let length = leg.length();
    // The leg's own direction, with the sign of its table: a leg run backwards starts at its end.
    let (ux, uy) = direction_of(leg);
    let along = |p: (f64, f64)| ux * p.0 + uy * p.1;
    let start = if along(leg.to) >= along(leg.from) { leg.from } else { leg.to };
    let (tx, ty) = if table.first < 0.0 { table.direction } else { (ux, uy) };
    let mut cached: Option<(f64, (&[Rates], &[Rates], f64))> = None;
    for i in i0..i1 {
        let (rx, ry) = ((i as f64 + 0.5) * dx - start.0, y - start.1);
        let s = tx * rx + ty * ry;
        // The tool comes from behind: a point at s along the leg sees the footprint at s − t, and
        // at w across it.
        let w = tx * ry - ty * rx;
        let rows = match cached {
            Some((at, r)) if (at - w).abs() < 1e-15 => r,
            _ => {
                let Some(r) = table.rows_at(w) else { continue };
                cached = Some((w, r));
                r
            }
        };
        let upto = read(rows, s, reach);
        let from = read(rows, s - length, reach);
        let cell = &mut row[3 * i..3 * i + 3];
        cell[0] += (upto.work - from.work) / feed;
        cell[1] += (upto.slide - from.slide) / feed;
        cell[2] += (upto.dwell - from.dwell) / feed;
    }
}

/// The slow obvious method: the footprint put down `steps_per_mm` times a millimetre of path.
#[must_use]
pub fn deposit_by_steps(footprint: &Footprint, path: &ToolPath, grid: Grid, steps_per_mm: f64) -> Field {
    let mut field = Field::zero(grid);
    let (nx, ny) = grid.count();
    for leg in path.legs() {
        let length = leg.length();
        let steps = (length * 1e3 * steps_per_mm).ceil().max(1.0);
        let dt = length / path.feed() / steps;
        let mut k = 0.0;
        while k < steps {
            let t = (k + 0.5) / steps;
            let at = (leg.from.0 + t * (leg.to.0 - leg.from.0), leg.from.1 + t * (leg.to.1 - leg.from.1));
            for j in 0..ny {
                for i in 0..nx {
                    let (x, y) = grid.centre(i, j);
                    let r = footprint.at(x - at.0, y - at.1);
                    field.work[j * nx + i] += r.work * dt;
                    field.slide[j * nx + i] += r.slide * dt;
                    field.dwell[j * nx + i] += r.dwell * dt;
                }
            }
            k += 1.0;
        }
    }
    field
}
