//! The job file: one TOML text that names tools, pads, products, paints and panels and the steps
//! worked with them.
//!
//! Reading goes one way: text within a size limit ([`Job::read`], [`Job::parse`]) -> spanned tables
//! -> the validated types of `equipment`, `panel` and `spin` -> [`Job`]. Every refusal is a
//! [`Problem`] that knows file, line, column, key, value and allowed range. Every value that a job
//! leaves out comes from the documented defaults and is listed in [`Job::resolved`].
//!
//! Not here: any physics, any printing, the command line.
//!
//! # Example
//! ```
//! use trochoid::job::Job;
//! let text = r#"
//! schema = 1
//! [tool.short]
//! drive = "free"
//! throw_mm = 8.0
//! orbit_rate_opm = 4500.0
//! bearing = { breakaway_nm = 0.02, viscous_nms = 5.0e-5 }
//! mass_kg = 2.0
//! [pad.foam]
//! diameter_mm = 130.0
//! thickness_mm = 25.0
//! compression = { law = "linear", stiffness_kpa_per_mm = 0.9 }
//! [product.polish]
//! friction = 0.3
//! preston_per_pa = 1.0e-11
//! [panel.lid]
//! shape = "flat"
//! size_mm = [450.0, 420.0]
//! incline_deg = 0.0
//! [[step]]
//! name = "polish"
//! tool = "short"
//! pad = "foam"
//! product = "polish"
//! panel = "lid"
//! force_n = 40.0
//! feed_mm_s = 40.0
//! overlap = 0.5
//! passes = 4
//! pattern = "crosshatch"
//! "#;
//! let job = Job::parse("lid.toml", text)?;
//! let step = &job.steps[0];
//! // On a panel that faces up the tool's whole weight helps: 40 N − 2 kg · 9.80665 m/s² = 20.3867 N.
//! assert!((step.hand_force_n.unwrap() - 20.3867).abs() < 1e-9);
//! // The throw is the diameter of the orbit, 8 mm, so its radius is 4 mm.
//! assert!((0.5 * step.setup.tool().throw().mm() - 4.0).abs() < 1e-12);
//! // What the text leaves out is told with its source.
//! assert!(job.resolved.iter().any(|r| r.key == "ambient.temperature_c" && r.is_default));
//! // A value outside its range is refused with its line and what is allowed.
//! let problem = Job::parse("lid.toml", &text.replace("overlap = 0.5", "overlap = 1.5")).unwrap_err();
//! assert_eq!((problem.line(), problem.value()), (Some(28), Some("1.5".to_owned())));
//! # Ok::<(), trochoid::job::Problem>(())
//! ```

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
