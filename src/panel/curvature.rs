//! Principal curvatures of a height map at a stated scale, with their uncertainty.
//!
//! Not the curvature of single facets or of noise: a polynomial is fitted to the nodes within a radius
//! of the point, in the frame of the surface there, and its fundamental forms give the curvatures (do
//! Carmo, Differential Geometry of Curves and Surfaces, 1976, section 3-3; from memory). With the radius
//! of a pad it is the paraboloid that the pad feels.

use super::height_map::{Frame, HeightMap};
use super::patch::Patch;
use super::polynomial::{CUBIC, Fit, MOST, QUADRATIC, Sums, terms};
use super::window::border;
use crate::error::RangeError;
use crate::math::reduce::map_indexed;
use crate::units::{Angle, Curvature};

/// Nodes that a fit uses at most; above, every second, third, ... row and column is taken.
pub const MOST_FIT_NODES: usize = 6_000;
/// Fewest nodes of a fit: a quadratic and six more, so that the residuals say something.
const FEWEST: usize = 12;
/// Nodes from which a cubic is fitted.
const CUBIC_FROM: usize = 30;

/// Curvature of a surface at a point, with its uncertainty and the frame that it is told in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceCurvature {
    /// Principal curvature that is larger in size \[1/m\], positive where convex.
    pub first: f64,
    /// The other principal curvature \[1/m\].
    pub second: f64,
    /// Direction of the first, in the tangent plane, from the x axis of `frame`.
    pub axis: Angle,
    /// Standard error of either \[1/m\]: noise as the residuals show it, with their correlation, and what
    /// the shape beyond the fitted polynomial adds, judged from a fit within 1/√2 of the radius and at
    /// least that of a circular arc, κ³r²/4.
    pub error_per_m: f64,
    /// Root mean square of the residuals \[m\].
    pub rms_residual_m: f64,
    /// Nodes used.
    pub points: usize,
    /// Frame of the fitted surface at the point.
    pub frame: Frame,
}

impl SurfaceCurvature {
    /// The local shape as a patch, its axis from the frame's x.
    ///
    /// # Errors
    /// Curvatures beyond ±1000 per metre.
    pub fn patch(&self) -> Result<Patch, RangeError> {
        Patch::quadric(Curvature::from_per_m(self.first), Curvature::from_per_m(self.second), self.axis)
    }

    /// Mean curvature H = (κ1+κ2)/2 \[1/m\].
    #[must_use]
    pub fn mean(&self) -> f64 {
        0.5 * (self.first + self.second)
    }
}

/// Curvatures over a coarse grid.
#[derive(Debug, Clone, PartialEq)]
pub struct CurvatureMap {
    /// First point in plan \[m\].
    pub origin: (f64, f64),
    /// Distance of neighbouring points in plan \[m\].
    pub spacing: f64,
    /// Points along x and y.
    pub count: (usize, usize),
    /// Row by row from the lowest y; `None` off the panel and where too few nodes are near.
    pub points: Vec<Option<SurfaceCurvature>>,
}

impl CurvatureMap {
    /// Place of a point in plan \[m\].
    #[must_use]
    pub fn place(&self, i: usize, j: usize) -> (f64, f64) {
        (self.origin.0 + i as f64 * self.spacing, self.origin.1 + j as f64 * self.spacing)
    }
}

/// A node in the frame of the point, in units of the radius, with its place in the window.
struct Near {
    u: f64,
    v: f64,
    gap: f64,
    cell: usize,
}

/// One fit: gap polynomial in units of the radius.
struct Fitted {
    fit: Fit,
    noise: f64,
    inflation: f64,
    points: usize,
}

