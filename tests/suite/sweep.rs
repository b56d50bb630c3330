//! Sweeps: is a case the step that the job would give, is the table the same whatever the threads, the shards
//! and the interruptions, and is what is wrong with a study told with its place?

#![cfg(feature = "cli")]

use crate::cli::{Answer, DEMO, Folder, SMALL, command, finish, names_in, run_in};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::Duration;
use trochoid::contact::ContactSettings;
use trochoid::job::sweep::{Cell, Column, JobText, Status, Study};
use trochoid::job::{Job, Problem};
use trochoid::math::reduce::with_threads;
use trochoid::plan::{Axis, Design, DesignError, Layout, Level, MAX_CASES, Running, Scale, Working};
use trochoid::report::{Shard, SweepError, SweepRun, merge_shards, run_sweep};
use trochoid::spin::{StallSettings, spin_state, stall_limits};
use trochoid::units::AngularRate;

/// Head of a study of the small job.
const HEAD: &str = "schema = 1\njob = \"job.toml\"\nstep = \"cut\"\n";

/// Three keys of three tables; some of the stiffest pads bottom out under the largest force.
const VARY: &str = r#"[vary]
tool.long.throw_mm = { low = 6.0, high = 24.0, count = 5 }
pad.wide.compression.stiffness_kpa_per_mm = { low = 0.05, high = 3.0, count = 4, scale = "log" }
step.cut.force_n = [10.0, 35.0, 300.0]
"#;

fn parse(study: &str, job: &str) -> Result<Study, Problem> {
    Study::parse_with("study.toml", study, |name, _| {
        Ok(JobText { name: name.to_owned(), text: job.to_owned(), folder: None })
    })
}

fn study(design: &str, columns: &str, vary: &str) -> Study {
    let text = format!("{HEAD}{columns}\n{design}\n{vary}");
    parse(&text, SMALL).unwrap_or_else(|p| panic!("{p}"))
}

fn grid() -> Study {
    study("design = { kind = \"grid\" }", "columns = [\"spin_rpm\", \"mean_cut_per_pass_um\", \"stalled\"]", VARY)
}

/// The table of a study in one piece.
fn table(study: &Study) -> String {
    let tree = study.tree().unwrap();
    let cases = tree.cases().unwrap();
    let mut out = cases.head();
    (0..cases.count()).for_each(|c| cases.row(c, &mut out));
    out
}

fn run(study: &Study, out: &Path, shard: Shard, force: bool) -> Result<trochoid::report::SweepDone, SweepError> {
    let tree = study.tree().unwrap();
    run_sweep(&tree.cases().unwrap(), out, &SweepRun { shard, force }, &|_| {})
}

/// What an unfinished run left in a folder.
fn unfinished(folder: &Folder) -> Vec<String> {
    names_in(folder.path()).into_iter().filter(|n| n.contains(".csv.")).collect()
}

#[test]
fn a_grid_runs_through_every_combination_the_last_key_fastest() {
    let text = table(&grid());
    let mut lines = text.lines();
    assert_eq!(
        lines.next().unwrap(),
        "case,status,tool.long.throw_mm,pad.wide.compression.stiffness_kpa_per_mm,step.cut.force_n,spin_rpm,mean_cut_per_pass_um,stalled"
    );
    let rows: Vec<Vec<&str>> = lines.map(|l| l.split(',').collect()).collect();
    assert_eq!(rows.len(), 5 * 4 * 3);
    for (i, row) in rows.iter().enumerate() {
        assert_eq!(row[0], i.to_string());
        assert_eq!(row[2].parse::<f64>().unwrap().to_bits(), (6.0 + 4.5 * (i / 12) as f64).to_bits());
        assert_eq!(row[4], ["10.0", "35.0", "300.0"][i % 3]);
    }
    // The ends of a logarithmic range exactly, and equal ratios between them.
    let pads: Vec<f64> = (0..4).map(|i| rows[3 * i][3].parse().unwrap()).collect();
    assert_eq!((pads[0].to_bits(), pads[3].to_bits()), (0.05_f64.to_bits(), 3.0_f64.to_bits()));
    assert!((pads[1] / pads[0] - pads[3] / pads[2]).abs() < 1e-12, "two roundings of powf: {pads:?}");
    // 300 N on a pad of 0.05 kPa/mm: 300/(π·0.065²) = 22.6 kPa of mean pressure, and 25 mm of it give 1.25 kPa.
    assert!(
        rows.iter().filter(|r| r[3] == "0.05" && r[4] == "300.0").all(|r| r[1] == "bottoms_out" && r[5].is_empty())
    );
    assert!(rows.iter().any(|r| r[1] == "ok" && r[7] == "true") && rows.iter().any(|r| r[7] == "false"));
}

