//! Labelled horizontal bars with whiskers and limit marks: comparison sheets,
//! budgets.

use super::canvas::{Anchor, Area, Canvas, Lettering, Stroke};
use super::font::Fonts;
use super::frame::{Axes, Heading, Legend, Sample, fit_across, lines, tick_row, title_room};
use super::place::spread;
use super::scale::{Axis, Scale, plain};
use super::theme::{AXIS, INK, LABEL, LEADING, LIMIT, LIMIT_DASH, SOFT, series_style, tint};
use super::{Draw, Figure, MAX_ITEMS, PlotError, Setting, check_size, check_texts, describe, figure, finite_range};

/// One bar.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bar {
    /// Name, left of the bar; wrapped when long.
    pub label: String,
    /// Value \[unit of the value axis\]; not finite is shown as "no value", never as zero.
    pub value: f64,
    /// Ends of the whisker \[unit of the value axis\].
    pub interval: Option<(f64, f64)>,
    /// The limit of this bar \[unit of the value axis\], a thick mark; the bar turns red above it.
    pub limit: Option<f64>,
    /// Words after the value, such as a unit or a verdict.
    pub note: String,
    /// Number of the style whose colour it takes.
    pub style: usize,
}

/// A limit of all bars: a dashed line with words above it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct BarLimit {
    /// Words.
    pub label: String,
    /// Value \[unit of the value axis\].
    pub at: f64,
}

/// Horizontal bars from zero.
///
/// # Example
/// ```
/// use trochoid::plot::{Axis, Bar, BarChart, BarLimit};
/// let bar = |label: &str, value| Bar { label: label.into(), value, ..Bar::default() };
/// let chart = BarChart {
///     title: "Daily exposure".into(),
///     axis: Axis::linear("A(8) [m/s²]"),
///     bars: vec![bar("as declared", 1.8), bar("in use", 3.2)],
///     limits: vec![BarLimit { label: "action value".into(), at: 2.5 }],
///     ..BarChart::default()
/// };
/// let words = chart.figure()?.description().to_owned();
/// assert!(words.contains("as declared") && words.contains("3.2"));
/// # Ok::<(), trochoid::plot::PlotError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct BarChart {
    /// Title.
    pub title: String,
    /// One line of settings below the picture; wrapped when long.
    pub caption: String,
    /// Alternative text; empty makes one from title, values and caption.
    pub description: String,
    /// Value axis; linear, its range always holds zero.
    pub axis: Axis,
    /// Bars from the top down.
    pub bars: Vec<Bar>,
    /// Limits of all bars.
    pub limits: Vec<BarLimit>,
    /// Name of the marks of single bars in the legend.
    pub limit_name: String,
    /// Name of the whiskers in the legend.
    pub interval_name: String,
    /// Width of the picture when it stands alone \[picture units\], within [`WIDTHS`](super::WIDTHS).
    pub width: f64,
}

impl Default for BarChart {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            description: String::new(),
            axis: Axis::default(),
            bars: Vec::new(),
            limits: Vec::new(),
            limit_name: "limit of the bar".into(),
            interval_name: "interval".into(),
            width: 720.0,
        }
    }
}

struct Layout {
    heading: Heading,
    legend: Legend,
    names: Vec<Vec<String>>,
    heights: Vec<f64>,
    values: Vec<String>,
    /// Plot relative to the area.
    plot: Area,
    x: Scale,
    x_title: Vec<String>,
    limit_rows: Vec<(usize, f64)>,
}

impl BarChart {
    /// Draws the bars alone.
    ///
    /// # Errors
    /// [`PlotError`] for no bars, no finite value, a logarithmic axis, an interval
    /// that is not finite, or a size above the bounds of the module.
    pub fn figure(&self) -> Result<Figure, PlotError> {
        figure(self, self.width)
    }

    fn extent(&self) -> Option<(f64, f64)> {
        finite_range(
            self.bars
                .iter()
                .flat_map(|b| {
                    let (lo, hi) = b.interval.unwrap_or((b.value, b.value));
                    [b.value, lo, hi, b.limit.unwrap_or(f64::NAN)]
                })
                .chain(self.limits.iter().map(|l| l.at)),
        )
    }

