//! The table of what a machine may do with the feed, and the film that a target may follow.

use super::equipment::Notes;
use super::keys::OPTIMIZE;
use super::model::{Job, Step};
use super::problem::Problem;
use super::reader::Table;
use crate::Error;
use crate::budget::{CovarianceShape, FilmMapSettings, FilmPart, FilmSettings, GaugeReading, film_map, film_summaries};
use crate::error::RangeError;
use crate::plan::{FeedLimits, TargetKind, feed_grid};
use crate::units::{Acceleration, Speed};

/// Slowest and fastest feed and acceleration where none is given: assumed, no source.
pub(super) const FEED_MM_S: (f64, f64) = (10.0, 100.0);
pub(super) const ACCELERATION_MM_S2: f64 = 250.0;

/// Fewest readings with a place that a film is mapped from.
const LEAST_READINGS: usize = 3;
/// Most of them: beyond, kriging on the cells takes many seconds.
const MOST_READINGS: usize = 200;

/// `[optimize]` of a job: what a machine may do with the feed, and toward which cut. By default a feed of 10 to
/// 100 mm/s at 250 mm/s² (assumed, no source), toward an even cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OptimizeSettings {
    /// Limits of feed and acceleration.
    pub limits: FeedLimits,
    /// The cut that is asked for.
    pub target: TargetKind,
}

fn limits(low: f64, high: f64, acceleration: f64) -> Result<FeedLimits, RangeError> {
    FeedLimits::new(Speed::from_mm_s(low), Speed::from_mm_s(high))?
        .with_acceleration(Acceleration::from_mm_s2(acceleration))
}

/// Reads `[optimize]`; the defaults where it is missing. They are listed where the table stands only: nothing
/// but `optimize` rests on them, and it tells them itself.
pub(super) fn optimize(root: &Table<'_>, notes: &mut Notes) -> Result<OptimizeSettings, Problem> {
    let Some(t) = root.table("optimize", &OPTIMIZE)? else {
        let usual = root.ranged(limits(FEED_MM_S.0, FEED_MM_S.1, ACCELERATION_MM_S2))?;
        return Ok(OptimizeSettings { limits: usual, target: TargetKind::default() });
    };
    let number = |key, otherwise| Ok::<f64, Problem>(t.number(key)?.unwrap_or(otherwise));
    let limits = limits(
        number("feed_min_mm_s", FEED_MM_S.0)?,
        number("feed_max_mm_s", FEED_MM_S.1)?,
        number("acceleration_mm_s2", ACCELERATION_MM_S2)?,
    );
    let out = OptimizeSettings {
        limits: t.ranged(limits)?,
        target: match t.choice("target", &["even", "film"])? {
            Some("film") => TargetKind::Film,
            _ => TargetKind::Even,
        },
    };
    t.report(&mut notes.resolved, &[]);
    Ok(out)
}

/// The film of a step's panel on the cells on which its feed is sought \[m\], from readings with their places:
/// for a rectangle. `None` where the panel has fewer than three of them, or is a real panel, which has a
/// film of its own. Readings of the clear coat are taken before those of the total film; of a total film
/// the clear coat counts as the same share everywhere (assumed), so that a target in proportion to it does
/// not depend on that share.
///
/// # Errors
/// Readings that cannot be pooled or mapped; more than 200 with a place.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::budget::{FilmPart, GaugeKind, GaugeReading};
/// use trochoid::equipment::Substrate;
/// use trochoid::job::{Job, STARTER, film_on_cells};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let mut job = Job::parse("starter.toml", STARTER)?;
/// let um = Length::from_um;
/// for (x, y) in [(100.0, 100.0), (300.0, 100.0), (200.0, 300.0)] {
///     let reading = GaugeReading::new("door", um(45.0), GaugeKind::Ultrasonic, um(1.0), Substrate::Steel)?;
///     job.budget.readings.push(reading.of(FilmPart::Clear)?.at(Length::from_mm(x), Length::from_mm(y))?);
/// }
/// let step = &job.steps[0];
/// let film = film_on_cells(&job, step, &step.task(job.map.cell, (0.5, 2.0)))?.expect("three places were read");
/// // The same reading everywhere: the same film everywhere.
/// assert!(film.iter().all(|f| (f - 45e-6).abs() < 1e-9));
/// # Ok(())
/// # }
/// ```
pub fn film_on_cells(job: &Job, step: &Step, task: &crate::plan::StepTask) -> Result<Option<Vec<f64>>, Error> {
    if step.surface.is_some() || job.budget.readings.is_empty() {
        return Ok(None);
    }
    let films = film_summaries(&job.budget.readings, &FilmSettings::default())?;
    let of = |part: FilmPart| films.iter().find(|f| f.panel == step.panel_name && f.part == part);
    let Some(film) = of(FilmPart::Clear).or_else(|| of(FilmPart::Total)) else { return Ok(None) };
    let placed = film.readings.iter().filter_map(|i| job.budget.readings.get(*i)).filter_map(GaugeReading::place_m);
    let placed = placed.count();
    if placed < LEAST_READINGS {
        return Ok(None);
    }
    if placed > MOST_READINGS {
        let allowed = format!("at most {MOST_READINGS}");
        return Err(RangeError::new("readings with a place", placed as f64, "", allowed).into());
    }
    let grid = feed_grid(task)?;
    let (nx, ny) = grid.count();
    let settings = FilmMapSettings {
        from: grid.centre(0, 0),
        to: grid.centre(nx - 1, ny - 1),
        points: (nx, ny),
        level: 0.9,
        shape: CovarianceShape::default(),
    };
    let map = film_map(&job.budget.readings, film, &settings)?;
    Ok(Some(map.film.iter().map(|f| f.best.max(0.0)).collect()))
}
