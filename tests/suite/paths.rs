//! Tool paths over real surfaces: published line offsets, developed panels, coverage of a door, what is
//! kept clear, files, sections.

use crate::random::config;
use proptest::prelude::*;
use std::fmt::Write as _;
use trochoid::Angle;
use trochoid::motion::{
    LastLine, Lead, PathError, PathSetup, Pattern, Steady, SurfacePath, SurfacePathOptions, SurfacePattern, ToolPath,
    cut_sections, line_offsets,
};
use trochoid::panel::{HeightMap, Outline, Surface};

const REACH: f64 = 0.071;
const SPACING: f64 = 0.065;
const FEED: f64 = 0.04;

fn flat(size: (f64, f64)) -> Surface {
    Surface::new(HeightMap::from_function((0.0, 0.0), size, 0.005, |_, _| 0.0).unwrap())
}

fn rectangle(from: (f64, f64), to: (f64, f64)) -> Vec<(f64, f64)> {
    vec![from, (to.0, from.1), to, (from.0, to.1)]
}

/// Tape of [`door`].
fn tape() -> Outline {
    Outline::rectangle((0.0, 0.28), (0.55, 0.30)).unwrap()
}

/// Handle hole of [`door`].
fn hole() -> Outline {
    Outline::rectangle((0.76, 0.50), (0.88, 0.56)).unwrap()
}

/// A door skin 1.0 x 0.7 m, crowned 2 m in radius across, with a handle hole and a taped strip.
fn door() -> Surface {
    let step = 0.005;
    let count = (205_u16, 145_u16);
    let origin = (-0.01, -0.01);
    let mut heights = Vec::new();
    for j in 0..count.1 {
        let y = origin.1 + f64::from(j) * step - 0.35;
        for _ in 0..count.0 {
            heights.push((4.0 - y * y).sqrt() - 2.0);
        }
    }
    let outline = Outline::new(vec![rectangle((0.0, 0.0), (1.0, 0.7)), hole().loops()[0].clone()]).unwrap();
    let map = HeightMap::new(origin, step, (count.0.into(), count.1.into()), heights, outline).unwrap();
    Surface::new(map).with_tape(vec![tape()]).unwrap()
}

/// A cap of a sphere of 0.6 m over a plan square of 0.6 m.
fn cap() -> Surface {
    let z = |x: f64, y: f64| (0.36 - (x * x + y * y)).max(0.01).sqrt() - 0.6;
    Surface::new(HeightMap::from_function((-0.3, -0.3), (0.3, 0.3), 0.004, z).unwrap())
}

fn setup(inset: f64, passes: usize) -> PathSetup {
    PathSetup { spacing: SPACING, feed: FEED, passes, inset }
}

fn raster(deg: f64) -> SurfacePattern {
    SurfacePattern::Raster { angle: Angle::from_deg(deg) }
}

/// Every built-in pattern, with the passes it needs to be itself.
fn patterns() -> Vec<(&'static str, SurfacePattern, usize)> {
    let eight = |radius| SurfacePattern::FigureOfEight { angle: Angle::from_deg(0.0), radius, advance: 0.05 };
    vec![
        ("raster 0", raster(0.0), 1),
        ("raster 90", raster(90.0), 1),
        ("raster 35", raster(35.0), 1),
        ("crosshatch", SurfacePattern::crosshatch(), 2),
        ("edge, raster", SurfacePattern::EdgeFirst { inner: Box::new(raster(0.0)) }, 1),
        ("edge, spiral", SurfacePattern::EdgeFirst { inner: Box::new(SurfacePattern::Spiral) }, 1),
        ("spiral", SurfacePattern::Spiral, 1),
        ("eight", eight(0.025), 1),
    ]
}

/// Times rise, everything is finite, and the pad centre keeps its inset wherever the pad is on.
fn sound(path: &SurfacePath, surface: &Surface, inset: f64) {
    for w in path.waypoints().windows(2) {
        assert!(w[1].time_s > w[0].time_s, "{w:?}");
    }
    for w in path.waypoints() {
        assert!(w.at.0.is_finite() && w.at.1.is_finite() && w.time_s.is_finite() && w.force_share.is_finite());
        if w.force_share > 0.0 {
            // 2 µm: a line along the border of the region lies on it to the last digits, and is let off 1 µm.
            assert!(surface.clearance_at(w.at.0, w.at.1) >= inset - 2e-6, "{w:?}");
        }
    }
}

fn apart(surface: &Surface, a: (f64, f64), b: (f64, f64)) -> f64 {
    let (p, q) = (surface.heights().point_at(a.0, a.1), surface.heights().point_at(b.0, b.1));
    (p[0] - q[0]).hypot(p[1] - q[1]).hypot(p[2] - q[2])
}

