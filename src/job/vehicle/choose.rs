//! Kits and settings of every zone, before anything is mapped.

use super::Vehicle;
use super::read::fits;
use super::zones::Zone;
use crate::Error;
use crate::budget::ClearCoat;
use crate::error::RangeError;
use crate::finish::{CLEAR_COAT_INDEX, Surface, Verdict, refine_decision};
use crate::job::model::Job;
use crate::math::distribution::LogNormal;
use crate::math::reduce::map_indexed;
use crate::plan::PaintStep;
use crate::plan::vehicle::{
    Goal, Grid, KitCosts, KitOnPaint, PassWork, Phase, Room, Setting, Tried, ZoneTask, choose_kits, cut_options,
    goal_of, refine_options, settings_on,
};

/// A tool with a pad and a product: indices into the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Kit {
    pub(super) tool: usize,
    pub(super) pad: usize,
    pub(super) product: usize,
}

/// What was chosen for a zone: the kit and its work.
#[derive(Debug, Clone, Default)]
pub(super) struct Chosen {
    pub(super) cut: Option<(usize, PassWork)>,
    pub(super) refine: Option<(usize, PassWork)>,
    /// Whether haze would show and nothing takes it away.
    pub(super) haze_stays: bool,
}

impl Chosen {
    pub(super) fn of(&self, phase: Phase) -> Option<&(usize, PassWork)> {
        match phase {
            Phase::Cut => self.cut.as_ref(),
            Phase::Refine => self.refine.as_ref(),
        }
    }

    pub(super) fn of_mut(&mut self, phase: Phase) -> &mut Option<(usize, PassWork)> {
        match phase {
            Phase::Cut => &mut self.cut,
            Phase::Refine => &mut self.refine,
        }
    }
}

/// Every kit of which the pad goes on the tool.
pub(super) fn kits(job: &Job, vehicle: &Vehicle) -> Vec<Kit> {
    let mut out = Vec::new();
    for (tool, t) in job.tools.iter().enumerate() {
        for (pad, p) in job.pads.iter().enumerate() {
            if !fits(vehicle.pad_ranges[tool], t.item.throw(), p.item.diameter()) {
                continue;
            }
            out.extend((0..job.products.len()).map(|product| Kit { tool, pad, product }));
        }
    }
    out
}

/// How the kits work on a paint.
fn kits_on(
    job: &Job,
    vehicle: &Vehicle,
    kits: &[Kit],
    paint: Option<&str>,
    drag: &dyn Fn(&str) -> (f64, f64),
) -> Vec<Option<KitOnPaint>> {
    kits.iter()
        .map(|k| {
            let (tool, pad, product) = (&job.tools[k.tool], &job.pads[k.pad], &job.products[k.product]);
            Some(KitOnPaint {
                tool: tool.item.clone(),
                pad: pad.item.clone(),
                pairing: job.pairing(&pad.name, &product.name, paint)?,
                grain: vehicle.products[k.product].grain.map(|g| (g, vehicle.pads[k.pad].face)),
                drag_range: drag(&tool.name),
            })
        })
        .collect()
}

/// The task of each zone.
pub(super) fn zone_tasks(
    job: &Job,
    vehicle: &Vehicle,
    kits: &[Kit],
    zones: &[Zone],
    clears: &[ClearCoat],
    done: &[Vec<PaintStep>],
    drag: &dyn Fn(&str) -> (f64, f64),
) -> Vec<ZoneTask> {
    let mut by_paint: Vec<(Option<&str>, Vec<Option<KitOnPaint>>)> = Vec::new();
    zones
        .iter()
        .zip(done)
        .map(|(zone, done)| {
            let panel = &vehicle.panels[zone.panel];
            let paint = panel.paint_name.as_deref();
            if !by_paint.iter().any(|(p, _)| *p == paint) {
                by_paint.push((paint, kits_on(job, vehicle, kits, paint, drag)));
            }
            let kits = by_paint.iter().find(|(p, _)| *p == paint).map_or_else(Vec::new, |(_, k)| k.clone());
            ZoneTask {
                patch: zone.patch,
                size_m: zone.size_m,
                paint: panel.paint,
                clear: clears[zone.panel],
                policy: job.budget.policy,
                defects: panel.defects.clone(),
                kits,
                most_power_w: None,
                done: done.clone(),
            }
        })
        .collect()
}

