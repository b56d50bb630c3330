//! Layout and drawing of a [`CurveChart`].

use super::canvas::{Anchor, Area, Canvas, Lettering, Place, Stroke, clip_polygon};
use super::curve::{Across, Band, CurveChart, Limit, Region, RegionShape, Series, SeriesLabels};
use super::frame::{
    Axes, Heading, Legend, Sample, TICK, fit_across, fit_up, lines, tick_column, tick_row, title_room, upward_lines,
};
use super::place::{Clutter, spread};
use super::scale::Scale;
use super::theme::{AXIS, Colour, INK, LABEL, LEADING, LIMIT, LIMIT_DASH, LINE, Marker, PAPER, series_style};
use super::{PlotError, Setting};

const REGION: Colour = (176, 60, 40);
const REGION_ALPHA: f64 = 0.13;
const BAND_ALPHA: f64 = 0.25;
/// Gap between the plot and the labels at the line ends, crossed by leaders.
const LEAD: f64 = 26.0;

/// What a name at the right border belongs to: a series or a horizontal limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Source {
    Series(usize),
    Limit(usize),
}

/// A name at the right border, wrapped.
type Name = (Source, Vec<String>);

struct Layout {
    heading: Heading,
    legend: Legend,
    x_title: Vec<String>,
    y_title: Vec<String>,
    second_title: Vec<String>,
    axes: Axes,
    /// Wrapped names at the line ends; empty if in the legend.
    ends: Vec<Name>,
}

fn stroke_of(series: &Series, index: usize) -> (Stroke, Marker) {
    let (colour, dash, marker) = series_style(series.style.unwrap_or(index));
    (Stroke::new(2.2, colour).dashed(dash), marker)
}

fn series_sample(series: &Series, index: usize) -> Sample {
    let (stroke, marker) = stroke_of(series, index);
    let stroke = Stroke { width: if series.line { stroke.width } else { 0.0 }, ..stroke };
    Sample::Line(stroke, series.markers.then_some(marker))
}

/// Everything but the place of the page; the plot's top left is relative to the
/// area's.
fn layout(chart: &CurveChart, width: f64, setting: Setting) -> Result<Layout, PlotError> {
    let fonts = super::font::fonts()?;
    let heading = Heading::new(fonts, &chart.title, &chart.caption, width, setting);
    let (x_span, y_span) = chart.spans()?;
    let x_span = setting.x_range.unwrap_or(x_span);
    let y_span = setting.y_range.unwrap_or(y_span);
    let plot_height = (width * 0.54).clamp(190.0, 620.0);
    let top = heading.top + 0.5 * LABEL;
    let y = Scale::new(y_span, chart.y.log, top + plot_height, top);
    let y_ticks = fit_up(&y);
    let y_title = fonts.wrap(&chart.y.title, AXIS, false, plot_height);
    let left = title_room(&y_title) + 4.0 + tick_column(fonts, &y_ticks);

    let mut second_title = Vec::new();
    let mut right = 0.0;
    if let Some(second) = &chart.second_y {
        second_title = fonts.wrap(&second.title, AXIS, false, plot_height);
        let labels =
            second.ticks.iter().filter(|t| y.holds(t.0)).map(|t| fonts.width(&t.1, LABEL, false)).fold(0.0, f64::max);
        right = TICK + 5.0 + labels + 6.0 + title_room(&second_title);
    }
    let named = chart.series.iter().any(|s| !s.label.is_empty());
    let mut ends = Vec::new();
    if named && chart.labels == SeriesLabels::LineEnds && chart.second_y.is_none() {
        let most = (width * 0.27).max(90.0);
        let series = chart.series.iter().enumerate().map(|(i, s)| {
            let missing = !s.points.iter().any(|p| p.0.is_finite() && p.1.is_finite());
            let label =
                if missing && !s.label.is_empty() { format!("{} (no values)", s.label) } else { s.label.clone() };
            (Source::Series(i), label)
        });
        let limits = chart.limits.iter().enumerate();
        let limits = limits
            .filter(|(_, l)| l.across == Across::Y && y.holds(l.at))
            .map(|(i, l)| (Source::Limit(i), l.label.clone()));
        let wrapped: Vec<Name> = series
            .chain(limits)
            .map(|(source, label)| (source, fonts.wrap(&label, LABEL, false, most)))
            .filter(|(_, text)| !text.is_empty())
            .collect();
        let tall: f64 = wrapped.iter().map(|(_, text)| end_height(text)).sum();
        if tall <= plot_height {
            let wide =
                wrapped.iter().flat_map(|(_, text)| text).map(|l| fonts.width(l, LABEL, false)).fold(0.0, f64::max);
            right = LEAD + Sample::WIDTH + 6.0 + wide;
            ends = wrapped;
        }
    }
    let legend = Legend::new(fonts, &entries(chart, ends.is_empty()), width);

    // Room for half of the last x label, which hangs over the end of the axis.
    let mut overhang = right.max(6.0);
    let mut x = Scale::new(x_span, chart.x.log, left, width - overhang);
    let mut x_ticks = fit_across(fonts, &x);
    if let Some(last) = x_ticks.iter().rev().find(|t| !t.label.is_empty()) {
        let need = 0.5 * fonts.width(&last.label, LABEL, false) + 2.0;
        let room = width - x.place(last.at);
        if room < need {
            overhang += need - room;
            x = Scale::new(x_span, chart.x.log, left, width - overhang);
            x_ticks = fit_across(fonts, &x);
        }
    }
    let plot = Area::new(left, top, width - overhang, top + plot_height);
    let x_title = fonts.wrap(&chart.x.title, AXIS, false, plot.width());
    Ok(Layout { heading, legend, x_title, y_title, second_title, axes: Axes { plot, x, y, x_ticks, y_ticks }, ends })
}

