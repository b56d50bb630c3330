//! How friction heat is shared between paint and pad.

use super::material::Thermal;
use crate::equipment::within;
use crate::error::RangeError;

/// Share of the friction heat that goes into the panel where both bodies are thick for the time of
/// contact \[1\].
///
/// ```text
/// s = e_panel/(e_panel + e_pad)      e = √(kρc) effusivity [W √s/(m² K)]
/// ```
///
/// # Assumptions and valid range
/// Two half-spaces heated at their common face have one temperature there; it holds for the first moments of
/// work. Later the pad, which stays in contact, warms through and takes less: [`matched_share`]. For the peak of
/// the paint the share is on the safe side when it is large.
///
/// # Example
/// ```
/// use trochoid::heat::{Material, effusivity_share};
/// let share = effusivity_share(&Material::paint_film().thermal, &Material::foam().thermal);
/// assert!((share - 0.892).abs() < 1e-3); // 698.2/(698.2 + 84.9)
/// ```
///
/// # References
/// Carslaw and Jaeger (1959), section 2.15.
#[must_use]
pub fn effusivity_share(panel: &Thermal, pad: &Thermal) -> f64 {
    let (a, b) = (panel.effusivity(), pad.effusivity());
    a / (a + b)
}

/// Share of the friction heat that goes into the panel such that paint and pad face have the same mean
/// temperature \[1\]: both are linear in what they are given, T = base + rise × watts.
///
/// ```text
/// T_p + r_p s P = T_f + r_f (1 − s) P     r rise per watt [K/W], T temperature without friction [K]
/// ```
///
/// `panel` and `pad` are T \[K\] and r [K/W], from one run of each; `watts` is P. Clamped nowhere: above 1 the pad is so
/// hot that it heats the panel, below 0 the other way round.
///
/// # Errors
/// Rises not above zero up to 1e6 K/W, watts outside 1e-6 to 1e5, temperatures outside 0 to 1000 K.
///
/// # Example
/// ```
/// use trochoid::heat::matched_share;
/// // Where the pad's face warms three times as much for a watt, the panel takes three quarters.
/// assert!((matched_share((293.0, 0.5), (293.0, 1.5), 30.0)? - 0.75).abs() < 1e-12);
/// // A pad that is 12 K hotter before gives 12/(2 × 30) more.
/// assert!((matched_share((293.0, 0.5), (305.0, 1.5), 30.0)? - 0.95).abs() < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// Own method; equal mean surface temperatures instead of equal peaks.
pub fn matched_share(panel: (f64, f64), pad: (f64, f64), watts: f64) -> Result<f64, RangeError> {
    for (base, rise) in [panel, pad] {
        within("temperature without friction", base, 0.0, 1000.0, "K")?;
        within("rise per watt", rise, 1e-9, 1e6, "K/W")?;
    }
    within("friction power", watts, 1e-6, 1e5, "W")?;
    Ok((pad.0 - panel.0 + pad.1 * watts) / ((panel.1 + pad.1) * watts))
}
