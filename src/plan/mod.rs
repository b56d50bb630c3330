//! Planning: the operating state of a step, and what the passes add up to.

mod compare;
mod exposure;
mod paint;
mod spot;
mod state;
mod step;
mod surface;
mod survey;
mod thermal;
mod variability;
mod zone;

pub use compare::{Candidate, Criterion, compare, rank};
pub use exposure::{
    ACTION_VALUE, ArmLoad, HandArmDose, IN_USE_RANDOM_ORBIT, LIMIT_VALUE, LONGEST_DAY, NOISE_ACTION_VALUES_DB,
    NOISE_LIMIT_DB, NoiseTask, Unbalance, VibrationTask, daily_noise_level, hand_arm_dose, hand_arm_weighting,
    time_to_reach,
};
pub use paint::{AfterStep, DefectLeft, LEVEL, Look, PaintAccount, PaintStep, PaintTask, paint_account};
pub use spot::{CalibratedPairing, SpotRecord, calibrate_spots, exposure};
pub use state::{OperatingState, Working, operating_state};
pub use step::{Interval, Limit, MOST_PASSES, StepPlan, StepTask, Work, plan_step};
pub use surface::{Route, SectionWork, SurfaceTask, SurfaceWork, ZoneCheck, stops_along};
pub use survey::{MOST_PLACES, Place, Survey, SurveySettings, survey};
pub use thermal::{StepHeat, ThermalTask, Workshop, step_heat};
pub use variability::{
    Away, Beyond, Effect, Ensemble, Habit, HabitShare, HandScatter, HandTrials, HandVariability, Response,
    ResponseError, Spread, Steadier, Trial, VariabilitySettings, hand_variability,
};
pub use zone::{CROWN_PRESSURE, EDGE_PRESSURE, Zone, ZoneKind, Zones, find_zones};
