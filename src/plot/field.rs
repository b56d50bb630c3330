//! A quantity over a rectangle: heat map with colour bar, contours, overlays and
//! profile strips.

use std::borrow::Cow;

use super::canvas::{Anchor, Area, Canvas, Lettering, Place, Stroke};
use super::frame::{Axes, Heading, Legend, Sample, TICK, fit_across, fit_up, tick_column, tick_row, title_room};
use super::overlay::{self, LineOverlay};
use super::place::Clutter;
use super::scalar::{BOLD, BoldLevel, ColourScale, Contours, Grid, Shade, draw_contours, shade_area};
use super::scale::{Scale, Tick, plain, round_below, round_out};
use super::theme::{AXIS, CAP, CAPTION, GRID, INK, LABEL, LIMIT, PAPER};
use super::{
    Draw, Figure, MAX_CELLS, MAX_ITEMS, MAX_POINTS, PlotError, Setting, check_interval, check_size, check_texts,
    describe, figure, finite_range,
};

/// Profile strips beside a map.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Strips {
    /// No strips.
    #[default]
    None,
    /// Means of the shown values over the other direction.
    Mean,
    /// Values along the two centre lines.
    CentreLine,
}

/// A line over a map, such as the path of the pad centre.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PathOverlay {
    /// Name in the legend; empty for none.
    pub label: String,
    /// Corners, in the unit of the map's axes; a non-finite corner is a gap.
    pub points: Vec<(f64, f64)>,
    /// Dot at the start and arrow head at the end.
    pub directed: bool,
}

/// A dashed rectangle over a map, such as the worked area.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RectangleOverlay {
    /// Name in the legend; empty for none.
    pub label: String,
    /// Interval along x.
    pub x: (f64, f64),
    /// Interval along y.
    pub y: (f64, f64),
}

/// How a cell without a value is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Missing {
    /// Hatched, with its name in the legend.
    #[default]
    Hatched,
    /// As blank paper, unnamed: there is no panel.
    Paper,
}

/// What tells the size of a map.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ruler {
    /// Axes with ticks and titles.
    #[default]
    Axes,
    /// A bar of round length below the map, with its length in mm: for small maps
    /// and panels that are no rectangles.
    ScaleBar,
}

/// A scalar field over a rectangle, or over a panel within it.
///
/// `values[row * columns + column]` belongs to the centre of a cell; the first row
/// is at the low end of `y_range`. A value that is not finite takes no part in the
/// scale and is shown as `missing` says.
///
/// # Example
/// ```
/// use trochoid::plot::{ColourScale, FieldMap, PlotError};
/// let map = FieldMap {
///     title: "Cut".into(),
///     columns: 3,
///     rows: 2,
///     values: vec![1.0, 2.0, 3.0, 2.0, 3.0, f64::NAN],
///     x_range: (0.0, 450.0),
///     y_range: (0.0, 300.0),
///     colour: ColourScale { title: "cut [µm]".into(), ..ColourScale::default() },
///     ..FieldMap::default()
/// };
/// assert!(map.figure().is_ok());
/// // 3 x 2 cells want six values.
/// let short = FieldMap { values: vec![1.0; 5], ..map };
/// assert!(matches!(short.figure(), Err(PlotError::Shape { expected: 6, given: 5, .. })));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct FieldMap {
    /// Title.
    pub title: String,
    /// One line of settings below the picture; wrapped when long.
    pub caption: String,
    /// Alternative text; empty makes one from title and caption.
    pub description: String,
    /// Axis title with unit.
    pub x_title: String,
    /// Axis title with unit.
    pub y_title: String,
    /// Cells along x.
    pub columns: usize,
    /// Cells along y.
    pub rows: usize,
    /// Values \[unit of the colour scale\], row by row.
    pub values: Vec<f64>,
    /// Outer edges of the first and last column, mm.
    pub x_range: (f64, f64),
    /// Outer edges of the first and last row, mm.
    pub y_range: (f64, f64),
    /// Colours.
    pub colour: ColourScale,
    /// Lines of equal value.
    pub contours: Contours,
    /// True shows the cells as they are, false interpolates between their centres.
    pub blocks: bool,
    /// How places without a value are shown.
    pub missing: Missing,
    /// Name of hatched places without a value in the legend, such as "taped".
    pub missing_name: String,
    /// One line of equal value drawn boldly, such as the stall line; where the data do
    /// not cross it the caption says so.
    pub bold: Option<BoldLevel>,
    /// Edges, tape, sections, zones and passes over the map.
    pub lines: Vec<LineOverlay>,
    /// Axes or a scale bar.
    pub ruler: Ruler,
    /// Lines over the map.
    pub paths: Vec<PathOverlay>,
    /// Dashed rectangles over the map.
    pub rectangles: Vec<RectangleOverlay>,
    /// Profile strips.
    pub strips: Strips,
    /// Height of the plot over its width \[1\] where the axes are not lengths on one scale; `None` draws
    /// both to one scale.
    pub aspect: Option<f64>,
    /// Width of the picture when it stands alone \[picture units\], within [`WIDTHS`](super::WIDTHS).
    pub width: f64,
}

