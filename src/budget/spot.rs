//! What was done and seen at one test spot.

use super::error::BudgetError;
use super::interval::microns;
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::distribution::LogNormal;
use crate::spin::CountedSpin;
use crate::units::{Length, Pressure};

/// Share of the swirls left, as the eye calls it beside the unworked half of the spot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SwirlsLeft {
    /// None to be seen.
    None,
    /// A few.
    Few,
    /// About half.
    Half,
    /// Most of them.
    Most,
}

impl SwirlsLeft {
    /// Every class, from clean to unchanged.
    pub const ALL: [Self; 4] = [Self::None, Self::Few, Self::Half, Self::Most];

    /// The class in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::None => "none left",
            Self::Few => "a few left",
            Self::Half => "about half left",
            Self::Most => "most left",
        }
    }

    /// Shares \[1\] between which an eye without error calls this class: our reading of the words (assumed).
    #[must_use]
    pub const fn shares(self) -> (f64, f64) {
        match self {
            Self::None => (0.0, 0.05),
            Self::Few => (0.05, 0.30),
            Self::Half => (0.30, 0.70),
            Self::Most => (0.70, 1.0),
        }
    }
}

/// One look at the spot after some of its passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Look {
    /// Passes done so far.
    pub passes: u32,
    /// Swirls left.
    pub left: SwirlsLeft,
    /// Whether the worked half shows haze. It chooses the next trial of a card and says nothing of the
    /// cut, so the calibration does not use it.
    pub haze: bool,
}

/// Film at one place before and after, read with the same gauge.
///
/// # Example
/// ```
/// use trochoid::{Length, budget::PairedReading};
/// let um = Length::from_um;
/// // 2 µm a reading, √2 of it for the difference: 2.828 µm; two roundings to 1 µm, r²/6: √(8 + 1/6) = 2.858 µm.
/// let pair = PairedReading::new(um(120.0), um(116.0), um(2.0), um(1.0), 1)?;
/// assert!((pair.difference_m() - 4e-6).abs() < 1e-15);
/// assert!((pair.sd_m() - 2.828e-6).abs() < 1e-9 && (pair.noise_m() - 2.858e-6).abs() < 1e-9);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairedReading {
    difference_m: f64,
    sd_m: f64,
    resolution_m: f64,
}

impl PairedReading {
    /// A pair of readings, each the mean of `averaged` readings of scatter `uncertainty` (one standard
    /// deviation; an offset of the gauge cancels and is not part of it), shown in steps of `resolution`.
    /// See the example of [`PairedReading`].
    ///
    /// # Errors
    /// A film outside 0 to 5000 µm, an uncertainty outside 0.01 to 500 µm, a resolution outside 0.01 to
    /// 50 µm, `averaged` outside 1 to 1000.
    pub fn new(
        before: Length,
        after: Length,
        uncertainty: Length,
        resolution: Length,
        averaged: u32,
    ) -> Result<Self, RangeError> {
        microns("before_um", before, 0.0, super::THICKEST_UM)?;
        microns("after_um", after, 0.0, super::THICKEST_UM)?;
        microns("uncertainty_um", uncertainty, 0.01, 500.0)?;
        microns("resolution_um", resolution, 0.01, 50.0)?;
        within("averaged", f64::from(averaged), 1.0, 1000.0, "readings")?;
        Ok(Self {
            difference_m: before.m() - after.m(),
            sd_m: uncertainty.m() * (2.0 / f64::from(averaged)).sqrt(),
            resolution_m: resolution.m(),
        })
    }

    /// Before less after \[m\].
    #[must_use]
    pub const fn difference_m(&self) -> f64 {
        self.difference_m
    }

    /// Standard deviation of the difference before rounding \[m\].
    #[must_use]
    pub const fn sd_m(&self) -> f64 {
        self.sd_m
    }

    /// Step of the display \[m\].
    #[must_use]
    pub const fn resolution_m(&self) -> f64 {
        self.resolution_m
    }

    /// Standard deviation with the two roundings counted \[m\]: `√(sd² + r²/6)`.
    #[must_use]
    pub fn noise_m(&self) -> f64 {
        self.sd_m.hypot(self.resolution_m / 6f64.sqrt())
    }
}

