//! The normal distribution function and its inverse, for the log-normal spreads of this folder.
//!
//! Not a general distribution library. Series and continued fraction: M. Abramowitz and I. A. Stegun,
//! Handbook of Mathematical Functions, 1964, 26.2.10 and 26.2.14.

use core::f64::consts::PI;

/// Beyond this the upper tail is below 1e-15 and the lower one is still a normal number.
const CENTRE: f64 = 3.0;

/// Density of the standard normal distribution.
fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Distribution function of the standard normal distribution; 0 and 1 at the infinities.
///
/// Accuracy: relative 1e-14 in the lower tail, absolute 1e-15 else (series up to |z| = 3, continued
/// fraction beyond).
pub(super) fn cdf(z: f64) -> f64 {
    if z.abs() <= CENTRE {
        // 1/2 + φ(z)(z + z³/3 + z⁵/(3·5) + ...)
        let (mut term, mut sum, mut odd) = (z, z, 1.0);
        while term.abs() > 1e-17 * sum.abs() {
            odd += 2.0;
            term *= z * z / odd;
            sum += term;
        }
        return 0.5 + density(z) * sum;
    }
    let tail = upper_tail(z.abs());
    if z > 0.0 { 1.0 - tail } else { tail }
}

/// φ(z)/(z + 1/(z + 2/(z + 3/(z + ...)))) for z above 3, from the inside out.
fn upper_tail(z: f64) -> f64 {
    if z > 40.0 {
        return 0.0; // below the smallest number
    }
    let mut below = z;
    for k in (1..=120).rev() {
        below = z + f64::from(k) / below;
    }
    density(z) / below
}

/// Inverse of [`cdf`] by bisection; the infinities at 0 and 1, NaN outside.
///
/// Accuracy: to the last bit or two of z between ±39; about 60 calls of [`cdf`].
pub(super) fn quantile(share: f64) -> f64 {
    if share.is_nan() || !(0.0..=1.0).contains(&share) {
        return f64::NAN;
    }
    // By the lower tail, which keeps its relative accuracy.
    if share > 0.5 {
        return -lower_quantile(1.0 - share);
    }
    lower_quantile(share)
}

fn lower_quantile(share: f64) -> f64 {
    if share <= 0.0 {
        return f64::NEG_INFINITY;
    }
    let (mut low, mut high) = (-39.0, 0.0);
    for _ in 0..70 {
        let mid = 0.5 * (low + high);
        if cdf(mid) < share {
            low = mid;
        } else {
            high = mid;
        }
    }
    0.5 * (low + high)
}

/// Multiple of the standard deviation that holds `confidence` of a normal distribution on both sides.
pub(super) fn two_sided(confidence: f64) -> f64 {
    quantile(0.5 * (1.0 + confidence))
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::f64::consts::SQRT_2;

    /// Slow obvious reference, Φ(−z) = erfc(z/√2)/2: (1/√π)∫ exp(−t²) dt from z/√2 by Simpson over ten
    /// units.
    fn lower_tail(z: f64, steps: u32) -> f64 {
        let a = z / SQRT_2;
        let h = 10.0 / f64::from(steps);
        let f = |i: u32| (-(a + f64::from(i) * h).powi(2)).exp();
        let inner: f64 = (1..steps).map(|i| f(i) * if i % 2 == 1 { 4.0 } else { 2.0 }).sum();
        (f(0) + inner + f(steps)) * h / 3.0 / PI.sqrt()
    }

    #[test]
    fn distribution_against_tables_and_quadrature() {
        // Abramowitz and Stegun table 26.1: Φ(1) = 0.841344746068543 (15 digits).
        assert!((cdf(1.0) - 0.841344746068543).abs() < 1e-14);
        // Φ⁻¹(0.975) = 1.959963984540054 (the same handbook's percentage points, more digits computed).
        assert!((quantile(0.975) - 1.959963984540054).abs() < 1e-13);
        for i in 0..=80 {
            let z = f64::from(i) * 0.1;
            let slow = lower_tail(z, 40_000);
            // Simpson with steps of 2.5e-4: 1e-13 of the value; the tail is small, so relative.
            assert!((cdf(-z) - slow).abs() < 1e-11 * slow, "{z}: {} {slow}", cdf(-z));
            // The two sides add up to one but for rounding.
            assert!((cdf(z) + cdf(-z) - 1.0).abs() < 1e-15);
        }
    }

    #[test]
    fn quantile_undoes_the_distribution() {
        for i in 1..200 {
            let share = f64::from(i) / 200.0;
            // One rounding of Φ over its smallest slope here, 0.014.
            assert!((cdf(quantile(share)) - share).abs() < 1e-14, "{share}");
        }
        assert!(quantile(0.0) < -1e300 && quantile(1.0) > 1e300);
        assert!(quantile(-0.1).is_nan() && quantile(f64::NAN).is_nan());
        assert!(cdf(-50.0) <= 0.0 && cdf(50.0) >= 1.0);
    }
}
