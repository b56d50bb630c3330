//! Every class of bad input has a clear answer; defaults are documented; the starter and the demo
//! lie inside the bands of the trade.

use super::absent::{ABSENT, BORE_MM, IDLE_POWER_W, documented};
use super::keys::{KINDS, Need, closest};
use super::{Job, MAX_JOB_BYTES, Problem, STARTER};
use crate::contact::{ContactSettings, Hold};
use crate::equipment::{Drive, Hardness, defaults};
use crate::motion::Pattern;
use crate::spin::spin_state;

/// A job with as little in it as a job can have; line numbers below refer to it.
pub(super) const SMALL: &str = r#"schema = 1
[tool.long]
drive = "free"
throw_mm = 12.0
orbit_rate_opm = 4200
bearing = { breakaway_nm = 0.04, viscous_nms = 1e-4 }
[pad.wide]
diameter_mm = 130
thickness_mm = 25.0
compression = { law = "linear", stiffness_kpa_per_mm = 0.9 }
[product.coarse]
friction = 0.35
preston_per_pa = 2.0e-11
[panel.door]
shape = "sphere"
curvature_per_m = -1.0
size_mm = [600, 450.0]
[[step]]
name = "cut"
tool = "long"
pad = "wide"
product = "coarse"
panel = "door"
force_n = 35.0
feed_mm_s = 40.0
overlap = 0.5
passes = 4
pattern = "crosshatch"
"#;

pub(super) fn job(text: &str) -> Job {
    Job::parse("job.toml", text).unwrap_or_else(|p| panic!("refused:\n{p}"))
}

fn problem(text: &str) -> Problem {
    match Job::parse("job.toml", text) {
        Err(p) => p,
        Ok(_) => panic!("accepted:\n{text}"),
    }
}

/// `SMALL` with a piece replaced; the piece must be there.
pub(super) fn with(from: &str, to: &str) -> String {
    assert!(SMALL.contains(from), "no {from:?} in the small job");
    SMALL.replacen(from, to, 1)
}

/// `SMALL` with lines put after a line.
pub(super) fn after(line: &str, more: &str) -> String {
    with(&format!("{line}\n"), &format!("{line}\n{more}\n"))
}

/// A replacement must be refused on `line`, and the message must hold every word.
#[track_caller]
pub(super) fn refused(text: &str, line: usize, words: &[&str]) -> Problem {
    let p = problem(text);
    let shown = p.to_string();
    assert_eq!(p.line(), Some(line), "{shown}");
    assert!(shown.starts_with(&format!("job.toml:{line}:")), "{shown}");
    for word in words {
        assert!(shown.contains(word), "lacks {word:?}:\n{shown}");
    }
    p
}

#[test]
fn the_smallest_job_is_read() {
    let job = job(SMALL);
    assert_eq!(job.warnings, Vec::<String>::new());
    let step = job.step("cut").unwrap();
    assert_eq!((step.tool_name.as_str(), step.pad_name.as_str(), step.panel_name.as_str()), ("long", "wide", "door"));
    // Rounding of the unit conversions only, here and below.
    assert!((step.setup.pad().diameter().mm() - 130.0).abs() < 1e-9);
    assert!((step.setup.tool().rate().opm() - 4200.0).abs() < 1e-9);
    assert!((step.setup.force().n() - 35.0).abs() < 1e-12);
    assert_eq!((step.passes, step.pattern), (4, Pattern::Crosshatch));
    assert_eq!(step.setup.hold(), &Hold::Flat);
    assert_eq!((step.hand_force_n, step.speed_setting, step.target_cut), (None, None, None));
    assert!((step.panel.patch().mean() + 1.0).abs() < 1e-12);
    assert!((job.limits.useful_spin.rpm() - defaults::USEFUL_SPIN_RPM).abs() < 1e-12);
}

#[test]
fn whole_numbers_are_numbers_in_every_base_and_with_underscores() {
    let job = job(&with("orbit_rate_opm = 4200", "orbit_rate_opm = 0x1_068"));
    // 0x1068 = 4200.
    assert!((job.tools[0].item.rate().opm() - 4200.0).abs() < 1e-9, "rounding only");
}

#[test]
fn unknown_keys_get_a_suggestion() {
    let p = refused(
        &with("diameter_mm", "diamter_mm"),
        8,
        &["did you mean `diameter_mm`?", "pad.wide.diamter_mm", "thickness_mm"],
    );
    assert_eq!(p.column(), Some(1));
    refused(&with("drive = ", "drives = "), 3, &["did you mean `drive`?"]);
    refused(
        &with("breakaway_nm", "breakawy_nm"),
        6,
        &["tool.long.bearing.breakawy_nm", "did you mean `breakaway_nm`?"],
    );
    refused(&with("[panel.door]", "[pannel.door]"), 14, &["`pannel` is not a known table; did you mean `panel`?"]);
    refused(&with("force_n", "force"), 24, &["did you mean `force_n`?"]);
    refused(&after("thickness_mm = 25.0", "feed_mm_s = 3"), 10, &["`feed_mm_s` belongs in a [", "[step]"]);
    refused(&with("schema = 1\n", "schema = 1\nzzz = 1\n"), 2, &["`zzz` is not a known key", "allowed: schema, title"]);
    refused(&after("panel = \"door\"", "hold = { kind = \"flat\", tilt = 3 }"), 24, &["step.cut.hold.tilt"]);
}

