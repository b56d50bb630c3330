//! `init --ask`, the job it writes and the other commands that serve the shell: completions, man
//! pages, plain output in a pipe.

#![cfg(feature = "cli")]

use crate::cli::{Answer as Run, Folder, command, edited, finish, names_in, run, run_in};
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::io::Write;
use std::process::Stdio;
use std::time::Duration;
use trochoid::equipment::Drive;
use trochoid::job::Job;
use trochoid::job::ask::{Answer, Answers, Bend, Defects, DriveKind, PanelKind, QUESTIONS, Question, Wanted, Ways};

fn question(name: &str) -> &'static Question {
    QUESTIONS.iter().find(|q| q.name == name).unwrap_or_else(|| panic!("no question {name}"))
}

/// The job of a set of answers; it must read back without a warning.
fn job(answers: &Answers) -> Job {
    let text = answers.job_text().unwrap_or_else(|e| panic!("{e}: {answers:?}"));
    let job = Job::parse("asked.toml", &text).unwrap_or_else(|p| panic!("{p}\n{answers:?}\n{text}"));
    // A force at an end of its range is taken, and asked about.
    let warnings: Vec<&String> = job.warnings.iter().filter(|w| !w.contains("is it in newtons?")).collect();
    assert!(warnings.is_empty(), "{warnings:?}\n{text}");
    job
}

/// Same number as typed: text and back loses nothing but the rounding of a unit conversion.
fn same(got: f64, want: f64) -> bool {
    (got - want).abs() <= 1e-12 * want.abs().max(1.0)
}

/// Walks the questions and answers each with what `pick` gives; every default met must be allowed.
fn answered(mut pick: impl FnMut(&Question, Wanted, Answer) -> Answer) -> Answers {
    let mut answers = Answers::default();
    for q in QUESTIONS {
        if !q.is_asked(&answers) {
            continue;
        }
        let default = q.current(&answers);
        let mut tried = answers.clone();
        q.accept(&mut tried, default).unwrap_or_else(|e| panic!("the default of {}: {e}", q.name));
        let read = q.read(&answers, &q.words(default));
        assert!(read.is_ok(), "the default of {} as it is printed: {read:?}", q.name);
        let answer = pick(q, q.wanted(&answers), default);
        q.accept(&mut answers, answer).unwrap_or_else(|e| panic!("{}: {e}", q.name));
    }
    answers
}

/// What a job must say for a set of answers.
fn check_says(answers: &Answers) {
    let job = job(answers);
    let step = &job.steps[0];
    assert_eq!(job.steps.len(), if answers.defects == Defects::Haze { 1 } else { 2 });
    assert!(same(step.setup.force().n(), answers.force_n));
    assert!(same(step.setup.pad().diameter().mm(), answers.main_pad().diameter_mm));
    assert!(same(step.setup.pad().thickness().mm(), answers.main_pad().thickness_mm));
    assert!(same(step.target_cut.unwrap().um(), answers.target_cut_um), "{:?}", step.target_cut);
    assert!(same(step.panel.length().mm(), answers.length_mm) && same(step.panel.width().mm(), answers.width_mm));
    assert!(same(step.paint.clear().um(), answers.clear_um));
    assert!(same(job.ambient.temperature.c(), answers.temperature_c));
    assert!(same(job.ambient.relative_humidity, answers.humidity_percent / 100.0));
    assert!(same(step.hand_force_n.unwrap(), answers.hand_force_n(answers.force_n)));
    let tool = step.setup.tool();
    assert!(same(tool.mass().unwrap().kg(), answers.mass_kg));
    match (answers.drive, tool.drive()) {
        (DriveKind::Free, Drive::Free(_)) => assert!(same(tool.throw().mm(), answers.throw_mm)),
        (DriveKind::Geared, Drive::Geared { spin_per_orbit }) => {
            assert!(same(*spin_per_orbit, answers.spin_per_orbit));
        }
        (DriveKind::Rotary, Drive::Rotary { spin }) => assert!(same(spin.rpm(), answers.spin_rpm)),
        other => panic!("{other:?}"),
    }
    let (k1, k2) = step.setup.patch().principal();
    let (w1, w2) = answers.curvature_per_m();
    assert!(same(k1, w1) && same(k2, w2), "{k1} {k2} against {w1} {w2}");
    // A finishing step removes at most about a third of the cutting step (common practice), and no
    // less than the light band's 1 µm.
    if let Some(light) = job.steps.get(1) {
        let (light, main) = (light.target_cut.unwrap().um(), answers.target_cut_um);
        // 0.005: targets are written to a hundredth of a micrometre.
        assert!(light <= (main / 3.0).max(1.0) + 0.005 && light >= 1.0 - 0.005, "{light} of {main}");
    }
}

