//! Several pictures on one page, on a common scale where asked.

use super::bars::BarChart;
use super::budget::BudgetChart;
use super::canvas::{Area, Canvas, Stroke};
use super::curve::CurveChart;
use super::disc::DiscMap;
use super::field::{FieldMap, Ruler};
use super::font::fonts;
use super::frame::{Heading, Legend, Sample};
use super::oblique::ObliqueView;
use super::rose::RoseChart;
use super::scalar::{ColourScale, Shade};
use super::theme::LINE;
use super::timeline::Timeline;
use super::{
    Draw, Figure, MAX_HEIGHT, MAX_ITEMS, PlotError, Rank, Setting, Spans, check_size, check_texts, describe, figure,
    joined,
};

/// One picture of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Panel {
    /// A field map.
    Field(FieldMap),
    /// Curves.
    Curve(CurveChart),
    /// Bars.
    Bars(BarChart),
    /// A disc.
    Disc(DiscMap),
    /// A view from the side.
    Oblique(ObliqueView),
    /// Accounts of clear coat.
    Budget(BudgetChart),
    /// Bars over time.
    Timeline(Timeline),
    /// Shares by direction.
    Rose(RoseChart),
}

impl From<FieldMap> for Panel {
    fn from(picture: FieldMap) -> Self {
        Self::Field(picture)
    }
}

impl From<CurveChart> for Panel {
    fn from(picture: CurveChart) -> Self {
        Self::Curve(picture)
    }
}

impl From<BarChart> for Panel {
    fn from(picture: BarChart) -> Self {
        Self::Bars(picture)
    }
}

impl From<DiscMap> for Panel {
    fn from(picture: DiscMap) -> Self {
        Self::Disc(picture)
    }
}

impl From<ObliqueView> for Panel {
    fn from(picture: ObliqueView) -> Self {
        Self::Oblique(picture)
    }
}

impl From<BudgetChart> for Panel {
    fn from(picture: BudgetChart) -> Self {
        Self::Budget(picture)
    }
}

impl From<Timeline> for Panel {
    fn from(picture: Timeline) -> Self {
        Self::Timeline(picture)
    }
}

impl From<RoseChart> for Panel {
    fn from(picture: RoseChart) -> Self {
        Self::Rose(picture)
    }
}

impl Panel {
    fn picture(&self) -> &dyn Draw {
        match self {
            Self::Field(p) => p,
            Self::Curve(p) => p,
            Self::Bars(p) => p,
            Self::Disc(p) => p,
            Self::Oblique(p) => p,
            Self::Budget(p) => p,
            Self::Timeline(p) => p,
            Self::Rose(p) => p,
        }
    }

    /// Legend entries that a page can draw once for all.
    fn entries(&self) -> Vec<(Sample, String)> {
        match self {
            Self::Field(p) => p.entries(),
            Self::Oblique(p) => p.entries(),
            _ => Vec::new(),
        }
    }

    /// Colour scale and data range of a scalar picture.
    fn scalar(&self) -> Option<(&ColourScale, Option<(f64, f64)>)> {
        match self {
            Self::Field(p) => Some((&p.colour, p.data_range())),
            Self::Disc(p) => Some((&p.colour, p.data_range())),
            Self::Oblique(p) => Some((&p.colour, p.data_range())),
            _ => None,
        }
    }
}

/// A grid of pictures, filled row by row.
///
/// # Example
/// ```
/// use trochoid::plot::{Axis, CurveChart, Page, Series};
/// let chart = |title: &str, y: f64| CurveChart {
///     title: title.into(),
///     x: Axis::linear("rate [orbits/min]"),
///     y: Axis::linear("spin [rpm]"),
///     series: vec![Series::new("spin", vec![(3000.0, y), (4000.0, 1.2 * y)])],
///     ..CurveChart::default()
/// };
/// // Two charts side by side on one pair of axes.
/// let page = Page {
///     title: "Two pads".into(),
///     panels: vec![chart("Soft", 90.0).into(), chart("Firm", 160.0).into()],
///     shared_axes: true,
///     ..Page::default()
/// };
/// assert_eq!(page.figure()?.width(), 1120.0);
/// # Ok::<(), trochoid::plot::PlotError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Title.
    pub title: String,
    /// One line of settings below the pictures; wrapped when long.
    pub caption: String,
    /// Alternative text; empty makes one from the titles.
    pub description: String,
    /// Pictures in a row.
    pub columns: usize,
    /// The pictures; their own widths are not used.
    pub panels: Vec<Panel>,
    /// One colour scale for all maps and discs, with one bar at the right: the
    /// first panel's title, map, centre and, if set, range; else the joint range.
    pub shared_colour: bool,
    /// One pair of axis ranges for all curve charts.
    pub shared_axes: bool,
    /// One legend below the panels for all maps and views, each entry once.
    pub shared_legend: bool,
    /// Letters before the panel titles.
    pub letters: bool,
    /// Width of the page \[picture units\], within [`WIDTHS`](super::WIDTHS).
    pub width: f64,
}

