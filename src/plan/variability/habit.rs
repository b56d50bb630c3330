//! What varies in a hand, and how much.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Angle, Time};

/// One thing that a hand does unevenly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Habit {
    /// Feed along the path.
    Feed,
    /// Normal force on the face.
    Force,
    /// Tilt of the pad about both axes of the panel.
    Tilt,
    /// Place of the pass lines sideways.
    Spacing,
    /// Orbit rate; of a rotary drive its shaft rate.
    Rate,
}

impl Habit {
    /// Every habit.
    pub const ALL: [Self; 5] = [Self::Feed, Self::Force, Self::Tilt, Self::Spacing, Self::Rate];

    /// The word in results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Feed => "feed",
            Self::Force => "force",
            Self::Tilt => "tilt",
            Self::Spacing => "line spacing",
            Self::Rate => "orbit rate",
        }
    }

    /// Its number in [`Habit::ALL`].
    pub(super) const fn number(self) -> usize {
        self as usize
    }
}

/// How far a hand scatters.
///
/// Feed, force and rate are log-normal about their set-points, so that their means are the set-points
/// and none becomes negative; tilt and place are normal about zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandScatter {
    feed: f64,
    force: f64,
    tilt_rad: f64,
    spacing: f64,
    rate: f64,
    correlation_s: f64,
    panel_share: f64,
}

impl HandScatter {
    /// Relative standard deviation of the feed where none is given (assumed, no source).
    pub const FEED_REL_SD: f64 = 0.15;
    /// Relative standard deviation of the force where none is given (assumed, no source).
    pub const FORCE_REL_SD: f64 = 0.2;
    /// Standard deviation of the tilt about each axis where none is given, degrees (assumed, no source).
    pub const TILT_SD_DEG: f64 = 0.5;
    /// Standard deviation of the place of a pass line where none is given, share of the line spacing
    /// (assumed, no source).
    pub const SPACING_REL_SD: f64 = 0.1;
    /// Relative standard deviation of the orbit rate where none is given (assumed, no source: a
    /// controlled motor).
    pub const RATE_REL_SD: f64 = 0.02;
    /// Correlation time where none is given, s (assumed, no source).
    pub const CORRELATION_S: f64 = 2.0;
    /// Share of every variance that stays the same over a panel where none is given.
    pub const PANEL_SHARE: f64 = 0.0;

    /// A hand without any scatter.
    #[must_use]
    pub const fn steady() -> Self {
        Self {
            feed: 0.0,
            force: 0.0,
            tilt_rad: 0.0,
            spacing: 0.0,
            rate: 0.0,
            correlation_s: Self::CORRELATION_S,
            panel_share: Self::PANEL_SHARE,
        }
    }

    /// Sets the relative standard deviation of the feed.
    ///
    /// # Errors
    /// Outside 0 to 1.
    pub fn with_feed(mut self, rel_sd: f64) -> Result<Self, RangeError> {
        self.feed = within("feed_rel_sd", rel_sd, 0.0, 1.0, "")?;
        Ok(self)
    }

    /// Sets the relative standard deviation of the force.
    ///
    /// # Errors
    /// Outside 0 to 1.
    pub fn with_force(mut self, rel_sd: f64) -> Result<Self, RangeError> {
        self.force = within("force_rel_sd", rel_sd, 0.0, 1.0, "")?;
        Ok(self)
    }

    /// Sets the standard deviation of the tilt about each of the panel's axes.
    ///
    /// # Errors
    /// Outside 0 to 5°.
    pub fn with_tilt(mut self, sd: Angle) -> Result<Self, RangeError> {
        self.tilt_rad = Angle::from_deg(within("tilt_sd_deg", sd.deg(), 0.0, 5.0, "°")?).rad();
        Ok(self)
    }

