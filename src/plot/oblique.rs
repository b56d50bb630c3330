//! A panel seen from the side: a height field coloured by a value, shaded by its
//! slope, with its edges, lines drawn on it, an axis cross and a colour bar.
//!
//! Composes the picture; projection and hidden parts are in `surface`. No perspective:
//! equal lengths in one direction are equally long everywhere.

use super::canvas::{Anchor, Area, Canvas, Lettering, Place, Stroke};
use super::frame::{Heading, Legend, Sample, lines};
use super::overlay::{self, LineKind, LineOverlay};
use super::place::Clutter;
use super::scalar::{ColourScale, Shade};
use super::scale::{plain, round_below};
use super::surface::{Mesh, Scene, UNDERSIDE, View};
use super::theme::{INK, LABEL, LEADING, NO_DATA};
use super::{
    Draw, Figure, MAX_CELLS, MAX_POINTS, PlotError, Setting, check_interval, check_size, check_texts, describe, figure,
    finite_range,
};

/// A shaded view of a height field from an oblique direction.
///
/// `heights[row * columns + column]` and `values` belong to the nodes of a grid, the
/// first row at the low end of `y_range`. A height that is not finite is no panel; a
/// value that is not finite on the panel is shown in grey under its name.
///
/// **Colours and shading.** A level place shows exactly the colour of the bar. A slope
/// changes it by mixing in white where it turns toward a light at the viewer's upper
/// left and black where it turns away: 0.9 times the change of the cosine to the light,
/// at most 20 % white and 28 % black. The normal is that of the drawn, exaggerated
/// sheet. The hue, which tells the value, stays; to read a value on a steep flank take a
/// [`FieldMap`](super::FieldMap), which is unshaded.
///
/// Cost: a million nodes take about 0.4 s in one thread of an optimised build.
///
/// # Example
/// ```
/// use trochoid::plot::{ColourScale, ObliqueView};
/// // A crown of 9 mm over 300 mm x 300 mm, coloured by its height.
/// let heights: Vec<f64> = (0..16).map(|k| [0.0, 8.0, 9.0, 0.0][k % 4]).collect();
/// let view = ObliqueView {
///     title: "A crown".into(),
///     columns: 4,
///     rows: 4,
///     values: heights.clone(),
///     heights,
///     x_range: (0.0, 300.0),
///     y_range: (0.0, 300.0),
///     colour: ColourScale { title: "height [mm]".into(), ..ColourScale::default() },
///     ..ObliqueView::default()
/// };
/// assert!(view.figure()?.to_svg()?.contains("height [mm]"));
/// // From below the panel cannot be seen.
/// assert!(ObliqueView { elevation_deg: -10.0, ..view }.figure().is_err());
/// # Ok::<(), trochoid::plot::PlotError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ObliqueView {
    /// Title.
    pub title: String,
    /// One line of settings below the picture; wrapped when long. An exaggeration is
    /// added to it.
    pub caption: String,
    /// Alternative text; empty makes one from title and caption.
    pub description: String,
    /// Nodes along x, at least 2.
    pub columns: usize,
    /// Nodes along y, at least 2.
    pub rows: usize,
    /// Heights at the nodes \[mm\], toward the painter.
    pub heights: Vec<f64>,
    /// Values at the nodes \[unit of the colour scale\].
    pub values: Vec<f64>,
    /// First and last node along x, mm.
    pub x_range: (f64, f64),
    /// First and last node along y, mm.
    pub y_range: (f64, f64),
    /// Colours.
    pub colour: ColourScale,
    /// Where the viewer stands: 0 at low y with x to the right, positive
    /// counter-clockwise round the panel seen from above, degrees.
    pub azimuth_deg: f64,
    /// How high the viewer stands: from 5 to 90 degrees, 90 for the plan.
    pub elevation_deg: f64,
    /// Factor of the heights \[1\], from 0.01 to 1000.
    pub exaggeration: f64,
    /// Edges, tape, sections, zones and passes, in plan, laid on the surface. Without an
    /// [`LineKind::Edge`] among them the borders of the grid's cells are drawn.
    pub lines: Vec<LineOverlay>,
    /// Name of places of the panel without a value in the legend.
    pub missing_name: String,
    /// Width of the picture when it stands alone \[picture units\], within [`WIDTHS`](super::WIDTHS).
    pub width: f64,
}

