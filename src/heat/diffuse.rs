//! Lateral conduction on a rectangle of square cells, insulated at its rim, one direction after the
//! other.
//!
//! With constant coefficients on a rectangle the two directions commute, so that splitting them costs
//! nothing. In each direction the step is the two-stage, second-order, L-stable diagonally implicit
//! Runge-Kutta rule (R. Alexander, SIAM J. Numer. Anal. 14 (1977) 1006): with W = 1/(1 − γz),
//! γ = 1 − 1/√2, it is R(z) = (1 + √2)W² − √2 W. The tridiagonal solves keep the sum of the cells.

use crate::math::reduce::{for_bands, map_indexed};
use core::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

const GAMMA: f64 = 1.0 - FRAC_1_SQRT_2;
/// Columns of a block, rows of a band: small enough for the caches, fixed so that the bits never change.
const BLOCK: usize = 8;
const BAND: usize = 8;

/// A line of cells with its elimination factors.
#[derive(Debug, Clone)]
struct Line {
    /// Inverse pivot, and the coupling times it.
    factors: Vec<(f64, f64)>,
}

impl Line {
    fn new(n: usize, r: f64) -> Self {
        let mut factors = Vec::with_capacity(n);
        let mut last: f64 = 0.0;
        for i in 0..n {
            let sides = f64::from(u8::from(i > 0)) + f64::from(u8::from(i + 1 < n));
            last = 1.0 / (1.0 + sides * r - if i > 0 { r * r * last } else { 0.0 });
            factors.push((last, r * last));
        }
        Self { factors }
    }
}

/// Steps of one duration on one grid.
#[derive(Debug, Clone)]
pub(super) struct Diffusion {
    along_x: Line,
    along_y: Line,
    count: (usize, usize),
}

/// Cells, row by row; each row holds its `nx` values and then the `nx` largest values met so far.
#[derive(Debug, Clone)]
pub(super) struct Rows {
    pub(super) count: (usize, usize),
    pub(super) data: Vec<f64>,
}

impl Rows {
    pub(super) fn filled(count: (usize, usize), value: f64) -> Self {
        Self { count, data: vec![value; 2 * count.0 * count.1] }
    }

    pub(super) fn of(count: (usize, usize), values: &[f64]) -> Self {
        let mut out = Self::filled(count, 0.0);
        for (row, v) in out.data.chunks_mut(2 * count.0).zip(values.chunks(count.0)) {
            row[..count.0].copy_from_slice(v);
            row[count.0..].copy_from_slice(v);
        }
        out
    }

    /// The values, or the largest met, row by row.
    pub(super) fn collect(&self, largest: bool) -> Vec<f64> {
        let nx = self.count.0;
        let from = if largest { nx } else { 0 };
        self.data.chunks(2 * nx).flat_map(|row| row[from..from + nx].iter().copied()).collect()
    }

    /// The row's values and its largest.
    pub(super) fn row(&mut self, j: usize) -> (&mut [f64], &mut [f64]) {
        let nx = self.count.0;
        self.data[2 * nx * j..2 * nx * (j + 1)].split_at_mut(nx)
    }

    pub(super) fn value(&self, i: usize, j: usize) -> f64 {
        self.data[2 * self.count.0 * j + i]
    }
}

impl Diffusion {
    /// Steps of αΔt = `spread` [m²] on cells of these sides \[m\].
    pub(super) fn new(count: (usize, usize), spread: f64, cell: (f64, f64)) -> Self {
        let line = |n: usize, h: f64| Line::new(n, GAMMA * spread / (h * h));
        Self { along_x: line(count.0, cell.0), along_y: line(count.1, cell.1), count }
    }

    /// One step; the result is multiplied by `scale`, and the largest values are kept up.
    pub(super) fn step(&self, rows: &mut Rows, scale: f64) {
        let (nx, ny) = self.count;
        let data = &rows.data;
        let blocks = map_indexed(nx.div_ceil(BLOCK), |b| {
            let (c0, c1) = (b * BLOCK, ((b + 1) * BLOCK).min(nx));
            let mut block = Vec::with_capacity(ny * (c1 - c0));
            for j in 0..ny {
                block.extend_from_slice(&data[2 * nx * j + c0..2 * nx * j + c1]);
            }
            self.down(&mut block, c1 - c0);
            block
        });
        for_bands(&mut rows.data, 2 * nx, BAND, |first, band| {
            let mut lanes = vec![[0.0; BAND]; nx];
            let used = band.len() / (2 * nx);
            for k in 0..used {
                let mut at = lanes.iter_mut();
                for (b, block) in blocks.iter().enumerate() {
                    let width = BLOCK.min(nx - b * BLOCK);
                    let row = &block[(first + k) * width..(first + k + 1) * width];
                    for (v, lane) in row.iter().zip(&mut at) {
                        lane[k] = *v;
                    }
                }
            }
            self.across(&mut lanes);
            for (k, row) in band.chunks_mut(2 * nx).enumerate() {
                let (values, largest) = row.split_at_mut(nx);
                for ((v, m), lane) in values.iter_mut().zip(largest).zip(&lanes) {
                    *v = lane[k] * scale;
                    *m = m.max(*v);
                }
            }
        });
    }

