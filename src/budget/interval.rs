//! A value with the interval that holds it.

use crate::error::RangeError;
use crate::units::Length;

/// A value and a central interval that holds it with a stated probability, in one unit (SI).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Best value: the mean or median, as the result that holds it says.
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

/// A length within `low..=high` µm, its own rounding allowed for: 500 µm is not refused as
/// 500.00000000000006.
pub(super) fn microns(what: &'static str, length: Length, low: f64, high: f64) -> Result<f64, RangeError> {
    let value = length.um();
    let slack = 1e-12 * value.abs();
    if value.is_finite() && value >= low - slack && value <= high + slack {
        Ok(length.m())
    } else {
        Err(RangeError::new(what, value, "µm", format!("{low} to {high}")))
    }
}

/// Probability of an interval: 0.5 to 0.999.
pub(super) fn checked_level(level: f64) -> Result<f64, RangeError> {
    crate::equipment::within("level", level, 0.5, 0.999, "")
}
