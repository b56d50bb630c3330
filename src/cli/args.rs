//! Arguments of every command.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Predicts what a random-orbit polisher does to paint: whether the pad still turns on a curve, how
/// much it cuts and how evenly, and how long a job takes.
#[derive(Debug, Parser)]
#[command(name = "trochoid", version, propagate_version = true)]
#[command(after_help = "To begin: trochoid init --ask, then trochoid plan job.toml --out report\n\
    Exit codes: 0 done, 1 the job cannot be answered, 2 bad input.\n\
    Results are advice with their uncertainty, never a guarantee.")]
pub(crate) struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// Commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Write a job to start from; with --ask from your answers.
    Init(InitArguments),
    /// Check a job and list every value, given or assumed, with its source.
    Check(JobArguments),
    /// How the pad runs at the panel's centre: contact, spin, stall, cut, power.
    State(JobArguments),
    /// How tight a hollow stalls the pad, over orbit rate, force, throw and pad size.
    Stall(JobArguments),
    /// Where a step cuts: cut, coverage and dwell over the panel.
    Map(MapArguments),
    /// What the grains of a pad draw: traces, gaps, near repeats, direction of scratches.
    Trace(TraceArguments),
    /// What friction does to paint, pad and product: temperatures, rest, working time, pads.
    Heat(JobArguments),
    /// The machine itself: balance, bearing life, motor margin and duty, supply.
    Machine(MachineArguments),
    /// Plan the job: settings, passes, cut, time and what limits each step.
    Plan(PlanArguments),
    /// Print the card of a test spot: what to try in which order, what to look at, what to decide.
    Spot(SpotArguments),
    /// Better settings for a step: for a hand, or the feed along the path for a machine.
    Optimize(OptimizeArguments),
    /// Size a tool for a fleet of panels: the best trade-offs in the ranges of [sizing], and one chosen.
    Size(JobArguments),
    /// Set-ups side by side on the same panel, ranked per criterion, with a comparison sheet.
    Compare(CompareArguments),
    /// Work one step of a job over many values of its keys, into a table; goes on after an interruption.
    Sweep(SweepArguments),
    /// Put the shards of a sweep together: the bytes of one run.
    Merge(MergeArguments),
    /// Run the built-in checks against published values.
    Verify(VerifyArguments),
    /// Print the script that completes commands and options in a shell.
    Completions(CompletionsArguments),
    /// Write man pages of the program and of every command.
    Manual(ManualArguments),
}

/// Arguments of `plan`.
#[derive(Debug, Args)]
pub(crate) struct PlanArguments {
    /// The job.
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// What is done already of a vehicle: a file of [[done]] tables; the rest is planned again.
    #[arg(long, value_name = "FILE")]
    pub(crate) done: Option<PathBuf>,
}

/// Arguments of a command on a job.
#[derive(Debug, Args)]
pub(crate) struct JobArguments {
    /// Job file (TOML).
    pub(crate) job: PathBuf,
    /// Only this step; without it every step, for size the one that [sizing] names, with --json of state, stall,
    /// map, trace and heat the first.
    #[arg(long, value_name = "NAME")]
    pub(crate) step: Option<String>,
    /// Folder for pictures, tables and results; made where it is missing.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Print one JSON object instead of text.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Arguments of `machine`.
#[derive(Debug, Args)]
pub(crate) struct MachineArguments {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// Only this tool; without it every tool that a step uses.
    #[arg(long, value_name = "NAME")]
    pub(crate) tool: Option<String>,
}

/// How a map is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Method {
    /// The orbit-averaged footprint along the path: exact in time, no noise.
    Footprint,
    /// Every grain step by step: slower, with the noise of the grains.
    Grains,
}

/// Arguments of `map`.
#[derive(Debug, Args)]
pub(crate) struct MapArguments {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// How the map is worked out.
    #[arg(long, value_enum, default_value = "footprint")]
    pub(crate) method: Method,
    /// Grains of the simulation, with --method grains.
    #[arg(long, value_name = "COUNT", default_value_t = 4000, value_parser = clap::value_parser!(u32).range(1..=4_000_000))]
    pub(crate) grains: u32,
    /// Seed of the grains' places, with --method grains.
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
}

/// Arguments of `trace`.
#[derive(Debug, Args)]
pub(crate) struct TraceArguments {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// Seed of the grains' places.
    #[arg(long, default_value_t = 1)]
    pub(crate) seed: u64,
    /// Width of a grain's trace, micrometres, to judge by when a grain repeats itself.
    #[arg(long, value_name = "UM", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub(crate) grain_width_um: u32,
}

/// Arguments of `spot`.
#[derive(Debug, Args)]
pub(crate) struct SpotArguments {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// How bad the marks are.
    #[arg(long, default_value = "moderate", value_parser = ["light", "moderate", "heavy"])]
    pub(crate) defects: String,
    /// Passes of each trial; those of the step without it.
    #[arg(long, value_parser = clap::value_parser!(u32).range(1..=100))]
    pub(crate) passes: Option<u32>,
}

/// Arguments of `optimize`.
#[derive(Debug, Args)]
pub(crate) struct OptimizeArguments {
    #[command(flatten)]
    pub(crate) job: JobArguments,
    /// Who leads the tool: a hand at one steady feed, or a machine that changes it along the path.
    #[arg(long = "for", value_name = "WHO", default_value = "hand", value_parser = ["hand", "machine"])]
    pub(crate) who: String,
}

/// Arguments of `init`.
#[derive(Debug, Args)]
pub(crate) struct InitArguments {
    /// Job file to write.
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
    /// Shell to complete in.
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
    /// Folder for validation.md, a page with every check; made where it is missing.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Print one JSON object instead of text.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Arguments of `sweep`.
#[derive(Debug, Args)]
pub(crate) struct SweepArguments {
    /// Study file (TOML).
    pub(crate) study: PathBuf,
    /// Table to write (CSV). A run that was interrupted goes on where it ended.
    #[arg(long, value_name = "FILE")]
    pub(crate) out: PathBuf,
    /// Only part I of N of the cases, as in 3/7.
    #[arg(long, value_name = "I/N", default_value = "1/1")]
    pub(crate) shard: String,
    /// Replace a table that exists, or the unfinished one of another study.
    #[arg(long)]
    pub(crate) force: bool,
    /// Let the study name a job outside its folder.
    #[arg(long)]
    pub(crate) allow_outside: bool,
    /// Print one JSON object instead of text.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Arguments of `merge`.
#[derive(Debug, Args)]
pub(crate) struct MergeArguments {
    /// Shards (CSV), in any order.
    #[arg(required = true)]
    pub(crate) parts: Vec<PathBuf>,
    /// Table to write (CSV).
    #[arg(long, value_name = "FILE")]
    pub(crate) out: PathBuf,
    /// Replace a table that exists.
    #[arg(long)]
    pub(crate) force: bool,
    /// Print one JSON object instead of text.
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
    /// Print one JSON object instead of text.
    #[arg(long)]
    pub(crate) json: bool,
}
