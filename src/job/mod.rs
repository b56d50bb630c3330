//! The job file: one TOML text that names tools, pads, products, paints and panels and the steps
//! worked with them.
//!
//! Reading goes one way: text within a size limit ([`Job::read`], [`Job::parse`]) -> spanned tables
//! -> the validated types of `equipment`, `panel` and `spin` -> [`Job`]. Every refusal is a
//! [`Problem`] that knows file, line, column, key, value and allowed range. Every value that a job
//! leaves out comes from the documented defaults and is listed in [`Job::resolved`].
//!
//! Not here: any physics, any printing, the command line.

mod account;
pub mod ask;
mod choice;

mod equipment;
mod file;
mod keys;
mod model;
mod pads;
mod paint_tables;
mod panel;
mod problem;
mod reader;
mod real_panel;
mod resolve;
mod route;
mod starter;
pub mod vehicle;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_defaults;

pub use account::{PanelPaint, paint_accounts, panel_clear};
pub use choice::{FewestSteps, fewest_steps};
pub use file::{MAX_JOB_BYTES, MAX_TABLES};
pub use model::{Ambient, Job, Limits, MapSettings, Named, PairingRule, Resolved, SpinCount, Step, TestSpotRecord};
pub use pads::{PadsInRotation, pads_in_rotation, step_heats};
pub use paint_tables::BudgetSettings;
pub use problem::Problem;
pub use real_panel::{MeshSource, RealPanel};
pub use starter::STARTER;
