//! Planning: the operating state of a step, and what the passes add up to.

mod compare;
mod dwell;
mod paint;
mod spot;
mod state;
mod step;
mod surface;
mod survey;
mod thermal;
mod zone;

pub use compare::{Candidate, Criterion, compare, rank};
#[cfg(feature = "fft")]
pub use dwell::GridOperator;
pub use dwell::reference as dwell_reference;
pub use dwell::{
    CutMap, CutTarget, DirectGridOperator, DwellError, DwellOperator, DwellProblem, DwellSettings, DwellSolution,
    FeedLimits, FeedNode, FeedPath, FeedPlan, FeedSettings, FeedSolution, FeedTask, FootprintKernel, HAND_FEEDS_MM_S,
    HAND_OVERLAPS, HandSearch, HandSetting, MAX_ENTRIES, MAX_GRID_CELLS, Smoothed, SparseOperator, StopReason,
    TRADE_WEIGHTS, TargetKind, Tie, TradePoint, feed_grid, optimise_feed, settings_for_hand, solve_dwell, solve_feed,
    trade_off,
};
pub use paint::{AfterStep, DefectLeft, LEVEL, Look, PaintAccount, PaintStep, PaintTask, paint_account};
pub use spot::{CalibratedPairing, SpotRecord, calibrate_spots, exposure};
pub use state::{OperatingState, Working, operating_state};
pub use step::{Interval, Limit, MOST_PASSES, StepPlan, StepTask, Work, plan_step};
pub use surface::{Route, SectionWork, SurfaceTask, SurfaceWork, ZoneCheck, stops_along};
pub use survey::{MOST_PLACES, Place, Survey, SurveySettings, survey};
pub use thermal::{StepHeat, ThermalTask, Workshop, step_heat};
pub use zone::{CROWN_PRESSURE, EDGE_PRESSURE, Zone, ZoneKind, Zones, find_zones};
