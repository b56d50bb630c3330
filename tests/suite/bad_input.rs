//! What the binary does with input that is wrong, absurd, damaged, or too large, and with outputs
//! that cannot be written: it says where and what is allowed, with its exit code, fast, without a
//! panic and without a half-written file.
//!
//! Which values a job may hold is tested key by key beside the reader; here it is the whole way from
//! the file to the exit code.

#![cfg(feature = "cli")]

use crate::cli::{Answer, DEMO, Folder, SMALL, command, edited, finish, names_in, run_in, run_on};
use std::fs;
use std::path::Path;
use std::process::Stdio;
use std::time::Duration;

/// Longest that a refusal may take: it needs milliseconds, and machines are busy.
const SOON: Duration = Duration::from_secs(10);

/// A refusal: this exit code, nothing on standard output, soon, no panic, and these words.
fn refused(answer: &Answer, code: i32, words: &[&str]) {
    let told = answer.told();
    assert_eq!(answer.code, Some(code), "{told}");
    assert_eq!(answer.out, "", "nothing on standard output");
    assert!(answer.time < SOON, "took {:?}: {told}", answer.time);
    assert!(!told.contains("panicked"), "{told}");
    for word in words {
        assert!(told.contains(word), "lacks {word:?}: {told}");
    }
}

/// Line of the first place of `marker` in `text`, from one.
fn line_of(text: &str, marker: &str) -> usize {
    let at = text.find(marker).unwrap_or_else(|| panic!("no {marker:?}"));
    1 + text[..at].matches('\n').count()
}

/// Edits the small job and expects bad input at the line of `marker`.
fn bad(edits: &[(&str, &str)], marker: &str, words: &[&str]) {
    let text = edited(SMALL, edits);
    let answer = run_on(&text, &["state"]);
    refused(&answer, 2, words);
    let place = format!("job.toml:{}:", line_of(&text, marker));
    assert!(answer.told().contains(&place), "lacks {place}: {}", answer.told());
}

/// Puts `value` in the place of the value of `key` in the small job.
fn value(key: &str, value: &str, words: &[&str]) {
    let line = SMALL.lines().find(|l| l.starts_with(&format!("{key} = "))).unwrap();
    let new = format!("{key} = {value}");
    bad(&[(line, &new)], &new, &[&[key, value][..], words].concat());
}

#[test]
fn numbers_that_are_none_are_refused_at_their_place() {
    for n in ["nan", "-nan", "inf", "-inf", "1e999", "-1.0"] {
        value("diameter_mm", n, &["pad.wide.diameter_mm", "allowed", "5 to 500 mm"]);
        value("force_n", n, &["step.cut.force_n", "0.1 to 2000 N"]);
        value("feed_mm_s", n, &["step.cut.feed_mm_s", "mm/s"]);
        value("cell_mm", n, &["map.cell_mm", "0.05 to 100 mm"]);
    }
    for n in ["nan", "inf"] {
        value("curvature_per_m", n, &["panel.door.curvature_per_m", "allowed"]);
        value("friction", n, &["product.compound.friction"]);
        value("overlap", n, &["step.cut.overlap", "to 0.95"]);
    }
    bad(&[("[400.0, 300.0]", "[400.0, nan]")], "nan]", &["panel.door.size_mm", "nan", "mm"]);
    bad(&[("breakaway_nm = 0.04", "breakaway_nm = inf")], "inf", &["tool.long.bearing.breakaway_nm", "inf", "N·m"]);
    // A key that has no effect must be finite all the same.
    bad(&[("drive = \"free\"", "drive = \"free\"\nspin_rpm = nan")], "spin_rpm", &["tool.long.spin_rpm", "nan"]);
}

