//! Least-squares polynomials of two variables, up to the third degree.
//!
//! Normal equations with a Cholesky factor: the caller scales the variables to about one, so that they
//! hold 1e-16 x the square of the condition (below 1e3 for a whole disc, 1e4 for half of one).

/// Terms of the full cubic.
pub(super) const MOST: usize = 10;

/// Terms of the polynomials of degree 1, 2 and 3.
pub(super) const PLANE: usize = 3;
/// See [`PLANE`].
pub(super) const QUADRATIC: usize = 6;
/// See [`PLANE`].
pub(super) const CUBIC: usize = 10;

/// 1, u, v, u², uv, v², u³, u²v, uv², v³.
pub(super) fn terms(u: f64, v: f64) -> [f64; MOST] {
    [1.0, u, v, u * u, u * v, v * v, u * u * u, u * u * v, u * v * v, v * v * v]
}

/// Sums of a fit with the first `n` terms.
#[derive(Debug, Clone)]
pub(super) struct Sums {
    n: usize,
    matrix: [[f64; MOST]; MOST],
    right: [f64; MOST],
}

/// Coefficients, and the inverse of the normal matrix (covariance for unit noise).
#[derive(Debug, Clone)]
pub(super) struct Fit {
    pub(super) coefficient: [f64; MOST],
    pub(super) covariance: [[f64; MOST]; MOST],
}

impl Fit {
    pub(super) fn value(&self, t: &[f64; MOST]) -> f64 {
        t.iter().zip(&self.coefficient).map(|(a, b)| a * b).sum()
    }
}

impl Sums {
    pub(super) const fn new(n: usize) -> Self {
        Self { n, matrix: [[0.0; MOST]; MOST], right: [0.0; MOST] }
    }

    /// Sums of at most a quadratic from moments: `m[a][b]` = Σ u^a v^b, `r[a][b]` = Σ value u^a v^b.
    pub(super) fn from_moments(n: usize, m: &[[f64; 5]; 5], r: &[[f64; 3]; 3]) -> Self {
        const POWERS: [(usize, usize); QUADRATIC] = [(0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2)];
        let mut out = Self::new(n);
        for (i, p) in POWERS.iter().enumerate().take(n) {
            for (j, q) in POWERS.iter().enumerate().take(i + 1) {
                out.matrix[i][j] = m[p.0 + q.0][p.1 + q.1];
            }
            out.right[i] = r[p.0][p.1];
        }
        out
    }

    pub(super) fn add(&mut self, t: &[f64; MOST], value: f64) {
        for r in 0..self.n {
            for (m, c) in self.matrix[r][..=r].iter_mut().zip(t) {
                *m += t[r] * c;
            }
            self.right[r] += t[r] * value;
        }
    }

    /// Lower factor; `None` where the points do not fix every term.
    fn factor(&self) -> Option<[[f64; MOST]; MOST]> {
        let mut l = [[0.0; MOST]; MOST];
        for r in 0..self.n {
            for c in 0..=r {
                let sum: f64 = (0..c).map(|k| l[r][k] * l[c][k]).sum();
                let rest = self.matrix[r][c] - sum;
                if r == c {
                    // What is left of a term after the earlier ones: 1e-9 of it is rounding and noise.
                    if rest.is_nan() || rest <= 1e-9 * self.matrix[r][r] || rest <= 0.0 {
                        return None;
                    }
                    l[r][r] = rest.sqrt();
                } else {
                    l[r][c] = rest / l[c][c];
                }
            }
        }
        Some(l)
    }

    fn solve(&self, l: &[[f64; MOST]; MOST], right: &[f64; MOST]) -> [f64; MOST] {
        let mut y = [0.0; MOST];
        for r in 0..self.n {
            let sum: f64 = (0..r).map(|k| l[r][k] * y[k]).sum();
            y[r] = (right[r] - sum) / l[r][r];
        }
        let mut x = [0.0; MOST];
        for r in (0..self.n).rev() {
            let sum: f64 = (r + 1..self.n).map(|k| l[k][r] * x[k]).sum();
            x[r] = (y[r] - sum) / l[r][r];
        }
        x
    }

    /// Coefficients alone.
    pub(super) fn coefficients(&self) -> Option<[f64; MOST]> {
        Some(self.solve(&self.factor()?, &self.right))
    }

    /// Coefficients and covariance.
    pub(super) fn fit(&self) -> Option<Fit> {
        let l = self.factor()?;
        let mut covariance = [[0.0; MOST]; MOST];
        for (i, row) in covariance.iter_mut().enumerate().take(self.n) {
            let mut unit = [0.0; MOST];
            unit[i] = 1.0;
            *row = self.solve(&l, &unit);
        }
        Some(Fit { coefficient: self.solve(&l, &self.right), covariance })
    }
}
