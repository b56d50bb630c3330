//! `size`: a tool for a fleet of panels.

use super::args::JobArguments;
use super::failure::Failure;
use super::progress::Progress;
use super::session::Session;
use super::{print_json, print_out};
use trochoid::job::{Step, sizing_task};
use trochoid::plan::sizing::{Sizing, SizingOutcome, SizingTask, size_a_tool};
use trochoid::report::{cautions_text, impossible_words, sizing_csv, sizing_json, sizing_words};

pub(crate) fn run(arguments: &JobArguments) -> Result<(), Failure> {
    let session = Session::open(arguments)?;
    let file = &session.job.file_name;
    let Some(asked) = &session.job.sizing else {
        return Err(Failure::Input(format!(
            "{file}: this job has no [sizing] table, which says what may be chosen; notebooks-free-docs/job-file.md lists its keys"
        )));
    };
    // Without --step the table says which; the session's steps hold calibrated bearings.
    let step: &Step = match &arguments.step {
        Some(_) => session.only(),
        None => session.steps.iter().find(|s| s.name == asked.step_name).unwrap_or_else(|| session.only()),
    };
    let task = sizing_task(asked, step, &session.settings).map_err(|e| session.fail(step, &e.into()))?;
    let progress = Progress::over(2, arguments.json);
    progress.at(|| format!("{} designs", task.search.population * (task.search.generations + 1)));
    let sizing = match size_a_tool(&task).map_err(|e| session.fail(step, &e.into()))? {
        SizingOutcome::Sized(s) => s,
        SizingOutcome::Impossible(told) => {
            drop(progress);
            return Err(Failure::Unanswered(format!("{file}: {}", impossible_words(&task, &told).trim_end())));
        }
    };
    progress.done();
    let json = sizing_json(&step.name, &task, &sizing);
    if session.writes() {
        progress.at(|| "pictures".to_owned());
        let stem = session.stem(step);
        let table =
            sizing_csv(&task, &sizing).map_err(|e| Failure::Unanswered(format!("cannot make the table: {e}")))?;
        let mut files = vec![
            (format!("{stem}-sizing.json"), format!("{json:#}\n").into_bytes()),
            (format!("{stem}-sizing-front.csv"), table),
        ];
        files.extend(pictures(&session, step, &task, &sizing)?);
        progress.aside(|| session.write(&files))?;
    }
    progress.done();
    drop(progress);
    if arguments.json {
        return print_json(&json);
    }
    let mut out = sizing_words(&step.name, &task, &sizing);
    out.push_str(&cautions_text());
    print_out(&out)
}

#[cfg(feature = "plot")]
fn pictures(
    session: &Session,
    step: &Step,
    task: &SizingTask,
    sizing: &Sizing,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let stem = session.stem(step);
    let mut files = Vec::new();
    let made = trochoid::report::pictures::sizing_pictures(&step.name, task, sizing, session.drag_range(step))
        .map_err(|e| Failure::Unanswered(e.to_string()))?;
    for (name, figure) in made {
        super::plan::both_formats(&mut files, &format!("{stem}-{name}"), &figure)?;
    }
    Ok(files)
}

#[cfg(not(feature = "plot"))]
fn pictures(_: &Session, _: &Step, _: &SizingTask, _: &Sizing) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(Vec::new())
}
