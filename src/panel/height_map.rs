//! A panel as heights over its plan: what every real surface is turned into before it is worked.
//!
//! Plan coordinates are x and y of the panel's own frame; z points out of the paint, toward the pad.
//! Nodes off the panel hold a smooth continuation, so that a pad that overhangs a free edge meets no
//! cliff in the numbers; where the panel ends is said by the signed distance to its edge.

use super::Outline;
use super::window::Window;
use crate::error::RangeError;
use crate::math::reduce::map_indexed;

/// Most nodes a height map may have: about 400 MB with everything that is derived from it.
pub const MAX_NODES: usize = 8_000_000;

/// Heights on a square grid, and the outline of the panel.
///
/// # Assumptions and valid range
/// One height over each place of the plan: undercuts and walls do not fit. 3 x 3 to [`MAX_NODES`] nodes, a
/// step of 0.01 mm to 1 m, heights within 1 km. Between nodes the surface is bilinear.
///
/// # Example
/// ```
/// use trochoid::panel::HeightMap;
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // A plane that rises by 75 mm a metre along x, over 400 x 200 mm.
/// let ramp = HeightMap::from_function((0.0, 0.0), (0.4, 0.2), 5e-3, |x, _| 0.075 * x)?;
/// assert!((ramp.height_at(0.2, 0.1) - 0.015).abs() < 1e-15);
/// assert!((ramp.slope_at(0.2, 0.1, 0.02).0 - 0.075).abs() < 1e-12);
/// // The middle is 100 mm from the two long sides, through space.
/// assert!((ramp.edge_distance_at(0.2, 0.1) - 0.1).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct HeightMap {
    origin: (f64, f64),
    step: f64,
    count: (usize, usize),
    height: Vec<f64>,
    edge: Vec<f64>,
    outline: Outline,
}

/// A right-handed frame on the surface: a point, two tangents and the outward normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// The point on the surface \[m\].
    pub foot: [f64; 3],
    /// Unit tangent that runs along plan x \[1\].
    pub x: [f64; 3],
    /// Unit tangent square to it \[1\].
    pub y: [f64; 3],
    /// Outward unit normal \[1\].
    pub normal: [f64; 3],
}

impl Frame {
    /// Coordinates of a point in the frame: along x, along y, and the gap below the tangent plane
    /// (positive where the surface falls away from the pad) \[m\].
    #[must_use]
    pub fn local(&self, p: [f64; 3]) -> (f64, f64, f64) {
        let d = [p[0] - self.foot[0], p[1] - self.foot[1], p[2] - self.foot[2]];
        let dot = |a: &[f64; 3]| a[0] * d[0] + a[1] * d[1] + a[2] * d[2];
        (dot(&self.x), dot(&self.y), -dot(&self.normal))
    }

    /// The frame at `foot` \[m\] for a surface with slopes (dz/dx, dz/dy) \[1\] there.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::Frame;
    /// // Three up on four along: the 3-4-5 triangle.
    /// let frame = Frame::from_slopes([0.0; 3], (0.75, 0.0));
    /// assert!((frame.x[0] - 0.8).abs() < 1e-15 && (frame.x[2] - 0.6).abs() < 1e-15);
    /// assert!((frame.normal[0] + 0.6).abs() < 1e-15 && (frame.normal[2] - 0.8).abs() < 1e-15);
    /// // 5 m straight above the foot is 3 m along the slope and 4 m out: a gap of −4 m.
    /// let (along, _, gap) = frame.local([0.0, 0.0, 5.0]);
    /// assert!((along - 3.0).abs() < 1e-14 && (gap + 4.0).abs() < 1e-14);
    /// ```
    #[must_use]
    pub fn from_slopes(foot: [f64; 3], slope: (f64, f64)) -> Self {
        let n = (1.0 + slope.0 * slope.0 + slope.1 * slope.1).sqrt();
        let normal = [-slope.0 / n, -slope.1 / n, 1.0 / n];
        let l = (1.0 + slope.0 * slope.0).sqrt();
        let x = [1.0 / l, 0.0, slope.0 / l];
        let y = [
            normal[1] * x[2] - normal[2] * x[1],
            normal[2] * x[0] - normal[0] * x[2],
            normal[0] * x[1] - normal[1] * x[0],
        ];
        Self { foot, x, y, normal }
    }
}

