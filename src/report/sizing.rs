//! A sized tool: JSON, a table and words.

use super::csv::curves_csv;
use crate::plan::sizing::{
    Binding, Bound, BrokenBound, Impossible, Objective, SizedDesign, Sizing, SizingTask, Variable,
};
use crate::spin::StallOutcome;
use crate::units::AngularRate;
use serde_json::{Map, Value, json};
use std::fmt::Write as _;

/// Designs of the front that are told in words.
const TOLD: usize = 10;

fn finite(v: f64) -> Option<f64> {
    v.is_finite().then_some(v)
}

fn design_json(task: &SizingTask, d: &SizedDesign) -> Value {
    let mut out = Map::new();
    for (r, v) in task.space.ranges().iter().zip(&d.values) {
        out.insert(r.variable.key().to_owned(), json!(v));
    }
    let objectives: Map<String, Value> =
        Objective::ALL.iter().map(|o| (o.key().to_owned(), json!(finite(d.performance.value(*o))))).collect();
    let panels: Vec<Value> = task
        .duty
        .fleet
        .panels()
        .iter()
        .zip(&d.performance.spins)
        .map(|(p, spin)| {
            json!({
                "panel": p.name, "share": p.share, "mean_curvature_per_m": p.patch.mean(),
                "spin_rpm": finite(AngularRate::from_rad_s(*spin).rpm()),
            })
        })
        .collect();
    json!({
        "values": out,
        "objectives": objectives,
        "stall_curvature_per_m": d.performance.stall.curvature(),
        "stalls": d.performance.stall.name(),
        "panels": panels,
    })
}

fn binding_json(b: &Binding) -> Value {
    match b {
        Binding::Bound(b, value) => json!({
            "kind": "limit", "name": b.objective.key(), "limit": b.value, "value": value, "margin": -b.excess(*value),
        }),
        Binding::LowEnd(v, at) => json!({ "kind": "low_end", "name": v.key(), "limit": at }),
        Binding::HighEnd(v, at) => json!({ "kind": "high_end", "name": v.key(), "limit": at }),
    }
}

/// The result of `size`.
///
/// Ranges, objectives, the front with the values, objectives \[unit in the key\] and spins \[rpm\] of each design, the
/// chosen one with what holds it back, Sobol indices with their errors; null where a number is not finite.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, sizing_task};
/// use trochoid::plan::sizing::{SizingOutcome, size_a_tool};
/// use trochoid::report::{sizing_csv, sizing_json, sizing_words};
/// use trochoid::spin::StallSettings;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let table = "[sizing]\npanels = [\"door\"]\nthrow_mm = [9.0, 21.0]\n\
///              population = 8\ngenerations = 1\nsensitivity_rows = 0\n";
/// let job = Job::parse("sizing.toml", &format!("{STARTER}\n{table}"))?;
/// let sizing = job.sizing.as_ref().expect("the job asks for it");
/// let task = sizing_task(sizing, &job.steps[0], &StallSettings::default())?;
/// let SizingOutcome::Sized(sized) = size_a_tool(&task)? else { return Err("nothing bounds this job".into()) };
/// let told = sizing_json("cut", &task, &sized);
/// let throw = told["chosen"]["values"]["throw_mm"].as_f64().expect("the throw varies");
/// assert!((9.0..=21.0).contains(&throw));
/// // A row for each design of the front under the head.
/// assert_eq!(String::from_utf8(sizing_csv(&task, &sized)?)?.lines().count(), 1 + sized.front.len());
/// assert!(sizing_words("cut", &task, &sized).starts_with("sizing from step `cut`: "));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn sizing_json(step: &str, task: &SizingTask, sizing: &Sizing) -> Value {
    let estimate = |e: &crate::math::sensitivity::Estimate| json!({ "value": e.best, "standard_error": e.error });
    let sensitivity: Map<String, Value> = sizing
        .sensitivity
        .iter()
        .map(|s| {
            let each = s.indices.as_ref().map(|i| {
                let variables = task.space.ranges().iter().zip(i.first.iter().zip(&i.total));
                let of = |(r, (first, total)): (&crate::plan::sizing::VariableRange, (_, _))| {
                    (r.variable.key().to_owned(), json!({ "first": estimate(first), "total": estimate(total) }))
                };
                let variables: Map<String, Value> = variables.map(of).collect();
                json!({ "mean": i.mean, "variance": i.variance, "rows": i.rows, "variables": variables })
            });
            (s.objective.key().to_owned(), json!(each))
        })
        .collect();
    let ranges: Map<String, Value> =
        task.space.ranges().iter().map(|r| (r.variable.key().to_owned(), json!([r.low, r.high]))).collect();
    json!({
        "step": step,
        "ranges": ranges,
        "objectives": task.objectives.iter().map(|o| o.key()).collect::<Vec<_>>(),
        "evaluated": sizing.evaluated,
        "feasible": sizing.feasible,
        "chosen_by": "nearest to the best of every objective, each measured by the share of the front that is better in it",
        "chosen": design_json(task, &sizing.front[sizing.chosen]),
        "binding": sizing.binding.iter().map(binding_json).collect::<Vec<_>>(),
        "front": sizing.front.iter().map(|d| design_json(task, d)).collect::<Vec<_>>(),
        "sensitivity": sensitivity,
    })
}

