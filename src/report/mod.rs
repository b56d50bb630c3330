//! What leaves the program: JSON, CSV, and files that are never half written.

mod csv;
mod json;
mod output;
#[cfg(feature = "plot")]
pub mod pictures;

pub use csv::{curves_csv, map_csv};
pub use json::{StepNames, map_json, plan_json, state_json, step_json};
pub use output::{OutputError, prepare_folder, write_whole};
