//! Complete elliptic integrals by the arithmetic-geometric mean, arranged so that nothing cancels
//! at small or large parameter.
//!
//! Abramowitz and Stegun 17.6 (process of the arithmetic-geometric mean). Parameter m = k², as in
//! Abramowitz and Stegun.

use core::f64::consts::{FRAC_PI_2, PI};

/// Averages over one full turn of a speed that swings between |a−b| and a+b.
///
/// ```text
/// v(β) = √(a² + b² + 2 a b cos β)       a, b two parts of the speed [m/s]
/// inverse        = ⟨1/v⟩                 [s/m]
/// cosine_inverse = ⟨cos β / v⟩           [s/m]
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TurnAverages {
    /// ⟨1/v⟩ [s/m].
    pub inverse: f64,
    /// ⟨cos β / v⟩ [s/m].
    pub cosine_inverse: f64,
}

/// Turn averages of 1/v and cos β/v for signed a and b, not both zero.
///
/// # Accuracy
/// Relative error about 1e-15 in both, also where b ≪ a: the cosine moment is summed from positive
/// terms, K(m)·Σ 2ⁿcₙ²/m over n ≥ 1, instead of from K and E. Where a = b the averages are
/// infinite; the nearest finite value (complementary modulus 1e-150) is returned, so that
/// combinations whose singularities cancel stay finite.
///
/// # Example
/// ```
/// use trochoid::math::elliptic::turn_averages;
/// // A slow second part b ≪ a: ⟨1/v⟩ → 1/a, ⟨cos β/v⟩ → −b/(2a²); here 1/2 and −0.001/8.
/// let t = turn_averages(2.0, 1e-3);
/// assert!((t.inverse - 0.5).abs() < 1e-7);
/// assert!((t.cosine_inverse + 1.25e-4).abs() < 1e-10);
/// ```
///
/// # References
/// Abramowitz and Stegun, 17.6; the moment of the cosine in this form is own, and the tests compare both
/// with the midpoint rule.
#[must_use]
pub fn turn_averages(a: f64, b: f64) -> TurnAverages {
    let (big, small) = if a.abs() >= b.abs() { (a.abs(), b.abs()) } else { (b.abs(), a.abs()) };
    let sum = big + small;
    let complementary = ((big - small) / sum).max(1e-150);
    // c₁ = (1 − k')/2 without cancellation: 1 − k' = 2·small/(big+small).
    let mut x = 0.5 * (1.0 + complementary);
    let mut y = complementary.sqrt();
    let mut c = small / sum;
    let (mut power, mut series) = (2.0, 2.0 * c * c);
    while c > 1e-9 * x {
        // c_{n+1} = c_n²/(4 a_{n+1}) keeps its relative accuracy where (a−b)/2 would lose it.
        let next = 0.5 * (x + y);
        c = c * c / (4.0 * next);
        y = (x * y).sqrt();
        x = next;
        power *= 2.0;
        series += power * c * c;
        if power > 1e6 {
            break;
        }
    }
    // ⟨1/v⟩ = (2/π)K/(a+b) with K = π/(2·agm).
    let inverse = 1.0 / (x * sum);
    let m = 4.0 * big * small / (sum * sum);
    let cosine = if m > 0.0 { -inverse * series / m } else { 0.0 };
    TurnAverages { inverse, cosine_inverse: if (a < 0.0) == (b < 0.0) { cosine } else { -cosine } }
}

/// Complete elliptic integral of the first kind K(m) \[1\], for m < 1; infinite at 1, NaN above.
///
/// ```text
/// K(m) = ∫_0^(π/2) dθ/√(1 − m sin²θ)
/// ```
///
/// # Accuracy
/// Below 1e-14, relative, against Carlson's forms for m of 0 to 0.99 (the tests); some five steps of the mean.
///
/// # Example
/// ```
/// // Abramowitz and Stegun table 17.1: K(0.5) = 1.854074677301372.
/// assert!((trochoid::math::elliptic::complete_k(0.5) - 1.854074677301372).abs() < 1e-15);
/// ```
#[must_use]
pub fn complete_k(m: f64) -> f64 {
    let (mut x, mut y) = (1.0, (1.0 - m).sqrt());
    if y <= 0.0 {
        return f64::INFINITY;
    }
    while (x - y).abs() > 1e-9 * x {
        (x, y) = (0.5 * (x + y), (x * y).sqrt());
    }
    PI / (x + y)
}

