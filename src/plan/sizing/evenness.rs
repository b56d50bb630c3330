//! How even parallel pass lines cut, from the rings of a solved contact: a few microseconds instead of the
//! milliseconds of [`crate::removal::ripple`], which the tests hold it against.

use crate::contact::Rings;
use crate::math::quadrature::{Ends, rule};
use crate::spin::ring_works;

/// Evenness of endless parallel lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineEvenness {
    /// Population standard deviation over mean \[1\].
    pub cv: f64,
    /// Smallest value over mean \[1\].
    pub lowest: f64,
}

/// Places across half a footprint at which its line integral is taken.
const ACROSS: usize = 96;
/// Gauss nodes along each.
const ALONG: usize = 16;
/// Places between two lines.
const BETWEEN: usize = 48;

/// Evenness of lines `spacing` \[m\] apart under a round load.
///
/// ```text
/// W(y) = 2 ∫ w(√(x²+y²)) dx,   cut(y) ∝ Σ_n W(y − n s)          w = ⟨p|v|⟩ [W/m²], s spacing [m]
/// ```
///
/// # Units
/// `rate` Ω and `spin` ω in rad/s, `spacing` in m.
///
/// # Assumptions and valid range
/// Held square on a flat; endless lines, all led at one steady feed, which the evenness does not depend on.
///
/// # Accuracy
/// w is read linearly between the contact's rings: about 2e-3 in the coefficient of variation. A few
/// microseconds.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, Load, solve};
/// use trochoid::plan::sizing::line_evenness;
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let contact = solve(&pad, &Patch::flat(), 7.5e-3, &Hold::Flat, 35.0, &ContactSettings::default())?;
/// let Load::Rings(rings) = &contact.load else { unreachable!("held square") };
/// // A face of 100 mm on an orbit of 7.5 mm wipes 115 mm: lines 230 mm apart leave every other strip untouched,
/// // lines 5 mm apart lie 23 deep and cut almost evenly.
/// assert!(line_evenness(rings, 440.0, 0.0, 0.23).lowest <= 0.0);
/// assert!(line_evenness(rings, 440.0, 0.0, 0.005).cv < 0.01);
/// # Ok(())
/// # }
/// ```
pub fn line_evenness(rings: &Rings, rate: f64, spin: f64, spacing: f64) -> LineEvenness {
    let works = ring_works(rings, rate, spin);
    let reach = rings.face().reach();
    let last = works.len().saturating_sub(1);
    let work = |rho: f64, from: &mut usize| {
        // Callers go outward, so the search goes on from where it was.
        while *from < last && works[*from + 1].0 < rho {
            *from += 1;
        }
        let Some(&(r0, w0)) = works.get(*from) else { return 0.0 };
        if rho <= r0 {
            return w0;
        }
        // Zero at the reach.
        let (r1, w1) = works.get(*from + 1).copied().unwrap_or((reach, 0.0));
        if rho >= r1 { w1 } else { w0 + (w1 - w0) * (rho - r0) / (r1 - r0) }
    };
    let step = reach / ACROSS as f64;
    let profile: Vec<f64> = (0..=ACROSS)
        .map(|j| {
            let y = step * j as f64;
            let half = ((reach - y) * (reach + y)).max(0.0).sqrt();
            let mut from = 0;
            rule(ALONG, Ends::Right).iter().map(|q| q.w * work(y.hypot(half * q.x), &mut from)).sum::<f64>() * half
        })
        .collect();
    let at = |y: f64| {
        let place = y.abs() / step;
        if place >= ACROSS as f64 {
            return 0.0;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place < ACROSS
        let k = place as usize;
        profile[k] + (profile[k + 1] - profile[k]) * (place - k as f64)
    };
    let values: Vec<f64> = (0..BETWEEN)
        .map(|i| {
            let y = spacing * (i as f64 + 0.5) / BETWEEN as f64;
            let mut sum = 0.0;
            let mut n = ((y - reach) / spacing).ceil();
            while n * spacing <= y + reach {
                sum += at(y - n * spacing);
                n += 1.0;
            }
            sum
        })
        .collect();
    let count = BETWEEN as f64;
    let mean = values.iter().sum::<f64>() / count;
    let variance = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / count;
    let lowest = values.iter().copied().fold(f64::INFINITY, f64::min);
    LineEvenness { cv: variance.sqrt() / mean, lowest: lowest / mean }
}
