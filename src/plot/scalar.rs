//! Scalar pictures: colour scale, colour bar, shaded bitmap, labelled contours.

use super::canvas::{Anchor, Area, Bitmap, Canvas, Lettering, Place, Stroke};
use super::contour::isolines;
use super::font::Fonts;
use super::frame::{TICK, title_room, upward_lines};
use super::place::Clutter;
use super::scale::{Scale, Tick, plain, round_out};
use super::theme::{AXIS, CAPTION, Colour, ColourMap, INK, LABEL, LIMIT, NO_DATA, NO_DATA_HATCH, PAPER, contrast};
use super::{MAX_ITEMS, PlotError, check_interval, check_size};

/// How values become colours.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ColourScale {
    /// Title of the colour bar with its unit, such as `Cut [µm]`.
    pub title: String,
    /// Colours.
    pub map: ColourMap,
    /// Values at the ends of the bar; `None` takes those of the data. Data beyond
    /// the ends are shown in the end colour, the bar gets a pointed end and the
    /// caption says how far the data reach.
    pub range: Option<(f64, f64)>,
    /// The named centre of a diverging map, such as `(2.0, "target")`. Without it
    /// a diverging map is centred on zero.
    pub centre: Option<(f64, String)>,
    /// Pace of the colours on the two sides of the centre of a diverging map.
    pub sides: Sides,
    /// Runs through the map from its other end: a diverging map is then red below
    /// and blue above, for a quantity that is bad when it is low.
    pub reversed: bool,
}

/// How a diverging map reaches its two ends.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Sides {
    /// Equal distances from the centre have equal depth of colour; the bar reaches
    /// as far on one side as on the other.
    #[default]
    Even,
    /// Each side runs from the centre to the end of its own data: for a centre far
    /// from the middle of the data, such as a least spin of 60 rpm in 0 to 400 rpm.
    /// The bar stays linear in the value and shows the two paces.
    Own,
}

/// Which lines of equal value to draw.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Contours {
    /// None.
    #[default]
    None,
    /// About this many, at round values.
    About(usize),
    /// At these values.
    At(Vec<f64>),
}

impl Contours {
    pub(crate) fn check(&self) -> Result<(), PlotError> {
        let count = match self {
            Self::None => 0,
            Self::About(n) => *n,
            Self::At(levels) => levels.len(),
        };
        check_size("number of contour levels", count as f64, MAX_ITEMS as f64)?;
        if let Self::At(levels) = self
            && let Some(bad) = levels.iter().find(|l| !l.is_finite())
        {
            return Err(PlotError::Range { what: "contour level".into(), value: *bad, allowed: "finite".into() });
        }
        Ok(())
    }

    pub(crate) fn levels(&self, shade: &Shade) -> Vec<Tick> {
        let ticks = match self {
            Self::None | Self::About(0) => return Vec::new(),
            Self::About(n) => Scale::new((shade.low, shade.high), false, 0.0, 1.0).ticks(*n),
            Self::At(levels) => levels.iter().map(|&at| Tick { at, label: plain(at) }).collect(),
        };
        ticks.into_iter().filter(|t| t.at > shade.low && t.at < shade.high).collect()
    }
}

const STEPS: usize = 250;

/// A colour scale with its ends decided.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shade {
    map: ColourMap,
    /// Centre of a map whose sides have their own pace.
    middle: Option<f64>,
    reversed: bool,
    pub low: f64,
    pub high: f64,
    pub data: (f64, f64),
}

impl Shade {
    /// Position of a finite value in the palette.
    pub fn index(&self, value: f64) -> u8 {
        let t = match self.middle {
            None => (value - self.low) / (self.high - self.low),
            Some(c) if value < c => 0.5 * (value - self.low) / (c - self.low),
            Some(c) if self.high > c => 0.5 + 0.5 * (value - c) / (self.high - c),
            Some(_) => 0.5,
        };
        (t.clamp(0.0, 1.0) * (STEPS - 1) as f64).round() as u8
    }

    fn tone(&self, index: usize) -> Colour {
        let t = index as f64 / (STEPS - 1) as f64;
        self.map.colour(if self.reversed { 1.0 - t } else { t })
    }