impl Default for FieldMap {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            description: String::new(),
            x_title: "x [mm]".into(),
            y_title: "y [mm]".into(),
            columns: 0,
            rows: 0,
            values: Vec::new(),
            x_range: (0.0, 1.0),
            y_range: (0.0, 1.0),
            colour: ColourScale::default(),
            contours: Contours::None,
            blocks: false,
            missing: Missing::Hatched,
            missing_name: "no data".into(),
            bold: None,
            lines: Vec::new(),
            ruler: Ruler::Axes,
            paths: Vec::new(),
            rectangles: Vec::new(),
            strips: Strips::None,
            aspect: None,
            width: 720.0,
        }
    }
}

impl FieldMap {
    /// Draws the map alone.
    ///
    /// # Errors
    /// [`PlotError`] for empty data, data without a finite value, a length that
    /// does not fit, a range without width, or a size above the bounds of the
    /// module.
    pub fn figure(&self) -> Result<Figure, PlotError> {
        figure(self, self.width)
    }

    pub(crate) fn data_range(&self) -> Option<(f64, f64)> {
        finite_range(self.values.iter().copied())
    }

    /// Value between cell centres at a place in cell units, missing if the nearest
    /// cell is missing.
    fn sample(&self, x: f64, y: f64) -> f64 {
        let clamp = |v: f64, n: usize| v.clamp(0.0, (n - 1) as f64);
        let (x, y) = (clamp(x - 0.5, self.columns), clamp(y - 0.5, self.rows));
        let value = |c: usize, r: usize| self.values[r.min(self.rows - 1) * self.columns + c.min(self.columns - 1)];
        let nearest = value(x.round() as usize, y.round() as usize);
        if self.blocks || !nearest.is_finite() {
            return nearest;
        }
        let (c, r) = (x.floor(), y.floor());
        let (u, v) = (x - c, y - r);
        let (c, r) = (c as usize, r as usize);
        let smooth = (value(c, r) * (1.0 - u) + value(c + 1, r) * u) * (1.0 - v)
            + (value(c, r + 1) * (1.0 - u) + value(c + 1, r + 1) * u) * v;
        if smooth.is_finite() { smooth } else { nearest }
    }

    /// Profile along x (true) or y: one value a column or row, with its place.
    fn profile(&self, along_x: bool) -> Vec<(f64, f64)> {
        let (n, m) = if along_x { (self.columns, self.rows) } else { (self.rows, self.columns) };
        let range = if along_x { self.x_range } else { self.y_range };
        let value = |i: usize, j: usize| {
            if along_x { self.values[j * self.columns + i] } else { self.values[i * self.columns + j] }
        };
        (0..n)
            .map(|i| {
                let place = range.0 + (i as f64 + 0.5) / n as f64 * (range.1 - range.0);
                let height = if self.strips == Strips::CentreLine {
                    f64::midpoint(value(i, (m - 1) / 2), value(i, m / 2))
                } else {
                    let mut sum = (0.0, 0_usize);
                    for v in (0..m).map(|j| value(i, j)).filter(|v| v.is_finite()) {
                        sum = (sum.0 + v, sum.1 + 1);
                    }
                    if sum.1 == 0 { f64::NAN } else { sum.0 / sum.1 as f64 }
                };
                (place, height)
            })
            .collect()
    }