/// Curvatures at a point of the plan from the nodes within `radius` \[m\] through space.
///
/// ```text
/// gap w(u, v) over the tangent plane:  I = [1+w_u², w_u w_v; ., 1+w_v²],  II = Hess w / √(1+w_u²+w_v²)
/// principal curvatures: eigenvalues of I⁻¹ II       [1/m]
/// ```
///
/// A cubic is fitted from 30 nodes on, a quadratic below. Only nodes on the panel count: at a free edge
/// the fit is one-sided and its error larger.
///
/// # Accuracy
/// A quadratic surface is exact up to the rounding of the heights. Shape of fourth order biases: on a
/// sphere of radius R by r²/(4R²). `error_per_m` covers that bias, noise and facets: the truth lies
/// within twice it in about 95 of 100 places. Slopes up to 75°.
///
/// # Errors
/// A radius below 1.5 steps or above 1 m, a point that is not finite or beyond 1 km, fewer than 12 nodes
/// of the panel within it.
///
/// # Example
/// ```
/// use trochoid::panel::{HeightMap, curvature_at};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // z = −½ (0.5 x² + 0.2 y²): in its middle 0.5 per metre along x and 0.2 along y.
/// let crown = |x: f64, y: f64| -0.25 * x * x - 0.1 * y * y;
/// let map = HeightMap::from_function((-0.1, -0.1), (0.1, 0.1), 2e-3, crown)?;
/// let k = curvature_at(&map, 0.0, 0.0, 0.05)?;
/// assert!((k.first - 0.5).abs() < 1e-9 && (k.second - 0.2).abs() < 1e-9);
/// assert!(k.axis.deg().abs() < 1e-6 && (k.mean() - 0.35).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// M. P. do Carmo, Differential Geometry of Curves and Surfaces, 1976, section 3-3 (from memory); the error
/// is an own estimate.
pub fn curvature_at(map: &HeightMap, x: f64, y: f64, radius: f64) -> Result<SurfaceCurvature, RangeError> {
    crate::equipment::within("curvature radius_mm", radius * 1e3, 1.5e3 * map.step(), 1000.0, "mm")?;
    crate::equipment::within("x_mm", x * 1e3, -1e6, 1e6, "mm")?;
    crate::equipment::within("y_mm", y * 1e3, -1e6, 1e6, "mm")?;
    let (start, half) = start_frame(map, x, y, radius);
    let near = gather(map, &start, radius, half);
    let whole = fit(&near.0, near.1, 1.0);
    let Some(whole) = whole.filter(|_| near.0.len() >= FEWEST) else {
        let allowed = format!("a point with at least {FEWEST} nodes of the panel within {:.1} mm", radius * 1e3);
        return Err(RangeError::new("curvature points", near.0.len() as f64, "", allowed));
    };
    let (k, derivative) = principal(&whole.fit.coefficient, radius);
    let error = error(&near, &whole, &k, radius);
    // The frame of the fitted surface: the starting one, tipped by the slopes that the fit leaves.
    let [p, q] = [derivative[0], derivative[1]];
    let tipped: [f64; 3] = core::array::from_fn(|i| start.normal[i] + p * start.x[i] + q * start.y[i]);
    let frame = Frame::from_slopes(start.foot, (-tipped[0] / tipped[2], -tipped[1] / tipped[2]));
    let (du, dv) = k.direction;
    let along: [f64; 3] =
        core::array::from_fn(|i| du * start.x[i] + dv * start.y[i] - (p * du + q * dv) * start.normal[i]);
    let dot = |a: &[f64; 3]| (0..3).map(|i| a[i] * along[i]).sum::<f64>();
    Ok(SurfaceCurvature {
        first: k.first,
        second: k.second,
        axis: Angle::from_rad(half_turn(dot(&frame.y).atan2(dot(&frame.x)))),
        error_per_m: error,
        rms_residual_m: whole.noise * radius,
        points: whole.points,
        frame,
    })
}

