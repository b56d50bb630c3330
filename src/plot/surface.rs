//! A height field seen from outside as a bitmap: orthographic projection, depth
//! buffer, shading by the normal.
//!
//! Knows nodes, triangles and samples; nothing of titles or legends. Four samples a
//! pixel of the bitmap are averaged, so edges are smooth. Two triangles a cell of the
//! grid, each sample decided by the depth nearest to the viewer (depth buffer after
//! Catmull 1974), so hidden parts are right whatever the order.

use super::canvas::{Area, Photo};
use super::scalar::Shade;
use super::theme::{Colour, NO_DATA, PAPER};

/// Colour of the side of the sheet that carries no value.
pub(crate) const UNDERSIDE: Colour = (150, 146, 140);

/// How much a slope changes the colour: the share of white or black mixed in is the
/// change of the cosine to the light times this.
const GAIN: f64 = 0.75;
/// Most white mixed in.
const LIGHTEST: f64 = 0.20;
/// Most black mixed in.
const DARKEST: f64 = 0.28;

/// Nodes of a height field: heights and values row by row, the first row at the low end
/// of y. A height that is not finite is no panel; a value that is not finite is no data.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Mesh<'a> {
    pub columns: usize,
    pub rows: usize,
    pub heights: &'a [f64],
    pub values: &'a [f64],
    /// First and last node along x and y.
    pub x: (f64, f64),
    pub y: (f64, f64),
}

impl Mesh<'_> {
    pub fn step(&self) -> (f64, f64) {
        ((self.x.1 - self.x.0) / (self.columns - 1) as f64, (self.y.1 - self.y.0) / (self.rows - 1) as f64)
    }

    fn solid(&self, column: usize, row: usize) -> bool {
        self.heights[row * self.columns + column].is_finite()
    }

    /// Corners of a cell that are panel, counter-clockwise from the low corner.
    fn corners(&self, column: usize, row: usize) -> [bool; 4] {
        [
            self.solid(column, row),
            self.solid(column + 1, row),
            self.solid(column + 1, row + 1),
            self.solid(column, row + 1),
        ]
    }

    /// True if a cell has a triangle: three of its corners are panel.
    fn filled(&self, column: usize, row: usize) -> bool {
        self.corners(column, row).iter().filter(|c| **c).count() > 2
    }

    /// True if there is anything to draw.
    pub fn any_triangle(&self) -> bool {
        (0..self.rows - 1).any(|j| (0..self.columns - 1).any(|i| self.filled(i, j)))
    }

    /// Triangles of a cell as corner numbers, counter-clockwise in plan. A whole cell is
    /// cut along the diagonal whose ends differ less in height.
    fn triangles(&self, column: usize, row: usize) -> ([[usize; 3]; 2], usize) {
        let corners = self.corners(column, row);
        let there = corners.iter().filter(|c| **c).count();
        if there == 4 {
            let at = row * self.columns + column;
            let z = |k: usize| self.heights[k];
            let rising = (z(at) - z(at + self.columns + 1)).abs();
            let falling = (z(at + 1) - z(at + self.columns)).abs();
            return (if rising <= falling { [[0, 1, 2], [0, 2, 3]] } else { [[0, 1, 3], [1, 2, 3]] }, 2);
        }
        if there == 3 {
            let lost = corners.iter().position(|c| !c).unwrap_or(0);
            return ([[(lost + 1) % 4, (lost + 2) % 4, (lost + 3) % 4], [0; 3]], 1);
        }
        ([[0; 3]; 2], 0)
    }

    /// Borders of the drawn sheet as pairs of nodes.
    pub fn borders(&self) -> Vec<(usize, usize)> {
        let mut out = Vec::new();
        let n = self.columns;
        let filled = |i: Option<usize>, j: Option<usize>| match (i, j) {
            (Some(i), Some(j)) => i + 1 < n && j + 1 < self.rows && self.filled(i, j),
            _ => false,
        };
        for row in 0..self.rows {
            for column in 0..n {
                let at = row * n + column;
                if !self.solid(column, row) {
                    continue;
                }
                let (here, left, below) = ((Some(column), Some(row)), column.checked_sub(1), row.checked_sub(1));
                if column + 1 < n && self.solid(column + 1, row) && filled(here.0, here.1) != filled(here.0, below) {
                    out.push((at, at + 1));
                }
                if row + 1 < self.rows && self.solid(column, row + 1) && filled(here.0, here.1) != filled(left, here.1)
                {
                    out.push((at, at + n));
                }
            }
        }
        for row in 0..self.rows - 1 {
            for column in 0..n - 1 {
                let corners = self.corners(column, row);
                if corners.iter().filter(|c| **c).count() == 3 {
                    let at = row * n + column;
                    let rising = corners[0] && corners[2];
                    out.push(if rising { (at, at + n + 1) } else { (at + 1, at + n) });
                }
            }
        }
        out
    }

    /// Slopes at a node from its neighbours that are panel; zero without any.
    fn slopes(&self, column: usize, row: usize) -> (f64, f64) {
        let (dx, dy) = self.step();
        let slope = |at: usize, stride: usize, place: usize, count: usize, step: f64| {
            let z = |k: usize| self.heights[k];
            let own = z(at);
            let before = (place > 0).then(|| z(at - stride)).filter(|z| z.is_finite());
            let after = (place + 1 < count).then(|| z(at + stride)).filter(|z| z.is_finite());
            match (before, after) {
                (Some(a), Some(b)) => (b - a) / (2.0 * step),
                (Some(a), None) => (own - a) / step,
                (None, Some(b)) => (b - own) / step,
                (None, None) => 0.0,
            }
        };
        let at = row * self.columns + column;
        (slope(at, 1, column, self.columns, dx), slope(at, self.columns, row, self.rows, dy))
    }
}

