//! Nothing is lost and nothing made: the footprint holds the whole volume rate, the map holds what
//! the footprint leaves, and the fast deposit agrees with the slow one.
//!
//! Source: the volume balance ∫ cut dA = k_p ∫∫ p|v| dA dt, which is Preston's law integrated over
//! the panel; the sums here are plain midpoint sums of the test's own. That overlap and crosshatch
//! even out the cut is common practice, tested as an order.

use crate::support::{cylinder, free_tool, linear_pad, measured_pad, quadric, rel, setup, sphere, tilted};
use trochoid::contact::{ContactSettings, Hold};
use trochoid::equipment::{Product, Tool};
use trochoid::motion::{Leg, PathOptions, Pattern, ToolPath, Turn};
use trochoid::panel::{Panel, Patch};
use trochoid::removal::{
    Footprint, Grid, PanelMap, Quantity, deposit, deposit_by_steps, deposit_quantity, panel_map, volume_rate,
};
use trochoid::spin::{Setup, SpinState, spin_state};
use trochoid::{AngularRate, Force, Length};

/// k_p of every set-up of `support`, 1/Pa.
const PRESTON: f64 = 2e-11;

fn on(patch: Patch) -> Setup {
    setup(free_tool(12.0, 4200.0, 0.04, 1e-4), linear_pad(130.0, 9e5), 0.35, 35.0, patch)
}

fn running(s: &Setup) -> (SpinState, Footprint) {
    let state = spin_state(s, s.patch(), &ContactSettings::default()).unwrap();
    let footprint = Footprint::new(&state.contact, s.patch(), s.tool().rate().rad_s(), state.spin);
    (state, footprint)
}

fn cases() -> Vec<(&'static str, Setup, f64)> {
    // The last number is what the midpoint sum and the footprint's table are good for: 1e-4 of the
    // whole where the footprint is continuous, the stated 1e-3 of the sampled tilted one.
    let small = setup(free_tool(8.0, 5000.0, 0.03, 1e-4), measured_pad(80.0), 0.3, 15.0, quadric(0.5, -1.5, 20.0));
    let hole = setup(
        free_tool(12.0, 4200.0, 0.04, 1e-4),
        linear_pad(130.0, 9e5).with_hole(Length::from_mm(40.0)).unwrap(),
        0.35,
        35.0,
        sphere(-0.5),
    );
    let geared = Tool::geared(Length::from_mm(8.0), AngularRate::from_opm(5000.0), 0.2).unwrap();
    vec![
        ("flat", on(Patch::flat()), 1e-4),
        ("hollow", on(sphere(-0.8)), 1e-4),
        ("crown with a free rim", on(sphere(3.0)), 1e-4),
        ("hollow with a free centre", on(sphere(-4.0)), 1e-4),
        ("cylinder", on(cylinder(-1.2, 30.0)), 1e-4),
        ("saddle, measured law", small, 1e-4),
        ("hole", hole, 1e-4),
        ("geared", setup(geared, linear_pad(130.0, 9e5), 0.35, 35.0, sphere(0.5)), 1e-4),
        ("tilted", on(Patch::flat()).with_hold(tilted(1.0, -0.5)), 2e-3),
        ("self-aligning on a cylinder", on(cylinder(-1.2, 30.0)).with_hold(Hold::SelfAligning), 2e-3),
    ]
}

#[test]
fn the_footprint_holds_the_whole_volume_rate() {
    for (name, s, tolerance) in cases() {
        let (state, footprint) = running(&s);
        let n = 1200;
        let h = 2.0 * footprint.reach() / f64::from(n);
        let (mut work, mut dwell) = (0.0, 0.0);
        for j in 0..n {
            for i in 0..n {
                let r = footprint
                    .at((f64::from(i) + 0.5) * h - footprint.reach(), (f64::from(j) + 0.5) * h - footprint.reach());
                work += r.work * h * h;
                dwell += r.dwell * h * h;
            }
        }
        assert!(rel(work, state.sums.speed_w) < tolerance, "{name}: {work} of {} W", state.sums.speed_w);
        // The share of the time that panel points are pressed adds up to the area that touches.
        let touching = state.contact.contact_share * s.pad().face_area();
        assert!(
            rel(dwell, touching) < 3.0 * tolerance,
            "{name}: {dwell} of {touching} m²; the edge of contact is a jump"
        );
    }
}

