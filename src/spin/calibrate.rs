//! The bearing drag from one counted rotation: a mark on the backing plate, turns counted at a known
//! force and rate.

use super::balance::{SLIP_SCALE, spin_state};
use super::setup::Setup;
use super::torque::friction_sums;
use crate::contact::{ContactError, ContactSettings};
use crate::equipment::Bearing;
use crate::error::RangeError;
use core::f64::consts::PI;

/// Turns of a mark on the backing plate counted in a time: ±100 000 turns in 0.1 s to 3600 s.
///
/// # Example
/// ```
/// use trochoid::spin::CountedSpin;
/// // 30 turns in 20 s are 90 rpm, 3π rad/s; half a turn in 20 s is π/20 rad/s, 1.5 rpm.
/// let counted = CountedSpin::new(30.0, 20.0)?;
/// assert!((counted.spin() - 9.42478).abs() < 1e-5 && (counted.resolution() - 0.157080).abs() < 1e-6);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountedSpin {
    turns: f64,
    seconds: f64,
}

impl CountedSpin {
    /// A count; backward turns are negative.
    ///
    /// # Errors
    /// Turns outside ±100 000, a time outside 0.1 s to 3600 s.
    pub fn new(turns: f64, seconds: f64) -> Result<Self, RangeError> {
        Ok(Self {
            turns: crate::equipment::within("counted_spin.turns", turns, -1e5, 1e5, "turns")?,
            seconds: crate::equipment::within("counted_spin.seconds", seconds, 0.1, 3600.0, "s")?,
        })
    }

    /// Spin [rad/s].
    #[must_use]
    pub fn spin(&self) -> f64 {
        2.0 * PI * self.turns / self.seconds
    }

    /// Half a turn over the time: how far a count can be off [rad/s].
    #[must_use]
    pub fn resolution(&self) -> f64 {
        PI / self.seconds
    }
}

/// Bearing drag that reproduces a count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DragCalibration {
    /// Factor on breakaway, load friction and viscous drag \[1\].
    pub factor: f64,
    /// Factors \[1\] for half a turn less and half a turn more; the upper one is infinite where half a turn
    /// more would outrun the orbit.
    pub factor_range: (f64, f64),
    /// The bearing with its drag multiplied by `factor`.
    pub bearing: Bearing,
}

/// Why a count gives no drag.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum CalibrationError {
    /// The tool's drive is not free.
    NotFree,
    /// The count needs a drag that is not positive (the pad was turned by something else), or the
    /// bearing law given has no drag to scale.
    NoDrag {
        /// Drag torque that the count would need \[N·m\].
        needed_nm: f64,
    },
    /// The contact has no solution.
    Contact(ContactError),
    /// The scaled bearing leaves its range.
    Range(RangeError),
}

impl core::fmt::Display for CalibrationError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NotFree => f.write_str("only a free drive has a bearing drag to calibrate"),
            Self::NoDrag { needed_nm } => write!(
                f,
                "the counted turns would need a bearing drag of {needed_nm:.4} N·m, which no scaling of the bearing given can reach"
            ),
            Self::Contact(e) => e.fmt(f),
            Self::Range(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for CalibrationError {}

/// Scales the bearing of `setup` so that its pad turns as counted.
///
/// ```text
/// factor = [μ⟨∫p (ρ×v)/|v| dA⟩ + M_brake·s(ω)] / M_b(Ω−ω)     at the counted ω [rad/s], torques [N·m]
/// ```
///
/// # Assumptions and valid range
/// Friction, pressure and rate are those of the count; the shape of the bearing law is kept. An error in
/// μN goes into the factor in proportion.
///
/// # Accuracy
/// No root is sought: the factor is as good as the sum over the contact, which aims at 1e-6. What the count
/// itself leaves open is told by [`DragCalibration::factor_range`].
///
/// # Errors
/// See [`CalibrationError`].
///
/// # Example
/// ```
/// use trochoid::contact::ContactSettings;
/// use trochoid::spin::{CountedSpin, calibrate_drag};
/// use trochoid::*;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let guess = Bearing::new(Torque::from_nm(0.025), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(18.0), AngularRate::from_opm(4500.0), guess)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.4, 2e-11)?, Patch::flat(), Force::from_n(45.0))?;
/// // 91.644 rpm need 0.05 N·m (published torque of the disc): twice the guess.
/// let counted = CountedSpin::new(91.644, 60.0)?;
/// let found = calibrate_drag(&setup, &counted, &ContactSettings::default())?;
/// assert!((found.factor - 2.0).abs() < 1e-4);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own method; the torque of the example from Farkas, Bartels, Unger and Wolf, Phys. Rev. Lett. 90, 248302
/// (2003).
pub fn calibrate_drag(
    setup: &Setup,
    count: &CountedSpin,
    settings: &ContactSettings,
) -> Result<DragCalibration, CalibrationError> {
    let bearing = setup.tool().bearing().ok_or(CalibrationError::NotFree)?;
    let drag = setup.spindle_drag().ok_or(CalibrationError::NotFree)?;
    let state = spin_state(setup, setup.patch(), settings).map_err(CalibrationError::Contact)?;
    let rate = setup.tool().rate().rad_s();
    let factor_at = |spin: f64| {
        let needed = setup.product().friction() * friction_sums(&state.contact.load, rate, spin).moment_nm
            + drag.brake_torque(spin, SLIP_SCALE);
        (needed, needed / drag.spindle_torque(rate - spin, SLIP_SCALE))
    };
    let spin = count.spin();
    let (needed_nm, factor) = factor_at(spin);
    if state.sticks || !(factor.is_finite() && factor > 0.0) {
        return Err(CalibrationError::NoDrag { needed_nm });
    }
    let less = factor_at(spin - count.resolution()).1.max(0.0);
    let more = factor_at(spin + count.resolution()).1;
    // Half a turn more may be faster than the orbit, which no drag reaches: then nothing bounds it.
    let more = if more.is_finite() && more > factor { more } else { f64::INFINITY };
    Ok(DragCalibration {
        factor,
        factor_range: (less, more),
        bearing: bearing.with_drag_scaled(factor).map_err(CalibrationError::Range)?,
    })
}
