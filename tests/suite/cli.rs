//! The commands as a user runs them: the binary, its files, its exit codes. Also the runner that the
//! other end-to-end tests share.
//!
//! What a command prints in detail is the business of `contract` and `golden`, what it refuses that
//! of `bad_input`.

#![cfg(feature = "cli")]

use serde_json::Value;
use std::collections::BTreeSet;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// The demonstration job, from the package's folder.
pub(crate) const DEMO: &str = "examples/jobs/demo.toml";

/// A job with nothing in it that could be left out, but for a coarse map.
pub(crate) const SMALL: &str = r#"schema = 1
[map]
cell_mm = 5.0
[tool.long]
drive = "free"
throw_mm = 12.0
orbit_rate_opm = 4200.0
bearing = { breakaway_nm = 0.04, viscous_nms = 1.0e-4 }
[pad.wide]
diameter_mm = 130.0
thickness_mm = 25.0
compression = { law = "linear", stiffness_kpa_per_mm = 0.9 }
[product.compound]
friction = 0.35
preston_per_pa = 2.0e-11
[panel.door]
shape = "sphere"
curvature_per_m = -0.5
size_mm = [400.0, 300.0]
[[step]]
name = "cut"
tool = "long"
pad = "wide"
product = "compound"
panel = "door"
force_n = 35.0
feed_mm_s = 40.0
overlap = 0.5
passes = 2
pattern = "crosshatch"
"#;

/// `text` with every pair (from, to) replaced once; each `from` must be there.
pub(crate) fn edited(text: &str, edits: &[(&str, &str)]) -> String {
    edits.iter().fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "no {from:?} in the job");
        text.replacen(from, to, 1)
    })
}

/// A folder of its own for one test, removed at the end.
pub(crate) struct Folder(PathBuf);

static FOLDERS: AtomicUsize = AtomicUsize::new(0);

impl Folder {
    pub(crate) fn new() -> Self {
        let name = format!("run-{}-{}", std::process::id(), FOLDERS.fetch_add(1, Ordering::Relaxed));
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub(crate) fn path(&self) -> &Path {
        &self.0
    }

    /// Writes a file into it.
    pub(crate) fn put(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.0.join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Names of everything in a folder, hidden files and files of folders included, sorted.
pub(crate) fn names_in(folder: &Path) -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    let mut open = vec![folder.to_owned()];
    while let Some(at) = open.pop() {
        for entry in std::fs::read_dir(&at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path.clone());
            }
            out.insert(path.strip_prefix(folder).unwrap().to_string_lossy().replace('\\', "/"));
        }
    }
    out
}

/// No temporary file was left: every name is a plain one with a known ending.
pub(crate) fn no_leftovers(names: &BTreeSet<String>) {
    for name in names {
        let known = ["json", "txt", "csv", "svg", "png", "html"].contains(&name.rsplit('.').next().unwrap());
        assert!(known && !name.starts_with('.'), "{name} was left");
    }
}

/// What a run answered.
#[derive(Debug)]
pub(crate) struct Answer {
    /// Exit code; `None` when a signal ended it.
    pub(crate) code: Option<i32>,
    /// Standard output.
    pub(crate) out: String,
    /// Standard error.
    pub(crate) err: String,
    /// How long it took.
    pub(crate) time: Duration,
}

impl Answer {
    /// Standard error as one line: the report's frame and its line breaks taken out.
    pub(crate) fn told(&self) -> String {
        let plain: String = self.err.chars().map(|c| if c == '│' { ' ' } else { c }).collect();
        plain.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The one JSON object on standard output, after a success.
    pub(crate) fn json(&self) -> Value {
        assert_eq!(self.code, Some(0), "{}", self.err);
        // Refuses anything before or after the first value.
        let value: Value = serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("{e}:\n{}", self.out));
        assert!(value.is_object(), "one object");
        value
    }
}

/// The binary with its arguments, run in `folder`.
pub(crate) fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_trochoid"));
    command.current_dir(folder).args(arguments).stdin(Stdio::null());
    command
}

/// Reads a stream to its end beside the run, so that a full pipe cannot stop it.
fn drain(mut stream: impl Read + Send + 'static) -> std::thread::JoinHandle<String> {
    std::thread::spawn(move || {
        let mut bytes = Vec::new();
        let _ = stream.read_to_end(&mut bytes);
        String::from_utf8_lossy(&bytes).into_owned()
    })
}

