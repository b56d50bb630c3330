//! What grains draw: traces beside each other, direction of scratches over a pass, roses, and how fast the
//! gaps close.

use crate::plan::{GrainTrace, TraceDrive};
use crate::plot::{
    Axis, ColourMap, ColourScale, Contours, CurveChart, FieldMap, Missing, Page, Panel as PlotPanel, Series,
    SeriesLabels,
};
use crate::units::AngularRate;

fn rpm(d: &TraceDrive) -> String {
    format!("{}, {:.0} rpm", d.name, AngularRate::from_rad_s(d.spin).rpm())
}

/// One page: traces and direction maps of every drive, rose and closing of gaps.
#[must_use]
pub fn trace_page(title: &str, caption: &str, t: &GrainTrace) -> Page {
    let mut panels: Vec<PlotPanel> = t.drives.iter().map(|d| traces(t, d).into()).collect();
    panels.extend(t.drives.iter().map(|d| PlotPanel::from(direction(t, d))));
    panels.push(roses(t).into());
    panels.push(gaps(t).into());
    Page {
        title: title.into(),
        caption: format!(
            "Top: {} grains standing for {:.0} orbits (a rotary pad for comparison turns as often); sliding length in a cell, of the largest. Then: anisotropy of the scratches after one pass at 40 mm/s, \
             0 where they run every way, 1 where all run one way. Directions: half a radius beside the pass. Gaps: 200 grains standing, cells of 0.5 mm. {caption}",
            t.drawn.1, t.drawn.0
        ),
        columns: t.drives.len(),
        panels,
        width: 1300.0,
        ..Page::default()
    }
}

fn traces(t: &GrainTrace, d: &TraceDrive) -> FieldMap {
    let ((nx, ny), (dx, dy)) = (t.trace_grid.count(), t.trace_grid.cell());
    let half = (500.0 * nx as f64 * dx, 500.0 * ny as f64 * dy);
    let most = d.traces.iter().copied().fold(0.0, f64::max);
    let values =
        d.traces.iter().map(|v| if *v > 0.0 { (100.0 * v / most).log10().max(0.0) } else { f64::NAN }).collect();
    FieldMap {
        title: rpm(d),
        columns: nx,
        rows: ny,
        values,
        x_range: (-half.0, half.0),
        y_range: (-half.1, half.1),
        colour: ColourScale {
            title: "length, log10 %".into(),
            map: ColourMap::Viridis,
            range: Some((0.0, 2.0)),
            reversed: true,
            ..ColourScale::default()
        },
        blocks: true,
        missing: Missing::Paper,
        ..FieldMap::default()
    }
}

fn direction(t: &GrainTrace, d: &TraceDrive) -> FieldMap {
    let ((nx, ny), (dx, dy)) = (t.pass_grid.count(), t.pass_grid.cell());
    let most = d.pass.work.iter().copied().fold(0.0, f64::max);
    let values = d
        .pass
        .orientation(4e-3)
        .iter()
        .zip(&d.pass.work)
        // What is barely touched has a direction of no meaning.
        .map(|(o, w)| o.filter(|_| *w > 0.01 * most).map_or(f64::NAN, |o| o.anisotropy))
        .collect();
    FieldMap {
        title: format!("Order of the scratches, {}", d.name),
        columns: nx,
        rows: ny,
        values,
        x_range: (0.0, 1e3 * nx as f64 * dx),
        y_range: (0.0, 1e3 * ny as f64 * dy),
        colour: ColourScale {
            title: "anisotropy [1]".into(),
            map: ColourMap::Cividis,
            range: Some((0.0, 1.0)),
            ..ColourScale::default()
        },
        contours: Contours::None,
        missing: Missing::Paper,
        ..FieldMap::default()
    }
}

fn roses(t: &GrainTrace) -> CurveChart {
    let bins = t.drives.first().map_or(1, |d| d.rose.shares.len()) as f64;
    let most = t.drives.iter().flat_map(|d| &d.rose.shares).copied().fold(0.0, f64::max);
    CurveChart {
        title: "Which way the work goes".into(),
        x: Axis::between("direction, from the pass [degrees]", 0.0, 180.0),
        y: Axis::between("work per 10 degrees [%]", 0.0, 110.0 * most),
        series: t
            .drives
            .iter()
            .map(|d| {
                let at = |i: usize| 180.0 * (i as f64 + 0.5) / bins;
                Series::new(&d.name, d.rose.shares.iter().enumerate().map(|(i, s)| (at(i), 100.0 * s)).collect())
            })
            .collect(),
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    }
}

fn gaps(t: &GrainTrace) -> CurveChart {
    CurveChart {
        title: "How fast the gaps close".into(),
        x: Axis::logarithmic("orbits"),
        y: Axis::between("cells touched inside R - e [%]", 0.0, 105.0),
        series: t
            .drives
            .iter()
            .map(|d| Series::new(&d.name, d.touched.iter().map(|(n, s)| (*n, 100.0 * s)).collect()))
            .collect(),
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    }
}