fn end_height(text: &[String]) -> f64 {
    if text.is_empty() { 0.0 } else { text.len() as f64 * LABEL * LEADING + 2.0 }
}

fn entries(chart: &CurveChart, with_series: bool) -> Vec<(Sample, String)> {
    let mut entries = Vec::new();
    if with_series {
        for (i, s) in chart.series.iter().enumerate() {
            if !s.label.is_empty() {
                entries.push((series_sample(s, i), s.label.clone()));
            }
        }
    }
    for band in chart.bands.iter().filter(|b| !b.label.is_empty()) {
        let colour = series_style(band.style).0;
        entries.push((Sample::Patch(colour, BAND_ALPHA), band.label.clone()));
    }
    entries
}

pub(crate) fn height(chart: &CurveChart, width: f64, setting: Setting) -> Result<f64, PlotError> {
    let l = layout(chart, width, setting)?;
    Ok(foot(&l) + l.legend.height() + l.heading.bottom)
}

fn foot(l: &Layout) -> f64 {
    l.axes.plot.bottom + tick_row() + title_room(&l.x_title)
}

pub(crate) fn draw(chart: &CurveChart, canvas: &mut Canvas, area: Area, setting: Setting) -> Result<(), PlotError> {
    let mut l = layout(chart, area.width(), setting)?;
    let foot = area.top + foot(&l);
    let axes = &mut l.axes;
    axes.plot = axes.plot.within(&area);
    axes.x = Scale::new((axes.x.low, axes.x.high), axes.x.log, axes.plot.left, axes.plot.right);
    axes.y = Scale::new((axes.y.low, axes.y.high), axes.y.log, axes.plot.bottom, axes.plot.top);
    let axes = &l.axes;

    let regions: Vec<Vec<Place>> = chart.regions.iter().map(|r| region(r, axes)).collect();
    for shape in &regions {
        canvas.fill(shape.clone(), REGION, REGION_ALPHA);
    }
    axes.grid(canvas);
    for b in &chart.bands {
        band(canvas, b, axes);
    }
    let mut clutter = Clutter::default();
    limit_lines(chart, canvas, axes, &mut clutter);
    // Below the curves, so that markers on the frame stay whole.
    axes.frame(canvas);
    let curves: Vec<Vec<Place>> =
        chart.series.iter().map(|s| s.points.iter().map(|p| axes.at(p.0, p.1)).collect()).collect();
    for (i, (s, points)) in chart.series.iter().zip(&curves).enumerate() {
        clutter.avoid(&reduced(points));
        curve(canvas, s, i, points, axes.plot);
    }
    axes.titles(canvas, area.left, &l.x_title, &l.y_title);
    second_axis(chart, canvas, axes, area.right, &l.second_title);
    if !l.ends.is_empty() {
        end_labels(chart, canvas, axes, &curves, &l.ends);
    }
    for m in &chart.marks {
        let (x, y) = axes.at(m.x, m.y);
        clutter.take(Area::new(x - 8.0, y - 8.0, x + 8.0, y + 8.0));
    }
    marks(chart, canvas, axes, &mut clutter);
    limit_words(chart, canvas, axes, &mut clutter, l.ends.is_empty());
    for (r, shape) in chart.regions.iter().zip(&regions) {
        region_word(canvas, r, shape, axes.plot, &mut clutter);
    }
    l.heading.draw_with(&l.legend, canvas, area, foot);
    Ok(())
}

