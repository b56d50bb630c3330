//! The gap between a surface and the tangent plane of a frame on it.

use super::{Frame, HeightMap};

/// Gap below the tangent plane at (x, y) \[m\] of a frame \[m\], and the place in plan where the normal
/// through that point meets the surface \[m\].
///
/// ```text
/// foot + x t_x + y t_y − g n = a point of the surface      g gap [m], t_x, t_y, n axes of the frame [1]
/// ```
///
/// # Accuracy
/// Three Newton steps along the normal: to 1 µm where the surface turns by less than 20° within (x, y).
/// The surface is read bilinearly between its nodes.
///
/// # Example
/// ```
/// use trochoid::panel::{HeightMap, gap_below};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // Radius 2 m: 100 mm from the crest the surface lies 0.1²/(2 × 2) m = 2.5 mm below the tangent plane.
/// let crown = |x: f64, y: f64| -0.25 * (x * x + y * y);
/// let map = HeightMap::from_function((-0.15, -0.15), (0.15, 0.15), 5e-3, crown)?;
/// let (gap, place) = gap_below(&map, &map.frame_at(0.0, 0.0, 0.02), 0.1, 0.0);
/// assert!((gap - 2.5e-3).abs() < 1e-9 && (place.0 - 0.1).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn gap_below(heights: &HeightMap, frame: &Frame, x: f64, y: f64) -> (f64, (f64, f64)) {
    let n = &frame.normal;
    let mut q = [0, 1, 2].map(|i| frame.foot[i] + x * frame.x[i] + y * frame.y[i]);
    let mut gap = 0.0;
    for _ in 0..3 {
        let step = (q[2] - heights.height_at(q[0], q[1])) * n[2];
        gap += step;
        q = [q[0] - step * n[0], q[1] - step * n[1], q[2] - step * n[2]];
    }
    (gap, (q[0], q[1]))
}
