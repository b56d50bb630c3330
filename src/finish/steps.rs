//! Which steps, and how many passes each: the fewest that reach a target within the paint that may go.
//!
//! Every ordered choice of different steps and every number of passes is tried, fewest steps first; the
//! cut of a step is its passes times the cut per pass. Cuts are taken to their bad end together: the low
//! ends must reach the correction, the high ends must stay within the budget. Not an optimiser of time.

use super::correction::{Measure, budget_low, correction, share_corrected};
use super::error::FinishError;
use super::roughness::{Marks, Surface};
use crate::equipment::within;
use crate::math::distribution::{LogNormal, normal_half_width};
use crate::math::interval::{Interval, checked_level};
use crate::units::Length;

/// Most combinations that the search may try: some seconds of work.
pub const MAX_PLANS: f64 = 1e6;
/// Most candidate steps.
pub const MAX_CANDIDATES: usize = 8;

/// A step that could be taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Name, for the answer.
    pub name: String,
    /// Cut of one pass, m.
    pub cut_per_pass: LogNormal,
    /// Marks that long work with it leaves.
    pub marks: Marks,
    /// Most passes, 1 to 50.
    pub max_passes: u32,
}

/// What is to be reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// Depths of the defects, m.
    pub depths: LogNormal,
    /// Share to be corrected \[1\], 0 to 0.9999.
    pub correction: f64,
    /// Which share that is.
    pub measure: Measure,
    /// Depth from which a defect is seen, 0.001 to 100 µm.
    pub visible: Length,
    /// Largest RMS roughness at the end, 0.1 nm to 100 µm, such as [`super::visible_roughness`].
    pub roughness: Length,
    /// Confidence of the intervals of cut and roughness \[1\], 0.5 to 0.999.
    pub confidence: f64,
    /// Most steps, 1 to 4.
    pub max_steps: usize,
}

/// One step of a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlannedStep {
    /// Place in the list of candidates.
    pub candidate: usize,
    /// Passes.
    pub passes: u32,
}

/// A plan with what it comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct StepPlan {
    /// Steps in order.
    pub steps: Vec<PlannedStep>,
    /// Cut of all steps, m.
    pub cut_m: Interval,
    /// Correction \[1\] at the low end, the middle and the high end of the cut.
    pub correction: Interval,
    /// RMS roughness at the end, m.
    pub roughness_m: Interval,
}

/// Why no plan was found.
#[derive(Debug, Clone, PartialEq)]
pub enum NoPlan {
    /// Reached if more paint might go: the least cut (high end) that would, m, against what may go.
    Budget {
        /// Least cut, high end, m.
        needs_m: f64,
        /// What may go, m.
        may_go_m: f64,
    },
    /// Reached if less correction were asked for: the most that is reached otherwise.
    Correction {
        /// Largest correction at the low end of the cut.
        reaches: f64,
        /// Asked for.
        asked: f64,
    },
    /// Reached if a rougher finish were allowed: the finest that is reached otherwise, m.
    Finish {
        /// Smallest roughness at the high end, m.
        reaches_m: f64,
        /// Allowed, m.
        allowed_m: f64,
    },
    /// No single one of these gets in the way: two or more at once.
    SeveralAtOnce,
}

/// A plan, or every single demand that stands in its way.
#[derive(Debug, Clone, PartialEq)]
pub enum StepChoice {
    /// The fewest steps, then the fewest passes, then the least cut.
    Plan(StepPlan),
    /// None: why.
    None(Vec<NoPlan>),
}

/// Best that the search met when it left one demand aside.
#[derive(Debug, Clone, Copy)]
struct Near {
    cut_high: Option<f64>,
    correction: Option<f64>,
    rough_high: Option<f64>,
}

