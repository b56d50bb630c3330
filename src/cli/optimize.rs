//! `optimize`: settings for a hand, or the feed along the path for a machine.

use super::args::OptimizeArguments;
use super::failure::Failure;
use super::progress::Progress;
use super::session::Session;
use super::{print_json, print_out};
use serde_json::Value;
use trochoid::job::{Step, film_on_cells};
use trochoid::plan::{FeedPlan, FeedSettings, FeedTask, StepTask, optimise_feed, settings_for_hand};
use trochoid::report::{cautions_text, feed_csv, feed_json, feed_words, hand_settings_json, hand_settings_words};

/// A step answered: its JSON, its words, its files.
struct Answer {
    json: Value,
    words: String,
    files: Vec<(String, Vec<u8>)>,
}

pub(crate) fn run(arguments: &OptimizeArguments) -> Result<(), Failure> {
    let session = Session::open(&arguments.job)?;
    if arguments.job.json {
        session.only();
    }
    let steps = if arguments.job.json { &session.steps[..1] } else { &session.steps[..] };
    let progress = Progress::over(steps.len(), arguments.job.json);
    let mut out = String::new();
    let mut json = Value::Null;
    for step in steps {
        progress.at(|| format!("step `{}`", step.name));
        let task = working_part(&session, step)?;
        let answer =
            if arguments.who == "machine" { machine(&session, step, &task)? } else { hand(&session, step, &task)? };
        if session.writes() {
            let mut files =
                vec![(format!("{}-optimize.json", session.stem(step)), format!("{:#}\n", answer.json).into_bytes())];
            files.extend(answer.files);
            progress.aside(|| session.write(&files))?;
        }
        out.push_str(&answer.words);
        json = answer.json;
        progress.done();
    }
    drop(progress);
    if arguments.job.json {
        return print_json(&json);
    }
    out.push_str(&cautions_text());
    print_out(&out)
}

/// The step; of one with phases the phase that works, because the others only spread and finish.
fn working_part(session: &Session, step: &Step) -> Result<StepTask, Failure> {
    let task = session.task(step);
    let Some(phase) = task.repeated_phase() else { return Ok(task) };
    tell!("note: step `{}`: its phase `{}` is looked at alone", step.name, task.phases[phase].name);
    let mut parts = task.parts().map_err(|e| session.fail(step, &e.into()))?;
    Ok(parts.swap_remove(phase))
}

fn hand(session: &Session, step: &Step, task: &StepTask) -> Result<Answer, Failure> {
    let found = settings_for_hand(task, &session.settings).map_err(|e| session.fail(step, &e))?;
    Ok(Answer {
        json: hand_settings_json(&step.name, &step.panel_name, &found),
        words: hand_settings_words(&step.name, &step.panel_name, &found),
        files: Vec::new(),
    })
}

fn machine(session: &Session, step: &Step, task: &StepTask) -> Result<Answer, Failure> {
    let asked = session.job.optimize;
    let film = match asked.target {
        trochoid::plan::TargetKind::Film => {
            film_on_cells(&session.job, step, task).map_err(|e| session.fail(step, &e))?
        }
        trochoid::plan::TargetKind::Even => None,
    };
    let feed = FeedTask { limits: asked.limits, kind: asked.target, film, settings: FeedSettings::default() };
    let plan = optimise_feed(task, &feed, &session.settings).map_err(|e| session.fail(step, &e))?;
    let mut files = Vec::new();
    if session.writes() {
        let table = feed_csv(&plan).map_err(|e| Failure::Unanswered(format!("cannot make the table: {e}")))?;
        files.push((format!("{}-feed.csv", session.stem(step)), table));
        files.extend(pictures(session, step, task, &plan)?);
    }
    Ok(Answer {
        json: feed_json(&step.name, &step.panel_name, task, (asked.target, &asked.limits), &plan),
        words: feed_words(&step.name, &step.panel_name, task, (asked.target, &asked.limits), &plan),
        files,
    })
}

#[cfg(feature = "plot")]
fn pictures(
    session: &Session,
    step: &Step,
    task: &StepTask,
    plan: &FeedPlan,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let asked = session.job.optimize;
    let stem = session.stem(step);
    let mut files = Vec::new();
    let made = trochoid::report::pictures::feed_pictures(&step.name, task, plan, &asked.limits, asked.target)
        .map_err(|e| Failure::Unanswered(e.to_string()))?;
    for (name, figure) in made {
        super::plan::both_formats(&mut files, &format!("{stem}-{name}"), &figure)?;
    }
    Ok(files)
}

#[cfg(not(feature = "plot"))]
fn pictures(_: &Session, _: &Step, _: &StepTask, _: &FeedPlan) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(Vec::new())
}
