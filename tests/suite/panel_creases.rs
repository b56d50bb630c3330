//! Creases of known lines, the film over them, areas and ways on the surface.

use core::f64::consts::PI;
use std::time::Instant;
use trochoid::panel::{
    AnalyticShape, BodyLine, CreaseSettings, FilmLaw, HeightMap, Outline, Surface, WheelArch, crease_distances,
    find_creases,
};
use trochoid::units::{Angle, Curvature, Length};

fn mm(l: f64) -> Length {
    Length::from_mm(l)
}

fn line(angle: f64, radius: f64, direction: f64, crown: f64) -> AnalyticShape {
    AnalyticShape::body_line(&BodyLine {
        angle: Angle::from_deg(angle),
        radius: mm(radius),
        offset: mm(12.3),
        direction: Angle::from_deg(direction),
        crown_along: Curvature::from_per_m(crown),
        crown_across: Curvature::from_per_m(crown),
    })
    .unwrap()
}

/// Distance of a point from the line of [`line`].
fn off(x: f64, y: f64, direction: f64) -> f64 {
    let (s, c) = direction.to_radians().sin_cos();
    (-s * x + c * y - 0.0123).abs()
}

#[test]
fn body_lines_come_back_with_place_angle_and_radius() {
    for (angle, radius, direction, crown) in [
        (30.0, 5.0, 0.0, 0.0),
        (30.0, 5.0, 17.0, 0.4),
        (-25.0, 8.0, 45.0, 0.3),
        (60.0, 3.0, 90.0, 0.5),
        (90.0, 12.0, 30.0, 0.0),
        (40.0, 18.0, 0.0, 0.3),
        (12.0, 2.0, 63.0, 0.2),
    ] {
        let shape = line(angle, radius, direction, crown);
        let map = shape.height_map((mm(200.0), mm(200.0)), mm(1.0)).unwrap();
        let creases = find_creases(&map, &CreaseSettings::default()).unwrap();
        assert_eq!(creases.len(), 1, "{angle} {radius} {direction}: one line");
        let c = &creases[0];
        println!(
            "{angle} {radius} {direction}: {:.2}° {:.2} mm (+{:.2}) long {:.1} mm, {} points",
            c.turn().deg(),
            c.radius() * 1e3,
            c.points[0].radius_error_m * 1e3,
            c.length() * 1e3,
            c.points.len()
        );
        assert_eq!(c.convex, angle > 0.0);
        // 3 % and 0.3°: the crown of the faces within the walked section adds to the turn.
        assert!((c.turn().deg() - f64::abs(angle)).abs() < 0.03 * f64::abs(angle) + 0.3, "{}", c.turn().deg());
        for p in &c.points {
            // Half a step, as the middle of the turn is found between the nodes; a whole one where the
            // panel's edge cuts the section.
            let most = if map.edge_distance_at(p.x, p.y) > 0.01 { 0.5e-3 } else { 1e-3 };
            assert!(off(p.x, p.y, direction) < most, "{p:?}");
            let r = radius * 1e-3;
            // 10 %, and what the spread of the window hides.
            assert!((p.radius_m - r).abs() < 0.1 * r + p.radius_error_m + 0.3e-3, "{angle} {radius}: {p:?}");
        }
        // The line runs from edge to edge, within the two nodes and the window where none is looked for.
        let (s, k) = direction.to_radians().sin_cos();
        let whole = 0.2 / f64::max(s.abs(), k.abs());
        assert!(c.length() > whole - 0.03 && c.length() < whole * 1.05, "{} {whole}", c.length());
        let d = crease_distances(&map, &creases, None);
        let (nx, ny) = map.count();
        for at in (0..nx * ny).step_by(37) {
            let (x, y) = map.node(at % nx, at / nx);
            if x.hypot(y) < 0.06 {
                let plan = off(x, y, direction);
                // 1 mm in plan; through space it is longer by up to 1/cos of the slope.
                assert!(d[at] > plan - 1e-3 && d[at] < (plan + 1e-3) * 1.6, "{x} {y}: {} {plan}", d[at]);
            }
        }
        let other = crease_distances(&map, &creases, Some(angle < 0.0));
        assert!(other.iter().all(|d| d.is_infinite()), "none of the other kind");
    }
}

