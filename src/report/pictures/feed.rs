//! Pictures of a feed that was sought: along the path, the cut before and after, what time buys.

use super::settings_line;
use crate::plan::{CutMap, FeedLimits, FeedPlan, StepTask, TargetKind};
use crate::plot::{
    Axis, ColourMap, ColourScale, CurveChart, FieldMap, Figure, Limit, Mark, Missing, Page, PlotError, Series,
    SeriesLabels,
};
use crate::units::{Acceleration, Length, Speed};

fn mm(m: f64) -> f64 {
    Length::from_m(m).mm()
}

fn feed_of(slowness: f64) -> f64 {
    Speed::from_m_s(1.0 / slowness).mm_s()
}

/// Points along the way; a lift of the pad is a gap. Long paths are thinned to at most 6000 points.
fn along(plan: &FeedPlan, slowness: &[f64]) -> Vec<(f64, f64)> {
    let nodes = plan.path.nodes();
    let thin = nodes.len().div_ceil(6000).max(1);
    let mut out = Vec::new();
    for (k, n) in nodes.iter().enumerate() {
        if n.from_last.is_none() && k > 0 {
            out.push((n.way, f64::NAN));
        }
        if k % thin == 0 || n.from_last.is_none() {
            out.push((n.way, feed_of(slowness[k])));
        }
    }
    out
}

/// The feed along the path, with its limits and the feed of the step.
///
/// Feed \[mm/s\] over the way along the path \[m\]; lifts are gaps, a long path is thinned. The plan is that of
/// the example of [`feed_csv`](crate::report::feed_csv).
#[must_use]
pub fn feed_chart(title: &str, task: &StepTask, plan: &FeedPlan, limits: &FeedLimits) -> CurveChart {
    let line = |label: &str, slowness: &[f64], style: usize| Series {
        markers: false,
        style: Some(style),
        ..Series::new(label, along(plan, slowness))
    };
    let (low, high) = (Speed::from_m_s(limits.low()).mm_s(), Speed::from_m_s(limits.high()).mm_s());
    let bound = limits.acceleration().map_or(String::new(), |a| {
        let a = Acceleration::from_m_s2(a).mm_s2();
        format!(", the bound is {a:.0}")
    });
    CurveChart {
        title: title.into(),
        caption: format!(
            "{:.0} s with the pad on, {:.0} s at the step's feed; at most {:.0} mm/s² along the path{bound}. {}.",
            plan.found.time_s,
            plan.found.time_given_s,
            Acceleration::from_m_s2(plan.found.acceleration_m_s2).mm_s2(),
            settings_line(&task.setup)
        ),
        x: Axis::between("way along the path [m]", 0.0, plan.path.nodes().last().map_or(1.0, |n| n.way)),
        y: Axis::between("feed [mm/s]", 0.0, 1.15 * high.max(task.working.feed.mm_s())),
        series: vec![line("as the step says", &plan.path.given(), 1), line("feed found", &plan.found.slowness, 0)],
        limits: vec![
            Limit { label: format!("slowest, {low:.0} mm/s"), at: low, ..Limit::default() },
            Limit { label: format!("fastest, {high:.0} mm/s"), at: high, ..Limit::default() },
        ],
        labels: SeriesLabels::Legend,
        width: 900.0,
        ..CurveChart::default()
    }
}

fn map(title: String, m: &CutMap) -> FieldMap {
    let end = |from: f64, step: f64, n: usize| mm(from + n as f64 * step);
    FieldMap {
        title,
        columns: m.count.0,
        rows: m.count.1,
        values: m.cut.iter().map(|c| Length::from_m(*c).um()).collect(),
        x_range: (mm(m.from.0), end(m.from.0, m.cell.0, m.count.0)),
        y_range: (mm(m.from.1), end(m.from.1, m.cell.1, m.count.1)),
        colour: ColourScale { title: "cut [µm]".into(), map: ColourMap::Viridis, ..ColourScale::default() },
        missing: Missing::Paper,
        ..FieldMap::default()
    }
}

