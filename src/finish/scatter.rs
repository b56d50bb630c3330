//! How much of the mirror reflection a rough surface throws aside.
//!
//! Davies' law for a Gaussian roughness far finer than the wavelength. It says how much leaves the
//! mirror direction, not where it goes: a gloss meter with an open aperture still catches some of it.
//!
//! H. Davies, Proc. IEE 101 (1954) 209-214; H. E. Bennett and J. O. Porteus, J. Opt. Soc. Am. 51 (1961)
//! 123-129.

use super::error::FinishError;
use crate::equipment::within;
use crate::units::{Angle, Length};
use core::f64::consts::PI;

/// Wavelength at which the eye sees best, near enough, m.
pub const WAVELENGTH_M: f64 = 550e-9;
/// Phase roughness up to which the first term alone, g², is within 5 % of the law: an optically smooth
/// surface. 1 − exp(−g²) against g² differs by g²/2.
pub const SMOOTH_PHASE: f64 = 0.316;
/// Phase roughness at Rayleigh's limit of a smooth surface, σ = λ/(8 cos θ): 4πσcosθ/λ = π/2.
pub const RAYLEIGH_PHASE: f64 = 0.5 * PI;

/// How far the scatter law may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Validity {
    /// Phase roughness up to [`SMOOTH_PHASE`]: the law's own ground.
    Smooth,
    /// Up to [`RAYLEIGH_PHASE`]: the exponential form extends the law here; read it as an order of
    /// magnitude.
    Stretched,
}

/// Light thrown out of the mirror direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Share of the reflected light that is scattered \[1\], 0 to 1.
    pub share: f64,
    /// Phase roughness g = 4πσcosθ/λ \[1\].
    pub phase_roughness: f64,
    /// How far to trust it.
    pub validity: Validity,
}

impl Scatter {
    /// Share that stays in the mirror direction \[1\].
    #[must_use]
    pub fn specular_share(&self) -> f64 {
        1.0 - self.share
    }
}

/// Share of the reflected light that a surface of RMS roughness `roughness` scatters at the angle of
/// incidence `angle`.
///
/// ```text
/// S = 1 − exp(−g²),   g = 4πσ cosθ / λ     σ RMS roughness [m], λ wavelength [m], θ from the normal
/// ```
///
/// # Assumptions and valid range
/// Gaussian heights, slopes small, σ ≪ λ: flagged above g = 0.316, refused above π/2 (Rayleigh's limit).
///
/// # Errors
/// A roughness that is negative or above 1 mm, an angle outside 0 to 89.9°, a wavelength outside 0.2 to
/// 20 µm; [`FinishError::TooRough`] beyond Rayleigh's limit.
///
/// # Example
/// ```
/// use trochoid::finish::{WAVELENGTH_M, scatter};
/// use trochoid::{Angle, Length};
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// let s = scatter(Length::from_m(10e-9), Angle::from_deg(0.0), Length::from_m(WAVELENGTH_M))?;
/// // g = 4π × 10/550 = 0.228479, 1 − exp(−g²) = 0.050864.
/// assert!((s.share - 0.050864).abs() < 5e-7);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// H. Davies, Proc. IEE 101 (1954) 209-214; H. E. Bennett and J. O. Porteus, J. Opt. Soc. Am. 51 (1961) 123-129.
pub fn scatter(roughness: Length, angle: Angle, wavelength: Length) -> Result<Scatter, FinishError> {
    within("roughness_nm", roughness.m() * 1e9, 0.0, 1e6, "nm")?;
    within("angle_deg", angle.deg(), 0.0, 89.9, "degrees")?;
    within("wavelength_um", wavelength.um(), 0.2, 20.0, "µm")?;
    let per_metre = 4.0 * PI * angle.rad().cos() / wavelength.m();
    let phase = per_metre * roughness.m();
    if phase > RAYLEIGH_PHASE {
        return Err(FinishError::TooRough {
            roughness_m: roughness.m(),
            limit_m: RAYLEIGH_PHASE / per_metre,
            angle_rad: angle.rad(),
        });
    }
    let validity = if phase <= SMOOTH_PHASE { Validity::Smooth } else { Validity::Stretched };
    Ok(Scatter { share: -(-phase * phase).exp_m1(), phase_roughness: phase, validity })
}
