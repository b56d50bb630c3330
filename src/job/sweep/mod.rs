//! Sweeps: one step of a job over many values of its keys.
//!
//! [`Study::read`] reads a study file and its job, finds every varied key in the job and tries the ends of
//! every range. [`Cases`] turns the number of a case into its step, with the readers of the job file, and into
//! a row of the table. A case depends on nothing but its number, so that any part of a sweep can be worked
//! anywhere.
//!
//! Not here: the table as a file, going on after an interruption, merging (`report`).
//!
//! # Example
//! ```
//! use trochoid::job::STARTER;
//! use trochoid::job::sweep::{Cell, JobText, Status, Study};
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let text = r#"
//! schema = 1
//! job = "starter.toml"
//! step = "cut"
//! columns = ["mean_pressure_pa", "face_throw_mm"]
//! design = { kind = "grid" }
//! [vary]
//! step.cut.force_n = [20.0, 40.0]
//! tool.long_throw.throw_mm = { low = 9.0, high = 15.0, count = 3 }
//! "#;
//! let study = Study::parse_with("study.toml", text, |name, _| {
//!     Ok(JobText { name: name.to_owned(), text: STARTER.to_owned(), folder: None })
//! })?;
//! let tree = study.tree()?;
//! let cases = tree.cases()?;
//! // Two forces x three throws; the last key runs fastest, so case 3 is 40 N with 9 mm.
//! assert_eq!(cases.count(), 6);
//! assert_eq!(cases.head(), "case,status,step.cut.force_n,tool.long_throw.throw_mm,mean_pressure_pa,face_throw_mm\n");
//! let mut row = String::new();
//! cases.row(3, &mut row);
//! assert!(row.starts_with("3,ok,40.0,9.0,"));
//! // 40 N over a face of π/4 · (130 mm)²: 3013.6 Pa.
//! let (status, cells) = cases.solve(3);
//! assert_eq!(status, Status::Ok);
//! assert!(matches!(cells[0], Cell::Number(pa) if (pa - 3013.6).abs() < 0.05));
//! # Ok(())
//! # }
//! ```

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