/// Curvatures as [`curvature_at`] gives them over a grid of points `spacing` \[m\] apart, evenly between
/// the sides of the panel's box.
///
/// # Errors
/// A radius below 1.5 steps or above 1 m; a spacing below the step or above 10 m, more than 250 000 points.
///
/// # Example
/// ```
/// use trochoid::panel::{HeightMap, curvature_map};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let crown = |x: f64, y: f64| -0.25 * (x * x + y * y);
/// let map = HeightMap::from_function((-0.1, -0.1), (0.1, 0.1), 4e-3, crown)?;
/// let grid = curvature_map(&map, 0.05, 0.03)?;
/// // 200 mm hold five points 50 mm apart each way; the thirteenth of 25 is the middle, where R = 2 m.
/// assert_eq!(grid.count, (5, 5));
/// assert!(grid.points[12].is_some_and(|k| (k.mean() - 0.5).abs() < 1e-9));
/// # Ok(())
/// # }
/// ```
pub fn curvature_map(map: &HeightMap, spacing: f64, radius: f64) -> Result<CurvatureMap, RangeError> {
    crate::equipment::within("curvature spacing_mm", spacing * 1e3, 1e3 * map.step(), 1e4, "mm")?;
    crate::equipment::within("curvature radius_mm", radius * 1e3, 1.5e3 * map.step(), 1000.0, "mm")?;
    let (low, high) = map.outline().bounds();
    let points = |a: f64, b: f64| ((b - a) / spacing + 1e-9).floor() + 1.0;
    let (nx, ny) = (points(low.0, high.0), points(low.1, high.1));
    if nx * ny > 250_000.0 {
        return Err(RangeError::new("curvature points", nx * ny, "", "at most 250000: a larger spacing"));
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive and bounded above
    let count = (nx as usize, ny as usize);
    // The points stand evenly between the two borders.
    let first = |a: f64, b: f64, n: f64| 0.5 * (a + b - (n - 1.0) * spacing);
    let origin = (first(low.0, high.0, nx), first(low.1, high.1, ny));
    let points = map_indexed(count.1, |j| {
        (0..count.0)
            .map(|i| {
                let (x, y) = (origin.0 + i as f64 * spacing, origin.1 + j as f64 * spacing);
                if map.edge_distance_at(x, y) < border(map) { None } else { curvature_at(map, x, y, radius).ok() }
            })
            .collect::<Vec<_>>()
    })
    .concat();
    Ok(CurvatureMap { origin, spacing, count, points })
}

/// Frame from the slopes at about half the radius, and the half window in nodes that holds the radius.
fn start_frame(map: &HeightMap, x: f64, y: f64, radius: f64) -> (Frame, usize) {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most 1 m over 0.01 mm
    let half = (radius / map.step()).ceil() as usize + 1;
    // Eight steps tell the slope well enough for a frame: what it is off is in the fit.
    (map.frame_at(x, y, (0.5 * radius).min(8.0 * map.step())), half)
}

/// Nodes of the panel within the radius, in the frame, and the width of their window.
fn gather(map: &HeightMap, frame: &Frame, radius: f64, half: usize) -> (Vec<Near>, usize) {
    let (nx, ny) = map.count();
    let middle = |a: f64, origin: f64, n: usize| {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
        let i = ((a - origin) / map.step()).round().clamp(0.0, (n - 1) as f64) as usize;
        i
    };
    let (ci, cj) = (middle(frame.foot[0], map.origin().0, nx), middle(frame.foot[1], map.origin().1, ny));
    let inside = core::f64::consts::PI * (radius / map.step()).powi(2);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive and small
    let stride = ((inside / MOST_FIT_NODES as f64).sqrt().ceil() as usize).max(1);
    let span = |c: usize, n: usize| (c.saturating_sub(half), (c + half).min(n - 1));
    let ((i0, i1), (j0, j1)) = (span(ci, nx), span(cj, ny));
    let width = 2 * half + 1;
    let border = border(map);
    let mut out = Vec::new();
    for (row, j) in (j0..=j1).step_by(stride).enumerate() {
        for (column, i) in (i0..=i1).step_by(stride).enumerate() {
            let at = j * nx + i;
            if map.edge_distances()[at] < border {
                continue;
            }
            let (x, y) = map.node(i, j);
            let (u, v, gap) = frame.local([x, y, map.heights()[at]]);
            if u * u + v * v + gap * gap <= radius * radius {
                out.push(Near { u: u / radius, v: v / radius, gap: gap / radius, cell: row * width + column });
            }
        }
    }
    (out, width)
}

/// Fit of the nodes within `share` of the radius.
fn fit(near: &[Near], width: usize, share: f64) -> Option<Fitted> {
    let limit = share * share;
    let used = || near.iter().filter(move |p| p.u * p.u + p.v * p.v + p.gap * p.gap <= limit);
    let points = used().count();
    let tries: &[usize] = if points >= CUBIC_FROM { &[CUBIC, QUADRATIC] } else { &[QUADRATIC] };
    for &n in tries {
        if points < n + 2 {
            continue;
        }
        let mut sums = Sums::new(n);
        for p in used() {
            sums.add(&terms(p.u, p.v), p.gap);
        }
        let Some(fit) = sums.fit() else { continue };
        let mut residuals = vec![f64::NAN; width * width];
        let mut square = 0.0;
        for p in used() {
            let r = p.gap - fit.value(&terms(p.u, p.v));
            residuals[p.cell] = r;
            square += r * r;
        }
        let noise = (square / (points - n) as f64).sqrt();
        return Some(Fitted { fit, noise, inflation: inflation(&residuals, width), points });
    }
    None
}

/// Factor on the variance of a fit for residuals that resemble their neighbours: that of an even mean
/// over a first-order chain, (1+ρ)/(1−ρ), along x times along y.
fn inflation(residuals: &[f64], width: usize) -> f64 {
    let chain = |shift: usize| {
        let (mut product, mut square) = (0.0, 0.0);
        for (at, r) in residuals.iter().enumerate().take(residuals.len() - shift) {
            let next = residuals[at + shift];
            // The last column of a row never holds a node, so that a row does not touch the next.
            if !r.is_nan() && !next.is_nan() {
                product += r * next;
                square += 0.5 * (r * r + next * next);
            }
        }
        let rho = if square > 0.0 { (product / square).clamp(0.0, 0.98) } else { 0.0 };
        (1.0 + rho) / (1.0 - rho)
    };
    chain(1) * chain(width)
}

/// Principal curvatures with the direction of the first.
pub(super) struct Principal {
    pub(super) first: f64,
    pub(super) second: f64,
    /// In the coordinates of the fit, du and dv.
    pub(super) direction: (f64, f64),
}

/// Principal curvatures of a gap polynomial at the origin, and its slopes there.
fn principal(c: &[f64; MOST], radius: f64) -> (Principal, [f64; 2]) {
    let (p, q) = (c[1], c[2]);
    let (uu, uv, vv) = (2.0 * c[3] / radius, c[4] / radius, 2.0 * c[5] / radius);
    (principal_of((p, q), (uu, uv, vv)), [p, q])
}

/// Principal curvatures of a gap with the given first and second derivatives.
pub(super) fn principal_of((p, q): (f64, f64), (uu, uv, vv): (f64, f64, f64)) -> Principal {
    let n = (1.0 + p * p + q * q).sqrt();
    let (e, f, g) = (1.0 + p * p, p * q, 1.0 + q * q);
    // In an orthonormal basis of the tangent plane, from the Cholesky factor of I, II is symmetric.
    let a = e.sqrt();
    let b = f / a;
    let d = (g - b * b).sqrt();
    let (l, m, r) = (uu / n, uv / n, vv / n);
    let s11 = l / (a * a);
    let s12 = (m - b * l / a) / (a * d);
    let s22 = (r - 2.0 * b * m / a + b * b * l / (a * a)) / (d * d);
    let mean = 0.5 * (s11 + s22);
    let split = (0.5 * (s11 - s22)).hypot(s12);
    let angle = 0.5 * (2.0 * s12).atan2(s11 - s22);
    let (high, low) = (mean + split, mean - split);
    let (first, second, angle) =
        if low.abs() > high.abs() { (low, high, angle + core::f64::consts::FRAC_PI_2) } else { (high, low, angle) };
    // Back from the orthonormal basis to du, dv.
    let (s, c) = angle.sin_cos();
    let dv = s / d;
    Principal { first, second, direction: ((c - b * dv) / a, dv) }
}

/// Principal curvatures of a surface z(x, y) from its derivatives (z_x, z_y) and (z_xx, z_xy, z_yy),
/// larger in size first, positive where convex.
pub(super) fn principal_of_heights(slope: (f64, f64), second: (f64, f64, f64)) -> (f64, f64) {
    let k = principal_of(slope, (-second.0, -second.1, -second.2));
    (k.first, k.second)
}

/// Angle of a line, which has no head: above -90° to 90°.
fn half_turn(a: f64) -> f64 {
    let pi = core::f64::consts::PI;
    let turned = a - pi * (a / pi).round();
    if turned <= -0.5 * pi { turned + pi } else { turned }
}

/// Variances of the two principal curvatures and of the term between them, (1/m)².
fn variances(fitted: &Fitted, k: &Principal, radius: f64) -> [f64; 3] {
    let scale = (fitted.noise / radius).powi(2) * fitted.inflation;
    let (du, dv) = k.direction;
    let length = du.hypot(dv);
    let (c, s) = (du / length, dv / length);
    let c3: [[f64; 3]; 3] = core::array::from_fn(|i| core::array::from_fn(|j| fitted.fit.covariance[3 + i][3 + j]));
    // Second derivative along two directions, as a sum over the coefficients of u², uv, v².
    let variance = |t: [f64; 3]| {
        let sum: f64 = (0..3).map(|i| (0..3).map(|j| t[i] * c3[i][j] * t[j]).sum::<f64>()).sum();
        sum * scale
    };
    [
        variance([2.0 * c * c, 2.0 * c * s, 2.0 * s * s]),
        variance([2.0 * s * s, -2.0 * c * s, 2.0 * c * c]),
        variance([-2.0 * c * s, c * c - s * s, 2.0 * c * s]),
    ]
}

/// Standard error: noise, and the bias judged from a fit within 1/√2 of the radius.
fn error(near: &(Vec<Near>, usize), whole: &Fitted, k: &Principal, radius: f64) -> f64 {
    let [first, second, between] = variances(whole, k, radius);
    // Two curvatures that noise makes out of one repel each other: the term between them splits them
    // where they are close, and does nothing where they are far apart.
    let split = k.first - k.second;
    let repelled = if between > 0.0 { between * between / (between + split * split) } else { 0.0 };
    let noise = first.max(second) + repelled;
    let Some(part) = fit(&near.0, near.1, core::f64::consts::FRAC_1_SQRT_2) else {
        // No second fit to compare with: the whole curvature may be bias.
        return (noise + k.first * k.first).sqrt();
    };
    let tensor = |c: &[f64; MOST]| [2.0 * c[3] / radius, c[4] / radius, 2.0 * c[5] / radius];
    let (a, b) = (tensor(&whole.fit.coefficient), tensor(&part.fit.coefficient));
    // Largest change of curvature in any direction.
    let (d0, d1, d2) = (a[0] - b[0], a[1] - b[1], a[2] - b[2]);
    let change = (0.5 * (d0 + d2)).abs() + (0.5 * (d0 - d2)).hypot(d1);
    let [p1, p2, _] = variances(&part, k, radius);
    // Of nested fits the variance of the change is the difference of the variances. What noise alone
    // would do, twice over, is no sign of bias.
    let expected = (p1.max(p2) - first.max(second)).max(0.0);
    let excess = (change * change - 4.0 * expected).max(0.0);
    // Shape of fourth order grows with the square of the radius: half of it is gone in the smaller fit.
    // Where the fit is one-sided, third-order shape comes in with the radius itself: 1/(1 - 1/√2).
    let lean = lean(&near.0);
    let grown = if lean < 0.1 { 2.0 } else { 3.5 };
    // Bias below the noise shows in no comparison; that of a circular arc is taken for granted.
    let arc = 0.25 * k.first.abs().powi(3) * radius * radius;
    (noise + (grown * grown * excess).max(arc * arc)).sqrt()
}

/// How far the centre of the nodes is from the point, in units of the radius: 0.42 at a straight edge.
fn lean(near: &[Near]) -> f64 {
    let n = near.len().max(1) as f64;
    let (u, v) = near.iter().fold((0.0, 0.0), |s, p| (s.0 + p.u, s.1 + p.v));
    (u / n).hypot(v / n)
}
