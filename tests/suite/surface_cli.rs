//! The commands on real panels, as a user runs them: numbers, files, exit codes.

#![cfg(feature = "cli")]

use crate::cli::{Answer, Folder, names_in, run_in};
use crate::surface_job::{files, text};
use serde_json::Value;
use trochoid::panel::mesh::LengthUnit;
use trochoid::panel::read::read_mesh;

const MESH: &str = "shape = \"mesh\"\nfile = \"cap.obj\"\nunit = \"mm\"\nup = \"z\"\ngrid_mm = 5.0";
const HOLLOW: &str =
    "shape = \"sphere\"\nedges = \"free\"\nsize_mm = [300.0, 240.0]\ncurvature_per_m = -3.0\ngrid_mm = 5.0";
const RASTER: &str = "pattern = \"raster\"";

/// Runs a command on the job in `folder`.
fn on(folder: &Folder, job: &str, arguments: &[&str]) -> Answer {
    folder.put("job.toml", job);
    let (command, options) = arguments.split_first().unwrap();
    run_in(folder.path(), &[&[*command, "job.toml"], options].concat())
}

fn number(v: &Value, at: &str) -> f64 {
    let n = v.pointer(at).and_then(Value::as_f64).unwrap_or_else(|| panic!("no number at {at}: {v:#}"));
    assert!(n.is_finite(), "{at}");
    n
}

#[test]
fn every_command_takes_a_real_panel() {
    let folder = files();
    let job = text(HOLLOW, RASTER).replace("[panel.door]", "[tool.short]\ndrive = \"free\"\nthrow_mm = 8.0\norbit_rate_opm = 4200.0\nbearing = { breakaway_nm = 0.04, viscous_nms = 1.0e-4 }\n[panel.door]");
    let second = job.split("[[step]]").nth(1).unwrap().replace("\"cut\"", "\"other\"").replace("\"long\"", "\"short\"");
    let job = format!("{job}[[step]]{second}");

    let state = on(&folder, &job, &["state", "--json"]).json();
    for key in ["/contact/peak_pressure_pa", "/spin/spin_rpm", "/removal/volume_rate_mm3_s", "/power/friction_w"] {
        number(&state, key);
    }
    // What the pad feels in the middle of a sphere of -3 per metre is that sphere, to the 2 % by which a
    // fit over the pad's radius and a paraboloid differ.
    let stall = number(&state, "/spin/stall_number");
    let patch =
        on(&folder, &job.replacen("edges = \"free\"\n", "", 1).replacen("grid_mm = 5.0", "", 1), &["state", "--json"])
            .json();
    let expected = number(&patch, "/spin/stall_number");
    assert!((stall / expected - 1.0).abs() < 0.02, "{stall} {expected}");
    assert_eq!(state["spin"]["stalled"], patch["spin"]["stalled"]);

    let map = on(&folder, &job, &["map", "--json"]).json();
    for key in [
        "/cut_um/mean",
        "/cut_um/cv",
        "/cut_um/volume_mm3",
        "/panel_cut_um/mean",
        "/sliding_length_m/mean",
        "/coverage_m_per_m2/mean",
        "/dwell_s/mean",
        "/path_time_s",
        "/covered_share",
        "/stalled_share",
        "/stall_number",
        "/peak_pressure_pa",
        "/workable_area_m2",
        "/zones/0/area_share",
        "/zones/0/peak_pressure_pa",
    ] {
        number(&map, key);
    }
    // The rectangle's plan area times what a slope of at most 0.6 adds.
    let area = number(&map, "/workable_area_m2");
    assert!(area > 0.3 * 0.24 && area < 1.2 * 0.3 * 0.24, "{area}");
    // Path length over feed: one raster of 2 passes.
    let time = number(&map, "/path_length_m") / 0.04;
    assert!((number(&map, "/path_time_s") / time - 1.0).abs() < 0.01, "an even feed of 40 mm/s: {time}");

    let plan = on(&folder, &job, &["plan", "--json"]).json();
    assert_eq!(plan["steps"].as_array().unwrap().len(), 2);
    for key in
        ["/steps/0/cut_um/mean", "/steps/0/time_s", "/steps/0/stalled_share", "/steps/1/cut_um/mean", "/totals/time_s"]
    {
        number(&plan, key);
    }
    assert!((number(&plan, "/steps/0/cut_um/mean") / number(&map, "/cut_um/mean") - 1.0).abs() < 1e-12, "one map");
    let curves = on(&folder, &job, &["stall", "--json"]).json();
    assert!(curves.as_object().is_some_and(|o| o.len() > 2));
    let compared = on(&folder, &job, &["compare", "--json"]);
    let shown = compared.json().to_string();
    assert!(shown.contains("\"other\"") && shown.contains("\"cut\""), "{shown}");
    let check = on(&folder, &job, &["check", "--json"]).json();
    assert!(check["values"].as_array().unwrap().iter().any(|v| v["key"] == "panel.door.grid_mm"));
}

