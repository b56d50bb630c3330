//! Are the keys of a machine read, refused and listed as the page of the job file says, and does `machine`
//! answer for every drive and supply?

#![cfg(feature = "cli")]

use crate::cli::{Folder, SMALL, edited, names_in, no_leftovers, run_in, run_on};
use serde_json::Value;
use trochoid::job::Job;

/// Every table of a machine with nothing in it that could be left out.
const LEAST: &str = "
[tool.long.motor]
rated_power_w = 700.0
idle_power_w = 120.0
[tool.long.balance]
plane1_mm = 45.0
[tool.long.spindle_bearing]
dynamic_rating_n = 9500.0
static_rating_n = 4800.0
overhang_mm = 30.0
span_mm = 40.0
[tool.long.pad_bearing]
dynamic_rating_n = 9500.0
static_rating_n = 4800.0
[tool.long.duty]
work_min = 12.0
[tool.long.supply]
kind = \"mains\"
voltage_v = 230.0
";

fn job(more: &str) -> String {
    format!("{SMALL}{more}")
}

fn with(edits: &[(&str, &str)]) -> String {
    job(&edited(LEAST, edits))
}

fn read(text: &str) -> Job {
    Job::parse("job", text).unwrap_or_else(|e| panic!("{e}"))
}

/// The text must be refused, and the message hold every word.
#[track_caller]
fn refused(text: &str, words: &[&str]) {
    let told = Job::parse("job", text).expect_err("refused").to_string();
    for word in words {
        assert!(told.contains(word), "lacks {word:?}: {told}");
    }
    assert!(told.starts_with("job:"), "names file and line: {told}");
}

#[test]
fn every_default_told_is_the_one_used() {
    let told = read(&job(LEAST));
    let written = read(&with(&[
        (
            "plane1_mm = 45.0\n",
            "plane1_mm = 45.0\npad_plane_mm = 0.0\ndry_share = 0.95\nwet_pore_share = 0.1\ngrade_mm_s = 6.3\n",
        ),
        ("span_mm = 40.0\n", "span_mm = 40.0\nf0 = 14.0\nreliability = 0.9\n"),
        (
            "static_rating_n = 4800.0\n[tool.long.duty]\nwork_min = 12.0\n",
            "static_rating_n = 4800.0\noverhang_mm = 0.0\nf0 = 14.0\nreliability = 0.9\n[tool.long.duty]\nwork_min = 12.0\nrest_min = 0.0\nthermal_time_constant_min = 20.0\nrest_time_constant_min = 40.0\nconstant_loss_ratio = 0.5\npeak_force_factor = 1.5\n",
        ),
        ("voltage_v = 230.0\n", "voltage_v = 230.0\nefficiency = 0.6\npower_factor = 0.95\n"),
    ]));
    assert_eq!(told.machine("long"), written.machine("long"));
    assert!(told.warnings.is_empty(), "{:?}", told.warnings);
    let listed = |key: &str| told.resolved.iter().find(|r| r.key == format!("tool.long.{key}")).cloned();
    for (key, value) in [
        ("balance.pad_plane_mm", "0 mm"),
        ("balance.plane2_mm", "none"),
        ("balance.dry_share", "0.95"),
        ("balance.wet_pore_share", "0.1"),
        ("balance.nominal_pad_kg", "the pad's own mass"),
        ("balance.grade_mm_s", "6.3 mm/s"),
        ("spindle_bearing.f0", "14"),
        ("pad_bearing.overhang_mm", "0 mm"),
        ("pad_bearing.reliability", "0.9"),
        ("duty.thermal_time_constant_min", "20 min"),
        ("duty.rest_time_constant_min", "40 min"),
        ("duty.constant_loss_ratio", "0.5"),
        ("duty.peak_force_factor", "1.5"),
        ("supply.efficiency", "0.6"),
        ("supply.power_factor", "0.95"),
    ] {
        let found = listed(key).unwrap_or_else(|| panic!("{key} is not listed"));
        assert!(found.is_default && found.value == value && found.grade.is_some(), "{key}: {found:?}");
    }
    assert!(listed("supply.usable_share").is_none() && listed("supply.cord_mm2").is_none(), "not used, not listed");
    // Without the tables nothing of them is listed, and the machine is empty.
    let plain = read(SMALL);
    assert!(!plain.resolved.iter().any(|r| r.key.contains("balance") || r.key.contains("supply")));
    assert_eq!(plain.machine("long"), trochoid::job::MachineSettings::default());
    // Battery and air have their own defaults.
    let other = |text: &str| with(&[("kind = \"mains\"\nvoltage_v = 230.0\n", text)]);
    let battery = read(&other("kind = \"battery\"\npack_wh = 90.0\n"));
    let same = read(&other("kind = \"battery\"\npack_wh = 90.0\nusable_share = 0.8\nefficiency = 0.6\n"));
    assert_eq!(battery.machine("long"), same.machine("long"));
    let air = read(&other("kind = \"air\"\nfree_air_l_min = 400.0\n"));
    let same = read(&other(
        "kind = \"air\"\nfree_air_l_min = 400.0\nidle_air_share = 0.5\npressure_bar = 6.3\ncompressor_efficiency = 0.6\n",
    ));
    assert_eq!(air.machine("long"), same.machine("long"));
}

