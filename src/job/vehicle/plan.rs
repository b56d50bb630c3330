//! The plan of a vehicle: zones and steps in the order of work, minutes, pads, what cannot be mended.
//!
//! Rounds: settings are chosen from states and closed cuts; what was chosen is mapped and heated; passes
//! are corrected by the maps; a zone that gets too hot is chosen again with less friction power.

use super::Vehicle;
use super::assemble;
use super::choose::{Chosen, ToDo, choose, kits, try_settings, zone_tasks};
use super::pads::PadsAtHand;
use super::replan::{self, Past};
use super::work::{Item, Made, Shop};
use super::zones::{Zone, zones};
use crate::Error;
use crate::budget::{Allowance, ClearCoat};
use crate::equipment::within;
use crate::error::RangeError;
use crate::finish::Defect;
use crate::job::account::panel_clear;
use crate::job::model::{Job, Step};
use crate::panel::Patch;
use crate::plan::vehicle::{Goal, Order, Phase, TimeTrace, Tried};
use crate::plan::{AfterStep, HandArmDose, Limit, StepHeat, StepPlan, StepTask};
use crate::spin::StallSettings;
use crate::units::{Area, Length, Time, Volume};

/// Most rounds of choosing again for heat, and of correcting passes.
const MOST_ROUNDS: usize = 4;

/// Most zones of a vehicle: beyond them it is several vehicles.
const MOST_ZONES: f64 = 300.0;
/// Most kits that are tried on each.
const MOST_KITS: f64 = 120.0;

/// A step on a zone, planned.
#[derive(Debug, Clone)]
pub struct ZoneStep {
    /// Zone.
    pub zone: usize,
    /// Cut or refining.
    pub phase: Phase,
    /// The step as a job of steps would have it.
    pub step: Step,
    /// As the planner took it.
    pub task: StepTask,
    /// Its plan.
    pub plan: StepPlan,
    /// Its heat; `None` for a face that sticks.
    pub heat: Option<StepHeat>,
    /// Hottest core that its pads come to.
    pub core: Option<crate::Temperature>,
    /// Whether the tool is swapped before it, and whether the pad is.
    pub swaps: (bool, bool),
    /// Day, from 0, and start on the clock of the trace.
    pub day: usize,
    /// Start: everything before it.
    pub start: Time,
    /// All time that belongs to it, handling included.
    pub time: Time,
}

/// Passes along the edges of one zone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePasses {
    /// Passes of the cut in the strip.
    pub cut: usize,
    /// Passes of the refining in the strip.
    pub refine: usize,
    /// Width of the strip.
    pub strip: Length,
    /// Chance \[1\] of going over what may go on the thinner film there.
    pub over_probability: f64,
}

/// A zone and what becomes of it.
#[derive(Debug, Clone)]
pub struct ZonePlan {
    /// Index of its panel among those of the vehicle.
    pub panel: usize,
    /// Name of its panel.
    pub panel_name: String,
    /// Its own name.
    pub name: String,
    /// Panel and zone in one.
    pub label: String,
    /// Its shape.
    pub patch: Patch,
    /// Sides of the rectangle that it is worked as.
    pub size: (Length, Length),
    /// Its area.
    pub area: Area,
    /// What is believed of its clear coat before this plan.
    pub clear: ClearCoat,
    /// The defect that decides, and the cut that corrects it to the target.
    pub goal: Option<(Defect, Length)>,
    /// What may go.
    pub allowance: Allowance,
    /// The paint after everything; `None` where nothing is done.
    pub after: Option<AfterStep>,
    /// Chance \[1\] of going over what may go.
    pub over_probability: f64,
    /// Correction to the eye \[1\] at the low end of the cut at the stated confidence, where a defect decides.
    pub correction_low: Option<f64>,
    /// Whether the target is reached, and no haze stays that was to go.
    pub reaches: bool,
    /// Its edges; `None` where nothing is done.
    pub edge: Option<EdgePasses>,
    /// The limit with the smallest margin; `None` where nothing is done and nothing keeps it from that.
    pub binding: Option<Limit>,
    /// What is not reached and why, and the smallest change that would help, in words.
    pub unmet: Vec<String>,
    /// What was done before this plan, in words.
    pub done: Vec<String>,
    /// Its steps in this plan, by their index.
    pub steps: Vec<usize>,
}

