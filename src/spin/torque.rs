//! Friction summed over the load: torque about the pad axis, force along the orbit, mean of p|v|.
//!
//! Coulomb friction opposes the local sliding, τ = −μ p v/|v|. Feed is neglected in |v|.

use crate::contact::{Load, LocalLoad, Ring, Rings, Sample};
use crate::math::elliptic::turn_averages;
use crate::motion::ArcPoint;

/// Orbit-averaged sums over the load, with friction coefficient 1; all zero for a face that sticks.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct FrictionSums {
    /// ⟨∫ p (ρ×v)/|v| dA⟩ about the pad axis \[N·m\]; friction torque is −μ times it.
    pub moment_nm: f64,
    /// ⟨∫ p v·θ̂/|v| dA⟩ along the orbit \[N\].
    pub forward_n: f64,
    /// ⟨∫ p |v| dA⟩ \[W\]; removal is k_p times it, friction power μ times it.
    pub speed_w: f64,
}

/// Phases of a ring, and the forces that stand in place of their weights where a pad is tilted.
type Phases<'a> = Option<(&'a [ArcPoint], Option<&'a [f64]>)>;

impl FrictionSums {
    /// Adds a ring at `rho` that would carry `force` were it always covered; `None` for the phases of a
    /// ring that is.
    fn add_ring(&mut self, (rho, force): (f64, f64), phases: Phases<'_>, e: f64, rate: f64, spin: f64) {
        let (a, b) = (e * (rate - spin), spin * rho);
        let (square, twice) = (a * a + b * b, 2.0 * a * b);
        let (i0, i1) = match phases {
            None => {
                let t = turn_averages(a, b);
                (t.inverse, t.cosine_inverse)
            }
            Some((list, own)) => {
                let (mut i0, mut i1) = (0.0, 0.0);
                for (i, p) in list.iter().enumerate() {
                    let v2 = twice * p.cosine + square;
                    let weight = own.map_or(p.weight, |w| w[i]);
                    let w = if v2 > 0.0 { weight / v2.sqrt() } else { 0.0 };
                    i0 += w;
                    i1 += w * p.cosine;
                }
                (i0, i1)
            }
        };
        self.moment_nm += force * ((spin * rho * rho - e * a) * i0 + e * rho * (rate - 2.0 * spin) * i1);
        self.forward_n += force * (a * i0 + b * i1);
        self.speed_w += force * (square * i0 + twice * i1);
    }
}

/// A load that friction can be summed over: that of one patch ([`Load`]) or of a place on a real panel
/// ([`LocalLoad`]).
pub trait FrictionLoad {
    /// The sums at orbit rate `rate` and spin `spin` [rad/s]; with `split`, exactly where the sliding
    /// speed vanishes too.
    fn friction_sums(&self, rate: f64, spin: f64, split: bool) -> FrictionSums;
}

impl FrictionLoad for Load {
    fn friction_sums(&self, rate: f64, spin: f64, split: bool) -> FrictionSums {
        sums_with(self, rate, spin, split)
    }
}

/// On the contact's own nodes always: a place on a real panel is known to about a thousandth.
impl FrictionLoad for LocalLoad<'_> {
    fn friction_sums(&self, rate: f64, spin: f64, _split: bool) -> FrictionSums {
        let mut sums = FrictionSums::default();
        for ring in self.rings() {
            sums.add_ring((ring.rho, ring.force), ring.arcs, self.face().orbit(), rate, spin);
        }
        sums
    }
}

/// Sums the load at orbit rate `rate` and spin `spin` [rad/s].
///
/// ```text
/// ⟨∫ p (ρ×v)_z/|v| dA⟩ [N·m],   ⟨∫ p v·θ̂/|v| dA⟩ [N],   ⟨∫ p|v| dA⟩ [W]      v = eΩ θ̂ + ω ẑ×ρ [m/s]
/// ```
///
/// # Assumptions and valid range
/// Coulomb friction; feed left out of v; pressure held by the panel, not by the pad, so that it stands still
/// in space while the pad orbits.
///
/// # Accuracy
/// On rings that are always covered the orbit average is a complete elliptic integral; elsewhere
/// Gauss nodes over the covered phases. The piece in which the sliding speed vanishes is split
/// there. Typically 1e-8 relative with the default nodes, 1e-12 in full contact at low spin.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::spin::friction_sums;
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let flat = solve(&pad, &Patch::flat(), 9e-3, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // No spin: every point runs at eΩ = 4.5 m/s along the orbit: 40 N forward, 40 × 4.5 = 180 W, no torque.
/// let sums = friction_sums(&flat.load, 500.0, 0.0);
/// assert!((sums.forward_n - 40.0).abs() < 1e-8 && (sums.speed_w - 180.0).abs() < 1e-7);
/// assert!(sums.moment_nm.abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Farkas, Bartels, Unger and Wolf (2003); Leine and Glocker (2003), for an even load.
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
            let mut sums = FrictionSums::default();
            visit_phases(rings, rate, spin, split, |ring, phases| {
                sums.add_ring((ring.rho, ring.area * ring.pressure), phases, e, rate, spin);
            });
            sums
        }
    }
}

