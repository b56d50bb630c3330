//! What charts share around the data: heading, caption, axes, legend.

use super::canvas::{Anchor, Area, Canvas, Lettering, Place, Stroke};
use super::font::Fonts;
use super::scale::{Scale, Tick};
use super::theme::{AXIS, CAP, CAPTION, Colour, GRID, INK, LABEL, LEADING, LINE, Marker, PAPER, SOFT, TITLE};
use super::{Rank, Setting};

/// Length of a tick and its gap to the label.
pub(crate) const TICK: f64 = 5.0;
const TICK_GAP: f64 = 5.0;

/// Wrapped title and caption with the room they take.
#[derive(Debug, Clone)]
pub(crate) struct Heading {
    title: Vec<String>,
    caption: Vec<String>,
    em: f64,
    pub top: f64,
    pub bottom: f64,
}

impl Heading {
    pub fn new(fonts: &Fonts, title: &str, caption: &str, width: f64, setting: Setting) -> Self {
        let em = match setting.rank {
            Rank::Page => TITLE + 3.0,
            Rank::Alone => TITLE,
            Rank::Panel => AXIS + 0.5,
        };
        let title = fonts.wrap(&setting.tagged(title), em, true, width);
        let caption = fonts.wrap(caption, CAPTION, false, width);
        let top =
            if title.is_empty() { 4.0 } else { title.len() as f64 * em * LEADING + 11.0 }.max(setting.heading_top);
        let bottom = if caption.is_empty() { 0.0 } else { caption.len() as f64 * CAPTION * LEADING + 8.0 };
        Self { title, caption, em, top, bottom }
    }

    /// Writes the title at the top of `area` and the caption below `foot`.
    pub fn draw(&self, canvas: &mut Canvas, area: Area, foot: f64) {
        let ink = Lettering::new(self.em, INK).bold();
        lines(canvas, (area.left, area.top), &self.title, ink);
        let soft = Lettering::new(CAPTION, SOFT);
        lines(canvas, (area.left, foot + 8.0), &self.caption, soft);
    }

    /// As [`Self::draw`], with a legend between `foot` and the caption.
    pub fn draw_with(&self, legend: &Legend, canvas: &mut Canvas, area: Area, foot: f64) {
        legend.draw(canvas, area.left, foot);
        self.draw(canvas, area, foot + legend.height());
    }
}

/// Lines of text below each other, hung by the top of their line boxes.
pub(crate) fn lines(canvas: &mut Canvas, at: Place, text: &[String], lettering: Lettering) {
    let em = lettering.em;
    for (i, line) in text.iter().enumerate() {
        let baseline = at.1 + (i as f64 * LEADING + 0.5 * (LEADING + CAP)) * em;
        canvas.text((at.0, baseline), line, lettering);
    }
}

/// Upward lines of text side by side; `left` is the left edge of the first.
pub(crate) fn upward_lines(canvas: &mut Canvas, left: f64, middle: f64, text: &[String], em: f64) {
    let lettering = Lettering::new(em, INK).at(Anchor::Middle).upward();
    for (i, line) in text.iter().enumerate() {
        let baseline = left + (i as f64 * LEADING + 0.5 * (LEADING + CAP)) * em;
        canvas.text((baseline, middle), line, lettering);
    }
}

/// A plot rectangle with its two axes.
#[derive(Debug, Clone)]
pub(crate) struct Axes {
    pub plot: Area,
    pub x: Scale,
    pub y: Scale,
    pub x_ticks: Vec<Tick>,
    pub y_ticks: Vec<Tick>,
}

impl Axes {
    pub fn at(&self, x: f64, y: f64) -> Place {
        (self.x.place(x), self.y.place(y))
    }

    pub fn grid(&self, canvas: &mut Canvas) {
        let thin = Stroke::new(1.0, GRID);
        for tick in self.x_ticks.iter().filter(|t| !t.label.is_empty()) {
            let x = self.x.place(tick.at);
            canvas.line(&[(x, self.plot.top), (x, self.plot.bottom)], thin);
        }
        for tick in self.y_ticks.iter().filter(|t| !t.label.is_empty()) {
            let y = self.y.place(tick.at);
            canvas.line(&[(self.plot.left, y), (self.plot.right, y)], thin);
        }
    }

