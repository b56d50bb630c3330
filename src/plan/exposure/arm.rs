//! What the arms carry: the push on the pad and the weight that the panel does not take.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Angle, Force, Mass, STANDARD_GRAVITY, Time};

/// Load on the arms while a tool is pressed on an inclined panel.
///
/// ```text
/// push  = N − m g cos(incline)        along the panel's normal, + toward the panel
/// carry = m g sin(incline)            along the panel
/// load  = √(push² + carry²)
/// ```
///
/// On a panel that faces up the weight presses; on a vertical one the arms carry it; on one that faces
/// down they hold it up and press as well. Friction on an orbiting pad averages out over the orbit. How
/// much an arm may bear depends on posture, reach and time: no limit is told here, local codes hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArmLoad {
    /// Push along the normal; negative where the arms lift part of the weight off the panel.
    pub push: Force,
    /// Weight carried along the panel.
    pub carry: Force,
    /// Size of both together.
    pub load: Force,
    /// Load times time \[N·min\].
    pub newton_minutes: f64,
}

impl ArmLoad {
    /// The load of a force on the face, a tool mass and the incline of the panel (0 facing up, 90°
    /// vertical, 180° facing down), over a time.
    ///
    /// # Assumptions and valid range
    /// Statics of tool and pad; the friction of an orbiting pad averages out over the orbit. What an arm may
    /// bear is not told: local codes hold.
    ///
    /// # Errors
    /// A force outside 0 to 2000 N, a mass outside 0.1 to 50 kg, an incline outside 0 to 180°, a time
    /// that is negative or not finite.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::ArmLoad;
    /// use trochoid::units::{Angle, Force, Mass, Time};
    /// // 30 N on a vertical panel with a tool of 2 kg: the arms push 30 N and carry 19.6 N.
    /// let arm = ArmLoad::new(
    ///     Force::from_n(30.0), Mass::from_kg(2.0), Angle::from_deg(90.0), Time::from_min(10.0))?;
    /// assert!((arm.push.n() - 30.0).abs() < 1e-9 && (arm.carry.n() - 19.6133).abs() < 1e-9);
    /// assert!((arm.newton_minutes - 358.4).abs() < 0.05);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn new(face: Force, tool: Mass, incline: Angle, time: Time) -> Result<Self, RangeError> {
        let force = within("force_n", face.n(), 0.0, 2000.0, "N")?;
        let weight = STANDARD_GRAVITY * within("mass_kg", tool.kg(), 0.1, 50.0, "kg")?;
        within("incline_deg", incline.deg(), 0.0, 180.0, "°")?;
        let minutes = within("time", time.min(), 0.0, 1e7, "min")?;
        let (push, carry) = (force - weight * incline.rad().cos(), weight * incline.rad().sin());
        let load = push.hypot(carry);
        Ok(Self {
            push: Force::from_n(push),
            carry: Force::from_n(carry),
            load: Force::from_n(load),
            newton_minutes: load * minutes,
        })
    }
}
