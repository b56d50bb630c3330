//! Rates that follow from the friction sums alone.

use crate::spin::FrictionSums;

/// Volume removed per second, m³/s.
///
/// ```text
/// V̇ = k_p ⟨∫ p |v| dA⟩      k_p Preston coefficient [1/Pa], the integral in W
/// ```
///
/// # Assumptions and valid range
/// Preston's law with both exponents 1; the sums are orbit averages, the feed left out of |v|.
///
/// # Example
/// ```
/// use trochoid::spin::FrictionSums;
/// let sums = FrictionSums { speed_w: 115.5, ..FrictionSums::default() };
/// // 2e-11 × 115.5 W (35 N at 3.3 m/s) = 2.31 mm³/s.
/// assert!((trochoid::removal::volume_rate(2e-11, &sums) * 1e9 - 2.31).abs() < 1e-12);
/// ```
///
/// # References
/// F. W. Preston, J. Soc. Glass Technol. 11 (1927) 214-256.
#[must_use]
pub fn volume_rate(preston_per_pa: f64, sums: &FrictionSums) -> f64 {
    preston_per_pa * sums.speed_w
}

/// Mean cut of one pass: volume rate over the area swept per second, m.
///
/// ```text
/// h = V̇ / (f · (1 − overlap) · D)     V̇ volume rate [m³/s], f feed [m/s], D face diameter [m]
/// ```
///
/// # Assumptions and valid range
/// Many parallel lines, (1 − overlap) D apart; an overlap below 1. How even the cut is between the lines is
/// told by [`super::ripple`].
///
/// # Example
/// ```
/// // 0.04 mm³/s over 40 mm/s x 65 mm: 0.01538 µm.
/// let h = trochoid::removal::mean_cut_per_pass(0.04e-9, 0.04, 0.5, 0.13);
/// assert!((h * 1e6 - 0.0153846).abs() < 1e-6);
/// ```
#[must_use]
pub fn mean_cut_per_pass(volume_rate_m3_s: f64, feed_m_s: f64, overlap: f64, diameter_m: f64) -> f64 {
    volume_rate_m3_s / (feed_m_s * (1.0 - overlap) * diameter_m)
}
