//! Outlines from nodes: the border of those that lie on the panel (marching squares), and which nodes
//! a set of loops holds.

use super::raster::Grid;

/// Marks a missing neighbour in the table of segments.
const NONE: u32 = u32::MAX;

/// Border loops of the nodes that are on, in plan, m.
///
/// The border crosses a grid line between a node that is on and one that is off at `beyond` of the way
/// from the first to the second: 0 through the outermost nodes, 0.5 half a step outside them. Two nodes
/// that touch over a corner only are kept apart. Loops without area (a lone node at `beyond` = 0) are
/// left out. Nodes on the grid's own rim must be off.
#[allow(clippy::cast_possible_truncation)] // nodes are bounded by MAX_NODES, far below 2^31
pub(crate) fn around(grid: &Grid, on: &[bool], beyond: f64) -> Vec<Vec<(f64, f64)>> {
    let (nx, ny) = grid.count;
    // Grid lines by number: 2·node for the one to the right, 2·node + 1 for the one upward.
    let mut next = vec![NONE; 2 * on.len()];
    for j in 0..ny.saturating_sub(1) {
        for i in 0..nx.saturating_sub(1) {
            let n = j * nx + i;
            let corners = [on[n], on[n + 1], on[n + nx + 1], on[n + nx]];
            // Sides of the cell: below, right, above, left.
            let side = [2 * n, 2 * (n + 1) + 1, 2 * (n + nx), 2 * n + 1].map(|s| s as u32);
            for k in 0..4 {
                // Walking with the panel on the left: a segment leaves the cell over the side after the
                // last node on and starts over the side before the first one.
                if corners[k] && !corners[(k + 3) % 4] {
                    let mut last = k;
                    while corners[(last + 1) % 4] {
                        last = (last + 1) % 4;
                    }
                    let (from, to) = (side[last], side[(k + 3) % 4]);
                    next[from as usize] = to;
                }
            }
        }
    }
    let place = |line: u32| {
        let node = line as usize / 2;
        let (i, j) = ((node % nx) as f64, (node / nx) as f64);
        let t = if on[node] { beyond } else { 1.0 - beyond };
        let (i, j) = if line.is_multiple_of(2) { (i + t, j) } else { (i, j + t) };
        (grid.origin.0 + i * grid.step, grid.origin.1 + j * grid.step)
    };
    let mut out = Vec::new();
    for first in 0..next.len() as u32 {
        let mut line = first;
        let mut points: Vec<(f64, f64)> = Vec::new();
        while next[line as usize] != NONE {
            points.push(place(line));
            line = core::mem::replace(&mut next[line as usize], NONE);
        }
        let points = straightened(&points, 1e-6 * grid.step);
        if points.len() >= 3 && signed_area(&points).abs() > 1e-6 * grid.step * grid.step {
            out.push(points);
        }
    }
    out
}

/// Area of a loop, positive where it runs anticlockwise.
pub(crate) fn signed_area(points: &[(f64, f64)]) -> f64 {
    let origin = points.first().copied().unwrap_or_default();
    let mut sum = 0.0;
    for (i, p) in points.iter().enumerate() {
        let q = points[(i + 1) % points.len()];
        sum += (p.0 - origin.0) * (q.1 - origin.1) - (q.0 - origin.0) * (p.1 - origin.1);
    }
    0.5 * sum
}

/// Length of a loop.
pub(crate) fn length(points: &[(f64, f64)]) -> f64 {
    (0..points.len()).map(|i| far(points[i], points[(i + 1) % points.len()])).sum()
}

fn far(p: (f64, f64), q: (f64, f64)) -> f64 {
    (p.0 - q.0).hypot(p.1 - q.1)
}

/// A loop without the corners that lie within `tolerance` of the line between their neighbours that
/// stay: no corner left out is further from the new loop than that. The first corner stays.
pub(crate) fn straightened(points: &[(f64, f64)], tolerance: f64) -> Vec<(f64, f64)> {
    // A run of left-out corners this long is ended, to bound the work.
    const RUN: usize = 256;
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut anchor = 0;
    for i in 0..points.len() {
        if i == 0 {
            out.push(points[0]);
            continue;
        }
        let to = points[(i + 1) % points.len()];
        let from = points[anchor];
        let skips = (anchor + 1..=i).all(|k| off_segment(points[k], from, to) <= tolerance);
        if !skips || i - anchor >= RUN {
            out.push(points[i]);
            anchor = i;
        }
    }
    out
}

/// Distance of a point to a segment.
fn off_segment(p: (f64, f64), a: (f64, f64), b: (f64, f64)) -> f64 {
    let (ux, uy) = (b.0 - a.0, b.1 - a.1);
    let square = ux * ux + uy * uy;
    let t = if square > 0.0 { (((p.0 - a.0) * ux + (p.1 - a.1) * uy) / square).clamp(0.0, 1.0) } else { 0.0 };
    far(p, (a.0 + t * ux, a.1 + t * uy))
}

