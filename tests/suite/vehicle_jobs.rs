//! Small vehicles for the tests: one job text with pieces that a case replaces.

#![cfg(feature = "cli")]

use trochoid::job::Job;
use trochoid::job::vehicle::{VehiclePlan, plan_vehicle};
use trochoid::spin::StallSettings;

/// Two panels, one of them with a hollow, two tools, three pads, two products: everything a case needs.
pub(crate) const SMALL: &str = r#"schema = 1
[ambient]
temperature_c = 20.0
[budget]
target_correction = 0.9
[vehicle]
name = "small"
finish = "correct_and_refine"
force_n = [20.0, 50.0]
feed_mm_s = [25.0, 60.0]
cell_mm = 8.0
[tool.long]
drive = "free"
throw_mm = 15.0
orbit_rate_opm = 4200.0
orbit_rate_range_opm = [2000.0, 5000.0]
bearing = { breakaway_nm = 0.03, viscous_nms = 8.0e-5 }
mass_kg = 2.6
vibration_m_s2 = 4.0
pad_range_mm = [120.0, 150.0]
[tool.short]
drive = "free"
throw_mm = 9.0
orbit_rate_opm = 4800.0
orbit_rate_range_opm = [3000.0, 6000.0]
bearing = { breakaway_nm = 0.015, viscous_nms = 4.0e-5 }
mass_kg = 1.4
vibration_m_s2 = 5.0
pad_range_mm = [50.0, 90.0]
[pad.cutting]
diameter_mm = 130.0
thickness_mm = 25.0
compression = { law = "linear", stiffness_kpa_per_mm = 0.9 }
shear_modulus_kpa = 30.0
count = 8
[pad.finishing]
diameter_mm = 130.0
thickness_mm = 25.0
compression = { law = "linear", stiffness_kpa_per_mm = 0.5 }
shear_modulus_kpa = 18.0
face = "finishing_foam"
[pad.small]
diameter_mm = 80.0
thickness_mm = 20.0
mass_kg = 0.08
compression = { law = "linear", stiffness_kpa_per_mm = 1.1 }
shear_modulus_kpa = 30.0
[product.compound]
friction = 0.35
preston_per_pa = 2.0e-11
grain_um = 3.0
[product.fine]
friction = 0.30
preston_per_pa = 2.5e-12
grain_um = 0.4
[pairing.finishing_compound]
pad = "finishing"
product = "compound"
preston_per_pa = 7.0e-12
[paint.clear]
hardness = "medium"
clear_um = 45.0
lightness = 12.0
[panel.lid]
shape = "flat"
size_mm = [1000.0, 700.0]
paint = "clear"
defects = ["swirl_marks", "stone_chip"]
bands = [[1.0, 0.1, 0.2]]
[panel.wing]
shape = "flat"
size_mm = [1000.0, 700.0]
incline_deg = 85.0
paint = "clear"
defects = ["swirl_marks"]
bands = [[0.7, 0.2, 0.3], [0.3, -0.6, -0.1]]
"#;

/// The small vehicle with pieces replaced; each must be there.
pub(crate) fn with(changes: &[(&str, &str)]) -> String {
    let mut text = SMALL.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "no {from:?} in the small vehicle");
        text = text.replace(from, to);
    }
    text
}

pub(crate) fn job(text: &str) -> Job {
    Job::parse("vehicle.toml", text).unwrap_or_else(|p| panic!("refused:\n{p}"))
}

/// Its plan, with the bearing known to a factor of two.
pub(crate) fn plan_of(job: &Job) -> VehiclePlan {
    let settings = StallSettings { useful_spin: job.limits.useful_spin.rad_s(), ..StallSettings::default() };
    plan_vehicle(job, &settings, &|_| (0.5, 2.0)).unwrap_or_else(|e| panic!("{e}"))
}

pub(crate) fn plan(text: &str) -> VehiclePlan {
    plan_of(&job(text))
}
