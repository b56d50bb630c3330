//! Published closed forms that the solvers are held against. Plain SI numbers, not checked: a zero
//! conductivity gives what the arithmetic gives.

use crate::math::quadrature::{Ends, integrate};
use core::f64::consts::PI;

/// Surface rise of a half-space under a constant flux \[K\].
///
/// ```text
/// ΔT = 2 q √(α t/π) / k     q [W/m²], α [m²/s], t [s], k [W/(m K)]
/// ```
///
/// # Example
/// ```
/// // 5 kW/m², k 0.2, α 1.2e-7, 1 s: 2 × 5000 × 1.9544e-4 / 0.2
/// assert!((trochoid::heat::closed_form::half_space(5e3, 0.2, 1.2e-7, 1.0) - 9.7721).abs() < 5e-5);
/// ```
///
/// # References
/// Carslaw and Jaeger, Conduction of Heat in Solids (1959), section 2.9.
#[must_use]
pub fn half_space(flux: f64, conductivity: f64, diffusivity: f64, time: f64) -> f64 {
    2.0 * flux * (diffusivity * time / PI).sqrt() / conductivity
}

/// Rise of a plate that loses nothing \[K\].
///
/// ```text
/// ΔT = q t/(ρ c d)      q flux [W/m²], ρcd capacity of an area [J/(m² K)], t [s]
/// ```
///
/// # Assumptions and valid range
/// Even through the thickness: t well above d²/α.
///
/// # Example
/// ```
/// // 1 kW/m² for 10 s into 0.7 mm of steel, 7832 × 434 × 0.0007 = 2379 J/(m² K): 4.203 K.
/// let rise = trochoid::heat::closed_form::lumped(1e3, 7832.0 * 434.0 * 7e-4, 10.0);
/// assert!((rise - 4.203).abs() < 1e-3);
/// ```
#[must_use]
pub fn lumped(flux: f64, capacity: f64, time: f64) -> f64 {
    flux * time / capacity
}

/// Rise of a plate that loses heat with a coefficient `loss` [W/(m² K)] over all its sides \[K\].
///
/// ```text
/// ΔT = q/h (1 − exp(−h t/(ρ c d)))     q [W/m²], ρcd [J/(m² K)], t [s]; one side h, both sides 2h for h
/// ```
///
/// # Assumptions and valid range
/// Even through the thickness, h d/k well below 1; a loss above zero ([`lumped`] without).
///
/// # Example
/// ```
/// // 1 kW/m² against 20 W/(m² K), after one time constant 2400/20 = 120 s: 50 K (1 − 1/e) = 31.606 K.
/// let rise = trochoid::heat::closed_form::lossy_plate(1e3, 2400.0, 20.0, 120.0);
/// assert!((rise - 31.606).abs() < 1e-3);
/// ```
#[must_use]
pub fn lossy_plate(flux: f64, capacity: f64, loss: f64, time: f64) -> f64 {
    -flux / loss * (-loss * time / capacity).exp_m1()
}

