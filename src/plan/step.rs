//! One step planned: the state, the passes, the map, the time, and the limit that binds.

use super::coupling::CouplingResult;
use super::paint::AfterStep;
use super::phase::{Phase, PhasePlan, map_phases, plan_patch_phases};
use super::state::{OperatingState, Working, operating_state};
use super::surface::{SurfaceTask, SurfaceWork, plan_surface};
use super::surface_phases::plan_surface_phases;
use crate::Error;
use crate::budget::DRAG_RANGE;
use crate::equipment::Pairing;
use crate::equipment::defaults::CELL_MM;
use crate::motion::{PathOptions, Pattern, ToolPath};
use crate::panel::Panel;
use crate::removal::{FieldSummary, PanelMap, panel_map};
use crate::spin::{AtHand, Setup, StallSettings};
use crate::units::Length;

/// What a step asks for.
#[derive(Debug, Clone)]
pub struct StepTask {
    /// Tool at its rate, pad, product, patch, hold, force.
    pub setup: Setup,
    /// The panel.
    pub panel: Panel,
    /// The real panel, where the job has one; `panel` then is its box and its local shape.
    pub surface: Option<SurfaceTask>,
    /// Spread of the Preston coefficient.
    pub pairing: Pairing,
    /// Feed and overlap.
    pub working: Working,
    /// Passes asked for; those of the phases together where there are phases.
    pub passes: usize,
    /// Phases in order, up to [`super::MOST_PHASES`]; empty for a step that is one phase.
    pub phases: Vec<Phase>,
    /// Pattern of the passes.
    pub pattern: Pattern,
    /// Inset, turns and leads of the pass lines.
    pub path_options: PathOptions,
    /// Mean cut to reach, where one is asked for; it decides the passes.
    pub target_cut: Option<Length>,
    /// Cells of the map.
    pub cell: Length,
    /// Factors on the bearing drag that bound what is known of it \[1\].
    pub drag_range: (f64, f64),
}

/// A limit and how far the step is from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// Name of the limit.
    pub name: &'static str,
    /// Where the step is \[in `unit`\].
    pub value: f64,
    /// Where the limit is \[in `unit`\].
    pub limit: f64,
    /// Relative distance to the limit \[1\]; negative beyond it.
    pub margin: f64,
    /// Unit of value and limit.
    pub unit: &'static str,
}

/// The cut and its 90 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Area mean at the Preston coefficient given, which is the median of its spread \[m\].
    pub mean: f64,
    /// 5th percentile \[m\].
    pub low: f64,
    /// 95th percentile \[m\].
    pub high: f64,
}

/// A planned step.
#[derive(Debug, Clone)]
pub struct StepPlan {
    /// The operating state.
    pub state: OperatingState,
    /// The set-up that the state is told for: the step's own, on a real panel at its slowest place.
    pub setup: Setup,
    /// Where on a real panel that is, in plan \[m\].
    pub told_at: Option<(f64, f64)>,
    /// Passes planned.
    pub passes: usize,
    /// The panel after those passes.
    pub work: Work,
    /// Mean cut inside the worked mask, m, with its 90 % interval from the spread of the Preston
    /// coefficient; `None` where nothing is left of the mask.
    pub cut: Option<Interval>,
    /// Time with the pad on, s.
    pub time_s: f64,
    /// Share of the panel on which the pad is stalled \[1\].
    pub stalled_share: f64,
    /// Every limit looked at, the tightest first.
    pub limits: Vec<Limit>,
    /// Whether the target cut, where given, is out of reach.
    pub target_out_of_reach: bool,
    /// The paint after this step and those before it on the same panel, where it was followed.
    pub paint: Option<AfterStep>,
    /// Each phase, in order; empty for a step without phases. State and set-up above are then those of
    /// [`StepPlan::main_phase`], limits the tightest of all.
    pub phases: Vec<PhasePlan>,
    /// What temperature, loading and drying do to the cut, where that was reckoned with.
    pub coupling: Option<CouplingResult>,
}

/// A worked panel.
#[derive(Debug, Clone)]
pub enum Work {
    /// A rectangle of constant curvature.
    Patch(Box<PanelMap>),
    /// A real panel.
    Surface(Box<SurfaceWork>),
}

impl Work {
    /// Cut inside the worked mask, m.
    #[must_use]
    pub fn cut(&self) -> Option<FieldSummary> {
        match self {
            Self::Patch(m) => m.cut,
            Self::Surface(w) => w.cut,
        }
    }

    /// Widest strip between pass lines that the pad never touches, m; a real panel tells its covered
    /// share instead.
    #[must_use]
    pub fn gap_m(&self) -> f64 {
        match self {
            Self::Patch(m) => m.gap_m,
            Self::Surface(_) => 0.0,
        }
    }

    /// The real panel.
    #[must_use]
    pub fn surface(&self) -> Option<&SurfaceWork> {
        match self {
            Self::Patch(_) => None,
            Self::Surface(w) => Some(w),
        }
    }
}

/// Most passes that a target cut may ask for.
pub const MOST_PASSES: usize = 100;

