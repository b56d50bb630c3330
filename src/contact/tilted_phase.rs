//! One orbit phase of a tilted pad: where its face touches, ray by ray.
//!
//! At a fixed phase the compression is a quadratic form of the place on the face. Along any straight
//! ray it is therefore a parabola in the distance, whose contact edge (and the joins of a measured
//! law) are roots of a quadratic; only the directions in which the edge meets the rim need a
//! search. Rays run from an origin on the line of the orbit radius to the points of the rim
//!
//! ```text
//! x = O + s·d̂,   P = O + d·d̂ on the rim at azimuth ψ,   dA = s ds · R (R − O·û)/d² dψ
//! ```
//!
//! so that with the origin at the pad centre this is the polar grid, and with the origin where the
//! sliding speed vanishes the direction of sliding is the same along each ray. Where the origin lies
//! near the rim the rays are crowded toward it by tan(ψ/2) = m·tan(θ/2). Our own arrangement; the
//! tests hold it against brute force.

use crate::math::quadrature::{Ends, rule};
use crate::math::root;
use crate::motion::Face;
use core::f64::consts::PI;
use std::sync::OnceLock;

/// Directions in which a circle is scanned for sign changes.
pub(super) const SPOKES: usize = 32;

/// Cosine and sine of the spokes.
pub(super) fn spokes() -> &'static [(f64, f64); SPOKES] {
    static TABLE: OnceLock<[(f64, f64); SPOKES]> = OnceLock::new();
    TABLE.get_or_init(|| core::array::from_fn(|i| direction(spoke_angle(i))))
}

fn spoke_angle(i: usize) -> f64 {
    2.0 * PI * i as f64 / SPOKES as f64
}

fn direction(angle: f64) -> (f64, f64) {
    let (sin, cos) = angle.sin_cos();
    (cos, sin)
}

/// Heave, slopes and curvatures in principal axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tilt {
    pub(super) curvature: (f64, f64),
    pub(super) axis: f64,
    pub(super) slope: (f64, f64),
    pub(super) heave: f64,
}

/// Compression of the face at one phase, in principal axes about the pad centre:
/// δ = base + g·x − ½(k1 x² + k2 y²).
#[derive(Debug, Clone, Copy)]
pub(super) struct Phase {
    /// Direction of the orbit radius.
    pub(super) radius: (f64, f64),
    base: f64,
    gradient: (f64, f64),
    curvature: (f64, f64),
}

/// A ray from the origin to the rim.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ray {
    /// Direction.
    pub(super) direction: (f64, f64),
    /// Angle that the ray stands for, rad.
    pub(super) weight: f64,
    /// Distances from the origin at which the ray enters and leaves the disc.
    pub(super) span: (f64, f64),
    /// Compression along the ray: c0 + c1 s + c2 s².
    pub(super) compression: (f64, f64, f64),
    /// Place of the origin as seen from the pad centre: its component along the ray, and its square.
    origin: (f64, f64),
}

/// Azimuth nodes: Gauss nodes between two directions at which the integrand has a corner, and evenly
/// spaced directions where there is none.
#[derive(Debug, Clone)]
pub(super) struct Azimuths {
    nodes: usize,
    even: Vec<(f64, f64)>,
}

impl Azimuths {
    /// Directions on a face without corners.
    pub(super) fn count(&self) -> usize {
        self.even.len()
    }

    pub(super) fn new(nodes: usize) -> Self {
        let count = 2 * nodes.max(1);
        let even = (0..count).map(|i| direction(2.0 * PI * (i as f64 + 0.5) / count as f64)).collect();
        Self { nodes, even }
    }
}

/// Smallest crowding: an origin nearer to the rim than this makes for leaves so little area outside
/// that it no longer matters.
const LEAST_CROWDING: f64 = 0.15;

/// The substitution tan(ψ/2) = m·tan(θ/2), ψ from the direction of the origin.
#[derive(Debug, Clone, Copy)]
struct Crowding {
    m: f64,
    /// Direction of the origin.
    toward: (f64, f64),
}

impl Crowding {
    fn new(radius: f64, origin: f64, along: (f64, f64)) -> Self {
        let o = origin.abs();
        let m = ((radius - o).abs() / (radius + o)).sqrt().max(LEAST_CROWDING);
        Self { m, toward: if origin < 0.0 { (-along.0, -along.1) } else { along } }
    }