#[test]
fn a_case_is_the_step_of_the_job_with_its_values_written_in() {
    let keys = r#"design = { kind = "random", count = 40, seed = 5 }
[vary]
tool.long.throw_mm = { low = 6.0, high = 20.0 }
tool.long.bearing.breakaway_nm = { low = 0.01, high = 0.1, scale = "log" }
pad.wide.diameter_mm = { low = 80.0, high = 180.0 }
pad.wide.loss_factor = { low = 0.1, high = 0.4 }
product.compound.friction = { low = 0.2, high = 0.5 }
panel.door.curvature_per_m = { low = -1.5, high = 0.5 }
step.cut.passes = { low = 1, high = 6, whole = true }
step.cut.force_n = [20.0, 35.0]
limits.useful_spin_rpm = { low = 30.0, high = 90.0 }
"#;
    let job = format!("{SMALL}\n[limits]\nuseful_spin_rpm = 60.0\n");
    let s = parse(&format!("{HEAD}columns = [\"spin_rpm\"]\n{keys}"), &job).unwrap_or_else(|p| panic!("{p}"));
    assert!(s.keys().iter().all(trochoid::job::sweep::VariedKey::is_used));
    let tree = s.tree().unwrap();
    let cases = tree.cases().unwrap();
    let mut seen = std::collections::BTreeSet::new();
    for case in 0..cases.count() {
        let fast = cases.step(case).unwrap();
        let whole = cases.step_of_whole_job(case).unwrap();
        // Debug tells every field, floats with all the digits that make them.
        assert_eq!(format!("{fast:?}"), format!("{whole:?}"), "case {case}");
        seen.insert(fast.step.passes);
        // And from the text: the values of the row into the text of the job.
        let mut row = String::new();
        cases.row(case, &mut row);
        let v: Vec<&str> = row.trim_end().split(',').skip(2).collect();
        let written = crate::cli::edited(
            &job,
            &[
                ("throw_mm = 12.0", &format!("throw_mm = {}", v[0])),
                ("breakaway_nm = 0.04", &format!("breakaway_nm = {}", v[1])),
                ("diameter_mm = 130.0", &format!("diameter_mm = {}\nloss_factor = {}", v[2], v[3])),
                ("friction = 0.35", &format!("friction = {}", v[4])),
                ("curvature_per_m = -0.5", &format!("curvature_per_m = {}", v[5])),
                ("passes = 2", &format!("passes = {}", v[6])),
                ("force_n = 35.0", &format!("force_n = {}", v[7])),
                ("useful_spin_rpm = 60.0", &format!("useful_spin_rpm = {}", v[8])),
            ],
        );
        let read = Job::parse("written.toml", &written).unwrap();
        assert_eq!(format!("{:?}", read.steps[0]), format!("{:?}", fast.step), "case {case}");
        assert_eq!(read.limits.useful_spin.rad_s().to_bits(), fast.useful_spin.to_bits());
    }
    assert!(seen.len() >= 5, "whole numbers of passes: {seen:?}");
}

#[test]
fn names_of_pads_pairings_and_lists_vary_too() {
    let text = fs::read_to_string(DEMO).unwrap();
    let s = parse(
        r#"schema = 1
job = "demo.toml"
step = "cut_arch"
columns = ["spin_rpm", "mean_pressure_pa"]
design = { kind = "grid" }
[vary]
step.cut_arch.pad = ["cutting", "small_cutting"]
panel.wheel_arch.curvature_per_m = [[-1.2, -0.2], [-0.3, -0.3]]
pairing.cutting_compound.friction = [0.3, 0.5]
panel.wheel_arch.size_mm.0 = [300.0, 420.0]
"#,
        &text,
    )
    .unwrap_or_else(|p| panic!("{p}"));
    let tree = s.tree().unwrap();
    let cases = tree.cases().unwrap();
    assert_eq!(cases.count(), 16);
    for case in 0..16 {
        let (fast, whole) = (cases.step(case).unwrap(), cases.step_of_whole_job(case).unwrap());
        assert_eq!(format!("{fast:?}"), format!("{whole:?}"), "case {case}");
        let pad = if case < 8 { "cutting" } else { "small_cutting" };
        assert_eq!(fast.step.pad_name, pad);
        // The pairing is of the large pad alone; the small one takes the product's friction.
        let pairing = if case / 2 % 2 == 0 { 0.3 } else { 0.5 };
        let friction = if case < 8 { pairing } else { 0.35 };
        assert!((fast.step.setup.product().friction() - friction).abs() < 1e-15, "as written: {case}");
    }
    let mut row = String::new();
    cases.row(0, &mut row);
    assert!(row.starts_with("0,ok,cutting,\"[-1.2, -0.2]\",0.3,300.0,"), "{row}");
}

