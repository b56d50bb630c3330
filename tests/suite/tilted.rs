//! A pad held at a tilt: its solver against the square one, against closed forms on the flat, and
//! against brute force.

use crate::support::{cylinder, linear_pad, measured_pad, quadric, rel, sphere, tilted};
use core::f64::consts::PI;
use trochoid::Length;
use trochoid::contact::reference::{Resolution, brute_force};
use trochoid::contact::{Contact, ContactSettings, Hold, Load, solve};
use trochoid::equipment::Pad;
use trochoid::panel::Patch;
use trochoid::spin::{friction_sums, friction_sums_of_samples};

const R: f64 = 0.07;
const E: f64 = 9e-3;
const RATE: f64 = 471.238_898_038_469;

fn at(pad: &Pad, patch: &Patch, hold: &Hold, force: f64) -> Contact {
    solve(pad, patch, E, hold, force, &ContactSettings::default()).unwrap()
}

#[test]
fn a_vanishing_tilt_is_the_square_pad() {
    for (name, pad, patch, force, tolerance) in [
        // Smooth in every direction: both are exact to their nodes.
        ("flat", linear_pad(140.0, 1e6), Patch::flat(), 45.0, 1e-8),
        ("crown", linear_pad(140.0, 1e6), sphere(0.8), 45.0, 1e-8),
        ("hollow", linear_pad(140.0, 1e6), sphere(-0.8), 45.0, 1e-8),
        ("saddle", linear_pad(140.0, 1e6), quadric(0.5, -0.5, 30.0), 45.0, 1e-8),
        // A contact edge: 24 phases and 10 x 16 nodes leave a few 1e-5.
        ("lifted rim", linear_pad(140.0, 1e6), sphere(4.0), 30.0, 1e-4),
        ("lifted centre", linear_pad(140.0, 1e6), sphere(-4.0), 30.0, 1e-4),
        ("lifted cylinder", linear_pad(140.0, 1e6), cylinder(3.0, 20.0), 30.0, 1e-4),
        ("measured", measured_pad(140.0), sphere(2.0), 50.0, 1e-4),
    ] {
        let square = at(&pad, &patch, &Hold::Flat, force);
        let nearly = at(&pad, &patch, &tilted(1e-9, -1e-9), force);
        assert!(matches!(nearly.load, Load::Tilted(_)), "the tilted solver is the one under test");
        assert!(
            (square.heave_m - nearly.heave_m).abs() < tolerance * square.compression_m.0,
            "{name}: heave {} {}",
            square.heave_m,
            nearly.heave_m
        );
        assert!(
            rel(nearly.peak_pressure_pa, square.peak_pressure_pa) < tolerance,
            "{name}: peak {} {}",
            square.peak_pressure_pa,
            nearly.peak_pressure_pa
        );
        assert!(
            (square.contact_share - nearly.contact_share).abs() < 30.0 * tolerance,
            "{name}: share, whose integrand jumps at the edge where the pressure has a kink, 30 times worse: {} {}",
            square.contact_share,
            nearly.contact_share
        );
        // Plus 1 Pa on either side: under a lifted centre the pressure itself is zero.
        assert!(
            rel(nearly.centre_pressure_pa.unwrap() + 1.0, square.centre_pressure_pa.unwrap() + 1.0) < tolerance,
            "{name}: centre"
        );
        for spin in [0.0, 6.3, 25.0] {
            let (a, b) = (friction_sums(&square.load, RATE, spin), friction_sums(&nearly.load, RATE, spin));
            assert!(
                (a.moment_nm - b.moment_nm).abs() < tolerance * force * R,
                "{name}: moment at {spin}: {} {}",
                a.moment_nm,
                b.moment_nm
            );
            assert!((a.forward_n - b.forward_n).abs() < tolerance * force, "{name}: force at {spin}");
            assert!(rel(b.speed_w, a.speed_w) < tolerance, "{name}: p|v| at {spin}");
        }
    }
}

#[test]
fn a_tilt_on_the_flat_follows_the_plane() {
    // Linear law in full contact: p = N/A + k t·ρ, with A and the moments of the annulus.
    for (hole, x_deg, y_deg) in [(0.0, 0.4, 0.0), (0.0, -0.2, 0.3), (0.02, 0.1, 0.3)] {
        let (k, force) = (1e6, 60.0);
        let pad = linear_pad(140.0, k).with_hole(Length::from_m(2.0 * hole)).unwrap();
        let c = at(&pad, &Patch::flat(), &tilted(x_deg, y_deg), force);
        let t = (f64::to_radians(x_deg).tan(), f64::to_radians(y_deg).tan());
        let area = PI * (R * R - hole * hole);
        let mean = force / area;
        assert!(c.contact_share > 1.0 - 1e-9, "the law asks for full contact");
        // 1e-10: the sums are exact for a plane, the heave is found to 1e-12.
        assert!(rel(c.heave_m, mean / k) < 1e-10);
        assert!(rel(c.peak_pressure_pa, mean + k * t.0.hypot(t.1) * R) < 1e-10);
        let Load::Tilted(load) = &c.load else { panic!("tilted") };
        for (rho, phi, alpha) in [(0.03, 0.3, 0.0), (0.065, 2.0, 1.0), (0.05, 4.0, 5.0)] {
            let (x, y) = (rho * f64::cos(phi), rho * f64::sin(phi));
            let p = load.pressure(E * f64::cos(alpha) + x, E * f64::sin(alpha) + y, alpha);
            // 1e-9: the heave's 1e-12 of the force and rounding of the difference of two compressions.
            assert!(rel(p, mean + k * (t.0 * x + t.1 * y)) < 1e-9, "x presses the +x side deeper");
        }
        // The tilt goes round with the orbit's phase, so that it cancels from the friction torque
        // at rest and the load stays the even one there.
        let s = friction_sums(&c.load, RATE, 0.0);
        assert!(s.moment_nm.abs() < 1e-12 * force, "rounding: {}", s.moment_nm);
        assert!(rel(s.forward_n, force) < 1e-10, "every point slides along the orbit; as the heave above");
    }
}

