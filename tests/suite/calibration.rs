//! Bearing drag from one counted spin: the drag that made a spin is found again from it.

use crate::support::{free_tool, linear_pad, rel, setup, sphere};
use core::f64::consts::PI;
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, Tool};
use trochoid::panel::Patch;
use trochoid::spin::{CalibrationError, CountedSpin, Setup, calibrate_drag, spin_state};
use trochoid::{AngularRate, Length, Torque, ViscousDrag};

fn with_bearing(bearing: Bearing, patch: Patch) -> Setup {
    let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_opm(4200.0), bearing).unwrap();
    setup(tool, linear_pad(130.0, 9e5), 0.35, 35.0, patch)
}

fn bearing() -> Bearing {
    Bearing::new(Torque::from_nm(0.03), ViscousDrag::from_nms(1e-4))
        .unwrap()
        .with_load_friction(0.002, Length::from_mm(12.0))
        .unwrap()
        .with_brake(Torque::from_nm(0.005))
        .unwrap()
}

#[test]
fn a_known_drag_comes_back() {
    let settings = ContactSettings::default();
    for patch in [Patch::flat(), sphere(0.4), sphere(-0.3)] {
        for factor in [0.6, 1.0, 2.5] {
            let truth = with_bearing(bearing().with_drag_scaled(factor).unwrap(), patch);
            let spin = spin_state(&truth, &patch, &settings).unwrap().spin;
            // Counted over a minute without a counting error, so that only the method is tested.
            let count = CountedSpin::new(spin * 60.0 / (2.0 * PI), 60.0).unwrap();
            let found = calibrate_drag(&with_bearing(bearing(), patch), &count, &settings).unwrap();
            // The root is found to 1e-8 rad/s of some 10.
            assert!(rel(found.factor, factor) < 1e-7, "{patch:?}: {} {factor}", found.factor);
            assert!(rel(found.bearing.breakaway().nm(), 0.03 * factor) < 1e-7, "as the factor");
            assert!(rel(found.bearing.brake_probe(), 0.005) < 1e-12, "the brake is not scaled: rounding");
            assert!(found.factor_range.0 < factor && found.factor_range.1 > factor);
            // A count is good to half a turn: the range holds what half a turn more or less would give.
            let more = CountedSpin::new(spin * 60.0 / (2.0 * PI) + 0.5, 60.0).unwrap();
            let high = calibrate_drag(&with_bearing(bearing(), patch), &more, &settings).unwrap();
            // The same root search from the same numbers: rounding.
            assert!(rel(found.factor_range.1, high.factor) < 1e-9, "{:?} {}", found.factor_range, high.factor);
        }
    }
}

trait BrakeProbe {
    fn brake_probe(&self) -> f64;
}

impl BrakeProbe for Bearing {
    /// Brake torque as the balance sees it.
    fn brake_probe(&self) -> f64 {
        self.under_load(0.0, 0.0).brake_nm
    }
}

#[test]
fn counts_that_no_drag_explains() {
    let settings = ContactSettings::default();
    let flat = || with_bearing(bearing(), Patch::flat());
    // Backward on the flat: nothing there turns the pad against its orbit.
    let back = calibrate_drag(&flat(), &CountedSpin::new(-100.0, 60.0).unwrap(), &settings);
    assert!(matches!(back, Err(CalibrationError::NoDrag { .. })), "{back:?}");
    // Faster than the orbit.
    let over = calibrate_drag(&flat(), &CountedSpin::new(4300.0, 60.0).unwrap(), &settings);
    assert!(matches!(over, Err(CalibrationError::NoDrag { .. })), "{over:?}");
    // A bearing without any drag has nothing to scale.
    let none = with_bearing(Bearing::new(Torque::from_nm(0.0), ViscousDrag::from_nms(0.0)).unwrap(), Patch::flat());
    let none = calibrate_drag(&none, &CountedSpin::new(100.0, 60.0).unwrap(), &settings);
    assert!(matches!(none, Err(CalibrationError::NoDrag { .. })), "{none:?}");
    // Not a free drive.
    let geared = Tool::geared(Length::from_mm(12.0), AngularRate::from_opm(4200.0), 0.1).unwrap();
    let geared = setup(geared, linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat());
    assert_eq!(
        calibrate_drag(&geared, &CountedSpin::new(10.0, 10.0).unwrap(), &settings),
        Err(CalibrationError::NotFree)
    );
    for (turns, seconds) in [(f64::NAN, 10.0), (10.0, 0.0), (1e9, 10.0), (10.0, f64::INFINITY)] {
        assert!(CountedSpin::new(turns, seconds).is_err());
    }
}

#[test]
fn an_upper_bound_beyond_the_orbit_rate_is_not_made_up() {
    // 4199.8 turns in a minute of 4200: half a turn more is faster than the orbit, for which no
    // drag is large enough.
    let tool = free_tool(12.0, 4200.0, 0.03, 1e-4);
    let s = setup(tool, linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat());
    let found = calibrate_drag(&s, &CountedSpin::new(4199.8, 60.0).unwrap(), &ContactSettings::default()).unwrap();
    assert!(found.factor_range.1.is_infinite(), "no finite drag bounds it: {:?}", found.factor_range);
}
