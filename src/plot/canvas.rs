//! A display list in picture units: what to draw, before any backend.
//!
//! Lines are clipped and dashed here so that SVG and PNG show the same. Knows
//! nothing of axes or data.

use super::PlotError;
use super::font::{Fonts, clean, fonts};
use super::theme::{CAP, Colour, Marker, PAPER};

/// A place on the canvas, y down.
pub(crate) type Place = (f64, f64);

/// An upright rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Area {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Area {
    pub fn new(left: f64, top: f64, right: f64, bottom: f64) -> Self {
        Self { left, top, right, bottom }
    }
    pub fn width(&self) -> f64 {
        self.right - self.left
    }
    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }
    pub fn centre(&self) -> Place {
        (f64::midpoint(self.left, self.right), f64::midpoint(self.top, self.bottom))
    }
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }
    pub fn inside(&self, outer: &Self) -> bool {
        self.left >= outer.left && self.right <= outer.right && self.top >= outer.top && self.bottom <= outer.bottom
    }
    pub fn grown(&self, by: f64) -> Self {
        Self::new(self.left - by, self.top - by, self.right + by, self.bottom + by)
    }
    /// The same rectangle, told from the upper left corner of `outer`.
    pub fn within(&self, outer: &Self) -> Self {
        Self::new(self.left + outer.left, self.top + outer.top, self.right + outer.left, self.bottom + outer.top)
    }
    pub fn corners(&self) -> [Place; 4] {
        [(self.left, self.top), (self.right, self.top), (self.right, self.bottom), (self.left, self.bottom)]
    }
}

/// Where a text hangs on its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Anchor {
    #[default]
    Start,
    Middle,
    End,
}

/// How a text looks.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lettering {
    pub em: f64,
    pub colour: Colour,
    pub anchor: Anchor,
    pub bold: bool,
    /// Reads upward, turned a quarter to the left.
    pub upward: bool,
}

impl Lettering {
    pub fn new(em: f64, colour: Colour) -> Self {
        Self { em, colour, anchor: Anchor::Start, bold: false, upward: false }
    }
    pub fn at(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }
    pub fn bold(self) -> Self {
        Self { bold: true, ..self }
    }
    pub fn upward(self) -> Self {
        Self { upward: true, ..self }
    }
}

/// How a line looks.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stroke {
    pub width: f64,
    pub colour: Colour,
    pub dash: &'static [f64],
}

impl Stroke {
    pub fn new(width: f64, colour: Colour) -> Self {
        Self { width, colour, dash: &[] }
    }
    pub fn dashed(self, dash: &'static [f64]) -> Self {
        Self { dash, ..self }
    }
}

/// A picture of palette indices.
#[derive(Debug, Clone)]
pub(crate) struct Bitmap {
    pub columns: usize,
    pub rows: usize,
    pub palette: Vec<Colour>,
    pub cells: Vec<u8>,
}

/// A picture in full colour: red, green, blue, row by row from the top.
#[derive(Debug, Clone)]
pub(crate) struct Photo {
    pub columns: usize,
    pub rows: usize,
    pub pixels: Vec<u8>,
}

#[derive(Debug, Clone)]
pub(crate) enum Item {
    Line { points: Vec<Place>, width: f64, colour: Colour },
    Fill { points: Vec<Place>, colour: Colour, alpha: f64 },
    Block { area: Area, colour: Colour, alpha: f64 },
    Text { place: Place, text: String, lettering: Lettering },
    Picture { area: Area, bitmap: Bitmap },
    Photo { area: Area, photo: Photo },
}

/// The display list.
#[derive(Debug, Clone)]
pub(crate) struct Canvas {
    pub width: f64,
    pub height: f64,
    pub fonts: &'static Fonts,
    pub items: Vec<Item>,
}

impl Canvas {
    pub fn new(width: f64, height: f64) -> Result<Self, PlotError> {
        let mut canvas = Self { width, height, fonts: fonts()?, items: Vec::new() };
        canvas.block(Area::new(0.0, 0.0, width, height), PAPER, 1.0);
        Ok(canvas)
    }

    pub fn block(&mut self, area: Area, colour: Colour, alpha: f64) {
        self.items.push(Item::Block { area, colour, alpha });
    }

    pub fn picture(&mut self, area: Area, bitmap: Bitmap) {
        self.items.push(Item::Picture { area, bitmap });
    }

    pub fn photo(&mut self, area: Area, photo: Photo) {
        self.items.push(Item::Photo { area, photo });
    }

    pub fn text(&mut self, place: Place, text: &str, lettering: Lettering) {
        let text = clean(text);
        if !text.trim().is_empty() {
            self.items.push(Item::Text { place, text, lettering });
        }
    }

    /// Text whose capitals are centred on `place`, across the reading direction.
    pub fn text_mid(&mut self, place: Place, text: &str, lettering: Lettering) {
        let drop = 0.5 * CAP * lettering.em;
        let place = if lettering.upward { (place.0 + drop, place.1) } else { (place.0, place.1 + drop) };
        self.text(place, text, lettering);
    }