    fn layout(&self, width: f64, setting: Setting) -> Result<Layout, PlotError> {
        let fonts = super::font::fonts()?;
        let data = self
            .data_range()
            .ok_or_else(|| PlotError::NoFiniteData { what: format!("the field \"{}\"", self.title) })?;
        let shade = self.colour.shade(data, setting.colour_range);
        let mut caption = self.caption.clone();
        let mut add = |sentence: &str| {
            if !caption.is_empty() {
                caption.push(' ');
            }
            caption.push_str(sentence);
        };
        if let Some(uncrossed) = self.bold.as_ref().and_then(|b| b.uncrossed(data)) {
            add(&uncrossed);
        }
        if let Some(beyond) = shade.beyond() {
            add(&beyond);
        }
        let (dx, dy) = (self.x_range.1 - self.x_range.0, self.y_range.1 - self.y_range.0);
        let aspect = self.aspect.unwrap_or(dy / dx).clamp(0.13, 4.0);
        let distorted = self.aspect.is_none() && (aspect * dx / dy - 1.0).abs() > 1e-6;
        if distorted {
            add(match self.ruler {
                Ruler::Axes => "The two axes are not to the same scale.",
                Ruler::ScaleBar => "The bar is the scale along x only.",
            });
        }
        let heading = Heading::new(fonts, &self.title, &caption, width, setting);
        let strips = self.strips != Strips::None;
        let strip = if strips { STRIP + SIDE_GAP } else { 0.0 };
        let bar_wanted = setting.colour_range.is_none();
        // The tick labels of the y axis and of the bar depend on the height and the
        // height on the room that they leave. The margins only grow, so this settles.
        let (mut plot_width, mut plot_height) = (width * 0.7, width * 0.7 * aspect);
        let (mut left, mut bar) = (0.0_f64, 12.0_f64);
        let mut y_title = Vec::new();
        for _ in 0..4 {
            let mut column = 0.0_f64;
            if self.ruler == Ruler::Axes {
                y_title = fonts.wrap(&self.y_title, AXIS, false, plot_height.max(90.0));
                let y = Scale::new(self.y_range, false, plot_height, 0.0);
                column = title_room(&y_title) + 4.0 + tick_column(fonts, &fit_up(&y));
            }
            if strips {
                // Tick labels of the upper strip stand in the same column.
                column = column.max(title_room(&y_title) + 4.0 + tick_column(fonts, &self.strip_ticks()));
            }
            left = left.max(column);
            if bar_wanted {
                let wide = self.colour.bar_width(fonts, &shade, plot_height);
                bar = bar.max(BAR_GAP + wide);
            }
            plot_width = width - left - bar - strip;
            if plot_width < LEAST_PLOT {
                return Err(PlotError::Range {
                    what: format!("room left for the map \"{}\"", self.title),
                    value: plot_width.round(),
                    allowed: format!("at least {LEAST_PLOT} units: widen the picture"),
                });
            }
            plot_height = plot_width * aspect;
            let tallest = width * 0.95;
            if plot_height > tallest {
                plot_height = tallest;
                plot_width = plot_height / aspect;
            }
        }
        let mut x_title = Vec::new();
        if self.ruler == Ruler::Axes {
            x_title = fonts.wrap(&self.x_title, AXIS, false, plot_width.max(120.0));
        }
        let entries = if setting.legend_elsewhere { Vec::new() } else { self.entries() };
        let legend = Legend::new(fonts, &entries, width);
        let top_strip = if strips { STRIP + STRIP_GAP + CAPTION * 1.4 } else { 0.0 };
        Ok(Layout {
            shade,
            heading,
            legend,
            left,
            top_strip,
            plot_width,
            plot_height,
            x_title,
            y_title,
            bar: bar_wanted,
        })
    }

    fn has_gaps(&self) -> bool {
        self.values.iter().any(|v| !v.is_finite())
    }

    /// Height of what stands below the plot: tick labels and title, or the scale bar.
    fn ruler_room(&self, x_title: &[String]) -> f64 {
        // The strip at the right has tick labels of its own.
        let strips = if self.strips == Strips::None { 0.0 } else { tick_row() };
        match self.ruler {
            Ruler::Axes => tick_row() + title_room(x_title),
            Ruler::ScaleBar => SCALE_BAR.max(strips),
        }
    }

