//! What milder settings would do to the hottest paint: a smaller pad, less force, a lower rate, a faster
//! feed, each worked and heated again with the passes of the plan.
//!
//! Not a search for the setting that keeps a limit, and not advice on the cut: the cut that comes with each
//! is told beside it. The amounts are fixed shares, ours; no source needed.

use super::step::{StepPlan, StepTask, plan_step};
use super::surface::Route;
use super::thermal::{Heating, ThermalTask, cooling_of, step_heat};
use crate::Error;
use crate::equipment::Drive;
use crate::heat::{PanelHeatSettings, PanelJob, Plate, heat_panel};
use crate::removal::panel_map;
use crate::spin::{Against, AtHand, LEAST_FORCE_N, StallSettings, spin_state};
use crate::units::{AngularRate, Force, Length, Speed, Temperature, Time};

/// What is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MilderKind {
    /// A pad of the same make with three quarters of the face diameter.
    SmallerPad,
    /// Three quarters of the force.
    LessForce,
    /// Three quarters of the orbit rate.
    LowerRate,
    /// One and a half times the feed.
    FasterFeed,
}

/// In the order in which they are told.
const KINDS: [MilderKind; 4] =
    [MilderKind::LessForce, MilderKind::LowerRate, MilderKind::FasterFeed, MilderKind::SmallerPad];
/// Share of diameter, force and rate that is left.
const LEFT: f64 = 0.75;
/// Factor on the feed.
const FASTER: f64 = 1.5;

impl MilderKind {
    /// The word for it in machine-readable results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::SmallerPad => "smaller_pad",
            Self::LessForce => "less_force",
            Self::LowerRate => "lower_rate",
            Self::FasterFeed => "faster_feed",
        }
    }

    /// Unit of its value.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::SmallerPad => "mm",
            Self::LessForce => "N",
            Self::LowerRate => "orbits/min",
            Self::FasterFeed => "mm/s",
        }
    }
}

/// What a change brings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MilderHeat {
    /// Hottest paint.
    pub peak: Temperature,
    /// Mean cut, where the pad leaves a worked area.
    pub cut: Option<Length>,
    /// Time with the pad on.
    pub time: Time,
    /// Friction power at the panel's middle, or its mean over a real panel, W.
    pub friction_w: f64,
}

/// One change.
#[derive(Debug, Clone, PartialEq)]
pub struct Milder {
    /// What.
    pub kind: MilderKind,
    /// To what value, in the unit of [`MilderKind::unit`] \[mm, N, orbits/min or mm/s\].
    pub value: f64,
    /// What comes of it, or why there is no answer.
    pub outcome: Result<MilderHeat, String>,
}