#[test]
fn every_combination_of_choices_writes_a_job_that_reads_back() {
    // An odometer over the choices, once each with every number at its default, lowest, highest.
    let mut jobs = 0;
    for numbers in 0..3 {
        let mut wheels: Vec<usize> = Vec::new();
        loop {
            let mut sizes = Vec::new();
            let answers = answered(|_, wanted, default| match wanted {
                Wanted::Choice(choices) => {
                    sizes.push(choices.len());
                    if wheels.len() < sizes.len() {
                        wheels.push(0);
                    }
                    Answer::Choice(wheels[sizes.len() - 1])
                }
                Wanted::Number { low, high, .. } => match numbers {
                    0 => default,
                    1 => Answer::Number(low),
                    _ => Answer::Number(high),
                },
            });
            check_says(&answers);
            jobs += 1;
            // The next combination: the last wheel that can turn does, those after it start again.
            wheels.truncate(sizes.len());
            while wheels.last().is_some_and(|w| w + 1 == sizes[wheels.len() - 1]) {
                wheels.pop();
            }
            match wheels.last_mut() {
                Some(w) => *w += 1,
                None => break,
            }
        }
    }
    // 3 named panels + 4 measured; 1 x 3 + 2 x 9 sets of firmness; 3 kinds of paint; 2 + 2 + 1
    // drives with a way to set them.
    assert_eq!(jobs, 3 * 7 * 21 * 3 * 5);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_answers_in_range_write_a_job_that_reads_back(picks in prop::collection::vec((0.0..=1.0_f64, any::<u8>()), 40)) {
        let mut next = picks.iter();
        let answers = answered(|_, wanted, _| {
            let (share, n) = next.next().unwrap();
            match wanted {
                Wanted::Choice(choices) => Answer::Choice(usize::from(*n) % choices.len()),
                // Clamped: low + 1.0 x (high - low) may round above high.
                Wanted::Number { low, high, .. } => Answer::Number((low + share * (high - low)).clamp(low, high)),
            }
        });
        check_says(&answers);
    }

    #[test]
    fn no_typed_answer_is_taken_outside_its_range(typed in "\\PC{0,12}", n in 0..QUESTIONS.len()) {
        let (q, mut answers) = (&QUESTIONS[n], Answers::default());
        if let Ok(answer) = q.read(&answers, &typed) {
            prop_assert!(q.accept(&mut answers, answer).is_ok(), "{} took {typed:?} as {answer:?}", q.name);
        }
    }
}

#[test]
fn answers_outside_their_range_write_no_job() {
    let outside = |change: fn(&mut Answers)| {
        let mut answers = Answers::default();
        change(&mut answers);
        answers.job_text().unwrap_err()
    };
    for (what, error) in [
        ("throw", outside(|a| a.throw_mm = 0.0)),
        ("force", outside(|a| a.force_n = 1e6)),
        ("rate", outside(|a| a.rate_opm = 5001.0)),
        ("mass", outside(|a| a.mass_kg = f64::NAN)),
        ("cut", outside(|a| a.target_cut_um = 4.5)),
        ("humidity", outside(|a| a.humidity_percent = f64::INFINITY)),
    ] {
        assert_eq!(error.what, what, "{error}");
    }
    // What is not asked does not count.
    assert!(Answers { gap_mm: f64::NAN, spin_rpm: -1.0, ..Answers::default() }.job_text().is_ok());
    let q = question("force");
    assert!(q.accept(&mut Answers::default(), Answer::Choice(0)).is_err(), "a place is not a force");
}

#[test]
fn typed_answers_are_read_as_a_person_means_them() {
    let a = Answers::default();
    let number = |name: &str, typed: &str| question(name).read(&a, typed);
    for typed in ["12.5", "12,5", " 12.5 mm", "12.5mm", "+12.5"] {
        assert_eq!(number("throw", typed), Ok(Answer::Number(12.5)), "{typed}");
    }
    for typed in ["", "wide", "nan", "inf", "1e999", "12 in", "12.5.1", "0x10", "25", "-3", "mm"] {
        let why = number("throw", typed).unwrap_err();
        assert!(why.ends_with("allowed: 1 to 24 mm"), "{typed}: {why}");
    }
    let panel = |typed: &str| question("panel").read(&a, typed);
    for typed in ["hollow", "HOLLOW", "h", "3", " hol "] {
        assert_eq!(panel(typed), Ok(Answer::Choice(2)), "{typed}");
    }
    for typed in ["0", "5", "roof", "-1", "hollows"] {
        assert!(panel(typed).unwrap_err().ends_with("allowed: flat, door, hollow, measured"), "{typed}");
    }
    // `s` could be swirls or scratches.
    assert!(question("defects").read(&a, "s").unwrap_err().contains("more than one"));
}

