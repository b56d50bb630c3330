//! The plan of a vehicle as JSON and in words. The contract's `plan` with one entry in `steps` for each
//! step of a zone (`section` is the zone), and keys beside it for what only a vehicle has.

use super::json::{StepNames, step_json};
use super::wording::{fixed, limit_words, pass_word, percent, short};
use crate::Temperature;
use crate::job::Job;
use crate::job::vehicle::{VehiclePlan, ZonePlan, ZoneStep};
use crate::plan::Limit;
use crate::plan::vehicle::{Minute, Phase};
use crate::units::Time;
use core::fmt::Write as _;
use serde_json::{Map, Value, json};

/// JSON of one step: the contract's, with its zone, phase, feed and times.
#[must_use]
pub(crate) fn vehicle_step_json(plan: &VehiclePlan, s: &ZoneStep) -> Value {
    let zone = &plan.zones[s.zone];
    let rate = s.step.setup.tool().rate().opm();
    let mut out = step_json(
        &StepNames {
            step: s.phase.word(),
            panel: &zone.panel_name,
            tool: &s.step.tool_name,
            pad: &s.step.pad_name,
            product: &s.step.product_name,
            speed_setting: s.step.speed_setting,
            orbit_rate_opm: (rate > 0.0).then_some(rate),
            force_n: s.step.setup.force().n(),
            hand_force_n: s.step.hand_force_n,
        },
        &s.plan,
        s.heat.as_ref(),
        s.core.map(Temperature::c),
    );
    out["section"] = json!(zone.name);
    out["feed_mm_s"] = json!(s.step.feed.mm_s());
    out["overlap"] = json!(s.step.overlap);
    out["sections"] = json!(s.heat.as_ref().map(|h| h.sections));
    out["day"] = json!(s.day + 1);
    out["start_min"] = json!(s.start.s() / 60.0);
    out["all_time_s"] = json!(s.time.s());
    out["tool_swap_before"] = json!(s.swaps.0);
    out["pad_swap_before"] = json!(s.swaps.1);
    out
}

fn limit_json(l: &Limit) -> Value {
    json!({ "name": l.name, "value": l.value, "limit": l.limit, "margin": l.margin, "unit": l.unit })
}

fn zone_json(z: &ZonePlan) -> Value {
    let (a, b) = z.patch.principal();
    json!({
        "panel": z.panel_name,
        "zone": z.name,
        "curvature_per_m": [a, b],
        "area_m2": z.area.m2(),
        "size_mm": [z.size.0.mm(), z.size.1.mm()],
        "defect": z.goal.map(|g| g.0.name()),
        "cut_needed_um": z.goal.map(|g| g.1.um()),
        "cut_um": z.after.as_ref().map(|a| json!({
            "mean": a.removed.mean * 1e6, "lo": a.removed.low * 1e6, "hi": a.removed.high * 1e6,
        })),
        "allowed_um": { "best": z.allowance.allowed.best * 1e6, "lo": z.allowance.allowed.low * 1e6, "hi": z.allowance.allowed.high * 1e6 },
        "over_budget_probability": z.over_probability,
        "correction_low": z.correction_low,
        "reaches": z.reaches,
        "edge": z.edge.map(|e| json!({
            "strip_mm": e.strip.mm(), "cut_passes": e.cut, "refine_passes": e.refine, "over_budget_probability": e.over_probability,
        })),
        "binding_limit": z.binding.as_ref().map(limit_json),
        "unmet": z.unmet,
        "done": z.done,
        "steps": z.steps,
    })
}

