//! The fast contact and friction sums against the slow obvious ones of `contact::reference`, which
//! split, average and exploit nothing.
//!
//! The brute-force sums are run at two resolutions; their own difference says how far the finer one
//! can be from the truth, and is itself held below a bound so that the comparison means something.

use crate::support::{cylinder, fine, layer, linear_pad, measured_pad, power_pad, quadric, rel, sphere};
use trochoid::Length;
use trochoid::contact::reference::{BruteForce, Resolution, brute_force};
use trochoid::contact::{Contact, ContactSettings, Hold, solve};
use trochoid::equipment::Pad;
use trochoid::panel::Patch;
use trochoid::spin::{friction_sums, friction_sums_of_samples};

const E: f64 = 9e-3;
/// 4500 orbits a minute.
const RATE: f64 = 471.238_898_038_469;

/// Spins [rad/s]: at rest, at the useful minimum, with the point of no sliding in the rim band, in
/// the middle of the pad, near the orbit rate, and reversed with it outside, in the band and inside.
const SPINS: [f64; 9] = [0.0, 6.3, 30.0, 53.7, 100.0, 440.0, -6.3, -80.0, -200.0];

fn cases() -> Vec<(&'static str, Pad, Patch, f64, f64)> {
    let p = || linear_pad(140.0, 1e6);
    let hole = || p().with_hole(Length::from_mm(30.0)).unwrap();
    let over = || p().with_plate(Length::from_mm(116.0)).unwrap();
    let everything = || {
        measured_pad(140.0)
            .with_interface(layer(0.6))
            .with_plate(Length::from_mm(120.0))
            .unwrap()
            .with_hole(Length::from_mm(24.0))
            .unwrap()
    };
    vec![
        ("flat", p(), Patch::flat(), E, 45.0),
        ("crown in full contact", p(), sphere(0.8), E, 45.0),
        ("hollow in full contact", p(), sphere(-0.8), E, 45.0),
        ("crown, rim lifted", p(), sphere(4.0), E, 30.0),
        ("crown, small contact", p(), sphere(9.0), E, 5.0),
        ("hollow, centre lifted", p(), sphere(-4.0), E, 30.0),
        ("hollow, rim only", p(), sphere(-12.0), E, 8.0),
        ("cylinder crown", p(), cylinder(3.0, 0.0), E, 30.0),
        ("cylinder hollow", p(), cylinder(-3.0, 40.0), E, 30.0),
        ("saddle", p(), quadric(2.5, -1.5, 0.0), E, 30.0),
        ("rotated quadric crown", p(), quadric(4.0, 1.0, 27.0), E, 20.0),
        ("rotated quadric hollow", p(), quadric(-1.0, -5.0, -63.0), E, 20.0),
        ("measured law, flat", measured_pad(140.0), Patch::flat(), E, 50.0),
        ("measured law, crown", measured_pad(140.0), sphere(2.5), E, 50.0),
        ("measured law, hollow", measured_pad(140.0), sphere(-2.5), E, 50.0),
        ("measured law, quadric", measured_pad(140.0), quadric(-2.5, 1.0, 15.0), E, 50.0),
        ("power law, hollow", power_pad(140.0, 6.0, 2.0), sphere(-1.5), E, 40.0),
        ("power law 0.7, cylinder", power_pad(140.0, 6.0, 0.7), cylinder(2.0, 10.0), E, 20.0),
        ("interface, crown", measured_pad(140.0).with_interface(layer(0.6)), sphere(2.0), E, 45.0),
        ("hole, flat", hole(), Patch::flat(), E, 45.0),
        ("hole, crown", hole(), sphere(4.0), E, 30.0),
        ("hole, hollow", hole(), sphere(-4.0), E, 30.0),
        ("hole smaller than the orbit", p().with_hole(Length::from_mm(12.0)).unwrap(), sphere(1.5), E, 40.0),
        ("overhang, flat", over(), Patch::flat(), E, 45.0),
        ("overhang, hollow", over(), sphere(-4.0), E, 30.0),
        ("overhang, cylinder", over(), cylinder(-2.0, 30.0), E, 30.0),
        ("everything at once", everything(), quadric(-2.0, 1.0, 20.0), E, 50.0),
        ("small pad, long throw", linear_pad(50.0, 1e6), sphere(-6.0), 10e-3, 15.0),
        ("short throw", p(), sphere(-1.0), 1e-3, 40.0),
    ]
}

fn moments(c: &Contact, pad: &Pad, patch: &Patch, orbit: f64, n: usize) -> BruteForce {
    brute_force(pad, patch, orbit, c.slopes, c.heave_m, Resolution { rings: 5 * n, spokes: 4 * n, phases: n })
}

