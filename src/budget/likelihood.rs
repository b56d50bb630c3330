//! How likely a record is, given the cut.
//!
//! The gauge: both readings are rounded to the step r of the display, and the film under them is
//! unknown, so the difference shown is the cut plus a normal error plus a triangular one of half-width
//! r; its density is the second difference of the normal's second antiderivative. The eye: an ordered
//! choice on the log-odds of the share left, with a slip now and then.

use super::spot::{PairedReading, SwirlDepth, SwirlsLeft};
use crate::math::distribution::{normal_between, normal_cdf_integral};
use crate::math::quadrature::{Ends, rule};
use crate::spin::CountedSpin;

const LN_ROOT_TWO_PI: f64 = 0.918_938_533_204_672_8;

/// Logarithm of the density \[1/m\] of a shown difference that is `x` \[m\] above the true one.
///
/// ```text
/// L(x) = ∫ (1−|t|/r)/r · φ((x−t)/s)/s dt = s/r² [G((x+r)/s) − 2G(x/s) + G((x−r)/s)],  G'' = φ
/// ```
///
/// `s` standard deviation of the difference before rounding \[m\], `r` step of the display \[m\], both
/// positive. The film's own place between two steps is taken as even.
///
/// # Accuracy
/// Closed form where it does not cancel, otherwise Gauss quadrature in logarithms: 1e-7 in the logarithm.
///
/// # Example
/// ```
/// use trochoid::budget::ln_shown_difference;
/// // A display much finer than the scatter leaves a normal: −ln(2e-6 √(2π)) = 12.2034 at no error.
/// assert!((ln_shown_difference(0.0, 2e-6, 0.01e-6) - 12.2034).abs() < 1e-4);
/// // One much coarser leaves the triangle, 1/r: −ln 1e-6 = 13.8155.
/// assert!((ln_shown_difference(0.0, 0.0001e-6, 1e-6) - 13.8155).abs() < 1e-3);
/// ```
///
/// # References
/// Own derivation.
#[must_use]
pub fn ln_shown_difference(x: f64, s: f64, r: f64) -> f64 {
    let x = x.abs();
    if r > 2.0 * s && x <= r + 4.0 * s {
        let g = |v: f64| normal_cdf_integral(v / s);
        return (s / (r * r) * (g(x + r) - 2.0 * g(x) + g(x - r))).ln();
    }
    // Narrow step, or the far tail: there the integrand falls off from the near end of the step within
    // s²/(x−r), and thirty times that holds all of it.
    let reach = if x > r + 4.0 * s { 30.0 * s * s / (x - r) } else { f64::INFINITY };
    let near = [(r - reach, r)];
    let both = [(-r, 0.0), (0.0, r)];
    let pieces: &[(f64, f64)] = if reach < r { &near } else { &both };
    let exponent = |t: f64| -0.5 * ((x - t) / s) * ((x - t) / s);
    let top = exponent(x.min(r));
    let mut sum = 0.0;
    for (low, high) in pieces {
        for q in rule(24, Ends::Smooth) {
            let t = low + (high - low) * q.x;
            sum += q.w * (high - low) * (1.0 - t.abs() / r) * (exponent(t) - top).exp();
        }
    }
    (sum / r).ln() + top - s.ln() - LN_ROOT_TWO_PI
}

/// [`ln_shown_difference`] by brute force, 200 000 midpoint steps over the triangle: the slow obvious reference;
/// logarithm of a density \[1/m\].
///
/// # Example
/// ```
/// use trochoid::budget::{ln_shown_difference, ln_shown_difference_slow};
/// let (x, s, r) = (1.5e-6, 1e-6, 1e-6);
/// assert!((ln_shown_difference(x, s, r) - ln_shown_difference_slow(x, s, r)).abs() < 1e-6);
/// ```
#[must_use]
pub fn ln_shown_difference_slow(x: f64, s: f64, r: f64) -> f64 {
    let steps = 200_000;
    let width = 2.0 * r / f64::from(steps);
    let sum: f64 = (0..steps)
        .map(|i| {
            let t = -r + width * (f64::from(i) + 0.5);
            (1.0 - t.abs() / r) / r * (-0.5 * ((x - t) / s) * ((x - t) / s)).exp()
        })
        .sum();
    (sum * width).ln() - s.ln() - LN_ROOT_TWO_PI
}