    /// The colours, then the ground and the hatch of "no data".
    pub fn palette(&self) -> Vec<Colour> {
        let mut palette: Vec<Colour> = (0..STEPS).map(|i| self.tone(i)).collect();
        palette.push(NO_DATA);
        palette.push(NO_DATA_HATCH);
        palette
    }

    pub fn colour(&self, value: f64) -> Colour {
        self.tone(usize::from(self.index(value)))
    }

    /// Slack of one part in a million: a range read back from text is no overflow.
    fn slack(&self) -> f64 {
        1e-6 * (self.high - self.low)
    }
    fn below(&self) -> bool {
        self.data.0 < self.low - self.slack()
    }
    fn above(&self) -> bool {
        self.data.1 > self.high + self.slack()
    }

    /// The sentence for the caption when data lie beyond the ends.
    pub fn beyond(&self) -> Option<String> {
        (self.below() || self.above()).then(|| {
            format!("Data reach from {} to {}, beyond the colour scale.", plain(self.data.0), plain(self.data.1))
        })
    }
}

impl ColourScale {
    pub(crate) fn check(&self) -> Result<(), PlotError> {
        if let Some(range) = self.range {
            check_interval("range of the colour scale", range)?;
        }
        if let Some((centre, _)) = &self.centre
            && !centre.is_finite()
        {
            return Err(PlotError::Range {
                what: "centre of the colour scale".into(),
                value: *centre,
                allowed: "finite".into(),
            });
        }
        Ok(())
    }

    fn centre_value(&self) -> f64 {
        self.centre.as_ref().map_or(0.0, |c| c.0)
    }

    /// Decides the ends: those of the page, else the own range, else the data's.
    pub(crate) fn shade(&self, data: (f64, f64), page: Option<(f64, f64)>) -> Shade {
        let (mut low, mut high) = page.or(self.range).unwrap_or(data);
        let opened = |low: f64, high: f64| {
            if high - low > 1e-9 * low.abs().max(high.abs()) { (low, high) } else { round_out((low, high), 4) }
        };
        let mut middle = None;
        if self.map == ColourMap::Diverging {
            let centre = self.centre_value();
            if self.sides == Sides::Own {
                (low, high) = (low.min(centre), high.max(centre));
                middle = Some(centre);
            } else {
                let half = (low - centre).abs().max((high - centre).abs());
                (low, high) = (centre - half, centre + half);
            }
        }
        let (low, high) = opened(low, high);
        Shade { map: self.map, middle, reversed: self.reversed, low, high, data }
    }

    fn bar_ticks(&self, shade: &Shade, height: f64) -> Vec<Tick> {
        let scale = Scale::new((shade.low, shade.high), false, height, 0.0);
        let wanted = (height / 44.0).clamp(2.0, 8.0) as usize;
        let mut ticks = scale.ticks(wanted);
        // One number alone is no scale: finer, where two labels have room.
        for finer in wanted + 1..=5 {
            if ticks.len() > 1 || height < 2.5 * LABEL {
                break;
            }
            ticks = scale.ticks(finer);
        }
        if self.map == ColourMap::Diverging {
            let centre = self.centre_value();
            let place = scale.place(centre);
            let room = 1.7 * LABEL;
            ticks.retain(|t| (scale.place(t.at) - place).abs() > room);
            ticks.push(Tick { at: centre, label: if centre.abs() < 1e-300 { "0".into() } else { plain(centre) } });
        }
        ticks
    }

    /// Width of the bar with its ticks and title, at a height.
    pub(crate) fn bar_width(&self, fonts: &Fonts, shade: &Shade, height: f64) -> f64 {
        let title = fonts.wrap(&self.title, AXIS, false, height.max(120.0));
        BAR + TICK + 5.0 + self.label_width(fonts, shade, height) + 6.0 + title_room(&title)
    }