#[test]
fn missing_keys_name_the_table_and_its_line() {
    refused(
        &with("thickness_mm = 25.0\n", ""),
        7,
        &["[pad.wide] (line 7) lacks the required key `thickness_mm`", "in mm"],
    );
    refused(&with("throw_mm = 12.0\n", ""), 2, &["[tool.long] (line 2)", "`throw_mm` of a free drive"]);
    refused(
        &with("bearing = { breakaway_nm = 0.04, viscous_nms = 1e-4 }\n", ""),
        2,
        &["`bearing` of a free drive", "breakaway_nm"],
    );
    refused(&with(", viscous_nms = 1e-4", ""), 6, &["[tool.long.bearing] (line 6)", "`viscous_nms`"]);
    refused(&with("feed_mm_s = 40.0\n", ""), 18, &["[step.cut] (line 18)", "feed_mm_s"]);
    refused(&with("name = \"cut\"\n", ""), 18, &["step#1", "`name`"]);
    refused(&with("size_mm = [600, 450.0]\n", ""), 14, &["size_mm"]);
    refused(&with("curvature_per_m = -1.0\n", ""), 14, &["`curvature_per_m` of a sphere", "[k, k]"]);
    refused(&with("schema = 1\n", ""), 1, &["schema"]);
    let none = problem(&SMALL[..SMALL.find("[[step]]").unwrap()]);
    assert!(none.to_string().contains("the job has no step"), "{none}");
    refused(&with("drive = \"free\"", "drive = \"geared\""), 2, &["`spin_per_orbit` of a geared drive"]);
    refused(&with("drive = \"free\"\nthrow_mm = 12.0", "drive = \"rotary\""), 2, &["`spin_rpm` of a rotary drive"]);
}

#[test]
fn wrong_types_say_what_was_expected_and_what_was_got() {
    let p = refused(
        &with("diameter_mm = 130", "diameter_mm = \"130\""),
        8,
        &["is a string, expected a number in mm", "without quotes", "pad.wide.diameter_mm"],
    );
    assert_eq!(p.value().as_deref(), Some("\"130\""));
    refused(&with("drive = \"free\"", "drive = 3"), 3, &["is a whole number, expected a string in quotes"]);
    refused(&with("passes = 4", "passes = 2.5"), 27, &["is a number, expected a whole number, 1 to 1000"]);
    refused(&with("size_mm = [600, 450.0]", "size_mm = 600"), 17, &["expected two lengths"]);
    refused(&with("size_mm = [600, 450.0]", "size_mm = [600]"), 17, &["has 1 numbers", "two lengths"]);
    refused(&with("size_mm = [600, 450.0]", "size_mm = [600, true]"), 17, &["holds true or false"]);
    refused(
        &with("bearing = { breakaway_nm = 0.04, viscous_nms = 1e-4 }", "bearing = 0.04"),
        6,
        &["expected a table", "breakaway_nm"],
    );
    refused(&after("panel = \"door\"", "hold = \"flat\""), 24, &["step.cut.hold", "kind = \"flat\""]);
    refused(&with("friction = 0.35", "friction = 1979-05-27"), 12, &["is a date or time"]);
    refused(&with("[tool.long]", "[tool]"), 3, &["tool.drive", "head its table with [tool.NAME]"]);
    refused(&with("[[step]]", "[step]"), 18, &["[[step]]"]);
    refused(&with("[pad.wide]", "[[pad]]"), 7, &["[pad.NAME]"]);
    refused(&with("schema = 1\n", "schema = 2\n"), 1, &["schema", "1 to 1"]);
    let bare = &SMALL[..SMALL.find("[[step]]").unwrap()];
    refused(&bare.replace("schema = 1\n", "schema = 1\nstep = [3]\n"), 2, &["a step is not a table", "[[step]]"]);
}

#[test]
fn names_that_lead_nowhere_list_what_there_is() {
    refused(
        &with("pad = \"wide\"", "pad = \"wied\""),
        21,
        &["there is no [pad.wied]", "did you mean `wide`?", "allowed: wide"],
    );
    refused(&with("panel = \"door\"", "panel = \"q\""), 23, &["step.cut.panel", "allowed: door"]);
    refused(
        &after("size_mm = [600, 450.0]", "paint = \"red\""),
        18,
        &["panel.door.paint", "[paint.red]", "none are defined"],
    );
    refused(
        &after("preston_per_pa = 2.0e-11", "[pairing.a]\npad = \"wide\"\nproduct = \"corse\""),
        16,
        &["did you mean `coarse`?"],
    );
    refused(&with("drive = \"free\"", "drive = \"fre\""), 3, &["did you mean `free`?", "free, geared, rotary"]);
    refused(&with("shape = \"sphere\"", "shape = \"ball\""), 15, &["flat, sphere, cylinder, quadric"]);
    refused(&with("pattern = \"crosshatch\"", "pattern = \"cross\""), 28, &["did you mean `crosshatch`?"]);
}

#[test]
fn alternatives_exclude_each_other() {
    refused(&after("force_n = 35.0", "hand_force_n = 10"), 25, &["both force_n and hand_force_n", "exactly one"]);
    refused(&with("force_n = 35.0\n", ""), 18, &["force_n", "hand_force_n", "exactly one"]);
    refused(
        &after("force_n = 35.0", "orbit_rate_opm = 4000\nspeed_setting = 3"),
        26,
        &["both orbit_rate_opm and speed_setting"],
    );
    refused(
        &with("[panel.door]", "[paint.p]\nhardness = \"soft\"\nhardness_mpa = 150\n[panel.door]"),
        16,
        &["both hardness and hardness_mpa"],
    );
    refused(
        &after("name = \"cut\"", "")
            .replace("pattern = \"crosshatch\"\n", "pattern = \"raster\"\n[[step]]\nname = \"cut\"\n"),
        31,
        &["two steps are named \"cut\"", "line 18"],
    );
    let twice = "[pairing.a]\npad = \"wide\"\nproduct = \"coarse\"\n[pairing.b]\npad = \"wide\"\nproduct = \"coarse\"";
    refused(&after("preston_per_pa = 2.0e-11", twice), 18, &["[pairing.b]", "[pairing.a] (line 14)"]);
}

