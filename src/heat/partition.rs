//! How friction heat is shared between paint and pad.

use super::material::Thermal;
use crate::equipment::within;
use crate::error::RangeError;

/// Share of the friction heat that goes into the panel where both bodies are thick for the time of
/// contact: e_panel/(e_panel + e_pad) with the effusivities √(kρc).
///
/// Two half-spaces heated at their common face have one temperature there (Carslaw and Jaeger, section
/// 2.15); it holds for the first moments of work. Later the pad, which stays in contact, warms through
/// and takes less: [`matched_share`]. For the peak of the paint the share is on the safe side when it is
/// large.
///
/// ```
/// use trochoid::heat::{Material, effusivity_share};
/// let share = effusivity_share(&Material::paint_film().thermal, &Material::foam().thermal);
/// assert!((share - 0.892).abs() < 1e-3); // 698.2/(698.2 + 84.9)
/// ```
#[must_use]
pub fn effusivity_share(panel: &Thermal, pad: &Thermal) -> f64 {
    let (a, b) = (panel.effusivity(), pad.effusivity());
    a / (a + b)
}

/// Share of the friction heat that goes into the panel such that paint and pad face have the same mean
/// temperature: both are linear in what they are given, T = base + rise × watts.
///
/// ```text
/// T_p + r_p s P = T_f + r_f (1 − s) P     r rise per watt [K/W], T temperature without friction [K]
/// ```
///
/// The rises come from one run of the panel and one of the pad. Clamped nowhere: above 1 the pad is so
/// hot that it heats the panel, below 0 the other way round.
///
/// # Errors
/// Rises not above zero up to 1e6 K/W, watts outside 1e-6 to 1e5, temperatures outside 0 to 1000 K.
pub fn matched_share(panel: (f64, f64), pad: (f64, f64), watts: f64) -> Result<f64, RangeError> {
    for (base, rise) in [panel, pad] {
        within("temperature without friction", base, 0.0, 1000.0, "K")?;
        within("rise per watt", rise, 1e-9, 1e6, "K/W")?;
    }
    within("friction power", watts, 1e-6, 1e5, "W")?;
    Ok((pad.0 - panel.0 + pad.1 * watts) / ((panel.1 + pad.1) * watts))
}
