//! The `[coupling]` table, and a step of a job planned with what it switches on.

use super::equipment::Notes;
use super::keys::{COUPLING, PRODUCT};
use super::model::{Job, Step};
use super::pads::{pad_kind, thermal_task};
use super::problem::Problem;
use super::reader::{Table, report_default};
use super::resolve::Inventory;
use crate::Error;
use crate::equipment::within;
use crate::plan::{CouplingLaws, CouplingSettings, LoadingCoupling, StepPlan, StepTask, TemperatureLaw, plan_coupled};
use crate::spin::{AtHand, StallSettings};
use crate::units::Temperature;

/// Which couplings a job reckons with; none unless it says so, since their laws are assumed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CouplingSwitches {
    /// Temperature of the paint on the cut.
    pub temperature: bool,
    /// Loading of the pad on the cut.
    pub loading: bool,
    /// Drying of the film on friction, spin, cut and heat.
    pub drying: bool,
    /// The law of the temperature.
    pub law: TemperatureLaw,
}

impl CouplingSwitches {
    /// Whether any is on.
    #[must_use]
    pub const fn any(&self) -> bool {
        self.temperature || self.loading || self.drying
    }

    /// The laws of a step that are on.
    /// Loading takes the pad of the step with its `clean_every`, drying the friction rise of its product.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::{CouplingSwitches, Job, STARTER};
    /// let job = Job::parse("starter.toml", STARTER)?;
    /// let warm = CouplingSwitches { temperature: true, ..CouplingSwitches::default() };
    /// let laws = warm.laws(&job.steps[0]);
    /// assert!(laws.temperature.is_some() && laws.loading.is_none() && laws.drying.is_none());
    /// # Ok::<(), trochoid::job::Problem>(())
    /// ```
    #[must_use]
    pub fn laws(&self, step: &Step) -> CouplingLaws {
        CouplingLaws {
            temperature: self.temperature.then_some(self.law),
            loading: self.loading.then(|| LoadingCoupling { kind: pad_kind(step), every: step.clean_every }),
            drying: self.drying.then(|| step.film.friction_rise.unwrap_or_default()),
        }
    }
}

/// Reads `[coupling]`; everything is off where it is missing.
pub(super) fn coupling(
    root: &Table<'_>,
    inventory: &Inventory<'_>,
    notes: &mut Notes,
) -> Result<CouplingSwitches, Problem> {
    const LAW: [&str; 2] = ["cut_rise_per_10k", "cut_reference_c"];
    let mut out = CouplingSwitches::default();
    if let Some(t) = root.table("coupling", &COUPLING)? {
        out.temperature = t.flag("temperature")?.unwrap_or(false);
        out.loading = t.flag("loading")?.unwrap_or(false);
        out.drying = t.flag("drying")?.unwrap_or(false);
        if let Some(rise) = t.number(LAW[0])? {
            out.law.rise_per_10k = t.ranged(within(LAW[0], rise, 0.0, 1.0, ""))?;
        }
        if let Some(c) = t.number(LAW[1])? {
            out.law.reference = Temperature::from_c(t.ranged(within(LAW[1], c, -40.0, 100.0, "°C"))?);
        }
        let mut unused = Vec::new();
        if !out.temperature {
            for key in LAW.into_iter().filter(|k| t.has(k)) {
                notes.warnings.push(t.warning(key, "has no effect while the coupling of the temperature is off"));
            }
            unused.extend(LAW.into_iter().filter(|k| !t.has(k)));
        }
        t.report(&mut notes.resolved, &unused);
    }
    for product in &inventory.products {
        let (key, t) = ("dry_friction_rise", &product.table);
        match (t.has(key), out.drying) {
            (true, false) => {
                notes.warnings.push(t.warning(key, "has no effect while the coupling of the drying is off"));
            }
            (false, true) => report_default(&mut notes.resolved, &PRODUCT, key, t.path_of(key)),
            _ => {}
        }
    }
    Ok(out)
}

/// Plans a step of a job with the couplings that it switches on: the step with the products that hold with
/// them, and its plan. With none on, that is the step itself and the plan of [`crate::plan::plan_step`].
///
/// # Errors
/// As [`plan_coupled`].
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, plan_job_step};
/// use trochoid::plan::plan_step;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let (step, at_hand, settings) = (&job.steps[1], AtHand::default(), StallSettings::default());
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let (_, plan) = plan_job_step(&job, step, &task, &at_hand, &settings)?;
/// // Nothing is coupled in this job: the plan is that of the step alone.
/// assert!(!job.coupling.any());
/// assert_eq!(plan.mean_cut_m(), plan_step(&task, &at_hand, &settings)?.mean_cut_m());
/// # Ok(())
/// # }
/// ```
pub fn plan_job_step(
    job: &Job,
    step: &Step,
    task: &StepTask,
    at_hand: &AtHand,
    settings: &StallSettings,
) -> Result<(StepTask, StepPlan), Error> {
    let laws = job.coupling.laws(step);
    plan_coupled(task, at_hand, settings, &thermal_task(job, step), &laws, &CouplingSettings::default())
}
