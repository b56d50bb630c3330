//! A rose diagram: sectors around a centre, one a direction, as large in area as their share.
//!
//! For lines without head or tail: each share stands twice, at its direction and opposite. Not a chart of
//! something that goes round once, such as a wind rose. Equal areas after Nemec (1988), The
//! shape of the rose, Sedimentary Geology 59 (from memory).

use std::f64::consts::{PI, TAU};

use super::canvas::{Anchor, Area, Canvas, Lettering, Place, Stroke, circle};
use super::frame::Heading;
use super::scale::plain;
use super::theme::{GRID, INK, LABEL, LEADING, PAPER, SOFT, series_style, tint};
use super::{Draw, Figure, MAX_ITEMS, PlotError, Setting, check_size, check_texts, describe, figure};

/// Shares by direction over half a turn.
#[derive(Debug, Clone, PartialEq)]
pub struct RoseChart {
    /// Title.
    pub title: String,
    /// One line of settings below the picture; wrapped when long.
    pub caption: String,
    /// Alternative text; empty makes one from title and caption.
    pub description: String,
    /// Share \[%\] of each direction, evenly from 0 to 180 degrees, counter-clockwise from the right.
    pub shares: Vec<f64>,
    /// Share at the outer ring, the same for roses that are to be compared; `None` takes the largest.
    pub outer: Option<f64>,
    /// Name of the direction 0, such as "along the pass".
    pub zero_name: String,
    /// Number of its colour, as of the curves of a chart.
    pub style: usize,
    /// Width of the picture when it stands alone.
    pub width: f64,
}

impl Default for RoseChart {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            description: String::new(),
            shares: Vec::new(),
            outer: None,
            zero_name: String::new(),
            style: 0,
            width: 560.0,
        }
    }
}

/// Largest radius drawn, so that a rose does not fill a wide page.
const MOST_RADIUS: f64 = 170.0;
/// Room around the outer ring for its words.
const WORDS: f64 = LABEL * LEADING + 4.0;
/// Points along the arc of a sector.
const ARC: usize = 12;

impl RoseChart {
    /// Draws the rose alone.
    ///
    /// # Errors
    /// [`PlotError`] for no shares or only zeros, a share that is negative or not finite, an outer ring below the
    /// largest share, or a size above the bounds of the module.
    pub fn figure(&self) -> Result<Figure, PlotError> {
        figure(self, self.width)
    }

    fn most(&self) -> f64 {
        self.shares.iter().copied().fold(0.0, f64::max)
    }

    fn radius(width: f64) -> f64 {
        (0.5 * width - WORDS).min(MOST_RADIUS)
    }

    /// Radius of a share over that of the outer ring.
    fn reach(&self, share: f64) -> f64 {
        (share / self.outer.unwrap_or_else(|| self.most())).sqrt()
    }

    fn sector(&self, centre: Place, radius: f64, bin: usize) -> Vec<Place> {
        let width = PI / self.shares.len() as f64;
        let r = radius * self.reach(self.shares[bin % self.shares.len()]);
        let arc = (0..=ARC).map(|i| width * (bin as f64 + i as f64 / ARC as f64));
        std::iter::once(centre)
            .chain(arc.map(|a| {
                let (sin, cos) = a.sin_cos();
                (centre.0 + r * cos, centre.1 - r * sin)
            }))
            .collect()
    }
}

impl Draw for RoseChart {
    fn check(&self) -> Result<(), PlotError> {
        let name = format!("the rose \"{}\"", self.title);
        check_size("number of directions of a rose", self.shares.len() as f64, MAX_ITEMS as f64)?;
        if self.shares.is_empty() {
            return Err(PlotError::Empty { what: name });
        }
        if let Some(bad) = self.shares.iter().find(|s| !(s.is_finite() && **s >= 0.0)) {
            let allowed = "finite and at least 0".to_owned();
            return Err(PlotError::Range { what: format!("share of {name}"), value: *bad, allowed });
        }
        let most = self.most();
        if most <= 0.0 {
            return Err(PlotError::NoFiniteData { what: name });
        }
        if let Some(outer) = self.outer.filter(|o| !(o.is_finite() && *o >= most)) {
            let allowed = format!("finite and at least the largest share, {most}");
            return Err(PlotError::Range { what: format!("outer ring of {name}"), value: outer, allowed });
        }
        check_texts([self.title.as_str(), &self.caption, &self.description, &self.zero_name])
    }

    fn words(&self) -> (&str, String) {
        let kind = "rose diagram of directions";
        (&self.title, describe(&self.description, &self.title, kind, &self.caption))
    }

    fn height(&self, width: f64, setting: Setting) -> Result<f64, PlotError> {
        let heading = Heading::new(super::font::fonts()?, &self.title, &self.caption, width, setting);
        Ok(heading.top + 2.0 * (Self::radius(width) + WORDS) + heading.bottom)
    }

