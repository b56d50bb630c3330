//! Pictures of a sized tool: the front, its designs side by side, what matters, where the pad would stall.

use super::rate_chart;
use crate::math::reduce::map_indexed;
use crate::plan::sizing::{Objective, SizedDesign, Sizing, SizingTask, Variable, stall_margin};
use crate::plot::{
    Across, Axis, Bar, BarChart, BoldLevel, ColourMap, ColourScale, Contours, CurveChart, FieldMap, Figure, Limit,
    Mark, Page, Panel as PlotPanel, PathOverlay, PlotError, Series, SeriesLabels,
};
use crate::spin::Setup;
use crate::units::AngularRate;

/// Designs drawn as lines at most.
const LINES: usize = 60;
/// Points of a front drawn at most.
const POINTS: usize = 1500;
/// Cells of the map along each axis.
const CELLS: (usize, usize) = (48, 36);
/// Height of that map over its width.
const ASPECT: f64 = 0.7;

/// A design's values in a row.
fn chosen_line(task: &SizingTask, d: &SizedDesign) -> String {
    let part = |(r, v): (&crate::plan::sizing::VariableRange, &f64)| {
        format!("{} {v:.*}", r.variable.title(), r.variable.decimals())
    };
    let parts: Vec<String> = task.space.ranges().iter().zip(&d.values).map(part).collect();
    parts.join(", ")
}

/// The front, objective against objective, with the limits on them and the chosen design.
///
/// Each pair of objectives is one chart, in the units of their titles; a long front is thinned. The sizing is that of the
/// example of [`sizing_json`](crate::report::sizing_json).
#[must_use]
pub fn front_page(title: &str, task: &SizingTask, sizing: &Sizing) -> Page {
    let step = sizing.front.len().div_ceil(POINTS).max(1);
    let chosen = &sizing.front[sizing.chosen];
    let mut panels = Vec::new();
    for (i, x) in task.objectives.iter().enumerate() {
        for y in &task.objectives[i + 1..] {
            let at = |d: &SizedDesign| (d.performance.value(*x), d.performance.value(*y));
            let limits = task
                .bounds
                .iter()
                .filter_map(|b| {
                    let across = if b.objective == *x {
                        Across::X
                    } else if b.objective == *y {
                        Across::Y
                    } else {
                        return None;
                    };
                    let word = if b.objective.larger_is_better() { "at least" } else { "at most" };
                    Some(Limit { label: word.into(), at: b.value, across })
                })
                .collect();
            let points = sizing.front.iter().step_by(step).map(at).collect();
            let name = |o: Objective| o.title().split(['[', ',']).next().unwrap_or_default().trim();
            let better = |o: Objective| if o.larger_is_better() { "more" } else { "less" };
            panels.push(PlotPanel::Curve(CurveChart {
                title: format!("better: {} {}, {} {}", better(*x), name(*x), better(*y), name(*y)),
                x: Axis::linear(x.title()),
                y: Axis::linear(y.title()),
                series: vec![Series { line: false, ..Series::new("", points) }],
                limits,
                marks: vec![Mark { label: "chosen".into(), x: at(chosen).0, y: at(chosen).1 }],
                labels: SeriesLabels::Legend,
                ..CurveChart::default()
            }));
        }
    }
    Page {
        title: title.into(),
        caption: format!(
            "{} designs that no other of the {} tried beats in every objective, {} of them within every limit. The chosen one is nearest to the best of all, each by the share of the front that is better in it: {}.",
            sizing.front.len(),
            sizing.evaluated,
            sizing.feasible,
            chosen_line(task, chosen)
        ),
        columns: if panels.len() > 1 { 2 } else { 1 },
        panels,
        width: if task.objectives.len() > 2 { 1000.0 } else { 720.0 },
        ..Page::default()
    }
}

