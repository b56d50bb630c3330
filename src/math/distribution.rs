//! Probability distributions: normal, log-normal, Student's t.
//!
//! Not a statistics library: what intervals and likelihoods need, no more. The error function by its
//! power series and its continued fraction (Abramowitz and Stegun 7.1.6 and 7.1.14), the normal
//! quantile by A&S 26.2.23 polished with Halley steps on the error function (so the accuracy rests on
//! the error function alone), ln Γ by Stirling's series (A&S 6.1.41), the incomplete beta function by
//! its continued fraction (A&S 26.5.8).

use crate::error::RangeError;
use crate::math::interval::{Interval, checked_level};
use crate::math::root::bracketed;
use core::f64::consts::{FRAC_1_SQRT_2, PI};

/// Half the logarithm of 2π.
const LN_ROOT_TWO_PI: f64 = 0.918_938_533_204_672_8;

/// Complementary error function \[1\].
///
/// ```text
/// erfc x = 1 − erf x = (2/√π) ∫_x^∞ exp(−t²) dt
/// ```
///
/// # Accuracy
/// Relative error below 1e-13 for |x| ≤ 26; 0 above 27.3, where the value leaves the range of `f64`.
///
/// # Example
/// ```
/// use trochoid::math::distribution::erfc;
/// // Abramowitz and Stegun table 7.1: erf 1 = 0.8427007929; and erfc x + erfc(−x) = 2.
/// assert!((1.0 - erfc(1.0) - 0.8427007929).abs() < 5e-11);
/// assert!((erfc(0.3) + erfc(-0.3) - 2.0).abs() < 1e-15);
/// ```
///
/// # References
/// Abramowitz and Stegun, 7.1.6 (series, below 1.5) and 7.1.14 (continued fraction, above).
#[must_use]
pub fn erfc(x: f64) -> f64 {
    if x.is_nan() {
        return x;
    }
    if x < 0.0 {
        return 2.0 - erfc(-x);
    }
    if x > 27.3 {
        return 0.0;
    }
    let gauss = (-x * x).exp();
    if x < 1.5 {
        // A&S 7.1.6: every term positive, so nothing cancels.
        let (mut term, mut sum, mut n) = (x, x, 0.0_f64);
        while term > 1e-17 * sum {
            n += 1.0;
            term *= 2.0 * x * x / (2.0 * n + 1.0);
            sum += term;
        }
        return 1.0 - 2.0 / PI.sqrt() * gauss * sum;
    }
    // A&S 7.1.14 from the far end; the number of levels that settles the last bit falls as 1/x².
    let levels = 12.0 + 130.0 / (x * x);
    let mut tail = x;
    let mut level = levels.floor();
    while level >= 1.0 {
        tail = x + 0.5 * level / tail;
        level -= 1.0;
    }
    gauss / (PI.sqrt() * tail)
}

/// Density of the standard normal distribution \[1\], φ(x) = exp(−x²/2)/√(2π).
///
/// # Example
/// ```
/// // φ(0) = 1/√(2π) = 0.398942.
/// assert!((trochoid::math::distribution::normal_density(0.0) - 0.398942).abs() < 5e-7);
/// ```
#[must_use]
pub fn normal_density(x: f64) -> f64 {
    (-0.5 * x * x - LN_ROOT_TWO_PI).exp()
}

/// Probability that a standard normal deviate is at most `x` \[1\], Φ(x) = ½ erfc(−x/√2).
///
/// # Accuracy
/// That of [`erfc`], relative, in the lower tail too.
///
/// # Example
/// ```
/// // Standard normal table: Φ(1.96) = 0.97500.
/// assert!((trochoid::math::distribution::normal_cdf(1.96) - 0.97500).abs() < 5e-6);
/// ```
#[must_use]
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * erfc(-x * FRAC_1_SQRT_2)
}

/// Probability that a standard normal deviate lies between `low` and `high` \[1\], without cancellation
/// in the upper tail; 0 where `high` ≤ `low`.
///
/// # Example
/// ```
/// use trochoid::math::distribution::normal_between;
/// // Within one standard deviation: 2 Φ(1) − 1 = 2 × 0.841345 − 1 = 0.68269.
/// assert!((normal_between(-1.0, 1.0) - 0.68269).abs() < 5e-6);
/// ```
#[must_use]
pub fn normal_between(low: f64, high: f64) -> f64 {
    if high <= low {
        0.0
    } else if low > 0.0 {
        normal_cdf(-low) - normal_cdf(-high)
    } else {
        normal_cdf(high) - normal_cdf(low)
    }
}