#[test]
fn zero_and_absurd_values_are_refused_with_what_is_allowed() {
    for (key, zero) in [
        ("diameter_mm", "0"),
        ("thickness_mm", "0.0"),
        ("orbit_rate_opm", "0"),
        ("force_n", "0"),
        ("feed_mm_s", "0"),
        ("passes", "0"),
        ("cell_mm", "0"),
        ("throw_mm", "0.0"),
    ] {
        value(key, zero, &["allowed"]);
    }
    for (key, absurd) in [
        ("diameter_mm", "1e9"),
        ("thickness_mm", "1e-9"),
        ("orbit_rate_opm", "1e12"),
        ("force_n", "1e30"),
        ("feed_mm_s", "1e300"),
        ("passes", "1000000"),
        ("friction", "1e6"),
        ("preston_per_pa", "1e5"),
        ("curvature_per_m", "-1e7"),
        ("overlap", "1.0"),
    ] {
        value(key, absurd, &["allowed"]);
    }
    // The whole 64-bit range and beyond it.
    for whole in [
        "9223372036854775807",
        "-9223372036854775808",
        "99999999999999999999999999",
        "0xffffffffffffffffffffffffffffffffffff",
    ] {
        value("passes", whole, &["allowed", "1 to 1000"]);
    }
    value("throw_mm", "150.0", &["tool.long.throw_mm", "0.01 to 100 mm"]);
    let small = ("diameter_mm = 130.0", "diameter_mm = 80.0");
    bad(
        &[small, ("throw_mm = 12.0", "throw_mm = 90.0")],
        "throw_mm",
        &["tool.long.throw_mm", "90.0", "below the pad's face diameter, 80 mm"],
    );
    bad(&[("[400.0, 300.0]", "[400.0, 3e5]")], "3e5", &["panel.door.size_mm", "10 to 20000"]);
}

#[test]
fn a_pad_that_bottoms_out_is_bad_input_on_the_flat_and_unanswerable_in_a_curve() {
    // On the flat: 0.9 kPa/mm x 25 mm over 132.73 cm² carries 298.6 N.
    value("force_n", "310.0", &["step.cut.force_n", "bottoms the pad out even on a flat panel", "at most 298.6 N"]);
    // Locally: the answer names the place and a force that fits, and that force does fit.
    let tight =
        edited(SMALL, &[("curvature_per_m = -0.5", "curvature_per_m = -12.0"), ("force_n = 35.0", "force_n = 120.0")]);
    for command in ["state", "map", "plan"] {
        let answer = run_on(&tight, &[command]);
        refused(&answer, 1, &["job.toml: step `cut`", "the pad bottoms out", "mm from the tool axis", "N would fit"]);
    }
    let told = run_on(&tight, &["state"]).told();
    let before = told.split(" N would fit").next().unwrap();
    let fits: f64 = before.rsplit(' ').next().unwrap().parse().unwrap();
    assert!(fits > 0.0 && fits < 120.0, "{told}");
    let at = |force: f64| {
        run_on(&edited(&tight, &[("force_n = 120.0", &format!("force_n = {force}"))]), &["state", "--json"])
    };
    // It is told to a hundredth of a newton.
    assert_eq!(at(fits - 0.01).code, Some(0), "{}", at(fits - 0.01).told());
    assert_eq!(at(fits + 0.02).code, Some(1));
}

#[test]
fn a_map_of_more_than_two_gibibytes_is_refused_at_once() {
    let huge = edited(
        SMALL,
        &[
            ("cell_mm = 5.0", "cell_mm = 0.05"),
            ("[400.0, 300.0]", "[20000.0, 20000.0]"),
            ("curvature_per_m = -0.5", "curvature_per_m = 0.0"),
        ],
    );
    for arguments in [&["map"][..], &["map", "--json"], &["plan"]] {
        refused(&run_on(&huge, arguments), 2, &["400000 x 400000 cells", "2 GiB", "larger cells"]);
    }
    // The state needs no grid.
    assert_eq!(run_on(&huge, &["state", "--json"]).code, Some(0));
}

#[test]
fn names_and_keys_get_a_suggestion() {
    bad(
        &[("diameter_mm", "diamter_mm")],
        "diamter_mm",
        &["`diamter_mm` is not a known key in [pad.wide]", "did you mean `diameter_mm`?"],
    );
    bad(&[("feed_mm_s = 40.0", "feed = 40.0")], "feed =", &["did you mean `feed_mm_s`?"]);
    bad(&[("[pad.wide]", "[pads.wide]")], "[pads.wide]", &["`pads` is not a known table", "did you mean `pad`?"]);
    bad(&[("\"free\"", "\"fre\"")], "drive", &["tool.long.drive", "\"fre\"", "did you mean `free`?", "geared, rotary"]);
    bad(&[("pattern = \"crosshatch\"", "pattern = \"crosshach\"")], "pattern", &["did you mean `crosshatch`?"]);
    bad(
        &[("pad = \"wide\"", "pad = \"wode\"")],
        "pad = ",
        &["`step.cut.pad` names \"wode\", but there is no [pad.wode]", "did you mean `wide`?"],
    );
    bad(&[("panel = \"door\"", "panel = \"zebra\"")], "panel = ", &["no [panel.zebra]", "allowed: door"]);
    bad(&[("force_n = 35.0", "force_n = 35.0\nyacht = 1")], "yacht", &["`yacht` is not a known key in [step"]);
}