    /// Direction of ψ and dψ/dθ for the direction of θ.
    fn direction(&self, (cos, sin): (f64, f64)) -> ((f64, f64), f64) {
        let square = self.m * self.m;
        let norm = 0.5 * (1.0 + square + (1.0 - square) * cos);
        let (x, y) = (0.5 * (1.0 - square + (1.0 + square) * cos) / norm, self.m * sin / norm);
        let (tx, ty) = self.toward;
        ((x * tx - y * ty, x * ty + y * tx), self.m / norm)
    }

    /// θ in 0..2π of an azimuth.
    fn angle(&self, azimuth: f64) -> f64 {
        let half = 0.5 * (azimuth - self.toward.1.atan2(self.toward.0)).rem_euclid(2.0 * PI);
        2.0 * half.sin().atan2(self.m * half.cos())
    }
}

/// A direction at which the integrand over the azimuth has a corner.
#[derive(Debug, Clone, Copy)]
struct Corner {
    azimuth: f64,
    /// Square-root like: a ray is tangent to an edge there.
    tangent: bool,
}

impl Phase {
    pub(super) fn new(tilt: &Tilt, orbit: f64, (cos, sin): (f64, f64)) -> Self {
        let (k1, k2) = tilt.curvature;
        Self {
            radius: (cos, sin),
            base: tilt.heave - 0.5 * orbit * orbit * (k1 * cos * cos + k2 * sin * sin),
            gradient: (tilt.slope.0 - orbit * k1 * cos, tilt.slope.1 - orbit * k2 * sin),
            curvature: tilt.curvature,
        }
    }

    /// Value and gradient of the compression at a point of the face.
    fn at(&self, (x, y): (f64, f64)) -> (f64, (f64, f64)) {
        let ((gx, gy), (k1, k2)) = (self.gradient, self.curvature);
        (self.base + x * (gx - 0.5 * k1 * x) + y * (gy - 0.5 * k2 * y), (gx - k1 * x, gy - k2 * y))
    }

    /// Appends the azimuths at which the contact edge crosses the circle of radius `s` about the pad
    /// centre: roots of a + b cos ψ + c sin ψ + d cos 2ψ.
    fn crossings(&self, s: f64, out: &mut Vec<Corner>) {
        let (k1, k2) = self.curvature;
        let a = self.base - 0.25 * s * s * (k1 + k2);
        let (b, c) = (s * self.gradient.0, s * self.gradient.1);
        let d = -0.25 * s * s * (k1 - k2);
        let amplitude = b.hypot(c);
        if a.abs() >= amplitude + d.abs() {
            return;
        }
        let mut push = |azimuth: f64| out.push(Corner { azimuth, tangent: false });
        if d.abs() <= 1e-14 * amplitude {
            let (half, centre) = ((-a / amplitude).clamp(-1.0, 1.0).acos(), c.atan2(b));
            push(centre - half);
            push(centre + half);
            return;
        }
        let value = |(cos, sin): (f64, f64)| a + b * cos + c * sin + d * (cos * cos - sin * sin);
        let along = |psi: f64| value(direction(psi));
        let scan: [f64; SPOKES] = core::array::from_fn(|i| value(spokes()[i]));
        let mut refine = |low: (f64, f64), high: (f64, f64)| {
            if let Some(r) = root::bracketed(along, low, high, 1e-12) {
                push(r.x);
            }
        };
        let step = 2.0 * PI / SPOKES as f64;
        for i in 0..SPOKES {
            let (here, next) = (scan[i], scan[(i + 1) % SPOKES]);
            let angle = spoke_angle(i);
            if (here > 0.0) != (next > 0.0) {
                refine((angle, here), (angle + step, next));
                continue;
            }
            // Two crossings between three spokes of one sign: look at the vertex of the parabola.
            let last = scan[(i + SPOKES - 1) % SPOKES];
            let (fall, rise) = (last.abs() - here.abs(), next.abs() - here.abs());
            if (last > 0.0) == (here > 0.0) && fall >= 0.0 && rise >= 0.0 && fall + rise > 0.0 {
                let vertex = angle + 0.5 * step * (fall - rise) / (fall + rise);
                let v = along(vertex);
                if (v > 0.0) != (here > 0.0) {
                    refine((angle - step, last), (vertex, v));
                    refine((vertex, v), (angle + step, next));
                }
            }
        }
    }

