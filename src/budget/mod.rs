//! The paint budget: how thick the film is, how much of it may go, and what a test spot says about how
//! fast it goes.
//!
//! Gauge readings become a film with an interval ([`film_summaries`]) and a map ([`film_map`]); a
//! policy turns the clear coat into what may be removed, with its caution ([`Policy`]); test spots
//! calibrate the removal coefficient ([`calibrate`]); a card says how to do a test spot
//! ([`SpotCard`]). Nothing here computes contact or cut: exposures come from the rooms before.
//!
//! The paint of the starter job's door: what both steps take, with its interval, of what may go.
//!
//! <figure><style>figure { margin: 0 } figure svg { max-width: 100%; height: auto }</style>
#![doc = include_str!("../../notebooks-free-docs/figures/first-budget.svg")]
//! </figure>

mod calibrate;
mod card;
mod card_text;
mod error;
mod exceed;
mod film;
mod flags;
mod gauge;
mod grid;
mod interval;
mod kriging;
mod likelihood;
mod needed;
mod policy;
mod spot;
mod table;

pub use calibrate::{
    Calibration, CalibrationSettings, CalibrationWarning, Correlation, DragPrior, Identified, MOST_SPOTS, Parameter,
    ParameterPosterior, calibrate,
};
pub use card::{Combination, Decision, Severity, SpotCard, Trial, Verdict};
pub use card_text::CardStyle;
pub use error::{BudgetError, TableError};
pub use exceed::{Exceedance, exceedance};
pub use film::{FilmSettings, FilmSummary, film_summaries};
pub use flags::{FilmFlag, FlagSettings, TwoFilmsTest, modified_scores, two_films};
pub use gauge::{FilmPart, GaugeKind, GaugeReading, THICKEST_UM, standard_from_limit, substrate_word};
pub use interval::Interval;
pub use kriging::{
    Covariance, CovarianceShape, FilmEstimate, FilmMap, FilmMapSettings, FittedCovariance, Kriging, MOST_CELLS,
    MOST_READINGS, Site, film_map, fit_covariance,
};
pub use likelihood::{ln_class, ln_count, ln_shown_difference, ln_shown_difference_slow, pair_information};
pub use needed::{MOST_PROPOSED, Needed, NextSpot, readings_needed};
pub use policy::{
    Allowance, Binding, CAUTION, ClearCoat, ClearShare, ClearSource, CorrectionsLeft, FilmBasis, MOST_CORRECTIONS,
    Policy, SHARE_CAUTION, corrections_left,
};
pub use spot::{DRAG_RANGE, DepthTable, DragResponse, Look, PairedReading, SwirlDepth, SwirlsLeft, TestSpot};
pub use table::{MOST_LINES, read_gauge_table};