/// Index of the first task that is the same, for each.
pub(super) fn same_as(tasks: &[ZoneTask], also: impl Fn(usize, usize) -> bool) -> Vec<usize> {
    (0..tasks.len()).map(|i| (0..i).find(|j| tasks[*j] == tasks[i] && also(*j, i)).unwrap_or(i)).collect()
}

/// The grid of every kit on every zone.
pub(super) fn try_settings(vehicle: &Vehicle, tasks: &[ZoneTask], goal: &Goal) -> Result<Vec<Vec<Tried>>, Error> {
    let kits = tasks.first().map_or(0, |t| t.kits.len());
    // What a pad does depends on the shape and the pairing, not on the size of the zone.
    let alike = |a: &ZoneTask, b: &ZoneTask| a.patch == b.patch && a.kits == b.kits;
    let first: Vec<usize> =
        (0..tasks.len()).map(|i| (0..i).find(|j| alike(&tasks[*j], &tasks[i])).unwrap_or(i)).collect();
    let own: Vec<usize> = (0..tasks.len()).filter(|i| first[*i] == *i).collect();
    let tried = map_indexed(own.len() * kits, |n| {
        let (task, k) = (&tasks[own[n / kits]], n % kits);
        match &task.kits[k] {
            Some(kit) => settings_on(kit, &task.patch, &vehicle.operator, &Grid::default(), goal.useful_spin),
            None => Ok(Tried { settings: Vec::new(), nearest: None }),
        }
    });
    let mut tried = tried.into_iter();
    let mut of_own = Vec::with_capacity(own.len());
    for _ in &own {
        of_own.push(tried.by_ref().take(kits).collect::<Result<Vec<Tried>, Error>>()?);
    }
    Ok(first.iter().map(|f| own.iter().position(|o| o == f).map_or_else(Vec::new, |at| of_own[at].clone())).collect())
}

/// An ordinary mean pressure on a face, Pa.
const ORDINARY_PA: f64 = 3000.0;

/// The surface that a zone has before the next step; for refining alone, the marks of the coarsest
/// product at hand (assumed).
pub(super) fn surface_before(
    task: &ZoneTask,
    cut: Option<&PassWork>,
    refine_only: bool,
) -> Result<Surface, RangeError> {
    let mut surface = Surface::smooth();
    if refine_only && task.done.is_empty() {
        let coarsest = task.kits.iter().flatten().filter(|k| k.grain.is_some()).max_by(|a, b| {
            let grain = |k: &KitOnPaint| k.grain.map_or(0.0, |(g, _)| g.m());
            grain(a).total_cmp(&grain(b))
        });
        if let Some(marks) = coarsest.map(|k| k.marks(ORDINARY_PA, &task.paint)).transpose()?.flatten() {
            surface = Surface::marked(marks);
        }
    }
    for s in &task.done {
        if let Some(marks) = s.marks.filter(|_| s.cut_m > 0.0) {
            surface = surface.worked(marks, LogNormal::new(s.cut_m, s.ln_sd)?);
        }
    }
    if let Some(w) = cut
        && let Some(marks) = w.marks
    {
        surface = surface.worked(marks, LogNormal::new(w.cut_m, w.ln_sd)?);
    }
    Ok(surface)
}

/// Whether haze shows on a surface, or may.
fn haze_shows(task: &ZoneTask, surface: &Surface, confidence: f64) -> Result<bool, RangeError> {
    Ok(refine_decision(surface, &task.paint, CLEAR_COAT_INDEX, confidence, None)?.verdict != Verdict::Leave)
}

