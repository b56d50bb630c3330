//! Ordinary kriging: the film between the readings, with how well it is known there.
//!
//! The film is a random field with unknown constant mean and a covariance that falls with distance;
//! the gauge's variance is the nugget and is filtered out. Sill and range come from restricted maximum
//! likelihood with a weak prior. Their own uncertainty is not carried into the interval (the usual
//! plug-in), which therefore is a little narrow where readings are few.
//!
//! Source: Cressie, Statistics for Spatial Data, Wiley 1993, chapters 2.6 and 3.2 (from memory); the
//! tests solve the bordered system of a three-point case by hand.

use super::error::BudgetError;
use super::film::FilmSummary;
use super::gauge::GaugeReading;
use super::interval::{Interval, checked_level, microns};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::cholesky::{Cholesky, LANES};
use crate::math::distribution::normal_half_width;
use crate::math::reduce::map_indexed;
use crate::units::Length;

/// Most readings of one map.
pub const MOST_READINGS: usize = 2000;
/// Most cells of one map.
pub const MOST_CELLS: usize = 1_000_000;
/// Most multiplications of one map: some tens of seconds.
const MOST_WORK: f64 = 5e10;
/// Most readings that sill and range are fitted to; of more, every k-th.
const MOST_FITTED: usize = 150;
/// Prior of the sill: film spread over a panel, m (assumed, as in the film summary).
const SPREAD_PRIOR_M: f64 = 8e-6;
/// Prior standard deviation of the logarithms of spread and range: a factor of 2 either way.
const LN_PRIOR_SD: f64 = 0.7;
/// Extent taken where all readings stand at one place \[m\].
const LEAST_EXTENT_M: f64 = 0.1;

/// Shape of the covariance: how it falls with distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CovarianceShape {
    /// `exp(−d/range)`: rough films.
    #[default]
    Exponential,
    /// `exp(−(d/range)²)`: smooth films.
    Gaussian,
}

/// Covariance of the film at two places: a sill that falls with distance.
///
/// # Example
/// ```
/// use trochoid::{Length, budget::{Covariance, CovarianceShape}};
/// // A spread of 8 µm: 64 µm² at no distance, 1/e of it at the range.
/// let c = Covariance::new(CovarianceShape::Exponential, Length::from_mm(200.0), Length::from_um(8.0))?;
/// assert!((c.at(0.0) - 64e-12).abs() < 1e-22 && (c.at(0.2) - 23.544e-12).abs() < 1e-15);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Covariance {
    shape: CovarianceShape,
    range_m: f64,
    sill_m2: f64,
}

impl Covariance {
    /// A covariance with the film's standard deviation `spread` (its square is the sill).
    ///
    /// # Errors
    /// A range outside 0.1 mm to 100 m, a spread outside 0.01 µm to 2 mm.
    pub fn new(shape: CovarianceShape, range: Length, spread: Length) -> Result<Self, RangeError> {
        within("range_mm", range.mm(), 0.1, 1e5, "mm")?;
        microns("spread_um", spread, 0.01, 2000.0)?;
        Ok(Self { shape, range_m: range.m(), sill_m2: spread.m() * spread.m() })
    }

    /// Covariance \[m²\] at distance `d` \[m\]; see the example of [`Covariance`].
    #[must_use]
    pub fn at(&self, d: f64) -> f64 {
        let s = d / self.range_m;
        self.sill_m2
            * match self.shape {
                CovarianceShape::Exponential => (-s).exp(),
                CovarianceShape::Gaussian => (-s * s).exp(),
            }
    }

    /// Shape.
    #[must_use]
    pub const fn shape(&self) -> CovarianceShape {
        self.shape
    }

    /// Range.
    #[must_use]
    pub const fn range(&self) -> Length {
        Length::from_m(self.range_m)
    }

    /// Standard deviation of the film, the root of the sill.
    #[must_use]
    pub fn spread(&self) -> Length {
        Length::from_m(self.sill_m2.sqrt())
    }
}

/// One reading as kriging sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// Place \[m\].
    pub at: (f64, f64),
    /// Value \[m\].
    pub value: f64,
    /// Variance of the reading about the film \[m²\].
    pub noise: f64,
}

