//! Published closed forms that the solvers are held against. Plain SI numbers.

use crate::math::quadrature::{Ends, integrate};
use core::f64::consts::PI;

/// Surface rise of a half-space under a constant flux, K.
///
/// ```text
/// ΔT = 2 q √(α t/π) / k     q [W/m²], α [m²/s], t [s], k [W/(m K)]
/// ```
///
/// ```
/// // 5 kW/m², k 0.2, α 1.2e-7, 1 s: 2 × 5000 × 1.9544e-4 / 0.2
/// assert!((trochoid::heat::closed_form::half_space(5e3, 0.2, 1.2e-7, 1.0) - 9.7721).abs() < 5e-5);
/// ```
///
/// Carslaw and Jaeger, Conduction of Heat in Solids (1959), section 2.9.
#[must_use]
pub fn half_space(flux: f64, conductivity: f64, diffusivity: f64, time: f64) -> f64 {
    2.0 * flux * (diffusivity * time / PI).sqrt() / conductivity
}

/// Rise of a plate that loses nothing, K: q t/(ρ c d).
#[must_use]
pub fn lumped(flux: f64, capacity: f64, time: f64) -> f64 {
    flux * time / capacity
}

/// Rise of a plate that loses heat with a coefficient `loss` [W/(m² K)] over all its sides, K.
///
/// ```text
/// ΔT = q/h (1 − exp(−h t/(ρ c d)))     one side h, both sides 2h for h
/// ```
#[must_use]
pub fn lossy_plate(flux: f64, capacity: f64, loss: f64, time: f64) -> f64 {
    -flux / loss * (-loss * time / capacity).exp_m1()
}

/// Surface rise of a slab under a constant flux on one side, insulated on the other, K.
///
/// ```text
/// ΔT = q d/k [Fo + 1/3 − (2/π²) Σ exp(−n²π²Fo)/n²]     Fo = α t/d²
/// ```
///
/// Carslaw and Jaeger (1959), section 3.8.
///
/// # Accuracy
/// Summed until the terms are below 1e-17 of the first, at most 100 000 of them: to rounding down to
/// Fo = 1e-8.
#[must_use]
pub fn slab_surface(flux: f64, conductivity: f64, diffusivity: f64, thickness: f64, time: f64) -> f64 {
    let fo = diffusivity * time / (thickness * thickness);
    let mut rest = 0.0;
    let mut n = 1.0;
    while n < 1e5 {
        // The part of the settled sum that has already come: 1 − exp, so that short times keep their digits.
        let decayed = (-n * n * PI * PI * fo).exp();
        rest += -(-n * n * PI * PI * fo).exp_m1() / (n * n);
        if decayed < 1e-17 {
            // All that follows has settled: the tail of Σ 1/n² by Euler and Maclaurin.
            let m = n + 0.5;
            rest += 1.0 / m - 1.0 / (12.0 * m * m * m);
            break;
        }
        n += 1.0;
    }
    flux * thickness / conductivity * (fo + 2.0 / (PI * PI) * rest)
}

/// Spread of an instantaneous Gaussian patch of heat on a thin plate that loses heat, K above ambient.
///
/// ```text
/// ΔT(r, t) = Q/(C π (w² + 4αt)) exp(−r²/(w² + 4αt) − h t/C)     Q [J], C [J/(m² K)], w [m], α [m²/s]
/// ```
///
/// The point source of Carslaw and Jaeger (1959), section 10.3, started w²/(4α) earlier.
#[must_use]
pub fn gaussian_on_plate(energy: f64, capacity: f64, width: f64, diffusivity: f64, loss: f64, r: f64, t: f64) -> f64 {
    let spread = width * width + 4.0 * diffusivity * t;
    energy / (capacity * PI * spread) * (-r * r / spread - loss * t / capacity).exp()
}

/// Largest steady rise under a band of constant flux that moves over a half-space, as θ k/(q b) with the
/// band's half-width b and L = V b/(2α).
///
/// ```text
/// θ k/(q b) = 1/(π L) max over X of ∫ from X−L to X+L of exp(−u) K₀(|u|) du
/// ```
///
/// J. C. Jaeger, Proc. Roy. Soc. NSW 76 (1942) 203. V is the feed, not the sliding speed: the band is the
/// pad, which is led over the panel.
///
/// # Accuracy
/// K₀ from its integral ∫ exp(−|u| cosh t) dt, split at its logarithm; about 1e-7 for L from 0.1 to 50.
#[must_use]
pub fn jaeger_band(l: f64) -> f64 {
    // With F(a) the integral from 0 to a, the rise at X is F(L+X) + F(L−X) mirrored; u grows against the
    // motion, so the largest lies behind the middle.
    let rise = |x: f64| (band_integral(x + l) - band_integral(x - l)) / (PI * l);
    let (mut low, mut high) = (-l, l);
    for _ in 0..60 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if rise(a) < rise(b) {
            low = a;
        } else {
            high = b;
        }
    }
    rise(0.5 * (low + high))
}

/// ∫ from 0 to a of exp(−u) K₀(|u|) du.
fn band_integral(a: f64) -> f64 {
    let n = 48;
    let piece =
        |low: f64, high: f64, ends: Ends| integrate(low, high, n, ends, |u| scaled_k0(u.abs()) * (-u - u.abs()).exp());
    let sign = a.signum();
    let size = a.abs();
    // The logarithm sits at zero; past it the integrand is smooth.
    let near = size.min(0.1);
    let mut sum = piece(0.0, sign * near, Ends::Left);
    let mut from = near;
    while from < size {
        let to = (2.0 * from).min(from + 2.0).min(size);
        sum += piece(sign * from, sign * to, Ends::Smooth);
        from = to;
    }
    sum
}

/// exp(x) K₀(x) = ∫ from 0 to ∞ of exp(−x (cosh t − 1)) dt, by the trapezoidal rule, which converges
/// faster than any power for it.
fn scaled_k0(x: f64) -> f64 {
    let step = 0.1;
    let mut sum = 0.5;
    let mut t: f64 = step;
    while t < 60.0 {
        let exponent = x * (t.cosh() - 1.0);
        if exponent > 40.0 {
            break;
        }
        sum += (-exponent).exp();
        t += step;
    }
    sum * step
}