#[test]
fn the_rotary_footprint_is_the_disc_itself() {
    // e = 0: p |ω| r inside R, nothing outside; ∫ p|v| dA = N |ω| 2R/3 with even pressure.
    let tool = Tool::rotary(AngularRate::from_rpm(1500.0)).unwrap();
    let s = setup(tool, linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat());
    let (state, footprint) = running(&s);
    let omega = 50.0 * core::f64::consts::PI;
    assert!(rel(state.sums.speed_w, 35.0 * omega * 2.0 * 0.065 / 3.0) < 1e-9, "smooth quadrature");
    let pressure = 35.0 / s.pad().face_area();
    for r in [0.01, 0.03, 0.06] {
        // The heave is found to 1e-12 of the force; the table is read linearly: 1e-6.
        assert!(rel(footprint.at(0.6 * r, 0.8 * r).work, pressure * omega * r) < 1e-6, "{r}");
    }
    assert!(footprint.at(0.0651, 0.0).work.abs() < 1e-15, "nothing outside the face, to rounding, in W/m²");
}

fn worked(s: &Setup, size_mm: (f64, f64), pattern: Pattern, passes: usize, overlap: f64, cell_mm: f64) -> PanelMap {
    let (state, _) = running(s);
    let panel = Panel::new(*s.patch(), Length::from_mm(size_mm.0), Length::from_mm(size_mm.1)).unwrap();
    let size = (size_mm.0 * 1e-3, size_mm.1 * 1e-3);
    let spacing = (1.0 - overlap) * s.pad().diameter().m();
    let path = ToolPath::over_rectangle(size, pattern, passes, spacing, 0.04).unwrap();
    panel_map(s, &state, &panel, path, cell_mm * 1e-3).unwrap()
}

#[test]
fn what_is_on_the_panel_and_what_fell_past_it_add_up_to_the_volume() {
    for (name, s, tolerance) in cases() {
        let (state, _) = running(&s);
        // Errors of the midpoint sum fall with the square of the cell; at 1 mm they are below the
        // error of the footprint itself.
        for (cell, slack) in [(4.0, 10.0), (1.0, 1.0)] {
            let map = worked(&s, (180.0, 150.0), Pattern::Crosshatch, 2, 0.5, cell);
            assert!(rel(map.volume_m3, volume_rate(PRESTON, &state.sums) * map.path.time()) < 1e-12, "rounding");
            assert!(map.spill_m3 > 0.0 && map.spill_m3 < map.volume_m3, "{name}: {}", map.spill_m3);
            let on_panel = PRESTON * map.field.work.iter().sum::<f64>() * map.field.grid.cell_area();
            let lost = (on_panel + map.spill_m3 - map.volume_m3) / map.volume_m3;
            assert!(lost.abs() < slack * tolerance, "{name}, {cell} mm: {lost} of the volume");
        }
    }
}

/// A path with all its options: inset, slow ends of the lines, and round turns where the footprint is
/// round (each direction costs another one a table of its own).
fn with_options(size: (f64, f64), footprint: &Footprint) -> ToolPath {
    let turn = if footprint.is_round() { Turn::Round } else { Turn::Straight };
    let options = PathOptions { inset: 0.01, turn, lead: 0.02, lead_slowness: 2.5 };
    ToolPath::over_rectangle_with(size, Pattern::Crosshatch, 2, 0.065, 0.04, &options).unwrap()
}

/// The same path moved by `by` along x and y.
fn moved(path: &ToolPath, by: f64) -> ToolPath {
    let to = |p: (f64, f64)| (p.0 + by, p.1 + by);
    ToolPath::from_legs(path.legs().iter().map(|l| Leg { from: to(l.from), to: to(l.to), ..*l }).collect()).unwrap()
}

#[test]
fn an_extended_panel_catches_everything() {
    let size = (0.16, 0.12);
    for (name, s, tolerance) in cases() {
        let (state, footprint) = running(&s);
        let panel = Panel::new(*s.patch(), Length::from_m(size.0), Length::from_m(size.1)).unwrap();
        let plain = ToolPath::over_rectangle(size, Pattern::Raster, 1, 0.065, 0.04).unwrap();
        for path in [plain, with_options(size, &footprint)] {
            let map = panel_map(&s, &state, &panel, path.clone(), 20e-3).unwrap();
            // A grid of 1 mm cells with a whole pad and the turns beside the panel on every side.
            let margin = 0.12;
            let grid = Grid::over((size.0 + 2.0 * margin, size.1 + 2.0 * margin), 1e-3).unwrap();
            let work = deposit_quantity(&footprint, &moved(&path, margin), &grid, Quantity::Work);
            let (nx, ny) = grid.count();
            let (mut inside, mut all) = (0.0, 0.0);
            for j in 0..ny {
                for i in 0..nx {
                    let (x, y) = grid.centre(i, j);
                    let cut = PRESTON * work[j * nx + i] * grid.cell_area();
                    all += cut;
                    if x > margin && x < margin + size.0 && y > margin && y < margin + size.1 {
                        inside += cut;
                    }
                }
            }
            // As stated of the footprint in `cases`: cells of 1 mm add less.
            assert!(rel(all, map.volume_m3) < tolerance, "{name}: {all} of {}", map.volume_m3);
            let lost = (all - inside - map.spill_m3) / map.volume_m3;
            assert!(lost.abs() < tolerance, "{name}: spill {} against {}", all - inside, map.spill_m3);
        }
    }
}