#[test]
fn the_columns_are_the_numbers_of_a_state() {
    let all: Vec<String> = Column::ALL.iter().map(|c| format!("\"{}\"", c.name())).collect();
    let design = "design = { kind = \"sobol\", count = 16 }";
    let vary = "[vary]\nstep.cut.force_n = { low = 15.0, high = 60.0 }\npanel.door.curvature_per_m = { low = -1.0, high = 0.4 }\n";
    let s = study(design, &format!("columns = [{}]", all.join(", ")), vary);
    let few = study(design, "columns = [\"stall_number\", \"stall_curvature_per_m\", \"stalled_on_flat\"]", vary);
    let (tree, few_tree) = (s.tree().unwrap(), few.tree().unwrap());
    let (cases, few_cases) = (tree.cases().unwrap(), few_tree.cases().unwrap());
    let mut numbers = 0;
    for case in 0..cases.count() {
        let (status, cells) = cases.solve(case);
        assert_eq!(status, Status::Ok);
        let read = cases.step(case).unwrap();
        let setup = &read.step.setup;
        let run = spin_state(setup, setup.patch(), &ContactSettings::default()).unwrap();
        let now = Running::of(setup, &Working { feed: read.step.feed, overlap: read.step.overlap }, &run);
        let limits = stall_limits(setup, &StallSettings::default(), 1.0).unwrap();
        let cell = |c: Column| cells[Column::ALL.iter().position(|o| *o == c).unwrap()];
        let is = |c: Column, x: f64| assert_eq!(cell(c), Cell::Number(x), "{} of case {case}", c.name());
        is(Column::SpinRpm, AngularRate::from_rad_s(run.spin).rpm());
        is(Column::CutPerPass, now.cut_per_pass_m * 1e6);
        is(Column::VolumeRate, now.volume_rate_m3_s * 1e9);
        is(Column::Friction, now.friction_w);
        is(Column::PeakPressure, run.contact.peak_pressure_pa);
        assert_eq!(cell(Column::Stalled), Cell::Flag(run.spin < read.useful_spin));
        assert_eq!(cell(Column::StalledOnFlat), Cell::Flag(limits.stalled_on_flat));
        let some = |x: Option<f64>| x.map_or(Cell::Missing, Cell::Number);
        assert_eq!(cell(Column::StallNumber), some(limits.stall_number()));
        assert_eq!(cell(Column::StallCurvature), some(limits.sphere.map(|c| c.at)));
        // One search for the sphere alone finds the same place; both are roots to 1e-9 of themselves.
        let (_, quick) = few_cases.solve(case);
        for (quick, slow) in quick.iter().zip([Column::StallNumber, Column::StallCurvature, Column::StalledOnFlat]) {
            match (quick, cell(slow)) {
                (Cell::Number(a), Cell::Number(b)) => {
                    numbers += 1;
                    assert!((a / b - 1.0).abs() < 1e-7, "{}: {a} and {b}", slow.name());
                }
                (a, b) => assert_eq!(*a, b, "{} of case {case}", slow.name()),
            }
        }
    }
    assert!(numbers > 16, "{numbers} numbers compared");
}

#[test]
fn designs_are_what_they_say() {
    let range = |low, high| Axis::range(low, high, Scale::Linear, None).unwrap();
    let random =
        Design::new(vec![range(0.0, 1.0), Axis::list(4).unwrap()], Layout::Random { count: 4000, seed: 9 }).unwrap();
    let mut entries = [0_u32; 4];
    let mut sum = 0.0;
    for case in 0..4000 {
        match (random.level(case, 0), random.level(case, 1)) {
            (Some(Level::Number(x)), Some(Level::Entry(e))) => {
                assert!((0.0..1.0).contains(&x));
                sum += x / 4000.0;
                entries[usize::try_from(e).unwrap()] += 1;
            }
            other => panic!("{other:?}"),
        }
    }
    // Four standard errors: 4/√(12·4000) of the mean, 4·√(4000·3/16) of a count.
    assert!((sum - 0.5).abs() < 0.0183 && entries.iter().all(|n| n.abs_diff(1000) < 110), "{sum} {entries:?}");
    // Every block of sixteen points of a Sobol sequence has one in each sixteenth, shifted or not.
    for seed in [None, Some(3)] {
        let sobol = Design::new(vec![range(-2.0, 2.0); 12], Layout::Sobol { count: 64, seed }).unwrap();
        for (axis, block) in (0..12).flat_map(|a| (0..4).map(move |b| (a, b))) {
            let mut cells: Vec<u32> = (16 * block..16 * block + 16)
                .map(|case| match sobol.level(case, axis) {
                    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ x < 16
                    Some(Level::Number(x)) => ((x + 2.0) * 4.0) as u32,
                    other => panic!("{other:?}"),
                })
                .collect();
            cells.sort_unstable();
            assert_eq!(cells, (0..16).collect::<Vec<_>>(), "axis {axis}, block {block}");
        }
    }
    let thousand = vec![Axis::list(1000).unwrap(); 4];
    assert_eq!(Design::new(thousand, Layout::Grid), Err(DesignError::Cases { count: 1_000_000_000_000 }));
    assert!(Design::new(vec![Axis::list(1000).unwrap(); 3], Layout::Grid).is_ok_and(|d| d.cases() == MAX_CASES));
    assert!(Design::new(vec![range(0.0, 1.0)], Layout::Random { count: 0, seed: 1 }).is_err());
    assert!(Design::new(vec![range(0.0, 1.0); 41], Layout::Sobol { count: 1, seed: None }).is_err());
    assert!(Design::new(vec![Axis::list(1000).unwrap(); 60], Layout::Grid).is_err(), "10^180 does not overflow");
}

