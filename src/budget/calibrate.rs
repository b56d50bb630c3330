//! Test spots to the removal coefficient, with what they can and cannot tell apart.
//!
//! A Bayesian update on a grid: log-normal prior of k_p from the pairing; optionally the bearing drag
//! (where the pad's rotation was counted), the depth of the swirls (where the eye judged), an exponent
//! of abrasive breakdown and one of pressure. Each spot's true exposure scatters about the predicted
//! one. What the records cannot tell stays as wide as its prior, and the result says so.

use super::error::BudgetError;
use super::grid::{AXES, Axis, BREAKDOWN, DEPTH, DRAG, Marginal, PRESSURE, Problem, REMOVAL};
use super::interval::{Interval, checked_level};
use super::likelihood::ln_count;
use super::spot::{DRAG_RANGE, SwirlDepth, TestSpot};
use crate::equipment::{Pairing, within};
use crate::error::RangeError;
use crate::finish::SWIRL_UM;
use crate::math::distribution::{LogNormal, ln_sd_of_relative};
use crate::units::Length;

/// Most spots of one calibration.
pub const MOST_SPOTS: usize = 500;
/// Prior standard deviations of ln k_p that the grid spans to each side.
const NEAR: f64 = 5.0;
/// The same where the records push the mass to the end.
const FAR: f64 = 15.0;

/// Prior of the factor on the bearing drag, between 0.5 and 2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DragPrior {
    /// Even in the logarithm.
    LogUniform,
    /// Log-normal about 1 with this standard deviation of the logarithm, cut off at the ends.
    LogNormal {
        /// Standard deviation of the logarithm \[1\], 0.02 to 2.
        ln_sd: f64,
    },
}

/// How a calibration is done: numbers assumed where no record tells them, each with its range.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationSettings {
    /// Probability of the intervals \[1\], 0.5 to 0.999; 0.90.
    pub level: f64,
    /// Relative standard deviation of a spot's true exposure about the predicted one \[1\] (hand-held feed
    /// and force): 0, or 0.02 to 1. Default 0.1: assumed.
    pub exposure_rel_sd: f64,
    /// Relative standard deviation of the spin about the predicted one \[1\], 0.005 to 1. Default 0.05:
    /// assumed.
    pub spin_rel_sd: f64,
    /// Prior of the bearing drag; even in the logarithm by default.
    pub drag: DragPrior,
    /// Depths of the swirls. Default those of [`crate::finish::SWIRL_UM`], which the correction of a
    /// plan rests on too: assumed.
    pub depth: SwirlDepth,
    /// Standard deviation of the logarithm of a common factor on those depths \[1\], 0.02 to 2. Default 0.6:
    /// assumed, a factor of two or so either way between one car and another.
    pub depth_ln_sd: f64,
    /// Scatter of the eye on the log-odds of the share left \[1\], 0.1 to 3. Default 0.5: assumed.
    pub eye_sd: f64,
    /// Chance of a slip to each class \[1\], 0.001 to 0.05. Default 0.01: assumed.
    pub eye_lapse: f64,
    /// Upper end of the breakdown exponent β \[1\] (the cut of pass j falls as j^−β; even prior from 0), 0.05
    /// to 2; `None`, the default, leaves breakdown out.
    pub breakdown_most: Option<f64>,
    /// Standard deviation of the exponent on pressure about 1 \[1\], 0.02 to 0.5; `None`, the default, keeps it
    /// at 1. Every
    /// spot then needs its mean pressure, and k_p is that at their geometric mean.
    pub pressure_exponent_sd: Option<f64>,
}

impl Default for CalibrationSettings {
    fn default() -> Self {
        Self {
            level: 0.90,
            exposure_rel_sd: 0.1,
            spin_rel_sd: 0.05,
            drag: DragPrior::LogUniform,
            depth: SwirlDepth::LogNormal(LogNormal::of_constants(Length::from_um(SWIRL_UM.0).m(), SWIRL_UM.1)),
            depth_ln_sd: 0.6,
            eye_sd: 0.5,
            eye_lapse: 0.01,
            breakdown_most: None,
            pressure_exponent_sd: None,
        }
    }
}