/// Value that a standard normal deviate stays below with probability `p` \[1\]; infinite at 0 and 1, NaN
/// outside.
///
/// # Accuracy
/// That of the error function: two Halley steps from a start good to 4.5e-4.
///
/// # Example
/// ```
/// use trochoid::math::distribution::normal_quantile;
/// // Last row of the table of Student's t: 1.960 at 0.975; by symmetry −1.960 at 0.025.
/// assert!((normal_quantile(0.975) - 1.960).abs() < 5e-4);
/// assert!((normal_quantile(0.025) + normal_quantile(0.975)).abs() < 1e-14);
/// ```
///
/// # References
/// Abramowitz and Stegun, 26.2.23, the start.
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p <= 0.0 {
        return f64::NEG_INFINITY;
    }
    if p >= 1.0 {
        return f64::INFINITY;
    }
    if p > 0.5 {
        // 1 − p is exact here.
        return -normal_quantile(1.0 - p);
    }
    let t = (-2.0 * p.ln()).sqrt();
    let mut x =
        -(t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308))));
    for _ in 0..2 {
        // Relative to the density, so that the far tail converges as the centre does.
        let off = (normal_cdf(x) - p) / normal_density(x);
        x -= off / (1.0 + 0.5 * x * off);
    }
    x
}

/// Second antiderivative of the standard normal density, x Φ(x) + φ(x) \[1\]: the mean of what a standard
/// normal deviate leaves below `x`, ⟨max(x − Z, 0)⟩.
///
/// # Accuracy
/// Rounding of its two terms, which cancel to about 1/x² of themselves in the lower tail.
///
/// # Example
/// ```
/// use trochoid::math::distribution::normal_cdf_integral;
/// // At 0 it is φ(0) = 0.398942; and f(x) − f(−x) = x (Φ(x) + Φ(−x)) = x.
/// assert!((normal_cdf_integral(0.0) - 0.398942).abs() < 5e-7);
/// assert!((normal_cdf_integral(2.0) - normal_cdf_integral(-2.0) - 2.0).abs() < 1e-14);
/// ```
#[must_use]
pub fn normal_cdf_integral(x: f64) -> f64 {
    x * normal_cdf(x) + normal_density(x)
}

/// Natural logarithm of the gamma function \[1\] for `x` > 0; NaN otherwise.
///
/// # Accuracy
/// Rounding: Stirling's series from 12 on, where its next term is below 1e-16; smaller `x` by recurrence.
///
/// # Example
/// ```
/// use trochoid::math::distribution::ln_gamma;
/// // Γ(5) = 4! = 24.
/// assert!((ln_gamma(5.0) - 24f64.ln()).abs() < 1e-14);
/// ```
///
/// # References
/// Abramowitz and Stegun, 6.1.41.
#[must_use]
pub fn ln_gamma(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return f64::NAN;
    }
    // Recurrence up to 12, where the next term of the series is below 1e-16.
    let (mut shift, mut z) = (1.0_f64, x);
    while z < 12.0 {
        shift *= z;
        z += 1.0;
    }
    let w = 1.0 / (z * z);
    let series = (1.0 / 12.0
        + w * (-1.0 / 360.0
            + w * (1.0 / 1260.0 + w * (-1.0 / 1680.0 + w * (1.0 / 1188.0 + w * (-691.0 / 360_360.0))))))
        / z;
    (z - 0.5) * z.ln() - z + LN_ROOT_TWO_PI + series - shift.ln()
}

