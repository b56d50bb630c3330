//! `plan` on a whole vehicle: kits, settings and order for every zone, minutes, needs, report.

use super::args::JobArguments;
use super::failure::Failure;
use super::plan::assumptions;
use super::progress::Progress;
use super::session::Session;
use super::{print_json, print_out, text};
use std::fmt::Write as _;
use std::path::Path;
use trochoid::job::vehicle::plan_vehicle;
use trochoid::report::{cautions_text, vehicle_json, vehicle_words};

pub(crate) fn run(mut session: Session, arguments: &JobArguments, done: Option<&Path>) -> Result<(), Failure> {
    if let Some(path) = done {
        session.job.read_done(path)?;
    }
    let progress = Progress::over(if session.writes() { 2 } else { 1 }, arguments.json);
    progress.at(|| "the vehicle".to_owned());
    let drag = |tool: &str| session.drag_range_of(tool);
    let plan = plan_vehicle(&session.job, &session.settings, &drag)
        .map_err(|e| Failure::about(&format!("{}: vehicle", session.job.file_name), &e))?;
    progress.done();
    let assumptions = assumptions(&session);
    let json = vehicle_json(&session.job, &plan, &assumptions);
    let mut out = String::new();
    if let Some(title) = &session.job.title {
        let _ = writeln!(out, "{title}");
    }
    for note in &session.notes {
        let _ = writeln!(out, "{note}");
    }
    out.push_str(&text::plain(&vehicle_words(&session.job, &plan)));
    let _ = writeln!(
        out,
        "{} values were assumed or defaulted; `trochoid check` lists them with their sources.",
        assumptions.len()
    );
    out.push_str(&cautions_text());
    drop(progress);
    if arguments.json { print_json(&json) } else { print_out(&out) }
}
