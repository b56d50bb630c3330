//! Daily doses: hand-arm vibration and noise of several tasks together.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Acceleration, Time};

/// Daily exposure A(8) at which the directive asks for action: 2.5 m/s² (Directive 2002/44/EC art. 3).
pub const ACTION_VALUE: Acceleration = Acceleration::from_m_s2(2.5);
/// Daily exposure A(8) that must not be exceeded: 5 m/s² (Directive 2002/44/EC art. 3).
pub const LIMIT_VALUE: Acceleration = Acceleration::from_m_s2(5.0);
/// What random-orbit machines were found to do in use (HSE table; a band). Declared values typically
/// under-estimate use (HSE research report RR1162).
pub const IN_USE_RANDOM_ORBIT: (Acceleration, Acceleration) =
    (Acceleration::from_m_s2(7.0), Acceleration::from_m_s2(10.0));
/// Daily noise exposure at which action is asked for, lower and upper, dB(A) (Directive 2003/10/EC art.
/// 3; from memory).
pub const NOISE_ACTION_VALUES_DB: (f64, f64) = (80.0, 85.0);
/// Daily noise exposure under the ear protection that must not be exceeded, dB(A) (Directive
/// 2003/10/EC art. 3; from memory).
pub const NOISE_LIMIT_DB: f64 = 87.0;
/// Longest time that fits into a day.
pub const LONGEST_DAY: Time = Time::from_s(86_400.0);

/// The reference day of both doses, s.
const REFERENCE_S: f64 = 28_800.0;

fn checked_time(time: Time) -> Result<f64, RangeError> {
    within("exposure time", time.s() / 3600.0, 0.0, 24.0, "h").map(|_| time.s())
}

fn fits_a_day(total_s: f64) -> Result<(), RangeError> {
    // A relative 1e-9 forgives the rounding of a sum.
    if total_s <= LONGEST_DAY.s() * (1.0 + 1e-9) {
        Ok(())
    } else {
        Err(RangeError::new("exposure time of the day", total_s / 3600.0, "h", "at most 24 h together"))
    }
}

/// A time with a vibrating machine in hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VibrationTask {
    vibration_m_s2: f64,
    time_s: f64,
}

impl VibrationTask {
    /// A task from the frequency-weighted vibration total value a_hv and the time with the trigger
    /// pulled.
    ///
    /// # Errors
    /// A vibration outside 0 to 100 m/s², a time outside 0 to 24 h.
    pub fn new(vibration: Acceleration, time: Time) -> Result<Self, RangeError> {
        let vibration_m_s2 = within("vibration_m_s2", vibration.m_s2(), 0.0, 100.0, "m/s²")?;
        Ok(Self { vibration_m_s2, time_s: checked_time(time)? })
    }

    /// Vibration total value.
    #[must_use]
    pub const fn vibration(&self) -> Acceleration {
        Acceleration::from_m_s2(self.vibration_m_s2)
    }

    /// Time.
    #[must_use]
    pub const fn time(&self) -> Time {
        Time::from_s(self.time_s)
    }
}

/// A day's vibration.
#[derive(Debug, Clone, PartialEq)]
pub struct HandArmDose {
    /// Daily exposure A(8) of all tasks.
    pub daily: Acceleration,
    /// Exposure points of all tasks \[1\]; 100 at the action value, 400 at the limit value.
    pub points: f64,
    /// What each task alone would make of A(8), in their order.
    pub partial: Vec<Acceleration>,
}

impl HandArmDose {
    /// A(8) over the action value \[1\].
    #[must_use]
    pub fn action_share(&self) -> f64 {
        self.daily.m_s2() / ACTION_VALUE.m_s2()
    }

    /// A(8) over the limit value \[1\].
    #[must_use]
    pub fn limit_share(&self) -> f64 {
        self.daily.m_s2() / LIMIT_VALUE.m_s2()
    }
}

