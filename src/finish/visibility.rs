//! What the eye and the finger notice: scratches by their depth, haze by its contrast.
//!
//! Thresholds for planning, not for acceptance: lamp, distance and the person change them by more than
//! the ranges given.
//!
//! Fingertip: R. S. Johansson and R. H. LaMotte, Somatosens. Res. 1 (1983) 21-31. Dark surfaces show
//! more of a scratch: SAE paper 2017-01-9451 (order only). Lightness: CIE 15, CIE 1976 L*.

use super::gloss::{GlossAngle, reflectance};
use super::scatter::WAVELENGTH_M;
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::distribution::{LogNormal, normal_cdf};
use crate::units::Length;
use core::f64::consts::PI;

/// Depth of a scratch that is just seen on black and on white paint, µm. Assumed; between them on an
/// even ratio scale.
pub const VISIBLE_DEPTH_UM: [f64; 2] = [0.10, 0.40];
/// Standard deviation of the logarithm of that depth: within a factor of two at 95 %. Assumed.
pub const VISIBLE_DEPTH_SPREAD: f64 = 0.35;
/// Contrast against the colour below at which haze is just seen. Assumed, the order of Weber's fraction.
pub const VISIBLE_CONTRAST: f64 = 0.02;
/// Stray light that even black paint returns, as a luminance factor. Assumed.
pub const STRAY_LUMINANCE: f64 = 0.01;
/// Mean height of an edge that a fingertip detects, µm (Johansson and LaMotte 1983).
pub const FINGERTIP_UM: f64 = 0.85;
/// Standard deviation of that height between people, µm (same source).
pub const FINGERTIP_SD_UM: f64 = 0.22;
/// Depth at which a fingernail catches, µm: common practice, no source; anything from 2 to 15 is heard.
pub const NAIL_UM: f64 = 5.0;

/// Depth of a scratch that is just seen on paint of lightness L*, m.
///
/// ```text
/// 0.10 (0.40/0.10)^(L*/100) µm, its logarithm spread by 0.35      L* lightness, 0 to 100 [1]
/// ```
///
/// # Assumptions and valid range
/// Darker paint shows shallower scratches; the numbers are assumed. Lamp, distance and the person change
/// them by more than the spread.
///
/// # Errors
/// A lightness outside 0 to 100.
///
/// # Example
/// ```
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // Halfway between black and white the geometric mean of 0.10 and 0.40 µm.
/// assert!((trochoid::finish::visible_depth(50.0)?.median() - 0.2e-6).abs() < 1e-15);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// The order from SAE paper 2017-01-9451; the numbers have no source.
pub fn visible_depth(lightness: f64) -> Result<LogNormal, RangeError> {
    within("lightness", lightness, 0.0, 100.0, "")?;
    let [dark, light] = VISIBLE_DEPTH_UM;
    let um = dark * (light / dark).powf(lightness / 100.0);
    LogNormal::new(Length::from_um(um).m(), VISIBLE_DEPTH_SPREAD)
}

/// Luminance factor Y \[1\] of lightness L*, 0 to 1 (CIE 1976).
///
/// ```text
/// Y = ((L* + 16)/116)³ above L* = 8,   L*·27/24389 below
/// ```
///
/// # Errors
/// A lightness outside 0 to 100.
///
/// # Example
/// ```
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // White 1; L* = 50: (66/116)³ = 0.18419.
/// assert!((trochoid::finish::luminance_factor(100.0)? - 1.0).abs() < 1e-15);
/// assert!((trochoid::finish::luminance_factor(50.0)? - 0.18419).abs() < 1e-5);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// CIE 15, CIE 1976 L*.
pub fn luminance_factor(lightness: f64) -> Result<f64, RangeError> {
    within("lightness", lightness, 0.0, 100.0, "")?;
    let f = (lightness + 16.0) / 116.0;
    // Below (6/29)³ the scale is a straight line of slope 24389/27.
    Ok(if lightness > 8.0 { f.powi(3) } else { lightness * 27.0 / 24389.0 })
}

/// Share of the reflected light that may be scattered before it shows as haze over a colour \[1\].
///
/// ```text
/// S = contrast · (Y + Y0) / R20     Y luminance factor of the paint, R20 reflectance of the clear coat
/// ```
///
/// The veil has to stand out from the light that the colour below sends back: white paint hides what
/// black paint shows. Above 1 no haze shows at all.
///
/// # Errors
/// A lightness outside 0 to 100, an index outside 1.2 to 4.
///
/// # Example
/// ```
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // White over black: (1 + 0.01)/(0 + 0.01) = 101 times as much may be scattered.
/// let [black, white] = [0.0, 100.0].map(|l| trochoid::finish::visible_scatter(l, 1.5));
/// assert!((white? / black? - 101.0).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own form; contrast and stray light are assumed ([`VISIBLE_CONTRAST`], [`STRAY_LUMINANCE`]).
pub fn visible_scatter(lightness: f64, index: f64) -> Result<f64, RangeError> {
    within("refractive index", index, 1.2, 4.0, "")?;
    let veil = reflectance(index, GlossAngle::Twenty.angle())?;
    Ok(VISIBLE_CONTRAST * (luminance_factor(lightness)? + STRAY_LUMINANCE) / veil)
}