/// The designs of the front as lines over axes side by side: variables over their ranges, objectives from
/// their worst to their best on the front.
///
/// The sizing is that of the example of [`sizing_json`](crate::report::sizing_json).
#[must_use]
pub fn parallel_chart(title: &str, task: &SizingTask, sizing: &Sizing) -> CurveChart {
    let variables = task.space.ranges();
    let spans: Vec<(f64, f64)> = task
        .objectives
        .iter()
        .map(|o| {
            let values = sizing.front.iter().map(|d| d.performance.value(*o)).filter(|v| v.is_finite());
            let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
            if o.larger_is_better() { (low, high) } else { (high, low) }
        })
        .collect();
    let line = |d: &SizedDesign| -> Vec<(f64, f64)> {
        let share =
            |v: f64, (from, to): (f64, f64)| if (to - from).abs() > 0.0 { (v - from) / (to - from) } else { 1.0 };
        let first = variables.iter().zip(&d.values).map(|(r, v)| share(*v, (r.low, r.high)));
        let second = task.objectives.iter().zip(&spans).map(|(o, s)| share(d.performance.value(*o), *s));
        (1..).map(f64::from).zip(first.chain(second)).collect()
    };
    let last = sizing.front.len().saturating_sub(1);
    let count = LINES.min(sizing.front.len());
    let thirds = [2, 5, 1];
    let axes = variables.len() + task.objectives.len();
    // The axes below, black and solid; red is for limits.
    let upright = |k: usize| Series {
        markers: false,
        style: Some(13),
        ..Series::new("", vec![(k as f64, 0.0), (k as f64, 1.0)])
    };
    let mut series: Vec<Series> = (1..=axes).map(upright).collect();
    series.extend((0..count).map(|k| {
        let i = if count > 1 { k * last / (count - 1) } else { 0 };
        // The first objective is the best first.
        let third = (3 * k / count).min(2);
        let first_of_third = k == 0 || 3 * (k - 1) / count != 3 * k / count;
        let name = task.objectives[0].title().split(['[', ',']).next().unwrap_or_default().trim();
        let label = if first_of_third {
            format!("{} third by {name}", ["best", "middle", "last"][third])
        } else {
            String::new()
        };
        Series { markers: false, style: Some(thirds[third]), ..Series::new(&label, line(&sizing.front[i])) }
    }));
    series.push(Series { style: Some(0), ..Series::new("chosen", line(&sizing.front[sizing.chosen])) });
    let mut names = Vec::new();
    for (k, r) in variables.iter().enumerate() {
        names.push(format!("{} {} {} to {}", k + 1, r.variable.title(), number(r.low), number(r.high)));
    }
    for (k, (o, s)) in task.objectives.iter().zip(&spans).enumerate() {
        names.push(format!("{} {} {} to {}", variables.len() + k + 1, o.title(), number(s.0), number(s.1)));
    }
    CurveChart {
        title: title.into(),
        caption: format!(
            "Each line is a design of the front. Axes from 0 to 1: {}. Variables run over their ranges, objectives from their worst on the front to their best.",
            names.join("; ")
        ),
        x: Axis::between("axis, named below", 1.0, axes as f64),
        y: Axis::between("share of the axis", 0.0, 1.0),
        series,
        labels: SeriesLabels::Legend,
        width: 900.0,
        ..CurveChart::default()
    }
}

fn number(v: f64) -> String {
    let decimals = if v.abs() >= 100.0 {
        0
    } else if v.abs() >= 10.0 {
        1
    } else {
        2
    };
    format!("{v:.decimals$}")
}

