//! Geometry of real panels against surfaces whose slopes, curvatures, edges and areas are known, and
//! against slow obvious methods.

use core::f64::consts::TAU;
use std::time::Instant;
use trochoid::panel::{CreaseSettings, HeightMap, Outline, Surface, curvature_at, curvature_map, find_creases};

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
    // 6 s: twenty times what it takes alone on one core, for busy machines; a loop over all segments at
    // 3 ns each takes 15 s on an idle one.
    assert!(time < 6.0, "{time} s");
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

/// Bilinear surface through nodes 2 mm apart, cut along the diagonal: what a fine mesh gives.
fn faceted(f: impl Fn(f64, f64) -> f64 + Sync + Send) -> impl Fn(f64, f64) -> f64 + Sync + Send {
    move |x, y| {
        let (u, v) = (x / 2e-3, y / 2e-3);
        let (i, j) = (u.floor(), v.floor());
        let (s, t) = (u - i, v - j);
        let at = |a: f64, b: f64| f(2e-3 * (i + a), 2e-3 * (j + b));
        if s >= t {
            at(0.0, 0.0) + s * (at(1.0, 0.0) - at(0.0, 0.0)) + t * (at(1.0, 1.0) - at(1.0, 0.0))
        } else {
            at(0.0, 0.0) + t * (at(0.0, 1.0) - at(0.0, 0.0)) + s * (at(1.0, 1.0) - at(0.0, 1.0))
        }
    }
}

/// A number in 0..1 from a seed and an index (the mixing function of SplitMix64).
fn drawn(seed: u64, index: u64) -> f64 {
    let mut z = seed.wrapping_mul(0xA24B_AED4_963E_E407).wrapping_add(index.wrapping_mul(0x9E37_79B9_7F4A_7C15));
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
}

/// Normal noise at a node, from its place and a seed (Box and Muller).
fn noise(seed: u64, x: f64, y: f64) -> f64 {
    // Nodes stand 0.1 mm or more apart: x and y differ in the bits of at least one of them.
    let bits = |a: f64| (a * 1e4).round().to_bits() >> 11;
    let node = bits(x).wrapping_mul(1_000_003).wrapping_add(bits(y)).wrapping_mul(2);
    let (a, b) = (drawn(seed, node), drawn(seed, node.wrapping_add(1)));
    (-2.0 * (1.0 - a).ln()).sqrt() * (TAU * b).cos()
}

