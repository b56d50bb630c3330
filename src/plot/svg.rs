//! The display list as an SVG document.
//!
//! Vector parts go through the plotters SVG backend. It knows whole pixels only,
//! so the drawing is eight times as large and the view box scales it back. Heat
//! maps are embedded as palette PNGs between the vector parts: the backend's own
//! image support would need a second image library and full-size bitmaps.

use std::convert::Infallible;
use std::fmt::Write as _;

use plotters_backend::text_anchor::{HPos, Pos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, FontFamily, FontStyle, FontTransform,
};
use plotters_svg::SVGBackend;

use super::PlotError;
use super::canvas::{Anchor, Canvas, Item, Lettering, Place};
use super::font::{FAMILY, Fonts, clean};
use super::raster::{palette_png, photo_png};
use super::theme::Colour;

/// Drawing pixels of a picture unit.
const FINE: f64 = 8.0;
/// Drop that the SVG backend gives a text hung by its top, em.
const TOP_DROP: f64 = 0.76;

/// Colour and width as the backends take them.
pub(crate) struct Ink {
    pub colour: Colour,
    pub alpha: f64,
    pub width: u32,
}

impl BackendStyle for Ink {
    fn color(&self) -> BackendColor {
        BackendColor { alpha: self.alpha, rgb: self.colour }
    }
    fn stroke_width(&self) -> u32 {
        self.width
    }
}

/// A text as the backends take it; `lettering.em` is in their pixels.
pub(crate) struct Script {
    pub lettering: Lettering,
    pub fonts: &'static Fonts,
}

impl BackendTextStyle for Script {
    type FontError = Infallible;

    fn color(&self) -> BackendColor {
        BackendColor { alpha: 1.0, rgb: self.lettering.colour }
    }
    /// The SVG backend divides by 1.24 to get the em.
    fn size(&self) -> f64 {
        self.lettering.em * 1.24
    }
    fn transform(&self) -> FontTransform {
        if self.lettering.upward { FontTransform::Rotate270 } else { FontTransform::None }
    }
    fn style(&self) -> FontStyle {
        if self.lettering.bold { FontStyle::Bold } else { FontStyle::Normal }
    }
    fn anchor(&self) -> Pos {
        let across = match self.lettering.anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        Pos::new(across, VPos::Top)
    }
    fn family(&self) -> FontFamily<'_> {
        FontFamily::Name(FAMILY)
    }
    fn layout_box(&self, text: &str) -> Result<((i32, i32), (i32, i32)), Infallible> {
        let l = &self.lettering;
        let width = self.fonts.width(text, l.em, l.bold).round() as i32;
        Ok(((0, 0), (width, 0)))
    }
    /// Draws with the baseline at `y`, so that `VPos::Top` means the baseline.
    fn draw<E, F: FnMut(i32, i32, BackendColor) -> Result<(), E>>(
        &self,
        text: &str,
        (x, y): BackendCoord,
        mut dot: F,
    ) -> Result<Result<(), E>, Infallible> {
        let l = &self.lettering;
        let rgb = l.colour;
        Ok(self.fonts.coverage(text, l.em, l.bold, |dx, dy, alpha| dot(x + dx, y + dy, BackendColor { alpha, rgb })))
    }
}

/// Writes the document.
pub(crate) fn document(canvas: &Canvas, title: &str, description: &str) -> Result<String, PlotError> {
    let size = ((canvas.width * FINE).round() as u32, (canvas.height * FINE).round() as u32);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{}\" height=\"{}\" \
         viewBox=\"0 0 {} {}\">\n<title>{}</title>\n<desc>{}</desc>\n\
         <g stroke-linejoin=\"round\" stroke-linecap=\"butt\">\n",
        canvas.width,
        canvas.height,
        size.0,
        size.1,
        escaped(title),
        escaped(description)
    );
    for run in canvas.items.chunk_by(|a, b| is_picture(a) == is_picture(b)) {
        if run.first().is_some_and(is_picture) {
            for item in run {
                embed(&mut out, item)?;
            }
        } else {
            out.push_str(&vectors(run, size, canvas.fonts)?);
        }
    }
    out.push_str("</g>\n</svg>\n");
    Ok(out)
}

fn is_picture(item: &Item) -> bool {
    matches!(item, Item::Picture { .. } | Item::Photo { .. })
}

fn fine(p: Place) -> BackendCoord {
    ((p.0 * FINE).round() as i32, (p.1 * FINE).round() as i32)
}

/// The elements of one run of vector items, without the backend's own document
/// head and foot.
fn vectors(run: &[Item], size: (u32, u32), fonts: &'static Fonts) -> Result<String, PlotError> {
    let failed = |e: &dyn std::fmt::Display| PlotError::Backend(e.to_string());
    let mut text = String::new();
    {
        let mut backend = SVGBackend::with_string(&mut text, size);
        for item in run {
            match item {
                Item::Line { points, width, colour } => backend.draw_path(
                    points.iter().map(|p| fine(*p)),
                    &Ink { colour: *colour, alpha: 1.0, width: (width * FINE).round().max(1.0) as u32 },
                ),
                Item::Fill { points, colour, alpha } => backend
                    .fill_polygon(points.iter().map(|p| fine(*p)), &Ink { colour: *colour, alpha: *alpha, width: 1 }),
                Item::Block { area, colour, alpha } => backend.draw_rect(
                    fine((area.left, area.top)),
                    fine((area.right, area.bottom)),
                    &Ink { colour: *colour, alpha: *alpha, width: 1 },
                    true,
                ),
                Item::Text { place, text, lettering } => {
                    let drop = TOP_DROP * lettering.em;
                    let hung = if lettering.upward { (place.0 - drop, place.1) } else { (place.0, place.1 - drop) };
                    let script = Script { lettering: Lettering { em: lettering.em * FINE, ..*lettering }, fonts };
                    backend.draw_text(text, &script, fine(hung))
                }
                Item::Picture { .. } | Item::Photo { .. } => Ok(()),
            }
            .map_err(|e| failed(&e))?;
        }
        backend.present().map_err(|e| failed(&e))?;
    }
    let body = text
        .split_once(">\n")
        .and_then(|(_, rest)| rest.strip_suffix("</svg>\n"))
        .ok_or_else(|| PlotError::Backend("unexpected document around the drawing".into()))?;
    Ok(body.to_string())
}

fn embed(out: &mut String, item: &Item) -> Result<(), PlotError> {
    let (area, bytes) = match item {
        Item::Picture { area, bitmap } => (area, palette_png(bitmap)?),
        Item::Photo { area, photo } => (area, photo_png(photo)?),
        _ => return Ok(()),
    };
    let (x, y) = fine((area.left, area.top));
    let (right, bottom) = fine((area.right, area.bottom));
    writeln!(
        out,
        "<image x=\"{x}\" y=\"{y}\" width=\"{}\" height=\"{}\" preserveAspectRatio=\"none\" \
         href=\"data:image/png;base64,{}\"/>",
        right - x,
        bottom - y,
        base64(&bytes)
    )
    .map_err(|e| PlotError::Backend(e.to_string()))
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in clean(text).chars() {
        match c {
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '&' => out.push_str("&amp;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |i: usize| u32::from(three.get(i).copied().unwrap_or(0));
        let word = byte(0) << 16 | byte(1) << 8 | byte(2);
        for i in 0..4 {
            if i <= three.len() {
                let six = (word >> (18 - 6 * i)) & 63;
                out.push(char::from(SIGNS[six as usize]));
            } else {
                out.push('=');
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_of_the_test_vectors() {
        // RFC 4648, section 10.
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }
}
