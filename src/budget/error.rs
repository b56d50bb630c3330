//! Why a budget question cannot be answered. A spent budget, a film that cannot be known or a gauge
//! too coarse for the cut are results, not errors.

use super::gauge::{FilmPart, GaugeKind, substrate_word};
use crate::equipment::Substrate;
use crate::error::RangeError;
use core::fmt;

/// Why a budget question has no answer.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum BudgetError {
    /// A quantity outside its range.
    Range(RangeError),
    /// A name that is empty or too long.
    Name {
        /// What is named.
        what: &'static str,
        /// The name, cut to 100 characters.
        value: String,
    },
    /// A gauge that cannot read on this substrate.
    Gauge {
        /// How the gauge measures.
        kind: GaugeKind,
        /// What lies under the film.
        substrate: Substrate,
    },
    /// A layer read with a gauge that sees the whole film only.
    Layer {
        /// How the gauge measures.
        kind: GaugeKind,
        /// The layer.
        part: FilmPart,
    },
    /// Too few readings for the question.
    TooFew {
        /// What is asked.
        what: &'static str,
        /// Readings there are.
        have: usize,
        /// Readings it takes.
        need: usize,
    },
    /// More work or memory than allowed.
    TooMuch {
        /// What there is too much of.
        what: &'static str,
        /// How much.
        value: f64,
        /// The most allowed.
        most: f64,
    },
    /// A line of a reading file.
    Table(TableError),
    /// Records of one spot whose passes do not grow.
    Passes {
        /// Name of the spot.
        spot: String,
        /// Passes of the look or reading.
        passes: u32,
        /// Passes of the one before, or the passes done in all.
        against: u32,
    },
    /// Something that a spot must have for the question asked.
    Missing {
        /// Name of the spot.
        spot: String,
        /// What is missing.
        what: &'static str,
    },
    /// A matrix that cannot be factored: the covariance is not positive definite.
    Covariance,
}

impl fmt::Display for BudgetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Range(e) => e.fmt(f),
            Self::Name { what, value } => write!(f, "{what} = '{value}' must be 1 to 100 characters"),
            Self::Gauge { kind, substrate } => {
                write!(f, "a {kind} gauge cannot read on {}; it reads {}", substrate_word(*substrate), kind.scope())
            }
            Self::Layer { kind, part } => write!(
                f,
                "a {kind} gauge reads the total film, not the {} layer; layers need an ultrasonic gauge",
                part.word()
            ),
            Self::TooFew { what, have, need } => write!(f, "{what} needs at least {need} readings, there are {have}"),
            Self::TooMuch { what, value, most } => write!(f, "{what}: {value:.3e} is more than the {most:.0e} allowed"),
            Self::Table(e) => e.fmt(f),
            Self::Passes { spot, passes, against } => write!(
                f,
                "test spot '{spot}': {passes} passes after {against}; looks must follow in growing passes, up to the passes done"
            ),
            Self::Missing { spot, what } => write!(f, "test spot '{spot}' lacks {what}"),
            Self::Covariance => f.write_str("the covariance of the readings is not positive definite"),
        }
    }
}

impl std::error::Error for BudgetError {}

impl From<RangeError> for BudgetError {
    fn from(e: RangeError) -> Self {
        Self::Range(e)
    }
}

impl From<TableError> for BudgetError {
    fn from(e: TableError) -> Self {
        Self::Table(e)
    }
}

/// A place in a reading file that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableError {
    /// File name.
    pub file: String,
    /// Line, from 1; the header is the first line that is not blank.
    pub line: usize,
    /// Column name; empty where the whole line is meant.
    pub column: String,
    /// What stands there, cut to 60 characters.
    pub value: String,
    /// What would be allowed.
    pub allowed: String,
}

impl fmt::Display for TableError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: ", self.file, self.line)?;
        if !self.column.is_empty() {
            write!(f, "column {}: ", self.column)?;
        }
        write!(f, "'{}' is not allowed: {}", self.value, self.allowed)
    }
}

impl std::error::Error for TableError {}