#[test]
fn a_width_of_37_worked_10_wide_as_published() {
    // Fields2Cover, pull request 168: the four ways to deal with the last 7.
    let lines = |last| line_offsets(37.0, 10.0, 10.0, last).unwrap();
    assert_eq!(lines(LastLine::Drop), [5.0, 15.0, 25.0]);
    assert_eq!(lines(LastLine::Shift), [5.0, 15.0, 25.0, 32.0]);
    assert_eq!(lines(LastLine::Spill), [5.0, 15.0, 25.0, 35.0]);
    assert_eq!(lines(LastLine::Spread), [5.0, 14.0, 23.0, 32.0]);
    // Ours: on the edges themselves, 4 gaps of 37/4.
    assert_eq!(lines(LastLine::EdgeToEdge), [0.0, 9.25, 18.5, 27.75, 37.0]);
}

#[test]
fn no_width_is_lost_or_left_over_where_spacings_fit() {
    for last in [LastLine::Drop, LastLine::Shift, LastLine::Spill, LastLine::Spread] {
        assert_eq!(line_offsets(30.0, 10.0, 10.0, last).unwrap(), [5.0, 15.0, 25.0], "{last:?}");
        let narrow = line_offsets(4.0, 10.0, 10.0, last).unwrap();
        let expected: &[f64] = match last {
            LastLine::Drop => &[],
            LastLine::Spill => &[5.0],
            _ => &[2.0],
        };
        assert_eq!(narrow, expected, "{last:?}");
    }
    assert!(line_offsets(1.0, 0.1, 0.0, LastLine::Drop).is_err());
    assert!(line_offsets(f64::NAN, 0.1, 0.1, LastLine::Drop).is_err());
    assert!(line_offsets(900.0, 0.0, 1e-4, LastLine::Drop).is_err());
}

#[test]
fn on_a_flat_rectangle_it_is_the_path_over_a_rectangle() {
    let size = (0.6, 0.45);
    for (pattern, plain, passes) in
        [(raster(0.0), Pattern::Raster, 3), (SurfacePattern::crosshatch(), Pattern::Crosshatch, 4)]
    {
        let path =
            SurfacePath::over(&flat(size), &pattern, &setup(0.0, passes), &SurfacePathOptions::default()).unwrap();
        let plain = ToolPath::over_rectangle(size, plain, passes, SPACING, FEED).unwrap();
        assert_eq!((path.lines().len(), path.lifts()), (plain.lines().len(), 0));
        // 20 µm in 20 m: joints at the corners may be pushed by the micrometre that lines are let off.
        assert!((path.length() - plain.length()).abs() < 2e-5, "{} {}", path.length(), plain.length());
        assert!((path.time() - plain.time()).abs() < 2e-5 / FEED);
        for (a, b) in path.lines().iter().zip(plain.lines()) {
            for (p, q) in [(a.points[0], b.0), (a.points[a.points.len() - 1], b.1)] {
                // 1 µm: what a line on the border is let off.
                assert!((p.0 - q.0).hypot(p.1 - q.1) < 2e-6, "{p:?} {q:?}");
            }
        }
        sound(&path, &flat(size), 0.0);
    }
}

#[test]
fn a_cylinder_is_worked_as_its_developed_flat() {
    // Plan 540 x 450 mm, whole cells of 2 mm; developed 593 x 450 mm.
    let (radius, half, width) = (0.4_f64, 0.27_f64, 0.45);
    let arc = 2.0 * radius * (half / radius).asin();
    let bent = HeightMap::from_function((-half, 0.0), (half, width), 0.002, |x, _| {
        (radius * radius - x * x).max(0.0).sqrt() - radius
    });
    let bent = Surface::new(bent.unwrap());
    // Chords of 5 mm and heights straight between nodes 2 mm apart lose d²/(24R²) = 7e-6 and 1e-6 of the
    // length; joints at the edges, where a chord of 65 mm is cut into the same pieces, no more: 1e-5.
    let close = |x: f64, y: f64| (x - y).abs() < 1e-5 * y;
    for (deg, along, across) in [(0.0, arc, width), (90.0, width, arc)] {
        let path = SurfacePath::over(&bent, &raster(deg), &setup(0.0, 2), &SurfacePathOptions::default()).unwrap();
        let level = ToolPath::over_rectangle((along, across), Pattern::Raster, 2, SPACING, FEED).unwrap();
        assert_eq!((path.lines().len(), path.lifts()), (level.lines().len(), 0));
        assert!(close(path.length(), level.length()), "{deg}: {} {}", path.length(), level.length());
        assert!(close(path.time(), level.time()), "{deg}: {} {}", path.time(), level.time());
        assert!(close(path.spacing()[0], level.spacing()[0]), "{deg}: {:?} {:?}", path.spacing(), level.spacing());
    }
    for last in [LastLine::Drop, LastLine::Shift, LastLine::Spread, LastLine::EdgeToEdge] {
        let options = SurfacePathOptions { last_line: last, ..SurfacePathOptions::default() };
        let path = SurfacePath::over(&bent, &raster(90.0), &setup(0.0, 1), &options).unwrap();
        // The path starts at least x; v runs against x, so that its first line is the last one.
        let mut offsets = line_offsets(arc, 0.0, SPACING, last).unwrap();
        offsets.reverse();
        assert_eq!(path.lines().len(), offsets.len());
        for (line, offset) in path.lines().iter().zip(offsets) {
            let unrolled = 0.5 * arc - radius * (line.points[0].0 / radius).asin();
            // 1e-5 of the developed size.
            assert!((unrolled - offset).abs() < 1e-5 * arc, "{last:?}: {unrolled} {offset}");
        }
    }
}