#[test]
fn missing_keys_and_tables_are_named_with_their_place() {
    for (line, header) in [
        ("drive = \"free\"\n", "[tool.long]"),
        ("throw_mm = 12.0\n", "[tool.long]"),
        ("orbit_rate_opm = 4200.0\n", "[tool.long]"),
        ("bearing = { breakaway_nm = 0.04, viscous_nms = 1.0e-4 }\n", "[tool.long]"),
        ("diameter_mm = 130.0\n", "[pad.wide]"),
        ("thickness_mm = 25.0\n", "[pad.wide]"),
        ("compression = { law = \"linear\", stiffness_kpa_per_mm = 0.9 }\n", "[pad.wide]"),
        ("friction = 0.35\n", "[product.compound]"),
        ("preston_per_pa = 2.0e-11\n", "[product.compound]"),
        ("shape = \"sphere\"\n", "[panel.door]"),
        ("curvature_per_m = -0.5\n", "[panel.door]"),
        ("size_mm = [400.0, 300.0]\n", "[panel.door]"),
        ("name = \"cut\"\n", "[[step]]"),
        ("tool = \"long\"\n", "[[step]]"),
        ("feed_mm_s = 40.0\n", "[[step]]"),
        ("overlap = 0.5\n", "[[step]]"),
        ("passes = 2\n", "[[step]]"),
        ("pattern = \"crosshatch\"\n", "[[step]]"),
    ] {
        let key = line.split(' ').next().unwrap();
        bad(&[(line, "")], header, &["lacks the required key", &format!("`{key}`")]);
    }
    bad(&[(", viscous_nms = 1.0e-4", "")], "bearing", &["tool.long.bearing", "`viscous_nms`"]);
    for (table, rest) in
        [("[tool.long]", "[pad.wide]"), ("[pad.wide]", "[product.compound]"), ("[panel.door]", "[[step]]")]
    {
        let (a, b) = (SMALL.find(table).unwrap(), SMALL.find(rest).unwrap());
        let text = format!("{}{}", &SMALL[..a], &SMALL[b..]);
        refused(&run_on(&text, &["check"]), 2, &["job.toml:", "there is no", table]);
    }
    let without_steps = SMALL.split_once("[[step]]").unwrap().0;
    refused(&run_on(without_steps, &["plan"]), 2, &["job.toml", "no step", "[[step]]"]);
    refused(&run_on(&edited(SMALL, &[("schema = 1\n", "")]), &["plan"]), 2, &["schema"]);
    value("schema", "2", &["allowed", "1"]);
}

