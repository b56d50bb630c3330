//! Settings for a hand and feeds for a machine: JSON, a table and words.

use super::csv::curves_csv;
use super::json::summary;
use crate::plan::{FeedLimits, FeedPlan, HandSearch, StepTask, TargetKind};
use crate::units::{Acceleration, Length, Speed};
use serde_json::{Value, json};
use std::fmt::Write as _;

/// Settings told in words.
const TOLD: usize = 8;

fn um(m: f64) -> f64 {
    Length::from_m(m).um()
}

fn feed_of(slowness: f64) -> f64 {
    Speed::from_m_s(1.0 / slowness).mm_s()
}

/// The result of `optimize --for hand`.
///
/// The settings in order of rank, each with feed \[mm/s\], overlap, line spacing \[mm\], passes, cut \[µm\], time \[s\], and
/// why it does not fit where it does not.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::settings_for_hand;
/// use trochoid::report::{hand_settings_json, hand_settings_words};
/// use trochoid::spin::StallSettings;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", &STARTER.replace("passes = 4", "passes = 4\ntarget_cut_um = 3.0"))?;
/// let task = job.steps[0].task(job.map.cell, (0.5, 2.0));
/// let search = settings_for_hand(&task, &StallSettings::default())?;
/// let told = hand_settings_json("cut", "door", &search);
/// // Six feeds x five overlaps, toward the cut that the step asks for.
/// assert_eq!(told["settings"].as_array().map(Vec::len), Some(30));
/// assert!((told["target_cut_um"].as_f64().unwrap_or(0.0) - 3.0).abs() < 1e-9);
/// assert!(hand_settings_words("cut", "door", &search).contains("3.00 µm, asked for"));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn hand_settings_json(step: &str, panel: &str, search: &HandSearch) -> Value {
    let settings: Vec<Value> = search
        .settings
        .iter()
        .enumerate()
        .map(|(i, s)| {
            json!({
                "rank": i + 1,
                "feed_mm_s": s.feed.mm_s(),
                "overlap": s.overlap,
                "overlap_words": s.overlap_words,
                "line_spacing_mm": Length::from_m(s.spacing_m).mm(),
                "passes": s.passes,
                "cut_um": { "mean": s.cut_m.map(um), "cv": s.cv },
                "time_s": s.time_s,
                "stalled_share": s.stalled_share,
                "fits": s.fits,
                "reason": s.reason,
            })
        })
        .collect();
    json!({
        "step": step,
        "panel": panel,
        "for": "hand",
        "target_cut_um": um(search.target_m),
        "target_given": search.target_given,
        "settings": settings,
    })
}

/// The same in words.
///
/// The fitting settings, 8 at most, or the nearest 8 where none fits; see the example of [`hand_settings_json`].
#[must_use]
pub fn hand_settings_words(step: &str, panel: &str, search: &HandSearch) -> String {
    let mut out = String::new();
    let from = if search.target_given { "asked for" } else { "as the step is written" };
    let _ = writeln!(out, "step `{step}` on `{panel}` by hand: {:.2} µm, {from}", um(search.target_m));
    let fitting = search.settings.iter().filter(|s| s.fits).count();
    if fitting == 0 {
        let _ = writeln!(out, "  no setting of a hand does it; the nearest:");
    }
    let _ = writeln!(out, "  feed mm/s  overlap         lines mm  passes  cut µm  spread %  time s  ");
    for s in search.settings.iter().take(TOLD.max(fitting.min(TOLD))) {
        let number = |v: Option<f64>, decimals: usize| v.map_or("-".to_owned(), |v| format!("{v:.decimals$}"));
        let _ = writeln!(
            out,
            "  {:9.0}  {:14}  {:8.0}  {:>6}  {:>6}  {:>8}  {:>6}  {}",
            s.feed.mm_s(),
            s.overlap_words,
            Length::from_m(s.spacing_m).mm(),
            s.passes.map_or("-".to_owned(), |p| p.to_string()),
            number(s.cut_m.map(um), 2),
            number(s.cv.map(|c| 100.0 * c), 1),
            number(s.time_s, 0),
            s.reason
        );
    }
    out
}

