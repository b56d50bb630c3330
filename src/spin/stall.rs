//! Stall limits: the curvature at which the spin falls to the useful minimum, and the one at which
//! it would reverse.
//!
//! The net torque never rises with the spin (see `balance`), so "the spin is at least ω_u" is the
//! same as "the net torque at ω_u is not negative". A limit is thus a root in the curvature of the
//! net torque at one fixed spin, and no root in the spin is needed.

use super::balance::{SLIP_SCALE, spin_state};
use super::setup::Setup;
use super::torque::friction_sums;
use crate::contact::{ContactError, ContactSettings, Load, solve_once};
use crate::math::root;
use crate::panel::Patch;
use crate::units::Curvature;
use std::cell::RefCell;
use std::collections::HashMap;

/// Largest curvature searched [1/m].
pub const SEARCH_LIMIT_PER_M: f64 = 20.0;

/// Knobs of the search for stall limits. Default: 60 rpm, 48 curvatures, 1e-9, the contact's own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StallSettings {
    /// Useful minimum of the spin [rad/s]; 60 rpm, common practice, no source.
    pub useful_spin: f64,
    /// Curvatures scanned on the way to the limit before a crossing is refined.
    pub scan: usize,
    /// Relative tolerance of a crossing \[1\].
    pub tolerance: f64,
    /// Contact settings of a crossing; the scan runs on seven tenths of the nodes.
    pub contact: ContactSettings,
}

impl Default for StallSettings {
    fn default() -> Self {
        Self {
            useful_spin: crate::units::AngularRate::from_rpm(crate::equipment::defaults::USEFUL_SPIN_RPM).rad_s(),
            scan: 48,
            tolerance: 1e-9,
            contact: ContactSettings::default(),
        }
    }
}

/// A limit found: a curvature, or a factor on the panel's own ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Place of the first crossing [1/m], or \[1\] along a panel.
    pub at: f64,
    /// Error estimate \[as `at`\]: the change from seven tenths of the nodes to all of them, and the root's own.
    pub error: f64,
    /// Along a panel beyond its first crossing: the factor \[1\] at which the pad turns again. `None`
    /// elsewhere.
    pub second: Option<f64>,
}

/// Stall limits of one set-up; all `None` and not stalled for a drive that is not free.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StallLimits {
    /// Whether the pad already turns below the useful minimum on a flat panel.
    pub stalled_on_flat: bool,
    /// Sphere on which the spin falls to the useful minimum (negative), or, where the flat already
    /// stalls, rises to it (positive) [1/m].
    pub sphere: Option<Crossing>,
    /// Sphere on which the net torque at zero spin vanishes: beyond it the pad reverses [1/m].
    pub reversal: Option<Crossing>,
    /// Factor on the panel's own curvatures at which the spin falls to the useful minimum \[1\].
    pub along_panel: Option<Crossing>,
}

impl StallLimits {
    /// Stall number S = κ/κ_stall \[1\]: at least 1 exactly where the pad is stalled, unless
    /// it turns again between its first crossing and the panel ([`Crossing::second`]). `None` where the
    /// flat stalls, the panel is flat, or no curvature in range stalls the pad.
    #[must_use]
    pub fn stall_number(&self) -> Option<f64> {
        self.along_panel.map(|c| 1.0 / c.at)
    }

    /// The panel's own stall curvature: the larger principal curvature at the limit [1/m].
    #[must_use]
    pub fn along_panel_per_m(&self, patch: &Patch) -> Option<f64> {
        self.along_panel.map(|c| c.at * patch.dominant())
    }
}

/// Torque that the bearing and the brake put on the pad at a fixed spin.
#[derive(Clone, Copy)]
struct BearingTorque {
    spindle: f64,
    brake: f64,
}

impl BearingTorque {
    /// With breakaway, load friction and viscous drag multiplied by `factor`; `None` without a bearing.
    fn at(setup: &Setup, spin: f64, factor: f64) -> Option<Self> {
        let mut drag = setup.spindle_drag()?;
        drag.steady_nm *= factor;
        drag.viscous_nms *= factor;
        let slip = setup.tool().rate().rad_s() - spin;
        Some(Self { spindle: drag.spindle_torque(slip, SLIP_SCALE), brake: drag.brake_torque(spin, SLIP_SCALE) })
    }

    /// Net torque with that of friction \[N·m\].
    fn with(self, friction: f64) -> f64 {
        friction + self.spindle - self.brake
    }
}