impl Default for ObliqueView {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            description: String::new(),
            columns: 0,
            rows: 0,
            heights: Vec::new(),
            values: Vec::new(),
            x_range: (0.0, 1.0),
            y_range: (0.0, 1.0),
            colour: ColourScale::default(),
            azimuth_deg: 25.0,
            elevation_deg: 35.0,
            exaggeration: 1.0,
            lines: Vec::new(),
            missing_name: "no data".into(),
            width: 720.0,
        }
    }
}

/// Range of elevations, degrees.
const ELEVATIONS: (f64, f64) = (5.0, 90.0);
/// Range of exaggerations.
const EXAGGERATIONS: (f64, f64) = (0.01, 1000.0);
/// Gap to the colour bar.
const BAR_GAP: f64 = 20.0;
/// Narrowest view drawn.
const LEAST_PLOT: f64 = 80.0;
/// Least height of the colour bar.
const LEAST_BAR: f64 = 130.0;
/// Longest arrow of the axis cross.
const ARROW: f64 = 62.0;
/// Room around the axis cross for its letters.
const LETTERS: f64 = 15.0;
/// Width of the line along the edges of the sheet.
const BORDER: f64 = 1.3;
/// Pieces into which all lines on the sheet are cut at most.
const MOST_PIECES: f64 = 400_000.0;

/// The arrows of the axis cross, relative to the origin, y down.
struct Cross {
    /// Letter, start and reach.
    arrows: Vec<(&'static str, Place, Place)>,
    /// Box around it with its letters.
    area: Area,
    words: Vec<String>,
}

impl Cross {
    fn height(&self) -> f64 {
        self.area.height().max(self.words.len() as f64 * LABEL * LEADING)
    }
}

struct Layout {
    shade: Shade,
    heading: Heading,
    legend: Legend,
    view: View,
    bounds: [f64; 4],
    /// Picture units a mm.
    units: f64,
    plot: (f64, f64),
    bar: Option<f64>,
    cross: Cross,
}

impl ObliqueView {
    /// Draws the view alone.
    ///
    /// # Errors
    /// [`PlotError`] for fewer than 2 x 2 nodes, no cell with three corners on the panel,
    /// no finite value on it, a length that does not fit, an angle or exaggeration out of
    /// range, or a size above the bounds of the module.
    pub fn figure(&self) -> Result<Figure, PlotError> {
        figure(self, self.width)
    }

    fn mesh(&self) -> Mesh<'_> {
        Mesh {
            columns: self.columns,
            rows: self.rows,
            heights: &self.heights,
            values: &self.values,
            x: self.x_range,
            y: self.y_range,
        }
    }