#[test]
fn tilted_against_brute_force() {
    let p = || linear_pad(140.0, 1e6);
    let mut off = Vec::new();
    let over = p().with_plate(Length::from_mm(116.0)).unwrap().with_hole(Length::from_mm(24.0)).unwrap();
    for (name, pad, patch, hold, force) in [
        ("flat, lifted", p(), Patch::flat(), tilted(3.0, 0.0), 30.0),
        ("flat, lifted, skew", p(), Patch::flat(), tilted(-1.5, 2.0), 30.0),
        ("crown", p(), sphere(2.0), tilted(2.0, 1.0), 30.0),
        ("hollow", p(), sphere(-2.0), tilted(2.0, -1.0), 30.0),
        ("cylinder", p(), cylinder(3.0, 30.0), tilted(1.0, 2.0), 30.0),
        ("saddle", p(), quadric(2.0, -2.0, 15.0), tilted(1.0, 1.0), 30.0),
        ("overhang and hole", over, sphere(-1.0), tilted(1.0, 0.5), 30.0),
        ("measured", measured_pad(140.0), quadric(1.5, -0.5, 40.0), tilted(1.0, -1.0), 50.0),
    ] {
        let c = at(&pad, &patch, &hold, force);
        let sums = |n: usize| {
            brute_force(&pad, &patch, E, c.slopes, c.heave_m, Resolution { rings: 5 * n, spokes: 4 * n, phases: n })
        };
        let (coarse, slow) = (sums(20), sums(40));
        // 1e-4: what 24 phases leave where a contact edge crosses the pad; brute force by its own difference.
        let room = |a: f64, b: f64, scale: f64| ((a - b).abs() / scale).max(1e-4);
        let slack = room(coarse.force_n, slow.force_n, force);
        assert!(slack < 1e-3, "{name}: brute force resolves its own force to {slack}");
        assert!(rel(slow.force_n, force) < slack, "{name}: {} {force}", slow.force_n);
        assert!(
            c.peak_pressure_pa >= slow.peak_pa * (1.0 - 1e-3),
            "{name}: the search over phases stops within 1e-3: {} {}",
            slow.peak_pa,
            c.peak_pressure_pa
        );
        assert!(
            rel(slow.peak_pa, c.peak_pressure_pa) < 0.04,
            "{name}: half a cell short: {} {}",
            slow.peak_pa,
            c.peak_pressure_pa
        );
        for spin in [0.0, 6.3, 53.7, 100.0, -80.0] {
            let fast = friction_sums(&c.load, RATE, spin);
            let a = friction_sums_of_samples(&coarse.samples, E, RATE, spin);
            let b = friction_sums_of_samples(&slow.samples, E, RATE, spin);
            for (what, f, a, b, scale) in [
                ("moment", fast.moment_nm, a.moment_nm, b.moment_nm, force * R),
                ("forward", fast.forward_n, a.forward_n, b.forward_n, force),
                ("p|v|", fast.speed_w, a.speed_w, b.speed_w, force * (E * RATE).max(spin.abs() * R)),
            ] {
                // Nothing is split at the point of no sliding here: 3e-3 while it is under the pad.
                let slack = room(a, b, scale).max(if spin.abs() > 50.0 { 3e-3 } else { 0.0 });
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
fn a_larger_tilt_lifts_more_and_presses_harder() {
    let mut last: Option<Contact> = None;
    for deg in [0.2, 0.5, 1.0, 2.0, 4.0] {
        let c = at(&linear_pad(140.0, 1e6), &sphere(0.5), &tilted(deg, 0.0), 30.0);
        if let Some(l) = last {
            // 1e-9: rounding of the share where both are in full contact.
            assert!(c.peak_pressure_pa > l.peak_pressure_pa && c.contact_share <= l.contact_share + 1e-9, "{deg}");
        }
        last = Some(c);
    }
}

#[test]
fn self_aligning_is_square_on_a_centred_patch() {
    for patch in [sphere(2.0), cylinder(-2.0, 35.0), quadric(3.0, -1.0, 10.0)] {
        let (a, b) = (
            at(&linear_pad(140.0, 1e6), &patch, &Hold::SelfAligning, 30.0),
            at(&linear_pad(140.0, 1e6), &patch, &Hold::Flat, 30.0),
        );
        assert_eq!(a, b);
        // That it is the balanced attitude, and not just the same number: a small tilt either way
        // brings a moment that turns it back.
        for (x, sign) in [(0.05, 1.0), (-0.05, -1.0)] {
            let c = at(&linear_pad(140.0, 1e6), &patch, &tilted(x, 0.0), 30.0);
            let m = brute_force(
                &linear_pad(140.0, 1e6),
                &patch,
                E,
                c.slopes,
                c.heave_m,
                Resolution { rings: 60, spokes: 64, phases: 24 },
            )
            .moment_nm;
            // 0.1 N·mm: k times the tilt times the disc's second moment is 16 N·mm in full contact.
            assert!(m.0 * sign > 1e-4, "{patch:?} {m:?}");
        }
    }
}
