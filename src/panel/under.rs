//! The paraboloid that a pad feels at a place: a least-squares fit over its face, in the frame it is
//! held in.

use super::{Frame, HeightMap, Patch};
use crate::units::{Angle, Curvature};
use core::f64::consts::PI;
use nalgebra::{Matrix3, Vector3};

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

/// Fits g = ½ xᵀK x to the panel within `radius` \[m\] of the frame's foot, over what of it is on the
/// panel; axes are the frame's. `None` where too little of it is.
///
/// # Accuracy
/// 8 rings of 16 points; exact on a paraboloid, and the mean over the face elsewhere.
#[must_use]
pub fn patch_under(heights: &HeightMap, frame: &Frame, radius: f64) -> Option<Patch> {
    let (mut sum, mut matrix, mut used) = (Vector3::zeros(), Matrix3::zeros(), 0);
    for ring in 1..=8 {
        let rho = radius * f64::from(ring) / 8.0;
        for j in 0..16 {
            let (s, c) = (2.0 * PI * f64::from(j) / 16.0).sin_cos();
            let (x, y) = (rho * c, rho * s);
            let (gap, q) = gap_below(heights, frame, x, y);
            if heights.edge_distance_at(q.0, q.1) < 0.0 {
                continue;
            }
            let row = Vector3::new(0.5 * x * x, x * y, 0.5 * y * y);
            // Area of the ring.
            let weight = rho;
            sum += weight * gap * row;
            matrix += weight * row * row.transpose();
            used += 1;
        }
    }
    if used < 24 {
        return None;
    }
    let k = matrix.lu().solve(&sum)?;
    let (mean, half, off) = (0.5 * (k[0] + k[2]), 0.5 * (k[0] - k[2]), k[1]);
    let swing = half.hypot(off);
    let axis = if swing > 0.0 { 0.5 * off.atan2(half) } else { 0.0 };
    Patch::quadric(Curvature::from_per_m(mean + swing), Curvature::from_per_m(mean - swing), Angle::from_rad(axis)).ok()
}
