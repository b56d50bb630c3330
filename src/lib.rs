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
//! use trochoid::contact::ContactSettings;
//! use trochoid::motion::{Pattern, ToolPath};
//! use trochoid::removal::panel_map;
//! use trochoid::spin::{StallSettings, spin_state, stall_limits};
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
//! assert!(AngularRate::from_rad_s(run.spin).rpm() > 60.0);
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
//! A folder uses only folders above it in this table.
//!
//! | module | holds |
//! |---|---|
//! | [`units`] | quantities at the border: a number enters and leaves with its unit in the name |
//! | [`math`] | quadrature, roots, elliptic integrals, statistics, sums with the same bits for any thread count |
//! | [`equipment`] | tool, bearing, pad, product, paint, and the documented defaults |
//! | [`panel`] | local shape, the rectangle that is worked, heights and meshes of real panels |
//! | [`motion`] | the orbiting face, sliding speeds in both frames, grain paths, tool paths |
//! | [`contact`] | pressure under a pad on a curved panel, and on any relief with free edges |
//! | [`spin`] | throw at the face, torque balance, stall limits and curves, remedies, calibration |
//! | [`removal`] | Preston cut, footprint, deposit along a path on a rectangle or a real panel, evenness |
//! | [`budget`] | film gauge, film and its map, allowed removal, test spots and their card |
//! | [`finish`] | gloss and haze, grit, roughness after a step, defects and their correction, which steps to take |
//! | [`heat`] | temperature of panel and pad over the work |
//! | [`wear`] | moist air, drying of the product film, condition of the pads, pads in rotation, their cost |
//! | [`plan`] | the operating state of a step, its passes, its limits; survey and zones of a real panel; dwell and feed |
//! | `job` | the job file (feature `cli`) |
//! | `plot` | pictures (feature `plot`) |
//! | `report` | JSON, CSV, composed pictures (feature `cli`) |
//! | [`verify`] | every check against a number from outside, as `trochoid verify` prints it |
//!
//! A real panel (a [`panel::Surface`]: heights, free edges, holes, tape) takes the place of the patch:
//! [`spin::PlaceSolver`] solves contact and spin where the pad stands, [`plan::survey`] does so all over
//! the panel, [`removal::work_surface`] along a path.
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

pub use equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
pub use error::{Error, RangeError};
pub use panel::{Panel, Patch};
pub use spin::Setup;
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
    #[doc = include_str!("../notebooks-free-docs/theory-removal.md")]
    struct TheoryRemoval;
    #[doc = include_str!("../notebooks-free-docs/theory-grains.md")]
    struct TheoryGrains;
    #[doc = include_str!("../notebooks-free-docs/test-spot-and-budget.md")]
    struct TestSpotAndBudget;
    #[doc = include_str!("../notebooks-free-docs/theory-paint.md")]
    struct TheoryPaint;
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
}