    /// Text on a ground of its own.
    pub fn text_on(&mut self, area: Area, ground: Colour, text: &str, lettering: Lettering) {
        self.block(area, ground, 1.0);
        self.text_mid(area.centre(), text, lettering.at(Anchor::Middle));
    }

    pub fn fill(&mut self, points: Vec<Place>, colour: Colour, alpha: f64) {
        if points.len() > 2 {
            self.items.push(Item::Fill { points, colour, alpha });
        }
    }

    pub fn fill_within(&mut self, points: &[Place], colour: Colour, alpha: f64, clip: Area) {
        self.fill(clip_polygon(points, clip), colour, alpha);
    }

    pub fn disc(&mut self, centre: Place, radius: f64, colour: Colour) {
        self.fill(circle(centre, radius), colour, 1.0);
    }

    /// A line; a non-finite point is a gap.
    pub fn line(&mut self, points: &[Place], stroke: Stroke) {
        if stroke.width <= 0.0 {
            return;
        }
        for run in points.split(|p| !p.0.is_finite() || !p.1.is_finite()) {
            for piece in dash(&thin_out(run), stroke.dash) {
                self.items.push(Item::Line { points: piece, width: stroke.width, colour: stroke.colour });
            }
        }
    }

    /// A line cut at the borders of `clip`; a non-finite point is a gap.
    pub fn line_within(&mut self, points: &[Place], stroke: Stroke, clip: Area) {
        for piece in clip_line(points, clip) {
            self.line(&piece, stroke);
        }
    }

    pub fn frame(&mut self, area: Area, stroke: Stroke) {
        let [a, b, c, d] = area.corners();
        self.line(&[a, b, c, d, a, b], stroke);
    }

    pub fn marker(&mut self, marker: Marker, centre: Place, radius: f64, colour: Colour) {
        let (x, y) = centre;
        let r = radius;
        match marker {
            Marker::Circle => {
                self.disc(centre, r + 1.2, PAPER);
                self.disc(centre, r, colour);
            }
            Marker::Square => self.haloed(&[(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)], centre, r, colour),
            Marker::Triangle => {
                self.haloed(&[(0.0, -1.2), (1.1, 0.8), (-1.1, 0.8)], centre, r, colour);
            }
            Marker::Inverted => {
                self.haloed(&[(0.0, 1.2), (1.1, -0.8), (-1.1, -0.8)], centre, r, colour);
            }
            Marker::Diamond => self.haloed(&[(0.0, -1.3), (1.3, 0.0), (0.0, 1.3), (-1.3, 0.0)], centre, r, colour),
            Marker::Cross => {
                for (width, ink) in [(4.4, PAPER), (2.2, colour)] {
                    let stroke = Stroke::new(width, ink);
                    self.line(&[(x - r, y - r), (x + r, y + r)], stroke);
                    self.line(&[(x - r, y + r), (x + r, y - r)], stroke);
                }
            }
            Marker::Plus => {
                for (width, ink) in [(4.4, PAPER), (2.2, colour)] {
                    let stroke = Stroke::new(width, ink);
                    self.line(&[(x - 1.2 * r, y), (x + 1.2 * r, y)], stroke);
                    self.line(&[(x, y - 1.2 * r), (x, y + 1.2 * r)], stroke);
                }
            }
        }
    }

    fn haloed(&mut self, shape: &[Place], centre: Place, radius: f64, colour: Colour) {
        for (r, ink) in [(radius + 1.3, PAPER), (radius, colour)] {
            let points = shape.iter().map(|p| (centre.0 + r * p.0, centre.1 + r * p.1)).collect();
            self.fill(points, ink, 1.0);
        }
    }
}

/// A polygon that passes for a circle at this size.
pub(crate) fn circle(centre: Place, radius: f64) -> Vec<Place> {
    let n = (radius.abs().sqrt() * 8.0).clamp(16.0, 180.0) as usize;
    (0..n)
        .map(|i| {
            let (s, c) = (std::f64::consts::TAU * i as f64 / n as f64).sin_cos();
            (centre.0 + radius * c, centre.1 + radius * s)
        })
        .collect()
}

/// Drops points closer than a quarter unit to the last kept one: they cannot be
/// seen and make files large.
fn thin_out(points: &[Place]) -> Vec<Place> {
    let mut kept: Vec<Place> = Vec::with_capacity(points.len().min(4096));
    for (i, p) in points.iter().enumerate() {
        let far = kept.last().is_none_or(|k| (k.0 - p.0).hypot(k.1 - p.1) >= 0.25);
        if far {
            kept.push(*p);
        } else if i + 1 == points.len() && kept.len() > 1 {
            kept.pop();
            kept.push(*p);
        }
    }
    kept
}

fn dash(points: &[Place], pattern: &[f64]) -> Vec<Vec<Place>> {
    if points.len() < 2 {
        return Vec::new();
    }
    if pattern.is_empty() {
        return vec![points.to_vec()];
    }
    let mut pieces = Vec::new();
    let mut piece = vec![points[0]];
    let (mut slot, mut left) = (0, pattern[0]);
    for pair in points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let length = (b.0 - a.0).hypot(b.1 - a.1);
        let mut done = 0.0;
        while length - done > left {
            done += left;
            let t = done / length;
            let p = (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1));
            if slot % 2 == 0 {
                piece.push(p);
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece = vec![p];
            }
            slot = (slot + 1) % pattern.len();
            left = pattern[slot];
        }
        left -= length - done;
        if slot % 2 == 0 {
            piece.push(b);
        }
    }
    if slot % 2 == 0 && piece.len() > 1 {
        pieces.push(piece);
    }
    pieces
}

