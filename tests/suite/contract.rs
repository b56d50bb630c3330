//! The machine-readable results: every documented key with its type, nulls where there is no number,
//! and the identities that tie the numbers together.
//!
//! Source of keys and formulas: the documented JSON of `state`, `map` and `plan`. The expected
//! values are worked out here from the job's own numbers, never by calling the library.

#![cfg(feature = "cli")]

use crate::cli::{DEMO, Folder, SMALL, edited, run, run_in, run_on};
use core::f64::consts::PI;
use serde_json::Value;

/// What a key holds.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Is {
    Number,
    NumberOrNull,
    Null,
    Bool,
    Text,
    Numbers,
    List,
    Object,
}
use Is::{Bool, List, Null, Number, NumberOrNull, Numbers, Object, Text};

fn fits(value: &Value, is: Is) -> bool {
    match is {
        Number => value.as_f64().is_some_and(f64::is_finite),
        NumberOrNull => value.is_null() || value.as_f64().is_some_and(f64::is_finite),
        Null => value.is_null(),
        Bool => value.is_boolean(),
        Text => value.as_str().is_some_and(|t| !t.is_empty()),
        Numbers => value.as_array().is_some_and(|a| a.iter().all(Value::is_number)),
        List => value.is_array(),
        Object => value.is_object(),
    }
}

/// Every key must be there, with its type.
fn holds(value: &Value, keys: &[(&str, Is)]) {
    for (key, is) in keys {
        let at = value.pointer(key).unwrap_or_else(|| panic!("{key} is missing in {value:#}"));
        assert!(fits(at, *is), "{key} = {at}, expected {is:?}");
    }
}

const STATE: &[(&str, Is)] = &[
    ("/step", Text),
    ("/panel", Text),
    ("/contact/mean_pressure_pa", Number),
    ("/contact/peak_pressure_pa", Number),
    ("/contact/centre_pressure_pa", NumberOrNull),
    ("/contact/contact_share", Number),
    ("/spin/spin_rpm", Number),
    ("/spin/spin_rpm_range", Numbers),
    ("/spin/stalled", Bool),
    ("/spin/stalled_on_flat", Bool),
    ("/spin/reverses", Bool),
    ("/spin/stable_spins_rpm", Numbers),
    ("/spin/stall_number", NumberOrNull),
    ("/spin/stall_curvature_per_m", NumberOrNull),
    ("/spin/reversal_curvature_per_m", NumberOrNull),
    ("/spin/stall_curvature_along_panel_per_m", NumberOrNull),
    ("/spin/closed_form_reversal_curvature_per_m", NumberOrNull),
    ("/spin/closed_form_valid", Bool),
    ("/spin/settling_time_s", NumberOrNull),
    ("/motion/face_throw_mm", Number),
    ("/motion/sticks", Bool),
    ("/motion/orbit_speed_m_s", Number),
    ("/motion/pad_mean_speed_m_s", Number),
    ("/removal/volume_rate_mm3_s", Number),
    ("/removal/mean_cut_per_pass_um", Number),
    ("/power/friction_w", Number),
    ("/power/orbit_torque_nm", Number),
    ("/remedies", List),
];

const REMEDY: &[(&str, Is)] = &[("/kind", Text), ("/value", NumberOrNull), ("/reason", Text), ("/verified", Bool)];

const MAP: &[(&str, Is)] = &[
    ("/cut_um/volume_mm3", Number),
    ("/path_time_s", Number),
    ("/line_spacing_mm", Number),
    ("/spill_mm3", Number),
    ("/grid/cell_mm", Number),
    ("/grid/nx", Number),
    ("/grid/ny", Number),
];

const PLAN_STEP: &[(&str, Is)] = &[
    ("/step", Text),
    ("/panel", Text),
    ("/section", Null),
    ("/tool", Text),
    ("/pad", Text),
    ("/product", Text),
    ("/speed_setting", NumberOrNull),
    ("/orbit_rate_opm", NumberOrNull),
    ("/force_n", Number),
    ("/hand_force_n", NumberOrNull),
    ("/passes", Number),
    ("/time_s", Number),
    ("/cut_um/mean", NumberOrNull),
    ("/cut_um/lo", NumberOrNull),
    ("/cut_um/hi", NumberOrNull),
    ("/stall_number", NumberOrNull),
    ("/stalled_share", Number),
    ("/remedies", List),
    ("/peak_paint_c", NumberOrNull),
    ("/pad_core_c", NumberOrNull),
    ("/budget_used_share", NumberOrNull),
    ("/binding_limit/name", Text),
    ("/binding_limit/value", Number),
    ("/binding_limit/limit", Number),
    ("/binding_limit/margin", Number),
];

fn number(value: &Value, key: &str) -> f64 {
    value.pointer(key).and_then(Value::as_f64).unwrap_or_else(|| panic!("{key} is no number in {value:#}"))
}

fn near(what: &str, got: f64, expected: f64, relative: f64) {
    assert!((got - expected).abs() <= relative * expected.abs(), "{what}: got {got}, expected {expected}");
}

pub(crate) fn state(text: &str) -> Value {
    run_on(text, &["state", "--json"]).json()
}

