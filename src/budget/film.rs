//! What the readings of a panel say about its film: mean with an interval, spread, flags.
//!
//! Readings are grouped by panel, substrate and part of the film and never pooled across them. The
//! interval is that of a normal film with unknown mean and spread, with a weak prior on the spread so
//! that one reading, or readings that happen to be equal, do not claim to know everything; the gauge's
//! stated uncertainty is added as a part that more readings do not average away.

use super::error::BudgetError;
use super::flags::{FilmFlag, FlagSettings, flags};
use super::gauge::{FilmPart, GaugeKind, GaugeReading, substrate_word};
use super::interval::{Interval, checked_level};
use crate::equipment::{Substrate, within};
use crate::math::distribution::{normal_half_width, student_quantile};
use crate::math::statistics::percentile;
use std::collections::BTreeMap;

/// Most films that one call sums up.
const MOST_FILMS: usize = 1000;

/// How a film is summed up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FilmSettings {
    /// Probability of the intervals \[1\], 0.5 to 0.999; 0.90.
    pub level: f64,
    /// Spread of a sprayed film over one panel before any reading \[m\], 1e-7 to 1e-3. Default 8 µm:
    /// assumed, no source.
    pub spread_prior_m: f64,
    /// How many readings that spread is worth \[1\], 0.5 to 100. Default 2: assumed.
    pub spread_prior_weight: f64,
    /// Limits of the flags.
    pub flags: FlagSettings,
}

impl Default for FilmSettings {
    fn default() -> Self {
        Self { level: 0.90, spread_prior_m: 8e-6, spread_prior_weight: 2.0, flags: FlagSettings::default() }
    }
}

/// The film of one panel, or of one substrate of it.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmSummary {
    /// Panel name.
    pub panel: String,
    /// What lies under the film.
    pub substrate: Substrate,
    /// Part of the film.
    pub part: FilmPart,
    /// Kinds of gauge used, sorted.
    pub kinds: Vec<GaugeKind>,
    /// Places of its readings in the list given.
    pub readings: Vec<usize>,
    /// Mean film \[m\], with the interval of the mean.
    pub mean: Interval,
    /// Mean film \[m\], with the interval of the film at a place not measured.
    pub anywhere: Interval,
    /// Standard deviation of what is believed of the mean \[m\]: for carrying on as a normal.
    pub mean_sd_m: f64,
    /// Standard deviation of what is believed of the film at a place not measured \[m\].
    pub anywhere_sd_m: f64,
    /// Median reading \[m\].
    pub median_m: f64,
    /// Standard deviation of the readings \[m\]; `None` for one reading.
    pub reading_sd_m: Option<f64>,
    /// Thinnest reading \[m\].
    pub min_m: f64,
    /// Thickest reading \[m\].
    pub max_m: f64,
    /// Largest stated uncertainty of a reading \[m\].
    pub uncertainty_m: f64,
    /// What looks unlike one original film.
    pub flags: Vec<FilmFlag>,
}

