//! The sphere that stalls a pad, found in a handful of contacts: for sweeps over many designs.
//!
//! The definition is that of [`super::stall`]; what is new is a proof that there is one crossing at
//! most, so that no scan has to look for the first one. A square pad's friction moment at a fixed spin
//! is a sum over rings of panel points,
//!
//! ```text
//! M = −μ ∫ p c h dρ,   N = ∫ p c dρ,   p = P(δ0 − ½κρ²)
//! ```
//!
//! with the arm h(ρ) [m] of a ring and its orbit-averaged area c(ρ) [m], neither of which depends on the
//! pressure. With N held,
//!
//! ```text
//! dM/dκ = ½ μ ∫ P′ c (ρ² − ⟨ρ²⟩) h dρ = ½ μ W Cov(ρ², h)          weights P′c, W = ∫ P′ c dρ
//! ```
//!
//! which is not negative for any law that rises, P′ ≥ 0, where h rises outward: two functions that rise
//! together have a covariance that is not negative (Chebyshev's inequality of association). The net
//! torque at a fixed spin then never falls as a hollow opens into a crown. Around a small hole h dips; for a
//! linear stack it is then enough that the covariance is not negative over every outer part of the face, for
//! hollows, or over every inner one, for crowns. Own derivation; both are looked at on the nodes of the contact,
//! and where neither holds, the scan of [`super::stall`] answers. The same holds of the pad's limit: what it can
//! carry before it bottoms out falls with the size of the curvature on either side.
//!
//! Not here: panels curved differently along their two axes, where the azimuth mean of P′ is not a
//! function of ρ alone.

use super::curves::{StallOutcome, stall_curvature};
use super::setup::Setup;
use super::stall::{NetTorque, SEARCH_LIMIT_PER_M, StallSettings};
use super::torque::{RingArm, ring_arms};
use crate::contact::{Contact, ContactError, Load, solve_once, spare_force};
use crate::math::root;
use crate::panel::Patch;
use crate::units::Curvature;

/// The sphere on which a pad's spin crosses the useful minimum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StallingSphere {
    /// Where the pad stalls, or why nowhere.
    pub outcome: StallOutcome,
    /// Error estimate of the curvature [1/m]: the root's own and the quadrature's; zero where there is
    /// no crossing.
    pub error: f64,
    /// Contacts solved; `None` where the scan answered.
    pub contacts: Option<u32>,
}

/// Steps toward a crossing before the scan takes over.
const MOST_STEPS: u32 = 40;

/// What a search came to.
enum Found {
    /// A crossing and its error estimate.
    At(f64, f64),
    /// None up to the end of the range or the place where the pad bottoms out.
    Nowhere,
}

/// What the search knows of one side of the flat: `value(t)` at curvature `side`·t, positive at t = 0 and
/// falling.
struct Side<'a> {
    setup: &'a Setup,
    settings: &'a StallSettings,
    net: NetTorque<'a>,
    side: f64,
    contacts: u32,
}