impl CalibrationSettings {
    /// Standard deviation of the logarithm of the exposure, √ln(1+v²) of its relative one v \[1\].
    #[must_use]
    pub fn exposure_ln_sd(&self) -> f64 {
        ln_sd_of_relative(self.exposure_rel_sd)
    }

    fn check(&self) -> Result<(), RangeError> {
        checked_level(self.level)?;
        if self.exposure_rel_sd > 0.0 || self.exposure_rel_sd.is_nan() {
            within("exposure_rel_sd", self.exposure_rel_sd, 0.02, 1.0, "")?;
        } else {
            within("exposure_rel_sd", self.exposure_rel_sd, 0.0, 1.0, "")?;
        }
        within("spin_rel_sd", self.spin_rel_sd, 0.005, 1.0, "")?;
        if let DragPrior::LogNormal { ln_sd } = self.drag {
            within("drag_ln_sd", ln_sd, 0.02, 2.0, "")?;
        }
        within("depth_ln_sd", self.depth_ln_sd, 0.02, 2.0, "")?;
        within("eye_sd", self.eye_sd, 0.1, 3.0, "")?;
        within("eye_lapse", self.eye_lapse, 0.001, 0.05, "")?;
        if let Some(most) = self.breakdown_most {
            within("breakdown_most", most, 0.05, 2.0, "")?;
        }
        if let Some(sd) = self.pressure_exponent_sd {
            within("pressure_exponent_sd", sd, 0.02, 0.5, "")?;
        }
        Ok(())
    }
}

/// A quantity that a calibration may find.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parameter {
    /// Removal coefficient k_p [1/Pa].
    Removal,
    /// Factor on the bearing drag.
    BearingDrag,
    /// Factor on the depths of the swirls.
    SwirlDepth,
    /// Exponent of abrasive breakdown.
    Breakdown,
    /// Exponent on pressure.
    PressureExponent,
}

impl Parameter {
    const ORDER: [Self; AXES] =
        [Self::Removal, Self::BearingDrag, Self::SwirlDepth, Self::Breakdown, Self::PressureExponent];

    /// The parameter in words, for sentences.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Removal => "the removal coefficient",
            Self::BearingDrag => "the bearing drag",
            Self::SwirlDepth => "the depth of the swirls",
            Self::Breakdown => "the breakdown of the abrasive",
            Self::PressureExponent => "the exponent on pressure",
        }
    }

    /// Whether the grid holds its logarithm.
    const fn logarithmic(self) -> bool {
        matches!(self, Self::Removal | Self::BearingDrag | Self::SwirlDepth)
    }
}

/// How far records have narrowed a parameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Identified {
    /// To half its prior width or less.
    Well,
    /// Narrower than the prior, though not by half.
    Partly,
    /// Hardly at all (more than nine tenths of the prior width): not identifiable from these records.
    Not,
}

/// What is believed of one parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ParameterPosterior {
    /// Which.
    pub parameter: Parameter,
    /// Median and central interval.
    pub value: Interval,
    /// The same before the records.
    pub prior: Interval,
    /// Standard deviation over that of the prior \[1\]; of the logarithm for coefficient, drag and depth.
    pub width_ratio: f64,
    /// How far it is narrowed.
    pub identified: Identified,
}

/// Two parameters that hang together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correlation {
    /// One.
    pub first: Parameter,
    /// The other.
    pub second: Parameter,
    /// Correlation \[1\], −1 to 1.
    pub correlation: f64,
    /// Whether these records cannot tell the two apart: correlation above 0.6 in size where neither is
    /// narrowed to half its prior, above 0.8 where only one is.
    pub inseparable: bool,
}