/// The result of `optimize --for machine`.
///
/// Differences from the target as shares of it (RMS) before and after, cuts \[µm\], feeds \[mm/s\], times \[s\], the limits,
/// how the search ended, and the trade of time against evenness. See the example of [`feed_csv`].
#[must_use]
pub fn feed_json(
    step: &str,
    panel: &str,
    task: &StepTask,
    (kind, limits): (TargetKind, &FeedLimits),
    plan: &FeedPlan,
) -> Value {
    let feeds: Vec<f64> = plan.found.slowness.iter().map(|q| feed_of(*q)).collect();
    let least = feeds.iter().copied().fold(f64::INFINITY, f64::min);
    let most = feeds.iter().copied().fold(0.0, f64::max);
    let length: f64 = plan.path.nodes().iter().filter_map(|n| n.from_last).sum();
    let trade: Vec<Value> = plan
        .trade
        .iter()
        .map(|t| {
            json!({
                "time_weight": t.time_weight, "time_s": t.time_s, "counted_rel": t.counted_rel, "residual_rel": t.residual_rel,
                "cut_share": t.cut_share,
            })
        })
        .collect();
    let f = &plan.found;
    json!({
        "step": step,
        "panel": panel,
        "for": "machine",
        "target": kind.name(),
        "target_cut_um": um(plan.target_mean_m),
        "target_given": task.target_cut.is_some(),
        "residual_rel": f.residual_rel,
        "residual_before_rel": f.residual_given_rel,
        "counted_rel": f.counted_rel,
        "counted_before_rel": f.counted_given_rel,
        "residual_without_acceleration_bound_rel": f.residual_unbound_rel,
        "cut_um": {
            "before": summary(plan.before.inside.as_ref(), 1e6),
            "after": summary(plan.after.inside.as_ref(), 1e6),
        },
        "panel_cut_um": {
            "before": summary(plan.before.panel.as_ref(), 1e6),
            "after": summary(plan.after.panel.as_ref(), 1e6),
        },
        "feed_mm_s": {
            "min": least, "max": most, "mean": Speed::from_m_s(length / f.time_s).mm_s(),
            "step": task.working.feed.mm_s(),
        },
        "limits": {
            "feed_min_mm_s": Speed::from_m_s(limits.low()).mm_s(),
            "feed_max_mm_s": Speed::from_m_s(limits.high()).mm_s(),
            "acceleration_mm_s2": limits.acceleration().map(|a| Acceleration::from_m_s2(a).mm_s2()),
        },
        "slowest_share": plan.at_limits.0,
        "fastest_share": plan.at_limits.1,
        "acceleration_mm_s2": Acceleration::from_m_s2(f.acceleration_m_s2).mm_s2(),
        "time_s": f.time_s,
        "time_before_s": f.time_given_s,
        "path_length_mm": Length::from_m(length).mm(),
        "nodes": plan.path.nodes().len(),
        "stalled_share": plan.stalled_share,
        "iterations": f.iterations,
        "rounds": f.rounds,
        "optimality_rel": f.optimality_rel,
        "stopped": f.stopped.name(),
        "trade_off": trade,
    })
}

/// The feed along the path as a table, one row a node. Between two rows of one stretch the slowness, one
/// over the feed, runs linearly; two rows with the same way are a lift of the pad.
///
/// Columns `s_mm` (way along the path), `x_mm`, `y_mm`, `feed_mm_s`.
///
/// # Errors
/// Only where memory for the text cannot be had.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::{FeedSettings, FeedTask, optimise_feed};
/// use trochoid::report::{feed_csv, feed_json};
/// use trochoid::spin::StallSettings;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let (step, asked) = (&job.steps[0], job.optimize);
/// let task = step.task(trochoid::Length::from_mm(15.0), (0.5, 2.0));
/// let feed = FeedTask { limits: asked.limits, kind: asked.target, film: None, settings: FeedSettings::default() };
/// let plan = optimise_feed(&task, &feed, &StallSettings::default())?;
/// // A row for each node under the head, and no feed outside 10 to 100 mm/s.
/// let table = String::from_utf8(feed_csv(&plan)?)?;
/// assert_eq!(table.lines().count(), 1 + plan.path.nodes().len());
/// let told = feed_json("cut", "door", &task, (asked.target, &asked.limits), &plan);
/// let mm_s = |key: &str| told["feed_mm_s"][key].as_f64().unwrap_or(f64::NAN);
/// assert!(mm_s("min") > 9.999 && mm_s("max") < 100.001);
/// # Ok(())
/// # }
/// ```
pub fn feed_csv(plan: &FeedPlan) -> Result<Vec<u8>, csv::Error> {
    let nodes = plan.path.nodes();
    let column = |name: &str, value: &dyn Fn(usize) -> f64| {
        (name.to_owned(), (0..nodes.len()).map(|k| Some(value(k))).collect::<Vec<_>>())
    };
    let mm = |m: f64| Length::from_m(m).mm();
    curves_csv(&[
        column("s_mm", &|k| mm(nodes[k].way)),
        column("x_mm", &|k| mm(nodes[k].at.0)),
        column("y_mm", &|k| mm(nodes[k].at.1)),
        column("feed_mm_s", &|k| feed_of(plan.found.slowness[k])),
    ])
}

