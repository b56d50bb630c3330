//! Phases of a step: the product spread at a low rate, worked, finished with light passes; each with its
//! own rate, force, feed and number of passes on one path.
//!
//! A phase is planned as a step of its own would be, on its own passes of the step's path: lines, turns and
//! the direction of the next pass go on from phase to phase, and a panel cut into sections has all phases
//! worked on one section before the next. The whole is the sum: fields, time, heat and work add up. What is
//! told as the state of the step is that of the phase that takes longest.

use super::state::{OperatingState, Working, operating_state};
use super::step::{Limit, MOST_PASSES, StepPlan, StepTask, Work, fit_passes, interval, limits};
use crate::Error;
use crate::equipment::{Product, within};
use crate::error::RangeError;
use crate::motion::ToolPath;
use crate::removal::{Mask, PanelMap, panel_map};
use crate::spin::{AtHand, Setup, SpinState, StallSettings, spin_state};
use crate::units::{AngularRate, Force, Speed};
use core::ops::Range;

/// Most phases of a step.
pub const MOST_PHASES: usize = 8;

/// One phase; what it does not say is that of the step.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// Name.
    pub name: String,
    /// Passes, 1 to 1000.
    pub passes: usize,
    /// Whether this is the phase that a target cut repeats.
    pub repeat: bool,
    /// Orbit rate.
    pub rate: Option<AngularRate>,
    /// Normal force on the face, tool weight included.
    pub force: Option<Force>,
    /// Feed.
    pub feed: Option<Speed>,
    /// Effective friction and removal.
    pub product: Option<Product>,
}

impl Phase {
    /// A phase of so many passes with everything else as in the step.
    #[must_use]
    pub fn new(name: impl Into<String>, passes: usize) -> Self {
        Self { name: name.into(), passes, repeat: false, rate: None, force: None, feed: None, product: None }
    }
}

/// One phase as planned.
#[derive(Debug, Clone)]
pub struct PhasePlan {
    /// Name.
    pub name: String,
    /// Numbers of its passes on the step's path, from 0.
    pub passes: Range<usize>,
    /// The set-up that its state is told for; on a real panel at the place of the step's state.
    pub setup: Setup,
    /// Feed and overlap.
    pub working: Working,
    /// Its operating state.
    pub state: OperatingState,
    /// Its own limits, the tightest first.
    pub limits: Vec<Limit>,
    /// Time with the pad on, s.
    pub time_s: f64,
    /// Mean cut of its passes inside the worked mask of the step, m; `None` where nothing is left of it.
    pub cut_m: Option<f64>,
    /// Everything that its passes remove, m³.
    pub volume_m3: f64,
}

impl StepTask {
    /// The step cut into its phases: each as a step of its own. The step itself where it has none.
    ///
    /// # Errors
    /// More than [`MOST_PHASES`] phases; passes outside 1 to 1000; a rate or force outside its range.
    ///
    /// # Example
    /// With the step of the example of [`StepTask::new`]:
    /// ```
    /// use trochoid::plan::Phase;
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
    /// let mut light = Phase::new("finish", 1);
    /// light.force = Some(Force::from_n(20.0));
    /// let phased = StepTask { phases: vec![Phase::new("work", 4), light], ..task };
    /// // Two steps of their own, the second at its own force. Eight passes in all leave one to the finish: the
    /// // phase with most passes takes the other seven.
    /// let forces: Vec<f64> = phased.parts()?.iter().map(|p| p.setup.force().n()).collect();
    /// assert_eq!(forces, [35.0, 20.0]);
    /// assert_eq!(phased.with_passes(8)?.phases[0].passes, 7);
    /// # Ok(())
    /// # }
    /// ```
    pub fn parts(&self) -> Result<Vec<Self>, RangeError> {
        if self.phases.is_empty() {
            return Ok(vec![self.clone()]);
        }
        within("phases", self.phases.len() as f64, 1.0, MOST_PHASES as f64, "")?;
        let part = |phase: &Phase| -> Result<Self, RangeError> {
            within("passes", phase.passes as f64, 1.0, 1000.0, "")?;
            let mut setup = self.setup.clone();
            if let Some(rate) = phase.rate {
                setup = setup.at_rate(rate)?;
            }
            if let Some(force) = phase.force {
                setup = setup.at_force(force)?;
            }
            if let Some(product) = phase.product {
                setup = setup.with_product(product);
            }
            let working = Working { feed: phase.feed.unwrap_or(self.working.feed), ..self.working };
            Ok(Self { setup, working, passes: phase.passes, phases: Vec::new(), target_cut: None, ..self.clone() })
        };
        self.phases.iter().map(part).collect()
    }