/// RMS roughness at which haze is just seen at 20°; `None` where none shows.
///
/// ```text
/// σ = √(−ln(1 − S)) λ/(4π cos 20°)      S visible scatter [1], λ = 550 nm
/// ```
///
/// # Errors
/// As [`visible_scatter`].
///
/// # Example
/// ```
/// use trochoid::finish::{GlossAngle, WAVELENGTH_M, scatter, visible_roughness, visible_scatter};
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// // Index 1.2 mirrors less than 1 %, below the 0.02 × 1.01 that would show on white: no haze shows at all.
/// assert!(visible_roughness(100.0, 1.2)?.is_none());
/// // On black under a clear coat of 1.5 the roughness scatters just the share that shows.
/// let Some(black) = visible_roughness(0.0, 1.5)? else { panic!("haze shows on black") };
/// let s = scatter(black, GlossAngle::Twenty.angle(), trochoid::Length::from_m(WAVELENGTH_M))?;
/// assert!((s.share - visible_scatter(0.0, 1.5)?).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
pub fn visible_roughness(lightness: f64, index: f64) -> Result<Option<Length>, RangeError> {
    let share = visible_scatter(lightness, index)?;
    let per_metre = 4.0 * PI * GlossAngle::Twenty.angle().rad().cos() / WAVELENGTH_M;
    Ok((share < 1.0).then(|| Length::from_m((-(-share).ln_1p()).sqrt() / per_metre)))
}

/// Probability that a fingertip detects an edge of this height \[1\].
///
/// ```text
/// Φ((h − 0.85 µm)/0.22 µm)      h height, Φ the normal distribution
/// ```
///
/// # Assumptions and valid range
/// Thresholds spread normally between people. The study's edges stood on smooth silicon; a groove in
/// paint with a soft lip is felt no better.
///
/// # Errors
/// A height that is negative or above 1 mm.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::finish::felt_by_fingertip;
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // At the mean threshold even odds, one standard deviation above 84.13 %.
/// assert!((felt_by_fingertip(Length::from_um(0.85))? - 0.5).abs() < 1e-12);
/// assert!((felt_by_fingertip(Length::from_um(1.07))? - 0.8413).abs() < 1e-4);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// R. S. Johansson and R. H. LaMotte, Somatosens. Res. 1 (1983) 21-31.
pub fn felt_by_fingertip(height: Length) -> Result<f64, RangeError> {
    within("height_um", height.um(), 0.0, 1000.0, "µm")?;
    Ok(normal_cdf((height.um() - FINGERTIP_UM) / FINGERTIP_SD_UM))
}

/// The fingernail test: a rule of the trade, with its caution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NailTest {
    /// Depth at which the nail catches \[m\].
    pub threshold_m: f64,
    /// Probability that a scratch of the depth given catches it \[1\].
    pub catches: f64,
    /// What to do about a scratch that catches.
    pub caution: &'static str,
}

/// Caution beside every nail test.
pub const NAIL_CAUTION: &str = "a scratch that catches a nail may be deeper than the clear coat can give: measure the film before \
                                cutting after it (common practice, no source)";

/// Whether a scratch of depth `depth` \[m\] would catch a fingernail, with `threshold` (by default
/// [`NAIL_UM`]) a rule of the trade.
///
/// # Errors
/// A threshold outside 0.5 to 100 µm.
///
/// # Example
/// ```
/// # fn main() -> Result<(), trochoid::RangeError> {
/// use trochoid::finish::{LogNormal, nail_test};
/// // As deep as the 5 µm of the rule: even odds.
/// let test = nail_test(&LogNormal::new(5e-6, 0.3)?, None)?;
/// assert!((test.catches - 0.5).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Common practice, no source.
pub fn nail_test(depth: &LogNormal, threshold: Option<Length>) -> Result<NailTest, RangeError> {
    let threshold = threshold.unwrap_or(Length::from_um(NAIL_UM));
    within("nail_um", threshold.um(), 0.5, 100.0, "µm")?;
    Ok(NailTest { threshold_m: threshold.m(), catches: depth.exceedance(threshold.m()), caution: NAIL_CAUTION })
}