/// A number of the job's own text: the first one after `key = ` or `key=`.
fn given(text: &str, key: &str) -> Option<f64> {
    let at = text.match_indices(key).map(|(i, _)| i).find(|i| {
        let before = text[..*i].chars().next_back();
        before.is_none_or(|c| !c.is_alphanumeric() && c != '_') && text[i + key.len()..].trim_start().starts_with('=')
    })?;
    let rest = text[at + key.len()..].trim_start().strip_prefix('=')?.trim_start();
    rest.split(|c: char| !(c.is_ascii_digit() || "+-.eE".contains(c))).next()?.parse().ok()
}

#[test]
fn state_holds_every_key_of_every_step() {
    for step in ["cut_door", "cut_arch", "finish_door"] {
        let answer = run(&["state", DEMO, "--json", "--step", step]);
        let v = answer.json();
        assert_eq!(answer.err, "", "one step was asked for: nothing to tell");
        holds(&v, STATE);
        assert_eq!(v["step"], step);
        for r in v["remedies"].as_array().unwrap() {
            holds(r, REMEDY);
            assert!(r["unit"].is_string(), "{r}");
            assert_eq!(r["verified"].as_bool().unwrap(), !r["value"].is_null(), "a value is solved again: {r}");
        }
        assert_eq!(v["remedies"].as_array().unwrap().is_empty(), v["spin"]["stalled"] == false, "{step}");
    }
}

#[test]
fn messages_go_to_standard_error_and_the_object_alone_to_standard_output() {
    let folder = Folder::new();
    // A key without effect: a warning; three steps: a note; files written: told.
    let text = edited(
        &std::fs::read_to_string(std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(DEMO)).unwrap(),
        &[("drive = \"free\"", "drive = \"free\"\nspin_rpm = 5.0")],
    );
    folder.put("job.toml", &text);
    for arguments in [&["state", "job.toml", "--json", "--out", "o"][..], &["check", "job.toml", "--json"]] {
        let answer = run_in(folder.path(), arguments);
        answer.json();
        assert!(answer.err.contains("warning: job.toml:") && answer.err.contains("spin_rpm"), "{}", answer.err);
        if arguments[0] == "state" {
            assert!(answer.err.contains("note: step `cut_door`") && answer.err.contains("wrote "), "{}", answer.err);
        }
    }
    // Without --json the text is on standard output, and no message is in it.
    let answer = run_in(folder.path(), &["state", "job.toml", "--out", "o"]);
    assert!(!answer.out.contains("warning") && !answer.out.contains("wrote"), "{}", answer.out);
}

/// Free drives in every sort of contact: each an edit of the small job.
const FREE: &[&[(&str, &str)]] = &[
    &[],
    &[("curvature_per_m = -0.5", "curvature_per_m = 2.0")],
    &[("curvature_per_m = -0.5", "curvature_per_m = -3.0"), ("force_n = 35.0", "force_n = 55.0")],
    // Reverses.
    &[
        ("curvature_per_m = -0.5", "curvature_per_m = -3.0"),
        ("stiffness_kpa_per_mm = 0.9", "stiffness_kpa_per_mm = 1.5"),
    ],
    &[
        ("viscous_nms = 1.0e-4", "viscous_nms = 1.0e-4, friction = 0.002, bore_mm = 15.0"),
        ("diameter_mm = 130.0", "diameter_mm = 130.0\nmass_kg = 0.3"),
    ],
    &[("viscous_nms = 1.0e-4", "viscous_nms = 1.0e-4, brake_nm = 0.01")],
    // The brake holds it.
    &[("viscous_nms = 1.0e-4", "viscous_nms = 1.0e-4, brake_nm = 2.0")],
    &[("diameter_mm = 130.0", "diameter_mm = 130.0\nhole_mm = 30.0\nshear_modulus_kpa = 20.0")],
    &[("\"sphere\"\ncurvature_per_m = -0.5", "\"quadric\"\ncurvature_per_m = [-1.5, 0.4]\naxis_deg = 25.0")],
    &[(
        "law = \"linear\", stiffness_kpa_per_mm = 0.9",
        "law = \"measured\", strain = [0.25, 0.40, 0.50, 0.65], stress_kpa = [3.0, 3.8, 5.0, 8.0]",
    )],
    &[("panel = \"door\"", "panel = \"door\"\nhold = { kind = \"tilted\", x_deg = 1.0, y_deg = -0.5 }")],
    &[("panel = \"door\"", "panel = \"door\"\nhold = { kind = \"self_aligning\" }")],
    // Spins up nearly with the orbit.
    &[("breakaway_nm = 0.04", "breakaway_nm = 1.5")],
];

/// Orbit radius at the face and orbit rate, SI, from the job's text.
fn orbit(text: &str) -> (f64, f64) {
    let e = 0.5e-3 * given(text, "throw_mm").unwrap();
    let pull = 0.35 * given(text, "force_n").unwrap();
    let lost = given(text, "shear_modulus_kpa")
        .map_or(0.0, |g| pull * 1e-3 * given(text, "thickness_mm").unwrap() / (1e3 * g * area(text)));
    ((e * e - lost * lost).max(0.0).sqrt(), given(text, "orbit_rate_opm").unwrap() * PI / 30.0)
}

