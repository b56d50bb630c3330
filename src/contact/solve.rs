//! The force balance: finds the heave (and, for a self-aligning hold, the tilt) at which the
//! orbit-averaged normal force is the one asked for.

use super::rings::{Rings, piece_nodes, pieces, spread};
use super::tilted::{self, TiltedLoad};
use super::{BottomedOut, ContactError, Hold, PressureField};
use crate::equipment::{Pad, Stack};
use crate::math::quadrature::{MAX_NODES, rule};
use crate::motion::Face;
use crate::panel::Patch;
use core::f64::consts::PI;

/// Numerical knobs of the contact solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ContactSettings {
    /// Gauss nodes a radial piece, 1 to 128. Default 10.
    pub radial_nodes: usize,
    /// Gauss nodes an arc of orbit phases, 1 to 128. Default 10.
    pub arc_nodes: usize,
    /// Nodes around a ring where the panel is curved differently along its two axes. Default 16.
    pub azimuth_nodes: usize,
    /// Orbit phases of a tilted pad. Default 24.
    pub phases: usize,
    /// Relative force balance at which the heave iteration stops \[1\]. Default 1e-11.
    pub balance: f64,
    /// Relative quadrature error of the force that is aimed at \[1\]; nodes are doubled until the
    /// estimate (an upper bound) is below it, at most four times. Not for a tilted pad, which keeps its
    /// nodes and tells its error. Default 1e-6.
    pub tolerance: f64,
}

impl Default for ContactSettings {
    fn default() -> Self {
        Self { radial_nodes: 10, arc_nodes: 10, azimuth_nodes: 16, phases: 24, balance: 1e-11, tolerance: 1e-6 }
    }
}

impl ContactSettings {
    /// Settings to judge these by. Seven tenths of the nodes are about half as dear and bound the
    /// error from above where it falls steadily; with few nodes, or on the corners that a measured
    /// law has around a ring, twice the nodes.
    fn judge(&self, patch: &Patch, stack: &Stack) -> Self {
        let (k1, k2) = patch.principal();
        let corners = stack.linear_stiffness().is_none() && (k1 - k2).abs() > 0.0;
        let finer = 2 * self.radial_nodes.max(self.arc_nodes).max(self.azimuth_nodes) <= MAX_NODES;
        if finer && (corners || self.radial_nodes < 8) { self.doubled() } else { self.fewer() }
    }

    /// The same settings with seven tenths of the nodes: a rule about half as dear, whose distance
    /// from the full one bounds the error of the latter from above.
    #[must_use]
    pub(crate) fn fewer(&self) -> Self {
        let most = |n: usize| (n.min(MAX_NODES) * 7 / 10).max(1);
        Self {
            radial_nodes: most(self.radial_nodes),
            arc_nodes: most(self.arc_nodes),
            azimuth_nodes: most(self.azimuth_nodes),
            phases: (self.phases * 7 / 10).max(1) | 1,
            ..*self
        }
    }

    /// The same settings with twice the nodes and phases, as to judge a result by.
    #[must_use]
    pub fn doubled(&self) -> Self {
        Self {
            radial_nodes: 2 * self.radial_nodes,
            arc_nodes: 2 * self.arc_nodes,
            azimuth_nodes: 2 * self.azimuth_nodes,
            phases: 2 * self.phases,
            ..*self
        }
    }
}

/// What carries the load, in the form that friction and removal are summed over.
#[derive(Debug, Clone, PartialEq)]
pub enum Load {
    /// Pad held square: rings around the tool axis.
    Rings(Rings),
    /// Tilted pad: pad points at orbit phases.
    Tilted(TiltedLoad),
}

impl Load {
    /// The same load on fewer nodes, to judge sums over it by.
    pub(crate) fn fewer(&self) -> Self {
        match self {
            Self::Rings(r) => Self::Rings(r.fewer()),
            Self::Tilted(t) => Self::Tilted(t.fewer()),
        }
    }
}