fn region(region: &Region, axes: &Axes) -> Vec<Place> {
    let plot = axes.plot;
    let shape = match &region.shape {
        RegionShape::Columns(a, b) => {
            let (a, b) = (axes.x.place(*a), axes.x.place(*b));
            vec![(a, plot.top), (b, plot.top), (b, plot.bottom), (a, plot.bottom)]
        }
        RegionShape::Rows(a, b) => {
            let (a, b) = (axes.y.place(*a), axes.y.place(*b));
            vec![(plot.left, a), (plot.right, a), (plot.right, b), (plot.left, b)]
        }
        RegionShape::Above(points) | RegionShape::Below(points) => {
            let edge = if matches!(region.shape, RegionShape::Above(_)) { plot.top } else { plot.bottom };
            let mut shape: Vec<Place> =
                points.iter().map(|p| axes.at(p.0, p.1)).filter(|p| p.0.is_finite() && p.1.is_finite()).collect();
            if let (Some(first), Some(last)) = (shape.first().copied(), shape.last().copied()) {
                shape.push((last.0, edge));
                shape.push((first.0, edge));
            }
            shape
        }
        RegionShape::Polygon(points) => points.iter().map(|p| axes.at(p.0, p.1)).collect(),
    };
    clip_polygon(&shape, plot)
}

fn band(canvas: &mut Canvas, band: &Band, axes: &Axes) {
    let colour = series_style(band.style).0;
    let lower: Vec<Place> = band.lower.iter().map(|p| axes.at(p.0, p.1)).collect();
    let upper: Vec<Place> = band.upper.iter().map(|p| axes.at(p.0, p.1)).collect();
    let mut shape = lower.clone();
    shape.extend(upper.iter().rev());
    canvas.fill_within(&shape, colour, BAND_ALPHA, axes.plot);
    let edge = Stroke::new(0.9, colour);
    canvas.line_within(&lower, edge, axes.plot);
    canvas.line_within(&upper, edge, axes.plot);
}

fn curve(canvas: &mut Canvas, series: &Series, index: usize, points: &[Place], plot: Area) {
    let (stroke, marker) = stroke_of(series, index);
    if series.line {
        canvas.line_within(&reduced(points), stroke, plot);
    }
    if !series.markers {
        return;
    }
    let near = plot.grown(0.5);
    let shown: Vec<Place> = points
        .iter()
        .copied()
        .filter(|p| p.0 >= near.left && p.0 <= near.right && p.1 >= near.top && p.1 <= near.bottom)
        .collect();
    // Every point where they are few or no line joins them, else about a dozen,
    // shifted from series to series so that bundles stay apart.
    let stride = if series.line && shown.len() > 14 { shown.len().div_ceil(11) } else { 1 };
    let start = if stride > 1 { (index * stride / 3) % stride } else { 0 };
    for p in shown.iter().skip(start).step_by(stride) {
        canvas.marker(marker, *p, 4.2, stroke.colour);
    }
}

