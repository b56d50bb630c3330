//! Analytic panels: heights against finite differences and closed forms, outlines, ranges.

use trochoid::panel::{AnalyticShape, BodyLine, CrownedDoor, TorusSide, WheelArch, curvature_at};
use trochoid::units::{Angle, Curvature, Length};

fn mm(l: f64) -> Length {
    Length::from_mm(l)
}

fn deg(a: f64) -> Angle {
    Angle::from_deg(a)
}

fn per_m(k: f64) -> Curvature {
    Curvature::from_per_m(k)
}

fn ridge(angle: f64, radius: f64, direction: f64) -> BodyLine {
    BodyLine {
        angle: deg(angle),
        radius: mm(radius),
        offset: mm(30.0),
        direction: deg(direction),
        crown_along: per_m(0.3),
        crown_across: per_m(0.4),
    }
}

fn door() -> CrownedDoor {
    CrownedDoor { along: per_m(0.15), across: per_m(0.4), edge: per_m(3.0), length: mm(90.0), below: mm(250.0) }
}

fn arch() -> WheelArch {
    WheelArch {
        wheel_radius: mm(330.0),
        centre: (mm(0.0), mm(-290.0)),
        hollow: per_m(6.0),
        hollow_width: mm(70.0),
        lip: per_m(60.0),
        lip_width: mm(14.0),
    }
}

fn shapes() -> Vec<AnalyticShape> {
    vec![
        AnalyticShape::flat(),
        AnalyticShape::sphere(per_m(1.2)).unwrap(),
        AnalyticShape::sphere(per_m(-2.0)).unwrap(),
        AnalyticShape::cylinder(per_m(1.6), deg(30.0)).unwrap(),
        AnalyticShape::paraboloid(per_m(2.0), per_m(-1.0), deg(20.0)).unwrap(),
        AnalyticShape::torus(mm(400.0), mm(900.0), TorusSide::Outer).unwrap(),
        AnalyticShape::torus(mm(400.0), mm(900.0), TorusSide::Inner).unwrap(),
        AnalyticShape::crowned_door(&door()).unwrap(),
        AnalyticShape::body_line(&ridge(35.0, 40.0, 15.0)).unwrap(),
        AnalyticShape::body_line(&ridge(-20.0, 25.0, 90.0)).unwrap(),
        AnalyticShape::wheel_arch(&arch()).unwrap(),
        AnalyticShape::sine(mm(3.0), mm(120.0), deg(40.0)).unwrap(),
    ]
}

/// Principal curvatures, the larger in size first, from heights alone by mean and Gaussian curvature:
/// other formulas than the library's.
fn from_differences(f: impl Fn(f64, f64) -> f64, x: f64, y: f64, h: f64) -> (f64, f64) {
    let z = |i: f64, j: f64| f(x + i * h, y + j * h);
    let zx = (z(1.0, 0.0) - z(-1.0, 0.0)) / (2.0 * h);
    let zy = (z(0.0, 1.0) - z(0.0, -1.0)) / (2.0 * h);
    let zxx = (z(1.0, 0.0) - 2.0 * z(0.0, 0.0) + z(-1.0, 0.0)) / (h * h);
    let zyy = (z(0.0, 1.0) - 2.0 * z(0.0, 0.0) + z(0.0, -1.0)) / (h * h);
    let zxy = (z(1.0, 1.0) - z(1.0, -1.0) - z(-1.0, 1.0) + z(-1.0, -1.0)) / (4.0 * h * h);
    let n = 1.0 + zx * zx + zy * zy;
    let mean = -((1.0 + zy * zy) * zxx - 2.0 * zx * zy * zxy + (1.0 + zx * zx) * zyy) / (2.0 * n * n.sqrt());
    let gauss = (zxx * zyy - zxy * zxy) / (n * n);
    let split = (mean * mean - gauss).max(0.0).sqrt();
    if (mean - split).abs() > (mean + split).abs() {
        (mean - split, mean + split)
    } else {
        (mean + split, mean - split)
    }
}

#[test]
fn exact_derivatives_are_those_of_the_heights() {
    let mut tried = 0;
    for shape in shapes() {
        for k in 0..200 {
            let t = f64::from(k);
            let (x, y) = (0.24 * (1.3 * t).sin(), 0.24 * (2.1 * t + 0.4).cos());
            let h = 2e-5;
            let fine = from_differences(|x, y| shape.height(x, y), x, y, h);
            // Where twice the step gives another curvature, the curvature jumps: the end of an arc.
            let coarse = from_differences(|x, y| shape.height(x, y), x, y, 2.0 * h);
            if (fine.0 - coarse.0).abs() > 0.01 * (1.0 + fine.0.abs()) {
                continue;
            }
            tried += 1;
            let got = shape.curvatures(x, y);
            let size = 1.0 + fine.0.abs();
            // 2e-3: h²/12 of the fourth derivative, largest on the lip, 60 (2π/14 mm)²; the split of
            // two equal curvatures takes the root of rounding, 1e-7.
            assert!((got.0 - fine.0).abs() < 2e-3 * size, "{} {x} {y}: {got:?} {fine:?}", shape.name());
            assert!((got.1 - fine.1).abs() < 2e-3 * size, "{} {x} {y}: {got:?} {fine:?}", shape.name());
            let s = shape.slope(x, y);
            let sx = (shape.height(x + h, y) - shape.height(x - h, y)) / (2.0 * h);
            let sy = (shape.height(x, y + h) - shape.height(x, y - h)) / (2.0 * h);
            // 1e-4: h²/6 of the third derivative of the lip.
            assert!((s.0 - sx).abs() < 1e-4 && (s.1 - sy).abs() < 1e-4, "{} {x} {y}", shape.name());
        }
    }
    assert!(tried > 2300, "few places are left out: {tried} of 2400");
}