fn fast_and_slow_agree(name: &str, s: &Setup) {
    let size = (0.18, 0.14);
    let plain = ToolPath::over_rectangle(size, Pattern::Crosshatch, 2, 0.065, 0.04).unwrap();
    let grid = Grid::over(size, 0.02).unwrap();
    let (_, footprint) = running(s);
    for path in [&plain, &with_options(size, &footprint)] {
        let fast = deposit(&footprint, path, grid);
        let slow = deposit_by_steps(&footprint, path, grid, 8.0);
        let difference = |a: &[f64], b: &[f64]| {
            let peak = b.iter().copied().fold(0.0, f64::max);
            assert!(peak > 0.0, "{name}: something was done");
            a.iter().zip(b).map(|(a, b)| (a - b).abs() / peak).fold(0.0, f64::max)
        };
        let work = difference(&fast.work, &slow.work);
        // As stated of the fast method; the slow one's steps of an eighth of a millimetre add less.
        assert!(work < 1e-4, "{name}: work differs by {work} of the peak");
        // Sliding and dwell jump at an edge of contact inside the face: the slow method may miss half
        // a step at either end of a chord of 100 mm, 1.25e-3.
        let (slide, dwell) = (difference(&fast.slide, &slow.slide), difference(&fast.dwell, &slow.dwell));
        assert!(slide < 2e-3 && dwell < 2e-3, "{name}: sliding {slide}, dwell {dwell} of the peak");
    }
}

#[test]
fn the_fast_deposit_agrees_with_the_slow_one() {
    for (name, s, _) in cases().into_iter().filter(|c| c.1.hold() == &Hold::Flat) {
        fast_and_slow_agree(name, &s);
    }
}

#[test]
fn the_fast_deposit_agrees_with_the_slow_one_for_a_tilted_pad() {
    for (name, s, _) in cases().into_iter().filter(|c| c.1.hold() != &Hold::Flat) {
        fast_and_slow_agree(name, &s);
    }
}

fn spread(pattern: Pattern, passes: usize, overlap: f64) -> f64 {
    worked(&on(Patch::flat()), (520.0, 520.0), pattern, passes, overlap, 4.0).cut.unwrap().cv().unwrap()
}

#[test]
fn overlap_and_crosshatch_even_out_the_cut() {
    // Common practice; as an order. In between the spread has dips: the ripple of equal rows a
    // distance d apart vanishes where J1(2πR/d) = 0. On 520 mm the lines of 130 mm pads are 130,
    // 86.7, 65 and 32.5 mm apart, at the tops between the dips.
    let overlaps = [0.0, 0.25, 0.5, 0.75];
    for passes in [2, 4] {
        let [raster, crosshatch] =
            [Pattern::Raster, Pattern::Crosshatch].map(|pattern| overlaps.map(|o| spread(pattern, passes, o)));
        for spreads in [raster, crosshatch] {
            assert!(spreads.windows(2).all(|w| w[1] < w[0]), "{passes} passes: {spreads:?}");
        }
        for (r, c) in raster.iter().zip(&crosshatch) {
            assert!(c < r, "{passes} passes: raster {raster:?}, crosshatch {crosshatch:?}");
        }
    }
}

#[test]
fn cut_and_time_grow_with_the_passes() {
    let s = on(sphere(-0.5));
    let map = |pattern: Pattern, passes: usize| worked(&s, (400.0, 320.0), pattern, passes, 0.5, 8.0);
    for (pattern, unit) in [(Pattern::Raster, 1), (Pattern::Crosshatch, 2)] {
        let one = map(pattern, unit);
        for n in [2, 3, 5] {
            let many = map(pattern, n * unit);
            let times = n as f64;
            assert!(rel(many.path.time(), times * one.path.time()) < 1e-12, "rounding");
            assert!(rel(many.volume_m3, times * one.volume_m3) < 1e-12, "rounding");
            // Joints may lie on another edge, but they do not reach into the mask.
            let (a, b) = (many.cut.unwrap(), one.cut.unwrap());
            assert!(rel(a.mean, times * b.mean) < 1e-12 && rel(a.p5, times * b.p5) < 1e-12, "rounding");
            assert!(rel(many.dwell.unwrap().max, times * one.dwell.unwrap().max) < 1e-12, "rounding");
        }
    }
    // Half the feed, twice the cut; a product that cuts twice as fast, too.
    let (state, _) = running(&s);
    let panel = Panel::new(*s.patch(), Length::from_mm(400.0), Length::from_mm(320.0)).unwrap();
    let at = |s: &Setup, feed: f64| {
        let path = ToolPath::over_rectangle((0.4, 0.32), Pattern::Raster, 1, 0.065, feed).unwrap();
        panel_map(s, &state, &panel, path, 8e-3).unwrap().cut.unwrap().mean
    };
    assert!(rel(at(&s, 0.02), 2.0 * at(&s, 0.04)) < 1e-12, "rounding");
    let keen = s.clone().with_product(Product::new(0.35, 2.0 * PRESTON).unwrap());
    assert!(rel(at(&keen, 0.04), 2.0 * at(&s, 0.04)) < 1e-12, "rounding");
    let pressed = s.clone().at_force(Force::from_n(45.0)).unwrap();
    let (harder, _) = running(&pressed);
    let path = ToolPath::over_rectangle((0.4, 0.32), Pattern::Raster, 1, 0.065, 0.04).unwrap();
    assert!(
        panel_map(&pressed, &harder, &panel, path, 8e-3).unwrap().cut.unwrap().mean > at(&s, 0.04),
        "more force cuts more"
    );
}