/// Area of the face, m².
fn area(text: &str) -> f64 {
    let d = 1e-3 * given(text, "diameter_mm").unwrap();
    let h = 1e-3 * given(text, "hole_mm").unwrap_or(0.0);
    0.25 * PI * (d * d - h * h)
}

#[test]
fn a_free_drive_keeps_its_balances() {
    for edits in FREE {
        let text = edited(SMALL, edits);
        let v = state(&text);
        holds(&v, STATE);
        let (e_f, rate) = orbit(&text);
        let spin = number(&v, "/spin/spin_rpm") * PI / 30.0;
        let force = given(&text, "force_n").unwrap();
        let tag = |what: &str| format!("{what} with {edits:?}");

        // Ω x torque = friction_w + M_spindle (Ω − ω) + M_brake |ω|, the spindle's torque from the
        // bearing law and the job's numbers.
        let number_of = |key: &str, otherwise: f64| given(&text, key).unwrap_or(otherwise);
        let orbit_radius = 0.5e-3 * number_of("throw_mm", 0.0);
        let load = (number_of("mass_kg", 0.2) * orbit_radius * rate * rate).hypot(0.35 * force);
        let bearing = text.lines().find(|l| l.starts_with("bearing")).unwrap();
        let load_friction = given(bearing, "friction").unwrap_or(0.0) * 0.5e-3 * number_of("bore_mm", 12.0) * load;
        let slip_scale = 1e-3; // x_s of s(x) = tanh(x/x_s) in the balance, rad/s
        let spindle = (number_of("breakaway_nm", 0.0) + load_friction) * ((rate - spin) / slip_scale).tanh()
            + number_of("viscous_nms", 0.0) * (rate - spin);
        let brake = number_of("brake_nm", 0.0) * (spin.abs() / slip_scale).tanh();
        let torque = number(&v, "/power/orbit_torque_nm");
        let friction = number(&v, "/power/friction_w");
        // Power, force and moment come from the same nodes, so that only the root counts: found to
        // 1e-8 rad/s, times the slope of the spindle's torque, times the spin. Beside it, rounding.
        let at_lock = 1.0 - ((rate - spin) / slip_scale).tanh().powi(2);
        let at_rest = 1.0 - (spin / slip_scale).tanh().powi(2);
        let steady = number_of("breakaway_nm", 0.0) + load_friction;
        let slope = (steady * at_lock + number_of("brake_nm", 0.0) * at_rest) / slip_scale + 0.1;
        let (got, expected) = (rate * torque, friction + spindle * (rate - spin) + brake * spin.abs());
        let allowed = 1e-8 * slope * rate + 1e-9 * expected;
        assert!((got - expected).abs() <= allowed, "{}: {got} {expected}", tag("power"));
        // Removal and friction power are the same integral: volume rate = k_p W/μ.
        near(&tag("volume rate"), number(&v, "/removal/volume_rate_mm3_s"), 2.0e-11 * friction / 0.35 * 1e9, 1e-12); // rounding
        near(
            &tag("cut a pass"),
            number(&v, "/removal/mean_cut_per_pass_um"),
            number(&v, "/removal/volume_rate_mm3_s") / (40.0 * (1.0 - 0.5) * 130.0) * 1e3,
            1e-12, // rounding
        );
        near(&tag("face throw"), number(&v, "/motion/face_throw_mm"), 2e3 * e_f, 1e-12); // rounding
        near(&tag("orbit speed"), number(&v, "/motion/orbit_speed_m_s"), e_f * rate, 1e-12); // rounding
        near(&tag("mean pressure"), number(&v, "/contact/mean_pressure_pa"), force / area(&text), 1e-12); // rounding
        assert!(number(&v, "/contact/peak_pressure_pa") >= number(&v, "/contact/mean_pressure_pa"), "{}", tag("peak"));
        let share = number(&v, "/contact/contact_share");
        assert!(share > 0.0 && share <= 1.0 + 1e-8, "{}: {share}", tag("share, but for quadrature"));
        assert_eq!(
            v["contact"]["centre_pressure_pa"].is_null(),
            text.contains("hole_mm"),
            "{}",
            tag("no centre in a hole")
        );

        // The mean of |v| over the pad by a plain sum over its points and the orbit's phases.
        let (n, r_in, r_out) = (400, 0.5e-3 * number_of("hole_mm", 0.0), 0.065);
        let (mut sum, mut weight) = (0.0, 0.0);
        for i in 0..n {
            let r = r_in + (r_out - r_in) * (f64::from(i) + 0.5) / f64::from(n);
            for j in 0..64 {
                let beta = 2.0 * PI * (f64::from(j) + 0.5) / 64.0;
                sum += r * (e_f * rate + spin * r * beta.cos()).hypot(spin * r * beta.sin());
                weight += r;
            }
        }
        // 64 phases of a smooth periodic speed; near |ω| r = e_f Ω it has a cusp, 1e-3 there.
        near(&tag("mean speed"), number(&v, "/motion/pad_mean_speed_m_s"), sum / weight, 1e-3);

        // Spins: one range around it, all stable ones, and the words for them.
        let rpm = number(&v, "/spin/spin_rpm");
        let range: Vec<f64> =
            v["spin"]["spin_rpm_range"].as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect();
        assert!(range.len() == 2 && range[0] <= rpm && rpm <= range[1], "{}: {range:?}", tag("range"));
        let stable = v["spin"]["stable_spins_rpm"].as_array().unwrap();
        let largest = stable.iter().filter_map(Value::as_f64).fold(f64::NEG_INFINITY, f64::max);
        near(&tag("largest stable spin"), largest, rpm, 1e-15);
        assert_eq!(v["spin"]["stalled"], rpm < 60.0, "{}", tag("stalled below 60 rpm"));
        assert_eq!(v["spin"]["reverses"], rpm < -0.5, "{}", tag("reverses below -0.5 rpm"));
    }
}

