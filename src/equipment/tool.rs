//! The tool: how it drives the pad, its orbit, rates, motor and mass.
//!
//! Not here: what the pad does under load (see [`crate::spin`]), losses and heat of the motor
//! (see [`crate::plan`]).

use super::{Bearing, SpeedScale, defaults, within};
use crate::error::RangeError;
use crate::units::{Acceleration, AngularRate, Inertia, Length, Mass, Power};

/// How the pad is driven: a machine's kinematic kind, and the one number that goes with it.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Drive {
    /// The pad orbits and turns freely in its bearing; its spin follows from the torque balance.
    Free(Bearing),
    /// The pad orbits and a gear turns it: spin = `spin_per_orbit` x orbit rate, + with the orbit.
    Geared {
        /// Turns of the pad per orbit \[1\], −10 to 10.
        spin_per_orbit: f64,
    },
    /// The pad turns about the tool axis and does not orbit.
    Rotary {
        /// Shaft rate, 1 to 20 000 rpm.
        spin: AngularRate,
    },
}

/// Motor of the tool: rated power, what it draws running free, and the inertia it drives.
///
/// Rated power 1 W to 10 kW, idle power 0 to the rated one, inertia at the orbit shaft 1e-6 to 1 kg·m²
/// (default [`defaults::ROTOR_INERTIA_KGM2`], assumed).
///
/// # Example
/// ```
/// use trochoid::Power;
/// use trochoid::equipment::Motor;
/// // 500 W rated, 120 W running free: 380 W are left for the work.
/// let motor = Motor::new(Power::from_w(500.0), Power::from_w(120.0))?;
/// assert!((motor.available().w() - 380.0).abs() < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motor {
    rated_w: f64,
    idle_w: f64,
    rotor_inertia: f64,
}

impl Motor {
    /// A motor from its rated power and the power it draws when running free.
    ///
    /// # Errors
    /// Rated power outside 1 W to 10 kW, idle power outside 0 to the rated power.
    pub fn new(rated: Power, idle: Power) -> Result<Self, RangeError> {
        let rated_w = within("motor.rated_power_w", rated.w(), 1.0, 10_000.0, "W")?;
        let idle_w = within("motor.idle_power_w", idle.w(), 0.0, rated_w, "W")?;
        Ok(Self { rated_w, idle_w, rotor_inertia: defaults::ROTOR_INERTIA_KGM2 })
    }

    /// Sets the moment of inertia of rotor, gear and counterweight as felt at the orbit shaft (a rotor
    /// behind a gear counts with the square of the gear's ratio).
    ///
    /// # Errors
    /// Outside 1e-6 to 1 kg·m².
    pub fn with_rotor_inertia(mut self, inertia: Inertia) -> Result<Self, RangeError> {
        self.rotor_inertia = within("motor.rotor_inertia_kgm2", inertia.kgm2(), 1e-6, 1.0, "kg·m²")?;
        Ok(self)
    }

    /// Moment of inertia of what turns with the orbit shaft, the pad's own mass left out.
    #[must_use]
    pub const fn rotor_inertia(&self) -> Inertia {
        Inertia::from_kgm2(self.rotor_inertia)
    }

    /// Rated power.
    #[must_use]
    pub const fn rated(&self) -> Power {
        Power::from_w(self.rated_w)
    }

    /// Power drawn when running free.
    #[must_use]
    pub const fn idle(&self) -> Power {
        Power::from_w(self.idle_w)
    }

    /// Power left for the work, idle power taken off; idle losses are taken not to grow with the load.
    #[must_use]
    pub fn available(&self) -> Power {
        Power::from_w(self.rated_w - self.idle_w)
    }
}

/// A polisher: drive, throw, orbit rate with its range, and what else is known of it.
///
/// # Units
/// The throw is the **diameter** of the orbit; rates are orbits (or turns) in time. What is not given
/// is `None`, never a guess.
///
/// # Assumptions and valid range
/// The rate holds under load; whether the motor can do that, the plan checks against its rated power.
///
/// # Example
/// ```
/// use trochoid::{AngularRate, Bearing, Length, Tool, Torque, ViscousDrag};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?
///     .with_rate_range(AngularRate::from_opm(2000.0), AngularRate::from_opm(5000.0))?;
/// // 4200 a minute are 70 a second: 439.8 rad/s; round a radius of 7.5 mm that makes 3.30 m/s.
/// assert!((0.5 * tool.throw().m() * tool.rate().rad_s() - 3.2987).abs() < 1e-4);
/// assert!(tool.at_rate(AngularRate::from_opm(6000.0)).is_err()); // beyond its range
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Tool {
    drive: Drive,
    throw_m: f64,
    rate: f64,
    rate_range: (f64, f64),
    speed_scale: Option<SpeedScale>,
    spin_inertia: Option<f64>,
    motor: Option<Motor>,
    mass: Option<f64>,
    vibration: Option<f64>,
    noise_db: Option<f64>,
}

