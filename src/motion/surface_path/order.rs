//! The order of work: cell after cell, ring after ring, each begun where the pad is nearest.

use super::PathError;
use super::ground::{SAMPLE, distance};
use super::lines::{Stretch, refined};
use super::trace::Trace;

/// Works cells, the nearest next; inside a cell the lines to and fro. `figure` makes the way of the pad
/// from the way along a line.
pub(super) fn work_cells(
    trace: &mut Trace<'_>,
    mut cells: Vec<Vec<Stretch>>,
    figure: impl Fn(Vec<(f64, f64)>) -> Vec<(f64, f64)>,
) -> Result<(), PathError> {
    while !cells.is_empty() {
        let at = trace.at();
        // Cell, whether from its last line, and the distance of the nearest of its four corners.
        let mut best = (0, false, f64::INFINITY);
        for (i, cell) in cells.iter().enumerate() {
            for (from_last, s) in [(false, cell.first()), (true, cell.last())] {
                let ends = s.map_or([None, None], |s| [s.points.first(), s.points.last()]);
                for p in ends.into_iter().flatten() {
                    let d = distance(at, *p);
                    // A nanometre is no reason to change the order.
                    if d < best.2 - 1e-9 {
                        best = (i, from_last, d);
                    }
                }
            }
        }
        let mut cell = cells.remove(best.0);
        if best.1 {
            cell.reverse();
        }
        for s in cell {
            let mut points = s.points;
            if let (Some(a), Some(b)) = (points.first(), points.last())
                && distance(trace.at(), *b) < distance(trace.at(), *a) - 1e-9
            {
                points.reverse();
            }
            let points = figure(points);
            if let Some(first) = points.first() {
                trace.go_to(*first)?;
                trace.line(&points)?;
            }
        }
    }
    Ok(())
}

/// Works closed rings, each with its level (0 the outermost): the nearest of the next level that can be
/// reached with the pad on, else the nearest of the lowest level left.
pub(super) fn work_rings(trace: &mut Trace<'_>, mut rings: Vec<(usize, Vec<(f64, f64)>)>) -> Result<(), PathError> {
    // Level of the ring the pad comes from; none at the start, which is outermost.
    let mut level: Option<usize> = None;
    while !rings.is_empty() {
        let at = trace.at();
        let nearest = |level: usize| {
            let mut best: Option<(usize, usize, f64)> = None;
            for (i, (_, ring)) in rings.iter().enumerate().filter(|(_, r)| r.0 == level) {
                for (k, p) in ring.iter().enumerate() {
                    let d = distance(at, *p);
                    if best.is_none_or(|b| d < b.2) {
                        best = Some((i, k, d));
                    }
                }
            }
            best
        };
        let lowest = rings.iter().map(|r| r.0).min().unwrap_or(0);
        let near = level.and_then(|l| nearest(l + 1)).filter(|b| {
            let to = rings[b.0].1[b.1];
            b.2 <= trace.reach && trace.ground.leg(at, to, 0.5 * trace.reach).is_some()
        });
        let Some((i, k, _)) = near.or_else(|| nearest(lowest)) else { return Ok(()) };
        let (at_level, mut ring) = rings.remove(i);
        level = Some(at_level);
        ring.rotate_left(k);
        let first = ring[0];
        ring.push(first);
        let ring: Vec<(f64, f64)> =
            refined(&ring, SAMPLE).into_iter().filter_map(|p| trace.ground.pushed(p, 5.0 * SAMPLE)).collect();
        if let Some(first) = ring.first() {
            trace.go_to(*first)?;
            trace.line(&ring)?;
        }
    }
    Ok(())
}
