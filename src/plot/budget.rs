//! Clear coat as an account: gone, this job with its interval, left, the rest; one row a
//! panel, with the limit.
//!
//! Draws given numbers; what may be taken is decided in the `budget` room.

use super::canvas::{Area, Canvas, Lettering, Place, Stroke};
use super::frame::{Axes, Heading, Legend, Sample, fit_across, lines, tick_row, title_room};
use super::scale::{Axis, Scale, plain};
use super::theme::{AXIS, CAPTION, Colour, INK, LABEL, LEADING, LIMIT, LINE, SOFT, series_style, tint};
use super::{Draw, Figure, MAX_ITEMS, PlotError, Setting, check_size, check_texts, describe, figure, finite_range};

/// The account of one panel, µm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct BudgetRow {
    /// Name, above the bar.
    pub label: String,
    /// Clear coat of the fresh film.
    pub clear_um: f64,
    /// Taken before this job.
    pub gone_um: f64,
    /// Taken by this job: its most likely value.
    pub job_um: f64,
    /// Interval of what this job takes, such as the 90 % one.
    pub job_interval_um: Option<(f64, f64)>,
    /// Most that may be taken in all, from the fresh film on.
    pub limit_um: f64,
    /// A verdict after the name.
    pub note: String,
}

impl BudgetRow {
    /// What is left of the budget after this job; negative where it is overdrawn.
    ///
    /// # Example
    /// ```
    /// use trochoid::plot::BudgetRow;
    /// // Of 8 µm that may go, 3 are gone and this job takes 2: 3 µm are left.
    /// let row = BudgetRow { clear_um: 45.0, gone_um: 3.0, job_um: 2.0, limit_um: 8.0, ..BudgetRow::default() };
    /// assert_eq!(row.left_um(), 3.0);
    /// ```
    #[must_use]
    pub fn left_um(&self) -> f64 {
        self.limit_um - self.gone_um - self.job_um
    }

    /// The account in words.
    fn words(&self, interval_name: &str) -> String {
        let gone = if self.gone_um > 0.0 { format!("gone {}; ", plain(self.gone_um)) } else { String::new() };
        let mut text = format!("{gone}this job {}", plain(self.job_um));
        if let Some((low, high)) = self.job_interval_um {
            text = format!("{text} ({interval_name} {} to {})", plain(low), plain(high));
        }
        let left = self.left_um();
        let verdict = if left >= 0.0 { "left" } else { "over the limit by" };
        text = format!("{text}; {verdict} {}", plain(left.abs()));
        text = format!("{text}; limit {} of {} µm clear coat", plain(self.limit_um), plain(self.clear_um));
        text
    }
}

/// Accounts of several panels below each other on one scale; a row stands in the
/// example of [`BudgetRow::left_um`].
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetChart {
    /// Title.
    pub title: String,
    /// One line of settings below the picture; wrapped when long.
    pub caption: String,
    /// Alternative text; empty makes one from title, numbers and caption.
    pub description: String,
    /// Title of the axis with its unit.
    pub axis_title: String,
    /// Name of the interval in words and legend, such as `90 %`.
    pub interval_name: String,
    /// Panels from the top down.
    pub rows: Vec<BudgetRow>,
    /// Width of the picture when it stands alone \[picture units\], within [`WIDTHS`](super::WIDTHS).
    pub width: f64,
}

impl Default for BudgetChart {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            description: String::new(),
            axis_title: "clear coat taken, from the fresh film on [µm]".into(),
            interval_name: "90 %".into(),
            rows: Vec::new(),
            width: 720.0,
        }
    }
}

const GONE: Colour = (110, 110, 110);
const BAR: f64 = 22.0;
/// Gap between the rows.
const GAP: f64 = 16.0;

fn job() -> Colour {
    series_style(1).0
}

fn left() -> Colour {
    tint(series_style(2).0, 0.55)
}

fn rest() -> Colour {
    tint(GONE, 0.14)
}

struct Layout {
    heading: Heading,
    legend: Legend,
    names: Vec<Vec<String>>,
    notes: Vec<Vec<String>>,
    words: Vec<Vec<String>>,
    plot: Area,
    x: Scale,
    x_title: Vec<String>,
}