    fn label_width(&self, fonts: &Fonts, shade: &Shade, height: f64) -> f64 {
        let name = self
            .centre
            .as_ref()
            .map_or(0.0, |c| if self.map == ColourMap::Diverging { fonts.width(&c.1, CAPTION, false) } else { 0.0 });
        self.bar_ticks(shade, height).iter().map(|t| fonts.width(&t.label, LABEL, false)).fold(name, f64::max)
    }

    /// Draws the bar with its left edge at `area.left` over the height of `area`.
    ///
    /// `marks` are drawn as thin lines across it, `bold` as a wide one.
    pub(crate) fn draw_bar(&self, canvas: &mut Canvas, area: Area, shade: &Shade, marks: &[Tick], bold: Option<f64>) {
        let point = 11.0;
        let (top, bottom) =
            (area.top + if shade.above() { point } else { 0.0 }, area.bottom - if shade.below() { point } else { 0.0 });
        let bar = Area::new(area.left, top, area.left + BAR, bottom);
        let cells = match shade.middle {
            None => (0..STEPS).rev().map(|i| i as u8).collect(),
            Some(_) => (0..STEPS)
                .rev()
                .map(|i| shade.index(shade.low + (i as f64 + 0.5) / STEPS as f64 * (shade.high - shade.low)))
                .collect(),
        };
        canvas.picture(bar, Bitmap { columns: 1, rows: STEPS, palette: shade.palette(), cells });
        let line = Stroke::new(1.2, INK);
        let mid = bar.centre().0;
        for (shown, edge, tip, value) in [
            (shade.above(), bar.top, bar.top - point, shade.high),
            (shade.below(), bar.bottom, bar.bottom + point, shade.low),
        ] {
            if shown {
                let shape = vec![(bar.left, edge), (mid, tip), (bar.right, edge)];
                canvas.line(&shape, line);
                canvas.fill(shape, shade.colour(value), 1.0);
            }
        }
        canvas.frame(bar, line);
        let scale = Scale::new((shade.low, shade.high), false, bar.bottom, bar.top);
        for mark in marks {
            let y = scale.place(mark.at);
            let ink = contrast(shade.colour(mark.at));
            canvas.line(&[(bar.left, y), (bar.right, y)], Stroke::new(1.2, ink));
        }
        if let Some(level) = bold.filter(|b| *b >= shade.low && *b <= shade.high) {
            let y = scale.place(level);
            let ends = [(bar.left - 3.0, y), (bar.right + 1.0, y)];
            canvas.line(&ends, Stroke::new(BOLD + 2.4, PAPER));
            canvas.line(&ends, Stroke::new(BOLD, LIMIT));
        }
        let labels = bar.right + TICK + 5.0;
        let named = self.map == ColourMap::Diverging;
        for tick in self.bar_ticks(shade, bar.height()) {
            let y = scale.place(tick.at);
            canvas.line(&[(bar.right, y), (bar.right + TICK, y)], line);
            let centre = named && (tick.at - self.centre_value()).abs() <= shade.slack();
            match (&self.centre, centre) {
                (Some((_, name)), true) if !name.is_empty() => {
                    let ink = Lettering::new(LABEL, INK).bold();
                    canvas.text_mid((labels, y - 0.5 * LABEL), &tick.label, ink);
                    let small = Lettering::new(CAPTION, INK);
                    canvas.text_mid((labels, y + 0.62 * LABEL), name, small);
                }
                _ => canvas.text_mid((labels, y), &tick.label, Lettering::new(LABEL, INK)),
            }
        }
        let title = canvas.fonts.wrap(&self.title, AXIS, false, area.height().max(120.0));
        let wide = self.label_width(canvas.fonts, shade, bar.height());
        upward_lines(canvas, labels + wide + 6.0, area.centre().1, &title, AXIS);
    }
}

const BAR: f64 = 18.0;

