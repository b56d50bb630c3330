//! The plan of a whole vehicle: which tool, pad, product and settings for every zone, in which order,
//! and where every minute goes.
//!
//! The pieces are plain numbers and validated descriptions; the job file and the full map and heat of
//! what was chosen are the business of `job`. From the bottom up: [`settings_on`] tries a small grid of
//! rates and forces of one kit (tool, pad, product) on one zone; [`cut_options`] and [`refine_options`]
//! turn them into passes within the paint that may go; [`choose_kits`] picks few kits for all zones;
//! [`order_groups`] orders them so that little is swapped; [`TimeTrace`] adds the minutes up.
//!
//! Not an optimiser over everything at once: cut first, then refining on what the cut left; the kits by
//! the closed mean cut of a pass, the map of the chosen ones afterwards.

mod allowance;
mod kits;
mod operator;
mod options;
mod order;
mod setting;
mod trace;
mod zone;

pub use allowance::{largest_cut, over_probability, total_cut};
pub use kits::{KitCosts, MOST_EXACT_KITS, choose_kits, choose_kits_greedily};
pub use operator::{FinishWanted, Operator, ShopTimes};
pub use options::{PassWork, Room, cut_options, pass_cut, refine_options};
pub use order::{Group, MOST_EXACT_GROUPS, Order, Phase, naive_order, order_greedily, order_groups, swaps_of};
pub use setting::{Grid, KitOnPaint, Setting, Tried, settings_on};
pub use trace::{Minute, TimeTrace, TraceEntry};
pub use zone::{Goal, ZoneTask, goal_of};