    /// A bar of round length with its length in words, below the left end of the map.
    fn draw_scale_bar(&self, canvas: &mut Canvas, plot: Area) {
        let span = self.x_range.1 - self.x_range.0;
        let long = round_below(0.3 * span);
        let (left, middle) = (plot.left, plot.bottom + 0.5 * SCALE_BAR + 1.0);
        let right = left + long / span * plot.width();
        canvas.line(&[(left, middle), (right, middle)], Stroke::new(3.0, INK));
        for x in [left, right] {
            canvas.line(&[(x, middle - 5.0), (x, middle + 5.0)], Stroke::new(1.4, INK));
        }
        canvas.text_mid((right + 8.0, middle), &format!("{} mm", plain(long)), Lettering::new(LABEL, INK));
    }

    fn strip_range(&self) -> (f64, f64) {
        let both = self.profile(true).into_iter().chain(self.profile(false));
        round_out(finite_range(both.map(|p| p.1)).unwrap_or((0.0, 1.0)), 5)
    }

    fn strip_ticks(&self) -> Vec<Tick> {
        Scale::new(self.strip_range(), false, STRIP, 0.0).ticks(2)
    }

    /// Legend entries in the order of their drawing.
    pub(crate) fn entries(&self) -> Vec<(Sample, String)> {
        let mut entries = Vec::new();
        if let Some(bold) = self.bold.iter().find(|b| self.data_range().is_some_and(|d| b.crossed(d))) {
            entries.push((Sample::Cased(Stroke::new(BOLD, LIMIT)), bold.label.clone()));
        }
        entries.extend(overlay::entries(&self.lines));
        for path in self.paths.iter().filter(|p| !p.label.is_empty()) {
            entries.push((Sample::Cased(Stroke::new(2.0, INK)), path.label.clone()));
        }
        for r in self.rectangles.iter().filter(|r| !r.label.is_empty()) {
            let stroke = Stroke::new(2.0, INK).dashed(RECTANGLE_DASH);
            entries.push((Sample::Cased(stroke), r.label.clone()));
        }
        if self.missing == Missing::Hatched && self.has_gaps() {
            entries.push((Sample::NoData, self.missing_name.clone()));
        }
        entries
    }

    fn draw_overlays(&self, canvas: &mut Canvas, axes: &Axes) {
        for path in &self.paths {
            let points: Vec<Place> = path.points.iter().map(|p| axes.at(p.0, p.1)).collect();
            canvas.line_within(&points, Stroke::new(3.8, PAPER), axes.plot);
            canvas.line_within(&points, Stroke::new(2.0, INK), axes.plot);
            if path.directed {
                direction(canvas, &points, axes.plot);
            }
        }
        for r in &self.rectangles {
            let corners = [
                axes.at(r.x.0, r.y.0),
                axes.at(r.x.1, r.y.0),
                axes.at(r.x.1, r.y.1),
                axes.at(r.x.0, r.y.1),
                axes.at(r.x.0, r.y.0),
            ];
            canvas.line_within(&corners, Stroke::new(3.8, PAPER), axes.plot);
            let dashed = Stroke::new(2.0, INK).dashed(RECTANGLE_DASH);
            canvas.line_within(&corners, dashed, axes.plot);
        }
    }