#[test]
fn the_cases_above_reach_every_sort_of_spin() {
    let spins: Vec<f64> =
        [0, 2, 3, 6, 12].iter().map(|i| number(&state(&edited(SMALL, FREE[*i])), "/spin/spin_rpm")).collect();
    assert!(spins[0] > 60.0 && spins[1] < 60.0 && spins[2] < -0.5 && spins[4] > 1000.0, "{spins:?}");
    assert!(spins[3].abs() < 0.05, "the brake holds it: {spins:?}");
}

#[test]
fn the_range_of_the_drag_is_its_half_and_its_double_with_the_brake_kept() {
    let spin = |factor: f64| {
        let bearing = format!(
            "breakaway_nm = {}, viscous_nms = {}, friction = {}, brake_nm = 0.01",
            0.04 * factor,
            1e-4 * factor,
            0.001 * factor
        );
        state(&edited(SMALL, &[("breakaway_nm = 0.04, viscous_nms = 1.0e-4", &bearing)]))
    };
    let [half, one, twice] = [0.5, 1.0, 2.0].map(spin);
    let range = |i: usize| one["spin"]["spin_rpm_range"][i].as_f64().unwrap();
    // Both are roots of the same balance to 1e-8 rad/s.
    near("low end", range(0), number(&half, "/spin/spin_rpm"), 1e-7);
    near("high end", range(1), number(&twice, "/spin/spin_rpm"), 1e-7);
    assert_eq!(one["spin"]["drag_factor_range"], Value::from(vec![0.5, 2.0]));
    let stall_numbers = Value::from([&half, &twice].map(|v| v["spin"]["stall_number"].clone()).to_vec());
    let told = &one["spin"]["stall_number_over_drag_range"];
    for i in 0..2 {
        // Each is a curvature over another, refined to 1e-9.
        let at = |v: &Value| v[i].as_f64().unwrap_or_else(|| panic!("no stall number in {v}"));
        near("stall number", at(told), at(&stall_numbers), 1e-6);
    }
}

#[test]
fn the_range_of_the_drag_follows_a_count_and_has_no_upper_end_beside_the_orbit() {
    let counted = |turns: f64, seconds: f64| {
        let count = format!(
            "orbit_rate_opm = 4200.0\ncounted_spin = {{ turns = {turns:?}, seconds = {seconds:?}, force_n = 35.0, pad = \"wide\", product = \"compound\" }}\n"
        );
        let v = state(&edited(SMALL, &[("orbit_rate_opm = 4200.0\n", &count)]));
        let range = v["spin"]["drag_factor_range"].as_array().unwrap().clone();
        [range[0].as_f64(), range[1].as_f64()]
    };
    let [low, high] = counted(60.0, 20.0).map(Option::unwrap);
    assert!(low > 0.5 && low < 1.0 && high > 1.0 && high < 2.0, "half a turn of sixty: {low} {high}");
    // 70 orbits a second: half a turn more than 69.8 in a second would outrun them.
    let [low, high] = counted(69.8, 1.0);
    assert!(low.is_some_and(|l| l > 0.0 && l < 1.0) && high.is_none(), "{low:?} {high:?}");
}

#[test]
fn the_stall_number_and_stalled_agree() {
    let mut both = [0, 0];
    for curvature in [
        "[-0.2, -0.2]",
        "[-1.7, -1.7]",
        "[-1.8, -1.8]",
        "[-4.0, -4.0]",
        "[-2.2, 0.0]",
        "[-5.0, 0.0]",
        "[0.3, -2.5]",
        "[-6.0, 1.0]",
        "[1.0, 1.0]",
    ] {
        let text = edited(
            SMALL,
            &[("\"sphere\"\ncurvature_per_m = -0.5", &format!("\"quadric\"\ncurvature_per_m = {curvature}"))],
        );
        let v = state(&text);
        let stalled = v["spin"]["stalled"].as_bool().unwrap();
        if let Some(s) = v["spin"]["stall_number"].as_f64() {
            assert_eq!(s >= 1.0, stalled, "{curvature}: S = {s}");
            both[usize::from(stalled)] += 1;
            // S is the panel's larger curvature over the one at the limit.
            let list: Vec<f64> = serde_json::from_str(curvature).unwrap();
            let larger = if list[0].abs() >= list[1].abs() { list[0] } else { list[1] };
            near("curvature at the limit", number(&v, "/spin/stall_curvature_along_panel_per_m"), larger / s, 1e-12);
            if (list[0] - list[1]).abs() < 1e-12 {
                // On a sphere both searches look for the same curvature, each refined to 1e-9.
                near("sphere", number(&v, "/spin/stall_curvature_per_m"), larger / s, 1e-6);
            }
        } else {
            assert!(!stalled, "{curvature}: no S, so nothing along this panel stalls it");
            assert!(v["spin"]["stall_curvature_along_panel_per_m"].is_null());
        }
    }
    assert!(both[0] >= 2 && both[1] >= 2, "both sides were met: {both:?}");
}

