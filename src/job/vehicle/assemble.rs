//! From what was chosen and mapped to the plan: order, pads, minutes, the account of each zone.

use super::choose::{Chosen, Kit};
use super::pads::{KindOfPad, pads_at_hand};
use super::plan::{Base, EdgePasses, Uncorrectable, VehiclePlan, ZonePlan, ZoneStep};
use super::replan::Past;
use super::work::{Made, Shop, Worked, paint_step};
use crate::Error;
use crate::budget::ClearCoat;
use crate::error::RangeError;
use crate::finish::{Advice, Measure, correction, visible_depth};
use crate::math::distribution::normal_quantile;
use crate::math::reduce::map_indexed;
use crate::plan::vehicle::{
    Group, Minute, PassWork, Phase, TimeTrace, TraceEntry, Tried, ZoneTask, goal_of, naive_order, order_groups,
    over_probability, swaps_of,
};
use crate::plan::{
    HandArmDose, Limit, PaintAccount, PaintStep, PaintTask, VibrationTask, hand_arm_dose, paint_account,
};
use crate::spin::{AtHand, Setup, remedies};
use crate::units::{AngularRate, Area, Force, Length, Time, Volume};

/// Puts a plan together.
pub(super) fn assemble(
    base: &Base<'_>,
    shop: &Shop<'_>,
    tasks: &[ZoneTask],
    tried: &[Vec<Tried>],
    chosen: &[Chosen],
    made: &Made,
    past: &Past,
) -> Result<VehiclePlan, Error> {
    let vehicle = base.vehicle;
    // Groups in the order in which panels first need them.
    let group = |phase: Phase, kit: usize| Group { tool: shop.kits[kit].tool, kit, phase };
    let mut groups: Vec<Group> = Vec::new();
    let mut visits = Vec::new();
    for c in chosen {
        for phase in [Phase::Cut, Phase::Refine] {
            let Some((kit, _)) = c.of(phase) else { continue };
            let g = group(phase, *kit);
            let at = groups.iter().position(|o| *o == g).unwrap_or_else(|| {
                groups.push(g);
                groups.len() - 1
            });
            visits.push(at);
        }
    }
    let order = order_groups(&groups, vehicle.times.tool_swap, vehicle.times.pad_swap);
    let naive = naive_order(&groups, &visits, vehicle.times.tool_swap, vehicle.times.pad_swap);
    let swaps = swaps_of(order.sequence.iter().map(|g| groups[*g]));

    // Steps in that order, panels in the order of the file.
    let mut works: Vec<Worked> = Vec::new();
    let mut about: Vec<(usize, Phase, usize, (bool, bool))> = Vec::new();
    for (g, swap) in order.sequence.iter().zip(&swaps) {
        let mut swap = *swap;
        for (zone, c) in chosen.iter().enumerate() {
            let Some((kit, _)) = c.of(groups[*g].phase) else { continue };
            if *kit != groups[*g].kit {
                continue;
            }
            if let Some(w) = shop.worked((zone, groups[*g].phase), chosen, made)? {
                works.push(w);
                about.push((zone, groups[*g].phase, *kit, swap));
                swap = (false, false);
            }
        }
    }
    let pads = pads_at_hand(base.job, vehicle, &works)?;
    let trace = minutes(base, shop, &works, &about, &pads.handling, &pads.kinds, past);

    let mut steps = Vec::with_capacity(works.len());
    for (i, (w, (zone, phase, _, swaps))) in works.into_iter().zip(about.iter().copied()).enumerate() {
        let own = trace.entries().iter().find(|e| e.step == Some(i));
        let core = pads.kind_of[i].and_then(|k| pads.kinds[k].hottest);
        steps.push(ZoneStep {
            zone,
            phase,
            step: w.step,
            task: w.task,
            plan: w.plan,
            core: core.or(w.heat.as_ref().map(|h| h.core_after_section)),
            heat: w.heat,
            swaps,
            day: own.map_or(0, |e| e.day),
            start: Time::from_s(own.map_or(0.0, |e| e.start_s)),
            time: trace.of_step(i),
        });
    }
    let mut zones = Vec::with_capacity(tasks.len());
    let mut uncorrectable: Vec<Uncorrectable> = Vec::new();
    let paints = map_indexed(tasks.len(), |zone| paint_of_zone(base, shop, zone, &tasks[zone], &chosen[zone], &steps));
    for (zone, paint) in paints.into_iter().enumerate() {
        let made = account(base, zone, &tasks[zone], &tried[zone], &chosen[zone], paint?, &mut steps, past)?;
        for u in not_mended(&made, &tasks[zone]) {
            if !uncorrectable.iter().any(|o| o.panel == u.panel && o.defect == u.defect) {
                uncorrectable.push(u);
            }
        }
        zones.push(made);
    }
    let products = products(&pads.kinds);
    let masking = Length::from_m(worked_panels(&about, base).iter().map(|p| masking_m(base, *p)).sum());
    let (tool_hours, a8) = exposure(base, &trace)?;
    Ok(VehiclePlan {
        zones,
        steps,
        order,
        naive,
        trace,
        pads,
        products,
        masking,
        tool_hours,
        a8,
        uncorrectable,
        changes: Vec::new(),
    })
}

