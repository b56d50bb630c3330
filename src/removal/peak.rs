//! Largest pressure that each point of a panel meets along a path.

use super::field::Grid;
use super::footprint::Footprint;
use crate::math::reduce::{for_bands, map_indexed};
use crate::motion::{Leg, ToolPath};

const ALONG: usize = 256;
const ACROSS: usize = 192;

/// Running maxima of the peak pressure along one direction, from both ends.
struct Envelope {
    direction: (f64, f64),
    reach: f64,
    /// For each row: maximum up to, and maximum from, each step.
    rows: Vec<Vec<(f64, f64)>>,
}

impl Envelope {
    fn new(footprint: &Footprint, direction: (f64, f64)) -> Self {
        let reach = footprint.reach();
        let (ux, uy) = direction;
        let rows = map_indexed(2 * ACROSS + 1, |j| {
            let w = reach * (j as f64 / ACROSS as f64 - 1.0);
            let peak = |i: usize| {
                let s = reach * (2.0 * i as f64 / ALONG as f64 - 1.0);
                footprint.at(ux * s - uy * w, uy * s + ux * w).peak
            };
            let mut row: Vec<(f64, f64)> = (0..=ALONG).map(|i| (peak(i), peak(i))).collect();
            for i in 1..=ALONG {
                row[i].0 = row[i].0.max(row[i - 1].0);
                row[ALONG - i].1 = row[ALONG - i].1.max(row[ALONG - i + 1].1);
            }
            row
        });
        Self { direction, reach, rows }
    }

    /// Largest pressure between a and b along the direction, at w across it.
    fn between(&self, w: f64, a: f64, b: f64) -> f64 {
        let clamp = |v: f64, n: usize| ((v / self.reach + 1.0) * 0.5 * n as f64).clamp(0.0, n as f64).round();
        if w.abs() > self.reach || b < -self.reach || a > self.reach {
            return 0.0;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped just above
        let (j, ia, ib) = (clamp(w, 2 * ACROSS) as usize, clamp(a, ALONG) as usize, clamp(b, ALONG) as usize);
        self.rows[j][ib].0.min(self.rows[j][ia].1)
    }
}

/// Largest pressure over the path at each cell centre \[Pa\], row by row.
///
/// # Accuracy
/// Read from the nearest of 385 x 257 table places; on a leg shorter than the footprint an upper
/// bound where the pressure has two humps along it.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::motion::{Leg, ToolPath};
/// use trochoid::removal::{Footprint, Grid, peak_pressure};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let contact = solve(&pad, &Patch::flat(), 9e-3, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // On a flat 40 N/(π 70² mm²) = 2598.4 Pa wherever the pad comes, nothing 95 mm beside the line.
/// let print = Footprint::new(&contact, &Patch::flat(), 500.0, 0.0);
/// let path = ToolPath::from_legs(vec![Leg::steady((0.0, 0.005), (0.2, 0.005), 0.04, 0)])?;
/// let peak = peak_pressure(&print, &path, &Grid::over((0.2, 0.2), 0.01)?);
/// assert!((peak[10] - 2598.4).abs() < 0.1 && peak[20 * 10 + 10] <= 0.0);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn peak_pressure(footprint: &Footprint, path: &ToolPath, grid: &Grid) -> Vec<f64> {
    let legs: Vec<&Leg> = path.legs().iter().filter(|l| l.length() > 0.0).collect();
    let unit = |l: &Leg| ((l.to.0 - l.from.0) / l.length(), (l.to.1 - l.from.1) / l.length());
    let mut tables: Vec<Envelope> = Vec::new();
    let mut table_of = Vec::with_capacity(legs.len());
    for leg in &legs {
        let d = unit(leg);
        let known = tables.iter().position(|t| {
            footprint.is_round() || ((t.direction.0 - d.0).abs() < 1e-12 && (t.direction.1 - d.1).abs() < 1e-12)
        });
        table_of.push(known.unwrap_or_else(|| {
            tables.push(Envelope::new(footprint, d));
            tables.len() - 1
        }));
    }
    let (nx, ny) = grid.count();
    let mut out = vec![0.0; nx * ny];
    for_bands(&mut out, nx, 16, |first_row, rows| {
        for (k, row) in rows.chunks_mut(nx).enumerate() {
            for (i, cell) in row.iter_mut().enumerate() {
                let (x, y) = grid.centre(i, first_row + k);
                for (leg, table) in legs.iter().zip(&table_of) {
                    let (ux, uy) = unit(leg);
                    let (rx, ry) = (x - leg.from.0, y - leg.from.1);
                    let (s, w) = (ux * rx + uy * ry, ux * ry - uy * rx);
                    *cell = cell.max(tables[*table].between(w, s - leg.length(), s));
                }
            }
        }
    });
    out
}
