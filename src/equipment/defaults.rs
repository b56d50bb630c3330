//! Every value that is used when a description leaves it out, with its source and grade.
//!
//! Grades: *measured* (a number somebody read off the thing), *standard* (a published standard or
//! handbook), *derived* (follows from other inputs), *assumed* (an engineering guess of ours or
//! common practice without a published source).

use core::fmt;

/// How well a value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Grade {
    /// Read off the thing itself.
    Measured,
    /// From a published standard or handbook.
    Standard,
    /// Follows from other inputs.
    Derived,
    /// Engineering guess, or common practice without a published source.
    Assumed,
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Measured => "measured",
            Self::Standard => "standard",
            Self::Derived => "derived",
            Self::Assumed => "assumed",
        })
    }
}

/// One documented default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Documented {
    /// Key in the job file, with its unit.
    pub key: &'static str,
    /// The value in words, as `check` prints it.
    pub value: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// How well it is known.
    pub grade: Grade,
}

/// Spin below which a pad counts as stalled, rpm.
pub const USEFUL_SPIN_RPM: f64 = 60.0;
/// Loss factor of pad foam under cyclic load \[1\].
pub const LOSS_FACTOR: f64 = 0.25;
/// Mass of plate, pad and product held, kg.
pub const PAD_MASS_KG: f64 = 0.2;
/// Apparent density of pad foam, kg/m³.
pub const FOAM_DENSITY_KG_M3: f64 = 60.0;
/// Abrasive grains in action per square metre of pad face, 1/m².
pub const GRAINS_PER_M2: f64 = 1.0;
/// Decay length of the load beyond the plate's edge, as a share of the pad thickness \[1\].
pub const OVERHANG_LENGTH_PER_THICKNESS: f64 = 0.5;
/// Relative standard deviation of a Preston coefficient that was not calibrated \[1\].
pub const PRESTON_REL_SD: f64 = 0.5;
/// Smallest step on a machine's speed scale that a hand can set \[1\].
pub const SETTING_STEP: f64 = 0.5;
/// Moment of inertia of rotor, gear and counterweight at the orbit shaft, kg·m².
pub const ROTOR_INERTIA_KGM2: f64 = 1e-3;
/// Clear coat thickness, µm.
pub const CLEAR_UM: f64 = 45.0;
/// Lightness L* of the paint \[1\].
pub const LIGHTNESS: f64 = 50.0;
/// Air temperature, °C.
pub const AIR_TEMPERATURE_C: f64 = 20.0;
/// Relative humidity \[1\].
pub const RELATIVE_HUMIDITY: f64 = 0.5;
/// Speed of the air over the panel, m/s.
pub const AIR_SPEED_M_S: f64 = 0.2;
/// Side of a map cell, mm.
pub const CELL_MM: f64 = 2.0;

