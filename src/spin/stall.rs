//! Stall limits: the curvature at which the spin falls to the useful minimum, and the one at which
//! it would reverse.
//!
//! The net torque never rises with the spin (see `balance`), so "the spin is at least ω_u" is the
//! same as "the net torque at ω_u is not negative". A limit is thus a root in the curvature of the
//! net torque at one fixed spin, and no root in the spin is needed.

use super::balance::{TorqueBalance, spin_state};
use super::setup::Setup;
use crate::contact::{ContactError, ContactSettings, solve_once};
use crate::math::root;
use crate::panel::Patch;
use crate::units::Curvature;

/// Largest curvature searched, 1/m.
pub const SEARCH_LIMIT_PER_M: f64 = 20.0;

/// Knobs of the search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StallSettings {
    /// Useful minimum of the spin, rad/s.
    pub useful_spin: f64,
    /// Curvatures scanned on the way to the limit before a crossing is refined.
    pub scan: usize,
    /// Relative tolerance of a crossing.
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

/// A limit found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Place of the first crossing.
    pub at: f64,
    /// Error estimate: the change from seven tenths of the nodes to all of them, and the root's own.
    pub error: f64,
    /// A second crossing in the scanned range, where the pad would turn again.
    pub second: Option<f64>,
}

/// Stall limits of one set-up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StallLimits {
    /// Whether the pad already turns below the useful minimum on a flat panel.
    pub stalled_on_flat: bool,
    /// Sphere on which the spin falls to the useful minimum (negative), or, where the flat already
    /// stalls, rises to it (positive); 1/m.
    pub sphere: Option<Crossing>,
    /// Sphere on which the net torque at zero spin vanishes; 1/m.
    pub reversal: Option<Crossing>,
    /// Factor on the panel's own curvatures at which the spin falls to the useful minimum.
    pub along_panel: Option<Crossing>,
}

impl StallLimits {
    /// Stall number S = κ/κ_stall: at least 1 exactly where the pad is stalled. `None` where the
    /// flat stalls, the panel is flat, or no curvature in range stalls the pad.
    #[must_use]
    pub fn stall_number(&self) -> Option<f64> {
        self.along_panel.map(|c| 1.0 / c.at)
    }

    /// The panel's own stall curvature: the larger principal curvature at the limit, 1/m.
    #[must_use]
    pub fn along_panel_per_m(&self, patch: &Patch) -> Option<f64> {
        self.along_panel.map(|c| c.at * patch.dominant())
    }
}

/// Net torque at a fixed spin over a family of patches.
pub(crate) struct NetTorque<'a> {
    setup: &'a Setup,
    /// Spin at which the torque is taken, rad/s; at zero the brake gives nothing.
    spin: f64,
    drag_factor: f64,
}

impl<'a> NetTorque<'a> {
    pub(crate) const fn new(setup: &'a Setup, spin: f64, drag_factor: f64) -> Self {
        Self { setup, spin, drag_factor }
    }

    /// N·m; `None` where the pad bottoms out or its face sticks.
    pub(crate) fn at(&self, patch: &Patch, settings: &ContactSettings) -> Option<f64> {
        let mut drag = self.setup.spindle_drag()?;
        drag.steady_nm *= self.drag_factor;
        drag.viscous_nms *= self.drag_factor;
        let orbit = self.setup.face_orbit();
        if orbit.sticks {
            return None;
        }
        let contact =
            solve_once(self.setup.pad(), patch, orbit.radius_m, self.setup.hold(), self.setup.force().n(), settings)
                .ok()?;
        let balance = TorqueBalance {
            load: &contact.load,
            friction: self.setup.product().friction(),
            rate: self.setup.tool().rate().rad_s(),
            drag,
        };
        Some(balance.net(self.spin))
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
        let v = if let Some(v) = value(t, false) {
            v
        } else {
            // The pad bottoms out between the last place and this one: the search ends at that point.
            let Some(&(mut good, mut last)) = points.last() else { return None };
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
    // Refine with twice the nodes in a bracket that widens until it holds the sign change. Where
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
/// panel lies beyond its first crossing and yet the net torque there is not negative.
fn turns_again(useful: &NetTorque<'_>, patch: &Patch, first: f64, settings: &ContactSettings) -> Option<f64> {
    let at = |t: f64| useful.at(&patch.scaled(t).ok()?, settings);
    if first >= 1.0 || at(1.0)? < 0.0 {
        return None;
    }
    let (mut low, mut high) = (first, 1.0);
    for i in 1..=32 {
        let t = first + (1.0 - first) * f64::from(i) / 32.0;
        if at(t)? < 0.0 {
            low = t;
        } else {
            high = t;
            break;
        }
    }
    for _ in 0..40 {
        let mid = 0.5 * (low + high);
        if at(mid)? < 0.0 {
            low = mid;
        } else {
            high = mid;
        }
    }
    Some(0.5 * (low + high))
}

/// Finds the stall limits of `setup`; `drag_factor` multiplies breakaway, load friction and viscous
/// drag (1 for the bearing as given).
///
/// A sticking face never turns: the flat counts as stalled and there are no limits.
///
/// # Errors
/// As [`crate::contact::solve`], for the flat panel.
pub fn stall_limits(setup: &Setup, settings: &StallSettings, drag_factor: f64) -> Result<StallLimits, ContactError> {
    let mut out = StallLimits { stalled_on_flat: false, sphere: None, reversal: None, along_panel: None };
    if setup.tool().bearing().is_none() {
        return Ok(out);
    }
    if setup.face_orbit().sticks {
        out.stalled_on_flat = true;
        return Ok(out);
    }
    let (fine, coarse) = (settings.contact, settings.contact.fewer());
    let pick = |is_fine: bool| if is_fine { &fine } else { &coarse };
    let useful = NetTorque::new(setup, settings.useful_spin, drag_factor);
    let reversal = NetTorque::new(setup, 0.0, drag_factor);
    let flat = Patch::flat();
    // Solving the flat with errors reported tells a bad force from a bottoming search.
    let flat_torque = match useful.at(&flat, &fine) {
        Some(torque) => torque,
        None => return spin_state(setup, &flat, &settings.contact).map(|_| out),
    };
    out.stalled_on_flat = flat_torque < 0.0;
    let sphere = |k: f64| Patch::sphere(Curvature::from_per_m(k)).ok();
    let search = |net: &NetTorque<'_>, flat_net: f64| {
        let concave = flat_net >= 0.0;
        let side = if concave { -1.0 } else { 1.0 };
        first_crossing(SEARCH_LIMIT_PER_M, settings.scan, settings.tolerance, concave, |t, is_fine| {
            net.at(&sphere(side * t)?, pick(is_fine))
        })
        .map(|c| Crossing { at: side * c.at, ..c })
    };
    out.sphere = search(&useful, flat_torque);
    out.reversal = reversal.at(&flat, &fine).and_then(|v| search(&reversal, v));
    let patch = setup.patch();
    if !out.stalled_on_flat && !patch.is_flat() {
        let largest = patch.dominant().abs();
        out.along_panel = first_crossing(SEARCH_LIMIT_PER_M, settings.scan, settings.tolerance, true, |k, is_fine| {
            useful.at(&patch.scaled(k / largest).ok()?, pick(is_fine))
        })
        .map(|c| Crossing { at: c.at / largest, error: c.error / largest, second: c.second });
        if let Some(c) = &mut out.along_panel {
            c.second = turns_again(&useful, patch, c.at, &fine);
        }
    }
    Ok(out)
}
