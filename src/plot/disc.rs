//! A quantity over the face of a pad: sliding speed, pressure in contact.

use std::f64::consts::TAU;

use super::canvas::{Area, Canvas, Lettering, Place, Stroke, circle};
use super::frame::{Axes, Heading, Legend, Sample, fit_across, fit_up, tick_column, tick_row, title_room};
use super::place::Clutter;
use super::scalar::{ColourScale, Contours, Grid, Shade, draw_contours, shade_area};
use super::scale::Scale;
use super::theme::{AXIS, CAPTION, INK};
use super::{Draw, Figure, MAX_CELLS, PlotError, Setting, check_size, check_texts, describe, figure, finite_range};

/// Samples over a disc.
#[derive(Debug, Clone, PartialEq)]
pub enum DiscSamples {
    /// `values[row * side + column]` at the centres of square cells over the box
    /// around the disc, first row at the low end of y; cells outside the disc are
    /// ignored.
    Cartesian {
        /// Cells a side.
        side: usize,
        /// Values, row by row.
        values: Vec<f64>,
    },
    /// `values[ring * spokes + spoke]` at radius `(ring + 0.5) / rings` of the disc
    /// and angle `spoke / spokes` of a turn, counter-clockwise from the x axis.
    Polar {
        /// Rings.
        rings: usize,
        /// Spokes.
        spokes: usize,
        /// Values, ring by ring from the centre.
        values: Vec<f64>,
    },
}

impl Default for DiscSamples {
    fn default() -> Self {
        Self::Cartesian { side: 0, values: Vec::new() }
    }
}

/// A scalar over a disc.
///
/// # Example
/// ```
/// use trochoid::plot::{ColourScale, DiscMap, DiscSamples};
/// // The speed from spin alone grows with the radius: one value a ring.
/// let (rings, spokes) = (10, 4);
/// let values: Vec<f64> = (0..rings).flat_map(|r| [0.2 * (f64::from(r) + 0.5) / 10.0; 4]).collect();
/// let disc = DiscMap {
///     title: "Speed over the face".into(),
///     radius: 65.0,
///     samples: DiscSamples::Polar { rings: 10, spokes, values },
///     colour: ColourScale { title: "speed [m/s]".into(), ..ColourScale::default() },
///     ..DiscMap::default()
/// };
/// assert!(disc.figure()?.to_svg()?.contains("speed [m/s]"));
/// # Ok::<(), trochoid::plot::PlotError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct DiscMap {
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
    /// Radius of the disc \[mm\].
    pub radius: f64,
    /// Radius of a centre hole \[mm\]; zero for none.
    pub hole_radius: f64,
    /// Values.
    pub samples: DiscSamples,
    /// Colours.
    pub colour: ColourScale,
    /// Lines of equal value.
    pub contours: Contours,
    /// Name of places without a value in the legend, such as "lifted off".
    pub missing_name: String,
    /// An arrow in the corner: direction in degrees counter-clockwise from the x
    /// axis, and its name, such as `(0.0, "feed")`.
    pub arrow: Option<(f64, String)>,
    /// Width of the picture when it stands alone \[picture units\], within [`WIDTHS`](super::WIDTHS).
    pub width: f64,
}

impl Default for DiscMap {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            description: String::new(),
            x_title: "x [mm]".into(),
            y_title: "y [mm]".into(),
            radius: 0.0,
            hole_radius: 0.0,
            samples: DiscSamples::default(),
            colour: ColourScale::default(),
            contours: Contours::None,
            missing_name: "no data".into(),
            arrow: None,
            width: 560.0,
        }
    }
}

/// Share of the radius left free around the disc.
const RIM: f64 = 1.06;
/// Smallest disc drawn.
const LEAST_SIDE: f64 = 80.0;
/// Grid points a side for the contours.
const SIDE: usize = 161;

impl DiscMap {
    /// Draws the disc alone.
    ///
    /// # Errors
    /// [`PlotError`] for empty data, data without a finite value on the disc, a
    /// length that does not fit, a radius that is not positive, or a size above the
    /// bounds of the module.
    pub fn figure(&self) -> Result<Figure, PlotError> {
        figure(self, self.width)
    }