/// The daily hand-arm vibration exposure of several tasks.
///
/// ```text
/// A(8) = √(Σ a_i² T_i / 8 h)                a_i vibration total value [m/s²], T_i time [h]
/// points = Σ 100 (a_i/2.5 m/s²)² T_i / 8 h  = Σ 2 a_i² T_i
/// ```
///
/// # Assumptions and valid range
/// The value of each task is that of the machine in use; a declared one is typically lower (HSE RR1162).
///
/// # Errors
/// Times that add up to more than a day.
///
/// # Example
/// ```
/// use trochoid::plan::{VibrationTask, hand_arm_dose};
/// use trochoid::units::{Acceleration, Time};
/// // 5 m/s² for three hours: 5·√(3/8) = 3.06 m/s², and 2·25·3 = 150 points.
/// let task = VibrationTask::new(Acceleration::from_m_s2(5.0), Time::from_min(180.0))?;
/// let dose = hand_arm_dose(&[task])?;
/// assert!((dose.daily.m_s2() - 3.0619).abs() < 5e-5 && (dose.points - 150.0).abs() < 1e-9);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// ISO 5349-1:2001, 5.1 and 6; HSE hand-arm vibration ready reckoner.
pub fn hand_arm_dose(tasks: &[VibrationTask]) -> Result<HandArmDose, RangeError> {
    fits_a_day(tasks.iter().map(|t| t.time_s).sum())?;
    let square = |t: &VibrationTask| t.vibration_m_s2 * t.vibration_m_s2 * t.time_s / REFERENCE_S;
    let sum: f64 = tasks.iter().map(square).sum();
    Ok(HandArmDose {
        daily: Acceleration::from_m_s2(sum.sqrt()),
        points: 100.0 * sum / (ACTION_VALUE.m_s2() * ACTION_VALUE.m_s2()),
        partial: tasks.iter().map(|t| Acceleration::from_m_s2(square(t).sqrt())).collect(),
    })
}

/// Time at a steady vibration after which A(8) reaches `value`; `None` where it never does.
///
/// ```text
/// T = 8 h (value/a)²        a vibration total value [m/s²]
/// ```
///
/// More than a day where a day does not reach it.
///
/// # Assumptions and valid range
/// One task alone; the value is that of the machine in use, of which a declared one typically falls short.
///
/// # Example
/// ```
/// use trochoid::plan::{ACTION_VALUE, time_to_reach};
/// use trochoid::units::Acceleration;
/// // At 5 m/s² the action value of 2.5 is reached after a quarter of eight hours.
/// let time = time_to_reach(ACTION_VALUE, Acceleration::from_m_s2(5.0));
/// assert!(time.is_some_and(|t| (t.min() - 120.0).abs() < 1e-9));
/// ```
#[must_use]
pub fn time_to_reach(value: Acceleration, vibration: Acceleration) -> Option<Time> {
    let ratio = value.m_s2() / vibration.m_s2();
    (vibration.m_s2() > 0.0 && ratio.is_finite()).then(|| Time::from_s(REFERENCE_S * ratio * ratio))
}

/// A time in noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoiseTask {
    level_db: f64,
    time_s: f64,
}

impl NoiseTask {
    /// A task from its equivalent A-weighted level at the ear \[dB\] and its time.
    ///
    /// # Errors
    /// A level outside 30 to 150 dB, a time outside 0 to 24 h.
    pub fn new(level_db: f64, time: Time) -> Result<Self, RangeError> {
        Ok(Self { level_db: within("noise_db", level_db, 30.0, 150.0, "dB")?, time_s: checked_time(time)? })
    }
}

/// The daily noise exposure level L_EX,8h of several tasks, dB(A); `None` where no time is spent.
///
/// ```text
/// L_EX,8h = 10 lg( Σ T_i/8 h · 10^(L_i/10) )        L_i level at the ear [dB], T_i time [h]
/// ```
///
/// Quiet between the tasks is taken as silence.
///
/// # Errors
/// Times that add up to more than a day.
///
/// # Example
/// ```
/// use trochoid::plan::{NoiseTask, daily_noise_level};
/// use trochoid::units::Time;
/// // Half the reference day takes 3.01 dB off.
/// let level = daily_noise_level(&[NoiseTask::new(88.0, Time::from_min(240.0))?])?;
/// assert!(level.is_some_and(|l| (l - 84.990).abs() < 5e-4));
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// ISO 9612:2009, daily noise exposure level; Directive 2003/10/EC art. 2.
pub fn daily_noise_level(tasks: &[NoiseTask]) -> Result<Option<f64>, RangeError> {
    fits_a_day(tasks.iter().map(|t| t.time_s).sum())?;
    let sum: f64 = tasks.iter().map(|t| t.time_s / REFERENCE_S * 10f64.powf(0.1 * t.level_db)).sum();
    Ok((sum > 0.0).then(|| 10.0 * sum.log10()))
}
