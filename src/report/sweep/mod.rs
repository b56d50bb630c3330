//! Sweeps as files: tables that are written row by row, gone on with after an interruption, and put together
//! from shards.

mod merge;
mod rows;
mod run;
mod shard;
mod state;

pub use merge::{Merged, merge_shards};
pub use rows::StatusCount;
pub use run::{MAX_BATCH, SweepDone, SweepRun, run_sweep};
pub use shard::{MAX_SHARDS, Shard};

use super::OutputError;
use core::fmt;
use std::path::PathBuf;

/// Why a sweep was not worked, or its shards not merged.
#[derive(Debug)]
#[non_exhaustive]
pub enum SweepError {
    /// A file or folder that cannot be read or written.
    Output(OutputError),
    /// Another run is writing this file now.
    Busy(PathBuf),
    /// The output is there already.
    Exists(PathBuf),
    /// The unfinished table belongs to another study, job, version or shard.
    OtherStudy {
        /// The output.
        out: PathBuf,
    },
    /// The output is a folder or a device.
    NotAFile(PathBuf),
    /// No shard was given.
    NothingToMerge,
    /// A file that is no shard of a sweep.
    NoShard {
        /// The file.
        path: PathBuf,
        /// What it is.
        why: String,
    },
    /// Two shards of different sweeps.
    OtherSweep {
        /// The first one.
        one: PathBuf,
        /// The one that does not go with it.
        other: PathBuf,
    },
    /// A shard that is there twice.
    Twice {
        /// Its number.
        number: u64,
        /// The first file.
        one: PathBuf,
        /// The second file.
        other: PathBuf,
    },
    /// Shards that are not there.
    Missing {
        /// How many there should be.
        of: u64,
        /// Their numbers.
        numbers: Vec<u64>,
    },
    /// A shard that ends early, or holds something that is no row.
    Unfinished {
        /// The file.
        path: PathBuf,
        /// First case that is not there.
        case: u64,
        /// One past its last case.
        end: u64,
    },
}

impl fmt::Display for SweepError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Output(e) => e.fmt(f),
            Self::Busy(out) => {
                write!(f, "{}: another run is writing this table now; wait for it, or name another file", out.display())
            }
            Self::Exists(out) => {
                write!(f, "{} exists already; remove it, name another file, or replace it with --force", out.display())
            }
            Self::OtherStudy { out } => write!(
                f,
                "{}.part and .state hold an unfinished table of another study, job, version or shard; finish that one, name another file, or begin anew with --force",
                out.display()
            ),
            Self::NotAFile(path) => write!(f, "{} is not a regular file; name a file for the table", path.display()),
            Self::NothingToMerge => f.write_str("no shard is given"),
            Self::NoShard { path, why } => write!(f, "{} cannot be merged: {why}", path.display()),
            Self::OtherSweep { one, other } => write!(
                f,
                "{} and {} belong to different sweeps: another study, job, version, or number of shards",
                one.display(),
                other.display()
            ),
            Self::Twice { number, one, other } => {
                write!(f, "shard {number} is there twice: {} and {}", one.display(), other.display())
            }
            Self::Missing { of, numbers } => {
                let some: Vec<String> = numbers.iter().take(20).map(u64::to_string).collect();
                let more = if numbers.len() > 20 { ", …" } else { "" };
                write!(f, "of {of} shards {} missing: {}{more}", numbers.len(), some.join(", "))
            }
            Self::Unfinished { path, case, end } if case < end => write!(
                f,
                "{}: the row of case {case} is not there or damaged (the shard goes to case {}); work this shard again",
                path.display(),
                end - 1
            ),
            Self::Unfinished { path, end, .. } => {
                write!(f, "{}: something follows the last row, that of case {}", path.display(), end.saturating_sub(1))
            }
        }
    }
}

impl std::error::Error for SweepError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        if let Self::Output(e) = self { Some(e) } else { None }
    }
}
