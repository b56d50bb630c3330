//! Pictures of a worked panel: fields over its plan, where the pad stalls, how large a pad still turns,
//! and the panel seen from the side.

use super::{Shown, machine_line};
use crate::plan::{StepTask, SurfaceWork, Survey, Work, ZoneKind};
use crate::plot::{
    BoldLevel, ColourMap, ColourScale, Contours, FieldMap, Figure, LineKind, LineOverlay, Missing, ObliqueView,
    PlotError, Sides, Strips,
};
use crate::spin::Setup;
use crate::units::{AngularRate, Length};

fn mm(v: f64) -> f64 {
    Length::from_m(v).mm()
}

/// Settings of a step on a real panel; its local shape is another at every place.
fn line_of(setup: &Setup) -> String {
    format!("{}; real panel", machine_line(setup))
}

fn in_mm(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    points.iter().map(|p| (mm(p.0), mm(p.1))).collect()
}

/// Most cells along a side of a picture; larger grids are thinned for the picture only.
const MOST_CELLS: usize = 900;

/// Edges and tape of a panel.
fn borders(w: &SurfaceWork) -> Vec<LineOverlay> {
    let loops = w.surface.heights().outline().loops().iter().map(|l| in_mm(l)).collect();
    let mut out = vec![LineOverlay::loops(LineKind::Edge, "free edge", loops)];
    let tape: Vec<_> = w.surface.tape().iter().flat_map(crate::panel::Outline::loops).map(|l| in_mm(l)).collect();
    if !tape.is_empty() {
        out.push(LineOverlay::loops(LineKind::Tape, "tape", tape));
    }
    for s in &w.sections {
        let loops = s.section.outline().loops().iter().map(|l| in_mm(l)).collect();
        out.push(LineOverlay::loops(LineKind::Section, "section", loops).numbered(&s.section.number().to_string()));
    }
    out
}

/// A map over the cells of a worked panel.
fn cell_map(
    w: &SurfaceWork,
    title: &str,
    caption: String,
    colour: ColourScale,
    value: impl Fn(usize) -> f64,
) -> FieldMap {
    let grid = &w.map.grid;
    let (nx, ny) = grid.count;
    let thin = nx.div_ceil(MOST_CELLS).max(ny.div_ceil(MOST_CELLS)).max(1);
    let (columns, rows) = (nx.div_ceil(thin), ny.div_ceil(thin));
    let mut values = Vec::with_capacity(columns * rows);
    for j in 0..rows {
        for i in 0..columns {
            let k = j * thin * nx + i * thin;
            values.push(if w.map.is_workable(k) { value(k) } else { f64::NAN });
        }
    }
    let size = (mm((columns * thin) as f64 * grid.cell), mm((rows * thin) as f64 * grid.cell));
    let from = (mm(grid.origin.0), mm(grid.origin.1));
    FieldMap {
        title: title.into(),
        caption,
        columns,
        rows,
        values,
        x_range: (from.0, from.0 + size.0),
        y_range: (from.1, from.1 + size.1),
        colour,
        contours: Contours::None,
        missing: Missing::Paper,
        lines: borders(w),
        strips: Strips::None,
        ..FieldMap::default()
    }
}

/// A map over the places of a survey.
fn place_map(
    w: &SurfaceWork,
    title: &str,
    caption: String,
    colour: ColourScale,
    value: impl Fn(&crate::plan::Place) -> f64,
) -> FieldMap {
    let s: &Survey = &w.survey;
    let half = 0.5 * s.step;
    let end = |from: f64, n: usize| mm(from - half + n as f64 * s.step);
    FieldMap {
        title: title.into(),
        caption,
        columns: s.count.0,
        rows: s.count.1,
        values: s.places.iter().map(|p| p.as_ref().map_or(f64::NAN, &value)).collect(),
        x_range: (mm(s.origin.0 - half), end(s.origin.0, s.count.0)),
        y_range: (mm(s.origin.1 - half), end(s.origin.1, s.count.1)),
        colour,
        contours: Contours::None,
        blocks: true,
        missing: Missing::Paper,
        lines: borders(w),
        strips: Strips::None,
        ..FieldMap::default()
    }
}

/// A field of a worked panel.
pub(super) fn field_chart(setup: &Setup, w: &SurfaceWork, shown: Shown, title: &str) -> FieldMap {
    let (name, map, summary, factor, unit) = match shown {
        Shown::Cut => ("cut [µm]", ColourMap::Viridis, w.cut, 1e6, "µm"),
        Shown::Coverage => ("coverage [m/m²]", ColourMap::Cividis, w.slide, w.map.grains_per_m2, "m/m²"),
        Shown::Dwell => ("dwell [s]", ColourMap::Cividis, w.dwell, 1.0, "s"),
    };
    let line = summary.map_or_else(
        || "Nothing is worked".to_owned(),
        |s| {
            format!(
                "Further than {:.0} mm from every edge: mean {:.3} {unit}, 5 to 95 % {:.3} to {:.3}",
                mm(w.map.reach_m),
                factor * s.mean,
                factor * s.p5,
                factor * s.p95
            )
        },
    );
    let colour = ColourScale { title: name.into(), map, ..ColourScale::default() };
    let value = |k: usize| match shown {
        Shown::Cut => w.map.cut(k) * 1e6,
        Shown::Coverage => w.map.field.slide[k] * w.map.grains_per_m2,
        Shown::Dwell => w.map.field.dwell[k],
    };
    let mut chart = cell_map(w, title, format!("{line}. {}.", line_of(setup)), colour, value);
    let first: Vec<Vec<(f64, f64)>> = w.path.lines().iter().filter(|l| l.pass == 0).map(|l| in_mm(&l.points)).collect();
    if !first.is_empty() && first.len() < 400 {
        chart.lines.push(LineOverlay::lines(LineKind::Pass, "lines of the first pass", first));
    }
    chart
}