fn rate_within(what: &'static str, rate: AngularRate) -> Result<f64, RangeError> {
    within(what, rate.opm(), 1.0, 100_000.0, "/min").map(|_| rate.rad_s())
}

impl Tool {
    fn with_drive(drive: Drive, throw: Length, rate: AngularRate) -> Result<Self, RangeError> {
        let throw_m = throw.m();
        let rate = match drive {
            Drive::Rotary { .. } => 0.0,
            Drive::Free(_) | Drive::Geared { .. } => {
                if !(throw.is_finite() && throw.mm() >= 0.01 && throw.mm() <= 100.0) {
                    return Err(RangeError::new(
                        "throw_mm",
                        throw.mm(),
                        "mm",
                        "0.01 to 100; a pad that does not orbit is a rotary drive, and without an orbit a free pad has \
                         nothing to turn it but its bearing",
                    ));
                }
                rate_within("orbit_rate_opm", rate)?
            }
        };
        Ok(Self {
            drive,
            throw_m,
            rate,
            rate_range: (rate, rate),
            speed_scale: None,
            spin_inertia: None,
            motor: None,
            mass: None,
            vibration: None,
            noise_db: None,
        })
    }

    /// A tool whose pad orbits and turns freely. `throw` is the orbit diameter. See the example of [`Tool`].
    ///
    /// # Errors
    /// Throw outside 0.01 to 100 mm, rate outside 1 to 100 000 per minute.
    pub fn free(throw: Length, rate: AngularRate, bearing: Bearing) -> Result<Self, RangeError> {
        Self::with_drive(Drive::Free(bearing), throw, rate)
    }

    /// A tool whose pad orbits and is turned by a gear.
    ///
    /// # Errors
    /// As [`Tool::free`]; a ratio outside −10 to 10.
    pub fn geared(throw: Length, rate: AngularRate, spin_per_orbit: f64) -> Result<Self, RangeError> {
        let spin_per_orbit = within("spin_per_orbit", spin_per_orbit, -10.0, 10.0, "")?;
        Self::with_drive(Drive::Geared { spin_per_orbit }, throw, rate)
    }

    /// A tool whose pad turns about its axis without an orbit.
    ///
    /// # Errors
    /// Shaft rate outside 1 to 20 000 rpm.
    pub fn rotary(spin: AngularRate) -> Result<Self, RangeError> {
        within("spin_rpm", spin.rpm(), 1.0, 20_000.0, "rpm")?;
        Self::with_drive(Drive::Rotary { spin }, Length::from_m(0.0), AngularRate::from_rad_s(0.0))
    }

    /// Sets the range of orbit rates; the set-point must lie in it.
    ///
    /// # Errors
    /// A rate out of 1 to 100 000 per minute, a range that runs backwards or does not hold the
    /// set-point.
    pub fn with_rate_range(mut self, low: AngularRate, high: AngularRate) -> Result<Self, RangeError> {
        let (l, h) = (rate_within("orbit_rate_range_opm", low)?, rate_within("orbit_rate_range_opm", high)?);
        if l > h {
            return Err(RangeError::new(
                "orbit_rate_range_opm",
                low.opm(),
                "/min",
                format!("at most its upper end, {}", high.opm()),
            ));
        }
        if !matches!(self.drive, Drive::Rotary { .. }) {
            Self::in_range((l, h), self.rate)?;
        }
        self.rate_range = (l, h);
        Ok(self)
    }

    fn in_range((low, high): (f64, f64), rate: f64) -> Result<f64, RangeError> {
        // A relative 1e-9 forgives the rounding of the unit conversion.
        if rate.is_finite() && rate >= low * (1.0 - 1e-9) && rate <= high * (1.0 + 1e-9) {
            Ok(rate)
        } else {
            let opm = |r: f64| AngularRate::from_rad_s(r).opm();
            Err(RangeError::new(
                "orbit_rate_opm",
                opm(rate),
                "/min",
                format!("{:.0} to {:.0}, the tool's range", opm(low), opm(high)),
            ))
        }
    }

    /// Sets the set-point to another rate in the tool's range. Without a range the new rate is all of it.
    /// See the example of [`Tool`].
    ///
    /// # Errors
    /// A rate outside the range, where one was given; a rate outside 1 to 100 000 per minute.
    pub fn at_rate(mut self, rate: AngularRate) -> Result<Self, RangeError> {
        let r = rate_within("orbit_rate_opm", rate)?;
        if self.rate_range.1 > self.rate_range.0 {
            Self::in_range(self.rate_range, r)?;
        } else {
            self.rate_range = (r, r);
        }
        self.rate = r;
        Ok(self)
    }