    fn draw_strips(&self, canvas: &mut Canvas, axes: &Axes) {
        let (what_x, what_y) = match self.strips {
            Strips::None => return,
            Strips::Mean => ("mean over y", "mean over x"),
            Strips::CentreLine => ("along the centre line", "centre line"),
        };
        let plot = axes.plot;
        let range = self.strip_range();
        let line = Stroke::new(1.2, INK);
        let curve = Stroke::new(2.0, super::theme::series_style(0).0);
        let small = Lettering::new(CAPTION, INK);

        let above = Area::new(plot.left, plot.top - STRIP_GAP - STRIP, plot.right, plot.top - STRIP_GAP);
        let up = Scale::new(range, false, above.bottom, above.top);
        for tick in up.ticks(2) {
            let y = up.place(tick.at);
            canvas.line(&[(above.left, y), (above.right, y)], Stroke::new(1.0, GRID));
            canvas.line(&[(above.left - TICK, y), (above.left, y)], line);
            let ink = Lettering::new(LABEL, INK).at(Anchor::End);
            canvas.text_mid((above.left - TICK - 5.0, y), &tick.label, ink);
        }
        let points: Vec<Place> = self.profile(true).iter().map(|p| (axes.x.place(p.0), up.place(p.1))).collect();
        canvas.line_within(&points, curve, above);
        canvas.frame(above, line);
        canvas.text((above.left, above.top - 5.0), what_x, small);

        let beside = Area::new(plot.right + SIDE_GAP, plot.top, plot.right + SIDE_GAP + STRIP, plot.bottom);
        let across = Scale::new(range, false, beside.left, beside.right);
        let ticks = fit_across(canvas.fonts, &Scale::new(range, false, beside.left, beside.right));
        for tick in &ticks {
            let x = across.place(tick.at);
            canvas.line(&[(x, beside.top), (x, beside.bottom)], Stroke::new(1.0, GRID));
            canvas.line(&[(x, beside.bottom), (x, beside.bottom + TICK)], line);
            let baseline = beside.bottom + TICK + 5.0 + CAP * LABEL;
            let ink = Lettering::new(LABEL, INK).at(Anchor::Middle);
            canvas.text((x, baseline), &tick.label, ink);
        }
        let points: Vec<Place> = self.profile(false).iter().map(|p| (across.place(p.1), axes.y.place(p.0))).collect();
        canvas.line_within(&points, curve, beside);
        canvas.frame(beside, line);
        canvas.text((beside.left, beside.top - 5.0), what_y, small);
    }
}

/// Narrowest map drawn.
const LEAST_PLOT: f64 = 80.0;
const STRIP: f64 = 76.0;
const STRIP_GAP: f64 = 20.0;
/// Gap to the strip on the right, where two rows of tick labels meet.
const SIDE_GAP: f64 = 34.0;
const BAR_GAP: f64 = 20.0;
/// Height of the scale bar below a map.
const SCALE_BAR: f64 = 26.0;
const RECTANGLE_DASH: &[f64] = &[9.0, 6.0];

struct Layout {
    shade: Shade,
    heading: Heading,
    legend: Legend,
    left: f64,
    top_strip: f64,
    plot_width: f64,
    plot_height: f64,
    x_title: Vec<String>,
    y_title: Vec<String>,
    bar: bool,
}

/// Means of the finite values of blocks of cells, missing where none is finite.
fn coarsened(
    columns: usize,
    rows: usize,
    values: &[f64],
    (across, down): (usize, usize),
) -> (usize, usize, Cow<'_, [f64]>) {
    if across <= 1 && down <= 1 {
        return (columns, rows, Cow::Borrowed(values));
    }
    let (wide, tall) = (columns.div_ceil(across), rows.div_ceil(down));
    let mut sums = vec![(0.0, 0_usize); wide * tall];
    for (k, value) in values.iter().enumerate().filter(|(_, v)| v.is_finite()) {
        let at = &mut sums[k / columns / down * wide + k % columns / across];
        *at = (at.0 + value, at.1 + 1);
    }
    let mean = |&(sum, count): &(f64, usize)| {
        if count == 0 { f64::NAN } else { sum / count as f64 }
    };
    (wide, tall, sums.iter().map(mean).collect())
}

/// Dot at the first and arrow head at the last point that is inside.
fn direction(canvas: &mut Canvas, points: &[Place], plot: Area) {
    let inside = |p: &&Place| p.0 >= plot.left && p.0 <= plot.right && p.1 >= plot.top && p.1 <= plot.bottom;
    let finite: Vec<Place> = points.iter().copied().filter(|p| p.0.is_finite() && p.1.is_finite()).collect();
    if let Some(start) = finite.iter().find(inside) {
        canvas.disc(*start, 6.0, PAPER);
        canvas.disc(*start, 4.6, INK);
    }
    let Some(end) = finite.iter().rposition(|p| inside(&p)) else {
        return;
    };
    let tip = finite[end];
    let Some(back) = finite[..end].iter().rev().find(|p| (p.0 - tip.0).hypot(p.1 - tip.1) > 3.0) else {
        return;
    };
    let length = (tip.0 - back.0).hypot(tip.1 - back.1);
    let (ux, uy) = ((tip.0 - back.0) / length, (tip.1 - back.1) / length);
    for (size, ink) in [(15.0, PAPER), (12.0, INK)] {
        let lead = (size - 12.0) * 0.6;
        let nose = (tip.0 + ux * lead, tip.1 + uy * lead);
        let heel = (nose.0 - ux * size, nose.1 - uy * size);
        let half = size * 0.45;
        canvas.fill(
            vec![nose, (heel.0 - uy * half, heel.1 + ux * half), (heel.0 + uy * half, heel.1 - ux * half)],
            ink,
            1.0,
        );
    }
}

