//! The keys of a job file: for every table its keys, their units and whether they may be left out.
//!
//! The list is what unknown keys are checked against and what `check` prints; values and their
//! ranges are the business of the validated types. Defaults with a value stand in
//! `equipment::defaults` and `job::absent`.

/// Whether a key may be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Need {
    /// Always needed.
    Required,
    /// Needed in some cases only, by drive, shape or law.
    Case,
    /// Exactly one of this key and another one is needed.
    OneOf(&'static str),
    /// May be left out; has a documented default.
    Default,
    /// May stand in place of another key that has a documented default.
    InsteadOf(&'static str),
}

/// One key of a table.
#[derive(Debug, Clone, Copy)]
pub(super) struct Key {
    pub(super) name: &'static str,
    pub(super) unit: &'static str,
    pub(super) need: Need,
}

/// One kind of table.
#[derive(Debug)]
pub(super) struct Kind {
    /// Path of the kind, as in `tool.bearing`; empty at the top.
    pub(super) name: &'static str,
    pub(super) keys: &'static [Key],
}

pub(super) const fn key(name: &'static str, unit: &'static str, need: Need) -> Key {
    Key { name, unit, need }
}

use Need::{Case, Default, InsteadOf, OneOf, Required};

pub(super) static JOB: Kind = Kind {
    name: "",
    keys: &[
        key("schema", "", Required),
        key("title", "", Default),
        key("ambient", "", Case),
        key("limits", "", Case),
        key("map", "", Case),
        key("coupling", "", Case),
        key("tool", "", Case),
        key("pad", "", Case),
        key("product", "", Case),
        key("paint", "", Case),
        key("pairing", "", Case),
        key("panel", "", Case),
        key("budget", "", Case),
        key("hand", "", Case),
        key("optimize", "", Case),
        key("sizing", "", Case),
        key("spot", "", Case),
        key("season", "", Case),
        key("step", "", Case),
        key("vehicle", "", Case),
        key("done", "", Case),
    ],
};

pub(super) static AMBIENT: Kind = Kind {
    name: "ambient",
    keys: &[
        key("temperature_c", "°C", Default),
        key("relative_humidity", "", Default),
        key("air_speed_m_s", "m/s", Default),
    ],
};

pub(super) static LIMITS: Kind =
    Kind { name: "limits", keys: &[key("useful_spin_rpm", "rpm", Default), key("paint_c", "°C", Default)] };

pub(super) static MAP: Kind = Kind { name: "map", keys: &[key("cell_mm", "mm", Default)] };

pub(super) static COUPLING: Kind = Kind {
    name: "coupling",
    keys: &[
        key("temperature", "", Default),
        key("loading", "", Default),
        key("drying", "", Default),
        key("cut_rise_per_10k", "", Default),
        key("cut_reference_c", "°C", Default),
    ],
};

pub(super) static BUDGET: Kind = Kind {
    name: "budget",
    keys: &[
        key("share_of_clear", "", Default),
        key("cap_um", "µm", Default),
        key("floor_um", "µm", Default),
        key("clear_rel_sd", "", Default),
        key("clear_share_of_film", "", Default),
        key("readings_file", "", Default),
        key("target_correction", "", Default),
        key("edge_share", "", Default),
        key("edge_strip_mm", "mm", Default),
    ],
};

pub(super) static HAND: Kind = Kind {
    name: "hand",
    keys: &[
        key("feed_rel_sd", "", Default),
        key("force_rel_sd", "", Default),
        key("tilt_sd_deg", "°", Default),
        key("spacing_rel_sd", "", Default),
        key("rate_rel_sd", "", Default),
        key("correlation_s", "s", Default),
        key("panel_share", "", Default),
        key("replicates", "", Default),
        key("seed", "", Default),
    ],
};

pub(super) static OPTIMIZE: Kind = Kind {
    name: "optimize",
    keys: &[
        key("feed_min_mm_s", "mm/s", Default),
        key("feed_max_mm_s", "mm/s", Default),
        key("acceleration_mm_s2", "mm/s²", Default),
        key("target", "", Default),
    ],
};

pub(super) static SIZING: Kind = Kind {
    name: "sizing",
    keys: &[
        key("step", "", Default),
        key("panels", "", Default),
        key("shares", "", Default),
        key("throw_mm", "mm", Default),
        key("pad_diameter_mm", "mm", Default),
        key("pad_thickness_mm", "mm", Default),
        key("pad_stiffness_factor", "", Default),
        key("orbit_rate_opm", "orbits/min", Default),
        key("force_n", "N", Default),
        key("feed_mm_s", "mm/s", Default),
        key("overlap", "", Default),
        key("balanced_pad_kg", "kg", Default),
        key("objectives", "", Default),
        key("limits", "", Case),
        key("enough_margin_per_m", "1/m", Default),
        key("target_cut_um", "µm", Default),
        key("population", "", Default),
        key("generations", "", Default),
        key("sensitivity_rows", "", Default),
        key("seed", "", Default),
    ],
};

pub(super) static SIZING_LIMITS: Kind = Kind {
    name: "sizing.limits",
    keys: &[
        key("cut_rate_mm3_s", "mm³/s", Case),
        key("unevenness_cv", "", Case),
        key("stall_margin_per_m", "1/m", Case),
        key("stalled_share", "", Case),
        key("sheet_rise_k", "K", Case),
        key("shaking_force_n", "N", Case),
        key("shaft_power_w", "W", Case),
        key("time_s_per_m2", "s/m²", Case),
    ],
};

pub(super) static SPOT: Kind = Kind {
    name: "spot",
    keys: &[
        key("name", "", Required),
        key("step", "", Case),
        key("tool", "", Case),
        key("pad", "", Case),
        key("product", "", Case),
        key("panel", "", Case),
        key("force_n", "N", Case),
        key("orbit_rate_opm", "/min", Case),
        key("feed_mm_s", "mm/s", Case),
        key("overlap", "", Case),
        key("passes", "", Default),
        key("pairs_um", "µm", Default),
        key("gauge_uncertainty_um", "µm", Default),
        key("gauge_resolution_um", "µm", Default),
        key("readings_averaged", "", Default),
        key("swirls_left", "", Default),
        key("haze", "", Default),
        key("counted_turns", "turns", Default),
        key("counted_seconds", "s", Default),
        key("gloss", "GU", Default),
        key("gloss_angle_deg", "°", Default),
        key("gloss_uncertainty", "GU", Default),
    ],
};

pub(super) static SEASON: Kind = Kind {
    name: "season",
    keys: &[
        key("vehicles_per_week", "", Required),
        key("weeks", "", Required),
        key("pad_price", "money", Required),
        key("wash_cost", "money", Default),
        key("hourly_rate", "money/h", Default),
        key("product_price_per_l", "money/l", Default),
        key("few_pads", "", Default),
    ],
};

pub(super) static TOOL: Kind = Kind {
    name: "tool",
    keys: &[
        key("drive", "", Required),
        key("throw_mm", "mm", Case),
        key("orbit_rate_opm", "/min", Case),
        key("orbit_rate_range_opm", "/min", Default),
        key("speed_settings", "", Default),
        key("setting_step", "", Default),
        key("spin_per_orbit", "", Case),
        key("spin_rpm", "rpm", Case),
        key("bearing", "", Case),
        key("spin_inertia_kgm2", "kg·m²", Default),
        key("motor", "", Default),
        key("mass_kg", "kg", Default),
        key("vibration_m_s2", "m/s²", Default),
        key("noise_db", "dB", Default),
        key("pad_range_mm", "mm", Default),
        key("counted_spin", "", Default),
        key("balance", "", Case),
        key("spindle_bearing", "", Case),
        key("pad_bearing", "", Case),
        key("duty", "", Case),
        key("supply", "", Case),
    ],
};

pub(super) static BALANCE: Kind = Kind {
    name: "tool.balance",
    keys: &[
        key("pad_plane_mm", "mm", Default),
        key("plane1_mm", "mm", Required),
        key("plane2_mm", "mm", Default),
        key("radius1_mm", "mm", Default),
        key("radius2_mm", "mm", Default),
        key("weight1_gmm", "g·mm", Default),
        key("weight2_gmm", "g·mm", Default),
        key("nominal_pad_kg", "kg", Default),
        key("dry_share", "", Default),
        key("wet_pore_share", "", Default),
        key("rotor_mass_kg", "kg", Default),
        key("grade_mm_s", "mm/s", Default),
    ],
};

pub(super) static SPINDLE_BEARING: Kind = Kind {
    name: "tool.spindle_bearing",
    keys: &[
        key("dynamic_rating_n", "N", Required),
        key("static_rating_n", "N", Required),
        key("overhang_mm", "mm", Required),
        key("span_mm", "mm", Required),
        key("f0", "", Default),
        key("reliability", "", Default),
    ],
};

pub(super) static PAD_BEARING: Kind = Kind {
    name: "tool.pad_bearing",
    keys: &[
        key("dynamic_rating_n", "N", Required),
        key("static_rating_n", "N", Required),
        key("overhang_mm", "mm", Default),
        key("span_mm", "mm", Default),
        key("f0", "", Default),
        key("reliability", "", Default),
    ],
};

pub(super) static DUTY: Kind = Kind {
    name: "tool.duty",
    keys: &[
        key("work_min", "min", Default),
        key("rest_min", "min", Default),
        key("thermal_time_constant_min", "min", Default),
        key("rest_time_constant_min", "min", Default),
        key("constant_loss_ratio", "", Default),
        key("peak_force_factor", "", Default),
    ],
};

pub(super) static SUPPLY: Kind = Kind {
    name: "tool.supply",
    keys: &[
        key("kind", "", Required),
        key("work_min_per_vehicle", "min", Default),
        key("efficiency", "", Default),
        key("voltage_v", "V", Case),
        key("power_factor", "", Default),
        key("fuse_a", "A", Default),
        key("cord_m", "m", Default),
        key("cord_mm2", "mm²", Default),
        key("pack_wh", "Wh", Case),
        key("usable_share", "", Default),
        key("free_air_l_min", "l/min", Case),
        key("idle_air_share", "", Default),
        key("pressure_bar", "bar", Default),
        key("compressor_efficiency", "", Default),
    ],
};

pub(super) static BEARING: Kind = Kind {
    name: "tool.bearing",
    keys: &[
        key("breakaway_nm", "N·m", Required),
        key("viscous_nms", "N·m·s", Required),
        key("friction", "", Default),
        key("bore_mm", "mm", Default),
        key("brake_nm", "N·m", Default),
    ],
};

pub(super) static MOTOR: Kind = Kind {
    name: "tool.motor",
    keys: &[
        key("rated_power_w", "W", Required),
        key("idle_power_w", "W", Default),
        key("rotor_inertia_kgm2", "kg·m²", Default),
    ],
};

pub(super) static COUNTED_SPIN: Kind = Kind {
    name: "tool.counted_spin",
    keys: &[
        key("turns", "turns", Required),
        key("seconds", "s", Required),
        key("force_n", "N", Required),
        key("orbit_rate_opm", "/min", Default),
        key("pad", "", Required),
        key("product", "", Required),
        key("paint", "", Default),
    ],
};

pub(super) static PAD: Kind = Kind {
    name: "pad",
    keys: &[
        key("diameter_mm", "mm", Required),
        key("plate_mm", "mm", Default),
        key("hole_mm", "mm", Default),
        key("thickness_mm", "mm", Required),
        key("mass_kg", "kg", Default),
        key("compression", "", Required),
        key("shear_modulus_kpa", "kPa", Default),
        key("loss_factor", "", Default),
        key("foam_density_kg_m3", "kg/m³", Default),
        key("overhang_length_mm", "mm", Default),
        key("grains_per_m2", "1/m²", Default),
        key("face", "", Default),
        key("core_limit_c", "°C", Default),
        key("clean_every", "", Default),
        key("off_centre_mm", "mm", Default),
        key("count", "", Default),
        key("interface", "", Default),
    ],
};

pub(super) static COMPRESSION: Kind = Kind {
    name: "pad.compression",
    keys: &[
        key("law", "", Required),
        key("stiffness_kpa_per_mm", "kPa/mm", Case),
        key("strain", "", Case),
        key("stress_kpa", "kPa", Case),
        key("stress_kpa_at_half", "kPa", Case),
        key("exponent", "", Case),
    ],
};

pub(super) static INTERFACE: Kind = Kind {
    name: "pad.interface",
    keys: &[
        key("thickness_mm", "mm", Required),
        key("stiffness_kpa_per_mm", "kPa/mm", Required),
        key("shear_modulus_kpa", "kPa", Default),
    ],
};

pub(super) static PRODUCT: Kind = Kind {
    name: "product",
    keys: &[
        key("friction", "", Required),
        key("preston_per_pa", "1/Pa", Required),
        key("grain_um", "µm", Default),
        key("water_share", "", Default),
        key("drop_ml", "ml", Default),
        key("dry_friction_rise", "", Default),
    ],
};

pub(super) static PAINT: Kind = Kind {
    name: "paint",
    keys: &[
        key("hardness", "", Default),
        key("hardness_mpa", "MPa", InsteadOf("hardness")),
        key("clear_um", "µm", Default),
        key("lightness", "", Default),
        key("substrate", "", Default),
    ],
};

pub(super) static PAIRING: Kind = Kind {
    name: "pairing",
    keys: &[
        key("pad", "", Required),
        key("product", "", Required),
        key("paint", "", Default),
        key("friction", "", Default),
        key("preston_per_pa", "1/Pa", Default),
        key("preston_rel_sd", "", Default),
    ],
};

pub(super) static PANEL: Kind = Kind {
    name: "panel",
    keys: &[
        key("shape", "", Required),
        key("curvature_per_m", "1/m", Case),
        key("axis_deg", "°", Default),
        key("size_mm", "mm", Case),
        key("incline_deg", "°", Default),
        key("paint", "", Default),
        key("defects", "", Default),
        key("edges", "", Default),
        key("file", "", Case),
        key("unit", "", Case),
        key("up", "", Default),
        key("sweep_mm", "mm", Case),
        key("grid_mm", "mm", Default),
        key("tube_radius_mm", "mm", Case),
        key("ring_radius_mm", "mm", Case),
        key("torus_side", "", Default),
        key("crown_per_m", "1/m", Default),
        key("edge_crown_per_m", "1/m", Case),
        key("edge_length_mm", "mm", Default),
        key("line_angle_deg", "°", Case),
        key("line_radius_mm", "mm", Case),
        key("line_offset_mm", "mm", Default),
        key("line_direction_deg", "°", Default),
        key("wheel_radius_mm", "mm", Case),
        key("wheel_centre_mm", "mm", Case),
        key("flare_hollow_per_m", "1/m", Case),
        key("flare_hollow_width_mm", "mm", Default),
        key("flare_lip_per_m", "1/m", Case),
        key("flare_lip_width_mm", "mm", Default),
        key("amplitude_mm", "mm", Case),
        key("wavelength_mm", "mm", Case),
        key("holes_mm", "mm", Default),
        key("tape_mm", "mm", Default),
        key("region_mm", "mm", Default),
        key("section_mm", "mm", Default),
        key("blend_mm", "mm", Default),
        key("edge_thinning", "", Default),
        key("edge_thinning_mm", "mm", Default),
        key("line_thinning", "", Default),
        key("line_thinning_mm", "mm", Default),
        key("bands", "", Default),
        key("masking_m", "m", Default),
    ],
};

pub(super) static STEP: Kind = Kind {
    name: "step",
    keys: &[
        key("name", "", Required),
        key("tool", "", Required),
        key("pad", "", Required),
        key("product", "", Required),
        key("panel", "", Required),
        key("hold", "", Default),
        key("force_n", "N", OneOf("hand_force_n")),
        key("hand_force_n", "N", OneOf("force_n")),
        key("orbit_rate_opm", "/min", Default),
        key("speed_setting", "", InsteadOf("orbit_rate_opm")),
        key("feed_mm_s", "mm/s", Required),
        key("overlap", "", Required),
        key("passes", "", Case),
        key("phase", "", Case),
        key("pattern", "", Required),
        key("target_cut_um", "µm", Default),
        key("drops", "", Default),
        key("inset_mm", "mm", Default),
        key("turn", "", Default),
        key("lead_mm", "mm", Default),
        key("lead_feed_mm_s", "mm/s", Default),
        key("lead_force_share", "", Default),
        key("angles_deg", "°", Default),
        key("last_line", "", Default),
        key("path_file", "", Case),
        key("travel_mm_s", "mm/s", Default),
    ],
};

pub(super) static PHASE: Kind = Kind {
    name: "step.phase",
    keys: &[
        key("name", "", Required),
        key("passes", "", Required),
        key("repeat", "", Default),
        key("force_n", "N", Default),
        key("hand_force_n", "N", InsteadOf("force_n")),
        key("orbit_rate_opm", "/min", Default),
        key("speed_setting", "", InsteadOf("orbit_rate_opm")),
        key("feed_mm_s", "mm/s", Default),
    ],
};

pub(super) static HOLD: Kind = Kind {
    name: "step.hold",
    keys: &[key("kind", "", Required), key("x_deg", "°", Default), key("y_deg", "°", Default)],
};

pub(super) static VEHICLE: Kind = Kind {
    name: "vehicle",
    keys: &[
        key("name", "", Default),
        key("finish", "", Default),
        key("confidence", "", Default),
        key("force_n", "N", Default),
        key("feed_mm_s", "mm/s", Default),
        key("overlap", "", Default),
        key("most_passes", "", Default),
        key("day_hours", "h", Default),
        key("set_up_min", "min", Default),
        key("masking_min_per_m", "min/m", Default),
        key("wipe_s_per_section", "s", Default),
        key("inspect_s_per_section", "s", Default),
        key("tool_swap_s", "s", Default),
        key("pad_swap_s", "s", Default),
        key("clean_s", "s", Default),
        key("cell_mm", "mm", Default),
    ],
};

pub(super) static DONE: Kind = Kind {
    name: "done",
    keys: &[
        key("panel", "", Required),
        key("zone", "", Default),
        key("step", "", Default),
        key("passes", "", Default),
        key("time_min", "min", Default),
        key("before_um", "µm", Default),
        key("reading_um", "µm", Default),
        key("reading_uncertainty_um", "µm", Default),
    ],
};

/// Every kind of table.
pub(super) static KINDS: &[&Kind] = &[
    &JOB,
    &AMBIENT,
    &LIMITS,
    &MAP,
    &COUPLING,
    &BUDGET,
    &HAND,
    &OPTIMIZE,
    &SIZING,
    &SIZING_LIMITS,
    &SPOT,
    &SEASON,
    &TOOL,
    &BEARING,
    &MOTOR,
    &BALANCE,
    &SPINDLE_BEARING,
    &PAD_BEARING,
    &DUTY,
    &SUPPLY,
    &COUNTED_SPIN,
    &PAD,
    &COMPRESSION,
    &INTERFACE,
    &PRODUCT,
    &PAINT,
    &PAIRING,
    &PANEL,
    &STEP,
    &PHASE,
    &HOLD,
    &SPOT,
    &VEHICLE,
    &DONE,
];

impl Kind {
    /// Path of a key of this kind, without the names a user gave.
    pub(super) fn path_of(&self, key: &str) -> String {
        if self.name.is_empty() { key.to_owned() } else { format!("{}.{key}", self.name) }
    }

    /// The entry of a key.
    pub(super) fn find(&self, key: &str) -> Option<&'static Key> {
        self.keys.iter().find(|k| k.name == key)
    }
}

/// The candidate that a mistyped name most likely stands for.
pub(super) fn closest<'c>(typed: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    // Longer names cannot be near any of ours, and comparing them would take time.
    if typed.chars().take(65).count() > 64 {
        return None;
    }
    let typed = typed.to_lowercase();
    let mut best = (0.0, None);
    for candidate in candidates.into_iter().filter(|c| c.chars().take(65).count() <= 64) {
        let lower = candidate.to_lowercase();
        let part = typed.len() >= 3 && (lower.contains(&typed) || (lower.len() >= 3 && typed.contains(&lower)));
        let near = strsim::jaro_winkler(&typed, &lower);
        let score = if part { near.max(0.9) } else { near };
        if score > best.0 {
            best = (score, Some(candidate));
        }
    }
    // 0.8 keeps one or two wrong letters and drops unrelated words; our choice, tested on typos.
    best.1.filter(|_| best.0 >= 0.8)
}
