//! Heights beyond the panel: a straight continuation a few nodes deep, then the nearest height.
//!
//! Only there so that interpolation near an edge is right and no cliff stands beside it; where the
//! panel ends is said by its outline.

/// Nodes that are continued straight.
const STRAIGHT: usize = 4;

/// Steps to the neighbours of a node.
const AROUND: [(isize, isize); 8] = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1), (1, -1), (-1, 1)];

/// Fills the heights that are not finite from those that are, ring by ring.
///
/// In the first rings a node takes the mean of the straight lines through pairs of known nodes that
/// point at it (along rows, columns and diagonals); further out, and where no pair does, the mean of its
/// known neighbours. Each ring is computed from the rings before it, so the order does not matter. All
/// 0 where nothing is known.
pub(crate) fn extend(count: (usize, usize), height: &mut [f64]) {
    let (nx, ny) = count;
    let step = |n: usize, d: (isize, isize), times: isize| {
        let i = (n % nx).checked_add_signed(d.0 * times).filter(|i| *i < nx)?;
        let j = (n / nx).checked_add_signed(d.1 * times).filter(|j| *j < ny)?;
        Some(j * nx + i)
    };
    let mut waiting = vec![false; height.len()];
    let beside = |n: usize| AROUND.into_iter().filter_map(move |d| step(n, d, 1));
    let mut ring: Vec<usize> = Vec::new();
    for n in 0..height.len() {
        if !height[n].is_finite() && beside(n).any(|m| height[m].is_finite()) {
            ring.push(n);
            waiting[n] = true;
        }
    }
    if ring.is_empty() && height.first().is_some_and(|z| !z.is_finite()) {
        height.fill(0.0);
    }
    let mut depth = 0;
    while !ring.is_empty() {
        depth += 1;
        let filled: Vec<f64> = ring
            .iter()
            .map(|n| {
                let (mut lines, mut line_count, mut near, mut near_count) = (0.0, 0.0, 0.0, 0.0);
                for d in AROUND {
                    let Some(z) = step(*n, d, 1).map(|m| height[m]).filter(|z| z.is_finite()) else { continue };
                    near += z;
                    near_count += 1.0;
                    if let Some(w) = step(*n, d, 2).map(|m| height[m]).filter(|w| w.is_finite()) {
                        lines += 2.0 * z - w;
                        line_count += 1.0;
                    }
                }
                if depth <= STRAIGHT && line_count > 0.0 { lines / line_count } else { near / near_count }
            })
            .collect();
        for (n, z) in ring.iter().zip(filled) {
            height[*n] = z;
        }
        let mut outer = Vec::new();
        for n in ring {
            for m in beside(n) {
                if !height[m].is_finite() && !waiting[m] {
                    waiting[m] = true;
                    outer.push(m);
                }
            }
        }
        ring = outer;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plane_is_continued_straight_then_levels_off() {
        let plane = |i: usize, j: usize| 0.5 * i as f64 - 0.25 * j as f64;
        let count = (30, 30);
        let mut h: Vec<f64> = (0..900)
            .map(|n| (n % 30, n / 30))
            .map(|(i, j)| if (10..20).contains(&i) && (10..20).contains(&j) { plane(i, j) } else { f64::NEG_INFINITY })
            .collect();
        extend(count, &mut h);
        assert!(h.iter().all(|z| z.is_finite()));
        for (n, z) in h.iter().enumerate() {
            let (i, j) = (n % 30, n / 30);
            let out = |k: usize| if k < 10 { 10 - k } else { k.saturating_sub(19) };
            if out(i).max(out(j)) <= 4 {
                assert!((z - plane(i, j)).abs() < 1e-12, "({i}, {j})"); // exact but for rounding
            }
        }
        let last = h[15 * 30 + 29];
        assert!(last < plane(29, 15) && last > plane(20, 15), "{last}");
    }

    #[test]
    fn nothing_known_gives_zeros_and_a_lone_node_spreads() {
        let mut none = vec![f64::NEG_INFINITY; 9];
        extend((3, 3), &mut none);
        assert!(none.iter().all(|z| z.abs() < 1e-300)); // set to zero
        let mut lone = vec![f64::NAN; 25];
        lone[12] = 2.0;
        extend((5, 5), &mut lone);
        assert!(lone.iter().all(|z| (z - 2.0).abs() < 1e-15)); // means of equal numbers
    }
}
