//! Creases and body lines of a height map: where the surface turns by much within a short distance.
//!
//! A section is walked across each place that turns sharply enough; the turn, its middle and its spread
//! along the section give angle, place and radius. The spread that the slope's own window adds is taken
//! off. Not a model of the edge of the panel: within one node of it nothing is found.

use super::curvature::{principal_of, principal_of_heights};
use super::segment_tree::SegmentTree;
use super::window::border;
use super::{Frame, HeightMap};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::reduce::map_indexed;
use crate::units::{Angle, Length};

/// What counts as a crease: numerical knobs, checked by [`find_creases`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CreaseSettings {
    /// Largest radius of a crease; 20 mm unless set (assumed, no source), 1 to 200 mm.
    pub radius: Length,
    /// Smallest turn of a crease; 10° unless set (assumed, no source), 2 to 120°.
    pub turn: Angle,
    /// Half window over which slopes are taken; 2 mm unless set, at least one step. Larger for a noisy
    /// scan, up to 64 steps; radii much below it are told less well.
    pub smoothing: Length,
    /// Shortest line that is kept; 10 mm unless set, 0 to 100 m.
    pub least_length: Length,
}

impl Default for CreaseSettings {
    fn default() -> Self {
        Self {
            radius: Length::from_mm(20.0),
            turn: Angle::from_deg(10.0),
            smoothing: Length::from_mm(2.0),
            least_length: Length::from_mm(10.0),
        }
    }
}

/// A place on a crease.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CreasePoint {
    /// Plan x \[m\].
    pub x: f64,
    /// Plan y \[m\].
    pub y: f64,
    /// Radius \[m\], that of an arc with the same turn and spread.
    pub radius_m: f64,
    /// How much larger the radius may be \[m\]: the window's spread is known to about a tenth.
    pub radius_error_m: f64,
    /// Angle by which the surface turns across the crease.
    pub turn: Angle,
}

/// A line along which the surface turns sharply.
#[derive(Debug, Clone, PartialEq)]
pub struct Crease {
    /// Whether it is a ridge (true) or a groove.
    pub convex: bool,
    /// Its places in order, about one step apart.
    pub points: Vec<CreasePoint>,
}

impl Crease {
    /// Length in plan \[m\].
    #[must_use]
    pub fn length(&self) -> f64 {
        self.points.windows(2).map(|p| (p[1].x - p[0].x).hypot(p[1].y - p[0].y)).sum()
    }

    /// Mean turn of its points.
    #[must_use]
    pub fn turn(&self) -> Angle {
        Angle::from_rad(self.mean(|p| p.turn.rad()))
    }

    /// Mean radius of its points \[m\].
    #[must_use]
    pub fn radius(&self) -> f64 {
        self.mean(|p| p.radius_m)
    }

    fn mean(&self, f: impl Fn(&CreasePoint) -> f64) -> f64 {
        self.points.iter().map(f).sum::<f64>() / self.points.len().max(1) as f64
    }
}

/// A place found, with its node.
#[derive(Debug, Clone, Copy)]
struct Found {
    i: usize,
    j: usize,
    convex: bool,
    /// Whether the section ended on the panel, not at its edge.
    whole: bool,
    point: CreasePoint,
}

/// What the search works with.
struct Search<'a> {
    map: &'a HeightMap,
    /// Slopes at the nodes; NaN off the panel.
    slope_x: Vec<f64>,
    slope_y: Vec<f64>,
    settings: CreaseSettings,
    /// Variance in steps² that the slope's window adds along its own axis and square to it.
    spread: (f64, f64),
    /// Curvature from which a section is walked, 1/m.
    candidate: f64,
}