    fn draw(&self, canvas: &mut Canvas, area: Area, setting: Setting) -> Result<(), PlotError> {
        let heading = Heading::new(canvas.fonts, &self.title, &self.caption, area.width(), setting);
        let radius = Self::radius(area.width());
        let centre = (area.left + WORDS + radius, area.top + heading.top + WORDS + radius);
        let outer = self.outer.unwrap_or_else(|| self.most());
        for share in [0.25 * outer, outer] {
            let mut ring = circle(centre, radius * self.reach(share));
            ring.extend(ring.first().copied());
            canvas.line(&ring, Stroke::new(1.0, GRID));
        }
        for k in 0..4 {
            let (sin, cos) = (TAU * f64::from(k) / 8.0).sin_cos();
            let to = |s: f64| (centre.0 + s * radius * cos, centre.1 - s * radius * sin);
            canvas.line(&[to(-1.0), to(1.0)], Stroke::new(1.0, GRID));
        }
        let colour = series_style(self.style).0;
        for bin in 0..2 * self.shares.len() {
            let sector = self.sector(centre, radius, bin);
            let mut edge = sector.clone();
            edge.push(centre);
            canvas.fill(sector, tint(colour, 0.55), 1.0);
            canvas.line(&edge, Stroke::new(1.2, colour));
        }
        let ink = Lettering::new(LABEL, INK);
        canvas.text_mid((centre.0, centre.1 - radius - 0.5 * WORDS), "90°", ink.at(Anchor::Middle));
        // The words of 0 stand below the line they name, inside the ring's box.
        let zero = if self.zero_name.is_empty() { "0°".to_owned() } else { format!("0° {}", self.zero_name) };
        let place = (centre.0 + radius + WORDS, centre.1 + radius + 0.5 * WORDS);
        canvas.text_mid(place, &format!("→ {zero}"), ink.at(Anchor::End));
        // Ring values up the 45 degree line, on a ground of their own so that a sector does not hide them.
        for share in [0.25 * outer, outer] {
            let r = radius * self.reach(share) * 0.5_f64.sqrt();
            let text = format!("{} %", plain(share));
            let (w, h) = (canvas.fonts.width(&text, LABEL, false), LABEL);
            let (x, y) = (centre.0 + r, centre.1 - r);
            let ground = Area::new(x - 0.5 * w - 2.0, y - 0.5 * h - 1.0, x + 0.5 * w + 2.0, y + 0.5 * h + 1.0);
            canvas.text_on(ground, PAPER, &text, Lettering::new(LABEL, SOFT));
        }
        heading.draw(canvas, area, area.top + heading.top + 2.0 * (radius + WORDS));
        Ok(())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;

    fn rose(shares: Vec<f64>) -> RoseChart {
        RoseChart { title: "Directions".into(), shares, ..RoseChart::default() }
    }

    /// Area of a polygon, by the shoelace formula.
    fn area(points: &[Place]) -> f64 {
        let next = points.iter().cycle().skip(1);
        0.5 * points.iter().zip(next).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum::<f64>().abs()
    }

    #[test]
    fn areas_of_sectors_are_as_their_shares_and_opposite_ones_alike() {
        let r = rose(vec![4.0, 1.0, 2.0, 3.0]);
        let of = |bin| area(&r.sector((0.0, 0.0), 100.0, bin));
        // 1e-9: the chords of every arc are alike, so only rounding is left.
        for bin in 0..4 {
            assert!((of(bin) / of(1) / r.shares[bin] - 1.0).abs() < 1e-9, "{bin}");
            assert!((of(bin) / of(bin + 4) - 1.0).abs() < 1e-9, "{bin}");
        }
        // The first sector lies at the right and goes up, which is down the page's y.
        let first = r.sector((0.0, 0.0), 100.0, 0);
        assert!(first.iter().all(|p| p.0 >= -1e-9 && p.1 <= 1e-9));
        assert!((first[1].0 - 100.0).abs() < 1e-9, "the largest reaches the outer ring: {first:?}");
    }

    #[test]
    fn what_is_no_share_is_refused() {
        assert!(rose(vec![1.0, 2.0]).figure().is_ok());
        assert!(matches!(rose(Vec::new()).figure(), Err(PlotError::Empty { .. })));
        assert!(matches!(rose(vec![0.0, 0.0]).figure(), Err(PlotError::NoFiniteData { .. })));
        assert!(matches!(rose(vec![1.0, -1.0]).figure(), Err(PlotError::Range { .. })));
        assert!(matches!(rose(vec![1.0, f64::NAN]).figure(), Err(PlotError::Range { .. })));
        let low = RoseChart { outer: Some(0.5), ..rose(vec![1.0]) };
        assert!(matches!(low.figure(), Err(PlotError::Range { .. })));
    }
}