/// A solved contact; see the example of [`solve`].
#[derive(Debug, Clone, PartialEq)]
pub struct Contact {
    /// Compression at the pad centre's mean position (the tool axis for a pad held square) \[m\].
    pub heave_m: f64,
    /// Slopes of the plate along x and y \[1\].
    pub slopes: (f64, f64),
    /// Force over face area \[Pa\]; the hole is left out of the area.
    pub mean_pressure_pa: f64,
    /// Largest pressure over the pad and the orbit, rim included \[Pa\].
    pub peak_pressure_pa: f64,
    /// Orbit mean of the pressure at the pad centre \[Pa\]; `None` with a hole.
    pub centre_pressure_pa: Option<f64>,
    /// Orbit mean of the share of the pad area that touches \[1\].
    pub contact_share: f64,
    /// Largest compression over the pad and the orbit \[m\], and the stack's limit \[m\].
    pub compression_m: (f64, f64),
    /// Stiffness of the contact against heave [N/m].
    pub heave_stiffness_n_m: f64,
    /// Force carried \[N\].
    pub force_n: f64,
    /// Estimated relative error of the force from the quadrature \[1\]; NaN where no estimate was asked for.
    pub error: f64,
    /// Evaluations of the force balance.
    pub evaluations: u32,
    /// The load for friction and removal.
    pub load: Load,
}

/// Solves the contact of `pad` on `patch` with its face on an orbit of radius `orbit` \[m\].
///
/// ```text
/// δ = δ0 + tilt·ρ − g(e r̂ + ρ)      compression of a pad point [m]
/// ⟨∫ P(δ) dA⟩ = N                    orbit-averaged force balance [N]
/// ```
///
/// # Units
/// `orbit` e_f in m, `newtons` N in N; everything in [`Contact`] is SI.
///
/// # Assumptions and valid range
/// Independent springs under a stiff plate; heave and tilt constant over the orbit, which holds while
/// contact stiffness over tool mass is far below Ω²; the panel does not give.
///
/// # Accuracy
/// The heave is found to the relative force balance of `settings.balance` by a bracketed Newton
/// iteration on a rising function; the quadrature is split at the contact edge. Its error is judged
/// by seven tenths of the nodes, which bounds that of all of them from above; for a tilted pad also
/// by what the highest harmonics over the orbit phases hold.
///
/// # Errors
/// [`ContactError::ForceTooLarge`] when the mean pressure alone passes the compression law,
/// [`ContactError::BottomsOut`] when the local strain does, with the force that would fit.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let flat = solve(&pad, &Patch::flat(), 9e-3, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // 40 N over π 70² mm² are 2598 Pa, and 2.598 mm at 1 kPa/mm.
/// assert!((flat.mean_pressure_pa - 2598.4).abs() < 0.1);
/// assert!((flat.heave_m - 2.5984e-3).abs() < 1e-7);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own reduction to rings, see `notebooks-free-docs/theory-contact.md`; the elastic foundation is
/// Winkler's.
pub fn solve(
    pad: &Pad,
    patch: &Patch,
    orbit: f64,
    hold: &Hold,
    force_n: f64,
    settings: &ContactSettings,
) -> Result<Contact, ContactError> {
    let face = Face::new(pad, orbit);
    let stack = pad.stack();
    let backed_area = 2.0 * PI * face.radial_moment(1);
    let limit_n = stack.limit_pressure() * backed_area;
    if force_n > limit_n {
        return Err(ContactError::ForceTooLarge { force_n, limit_n });
    }
    // A patch centred on the tool axis is symmetric under half a turn, so the orbit-averaged moment
    // of a square pad vanishes: self-aligning and flat are the same state (the tests solve the
    // tilted problem to show it).
    let (sx, sy) = hold.slopes();
    if sx.abs().max(sy.abs()) > 0.0 {
        return tilted::solve(&face, &stack, patch, (sx, sy), force_n, settings, true);
    }
    let mut s = *settings;
    let mut solved = square(&face, &stack, patch, force_n, &s, true)?;
    for _ in 0..4 {
        if solved.error <= settings.tolerance {
            break;
        }
        s = s.doubled();
        let evaluations = solved.evaluations;
        solved = square(&face, &stack, patch, force_n, &s, true)?;
        solved.evaluations += evaluations;
    }
    Ok(solved)
}

