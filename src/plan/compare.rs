//! Set-ups side by side on the same panel, ranked by one criterion at a time.

use super::step::{StepPlan, StepTask, plan_step};
use crate::Error;
use crate::math::reduce::map_indexed;
use crate::spin::{AtHand, StallSettings};
use crate::units::AngularRate;

/// A set-up to compare.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// Name in tables and pictures.
    pub name: String,
    /// What it does.
    pub task: StepTask,
}

/// What set-ups are ranked by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Criterion {
    /// Volume removed per second, mm³/s: more is better.
    CutRate,
    /// Spread of the cut over the worked area, share of its mean: less is better.
    Evenness,
    /// Spin over the useful minimum: more is better.
    Spin,
    /// Stall number: less is better.
    StallNumber,
    /// Largest pressure, kPa: less is better.
    PeakPressure,
    /// Friction power, W: less is better.
    Heat,
    /// Time with the pad on, s: less is better.
    Time,
}

impl Criterion {
    /// Every criterion, in the order of a table.
    pub const ALL: [Self; 7] =
        [Self::CutRate, Self::Evenness, Self::Spin, Self::StallNumber, Self::PeakPressure, Self::Heat, Self::Time];

    /// Key in machine-readable results, with its unit.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::CutRate => "volume_rate_mm3_s",
            Self::Evenness => "cut_cv",
            Self::Spin => "spin_rpm",
            Self::StallNumber => "stall_number",
            Self::PeakPressure => "peak_pressure_kpa",
            Self::Heat => "friction_w",
            Self::Time => "time_s",
        }
    }

    /// Title with unit, for a table or an axis.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::CutRate => "cut rate [mm³/s], more is faster",
            Self::Evenness => "spread of the cut [share of the mean], less is more even",
            Self::Spin => "pad spin [rpm], more is safer from stalling",
            Self::StallNumber => "stall number, below 1 turns",
            Self::PeakPressure => "peak pressure [kPa], less is gentler",
            Self::Heat => "friction power [W], less is cooler",
            Self::Time => "time with the pad on [s]",
        }
    }

    /// Whether a larger value is the better one.
    #[must_use]
    pub const fn more_is_better(self) -> bool {
        matches!(self, Self::CutRate | Self::Spin)
    }

    /// Value of the criterion for a plan \[in the unit of its key\]; `None` where it has none (a pad that has
    /// no stall number, a panel without a worked area).
    #[must_use]
    pub fn value(self, plan: &StepPlan) -> Option<f64> {
        match self {
            Self::CutRate => Some(plan.state.volume_rate_m3_s * 1e9),
            Self::Evenness => plan.work.cut().and_then(|c| c.cv()),
            Self::Spin => Some(AngularRate::from_rad_s(plan.state.run.spin).rpm()),
            Self::StallNumber => plan.state.limits.stall_number(),
            Self::PeakPressure => Some(plan.state.run.contact.peak_pressure_pa / 1e3),
            Self::Heat => Some(plan.state.friction_w),
            Self::Time => Some(plan.time_s),
        }
    }
}

/// Plans every candidate, in parallel; results in the order given, the same for any thread count.
///
/// # Errors
/// Each candidate has its own: see [`plan_step`].
///
/// # Example
/// Two forces, with the step of the example of [`StepTask::new`]:
/// ```
/// use trochoid::plan::{Candidate, Criterion, compare, rank};
/// # use trochoid::plan::{StepTask, Working};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let side = Length::from_mm(400.0);
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// let harder = StepTask { setup: task.setup.clone().at_force(Force::from_n(70.0))?, ..task.clone() };
/// let candidates = [("35 N", task), ("70 N", harder)].map(|(name, task)| Candidate { name: name.to_owned(), task });
/// let plans: Vec<_> = compare(&candidates, &Default::default()).into_iter().collect::<Result<_, _>>()?;
/// // Preston: k_p N eΩ = 2e-11 × 35 × 3.299 = 2.309 mm³/s, and twice the force cuts twice as fast.
/// let rates: Vec<f64> = plans.iter().filter_map(|p| Criterion::CutRate.value(p)).collect();
/// assert!((rates[0] - 2.309).abs() < 1e-3 && (rates[1] / rates[0] - 2.0).abs() < 1e-6);
/// assert_eq!(rank(Criterion::CutRate, &[&plans[0], &plans[1]]), [1, 0]);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn compare(candidates: &[Candidate], settings: &StallSettings) -> Vec<Result<StepPlan, Error>> {
    map_indexed(candidates.len(), |i| plan_step(&candidates[i].task, &AtHand::default(), settings))
}

/// Indices of `plans`, the best by `criterion` first; those without a value last, ties in the order
/// given. See the example of [`compare`].
#[must_use]
pub fn rank(criterion: Criterion, plans: &[&StepPlan]) -> Vec<usize> {
    let key =
        |i: usize| criterion.value(plans[i]).map_or(f64::INFINITY, |v| if criterion.more_is_better() { -v } else { v });
    let mut order: Vec<usize> = (0..plans.len()).collect();
    order.sort_by(|a, b| key(*a).total_cmp(&key(*b)));
    order
}
