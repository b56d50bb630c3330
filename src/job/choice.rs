//! The fewest steps and passes of a job that reach a target on a panel within its paint budget.

use super::account::{PanelPaint, marks, pressure};
use super::model::Step;
use super::paint_tables::BudgetSettings;
use crate::Error;
use crate::finish::{
    CLEAR_COAT_INDEX, Candidate, Defect, LogNormal, Measure, NoPlan, StepChoice, Surface, Target, choose_steps,
    visible_depth, visible_roughness,
};
use crate::plan::{LEVEL, StepPlan};
use crate::units::Length;

/// Most passes that are proposed of one step.
const MOST_PASSES: u32 = 12;
/// Most steps of the job that are combined.
const MOST_CANDIDATES: usize = 6;
/// Roughness that any finish may have where haze is never seen, m.
const ANY_FINISH: f64 = 1e-6;

/// The fewest steps that reach a target, or why there are none; part of [`PanelPaint`].
#[derive(Debug, Clone, PartialEq)]
pub struct FewestSteps {
    /// The defect that decides: the shallowest of those that polishing mends, which most of a panel shows.
    pub defect: Defect,
    /// Share \[1\] of it that is to be corrected to the eye.
    pub target: f64,
    /// Names of the steps tried.
    pub tried: Vec<String>,
    /// Steps and passes in order; empty where none reaches the target.
    pub steps: Vec<(String, u32)>,
    /// Passes of the same steps along edges and body lines, by the rule of the trade.
    pub edge_passes: Vec<u32>,
    /// Total cut, m; zero without steps.
    pub cut_m: f64,
    /// Why none does, in words.
    pub why_none: Vec<String>,
}

fn reason(why: &NoPlan) -> String {
    let um = |m: f64| Length::from_m(m).um();
    match why {
        NoPlan::Budget { needs_m, may_go_m } => {
            format!("it would take {:.1} µm where {:.1} µm may go", um(*needs_m), um(*may_go_m))
        }
        NoPlan::Correction { reaches, asked } => {
            format!("{:.0} % is the most that is corrected, {:.0} % is asked for", 100.0 * reaches, 100.0 * asked)
        }
        NoPlan::Finish { reaches_m, allowed_m } => format!(
            "the finest finish is {:.1} nm rough at worst, haze shows from {:.1} nm",
            1e3 * um(*reaches_m),
            1e3 * um(*allowed_m)
        ),
        NoPlan::SeveralAtOnce => "correction, finish and budget stand in each other's way".to_owned(),
    }
}

/// The fewest of a panel's own steps, and the passes of each, that correct the target share of its shallowest
/// mendable defect with no haze to be seen and within the budget, at the confidence of every interval.
/// `None` where no such defect is named, or no step has a known grain and cut.
///
/// # Errors
/// Numbers outside the ranges of the finish models.
pub(crate) fn fewest_steps(
    steps: &[Step],
    plans: &[StepPlan],
    panel: &PanelPaint,
    budget: &BudgetSettings,
) -> Result<Option<FewestSteps>, Error> {
    let first = &steps[panel.steps[0]];
    let depth = |d: &Defect| d.depths().map(|d| d.distribution).ok();
    let mendable = first.defects.iter().filter_map(|d| depth(d).map(|n| (*d, n)));
    // Scratches that outlast any sensible cut are told of one by one; what decides is what most of the
    // panel shows.
    let Some((defect, depths)) = mendable.min_by(|a, b| a.1.median().total_cmp(&b.1.median())) else {
        return Ok(None);
    };
    let mut candidates = Vec::new();
    for i in panel.steps.iter().take(MOST_CANDIDATES) {
        let (step, plan) = (&steps[*i], &plans[*i]);
        let Some(marks) = marks(step, pressure(plan))? else { continue };
        let (Some(cut), false) = (plan.cut, plan.state.run.sticks) else { continue };
        let cut_per_pass = LogNormal::new(cut.mean / plan.passes as f64, step.pairing.preston_ln_sd())?;
        if !candidates.iter().any(|c: &Candidate| c.name == step.name) {
            candidates.push(Candidate { name: step.name.clone(), cut_per_pass, marks, max_passes: MOST_PASSES });
        }
    }
    if candidates.is_empty() {
        return Ok(None);
    }
    let lightness = first.paint.lightness();
    let goal = Target {
        depths,
        correction: budget.target_correction,
        measure: Measure::Optical,
        visible: Length::from_m(visible_depth(lightness)?.median()),
        roughness: visible_roughness(lightness, CLEAR_COAT_INDEX)?.unwrap_or(Length::from_m(ANY_FINISH)),
        confidence: LEVEL,
        max_steps: 3,
    };
    let allowed = panel.account.allowance.allowed;
    let tried = candidates.iter().map(|c| c.name.clone()).collect();
    let found = choose_steps(&Surface::smooth(), &candidates, &goal, allowed)?;
    let none = FewestSteps {
        defect,
        target: goal.correction,
        tried,
        steps: Vec::new(),
        edge_passes: Vec::new(),
        cut_m: 0.0,
        why_none: Vec::new(),
    };
    Ok(Some(match found {
        StepChoice::Plan(plan) => FewestSteps {
            steps: plan.steps.iter().map(|s| (candidates[s.candidate].name.clone(), s.passes)).collect(),
            edge_passes: plan.steps.iter().map(|s| budget.edges.passes(s.passes)).collect(),
            cut_m: plan.cut_m.best,
            ..none
        },
        StepChoice::None(why) => FewestSteps { why_none: why.iter().map(reason).collect(), ..none },
    }))
}
