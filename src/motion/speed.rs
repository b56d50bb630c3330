//! Sliding speeds, averaged over the orbit, in the pad's frame and in the panel's.
//!
//! Mean speeds, as Preston's law wants them; a root mean square would be up to 11 % higher. Feed is
//! neglected.

use super::Face;
use crate::math::elliptic::mean_speed;
use crate::math::quadrature::{Ends, integrate};

/// Mean sliding speed over an orbit of a pad point at `r` from the pad centre, tool at rest [m/s].
///
/// ```text
/// (2/π)(a + b) E(m),   m = 4ab/(a+b)²,   a = e Ω [m/s],   b = |ω| r [m/s]
/// ```
///
/// # Units
/// `orbit` e in m, `rate` Ω and `spin` ω in rad/s, `r` in m.
///
/// # Assumptions and valid range
/// Tool at rest. Without spin a feed f raises the mean by f²/(4 e²Ω²) of itself: below 1e-4 at 40 mm/s over 3 m/s.
///
/// # Accuracy
/// Closed form, about 1e-15 relative.
///
/// # Example
/// ```
/// // No spin: every pad point runs round the orbit at eΩ, here 6 mm at 4200/min.
/// let rate = trochoid::AngularRate::from_opm(4200.0).rad_s();
/// let v = trochoid::motion::pad_point_speed(6e-3, rate, 0.0, 0.05);
/// assert!((v - 6e-3 * rate).abs() < 1e-12);
/// ```
#[must_use]
pub fn pad_point_speed(orbit: f64, rate: f64, spin: f64, r: f64) -> f64 {
    mean_speed(orbit * rate, spin * r)
}

/// Area mean over the face of the orbit-mean sliding speed [m/s].
///
/// ```text
/// 2/(R² − r_h²) ∫ v(r) r dr,   v(r) = (2/π)(a + b) E(m)      from the hole r_h to the rim R [m]
/// ```
///
/// # Units
/// `rate` Ω and `spin` ω in rad/s.
///
/// # Accuracy
/// 24 Gauss nodes on each side of the radius at which both parts of the speed are equal, where E has its
/// corner; within 1e-8 of the closed form of a sliding, spinning disc (the tests).
///
/// # Example
/// ```
/// use trochoid::motion::{Face, face_mean_speed};
/// # use trochoid::equipment::{CompressionLaw, Pad};
/// # use trochoid::units::{Length, Stiffness};
/// # let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), law)?;
/// // Without spin eΩ = 9 mm × 440 rad/s = 3.96 m/s everywhere; without an orbit (2/3) ωR = 1.2133 m/s.
/// assert!((face_mean_speed(&Face::new(&pad, 9e-3), 440.0, 0.0) - 3.96).abs() < 1e-12);
/// assert!((face_mean_speed(&Face::new(&pad, 0.0), 0.0, 26.0) - 2.0 / 3.0 * 26.0 * 0.07).abs() < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[must_use]
pub fn face_mean_speed(face: &Face, rate: f64, spin: f64) -> f64 {
    let (inner, outer) = (face.hole(), face.radius());
    let half_area = 0.5 * (outer * outer - inner * inner);
    let a = face.orbit() * rate.abs();
    // E(m) has a logarithmic corner where both parts of the speed are equal: split there.
    let still = if spin.abs() > 0.0 { a / spin.abs() } else { f64::INFINITY };
    let piece = |low: f64, high: f64, ends: Ends| {
        integrate(low, high, 24, ends, |r| pad_point_speed(face.orbit(), rate, spin, r) * r)
    };
    let sum = if still > inner && still < outer {
        piece(inner, still, Ends::Right) + piece(still, outer, Ends::Left)
    } else {
        piece(inner, outer, Ends::Smooth)
    };
    sum / half_area
}

/// Mean sliding speed over an orbit at a panel point `rho` from the tool axis, zero while the point
/// is uncovered [m/s].
///
/// ```text
/// ⟨|v|⟩ over covered phases,   |v|² = A² + B² + 2AB cos β,   A = e(Ω−ω),   B = ωρ   [m/s]
/// ```
///
/// This is not the closed form times the occupancy: near the rim the point is covered just while
/// the speed is high or low.
///
/// # Accuracy
/// `nodes` Gauss points an arc; 24 give about 1e-10 away from the point of no sliding.
///
/// # Example
/// ```
/// use trochoid::motion::{Face, panel_point_speed};
/// # use trochoid::equipment::{CompressionLaw, Pad};
/// # use trochoid::units::{Length, Stiffness};
/// # let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let face = Face::new(&Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), law)?, 9e-3);
/// // On the tool axis e(Ω−ω) = 9 mm × (440 − 26) rad/s = 3.726 m/s; out of the pad's reach nothing.
/// assert!((panel_point_speed(&face, 440.0, 26.0, 0.0, 24) - 3.726).abs() < 1e-12);
/// assert!(panel_point_speed(&face, 440.0, 26.0, 0.08, 24).abs() < 1e-15);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// Own definition, see `notebooks-free-docs/theory-removal.md`.
#[must_use]
pub fn panel_point_speed(face: &Face, rate: f64, spin: f64, rho: f64, nodes: usize) -> f64 {
    let (a, b) = (face.orbit() * (rate - spin), spin * rho);
    let mut arcs = Vec::new();
    if face.orbit() > 0.0 && face.always_covered(rho, rho) {
        return mean_speed(a, b);
    }
    face.arcs(rho, nodes, &mut arcs);
    arcs.iter().map(|p| p.cover * (a * a + b * b + 2.0 * a * b * p.cosine).max(0.0).sqrt()).sum::<f64>() + 0.0
}