#[test]
fn any_sharding_and_any_threads_give_the_same_bytes() {
    let s = study(
        "design = { kind = \"sobol\", count = 600, seed = 4 }",
        "",
        &VARY.replace(", count = 5", "").replace(", count = 4", ""),
    );
    let folder = Folder::new();
    let whole = folder.path().join("whole.csv");
    with_threads(1, || run(&s, &whole, Shard::WHOLE, false).unwrap());
    let expected = fs::read(&whole).unwrap();
    assert_eq!(String::from_utf8(expected.clone()).unwrap(), table(&s), "the table row by row");
    for threads in [2, 3] {
        let out = folder.path().join(format!("t{threads}.csv"));
        with_threads(threads, || run(&s, &out, Shard::WHOLE, false).unwrap());
        assert!(fs::read(&out).unwrap() == expected, "{threads} threads");
    }
    // More shards than cases leave some of them empty.
    for of in [2, 7, 601] {
        let mut parts: Vec<PathBuf> = Vec::new();
        for number in 1..=of {
            let out = folder.path().join(format!("{of}-{number}.csv"));
            let done = run(&s, &out, Shard::new(number, of).unwrap(), false).unwrap();
            assert_eq!(done.ended.sum(), done.cases.end - done.cases.start);
            parts.push(out);
        }
        parts.reverse();
        let merged = folder.path().join(format!("merged-{of}.csv"));
        let m = merge_shards(&parts, &merged, false).unwrap();
        assert_eq!((m.shards, m.ended.sum()), (of, 600));
        assert!(fs::read(&merged).unwrap() == expected, "{of} shards");
    }
    // A finished shard is not worked again; a finished table is not replaced.
    let again = run(&s, &folder.path().join("7-3.csv"), Shard::new(3, 7).unwrap(), false).unwrap();
    assert!(again.was_complete && again.found == again.ended.sum());
    assert!(matches!(run(&s, &whole, Shard::WHOLE, false), Err(SweepError::Exists(_))));
    assert_eq!(unfinished(&folder), [""; 0], "nothing else is left");
}

/// The head of a state file, as a run writes it.
fn interrupted(study: &Study, folder: &Folder, out: &str, kept: &[u8]) -> PathBuf {
    let mark = format!(
        "# trochoid sweep {}: shard 1 of 1, cases from 0 to before {n} of {n}\n",
        study.digest().hex(),
        n = study.design().cases()
    );
    folder.put(&format!("{out}.state"), mark);
    folder.put(&format!("{out}.part"), kept);
    folder.path().join(out)
}

#[test]
fn a_table_torn_anywhere_is_finished_to_the_same_bytes() {
    let s = grid();
    let expected = table(&s).into_bytes();
    let folder = Folder::new();
    let step = expected.len() / 90;
    for cut in (0..=expected.len()).step_by(step).chain([expected.len() - 1, expected.len()]) {
        let out = interrupted(&s, &folder, "t.csv", &expected[..cut]);
        let done = run(&s, &out, Shard::WHOLE, false).unwrap();
        let lines = expected[..cut].split(|b| *b == b'\n').count() - 1;
        assert_eq!(done.found, lines.saturating_sub(1) as u64);
        assert!(fs::read(&out).unwrap() == expected, "cut at byte {cut}");
        assert_eq!(names_in(folder.path()).into_iter().collect::<Vec<_>>(), ["t.csv"]);
        fs::remove_file(&out).unwrap();
    }
    // A block of zeros, as a machine that lost its power leaves it; a row twice; a row of another case.
    let half = expected[..expected.len() / 2].iter().rposition(|b| *b == b'\n').unwrap() + 1;
    let last = expected[..half - 1].iter().rposition(|b| *b == b'\n').unwrap() + 1;
    for tail in [&[0_u8; 300][..], &expected[last..half], b"59,ok,1,1,1,1,1,true\n", b"\xff\xfe\n", b"\"\n"] {
        let out = interrupted(&s, &folder, "t.csv", &[&expected[..half], tail].concat());
        run(&s, &out, Shard::WHOLE, false).unwrap();
        assert!(fs::read(&out).unwrap() == expected);
        fs::remove_file(&out).unwrap();
    }
    // Ended between the last two steps: the table has its name, the state is still there.
    let out = interrupted(&s, &folder, "t.csv", b"");
    fs::remove_file(folder.path().join("t.csv.part")).unwrap();
    folder.put("t.csv", &expected);
    assert!(run(&s, &out, Shard::WHOLE, false).unwrap().was_complete);
    assert_eq!(names_in(folder.path()).into_iter().collect::<Vec<_>>(), ["t.csv"]);
}

#[test]
fn an_unfinished_table_of_another_study_is_refused_and_kept() {
    let (one, other) = (grid(), study("design = { kind = \"grid\" }", "columns = [\"spin_rpm\"]", VARY));
    assert_ne!(one.digest(), other.digest());
    let folder = Folder::new();
    let part = &table(&one).into_bytes()[..500];
    let out = interrupted(&one, &folder, "t.csv", part);
    assert!(matches!(run(&other, &out, Shard::WHOLE, false), Err(SweepError::OtherStudy { .. })));
    assert!(matches!(run(&one, &out, Shard::new(1, 2).unwrap(), false), Err(SweepError::OtherStudy { .. })));
    assert_eq!(fs::read(folder.path().join("t.csv.part")).unwrap(), part, "untouched");
    // A part without its state, or with one that says nothing, could be anything.
    for state in [None, Some("what is this\n"), Some("# trochoid sweep x")] {
        fs::remove_file(folder.path().join("t.csv.state")).unwrap();
        if let Some(s) = state {
            folder.put("t.csv.state", s);
        }
        assert!(matches!(run(&one, &out, Shard::WHOLE, false), Err(SweepError::OtherStudy { .. })), "{state:?}");
        folder.put("t.csv.state", "x\n");
    }
    run(&other, &out, Shard::WHOLE, true).unwrap();
    assert_eq!(fs::read_to_string(&out).unwrap(), table(&other));
    run(&one, &out, Shard::WHOLE, true).unwrap();
    assert_eq!(fs::read_to_string(&out).unwrap(), table(&one), "--force replaces a finished table");
}

