//! How well two maps of one quantity agree, and how much of a disc was touched at all.

use crate::removal::Grid;

/// How well two maps agree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// Sum of the first over the sum of the second, less 1 \[1\].
    pub volume: f64,
    /// Σ|a − b| after smoothing, over Σ b before it \[1\].
    pub l1: f64,
    /// Root mean square of a − b after smoothing, over the mean of b before it \[1\].
    pub rms: f64,
}

/// Compares map `a` with map `b` after smoothing both with a Gaussian of standard deviation `sigma_m`
/// \[m\].
///
/// A map of grains is a sum of narrow traces; smoothed over some millimetres it estimates what the
/// footprint gives at once, with an error that falls as 1/√N for N independent grains.
///
/// # Example
/// ```
/// use trochoid::removal::{Grid, grains::agreement};
/// # fn main() -> Result<(), trochoid::Error> {
/// // 1.1 and 2.2 against 1 and 2, unsmoothed: a tenth more in all, √((0.1² + 0.2²)/2)/1.5 = 0.1054 as an RMS.
/// let agreed = agreement(&[1.1, 2.2], &[1.0, 2.0], &Grid::over((0.02, 0.01), 0.01)?, 0.0);
/// assert!((agreed.volume - 0.1).abs() < 1e-12 && (agreed.l1 - 0.1).abs() < 1e-12);
/// assert!((agreed.rms - 0.1054).abs() < 1e-4);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn agreement(a: &[f64], b: &[f64], grid: &Grid, sigma_m: f64) -> Agreement {
    let (whole_a, whole_b) = (a.iter().sum::<f64>(), b.iter().sum::<f64>());
    let (a, b) = (smoothed(a, grid, sigma_m), smoothed(b, grid, sigma_m));
    let (mut l1, mut square) = (0.0, 0.0);
    for (u, v) in a.iter().zip(&b) {
        l1 += (u - v).abs();
        square += (u - v).powi(2);
    }
    let n = b.len() as f64;
    Agreement { volume: whole_a / whole_b - 1.0, l1: l1 / whole_b, rms: (square / n).sqrt() / (whole_b / n) }
}

/// A map smoothed with a Gaussian of standard deviation `sigma_m` \[m\], cut at four of them; zero past
/// the panel's edge. In the unit of the map.
///
/// # Example
/// ```
/// use trochoid::removal::{Grid, grains::smoothed};
/// # fn main() -> Result<(), trochoid::Error> {
/// // An even map stays as it is in its middle, and loses half right at an edge (a cell of 1 mm more or less).
/// let even = smoothed(&[1.0; 101 * 101], &Grid::over((0.101, 0.101), 1e-3)?, 0.01);
/// assert!((even[50 * 101 + 50] - 1.0).abs() < 1e-12);
/// assert!((even[50 * 101] - 0.5).abs() < 0.05);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn smoothed(values: &[f64], grid: &Grid, sigma_m: f64) -> Vec<f64> {
    let ((nx, ny), (dx, dy)) = (grid.count(), grid.cell());
    let along = blur_rows(values, nx, &weights(sigma_m / dx));
    let turned = blur_rows(&transposed(&along, nx, ny), ny, &weights(sigma_m / dy));
    transposed(&turned, ny, nx)
}

/// Weights of a Gaussian over cells, from its middle outward; they sum to 1 over both sides.
fn weights(sigma_cells: f64) -> Vec<f64> {
    let mut out = vec![1.0];
    let mut k = 1.0;
    while k <= 4.0 * sigma_cells && out.len() < 10_000 {
        out.push((-0.5 * (k / sigma_cells).powi(2)).exp());
        k += 1.0;
    }
    let sum = 2.0 * out.iter().sum::<f64>() - 1.0;
    out.iter().map(|w| w / sum).collect()
}

fn blur_rows(values: &[f64], width: usize, weights: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; values.len()];
    for (row, into) in values.chunks(width).zip(out.chunks_mut(width)) {
        for (k, w) in weights.iter().enumerate().take(width) {
            for (i, sum) in into.iter_mut().enumerate() {
                if k > 0 && i >= k {
                    *sum += w * row[i - k];
                }
                if i + k < width {
                    *sum += w * row[i + k];
                }
            }
        }
    }
    out
}

fn transposed(values: &[f64], width: usize, height: usize) -> Vec<f64> {
    let mut out = vec![0.0; values.len()];
    for j in 0..height {
        for i in 0..width {
            out[i * height + j] = values[j * width + i];
        }
    }
    out
}

/// Share of the cells with their centre in a disc about `centre` \[m\] that hold anything \[1\]; `None`
/// where no centre lies in it.
///
/// # Example
/// ```
/// use trochoid::removal::{Grid, grains::touched_share};
/// # fn main() -> Result<(), trochoid::Error> {
/// // The disc holds the middle one of 3 x 3 cells and the four beside it; two of the five were touched.
/// let grid = Grid::over((0.03, 0.03), 0.01)?;
/// let share = touched_share(&[0.0, 1.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0], &grid, (0.015, 0.015), 0.011);
/// assert!(share.is_some_and(|s| (s - 0.4).abs() < 1e-15));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn touched_share(values: &[f64], grid: &Grid, centre: (f64, f64), radius_m: f64) -> Option<f64> {
    let (nx, ny) = grid.count();
    let (mut cells, mut touched) = (0.0, 0.0);
    for j in 0..ny {
        for i in 0..nx {
            let (x, y) = grid.centre(i, j);
            if (x - centre.0).hypot(y - centre.1) <= radius_m {
                cells += 1.0;
                touched += if values[j * nx + i] > 0.0 { 1.0 } else { 0.0 };
            }
        }
    }
    if cells > 0.0 { Some(touched / cells) } else { None }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn smoothing_keeps_the_sum_and_spreads_a_point() {
        let grid = Grid::over((0.1, 0.08), 1e-3).unwrap();
        let (nx, ny) = grid.count();
        let mut point = vec![0.0; nx * ny];
        point[40 * nx + 50] = 1.0;
        let wide = smoothed(&point, &grid, 5e-3);
        assert!((wide.iter().sum::<f64>() - 1.0).abs() < 1e-12, "rounding only");
        // The peak of a Gaussian of 5 cells: 1/(2π 25), its tails beyond four deviations cut off.
        assert!((wide[40 * nx + 50] * core::f64::consts::TAU * 25.0 - 1.0).abs() < 2e-3);
        let same = agreement(&point, &point, &grid, 5e-3);
        assert!(same.volume.abs() < 1e-15 && same.l1.abs() < 1e-15 && same.rms.abs() < 1e-15, "{same:?}");
    }
}
