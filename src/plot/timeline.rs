//! Bars over time in rows: pads in rotation, activities of a day.
//!
//! Draws given times; a plan of work is made in `plan`.

use super::canvas::{Anchor, Area, Canvas, Lettering, Stroke};
use super::frame::{Axes, Heading, Legend, Sample, lines, tick_row, title_room};
use super::scale::{Scale, Tick, number};
use super::theme::{AXIS, CAP, INK, LABEL, LEADING, LIMIT, LIMIT_DASH, PAPER, series_style, tint};
use super::{
    BarLimit, Draw, Figure, MAX_ITEMS, MAX_POINTS, PlotError, Setting, check_interval, check_size, check_texts,
    describe, figure, finite_range,
};

/// One bar of a row.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TimeBar {
    /// Start, min.
    pub start_min: f64,
    /// End, min; not before the start.
    pub end_min: f64,
    /// Words in the bar, or after it where there is room; left out where there is none,
    /// which the caption then says.
    pub label: String,
    /// Number of its kind, which decides the colour.
    pub kind: usize,
}

/// One row: a pad, an activity, a person.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TimeRow {
    /// Name, left of the row; wrapped when long.
    pub label: String,
    /// Bars in any order; those that overlap are drawn below each other.
    pub bars: Vec<TimeBar>,
}

/// Rows of bars over minutes.
///
/// # Example
/// ```
/// use trochoid::plot::{TimeBar, TimeRow, Timeline};
/// let bar = |start_min, end_min| TimeBar { start_min, end_min, ..TimeBar::default() };
/// let day = Timeline {
///     title: "Pads".into(),
///     kinds: vec!["work".into()],
///     rows: vec![TimeRow { label: "pad 1".into(), bars: vec![bar(0.0, 4.0), bar(9.0, 13.0)] }],
///     ..Timeline::default()
/// };
/// assert!(day.figure()?.description().contains("pad 1"));
/// // A bar that ends before it starts is refused.
/// let row = TimeRow { label: "pad 1".into(), bars: vec![bar(4.0, 0.0)] };
/// assert!(Timeline { rows: vec![row], ..day }.figure().is_err());
/// # Ok::<(), trochoid::plot::PlotError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Timeline {
    /// Title.
    pub title: String,
    /// One line of settings below the picture; wrapped when long.
    pub caption: String,
    /// Alternative text; empty makes one from title, rows and caption.
    pub description: String,
    /// Axis title.
    pub x_title: String,
    /// Minutes after midnight at time zero; the ticks are then clock times, else minutes.
    pub clock_start_min: Option<f64>,
    /// First and last minute; `None` takes those of the bars and limits.
    pub range_min: Option<(f64, f64)>,
    /// Names of the kinds in the legend, at most seven.
    pub kinds: Vec<String>,
    /// Rows from the top down.
    pub rows: Vec<TimeRow>,
    /// Moments across all rows, such as the end of the shift.
    pub limits: Vec<BarLimit>,
    /// Width of the picture when it stands alone \[picture units\], within [`WIDTHS`](super::WIDTHS).
    pub width: f64,
}

impl Default for Timeline {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            description: String::new(),
            x_title: "time [min]".into(),
            clock_start_min: None,
            range_min: None,
            kinds: Vec::new(),
            rows: Vec::new(),
            limits: Vec::new(),
            width: 720.0,
        }
    }
}

/// Most kinds: the colours that are told apart.
const MOST_KINDS: usize = 7;
/// Height of one lane of bars.
const LANE: f64 = 26.0;
/// Height of a bar in its lane.
const BAR: f64 = 20.0;
/// Gap between rows.
const GAP: f64 = 6.0;
/// Gap between an end of a bar and its words.
const PAD: f64 = 4.0;
/// Latest minute: ten years.
const LATEST: f64 = 5.3e6;

struct Layout {
    heading: Heading,
    legend: Legend,
    names: Vec<Vec<String>>,
    /// Lane of each bar, number of lanes, height of the row.
    rows: Vec<(Vec<usize>, f64)>,
    plot: Area,
    x: Scale,
    ticks: Vec<Tick>,
    x_title: Vec<String>,
    limits: Vec<Vec<String>>,
}

