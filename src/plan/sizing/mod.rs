//! Sizing a tool: many designs evaluated fast.

mod outcome;

pub use outcome::{DesignOutcome, DesignState, evaluate_design, evaluate_designs};