#[test]
fn what_is_gentle_or_wide_is_no_crease() {
    let settings = CreaseSettings::default();
    for shape in [
        AnalyticShape::sphere(Curvature::from_per_m(3.0)).unwrap(),
        AnalyticShape::sine(mm(2.0), mm(100.0), Angle::from_deg(20.0)).unwrap(),
        line(6.0, 4.0, 20.0, 0.2),
        line(50.0, 60.0, 20.0, 0.2),
    ] {
        let map = shape.height_map((mm(160.0), mm(160.0)), mm(1.0)).unwrap();
        assert!(find_creases(&map, &settings).unwrap().is_empty(), "{}", shape.name());
    }
    let map = line(6.0, 4.0, 20.0, 0.2).height_map((mm(160.0), mm(160.0)), mm(1.0)).unwrap();
    let finer = CreaseSettings { turn: Angle::from_deg(4.0), ..settings };
    assert_eq!(find_creases(&map, &finer).unwrap().len(), 1, "a smaller turn finds it");
    let wide = line(50.0, 60.0, 20.0, 0.2).height_map((mm(160.0), mm(160.0)), mm(1.0)).unwrap();
    let wider = CreaseSettings { radius: mm(100.0), ..settings };
    assert_eq!(find_creases(&wide, &wider).unwrap().len(), 1, "a larger radius finds it");
    for bad in [
        CreaseSettings { radius: mm(0.0), ..settings },
        CreaseSettings { turn: Angle::from_deg(f64::NAN), ..settings },
        CreaseSettings { smoothing: mm(1e3), ..settings },
    ] {
        assert!(find_creases(&map, &bad).is_err());
    }
}

#[test]
fn noise_neither_makes_nor_hides_a_crease() {
    let shape = line(30.0, 6.0, 17.0, 0.3);
    let flat = AnalyticShape::sphere(Curvature::from_per_m(0.5)).unwrap();
    for (shape, count) in [(shape, 1), (flat, 0)] {
        let map = HeightMap::from_function((-0.1, -0.1), (0.1, 0.1), 1e-3, |x, y| {
            // Three waves of 20 µm that beat across the grid: rough at every wavelength above 3 mm.
            let rough = (2100.0 * x + 300.0 * y).sin() + (1700.0 * y - 900.0 * x).sin() + (777.0 * (x + y)).cos();
            shape.height(x, y) + 10e-6 * rough
        })
        .unwrap();
        let settings = CreaseSettings { smoothing: mm(4.0), ..CreaseSettings::default() };
        let creases = find_creases(&map, &settings).unwrap();
        assert_eq!(creases.len(), count);
        if let Some(c) = creases.first() {
            println!("rough: {:.2}° {:.2} mm", c.turn().deg(), c.radius() * 1e3);
            // 5 %: waves of 30 mrad at the ends of the section.
            assert!((c.turn().deg() - 30.0).abs() < 1.5, "{}", c.turn().deg());
        }
    }
}

#[test]
fn an_arch_has_a_round_crease_and_a_million_nodes_are_quick() {
    let arch = AnalyticShape::wheel_arch(&WheelArch {
        wheel_radius: mm(330.0),
        centre: (mm(0.0), mm(-290.0)),
        hollow: Curvature::from_per_m(6.0),
        hollow_width: mm(60.0),
        lip: Curvature::from_per_m(120.0),
        lip_width: mm(16.0),
    })
    .unwrap();
    let map = arch.height_map((mm(900.0), mm(500.0)), mm(1.0)).unwrap();
    let start = Instant::now();
    let creases = find_creases(&map, &CreaseSettings::default()).unwrap();
    println!("creases: {:.2} s for {} nodes", start.elapsed().as_secs_f64(), map.heights().len());
    let convex: Vec<_> = creases.iter().filter(|c| c.convex).collect();
    assert_eq!(convex.len(), 1, "the lip");
    for p in &convex[0].points {
        // 1 mm: the bell's middle is 8 mm outside the opening; next to it the window is cut.
        assert!((p.x.hypot(p.y + 0.29) - 0.338).abs() < 1e-3, "{p:?}");
    }
    // From lower edge to lower edge, 40 mm above the wheel's centre.
    let whole = 2.0 * 0.338 * (0.04_f64 / 0.338).acos();
    // 5 %: a few nodes at each end, where the panel's edge is near.
    assert!((convex[0].length() / whole - 1.0).abs() < 0.05, "{} of {whole}", convex[0].length());
}

#[test]
fn film_thins_to_its_shares_and_no_further() {
    let law = FilmLaw::new(0.4, mm(12.0), 0.2, mm(5.0)).unwrap();
    // 1e-15: rounding; closed form of the law.
    assert!((law.share(0.0, f64::INFINITY) - 0.6).abs() < 1e-15);
    assert!((law.share(f64::INFINITY, 0.0) - 0.8).abs() < 1e-15);
    assert!((law.share(0.0, 0.0) - 0.48).abs() < 1e-15);
    assert!((law.share(-0.1, 1.0) - 0.6).abs() < 1e-15, "off the panel as at its edge");
    assert!((law.share(0.012, f64::INFINITY) - (1.0 - 0.4 / 1f64.exp())).abs() < 1e-15);
    let mut last = (0.0, 0.0);
    for k in 0..100 {
        let d = f64::from(k) * 1e-3;
        let now = (law.share(d, 0.01), law.share(0.01, d));
        assert!(now.0 > last.0 && now.1 > last.1, "thicker away from both: {d}");
        last = now;
    }
    assert!((FilmLaw::even().share(0.0, 0.0) - 1.0).abs() < 1e-15);
    for bad in [
        FilmLaw::new(1.2, mm(12.0), 0.2, mm(5.0)),
        FilmLaw::new(0.4, mm(0.0), 0.2, mm(5.0)),
        FilmLaw::new(0.4, mm(12.0), f64::NAN, mm(5.0)),
        FilmLaw::new(0.4, mm(12.0), 0.2, mm(f64::INFINITY)),
    ] {
        assert!(bad.is_err());
    }
}