/// Works a planned step again with each milder setting; empty for a face that sticks, which heats nothing.
///
/// The force of a changed feed or pad stays what it was, and so does the overlap: a smaller pad takes more
/// lines. A setting that cannot be is told with its reason.
///
/// # Accuracy
/// As [`super::step_heat`], whose heat is that of a whole step; a change that cannot be made carries its
/// reason in place of numbers.
///
/// # Errors
/// As [`super::step_heat`] for the air and the limit.
///
/// # Example
/// With the step of the example of [`StepTask::new`] and the workshop of the example of [`step_heat`]:
/// ```
/// use trochoid::plan::{MilderKind, milder_settings, plan_step};
/// # use trochoid::equipment::Substrate;
/// # use trochoid::plan::{StepTask, ThermalTask, Working, Workshop};
/// # use trochoid::wear::FilmProduct;
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let side = Length::from_mm(400.0);
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// # let with = ThermalTask {
/// #     workshop: Workshop {
/// #         temperature: Temperature::from_c(20.0), relative_humidity: 0.5, air_speed: Speed::from_m_s(0.1),
/// #     },
/// #     substrate: Substrate::Steel,
/// #     incline: Angle::from_deg(0.0),
/// #     paint_limit: Temperature::from_c(60.0),
/// #     film: FilmProduct::default(),
/// #     drops: None,
/// # };
/// let plan = plan_step(&task, &Default::default(), &Default::default())?;
/// let milder = milder_settings(&task, &plan, &with, &Default::default())?;
/// // Three quarters of 35 N are 26.25 N, and rub with three quarters of 40.4 W.
/// assert!(milder[0].kind == MilderKind::LessForce && (milder[0].value - 26.25).abs() < 1e-9);
/// assert!(milder[0].outcome.as_ref().is_ok_and(|o| (o.friction_w - 30.31).abs() < 0.01));
/// # Ok(())
/// # }
/// ```
pub fn milder_settings(
    task: &StepTask,
    plan: &StepPlan,
    with: &ThermalTask,
    settings: &StallSettings,
) -> Result<Vec<Milder>, Error> {
    let rubs = |s: &super::OperatingState| !s.run.sticks && s.friction_w > 0.0;
    if !(rubs(&plan.state) || plan.phases.iter().any(|p| rubs(&p.state))) {
        return Ok(Vec::new());
    }
    cooling_of(task, with)?;
    let driven = matches!(task.setup.tool().drive(), Drive::Rotary { .. });
    let kinds = KINDS.iter().filter(|k| !(driven && **k == MilderKind::LowerRate));
    Ok(kinds
        .map(|kind| {
            let (value, changed) = change(task, *kind);
            let outcome = changed.and_then(|t| again(&t, plan.passes, with, settings).map_err(|e| e.to_string()));
            Milder { kind: *kind, value, outcome: outcome.and_then(|o| o.ok_or_else(|| "the face sticks".to_owned())) }
        })
        .collect())
}

/// The value of a change of the step and the step with it; phases change in the same proportion.
fn change(task: &StepTask, kind: MilderKind) -> (f64, Result<StepTask, String>) {
    let (value, changed) = change_of_step(task, kind);
    let phases = task.phases.iter().cloned().map(|mut p| {
        match kind {
            MilderKind::SmallerPad => {}
            MilderKind::LessForce => p.force = p.force.map(|f| Force::from_n(LEFT * f.n())),
            MilderKind::LowerRate => p.rate = p.rate.map(|r| AngularRate::from_opm(LEFT * r.opm())),
            MilderKind::FasterFeed => p.feed = p.feed.map(|f| Speed::from_mm_s(FASTER * f.mm_s())),
        }
        p
    });
    (value, changed.map(|t| StepTask { phases: phases.collect(), ..t }))
}

fn change_of_step(task: &StepTask, kind: MilderKind) -> (f64, Result<StepTask, String>) {
    let setup = &task.setup;
    let set = |against: Against, value: f64| {
        let changed = against.set(setup, value).map_err(|e| e.to_string());
        (value, changed.map(|setup| StepTask { setup, ..task.clone() }))
    };
    match kind {
        MilderKind::SmallerPad => set(Against::PadDiameter, LEFT * setup.pad().diameter().mm()),
        MilderKind::LessForce => {
            let value = LEFT * setup.force().n();
            if value < LEAST_FORCE_N {
                return (value, Err(format!("below {LEAST_FORCE_N} N a pad is hardly kept on the panel")));
            }
            set(Against::Force, value)
        }
        MilderKind::LowerRate => {
            let value = LEFT * setup.tool().rate().opm();
            let least = setup.tool().rate_range().0.opm();
            if value < least {
                return (value, Err(format!("the tool runs from {least:.0} orbits/min on")));
            }
            set(Against::OrbitRate, value)
        }
        MilderKind::FasterFeed => {
            let value = FASTER * task.working.feed.mm_s();
            if task.surface.as_ref().is_some_and(|s| matches!(s.route, Route::Given(_))) {
                return (value, Err("the path is given with its own times".to_owned()));
            }
            let mut changed = task.clone();
            changed.working.feed = Speed::from_mm_s(value);
            (value, Ok(changed))
        }
    }
}