/// Regularised incomplete beta function I_x(a, b) \[1\], `a`, `b` > 0, `x` in 0..=1; NaN outside.
///
/// ```text
/// I_x(a, b) = Γ(a+b)/(Γ(a) Γ(b)) ∫_0^x t^(a−1) (1−t)^(b−1) dt
/// ```
///
/// # Accuracy
/// Rounding, mostly that of the gamma functions, which grows with a + b. The continued fraction is cut at
/// 499 pairs of terms.
///
/// # Example
/// ```
/// use trochoid::math::distribution::incomplete_beta;
/// // I_x(2, 3) = x²(6 − 8x + 3x²): at ½ it is ¼ × 2.75 = 0.6875.
/// assert!((incomplete_beta(2.0, 3.0, 0.5) - 0.6875).abs() < 1e-14);
/// ```
///
/// # References
/// Abramowitz and Stegun, 26.5.8.
#[must_use]
pub fn incomplete_beta(a: f64, b: f64, x: f64) -> f64 {
    if !(a > 0.0 && b > 0.0 && (0.0..=1.0).contains(&x)) {
        return f64::NAN;
    }
    if x <= 0.0 || x >= 1.0 {
        return x;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        // The continued fraction converges fast on the other side.
        return 1.0 - incomplete_beta(b, a, 1.0 - x);
    }
    let front = (ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (1.0 - x).ln()).exp() / a;
    // Continued fraction of A&S 26.5.8 by the forward recurrence of Lentz.
    let guard = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
    let (mut c, mut d) = (1.0, 1.0 / guard(1.0 - (a + b) * x / (a + 1.0)));
    let mut value = d;
    for m in 1..500 {
        let m = f64::from(m);
        for odd in [false, true] {
            let term = if odd {
                -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))
            } else {
                m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m))
            };
            d = 1.0 / guard(1.0 + term * d);
            c = guard(1.0 + term / c);
            value *= c * d;
        }
        if (c * d - 1.0).abs() < 1e-15 {
            break;
        }
    }
    front * value
}

/// Probability that Student's t with `freedom` > 0 degrees of freedom is at most `t` \[1\].
///
/// # Accuracy
/// That of [`incomplete_beta`]. Above the middle it is one less the other tail, so a far upper tail keeps
/// its absolute accuracy only.
///
/// # Example
/// ```
/// use trochoid::math::distribution::student_cdf;
/// // One degree of freedom is Cauchy's distribution: ½ + atan(1)/π = 0.75 at 1.
/// assert!((student_cdf(1.0, 1.0) - 0.75).abs() < 1e-14);
/// ```
#[must_use]
pub fn student_cdf(freedom: f64, t: f64) -> f64 {
    let tail = 0.5 * incomplete_beta(0.5 * freedom, 0.5, freedom / (freedom + t * t));
    if t < 0.0 { tail } else { 1.0 - tail }
}

/// Value that Student's t with `freedom` > 0 degrees of freedom stays below with probability `p` \[1\].
///
/// NaN for a probability outside 0..1 or freedom that is not positive. The root is bracketed within
/// ±1e8, beyond which the infinity of its sign is returned.
///
/// # Example
/// ```
/// // Table of Student's t: 97.5 % point at 10 degrees of freedom, 2.228.
/// assert!((trochoid::math::distribution::student_quantile(10.0, 0.975) - 2.228).abs() < 5e-4);
/// ```
#[must_use]
pub fn student_quantile(freedom: f64, p: f64) -> f64 {
    if !(freedom > 0.0 && p > 0.0 && p < 1.0) {
        return f64::NAN;
    }
    if p < 0.5 {
        return -student_quantile(freedom, 1.0 - p);
    }
    let off = |t: f64| student_cdf(freedom, t) - p;
    let mut high = 2.0;
    while off(high) < 0.0 {
        high *= 4.0;
        if high > 1e8 {
            return f64::INFINITY;
        }
    }
    bracketed(off, (0.0, 0.5 - p), (high, off(high)), 1e-13).map_or(f64::NAN, |r| r.x)
}

fn positive(what: &'static str, value: f64) -> Result<f64, RangeError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(RangeError::new(what, value, "", "a positive number"))
    }
}

fn spread(what: &'static str, value: f64, low: f64, high: f64) -> Result<f64, RangeError> {
    if value.is_finite() && value >= low && value <= high {
        Ok(value)
    } else {
        Err(RangeError::new(what, value, "", format!("{low} to {high}")))
    }
}

/// Standard deviation of the logarithm of a log-normal quantity of relative standard deviation v,
/// √ln(1+v²) \[1\].
///
/// # Example
/// ```
/// use trochoid::math::distribution::ln_sd_of_relative;
/// // √ln 1.25
/// assert!((ln_sd_of_relative(0.5) - 0.472381).abs() < 1e-6);
/// ```
#[must_use]
pub fn ln_sd_of_relative(relative_sd: f64) -> f64 {
    (relative_sd * relative_sd).ln_1p().sqrt()
}

