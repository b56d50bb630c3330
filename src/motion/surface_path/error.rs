//! What can go wrong with a path over a surface.

use crate::error::RangeError;
use core::fmt;

/// A path that cannot be made or read.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum PathError {
    /// A setting outside its range; of a report, more revisits than are kept.
    Range(RangeError),
    /// No place is far enough from every edge, tape line and border: the inset is too large for the panel.
    NothingToWork {
        /// Distance asked for, m.
        inset: f64,
        /// Largest distance there is, m; not positive where all is taped or off the panel.
        largest: f64,
    },
    /// More waypoints than a path may have; told before a raster is laid out, where that can be seen.
    TooManyWaypoints {
        /// The most allowed.
        allowed: usize,
    },
    /// A row of a path file that cannot be read, or that leaves the panel with the pad on.
    Row(RowError),
}

/// A row of a path file that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct RowError {
    /// The file, as named by the caller.
    pub file: String,
    /// Line in it, from 1; the header is line 1.
    pub line: usize,
    /// Column by its name, or what the row as a whole lacks.
    pub column: String,
    /// What stands there.
    pub value: String,
    /// What may stand there.
    pub allowed: String,
}

impl fmt::Display for RowError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {} = {}: allowed is {}", self.file, self.line, self.column, self.value, self.allowed)
    }
}

impl fmt::Display for PathError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Range(e) => e.fmt(f),
            Self::NothingToWork { inset, largest } => write!(
                f,
                "nothing to work: no place keeps the pad centre {} mm from edges, tape and borders (the roomiest has {} mm)",
                inset * 1e3,
                largest * 1e3
            ),
            Self::TooManyWaypoints { allowed } => {
                write!(
                    f,
                    "the path needs more than {allowed} waypoints: fewer passes, wider lines or waypoints further apart"
                )
            }
            Self::Row(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for PathError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Range(e) => Some(e),
            _ => None,
        }
    }
}

impl From<RangeError> for PathError {
    fn from(e: RangeError) -> Self {
        Self::Range(e)
    }
}