/// 95th percentile of the standard normal distribution (tables of the normal distribution, for
/// example Abramowitz and Stegun 26.2).
const Z95: f64 = 1.6448536269514722;

impl StepTask {
    /// A step of one raster pass over a rectangle, with everything else as a job file without it has it:
    /// cells of 2 mm, no phases, no target cut, a bearing drag known to within 0.5 to 2 times, a Preston
    /// coefficient taken as known.
    ///
    /// Fields are then set one by one: `StepTask { passes: 2, ..StepTask::new(setup, panel, working) }`.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::{StepTask, Working};
    /// use trochoid::*;
    /// # fn main() -> Result<(), Error> {
    /// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
    /// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    /// let side = Length::from_mm(400.0);
    /// let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
    /// let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
    /// // Lines half a pad, 50 mm, apart: 9 lines of 0.4 m and 8 joints of 0.05 m are 4 m, at 40 mm/s 100 s.
    /// assert!((task.path(1)?.time() - 100.0).abs() < 1e-9);
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn new(setup: Setup, panel: Panel, working: Working) -> Self {
        let pairing = Pairing::of(*setup.product());
        Self {
            setup,
            panel,
            surface: None,
            pairing,
            working,
            passes: 1,
            phases: Vec::new(),
            pattern: Pattern::Raster,
            path_options: PathOptions::default(),
            target_cut: None,
            cell: Length::from_mm(CELL_MM),
            drag_range: DRAG_RANGE,
        }
    }

    /// Path of the step over its rectangle with a number of passes, lines (1 − overlap) of the pad's face
    /// apart, at the feed of the step.
    ///
    /// # Errors
    /// As [`ToolPath::over_rectangle`].
    pub fn path(&self, passes: usize) -> Result<ToolPath, crate::RangeError> {
        let spacing = (1.0 - self.working.overlap) * self.setup.pad().diameter().m();
        ToolPath::over_rectangle_with(
            (self.panel.length().m(), self.panel.width().m()),
            self.pattern,
            passes,
            spacing,
            self.working.feed.m_s(),
            &self.path_options,
        )
    }

    /// The map of the step with its own passes.
    ///
    /// # Errors
    /// As [`crate::contact::solve`] and [`panel_map`].
    pub fn map(&self, settings: &StallSettings) -> Result<PanelMap, Error> {
        if !self.phases.is_empty() {
            return map_phases(self, settings);
        }
        let run = crate::spin::spin_state(&self.setup, self.setup.patch(), &settings.contact)?;
        panel_map(&self.setup, &run, &self.panel, self.path(self.passes)?, self.cell.m())
    }
}

/// Plans one step: its state, its passes, its map, its time and its limits, the tightest first.
///
/// ```text
/// cut of the interval's ends = mean · exp(±1.645 √ln(1 + v²))     v relative spread of k_p [1]
/// margin of an upper limit   = (limit − value)/limit              [1]
/// ```
///
/// Where a target cut is given, the passes are those that reach it, found from the proportion of cut and
/// passes and then counted up; beyond [`MOST_PASSES`] the target is told as out of reach.
///
/// # Assumptions and valid range
/// The spin is steady all over a rectangle of one curvature; on a real panel it is solved at every stop.
/// The interval of the cut holds the spread of the Preston coefficient and nothing else.
///
/// # Accuracy
/// That of [`operating_state`] for the state and of [`panel_map`], on cells of `task.cell`, for the map.
///
/// # Errors
/// As [`operating_state`] and [`panel_map`]; with phases as [`StepTask::parts`]; on a real panel as
/// [`survey`](fn@super::survey) and [`SurfaceTask::work`].
///
/// # Example
/// ```
/// use trochoid::equipment::Pairing;
/// use trochoid::motion::{PathOptions, Pattern};
/// use trochoid::plan::{StepTask, Working, plan_step};
/// use trochoid::spin::{AtHand, StallSettings};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.02)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let product = Product::new(0.35, 2e-11)?;
/// let side = Length::from_mm(400.0);
/// let task = StepTask {
///     setup: Setup::new(tool, pad, product, Patch::flat(), Force::from_n(35.0))?,
///     panel: Panel::new(Patch::flat(), side, side)?,
///     surface: None,
///     pairing: Pairing::of(product),
///     working: Working { feed: Speed::from_m_s(0.04), overlap: 0.5 },
///     passes: 2,
///     phases: Vec::new(),
///     pattern: Pattern::Crosshatch,
///     path_options: PathOptions::default(),
///     target_cut: None,
///     cell: Length::from_mm(5.0),
///     drag_range: (0.5, 2.0),
/// };
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// // Lines 50 mm apart: 9 lines of 0.4 m and 8 joints of 0.05 m are 4 m; twice that at 40 mm/s is 200 s.
/// assert!((plan.time_s - 200.0).abs() < 1e-6);
/// // 2e-11 × 35 N × 3.30 m/s over 40 × 50 mm²/s is 1.15 µm a pass.
/// assert!(plan.cut.is_some_and(|c| (c.mean * 1e6 - 2.31).abs() < 0.12));
/// # Ok(())
/// # }
/// ```
pub fn plan_step(task: &StepTask, at_hand: &AtHand, settings: &StallSettings) -> Result<StepPlan, Error> {
    match (&task.surface, task.phases.is_empty()) {
        (Some(on), true) => return plan_surface(task, on, at_hand, settings),
        (Some(on), false) => return plan_surface_phases(task, on, at_hand, settings),
        (None, false) => return plan_patch_phases(task, at_hand, settings),
        (None, true) => {}
    }
    let state = operating_state(&task.setup, &task.working, at_hand, task.drag_range, settings)?;
    let make = |passes: usize| panel_map(&task.setup, &state.run, &task.panel, task.path(passes)?, task.cell.m());
    let cut = |m: &PanelMap| m.cut.map(|c| c.mean);
    let rates = |m: &PanelMap, n: usize| (0.0, cut(m).map_or(state.cut_per_pass_m, |c| c / n as f64));
    let (passes, map, target_out_of_reach) = fit_passes(task, 0, false, make, cut, rates)?;
    let limits = limits(task, &state);
    Ok(StepPlan {
        passes,
        cut: map.cut.map(|c| interval(task, c.mean)),
        time_s: map.path.time(),
        stalled_share: if state.stalled { 1.0 } else { 0.0 },
        limits,
        target_out_of_reach,
        paint: None,
        setup: task.setup.clone(),
        told_at: None,
        state,
        work: Work::Patch(Box::new(map)),
        phases: Vec::new(),
        coupling: None,
    })
}