/// A direction of view: unit vectors to the right, up and toward the viewer, in the
/// panel's frame with its heights already exaggerated.
#[derive(Debug, Clone, Copy)]
pub(crate) struct View {
    right: [f64; 3],
    up: [f64; 3],
    toward: [f64; 3],
    pub exaggeration: f64,
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

impl View {
    /// At azimuth 0 the viewer stands at low y with x to the right; a positive azimuth
    /// walks it counter-clockwise round the panel as seen from above. At elevation 90 the
    /// picture is the plan.
    pub fn new(azimuth_deg: f64, elevation_deg: f64, exaggeration: f64) -> Self {
        let (sa, ca) = azimuth_deg.to_radians().sin_cos();
        let (se, ce) = elevation_deg.to_radians().sin_cos();
        Self { right: [ca, sa, 0.0], up: [-sa * se, ca * se, ce], toward: [sa * ce, -ca * ce, se], exaggeration }
    }

    /// Right, up and toward the viewer.
    pub fn project(&self, x: f64, y: f64, z: f64) -> [f64; 3] {
        let p = [x, y, z * self.exaggeration];
        [dot(self.right, p), dot(self.up, p), dot(self.toward, p)]
    }

    /// Cosine between a normal and the light, which comes from the viewer's upper left,
    /// less that of a level place.
    fn light(&self, normal: [f64; 3]) -> f64 {
        let l: [f64; 3] =
            std::array::from_fn(|i| (0.5 * self.toward[i] + 0.55 * self.up[i] - 0.6 * self.right[i]) / LIGHT_LENGTH);
        dot(l, normal) - l[2]
    }

    /// Share of white (positive) or black (negative) mixed into the colour of a place
    /// with these slopes.
    pub fn mix(&self, slopes: (f64, f64)) -> f64 {
        let (sx, sy) = (slopes.0 * self.exaggeration, slopes.1 * self.exaggeration);
        let long = (1.0 + sx * sx + sy * sy).sqrt();
        (GAIN * self.light([-sx / long, -sy / long, 1.0 / long])).clamp(-DARKEST, LIGHTEST)
    }