#[test]
fn bad_tables_are_refused_with_place_and_range() {
    for (from, to, words) in [
        ("plane1_mm = 45.0", "plane1_mm = 900.0", &["tool.long.balance.plane1_mm", "-500 to 500"][..]),
        ("plane1_mm = 45.0", "plane1_mm = nan", &["plane1_mm", "-500 to 500"]),
        ("plane1_mm = 45.0", "pad_plane_mm = 0.0", &["lacks the required key `plane1_mm`"]),
        ("plane1_mm = 45.0", "plane1_mm = 45.0\nplane2_mm = 45.0", &["plane2_mm", "one plane holds no couple"]),
        ("plane1_mm = 45.0", "plane1_mm = 45.0\nnominal_pad_kg = -0.2", &["nominal_pad_kg", "0.001 to 10"]),
        ("plane1_mm = 45.0", "plane1_mm = 45.0\nweight2_gmm = 3.0", &["weight2_gmm", "second plane"]),
        ("plane1_mm = 45.0", "plane1_mm = 45.0\nplane2_mm = 90.0\nweight2_gmm = 3.0", &["weight1_gmm", "both weights"]),
        ("plane1_mm = 45.0", "plane1_mm = 45.0\nplain2_mm = 90.0", &["did you mean `plane2_mm`?"]),
        ("dynamic_rating_n = 9500.0", "dynamic_rating_n = 0.0", &["spindle_bearing.dynamic_rating_n", "1 to 10000000"]),
        ("span_mm = 40.0", "span_mm = 0.0", &["spindle_bearing.span_mm", "1 to 1000"]),
        ("span_mm = 40.0\n", "", &["lacks the required key `span_mm`", "in mm"]),
        ("work_min = 12.0", "work_min = 0.0", &["duty.work_min", "0.05 to 1440"]),
        ("kind = \"mains\"", "kind = \"steam\"", &["supply.kind", "mains, battery, air"]),
        ("voltage_v = 230.0\n", "", &["`voltage_v` of the mains"]),
        ("voltage_v = 230.0", "voltage_v = 230.0\npack_wh = 90.0", &["supply.pack_wh", "does not belong"]),
        ("voltage_v = 230.0", "voltage_v = 230.0\nefficiency = 1.4", &["supply.efficiency", "0.05 to 1"]),
        (
            "voltage_v = 230.0",
            "voltage_v = 230.0\nwork_min_per_vehicle = -3.0",
            &["work_min_per_vehicle", "0.1 to 10000"],
        ),
        ("kind = \"mains\"\nvoltage_v = 230.0", "kind = \"battery\"\npack_wh = 0.0", &["supply.pack_wh", "1 to 5000"]),
        (
            "kind = \"mains\"\nvoltage_v = 230.0",
            "kind = \"air\"\nfree_air_l_min = 1.0",
            &["free_air_l_min", "10 to 5000"],
        ),
    ] {
        refused(&with(&[(from, to)]), words);
    }
    refused(
        &with(&[("[tool.long.balance]\nplane1_mm = 45.0\n", "")]),
        &["no balance", "counterweights load the spindle"],
    );
    let no_motor = [
        ("[tool.long.motor]\nrated_power_w = 700.0\nidle_power_w = 120.0\n", ""),
        ("kind = \"mains\"\nvoltage_v = 230.0", "kind = \"air\"\nfree_air_l_min = 400.0"),
    ];
    refused(&with(&no_motor), &["runs on air but has no motor"]);
    // What has no effect is told.
    let unused = read(&with(&[("work_min = 12.0", "rest_min = 3.0")]));
    assert!(unused.warnings.iter().any(|w| w.contains("rest_min")), "{:?}", unused.warnings);
}

fn only(json: &Value) -> &Value {
    &json["tools"][0]["steps"][0]
}

