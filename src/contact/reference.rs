//! The slow obvious method: midpoint sums over pad rings, spokes and orbit phases, with nothing
//! split, averaged or symmetric; on a relief with free edges over a square grid of pad points instead.
//! The tests hold the fast methods against it. It solves nothing: heave and slopes are given.

use super::Sample;
use crate::equipment::Pad;
use crate::motion::Face;
use crate::panel::Patch;
use core::f64::consts::PI;

/// Resolution of the sums.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Resolution {
    /// Pad rings, from the hole to the rim.
    pub rings: usize,
    /// Spokes around the pad.
    pub spokes: usize,
    /// Orbit phases.
    pub phases: usize,
}

/// Sums over pad and orbit.
#[derive(Debug, Clone, PartialEq)]
pub struct BruteForce {
    /// Orbit-averaged force \[N\].
    pub force_n: f64,
    /// Orbit-averaged moment of the pressure about the pad centre along x and y [N·m].
    pub moment_nm: (f64, f64),
    /// Largest pressure met \[Pa\].
    pub peak_pa: f64,
    /// Orbit mean of the share of the face that is off the panel \[1\]; zero on a patch, which has no edge.
    pub overhang_share: f64,
    /// Pad points and phases, for friction sums.
    pub samples: Vec<Sample>,
}

impl BruteForce {
    const fn nothing() -> Self {
        Self { force_n: 0.0, moment_nm: (0.0, 0.0), peak_pa: 0.0, overhang_share: 0.0, samples: Vec::new() }
    }
}

/// Sums the pressure of `pad` on `patch` at a given heave and slopes.
///
/// ```text
/// ⟨∫ b(s) P(δ0 + t·ρ − g(e r̂ + ρ)) dA⟩      orbit mean of the force [N]
/// ```
///
/// # Units
/// `orbit` e and `heave` δ0 in m, `slopes` t dimensionless.
///
/// # Accuracy
/// Midpoint rule: second order in the spacing, worse at the contact edge.
///
/// # Example
/// ```
/// use trochoid::contact::reference::{Resolution, brute_force};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// // 2 mm deep in 1 kPa/mm on a flat: 2 kPa everywhere, 2000 × π 0.07² = 30.788 N, no moment.
/// let n = Resolution { rings: 8, spokes: 8, phases: 4 };
/// let sums = brute_force(&pad, &Patch::flat(), 9e-3, (0.0, 0.0), 2e-3, n);
/// assert!((sums.force_n - 30.788).abs() < 5e-4 && (sums.peak_pa - 2000.0).abs() < 1e-9);
/// assert!(sums.moment_nm.0.hypot(sums.moment_nm.1) < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[must_use]
pub fn brute_force(pad: &Pad, patch: &Patch, orbit: f64, slopes: (f64, f64), heave: f64, n: Resolution) -> BruteForce {
    let face = Face::new(pad, orbit);
    let stack = pad.stack();
    let ring_width = (face.radius() - face.hole()) / n.rings as f64;
    let mut out = BruteForce::nothing();
    for j in 0..n.phases {
        let alpha = 2.0 * PI * (j as f64 + 0.5) / n.phases as f64;
        for i in 0..n.rings {
            let s = face.hole() + (i as f64 + 0.5) * ring_width;
            let area = s * ring_width * 2.0 * PI / (n.spokes * n.phases) as f64;
            for l in 0..n.spokes {
                let phi = 2.0 * PI * (l as f64 + 0.5) / n.spokes as f64;
                let (x, y) = (s * phi.cos(), s * phi.sin());
                let gap = patch.gap(orbit * alpha.cos() + x, orbit * alpha.sin() + y);
                let p = face.backing(s) * stack.pressure(heave + slopes.0 * x + slopes.1 * y - gap).0;
                out.force_n += p * area;
                out.moment_nm.0 += p * x * area;
                out.moment_nm.1 += p * y * area;
                out.peak_pa = out.peak_pa.max(p);
                if p > 0.0 {
                    out.samples.push(Sample { s, cosine: (phi - alpha).cos(), force: p * area });
                }
            }
        }
    }
    out
}

/// Sums the pressure of `pad` on any relief at a given heave and slopes. `gap` is the gap \[m\] below the
/// plane through the tool axis at a panel point, `None` beyond a free edge. Pad points stand on a square
/// grid `spacing` \[m\] apart, at `phases` places of the orbit.
///
/// # Accuracy
/// Midpoint rule over squares that the face's rim and the panel's edge cut: about the spacing over the
/// face's radius, less for the mean over the phases.
///
/// # Example
/// ```
/// use trochoid::contact::reference::brute_force_on_relief;
/// use trochoid::{CompressionLaw, Length, Pad, Stiffness};
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// // A flat that ends under the tool axis: half of the face hangs over, and half of 30.788 N is carried.
/// let edge = |x: f64, _: f64| (x < 0.0).then_some(0.0);
/// let sums = brute_force_on_relief(&pad, 9e-3, (2e-3, (0.0, 0.0)), (2e-3, 8), edge);
/// assert!((sums.overhang_share - 0.5).abs() < 1e-9 && (sums.force_n - 15.394).abs() < 5e-4);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[must_use]
pub fn brute_force_on_relief(
    pad: &Pad,
    orbit: f64,
    (heave, slopes): (f64, (f64, f64)),
    (spacing, phases): (f64, usize),
    gap: impl Fn(f64, f64) -> Option<f64>,
) -> BruteForce {
    let face = Face::new(pad, orbit);
    let stack = pad.stack();
    let mut points = Vec::new();
    let mut y = 0.5 * spacing - face.radius();
    while y < face.radius() {
        let mut x = 0.5 * spacing - face.radius();
        while x < face.radius() {
            let s = x.hypot(y);
            if s <= face.radius() && s >= face.hole() {
                points.push((x, y, s));
            }
            x += spacing;
        }
        y += spacing;
    }
    // The squares stand for the face as a whole, so that its area is exact.
    let area = face.area() / (points.len() * phases) as f64;
    let mut out = BruteForce::nothing();
    for j in 0..phases {
        let alpha = 2.0 * PI * (j as f64 + 0.5) / phases as f64;
        for (x, y, s) in &points {
            let Some(gap) = gap(orbit * alpha.cos() + x, orbit * alpha.sin() + y) else {
                out.overhang_share += area / face.area();
                continue;
            };
            let p = face.backing(*s) * stack.pressure(heave + slopes.0 * x + slopes.1 * y - gap).0;
            out.force_n += p * area;
            out.moment_nm.0 += p * x * area;
            out.moment_nm.1 += p * y * area;
            out.peak_pa = out.peak_pa.max(p);
            if p > 0.0 {
                out.samples.push(Sample { s: *s, cosine: (y.atan2(*x) - alpha).cos(), force: p * area });
            }
        }
    }
    out
}