/// Total Sobol indices of every objective, the largest first; `None` where none was computed.
///
/// Indices 1, with bootstrap errors as whiskers. The sizing is that of the
/// example of [`sizing_json`](crate::report::sizing_json).
#[must_use]
pub fn tornado_page(title: &str, task: &SizingTask, sizing: &Sizing) -> Option<Page> {
    let mut panels = Vec::new();
    let mut rows = usize::MAX;
    for s in &sizing.sensitivity {
        let Some(indices) = &s.indices else { continue };
        rows = rows.min(indices.rows);
        let mut order: Vec<usize> = (0..indices.total.len()).collect();
        order.sort_by(|a, b| indices.total[*b].best.total_cmp(&indices.total[*a].best));
        let round = |v: f64| (100.0 * v).round() / 100.0;
        let bars = order
            .into_iter()
            .map(|k| {
                let (first, total) = (indices.first[k], indices.total[k]);
                Bar {
                    label: task.space.ranges()[k].variable.title().into(),
                    value: round(total.best),
                    interval: Some(((total.best - 2.0 * total.error).max(0.0), total.best + 2.0 * total.error)),
                    note: format!("(alone {:.2})", round(first.best) + 0.0),
                    ..Bar::default()
                }
            })
            .collect();
        panels.push(PlotPanel::Bars(BarChart {
            title: s.objective.title().into(),
            axis: Axis::linear("total Sobol index"),
            bars,
            interval_name: "± two standard errors".into(),
            ..BarChart::default()
        }));
    }
    (!panels.is_empty()).then(|| Page {
        title: title.into(),
        caption: format!(
            "Share of an objective's variance over the ranges that would be left if every other variable were known; in brackets what the variable explains alone. {rows} rows of samples, bootstrap errors. Designs that break limits count too."
        ),
        columns: 1,
        panels,
        ..Page::default()
    })
}

/// Stall margin over pad size and throw around the chosen design, with the line at which a panel stalls.
///
/// Margin \[1/m\] over pad diameter and throw \[mm\], over their ranges or half to one and a half of the chosen
/// values; a search of a stalling sphere for each cell. The sizing is that of the
/// example of [`sizing_json`](crate::report::sizing_json).
#[must_use]
pub fn margin_chart(title: &str, task: &SizingTask, chosen: &SizedDesign) -> FieldMap {
    let range = |v: Variable, floor: f64| {
        let now = chosen.design.value(v);
        let given = task.space.ranges().iter().find(|r| r.variable == v).map(|r| (r.low, r.high));
        given.unwrap_or(((0.5 * now).max(floor), 1.5 * now))
    };
    let (x, y) = (range(Variable::PadDiameter, 10.0), range(Variable::Throw, 1.0));
    let (nx, ny) = CELLS;
    let at = |range: (f64, f64), i: usize, n: usize| range.0 + (range.1 - range.0) * (i as f64 + 0.5) / n as f64;
    let values = map_indexed(nx * ny, |k| {
        let (pad, throw) = (at(x, k % nx, nx), at(y, k / nx, ny));
        // The smaller throw first, so that no pad on the way is smaller than its throw.
        let base = chosen.design.clone();
        let changed = if throw < base.value(Variable::Throw) {
            base.with(Variable::Throw, throw).and_then(|d| d.with(Variable::PadDiameter, pad))
        } else {
            base.with(Variable::PadDiameter, pad).and_then(|d| d.with(Variable::Throw, throw))
        };
        changed.map_or(f64::NAN, |d| stall_margin(&d, &task.duty))
    });
    let now = (chosen.design.value(Variable::PadDiameter), chosen.design.value(Variable::Throw));
    // A ring, round on the picture.
    let (across, up) = (0.012 * (x.1 - x.0), 0.012 / ASPECT * (y.1 - y.0));
    let ring = (0..=48)
        .map(|k| (core::f64::consts::TAU * f64::from(k) / 48.0).sin_cos())
        .map(|(sin, cos)| ((now.0 + across * cos).clamp(x.0, x.1), (now.1 + up * sin).clamp(y.0, y.1)));
    // Far below the stall line, or where the face sticks, the colour says no more than that.
    let enough = task.duty.enough_margin_per_m;
    let lowest = values.iter().copied().filter(|v| v.is_finite()).fold(0.0, f64::min);
    let values = values.into_iter().map(|v| if v.is_nan() { v } else { v.max(-enough) }).collect();
    let words = if lowest < -enough { format!(", -{enough} and less likewise") } else { String::new() };
    let panels: Vec<String> =
        task.duty.fleet.panels().iter().map(|p| format!("{} {:.2}", p.name, p.patch.mean())).collect();
    FieldMap {
        title: title.into(),
        caption: format!(
            "Smallest distance of a panel's mean curvature from the sphere that stalls the pad, {enough} and more shown as that{words}; below 0 the pad stalls on a panel. Ring: the chosen design. Panels, per metre: {}. The rest as in the chosen design: {}.",
            panels.join(", "),
            chosen_line(task, chosen)
        ),
        x_title: "pad face diameter [mm]".into(),
        y_title: "throw, orbit diameter [mm]".into(),
        columns: nx,
        rows: ny,
        values,
        x_range: x,
        y_range: y,
        colour: ColourScale { title: "stall margin [1/m]".into(), map: ColourMap::Cividis, ..ColourScale::default() },
        contours: Contours::About(6),
        bold: Some(BoldLevel { at: 0.0, label: "stall line".into() }),
        paths: vec![PathOverlay { points: ring.collect(), ..PathOverlay::default() }],
        aspect: Some(ASPECT),
        ..FieldMap::default()
    }
}