/// The table behind `check`: every optional key that has a default.
pub const TABLE: &[Documented] = &[
    Documented { key: "ambient.temperature_c", value: "20", source: "ordinary workshop air", grade: Grade::Assumed },
    Documented {
        key: "ambient.relative_humidity",
        value: "0.5",
        source: "ordinary workshop air",
        grade: Grade::Assumed,
    },
    Documented {
        key: "ambient.air_speed_m_s",
        value: "0.2",
        source: "still indoor air, doors shut",
        grade: Grade::Assumed,
    },
    Documented {
        key: "limits.useful_spin_rpm",
        value: "60",
        source: "one turn a second: common practice, no source",
        grade: Grade::Assumed,
    },
    Documented {
        key: "map.cell_mm",
        value: "2",
        source: "a thirtieth of a small pad's diameter",
        grade: Grade::Assumed,
    },
    Documented {
        key: "tool.orbit_rate_range_opm",
        value: "the set-point alone",
        source: "no range given, so no other rate is proposed",
        grade: Grade::Derived,
    },
    Documented {
        key: "tool.setting_step",
        value: "0.5",
        source: "half marks on a dial can be set by hand: common practice, no source",
        grade: Grade::Assumed,
    },
    Documented {
        key: "tool.bearing.friction",
        value: "0",
        source: "load term left out until given",
        grade: Grade::Assumed,
    },
    Documented {
        key: "tool.bearing.bore_mm",
        value: "12",
        source: "bore of a small deep-groove bearing; used with bearing.friction only",
        grade: Grade::Assumed,
    },
    Documented { key: "tool.bearing.brake_nm", value: "0", source: "no pad brake or shroud", grade: Grade::Assumed },
    Documented {
        key: "tool.spin_inertia_kgm2",
        value: "pad mass x face radius^2 / 2",
        source: "a uniform disc",
        grade: Grade::Derived,
    },
    Documented {
        key: "tool.motor",
        value: "none",
        source: "no rated power given, so no motor limit is drawn",
        grade: Grade::Derived,
    },
    Documented {
        key: "tool.motor.rotor_inertia_kgm2",
        value: "0.001",
        source: "rotor through its gear and counterweight, order of magnitude; used in the time domain only",
        grade: Grade::Assumed,
    },
    Documented {
        key: "tool.mass_kg",
        value: "none",
        source: "not given, so the hand force cannot be told from the face force",
        grade: Grade::Derived,
    },
    Documented {
        key: "pad.plate_mm",
        value: "the face diameter",
        source: "plate as large as the face",
        grade: Grade::Assumed,
    },
    Documented { key: "pad.hole_mm", value: "0", source: "no centre hole", grade: Grade::Assumed },
    Documented {
        key: "pad.mass_kg",
        value: "0.2",
        source: "plate, pad and product held; used with bearing.friction, unbalance and as inertia",
        grade: Grade::Assumed,
    },
    Documented {
        key: "pad.shear_modulus_kpa",
        value: "rigid in shear",
        source: "no throw is lost in the pad until given",
        grade: Grade::Assumed,
    },
    Documented {
        key: "pad.loss_factor",
        value: "0.25",
        source: "flexible polyurethane foam, order of magnitude",
        grade: Grade::Assumed,
    },
    Documented {
        key: "pad.foam_density_kg_m3",
        value: "60",
        source: "flexible polyurethane foam, order of magnitude; used for the inertia check of the face throw only",
        grade: Grade::Assumed,
    },
    Documented {
        key: "pad.overhang_length_mm",
        value: "half the pad thickness",
        source: "load beyond the plate's edge decays as exp(-x/length), our law",
        grade: Grade::Assumed,
    },
    Documented {
        key: "pad.grains_per_m2",
        value: "1",
        source: "coverage then reads as sliding length per grain density",
        grade: Grade::Assumed,
    },
    Documented {
        key: "pad.interface.shear_modulus_kpa",
        value: "rigid in shear",
        source: "no throw is lost in the layer until given",
        grade: Grade::Assumed,
    },
    Documented {
        key: "paint.hardness",
        value: "medium",
        source: "neither known soft nor known hard",
        grade: Grade::Assumed,
    },
    Documented {
        key: "paint.clear_um",
        value: "45",
        source: "middle of the 30-60 µm band: common practice, no source",
        grade: Grade::Assumed,
    },
    Documented { key: "paint.lightness", value: "50", source: "middle grey", grade: Grade::Assumed },
    Documented { key: "paint.substrate", value: "steel", source: "most outer panels", grade: Grade::Assumed },
    Documented {
        key: "pairing.preston_rel_sd",
        value: "0.5",
        source: "uncalibrated Preston coefficient",
        grade: Grade::Assumed,
    },
    Documented {
        key: "panel.axis_deg",
        value: "0",
        source: "first principal curvature along x",
        grade: Grade::Assumed,
    },
    Documented { key: "panel.incline_deg", value: "0", source: "panel facing up", grade: Grade::Assumed },
    Documented { key: "step.hold", value: "flat", source: "pad held square to the panel", grade: Grade::Assumed },
    Documented {
        key: "step.orbit_rate_opm",
        value: "the tool's set-point",
        source: "no rate or speed setting given in the step",
        grade: Grade::Derived,
    },
    Documented {
        key: "step.inset_mm",
        value: "0",
        source: "outer pass lines on the panel's edges",
        grade: Grade::Derived,
    },
    Documented {
        key: "step.turn",
        value: "straight",
        source: "pass lines joined by straight legs along the edge",
        grade: Grade::Derived,
    },
    Documented {
        key: "step.lead_mm",
        value: "0",
        source: "full feed from end to end of each pass line",
        grade: Grade::Derived,
    },
    Documented {
        key: "step.lead_feed_mm_s",
        value: "half the feed",
        source: "feed at the very ends of a pass line; used with lead_mm only",
        grade: Grade::Assumed,
    },
    Documented {
        key: "step.target_cut_um",
        value: "none",
        source: "no target: the passes given are planned",
        grade: Grade::Derived,
    },
];

/// Finds the documented default of `key`.
///
/// # Example
/// ```
/// use trochoid::equipment::defaults;
/// assert_eq!(defaults::find("pad.loss_factor").map(|d| d.value), Some("0.25"));
/// ```
#[must_use]
pub fn find(key: &str) -> Option<&'static Documented> {
    TABLE.iter().find(|d| d.key == key)
}