#[test]
fn at_the_stall_curvature_the_pad_turns_at_the_useful_minimum() {
    let v = state(SMALL);
    let at = |key: &str| {
        let k = number(&v, key);
        assert!(k < 0.0, "hollow");
        number(
            &state(&edited(SMALL, &[("curvature_per_m = -0.5", &format!("curvature_per_m = {k}"))])),
            "/spin/spin_rpm",
        )
    };
    let (useful, still) = (at("/spin/stall_curvature_per_m"), at("/spin/reversal_curvature_per_m"));
    // The limits are refined with twice the nodes of the state: 0.02 rpm (a fiftieth of a turn a minute).
    assert!((useful - 60.0).abs() < 0.02, "{useful}");
    assert!(still.abs() < 0.02, "{still}");
    // A set useful minimum moves the limit.
    let easier = state(&edited(SMALL, &[("[map]", "[limits]\nuseful_spin_rpm = 30.0\n[map]")]));
    assert!(number(&easier, "/spin/stall_curvature_per_m") < number(&v, "/spin/stall_curvature_per_m"));
}

#[test]
fn a_pad_stalled_on_the_flat_has_no_stall_number() {
    let weak =
        edited(SMALL, &[("breakaway_nm = 0.04, viscous_nms = 1.0e-4", "breakaway_nm = 0.01, viscous_nms = 1.0e-5")]);
    let v = state(&weak);
    assert_eq!((&v["spin"]["stalled"], &v["spin"]["stalled_on_flat"]), (&Value::Bool(true), &Value::Bool(true)));
    assert!(v["spin"]["stall_number"].is_null() && v["spin"]["stall_curvature_along_panel_per_m"].is_null());
    assert!(number(&v, "/spin/stall_curvature_per_m") > 0.0, "a crown would turn it");
    let flat = state(&edited(SMALL, &[("\"sphere\"\ncurvature_per_m = -0.5", "\"flat\"")]));
    assert!(flat["spin"]["stall_number"].is_null(), "a flat has none either");
    assert_eq!(flat["spin"]["stalled"], false);
}

const GEARED: &[(&str, &str)] = &[
    ("drive = \"free\"", "drive = \"geared\"\nspin_per_orbit = 0.1"),
    ("bearing = { breakaway_nm = 0.04, viscous_nms = 1.0e-4 }\n", ""),
];
const ROTARY: &[(&str, &str)] = &[
    ("drive = \"free\"\nthrow_mm = 12.0\norbit_rate_opm = 4200.0\n", "drive = \"rotary\"\nspin_rpm = 1500.0\n"),
    ("bearing = { breakaway_nm = 0.04, viscous_nms = 1.0e-4 }\n", ""),
];

#[test]
fn driven_pads_have_no_stall() {
    for (edits, rpm, shaft_rpm) in [(GEARED, 420.0, 4200.0), (ROTARY, 1500.0, 1500.0)] {
        let v = state(&edited(SMALL, edits));
        holds(&v, STATE);
        near("spin", number(&v, "/spin/spin_rpm"), rpm, 1e-12); // rounding
        assert_eq!(v["spin"]["stable_spins_rpm"], Value::from(vec![v["spin"]["spin_rpm"].as_f64().unwrap()]));
        for key in ["stalled", "stalled_on_flat", "reverses", "closed_form_valid"] {
            assert_eq!(v["spin"][key], false, "{key}");
        }
        for key in [
            "stall_number",
            "stall_curvature_per_m",
            "reversal_curvature_per_m",
            "stall_curvature_along_panel_per_m",
            "closed_form_reversal_curvature_per_m",
            "drag_factor_range",
            "stall_number_over_drag_range",
        ] {
            assert!(v["spin"][key].is_null(), "{key} = {}", v["spin"][key]);
        }
        assert!(v["remedies"].as_array().unwrap().is_empty());
        let shaft = shaft_rpm * PI / 30.0;
        near("torque", number(&v, "/power/orbit_torque_nm"), number(&v, "/power/friction_w") / shaft, 1e-12); // rounding
        near(
            "volume",
            number(&v, "/removal/volume_rate_mm3_s"),
            2e-11 * number(&v, "/power/friction_w") / 0.35 * 1e9,
            1e-12,
        ); // rounding
    }
    // A rotary pad does not orbit; |v| = |ω| r, so its area mean is 2/3 |ω| R.
    let rotary = state(&edited(SMALL, ROTARY));
    assert!(
        number(&rotary, "/motion/face_throw_mm").abs() < 1e-15
            && number(&rotary, "/motion/orbit_speed_m_s").abs() < 1e-15
    );
    near("mean speed", number(&rotary, "/motion/pad_mean_speed_m_s"), 2.0 / 3.0 * 50.0 * PI * 0.065, 1e-9); // smooth quadrature
    let plan = run_on(&edited(SMALL, ROTARY), &["plan", "--json"]).json();
    assert!(plan["steps"][0]["orbit_rate_opm"].is_null() && plan["steps"][0]["stall_number"].is_null());
}