/// The step worked and heated; `None` for a face that sticks.
fn again(
    task: &StepTask,
    passes: usize,
    with: &ThermalTask,
    settings: &StallSettings,
) -> Result<Option<MilderHeat>, Error> {
    if !task.phases.is_empty() {
        return of_phases(task, passes, with, settings);
    }
    let (heating, origin_m, cut, time_s, friction_w) = if let Some(on) = &task.surface {
        let (path, _) = on.path(task, passes, on.inset_of(task, passes))?;
        let map = on.work(task, &path, settings.useful_spin)?;
        let heating = Heating::of_stops(&task.setup, &map.stops)?;
        let energy: f64 = heating.sources.iter().map(|s| s.watts * s.time_s).sum();
        let mean = energy / (super::thermal::panel_share() * path.time_on());
        let cut = super::surface::over_worked(&map, |k| map.cut(k)).map(|c| c.mean);
        (heating, map.grid.origin, cut, path.time_on(), mean)
    } else {
        let setup = &task.setup;
        let run = spin_state(setup, setup.patch(), &settings.contact)?;
        if run.sticks {
            return Ok(None);
        }
        let map = panel_map(setup, &run, &task.panel, task.path(passes)?, task.cell.m())?;
        let watts = setup.product().friction() * run.sums.speed_w;
        let heating = Heating::along(setup, task.panel.patch(), &run, &map.path, watts)?;
        (heating, (0.0, 0.0), map.cut.map(|c| c.mean), map.path.time(), watts)
    };
    if !(friction_w.is_finite() && friction_w > 0.0) {
        return Ok(None);
    }
    let (plate, cooling) = (Plate::painted(with.substrate), cooling_of(task, with)?);
    let job = PanelJob {
        plate: &plate,
        cooling: &cooling,
        size: (task.panel.length(), task.panel.width()),
        origin_m,
        start: with.workshop.temperature,
        spreads: &heating.spreads,
        sources: &heating.sources,
        overhang: heating.overhang,
        limit: Some(with.paint_limit),
        probes_m: &[],
    };
    let heat = heat_panel(&job, &PanelHeatSettings::default())?;
    Ok(Some(MilderHeat {
        peak: heat.peak.surface,
        cut: cut.map(Length::from_m),
        time: Time::from_s(time_s),
        friction_w,
    }))
}

/// A step with phases planned and heated as a whole.
fn of_phases(
    task: &StepTask,
    passes: usize,
    with: &ThermalTask,
    settings: &StallSettings,
) -> Result<Option<MilderHeat>, Error> {
    let fixed = StepTask { target_cut: None, ..task.with_passes(passes)? };
    let plan = plan_step(&fixed, &AtHand::default(), settings)?;
    Ok(step_heat(&fixed, &plan, with)?.map(|heat| MilderHeat {
        peak: heat.peak.surface,
        cut: plan.cut.map(|c| Length::from_m(c.mean)),
        time: Time::from_s(plan.time_s),
        friction_w: heat.pad.friction().w(),
    }))
}

impl Milder {
    /// The step's own value of what is changed \[mm, N, orbits/min or mm/s\], see [`MilderKind::unit`].
    #[must_use]
    pub fn own_value(&self, task: &StepTask) -> f64 {
        match self.kind {
            MilderKind::SmallerPad => task.setup.pad().diameter().mm(),
            MilderKind::LessForce => task.setup.force().n(),
            MilderKind::LowerRate => task.setup.tool().rate().opm(),
            MilderKind::FasterFeed => task.working.feed.mm_s(),
        }
    }

    /// Words for it, such as `less force: 26 N instead of 35`.
    #[must_use]
    pub fn words(&self, task: &StepTask) -> String {
        let what = self.kind.name().replace('_', " ");
        format!("{what}: {:.0} {} instead of {:.0}", self.value, self.kind.unit(), self.own_value(task))
    }
}