/// Cutting options whose refining is looked at before kits are chosen.
const LOOKED_AT: usize = 6;

struct Choice<'a> {
    vehicle: &'a Vehicle,
    goal: &'a Goal,
    tasks: &'a [ZoneTask],
    settings: &'a [Vec<Vec<Setting>>],
    /// Few settings each, for a first look at refining.
    few: Vec<Vec<Vec<Setting>>>,
}

/// The gentlest half of the forces at the highest rates: how refining is done.
fn gentle(all: &[Setting]) -> Vec<Setting> {
    let mut out = all.to_vec();
    out.sort_by(|a, b| a.force_n.total_cmp(&b.force_n).then(b.rate.total_cmp(&a.rate)));
    out.truncate(out.len().div_ceil(2).min(4));
    out
}

impl Choice<'_> {
    /// Options of refining a zone after a cut; `None` where no haze would show. `few` takes a first look
    /// only, as if the cut itself took no paint from the budget.
    fn refine(
        &self,
        i: usize,
        cut: Option<&PassWork>,
        few: bool,
        room: &mut Room,
    ) -> Result<Option<Vec<Option<PassWork>>>, RangeError> {
        let (task, v) = (&self.tasks[i], self.vehicle);
        let before = surface_before(task, cut, !v.finish.corrects())?;
        if !haze_shows(task, &before, self.goal.confidence)? {
            return Ok(None);
        }
        let mut spent = task.done.clone();
        spent.extend(cut.filter(|_| !few).map(|w| w.paint_step("cut", usize::MAX)));
        let (grid, settings) = if few {
            (Grid { feeds: 1, ..Grid::default() }, &self.few[i])
        } else {
            (Grid::default(), &self.settings[i])
        };
        refine_options(task, self.goal, &v.operator, &grid, settings, &before, &spent, room).map(Some)
    }

    /// Options of cutting a zone, their cost with the refining that they make necessary.
    fn cut(&self, i: usize, refines: bool) -> Result<Vec<Option<PassWork>>, RangeError> {
        let (task, v) = (&self.tasks[i], self.vehicle);
        let mut room = Room::default();
        let options = |reserve: f64, room: &mut Room| {
            cut_options(task, self.goal, &v.operator, &Grid::default(), &self.settings[i], reserve, room)
        };
        let mut found = options(0.0, &mut room)?;
        if !refines {
            return Ok(found);
        }
        let cheapest = |o: &[Option<PassWork>]| {
            o.iter().flatten().min_by(|a, b| a.cost_s.total_cmp(&b.cost_s)).map(|w| (w.cost_s, w.cut_m))
        };
        // Leave the paint that refining will take.
        let first = found.iter().flatten().min_by(|a, b| a.cost_s.total_cmp(&b.cost_s)).cloned();
        if let Some(first) = first {
            let reserve = match self.refine(i, Some(&first), true, &mut room)? {
                Some(o) => cheapest(&o).map_or(0.0, |c| c.1),
                None => 0.0,
            };
            if reserve > 0.0 {
                found = options(reserve, &mut room)?;
            }
        }
        let mut order: Vec<usize> = (0..found.len()).filter(|k| found[*k].is_some()).collect();
        let cost = |k: &usize| found[*k].as_ref().map_or(f64::INFINITY, |w| w.cost_s);
        order.sort_by(|a, b| cost(a).total_cmp(&cost(b)));
        let mut last = 0.0;
        let mut more = vec![0.0; found.len()];
        for (n, k) in order.iter().enumerate() {
            if n < LOOKED_AT {
                last = match self.refine(i, found[*k].as_ref(), true, &mut room)? {
                    Some(o) => cheapest(&o).map_or(0.0, |c| c.0),
                    None => 0.0,
                };
            }
            more[*k] = last;
        }
        for (w, m) in found.iter_mut().zip(more) {
            if let Some(w) = w {
                w.cost_s += m;
            }
        }
        Ok(found)
    }
}

