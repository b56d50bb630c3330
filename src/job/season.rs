//! A season of vehicles like the one of the job: what its pads cost, rotated or worn out.
//!
//! The job counts as the work of one vehicle. Money is in the unit that the prices were given in. Not
//! accounting: see [`crate::wear::Season`].

use super::equipment::Notes;
use super::keys::SEASON;
use super::pads::PadsInRotation;
use super::problem::Problem;
use super::reader::Table;
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Temperature, Volume};
use crate::wear::{
    PadStrategy, RotationOutcome, Season, SeasonComparison, SeasonCost, compare_season, run_rotation, season_cost,
};

/// `[season]` of a job: 1 to 1000 vehicles a week over 1 to 520 weeks, prices up to 10⁶ of any money.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonSettings {
    /// Vehicles, weeks and prices.
    pub season: Season,
    /// Price of product \[money/l\]; nothing is told of its cost without one.
    pub product_price_per_l: Option<f64>,
    /// Pads of each kind for the way of working that wears few pads out.
    pub few_pads: usize,
}

/// Cost of an hour and of a wash where none is given: none, so that only the pads count.
const NO_COST: f64 = 0.0;
/// Most pads of a kind that may be called few.
const MOST_FEW: u32 = 40;
/// Pads of each kind that are worn out where no number is given.
const FEW_PADS: usize = 1;

/// Reads `[season]`; `None` where it is missing.
pub(super) fn season(root: &Table<'_>, notes: &mut Notes) -> Result<Option<SeasonSettings>, Problem> {
    let Some(t) = root.table("season", &SEASON)? else { return Ok(None) };
    let price = |key: &'static str, most: f64| -> Result<Option<f64>, Problem> {
        t.number(key)?.map(|v| t.ranged(within(key, v, 0.0, most, ""))).transpose()
    };
    let whole = |key: &'static str, most: u32| -> Result<u32, Problem> {
        // At most `most`, so that it always fits.
        t.need_whole(key, 1, most).map(|n| u32::try_from(n).unwrap_or(most))
    };
    t.need_number("pad_price")?;
    let season = Season {
        vehicles_per_week: whole("vehicles_per_week", 1000)?,
        weeks: whole("weeks", 520)?,
        pad_price: price("pad_price", 1e6)?.unwrap_or(NO_COST),
        wash_cost: price("wash_cost", 1e6)?.unwrap_or(NO_COST),
        hourly_rate: price("hourly_rate", 1e6)?.unwrap_or(NO_COST),
    };
    let few_pads = if t.has("few_pads") { t.need_whole("few_pads", 1, MOST_FEW)? } else { FEW_PADS };
    let product_price_per_l = price("product_price_per_l", 1e6)?;
    t.report(&mut notes.resolved, &[]);
    Ok(Some(SeasonSettings { season, product_price_per_l, few_pads }))
}

/// The season of one kind of pad.
#[derive(Debug, Clone, PartialEq)]
pub struct KindSeason {
    /// Pad.
    pub pad: String,
    /// Product.
    pub product: String,
    /// Pads in rotation.
    pub rotating_pads: usize,
    /// What one vehicle takes of them.
    pub rotating: PadStrategy,
    /// Cost of the season with them.
    pub cost: SeasonCost,
    /// The same with few pads, worn out; `None` where they do not go through the job in the ranges of the
    /// models, or where they are as many.
    pub few: Option<FewPads>,
}

/// Few pads, worn out.
#[derive(Debug, Clone, PartialEq)]
pub struct FewPads {
    /// Pads of the kind at a time.
    pub pads: usize,
    /// What one vehicle takes of them.
    pub strategy: PadStrategy,
    /// Hottest core that they come to.
    pub hottest_core: Temperature,
    /// Both ways side by side.
    pub comparison: SeasonComparison,
}

/// The season of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonPlan {
    /// What it was worked out from.
    pub settings: SeasonSettings,
    /// Each kind of pad.
    pub kinds: Vec<KindSeason>,
    /// Product of one vehicle, priming included.
    pub product: Volume,
}