#[test]
fn a_sticking_face_cuts_nothing_and_says_so() {
    // k_s = G A/h = 1 kPa x 0.01327 m² / 25 mm = 531 N/m; a throw of 12 mm can pull 3.2 N, friction is 12.25 N.
    let text = edited(SMALL, &[("thickness_mm = 25.0", "thickness_mm = 25.0\nshear_modulus_kpa = 1.0")]);
    let v = state(&text);
    holds(&v, STATE);
    assert_eq!(v["motion"]["sticks"], true);
    for key in [
        "/motion/face_throw_mm",
        "/motion/orbit_speed_m_s",
        "/motion/pad_mean_speed_m_s",
        "/removal/volume_rate_mm3_s",
        "/removal/mean_cut_per_pass_um",
        "/power/friction_w",
        "/spin/spin_rpm",
    ] {
        assert!(number(&v, key).abs() < 1e-15, "{key} = {}", number(&v, key));
    }
    // The shaft still turns in its bearing: Ω x torque = M_spindle Ω.
    near("torque", number(&v, "/power/orbit_torque_nm"), 0.04 + 1e-4 * 140.0 * PI, 1e-12); // rounding
    let map = run_on(&text, &["map", "--json"]).json();
    assert!(number(&map, "/cut_um/volume_mm3").abs() < 1e-15 && number(&map, "/cut_um/mean").abs() < 1e-15);
    assert!(map["cut_um"]["cv"].is_null(), "no spread of nothing");
    let plan = run_on(&text, &["plan", "--json"]).json();
    assert_eq!(plan["steps"][0]["binding_limit"]["name"], "face_sticks");
    assert!(number(&plan, "/steps/0/binding_limit/margin") < 0.0);
    let words = run_on(&text, &["state"]).out;
    assert!(words.contains("the face sticks"), "{words}");
}

#[test]
fn hand_and_face_force_differ_by_the_weight() {
    for incline in [0.0_f64, 60.0, 90.0, 150.0] {
        let weight = 2.6 * 9.80665 * incline.to_radians().cos();
        let on = |force: &str| {
            edited(
                SMALL,
                &[
                    ("throw_mm = 12.0", "throw_mm = 12.0\nmass_kg = 2.6"),
                    ("size_mm", &format!("incline_deg = {incline}\nsize_mm")),
                    ("force_n = 35.0", force),
                ],
            )
        };
        let face = state(&on("force_n = 35.0"));
        let (n, hand) = (number(&face, "/force_n"), number(&face, "/hand_force_n"));
        assert!((n - 35.0).abs() < 1e-12 && (n - hand - weight).abs() < 1e-9, "{incline}: {n} {hand}");
        let by_hand = state(&on("hand_force_n = 25.0"));
        let (n, hand) = (number(&by_hand, "/force_n"), number(&by_hand, "/hand_force_n"));
        assert!((hand - 25.0).abs() < 1e-12 && (n - hand - weight).abs() < 1e-9, "{incline}: {n} {hand}");
        near("pressure", number(&by_hand, "/contact/mean_pressure_pa"), n / area(SMALL), 1e-12); // rounding
    }
    let without_mass = state(SMALL);
    assert!(without_mass["hand_force_n"].is_null(), "unknown, not zero");
    let plan = run_on(SMALL, &["plan", "--json"]).json();
    assert!(plan["steps"][0]["hand_force_n"].is_null() && plan["steps"][0]["speed_setting"].is_null());
}

