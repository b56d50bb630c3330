//! The probability that a cut takes more than the policy allows: a log-normal cut against a normal
//! clear coat, by quadrature.

use super::policy::{ClearCoat, Policy};
use crate::math::distribution::{LogNormal, normal_density};
use crate::math::quadrature::{Ends, integrate};

/// Half-width of the integral in standard deviations: 1e-17 of the normal lies beyond.
const REACH: f64 = 8.5;
/// Gauss nodes of a piece; half as many give the error estimate.
const NODES: usize = 16;

/// A probability and how well the quadrature knows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exceedance {
    /// Probability that the cut is larger than what is allowed \[1\].
    pub probability: f64,
    /// Difference to the same pieces with half the nodes \[1\].
    pub error: f64,
    /// Evaluations of the cut's distribution.
    pub calls: usize,
}

/// Probability that `cut` \[m\] exceeds what `policy` allows on `clear`.
///
/// ```text
/// P = ∫ φ(z) P(cut > allowed(m + s z)) dz
/// ```
///
/// The integral is cut at the kinks of the policy and where the cut's distribution turns, and done by
/// Gauss quadrature in each piece. Where nothing is allowed every cut exceeds it.
///
/// # Assumptions and valid range
/// Cut and clear coat independent; the clear coat normal with mean m and standard deviation s \[m\], what lies
/// below zero counting as none.
///
/// # Accuracy
/// The error estimate is that of half the nodes, so it is far above the true error.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::budget::{ClearCoat, Policy, exceedance};
/// use trochoid::math::distribution::LogNormal;
/// // 8 µm allowed on 45 µm known exactly; a cut of 8 µm median is over it half the time.
/// let clear = ClearCoat::stated(Length::from_um(45.0), Length::from_um(0.0))?;
/// let p = exceedance(&LogNormal::new(8e-6, 0.3)?, &clear, &Policy::default());
/// assert!((p.probability - 0.5).abs() < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[must_use]
pub fn exceedance(cut: &LogNormal, clear: &ClearCoat, policy: &Policy) -> Exceedance {
    let (mean, sd) = (clear.mean_m(), clear.sd_m());
    let over = |clear_m: f64| cut.exceedance(policy.allows(clear_m).0);
    if sd <= 0.0 {
        return Exceedance { probability: over(mean), error: 0.0, calls: 1 };
    }
    let mut breaks: Vec<f64> = (-17..=17).map(|i| 0.5 * f64::from(i)).collect();
    let mut at = |clear_m: f64| {
        let z = (clear_m - mean) / sd;
        if z > -REACH && z < REACH {
            breaks.push(z);
        }
    };
    // Kinks: no clear, at the floor, share meets floor, cap meets either.
    at(0.0);
    at(policy.floor_m());
    if policy.share() < 1.0 {
        at(policy.floor_m() / (1.0 - policy.share()));
    }
    at(policy.needs(policy.cap_m()));
    // Where the cut's own distribution turns, one standard deviation apart.
    for i in -8..=8 {
        at(policy.needs(cut.median() * (f64::from(i) * cut.ln_sd()).exp()));
    }
    breaks.push(REACH);
    breaks.push(-REACH);
    breaks.sort_unstable_by(f64::total_cmp);
    let (mut fine, mut coarse, mut calls) = (0.0, 0.0, 0);
    for pair in breaks.windows(2) {
        if pair[1] > pair[0] {
            let f = |z: f64| normal_density(z) * over(mean + sd * z);
            fine += integrate(pair[0], pair[1], NODES, Ends::Smooth, f);
            coarse += integrate(pair[0], pair[1], NODES / 2, Ends::Smooth, f);
            calls += NODES + NODES / 2;
        }
    }
    Exceedance { probability: fine.clamp(0.0, 1.0), error: (fine - coarse).abs(), calls }
}