/// The cut before and after on one colour scale, with the border of the cells that count.
///
/// Cuts in µm. The plan is that of the example of [`feed_csv`](crate::report::feed_csv).
///
/// # Errors
/// [`PlotError`] for a grid above the plot's bound.
pub fn feed_cut_page(title: &str, task: &StepTask, plan: &FeedPlan, kind: TargetKind) -> Result<Page, PlotError> {
    let spread =
        |m: &CutMap| m.inside.map_or(String::new(), |s| format!("spread {:.1} %", 100.0 * s.cv().unwrap_or(0.0)));
    let mut panels = vec![
        map(format!("at the step's feed, {}", spread(&plan.before)), &plan.before),
        map(format!("at the feed found, {}", spread(&plan.after)), &plan.after),
    ];
    // A rectangle counts in one rectangle; elsewhere the caption says where.
    let m = &plan.after;
    let inside = || (0..plan.target.mask.len()).filter(|k| plan.target.mask[*k]);
    let columns = || inside().map(|k| k % m.count.0);
    let rows = || inside().map(|k| k / m.count.0);
    if task.surface.is_none()
        && let (Some(x0), Some(x1), Some(y0), Some(y1)) = (columns().min(), columns().max(), rows().min(), rows().max())
    {
        let at = |from: f64, step: f64, k: usize| mm(from + k as f64 * step);
        for p in &mut panels {
            p.rectangles.push(crate::plot::RectangleOverlay {
                label: "worked area".into(),
                x: (at(m.from.0, m.cell.0, x0), at(m.from.0, m.cell.0, x1 + 1)),
                y: (at(m.from.1, m.cell.1, y0), at(m.from.1, m.cell.1, y1 + 1)),
            });
        }
    }
    let asked = match kind {
        TargetKind::Even => "the same cut everywhere",
        TargetKind::Film => "a cut in proportion to the clear coat",
    };
    Ok(Page {
        title: title.into(),
        caption: format!(
            "Asked for: {asked}, {:.2} µm in the mean, further than the pad's reach from every edge. Off the target (RMS): {:.1} % before, {:.1} % after. {}.",
            Length::from_m(plan.target_mean_m).um(),
            100.0 * plan.found.residual_given_rel,
            100.0 * plan.found.residual_rel,
            settings_line(&task.setup)
        ),
        columns: 2,
        panels: panels.into_iter().map(Into::into).collect(),
        shared_colour: true,
        shared_legend: true,
        width: 1000.0,
        ..Page::default()
    })
}

/// Time against what is left of the difference from the target.
///
/// Difference from the target \[%, RMS\] over the time with the pad on \[s\], with the step's own feed and the feed found
/// marked. The plan is that of the example of [`feed_csv`](crate::report::feed_csv).
#[must_use]
pub fn trade_chart(title: &str, task: &StepTask, plan: &FeedPlan) -> CurveChart {
    let points: Vec<(f64, f64)> = plan.trade.iter().map(|t| (t.time_s, 100.0 * t.counted_rel)).collect();
    CurveChart {
        title: title.into(),
        caption: format!(
            "Each point is the best feed at another price of a second, within the limits of feed and acceleration. Off the target: over the worked area and, at a quarter of the weight, the rim around it. {}.",
            settings_line(&task.setup)
        ),
        x: Axis::linear("time with the pad on [s]"),
        y: Axis::linear("off the target, RMS [% of it]"),
        series: vec![Series::new("", points)],
        marks: vec![
            Mark {
                label: "as the step says".into(),
                x: plan.found.time_given_s,
                y: 100.0 * plan.found.counted_given_rel,
            },
            Mark { label: "feed found".into(), x: plan.found.time_s, y: 100.0 * plan.found.counted_rel },
        ],
        ..CurveChart::default()
    }
}

/// All pictures of a feed, by the end of their file stem.
///
/// [`feed_chart`], [`feed_cut_page`] and [`trade_chart`]; the plan is that of the
/// example of [`feed_csv`](crate::report::feed_csv).
///
/// # Errors
/// [`PlotError`] from any of them.
pub fn feed_pictures(
    step: &str,
    task: &StepTask,
    plan: &FeedPlan,
    limits: &FeedLimits,
    kind: TargetKind,
) -> Result<Vec<(&'static str, Figure)>, PlotError> {
    Ok(vec![
        ("feed", feed_chart(&format!("Feed along the path: {step}"), task, plan, limits).figure()?),
        ("feed-cut", feed_cut_page(&format!("Cut before and after: {step}"), task, plan, kind)?.figure()?),
        ("feed-trade", trade_chart(&format!("What time buys: {step}"), task, plan).figure()?),
    ])
}
