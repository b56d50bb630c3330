//! The local shape under the pad: a paraboloid with two principal curvatures.
//!
//! The gap is g(x) = ½ xᵀK x, also for sphere and cylinder; there is no cosine projection. Good
//! while the pad is small against the radii of curvature.

use crate::error::RangeError;
use crate::units::{Angle, Curvature};
use nalgebra::Matrix2;

/// Name of the shape of a [`Patch`], kept for what is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Shape {
    /// Both principal curvatures zero.
    Flat,
    /// Both principal curvatures equal.
    Sphere,
    /// Second principal curvature zero.
    Cylinder,
    /// Any two principal curvatures.
    Quadric,
}

impl Shape {
    /// The word for it in a job file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::Sphere => "sphere",
            Self::Cylinder => "cylinder",
            Self::Quadric => "quadric",
        }
    }
}

/// The local shape under a pad: two principal curvatures and the direction of the first.
///
/// ```text
/// g(x) = ½ xᵀ K x [m]      K curvature tensor [1/m], positive where the panel is convex
/// ```
///
/// # Assumptions and valid range
/// A paraboloid, also for sphere and cylinder: the gap reads 1 % low at x = R/5, R the radius of
/// curvature. Curvatures within ±1000 per metre.
///
/// # Example
/// ```
/// use trochoid::{Angle, Curvature, Patch};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // Curved with a radius of 2 m along y, straight along x: 100 mm out along y it falls by 2.5 mm.
/// let door = Patch::cylinder(Curvature::from_per_m(0.5), Angle::from_deg(90.0))?;
/// assert!((door.gap(0.0, 0.1) - 2.5e-3).abs() < 1e-15 && door.gap(0.1, 0.0).abs() < 1e-15);
/// assert!((door.mean() - 0.25).abs() < 1e-15);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    shape: Shape,
    first: f64,
    second: f64,
    axis: f64,
}

fn curvature(k: Curvature) -> Result<f64, RangeError> {
    crate::equipment::within("curvature_per_m", k.per_m(), -1000.0, 1000.0, "1/m")
}

impl Patch {
    /// A flat patch: both curvatures zero.
    #[must_use]
    pub const fn flat() -> Self {
        Self { shape: Shape::Flat, first: 0.0, second: 0.0, axis: 0.0 }
    }

    /// A spherical patch.
    ///
    /// # Errors
    /// Curvature outside ±1000 per metre.
    pub fn sphere(k: Curvature) -> Result<Self, RangeError> {
        let k = curvature(k)?;
        Ok(Self { shape: Shape::Sphere, first: k, second: k, axis: 0.0 })
    }

    /// A cylindrical patch, curved along `axis` (from x) and straight at +90° to it.
    ///
    /// # Errors
    /// Curvature outside ±1000 per metre, axis not finite.
    pub fn cylinder(k: Curvature, axis: Angle) -> Result<Self, RangeError> {
        Ok(Self { shape: Shape::Cylinder, ..Self::quadric(k, Curvature::from_per_m(0.0), axis)? })
    }

    /// A patch with two principal curvatures, the first along `axis` (from x).
    ///
    /// # Errors
    /// Curvatures outside ±1000 per metre, axis not finite.
    pub fn quadric(first: Curvature, second: Curvature, axis: Angle) -> Result<Self, RangeError> {
        crate::equipment::within("axis_deg", axis.deg(), -360.0, 360.0, "°")?;
        Ok(Self { shape: Shape::Quadric, first: curvature(first)?, second: curvature(second)?, axis: axis.rad() })
    }

    /// The same shape with both curvatures multiplied by `t` \[1\].
    ///
    /// # Errors
    /// A curvature that leaves ±1000 per metre.
    pub fn scaled(&self, t: f64) -> Result<Self, RangeError> {
        Ok(Self {
            first: curvature(Curvature::from_per_m(self.first * t))?,
            second: curvature(Curvature::from_per_m(self.second * t))?,
            ..*self
        })
    }

    /// Name of the shape.
    #[must_use]
    pub const fn shape(&self) -> Shape {
        self.shape
    }

    /// Principal curvatures \[1/m\], the first along the axis.
    #[must_use]
    pub const fn principal(&self) -> (f64, f64) {
        (self.first, self.second)
    }

    /// Direction of the first principal curvature from x.
    #[must_use]
    pub const fn axis(&self) -> Angle {
        Angle::from_rad(self.axis)
    }

    /// Mean curvature H = (κ1+κ2)/2 \[1/m\].
    #[must_use]
    pub const fn mean(&self) -> f64 {
        0.5 * (self.first + self.second)
    }

    /// The principal curvature that is larger in size \[1/m\].
    #[must_use]
    pub fn dominant(&self) -> f64 {
        if self.second.abs() > self.first.abs() { self.second } else { self.first }
    }

    /// Whether both curvatures are zero.
    #[must_use]
    pub fn is_flat(&self) -> bool {
        self.first.abs().max(self.second.abs()) < f64::MIN_POSITIVE
    }

    /// Curvature tensor in panel axes \[1/m\].
    #[must_use]
    pub fn tensor(&self) -> Matrix2<f64> {
        let (s, c) = self.axis.sin_cos();
        let (a, b) = (self.first, self.second);
        Matrix2::new(a * c * c + b * s * s, (a - b) * c * s, (a - b) * c * s, a * s * s + b * c * c)
    }

    /// Gap to the tangent plane at (x, y) \[m\]; positive where the panel falls away from the pad.
    #[must_use]
    pub fn gap(&self, x: f64, y: f64) -> f64 {
        let k = self.tensor();
        0.5 * (k[(0, 0)] * x * x + 2.0 * k[(0, 1)] * x * y + k[(1, 1)] * y * y)
    }
}
