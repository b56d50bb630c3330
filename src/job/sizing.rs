//! The table `[sizing]`: which designs of a step's tool and pad to choose from, for which panels, by what.
//!
//! Without the table nothing is sized, and no default of it is listed.

use super::absent::absent;
use super::equipment::Notes;
use super::keys::{SIZING, SIZING_LIMITS};
use super::model::Step;
use super::problem::{Problem, one_line};
use super::reader::{Table, list};
use super::resolve::Inventory;
use crate::equipment::defaults::{Documented, Grade};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::evolve::EvolveSettings;
use crate::plan::Working;
use crate::plan::sizing::{
    Bound, Design, DesignSpace, Duty, Fleet, FleetPanel, MOST_PANELS, Objective, SEARCH_LIMITS, SizingTask, Variable,
    VariableRange,
};
use crate::spin::StallSettings;
use crate::units::Length;
use toml::de::DeValue;

/// `[sizing]` of a job: the designs that a tool is to be chosen from, for which panels, by what.
#[derive(Debug, Clone, PartialEq)]
pub struct SizingSettings {
    /// Name of the step whose tool, pad and product are the base.
    pub step_name: String,
    /// Panels and their shares.
    pub fleet: Fleet,
    /// Ranges of what may change.
    pub ranges: Vec<VariableRange>,
    /// What designs are compared by.
    pub objectives: Vec<Objective>,
    /// Bounds that a design must keep.
    pub bounds: Vec<Bound>,
    /// Stall margin beyond which more is no better \[1/m\], 0.01 to 40; 2 by default.
    pub enough_margin_per_m: f64,
    /// Cut that every place shall have, 0.01 to 200 µm; that of the step, else 1 µm.
    pub target_cut: Length,
    /// Pad mass that the counterweight balances; one made for each design's own pad where it is not given.
    pub balanced_pad_kg: Option<f64>,
    /// The search.
    pub search: EvolveSettings,
    /// Rows of the sensitivities; 500 by default.
    pub sensitivity_rows: usize,
}

/// Designs of a generation, generations, rows of sensitivities and seed where none are given.
pub(super) const POPULATION: u32 = 60;
pub(super) const GENERATIONS: u32 = 40;
pub(super) const SENSITIVITY_ROWS: u32 = 500;
const SEED: u32 = 1;
/// Stall margin that is enough where none is given, 1/m.
pub(super) const ENOUGH_MARGIN_PER_M: f64 = 2.0;
/// Cut asked for where neither the table nor the step gives one, µm.
pub(super) const TARGET_UM: f64 = 1.0;
const OBJECTIVES: [Objective; 3] = [Objective::CutRate, Objective::StallMargin, Objective::ShakingForce];

/// Documented defaults of the table.
pub(super) static ABSENT: &[Documented] = &[
    absent("sizing.step", "the first step", "the design that the others are changed from", Grade::Derived),
    absent("sizing.panels", "every panel", "none named", Grade::Derived),
    absent("sizing.shares", "the panels' areas", "none given", Grade::Derived),
    absent("sizing.throw_mm", "the tool's", "does not change", Grade::Derived),
    absent("sizing.pad_diameter_mm", "the pad's", "does not change", Grade::Derived),
    absent("sizing.pad_thickness_mm", "the pad's", "does not change", Grade::Derived),
    absent("sizing.pad_stiffness_factor", "1", "does not change", Grade::Derived),
    absent("sizing.orbit_rate_opm", "the step's", "does not change", Grade::Derived),
    absent("sizing.force_n", "the step's", "does not change", Grade::Derived),
    absent("sizing.feed_mm_s", "the step's", "does not change", Grade::Derived),
    absent("sizing.overlap", "the step's", "does not change", Grade::Derived),
    absent(
        "sizing.balanced_pad_kg",
        "nine tenths of the pad's mass",
        "a counterweight made for each design's own pad leaves a tenth of it, assumed, no source",
        Grade::Assumed,
    ),
    absent(
        "sizing.objectives",
        "cut_rate_mm3_s, stall_margin_per_m, shaking_force_n",
        "cut, safety from stalling, vibration",
        Grade::Derived,
    ),
    absent(
        "sizing.enough_margin_per_m",
        "2",
        "a hollow of half a metre's radius more, assumed, no source",
        Grade::Assumed,
    ),
    absent("sizing.target_cut_um", "the step's, else 1", "for the time alone, assumed, no source", Grade::Assumed),
    absent("sizing.population", "60", "enough for three objectives, no source", Grade::Derived),
    absent("sizing.generations", "40", "the front moves little afterwards, no source", Grade::Derived),
    absent("sizing.sensitivity_rows", "500", "indices to about 0.05", Grade::Derived),
    absent("sizing.seed", "1", "the same draws every time", Grade::Derived),
];