/// A defect that polishing does not mend, or not within the paint that may go.
#[derive(Debug, Clone, PartialEq)]
pub struct Uncorrectable {
    /// Panel.
    pub panel: String,
    /// Defect.
    pub defect: &'static str,
    /// Why, and what mends it.
    pub why: String,
    /// Whether it never gets a pass; else the deepest of its kind stay in part.
    pub never: bool,
}

/// The plan of a vehicle; made by [`plan_vehicle`].
#[derive(Debug, Clone)]
pub struct VehiclePlan {
    /// Zones in the order of panels and bands.
    pub zones: Vec<ZonePlan>,
    /// Steps in the order of work.
    pub steps: Vec<ZoneStep>,
    /// The order of kits with its swaps.
    pub order: Order,
    /// Swaps of going panel by panel with the same kits.
    pub naive: Order,
    /// Where every minute comes from.
    pub trace: TimeTrace,
    /// The pads.
    pub pads: PadsAtHand,
    /// Product by name.
    pub products: Vec<(String, Volume)>,
    /// Edge to be taped.
    pub masking: Length,
    /// Time with the pad on by tool, and on each day.
    pub tool_hours: Vec<(String, Vec<Time>)>,
    /// Exposure of the worst day; `None` where a tool that is used declares no vibration.
    pub a8: Option<HandArmDose>,
    /// Defects that are not mended.
    pub uncorrectable: Vec<Uncorrectable>,
    /// What was done before changed in the plan, in words; empty where nothing was done.
    pub changes: Vec<String>,
}

impl VehiclePlan {
    /// Whether every zone reaches what is wanted.
    #[must_use]
    pub fn reaches(&self) -> bool {
        self.zones.iter().all(|z| z.reaches)
    }
}

/// What one call of the planner rests on.
pub(super) struct Base<'a> {
    pub(super) job: &'a Job,
    pub(super) vehicle: &'a Vehicle,
    pub(super) settings: &'a StallSettings,
    pub(super) goal: Goal,
    pub(super) zones: Vec<Zone>,
    pub(super) labels: Vec<String>,
    pub(super) clears: Vec<ClearCoat>,
    pub(super) drag: &'a (dyn Fn(&str) -> (f64, f64) + Sync),
}

/// Plans the vehicle of a job. `drag` tells the factors on the bearing drag of each tool that bound what is
/// known of it. With `[[done]]` entries what was done is fixed, the film is brought up to date, the rest is
/// planned again, and [`VehiclePlan::changes`] tells what that changed.
///
/// # Errors
/// A job without a vehicle, film readings that cannot be pooled, a set-up that cannot be made, a zone that
/// is told as done and does not exist.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, vehicle::plan_vehicle};
/// use trochoid::plan::vehicle::Minute;
/// use trochoid::spin::StallSettings;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// // The tools, pads, products and panels of the starter; in place of its steps the plan chooses.
/// let named = STARTER.split("# ---- Steps").next().unwrap_or_default();
/// let text = named.replace("preston_per_pa = 2.0e-11", "preston_per_pa = 2.0e-11\ngrain_um = 3.0")
///     .replace("incline_deg", "defects = [\"swirl_marks\"]\nincline_deg");
/// let job = Job::parse("vehicle.toml", &format!("{text}\n[vehicle]\nfinish = \"correct\"\ncell_mm = 20.0\n"))?;
/// let plan = plan_vehicle(&job, &StallSettings::default(), &|_| (0.5, 2.0))?;
/// // A door and a hollow, each of one shape; every minute of the day is some kind of minute.
/// assert_eq!(plan.zones.len(), 2);
/// let by_kind: f64 = Minute::ALL.iter().map(|m| plan.trace.of(*m).s()).sum();
/// assert!((by_kind - plan.trace.total().s()).abs() < 1e-6);
/// # Ok(())
/// # }
/// ```
pub fn plan_vehicle(
    job: &Job,
    settings: &StallSettings,
    drag: &(dyn Fn(&str) -> (f64, f64) + Sync),
) -> Result<VehiclePlan, Error> {
    let Some(vehicle) = &job.vehicle else {
        return Err(RangeError::new("vehicle", 0.0, "", "a job with a [vehicle] table").into());
    };
    let found = zones(job, vehicle)?;
    within("zones of the vehicle", found.len() as f64, 1.0, MOST_ZONES, "")?;
    within("tools x pads x products that fit", kits(job, vehicle).len() as f64, 1.0, MOST_KITS, "")?;
    let labels: Vec<String> =
        found.iter().map(|z| label(&vehicle.panels[z.panel].name, &z.name, &found, z.panel)).collect();
    let clears = vehicle
        .panels
        .iter()
        .map(|p| panel_clear(job, &p.name, &p.paint).map(|c| c.0))
        .collect::<Result<Vec<ClearCoat>, Error>>()?;
    let goal = Goal {
        correction: job.budget.target_correction,
        confidence: vehicle.confidence,
        useful_spin: settings.useful_spin,
        most_passes: vehicle.most_passes,
        sure_factor: Goal::SURE_FACTOR,
    };
    let base = Base { job, vehicle, settings, goal, zones: found, labels, clears, drag };
    let first = plan_once(&base, &Past::nothing(base.zones.len()))?;
    if vehicle.done.is_empty() {
        return Ok(first);
    }
    let past = replan::past(&base, &first)?;
    let mut second = plan_once(&base, &past)?;
    second.changes = replan::changes(&first, &second, &past);
    Ok(second)
}

