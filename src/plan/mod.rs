//! Planning: the operating state of a step, and what the passes add up to.

mod compare;
mod coupling;
mod design;
mod dwell;
mod exposure;
mod lamp;
pub mod machine;
mod milder;
mod paint;
mod phase;
pub mod sizing;
mod spot;
mod state;
mod step;
mod surface;
mod surface_phases;
mod survey;
mod thermal;
mod trace;
mod variability;
pub mod vehicle;
mod zone;

pub use compare::{Candidate, Criterion, compare, rank};
pub use coupling::{
    Coupling, CouplingLaws, CouplingResult, CouplingSettings, LoadingCoupling, TemperatureLaw, plan_coupled,
};
pub use design::{Axis, Design, DesignError, Layout, Level, MAX_AXES, MAX_CASES, Scale};
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
pub use exposure::{
    ACTION_VALUE, ArmLoad, HandArmDose, IN_USE_RANDOM_ORBIT, LIMIT_VALUE, LONGEST_DAY, NOISE_ACTION_VALUES_DB,
    NOISE_LIMIT_DB, NoiseTask, Unbalance, VibrationTask, daily_noise_level, hand_arm_dose, hand_arm_weighting,
    time_to_reach,
};
pub use lamp::{LampSettings, ScratchLayer, scratch_directions, under_lamp};
pub use milder::{Milder, MilderHeat, MilderKind, milder_settings};
pub use paint::{AfterStep, DefectLeft, LEVEL, Look, PaintAccount, PaintStep, PaintTask, paint_account};
pub use phase::{MOST_PHASES, Phase, PhasePlan};
pub use spot::{CalibratedPairing, SpotRecord, calibrate_spots, exposure};
pub use state::{OperatingState, Running, Working, operating_state};
pub use step::{Interval, Limit, MOST_PASSES, StepPlan, StepTask, Work, plan_step};
pub use surface::{Route, SectionWork, SurfaceTask, SurfaceWork, ZoneCheck, stops_along};
pub use survey::{MOST_PLACES, Place, Survey, SurveySettings, survey};
pub use thermal::{StepHeat, ThermalTask, WorkStretch, WorkingPad, Workshop, step_heat};
pub use trace::{GrainTrace, TraceDrive, TraceSettings, map_by_grains, trace_grains};
pub use variability::{
    Away, Beyond, Effect, Ensemble, Habit, HabitShare, HandScatter, HandTrials, HandVariability, Response,
    ResponseError, Spread, Steadier, Trial, VariabilitySettings, hand_variability,
};
pub use zone::{CROWN_PRESSURE, EDGE_PRESSURE, Zone, ZoneKind, Zones, find_zones};