#[test]
fn a_forced_run_keeps_the_old_table_until_the_new_one_is_whole() {
    let (one, folder) = (grid(), Folder::new());
    let out = folder.path().join("t.csv");
    run(&one, &out, Shard::WHOLE, false).unwrap();
    // The same study and one begun anew over a finished table, torn at its start and half way.
    run(&one, &out, Shard::WHOLE, true).unwrap();
    assert_eq!(fs::read_to_string(&out).unwrap(), table(&one));
    let half = table(&one).len() / 2;
    for kept in [0, half] {
        let path = interrupted(&one, &folder, "u.csv", &table(&one).as_bytes()[..kept]);
        fs::write(&path, "an older table\n").unwrap();
        // With the unfinished table beside it the run goes on without being forced again.
        run(&one, &path, Shard::WHOLE, false).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), table(&one), "{kept}");
        fs::remove_file(&path).unwrap();
    }
}

#[test]
fn a_shard_is_not_overwritten_by_its_own_merge() {
    let (one, folder) = (grid(), Folder::new());
    let paths: Vec<PathBuf> = (1..=3)
        .map(|i| {
            let path = folder.path().join(format!("{i}.csv"));
            run(&one, &path, Shard::new(i, 3).unwrap(), false).unwrap();
            path
        })
        .collect();
    let before = fs::read(&paths[0]).unwrap();
    let refused = merge_shards(&paths, &paths[0], true).unwrap_err();
    assert!(refused.to_string().contains("output"), "{refused}");
    assert_eq!(fs::read(&paths[0]).unwrap(), before);
}

#[test]
fn the_digest_knows_study_job_and_version() {
    let base = grid();
    let text = format!("{HEAD}\ndesign = {{ kind = \"grid\" }}\n{VARY}");
    let job = SMALL.replace("feed_mm_s = 40.0", "feed_mm_s = 41.0");
    let (a, b) = (parse(&text, SMALL).unwrap(), parse(&text, &job).unwrap());
    assert_ne!(a.digest(), b.digest());
    assert_ne!(a.digest(), base.digest());
    assert_eq!(a.digest(), parse(&text, SMALL).unwrap().digest());
}

#[test]
fn wrong_shards_are_not_merged() {
    let s = grid();
    let folder = Folder::new();
    let part = |number: u64, of: u64| {
        let out = folder.path().join(format!("{number}-{of}.csv"));
        run(&s, &out, Shard::new(number, of).unwrap(), false).unwrap();
        out
    };
    let parts: Vec<PathBuf> = (1..=3).map(|i| part(i, 3)).collect();
    let out = folder.path().join("m.csv");
    let merge = |paths: &[&PathBuf]| {
        let paths: Vec<PathBuf> = paths.iter().map(|p| (*p).clone()).collect();
        let told = merge_shards(&paths, &out, false).unwrap_err();
        assert!(!out.exists(), "{told}");
        assert!(names_in(folder.path()).iter().all(|n| !n.contains("m.csv")), "nothing is left");
        told
    };
    match merge(&[&parts[0], &parts[2]]) {
        SweepError::Missing { of: 3, numbers } => assert_eq!(numbers, [2]),
        e => panic!("{e}"),
    }
    let copy = folder.put("copy.csv", fs::read(&parts[1]).unwrap());
    assert!(matches!(merge(&[&parts[0], &parts[1], &copy, &parts[2]]), SweepError::Twice { number: 2, .. }));
    assert!(matches!(merge(&[&parts[0], &parts[1], &part(3, 4)]), SweepError::OtherSweep { .. }));
    assert!(matches!(merge(&[]), SweepError::NothingToMerge));
    let whole = folder.put("whole.csv", table(&s));
    assert!(merge(&[&whole]).to_string().contains("a whole table"));
    let junk = folder.put("junk.csv", b"\x00\xff".repeat(40));
    assert!(matches!(merge(&[&junk]), SweepError::NoShard { .. }));
    // A shard cut short, one with a row changed, one with something behind it.
    let bytes = fs::read(&parts[1]).unwrap();
    for damaged in [bytes[..bytes.len() - 3].to_vec(), [&bytes[..], b"x"].concat(), {
        let mut b = bytes.clone();
        let at = b.len() - 40;
        b[at] = b'\n';
        b
    }] {
        let bad = folder.put("bad.csv", damaged);
        assert!(matches!(merge(&[&parts[0], &bad, &parts[2]]), SweepError::Unfinished { .. }));
    }
    folder.put("m.csv", "mine");
    assert!(matches!(merge_shards(&parts, &out, false), Err(SweepError::Exists(_))));
    assert_eq!(fs::read_to_string(&out).unwrap(), "mine");
    merge_shards(&parts, &out, true).unwrap();
    assert_eq!(fs::read_to_string(&out).unwrap(), table(&s));
}