impl HeightMap {
    /// A height map from its nodes, row by row from the lowest y: `origin` \[m\] is the first node, `step`
    /// \[m\] their distance in plan, `height` \[m\] one value a node.
    ///
    /// # Errors
    /// Fewer than 3 x 3 nodes or more than [`MAX_NODES`], a step outside 0.01 mm to 1 m, a number of
    /// heights that does not fit, a height that is not finite or beyond 1 km.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::{HeightMap, Outline};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // Nine nodes, the one in the middle raised by 2 mm: halfway to it the height is 1 mm.
    /// let heights = vec![0.0, 0.0, 0.0, 0.0, 2e-3, 0.0, 0.0, 0.0, 0.0];
    /// let outline = Outline::rectangle((0.0, 0.0), (0.2, 0.2))?;
    /// let map = HeightMap::new((0.0, 0.0), 0.1, (3, 3), heights, outline)?;
    /// assert!((map.height_at(0.05, 0.1) - 1e-3).abs() < 1e-15);
    /// # Ok(())
    /// # }
    /// ```
    pub fn new(
        origin: (f64, f64),
        step: f64,
        count: (usize, usize),
        height: Vec<f64>,
        outline: Outline,
    ) -> Result<Self, RangeError> {
        crate::equipment::within("height map step", step * 1e3, 0.01, 1000.0, "mm")?;
        let nodes = count.0.saturating_mul(count.1);
        if count.0 < 3 || count.1 < 3 || nodes > MAX_NODES || nodes != height.len() {
            let allowed = format!("3 x 3 to {MAX_NODES} nodes, one height each");
            return Err(RangeError::new("height map nodes", nodes as f64, "", allowed));
        }
        if let Some(z) = height.iter().find(|z| z.is_nan() || z.abs() > 1e3) {
            return Err(RangeError::new("height", *z, "m", "finite, within 1 km"));
        }
        let mut out = Self { origin, step, count, height, edge: Vec::new(), outline };
        out.edge = out.outline.tree().distances(&out, true);
        Ok(out)
    }

    /// Heights \[m\] of a function of x and y \[m\] over a rectangle in plan \[m\], nodes `step` \[m\]
    /// apart, with a margin of two nodes beyond each edge. See the example of [`HeightMap`].
    ///
    /// # Errors
    /// As [`HeightMap::new`].
    pub fn from_function(
        from: (f64, f64),
        to: (f64, f64),
        step: f64,
        f: impl Fn(f64, f64) -> f64 + Sync + Send,
    ) -> Result<Self, RangeError> {
        Self::sampled(from, to, step, f, Outline::rectangle(from, to)?)
    }