#[test]
fn a_ridge_thins_the_film_and_a_groove_does_not() {
    let law = FilmLaw::new(0.4, mm(10.0), 0.3, mm(6.0)).unwrap();
    for angle in [30.0, -30.0] {
        let map = line(angle, 4.0, 0.0, 0.0).height_map((mm(200.0), mm(200.0)), mm(1.0)).unwrap();
        let creases = find_creases(&map, &CreaseSettings::default()).unwrap();
        assert_eq!(creases.len(), 1);
        let film = law.film(&map, &creases, mm(0.05)).unwrap();
        let at = |y: f64| map.read(&film, 0.0, y) * 1e6;
        // 1 %: e^(−0.1/0.01) of the edge and e^(−0.06/0.006) of the line are left in the middle.
        assert!((at(-0.045) - 50.0).abs() < 0.5, "{}", at(-0.045));
        let expected = if angle > 0.0 { 35.0 } else { 50.0 };
        // 1.5 µm: the nearest node is up to half a step, 8 % of the length, from the line.
        assert!((at(0.0123) - expected).abs() < 1.5, "{angle}: {}", at(0.0123));
        assert!((at(-0.1) - 30.0).abs() < 1.0, "at the edge: {}", at(-0.1));
        assert!(law.film(&map, &creases, mm(0.0)).is_err());
    }
}

#[test]
fn areas_and_ways_are_those_of_the_surface() {
    // A hemisphere's cap: plan circle of 150 mm on a sphere of 250 mm, area 2πR(R − √(R² − a²)).
    let circle = (0..2000)
        .map(|k| {
            let t = 2.0 * PI * f64::from(k) / 2000.0;
            (0.15 * t.cos(), 0.15 * t.sin())
        })
        .collect();
    let n = 321;
    let height = (0..n * n)
        .map(|k| {
            let (x, y) = (-0.16 + 1e-3 * f64::from(k % n), -0.16 + 1e-3 * f64::from(k / n));
            (0.0625 - x * x - y * y).max(1e-4).sqrt()
        })
        .collect();
    let n = usize::try_from(n).unwrap();
    let map = HeightMap::new((-0.16, -0.16), 1e-3, (n, n), height, Outline::new(vec![circle]).unwrap()).unwrap();
    let cap = 2.0 * PI * 0.25 * (0.25 - 0.2);
    println!("cap {} of {cap}", map.area());
    // 1e-3: cells along a round edge, and slopes over two steps: (step/R)².
    assert!((map.area() / cap - 1.0).abs() < 1e-3, "{} {cap}", map.area());
    // 1e-4: chords of one step, (step/R)²/24, on bilinear heights.
    let arc = 2.0 * 0.25 * (0.15_f64 / 0.25).asin();
    assert!((map.distance_along((-0.15, 0.0), (0.15, 0.0)) / arc - 1.0).abs() < 1e-4);
    let (s, c) = 0.7_f64.sin_cos();
    assert!((map.distance_along((0.15 * c, 0.15 * s), (-0.15 * c, -0.15 * s)) / arc - 1.0).abs() < 1e-4);
    assert!(map.distance_along((0.01, 0.02), (0.01, 0.02)).abs() <= 0.0);
    // A slope of 3 in 4: area and way are those of the plan times 1.25.
    let ramp = HeightMap::from_function((0.0, 0.0), (0.3, 0.2), 5e-3, |x, _| 0.75 * x).unwrap();
    // A quarter of a cell, 6.25e-6 m² in plan, at each of four corners.
    assert!((ramp.area() - 0.06 * 1.25).abs() < 4.0 * 6.25e-6 * 1.25 + 1e-12, "{}", ramp.area());
    // 1e-12: a plane is exact on the grid.
    assert!((ramp.distance_along((0.02, 0.1), (0.22, 0.1)) - 0.25).abs() < 1e-12);
    assert!(ramp.area_factors().iter().all(|f| (f - 1.25).abs() < 1e-12));
    let tape = Outline::rectangle((0.1, -0.1), (0.2, 0.3)).unwrap();
    let surface = Surface::new(ramp).with_tape(vec![tape]).unwrap();
    // As above, eight corners.
    assert!(
        (surface.workable_area() - 0.04 * 1.25).abs() < 8.0 * 6.25e-6 * 1.25 + 1e-12,
        "{}",
        surface.workable_area()
    );
}
