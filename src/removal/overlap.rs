//! Overlap against ripple: how even the cut of endless parallel pass lines is.

use super::footprint::Footprint;
use super::swept::{Quantity, Swept};
use crate::error::RangeError;

/// Evenness of parallel pass lines at one spacing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ripple {
    /// Distance of the lines \[m\].
    pub spacing_m: f64,
    /// Population standard deviation over mean \[1\].
    pub cv: f64,
    /// Peak-to-valley over mean \[1\].
    pub peak_to_valley: f64,
    /// Smallest value over mean \[1\]; 0 where lines leave a gap between them.
    pub lowest: f64,
    /// Width of the strip between two lines that the pad does not touch \[m\].
    pub gap_m: f64,
}

/// Profile of the work across one endless pass line along `direction` \[rad\], at places across it \[m\]:
/// ∫ p|v| ds per unit slowness, W/m. The cut is k_p times it over the feed.
///
/// # Accuracy
/// As the deposit's tables: below 1e-4 of the peak.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::removal::{Footprint, pass_profile};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let contact = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // Rotary at 200 rad/s under 40 N: in the middle p ω R² = N ω/π = 2546.5 W/m, beyond 70 mm nothing.
/// let print = Footprint::new(&contact, &Patch::flat(), 0.0, 200.0);
/// let profile = pass_profile(&print, 0.0, &[0.0, 0.08]);
/// assert!((profile[0] - 2546.5).abs() < 0.5 && profile[1] <= 0.0);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn pass_profile(footprint: &Footprint, direction: f64, across: &[f64]) -> Vec<f64> {
    let table = Swept::new(footprint, (direction.cos(), direction.sin()), Quantity::Work, false);
    across.iter().map(|w| table.rows(*w).map_or(0.0, |rows| table.whole(rows))).collect()
}

/// Ripple of endless parallel lines along `direction` \[rad\] at each of `spacings` \[m\].
///
/// # Assumptions and valid range
/// A steady feed and force; work only, so that the ripple of the cut is the same for any k_p.
///
/// # Accuracy
/// 400 places across one spacing, the profile as [`pass_profile`]; the gap to 0.6 % of the reach.
///
/// # Errors
/// A spacing outside 0.1 mm to 10 m.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::removal::{Footprint, ripple};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let contact = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // Lines 200 mm apart under a pad of 140 mm leave 60 mm untouched; lines 70 mm apart leave nothing.
/// let print = Footprint::new(&contact, &Patch::flat(), 0.0, 200.0);
/// let found = ripple(&print, 0.0, &[0.2, 0.07])?;
/// assert!((found[0].gap_m - 0.06).abs() < 1e-3 && found[0].lowest <= 0.0);
/// assert!(found[1].gap_m <= 0.0 && found[1].cv < found[0].cv);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own remark on the dips of the ripple in `notebooks-free-docs/theory-removal.md`.
pub fn ripple(footprint: &Footprint, direction: f64, spacings: &[f64]) -> Result<Vec<Ripple>, RangeError> {
    const PLACES: usize = 400;
    for spacing in spacings {
        crate::equipment::within("line spacing", spacing * 1e3, 0.1, 10_000.0, "mm")?;
    }
    let width = 2.0 * footprint.half_width(direction);
    let table = Swept::new(footprint, (direction.cos(), direction.sin()), Quantity::Work, false);
    let reach = footprint.reach();
    Ok(spacings
        .iter()
        .map(|spacing| {
            let values: Vec<f64> = (0..PLACES)
                .map(|i| {
                    let place = spacing * (i as f64 + 0.5) / PLACES as f64;
                    // Every line whose reach covers the place.
                    let mut sum = 0.0;
                    let mut n = ((place - reach) / spacing).ceil();
                    while n * spacing <= place + reach {
                        sum += table.rows(place - n * spacing).map_or(0.0, |rows| table.whole(rows));
                        n += 1.0;
                    }
                    sum
                })
                .collect();
            let mean = values.iter().sum::<f64>() / PLACES as f64;
            let variance = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / PLACES as f64;
            let (low, high) = values.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(*v), h.max(*v)));
            Ripple {
                spacing_m: *spacing,
                cv: variance.sqrt() / mean,
                peak_to_valley: (high - low) / mean,
                lowest: low / mean,
                gap_m: (spacing - width).max(0.0),
            }
        })
        .collect())
}