#[test]
fn closed_forms_of_sphere_cylinder_and_torus() {
    for (x, y) in [(0.0, 0.0), (0.1, -0.2), (-0.23, 0.05)] {
        let near = |got: (f64, f64), a: f64, b: f64| {
            // 1e-9: rounding of the derivatives.
            assert!((got.0 - a).abs() < 1e-9 && (got.1 - b).abs() < 1e-9, "{x} {y}: {got:?} {a} {b}");
        };
        near(AnalyticShape::sphere(per_m(-2.0)).unwrap().curvatures(x, y), -2.0, -2.0);
        near(AnalyticShape::cylinder(per_m(1.6), deg(30.0)).unwrap().curvatures(x, y), 1.6, 0.0);
        // Across the tube 1/tube everywhere; along the ring cos(v)/(distance from the axis).
        let c = (1.0_f64 - (y / 0.4).powi(2)).sqrt();
        let outer = AnalyticShape::torus(mm(400.0), mm(900.0), TorusSide::Outer).unwrap();
        near(outer.curvatures(x, y), 2.5, c / (0.9 + 0.4 * c));
        let inner = AnalyticShape::torus(mm(400.0), mm(900.0), TorusSide::Inner).unwrap();
        near(inner.curvatures(x, y), 2.5, -c / (0.9 - 0.4 * c));
    }
    let crest = AnalyticShape::sine(mm(3.0), mm(120.0), deg(0.0)).unwrap();
    // A (2π/λ)² = 0.003 x 2741.56 = 8.22467 per metre at the crest; 1e-4: digits printed here.
    assert!((crest.curvatures(0.0, 0.1).0 - 8.22467).abs() < 1e-4);
    assert!((crest.curvatures(0.06, 0.1).0 + 8.22467).abs() < 1e-4, "the trough is hollow");
}

#[test]
fn a_body_line_turns_by_its_angle_over_its_arc() {
    for (angle, radius) in [(35.0, 40.0), (-20.0, 25.0), (90.0, 5.0)] {
        let line = BodyLine { crown_along: per_m(0.0), crown_across: per_m(0.0), ..ridge(angle, radius, 0.0) };
        let shape = AnalyticShape::body_line(&line).unwrap();
        let slope = |y: f64| shape.slope(0.05, y).1.atan().to_degrees();
        // 1e-9: rounding. The line lies 30 mm above the middle.
        assert!((slope(-0.05) - slope(0.11) - angle).abs() < 1e-9);
        assert!((slope(0.03)).abs() < 1e-9, "level on the line");
        let k = shape.curvatures(0.05, 0.03);
        assert!((k.0 - 1e3 / radius * f64::signum(angle)).abs() < 1e-9 && k.1.abs() < 1e-9, "{k:?}");
    }
}

#[test]
fn a_door_tightens_toward_its_lower_edge() {
    let shape = AnalyticShape::crowned_door(&door()).unwrap();
    let mut last = 0.0;
    for mm in (-250..250).rev().step_by(25) {
        let k = shape.curvatures(0.1, f64::from(mm) * 1e-3);
        assert!(k.0 > last, "grows downward: {mm}");
        assert!(k.1 > 0.1 && k.1 < 0.16, "gentle along the door: {k:?}");
        last = k.0;
    }
    let slope = shape.slope(0.0, -0.25).1;
    let k = shape.curvatures(0.0, -0.25).0 * (1.0 + slope * slope).powf(1.5);
    // 1e-9: the profile's curvature at the edge is the one given.
    assert!((k - 3.0).abs() < 1e-9, "{k}");
    assert!(shape.slope(0.0, 0.0).1.abs() < 1e-12, "level in the middle");
}

