//! `state`: contact, spin, speeds, removal and power at the panel's centre.

use super::args::JobArguments;
use super::failure::Failure;
use super::session::Session;
use super::{print_json, print_out, text};
use trochoid::job::Step;
use trochoid::plan::{OperatingState, operating_state};
use trochoid::report::state_json;

fn solve(session: &Session, step: &Step) -> Result<OperatingState, Failure> {
    let task = session.task(step);
    operating_state(&step.setup, &task.working, &session.at_hand(step), task.drag_range, &session.settings)
        .map_err(|e| session.fail(step, &e))
}

pub(crate) fn run(arguments: &JobArguments) -> Result<(), Failure> {
    let session = Session::open(arguments)?;
    let json = |step: &Step, state: &OperatingState| {
        state_json(&step.name, &step.panel_name, step.setup.force().n(), step.hand_force_n, step.setup.patch(), state)
    };
    if arguments.json {
        let step = session.only();
        let state = solve(&session, step)?;
        let value = json(step, &state);
        let mut files = vec![("state.json".to_owned(), format!("{value:#}\n").into_bytes())];
        if session.writes() {
            files.extend(pictures(&session, step, &state)?);
        }
        session.write(&files)?;
        return print_json(&value);
    }
    let mut out = String::new();
    let mut files = Vec::new();
    for step in &session.steps {
        let state = solve(&session, step)?;
        if session.writes() {
            let stem = session.stem(step);
            files.push((
                format!("{stem}-state.json"),
                format!(
                    "{:#}
",
                    json(step, &state)
                )
                .into_bytes(),
            ));
            files.extend(pictures(&session, step, &state)?);
        }
        text::state(&mut out, step, &state);
    }
    session.write(&files)?;
    print_out(&out)
}

#[cfg(feature = "plot")]
fn pictures(session: &Session, step: &Step, state: &OperatingState) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    use trochoid::plot::PlotError;
    use trochoid::report::pictures::{overlap_picture, pressure_picture, speed_picture, throw_picture};
    let fail = |e: PlotError| Failure::Unanswered(e.to_string());
    let stem = session.stem(step);
    let mut out = Vec::new();
    let mut add = |name: &str, figure: &trochoid::plot::Figure| {
        super::plan::both_formats(&mut out, &format!("{stem}-{name}"), figure)
    };
    add("pressure", &pressure_picture(&step.setup, &session.settings.contact).map_err(fail)?)?;
    if !state.run.sticks {
        add("speed", &speed_picture(&step.setup, &state.run).map_err(fail)?)?;
        add("overlap", &overlap_picture(&step.setup, &state.run, step.overlap).map_err(fail)?)?;
    }
    if let Some(figure) = throw_picture(&step.setup).map_err(fail)? {
        add("throw", &figure)?;
    }
    Ok(out)
}

#[cfg(not(feature = "plot"))]
#[allow(clippy::unnecessary_wraps)] // the same shape as with pictures
fn pictures(_: &Session, _: &Step, _: &OperatingState) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(Vec::new())
}