/// The front as a table, one row a design.
///
/// Columns: the variables and every objective by their keys, `stall_curvature_per_m`, `chosen` (1 for the chosen one). See
/// the example of [`sizing_json`].
///
/// # Errors
/// Only where memory for the text cannot be had.
pub fn sizing_csv(task: &SizingTask, sizing: &Sizing) -> Result<Vec<u8>, csv::Error> {
    let mut columns: Vec<(String, Vec<Option<f64>>)> = Vec::new();
    for (i, r) in task.space.ranges().iter().enumerate() {
        columns.push((r.variable.key().to_owned(), sizing.front.iter().map(|d| Some(d.values[i])).collect()));
    }
    for o in Objective::ALL {
        let values = sizing.front.iter().map(|d| finite(d.performance.value(o))).collect();
        columns.push((o.key().to_owned(), values));
    }
    let stall = sizing.front.iter().map(|d| d.performance.stall.curvature()).collect();
    columns.push(("stall_curvature_per_m".to_owned(), stall));
    let chosen = (0..sizing.front.len()).map(|i| Some(if i == sizing.chosen { 1.0 } else { 0.0 })).collect();
    columns.push(("chosen".to_owned(), chosen));
    curves_csv(&columns)
}

/// Four figures, without an exponent.
fn figure(v: f64) -> String {
    if !v.is_finite() {
        return "-".to_owned();
    }
    let size = v.abs();
    let decimals = if size >= 1000.0 || size <= 0.0 {
        0
    } else if size >= 100.0 {
        1
    } else if size >= 1.0 {
        2
    } else {
        4
    };
    format!("{v:.decimals$}")
}

fn value(variable: Variable, v: f64) -> String {
    format!("{v:.*}", variable.decimals())
}

fn stall_words(stall: StallOutcome) -> String {
    match stall {
        StallOutcome::At(k) if k < 0.0 => {
            format!("stalls in round hollows tighter than {k:.3} per metre (radius {:.0} mm)", 1e3 / k.abs())
        }
        StallOutcome::At(k) => {
            format!(
                "stalls on the flat; turns on round crowns tighter than {k:.3} per metre (radius {:.0} mm)",
                1e3 / k
            )
        }
        StallOutcome::Never => "no stall before 20 per metre or before the pad bottoms out".to_owned(),
        StallOutcome::Always => "stalls on the flat and on every crown".to_owned(),
        StallOutcome::Sticks => "the face sticks".to_owned(),
        StallOutcome::Driven => "the drive is not free: it never stalls".to_owned(),
        StallOutcome::Refused => "no stall limit found".to_owned(),
    }
}

