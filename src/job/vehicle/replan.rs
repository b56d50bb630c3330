//! What was done already: fixed in the plan, its cut in the account of the paint, and what it changed.

use super::Done;
use super::plan::{Base, VehiclePlan, ZoneStep};
use super::work::pairing_number;
use crate::Error;
use crate::error::RangeError;
use crate::job::account::{marks, pressure};
use crate::plan::PaintStep;
use crate::plan::vehicle::Phase;
use crate::units::Time;
use std::collections::BTreeSet;

/// What was done before a plan.
#[derive(Debug, Clone, Default)]
pub(super) struct Past {
    /// Cuts made on each zone.
    pub(super) steps: Vec<Vec<PaintStep>>,
    /// Whether each zone is cut, and whether it is refined.
    pub(super) phases: Vec<(bool, bool)>,
    /// The same of each zone in words.
    pub(super) words: Vec<Vec<String>>,
    /// Time spent, in words and in seconds.
    pub(super) spent: Vec<(String, Time)>,
    /// Panels that were begun.
    pub(super) panels: BTreeSet<usize>,
    /// Time that the work takes over the time planned, as seen so far.
    pub(super) pace: f64,
    /// What the readings told.
    pub(super) readings: Vec<String>,
}

impl Past {
    /// Nothing done on so many zones.
    pub(super) fn nothing(zones: usize) -> Self {
        Self {
            steps: vec![Vec::new(); zones],
            phases: vec![(false, false); zones],
            words: vec![Vec::new(); zones],
            pace: 1.0,
            ..Self::default()
        }
    }
}

/// Steps of the first plan that an entry speaks of.
fn spoken_of<'p>(done: &Done, first: &'p VehiclePlan) -> Vec<&'p ZoneStep> {
    let zone = |s: &ZoneStep| {
        let z = &first.zones[s.zone];
        z.panel_name == done.panel && done.zone.as_ref().is_none_or(|n| *n == z.name)
    };
    first.steps.iter().filter(|s| zone(s) && done.phase.is_none_or(|p| p == s.phase)).collect()
}

/// Makes the past of the entries, against the plan as it was.
pub(super) fn past(base: &Base<'_>, first: &VehiclePlan) -> Result<Past, Error> {
    let mut out = Past::nothing(base.zones.len());
    let (mut taken, mut planned) = (0.0, 0.0);
    for done in &base.vehicle.done {
        let of_panel: Vec<usize> = (0..first.zones.len())
            .filter(|z| {
                let z = &first.zones[*z];
                z.panel_name == done.panel && done.zone.as_ref().is_none_or(|n| *n == z.name)
            })
            .collect();
        if of_panel.is_empty() {
            let names: Vec<&str> =
                first.zones.iter().filter(|z| z.panel_name == done.panel).map(|z| z.name.as_str()).collect();
            return Err(RangeError::new(
                "done.zone",
                0.0,
                "",
                format!("one of the zones of the panel: {}", names.join(", ")),
            )
            .into());
        }
        for z in &of_panel {
            let phases = &mut out.phases[*z];
            phases.0 |= done.phase.is_none_or(|p| p == Phase::Cut);
            phases.1 |= done.phase.is_none_or(|p| p == Phase::Refine);
            out.panels.insert(first.zones[*z].panel);
        }
        let steps = spoken_of(done, first);
        let as_planned: f64 = steps.iter().map(|s| s.time.s()).sum();
        let time = done.time.map_or(as_planned, Time::s);
        if done.time.is_some() && as_planned > 0.0 {
            taken += time;
            planned += as_planned;
        }
        let words = format!(
            "{}{}{}",
            done.panel,
            done.zone.as_ref().map_or(String::new(), |z| format!(": {z}")),
            done.phase.map_or(String::new(), |p| format!(", {}", p.word()))
        );
        out.spent.push((words.clone(), Time::from_s(time)));
        let scale: Vec<(usize, PaintStep)> =
            steps.iter().map(|s| Ok((s.zone, cut_of(base, s, done.passes)?))).collect::<Result<_, Error>>()?;
        let predicted: f64 = mean_over_zones(&scale, &of_panel, base);
        for (zone, step) in &scale {
            let made = match done.reading {
                Some(r) => {
                    let removed = r.before.0.m() - r.now.m();
                    let sd = r.before.1.m().hypot(r.uncertainty.m());
                    read(step, predicted, removed, sd)
                }
                None => step.clone(),
            };
            out.words[*zone].push(format!("{} done, {:.1} µm taken", made.name, made.cut_m * 1e6));
            out.steps[*zone].push(made);
        }
        if let Some(r) = done.reading {
            out.readings.push(format!(
                "{words}: the film went from {:.1} to {:.1} µm, {:.1} µm less, where {:.1} µm were planned",
                r.before.0.um(),
                r.now.um(),
                r.before.0.um() - r.now.um(),
                predicted * 1e6
            ));
        }
    }
    if planned > 0.0 && taken > 0.0 {
        out.pace = taken / planned;
    }
    Ok(out)
}

