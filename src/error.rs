//! The crate error, joining the small error enum of each folder, and the range error
//! that every validated quantity uses.

use core::fmt;

/// A quantity outside the range in which it means something.
///
/// Carries what was given and what would be allowed, in the unit a person typed. Told where a description is
/// made, so that what exists is in range.
///
/// # Example
/// ```
/// use trochoid::{Length, Pad, CompressionLaw, Stiffness};
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// // A face of 3 mm: pads are 5 to 500 mm.
/// let error = Pad::new(Length::from_mm(3.0), Length::from_mm(25.0), foam).map_err(|e| (e.what, e.unit, e.allowed));
/// assert_eq!(error, Err(("diameter_mm", "mm", "5 to 500".to_owned())));
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct RangeError {
    /// Name of the quantity, as in the job file where it has a key there.
    pub what: &'static str,
    /// Value given, [`unit`](Self::unit).
    pub value: f64,
    /// Unit of `value` and of the bounds in `allowed`; empty for a number without one.
    pub unit: &'static str,
    /// The allowed range or rule in words.
    pub allowed: String,
}

impl RangeError {
    /// A range error of `value` in `unit`, with the allowed range or rule in words.
    #[must_use]
    pub fn new(what: &'static str, value: f64, unit: &'static str, allowed: impl Into<String>) -> Self {
        Self { what, value, unit, allowed: allowed.into() }
    }
}

impl fmt::Display for RangeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.unit.is_empty() {
            write!(f, "{} = {} is outside the allowed range: {}", self.what, self.value, self.allowed)
        } else {
            write!(f, "{} = {} {} is outside the allowed range: {}", self.what, self.value, self.unit, self.allowed)
        }
    }
}

impl std::error::Error for RangeError {}

/// Everything that can go wrong, by the folder it comes from. Each variant holds the small error of that folder,
/// which says when it arises; `?` turns those into this one.
///
/// A stalled pad, a sticking face, a spent budget are results, not errors.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Error {
    /// A quantity outside its range, told when a description is made.
    Range(RangeError),
    /// The contact problem has no answer: the pad bottoms out, or the iteration stopped short.
    Contact(crate::contact::ContactError),
    /// The map or its grid cannot be made: too much memory or work.
    Field(crate::removal::FieldError),
    /// The contact problem has no answer at a place of a panel, which is told.
    Stop(crate::removal::StopError),
    /// A path over a panel cannot be made or read.
    Path(crate::motion::PathError),
    /// Film readings, a budget or a test spot that cannot be used.
    Budget(crate::budget::BudgetError),
    /// A finish that cannot be told: a surface too rough for the law, a grit of no known system.
    Finish(crate::finish::FinishError),
    /// A dwell that cannot be sought: nothing to cut, or nothing within reach.
    Dwell(crate::plan::DwellError),
    /// A run over time without an answer: a schedule with gaps, a drive that is not free, no contact.
    Transient(crate::spin::TransientError),
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Range(e) => e.fmt(f),
            Self::Contact(e) => e.fmt(f),
            Self::Field(e) => e.fmt(f),
            Self::Stop(e) => e.fmt(f),
            Self::Path(e) => e.fmt(f),
            Self::Budget(e) => e.fmt(f),
            Self::Finish(e) => e.fmt(f),
            Self::Dwell(e) => e.fmt(f),
            Self::Transient(e) => e.fmt(f),
        }
    }
}

impl std::error::Error for Error {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match self {
            Self::Range(e) => Some(e),
            Self::Contact(e) => Some(e),
            Self::Field(e) => Some(e),
            Self::Stop(e) => Some(e),
            Self::Path(e) => Some(e),
            Self::Budget(e) => Some(e),
            Self::Finish(e) => Some(e),
            Self::Dwell(e) => Some(e),
            Self::Transient(e) => Some(e),
        }
    }
}

impl From<RangeError> for Error {
    fn from(e: RangeError) -> Self {
        Self::Range(e)
    }
}

impl From<crate::contact::ContactError> for Error {
    fn from(e: crate::contact::ContactError) -> Self {
        Self::Contact(e)
    }
}

impl From<crate::removal::FieldError> for Error {
    fn from(e: crate::removal::FieldError) -> Self {
        Self::Field(e)
    }
}

impl From<crate::removal::StopError> for Error {
    fn from(e: crate::removal::StopError) -> Self {
        Self::Stop(e)
    }
}

impl From<crate::budget::BudgetError> for Error {
    fn from(e: crate::budget::BudgetError) -> Self {
        Self::Budget(e)
    }
}

impl From<crate::finish::FinishError> for Error {
    fn from(e: crate::finish::FinishError) -> Self {
        Self::Finish(e)
    }
}

impl From<crate::plan::DwellError> for Error {
    fn from(e: crate::plan::DwellError) -> Self {
        Self::Dwell(e)
    }
}

impl From<crate::spin::TransientError> for Error {
    fn from(e: crate::spin::TransientError) -> Self {
        Self::Transient(e)
    }
}

impl From<crate::motion::PathError> for Error {
    fn from(e: crate::motion::PathError) -> Self {
        Self::Path(e)
    }
}
