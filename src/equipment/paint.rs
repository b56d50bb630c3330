//! The paint: how hard, how thick the clear coat, how light, and what lies under it.

use super::{defaults, within};
use crate::error::RangeError;
use crate::units::{Length, Pressure};

/// Hardness of a paint: a class, or an indentation hardness of 1 to 10 000 MPa.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hardness {
    /// Marks easily.
    Soft,
    /// Neither known soft nor known hard.
    Medium,
    /// Marks little, corrects slowly.
    Hard,
    /// Indentation hardness.
    Measured(Pressure),
}

/// What the paint lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Substrate {
    /// Sheet steel.
    Steel,
    /// Sheet aluminium.
    Aluminium,
    /// Plastic.
    Plastic,
    /// Fibre composite.
    Composite,
}

/// A paint system as the plan sees it: hardness, clear coat, lightness, and what it lies on.
///
/// Clear coat 0 to 1000 µm, lightness L* 0 to 100 (CIE 1976: 0 black, 100 white). What is not set takes the
/// defaults of [`defaults`]: medium hardness, 45 µm, L* 50, steel; all of them assumed.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::equipment::Paint;
/// let black = Paint::default().with_clear(Length::from_um(40.0))?.with_lightness(5.0)?;
/// assert!((black.clear().um() - 40.0).abs() < 1e-12);
/// assert!(black.with_lightness(101.0).is_err()); // lighter than white
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paint {
    hardness: Hardness,
    clear_m: f64,
    lightness: f64,
    substrate: Substrate,
}

impl Default for Paint {
    fn default() -> Self {
        Self {
            hardness: Hardness::Medium,
            clear_m: Length::from_um(defaults::CLEAR_UM).m(),
            lightness: defaults::LIGHTNESS,
            substrate: Substrate::Steel,
        }
    }
}

impl Paint {
    /// Sets the hardness.
    ///
    /// # Errors
    /// An indentation hardness outside 1 to 10 000 MPa.
    pub fn with_hardness(mut self, hardness: Hardness) -> Result<Self, RangeError> {
        if let Hardness::Measured(h) = hardness {
            within("hardness_mpa", h.mpa(), 1.0, 1e4, "MPa")?;
        }
        self.hardness = hardness;
        Ok(self)
    }

    /// Sets the thickness of the clear coat.
    ///
    /// # Errors
    /// Outside 0 to 1000 µm.
    pub fn with_clear(mut self, clear: Length) -> Result<Self, RangeError> {
        within("clear_um", clear.um(), 0.0, 1000.0, "µm")?;
        self.clear_m = clear.m();
        Ok(self)
    }

    /// Sets the lightness L* \[1\].
    ///
    /// # Errors
    /// Outside 0 to 100.
    pub fn with_lightness(mut self, lightness: f64) -> Result<Self, RangeError> {
        self.lightness = within("lightness", lightness, 0.0, 100.0, "")?;
        Ok(self)
    }

    /// Sets the substrate.
    #[must_use]
    pub const fn with_substrate(mut self, substrate: Substrate) -> Self {
        self.substrate = substrate;
        self
    }

    /// Hardness.
    #[must_use]
    pub const fn hardness(&self) -> Hardness {
        self.hardness
    }

    /// Thickness of the clear coat.
    #[must_use]
    pub const fn clear(&self) -> Length {
        Length::from_m(self.clear_m)
    }

    /// Lightness L* \[1\], 0 black to 100 white.
    #[must_use]
    pub const fn lightness(&self) -> f64 {
        self.lightness
    }

    /// What the paint lies on.
    #[must_use]
    pub const fn substrate(&self) -> Substrate {
        self.substrate
    }
}