/// Waits for a run to end; one that takes longer than `limit` has hung and is ended.
pub(crate) fn finish(mut child: Child, limit: Duration) -> Answer {
    let start = Instant::now();
    let out = child.stdout.take().map(drain);
    let err = child.stderr.take().map(drain);
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if start.elapsed() > limit {
            let _ = child.kill();
            let _ = child.wait();
            panic!("still running after {limit:?}");
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let text = |t: Option<std::thread::JoinHandle<String>>| t.map_or_else(String::new, |t| t.join().unwrap());
    Answer { code: status.code(), out: text(out), err: text(err), time: start.elapsed() }
}

/// Longest that any run here may take: a hundred times what a slow machine needs.
const PATIENCE: Duration = Duration::from_secs(120);

/// Runs the binary in `folder`.
pub(crate) fn run_in(folder: &Path, arguments: &[&str]) -> Answer {
    finish(command(folder, arguments).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap(), PATIENCE)
}

/// Runs the binary in the package's folder.
pub(crate) fn run(arguments: &[&str]) -> Answer {
    run_in(Path::new(env!("CARGO_MANIFEST_DIR")), arguments)
}

/// Runs a command on a job given as text: `["state", "--json"]`.
pub(crate) fn run_on(text: &str, arguments: &[&str]) -> Answer {
    let folder = Folder::new();
    folder.put("job.toml", text);
    let (command, options) = arguments.split_first().unwrap();
    run_in(folder.path(), &[&[*command, "job.toml"], options].concat())
}

#[test]
fn the_starter_is_written_once_and_only_once() {
    let folder = Folder::new();
    let first = run_in(folder.path(), &["init", "mine.toml"]);
    assert_eq!((first.code, first.out.as_str()), (Some(0), ""), "{}", first.err);
    assert!(first.err.contains("mine.toml"), "{}", first.err);
    assert_eq!(std::fs::read_to_string(folder.path().join("mine.toml")).unwrap(), trochoid::job::STARTER);

    folder.put("mine.toml", "my own work");
    let second = run_in(folder.path(), &["init", "mine.toml"]);
    assert_eq!((second.code, second.out.as_str()), (Some(2), ""));
    assert!(second.err.contains("mine.toml is there already") && second.err.contains("--force"), "{}", second.err);
    assert_eq!(std::fs::read_to_string(folder.path().join("mine.toml")).unwrap(), "my own work");

    let forced = run_in(folder.path(), &["init", "mine.toml", "--force"]);
    assert_eq!(forced.code, Some(0), "{}", forced.err);
    assert_eq!(std::fs::read_to_string(folder.path().join("mine.toml")).unwrap(), trochoid::job::STARTER);
    // Without a name it is job.toml; a folder that is not there is no place for it.
    assert_eq!(run_in(folder.path(), &["init"]).code, Some(0));
    let nowhere = run_in(folder.path(), &["init", "none/job.toml"]);
    assert_eq!(nowhere.code, Some(1));
    assert!(nowhere.err.contains("none/job.toml"), "{}", nowhere.err);
    assert_eq!(names_in(folder.path()).into_iter().collect::<Vec<_>>(), ["job.toml", "mine.toml"]);
}

/// A value of `check --json`: its first number.
fn checked(values: &[Value], key: &str) -> f64 {
    let of = values.iter().find(|v| v["key"] == key).unwrap_or_else(|| panic!("{key} is listed"));
    of["value"].as_str().unwrap().split(' ').next().unwrap().parse().unwrap()
}

#[test]
fn the_starter_runs_and_lies_inside_the_bands_of_the_trade() {
    let folder = Folder::new();
    assert_eq!(run_in(folder.path(), &["init"]).code, Some(0));
    let check = run_in(folder.path(), &["check", "job.toml", "--json"]).json();
    let values = check["values"].as_array().unwrap();
    let plan = run_in(folder.path(), &["plan", "job.toml", "--json"]).json();
    let steps = plan["steps"].as_array().unwrap();
    assert_eq!(steps.len(), 2, "cut and refine");

    // Bands from the trade: common practice, sources disagree.
    let within = |what: &str, value: f64, low: f64, high: f64| {
        assert!((low..=high).contains(&value), "{what} = {value}, band {low} to {high}");
    };
    within("clear coat, µm", checked(values, "paint.clear.clear_um"), 30.0, 60.0);
    for step in steps {
        let name = step["step"].as_str().unwrap();
        let key = |k: &str| format!("step.{name}.{k}");
        within("feed, mm/s", checked(values, &key("feed_mm_s")), 25.0, 50.0);
        within("overlap, about half", checked(values, &key("overlap")), 0.4, 0.6);
        within("passes", step["passes"].as_f64().unwrap(), 2.0, 4.0);
        within("turns a second, working", step["spin_rpm"].as_f64().unwrap() / 60.0, 1.0, 2.0);
        assert_eq!(step["stalled"], false, "{name}");
        let panel = step["panel"].as_str().unwrap();
        let size = values.iter().find(|v| v["key"] == format!("panel.{panel}.size_mm")).unwrap();
        for side in size["value"].as_str().unwrap().trim_matches(|c| "[] m".contains(c)).split(", ") {
            within("side of a section, mm", side.trim_end_matches(']').parse().unwrap(), 400.0, 460.0);
        }
        assert!(step["binding_limit"]["margin"].as_f64().unwrap() > 0.0, "no limit is passed");
    }
    let mean = |i: usize| steps[i]["cut_um"]["mean"].as_f64().unwrap();
    within("a medium cut, µm", mean(0), 2.0, 4.0);
    within("a light cut, µm", mean(1), 1.0, 2.0);
    assert!(mean(1) <= mean(0) / 3.0, "a finishing step removes at most about a third: {} of {}", mean(1), mean(0));
}

#[test]
fn check_lists_every_default_with_its_source_and_grade() {
    // Three jobs that between them leave out every key that has a default.
    let plain = SMALL.to_owned();
    let optional = edited(
        SMALL,
        &[
            ("[map]\ncell_mm = 5.0\n", ""),
            (
                "orbit_rate_opm = 4200.0\n",
                "orbit_rate_opm = 4200.0\nmotor = { rated_power_w = 500.0 }\nspeed_settings = [[1, 2000.0], [6, 5000.0]]\ncounted_spin = { turns = 20.0, seconds = 10.0, force_n = 35.0, pad = \"wide\", product = \"compound\" }\n",
            ),
            (
                "thickness_mm = 25.0\n",
                "thickness_mm = 25.0\ninterface = { thickness_mm = 10.0, stiffness_kpa_per_mm = 0.8 }\n",
            ),
            ("[panel.door]\n", "[paint.clear]\n[pairing.one]\npad = \"wide\"\nproduct = \"compound\"\n[panel.door]\n"),
            ("panel = \"door\"\n", "panel = \"door\"\nhold = { kind = \"tilted\", y_deg = 0.5 }\n"),
        ],
    );
    let other_tilt =
        edited(SMALL, &[("panel = \"door\"\n", "panel = \"door\"\nhold = { kind = \"tilted\", x_deg = 0.5 }\n")]);
    let mut seen = BTreeSet::new();
    for text in [&plain, &optional, &other_tilt] {
        let check = run_on(text, &["check", "--json"]).json();
        let printed = run_on(text, &["check"]);
        assert_eq!(printed.code, Some(0), "{}", printed.err);
        for v in check["values"].as_array().unwrap() {
            let key = v["key"].as_str().unwrap();
            let (value, source) = (v["value"].as_str().unwrap(), v["source"].as_str().unwrap());
            assert!(!value.is_empty() && !source.is_empty(), "{key}");
            let row = printed.out.lines().find(|l| l.split_whitespace().next() == Some(key));
            let row = row.unwrap_or_else(|| panic!("no row of {key}"));
            assert!(row.contains(value) && row.contains(source), "{row}");
            if v["default"] == true {
                let grade = v["grade"].as_str().unwrap_or_else(|| panic!("{key} has no grade"));
                assert!(["measured", "standard", "derived", "assumed"].contains(&grade), "{key}: {grade}");
                assert!(row.contains("default") && row.contains(grade), "{row}");
                // `pad.wide.loss_factor` is the default `pad.loss_factor`.
                let mut parts: Vec<&str> = key.split('.').collect();
                if ["tool", "pad", "product", "paint", "pairing", "panel", "step"].contains(&parts[0]) {
                    parts.remove(1);
                }
                seen.insert(parts.join("."));
            }
        }
    }
    let missing: Vec<_> =
        trochoid::equipment::defaults::TABLE.iter().map(|d| d.key).filter(|k| !seen.contains(*k)).collect();
    assert!(missing.is_empty(), "defaults that check does not list: {missing:?}\nlisted: {seen:?}");
    // A plan states the same defaults as its assumptions.
    let check = run_on(&plain, &["check", "--json"]).json();
    let plan = run_on(&plain, &["plan", "--json"]).json();
    let keys = |list: &Value, only_defaults: bool| -> Vec<String> {
        let list = list.as_array().unwrap().iter();
        list.filter(|v| !only_defaults || v["default"] == true).map(|v| v["key"].as_str().unwrap().to_owned()).collect()
    };
    assert_eq!(keys(&plan["assumptions"], false), keys(&check["values"], true));
}

#[test]
fn verify_passes_and_says_what_it_compared() {
    let json = run(&["verify", "--json"]);
    let value: Value = serde_json::from_str(&json.out).unwrap();
    let checks = value["checks"].as_array().unwrap();
    assert!(checks.len() >= 40, "{} checks", checks.len());
    for c in checks {
        for text in ["group", "check", "source", "unit"] {
            assert!(c[text].is_string() && (text == "unit" || c[text] != ""), "{text} of {c}");
        }
        let (expected, got, tolerance) = (c["expected"].as_f64(), c["got"].as_f64(), c["tolerance"].as_f64());
        let (Some(expected), Some(got), Some(tolerance)) = (expected, got, tolerance) else {
            panic!("a number lacks: {c}")
        };
        assert!(tolerance > 0.0 && tolerance < 0.1 * expected.abs().max(1.0), "a check that can fail: {c}");
        assert!((got - expected).abs() <= tolerance && c["passed"] == true, "{c}");
    }
    assert_eq!(value["failed"], 0);
    assert_eq!(value["passed"].as_u64().unwrap(), checks.len() as u64);
    assert_eq!(json.code, Some(0), "{}", json.err);
    let text = run(&["verify"]);
    assert_eq!(text.code, Some(0), "{}", text.err);
    assert_eq!(text.out.lines().filter(|l| l.trim_start().starts_with("pass ")).count(), checks.len());
    assert!(text.out.ends_with(&format!("{} checks passed, 0 failed\n", checks.len())));
}

#[test]
fn stall_gives_a_curve_for_every_sweep() {
    let folder = Folder::new();
    folder.put(
        "job.toml",
        edited(
            SMALL,
            &[("orbit_rate_opm = 4200.0\n", "orbit_rate_opm = 4200.0\norbit_rate_range_opm = [2500.0, 5500.0]\n")],
        ),
    );
    let answer = run_in(folder.path(), &["stall", "job.toml", "--json", "--out", "curves"]);
    let v = answer.json();
    let state = run_in(folder.path(), &["state", "job.toml", "--json"]).json();
    assert_eq!((&v["step"], &v["panel"]), (&state["step"], &state["panel"]));
    assert_eq!(v["panel_curvature_per_m"], serde_json::json!([-0.5, -0.5]));
    assert!((v["useful_spin_rpm"].as_f64().unwrap() - 60.0).abs() < 1e-9, "the documented default, but for rounding");
    let own = v["stall_curvature_along_panel_ratio_per_m"].as_f64().unwrap();
    let told = state["spin"]["stall_curvature_along_panel_per_m"].as_f64().unwrap();
    assert!((own - told).abs() < 1e-6 * told.abs(), "a crossing is found to 1e-9 and refined once: {own} {told}");
    let sweeps = v["sweeps"].as_object().unwrap();
    let keys: Vec<_> = sweeps.keys().map(String::as_str).collect();
    assert_eq!(keys, ["orbit_rate_opm", "force_n", "throw_mm", "pad_diameter_mm", "pad_thickness_mm"]);
    for (key, sweep) in sweeps {
        let values: Vec<f64> = sweep["values"].as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect();
        assert!(values.len() >= 10 && values.windows(2).all(|w| w[0] < w[1]), "{key}: {values:?}");
        let curves = sweep["curves"].as_array().unwrap();
        assert!(curves.len() >= 3, "{key}: the set-up and its range of the drag");
        for c in curves {
            assert!(c["force_n"].as_f64().unwrap() > 0.0 && c["drag_factor"].as_f64().unwrap() > 0.0);
            let k = c["stall_curvature_per_m"].as_array().unwrap();
            assert_eq!(k.len(), values.len(), "{key}");
            assert!(k.iter().all(|x| x.is_null() || x.as_f64().is_some_and(|x| x.abs() <= 20.0)), "{key}: {k:?}");
        }
        let csv = std::fs::read_to_string(folder.path().join(format!("curves/cut-stall-{key}.csv"))).unwrap();
        assert!(csv.starts_with(&format!("{key},stall_curvature_per_m")), "{}", csv.lines().next().unwrap());
        assert_eq!(csv.lines().count(), values.len() + 1, "{key}");
    }
    // Where a stall curvature is there at the set-up's own rate, it is the one that state tells.
    let own_rate = &sweeps["orbit_rate_opm"];
    assert!(own_rate["values"].as_array().unwrap().iter().any(|x| x.as_f64().unwrap() <= 4200.0));
    // Only free drives stall.
    let geared = edited(
        SMALL,
        &[
            ("\"free\"", "\"geared\"\nspin_per_orbit = 0.1"),
            ("bearing = { breakaway_nm = 0.04, viscous_nms = 1.0e-4 }\n", ""),
        ],
    );
    let refused = run_on(&geared, &["stall", "--json"]);
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    assert!(refused.err.contains("not free"), "{}", refused.err);
}

#[test]
fn stall_passes_over_driven_steps_and_says_so() {
    let folder = Folder::new();
    // A second tool, driven, and its step before the free one.
    let (before, step) = SMALL.split_once("[[step]]").unwrap();
    let driven = edited(step, &[("\"cut\"", "\"driven\""), ("\"long\"", "\"geared\"")]);
    let tool = "[tool.geared]\ndrive = \"geared\"\nthrow_mm = 8.0\norbit_rate_opm = 4800.0\nspin_per_orbit = 0.1\n";
    folder.put("job.toml", format!("{before}{tool}[[step]]{driven}[[step]]{step}"));
    let told = |err: &str| err.contains("note: step `driven`: the drive of tool `geared` is not free");
    let text = run_in(folder.path(), &["stall", "job.toml"]);
    assert_eq!(text.code, Some(0), "{}", text.err);
    assert!(told(&text.err) && text.out.starts_with("step `cut` "), "{} {}", text.err, text.out);
    let json = run_in(folder.path(), &["stall", "job.toml", "--json"]);
    assert_eq!(json.json()["step"], "cut");
    assert!(told(&json.err), "{}", json.err);
    // Asked for by its name it cannot be answered; the free one can, without a note.
    let named = |name: &str| run_in(folder.path(), &["stall", "job.toml", "--step", name]);
    let refused = named("driven");
    assert_eq!((refused.code, refused.out.as_str()), (Some(1), ""));
    assert!(refused.err.starts_with("error: job.toml: step `driven`"), "{}", refused.err);
    assert_eq!((named("cut").code, named("cut").err.contains("driven")), (Some(0), false));
}

#[test]
fn a_count_that_no_drag_explains_is_bad_input() {
    // Faster than the orbit of 70 turns a second.
    let count = "orbit_rate_opm = 4200.0\ncounted_spin = { turns = 80.0, seconds = 1.0, force_n = 35.0, pad = \"wide\", product = \"compound\" }\n";
    let refused = run_on(&edited(SMALL, &[("orbit_rate_opm = 4200.0\n", count)]), &["state"]);
    assert_eq!((refused.code, refused.out.as_str()), (Some(2), ""), "{}", refused.err);
    assert!(refused.err.starts_with("error: job.toml: tool `long`: counted spin: "), "{}", refused.err);
}

#[test]
fn map_says_what_falls_on_the_panel() {
    let v = run_on(SMALL, &["map", "--json"]).json();
    let (all, past) = (v["cut_um"]["volume_mm3"].as_f64().unwrap(), v["spill_mm3"].as_f64().unwrap());
    assert!(past > 0.05 * all && past < 0.5 * all, "the rim runs past the edges: {past} of {all}");
    let text = run_on(SMALL, &["map"]);
    let line = text.out.lines().find(|l| l.contains("could remove")).unwrap();
    let words: Vec<f64> = line.split([' ', ';']).filter_map(|w| w.parse().ok()).collect();
    // Three digits are printed.
    assert!((words[0] - all).abs() <= 0.5 && (words[1] - (all - past)).abs() <= 0.5, "{line}: {all} {past}");
    assert!(line.contains("falls on the panel, the rest past its edges"), "{line}");
    // Where the pad all but stands, the mean cut is not all there is to say.
    let warned = |text: &str| run_on(text, &["map"]).out.contains("leaves marks that this figure does not show");
    assert!(!warned(SMALL) && warned(&edited(SMALL, &[("curvature_per_m = -0.5", "curvature_per_m = -3.0")])));
}

#[test]
fn a_plan_writes_all_its_files_and_nothing_else() {
    let folder = Folder::new();
    let job = edited(SMALL, &[("cell_mm = 5.0", "cell_mm = 20.0")]);
    let second = job.split_once("[[step]]").unwrap().1.replace("\"cut\"", "\"refine 2\"");
    folder.put("job.toml", format!("{job}[[step]]{second}"));
    let printed = run_in(folder.path(), &["plan", "job.toml", "--out", "deep/report"]);
    assert_eq!(printed.code, Some(0), "{}", printed.err);
    let mut expected = vec!["plan.json".to_owned(), "plan.txt".to_owned()];
    for stem in ["cut", "refine_2"] {
        expected.push(format!("{stem}-map.csv"));
        if cfg!(feature = "plot") {
            for picture in ["cut", "stall"] {
                expected.extend([format!("{stem}-{picture}.png"), format!("{stem}-{picture}.svg")]);
            }
        }
    }
    let report = folder.path().join("deep/report");
    let written = names_in(&report);
    for name in &expected {
        assert!(written.contains(name), "{name} is missing: {written:?}");
    }
    no_leftovers(&written);
    // What is printed is what is written, and every file is told on standard error.
    assert_eq!(std::fs::read_to_string(report.join("plan.txt")).unwrap(), printed.out);
    for name in &written {
        assert!(printed.err.contains(name.as_str()), "{name} is not told:\n{}", printed.err);
        let bytes = std::fs::read(report.join(name)).unwrap();
        let whole = match name.rsplit('.').next().unwrap() {
            "png" => bytes.starts_with(b"\x89PNG") && bytes.ends_with(b"IEND\xaeB`\x82"),
            "svg" | "html" => {
                bytes.ends_with(b"</html>\n") || bytes.ends_with(b"</svg>\n") || bytes.ends_with(b"</svg>")
            }
            _ => bytes.ends_with(b"\n"),
        };
        assert!(whole, "{name} is cut short");
    }
    let json = run_in(folder.path(), &["plan", "job.toml", "--json"]).json();
    let told: Value = serde_json::from_slice(&std::fs::read(report.join("plan.json")).unwrap()).unwrap();
    assert_eq!(told, json);
    // A second run replaces them.
    assert_eq!(run_in(folder.path(), &["plan", "job.toml", "--out", "deep/report"]).code, Some(0));
    assert_eq!(names_in(&report), written);
    // One step alone.
    let one = run_in(folder.path(), &["plan", "job.toml", "--step", "refine 2", "--json"]).json();
    assert_eq!(one["steps"].as_array().unwrap().len(), 1);
    // All but what adds up over the steps with the same pads; the paint counts the steps before it.
    let alone = |step: &Value| {
        let mut step = step.clone();
        assert!(!step["pad_core_c"].is_null());
        step["pad_core_c"] = Value::Null;
        step
    };
    assert_eq!(alone(&one["steps"][0]), alone(&json["steps"][1]));
}

#[test]
fn state_and_map_write_what_they_show() {
    let folder = Folder::new();
    folder.put("job.toml", SMALL);
    let state = run_in(folder.path(), &["state", "job.toml", "--out", "s"]);
    assert_eq!(state.code, Some(0), "{}", state.err);
    assert!(state.out.contains("step `cut` on `door`"), "{}", state.out);
    no_leftovers(&names_in(&folder.path().join("s")));
    let written: Value =
        serde_json::from_slice(&std::fs::read(folder.path().join("s/cut-state.json")).unwrap()).unwrap();
    assert_eq!(written, run_in(folder.path(), &["state", "job.toml", "--json"]).json());

    let map = run_in(folder.path(), &["map", "job.toml", "--json", "--out", "m"]);
    map.json();
    let written = names_in(&folder.path().join("m"));
    no_leftovers(&written);
    assert!(written.contains("cut-map.csv"));
    for field in ["cut", "coverage", "dwell"] {
        for kind in ["png", "svg"] {
            assert_eq!(written.contains(&format!("cut-{field}.{kind}")), cfg!(feature = "plot"), "{field} as {kind}");
        }
    }
}

#[test]
fn help_and_version_are_no_failures() {
    for (arguments, word) in [
        (&["--help"][..], "Exit codes: 0 done, 1 the job cannot be answered, 2 bad input"),
        (&["plan", "--help"], "--json"),
        (&["--version"], env!("CARGO_PKG_VERSION")),
    ] {
        let answer = run(arguments);
        assert_eq!(answer.code, Some(0));
        assert!(answer.out.contains(word) && answer.err.is_empty(), "{}\n{}", answer.out, answer.err);
    }
}