/// A record that looks odd; the likelihood is as stated all the same.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum CalibrationWarning {
    /// The film reads thicker after than before, by more than twice the noise.
    Grew {
        /// Spot.
        spot: String,
        /// How much thicker \[m\].
        by_m: f64,
        /// Noise of the difference, one standard deviation \[m\].
        noise_m: f64,
    },
    /// The coefficient found is more than three prior standard deviations from its prior.
    FarFromPrior {
        /// How many.
        deviations: f64,
    },
    /// No bearing drag in range makes the pad turn as counted.
    CountOutOfReach {
        /// Spot.
        spot: String,
    },
}

impl CalibrationWarning {
    /// The warning as a sentence, with its numbers in µm.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Grew { spot, by_m, noise_m } => format!(
                "test spot '{spot}': the film reads {:.1} µm thicker after than before, with a noise of {:.1} µm; \
                 swapped readings, another place, or product left on the paint?",
                by_m * 1e6,
                noise_m * 1e6
            ),
            Self::FarFromPrior { deviations } => format!(
                "the removal coefficient found is {deviations:.1} standard deviations from what was expected; check \
                 the pairing, the exposure and the readings"
            ),
            Self::CountOutOfReach { spot } => {
                format!("test spot '{spot}': no bearing drag from half to double makes the pad turn as counted")
            }
        }
    }
}

/// The result of a calibration.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// The removal coefficient [1/Pa].
    pub removal: ParameterPosterior,
    /// The other parameters that were open.
    pub others: Vec<ParameterPosterior>,
    /// Every pair of open parameters.
    pub correlations: Vec<Correlation>,
    /// Mean of the logarithm of k_p \[1/Pa\].
    pub ln_mean: f64,
    /// Standard deviation of the logarithm of k_p \[1\].
    pub ln_sd: f64,
    /// Scatter of a spot's exposure used, standard deviation of the logarithm \[1\].
    pub exposure_ln_sd: f64,
    /// Pressure at which k_p holds \[Pa\], where the exponent on pressure was open.
    pub reference_pressure_pa: Option<f64>,
    /// Records that look odd.
    pub warnings: Vec<CalibrationWarning>,
    marginal: Marginal,
}

impl Calibration {
    /// Probability that k_p is at most `preston_per_pa` \[1/Pa\].
    #[must_use]
    pub fn cdf(&self, preston_per_pa: f64) -> f64 {
        if preston_per_pa > 0.0 { self.marginal.cdf(preston_per_pa.ln()) } else { 0.0 }
    }

    /// k_p \[1/Pa\] that is not exceeded with probability `p`.
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        self.marginal.quantile(p).exp()
    }

    /// Density of ln k_p for a picture: k_p \[1/Pa\] and density.
    pub fn density(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.marginal.x.iter().map(|x| x.exp()).zip(self.marginal.density.iter().copied())
    }

    /// Cut \[m\] where the exposure is predicted as `exposure_pa_m` \[Pa·m\], as a log-normal with the
    /// moments of the calibration and the scatter of an exposure.
    ///
    /// # Errors
    /// An exposure outside 1e-3 to 1e9 Pa·m.
    pub fn cut(&self, exposure_pa_m: f64) -> Result<LogNormal, RangeError> {
        within("exposure_pa_m", exposure_pa_m, 1e-3, 1e9, "Pa·m")?;
        LogNormal::new(self.ln_mean.exp() * exposure_pa_m, self.ln_sd.hypot(self.exposure_ln_sd))
    }

    /// Median cut and its interval \[m\] at an exposure \[Pa·m\]; see the example of [`calibrate`].
    ///
    /// # Errors
    /// As [`Calibration::cut`]; a level outside 0.5 to 0.999.
    pub fn cut_interval(&self, exposure_pa_m: f64, level: f64) -> Result<Interval, RangeError> {
        let cut = self.cut(exposure_pa_m)?;
        checked_level(level)?;
        Ok(Interval {
            low: cut.quantile(0.5 - 0.5 * level),
            best: cut.median(),
            high: cut.quantile(0.5 + 0.5 * level),
            level,
        })
    }

    /// What the records tell and what they do not, a sentence each; see the example of [`calibrate`].
    #[must_use]
    pub fn statements(&self) -> Vec<String> {
        let mut out = Vec::new();
        for p in core::iter::once(&self.removal).chain(&self.others) {
            let name = p.parameter.words();
            out.push(match p.identified {
                Identified::Well => {
                    format!("{name} is known to {:.0} % of its width before", 100.0 * p.width_ratio)
                }
                Identified::Partly => format!(
                    "{name} is narrowed to {:.0} % of its width before; more readings would help",
                    100.0 * p.width_ratio
                ),
                Identified::Not => {
                    format!("{name} is not identifiable from these records: it stays as wide as it was assumed")
                }
            });
        }
        for c in self.correlations.iter().filter(|c| c.inseparable) {
            out.push(format!(
                "these records cannot separate {} from {} (correlation {:.2})",
                c.first.words(),
                c.second.words(),
                c.correlation
            ));
        }
        out
    }
}

