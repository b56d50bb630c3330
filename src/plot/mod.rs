//! Pictures of numbers: field maps, curve charts, bars, discs, pages of them.
//!
//! Plain numbers and words in, a [`Figure`] out, which becomes an SVG document
//! or PNG bytes in memory. No physics and no file access here, and nothing that
//! reads a font of the machine: the same data give the same bytes everywhere.
//!
//! | picture | for |
//! |---|---|
//! | [`FieldMap`] | a quantity over a rectangle or a panel, with path, sections, contours, profiles |
//! | [`CurveChart`] | curves, bands, shaded regions, limits, marked points |
//! | [`BarChart`] | labelled bars with whiskers and limit marks |
//! | [`BudgetChart`] | clear coat gone, this job with its interval, left, the limit |
//! | [`DensityChart`] | a quantity before and after a measurement |
//! | [`Timeline`] | bars over time: pads in rotation, a day's plan |
//! | [`ObliqueView`] | a quantity on a panel seen from the side |
//! | [`RoseChart`] | shares by direction, as sectors |
//! | [`DiscMap`] | a quantity over a pad's face |
//! | [`Page`] | several of the above on a common scale |
//!
//! Units are picture units inside (one unit is one pixel of a PNG at scale 1) and
//! whatever the axis titles say for the data: a title carries its unit.
//!
//! Not a general plotting library: every picture has the one look of `theme`.
//!
//! # Example
//! ```
//! use trochoid::plot::{Axis, CurveChart, Limit, Series};
//! let chart = CurveChart {
//!     title: "Spin against force".into(),
//!     caption: "130 mm pad on a flat.".into(),
//!     x: Axis::linear("force [N]"),
//!     y: Axis::linear("spin [rpm]"),
//!     series: vec![Series::new("15 mm throw", vec![(20.0, 310.0), (35.0, 180.0), (50.0, 125.0)])],
//!     limits: vec![Limit { label: "useful minimum".into(), at: 60.0, ..Limit::default() }],
//!     ..CurveChart::default()
//! };
//! let figure = chart.figure()?;
//! assert_eq!(figure.width(), 720.0);
//! // The title is in the document, for the eye and for a reader who cannot see it.
//! assert!(figure.to_svg()?.contains("Spin against force"));
//! // A range turned round is refused, not mended.
//! let wrong = CurveChart { y: Axis::between("spin [rpm]", 300.0, 0.0), ..chart };
//! assert!(wrong.figure().is_err());
//! # Ok::<(), trochoid::plot::PlotError>(())
//! ```

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "pixel and colour arithmetic on bounded, checked sizes"
)]
#![allow(
    clippy::many_single_char_names,
    clippy::similar_names,
    reason = "x, y, a, b, t are the names of plane geometry"
)]

mod bars;
mod budget;
mod canvas;
mod contour;
mod curve;
mod curve_draw;
mod density;
mod disc;
mod field;
mod font;
mod frame;
mod oblique;
mod overlay;
mod page;
mod place;
mod raster;
mod rose;
mod scalar;
mod scale;
mod surface;
mod svg;
mod theme;
mod timeline;

pub use bars::{Bar, BarChart, BarLimit};
pub use budget::{BudgetChart, BudgetRow};
pub use curve::{Across, Band, CurveChart, Limit, Mark, Region, RegionShape, SecondAxis, Series, SeriesLabels};
pub use density::DensityChart;
pub use disc::{DiscMap, DiscSamples};
pub use field::{FieldMap, Missing, PathOverlay, RectangleOverlay, Ruler, Strips};
pub use oblique::ObliqueView;
pub use overlay::{LineKind, LineOverlay};
pub use page::{Page, Panel};
pub use rose::RoseChart;
pub use scalar::{BoldLevel, ColourScale, Contours, Sides};
pub use scale::Axis;
pub use theme::ColourMap;
pub use timeline::{TimeBar, TimeRow, Timeline};

use canvas::Canvas;

/// Largest number of cells of one field (2000 x 2000).
pub const MAX_CELLS: usize = 4_000_000;
/// Largest number of points of all lines of one picture.
pub const MAX_POINTS: usize = 400_000;
/// Largest number of lines, bars, marks, ticks or panels of one picture.
pub const MAX_ITEMS: usize = 400;
/// Largest number of bytes of one text.
pub const MAX_TEXT: usize = 4_000;
/// Range of picture widths \[picture units\].
pub const WIDTHS: (f64, f64) = (280.0, 4_000.0);
/// Tallest picture \[picture units\].
pub const MAX_HEIGHT: f64 = 12_000.0;
/// Largest number of pixels of one PNG.
pub const MAX_PIXELS: f64 = 60e6;
/// Range of the PNG scale \[pixels a picture unit\].
pub const SCALES: (f64, f64) = (0.25, 8.0);

