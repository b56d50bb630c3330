//! Why a run over time has no answer.

use crate::contact::ContactError;
use crate::error::RangeError;
use core::fmt;

/// Why a run over time has no answer.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum TransientError {
    /// A quantity outside its range.
    Range(RangeError),
    /// A piece that does not start where the one before ends.
    Gap {
        /// Which piece, counted from zero.
        piece: usize,
        /// Where it starts \[s\].
        starts_s: f64,
        /// Where the one before ends \[s\].
        expected_s: f64,
    },
    /// The drive does not let the pad turn freely.
    NotFree,
    /// The contact has no answer at a moment of the schedule.
    Contact {
        /// When \[s\].
        at_s: f64,
        /// Why.
        error: ContactError,
    },
    /// The integration stopped before the end.
    Stopped {
        /// Last good moment \[s\].
        at_s: f64,
        /// Spin there [rad/s].
        spin: f64,
        /// Orbit rate there [rad/s].
        rate: f64,
        /// Why.
        why: &'static str,
    },
}

impl fmt::Display for TransientError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Range(e) => e.fmt(f),
            Self::Gap { piece, starts_s, expected_s } => write!(
                f,
                "piece {} starts at {starts_s} s where {expected_s} s is expected: pieces follow each other without gap or overlap",
                piece + 1
            ),
            Self::NotFree => {
                f.write_str("the spin of this drive is given by its gear or shaft: only a free drive has a transient")
            }
            Self::Contact { at_s, error } => write!(f, "at {at_s:.4} s: {error}"),
            Self::Stopped { at_s, spin, rate, why } => write!(
                f,
                "the integration stopped at {at_s:.6} s (spin {spin:.3} rad/s, orbit rate {rate:.3} rad/s): {why}"
            ),
        }
    }
}

impl std::error::Error for TransientError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Range(e) => Some(e),
            Self::Contact { error, .. } => Some(error),
            _ => None,
        }
    }
}

impl From<RangeError> for TransientError {
    fn from(e: RangeError) -> Self {
        Self::Range(e)
    }
}