#[test]
fn every_question_has_its_words() {
    let mut names = BTreeSet::new();
    for q in QUESTIONS {
        assert!(names.insert(q.name), "{} stands twice", q.name);
        assert!(q.explanation.ends_with('.') && q.explanation.len() > 15, "{}", q.name);
        assert!(!q.text.ends_with(['?', ':', '.']), "{}: the terminal puts the mark", q.name);
        if let Wanted::Choice(choices) = q.wanted(&Answers::default()) {
            let words: BTreeSet<_> = choices.iter().map(|c| c.word).collect();
            assert_eq!(words.len(), choices.len(), "{}", q.name);
            assert!(choices.iter().all(|c| c.word == c.word.to_lowercase() && !c.means.is_empty()), "{}", q.name);
        }
    }
}

#[test]
fn a_straight_edge_gives_the_curvature() {
    let measured = |gap_mm: f64, edge_mm: f64, bend, ways| {
        Answers { panel: PanelKind::Measured, gap_mm, edge_mm, bend, ways, ..Answers::default() }.curvature_per_m()
    };
    // By hand: 8 x 0.008 / 0.5^2 = 0.256. Written to four decimals, so to 1e-12.
    let (k1, k2) = measured(8.0, 500.0, Bend::Crown, Ways::Both);
    assert!((k1 - 0.256).abs() < 1e-12 && (k2 - 0.256).abs() < 1e-12, "{k1} {k2}");
    let (k1, k2) = measured(8.0, 500.0, Bend::Hollow, Ways::One);
    assert!((k1 + 0.256).abs() < 1e-12 && k2.abs() < 1e-12, "{k1} {k2}");
    // The circle through both ends and the gap: 8 s / (L^2 + 4 s^2). At s = L/20 the short form is
    // 4/400 = 1 % high, below that less.
    for edge in [50.0, 300.0, 2000.0] {
        for share in [0.2, 0.5, 1.0] {
            let gap: f64 = share * edge / 20.0;
            let exact = 8.0 * gap / (edge * edge + 4.0 * gap * gap) * 1e3;
            let (k, _) = measured(gap, edge, Bend::Crown, Ways::Both);
            // 5e-5: half of the last decimal written.
            assert!(k >= exact - 5e-5 && k <= 1.01 * exact + 5e-5, "{gap} under {edge}: {k} against {exact}");
        }
    }
    let flat = Answers { panel: PanelKind::Measured, gap_mm: 0.0, ..Answers::default() };
    assert!(flat.job_text().unwrap().contains("shape = \"flat\""));
}

#[test]
fn the_scale_reads_force_over_gravity() {
    // Level: 35 N / 9.80665 m/s^2 = 3.57 kg, and nothing to add about the incline.
    let level = Answers { incline_deg: 0.0, ..Answers::default() };
    let drill = level.scale_drill().join("\n");
    assert!(
        drill.contains("alone reads 2.6 kg") && drill.contains("35 N on the face: press until the scale reads 3.6 kg")
    );
    assert!(!drill.contains("On this one"), "{drill}");
    // Upright: the hand gives all 35 N; on the scale the weight comes on top, 2.6 + 3.57 = 6.17 kg.
    let upright = Answers { incline_deg: 90.0, ..Answers::default() }.scale_drill().join("\n");
    assert!(upright.contains("your hand gives 35 N, which feels like 6.2 kg"), "{upright}");
    // The same words stand in the job.
    let text = level.job_text().unwrap().replace("\n# ", " ");
    for line in level.scale_drill() {
        assert!(text.contains(&line), "{line}");
    }
}

#[test]
fn a_cut_beyond_the_usual_share_of_the_clear_coat_is_cautioned() {
    assert_eq!(Answers::default().cautions(), Vec::<String>::new());
    // 3 + 1 µm of 12: a quarter is 3.
    let thin = Answers { clear_um: 12.0, ..Answers::default() };
    assert!(thin.cautions()[0].contains("4.0 µm together") && thin.cautions()[0].contains("is 3.0"));
    assert!(thin.job_text().unwrap().contains("# CAUTION: "));
    assert!(Answers { length_mm: 1400.0, ..Answers::default() }.cautions()[0].contains("section"));
}