/// The feed for a machine in words.
///
/// The same numbers as [`feed_json`]; see the example of [`feed_csv`].
#[must_use]
pub fn feed_words(
    step: &str,
    panel: &str,
    task: &StepTask,
    (kind, limits): (TargetKind, &FeedLimits),
    plan: &FeedPlan,
) -> String {
    let f = &plan.found;
    let mut out = String::new();
    let what = match kind {
        TargetKind::Even => "an even cut",
        TargetKind::Film => "a cut in proportion to the film",
    };
    let from = if task.target_cut.is_some() { "asked for" } else { "the mean of the step as written" };
    let _ = writeln!(out, "step `{step}` on `{panel}` by machine: {what} of {:.2} µm, {from}", um(plan.target_mean_m));
    let percent = |share: f64| 100.0 * share;
    let bound =
        limits.acceleration().map_or("any".to_owned(), |a| format!("{:.0} mm/s²", Acceleration::from_m_s2(a).mm_s2()));
    let _ = writeln!(
        out,
        "  limits, of [optimize] in the job or assumed: feed {:.0} to {:.0} mm/s, acceleration {bound}",
        Speed::from_m_s(limits.low()).mm_s(),
        Speed::from_m_s(limits.high()).mm_s()
    );
    let _ = writeln!(
        out,
        "  off the target (RMS) {:.1} % at the step's feed, {:.1} % at the feed found; {:.1} % without the bound on acceleration",
        percent(f.residual_given_rel),
        percent(f.residual_rel),
        percent(f.residual_unbound_rel)
    );
    if let (Some(b), Some(a)) = (plan.before.inside, plan.after.inside) {
        let line = |s: &crate::math::statistics::Summary| {
            format!(
                "{:.2} µm (5 to 95 %: {:.2} to {:.2}), spread {:.1} %",
                um(s.mean),
                um(s.p5),
                um(s.p95),
                percent(s.cv().unwrap_or(0.0))
            )
        };
        let _ = writeln!(out, "  cut before {}", line(&b));
        let _ = writeln!(out, "  cut after  {}", line(&a));
    }
    if let (Some(b), Some(a)) = (plan.before.panel, plan.after.panel) {
        let _ = writeln!(
            out,
            "  largest cut anywhere, edges included: {:.2} µm before, {:.2} µm after",
            um(b.max),
            um(a.max)
        );
    }
    let feeds = f.slowness.iter().map(|q| feed_of(*q));
    let (least, most) = feeds.fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
    let _ = writeln!(
        out,
        "  feed {least:.0} to {most:.0} mm/s, at its slowest on {:.0} % and at its fastest on {:.0} % of the way; at most {:.0} mm/s² along the path",
        percent(plan.at_limits.0),
        percent(plan.at_limits.1),
        Acceleration::from_m_s2(f.acceleration_m_s2).mm_s2()
    );
    let _ = writeln!(out, "  {:.0} s with the pad on, {:.0} s before", f.time_s, f.time_given_s);
    if plan.stalled_share > 0.0 {
        let _ = writeln!(
            out,
            "  the pad stalls for {:.0} % of the time: change the set-up first, the feed does not mend that",
            percent(plan.stalled_share)
        );
    }
    let _ = writeln!(
        out,
        "  {} after {} rounds and {} iterations, optimality {:.1e}",
        f.stopped.name(),
        f.rounds,
        f.iterations,
        f.optimality_rel
    );
    let _ = writeln!(out, "  what time buys:  time s  off the target %  with the rim %  cut / target");
    for t in &plan.trade {
        let _ = writeln!(
            out,
            "  {:>22.0}  {:>16.1}  {:>14.1}  {:>12.2}",
            t.time_s,
            percent(t.residual_rel),
            percent(t.counted_rel),
            t.cut_share
        );
    }
    out
}
