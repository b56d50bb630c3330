//! Level lines of a function given at the nodes of a square grid.
//!
//! Marching squares: each cell gives one or two straight pieces, its saddle decided by the mean of its
//! corners. The loops are closed, since everything beyond the grid counts as below the level; the
//! higher side lies on the left.

use crate::math::reduce::map_indexed;

const NONE: usize = usize::MAX;

/// Values at grid nodes, with a frame of low nodes round them.
#[derive(Debug, Clone)]
pub(super) struct Field {
    origin: (f64, f64),
    step: f64,
    count: (usize, usize),
    values: Vec<f64>,
}

impl Field {
    /// Samples `f` at `count` nodes; the frame beyond them is one step below the lowest level asked for.
    pub(super) fn sample(
        origin: (f64, f64),
        step: f64,
        count: (usize, usize),
        f: impl Fn(f64, f64) -> f64 + Sync + Send,
    ) -> Self {
        let (nx, ny) = (count.0 + 2, count.1 + 2);
        let origin = (origin.0 - step, origin.1 - step);
        let values = map_indexed(ny, |j| {
            let y = origin.1 + j as f64 * step;
            (0..nx)
                .map(|i| {
                    let framed = i == 0 || j == 0 || i == nx - 1 || j == ny - 1;
                    if framed { f64::NEG_INFINITY } else { f(origin.0 + i as f64 * step, y) }
                })
                .collect::<Vec<f64>>()
        })
        .concat();
        Self { origin, step, count: (nx, ny), values }
    }

    /// Largest value.
    pub(super) fn largest(&self) -> f64 {
        self.values.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// Area in plan round the nodes above a level, m².
    pub(super) fn area_above(&self, level: f64) -> f64 {
        self.values.iter().filter(|v| **v > level).count() as f64 * self.step * self.step
    }

    fn crossing(&self, edge: usize, level: f64) -> (f64, f64) {
        let a = edge / 2;
        let b = if edge.is_multiple_of(2) { a + 1 } else { a + self.count.0 };
        // A framed end lies one step below the level, wherever that is.
        let low = |v: f64| if v.is_finite() { v } else { level - self.step };
        let (va, vb) = (low(self.values[a]), low(self.values[b]));
        let t = ((level - va) / (vb - va)).clamp(0.0, 1.0);
        let (i, j) = ((a % self.count.0) as f64, (a / self.count.0) as f64);
        let (di, dj) = if edge.is_multiple_of(2) { (t, 0.0) } else { (0.0, t) };
        (self.origin.0 + (i + di) * self.step, self.origin.1 + (j + dj) * self.step)
    }

    /// Closed loops on which the function has the value `level`; the last point joins the first.
    pub(super) fn loops(&self, level: f64) -> Vec<Vec<(f64, f64)>> {
        let (nx, ny) = self.count;
        let mut next = vec![NONE; 2 * nx * ny];
        for j in 0..ny - 1 {
            for i in 0..nx - 1 {
                let at = j * nx + i;
                let corner = [at, at + 1, at + nx + 1, at + nx].map(|k| self.values[k] >= level);
                let edge = [2 * at, 2 * (at + 1) + 1, 2 * (at + nx), 2 * at + 1];
                // Round the cell against the clock: where the level is left, and where it is come back to.
                let leaves: Vec<usize> = (0..4).filter(|k| corner[*k] && !corner[(k + 1) % 4]).collect();
                match leaves.as_slice() {
                    [] => {}
                    [one] => {
                        let back = (0..4).find(|k| !corner[*k] && corner[(k + 1) % 4]).unwrap_or(*one);
                        next[edge[*one]] = edge[back];
                    }
                    _ => {
                        let sum: f64 = [at, at + 1, at + nx + 1, at + nx].iter().map(|k| self.values[*k] - level).sum();
                        for k in leaves {
                            // Joined through the middle: round the low corner ahead; else round the high one behind.
                            let back = if sum >= 0.0 { (k + 1) % 4 } else { (k + 3) % 4 };
                            next[edge[k]] = edge[back];
                        }
                    }
                }
            }
        }
        let mut out = Vec::new();
        for start in 0..next.len() {
            let mut loop_points = Vec::new();
            let mut at = start;
            while next[at] != NONE {
                loop_points.push(self.crossing(at, level));
                let to = next[at];
                next[at] = NONE;
                at = to;
            }
            if loop_points.len() > 2 {
                out.push(loop_points);
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ring_has_an_outer_and_an_inner_loop() {
        // 0.1 − |r − 0.3| ≥ 0.05: a ring from r = 0.25 to 0.35; the outer loop against the clock.
        let f = Field::sample((-0.5, -0.5), 0.01, (101, 101), |x, y| 0.1 - (x.hypot(y) - 0.3).abs());
        let loops = f.loops(0.05);
        assert_eq!(loops.len(), 2);
        let area = |l: &Vec<(f64, f64)>| {
            (0..l.len()).map(|i| (l[i], l[(i + 1) % l.len()])).map(|(a, b)| 0.5 * (a.0 * b.1 - b.0 * a.1)).sum::<f64>()
        };
        let mut areas: Vec<f64> = loops.iter().map(area).collect();
        areas.sort_by(f64::total_cmp);
        // Chords of 10 mm on a circle of 0.25 m lie within h²/8r = 0.05 mm of it: 2 × 0.05/250 = 0.04 % of its area.
        assert!((areas[0] / -(core::f64::consts::PI * 0.0625) - 1.0).abs() < 4e-4, "{areas:?}");
        assert!((areas[1] / (core::f64::consts::PI * 0.1225) - 1.0).abs() < 4e-4, "{areas:?}");
    }

    #[test]
    fn a_region_that_fills_the_grid_is_closed_beyond_it() {
        let f = Field::sample((0.0, 0.0), 0.1, (4, 4), |_, _| 1.0);
        let loops = f.loops(0.5);
        assert_eq!(loops.len(), 1);
        assert!(loops[0].iter().all(|p| p.0 > -0.1 && p.0 < 0.4 && p.1 > -0.1 && p.1 < 0.4));
    }
}