    fn inside(&self, x: f64, y: f64) -> bool {
        let r = x.hypot(y);
        r <= self.radius && r >= self.hole_radius
    }

    pub(crate) fn data_range(&self) -> Option<(f64, f64)> {
        match &self.samples {
            DiscSamples::Cartesian { side, values } => {
                let n = *side as f64;
                let at = |k: usize| (2.0 * (k as f64 + 0.5) / n - 1.0) * self.radius;
                finite_range(
                    values.iter().enumerate().map(
                        |(k, v)| {
                            if self.inside(at(k % side), at(k / side)) { *v } else { f64::NAN }
                        },
                    ),
                )
            }
            DiscSamples::Polar { rings, spokes, values } => finite_range(values.iter().enumerate().map(|(k, v)| {
                let r = ((k / spokes) as f64 + 0.5) / *rings as f64 * self.radius;
                if r >= self.hole_radius { *v } else { f64::NAN }
            })),
        }
    }

    /// Value at a place on the disc, interpolated; missing where a neighbour is.
    fn sample(&self, x: f64, y: f64) -> f64 {
        match &self.samples {
            DiscSamples::Cartesian { side, values } => {
                let n = *side;
                let index = |v: f64| ((v / self.radius + 1.0) * 0.5 * n as f64 - 0.5).clamp(0.0, (n - 1) as f64);
                let (c, r) = (index(x), index(y));
                let (u, v) = (c - c.floor(), r - r.floor());
                let (c, r) = (c as usize, r as usize);
                let value = |c: usize, r: usize| values[r.min(n - 1) * n + c.min(n - 1)];
                let near = value(if u < 0.5 { c } else { c + 1 }, if v < 0.5 { r } else { r + 1 });
                let smooth = (value(c, r) * (1.0 - u) + value(c + 1, r) * u) * (1.0 - v)
                    + (value(c, r + 1) * (1.0 - u) + value(c + 1, r + 1) * u) * v;
                chosen(near, smooth)
            }
            DiscSamples::Polar { rings, spokes, values } => {
                let ring = (x.hypot(y) / self.radius * *rings as f64 - 0.5).clamp(0.0, (*rings - 1) as f64);
                let turn = y.atan2(x).rem_euclid(TAU) / TAU * *spokes as f64;
                let (u, v) = (ring - ring.floor(), turn - turn.floor());
                let (i, j) = (ring as usize, turn as usize);
                let value = |i: usize, j: usize| values[i.min(*rings - 1) * *spokes + j % *spokes];
                let near = value(if u < 0.5 { i } else { i + 1 }, if v < 0.5 { j } else { j + 1 });
                let smooth = (value(i, j) * (1.0 - u) + value(i + 1, j) * u) * (1.0 - v)
                    + (value(i, j + 1) * (1.0 - u) + value(i + 1, j + 1) * u) * v;
                chosen(near, smooth)
            }
        }
    }

    fn missing(&self) -> bool {
        match &self.samples {
            DiscSamples::Cartesian { side, values } => {
                let n = *side as f64;
                let at = |k: usize| (2.0 * (k as f64 + 0.5) / n - 1.0) * self.radius;
                values.iter().enumerate().any(|(k, v)| !v.is_finite() && self.inside(at(k % side), at(k / side)))
            }
            DiscSamples::Polar { values, .. } => values.iter().any(|v| !v.is_finite()),
        }
    }

