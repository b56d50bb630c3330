//! Open-cell foam from its cell structure: a first guess of a pad's stiffness where nothing was
//! measured.
//!
//! L. J. Gibson and M. F. Ashby, "Cellular Solids: Structure and Properties", 2nd edition,
//! Cambridge 1997, chapter 5, with the constants stated there for elastomeric open cells.
//!
//! Not a compression law: three numbers to judge or start one by.

use super::within;
use crate::error::RangeError;
use crate::units::Pressure;

/// An open-cell elastomeric foam.
///
/// ```text
/// E* = E_s φ²           Young's modulus of the foam [Pa], E_s of its cell walls [Pa], φ = ρ*/ρ_s [1]
/// σ  = 0.05 E_s φ²      plateau, where the cell walls buckle [Pa]
/// ε  = 1 − 1.4 φ        strain at which the cells are shut [1]
/// ```
///
/// # Assumptions and valid range
/// Cell walls bend; pores are open and drain freely. φ 0.001 to 0.3, E_s 0.1 MPa to 10 GPa.
///
/// # Accuracy
/// The constants are fitted over many foams; one foam is off by tens of per cent. Measure where it matters.
///
/// # Example
/// ```
/// use trochoid::equipment::OpenCellFoam;
/// use trochoid::Pressure;
/// let foam = OpenCellFoam::new(0.03, Pressure::from_mpa(45.0))?;
/// // 45 MPa × 0.0009 = 40.5 kPa; a twentieth of it 2.025 kPa; 1 − 0.042 = 0.958.
/// assert!((foam.modulus().kpa() - 40.5).abs() < 1e-9);
/// assert!((foam.plateau().kpa() - 2.025).abs() < 1e-9);
/// assert!((foam.densification_strain() - 0.958).abs() < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// L. J. Gibson and M. F. Ashby, Cellular Solids, 2nd edition (1997), chapter 5.
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

    /// Strain at which the cells are shut and the foam densifies \[1\]: 1 − 1.4 φ.
    #[must_use]
    pub fn densification_strain(&self) -> f64 {
        1.0 - 1.4 * self.relative_density
    }
}