fn distance(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// Readings with their covariance factored, ready to estimate anywhere.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::budget::{Covariance, CovarianceShape, Kriging, Site};
/// let shape = CovarianceShape::Exponential;
/// let covariance = Covariance::new(shape, Length::from_mm(200.0), Length::from_um(8.0))?;
/// // One reading of 110 µm with a variance of 4 µm² is the estimate everywhere; the variance is that of
/// // film less reading, 2 (sill − c) + noise: 4 µm² at the place, 2 × 64 + 4 far away.
/// let one = Kriging::new(&[Site { at: (0.0, 0.0), value: 110e-6, noise: 4e-12 }], covariance)?;
/// let both = one.at_all(&[(0.0, 0.0), (100.0, 0.0)]);
/// assert!(both.iter().all(|e| (e.film_m - 110e-6).abs() < 1e-15));
/// assert!((both[0].variance_m2 - 4e-12).abs() < 1e-20 && (both[1].variance_m2 - 132e-12).abs() < 1e-20);
/// # Ok::<(), trochoid::budget::BudgetError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Kriging {
    places: Vec<(f64, f64)>,
    covariance: Covariance,
    factor: Cholesky,
    /// L⁻¹ of the residuals about the mean.
    residual: Vec<f64>,
    /// L⁻¹ of ones.
    ones: Vec<f64>,
    /// 1ᵀV⁻¹1.
    weight: f64,
    mean: f64,
}

/// An estimate of the film at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FilmEstimate {
    /// Film \[m\].
    pub film_m: f64,
    /// Variance of film less estimate \[m²\].
    pub variance_m2: f64,
}

impl Kriging {
    /// Factors the covariance of the readings; see the example of [`Kriging`].
    ///
    /// ```text
    /// [V 1; 1ᵀ 0][w; λ] = [c; 1]     V = C + diag(noise), c covariance of place and readings
    /// film = wᵀy,  variance = sill − wᵀc − λ                  y readings [m]
    /// ```
    ///
    /// # Assumptions and valid range
    /// A film of unknown constant mean; the covariance as given, without its own uncertainty.
    ///
    /// # Accuracy
    /// Exact but for rounding, which costs digits where places nearly coincide and the noise is small. Cost:
    /// n³/6 for n readings, n²/2 for each place.
    ///
    /// # Errors
    /// No readings or more than [`MOST_READINGS`]; a place, value or noise that is not finite, a noise
    /// that is not positive; a covariance that cannot be factored.
    ///
    /// # References
    /// Cressie, Statistics for Spatial Data (1993), chapter 3.2, from memory.
    pub fn new(sites: &[Site], covariance: Covariance) -> Result<Self, BudgetError> {
        if sites.is_empty() {
            return Err(BudgetError::TooFew { what: "kriging", have: 0, need: 1 });
        }
        if sites.len() > MOST_READINGS {
            return Err(BudgetError::TooMuch {
                what: "readings of one map",
                value: sites.len() as f64,
                most: MOST_READINGS as f64,
            });
        }
        for s in sites {
            within("x_mm", s.at.0 * 1e3, -1e6, 1e6, "mm")?;
            within("y_mm", s.at.1 * 1e3, -1e6, 1e6, "mm")?;
            within("value_um", s.value * 1e6, -1e5, 1e5, "µm")?;
            within("noise_um2", s.noise * 1e12, 1e-6, 1e8, "µm²")?;
        }
        let n = sites.len();
        let factor = Cholesky::factor(n, |i, j| {
            covariance.at(distance(sites[i].at, sites[j].at)) + if i == j { sites[i].noise } else { 0.0 }
        })
        .ok_or(BudgetError::Covariance)?;
        let mut ones = vec![1.0; n];
        factor.forward(&mut ones);
        let mut residual: Vec<f64> = sites.iter().map(|s| s.value).collect();
        factor.forward(&mut residual);
        let weight: f64 = ones.iter().map(|v| v * v).sum();
        let mean = ones.iter().zip(&residual).map(|(a, b)| a * b).sum::<f64>() / weight;
        for (r, o) in residual.iter_mut().zip(&ones) {
            *r -= mean * o;
        }
        Ok(Self { places: sites.iter().map(|s| s.at).collect(), covariance, factor, residual, ones, weight, mean })
    }

