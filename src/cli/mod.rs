//! Commands over the library. Results go to standard output, messages to standard error.
//!
//! Exit codes: 0 done, 1 the job cannot be answered, 2 bad input.

/// Writes a line to standard error; that nobody reads it is not an error.
macro_rules! tell {
    ($($part:tt)*) => {{
        use std::io::Write as _;
        let _ = writeln!(std::io::stderr().lock(), $($part)*);
    }};
}

mod args;
mod ask;
mod check;
mod compare;
mod complete;
mod failure;
mod hand;
mod heat;
mod init;
mod machine;
mod manual;
mod map;
mod optimize;
mod plan;
mod progress;
mod session;
mod size;
mod spot;
mod stall;
mod state;
mod sweep;
mod text;
mod trace;
mod vehicle;
mod verify;

use args::{Arguments, Command};
use clap::Parser;
use failure::Failure;
use std::process::ExitCode;

/// Runs the command line.
pub(crate) fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(a) => a,
        Err(e) => {
            // Help and version are not failures; everything else is bad input.
            let code = if e.use_stderr() { 2 } else { 0 };
            let _ = e.print();
            return ExitCode::from(code);
        }
    };
    let result = match &arguments.command {
        Command::Init(a) => init::run(a),
        Command::Check(a) => check::run(a),
        Command::State(a) => state::run(a),
        Command::Stall(a) => stall::run(a),
        Command::Map(a) => map::run(a),
        Command::Heat(a) => heat::run(a),
        Command::Machine(a) => machine::run(a),
        Command::Trace(a) => trace::run(a),
        Command::Plan(a) => plan::run(a),
        Command::Spot(a) => spot::run(a),
        Command::Optimize(a) => optimize::run(a),
        Command::Size(a) => size::run(a),
        Command::Compare(a) => compare::run(a),
        Command::Sweep(a) => sweep::run(a),
        Command::Merge(a) => sweep::merge(a),
        Command::Verify(a) => verify::run(a),
        Command::Completions(a) => complete::run(a),
        Command::Manual(a) => manual::run(a),
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(f) => f.report(),
    }
}

/// Writes text to standard output; a reader that has gone away is not an error.
pub(crate) fn print_out(text: &str) -> Result<(), Failure> {
    use std::io::Write;
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Failure::Unanswered(format!("cannot write to standard output: {e}")))
        }
        _ => Ok(()),
    }
}

/// Prints one JSON object.
pub(crate) fn print_json(value: &serde_json::Value) -> Result<(), Failure> {
    let mut text = serde_json::to_string_pretty(value)
        .map_err(|e| Failure::Unanswered(format!("the result cannot be written as JSON: {e}")))?;
    text.push('\n');
    print_out(&text)
}