impl Default for Page {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            description: String::new(),
            columns: 2,
            panels: Vec::new(),
            shared_colour: false,
            shared_axes: false,
            shared_legend: false,
            letters: true,
            width: 1120.0,
        }
    }
}

const GAP: f64 = 30.0;
const LEAST_CELL: f64 = 200.0;
/// The same for maps with a scale bar, which need no room for axes.
const LEAST_BARE_CELL: f64 = 104.0;
/// Gap above the rule that sets the caption of the page off.
const RULE: f64 = 14.0;
/// Heights of the common colour bar.
const BAR_HEIGHTS: [f64; 4] = [120.0, 200.0, 290.0, 380.0];

struct Layout<'a> {
    heading: Heading,
    legend: Legend,
    cell: f64,
    rows: Vec<f64>,
    settings: Vec<Setting>,
    bar: Option<(&'a ColourScale, Shade, f64)>,
}

impl Page {
    /// Draws the page.
    ///
    /// # Errors
    /// [`PlotError`] of the first panel that cannot be drawn, for no panels, or for
    /// a page too narrow for its columns.
    pub fn figure(&self) -> Result<Figure, PlotError> {
        figure(self, self.width)
    }

    fn shade(&self) -> Option<(&ColourScale, Shade)> {
        let mut scalars = self.panels.iter().filter_map(Panel::scalar);
        let (first, range) = scalars.next()?;
        let data = scalars.fold(range, |range, (_, more)| joined(range, more))?;
        Some((first, first.shade(data, None)))
    }

    fn axes(&self) -> Result<Option<Spans>, PlotError> {
        let mut both: Option<Spans> = None;
        for panel in &self.panels {
            if let Panel::Curve(chart) = panel {
                let (x, y) = chart.spans()?;
                both = Some(match both {
                    None => (x, y),
                    Some((a, b)) => ((a.0.min(x.0), a.1.max(x.1)), (b.0.min(y.0), b.1.max(y.1))),
                });
            }
        }
        Ok(both)
    }

    fn layout(&self, width: f64) -> Result<Layout<'_>, PlotError> {
        let fonts = fonts()?;
        let setting = Setting { rank: Rank::Page, ..Setting::default() };
        let heading = Heading::new(fonts, &self.title, &self.caption, width, setting);
        let columns = self.columns.min(self.panels.len()).max(1);
        let shared = if self.shared_colour { self.shade() } else { None };
        let bar = shared.map(|(scale, shade)| {
            // The height is not known yet, and with it the ticks.
            let wide = BAR_HEIGHTS.iter().map(|h| scale.bar_width(fonts, &shade, *h)).fold(0.0, f64::max);
            (scale, shade, wide)
        });
        let used = bar.as_ref().map_or(0.0, |b| b.2 + 22.0);
        let cell = (width - used - GAP * (columns - 1) as f64) / columns as f64;
        let bare = |p: &Panel| matches!(p, Panel::Field(m) if m.ruler == Ruler::ScaleBar);
        let least = if self.shared_colour && self.panels.iter().all(bare) { LEAST_BARE_CELL } else { LEAST_CELL };
        if cell < least {
            return Err(PlotError::Range {
                what: "width of a panel of the page".into(),
                value: cell.round(),
                allowed: format!("at least {least}: widen the page or use fewer columns"),
            });
        }
        let axes = if self.shared_axes { self.axes()? } else { None };
        let mut settings = Vec::with_capacity(self.panels.len());
        let mut rows = Vec::new();
        for (row, panels) in self.panels.chunks(columns).enumerate() {
            let mut common = Setting {
                rank: Rank::Panel,
                colour_range: bar.as_ref().map(|b| (b.1.low, b.1.high)),
                legend_elsewhere: self.shared_legend,
                ..Setting::default()
            };
            let mut tall = 0.0_f64;
            let tagged: Vec<Setting> = panels
                .iter()
                .enumerate()
                .map(|(i, panel)| {
                    let curve = matches!(panel, Panel::Curve(_));
                    let axes = axes.filter(|_| curve);
                    Setting {
                        tag: self.letters.then_some(row * columns + i),
                        x_range: axes.map(|a| a.0),
                        y_range: axes.map(|a| a.1),
                        ..common
                    }
                })
                .collect();
            for (panel, setting) in panels.iter().zip(&tagged) {
                let title = panel.picture().words().0.to_string();
                let own = Heading::new(fonts, &title, "", cell, *setting);
                common.heading_top = common.heading_top.max(own.top);
            }
            for (panel, setting) in panels.iter().zip(tagged) {
                let setting = Setting { heading_top: common.heading_top, ..setting };
                tall = tall.max(panel.picture().height(cell, setting)?);
                settings.push(setting);
            }
            rows.push(tall);
        }
        let legend = Legend::new(fonts, &self.entries(), width);
        Ok(Layout { heading, legend, cell, rows, settings, bar })
    }

    /// Entries of the common legend, each name once.
    fn entries(&self) -> Vec<(Sample, String)> {
        let mut entries: Vec<(Sample, String)> = Vec::new();
        if self.shared_legend {
            for entry in self.panels.iter().flat_map(Panel::entries) {
                if entries.iter().all(|e| e.1 != entry.1) {
                    entries.push(entry);
                }
            }
        }
        entries
    }

    fn body(rows: &[f64]) -> f64 {
        rows.iter().sum::<f64>() + GAP * (rows.len().max(1) - 1) as f64
    }
}

