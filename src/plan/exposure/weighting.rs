//! The frequency weighting of hand-transmitted vibration as the response of its filter.

use core::f64::consts::{FRAC_1_SQRT_2, PI};

/// Resonance quality of the frequency weighting.
const Q2: f64 = 0.64;
/// Corner of the weighting, Hz: f3 = f4 = 100/2π.
const F3: f64 = 100.0 / (2.0 * PI);

/// The frequency weighting W_h at `frequency_hz`; 0 where that is not positive and finite.
///
/// ```text
/// H_b(s) = s² ω2² / ((s² + s ω1/Q1 + ω1²)(s² + s ω2/Q1 + ω2²))
/// H_w(s) = (s + ω3) ω4² / ((s² + s ω4/Q2 + ω4²) ω3)
/// W_h(f) = |H_b H_w|,  s = i 2πf,  ω_k = 2π f_k [rad/s]
/// f1 = 10^0.8, f2 = 10^3.1, f3 = f4 = 100/2π Hz, Q1 = 1/√2, Q2 = 0.64
/// ```
///
/// # Units
/// Hz; the weighting has none \[1\].
///
/// # Accuracy
/// The filter as the standard defines it, to rounding; the standard prints its table to four digits.
///
/// # Example
/// ```
/// use trochoid::plan::hand_arm_weighting;
/// // 4200 orbits a minute are 70 Hz.
/// assert!((hand_arm_weighting(70.0) - 0.23024).abs() < 5e-6);
/// ```
///
/// # References
/// ISO 5349-1:2001, annex A (filter) and table A.2 (values at the third octaves).
#[must_use]
pub fn hand_arm_weighting(frequency_hz: f64) -> f64 {
    if !(frequency_hz.is_finite() && frequency_hz > 0.0) {
        return 0.0;
    }
    let (low, high) = (10f64.powf(0.8), 10f64.powf(3.1));
    // |ω0² − ω² + iωω0/Q| over ω0², in the ratio x = f/f0: each factor of order one at its corner.
    let second_order = |corner: f64, quality: f64| {
        let x = frequency_hz / corner;
        (1.0 - x * x).hypot(x / quality)
    };
    let x = frequency_hz / low;
    let above = x * x / second_order(low, FRAC_1_SQRT_2);
    let below = 1.0 / second_order(high, FRAC_1_SQRT_2);
    let weighting = 1f64.hypot(frequency_hz / F3) / second_order(F3, Q2);
    let w = above * below * weighting;
    // Far outside every band the squares pass the largest number: the weight there is none.
    if w.is_finite() { w } else { 0.0 }
}
