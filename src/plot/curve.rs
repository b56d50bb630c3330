//! Curves: many series with bands, shaded regions, limits and marked points.

use super::canvas::Area;
use super::scale::{Axis, number};
use super::{
    Draw, Figure, MAX_ITEMS, MAX_POINTS, PlotError, Setting, Spans, check_size, check_texts, describe, figure,
};

/// One curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Name; empty for a curve that needs none.
    pub label: String,
    /// Points in drawing order; a non-finite point is a gap.
    pub points: Vec<(f64, f64)>,
    /// Draws the line.
    pub line: bool,
    /// Draws markers, about a dozen on a long curve.
    pub markers: bool,
    /// Number of the style (colour, dash, marker); `None` takes the position in
    /// the list.
    pub style: Option<usize>,
}

impl Default for Series {
    fn default() -> Self {
        Self { label: String::new(), points: Vec::new(), line: true, markers: true, style: None }
    }
}

impl Series {
    /// A curve with line and markers.
    #[must_use]
    pub fn new(label: &str, points: Vec<(f64, f64)>) -> Self {
        Self { label: label.into(), points, ..Self::default() }
    }
}

/// A shaded band between two curves.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Band {
    /// Name in the legend.
    pub label: String,
    /// Lower curve, from left to right.
    pub lower: Vec<(f64, f64)>,
    /// Upper curve, from left to right.
    pub upper: Vec<(f64, f64)>,
    /// Number of the style whose colour it takes.
    pub style: usize,
}

/// Where a shaded region is.
#[derive(Debug, Clone, PartialEq)]
pub enum RegionShape {
    /// All y between two values of x.
    Columns(f64, f64),
    /// All x between two values of y.
    Rows(f64, f64),
    /// Above a curve given from left to right.
    Above(Vec<(f64, f64)>),
    /// Below a curve given from left to right.
    Below(Vec<(f64, f64)>),
    /// Inside a polygon.
    Polygon(Vec<(f64, f64)>),
}

/// A shaded region with a word in it, such as "stalls".
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// The word; goes to the legend where it does not fit.
    pub label: String,
    /// Where.
    pub shape: RegionShape,
}

/// Direction of a limit line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Across {
    /// A vertical line at a value of x.
    X,
    /// A horizontal line at a value of y.
    #[default]
    Y,
}

/// A limit line.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Limit {
    /// Words on the line.
    pub label: String,
    /// Value \[unit of its axis\].
    pub at: f64,
    /// Which axis the value belongs to.
    pub across: Across,
}

/// A marked point, such as "this job".
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mark {
    /// Words beside the point.
    pub label: String,
    /// Place along x \[unit of the x axis\].
    pub x: f64,
    /// Place along y \[unit of the y axis\].
    pub y: f64,
}

/// A second scale for the y axis, on the right.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SecondAxis {
    /// Title with unit.
    pub title: String,
    /// Value on the first y axis and its label on the second.
    pub ticks: Vec<(f64, String)>,
}

impl SecondAxis {
    /// Ticks at `values` of the second quantity; `to_first` gives the value on the
    /// first axis, for instance `|radius| 1.0 / radius`. An infinite value is
    /// labelled ∞. Ticks outside the axis, or too close to an earlier one in the
    /// list, are left out when drawing.
    ///
    /// # Example
    /// ```
    /// use trochoid::plot::SecondAxis;
    /// // A curvature of 4 per metre is a radius of 250 mm, a flat one of ∞.
    /// let radius = SecondAxis::new("radius [mm]", &[250.0, f64::INFINITY], |mm| 1e3 / mm);
    /// assert_eq!(radius.ticks, [(4.0, "250".to_owned()), (0.0, "∞".to_owned())]);
    /// ```
    #[must_use]
    pub fn new(title: &str, values: &[f64], to_first: impl Fn(f64) -> f64) -> Self {
        let label = |v: f64| {
            if v.is_infinite() {
                (if v > 0.0 { "∞" } else { "−∞" }).to_string()
            } else {
                let decimals = (0..6)
                    .find(|d| {
                        let power = 10f64.powi(*d);
                        ((v * power).round() / power - v).abs() <= 1e-9 * v.abs()
                    })
                    .unwrap_or(6);
                number(v, decimals as usize, v)
            }
        };
        Self { title: title.into(), ticks: values.iter().map(|&v| (to_first(v), label(v))).collect() }
    }
}