/// Chooses the fewest steps and passes among `candidates` that correct `surface` to the target with no
/// more than the lower end of `budget` \[m\] going at the high end of the cut.
///
/// # Accuracy
/// Exhaustive: no better plan exists among the candidates. Work: every ordered choice of up to
/// `max_steps` candidates times their passes, at most [`MAX_PLANS`].
///
/// # Errors
/// No or more than [`MAX_CANDIDATES`] candidates, passes outside 1 to 50, targets outside their ranges, a
/// budget outside 0 to 1000 µm; [`FinishError::TooManyPlans`].
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::finish::{Candidate, Interval, LogNormal, Marks, Measure, PlannedStep, StepChoice, Surface, Target};
/// use trochoid::finish::{choose_steps, evaluate};
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// // Everything known exactly: defects 2 µm deep, 0.8 µm a pass, 5 µm that may go. Three passes make 2.4 µm.
/// let marks = Marks::new(LogNormal::new(2e-8, 0.0)?, 0.0)?;
/// let candidates = [Candidate { name: "foam".into(), cut_per_pass: LogNormal::new(8e-7, 0.0)?, marks, max_passes: 6 }];
/// let target = Target {
///     depths: LogNormal::new(2e-6, 0.0)?,
///     correction: 0.95,
///     measure: Measure::Removed,
///     visible: Length::from_um(0.2),
///     roughness: Length::from_um(0.1),
///     confidence: 0.9,
///     max_steps: 1,
/// };
/// let budget = Interval { low: 5e-6, best: 6e-6, high: 7e-6, level: 0.9 };
/// let found = choose_steps(&Surface::smooth(), &candidates, &target, budget)?;
/// let StepChoice::Plan(plan) = found else { panic!("no plan") };
/// assert_eq!((plan.steps.len(), plan.steps[0].passes), (1, 3));
/// assert!((plan.cut_m.best - 2.4e-6).abs() < 1e-15);
/// // Two passes, 1.6 µm, would leave all of them.
/// let two = evaluate(&Surface::smooth(), &candidates, &[PlannedStep { candidate: 0, passes: 2 }], &target)?;
/// assert!(two.correction.best <= 0.0);
/// # Ok(())
/// # }
/// ```
pub fn choose_steps(
    surface: &Surface,
    candidates: &[Candidate],
    target: &Target,
    budget: Interval,
) -> Result<StepChoice, FinishError> {
    let may_go = budget_low(budget)?;
    check(candidates, target)?;
    let mut search = Search {
        surface,
        candidates,
        target,
        may_go,
        z: normal_half_width(target.confidence),
        best: None,
        near: Near { cut_high: None, correction: None, rough_high: None },
    };
    for steps in 1..=target.max_steps.min(candidates.len()) {
        search.extend(&mut Vec::with_capacity(steps), steps)?;
        if let Some((_, plan)) = search.best.take() {
            return Ok(StepChoice::Plan(plan));
        }
    }
    Ok(StepChoice::None(search.why()))
}

fn check(candidates: &[Candidate], target: &Target) -> Result<(), FinishError> {
    within("number of candidate steps", candidates.len() as f64, 1.0, MAX_CANDIDATES as f64, "")?;
    within("max_steps", target.max_steps as f64, 1.0, 4.0, "")?;
    within("target correction", target.correction, 0.0, 0.9999, "")?;
    within("visible depth", target.visible.um(), 1e-3, 100.0, "µm")?;
    within("target roughness", target.roughness.m() * 1e9, 0.1, 1e5, "nm")?;
    checked_level("confidence", target.confidence)?;
    for c in candidates {
        within("max_passes", f64::from(c.max_passes), 1.0, 50.0, "")?;
    }
    // Elementary symmetric sums of the passes, times the orders of each choice.
    let mut sums = [1.0, 0.0, 0.0, 0.0, 0.0];
    for c in candidates {
        for k in (1..5).rev() {
            sums[k] += sums[k - 1] * f64::from(c.max_passes);
        }
    }
    let orders = [1.0, 1.0, 2.0, 6.0, 24.0];
    let plans: f64 = (1..=target.max_steps).map(|k| sums[k] * orders[k]).sum();
    if plans > MAX_PLANS {
        return Err(FinishError::TooManyPlans { plans, limit: MAX_PLANS });
    }
    Ok(())
}

/// A plan at its bad ends.
struct BadEnd {
    cut_high: f64,
    correction_low: f64,
    rough_high: f64,
}

struct Search<'a> {
    surface: &'a Surface,
    candidates: &'a [Candidate],
    target: &'a Target,
    may_go: f64,
    z: f64,
    /// Passes and high end of the cut of the best plan, and the plan.
    best: Option<((u32, f64), StepPlan)>,
    near: Near,
}

