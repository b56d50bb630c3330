//! Rings along the borders: the edge ring and the contour-parallel spiral.
//!
//! A ring is a level line of the clearance. Rings stand evenly between the inset and the roomiest place,
//! and their distance is measured through space from each ring to the next one out, since a difference
//! of clearances is shorter than the way over a curved surface.

use super::contour::Field;
use super::ground::Ground;
use super::{MAX_WAYPOINTS, PathError};

/// Rings with their level, 0 the outermost, and their largest distance, m.
pub(super) type Rings = (Vec<(usize, Vec<(f64, f64)>)>, f64);

/// The ring that keeps exactly the inset.
pub(super) fn edge(field: &Field) -> Vec<(usize, Vec<(f64, f64)>)> {
    field.loops(0.0).into_iter().map(|l| (0, l)).collect()
}

/// Most times that the rings are laid anew because two of them stand too far apart.
const CORRECTIONS: usize = 8;

/// Rings over the whole region, at most `spacing` \[m\] apart; `field` holds the margin left at a place.
pub(super) fn spiral(
    ground: &Ground<'_>,
    field: &Field,
    spacing: f64,
    waypoint_distance: f64,
) -> Result<Rings, PathError> {
    let depth = field.largest();
    let stack = |gaps: f64| {
        let gap = depth / gaps;
        let mut rings: Vec<(usize, Vec<(f64, f64)>)> = Vec::new();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // bounded by the depth in grid steps
        for level in 0..gaps as usize {
            rings.extend(field.loops(level as f64 * gap).into_iter().map(|l| (level, l)));
        }
        rings
    };
    let mut gaps = (depth / spacing - 1e-9).ceil().max(1.0);
    // As many waypoints as the region's area asks for, known to a fifth; the exact count is kept while tracing.
    if field.area_above(0.0) / (spacing * waypoint_distance) > 1.2 * MAX_WAYPOINTS as f64 {
        return Err(PathError::TooManyWaypoints { allowed: MAX_WAYPOINTS });
    }
    let mut rings = stack(gaps);
    let mut gap = widest(ground, &rings);
    // A ring lies on the interpolated clearance, whose kinks are rounded within a grid cell: a stretch
    // below 0.2 % is that rounding. Other rings fall on other kinks, so that one correction may not do.
    for _ in 0..CORRECTIONS {
        if gap <= spacing * 1.002 {
            break;
        }
        gaps = (gaps * gap / spacing - 1e-9).ceil().max(gaps + 1.0);
        rings = stack(gaps);
        gap = widest(ground, &rings);
    }
    Ok((rings, gap.max(depth / gaps)))
}

/// Largest distance through space from a ring to the next one out, m; nought for a single level.
fn widest(ground: &Ground<'_>, rings: &[(usize, Vec<(f64, f64)>)]) -> f64 {
    let mut out = 0.0_f64;
    for (level, ring) in rings.iter().filter(|r| r.0 > 0) {
        let outer: Vec<([f64; 3], [f64; 3])> = rings
            .iter()
            .filter(|r| r.0 + 1 == *level)
            .flat_map(|r| (0..r.1.len()).map(|i| (ground.point(r.1[i]), ground.point(r.1[(i + 1) % r.1.len()]))))
            .collect();
        // A few hundred places tell the stretch of a smooth surface.
        for p in ring.iter().step_by((ring.len() / 200).max(1)) {
            let p = ground.point(*p);
            out = out.max(outer.iter().map(|s| to_piece(p, s.0, s.1)).fold(f64::INFINITY, f64::min));
        }
    }
    if out.is_finite() { out } else { 0.0 }
}

/// Distance of a point from a straight piece.
pub(super) fn to_piece(p: [f64; 3], a: [f64; 3], b: [f64; 3]) -> f64 {
    let dot = |x: [f64; 3], y: [f64; 3]| x[0] * y[0] + x[1] * y[1] + x[2] * y[2];
    let from = |x: [f64; 3], y: [f64; 3]| [x[0] - y[0], x[1] - y[1], x[2] - y[2]];
    let (way, to) = (from(b, a), from(p, a));
    let square = dot(way, way);
    let t = if square > 0.0 { (dot(to, way) / square).clamp(0.0, 1.0) } else { 0.0 };
    let off = [to[0] - t * way[0], to[1] - t * way[1], to[2] - t * way[2]];
    dot(off, off).sqrt()
}
