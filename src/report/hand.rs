//! A hand that varies, in JSON and in words.

use crate::plan::{Ensemble, HandVariability, Spread};
use serde_json::{Value, json};

fn spread(s: &Spread, factor: f64) -> Value {
    json!({
        "mean": factor * s.over.mean,
        "sd": factor * s.over.sd,
        "p5": factor * s.over.p5,
        "p95": factor * s.over.p95,
        "standard_error": factor * s.standard_error,
    })
}

fn ensemble(e: &Ensemble) -> Value {
    json!({
        "mean_cut_um": spread(&e.mean, 1e6),
        "cv": spread(&e.cv, 1.0),
        "local_rel_sd": e.local_rel_sd,
        "over_anywhere_probability": e.over_anywhere,
    })
}

/// What a hand that varies makes of a step.
///
/// Mean cut, unevenness and stray with their spread over the trials, the chance of going over, each habit alone, half the
/// scatter; cuts in µm, shares 1. See the example of [`hand_csv`].
#[must_use]
pub fn hand_json(v: &HandVariability) -> Value {
    let (nx, ny) = v.grid.count();
    let (dx, dy) = v.grid.cell();
    let habits: Vec<Value> = v
        .habits
        .iter()
        .map(|h| {
            json!({
                "habit": h.habit.name(),
                "local_rel_sd_alone": h.alone.local_rel_sd,
                "cv_alone": h.alone.cv.over.mean,
                "first_order_share": h.first_order_share,
            })
        })
        .collect();
    let mut out = ensemble(&v.ensemble);
    let more = json!({
        "replicates": v.replicates,
        "seed": v.seed,
        "worked_area_only": v.masked,
        "over_worst_cell_probability":
            v.beyond.as_ref().map(|b| b.at_cell.iter().fold(0.0_f64, |a, p| a.max(*p))),
        "over_anywhere_standard_error": v.beyond.as_ref().map(|b| b.standard_error),
        "stalled_time_share": v.stalled_share,
        "beyond_tables_share": v.beyond_share,
        "table_volume_error_rel": v.response_error.volume,
        "table_profile_error_rel": v.response_error.profile,
        "half_the_scatter": { "now": ensemble(&v.steadier.now), "steadier": ensemble(&v.steadier.steadier) },
        "habits": habits,
        "grid": { "cell_mm": dx * 1e3, "cell_y_mm": dy * 1e3, "nx": nx, "ny": ny },
    });
    if let (Some(out), Value::Object(more)) = (out.as_object_mut(), more) {
        out.extend(more);
    }
    out
}

/// The maps as CSV: place, planned cut, percentiles, chance of going over where it is known.
///
/// Columns `x_mm`, `y_mm`, then `planned_um` and the percentiles of the trials `p5_um`, `p50_um`, `p95_um`;
/// `allowed_um` and `over_probability` only where it is known what may go.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::{HandScatter, VariabilitySettings, hand_variability, plan_step};
/// use trochoid::report::{hand_csv, hand_json};
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let few = VariabilitySettings { replicates: 10, comparisons: 10, ..VariabilitySettings::default() };
/// let v = hand_variability(&task, &plan.state.run, 1, &HandScatter::steady(), None, &few)?.expect("the face slides");
/// // A hand that does not scatter: every percentile is the planned cut.
/// let table = String::from_utf8(hand_csv(&v))?;
/// let row: Vec<&str> = table.lines().nth(1).unwrap_or_default().split(',').collect();
/// assert!(row[3] == row[2] && row[5] == row[2]);
/// // Only the rounding of sums is left of its spread.
/// assert!(hand_json(&v)["mean_cut_um"]["sd"].as_f64().is_some_and(|sd| sd < 1e-12));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn hand_csv(v: &HandVariability) -> Vec<u8> {
    use std::fmt::Write as _;
    let mut out = String::from("x_mm,y_mm,planned_um,p5_um,p50_um,p95_um");
    out.push_str(if v.beyond.is_some() { ",allowed_um,over_probability\n" } else { "\n" });
    let (nx, ny) = v.grid.count();
    for c in 0..nx * ny {
        let (x, y) = v.grid.centre(c % nx, c / nx);
        let _ = write!(out, "{:.3},{:.3}", 1e3 * x, 1e3 * y);
        for field in [&v.planned, &v.p5, &v.p50, &v.p95] {
            let _ = write!(out, ",{:.5}", 1e6 * field[c]);
        }
        if let Some(b) = &v.beyond {
            let _ = write!(out, ",{:.5},{:.5}", 1e6 * b.allowed[c], b.at_cell[c]);
        }
        out.push('\n');
    }
    out.into_bytes()
}

/// What a hand that varies makes of a step, in lines of text.
///
/// The same numbers as [`hand_json`]; see the example of [`hand_csv`].
#[must_use]
pub fn hand_words(v: &HandVariability) -> Vec<String> {
    let e = &v.ensemble;
    let where_ = if v.masked { "" } else { " (over the whole panel: the pad leaves no worked area)" };
    let mut out = vec![format!(
        "{} trials: mean cut {:.2} µm ({:.2} to {:.2} from panel to panel, 90 %), spread within a panel {:.1} %, a place strays by {:.1} %{where_}",
        v.replicates,
        1e6 * e.mean.over.mean,
        1e6 * e.mean.over.p5,
        1e6 * e.mean.over.p95,
        100.0 * e.cv.over.mean,
        100.0 * e.local_rel_sd
    )];
    if let Some(b) = &v.beyond {
        out.push(format!(
            "beyond what may go somewhere on the panel with a chance of {:.1} % (± {:.1}), the removal coefficient as given",
            100.0 * b.anywhere,
            100.0 * b.standard_error
        ));
    }
    let (now, half) = (&v.steadier.now, &v.steadier.steadier);
    let over = match (now.over_anywhere, half.over_anywhere) {
        (Some(a), Some(b)) => format!(", the chance of going over {:.0} to {:.0} %", 100.0 * a, 100.0 * b),
        _ => String::new(),
    };
    out.push(format!(
        "half the scatter would bring the stray from {:.1} to {:.1} %, the spread from {:.1} to {:.1} %{over}",
        100.0 * now.local_rel_sd,
        100.0 * half.local_rel_sd,
        100.0 * now.cv.over.mean,
        100.0 * half.cv.over.mean
    ));
    let habits: Vec<String> = v
        .habits
        .iter()
        .map(|h| format!("{} ({}) {:.1} %", h.habit.name(), v.hand.in_words(h.habit), 100.0 * h.alone.local_rel_sd))
        .collect();
    if !habits.is_empty() {
        out.push(format!("stray by one habit alone: {}", habits.join(", ")));
    }
    if v.stalled_share > 0.0 {
        out.push(format!("the pad is below its useful spin for {:.1} % of the time", 100.0 * v.stalled_share));
    }
    if v.beyond_share > 1e-4 {
        out.push(format!(
            "{:.2} % of the settings lie beyond the tables or bottom the pad out: told as at the nearest that does not",
            100.0 * v.beyond_share
        ));
    }
    out
}