impl Timeline {
    /// Draws the timeline alone.
    ///
    /// # Errors
    /// [`PlotError`] for no bar, a time that is not finite or beyond ten years, a bar that
    /// ends before it starts, a kind without a name, or a size above the bounds of the
    /// module.
    pub fn figure(&self) -> Result<Figure, PlotError> {
        figure(self, self.width)
    }

    fn bars(&self) -> impl Iterator<Item = &TimeBar> {
        self.rows.iter().flat_map(|r| &r.bars)
    }

    fn span(&self) -> Option<(f64, f64)> {
        let moments = self.bars().flat_map(|b| [b.start_min, b.end_min]).chain(self.limits.iter().map(|l| l.at));
        let (low, high) = self.range_min.or_else(|| finite_range(moments))?;
        let (low, mut high) = if high > low { (low, high) } else { (low - 1.0, high + 1.0) };
        // Room beyond a limit that would fall on the frame.
        let room = 0.02 * (high - low);
        if self.range_min.is_none() && self.limits.iter().any(|l| l.at > high - room) {
            high += room;
        }
        Some((low, high))
    }

    fn layout(&self, width: f64, setting: Setting) -> Result<Layout, PlotError> {
        let fonts = super::font::fonts()?;
        let span =
            self.span().ok_or_else(|| PlotError::NoFiniteData { what: format!("the timeline \"{}\"", self.title) })?;
        let names: Vec<Vec<String>> =
            self.rows.iter().map(|r| fonts.wrap(&r.label, LABEL, false, width * 0.3)).collect();
        let left = names.iter().flatten().map(|n| fonts.width(n, LABEL, false)).fold(0.0, f64::max) + 10.0;
        let x = Scale::new(span, false, left, width - 24.0);
        let lost = self.rows.iter().map(|r| lost_words(fonts, r, &x)).sum::<usize>();
        let mut caption = self.caption.clone();
        if lost > 0 {
            let said = if lost == 1 { "One short bar has".into() } else { format!("{lost} short bars have") };
            caption = format!("{caption} {said} no room for words.").trim().to_string();
        }
        let heading = Heading::new(fonts, &self.title, &caption, width, setting);
        let rows: Vec<(Vec<usize>, f64)> = self
            .rows
            .iter()
            .zip(&names)
            .map(|(row, name)| {
                let lanes = lanes(&row.bars);
                let count = lanes.iter().max().map_or(1, |l| l + 1);
                let tall = (count as f64 * LANE).max(name.len() as f64 * LABEL * LEADING);
                (lanes, tall + GAP)
            })
            .collect();
        let limits: Vec<Vec<String>> =
            self.limits.iter().map(|l| fonts.wrap(&l.label, LABEL, false, width * 0.4)).collect();
        // One limit below the other: they may stand close together.
        let top = heading.top + limits.iter().map(|l| l.len() as f64 * LABEL * LEADING).sum::<f64>() + 6.0;
        let plot = Area::new(x.from, top, x.to, top + rows.iter().map(|r| r.1).sum::<f64>() + GAP);
        let entries: Vec<(Sample, String)> = self
            .kinds
            .iter()
            .enumerate()
            .filter(|(k, name)| !name.is_empty() && self.bars().any(|b| b.kind == *k))
            .map(|(k, name)| (Sample::Patch(tint(series_style(k).0, 0.6), 1.0), name.clone()))
            .collect();
        Ok(Layout {
            heading,
            legend: Legend::new(fonts, &entries, width),
            names,
            rows,
            ticks: self.ticks(fonts, &x),
            x_title: fonts.wrap(&self.x_title, AXIS, false, plot.width().max(200.0)),
            plot,
            x,
            limits,
        })
    }