/// Panels that are worked, in file order.
fn worked_panels(about: &[(usize, Phase, usize, (bool, bool))], base: &Base<'_>) -> Vec<usize> {
    let mut out: Vec<usize> = about.iter().map(|a| base.zones[a.0].panel).collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// Edge of a panel to be taped, m.
fn masking_m(base: &Base<'_>, panel: usize) -> f64 {
    let p = &base.vehicle.panels[panel];
    p.masking.map_or_else(|| 2.0 * (p.panel.length().m() + p.panel.width().m()), Length::m)
}

/// The trace: what was done, masking, the steps with what belongs to them, washing.
fn minutes(
    base: &Base<'_>,
    shop: &Shop<'_>,
    works: &[Worked],
    about: &[(usize, Phase, usize, (bool, bool))],
    handling: &[[f64; 3]],
    kinds: &[KindOfPad],
    past: &Past,
) -> TimeTrace {
    let times = &base.vehicle.times;
    let mut trace = TimeTrace::new(times);
    for (words, time) in &past.spent {
        trace.block([TraceEntry::new(Minute::Done, words.clone(), *time)]);
    }
    for panel in worked_panels(about, base) {
        // What was begun is masked already.
        if past.panels.contains(&panel) {
            continue;
        }
        let time = Time::from_s(masking_m(base, panel) * times.masking_per_m.s());
        trace.block([TraceEntry::new(Minute::Masking, base.vehicle.panels[panel].name.clone(), time)]);
    }
    for (i, (w, (_, _, kit, swaps))) in works.iter().zip(about).enumerate() {
        let k: Kit = shop.kits[*kit];
        let sections = w.heat.as_ref().map_or(1, |h| h.sections) as f64;
        let [prime, clean, rest] = handling[i];
        let entry = |minute, about: &str, seconds: f64| {
            let tool = (minute == Minute::Work).then_some(k.tool);
            TraceEntry::new(minute, about, Time::from_s(seconds)).of(i, tool)
        };
        trace.block([
            entry(Minute::ToolSwap, &w.step.tool_name, if swaps.0 { times.tool_swap.s() } else { 0.0 }),
            entry(Minute::PadSwap, &w.step.pad_name, if swaps.1 { times.pad_swap.s() } else { 0.0 }),
            entry(Minute::Prime, &w.step.pad_name, prime),
            entry(Minute::Work, &w.step.name, w.plan.time_s * past.pace),
            entry(Minute::Clean, &w.step.pad_name, clean),
            entry(Minute::Rest, &w.step.pad_name, rest),
            entry(Minute::Wipe, &w.step.panel_name, sections * times.wipe.s()),
            entry(Minute::Inspect, &w.step.panel_name, sections * times.inspect.s()),
        ]);
    }
    for k in kinds {
        let time = Time::from_s(f64::from(k.washes.0) * k.washes.1.s());
        trace.block([TraceEntry::new(Minute::Wash, k.pad.clone(), time)]);
    }
    trace
}

fn products(kinds: &[KindOfPad]) -> Vec<(String, Volume)> {
    let mut out: Vec<(String, Volume)> = Vec::new();
    for k in kinds {
        match out.iter_mut().find(|(n, _)| *n == k.product) {
            Some((_, v)) => *v = Volume::from_ml(v.ml() + k.product_used.ml()),
            None => out.push((k.product.clone(), k.product_used)),
        }
    }
    out
}

/// Time by tool with its name, day by day.
type ToolHours = Vec<(String, Vec<Time>)>;

/// Time by tool and day, and the hand-arm dose of the worst day; none where a tool that is used declares no
/// vibration.
fn exposure(base: &Base<'_>, trace: &TimeTrace) -> Result<(ToolHours, Option<HandArmDose>), RangeError> {
    let tools = &base.job.tools;
    let mut hours = vec![vec![0.0; trace.days()]; tools.len()];
    for e in trace.entries() {
        if let Some(tool) = e.tool {
            hours[tool][e.day] += e.time_s;
        }
    }
    let mut doses = Some(Vec::new());
    for day in 0..trace.days() {
        let used = tools.iter().zip(&hours).filter(|(_, h)| h[day] > 0.0);
        let tasks = used.map(|(t, h)| Some(VibrationTask::new(t.item.vibration()?, Time::from_s(h[day]))));
        let tasks: Option<Result<Vec<_>, _>> = tasks.collect();
        let dose = tasks.map(|t| hand_arm_dose(&t?)).transpose()?;
        doses = doses.zip(dose).map(|(mut all, dose)| {
            all.push(dose);
            all
        });
    }
    let worst = doses.and_then(|all| all.into_iter().max_by(|a, b| a.points.total_cmp(&b.points)));
    let named = tools
        .iter()
        .zip(hours)
        .filter(|(_, h)| h.iter().sum::<f64>() > 0.0)
        .map(|(t, h)| (t.name.clone(), h.into_iter().map(Time::from_s).collect()))
        .collect();
    Ok((named, worst))
}

/// Fewer passes along edges: the rule's share, and fewer still until the thinner film there keeps the
/// confidence.
fn edge(
    base: &Base<'_>,
    zone: usize,
    task: &ZoneTask,
    planned: &[(Phase, usize, PaintStep)],
) -> Result<Option<EdgePasses>, Error> {
    if planned.is_empty() {
        return Ok(None);
    }
    let v = base.vehicle;
    let left = 1.0 - v.panels[base.zones[zone].panel].edge_thinning;
    let thin = ClearCoat::stated(Length::from_m(task.clear.mean_m() * left), Length::from_m(task.clear.sd_m() * left))?;
    let share = |n: usize| base.job.budget.edges.passes(u32::try_from(n).unwrap_or(u32::MAX)) as usize;
    let mut passes: Vec<usize> = planned.iter().map(|p| share(p.1)).collect();
    let over = |passes: &[usize]| -> Result<f64, Error> {
        // What was done before got its share at the edges too.
        let done = task
            .done
            .iter()
            .map(|s| PaintStep { cut_m: s.cut_m * f64::from(base.job.budget.edges.passes(100)) / 100.0, ..s.clone() });
        let own = planned
            .iter()
            .zip(passes)
            .map(|((_, n, s), e)| PaintStep { cut_m: s.cut_m * *e as f64 / (*n).max(1) as f64, ..s.clone() });
        let all: Vec<PaintStep> = done.chain(own).collect();
        Ok(over_probability(&all, &thin, &task.policy)?)
    };
    let mut p = over(&passes)?;
    while p > 1.0 - base.goal.confidence {
        // The cut gives way before the finish.
        let Some(i) = (0..passes.len()).find(|i| passes[*i] > 0) else { break };
        passes[i] -= 1;
        p = over(&passes)?;
    }
    let of = |phase: Phase| planned.iter().zip(&passes).filter(|(s, _)| s.0 == phase).map(|(_, e)| *e).sum();
    Ok(Some(EdgePasses {
        cut: of(Phase::Cut),
        refine: of(Phase::Refine),
        strip: base.job.budget.edges.strip(),
        over_probability: p,
    }))
}

/// The paint of a zone through what was done and what is planned.
struct ZonePaint {
    /// Steps of the plan on the zone.
    own: Vec<usize>,
    /// All cuts, those done first.
    all: Vec<PaintStep>,
    found: PaintAccount,
    over: f64,
    edge: Option<EdgePasses>,
}

/// Follows the paint of a zone.
fn paint_of_zone(
    base: &Base<'_>,
    shop: &Shop<'_>,
    zone: usize,
    task: &ZoneTask,
    chosen: &Chosen,
    steps: &[ZoneStep],
) -> Result<ZonePaint, Error> {
    let own: Vec<usize> = (0..steps.len()).filter(|i| steps[*i].zone == zone).collect();
    let mut planned = Vec::new();
    for i in &own {
        let s = &steps[*i];
        let Some((kit, work)) = chosen.of(s.phase) else { continue };
        planned.push((s.phase, s.plan.passes, paint_step(&s.plan, &s.step.name, work, shop.pairing_of(zone, *kit))));
    }
    let mut all = task.done.clone();
    all.extend(planned.iter().map(|p| p.2.clone()));
    let paint = PaintTask { paint: task.paint, clear: task.clear, policy: task.policy, defects: task.defects.clone() };
    let found = paint_account(&paint, &all)?;
    let over = over_probability(&all, &task.clear, &task.policy)?;
    let edge = edge(base, zone, task, &planned)?;
    Ok(ZonePaint { own, all, found, over, edge })
}

/// The account of a zone.
#[allow(clippy::too_many_arguments)] // one call site; what a zone rests on
fn account(
    base: &Base<'_>,
    zone: usize,
    task: &ZoneTask,
    tried: &[Tried],
    chosen: &Chosen,
    paint: ZonePaint,
    steps: &mut [ZoneStep],
    past: &Past,
) -> Result<ZonePlan, Error> {
    let z = &base.zones[zone];
    let panel = &base.vehicle.panels[z.panel];
    let ZonePaint { own, all, found, over, edge } = paint;
    let may = 1.0 - base.goal.confidence;
    for (n, i) in own.iter().enumerate() {
        let after = found.steps.get(task.done.len() + n).cloned();
        if let Some(a) = &after {
            let plan = &mut steps[*i].plan;
            plan.limits.push(budget_limit(a.over_probability, may));
            plan.limits.sort_by(|a, b| a.margin.total_cmp(&b.margin));
        }
        steps[*i].plan.paint = after;
    }
    let goal = goal_of(task, &base.goal)?;
    let z_low = normal_quantile(base.goal.confidence);
    let low: f64 = all.iter().map(|s| s.cut_m * (-z_low * s.ln_sd).exp()).sum();
    let correction_low = match &goal {
        Some((_, depths, _)) => {
            let visible = Length::from_m(visible_depth(task.paint.lightness())?.median());
            Some(correction(depths, Length::from_m(low), visible)?.share(Measure::Optical))
        }
        None => None,
    };
    let wants_cut = base.vehicle.finish.corrects() && goal.is_some();
    // The passes are whole and the goal is met by the map's mean: half a percent of correction is no miss.
    let misses = wants_cut && correction_low.is_some_and(|c| c < base.goal.correction - 0.005);
    let mut out = ZonePlan {
        panel: z.panel,
        panel_name: panel.name.clone(),
        name: z.name.clone(),
        label: base.labels[zone].clone(),
        patch: z.patch,
        size: (Length::from_m(z.size_m.0), Length::from_m(z.size_m.1)),
        area: Area::from_m2(z.area_m2),
        clear: task.clear,
        goal: goal.as_ref().map(|(d, _, c)| (*d, Length::from_m(*c))),
        allowance: found.allowance,
        after: found.steps.last().cloned(),
        over_probability: over,
        correction_low,
        reaches: !misses && !chosen.haze_stays,
        edge,
        binding: None,
        unmet: Vec::new(),
        done: past.words[zone].clone(),
        steps: own.clone(),
    };
    let mut limits: Vec<Limit> = own.iter().flat_map(|i| steps[*i].plan.limits.clone()).collect();
    if !all.is_empty() {
        limits.push(budget_limit(over, may));
    }
    if misses || chosen.haze_stays {
        why_not(base, task, tried, chosen, misses, &mut out, &mut limits);
    }
    hot(&own, steps, &mut out);
    out.binding = limits.into_iter().min_by(|a, b| a.margin.total_cmp(&b.margin));
    Ok(out)
}

/// The chance of going over what may go, against the one accepted.
fn budget_limit(over: f64, may: f64) -> Limit {
    Limit {
        name: "paint_budget",
        value: 100.0 * over,
        limit: 100.0 * may,
        margin: 1.0 - over / may,
        unit: "% chance of going over",
    }
}

/// What is still too hot, in words.
fn hot(own: &[usize], steps: &[ZoneStep], out: &mut ZonePlan) {
    for s in own.iter().map(|i| &steps[*i]) {
        for l in s.plan.limits.iter().filter(|l| l.margin < 0.0 && l.name.ends_with("_temperature")) {
            out.unmet.push(format!(
                "{}: {} comes to {:.0} °C of {:.0} °C even with the coolest settings: stop after every pass and let it cool, or take a product with less drag",
                s.phase.word(),
                l.name.replace('_', " "),
                l.value,
                l.limit
            ));
        }
    }
}

/// Says why a zone does not get what is wanted, and what would help.
fn why_not(
    base: &Base<'_>,
    task: &ZoneTask,
    tried: &[Tried],
    chosen: &Chosen,
    misses: bool,
    out: &mut ZonePlan,
    limits: &mut Vec<Limit>,
) {
    let works = tried.iter().any(|t| !t.settings.is_empty());
    if !works {
        out.unmet.push(nothing_works(base, task, tried, limits));
        return;
    }
    let short = |phase| chosen.of(phase).and_then(|(_, w): &(usize, PassWork)| w.short.clone());
    if misses {
        let reached = 100.0 * out.correction_low.unwrap_or(0.0);
        let wanted = 100.0 * base.goal.correction;
        let may = Length::from_m(out.allowance.allowed.low).um();
        let head = format!(
            "{reached:.0} % instead of {wanted:.0} % of the {} at the stated confidence",
            out.goal.map_or("defects", |g| g.0.name())
        );
        match short(Phase::Cut) {
            Some(l) => {
                out.unmet.push(if l.name == "passes" {
                    format!("{head}: {} passes are the most that are planned; a product that cuts faster, or more most_passes, would reach it", base.goal.most_passes)
                } else {
                    format!("{head}: the paint budget binds ({may:.1} µm may go for sure); settle for less, calibrate the cut on a test spot, or read the film")
                });
                limits.push(l);
            }
            None => {
                let needed = out.goal.map_or(0.0, |g| g.1.um());
                limits.push(Limit {
                    name: "paint_budget",
                    value: needed,
                    limit: may,
                    margin: ((may - needed) / needed.max(1e-9)).min(0.0),
                    unit: "µm",
                });
                out.unmet.push(format!("{head}: no pass fits into what may go ({may:.1} µm for sure)"));
            }
        }
    }
    if chosen.haze_stays {
        let l = short(Phase::Refine);
        let said = match &l {
            Some(l) => format!(
                "haze may stay: the finest finish at hand is up to {:.0} nm rough, haze shows from {:.0} nm; a finer product or a softer pad is needed",
                l.value, l.limit
            ),
            None => {
                "haze may stay: no product with a known grain can be used for refining within the paint that may go"
                    .to_owned()
            }
        };
        limits.extend(l);
        out.unmet.push(said);
    }
}

/// No kit works: the nearest miss and the smallest change.
fn nothing_works(base: &Base<'_>, task: &ZoneTask, tried: &[Tried], limits: &mut Vec<Limit>) -> String {
    let nearest = tried
        .iter()
        .enumerate()
        .filter_map(|(k, t)| t.nearest.as_ref().map(|n| (k, n)))
        .max_by(|a, b| a.1.0.margin.total_cmp(&b.1.0.margin));
    let Some((k, (limit, rate, force))) = nearest else {
        return "no pad at hand goes on any tool".to_owned();
    };
    limits.push(limit.clone());
    let Some(kit) = &task.kits[k] else { return "no pad at hand goes on any tool".to_owned() };
    let what = match limit.name {
        "spin" => format!("every pad stalls: the nearest turns at {:.0} of {:.0} rpm", limit.value, limit.limit),
        "face_sticks" => "the face of every pad sticks".to_owned(),
        "motor_power" => format!("every motor is overloaded: {:.0} of {:.0} W", limit.value, limit.limit),
        _ => format!("every pad bottoms out: at most {:.0} N would fit", limit.limit),
    };
    let tool =
        if *rate > 0.0 { kit.tool.clone().at_rate(AngularRate::from_rad_s(*rate)) } else { Ok(kit.tool.clone()) };
    let setup =
        tool.and_then(|t| Setup::new(t, kit.pad.clone(), kit.pairing.product(), task.patch, Force::from_n(*force)));
    let change = setup.ok().filter(|_| limit.name == "spin").and_then(|s| {
        let found = remedies(&s, &AtHand::default(), base.settings);
        found
            .into_iter()
            .find(|r| r.value.is_some())
            .map(|r| format!("{}: {}", r.kind.name().replace('_', " "), r.reason))
    });
    format!(
        "nothing at hand works here: {what} ({:.0} mm pad, {force:.0} N); {}",
        kit.pad.diameter().mm(),
        change.map_or_else(
            || "a smaller or softer pad is needed".to_owned(),
            |c| format!("smallest change that helps: {c}")
        )
    )
}

/// Defects of a zone that stay, or stay in part.
fn not_mended(zone: &ZonePlan, task: &ZoneTask) -> Vec<Uncorrectable> {
    let mut out: Vec<Uncorrectable> = task
        .defects
        .iter()
        .filter_map(|d| d.not_by_polishing().map(|why| (d.name(), why)))
        .map(|(defect, why)| Uncorrectable { panel: zone.panel_name.clone(), defect, why: why.to_owned(), never: true })
        .collect();
    for d in zone.after.iter().flat_map(|a| &a.defects) {
        let why = match d.deepest {
            Advice::ThroughClear { depth_m } => {
                format!(
                    "the deepest may reach {:.0} µm, through the clear coat: polishing does not mend it",
                    depth_m * 1e6
                )
            }
            Advice::SoftenEdges { left_m, .. } => format!(
                "the deepest cost more paint than may go: soften their edges, some {:.1} µm of them stay",
                left_m * 1e6
            ),
            _ => continue,
        };
        out.push(Uncorrectable { panel: zone.panel_name.clone(), defect: d.defect.name(), why, never: false });
    }
    out
}