/// Information of one pair about the logarithm of the cut \[1\]: the expected square of the slope of its
/// log-likelihood, summed over every difference the display can show.
///
/// ```text
/// I = h² Σ_j p_j (∂L/∂x)²      h cut [m], p_j chance of showing j steps, L as in [`ln_shown_difference`]
/// I ≈ h²/(s² + r²/6)           where the step r is below a quarter of s
/// ```
///
/// # Accuracy
/// Slopes by central differences of 1e-4 s. The cut is taken as given, so the sum depends a little on where it
/// lies between two steps.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::budget::{PairedReading, pair_information};
/// let um = Length::from_um;
/// // Readings of 2 µm each, shown in tenths: s² = 8 µm², r²/6 = 0.0017; a cut of 4 µm: 16/8.0017 = 1.9996.
/// let pair = PairedReading::new(um(120.0), um(116.0), um(2.0), um(0.1), 1)?;
/// assert!((pair_information(4e-6, &pair) - 1.9996).abs() < 1e-4);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[must_use]
pub fn pair_information(cut_m: f64, pair: &PairedReading) -> f64 {
    let (s, r) = (pair.sd_m(), pair.resolution_m());
    if r < 0.25 * s {
        // The step hardly matters: its variance added, the information of a normal.
        return cut_m * cut_m / (s * s + r * r / 6.0);
    }
    let reach = r + 8.0 * s;
    let first = ((cut_m - reach) / r).ceil();
    let last = ((cut_m + reach) / r).floor();
    let mut sum = 0.0;
    let mut j = first;
    while j <= last {
        let x = j * r - cut_m;
        let ln_mass = ln_shown_difference(x, s, r) + r.ln();
        let step = 1e-4 * s;
        let slope = (ln_shown_difference(x - step, s, r) - ln_shown_difference(x + step, s, r)) / (2.0 * step);
        // What is impossible to see carries no information, however steep.
        if ln_mass > -40.0 && slope.is_finite() {
            sum += ln_mass.exp() * slope * slope;
        }
        j += 1.0;
    }
    cut_m * cut_m * sum
}

/// Logarithm of the probability that an eye calls `class` when the swirls have depths `depth` and
/// `cut_m` has gone.
///
/// ```text
/// P = (1−4ε)[Φ((L(b⁺)−L(s))/σ) − Φ((L(b⁻)−L(s))/σ)] + ε      L = log-odds, s = share left
/// ```
///
/// σ `eye_sd` on the log-odds, ε `lapse` the chance of a slip to each class.
///
/// # Assumptions and valid range
/// The classes meet at shares of 0.05, 0.30 and 0.70; they and the numbers of the eye are assumed.
///
/// # Example
/// ```
/// use trochoid::budget::{SwirlDepth, SwirlsLeft, ln_class};
/// use trochoid::math::distribution::LogNormal;
/// let depth = SwirlDepth::LogNormal(LogNormal::new(1e-6, 0.5)?);
/// // Half of the swirls are deeper than their median: an eye calls it half, and some class for sure.
/// let chance = |class| ln_class(class, &depth, 1e-6, 0.5, 0.01).exp();
/// assert!((SwirlsLeft::ALL.map(chance).iter().sum::<f64>() - 1.0).abs() < 1e-12);
/// // 0.96 [Φ(0.8473/0.5) − Φ(−0.8473/0.5)] + 0.01 with ln(0.7/0.3) = 0.8473: 0.96 × 0.9099 + 0.01 = 0.8835.
/// assert!((chance(SwirlsLeft::Half) - 0.8835).abs() < 2e-4);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// Own model: an ordered choice with a probit link.
#[must_use]
pub fn ln_class(class: SwirlsLeft, depth: &SwirlDepth, cut_m: f64, eye_sd: f64, lapse: f64) -> f64 {
    let (left, gone) = depth.left_and_gone(cut_m);
    // Beyond 1e-13 either way the class is settled.
    let odds = (left.ln() - gone.ln()).clamp(-30.0, 30.0);
    let bound = |b: f64| (b.ln() - (1.0 - b).ln() - odds) / eye_sd;
    let (low, high) = class.shares();
    let p = normal_between(bound(low), bound(high));
    ((1.0 - 4.0 * lapse) * p + lapse).ln()
}

/// Logarithm of the probability of a count when the pad is predicted to turn at `spin` [rad/s].
///
/// ```text
/// P = Φ((n + ½ − m)/σ) − Φ((n − ½ − m)/σ)      n turns counted, m predicted, σ = max(relative_sd · m, ¼) [turns]
/// ```
///
/// Never below −100.
///
/// # Example
/// ```
/// use trochoid::{budget::ln_count, spin::CountedSpin};
/// // Ten turns in 20 s, π rad/s, as predicted, to 5 %: σ is half a turn, one σ either way, 0.6827.
/// let counted = CountedSpin::new(10.0, 20.0)?;
/// assert!((ln_count(&counted, core::f64::consts::PI, 0.05).exp() - 0.6827).abs() < 1e-4);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[must_use]
pub fn ln_count(count: &CountedSpin, spin: f64, relative_sd: f64) -> f64 {
    let turns_per_spin = 0.5 / count.resolution();
    let (counted, predicted) = (count.spin() * turns_per_spin, spin * turns_per_spin);
    let sd = (relative_sd * predicted.abs()).max(0.25);
    normal_between((counted - 0.5 - predicted) / sd, (counted + 0.5 - predicted) / sd).ln().max(-100.0)
}
