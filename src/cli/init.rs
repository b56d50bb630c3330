//! `init`: a commented starter job.

use super::args::InitArguments;
use super::failure::Failure;
use trochoid::job::STARTER;
use trochoid::report::write_whole;

pub(crate) fn run(arguments: &InitArguments) -> Result<(), Failure> {
    if arguments.job.exists() && !arguments.force {
        return Err(Failure::Input(format!(
            "{} is there already; give another name, or --force to replace it",
            arguments.job.display()
        )));
    }
    write_whole(&arguments.job, STARTER.as_bytes())?;
    eprintln!("wrote {}; next: trochoid plan {0} --out report", arguments.job.display());
    Ok(())
}
