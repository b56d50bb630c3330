//! The machine's own speed scale: numbers on a dial against orbits per minute.
//!
//! Not how far the rate falls under load: a mark stands for the rate under light load.

use crate::error::RangeError;
use crate::units::AngularRate;

/// Speed settings of a machine, interpolated linearly between the marks.
///
/// 2 to 100 marks, settings and rates both rising, rates above 0 and up to 100 000 a minute; the smallest
/// step a hand can set 0.01 to 10.
///
/// # Example
/// ```
/// use trochoid::AngularRate;
/// use trochoid::equipment::SpeedScale;
/// let opm = AngularRate::from_opm;
/// let dial = SpeedScale::new(&[(1.0, opm(1800.0)), (3.0, opm(3400.0)), (5.0, opm(5200.0))], 0.5)?;
/// // A quarter of the way from 3 to 5: 3400 + 1800/4 = 3850 a minute; from 1 to 5 by halves: 9 settings.
/// let rate = dial.rate_at(3.5)?;
/// assert!((rate.opm() - 3850.0).abs() < 1e-9);
/// assert!(dial.setting_at(rate).is_some_and(|s| (s - 3.5).abs() < 1e-12));
/// assert_eq!(dial.settings().len(), 9);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct SpeedScale {
    /// (setting, rate in rad/s), both increasing.
    marks: Vec<(f64, f64)>,
    step: f64,
}

impl SpeedScale {
    /// A scale from its marks; `step` is the smallest step that a hand can set.
    /// See the example of [`SpeedScale`].
    ///
    /// # Errors
    /// Fewer than two marks or more than 100, marks or rates that do not increase, a rate that is
    /// not positive, a step outside 0.01 to 10.
    pub fn new(marks: &[(f64, AngularRate)], step: f64) -> Result<Self, RangeError> {
        let what = "speed_settings";
        if marks.len() < 2 || marks.len() > 100 {
            return Err(RangeError::new(what, marks.len() as f64, "marks", "2 to 100 marks"));
        }
        for (mark, rate) in marks {
            if !mark.is_finite() {
                return Err(RangeError::new(what, *mark, "", "finite settings"));
            }
            if !(rate.is_finite() && rate.opm() > 0.0 && rate.opm() <= 100_000.0) {
                return Err(RangeError::new(what, rate.opm(), "/min", "rates above 0 and up to 100000"));
            }
        }
        for pair in marks.windows(2) {
            if pair[1].0 <= pair[0].0 {
                return Err(RangeError::new(what, pair[1].0, "", "settings that increase from mark to mark"));
            }
            if pair[1].1.rad_s() <= pair[0].1.rad_s() {
                return Err(RangeError::new(what, pair[1].1.opm(), "/min", "rates that increase from mark to mark"));
            }
        }
        let step = super::within("setting_step", step, 0.01, 10.0, "")?;
        Ok(Self { marks: marks.iter().map(|(m, r)| (*m, r.rad_s())).collect(), step })
    }

    /// First and last mark \[1\].
    #[must_use]
    pub fn setting_range(&self) -> (f64, f64) {
        (self.marks[0].0, self.marks[self.marks.len() - 1].0)
    }

    /// Rate at a setting. See the example of [`SpeedScale`].
    ///
    /// # Errors
    /// A setting outside the marks.
    pub fn rate_at(&self, setting: f64) -> Result<AngularRate, RangeError> {
        let (low, high) = self.setting_range();
        let setting = super::within("speed_setting", setting, low, high, "")?;
        let i = self.marks.windows(2).position(|w| setting <= w[1].0).unwrap_or(0);
        let ((s0, r0), (s1, r1)) = (self.marks[i], self.marks[i + 1]);
        Ok(AngularRate::from_rad_s(r0 + (r1 - r0) * (setting - s0) / (s1 - s0)))
    }

    /// Setting that gives a rate \[1\], or `None` outside the scale (a billionth of the rate forgives rounding).
    /// See the example of [`SpeedScale`].
    #[must_use]
    pub fn setting_at(&self, rate: AngularRate) -> Option<f64> {
        let r = rate.rad_s();
        let slack = 1e-9 * r.abs();
        let last = self.marks.len() - 1;
        if r < self.marks[0].1 - slack || r > self.marks[last].1 + slack {
            return None;
        }
        let r = r.clamp(self.marks[0].1, self.marks[last].1);
        let i = self.marks.windows(2).position(|w| r <= w[1].1).unwrap_or(0);
        let ((s0, r0), (s1, r1)) = (self.marks[i], self.marks[i + 1]);
        Some(s0 + (s1 - s0) * (r - r0) / (r1 - r0))
    }

    /// Every setting that a hand can set \[1\]: steps from the first mark up to the last one, 10 001 at most.
    /// See the example of [`SpeedScale`].
    #[must_use]
    pub fn settings(&self) -> Vec<f64> {
        let (low, high) = self.setting_range();
        let count = ((high - low) / self.step + 1e-9).floor().min(10_000.0);
        let mut out = Vec::new();
        let mut i = 0.0;
        while i <= count {
            out.push(low + i * self.step);
            i += 1.0;
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interpolates_and_inverts() {
        let scale = SpeedScale::new(
            &[
                (1.0, AngularRate::from_opm(1800.0)),
                (3.0, AngularRate::from_opm(3400.0)),
                (5.0, AngularRate::from_opm(5200.0)),
            ],
            0.5,
        )
        .unwrap();
        // Half-way between the marks at 3 and 5, a quarter up: 3400 + 0.25·1800.
        let rate = scale.rate_at(3.5).unwrap();
        assert!((rate.opm() - 3850.0).abs() < 1e-9, "rounding only");
        assert!((scale.setting_at(rate).unwrap() - 3.5).abs() < 1e-12, "rounding only");
        assert_eq!(scale.settings().len(), 9);
        assert!(scale.rate_at(5.5).is_err());
        assert!(scale.setting_at(AngularRate::from_opm(6000.0)).is_none());
    }
}