/// A study that must be refused: with these words, at the line of `marker`.
fn refused(edits: &[(&str, &str)], marker: &str, words: &[&str]) {
    let text = format!("{HEAD}columns = [\"spin_rpm\"]\n[design]\nkind = \"grid\"\n{VARY}");
    let text = crate::cli::edited(&text, edits);
    let told = parse(&text, SMALL).err().unwrap_or_else(|| panic!("accepted:\n{text}")).to_string();
    let line = 1 + text[..text.find(marker).unwrap()].matches('\n').count();
    assert!(told.starts_with(&format!("study.toml:{line}:")), "line {line}: {told}");
    for word in words {
        assert!(told.contains(word), "lacks {word:?}: {told}");
    }
}

#[test]
fn wrong_studies_are_told_with_their_place() {
    refused(&[("throw_mm", "thrw_mm")], "thrw_mm", &["tool.long.thrw_mm", "did you mean `throw_mm`"]);
    refused(&[("tool.long", "tool.lnog")], "lnog", &["tool.lnog", "did you mean `long`", "allowed"]);
    refused(&[("step.cut.", "step.cot.")], "cot", &["\"cot\"", "allowed: cut"]);
    refused(&[("tool.long.throw_mm", "tools.long.throw_mm")], "tools", &["[tools]", "did you mean `tool`"]);
    refused(&[("tool.long.throw_mm", "title")], "title", &["title", "tool.NAME.throw_mm"]);
    refused(&[("pad.wide.compression.stiffness_kpa_per_mm", "pad.wide.compression")], "pad.wide", &["is a table"]);
    refused(
        &[("low = 6.0", "low = 60.0")],
        "low = 60.0",
        &["tool.long.throw_mm.low", "60.0", "at most the high end, 24"],
    );
    refused(&[("high = 24.0", "high = nan")], "high = nan", &["throw_mm.high", "nan", "a finite number"]);
    refused(
        &[("low = 0.05", "low = 0.0")],
        "low = 0.0,",
        &["stiffness_kpa_per_mm.low", "above 0 on a logarithmic scale"],
    );
    refused(&[(", count = 5", "")], "throw_mm", &["throw_mm", "add `count"]);
    refused(&[(", count = 5", ", count = 1")], "count = 1", &["throw_mm.count", "2 to 1000000000"]);
    refused(&[(", count = 5", ", count = -3")], "-3", &["throw_mm.count", "-3", "a whole number"]);
    refused(&[("[10.0, 35.0, 300.0]", "[]")], "step.cut", &["0 values", "1 to 1000"]);
    refused(&[("[10.0, 35.0, 300.0]", "35.0")], "step.cut", &["would not vary", "a list of values, or a range"]);
    refused(&[("[10.0, 35.0, 300.0]", "[10.0, 5000.0]")], "step.cut", &["step.cut.force_n", "5000.0", "0.1 to 2000 N"]);
    refused(&[("high = 24.0", "high = 500.0")], "throw_mm", &["tool.long.throw_mm", "500.0", "allowed", "mm"]);
    refused(&[("[10.0, 35.0, 300.0]", "[\"much\"]")], "step.cut", &["step.cut.force_n", "much", "a number in N"]);
    refused(&[("[10.0, 35.0, 300.0]", "[{ x = 1 }]")], "step.cut", &["a table"]);
    refused(&[("\"spin_rpm\"", "\"spin\"")], "columns", &["spin", "did you mean `spin_rpm`", "stall_number"]);
    refused(&[("\"spin_rpm\"", "\"spin_rpm\", \"spin_rpm\"")], "columns", &["twice"]);
    refused(&[("\"grid\"", "\"grit\"")], "kind", &["grit", "did you mean `grid`"]);
    refused(&[("step = \"cut\"", "step = \"cat\"")], "cat", &["cat", "job.toml", "allowed: cut"]);
    refused(&[("schema = 1", "schema = 2")], "schema", &["schema", "1"]);
    refused(&[("[design]", "[desing]")], "desing", &["did you mean `design`"]);
    let million = "[10.0, 35.0, 300.0]";
    refused(
        &[("count = 5", "count = 1000000"), ("count = 4", "count = 1000000"), (million, "[30.0]")],
        "kind",
        &["1000000000000 cases", "1 to 1000000000", "100 GB"],
    );
    for (count, told) in [("0", "0 cases"), ("1000000000000", "1000000000000 cases")] {
        refused(
            &[("kind = \"grid\"", &format!("kind = \"random\"\nseed = 1\ncount = {count}"))],
            "count",
            &[told, "1 to 1000000000"],
        );
    }
    refused(&[("kind = \"grid\"", "kind = \"random\"\ncount = 5")], "[design]", &["seed"]);
    // Each value is allowed with some of the others: the rest of the combinations are rows.
    let text = format!(
        "{HEAD}design = {{ kind = \"grid\" }}\n[vary]\npad.wide.diameter_mm = [20.0, 130.0]\ntool.long.throw_mm = [8.0, 24.0]\n"
    );
    let s = parse(&text, SMALL).unwrap_or_else(|p| panic!("{p}"));
    let rows = table(&s);
    let words: Vec<&str> = rows.lines().skip(1).map(|l| l.split(',').nth(1).unwrap()).collect();
    assert_eq!(words[1], "refused", "24 mm of throw under a face of 20 mm: {rows}");
    assert_eq!((words[2], words[3]), ("ok", "ok"), "{rows}");
    // A key that no column depends on is taken and told.
    let idle =
        parse(&format!("{HEAD}design = {{ kind = \"grid\" }}\n[vary]\nmap.cell_mm = [2.0, 5.0]\n"), SMALL).unwrap();
    assert!(
        idle.warnings().iter().any(|w| w.contains("no column") && w.contains("map.cell_mm")),
        "{:?}",
        idle.warnings()
    );
    let wrong = parse(&format!("{HEAD}design = {{ kind = \"grid\" }}\n[vary]\nmap.cell_mm = [2.0, 500.0]\n"), SMALL);
    assert!(wrong.is_err_and(|p| p.to_string().contains("0.05 to 100 mm")));
}