/// The cut of a planned step with the passes that were done of it.
fn cut_of(base: &Base<'_>, s: &ZoneStep, passes: Option<usize>) -> Result<PaintStep, Error> {
    let cut = s.plan.cut.map_or(s.plan.state.cut_per_pass_m * s.plan.passes as f64, |c| c.mean);
    let share = passes.map_or(1.0, |n| n as f64 / s.plan.passes.max(1) as f64);
    let sd = s.step.pairing.preston_rel_sd();
    let job = base.job;
    let index = |pad: &str, product: &str| {
        let at = |found: Option<usize>| found.unwrap_or(0);
        (at(job.pads.iter().position(|p| p.name == pad)), at(job.products.iter().position(|p| p.name == product)))
    };
    let (pad, product) = index(&s.step.pad_name, &s.step.product_name);
    Ok(PaintStep {
        name: s.phase.word().to_owned(),
        cut_m: cut * share,
        ln_sd: (sd * sd).ln_1p().sqrt(),
        pairing: pairing_number(job, s.step.paint_name.as_deref(), pad, product),
        marks: marks(&s.step, pressure(&s.plan))?,
    })
}

/// Cut of the entries summed up on each zone and averaged over the zones by their area, m.
fn mean_over_zones(steps: &[(usize, PaintStep)], zones: &[usize], base: &Base<'_>) -> f64 {
    let area: f64 = zones.iter().map(|z| base.zones[*z].area_m2).sum();
    steps.iter().map(|(z, s)| s.cut_m * base.zones[*z].area_m2).sum::<f64>() / area.max(f64::MIN_POSITIVE)
}

/// A planned cut as the film readings show it: scaled to what was removed and spread as far as the
/// readings are uncertain; as planned where they cannot tell it from nothing.
fn read(step: &PaintStep, predicted: f64, removed: f64, sd: f64) -> PaintStep {
    if predicted <= 0.0 || removed <= sd {
        return step.clone();
    }
    let relative = sd / removed;
    PaintStep { cut_m: step.cut_m * removed / predicted, ln_sd: (relative * relative).ln_1p().sqrt(), ..step.clone() }
}

/// What was planned before and is planned differently now, in words.
pub(super) fn changes(first: &VehiclePlan, second: &VehiclePlan, past: &Past) -> Vec<String> {
    let mut out = past.readings.clone();
    let min = |t: Time| t.s() / 60.0;
    if (past.pace - 1.0).abs() > 0.02 {
        let how = if past.pace > 1.0 { "longer" } else { "shorter" };
        out.push(format!(
            "what is done took {:.0} % {how} than planned: the work that is left is timed at that pace",
            100.0 * (past.pace - 1.0).abs()
        ));
    }
    for (zone, z) in second.zones.iter().enumerate() {
        for phase in [Phase::Cut, Phase::Refine] {
            let done = if phase == Phase::Cut { past.phases[zone].0 } else { past.phases[zone].1 };
            if done {
                continue;
            }
            let of = |p: &VehiclePlan| p.steps.iter().find(|s| s.zone == zone && s.phase == phase).cloned();
            let word = phase.word();
            match (of(first), of(second)) {
                (Some(a), Some(b)) => {
                    let kit = |s: &ZoneStep| {
                        format!("{} with {} and {}", s.step.tool_name, s.step.pad_name, s.step.product_name)
                    };
                    if kit(&a) != kit(&b) {
                        out.push(format!("{}, {word}: now {} instead of {}", z.label, kit(&b), kit(&a)));
                    } else if a.plan.passes != b.plan.passes {
                        out.push(format!("{}, {word}: {} passes instead of {}", z.label, b.plan.passes, a.plan.passes));
                    }
                }
                (Some(_), None) => out.push(format!("{}, {word}: left out now", z.label)),
                (None, Some(b)) => out.push(format!("{}, {word}: added, {} passes", z.label, b.plan.passes)),
                (None, None) => {}
            }
        }
        if first.zones[zone].reaches && !z.reaches {
            out.push(format!("{}: no longer reaches what is wanted", z.label));
        }
    }
    out.push(format!(
        "{:.0} min in all instead of {:.0}, {} instead of {}",
        min(second.trace.total()),
        min(first.trace.total()),
        days(second.trace.days()),
        days(first.trace.days())
    ));
    out
}

fn days(n: usize) -> String {
    if n == 1 { "1 day".to_owned() } else { format!("{n} days") }
}