/// Creases of a panel, in the order of their first places in the grid.
///
/// # Accuracy
/// Turns within about 2 % and a tenth of a degree where the faces beside the crease are gently curved;
/// radii within `radius_error_m` and about 10 %; places within half a step, within one where the panel's
/// edge is nearer than the crease is wide. Cost: about 1 µs a node.
///
/// # Errors
/// Settings outside their ranges, a smoothing above 64 steps.
///
/// # Example
/// ```
/// use trochoid::panel::{CreaseSettings, HeightMap, find_creases};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // Two faces of slope 0.2 meet along y = 0: a ridge of 200 mm that turns by 2 atan 0.2 = 22.6°.
/// let roof = HeightMap::from_function((-0.1, -0.05), (0.1, 0.05), 1e-3, |_, y| -0.2 * f64::abs(y))?;
/// let found = find_creases(&roof, &CreaseSettings::default())?;
/// assert!(found.len() == 1 && found[0].convex);
/// assert!((found[0].turn().deg() - 22.6).abs() < 0.6 && (found[0].length() - 0.2).abs() < 3e-3);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own method; the tests hold it against arcs of known radius and turn.
pub fn find_creases(map: &HeightMap, settings: &CreaseSettings) -> Result<Vec<Crease>, RangeError> {
    within("crease_radius_mm", settings.radius.mm(), 1.0, 200.0, "mm")?;
    within("crease_turn_deg", settings.turn.deg(), 2.0, 120.0, "°")?;
    let step_mm = Length::from_m(map.step()).mm();
    within("crease_smoothing_mm", settings.smoothing.mm(), 0.0, 64.0 * step_mm, "mm")?;
    within("crease_least_length_mm", settings.least_length.mm(), 0.0, 1e5, "mm")?;
    let search = Search::new(map, settings);
    let (nx, ny) = map.count();
    let rows = map_indexed(ny, |j| (0..nx).filter_map(|i| search.look(i, j)).collect::<Vec<Found>>());
    Ok(chains(map, &rows.concat(), settings.least_length.m()))
}

/// Distance of every node to the nearest crease, through space \[m\], row by row; infinite where there is
/// none. `convex`: ridges (true), grooves (false) or both (`None`).
///
/// # Example
/// ```
/// use trochoid::Angle;
/// use trochoid::panel::{Crease, CreasePoint, HeightMap, crease_distances};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let at = |x: f64| CreasePoint { x, y: 0.0, radius_m: 5e-3, radius_error_m: 0.0, turn: Angle::from_deg(20.0) };
/// let ridge = Crease { convex: true, points: vec![at(0.0), at(0.1)] };
/// let flat = HeightMap::from_function((0.0, -0.05), (0.1, 0.05), 5e-3, |_, _| 0.0)?;
/// let away = crease_distances(&flat, &[ridge], Some(true));
/// // Two margin nodes lie before the corner of the panel at (0, −50 mm): 50 mm from the ridge.
/// let corner = 2 * flat.count().0 + 2;
/// assert!((away[corner] - 0.05).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn crease_distances(map: &HeightMap, creases: &[Crease], convex: Option<bool>) -> Vec<f64> {
    let chosen = creases.iter().filter(|c| convex.is_none_or(|k| k == c.convex));
    let segments = chosen.flat_map(|c| c.points.windows(2).map(|p| ((p[0].x, p[0].y), (p[1].x, p[1].y))));
    SegmentTree::new(segments.collect()).distances(map, false)
}

impl<'a> Search<'a> {
    fn new(map: &'a HeightMap, settings: &CreaseSettings) -> Self {
        let (nx, ny) = map.count();
        let limit = border(map);
        let slopes = map_indexed(ny, |j| {
            (0..nx)
                .map(|i| {
                    if map.edge_distances()[j * nx + i] < limit {
                        return (f64::NAN, f64::NAN);
                    }
                    let (x, y) = map.node(i, j);
                    map.slope_at(x, y, settings.smoothing.m())
                })
                .collect::<Vec<(f64, f64)>>()
        })
        .concat();
        let spread = window_spread(map.window(0.0, 0.0, settings.smoothing.m()).half);
        let width = (12.0 * spread.0).sqrt() * map.step();
        // A turn spread by the window alone would have this curvature; half of it is walked.
        let candidate = 0.5 * (1.0 / settings.radius.m()).min(settings.turn.rad() / width);
        let (slope_x, slope_y) = slopes.into_iter().unzip();
        Self { map, slope_x, slope_y, settings: *settings, spread, candidate }
    }

    /// The crease through a node, if one runs there.
    fn look(&self, i: usize, j: usize) -> Option<Found> {
        let (nx, ny) = self.map.count();
        if i == 0 || j == 0 || i + 1 >= nx || j + 1 >= ny {
            return None;
        }
        let at = j * nx + i;
        let two = 2.0 * self.map.step();
        let xx = (self.slope_x[at + 1] - self.slope_x[at - 1]) / two;
        let yy = (self.slope_y[at + nx] - self.slope_y[at - nx]) / two;
        let xy = 0.5
            * ((self.slope_y[at + 1] - self.slope_y[at - 1]) + (self.slope_x[at + nx] - self.slope_x[at - nx]))
            / two;
        let slope = (self.slope_x[at], self.slope_y[at]);
        let (first, _) = principal_of_heights(slope, (xx, xy, yy));
        if first.is_nan() || first.abs() < self.candidate {
            return None;
        }
        let k = principal_of(slope, (-xx, -xy, -yy));
        let length = k.direction.0.hypot(k.direction.1);
        let t = (k.direction.0 / length, k.direction.1 / length);
        self.walk(i, j, t, first.signum())
    }

