//! `init`: a commented starter job, or one written from a short talk.

use super::args::InitArguments;
use super::ask;
use super::failure::Failure;
use std::path::Path;
use trochoid::job::STARTER;
use trochoid::report::write_whole;

fn refuse_existing(arguments: &InitArguments) -> Result<(), Failure> {
    if arguments.job.exists() && !arguments.force {
        return Err(Failure::Input(format!(
            "{} is there already; give another name, or --force to replace it",
            arguments.job.display()
        )));
    }
    Ok(())
}

fn wrote(job: &Path) {
    tell!("wrote {}; next: trochoid plan {0} --out report", job.display());
}

pub(crate) fn run(arguments: &InitArguments) -> Result<(), Failure> {
    // Before the first question, so that no talk is in vain.
    refuse_existing(arguments)?;
    if !arguments.ask {
        write_whole(&arguments.job, STARTER.as_bytes())?;
        wrote(&arguments.job);
        return Ok(());
    }
    let answers = ask::at_terminal()?;
    let text = answers.job_text().map_err(|e| Failure::Input(format!("nothing was written: {e}")))?;
    // From here to the end of the write Ctrl-C waits: the file appears whole or not at all.
    let mut written = ask::hold_interrupt();
    refuse_existing(arguments)?;
    write_whole(&arguments.job, text.as_bytes())?;
    *written = true;
    drop(written);
    for line in answers.cautions().iter().chain(&answers.scale_drill()) {
        tell!("{}", ask::wrapped(line, ""));
    }
    wrote(&arguments.job);
    Ok(())
}