#[test]
fn no_two_neighbouring_lines_on_a_cap_are_further_apart_than_the_spacing() {
    let cap = cap();
    for deg in [0.0, 30.0, 90.0] {
        let path = SurfacePath::over(&cap, &raster(deg), &setup(0.01, 1), &SurfacePathOptions::default()).unwrap();
        let lines = path.lines();
        assert!(lines.len() > 9, "{}", lines.len());
        for w in lines.windows(2) {
            let (mut checked, last) = (0, w[0].points.len() - 1);
            for p in w[1].points.iter().step_by(5) {
                let near = |i: &usize| apart(&cap, *p, w[0].points[*i]);
                let i = (0..=last).min_by(|i, j| near(i).total_cmp(&near(j))).unwrap();
                // Where the neighbour has ended there is no distance across.
                if i > 0 && i < last {
                    // The nearest waypoint is up to 2.5 mm along the line from the nearest point:
                    // √(65² + 2.5²) = 65.05 mm.
                    assert!(near(&i) <= SPACING + 5e-5, "{deg}: {}", near(&i));
                    checked += 1;
                }
            }
            // Slanted borders at 30° cut off up to spacing/tan 30° = 113 mm at each end.
            assert!(checked + 50 > w[1].points.len().min(last) / 5, "{deg}: {checked}");
        }
        sound(&path, &cap, 0.01);
    }
    // And it uses the spacing: the widest pair is within a line's share of it.
    let path = SurfacePath::over(&cap, &raster(0.0), &setup(0.01, 1), &SurfacePathOptions::default()).unwrap();
    let gaps = path.lines().len() as f64 - 1.0;
    assert!(path.spacing()[0] <= SPACING && path.spacing()[0] * gaps > SPACING * (gaps - 1.0));
}

#[test]
fn rings_on_a_cap_are_no_further_apart_than_the_spacing() {
    let cap = cap();
    let path =
        SurfacePath::over(&cap, &SurfacePattern::Spiral, &setup(0.02, 1), &SurfacePathOptions::default()).unwrap();
    assert!(path.lines().len() >= 4);
    for (i, ring) in path.lines().iter().enumerate().skip(1) {
        for p in ring.points.iter().step_by(3) {
            let outer = path.lines()[..i].iter().flat_map(|l| &l.points);
            let d = outer.map(|q| apart(&cap, *p, *q)).fold(f64::INFINITY, f64::min);
            // 2.5 mm to the nearest waypoint as above, and 0.2 % that the rings' spacing is let off.
            assert!(d <= SPACING * 1.003 + 5e-5, "{d}");
        }
    }
    sound(&path, &cap, 0.02);
}

#[test]
fn every_pattern_covers_a_door_with_the_default_inset() {
    let door = door();
    for (name, pattern, passes) in patterns() {
        let inset = pattern.default_inset(REACH, SPACING, passes);
        let path = SurfacePath::over(&door, &pattern, &setup(inset, passes), &SurfacePathOptions::default()).unwrap();
        let report = path.report(&door, REACH, inset, 0.005).unwrap();
        println!("{name}: inset {:.1} mm {report:?}", inset * 1e3);
        assert!(report.covered_share >= 0.995, "{name}: {report:?}");
        assert!(report.covered_share_inset.unwrap() >= 0.995, "{name}: {report:?}");
        // 1.0 x 0.7 m less hole and tape, curved by up to (0.35/2)²/6 = 0.5 %; the grid's border cells count
        // by their middles: 0.5 % more.
        let area = 0.7 - 0.12 * 0.06 - 0.55 * 0.02;
        assert!(report.workable_area > 0.995 * area && report.workable_area < 1.01 * area, "{report:?}");
        sound(&path, &door, inset);
        assert!(report.length_off_work < 1e-9, "{report:?}");
    }
}

