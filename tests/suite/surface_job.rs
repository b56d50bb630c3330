//! Real panels in job files: every key once right and once wrong with its place, and files that are
//! damaged, elsewhere, or lie.

#![cfg(feature = "cli")]

use crate::cli::{Folder, SMALL, edited};
use std::fmt::Write as _;
use std::time::{Duration, Instant};
use trochoid::job::{Job, Problem};

const FLAT: &str = "shape = \"flat\"\nedges = \"free\"\nsize_mm = [400.0, 300.0]";
const CROSS: &str = "pattern = \"crosshatch\"";

/// The small job on another panel, with the step's own lines at the end.
pub(crate) fn text(panel: &str, step: &str) -> String {
    let sphere = "shape = \"sphere\"\ncurvature_per_m = -0.5\nsize_mm = [400.0, 300.0]\n";
    let edits = [
        ("cell_mm = 5.0", "cell_mm = 10.0"),
        (sphere, &format!("{panel}\n\n")),
        ("pattern = \"crosshatch\"\n", &format!("{step}\n")),
    ];
    edited(SMALL, &edits)
}

/// A folder with a height map, a profile, a mesh and a path that are right.
pub(crate) fn files() -> Folder {
    let folder = Folder::new();
    let height = |x: f64, y: f64| -1e-3 * ((x - 150.0).powi(2) + (y - 100.0).powi(2)) / 2.0;
    let (mut map, mut obj) = ("x_mm,y_mm,z_mm\n".to_owned(), String::new());
    let (nx, ny) = (31, 21);
    for j in 0..ny {
        for i in 0..nx {
            let (x, y) = (10.0 * f64::from(i), 10.0 * f64::from(j));
            let _ = writeln!(map, "{x},{y},{}", height(x, y));
            let _ = writeln!(obj, "v {x} {y} {}", height(x, y));
        }
    }
    for j in 0..ny - 1 {
        for i in 0..nx - 1 {
            let at = |i: i32, j: i32| j * nx + i + 1;
            let _ = writeln!(obj, "f {} {} {} {}", at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
        }
    }
    folder.put("heights.csv", map);
    folder.put("cap.obj", obj);
    folder.put("profile.csv", "x_mm,z_mm\n0,0\n100,4\n200,5\n300,4\n400,0\n");
    folder.put("way.csv", "x_mm,y_mm\n100,100\n300,100\n300,200\n");
    folder
}

fn parse(folder: &Folder, text: &str) -> Result<Job, Problem> {
    Job::parse_in("job.toml", text, Some(folder.path()))
}

#[track_caller]
fn right(folder: &Folder, text: &str) -> Job {
    parse(folder, text).unwrap_or_else(|p| panic!("refused:\n{p}\n{text}"))
}

/// A refusal that names the file and the line of `marker`, and holds the words.
#[track_caller]
fn wrong(folder: &Folder, text: &str, marker: &str, words: &[&str]) -> String {
    let start = Instant::now();
    let Err(p) = parse(folder, text) else { panic!("accepted:\n{text}") };
    // A refusal takes milliseconds; machines are busy.
    assert!(start.elapsed() < Duration::from_secs(10), "{:?}", start.elapsed());
    let shown = p.to_string();
    let line = 1 + text[..text.find(marker).unwrap()].matches('\n').count();
    assert!(shown.starts_with(&format!("job.toml:{line}:")), "not line {line}: {shown}");
    for word in words {
        assert!(shown.contains(word), "lacks {word:?}: {shown}");
    }
    shown
}

const TORUS: &str = "shape = \"torus\"\nsize_mm = [400.0, 300.0]\ntube_radius_mm = 400.0\nring_radius_mm = 900.0";
const DOOR: &str =
    "shape = \"crowned_door\"\nsize_mm = [400.0, 300.0]\ncrown_per_m = [0.1, 0.3]\nedge_crown_per_m = 2.0";
const LINE: &str = "shape = \"body_line\"\nsize_mm = [400.0, 300.0]\nline_angle_deg = 14.0\nline_radius_mm = 8.0";
const ARCH: &str = "shape = \"wheel_arch\"\nsize_mm = [700.0, 420.0]\nwheel_radius_mm = 330.0\nwheel_centre_mm = [350.0, -90.0]\nflare_hollow_per_m = 6.0\nflare_lip_per_m = 12.0";
const SINE: &str = "shape = \"sine\"\nsize_mm = [400.0, 300.0]\namplitude_mm = 1.0\nwavelength_mm = 150.0";
const MAP: &str = "shape = \"height_map\"\nfile = \"heights.csv\"";
const PROFILE: &str = "shape = \"profile\"\nfile = \"profile.csv\"\nsweep_mm = 300.0";
const MESH: &str = "shape = \"mesh\"\nfile = \"cap.obj\"\nunit = \"mm\"\nup = \"z\"";
const BENT: &str = "shape = \"cylinder\"\nedges = \"free\"\nsize_mm = [400.0, 300.0]\ncurvature_per_m = 0.5";

/// Panel keys: the panel, the key, a value that is right, one that is wrong, what the refusal says.
const PANEL_KEYS: &[(&str, &str, &str, &str, &[&str])] = &[
    (FLAT, "shape", "\"flat\"", "\"bowl\"", &["flat", "wheel_arch", "mesh"]),
    (FLAT, "edges", "\"free\"", "\"open\"", &["continued", "free"]),
    (FLAT, "size_mm", "[400.0, 300.0]", "[5.0, 300.0]", &["10 ", "mm"]),
    (FLAT, "incline_deg", "90.0", "200.0", &["0 to 180"]),
    (FLAT, "paint", "\"clear\"", "\"none\"", &["clear"]),
    (FLAT, "defects", "[\"swirl_marks\"]", "[\"rust\"]", &["swirl_marks", "stone_chip"]),
    (BENT, "curvature_per_m", "0.5", "90.0", &["1/m"]),
    (BENT, "axis_deg", "30.0", "400.0", &["-360 to 360"]),
    (MAP, "file", "\"heights.csv\"", "\"no.csv\"", &["no.csv"]),
    (MESH, "unit", "\"mm\"", "\"ell\"", &["mm, cm, m, in"]),
    (MESH, "up", "\"z\"", "\"w\"", &["x, -x, y, -y, z, -z, auto"]),
    (PROFILE, "sweep_mm", "300.0", "5.0", &["10 to 20000 mm"]),
    (FLAT, "grid_mm", "4.0", "0.01", &["0.1 to 50 mm"]),
    (TORUS, "tube_radius_mm", "400.0", "5.0", &["20 to 50000"]),
    (TORUS, "ring_radius_mm", "900.0", "5.0", &["20 to 50000"]),
    (TORUS, "torus_side", "\"inner\"", "\"middle\"", &["outer", "inner"]),
    (DOOR, "crown_per_m", "[0.1, 0.3]", "[9.0, 0.3]", &["-5 to 5 1/m"]),
    (DOOR, "edge_crown_per_m", "2.0", "50.0", &["-20 to 20 1/m"]),
    (DOOR, "edge_length_mm", "150.0", "5.0", &["10 to 1000 mm"]),
    (LINE, "line_angle_deg", "14.0", "1.0", &["2 to 140"]),
    (LINE, "line_radius_mm", "8.0", "0.1", &["0.5 to 500 mm"]),
    (LINE, "line_offset_mm", "30.0", "9000.0", &["-5000 to 5000 mm"]),
    (LINE, "line_direction_deg", "10.0", "400.0", &["-360 to 360"]),
    (ARCH, "wheel_radius_mm", "330.0", "50.0", &["100 to 1000 mm"]),
    (ARCH, "wheel_centre_mm", "[350.0, -90.0]", "[350.0, 9000.0]", &["mm"]),
    (ARCH, "flare_hollow_per_m", "6.0", "0.01", &["0.1 to 100 1/m"]),
    (ARCH, "flare_hollow_width_mm", "70.0", "1.0", &["5 to 500 mm"]),
    (ARCH, "flare_lip_per_m", "12.0", "900.0", &["0 to 400 1/m"]),
    (ARCH, "flare_lip_width_mm", "25.0", "0.5", &["2 to 200 mm"]),
    (SINE, "amplitude_mm", "1.0", "0.0", &["0.001 to 200 mm"]),
    (SINE, "wavelength_mm", "150.0", "1.0", &["5 to 10000 mm"]),
    (
        FLAT,
        "holes_mm",
        "[[[100.0, 100.0], [150.0, 100.0], [150.0, 150.0]]]",
        "[[[100.0, 100.0], [999.0, 100.0], [150.0, 150.0]]]",
        &["within the panel"],
    ),
    (
        FLAT,
        "tape_mm",
        "[[[0.0, 0.0], [400.0, 0.0], [400.0, 40.0], [0.0, 40.0]]]",
        "[[[500.0, 0.0], [600.0, 0.0], [600.0, 40.0]]]",
        &["wholly off the panel", "x 0 to 400 mm"],
    ),
    (FLAT, "region_mm", "[[50.0, 50.0], [350.0, 50.0], [350.0, 250.0]]", "[[50.0, 50.0], [350.0, 50.0]]", &["corners"]),
    (FLAT, "section_mm", "[200.0, 150.0]", "[10.0, 150.0]", &["50 to 10000 mm"]),
    (FLAT, "blend_mm", "40.0", "900.0", &["0 to 500 mm"]),
    (FLAT, "edge_thinning", "0.3", "0.99", &["0 to 0.95"]),
    (FLAT, "edge_thinning_mm", "10.0", "0.1", &["0.5 to 200 mm"]),
    (FLAT, "line_thinning", "0.3", "-0.1", &["0 to 0.95"]),
    (FLAT, "line_thinning_mm", "8.0", "900.0", &["0.5 to 200 mm"]),
];

/// Step keys of a real panel, in the same way.
const STEP_KEYS: &[(&str, &str, &str, &str, &[&str])] = &[
    ("", "pattern", "\"edge_first\"", "\"zigzag\"", &["raster", "spiral", "figure_of_eight"]),
    (CROSS, "inset_mm", "40.0", "-1.0", &["mm"]),
    (CROSS, "lead_mm", "30.0", "-5.0", &["mm"]),
    (CROSS, "lead_force_share", "0.5", "0.0", &["0.01 to 10"]),
    (CROSS, "angles_deg", "[0.0, 60.0]", "[0.0, 500.0]", &["-360 to 360"]),
    (CROSS, "last_line", "\"spread\"", "\"spill\"", &["edge_to_edge", "drop", "shift", "spread"]),
    ("pattern = \"file\"", "path_file", "\"way.csv\"", "\"none.csv\"", &["none.csv"]),
    (CROSS, "travel_mm_s", "200.0", "0.1", &["1 to 10000 mm/s"]),
];

/// A table with the line of a key put in the place of its own, or at the end.
fn set(table: &str, key: &str, value: &str) -> String {
    let own = |l: &&str| l.starts_with(&format!("{key} ="));
    let line = format!("{key} = {value}");
    match table.lines().find(own) {
        Some(old) => table.replacen(old, &line, 1),
        None => format!("{table}\n{line}"),
    }
}

#[test]
fn every_key_of_a_real_panel_is_taken_and_refused() {
    let folder = files();
    let paint = "[paint.clear]\nclear_um = 45.0\n";
    for (panel, key, good, bad, words) in PANEL_KEYS {
        let job = |value: &str| {
            text(&set(panel, key, value), CROSS).replacen("[panel.door]", &format!("{paint}[panel.door]"), 1)
        };
        let job_right = right(&folder, &job(good));
        assert!(job_right.steps[0].surface.is_some(), "{key}: a real panel");
        let told = job_right.resolved.iter().any(|r| r.key == format!("panel.door.{key}"));
        assert!(told, "`check` tells {key}");
        let bad_job = job(bad);
        let path = format!("panel.door.{key}");
        let value: &str = if bad.starts_with('[') { &bad[..4] } else { bad };
        wrong(&folder, &bad_job, &format!("{key} = {bad}"), &[&[path.as_str(), value, "allowed"], *words].concat());
        // Infinite numbers, and a table in the place of any value.
        wrong(&folder, &job("{ a = 1 }"), &format!("{key} = {{"), &[path.as_str()]);
        if good.parse::<f64>().is_ok() {
            wrong(&folder, &job("nan"), &format!("{key} = nan"), &[path.as_str(), "nan"]);
        }
    }
}

#[test]
fn every_key_of_a_step_on_a_real_panel_is_taken_and_refused() {
    let folder = files();
    for (step, key, good, bad, words) in STEP_KEYS {
        let job = |value: &str| text(FLAT, &set(step, key, value));
        assert!(right(&folder, &job(good)).steps[0].surface.is_some(), "{key}");
        let path = format!("step.cut.{key}");
        let value: &str = if bad.starts_with('[') { &bad[..4] } else { bad };
        wrong(&folder, &job(bad), &format!("{key} = {bad}"), &[&[path.as_str(), value, "allowed"], *words].concat());
        wrong(&folder, &job("{ a = 1 }"), &format!("{key} = {{"), &[path.as_str()]);
    }
    // A key that only a real panel takes is refused on a plain rectangle.
    let plain = "shape = \"flat\"\nsize_mm = [400.0, 300.0]";
    for (key, value) in
        [("lead_force_share", "0.5"), ("last_line", "\"drop\""), ("travel_mm_s", "100.0"), ("angles_deg", "[0.0]")]
    {
        let job = text(plain, &set(CROSS, key, value));
        wrong(&folder, &job, &format!("{key} ="), &["free edges", "edges = \"free\""]);
    }
    wrong(&folder, &text(plain, "pattern = \"spiral\""), "pattern = ", &["raster, crosshatch"]);
    let both = set(CROSS, "path_file", "\"way.csv\"");
    wrong(&folder, &text(FLAT, &both), "path_file =", &["pattern = \"file\""]);
}

/// The tables above hold every key that the reader knows.
#[test]
fn no_key_is_left_out() {
    let source = include_str!("../../src/job/keys.rs");
    let block = |name: &str| {
        let start = source.find(&format!("static {name}: Kind")).unwrap();
        &source[start..start + source[start..].find("};").unwrap()]
    };
    let keys = |name: &str| -> Vec<String> {
        block(name).split("key(\"").skip(1).map(|k| k.split('"').next().unwrap().to_owned()).collect()
    };
    let panel = keys("PANEL");
    assert!(panel.len() > 30, "{panel:?}");
    // What only a vehicle's plan uses is tested in `vehicle`.
    for key in panel.iter().filter(|k| !["bands", "masking_m"].contains(&k.as_str())) {
        assert!(PANEL_KEYS.iter().any(|k| k.1 == *key), "panel.{key}");
    }
    // What a step takes everywhere is tested beside the reader.
    let plain = [
        "name",
        "tool",
        "pad",
        "product",
        "panel",
        "hold",
        "force_n",
        "hand_force_n",
        "orbit_rate_opm",
        "speed_setting",
        "feed_mm_s",
        "overlap",
        "passes",
        "phase",
        "target_cut_um",
        "drops",
        "turn",
        "lead_feed_mm_s",
    ];
    for key in keys("STEP").iter().filter(|k| !plain.contains(&k.as_str())) {
        assert!(STEP_KEYS.iter().any(|k| k.1 == key), "step.{key}");
    }
}

#[test]
fn keys_of_another_shape_are_refused() {
    let folder = files();
    for (panel, key, value, shape) in [
        (FLAT, "tube_radius_mm", "400.0", "torus"),
        (SINE, "wheel_radius_mm", "330.0", "wheel_arch"),
        (MAP, "sweep_mm", "300.0", "profile"),
        (MAP, "unit", "\"mm\"", "mesh"),
        (LINE, "file", "\"heights.csv\"", "height_map"),
    ] {
        wrong(&folder, &text(&set(panel, key, value), CROSS), &format!("{key} ="), &[key, shape]);
    }
    wrong(
        &folder,
        &text(&set(MAP, "size_mm", "[300.0, 200.0]"), CROSS),
        "size_mm",
        &["brings its own size", "region_mm"],
    );
    wrong(&folder, &text(&set(SINE, "edges", "\"continued\""), CROSS), "edges", &["free edges"]);
    let stray = "shape = \"flat\"\nsize_mm = [400.0, 300.0]\ntape_mm = [[[0.0, 0.0], [9.0, 0.0], [9.0, 9.0]]]";
    wrong(&folder, &text(stray, CROSS), "tape_mm", &["edges = \"free\""]);
    wrong(
        &folder,
        &text("shape = \"mesh\"\nfile = \"cap.obj\"", CROSS),
        "[panel.door]",
        &["unit", "never guessed", "mm, cm, m, in"],
    );
    wrong(&folder, &text("shape = \"mesh\"\nunit = \"mm\"", CROSS), "[panel.door]", &["file"]);
}

#[test]
fn masks_that_leave_nothing_are_refused() {
    let folder = files();
    let all = "[[-10.0, -10.0], [410.0, -10.0], [410.0, 310.0], [-10.0, 310.0]]";
    wrong(
        &folder,
        &text(&set(FLAT, "tape_mm", &format!("[{all}]")), CROSS),
        "tape_mm =",
        &["leaves nothing", "panel.door.tape_mm"],
    );
    let off = "[[500.0, 0.0], [600.0, 0.0], [600.0, 90.0]]";
    wrong(
        &folder,
        &text(&set(FLAT, "region_mm", off), CROSS),
        "region_mm =",
        &["wholly off the panel", "y 0 to 300 mm"],
    );
    // Tape and region that together leave nothing.
    let left = "[[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0]]";
    let both =
        set(&set(FLAT, "tape_mm", &format!("[{left}]")), "region_mm", "[[20.0, 20.0], [150.0, 20.0], [150.0, 200.0]]");
    wrong(&folder, &text(&both, CROSS), "region_mm =", &["leaves nothing"]);
    // A polygon that is none.
    for bad in [
        "[[0.0, 0.0], [nan, 0.0], [9.0, 9.0]]",
        "[[0.0, 0.0], [1.0e9, 0.0], [9.0, 9.0]]",
        "[[0.0, 0.0], [9.0], [9.0, 9.0]]",
    ] {
        for key in ["tape_mm", "holes_mm"] {
            let job = text(&set(FLAT, key, &format!("[{bad}]")), CROSS);
            wrong(&folder, &job, &format!("{key} ="), &[&format!("panel.door.{key}"), "allowed"]);
        }
        wrong(&folder, &text(&set(FLAT, "region_mm", bad), CROSS), "region_mm =", &["panel.door.region_mm", "allowed"]);
    }
    // Too much of it.
    let corner = "[1.0, 1.0],".repeat(1001);
    wrong(&folder, &text(&set(FLAT, "region_mm", &format!("[{corner}]")), CROSS), "region_mm =", &["3 to 1000"]);
    let polygon = "[[0.0, 0.0], [9.0, 0.0], [9.0, 9.0]],".repeat(201);
    wrong(&folder, &text(&set(FLAT, "tape_mm", &format!("[{polygon}]")), CROSS), "tape_mm =", &["at most 200"]);
}

#[test]
fn files_outside_the_folder_are_refused() {
    let folder = files();
    for name in ["../heights.csv", "/etc/hostname", "a/../../heights.csv", "", "  "] {
        let panel = set(MAP, "file", &format!("\"{name}\""));
        wrong(&folder, &text(&panel, CROSS), "file =", &["panel.door.file", "folder"]);
        let step = format!("pattern = \"file\"\npath_file = \"{name}\"");
        wrong(&folder, &text(FLAT, &step), "path_file =", &["step.cut.path_file", "folder"]);
    }
    // A folder is no file; a job without a folder reads none.
    std::fs::create_dir(folder.path().join("sub.csv")).unwrap();
    wrong(&folder, &text(&set(MAP, "file", "\"sub.csv\""), CROSS), "file =", &["sub.csv"]);
    let Err(p) = Job::parse("job.toml", &text(MAP, CROSS)) else { panic!("accepted") };
    assert!(p.to_string().contains("no folder"), "{p}");
    // One below the job's folder is right.
    std::fs::create_dir(folder.path().join("below")).unwrap();
    std::fs::copy(folder.path().join("heights.csv"), folder.path().join("below/h.csv")).unwrap();
    right(&folder, &text(&set(MAP, "file", "\"below/h.csv\""), CROSS));
}

fn binary_stl(claimed: u32, corners: &[[f32; 3]]) -> Vec<u8> {
    let mut out = vec![b' '; 80];
    out.extend(claimed.to_le_bytes());
    for t in corners.chunks(3) {
        out.extend([0_u8; 12]);
        out.extend(t.iter().flatten().flat_map(|c| c.to_le_bytes()));
        out.extend([0_u8; 2]);
    }
    out
}

#[test]
fn damaged_meshes_are_told_by_file_and_place() {
    let folder = files();
    let square = [
        [0.0, 0.0, 0.0],
        [300.0, 0.0, 0.0],
        [300.0, 200.0, 0.0],
        [0.0, 0.0, 0.0],
        [300.0, 200.0, 0.0],
        [0.0, 200.0, 0.0],
    ];
    folder.put("right.stl", binary_stl(2, &square));
    right(&folder, &text("shape = \"mesh\"\nfile = \"right.stl\"\nunit = \"mm\"", CROSS));
    let nan = [[0.0, 0.0, f32::NAN], square[1], square[2]];
    let line = |n: usize| [[0.0, 0.0, 0.0], [100.0 * n as f32, 0.0, 0.0], [300.0, 0.0, 0.0]];
    let ply = |claimed: usize, body: &str| {
        format!(
            "ply\nformat ascii 1.0\nelement vertex {claimed}\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n{body}"
        )
    };
    let corners = "0 0 0\n300 0 0\n300 200 0\n";
    let bad: Vec<(&str, Vec<u8>, &[&str])> = vec![
        ("short.stl", binary_stl(10, &square), &["short.stl", "10 triangles", "hold 2"]),
        ("cut.stl", binary_stl(2, &square)[..150].to_vec(), &["cut.stl", "a part of one"]),
        // A claim of 10^9 in a file of 184 bytes: nothing is allocated for it.
        ("lie.stl", binary_stl(1_000_000_000, &square), &["lie.stl", "1000000000 triangles", "hold 2"]),
        ("nan.stl", binary_stl(1, &nan), &["nan.stl", "triangle 0", "NaN"]),
        ("tiny.stl", b"abc".to_vec(), &["tiny.stl", "at least 84 bytes"]),
        ("empty.stl", Vec::new(), &["empty.stl", "empty"]),
        (
            "text.stl",
            b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 zero 0\n".to_vec(),
            &["text.stl", "line 4", "zero"],
        ),
        ("torn.stl", b"solid a\nfacet normal 0 0 1\nouter loop\n".to_vec(), &["torn.stl", "ends within a solid"]),
        ("noise.obj", b"v 0 0\nf 1 2 3\n".to_vec(), &["noise.obj", "line 1"]),
        ("far.obj", b"v 0 0 0\nv 300 0 0\nv 0 200 0\nf 1 2 9\n".to_vec(), &["far.obj", "line 4", "9"]),
        ("inf.obj", b"v 0 0 inf\nv 300 0 0\nv 0 200 0\nf 1 2 3\n".to_vec(), &["inf.obj", "line 1", "inf"]),
        ("cut.ply", ply(4, corners).into_bytes(), &["cut.ply"]),
        ("lie.ply", ply(1_000_000_000, corners).into_bytes(), &["lie.ply", "1000000000"]),
        ("nan.ply", ply(3, "0 0 nan\n300 0 0\n300 200 0\n3 0 1 2\n").into_bytes(), &["nan.ply"]),
        ("noise.ply", b"ply\nformat ascii 1.0\nelement".to_vec(), &["noise.ply", "end_header"]),
        ("other.obj", ply(3, &format!("{corners}3 0 1 2\n")).into_bytes(), &["other.obj", "PLY"]),
        ("flat.stl", binary_stl(2, &[line(1), line(2)].concat()), &["cannot be worked"]),
        ("name.txt", b"x".to_vec(), &["name.txt", ".stl, .obj or .ply"]),
    ];
    for (name, bytes, words) in bad {
        folder.put(name, bytes);
        let job = text(&format!("shape = \"mesh\"\nfile = \"{name}\"\nunit = \"mm\""), CROSS);
        wrong(&folder, &job, "file =", &[&["panel.door.file"], words].concat());
    }
    // Bytes that never were a mesh, whatever the name says.
    for end in ["stl", "obj", "ply"] {
        let noise: Vec<u8> = (0..4000_u32).map(|i| i.wrapping_mul(2_654_435_761).to_le_bytes()[2]).collect();
        folder.put(&format!("noise.{end}"), noise);
        let job = text(&format!("shape = \"mesh\"\nfile = \"noise.{end}\"\nunit = \"mm\""), CROSS);
        wrong(&folder, &job, "file =", &["noise."]);
    }
}

#[test]
fn a_size_that_no_panel_has_is_flagged() {
    let folder = files();
    // A door of 1.2 m in millimetres, read as metres: beyond what any mesh may be, refused.
    let door = |x: f64, y: f64| format!("v 0 0 0\nv {x} 0 0\nv {x} {y} 0\nv 0 {y} 0\nf 1 2 3 4\n");
    folder.put("door.obj", door(2000.0, 1500.0));
    let as_unit =
        |unit: &str| text(&format!("shape = \"mesh\"\nfile = \"door.obj\"\nunit = \"{unit}\"\ngrid_mm = 20.0"), CROSS);
    let told = wrong(&folder, &as_unit("m"), "file =", &["2000", "±1000 m"]);
    assert!(told.contains("door.obj"), "{told}");
    // As centimetres it is 20 m long, which no panel is: worked, and said.
    let job = right(&folder, &as_unit("cm"));
    assert!(job.warnings.iter().any(|w| w.contains("unit")), "{:?}", job.warnings);
    // As millimetres there is nothing to say of its size; as inches, 50 m.
    assert!(!right(&folder, &as_unit("mm")).warnings.iter().any(|w| w.contains("unit")));
}

#[test]
fn damaged_tables_are_told_by_line_and_column() {
    let folder = files();
    let maps: &[(&str, &[&str])] = &[
        ("", &["empty"]),
        ("1,2,3\n4,5,6\n", &["line 1"]),
        ("x,y,z\n0,0,0\n", &["line 1", "no unit", "x_mm,y_mm,z_mm"]),
        ("x_mm,y_mm,z_mm\n0,0,0\n10,0,nan\n", &["line 3", "column 3"]),
        ("x_mm,y_mm,z_mm\n0,0,0\n10,zero,0\n", &["line 3", "column 2", "zero"]),
        ("x_mm,y_mm,z_mm\n0,0,0\n10,0\n", &["line 3", "2 column(s)"]),
        ("x_mm,y_mm,z_mm\n0,0,0\n10,0,0\n17,0,0\n0,10,0\n10,10,0\n", &["job.toml"]),
        ("x_mm,y_mm,z_mm\n0,0,0\n10,0,0\n20,0,0\n0,10,0\n10,20,0\n0,0,1\n", &["line 7", "line 2 already"]),
        ("x_mm,y_mm,z_mm\n0,0,0\n10,10,0\n2e6,2e6,0\n", &["line 4", "column 1", "2e6"]),
        // Three rows that ask for 8 000 000 000 nodes.
        ("x_mm,y_mm,z_mm\n0,0,0\n10,10,0\n900000,900000,0\n", &["90001 x 90001", "at most"]),
        ("x_mm,y_mm,z_mm\n0,0,0\n", &["3 or more places"]),
        ("\u{0}\u{1}\u{2}", &["binary"]),
    ];
    for (content, words) in maps {
        folder.put("bad.csv", content);
        let job = text("shape = \"height_map\"\nfile = \"bad.csv\"", CROSS);
        wrong(&folder, &job, "file =", &[&["panel.door.file", "bad.csv"], *words].concat());
    }
    let profiles: &[(&str, &[&str])] = &[
        ("x_mm,z_mm\n0,0\n100,4\n50,5\n", &["line 4", "rises"]),
        ("x_mm,z_mm\n0,0\n100,4\n", &["3 or more"]),
        ("x_mm,z_mm\n0,0\n100,inf\n200,0\n", &["line 3", "inf"]),
        ("x_mm,y_mm,z_mm\n0,0,0\n", &["line 1", "y_mm"]),
    ];
    for (content, words) in profiles {
        folder.put("bad.csv", content);
        let job = text("shape = \"profile\"\nfile = \"bad.csv\"\nsweep_mm = 300.0", CROSS);
        wrong(&folder, &job, "file =", &[&["panel.door.file", "bad.csv"], *words].concat());
    }
}

#[test]
fn a_path_that_cannot_be_led_names_its_line() {
    let folder = files();
    for (content, words) in [
        ("x_mm,y_mm\n100,100\n100,900\n", &["bad.csv:3", "panel"][..]),
        ("x_mm,y_mm\n-50,100\n100,100\n", &["bad.csv:2"]),
        ("x_mm,y_mm\n100,100\n", &["bad.csv"]),
        ("x_mm,y_mm\n100,100\n100,nan\n", &["bad.csv:3", "y_mm", "nan"]),
        ("x_mm,y_mm,force_n\n100,100,35\n200,100,-3\n", &["bad.csv:3", "force_n", "-3"]),
        ("x_mm,y_mm,pass\n100,100,2\n200,100,1\n", &["bad.csv:3", "pass"]),
        ("time_s,x_mm,y_mm\n0,100,100\n0,200,100\n", &["bad.csv:3", "time_s", "rise"]),
        ("time_s,x_mm,y_mm\n0,100,100\n0.001,300,100\n", &["bad.csv:3", "10 m/s"]),
        ("x,y\n100,100\n200,100\n", &["bad.csv:1"]),
        ("", &["bad.csv"]),
    ] {
        folder.put("bad.csv", content);
        let job = text(FLAT, "pattern = \"file\"\npath_file = \"bad.csv\"");
        wrong(&folder, &job, "path_file =", &[&["step.cut.path_file"], words].concat());
    }
    // A way across a hole leaves the panel, though both its ends stand on it.
    let holed = set(FLAT, "holes_mm", "[[[180.0, 80.0], [220.0, 80.0], [220.0, 120.0], [180.0, 120.0]]]");
    folder.put("bad.csv", "x_mm,y_mm\n100,100\n300,100\n");
    let job = text(&holed, "pattern = \"file\"\npath_file = \"bad.csv\"");
    wrong(&folder, &job, "path_file =", &["bad.csv:3", "leaves the panel"]);
    folder.put("bad.csv", [0xff, 0xfe, 0x00]);
    wrong(&folder, &job, "path_file =", &["not UTF-8"]);
}