/// Surface rise of a slab under a constant flux on one side, insulated on the other \[K\].
///
/// ```text
/// ΔT = q d/k [Fo + 1/3 − (2/π²) Σ exp(−n²π²Fo)/n²]     Fo = α t/d² [1], d thickness [m]
/// ```
///
/// # Accuracy
/// Summed until the terms are below 1e-17 of the first, 100 to 100 000 of them, the rest by Euler and
/// Maclaurin: to rounding down to Fo = 1e-8.
///
/// # Example
/// ```
/// use trochoid::heat::closed_form::{half_space, slab_surface};
/// // q d/k = 1000 × 0.002/0.2 = 10 K. At 40 s Fo = 1: 10 (1 + 1/3 − 0.2026 e^−9.87) = 13.3332 K.
/// assert!((slab_surface(1e3, 0.2, 1e-7, 2e-3, 40.0) - 13.33323).abs() < 1e-5);
/// // At Fo = 0.01 the far side is not felt: the half-space.
/// assert!((slab_surface(1e3, 0.2, 1e-7, 2e-3, 0.4) / half_space(1e3, 0.2, 1e-7, 0.4) - 1.0).abs() < 1e-9);
/// ```
///
/// # References
/// Carslaw and Jaeger (1959), section 3.8.
#[must_use]
pub fn slab_surface(flux: f64, conductivity: f64, diffusivity: f64, thickness: f64, time: f64) -> f64 {
    let fo = diffusivity * time / (thickness * thickness);
    let mut rest = 0.0;
    let mut n = 1.0;
    while n < 1e5 {
        // The part of the settled sum that has already come: 1 − exp, so that short times keep their digits.
        let decayed = (-n * n * PI * PI * fo).exp();
        rest += -(-n * n * PI * PI * fo).exp_m1() / (n * n);
        if decayed < 1e-17 && n >= 100.0 {
            // All that follows has settled: the tail of Σ 1/n² by Euler and Maclaurin, whose next term is
            // 0.02/m⁷: below rounding from a hundred terms on.
            let m = n + 0.5;
            rest += 1.0 / m - 1.0 / (12.0 * m.powi(3)) + 7.0 / (240.0 * m.powi(5));
            break;
        }
        n += 1.0;
    }
    flux * thickness / conductivity * (fo + 2.0 / (PI * PI) * rest)
}

/// Spread of an instantaneous Gaussian patch of heat on a thin plate that loses heat, above ambient \[K\].
///
/// ```text
/// ΔT(r, t) = Q/(C π (w² + 4αt)) exp(−r²/(w² + 4αt) − h t/C)     Q [J], C [J/(m² K)], w [m], α [m²/s], h [W/(m² K)]
/// ```
///
/// # Assumptions and valid range
/// A plate without edges, even through its thickness.
///
/// # Example
/// ```
/// use trochoid::heat::closed_form::gaussian_on_plate;
/// // 100 J over w = 50 mm on 2400 J/(m² K): 100/(2400 × π × 0.0025) = 5.305 K in the middle.
/// let start = gaussian_on_plate(100.0, 2400.0, 0.05, 1e-5, 0.0, 0.0, 0.0);
/// assert!((start - 5.305).abs() < 1e-3);
/// // When 4αt = w², at 62.5 s, the patch has twice the area and half the rise.
/// assert!((gaussian_on_plate(100.0, 2400.0, 0.05, 1e-5, 0.0, 0.0, 62.5) / start - 0.5).abs() < 1e-12);
/// ```
///
/// # References
/// The point source of Carslaw and Jaeger (1959), section 10.3, started w²/(4α) earlier.
#[must_use]
pub fn gaussian_on_plate(energy: f64, capacity: f64, width: f64, diffusivity: f64, loss: f64, r: f64, t: f64) -> f64 {
    let spread = width * width + 4.0 * diffusivity * t;
    energy / (capacity * PI * spread) * (-r * r / spread - loss * t / capacity).exp()
}

/// Largest steady rise under a band of constant flux that moves over a half-space, as θ k/(q b) \[1\] with the
/// band's half-width b \[m\] and L = V b/(2α).
///
/// ```text
/// θ k/(q b) = 1/(π L) max over X of ∫ from X−L to X+L of exp(−u) K₀(|u|) du
/// ```
///
/// V is the feed, not the sliding speed: the band is the pad, which is led over the panel.
///
/// # Accuracy
/// K₀ from its integral ∫ exp(−|u| cosh t) dt, split at its logarithm; about 1e-7 for L from 0.1 to 50.
///
/// # Example
/// ```
/// use trochoid::heat::closed_form::jaeger_band;
/// // Jaeger's table at L = 1: 0.99185.
/// assert!((jaeger_band(1.0) - 0.99185).abs() < 5e-6);
/// // A fast band is a half-space under its flux for the time 2b/V that it takes to pass: 2/√(πL), 0.357 at
/// // L = 10; what flows off ahead and to the back leaves 0.3485.
/// assert!((jaeger_band(10.0) - 0.34850).abs() < 5e-6);
/// ```
///
/// # References
/// J. C. Jaeger, Proc. Roy. Soc. NSW 76 (1942) 203.
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
