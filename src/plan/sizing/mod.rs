//! Sizing a tool: many designs evaluated fast, and the best trade-offs between them for a fleet of panels.
//!
//! [`evaluate_designs`] gives spin, stall and cut of a million designs in a minute; [`size_a_tool`] searches
//! ranges of throw, pad, rate, force and feed for the designs that trade cut, evenness, stall margin, heat,
//! vibration, power and time off best, within bounds.
//!
//! Not here: the machine's own parts (balance in two planes, bearing, motor).

mod evenness;
mod fleet;
mod outcome;
mod performance;
mod size;
mod space;

pub use crate::math::evolve::EvolveSettings;
pub use evenness::{LineEvenness, line_evenness};
pub use fleet::{Fleet, FleetPanel, MOST_PANELS};
pub use outcome::{DesignOutcome, DesignState, evaluate_design, evaluate_designs};
pub use performance::{Duty, LEFT_SHARE, Objective, Performance, performance, stall_margin};
pub use size::{
    Binding, Bound, BrokenBound, Impossible, ObjectiveSensitivity, SEARCH_LIMITS, SizedDesign, Sizing, SizingOutcome,
    SizingTask, size_a_tool,
};
pub use space::{Design, DesignSpace, Variable, VariableRange};