/// Cuts a line at the borders of an area (Liang and Barsky 1984); a non-finite
/// point is a gap.
pub(crate) fn clip_line(points: &[Place], clip: Area) -> Vec<Vec<Place>> {
    let mut pieces: Vec<Vec<Place>> = Vec::new();
    let mut open = false;
    for pair in points.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        if !(a.0.is_finite() && a.1.is_finite() && b.0.is_finite() && b.1.is_finite()) {
            open = false;
            continue;
        }
        let Some((t0, t1)) = span_inside(a, b, clip) else {
            open = false;
            continue;
        };
        let along = |t: f64| (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1));
        if !(open && t0 <= 0.0) {
            pieces.push(vec![along(t0)]);
        }
        if let Some(piece) = pieces.last_mut() {
            piece.push(along(t1));
        }
        open = t1 >= 1.0;
    }
    pieces
}

fn span_inside(a: Place, b: Place, clip: Area) -> Option<(f64, f64)> {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (mut t0, mut t1) = (0.0_f64, 1.0_f64);
    for (p, q) in [(-dx, a.0 - clip.left), (dx, clip.right - a.0), (-dy, a.1 - clip.top), (dy, clip.bottom - a.1)] {
        if p.abs() < 1e-12 {
            if q < 0.0 {
                return None;
            }
        } else if p < 0.0 {
            t0 = t0.max(q / p);
        } else {
            t1 = t1.min(q / p);
        }
    }
    (t0 <= t1).then_some((t0, t1))
}

/// Cuts a polygon at the borders of an area (Sutherland and Hodgman 1974).
pub(crate) fn clip_polygon(points: &[Place], clip: Area) -> Vec<Place> {
    let mut shape: Vec<Place> = points.iter().copied().filter(|p| p.0.is_finite() && p.1.is_finite()).collect();
    for side in 0..4 {
        // Signed distance to the side, positive inside.
        let depth = |p: Place| match side {
            0 => p.0 - clip.left,
            1 => clip.right - p.0,
            2 => p.1 - clip.top,
            _ => clip.bottom - p.1,
        };
        let mut cut = Vec::with_capacity(shape.len() + 4);
        for (i, &b) in shape.iter().enumerate() {
            let a = shape[(i + shape.len() - 1) % shape.len()];
            let (da, db) = (depth(a), depth(b));
            if (da < 0.0) != (db < 0.0) {
                let t = da / (da - db);
                cut.push((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)));
            }
            if db >= 0.0 {
                cut.push(b);
            }
        }
        shape = cut;
    }
    shape
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOX: Area = Area { left: 0.0, top: 0.0, right: 10.0, bottom: 10.0 };

    fn length(points: &[Place]) -> f64 {
        points.windows(2).map(|p| (p[1].0 - p[0].0).hypot(p[1].1 - p[0].1)).sum()
    }

    #[test]
    fn a_line_leaving_and_returning_becomes_two_pieces() {
        let pieces = clip_line(&[(5.0, 5.0), (15.0, 5.0), (15.0, 7.0), (5.0, 7.0)], BOX);
        assert_eq!(pieces.len(), 2);
        let total: f64 = pieces.iter().map(|p| length(p)).sum();
        // 1e-12: a handful of roundings on numbers of size 10.
        assert!((total - 10.0).abs() < 1e-12, "{total}");
    }

    #[test]
    fn a_gap_stays_a_gap() {
        let pieces = clip_line(&[(1.0, 1.0), (2.0, 1.0), (f64::NAN, 1.0), (4.0, 1.0), (5.0, 1.0)], BOX);
        assert_eq!(pieces.len(), 2);
    }

    #[test]
    fn dashes_have_the_share_of_the_pattern() {
        let line: Vec<Place> = (0..=1000).map(|i| (f64::from(i), 0.0)).collect();
        let drawn: f64 = dash(&line, &[3.0, 2.0]).iter().map(|p| length(p)).sum();
        // 5: one period of the pattern may be left over at the end.
        assert!((drawn - 600.0).abs() < 5.0, "{drawn}");
    }

    #[test]
    fn a_clipped_polygon_has_the_area_of_the_overlap() {
        let shape = clip_polygon(&[(5.0, 5.0), (20.0, 5.0), (20.0, 20.0), (5.0, 20.0)], BOX);
        let mut twice = 0.0;
        for (i, b) in shape.iter().enumerate() {
            let a = shape[(i + shape.len() - 1) % shape.len()];
            twice += a.0 * b.1 - b.0 * a.1;
        }
        // 1e-12: exact in binary but for the order of sums.
        assert!((twice.abs() / 2.0 - 25.0).abs() < 1e-12);
    }
}
