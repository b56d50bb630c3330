//! The panel as a thin plate of two layers, the film build over its substrate, lumped through the
//! thickness, with what is left of the temperature drop through it.
//!
//! Not a solver: these are the sums that the solver, its reference and the closed forms share.

use super::material::{Material, Thermal};
use crate::equipment::{Substrate, within};
use crate::error::RangeError;
use crate::units::Length;
use core::f64::consts::{FRAC_PI_2, PI};

/// Film build over a substrate.
///
/// # Example
/// ```
/// use trochoid::{Length, equipment::Substrate, heat::Plate};
/// // 0.7 mm of steel under 120 µm of film: 7832 × 434 × 0.0007 + 1300 × 1500 × 120e-6 = 2379.4 + 234 J/(m² K).
/// let steel = Plate::painted(Substrate::Steel);
/// assert!((steel.capacity() - 2613.4).abs() < 0.05);
/// // At 10 W/(m² K): 10 (120e-6/0.25 + 0.0007/63.9) = 0.00491, lumped without any harm.
/// assert!((steel.biot(10.0) - 4.91e-3).abs() < 1e-5);
/// // 3 mm of plastic alone, d/(3k) = 0.003/0.6 = 0.005 m² K/W: its first mode runs at π²α/d² = 0.1283 per second
/// // and holds 6/π² of the drop.
/// let wall = Plate::painted(Substrate::Plastic).with_film(Length::from_um(0.0))?;
/// let (rate, part) = wall.mode(1);
/// assert!((wall.base_drop() - 0.005).abs() < 1e-12);
/// assert!((rate - 0.1283).abs() < 1e-4 && (part - 0.005 * 0.60793).abs() < 1e-7);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
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

    /// A painted panel with the usual film build (120 µm) and thickness of the substrate
    /// ([`super::Material::usual_mm`]); see the example of [`Plate`].
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

    /// Heat capacity of an area, Σ ρcd [J/(m² K)].
    #[must_use]
    pub const fn capacity(&self) -> f64 {
        self.film.volumetric() * self.film_m + self.base.volumetric() * self.base_m
    }

    /// Lateral diffusivity of the mean temperature, Σ kd / Σ ρcd with the in-plane conductivities [m²/s].
    #[must_use]
    pub const fn lateral_diffusivity(&self) -> f64 {
        (self.film.in_plane() * self.film_m + self.base.in_plane() * self.base_m) / self.capacity()
    }

    /// Share of the film in the capacity.
    const fn film_share(&self) -> f64 {
        self.film.volumetric() * self.film_m / self.capacity()
    }

    /// Steady part of the surface's excess over the mean that comes from the film [m² K/W].
    ///
    /// Under a steady flux q the heat that passes depth z is q(1 − C(z)/C): the excess is
    /// q ∫ (1 − C(z)/C)²/k dz, here over the film.
    #[must_use]
    pub const fn film_drop(&self) -> f64 {
        let c = self.film_share();
        self.film_m / self.film.through() * (1.0 - c + c * c / 3.0)
    }

    /// The same over the substrate [m² K/W]; without a film the d/(3k) of a slab.
    #[must_use]
    pub const fn base_drop(&self) -> f64 {
        let left = 1.0 - self.film_share();
        self.base_m / (3.0 * self.base.through()) * left * left
    }

    /// The n-th mode through both layers, from 1: its relaxation rate [1/s] and its part of the surface's
    /// settled excess over the mean [m² K/W].
    ///
    /// ```text
    /// e_f tan(β a) + e_b tan(β b) = 0,   rate = β²     a, b = d/√α of film and substrate, e effusivities
    /// ```
    ///
    /// With P the phase of the substrate, tan P = (e_b/e_f) tan(β b) on its own branch, the condition is
    /// βa + P = nπ, whose left side only grows: one root each. The parts of all modes add up to
    /// [`Plate::film_drop`] + [`Plate::base_drop`]. See the example of [`Plate`].
    ///
    /// # Accuracy
    /// The root is bisected to rounding.
    ///
    /// # References
    /// Carslaw and Jaeger (1959), section 12.8, for plates of several layers.
    #[must_use]
    pub fn mode(&self, n: usize) -> (f64, f64) {
        let side = |m: &Thermal, d: f64| (d / m.diffusivity().sqrt(), m.effusivity());
        let ((a, ef), (b, eb)) = (side(&self.film, self.film_m), side(&self.base, self.base_m));
        let phase = |beta: f64| {
            let turns = (beta * b / PI).round();
            // Rounding must not carry the angle past the quarter turn, where the tangent changes sign.
            let angle = (beta * b - turns * PI).clamp(-FRAC_PI_2, FRAC_PI_2);
            beta * a + turns * PI + (eb / ef * angle.tan()).atan()
        };
        let wanted = n.max(1) as f64 * PI;
        // P differs from βb by less than a quarter turn.
        let (mut low, mut high) = (0.0, (wanted + PI) / (a + b));
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                break;
            }
            if phase(middle) < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        let beta = 0.5 * (low + high);
        // cos(βz/√α) in the film, B cos(β(L − z)/√α) behind it; B from the temperature at the seam, or from
        // the flow through it where that says more.
        let ((sa, ca), (sb, cb)) = ((beta * a).sin_cos(), (beta * b).sin_cos());
        let behind = if cb.abs() > sb.abs() { ca / cb } else { -ef * sa / (eb * sb) };
        let square = |x: f64| 0.5 * (x + x.sin() * x.cos()) / beta;
        let norm = ef * square(beta * a) + eb * behind * behind * square(beta * b);
        (beta * beta, 1.0 / (norm * beta * beta))
    }

    /// Biot number of a heat transfer coefficient [W/(m² K)] over the whole thickness, h Σ d/k \[1\]. The lumped
    /// plate's loss is too large by about a third of it on one side, a sixth on two.
    #[must_use]
    pub const fn biot(&self, coefficient: f64) -> f64 {
        coefficient * (self.film_m / self.film.through() + self.base_m / self.base.through())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_modes_add_up_to_the_settled_drop() {
        for substrate in [Substrate::Steel, Substrate::Aluminium, Substrate::Plastic, Substrate::Composite] {
            for film in [0.0, 120.0, 1500.0] {
                let plate = Plate::painted(substrate).with_film(Length::from_um(film)).unwrap();
                let sum: f64 = (1..=3000).map(|n| plate.mode(n).1).sum();
                let whole = plate.film_drop() + plate.base_drop();
                // The parts fall as 1/n²: the rest after 3000 is below 1/3000 of the first.
                assert!((sum / whole - 1.0).abs() < 5e-4, "{substrate:?} {film}: {sum} {whole}");
                let rates: Vec<f64> = (1..20).map(|n| plate.mode(n).0).collect();
                assert!(rates.windows(2).all(|w| w[1] > w[0]), "{rates:?}");
            }
        }
        // Without a film: n²π²α/d² and 6/(n²π²) of d/(3k).
        let plate = Plate::painted(Substrate::Plastic).with_film(Length::from_um(0.0)).unwrap();
        let (rate, part) = plate.mode(2);
        let exact = (2.0 * PI / 3e-3).powi(2) * plate.base().diffusivity();
        // Rounding of the root.
        assert!(
            (rate / exact - 1.0).abs() < 1e-12 && (part * PI * PI * 4.0 / 6.0 / plate.base_drop() - 1.0).abs() < 1e-11
        );
    }
}
