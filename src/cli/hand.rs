//! The part of `plan` about the person: a hand that varies, and what the day does to it.

use super::failure::Failure;
use super::session::Session;
use serde_json::Value;
use std::fmt::Write as _;
use trochoid::job::{PanelPaint, Step, job_exposure};
use trochoid::plan::{HandVariability, StepPlan, StepTask, Work, hand_variability};
use trochoid::report::{exposure_words, hand_csv, hand_json, hand_words, put_exposure};

/// A step's hand: `None` without `[hand]`, else the outcome or why there is none.
pub(crate) type StepHand = Option<Result<HandVariability, &'static str>>;

/// Follows the hand over every step of a job that describes one.
pub(crate) fn hands(
    session: &Session,
    planned: &[(StepTask, StepPlan)],
    panels: &[PanelPaint],
) -> Result<Vec<StepHand>, Failure> {
    let Some(hand) = session.job.hand else { return Ok(planned.iter().map(|_| None).collect()) };
    let settings = trochoid::plan::VariabilitySettings {
        useful_spin: session.job.limits.useful_spin,
        contact: session.settings.contact,
        ..hand.trials()
    };
    let mut out = Vec::with_capacity(planned.len());
    for (i, (step, (task, plan))) in session.steps.iter().zip(planned).enumerate() {
        if matches!(plan.work, Work::Surface(_)) {
            out.push(Some(Err("not told for a panel with a shape of its own")));
            continue;
        }
        if !plan.phases.is_empty() {
            out.push(Some(Err("not told for a step with phases")));
            continue;
        }
        // What the steps before have left of the budget.
        let left = |p: &PanelPaint| {
            let place = p.steps.iter().position(|s| *s == session.before.len() + i)?;
            let taken = place.checked_sub(1).map_or(0.0, |k| p.account.steps[k].removed.mean);
            Some(p.account.allowance.allowed.best - taken)
        };
        let allowed = panels.iter().find(|p| p.panel == step.panel_name).and_then(left);
        let even = move |_: (f64, f64)| allowed.unwrap_or(f64::INFINITY);
        let known: Option<&dyn Fn((f64, f64)) -> f64> = if allowed.is_some() { Some(&even) } else { None };
        let made = hand_variability(task, &plan.state.run, plan.passes, &hand.scatter, known, &settings)
            .map_err(|e| session.fail(step, &e))?;
        out.push(Some(made.ok_or("the face sticks and cuts nothing")));
    }
    Ok(out)
}

/// Puts the hand into the JSON of a step; nothing where the job describes none.
pub(crate) fn put(json: &mut Value, hand: &StepHand) {
    match hand {
        None => {}
        Some(Ok(v)) => json["hand"] = hand_json(v),
        Some(Err(_)) => json["hand"] = Value::Null,
    }
}

/// The hand of a step in words.
pub(crate) fn text(out: &mut String, hand: &StepHand) {
    match hand {
        None => {}
        Some(Err(why)) => {
            let _ = writeln!(out, "  hand     {why}");
        }
        Some(Ok(v)) => {
            for (i, line) in hand_words(v).iter().enumerate() {
                let head = if i == 0 { "hand" } else { "" };
                let _ = writeln!(out, "  {head:8} {line}");
            }
        }
    }
}

/// Table and pictures of a step's hand, and the pictures for the printable report.
pub(crate) fn files(
    stem: &str,
    step: &Step,
    hand: &StepHand,
    files: &mut Vec<(String, Vec<u8>)>,
    shown: &mut Vec<trochoid::report::ReportPicture>,
) -> Result<(), Failure> {
    let Some(Ok(v)) = hand else { return Ok(()) };
    files.push((format!("{stem}-hand.csv"), hand_csv(v)));
    figures(stem, step, v, files, shown)
}

#[cfg(feature = "plot")]
fn figures(
    stem: &str,
    step: &Step,
    v: &HandVariability,
    files: &mut Vec<(String, Vec<u8>)>,
    shown: &mut Vec<trochoid::report::ReportPicture>,
) -> Result<(), Failure> {
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    let list = trochoid::report::pictures::hand_pictures(stem, &step.name, &step.setup, v).map_err(fail)?;
    let narrow = trochoid::report::pictures::narrow_hand_pictures(stem, &step.name, &step.setup, v).map_err(fail)?;
    for ((name, figure), (_, small)) in list.iter().zip(&narrow) {
        super::plan::both_formats(files, name, figure)?;
        shown.push(trochoid::report::ReportPicture::new(figure.title(), figure, Some(small)).map_err(fail)?);
    }
    Ok(())
}

#[cfg(not(feature = "plot"))]
fn figures(
    _: &str,
    _: &Step,
    _: &HandVariability,
    _: &mut Vec<(String, Vec<u8>)>,
    _: &mut Vec<trochoid::report::ReportPicture>,
) -> Result<(), Failure> {
    Ok(())
}

/// Puts the exposure of the day into the JSON and adds it to the text.
pub(crate) fn exposure(
    session: &Session,
    planned: &[(StepTask, StepPlan)],
    json: &mut Value,
    out: &mut String,
) -> Result<(), Failure> {
    let plans: Vec<&StepPlan> = planned.iter().map(|(_, p)| p).collect();
    let day =
        job_exposure(&session.steps, &plans).map_err(|e| Failure::Input(format!("{}: {e}", session.job.file_name)))?;
    let rates: Vec<f64> = session.steps.iter().map(|s| s.setup.tool().rate().rad_s()).collect();
    put_exposure(json, &day, &rates);
    for (head, line) in exposure_words(&day) {
        let _ = writeln!(out, "{head:8} {}", super::text::plain(&line));
    }
    Ok(())
}