#[test]
fn contact_and_friction_against_brute_force() {
    let mut off = Vec::new();
    for (name, pad, patch, orbit, force) in cases() {
        let c = solve(&pad, &patch, orbit, &Hold::Flat, force, &ContactSettings::default()).unwrap();
        let (coarse, slow) = (moments(&c, &pad, &patch, orbit, 20), moments(&c, &pad, &patch, orbit, 40));
        // Midpoint sums: halving the spacing takes away at least half the error, more where the
        // field is smooth, so that the finer one is within the difference. The floor is for
        // differences that vanish by chance: a contact edge, a plate's edge or a join of a measured
        // law crosses the cells at random.
        let smooth = c.contact_share > 1.0 - 1e-9 && pad.plate_radius() >= pad.radius();
        let floor = if smooth { 2e-6 } else { 5e-5 };
        let room = |a: f64, b: f64, scale: f64| ((a - b).abs() / scale).max(floor);
        let slack = room(coarse.force_n, slow.force_n, force);
        assert!(slack < 1e-3, "{name}: brute force resolves its own force to {slack}");
        if rel(slow.force_n, force) >= slack {
            off.push(format!("{name}: force {} {force}, room {slack:.2e}", slow.force_n));
        }
        // Self-aligning and square agree: no moment of the pressure is left at zero tilt.
        assert!(
            slow.moment_nm.0.hypot(slow.moment_nm.1) < 1e-10 * force * pad.radius(),
            "{name}: symmetric sums, rounding only"
        );
        // Midpoint samples stop half a cell short of the peak, which only a slope makes matter.
        assert!(c.peak_pressure_pa >= slow.peak_pa * (1.0 - 1e-12), "{name}: nothing passes the peak");
        assert!(
            c.peak_pressure_pa - slow.peak_pa < 2.0 * (c.peak_pressure_pa - coarse.peak_pa) + 1e-9 * slow.peak_pa,
            "{name}"
        );
        assert!(rel(slow.peak_pa, c.peak_pressure_pa) < 0.02, "{name}: peak {} {}", slow.peak_pa, c.peak_pressure_pa);
        for spin in SPINS {
            let fast = friction_sums(&c.load, RATE, spin);
            let a = friction_sums_of_samples(&coarse.samples, orbit, RATE, spin);
            let b = friction_sums_of_samples(&slow.samples, orbit, RATE, spin);
            let speed = force * (orbit * RATE).max(spin.abs() * pad.radius());
            for (what, f, a, b, scale) in [
                ("moment", fast.moment_nm, a.moment_nm, b.moment_nm, force * pad.radius()),
                ("forward force", fast.forward_n, a.forward_n, b.forward_n, force),
                ("p|v|", fast.speed_w, a.speed_w, b.speed_w, speed),
            ] {
                let slack = room(a, b, scale);
                assert!(slack < 1e-3, "{name}, {spin}: brute force resolves {what} to {slack}");
                if (f - b).abs() >= slack * scale {
                    off.push(format!(
                        "{name}, {spin} rad/s: {what} {f} {b}, off {:.2e}, room {slack:.2e}",
                        (f - b).abs() / scale
                    ));
                }
            }
        }
    }
    assert!(off.is_empty(), "{}", off.join("\n"));
}

#[test]
fn smooth_cases_agree_to_the_extrapolated_sums() {
    // In full contact with no point of no sliding under the pad the midpoint rule is of second
    // order in the rings and exact around them, so one Richardson step gives eight digits.
    for (name, patch, force) in [
        ("flat", Patch::flat(), 45.0),
        ("crown", sphere(0.8), 45.0),
        ("hollow", sphere(-0.8), 45.0),
        ("quadric", quadric(-0.9, 0.4, 31.0), 45.0),
    ] {
        let pad = linear_pad(140.0, 1e6);
        let c = solve(&pad, &patch, E, &Hold::Flat, force, &ContactSettings::default()).unwrap();
        let at = |rings: usize| {
            brute_force(&pad, &patch, E, (0.0, 0.0), c.heave_m, Resolution { rings, spokes: 64, phases: 16 })
        };
        let (one, two) = (at(100), at(200));
        let extrapolate = |a: f64, b: f64| (4.0 * b - a) / 3.0;
        assert!(rel(extrapolate(one.force_n, two.force_n), force) < 1e-9, "{name}: fourth order in 1/200");
        for spin in [0.0, 6.3, 30.0, -30.0] {
            let f = friction_sums(&c.load, RATE, spin);
            let a = friction_sums_of_samples(&one.samples, E, RATE, spin);
            let b = friction_sums_of_samples(&two.samples, E, RATE, spin);
            // The default nodes over the rim band leave 1e-7 of the terms that cancel.
            assert!(
                (f.moment_nm - extrapolate(a.moment_nm, b.moment_nm)).abs() < 2e-7 * force * pad.radius(),
                "{name} {spin}: {}",
                (f.moment_nm - extrapolate(a.moment_nm, b.moment_nm)) / (force * pad.radius())
            );
            assert!((f.forward_n - extrapolate(a.forward_n, b.forward_n)).abs() < 2e-7 * force, "{name} {spin}");
            assert!(rel(f.speed_w, extrapolate(a.speed_w, b.speed_w)) < 2e-7, "{name} {spin}");
        }
    }
}

#[test]
fn contact_share_against_a_count() {
    for (name, pad, patch, orbit, force) in cases() {
        let c = solve(&pad, &patch, orbit, &Hold::Flat, force, &fine()).unwrap();
        let stack = pad.stack();
        let (rings, spokes, phases) = (150, 96, 48);
        let width = (pad.radius() - pad.hole_radius()) / f64::from(rings);
        let turn = 2.0 * core::f64::consts::PI;
        let (mut area, mut touching) = (0.0, 0.0);
        for j in 0..phases {
            let (ys, xs) = (turn * (f64::from(j) + 0.5) / f64::from(phases)).sin_cos();
            for i in 0..rings {
                let s = pad.hole_radius() + (f64::from(i) + 0.5) * width;
                for l in 0..spokes {
                    let (y, x) = (turn * (f64::from(l) + 0.5) / f64::from(spokes)).sin_cos();
                    area += s;
                    if stack.pressure(c.heave_m - patch.gap(orbit * xs + s * x, orbit * ys + s * y)).0 > 0.0 {
                        touching += s;
                    }
                }
            }
        }
        // A count of cells along the contact edge: about one cell in 150 x 96 an edge cell, with
        // random sign; 2e-3 is ten times what such a walk leaves.
        assert!((c.contact_share - touching / area).abs() < 2e-3, "{name}: {} {}", c.contact_share, touching / area);
    }
}