    fn layout(&self, width: f64, setting: Setting) -> Result<Layout, PlotError> {
        let fonts = super::font::fonts()?;
        let data = self
            .data_range()
            .ok_or_else(|| PlotError::NoFiniteData { what: format!("the disc \"{}\"", self.title) })?;
        let shade = self.colour.shade(data, setting.colour_range);
        let mut caption = self.caption.clone();
        if let Some(beyond) = shade.beyond() {
            caption = format!("{caption} {beyond}");
        }
        let heading = Heading::new(fonts, &self.title, &caption, width, setting);
        let bar = setting.colour_range.is_none();
        let reach = self.radius * RIM;
        let mut side = 0.7 * width;
        let (mut left, mut right) = (0.0_f64, 8.0_f64);
        let mut y_title = Vec::new();
        // The margins depend on the side and only grow, so this settles.
        for _ in 0..4 {
            y_title = fonts.wrap(&self.y_title, AXIS, false, side.max(90.0));
            let y = Scale::new((-reach, reach), false, side, 0.0);
            left = left.max(title_room(&y_title) + 4.0 + tick_column(fonts, &fit_up(&y)));
            if bar {
                right = right.max(18.0 + self.colour.bar_width(fonts, &shade, side));
            }
            side = width - left - right;
            if side < LEAST_SIDE {
                return Err(PlotError::Range {
                    what: format!("room left for the disc \"{}\"", self.title),
                    value: side.round(),
                    allowed: format!("at least {LEAST_SIDE} units: widen the picture"),
                });
            }
        }
        let x_title = fonts.wrap(&self.x_title, AXIS, false, side);
        let mut entries = Vec::new();
        if self.missing() {
            entries.push((Sample::NoData, self.missing_name.clone()));
        }
        Ok(Layout { shade, heading, legend: Legend::new(fonts, &entries, width), left, side, x_title, y_title, bar })
    }

    fn draw_arrow(&self, canvas: &mut Canvas, plot: Area) {
        let Some((degrees, name)) = &self.arrow else {
            return;
        };
        let (s, c) = degrees.to_radians().sin_cos();
        let (cx, cy) = (plot.left + 24.0, plot.top + 24.0);
        let half = 15.0;
        let tip = (cx + half * c, cy - half * s);
        let tail = (cx - half * c, cy + half * s);
        canvas.line(&[tail, (cx + 0.4 * half * c, cy - 0.4 * half * s)], Stroke::new(2.4, INK));
        let wing = |side: f64| {
            let (bx, by) = (cx + 0.15 * half * c, cy - 0.15 * half * s);
            (bx + side * 6.0 * s, by + side * 6.0 * c)
        };
        canvas.fill(vec![tip, wing(1.0), wing(-1.0)], INK, 1.0);
        let middle = super::canvas::Anchor::Middle;
        let ink = Lettering::new(CAPTION, INK).at(middle);
        let half_name = 0.5 * canvas.fonts.width(name, CAPTION, false) + 4.0;
        let x = cx.max(plot.left + half_name);
        canvas.text((x, plot.top + 24.0 + half + CAPTION), name, ink);
    }
}

/// A place belongs to its nearest sample; it is smoothed where all neighbours are
/// there.
fn chosen(near: f64, smooth: f64) -> f64 {
    if near.is_finite() && smooth.is_finite() { smooth } else { near }
}

struct Layout {
    shade: Shade,
    heading: Heading,
    legend: Legend,
    left: f64,
    side: f64,
    x_title: Vec<String>,
    y_title: Vec<String>,
    bar: bool,
}

impl Draw for DiscMap {
    fn check(&self) -> Result<(), PlotError> {
        if !(self.radius > 0.0 && self.radius.is_finite()) {
            return Err(PlotError::Range {
                what: "radius of a disc".into(),
                value: self.radius,
                allowed: "finite and above 0".into(),
            });
        }
        if !(self.hole_radius >= 0.0 && self.hole_radius < self.radius) {
            return Err(PlotError::Range {
                what: "radius of the hole of a disc".into(),
                value: self.hole_radius,
                allowed: "from 0 to below the radius".into(),
            });
        }
        if let Some((degrees, _)) = &self.arrow
            && !degrees.is_finite()
        {
            return Err(PlotError::Range {
                what: "direction of an arrow".into(),
                value: *degrees,
                allowed: "finite".into(),
            });
        }
        let (a, b, given) = match &self.samples {
            DiscSamples::Cartesian { side, values } => (*side, *side, values.len()),
            DiscSamples::Polar { rings, spokes, values } => (*rings, *spokes, values.len()),
        };
        check_size("number of samples of a disc", a as f64 * b as f64, MAX_CELLS as f64)?;
        if a == 0 || b == 0 {
            return Err(PlotError::Empty { what: format!("the disc \"{}\"", self.title) });
        }
        if given != a * b {
            return Err(PlotError::Shape { what: format!("the disc \"{}\"", self.title), expected: a * b, given });
        }
        self.colour.check()?;
        self.contours.check()?;
        check_texts([
            self.title.as_str(),
            &self.caption,
            &self.description,
            &self.x_title,
            &self.y_title,
            &self.colour.title,
            &self.missing_name,
        ])?;
        check_texts(self.arrow.iter().map(|a| a.1.as_str()))
    }