    /// The x axis alone, below the plot.
    pub fn ruler(&self, canvas: &mut Canvas) {
        self.x_axis(canvas);
        let y = self.plot.bottom;
        canvas.line(&[(self.plot.left, y), (self.plot.right, y)], Stroke::new(1.2, INK));
    }

    fn x_axis(&self, canvas: &mut Canvas) {
        let line = Stroke::new(1.2, INK);
        for tick in &self.x_ticks {
            let x = self.x.place(tick.at);
            let reach = if tick.label.is_empty() { 0.6 } else { 1.0 } * TICK;
            let y = self.plot.bottom;
            canvas.line(&[(x, y), (x, y + reach)], line);
            let baseline = y + TICK + TICK_GAP + CAP * LABEL;
            let ink = Lettering::new(LABEL, INK).at(Anchor::Middle);
            canvas.text((x, baseline), &tick.label, ink);
        }
    }

    /// Frame, ticks and tick labels, below and left of the plot.
    pub fn frame(&self, canvas: &mut Canvas) {
        let line = Stroke::new(1.2, INK);
        self.x_axis(canvas);
        for tick in &self.y_ticks {
            let y = self.y.place(tick.at);
            let reach = if tick.label.is_empty() { 0.6 } else { 1.0 } * TICK;
            let x = self.plot.left;
            canvas.line(&[(x - reach, y), (x, y)], line);
            let ink = Lettering::new(LABEL, INK).at(Anchor::End);
            canvas.text_mid((x - TICK - TICK_GAP, y), &tick.label, ink);
        }
        canvas.frame(self.plot, line);
    }

    /// Axis titles; `left` is the left edge of the y title.
    pub fn titles(&self, canvas: &mut Canvas, left: f64, x_title: &[String], y_title: &[String]) {
        let centre = self.plot.centre();
        let ink = Lettering::new(AXIS, INK).at(Anchor::Middle);
        lines(canvas, (centre.0, self.plot.bottom + tick_row()), x_title, ink);
        upward_lines(canvas, left, centre.1, y_title, AXIS);
    }
}

/// Height of the row of x tick labels.
pub(crate) fn tick_row() -> f64 {
    TICK + TICK_GAP + LABEL
}

/// Width of the column of tick labels.
pub(crate) fn tick_column(fonts: &Fonts, ticks: &[Tick]) -> f64 {
    TICK + TICK_GAP + ticks.iter().map(|t| fonts.width(&t.label, LABEL, false)).fold(0.0, f64::max)
}

/// Height of a wrapped axis title.
pub(crate) fn title_room(title: &[String]) -> f64 {
    if title.is_empty() { 0.0 } else { title.len() as f64 * AXIS * LEADING + 3.0 }
}

/// The most ticks whose labels do not touch side by side.
pub(crate) fn fit_across(fonts: &Fonts, scale: &Scale) -> Vec<Tick> {
    let most = ((scale.to - scale.from).abs() / 56.0).clamp(2.0, 10.0) as usize;
    for target in (2..=most).rev() {
        let ticks = scale.ticks(target);
        let mut edge = f64::NEG_INFINITY;
        let clear = ticks.iter().filter(|t| !t.label.is_empty()).all(|t| {
            let half = 0.5 * fonts.width(&t.label, LABEL, false);
            let centre = scale.place(t.at);
            let clear = centre - half > edge + 10.0;
            edge = centre + half;
            clear
        });
        if clear {
            return ticks;
        }
    }
    ends_only(scale)
}

/// Ticks whose labels do not touch above each other.
pub(crate) fn fit_up(scale: &Scale) -> Vec<Tick> {
    let most = ((scale.to - scale.from).abs() / 42.0).clamp(2.0, 9.0) as usize;
    for target in (2..=most).rev() {
        let ticks = scale.ticks(target);
        let places: Vec<f64> = ticks.iter().filter(|t| !t.label.is_empty()).map(|t| scale.place(t.at)).collect();
        if places.windows(2).all(|p| (p[1] - p[0]).abs() > LABEL * 1.15) {
            return ticks;
        }
    }
    ends_only(scale)
}

fn ends_only(scale: &Scale) -> Vec<Tick> {
    let mut ticks = scale.ticks(2);
    let count = ticks.len();
    for (i, tick) in ticks.iter_mut().enumerate() {
        if i != 0 && i + 1 != count {
            tick.label.clear();
        }
    }
    ticks
}