/// Nodes of each axis: fewer where more parameters are open.
const fn nodes(open: usize) -> [usize; AXES] {
    match open {
        0 | 1 => [241, 61, 25, 15, 15],
        2 => [161, 61, 25, 15, 15],
        3 => [121, 41, 21, 13, 13],
        _ => [81, 21, 11, 9, 9],
    }
}

/// Calibrates from test spots.
///
/// ```text
/// cut = k_p E w(β) (p/p̄)^(a−1) r(drag) e^η,   ln k_p ~ N(ln k_p0, ln(1+v²)),  η ~ N(0, τ²) a spot
/// ```
///
/// E exposure \[Pa·m\], w breakdown, r response to the drag, v `preston_rel_sd` of the pairing, whose
/// coefficient is taken as the median. Gauge, eye and count of a spot are independent given its cut
/// and the drag.
///
/// # Assumptions and valid range
/// One pairing of pad, product and paint; the gauge's scatter as stated with each pair; the film's place
/// between two steps of the display even.
///
/// # Accuracy
/// Quadrature on grids that are refined to the mass; quantiles to about 1e-3 of the posterior's width
/// with up to two open parameters, 1e-2 with more. The pairs of one spot are never taken as better than
/// 0.2 % of its cut.
///
/// # Errors
/// No spot, more than [`MOST_SPOTS`], or so many with so much open that the grid outgrows its bounds; a spot
/// with no reading, look or count; a pairing whose coefficient is zero or whose spread leaves nothing to
/// calibrate (`preston_rel_sd` below 0.005); a missing pressure; a setting outside its range.
///
/// # Example
/// ```
/// use trochoid::budget::{CalibrationSettings, PairedReading, TestSpot, calibrate};
/// use trochoid::equipment::{Pairing, Product};
/// use trochoid::Length;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// // Expected 2e-11 per pascal, to a half. A spot of 1e5 Pa·m where a very fine gauge sees 4 µm go:
/// // k_p = 4e-6/1e5 = 4e-11 per pascal, whatever was expected.
/// let pairing = Pairing::new(Product::new(0.35, 2e-11)?, 0.5)?;
/// let um = Length::from_um;
/// let pair = PairedReading::new(um(120.0), um(116.0), um(0.01), um(0.01), 1)?;
/// let spot = TestSpot::new("bonnet", 1e5, 4)?.with_pair(pair)?;
/// let exact = CalibrationSettings { exposure_rel_sd: 0.0, ..CalibrationSettings::default() };
/// let found = calibrate(&pairing, &[spot], &exact)?;
/// assert!((found.removal.value.best / 4e-11 - 1.0).abs() < 0.01);
/// // Twice the exposure takes 8 µm.
/// let cut = found.cut_interval(2e5, 0.9)?;
/// assert!(cut.holds(8e-6) && cut.width() < 0.2e-6);
/// assert!(found.statements()[0].starts_with("the removal coefficient is known"));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own model; Bayes' rule on a grid.
pub fn calibrate(
    pairing: &Pairing,
    spots: &[TestSpot],
    settings: &CalibrationSettings,
) -> Result<Calibration, BudgetError> {
    settings.check()?;
    let k0 = within("preston_per_pa", pairing.product().preston_per_pa(), 1e-18, 1e-6, "1/Pa")?;
    let v = within("preston_rel_sd", pairing.preston_rel_sd(), 0.005, 3.0, "")?;
    let reference_pa = checked_spots(spots, settings)?;
    let sd = ln_sd_of_relative(v);
    let normal = |centre: f64, sd: f64| move |x: f64| -0.5 * ((x - centre) / sd) * ((x - centre) / sd);
    let prior_k = normal(k0.ln(), sd);
    let drag = settings.drag;
    let prior_drag = move |x: f64| match drag {
        DragPrior::LogUniform => 0.0,
        DragPrior::LogNormal { ln_sd } => -0.5 * (x / ln_sd) * (x / ln_sd),
    };
    let open = [
        true,
        spots.iter().any(|s| s.response().is_some()),
        spots.iter().any(|s| !s.looks().is_empty()),
        settings.breakdown_most.is_some(),
        settings.pressure_exponent_sd.is_some(),
    ];
    let count = nodes(open.iter().filter(|o| **o).count());
    let axes: [Axis; AXES] = core::array::from_fn(|a| match a {
        _ if !open[a] => Axis::fixed(if a == PRESSURE { 1.0 } else { 0.0 }),
        REMOVAL => Axis::over(k0.ln() - NEAR * sd, k0.ln() + NEAR * sd, count[a], prior_k),
        DRAG => Axis::over(DRAG_RANGE.0.ln(), DRAG_RANGE.1.ln(), count[a], prior_drag),
        DEPTH => {
            let d = settings.depth_ln_sd;
            Axis::over(-3.5 * d, 3.5 * d, count[a], normal(0.0, d))
        }
        BREAKDOWN => Axis::over(0.0, settings.breakdown_most.unwrap_or(0.0), count[a], |_| 0.0),
        _ => {
            let d = settings.pressure_exponent_sd.unwrap_or(0.0);
            Axis::over(1.0 - 3.5 * d, 1.0 + 3.5 * d, count[a], normal(1.0, d))
        }
    });
    let mut problem = Problem { spots, settings, reference_pa, axes };
    let mut posterior = problem.within_bounds()?.solve(prior_k, prior_drag);
    if posterior.marginals[REMOVAL].as_ref().is_none_or(|m| !m.ends_inside()) {
        // Records that contradict the prior: look further out before the mass piles up at the end.
        problem.axes[REMOVAL] = Axis::over(k0.ln() - FAR * sd, k0.ln() + FAR * sd, 2 * count[REMOVAL], prior_k);
        posterior = problem.within_bounds()?.solve(prior_k, prior_drag);
    }
    let Some(marginal) = posterior.marginals[REMOVAL].clone() else { return Err(BudgetError::Covariance) };
    let found: Vec<(usize, ParameterPosterior)> = (0..AXES)
        .filter_map(|a| {
            let m = posterior.marginals[a].as_ref()?;
            Some((a, summary(Parameter::ORDER[a], m, &problem.axes[a].prior(), settings.level)))
        })
        .collect();
    let mut correlations = Vec::new();
    for (i, (a, first)) in found.iter().enumerate() {
        for (b, second) in &found[i + 1..] {
            let correlation = posterior.correlation[*a][*b];
            let loose = [first, second].iter().filter(|p| p.identified != Identified::Well).count();
            correlations.push(Correlation {
                first: first.parameter,
                second: second.parameter,
                correlation,
                inseparable: match loose {
                    0 => false,
                    1 => correlation.abs() > 0.8,
                    _ => correlation.abs() > 0.6,
                },
            });
        }
    }
    let (ln_mean, ln_sd) = (marginal.mean(), marginal.sd());
    Ok(Calibration {
        removal: found[0].1,
        others: found[1..].iter().map(|f| f.1).collect(),
        correlations,
        ln_mean,
        ln_sd,
        exposure_ln_sd: settings.exposure_ln_sd(),
        reference_pressure_pa: reference_pa,
        warnings: warnings(spots, settings, (ln_mean - k0.ln()) / sd),
        marginal,
    })
}