/// One solution at the nodes given, without an error estimate: for searches that evaluate many
/// contacts and refine the one they end on.
pub(crate) fn solve_once(
    pad: &Pad,
    patch: &Patch,
    orbit: f64,
    hold: &Hold,
    force_n: f64,
    settings: &ContactSettings,
) -> Result<Contact, ContactError> {
    let face = Face::new(pad, orbit);
    let stack = pad.stack();
    let (sx, sy) = hold.slopes();
    if sx.abs().max(sy.abs()) > 0.0 {
        return tilted::solve(&face, &stack, patch, (sx, sy), force_n, settings, false);
    }
    square(&face, &stack, patch, force_n, settings, false)
}

/// Force that a square pad carries on `patch` where its hardest pressed point is at the stack's limit,
/// less `force_n`; negative where the pad bottoms out before it carries that force. One evaluation of
/// the force balance.
pub(crate) fn spare_force(pad: &Pad, patch: &Patch, orbit: f64, force_n: f64, settings: &ContactSettings) -> f64 {
    let face = Face::new(pad, orbit);
    let stack = pad.stack();
    let mut field = PressureField::new(stack.clone(), patch.principal(), 0.0, settings.azimuth_nodes);
    field.set_heave(stack.limit_compression() - hardest(&face, &field).1);
    Balance::new(&face, &stack, settings).force(&field).0 - force_n
}

/// Distance from the tool axis of the hardest pressed point of a square pad, and its compression beyond
/// that on the axis. It lies where the panel falls away least: at the axis on a crown, at the rim in a
/// hollow.
fn hardest(face: &Face, field: &PressureField) -> (f64, f64) {
    let least = field.least_curvature();
    let radius = if least >= 0.0 { face.core() } else { face.reach() };
    (radius, -0.5 * least * radius * radius)
}

/// Cached nodes of one piece between the face's own breaks.
struct Base {
    low: f64,
    high: f64,
    nodes: Vec<(f64, f64)>,
}

struct Balance<'a> {
    face: &'a Face,
    breaks: Vec<f64>,
    base: Vec<Base>,
    knots: Vec<f64>,
    settings: &'a ContactSettings,
    contact_breaks: Vec<f64>,
}

impl<'a> Balance<'a> {
    fn new(face: &'a Face, stack: &Stack, settings: &'a ContactSettings) -> Self {
        let breaks = face.breaks();
        let base = breaks
            .windows(2)
            .map(|w| {
                let (low, high) = (w[0], w[1]);
                let covered = face.always_covered(low, high);
                let ends = spread(covered, face.orbit(), false, false, false);
                let mut nodes = Vec::with_capacity(settings.radial_nodes);
                push_nodes(face, covered, (low, high), ends, settings, 1.0, &mut nodes);
                Base { low, high, nodes }
            })
            .collect();
        Self { face, breaks, base, knots: stack.knots(), settings, contact_breaks: Vec::new() }
    }

    /// Force and derivative on the uncut nodes, and whether the contact cuts any piece.
    fn rough_force(&mut self, field: &PressureField) -> (f64, f64, bool) {
        field.breaks(&self.knots, &mut self.contact_breaks);
        let cut = self.base.iter().any(|b| self.contact_breaks.iter().any(|r| *r > b.low && *r < b.high));
        let mut sums = (0.0, 0.0);
        if cut {
            for b in &self.base {
                add_nodes(field, &b.nodes, &mut sums);
            }
        }
        (sums.0, sums.1, cut)
    }

