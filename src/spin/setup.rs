//! A set-up: one tool with one pad and product on one patch of panel, at one force and rate.

use super::shear::{FaceOrbit, face_orbit};
use crate::contact::Hold;
use crate::equipment::{Drive, Pad, Product, SpindleDrag, Tool};
use crate::error::RangeError;
use crate::panel::Patch;
use crate::units::{AngularRate, Force, Inertia};

/// Everything that decides how the pad runs at one place: tool, pad, product, patch, hold and force.
///
/// # Assumptions and valid range
/// The force is the normal force on the face, the pressing part of the tool's weight included, 0.1 to
/// 2000 N; the throw is below the face's diameter.
///
/// # Example
/// ```
/// use trochoid::*;
/// # fn main() -> Result<(), RangeError> {
/// let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_opm(4200.0), 0.1)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?
///     .with_shear_modulus(Pressure::from_kpa(15.0))?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// // μN = 12.25 N shears 7964 N/m by 1.538 mm: √(6² − 1.538²) = 5.800 mm of the 6 are left.
/// assert!((setup.friction_n() - 12.25).abs() < 1e-12);
/// assert!((setup.face_orbit().radius_m - 5.7995e-3).abs() < 1e-7);
/// // A tenth of a turn an orbit.
/// assert!(setup.driven_spin().is_some_and(|s| (AngularRate::from_rad_s(s).rpm() - 420.0).abs() < 1e-9));
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    tool: Tool,
    pad: Pad,
    product: Product,
    patch: Patch,
    hold: Hold,
    force_n: f64,
}

impl Setup {
    /// A set-up with the pad held square; `force` is the normal force on the face, tool weight
    /// included. The rate is the tool's set-point.
    ///
    /// # Errors
    /// A force outside 0.1 to 2000 N, or a throw as large as the pad's face or larger.
    pub fn new(tool: Tool, pad: Pad, product: Product, patch: Patch, force: Force) -> Result<Self, RangeError> {
        let force_n = crate::equipment::within("force_n", force.n(), 0.1, 2000.0, "N")?;
        let out = Self { tool, pad, product, patch, hold: Hold::Flat, force_n };
        out.check_throw()?;
        Ok(out)
    }

    /// Whether the pad counts as stalled at a spin: it is free, and below `useful_spin` (both \[rad/s\]). A
    /// geared or rotary pad turns as it is driven and never stalls.
    ///
    /// # Example
    /// ```
    /// use trochoid::spin::Setup;
    /// use trochoid::*;
    /// # fn main() -> Result<(), Error> {
    /// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
    /// let driven = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    /// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    /// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    /// let free = driven.clone().with_tool(tool)?;
    /// let useful = AngularRate::from_rpm(60.0).rad_s(); // 2 pi rad/s
    /// assert!(free.stalls_at(6.0, useful) && !free.stalls_at(6.5, useful) && !driven.stalls_at(0.0, useful));
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn stalls_at(&self, spin: f64, useful_spin: f64) -> bool {
        self.tool.bearing().is_some() && spin < useful_spin
    }

    fn check_throw(&self) -> Result<(), RangeError> {
        let (throw, face) = (self.tool.throw().mm(), self.pad.diameter().mm());
        if throw >= face {
            return Err(RangeError::new("throw_mm", throw, "mm", format!("below the pad's face diameter, {face} mm")));
        }
        Ok(())
    }

    /// Sets how the pad is held.
    #[must_use]
    pub const fn with_hold(mut self, hold: Hold) -> Self {
        self.hold = hold;
        self
    }

    /// The same set-up on another patch.
    #[must_use]
    pub const fn on(mut self, patch: Patch) -> Self {
        self.patch = patch;
        self
    }

    /// The same set-up at another force.
    ///
    /// # Errors
    /// As [`Setup::new`].
    pub fn at_force(mut self, force: Force) -> Result<Self, RangeError> {
        self.force_n = crate::equipment::within("force_n", force.n(), 0.1, 2000.0, "N")?;
        Ok(self)
    }

    /// The same set-up at another orbit rate in the tool's range.
    ///
    /// # Errors
    /// As [`Tool::at_rate`].
    pub fn at_rate(mut self, rate: AngularRate) -> Result<Self, RangeError> {
        self.tool = self.tool.at_rate(rate)?;
        Ok(self)
    }

    /// The same set-up with another tool.
    ///
    /// # Errors
    /// As [`Setup::new`].
    pub fn with_tool(mut self, tool: Tool) -> Result<Self, RangeError> {
        self.tool = tool;
        self.check_throw()?;
        Ok(self)
    }

    /// The same set-up with another pad.
    ///
    /// # Errors
    /// As [`Setup::new`].
    pub fn with_pad(mut self, pad: Pad) -> Result<Self, RangeError> {
        self.pad = pad;
        self.check_throw()?;
        Ok(self)
    }

    /// The same set-up with another product.
    #[must_use]
    pub const fn with_product(mut self, product: Product) -> Self {
        self.product = product;
        self
    }

    /// The tool.
    #[must_use]
    pub const fn tool(&self) -> &Tool {
        &self.tool
    }

    /// The pad.
    #[must_use]
    pub const fn pad(&self) -> &Pad {
        &self.pad
    }

    /// The product.
    #[must_use]
    pub const fn product(&self) -> &Product {
        &self.product
    }

    /// The patch of panel.
    #[must_use]
    pub const fn patch(&self) -> &Patch {
        &self.patch
    }

    /// How the pad is held.
    #[must_use]
    pub const fn hold(&self) -> &Hold {
        &self.hold
    }

    /// Normal force on the face.
    #[must_use]
    pub const fn force(&self) -> Force {
        Force::from_n(self.force_n)
    }

    /// Friction force μN \[N\].
    #[must_use]
    pub const fn friction_n(&self) -> f64 {
        self.product.friction() * self.force_n
    }

    /// Orbit of the face after shear of the pad ([`face_orbit`]).
    #[must_use]
    pub fn face_orbit(&self) -> FaceOrbit {
        face_orbit(0.5 * self.tool.throw().m(), self.friction_n(), self.pad.shear_stiffness())
    }

    /// Moment of inertia of what spins about the pad's axis: the tool's, or without one that of a uniform
    /// disc of the rotating assembly's mass and face.
    #[must_use]
    pub fn spin_inertia(&self) -> Inertia {
        self.tool.spin_inertia().unwrap_or_else(|| self.pad.disc_inertia())
    }

    /// The bearing law under its load, the pad's centrifugal force m_p e Ω² and the friction μN; `None`
    /// unless the drive is free.
    #[must_use]
    pub fn spindle_drag(&self) -> Option<SpindleDrag> {
        let rate = self.tool.rate().rad_s();
        let centrifugal = self.pad.mass().kg() * 0.5 * self.tool.throw().m() * rate * rate;
        self.tool.bearing().map(|b| b.under_load(centrifugal, self.friction_n()))
    }

    /// Spin of a geared or rotary drive [rad/s]; `None` for a free one. See the example of [`Setup`].
    #[must_use]
    pub fn driven_spin(&self) -> Option<f64> {
        match self.tool.drive() {
            Drive::Free(_) => None,
            Drive::Geared { spin_per_orbit } => Some(spin_per_orbit * self.tool.rate().rad_s()),
            Drive::Rotary { spin } => Some(spin.rad_s()),
        }
    }
}
