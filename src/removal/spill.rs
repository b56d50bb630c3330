//! What falls past the panel's edge: the share of the footprint inside the rectangle, integrated
//! along the path, independent of the map's cells.

use super::footprint::Footprint;
use crate::math::quadrature::{Ends, rule};
use crate::math::reduce::map_indexed;
use crate::motion::ToolPath;

/// Cells of the summed table across the footprint.
const CELLS: usize = 400;

/// Running sums of the work rate over the square around the tool axis.
struct SummedArea {
    reach: f64,
    /// Sum over cells below and left of a corner, (CELLS + 1)² values.
    sums: Vec<f64>,
}

impl SummedArea {
    fn new(footprint: &Footprint) -> Self {
        let reach = footprint.reach();
        let cell = 2.0 * reach / CELLS as f64;
        let half = 0.5 / 3f64.sqrt();
        let rows = map_indexed(CELLS, |j| {
            let mut row = Vec::with_capacity(CELLS);
            for i in 0..CELLS {
                let (x, y) = ((i as f64 + 0.5) * cell - reach, (j as f64 + 0.5) * cell - reach);
                let mut sum = 0.0;
                for (dx, dy) in [(-half, -half), (half, -half), (-half, half), (half, half)] {
                    sum += footprint.at(x + dx * cell, y + dy * cell).work;
                }
                row.push(0.25 * sum);
            }
            row
        });
        let side = CELLS + 1;
        let mut sums = vec![0.0; side * side];
        for (j, row) in rows.iter().enumerate() {
            let mut run = 0.0;
            for (i, v) in row.iter().enumerate() {
                run += v;
                sums[(j + 1) * side + i + 1] = sums[j * side + i + 1] + run;
            }
        }
        Self { reach, sums }
    }

    fn total(&self) -> f64 {
        self.sums[self.sums.len() - 1]
    }

    /// Sum over everything below and left of (x, y), linear between the corners.
    fn below(&self, x: f64, y: f64) -> f64 {
        let place = |v: f64| ((v + self.reach) / (2.0 * self.reach) * CELLS as f64).clamp(0.0, CELLS as f64);
        let (u, w) = (place(x), place(y));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped just above
        let (i, j) = ((u as usize).min(CELLS - 1), (w as usize).min(CELLS - 1));
        let (tu, tw) = (u - i as f64, w - j as f64);
        let side = CELLS + 1;
        let at = |i: usize, j: usize| self.sums[j * side + i];
        let low = at(i, j) + tu * (at(i + 1, j) - at(i, j));
        let high = at(i, j + 1) + tu * (at(i + 1, j + 1) - at(i, j + 1));
        low + tw * (high - low)
    }

    /// Sum inside the rectangle from the origin to `size` when the tool axis is at `at`.
    fn inside(&self, at: (f64, f64), size: (f64, f64)) -> f64 {
        let (x0, x1, y0, y1) = (-at.0, size.0 - at.0, -at.1, size.1 - at.1);
        self.below(x1, y1) - self.below(x0, y1) - self.below(x1, y0) + self.below(x0, y0)
    }
}

/// Share of everything removed along `path` that falls inside the rectangle from the origin to
/// `size` [m].
///
/// # Accuracy
/// About 1e-5: a table of 400 x 400 cells over the footprint and 8 Gauss nodes every half reach of
/// path.
pub(super) fn share_inside(footprint: &Footprint, path: &ToolPath, size: (f64, f64)) -> f64 {
    let table = SummedArea::new(footprint);
    let total = table.total();
    if total <= 0.0 {
        return 1.0;
    }
    let (mut inside, mut whole) = (0.0, 0.0);
    for leg in path.legs() {
        let length = leg.length();
        let pieces = (2.0 * length / footprint.reach()).ceil().max(1.0);
        let mut k = 0.0;
        while k < pieces {
            for q in rule(8, Ends::Smooth) {
                let t = (k + q.x) / pieces;
                let slowness = leg.slowness.0 + t * (leg.slowness.1 - leg.slowness.0);
                inside += q.w * length / pieces * slowness * table.inside(leg.at(t), size);
            }
            k += 1.0;
        }
        whole += leg.time() * total;
    }
    if whole > 0.0 { inside / whole } else { 1.0 }
}
