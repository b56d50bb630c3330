//! Set-ups shared by the tests.

use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::panel::Patch;
use trochoid::spin::Setup;
use trochoid::{AngularRate, Curvature, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

/// A free tool with a bearing that has a constant torque only.
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

/// A spherical patch.
pub(crate) fn sphere(per_m: f64) -> Patch {
    Patch::sphere(Curvature::from_per_m(per_m)).unwrap()
}

/// A set-up on a patch.
pub(crate) fn setup(tool: Tool, pad: Pad, friction: f64, force_n: f64, patch: Patch) -> Setup {
    Setup::new(tool, pad, Product::new(friction, 2e-11).unwrap(), patch, Force::from_n(force_n)).unwrap()
}
