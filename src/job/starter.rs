//! The commented job that `init` writes: two steps on a door, a hollow to try afterwards.
//!
//! Invented tools, pads and products; every number lies inside the bands of the trade (common
//! practice, no source), which the tests of this folder check.

/// Text of the starter job.
pub const STARTER: &str = include_str!("starter.toml");
