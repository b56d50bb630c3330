//! Geometry of real panels against surfaces whose slopes, curvatures, edges and areas are known, and
//! against slow obvious methods.

use core::f64::consts::TAU;
use std::time::Instant;
use trochoid::panel::{HeightMap, Outline, Surface};

/// A star-like loop with `corners` corners about a point.
fn star(centre: (f64, f64), radius: f64, corners: usize) -> Vec<(f64, f64)> {
    (0..corners)
        .map(|i| {
            let t = TAU * i as f64 / corners as f64;
            let r = radius * (1.0 + 0.2 * (5.0 * t).sin() + 0.03 * (41.0 * t).cos());
            (centre.0 + r * t.cos(), centre.1 + r * t.sin())
        })
        .collect()
}

/// Heights over a square of side 2 x `half` about the origin.
fn heights(half: f64, step: f64, f: impl Fn(f64, f64) -> f64 + Sync + Send) -> HeightMap {
    HeightMap::from_function((-half, -half), (half, half), step, f).unwrap()
}

fn bump(x: f64, y: f64) -> f64 {
    0.02 * (9.0 * x + 4.0 * y).sin() - 0.3 * x * x
}

#[test]
fn edge_distances_are_those_of_a_loop_over_all_segments() {
    let loops = vec![star((0.0, 0.0), 0.25, 700), star((0.05, -0.02), 0.06, 90), star((-0.1, 0.1), 0.02, 3)];
    let outline = Outline::new(loops).unwrap();
    let (n, step) = (131, 0.005);
    let height = (0..n * n).map(|k| bump(-0.325 + step * (k % n) as f64, -0.325 + step * (k / n) as f64)).collect();
    let map = HeightMap::new((-0.325, -0.325), step, (n, n), height, outline.clone()).unwrap();
    let mut inside = 0;
    for j in 0..n {
        for i in 0..n {
            let (x, y) = map.node(i, j);
            let (p, plan) = outline.nearest(x, y);
            let d = plan.hypot(map.heights()[j * n + i] - map.height_at(p.0, p.1));
            let expected = if outline.contains(x, y) { d } else { -d };
            inside += usize::from(expected > 0.0);
            // 0: both compare the same numbers, so they give the same bits.
            assert!((map.edge_distances()[j * n + i] - expected).abs() <= 0.0, "node {i}, {j}");
        }
    }
    assert!(inside > 3000 && inside < n * n - 3000, "both sides are sampled: {inside}");
}

#[test]
fn tape_and_region_narrow_what_is_worked() {
    let map = heights(0.2, 0.005, bump);
    let tape = Outline::new(vec![star((0.05, 0.05), 0.05, 60)]).unwrap();
    let region = Outline::rectangle((-0.15, -0.1), (0.16, 0.19)).unwrap();
    let surface = Surface::new(map.clone()).with_tape(vec![tape.clone()]).unwrap().with_region(region.clone()).unwrap();
    let (nx, ny) = map.count();
    for j in 0..ny {
        for i in 0..nx {
            let (x, y) = map.node(i, j);
            let space = |o: &Outline| {
                let (p, plan) = o.nearest(x, y);
                let d = plan.hypot(map.heights()[j * nx + i] - map.height_at(p.0, p.1));
                if o.contains(x, y) { d } else { -d }
            };
            let expected = map.edge_distances()[j * nx + i].min(-space(&tape)).min(space(&region));
            // 0: the same numbers are compared.
            assert!((surface.clearances()[j * nx + i] - expected).abs() <= 0.0, "node {i}, {j}");
            assert_eq!(surface.taped_at(x, y), tape.contains(x, y));
        }
    }
    let all = Outline::rectangle((-0.3, -0.3), (0.3, 0.3)).unwrap();
    assert!(Surface::new(map).with_tape(vec![all]).is_err(), "tape over all leaves nothing to work");
}

#[test]
fn a_million_nodes_and_five_thousand_corners_are_quick() {
    let outline = Outline::new(vec![star((0.0, 0.0), 0.4, 5000)]).unwrap();
    let n = 1000;
    let start = Instant::now();
    let map = HeightMap::new((-0.5, -0.5), 1e-3, (n, n), vec![0.0; n * n], outline).unwrap();
    let time = start.elapsed().as_secs_f64();
    println!("edge distances: {time:.3} s");
    assert!(map.edge_distances().iter().any(|d| *d > 0.2));
    // 3 s: ten times what it takes alone on one core, for busy machines; a loop over all takes minutes.
    assert!(time < 3.0, "{time} s");
    let start = Instant::now();
    let mut sum = 0.0;
    for k in 0..200_000 {
        let t = f64::from(k);
        sum += map.slope_at(0.3 * t.sin(), 0.3 * (1.7 * t).cos(), 4e-3).0;
    }
    let each = start.elapsed().as_secs_f64() / 2e5;
    println!("slope: {:.3} us", each * 1e6);
    assert!(sum.abs() < 1e-9, "a flat has no slope");
}

#[test]
fn slope_is_that_of_the_point_also_at_an_edge() {
    let f = |x: f64, y: f64| 0.1 + 0.3 * x - 0.2 * y - 1.5 * x * x + 0.7 * x * y + 0.4 * y * y;
    let map = heights(0.1, 0.001, f);
    for (x, y) in [(0.01234, -0.0377), (0.0999, 0.02), (-0.1, -0.1), (0.0996, 0.0993), (0.05, 0.1019)] {
        for radius in [1e-3, 4e-3, 12e-3] {
            let s = map.slope_at(x, y, radius);
            // 1e-9: a quadratic is fitted exactly, up to the rounding of heights of 0.1 m over 1 mm.
            assert!((s.0 - (0.3 - 3.0 * x + 0.7 * y)).abs() < 1e-9, "{x} {y} {radius}: {s:?}");
            assert!((s.1 - (-0.2 + 0.7 * x + 0.8 * y)).abs() < 1e-9, "{x} {y} {radius}: {s:?}");
        }
    }
}

#[test]
fn what_lies_beyond_an_edge_does_not_tip_the_slope() {
    // A panel that ends in a cliff in the numbers: a continuation that is wrong on purpose.
    let outline = Outline::rectangle((-0.1, -0.1), (0.1, 0.1)).unwrap();
    let n = 221;
    let height = (0..n * n)
        .map(|k| {
            let (x, y) = (-0.11 + 1e-3 * (k % n) as f64, -0.11 + 1e-3 * (k / n) as f64);
            if x.abs() > 0.1005 || y.abs() > 0.1005 { -0.05 } else { 0.2 * x - x * x }
        })
        .collect();
    let map = HeightMap::new((-0.11, -0.11), 1e-3, (n, n), height, outline).unwrap();
    for (x, y) in [(0.0995, 0.0), (0.0995, 0.0995), (-0.0998, 0.05)] {
        let s = map.slope_at(x, y, 4e-3);
        // 1e-9: as above; the cliff would give a slope of several.
        assert!((s.0 - (0.2 - 2.0 * x)).abs() < 1e-9 && s.1.abs() < 1e-9, "{x} {y}: {s:?}");
    }
}