    /// Box around the projected nodes: least and largest right, least and largest up.
    pub fn bounds(&self, mesh: &Mesh<'_>) -> Option<[f64; 4]> {
        let (dx, dy) = mesh.step();
        let mut found: Option<[f64; 4]> = None;
        for (k, z) in mesh.heights.iter().enumerate().filter(|(_, z)| z.is_finite()) {
            let x = mesh.x.0 + (k % mesh.columns) as f64 * dx;
            let y = mesh.y.0 + (k / mesh.columns) as f64 * dy;
            let [r, u, _] = self.project(x, y, *z);
            found = Some(found.map_or([r, r, u, u], |b| [b[0].min(r), b[1].max(r), b[2].min(u), b[3].max(u)]));
        }
        found
    }

    /// True if more than one part in 500 of what is seen is underside: judged on a coarse
    /// copy of the sheet, where most flanks that face away are hidden by the crown.
    pub fn sees_underside(&self, mesh: &Mesh<'_>) -> bool {
        let stride = (mesh.columns.max(mesh.rows) / 150).max(1);
        let picks = |count: usize| -> Vec<usize> { (0..count).step_by(stride).collect() };
        let (i, j) = (picks(mesh.columns), picks(mesh.rows));
        let across = &i;
        let heights: Vec<f64> = j
            .iter()
            .flat_map(|&row| across.iter().map(move |&column| mesh.heights[row * mesh.columns + column]))
            .collect();
        let end =
            |range: (f64, f64), step: f64, count: usize| (range.0, range.0 + step * ((count - 1) * stride) as f64);
        let (dx, dy) = mesh.step();
        let coarse = Mesh {
            columns: i.len(),
            rows: j.len(),
            heights: &heights,
            values: &heights,
            x: end(mesh.x, dx, i.len()),
            y: end(mesh.y, dy, j.len()),
        };
        let (true, Some(b)) = (i.len() > 1 && j.len() > 1, self.bounds(&coarse)) else {
            return false;
        };
        let units = 100.0 / (b[1] - b[0]).max(b[3] - b[2]).max(1e-9);
        let mut scene = Scene::new(&Area::new(0.0, 0.0, 100.0, 100.0), b, units);
        let shade = super::scalar::ColourScale::default().shade((0.0, 1.0), None);
        scene.sheet(&coarse, self, &shade);
        let shown = scene.colour.iter().filter(|c| **c != PAPER).count();
        let under = scene.colour.iter().filter(|c| **c == UNDERSIDE).count();
        500 * under > shown
    }
}

/// Length of 0.5, 0.55, 0.6.
const LIGHT_LENGTH: f64 = 0.955_248_658_727_14;

/// Samples of a pixel in each direction.
const SAMPLES: usize = 2;
/// Most samples of one view.
const MOST_SAMPLES: f64 = 20e6;

/// Samples with the depth of what they show.
#[derive(Debug)]
pub(crate) struct Scene {
    columns: usize,
    rows: usize,
    /// Samples a unit of the picture.
    pub density: f64,
    /// Samples a unit of the panel, and the shift of right and up.
    scale: f64,
    shift: (f64, f64),
    depth: Vec<f32>,
    colour: Vec<Colour>,
}

/// A node on the screen, in samples with y down.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Seen {
    pub x: f64,
    pub y: f64,
    pub depth: f64,
}

impl Scene {
    /// An empty scene for a picture area into which the box `bounds` is fitted with
    /// `units` picture units a unit of the panel.
    pub fn new(area: &Area, bounds: [f64; 4], units: f64) -> Self {
        let most = (MOST_SAMPLES / (area.width() * area.height())).sqrt();
        let density = most.min(4.0);
        // Whole pixels: the bitmap fills the area, with at most half a pixel of stretch.
        let pixels = |length: f64| ((length * density / SAMPLES as f64).round() as usize).max(1);
        let (columns, rows) = (pixels(area.width()) * SAMPLES, pixels(area.height()) * SAMPLES);
        let scale = units * density;
        let shift = (
            0.5 * columns as f64 - scale * f64::midpoint(bounds[0], bounds[1]),
            0.5 * rows as f64 + scale * f64::midpoint(bounds[2], bounds[3]),
        );
        Self {
            columns,
            rows,
            density,
            scale,
            shift,
            depth: vec![f32::NEG_INFINITY; columns * rows],
            colour: vec![PAPER; columns * rows],
        }
    }