    /// Ticks at round minutes, hours or days, as many as fit.
    fn ticks(&self, fonts: &super::font::Fonts, x: &Scale) -> Vec<Tick> {
        const STEPS: [f64; 19] = [
            0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 240.0, 480.0, 720.0, 1440.0, 2880.0, 7200.0,
            14_400.0, 144_000.0,
        ];
        let zero = self.clock_start_min.unwrap_or(0.0);
        let label = |at: f64, step: f64| match self.clock_start_min {
            // Seconds do not fit a clock of hours and minutes: whole minutes there.
            Some(_) => clock(at + zero),
            None => number(at, usize::from(step < 1.0), x.high.abs().max(x.low.abs())),
        };
        let steps = STEPS.into_iter().filter(|s| self.clock_start_min.is_none() || *s >= 1.0);
        for step in steps {
            let first = ((x.low + zero) / step - 1e-9).ceil();
            let count = ((x.high + zero) / step + 1e-9).floor() - first;
            if count > 40.0 {
                continue;
            }
            let ticks: Vec<Tick> = (0..=count.max(-1.0) as i32)
                .map(|i| (first + f64::from(i)) * step - zero)
                .filter(|at| count >= 0.0 && *at <= x.high + 1e-9 * x.high.abs())
                .map(|at| Tick { at, label: label(at, step) })
                .collect();
            let half = |t: &Tick| 0.5 * fonts.width(&t.label, LABEL, false);
            if ticks.windows(2).all(|t| x.place(t[1].at) - half(&t[1]) > x.place(t[0].at) + half(&t[0]) + 12.0) {
                return ticks;
            }
        }
        [x.low, x.high].map(|at| Tick { at, label: label(at, 1.0) }).to_vec()
    }

    fn draw_rows(&self, canvas: &mut Canvas, l: &Layout, plot: Area, x: &Scale) {
        let mut top = plot.top + GAP;
        for ((row, names), (lanes, tall)) in self.rows.iter().zip(&l.names).zip(&l.rows) {
            let middle = top + 0.5 * (tall - GAP);
            let name_top = middle - 0.5 * names.len() as f64 * LABEL * LEADING;
            let ink = Lettering::new(LABEL, INK).at(Anchor::End);
            lines(canvas, (plot.left - 10.0, name_top), names, ink);
            let count = lanes.iter().max().map_or(1, |l| l + 1);
            let first = middle - 0.5 * count as f64 * LANE;
            for (bar, lane) in row.bars.iter().zip(lanes) {
                let line = first + (*lane as f64 + 0.5) * LANE;
                let colour = series_style(bar.kind).0;
                let place = |t: f64| x.place(t).clamp(plot.left, plot.right);
                let mut body = Area::new(place(bar.start_min), line - 0.5 * BAR, place(bar.end_min), line + 0.5 * BAR);
                // A moment is still seen.
                body.right = body.right.max(body.left + 1.5).min(plot.right);
                canvas.block(body, tint(colour, 0.6), 1.0);
                canvas.frame(body, Stroke::new(1.0, colour));
            }
            top += tall;
        }
    }

    /// The words of all bars on a ground of their own, over the limit lines.
    fn draw_words(&self, canvas: &mut Canvas, l: &Layout, plot: Area, x: &Scale) {
        let mut top = plot.top + GAP;
        for (row, (lanes, tall)) in self.rows.iter().zip(&l.rows) {
            let count = lanes.iter().max().map_or(1, |l| l + 1);
            let first = top + 0.5 * (tall - GAP) - 0.5 * count as f64 * LANE;
            for (i, spot) in word_spots(canvas.fonts, row, lanes, x) {
                let bar = &row.bars[i];
                let line = first + (lanes[i] as f64 + 0.5) * LANE;
                let wide = canvas.fonts.width(&bar.label, LABEL, false);
                let inside = spot < x.place(bar.end_min);
                let ground = if inside { tint(series_style(bar.kind).0, 0.6) } else { PAPER };
                let half = 0.5 * BAR - 1.0;
                canvas.block(Area::new(spot - 1.0, line - half, spot + wide + 1.0, line + half), ground, 1.0);
                canvas.text_mid((spot, line), &bar.label, Lettering::new(LABEL, INK));
            }
            top += tall;
        }
    }