    /// Sets the machine's own speed scale.
    #[must_use]
    pub fn with_speed_scale(mut self, scale: SpeedScale) -> Self {
        self.speed_scale = Some(scale);
        self
    }

    /// Sets the throw (orbit diameter), as for a tool of the same kind with another orbit.
    ///
    /// # Errors
    /// Throw outside 0.01 to 100 mm, or a rotary drive.
    pub fn with_throw(mut self, throw: Length) -> Result<Self, RangeError> {
        if matches!(self.drive, Drive::Rotary { .. }) {
            return Err(RangeError::new("throw_mm", throw.mm(), "mm", "0 for a rotary drive"));
        }
        within("throw_mm", throw.mm(), 0.01, 100.0, "mm")?;
        self.throw_m = throw.m();
        Ok(self)
    }

    /// Replaces the bearing of a free drive; other drives are returned as they are.
    #[must_use]
    pub fn with_bearing(mut self, bearing: Bearing) -> Self {
        if let Drive::Free(old) = &mut self.drive {
            *old = bearing;
        }
        self
    }

    /// Sets the moment of inertia of everything that spins with the pad.
    ///
    /// # Errors
    /// Outside 1e-7 to 1 kg·m².
    pub fn with_spin_inertia(mut self, inertia: Inertia) -> Result<Self, RangeError> {
        self.spin_inertia = Some(within("spin_inertia_kgm2", inertia.kgm2(), 1e-7, 1.0, "kg·m²")?);
        Ok(self)
    }

    /// Sets the motor.
    #[must_use]
    pub const fn with_motor(mut self, motor: Motor) -> Self {
        self.motor = Some(motor);
        self
    }

    /// Sets the mass of the tool.
    ///
    /// # Errors
    /// Outside 0.1 to 50 kg.
    pub fn with_mass(mut self, mass: Mass) -> Result<Self, RangeError> {
        self.mass = Some(within("tool.mass_kg", mass.kg(), 0.1, 50.0, "kg")?);
        Ok(self)
    }

    /// Sets the declared hand-arm vibration value.
    ///
    /// # Errors
    /// Outside 0 to 100 m/s².
    pub fn with_vibration(mut self, a: Acceleration) -> Result<Self, RangeError> {
        self.vibration = Some(within("vibration_m_s2", a.m_s2(), 0.0, 100.0, "m/s²")?);
        Ok(self)
    }

    /// Sets the A-weighted sound level at the ear, dB.
    ///
    /// # Errors
    /// Outside 30 to 150 dB.
    pub fn with_noise_db(mut self, level: f64) -> Result<Self, RangeError> {
        self.noise_db = Some(within("noise_db", level, 30.0, 150.0, "dB")?);
        Ok(self)
    }

    /// How the pad is driven.
    #[must_use]
    pub const fn drive(&self) -> &Drive {
        &self.drive
    }

    /// The bearing of a free drive.
    #[must_use]
    pub const fn bearing(&self) -> Option<&Bearing> {
        if let Drive::Free(b) = &self.drive { Some(b) } else { None }
    }

    /// Throw: the diameter of the orbit, zero for a rotary drive.
    #[must_use]
    pub const fn throw(&self) -> Length {
        Length::from_m(self.throw_m)
    }

    /// Orbit rate at the set-point, zero for a rotary drive.
    #[must_use]
    pub const fn rate(&self) -> AngularRate {
        AngularRate::from_rad_s(self.rate)
    }

    /// Range of orbit rates; both ends are the set-point where none was given.
    #[must_use]
    pub const fn rate_range(&self) -> (AngularRate, AngularRate) {
        (AngularRate::from_rad_s(self.rate_range.0), AngularRate::from_rad_s(self.rate_range.1))
    }

    /// The machine's own speed scale.
    #[must_use]
    pub const fn speed_scale(&self) -> Option<&SpeedScale> {
        self.speed_scale.as_ref()
    }

    /// Moment of inertia of what spins, where given.
    #[must_use]
    pub fn spin_inertia(&self) -> Option<Inertia> {
        self.spin_inertia.map(Inertia::from_kgm2)
    }

    /// The motor, where given.
    #[must_use]
    pub const fn motor(&self) -> Option<&Motor> {
        self.motor.as_ref()
    }

    /// Mass, where given.
    #[must_use]
    pub fn mass(&self) -> Option<Mass> {
        self.mass.map(Mass::from_kg)
    }

    /// A-weighted sound level at the ear \[dB\], where given.
    #[must_use]
    pub const fn noise_db(&self) -> Option<f64> {
        self.noise_db
    }

    /// Declared hand-arm vibration, where given.
    #[must_use]
    pub fn vibration(&self) -> Option<Acceleration> {
        self.vibration.map(Acceleration::from_m_s2)
    }
}