/// Friction torques at fixed spins on one patch \[N·m\]; `None` where the pad bottoms out or its face
/// sticks.
fn friction_torques<const N: usize>(
    setup: &Setup,
    patch: &Patch,
    spins: [f64; N],
    settings: &ContactSettings,
) -> Option<[f64; N]> {
    let orbit = setup.face_orbit();
    if orbit.sticks {
        return None;
    }
    let contact = solve_once(setup.pad(), patch, orbit.radius_m, setup.hold(), setup.force().n(), settings).ok()?;
    let (friction, rate) = (setup.product().friction(), setup.tool().rate().rad_s());
    Some(spins.map(|spin| -friction * friction_sums(&contact.load, rate, spin).moment_nm))
}

/// Net torque at a fixed spin over a family of patches.
pub(crate) struct NetTorque<'a> {
    setup: &'a Setup,
    /// Spin at which the torque is taken [rad/s]; at zero the brake gives nothing.
    spin: f64,
    drag_factor: f64,
}

impl<'a> NetTorque<'a> {
    pub(crate) const fn new(setup: &'a Setup, spin: f64, drag_factor: f64) -> Self {
        Self { setup, spin, drag_factor }
    }

    /// N·m; `None` where the pad bottoms out or its face sticks.
    pub(crate) fn at(&self, patch: &Patch, settings: &ContactSettings) -> Option<f64> {
        let bearing = BearingTorque::at(self.setup, self.spin, self.drag_factor)?;
        let [friction] = friction_torques(self.setup, patch, [self.spin], settings)?;
        Some(bearing.with(friction))
    }

    /// N·m under a contact that is already solved; `None` without a bearing.
    pub(crate) fn under(&self, load: &Load) -> Option<f64> {
        let bearing = BearingTorque::at(self.setup, self.spin, self.drag_factor)?;
        let sums = friction_sums(load, self.setup.tool().rate().rad_s(), self.spin);
        Some(bearing.with(-self.setup.product().friction() * sums.moment_nm))
    }
}

/// Friction torques at two spins by the bits of a curvature and whether the nodes are the fine ones.
type Kept = HashMap<(u64, bool), Option<[f64; 2]>>;

/// Friction torques at the useful minimum and at rest over a family of patches. They do not depend
/// on the bearing, so they are kept for both limits and for every factor on its drag.
struct Family<'a, F> {
    setup: &'a Setup,
    spins: [f64; 2],
    fine: ContactSettings,
    coarse: ContactSettings,
    /// Patch of a curvature [1/m].
    patch: F,
    kept: RefCell<Kept>,
}

impl<'a, F: Fn(f64) -> Option<Patch>> Family<'a, F> {
    fn new(setup: &'a Setup, settings: &StallSettings, patch: F) -> Self {
        Self {
            setup,
            spins: [settings.useful_spin, 0.0],
            fine: settings.contact,
            coarse: settings.contact.fewer(),
            patch,
            kept: RefCell::default(),
        }
    }

    fn friction(&self, curvature: f64, fine: bool) -> Option<[f64; 2]> {
        // Adding zero makes the two zeros one.
        let key = ((curvature + 0.0).to_bits(), fine);
        if let Some(known) = self.kept.borrow().get(&key) {
            return *known;
        }
        let settings = if fine { &self.fine } else { &self.coarse };
        let found = (self.patch)(curvature).and_then(|p| friction_torques(self.setup, &p, self.spins, settings));
        self.kept.borrow_mut().insert(key, found);
        found
    }

    /// First crossing of the net torque at spin `which`, toward `side`, as a positive curvature.
    fn crossing(
        &self,
        settings: &StallSettings,
        (which, bearing): (usize, BearingTorque),
        side: f64,
        falling: bool,
    ) -> Option<Crossing> {
        first_crossing(SEARCH_LIMIT_PER_M, settings.scan, settings.tolerance, falling, |k, fine| {
            self.friction(side * k, fine).map(|f| bearing.with(f[which]))
        })
    }
}