/// A field of a worked panel, real or a rectangle.
///
/// As [`map_chart`](super::map_chart) on a rectangle; on a real panel the work is that of the
/// example of [`surface_csv`](crate::report::surface_csv).
#[must_use]
pub fn work_chart(setup: &Setup, work: &Work, shown: Shown, title: &str) -> FieldMap {
    match work {
        Work::Patch(map) => super::map_chart(setup, map, shown, title),
        Work::Surface(w) => field_chart(setup, w, shown, title),
    }
}

fn rpm(rad_s: f64) -> f64 {
    AngularRate::from_rad_s(rad_s).rpm()
}

/// Where the pad stalls: its spin, put down at places all over the panel, with the useful minimum as a
/// bold line.
///
/// Spin \[rpm\]; the work is that of the example of [`surface_csv`](crate::report::surface_csv).
#[must_use]
pub fn spin_chart(setup: &Setup, w: &SurfaceWork, title: &str) -> FieldMap {
    let useful = rpm(w.map.useful_spin);
    let (mut all, mut below, mut blank) = (0.0, 0.0, 0.0);
    for place in w.survey.worked() {
        all += 1.0;
        match place.state {
            Some(s) => below += if w.map.is_stalled(&s) { 1.0 } else { 0.0 },
            None => blank += 1.0,
        }
    }
    let share = |n: f64| 100.0 * n / f64::max(all, 1.0);
    let off = if blank > 0.0 {
        format!("; blank, {:.1} %: it bottoms out or tips off an edge", share(blank))
    } else {
        String::new()
    };
    let caption = format!(
        "Below {useful:.0} rpm the pad stalls: {:.1} % of the places, {:.0} mm apart{off}. {}.",
        share(below),
        mm(w.survey.step),
        line_of(setup)
    );
    let colour = ColourScale {
        title: "spin [rpm]".into(),
        map: ColourMap::Diverging,
        centre: Some((useful, "stalls below".into())),
        sides: Sides::Own,
        reversed: true,
        ..ColourScale::default()
    };
    let mut chart = place_map(w, title, caption, colour, |p| p.state.map_or(f64::NAN, |s| rpm(s.spin)));
    chart.bold = Some(BoldLevel { at: useful, label: format!("{useful:.0} rpm") });
    for (i, z) in w.zones.zones.iter().enumerate().filter(|(_, z)| z.kind == ZoneKind::Hollow) {
        let at = (mm(z.worst_at.0), mm(z.worst_at.1));
        let d = mm(0.5 * w.survey.step);
        let mark = vec![(at.0 - d, at.1 - d), (at.0 + d, at.1 - d), (at.0 + d, at.1 + d), (at.0 - d, at.1 + d)];
        chart
            .lines
            .push(LineOverlay::loops(LineKind::Zone, "slowest place", vec![mark]).numbered(&(i + 1).to_string()));
    }
    chart
}

/// Mean curvature below which a place without a stall number is a hollow and not nearly flat, 1/m: as
/// hollow as this, twenty times the relief is looked at and stalls any pad that does not bottom out.
const BARELY_HOLLOW: f64 = -0.1;

/// Stall number over the panel, where it has one.
///
/// S 1, on a map whose centre is 1; the work is that of the example of [`surface_csv`](crate::report::surface_csv).
#[must_use]
pub fn stall_number_chart(setup: &Setup, w: &SurfaceWork, title: &str) -> Option<FieldMap> {
    w.survey.worst_stall_number(0.0)?;
    let colour = ColourScale {
        title: "stall number S".into(),
        map: ColourMap::Diverging,
        centre: Some((1.0, "stalls from here on".into())),
        sides: Sides::Own,
        ..ColourScale::default()
    };
    let caption = format!(
        "How much of the relief that would stall the pad is there; 1 and more stalls, 0 on a flat or a crown. Blank: a \
         hollow in which the pad would bottom out before it stalls. {}.",
        line_of(setup)
    );
    let value = |p: &crate::plan::Place| match p.stall_number {
        Some(s) => s,
        None if p.mean_curvature_per_m < BARELY_HOLLOW => f64::NAN,
        None => 0.0,
    };
    let mut chart = place_map(w, title, caption, colour, value);
    chart.bold = Some(BoldLevel { at: 1.0, label: "S = 1".into() });
    Some(chart)
}