/// The set-up with the range of rates that the sizing looks at, which its curves are drawn over; half to one
/// and a half of its own rate where that is no variable.
fn over_rates(task: &SizingTask, setup: Setup) -> Setup {
    let now = setup.tool().rate().opm();
    let range = task.space.ranges().iter().find(|r| r.variable == Variable::OrbitRate);
    let (low, high) = range.map_or((0.5 * now, 1.5 * now), |r| (r.low, r.high));
    let tool = setup.tool().clone().with_rate_range(AngularRate::from_opm(low), AngularRate::from_opm(high));
    // A range that the tool refuses leaves its own.
    tool.and_then(|t| setup.clone().with_tool(t)).unwrap_or(setup)
}

/// All pictures of a sizing, by the end of their file stem; `drag_range` are the factors that bound what is known
/// of the bearing drag.
///
/// The sizing is that of the example of [`sizing_json`](crate::report::sizing_json).
///
/// # Errors
/// [`PlotError`] from any of them.
pub fn sizing_pictures(
    step: &str,
    task: &SizingTask,
    sizing: &Sizing,
    drag_range: (f64, f64),
) -> Result<Vec<(&'static str, Figure)>, PlotError> {
    let chosen = &sizing.front[sizing.chosen];
    let mut out = vec![
        ("sizing-front", front_page(&format!("Best trade-offs: {step}"), task, sizing).figure()?),
        ("sizing-parallel", parallel_chart(&format!("Designs of the front: {step}"), task, sizing).figure()?),
    ];
    if let Some(page) = tornado_page(&format!("What matters: {step}"), task, sizing) {
        out.push(("sizing-tornado", page.figure()?));
    }
    let setup = &chosen.design.setup;
    if setup.tool().bearing().is_some() {
        let map = margin_chart(&format!("Where the pad would stall: {step}"), task, chosen);
        if map.values.iter().any(|v| v.is_finite()) {
            out.push(("sizing-margin", map.figure()?));
        }
        // The hollowest panel is the one that the curves are about.
        let tightest = task.duty.fleet.panels().iter().min_by(|a, b| a.patch.mean().total_cmp(&b.patch.mean()));
        let on = setup.clone().on(tightest.map_or(*setup.patch(), |p| p.patch));
        let on = over_rates(task, on);
        let mut curves = rate_chart(&on, drag_range, &task.duty.settings)?;
        for mark in &mut curves.marks {
            mark.label = "chosen, on its hollowest panel".into();
        }
        // A pad that stalls nowhere has no curve to show.
        if curves.series.iter().flat_map(|s| &s.points).any(|p| p.1.is_finite()) {
            out.push(("sizing-stall", curves.figure()?));
        }
    }
    Ok(out)
}