impl Layout {
    /// Height of the words above the bar, of the whole row.
    fn row(&self, i: usize) -> (f64, f64) {
        let above = (self.names[i].len() + self.notes[i].len()) as f64 * LABEL * LEADING + 4.0;
        (above, above + BAR + 4.0 + self.words[i].len() as f64 * CAPTION * LEADING)
    }
}

impl BudgetChart {
    /// Draws the chart alone.
    ///
    /// # Errors
    /// [`PlotError`] for no rows, a number that is negative or not finite, no clear coat,
    /// an interval turned round, or a size above the bounds of the module.
    pub fn figure(&self) -> Result<Figure, PlotError> {
        figure(self, self.width)
    }

    fn layout(&self, width: f64, setting: Setting) -> Result<Layout, PlotError> {
        let fonts = super::font::fonts()?;
        let most = finite_range(self.rows.iter().flat_map(|r| {
            let high = r.job_interval_um.map_or(r.job_um, |i| i.1.max(r.job_um));
            [r.clear_um, r.limit_um, r.gone_um + high]
        }));
        let most = most.ok_or_else(|| PlotError::NoFiniteData { what: format!("the budget \"{}\"", self.title) })?.1;
        let high = Axis::default().span((0.0, most)).1;
        let x = Scale::new((0.0, high), false, 8.0, width - 16.0);
        let heading = Heading::new(fonts, &self.title, &self.caption, width, setting);
        let wrap = |text: &str, em: f64, bold: bool| fonts.wrap(text, em, bold, width - 12.0);
        let mut l = Layout {
            legend: Legend::new(fonts, &self.entries(), width),
            names: self.rows.iter().map(|r| wrap(&r.label, LABEL, true)).collect(),
            notes: self.rows.iter().map(|r| wrap(&r.note, LABEL, false)).collect(),
            words: self.rows.iter().map(|r| wrap(&r.words(&self.interval_name), CAPTION, false)).collect(),
            plot: Area::new(x.from, heading.top, x.to, heading.top),
            x,
            x_title: fonts.wrap(&self.axis_title, AXIS, false, width),
            heading,
        };
        l.plot.bottom += (0..self.rows.len()).map(|i| l.row(i).1 + GAP).sum::<f64>();
        Ok(l)
    }

    fn entries(&self) -> Vec<(Sample, String)> {
        let mut entries = Vec::new();
        if self.rows.iter().any(|r| r.gone_um > 0.0) {
            entries.push((Sample::Patch(GONE, 1.0), "already gone".to_string()));
        }
        entries.push((Sample::Patch(job(), 1.0), "this job".to_string()));
        if self.rows.iter().any(|r| r.job_interval_um.is_some()) {
            entries.push((Sample::Whisker, format!("its {} interval", self.interval_name)));
        }
        entries.push((Sample::Patch(left(), 1.0), "left in the budget".into()));
        entries.push((Sample::Patch(rest(), 1.0), "clear coat not to be touched".into()));
        if self.rows.iter().any(|r| r.left_um() < 0.0) {
            entries.push((Sample::Patch(LIMIT, 1.0), "over the limit".into()));
        }
        entries.push((Sample::Post(LIMIT), "limit".into()));
        entries
    }

    fn draw_row(&self, canvas: &mut Canvas, l: &Layout, i: usize, x: &Scale, corner: Place) {
        let row = &self.rows[i];
        let (above, _) = l.row(i);
        let over = row.left_um() < 0.0;
        lines(canvas, corner, &l.names[i], Lettering::new(LABEL, INK).bold());
        let below_name = corner.1 + l.names[i].len() as f64 * LABEL * LEADING;
        lines(canvas, (corner.0, below_name), &l.notes[i], Lettering::new(LABEL, if over { LIMIT } else { SOFT }));
        let top = corner.1 + above;
        let bar = |from: f64, to: f64| Area::new(x.place(from), top, x.place(to), top + BAR);
        let taken = row.gone_um + row.job_um;
        let within = taken.min(row.limit_um.max(row.gone_um));
        for (from, to, colour) in [
            (0.0, row.clear_um, rest()),
            (0.0, row.gone_um, GONE),
            (row.gone_um, within, job()),
            (within, taken, LIMIT),
            (taken, row.limit_um, left()),
        ] {
            if to > from {
                canvas.block(bar(from, to), colour, 1.0);
            }
        }
        canvas.frame(bar(0.0, row.clear_um), Stroke::new(1.0, LINE));
        if let Some((low, high)) = row.job_interval_um {
            let middle = top + 0.5 * BAR;
            let (low, high) = (x.place(row.gone_um + low), x.place(row.gone_um + high));
            for (grow, ink) in [(2.2, super::theme::PAPER), (0.0, INK)] {
                let line = Stroke::new(2.0 + grow, ink);
                canvas.line(&[(low - 0.5 * grow, middle), (high + 0.5 * grow, middle)], line);
                for end in [low, high] {
                    let half = 6.0 + 0.5 * grow;
                    canvas.line(&[(end, middle - half), (end, middle + half)], line);
                }
            }
        }
        let at = x.place(row.limit_um);
        canvas.line(&[(at, top - 5.0), (at, top + BAR + 3.0)], Stroke::new(4.0, LIMIT));
        let ink = Lettering::new(CAPTION, if over { LIMIT } else { INK });
        lines(canvas, (corner.0, top + BAR + 4.0), &l.words[i], ink);
    }
}

