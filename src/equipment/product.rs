//! The product (the abrasive liquid or paste) and what a pad, a product and a paint do together.

use super::{defaults, within};
use crate::error::RangeError;
use crate::math::distribution::ln_sd_of_relative;

/// Friction and removal of a product, before a pairing overrides them.
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

    /// Friction coefficient μ.
    #[must_use]
    pub const fn friction(&self) -> f64 {
        self.friction
    }

    /// Preston coefficient k_p, 1/Pa.
    #[must_use]
    pub const fn preston_per_pa(&self) -> f64 {
        self.preston_per_pa
    }
}

/// What one pad does with one product on one paint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pairing {
    product: Product,
    preston_rel_sd: f64,
}

impl Pairing {
    /// A pairing with its own friction and removal; `preston_rel_sd` is the relative standard
    /// deviation of k_p.
    ///
    /// # Errors
    /// Relative standard deviation outside 0 to 3.
    pub fn new(product: Product, preston_rel_sd: f64) -> Result<Self, RangeError> {
        Ok(Self { product, preston_rel_sd: within("preston_rel_sd", preston_rel_sd, 0.0, 3.0, "")? })
    }

    /// A pairing that is nothing but its product, with the default spread.
    #[must_use]
    pub const fn of(product: Product) -> Self {
        Self { product, preston_rel_sd: defaults::PRESTON_REL_SD }
    }

    /// The effective product numbers.
    #[must_use]
    pub const fn product(&self) -> Product {
        self.product
    }

    /// Relative standard deviation of k_p.
    #[must_use]
    pub const fn preston_rel_sd(&self) -> f64 {
        self.preston_rel_sd
    }

    /// Standard deviation of the logarithm of k_p, which is taken as log-normal.
    #[must_use]
    pub fn preston_ln_sd(&self) -> f64 {
        ln_sd_of_relative(self.preston_rel_sd)
    }
}