/// The result of `plan` on a vehicle.
///
/// Steps in the order of work, zones, totals, every minute of the day, what to buy, hours of the tools \[h\], what
/// is not mended, what binds. `assumptions` stand at the end as they are given. The plan is that of the
/// example of [`plan_vehicle`](crate::job::vehicle::plan_vehicle).
#[must_use]
pub fn vehicle_json(job: &Job, plan: &VehiclePlan, assumptions: &[Value]) -> Value {
    let steps: Vec<Value> = plan.steps.iter().map(|s| vehicle_step_json(plan, s)).collect();
    let mut pads = Map::new();
    for k in &plan.pads.kinds {
        let before = pads.get(&k.pad).and_then(Value::as_u64).unwrap_or(0);
        pads.insert(k.pad.clone(), json!(before + k.used as u64));
    }
    let product: f64 = plan.products.iter().map(|p| p.1.ml()).sum();
    let trace: Vec<Value> = plan
        .trace
        .entries()
        .iter()
        .map(|e| {
            json!({
                "kind": e.minute.word(), "about": e.about, "step": e.step, "day": e.day + 1,
                "start_s": e.start_s, "time_s": e.time_s,
            })
        })
        .collect();
    json!({
        "vehicle": job.vehicle.as_ref().and_then(|v| v.name.as_deref()),
        "confidence": job.vehicle.as_ref().map(|v| v.confidence),
        "steps": steps,
        "zones": plan.zones.iter().map(zone_json).collect::<Vec<_>>(),
        "totals": {
            "time_s": plan.trace.total().s(),
            "pad_on_s": plan.trace.of(Minute::Work).s(),
            "days": plan.trace.days(),
            "pads": pads,
            "product_ml": product,
            "a8_m_s2": plan.a8.as_ref().map(|d| d.daily.m_s2()),
            "a8_points": plan.a8.as_ref().map(|d| d.points),
            "tool_swaps": plan.order.tool_swaps,
            "pad_swaps": plan.order.pad_swaps,
            "panel_by_panel": { "tool_swaps": plan.naive.tool_swaps, "pad_swaps": plan.naive.pad_swaps },
            "reaches": plan.reaches(),
        },
        "time_trace": trace,
        "shopping": {
            "pads": plan.pads.kinds.iter().map(|k| json!({
                "pad": k.pad, "product": k.product, "count": k.used, "wanted": k.wanted,
                "clean_every_sections": k.clean_every, "rest_between_sections_s": k.rest.s(),
                "limit_passed": k.passed.map(|p| p.limit.name()),
            })).collect::<Vec<_>>(),
            "products_ml": plan.products.iter().map(|(n, v)| (n.clone(), json!(v.ml()))).collect::<Map<_, _>>(),
            "tape_m": plan.masking.m(),
        },
        "tool_hours": plan.tool_hours.iter().map(|(t, h)| json!({
            "tool": t, "by_day_h": h.iter().map(|t| t.s() / 3600.0).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "uncorrectable": plan.uncorrectable.iter().map(|u| json!({
            "panel": u.panel, "defect": u.defect, "why": u.why, "never_worked": u.never,
        })).collect::<Vec<_>>(),
        "binding": plan.zones.iter().map(|z| json!({
            "panel": z.panel_name, "zone": z.name, "binding_limit": z.binding.as_ref().map(limit_json),
        })).collect::<Vec<_>>(),
        "changes": plan.changes,
        "assumptions": assumptions,
    })
}

/// Hours and minutes.
///
/// # Example
/// ```
/// use trochoid::{Time, report::clock};
/// let words = |min: f64| clock(Time::from_min(min)).replace('\u{a0}', " ");
/// assert_eq!((words(90.0), words(29.6)), ("1 h 30 min".to_owned(), "30 min".to_owned()));
/// ```
#[must_use]
pub fn clock(time: Time) -> String {
    let minutes = (time.s() / 60.0).round();
    let (h, m) = ((minutes / 60.0).floor(), minutes % 60.0);
    if h > 0.0 { format!("{h:.0}\u{a0}h {m:02.0}\u{a0}min") } else { format!("{m:.0}\u{a0}min") }
}

/// Settings of a step in one line.
#[must_use]
pub(crate) fn settings_words(s: &ZoneStep) -> String {
    let step = &s.step;
    let opm = step.setup.tool().rate().opm();
    let rate = match step.speed_setting {
        Some(v) => format!("setting {} ({} orbits/min)", short(v), fixed(opm, 0)),
        None if opm > 0.0 => format!("{} orbits/min", fixed(opm, 0)),
        None => "shaft at its rate".to_owned(),
    };
    format!(
        "{rate}, {}\u{a0}N on the face, {}\u{a0}mm/s, overlap {}, {} {}",
        fixed(step.setup.force().n(), 0),
        fixed(step.feed.mm_s(), 0),
        percent(step.overlap),
        s.plan.passes,
        pass_word(s.plan.passes)
    )
}

/// The binding limit of a zone in words.
#[must_use]
pub(crate) fn binding_of(z: &ZonePlan) -> String {
    match &z.binding {
        Some(l) if l.name == "paint_budget" && l.unit.starts_with('%') => {
            format!("paint budget: {} % chance of going over, {} % accepted", fixed(l.value, 1), fixed(l.limit, 0))
        }
        Some(l) => {
            let (name, numbers, _) = limit_words(l);
            format!("{name}: {numbers}")
        }
        None => "nothing to be done".to_owned(),
    }
}

/// How a zone comes out, in a few words.
#[must_use]
pub(crate) fn outcome_words(z: &ZonePlan) -> String {
    if z.steps.is_empty() && z.done.is_empty() {
        return if z.reaches { "nothing to be done".to_owned() } else { "not worked".to_owned() };
    }
    let cut = z.after.as_ref().map_or_else(
        || "no cut".to_owned(),
        |a| {
            format!(
                "{}\u{a0}µm ({} to {})",
                fixed(a.removed.mean * 1e6, 1),
                fixed(a.removed.low * 1e6, 1),
                fixed(a.removed.high * 1e6, 1)
            )
        },
    );
    let corrected = z.correction_low.map_or(String::new(), |c| format!(", at least {} corrected", percent(c)));
    let left = if z.reaches { "" } else { ", falls short" };
    format!("{cut}{corrected}{left}")
}

/// The plan in words, as the terminal prints it.
///
/// The same numbers as [`vehicle_json`]; the plan is that of the
/// example of [`plan_vehicle`](crate::job::vehicle::plan_vehicle).
#[must_use]
pub fn vehicle_words(job: &Job, plan: &VehiclePlan) -> String {
    let mut out = String::new();
    let vehicle = job.vehicle.as_ref();
    let name = vehicle.and_then(|v| v.name.as_deref()).unwrap_or("vehicle");
    let days = plan.trace.days();
    let _ = writeln!(
        out,
        "{name}: {} in all, {} with the pad on, {}",
        clock(plan.trace.total()),
        clock(plan.trace.of(Minute::Work)),
        if days == 1 { "fits into one day".to_owned() } else { format!("longer than a day: {days} days") }
    );
    if !plan.changes.is_empty() {
        let _ = writeln!(out, "what changed with what is done");
        for c in &plan.changes {
            let _ = writeln!(out, "  - {c}");
        }
    }
    let mut last = None;
    for (i, s) in plan.steps.iter().enumerate() {
        let kit = (&s.step.tool_name, &s.step.pad_name, &s.step.product_name, s.phase);
        if last != Some(kit) {
            last = Some(kit);
            let doing = if s.phase == Phase::Cut { "cut" } else { "refine" };
            let _ = writeln!(out, "{doing} with `{}` + `{}` + `{}`", kit.0, kit.1, kit.2);
        }
        let z = &plan.zones[s.zone];
        let day = if days > 1 { format!("day {}, ", s.day + 1) } else { String::new() };
        let _ = writeln!(out, "  {:>3} {}: {}; {day}{}", i + 1, z.label, settings_words(s), clock(s.time));
    }
    let _ = writeln!(out, "zones");
    for z in &plan.zones {
        let _ = writeln!(out, "  {}: {}; binds {}", z.label, outcome_words(z), binding_of(z));
        if let Some(e) = z.edge {
            let _ = writeln!(
                out,
                "      edges, {:.0} mm: {} {} to cut{}",
                e.strip.mm(),
                e.cut,
                pass_word(e.cut),
                if e.refine == 0 { String::new() } else { format!(", {} to refine", e.refine) }
            );
        }
        for u in &z.unmet {
            let _ = writeln!(out, "      NOT REACHED {u}");
        }
    }
    for u in &plan.uncorrectable {
        let head = if u.never { "NOT BY POLISHING" } else { "STAYS IN PART" };
        let _ = writeln!(out, "{head}  {}, {}: {}", u.panel, u.defect, u.why);
    }
    let _ = writeln!(out, "minutes");
    for m in Minute::ALL {
        let t = plan.trace.of(m);
        if t.s() > 0.0 {
            let _ = writeln!(out, "  {:<18} {:>7.1}", m.words(), t.s() / 60.0);
        }
    }
    let _ = writeln!(out, "  {:<18} {:>7.1}", "in all", plan.trace.total().s() / 60.0);
    let _ = writeln!(
        out,
        "swaps    {} of the tool, {} of the pad (panel by panel: {} and {})",
        plan.order.tool_swaps, plan.order.pad_swaps, plan.naive.tool_swaps, plan.naive.pad_swaps
    );
    let _ = writeln!(out, "needed");
    for k in &plan.pads.kinds {
        let rest =
            if k.rest.s() > 0.0 { format!(", {:.0} s of rest between sections", k.rest.s()) } else { String::new() };
        let wanted = match k.wanted {
            Some(w) if w > k.used => format!(" ({w} would do without a rest)"),
            _ => String::new(),
        };
        let passed = k.passed.map_or(String::new(), |p| format!("; all the same the {} is passed", p.limit.name()));
        let _ = writeln!(
            out,
            "  {} x `{}` with `{}`{wanted}, cleaned every {}{rest}{passed}",
            k.used,
            k.pad,
            k.product,
            if k.clean_every == 1 { "section".to_owned() } else { format!("{} sections", k.clean_every) }
        );
    }
    for (name, v) in &plan.products {
        let _ = writeln!(out, "  {:.0} ml `{name}`", v.ml());
    }
    let _ = writeln!(out, "  {:.0} m of edge to be taped", plan.masking.m());
    for (tool, hours) in &plan.tool_hours {
        let h: Vec<String> = hours.iter().map(|t| format!("{:.1} h", t.s() / 3600.0)).collect();
        let _ = writeln!(out, "tool     `{tool}`: {} with the pad on, day by day", h.join(", "));
    }
    if let Some(dose) = &plan.a8 {
        let _ = writeln!(
            out,
            "hands    A(8) {:.1} m/s², {:.0} points, on the worst day, from the declared values, which use often exceeds (action value 2.5 m/s², 100 points; limit value 5.0 m/s², 400 points)",
            dose.daily.m_s2(),
            dose.points
        );
    }
    out
}