    fn layout(&self, width: f64, setting: Setting) -> Result<Layout, PlotError> {
        let fonts = super::font::fonts()?;
        let (low, high) =
            self.extent().ok_or_else(|| PlotError::NoFiniteData { what: format!("the bars \"{}\"", self.title) })?;
        let span = setting.x_range.unwrap_or_else(|| self.axis.span((low.min(0.0), high.max(0.0))));
        let span = (span.0.min(0.0), span.1.max(0.0));
        let heading = Heading::new(fonts, &self.title, &self.caption, width, setting);
        let names: Vec<Vec<String>> =
            self.bars.iter().map(|b| fonts.wrap(&b.label, LABEL, false, width * 0.3)).collect();
        let widest =
            |texts: &mut dyn Iterator<Item = &String>| texts.map(|t| fonts.width(t, LABEL, true)).fold(0.0, f64::max);
        let left = widest(&mut names.iter().flatten()) + 10.0;
        let values: Vec<String> = self
            .bars
            .iter()
            .map(|b| {
                let value = if b.value.is_finite() { plain(b.value) } else { "no value".into() };
                format!("{value} {}", b.note).trim_end().to_string()
            })
            .collect();
        let right = widest(&mut values.iter()) + 16.0;
        let heights: Vec<f64> = names.iter().map(|n| (n.len() as f64 * LABEL * LEADING + 12.0).max(34.0)).collect();
        let x = Scale::new(span, false, left, (width - right).max(left + 60.0));
        let limit_rows = self.limit_places(fonts, &x, width);
        let rows = limit_rows.iter().map(|r| r.0 + 1).max().unwrap_or(0);
        let top = heading.top + rows as f64 * LABEL * LEADING + 14.0;
        let plot = Area::new(x.from, top, x.to, top + heights.iter().sum::<f64>() + 8.0);
        let mut entries = Vec::new();
        if self.bars.iter().any(|b| b.limit.is_some()) {
            entries.push((Sample::Post(LIMIT), self.limit_name.clone()));
        }
        if self.bars.iter().any(|b| b.interval.is_some()) {
            entries.push((Sample::Whisker, self.interval_name.clone()));
        }
        Ok(Layout {
            heading,
            legend: Legend::new(fonts, &entries, width),
            names,
            heights,
            values,
            plot,
            x,
            x_title: fonts.wrap(&self.axis.title, AXIS, false, plot.width().max(260.0)),
            limit_rows,
        })
    }

    /// Row above the plot and centre of each limit's words, so that none overlap: side
    /// by side where they fit, else one below the other.
    fn limit_places(&self, fonts: &Fonts, x: &Scale, width: f64) -> Vec<(usize, f64)> {
        let mut order: Vec<usize> = (0..self.limits.len()).collect();
        order.sort_by(|a, b| self.limits[*a].at.total_cmp(&self.limits[*b].at));
        let wide = |i: usize| fonts.width(&self.limits[i].label, LABEL, false) + 18.0;
        let wishes: Vec<f64> = order.iter().map(|i| x.place(self.limits[*i].at)).collect();
        let widths: Vec<f64> = order.iter().map(|i| wide(*i)).collect();
        let centres = spread(&wishes, &widths, 0.0, width);
        let mut places = vec![(0, 0.0); order.len()];
        for (k, i) in order.iter().enumerate() {
            places[*i] = if let Some(centres) = &centres {
                (0, centres[k])
            } else {
                let half = (0.5 * widths[k]).min(0.5 * width);
                (order.len() - 1 - k, wishes[k].clamp(half, width - half))
            };
        }
        places
    }

    fn draw_bars(&self, canvas: &mut Canvas, l: &Layout, plot: Area, x: &Scale) {
        let zero = x.place(0.0);
        let mut top = plot.top + 4.0;
        for (i, bar) in self.bars.iter().enumerate() {
            let middle = top + 0.5 * l.heights[i];
            top += l.heights[i];
            let tall = l.names[i].len() as f64 * LABEL * LEADING;
            for (k, name) in l.names[i].iter().enumerate() {
                let y = middle - 0.5 * tall + (k as f64 + 0.5) * LABEL * LEADING;
                let ink = Lettering::new(LABEL, INK).at(Anchor::End);
                canvas.text_mid((plot.left - 10.0, y), name, ink);
            }
            let at = (plot.right + 12.0, middle);
            if !bar.value.is_finite() {
                canvas.text_mid(at, &l.values[i], Lettering::new(LABEL, SOFT));
                continue;
            }
            let over = bar.limit.is_some_and(|m| bar.value > m) || self.limits.iter().any(|m| bar.value > m.at);
            let colour = if over { LIMIT } else { series_style(bar.style).0 };
            let end = x.place(bar.value).clamp(plot.left, plot.right);
            let body = Area::new(zero.min(end), middle - 9.0, zero.max(end), middle + 9.0);
            canvas.block(body, tint(colour, 0.72), 1.0);
            canvas.frame(body, Stroke::new(1.0, colour));
            if let Some((lo, hi)) = bar.interval {
                let (lo, hi) = (x.place(lo), x.place(hi));
                let line = Stroke::new(2.0, INK);
                canvas.line_within(&[(lo, middle), (hi, middle)], line, plot);
                for end in [lo, hi] {
                    canvas.line_within(&[(end, middle - 5.0), (end, middle + 5.0)], line, plot);
                }
            }
            if let Some(limit) = bar.limit {
                let at = x.place(limit);
                let mark = [(at, middle - 14.0), (at, middle + 14.0)];
                canvas.line_within(&mark, Stroke::new(4.0, LIMIT), plot);
            }
            let ink = if over { Lettering::new(LABEL, LIMIT).bold() } else { Lettering::new(LABEL, INK) };
            canvas.text_mid(at, &l.values[i], ink);
        }
    }
}