impl Draw for FieldMap {
    fn check(&self) -> Result<(), PlotError> {
        let cells = (self.columns as f64) * (self.rows as f64);
        check_size("number of cells of a field", cells, MAX_CELLS as f64)?;
        if self.columns == 0 || self.rows == 0 {
            return Err(PlotError::Empty { what: format!("the field \"{}\"", self.title) });
        }
        if self.values.len() != self.columns * self.rows {
            return Err(PlotError::Shape {
                what: format!("the field \"{}\"", self.title),
                expected: self.columns * self.rows,
                given: self.values.len(),
            });
        }
        check_interval("x range of a field", self.x_range)?;
        check_interval("y range of a field", self.y_range)?;
        self.colour.check()?;
        self.contours.check()?;
        if let Some(bold) = self.bold.iter().find(|b| !b.at.is_finite()) {
            return Err(PlotError::Range {
                what: format!("bold level \"{}\"", bold.label),
                value: bold.at,
                allowed: "finite".into(),
            });
        }
        overlay::check(&self.lines)?;
        let points: usize = self.paths.iter().map(|p| p.points.len()).sum();
        check_size("number of path points", points as f64, MAX_POINTS as f64)?;
        let items = self.paths.len() + self.rectangles.len();
        check_size("number of overlays", items as f64, MAX_ITEMS as f64)?;
        for r in &self.rectangles {
            check_interval("x interval of a rectangle", r.x)?;
            check_interval("y interval of a rectangle", r.y)?;
        }
        check_texts([
            self.title.as_str(),
            &self.caption,
            &self.description,
            &self.x_title,
            &self.y_title,
            &self.colour.title,
            &self.missing_name,
        ])?;
        check_texts(self.bold.iter().map(|b| b.label.as_str()))?;
        check_texts(self.paths.iter().map(|p| p.label.as_str()))?;
        check_texts(self.rectangles.iter().map(|r| r.label.as_str()))
    }

    fn words(&self) -> (&str, String) {
        let kind = format!("map of {} over a rectangle", self.colour.title);
        (&self.title, describe(&self.description, &self.title, &kind, &self.caption))
    }

    fn height(&self, width: f64, setting: Setting) -> Result<f64, PlotError> {
        let l = self.layout(width, setting)?;
        Ok(l.heading.top
            + l.top_strip
            + l.plot_height
            + self.ruler_room(&l.x_title)
            + l.legend.height()
            + l.heading.bottom)
    }

