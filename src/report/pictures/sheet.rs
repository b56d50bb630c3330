//! The comparison sheet: set-ups side by side on one page with common scales.

use super::{Shown, points, work_chart};
use crate::plan::{Candidate, Criterion, StepPlan};
use crate::plot::{
    Axis, Bar, BarChart, BarLimit, CurveChart, Figure, Limit, Mark, Page, Panel as PlotPanel, PlotError, Series,
    SeriesLabels, Strips,
};
use crate::spin::{Against, StallSettings, stall_curve, sweep_values};

/// The comparison sheet: cut maps on one colour scale, stall curves on one pair of axes, and one bar
/// chart a criterion with the best set-up first.
///
/// `plans` stand in the order of `candidates`. Each criterion keeps its own unit on its axis. Made from what
/// [`compare`](crate::plan::compare) gives; a map alone stands in the example of [`map_chart`](super::map_chart).
///
/// # Errors
/// [`PlotError`] from drawing.
pub fn comparison_sheet(
    candidates: &[&Candidate],
    plans: &[&StepPlan],
    settings: &StallSettings,
) -> Result<Figure, PlotError> {
    let mut panels: Vec<PlotPanel> = candidates
        .iter()
        .zip(plans)
        .map(|(c, p)| {
            let mut map = work_chart(&c.task.setup, &p.work, Shown::Cut, &format!("Cut: {}", c.name));
            map.caption = String::new();
            map.paths.clear();
            map.strips = Strips::None;
            PlotPanel::Field(map)
        })
        .collect();
    panels.extend(stall_curves(candidates, settings).map(PlotPanel::Curve));
    panels.extend(
        Criterion::ALL
            .iter()
            .filter(|c| plans.iter().any(|p| c.value(p).is_some()))
            .map(|c| PlotPanel::Bars(criterion_bars(*c, candidates, plans))),
    );
    Page {
        title: "Set-ups compared".into(),
        caption: "Maps share one colour scale; dashed: the area that the pad covers on every side. In the curves a pad stalls below its own;                   the rings are the set-ups on this panel. Bars: best first; a colour stands for one set-up throughout."
            .into(),
        columns: 2,
        shared_colour: true,
        panels,
        ..Page::default()
    }
    .figure()
}

fn criterion_bars(criterion: Criterion, candidates: &[&Candidate], plans: &[&StepPlan]) -> BarChart {
    let bars = crate::plan::rank(criterion, plans)
        .into_iter()
        .map(|i| Bar {
            label: candidates[i].name.clone(),
            value: criterion.value(plans[i]).unwrap_or(f64::NAN),
            note: if plans[i].state.stalled { "stalls".into() } else { String::new() },
            style: i,
            ..Bar::default()
        })
        .collect();
    let limits = if criterion == Criterion::StallNumber {
        vec![BarLimit { label: "stalls".into(), at: 1.0 }]
    } else {
        Vec::new()
    };
    let mut title = criterion.title().split(['[', ',']).next().unwrap_or_default().trim().to_owned();
    if let Some(first) = title.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    BarChart { title, axis: Axis::linear(criterion.title()), bars, limits, ..BarChart::default() }
}

/// Stall curves of every free set-up against orbit rate; `None` where no drive is free.
fn stall_curves(candidates: &[&Candidate], settings: &StallSettings) -> Option<CurveChart> {
    let mut series = Vec::new();
    let mut marks: Vec<Mark> = Vec::new();
    for (style, c) in candidates.iter().enumerate() {
        let setup = &c.task.setup;
        if setup.tool().bearing().is_none() {
            continue;
        }
        let rates = sweep_values(setup, Against::OrbitRate);
        let curve = stall_curve(setup, Against::OrbitRate, &rates, settings, 1.0);
        if curve.iter().any(|o| o.curvature().is_some()) {
            series.push(Series { style: Some(style), ..Series::new(&c.name, points(&rates, &curve)) });
        }
        let (x, y) = (setup.tool().rate().opm(), setup.patch().dominant());
        // Set-ups that stand at one place share its ring.
        match marks.iter_mut().find(|m| (m.x - x).abs() < 1e-6 && (m.y - y).abs() < 1e-9) {
            Some(mark) => mark.label = "several".into(),
            None => marks.push(Mark { label: c.name.clone(), x, y }),
        }
    }
    (!series.is_empty()).then(|| CurveChart {
        title: "Where each set-up stalls".into(),
        x: Axis::linear("orbit rate [orbits/min]"),
        y: Axis::linear("curvature [1/m], − hollow, + crown"),
        series,
        limits: vec![Limit { label: "flat".into(), at: 0.0, ..Limit::default() }],
        marks,
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    })
}
