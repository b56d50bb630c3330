//! What grains draw: traces beside each other, direction of scratches over a pass, roses, how fast the
//! gaps close, and the look under a lamp.

use crate::finish::Halo;
use crate::plan::{GrainTrace, TraceDrive};
use crate::plot::{
    Axis, ColourMap, ColourScale, Contours, CurveChart, FieldMap, Missing, Page, Panel as PlotPanel, PathOverlay,
    RoseChart, Series, SeriesLabels,
};
use crate::removal::Grid;
use crate::units::AngularRate;

fn rpm(d: &TraceDrive) -> String {
    format!("{}, {:.0} rpm", d.name, AngularRate::from_rad_s(d.spin).rpm())
}

/// One page: traces and direction maps of every drive, rose and closing of gaps.
///
/// Sliding length \[% of the largest, logarithmic\], anisotropy \[1\], direction \[°\], share touched \[%\] over
/// orbits. `caption` is put after the page's own. The trace is that of the
/// example of [`trace_json`](crate::report::trace_json).
#[must_use]
pub fn trace_page(title: &str, caption: &str, t: &GrainTrace) -> Page {
    let mut panels: Vec<PlotPanel> = t.drives.iter().map(|d| traces(t, d).into()).collect();
    panels.extend(t.drives.iter().map(|d| PlotPanel::from(direction(t, d))));
    panels.extend(roses(t));
    panels.push(gaps(t).into());
    Page {
        title: title.into(),
        caption: format!(
            "Top: {} grains standing for {:.0} orbits (a rotary pad for comparison turns as often); sliding length in a cell, of the largest. Then: anisotropy of the scratches after one pass at {:.0} mm/s, \
             0 where they run every way, 1 where all run one way. Roses: share of the work in each 10 degrees, half a radius beside the pass; the area of a sector is its share, rings as labelled. Gaps: 200 grains standing, share of the 0.5 mm cells under the whole orbit that they touch. {caption}",
            t.drawn.1,
            t.drawn.0,
            t.settings.feed_m_s * 1e3
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
            title: "log10 of length [%]".into(),
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
    let most = d.pass.work.iter().copied().fold(0.0, f64::max);
    let values = d
        .pass
        .orientation(t.smoothing_m)
        .iter()
        .zip(&d.pass.work)
        // What is barely touched has a direction of no meaning.
        .map(|(o, w)| o.filter(|_| *w > 0.01 * most).map_or(f64::NAN, |o| o.anisotropy))
        .collect();
    let title = format!("Anisotropy of the scratches, {}", d.name);
    over_grid(title, &t.pass_grid, values, ("anisotropy [1]", (0.0, 1.0)))
}

/// A map over the cells of a grid that starts at the origin, in cividis over a given range.
fn over_grid(title: String, grid: &Grid, values: Vec<f64>, (scale, range): (&str, (f64, f64))) -> FieldMap {
    let ((nx, ny), (dx, dy)) = (grid.count(), grid.cell());
    FieldMap {
        title,
        columns: nx,
        rows: ny,
        values,
        x_range: (0.0, 1e3 * nx as f64 * dx),
        y_range: (0.0, 1e3 * ny as f64 * dy),
        colour: ColourScale {
            title: scale.into(),
            map: ColourMap::Cividis,
            range: Some(range),
            ..ColourScale::default()
        },
        contours: Contours::None,
        missing: Missing::Paper,
        ..FieldMap::default()
    }
}

fn roses(t: &GrainTrace) -> impl Iterator<Item = PlotPanel> {
    let shares = |d: &TraceDrive| d.rose.as_ref().map(|r| r.shares.iter().map(|s| 100.0 * s).collect::<Vec<f64>>());
    let most = t.drives.iter().filter_map(shares).flatten().fold(0.0, f64::max);
    // One outer ring for all, at the next even percent.
    let outer = Some(2.0 * (0.5 * most).ceil()).filter(|o| *o > 0.0);
    t.drives.iter().enumerate().filter_map(move |(style, d)| {
        let rose = RoseChart {
            title: format!("Direction of the work, {}", d.name),
            shares: shares(d)?,
            outer,
            zero_name: "along the pass".into(),
            style,
            ..RoseChart::default()
        };
        Some(rose.into())
    })
}

fn gaps(t: &GrainTrace) -> CurveChart {
    CurveChart {
        title: "How fast the gaps close".into(),
        x: Axis::logarithmic("orbits"),
        y: Axis::between("paint touched [%]", 0.0, 105.0),
        series: t
            .drives
            .iter()
            .map(|d| Series::new(&d.name, d.touched.iter().map(|(n, s)| (*n, 100.0 * s)).collect()))
            .collect(),
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    }
}

/// Decades of luminance below the brightest that a halo is drawn over.
const HALO_DECADES: f64 = 3.0;

/// Halos under one lamp side by side on one scale, each with its name.
///
/// Luminance over that of a white card \[1, decades\]. `halos` carry their names; those of a trace stand in
/// its drives, see the example of [`trace_json`](crate::report::trace_json).
#[must_use]
pub fn halo_page(title: &str, caption: &str, halos: &[(String, &Halo)]) -> Page {
    let brightest = halos.iter().flat_map(|h| &h.1.luminance_factor).copied().fold(0.0, f64::max);
    let top = if brightest > 0.0 { brightest.log10().ceil() } else { 0.0 };
    Page {
        title: title.into(),
        caption: format!(
            "Light thrown to the eye by scratches, over that of a white matt card in the same place: a prediction with an assumed spread of the light, for comparison only. \
             The circle marks where the lamp is mirrored; its mirror image is left out. {caption}"
        ),
        columns: halos.len(),
        panels: halos.iter().map(|(name, h)| PlotPanel::from(halo_map(name, h, (top - HALO_DECADES, top)))).collect(),
        width: 1300.0,
        ..Page::default()
    }
}

fn halo_map(name: &str, halo: &Halo, range: (f64, f64)) -> FieldMap {
    let floor = 10.0_f64.powf(range.0);
    // Darker than the scale is its dark end.
    let values = halo.luminance_factor.iter().map(|v| v.max(floor).log10()).collect();
    let (x, y) = (1e3 * halo.mirror_place.0, 1e3 * halo.mirror_place.1);
    let ring = |k: u32| {
        let (sin, cos) = (core::f64::consts::TAU * f64::from(k) / 48.0).sin_cos();
        (x + 8.0 * cos, y + 8.0 * sin)
    };
    FieldMap {
        paths: vec![PathOverlay { points: (0..=48).map(ring).collect(), ..PathOverlay::default() }],
        ..over_grid(name.into(), &halo.grid, values, ("log10 of brightness, white card 0", range))
    }
}