impl Side<'_> {
    fn patch(&self, t: f64) -> Option<Patch> {
        if t > 0.0 { Patch::sphere(Curvature::from_per_m(self.side * t)).ok() } else { Some(Patch::flat()) }
    }

    /// Net torque toward the crossing \[N·m\]; `None` where the pad bottoms out.
    fn value(&mut self, t: f64, fine: bool) -> Option<f64> {
        self.contacts += 1;
        let contact = if fine { self.settings.contact } else { self.settings.contact.fewer() };
        // Falling from a pad that turns on the flat into a hollow; rising, with the sign turned, from
        // one that does not onto a crown.
        self.net.at(&self.patch(t)?, &contact).map(|v| -self.side * v)
    }

    /// Largest t up to `bad` at which the pad does not bottom out.
    fn bottom(&self, good: f64, bad: f64) -> Option<f64> {
        let (pad, orbit, force) = (self.setup.pad(), self.setup.face_orbit().radius_m, self.setup.force().n());
        let spare =
            |t: f64| self.patch(t).map_or(f64::NAN, |p| spare_force(pad, &p, orbit, force, &self.settings.contact));
        let (at_good, at_bad) = (spare(good), spare(bad));
        if at_good.is_nan() || at_good < 0.0 || at_bad >= 0.0 {
            return None;
        }
        let r = root::bracketed(spare, (good, at_good), (bad, at_bad), 1e-9 * bad)?;
        // The end of the last bracket that carries the force.
        Some((r.x - r.error - 1e-12 * bad).max(good))
    }

    /// The crossing, from `start` = value(0) and the slope there; `None` where the search did not settle.
    fn crossing(&mut self, start: f64, slope: f64) -> Option<Found> {
        let mut good = (0.0, start);
        let mut past: Option<(f64, f64)> = None;
        let mut limit = SEARCH_LIMIT_PER_M;
        let mut last = good;
        let mut t = if slope > 0.0 { start / slope } else { limit };
        let tolerance = self.settings.tolerance;
        for _ in 0..MOST_STEPS {
            t = t.min(limit);
            let Some(v) = self.value(t, true) else {
                let end = self.bottom(good.0, t)?;
                if end >= t {
                    return None;
                }
                (limit, t) = (end, end);
                if end <= good.0 {
                    return Some(Found::Nowhere);
                }
                continue;
            };
            // The secant's slope near the crossing bounds what is left.
            let secant = (last.1 - v) / (t - last.0);
            let (before, now) = (last, (t, v));
            last = now;
            if v >= 0.0 {
                if t >= limit {
                    return Some(Found::Nowhere);
                }
                good = now;
            } else {
                past = Some(now);
            }
            let step = v / secant;
            if secant > 0.0 && step.abs() <= tolerance * t && (t - before.0).abs() > 0.0 {
                let coarse = self.value(t, false)?;
                let quadrature = ((coarse - v) / secant).abs();
                return Some(Found::At(t + step, step.abs() + quadrature));
            }
            let next = t + step;
            t = match past {
                Some(past) => {
                    let width = past.0 - good.0;
                    if width <= tolerance * past.0 {
                        let coarse = self.value(past.0, false)?;
                        let quadrature = ((coarse - past.1) / secant.abs().max(f64::MIN_POSITIVE)).abs();
                        return Some(Found::At(past.0, width + quadrature));
                    }
                    // A secant step that leaves the bracket, or creeps along its end, is halved instead.
                    if secant > 0.0 && next > good.0 && next < past.0 { next } else { good.0 + 0.5 * width }
                }
                // Not past it yet: at most four times as far, and never less than a tenth further.
                None if secant > 0.0 => next.clamp(1.1 * t, 4.0 * t),
                None => 4.0 * t,
            };
        }
        None
    }
}

/// Whether the arms rise outward, to a millionth of the largest: what the contact's nodes resolve.
fn rise_outward(arms: &[RingArm]) -> bool {
    let size = arms.iter().fold(0.0_f64, |s, a| s.max(a.arm.abs()));
    arms.windows(2).all(|w| w[1].arm >= w[0].arm - 1e-6 * size)
}

/// Whether Cov(ρ², h) is not negative over every outer part of the face (`outer`) or every inner one: enough
/// for a linear stack, whose P′ is the same wherever it is pressed, an outer part in a hollow and an inner one
/// on a crown.
fn rise_together(arms: &[RingArm], outer: bool) -> bool {
    let size = arms.iter().fold(0.0_f64, |s, a| s.max(a.arm.abs() * a.rho * a.rho));
    let (mut area, mut square, mut arm, mut both) = (0.0, 0.0, 0.0, 0.0);
    (0..arms.len()).all(|i| {
        let a = &arms[if outer { arms.len() - 1 - i } else { i }];
        let rho2 = a.rho * a.rho;
        area += a.area;
        square += a.area * rho2;
        arm += a.area * a.arm;
        both += a.area * a.arm * rho2;
        // Rounding and the nodes' own error, as above.
        both * area - square * arm >= -1e-6 * size * area * area
    })
}

/// dM/dκ at the flat over the friction coefficient, N·m².
fn slope_at_flat(arms: &[RingArm], stiffness_n_m: f64) -> f64 {
    let area: f64 = arms.iter().map(|a| a.area).sum();
    let mean = arms.iter().map(|a| a.area * a.rho * a.rho).sum::<f64>() / area;
    let sum: f64 = arms.iter().map(|a| a.area * (a.rho * a.rho - mean) * a.arm).sum();
    // Even pressure on the flat: P′ is the heave stiffness over the backed area.
    0.5 * sum * stiffness_n_m / area
}