impl Search<'_> {
    /// Tries every way to go on from `steps` until there are `length` of them.
    fn extend(&mut self, steps: &mut Vec<PlannedStep>, length: usize) -> Result<(), FinishError> {
        if steps.len() == length {
            return self.judge(steps);
        }
        for candidate in 0..self.candidates.len() {
            if steps.iter().any(|s| s.candidate == candidate) {
                continue;
            }
            for passes in 1..=self.candidates[candidate].max_passes {
                steps.push(PlannedStep { candidate, passes });
                self.extend(steps, length)?;
                steps.pop();
            }
        }
        Ok(())
    }

    fn judge(&mut self, steps: &[PlannedStep]) -> Result<(), FinishError> {
        let t = self.target;
        let bad = self.bad_end(steps)?;
        let within_budget = bad.cut_high <= self.may_go;
        let corrects = bad.correction_low >= t.correction;
        let fine = bad.rough_high <= t.roughness.m();
        let near = &mut self.near;
        if corrects && fine {
            near.cut_high = Some(near.cut_high.map_or(bad.cut_high, |c| c.min(bad.cut_high)));
        }
        if within_budget && fine {
            near.correction = Some(near.correction.map_or(bad.correction_low, |c| c.max(bad.correction_low)));
        }
        if within_budget && corrects {
            near.rough_high = Some(near.rough_high.map_or(bad.rough_high, |r| r.min(bad.rough_high)));
        }
        if !(within_budget && corrects && fine) {
            return Ok(());
        }
        let rank = (steps.iter().map(|s| s.passes).sum::<u32>(), bad.cut_high);
        // The first of equals stays: the order of the candidates decides.
        if self.best.as_ref().is_none_or(|(b, _)| rank.0 < b.0 || (rank.0 == b.0 && rank.1 < b.1)) {
            self.best = Some((rank, evaluate_at(self.surface, self.candidates, steps, t, self.z)?));
        }
        Ok(())
    }

    /// Only what decides: the three numbers of [`evaluate`] at their bad ends.
    fn bad_end(&self, steps: &[PlannedStep]) -> Result<BadEnd, FinishError> {
        let (mut low, mut high) = (0.0, 0.0);
        let mut now = self.surface.clone();
        for step in steps {
            let c = &self.candidates[step.candidate];
            let total = c.cut_per_pass.scaled(f64::from(step.passes))?;
            low += total.at(-self.z);
            high += total.at(self.z);
            now = now.worked(c.marks, total);
        }
        let t = self.target;
        Ok(BadEnd {
            cut_high: high,
            correction_low: share_corrected(&t.depths, low, t.visible.m(), t.measure),
            rough_high: now.rms_at(self.z),
        })
    }

    fn why(&self) -> Vec<NoPlan> {
        let mut out = Vec::new();
        if let Some(needs_m) = self.near.cut_high {
            out.push(NoPlan::Budget { needs_m, may_go_m: self.may_go });
        }
        if let Some(reaches) = self.near.correction {
            out.push(NoPlan::Correction { reaches, asked: self.target.correction });
        }
        if let Some(reaches_m) = self.near.rough_high {
            out.push(NoPlan::Finish { reaches_m, allowed_m: self.target.roughness.m() });
        }
        if out.is_empty() {
            out.push(NoPlan::SeveralAtOnce);
        }
        out
    }
}

/// What given steps come to: cut, correction and roughness, each with its interval. The cuts are taken to
/// the same end together. See the example of [`choose_steps`].
///
/// # Errors
/// A step that is not in the list, passes outside 1 to 50; a confidence outside 0.5 to 0.999, a cut above
/// 1000 µm, a visible depth outside its range.
pub fn evaluate(
    surface: &Surface,
    candidates: &[Candidate],
    steps: &[PlannedStep],
    target: &Target,
) -> Result<StepPlan, FinishError> {
    checked_level("confidence", target.confidence)?;
    for step in steps {
        within("candidate", step.candidate as f64, 0.0, candidates.len() as f64 - 1.0, "")?;
        within("passes", f64::from(step.passes), 1.0, 50.0, "")?;
    }
    evaluate_at(surface, candidates, steps, target, normal_half_width(target.confidence))
}

/// The same for steps known to be in the list, with the ends `z` standard deviations out: the search
/// asks for the confidence once only.
fn evaluate_at(
    surface: &Surface,
    candidates: &[Candidate],
    steps: &[PlannedStep],
    target: &Target,
    z: f64,
) -> Result<StepPlan, FinishError> {
    let mut cut = Interval { low: 0.0, best: 0.0, high: 0.0, level: target.confidence };
    let mut now = surface.clone();
    for step in steps {
        let c = &candidates[step.candidate];
        let total = c.cut_per_pass.scaled(f64::from(step.passes))?;
        cut.low += total.at(-z);
        cut.best += total.median();
        cut.high += total.at(z);
        now = now.worked(c.marks, total);
    }
    let share = |h: f64| correction(&target.depths, Length::from_m(h), target.visible).map(|c| c.share(target.measure));
    let correction =
        Interval { low: share(cut.low)?, best: share(cut.best)?, high: share(cut.high)?, level: cut.level };
    let [low, best, high] = [-z, 0.0, z].map(|z| now.rms_at(z));
    Ok(StepPlan {
        steps: steps.to_vec(),
        cut_m: cut,
        correction,
        roughness_m: Interval { low, best, high, level: cut.level },
    })
}