/// Calls `f` for every ring with its phases; with `split`, on nodes crowded where the sliding speed
/// vanishes.
fn visit_phases(rings: &Rings, rate: f64, spin: f64, split: bool, mut f: impl FnMut(&Ring, Phases<'_>)) {
    let e = rings.face().orbit();
    let a = e * (rate - spin);
    let still = (split && spin.abs() > 0.0).then(|| (a / spin).abs());
    let mut crowded = Vec::new();
    rings.visit(still, |ring, arcs| {
        let Some(list) = arcs else { return f(ring, None) };
        // Where the speed nearly vanishes at β = π (or 0), fresh crowded nodes.
        let b = spin * ring.rho;
        let width = (a.abs() - b.abs()).abs() / (a * b).abs().sqrt();
        if split && width < 0.3 && e > 0.0 {
            crowded.clear();
            let (nodes, at_pi) = (rings.arc_nodes() + 6, a * b > 0.0);
            rings.face().arcs_crowded(ring.rho, nodes, width.max(1e-12), at_pi, &mut crowded);
            f(ring, Some((&crowded, None)));
        } else {
            f(ring, Some((list, None)));
        }
    });
}

/// What one ring of panel points does to the pad per newton on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct RingArm {
    /// Distance from the tool axis \[m\].
    pub(crate) rho: f64,
    /// Area that the ring stands for times the share of the orbit during which it is backed \[m²\].
    pub(crate) area: f64,
    /// Friction moment about the pad axis over the orbit-averaged force on the ring, at a friction
    /// coefficient of 1 \[m\]; positive where it brakes a pad that turns with the orbit.
    pub(crate) arm: f64,
}

/// Arms of the rings of a load, outward. They depend on the face, the rates and where the nodes
/// lie, not on the pressure.
pub(crate) fn ring_arms(rings: &Rings, rate: f64, spin: f64) -> Vec<RingArm> {
    let e = rings.face().orbit();
    let mut arms = Vec::new();
    visit_phases(rings, rate, spin, true, |ring, phases| {
        let mut one = FrictionSums::default();
        one.add_ring((ring.rho, 1.0), phases, e, rate, spin);
        let cover = phases.map_or(1.0, |(list, _)| list.iter().map(|p| p.weight).sum());
        if cover > 0.0 {
            arms.push(RingArm { rho: ring.rho, area: ring.area * cover, arm: one.moment_nm / cover });
        }
    });
    arms
}

/// Sums over pad points and orbit phases at an orbit radius \[m\], orbit rate and spin [rad/s], as for a tilted
/// pad or the brute-force reference.
///
/// ```text
/// a = eΩ, b = ω s [m/s],   |v|² = a² + b² + 2ab cos β      s distance from the pad centre [m], force F a point [N]
/// Σ F s (a cos β + b)/|v| [N·m],   Σ F (a + b cos β)/|v| [N],   Σ F |v| [W]
/// ```
///
/// Points that do not slide at all add nothing.
///
/// # Example
/// ```
/// use trochoid::contact::Sample;
/// // One newton 50 mm from the centre, at a right angle to the orbit radius: a = 0.006 × 500 = 3 m/s,
/// // b = 80 × 0.05 = 4 m/s, |v| = 5 m/s. Torque 0.05 × 4/5, force 3/5, work 5.
/// let point = Sample { s: 0.05, cosine: 0.0, force: 1.0 };
/// let sums = trochoid::spin::friction_sums_of_samples(&[point], 6e-3, 500.0, 80.0);
/// assert!((sums.moment_nm - 0.04).abs() < 1e-15 && (sums.forward_n - 0.6).abs() < 1e-15);
/// assert!((sums.speed_w - 5.0).abs() < 1e-12);
/// ```
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

/// Work done on each ring of panel points, outward: distance from the tool axis \[m\] and ⟨p|v|⟩ over the
/// orbit there \[W/m²\], on the contact's own nodes.
pub(crate) fn ring_works(rings: &Rings, rate: f64, spin: f64) -> Vec<(f64, f64)> {
    let e = rings.face().orbit();
    let mut works = Vec::new();
    visit_phases(rings, rate, spin, false, |ring, phases| {
        let mut one = FrictionSums::default();
        one.add_ring((ring.rho, ring.pressure), phases, e, rate, spin);
        works.push((ring.rho, one.speed_w));
    });
    works
}