    /// Generalised least-squares mean of the film \[m\].
    #[must_use]
    pub const fn mean(&self) -> f64 {
        self.mean
    }

    /// Minus twice the restricted log-likelihood, without its constant.
    fn deviance(&self) -> f64 {
        self.factor.ln_determinant() + self.weight.ln() + self.residual.iter().map(|r| r * r).sum::<f64>()
    }

    /// Estimates the film at up to [`LANES`] places at once.
    fn estimate(&self, at: &[(f64, f64)]) -> [FilmEstimate; LANES] {
        let place = |k: usize| at.get(k).or(at.first()).copied().unwrap_or((0.0, 0.0));
        let lanes: [(f64, f64); LANES] = core::array::from_fn(place);
        let mut c: Vec<[f64; LANES]> =
            self.places.iter().map(|p| lanes.map(|q| self.covariance.at(distance(*p, q)))).collect();
        self.factor.forward_lanes(&mut c);
        let (mut known, mut film, mut ones) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
        for ((row, r), o) in c.iter().zip(&self.residual).zip(&self.ones) {
            for k in 0..LANES {
                known[k] += row[k] * row[k];
                film[k] += row[k] * r;
                ones[k] += row[k] * o;
            }
        }
        core::array::from_fn(|k| {
            let lack = 1.0 - ones[k];
            let variance = self.covariance.sill_m2 - known[k] + lack * lack / self.weight;
            // Rounding can take a variance that is almost nothing below zero.
            FilmEstimate { film_m: self.mean + film[k], variance_m2: variance.max(0.0) }
        })
    }

    /// Estimate at one place \[m\]; see the example of [`Kriging`].
    #[must_use]
    pub fn at(&self, x: f64, y: f64) -> FilmEstimate {
        self.estimate(&[(x, y)])[0]
    }

    /// Estimates at many places \[m\], in their order, with the same bits for any number of threads; see the
    /// example of [`Kriging`].
    #[must_use]
    pub fn at_all(&self, places: &[(f64, f64)]) -> Vec<FilmEstimate> {
        let groups = places.len().div_ceil(LANES);
        let found = map_indexed(groups, |g| {
            let from = g * LANES;
            let some = &places[from..(from + LANES).min(places.len())];
            (self.estimate(some), some.len())
        });
        found.into_iter().flat_map(|(e, n)| e.into_iter().take(n)).collect()
    }
}

/// A covariance fitted to readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedCovariance {
    /// The covariance.
    pub covariance: Covariance,
    /// Readings that the fit used.
    pub readings_used: usize,
    /// Times that the covariance was factored.
    pub factorings: u32,
}

