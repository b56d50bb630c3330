//! Why a question about the finish cannot be answered.

use core::fmt;

use crate::error::RangeError;

/// Why a question about the finish cannot be answered: each variant says when it arises.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum FinishError {
    /// A quantity outside its range.
    Range(RangeError),
    /// The surface is too rough for the scatter law at this angle.
    TooRough {
        /// RMS roughness, m.
        roughness_m: f64,
        /// Largest RMS roughness for which the law is stated here, m.
        limit_m: f64,
        /// Angle of incidence, rad.
        angle_rad: f64,
    },
    /// A grit that names no system, or one that no table here holds.
    UnknownGrit {
        /// What was given.
        given: String,
        /// What would be understood.
        allowed: String,
    },
    /// A defect that no polishing takes away: no passes are computed for it.
    NotByPolishing {
        /// Name of the defect.
        defect: &'static str,
        /// Why polishing does not mend it, and what does.
        reason: &'static str,
    },
    /// More combinations than the search may try.
    TooManyPlans {
        /// Combinations asked for.
        plans: f64,
        /// Combinations allowed.
        limit: f64,
    },
}

impl fmt::Display for FinishError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Range(e) => e.fmt(f),
            Self::TooRough { roughness_m, limit_m, angle_rad } => write!(
                f,
                "an RMS roughness of {:.0} nm is beyond the scatter law at {:.0} degrees, which holds up to {:.0} nm: the surface is matt there and has no gloss to compute",
                roughness_m * 1e9,
                angle_rad.to_degrees(),
                limit_m * 1e9
            ),
            Self::UnknownGrit { given, allowed } => write!(f, "grit `{given}` is not known; {allowed}"),
            Self::NotByPolishing { defect, reason } => write!(f, "{defect} cannot be polished out: {reason}"),
            Self::TooManyPlans { plans, limit } => write!(
                f,
                "{plans:.1e} combinations of steps and passes are more than the {limit:.0e} allowed; give fewer steps or fewer passes each"
            ),
        }
    }
}

impl std::error::Error for FinishError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Range(e) => Some(e),
            _ => None,
        }
    }
}

impl From<RangeError> for FinishError {
    fn from(e: RangeError) -> Self {
        Self::Range(e)
    }
}