#[test]
fn the_edge_ring_is_worked_once_and_the_inside_follows_it() {
    let surface = flat((0.6, 0.45));
    let pattern = SurfacePattern::EdgeFirst { inner: Box::new(raster(0.0)) };
    let path = SurfacePath::over(&surface, &pattern, &setup(0.04, 1), &SurfacePathOptions::default()).unwrap();
    let (ring, inner) = path.lines().split_first().unwrap();
    // 2·(0.52 + 0.37) m; each of its corners is rounded within a grid cell of 5 mm, at most 2·5 − 5√2 = 3 mm.
    let length: f64 = ring.points.windows(2).map(|w| apart(&surface, w[0], w[1])).sum();
    assert!(length <= 1.78 + 1e-9 && length > 1.78 - 0.012, "{length}");
    assert!(inner.iter().flat_map(|l| &l.points).all(|p| surface.clearance_at(p.0, p.1) > 0.04 + 0.0325 - 1e-5));
    // Gap of 0.305 m inside: 6 lines; the way in from the ring needs no lift.
    assert_eq!((inner.len(), path.lifts()), (6, 0));
    // Nothing left inside: the ring alone.
    let narrow = SurfacePath::over(&flat((0.6, 0.13)), &pattern, &setup(0.04, 3), &SurfacePathOptions::default());
    assert_eq!(narrow.unwrap().lines().len(), 1);
}

#[test]
fn a_single_stroke_covers_a_strip_as_wide_as_the_pad() {
    let surface = flat((0.6, 0.45)).with_tape(vec![Outline::rectangle((0.4, -0.1), (0.5, 0.6)).unwrap()]).unwrap();
    let steady = Steady { feed: FEED, force: 35.0 };
    let stroke = |x: f64| {
        let text = format!("x_mm,y_mm\n0,225\n{x},225\n");
        SurfacePath::from_polyline_csv(&surface, "way.csv", &text, steady, &SurfacePathOptions::default()).unwrap()
    };
    // A strip 142 mm high over the 500 mm beside the tape, of 450; cells of 1 mm, so a row either way
    // (2/450) and the tape's border, which the clearance puts within a cell of 5 mm of its place (1 %).
    let whole = stroke(600.0).report(&surface, REACH, 0.0, 0.001).unwrap();
    assert!((whole.covered_share - 142.0 / 450.0).abs() < 0.005, "{whole:?}");
    assert!((whole.workable_area - 0.5 * 0.45).abs() < 0.01 * 0.225, "{whole:?}");
    assert!((whole.length_off_work - 0.1).abs() < 0.01, "{whole:?}"); // pieces of 5 mm at both borders
    assert!(whole.revisits.is_none());
    // Half a stroke: 300 mm and the half disc at its end, πR²/2, which reaches 71 mm further.
    let half = stroke(300.0).report(&surface, REACH, 0.0, 0.001).unwrap();
    let area = 0.3 * 0.142 + 0.5 * core::f64::consts::PI * REACH * REACH;
    assert!((half.covered_share * half.workable_area - area).abs() < 0.02 * area, "{half:?}"); // 1 mm cells on a rim of 0.8 m
}

#[test]
fn an_inset_of_the_pad_radius_leaves_the_corners_bare() {
    // Why the default is less: four corners and the strips beside lines that pass a hole.
    let path = SurfacePath::over(&door(), &raster(0.0), &setup(0.065, 1), &SurfacePathOptions::default()).unwrap();
    let report = path.report(&door(), REACH, 0.065, 0.005).unwrap();
    assert!(report.covered_share < 0.995, "{report:?}");
}

#[test]
fn lines_keep_clear_of_tape_and_hole() {
    let door = door();
    let mut rim = Vec::new();
    for (a, b) in hole().segments() {
        rim.extend((0..120).map(|i| f64::from(i) / 120.0).map(|t| (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1))));
    }
    for (name, pattern, passes) in patterns() {
        for inset in [0.01, 0.0426] {
            let path =
                SurfacePath::over(&door, &pattern, &setup(inset, passes), &SurfacePathOptions::default()).unwrap();
            for w in path.waypoints().iter().filter(|w| w.force_share > 0.0) {
                // The clearance is straight between nodes 5 mm apart: round the corner of tape or hole it
                // promises up to h²/(4ρ) too much, ρ the distance of the corner.
                let slack = 0.005 * 0.005 / (4.0 * inset);
                let d = -tape().signed_distance(w.at.0, w.at.1);
                assert!(d >= inset - slack, "{name}: {d} at {w:?}");
                // The hole is a free edge, whose distance is measured through space; found here among
                // places 1 mm apart on its outline, at most 0.5²/(2·10) = 0.013 mm too far.
                let d = rim.iter().map(|p| apart(&door, w.at, *p)).fold(f64::INFINITY, f64::min);
                assert!(d >= inset - slack, "{name}: {d} at {w:?}");
                assert!(!hole().contains(w.at.0, w.at.1));
            }
        }
    }
}

#[test]
fn obstacles_split_lines_into_cells_that_are_worked_whole() {
    let door = door();
    let path = SurfacePath::over(&door, &raster(90.0), &setup(0.01, 1), &SurfacePathOptions::default()).unwrap();
    // Below and above the tape, left and right of the hole and past it: few lifts for 20-odd lines.
    assert!(path.lines().len() > 20, "{}", path.lines().len());
    assert!((1..=4).contains(&path.lifts()), "{}", path.lifts());
    let lifted = path.waypoints().iter().filter(|w| w.force_share <= 0.0).count();
    assert_eq!(lifted, 2 * path.lifts());
    assert!(path.time() > path.time_on() + path.travel_length() / 0.25);
}