/// Fits spread and range by restricted maximum likelihood with a weak prior.
///
/// The prior: spread around 8 µm (assumed, no source), range around a third of the extent of the
/// readings, each to a factor of 2 (one standard deviation). Of more than 150 readings every k-th is
/// used. A coarse grid over both logarithms, then a compass search to 1 %.
///
/// # Accuracy
/// The logarithms to about 0.01. Few readings leave them near their prior; their own uncertainty is not told.
///
/// # Errors
/// Fewer than 3 readings, and as [`Kriging::new`].
///
/// # Example
/// ```
/// use trochoid::budget::{CovarianceShape, Site, fit_covariance};
/// let sites = |scale: f64| [(0.0, 100e-6), (0.1, 112e-6), (0.3, 104e-6), (0.6, 96e-6)]
///     .map(|(x, value)| Site { at: (scale * x, 0.0), value, noise: 1e-12 });
/// // The same readings twice as far apart: the same spread, twice the range.
/// let near = fit_covariance(&sites(1.0), CovarianceShape::Exponential)?.covariance;
/// let far = fit_covariance(&sites(2.0), CovarianceShape::Exponential)?.covariance;
/// assert!((far.range().m() / near.range().m() - 2.0).abs() < 1e-9);
/// assert!((far.spread().m() / near.spread().m() - 1.0).abs() < 1e-9);
/// # Ok::<(), trochoid::budget::BudgetError>(())
/// ```
///
/// # References
/// Cressie (1993), chapter 2.6, restricted maximum likelihood, from memory; the prior is assumed.
pub fn fit_covariance(sites: &[Site], shape: CovarianceShape) -> Result<FittedCovariance, BudgetError> {
    if sites.len() < 3 {
        return Err(BudgetError::TooFew { what: "a film map", have: sites.len(), need: 3 });
    }
    let stride = sites.len().div_ceil(MOST_FITTED);
    let used: Vec<Site> = sites.iter().step_by(stride).copied().collect();
    let ends = |f: fn(&Site) -> f64| {
        let (low, high) = sites.iter().map(f).fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        high - low
    };
    let extent = ends(|s| s.at.0).max(ends(|s| s.at.1)).max(LEAST_EXTENT_M);
    let centre = ((extent / 3.0).ln(), SPREAD_PRIOR_M.ln());
    let mut factorings = 0;
    let mut cost = |ln_range: f64, ln_spread: f64| -> Result<f64, BudgetError> {
        let covariance = Covariance { shape, range_m: ln_range.exp(), sill_m2: (2.0 * ln_spread).exp() };
        factorings += 1;
        let prior = ((ln_range - centre.0) / LN_PRIOR_SD).powi(2) + ((ln_spread - centre.1) / LN_PRIOR_SD).powi(2);
        Ok(Kriging::new(&used, covariance)?.deviance() + prior)
    };
    let mut best = (f64::INFINITY, centre.0, centre.1);
    for i in -3..=3 {
        for j in -3..=3 {
            let at = (centre.0 + 0.6 * f64::from(i), centre.1 + 0.6 * f64::from(j));
            let c = cost(at.0, at.1)?;
            if c < best.0 {
                best = (c, at.0, at.1);
            }
        }
    }
    let mut step = 0.3;
    // Each step of a search is bounded by the prior: 200 is far beyond what it takes.
    for _ in 0..200 {
        let mut moved = false;
        for (dx, dy) in [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)] {
            let c = cost(best.1 + dx, best.2 + dy)?;
            if c < best.0 {
                best = (c, best.1 + dx, best.2 + dy);
                moved = true;
                break;
            }
        }
        if !moved {
            step *= 0.5;
            if step < 0.01 {
                break;
            }
        }
    }
    let covariance = Covariance { shape, range_m: best.1.exp(), sill_m2: (2.0 * best.2).exp() };
    Ok(FittedCovariance { covariance, readings_used: used.len(), factorings })
}

/// Grid and interval of a film map; at most [`MOST_CELLS`] points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FilmMapSettings {
    /// Lower corner of the grid \[m\].
    pub from: (f64, f64),
    /// Upper corner of the grid \[m\].
    pub to: (f64, f64),
    /// Points along x and y, corners included; 2 or more each.
    pub points: (usize, usize),
    /// Probability of the interval \[1\], 0.5 to 0.999.
    pub level: f64,
    /// Shape of the covariance.
    pub shape: CovarianceShape,
}

/// The film over a grid, row by row from the lower corner.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmMap {
    /// Points along x and y.
    pub points: (usize, usize),
    /// Places \[m\].
    pub places: Vec<(f64, f64)>,
    /// Film with its interval at each place \[m\].
    pub film: Vec<Interval>,
    /// Standard deviation at each place \[m\], the gauge's offset included.
    pub sd_m: Vec<f64>,
    /// The covariance used.
    pub fitted: FittedCovariance,
    /// Readings with a place.
    pub readings_used: usize,
    /// Readings of the film without a place.
    pub readings_without_place: usize,
}

impl FilmMap {
    /// Place in the lists of the thinnest estimate.
    #[must_use]
    pub fn thinnest(&self) -> usize {
        (0..self.film.len()).min_by(|a, b| self.film[*a].best.total_cmp(&self.film[*b].best)).unwrap_or(0)
    }
}