    /// As [`HeightMap::from_function`], with an outline of its own.
    pub(super) fn sampled(
        from: (f64, f64),
        to: (f64, f64),
        step: f64,
        f: impl Fn(f64, f64) -> f64 + Sync + Send,
        outline: Outline,
    ) -> Result<Self, RangeError> {
        crate::equipment::within("height map step", step * 1e3, 0.01, 1000.0, "mm")?;
        let nodes = |a: f64, b: f64| ((b - a) / step).ceil().max(1.0) + 5.0;
        let (nx, ny) = (nodes(from.0, to.0), nodes(from.1, to.1));
        if nx.is_nan() || ny.is_nan() || nx * ny > MAX_NODES as f64 {
            return Err(RangeError::new("height map nodes", nx * ny, "", format!("at most {MAX_NODES}")));
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive and bounded above
        let (nx, ny) = (nx as usize, ny as usize);
        let origin = (from.0 - 2.0 * step, from.1 - 2.0 * step);
        let height = map_indexed(ny, |j| {
            let y = origin.1 + j as f64 * step;
            (0..nx).map(|i| f(origin.0 + i as f64 * step, y)).collect::<Vec<f64>>()
        })
        .concat();
        Self::new(origin, step, (nx, ny), height, outline)
    }

    /// First node \[m\].
    #[must_use]
    pub const fn origin(&self) -> (f64, f64) {
        self.origin
    }

    /// Distance of neighbouring nodes in plan \[m\].
    #[must_use]
    pub const fn step(&self) -> f64 {
        self.step
    }

    /// Nodes along x and y.
    #[must_use]
    pub const fn count(&self) -> (usize, usize) {
        self.count
    }

    /// Place of a node in plan \[m\].
    #[must_use]
    pub fn node(&self, i: usize, j: usize) -> (f64, f64) {
        (self.origin.0 + i as f64 * self.step, self.origin.1 + j as f64 * self.step)
    }

    /// Heights at the nodes, row by row \[m\].
    #[must_use]
    pub fn heights(&self) -> &[f64] {
        &self.height
    }

    /// Distances of the nodes to the nearest free edge, row by row \[m\]: positive on the panel, negative
    /// off it; measured through space, which is the distance over a surface that is gently curved.
    #[must_use]
    pub fn edge_distances(&self) -> &[f64] {
        &self.edge
    }

    /// The free edges.
    #[must_use]
    pub const fn outline(&self) -> &Outline {
        &self.outline
    }

    /// Cell that holds a point, and where in it; points beyond the grid are taken to its last cell.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
    fn place(&self, x: f64, y: f64) -> (usize, f64, f64) {
        let u = (x - self.origin.0) / self.step;
        let v = (y - self.origin.1) / self.step;
        let i = (u.max(0.0) as usize).min(self.count.0 - 2);
        let j = (v.max(0.0) as usize).min(self.count.1 - 2);
        (j * self.count.0 + i, u - i as f64, v - j as f64)
    }

    fn bilinear(&self, values: &[f64], x: f64, y: f64) -> f64 {
        let (at, u, v) = self.place(x, y);
        let n = self.count.0;
        let low = values[at] + u * (values[at + 1] - values[at]);
        let high = values[at + n] + u * (values[at + n + 1] - values[at + n]);
        low + v * (high - low)
    }

    /// Height at a point of the plan \[m\], bilinear between the nodes and continued beyond them.
    #[must_use]
    pub fn height_at(&self, x: f64, y: f64) -> f64 {
        self.bilinear(&self.height, x, y)
    }

    /// Distance of a point of the plan to the nearest free edge \[m\], read bilinearly between the nodes;
    /// negative off the panel.
    #[must_use]
    pub fn edge_distance_at(&self, x: f64, y: f64) -> f64 {
        self.bilinear(&self.edge, x, y)
    }

    /// The point of the surface over a point of the plan \[m\].
    #[must_use]
    pub fn point_at(&self, x: f64, y: f64) -> [f64; 3] {
        [x, y, self.height_at(x, y)]
    }

    /// Frame at a point of the plan: the normal of the quadratic fitted to the nodes within `radius`
    /// \[m\], as in [`HeightMap::slope_at`], so that facets and scanner noise do not tip it.
    #[must_use]
    pub fn frame_at(&self, x: f64, y: f64, radius: f64) -> Frame {
        Frame::from_slopes(self.point_at(x, y), self.slope_at(x, y, radius))
    }

    /// Reads `values` (one a node, row by row) at a point of the plan \[m\], bilinear; in the unit of the
    /// values.
    #[must_use]
    pub fn read(&self, values: &[f64], x: f64, y: f64) -> f64 {
        self.bilinear(values, x, y)
    }

    /// Slopes dz/dx and dz/dy \[1\] at a point of the plan, from the quadratic fitted to the nodes within
    /// `radius` \[m\] of it along x and y (at least a 3 x 3 block, at most 129 x 129).
    ///
    /// Near a free edge only nodes on the panel count, where at least a quarter of the window is on it
    /// and they fix a quadratic or else a plane; otherwise the nodes of the continuation count too.
    ///
    /// # Accuracy
    /// Exact for a quadratic surface, up to rounding.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::HeightMap;
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // z = −x²/4 falls by x/2 a metre: 0.03 at x = 60 mm.
    /// let crown = HeightMap::from_function((-0.1, -0.1), (0.1, 0.1), 5e-3, |x, _| -0.25 * x * x)?;
    /// let (along, across) = crown.slope_at(0.06, 0.0, 0.02);
    /// assert!((along + 0.03).abs() < 1e-12 && across.abs() < 1e-12);
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn slope_at(&self, x: f64, y: f64, radius: f64) -> (f64, f64) {
        let window = self.window(x, y, radius);
        match window.even_slope(self) {
            Some(s) => s,
            None => window.fitted_slope(self),
        }
    }

    /// Window of nodes about the node nearest to a point.
    pub(super) fn window(&self, x: f64, y: f64, radius: f64) -> Window {
        let (at, u, v) = self.place(x, y);
        let n = self.count.0;
        let (i, j) = (at % n + usize::from(u > 0.5), at / n + usize::from(v > 0.5));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // small and positive
        let half = ((radius / self.step).round().max(1.0) as usize).min(64);
        let node = self.node(i, j);
        // Beyond the grid the surface goes on straight, with the slope of its border.
        let offset = |a: f64| (a / self.step).clamp(-0.5, 0.5);
        Window { i, j, half, at: (offset(x - node.0), offset(y - node.1)) }
    }
}