/// The largest pad of the same make that still turns at each place.
///
/// Diameter \[mm\]; `None` where none was looked for; the work is that of the
/// example of [`surface_csv`](crate::report::surface_csv).
#[must_use]
pub fn largest_pad_chart(setup: &Setup, w: &SurfaceWork, title: &str) -> Option<FieldMap> {
    let any = w.survey.worked().any(|p| p.largest_pad_m.is_some());
    let colour =
        ColourScale { title: "largest pad that turns [mm]".into(), map: ColourMap::Viridis, ..ColourScale::default() };
    let caption = format!(
        "Pads of this make at the same force, in steps of 10 mm from 30 mm up to half as large again; blank: none turns. {}.",
        line_of(setup)
    );
    let value = |p: &crate::plan::Place| p.largest_pad_m.map_or(f64::NAN, mm);
    any.then(|| place_map(w, title, caption, colour, value))
}

/// Largest pressure that each place met.
///
/// Pressure \[kPa\]; the work is that of the example of [`surface_csv`](crate::report::surface_csv).
#[must_use]
pub fn pressure_chart(setup: &Setup, w: &SurfaceWork, title: &str) -> FieldMap {
    let colour = ColourScale { title: "peak pressure [kPa]".into(), map: ColourMap::Cividis, ..ColourScale::default() };
    let caption = format!(
        "Largest over all passes and the orbit; {:.1} kPa on a flat. {}.",
        w.zones.flat_peak_pa / 1e3,
        line_of(setup)
    );
    cell_map(w, title, caption, colour, |k| w.map.field.peak[k] / 1e3)
}

/// The panel from the side, coloured by the cut.
///
/// Cut \[µm\]; a large grid is thinned; the work is that of the
/// example of [`surface_csv`](crate::report::surface_csv).
#[must_use]
pub fn oblique_view(setup: &Setup, w: &SurfaceWork, title: &str) -> ObliqueView {
    let grid = &w.map.grid;
    let (nx, ny) = grid.count;
    let thin = nx.div_ceil(500).max(ny.div_ceil(500)).max(1);
    let (columns, rows) = (nx.div_ceil(thin).max(2), ny.div_ceil(thin).max(2));
    let (mut heights, mut values) = (Vec::new(), Vec::new());
    for j in 0..rows {
        for i in 0..columns {
            let (a, b) = ((i * thin).min(nx - 1), (j * thin).min(ny - 1));
            let k = b * nx + a;
            let (x, y) = grid.centre(a, b);
            let on = w.map.edge[k] >= 0.0;
            heights.push(if on { mm(w.surface.heights().height_at(x, y)) } else { f64::NAN });
            values.push(if w.map.is_workable(k) { w.map.cut(k) * 1e6 } else { f64::NAN });
        }
    }
    let (low, high) =
        heights.iter().filter(|z| z.is_finite()).fold((f64::MAX, f64::MIN), |(a, b), z| (a.min(*z), b.max(*z)));
    let first = grid.centre(0, 0);
    let last = grid.centre(((columns - 1) * thin).min(nx - 1), ((rows - 1) * thin).min(ny - 1));
    let wide = mm((last.0 - first.0).max(last.1 - first.1));
    // A panel whose relief is under a twelfth of its size is drawn with it raised, and the caption says so.
    let exaggeration = if high > low && (high - low) < wide / 12.0 {
        (wide / 12.0 / (high - low)).clamp(1.0, 10.0).floor().max(1.0)
    } else {
        1.0
    };
    ObliqueView {
        title: title.into(),
        caption: format!("{}.", line_of(setup)),
        columns,
        rows,
        heights,
        values,
        x_range: (mm(first.0), mm(last.0)),
        y_range: (mm(first.1), mm(last.1)),
        colour: ColourScale { title: "cut [µm]".into(), map: ColourMap::Viridis, ..ColourScale::default() },
        exaggeration,
        lines: borders(w),
        missing_name: "not worked".into(),
        ..ObliqueView::default()
    }
}

/// Every picture of a worked panel, by the end of its file stem.
///
/// [`spin_chart`], [`pressure_chart`], [`oblique_view`], and those that the panel has a value for; the work is that of the
/// example of [`surface_csv`](crate::report::surface_csv).
///
/// # Errors
/// [`PlotError`] for a panel too large to draw.
pub fn surface_pictures(
    step: &str,
    task: &StepTask,
    w: &SurfaceWork,
) -> Result<Vec<(&'static str, Figure)>, PlotError> {
    let setup = &task.setup;
    let mut out = vec![
        ("spin", spin_chart(setup, w, &format!("Where this pad stalls: {step}")).figure()?),
        ("pressure", pressure_chart(setup, w, &format!("Peak pressure: {step}")).figure()?),
        ("view", oblique_view(setup, w, &format!("Cut over the panel: {step}")).figure()?),
    ];
    if let Some(c) = stall_number_chart(setup, w, &format!("Stall number: {step}")) {
        out.push(("stall-number", c.figure()?));
    }
    if let Some(c) = largest_pad_chart(setup, w, &format!("Largest pad that still turns: {step}")) {
        out.push(("largest-pad", c.figure()?));
    }
    Ok(out)
}