#[test]
fn an_arch_goes_from_door_to_hollow_to_lip_and_ends_at_the_opening() {
    let shape = AnalyticShape::wheel_arch(&arch()).unwrap();
    let up = |d: f64| shape.curvatures(0.0, -0.29 + 0.33 + d);
    // 1e-12: beyond the hollow the door is flat.
    assert!(up(0.085).0.abs() < 1e-12);
    let hollow = up(0.014 + 0.035);
    assert!(hollow.0 < -5.0, "concave: {hollow:?}");
    let lip = up(0.007);
    assert!(lip.0 > 50.0, "convex: {lip:?}");
    let size = (mm(900.0), mm(500.0));
    let map = shape.height_map(size, mm(2.0)).unwrap();
    let outline = map.outline();
    assert!(outline.contains(0.0, 0.045) && !outline.contains(0.0, 0.035) && !outline.contains(0.0, -0.2));
    assert!(outline.contains(0.4, -0.2) && outline.contains(-0.4, -0.2));
    // Circle of 330 mm cut 40 mm above its centre: r² acos(0.04/r) − 0.04 √(r² − 0.04²).
    let r = 0.33_f64;
    let cut = r * r * (0.04 / r).acos() - 0.04 * (r * r - 0.04 * 0.04).sqrt();
    // 1e-6 m²: sagitta of the chords times the arc, 4e-7 m x 1 m.
    assert!((outline.plan_area() - (0.45 - cut)).abs() < 1e-6, "{}", outline.plan_area());
    assert!(outline.segments().count() > 900);
    let within = AnalyticShape::wheel_arch(&WheelArch { centre: (mm(0.0), mm(0.0)), ..arch() }).unwrap();
    let hole = within.outline((mm(900.0), mm(900.0))).unwrap();
    assert!((hole.plan_area() - (0.81 - core::f64::consts::PI * r * r)).abs() < 1e-6);
    assert!(within.outline((mm(600.0), mm(900.0))).is_err(), "the opening cuts the sides");
    let below = AnalyticShape::wheel_arch(&WheelArch { centre: (mm(0.0), mm(-900.0)), ..arch() }).unwrap();
    assert!(below.outline(size).is_err(), "the opening is off the panel");
}

#[test]
fn fits_find_the_curvatures_of_panels_that_vary() {
    for (shape, places) in [
        (AnalyticShape::crowned_door(&door()).unwrap(), vec![(0.0, 0.1), (0.15, -0.1), (-0.1, -0.2)]),
        (AnalyticShape::wheel_arch(&arch()).unwrap(), vec![(0.0, 0.095), (0.2, 0.1), (-0.1, 0.077)]),
    ] {
        let map = shape.height_map((mm(800.0), mm(500.0)), mm(1.0)).unwrap();
        for (x, y) in places {
            let got = curvature_at(&map, x, y, 0.008).unwrap();
            let k = shape.curvatures(x, y);
            let off = (got.first - k.0).abs().max((got.second - k.1).abs());
            println!("{} {x} {y}: {k:?} {:.4} {:.4} said {:.4}", shape.name(), got.first, got.second, got.error_per_m);
            // 3 %: the hollow's bell, of fourth order (2π/70 mm)²/12 x r² = 4 % at its peak in the profile.
            assert!(off < 0.03 * k.0.abs() + 0.05, "{} {x} {y}: {k:?} {got:?}", shape.name());
            assert!(off <= 2.0 * got.error_per_m + 1e-6, "{} {x} {y}: {off} {got:?}", shape.name());
        }
    }
}

#[test]
fn ranges_name_the_key() {
    let named = |e: Result<AnalyticShape, trochoid::RangeError>, key: &str| assert_eq!(e.unwrap_err().what, key);
    named(AnalyticShape::sphere(per_m(f64::NAN)), "curvature_per_m");
    named(AnalyticShape::torus(mm(1.0), mm(900.0), TorusSide::Outer), "tube_radius_mm");
    named(AnalyticShape::torus(mm(400.0), mm(400.0), TorusSide::Inner), "ring_radius_mm");
    named(AnalyticShape::body_line(&ridge(1.0, 5.0, 0.0)), "line_angle_deg");
    named(AnalyticShape::body_line(&ridge(-150.0, 5.0, 0.0)), "line_angle_deg");
    named(AnalyticShape::body_line(&ridge(30.0, 0.1, 0.0)), "line_radius_mm");
    named(AnalyticShape::crowned_door(&CrownedDoor { edge: per_m(90.0), ..door() }), "edge_crown_per_m");
    named(AnalyticShape::wheel_arch(&WheelArch { hollow: per_m(0.0), ..arch() }), "flare_hollow_per_m");
    named(AnalyticShape::wheel_arch(&WheelArch { wheel_radius: mm(2.0), ..arch() }), "wheel_radius_mm");
    named(AnalyticShape::sine(mm(0.0), mm(100.0), deg(0.0)), "amplitude_mm");
    named(AnalyticShape::sine(mm(1.0), mm(1.0), deg(0.0)), "wavelength_mm");
    let cap = AnalyticShape::sphere(per_m(2.0)).unwrap();
    assert!(cap.height_map((mm(600.0), mm(600.0)), mm(5.0)).is_ok());
    let steep = cap.height_map((mm(950.0), mm(600.0)), mm(5.0)).unwrap_err();
    assert_eq!(steep.what, "slope of the panel");
    assert!(cap.height_map((mm(1.0), mm(600.0)), mm(5.0)).is_err());
}