/// How spin and exposure of a spot depend on the factor on the bearing drag.
///
/// # Example
/// ```
/// use trochoid::RangeError;
/// use trochoid::budget::DragResponse;
/// // A pad that turns at 10 rad/s times the factor, and cuts the same: 10 at a factor of 1, 20 at 2.
/// let response = DragResponse::sample(|factor| Ok::<_, RangeError>((10.0 * factor, 1.0)))?;
/// assert!((response.spin(0.0) - 10.0).abs() < 1e-12 && (response.spin(2f64.ln()) - 20.0).abs() < 1e-12);
/// assert!(response.ln_exposure(0.3).abs() < 1e-15);
/// # Ok::<(), RangeError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct DragResponse {
    ln_low: f64,
    ln_step: f64,
    spin_rad_s: Vec<f64>,
    ln_exposure: Vec<f64>,
}

/// Points at which a response is sampled.
const RESPONSE_POINTS: usize = 33;
/// Range of the factor on the bearing drag: halved to doubled.
pub const DRAG_RANGE: (f64, f64) = (0.5, 2.0);

impl DragResponse {
    /// Samples `response(factor) = (spin [rad/s], exposure over the exposure at factor 1)` at 33 factors
    /// from 0.5 to 2, evenly in the logarithm; between them it is taken as straight. See the example of
    /// [`DragResponse`].
    ///
    /// # Errors
    /// What `response` returns; a spin outside ±10 000 rad/s, an exposure ratio outside 0.01 to 100.
    pub fn sample<E: From<RangeError>>(mut response: impl FnMut(f64) -> Result<(f64, f64), E>) -> Result<Self, E> {
        let (ln_low, ln_high) = (DRAG_RANGE.0.ln(), DRAG_RANGE.1.ln());
        let ln_step = (ln_high - ln_low) / (RESPONSE_POINTS as f64 - 1.0);
        let (mut spin_rad_s, mut ln_exposure) = (Vec::new(), Vec::new());
        for i in 0..RESPONSE_POINTS {
            let (spin, ratio) = response((ln_low + ln_step * i as f64).exp())?;
            spin_rad_s.push(within("spin_rad_s", spin, -1e4, 1e4, "rad/s")?);
            ln_exposure.push(within("exposure_ratio", ratio, 0.01, 100.0, "")?.ln());
        }
        Ok(Self { ln_low, ln_step, spin_rad_s, ln_exposure })
    }

    fn between(&self, values: &[f64], ln_factor: f64) -> f64 {
        let place = ((ln_factor - self.ln_low) / self.ln_step).clamp(0.0, (RESPONSE_POINTS - 1) as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place ≤ 32
        let i = (place as usize).min(RESPONSE_POINTS - 2);
        let t = place - i as f64;
        values[i] + t * (values[i + 1] - values[i])
    }

    /// Spin at the logarithm of a factor [rad/s]; beyond the range that at its end.
    #[must_use]
    pub fn spin(&self, ln_factor: f64) -> f64 {
        self.between(&self.spin_rad_s, ln_factor)
    }

    /// Logarithm of the exposure over that at factor 1, at the logarithm of a factor \[1\].
    #[must_use]
    pub fn ln_exposure(&self, ln_factor: f64) -> f64 {
        self.between(&self.ln_exposure, ln_factor)
    }
}

/// How deep the swirls are that the eye judges: a distribution of depths.
#[derive(Debug, Clone, PartialEq)]
pub enum SwirlDepth {
    /// Log-normal depths \[m\].
    LogNormal(LogNormal),
    /// Any distribution as a table.
    Table(DepthTable),
}

/// A distribution of depths as points, straight between them.
///
/// # Example
/// ```
/// use trochoid::{Length, budget::{DepthTable, SwirlDepth}};
/// // Even from 0.5 to 2.5 µm: a cut of 1 µm takes a quarter of them.
/// let table = DepthTable::new(&[(Length::from_um(0.5), 0.0), (Length::from_um(2.5), 1.0)])?;
/// let (left, gone) = SwirlDepth::Table(table).left_and_gone(1e-6);
/// assert!((left - 0.75).abs() < 1e-12 && (gone - 0.25).abs() < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct DepthTable {
    depth_m: Vec<f64>,
    cdf: Vec<f64>,
}

