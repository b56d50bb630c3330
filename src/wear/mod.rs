//! Wear: moist air, drying of the product film, condition of the pads, how many of them to rotate, and
//! what they cost over a season.
//!
//! Temperatures of panel and pad are inputs here. The laws of a pad's condition and all of their
//! constants are assumed (no published numbers exist); each law can be switched off. What is published:
//! saturation pressure, dew point, heat and mass transfer of air over a plate.
//!
//! Working time of a product against humidity, in air of 10, 20 and 30 °C, beside the time that a section of the
//! demonstration's door takes; [`ProductFilm`] follows such a film.
//!
//! <figure><style>figure { margin: 0 } figure svg { max-width: 100%; height: auto }</style>
#![doc = include_str!("../../notebooks-free-docs/figures/working-time.svg")]
//! </figure>

mod evaporation;
mod film;
mod moist_air;
mod pad_heating;
mod pad_kind;
mod pad_laws;
mod pad_run;
mod pad_state;
mod rotation;
mod schedule;
mod season;

pub use evaporation::{Exposure, air_heat_transfer};
pub use film::{
    DropsNeeded, DryOut, FilmCourse, FilmProduct, FrictionRise, MOST_DROPS, PassExposure, ProductFilm, drops_needed,
};
pub use moist_air::{MoistAir, saturation_pressure, saturation_pressure_magnus};
pub use pad_heating::{HeatMode, PadHeating, PadWarmth};
pub use pad_kind::{CleaningPolicy, PadKind, PadLimits, Priming, SectionWork};
pub use pad_laws::{AbrasionLaw, BreakdownLaw, LoadingLaw, OverheatingLaw, PadLaws, PrimingLaw};
pub use pad_run::{CLEAN_BELOW, LONGEST_INTERVAL, MOST_SECTIONS, PadRunSection, PadTreatment, clean_interval, run_pad};
pub use pad_state::{Cleaning, CleaningKind, CutFactor, PadState, SectionLoad, SectionOutcome};
pub use rotation::{
    Activity, LimitPassed, MOST_KINDS, MOST_PADS, PadLimit, Rotation, RotationJob, RotationOutcome, RotationShort,
    ScheduleEntry, SectionRecord, rotate, run_rotation,
};
pub use season::{PadStrategy, Season, SeasonComparison, SeasonCost, compare_season, season_cost};
