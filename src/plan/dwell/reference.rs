//! The slow obvious method: non-negative least squares with an active set, dense.
//!
//! For small cases in tests and for whoever wants to check the fast one; the cost grows with the cube of
//! the unknowns.

use super::error::{DwellError, of_length};
use nalgebra::{DMatrix, DVector};

/// Most unknowns and cells of a dense problem.
const MOST: usize = 4000;

/// The x ≥ 0 of least ‖Ax − b‖ for `rows` of A \[in the unit of b over that of A: s for cut and cut a second\].
///
/// # Accuracy
/// The exact optimum to rounding: least squares on the passive set by a QR factorisation.
///
/// # Errors
/// Rows of unequal length, none, or more than 4000; a number that is not finite; no end after 30 passes an
/// unknown.
///
/// # Example
/// ```
/// use trochoid::plan::dwell_reference::non_negative_least_squares;
/// // 2x = 4 and y = −1: x is 2, and the y of 0 or more that comes nearest to −1 is 0.
/// let x = non_negative_least_squares(&[vec![2.0, 0.0], vec![0.0, 1.0]], &[4.0, -1.0])?;
/// assert!((x[0] - 2.0).abs() < 1e-12 && x[1].abs() < 1e-12);
/// # Ok::<(), trochoid::plan::DwellError>(())
/// ```
///
/// # References
/// C. L. Lawson, R. J. Hanson, Solving Least Squares Problems (1974), chapter 23, algorithm NNLS (from
/// memory).
pub fn non_negative_least_squares(rows: &[Vec<f64>], target: &[f64]) -> Result<Vec<f64>, DwellError> {
    let unknowns = rows.first().map_or(0, Vec::len);
    of_length("target", target.len(), rows.len())?;
    if unknowns == 0 {
        return Err(DwellError::EmptyMask);
    }
    if unknowns.max(rows.len()) > MOST {
        let (size, most) = (unknowns.max(rows.len()) as f64, MOST as f64);
        return Err(DwellError::TooLarge { what: "side of the dense problem", size, most });
    }
    for row in rows {
        of_length("row", row.len(), unknowns)?;
    }
    for (what, list) in rows.iter().map(|r| ("rows", r.as_slice())).chain([("target", target)]) {
        if let Some(index) = list.iter().position(|v| !v.is_finite()) {
            return Err(DwellError::BadNumber { what, index, value: list[index], allowed: "finite" });
        }
    }
    let a = DMatrix::from_fn(rows.len(), unknowns, |i, j| rows[i][j]);
    let b = DVector::from_column_slice(target);
    let mut x = DVector::zeros(unknowns);
    let mut passive = vec![false; unknowns];
    // Where rounding ends and a multiplier begins.
    let tiny = 1e-13 * a.norm() * b.norm().max(f64::MIN_POSITIVE);
    // Columns that the passive set can already make; they may come in again once it has changed.
    let mut barred = vec![false; unknowns];
    for _ in 0..30 * unknowns {
        let slope = a.transpose() * (&b - &a * &x);
        let free = (0..unknowns).filter(|j| !passive[*j] && !barred[*j]);
        let enters = free.max_by(|i, j| slope[*i].total_cmp(&slope[*j]));
        let Some(enters) = enters.filter(|j| slope[*j] > tiny) else {
            return Ok(x.iter().copied().collect());
        };
        passive[enters] = true;
        loop {
            let set: Vec<usize> = (0..unknowns).filter(|j| passive[*j]).collect();
            let Some(solution) = least_squares(&a, &b, &set) else {
                passive[enters] = false;
                barred[enters] = true;
                break;
            };
            if solution.iter().all(|v| *v > 0.0) {
                x.fill(0.0);
                for (j, v) in set.iter().zip(&solution) {
                    x[*j] = *v;
                }
                barred.fill(false);
                break;
            }
            let share = set
                .iter()
                .zip(&solution)
                .filter(|(_, v)| **v <= 0.0)
                .map(|(j, v)| x[*j] / (x[*j] - v))
                .fold(1.0, f64::min);
            for (j, v) in set.iter().zip(&solution) {
                x[*j] += share * (v - x[*j]);
                if x[*j] <= 1e-14 * x.amax() {
                    x[*j] = 0.0;
                    passive[*j] = false;
                }
            }
        }
    }
    Err(DwellError::TooLarge {
        what: "passes of the active set",
        size: 30.0 * unknowns as f64,
        most: 30.0 * unknowns as f64,
    })
}

/// Least squares on some columns; `None` where they depend on one another.
fn least_squares(a: &DMatrix<f64>, b: &DVector<f64>, set: &[usize]) -> Option<Vec<f64>> {
    let part = a.select_columns(set);
    if part.ncols() > part.nrows() {
        return None;
    }
    let qr = part.qr();
    let right = qr.q().transpose() * b;
    let solution = qr.r().solve_upper_triangular(&right)?;
    solution.iter().all(|v| v.is_finite()).then(|| solution.iter().copied().collect())
}
