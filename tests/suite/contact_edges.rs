//! The ends of the contact problem's range: bottoming out, sticking, tiny and huge inputs, refusals.

use crate::support::{cylinder, free_tool, layer, linear_pad, measured_pad, power_pad, rel, setup, sphere, tilted};
use core::f64::consts::PI;
use trochoid::contact::{ContactError, ContactSettings, Hold, solve};
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::panel::Patch;
use trochoid::spin::{Setup, StallSettings, spin_state, stall_limits};
use trochoid::{Angle, AngularRate, Curvature, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

const E: f64 = 6e-3;

fn at(pad: &Pad, patch: &Patch, force: f64) -> Result<trochoid::contact::Contact, ContactError> {
    solve(pad, patch, E, &Hold::Flat, force, &ContactSettings::default())
}

#[test]
fn mean_pressure_past_the_law_is_refused_with_the_limit() {
    let pad = measured_pad(130.0);
    let limit = 8000.0 * PI * 0.065 * 0.065;
    // Just inside it carries, just outside it does not: 1e-9 is well beyond rounding.
    assert!(at(&pad, &Patch::flat(), limit * (1.0 - 1e-9)).is_ok());
    match at(&pad, &Patch::flat(), limit * (1.0 + 1e-9)) {
        Err(ContactError::ForceTooLarge { force_n, limit_n }) => {
            assert!(rel(limit_n, limit) < 1e-12 && rel(force_n, limit) < 1e-8, "rounding");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn local_strain_past_the_law_is_refused_with_a_force_that_fits() {
    for (pad, patch, place) in [
        (measured_pad(130.0), sphere(8.0), "under the tool axis"),
        (measured_pad(130.0), sphere(-6.0), "at the rim"),
        (measured_pad(130.0).with_hole(Length::from_mm(40.0)).unwrap(), sphere(9.0), "at the edge of the hole"),
        (linear_pad(130.0, 2e5), cylinder(-9.0, 20.0), "at the rim"),
        (power_pad(130.0, 6.0, 2.0), sphere(-9.0), "at the rim"),
        (measured_pad(130.0).with_interface(layer(2.0)), sphere(-6.0), "at the rim"),
    ] {
        let limit = pad.stack().limit_pressure() * PI * 0.065 * 0.065 * 0.8;
        let Err(ContactError::BottomsOut(b)) = at(&pad, &patch, limit) else { panic!("{place}: carries {limit}") };
        assert_eq!(b.place, place);
        let fits = at(&pad, &patch, b.fitting_force_n * (1.0 - 1e-9)).unwrap();
        // The heave is found to 1e-12 of the force.
        assert!(rel(fits.compression_m.0, fits.compression_m.1) < 1e-6, "it fits with nothing to spare");
        // A thousandth more: far beyond the 1e-6 above.
        assert!(matches!(at(&pad, &patch, b.fitting_force_n * 1.001), Err(ContactError::BottomsOut(_))));
    }
    // Tilted likewise.
    let hold = tilted(12.0, 0.0);
    let tilt = |n: f64| solve(&measured_pad(130.0), &Patch::flat(), E, &hold, n, &ContactSettings::default());
    let Err(ContactError::BottomsOut(b)) = tilt(90.0) else { panic!("12 degrees at 90 N") };
    // A thousandth less: the search over the phases of a tilted pad stops within 1e-3.
    assert!(tilt(b.fitting_force_n * 0.999).is_ok());
}

#[test]
fn a_light_touch_and_an_extreme_patch_still_solve() {
    for (pad, patch, force) in [
        (linear_pad(130.0, 9e5), sphere(1000.0), 0.1),
        (linear_pad(500.0, 1e4), Patch::flat(), 0.1),
        (linear_pad(5.0, 1e10), Patch::flat(), 2000.0),
        (linear_pad(130.0, 1e10), sphere(3.0), 0.1),
        (linear_pad(130.0, 1e10), sphere(-3.0), 0.1),
        (power_pad(130.0, 1e4, 8.0), cylinder(1.0, 0.0), 0.1),
        (power_pad(130.0, 0.5, 0.5), sphere(-0.5), 0.1),
        (linear_pad(130.0, 9e5), sphere(1e-12), 30.0),
        (linear_pad(130.0, 9e5), sphere(-1e-12), 30.0),
    ] {
        let c = solve(&pad, &patch, 1e-3, &Hold::Flat, force, &ContactSettings::default())
            .unwrap_or_else(|e| panic!("{patch:?}: {e}"));
        assert!(c.peak_pressure_pa.is_finite() && c.contact_share > 0.0 && c.contact_share <= 1.0);
        // At rest every point slides along the orbit: the friction force with μ = 1 is the force
        // asked for, to the quadrature's own estimate (factor three as in `estimates`) or, where that
        // is smaller, the 1e-7 that the split at the point of no sliding leaves.
        let forward = trochoid::spin::friction_sums(&c.load, 400.0, 0.0).forward_n;
        assert!(rel(forward, force) < 1e-7 + 3.0 * c.error, "{patch:?}: {forward} {force}, stated {:e}", c.error);
    }
}

#[test]
fn a_sticking_face_neither_turns_nor_cuts() {
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9)).unwrap();
    let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(30.0), law)
        .unwrap()
        .with_shear_modulus(Pressure::from_kpa(5.0))
        .unwrap();
    let s = setup(free_tool(6.0, 4200.0, 0.05, 1e-4), pad, 0.8, 60.0, Patch::flat());
    let r = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
    assert!(r.sticks && r.equilibria.is_empty());
    // Zero to the last bit: nothing is computed for a face that sticks.
    for v in [r.spin, r.face_orbit_m, r.sums.moment_nm, r.sums.forward_n, r.sums.speed_w] {
        assert!(v.abs() < f64::MIN_POSITIVE);
    }
    let limits = stall_limits(&s, &StallSettings::default(), 1.0).unwrap();
    assert!(
        limits.stalled_on_flat
            && limits.sphere.is_none()
            && limits.along_panel.is_none()
            && limits.stall_number().is_none()
    );
}

#[test]
fn driven_pads_turn_as_they_are_driven() {
    let pad = || linear_pad(130.0, 9e5);
    let geared = Tool::geared(Length::from_mm(12.0), AngularRate::from_opm(4200.0), -0.1).unwrap();
    let rotary = Tool::rotary(AngularRate::from_rpm(1500.0)).unwrap();
    for (tool, rpm) in [(geared, -420.0), (rotary, 1500.0)] {
        for patch in [Patch::flat(), sphere(-2.0), cylinder(1.0, 0.0)] {
            let s = setup(tool.clone(), pad(), 0.35, 35.0, patch);
            let r = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
            assert!(rel(AngularRate::from_rad_s(r.spin).rpm(), rpm) < 1e-12, "rounding of the unit");
            assert!(r.sums.speed_w.is_finite() && r.sums.speed_w > 0.0 && r.sums.moment_nm * rpm > 0.0);
            let limits = stall_limits(&s, &StallSettings::default(), 1.0).unwrap();
            assert!(
                !limits.stalled_on_flat
                    && limits.sphere.is_none()
                    && limits.reversal.is_none()
                    && limits.along_panel.is_none()
            );
        }
    }
    // Rotary on the flat: p|v| sums to N·ω·2R/3, torque to N·2R/3.
    let s = setup(Tool::rotary(AngularRate::from_rpm(1500.0)).unwrap(), pad(), 0.35, 35.0, Patch::flat());
    let r = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
    assert!(rel(r.sums.moment_nm, 35.0 * 2.0 * 0.065 / 3.0) < 1e-12, "Gauss is exact for r²");
    assert!(rel(r.sums.speed_w, r.sums.moment_nm * r.spin) < 1e-12, "Gauss is exact for r²");
}

#[test]
fn bearings_at_the_ends_of_their_range() {
    let run = |bearing: Bearing, patch: Patch| {
        let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_opm(4200.0), bearing).unwrap();
        let s = setup(tool, linear_pad(130.0, 9e5), 0.35, 35.0, patch);
        (s.tool().rate().rad_s(), spin_state(&s, &patch, &ContactSettings::default()).unwrap().spin)
    };
    let bearing = |m: f64, c: f64| Bearing::new(Torque::from_nm(m), ViscousDrag::from_nms(c)).unwrap();
    // No drag on the flat: no spin. 1e-6 rad/s: quadrature at rest is 1e-9 of μNe over the damping.
    assert!(run(bearing(0.0, 0.0), Patch::flat()).1.abs() < 1e-6);
    // A seized bearing turns the pad with the orbit, to the width of the corner: 0.1 rad/s is a
    // hundred of its widths, and a four-thousandth of the rate.
    let (rate, spin) = run(bearing(100.0, 1.0), Patch::flat());
    assert!(spin <= rate && spin > rate - 0.1, "{spin} {rate}");
    // A brake beyond every torque holds the pad, whichever way the panel turns it.
    for patch in [Patch::flat(), sphere(1.0), sphere(-1.0)] {
        let held = run(bearing(0.05, 1e-4).with_brake(Torque::from_nm(50.0)).unwrap(), patch).1;
        assert!(held.abs() < 1e-3, "within its corner of 1e-3 rad/s: {held}");
    }
    // Without drag a hollow turns the pad backward, a crown forward; 1 rad/s is a million times the
    // error on the flat above.
    assert!(run(bearing(0.0, 0.0), sphere(-0.5)).1 < -1.0);
    assert!(run(bearing(0.0, 0.0), sphere(0.5)).1 > 1.0);
}