    /// The phase that a target cut or another number of passes repeats: the one so marked, else the first of
    /// those with most passes.
    #[must_use]
    pub fn repeated_phase(&self) -> Option<usize> {
        let most = self.phases.iter().map(|p| p.passes).max();
        self.phases.iter().position(|p| p.repeat).or_else(|| self.phases.iter().position(|p| Some(p.passes) == most))
    }

    /// The same step with so many passes in all; of a step with phases the repeated one takes the rest.
    ///
    /// # Errors
    /// Fewer passes than the other phases and one of the repeated phase need.
    pub fn with_passes(&self, passes: usize) -> Result<Self, RangeError> {
        let mut out = Self { passes, ..self.clone() };
        if let Some(repeated) = self.repeated_phase() {
            let others = self.other_passes();
            if passes <= others {
                return Err(RangeError::new("passes", passes as f64, "", format!("{} or more", others + 1)));
            }
            out.phases[repeated].passes = passes - others;
        }
        Ok(out)
    }

    /// Passes of the phases that are not repeated.
    pub(super) fn other_passes(&self) -> usize {
        let repeated = self.repeated_phase();
        self.phases.iter().enumerate().filter(|(i, _)| Some(*i) != repeated).map(|(_, p)| p.passes).sum()
    }

    /// Numbers of the passes of each phase, from 0; all of them where the step has none.
    pub(super) fn pass_ranges(&self) -> Vec<Range<usize>> {
        if self.phases.is_empty() {
            return core::iter::once(0..self.passes).collect();
        }
        let mut next = 0;
        self.phases
            .iter()
            .map(|p| {
                next += p.passes;
                next - p.passes..next
            })
            .collect()
    }

    /// Feed of a pass over that of the step.
    pub(super) fn feed_share(&self, pass: usize) -> f64 {
        let ranges = self.pass_ranges();
        let own = ranges.iter().position(|r| r.contains(&pass)).and_then(|i| self.phases.get(i)?.feed);
        own.map_or(1.0, |f| f.m_s() / self.working.feed.m_s())
    }

    /// The path with the feed of every phase.
    pub(super) fn whole_path(&self) -> Result<ToolPath, RangeError> {
        let passes = self.pass_ranges().last().map_or(0, |r| r.end);
        let path = self.path(passes)?;
        Ok(if self.phases.is_empty() { path } else { path.with_feeds(|pass| self.feed_share(pass)) })
    }
}

/// The place of the largest; the first of equals.
pub(super) fn longest(times: impl Iterator<Item = f64>) -> usize {
    let mut best = (0, f64::NEG_INFINITY);
    for (i, t) in times.enumerate() {
        if t > best.1 {
            best = (i, t);
        }
    }
    best.0
}

/// A rectangle worked phase by phase.
struct Layers {
    maps: Vec<PanelMap>,
    whole: PanelMap,
    main: usize,
}

/// Works a rectangle with the phases of `task`, each running as its state says.
fn work_patch(task: &StepTask, parts: &[StepTask], runs: &[&SpinState]) -> Result<Layers, Error> {
    let path = task.whole_path()?;
    let mut maps = Vec::with_capacity(parts.len());
    for ((part, run), passes) in parts.iter().zip(runs).zip(task.pass_ranges()) {
        maps.push(panel_map(&part.setup, run, &part.panel, path.of_passes(passes), part.cell.m())?);
    }
    let main = longest(maps.iter().map(|m| m.path.time()));
    let whole = PanelMap::sum(&maps, main, path).ok_or_else(|| no_sum(maps.len()))?;
    Ok(Layers { maps, whole, main })
}

/// Maps of one grid always have a sum; this is what is said should they not.
pub(super) fn no_sum(parts: usize) -> Error {
    RangeError::new("phases", parts as f64, "", "1 or more on the same cells").into()
}

/// The map of a rectangle with the step's own passes.
pub(super) fn map_phases(task: &StepTask, settings: &StallSettings) -> Result<PanelMap, Error> {
    let parts = task.parts()?;
    let run = |p: &StepTask| spin_state(&p.setup, p.setup.patch(), &settings.contact);
    let runs = parts.iter().map(run).collect::<Result<Vec<_>, _>>()?;
    Ok(work_patch(task, &parts, &runs.iter().collect::<Vec<_>>())?.whole)
}

/// The tightest of every limit over the phases, the tightest first.
pub(super) fn tightest(phases: &[PhasePlan]) -> Vec<Limit> {
    let mut out: Vec<Limit> = Vec::new();
    for l in phases.iter().flat_map(|p| &p.limits) {
        match out.iter_mut().find(|o| o.name == l.name) {
            Some(o) if l.margin < o.margin => *o = l.clone(),
            Some(_) => {}
            None => out.push(l.clone()),
        }
    }
    out.sort_by(|a, b| a.margin.total_cmp(&b.margin));
    out
}

