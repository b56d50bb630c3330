//! The job file: one TOML text that names tools, pads, products, paints and panels and the steps
//! worked with them.
//!
//! Reading goes one way: text within a size limit ([`Job::read`], [`Job::parse`]) -> spanned tables
//! -> the validated types of `equipment`, `panel` and `spin` -> [`Job`]. Every refusal is a
//! [`Problem`] that knows file, line, column, key, value and allowed range. Every value that a job
//! leaves out comes from the documented defaults and is listed in [`Job::resolved`].
//!
//! Not here: any physics, any printing, the command line.

mod absent;
mod account;
pub mod ask;
mod choice;
mod coupling;
mod edges;
mod equipment;
mod exposure;
mod file;
mod hand;
mod keys;
mod machine;
mod model;
mod optimize;
mod pad_course;
mod pads;
mod paint_tables;
mod panel;
mod phases;
mod problem;
mod reader;
mod real_panel;
mod resolve;
mod route;
mod season;
mod sizing;
mod starter;
pub mod sweep;
pub mod vehicle;

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_defaults;
#[cfg(test)]
mod tests_phases;

pub use account::{PanelPaint, paint_accounts, panel_clear, roughness_by_gloss};
pub use choice::FewestSteps;
pub use coupling::{CouplingSwitches, plan_job_step};
pub use edges::EdgePasses;
pub use exposure::{JobExposure, StepExposure, ToolExposure, job_exposure};
pub use file::{MAX_JOB_BYTES, MAX_TABLES};
pub use hand::HandSettings;
pub use machine::MachineSettings;
pub use model::{
    Ambient, Job, Limits, MapSettings, Named, PairingRule, Resolved, SpinCount, Step, StepPhase, TestSpotRecord,
    ToldSettings,
};
pub use optimize::{OptimizeSettings, film_on_cells};
pub use pad_course::{BLOW_OUT_W_M2K, CoreOverJob, PadCourse, cores_by_pads, pad_courses};
pub use pads::{PadsInRotation, pads_in_rotation, step_heats, thermal_task};
pub use paint_tables::BudgetSettings;
pub use problem::Problem;
pub use real_panel::{MeshSource, RealPanel};
pub use season::{FewPads, KindSeason, SeasonPlan, SeasonSettings, season_plan};
pub use sizing::{SizingSettings, sizing_task};
pub use starter::STARTER;