    /// Appends the azimuths of the rays from `origin` that touch the contact edge without crossing
    /// it, where c1² = 4 c0 c2, within the face.
    fn tangents(&self, face: &Face, origin: (f64, f64), out: &mut Vec<Corner>) {
        let (c0, (gx, gy)) = self.at(origin);
        let (k1, k2) = self.curvature;
        // c1² − 4 c0 c2 = a + b cos 2φ + c sin 2φ.
        let a = 0.5 * (gx * gx + gy * gy) + c0 * (k1 + k2);
        let (b, c) = (0.5 * (gx * gx - gy * gy) + c0 * (k1 - k2), gx * gy);
        let amplitude = b.hypot(c);
        if a.abs() >= amplitude {
            return;
        }
        let (half, centre) = (0.5 * (-a / amplitude).acos(), 0.5 * c.atan2(b));
        for angle in [centre - half, centre + half, centre - half + PI, centre + half + PI] {
            let d = direction(angle);
            let c1 = gx * d.0 + gy * d.1;
            let c2 = -0.5 * (k1 * d.0 * d.0 + k2 * d.1 * d.1);
            let s = -0.5 * c1 / c2;
            let r = (origin.0 + s * d.0).hypot(origin.1 + s * d.1);
            if s > 0.0 && r < face.radius() && r > face.hole() {
                out.extend(rim_azimuth(face.radius(), origin, d).map(|azimuth| Corner { azimuth, tangent: true }));
            }
        }
    }

    /// Calls `f` for rays from the point `origin` (signed, along the orbit radius from the pad
    /// centre) that together cover the disc.
    pub(super) fn rays(&self, face: &Face, origin: f64, azimuths: &Azimuths, mut f: impl FnMut(Ray)) {
        let radius = face.radius();
        let o = (origin * self.radius.0, origin * self.radius.1);
        let (c0, (gx, gy)) = self.at(o);
        let (k1, k2) = self.curvature;
        let mut ray = |u: (f64, f64), weight: f64| {
            let lever = radius - (o.0 * u.0 + o.1 * u.1);
            let (x, y) = (radius * u.0 - o.0, radius * u.1 - o.1);
            let d = x.hypot(y);
            if lever <= 0.0 || d <= 0.0 {
                return;
            }
            let turn = radius * lever / d;
            let dir = (x / d, y / d);
            f(Ray {
                direction: dir,
                weight: weight * turn / d,
                span: ((d - 2.0 * turn).max(0.0), d),
                compression: (c0, gx * dir.0 + gy * dir.1, -0.5 * (k1 * dir.0 * dir.0 + k2 * dir.1 * dir.1)),
                origin: (o.0 * dir.0 + o.1 * dir.1, origin * origin),
            });
        };
        let mut corners = Vec::new();
        self.crossings(radius, &mut corners);
        if face.hole() > 0.0 {
            // Seen from an origin off the centre the hole's crossings lie at other azimuths.
            let start = corners.len();
            self.crossings(face.hole(), &mut corners);
            if origin.abs() > 0.0 {
                for corner in &mut corners[start..] {
                    let (cos, sin) = direction(corner.azimuth);
                    let (x, y) = (face.hole() * cos - o.0, face.hole() * sin - o.1);
                    let d = x.hypot(y);
                    corner.azimuth = rim_azimuth(radius, o, (x / d, y / d)).unwrap_or(corner.azimuth);
                }
            }
        }
        self.tangents(face, o, &mut corners);
        if origin.abs() > 0.0 {
            // Rays that touch the hole or the edge of the plate.
            for r in [face.hole(), face.plate()] {
                if r > 0.0 && r < radius && r < origin.abs() {
                    let (back, half) = ((-o.1).atan2(-o.0), (r / origin.abs()).asin());
                    for angle in [back - half, back + half] {
                        let azimuth = rim_azimuth(radius, o, direction(angle));
                        corners.extend(azimuth.map(|azimuth| Corner { azimuth, tangent: true }));
                    }
                }
            }
        }
        if origin.abs() >= radius {
            // From outside only the far side of the rim is seen through the disc.
            let (there, half) = (o.1.atan2(o.0), (radius / origin.abs()).acos());
            for azimuth in [there + half, there - half] {
                corners.push(Corner { azimuth, tangent: false });
            }
        }
        let crowding = Crowding::new(radius, origin, self.radius);
        let mut turned = |theta: (f64, f64), weight: f64| {
            let (u, spread) = crowding.direction(theta);
            ray(u, weight * spread);
        };
        if corners.is_empty() {
            let weight = 2.0 * PI / azimuths.even.len() as f64;
            for theta in &azimuths.even {
                turned(*theta, weight);
            }
            return;
        }
        for c in &mut corners {
            c.azimuth = crowding.angle(c.azimuth);
        }
        corners.sort_unstable_by(|a, b| a.azimuth.total_cmp(&b.azimuth));
        for (i, from) in corners.iter().enumerate() {
            let to =
                corners.get(i + 1).copied().unwrap_or(Corner { azimuth: corners[0].azimuth + 2.0 * PI, ..corners[0] });
            let width = to.azimuth - from.azimuth;
            if width <= 1e-12 {
                continue;
            }
            // A Gauss rule over more than half a turn would be thin in the middle.
            let pieces = if width > PI { 2 } else { 1 };
            let part = width / f64::from(pieces);
            for j in 0..pieces {
                let start = from.azimuth + part * f64::from(j);
                let ends = Ends::from_flags(from.tangent && j == 0, to.tangent && j + 1 == pieces);
                for q in rule(azimuths.nodes, ends) {
                    turned(direction(start + part * q.x), part * q.w);
                }
            }
        }
    }
}