/// Shades an area; `value(u, v)` gives the value at shares of the width from the
/// left and of the height from the top; a missing value is hatched. `None` from
/// `value` leaves paper.
pub(crate) fn shade_area(canvas: &mut Canvas, area: Area, shade: &Shade, value: impl Fn(f64, f64) -> Option<f64>) {
    const DENSITY: f64 = 2.0;
    let columns = (area.width() * DENSITY).round().clamp(1.0, 4000.0) as usize;
    let rows = (area.height() * DENSITY).round().clamp(1.0, 4000.0) as usize;
    let mut palette = shade.palette();
    palette.push(PAPER);
    let mut cells = Vec::with_capacity(columns * rows);
    for row in 0..rows {
        let v = (row as f64 + 0.5) / rows as f64;
        for column in 0..columns {
            let u = (column as f64 + 0.5) / columns as f64;
            cells.push(match value(u, v) {
                None => (STEPS + 2) as u8,
                Some(value) if value.is_finite() => shade.index(value),
                Some(_) if (row + column) % 14 < 2 => (STEPS + 1) as u8,
                Some(_) => STEPS as u8,
            });
        }
    }
    canvas.picture(area, Bitmap { columns, rows, palette, cells });
}

/// Values on grid points with their places on the canvas.
pub(crate) struct Grid<'a> {
    pub columns: usize,
    pub rows: usize,
    pub values: &'a [f64],
    /// Place of grid point (0, 0) and the step of a column and of a row.
    pub origin: Place,
    pub step: Place,
}

impl Grid<'_> {
    fn place(&self, p: Place) -> Place {
        (self.origin.0 + p.0 * self.step.0, self.origin.1 + p.1 * self.step.1)
    }
}

/// Draws contour lines in the ink that reads on their own colour, each line cut
/// open for its label. Labels keep off each other, the frame and the clutter; only
/// points that `held` passes are drawn.
pub(crate) fn draw_contours(
    canvas: &mut Canvas,
    plot: Area,
    grid: &Grid<'_>,
    levels: &[Tick],
    shade: &Shade,
    clutter: &mut Clutter,
    held: &dyn Fn(Place) -> bool,
) {
    let inner = plot.grown(-4.0);
    // Every line is known before the first label, so that labels keep off all.
    let mut drawn = Vec::with_capacity(levels.len());
    for level in levels {
        let mut paths: Vec<Vec<Place>> = isolines(grid.columns, grid.rows, grid.values, level.at)
            .into_iter()
            .map(|line| line.into_iter().map(|p| grid.place(p)).collect::<Vec<Place>>())
            .flat_map(|line| kept(&line, held))
            .filter(|line| length(line) > SPECK)
            .collect();
        // The longest lines get their labels first; length decides, then order.
        paths.sort_by(|a, b| length(b).total_cmp(&length(a)));
        for path in &paths {
            clutter.avoid(path);
        }
        drawn.push(paths);
    }
    let mut words = Vec::new();
    for (level, paths) in levels.iter().zip(&drawn) {
        let ground = shade.colour(level.at);
        let stroke = Stroke::new(1.5, contrast(ground));
        let size = (canvas.fonts.width(&level.label, CAPTION, false) + 6.0, CAPTION * 1.15);
        let mut labels = 0;
        for path in paths {
            let whole = length(path);
            let label = if whole > 3.0 * size.0 && labels < 3 {
                label_place(path, whole, size, &inner, clutter, held)
            } else {
                None
            };
            match label {
                None => canvas.line_within(path, stroke, plot),
                Some(area) => {
                    labels += 1;
                    // Stubs between a label and the end of its line look like dirt.
                    for piece in outside(path, area).iter().filter(|p| length(p) > 9.0) {
                        canvas.line_within(piece, stroke, plot);
                    }
                    let ink = Lettering::new(CAPTION, contrast(ground)).at(Anchor::Middle);
                    words.push((area.grown(-1.0), ground, &level.label, ink));
                }
            }
        }
    }
    // Over all lines, so that no line runs through a label.
    for (area, ground, label, ink) in words {
        canvas.text_on(area, ground, label, ink);
    }
}

/// Width of the line of a [`BoldLevel`].
pub(crate) const BOLD: f64 = 3.2;

/// One line of equal value drawn boldly, such as the stall line.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct BoldLevel {
    /// Value \[unit of the colour scale\].
    pub at: f64,
    /// Words on the line and in the legend, such as `stall line, S = 1`.
    pub label: String,
}