/// A log-normal distribution: its logarithm is normal. For a positive quantity that is known within a
/// factor, in whatever unit is used throughout, below \[u\].
///
/// Median above 0; standard deviation of the natural logarithm 0 (exactly known) to 5.
///
/// # Example
/// ```
/// use trochoid::math::distribution::LogNormal;
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // A micrometre within a factor of two either way at 95 %.
/// let depth = LogNormal::new(1e-6, 2f64.ln() / 1.96)?;
/// let i = depth.interval(0.95)?;
/// assert!((i.low - 0.5e-6).abs() < 1e-10 && (i.high - 2e-6).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogNormal {
    median: f64,
    ln_sd: f64,
}

impl LogNormal {
    /// From the median and the standard deviation of the natural logarithm (0: exactly known).
    ///
    /// # Errors
    /// A median that is not positive and finite; a standard deviation outside 0 to 5.
    pub fn new(median: f64, ln_sd: f64) -> Result<Self, RangeError> {
        Ok(Self { median: positive("median", median)?, ln_sd: spread("ln_sd", ln_sd, 0.0, 5.0)? })
    }

    /// As [`LogNormal::new`], for numbers known to be in range when the crate is compiled.
    pub(crate) const fn of_constants(median: f64, ln_sd: f64) -> Self {
        Self { median, ln_sd }
    }

    /// From the median and the relative standard deviation v: the logarithm's is √ln(1+v²).
    ///
    /// # Errors
    /// As [`LogNormal::new`]; a relative standard deviation outside 0 to 3.
    pub fn from_relative_sd(median: f64, relative_sd: f64) -> Result<Self, RangeError> {
        let v = spread("relative_sd", relative_sd, 0.0, 3.0)?;
        Self::new(median, ln_sd_of_relative(v))
    }

