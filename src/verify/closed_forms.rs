//! The project's own closed forms against its numeric solution, in full contact.

use super::{Check, Group, case};
use crate::contact::ContactSettings;
use crate::spin::{StallSettings, closed_form, friction_sums, spin_state, stall_limits};

const CASE: case::Free = case::Free {
    throw_mm: 12.0,
    rate_opm: 4200.0,
    drag_nm: 0.005,
    diameter_mm: 130.0,
    k_pa_m: 3e5,
    friction: 0.35,
    force_n: 60.0,
};

pub(super) fn checks() -> Vec<Check> {
    let mut torque = Group::own("Curvature torque", "own derivation: M = µ k e H pi R⁴/4 in full contact", "N·m");
    for h in [-0.5, 0.3] {
        let setup = case::sphere(h).and_then(|p| CASE.on(p));
        let got = setup
            .as_ref()
            .and_then(|s| spin_state(s, s.patch(), &ContactSettings::default()).ok().map(|st| (s, st)))
            .map_or(f64::NAN, |(s, st)| {
                -s.product().friction() * friction_sums(&st.contact.load, s.tool().rate().rad_s(), 0.0).moment_nm
            });
        let expected = closed_form::curvature_torque(0.35, 3e5, 6e-3, h, 0.065f64.powi(4));
        // Relative 1e-9, asked of the closed forms in full contact.
        torque.add(format!("at zero spin, H = {h} per metre"), expected, got, 1e-9 * expected.abs());
    }
    let mut reversal =
        Group::own("Reversal curvature", "own derivation: H = -4 M_b/(pi µ k e R⁴) in full contact", "1/m");
    let setup = case::sphere(-0.5).and_then(|p| CASE.on(p));
    let expected = setup.as_ref().and_then(closed_form::reversal_curvature).filter(|c| c.valid);
    let got = setup
        .as_ref()
        .and_then(|s| stall_limits(s, &StallSettings::default(), 1.0).ok())
        .and_then(|l| l.reversal)
        .map_or(f64::NAN, |c| c.at);
    let expected = expected.map_or(f64::NAN, |c| c.curvature_per_m);
    // The crossing is searched to 1e-9 of itself; ten times that.
    reversal.add("numeric against closed form", expected, got, 1e-8 * expected.abs());
    let mut out = torque.checks;
    out.extend(reversal.checks);
    out
}