/// Complete elliptic integral of the second kind E(m) \[1\], for m ≤ 1; the parameter is clamped at 1,
/// which rounding can pass by an ulp. NaN for NaN.
///
/// ```text
/// E(m) = ∫_0^(π/2) √(1 − m sin²θ) dθ
/// ```
///
/// # Accuracy
/// Below 1e-14, relative, against Carlson's forms for m of 0 to 0.99 (the tests).
///
/// # Example
/// ```
/// use core::f64::consts::FRAC_PI_2;
/// use trochoid::math::elliptic::complete_e;
/// // The quarter of an ellipse: π/2 for a circle, 1 for a flat one, and between them 1.350643881
/// // (Abramowitz and Stegun table 17.2, α = 45°, so m = ½).
/// assert!((complete_e(0.0) - FRAC_PI_2).abs() < 1e-15 && (complete_e(1.0) - 1.0).abs() < 1e-15);
/// assert!((complete_e(0.5) - 1.350643881).abs() < 5e-10);
/// assert!(complete_e(f64::NAN).is_nan());
/// ```
#[must_use]
pub fn complete_e(m: f64) -> f64 {
    if m.is_nan() {
        return m;
    }
    if m >= 1.0 {
        return 1.0;
    }
    let (mut x, mut y) = (1.0_f64, (1.0 - m).sqrt());
    let (mut power, mut series) = (0.5, 0.5 * m);
    let mut c = 0.5 * (x - y);
    loop {
        power *= 2.0;
        series += power * c * c;
        let next = 0.5 * (x + y);
        y = (x * y).sqrt();
        x = next;
        if c < 1e-9 * x {
            break;
        }
        c = c * c / (2.0 * (x + y));
    }
    FRAC_PI_2 / x * (1.0 - series)
}

/// Mean over one turn of the speed |a + b e^{iβ}| [m/s], whatever the signs of its two parts.
///
/// ```text
/// (2/π)(a + b) E(m),   m = 4ab/(a+b)²       a, b [m/s]
/// ```
///
/// # Accuracy
/// That of [`complete_e`].
///
/// # Example
/// ```
/// // a = b: 4a/π.
/// let mean = trochoid::math::elliptic::mean_speed(1.0, 1.0);
/// assert!((mean - 4.0 / core::f64::consts::PI).abs() < 1e-15);
/// ```
#[must_use]
pub fn mean_speed(a: f64, b: f64) -> f64 {
    let (a, b) = (a.abs(), b.abs());
    let sum = a + b;
    if sum <= 0.0 {
        return 0.0;
    }
    sum / FRAC_PI_2 * complete_e(4.0 * a * b / (sum * sum))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_an_independent_library() {
        // ellip (Carlson forms): 1e-14 leaves its own rounding some room.
        for i in 0..100 {
            let m = f64::from(i) / 100.0;
            assert!((complete_k(m) / ellip::ellipk(m).unwrap() - 1.0).abs() < 1e-14, "K({m})");
            assert!((complete_e(m) / ellip::ellipe(m).unwrap() - 1.0).abs() < 1e-14, "E({m})");
        }
        assert!((complete_e(1.0 + 1e-16) - 1.0).abs() < 1e-15);
    }

    #[test]
    fn turn_averages_agree_with_the_midpoint_rule() {
        for (a, b) in [(1.0, 0.3), (0.3, 1.0), (2.0, -0.7), (1.0, 1e-7), (1.0, -1e-4), (1.0, 0.0), (0.0, 2.0)] {
            let n = 4000;
            let (mut i0, mut i1) = (0.0, 0.0);
            for j in 0..n {
                let c = (2.0 * PI * (f64::from(j) + 0.5) / f64::from(n)).cos();
                let v = f64::sqrt(a * a + b * b + 2.0 * a * b * c);
                i0 += 1.0 / v / f64::from(n);
                i1 += c / v / f64::from(n);
            }
            let t = turn_averages(a, b);
            assert!((t.inverse / i0 - 1.0).abs() < 1e-13, "periodic midpoint rule is exact to rounding");
            // The midpoint sum itself cancels to about 1e-16 of ⟨1/v⟩.
            assert!((t.cosine_inverse - i1).abs() < 1e-14 * i0, "{a} {b} {} {i1}", t.cosine_inverse);
        }
    }

    #[test]
    fn low_spin_moment_keeps_its_digits() {
        // ⟨cos β/v⟩ -> −b/(2a²)·(1 + 3b²/(8a²)...) : check the leading term at b/a = 1e-8.
        let t = turn_averages(1.0, 1e-8);
        assert!((t.cosine_inverse / -0.5e-8 - 1.0).abs() < 1e-14, "{}", t.cosine_inverse);
    }
}