    /// From the two ends of an interval that holds `level`: the median is their geometric mean.
    ///
    /// ```text
    /// median = √(low·high)     sd = ln(high/low)/(2 z)     z = Φ⁻¹(½ + level/2)
    /// ```
    ///
    /// # Errors
    /// Ends that are not positive, finite and in order; a level outside 0.5 to 0.999; a standard
    /// deviation outside 0 to 5.
    ///
    /// # Example
    /// ```
    /// use trochoid::math::distribution::LogNormal;
    /// // Nine times from end to end, so a factor of √9 = 3 on both sides of the median.
    /// let d = LogNormal::from_interval(1.0, 9.0, 0.9)?;
    /// assert!((d.median() - 3.0).abs() < 1e-14);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn from_interval(low: f64, high: f64, level: f64) -> Result<Self, RangeError> {
        let z = normal_half_width(checked_level("level", level)?);
        let (low, high) = (positive("low", low)?, positive("high", high)?);
        if high < low {
            return Err(RangeError::new("high", high, "", format!("{low} or more")));
        }
        // Root by root, so that the product cannot leave the range of a number.
        Self::new(low.sqrt() * high.sqrt(), 0.5 * (high / low).ln() / z)
    }

    /// Median \[u\].
    #[must_use]
    pub const fn median(&self) -> f64 {
        self.median
    }

    /// Standard deviation of the natural logarithm \[1\].
    #[must_use]
    pub const fn ln_sd(&self) -> f64 {
        self.ln_sd
    }

    /// Mean, median·exp(sd²/2) \[u\].
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.median * (0.5 * self.ln_sd * self.ln_sd).exp()
    }

    /// The same distribution with every value multiplied by a positive `factor`.
    ///
    /// # Errors
    /// A factor that is not positive and finite.
    pub fn scaled(&self, factor: f64) -> Result<Self, RangeError> {
        Self::new(self.median * factor, self.ln_sd)
    }

    /// Probability of at most `x` \[1\], Φ(ln(x/median)/sd).
    ///
    /// # Example
    /// ```
    /// use trochoid::math::distribution::LogNormal;
    /// // A factor of e^0.5 above the median is one standard deviation of the logarithm: Φ(1) = 0.841345.
    /// let d = LogNormal::new(2.0, 0.5)?;
    /// let x = 2.0 * 0.5f64.exp();
    /// assert!((d.cdf(2.0) - 0.5).abs() < 1e-15 && (d.cdf(x) - 0.841345).abs() < 5e-7);
    /// assert!((d.exceedance(x) - 0.158655).abs() < 5e-7);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn cdf(&self, x: f64) -> f64 {
        if x <= 0.0 {
            0.0
        } else if self.ln_sd <= 0.0 {
            if x >= self.median { 1.0 } else { 0.0 }
        } else {
            normal_cdf((x / self.median).ln() / self.ln_sd)
        }
    }

    /// Probability of more than `x` \[1\], without cancellation in the upper tail;
    /// see the example of [`LogNormal::cdf`].
    #[must_use]
    pub fn exceedance(&self, x: f64) -> f64 {
        if x <= 0.0 {
            1.0
        } else if self.ln_sd <= 0.0 {
            1.0 - self.cdf(x)
        } else {
            normal_cdf((self.median / x).ln() / self.ln_sd)
        }
    }

    /// Value that is not exceeded with probability `p` \[u\]; 0 and infinite at the ends of 0 to 1, NaN
    /// outside, the median everywhere where it is exactly known.
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        if self.ln_sd <= 0.0 { self.median } else { self.at(normal_quantile(p)) }
    }

    /// Value at `z` standard deviations of the logarithm, median·exp(z·sd) \[u\].
    #[must_use]
    pub fn at(&self, z: f64) -> f64 {
        self.median * (z * self.ln_sd).exp()
    }

    /// The interval that holds `level`, even on both sides, about the median; see the example of [`LogNormal`].
    ///
    /// # Errors
    /// A level outside 0.5 to 0.999.
    pub fn interval(&self, level: f64) -> Result<Interval, RangeError> {
        let z = normal_half_width(checked_level("level", level)?);
        Ok(Interval { low: self.at(-z), best: self.median, high: self.at(z), level })
    }

    /// Mean of what stands above `level` \[u\]: ⟨max(X − level, 0)⟩.
    ///
    /// ```text
    /// mean·Φ(d + s) − level·Φ(d),   d = ln(median/level)/s
    /// ```
    ///
    /// # Accuracy
    /// A partial expectation of the log-normal distribution; exact. Below a relative 1e-10 of the
    /// mean the difference of the two terms loses its digits.
    ///
    /// # Example
    /// ```
    /// use trochoid::math::distribution::LogNormal;
    /// // Median, standard deviation and level 1: e^½ Φ(1) − Φ(0) = 1.648721 × 0.841345 − 0.5 = 0.887143.
    /// assert!((LogNormal::new(1.0, 1.0)?.mean_above(1.0) - 0.887143).abs() < 5e-7);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn mean_above(&self, level: f64) -> f64 {
        if level <= 0.0 {
            self.mean() - level
        } else if self.ln_sd > 0.0 {
            let d = (self.median / level).ln() / self.ln_sd;
            (self.mean() * normal_cdf(d + self.ln_sd) - level * normal_cdf(d)).max(0.0)
        } else {
            (self.median - level).max(0.0)
        }
    }

    /// Probability that a draw of this is at most an independent draw of `other` \[1\].
    ///
    /// ```text
    /// Φ(ln(other's median/this median)/√(s₁² + s₂²))
    /// ```
    ///
    /// # Example
    /// ```
    /// use trochoid::math::distribution::LogNormal;
    /// let (a, b) = (LogNormal::new(1.0, 0.3)?, LogNormal::new(0.5f64.exp(), 0.4)?);
    /// // Half a unit of the logarithm apart, spread √(0.3² + 0.4²) = 0.5: Φ(1) = 0.841345.
    /// assert!((a.probability_at_most(&b) - 0.841345).abs() < 5e-7);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn probability_at_most(&self, other: &Self) -> f64 {
        let spread = self.ln_sd.hypot(other.ln_sd);
        if spread > 0.0 {
            normal_cdf((other.median / self.median).ln() / spread)
        } else {
            f64::from(u8::from(self.median <= other.median))
        }
    }
}

