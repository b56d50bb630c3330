//! Hertz contact of a sphere with an elastic half-space: only for comparison with the foundation
//! model, which is what a pad of finite thickness is.
//!
//! H. Hertz, J. reine angew. Math. 92 (1882) 156-171; K. L. Johnson, "Contact Mechanics" (1985),
//! chapter 4.

/// Hertz contact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hertz {
    /// Contact radius \[m\].
    pub radius_m: f64,
    /// Approach \[m\].
    pub approach_m: f64,
    /// Peak pressure \[Pa\].
    pub peak_pa: f64,
}

/// Hertz contact of a sphere of radius `sphere_radius_m` under `force_n` on a half-space.
///
/// ```text
/// a³ = 3FR/(4E*)   δ = a²/R   p₀ = 3F/(2πa²)      E* [Pa], R [m], F [N]
/// ```
///
/// # Assumptions and valid range
/// a ≪ R; a half-space, so not a thin layer. Positive arguments; others give NaN.
///
/// # Example
/// ```
/// let h = trochoid::contact::hertz(1e5, 10e-3, 1.0);
/// // 0.75 × 1 N × 0.01 m / 1e5 Pa = 7.5e-8 m³, whose cube root is 4.217163 mm; its square over 10 mm.
/// assert!((h.radius_m * 1e3 - 4.217163).abs() < 5e-7);
/// assert!((h.approach_m * 1e3 - 1.778447).abs() < 5e-7);
/// ```
///
/// # References
/// H. Hertz (1882); K. L. Johnson, Contact Mechanics (1985), chapter 4.
#[must_use]
pub fn hertz(reduced_modulus_pa: f64, sphere_radius_m: f64, force_n: f64) -> Hertz {
    let radius_m = (0.75 * force_n * sphere_radius_m / reduced_modulus_pa).cbrt();
    let square = radius_m * radius_m;
    Hertz { radius_m, approach_m: square / sphere_radius_m, peak_pa: 1.5 * force_n / (core::f64::consts::PI * square) }
}