#[test]
fn map_holds_its_keys_and_its_sums() {
    let text = edited(
        SMALL,
        &[("diameter_mm = 130.0", "diameter_mm = 130.0\ngrains_per_m2 = 3.0e6"), ("cell_mm = 5.0", "cell_mm = 4.9")],
    );
    let folder = Folder::new();
    folder.put("job.toml", &text);
    let map = run_in(folder.path(), &["map", "job.toml", "--json", "--out", "o"]).json();
    let s = state(&text);
    holds(&map, MAP);
    for field in ["cut_um", "sliding_length_m", "coverage_m_per_m2", "dwell_s"] {
        holds(&map[field], &[("/mean", Number), ("/cv", Number), ("/p5", Number), ("/p95", Number), ("/max", Number)]);
        let of = |key: &str| number(&map, &format!("/{field}/{key}"));
        assert!(of("p5") <= of("mean") && of("mean") <= of("p95") && of("p95") <= of("max"), "{field}");
    }
    near("coverage", number(&map, "/coverage_m_per_m2/mean"), 3e6 * number(&map, "/sliding_length_m/mean"), 1e-12); // rounding
    near("coverage spread", number(&map, "/coverage_m_per_m2/cv"), number(&map, "/sliding_length_m/cv"), 1e-9); // rounding of the sums
    // 400 x 300 mm with lines at most 65 mm apart: 5 gaps of 60 mm, then 7 of 57.14 mm.
    let length = (6.0 * 400.0 + 300.0) + (8.0 * 300.0 + 400.0);
    near("path time", number(&map, "/path_time_s"), length / 40.0, 1e-12); // rounding
    near("line spacing", number(&map, "/line_spacing_mm"), 60.0, 1e-12); // rounding
    near("volume", number(&map, "/cut_um/volume_mm3"), number(&s, "/removal/volume_rate_mm3_s") * length / 40.0, 1e-12); // rounding
    let spill = number(&map, "/spill_mm3");
    assert!(spill > 0.0 && spill < number(&map, "/cut_um/volume_mm3"));
    let (nx, ny, cell) = (number(&map, "/grid/nx"), number(&map, "/grid/ny"), number(&map, "/grid/cell_mm"));
    near("cells along x", nx * cell, 400.0, 1e-12); // rounding
    assert!(cell <= 4.9 && (nx - 82.0).abs() < 1e-9 && (ny - 62.0).abs() < 1e-9, "as few as fit: {nx} x {ny}");

    // The table holds every cell; its statistics inside the documented mask are the ones told.
    let csv = std::fs::read_to_string(folder.path().join("o/cut-map.csv")).unwrap();
    let mut lines = csv.lines();
    assert!(lines.next().unwrap().starts_with("x_mm,y_mm,cut_um,"));
    let rows: Vec<Vec<f64>> = lines.map(|l| l.split(',').map(|x| x.parse().unwrap()).collect()).collect();
    assert_eq!(rows.len(), 82 * 62);
    let inset = 65.0 + 0.5 * number(&s, "/motion/face_throw_mm");
    let mut inside: Vec<f64> = rows
        .iter()
        .filter(|r| r[0] >= inset && r[0] <= 400.0 - inset && r[1] >= inset && r[1] <= 300.0 - inset)
        .map(|r| r[2])
        .collect();
    inside.sort_by(f64::total_cmp);
    let n = inside.len() as f64;
    let mean = inside.iter().sum::<f64>() / n;
    let sd = (inside.iter().map(|c| (c - mean).powi(2)).sum::<f64>() / n).sqrt();
    let percentile = |p: f64| {
        let at = p * (n - 1.0);
        let i = (0..inside.len() - 1).find(|i| at < (i + 1) as f64).unwrap();
        inside[i] + (at - i as f64) * (inside[i + 1] - inside[i])
    };
    // The table has seven digits.
    near("mean", number(&map, "/cut_um/mean"), mean, 1e-6);
    near("cv", number(&map, "/cut_um/cv"), sd / mean, 1e-4); // a difference of seven-digit numbers
    near("p5", number(&map, "/cut_um/p5"), percentile(0.05), 1e-6);
    near("p95", number(&map, "/cut_um/p95"), percentile(0.95), 1e-6);
    near("max", number(&map, "/cut_um/max"), inside[inside.len() - 1], 1e-6);
    let on_panel: f64 = rows.iter().map(|r| r[2] * 1e-3 * cell * number(&map, "/grid/cell_y_mm")).sum();
    // Midpoint sums over 5 mm cells of a field that is smooth over 15 mm.
    near("volume on the panel", on_panel, number(&map, "/cut_um/volume_mm3") - spill, 1e-3);
}

#[test]
fn a_panel_too_small_for_the_mask_has_no_statistics() {
    let text = edited(SMALL, &[("size_mm = [400.0, 300.0]", "size_mm = [400.0, 140.0]")]);
    let map = run_on(&text, &["map", "--json"]).json();
    holds(&map, MAP);
    for field in ["cut_um", "sliding_length_m", "coverage_m_per_m2", "dwell_s"] {
        for key in ["mean", "cv", "p5", "p95", "max"] {
            assert!(map[field][key].is_null(), "{field}.{key} = {}", map[field][key]);
        }
    }
    assert!(number(&map, "/cut_um/volume_mm3") > 0.0, "the pad touched it all the same");
    let plan = run_on(&text, &["plan", "--json"]).json();
    for key in ["mean", "lo", "hi"] {
        assert!(plan["steps"][0]["cut_um"][key].is_null(), "{key}");
    }
}

#[test]
fn plan_holds_every_key_and_its_sums() {
    let plan = run(&["plan", DEMO, "--json"]).json();
    let steps = plan["steps"].as_array().unwrap();
    assert_eq!(steps.len(), 3);
    for s in steps {
        holds(s, PLAN_STEP);
        for r in s["remedies"].as_array().unwrap() {
            holds(r, REMEDY);
        }
        let name = s["step"].as_str().unwrap();
        let state = run(&["state", DEMO, "--json", "--step", name]).json();
        let map = run(&["map", DEMO, "--json", "--step", name]).json();
        assert_eq!(s["remedies"], state["remedies"], "{name}");
        assert_eq!(s["stall_number"], state["spin"]["stall_number"], "{name}");
        assert_eq!(s["hand_force_n"], state["hand_force_n"], "{name}");
        assert_eq!(s["cut_um"]["mean"], map["cut_um"]["mean"], "{name}");
        assert_eq!(s["time_s"], map["path_time_s"], "{name}");
        let stalled = state["spin"]["stalled"].as_bool().unwrap();
        assert!(
            (number(s, "/stalled_share") - f64::from(u8::from(stalled))).abs() < 1e-15,
            "one curvature: all or nothing"
        );
        let (lo, mean, hi) = (number(s, "/cut_um/lo"), number(s, "/cut_um/mean"), number(s, "/cut_um/hi"));
        assert!(0.0 < lo && lo < mean && mean < hi, "{name}: {lo} {mean} {hi}");
        let l = &s["binding_limit"];
        assert!(number(l, "/limit") > 0.0 && number(l, "/margin") <= 1.0);
    }
    holds(
        &plan,
        &[
            ("/totals/time_s", Number),
            ("/totals/pads", Object),
            ("/totals/product_ml", NumberOrNull),
            ("/totals/a8_m_s2", NumberOrNull),
            ("/assumptions", List),
        ],
    );
    near("total", number(&plan, "/totals/time_s"), steps.iter().map(|s| number(s, "/time_s")).sum(), 1e-12); // rounding
    let pads: Vec<_> = plan["totals"]["pads"].as_object().unwrap().keys().cloned().collect();
    assert_eq!(pads, ["cutting", "finishing"], "the pads used, each once");
}