/// A folder with the small job and a study of it.
fn at_work(design: &str) -> Folder {
    let folder = Folder::new();
    folder.put("job.toml", SMALL);
    let vary = VARY.replace(", count = 5", "").replace(", count = 4", "");
    folder.put("study.toml", format!("{HEAD}design = {design}\n{vary}"));
    folder
}

fn told(answer: &Answer, code: i32, words: &[&str]) {
    let text = answer.told();
    assert_eq!((answer.code, answer.out.as_str()), (Some(code), ""), "{text}");
    assert!(!text.contains("panicked"), "{text}");
    for word in words {
        assert!(text.contains(word), "lacks {word:?}: {text}");
    }
}

#[test]
fn the_command_works_shards_and_tells_one_object() {
    let folder = at_work("{ kind = \"sobol\", count = 50 }");
    let answer = run_in(folder.path(), &["sweep", "study.toml", "--out", "all.csv", "--json"]).json();
    assert_eq!((answer["rows"].as_u64(), answer["rows_found"].as_u64()), (Some(50), Some(0)));
    assert_eq!(answer["statuses"]["ok"].as_u64().unwrap() + answer["statuses"]["bottoms_out"].as_u64().unwrap(), 50);
    for i in 1..=7 {
        let out = format!("new/part-{i}.csv");
        assert_eq!(
            run_in(folder.path(), &["sweep", "study.toml", "--out", &out, "--shard", &format!("{i}/7")]).code,
            Some(0)
        );
    }
    let parts: Vec<String> = (1..=7).map(|i| format!("new/part-{i}.csv")).collect();
    let mut arguments = vec!["merge", "--out", "merged.csv"];
    arguments.extend(parts.iter().map(String::as_str));
    let merged = run_in(folder.path(), &arguments);
    assert_eq!(merged.code, Some(0), "{}", merged.err);
    assert!(merged.out.contains("50 cases from 7 shards"), "{}", merged.out);
    assert_eq!(fs::read(folder.path().join("merged.csv")).unwrap(), fs::read(folder.path().join("all.csv")).unwrap());
    told(&run_in(folder.path(), &["merge", "--out", "m.csv", &parts[0], &parts[2]]), 2, &["missing: 2, 4, 5, 6, 7"]);
    told(&run_in(folder.path(), &["merge", "--out", "m.csv", "none.csv"]), 1, &["none.csv"]);
    for shard in ["0/7", "8/7", "1/0", "1", "a/b", "-1/7", "1/100001"] {
        let option = format!("--shard={shard}");
        told(&run_in(folder.path(), &["sweep", "study.toml", "--out", "x.csv", &option]), 2, &["shard", shard]);
    }
    told(
        &run_in(folder.path(), &["sweep", "study.toml", "--out", "all.csv"]),
        2,
        &["all.csv exists already", "--force"],
    );
    told(&run_in(folder.path(), &["sweep", "study.toml", "--out", "new"]), 2, &["new is not a regular file"]);
    told(&run_in(folder.path(), &["sweep", "none.toml", "--out", "x.csv"]), 2, &["none.toml", "study file"]);
    #[cfg(unix)]
    told(
        &run_in(folder.path(), &["sweep", "study.toml", "--out", "/dev/full"]),
        2,
        &["/dev/full is not a regular file"],
    );
    assert!(unfinished(&folder).is_empty() && !folder.path().join("x.csv").exists());
}

