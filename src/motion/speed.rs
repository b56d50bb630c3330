//! Sliding speeds, averaged over the orbit, in the pad's frame and in the panel's.

use super::Face;
use crate::math::elliptic::mean_speed;
use crate::math::quadrature::{Ends, integrate};

/// Mean sliding speed over an orbit of a pad point at `r` from the pad centre, tool at rest, m/s.
///
/// ```text
/// (2/π)(a + b) E(m),   m = 4ab/(a+b)²,   a = e Ω [m/s],   b = |ω| r [m/s]
/// ```
///
/// # Units
/// `orbit` e in m, `rate` Ω and `spin` ω in rad/s, `r` in m.
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

/// Area mean over the face of the orbit-mean sliding speed, m/s.
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
/// is uncovered, m/s.
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