impl Draw for BarChart {
    fn check(&self) -> Result<(), PlotError> {
        self.axis.check()?;
        if self.axis.log {
            return Err(PlotError::Range {
                what: "logarithmic axis of bars, start".into(),
                value: 0.0,
                allowed: "linear: bars start at zero".into(),
            });
        }
        if self.bars.is_empty() {
            return Err(PlotError::Empty { what: format!("the bars \"{}\"", self.title) });
        }
        let items = self.bars.len().max(self.limits.len());
        check_size("number of bars", items as f64, MAX_ITEMS as f64)?;
        for bar in &self.bars {
            let (lo, hi) = bar.interval.unwrap_or((0.0, 0.0));
            for (what, value) in
                [("end of the interval", lo), ("end of the interval", hi), ("limit", bar.limit.unwrap_or(0.0))]
            {
                if !value.is_finite() {
                    return Err(PlotError::Range {
                        what: format!("{what} of the bar \"{}\"", bar.label),
                        value,
                        allowed: "finite".into(),
                    });
                }
            }
        }
        if let Some(bad) = self.limits.iter().find(|l| !l.at.is_finite()) {
            return Err(PlotError::Range {
                what: format!("limit \"{}\"", bad.label),
                value: bad.at,
                allowed: "finite".into(),
            });
        }
        check_texts([
            self.title.as_str(),
            &self.caption,
            &self.description,
            &self.axis.title,
            &self.limit_name,
            &self.interval_name,
        ])?;
        check_texts(self.limits.iter().map(|l| l.label.as_str()))?;
        check_texts(self.bars.iter().flat_map(|b| [b.label.as_str(), &b.note]))
    }

    fn words(&self) -> (&str, String) {
        let values: Vec<String> = self
            .bars
            .iter()
            .map(|b| {
                if b.value.is_finite() {
                    format!("{} {}", b.label, plain(b.value))
                } else {
                    format!("{} no value", b.label)
                }
            })
            .collect();
        let kind = format!("bars of {}: {}", self.axis.title, values.join(", "));
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
        let axes = Axes {
            plot,
            x,
            y: Scale::new((0.0, 1.0), false, plot.bottom, plot.top),
            x_ticks: fit_across(canvas.fonts, &x),
            y_ticks: Vec::new(),
        };
        axes.grid(canvas);
        self.draw_bars(canvas, &l, plot, &x);
        let zero = x.place(0.0);
        canvas.line(&[(zero, plot.top), (zero, plot.bottom)], Stroke::new(1.4, INK));
        for (limit, (row, centre)) in self.limits.iter().zip(&l.limit_rows) {
            let at = x.place(limit.at);
            let stroke = Stroke::new(2.0, LIMIT).dashed(LIMIT_DASH);
            canvas.line_within(&[(at, plot.top), (at, plot.bottom)], stroke, plot);
            let y = plot.top - 12.0 - (*row as f64 + 0.5) * LABEL * LEADING;
            let foot = (area.left + centre, y + 0.5 * LABEL * LEADING);
            canvas.line(&[(at, plot.top), foot], Stroke::new(1.2, LIMIT));
            let ink = Lettering::new(LABEL, LIMIT).at(Anchor::Middle);
            canvas.text_mid((area.left + centre, y), &limit.label, ink);
        }
        axes.frame(canvas);
        let ink = Lettering::new(AXIS, INK).at(Anchor::Middle);
        let below = plot.bottom + tick_row();
        lines(canvas, (plot.centre().0, below), &l.x_title, ink);
        let foot = below + title_room(&l.x_title);
        l.heading.draw_with(&l.legend, canvas, area, foot);
        Ok(())
    }
}
