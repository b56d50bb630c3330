//! Dwell: how long to stay where, and how fast to go, for a cut that is asked for.
//!
//! - [`solve_dwell`] turns the map from dwell to cut round: bounded least squares by a projected
//!   accelerated gradient, over a grid ([`GridOperator`], feature `fft`) or over any entries
//!   ([`SparseOperator`]).
//! - [`solve_feed`] finds the feed along a given path, within limits of feed and acceleration, and
//!   [`trade_off`] what time buys.
//! - [`optimise_feed`] does so for a step of a job, [`settings_for_hand`] seeks settings that a person can
//!   follow.
//! - [`reference::non_negative_least_squares`] is the slow obvious method.
//!
//! Not here: the choice of a path; a pad whose contact or product depends on the feed.

mod along;
mod error;
mod feed;
mod grid;
mod hand;
mod operator;
pub mod reference;
mod solve;
mod step;

pub use error::DwellError;
pub use feed::{
    CutTarget, FeedLimits, FeedNode, FeedPath, FeedSettings, FeedSolution, TRADE_WEIGHTS, TradePoint, solve_feed,
    trade_off,
};
#[cfg(feature = "fft")]
pub use grid::GridOperator;
pub use grid::{DirectGridOperator, FootprintKernel, MAX_GRID_CELLS};
pub use hand::{HAND_FEEDS_MM_S, HAND_OVERLAPS, HandSearch, HandSetting, settings_for_hand};
pub use operator::{DwellOperator, MAX_ENTRIES, Smoothed, SparseOperator, Tie};
pub use solve::{DwellProblem, DwellSettings, DwellSolution, StopReason, solve_dwell};
pub use step::{CutMap, FeedPlan, FeedTask, TargetKind, feed_grid, optimise_feed};