#[test]
fn wrong_types_and_wrong_alternatives_are_told() {
    value("diameter_mm", "\"130\"", &["is a string, expected a number in mm", "without quotes"]);
    value("diameter_mm", "[130.0]", &["is a list, expected a number"]);
    value("diameter_mm", "true", &["is true or false, expected a number"]);
    value("passes", "2.5", &["expected a whole number"]);
    value("name", "7", &["is a whole number, expected a string"]);
    value("compression", "\"soft\"", &["is a string, expected a table"]);
    value("size_mm", "[400.0, 300.0, 200.0]", &["has 3 numbers, expected two"]);
    value("size_mm", "400.0", &["expected two lengths"]);
    bad(&[("[tool.long]\n", "[tool]\n")], "drive", &["[tool.NAME]"]);
    bad(&[("[[step]]", "[step]")], "[step]", &["[[step]]"]);
    // Both and neither.
    bad(
        &[("force_n = 35.0", "force_n = 35.0\nhand_force_n = 30.0")],
        "hand_force_n",
        &["both force_n and hand_force_n", "exactly one"],
    );
    bad(&[("force_n = 35.0\n", "")], "[[step]]", &["`force_n`", "hand_force_n"]);
    bad(&[("force_n = 35.0", "hand_force_n = 30.0")], "hand_force_n", &["mass_kg"]);
    bad(
        &[
            ("orbit_rate_opm = 4200.0\n", "orbit_rate_opm = 4200.0\nspeed_settings = [[1, 2000.0], [6, 5000.0]]\n"),
            ("passes = 2", "passes = 2\nspeed_setting = 3.0\norbit_rate_opm = 4200.0"),
        ],
        "speed_setting =",
        &["both orbit_rate_opm and speed_setting"],
    );
    bad(&[("passes = 2", "passes = 2\nspeed_setting = 3.0")], "speed_setting", &["no speed_settings"]);
    bad(
        &[("[panel.door]", "[paint.clear]\nhardness = \"soft\"\nhardness_mpa = 100.0\n[panel.door]")],
        "hardness_mpa",
        &["both hardness and hardness_mpa"],
    );
    bad(&[("pad = \"wide\"\n", "pad = \"wide\"\npad = \"wide\"\n")], "pad = \"wide\"\nproduct", &["duplicate key"]);
    bad(&[("\"linear\", stiffness", "\"power\", stiffness")], "compression", &["stiffness_kpa_per_mm", "power law"]);
}

#[test]
fn files_that_are_no_jobs() {
    let folder = Folder::new();
    let state = |name: &str| run_in(folder.path(), &["state", name, "--json"]);
    folder.put("empty.toml", "");
    refused(&state("empty.toml"), 2, &["empty.toml", "the file is empty", "trochoid init"]);
    folder.put("blank.toml", " \n\t\r\n");
    refused(&state("blank.toml"), 2, &["the file is empty"]);
    folder.put("comment.toml", "# nothing\n");
    refused(&state("comment.toml"), 2, &["comment.toml", "schema"]);
    folder.put("latin.toml", b"schema = 1\ntitle = \"T\xfcr\"\n");
    refused(&state("latin.toml"), 2, &["latin.toml", "not UTF-8 text", "byte 22", "line 2"]);
    folder.put("binary.toml", (0..=255).cycle().take(5000).collect::<Vec<u8>>());
    refused(&state("binary.toml"), 2, &["binary.toml"]);
    folder.put("broken.toml", edited(SMALL, &[("diameter_mm = 130.0", "diameter_mm = ")]));
    let place = format!("broken.toml:{}:", line_of(SMALL, "diameter_mm"));
    refused(&state("broken.toml"), 2, &[&place, "a value is missing"]);
    folder.put("words.toml", "Dear Sir or Madam,\n");
    refused(&state("words.toml"), 2, &["words.toml:1:", "not valid TOML"]);
    refused(&state("none.toml"), 2, &["none.toml", "cannot be read", "trochoid init"]);
    refused(&state("."), 2, &["directory"]);
    refused(&state("empty.toml/job.toml"), 2, &["empty.toml/job.toml", "cannot be read"]);
    folder.put("deep.toml", format!("schema = 1\ntitle = {}1{}\n", "[".repeat(200_000), "]".repeat(200_000)));
    refused(&state("deep.toml"), 2, &["deep.toml"]);

    // 100 MB without a byte on the disk.
    fs::File::create(folder.path().join("large.toml")).unwrap().set_len(100_000_000).unwrap();
    let large = state("large.toml");
    refused(&large, 2, &["large.toml", "larger than a job may be"]);
    assert!(large.time < Duration::from_secs(2), "refused by its size, not by reading it: {:?}", large.time);
    #[cfg(unix)]
    {
        refused(&state("/dev/zero"), 2, &["not a regular file"]);
        std::os::unix::fs::symlink("loop.toml", folder.path().join("loop.toml")).unwrap();
        refused(&state("loop.toml"), 2, &["loop.toml", "cannot be read"]);
    }
    let control = edited(SMALL, &[("\"cut\"", "\"cut\\u001b[2J\"")]);
    let answer = run_on(&control, &["state"]);
    refused(&answer, 2, &["step", "control characters"]);
    assert!(!answer.err.contains("\u{1b}[2J"), "a name cannot steer the terminal");
}