    /// A projected place on the screen.
    pub fn seen(&self, [right, up, toward]: [f64; 3]) -> Seen {
        Seen { x: self.shift.0 + self.scale * right, y: self.shift.1 - self.scale * up, depth: self.scale * toward }
    }

    /// A place on the screen in picture units from the corner of the area, if the sheet
    /// does not hide it by more than `lift` samples.
    pub fn visible(&self, seen: Seen, lift: f64) -> Option<(f64, f64)> {
        if !(seen.x >= 0.0 && seen.y >= 0.0 && seen.x < self.columns as f64 && seen.y < self.rows as f64) {
            return None;
        }
        let depth = self.depth[seen.y as usize * self.columns + seen.x as usize];
        ((seen.depth + lift) as f32 >= depth).then(|| (seen.x / self.density, seen.y / self.density))
    }

    /// Draws the sheet.
    pub fn sheet(&mut self, mesh: &Mesh<'_>, view: &View, shade: &Shade) {
        let palette = shade.palette();
        let (dx, dy) = mesh.step();
        let place = |k: usize| (mesh.x.0 + (k % mesh.columns) as f64 * dx, mesh.y.0 + (k / mesh.columns) as f64 * dy);
        let node = |scene: &Self, k: usize| -> (Seen, f64, f64) {
            let (x, y) = place(k);
            let seen = scene.seen(view.project(x, y, mesh.heights[k]));
            (seen, mesh.values[k], view.mix(mesh.slopes(k % mesh.columns, k / mesh.columns)))
        };
        let row_of = |scene: &Self, row: usize| -> Vec<(Seen, f64, f64)> {
            (row * mesh.columns..(row + 1) * mesh.columns).map(|k| node(scene, k)).collect()
        };
        let mut low = row_of(self, 0);
        for row in 0..mesh.rows - 1 {
            let high = row_of(self, row + 1);
            for column in 0..mesh.columns - 1 {
                let corner = [low[column], low[column + 1], high[column + 1], high[column]];
                let (triangles, count) = mesh.triangles(column, row);
                for t in &triangles[..count] {
                    self.triangle(t.map(|c| corner[c]), shade, &palette);
                }
            }
            low = high;
        }
    }

    fn triangle(&mut self, corners: [(Seen, f64, f64); 3], shade: &Shade, palette: &[Colour]) {
        let [a, b, c] = corners.map(|k| k.0);
        let whole = (b.x - a.x) * (c.y - a.y) - (c.x - a.x) * (b.y - a.y);
        if whole.abs() < 1e-12 {
            return;
        }
        // Sample centres lie at whole numbers plus a half; y runs down, so a triangle seen
        // from above the paint turns the other way on the screen.
        let first = |v: f64| (v - 0.5).ceil().max(0.0) as usize;
        let last = |v: f64, most: usize| ((v - 0.5).floor().min(most as f64 - 1.0) + 1.0).max(0.0) as usize;
        let columns = first(a.x.min(b.x).min(c.x))..last(a.x.max(b.x).max(c.x), self.columns);
        let rows = first(a.y.min(b.y).min(c.y))..last(a.y.max(b.y).max(c.y), self.rows);
        if columns.is_empty() || rows.is_empty() {
            return;
        }
        let known = corners.iter().all(|k| k.1.is_finite());
        let under = whole > 0.0;
        for y in rows {
            let py = y as f64 + 0.5;
            for x in columns.clone() {
                let px = x as f64 + 0.5;
                let wb = ((px - a.x) * (c.y - a.y) - (c.x - a.x) * (py - a.y)) / whole;
                let wc = ((b.x - a.x) * (py - a.y) - (px - a.x) * (b.y - a.y)) / whole;
                let wa = 1.0 - wb - wc;
                // A hair of slack, so that no sample falls between two triangles.
                if wa.min(wb).min(wc) < -1e-9 {
                    continue;
                }
                let depth = (wa * a.depth + wb * b.depth + wc * c.depth) as f32;
                let at = y * self.columns + x;
                if depth <= self.depth[at] {
                    continue;
                }
                self.depth[at] = depth;
                let blend =
                    |f: fn(&(Seen, f64, f64)) -> f64| wa * f(&corners[0]) + wb * f(&corners[1]) + wc * f(&corners[2]);
                let ground = if under {
                    UNDERSIDE
                } else if known {
                    palette[usize::from(shade.index(blend(|k| k.1)))]
                } else {
                    NO_DATA
                };
                // The underside keeps one colour, that of the legend.
                self.colour[at] = if under { ground } else { mixed(ground, blend(|k| k.2)) };
            }
        }
    }