/// First place in 0..=`limit` at which `f` changes from positive to negative (`falling`) or the
/// other way round. `f(t, fine)` is `None` beyond the point where the pad bottoms out.
pub(crate) fn first_crossing(
    limit: f64,
    scan: usize,
    tolerance: f64,
    falling: bool,
    f: impl Fn(f64, bool) -> Option<f64>,
) -> Option<Crossing> {
    let sign = if falling { 1.0 } else { -1.0 };
    let value = |t: f64, fine: bool| f(t, fine).map(|v| sign * v);
    let scan = scan.max(4);
    let mut points: Vec<(f64, f64)> = Vec::with_capacity(scan + 2);
    let mut crossing = None;
    for i in 0..=scan {
        let share = i as f64 / scan as f64;
        let t = limit * share * share;
        let Some(v) = value(t, false) else {
            // The pad bottoms out between the last place and this one: the search ends at that point.
            let &(mut good, mut last) = points.last()?;
            let mut bad = t;
            for _ in 0..20 {
                let mid = 0.5 * (good + bad);
                if let Some(v) = value(mid, false) {
                    (good, last) = (mid, v);
                } else {
                    bad = mid;
                }
            }
            points.push((good, last));
            crossing = bracket(&points, &value);
            break;
        };
        points.push((t, v));
        crossing = bracket(&points, &value);
        if crossing.is_some() {
            break;
        }
    }
    let (low, high) = crossing?;
    let tol = tolerance * high.0.abs();
    let coarse = root::bracketed(|t| value(t, false).unwrap_or(f64::NAN), low, high, tol)?;
    // Refine on all the nodes in a bracket that widens until it holds the sign change. Where
    // none does, the coarse root stands and the last bracket says how little is known of it.
    let mut width = (1e-6 * coarse.x.abs()).max(2.0 * coarse.error);
    let mut fine = None;
    while fine.is_none() && width < 4.0 * (high.0 - low.0) {
        let a = (coarse.x - width).max(0.0);
        let past = (coarse.x + width).min(limit);
        // Past the place where the pad bottoms out the scan's own end is the last one that counts.
        let (b, at_b) = value(past, true).map_or_else(|| (high.0, value(high.0, true)), |v| (past, Some(v)));
        fine = match (value(a, true), at_b) {
            (Some(fa), Some(fb)) if fa >= 0.0 && fb < 0.0 => {
                root::bracketed(|t| value(t, true).unwrap_or(f64::NAN), (a, fa), (b, fb), tol)
            }
            _ => None,
        };
        width *= 16.0;
    }
    let (at, error) = fine.map_or((coarse.x, width.max(high.0 - low.0)), |r| (r.x, (r.x - coarse.x).abs() + r.error));
    Some(Crossing { at, error, second: None })
}

/// Bracket of a first crossing in the points so far: a sign change at the last one, or a dip below
/// zero between the last three.
fn bracket(points: &[(f64, f64)], value: &impl Fn(f64, bool) -> Option<f64>) -> Option<((f64, f64), (f64, f64))> {
    let n = points.len();
    if n < 2 {
        return None;
    }
    let (before, last) = (points[n - 2], points[n - 1]);
    if before.1 >= 0.0 && last.1 < 0.0 {
        return Some((before, last));
    }
    if n >= 3 {
        let first = points[n - 3];
        // A positive minimum close to zero may hide two crossings: look into it.
        if before.1 > 0.0
            && before.1 < first.1
            && before.1 <= last.1
            && before.1 < 0.5 * (first.1.max(last.1) - before.1)
        {
            let (mut a, mut b) = (first.0, last.0);
            for _ in 0..24 {
                let (c, d) = (a + 0.381_966 * (b - a), b - 0.381_966 * (b - a));
                let (vc, vd) = (value(c, false)?, value(d, false)?);
                let low = if vc < vd { (c, vc) } else { (d, vd) };
                if low.1 < 0.0 {
                    return Some((first, low));
                }
                if vc < vd {
                    b = d;
                } else {
                    a = c;
                }
            }
        }
    }
    None
}

/// Factor between the first crossing and the panel itself at which the pad turns again, where the
/// panel lies beyond its first crossing and yet the net torque `at` it is not negative.
fn turns_again(at: impl Fn(f64) -> Option<f64>, first: f64) -> Option<f64> {
    if first >= 1.0 || at(1.0)? < 0.0 {
        return None;
    }
    let just_past = first + 1e-6 * (1.0 - first);
    let mut low = (just_past, at(just_past)?);
    for i in 1..=32 {
        let t = first + (1.0 - first) * f64::from(i) / 32.0;
        let net = at(t)?;
        if net >= 0.0 {
            return root::bracketed(|t| at(t).unwrap_or(f64::NAN), low, (t, net), 1e-12).map(|r| r.x);
        }
        low = (t, net);
    }
    None
}