/// Reads `[sizing]`; `None` where the job has none.
pub(super) fn sizing(
    root: &Table<'_>,
    inventory: &Inventory<'_>,
    steps: &[Step],
    notes: &mut Notes,
) -> Result<Option<SizingSettings>, Problem> {
    let Some(t) = root.table("sizing", &SIZING)? else { return Ok(None) };
    let step = base_step(&t, steps)?;
    let fleet = fleet(&t, inventory)?;
    let mut ranges = Vec::new();
    for variable in Variable::ALL {
        let key = variable.key();
        // The counterweight may be one mass for all designs.
        if variable == Variable::BalancedMass && t.has(key) && !t.is_array(key) {
            continue;
        }
        if let Some((low, high)) = t.pair(key, "two numbers, the least and the greatest value")? {
            ranges.push(VariableRange { variable, low, high });
        }
    }
    if ranges.is_empty() {
        let allowed = list(Variable::ALL.iter().map(|v| v.key()));
        return Err(t
            .problem("step", "[sizing] has no range of anything to choose")
            .with_key("sizing")
            .with_allowed(format!("at least one of {allowed}, each as [least, greatest]")));
    }
    let balanced_pad_kg = if t.has("balanced_pad_kg") && !t.is_array("balanced_pad_kg") {
        let (low, high) = Variable::BalancedMass.bounds();
        Some(t.ranged(within("balanced_pad_kg", t.need_number("balanced_pad_kg")?, low, high, "kg"))?)
    } else {
        None
    };
    let target_um = match t.number("target_cut_um")? {
        Some(um) => t.ranged(within("target_cut_um", um, 0.01, 200.0, "µm"))?,
        None => step.target_cut.map_or(TARGET_UM, Length::um),
    };
    let whole = |key: &'static str, (low, high): (u32, u32), otherwise: u32| {
        if t.has(key) { t.need_whole(key, low, high) } else { Ok(otherwise as usize) }
    };
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // small whole numbers
    let limits = SEARCH_LIMITS.map(|(low, high)| (low as u32, high as u32));
    let search = EvolveSettings {
        population: whole("population", limits[0], POPULATION)?,
        generations: whole("generations", limits[1], GENERATIONS)?,
        seed: whole("seed", (0, u32::MAX), SEED)? as u64,
        ..EvolveSettings::default()
    };
    let out = SizingSettings {
        step_name: step.name.clone(),
        fleet,
        ranges,
        objectives: objectives(&t)?,
        bounds: bounds(&t, notes)?,
        enough_margin_per_m: match t.number("enough_margin_per_m")? {
            Some(m) => t.ranged(within("enough_margin_per_m", m, 0.01, 40.0, "1/m"))?,
            None => ENOUGH_MARGIN_PER_M,
        },
        target_cut: Length::from_um(target_um),
        balanced_pad_kg,
        search,
        sensitivity_rows: whole("sensitivity_rows", limits[2], SENSITIVITY_ROWS)?,
    };
    let margin = out.bounds.iter().find(|b| b.objective == Objective::StallMargin);
    if let Some(b) = margin.filter(|b| b.value > out.enough_margin_per_m) {
        let message = format!(
            "a stall margin of {} 1/m is asked for, and more than {} 1/m counts as no better",
            b.value, out.enough_margin_per_m
        );
        return Err(t
            .problem("enough_margin_per_m", message)
            .with_allowed(format!("at least limits.stall_margin_per_m, {}", b.value))
            .with_help("raise enough_margin_per_m, or ask for less"));
    }
    // What the ranges ask of the base is told here, with its place.
    t.ranged(sizing_task(&out, step, &StallSettings::default()).and_then(|task| task.check()))?;
    t.report(
        &mut notes.resolved,
        &Variable::ALL.map(Variable::key).into_iter().filter(|k| !t.has(k)).collect::<Vec<_>>(),
    );
    Ok(Some(out))
}

fn base_step<'s>(t: &Table<'_>, steps: &'s [Step]) -> Result<&'s Step, Problem> {
    let Some(name) = t.text("step")? else {
        return steps.first().ok_or_else(|| t.problem("step", "[sizing] needs a [[step]] to start from"));
    };
    steps.iter().find(|s| s.name == name).ok_or_else(|| {
        let message = format!("there is no step \"{}\"", one_line(name));
        t.suggest("step", &message, name, steps.iter().map(|s| s.name.as_str()))
    })
}

/// Words of a list, where given, with at most `most` of them.
fn words<'a>(t: &Table<'a>, key: &str, most: usize, expected: &str) -> Result<Option<Vec<&'a str>>, Problem> {
    let Some(items) = t.array(key, expected)? else { return Ok(None) };
    if items.is_empty() || items.len() > most {
        let message = format!("`{}` has {} entries", t.path_of(key), items.len());
        return Err(t.problem(key, message).with_allowed(format!("1 to {most}")));
    }
    let word = |v: &'a super::reader::Value<'a>| match v.get_ref() {
        DeValue::String(s) => Ok(&**s),
        _ => Err(t.wrong_type(key, expected)),
    };
    items.iter().map(word).collect::<Result<Vec<_>, _>>().map(Some)
}