    /// A line over the sheet, `half` samples wide to each side, hidden where the sheet
    /// lies more than `lift` samples nearer to the viewer.
    pub fn line(&mut self, a: Seen, b: Seen, half: f64, lift: f64, colour: Colour) {
        let span = |p: f64, q: f64, most: usize| {
            let low = (p.min(q) - half - 0.5).ceil().max(0.0) as usize;
            let high = ((p.max(q) + half - 0.5).floor().min(most as f64 - 1.0) + 1.0).max(0.0) as usize;
            low..high
        };
        let (ux, uy) = (b.x - a.x, b.y - a.y);
        let square = ux * ux + uy * uy;
        let columns = span(a.x, b.x, self.columns);
        for y in span(a.y, b.y, self.rows) {
            let py = y as f64 + 0.5;
            for x in columns.clone() {
                let px = x as f64 + 0.5;
                let t = if square > 0.0 { (((px - a.x) * ux + (py - a.y) * uy) / square).clamp(0.0, 1.0) } else { 0.0 };
                if (px - a.x - t * ux).hypot(py - a.y - t * uy) > half {
                    continue;
                }
                let at = y * self.columns + x;
                if (a.depth + t * (b.depth - a.depth) + lift) as f32 >= self.depth[at] {
                    self.colour[at] = colour;
                }
            }
        }
    }

    /// The picture: each pixel the mean of its samples.
    pub fn photo(&self) -> Photo {
        let (columns, rows) = (self.columns / SAMPLES, self.rows / SAMPLES);
        let mut pixels = Vec::with_capacity(3 * columns * rows);
        let share = (SAMPLES * SAMPLES) as u32;
        for row in 0..rows {
            for column in 0..columns {
                let mut sum = [share / 2; 3];
                for y in 0..SAMPLES {
                    for x in 0..SAMPLES {
                        let (r, g, b) = self.colour[(row * SAMPLES + y) * self.columns + column * SAMPLES + x];
                        sum = [sum[0] + u32::from(r), sum[1] + u32::from(g), sum[2] + u32::from(b)];
                    }
                }
                pixels.extend(sum.map(|s| (s / share) as u8));
            }
        }
        Photo { columns, rows, pixels }
    }
}

