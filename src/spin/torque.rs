//! Friction summed over the load: torque about the pad axis, force along the orbit, mean of p|v|.
//!
//! Coulomb friction opposes the local sliding, τ = −μ p v/|v|. Feed is neglected in |v|.

use crate::contact::{Load, Sample};
use crate::math::elliptic::turn_averages;

/// Orbit-averaged sums over the load, with friction coefficient 1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FrictionSums {
    /// ⟨∫ p (ρ×v)/|v| dA⟩ about the pad axis, N·m; friction torque is −μ times it.
    pub moment_nm: f64,
    /// ⟨∫ p v·θ̂/|v| dA⟩ along the orbit, N.
    pub forward_n: f64,
    /// ⟨∫ p |v| dA⟩, W; removal is k_p times it, friction power μ times it.
    pub speed_w: f64,
}

/// Sums the load at orbit rate `rate` and spin `spin` [rad/s].
///
/// # Accuracy
/// On rings that are always covered the orbit average is a complete elliptic integral; elsewhere
/// Gauss nodes over the covered phases. The piece in which the sliding speed vanishes is split
/// there. Typically 1e-8 relative with the default nodes, 1e-12 in full contact at low spin.
#[must_use]
pub fn friction_sums(load: &Load, rate: f64, spin: f64) -> FrictionSums {
    sums_with(load, rate, spin, true)
}

/// As [`friction_sums`]; without `split` the nodes are those of the contact, wherever the sliding
/// speed vanishes: several times faster and good to about 1e-3, for the way to a root.
pub(crate) fn sums_with(load: &Load, rate: f64, spin: f64, split: bool) -> FrictionSums {
    match load {
        Load::Tilted(t) => {
            let e = t.face().orbit();
            let still = (split && spin.abs() > 0.0).then(|| (e * rate / spin).abs());
            friction_sums_of_samples(&t.samples_around(still, spin * rate > 0.0), e, rate, spin)
        }
        Load::Rings(rings) => {
            let e = rings.face().orbit();
            let a = e * (rate - spin);
            let still = (split && spin.abs() > 0.0).then(|| (a / spin).abs());
            let mut sums = FrictionSums::default();
            let mut crowded = Vec::new();
            rings.visit(still, |ring, arcs| {
                let b = spin * ring.rho;
                let load = ring.area * ring.pressure;
                let (i0, i1) = match arcs {
                    None => {
                        let t = turn_averages(a, b);
                        (t.inverse, t.cosine_inverse)
                    }
                    Some(list) => {
                        // Where the speed nearly vanishes at β = π (or 0), fresh crowded nodes.
                        let width = (a.abs() - b.abs()).abs() / (a * b).abs().sqrt();
                        let list = if split && width < 0.3 && e > 0.0 {
                            crowded.clear();
                            let width = width.max(1e-12);
                            rings.face().arcs_crowded(
                                ring.rho,
                                rings.arc_nodes() + 6,
                                width,
                                a * b > 0.0,
                                &mut crowded,
                            );
                            &crowded[..]
                        } else {
                            list
                        };
                        let (square, twice) = (a * a + b * b, 2.0 * a * b);
                        let (mut i0, mut i1) = (0.0, 0.0);
                        for p in list {
                            let v2 = twice * p.cosine + square;
                            let w = if v2 > 0.0 { p.weight / v2.sqrt() } else { 0.0 };
                            i0 += w;
                            i1 += w * p.cosine;
                        }
                        (i0, i1)
                    }
                };
                sums.moment_nm +=
                    load * ((spin * ring.rho * ring.rho - e * a) * i0 + e * ring.rho * (rate - 2.0 * spin) * i1);
                sums.forward_n += load * (a * i0 + b * i1);
                sums.speed_w += load * ((a * a + b * b) * i0 + 2.0 * a * b * i1);
            });
            sums
        }
    }
}

/// Sums over pad points and orbit phases, as for a tilted pad or the brute-force reference.
#[must_use]
pub fn friction_sums_of_samples(samples: &[Sample], orbit: f64, rate: f64, spin: f64) -> FrictionSums {
    let a = orbit * rate;
    let mut sums = FrictionSums::default();
    for p in samples {
        let b = spin * p.s;
        let v2 = a * a + b * b + 2.0 * a * b * p.cosine;
        if v2 <= 0.0 {
            continue;
        }
        let v = v2.sqrt();
        sums.moment_nm += p.force * p.s * (a * p.cosine + b) / v;
        sums.forward_n += p.force * (a + b * p.cosine) / v;
        sums.speed_w += p.force * v;
    }
    sums
}