/// Plans a step with phases on a rectangle.
///
/// # Errors
/// As [`super::plan_step`].
pub(super) fn plan_patch_phases(
    task: &StepTask,
    at_hand: &AtHand,
    settings: &StallSettings,
) -> Result<StepPlan, Error> {
    let parts = task.parts()?;
    let state = |p: &StepTask| operating_state(&p.setup, &p.working, at_hand, p.drag_range, settings);
    let states = parts.iter().map(state).collect::<Result<Vec<_>, Error>>()?;
    let runs: Vec<&SpinState> = states.iter().map(|s| &s.run).collect();
    let make = |passes: usize| {
        let task = task.with_passes(passes)?;
        work_patch(&task, &parts, &runs)
    };
    let cut = |l: &Layers| l.whole.cut.map(|c| c.mean);
    let repeated = task.repeated_phase().unwrap_or(0);
    let others = task.other_passes();
    let rates = |l: &Layers, passes: usize| {
        let own = mean_cut(&l.whole, &l.maps[repeated]).map(|c| c / (passes - others) as f64);
        match (cut(l), own) {
            (Some(all), Some(own)) => (all - own * (passes - others) as f64, own),
            _ => {
                let of = |i: usize| states[i].cut_per_pass_m * task.phases[i].passes as f64;
                let fixed = (0..parts.len()).filter(|i| *i != repeated).map(of).sum();
                (fixed, states[repeated].cut_per_pass_m)
            }
        }
    };
    let summed = StepTask { passes: others + task.phases[repeated].passes, ..task.clone() };
    let (passes, layers, target_out_of_reach) = fit_passes(&summed, others, false, make, cut, rates)?;
    let ranges = task.with_passes(passes)?.pass_ranges();
    let mut phases = Vec::with_capacity(parts.len());
    for (((part, state), map), (phase, passes)) in
        parts.iter().zip(states).zip(&layers.maps).zip(task.phases.iter().zip(ranges))
    {
        phases.push(PhasePlan {
            name: phase.name.clone(),
            passes,
            setup: part.setup.clone(),
            working: part.working,
            limits: limits(part, &state),
            state,
            time_s: map.path.time(),
            cut_m: mean_cut(&layers.whole, map),
            volume_m3: map.volume_m3,
        });
    }
    let main = &phases[layers.main];
    let time = |p: &PhasePlan| p.time_s;
    let stalled: f64 = phases.iter().filter(|p| p.state.stalled).map(time).sum();
    Ok(StepPlan {
        passes,
        cut: layers.whole.cut.map(|c| interval(task, c.mean)),
        time_s: layers.whole.path.time(),
        stalled_share: stalled / phases.iter().map(time).sum::<f64>(),
        limits: tightest(&phases),
        target_out_of_reach,
        paint: None,
        setup: main.setup.clone(),
        told_at: None,
        state: main.state.clone(),
        work: Work::Patch(Box::new(layers.whole)),
        phases,
        coupling: None,
    })
}

/// Mean cut of a part inside the worked mask of the whole, m.
fn mean_cut(whole: &PanelMap, part: &PanelMap) -> Option<f64> {
    whole.statistics(&part.field.work, part.preston_per_pa, Mask::Worked).map(|c| c.mean)
}

impl StepPlan {
    /// The phase whose state is told as the step's: the one that takes longest. `None` for a step without
    /// phases.
    #[must_use]
    pub fn main_phase(&self) -> Option<&PhasePlan> {
        self.phases.get(longest(self.phases.iter().map(|p| p.time_s)))
    }

    /// The phase that one of the step's limits comes from; `None` for a step without phases and for a
    /// limit of the step as a whole.
    #[must_use]
    pub fn phase_of(&self, limit: &Limit) -> Option<&PhasePlan> {
        self.phases.iter().find(|p| p.limits.iter().any(|l| l == limit))
    }

    /// Mean cut of all passes together: over the worked mask, or in passing where the panel is too small for
    /// one, m.
    #[must_use]
    pub fn mean_cut_m(&self) -> f64 {
        self.cut.map_or_else(|| self.cut_in_passing_m(), |c| c.mean)
    }

    /// Cut that all passes together leave on average where the panel is too small for a worked mask, m.
    ///
    /// ```text
    /// h = Σ n_i V̇_i/(f_i s)      n passes [1], V̇ volume rate [m³/s], f feed [m/s] of a phase, s line spacing [m]
    /// ```
    ///
    /// A phase whose face sticks adds nothing.
    #[must_use]
    pub fn cut_in_passing_m(&self) -> f64 {
        if self.phases.is_empty() {
            return self.state.cut_per_pass_m * self.passes as f64;
        }
        let own = |p: &PhasePlan| if p.state.run.sticks { 0.0 } else { p.state.cut_per_pass_m * p.passes.len() as f64 };
        self.phases.iter().map(own).sum()
    }
}

const _: () = assert!(MOST_PASSES >= MOST_PHASES, "every phase has a pass");
