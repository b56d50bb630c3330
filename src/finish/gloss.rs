//! Gloss on the scale of ISO 2813 and the haze of ASTM D4039, from index and roughness.
//!
//! Fresnel reflectance of a clear, non-absorbing film in air times what the roughness leaves in the
//! mirror direction. Not a model of a particular gloss meter: light scattered within its aperture is
//! counted as lost, so the gloss of a rough surface comes out low rather than high. Orange peel and
//! other waviness longer than about a tenth of a millimetre is no roughness here.
//!
//! ISO 2813:2014 (black glass of index 1.567 reads 100 at 20, 60 and 85 degrees); ASTM D4039; Fresnel's
//! equations as in any textbook of optics.

use super::error::FinishError;
use super::scatter::{Validity, WAVELENGTH_M, scatter};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::interval::Interval;
use crate::units::{Angle, Length};

/// Index of the black glass that reads 100 (ISO 2813).
pub const STANDARD_INDEX: f64 = 1.567;
/// Index of a cured clear coat: acrylic and urethane resins lie between 1.48 and 1.53 (assumed).
pub const CLEAR_COAT_INDEX: f64 = 1.50;
/// Gloss at 60° \[GU\] above which the haze of ASTM D4039 is defined.
pub const HAZE_FROM_GLOSS_60: f64 = 70.0;

/// Angle of a gloss reading, from the normal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GlossAngle {
    /// 20°, for high gloss.
    Twenty,
    /// 60°, for any gloss.
    Sixty,
    /// 85°, for low gloss.
    EightyFive,
}

impl GlossAngle {
    /// The angle from the normal.
    #[must_use]
    pub const fn angle(self) -> Angle {
        Angle::from_deg(match self {
            Self::Twenty => 20.0,
            Self::Sixty => 60.0,
            Self::EightyFive => 85.0,
        })
    }
}

/// Share of unpolarised light that a smooth, clear surface reflects.
///
/// ```text
/// R = ½[((cosθ − n cosτ)/(cosθ + n cosτ))² + ((n cosθ − cosτ)/(n cosθ + cosτ))²],   sinθ = n sinτ
///
/// R reflectance [1], n refractive index [1], θ angle of incidence, τ angle inside [rad]
/// ```
///
/// # Assumptions and valid range
/// One smooth face of a clear, non-absorbing film in air; nothing from the layers below.
///
/// # Errors
/// An index outside 1 to 4, an angle outside 0 to 89.9°.
///
/// # Example
/// ```
/// use trochoid::Angle;
/// // Glass of index 1.5 at normal incidence: (0.5/2.5)² = 4 %.
/// let r = trochoid::finish::reflectance(1.5, Angle::from_deg(0.0));
/// assert!(r.is_ok_and(|r| (r - 0.04).abs() < 1e-15));
/// ```
pub fn reflectance(index: f64, angle: Angle) -> Result<f64, RangeError> {
    within("refractive index", index, 1.0, 4.0, "")?;
    within("angle_deg", angle.deg(), 0.0, 89.9, "degrees")?;
    let (sin, cos) = angle.rad().sin_cos();
    let inside = (1.0 - (sin / index).powi(2)).sqrt();
    let across = (cos - index * inside) / (cos + index * inside);
    let along = (index * cos - inside) / (index * cos + inside);
    Ok(0.5 * (across * across + along * along))
}

/// Gloss of a perfectly smooth surface \[GU\].
///
/// ```text
/// G = 100 R(n, θ)/R(1.567, θ)      G gloss [GU], R reflectance [1], n refractive index [1]
/// ```
///
/// # Errors
/// An index outside 1 to 4.
///
/// # Example
/// ```
/// use trochoid::finish::{GlossAngle, STANDARD_INDEX, smooth_gloss};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // The black glass of the standard reads 100; index 1 is no surface at all.
/// assert!((smooth_gloss(STANDARD_INDEX, GlossAngle::Sixty)? - 100.0).abs() < 1e-12);
/// assert!(smooth_gloss(1.0, GlossAngle::Sixty)?.abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// ISO 2813:2014, the scale; Fresnel's equations.
pub fn smooth_gloss(index: f64, at: GlossAngle) -> Result<f64, RangeError> {
    Ok(100.0 * reflectance(index, at.angle())? / reflectance(STANDARD_INDEX, at.angle())?)
}

/// Gloss of a surface of known RMS roughness \[GU\], and how far to trust it.
///
/// ```text
/// G = G_smooth (1 − S)      S share scattered at 550 nm [1]
/// ```
///
/// # Assumptions and valid range
/// All scattered light is lost to the meter, so that a rough surface comes out low rather than high; as
/// [`scatter`].
///
/// # Errors
/// An index outside 1 to 4; as [`scatter`].
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::finish::{GlossAngle, STANDARD_INDEX, gloss_at};
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// // 10 nm at 20°: g = 4π × 10 × cos 20°/550 = 0.21470, and 100 exp(−g²) = 95.495 is left.
/// let (units, _) = gloss_at(STANDARD_INDEX, Length::from_m(10e-9), GlossAngle::Twenty)?;
/// assert!((units - 95.495).abs() < 1e-3);
/// # Ok(())
/// # }
/// ```
pub fn gloss_at(index: f64, roughness: Length, at: GlossAngle) -> Result<(f64, Validity), FinishError> {
    let s = scatter(roughness, at.angle(), Length::from_m(WAVELENGTH_M))?;
    Ok((smooth_gloss(index, at)? * s.specular_share(), s.validity))
}

