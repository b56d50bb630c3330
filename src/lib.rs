//! What a random-orbit polisher does to automotive paint.
//!
//! A free pad is dragged round by its bearing and held back by friction. On a curved panel the load
//! shifts as the pad orbits: a crown helps the spin, a hollow opposes it, and in a tight enough
//! hollow the pad stalls and marks the paint instead of polishing it. The crate solves the contact,
//! the spin and its limits, and what a path of passes takes off the panel.
//!
//! # Workflow
//!
//! ```
//! use trochoid::motion::{Pattern, ToolPath};
//! use trochoid::removal::panel_map;
//! use trochoid::spin::{spin_state, stall_limits};
//! use trochoid::*;
//!
//! # fn main() -> Result<(), Error> {
//! // Describe: tool, pad, product, local shape, force. Every quantity enters with its unit.
//! let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
//! let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
//! let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
//! let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
//! let crown = Patch::sphere(Curvature::from_per_m(0.25))?;
//! let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, crown, Force::from_n(35.0))?;
//!
//! // Solve: how the pad runs here, and which sphere would stall it (negative: a hollow).
//! let run = spin_state(&setup, setup.patch(), &ContactSettings::default())?;
//! assert!(run.spin_rate().rpm() > 60.0);
//! let limits = stall_limits(&setup, &StallSettings::default(), 1.0)?;
//! assert!(limits.sphere.is_some_and(|c| c.at < 0.0));
//!
//! // Work a section: four crossed passes, lines 65 mm apart, 40 mm/s, cells of 5 mm.
//! let panel = Panel::new(crown, Length::from_mm(450.0), Length::from_mm(420.0))?;
//! let path = ToolPath::over_rectangle((0.45, 0.42), Pattern::Crosshatch, 4, 0.065, 0.04)?;
//! let cut = panel_map(&setup, &run, &panel, path, 5e-3)?.cut;
//! assert!(cut.is_some_and(|c| c.mean > 2e-6 && c.mean < 6e-6)); // metres
//! # Ok(())
//! # }
//! ```
//!
//! # Map of the crate
//!
//! ```text
//! describe            solve                            add up                       decide
//! equipment, panel -> motion -> contact -> spin ->      removal -> heat, wear,  ->   plan -> job, plot, report
//!                     pressure  torque balance          finish, budget
//! ```
//!
//! A folder uses only folders above it in this table. The last column is where to begin.
//!
//! | module | holds | begin with |
//! |---|---|---|
//! | [`units`] | quantities at the border: a number enters and leaves with its unit in the name | [`Length`], [`AngularRate`] |
//! | [`math`] | quadrature, roots, differential equations, elliptic integrals, statistics, sums with the same bits for any thread count | [`math::elliptic`] |
//! | [`equipment`] | tool, bearing, pad, product, paint, and the documented defaults | [`Tool`], [`Pad`], [`equipment::defaults`] |
//! | [`panel`] | local shape, the rectangle that is worked, heights and meshes of real panels | [`Patch`], [`Panel`], [`panel::Surface`] |
//! | [`motion`] | the orbiting face, sliding speeds in both frames, grain paths, tool paths | [`motion::pad_point_speed`], [`motion::ToolPath`] |
//! | [`contact`] | pressure under a pad on a curved panel, and on any relief with free edges | [`contact::solve`] |
//! | [`spin`] | throw at the face, torque balance, stall limits and curves, remedies, calibration, runs over time | [`Setup`], [`spin::spin_state`], [`spin::stall_limits`] |
//! | [`removal`] | Preston cut, footprint, deposit along a path on a rectangle or a real panel, evenness | [`removal::Footprint`], [`removal::panel_map`] |
//! | [`heat`] | temperature of panel and pad over the work | [`heat::heat_panel`], [`heat::pad_history`] |
//! | [`wear`] | moist air, drying of the product film, condition of the pads, pads in rotation, their cost | [`wear::ProductFilm`], [`wear::rotate`] |
//! | [`finish`] | gloss and haze, grit, roughness after a step, defects and their correction, which steps to take | [`finish::correction`], [`finish::gloss_at`] |
//! | [`budget`] | film gauge, film and its map, allowed removal, test spots and their card | [`budget::calibrate`], [`budget::Policy`] |
//! | [`plan`] | the operating state of a step, its passes, its limits; survey and zones of a real panel; dwell and feed; the hand, the operator's day; a vehicle; the machine itself | [`plan::operating_state`], [`plan::plan_step`] |
//! | `job` | the job file (feature `cli`) | `job::Job` |
//! | `plot` | pictures (feature `plot`) | `plot::CurveChart` |
//! | `report` | JSON, CSV, composed pictures (feature `cli`) | `report::write_whole` |
//! | [`verify`] | every check against a number from outside, as `trochoid verify` prints it | [`verify::all`] |
//!
//! | to know | call |
//! |---|---|
//! | how a pad runs at one place | [`spin::spin_state`]; with limits and remedies [`plan::operating_state`] |
//! | which curvature stalls it, over one setting | [`spin::stall_limits`], [`spin::stall_curve`] |
//! | how the spin follows over time | [`spin::run_transient`] |
//! | what would help | [`spin::remedies`], each solved again |
//! | the drag of the bearing from a count of turns | [`spin::calibrate_drag`] |
//! | what a path takes off a rectangle | [`removal::panel_map`]; with phases and a target [`plan::plan_step`] |
//! | the same on a real panel | [`spin::PlaceSolver`] at one place, [`plan::survey`] all over it, [`removal::work_surface`] along a path |
//! | how fast this pad cuts this paint | [`budget::calibrate`] from test spots |
//! | how hot, how dry, how many pads | [`plan::step_heat`], [`wear::drops_needed`], [`wear::rotate`] |
//! | which tool for a fleet of panels | [`plan::sizing::size_a_tool`], [`plan::sizing::evaluate_designs`] |
//! | the feed that makes a cut even | [`plan::optimise_feed`], for a hand [`plan::settings_for_hand`] |
//!
//! The slow obvious method stands beside each fast one ([`contact::reference`], [`heat::reference`],
//! [`removal::deposit_by_steps`], [`plan::dwell_reference`]) and the tests compare them. Guide and theory, with
//! figures: `notebooks-free-docs`.
//!
//! # Conventions
//!
//! SI inside; angles in radians, spin and orbit rate in rad/s, spin positive with the orbit.
//! Curvature is positive where the panel is convex. The throw is the diameter of the orbit. A
//! physical outcome (a stall, a sticking face) is a result with numbers; an `Err` means that the
//! question cannot be answered. Results have the same bits for any number of threads.
//!
//! # Features
//!
//! `parallel` (threads), `plot` (pictures), `fft` (dwell on a grid by Fourier transforms), `mesh` (panels from STL, OBJ, PLY and CSV files), `cli` (job
//! file and command line; with `mesh` and `fft`); all on by default.
//! Without them the crate is a lean library.