/// Takes the marks away from the count of turns.
fn with_count(text: &str) -> String {
    let (before, rest) = text.split_once("# [tool.machine.counted_spin]").expect("the count is offered");
    let (table, after) = rest.split_once("\n\n").unwrap();
    format!("{before}[tool.machine.counted_spin]{}\n\n{after}", table.replace("\n# ", "\n"))
}

#[test]
fn the_count_of_turns_is_offered_to_free_drives_and_works() {
    for defects in [Defects::Haze, Defects::Swirls] {
        let answers = Answers { defects, target_cut_um: 2.0, ..Answers::default() };
        let text = with_count(&answers.job_text().unwrap());
        let job = Job::parse("counted.toml", &text).unwrap_or_else(|p| panic!("{p}\n{text}"));
        assert_eq!(job.counted_spins.len(), 1);
    }
    let folder = Folder::new();
    folder.put("job.toml", with_count(&Answers::default().job_text().unwrap()));
    let plan = run_in(folder.path(), &["plan", "job.toml"]);
    assert_eq!(plan.code, Some(0), "{}", plan.err);
    assert!(plan.out.contains("calibrated from counted turns"), "{}", plan.out);
    for drive in [DriveKind::Geared, DriveKind::Rotary] {
        assert!(!Answers { drive, ..Answers::default() }.job_text().unwrap().contains("counted_spin"));
    }
}

#[test]
fn the_plan_runs_on_the_answers_and_stays_in_the_bands() {
    let folder = Folder::new();
    // Bands of a step's cut: common practice, sources disagree. 1.25: whole passes only, so that a
    // target is passed by up to one pass of four.
    for (name, defects, target_cut_um, low, high) in [
        ("haze", Defects::Haze, 1.0, 1.0, 2.0),
        ("swirls", Defects::Swirls, 3.0, 2.0, 4.0),
        ("deep", Defects::Deep, 4.5, 4.0, 1.25 * 4.5),
    ] {
        folder.put(name, Answers { defects, target_cut_um, ..Answers::default() }.job_text().unwrap());
        let plan = run_in(folder.path(), &["plan", name, "--json"]).json();
        let steps = plan["steps"].as_array().unwrap();
        let cut = steps[0]["cut_um"]["mean"].as_f64().unwrap();
        assert!((low..=high).contains(&cut) && cut >= target_cut_um, "{name}: {cut}");
        assert!(steps.iter().all(|s| s["stalled"] == false), "{name}");
    }
    // Other machines and panels: an answer, whatever it is.
    for (name, drive, panel) in
        [("geared", DriveKind::Geared, PanelKind::Flat), ("rotary", DriveKind::Rotary, PanelKind::Hollow)]
    {
        folder.put(name, Answers { drive, panel, ..Answers::default() }.job_text().unwrap());
        let plan = run_in(folder.path(), &["plan", name]);
        assert_eq!(plan.code, Some(0), "{name}: {}", plan.err);
    }
}

