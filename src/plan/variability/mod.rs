//! The hand that varies: seeded trials of one step with feed, force, tilt, line spacing and orbit rate
//! wandering along the path, and what that does to the cut.
//!
//! Each quantity follows a stationary process whose values correlate over a length (a correlation time
//! at the feed of the step), plus, where asked for, a part that stays the same over a whole panel. The cut
//! map of every trial is the deposit of the step's footprint along its path in short pieces, each
//! moved sideways, strengthened and tilted as [`Response`] says; [`HandTrials::by_resolving`] is the slow obvious
//! way, which solves contact and spin again at every piece.
//!
//! Not here: the spread of the removal coefficient (the interval of a plan's cut), the time that the pad
//! takes to change its spin (a tenth of a second; the wandering is slower), real panels with a frame of
//! heights.

mod habit;
mod outcome;
mod response;
mod trial;

pub use habit::{Habit, HandScatter};
pub use outcome::{
    Beyond, Ensemble, HabitShare, HandVariability, Spread, Steadier, VariabilitySettings, hand_variability,
};
pub use response::{Away, Effect, Response, ResponseError};
pub use trial::{HandTrials, Trial};