/// Why a picture cannot be drawn.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum PlotError {
    /// There is nothing to draw: no points, bars, cells or panels.
    Empty {
        /// What is missing.
        what: String,
    },
    /// Every value is missing or not finite, so no range can be found.
    NoFiniteData {
        /// Which data.
        what: String,
    },
    /// A number of values does not fit the stated rows and columns.
    Shape {
        /// Which data.
        what: String,
        /// Length asked for by the shape.
        expected: usize,
        /// Length given.
        given: usize,
    },
    /// A size is above the stated bound.
    TooLarge {
        /// What is too large.
        what: String,
        /// Size given.
        size: f64,
        /// Largest size drawn.
        limit: f64,
    },
    /// A number is outside its allowed range or not finite.
    Range {
        /// Which number.
        what: String,
        /// The value.
        value: f64,
        /// What is allowed.
        allowed: String,
    },
    /// The embedded font does not parse.
    Font,
    /// The drawing backend or the PNG encoder failed.
    Backend(String),
}

impl std::fmt::Display for PlotError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Empty { what } => write!(f, "nothing to draw: {what} is empty"),
            Self::NoFiniteData { what } => write!(f, "nothing to draw: {what} has no finite value"),
            Self::Shape { what, expected, given } => write!(f, "{what}: {expected} values expected, {given} given"),
            Self::TooLarge { what, size, limit } => {
                write!(f, "{what}: {size} is above the largest size drawn, {limit}")
            }
            Self::Range { what, value, allowed } => write!(f, "{what}: {value} is not allowed, it must be {allowed}"),
            Self::Font => write!(f, "the embedded font does not parse"),
            Self::Backend(why) => write!(f, "the picture could not be written: {why}"),
        }
    }
}

impl std::error::Error for PlotError {}

/// A finished picture, ready to be written as SVG or PNG.
#[derive(Debug, Clone)]
pub struct Figure {
    canvas: Canvas,
    title: String,
    description: String,
}

impl Figure {
    /// Width \[picture units\] (pixels of a PNG at scale 1).
    #[must_use]
    pub fn width(&self) -> f64 {
        self.canvas.width
    }

    /// Height \[picture units\].
    #[must_use]
    pub fn height(&self) -> f64 {
        self.canvas.height
    }

    /// The title.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// The alternative text: what the picture shows, in words.
    #[must_use]
    pub fn description(&self) -> &str {
        &self.description
    }

    /// The picture as a complete SVG document with `role="img"`, title and
    /// description, without references outside itself.
    ///
    /// # Errors
    /// [`PlotError::Backend`] if the backend fails.
    pub fn to_svg(&self) -> Result<String, PlotError> {
        svg::document(&self.canvas, &self.title, &self.description)
    }

    /// The picture as PNG bytes, `scale` pixels a picture unit (2 for print at
    /// half a page, 1 for the screen).
    ///
    /// # Errors
    /// [`PlotError::Range`] for a scale outside [`SCALES`],
    /// [`PlotError::TooLarge`] above [`MAX_PIXELS`], [`PlotError::Backend`] if the
    /// backend fails.
    ///
    /// # Example
    /// ```
    /// use trochoid::plot::{Bar, BarChart};
    /// let bar = Bar { label: "cut".into(), value: 2.4, note: "µm".into(), ..Bar::default() };
    /// let figure = BarChart { title: "Cut".into(), bars: vec![bar], ..BarChart::default() }.figure()?;
    /// let png = figure.to_png(2.0)?;
    /// // Bytes 16 to 19 of a PNG are its width: two pixels a picture unit.
    /// let width = u32::from_be_bytes([png[16], png[17], png[18], png[19]]);
    /// assert_eq!(f64::from(width), 2.0 * figure.width());
    /// # Ok::<(), trochoid::plot::PlotError>(())
    /// ```
    pub fn to_png(&self, scale: f64) -> Result<Vec<u8>, PlotError> {
        raster::png_bytes(&self.canvas, scale)
    }
}

/// How large a title is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) enum Rank {
    Page,
    #[default]
    Alone,
    Panel,
}

