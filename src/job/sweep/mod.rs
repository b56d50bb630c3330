//! Sweeps: one step of a job over many values of its keys.
//!
//! [`Study::read`] reads a study file and its job, finds every varied key in the job and tries the ends of
//! every range. [`Cases`] turns the number of a case into its step, with the readers of the job file, and into
//! a row of the table. A case depends on nothing but its number, so that any part of a sweep can be worked
//! anywhere.
//!
//! Not here: the table as a file, going on after an interruption, merging (`report`).

mod cases;
mod column;
mod keys;
mod place;
mod study;
mod text;
mod trial;

pub use cases::{CaseStep, Cases, JobTree};
pub use column::{Cell, Column, Status};
pub use study::{JobText, MAX_VALUES, Study, VariedKey};
