//! The keys of a job file: for every table its keys, their units and whether they may be left out.
//!
//! The list is what unknown keys are checked against and what `check` prints; values and their
//! ranges are the business of the validated types. Defaults with a value stand in
//! `equipment::defaults`; [`ABSENT`] documents the keys that may simply be missing because they
//! describe an optional part of the job file itself.

use crate::equipment::defaults::{self, Documented, Grade};

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

pub(super) static MOTOR: Kind =
    Kind { name: "tool.motor", keys: &[key("rated_power_w", "W", Required), key("idle_power_w", "W", Default)] };

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
    &SPOT,
    &SEASON,
    &TOOL,
    &BEARING,
    &MOTOR,
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

const fn absent(key: &'static str, value: &'static str, source: &'static str, grade: Grade) -> Documented {
    Documented { key, value, source, grade }
}

/// Idle power of a motor that is described without it, W.
pub(super) const IDLE_POWER_W: f64 = 0.0;
/// Bore of a bearing whose load friction is given without it, mm.
pub(super) const BORE_MM: f64 = 12.0;

/// What a job means by leaving out the optional parts that only a job file has.
pub(super) static ABSENT: &[Documented] = &[
    absent("title", "none", "not given", Grade::Derived),
    absent(
        "tool.speed_settings",
        "none",
        "no scale given, so rates are told in orbits per minute only",
        Grade::Derived,
    ),
    absent("tool.motor.idle_power_w", "0", "not given, so the whole rated power counts as available", Grade::Assumed),
    absent("tool.vibration_m_s2", "none", "no declared value given, so no exposure is told", Grade::Derived),
    absent("tool.noise_db", "none", "no level given, so no noise exposure is told", Grade::Derived),
    absent("pad.off_centre_mm", "0", "mounted on the middle", Grade::Assumed),
    absent("hand.feed_rel_sd", "0.15", "assumed, no source: a practised hand", Grade::Assumed),
    absent("hand.force_rel_sd", "0.2", "assumed, no source: a practised hand", Grade::Assumed),
    absent("hand.tilt_sd_deg", "0.5", "assumed, no source: a practised hand", Grade::Assumed),
    absent("hand.spacing_rel_sd", "0.1", "assumed, no source: lines laid by eye", Grade::Assumed),
    absent("hand.rate_rel_sd", "0.02", "assumed, no source: a controlled motor", Grade::Assumed),
    absent("hand.correlation_s", "2", "assumed, no source: a deviation lasts a stroke or two", Grade::Assumed),
    absent("hand.panel_share", "0", "nothing known of a habit that lasts over a panel", Grade::Assumed),
    absent("hand.replicates", "500", "percentiles to about a tenth of the spread", Grade::Derived),
    absent("hand.seed", "1", "the same draws every time", Grade::Derived),
    absent(
        "tool.counted_spin",
        "none",
        "no count given, so the bearing drag stays as described and uncalibrated",
        Grade::Derived,
    ),
    absent("tool.counted_spin.orbit_rate_opm", "the tool's set-point", "no rate given with the count", Grade::Derived),
    absent("tool.counted_spin.paint", "none", "only a pairing for any paint applies to the count", Grade::Derived),
    absent("pad.interface", "none", "no soft layer between plate and pad", Grade::Derived),
    absent("pairing.paint", "any paint", "no paint named", Grade::Derived),
    absent("pairing.friction", "the product's", "not overridden", Grade::Derived),
    absent("pairing.preston_per_pa", "the product's", "not overridden", Grade::Derived),
    absent(
        "limits.paint_c",
        "60, on plastic 50",
        "common practice, no source: below 60 °C, plastics lower",
        Grade::Assumed,
    ),
    absent("pad.core_limit_c", "70", "assumed, no source: foam is damaged above it", Grade::Assumed),
    absent("pad.clean_every", "by its loading", "cleaned when its cut has fallen to four fifths", Grade::Derived),
    absent("product.water_share", "0.6", "assumed, no source: emulsions are mostly water and solvent", Grade::Assumed),
    absent(
        "product.drop_ml",
        "0.25",
        "middle of the trade's 0.2 to 0.3 ml: common practice, no source",
        Grade::Assumed,
    ),
    absent(
        "product.dry_friction_rise",
        "0.5",
        "assumed, no source: a dry film drags half as much again; used with the coupling of the drying only",
        Grade::Assumed,
    ),
    absent("coupling.temperature", "false", "its law is assumed, so it is off until switched on", Grade::Derived),
    absent("coupling.loading", "false", "its law is assumed, so it is off until switched on", Grade::Derived),
    absent("coupling.drying", "false", "its law is assumed, so it is off until switched on", Grade::Derived),
    absent(
        "coupling.cut_rise_per_10k",
        "0.05",
        "assumed, no source: warm paint is softer; used with the coupling of the temperature only",
        Grade::Assumed,
    ),
    absent(
        "coupling.cut_reference_c",
        "20",
        "assumed: the removal coefficient holds for paint at the temperature of a workshop",
        Grade::Assumed,
    ),
    absent(
        "step.phase.repeat",
        "false",
        "without a mark the first of the phases with most passes is repeated",
        Grade::Derived,
    ),
    absent("step.phase.force_n", "the step's", "not given", Grade::Derived),
    absent("step.phase.orbit_rate_opm", "the step's", "not given", Grade::Derived),
    absent("step.phase.feed_mm_s", "the step's", "not given", Grade::Derived),
    absent("step.drops", "as many as the time on a section asks for", "not given", Grade::Derived),
    absent("pad.face", "cutting_foam", "the commonest face; decides how many grains bear the load", Grade::Assumed),
    absent("product.grain_um", "none", "no grain given, so nothing is told of the finish", Grade::Derived),
    absent("panel.defects", "none", "no defects named, so no correction is told", Grade::Derived),
    absent("budget.share_of_clear", "0.25", "common practice, no source: policies differ", Grade::Assumed),
    absent("budget.cap_um", "8", "common practice, no source: policies differ", Grade::Assumed),
    absent("budget.floor_um", "none", "no thickness that must be left is given", Grade::Assumed),
    absent(
        "budget.clear_rel_sd",
        "0.2",
        "common practice, no source: 30 to 60 µm for a coat called 45 µm",
        Grade::Assumed,
    ),
    absent(
        "budget.clear_share_of_film",
        "[0.25, 0.5]",
        "common practice, no source: clear coat in a total film of 100 to 140 µm",
        Grade::Assumed,
    ),
    absent(
        "budget.target_correction",
        "0.9",
        "nine marks in ten gone to the eye: common practice, no source",
        Grade::Assumed,
    ),
    absent(
        "budget.edge_share",
        "0.5",
        "edges and body lines get half of the passes: common practice, no source",
        Grade::Assumed,
    ),
    absent("budget.edge_strip_mm", "25", "strip along an edge or line: common practice, no source", Grade::Assumed),
    absent("budget.readings_file", "none", "no film readings, so the clear coat is that of the paint", Grade::Derived),
    absent("optimize.feed_min_mm_s", "10", "slowest feed of a machine, assumed, no source", Grade::Assumed),
    absent("optimize.feed_max_mm_s", "100", "fastest feed of a machine, assumed, no source", Grade::Assumed),
    absent("optimize.acceleration_mm_s2", "250", "along the path, assumed, no source", Grade::Assumed),
    absent("optimize.target", "even", "the same cut everywhere", Grade::Derived),
    absent("spot.passes", "the step's", "not given", Grade::Derived),
    absent("spot.pairs_um", "none", "no gauge was used", Grade::Derived),
    absent(
        "spot.gauge_uncertainty_um",
        "1",
        "usual of hand-held film gauges (common practice, no source)",
        Grade::Assumed,
    ),
    absent(
        "spot.gauge_resolution_um",
        "1",
        "usual of hand-held film gauges (common practice, no source)",
        Grade::Assumed,
    ),
    absent("spot.readings_averaged", "1", "each reading taken once", Grade::Derived),
    absent("spot.swirls_left", "none seen or told", "not judged by eye", Grade::Derived),
    absent("spot.haze", "false", "not told", Grade::Derived),
    absent("spot.counted_turns", "none", "the pad's rotation was not counted", Grade::Derived),
    absent("spot.counted_seconds", "none", "the pad's rotation was not counted", Grade::Derived),
    absent("spot.gloss", "none", "no gloss was read", Grade::Derived),
    absent("spot.gloss_angle_deg", "20", "ISO 2813: for high gloss", Grade::Standard),
    absent("spot.gloss_uncertainty", "1", "scatter of hand-held gloss meters (assumed)", Grade::Assumed),
    absent("season.wash_cost", "0", "no cost given beyond the time that a wash takes", Grade::Assumed),
    absent("season.hourly_rate", "0", "no rate given, so handling pads costs nothing", Grade::Assumed),
    absent("season.product_price_per_l", "none", "no price given, so nothing is told of the product", Grade::Derived),
    absent("season.few_pads", "1", "the fewest there can be: each pad is used until it is worn out", Grade::Derived),
    absent(
        "panel.edges",
        "continued",
        "the panel goes on beyond the rectangle; shapes of their own, files and formulas have free edges",
        Grade::Assumed,
    ),
    absent("panel.up", "auto", "the mean direction of the triangles faces the pad", Grade::Derived),
    absent("panel.grid_mm", "2", "distance of the nodes at which the panel's heights are kept", Grade::Assumed),
    absent("panel.torus_side", "outer", "the convex side of the tube", Grade::Assumed),
    absent("panel.crown_per_m", "[0, 0]", "no crown beside the line", Grade::Assumed),
    absent("panel.edge_length_mm", "150", "length over which the crown fades in above the lower edge", Grade::Assumed),
    absent("panel.line_offset_mm", "0", "the line runs through the middle of the panel", Grade::Assumed),
    absent("panel.line_direction_deg", "0", "the line runs along x", Grade::Assumed),
    absent("panel.flare_hollow_width_mm", "60", "of an ordinary flare: common practice, no source", Grade::Assumed),
    absent("panel.flare_lip_width_mm", "15", "of an ordinary flare: common practice, no source", Grade::Assumed),
    absent("panel.holes_mm", "none", "no openings beside those that the shape or the file brings", Grade::Derived),
    absent("panel.tape_mm", "none", "nothing is taped", Grade::Derived),
    absent("panel.region_mm", "the whole panel", "the work is not limited to a part", Grade::Derived),
    absent("panel.section_mm", "none", "the panel is worked as one section", Grade::Derived),
    absent(
        "panel.blend_mm",
        "40",
        "about a third of a pad; neighbouring sections overlap by this much",
        Grade::Assumed,
    ),
    absent("panel.edge_thinning", "0.33", "share of the clear coat missing at a free edge, no source", Grade::Assumed),
    absent("panel.edge_thinning_mm", "10", "distance over which that falls to 1/e, no source", Grade::Assumed),
    absent(
        "panel.line_thinning",
        "0.25",
        "share of the clear coat missing on a convex line, no source",
        Grade::Assumed,
    ),
    absent("panel.line_thinning_mm", "8", "distance over which that falls to 1/e, no source", Grade::Assumed),
    absent("panel.paint", "a paint of defaults", "no paint named, so every default of [paint] holds", Grade::Assumed),
    absent(
        "step.lead_force_share",
        "1",
        "full force to the very ends of a pass line; used with lead_mm only",
        Grade::Derived,
    ),
    absent(
        "step.angles_deg",
        "[0, 90]",
        "lines along x and y in turn; one direction where one is used",
        Grade::Derived,
    ),
    absent("step.last_line", "edge_to_edge", "outer lines at the inset, the rest evenly between", Grade::Derived),
    absent("step.travel_mm_s", "250", "speed of the lifted pad", Grade::Assumed),
    absent("step.hold.x_deg", "0", "no tilt along x", Grade::Derived),
    absent("step.hold.y_deg", "0", "no tilt along y", Grade::Derived),
    absent("tool.pad_range_mm", "any", "takes every pad whose face is larger than its throw", Grade::Derived),
    absent("pad.count", "as many as needed", "the shopping list tells how many that is", Grade::Derived),
    absent("panel.bands", "one", "the whole rectangle is curved alike; a real panel is surveyed", Grade::Derived),
    absent("panel.masking_m", "its perimeter", "every edge is taped (assumed)", Grade::Assumed),
    absent("vehicle.name", "none", "not given", Grade::Derived),
    absent("vehicle.finish", "correct_and_refine", "refined wherever haze would show", Grade::Assumed),
    absent("vehicle.confidence", "0.9", "of correction and budget: common practice, no source", Grade::Assumed),
    absent("vehicle.force_n", "[20, 50]", PRACTICE, Grade::Assumed),
    absent("vehicle.feed_mm_s", "[25, 60]", PRACTICE, Grade::Assumed),
    absent("vehicle.overlap", "0.5", PRACTICE, Grade::Assumed),
    absent(
        "vehicle.most_passes",
        "12",
        "beyond it another product is the answer: common practice, no source",
        Grade::Assumed,
    ),
    absent("vehicle.day_hours", "8", PRACTICE, Grade::Assumed),
    absent("vehicle.set_up_min", "20", PRACTICE, Grade::Assumed),
    absent("vehicle.masking_min_per_m", "0.4", PRACTICE, Grade::Assumed),
    absent("vehicle.wipe_s_per_section", "15", PRACTICE, Grade::Assumed),
    absent("vehicle.inspect_s_per_section", "20", PRACTICE, Grade::Assumed),
    absent("vehicle.tool_swap_s", "30", PRACTICE, Grade::Assumed),
    absent("vehicle.pad_swap_s", "20", PRACTICE, Grade::Assumed),
    absent("vehicle.clean_s", "20", "compressed air (assumed)", Grade::Assumed),
    absent("vehicle.cell_mm", "5", "side of a cell of the zones' maps, our choice for speed", Grade::Assumed),
    absent("done.zone", "every zone of the panel", "not given", Grade::Derived),
    absent("done.step", "cut and refine", "not given", Grade::Derived),
    absent("done.passes", "as planned", "not given", Grade::Derived),
    absent("done.time_min", "as planned", "not given", Grade::Derived),
    absent("done.before_um", "from the readings of the panel", "not given", Grade::Derived),
    absent("done.reading_um", "none", "not read, so the cut is that of the plan", Grade::Derived),
    absent(
        "done.reading_uncertainty_um",
        "1",
        "usual of hand-held film gauges (common practice, no source)",
        Grade::Assumed,
    ),
];

const PRACTICE: &str = "common practice, no source";

/// The documented default of a key, by the path of its kind.
pub(super) fn documented(path: &str) -> Option<&'static Documented> {
    defaults::find(path).or_else(|| ABSENT.iter().find(|d| d.key == path))
}

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
