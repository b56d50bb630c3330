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
        let value = json(step, &solve(&session, step)?);
        session.write(&[("state.json".to_owned(), value.to_string().into_bytes())])?;
        return print_json(&value);
    }
    let mut out = String::new();
    let mut files = Vec::new();
    for step in &session.steps {
        let state = solve(&session, step)?;
        files.push((
            format!("{}-state.json", super::session::file_stem(&step.name)),
            json(step, &state).to_string().into_bytes(),
        ));
        text::state(&mut out, step, &state);
    }
    session.write(&files)?;
    print_out(&out)
}