pub mod budget;
pub mod contact;
pub mod equipment;
mod error;
pub mod finish;
pub mod heat;
#[cfg(feature = "cli")]
pub mod job;
pub mod math;
pub mod motion;
pub mod panel;
pub mod plan;
#[cfg(feature = "plot")]
pub mod plot;
pub mod removal;
#[cfg(feature = "cli")]
pub mod report;
pub mod spin;
pub mod units;
pub mod verify;
pub mod wear;

pub use contact::ContactSettings;
pub use equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
pub use error::{Error, RangeError};
pub use panel::{Panel, Patch};
pub use spin::{Setup, StallSettings};
pub use units::{
    Acceleration, Angle, AngularRate, Curvature, Force, Inertia, Length, Mass, Power, Pressure, Speed, Stiffness,
    Temperature, Time, Torque, ViscousDrag,
};

/// The Rust blocks of the Markdown pages, compiled and run by `cargo test`.
#[cfg(doctest)]
mod pages {
    #[doc = include_str!("../README.md")]
    struct Readme;
    #[doc = include_str!("../notebooks-free-docs/README.md")]
    struct Index;
    #[doc = include_str!("../notebooks-free-docs/theory-contact.md")]
    struct TheoryContact;
    #[doc = include_str!("../notebooks-free-docs/theory-spin.md")]
    struct TheorySpin;
    #[doc = include_str!("../notebooks-free-docs/theory-transient.md")]
    struct TheoryTransient;
    #[doc = include_str!("../notebooks-free-docs/theory-removal.md")]
    struct TheoryRemoval;
    #[doc = include_str!("../notebooks-free-docs/theory-grains.md")]
    struct TheoryGrains;
    #[doc = include_str!("../notebooks-free-docs/test-spot-and-budget.md")]
    struct TestSpotAndBudget;
    #[doc = include_str!("../notebooks-free-docs/theory-paint.md")]
    struct TheoryPaint;
    #[doc = include_str!("../notebooks-free-docs/theory-machine.md")]
    struct TheoryMachine;
    #[doc = include_str!("../notebooks-free-docs/theory-dwell.md")]
    struct TheoryDwell;
    #[doc = include_str!("../notebooks-free-docs/paint-and-heat.md")]
    struct PaintAndHeat;
    #[doc = include_str!("../notebooks-free-docs/theory-surfaces.md")]
    struct TheorySurfaces;
    #[doc = include_str!("../notebooks-free-docs/real-panels.md")]
    struct RealPanels;
    #[doc = include_str!("../notebooks-free-docs/glossary.md")]
    struct Glossary;
    #[doc = include_str!("../notebooks-free-docs/limits-and-cautions.md")]
    struct LimitsAndCautions;
    #[doc = include_str!("../notebooks-free-docs/first-job.md")]
    struct FirstJob;
    #[doc = include_str!("../notebooks-free-docs/stall-curves.md")]
    struct StallCurves;
    #[doc = include_str!("../notebooks-free-docs/orbit-and-pad.md")]
    struct OrbitAndPad;
    #[doc = include_str!("../notebooks-free-docs/program.md")]
    struct Program;
    #[doc = include_str!("../notebooks-free-docs/theory-kinematics.md")]
    struct TheoryKinematics;
    #[doc = include_str!("../notebooks-free-docs/theory-heat.md")]
    struct TheoryHeat;
    #[doc = include_str!("../notebooks-free-docs/theory-wear.md")]
    struct TheoryWear;
    #[doc = include_str!("../notebooks-free-docs/theory-couplings.md")]
    struct TheoryCouplings;
    #[doc = include_str!("../notebooks-free-docs/theory-exposure.md")]
    struct TheoryExposure;
    #[doc = include_str!("../notebooks-free-docs/theory-hand.md")]
    struct TheoryHand;
    #[doc = include_str!("../notebooks-free-docs/sweeps.md")]
    struct Sweeps;
    #[doc = include_str!("../notebooks-free-docs/tool-sizing.md")]
    struct ToolSizing;
    #[doc = include_str!("../notebooks-free-docs/job-file.md")]
    struct JobFile;
    #[doc = include_str!("../notebooks-free-docs/vehicle-plan.md")]
    struct VehiclePlan;
}