#[test]
fn what_is_allowed_is_told_without_a_value_too() {
    let folder = Folder::new();
    fs::File::create(folder.path().join("job.toml")).unwrap().set_len(100_000_000).unwrap();
    refused(&run_in(folder.path(), &["state", "job.toml"]), 2, &["at most 4 MiB"]);
    folder.put("job.toml", b"schema = 1\ntitle = \"T\xfcr\"\n");
    refused(&run_in(folder.path(), &["state", "job.toml"]), 2, &["text saved as UTF-8"]);
    bad(&[("drive = \"free\"\n", "")], "[tool.long]", &["free, geared, rotary"]);
    bad(&[("force_n = 35.0\n", "")], "[[step]]", &["exactly one of force_n and hand_force_n"]);
    bad(&[("diameter_mm", "zebra")], "zebra", &["diameter_mm, plate_mm"]);
}

#[test]
fn arguments_that_make_no_sense() {
    let folder = Folder::new();
    folder.put("job.toml", SMALL);
    let run = |arguments: &[&str]| run_in(folder.path(), arguments);
    refused(&run(&["plan", "job.toml", "--step", "polish"]), 2, &["no step `polish`", "cut"]);
    refused(&run(&["plan", "job.toml", "--step", ""]), 2, &["no step"]);
    refused(&run(&["plann", "job.toml"]), 2, &["plann", "plan"]);
    refused(&run(&[]), 2, &["Usage"]);
    refused(&run(&["plan"]), 2, &["JOB"]);
    refused(&run(&["plan", "job.toml", "--bogus"]), 2, &["--bogus"]);
    refused(&run(&["plan", "job.toml", "--out"]), 2, &["--out"]);
    refused(&run(&["plan", "job.toml", "second.toml"]), 2, &["second.toml"]);
}

#[test]
fn a_free_drive_without_a_throw_is_refused() {
    value("throw_mm", "0", &["tool.long.throw_mm", "allowed"]);
    value("throw_mm", "-0.0", &["tool.long.throw_mm", "allowed"]);
    // A rotary drive may write it.
    let rotary = edited(SMALL, &[("\"free\"", "\"rotary\"\nspin_rpm = 1500.0"), ("throw_mm = 12.0", "throw_mm = 0")]);
    assert_eq!(run_on(&rotary, &["state", "--json"]).code, Some(0));
}

/// No temporary file was left in a folder.
fn tidy(folder: &Path) {
    for name in names_in(folder) {
        assert!(!name.contains(".tmp"), "{name} was left");
    }
}

/// Slips of a hand that has never written such a file: the refusal says what to write instead.
#[test]
fn numbers_as_on_paper_are_told_how_to_be_written() {
    value("feed_mm_s", "40,5", &["the decimal sign is a point: feed_mm_s = 40.5"]);
    value("overlap", "-0,5", &["overlap = -0.5"]);
    value("thickness_mm", "25 mm", &["the unit stands in the key", "thickness_mm = 25"]);
    value("force_n", "35.0N", &["force_n = 35.0"]);
    let curve = SMALL.lines().find(|l| l.starts_with("curvature_per_m")).unwrap();
    bad(&[(curve, "radius_mm = -2000.0")], "radius_mm", &["curvature_per_m", "2000 mm is 0.5"]);
    let folder = Folder::new();
    folder.put("job.toml", SMALL);
    refused(&run_in(folder.path(), &["state", "job"]), 2, &["did you mean job.toml?"]);
    refused(&run_in(folder.path(), &["state", "other"]), 2, &["trochoid init"]);
}

/// Kilograms in place of newtons are no error, but they are asked about.
#[test]
fn a_force_in_the_wrong_unit_is_asked_about() {
    let force = SMALL.lines().find(|l| l.starts_with("force_n = ")).unwrap();
    for (written, warns) in [("force_n = 3.5", true), ("force_n = 20.0", false), ("force_n = 130.0", true)] {
        let answer = run_on(&edited(SMALL, &[(force, written)]), &["state"]);
        assert_eq!(answer.err.contains("is it in newtons?"), warns, "{written}: {}", answer.err);
    }
}