#[test]
fn values_out_of_range_point_at_their_key() {
    for bad in
        ["nan", "inf", "-inf", "-130.0", "0", "1e999", "99999999999999999999", "0xFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFFF"]
    {
        let p = refused(
            &with("diameter_mm = 130", &format!("diameter_mm = {bad}")),
            8,
            &["pad.wide.diameter_mm", "allowed: 5 to 500 mm"],
        );
        assert_eq!(p.column(), Some(15));
        assert_eq!(p.value().as_deref(), Some(bad));
        assert_eq!(&p.source_text()[p.key_span().unwrap()], "diameter_mm");
    }
    let cases: &[(&str, &str, usize, &[&str])] = &[
        ("throw_mm = 12.0", "throw_mm = 0", 4, &["tool.long.throw_mm", "does not orbit is a rotary drive"]),
        ("throw_mm = 12.0", "throw_mm = -3", 4, &["0.01 to 100 mm"]),
        ("orbit_rate_opm = 4200", "orbit_rate_opm = nan", 5, &["1 to 100000 /min"]),
        (
            "breakaway_nm = 0.04",
            "breakaway_nm = -1",
            6,
            &["tool.long.bearing.breakaway_nm", "0 to 100 N·m", "value: -1"],
        ),
        ("viscous_nms = 1e-4", "viscous_nms = inf", 6, &["viscous_nms", "0 to 1 N·m·s"]),
        ("thickness_mm = 25.0", "thickness_mm = 0", 9, &["0.5 to 150 mm"]),
        ("stiffness_kpa_per_mm = 0.9", "stiffness_kpa_per_mm = 0", 10, &["pad.wide.compression.stiffness_kpa_per_mm"]),
        ("friction = 0.35", "friction = 0", 12, &["product.coarse.friction", "0.001 to 5"]),
        ("preston_per_pa = 2.0e-11", "preston_per_pa = 1", 13, &["preston_per_pa", "1/Pa"]),
        ("curvature_per_m = -1.0", "curvature_per_m = nan", 16, &["panel.door.curvature_per_m", "-1000 to 1000 1/m"]),
        ("size_mm = [600, 450.0]", "size_mm = [600, -450.0]", 17, &["value: -450.0", "10 to 20000 mm"]),
        ("force_n = 35.0", "force_n = 0", 24, &["step.cut.force_n", "0.1 to 2000 N"]),
        ("force_n = 35.0", "force_n = 1500", 24, &["bottoms the pad out", "at most"]),
        ("feed_mm_s = 40.0", "feed_mm_s = 0", 25, &["0.1 to 10000 mm/s"]),
        ("overlap = 0.5", "overlap = 50", 26, &["-1 to 0.95"]),
        ("passes = 4", "passes = 0", 27, &["1 to 1000"]),
        ("passes = 4", "passes = 99999999999999999999999", 27, &["1 to 1000"]),
    ];
    for (from, to, line, words) in cases {
        refused(&with(from, to), *line, words);
    }
    refused(
        &with("[pad.wide]", "[tool.x]\ndrive = \"rotary\"\nspin_rpm = 0\n[pad.wide]"),
        9,
        &["tool.x.spin_rpm", "1 to 20000 rpm"],
    );
    let more: &[(&str, &str, usize, &[&str])] = &[
        (
            "orbit_rate_opm = 4200",
            "orbit_rate_range_opm = [4300, 5000]",
            5,
            &["tool.long.orbit_rate_opm", "4300 to 5000", "the tool's range"],
        ),
        ("orbit_rate_opm = 4200", "orbit_rate_range_opm = [5000, 4000]", 6, &["orbit_rate_range_opm", "value: 5000"]),
        (
            "orbit_rate_opm = 4200",
            "speed_settings = [[1, 3000], [2, 2000]]",
            6,
            &["rates that increase", "value: 2000"],
        ),
        ("orbit_rate_opm = 4200", "speed_settings = [[1, 3000]]", 6, &["has 1 marks", "2 to 100 marks"]),
        ("orbit_rate_opm = 4200", "speed_settings = [1, 3000]", 6, &["pairs [setting, orbits per minute]"]),
        ("orbit_rate_opm = 4200", "mass_kg = 0", 6, &["tool.long.mass_kg", "0.1 to 50 kg"]),
        (
            "orbit_rate_opm = 4200",
            "motor = { rated_power_w = 500, idle_power_w = 600 }",
            6,
            &["tool.long.motor.idle_power_w", "0 to 500 W"],
        ),
        ("orbit_rate_opm = 4200", "motor = { rated_power_w = 5, rotor_inertia_kgm2 = 0 }", 6, &["0.000001 to 1 kg"]),
        ("thickness_mm = 25.0", "mass_kg = nan", 10, &["pad.wide.mass_kg", "0.001 to 10 kg"]),
        ("thickness_mm = 25.0", "hole_mm = 200", 10, &["pad.wide.hole_mm"]),
        (
            "thickness_mm = 25.0",
            "interface = { thickness_mm = 0, stiffness_kpa_per_mm = 1 }",
            10,
            &["pad.wide.interface.thickness_mm", "value: 0"],
        ),
        (
            "thickness_mm = 25.0",
            "interface = { thickness_mm = 5, stiffness_kpa_per_mm = 1, shear_modulus_kpa = 0 }",
            10,
            &["pad.wide.interface.shear_modulus_kpa", "0.1 to 100000 kPa"],
        ),
        ("force_n = 35.0", "target_cut_um = 0", 25, &["0.01 to 200 µm"]),
        ("force_n = 35.0", "hold = { kind = \"tilted\", x_deg = 45 }", 25, &["step.cut.hold.x_deg", "-30 to 30 °"]),
        ("force_n = 35.0", "hold = { kind = \"tilted\" }", 25, &["x_deg"]),
        ("force_n = 35.0", "hold = { kind = \"flat\", x_deg = 1 }", 25, &["does not belong to a flat hold"]),
        ("size_mm = [600, 450.0]", "incline_deg = 181", 18, &["0 to 180 °"]),
        ("size_mm = [600, 450.0]", "axis_deg = inf", 18, &["-360 to 360 °"]),
        ("schema = 1", "[ambient]\nrelative_humidity = 50", 3, &["ambient.relative_humidity", "0 to 1"]),
        ("schema = 1", "[ambient]\ntemperature_c = nan", 3, &["ambient.temperature_c", "-40 to 60 °C"]),
        ("schema = 1", "[limits]\nuseful_spin_rpm = 0", 3, &["limits.useful_spin_rpm", "0.1 to 5000 rpm"]),
        ("schema = 1", "[map]\ncell_mm = 0", 3, &["map.cell_mm", "0.05 to 100 mm"]),
    ];
    for (line_text, extra, line, words) in more {
        refused(&after(line_text, extra), *line, words);
    }
}