    fn on_panel(&self) -> impl Iterator<Item = f64> + '_ {
        self.heights.iter().zip(&self.values).filter(|(z, _)| z.is_finite()).map(|(_, v)| *v)
    }

    /// Range of the values on the panel.
    pub(crate) fn data_range(&self) -> Option<(f64, f64)> {
        finite_range(self.on_panel())
    }

    /// Legend entries.
    pub(crate) fn entries(&self) -> Vec<(Sample, String)> {
        let mut entries = overlay::entries(&self.lines);
        if self.on_panel().any(|v| !v.is_finite()) {
            entries.push((Sample::Patch(NO_DATA, 1.0), self.missing_name.clone()));
        }
        let view = View::new(self.azimuth_deg, self.elevation_deg, self.exaggeration);
        if view.sees_underside(&self.mesh()) {
            entries.push((Sample::Patch(UNDERSIDE, 1.0), "underside".into()));
        }
        entries
    }

    fn layout(&self, width: f64, setting: Setting) -> Result<Layout, PlotError> {
        let fonts = super::font::fonts()?;
        let missing = || PlotError::NoFiniteData { what: format!("the view \"{}\"", self.title) };
        let data = self.data_range().ok_or_else(missing)?;
        let view = View::new(self.azimuth_deg, self.elevation_deg, self.exaggeration);
        let bounds = view.bounds(&self.mesh()).ok_or_else(missing)?;
        let shade = self.colour.shade(data, setting.colour_range);
        let mut sentences = vec![self.caption.clone()];
        if (self.exaggeration - 1.0).abs() > 1e-9 {
            sentences.push(format!("Heights are drawn {} times as large.", plain(self.exaggeration)));
        }
        sentences.extend(shade.beyond());
        sentences.retain(|s| !s.trim().is_empty());
        let heading = Heading::new(fonts, &self.title, &sentences.join(" "), width, setting);
        let (wide, tall) = ((bounds[1] - bounds[0]).max(1e-9), (bounds[3] - bounds[2]).max(1e-9));
        let mut plot = (0.75 * width, 0.0);
        let mut bar = 0.0_f64;
        let mut units = 1.0;
        // The ticks of the bar depend on the height, the height on the room the bar
        // leaves. The room only shrinks, so this settles.
        for _ in 0..3 {
            let room = width - if setting.colour_range.is_none() { bar + BAR_GAP } else { 4.0 };
            if room < LEAST_PLOT {
                return Err(PlotError::Range {
                    what: format!("room left for the view \"{}\"", self.title),
                    value: room.round(),
                    allowed: format!("at least {LEAST_PLOT} units: widen the picture"),
                });
            }
            // A border of two units for the line along the edge.
            units = ((room - 4.0) / wide).min((0.8 * width - 4.0) / tall);
            plot = (room, (units * tall + 4.0).max(8.0));
            if setting.colour_range.is_none() {
                bar = bar.max(self.colour.bar_width(fonts, &shade, plot.1.max(LEAST_BAR)));
            }
        }
        let entries = if setting.legend_elsewhere { Vec::new() } else { self.entries() };
        Ok(Layout {
            shade,
            heading,
            legend: Legend::new(fonts, &entries, width),
            cross: self.cross(fonts, &view, units, width),
            view,
            bounds,
            units,
            plot,
            bar: setting.colour_range.is_none().then_some(bar),
        })
    }

    /// Arrows of round length in mm, to the scale of the view.
    fn cross(&self, fonts: &super::font::Fonts, view: &View, units: f64, width: f64) -> Cross {
        let unit = |axis: usize| {
            let at = |i: usize| if i == axis { 1.0 } else { 0.0 };
            let [r, u, _] = view.project(at(0), at(1), at(2));
            (units * r, -units * u)
        };
        let size = |p: Place| p.0.hypot(p.1);
        let (x, y, z) = (unit(0), unit(1), unit(2));
        let plan = round_below(ARROW / size(x).max(size(y)));
        let origin = (0.0, 0.0);
        let mut arrows = vec![("x", origin, (plan * x.0, plan * x.1)), ("y", origin, (plan * y.0, plan * y.1))];
        let mut words = format!("x and y arrows {} mm", plain(plan));
        // Seen from straight above the heights point at the viewer.
        if size(z) > 0.02 * units * self.exaggeration {
            let high = round_below(ARROW / size(z));
            // Beside an arrow that it would lie on.
            let on_it = |p: Place| p.1 < 0.0 && p.0.abs() < 0.2 * size(p);
            let start = if on_it(x) || on_it(y) { (-18.0, 0.0) } else { origin };
            arrows.push(("z", start, (high * z.0, high * z.1)));
            words = format!("{words}, z arrow {} mm", plain(high));
        }
        let corners: Vec<Place> = arrows.iter().flat_map(|a| [a.1, (a.1.0 + a.2.0, a.1.1 + a.2.1)]).collect();
        let range = |f: fn(&Place) -> f64| finite_range(corners.iter().map(f)).unwrap_or((0.0, 0.0));
        let (h, v) = (range(|p| p.0), range(|p| p.1));
        let area = Area::new(h.0, v.0, h.1, v.1).grown(LETTERS);
        let words = fonts.wrap(&words, LABEL, false, (width - area.width() - 12.0).max(90.0));
        Cross { arrows, area, words }
    }

    fn draw_cross(canvas: &mut Canvas, cross: &Cross, left: f64, top: f64) {
        let middle = top + 0.5 * cross.height();
        let origin = (left - cross.area.left, middle - cross.area.centre().1);
        let mut taken: Vec<Area> = Vec::new();
        for (name, start, (dx, dy)) in &cross.arrows {
            let length = dx.hypot(*dy);
            let start = (origin.0 + start.0, origin.1 + start.1);
            let tip = (start.0 + dx, start.1 + dy);
            canvas.line(&[start, tip], Stroke::new(2.0, INK));
            let (ux, uy) = (dx / length.max(1e-9), dy / length.max(1e-9));
            if length > 10.0 {
                let heel = (tip.0 - 8.0 * ux, tip.1 - 8.0 * uy);
                let wing = |side: f64| (heel.0 - side * 3.4 * uy, heel.1 + side * 3.4 * ux);
                canvas.fill(vec![tip, wing(1.0), wing(-1.0)], INK, 1.0);
            }
            // Beyond the tip, else beside it where another letter stands there.
            let spot = [(ux, uy), (-uy, ux), (uy, -ux)]
                .into_iter()
                .map(|(x, y)| (tip.0 + 9.0 * x, tip.1 + 9.0 * y))
                .map(|p| Area::new(p.0 - 6.0, p.1 - 6.0, p.0 + 6.0, p.1 + 6.0))
                .find(|a| !taken.iter().any(|t| t.overlaps(a)));
            if let Some(spot) = spot {
                canvas.text_mid(spot.centre(), name, Lettering::new(LABEL, INK).bold().at(Anchor::Middle));
                taken.push(spot);
            }
        }
        let tall = cross.words.len() as f64 * LABEL * LEADING;
        let at = (left + cross.area.width() + 8.0, middle - 0.5 * tall);
        lines(canvas, at, &cross.words, Lettering::new(LABEL, INK));
    }

    /// Height between the nodes, missing where a corner of the cell is.
    fn height_at(&self, x: f64, y: f64) -> f64 {
        let place = |v: f64, range: (f64, f64), count: usize| {
            let most = (count - 1) as f64;
            let t = (v - range.0) / (range.1 - range.0) * most;
            // An outline may run up to a cell outside the last node that is panel.
            (t > -1.0 && t < most + 1.0).then(|| {
                let t = t.clamp(0.0, most);
                let cell = t.floor().min(most - 1.0);
                (cell as usize, t - cell)
            })
        };
        let (Some((i, u)), Some((j, v))) = (place(x, self.x_range, self.columns), place(y, self.y_range, self.rows))
        else {
            return f64::NAN;
        };
        let at = j * self.columns + i;
        let z = |k: usize| self.heights[k];
        let low = z(at) * (1.0 - u) + z(at + 1) * u;
        let high = z(at + self.columns) * (1.0 - u) + z(at + self.columns + 1) * u;
        let whole = low * (1.0 - v) + high * v;
        if whole.is_finite() {
            return whole;
        }
        // At a masked border: the nearest node that is panel, so that outlines reach it.
        let mut best = (f64::INFINITY, f64::NAN);
        for row in j.saturating_sub(1)..(j + 3).min(self.rows) {
            for column in i.saturating_sub(1)..(i + 3).min(self.columns) {
                let height = z(row * self.columns + column);
                let away = (column as f64 - i as f64 - u).hypot(row as f64 - j as f64 - v);
                if height.is_finite() && away < best.0 {
                    best = (away, height);
                }
            }
        }
        best.1
    }

    fn draw_lines(&self, scene: &mut Scene, view: &View, units: f64, lift: f64) {
        let (dx, dy) = self.mesh().step();
        let mut step = dx.min(dy).min(2.0 / units);
        let runs: Vec<(&LineOverlay, Vec<(f64, f64)>)> =
            overlay::in_order(&self.lines).into_iter().flat_map(|o| o.runs().map(move |r| (o, r))).collect();
        let length = |r: &[(f64, f64)]| {
            r.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).filter(|l| l.is_finite()).sum::<f64>()
        };
        step = step.max(runs.iter().map(|r| length(&r.1)).sum::<f64>() / MOST_PIECES);
        for (overlay, run) in &runs {
            let mut seen = Vec::new();
            for pair in run.windows(2) {
                let (a, b) = (pair[0], pair[1]);
                let pieces = ((b.0 - a.0).hypot(b.1 - a.1) / step).ceil();
                if !pieces.is_finite() {
                    seen.push(None);
                    continue;
                }
                let pieces = pieces.max(1.0) as usize;
                for i in 0..=pieces {
                    let t = i as f64 / pieces as f64;
                    let (x, y) = (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1));
                    let z = self.height_at(x, y);
                    seen.push(z.is_finite().then(|| scene.seen(view.project(x, y, z))));
                }
            }
            for (stroke, whole) in [(overlay.kind.casing(), true), (overlay.kind.stroke(), false)] {
                let half = 0.5 * stroke.width * scene.density;
                let pattern: f64 = stroke.dash.iter().sum();
                let mut along = 0.0;
                for pair in seen.windows(2) {
                    let (Some(a), Some(b)) = (pair[0], pair[1]) else {
                        continue;
                    };
                    if whole || stroke.dash.is_empty() || on(stroke.dash, along % pattern) {
                        scene.line(a, b, half, lift, stroke.colour);
                    }
                    along += (b.x - a.x).hypot(b.y - a.y) / scene.density;
                }
            }
        }
    }

    /// Numbers of the overlays at places that can be seen.
    fn draw_numbers(&self, canvas: &mut Canvas, scene: &Scene, l: &Layout, plot: Area, lift: f64) {
        let mut clutter = Clutter::default();
        let mut found = Vec::new();
        for overlay in self.lines.iter().filter(|o| !o.number.is_empty()) {
            let spots = overlay::spots(overlay).into_iter().filter_map(|(x, y)| {
                let seen = scene.seen(l.view.project(x, y, self.height_at(x, y)));
                let (h, v) = scene.visible(seen, lift)?;
                Some(overlay::number_box(canvas, &overlay.number, (plot.left + h, plot.top + v)))
            });
            if let Some((area, _)) = clutter.choose(spots, &plot) {
                found.push((area, overlay.number.as_str()));
            }
        }
        overlay::write_numbers(canvas, &found);
    }

    fn render(&self, area: &Area, l: &Layout) -> (Scene, f64) {
        let mesh = self.mesh();
        let mut scene = Scene::new(area, l.bounds, l.units);
        scene.sheet(&mesh, &l.view, &l.shade);
        // A line of some width lies on a sheet that leans away from the viewer: without a
        // lift of its half width over the tangent of the elevation half of it would sink in.
        let lean = 1.0 / self.elevation_deg.to_radians().tan().max(0.2);
        let lift = scene.density * (1.0 + 2.0 * lean);
        let (dx, dy) = mesh.step();
        let seen = |k: usize| {
            let (x, y) = (mesh.x.0 + (k % mesh.columns) as f64 * dx, mesh.y.0 + (k / mesh.columns) as f64 * dy);
            scene.seen(l.view.project(x, y, self.heights[k]))
        };
        // Given edges stand for those of the grid, which would show beside them.
        let given = self.lines.iter().any(|o| o.kind == LineKind::Edge);
        let borders = if given { Vec::new() } else { mesh.borders() };
        let borders: Vec<_> = borders.into_iter().map(|(a, b)| (seen(a), seen(b))).collect();
        for (a, b) in borders {
            scene.line(a, b, 0.5 * BORDER * scene.density, lift, INK);
        }
        self.draw_lines(&mut scene, &l.view, l.units, lift);
        (scene, lift)
    }
}

