//! The paint of every panel of a job through its steps.

use super::choice::{FewestSteps, fewest_steps};
use super::edges::{EdgePasses, edge_passes};
use super::model::{Job, Step};
use crate::Error;
use crate::budget::{ClearCoat, FilmBasis, FilmPart, FilmSettings, FilmSummary, film_summaries};
use crate::equipment::{Drive, Paint};
use crate::finish::{Abrading, GlossReading, LogNormal, Marks, RoughnessFound, Surface, roughness_from_gloss};
use crate::plan::{LEVEL, Limit, PaintAccount, PaintStep, PaintTask, StepPlan, paint_account};
use crate::units::{Length, Pressure};

/// Anisotropy of the marks of a rotary drive, which rub one way; an orbiting pad's run in all directions
/// (assumed until the directions themselves are computed).
const ROTARY_ANISOTROPY: f64 = 0.9;

/// A panel with what its steps do to its paint; made by [`paint_accounts`].
#[derive(Debug, Clone, PartialEq)]
pub struct PanelPaint {
    /// Name of the panel.
    pub panel: String,
    /// Indices of its steps in the order worked.
    pub steps: Vec<usize>,
    /// What was read of its film, where it was read.
    pub film: Option<FilmSummary>,
    /// What is believed of its clear coat.
    pub clear: ClearCoat,
    /// The account.
    pub account: PaintAccount,
    /// The fewest of its steps that would reach the target correction; `None` where that cannot be told.
    pub fewest: Option<FewestSteps>,
    /// Share \[1\] of the area to be worked on which the steps take more than the film there may give, at the
    /// median of every cut; `None` where no step works a real panel.
    pub over_area_share: Option<f64>,
    /// Passes for the strip along edges and body lines; `None` where the panel has none, as a rectangle of
    /// a greater panel.
    pub edges: Option<EdgePasses>,
}

/// What is believed of a panel's clear coat, with the film readings that it rests on where there are any:
/// readings of the clear coat itself before those of the total film, and those before what the paint says.
/// Readings of other layers say nothing of it.
///
/// A stated clear coat spreads by `clear_rel_sd` of the `[budget]`; of a total film the `clear_share_of_film`
/// counts as clear.
///
/// # Errors
/// Film readings that cannot be pooled.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, panel_clear};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let (clear, film) = panel_clear(&job, "door", &job.paints[0].item)?;
/// // Nothing was read: the 45 µm of the paint, and a fifth of them as standard deviation, 9 µm.
/// assert!(film.is_none());
/// assert!((clear.mean_m() - 45e-6).abs() < 1e-15 && (clear.sd_m() - 9e-6).abs() < 1e-15);
/// # Ok(())
/// # }
/// ```
pub fn panel_clear(job: &Job, panel: &str, paint: &Paint) -> Result<(ClearCoat, Option<FilmSummary>), Error> {
    clear_among(&films(job)?, job, panel, paint)
}

/// The films of all panels that were read.
fn films(job: &Job) -> Result<Vec<FilmSummary>, Error> {
    if job.budget.readings.is_empty() {
        return Ok(Vec::new());
    }
    Ok(film_summaries(&job.budget.readings, &FilmSettings::default())?)
}

fn clear_among(
    films: &[FilmSummary],
    job: &Job,
    panel: &str,
    paint: &Paint,
) -> Result<(ClearCoat, Option<FilmSummary>), Error> {
    let of = |part: FilmPart| films.iter().find(|f| f.panel == panel && f.part == part);
    Ok(match of(FilmPart::Clear).or_else(|| of(FilmPart::Total)) {
        Some(f) => (ClearCoat::of_film(f, job.budget.clear_share, FilmBasis::Anywhere)?, Some(f.clone())),
        None => {
            let nominal = paint.clear();
            (ClearCoat::stated(nominal, Length::from_m(nominal.m() * job.budget.clear_rel_sd))?, None)
        }
    })
}

/// Marks that a step leaves under a mean pressure, where the grain of its product is known: as gloss on a
/// test spot has told, else as predicted.
pub(super) fn marks(step: &Step, pressure: Pressure) -> Result<Option<Marks>, Error> {
    let Some(grain) = step.grain else { return Ok(None) };
    let rotary = matches!(step.setup.tool().drive(), Drive::Rotary { .. });
    let grains = Abrading::new(grain, pressure, step.face, step.paint.hardness())?.with_anisotropy(if rotary {
        ROTARY_ANISOTROPY
    } else {
        0.0
    })?;
    Ok(Some(match &step.roughness {
        Some(found) => grains.marks_with(found.factor.best, found.ln_sd)?,
        None => grains.marks()?,
    }))
}

/// What gloss read on worked spots tells of the roughness that their step leaves, each with the cut made
/// there; `None` without a gloss or a grain.
///
/// The mean pressure is the force over the face area; the conversion from gloss to roughness is that of
/// [`roughness_from_gloss`], see the example of [`roughness_from_gloss`].
///
/// # Errors
/// A gloss that no roughness explains; numbers outside the ranges of the finish models.
pub fn roughness_by_gloss(spots: &[(&Step, GlossReading, LogNormal)]) -> Result<Option<RoughnessFound>, Error> {
    let mut worked = Vec::with_capacity(spots.len());
    for (step, gloss, cut) in spots {
        let mean = Pressure::from_pa(step.setup.force().n() / step.setup.pad().face_area());
        if let Some(marks) = marks(step, mean)? {
            worked.push((*gloss, Surface::smooth().worked(marks, *cut)));
        }
    }
    if worked.is_empty() {
        return Ok(None);
    }
    Ok(Some(roughness_from_gloss(&worked, LEVEL)?))
}

