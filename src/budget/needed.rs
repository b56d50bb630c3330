//! How much more must be read before an interval is as narrow as wanted.

use super::calibrate::Calibration;
use super::interval::checked_level;
use super::likelihood::pair_information;
use super::spot::PairedReading;
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::distribution::normal_half_width;
use crate::units::Length;

/// Most readings, spots or passes that are proposed.
pub const MOST_PROPOSED: u32 = 200;

/// The spot that would be worked next, and the gauge that would read it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextSpot {
    /// Exposure of one pass \[Pa·m\].
    pub exposure_per_pass_pa_m: f64,
    /// Passes that would be done, 1 to 200.
    pub passes: u32,
    /// Places read before and after, 1 to 200.
    pub pairs: u32,
    /// Scatter of one reading, one standard deviation, 0.01 to 500 µm.
    pub uncertainty: Length,
    /// Step of the display, 0.01 to 50 µm.
    pub resolution: Length,
}

/// What it takes; `None` where nothing up to [`MOST_PROPOSED`] does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Needed {
    /// Whether the interval is narrow enough already.
    pub reached: bool,
    /// Upper over lower end now \[1\].
    pub ratio_now: f64,
    /// Upper over lower end expected after the next spot as described \[1\].
    pub ratio_next: f64,
    /// Places to read at one more spot of the passes given.
    pub pairs: Option<u32>,
    /// Passes at one more spot with the places given.
    pub passes: Option<u32>,
    /// More spots of the passes and places given.
    pub spots: Option<u32>,
}

impl Needed {
    /// The ways as a sentence; see the example of [`readings_needed`].
    #[must_use]
    pub fn words(&self) -> String {
        if self.reached {
            return "the interval is as narrow as wanted".to_owned();
        }
        let mut ways = Vec::new();
        if let Some(n) = self.pairs {
            ways.push(format!("{n} places read before and after at one more spot"));
        }
        if let Some(n) = self.passes {
            ways.push(format!("{n} passes at one more spot"));
        }
        if let Some(n) = self.spots {
            ways.push(format!("{n} more spots"));
        }
        if ways.is_empty() {
            "no number of readings, passes or spots up to 200 makes the interval as narrow as wanted with this gauge"
                .to_owned()
        } else {
            format!("the interval is as narrow as wanted after {}", ways.join(", or "))
        }
    }
}

/// What it takes to bring the upper end of the interval of k_p to `ratio` times its lower end.
///
/// ```text
/// 1/σ'² = 1/σ² + m/(τ² + 1/(n I(h)))     m spots of n places, I information of a pair at the cut h
/// ```
///
/// σ is the standard deviation of ln k_p now, τ that of a spot's exposure; the interval wanted has
/// σ' = ln(ratio)/2z.
///
/// # Assumptions and valid range
/// The expected information of a rounded pair at the median cut: an average over what the gauge may
/// show, near where the posterior is close to log-normal. One spot never beats its own τ, however many
/// readings it gets.
///
/// # Errors
/// A ratio outside 1.01 to 100, a level outside 0.5 to 0.999, a next spot out of range.
///
/// # Example
/// ```
/// use trochoid::budget::{CalibrationSettings, NextSpot, PairedReading, TestSpot, calibrate, readings_needed};
/// use trochoid::equipment::{Pairing, Product};
/// use trochoid::Length;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let pairing = Pairing::new(Product::new(0.35, 2e-11)?, 0.5)?;
/// let um = Length::from_um;
/// let pair = PairedReading::new(um(120.0), um(118.0), um(1.0), um(0.1), 1)?;
/// let spot = TestSpot::new("bonnet", 1e5, 4)?.with_pair(pair)?;
/// let found = calibrate(&pairing, &[spot], &CalibrationSettings::default())?;
/// let next = NextSpot { exposure_per_pass_pa_m: 2.5e4, passes: 4, pairs: 3, uncertainty: um(1.0), resolution: um(0.1) };
/// let needed = readings_needed(&found, &next, 1.8, 0.9)?;
/// // The interval now runs over exp(2 × 1.6449 σ), σ that of ln k_p; another spot narrows it, more of them more.
/// assert!((needed.ratio_now - (2.0 * 1.6449 * found.ln_sd).exp()).abs() < 1e-3);
/// assert!(needed.ratio_next < needed.ratio_now && needed.spots.is_some_and(|n| n > 1));
/// // An interval that is narrow enough already needs nothing.
/// let enough = readings_needed(&found, &next, 100.0, 0.9)?;
/// assert!(enough.reached && enough.words() == "the interval is as narrow as wanted");
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own derivation; Fisher's information for the gain of a reading.
pub fn readings_needed(
    calibration: &Calibration,
    next: &NextSpot,
    ratio: f64,
    level: f64,
) -> Result<Needed, RangeError> {
    within("wanted_ratio", ratio, 1.01, 100.0, "")?;
    within("exposure_per_pass_pa_m", next.exposure_per_pass_pa_m, 1e-3, 1e9, "Pa·m")?;
    within("passes", f64::from(next.passes), 1.0, f64::from(MOST_PROPOSED), "passes")?;
    within("pairs", f64::from(next.pairs), 1.0, f64::from(MOST_PROPOSED), "places")?;
    let z = normal_half_width(checked_level(level)?);
    // Only scatter and step of the pair count here; its film does not.
    let pair =
        PairedReading::new(Length::from_um(100.0), Length::from_um(100.0), next.uncertainty, next.resolution, 1)?;
    let per_pass = calibration.ln_mean.exp() * next.exposure_per_pass_pa_m;
    let scatter = calibration.exposure_ln_sd * calibration.exposure_ln_sd;
    let now = 1.0 / (calibration.ln_sd * calibration.ln_sd);
    let gain = |passes: u32, pairs: u32, spots: u32| {
        let information = f64::from(pairs) * pair_information(per_pass * f64::from(passes), &pair);
        if information > 0.0 { f64::from(spots) / (scatter + 1.0 / information) } else { 0.0 }
    };
    let wanted = (2.0 * z / ratio.ln()).powi(2);
    let spread = |precision: f64| (2.0 * z / precision.sqrt()).exp();
    let first = |f: &dyn Fn(u32) -> f64| (1..=MOST_PROPOSED).find(|n| now + f(*n) >= wanted);
    let reached = now >= wanted;
    let search = |f: &dyn Fn(u32) -> f64| if reached { None } else { first(f) };
    Ok(Needed {
        reached,
        ratio_now: spread(now),
        ratio_next: spread(now + gain(next.passes, next.pairs, 1)),
        pairs: search(&|n| gain(next.passes, n, 1)),
        passes: search(&|n| gain(n, next.pairs, 1)),
        spots: search(&|n| gain(next.passes, next.pairs, n)),
    })
}