/// Half-width of a central interval of probability `level`, in standard deviations of a normal \[1\].
///
/// # Example
/// ```
/// // 95 % lie within 1.960 standard deviations.
/// assert!((trochoid::math::distribution::normal_half_width(0.95) - 1.960).abs() < 5e-4);
/// ```
#[must_use]
pub fn normal_half_width(level: f64) -> f64 {
    normal_quantile(0.5 + 0.5 * level)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::quadrature::{Ends, integrate};

    #[test]
    fn error_function_of_the_handbook() {
        // Abramowitz and Stegun, table 7.1, ten digits; from memory, and the quadrature below agrees.
        for (x, erf) in
            [(0.1, 0.1124629160), (0.5, 0.5204998778), (1.0, 0.8427007929), (1.5, 0.9661051465), (2.0, 0.9953222650)]
        {
            assert!((1.0 - erfc(x) - erf).abs() < 5.1e-11, "half the last digit: {x}");
            assert!((erfc(-x) - 1.0 - erf).abs() < 5.1e-11, "odd: {x}");
        }
        assert!(erfc(28.0) <= 0.0, "below the smallest number");
        assert!(erfc(f64::NAN).is_nan());
    }

    #[test]
    fn normal_probability_is_the_area_under_its_density() {
        // The slow obvious way: Gauss quadrature of the density from -12 in unit pieces.
        for x in [-6.0, -3.0, -1.49, -0.3, 0.0, 0.7, 2.1, 2.2, 5.0] {
            let pieces = 24;
            let width = (x + 12.0) / f64::from(pieces);
            let area: f64 = (0..pieces)
                .map(|i| {
                    let low = -12.0 + width * f64::from(i);
                    integrate(low, low + width, 20, Ends::Smooth, normal_density)
                })
                .sum();
            // Both sides carry a few roundings.
            assert!((normal_cdf(x) - area).abs() < 1e-13 * area.max(1e-2), "{x}: {} {area}", normal_cdf(x));
            assert!((normal_cdf(x) / area - 1.0).abs() < 1e-12, "relative, in the tail too: {x}");
        }
    }

    #[test]
    fn normal_quantiles_of_the_table_and_back() {
        // NIST/SEMATECH e-Handbook, last row of the table of Student's t (normal limit), three decimals.
        for (p, x) in [(0.90, 1.282), (0.95, 1.645), (0.975, 1.960), (0.99, 2.326), (0.995, 2.576), (0.999, 3.090)] {
            assert!((normal_quantile(p) - x).abs() < 5.1e-4, "half the last digit: {p}");
            assert!((normal_quantile(1.0 - p) + x).abs() < 5.1e-4, "odd: {p}");
        }
        for e in 1..300 {
            let p = 10f64.powi(-e);
            // 1e-12: a few roundings of the exponential of -x²/2, which is 690 at the far end.
            assert!((normal_cdf(normal_quantile(p)) / p - 1.0).abs() < 1e-12, "1e-{e}");
        }
        // A&S table 26.1, Φ(1) to 15 digits, and the percentage point 0.975 (more digits computed).
        assert!((normal_cdf(1.0) - 0.841344746068543).abs() < 1e-14, "half the last digit and rounding");
        assert!((normal_quantile(0.975) - 1.959963984540054).abs() < 1e-13, "rounding");
        assert!(normal_cdf(-50.0) <= 0.0 && normal_cdf(50.0) >= 1.0, "the ends");
        assert!(normal_quantile(-0.1).is_nan() && normal_quantile(f64::NAN).is_nan());
        assert!(normal_quantile(0.0).is_infinite() && normal_quantile(1.0) > 1e300);
    }

    #[test]
    fn students_t_of_the_table() {
        // NIST/SEMATECH e-Handbook, upper critical values of Student's t, three decimals.
        for (freedom, p, t) in [
            (1.0, 0.975, 12.706),
            (1.0, 0.999, 318.309),
            (2.0, 0.95, 2.920),
            (3.0, 0.99, 4.541),
            (5.0, 0.95, 2.015),
            (10.0, 0.975, 2.228),
            (20.0, 0.995, 2.845),
            (30.0, 0.90, 1.310),
            (100.0, 0.975, 1.984),
        ] {
            let got = student_quantile(freedom, p);
            // Half the last digit; the handbook prints 318.313 for the second entry, the table of 1959 in
            // the Journal of the American Statistical Association 318.309, which is used.
            assert!((got - t).abs() < 5.1e-4, "{freedom} {p}: {got}");
            assert!((student_quantile(freedom, 1.0 - p) + got).abs() < 1e-9 * got.abs(), "odd: rounding of 1 - p");
        }
        // One degree of freedom is Cauchy: a closed form.
        assert!((student_cdf(1.0, 1.0) - 0.75).abs() < 1e-14, "rounding");
        // Many degrees of freedom: normal to 1/(4n).
        assert!((student_quantile(1e7, 0.95) - normal_quantile(0.95)).abs() < 1e-6, "1/(4n) of 1.6^3");
        assert!(student_quantile(0.0, 0.9).is_nan() && student_quantile(3.0, 1.0).is_nan());
    }

    #[test]
    fn gamma_and_beta_in_closed_form() {
        assert!((ln_gamma(0.5) - PI.sqrt().ln()).abs() < 1e-14, "rounding");
        assert!((ln_gamma(5.0) - 24f64.ln()).abs() < 1e-14, "rounding");
        // I_x(2, 3) = x²(6 − 8x + 3x²).
        for x in [0.1, 0.5, 0.9] {
            assert!((incomplete_beta(2.0, 3.0, x) - x * x * (6.0 - 8.0 * x + 3.0 * x * x)).abs() < 1e-14, "rounding");
        }
    }

    #[test]
    fn log_normal_by_hand() {
        // Relative standard deviation 0.5: √ln 1.25 = 0.472381.
        let d = LogNormal::from_relative_sd(2.0, 0.5).unwrap();
        assert!((d.ln_sd() - 0.472381).abs() < 5e-7, "half the last digit");
        assert!((d.cdf(2.0) - 0.5).abs() < 1e-15 && (d.quantile(0.5) - 2.0).abs() < 1e-14, "the median");
        assert!((d.mean() - 2.0 * 1.25f64.sqrt()).abs() < 1e-14, "exp(sd²/2) = √1.25");
        assert!((d.cdf(3.0) + d.exceedance(3.0) - 1.0).abs() < 1e-15, "rounding");
        assert!((d.scaled(3.0).unwrap().median() - 6.0).abs() < 1e-13, "rounding");
        let point = LogNormal::new(2.0, 0.0).unwrap();
        assert!(point.cdf(1.9) <= 0.0 && point.exceedance(2.1) <= 0.0 && (point.quantile(0.1) - 2.0).abs() < 1e-14);
        // From an interval and back, and the two refusals.
        let d = LogNormal::from_interval(1.0, 9.0, 0.9).unwrap();
        let back = d.interval(0.9).unwrap();
        assert!((back.low - 1.0).abs() < 1e-14 && (back.best - 3.0).abs() < 1e-14 && (back.high - 9.0).abs() < 1e-13);
        assert!(LogNormal::from_interval(2.0, 1.0, 0.9).is_err() && LogNormal::from_interval(1.0, 2.0, 1.0).is_err());
        // Two alike: even odds. Twice the median at the same spread: ln 2/(√2 s) deviations.
        let (a, b) = (LogNormal::new(1.0, 0.5).unwrap(), LogNormal::new(2.0, 0.5).unwrap());
        assert!((a.probability_at_most(&a) - 0.5).abs() < 1e-15, "rounding");
        let z = 2f64.ln() / (0.5 * 2f64.sqrt());
        assert!((a.probability_at_most(&b) - normal_cdf(z)).abs() < 1e-14, "rounding");
        // The mean above a level is the area under the exceedance from there on (slow).
        let area: f64 = (0..400)
            .map(|i| 0.1 * f64::from(i))
            .map(|x| integrate(1.5 + x, 1.6 + x, 10, Ends::Smooth, |t| a.exceedance(t)))
            .sum();
        assert!((a.mean_above(1.5) - area).abs() < 1e-12, "the tail beyond 41 medians is 1e-15");
        assert!(LogNormal::new(0.0, 1.0).is_err() && LogNormal::new(1.0, f64::NAN).is_err());
    }

    #[test]
    fn second_antiderivative_has_the_probability_as_slope() {
        for x in [-4.0, -1.0, 0.0, 0.4, 3.0] {
            let slope = (normal_cdf_integral(x + 1e-5) - normal_cdf_integral(x - 1e-5)) / 2e-5;
            // Central difference: 1e-10 of curvature and 1e-11 of cancellation.
            assert!((slope - normal_cdf(x)).abs() < 1e-9, "{x}");
        }
    }
}