#[test]
fn a_step_may_not_outrun_its_tool() {
    let ranged = after("orbit_rate_opm = 4200", "orbit_rate_range_opm = [3000, 5000]");
    refused(
        &ranged.replace("force_n = 35.0", "force_n = 35.0\norbit_rate_opm = 6000"),
        26,
        &["step.cut.orbit_rate_opm", "3000 to 5000"],
    );
    let scaled = ranged.replace("[pad.wide]", "speed_settings = [[1, 2000], [5, 6000]]\n[pad.wide]");
    let at = |setting: &str| scaled.replace("force_n = 35.0", &format!("force_n = 35.0\nspeed_setting = {setting}"));
    refused(&at("9"), 27, &["step.cut.speed_setting", "1 to 5"]);
    refused(&at("1"), 27, &["2000 orbits per minute", "3000 to 5000"]);
    let job = job(&at("2.5"));
    // Half-way between the marks at 1 and 5 less an eighth: 2000 + 1.5·1000.
    assert!((job.steps[0].setup.tool().rate().opm() - 3500.0).abs() < 1e-9, "rounding only");
    refused(&with("force_n = 35.0", "force_n = 35.0\nspeed_setting = 3"), 25, &["no speed_settings"]);
    let wide = with("throw_mm = 12.0", "throw_mm = 90").replace("diameter_mm = 130", "diameter_mm = 80");
    refused(&wide, 4, &["tool.long.throw_mm", "below the pad's face diameter", "step \"cut\" (line 18)"]);
}

#[test]
fn the_force_of_a_hand_needs_the_weight_of_the_tool() {
    let by_hand = |hand: &str| with("force_n = 35.0", &format!("hand_force_n = {hand}"));
    refused(&by_hand("20"), 24, &["no mass_kg", "[tool.long] (line 2)"]);
    let weighed = |hand: &str, incline: &str| {
        by_hand(hand)
            .replace("orbit_rate_opm = 4200", "orbit_rate_opm = 4200\nmass_kg = 2.0")
            .replace("size_mm = [600, 450.0]", &format!("size_mm = [600, 450.0]\nincline_deg = {incline}"))
    };
    // 20 N + 2 kg · 9.80665 m/s² · cos 60°.
    let force = job(&weighed("20", "60")).steps[0].setup.force().n();
    assert!((force - 29.80665).abs() < 1e-9, "rounding only: {force}");
    assert!(job(&weighed("0", "0")).steps[0].hand_force_n.is_some());
    refused(&weighed("10", "180"), 26, &["pulls the pad off with 19.6 N", "must press harder", "above 19.7 N"]);
    refused(&weighed("0", "90"), 26, &["must press harder"]);
    refused(&weighed("-5", "0"), 26, &["0 to 2000 N", "force_n"]);
    refused(&weighed("nan", "0"), 26, &["0 to 2000 N"]);
    // The other way round the hand's share is told: 35 N less 19.6133 N.
    let told = with("orbit_rate_opm = 4200", "orbit_rate_opm = 4200\nmass_kg = 2.0");
    assert!((job(&told).steps[0].hand_force_n.unwrap() - 15.3867).abs() < 1e-9, "rounding only");
}

