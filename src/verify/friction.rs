//! Friction of a sliding, spinning disc, and the spin that follows from it.

use super::{Check, Group, case};
use crate::contact::{ContactSettings, Hold, solve};
use crate::panel::Patch;
use crate::spin::{friction_sums, spin_state};
use crate::units::AngularRate;
use core::f64::consts::PI;

const DISC: &str = "Farkas, Bartels, Unger, Wolf, Phys. Rev. Lett. 90, 248302 (2003); Leine and Glocker (2003)";

/// ε = v/(Rω), force in μN, torque in μNR, evaluated from the published hypergeometric forms.
const TABLE: [(f64, f64, f64); 6] = [
    (0.1, 0.0998748433, 0.6616760547),
    (0.5, 0.4838437556, 0.5477483548),
    (1.0, 8.0 / (3.0 * PI), 8.0 / (9.0 * PI)),
    (2.0, 0.9676875113, 0.1278091983),
    (5.0, 0.9949746819, 0.0501685736),
    (10.0, 0.9987484326, 0.0250208922),
];

/// Root of F(ε) = 2 ε T(ε), from v̇ = −μgF and Rω̇ = −2μgT of a disc with inertia mR²/2.
fn rest_ratio() -> Option<f64> {
    // Twice the nodes: the point of no sliding lies on the face here.
    let pad = case::pad(140.0, 1e6)?;
    let settings = ContactSettings::default().doubled();
    let contact = solve(&pad, &Patch::flat(), 9e-3, &Hold::Flat, 1.0, &settings).ok()?;
    let miss = |eps: f64| {
        let rate = 500.0;
        let s = friction_sums(&contact.load, rate, 9e-3 * rate / (eps * 0.07));
        s.forward_n - 2.0 * eps * s.moment_nm / 0.07
    };
    crate::math::root::bracketed(miss, (0.4, miss(0.4)), (0.9, miss(0.9)), 1e-12).map(|r| r.x)
}

pub(super) fn checks() -> Vec<Check> {
    let mut force = Group::published("Sliding, spinning disc", DISC, "µN");
    let mut torque = Group::published("Sliding, spinning disc", DISC, "µNR");
    let rate = 500.0;
    for (eps, f, t) in TABLE {
        let sums =
            case::contact(140.0, 1e6, 0.0, 9.0, 1.0).map(|c| friction_sums(&c.load, rate, 9e-3 * rate / (eps * 0.07)));
        // The table has ten digits; the split at the point of no sliding leaves about 1e-7.
        force.add(format!("friction force at eps {eps}"), f, sums.map_or(f64::NAN, |s| s.forward_n), 2e-7);
        torque.add(format!("friction torque at eps {eps}"), t, sums.map_or(f64::NAN, |s| s.moment_nm / 0.07), 2e-7);
    }
    let mut spin = Group::published(
        "Spin on the flat",
        "root of the published disc torque; e 9 mm, 4500/min, R 70 mm, 45 N, friction 0.4",
        "rpm",
    );
    for (drag_nm, rpm) in [(0.05, 91.644), (0.1, 182.126), (0.2, 354.820), (0.5, 734.975)] {
        let free = case::Free {
            throw_mm: 18.0,
            rate_opm: 4500.0,
            drag_nm,
            diameter_mm: 140.0,
            k_pa_m: 1e6,
            friction: 0.4,
            force_n: 45.0,
        };
        let got = free
            .on(Patch::flat())
            .and_then(|s| spin_state(&s, s.patch(), &ContactSettings::default()).ok())
            .map_or(f64::NAN, |s| AngularRate::from_rad_s(s.spin).rpm());
        // Half the last printed digit.
        spin.add(format!("bearing torque {drag_nm} N·m"), rpm, got, 5e-4);
    }
    // A free uniform disc stops sliding and spinning together: F = 2 ε T there.
    let mut rest = Group::published("Sliding, spinning disc", DISC, "v/(Rω)");
    rest.add("ratio at which a free disc comes to rest", 0.653001789, rest_ratio().unwrap_or(f64::NAN), 1e-7);
    let mut out = force.checks;
    out.extend(torque.checks);
    out.extend(rest.checks);
    out.extend(spin.checks);
    out
}