/// Runs `init --ask` with typed answers.
fn ask(folder: &Folder, typed: &[u8]) -> Run {
    let mut child = command(folder.path(), &["init", "--ask", "asked.toml"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A talk that has ended does not read on.
    let _ = child.stdin.take().unwrap().write_all(typed);
    finish(child, Duration::from_secs(60))
}

#[test]
fn init_ask_writes_a_job_from_a_pipe_or_nothing() {
    let folder = Folder::new();
    for (typed, code, told) in [
        (&b""[..], 1, "nothing was written"),
        (b"hollow\n\n\n", 1, "nothing was written"),
        (&b"roof\n".repeat(1000), 2, "nothing was written"),
        (&[0xff; 5000], 1, "nothing was written"),
    ] {
        let refused = ask(&folder, typed);
        assert_eq!((refused.code, refused.out.as_str()), (Some(code), ""), "{}", refused.err);
        assert!(refused.err.contains(told) && !refused.err.contains("panicked"), "{}", refused.err);
        assert_eq!(names_in(folder.path()), BTreeSet::new(), "after {} bytes", typed.len());
    }

    let first = ask(&folder, &[b'\n'; 100]);
    assert_eq!((first.code, first.out.as_str()), (Some(0), ""), "{}", first.err);
    let written = std::fs::read_to_string(folder.path().join("asked.toml")).unwrap();
    assert_eq!(written, Answers::default().job_text().unwrap());
    for line in Answers::default().scale_drill() {
        assert!(first.told().contains(&line), "{line} in\n{}", first.err);
    }
    // It does not ask in vain where it may not write.
    let again = ask(&folder, &[b'\n'; 100]);
    assert_eq!(again.code, Some(2));
    assert!(again.err.contains("--force") && !again.err.contains("Panel"), "{}", again.err);
    assert_eq!(names_in(folder.path()).len(), 1, "no temporary file is left");
}

/// Commands as `--help` lists them.
fn commands() -> Vec<String> {
    let help = run(&["--help"]).out;
    let (_, list) = help.split_once("Commands:\n").unwrap();
    let list = list.lines().take_while(|l| !l.trim().is_empty());
    // A line that is indented further goes on with the one above.
    let names = list.filter(|l| l.starts_with("  ") && !l.starts_with("   "));
    names.map(|l| l.split_whitespace().next().unwrap().to_owned()).filter(|n| n != "help").collect()
}

#[test]
fn every_shell_gets_every_command() {
    let commands = commands();
    for expected in ["init", "check", "state", "stall", "map", "plan", "verify", "completions", "manual"] {
        assert!(commands.iter().any(|c| c == expected), "{expected}: {commands:?}");
    }
    let mut scripts = BTreeSet::new();
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let script = run(&["completions", shell]);
        assert_eq!((script.code, script.err.as_str()), (Some(0), ""), "{shell}");
        for word in commands.iter().map(String::as_str).chain(["json", "step", "ask"]) {
            assert!(script.out.contains(word), "{shell}: {word}");
        }
        assert!(scripts.insert(script.out), "{shell} gets a script of its own");
    }
    let refused = run(&["completions", "abacus"]);
    assert_eq!((refused.code, refused.out.as_str()), (Some(2), ""));
    assert!(refused.err.contains("zsh"), "{}", refused.err);
}

#[test]
fn every_command_gets_a_man_page() {
    let folder = Folder::new();
    let made = run_in(folder.path(), &["manual", "deep/man"]);
    assert_eq!((made.code, made.out.as_str()), (Some(0), ""), "{}", made.err);
    let mut expected: BTreeSet<String> = commands().iter().map(|c| format!("trochoid-{c}.1")).collect();
    expected.insert("trochoid.1".to_owned());
    let man = folder.path().join("deep/man");
    assert_eq!(names_in(&man), expected, "and no temporary file");
    for name in &expected {
        let page = std::fs::read_to_string(man.join(name)).unwrap();
        for part in [".TH ", ".SH NAME", ".SH SYNOPSIS", ".SH OPTIONS"] {
            assert!(page.contains(part), "{name}: {part}");
        }
        // As it is typed, with a space; dashes are escaped in a page.
        let typed = name.trim_end_matches(".1").replacen('-', " ", 1);
        let synopsis = page.split(".SH SYNOPSIS").nth(1).unwrap().split(".SH").next().unwrap().replace("\\fB", "");
        assert!(synopsis.contains(&typed), "{name}: {synopsis}");
    }
    // A page for a command that is not there is not made, and a file is no place for pages.
    folder.put("taken", "text");
    let refused = run_in(folder.path(), &["manual", "taken"]);
    assert_eq!(refused.code, Some(1));
    assert!(refused.err.contains("taken"), "{}", refused.err);
}

#[test]
fn nothing_in_a_pipe_is_coloured_or_moves() {
    let folder = Folder::new();
    let text =
        edited(&Answers::default().job_text().unwrap(), &[("schema = 1", "schema = 1\nmap = { cell_mm = 20.0 }")]);
    folder.put("job.toml", &text);
    folder.put("wrong.toml", edited(&text, &[("throw_mm = 15.0", "throw_mm = -15.0")]));
    folder.put("typo.toml", edited(&text, &[("diameter_mm", "diamter_mm")]));
    folder.put("broken.toml", "schema = [");
    for arguments in [
        &["check", "wrong.toml"][..],
        &["check", "typo.toml"],
        &["check", "broken.toml"],
        &["check", "none.toml"],
        &["plan", "job.toml", "--step", "none"],
        &["plan", "job.toml", "--out", "report"],
        &["stall", "job.toml", "--step", "cut"],
        &["polish"],
        &["--help"],
        &["plan", "--help"],
        &[],
    ] {
        let mut run = command(folder.path(), arguments);
        // A terminal that could show everything changes nothing in a pipe.
        run.env("TERM", "xterm-256color").env("COLORTERM", "truecolor").env_remove("NO_COLOR");
        for forced in ["CLICOLOR_FORCE", "FORCE_COLOR", "FORCE_HYPERLINK"] {
            run.env_remove(forced);
        }
        let run = run.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let run = finish(run, Duration::from_secs(120));
        for text in [&run.out, &run.err] {
            let moves = text.chars().find(|c| c.is_control() && *c != '\n');
            assert_eq!(moves, None, "{arguments:?}: {text:?}");
        }
    }
}