#[test]
fn curvature_fits_its_shape() {
    let shape = |shape: &str, curvature: &str| {
        with(
            "shape = \"sphere\"\ncurvature_per_m = -1.0",
            &format!("shape = \"{shape}\"\ncurvature_per_m = {curvature}"),
        )
    };
    let fine = [
        ("sphere", "[-1, -1]", (-1.0, -1.0)),
        ("sphere", "2", (2.0, 2.0)),
        ("cylinder", "[-1.5, 0]", (-1.5, 0.0)),
        ("cylinder", "-1.5", (-1.5, 0.0)),
        ("quadric", "[1, -0.5]", (1.0, -0.5)),
        ("flat", "0", (0.0, 0.0)),
        ("flat", "[0, -0.0]", (0.0, 0.0)),
    ];
    for (name, k, (first, second)) in fine {
        let principal = *job(&shape(name, k)).panels[0].item.patch();
        assert!(
            (principal.principal().0 - first).abs() < 1e-15 && (principal.principal().1 - second).abs() < 1e-15,
            "as typed"
        );
    }
    refused(&shape("sphere", "[-1, -2]"), 16, &["does not describe a sphere", "[k, k]"]);
    refused(&shape("cylinder", "[-1, -2]"), 16, &["[k, 0]"]);
    refused(&shape("quadric", "1"), 16, &["[k1, k2]"]);
    refused(&shape("flat", "1"), 16, &["0, or left out"]);
    refused(&shape("quadric", "[1, 2, 3]"), 16, &["has 3 numbers"]);
    refused(&shape("sphere", "[]"), 16, &["has 0 numbers"]);
    refused(&shape("quadric", "[1, nan]"), 16, &["value: nan", "-1000 to 1000"]);
    refused(&shape("sphere", "\"x\""), 16, &["is a string"]);
    assert!(
        job(&with("shape = \"sphere\"\ncurvature_per_m = -1.0", "shape = \"flat\"")).panels[0].item.patch().is_flat()
    );
}

#[test]
fn keys_that_a_drive_does_not_use_are_ignored_aloud() {
    let rotary = with("drive = \"free\"\nthrow_mm = 12.0", "drive = \"rotary\"\nthrow_mm = 0\nspin_rpm = 1500");
    let job_ = job(&rotary.replace("force_n = 35.0", "force_n = 35.0\nspeed_setting = 3"));
    assert!(matches!(job_.tools[0].item.drive(), Drive::Rotary { .. }));
    assert_eq!(job_.warnings.len(), 3, "{:?}", job_.warnings);
    assert_eq!(job_.warnings[0], "job.toml:6: tool.long.orbit_rate_opm is not used by a rotary drive and is ignored");
    assert!(job_.warnings[1].contains("tool.long.bearing") && job_.warnings[2].contains("step.cut.speed_setting"));
    refused(&rotary.replace("throw_mm = 0", "throw_mm = 12"), 4, &["0 or left out", "rotary"]);
    refused(&rotary.replace("throw_mm = 0", "throw_mm = nan"), 4, &["0 or left out"]);
    refused(&rotary.replace("breakaway_nm = 0.04", "breakaway_nm = nan"), 7, &["not a finite number"]);
    let geared = job(&with("drive = \"free\"", "drive = \"geared\"\nspin_per_orbit = 0.1"));
    assert_eq!(geared.warnings, ["job.toml:7: tool.long.bearing is not used by a geared drive and is ignored"]);
    let plate = job(&after("thickness_mm = 25.0", "plate_mm = 150"));
    assert!(
        plate.warnings[0].starts_with("job.toml:10: pad.wide.plate_mm is larger than the face"),
        "{:?}",
        plate.warnings
    );
    let step = job(&after("orbit_rate_opm = 4200", "setting_step = 1"));
    assert!(step.warnings[0].contains("setting_step"), "{:?}", step.warnings);
}

#[test]
fn compression_laws_take_their_own_keys() {
    let law = |table: &str| with("{ law = \"linear\", stiffness_kpa_per_mm = 0.9 }", table);
    job(&law("{ law = \"measured\", strain = [0.25, 0.40, 0.50, 0.65], stress_kpa = [3.0, 3.8, 5.0, 8.0] }"));
    job(&law("{ law = \"power\", stress_kpa_at_half = 6.0, exponent = 2.0 }"));
    refused(&law("{ law = \"power\", stress_kpa_at_half = 6.0 }"), 10, &["`exponent`"]);
    refused(
        &law("{ law = \"power\", stress_kpa_at_half = 6.0, exponent = 90 }"),
        10,
        &["0.5 to 8", "pad.wide.compression.exponent"],
    );
    refused(
        &law("{ law = \"linear\", stiffness_kpa_per_mm = 1, strain = [1] }"),
        10,
        &["does not belong to the linear law"],
    );
    refused(
        &law("{ law = \"measured\", strain = [0.25, 0.2], stress_kpa = [3.0, 3.8] }"),
        10,
        &["value: 0.2\n", "above the strain before it"],
    );
    refused(
        &law("{ law = \"measured\", strain = [0.25, 0.4], stress_kpa = [3.0] }"),
        10,
        &["compression.stress_kpa", "as many as"],
    );
    refused(&law("{ law = \"measured\", strain = [0.25, 0.4] }"), 10, &["`stress_kpa` of the measured law"]);
    refused(&law("{ law = \"foam\" }"), 10, &["linear, measured, power"]);
    // The force a measured law carries ends at its last point: 8 kPa on 130 mm is 106.2 N.
    let soft = law("{ law = \"measured\", strain = [0.25, 0.65], stress_kpa = [3.0, 8.0] }")
        .replace("force_n = 35.0", "force_n = 107");
    refused(&soft, 24, &["at most 106.2 N"]);
}