/// What the page tells a picture that it places.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Setting {
    /// Decides the size of the title.
    pub rank: Rank,
    /// Common colour range; the page draws the bar.
    pub colour_range: Option<(f64, f64)>,
    /// Common axis ranges.
    pub x_range: Option<(f64, f64)>,
    pub y_range: Option<(f64, f64)>,
    /// Position on the page, written as a letter before the title.
    pub tag: Option<usize>,
    /// The page draws the legend.
    pub legend_elsewhere: bool,
    /// Least height of the title block \[picture units\], so that a row of panels lines up.
    pub heading_top: f64,
}

impl Setting {
    /// The title with the letter of the panel.
    fn tagged(&self, title: &str) -> String {
        match self.tag {
            None => title.to_string(),
            Some(i) if i < 26 => format!("{}) {title}", char::from(b'a' + i as u8)),
            Some(i) => format!("{}) {title}", i + 1),
        }
    }
}

/// A picture that can stand alone or on a page.
pub(crate) trait Draw {
    /// Refuses what cannot be drawn.
    fn check(&self) -> Result<(), PlotError>;
    /// Title and alternative text.
    fn words(&self) -> (&str, String);
    /// Height wanted at a width; the picture must have passed `check`.
    fn height(&self, width: f64, setting: Setting) -> Result<f64, PlotError>;
    /// Draws into an area of at least that height.
    fn draw(&self, canvas: &mut Canvas, area: canvas::Area, setting: Setting) -> Result<(), PlotError>;
}

/// Outer margin of every picture.
const MARGIN: f64 = 14.0;

fn figure(picture: &dyn Draw, width: f64) -> Result<Figure, PlotError> {
    check_width(width)?;
    picture.check()?;
    let setting = Setting::default();
    let inner = width - 2.0 * MARGIN;
    let height = picture.height(inner, setting)? + 2.0 * MARGIN;
    check_size("picture height", height, MAX_HEIGHT)?;
    let mut canvas = Canvas::new(width.round(), height.ceil())?;
    let area = canvas::Area::new(MARGIN, MARGIN, width.round() - MARGIN, height.ceil() - MARGIN);
    picture.draw(&mut canvas, area, setting)?;
    let (title, description) = picture.words();
    Ok(Figure { canvas, title: title.to_string(), description })
}

fn check_width(width: f64) -> Result<(), PlotError> {
    if width >= WIDTHS.0 && width <= WIDTHS.1 {
        return Ok(());
    }
    Err(PlotError::Range {
        what: "picture width".into(),
        value: width,
        allowed: format!("from {} to {} units", WIDTHS.0, WIDTHS.1),
    })
}

fn check_size(what: &str, size: f64, limit: f64) -> Result<(), PlotError> {
    if size <= limit {
        return Ok(());
    }
    Err(PlotError::TooLarge { what: what.into(), size, limit })
}

fn check_texts<'a>(texts: impl IntoIterator<Item = &'a str>) -> Result<(), PlotError> {
    for text in texts {
        check_size("length of a text, bytes", text.len() as f64, MAX_TEXT as f64)?;
    }
    Ok(())
}

/// An interval with finite ends, the first below the second.
fn check_interval(what: &str, interval: (f64, f64)) -> Result<(), PlotError> {
    let span = interval.1 - interval.0;
    if interval.0.is_finite() && interval.1.is_finite() && span > 0.0 && span.is_finite() {
        return Ok(());
    }
    Err(PlotError::Range {
        what: what.into(),
        value: if interval.0.is_finite() { interval.1 } else { interval.0 },
        allowed: format!("a finite interval, from below to, not {interval:?}"),
    })
}

/// Alternative text from the parts every picture has.
fn describe(given: &str, title: &str, kind: &str, caption: &str) -> String {
    if !given.trim().is_empty() {
        return given.to_string();
    }
    let mut text = format!("{title}: {kind}.");
    if !caption.trim().is_empty() {
        text.push(' ');
        text.push_str(caption);
    }
    text
}

/// Smallest and largest finite value.
fn finite_range(values: impl IntoIterator<Item = f64>) -> Option<(f64, f64)> {
    values.into_iter().filter(|v| v.is_finite()).fold(None, |range, v| match range {
        None => Some((v, v)),
        Some((lo, hi)) => Some((f64::min(lo, v), f64::max(hi, v))),
    })
}

/// Ranges of x and of y.
type Spans = ((f64, f64), (f64, f64));

/// Joins two ranges.
fn joined(a: Option<(f64, f64)>, b: Option<(f64, f64)>) -> Option<(f64, f64)> {
    match (a, b) {
        (Some(a), Some(b)) => Some((a.0.min(b.0), a.1.max(b.1))),
        (a, b) => a.or(b),
    }
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_panels;
