//! Overlap against ripple: how even the cut of endless parallel pass lines is.

use super::footprint::Footprint;
use super::swept::{Quantity, Swept};
use crate::error::RangeError;

/// Evenness of parallel pass lines at one spacing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ripple {
    /// Distance of the lines, m.
    pub spacing_m: f64,
    /// Population standard deviation over mean.
    pub cv: f64,
    /// Peak-to-valley over mean.
    pub peak_to_valley: f64,
    /// Smallest value over mean; 0 where lines leave a gap between them.
    pub lowest: f64,
    /// Width of the strip between two lines that the pad does not touch, m.
    pub gap_m: f64,
}

/// Cut profile across one endless pass line along `direction` \[rad\], at places across it \[m\]:
/// ∫ p|v| ds per unit slowness, W/m.
///
/// # Accuracy
/// As the deposit's tables: below 1e-4 of the peak.
#[must_use]
pub fn pass_profile(footprint: &Footprint, direction: f64, across: &[f64]) -> Vec<f64> {
    let table = Swept::new(footprint, (direction.cos(), direction.sin()), Quantity::Work, false);
    across.iter().map(|w| table.rows(*w).map_or(0.0, |rows| table.whole(rows))).collect()
}

/// Ripple of endless parallel lines along `direction` \[rad\] at each of `spacings` \[m\].
///
/// # Errors
/// A spacing outside 0.1 mm to 10 m.
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
