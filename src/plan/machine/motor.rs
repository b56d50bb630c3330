//! The motor: how much of its rating the work takes, at the force of the step and at a peak, and how warm
//! it gets in work that pauses.
//!
//! The rated power counts at the shaft, the idle power as loss of the tool's own (fan, gear, bearings) on
//! the same shaft, as the plan's motor limit does. Not the motor's curve: how far the rate falls under a load
//! beyond the rating is not told here.

use crate::equipment::{Motor, within};
use crate::error::RangeError;
use crate::units::{AngularRate, Power, Time, Torque};

/// How the motor is worked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Duty {
    cycle_s: Option<(f64, f64)>,
    running_s: f64,
    resting_s: f64,
    constant_loss_ratio: f64,
    peak_force_factor: f64,
}

impl Default for Duty {
    fn default() -> Self {
        Self {
            cycle_s: None,
            running_s: Time::from_min(Self::RUNNING_MIN).s(),
            resting_s: Time::from_min(Self::RESTING_MIN).s(),
            constant_loss_ratio: Self::CONSTANT_LOSS_RATIO,
            peak_force_factor: Self::PEAK_FORCE_FACTOR,
        }
    }
}

impl Duty {
    /// Thermal time constant of a small motor with its fan running, min: assumed, no source.
    pub const RUNNING_MIN: f64 = 20.0;
    /// The same with the fan standing, min: assumed, no source.
    pub const RESTING_MIN: f64 = 40.0;
    /// Losses that do not depend on the load over those that do, at the rating: assumed, no source.
    pub const CONSTANT_LOSS_RATIO: f64 = 0.5;
    /// Force of a hand that leans on the tool over that of the step: assumed, no source.
    pub const PEAK_FORCE_FACTOR: f64 = 1.5;

    /// Work and rest in turn (duty type S3 of IEC 60034-1); without it the work does not pause (S1).
    ///
    /// # Errors
    /// Work outside 0.05 to 1440 min, rest outside 0 to 1440 min.
    pub fn with_cycle(mut self, work: Time, rest: Time) -> Result<Self, RangeError> {
        let work = within("work_min", work.min(), 0.05, 1440.0, "min").map(|_| work.s())?;
        let rest = within("rest_min", rest.min(), 0.0, 1440.0, "min").map(|_| rest.s())?;
        self.cycle_s = Some((work, rest));
        Ok(self)
    }

    /// Sets the thermal time constants, running and standing.
    ///
    /// # Errors
    /// A time constant outside 0.5 to 600 min.
    pub fn with_time_constants(mut self, running: Time, resting: Time) -> Result<Self, RangeError> {
        within("thermal_time_constant_min", running.min(), 0.5, 600.0, "min")?;
        within("rest_time_constant_min", resting.min(), 0.5, 600.0, "min")?;
        (self.running_s, self.resting_s) = (running.s(), resting.s());
        Ok(self)
    }

    /// Sets the losses that do not depend on the load over those that do, at the rating.
    ///
    /// # Errors
    /// Outside 0 to 5.
    pub fn with_constant_loss_ratio(mut self, ratio: f64) -> Result<Self, RangeError> {
        self.constant_loss_ratio = within("constant_loss_ratio", ratio, 0.0, 5.0, "")?;
        Ok(self)
    }

    /// Sets the peak of the force over that of the step.
    ///
    /// # Errors
    /// Outside 1 to 5.
    pub fn with_peak_force_factor(mut self, factor: f64) -> Result<Self, RangeError> {
        self.peak_force_factor = within("peak_force_factor", factor, 1.0, 5.0, "")?;
        Ok(self)
    }

    /// Peak of the force over that of the step \[1\].
    #[must_use]
    pub const fn peak_force_factor(&self) -> f64 {
        self.peak_force_factor
    }

    /// Share of the time that is work \[1\]; 1 without a cycle.
    #[must_use]
    pub fn working_share(&self) -> f64 {
        self.cycle_s.map_or(1.0, |(work, rest)| work / (work + rest))
    }

    /// Peak of the temperature rise in the cycle over that of the same load without a pause.
    ///
    /// ```text
    /// θ_peak/θ_∞ = (1 − e^(−t_w/τ_w))/(1 − e^(−t_w/τ_w − t_r/τ_r))        t_w, t_r work and rest [s]
    /// ```
    ///
    /// # Assumptions and valid range
    /// One body of one temperature, after many cycles. A motor has several: its winding heats faster.
    #[must_use]
    pub fn heating_factor(&self) -> f64 {
        let Some((work, rest)) = self.cycle_s else { return 1.0 };
        let (w, r) = (work / self.running_s, rest / self.resting_s);
        (-w).exp_m1() / (-w - r).exp_m1()
    }

