//! Heat made inside the foam by the orbit: cyclic shear and cyclic compression times the loss factor.

use crate::equipment::within;
use crate::error::RangeError;
use crate::spin::Setup;

/// Heat made in the bulk of the pad while it works [W/m³]: the same everywhere for shear, growing with the
/// square of the distance from the axis for compression.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BulkHeat {
    shear: f64,
    compression_at_rim: f64,
}

impl BulkHeat {
    /// From the two densities of power [W/m³]: by shear, everywhere, and by compression, at the rim.
    ///
    /// # Errors
    /// Outside 0 to 1e8 W/m³.
    pub fn new(shear: f64, compression_at_rim: f64) -> Result<Self, RangeError> {
        Ok(Self {
            shear: within("heat made by shear", shear, 0.0, 1e8, "W/m³")?,
            compression_at_rim: within("heat made by compression", compression_at_rim, 0.0, 1e8, "W/m³")?,
        })
    }

    /// Heat of a running set-up at a spin [rad/s].
    ///
    /// ```text
    /// shear        η G γ² |Ω − ω|                γ = √(e² − e_f²)/h, the pad's own part of it
    /// compression  ½ η a² |Ω − ω| / (k_pad h)    a = k e_f r √((κ1² + κ2²)/2), pressure amplitude [Pa]
    /// ```
    ///
    /// A cycle of strain amplitude γ in one direction loses π η G γ² a volume, by the definition of the loss
    /// factor. In the frame of the pad the friction turns with the orbit: two such cycles at right angles, hence
    /// 2π a turn. The deflection is √(e² − e_f²) = μN/k_s, not e − e_f: friction leads the orbit by a right
    /// angle ([`crate::spin::face_orbit`]). The compression swings once a turn by e_f K ρ, its square averaged
    /// over the pad's turning.
    ///
    /// # Assumptions and valid range
    /// Full contact; stiffness at the mean pressure; strain small; interface layers give no heat; tilt
    /// neglected. Nothing for a pad that does not orbit. A pad rigid in shear has no shear heat.
    ///
    /// # Errors
    /// A spin outside ±2000 rad/s; densities out of range.
    ///
    /// # Example
    /// ```
    /// use trochoid::heat::BulkHeat;
    /// use trochoid::*;
    /// # fn main() -> Result<(), Error> {
    /// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    /// let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_rad_s(440.0), bearing)?;
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?
    ///     .with_shear_modulus(Pressure::from_kpa(15.0))?;
    /// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    /// // γ = μN/(GA) = 12.25/(15 000 × 0.013273) = 0.06153; 0.25 × 15 000 × γ² × 430 = 6105 W/m³.
    /// assert!((BulkHeat::of(&setup, 10.0)?.shear() - 6105.0).abs() < 5.0);
    /// # Ok(())
    /// # }
    /// ```
    ///
    /// # References
    /// J. D. Ferry, Viscoelastic Properties of Polymers, chapter 1, the loss of a cycle; the rest is own, see
    /// `notebooks-free-docs/theory-heat.md`.
    pub fn of(setup: &Setup, spin: f64) -> Result<Self, RangeError> {
        within("spin", spin, -2000.0, 2000.0, "rad/s")?;
        let (pad, eta) = (setup.pad(), setup.pad().loss_factor());
        let orbit = 0.5 * setup.tool().throw().m();
        if orbit <= 0.0 {
            return Self::new(0.0, 0.0);
        }
        let turning = (setup.tool().rate().rad_s() - spin).abs();
        let k_s = pad.shear_stiffness();
        let shear = pad.shear_modulus().map_or(0.0, |g| {
            // Force across the stack: friction, or what a full throw pulls where the face sticks.
            let pulled = setup.friction_n().min(k_s * orbit);
            let strain = pulled / (g.pa() * pad.face_area());
            eta * g.pa() * strain * strain * turning
        });
        let stack = pad.stack();
        let mean = (setup.force().n() / pad.face_area()).min(stack.limit_pressure());
        let k = stack.pressure(stack.compression_at(mean)).1;
        let softer = pad.interface().map_or(0.0, |i| 1.0 / i.stiffness().pa_per_m());
        let per_pressure = (1.0 / k - softer).max(0.0) / pad.thickness().m();
        let (k1, k2) = setup.patch().principal();
        let amplitude = k * setup.face_orbit().radius_m * pad.radius() * (0.5 * (k1 * k1 + k2 * k2)).sqrt();
        Self::new(shear, 0.5 * eta * amplitude * amplitude * turning * per_pressure)
    }

    /// Heat made by shear [W/m³].
    #[must_use]
    pub const fn shear(&self) -> f64 {
        self.shear
    }

    /// Heat made by compression at the rim [W/m³].
    #[must_use]
    pub const fn compression_at_rim(&self) -> f64 {
        self.compression_at_rim
    }

    /// Heat made at a share of the radius [W/m³].
    pub(super) const fn at(&self, share: f64) -> f64 {
        self.shear + self.compression_at_rim * share * share
    }
}