#[test]
fn the_most_specific_pairing_holds() {
    let pairings = "[paint.soft]\n[paint.old]\nhardness_mpa = 150\n[pairing.any]\npad = \"wide\"\nproduct = \"coarse\"\nfriction = 0.4\n\
                    [pairing.exact]\npad = \"wide\"\nproduct = \"coarse\"\npaint = \"soft\"\npreston_per_pa = 4e-11\npreston_rel_sd = 0.2";
    let text = after("preston_per_pa = 2.0e-11", pairings);
    let panel =
        |paint: &str| text.replace("size_mm = [600, 450.0]", &format!("size_mm = [600, 450.0]\npaint = \"{paint}\""));
    let exact = job(&panel("soft"));
    let step = &exact.steps[0];
    assert_eq!(step.pairing_name.as_deref(), Some("exact"));
    // As typed; friction stays the product's.
    assert!(
        (step.setup.product().friction() - 0.35).abs() < 1e-15
            && (step.setup.product().preston_per_pa() - 4e-11).abs() < 1e-25
    );
    assert!((step.pairing.preston_rel_sd() - 0.2).abs() < 1e-15);
    let any = job(&panel("old"));
    assert_eq!(any.steps[0].pairing_name.as_deref(), Some("any"));
    assert!((any.steps[0].setup.product().friction() - 0.4).abs() < 1e-15, "as typed");
    assert!(matches!(any.steps[0].paint.hardness(), Hardness::Measured(_)));
    assert_eq!(job(&text).steps[0].pairing_name.as_deref(), Some("any"), "a panel without a paint");
    assert_eq!(any.pairing("wide", "none", None), None);
    let idle = after("preston_per_pa = 2.0e-11", "[pairing.idle]\npad = \"wide\"\nproduct = \"coarse\"");
    assert!(job(&idle).warnings[0].contains("overrides nothing"));
}

#[test]
fn a_counted_spin_becomes_a_set_up_on_a_flat() {
    let text = after(
        "bearing = { breakaway_nm = 0.04, viscous_nms = 1e-4 }",
        "[tool.long.counted_spin]\nturns = 21\nseconds = 10\nforce_n = 40\norbit_rate_opm = 4000\npad = \"wide\"\nproduct = \"coarse\"",
    );
    let job_ = job(&text);
    let count = &job_.counted_spins[0];
    assert_eq!((count.tool_name.as_str(), count.pad_name.as_str()), ("long", "wide"));
    assert!(count.setup.patch().is_flat());
    // Rounding only.
    assert!((count.setup.force().n() - 40.0).abs() < 1e-12 && (count.setup.tool().rate().opm() - 4000.0).abs() < 1e-9);
    assert!((job_.steps[0].setup.tool().rate().opm() - 4200.0).abs() < 1e-9);
    assert!((count.count.spin() - 2.1 * 2.0 * core::f64::consts::PI).abs() < 1e-12);
    refused(&text.replace("seconds = 10", "seconds = 0"), 9, &["tool.long.counted_spin.seconds", "0.1 to 3600 s"]);
    refused(&text.replace("pad = \"wide\"\nproduct", "pad = \"w\"\nproduct"), 12, &["tool.long.counted_spin.pad"]);
    refused(&text.replace("turns = 21\n", ""), 7, &["`turns`"]);
    refused(&text.replace("force_n = 40", "force_n = 0"), 10, &["tool.long.counted_spin.force_n"]);
}

#[test]
fn broken_toml_has_a_place() {
    refused(&with("throw_mm = 12.0", "throw_mm ="), 4, &["a value is missing after `=`"]);
    refused(&with("drive = \"free\"", "drive = free"), 3, &["not valid TOML", "double quotes"]);
    refused(&after("throw_mm = 12.0", "throw_mm = 13.0"), 5, &["duplicate key", "only once"]);
    refused(&with("[panel.door]", "[pad.wide]\n[panel.door]"), 14, &["duplicate key"]);
    refused(&with("size_mm = [600, 450.0]", "size_mm = [600, 450.0"), 18, &["not valid TOML"]);
    refused("schema = 1\n\u{0}", 2, &["not valid TOML"]);
    let deep = format!("schema = 1\nx = {}", "[".repeat(100_000));
    assert_eq!(problem(&deep).line(), Some(2));
    job(&format!("\u{feff}{}", SMALL.replace('\n', "\r\n")));
}

/// Whatever is cut out of a job or put into it, the answer is a job or a problem with a place
/// inside the text.
#[test]
fn damaged_text_is_answered_without_a_panic() {
    let answered = |text: &str| match Job::parse("job.toml", text) {
        Ok(job) => assert!(!job.steps.is_empty()),
        Err(p) => {
            assert!(p.to_string().starts_with("job.toml"));
            assert!(p.span().is_none_or(|s| p.source_text().get(s).is_some()), "{p}");
        }
    };
    let text = STARTER;
    for (at, c) in text.char_indices() {
        answered(&text[..at]);
        answered(&format!("{}{}", &text[..at], &text[at + c.len_utf8()..]));
    }
    for (at, _) in SMALL.char_indices() {
        for put in ["\"", "[", "=", "µ", "-", "\u{0}", "\n", "nan", "9e99", "{", "'"] {
            answered(&format!("{}{put}{}", &SMALL[..at], &SMALL[at..]));
        }
    }
}

const PAD: &str =
    "[pad.pNAME]\ndiameter_mm = 100\nthickness_mm = 20\ncompression = { law = \"linear\", stiffness_kpa_per_mm = 1 }\n";

#[test]
fn sizes_are_bounded() {
    for empty in ["", "  \n\t\n", "\u{feff}"] {
        assert!(problem(empty).to_string().contains("the file is empty"));
    }
    let large = "#".repeat(usize::try_from(MAX_JOB_BYTES).unwrap() + 1);
    assert!(problem(&large).to_string().contains("at most 4 MiB"));
    let mut pads = String::from(SMALL);
    for i in 0..1000 {
        pads.push_str(&PAD.replace("NAME", &i.to_string()));
    }
    refused(&pads, 7, &["1001 tables [pad.NAME]", "at most 1000"]);
    let step = &SMALL[SMALL.find("[[step]]").unwrap()..];
    let many: String = (0..1000).map(|i| step.replace("\"cut\"", &format!("\"c{i}\""))).collect();
    refused(&format!("{SMALL}{many}"), 18, &["1001 steps", "1 to 1000 steps"]);
    let long: String = (0..2000).flat_map(|i| [(1.0 / f64::from(2000 - i)).to_string(), ", ".to_owned()]).collect();
    let law = with(
        "{ law = \"linear\", stiffness_kpa_per_mm = 0.9 }",
        &format!("{{ law = \"measured\", strain = [{long}], stress_kpa = [1] }}"),
    );
    let shown = refused(&law, 10, &["2000 entries, at most 1000"]).to_string();
    assert!(shown.chars().count() < 1200, "{} characters", shown.chars().count());
    refused(&with("[pad.wide]", &format!("[pad.{}]", "w".repeat(101))), 7, &["1 to 100 characters"]);
    refused(&with("name = \"cut\"", "name = \"a\\u001b[2J\""), 19, &["no control characters"]);
    let stretched = "d".repeat(1_000_000);
    refused(&with("diameter_mm", &stretched), 8, &["is not a known key"]);
}

