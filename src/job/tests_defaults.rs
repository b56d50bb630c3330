//! `check` lists a default of a real panel or its step exactly where it was used, and the number that it
//! lists is the number that is used.

use super::absent::documented;
use super::model::Job;
use super::paint_tables::BudgetSettings;
use super::{hand, machine, pads, paint_tables, real_panel, route, vehicle};
use crate::budget::Policy;
use crate::finish::EDGE_PASS_SHARE;
use crate::motion::SurfacePathOptions;
use crate::panel::FilmLaw;
use crate::plan::machine::{BalanceLayout, BallBearing, Battery, CompressedAir, Duty, Mains};
use crate::plan::vehicle::{Goal, Operator, ShopTimes};
use crate::plan::{HandScatter, TemperatureLaw};
use crate::wear::{FilmProduct, FrictionRise, PadLimits};

const TOOLS: &str = r#"
schema = 1
[tool.long]
drive = "free"
throw_mm = 15
orbit_rate_opm = 4200
bearing = { breakaway_nm = 0.02, viscous_nms = 5.0e-5 }
[pad.wide]
diameter_mm = 130
thickness_mm = 25
compression = { law = "linear", stiffness_kpa_per_mm = 0.9 }
[product.compound]
friction = 0.35
preston_per_pa = 2.0e-11
"#;

fn job(panel: &str, step: &str) -> Job {
    let text = format!(
        "{TOOLS}[panel.p]\n{panel}\n[[step]]\nname = \"s\"\ntool = \"long\"\npad = \"wide\"\nproduct = \"compound\"\n\
         panel = \"p\"\nforce_n = 35\nfeed_mm_s = 40\noverlap = 0.5\npasses = 2\n{step}\n"
    );
    Job::parse("job", &text).unwrap_or_else(|e| panic!("{e}"))
}

/// Keys of the panel and the step whose default is listed.
fn defaults_of(job: &Job) -> Vec<&str> {
    let own = |k: &&str| k.starts_with("panel.p.") || k.starts_with("step.s.");
    let keys = job.resolved.iter().filter(|r| r.is_default).map(|r| r.key.as_str()).filter(own);
    keys.map(|k| k.split_once('.').map_or(k, |(_, rest)| rest)).collect()
}

const RECTANGLE: &str = "shape = \"flat\"\nsize_mm = [400, 300]";
const LINE: &str = "shape = \"body_line\"\nsize_mm = [400, 300]\nline_angle_deg = 12\nline_radius_mm = 8\ngrid_mm = 4";

#[test]
fn a_plain_rectangle_lists_what_it_always_did() {
    let job = job(RECTANGLE, "pattern = \"crosshatch\"");
    assert_eq!(
        defaults_of(&job),
        [
            "p.axis_deg",
            "p.incline_deg",
            "p.paint",
            "p.defects",
            "p.edges",
            "s.hold",
            "s.orbit_rate_opm",
            "s.target_cut_um",
            "s.drops",
            "s.inset_mm",
            "s.turn",
            "s.lead_mm",
            "s.lead_feed_mm_s"
        ]
    );
}

#[test]
fn a_real_panel_lists_its_own_and_no_others() {
    let made = job(LINE, "pattern = \"crosshatch\"\nlead_mm = 20");
    let listed = defaults_of(&made);
    for key in [
        "p.crown_per_m",
        "p.line_offset_mm",
        "p.line_direction_deg",
        "p.holes_mm",
        "p.tape_mm",
        "p.region_mm",
        "p.section_mm",
        "p.edge_thinning",
        "p.edge_thinning_mm",
        "p.line_thinning",
        "p.line_thinning_mm",
        "s.lead_force_share",
        "s.angles_deg",
        "s.last_line",
        "s.travel_mm_s",
    ] {
        assert!(listed.contains(&key), "{key} is used, yet not listed in {listed:?}");
    }
    for key in [
        "p.axis_deg",
        "p.edges",
        "p.grid_mm",
        "p.up",
        "p.torus_side",
        "p.edge_length_mm",
        "p.flare_lip_width_mm",
        "p.blend_mm",
        "s.inset_mm",
        "s.turn",
        "s.lead_mm",
    ] {
        assert!(!listed.contains(&key), "{key} is not used, yet listed");
    }
    let value = |key: &str| made.resolved.iter().find(|r| r.key == key).map(|r| r.value.as_str());
    assert_eq!(value("panel.p.edges"), Some("free"));
    // 0.6 x (65 + 7.5) mm: the pad is rigid in shear, so its face orbits as its plate.
    assert_eq!(value("step.s.inset_mm"), Some("43.5 mm"));
    assert_eq!(value("panel.p.edge_thinning_mm"), Some("10 mm"));
}