/// Which nodes lie inside the loops (even-odd rule): each row is cut once, so that the work is the
/// corners and the nodes, not their product.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
pub(crate) fn inside(grid: &Grid, loops: &[Vec<(f64, f64)>]) -> Vec<bool> {
    let (nx, ny) = grid.count;
    let mut cuts: Vec<Vec<f64>> = vec![Vec::new(); ny];
    for l in loops {
        for (k, a) in l.iter().enumerate() {
            let b = l[(k + 1) % l.len()];
            let (low, high) = if a.1 < b.1 { (*a, b) } else { (b, *a) };
            let row = |y: f64| ((y - grid.origin.1) / grid.step).ceil().clamp(0.0, ny as f64) as usize;
            for (j, cut) in cuts.iter_mut().enumerate().take(row(high.1)).skip(row(low.1)) {
                let y = grid.origin.1 + j as f64 * grid.step;
                cut.push(low.0 + (y - low.1) / (high.1 - low.1) * (high.0 - low.0));
            }
        }
    }
    let mut out = vec![false; grid.nodes()];
    for (j, cut) in cuts.iter_mut().enumerate() {
        cut.sort_by(f64::total_cmp);
        for pair in cut.chunks_exact(2) {
            let at = |x: f64| ((x - grid.origin.0) / grid.step).ceil().clamp(0.0, nx as f64) as usize;
            out[j * nx + at(pair[0])..j * nx + at(pair[1])].fill(true);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::Outline;

    const GRID: Grid = Grid { origin: (0.0, 0.0), step: 1.0, count: (8, 7) };

    fn block(x: core::ops::Range<usize>, y: core::ops::Range<usize>) -> Vec<bool> {
        (0..GRID.nodes()).map(|n| x.contains(&(n % 8)) && y.contains(&(n / 8))).collect()
    }

    #[test]
    fn a_block_is_a_rectangle_through_its_outermost_nodes() {
        let l = around(&GRID, &block(2..6, 1..5), 0.0);
        assert_eq!(l.len(), 1);
        assert!((signed_area(&l[0]) - 9.0).abs() < 1e-12); // 3 x 3 steps; anticlockwise; exact halves
        assert_eq!(l[0].len(), 4, "{:?}", l[0]);
        // Half a step out with cut corners: 4 x 4 less four corners of an eighth.
        let l = around(&GRID, &block(2..6, 1..5), 0.5);
        assert!((signed_area(&l[0]) - 15.5).abs() < 1e-12); // exact in halves
    }

    #[test]
    fn holes_run_the_other_way_and_lone_nodes_have_no_area() {
        let mut on = block(1..7, 1..6);
        on[3 * 8 + 3] = false;
        let l = around(&GRID, &on, 0.5);
        assert_eq!(l.len(), 2);
        assert!(l.iter().any(|l| (signed_area(l) + 0.5).abs() < 1e-12)); // a diamond of half a cell
        let lone = block(3..4, 3..4);
        assert!(around(&GRID, &lone, 0.0).is_empty());
        // Two nodes over a corner stay apart.
        let mut two = lone;
        two[4 * 8 + 4] = true;
        assert_eq!(around(&GRID, &two, 0.5).len(), 2);
    }

    #[test]
    fn rows_agree_with_the_test_of_each_node() {
        let loops = vec![
            vec![(0.3, 0.2), (6.6, 0.9), (5.1, 5.7), (2.2, 3.3), (0.9, 5.9)],
            vec![(2.4, 1.3), (4.4, 1.6), (3.6, 2.9)],
        ];
        let slow = Outline::new(loops.clone()).unwrap();
        let fast = inside(&GRID, &loops);
        for (n, is) in fast.iter().enumerate() {
            assert_eq!(*is, slow.contains((n % 8) as f64, (n / 8) as f64), "node {n}");
        }
        assert!(fast.iter().any(|b| *b) && fast.iter().any(|b| !*b));
    }

    #[test]
    fn straight_runs_go_and_an_arc_stays_within_the_tolerance() {
        let n = 2000;
        let arc: Vec<(f64, f64)> =
            (0..n).map(|i| f64::from(i) / f64::from(n) * core::f64::consts::TAU).map(|a| (a.cos(), a.sin())).collect();
        let short = straightened(&arc, 1e-4);
        assert!(short.len() > 100 && short.len() < 400, "{}", short.len());
        for p in &arc {
            let off = (0..short.len()).map(|i| off_segment(*p, short[i], short[(i + 1) % short.len()]));
            assert!(off.fold(f64::INFINITY, f64::min) <= 1e-4 + 1e-15); // the tolerance itself, and a rounding
        }
    }
}