    /// Sets the standard deviation of the place of the pass lines, as a share of their spacing.
    ///
    /// # Errors
    /// Outside 0 to 1.
    pub fn with_spacing(mut self, rel_sd: f64) -> Result<Self, RangeError> {
        self.spacing = within("spacing_rel_sd", rel_sd, 0.0, 1.0, "")?;
        Ok(self)
    }

    /// Sets the relative standard deviation of the orbit rate.
    ///
    /// # Errors
    /// Outside 0 to 0.5.
    pub fn with_rate(mut self, rel_sd: f64) -> Result<Self, RangeError> {
        self.rate = within("rate_rel_sd", rel_sd, 0.0, 0.5, "")?;
        Ok(self)
    }

    /// Sets the correlation time at the feed of the step: after it, 1/e of a deviation is left.
    ///
    /// # Errors
    /// Outside 0.1 to 1000 s.
    pub fn with_correlation(mut self, time: Time) -> Result<Self, RangeError> {
        self.correlation_s = within("correlation_s", time.s(), 0.1, 1000.0, "s")?;
        Ok(self)
    }

    /// Sets the share of every variance that stays the same over a whole panel: a hand that is heavy
    /// today, beside one that trembles.
    ///
    /// # Errors
    /// Outside 0 to 1.
    pub fn with_panel_share(mut self, share: f64) -> Result<Self, RangeError> {
        self.panel_share = within("panel_share", share, 0.0, 1.0, "")?;
        Ok(self)
    }

    /// The same hand with every scatter multiplied by `factor`.
    ///
    /// # Errors
    /// A factor outside 0 to 1.
    pub fn scaled(&self, factor: f64) -> Result<Self, RangeError> {
        let f = within("factor of the scatter", factor, 0.0, 1.0, "")?;
        Ok(Self {
            feed: f * self.feed,
            force: f * self.force,
            tilt_rad: f * self.tilt_rad,
            spacing: f * self.spacing,
            rate: f * self.rate,
            ..*self
        })
    }

    /// The same hand with one habit left and every other perfectly steady.
    #[must_use]
    pub fn only(&self, habit: Habit) -> Self {
        let keep = |h: Habit, value: f64| if h == habit { value } else { 0.0 };
        Self {
            feed: keep(Habit::Feed, self.feed),
            force: keep(Habit::Force, self.force),
            tilt_rad: keep(Habit::Tilt, self.tilt_rad),
            spacing: keep(Habit::Spacing, self.spacing),
            rate: keep(Habit::Rate, self.rate),
            ..*self
        }
    }

    /// Standard deviation of a habit: relative \[1\], of the tilt \[rad\].
    #[must_use]
    pub const fn sd(&self, habit: Habit) -> f64 {
        match habit {
            Habit::Feed => self.feed,
            Habit::Force => self.force,
            Habit::Tilt => self.tilt_rad,
            Habit::Spacing => self.spacing,
            Habit::Rate => self.rate,
        }
    }

    /// Standard deviation of a habit as a person says it, with its unit.
    #[must_use]
    pub fn in_words(&self, habit: Habit) -> String {
        match habit {
            Habit::Tilt => format!("{:.2}°", Angle::from_rad(self.tilt_rad).deg()),
            _ => format!("{:.0} %", 100.0 * self.sd(habit)),
        }
    }

    /// Correlation time.
    #[must_use]
    pub const fn correlation(&self) -> Time {
        Time::from_s(self.correlation_s)
    }

    /// Share of every variance that stays the same over a panel \[1\].
    #[must_use]
    pub const fn panel_share(&self) -> f64 {
        self.panel_share
    }
}

impl Default for HandScatter {
    fn default() -> Self {
        Self {
            feed: Self::FEED_REL_SD,
            force: Self::FORCE_REL_SD,
            tilt_rad: Angle::from_deg(Self::TILT_SD_DEG).rad(),
            spacing: Self::SPACING_REL_SD,
            rate: Self::RATE_REL_SD,
            correlation_s: Self::CORRELATION_S,
            panel_share: Self::PANEL_SHARE,
        }
    }
}