/// Every limit of a free drive with a motor and a pad that shears, worked out from the state and
/// the job's numbers: (name, margin).
fn margins(text: &str, v: &Value) -> Vec<(&'static str, f64)> {
    let mut out = Vec::new();
    match v["spin"]["stall_number"].as_f64() {
        Some(s) => out.push(("stall", 1.0 - s)),
        None => {
            let rpm = number(v, "/spin/spin_rpm");
            out.push(("spin", (rpm - 60.0) / rpm.max(60.0)));
        }
    }
    out.push((
        "pad_compression",
        1.0 - number(v, "/contact/peak_compression_mm") / number(v, "/contact/compression_limit_mm"),
    ));
    let shear =
        1e3 * given(text, "shear_modulus_kpa").unwrap() * area(text) / (1e-3 * given(text, "thickness_mm").unwrap());
    let pull = shear * 0.5e-3 * given(text, "throw_mm").unwrap();
    out.push(("face_sticks", 1.0 - 0.35 * given(text, "force_n").unwrap() / pull));
    let available = given(text, "rated_power_w").unwrap() - given(text, "idle_power_w").unwrap();
    let shaft = given(text, "orbit_rate_opm").unwrap() * PI / 30.0;
    out.push(("motor_power", 1.0 - number(v, "/power/orbit_torque_nm") * shaft / available));
    out
}

#[test]
fn the_binding_limit_is_the_one_with_the_smallest_margin() {
    let base = edited(
        SMALL,
        &[
            ("\"sphere\"\ncurvature_per_m = -0.5", "\"sphere\"\ncurvature_per_m = 0.2"),
            ("throw_mm = 12.0", "throw_mm = 12.0\nmotor = { rated_power_w = 700.0, idle_power_w = 120.0 }"),
            ("breakaway_nm = 0.04", "breakaway_nm = 0.12"),
            ("thickness_mm = 25.0", "thickness_mm = 25.0\nshear_modulus_kpa = 30.0"),
        ],
    );
    // One input changed at a time lets another limit bind.
    let changes: [(&str, &str, &str); 5] = [
        ("rated_power_w = 700.0", "rated_power_w = 190.0", "motor_power"),
        ("shear_modulus_kpa = 30.0", "shear_modulus_kpa = 5.0", "face_sticks"),
        ("stiffness_kpa_per_mm = 0.9", "stiffness_kpa_per_mm = 0.13", "pad_compression"),
        ("breakaway_nm = 0.12", "breakaway_nm = 0.005", "spin"),
        ("curvature_per_m = 0.2", "curvature_per_m = -1.4", "stall"),
    ];
    for (from, to, name) in changes {
        let text = edited(&base, &[(from, to)]);
        let plan = run_on(&text, &["plan", "--json"]).json();
        let all = margins(&text, &state(&text));
        let (tightest, margin) = all.iter().copied().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
        let binding = &plan["steps"][0]["binding_limit"];
        assert_eq!((tightest, &binding["name"]), (name, &Value::from(name)), "{to}: {all:?} against {binding}");
        assert!((number(binding, "/margin") - margin).abs() < 1e-9, "rounding: {all:?} against {binding}");
        let (value, limit) = (number(binding, "/value"), number(binding, "/limit"));
        let from_value = if name == "spin" { (value - limit) / value.max(limit) } else { 1.0 - value / limit };
        assert!((from_value - margin).abs() < 1e-9, "margin is the relative distance to the limit: {binding}");
    }
}

#[test]
fn a_target_cut_decides_the_passes() {
    let at = |target: &str| {
        run_on(
            &edited(SMALL, &[("overlap = 0.5", &format!("overlap = 0.5\ntarget_cut_um = {target}"))]),
            &["plan", "--json"],
        )
        .json()
    };
    let one = run_on(SMALL, &["plan", "--json"]).json();
    let a_pass = number(&one, "/steps/0/cut_um/mean") / 2.0;
    let target = 4.6 * a_pass;
    let plan = at(&format!("{target}"));
    assert!((number(&plan, "/steps/0/passes") - 5.0).abs() < 1e-9, "{}", plan["steps"][0]["passes"]);
    // Odd and even passes of a crosshatch have line spacings of their own.
    assert!(number(&plan, "/steps/0/cut_um/mean") >= 0.97 * target);
    assert_eq!(plan["steps"][0]["target_out_of_reach"], false);
    let far = at("200");
    assert_eq!(far["steps"][0]["target_out_of_reach"], true, "more than a hundred passes");
}
