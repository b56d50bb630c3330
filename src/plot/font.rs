//! The embedded font: measuring, wrapping and rasterising text.
//!
//! Subsets of `DejaVu Sans` and `DejaVu Sans Bold` 2.37 (licence beside the files in
//! `assets/`), so that no font of the machine is needed and a picture has the
//! same bytes everywhere. Not a layout engine: left to right, one line at a
//! time, pair kerning only.

use std::sync::LazyLock;

use ab_glyph::{Font, FontRef, Glyph, PxScale, ScaleFont, point};

use super::PlotError;

/// Family list written into SVG text; the first that the reader has is used.
/// Verdana has nearly the widths of `DejaVu Sans`.
pub(crate) const FAMILY: &str = "DejaVu Sans, Verdana, sans-serif";

static REGULAR: &[u8] = include_bytes!("../../assets/DejaVuSans-subset.ttf");
static BOLD: &[u8] = include_bytes!("../../assets/DejaVuSans-Bold-subset.ttf");

static FONTS: LazyLock<Option<Fonts>> = LazyLock::new(|| {
    Some(Fonts { regular: FontRef::try_from_slice(REGULAR).ok()?, bold: FontRef::try_from_slice(BOLD).ok()? })
});

/// The two faces.
#[derive(Debug)]
pub(crate) struct Fonts {
    regular: FontRef<'static>,
    bold: FontRef<'static>,
}

/// The embedded fonts.
///
/// # Errors
/// [`PlotError::Font`] if the embedded bytes do not parse.
pub(crate) fn fonts() -> Result<&'static Fonts, PlotError> {
    FONTS.as_ref().ok_or(PlotError::Font)
}

/// Replaces control characters, which neither SVG nor a chart can show.
pub(crate) fn clean(text: &str) -> String {
    text.chars().map(|c| if c.is_control() || c == '\u{fffe}' || c == '\u{ffff}' { ' ' } else { c }).collect()
}

impl Fonts {
    fn face(&self, bold: bool) -> &FontRef<'static> {
        if bold { &self.bold } else { &self.regular }
    }

    /// `ab_glyph` scales by ascent minus descent, not by the em.
    fn scale(&self, em: f64, bold: bool) -> PxScale {
        let face = self.face(bold);
        let units = face.units_per_em().unwrap_or(2048.0);
        PxScale::from(em as f32 * face.height_unscaled() / units)
    }

    fn glyphs(&self, text: &str, em: f64, bold: bool) -> (Vec<Glyph>, f64) {
        let face = self.face(bold).as_scaled(self.scale(em, bold));
        let mut pen = 0.0_f32;
        let mut last = None;
        let mut glyphs = Vec::with_capacity(text.len());
        for c in text.chars() {
            let id = face.glyph_id(c);
            if let Some(last) = last {
                pen += face.kern(last, id);
            }
            glyphs.push(id.with_scale_and_position(face.scale(), point(pen, 0.0)));
            pen += face.h_advance(id);
            last = Some(id);
        }
        (glyphs, f64::from(pen))
    }

    /// Width of one line of text of size `em`, same unit as `em`.
    pub(crate) fn width(&self, text: &str, em: f64, bold: bool) -> f64 {
        // Measured large and scaled down so that every size has the same breaks.
        self.glyphs(text, 256.0, bold).1 * em / 256.0
    }

    /// Breaks text into lines no wider than `limit`, at spaces where possible,
    /// inside a word only where the word alone is too wide. Nothing is lost.
    pub(crate) fn wrap(&self, text: &str, em: f64, bold: bool, limit: f64) -> Vec<String> {
        let mut lines = Vec::new();
        let mut line = String::new();
        for word in clean(text).split_whitespace() {
            let joined = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
            if self.width(&joined, em, bold) <= limit {
                line = joined;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            for c in word.chars() {
                line.push(c);
                if self.width(&line, em, bold) > limit && line.chars().count() > 1 {
                    line.pop();
                    lines.push(std::mem::take(&mut line));
                    line.push(c);
                }
            }
        }
        if !line.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// Calls `dot(x, y, coverage)` for every pixel touched by the text, origin at
    /// the start of the baseline, y down.
    pub(crate) fn coverage<E>(
        &self,
        text: &str,
        em: f64,
        bold: bool,
        mut dot: impl FnMut(i32, i32, f64) -> Result<(), E>,
    ) -> Result<(), E> {
        let face = self.face(bold);
        let mut outcome = Ok(());
        for glyph in self.glyphs(text, em, bold).0 {
            if let Some(outline) = face.outline_glyph(glyph) {
                let bounds = outline.px_bounds();
                let (left, top) = (bounds.min.x as i32, bounds.min.y as i32);
                outline.draw(|x, y, share| {
                    if outcome.is_ok() && share > 0.0 {
                        outcome = dot(left + x.cast_signed(), top + y.cast_signed(), f64::from(share.min(1.0)));
                    }
                });
            }
        }
        outcome
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;

    #[test]
    fn the_subset_has_the_signs_the_pictures_use() {
        let fonts = fonts().unwrap();
        for c in "Aÿµ°·×±−κΩωμ→√²³⁴½∞≤≥–—…⁻⁰₀⟨⟩\u{2009}".chars() {
            assert_ne!(fonts.regular.glyph_id(c).0, 0, "regular lacks {c}");
            assert_ne!(fonts.bold.glyph_id(c).0, 0, "bold lacks {c}");
        }
    }

    #[test]
    fn width_is_that_of_the_font_table() {
        // Advance of DejaVu Sans zero is 1303 of 2048 units (font file).
        let zero = fonts().unwrap().width("0", 20.48, false);
        // 1e-4: f32 arithmetic on values near 13.
        assert!((zero - 13.03).abs() < 1e-4, "{zero}");
    }

    #[test]
    fn wrapping_loses_nothing_and_keeps_the_limit() {
        let fonts = fonts().unwrap();
        let text = "short words and averyveryveryveryverylongwordwithoutanyspace end";
        let lines = fonts.wrap(text, 14.0, false, 120.0);
        let joined: String = lines.concat().split_whitespace().collect();
        let wanted: String = text.split_whitespace().collect();
        assert_eq!(joined, wanted);
        for line in &lines {
            assert!(fonts.width(line, 14.0, false) <= 120.0, "{line}");
        }
    }
}