#[test]
fn a_panel_with_nothing_to_work_is_an_error() {
    let all = Outline::rectangle((-0.1, -0.1), (0.7, 0.6)).unwrap();
    assert!(flat((0.6, 0.45)).with_tape(vec![all]).is_err());
    // All but a strip 16 mm wide taped: something to work, but nowhere 20 mm clear.
    let most = Outline::rectangle((-0.1, 0.016), (0.7, 0.6)).unwrap();
    let surface = flat((0.6, 0.45)).with_tape(vec![most]).unwrap();
    for (name, pattern, passes) in patterns() {
        let e =
            SurfacePath::over(&surface, &pattern, &setup(0.02, passes), &SurfacePathOptions::default()).unwrap_err();
        assert!(matches!(e, PathError::NothingToWork { .. }), "{name}: {e}");
    }
}

#[test]
fn leads_ramp_force_and_feed_over_the_distance() {
    let lead = Lead { length: 0.1, force_share: 0.2, feed_share: 0.5 };
    let options = SurfacePathOptions { lead, ..SurfacePathOptions::default() };
    let one = PathSetup { spacing: 1.0, feed: FEED, passes: 1, inset: 0.0 };
    let path = SurfacePath::over(&flat((0.6, 0.45)), &raster(0.0), &one, &options).unwrap();
    let first: Vec<_> = path.waypoints().iter().filter(|w| w.at.1 < 1e-5).collect();
    // Line 0 from x = 0 to 0.6; the joint follows.
    for w in &first {
        let ramp = (w.at.0.min(0.6 - w.at.0) / 0.1).clamp(0.0, 1.0);
        // 1e-4: a micrometre at the ends in a ramp of 0.1 m.
        assert!((w.force_share - (0.2 + 0.8 * ramp)).abs() < 1e-4, "{w:?}");
    }
    let time = |x: f64| first.iter().find(|w| (w.at.0 - x).abs() < 1e-5).unwrap().time_s;
    // ∫ ds/(f(q + (1 − q)s/L)) = L ln(1/q)/(f(1 − q)) = 0.1·ln 2/(0.04·0.5) = 3.4657 s; 1e-4 s from the micrometre.
    assert!((time(0.1) - 0.1 * 2.0_f64.ln() / (FEED * 0.5)).abs() < 1e-4);
    assert!((time(0.5) - time(0.1) - 0.4 / FEED).abs() < 1e-4);
    assert!((time(0.6) - time(0.5) - time(0.1)).abs() < 1e-4);
}

#[test]
fn time_goes_with_the_length_and_against_the_feed() {
    let surface = door();
    let over = |feed, passes| {
        let setup = PathSetup { spacing: SPACING, feed, passes, inset: 0.01 };
        SurfacePath::over(&surface, &raster(0.0), &setup, &SurfacePathOptions::default()).unwrap()
    };
    let (one, slow, four) = (over(FEED, 1), over(0.5 * FEED, 1), over(FEED, 4));
    // The lengths are the sums that the times are made of: rounding only.
    assert!((one.time_on() - one.length() / FEED).abs() < 1e-9 * one.time_on());
    assert!((slow.time_on() - 2.0 * one.time_on()).abs() < 1e-9 * slow.time_on());
    assert!((four.time_on() - four.length() / FEED).abs() < 1e-9 * four.time_on());
    // Four passes are four times the lines; only the ways between them differ (a tenth is ample).
    assert!((four.length() / (4.0 * one.length()) - 1.0).abs() < 0.1);
}

#[test]
fn revisits_of_a_strip_worked_to_and_fro() {
    // Four passes along one strip 1 m long, 100 mm/s: pad reach 10 mm about a strip 10 mm wide.
    let surface = Surface::new(HeightMap::from_function((0.0, 0.0), (1.0, 0.01), 0.001, |_, _| 0.0).unwrap());
    let setup = PathSetup { spacing: 0.1, feed: 0.1, passes: 4, inset: 0.005 };
    let strip = SurfacePath::over(&surface, &raster(0.0), &setup, &SurfacePathOptions::default()).unwrap();
    let report = strip.report(&surface, 0.01, 0.005, 0.002).unwrap();
    // The pad turns at x = 5 and 995 mm. A place at x is left at x + 8.7..10 and met again on the way back:
    // 2(995 − x − 10)/100 s later at one end, 2(x − 5 − 10)/100 at the other; longest about 2·970/100 = 19.4 s;
    // middle of all about half of it. Tolerance: chord 1.3 mm twice, piece 5 mm twice: 0.3 s.
    let r = report.revisits.unwrap();
    assert!((r.longest - 19.4).abs() < 0.4, "{r:?}");
    assert!((r.median - 9.7).abs() < 0.4 && (r.mean - 9.7).abs() < 0.4, "{r:?}");
    assert_eq!(report.turns, 3, "to and fro");
    assert!(report.covered_share > 0.999_999);
}

