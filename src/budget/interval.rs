//! Checks of lengths and probabilities that the models of this folder share.

use crate::error::RangeError;
pub use crate::math::interval::Interval;
use crate::units::Length;

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
    crate::math::interval::checked_level("level", level)
}