/// Finds the stall limits of `setup`; `drag_factor` multiplies breakaway, load friction and viscous
/// drag (1 for the bearing as given).
///
/// A sticking face never turns: the flat counts as stalled and there are no limits.
///
/// # Assumptions and valid range
/// Those of [`super::spin_state`]; curvatures from the flat to ±20 per metre or to where the pad bottoms
/// out. Each limit is the first crossing on that way.
///
/// # Accuracy
/// The crossing to `settings.tolerance`, relative; [`Crossing::error`] holds that and the change from
/// seven tenths of the nodes to all of them. A pair of crossings between two neighbours of the scan can be
/// missed.
///
/// # Errors
/// As [`crate::contact::solve`], for the flat panel.
///
/// # Example
/// ```
/// use trochoid::spin::{StallSettings, stall_limits};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(60.0))?;
/// let limits = stall_limits(&setup, &StallSettings::default(), 1.0)?;
/// // Full contact: −4 × 0.02/(π × 0.35 × 1e6 × 0.0075 × 0.07⁴) = −0.404 per metre.
/// assert!(limits.reversal.is_some_and(|c| (c.at + 0.4040).abs() < 1e-4));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-spin.md`.
pub fn stall_limits(setup: &Setup, settings: &StallSettings, drag_factor: f64) -> Result<StallLimits, ContactError> {
    Ok(stall_limits_for(setup, settings, &[drag_factor])?[0])
}

/// As [`stall_limits`] for several factors on the bearing drag, in their order; they share the
/// friction torques, which do not depend on the bearing.
///
/// # Errors
/// As [`crate::contact::solve`], for the flat panel.
///
/// # Example
/// ```
/// use trochoid::spin::{StallSettings, stall_limits_for};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(60.0))?;
/// let found = stall_limits_for(&setup, &StallSettings::default(), &[1.0, 1.5])?;
/// // −0.404 per metre as in the example of `stall_limits`; in full contact in proportion to the drag.
/// let at: Vec<f64> = found.iter().filter_map(|l| l.reversal).map(|c| c.at).collect();
/// assert!(at.len() == 2 && (at[0] + 0.4040).abs() < 1e-4 && (at[1] + 0.6060).abs() < 1e-4);
/// # Ok(())
/// # }
/// ```
pub fn stall_limits_for(
    setup: &Setup,
    settings: &StallSettings,
    drag_factors: &[f64],
) -> Result<Vec<StallLimits>, ContactError> {
    let none = StallLimits { stalled_on_flat: false, sphere: None, reversal: None, along_panel: None };
    if setup.tool().bearing().is_none() {
        return Ok(vec![none; drag_factors.len()]);
    }
    if setup.face_orbit().sticks {
        return Ok(vec![StallLimits { stalled_on_flat: true, ..none }; drag_factors.len()]);
    }
    let spheres = Family::new(setup, settings, |k| {
        if k.abs() > 0.0 { Patch::sphere(Curvature::from_per_m(k)).ok() } else { Some(Patch::flat()) }
    });
    let own = setup.patch();
    let largest = own.dominant();
    let panels = Family::new(setup, settings, |k| own.scaled(k / largest).ok());
    // Solving the flat with errors reported tells a bad force from a bottoming search.
    let Some(flat) = spheres.friction(0.0, true) else {
        return spin_state(setup, &Patch::flat(), &settings.contact).map(|_| vec![none; drag_factors.len()]);
    };
    let limits = |factor: f64| {
        let mut out = none;
        let (Some(useful), Some(rest)) =
            (BearingTorque::at(setup, settings.useful_spin, factor), BearingTorque::at(setup, 0.0, factor))
        else {
            return out;
        };
        let turns = useful.with(flat[0]) >= 0.0;
        out.stalled_on_flat = !turns;
        for (which, bearing, limit) in [(0, useful, &mut out.sphere), (1, rest, &mut out.reversal)] {
            let falling = bearing.with(flat[which]) >= 0.0;
            let side = if falling { -1.0 } else { 1.0 };
            *limit =
                spheres.crossing(settings, (which, bearing), side, falling).map(|c| Crossing { at: side * c.at, ..c });
        }
        if turns && !own.is_flat() {
            let side = largest.signum();
            let (k1, k2) = own.principal();
            // On a sphere the panel's own family is that of the spheres.
            let same = (k1 - k2).abs() <= 0.0;
            let found = if same {
                spheres.crossing(settings, (0, useful), side, true)
            } else {
                panels.crossing(settings, (0, useful), side, true)
            };
            out.along_panel = found.map(|c| {
                let at = c.at / largest.abs();
                let net = |t: f64| {
                    let k = t * largest;
                    let friction = if same { spheres.friction(k, true) } else { panels.friction(k, true) };
                    friction.map(|f| useful.with(f[0]))
                };
                Crossing { at, error: c.error / largest.abs(), second: turns_again(net, at) }
            });
        }
        out
    };
    Ok(drag_factors.iter().map(|f| limits(*f)).collect())
}