/// Of many points in a column half a unit wide keeps the first, lowest, highest and
/// last: the ink is the same, the file is not.
fn reduced(points: &[Place]) -> Vec<Place> {
    let column = |p: &Place| (2.0 * p.0).floor();
    let together = |a: &Place, b: &Place| a.1.is_finite() && b.1.is_finite() && (column(a) - column(b)).abs() < 0.5;
    let mut kept = Vec::with_capacity(points.len().min(8192));
    for run in points.chunk_by(together) {
        if run.len() <= 4 {
            kept.extend_from_slice(run);
            continue;
        }
        let order = |a: &usize, b: &usize| run[*a].1.total_cmp(&run[*b].1);
        let low = (0..run.len()).min_by(order).unwrap_or(0);
        let high = (0..run.len()).max_by(order).unwrap_or(0);
        for i in [0, low.min(high), low.max(high), run.len() - 1] {
            kept.push(run[i]);
        }
    }
    kept
}

fn limit_lines(chart: &CurveChart, canvas: &mut Canvas, axes: &Axes, clutter: &mut Clutter) {
    let stroke = Stroke::new(2.0, LIMIT).dashed(LIMIT_DASH);
    let plot = axes.plot;
    for limit in &chart.limits {
        let ends = match limit.across {
            Across::X => {
                let x = axes.x.place(limit.at);
                [(x, plot.top), (x, plot.bottom)]
            }
            Across::Y => {
                let y = axes.y.place(limit.at);
                [(plot.left, y), (plot.right, y)]
            }
        };
        canvas.line_within(&ends, stroke, plot);
        clutter.avoid(&ends);
    }
}

/// Words on limit lines: above or below a horizontal one (unless it is named at its
/// end), beside a vertical one.
fn limit_words(chart: &CurveChart, canvas: &mut Canvas, axes: &Axes, clutter: &mut Clutter, horizontal: bool) {
    let plot = axes.plot;
    let inner = plot.grown(-2.0);
    let tall = LABEL * 1.2;
    let wanted = |l: &&Limit| !l.label.is_empty() && (horizontal || l.across == Across::X);
    for limit in chart.limits.iter().filter(wanted) {
        let wide = canvas.fonts.width(&limit.label, LABEL, false) + 6.0;
        let shares = [0.02, 0.98, 0.25, 0.75, 0.5, 0.1, 0.9, 0.38, 0.62];
        let mut candidates = Vec::new();
        for side in [-1.0, 1.0] {
            for share in shares {
                candidates.push(match limit.across {
                    Across::Y => {
                        let y = axes.y.place(limit.at) + side * (0.5 * tall + 3.0);
                        let x = plot.left + share * (plot.width() - wide);
                        Area::new(x, y - 0.5 * tall, x + wide, y + 0.5 * tall)
                    }
                    Across::X => {
                        let x = axes.x.place(limit.at) + side * (0.5 * tall + 3.0);
                        let y = plot.top + share * (plot.height() - wide);
                        Area::new(x - 0.5 * tall, y, x + 0.5 * tall, y + wide)
                    }
                });
            }
        }
        let Some((area, cost)) = clutter.choose(candidates, &inner) else {
            continue;
        };
        if cost > 0 {
            canvas.block(area, PAPER, 0.82);
        }
        let ink = Lettering::new(LABEL, LIMIT).at(Anchor::Middle);
        let ink = if limit.across == Across::X { ink.upward() } else { ink };
        canvas.text_mid(area.centre(), &limit.label, ink);
    }
}

