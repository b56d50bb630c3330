//! Planning: the operating state of a step, and what the passes add up to.

mod compare;
mod state;
mod step;

pub use compare::{Candidate, Criterion, compare, rank};
pub use state::{OperatingState, Working, operating_state};
pub use step::{Interval, Limit, MOST_PASSES, StepPlan, StepTask, plan_step};
