//! Planning: the operating state of a step, and what the passes add up to.

mod compare;
mod paint;
mod spot;
mod state;
mod step;
mod surface;
mod survey;
mod thermal;
mod trace;
mod zone;

pub use compare::{Candidate, Criterion, compare, rank};
pub use paint::{AfterStep, DefectLeft, LEVEL, Look, PaintAccount, PaintStep, PaintTask, paint_account};
pub use spot::{CalibratedPairing, SpotRecord, calibrate_spots, exposure};
pub use state::{OperatingState, Working, operating_state};
pub use step::{Interval, Limit, MOST_PASSES, StepPlan, StepTask, Work, plan_step};
pub use surface::{Route, SectionWork, SurfaceTask, SurfaceWork, ZoneCheck, stops_along};
pub use survey::{MOST_PLACES, Place, Survey, SurveySettings, survey};
pub use thermal::{StepHeat, ThermalTask, Workshop, step_heat};
pub use trace::{GrainTrace, TraceDrive, TraceSettings, map_by_grains, trace_grains};
pub use zone::{CROWN_PRESSURE, EDGE_PRESSURE, Zone, ZoneKind, Zones, find_zones};
