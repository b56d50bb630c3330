//! Cholesky factor of a symmetric positive definite matrix, and forward substitution for many right
//! sides at once.
//!
//! Dense and in one thread; made for the covariance matrices of a few hundred to two thousand readings.

/// Right sides that are solved together.
pub const LANES: usize = 16;

/// Lower factor L of A = L Lᵀ, stored row by row, for a symmetric positive definite A.
#[derive(Debug, Clone)]
pub struct Cholesky {
    n: usize,
    l: Vec<f64>,
    /// Reciprocal diagonal.
    inverse: Vec<f64>,
}

/// Dot product with eight running sums, so that it uses vector registers; the order is fixed.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 8];
    let (ca, cb) = (a.chunks_exact(8), b.chunks_exact(8));
    let rest: f64 = ca.remainder().iter().zip(cb.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in ca.zip(cb) {
        for k in 0..8 {
            sums[k] += x[k] * y[k];
        }
    }
    sums.iter().sum::<f64>() + rest
}

impl Cholesky {
    /// Factors the `n` x `n` matrix whose element in row i and column j ≤ i is `element(i, j)`.
    ///
    /// ```text
    /// L_jj = √(A_jj − Σ L_jk²)     L_ij = (A_ij − Σ L_ik L_jk)/L_jj     sums over k < j
    /// ```
    ///
    /// `None` where a pivot is not positive and finite: the matrix is not positive definite.
    ///
    /// # Units
    /// Any: with elements in \[u²\] the factor is in \[u\].
    ///
    /// # Accuracy
    /// Direct: rounding only, more where the matrix is nearly singular. n³/6 products, n² numbers kept.
    ///
    /// # Example
    /// ```
    /// use trochoid::math::cholesky::Cholesky;
    /// // [[4, 2], [2, 5]] = L Lᵀ with L = [[2, 0], [1, 2]]; its determinant is 4·5 − 2·2 = 16.
    /// let a = [[4.0, 2.0], [2.0, 5.0]];
    /// let l = Cholesky::factor(2, |i, j| a[i][j]);
    /// assert!(l.as_ref().is_some_and(|l| (l.ln_determinant() - 16f64.ln()).abs() < 1e-14));
    /// // L y = (2, 5): y = (1, 2).
    /// let mut y = [2.0, 5.0];
    /// l.inspect(|l| l.forward(&mut y));
    /// assert!((y[0] - 1.0).abs() < 1e-15 && (y[1] - 2.0).abs() < 1e-15);
    /// assert!(Cholesky::factor(2, |_, _| 1.0).is_none()); // singular
    /// ```
    pub fn factor(n: usize, mut element: impl FnMut(usize, usize) -> f64) -> Option<Self> {
        let mut l = vec![0.0; n * n];
        let mut inverse = vec![0.0; n];
        for i in 0..n {
            let (done, row) = l.split_at_mut(i * n);
            for j in 0..i {
                let known = &done[j * n..j * n + j];
                row[j] = (element(i, j) - dot(&row[..j], known)) * inverse[j];
            }
            let pivot = element(i, i) - dot(&row[..i], &row[..i]);
            if !(pivot.is_finite() && pivot > 0.0) {
                return None;
            }
            row[i] = pivot.sqrt();
            inverse[i] = 1.0 / row[i];
        }
        Some(Self { n, l, inverse })
    }