impl SeasonPlan {
    /// Cost of the product for one vehicle \[money\], priming included, where its price is given.
    #[must_use]
    pub fn product_cost(&self) -> Option<f64> {
        self.settings.product_price_per_l.map(|p| p * self.product.ml() / 1000.0)
    }

    /// Cost of the pads, their washing and handling for one vehicle \[money\].
    #[must_use]
    pub fn pads_cost(&self) -> f64 {
        self.kinds.iter().map(|k| k.cost.per_vehicle).sum()
    }

    /// Pads bought for each vehicle \[1\], over the season.
    #[must_use]
    pub fn pads_per_vehicle(&self) -> f64 {
        self.kinds.iter().map(|k| k.cost.pads_per_vehicle).sum()
    }
}

/// The season with the pads of a rotation; `None` without a `[season]`, and where no number of pads
/// suffices.
///
/// The job counts as the work of one vehicle. `few` tells of the same work with `few_pads` of each kind, worn out;
/// the cost is that of [`season_cost`].
///
/// # Errors
/// A way of using pads outside the ranges of [`PadStrategy`].
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, pads_in_rotation, season_plan, step_heats};
/// use trochoid::plan::plan_step;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let text = "[season]\nvehicles_per_week = 5\nweeks = 50\npad_price = 12.0\nproduct_price_per_l = 40.0\n";
/// let job = Job::parse("season.toml", &format!("{STARTER}\n{text}"))?;
/// let tasks: Vec<_> = job.steps.iter().map(|s| s.task(job.map.cell, (0.5, 2.0))).collect();
/// let plan = |t| plan_step(t, &AtHand::default(), &StallSettings::default());
/// let mut plans = tasks.iter().map(plan).collect::<Result<Vec<_>, _>>()?;
/// let heats = step_heats(&job, &job.steps, &tasks, &mut plans)?;
/// let pads = pads_in_rotation(&job, &job.steps, &heats)?;
/// let season = season_plan(job.season.as_ref(), pads.as_ref())?.expect("the pads suffice");
/// // 40 a litre are 0.04 a millilitre; neither hours nor washes cost here, so the pads are all: 12 each.
/// assert!((season.product_cost().unwrap() - 0.04 * season.product.ml()).abs() < 1e-12);
/// assert!((season.pads_cost() - 12.0 * season.pads_per_vehicle()).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
pub fn season_plan(
    settings: Option<&SeasonSettings>,
    pads: Option<&PadsInRotation>,
) -> Result<Option<SeasonPlan>, RangeError> {
    let (Some(settings), Some(pads)) = (settings, pads) else { return Ok(None) };
    let RotationOutcome::Enough(found) = &pads.outcome else { return Ok(None) };
    let fewer: Vec<usize> = found.pads.iter().map(|n| settings.few_pads.min(*n)).collect();
    // A core beyond the models is an answer of its own: few pads do not go through this job.
    let worn = run_rotation(&pads.job, &fewer).ok();
    let mut kinds = Vec::with_capacity(pads.kinds.len());
    for (kind, (pad, product)) in pads.kinds.iter().enumerate() {
        let Some(rotating) = found.strategy(&pads.job, kind) else { continue };
        let few = match &worn {
            Some(w) if fewer[kind] < found.pads[kind] => match w.strategy(&pads.job, kind) {
                Some(strategy) => {
                    let own = w.sections.iter().filter(|s| s.kind == kind).map(|s| s.peak_core.k());
                    let comparison = compare_season(&settings.season, &rotating, &strategy)?;
                    own.max_by(f64::total_cmp).map(|core| FewPads {
                        pads: fewer[kind],
                        strategy,
                        hottest_core: Temperature::from_k(core),
                        comparison,
                    })
                }
                None => None,
            },
            _ => None,
        };
        kinds.push(KindSeason {
            pad: pad.clone(),
            product: product.clone(),
            rotating_pads: found.pads[kind],
            cost: season_cost(&settings.season, &rotating)?,
            rotating,
            few,
        });
    }
    Ok(Some(SeasonPlan { settings: *settings, kinds, product: found.product }))
}