#[test]
fn files_of_an_earlier_run_are_told_apart() {
    let folder = Folder::new();
    folder.put("job.toml", edited(SMALL, &[("cell_mm = 5.0", "cell_mm = 20.0")]));
    let plan = || run_in(folder.path(), &["plan", "job.toml", "--out", "report"]);
    assert!(!plan().err.contains("did not write"));
    assert!(!plan().err.contains("did not write"), "its own files, written again");
    folder.put("report/old-cut.png", "from another job");
    folder.put("report/notes.doc", "no result");
    let told = plan().err;
    assert!(told.contains("1 file that this run did not write, such as old-cut.png"), "{told}");
    let without = run_in(folder.path(), &["plan", "job.toml"]);
    assert!(without.err.contains("add `--out report`"), "{}", without.err);
}

#[test]
fn outputs_that_cannot_be_written() {
    let folder = Folder::new();
    folder.put("job.toml", edited(SMALL, &[("cell_mm = 5.0", "cell_mm = 20.0")]));
    // A file in the place of the folder, and a folder below a file.
    folder.put("taken", "mine");
    for out in ["taken", "taken/below"] {
        for command in ["plan", "map", "stall", "state"] {
            // A file in the way is told in words.
            let words = if out == "taken" { "a file of that name is there" } else { "taken/below" };
            refused(
                &run_in(folder.path(), &[command, "job.toml", "--json", "--out", out]),
                1,
                &["cannot make the folder", out, words],
            );
        }
    }
    assert_eq!(fs::read_to_string(folder.path().join("taken")).unwrap(), "mine");
    // A folder in the place of a file.
    fs::create_dir_all(folder.path().join("o/plan.txt/inside")).unwrap();
    refused(&run_in(folder.path(), &["plan", "job.toml", "--out", "o"]), 1, &["cannot write", "plan.txt"]);
    tidy(&folder.path().join("o"));
    let json = fs::read_to_string(folder.path().join("o/plan.json")).unwrap();
    assert!(serde_json::from_str::<serde_json::Value>(&json).is_ok(), "what was written before is whole");
    let names = names_in(folder.path());
    assert!(names.iter().all(|n| ["job.toml", "taken", "o"].contains(&n.as_str()) || n.starts_with("o/")), "{names:?}");
}

