//! Open-cell foam from its cell structure: a first guess of a pad's stiffness where nothing was
//! measured.
//!
//! L. J. Gibson and M. F. Ashby, "Cellular Solids: Structure and Properties", 2nd edition,
//! Cambridge 1997, chapter 5, with the constants stated there for elastomeric open cells.

use super::within;
use crate::error::RangeError;
use crate::units::Pressure;

/// An open-cell elastomeric foam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpenCellFoam {
    relative_density: f64,
    solid_pa: f64,
}

impl OpenCellFoam {
    /// A foam from its relative density ρ*/ρ_s and the Young's modulus of its cell walls.
    ///
    /// # Errors
    /// Relative density outside 0.001 to 0.3 (the range of the model), modulus outside 0.1 MPa to
    /// 10 GPa.
    pub fn new(relative_density: f64, solid: Pressure) -> Result<Self, RangeError> {
        within("relative density", relative_density, 1e-3, 0.3, "")?;
        within("cell wall modulus", solid.mpa(), 0.1, 1e4, "MPa")?;
        Ok(Self { relative_density, solid_pa: solid.pa() })
    }

    /// Young's modulus of the foam: E* = E_s φ².
    #[must_use]
    pub fn modulus(&self) -> Pressure {
        Pressure::from_pa(self.solid_pa * self.relative_density * self.relative_density)
    }

    /// Stress of the plateau where the cells buckle: 0.05 E_s φ².
    #[must_use]
    pub fn plateau(&self) -> Pressure {
        Pressure::from_pa(0.05 * self.modulus().pa())
    }

    /// Strain at which the cells are shut and the foam densifies: 1 − 1.4 φ.
    #[must_use]
    pub fn densification_strain(&self) -> f64 {
        1.0 - 1.4 * self.relative_density
    }
}
