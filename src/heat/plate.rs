//! The panel as a thin plate of two layers, the film build over its substrate, lumped through the
//! thickness, with what is left of the temperature drop through it.
//!
//! Not a solver: these are the sums that the solver, its reference and the closed forms share.

use super::material::{Material, Thermal};
use crate::equipment::{Substrate, within};
use crate::error::RangeError;
use crate::units::Length;
use core::f64::consts::PI;

/// Film build over a substrate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plate {
    film: Thermal,
    film_m: f64,
    base: Thermal,
    base_m: f64,
}

/// Total film build of a painted panel that was not measured, µm (common practice, no source).
pub(crate) const FILM_BUILD_UM: f64 = 120.0;

impl Plate {
    /// A plate of any two materials. A film of zero thickness is none.
    ///
    /// # Errors
    /// Film outside 0 to 5000 µm, substrate outside 0.05 to 50 mm.
    pub fn new(film: Thermal, film_build: Length, base: Thermal, thickness: Length) -> Result<Self, RangeError> {
        within("film build", film_build.um(), 0.0, 5000.0, "µm")?;
        within("substrate thickness", thickness.mm(), 0.05, 50.0, "mm")?;
        Ok(Self { film, film_m: film_build.m(), base, base_m: thickness.m() })
    }

    /// A painted panel with the usual film build (120 µm) and thickness of the substrate.
    #[must_use]
    pub const fn painted(substrate: Substrate) -> Self {
        let m = Material::of(substrate);
        Self {
            film: Material::paint_film().thermal,
            film_m: Length::from_um(FILM_BUILD_UM).m(),
            base: m.thermal,
            base_m: Length::from_mm(m.usual_mm).m(),
        }
    }

    /// The same with another film build.
    ///
    /// # Errors
    /// As [`Plate::new`].
    pub fn with_film(self, film_build: Length) -> Result<Self, RangeError> {
        Self::new(self.film, film_build, self.base, Length::from_m(self.base_m))
    }

    /// The same with another thickness of the substrate.
    ///
    /// # Errors
    /// As [`Plate::new`].
    pub fn with_thickness(self, thickness: Length) -> Result<Self, RangeError> {
        Self::new(self.film, Length::from_m(self.film_m), self.base, thickness)
    }

    /// Film properties.
    #[must_use]
    pub const fn film(&self) -> &Thermal {
        &self.film
    }

    /// Film build.
    #[must_use]
    pub const fn film_build(&self) -> Length {
        Length::from_m(self.film_m)
    }

    /// Substrate properties.
    #[must_use]
    pub const fn base(&self) -> &Thermal {
        &self.base
    }

    /// Substrate thickness.
    #[must_use]
    pub const fn thickness(&self) -> Length {
        Length::from_m(self.base_m)
    }

    /// Heat capacity of an area, Σ ρcd, J/(m² K).
    #[must_use]
    pub const fn capacity(&self) -> f64 {
        self.film.volumetric() * self.film_m + self.base.volumetric() * self.base_m
    }

    /// Lateral diffusivity of the mean temperature, Σ kd / Σ ρcd with the in-plane conductivities, m²/s.
    #[must_use]
    pub const fn lateral_diffusivity(&self) -> f64 {
        (self.film.in_plane() * self.film_m + self.base.in_plane() * self.base_m) / self.capacity()
    }

    /// Share of the film in the capacity.
    const fn film_share(&self) -> f64 {
        self.film.volumetric() * self.film_m / self.capacity()
    }

    /// Steady part of the surface's excess over the mean that comes from the film, m² K/W.
    ///
    /// Under a steady flux q the heat that passes depth z is q(1 − C(z)/C): the excess is
    /// q ∫ (1 − C(z)/C)²/k dz, here over the film.
    #[must_use]
    pub const fn film_drop(&self) -> f64 {
        let c = self.film_share();
        self.film_m / self.film.through() * (1.0 - c + c * c / 3.0)
    }

    /// The same over the substrate, m² K/W; without a film the d/(3k) of a slab.
    #[must_use]
    pub const fn base_drop(&self) -> f64 {
        let left = 1.0 - self.film_share();
        self.base_m / (3.0 * self.base.through()) * left * left
    }

    /// Relaxation rate of the n-th mode through the substrate, n²π²k/(ρcd²), 1/s.
    #[must_use]
    pub fn mode_rate(&self, n: usize) -> f64 {
        (n as f64 * PI / self.base_m).powi(2) * self.base.diffusivity()
    }

    /// Biot number of a heat transfer coefficient [W/(m² K)] over the whole thickness, h Σ d/k. The lumped
    /// plate's loss is too large by about a third of it on one side, a sixth on two.
    #[must_use]
    pub const fn biot(&self, coefficient: f64) -> f64 {
        coefficient * (self.film_m / self.film.through() + self.base_m / self.base.through())
    }
}