#[test]
fn the_command_answers_in_text_and_json_and_writes_its_pictures() {
    let text = with(&[("plane1_mm = 45.0", "plane1_mm = 45.0\nplane2_mm = 95.0\nrotor_mass_kg = 0.9")]);
    let folder = Folder::new();
    folder.put("job.toml", &text);
    let answer = run_in(folder.path(), &["machine", "job.toml", "--out", "out"]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    for word in ["balance", "front bearing", "L10h", "margin", "mains", "vehicle", "wet", "G 6.3"] {
        assert!(answer.out.contains(word), "{word}: {}", answer.out);
    }
    let names = names_in(&folder.path().join("out"));
    no_leftovers(&names);
    for name in ["machine.json", "machine.txt", "cut-balance.svg", "cut-balance.png", "cut-bearing-life.png"] {
        assert!(names.contains(name), "{name}: {names:?}");
    }
    let json = run_on(&text, &["machine", "--json"]).json();
    let step = only(&json);
    let number = |v: &Value| v.as_f64().unwrap_or_else(|| panic!("a number: {v}"));
    // The numbers fit together: water shakes with its mass on the orbit.
    let (wet, rate) = (&step["balance"]["wet"], number(&step["shaft_rate_rpm"]));
    let omega = rate * core::f64::consts::PI / 30.0;
    assert!((number(&wet["force_n"]) / (number(&wet["residual_gmm"]) * 1e-6 * omega * omega) - 1.0).abs() < 1e-9);
    let moved = number(&wet["residual_gmm"]) * 45.0;
    assert!((number(&wet["residual_couple_gmm2"]) / moved - 1.0).abs() < 1e-9, "g·mm² about the first plane");
    assert!((number(&step["balance"]["described"]["force_n"])).abs() < 1e-6);
    let (motor, supply) = (&step["motor"], &step["supply"]);
    assert!((number(&motor["load_share"]) * 700.0 / number(&step["shaft_power_w"]) - 1.0).abs() < 1e-9);
    assert!((number(&supply["electric_w"]) * 0.6 / number(&step["shaft_power_w"]) - 1.0).abs() < 1e-9);
    let vehicle = &json["tools"][0]["vehicle"];
    let wh = number(&supply["electric_w"]) * number(&vehicle["work_s"]) / 3600.0;
    assert!((number(&vehicle["energy_wh"]) / wh - 1.0).abs() < 1e-9 && vehicle["packs"].is_null());
    // The time is that of the plan.
    let plan = run_on(&text, &["plan", "--json"]).json();
    assert!((number(&plan["totals"]["time_s"]) / number(&vehicle["work_s"]) - 1.0).abs() < 1e-9);
    for key in ["front", "rear"] {
        assert!(number(&step["spindle_bearing"][key]["l10_h"]) > 10.0);
    }
    assert!(step["pad_bearing"]["upper"].is_null() && number(&step["pad_bearing"]["lower"]["l10_h"]) > 10.0);
}

#[test]
fn a_machine_that_is_not_described_is_told_as_such() {
    let json = run_on(SMALL, &["machine", "--json"]).json();
    let step = only(&json);
    for key in ["balance", "spindle_bearing", "pad_bearing", "motor", "supply"] {
        assert!(step[key].is_null(), "{key} is null, never zero");
    }
    assert!(step["orbit_force_n"].as_f64().unwrap() > 100.0 && json["tools"][0]["vehicle"].is_null());
    let told = run_on(SMALL, &["machine"]).out;
    assert!(
        told.contains("not described, so not told: balance, spindle_bearing, pad_bearing, motor, supply"),
        "{told}"
    );
    // Battery and air, with a time of work of the user's own.
    let other =
        |text: &str| run_on(&with(&[("kind = \"mains\"\nvoltage_v = 230.0\n", text)]), &["machine", "--json"]).json();
    let battery = other("kind = \"battery\"\npack_wh = 20.0\nwork_min_per_vehicle = 240.0\n");
    let vehicle = &battery["tools"][0]["vehicle"];
    let (packs, wh) = (vehicle["packs"].as_f64().unwrap(), vehicle["energy_wh"].as_f64().unwrap());
    assert!((packs - (wh / 16.0).ceil()).abs() < 1e-9 && (vehicle["work_s"].as_f64().unwrap() - 14400.0).abs() < 1e-6);
    let air = other("kind = \"air\"\nfree_air_l_min = 400.0\nwork_min_per_vehicle = 60.0\n");
    let used = only(&air)["supply"]["free_air_m3_per_h"].as_f64().unwrap();
    assert!(used > 12.0 && used < 24.0, "between idle and rating: {used}");
    assert!((air["tools"][0]["vehicle"]["free_air_m3"].as_f64().unwrap() / used - 1.0).abs() < 1e-9);
}

#[test]
fn wrong_names_and_places_end_with_a_clear_error() {
    let text = job(LEAST);
    for (arguments, word) in [
        (&["machine", "--tool", "short"][..], "there is no tool `short`; the job has long"),
        (&["machine", "--step", "nothing"], "there is no step `nothing`"),
    ] {
        let answer = run_on(&text, arguments);
        assert!(answer.code == Some(2) && answer.told().contains(word) && answer.out.is_empty(), "{answer:?}");
    }
    let answer = run_on(&text, &["machine", "--tool", "long", "--step", "cut"]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    let vehicle = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/jobs/vehicle.toml")).unwrap();
    let answer = run_on(&vehicle, &["machine"]);
    assert!(answer.code == Some(2) && answer.told().contains("[vehicle]"), "{answer:?}");
}
