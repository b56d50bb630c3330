//! `compare`: set-ups from several jobs side by side, ranked by one criterion at a time.

use super::args::{CompareArguments, JobArguments};
use super::failure::Failure;
use super::session::Session;
use super::{print_json, print_out};
use serde_json::{Map, Value, json};
use std::fmt::Write as _;
use std::path::Path;
use trochoid::plan::{Candidate, Criterion, StepPlan, compare, rank};
use trochoid::report::{prepare_folder, write_whole};
use trochoid::spin::StallSettings;

/// Most set-ups on one sheet.
const MOST: usize = 12;

fn candidates(arguments: &CompareArguments) -> Result<(Vec<Candidate>, StallSettings), Failure> {
    let mut list: Vec<Candidate> = Vec::new();
    let mut settings = StallSettings::default();
    for (index, job) in arguments.jobs.iter().enumerate() {
        let one = JobArguments { job: job.clone(), step: None, out: None, json: arguments.json };
        let mut session = Session::open(&one)?;
        if index == 0 {
            settings = session.settings;
        } else if (session.settings.useful_spin - settings.useful_spin).abs() > 1e-12 {
            tell!(
                "warning: {}: its useful minimum spin differs from the first job's, which is used",
                session.job.file_name
            );
        }
        if let Some(wanted) = &arguments.step {
            session.steps.retain(|s| &s.name == wanted);
            if session.steps.is_empty() {
                return Err(Failure::Input(format!("{}: there is no step `{wanted}`", session.job.file_name)));
            }
        }
        // One job alone is compared step by step; several jobs by their first (or named) step.
        let count = if arguments.jobs.len() == 1 { session.steps.len() } else { 1 };
        let stem = Path::new(&session.job.file_name)
            .file_stem()
            .map_or_else(|| session.job.file_name.clone(), |s| s.to_string_lossy().into_owned());
        for step in session.steps.iter().take(count) {
            let name = if arguments.jobs.len() == 1 { step.name.clone() } else { format!("{stem}: {}", step.name) };
            list.push(Candidate { name, task: session.task(step) });
        }
    }
    if list.len() < 2 {
        return Err(Failure::Input(
            "there is only one set-up: give two or more jobs, or one job with several steps".into(),
        ));
    }
    if list.len() > MOST {
        return Err(Failure::Input(format!("{} set-ups are too many for one sheet; at most {MOST}", list.len())));
    }
    Ok((list, settings))
}

pub(crate) fn run(arguments: &CompareArguments) -> Result<(), Failure> {
    let (list, settings) = candidates(arguments)?;
    let first = &list[0].task.panel;
    for c in &list[1..] {
        if c.task.panel.patch() != first.patch()
            || c.task.panel.length() != first.length()
            || c.task.panel.width() != first.width()
        {
            tell!(
                "warning: `{}` works another panel than `{}`: the figures are not like for like",
                c.name,
                list[0].name
            );
        }
    }
    let results = compare(&list, &settings);
    let mut shown: Vec<(&Candidate, &StepPlan)> = Vec::new();
    let mut failed = Vec::new();
    for (c, r) in list.iter().zip(&results) {
        match r {
            Ok(p) => shown.push((c, p)),
            Err(e) => {
                tell!("warning: `{}` is left out: {e}", c.name);
                failed.push(json!({ "name": c.name, "reason": e.to_string() }));
            }
        }
    }
    if shown.is_empty() {
        return Err(Failure::Unanswered("none of the set-ups can be answered".into()));
    }
    let (kept, plans): (Vec<&Candidate>, Vec<&StepPlan>) = shown.iter().copied().unzip();
    let json = to_json(&kept, &plans, &failed);
    let text = to_text(&kept, &plans);
    if let Some(folder) = &arguments.out {
        prepare_folder(folder)?;
        let mut files = vec![("compare.json".to_owned(), format!("{json:#}\n").into_bytes())];
        files.extend(pictures(&kept, &plans, &settings)?);
        for (name, bytes) in files {
            let path = folder.join(name);
            write_whole(&path, &bytes)?;
            tell!("wrote {}", path.display());
        }
    }
    if arguments.json { print_json(&json) } else { print_out(&text) }
}

fn to_json(kept: &[&Candidate], plans: &[&StepPlan], failed: &[Value]) -> Value {
    let setups: Vec<Value> = kept
        .iter()
        .zip(plans)
        .map(|(c, p)| {
            let mut one = Map::new();
            one.insert("name".to_owned(), json!(c.name));
            one.insert("stalled".to_owned(), json!(p.state.stalled));
            one.insert("passes".to_owned(), json!(p.passes));
            one.insert("cut_um_mean".to_owned(), json!(p.cut.map(|c| c.mean * 1e6)));
            for criterion in Criterion::ALL {
                one.insert(criterion.key().to_owned(), json!(criterion.value(p)));
            }
            Value::Object(one)
        })
        .collect();
    let ranking: Map<String, Value> = Criterion::ALL
        .iter()
        .map(|c| {
            let order: Vec<&str> = rank(*c, plans)
                .into_iter()
                .filter(|i| c.value(plans[*i]).is_some())
                .map(|i| kept[i].name.as_str())
                .collect();
            (c.key().to_owned(), json!(order))
        })
        .collect();
    json!({ "setups": setups, "ranking": ranking, "left_out": failed })
}

fn to_text(kept: &[&Candidate], plans: &[&StepPlan]) -> String {
    let mut out = String::new();
    for criterion in Criterion::ALL {
        let order = rank(criterion, plans);
        if order.iter().all(|i| criterion.value(plans[*i]).is_none()) {
            continue;
        }
        let _ = writeln!(out, "{}", criterion.title());
        let mut shown = String::new();
        let mut place = 0;
        for (before, i) in order.into_iter().enumerate() {
            match criterion.value(plans[i]) {
                Some(v) => {
                    let stalls = if plans[i].state.stalled { "   STALLS" } else { "" };
                    // Set-ups that read alike share a place.
                    let value = trochoid::report::three(v);
                    if value != shown {
                        (place, shown) = (before + 1, value);
                    }
                    let _ = writeln!(out, "  {place}. {shown:>8}  {}{stalls}", kept[i].name);
                }
                None => {
                    let _ = writeln!(out, "  -  {:>8}  {}", "none", kept[i].name);
                }
            }
        }
    }
    out
}

#[cfg(feature = "plot")]
fn pictures(
    kept: &[&Candidate],
    plans: &[&StepPlan],
    settings: &StallSettings,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let sheet = trochoid::report::pictures::comparison_sheet(kept, plans, settings)
        .map_err(|e| Failure::Unanswered(e.to_string()))?;
    let mut out = Vec::new();
    super::plan::both_formats(&mut out, "compare-sheet", &sheet)?;
    Ok(out)
}

#[cfg(not(feature = "plot"))]
#[allow(clippy::unnecessary_wraps)] // the same shape as with pictures
fn pictures(_: &[&Candidate], _: &[&StepPlan], _: &StallSettings) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(Vec::new())
}