fn design_words(out: &mut String, task: &SizingTask, d: &SizedDesign) {
    for (r, v) in task.space.ranges().iter().zip(&d.values) {
        let (low, high) = (value(r.variable, r.low), value(r.variable, r.high));
        let _ = writeln!(out, "    {:22} {:>10}   of {low} to {high}", r.variable.title(), value(r.variable, *v));
    }
    for o in Objective::ALL {
        let bound = task.bounds.iter().find(|b| b.objective == o).map_or(String::new(), |b| {
            format!("   {} {}", if o.larger_is_better() { "at least" } else { "at most" }, figure(b.value))
        });
        let asked = if task.objectives.contains(&o) { "*" } else { " " };
        // A margin that is enough is not told further.
        let capped = o == Objective::StallMargin && d.performance.value(o) >= task.duty.enough_margin_per_m;
        let more = if capped { " or more" } else { "" };
        let _ = writeln!(out, "  {asked} {:22} {:>10}{more}{bound}", o.title(), figure(d.performance.value(o)));
    }
    let _ = writeln!(out, "    {}", stall_words(d.performance.stall));
    for (p, spin) in task.duty.fleet.panels().iter().zip(&d.performance.spins) {
        let rpm = AngularRate::from_rad_s(*spin).rpm();
        let told = if rpm.is_finite() { format!("{rpm:.0} rpm") } else { "the pad bottoms out".to_owned() };
        let _ = writeln!(
            out,
            "    on `{}` ({:.0} % of the work, mean curvature {:.2} per metre): {told}",
            p.name,
            100.0 * p.share,
            p.patch.mean()
        );
    }
}

/// The same in words.
///
/// The chosen design against its bounds, what holds it back, at most ten designs of the front, what moves each
/// objective. See the example of [`sizing_json`].
#[must_use]
pub fn sizing_words(step: &str, task: &SizingTask, sizing: &Sizing) -> String {
    let mut out = String::new();
    let asked: Vec<&str> = task.objectives.iter().map(|o| o.title()).collect();
    let _ = writeln!(
        out,
        "sizing from step `{step}`: {} designs tried, {} keep every limit, {} on the front of {}",
        sizing.evaluated,
        sizing.feasible,
        sizing.front.len(),
        asked.join(", ")
    );
    let _ = writeln!(
        out,
        "  chosen: nearest to the best of every objective (*), each by the share of the front that is better in it"
    );
    design_words(&mut out, task, &sizing.front[sizing.chosen]);
    for b in &sizing.binding {
        let _ = match b {
            Binding::Bound(b, v) => writeln!(
                out,
                "  holds it back: the limit on {}, {} of {}",
                b.objective.title(),
                figure(*v),
                figure(b.value)
            ),
            Binding::LowEnd(v, at) => {
                writeln!(out, "  holds it back: the low end of {}, {}", v.title(), value(*v, *at))
            }
            Binding::HighEnd(v, at) => {
                writeln!(out, "  holds it back: the high end of {}, {}", v.title(), value(*v, *at))
            }
        };
    }
    if sizing.binding.is_empty() {
        let _ = writeln!(out, "  no limit and no end of a range holds it back");
    }
    front_table(&mut out, task, sizing);
    if sizing.sensitivity.iter().any(|s| s.indices.is_some()) {
        let _ = writeln!(
            out,
            "  Sobol indices over the whole ranges: total ± two standard errors, and what a variable explains alone (first order)"
        );
    }
    for s in &sizing.sensitivity {
        let Some(i) = &s.indices else {
            let _ = writeln!(out, "  {} does not vary over the ranges", s.objective.title());
            continue;
        };
        let mut order: Vec<usize> = (0..i.total.len()).collect();
        order.sort_by(|a, b| i.total[*b].best.total_cmp(&i.total[*a].best));
        let part = |k: &usize| {
            let (first, total) = (i.first[*k], i.total[*k]);
            format!(
                "{} {:.2} ± {:.2} ({:.2} alone)",
                task.space.ranges()[*k].variable.key(),
                total.best,
                2.0 * total.error,
                // No minus before a zero.
                (100.0 * first.best).round() / 100.0 + 0.0
            )
        };
        let parts: Vec<String> = order.iter().map(part).collect();
        let _ = writeln!(out, "  what moves {}: {}", s.objective.title(), parts.join(", "));
    }
    out
}