    /// The step along y of a block of columns, `width` values a row.
    fn down(&self, block: &mut [f64], width: usize) {
        let line = &self.along_y;
        let solve = |v: &mut [f64]| {
            for (j, (m, rm)) in line.factors.iter().enumerate() {
                let (before, here) = v.split_at_mut(j * width);
                let here = &mut here[..width];
                if j == 0 {
                    for x in here {
                        *x *= m;
                    }
                } else {
                    for (x, p) in here.iter_mut().zip(&before[(j - 1) * width..]) {
                        *x = *x * m + rm * p;
                    }
                }
            }
            for (j, (_, rm)) in line.factors.iter().enumerate().rev().skip(1) {
                let (here, after) = v.split_at_mut((j + 1) * width);
                for (x, n) in here[j * width..].iter_mut().zip(&after[..width]) {
                    *x += rm * n;
                }
            }
        };
        solve(block);
        let mut second = block.to_vec();
        solve(&mut second);
        for (once, twice) in block.iter_mut().zip(&second) {
            *once = (1.0 + SQRT_2) * twice - SQRT_2 * *once;
        }
    }

    /// The step along x of [`BAND`] rows side by side.
    fn across(&self, lanes: &mut [[f64; BAND]]) {
        let line = &self.along_x;
        let solve = |v: &mut [[f64; BAND]]| {
            let mut last = [0.0; BAND];
            for (here, (m, rm)) in v.iter_mut().zip(&line.factors) {
                for (x, p) in here.iter_mut().zip(&mut last) {
                    *x = *x * m + rm * *p;
                    *p = *x;
                }
            }
            let mut next = [0.0; BAND];
            for (here, (_, rm)) in v.iter_mut().zip(&line.factors).rev() {
                for (x, n) in here.iter_mut().zip(&mut next) {
                    *x += rm * *n;
                    *n = *x;
                }
            }
        };
        solve(lanes);
        let mut second = lanes.to_vec();
        solve(&mut second);
        for (once, twice) in lanes.iter_mut().zip(&second) {
            for (a, b) in once.iter_mut().zip(twice) {
                *a = (1.0 + SQRT_2) * b - SQRT_2 * *a;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::f64::consts::PI;

    /// Largest error of one cosine mode after a fixed time, in `steps` steps.
    fn error(n: usize, steps: i32) -> f64 {
        let count = (n, n / 2);
        let h = 1.0 / n as f64;
        let mode = |i: usize, j: usize| (PI * (i as f64 + 0.5) * h).cos() * (2.0 * PI * (j as f64 + 0.5) * h).cos();
        let all: Vec<f64> = (0..count.1).flat_map(|j| (0..count.0).map(move |i| mode(i, j))).collect();
        let mut rows = Rows::of(count, &all);
        let time = 0.05;
        let d = Diffusion::new(count, time / f64::from(steps), (h, h));
        for _ in 0..steps {
            d.step(&mut rows, 1.0);
        }
        // Modes of π along x and 2π along y: exp(−(π² + 4π²)t).
        let left = (-5.0 * PI * PI * time).exp();
        rows.collect(false).iter().zip(&all).map(|(a, b)| (a - left * b).abs()).fold(0.0, f64::max)
    }

    #[test]
    fn second_order_in_space_and_time() {
        let space: Vec<f64> = [16, 32, 64].map(|n| error(n, 400)).into();
        let time: Vec<f64> = [4, 8, 16].map(|s| error(256, s)).into();
        for (name, e) in [("space", space), ("time", time)] {
            for w in e.windows(2) {
                let order = (w[0] / w[1]).log2();
                // 2 within 0.25: the next order still shows at these steps.
                assert!((order - 2.0).abs() < 0.25, "{name}: {order}, {w:?}");
            }
        }
    }

    #[test]
    fn heat_is_kept_to_rounding_on_ragged_grids() {
        for count in [(1, 1), (1, 7), (33, 9), (70, 41)] {
            let values: Vec<f64> = (0..count.0 * count.1).map(|k| ((k * 7919) % 101) as f64).collect();
            let mut rows = Rows::of(count, &values);
            Diffusion::new(count, 12.0, (1.0, 0.7)).step(&mut rows, 1.0);
            let (a, b): (f64, f64) = (values.iter().sum(), rows.collect(false).iter().sum());
            assert!((a - b).abs() <= 1e-12 * a.abs().max(1.0), "{count:?}: rounding of the solves, {a} {b}");
        }
    }
}
