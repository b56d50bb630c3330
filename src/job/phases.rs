//! `[[step.phase]]`: the phases of a step.

use super::equipment::Notes;
use super::file::{Found, check_name};
use super::keys::PHASE;
use super::model::StepPhase;
use super::panel::Described;
use super::problem::{Problem, one_line};
use super::reader::{Table, segment};
use super::resolve::{carries, press_if_given, rate_if_given};
use crate::equipment::{Tool, within};
use crate::plan::{MOST_PHASES, Phase};
use crate::spin::Setup;
use crate::units::{Force, Speed};

/// What a step says of itself that its phases fall back on.
pub(super) struct Whole<'s, 'a> {
    pub(super) setup: &'s Setup,
    pub(super) tool: &'s Found<'a, Tool>,
    pub(super) panel: &'s Found<'a, Described>,
    pub(super) hand_force_n: Option<f64>,
    pub(super) speed_setting: Option<f64>,
    pub(super) pattern: &'static str,
}

/// The phases of a step, and its passes.
pub(super) fn phases(
    t: &Table<'_>,
    whole: &Whole<'_, '_>,
    notes: &mut Notes,
) -> Result<(Vec<StepPhase>, usize), Problem> {
    let passes = if t.has("passes") { Some(t.need_whole("passes", 1, 1000)?) } else { None };
    let expected = "phases headed [[step.phase]]";
    let Some(items) = t.array("phase", expected).map_err(|p| p.with_help("in double brackets, below its [[step]]"))?
    else {
        return match passes {
            Some(n) => Ok((Vec::new(), n)),
            None => Err(t.missing("passes", "; phases with passes of their own may stand in its place")),
        };
    };
    if items.len() < 2 || items.len() > MOST_PHASES {
        let one = if items.len() == 1 { "write the settings of a single phase into the step itself" } else { expected };
        return Err(t
            .problem("phase", format!("[{}] has {} phases", t.path, items.len()))
            .with_allowed(format!("2 to {MOST_PHASES}, or none"))
            .with_help(one));
    }
    if whole.pattern == "file" {
        return Err(t
            .problem("phase", "a path from a file is worked once as it stands, so it has no phases")
            .with_allowed("with a pattern of passes only"));
    }
    let mut out: Vec<StepPhase> = Vec::with_capacity(items.len());
    let mut marked = false;
    for (number, item) in items.iter().enumerate() {
        // A table in an array has no key of its own to point at.
        let path = format!("{}.phase#{}", t.path, number + 1);
        let mut p = Table::open(t.source, &PHASE, path, &item.span(), item)?;
        let name = p.need_text("name")?;
        if let Err(why) = check_name(name) {
            return Err(p.problem("name", "a phase cannot have this name").with_allowed(why));
        }
        p.path = format!("{}.phase.{}", t.path, segment(name));
        if out.iter().any(|o| o.phase.name == name) {
            return Err(p
                .problem("name", format!("two phases of this step are named \"{}\"", one_line(name)))
                .with_allowed("a name of its own for every phase of a step"));
        }
        let phase = phase(&p, name, whole, notes)?;
        if phase.phase.repeat && marked {
            return Err(p
                .problem("repeat", "another phase of this step is marked to be repeated already")
                .with_allowed("true for at most one phase"));
        }
        marked |= phase.phase.repeat;
        if phase.phase.repeat && !t.has("target_cut_um") {
            notes.warnings.push(p.warning("repeat", "has no effect on the plan without target_cut_um"));
        }
        out.push(phase);
    }
    let sum: usize = out.iter().map(|p| p.phase.passes).sum();
    if let Some(n) = passes.filter(|n| *n != sum) {
        return Err(t
            .problem("passes", format!("`{}` = {n}, but the phases have {sum} passes together", t.path_of("passes")))
            .with_allowed(format!("{sum}, or left out"))
            .with_help("the passes of a step with phases are those of its phases"));
    }
    if sum > 1000 {
        return Err(t
            .problem("phase", format!("the phases have {sum} passes together"))
            .with_allowed("at most 1000 passes in a step"));
    }
    Ok((out, sum))
}

fn phase(t: &Table<'_>, name: &str, whole: &Whole<'_, '_>, notes: &mut Notes) -> Result<StepPhase, Problem> {
    let passes = t.need_whole("passes", 1, 1000)?;
    let repeat = t.flag("repeat")?.unwrap_or(false);
    let mut skip = Vec::new();
    let rated = rate_if_given(t, whole.tool, notes, &mut skip)?;
    let press = press_if_given(t, whole.tool, whole.panel)?;
    let feed = match t.number("feed_mm_s")? {
        Some(v) => Some(Speed::from_mm_s(t.ranged(within("feed_mm_s", v, 0.1, 10_000.0, "mm/s"))?)),
        None => None,
    };
    if let Some(press) = &press {
        skip.push("force_n");
        let pressed = t.ranged(whole.setup.clone().at_force(Force::from_n(press.force)))?;
        carries(t, press.key, &pressed)?;
    }
    skip.retain(|k| !t.has(k));
    t.report(&mut notes.resolved, &skip);
    Ok(StepPhase {
        hand_force_n: press.as_ref().map_or(whole.hand_force_n, |p| p.hand),
        speed_setting: rated.as_ref().map_or(whole.speed_setting, |r| r.1),
        phase: Phase {
            repeat,
            rate: rated.map(|(tool, _)| tool.rate()),
            force: press.map(|p| Force::from_n(p.force)),
            feed,
            ..Phase::new(name, passes)
        },
    })
}