    fn words(&self) -> (&str, String) {
        let kind = format!("map of {} over a disc", self.colour.title);
        (&self.title, describe(&self.description, &self.title, &kind, &self.caption))
    }

    fn height(&self, width: f64, setting: Setting) -> Result<f64, PlotError> {
        let l = self.layout(width, setting)?;
        Ok(l.heading.top + l.side + tick_row() + title_room(&l.x_title) + l.legend.height() + l.heading.bottom)
    }

    fn draw(&self, canvas: &mut Canvas, area: Area, setting: Setting) -> Result<(), PlotError> {
        let l = self.layout(area.width(), setting)?;
        let left = area.left + l.left;
        let top = area.top + l.heading.top;
        let plot = Area::new(left, top, left + l.side, top + l.side);
        let reach = self.radius * RIM;
        let x = Scale::new((-reach, reach), false, plot.left, plot.right);
        let y = Scale::new((-reach, reach), false, plot.bottom, plot.top);
        let axes = Axes { plot, x, y, x_ticks: fit_across(canvas.fonts, &x), y_ticks: fit_up(&y) };
        shade_area(canvas, plot, &l.shade, |u, v| {
            let (x, y) = ((2.0 * u - 1.0) * reach, (1.0 - 2.0 * v) * reach);
            self.inside(x, y).then(|| self.sample(x, y))
        });
        let outline = |radius: f64| -> Vec<Place> {
            let mut ring = circle(axes.at(0.0, 0.0), radius / reach * 0.5 * l.side);
            ring.extend(ring.first().copied());
            ring
        };
        let levels = self.contours.levels(&l.shade);
        let n = SIDE;
        let step = 2.0 * self.radius / (n - 1) as f64;
        let mut values = Vec::with_capacity(n * n);
        for row in 0..n {
            for column in 0..n {
                let (x, y) = (column as f64 * step - self.radius, row as f64 * step - self.radius);
                // A little past the rim, so that lines reach it; they are cut by
                // the white ring drawn below.
                let r = x.hypot(y);
                let held = r <= self.radius + 2.0 * step && r >= self.hole_radius - 2.0 * step;
                values.push(if held { self.sample(x, y) } else { f64::NAN });
            }
        }
        let pixel = step / reach * 0.5 * l.side;
        let corner = axes.at(-self.radius, -self.radius);
        let grid = Grid { columns: n, rows: n, values: &values, origin: corner, step: (pixel, -pixel) };
        let mut clutter = Clutter::default();
        clutter.avoid(&outline(self.radius));
        if self.hole_radius > 0.0 {
            clutter.avoid(&outline(self.hole_radius));
        }
        let held = |p: Place| {
            self.inside(
                (p.0 - plot.centre().0) / (0.5 * l.side) * reach,
                (p.1 - plot.centre().1) / (0.5 * l.side) * reach,
            )
        };
        draw_contours(canvas, plot, &grid, &levels, &l.shade, &mut clutter, &held);
        canvas.line(&outline(self.radius), Stroke::new(1.6, INK));
        if self.hole_radius > 0.0 {
            canvas.line(&outline(self.hole_radius), Stroke::new(1.6, INK));
        }
        axes.frame(canvas);
        axes.titles(canvas, area.left, &l.x_title, &l.y_title);
        self.draw_arrow(canvas, plot);
        if l.bar {
            let bar = Area::new(plot.right + 18.0, plot.top, area.right, plot.bottom);
            self.colour.draw_bar(canvas, bar, &l.shade, &levels, None);
        }
        let foot = plot.bottom + tick_row() + title_room(&l.x_title);
        l.heading.draw_with(&l.legend, canvas, area, foot);
        Ok(())
    }
}