/// True if a dash pattern is drawn at a place along it.
fn on(dash: &[f64], mut at: f64) -> bool {
    for (i, part) in dash.iter().enumerate() {
        if at < *part {
            return i % 2 == 0;
        }
        at -= part;
    }
    true
}

impl Draw for ObliqueView {
    fn check(&self) -> Result<(), PlotError> {
        let name = format!("the view \"{}\"", self.title);
        let nodes = self.columns as f64 * self.rows as f64;
        check_size("number of nodes of a view", nodes, MAX_CELLS as f64)?;
        if self.columns == 0 || self.rows == 0 {
            return Err(PlotError::Empty { what: name });
        }
        if self.columns < 2 || self.rows < 2 {
            return Err(PlotError::Range {
                what: format!("nodes along a side of {name}"),
                value: self.columns.min(self.rows) as f64,
                allowed: "at least 2".into(),
            });
        }
        for (what, given) in [("heights", self.heights.len()), ("values", self.values.len())] {
            if given != self.columns * self.rows {
                let expected = self.columns * self.rows;
                return Err(PlotError::Shape { what: format!("{what} of {name}"), expected, given });
            }
        }
        check_interval("x range of a view", self.x_range)?;
        check_interval("y range of a view", self.y_range)?;
        self.colour.check()?;
        for (what, value, range) in [
            ("azimuth of a view, degrees", self.azimuth_deg, (-360.0, 360.0)),
            ("elevation of a view, degrees", self.elevation_deg, ELEVATIONS),
            ("exaggeration of a view", self.exaggeration, EXAGGERATIONS),
        ] {
            if !(value >= range.0 && value <= range.1) {
                let allowed = format!("from {} to {}", range.0, range.1);
                return Err(PlotError::Range { what: what.into(), value, allowed });
            }
        }
        if let Some((_, high)) = finite_range(self.heights.iter().map(|z| z.abs()))
            && high > 1e9
        {
            return Err(PlotError::Range {
                what: "height of a view".into(),
                value: high,
                allowed: "within 1e9".into(),
            });
        }
        if !self.mesh().any_triangle() {
            return Err(PlotError::NoFiniteData { what: format!("the heights of {name}") });
        }
        overlay::check(&self.lines)?;
        let points: usize = self.lines.iter().flat_map(|o| &o.lines).map(Vec::len).sum();
        check_size("number of points on a view", points as f64, MAX_POINTS as f64)?;
        check_texts([self.title.as_str(), &self.caption, &self.description, &self.colour.title, &self.missing_name])
    }