fn marks(chart: &CurveChart, canvas: &mut Canvas, axes: &Axes, clutter: &mut Clutter) {
    let inner = axes.plot.grown(-2.0);
    for mark in &chart.marks {
        let (x, y) = axes.at(mark.x, mark.y);
        let held = Area::new(x, y, x, y);
        if !held.inside(&axes.plot.grown(0.5)) {
            continue;
        }
        canvas.disc((x, y), 7.6, PAPER);
        canvas.disc((x, y), 6.2, INK);
        canvas.disc((x, y), 3.0, PAPER);
        if mark.label.is_empty() {
            continue;
        }
        let most = axes.plot.width() * 0.5;
        let text = canvas.fonts.wrap(&mark.label, LABEL, true, most);
        let wide = text.iter().map(|l| canvas.fonts.width(l, LABEL, true)).fold(0.0, f64::max) + 6.0;
        let tall = text.len() as f64 * LABEL * LEADING;
        let mut candidates = Vec::new();
        for gap in [10.0, 24.0, 44.0, 70.0, 100.0] {
            for (sx, sy) in
                [(1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0)]
            {
                let cx = x + sx * (0.5 * wide + gap * 0.8);
                let cy = y + sy * (0.5 * tall + gap * 0.8);
                candidates.push(Area::new(cx - 0.5 * wide, cy - 0.5 * tall, cx + 0.5 * wide, cy + 0.5 * tall));
            }
        }
        // A name beside another point than its own would be read as that one's.
        let away = |a: &Area, p: Place| (p.0.clamp(a.left, a.right) - p.0).hypot(p.1.clamp(a.top, a.bottom) - p.1);
        let others: Vec<Place> = chart.marks.iter().filter(|m| *m != mark).map(|m| axes.at(m.x, m.y)).collect();
        let own: Vec<Area> =
            candidates.iter().copied().filter(|a| others.iter().all(|o| away(a, *o) > away(a, (x, y)) + 6.0)).collect();
        let candidates = if own.is_empty() { candidates } else { own };
        if let Some((area, cost)) = clutter.choose(candidates, &inner) {
            let foot = (x.clamp(area.left, area.right), y.clamp(area.top, area.bottom));
            if (foot.0 - x).hypot(foot.1 - y) > 16.0 {
                canvas.line(&[(x, y), foot], Stroke::new(1.2, INK));
                canvas.disc((x, y), 6.2, INK);
                canvas.disc((x, y), 3.0, PAPER);
            }
            if cost > 0 {
                canvas.block(area, PAPER, 0.82);
            }
            let ink = Lettering::new(LABEL, INK).bold();
            lines(canvas, (area.left + 3.0, area.top), &text, ink);
        }
    }
}

fn holds(shape: &[Place], p: Place) -> bool {
    let mut inside = false;
    for (i, b) in shape.iter().enumerate() {
        let a = shape[(i + shape.len() - 1) % shape.len()];
        if (a.1 > p.1) != (b.1 > p.1) && p.0 < (b.0 - a.0) * (p.1 - a.1) / (b.1 - a.1) + a.0 {
            inside = !inside;
        }
    }
    inside
}

/// The word of a region where there is most room around it.
fn region_word(canvas: &mut Canvas, region: &Region, shape: &[Place], plot: Area, clutter: &mut Clutter) {
    if shape.len() < 3 || region.label.is_empty() {
        return;
    }
    let middle = (
        shape.iter().map(|p| p.0).sum::<f64>() / shape.len() as f64,
        shape.iter().map(|p| p.1).sum::<f64>() / shape.len() as f64,
    );
    for em in [AXIS, LABEL, 12.5] {
        let wide = canvas.fonts.width(&region.label, em, false) + 8.0;
        let tall = em * 1.3;
        let mut candidates: Vec<(f64, Area)> = Vec::new();
        for row in 0..24 {
            for column in 0..24 {
                let x = plot.left + (f64::from(column) + 0.5) / 24.0 * plot.width();
                let y = plot.top + (f64::from(row) + 0.5) / 24.0 * plot.height();
                let area = Area::new(x - 0.5 * wide, y - 0.5 * tall, x + 0.5 * wide, y + 0.5 * tall);
                let edges = area.corners();
                if edges.iter().all(|c| holds(shape, *c)) {
                    let away = (x - middle.0).hypot(y - middle.1);
                    candidates.push((away, area));
                }
            }
        }
        candidates.sort_by(|a, b| a.0.total_cmp(&b.0));
        let found = clutter.choose(candidates.into_iter().map(|c| c.1), &plot.grown(-2.0));
        if let Some((area, cost)) = found {
            if cost > 0 {
                canvas.block(area, PAPER, 0.7);
            }
            let ink = Lettering::new(em, (120, 30, 16)).at(Anchor::Middle);
            canvas.text_mid(area.centre(), &region.label, ink);
            return;
        }
    }
}