impl DepthTable {
    /// A table of depth and the probability of being no deeper; see the example of [`DepthTable`].
    ///
    /// # Errors
    /// Fewer than 2 or more than 10 000 points; depths that do not grow from above zero to at most 1 mm;
    /// probabilities that fall or do not run from 0 to 1.
    pub fn new(points: &[(Length, f64)]) -> Result<Self, RangeError> {
        within("depth_points", points.len() as f64, 2.0, 1e4, "points")?;
        let mut before = (0.0, 0.0);
        for (i, (depth, p)) in points.iter().enumerate() {
            if !(depth.m() > before.0 && depth.um() <= 1000.0) {
                return Err(RangeError::new("depth_um", depth.um(), "µm", "growing from above 0 to at most 1000"));
            }
            within("depth_probability", *p, before.1, 1.0, "")?;
            if i == 0 {
                within("first depth_probability", *p, 0.0, 0.0, "")?;
            }
            before = (depth.m(), *p);
        }
        within("last depth_probability", before.1, 1.0, 1.0, "")?;
        Ok(Self { depth_m: points.iter().map(|p| p.0.m()).collect(), cdf: points.iter().map(|p| p.1).collect() })
    }
}

impl SwirlDepth {
    /// Share of the swirls that is deeper than `cut_m` \[m\] and so is left, and the share that is gone \[1\];
    /// see the example of [`DepthTable`].
    #[must_use]
    pub fn left_and_gone(&self, cut_m: f64) -> (f64, f64) {
        match self {
            Self::LogNormal(d) => (d.exceedance(cut_m), d.cdf(cut_m)),
            Self::Table(t) => {
                let i = t.depth_m.partition_point(|d| *d <= cut_m);
                let gone = match (i.checked_sub(1), t.depth_m.get(i)) {
                    (None, _) => 0.0,
                    (Some(_), None) => 1.0,
                    (Some(a), Some(high)) => {
                        let low = t.depth_m[a];
                        t.cdf[a] + (cut_m - low) / (high - low) * (t.cdf[i] - t.cdf[a])
                    }
                };
                (1.0 - gone, gone)
            }
        }
    }
}

/// Everything recorded at one test spot: exposure, passes, readings, looks, counted rotation.
///
/// # Example
/// ```
/// use trochoid::budget::{Look, SwirlsLeft, TestSpot};
/// // 4 passes of 3 kPa at 4 m/s for 2 s each: 4 × 3000 × 4 × 2 = 96 000 Pa·m; at 2e-11 per pascal 1.92 µm.
/// let spot = TestSpot::new("bonnet", 4.0 * 3e3 * 4.0 * 2.0, 4)?;
/// assert!((2e-11 * spot.exposure_pa_m() - 1.92e-6).abs() < 1e-18);
/// // Looks follow in growing passes, up to the four done.
/// let look = |passes| Look { passes, left: SwirlsLeft::Few, haze: false };
/// let spot = spot.with_look(look(2))?;
/// assert!(spot.clone().with_look(look(2)).is_err() && spot.with_look(look(5)).is_err());
/// # Ok::<(), trochoid::budget::BudgetError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct TestSpot {
    name: String,
    exposure_pa_m: f64,
    passes: u32,
    pairs: Vec<PairedReading>,
    looks: Vec<Look>,
    count: Option<CountedSpin>,
    response: Option<DragResponse>,
    mean_pressure_pa: Option<f64>,
    gloss_change: Option<f64>,
}

impl TestSpot {
    /// A spot worked with `passes` passes of a total exposure `∫ p|v| dt` \[Pa·m\]: the cut in metres at
    /// a removal coefficient of one per pascal, at the middle of the spot, as predicted. See the example of
    /// [`TestSpot`].
    ///
    /// # Errors
    /// A name that is empty or longer than 100 characters, an exposure outside 1 to 1e9 Pa·m, passes
    /// outside 1 to 1000.
    pub fn new(name: &str, exposure_pa_m: f64, passes: u32) -> Result<Self, BudgetError> {
        let name = name.trim();
        if name.is_empty() || name.chars().count() > 100 {
            return Err(BudgetError::Name { what: "test spot", value: name.chars().take(100).collect() });
        }
        within("exposure_pa_m", exposure_pa_m, 1.0, 1e9, "Pa·m")?;
        within("passes", f64::from(passes), 1.0, 1000.0, "passes")?;
        Ok(Self {
            name: name.to_owned(),
            exposure_pa_m,
            passes,
            pairs: Vec::new(),
            looks: Vec::new(),
            count: None,
            response: None,
            mean_pressure_pa: None,
            gloss_change: None,
        })
    }

