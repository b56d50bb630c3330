//! The product (the abrasive liquid or paste) and what a pad, a product and a paint do together.

use super::{defaults, within};
use crate::error::RangeError;
use crate::math::distribution::ln_sd_of_relative;

/// Friction and removal of a product, before a pairing overrides them.
///
/// ```text
/// τ = μ p [Pa]      dh/dt = k_p p |v| [m/s]
/// ```
///
/// # Assumptions and valid range
/// Both belong to a pad, a product and a paint together, and both are constants here: Coulomb friction,
/// Preston's law. Speed, warmth and loading change them in a workshop (see [`crate::plan::CouplingLaws`]).
///
/// # Example
/// ```
/// use trochoid::Product;
/// let compound = Product::new(0.35, 2.0e-11)?;
/// // 3 kPa at 3.3 m/s: 2e-11 × 3000 × 3.3 = 0.198 µm a second.
/// assert!((compound.preston_per_pa() * 3000.0 * 3.3 - 0.198e-6).abs() < 1e-15);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// F. W. Preston, J. Soc. Glass Technol. 11 (1927) 214-256.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Product {
    friction: f64,
    preston_per_pa: f64,
}

impl Product {
    /// A product from its friction coefficient and its Preston coefficient k_p [1/Pa] in
    /// dh/dt = k_p p |v|.
    ///
    /// # Errors
    /// Friction outside 0.001 to 5, k_p outside 0 to 1e-6 per pascal.
    pub fn new(friction: f64, preston_per_pa: f64) -> Result<Self, RangeError> {
        Ok(Self {
            friction: within("friction", friction, 1e-3, 5.0, "")?,
            preston_per_pa: within("preston_per_pa", preston_per_pa, 0.0, 1e-6, "1/Pa")?,
        })
    }

    /// Friction coefficient μ \[1\].
    #[must_use]
    pub const fn friction(&self) -> f64 {
        self.friction
    }

    /// Preston coefficient k_p [1/Pa].
    #[must_use]
    pub const fn preston_per_pa(&self) -> f64 {
        self.preston_per_pa
    }
}

/// What one pad does with one product on one paint: its friction and removal, and how far the removal is known.
///
/// # Assumptions and valid range
/// k_p is log-normal about its value as median; relative standard deviation 0 (exactly known) to 3.
///
/// # Example
/// ```
/// use trochoid::Product;
/// use trochoid::equipment::Pairing;
/// // Half of itself either way: √ln(1 + 0.5²) = 0.472381 in the logarithm.
/// let pairing = Pairing::new(Product::new(0.35, 2.0e-11)?, 0.5)?;
/// assert!((pairing.preston_ln_sd() - 0.472381).abs() < 5e-7);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pairing {
    product: Product,
    preston_rel_sd: f64,
}

impl Pairing {
    /// A pairing with its own friction and removal; `preston_rel_sd` is the relative standard
    /// deviation of k_p \[1\].
    ///
    /// # Errors
    /// Relative standard deviation outside 0 to 3.
    pub fn new(product: Product, preston_rel_sd: f64) -> Result<Self, RangeError> {
        Ok(Self { product, preston_rel_sd: within("preston_rel_sd", preston_rel_sd, 0.0, 3.0, "")? })
    }

    /// A pairing that is nothing but its product, with the default spread of a k_p that was not calibrated
    /// ([`defaults::PRESTON_REL_SD`], assumed).
    #[must_use]
    pub const fn of(product: Product) -> Self {
        Self { product, preston_rel_sd: defaults::PRESTON_REL_SD }
    }

    /// The effective product numbers.
    #[must_use]
    pub const fn product(&self) -> Product {
        self.product
    }

    /// Relative standard deviation of k_p \[1\].
    #[must_use]
    pub const fn preston_rel_sd(&self) -> f64 {
        self.preston_rel_sd
    }

    /// Standard deviation of the logarithm of k_p, which is taken as log-normal, √ln(1+v²) \[1\].
    #[must_use]
    pub fn preston_ln_sd(&self) -> f64 {
        ln_sd_of_relative(self.preston_rel_sd)
    }
}