#[test]
fn the_cut_comes_back_on_the_mesh_it_came_from() {
    let folder = files();
    let answer = on(&folder, &text(MESH, RASTER), &["map", "--json", "--out", "out"]);
    let json = answer.json();
    let names = names_in(folder.path());
    for name in ["out/cut-map.csv", "out/cut-cut.ply"] {
        assert!(names.contains(name), "{names:?}");
    }
    let given = read_mesh(&folder.path().join("cap.obj"), LengthUnit::Mm).unwrap().mesh;
    let ply = folder.path().join("out/cut-cut.ply");
    let back = read_mesh(&ply, LengthUnit::Mm).unwrap().mesh;
    assert_eq!(back.vertices().len(), given.vertices().len());
    assert_eq!(back.triangles().len(), given.triangles().len());
    for (a, b) in back.vertices().iter().zip(given.vertices()) {
        // Positions are written as 32-bit numbers in mm: 300 mm to 2e-5 mm.
        assert!((0..3).all(|k| (a[k] - b[k]).abs() < 1e-7), "{a:?} {b:?}");
    }
    // The table: a row for each cell on the panel, its cut's area mean near that of the JSON.
    let table = std::fs::read_to_string(folder.path().join("out/cut-map.csv")).unwrap();
    let mut lines = table.lines();
    let head: Vec<&str> = lines.next().unwrap().split(',').collect();
    let column = |name: &str| head.iter().position(|h| *h == name).unwrap();
    let (cut, taped, x) = (column("cut_um"), column("taped"), column("x_mm"));
    let (mut sum, mut rows) = (0.0, 0.0);
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(cells.len(), head.len(), "{line}");
        assert!(cells.iter().all(|c| c.is_empty() || c.parse::<f64>().is_ok_and(f64::is_finite)), "{line}");
        assert_eq!(cells[taped], "0");
        assert!((0.0..=300.0).contains(&cells[x].parse::<f64>().unwrap()));
        sum += cells[cut].parse::<f64>().unwrap();
        rows += 1.0;
    }
    let cells = number(&json, "/grid/nx") * number(&json, "/grid/ny");
    assert!((cells - rows).abs() < 0.5, "all of the rectangle is on the panel: {rows}");
    // 1 %: the mean of the table is by cells, that of the JSON by area on the surface.
    assert!((sum / rows / number(&json, "/panel_cut_um/mean") - 1.0).abs() < 0.01);

    // A panel by formula has no mesh: its nodes are the vertices.
    on(&folder, &text(HOLLOW, RASTER), &["map", "--out", "out"]).code.filter(|c| *c == 0).unwrap();
    let back = read_mesh(&ply, LengthUnit::Mm).unwrap().mesh;
    // 300 and 240 mm in steps of 5 mm, both ends included.
    assert_eq!((back.vertices().len(), back.triangles().len()), (61 * 49, 2 * 60 * 48));
}

#[test]
fn section_times_add_up() {
    let folder = files();
    let panel =
        "shape = \"flat\"\nedges = \"free\"\nsize_mm = [500.0, 300.0]\ngrid_mm = 5.0\nsection_mm = [260.0, 320.0]";
    let json = on(&folder, &text(panel, "pattern = \"crosshatch\""), &["plan", "--json"]).json();
    let entries = json["steps"].as_array().unwrap();
    assert_eq!(entries.len(), 2, "500 mm in sections of 260 mm");
    let sum: f64 = (0..2).map(|i| number(&json, &format!("/steps/{i}/time_s"))).sum();
    let total = number(&json, "/totals/time_s");
    assert!((sum / total - 1.0).abs() < 0.01, "1 %: rounding of nothing but the joints: {sum} {total}");
    for (i, e) in entries.iter().enumerate() {
        assert_eq!(e["section"], i + 1);
        // The two are mirror images.
        let cut = number(e, "/cut_um/mean");
        assert!((cut / number(&entries[0], "/cut_um/mean") - 1.0).abs() < 0.05, "5 %: lines start on other sides");
        assert!(number(e, "/cut_um/lo") <= cut && cut <= number(e, "/cut_um/hi"));
    }
}

#[test]
fn exit_codes_tell_bad_input_from_what_has_no_answer() {
    let folder = files();
    let fails = |job: &str, code: i32, words: &[&str]| {
        for command in ["map", "plan"] {
            let answer = on(&folder, job, &[command, "--json", "--out", "none"]);
            let told = answer.told();
            assert_eq!((answer.code, answer.out.as_str()), (Some(code), ""), "{command}: {told}");
            assert!(!told.contains("panicked"), "{told}");
            for word in words {
                assert!(told.contains(word), "{command} lacks {word:?}: {told}");
            }
            assert!(!names_in(folder.path()).iter().any(|n| n.starts_with("none/")), "nothing half written");
        }
    };
    fails(&text(&MESH.replace("mm\"\nup", "ell\"\nup"), RASTER), 2, &["job.toml:", "panel.door.unit", "mm, cm, m, in"]);
    fails(&text(&MESH.replace("cap.obj", "gone.obj"), RASTER), 2, &["job.toml:", "gone.obj"]);
    // No place keeps so far from the edges: the job is sound, but has no path.
    fails(&text(HOLLOW, "pattern = \"raster\"\ninset_mm = 200.0"), 1, &["step `cut`", "nothing to work", "roomiest"]);
    // Cells too small for any memory.
    let huge = text(
        &HOLLOW
            .replace("[300.0, 240.0]", "[20000.0, 20000.0]")
            .replace("-3.0", "0.01")
            .replace("grid_mm = 5.0", "grid_mm = 50.0"),
        RASTER,
    )
    .replace("cell_mm = 10.0", "cell_mm = 0.05");
    fails(&huge, 2, &["step `cut`"]);
    // A foam that reaches its end on a tight bump, though the mean pressure is far from it.
    let foam =
        "compression = { law = \"measured\", strain = [0.25, 0.40, 0.50, 0.65], stress_kpa = [3.0, 3.8, 5.0, 8.0] }";
    let bump = text(
        "shape = \"cylinder\"\nedges = \"free\"\nsize_mm = [300.0, 240.0]\ncurvature_per_m = 5.0\ngrid_mm = 5.0",
        RASTER,
    )
    .replace("compression = { law = \"linear\", stiffness_kpa_per_mm = 0.9 }", foam)
    .replace("force_n = 35.0", "force_n = 80.0");
    fails(&bump, 1, &["step `cut`", "N"]);
}