/// The passes of a step, what they make, and whether the target cut is out of reach. The passes are
/// those asked for, or as many as the target needs beside `others`, which stay; a path that is `given` is
/// worked as it stands. `rates` are the cut of the passes that stay and that of one more pass.
pub(super) fn fit_passes<M>(
    task: &StepTask,
    others: usize,
    given: bool,
    make: impl Fn(usize) -> Result<M, Error>,
    cut: impl Fn(&M) -> Option<f64>,
    rates: impl Fn(&M, usize) -> (f64, f64),
) -> Result<(usize, M, bool), Error> {
    let mut passes = task.passes;
    let mut made = make(passes)?;
    let Some(target) = task.target_cut else { return Ok((passes, made, false)) };
    let short = |made: &M| cut(made).is_some_and(|c| c < target.m());
    if given {
        let short = short(&made);
        return Ok((passes, made, short));
    }
    // Cut rises with the passes, and nearly in proportion: start from the proportion.
    let (fixed, per_pass) = rates(&made, passes);
    let needed = ((target.m() - fixed) / per_pass - 1e-6).ceil();
    if !(needed.is_finite() && needed <= MOST_PASSES as f64) {
        return Ok((passes, made, true));
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 1 and MOST_PASSES
    let needed = others + needed.max(1.0) as usize;
    if needed != passes {
        passes = needed;
        made = make(passes)?;
    }
    // Passes one way and the other cut a little differently: go on until it is reached.
    while short(&made) && passes < MOST_PASSES {
        passes += 1;
        made = make(passes)?;
    }
    let out_of_reach = short(&made);
    Ok((passes, made, out_of_reach))
}

/// A mean cut \[m\] with its interval: a log-normal spread keeps the cut positive; its median is the
/// Preston coefficient given.
pub(super) fn interval(task: &StepTask, mean: f64) -> Interval {
    let sd = task.pairing.preston_rel_sd();
    let spread = (Z95 * (1.0 + sd * sd).ln().sqrt()).exp();
    Interval { mean, low: mean / spread, high: mean * spread }
}

pub(super) fn limits(task: &StepTask, state: &OperatingState) -> Vec<Limit> {
    let mut out = Vec::new();
    let upper =
        |name, value: f64, limit: f64, unit| Limit { name, value, limit, margin: (limit - value) / limit, unit };
    if task.setup.tool().bearing().is_some() {
        if state.run.sticks {
            // A stuck face does not turn because it sticks; that limit stands below.
        } else if let Some(s) = state.limits.stall_number() {
            out.push(upper("stall", s, 1.0, "of the stall curvature"));
        } else {
            let (value, limit) = (
                crate::units::AngularRate::from_rad_s(state.run.spin).rpm(),
                crate::units::AngularRate::from_rad_s(state.useful_spin).rpm(),
            );
            out.push(Limit { name: "spin", value, limit, margin: (value - limit) / value.max(limit), unit: "rpm" });
        }
    }
    let (compression, most) = state.run.contact.compression_m;
    out.push(upper("pad_compression", compression * 1e3, most * 1e3, "mm"));
    let pull = task.setup.pad().shear_stiffness() * 0.5 * task.setup.tool().throw().m();
    if pull.is_finite() && pull > 0.0 {
        out.push(upper("face_sticks", task.setup.friction_n(), pull, "N"));
    }
    if let Some(motor) = task.setup.tool().motor() {
        let rate = task.setup.tool().rate().rad_s();
        let shaft = if rate > 0.0 { rate } else { state.run.spin };
        out.push(upper("motor_power", state.orbit_torque_nm * shaft, motor.available().w(), "W"));
    }
    out.sort_by(|a, b| a.margin.total_cmp(&b.margin));
    out
}