impl BoldLevel {
    /// True if the data reach from one side of the level to the other.
    pub(crate) fn crossed(&self, data: (f64, f64)) -> bool {
        data.0 < self.at && self.at <= data.1
    }

    /// What the caption says where there is no line to draw.
    pub(crate) fn uncrossed(&self, data: (f64, f64)) -> Option<String> {
        let side = if data.0 >= self.at { "at or above" } else { "below" };
        (!self.crossed(data)).then(|| format!("No line for \"{}\": all values are {side} it.", self.label))
    }

    /// Draws the line and returns the place for its words, which is taken.
    pub(crate) fn draw(&self, canvas: &mut Canvas, plot: Area, grid: &Grid<'_>, clutter: &mut Clutter) -> Option<Area> {
        let mut paths: Vec<Vec<Place>> = isolines(grid.columns, grid.rows, grid.values, self.at)
            .into_iter()
            .map(|line| line.into_iter().map(|p| grid.place(p)).collect::<Vec<Place>>())
            .filter(|line| length(line) > SPECK)
            .collect();
        paths.sort_by(|a, b| length(b).total_cmp(&length(a)));
        for stroke in [Stroke::new(BOLD + 2.4, PAPER), Stroke::new(BOLD, LIMIT)] {
            for path in &paths {
                canvas.line_within(path, stroke, plot);
            }
        }
        for path in &paths {
            clutter.avoid(path);
        }
        if self.label.is_empty() {
            return None;
        }
        let size = (canvas.fonts.width(&self.label, LABEL, true) + 10.0, LABEL * 1.3);
        let inner = plot.grown(-4.0);
        let mut wanted = paths.iter().filter(|p| length(p) > 2.5 * size.0);
        wanted.find_map(|p| label_place(p, length(p), size, &inner, clutter, &|_| true))
    }

    /// Writes the words over everything else.
    pub(crate) fn write(&self, canvas: &mut Canvas, area: Area) {
        canvas.frame(area, Stroke::new(1.2, LIMIT));
        canvas.text_on(area, PAPER, &self.label, Lettering::new(LABEL, LIMIT).bold());
    }
}

/// Contour lines shorter than this are noise that would only blacken the map.
const SPECK: f64 = 7.0;

fn length(path: &[Place]) -> f64 {
    path.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum()
}

/// A free box centred on the line, near its middle and where it runs nearly level.
fn label_place(
    path: &[Place],
    whole: f64,
    size: (f64, f64),
    inner: &Area,
    clutter: &mut Clutter,
    held: &dyn Fn(Place) -> bool,
) -> Option<Area> {
    let mut candidates: Vec<(f64, Area)> = Vec::new();
    let spacing = (whole / 60.0).max(4.0);
    let mut since = spacing / 2.0;
    let mut done = 0.0;
    for pair in path.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let step = (b.0 - a.0).hypot(b.1 - a.1);
        since += step;
        done += step;
        if since >= spacing && step > 0.0 {
            since = 0.0;
            let area = Area::new(a.0 - size.0 / 2.0, a.1 - size.1 / 2.0, a.0 + size.0 / 2.0, a.1 + size.1 / 2.0);
            if area.corners().into_iter().all(held) {
                let off_middle = (done / whole - 0.5).abs();
                candidates.push((0.5 * (b.1 - a.1).abs() / step + off_middle, area));
            }
        }
    }
    candidates.sort_by(|a, b| a.0.total_cmp(&b.0));
    clutter.choose(candidates.into_iter().map(|c| c.1), inner).map(|c| c.0)
}

/// The parts of a line outside an area.
fn outside(path: &[Place], area: Area) -> Vec<Vec<Place>> {
    kept(path, &|p| !(p.0 > area.left && p.0 < area.right && p.1 > area.top && p.1 < area.bottom))
}

/// The parts of a line whose points pass.
fn kept(path: &[Place], held: &dyn Fn(Place) -> bool) -> Vec<Vec<Place>> {
    path.split(|p| !held(*p)).filter(|piece| piece.len() > 1).map(<[Place]>::to_vec).collect()
}