    /// Orbit-averaged force and its derivative with heave.
    fn force(&mut self, field: &PressureField) -> (f64, f64) {
        field.breaks(&self.knots, &mut self.contact_breaks);
        let anisotropic = !field.isotropic();
        let mut sums = (0.0, 0.0);
        let mut fresh = Vec::new();
        for b in &self.base {
            let whole = !self.contact_breaks.iter().any(|r| *r > b.low && *r < b.high);
            if whole {
                add_nodes(field, &b.nodes, &mut sums);
                continue;
            }
            let covered = self.face.always_covered(b.low, b.high);
            pieces(&[b.low, b.high], &self.contact_breaks, |low, high, from, to, share| {
                fresh.clear();
                let ends = spread(covered, self.face.orbit(), anisotropic, from, to);
                push_nodes(self.face, covered, (low, high), ends, self.settings, share, &mut fresh);
                add_nodes(field, &fresh, &mut sums);
            });
        }
        sums
    }
}

/// Adds force and stiffness of (distance, weight) nodes.
fn add_nodes(field: &PressureField, nodes: &[(f64, f64)], sums: &mut (f64, f64)) {
    for (rho, weight) in nodes {
        let mean = field.ring(*rho);
        sums.0 += weight * mean.pressure;
        sums.1 += weight * mean.stiffness;
    }
}

fn push_nodes(
    face: &Face,
    covered: bool,
    (low, high): (f64, f64),
    ends: crate::math::quadrature::Ends,
    settings: &ContactSettings,
    share: f64,
    out: &mut Vec<(f64, f64)>,
) {
    let span = high - low;
    for q in rule(piece_nodes(settings.radial_nodes, share), ends) {
        let rho = low + span * q.x;
        let cover = if covered { 1.0 } else { face.backed_occupancy(rho, settings.arc_nodes) };
        out.push((rho, 2.0 * PI * rho * q.w * span * cover));
    }
}