/// Maps one film over a grid.
///
/// # Assumptions and valid range
/// The stated uncertainty u of a reading counts twice: as the nugget that scatters readings, and as an
/// offset common to all of them, because it does not say which it is. The half-width is
/// `z √(variance + u²)`; a lower end below zero is given as zero.
///
/// # Accuracy
/// Exact for the covariance given; cost n³/6 + n²/2 a place multiplications for n readings.
///
/// # Errors
/// Fewer than 3 readings with a place, too many readings or places, a grid that is not one.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::budget::{CovarianceShape, FilmMapSettings, FilmSettings, GaugeKind, GaugeReading, film_map,
///     film_summaries};
/// use trochoid::equipment::Substrate;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let mut readings = Vec::new();
/// for (x, y) in [(0.1, 0.1), (0.5, 0.1), (0.3, 0.4)] {
///     let film = Length::from_um(110.0);
///     let one = GaugeReading::new("bonnet", film, GaugeKind::Magnetic, Length::from_um(2.0), Substrate::Steel)?;
///     readings.push(one.at(Length::from_m(x), Length::from_m(y))?);
/// }
/// let film = film_summaries(&readings, &FilmSettings::default())?.remove(0);
/// let settings = FilmMapSettings { from: (0.0, 0.0), to: (0.6, 0.5), points: (7, 6), level: 0.9,
///     shape: CovarianceShape::Exponential };
/// let map = film_map(&readings, &film, &settings)?;
/// // Weights add up to one: equal readings give their value everywhere, least sure away from them.
/// assert!(map.film.len() == 42 && map.film.iter().all(|f| (f.best - 110e-6).abs() < 1e-12));
/// assert!(map.sd_m[8] < map.sd_m[41]); // at (0.1, 0.1) and at (0.6, 0.5)
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Cressie (1993), chapter 3.2, from memory; the offset common to all readings is own.
pub fn film_map(
    readings: &[GaugeReading],
    film: &FilmSummary,
    settings: &FilmMapSettings,
) -> Result<FilmMap, BudgetError> {
    let level = checked_level(settings.level)?;
    let (nx, ny) = settings.points;
    for (what, n) in [("points_x", nx), ("points_y", ny)] {
        within(what, n as f64, 2.0, 1e5, "points")?;
    }
    let cells = nx as f64 * ny as f64;
    if cells > MOST_CELLS as f64 {
        return Err(BudgetError::TooMuch { what: "points of one map", value: cells, most: MOST_CELLS as f64 });
    }
    for (what, low, high) in [("to_x_mm", settings.from.0, settings.to.0), ("to_y_mm", settings.from.1, settings.to.1)]
    {
        within(what, low * 1e3, -1e6, 1e6, "mm")?;
        within(what, high * 1e3, -1e6, 1e6, "mm")?;
        if high <= low {
            return Err(RangeError::new(what, high * 1e3, "mm", format!("more than {} mm", low * 1e3)).into());
        }
    }
    let mut sites = Vec::new();
    for r in film.readings.iter().filter_map(|i| readings.get(*i)) {
        if let Some(at) = r.place_m() {
            sites.push(Site { at, value: r.value().m(), noise: r.uncertainty().m() * r.uncertainty().m() });
        }
    }
    let work = 0.5 * (sites.len() as f64).powi(2) * cells;
    if work > MOST_WORK {
        return Err(BudgetError::TooMuch { what: "readings squared times points", value: work, most: MOST_WORK });
    }
    let fitted = fit_covariance(&sites, settings.shape)?;
    let kriging = Kriging::new(&sites, fitted.covariance)?;
    let along = |from: f64, to: f64, i: usize, n: usize| from + (to - from) * i as f64 / (n as f64 - 1.0);
    let places: Vec<(f64, f64)> = (0..nx * ny)
        .map(|i| {
            let (x, y) = (i % nx, i / nx);
            (along(settings.from.0, settings.to.0, x, nx), along(settings.from.1, settings.to.1, y, ny))
        })
        .collect();
    let z = normal_half_width(level);
    let found = kriging.at_all(&places);
    let sd_m: Vec<f64> = found.iter().map(|e| e.variance_m2.sqrt().hypot(film.uncertainty_m)).collect();
    let interval = |(e, sd): (&FilmEstimate, &f64)| Interval {
        low: (e.film_m - z * sd).max(0.0),
        best: e.film_m,
        high: e.film_m + z * sd,
        level,
    };
    Ok(FilmMap {
        points: settings.points,
        film: found.iter().zip(&sd_m).map(interval).collect(),
        places,
        sd_m,
        fitted,
        readings_used: sites.len(),
        readings_without_place: film.readings.len() - sites.len(),
    })
}
