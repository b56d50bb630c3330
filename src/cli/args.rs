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
    /// Set-ups side by side on the same panel, ranked per criterion, with a comparison sheet.
    Compare(CompareArguments),
    /// Run every published check and print source, expected, got.
    Verify(VerifyArguments),
    /// Print the script that completes commands and options in a shell.
    Completions(CompletionsArguments),
    /// Write man pages of the program and of every command.
    Manual(ManualArguments),
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
    /// Ask what you work on and with what, and write the job from the answers.
    ///
    /// Enter takes the answer in brackets, ? explains. Works from a file or a pipe too, one answer a
    /// line. If the answers end early or Ctrl-C stops it, nothing is written (exit code 1 or 130).
    #[arg(long)]
    pub(crate) ask: bool,
    /// Replace the file where it exists.
    #[arg(long)]
    pub(crate) force: bool,
}

/// Arguments of `completions`.
#[derive(Debug, Args)]
pub(crate) struct CompletionsArguments {
    /// Shell to write for.
    pub(crate) shell: clap_complete::Shell,
}

/// Arguments of `manual`.
#[derive(Debug, Args)]
pub(crate) struct ManualArguments {
    /// Folder for the pages; made where it is missing.
    pub(crate) dir: PathBuf,
}

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub(crate) struct VerifyArguments {
    /// Print one JSON object on standard output.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Arguments of `compare`.
#[derive(Debug, Args)]
pub(crate) struct CompareArguments {
    /// Job files (TOML): the first step of each, or every step of a single one.
    #[arg(required = true)]
    pub(crate) jobs: Vec<PathBuf>,
    /// The step to take from each job.
    #[arg(long, value_name = "NAME")]
    pub(crate) step: Option<String>,
    /// Folder for the comparison sheet; made where it is missing.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Print one JSON object on standard output.
    #[arg(long)]
    pub(crate) json: bool,
}