#[test]
fn turns_and_lifts_are_counted() {
    let path =
        SurfacePath::over(&flat((0.6, 0.45)), &raster(0.0), &setup(0.0, 1), &SurfacePathOptions::default()).unwrap();
    // 8 lines, 7 joints, a right angle at both ends of each.
    assert_eq!((path.lines().len(), path.turns(), path.lifts()), (8, 14, 0));
    let eight = SurfacePattern::FigureOfEight { angle: Angle::from_deg(0.0), radius: 0.05, advance: 0.05 };
    let one = PathSetup { spacing: 1.0, feed: 0.157, passes: 1, inset: 0.125 };
    let single = SurfacePathOptions { last_line: LastLine::Drop, ..SurfacePathOptions::default() };
    let path = SurfacePath::over(&flat((0.36, 0.46)), &eight, &one, &single).unwrap();
    // A lane 10 mm long holds one figure: two circles of 50 mm radius, 628 mm, 4 s at 157 mm/s
    // (ISO 28927-3 as summarised at second hand). Chords of 5 mm lose d²/(24r²) = 0.04 %.
    assert_eq!(path.turns(), 0);
    assert!((path.length() - 4.0 * core::f64::consts::PI * 0.05).abs() < 2e-3, "{}", path.length());
    assert!((path.time() - 4.0).abs() < 0.03);
}

#[test]
fn sections_are_even_on_the_surface_and_worked_one_by_one() {
    let door = door();
    let sections = cut_sections(&door, (0.43, 0.43), 0.05).unwrap();
    // 1.0 m: 2 of 500 are nearer 430 than 3 of 333; 0.7 m: 2 of 350. To and fro.
    let places: Vec<_> = sections.iter().map(trochoid::motion::Section::place).collect();
    assert_eq!(places, [(0, 0), (1, 0), (1, 1), (0, 1)]);
    assert_eq!(sections.iter().map(trochoid::motion::Section::number).collect::<Vec<_>>(), [1, 2, 3, 4]);
    // Together the panel's workable area and its overlaps: a 50 mm cross of 1.0 + 0.7 m, its middle twice more.
    let area: f64 = sections.iter().map(trochoid::motion::Section::area).sum();
    let whole = 0.7 - 0.12 * 0.06 - 0.55 * 0.02 + 0.05 * (1.0 + 0.7) + 0.0025;
    // 1.5 %: curvature 0.5 %, tape and hole partly in the overlap 0.6 %, cells.
    assert!((area / whole - 1.0).abs() < 0.015, "{area} {whole}");
    let pattern = SurfacePattern::crosshatch();
    let path = SurfacePath::over_sections(&door, &sections, &pattern, &setup(0.03, 2), &SurfacePathOptions::default())
        .unwrap();
    assert_eq!(path.sections().len(), 4);
    let mut next = 0;
    for run in path.sections() {
        assert_eq!(run.waypoints.start, next);
        next = run.waypoints.end;
        let passes: Vec<usize> = path.waypoints()[run.waypoints.clone()].iter().map(|w| w.pass).collect();
        assert!(passes.windows(2).all(|w| w[0] <= w[1]) && passes.contains(&0) && passes.contains(&1));
        let outline = sections[run.number - 1].outline();
        for w in path.waypoints()[run.waypoints.clone()].iter().filter(|w| w.force_share > 0.0) {
            // The lift that leads to a section starts in the one before.
            let before = w.time_s <= path.waypoints()[run.waypoints.start].time_s + 1e-9;
            assert!(before || outline.signed_distance(w.at.0, w.at.1) > 0.0, "{} {w:?}", run.number);
        }
    }
    assert_eq!(next, path.waypoints().len());
    sound(&path, &door, 0.03);
    let report = path.report(&door, REACH, 0.03, 0.005).unwrap();
    assert!(report.covered_share > 0.995, "{report:?}");
    // The cylinder's sections are even on the surface, not in plan.
    let bent = HeightMap::from_function((-0.3, 0.0), (0.3, 0.4), 0.002, |x, _| (0.16 - x * x).sqrt() - 0.4).unwrap();
    let cut = cut_sections(&Surface::new(bent), (0.22, 0.4), 0.0).unwrap();
    assert_eq!(cut.len(), 3);
    let third = 0.8 * 0.75_f64.asin() / 3.0;
    // 0.4 sin(third/2/0.4), the cut's plan coordinate; 0.2 mm: the sections' areas in cells of 5 mm, edges by chords of 2 mm.
    let x = cut[0].outline().bounds().1.0;
    assert!((x + 0.4 * (0.5 * third / 0.4).sin()).abs() < 2e-4, "{x}");
    for s in &cut {
        assert!((s.area() / (third * 0.4) - 1.0).abs() < 0.02, "{} {}", s.area(), third * 0.4); // cells of 5 mm: 2 %
    }
}