fn fleet(t: &Table<'_>, inventory: &Inventory<'_>) -> Result<Fleet, Problem> {
    let all = || inventory.panels.iter().map(|p| p.name);
    let names = match words(t, "panels", MOST_PANELS, "a list of names of panels")? {
        Some(names) => names,
        None => all().collect(),
    };
    let shares = t.numbers("shares", "a list of numbers, one a panel")?;
    if let Some(shares) = shares.as_ref().filter(|s| s.len() != names.len()) {
        let message = format!("`{}` has {} numbers for {} panels", t.path_of("shares"), shares.len(), names.len());
        return Err(t.problem("shares", message).with_allowed(format!("{} numbers", names.len())));
    }
    let mut panels = Vec::new();
    for (i, name) in names.iter().enumerate() {
        let Some(found) = inventory.panels.iter().find(|p| p.name == *name) else {
            let message = format!("there is no panel \"{}\"", one_line(name));
            return Err(t.suggest("panels", &message, name, all()));
        };
        if found.item.real.is_some() {
            let message =
                format!("panel \"{}\" is a real panel, whose curvature changes from place to place", one_line(name));
            return Err(t
                .problem("panels", message)
                .with_allowed("panels of one curvature: flat, sphere, cylinder, quadric")
                .with_help("describe the places that matter as panels of their own, each with its share"));
        }
        let panel = &found.item.panel;
        let share = match &shares {
            Some(s) => t.ranged(within("shares", s[i], 1e-9, 1e9, ""))?,
            None => panel.length().m() * panel.width().m(),
        };
        panels.push(FleetPanel { name: (*name).to_owned(), patch: *panel.patch(), share });
    }
    t.ranged(Fleet::new(panels))
}

fn objectives(t: &Table<'_>) -> Result<Vec<Objective>, Problem> {
    const KEY: &str = "objectives";
    let Some(words) = words(t, KEY, 4, "a list of two to four objectives")? else { return Ok(OBJECTIVES.to_vec()) };
    let names = || Objective::ALL.iter().map(|o| o.key());
    let mut out: Vec<Objective> = Vec::new();
    for word in &words {
        let Some(found) = Objective::ALL.into_iter().find(|o| o.key() == *word) else {
            let message = format!("`{}` cannot hold \"{}\"", t.path_of(KEY), one_line(word));
            return Err(t.suggest(KEY, &message, word, names()));
        };
        if out.contains(&found) {
            let message = format!("`{}` holds \"{word}\" twice", t.path_of(KEY));
            return Err(t.problem(KEY, message).with_allowed("each objective once"));
        }
        out.push(found);
    }
    if out.len() < 2 {
        let message = format!("`{}` has one entry: there is nothing to trade off", t.path_of(KEY));
        return Err(t.problem(KEY, message).with_allowed(format!("two to four of {}", list(names()))));
    }
    Ok(out)
}

fn bounds(t: &Table<'_>, notes: &mut Notes) -> Result<Vec<Bound>, Problem> {
    let Some(limits) = t.table("limits", &SIZING_LIMITS)? else { return Ok(Vec::new()) };
    let mut out = Vec::new();
    for objective in Objective::ALL {
        if let Some(value) = limits.number(objective.key())? {
            let (low, high) = objective.bounds();
            let value = limits.ranged(within(objective.key(), value, low, high, ""))?;
            out.push(Bound { objective, value });
        }
    }
    limits.report(
        &mut notes.resolved,
        &Objective::ALL.map(Objective::key).into_iter().filter(|k| !limits.has(k)).collect::<Vec<_>>(),
    );
    Ok(out)
}

fn space(settings: &SizingSettings, step: &Step) -> Result<DesignSpace, RangeError> {
    let mut base = Design::new(step.setup.clone(), Working { feed: step.feed, overlap: step.overlap.max(0.0) })?;
    if let Some(kg) = settings.balanced_pad_kg {
        base = base.with(Variable::BalancedMass, kg)?;
    }
    DesignSpace::new(base, settings.ranges.clone())
}

/// The task of sizing the tool of `step`, as a job asks for it.
///
/// # Errors
/// As [`DesignSpace::new`].
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, sizing_task};
/// use trochoid::spin::StallSettings;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let text = format!("{STARTER}\n[sizing]\npanels = [\"door\"]\nthrow_mm = [6.0, 24.0]\n");
/// let job = Job::parse("sizing.toml", &text)?;
/// let sizing = job.sizing.as_ref().expect("the job asks for it");
/// let task = sizing_task(sizing, &job.steps[0], &StallSettings::default())?;
/// // The middle of the range is a throw of 15 mm; one panel has the whole work.
/// assert!((task.space.values(&[0.5])[0] - 15.0).abs() < 1e-9);
/// assert!((task.duty.fleet.panels()[0].share - 1.0).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
pub fn sizing_task(sizing: &SizingSettings, step: &Step, settings: &StallSettings) -> Result<SizingTask, RangeError> {
    Ok(SizingTask {
        space: space(sizing, step)?,
        duty: Duty {
            fleet: sizing.fleet.clone(),
            enough_margin_per_m: sizing.enough_margin_per_m,
            target_cut: sizing.target_cut,
            substrate: step.paint.substrate(),
            settings: *settings,
        },
        objectives: sizing.objectives.clone(),
        bounds: sizing.bounds.clone(),
        search: sizing.search,
        sensitivity_rows: sizing.sensitivity_rows,
    })
}