/// Largest difference of a field and the image of another under a map of the cells, of its peak.
fn asymmetry(
    grid: &Grid,
    field: &[f64],
    image: &[f64],
    to: impl Fn(usize, usize, usize, usize) -> (usize, usize),
) -> f64 {
    let (nx, ny) = grid.count();
    let peak = field.iter().copied().fold(0.0, f64::max);
    let mut worst: f64 = 0.0;
    for j in 0..ny {
        for i in 0..nx {
            let (u, w) = to(i, j, nx, ny);
            worst = worst.max((field[j * nx + i] - image[w * nx + u]).abs() / peak);
        }
    }
    worst
}

#[test]
fn a_raster_mirrors() {
    let s = on(Patch::flat());
    let same = |i: usize, j: usize, _: usize, _: usize| (i, j);
    let mirror_x = |i: usize, j: usize, nx: usize, _: usize| (nx - 1 - i, j);
    let mirror_y = |i: usize, j: usize, _: usize, ny: usize| (i, ny - 1 - j);
    let turn = |i: usize, j: usize, nx: usize, ny: usize| (nx - 1 - i, ny - 1 - j);
    let map = |width: f64, passes: usize| worked(&s, (260.0, width), Pattern::Raster, passes, 0.5, 5.0);
    // Sums in another order, along legs run the other way: rounding through the tables.
    let rounding = 1e-9;
    // Three gaps: joints at far, near, far. Two gaps: far, near, which half a turn maps on itself.
    let (odd, even) = (map(195.0, 1), map(130.0, 1));
    assert!(odd.path.spacing().iter().chain(even.path.spacing()).all(|d| (d - 0.065).abs() < 1e-12), "fits exactly");
    let own = |m: &PanelMap, to: &dyn Fn(usize, usize, usize, usize) -> (usize, usize)| {
        asymmetry(&m.field.grid, &m.field.work, &m.field.work, to)
    };
    assert!(own(&odd, &mirror_y) < rounding, "{}", own(&odd, &mirror_y));
    assert!(own(&even, &turn) < rounding, "{}", own(&even, &turn));
    assert!(own(&odd, &mirror_x) > 0.05, "the joints lie more on one side, by far more than rounding");
    // A second pass runs the first one back: twice the field, everywhere.
    let twice: Vec<f64> = odd.field.work.iter().map(|w| 2.0 * w).collect();
    let back = map(195.0, 2);
    assert!(asymmetry(&back.field.grid, &back.field.work, &twice, same) < rounding, "rounding, as above");

    // A pad that leans the other way leaves the mirror image along the mirrored path.
    let size = (0.2, 0.13);
    let grid = Grid::over(size, 0.01).unwrap();
    let path = ToolPath::over_rectangle(size, Pattern::Raster, 1, 0.065, 0.04).unwrap();
    let flip = |p: (f64, f64)| (size.0 - p.0, p.1);
    let legs = path.legs().iter().map(|l| Leg { from: flip(l.from), to: flip(l.to), ..*l }).collect();
    let mirrored = ToolPath::from_legs(legs).unwrap();
    let leaning = |x_deg: f64, path: &ToolPath| {
        let (_, footprint) = running(&s.clone().with_hold(tilted(x_deg, 0.0)));
        deposit_quantity(&footprint, path, &grid, Quantity::Work)
    };
    let (left, right) = (leaning(-1.0, &path), leaning(1.0, &mirrored));
    // The heave of a tilted pad is found to its tolerance; its phases mirror onto each other.
    assert!(asymmetry(&grid, &left, &right, mirror_x) < 1e-6, "{}", asymmetry(&grid, &left, &right, mirror_x));
    let same_lean = leaning(-1.0, &mirrored);
    assert!(asymmetry(&grid, &left, &same_lean, mirror_x) > 0.01, "a lean shows, far above 1e-6");
}