#[test]
fn files_that_are_no_jobs_are_told_apart() {
    let dir = std::env::temp_dir().join(format!("trochoid-job-tests-{}", std::process::id()));
    std::fs::create_dir_all(&dir).unwrap();
    let told = |path: &std::path::Path| Job::read(path).unwrap_err().to_string();
    assert!(told(&dir).contains("directory"), "{}", told(&dir));
    assert!(told(&dir.join("none.toml")).contains("cannot be read"));
    let path = dir.join("job.toml");
    std::fs::write(&path, b"schema = 1\n\xff\xfe").unwrap();
    assert!(told(&path).contains("not UTF-8 text: byte 12 on line 2"), "{}", told(&path));
    std::fs::write(&path, b"").unwrap();
    assert!(told(&path).contains("empty"));
    // A sparse file of 100 MB: refused by its size, not read.
    std::fs::File::create(&path).unwrap().set_len(100_000_000).unwrap();
    assert!(told(&path).contains("at most 4 MiB (4194304 bytes)"), "{}", told(&path));
    std::fs::write(&path, SMALL).unwrap();
    let read = Job::read(&path).unwrap();
    assert_eq!(read.file_name, path.display().to_string());
    std::fs::remove_dir_all(&dir).unwrap();
    if std::path::Path::new("/dev/zero").exists() {
        assert!(told(std::path::Path::new("/dev/zero")).contains("at most 4 MiB"));
    }
}

#[test]
fn every_optional_key_has_a_documented_default_and_the_other_way_round() {
    let mut optional = Vec::new();
    for kind in KINDS {
        for key in kind.keys {
            let path = kind.path_of(key.name);
            match key.need {
                Need::Default => {
                    assert!(documented(&path).is_some(), "{path} may be left out but has no documented default");
                    optional.push(path);
                }
                Need::InsteadOf(other) => {
                    assert!(
                        documented(&kind.path_of(other)).is_some(),
                        "{path} stands in place of {other}, which has no default"
                    );
                }
                Need::OneOf(other) => assert!(kind.find(other).is_some(), "{path}: there is no {other}"),
                Need::Required | Need::Case => {
                    assert!(documented(&path).is_none(), "{path} is needed, yet has a default");
                }
            }
        }
    }
    for d in defaults::TABLE.iter().chain(ABSENT) {
        assert!(optional.iter().any(|o| o == d.key), "the default of {} belongs to no key", d.key);
        assert_eq!(
            defaults::TABLE.iter().chain(ABSENT).filter(|e| e.key == d.key).count(),
            1,
            "{} stands twice",
            d.key
        );
    }
}

#[test]
fn documented_defaults_are_the_values_used() {
    let pairs = [
        ("ambient.temperature_c", defaults::AIR_TEMPERATURE_C),
        ("ambient.relative_humidity", defaults::RELATIVE_HUMIDITY),
        ("ambient.air_speed_m_s", defaults::AIR_SPEED_M_S),
        ("limits.useful_spin_rpm", defaults::USEFUL_SPIN_RPM),
        ("map.cell_mm", defaults::CELL_MM),
        ("tool.setting_step", defaults::SETTING_STEP),
        ("tool.bearing.bore_mm", BORE_MM),
        ("tool.motor.idle_power_w", IDLE_POWER_W),
        ("tool.motor.rotor_inertia_kgm2", defaults::ROTOR_INERTIA_KGM2),
        ("pad.mass_kg", defaults::PAD_MASS_KG),
        ("pad.loss_factor", defaults::LOSS_FACTOR),
        ("pad.foam_density_kg_m3", defaults::FOAM_DENSITY_KG_M3),
        ("pad.grains_per_m2", defaults::GRAINS_PER_M2),
        ("paint.clear_um", defaults::CLEAR_UM),
        ("paint.lightness", defaults::LIGHTNESS),
        ("pairing.preston_rel_sd", defaults::PRESTON_REL_SD),
        ("optimize.feed_min_mm_s", super::optimize::FEED_MM_S.0),
        ("optimize.feed_max_mm_s", super::optimize::FEED_MM_S.1),
        ("optimize.acceleration_mm_s2", super::optimize::ACCELERATION_MM_S2),
    ];
    for (key, value) in pairs {
        let told: f64 = documented(key).unwrap().value.parse().unwrap();
        assert!((told - value).abs() < 1e-15, "{key}: told {told}, used {value}");
    }
    let job_ = job(SMALL);
    let of = |key: &str| job_.resolved.iter().find(|r| r.key == key).unwrap_or_else(|| panic!("{key} is not listed"));
    assert!(of("tool.long.bearing.brake_nm").is_default && of("tool.long.bearing.brake_nm").value == "0 N·m");
    assert!(of("pad.wide.plate_mm").is_default && of("pad.wide.plate_mm").value == "the face diameter");
    assert!(of("ambient.temperature_c").is_default && of("ambient.temperature_c").value == "20 °C");
    assert!(!of("pad.wide.diameter_mm").is_default && of("pad.wide.diameter_mm").value == "130 mm");
    assert_eq!(of("pad.wide.diameter_mm").source, "job file");
    assert_eq!(of("step.cut.hold").value, "flat");
    assert!(of("panel.door.size_mm").value.starts_with("[600, 450.0]"));
    let at = |key: &str| job_.resolved.iter().position(|r| r.key == key);
    assert!(at("tool.long.drive") < at("tool.long.bearing.friction"), "a table stands before the tables inside it");
    // Every default that applies is listed once, by its own path.
    let mut keys: Vec<_> = job_.resolved.iter().map(|r| r.key.as_str()).collect();
    let all = keys.len();
    keys.sort_unstable();
    keys.dedup();
    assert_eq!(keys.len(), all);
}