#[cfg(unix)]
#[test]
fn a_read_only_folder_is_told() {
    use std::os::unix::fs::PermissionsExt;
    let folder = Folder::new();
    folder.put("job.toml", SMALL);
    let closed = folder.path().join("closed");
    fs::create_dir(&closed).unwrap();
    fs::set_permissions(&closed, fs::Permissions::from_mode(0o555)).unwrap();
    let answer = run_in(folder.path(), &["state", "job.toml", "--json", "--out", "closed"]);
    // The superuser may write there all the same: then the file must be whole.
    if fs::write(closed.join("probe"), "").is_ok() {
        assert!(serde_json::from_slice::<serde_json::Value>(&fs::read(closed.join("state.json")).unwrap()).is_ok());
    } else {
        refused(&answer, 1, &["cannot write", "closed"]);
        assert!(names_in(&closed).is_empty());
    }
    fs::set_permissions(&closed, fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn names_with_markup_and_paths_stay_names() {
    let folder = Folder::new();
    let step = "../../<b>\"x\" & 'y'</b>/cut";
    let text = edited(
        SMALL,
        &[
            ("schema = 1\n", "schema = 1\ntitle = \"<script>alert(1)</script> & ../up\"\n"),
            ("name = \"cut\"", &format!("name = '''{step}'''")),
            ("cell_mm = 5.0", "cell_mm = 20.0"),
            ("[pad.wide]", "[pad.\"<i>wide</i>&\"]"),
            ("pad = \"wide\"", "pad = \"<i>wide</i>&\""),
        ],
    );
    folder.put("job.toml", text);
    for command in ["plan", "map", "stall", "state"] {
        let answer = run_in(folder.path(), &[command, "job.toml", "--out", "a/b/out"]);
        assert_eq!(answer.code, Some(0), "{}", answer.told());
    }
    let names = names_in(folder.path());
    assert!(names.len() > 10, "{names:?}");
    for name in &names {
        let inside = ["a", "a/b", "a/b/out", "job.toml"].contains(&name.as_str()) || name.starts_with("a/b/out/");
        let file = name.rsplit('/').next().unwrap();
        assert!(inside && file.chars().all(|c| c.is_ascii_alphanumeric() || "._-".contains(c)), "{name}");
        assert!(!file.starts_with('.'), "{name} is hidden");
        if file.contains(".svg") {
            let svg = fs::read_to_string(folder.path().join(name)).unwrap();
            for markup in ["<script", "<b>", "<i>", "& "] {
                assert!(!svg.contains(markup), "{markup} in {name}");
            }
        }
    }
    let json = run_in(folder.path(), &["plan", "job.toml", "--json", "--step", step]).json();
    assert_eq!(json["steps"][0]["step"], step, "told as it was written");
}

#[test]
fn steps_of_like_names_have_files_of_their_own() {
    let folder = Folder::new();
    let job = edited(SMALL, &[("name = \"cut\"", "name = \"cut 1\"")]);
    let second =
        job.split_once("[[step]]").unwrap().1.replace("\"cut 1\"", "\"cut/1\"").replace("passes = 2", "passes = 3");
    folder.put("job.toml", format!("{job}[[step]]{second}"));
    assert_eq!(run_in(folder.path(), &["state", "job.toml", "--out", "o"]).code, Some(0));
    let names = names_in(&folder.path().join("o"));
    assert_eq!(names.iter().filter(|n| n.contains("state.json")).count(), 2, "one file a step: {names:?}");
}

/// A pipe whose reader has gone away.
#[cfg(unix)]
fn closed_pipe() -> Stdio {
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    writer.into()
}

#[cfg(unix)]
#[test]
fn a_reader_that_has_gone_away_is_no_panic() {
    let folder = Folder::new();
    folder.put("job.toml", SMALL);
    for arguments in [
        &["state", "job.toml"][..],
        &["state", "job.toml", "--json"],
        &["check", "job.toml"],
        &["plan", "job.toml"],
        &["map", "job.toml", "--json"],
        &["--help"],
        &["--version"],
    ] {
        let child = command(folder.path(), arguments).stdout(closed_pipe()).stderr(Stdio::piped()).spawn().unwrap();
        let answer = finish(child, SOON);
        assert!(!answer.err.contains("panicked"), "{arguments:?}: {}", answer.err);
        assert_eq!(answer.code, Some(0), "{arguments:?}: {}", answer.err);
    }
}

#[cfg(unix)]
#[test]
fn nobody_reading_the_messages_is_no_panic() {
    let folder = Folder::new();
    folder.put("job.toml", edited(SMALL, &[("drive = \"free\"", "drive = \"free\"\nspin_rpm = 5.0")]));
    folder.put("bad.toml", edited(SMALL, &[("130.0", "nan")]));
    for (arguments, code) in [
        (&["state", "job.toml", "--json"][..], 0),
        (&["state", "job.toml", "--out", "o"], 0),
        (&["state", "bad.toml"], 2),
        (&["state", "job.toml", "--step", "none"], 2),
        (&["init", "new.toml"], 0),
    ] {
        let child = command(folder.path(), arguments).stderr(closed_pipe()).stdout(Stdio::piped()).spawn().unwrap();
        assert_eq!(finish(child, SOON).code, Some(code), "{arguments:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let folder = Folder::new();
    folder.put("job.toml", SMALL);
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let child = command(folder.path(), &["state", "job.toml"]).stdout(full).stderr(Stdio::piped()).spawn().unwrap();
    refused(&finish(child, SOON), 1, &["cannot write to standard output"]);
}

/// SplitMix64 (Steele, Lea, Flood, OOPSLA 2014): a small generator with a fixed seed.
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % u64::try_from(n).unwrap()).unwrap()
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.below(from.len())]
    }
}

/// Places of the numbers in a text.
fn numbers(text: &str) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    let bytes = text.as_bytes();
    let mut i = 0;
    while i < bytes.len() {
        let part = |b: u8| b.is_ascii_digit() || b"+-.e".contains(&b);
        if bytes[i].is_ascii_digit() && (i == 0 || !(bytes[i - 1].is_ascii_alphanumeric() || bytes[i - 1] == b'_')) {
            let start = if i > 0 && bytes[i - 1] == b'-' { i - 1 } else { i };
            let end = i + bytes[i..].iter().position(|b| !part(*b)).unwrap_or(bytes.len() - i);
            out.push((start, end));
            i = end;
        } else {
            i += 1;
        }
    }
    out
}

