//! Finish and defects: what the surface looks like after a step, which defects are gone, and which
//! steps to take.
//!
//! From roughness to gloss and haze ([`gloss`], [`haze`]), from grain, pressure and paint to roughness
//! ([`Abrading`], [`Surface`]), from a cut to correction ([`correction`]), and the decisions that rest on
//! them ([`refine_decision`], [`choose_steps`]). The cut comes from `removal` and enters as a number with
//! its interval; what paint may go comes from the budget, likewise.
//!
//! The optics are published and checked. The roughness model and the depths of defects are not: their
//! constants stand in [`TABLE`] with source and grade, and what they give is a size with a wide
//! interval and an order between steps.

mod correction;
mod decision;
mod defect;
mod error;
mod gloss;
mod gloss_reading;
mod grit;
mod halo;
mod roughness;
mod scatter;
mod steps;
mod table;
mod visibility;

pub use crate::math::distribution::LogNormal;
pub use crate::math::interval::Interval;
pub use correction::{
    Advice, Chance, Correction, Measure, Probability, chance, correction, cut_for, cut_to_aim_for,
    deepest_against_budget,
};
pub use decision::{Decision, EDGE_PASS_SHARE, EDGE_STRIP_MM, EdgeRule, Verdict, refine_decision};
pub use defect::{DEEP_SCRATCH_UM, Defect, Depths, ETCHING_UM, SWIRL_UM};
pub use error::FinishError;
pub use gloss::{
    CLEAR_COAT_INDEX, Gloss, GlossAngle, HAZE_FROM_GLOSS_60, Haze, HazeRange, STANDARD_INDEX, gloss, gloss_at, haze,
    haze_range, reflectance, smooth_gloss,
};
pub use gloss_reading::{GlossReading, INDEX_RANGE, RoughnessFound, roughness_from_gloss};
pub use grit::{Grit, GritSystem, MARK_DEPTH_SHARE, MARK_DEPTH_SPREAD};
pub use halo::{
    ACROSS_SLOPE, ALONG_SLOPE, Facet, Halo, Marking, PointLight, ScratchSpread, Scratches, facet_density, halo,
};
pub use roughness::{
    ACTIVE_SHARE, Abrading, CONE_HALF_ANGLE_DEG, CUTTING_DEPTH_M, DECAY_DEPTHS, DEPTH_CAP_SHARE, DIRECTIONAL_FROM,
    Face, HARDNESS_MPA, MarkKind, Marks, ONE_WAY_GAIN, ROUGHNESS_SPREAD, Surface, indentation_hardness, rms_per_depth,
};
pub use scatter::{RAYLEIGH_PHASE, SMOOTH_PHASE, Scatter, Validity, WAVELENGTH_M, scatter};
pub use steps::{
    Candidate, MAX_CANDIDATES, MAX_PLANS, NoPlan, PlannedStep, StepChoice, StepPlan, Target, choose_steps, evaluate,
};
pub use table::TABLE;
pub use visibility::{
    FINGERTIP_SD_UM, FINGERTIP_UM, NAIL_CAUTION, NAIL_UM, NailTest, STRAY_LUMINANCE, VISIBLE_CONTRAST,
    VISIBLE_DEPTH_SPREAD, VISIBLE_DEPTH_UM, felt_by_fingertip, luminance_factor, nail_test, visible_depth,
    visible_roughness, visible_scatter,
};