#[test]
fn what_a_shape_or_pattern_does_not_use_is_not_listed() {
    let flat = format!("{RECTANGLE}\nedges = \"free\"\nsection_mm = [200, 200]\ngrid_mm = 4");
    let spiral = job(&flat, "pattern = \"spiral\"\ninset_mm = 50");
    let listed = defaults_of(&spiral);
    assert!(listed.contains(&"p.blend_mm") && listed.contains(&"s.travel_mm_s"));
    // No crease on it, no lines in a spiral, no leads asked for.
    for key in ["p.line_thinning", "s.angles_deg", "s.last_line", "s.lead_force_share", "p.section_mm", "s.inset_mm"] {
        assert!(!listed.contains(&key), "{key} is not used, yet listed in {listed:?}");
    }
    let given: Vec<_> = spiral.resolved.iter().filter(|r| r.key == "step.s.inset_mm").collect();
    assert!(given.len() == 1 && given[0].value == "50 mm" && !given[0].is_default);
}

#[test]
fn the_numbers_listed_are_those_used() {
    let (budget, film) = (BudgetSettings::default(), FilmProduct::default());
    let pairs = [
        ("budget.share_of_clear", Policy::USUAL_SHARE),
        ("budget.cap_um", Policy::USUAL_CAP_UM),
        ("budget.clear_rel_sd", budget.clear_rel_sd),
        ("budget.target_correction", budget.target_correction),
        ("budget.edge_share", EDGE_PASS_SHARE),
        ("budget.edge_strip_mm", budget.edges.strip().mm()),
        ("spot.gloss_uncertainty", paint_tables::GLOSS_UNCERTAINTY),
        ("spot.gauge_uncertainty_um", paint_tables::GAUGE_UM),
        ("spot.gauge_resolution_um", paint_tables::GAUGE_UM),
        ("pad.core_limit_c", PadLimits::default().core.c()),
        ("product.water_share", film.volatile_share),
        ("product.drop_ml", film.drop.ml()),
        ("product.dry_friction_rise", FrictionRise::default().amplitude),
        ("coupling.cut_rise_per_10k", TemperatureLaw::default().rise_per_10k),
        ("coupling.cut_reference_c", TemperatureLaw::default().reference.c()),
        ("panel.grid_mm", real_panel::GRID_MM),
        ("panel.blend_mm", real_panel::BLEND_MM),
        ("panel.edge_length_mm", real_panel::EDGE_LENGTH_MM),
        ("panel.flare_hollow_width_mm", real_panel::FLARE_HOLLOW_WIDTH_MM),
        ("panel.flare_lip_width_mm", real_panel::FLARE_LIP_WIDTH_MM),
        ("panel.edge_thinning", route::EDGE_THINNING.0),
        ("panel.edge_thinning_mm", route::EDGE_THINNING.1),
        ("panel.line_thinning", route::LINE_THINNING.0),
        ("panel.line_thinning_mm", route::LINE_THINNING.1),
        ("step.lead_force_share", route::LEAD_FORCE_SHARE),
        ("step.travel_mm_s", route::TRAVEL_MM_S),
        ("hand.feed_rel_sd", HandScatter::FEED_REL_SD),
        ("hand.force_rel_sd", HandScatter::FORCE_REL_SD),
        ("hand.tilt_sd_deg", HandScatter::TILT_SD_DEG),
        ("hand.spacing_rel_sd", HandScatter::SPACING_REL_SD),
        ("hand.rate_rel_sd", HandScatter::RATE_REL_SD),
        ("hand.correlation_s", HandScatter::CORRELATION_S),
        ("hand.panel_share", HandScatter::PANEL_SHARE),
        ("hand.replicates", hand::REPLICATES as f64),
        ("hand.seed", hand::SEED as f64),
        ("tool.balance.pad_plane_mm", machine::PAD_PLANE_MM),
        ("tool.balance.dry_share", BalanceLayout::DRY_SHARE),
        ("tool.balance.wet_pore_share", BalanceLayout::WET_PORE_SHARE),
        ("tool.balance.grade_mm_s", BalanceLayout::GRADE_MM_S),
        ("tool.spindle_bearing.f0", BallBearing::F0),
        ("tool.spindle_bearing.reliability", BallBearing::RELIABILITY),
        ("tool.pad_bearing.overhang_mm", machine::PAD_OVERHANG_MM),
        ("tool.pad_bearing.f0", BallBearing::F0),
        ("tool.pad_bearing.reliability", BallBearing::RELIABILITY),
        ("tool.duty.rest_min", machine::REST_MIN),
        ("tool.duty.thermal_time_constant_min", Duty::RUNNING_MIN),
        ("tool.duty.rest_time_constant_min", Duty::RESTING_MIN),
        ("tool.duty.constant_loss_ratio", Duty::CONSTANT_LOSS_RATIO),
        ("tool.duty.peak_force_factor", Duty::PEAK_FORCE_FACTOR),
        ("tool.supply.efficiency", machine::EFFICIENCY),
        ("tool.supply.power_factor", Mains::POWER_FACTOR),
        ("tool.supply.cord_mm2", Mains::CORD_MM2),
        ("tool.supply.usable_share", Battery::USABLE_SHARE),
        ("tool.supply.idle_air_share", CompressedAir::IDLE_SHARE),
        ("tool.supply.pressure_bar", CompressedAir::PRESSURE_BAR),
        ("tool.supply.compressor_efficiency", CompressedAir::COMPRESSOR_EFFICIENCY),
        ("vehicle.confidence", vehicle::CONFIDENCE),
        ("vehicle.cell_mm", vehicle::CELL_MM),
        ("vehicle.overlap", Operator::default().overlap()),
        ("vehicle.most_passes", Goal::MOST_PASSES as f64),
        ("vehicle.day_hours", ShopTimes::default().day.s() / 3600.0),
        ("vehicle.set_up_min", ShopTimes::default().set_up.s() / 60.0),
        ("vehicle.masking_min_per_m", ShopTimes::default().masking_per_m.s() / 60.0),
        ("vehicle.wipe_s_per_section", ShopTimes::default().wipe.s()),
        ("vehicle.inspect_s_per_section", ShopTimes::default().inspect.s()),
        ("vehicle.tool_swap_s", ShopTimes::default().tool_swap.s()),
        ("vehicle.pad_swap_s", ShopTimes::default().pad_swap.s()),
        ("vehicle.clean_s", ShopTimes::default().clean.s()),
        ("done.reading_uncertainty_um", paint_tables::GAUGE_UM),
        // The library's own default is the same.
        ("step.travel_mm_s", 1e3 * SurfacePathOptions::default().travel_speed),
    ];
    for (key, used) in pairs {
        let told: f64 = documented(key).unwrap().value.parse().unwrap();
        // One rounding of a unit conversion.
        assert!((told - used).abs() < 1e-12, "{key}: told {told}, used {used}");
    }
    let (metal, plastic) = pads::PAINT_C;
    assert_eq!(documented("limits.paint_c").unwrap().value, format!("{metal}, on plastic {plastic}"));
    let mm = crate::units::Length::from_mm;
    let (edge, line) = (route::EDGE_THINNING, route::LINE_THINNING);
    assert_eq!(FilmLaw::new(edge.0, mm(edge.1), line.0, mm(line.1)).unwrap(), FilmLaw::default());
}
