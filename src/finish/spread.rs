//! A positive quantity that is known within a factor: the log-normal distribution.
//!
//! Every number that this folder predicts is given by its median and the standard deviation of its
//! logarithm, so that no figure stands without its interval. Not a measurement: what the spread of a
//! default is worth stands in [`super::TABLE`].

use super::normal;
use crate::equipment::within;
use crate::error::RangeError;

/// A lower end, a middle and an upper end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Median, or the value at the medians of what it is computed from.
    pub middle: f64,
    /// Upper end.
    pub high: f64,
}

/// Log-normal distribution of a positive quantity, in the SI unit of what it describes.
///
/// # Example
/// ```
/// use trochoid::finish::LogNormal;
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
    spread: f64,
}

impl LogNormal {
    /// From the median and the standard deviation of the natural logarithm (0: exactly known).
    ///
    /// # Errors
    /// A median outside 1e-12 to 1e3 of its SI unit, a spread outside 0 to 3.
    pub fn new(median: f64, spread: f64) -> Result<Self, RangeError> {
        within("median", median, 1e-12, 1e3, "SI")?;
        within("spread (standard deviation of the logarithm)", spread, 0.0, 3.0, "")?;
        Ok(Self { median, spread })
    }

    /// From the two ends of an interval that holds `confidence`: the median is their geometric mean.
    ///
    /// # Errors
    /// Ends that are not positive or not in order, a confidence outside 0.5 to 0.999, or a result
    /// outside the ranges of [`LogNormal::new`].
    pub fn from_interval(low: f64, high: f64, confidence: f64) -> Result<Self, RangeError> {
        confident(confidence)?;
        within("low", low, 1e-12, 1e3, "SI")?;
        within("high", high, low, 1e3, "SI")?;
        Self::new((low * high).sqrt(), 0.5 * (high / low).ln() / normal::two_sided(confidence))
    }

    /// Median.
    #[must_use]
    pub const fn median(&self) -> f64 {
        self.median
    }

    /// Standard deviation of the natural logarithm.
    #[must_use]
    pub const fn spread(&self) -> f64 {
        self.spread
    }

    /// Mean, `median · exp(spread²/2)`.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.median * (0.5 * self.spread * self.spread).exp()
    }

    /// Share that is at most `x`.
    #[must_use]
    pub fn share_up_to(&self, x: f64) -> f64 {
        if x <= 0.0 {
            0.0
        } else if self.spread > 0.0 {
            normal::cdf((x / self.median).ln() / self.spread)
        } else {
            f64::from(u8::from(x >= self.median))
        }
    }

    /// Value that the share `share` does not pass.
    ///
    /// # Errors
    /// A share outside 0 to 1 (both ends left out, where the value is 0 or infinite).
    pub fn quantile(&self, share: f64) -> Result<f64, RangeError> {
        within("share", share, 1e-12, 1.0 - 1e-12, "")?;
        Ok(self.at(normal::quantile(share)))
    }

    /// The interval that holds `confidence`, even on both sides.
    ///
    /// # Errors
    /// A confidence outside 0.5 to 0.999.
    pub fn interval(&self, confidence: f64) -> Result<Interval, RangeError> {
        confident(confidence)?;
        let z = normal::two_sided(confidence);
        Ok(Interval { low: self.at(-z), middle: self.median, high: self.at(z) })
    }

    /// The same distribution with every value multiplied by a positive factor.
    ///
    /// # Errors
    /// A median outside the range of [`LogNormal::new`].
    pub fn scaled(&self, factor: f64) -> Result<Self, RangeError> {
        Self::new(self.median * factor, self.spread)
    }

    /// Mean of what stands above `level`: E\[max(X − level, 0)\].
    ///
    /// ```text
    /// mean·Φ(d + s) − level·Φ(d),   d = ln(median/level)/s
    /// ```
    ///
    /// A partial expectation of the log-normal distribution; exact. Below a relative 1e-10 of the
    /// mean the difference of the two terms loses its digits.
    #[must_use]
    pub fn mean_above(&self, level: f64) -> f64 {
        if level <= 0.0 {
            self.mean() - level
        } else if self.spread > 0.0 {
            let d = (self.median / level).ln() / self.spread;
            (self.mean() * normal::cdf(d + self.spread) - level * normal::cdf(d)).max(0.0)
        } else {
            (self.median - level).max(0.0)
        }
    }

    /// Value at `z` standard deviations of the logarithm.
    pub(super) fn at(&self, z: f64) -> f64 {
        self.median * (z * self.spread).exp()
    }

    /// Probability that a draw of this is at most an independent draw of `other`.
    #[must_use]
    pub fn probability_at_most(&self, other: &Self) -> f64 {
        let spread = self.spread.hypot(other.spread);
        if spread > 0.0 {
            normal::cdf((other.median / self.median).ln() / spread)
        } else {
            f64::from(u8::from(self.median <= other.median))
        }
    }
}

/// Checks a confidence.
pub(super) fn confident(confidence: f64) -> Result<f64, RangeError> {
    within("confidence", confidence, 0.5, 0.999, "")
}