impl Draw for BudgetChart {
    fn check(&self) -> Result<(), PlotError> {
        if self.rows.is_empty() {
            return Err(PlotError::Empty { what: format!("the budget \"{}\"", self.title) });
        }
        check_size("number of rows", self.rows.len() as f64, MAX_ITEMS as f64)?;
        for row in &self.rows {
            let (low, high) = row.job_interval_um.unwrap_or((row.job_um, row.job_um));
            for (what, value, least) in [
                ("clear coat", row.clear_um, f64::MIN_POSITIVE),
                ("clear coat gone", row.gone_um, 0.0),
                ("cut of this job", row.job_um, 0.0),
                ("low end of the cut of this job", low, 0.0),
                ("high end of the cut of this job", high, low.max(0.0)),
                ("limit", row.limit_um, 0.0),
            ] {
                if !(value >= least && value <= 1e9) {
                    let least = if what == "clear coat" { "above 0".to_string() } else { format!("at least {least}") };
                    return Err(PlotError::Range {
                        what: format!("{what} of \"{}\", µm", row.label),
                        value,
                        allowed: format!("finite and {least}"),
                    });
                }
            }
        }
        check_texts([self.title.as_str(), &self.caption, &self.description, &self.axis_title, &self.interval_name])?;
        check_texts(self.rows.iter().flat_map(|r| [r.label.as_str(), &r.note]))
    }

    fn words(&self) -> (&str, String) {
        let rows: Vec<String> =
            self.rows.iter().map(|r| format!("{}: {}", r.label, r.words(&self.interval_name))).collect();
        let kind = format!("accounts of clear coat. {}", rows.join(". "));
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
        let mut y = plot.top;
        for i in 0..self.rows.len() {
            self.draw_row(canvas, &l, i, &x, (plot.left, y));
            y += l.row(i).1 + GAP;
        }
        // An axis below all rows: the words of a row stand between the bars.
        let foot = Area::new(plot.left, plot.bottom - 4.0, plot.right, plot.bottom);
        let y = Scale::new((0.0, 1.0), false, foot.bottom, foot.top);
        let axes = Axes { plot: foot, x, y, x_ticks: fit_across(canvas.fonts, &x), y_ticks: Vec::new() };
        axes.ruler(canvas);
        let below = plot.bottom + tick_row();
        lines(canvas, (plot.left, below), &l.x_title, Lettering::new(AXIS, INK));
        let foot = below + title_room(&l.x_title);
        l.heading.draw_with(&l.legend, canvas, area, foot);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_account_adds_up_in_words() {
        let row = BudgetRow {
            label: "bonnet".into(),
            clear_um: 45.0,
            gone_um: 3.0,
            job_um: 2.5,
            job_interval_um: Some((1.5, 4.0)),
            limit_um: 8.0,
            note: String::new(),
        };
        let text = row.words("90 %");
        assert_eq!(text, "gone 3; this job 2.5 (90 % 1.5 to 4); left 2.5; limit 8 of 45 µm clear coat");
        let over = BudgetRow { job_um: 6.0, ..row };
        assert!(over.words("90 %").contains("over the limit by 1;"), "{}", over.words("90 %"));
    }
}
