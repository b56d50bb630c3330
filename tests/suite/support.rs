//! Set-ups shared by the tests.

use trochoid::contact::{Contact, ContactSettings, Hold, Load, PressureField};
use trochoid::equipment::{Bearing, CompressionLaw, Interface, Pad, Product, Tool};
use trochoid::panel::Patch;
use trochoid::spin::Setup;
use trochoid::{Angle, AngularRate, Curvature, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

/// A free tool with a bearing that has a constant torque and a viscous term.
pub(crate) fn free_tool(throw_mm: f64, rate_opm: f64, breakaway_nm: f64, viscous_nms: f64) -> Tool {
    let bearing = Bearing::new(Torque::from_nm(breakaway_nm), ViscousDrag::from_nms(viscous_nms)).unwrap();
    Tool::free(Length::from_mm(throw_mm), AngularRate::from_opm(rate_opm), bearing).unwrap()
}

/// A pad with a linear law, rigid in shear, 25 mm thick.
pub(crate) fn linear_pad(diameter_mm: f64, k_pa_m: f64) -> Pad {
    let law = CompressionLaw::linear(Stiffness::from_pa_per_m(k_pa_m)).unwrap();
    Pad::new(Length::from_mm(diameter_mm), Length::from_mm(25.0), law).unwrap()
}

/// A pad with a measured law.
pub(crate) fn measured_pad(diameter_mm: f64) -> Pad {
    let stress: Vec<_> = [3.0, 3.8, 5.0, 8.0].iter().map(|p| Pressure::from_kpa(*p)).collect();
    let law = CompressionLaw::measured(&[0.25, 0.4, 0.5, 0.65], &stress).unwrap();
    Pad::new(Length::from_mm(diameter_mm), Length::from_mm(25.0), law).unwrap()
}

/// A pad with a power law, stress in kPa at half strain.
pub(crate) fn power_pad(diameter_mm: f64, half_kpa: f64, exponent: f64) -> Pad {
    let law = CompressionLaw::power(Pressure::from_kpa(half_kpa), exponent).unwrap();
    Pad::new(Length::from_mm(diameter_mm), Length::from_mm(25.0), law).unwrap()
}

/// A soft layer 10 mm thick.
pub(crate) fn layer(kpa_per_mm: f64) -> Interface {
    Interface::new(Length::from_mm(10.0), Stiffness::from_kpa_per_mm(kpa_per_mm)).unwrap()
}

/// A spherical patch.
pub(crate) fn sphere(per_m: f64) -> Patch {
    Patch::sphere(Curvature::from_per_m(per_m)).unwrap()
}

/// A cylindrical patch, curved along `axis_deg`.
pub(crate) fn cylinder(per_m: f64, axis_deg: f64) -> Patch {
    Patch::cylinder(Curvature::from_per_m(per_m), Angle::from_deg(axis_deg)).unwrap()
}

/// A patch with two principal curvatures.
pub(crate) fn quadric(first: f64, second: f64, axis_deg: f64) -> Patch {
    Patch::quadric(Curvature::from_per_m(first), Curvature::from_per_m(second), Angle::from_deg(axis_deg)).unwrap()
}

/// A tilted hold.
pub(crate) fn tilted(x_deg: f64, y_deg: f64) -> Hold {
    Hold::tilted(Angle::from_deg(x_deg), Angle::from_deg(y_deg)).unwrap()
}

/// A set-up on a patch.
pub(crate) fn setup(tool: Tool, pad: Pad, friction: f64, force_n: f64, patch: Patch) -> Setup {
    Setup::new(tool, pad, Product::new(friction, 2e-11).unwrap(), patch, Force::from_n(force_n)).unwrap()
}

/// A set-up with its throw, where both may be out of range together.
pub(crate) fn try_setup(tool: Tool, pad: Pad, friction: f64, force_n: f64, patch: Patch) -> Option<Setup> {
    Setup::new(tool, pad, Product::new(friction, 2e-11).ok()?, patch, Force::from_n(force_n)).ok()
}

/// Contact solution with many nodes, for checks of the model rather than of the default accuracy.
pub(crate) fn fine() -> ContactSettings {
    ContactSettings {
        radial_nodes: 40,
        arc_nodes: 40,
        azimuth_nodes: 64,
        phases: 96,
        tolerance: 1e-11,
        ..ContactSettings::default()
    }
}

/// Pressure field of a pad held square.
pub(crate) fn field(c: &Contact) -> &PressureField {
    match &c.load {
        Load::Rings(r) => r.field(),
        Load::Tilted(_) => panic!("held square"),
    }
}

/// Relative difference.
pub(crate) fn rel(got: f64, expected: f64) -> f64 {
    ((got - expected) / expected).abs()
}