    /// Point and unit normal of the smoothed surface.
    fn ground(&self, x: f64, y: f64) -> ([f64; 3], [f64; 3]) {
        let p = self.map.point_at(x, y);
        let slope = (self.map.read(&self.slope_x, x, y), self.map.read(&self.slope_y, x, y));
        (p, Frame::from_slopes(p, slope).normal)
    }

    /// Walks the section through a node along `t` both ways while it turns the same way.
    fn walk(&self, i: usize, j: usize, t: (f64, f64), sign: f64) -> Option<Found> {
        let (x, y) = self.map.node(i, j);
        let step = self.map.step();
        let cut = 0.2 * self.candidate;
        let spread = self.spread_along(t) * step * step;
        let reach = 4.0 * self.settings.radius.m() + 4.0 * spread.sqrt();
        // Sums of turn, turn x place, turn x place², and of the way on the surface and in plan.
        let (mut turn, mut first, mut square) = (0.0, 0.0, 0.0);
        let (mut way, mut plan) = (0.0, 0.0);
        let mut whole = true;
        for side in [1.0, -1.0] {
            let mut last = self.ground(x, y);
            let mut s = 0.0;
            let mut k = 1.0;
            while s < reach {
                let next = self.ground(x + side * k * step * t.0, y + side * k * step * t.1);
                let d: [f64; 3] = core::array::from_fn(|c| next.0[c] - last.0[c]);
                let ds = d.iter().map(|c| c * c).sum::<f64>().sqrt();
                let lean = (0..3).map(|c| (next.1[c] - last.1[c]) * d[c]).sum::<f64>() / ds;
                // On a circle the normals' difference along the chord is 2 sin(angle/2).
                let angle = sign * 2.0 * (0.5 * lean).clamp(-1.0, 1.0).asin();
                if angle.is_nan() || angle < cut * ds {
                    whole &= !angle.is_nan();
                    break;
                }
                let middle = side * (s + 0.5 * ds);
                turn += angle;
                first += angle * middle;
                square += angle * middle * middle;
                way += ds;
                plan += step;
                s += ds;
                k += 1.0;
                last = next;
            }
        }
        if turn < self.settings.turn.rad() {
            return None;
        }
        let stretch = way / plan;
        let middle = first / turn;
        // Only the node in the middle of the turn stands for the crease: half a step, with room for
        // lines that run askew through the grid.
        if middle.abs() > 0.75 * step * stretch {
            return None;
        }
        let window = spread * stretch * stretch;
        let own = (square / turn - middle * middle - window).max(0.0);
        let radius_m = (12.0 * own).sqrt() / turn;
        let radius_error_m = (12.0 * (own + 0.1 * window)).sqrt() / turn - radius_m;
        if radius_m > self.settings.radius.m() {
            return None;
        }
        let point = CreasePoint {
            x: x + middle / stretch * t.0,
            y: y + middle / stretch * t.1,
            radius_m,
            radius_error_m,
            turn: Angle::from_rad(turn),
        };
        Some(Found { i, j, convex: sign > 0.0, whole, point })
    }

    /// Variance in steps² that window and sampling add along a direction: each slope component is
    /// smoothed differently along its own axis and square to it.
    fn spread_along(&self, t: (f64, f64)) -> f64 {
        let (a, b) = (t.0 * t.0, t.1 * t.1);
        (a * a + b * b) * self.spread.0 + 2.0 * a * b * self.spread.1 + 1.0 / 12.0
    }
}

/// Variances of the smoothing of a slope fitted over −h..h nodes: along its axis, where the weight of
/// the step from k to k+1 is Σ_{i>k} i / Σ i², and square to it, where all rows count alike.
fn window_spread(h: usize) -> (f64, f64) {
    let f = h as f64;
    let total = f * (f + 1.0) * (2.0 * f + 1.0) / 3.0;
    let mut along = 0.0;
    for k in 0..h {
        let k = k as f64;
        let weight = 0.5 * (f * (f + 1.0) - k * (k + 1.0)) / total;
        along += 2.0 * weight * ((k + 0.5) * (k + 0.5) + 1.0 / 12.0);
    }
    (along, f * (f + 1.0) / 3.0)
}

