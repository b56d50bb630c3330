//! `machine`: balance, bearings, motor and supply of the tools at their work.

use super::args::MachineArguments;
use super::failure::Failure;
use super::session::Session;
use super::{print_json, print_out};
use trochoid::job::{MachineSettings, Step};
use trochoid::plan::machine::{MachineState, machine_state, machine_work};
use trochoid::report::{MachineAnswer, machine_json, machine_words};
use trochoid::units::Time;

/// One tool, its steps with the machine in each, and how long each takes.
struct Worked<'s> {
    tool: &'s str,
    settings: MachineSettings,
    steps: Vec<(&'s Step, MachineState, Option<Time>)>,
}

impl Worked<'_> {
    fn answer(&self) -> MachineAnswer<'_> {
        let timed: Option<Vec<(&MachineState, Time)>> = self.steps.iter().map(|(_, m, t)| t.map(|t| (m, t))).collect();
        MachineAnswer {
            tool: self.tool,
            settings: &self.settings,
            steps: self.steps.iter().map(|(s, m, _)| (*s, m)).collect(),
            work: timed.and_then(|t| machine_work(&t, self.settings.work_per_vehicle)),
        }
    }
}

/// Keeps the steps of the tool asked for.
fn only_tool(session: &mut Session, tool: &str) -> Result<(), Failure> {
    let file = &session.job.file_name;
    if !session.job.tools.iter().any(|t| t.name == tool) {
        let known: Vec<&str> = session.job.tools.iter().map(|t| t.name.as_str()).collect();
        return Err(Failure::Input(format!("{file}: there is no tool `{tool}`; the job has {}", known.join(", "))));
    }
    if !session.steps.iter().any(|s| s.tool_name == tool) {
        return Err(Failure::Input(format!("{file}: no step asked for uses the tool `{tool}`")));
    }
    session.steps.retain(|s| s.tool_name == tool);
    Ok(())
}

pub(crate) fn run(arguments: &MachineArguments) -> Result<(), Failure> {
    let mut session = Session::open(&arguments.job)?;
    if let Some(tool) = &arguments.tool {
        only_tool(&mut session, tool)?;
    }
    let mut worked: Vec<Worked<'_>> = Vec::new();
    for step in &session.steps {
        let settings = session.job.machine(&step.tool_name);
        let state = machine_state(&step.setup, &settings.description, &session.settings.contact)
            .map_err(|e| session.fail(step, &e))?;
        // What the supply gives on a vehicle, and how the bearings share their time, asks how long a step takes.
        let several = session.steps.iter().filter(|s| s.tool_name == step.tool_name).count() > 1;
        let asks = several || (settings.description.supply.is_some() && settings.work_per_vehicle.is_none());
        let time = if asks { Time::from_s(session.plan(step)?.1.time_s) } else { Time::from_s(1.0) };
        let time = Some(time).filter(|_| asks || settings.work_per_vehicle.is_some());
        match worked.iter_mut().find(|w| w.tool == step.tool_name) {
            Some(w) => w.steps.push((step, state, time)),
            None => worked.push(Worked { tool: &step.tool_name, settings, steps: vec![(step, state, time)] }),
        }
    }
    let answers: Vec<MachineAnswer<'_>> = worked.iter().map(Worked::answer).collect();
    let json = machine_json(&answers);
    let text = machine_words(&answers);
    if session.writes() {
        let mut files = vec![
            ("machine.json".to_owned(), format!("{json:#}\n").into_bytes()),
            ("machine.txt".to_owned(), text.clone().into_bytes()),
        ];
        pictures(&session, &answers, &mut files)?;
        session.write(&files)?;
    }
    if arguments.job.json { print_json(&json) } else { print_out(&text) }
}

#[cfg(feature = "plot")]
fn pictures(
    session: &Session,
    answers: &[MachineAnswer<'_>],
    files: &mut Vec<(String, Vec<u8>)>,
) -> Result<(), Failure> {
    use trochoid::plan::machine::lives_over_rate;
    use trochoid::report::pictures::{life_rates, machine_pictures};
    for a in answers {
        for (step, state) in &a.steps {
            let (setup, machine) = (&step.setup, &a.settings.description);
            let bearings = machine.spindle.is_some() || machine.pad.is_some();
            let rates = if bearings { life_rates(setup) } else { Vec::new() };
            let lives = lives_over_rate(setup, machine, &rates, &session.settings.contact)
                .map_err(|e| session.fail(step, &e))?;
            let made = machine_pictures(step, state, &lives).map_err(|e| Failure::Unanswered(e.to_string()))?;
            for (name, figure) in &made {
                super::plan::both_formats(files, &format!("{}-{name}", session.stem(step)), figure)?;
            }
        }
    }
    Ok(())
}

#[cfg(not(feature = "plot"))]
#[allow(clippy::unnecessary_wraps)] // the same shape as with pictures
fn pictures(_: &Session, _: &[MachineAnswer<'_>], _: &mut Vec<(String, Vec<u8>)>) -> Result<(), Failure> {
    Ok(())
}