fn front_table(out: &mut String, task: &SizingTask, sizing: &Sizing) {
    let heads: Vec<&str> = task
        .space
        .ranges()
        .iter()
        .map(|r| r.variable.title())
        .chain(task.objectives.iter().map(|o| o.title()))
        .collect();
    let _ = writeln!(
        out,
        "  the front, {} first{}:",
        task.objectives[0].title(),
        if sizing.front.len() > TOLD { ", thinned" } else { "" }
    );
    let _ = writeln!(
        out,
        "    {}",
        heads.iter().map(|h| format!("{h:>width$}", width = h.chars().count().max(9))).collect::<Vec<_>>().join("  ")
    );
    let last = sizing.front.len().saturating_sub(1);
    let mut told: Vec<usize> = (0..TOLD).map(|k| k * last / (TOLD - 1)).chain([sizing.chosen]).collect();
    told.sort_unstable();
    told.dedup();
    for i in told {
        let d = &sizing.front[i];
        let cells = task
            .space
            .ranges()
            .iter()
            .zip(&d.values)
            .map(|(r, v)| value(r.variable, *v))
            .chain(task.objectives.iter().map(|o| figure(d.performance.value(*o))));
        let row: Vec<String> =
            cells.zip(&heads).map(|(c, h)| format!("{c:>width$}", width = h.chars().count().max(9))).collect();
        let _ = writeln!(out, "  {} {}", if i == sizing.chosen { "→" } else { " " }, row.join("  "));
    }
}

fn broken_words(b: &BrokenBound) -> String {
    let Bound { objective, value } = b.bound;
    format!(
        "{}: {} where {} {} is asked for, {} off",
        objective.key(),
        figure(b.value),
        if objective.larger_is_better() { "at least" } else { "at most" },
        figure(value),
        figure(b.bound.excess(b.value))
    )
}

/// Why no design keeps every limit, in words.
///
/// Says the nearest design with the bounds that it breaks, and which of them no design keeps alone; or why none
/// runs on every panel. The other outcome of [`size_a_tool`](crate::plan::sizing::size_a_tool) than that in the
/// example of [`sizing_json`].
#[must_use]
pub fn impossible_words(task: &SizingTask, told: &Impossible) -> String {
    let mut out = format!("none of {} designs keeps every limit\n", told.evaluated);
    let nearest: Vec<String> = task
        .space
        .ranges()
        .iter()
        .zip(&told.nearest.values)
        .map(|(r, v)| format!("{} {}", r.variable.key(), value(r.variable, *v)))
        .collect();
    let nearest = nearest.join(", ");
    if told.broken.is_empty() {
        let p = &told.nearest.performance;
        let why = if p.sticks {
            "the pad's face sticks: less force, a thinner pad or a longer throw would free it"
        } else {
            "the pad bottoms out on a panel: less force, a larger, stiffer or thicker pad would carry it"
        };
        let _ = writeln!(out, "  none of them runs on every panel; the nearest ({nearest}): {why}");
        return out;
    }
    let _ = writeln!(out, "  the nearest ({nearest}) breaks");
    for b in &told.broken {
        let _ = writeln!(out, "    {}", broken_words(b));
    }
    let alone: Vec<&BrokenBound> = told.best.iter().filter(|b| b.bound.excess(b.value) > 0.0).collect();
    for b in &alone {
        let _ = writeln!(out, "  no design at all comes nearer than {}", broken_words(b));
    }
    if alone.is_empty() {
        let _ = writeln!(out, "  each limit alone can be kept; they cannot be kept together");
    }
    out
}
