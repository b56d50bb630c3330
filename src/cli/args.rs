//! Arguments of every command.

use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;

/// Computes what a random-orbit polisher does to automotive paint: pad spin and stall on curved
/// panels, cut, coverage and time.
#[derive(Debug, Parser)]
#[command(name = "trochoid", version, about, propagate_version = true)]
#[command(after_help = "Exit codes: 0 done, 1 the job cannot be answered, 2 bad input.\n\
    Results are advice with their uncertainty, never a guarantee.")]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// Commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write a commented starter job.
    Init(InitArguments),
    /// Read and validate a job; print every value with its source.
    Check(JobArguments),
    /// Operating state at the panel's centre: contact, spin, speeds, removal, power.
    State(JobArguments),
    /// Stall-threshold curves over orbit rate, force, throw and pad size.
    Stall(JobArguments),
    /// Fields over the panel: cut, coverage, dwell.
    Map(JobArguments),
    /// Plan every step: settings, passes, time, limits, pictures.
    Plan(JobArguments),
    /// Run every published check and print source, expected, got.
    Verify(VerifyArguments),
}

/// Arguments of a command on a job.
#[derive(Debug, Args)]
pub(crate) struct JobArguments {
    /// Job file (TOML).
    pub(crate) job: PathBuf,
    /// Only this step.
    #[arg(long, value_name = "NAME")]
    pub(crate) step: Option<String>,
    /// Folder for pictures and tables; made where it is missing.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Print one JSON object on standard output.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Arguments of `init`.
#[derive(Debug, Args)]
pub(crate) struct InitArguments {
    /// File to write.
    #[arg(default_value = "job.toml")]
    pub(crate) job: PathBuf,
    /// Replace the file where it exists.
    #[arg(long)]
    pub(crate) force: bool,
}

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub(crate) struct VerifyArguments {
    /// Print one JSON object on standard output.
    #[arg(long)]
    pub(crate) json: bool,
}
