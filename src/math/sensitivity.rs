//! Which input matters: Sobol indices of first order and total.
//!
//! First order after Saltelli, Annoni, Azzini, Campolongo, Ratto and Tarantola, "Variance based sensitivity
//! analysis of model output", Comput. Phys. Commun. 181 (2010) 259-270, table 2 (b); total after Jansen,
//! Comput. Phys. Commun. 117 (1999) 35-43. Two independent samples A and B, and A with one column of B:
//!
//! ```text
//! S_i = ⟨f(B) (f(A_B,i) − f(A))⟩/V        S_Ti = ⟨(f(A) − f(A_B,i))²⟩/(2V)
//! ```

use super::random::Seed;
use super::reduce::map_indexed;

/// An estimate of an index and its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Best value \[1\].
    pub best: f64,
    /// Standard error by the bootstrap over the sample's rows \[1\].
    pub error: f64,
}

/// Indices of one output.
#[derive(Debug, Clone, PartialEq)]
pub struct SobolIndices {
    /// Share of the variance that each input explains alone; may come out slightly negative.
    pub first: Vec<Estimate>,
    /// Share that would be left if every other input were known: alone and together with others.
    pub total: Vec<Estimate>,
    /// Mean over the cube \[unit of the output\].
    pub mean: f64,
    /// Variance over the cube \[its square\].
    pub variance: f64,
    /// Rows that count: those with a finite value everywhere.
    pub rows: usize,
}

/// Bootstrap samples of the standard errors.
const RESAMPLES: usize = 200;

/// Sobol indices of a model with `outputs` outputs over the unit cube of `inputs` dimensions.
///
/// `rows` rows of A and of B take `rows`·(`inputs` + 2) evaluations. An output whose variance is zero, or
/// that has fewer than two rows with finite values, is `None`. A row with a value that is not finite counts
/// for none of the output's indices: they then hold for the part of the cube that has an answer.
///
/// # Accuracy
/// Monte Carlo: the error falls as one over the root of `rows`; the standard error (200 bootstrap samples) is
/// part of the result, and the tests look at how often it covers known values.
///
/// # Example
/// ```
/// use trochoid::math::sensitivity::sobol_indices;
/// // 2x + y on the square: variances 4/12 and 1/12, so the indices are 4/5 and 1/5; mean 1.5.
/// let found = sobol_indices(2, 1, 2000, 1, |p| vec![2.0 * p[0] + p[1]]);
/// let s = found[0].as_ref().filter(|s| s.rows == 2000);
/// // Four standard errors.
/// assert!(s.is_some_and(|s| (s.first[0].best - 0.8).abs() < 4.0 * s.first[0].error));
/// assert!(s.is_some_and(|s| (s.total[1].best - 0.2).abs() < 4.0 * s.total[1].error && s.total[1].error < 0.02));
/// assert!(s.is_some_and(|s| (s.mean - 1.5).abs() < 4.0 * (5.0f64 / 12.0 / 4000.0).sqrt()));
/// ```
///
/// # References
/// Saltelli, Annoni, Azzini, Campolongo, Ratto and Tarantola (2010), table 2 (b); Jansen (1999).
pub fn sobol_indices(
    inputs: usize,
    outputs: usize,
    rows: usize,
    seed: u64,
    model: impl Fn(&[f64]) -> Vec<f64> + Sync + Send,
) -> Vec<Option<SobolIndices>> {
    let seed = Seed::new(seed);
    let width = inputs + 2;
    let at = |which: u64, row: usize, g: usize| seed.uniform(which, (row * inputs + g) as u64);
    // One task a point: f(A), f(B), then f(A_B,i).
    let values: Vec<Vec<f64>> = map_indexed(rows * width, |k| {
        let (row, which) = (k / width, k % width);
        let point: Vec<f64> = (0..inputs).map(|g| at(u64::from(which == 1 || which == g + 2), row, g)).collect();
        model(&point)
    });
    (0..outputs)
        .map(|o| {
            let good: Vec<Vec<f64>> = (0..rows)
                .map(|r| (0..width).map(|w| values[r * width + w].get(o).copied().unwrap_or(f64::NAN)).collect())
                .filter(|row: &Vec<f64>| row.iter().all(|v| v.is_finite()))
                .collect();
            of_output(inputs, &good, seed)
        })
        .collect()
}

/// Indices over a choice of rows: per input first and total, then mean and variance.
fn indices(inputs: usize, rows: &[Vec<f64>], pick: impl Fn(usize) -> usize) -> (Vec<(f64, f64)>, f64, f64) {
    let n = rows.len() as f64;
    let row = |r: usize| &rows[pick(r)];
    let mean = (0..rows.len()).map(|r| row(r)[0] + row(r)[1]).sum::<f64>() / (2.0 * n);
    let square = |v: f64| (v - mean) * (v - mean);
    let variance = (0..rows.len()).map(|r| square(row(r)[0]) + square(row(r)[1])).sum::<f64>() / (2.0 * n - 1.0);
    let each = (0..inputs)
        .map(|i| {
            let (mut first, mut total) = (0.0, 0.0);
            for r in 0..rows.len() {
                let (a, b, ab) = (row(r)[0], row(r)[1], row(r)[i + 2]);
                // The mean taken off f(B) changes nothing in the limit and lessens the scatter.
                first += (b - mean) * (ab - a);
                total += (a - ab) * (a - ab);
            }
            (first / (n * variance), total / (2.0 * n * variance))
        })
        .collect();
    (each, mean, variance)
}

fn of_output(inputs: usize, rows: &[Vec<f64>], seed: Seed) -> Option<SobolIndices> {
    if rows.len() < 2 {
        return None;
    }
    let (best, mean, variance) = indices(inputs, rows, |r| r);
    if variance.is_nan() || variance <= 1e-24 * mean * mean {
        return None;
    }
    let count = rows.len() as f64;
    let resampled: Vec<Vec<(f64, f64)>> = map_indexed(RESAMPLES, |k| {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ draw·count < count
        let pick = |r: usize| ((seed.uniform(2 + k as u64, r as u64) * count) as usize).min(rows.len() - 1);
        let chosen: Vec<usize> = (0..rows.len()).map(pick).collect();
        indices(inputs, rows, |r| chosen[r]).0
    });
    let spread = |of: &dyn Fn(&(f64, f64)) -> f64, i: usize| {
        let n = RESAMPLES as f64;
        let mean = resampled.iter().map(|s| of(&s[i])).sum::<f64>() / n;
        (resampled.iter().map(|s| (of(&s[i]) - mean) * (of(&s[i]) - mean)).sum::<f64>() / (n - 1.0)).sqrt()
    };
    let estimates = |of: &dyn Fn(&(f64, f64)) -> f64| {
        (0..inputs).map(|i| Estimate { best: of(&best[i]), error: spread(of, i) }).collect()
    };
    Some(SobolIndices { first: estimates(&|p| p.0), total: estimates(&|p| p.1), mean, variance, rows: rows.len() })
}