impl Draw for Page {
    fn check(&self) -> Result<(), PlotError> {
        if self.panels.is_empty() {
            return Err(PlotError::Empty { what: format!("the page \"{}\"", self.title) });
        }
        check_size("number of panels of a page", self.panels.len() as f64, MAX_ITEMS as f64)?;
        check_texts([self.title.as_str(), &self.caption, &self.description])?;
        for panel in &self.panels {
            panel.picture().check()?;
        }
        Ok(())
    }

    fn words(&self) -> (&str, String) {
        let titles: Vec<&str> = self.panels.iter().map(|p| p.picture().words().0).collect();
        let kind = format!("page of {} pictures: {}", titles.len(), titles.join("; "));
        (&self.title, describe(&self.description, &self.title, &kind, &self.caption))
    }

    fn height(&self, width: f64, _: Setting) -> Result<f64, PlotError> {
        let l = self.layout(width)?;
        let legend = l.legend.height();
        let height = l.heading.top + 6.0 + Self::body(&l.rows) + legend + RULE + l.heading.bottom;
        check_size("height of a page", height, MAX_HEIGHT)?;
        Ok(height)
    }

    fn draw(&self, canvas: &mut Canvas, area: Area, _: Setting) -> Result<(), PlotError> {
        let l = self.layout(area.width())?;
        let columns = self.columns.min(self.panels.len()).max(1);
        let top = area.top + l.heading.top + 6.0;
        let mut y = top;
        let mut cells = self.panels.iter().zip(&l.settings);
        for tall in &l.rows {
            for (i, (panel, setting)) in cells.by_ref().take(columns).enumerate() {
                let x = area.left + i as f64 * (l.cell + GAP);
                let cell = Area::new(x, y, x + l.cell, y + tall);
                panel.picture().draw(canvas, cell, *setting)?;
            }
            y += tall + GAP;
        }
        if let Some((scale, shade, wide)) = &l.bar {
            let body = Self::body(&l.rows);
            let height = BAR_HEIGHTS.into_iter().rfind(|h| *h <= body - 90.0).unwrap_or(BAR_HEIGHTS[0]);
            let first = l.settings.first().map_or(0.0, |s| s.heading_top);
            let left = area.right - wide;
            let bar = Area::new(left, top + first, area.right, top + first + height);
            scale.draw_bar(canvas, bar, shade, &[], None);
        }
        let below = top + Self::body(&l.rows);
        l.legend.draw(canvas, area.left, below);
        let foot = below + l.legend.height() + RULE;
        if !self.caption.trim().is_empty() {
            let rule = [(area.left, foot), (area.right, foot)];
            canvas.line(&rule, Stroke::new(1.0, LINE));
        }
        l.heading.draw(canvas, area, foot);
        Ok(())
    }
}