/// Panel and zone in one name; the panel's alone where it has one zone.
fn label(panel: &str, zone: &str, zones: &[Zone], index: usize) -> String {
    let alone = zones.iter().filter(|z| z.panel == index).count() == 1;
    if alone { panel.to_owned() } else { format!("{panel}: {zone}") }
}

/// One plan, with what was done before taken as it is.
fn plan_once(base: &Base<'_>, past: &Past) -> Result<VehiclePlan, Error> {
    let (job, vehicle) = (base.job, base.vehicle);
    let kits = kits(job, vehicle);
    let mut tasks = zone_tasks(job, vehicle, &kits, &base.zones, &base.clears, &past.steps, base.drag);
    let to_do: ToDo = (0..tasks.len())
        .map(|i| {
            let (cut, refined) = past.phases[i];
            (vehicle.finish.corrects() && !cut && !refined, vehicle.finish.refines() && !refined)
        })
        .collect();
    let tried: Vec<Vec<Tried>> = try_settings(vehicle, &tasks, &base.goal)?;
    let shop = Shop {
        job,
        vehicle,
        kits: &kits,
        zones: &base.zones,
        labels: &base.labels,
        settings: base.settings,
        goal: &base.goal,
        drag: base.drag,
    };
    let items: Vec<Item> = (0..tasks.len()).flat_map(|z| [Phase::Cut, Phase::Refine].map(|p| (z, p))).collect();
    let mut made = Made::new();
    let mut chosen: Vec<Chosen> = Vec::new();
    for round in 0..MOST_ROUNDS {
        chosen = choose(vehicle, &base.goal, &kits, &tasks, &tried, &to_do)?;
        for _ in 0..MOST_ROUNDS {
            shop.work(&items, &chosen, &mut made)?;
            let mut changed = false;
            for (zone, task) in tasks.iter().enumerate() {
                changed |= shop.correct_passes(zone, task, &mut chosen, &made)?;
            }
            if !changed {
                break;
            }
        }
        shop.work(&items, &chosen, &mut made)?;
        let mut hot = false;
        for item in &items {
            let Some(w) = shop.found(*item, &chosen, &made) else { continue };
            // The last round keeps what is too hot, and says so.
            if let Some(watts) = shop.power_for(w).filter(|_| round + 1 < MOST_ROUNDS)
                && can_work_at(&tried[item.0], watts)
            {
                let task = &mut tasks[item.0];
                task.most_power_w = Some(task.most_power_w.map_or(watts, |m| m.min(watts)));
                hot = true;
            }
        }
        if !hot {
            break;
        }
    }
    assemble::assemble(base, &shop, &tasks, &tried, &chosen, &made, past)
}

/// Whether any setting on a zone stays below a friction power.
fn can_work_at(tried: &[Tried], watts: f64) -> bool {
    tried.iter().any(|t| t.settings.iter().any(|s| s.friction_w <= watts))
}
