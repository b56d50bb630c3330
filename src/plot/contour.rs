//! Lines of equal value by marching squares.
//!
//! Works on grid points; a square with a missing corner has no line. Saddles are
//! decided by the mean of the corners. Coordinates are grid indices.

use std::collections::HashMap;

/// A point between grid points: column, row.
pub(crate) type GridPoint = (f64, f64);

/// The lines where the field equals `level`; closed lines repeat their first
/// point. Cost: one pass over the grid. Deterministic: the map below is only
/// looked up, never walked.
pub(crate) fn isolines(columns: usize, rows: usize, values: &[f64], level: f64) -> Vec<Vec<GridPoint>> {
    let mut segments: Vec<[usize; 2]> = Vec::new();
    for row in 0..rows.saturating_sub(1) {
        for column in 0..columns.saturating_sub(1) {
            square(columns, values, level, column, row, &mut segments);
        }
    }
    chain(&segments)
        .into_iter()
        .map(|line| line.into_iter().map(|edge| crossing(columns, values, level, edge)).collect())
        .collect()
}

/// Edge numbers: twice the grid point for the edge to the next column, plus one
/// for the edge to the next row.
fn square(columns: usize, values: &[f64], level: f64, column: usize, row: usize, segments: &mut Vec<[usize; 2]>) {
    let at = row * columns + column;
    let corner = [values[at], values[at + 1], values[at + columns + 1], values[at + columns]];
    if corner.iter().any(|v| !v.is_finite()) {
        return;
    }
    let edge = [2 * at, 2 * (at + 1) + 1, 2 * (at + columns), 2 * at + 1];
    let mut code = 0;
    for (bit, v) in corner.iter().enumerate() {
        if *v >= level {
            code |= 1 << bit;
        }
    }
    let mut join = |a: usize, b: usize| segments.push([edge[a], edge[b]]);
    match code {
        1 | 14 => join(3, 0),
        2 | 13 => join(0, 1),
        4 | 11 => join(1, 2),
        8 | 7 => join(2, 3),
        3 | 12 => join(3, 1),
        6 | 9 => join(0, 2),
        5 | 10 => {
            let middle_high = corner.iter().map(|v| v / 4.0).sum::<f64>() >= level;
            if (code == 5) == middle_high {
                join(0, 1);
                join(2, 3);
            } else {
                join(3, 0);
                join(1, 2);
            }
        }
        _ => {}
    }
}

fn crossing(columns: usize, values: &[f64], level: f64, edge: usize) -> GridPoint {
    let at = edge / 2;
    let down = edge % 2 == 1;
    let other = if down { at + columns } else { at + 1 };
    let (a, b) = (values[at], values[other]);
    // One end is below the level, the other not, so the difference is not zero.
    let t = ((level - a) / (b - a)).clamp(0.0, 1.0);
    let (x, y) = ((at % columns) as f64, (at / columns) as f64);
    if down { (x, y + t) } else { (x + t, y) }
}

/// Joins segments that share an edge into lines.
fn chain(segments: &[[usize; 2]]) -> Vec<Vec<usize>> {
    const NONE: usize = usize::MAX;
    let mut at_edge: HashMap<usize, [usize; 2]> = HashMap::with_capacity(segments.len());
    for (number, segment) in segments.iter().enumerate() {
        for edge in segment {
            let slot = at_edge.entry(*edge).or_insert([NONE, NONE]);
            if slot[0] == NONE {
                slot[0] = number;
            } else {
                slot[1] = number;
            }
        }
    }
    let is_end = |edge: usize| at_edge.get(&edge).is_none_or(|s| s[1] == NONE);
    let mut used = vec![false; segments.len()];
    let mut lines = Vec::new();
    // Open lines first, from their ends; what is left are loops.
    for loops in [false, true] {
        for (number, segment) in segments.iter().enumerate() {
            if used[number] {
                continue;
            }
            let start = if loops || is_end(segment[0]) {
                segment[0]
            } else if is_end(segment[1]) {
                segment[1]
            } else {
                continue;
            };
            let mut line = vec![start];
            let (mut here, mut current) = (start, number);
            loop {
                used[current] = true;
                let [a, b] = segments[current];
                here = if a == here { b } else { a };
                line.push(here);
                let next = at_edge.get(&here).and_then(|s| s.iter().copied().find(|n| *n != NONE && !used[*n]));
                match next {
                    Some(n) => current = n,
                    None => break,
                }
            }
            lines.push(line);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cone(n: usize) -> Vec<f64> {
        let mid = (n - 1) as f64 / 2.0;
        (0..n * n).map(|k| ((k % n) as f64 - mid).hypot((k / n) as f64 - mid)).collect()
    }

    #[test]
    fn a_cone_gives_one_closed_circle_of_the_right_radius() {
        let n = 101;
        for radius in [7.3, 20.0, 41.7] {
            let lines = isolines(n, n, &cone(n), radius);
            assert_eq!(lines.len(), 1, "radius {radius}");
            let line = &lines[0];
            assert_eq!(line.first(), line.last(), "the circle is not closed");
            for p in line {
                let r = (p.0 - 50.0).hypot(p.1 - 50.0);
                // A chord of length 1 on a cone errs by at most 1/(8 r) = 0.017 at
                // r = 7.3; 0.02 rounds that up.
                assert!((r - radius).abs() < 0.02, "{r} for {radius}");
            }
            let length: f64 = line.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum();
            // 0.3 %: the polygon is inside the circle by the same order.
            let wanted = std::f64::consts::TAU * radius;
            assert!((length / wanted - 1.0).abs() < 3e-3, "{length} {wanted}");
        }
    }

    #[test]
    fn a_missing_corner_cuts_the_line() {
        let n = 41;
        let mut values = cone(n);
        values[20 * n + 30] = f64::NAN; // on the ring of radius 10
        let lines = isolines(n, n, &values, 10.0);
        assert_eq!(lines.len(), 1);
        assert_ne!(lines[0].first(), lines[0].last());
    }

    #[test]
    fn a_saddle_has_two_lines_that_do_not_cross() {
        let lines = isolines(2, 2, &[1.0, 0.0, 0.0, 1.0], 0.6);
        assert_eq!(lines.len(), 2);
    }

    #[test]
    fn a_flat_or_tiny_grid_has_no_line() {
        assert!(isolines(3, 3, &[1.0; 9], 1.0).is_empty());
        assert!(isolines(1, 1, &[1.0], 0.5).is_empty());
        assert!(isolines(0, 0, &[], 0.5).is_empty());
    }
}
