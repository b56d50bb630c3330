//! A value with the interval that holds it.
//!
//! Not interval arithmetic: ends are not carried through sums.

use crate::error::RangeError;

/// A value and a central interval that holds it with a stated probability, in one unit (SI), below \[u\].
///
/// # Example
/// ```
/// use trochoid::math::interval::Interval;
/// let depth = Interval { low: 2e-6, best: 3e-6, high: 5e-6, level: 0.9 };
/// assert!((depth.ratio() - 2.5).abs() < 1e-12 && (depth.width() - 3e-6).abs() < 1e-18);
/// assert!(depth.holds(5e-6) && !depth.holds(1e-6));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end \[u\].
    pub low: f64,
    /// Best value \[u\]: the mean, the median, or the value at the medians of what it is computed from, as
    /// the result that holds it says.
    pub best: f64,
    /// Upper end \[u\].
    pub high: f64,
    /// Probability that the interval holds the value \[1\].
    pub level: f64,
}

impl Interval {
    /// Upper end over lower end \[1\]; infinite where the lower end is not positive.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        if self.low > 0.0 { self.high / self.low } else { f64::INFINITY }
    }

    /// Upper end less lower end \[u\].
    #[must_use]
    pub fn width(&self) -> f64 {
        self.high - self.low
    }

    /// Whether `value` lies inside, ends included.
    #[must_use]
    pub fn holds(&self, value: f64) -> bool {
        value >= self.low && value <= self.high
    }
}

/// Checks the probability of an interval: 0.5 to 0.999.
pub(crate) fn checked_level(what: &'static str, level: f64) -> Result<f64, RangeError> {
    if (0.5..=0.999).contains(&level) { Ok(level) } else { Err(RangeError::new(what, level, "", "0.5 to 0.999")) }
}