#[test]
fn a_study_keeps_to_its_folder() {
    let folder = at_work("{ kind = \"sobol\", count = 4 }");
    fs::create_dir(folder.path().join("sub")).unwrap();
    let text = fs::read_to_string(folder.path().join("study.toml")).unwrap();
    folder.put("sub/study.toml", text.replace("\"job.toml\"", "\"../job.toml\""));
    let arguments = ["sweep", "sub/study.toml", "--out", "x.csv"];
    told(
        &run_in(folder.path(), &arguments),
        2,
        &["study.toml:2", "leads out of the study's folder", "--allow-outside"],
    );
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("../job.toml", folder.path().join("sub/link.toml")).unwrap();
        folder.put("sub/linked.toml", text.replace("\"job.toml\"", "\"link.toml\""));
        told(&run_in(folder.path(), &["sweep", "sub/linked.toml", "--out", "x.csv"]), 2, &["leads out"]);
    }
    let allowed = run_in(folder.path(), &[&arguments[..], &["--allow-outside"]].concat());
    assert_eq!(allowed.code, Some(0), "{}", allowed.err);
}

#[test]
fn killed_at_ten_moments_it_goes_on_to_the_same_bytes() {
    let folder = at_work("{ kind = \"random\", count = 3000, seed = 2 }");
    let start = std::time::Instant::now();
    let whole = run_in(folder.path(), &["sweep", "study.toml", "--out", "whole.csv"]);
    let length = start.elapsed();
    assert_eq!(whole.code, Some(0), "{}", whole.err);
    let expected = fs::read(folder.path().join("whole.csv")).unwrap();
    let mut interrupted = 0;
    for moment in 0..10_u64 {
        let out = format!("k{moment}.csv");
        // Killed three times on the way, at moments drawn from a fixed seed, then left to finish.
        for draw in 0..3 {
            let share = trochoid::math::random::Seed::new(77).uniform(moment, draw);
            let mut child = command(folder.path(), &["sweep", "study.toml", "--out", &out])
                .stdout(Stdio::null())
                .stderr(Stdio::null())
                .spawn()
                .unwrap();
            std::thread::sleep(length.mul_f64(0.6 * share));
            // On Unix this is SIGKILL.
            let _ = child.kill();
            let ended = child.wait().unwrap();
            if !ended.success() && folder.path().join(format!("{out}.part")).exists() {
                interrupted += 1;
                assert!(!folder.path().join(&out).exists(), "no final name before the end");
            }
        }
        if !folder.path().join(&out).exists() {
            let last = run_in(folder.path(), &["sweep", "study.toml", "--out", &out]);
            assert_eq!(last.code, Some(0), "{}", last.err);
        }
        assert!(fs::read(folder.path().join(&out)).unwrap() == expected, "moment {moment}");
    }
    assert!(interrupted >= 5, "{interrupted} runs were killed at work");
    assert_eq!(unfinished(&folder), [""; 0]);
}

#[cfg(unix)]
#[test]
fn two_runs_into_one_file_do_not_mix() {
    let folder = at_work("{ kind = \"random\", count = 200000000, seed = 2 }");
    let mut first = command(folder.path(), &["sweep", "study.toml", "--out", "t.csv"])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let part = folder.path().join("t.csv.part");
    for _ in 0..2000 {
        if fs::metadata(&part).is_ok_and(|m| m.len() > 1000) {
            break;
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    let second = run_in(folder.path(), &["sweep", "study.toml", "--out", "t.csv"]);
    let forced = run_in(folder.path(), &["sweep", "study.toml", "--out", "t.csv", "--force"]);
    let _ = first.kill();
    let _ = first.wait();
    told(&second, 1, &["another run is writing this table"]);
    told(&forced, 1, &["another run is writing this table"]);
    assert!(part.exists());
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_leaves_a_table_that_can_be_finished() {
    let folder = at_work("{ kind = \"random\", count = 3000, seed = 2 }");
    // A limit on the size of a file stands in for the full disk: the write fails in the middle of a batch.
    let binary = env!("CARGO_BIN_EXE_trochoid");
    let limited = |blocks: u32| {
        let script = format!("trap '' XFSZ; ulimit -f {blocks}; exec '{binary}' sweep study.toml --out t.csv");
        let child = std::process::Command::new("sh")
            .args(["-c", &script])
            .current_dir(folder.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        finish(child, Duration::from_secs(120))
    };
    // `ulimit -f` counts blocks of 512 bytes.
    told(&limited(100), 1, &["cannot write t.csv.part"]);
    assert!(!folder.path().join("t.csv").exists(), "nothing has the final name");
    told(&limited(0), 1, &["cannot write"]);
    let rest = run_in(folder.path(), &["sweep", "study.toml", "--out", "t.csv", "--json"]).json();
    assert!(rest["rows_found"].as_u64().unwrap() > 50, "{rest}");
    run_in(folder.path(), &["sweep", "study.toml", "--out", "u.csv"]);
    assert_eq!(fs::read(folder.path().join("t.csv")).unwrap(), fs::read(folder.path().join("u.csv")).unwrap());
}

#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_cannot_be_written_is_told() {
    let folder = at_work("{ kind = \"sobol\", count = 4 }");
    // The superuser writes into a folder without permission, but nobody makes files in /proc.
    told(
        &run_in(folder.path(), &["sweep", "study.toml", "--out", "/proc/t.csv"]),
        1,
        &["cannot write /proc/t.csv.state"],
    );
    told(&run_in(folder.path(), &["sweep", "study.toml", "--out", "job.toml/t.csv"]), 1, &["job.toml"]);
    assert_eq!(names_in(folder.path()).into_iter().collect::<Vec<_>>(), ["job.toml", "study.toml"]);
}
