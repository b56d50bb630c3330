//! A rectangular panel of constant curvature: what a job describes until real surfaces come in.

use super::Patch;
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Angle, Force, Length, Mass, STANDARD_GRAVITY};

/// A rectangle of one shape, with its incline.
///
/// Coordinates: x along the first side, y along the second, origin in the corner; lengths are
/// measured along the surface.
///
/// # Assumptions and valid range
/// One curvature everywhere; worked unrolled; it goes on beyond its sides, so that the pad is never
/// short of support. A panel with edges is a [`super::Surface`].
///
/// # Example
/// ```
/// use trochoid::{Angle, Length, Mass, Panel, Patch};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let hood = Panel::new(Patch::flat(), Length::from_mm(450.0), Length::from_mm(420.0))?
///     .with_incline(Angle::from_deg(60.0))?;
/// // Half of the weight of 2 kg presses: 2 × 9.80665 × cos 60° = 9.807 N.
/// assert!((hood.weight_share(Mass::from_kg(2.0)).n() - 9.80665).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panel {
    patch: Patch,
    length: f64,
    width: f64,
    incline: f64,
}

impl Panel {
    /// A panel that faces up.
    ///
    /// # Errors
    /// A side outside 10 mm to 20 m.
    pub fn new(patch: Patch, length: Length, width: Length) -> Result<Self, RangeError> {
        within("size_mm", length.mm(), 10.0, 20_000.0, "mm")?;
        within("size_mm", width.mm(), 10.0, 20_000.0, "mm")?;
        Ok(Self { patch, length: length.m(), width: width.m(), incline: 0.0 })
    }

    /// Sets the incline: 0 facing up, 90° vertical, 180° facing down.
    ///
    /// # Errors
    /// Outside 0 to 180°.
    pub fn with_incline(mut self, incline: Angle) -> Result<Self, RangeError> {
        within("incline_deg", incline.deg(), 0.0, 180.0, "°")?;
        self.incline = incline.rad();
        Ok(self)
    }

    /// Local shape.
    #[must_use]
    pub const fn patch(&self) -> &Patch {
        &self.patch
    }

    /// Side along x.
    #[must_use]
    pub const fn length(&self) -> Length {
        Length::from_m(self.length)
    }

    /// Side along y.
    #[must_use]
    pub const fn width(&self) -> Length {
        Length::from_m(self.width)
    }

    /// Incline: 0 facing up, 90° vertical, 180° facing down.
    #[must_use]
    pub const fn incline(&self) -> Angle {
        Angle::from_rad(self.incline)
    }

    /// Part of the tool's weight that presses on the panel; negative when the panel faces down.
    ///
    /// ```text
    /// W = m g cos(incline)      m tool mass [kg], g 9.80665 m/s²
    /// ```
    #[must_use]
    pub fn weight_share(&self, tool: Mass) -> Force {
        Force::from_n(tool.kg() * STANDARD_GRAVITY * self.incline.cos())
    }
}