fn second_axis(chart: &CurveChart, canvas: &mut Canvas, axes: &Axes, right: f64, title: &[String]) {
    let Some(second) = &chart.second_y else {
        return;
    };
    let edge = axes.plot.right;
    let mut used: Vec<f64> = Vec::new();
    for (at, label) in &second.ticks {
        if !axes.y.holds(*at) {
            continue;
        }
        let y = axes.y.place(*at);
        if used.iter().any(|u| (u - y).abs() < LABEL * 1.2) {
            continue;
        }
        used.push(y);
        canvas.line(&[(edge, y), (edge + TICK, y)], Stroke::new(1.2, INK));
        canvas.text_mid((edge + TICK + 5.0, y), label, Lettering::new(LABEL, INK));
    }
    let left = right - title_room(title) + 3.0;
    upward_lines(canvas, left, axes.plot.centre().1, title, AXIS);
}

/// Names beside the plot, each led from the end of its line.
fn end_labels(chart: &CurveChart, canvas: &mut Canvas, axes: &Axes, curves: &[Vec<Place>], ends: &[Name]) {
    let plot = axes.plot;
    let mut rows: Vec<(&Name, Option<Place>)> = ends
        .iter()
        .map(|end| match end.0 {
            Source::Series(i) => (end, visible_end(&curves[i], plot)),
            Source::Limit(i) => {
                let y = axes.y.place(chart.limits[i].at);
                (end, Some((plot.right, y.clamp(plot.top, plot.bottom))))
            }
        })
        .collect();
    // A stable sort: equal heights stay in the order of the lists.
    let wish = |place: &Option<Place>| place.map_or(plot.bottom, |p| p.1);
    rows.sort_by(|a, b| wish(&a.1).total_cmp(&wish(&b.1)));
    let wishes: Vec<f64> = rows.iter().map(|r| wish(&r.1)).collect();
    let heights: Vec<f64> = rows.iter().map(|r| end_height(&r.0.1)).collect();
    let Some(centres) = spread(&wishes, &heights, plot.top, plot.bottom) else {
        return;
    };
    let left = plot.right + LEAD;
    for ((end, place), centre) in rows.iter().zip(centres) {
        let lead = Stroke::new(1.0, LINE);
        if let Some((x, y)) = *place {
            let bend = plot.right + 4.0;
            if x < plot.right - 8.0 {
                canvas.line(&[(x + 7.0, y), (bend, y)], lead.dashed(&[2.0, 3.0]));
            }
            canvas.line(&[(bend, y), (left - 4.0, centre)], lead);
        }
        let (sample, ink) = match end.0 {
            Source::Series(i) => {
                let series = &chart.series[i];
                (series_sample(series, i), INK)
            }
            Source::Limit(_) => {
                let stroke = Stroke::new(2.0, LIMIT).dashed(LIMIT_DASH);
                (Sample::Line(stroke, None), LIMIT)
            }
        };
        sample.draw(canvas, left, centre);
        let text = &end.1;
        let top = centre - 0.5 * text.len() as f64 * LABEL * LEADING;
        let at = (left + Sample::WIDTH + 6.0, top);
        lines(canvas, at, text, Lettering::new(LABEL, ink));
    }
}

/// The last point that can be seen; for a curve off the plot the height where it
/// would be; `None` for a curve without values.
fn visible_end(points: &[Place], plot: Area) -> Option<Place> {
    let seen = super::canvas::clip_line(points, plot.grown(0.5));
    seen.iter()
        .flatten()
        .copied()
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .or_else(|| points.iter().copied().rfind(|p| p.0.is_finite() && p.1.is_finite()))
        .map(|p| (p.0.clamp(plot.left, plot.right), p.1.clamp(plot.top, plot.bottom)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dense_curve_keeps_its_peaks_ends_and_gaps() {
        let mut points: Vec<Place> = (0..10_000).map(|i| (f64::from(i) * 0.001, (f64::from(i) * 0.7).sin())).collect();
        points[4321].1 = 50.0;
        points[7000].1 = f64::NAN;
        let kept = reduced(&points);
        assert!(kept.len() < 120, "{}", kept.len());
        assert_eq!(kept.first(), points.first());
        assert_eq!(kept.last(), points.last());
        assert!(kept.contains(&points[4321]));
        assert_eq!(kept.iter().filter(|p| p.1.is_nan()).count(), 1);
    }
}