    fn draw_limits(&self, canvas: &mut Canvas, l: &Layout, area: Area, plot: Area, x: &Scale) {
        let mut y = area.top + l.heading.top;
        for (limit, words) in self.limits.iter().zip(&l.limits) {
            let at = x.place(limit.at);
            let wide = words.iter().map(|w| canvas.fonts.width(w, LABEL, false)).fold(0.0, f64::max);
            let middle = y + 0.5 * words.len() as f64 * LABEL * LEADING;
            // Words beside the line, on the side that has room.
            let right = at + 6.0 + wide <= area.right;
            let (left, anchor) = if right { (at + 6.0, Anchor::Start) } else { (at - 6.0, Anchor::End) };
            lines(canvas, (left, y), words, Lettering::new(LABEL, LIMIT).at(anchor));
            let ends = [(at, middle - 0.5 * CAP * LABEL), (at, plot.bottom)];
            if x.holds(limit.at) {
                canvas.line(&ends, Stroke::new(2.0, LIMIT).dashed(LIMIT_DASH));
            }
            y += words.len() as f64 * LABEL * LEADING;
        }
    }
}

/// Clock time of a minute after midnight; days beyond the first are counted.
fn clock(minute: f64) -> String {
    let whole = minute.round();
    let day = (whole / 1440.0).floor();
    let within = (whole - 1440.0 * day) as u32;
    let time = format!("{}:{:02}", within / 60, within % 60);
    if day.abs() < 0.5 { time } else { format!("{time} (+{day})") }
}

/// A lane for each bar so that none overlap: by start, each into the first free one.
fn lanes(bars: &[TimeBar]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..bars.len()).collect();
    order.sort_by(|a, b| bars[*a].start_min.total_cmp(&bars[*b].start_min));
    let mut free: Vec<f64> = Vec::new();
    let mut lanes = vec![0; bars.len()];
    for i in order {
        // A hair of slack: one bar ends where the next starts, up to rounding.
        let lane = free.iter().position(|end| *end <= bars[i].start_min + 1e-9).unwrap_or(free.len());
        if lane == free.len() {
            free.push(f64::NEG_INFINITY);
        }
        free[lane] = bars[i].end_min;
        lanes[i] = lane;
    }
    lanes
}

/// Where the words of bars start: in the bar, else after it up to the next bar of its
/// lane; bars without room are left out.
fn word_spots(fonts: &super::font::Fonts, row: &TimeRow, lanes: &[usize], x: &Scale) -> Vec<(usize, f64)> {
    let mut spots = Vec::new();
    for (i, bar) in row.bars.iter().enumerate().filter(|(_, b)| !b.label.is_empty()) {
        let place = |t: f64| x.place(t).clamp(x.from, x.to);
        let (start, end) = (place(bar.start_min), place(bar.end_min));
        let wide = fonts.width(&bar.label, LABEL, false);
        if wide + 2.0 * PAD <= end - start {
            spots.push((i, 0.5 * (start + end - wide)));
            continue;
        }
        let others = row.bars.iter().zip(lanes).enumerate().filter(|(k, (_, lane))| *k != i && **lane == lanes[i]);
        let next = others.map(|(_, (b, _))| place(b.start_min)).filter(|s| *s >= end - 1e-6).fold(x.to, f64::min);
        if end + 2.0 * PAD + wide <= next {
            spots.push((i, end + PAD));
        }
    }
    spots
}

fn lost_words(fonts: &super::font::Fonts, row: &TimeRow, x: &Scale) -> usize {
    let named = row.bars.iter().filter(|b| !b.label.is_empty()).count();
    named - word_spots(fonts, row, &lanes(&row.bars), x).len()
}