/// Joins the places to lines: from an end of each heap of neighbours, always on to the nearest place.
fn chains(map: &HeightMap, found: &[Found], least_length: f64) -> Vec<Crease> {
    let (nx, ny) = map.count();
    let step = map.step();
    let mut at_node = vec![usize::MAX; nx * ny];
    for (n, f) in found.iter().enumerate() {
        at_node[f.j * nx + f.i] = n;
    }
    let mut used = vec![false; found.len()];
    // Start from which a place was last reached.
    let mut seen = vec![usize::MAX; found.len()];
    // Unused places of the same kind within three nodes, with their distances.
    let near = |n: usize, used: &[bool]| {
        let f = &found[n];
        let mut out = Vec::new();
        for j in f.j.saturating_sub(3)..=(f.j + 3).min(ny - 1) {
            for i in f.i.saturating_sub(3)..=(f.i + 3).min(nx - 1) {
                let m = at_node[j * nx + i];
                if m != usize::MAX && m != n && !used[m] && found[m].convex == f.convex {
                    out.push((m, (found[m].point.x - f.point.x).hypot(found[m].point.y - f.point.y)));
                }
            }
        }
        out
    };
    let mut out = Vec::new();
    for start in 0..found.len() {
        if used[start] {
            continue;
        }
        let mut n = farthest(start, &mut seen, |n| near(n, &used));
        let mut points = Vec::new();
        loop {
            points.push(n);
            used[n] = true;
            let around = near(n, &used);
            // Places beside this one stand for the same stretch of the line.
            let next = around
                .iter()
                .filter(|(_, d)| *d >= 0.8 * step)
                .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
                .map(|(m, _)| *m);
            for (m, d) in around {
                used[m] |= d < 0.8 * step;
            }
            match next {
                Some(m) => n = m,
                None => break,
            }
        }
        let crease = Crease { convex: found[start].convex, points: mended(found, &points) };
        if crease.points.len() > 1 && crease.length() >= least_length {
            out.push(crease);
        }
    }
    out
}

/// Places of a line. Where the panel's edge cut a section, turn and radius are those of the nearest
/// place along the line whose section was whole, and at an end of the line the place is moved onto the
/// straight continuation of the whole ones, for half an arc has its middle elsewhere.
fn mended(found: &[Found], line: &[usize]) -> Vec<CreasePoint> {
    let mut out: Vec<CreasePoint> = line.iter().map(|n| found[*n].point).collect();
    let whole: Vec<usize> = (0..line.len()).filter(|at| found[line[*at]].whole).collect();
    let (Some(&first), Some(&last)) = (whole.first(), whole.last()) else { return out };
    let mut after = 0;
    for at in 0..out.len() {
        while after + 1 < whole.len() && whole[after] < at {
            after += 1;
        }
        let (b, a) = (whole[after.saturating_sub(1)], whole[after]);
        let from = found[line[if at.abs_diff(b) <= at.abs_diff(a) { b } else { a }]].point;
        out[at] = CreasePoint { x: out[at].x, y: out[at].y, ..from };
    }
    // Up to 8 places in a row of which the section is whole tell the direction.
    let whole_at = |at: usize| found[line[at]].whole;
    let inner = (first..out.len().min(first + 9)).take_while(|at| whole_at(*at)).last().unwrap_or(first);
    straighten(&mut out, first, inner, 0..first);
    let inner = (last.saturating_sub(8)..=last).rev().take_while(|at| whole_at(*at)).last().unwrap_or(last);
    let count = out.len();
    straighten(&mut out, last, inner, last + 1..count);
    out
}

/// Moves places onto the line from an inner place through `end`, where there are few of them: where the
/// edge runs along the crease and cuts every section, the line stays as it was found.
fn straighten(points: &mut [CreasePoint], end: usize, inner: usize, places: core::ops::Range<usize>) {
    let (e, i) = (points[end], points[inner]);
    let (dx, dy) = (e.x - i.x, e.y - i.y);
    let square = dx * dx + dy * dy;
    let beyond = points[places.clone()].iter().map(|p| (p.x - e.x).hypot(p.y - e.y)).fold(0.0, f64::max);
    // The edge cuts the sections of a line that meets it at 45° over half the arc's width.
    if end.abs_diff(inner) < 4 || beyond > 1.5 * e.radius_m * e.turn.rad() + square.sqrt() {
        return;
    }
    for p in &mut points[places] {
        let t = ((p.x - e.x) * dx + (p.y - e.y) * dy) / square;
        (p.x, p.y) = (e.x + t * dx, e.y + t * dy);
    }
}

/// Last place reached from `start` by going to neighbours: an end of the line.
fn farthest(start: usize, seen: &mut [usize], near: impl Fn(usize) -> Vec<(usize, f64)>) -> usize {
    let mut queue = std::collections::VecDeque::from([start]);
    seen[start] = start;
    let mut last = start;
    while let Some(n) = queue.pop_front() {
        last = n;
        for (m, _) in near(n) {
            if seen[m] != start {
                seen[m] = start;
                queue.push_back(m);
            }
        }
    }
    last
}