    /// Adds film readings taken before and after at one place of the spot, each place once.
    ///
    /// # Errors
    /// More than 100 pairs.
    pub fn with_pair(mut self, pair: PairedReading) -> Result<Self, RangeError> {
        within("pairs", self.pairs.len() as f64 + 1.0, 1.0, 100.0, "pairs")?;
        self.pairs.push(pair);
        Ok(self)
    }

    /// Adds a look; looks follow one another in growing passes, up to the passes done.
    ///
    /// # Errors
    /// A look after as many or fewer passes than the one before, after none, or after more than were
    /// done.
    pub fn with_look(mut self, look: Look) -> Result<Self, BudgetError> {
        let before = self.looks.last().map_or(0, |l| l.passes);
        if look.passes <= before {
            return Err(BudgetError::Passes { spot: self.name, passes: look.passes, against: before });
        }
        if look.passes > self.passes {
            return Err(BudgetError::Passes { spot: self.name, passes: look.passes, against: self.passes });
        }
        self.looks.push(look);
        Ok(self)
    }

    /// Sets how spin and exposure depend on the bearing drag.
    #[must_use]
    pub fn with_response(mut self, response: DragResponse) -> Self {
        self.response = Some(response);
        self
    }

    /// Sets the counted rotation of the pad, with how the spin depends on the bearing drag.
    #[must_use]
    pub fn with_count(mut self, count: CountedSpin, response: DragResponse) -> Self {
        self.count = Some(count);
        self.response = Some(response);
        self
    }

    /// Sets the mean pressure at the spot, for an exponent on the pressure.
    ///
    /// # Errors
    /// Outside 10 Pa to 10 MPa.
    pub fn with_pressure(mut self, pressure: Pressure) -> Result<Self, RangeError> {
        within("mean_pressure_pa", pressure.pa(), 10.0, 1e7, "Pa")?;
        self.mean_pressure_pa = Some(pressure.pa());
        Ok(self)
    }

    /// Records the gloss before and after on the scale of ISO 2813. It is kept and reported; the
    /// removal coefficient does not follow from it, so the calibration does not use it.
    ///
    /// # Errors
    /// A gloss outside 0 to 2000 gloss units.
    pub fn with_gloss(mut self, before: f64, after: f64) -> Result<Self, RangeError> {
        within("gloss_before", before, 0.0, 2000.0, "GU")?;
        within("gloss_after", after, 0.0, 2000.0, "GU")?;
        self.gloss_change = Some(after - before);
        Ok(self)
    }

    /// Name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Exposure \[Pa·m\].
    #[must_use]
    pub const fn exposure_pa_m(&self) -> f64 {
        self.exposure_pa_m
    }

    /// Passes done.
    #[must_use]
    pub const fn passes(&self) -> u32 {
        self.passes
    }

    /// Film readings.
    #[must_use]
    pub fn pairs(&self) -> &[PairedReading] {
        &self.pairs
    }

    /// Looks.
    #[must_use]
    pub fn looks(&self) -> &[Look] {
        &self.looks
    }

    /// Counted rotation.
    #[must_use]
    pub const fn count(&self) -> Option<&CountedSpin> {
        self.count.as_ref()
    }

    /// Response to the bearing drag.
    #[must_use]
    pub const fn response(&self) -> Option<&DragResponse> {
        self.response.as_ref()
    }

    /// Mean pressure \[Pa\].
    #[must_use]
    pub const fn mean_pressure_pa(&self) -> Option<f64> {
        self.mean_pressure_pa
    }

    /// Gloss after less before \[gloss units\].
    #[must_use]
    pub const fn gloss_change(&self) -> Option<f64> {
        self.gloss_change
    }
}