fn square(
    face: &Face,
    stack: &Stack,
    patch: &Patch,
    force_n: f64,
    settings: &ContactSettings,
    estimate: bool,
) -> Result<Contact, ContactError> {
    let mut field = PressureField::new(stack.clone(), patch.principal(), 0.0, settings.azimuth_nodes);
    let least = field.least_curvature();
    let (hardest, lift) = hardest(face, &field);
    let (mut low, mut high) = (-lift, stack.limit_compression() - lift);
    let mut balance = Balance::new(face, stack, settings);

    let area = 2.0 * PI * face.radial_moment(1);
    let mean_square = 2.0 * PI * face.radial_moment(3) / area + face.orbit() * face.orbit();
    let guess = stack.compression_at(force_n / area) + 0.5 * patch.mean() * mean_square;
    let mut heave = guess.clamp(low, high);
    let mut evaluations = 0;
    let mut carried = (0.0, 0.0);
    let mut converged = false;
    // Where the contact cuts the pieces, two turns on the uncut nodes come near at a third of the
    // price; they neither bracket nor decide anything.
    for _ in 0..2 {
        field.set_heave(heave);
        let (rough, stiffness, cut) = balance.rough_force(&field);
        let newton = heave - (rough - force_n) / stiffness;
        let inside = newton > low && newton < high;
        if !(cut && inside) {
            break;
        }
        heave = newton;
    }
    for _ in 0..100 {
        field.set_heave(heave);
        carried = balance.force(&field);
        evaluations += 1;
        let miss = carried.0 - force_n;
        if miss.abs() <= settings.balance * force_n {
            converged = true;
            break;
        }
        if heave >= stack.limit_compression() - lift && miss < 0.0 {
            return Err(ContactError::BottomsOut(BottomedOut {
                force_n,
                fitting_force_n: carried.0,
                radius_m: hardest,
                place: place(least, face),
            }));
        }
        if miss > 0.0 {
            high = heave;
        } else {
            low = heave;
        }
        let newton = if carried.1 > 0.0 { heave - miss / carried.1 } else { f64::NAN };
        // A step past the limit is tried at the limit itself, which settles whether it carries.
        let next = if newton > low && newton < high {
            newton
        } else if newton >= high {
            high
        } else {
            0.5 * (low + high)
        };
        if (next - heave).abs() <= 1e-16 * heave.abs().max(1e-6) || (high - low) <= 1e-16 {
            converged = miss.abs() <= 1e-9 * force_n;
            break;
        }
        heave = next;
    }
    if !converged {
        return Err(ContactError::NotConverged { heave_m: heave, residual_n: carried.0 - force_n });
    }

    let error = if estimate {
        let judge = settings.judge(patch, stack);
        let judge_field = PressureField::new(stack.clone(), patch.principal(), heave, judge.azimuth_nodes);
        evaluations += 1;
        (Balance::new(face, stack, &judge).force(&judge_field).0 - carried.0).abs() / force_n
    } else {
        f64::NAN
    };
    field.breaks(&balance.knots, &mut balance.contact_breaks);
    let rings = Rings::build(face, &field, &balance.breaks, &balance.contact_breaks, settings);

    // The loosest place lies where the panel falls away most: at the rim on a crown, at the axis in a
    // hollow. Where that still touches, everything does, whatever the quadrature of the share says.
    let most = patch.principal().0.max(patch.principal().1);
    let farthest = if most > 0.0 { face.reach() } else { face.core() };
    let loosest = heave - 0.5 * most * farthest * farthest;
    let mut touching = 0.0;
    rings.visit(None, |ring, arcs| {
        touching += ring.area * ring.touching * arcs.map_or(1.0, |a| a.iter().map(|p| p.cover).sum::<f64>());
    });
    Ok(Contact {
        heave_m: heave,
        slopes: (0.0, 0.0),
        mean_pressure_pa: force_n / face.area(),
        peak_pressure_pa: peak(face, stack, heave, least),
        centre_pressure_pa: (face.hole() <= 0.0).then(|| field.ring(face.orbit()).pressure),
        contact_share: if loosest >= 0.0 { 1.0 } else { (touching / face.area()).min(1.0) },
        compression_m: (heave + lift, stack.limit_compression()),
        heave_stiffness_n_m: carried.1,
        force_n,
        error,
        evaluations,
        load: Load::Rings(rings),
    })
}

fn place(least: f64, face: &Face) -> &'static str {
    if least < 0.0 {
        "at the rim"
    } else if face.core() > 0.0 {
        "at the edge of the hole"
    } else {
        "under the tool axis"
    }
}

/// Largest pressure over pad and orbit, the plate's backing counted.
fn peak(face: &Face, stack: &Stack, heave: f64, least: f64) -> f64 {
    let at = |rho: f64| stack.pressure(heave - 0.5 * least * rho * rho).0;
    if least >= 0.0 {
        return at(face.core());
    }
    if !face.overhangs() {
        return at(face.reach());
    }
    // Backing falls and pressure rises toward the rim: search the overhang.
    let span = face.radius() - face.plate();
    let value = |t: f64| {
        let s = face.plate() + t * span;
        face.backing(s) * at(s + face.orbit())
    };
    let mut best = (0.0, value(0.0));
    for i in 1..=64 {
        let t = f64::from(i) / 64.0;
        if value(t) > best.1 {
            best = (t, value(t));
        }
    }
    let (mut a, mut b) = ((best.0 - 1.0 / 64.0_f64).max(0.0), (best.0 + 1.0 / 64.0_f64).min(1.0));
    for _ in 0..60 {
        let (c, d) = (a + 0.382 * (b - a), b - 0.382 * (b - a));
        if value(c) > value(d) {
            b = d;
        } else {
            a = c;
        }
    }
    best.1.max(value(0.5 * (a + b)))
}