    /// Rows of the matrix.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.n
    }

    /// Whether the matrix has no row.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.n == 0
    }

    /// Natural logarithm of the determinant, 2 Σ ln L_ii, of the matrix as plain numbers \[1\]; a large
    /// matrix would take the determinant itself out of range.
    #[must_use]
    pub fn ln_determinant(&self) -> f64 {
        -2.0 * self.inverse.iter().map(|v| v.ln()).sum::<f64>()
    }

    /// Replaces `x` by L⁻¹x, by forward substitution: n²/2 products. Entries beyond the matrix are left
    /// alone; a shorter `x` is solved by the upper left part of L. See the example of [`Cholesky::factor`].
    pub fn forward(&self, x: &mut [f64]) {
        for i in 0..self.n.min(x.len()) {
            let (done, rest) = x.split_at_mut(i);
            rest[0] = (rest[0] - dot(&self.l[i * self.n..i * self.n + i], done)) * self.inverse[i];
        }
    }

    /// Replaces each of [`LANES`] right sides by L⁻¹ times it; `x[i][lane]` is element i of one.
    ///
    /// As [`Cholesky::forward`] for each of them but for the order of its sums; L is read once for all.
    ///
    /// # Example
    /// ```
    /// use trochoid::math::cholesky::{Cholesky, LANES};
    /// // L = [[2, 0], [1, 2]]: y_0 = x_0/2 and y_1 = (x_1 − y_0)/2. Lane k holds (2k, 5k), so y is (k, 2k).
    /// let a = [[4.0, 2.0], [2.0, 5.0]];
    /// let mut x: [[f64; LANES]; 2] = [2.0, 5.0].map(|v| core::array::from_fn(|k| v * k as f64));
    /// if let Some(l) = Cholesky::factor(2, |i, j| a[i][j]) {
    ///     l.forward_lanes(&mut x);
    /// }
    /// assert!((x[0][3] - 3.0).abs() < 1e-14 && (x[1][3] - 6.0).abs() < 1e-14);
    /// ```
    pub fn forward_lanes(&self, x: &mut [[f64; LANES]]) {
        for i in 0..self.n.min(x.len()) {
            let (done, rest) = x.split_at_mut(i);
            let mut sum = rest[0];
            for (factor, known) in self.l[i * self.n..i * self.n + i].iter().zip(done.iter()) {
                for k in 0..LANES {
                    sum[k] -= factor * known[k];
                }
            }
            rest[0] = sum.map(|v| v * self.inverse[i]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_by_hand_and_back() {
        // A = [[4, 2, 2], [2, 5, 3], [2, 3, 6]] = L Lᵀ with L = [[2], [1, 2], [1, 1, 2]]; det A = 64.
        let a = [[4.0, 2.0, 2.0], [2.0, 5.0, 3.0], [2.0, 3.0, 6.0]];
        let c = Cholesky::factor(3, |i, j| a[i][j]).unwrap();
        assert!((c.ln_determinant() - 64f64.ln()).abs() < 1e-14, "rounding");
        // L y = (2, 5, 8): y = (1, 2, 2.5).
        let mut y = [2.0, 5.0, 8.0];
        c.forward(&mut y);
        for (got, want) in y.iter().zip([1.0, 2.0, 2.5]) {
            assert!((got - want).abs() < 1e-14, "rounding");
        }
        assert!(Cholesky::factor(2, |_, _| 1.0).is_none(), "singular");
        assert!(Cholesky::factor(1, |_, _| f64::NAN).is_none());
    }

    #[test]
    fn lanes_agree_with_one_at_a_time() {
        let n = 37;
        let c =
            Cholesky::factor(n, |i, j| (-(i.abs_diff(j) as f64) / 9.0).exp() + if i == j { 0.1 } else { 0.0 }).unwrap();
        let right = |i: usize, lane: usize| ((i * 7 + lane * 3) % 11) as f64 - 5.0;
        let mut many: Vec<[f64; LANES]> = (0..n).map(|i| core::array::from_fn(|k| right(i, k))).collect();
        c.forward_lanes(&mut many);
        for lane in 0..LANES {
            let mut one: Vec<f64> = (0..n).map(|i| right(i, lane)).collect();
            c.forward(&mut one);
            for (i, (one, many)) in one.iter().zip(&many).enumerate() {
                // Sums in another order: rounding of some 37 terms of size 10.
                assert!((one - many[lane]).abs() < 1e-12, "{i} {lane}");
            }
        }
    }
}