    /// Temperature rise at a share of the rated power over that at the rating without a pause \[1\].
    ///
    /// ```text
    /// θ/θ_r = (α + s²)/(α + 1) · θ_peak/θ_∞        α constant over load-dependent loss [1], s load share [1]
    /// ```
    ///
    /// # Assumptions and valid range
    /// Losses rise with the square of the load, as those of a current in a winding; the rest does not depend on it.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::Duty;
    /// // α = 0.5 and no pause: (0.5 + 0.5²)/(0.5 + 1) = 0.5 at half the rating.
    /// assert!((Duty::default().heating_share(0.5) - 0.5).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn heating_share(&self, load_share: f64) -> f64 {
        let a = self.constant_loss_ratio;
        (a + load_share * load_share) / (a + 1.0) * self.heating_factor()
    }

    /// Largest share of the rated power that the motor takes in this duty without growing hotter than at its
    /// rating \[1\].
    ///
    /// ```text
    /// s = √((α + 1)/(θ_peak/θ_∞) − α)
    /// ```
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::Duty;
    /// use trochoid::units::Time;
    /// // 10 min on, 10 min off, time constants 60 and 90 min, all loss from the load:
    /// // (1 − e^−0.2778)/(1 − e^−0.1667) = 1.580, its root 1.257.
    /// let duty = Duty::default()
    ///     .with_cycle(Time::from_min(10.0), Time::from_min(10.0))?
    ///     .with_time_constants(Time::from_min(60.0), Time::from_min(90.0))?
    ///     .with_constant_loss_ratio(0.0)?;
    /// assert!((duty.largest_load_share() - 1.257).abs() < 5e-4);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    ///
    /// # References
    /// Any textbook of electric drives (rating for intermittent duty).
    #[must_use]
    pub fn largest_load_share(&self) -> f64 {
        let a = self.constant_loss_ratio;
        ((a + 1.0) / self.heating_factor() - a).sqrt()
    }
}

/// What the work asks of the motor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MotorLoad {
    /// Torque of friction and bearing drag on the orbit shaft (of a rotary drive on the spindle), N·m.
    pub work_nm: f64,
    /// Torque of the idle power at that rate, N·m.
    pub idle_nm: f64,
    /// Torque at the rated power at that rate, N·m.
    pub rated_nm: f64,
    /// Power at the shaft, idle power included.
    pub power: Power,
    /// That over the rated power \[1\].
    pub load_share: f64,
    /// Temperature rise in the duty over that at the rating without a pause \[1\].
    pub heating_share: f64,
    /// Largest load share that the duty bears \[1\].
    pub largest_load_share: f64,
    /// The load share at the peak of the force \[1\]; `None` where the face sticks there.
    pub peak_load_share: Option<f64>,
}

impl MotorLoad {
    /// The load of a working torque at a shaft rate.
    ///
    /// ```text
    /// s = (T Ω + P_idle)/P_rated        T torque of the work [N·m], Ω rate [rad/s], P power [W]
    /// ```
    ///
    /// # Errors
    /// A rate that is not above zero or not finite, a torque that is not finite.
    ///
    /// # Example
    /// ```
    /// use trochoid::equipment::Motor;
    /// use trochoid::plan::machine::{Duty, MotorLoad};
    /// use trochoid::units::{AngularRate, Power, Torque};
    /// let motor = Motor::new(Power::from_w(700.0), Power::from_w(100.0))?;
    /// let rate = AngularRate::from_rad_s(400.0);
    /// let load = MotorLoad::of(&motor, rate, Torque::from_nm(1.0), None, &Duty::default())?;
    /// // (1 × 400 + 100)/700 = 0.714; of 700/400 N·m the idle power takes 0.25 and the work 1: 0.5 N·m are left.
    /// assert!((load.load_share - 0.71429).abs() < 5e-6 && (load.margin_nm() - 0.5).abs() < 1e-12);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn of(
        motor: &Motor,
        rate: AngularRate,
        work: Torque,
        peak: Option<Torque>,
        duty: &Duty,
    ) -> Result<Self, RangeError> {
        within("rate", rate.rpm(), 1e-3, 1e6, "/min")?;
        within("torque", work.nm(), -1e6, 1e6, "N·m")?;
        let (omega, rated) = (rate.rad_s(), motor.rated().w());
        let power = work.nm() * omega + motor.idle().w();
        let load_share = power / rated;
        Ok(Self {
            work_nm: work.nm(),
            idle_nm: motor.idle().w() / omega,
            rated_nm: rated / omega,
            power: Power::from_w(power),
            load_share,
            heating_share: duty.heating_share(load_share),
            largest_load_share: duty.largest_load_share(),
            peak_load_share: peak.map(|t| (t.nm() * omega + motor.idle().w()) / rated),
        })
    }

    /// Torque that is left over the work and the idle losses, N·m; negative where the work asks for more
    /// than the rating.
    #[must_use]
    pub fn margin_nm(&self) -> f64 {
        self.rated_nm - self.idle_nm - self.work_nm
    }
}