/// Sums up readings by panel, substrate and part of the film, in the order in which they first appear.
///
/// ```text
/// σ² ~ scaled inverse χ²(ν0, s0²), mean flat  ⇒  mean ~ ȳ + t_{ν0+n−1} s_n/√n
/// s_n² = (ν0 s0² + (n−1)s²)/(ν0+n−1)
/// half-width of the mean  = √((t s_n/√n)² + (z u)²)         u stated uncertainty [m]
/// half-width anywhere     = √((t s_n √(1+1/n))² + (z u)²)
/// ```
///
/// # Assumptions and valid range
/// A film near normal over the panel; u common to all readings of the panel, because a gauge's stated
/// uncertainty does not say how much of it averages out. A lower end below zero is given as zero: a
/// film cannot be negative.
///
/// # Accuracy
/// Exact for the model; Student's t to rounding.
///
/// # Errors
/// No readings; more than 1000 films; a setting outside its range.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::budget::{FilmSettings, GaugeKind, GaugeReading, film_summaries};
/// use trochoid::equipment::Substrate;
/// let um = Length::from_um;
/// let reading = GaugeReading::new("bonnet", um(110.0), GaugeKind::Magnetic, um(2.0), Substrate::Steel)?;
/// // One reading knows no spread but the assumed 8 µm, worth two readings: t of 2 degrees of freedom at 95 % is 2.920,
/// // √((2.920 × 8)² + (1.645 × 2)²) = 23.59 µm either way.
/// let one = film_summaries(&[reading], &FilmSettings::default())?.remove(0);
/// assert!((one.mean.best - 110e-6).abs() < 1e-15);
/// assert!((one.mean.high - one.mean.best - 23.59e-6).abs() < 0.01e-6);
/// # Ok::<(), trochoid::budget::BudgetError>(())
/// ```
///
/// # References
/// Gelman et al., Bayesian Data Analysis, section on the normal model with unknown mean and variance
/// (conjugate prior; from memory).
pub fn film_summaries(readings: &[GaugeReading], settings: &FilmSettings) -> Result<Vec<FilmSummary>, BudgetError> {
    let level = checked_level(settings.level)?;
    let s0 = within("spread_prior_m", settings.spread_prior_m, 1e-7, 1e-3, "m")?;
    let weight = within("spread_prior_weight", settings.spread_prior_weight, 0.5, 100.0, "readings")?;
    settings.flags.check()?;
    if readings.is_empty() {
        return Err(BudgetError::TooFew { what: "a film summary", have: 0, need: 1 });
    }
    let mut places: BTreeMap<(&str, &str, FilmPart), usize> = BTreeMap::new();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (i, r) in readings.iter().enumerate() {
        let place = *places.entry((r.panel(), substrate_word(r.substrate()), r.part())).or_insert(groups.len());
        match groups.get_mut(place) {
            Some(g) => g.push(i),
            None => groups.push(vec![i]),
        }
    }
    if groups.len() > MOST_FILMS {
        return Err(BudgetError::TooMuch {
            what: "panels in the readings",
            value: groups.len() as f64,
            most: MOST_FILMS as f64,
        });
    }
    let mut films: Vec<_> = groups.into_iter().map(|g| summary(readings, g, level, s0, weight)).collect();
    for i in 0..films.len() {
        films[i].flags = flags(readings, &films, i, &settings.flags);
    }
    Ok(films)
}

fn summary(readings: &[GaugeReading], group: Vec<usize>, level: f64, s0: f64, weight: f64) -> FilmSummary {
    let mut values: Vec<f64> = group.iter().map(|i| readings[*i].value().m()).collect();
    values.sort_unstable_by(f64::total_cmp);
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
    let freedom = weight + n - 1.0;
    let spread = ((weight * s0 * s0 + squares) / freedom).sqrt();
    let u = group.iter().map(|i| readings[*i].uncertainty().m()).fold(0.0, f64::max);
    let t = student_quantile(freedom, 0.5 + 0.5 * level);
    let z = normal_half_width(level);
    let interval = |scale: f64| {
        let half = (t * scale).hypot(z * u);
        Interval { low: (mean - half).max(0.0), best: mean, high: mean + half, level }
    };
    let (of_mean, of_place) = (spread / n.sqrt(), spread * (1.0 + 1.0 / n).sqrt());
    let first = &readings[group[0]];
    let mut kinds: Vec<_> = group.iter().map(|i| readings[*i].kind()).collect();
    kinds.sort_unstable();
    kinds.dedup();
    FilmSummary {
        panel: first.panel().to_owned(),
        substrate: first.substrate(),
        part: first.part(),
        kinds,
        mean: interval(of_mean),
        anywhere: interval(of_place),
        // A normal with the same interval: the t has no variance at 2 degrees of freedom and below.
        mean_sd_m: (t * of_mean).hypot(z * u) / z,
        anywhere_sd_m: (t * of_place).hypot(z * u) / z,
        median_m: percentile(&values, 0.5),
        reading_sd_m: (values.len() > 1).then(|| (squares / (n - 1.0)).sqrt()),
        min_m: values[0],
        max_m: values[values.len() - 1],
        uncertainty_m: u,
        flags: Vec::new(),
        readings: group,
    }
}
