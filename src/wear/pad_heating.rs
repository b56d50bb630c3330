//! A pad's core temperature over work and rest, as two modes with a time constant each.
//!
//! Not a conduction model: a summary of one, or of two thermometer readings, small enough to step
//! through hundreds of sections. The fast mode stands for the layer under the face, the slow one for the
//! body of the foam. Exact for the two-mode system; the numbers of the modes are inputs.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Power, Time};

/// One mode: with friction power P its part of the core's excess over the air goes to `rise · P`.
///
/// ```text
/// θ' = (rise · P − θ)/τ_work   at work,      θ' = −θ/τ_rest   at rest
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatMode {
    /// Steady excess for each watt of friction power, 0 to 100 K/W.
    pub rise_k_per_w: f64,
    /// Time constant at work, 1 s to 100 h.
    pub working: Time,
    /// Time constant at rest, 1 s to 100 h.
    pub resting: Time,
}

impl HeatMode {
    fn check(&self) -> Result<(), RangeError> {
        within("pad.heat_rise_k_per_w", self.rise_k_per_w, 0.0, 100.0, "K/W")?;
        within("pad.heat_time_working_s", self.working.s(), 1.0, 3.6e5, "s")?;
        within("pad.heat_time_resting_s", self.resting.s(), 1.0, 3.6e5, "s")?;
        Ok(())
    }
}

/// How a pad heats and cools: two modes side by side, exact for the two.
///
/// # Example
/// ```
/// use trochoid::units::{Power, Time};
/// use trochoid::wear::{PadHeating, PadWarmth};
/// let (heating, power, cold) = (PadHeating::default(), Power::from_w(32.0), PadWarmth::default());
/// // The body for its time constant of ten minutes: 1.5 × 32 (1 − 1/e) = 30.34 K; the layer, ten of its own, 16 K.
/// let hot = heating.work(cold, power, Time::from_min(10.0));
/// assert!((hot.slow_k - 30.34).abs() < 0.01 && (hot.fast_k - 16.0).abs() < 1e-3);
/// // From cold it only rises: the peak is the end. After a quarter of an hour of rest 1/e of the body is left.
/// assert!((heating.peak_k(cold, power, Time::from_min(10.0)) - hot.excess_k()).abs() < 1e-12);
/// assert!((heating.rest(hot, Time::from_min(15.0)).excess_k() - 11.16).abs() < 0.01);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadHeating {
    /// Layer under the face.
    pub fast: HeatMode,
    /// Body of the foam.
    pub slow: HeatMode,
}

impl Default for PadHeating {
    /// Assumed, for a foam pad of 130 mm on steel: 0.5 K/W in a minute and 1.5 K/W in ten, which at 32 W
    /// of friction ends 64 K over the air; at rest the body takes a quarter of an hour.
    fn default() -> Self {
        Self {
            fast: HeatMode { rise_k_per_w: 0.5, working: Time::from_s(60.0), resting: Time::from_s(60.0) },
            slow: HeatMode { rise_k_per_w: 1.5, working: Time::from_s(600.0), resting: Time::from_s(900.0) },
        }
    }
}

/// Excess of the core over the air, by mode.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PadWarmth {
    /// Part of the fast mode \[K\].
    pub fast_k: f64,
    /// Part of the slow mode \[K\].
    pub slow_k: f64,
}

impl PadWarmth {
    /// Excess of the core over the air \[K\].
    #[must_use]
    pub fn excess_k(&self) -> f64 {
        self.fast_k + self.slow_k
    }

    /// What is left after a cleaning that takes the share `cooled` (0 to 1) of the excess away.
    #[must_use]
    pub fn cooled_by(&self, cooled: f64) -> Self {
        Self { fast_k: self.fast_k * (1.0 - cooled), slow_k: self.slow_k * (1.0 - cooled) }
    }
}

impl PadHeating {
    /// Checks every number.
    ///
    /// # Errors
    /// The first number outside the range that stands with its field.
    pub fn check(&self) -> Result<(), RangeError> {
        self.fast.check()?;
        self.slow.check()
    }

    /// The same pad with every rise multiplied by `factor`: other ground under it, or a share of heat
    /// that differs.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> Self {
        let mode = |m: HeatMode| HeatMode { rise_k_per_w: factor * m.rise_k_per_w, ..m };
        Self { fast: mode(self.fast), slow: mode(self.slow) }
    }

    /// Warmth after working at `power` for `time`; see the example of [`PadHeating`].
    #[must_use]
    pub fn work(&self, from: PadWarmth, power: Power, time: Time) -> PadWarmth {
        let toward = |m: HeatMode, x: f64| {
            let end = m.rise_k_per_w * power.w();
            end + (x - end) * (-time.s() / m.working.s()).exp()
        };
        PadWarmth { fast_k: toward(self.fast, from.fast_k), slow_k: toward(self.slow, from.slow_k) }
    }

    /// Warmth after resting for `time`.
    #[must_use]
    pub fn rest(&self, from: PadWarmth, time: Time) -> PadWarmth {
        let decay = |m: HeatMode, x: f64| x * (-time.s() / m.resting.s()).exp();
        PadWarmth { fast_k: decay(self.fast, from.fast_k), slow_k: decay(self.slow, from.slow_k) }
    }

    /// Highest excess over the air while working at `power` for `time` \[K\]; see the example of
    /// [`PadHeating`].
    ///
    /// The sum of two exponentials turns at most once, so the highest is at the start, at the end or at
    /// that turn.
    #[must_use]
    pub fn peak_k(&self, from: PadWarmth, power: Power, time: Time) -> f64 {
        let slope = |m: HeatMode, x: f64| (m.rise_k_per_w * power.w() - x) / m.working.s();
        let (a, b) = (slope(self.fast, from.fast_k), slope(self.slow, from.slow_k));
        let ends = from.excess_k().max(self.work(from, power, time).excess_k());
        // a exp(−t/τ_1) + b exp(−t/τ_2) = 0
        let turn = (-a / b).ln() / (1.0 / self.fast.working.s() - 1.0 / self.slow.working.s());
        if turn.is_finite() && turn > 0.0 && turn < time.s() {
            ends.max(self.work(from, power, Time::from_s(turn)).excess_k())
        } else {
            ends
        }
    }

    /// Excess of the core over the air \[K\], after `sections` sections back to back, each of `time` at
    /// `power`, from cold.
    ///
    /// # Example
    /// ```
    /// use trochoid::units::{Power, Time};
    /// let heating = trochoid::wear::PadHeating::default();
    /// // 0.5·32·(1 − e^−3) + 1.5·32·(1 − e^−0.3) = 15.2 + 12.4
    /// let one = heating.after_sections(1, Power::from_w(32.0), Time::from_min(3.0));
    /// assert!((one - 27.6).abs() < 0.05);
    /// ```
    #[must_use]
    pub fn after_sections(&self, sections: u32, power: Power, time: Time) -> f64 {
        self.work(PadWarmth::default(), power, Time::from_s(f64::from(sections) * time.s())).excess_k()
    }
}