/// Azimuth about the pad centre of the rim point at which the ray from `o` along `d` leaves the disc.
fn rim_azimuth(radius: f64, o: (f64, f64), d: (f64, f64)) -> Option<f64> {
    let (along, across) = (o.0 * d.0 + o.1 * d.1, o.0 * d.1 - o.1 * d.0);
    let square = radius * radius - across * across;
    let s = square.max(0.0).sqrt() - along;
    (square >= 0.0 && s > 0.0).then(|| (o.1 + s * d.1).atan2(o.0 + s * d.0))
}

impl Ray {
    /// Compression at a distance from the origin.
    pub(super) fn at(&self, s: f64) -> f64 {
        let (c0, c1, c2) = self.compression;
        c0 + s * (c1 + s * c2)
    }

    /// Distances at which the compression passes `level`; NaN or infinite where it does not.
    pub(super) fn roots(&self, level: f64) -> (f64, f64) {
        let (c0, c1, c2) = self.compression;
        quadratic(c0 - level, c1, c2)
    }

    /// Distances at which the ray meets the circle of radius `r` about the pad centre; NaN where not.
    pub(super) fn meets(&self, r: f64) -> (f64, f64) {
        let (along, square) = self.origin;
        quadratic(square - r * r, 2.0 * along, 1.0)
    }

    /// Distance from the pad centre at a distance from the origin.
    pub(super) fn radius(&self, s: f64) -> f64 {
        let (along, square) = self.origin;
        (square + s * (s + 2.0 * along)).max(0.0).sqrt()
    }

    /// The one or two stretches of the ray between `from` and the rim that are pressed.
    pub(super) fn touching(&self, from: f64, mut f: impl FnMut(f64, f64)) {
        let to = self.span.1;
        let (a, b) = self.roots(0.0);
        let (a, b) = if a > b { (b, a) } else { (a, b) };
        let mut start = from;
        for end in [a, b, to] {
            // NaN fails both comparisons: no root, no cut.
            if end > start && end <= to {
                if self.at(0.5 * (start + end)) > 0.0 {
                    f(start, end);
                }
                start = end;
            }
        }
    }
}

/// Roots of c0 + c1 s + c2 s², without cancellation; NaN where complex.
fn quadratic(c0: f64, c1: f64, c2: f64) -> (f64, f64) {
    let q = -0.5 * (c1 + (c1 * c1 - 4.0 * c0 * c2).sqrt().copysign(c1));
    (q / c2, c0 / q)
}
