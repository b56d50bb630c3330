//! The crate error, joining the small error enum of each folder, and the range error
//! that every validated quantity uses.

use core::fmt;

/// A quantity outside the range in which it means something.
///
/// Carries what was given and what would be allowed, in the unit a person typed.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct RangeError {
    /// Name of the quantity, as in the job file where it has a key there.
    pub what: &'static str,
    /// Value given, in `unit`.
    pub value: f64,
    /// Unit of `value` and of the bounds in `allowed`.
    pub unit: &'static str,
    /// The allowed range or rule in words.
    pub allowed: String,
}

impl RangeError {
    /// Makes a range error.
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

/// Everything that can go wrong, by the folder it comes from.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Error {
    /// A quantity outside its range.
    Range(RangeError),
    /// The contact problem has no answer.
    Contact(crate::contact::ContactError),
    /// The map or its grid cannot be made.
    Field(crate::removal::FieldError),
    /// The contact problem has no answer at a place of a panel.
    Stop(crate::removal::StopError),
    /// A path over a panel cannot be made or read.
    Path(crate::motion::PathError),
    /// Film readings, a budget or a test spot that cannot be used.
    Budget(crate::budget::BudgetError),
    /// A finish that cannot be told.
    Finish(crate::finish::FinishError),
    /// A dwell that cannot be sought.
    Dwell(crate::plan::DwellError),
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

impl From<crate::motion::PathError> for Error {
    fn from(e: crate::motion::PathError) -> Self {
        Self::Path(e)
    }
}