#[test]
fn a_polyline_from_a_file() {
    let text = "\u{feff}x_mm,y_mm,feed_mm_s,force_n,pass\r\n50,50,40,35,1\r\n250,50,40,17.5,1\r\n\r\n250,150,40,0,2\r\n50,150,40,35,2\r\n50,350,80,35,2\r\n";
    let steady = Steady { feed: 0.05, force: 35.0 };
    let surface = flat((0.6, 0.45));
    let path =
        SurfacePath::from_polyline_csv(&surface, "way.csv", text, steady, &SurfacePathOptions::default()).unwrap();
    // 200 mm on, 300 mm lifted at both sides of the row with force 0, 200 mm on.
    assert!((path.length() - 0.4).abs() < 1e-12 && (path.travel_length() - 0.3).abs() < 1e-12);
    assert_eq!((path.lifts(), path.lines().len()), (1, 2));
    // 200/40 + 300/40 + 200·ln 2/40 s.
    let last = 0.2 * 2.0_f64.ln() / 0.04;
    assert!((path.time() - 12.5 - last).abs() < 1e-9 && (path.time_on() - 5.0 - last).abs() < 1e-9);
    let middle = path.waypoints().iter().find(|w| (w.at.0 - 0.15).abs() < 1e-9).unwrap();
    assert!((middle.force_share - 0.75).abs() < 1e-9 && middle.pass == 0);
    assert_eq!(path.waypoints().last().unwrap().pass, 1);
}

#[test]
fn a_recorded_way_keeps_its_times() {
    let text = "time_s,x_mm,y_mm\n10,100,100\n11,150,100\n13,150,100\n14.5,150,50\n";
    let surface = flat((0.6, 0.45));
    let path =
        SurfacePath::from_recorded_csv(&surface, "hand.csv", text, 35.0, &SurfacePathOptions::default()).unwrap();
    assert!((path.time() - 4.5).abs() < 1e-12 && (path.time_on() - 4.5).abs() < 1e-12);
    assert!((path.length() - 0.1).abs() < 1e-12);
    assert_eq!(path.waypoints().len(), 1 + 10 + 1 + 10);
}

#[test]
fn damaged_files_are_refused_with_line_and_column() {
    let surface = door();
    let polyline = |text: &str| {
        let steady = Steady { feed: 0.05, force: 35.0 };
        SurfacePath::from_polyline_csv(&surface, "way.csv", text, steady, &SurfacePathOptions::default())
            .unwrap_err()
            .to_string()
    };
    let hand = |text: &str| {
        SurfacePath::from_recorded_csv(&surface, "hand.csv", text, 35.0, &SurfacePathOptions::default())
            .unwrap_err()
            .to_string()
    };
    let starts = |got: String, want: &str| assert!(got.starts_with(want), "{got}\n{want}");
    starts(polyline(""), "way.csv:1: header");
    starts(polyline("x_mm\n1\n2\n"), "way.csv:1: header = x_mm: allowed is a column y_mm");
    starts(polyline("x_mm,y_mm,z_mm\n1,1,1\n"), "way.csv:1: header = z_mm: allowed is columns");
    starts(polyline("x_mm,x_mm,y_mm\n1,1,1\n"), "way.csv:1: header = x_mm: allowed is each column once");
    starts(polyline("x_mm,y_mm\n100,100\n"), "way.csv:1: rows = 1");
    starts(polyline("x_mm,y_mm\n100,100\n\n100,abc\n"), "way.csv:4: y_mm = abc: allowed is a number");
    starts(polyline("x_mm,y_mm\n100,100\nNaN,100\n"), "way.csv:3: x_mm = NaN");
    starts(polyline("x_mm,y_mm\n100,100\ninf,100\n"), "way.csv:3: x_mm = inf");
    starts(polyline("x_mm,y_mm\n100,100\n100\n"), "way.csv:3: row = 100: allowed is 2 cells");
    starts(
        polyline("x_mm,y_mm\n100,100\n1100,100\n"),
        "way.csv:3: row = x 1100 mm, y 100 mm: allowed is a place on the panel",
    );
    starts(polyline("x_mm,y_mm\n700,530\n920,530\n"), "way.csv:3: row = the way leaves the panel at x 7");
    starts(polyline("x_mm,y_mm\n100,100\n100,100\n"), "way.csv:3: row = x 100 mm");
    starts(polyline("x_mm,y_mm,feed_mm_s\n100,100,40\n200,100,0\n"), "way.csv:3: feed_mm_s = 0");
    starts(polyline("x_mm,y_mm,pass\n100,100,2\n200,100,1\n"), "way.csv:3: pass = 1: allowed is 2 or more");
    starts(polyline("x_mm,y_mm,pass\n100,100,1\n200,100,1.5\n"), "way.csv:3: pass = 1.5");
    starts(hand("time_s,x_mm,y_mm\n0,100,100\n1,200,100\n1,300,100\n"), "hand.csv:4: time_s = 1: allowed is above 1");
    starts(hand("time_s,x_mm,y_mm\n0,100,100\n0.001,200,100\n"), "hand.csv:3: time_s = 0.001: allowed is later");
    starts(hand("time_s,x_mm,y_mm,force_n\n0,100,100,-3\n"), "hand.csv:1: rows");
    starts(hand("time_s,x_mm,y_mm,force_n\n0,100,100,-3\n1,100,100,1\n"), "hand.csv:2: force_n = -3");
    let mut long = String::from("time_s,x_mm,y_mm\n");
    for i in 0..=1_000_000 {
        writeln!(long, "{i},100,100").unwrap();
    }
    starts(hand(&long), "hand.csv:1000002: rows = more");
}