type Surfaced = (&'static str, Box<dyn Fn(f64, f64) -> f64 + Sync + Send>, [f64; 2], Option<f64>);

/// Surfaces with their curvatures at the origin and the axis of the first in degrees.
fn known() -> Vec<Surfaced> {
    let (s, c) = 30_f64.to_radians().sin_cos();
    vec![
        ("sphere", Box::new(|x: f64, y: f64| (0.16 - x * x - y * y).sqrt() - 0.4), [2.5, 2.5], None),
        ("bowl", Box::new(|x: f64, y: f64| 0.4 - (0.16 - x * x - y * y).sqrt()), [-2.5, -2.5], None),
        (
            "cylinder",
            Box::new(move |x: f64, y: f64| (0.09 - (c * x + s * y).powi(2)).sqrt() - 0.3),
            [1.0 / 0.3, 0.0],
            Some(30.0),
        ),
        (
            "torus",
            Box::new(|x: f64, y: f64| ((0.6 + (0.04 - y * y).sqrt()).powi(2) - x * x).sqrt() - 0.8),
            [5.0, 1.25],
            Some(90.0),
        ),
        (
            "inner torus",
            Box::new(|x: f64, y: f64| 0.5 - ((0.7 - (0.04 - y * y).sqrt()).powi(2) - x * x).sqrt()),
            [5.0, -2.0],
            Some(90.0),
        ),
        ("saddle", Box::new(|x: f64, y: f64| 0.5 * (1.5 * x * x - 3.0 * y * y)), [3.0, -1.5], Some(90.0)),
    ]
}

fn line_apart(a: f64, b: f64) -> f64 {
    let d = (a - b).rem_euclid(180.0);
    d.min(180.0 - d)
}

#[test]
fn known_surfaces_give_their_curvatures() {
    for (name, f, k, axis) in known() {
        let f = &f;
        let exact = heights(0.08, 1e-3, f);
        let facets = heights(0.08, 1e-3, faceted(f));
        for (kind, map) in [("exact", &exact), ("facets", &facets)] {
            for radius in [0.012, 0.025, 0.05] {
                let got = curvature_at(map, 0.0, 0.0, radius).unwrap();
                let off = (got.first - k[0]).abs().max((got.second - k[1]).abs());
                println!(
                    "{name} {kind} {radius}: {:.4} {:.4} off {off:.5} said {:.5}",
                    got.first, got.second, got.error_per_m
                );
                // 2 %: r²/4R² of the smallest radius of curvature, 1.6 % for 50 mm on 200 mm.
                assert!(off <= 0.02 * k[0].abs(), "{name} {kind} {radius}: {got:?}");
                // 2 standard errors, and 1e-7 of rounding on heights of 1e-16 over 1e-3 squared.
                assert!(off <= 2.0 * got.error_per_m + 1e-7, "{name} {kind} {radius}: {off} {got:?}");
                assert!(got.error_per_m < 0.1 * k[0].abs(), "an error that says something: {got:?}");
                if let Some(a) = axis {
                    // 1°: facets are cut along one diagonal, which turns the axis a little.
                    assert!(line_apart(got.axis.deg(), a) < 1.0, "{name} {kind} {radius}: {got:?}");
                }
            }
        }
    }
}

#[test]
fn steep_slopes_are_right() {
    // A sphere of 200 mm looked at from the side: slopes of 45, 60 and 75 degrees, in any direction.
    let map = heights(0.2, 1e-3, |x, y| (0.04_f64 - x * x - y * y).max(4e-4).sqrt());
    for slope in [45_f64, 60.0, 75.0] {
        for turn in [0.0_f64, 25.0, 200.0] {
            let r = 0.2 * slope.to_radians().sin();
            let (x, y) = (r * turn.to_radians().cos(), r * turn.to_radians().sin());
            let got = curvature_at(&map, x, y, 0.02).unwrap();
            let off = (got.first - 5.0).abs().max((got.second - 5.0).abs());
            println!("{slope} {turn}: {got:?}");
            // 2 %: r²/4R² is 0.25 %; at 75° steps of 1 mm in plan are 4 mm on the surface, one-sided
            // where the sphere ends.
            assert!(off < 0.1, "{slope} {turn}: {got:?}");
            assert!(off <= 2.0 * got.error_per_m + 1e-7, "{slope} {turn}: {off} {got:?}");
            let n = got.frame.normal;
            // 0.2°: normal of the fit.
            assert!((n[2].acos().to_degrees() - slope).abs() < 0.2, "{slope}: {n:?}");
        }
    }
}

#[test]
fn the_stated_error_is_honest_under_noise() {
    for um in [5.0, 20.0] {
        for (name, f, k, _) in known() {
            for radius in [0.012, 0.03] {
                let (mut covered, mut places, mut said, mut square) = (0, 0, 0.0, 0.0);
                for seed in 0..60 {
                    // Only the neighbourhood is needed.
                    let map = heights(0.034, 1e-3, |x, y| f(x, y) + um * 1e-6 * noise(seed, x, y));
                    let got = curvature_at(&map, 0.0, 0.0, radius).unwrap();
                    let (high, low) = (got.first.max(got.second), got.first.min(got.second));
                    for (g, e) in [(high, k[0].max(k[1])), (low, k[0].min(k[1]))] {
                        places += 1;
                        covered += usize::from((g - e).abs() <= 2.0 * got.error_per_m);
                        square += (g - e).powi(2);
                    }
                    said += got.error_per_m;
                }
                let share = f64::from(u32::try_from(covered).unwrap()) / f64::from(places);
                let rms = (square / f64::from(places)).sqrt();
                println!("{name} {um} um {radius}: covered {share:.3}, said {:.4}, rms {rms:.4}", said / 60.0);
                // 0.90: of 120 draws at 0.95, three standard deviations less is 0.89.
                assert!(share >= 0.90, "{name} {um} {radius}: {share}");
                // Not bought by saying too much: at most twice what it is, or what an arc would be off.
                let arc = 0.25 * k[0].abs().powi(3) * radius * radius;
                assert!(said / 60.0 < 2.0 * rms.hypot(arc), "{name} {um} {radius}: {} {rms}", said / 60.0);
            }
        }
    }
}

#[test]
fn an_edge_makes_the_error_larger_and_keeps_it_honest() {
    for um in [0.0, 5.0] {
        let (mut covered, mut places) = (0, 0);
        for seed in 0..40 {
            // Off the panel the numbers are nonsense: they must not count.
            let cut = |x: f64, y: f64, z: f64| if x > 0.0301 || y > 0.0301 { -0.05 } else { z };
            let map = heights(0.03, 1e-3, |x, y| {
                cut(x, y, (0.09 - x * x - y * y).sqrt() - 0.3 + um * 1e-6 * noise(seed, x, y))
            });
            let inner = curvature_at(&map, 0.0, 0.0, 0.015).unwrap();
            for (x, y) in [(0.03, 0.0), (0.0297, 0.0296), (0.004, 0.03)] {
                let got = curvature_at(&map, x, y, 0.015).unwrap();
                assert!(got.points < inner.points, "one-sided");
                assert!(got.error_per_m > inner.error_per_m, "{x} {y}: {got:?}");
                places += 2;
                for k in [got.first, got.second] {
                    covered += usize::from((k - 1.0 / 0.3).abs() <= 2.0 * got.error_per_m);
                }
            }
        }
        let share = f64::from(u32::try_from(covered).unwrap()) / f64::from(places);
        println!("edge {um} um: covered {share}");
        // 0.90: of 240 draws at 0.95, three standard deviations less is 0.91.
        assert!(share >= 0.90, "{um} um: {share}");
    }
}

#[test]
fn curvatures_over_the_panel_and_as_a_patch() {
    let map = heights(0.1, 2e-3, |x, y| (0.09 - x * x - y * y).sqrt() - 0.3);
    let grid = curvature_map(&map, 0.02, 0.012).unwrap();
    assert_eq!(grid.count, (11, 11));
    for (at, c) in grid.points.iter().enumerate() {
        let c = c.unwrap();
        let (x, y) = grid.place(at % 11, at / 11);
        // 2 %: r²/4R² is 0.04 %; corners of the panel are one-sided.
        assert!((c.mean() - 1.0 / 0.3).abs() < 0.02 / 0.3, "{x} {y}: {c:?}");
        let alone = curvature_at(&map, x, y, 0.012).unwrap();
        assert!((alone.first - c.first).abs() <= 0.0, "the map holds what the point gives");
    }
    let hollow = heights(0.05, 1e-3, |x, y| (0.6 * x + 0.8 * y).powi(2));
    let patch = curvature_at(&hollow, 0.0, 0.0, 0.03).unwrap().patch().unwrap();
    // 1e-6: an exact quadratic.
    assert!((patch.principal().0 + 2.0).abs() < 1e-6 && patch.principal().1.abs() < 1e-6, "{patch:?}");
    assert!(line_apart(patch.axis().deg(), 0.8_f64.atan2(0.6).to_degrees()) < 1e-4, "{patch:?}");
    assert!(curvature_at(&hollow, 0.2, 0.2, 0.03).is_err(), "no node of the panel is near");
    assert!(curvature_at(&hollow, 0.0, 0.0, 1e-3).is_err(), "too few nodes");
    assert!(curvature_at(&hollow, f64::NAN, 0.0, 0.03).is_err());
    assert!(curvature_map(&hollow, 1e-5, 0.03).is_err());
}

#[test]
fn any_number_of_threads_gives_the_same_panel() {
    let run = |threads| {
        trochoid::math::reduce::with_threads(threads, || {
            let map = heights(0.06, 1e-3, |x, y| bump(x, y) - 0.4 * (x + 0.3 * y).abs() + 5e-6 * noise(3, x, y));
            let curved = curvature_map(&map, 0.01, 0.012).unwrap();
            let creases = find_creases(&map, &CreaseSettings::default()).unwrap();
            assert!(!creases.is_empty() && curved.points.iter().flatten().count() > 100);
            (map.area().to_bits(), map, curved, creases)
        })
    };
    let one = run(1);
    for threads in [2, 5] {
        assert!(run(threads) == one, "{threads} threads");
    }
}