impl Draw for Timeline {
    fn check(&self) -> Result<(), PlotError> {
        let name = format!("the timeline \"{}\"", self.title);
        if self.bars().next().is_none() {
            return Err(PlotError::Empty { what: name });
        }
        check_size("number of rows", self.rows.len().max(self.limits.len()) as f64, MAX_ITEMS as f64)?;
        // Lanes are searched bar by bar.
        check_size("number of bars", self.bars().count() as f64, (MAX_POINTS / 100) as f64)?;
        check_size("number of kinds", self.kinds.len() as f64, MOST_KINDS as f64)?;
        if let Some(range) = self.range_min {
            check_interval("range of a timeline", range)?;
        }
        let ends = self.range_min.map_or([0.0, 0.0], |r| [r.0, r.1]);
        let moments = self.bars().flat_map(|b| [b.start_min, b.end_min]).chain(self.limits.iter().map(|l| l.at));
        for value in moments.chain(ends).chain(self.clock_start_min) {
            if value.is_nan() || value.abs() > LATEST {
                let allowed = format!("finite and within {LATEST} min");
                return Err(PlotError::Range { what: format!("time of {name}, min"), value, allowed });
            }
        }
        if let Some(bar) = self.bars().find(|b| b.end_min < b.start_min) {
            return Err(PlotError::Range {
                what: format!("end of the bar \"{}\", min", bar.label),
                value: bar.end_min,
                allowed: format!("at or after its start, {}", bar.start_min),
            });
        }
        if let Some(bar) = self.bars().find(|b| b.kind >= self.kinds.len().max(1)) {
            return Err(PlotError::Range {
                what: format!("kind of the bar \"{}\"", bar.label),
                value: bar.kind as f64,
                allowed: format!("below {}, the number of kinds", self.kinds.len().max(1)),
            });
        }
        check_texts([self.title.as_str(), &self.caption, &self.description, &self.x_title])?;
        check_texts(self.kinds.iter().map(String::as_str))?;
        check_texts(self.limits.iter().map(|l| l.label.as_str()))?;
        check_texts(self.rows.iter().map(|r| r.label.as_str()))?;
        check_texts(self.bars().map(|b| b.label.as_str()))
    }

    fn words(&self) -> (&str, String) {
        let names: Vec<&str> = self.rows.iter().map(|r| r.label.as_str()).collect();
        let kind = format!("timeline of {}", names.join(", "));
        (&self.title, describe(&self.description, &self.title, &kind, &self.caption))
    }

    fn height(&self, width: f64, setting: Setting) -> Result<f64, PlotError> {
        let l = self.layout(width, setting)?;
        Ok(l.plot.bottom + tick_row() + title_room(&l.x_title) + l.legend.height() + l.heading.bottom)
    }

    fn draw(&self, canvas: &mut Canvas, area: Area, setting: Setting) -> Result<(), PlotError> {
        let l = self.layout(area.width(), setting)?;
        let plot = l.plot.within(&area);
        let x = Scale::new((l.x.low, l.x.high), false, plot.left, plot.right);
        let y = Scale::new((0.0, 1.0), false, plot.bottom, plot.top);
        let axes = Axes { plot, x, y, x_ticks: l.ticks.clone(), y_ticks: Vec::new() };
        axes.grid(canvas);
        self.draw_rows(canvas, &l, plot, &x);
        self.draw_limits(canvas, &l, area, plot, &x);
        self.draw_words(canvas, &l, plot, &x);
        axes.frame(canvas);
        let below = plot.bottom + tick_row();
        lines(canvas, (plot.centre().0, below), &l.x_title, Lettering::new(AXIS, INK).at(Anchor::Middle));
        let foot = below + title_room(&l.x_title);
        l.heading.draw_with(&l.legend, canvas, area, foot);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bar(start: f64, end: f64) -> TimeBar {
        TimeBar { start_min: start, end_min: end, label: "a long name".into(), kind: 0 }
    }

    #[test]
    fn bars_that_overlap_get_lanes_of_their_own() {
        let bars = [bar(5.0, 9.0), bar(0.0, 6.0), bar(6.0, 7.0), bar(9.0, 10.0)];
        assert_eq!(lanes(&bars), [1, 0, 0, 0]);
    }

    #[test]
    fn clock_times_cross_midnight() {
        assert_eq!(clock(485.0), "8:05");
        assert_eq!(clock(1441.0), "0:01 (+1)");
    }

    #[test]
    fn words_without_room_are_counted() {
        let Ok(fonts) = super::super::font::fonts() else {
            unreachable!("the embedded font parses, as its own test says");
        };
        let row = TimeRow { label: "pad 1".into(), bars: vec![bar(0.0, 1.0), bar(1.0, 2.0), bar(2.0, 3.0)] };
        let narrow = Scale::new((0.0, 3.0), false, 0.0, 60.0);
        let wide = Scale::new((0.0, 3.0), false, 0.0, 600.0);
        assert_eq!((lost_words(fonts, &row, &narrow), lost_words(fonts, &row, &wide)), (3, 0));
    }
}
