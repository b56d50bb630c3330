//! Triangles onto the nodes of a grid: the uppermost layer, and where there is more than one.
//!
//! Row by row through each triangle, so that the work is the rows and nodes it covers, not its box: a
//! long thin triangle costs no more than its length.

use crate::error::RangeError;

/// Most rows and nodes that the triangles may cover together: about two seconds of work.
pub(super) const MAX_COVERED: f64 = 4e8;

/// Heights apart by more than this are two layers, m.
const LAYER: f64 = 1e-6;

/// A grid in plan.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Grid {
    pub origin: (f64, f64),
    pub step: f64,
    pub count: (usize, usize),
}

impl Grid {
    pub fn nodes(&self) -> usize {
        self.count.0 * self.count.1
    }
}

/// Heights of the uppermost layer; minus infinity where there is none.
#[derive(Debug)]
pub(super) struct Layers {
    pub top: Vec<f64>,
    /// Covered nodes.
    pub covered: usize,
    /// Nodes covered by more than one layer.
    pub layered: usize,
}

/// Covers the nodes with triangles whose corners are given in plan and height, m.
pub(super) fn cover(grid: &Grid, triangles: impl Iterator<Item = [[f64; 3]; 3]> + Clone) -> Result<Layers, RangeError> {
    let rows = |t: &[[f64; 3]; 3]| {
        let (low, high) = span(t, 1);
        (high - low) / grid.step
    };
    let work: f64 =
        triangles.clone().map(|t| 1.0 + rows(&t) + doubled_area(&t).abs() / (2.0 * grid.step * grid.step)).sum();
    if work > MAX_COVERED {
        let allowed = format!("at most {MAX_COVERED:.0}: take a larger step or fewer triangles");
        return Err(RangeError::new("nodes covered by all triangles", work.round(), "", allowed));
    }
    let mut top = vec![f64::NEG_INFINITY; grid.nodes()];
    let mut bottom = vec![f64::INFINITY; grid.nodes()];
    for t in triangles {
        cover_one(grid, &t, &mut top, &mut bottom);
    }
    let covered = top.iter().filter(|z| z.is_finite()).count();
    let layered = top.iter().zip(&bottom).filter(|(t, b)| t.is_finite() && *t - *b > LAYER).count();
    Ok(Layers { top, covered, layered })
}

fn span(t: &[[f64; 3]; 3], axis: usize) -> (f64, f64) {
    (t[0][axis].min(t[1][axis]).min(t[2][axis]), t[0][axis].max(t[1][axis]).max(t[2][axis]))
}

/// Twice the area in plan, positive where the corners run anticlockwise.
fn doubled_area(t: &[[f64; 3]; 3]) -> f64 {
    (t[1][0] - t[0][0]) * (t[2][1] - t[0][1]) - (t[2][0] - t[0][0]) * (t[1][1] - t[0][1])
}

/// First and last node within an interval, with a slack of a millionth of a step for rounding.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
fn nodes(low: f64, high: f64, origin: f64, step: f64, count: usize) -> core::ops::Range<usize> {
    let first = ((low - origin) / step - 1e-6).ceil().max(0.0);
    let last = ((high - origin) / step + 1e-6).floor().min(count as f64 - 1.0);
    if first > last { 0..0 } else { first as usize..last as usize + 1 }
}

fn cover_one(grid: &Grid, t: &[[f64; 3]; 3], top: &mut [f64], bottom: &mut [f64]) {
    let twice = doubled_area(t);
    let (x, y, z) = (span(t, 0), span(t, 1), span(t, 2));
    let longest = (x.1 - x.0).max(y.1 - y.0);
    // Seen edge on: its neighbours hold the height there.
    if twice.abs() <= 1e-12 * longest * longest {
        return;
    }
    // Height as a plane through the first corner.
    let (b, c) = (super::sub(t[1], t[0]), super::sub(t[2], t[0]));
    let slope_x = (b[2] * c[1] - c[2] * b[1]) / twice;
    let slope_y = (c[2] * b[0] - b[2] * c[0]) / twice;
    for j in nodes(y.0, y.1, grid.origin.1, grid.step, grid.count.1) {
        let row = grid.origin.1 + j as f64 * grid.step;
        let at = row.clamp(y.0, y.1);
        let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
        for k in 0..3 {
            let (p, q) = (t[k], t[(k + 1) % 3]);
            if at < p[1].min(q[1]) || at > p[1].max(q[1]) {
                continue;
            }
            let rise = q[1] - p[1];
            if rise.abs() > 0.0 {
                let cut = p[0] + (at - p[1]) / rise * (q[0] - p[0]);
                left = left.min(cut);
                right = right.max(cut);
            } else {
                left = left.min(p[0].min(q[0]));
                right = right.max(p[0].max(q[0]));
            }
        }
        for i in nodes(left, right, grid.origin.0, grid.step, grid.count.0) {
            let column = grid.origin.0 + i as f64 * grid.step;
            // Within its corners' heights, so that a steep triangle throws no spike at its rim.
            let height = (t[0][2] + slope_x * (column - t[0][0]) + slope_y * (row - t[0][1])).clamp(z.0, z.1);
            let node = j * grid.count.0 + i;
            top[node] = top[node].max(height);
            bottom[node] = bottom[node].min(height);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GRID: Grid = Grid { origin: (0.0, 0.0), step: 0.1, count: (11, 11) };

    #[test]
    fn two_triangles_cover_a_square_without_gaps_or_false_layers() {
        let z = |x: f64, y: f64| 0.3 * x - 0.7 * y;
        let p = |x: f64, y: f64| [x, y, z(x, y)];
        let t = [[p(0.0, 0.0), p(1.0, 0.0), p(1.0, 1.0)], [p(0.0, 0.0), p(1.0, 1.0), p(0.0, 1.0)]];
        let l = cover(&GRID, t.into_iter()).unwrap();
        assert_eq!((l.covered, l.layered), (121, 0));
        for (n, h) in l.top.iter().enumerate() {
            let (x, y) = ((n % 11) as f64 * 0.1, (n / 11) as f64 * 0.1);
            assert!((h - z(x, y)).abs() < 1e-15); // a few roundings of numbers below 1
        }
    }

    #[test]
    fn the_upper_layer_wins_and_the_lower_is_counted() {
        let flat = |z: f64, s: f64| [[0.0, 0.0, z], [s, 0.0, z], [0.0, s, z]];
        let l = cover(&GRID, [flat(0.2, 0.5), flat(0.1, 1.0)].into_iter()).unwrap();
        assert_eq!(l.covered, 66); // nodes of a triangle with 11 on a side
        assert_eq!(l.layered, 21); // 6 on a side
        assert!((l.top[0] - 0.2).abs() < 1e-15 && (l.top[10] - 0.1).abs() < 1e-15); // the corners' own
    }

    #[test]
    fn triangles_without_end_are_refused_before_any_work() {
        let big = [[0.0, 0.0, 0.0], [1e6, 0.0, 0.0], [0.0, 1e6, 0.0]];
        let e = cover(&GRID, core::iter::repeat_n(big, 10)).unwrap_err();
        assert!(e.to_string().contains("larger step"), "{e}");
    }
}