/// Where the names of the series stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SeriesLabels {
    /// At the ends of the lines, outside the plot; in the legend where they do not
    /// fit or where a second axis needs the room.
    #[default]
    LineEnds,
    /// In a legend below the plot.
    Legend,
}

/// Curves over one pair of axes.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveChart {
    /// Title.
    pub title: String,
    /// One line of settings below the picture; wrapped when long.
    pub caption: String,
    /// Alternative text; empty makes one from title and caption.
    pub description: String,
    /// Horizontal axis.
    pub x: Axis,
    /// Vertical axis.
    pub y: Axis,
    /// Curves.
    pub series: Vec<Series>,
    /// Bands.
    pub bands: Vec<Band>,
    /// Shaded regions.
    pub regions: Vec<Region>,
    /// Limit lines.
    pub limits: Vec<Limit>,
    /// Marked points.
    pub marks: Vec<Mark>,
    /// Second scale on the right.
    pub second_y: Option<SecondAxis>,
    /// Where the names of the series stand.
    pub labels: SeriesLabels,
    /// Width of the picture when it stands alone \[picture units\], within [`WIDTHS`](super::WIDTHS).
    pub width: f64,
}

impl Default for CurveChart {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            description: String::new(),
            x: Axis::default(),
            y: Axis::default(),
            series: Vec::new(),
            bands: Vec::new(),
            regions: Vec::new(),
            limits: Vec::new(),
            marks: Vec::new(),
            second_y: None,
            labels: SeriesLabels::LineEnds,
            width: 720.0,
        }
    }
}

impl CurveChart {
    /// Draws the chart alone.
    ///
    /// # Errors
    /// [`PlotError`] for no data, no finite point, a logarithmic axis with values
    /// that are not positive, a range without width, or a size above the bounds of
    /// the module. See the example of [`crate::plot`].
    pub fn figure(&self) -> Result<Figure, PlotError> {
        figure(self, self.width)
    }

    /// Every point that decides the ranges; limits only along their own axis.
    fn extent(&self, along_x: bool) -> Option<(f64, f64)> {
        let pick = |p: &(f64, f64)| if along_x { p.0 } else { p.1 };
        let points = self
            .series
            .iter()
            .flat_map(|s| &s.points)
            .chain(self.bands.iter().flat_map(|b| b.lower.iter().chain(&b.upper)))
            .filter(|p| p.0.is_finite() && p.1.is_finite())
            .map(pick);
        let marks = self.marks.iter().map(|m| if along_x { m.x } else { m.y });
        let limits = self.limits.iter().filter(|l| (l.across == Across::X) == along_x).map(|l| l.at);
        super::finite_range(points.chain(marks).chain(limits))
    }

    /// Axis ranges of the data, for a page with common axes.
    pub(crate) fn spans(&self) -> Result<Spans, PlotError> {
        let missing = || PlotError::NoFiniteData { what: format!("the chart \"{}\"", self.title) };
        let x = match (self.x.range, self.extent(true)) {
            (Some(range), _) => range,
            (None, Some(data)) => self.opened(&self.x, data, Across::X),
            (None, None) => return Err(missing()),
        };
        let y = match (self.y.range, self.extent(false)) {
            (Some(range), _) => range,
            (None, Some(data)) => self.opened(&self.y, data, Across::Y),
            (None, None) => return Err(missing()),
        };
        Ok((x, y))
    }