/// One to three damages to a job.
fn damaged(text: &str, random: &mut Random) -> Vec<u8> {
    const VALUES: [&str; 26] = [
        "0",
        "-1",
        "nan",
        "inf",
        "-inf",
        "1e308",
        "1e-308",
        "5e-324",
        "-0.0",
        "1e999",
        "[]",
        "\"\"",
        "true",
        "{}",
        "1979-05-27",
        "0xff",
        "9223372036854775807",
        "[[1, 2], [3]]",
        "'x'",
        "1e5",
        "1e-5",
        "100",
        "0.5",
        "3",
        "20",
        "-5",
    ];
    let mut text = text.to_owned();
    for _ in 0..=random.below(3) {
        let lines: Vec<&str> = text.lines().collect();
        let line = random.below(lines.len());
        match random.below(9) {
            // A number turned into something else.
            0..=1 => {
                let places = numbers(&text);
                let (a, b) = *random.pick(&places);
                text.replace_range(a..b, random.pick::<&str>(&VALUES));
            }
            // A number scaled: mostly still a job, far outside the ordinary.
            2..=4 => {
                let places = numbers(&text);
                let (a, b) = *random.pick(&places);
                if let Ok(x) = text[a..b].parse::<f64>() {
                    let factor = random.pick(&[1e-3, 0.1, 0.5, 0.8, 1.25, 2.0, 4.0, 10.0, -1.0, 1e3]);
                    text.replace_range(a..b, &format!("{:?}", x * factor));
                }
            }
            5 => text = [&lines[..line], &lines[line + 1..]].concat().join("\n"),
            6 => text = [&lines[..line], &[lines[line]], &lines[line..]].concat().join("\n"),
            7 => {
                let other = random.below(lines.len());
                let mut swapped = lines.clone();
                swapped.swap(line, other);
                text = swapped.join("\n");
            }
            // Bytes overwritten or cut off.
            _ => {
                let mut bytes = text.clone().into_bytes();
                let at = random.below(bytes.len());
                if random.below(4) == 0 {
                    bytes.truncate(at);
                    return bytes;
                }
                bytes[at] = u8::try_from(random.below(256)).unwrap();
                match String::from_utf8(bytes) {
                    Ok(t) => text = t,
                    Err(e) => return e.into_bytes(),
                }
            }
        }
        if text.trim().is_empty() || numbers(&text).is_empty() {
            break;
        }
    }
    text.into_bytes()
}

#[test]
fn damaged_jobs_are_answered() {
    let demo = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(DEMO)).unwrap();
    let mut codes = [0; 3];
    let folder = Folder::new();
    for seed in 0..300 {
        let mut random = Random(seed);
        let bytes = damaged(&demo, &mut random);
        folder.put("job.toml", &bytes);
        // A step at random, so that all tools, pads and panels have their turn.
        let step = *random.pick(&["cut_door", "cut_arch", "finish_door"]);
        let child = command(folder.path(), &["state", "job.toml", "--json", "--step", step])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let answer = finish(child, SOON);
        let show = || format!("seed {seed}: {:?} {}\n{}", answer.code, answer.err, String::from_utf8_lossy(&bytes));
        let code = answer.code.unwrap_or_else(|| panic!("a signal: {}", show()));
        assert!((0..=2).contains(&code), "{}", show());
        codes[usize::try_from(code).unwrap()] += 1;
        if code == 0 {
            assert!(!answer.out.contains("NaN"), "{}", show());
            assert!(
                serde_json::from_str::<serde_json::Value>(&answer.out).is_ok_and(|v| v["spin"]["spin_rpm"].is_number()),
                "{}",
                show()
            );
        } else {
            assert_eq!(answer.out, "", "{}", show());
            assert!(answer.told().contains("job.toml"), "{}", show());
        }
    }
    // The damage must reach both the reader and the solvers.
    assert!(codes[0] >= 30 && codes[2] >= 100, "exit codes 0, 1, 2: {codes:?}");
}
