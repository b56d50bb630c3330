//! The throw that reaches the face: the pad shears under friction, so its face orbits less than its
//! plate.
//!
//! Our own derivation (`notebooks-free-docs/theory-spin.md`): in the frame that turns with the
//! orbit, the friction on the face is a steady force μN that leads the plate's orbit radius by a
//! right angle, so that the shear deflection μN/k_s and the face's orbit radius are the two short
//! sides of a right triangle whose long side is the plate's orbit radius. It holds for the full
//! friction force of a pad that mostly translates, and for a pad without inertia.

/// Orbit of the pad's face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FaceOrbit {
    /// Orbit radius at the face \[m\]; zero when the face sticks.
    pub radius_m: f64,
    /// Whether friction exceeds what the shear of a full throw can pull: the face sticks and the
    /// pad only kneads.
    pub sticks: bool,
}

/// Orbit radius at the face.
///
/// ```text
/// e_f = √(e² − (μN/k_s)²)      e plate's orbit radius [m], μN friction [N], k_s shear stiffness [N/m]
/// ```
///
/// # Assumptions and valid range
/// Whole friction force along the orbit; pad without inertia (see [`inertia_gain`]). `μN ≥ k_s e`:
/// the face sticks. A tool that does not orbit has a face that does not either, and does not stick.
///
/// # Example
/// ```
/// // Throw 12 mm, 35 N at 0.35; 130 mm pad, 25 mm thick, 15 kPa: k_s = G A/h = 7963.9 N/m.
/// let orbit = trochoid::spin::face_orbit(6e-3, 0.35 * 35.0, 7963.9);
/// assert!((orbit.radius_m * 1e3 - 5.7995).abs() < 1e-4);
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-spin.md`.
#[must_use]
pub fn face_orbit(orbit_m: f64, friction_n: f64, shear_stiffness_n_m: f64) -> FaceOrbit {
    let lost = friction_n / shear_stiffness_n_m;
    if orbit_m <= 0.0 {
        return FaceOrbit { radius_m: 0.0, sticks: false };
    }
    if lost >= orbit_m {
        return FaceOrbit { radius_m: 0.0, sticks: true };
    }
    FaceOrbit { radius_m: ((orbit_m - lost) * (orbit_m + lost)).sqrt(), sticks: false }
}

/// Factor by which the pad's own inertia raises the throw at its face \[1\].
///
/// ```text
/// 1/cos(Ω h √(ρ/G))      Ω [rad/s], h thickness [m], ρ foam density [kg/m³], G shear modulus [Pa]
/// ```
///
/// Reported, not applied: above 1.05 the face throw of [`face_orbit`] is too small by that factor.
///
/// # Assumptions and valid range
/// A shear wave in one even layer, driven at the plate and free at the face, without damping or friction.
/// Infinite at and beyond the first shear resonance of the layer, Ω h √(ρ/G) = π/2.
///
/// # Example
/// ```
/// // 25 mm of 60 kg/m³ and 15 kPa at 440 rad/s: 440 × 0.025 × √0.004 = 0.69570, 1/cos = 1.3028.
/// let gain = trochoid::spin::inertia_gain(440.0, 0.025, 60.0, 15e3);
/// assert!((gain - 1.3028).abs() < 1e-4);
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-spin.md`.
#[must_use]
pub fn inertia_gain(rate_rad_s: f64, thickness_m: f64, density_kg_m3: f64, shear_modulus_pa: f64) -> f64 {
    let phase = rate_rad_s * thickness_m * (density_kg_m3 / shear_modulus_pa).sqrt();
    if phase >= core::f64::consts::FRAC_PI_2 { f64::INFINITY } else { 1.0 / phase.cos() }
}