/// A colour with a share of white (positive) or black (negative) mixed in.
fn mixed(colour: Colour, share: f64) -> Colour {
    let end = if share > 0.0 { 255.0 } else { 0.0 };
    let mix = |c: u8| (f64::from(c) + share.abs() * (end - f64::from(c))).round() as u8;
    (mix(colour.0), mix(colour.1), mix(colour.2))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::super::scalar::ColourScale;
    use super::*;

    fn mesh<'a>(n: usize, heights: &'a [f64], values: &'a [f64]) -> Mesh<'a> {
        Mesh { columns: n, rows: n, heights, values, x: (0.0, 1.0), y: (0.0, 1.0) }
    }

    /// The axis of the view is square and right-handed, and a level place keeps its colour.
    #[test]
    fn the_view_is_a_frame_and_a_level_place_keeps_its_colour() {
        for (azimuth, elevation) in [(0.0, 90.0), (30.0, 35.0), (-140.0, 12.0), (200.0, 60.0)] {
            let v = View::new(azimuth, elevation, 3.0);
            for (a, b, wanted) in [
                (v.right, v.right, 1.0),
                (v.up, v.up, 1.0),
                (v.toward, v.toward, 1.0),
                (v.right, v.up, 0.0),
                (v.up, v.toward, 0.0),
            ] {
                // 1e-12: a few roundings on numbers of size 1.
                assert!((dot(a, b) - wanted).abs() < 1e-12);
            }
            assert!(v.mix((0.0, 0.0)).abs() < 1e-12);
            for slope in [-1e3, -0.3, 0.3, 1e3] {
                let mix = v.mix((slope, -slope));
                assert!((-DARKEST..=LIGHTEST).contains(&mix), "{mix}");
            }
        }
        let plan = View::new(0.0, 90.0, 1.0).project(2.0, 3.0, 5.0);
        for (got, wanted) in plan.iter().zip([2.0, 3.0, 5.0]) {
            assert!((got - wanted).abs() < 1e-12, "{plan:?}");
        }
    }

    /// A wall stands before a plate, in both orders of drawing: the viewer at low y sees the
    /// wall, the viewer at high y sees the plate only above it.
    #[test]
    fn the_nearer_part_hides_the_farther_one() {
        let n = 41;
        // A plate with a ridge across at y = 0.5 with a value of its own.
        let ridge = |k: usize| ((k / n) as f64 / 40.0 - 0.5).abs() < 0.03;
        let heights: Vec<f64> = (0..n * n).map(|k| if ridge(k) { 0.6 } else { 0.0 }).collect();
        let values: Vec<f64> = (0..n * n).map(|k| if ridge(k) { 1.0 } else { 0.0 }).collect();
        let scale = ColourScale::default();
        let shade = scale.shade((0.0, 1.0), None);
        let mesh = mesh(n, &heights, &values);
        let yellow = |azimuth: f64| {
            let view = View::new(azimuth, 20.0, 1.0);
            let bounds = view.bounds(&mesh).unwrap();
            let mut scene = Scene::new(&Area::new(0.0, 0.0, 200.0, 200.0), bounds, 100.0);
            scene.sheet(&mesh, &view, &shade);
            // Straight behind the ridge, at the level of the plate.
            let p = scene.seen(view.project(0.5, if azimuth.abs() < 1.0 { 0.98 } else { 0.02 }, 0.0));
            let c = scene.colour[p.y as usize * scene.columns + p.x as usize];
            c.1 > 40
        };
        // Viridis at 0 has green 1; the ray meets the face of the ridge at a value of 0.29,
        // green 85, at most 0.28 of it black: 61.
        assert!(yellow(0.0), "the ridge does not hide the plate behind it");
        assert!(yellow(180.0), "the ridge does not hide the plate before it from behind");
    }

    #[test]
    fn a_mask_makes_borders_all_round_and_none_inside() {
        let n = 6;
        let mut heights = vec![0.0; n * n];
        let values = vec![1.0; n * n];
        assert_eq!(mesh(n, &heights, &values).borders().len(), 20);
        heights[2 * n + 2] = f64::NAN;
        // Four cells lose a corner and keep a triangle each: four slanted borders.
        assert_eq!(mesh(n, &heights, &values).borders().len(), 24);
        heights.fill(f64::NAN);
        assert!(mesh(n, &heights, &values).borders().is_empty() && !mesh(n, &heights, &values).any_triangle());
    }

    #[test]
    fn the_underside_shows_where_the_sheet_falls_away_steeper_than_the_view() {
        let n = 11;
        let values = vec![1.0; n * n];
        let falling: Vec<f64> = (0..n * n).map(|k| -2.0 * (k / n) as f64 / 10.0).collect();
        let mesh = mesh(n, &falling, &values);
        // Slope 2 away from a viewer at low y: seen from below 63.4 degrees.
        assert!(View::new(0.0, 60.0, 1.0).sees_underside(&mesh));
        assert!(!View::new(0.0, 67.0, 1.0).sees_underside(&mesh));
        assert!(!View::new(180.0, 30.0, 1.0).sees_underside(&mesh));
    }
}
