//! The spindle bearing that drags a free pad round, and the brake that may hold it back.
//!
//! Own model (`notebooks-free-docs/theory-spin.md`): seal drag, load-dependent bearing friction,
//! viscous drag, brake.
//! The load term has the form of the handbook estimate M = ½ μ_b d P for rolling bearings.

use super::within;
use crate::error::RangeError;
use crate::units::{Length, Torque, ViscousDrag};

/// Bearing of a free spindle.
///
/// ```text
/// M_b = [M0 + ½ μ_b d_b P]·s(Ω−ω) + c(Ω−ω) − M_brake·s(ω)
/// P   = √((m_p e Ω²)² + (μN)²)                       bearing load [N]
///
/// M0 seal drag [N·m]    μ_b, d_b friction and bore [1], [m]    c viscous drag [N·m·s]    M_brake [N·m]
/// ```
///
/// # Assumptions and valid range
/// Own model, not measured: the shape of a seal, a rolling bearing and a film of grease. It is the least
/// known input of all and decides the spin; [`crate::spin::calibrate_drag`] pins it down from one count.
///
/// # Example
/// ```
/// use trochoid::{Bearing, Length, Torque, ViscousDrag};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?
///     .with_load_friction(0.002, Length::from_mm(12.0))?;
/// // Load √(192² + 12.25²) = 192.39 N: 0.02 + ½ × 0.002 × 0.012 × 192.39 = 0.022309 N·m.
/// assert!((bearing.under_load(192.0, 12.25).steady_nm - 0.022309).abs() < 1e-6);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// The load term has the form of the usual estimate for rolling bearings, M = ½ μ_b d_b P.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bearing {
    breakaway_nm: f64,
    viscous_nms: f64,
    friction: f64,
    bore_m: f64,
    brake_nm: f64,
}

/// The bearing law with its load put in: what the torque balance needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpindleDrag {
    /// Torque that does not depend on the slip rate (seal drag and load term) [N·m].
    pub steady_nm: f64,
    /// Viscous coefficient [N·m·s].
    pub viscous_nms: f64,
    /// Brake grounded to the housing [N·m].
    pub brake_nm: f64,
}

impl Bearing {
    /// A bearing with its first two numbers; load term and brake are zero. See the example of [`Bearing`].
    ///
    /// # Errors
    /// Breakaway torque outside 0 to 100 N·m, viscous drag outside 0 to 1 N·m·s.
    pub fn new(breakaway: Torque, viscous: ViscousDrag) -> Result<Self, RangeError> {
        Ok(Self {
            breakaway_nm: within("bearing.breakaway_nm", breakaway.nm(), 0.0, 100.0, "N·m")?,
            viscous_nms: within("bearing.viscous_nms", viscous.nms(), 0.0, 1.0, "N·m·s")?,
            friction: 0.0,
            bore_m: 0.0,
            brake_nm: 0.0,
        })
    }

    /// Adds the load term: friction coefficient of the bearing and its bore.
    ///
    /// # Errors
    /// Friction outside 0 to 1, bore outside 0 to 200 mm.
    pub fn with_load_friction(mut self, friction: f64, bore: Length) -> Result<Self, RangeError> {
        self.friction = within("bearing.friction", friction, 0.0, 1.0, "")?;
        self.bore_m = within("bearing.bore_mm", bore.mm(), 0.0, 200.0, "mm").map(|_| bore.m())?;
        Ok(self)
    }

    /// Adds a brake between pad and housing.
    ///
    /// # Errors
    /// Brake torque outside 0 to 100 N·m.
    pub fn with_brake(mut self, brake: Torque) -> Result<Self, RangeError> {
        self.brake_nm = within("bearing.brake_nm", brake.nm(), 0.0, 100.0, "N·m")?;
        Ok(self)
    }

    /// The same bearing with seal drag, load friction and viscous drag multiplied by `factor`;
    /// the brake is kept. This is what a count of turns calibrates.
    ///
    /// # Errors
    /// A factor that is not finite, is negative, or takes a term out of its range.
    pub fn with_drag_scaled(&self, factor: f64) -> Result<Self, RangeError> {
        within("bearing drag factor", factor, 0.0, 1.0e6, "")?;
        Self::new(Torque::from_nm(self.breakaway_nm * factor), ViscousDrag::from_nms(self.viscous_nms * factor))?
            .with_load_friction(self.friction * factor, Length::from_m(self.bore_m))?
            .with_brake(Torque::from_nm(self.brake_nm))
    }

    /// Seal (breakaway) torque.
    #[must_use]
    pub const fn breakaway(&self) -> Torque {
        Torque::from_nm(self.breakaway_nm)
    }

    /// Viscous drag.
    #[must_use]
    pub const fn viscous(&self) -> ViscousDrag {
        ViscousDrag::from_nms(self.viscous_nms)
    }

    /// Friction coefficient of the load term \[1\].
    #[must_use]
    pub const fn load_friction(&self) -> f64 {
        self.friction
    }

    /// Bore that the load term acts at.
    #[must_use]
    pub const fn bore(&self) -> Length {
        Length::from_m(self.bore_m)
    }

    /// Brake torque.
    #[must_use]
    pub const fn brake(&self) -> Torque {
        Torque::from_nm(self.brake_nm)
    }

    /// The law with its load put in: steady torque M0 + ½ μ_b d_b √(centrifugal² + friction²) [N·m].
    ///
    /// `centrifugal_n` is m_p e Ω² with the plate's own orbit radius e, `friction_n` is μN, both in N; the two
    /// stand at right angles to each other. See the example of [`Bearing`].
    #[must_use]
    pub fn under_load(&self, centrifugal_n: f64, friction_n: f64) -> SpindleDrag {
        SpindleDrag {
            steady_nm: self.breakaway_nm + 0.5 * self.friction * self.bore_m * centrifugal_n.hypot(friction_n),
            viscous_nms: self.viscous_nms,
            brake_nm: self.brake_nm,
        }
    }
}

impl SpindleDrag {
    /// Torque of the Ω−ω terms [N·m], positive where the pad turns slower than it orbits.
    ///
    /// ```text
    /// steady·tanh(slip/x_s) + c·slip      slip Ω−ω [rad/s], x_s = slip_scale [rad/s], c viscous [N·m·s]
    /// ```
    ///
    /// # Assumptions and valid range
    /// The step of dry friction at no slip is rounded over x_s, which is numerical, not physical.
    ///
    /// # Example
    /// ```
    /// use trochoid::{Bearing, Torque, ViscousDrag};
    /// let drag = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?.under_load(0.0, 0.0);
    /// // 400 rad/s of slip: 0.02 + 5e-5 × 400 = 0.04 N·m; none without slip.
    /// assert!((drag.spindle_torque(400.0, 1e-3) - 0.04).abs() < 1e-15);
    /// assert!(drag.spindle_torque(0.0, 1e-3).abs() < 1e-15);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn spindle_torque(&self, slip: f64, slip_scale: f64) -> f64 {
        self.steady_nm * (slip / slip_scale).tanh() + self.viscous_nms * slip
    }

    /// Torque of the brake [N·m], brake·tanh(spin/x_s), positive against positive spin; `spin` and
    /// `slip_scale` x_s in rad/s.
    #[must_use]
    pub fn brake_torque(&self, spin: f64, slip_scale: f64) -> f64 {
        if self.brake_nm > 0.0 { self.brake_nm * (spin / slip_scale).tanh() } else { 0.0 }
    }
}