/// Finds the sphere that stalls the pad of `setup`, whatever patch it stands on; `drag_factor` multiplies
/// the bearing drag (1 as given).
///
/// The same curvature as [`stall_curvature`] on a flat patch and as the `sphere` of
/// [`super::StallLimits`], from five to ten contacts instead of about sixty.
///
/// # Assumptions and valid range
/// Those of [`super::spin_state`]; a pad held square. Where the proof does not cover the set-up, the scan of
/// [`stall_curvature`] answers, and `contacts` is `None`.
///
/// # Accuracy
/// Relative `settings.tolerance` in the root, on the nodes of `settings.contact`; the tests compare it
/// with the scan on random set-ups. Where the pad bottoms out within a millionth of a crossing the two may
/// differ in whether they count it.
///
/// # Errors
/// As [`crate::contact::solve`], for the flat panel.
///
/// # Example
/// ```
/// use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
/// use trochoid::panel::Patch;
/// use trochoid::spin::{Setup, StallSettings, closed_form, stalling_sphere};
/// use trochoid::units::{AngularRate, Force, Length, Stiffness, Torque, ViscousDrag};
/// let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(1e-4))?;
/// let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_opm(4200.0), bearing)?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0),
///     CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let settings = StallSettings::default();
/// let found = stalling_sphere(&setup, &settings, 1.0)?.outcome.curvature();
/// // The closed form at small spin, full contact: within half a percent of it here.
/// let form = closed_form::useful_curvature(&setup, settings.useful_spin);
/// assert!(found.zip(form).is_some_and(|(k, f)| (k / f.curvature_per_m - 1.0).abs() < 5e-3));
/// # Ok::<(), trochoid::Error>(())
/// ```
///
/// # References
/// Own derivation, at the head of this file and in `notebooks-free-docs/theory-spin.md`.
pub fn stalling_sphere(
    setup: &Setup,
    settings: &StallSettings,
    drag_factor: f64,
) -> Result<StallingSphere, ContactError> {
    let none = |outcome| Ok(StallingSphere { outcome, error: 0.0, contacts: Some(0) });
    if setup.tool().bearing().is_none() {
        return none(StallOutcome::Driven);
    }
    let orbit = setup.face_orbit();
    if orbit.sticks {
        return none(StallOutcome::Sticks);
    }
    let by_scan = || {
        let flat = setup.clone().on(Patch::flat());
        let outcome = stall_curvature(&flat, settings, drag_factor)?;
        let error = outcome.curvature().map_or(0.0, |k| settings.tolerance * k.abs());
        Ok(StallingSphere { outcome, error, contacts: None })
    };
    let useful = settings.useful_spin;
    let flat =
        solve_once(setup.pad(), &Patch::flat(), orbit.radius_m, setup.hold(), setup.force().n(), &settings.contact);
    let Ok(Contact { load: load @ Load::Rings(rings), heave_stiffness_n_m, .. }) = &flat else { return by_scan() };
    let rate = setup.tool().rate().rad_s();
    let arms = ring_arms(rings, rate, useful);
    let net = NetTorque::new(setup, useful, drag_factor);
    let Some(start) = net.under(load).filter(|_| useful >= 0.0) else { return by_scan() };
    let turns = start >= 0.0;
    let linear = setup.pad().stack().linear_stiffness().is_some();
    if !(rise_outward(&arms) || (linear && rise_together(&arms, turns))) {
        return by_scan();
    }
    let mut search = Side { setup, settings, net, side: if turns { -1.0 } else { 1.0 }, contacts: 1 };
    let slope = setup.product().friction() * slope_at_flat(&arms, *heave_stiffness_n_m);
    let (outcome, error) = match search.crossing(start.abs(), slope) {
        None => return by_scan(),
        Some(Found::At(t, error)) => (StallOutcome::At(search.side * t), error),
        Some(Found::Nowhere) if turns => (StallOutcome::Never, 0.0),
        Some(Found::Nowhere) => (StallOutcome::Always, 0.0),
    };
    Ok(StallingSphere { outcome, error, contacts: Some(search.contacts) })
}