#[test]
fn things_stand_in_file_order() {
    let text = with(
        "[pad.wide]",
        "[pad.zero]\ndiameter_mm = 80\nthickness_mm = 20\ncompression = { law = \"linear\", stiffness_kpa_per_mm = 1 }\n[pad.wide]",
    );
    let names: Vec<_> = job(&text).pads.into_iter().map(|p| p.name).collect();
    assert_eq!(names, ["zero", "wide"]);
}

#[test]
fn suggestions_are_near_or_silent() {
    let keys = ["diameter_mm", "thickness_mm", "force_n", "hand_force_n", "feed_mm_s"];
    assert_eq!(closest("diamater_mm", keys), Some("diameter_mm"));
    assert_eq!(closest("diameter", keys), Some("diameter_mm"));
    assert_eq!(closest("feed", keys), Some("feed_mm_s"));
    assert_eq!(closest("Force_N", keys), Some("force_n"));
    assert_eq!(closest("zebra", keys), None);
    assert_eq!(closest(&"f".repeat(1000), keys), None);
}

/// Volume rate `k_p⟨∫p|v| dA⟩` of a step over feed x line spacing x passes, µm.
fn cut_um(step: &super::Step) -> (f64, f64) {
    let state = spin_state(&step.setup, step.setup.patch(), &ContactSettings::default()).unwrap();
    let volume = step.setup.product().preston_per_pa() * state.sums.speed_w;
    let spacing = (1.0 - step.overlap) * step.setup.pad().diameter().m();
    let cut = volume / (step.feed.m_s() * spacing) * step.passes as f64 * 1e6;
    (cut, state.spin * 60.0 / (2.0 * core::f64::consts::PI))
}

/// Bands of the trade: common practice, no source; clear coat 30-60 µm, a section about 400-460 mm
/// square, feed 25-50 mm/s, overlap about half, 2-4 passes, removal 2-4 µm medium and 1-2 light, a
/// finishing step at most about a third of a compounding step.
fn inside_the_bands(job: &Job) {
    for step in &job.steps {
        let within = |what: &str, value: f64, low: f64, high: f64| {
            assert!(value >= low && value <= high, "{}: {what} = {value}, band {low} to {high}", step.name);
        };
        within("clear coat", step.paint.clear().um(), 30.0, 60.0);
        within("length", step.panel.length().mm(), 400.0, 460.0);
        within("width", step.panel.width().mm(), 400.0, 460.0);
        within("feed", step.feed.mm_s(), 25.0, 50.0);
        within("overlap", step.overlap, 0.4, 0.6);
        within("passes", step.passes as f64, 2.0, 4.0);
        within("cut", cut_um(step).0, 1.0, 4.0);
    }
}

#[test]
fn the_starter_is_a_plausible_job() {
    let job = Job::parse("starter.toml", STARTER).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(job.warnings, Vec::<String>::new());
    inside_the_bands(&job);
    let (cut, cut_spin) = cut_um(job.step("cut").unwrap());
    let (refine, refine_spin) = cut_um(job.step("refine").unwrap());
    assert!((2.0..4.0).contains(&cut), "{cut} µm");
    assert!((1.0..2.0).contains(&refine) && refine <= cut / 3.0, "{refine} of {cut} µm");
    // One to two turns a second is working: common practice, no source.
    for spin in [cut_spin, refine_spin] {
        assert!((60.0..=120.0).contains(&spin), "{spin} rpm");
    }
    // Taking the marks off what is put aside gives a job as well, and there the pad stalls.
    let whole: String = STARTER
        .lines()
        .flat_map(|line| {
            let bare = line.strip_prefix("# ").unwrap_or(line);
            let is_key = bare.starts_with('[')
                || bare.split_once(" = ").is_some_and(|(k, _)| k.bytes().all(|b| b.is_ascii_lowercase() || b == b'_'));
            [if is_key { bare } else { line }, "\n"]
        })
        .collect();
    let job = Job::parse("starter.toml", &whole).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!((job.steps.len(), job.pairings.len(), job.counted_spins.len()), (3, 1, 1));
    assert!(cut_um(job.step("cut_hollow").unwrap()).1 < 60.0);
}

#[test]
fn the_demo_spins_on_the_crown_and_stalls_in_the_hollow() {
    let job = Job::parse("demo.toml", include_str!("../../examples/jobs/demo.toml")).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(job.warnings, Vec::<String>::new());
    inside_the_bands(&job);
    let spin = |name: &str| cut_um(job.step(name).unwrap()).1;
    let useful = job.limits.useful_spin.rpm();
    assert!(spin("cut_door") > useful && spin("finish_door") > useful);
    assert!(spin("cut_arch") < useful);
}
