//! Corners of the model: results go over them without a jump.
//!
//! At each corner the results a millionth to this side and to that side are compared, and with those at the
//! corner itself where it can be asked. A smooth quantity differs by its slope times the step; the bound is
//! a thousand times the step, so a relative slope up to some hundreds passes and a jump of 0.1 % does not.

use crate::support::{free_tool, linear_pad, measured_pad, quadric, setup, sphere};
use trochoid::contact::ContactSettings;
use trochoid::spin::{Setup, friction_sums, spin_state};

/// Relative step to each side of a corner.
const STEP: f64 = 1e-6;
/// A thousand steps: see the head of this file.
const BOUND: f64 = 1e-3;

/// Spin, its scale and what else a practitioner reads.
fn told(s: &Setup) -> [(&'static str, f64, f64); 5] {
    let found = spin_state(s, s.patch(), &ContactSettings::default()).unwrap();
    let contact = &found.contact;
    [
        // The spin has no scale of its own near a stall: a turn a second.
        ("spin", found.spin, 2.0 * core::f64::consts::PI),
        // The heave goes through nothing where the centre lifts: a millimetre, as far as a pad is pressed in.
        ("heave", contact.heave_m, 1e-3),
        ("contact share", contact.contact_share, 1.0),
        ("removal", found.sums.speed_w, found.sums.speed_w),
        ("friction force", found.sums.forward_n, s.force().n()),
    ]
}

fn no_jump(corner: &str, list: &[Setup]) {
    let all: Vec<_> = list.iter().map(told).collect();
    for pair in all.windows(2) {
        for ((name, one, scale), (_, other, _)) in pair[0].iter().zip(&pair[1]) {
            assert!((one - other).abs() <= BOUND * scale, "{corner}: {name} goes from {one} to {other}");
        }
    }
}

#[test]
fn contact_just_lost() {
    // Lift-off of the rim on a crown, of the centre in a hollow (physics 2, own derivations).
    let (k, radius, orbit) = (9e5, 0.065, 0.006);
    for (kappa, at) in [
        (0.8, core::f64::consts::PI * k * 0.8 * f64::powi(radius, 4) / 4.0 * (1.0 + 4.0 * orbit / radius)),
        (-0.8, core::f64::consts::PI * k * 0.8 * f64::powi(radius, 4) / 4.0 * (1.0 + 2.0 * (orbit / radius).powi(2))),
    ] {
        let force = |n: f64| setup(free_tool(12.0, 4200.0, 0.03, 1e-4), linear_pad(130.0, k), 0.35, n, sphere(kappa));
        no_jump("lift-off", &[force(at * (1.0 - STEP)), force(at), force(at * (1.0 + STEP))]);
        // The corner is where it is said to be: full contact above, some of it lost below.
        let share = |n: f64| {
            let s = force(n);
            spin_state(&s, s.patch(), &ContactSettings::default()).unwrap().contact.contact_share
        };
        assert!(
            share(1.01 * at) > 1.0 - 1e-9 && share(0.97 * at) < 1.0 - 1e-6,
            "{kappa}: {} {}",
            share(1.01 * at),
            share(0.97 * at)
        );
    }
}

#[test]
fn flat_limit_of_curvature() {
    for pad in [&linear_pad(130.0, 9e5), &measured_pad(130.0)] {
        let on = |first: f64, second: f64| {
            setup(free_tool(12.0, 4200.0, 0.03, 1e-4), pad.clone(), 0.35, 35.0, quadric(first, second, 20.0))
        };
        no_jump("crown to flat to hollow", &[on(STEP, STEP), on(0.0, 0.0), on(-STEP, -STEP)]);
        no_jump("saddle to flat", &[on(STEP, -STEP), on(0.0, 0.0), on(-STEP, STEP)]);
        no_jump("cylinder to flat", &[on(STEP, 0.0), on(0.0, 0.0), on(0.0, -STEP)]);
        // Two curvatures that are nearly equal, where a sphere takes over.
        no_jump("sphere", &[on(0.5 * (1.0 + STEP), 0.5), on(0.5, 0.5), on(0.5, 0.5 * (1.0 + STEP))]);
        let round = setup(free_tool(12.0, 4200.0, 0.03, 1e-4), pad.clone(), 0.35, 35.0, sphere(0.5));
        no_jump("quadric and sphere", &[on(0.5, 0.5), round]);
    }
}

#[test]
fn near_zero_throw() {
    // The shortest throw that a free tool may have, and a little more; a rotary pad has none.
    let with =
        |throw: f64| setup(free_tool(throw, 4200.0, 0.03, 1e-4), linear_pad(130.0, 9e5), 0.35, 35.0, sphere(0.3));
    for throw in [0.1, 0.2, 0.5, 1.0] {
        no_jump("short throw", &[with(throw), with(throw * (1.0 + STEP)), with(throw * (1.0 + 2.0 * STEP))]);
    }
    // Toward none the orbit's share of the work goes to nothing, the rest stays that of a spinning disc.
    let s = with(0.1);
    let found = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
    let spun = friction_sums(&found.contact.load, s.tool().rate().rad_s(), 100.0);
    let disc = friction_sums(&found.contact.load, 0.0, 100.0);
    assert!((spun.speed_w / disc.speed_w - 1.0).abs() < 0.05, "an orbit of 50 µm, {} {}", spun.speed_w, disc.speed_w);
}

#[test]
fn spin_near_the_orbit_rate() {
    // A bearing that drags hard takes the pad along: the spin nears the orbit rate from below.
    let drag =
        |viscous: f64| setup(free_tool(12.0, 4200.0, 0.0, viscous), linear_pad(60.0, 9e5), 0.2, 2.0, sphere(0.0));
    let mut before = 0.0;
    for viscous in [1e-3, 1e-2, 1e-1] {
        no_jump("bearing that drags", &[drag(viscous), drag(viscous * (1.0 + STEP))]);
        let s = drag(viscous);
        let found = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
        let share = found.spin / s.tool().rate().rad_s();
        assert!(share > before && share < 1.0, "{share} of the orbit rate");
        before = share;
    }
    assert!(before > 0.98, "{before} of the orbit rate");
    // Friction sums through ω = Ω itself, where the speed of the panel's points from the orbit vanishes.
    let s = drag(1e-2);
    let found = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
    let rate = s.tool().rate().rad_s();
    let sums = |w: f64| friction_sums(&found.contact.load, rate, w * rate);
    for (a, b) in [(1.0 - STEP, 1.0), (1.0, 1.0 + STEP)] {
        let (a, b) = (sums(a), sums(b));
        for (one, other, scale) in [
            (a.moment_nm, b.moment_nm, b.moment_nm.abs()),
            (a.forward_n, b.forward_n, s.force().n()),
            (a.speed_w, b.speed_w, b.speed_w),
        ] {
            assert!((one - other).abs() <= BOUND * scale, "{one} {other}");
        }
    }
}
