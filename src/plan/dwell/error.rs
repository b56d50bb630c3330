//! Why a dwell cannot be sought.

use core::fmt;

/// A question about dwell that has no answer.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum DwellError {
    /// The mask holds no cell.
    EmptyMask,
    /// The target is zero all over the mask: there is nothing to cut.
    ZeroTarget,
    /// No unknown reaches a cell of the mask.
    OutOfReach,
    /// The face sticks: the pad only kneads and cuts nothing.
    NothingCut,
    /// The target follows a film that is not known place by place.
    UnknownFilm,
    /// A number that is not finite, or negative where it may not be.
    BadNumber {
        /// Which numbers.
        what: &'static str,
        /// Place in the list.
        index: usize,
        /// The number.
        value: f64,
        /// What is allowed.
        allowed: &'static str,
    },
    /// Lists that do not fit together.
    Length {
        /// Which list.
        what: &'static str,
        /// Length needed.
        needed: usize,
        /// Length given.
        given: usize,
    },
    /// More than the stated bound of memory.
    TooLarge {
        /// What is too large.
        what: &'static str,
        /// Its size.
        size: f64,
        /// The bound.
        most: f64,
    },
}

impl fmt::Display for DwellError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::EmptyMask => write!(f, "the mask holds no cell: there is nowhere to cut"),
            Self::ZeroTarget => write!(f, "the target is zero all over the mask: there is nothing to cut"),
            Self::OutOfReach => write!(f, "the pad reaches no cell of the mask from where it may stand"),
            Self::NothingCut => write!(f, "the face sticks: the pad only kneads and cuts nothing, at any feed"),
            Self::UnknownFilm => write!(
                f,
                "the target follows the film, which is known place by place only on a real panel or from three or more readings with their places"
            ),
            Self::BadNumber { what, index, value, allowed } => {
                write!(f, "{what}: entry {index} is {value}, allowed: {allowed}")
            }
            Self::Length { what, needed, given } => write!(f, "{what}: {given} entries given, {needed} needed"),
            Self::TooLarge { what, size, most } => {
                write!(f, "{what}: {size:.3e} is more than the {most:.0e} that memory is set aside for")
            }
        }
    }
}

impl std::error::Error for DwellError {}

/// Refuses a list of the wrong length.
pub(super) fn of_length(what: &'static str, given: usize, needed: usize) -> Result<(), DwellError> {
    if given == needed { Ok(()) } else { Err(DwellError::Length { what, needed, given }) }
}

/// Refuses a number that is not finite or below zero.
pub(super) fn not_negative(what: &'static str, values: &[f64]) -> Result<(), DwellError> {
    match values.iter().position(|v| !(v.is_finite() && *v >= 0.0)) {
        None => Ok(()),
        Some(index) => Err(DwellError::BadNumber { what, index, value: values[index], allowed: "finite, 0 or more" }),
    }
}