    fn draw(&self, canvas: &mut Canvas, area: Area, setting: Setting) -> Result<(), PlotError> {
        let l = self.layout(area.width(), setting)?;
        let left = area.left + l.left;
        let top = area.top + l.heading.top + l.top_strip;
        let plot = Area::new(left, top, left + l.plot_width, top + l.plot_height);
        let x = Scale::new(self.x_range, false, plot.left, plot.right);
        let y = Scale::new(self.y_range, false, plot.bottom, plot.top);
        let axes = Axes { plot, x, y, x_ticks: fit_across(canvas.fonts, &x), y_ticks: fit_up(&y) };
        let (nx, ny) = (self.columns as f64, self.rows as f64);
        shade_area(canvas, plot, &l.shade, |u, v| {
            let value = self.sample(u * nx, (1.0 - v) * ny);
            (self.missing == Missing::Hatched || value.is_finite()).then_some(value)
        });
        let mut levels = self.contours.levels(&l.shade);
        if let Some(bold) = &self.bold {
            // The bold line stands for its level alone.
            levels.retain(|t| (t.at - bold.at).abs() > 1e-9 * (l.shade.high - l.shade.low));
        }
        let mut clutter = Clutter::default();
        for path in &self.paths {
            let points: Vec<Place> = path.points.iter().map(|p| axes.at(p.0, p.1)).collect();
            clutter.avoid(&points);
            if path.directed {
                let finite = |p: &&Place| p.0.is_finite() && p.1.is_finite();
                let ends = [points.iter().find(finite), points.iter().rfind(finite)];
                for &(x, y) in ends.into_iter().flatten() {
                    clutter.take(Area::new(x - 14.0, y - 14.0, x + 14.0, y + 14.0));
                }
            }
        }
        for r in &self.rectangles {
            let (a, b) = (axes.at(r.x.0, r.y.0), axes.at(r.x.1, r.y.1));
            clutter.avoid(&[a, (a.0, b.1), b, (b.0, a.1), a]);
        }
        // Lines finer than two units cannot be told apart: a finer field is averaged in
        // blocks first. A part block at the end stands up to a unit off its place.
        let block = |n: f64, size: f64| (2.0 * n / size).ceil().max(1.0) as usize;
        let blocks = (block(nx, plot.width()), block(ny, plot.height()));
        let (columns, rows, coarse) = coarsened(self.columns, self.rows, &self.values, blocks);
        let step = (plot.width() / nx * blocks.0 as f64, -plot.height() / ny * blocks.1 as f64);
        let grid = Grid {
            columns,
            rows,
            values: &coarse,
            origin: (plot.left + 0.5 * step.0, plot.bottom + 0.5 * step.1),
            step,
        };
        // Overlays below the contour labels, which keep off them where they can.
        self.draw_overlays(canvas, &axes);
        let at = |x: f64, y: f64| axes.at(x, y);
        overlay::draw(canvas, &self.lines, plot, &at, &mut clutter);
        let on_panel = |p: Place| {
            let (u, v) = ((p.0 - plot.left) / plot.width(), (plot.bottom - p.1) / plot.height());
            self.missing == Missing::Hatched || self.sample(u * nx, v * ny).is_finite()
        };
        let numbers = overlay::numbers(canvas, &self.lines, plot, &at, &on_panel, &mut clutter);
        let bold = self.bold.as_ref().map(|b| (b, b.draw(canvas, plot, &grid, &mut clutter)));
        draw_contours(canvas, plot, &grid, &levels, &l.shade, &mut clutter, &|_| true);
        if let Some((level, Some(place))) = bold {
            level.write(canvas, place);
        }
        overlay::write_numbers(canvas, &numbers);
        match self.ruler {
            Ruler::Axes => {
                axes.frame(canvas);
                axes.titles(canvas, area.left, &l.x_title, &l.y_title);
            }
            Ruler::ScaleBar => {
                if !self.has_gaps() {
                    canvas.frame(plot, Stroke::new(1.2, INK));
                }
                self.draw_scale_bar(canvas, plot);
            }
        }
        self.draw_strips(canvas, &axes);
        if l.bar {
            let strip = if self.strips == Strips::None { 0.0 } else { STRIP + SIDE_GAP };
            let bar_left = plot.right + strip + BAR_GAP;
            let bar = Area::new(bar_left, plot.top, area.right, plot.bottom);
            self.colour.draw_bar(canvas, bar, &l.shade, &levels, self.bold.as_ref().map(|b| b.at));
        }
        let foot = plot.bottom + self.ruler_room(&l.x_title);
        l.heading.draw_with(&l.legend, canvas, area, foot);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_are_means_of_what_is_there() {
        let values = [1.0, 3.0, 10.0, 5.0, f64::NAN, f64::NAN, 7.0, 7.0, f64::NAN];
        let (columns, rows, coarse) = coarsened(3, 3, &values, (2, 2));
        assert_eq!((columns, rows), (2, 2));
        assert_eq!(coarse[..3], [3.0, 10.0, 7.0]);
        assert!(coarse[3].is_nan());
    }

    #[test]
    fn profiles_are_means_over_the_other_direction() {
        let map = FieldMap {
            columns: 2,
            rows: 3,
            values: vec![1.0, 2.0, 3.0, f64::NAN, 5.0, 6.0],
            x_range: (0.0, 4.0),
            y_range: (0.0, 3.0),
            strips: Strips::Mean,
            ..FieldMap::default()
        };
        assert_eq!(map.profile(true), [(1.0, 3.0), (3.0, 4.0)]);
        assert_eq!(map.profile(false), [(0.5, 1.5), (1.5, 3.0), (2.5, 5.5)]);
    }
}