/// Mean pressure of a planned step.
pub(super) fn pressure(plan: &StepPlan) -> Pressure {
    Pressure::from_pa(plan.state.run.contact.mean_pressure_pa)
}

/// Share of the area of a real panel on which the steps together take more than the policy allows on
/// the film there, which is thinner at edges and over lines.
fn over_area(job: &Job, list: &[usize], plans: &[StepPlan]) -> Option<f64> {
    let works: Vec<_> = list.iter().filter_map(|i| plans[*i].work.surface()).collect();
    let first = works.first()?;
    if works.len() != list.len() || first.film.is_none() {
        return None;
    }
    let (mut over, mut whole) = (0.0, 0.0);
    for k in (0..first.map.grid.len()).filter(|k| first.map.is_workable(*k)) {
        let Some(film) = first.film_at(k) else { continue };
        let cut: f64 = works.iter().map(|w| w.map.cut(k)).sum();
        whole += first.map.area[k];
        over += if cut > job.budget.policy.allows(film).0 { first.map.area[k] } else { 0.0 };
    }
    (whole > 0.0).then(|| over / whole)
}

/// Follows the paint of every panel through the planned steps, in their order; puts what each step leads
/// to into its plan, with the budget among its limits. `plans` stand in the order of `steps`.
///
/// # Errors
/// Film readings that cannot be pooled; numbers outside the ranges of the distributions.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, paint_accounts};
/// use trochoid::plan::plan_step;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let mut plans = Vec::new();
/// for step in &job.steps {
///     let task = step.task(job.map.cell, (0.5, 2.0));
///     plans.push(plan_step(&task, &AtHand::default(), &StallSettings::default())?);
/// }
/// let panels = paint_accounts(&job, &job.steps, &mut plans)?;
/// // Both steps work the door; a quarter of its 45 µm is 11.25 µm, but no more than 8 µm may go.
/// assert_eq!(panels.len(), 1);
/// assert_eq!(panels[0].steps, [0, 1]);
/// assert!((panels[0].account.allowance.allowed.best - 8e-6).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
pub fn paint_accounts(job: &Job, steps: &[Step], plans: &mut [StepPlan]) -> Result<Vec<PanelPaint>, Error> {
    let mut panels: Vec<(&str, Vec<usize>)> = Vec::new();
    for (i, s) in steps.iter().enumerate() {
        match panels.iter_mut().find(|p| p.0 == s.panel_name) {
            Some(p) => p.1.push(i),
            None => panels.push((&s.panel_name, vec![i])),
        }
    }
    let mut pairings: Vec<(&str, &str, Option<&str>)> = Vec::new();
    let films = films(job)?;
    let mut out = Vec::new();
    for (name, list) in panels {
        let first = &steps[list[0]];
        let (clear, film) = clear_among(&films, job, name, &first.paint)?;
        let mut done = Vec::new();
        for i in &list {
            let (step, plan) = (&steps[*i], &plans[*i]);
            let key = (step.pad_name.as_str(), step.product_name.as_str(), step.paint_name.as_deref());
            let pairing = pairings.iter().position(|p| *p == key).unwrap_or_else(|| {
                pairings.push(key);
                pairings.len() - 1
            });
            let sticks = plan.phases.is_empty() && plan.state.run.sticks;
            done.push(PaintStep {
                name: step.name.clone(),
                cut_m: if sticks { 0.0 } else { plan.mean_cut_m() },
                ln_sd: step.pairing.preston_ln_sd(),
                pairing,
                marks: marks(step, pressure(plan))?,
            });
        }
        let task = PaintTask { paint: first.paint, clear, policy: job.budget.policy, defects: first.defects.clone() };
        let account = paint_account(&task, &done)?;
        for (i, after) in list.iter().zip(&account.steps) {
            let plan = &mut plans[*i];
            let allowed = account.allowance.allowed.best;
            plan.limits.push(Limit {
                name: "paint_budget",
                value: after.removed.mean * 1e6,
                limit: allowed * 1e6,
                // Where nothing may go, the whole cut is beyond.
                margin: if allowed > 0.0 {
                    1.0 - after.used_share
                } else if after.removed.mean > 0.0 {
                    -1.0
                } else {
                    0.0
                },
                unit: "µm",
            });
            plan.limits.sort_by(|a, b| a.margin.total_cmp(&b.margin));
            plan.paint = Some(after.clone());
        }
        let over_area_share = over_area(job, &list, plans);
        let mut panel = PanelPaint {
            panel: name.to_owned(),
            steps: list,
            film,
            clear,
            account,
            fewest: None,
            over_area_share,
            edges: None,
        };
        panel.fewest = fewest_steps(steps, plans, &panel, &job.budget)?;
        panel.edges = edge_passes(steps, plans, &panel, &job.budget.edges, &job.budget.policy);
        out.push(panel);
    }
    Ok(out)
}