#[test]
fn bad_numbers_die_at_the_border() {
    for bad in [f64::NAN, f64::INFINITY, -1.0, 0.0] {
        assert!(CompressionLaw::linear(Stiffness::from_pa_per_m(bad)).is_err(), "{bad}");
        assert!(Product::new(bad, 1e-11).is_err(), "{bad}");
        assert!(
            Tool::free(
                Length::from_mm(bad),
                AngularRate::from_opm(4000.0),
                Bearing::new(Torque::from_nm(0.1), ViscousDrag::from_nms(0.0)).unwrap()
            )
            .is_err()
        );
        assert!(
            Tool::free(
                Length::from_mm(12.0),
                AngularRate::from_opm(bad),
                Bearing::new(Torque::from_nm(0.1), ViscousDrag::from_nms(0.0)).unwrap()
            )
            .is_err()
        );
        let pad = || linear_pad(130.0, 9e5);
        let tool = || free_tool(12.0, 4200.0, 0.05, 1e-4);
        assert!(
            Setup::new(tool(), pad(), Product::new(0.3, 1e-11).unwrap(), Patch::flat(), Force::from_n(bad)).is_err()
        );
        let law = || CompressionLaw::linear(Stiffness::from_pa_per_m(9e5)).unwrap();
        assert!(Pad::new(Length::from_mm(bad), Length::from_mm(25.0), law()).is_err());
        assert!(Pad::new(Length::from_mm(130.0), Length::from_mm(bad), law()).is_err());
        assert!(pad().with_plate(Length::from_mm(bad)).is_err());
    }
    for bad in [f64::NAN, f64::INFINITY, 1e9, -1e9] {
        assert!(Patch::sphere(Curvature::from_per_m(bad)).is_err());
        assert!(Patch::quadric(Curvature::from_per_m(1.0), Curvature::from_per_m(bad), Angle::from_deg(0.0)).is_err());
        assert!(Patch::cylinder(Curvature::from_per_m(1.0), Angle::from_deg(bad)).is_err());
        assert!(Hold::tilted(Angle::from_deg(bad), Angle::from_deg(0.0)).is_err());
        assert!(Bearing::new(Torque::from_nm(bad), ViscousDrag::from_nms(0.0)).is_err());
        assert!(Bearing::new(Torque::from_nm(0.0), ViscousDrag::from_nms(bad)).is_err());
    }
    // A throw as large as the face.
    let small = linear_pad(12.0, 9e5);
    assert!(
        Setup::new(
            free_tool(12.0, 4200.0, 0.05, 1e-4),
            small,
            Product::new(0.3, 1e-11).unwrap(),
            Patch::flat(),
            Force::from_n(5.0)
        )
        .is_err()
    );
    // The message names the quantity, the value and the range.
    let e = Product::new(9.0, 1e-11).unwrap_err().to_string();
    assert!(e.contains("friction") && e.contains('9') && e.contains("0.001 to 5"), "{e}");
}