/// Gloss with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gloss {
    /// Gloss \[GU\]: at the rough end, the middle and the smooth end of the roughness.
    pub units: Interval,
    /// How far to trust the middle.
    pub validity: Validity,
    /// The rough end lies beyond the scatter law; the lower end is then 0, the bound that always holds.
    pub low_is_bound: bool,
}

/// Gloss of a surface whose RMS roughness \[m\] is known within an interval, such as that of
/// [`super::Surface::rms`].
///
/// # Errors
/// As [`gloss_at`] for the middle and the smooth end.
///
/// # Example
/// ```
/// use trochoid::finish::{GlossAngle, Interval, STANDARD_INDEX, gloss};
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// // From mirror smooth to 10 nm: 100 down to 95.495 GU, as worked out at `gloss_at`.
/// let roughness = Interval { low: 0.0, best: 5e-9, high: 10e-9, level: 0.9 };
/// let g = gloss(STANDARD_INDEX, roughness, GlossAngle::Twenty)?;
/// assert!((g.units.high - 100.0).abs() < 1e-12 && (g.units.low - 95.495).abs() < 1e-3 && !g.low_is_bound);
/// # Ok(())
/// # }
/// ```
pub fn gloss(index: f64, roughness: Interval, at: GlossAngle) -> Result<Gloss, FinishError> {
    let (best, validity) = gloss_at(index, Length::from_m(roughness.best), at)?;
    let (high, _) = gloss_at(index, Length::from_m(roughness.low), at)?;
    let low = at_rough_end(gloss_at(index, Length::from_m(roughness.high), at).map(|g| g.0))?;
    Ok(Gloss {
        units: Interval { low: low.unwrap_or(0.0), best, high, level: roughness.level },
        validity,
        low_is_bound: low.is_none(),
    })
}

/// `None` where the surface is beyond the scatter law.
fn at_rough_end<T>(value: Result<T, FinishError>) -> Result<Option<T>, FinishError> {
    match value {
        Ok(v) => Ok(Some(v)),
        Err(FinishError::TooRough { .. }) => Ok(None),
        Err(e) => Err(e),
    }
}

/// Haze of ASTM D4039, G60 − G20, with what the index alone puts into it told apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Haze {
    /// G60 − G20 \[GU\], as a meter would show it.
    pub reading: f64,
    /// What a perfectly smooth surface of the same index would show \[GU\]: no haze at all.
    pub index_bias: f64,
}

impl Haze {
    /// What the roughness adds \[GU\]: the haze one sees.
    #[must_use]
    pub fn from_scatter(&self) -> f64 {
        self.reading - self.index_bias
    }
}

/// Haze of a surface; `None` where G60 is not above 70, for which ASTM D4039 defines none.
///
/// ```text
/// haze = G60 − G20      [GU]
/// ```
///
/// # Errors
/// As [`gloss_at`].
///
/// # Example
/// ```
/// use trochoid::Length;
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// // Perfectly smooth, index 1.50: the reading is 7.09 and all of it is the index.
/// let h = trochoid::finish::haze(1.50, Length::from_m(0.0))?;
/// assert!(h.is_some_and(|h| (h.reading - 7.09).abs() < 5e-3 && h.from_scatter().abs() < 1e-12));
/// # Ok(())
/// # }
/// ```
pub fn haze(index: f64, roughness: Length) -> Result<Option<Haze>, FinishError> {
    let (g60, _) = gloss_at(index, roughness, GlossAngle::Sixty)?;
    let (g20, _) = gloss_at(index, roughness, GlossAngle::Twenty)?;
    let bias = smooth_gloss(index, GlossAngle::Sixty)? - smooth_gloss(index, GlossAngle::Twenty)?;
    Ok((g60 > HAZE_FROM_GLOSS_60).then_some(Haze { reading: g60 - g20, index_bias: bias }))
}

/// Haze from scatter, gloss units, with its interval over a roughness known within one; an end that
/// ASTM D4039 or the scatter law leaves undefined is `None`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HazeRange {
    /// At the smooth end of the roughness.
    pub low: Option<Haze>,
    /// At the middle.
    pub middle: Option<Haze>,
    /// At the rough end.
    pub high: Option<Haze>,
}

/// Haze over an interval of the roughness \[m\].
///
/// # Errors
/// An index outside 1 to 4; a roughness that is negative or above 1 mm.
///
/// # Example
/// ```
/// use trochoid::finish::{Interval, haze_range};
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// // The smooth end has no haze but the index's; the rough end is beyond the scatter law.
/// let found = haze_range(1.50, Interval { low: 0.0, best: 10e-9, high: 300e-9, level: 0.9 })?;
/// assert!(found.low.is_some_and(|h| h.from_scatter().abs() < 1e-12));
/// assert!(found.middle.is_some_and(|h| h.from_scatter() > 0.0) && found.high.is_none());
/// # Ok(())
/// # }
/// ```
pub fn haze_range(index: f64, roughness: Interval) -> Result<HazeRange, FinishError> {
    let at = |m: f64| Ok::<_, FinishError>(at_rough_end(haze(index, Length::from_m(m)))?.flatten());
    Ok(HazeRange { low: at(roughness.low)?, middle: at(roughness.best)?, high: at(roughness.high)? })
}