    /// Range of an axis with room beyond a limit that would fall on the frame.
    fn opened(&self, axis: &Axis, data: (f64, f64), across: Across) -> (f64, f64) {
        let span = axis.span(data);
        if axis.log {
            return span;
        }
        let room = 0.03 * (span.1 - span.0);
        let (mut low, mut high) = span;
        for limit in self.limits.iter().filter(|l| l.across == across) {
            if limit.at > span.1 - room {
                high = span.1 + 2.0 * room;
            }
            if limit.at < span.0 + room {
                low = span.0 - 2.0 * room;
            }
        }
        axis.span((low, high))
    }

    fn check_log(&self, along_x: bool) -> Result<(), PlotError> {
        let axis = if along_x { &self.x } else { &self.y };
        match self.extent(along_x) {
            Some((low, _)) if axis.log && low <= 0.0 => Err(PlotError::Range {
                what: format!("value on the logarithmic axis \"{}\"", axis.title),
                value: low,
                allowed: "above 0".into(),
            }),
            _ => Ok(()),
        }
    }

    fn texts(&self) -> impl Iterator<Item = &str> {
        [self.title.as_str(), &self.caption, &self.description, &self.x.title, &self.y.title]
            .into_iter()
            .chain(self.series.iter().map(|s| s.label.as_str()))
            .chain(self.bands.iter().map(|b| b.label.as_str()))
            .chain(self.regions.iter().map(|r| r.label.as_str()))
            .chain(self.limits.iter().map(|l| l.label.as_str()))
            .chain(self.marks.iter().map(|m| m.label.as_str()))
            .chain(self.second_y.iter().map(|s| s.title.as_str()))
    }
}

impl Draw for CurveChart {
    fn check(&self) -> Result<(), PlotError> {
        self.x.check()?;
        self.y.check()?;
        let ticks = self.second_y.as_ref().map_or(0, |s| s.ticks.len());
        let items =
            [self.series.len(), self.bands.len(), self.regions.len(), self.limits.len(), self.marks.len(), ticks];
        for count in items {
            check_size("number of parts of a chart", count as f64, MAX_ITEMS as f64)?;
        }
        let in_regions = self.regions.iter().map(|r| match &r.shape {
            RegionShape::Above(p) | RegionShape::Below(p) | RegionShape::Polygon(p) => p.len(),
            _ => 2,
        });
        let points: usize = self
            .series
            .iter()
            .map(|s| s.points.len())
            .chain(self.bands.iter().map(|b| b.lower.len() + b.upper.len()))
            .chain(in_regions)
            .sum();
        check_size("number of points of a chart", points as f64, MAX_POINTS as f64)?;
        if items[..5].iter().sum::<usize>() == 0 {
            return Err(PlotError::Empty { what: format!("the chart \"{}\"", self.title) });
        }
        for (what, value) in self
            .limits
            .iter()
            .map(|l| ("limit", l.at))
            .chain(self.marks.iter().flat_map(|m| [("mark", m.x), ("mark", m.y)]))
        {
            if !value.is_finite() {
                return Err(PlotError::Range { what: format!("place of a {what}"), value, allowed: "finite".into() });
            }
        }
        check_texts(self.texts())?;
        self.check_log(true)?;
        self.check_log(false)?;
        self.spans().map(|_| ())
    }

    fn words(&self) -> (&str, String) {
        let names: Vec<&str> = self.series.iter().map(|s| s.label.as_str()).filter(|l| !l.is_empty()).collect();
        let mut kind = format!("{} against {}", self.y.title, self.x.title);
        if !names.is_empty() {
            kind.push_str(" for ");
            kind.push_str(&names.join(", "));
        }
        (&self.title, describe(&self.description, &self.title, &kind, &self.caption))
    }

    fn height(&self, width: f64, setting: Setting) -> Result<f64, PlotError> {
        super::curve_draw::height(self, width, setting)
    }

    fn draw(&self, canvas: &mut super::canvas::Canvas, area: Area, setting: Setting) -> Result<(), PlotError> {
        super::curve_draw::draw(self, canvas, area, setting)
    }
}