/// Checks that every spot has what it must, and gives the reference pressure where one is needed.
fn checked_spots(spots: &[TestSpot], settings: &CalibrationSettings) -> Result<Option<f64>, BudgetError> {
    if spots.is_empty() {
        return Err(BudgetError::TooFew { what: "a calibration", have: 0, need: 1 });
    }
    if spots.len() > MOST_SPOTS {
        return Err(BudgetError::TooMuch { what: "test spots", value: spots.len() as f64, most: MOST_SPOTS as f64 });
    }
    let lacks = |s: &TestSpot, what| BudgetError::Missing { spot: s.name().to_owned(), what };
    let mut ln_pressure = 0.0;
    for s in spots {
        if s.pairs().is_empty() && s.looks().is_empty() && s.count().is_none() {
            return Err(lacks(s, "a film reading, a look or a count"));
        }
        if settings.pressure_exponent_sd.is_some() {
            ln_pressure += s.mean_pressure_pa().ok_or_else(|| lacks(s, "its mean pressure"))?.ln();
        }
    }
    Ok(settings.pressure_exponent_sd.map(|_| (ln_pressure / spots.len() as f64).exp()))
}

fn summary(parameter: Parameter, posterior: &Marginal, prior: &Marginal, level: f64) -> ParameterPosterior {
    let interval = |m: &Marginal| {
        let at = |p: f64| if parameter.logarithmic() { m.quantile(p).exp() } else { m.quantile(p) };
        Interval { low: at(0.5 - 0.5 * level), best: at(0.5), high: at(0.5 + 0.5 * level), level }
    };
    let width_ratio = posterior.sd() / prior.sd();
    let identified = if width_ratio <= 0.5 {
        Identified::Well
    } else if width_ratio <= 0.9 {
        Identified::Partly
    } else {
        Identified::Not
    };
    ParameterPosterior { parameter, value: interval(posterior), prior: interval(prior), width_ratio, identified }
}

fn warnings(spots: &[TestSpot], settings: &CalibrationSettings, deviations: f64) -> Vec<CalibrationWarning> {
    let mut out = Vec::new();
    for s in spots {
        for p in s.pairs() {
            if p.difference_m() < -2.0 * p.noise_m() {
                out.push(CalibrationWarning::Grew {
                    spot: s.name().to_owned(),
                    by_m: -p.difference_m(),
                    noise_m: p.noise_m(),
                });
            }
        }
        if let (Some(count), Some(response)) = (s.count(), s.response()) {
            let step = (DRAG_RANGE.1 / DRAG_RANGE.0).ln() / 40.0;
            let reach = (0..=40).any(|i| {
                let ln_factor = DRAG_RANGE.0.ln() + step * f64::from(i);
                // e⁻⁹: a count as unlikely as one in ten thousand.
                ln_count(count, response.spin(ln_factor), settings.spin_rel_sd) > -9.0
            });
            if !reach {
                out.push(CalibrationWarning::CountOutOfReach { spot: s.name().to_owned() });
            }
        }
    }
    if deviations.abs() > 3.0 {
        out.push(CalibrationWarning::FarFromPrior { deviations });
    }
    out
}
