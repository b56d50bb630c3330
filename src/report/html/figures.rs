//! Figures inside the document: an SVG from `plot` is put in as it is, under identifiers of its own,
//! so that its title and description name it for a reader who cannot see it.

use super::words::plain;
use maud::{Markup, PreEscaped, html};

/// A picture of the report: one drawing for paper and wide screens and, where given, one laid out
/// for a phone.
#[derive(Debug, Clone)]
pub struct ReportPicture {
    title: String,
    wide: String,
    narrow: Option<String>,
}

#[cfg(feature = "plot")]
impl ReportPicture {
    /// A picture under a title. `narrow` is shown instead on narrow screens.
    ///
    /// # Errors
    /// [`crate::plot::PlotError::Backend`] if the drawing fails.
    ///
    /// # Example
    /// ```
    /// use trochoid::plot::{Bar, BarChart};
    /// use trochoid::report::ReportPicture;
    /// let bars = vec![Bar { label: "cut".into(), value: 2.4, ..Bar::default() }];
    /// let wide = BarChart { title: "Cut".into(), bars, ..BarChart::default() };
    /// let narrow = BarChart { width: 420.0, ..wide.clone() };
    /// assert!(ReportPicture::new("Cut", &wide.figure()?, Some(&narrow.figure()?)).is_ok());
    /// # Ok::<(), trochoid::plot::PlotError>(())
    /// ```
    pub fn new(
        title: &str,
        figure: &crate::plot::Figure,
        narrow: Option<&crate::plot::Figure>,
    ) -> Result<Self, crate::plot::PlotError> {
        Ok(Self {
            title: title.to_owned(),
            wide: figure.to_svg()?,
            narrow: narrow.map(crate::plot::Figure::to_svg).transpose()?,
        })
    }
}

/// The drawing with identifiers that no other figure has. Inside a page the name space goes without
/// saying.
fn with_identifiers(svg: &str, id: &str) -> String {
    svg.replacen(" xmlns=\"http://www.w3.org/2000/svg\"", "", 1)
        .replacen(
            "<svg ",
            &format!("<svg id=\"{id}\" aria-labelledby=\"{id}-title\" aria-describedby=\"{id}-description\" "),
            1,
        )
        .replacen("<title>", &format!("<title id=\"{id}-title\">"), 1)
        .replacen("<desc>", &format!("<desc id=\"{id}-description\">"), 1)
}

/// The figure of that number.
pub(super) fn figure(picture: &ReportPicture, number: usize) -> Markup {
    let id = format!("figure-{number}");
    html! {
        figure {
            @match &picture.narrow {
                None => div.drawing { (PreEscaped(with_identifiers(&picture.wide, &id))) },
                Some(narrow) => {
                    div.drawing.wide { (PreEscaped(with_identifiers(&picture.wide, &id))) }
                    div.drawing.narrow { (PreEscaped(with_identifiers(narrow, &format!("{id}-narrow")))) }
                }
            }
            figcaption { b { "Figure " (number) "." } " " (plain(&picture.title)) }
        }
    }
}