#[test]
fn settings_out_of_range_and_endless_paths_are_refused() {
    let surface = flat((0.6, 0.45));
    let with =
        |setup: PathSetup, options: SurfacePathOptions| SurfacePath::over(&surface, &raster(0.0), &setup, &options);
    let (good, plain) = (setup(0.0, 1), SurfacePathOptions::default());
    for bad in [
        PathSetup { spacing: f64::NAN, ..good },
        PathSetup { spacing: 0.0, ..good },
        PathSetup { feed: 0.0, ..good },
        PathSetup { passes: 0, ..good },
        PathSetup { inset: -0.01, ..good },
    ] {
        assert!(matches!(with(bad, plain), Err(PathError::Range(_))), "{bad:?}");
    }
    for bad in [
        SurfacePathOptions { last_line: LastLine::Spill, ..plain },
        SurfacePathOptions { travel_speed: 0.0, ..plain },
        SurfacePathOptions { raise_s: 0.0, ..plain },
        SurfacePathOptions { waypoint_distance: 0.0, ..plain },
        SurfacePathOptions { lead: Lead { length: 0.1, force_share: 0.0, feed_share: 1.0 }, ..plain },
        SurfacePathOptions { start: Some((f64::INFINITY, 0.0)), ..plain },
    ] {
        assert!(matches!(with(good, bad), Err(PathError::Range(_))), "{bad:?}");
    }
    let fine = PathSetup { spacing: 1e-4, passes: 1000, ..good };
    assert!(matches!(with(fine, plain), Err(PathError::TooManyWaypoints { .. })));
    let spiral = SurfacePath::over(
        &surface,
        &SurfacePattern::Spiral,
        &PathSetup { spacing: 1e-4, ..good },
        &SurfacePathOptions { waypoint_distance: 1e-4, ..plain },
    );
    assert!(matches!(spiral, Err(PathError::TooManyWaypoints { .. })));
}

proptest! {
    #![proptest_config(config(48))]

    #[test]
    fn random_panels_give_sound_paths(
        size in (0.25_f64..1.1, 0.25_f64..0.9),
        bend in (-0.8_f64..0.8, -0.8_f64..0.8),
        deg in -180.0_f64..180.0,
        inset in 0.0_f64..0.05,
        spacing in 0.02_f64..0.12,
        hole in (0.2_f64..0.8, 0.2_f64..0.8),
        kind in 0_usize..5,
        lead in 0.0_f64..0.08,
    ) {
        let z = move |x: f64, y: f64| 0.5 * (bend.0 * x * x + bend.1 * y * y);
        let map = HeightMap::from_function((0.0, 0.0), size, 0.005, z).unwrap();
        let (cx, cy) = (hole.0 * size.0, hole.1 * size.1);
        let tape = Outline::new(vec![vec![(cx - 0.03, cy), (cx, cy - 0.02), (cx + 0.04, cy), (cx, cy + 0.03)]]).unwrap();
        let surface = Surface::new(map).with_tape(vec![tape]).unwrap();
        let angle = Angle::from_deg(deg);
        let pattern = match kind {
            0 => SurfacePattern::Raster { angle },
            1 => SurfacePattern::Crosshatch { angles: vec![angle, Angle::from_deg(0.5 * deg + 60.0)] },
            2 => SurfacePattern::EdgeFirst { inner: Box::new(SurfacePattern::Raster { angle }) },
            3 => SurfacePattern::Spiral,
            _ => SurfacePattern::FigureOfEight { angle, radius: 0.015, advance: 0.03 },
        };
        let setup = PathSetup { spacing, feed: FEED, passes: 2, inset };
        let lead = Lead { length: lead, force_share: 0.4, feed_share: 0.6 };
        let options = SurfacePathOptions { lead, ..SurfacePathOptions::default() };
        let path = SurfacePath::over(&surface, &pattern, &setup, &options).unwrap();
        sound(&path, &surface, inset);
        for w in path.waypoints().windows(2).filter(|w| w[0].force_share > 0.0 && w[1].force_share > 0.0) {
            // 5 mm, and the push of a waypoint off a corner: at most 5 mm more.
            prop_assert!(apart(&surface, w[0].at, w[1].at) < 0.0101, "{:?}", w);
        }
        prop_assert!(path.spacing().iter().all(|s| *s <= spacing * 1.003));
    }
}
