//! Pictures of a vehicle's plan: the day on a timeline, the cut over each panel's largest zone.

use crate::job::Job;
use crate::job::vehicle::VehiclePlan;
use crate::plan::Work;
use crate::plan::vehicle::{Minute, Phase, TraceEntry};
use crate::plot::{BarLimit, ColourMap, ColourScale, Contours, FieldMap, Strips, TimeBar, TimeRow, Timeline};
use crate::units::Length;

/// What the bars of the timeline are for.
const KINDS: [&str; 6] =
    ["setting up, masking", "pad on the panel", "priming, cleaning", "waiting", "wiping, inspecting", "swaps, washing"];

fn kind_of(m: Minute) -> usize {
    match m {
        Minute::SetUp | Minute::Masking | Minute::Done => 0,
        Minute::Work => 1,
        Minute::Prime | Minute::Clean => 2,
        Minute::Rest => 3,
        Minute::Wipe | Minute::Inspect => 4,
        Minute::ToolSwap | Minute::PadSwap | Minute::Wash => 5,
    }
}

/// Bars of neighbouring entries of one kind, put together so that a picture holds no more than it must.
fn bars<'e>(entries: impl Iterator<Item = &'e TraceEntry>) -> Vec<TimeBar> {
    let mut out: Vec<TimeBar> = Vec::new();
    for e in entries {
        let (start, end) = (e.start_s / 60.0, (e.start_s + e.time_s) / 60.0);
        let kind = kind_of(e.minute);
        let label = match (e.minute, e.step) {
            (Minute::Work, Some(step)) => (step + 1).to_string(),
            _ => String::new(),
        };
        match out.last_mut() {
            // A thousandth of a minute forgives the rounding of the clock.
            Some(last) if last.kind == kind && kind != 1 && (start - last.end_min).abs() < 1e-3 => last.end_min = end,
            _ => out.push(TimeBar { start_min: start, end_min: end, label, kind }),
        }
    }
    out
}

/// The vehicle on a timeline: a row for what belongs to no step and one for each kit and phase.
/// Minutes on the clock, with the ends of the days.
/// The plan is that of the example of [`plan_vehicle`](crate::job::vehicle::plan_vehicle).
#[must_use]
pub fn vehicle_timeline(job: &Job, plan: &VehiclePlan) -> Timeline {
    let mut rows = vec![TimeRow {
        label: "set-up, masking, washing".into(),
        bars: bars(plan.trace.entries().iter().filter(|e| e.step.is_none())),
    }];
    let kit = |i: usize| {
        let s = &plan.steps[i];
        let doing = if s.phase == Phase::Cut { "cut" } else { "refine" };
        format!("{doing}: {}, {}, {}", s.step.tool_name, s.step.pad_name, s.step.product_name)
    };
    let mut kits: Vec<String> = Vec::new();
    for i in 0..plan.steps.len() {
        let k = kit(i);
        if !kits.contains(&k) {
            kits.push(k);
        }
    }
    for k in kits {
        let own = plan.trace.entries().iter().filter(|e| e.step.is_some_and(|i| kit(i) == k));
        rows.push(TimeRow { label: k.clone(), bars: bars(own) });
    }
    let mut limits = Vec::new();
    let ends: Vec<f64> = (0..plan.trace.days())
        .map(|d| {
            let last = plan.trace.entries().iter().rev().find(|e| e.day == d);
            last.map_or(0.0, |e| (e.start_s + e.time_s) / 60.0)
        })
        .collect();
    for (d, end) in ends.iter().enumerate().take(ends.len().saturating_sub(1)) {
        limits.push(BarLimit { label: format!("end of day {}", d + 1), at: *end });
    }
    let day = job.vehicle.as_ref().map_or(8.0, |v| v.times.day.s() / 3600.0);
    if plan.trace.days() == 1 && plan.trace.total().s() > 0.6 * day * 3600.0 {
        limits.push(BarLimit { label: format!("end of the day, {day:.1} h"), at: day * 60.0 });
    }
    let name = job.vehicle.as_ref().and_then(|v| v.name.as_deref()).unwrap_or("The vehicle");
    Timeline {
        title: format!("{name}: where the time goes"),
        caption: format!(
            "Numbers are the steps in the order of work. {:.0} min in all, {:.0} with the pad on; {} tool and {} pad swaps.",
            plan.trace.total().s() / 60.0,
            plan.trace.of(Minute::Work).s() / 60.0,
            plan.order.tool_swaps,
            plan.order.pad_swaps
        ),
        kinds: KINDS.iter().map(|k| (*k).to_owned()).collect(),
        rows,
        limits,
        ..Timeline::default()
    }
}

/// Zone of a panel that is largest among those worked.
///
/// The plan is that of the example of [`plan_vehicle`](crate::job::vehicle::plan_vehicle).
#[must_use]
pub fn largest_worked_zone(plan: &VehiclePlan, panel: usize) -> Option<usize> {
    let own = (0..plan.zones.len()).filter(|z| plan.zones[*z].panel == panel && !plan.zones[*z].steps.is_empty());
    own.max_by(|a, b| plan.zones[*a].area.m2().total_cmp(&plan.zones[*b].area.m2()))
}

/// Cut of all steps over a zone as it is worked; `None` for a zone that is not.
/// Cut \[µm\] over the rectangle \[mm\] that the zone is worked as.
/// The plan is that of the example of [`plan_vehicle`](crate::job::vehicle::plan_vehicle).
#[must_use]
pub fn zone_cut_chart(plan: &VehiclePlan, zone: usize) -> Option<FieldMap> {
    let z = &plan.zones[zone];
    let mut sum: Option<((usize, usize), Vec<f64>)> = None;
    for i in &z.steps {
        let Work::Patch(map) = &plan.steps[*i].plan.work else { continue };
        let count = map.field.grid.count();
        let cut = map.field.work.iter().map(|w| Length::from_m(map.preston_per_pa * w).um());
        match &mut sum {
            Some((known, values)) if *known == count => values.iter_mut().zip(cut).for_each(|(v, c)| *v += c),
            Some(_) => {}
            None => sum = Some((count, cut.collect())),
        }
    }
    let ((columns, rows), values) = sum?;
    let allowed = z.allowance.allowed;
    Some(FieldMap {
        title: format!("{}: cut of all its steps", z.label),
        caption: format!(
            "{:.2} m² as a rectangle of its area; at the median removal coefficient. {:.1} µm may go (at least {:.1}).",
            z.area.m2(),
            Length::from_m(allowed.best).um(),
            Length::from_m(allowed.low).um()
        ),
        columns,
        rows,
        values,
        x_range: (0.0, z.size.0.mm()),
        y_range: (0.0, z.size.1.mm()),
        colour: ColourScale { title: "cut [µm]".into(), map: ColourMap::Viridis, ..ColourScale::default() },
        contours: Contours::None,
        strips: Strips::None,
        ..FieldMap::default()
    })
}
