//! Bracketed roots of one variable: Brent's method.
//!
//! R. P. Brent, "Algorithms for Minimization without Derivatives", Prentice-Hall 1973, chapter 4.

/// A root, how well it is known and what it took.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Root {
    /// The root \[unit of x\].
    pub x: f64,
    /// Width of the last bracket, of which `x` is one end: the error bound of `x` \[unit of x\].
    pub error: f64,
    /// Function value at `x` \[unit of f\].
    pub residual: f64,
    /// Function calls made, the two ends' not counted.
    pub calls: u32,
}

/// Root of `f` between `a` and `b`, where `fa = f(a)` and `fb = f(b)` differ in sign (or one is zero).
///
/// Stops when the bracket is within `tolerance` \[unit of x\] plus rounding, or after 200 calls.
/// Returns `None` when the ends do not bracket a root or a value is not a number.
///
/// # Accuracy
/// `error` of the result bounds it, for a continuous f; a sign change over a jump or a pole counts as a root.
/// Some ten calls for a smooth f, at worst about the square of what halving the bracket would take.
///
/// # Example
/// ```
/// use trochoid::math::root::bracketed;
/// // x² = 2 between 1 and 2, where x² − 2 is −1 and 2: the root of two.
/// let root = bracketed(|x| x * x - 2.0, (1.0, -1.0), (2.0, 2.0), 1e-12);
/// assert!(root.is_some_and(|r| (r.x - 2f64.sqrt()).abs() <= r.error.max(1e-15) && r.error <= 1e-11));
/// // No change of sign, however small the values.
/// assert!(bracketed(|_| 1e-200, (-1.0, 1e-200), (1.0, 1e-200), 1e-12).is_none());
/// ```
///
/// # References
/// R. P. Brent (1973), chapter 4.
#[allow(clippy::float_cmp)] // exact ties of bracket ends are what Brent's bookkeeping tests
pub fn bracketed(
    mut f: impl FnMut(f64) -> f64,
    (mut a, mut fa): (f64, f64),
    (mut b, mut fb): (f64, f64),
    tolerance: f64,
) -> Option<Root> {
    // The product of two small numbers would be zero.
    if fa.is_nan() || fb.is_nan() || (fa > 0.0 && fb > 0.0) || (fa < 0.0 && fb < 0.0) {
        return None;
    }
    let (mut c, mut fc) = (a, fa);
    let mut d = b - a;
    let mut e = d;
    let mut calls = 0;
    loop {
        if (fb > 0.0) == (fc > 0.0) {
            (c, fc) = (a, fa);
            d = b - a;
            e = d;
        }
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let tol = 2.0 * f64::EPSILON * b.abs() + 0.5 * tolerance;
        let half = 0.5 * (c - b);
        if half.abs() <= tol || fb == 0.0 || calls >= 200 {
            return Some(Root { x: b, error: if fb == 0.0 { 0.0 } else { (c - b).abs() }, residual: fb, calls });
        }
        if e.abs() >= tol && fa.abs() > fb.abs() {
            let s = fb / fa;
            let (mut p, mut q);
            if a == c {
                p = 2.0 * half * s;
                q = 1.0 - s;
            } else {
                let (qa, r) = (fa / fc, fb / fc);
                p = s * (2.0 * half * qa * (qa - r) - (b - a) * (r - 1.0));
                q = (qa - 1.0) * (r - 1.0) * (s - 1.0);
            }
            if p > 0.0 {
                q = -q;
            }
            p = p.abs();
            if 2.0 * p < (3.0 * half * q - (tol * q).abs()).min((e * q).abs()) {
                e = d;
                d = p / q;
            } else {
                d = half;
                e = half;
            }
        } else {
            d = half;
            e = half;
        }
        (a, fa) = (b, fb);
        b += if d.abs() > tol { d } else { tol.copysign(half) };
        fb = f(b);
        calls += 1;
        if fb.is_nan() {
            return None;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tolerance_is_kept_over_decades() {
        for decade in 2..14 {
            let tol = 10f64.powi(-decade);
            let r = bracketed(|x| x.cos() - x, (0.0, 1.0), (1.0, 1f64.cos() - 1.0), tol).unwrap();
            // Fixed point of the cosine, 0.7390851332151607.
            assert!((r.x - 0.739_085_133_215_160_7).abs() <= tol, "{decade}");
        }
    }

    #[test]
    fn refuses_without_a_bracket() {
        assert!(bracketed(|x| x * x + 1.0, (-1.0, 2.0), (1.0, 2.0), 1e-9).is_none());
        assert!(bracketed(|_| f64::NAN, (-1.0, -1.0), (1.0, 1.0), 1e-9).is_none());
    }
}