/// What is still to be done on each zone: cut, refine.
pub(super) type ToDo = Vec<(bool, bool)>;

/// Chooses kits and settings for all zones.
pub(super) fn choose(
    vehicle: &Vehicle,
    goal: &Goal,
    kits: &[Kit],
    tasks: &[ZoneTask],
    tried: &[Vec<Tried>],
    to_do: &ToDo,
) -> Result<Vec<Chosen>, Error> {
    let settings: Vec<Vec<Vec<Setting>>> =
        tried.iter().map(|z| z.iter().map(|t| t.settings.clone()).collect()).collect();
    let few = settings.iter().map(|z| z.iter().map(|s| gentle(s)).collect()).collect();
    let choice = Choice { vehicle, goal, tasks, settings: &settings, few };
    let first = same_as(tasks, |a, b| to_do[a] == to_do[b]);
    let own: Vec<usize> = (0..tasks.len()).filter(|i| first[*i] == *i).collect();
    let of = |made: Vec<Vec<Option<PassWork>>>| -> Vec<Vec<Option<PassWork>>> {
        first.iter().map(|f| own.iter().position(|o| o == f).map_or_else(Vec::new, |at| made[at].clone())).collect()
    };
    let cuts = map_indexed(own.len(), |n| {
        let i = own[n];
        if to_do[i].0 && goal_of(&tasks[i], goal)?.is_some() {
            choice.cut(i, to_do[i].1)
        } else {
            Ok(vec![None; kits.len()])
        }
    });
    let cuts = of(cuts.into_iter().collect::<Result<_, RangeError>>()?);
    let cut_kits = choose_kits(&costs(vehicle, kits, &cuts, &[]));
    let mut out: Vec<Chosen> = cuts
        .into_iter()
        .zip(&cut_kits)
        .map(|(mut options, kit)| Chosen {
            cut: kit.and_then(|k| options[k].take().map(|w| (k, w))),
            ..Chosen::default()
        })
        .collect();
    // The same zone may be cut with different kits only where another choice of kits made it cheaper:
    // refining looks at each zone by itself.
    let refines = map_indexed(tasks.len(), |i| {
        if to_do[i].1 {
            choice.refine(i, out[i].cut.as_ref().map(|c| &c.1), false, &mut Room::default())
        } else {
            Ok(None)
        }
    });
    let refines: Vec<Option<Vec<Option<PassWork>>>> = refines.into_iter().collect::<Result<_, RangeError>>()?;
    let options: Vec<Vec<Option<PassWork>>> =
        refines.iter().map(|r| r.clone().unwrap_or_else(|| vec![None; kits.len()])).collect();
    let in_use: Vec<usize> = cut_kits.iter().flatten().copied().collect();
    let chosen = choose_kits(&costs(vehicle, kits, &options, &in_use));
    for (i, mut o) in options.into_iter().enumerate() {
        out[i].refine = chosen[i].and_then(|k| o[k].take().map(|w| (k, w)));
        let fine = out[i].refine.as_ref().is_some_and(|(_, w)| w.short.is_none());
        out[i].haze_stays = refines[i].is_some() && !fine;
    }
    Ok(out)
}

/// Time to prime a pad and to wash it afterwards, which every kit in use takes once, s.
const PRIME_AND_WASH_S: f64 = 150.0;

/// Costs of the kits: what is in use already costs nothing to open.
fn costs(vehicle: &Vehicle, kits: &[Kit], options: &[Vec<Option<PassWork>>], in_use: &[usize]) -> KitCosts {
    let open = |k: usize| if in_use.contains(&k) { 0.0 } else { vehicle.times.pad_swap.s() + PRIME_AND_WASH_S };
    KitCosts {
        work_s: options.iter().map(|z| z.iter().map(|o| o.as_ref().map(|w| w.cost_s)).collect()).collect(),
        open_s: (0..kits.len()).map(open).collect(),
        tool: kits.iter().map(|k| k.tool).collect(),
        tool_s: vehicle.times.tool_swap.s(),
    }
}