    fn words(&self) -> (&str, String) {
        let kind = format!("view of {} on the panel from an oblique direction", self.colour.title);
        (&self.title, describe(&self.description, &self.title, &kind, &self.caption))
    }

    fn height(&self, width: f64, setting: Setting) -> Result<f64, PlotError> {
        let l = self.layout(width, setting)?;
        let body = if l.bar.is_some() { l.plot.1.max(LEAST_BAR) } else { l.plot.1 };
        Ok(l.heading.top + body + 8.0 + l.cross.height() + l.legend.height() + l.heading.bottom)
    }

    fn draw(&self, canvas: &mut Canvas, area: Area, setting: Setting) -> Result<(), PlotError> {
        let l = self.layout(area.width(), setting)?;
        let top = area.top + l.heading.top;
        // Whole units, so that the pixels of the bitmap are those of a PNG.
        let plot = Area::new(area.left.round(), top.round(), (area.left + l.plot.0).round(), (top + l.plot.1).round());
        let (scene, lift) = self.render(&plot, &l);
        canvas.photo(plot, scene.photo());
        self.draw_numbers(canvas, &scene, &l, plot, lift);
        let mut foot = top + l.plot.1;
        if let Some(wide) = l.bar {
            let bottom = top + l.plot.1.max(LEAST_BAR);
            let bar = Area::new(area.right - wide, top, area.right, bottom);
            self.colour.draw_bar(canvas, bar, &l.shade, &[], None);
            foot = bottom;
        }
        foot += 8.0;
        Self::draw_cross(canvas, &l.cross, area.left, foot);
        foot += l.cross.height();
        l.heading.draw_with(&l.legend, canvas, area, foot);
        Ok(())
    }
}
