//! `plan`: every step on its panel, with its limits, and pictures.

use super::args::JobArguments;
use super::failure::Failure;
use super::session::{Session, file_stem, names};
use super::{print_json, print_out, text};
use serde_json::{Value, json};
use std::fmt::Write as _;
use trochoid::plan::{StepPlan, StepTask, plan_step};
use trochoid::report::{map_csv, plan_json, step_json};

pub(crate) fn run(arguments: &JobArguments) -> Result<(), Failure> {
    let session = Session::open(arguments)?;
    let mut planned: Vec<(StepTask, StepPlan)> = Vec::new();
    for step in &session.steps {
        let task = session.task(step);
        let plan = plan_step(&task, &session.at_hand(step), &session.settings).map_err(|e| session.fail(step, &e))?;
        planned.push((task, plan));
    }
    let steps: Vec<Value> = session.steps.iter().zip(&planned).map(|(s, (_, p))| step_json(&names(s), p)).collect();
    let mut pads: Vec<&str> = session.steps.iter().map(|s| s.pad_name.as_str()).collect();
    pads.sort_unstable();
    pads.dedup();
    let time: f64 = planned.iter().map(|(_, p)| p.time_s).sum();
    let assumptions: Vec<Value> = session
        .job
        .resolved
        .iter()
        .filter(|r| r.is_default)
        .map(|r| json!({ "key": r.key, "value": r.value, "source": r.source, "grade": r.grade }))
        .collect();
    let json = plan_json(&steps, &pads, time, &assumptions);

    let mut out = String::new();
    if let Some(title) = &session.job.title {
        let _ = writeln!(out, "{title}");
    }
    for note in &session.notes {
        let _ = writeln!(out, "{note}");
    }
    for (step, (_, plan)) in session.steps.iter().zip(&planned) {
        text::planned(&mut out, step, plan);
    }
    let _ = writeln!(out, "total    {} with the pad on, {} steps", text::minutes(time), planned.len());
    let _ = writeln!(
        out,
        "{} values were assumed or defaulted; `trochoid check` lists them with their sources.",
        assumptions.len()
    );
    out.push_str(text::CAUTIONS);

    if session.writes() {
        let mut files = vec![
            ("plan.json".to_owned(), format!("{json:#}\n").into_bytes()),
            ("plan.txt".to_owned(), out.clone().into_bytes()),
        ];
        for (step, (task, plan)) in session.steps.iter().zip(&planned) {
            let stem = file_stem(&step.name);
            let table = map_csv(&plan.map).map_err(|e| Failure::Unanswered(format!("cannot make the table: {e}")))?;
            files.push((format!("{stem}-map.csv"), table));
            files.extend(pictures(&session, &stem, task, plan)?);
        }
        session.write(&files)?;
    }
    if arguments.json { print_json(&json) } else { print_out(&out) }
}

#[cfg(feature = "plot")]
fn pictures(
    session: &Session,
    stem: &str,
    task: &StepTask,
    plan: &StepPlan,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let list = trochoid::report::pictures::step_pictures(stem, task, plan, &session.settings)
        .map_err(|e| Failure::Unanswered(e.to_string()))?;
    let mut out = Vec::new();
    for (name, figure) in &list {
        both_formats(&mut out, name, figure)?;
    }
    Ok(out)
}

#[cfg(not(feature = "plot"))]
fn pictures(_: &Session, _: &str, _: &StepTask, _: &StepPlan) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(Vec::new())
}

/// A figure as SVG and as PNG.
#[cfg(feature = "plot")]
pub(crate) fn both_formats(
    out: &mut Vec<(String, Vec<u8>)>,
    stem: &str,
    figure: &trochoid::plot::Figure,
) -> Result<(), Failure> {
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    out.push((format!("{stem}.svg"), figure.to_svg().map_err(fail)?.into_bytes()));
    out.push((format!("{stem}.png"), figure.to_png(1.5).map_err(fail)?));
    Ok(())
}