/// What a legend entry shows before its words.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Sample {
    Line(Stroke, Option<Marker>),
    Cased(Stroke),
    Patch(Colour, f64),
    NoData,
    /// The limit mark of one bar.
    Post(Colour),
    Whisker,
}

impl Sample {
    pub const WIDTH: f64 = 34.0;

    /// Draws the sample from `left` on, centred on `middle`.
    pub fn draw(&self, canvas: &mut Canvas, left: f64, middle: f64) {
        let right = left + Self::WIDTH;
        let ends = [(left, middle), (right, middle)];
        match *self {
            Self::Line(stroke, marker) => {
                canvas.line(&ends, stroke);
                if let Some(marker) = marker {
                    canvas.marker(marker, (f64::midpoint(left, right), middle), 4.2, stroke.colour);
                }
            }
            Self::Cased(stroke) => {
                let ground = Area::new(left, middle - 7.0, right, middle + 7.0);
                canvas.block(ground, (120, 150, 150), 1.0);
                canvas.line(&ends, Stroke::new(stroke.width + 1.8, PAPER));
                canvas.line(&ends, stroke);
            }
            Self::Patch(colour, alpha) => {
                let area = Area::new(left, middle - 7.0, right, middle + 7.0);
                canvas.block(area, colour, alpha);
                canvas.frame(area, Stroke::new(0.8, LINE));
            }
            Self::Post(colour) => {
                let x = f64::midpoint(left, right);
                let ends = [(x, middle - 9.0), (x, middle + 9.0)];
                canvas.line(&ends, Stroke::new(4.0, colour));
            }
            Self::Whisker => {
                let line = Stroke::new(2.0, INK);
                canvas.line(&ends, line);
                for x in [left, right] {
                    canvas.line(&[(x, middle - 5.0), (x, middle + 5.0)], line);
                }
            }
            Self::NoData => {
                let area = Area::new(left, middle - 7.0, right, middle + 7.0);
                canvas.block(area, super::theme::NO_DATA, 1.0);
                let hatch = Stroke::new(1.0, super::theme::NO_DATA_HATCH);
                for i in -2..7 {
                    let x = left + 7.0 * f64::from(i);
                    canvas.line_within(&[(x, middle + 7.0), (x + 14.0, middle - 7.0)], hatch, area);
                }
            }
        }
    }
}

/// A legend outside the data, in rows that fill the width.
#[derive(Debug, Clone, Default)]
pub(crate) struct Legend {
    rows: Vec<Vec<(Sample, Vec<String>, f64)>>,
}

impl Legend {
    const GAP: f64 = 8.0;
    const BETWEEN: f64 = 26.0;

    pub fn new(fonts: &Fonts, entries: &[(Sample, String)], width: f64) -> Self {
        let mut rows: Vec<Vec<(Sample, Vec<String>, f64)>> = Vec::new();
        let mut used = f64::INFINITY;
        for (sample, label) in entries {
            let text = fonts.wrap(label, LABEL, false, width - Sample::WIDTH - Self::GAP);
            let wide = text.iter().map(|l| fonts.width(l, LABEL, false)).fold(0.0, f64::max);
            let wide = Sample::WIDTH + Self::GAP + wide;
            if used + Self::BETWEEN + wide > width {
                rows.push(Vec::new());
                used = -Self::BETWEEN;
            }
            used += Self::BETWEEN + wide;
            if let Some(row) = rows.last_mut() {
                row.push((*sample, text, wide));
            }
        }
        Self { rows }
    }

    fn row_height(row: &[(Sample, Vec<String>, f64)]) -> f64 {
        let most = row.iter().map(|e| e.1.len()).max().unwrap_or(0);
        most as f64 * LABEL * LEADING + 3.0
    }

    pub fn height(&self) -> f64 {
        if self.rows.is_empty() {
            return 0.0;
        }
        6.0 + self.rows.iter().map(|r| Self::row_height(r)).sum::<f64>()
    }

    pub fn draw(&self, canvas: &mut Canvas, left: f64, top: f64) {
        let mut y = top + 6.0;
        for row in &self.rows {
            let mut x = left;
            for (sample, text, wide) in row {
                sample.draw(canvas, x, y + 0.5 * LABEL * LEADING);
                let at = (x + Sample::WIDTH + Self::GAP, y);
                lines(canvas, at, text, Lettering::new(LABEL, INK));
                x += wide + Self::BETWEEN;
            }
            y += Self::row_height(row);
        }
    }
}
