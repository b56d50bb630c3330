//! The gap between a surface and the tangent plane of a frame on it.

use super::{Frame, HeightMap};

/// Gap below the tangent plane at (x, y) of a frame, m, and the place in plan where the normal through
/// that point meets the surface. Three Newton steps along the normal: to 1 µm where the surface turns
/// by less than 20° within (x, y).
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
