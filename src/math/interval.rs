//! A value with the interval that holds it.

use crate::error::RangeError;

/// A value and a central interval that holds it with a stated probability, in one unit (SI).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Best value: the mean, the median, or the value at the medians of what it is computed from, as the
    /// result that holds it says.
    pub best: f64,
    /// Upper end.
    pub high: f64,
    /// Probability that the interval holds the value.
    pub level: f64,
}

impl Interval {
    /// Upper end over lower end; infinite where the lower end is not positive.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        if self.low > 0.0 { self.high / self.low } else { f64::INFINITY }
    }

    /// Upper end less lower end.
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
