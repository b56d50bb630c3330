//! The exact deposit against direct quadrature, published line passes and the volume balance.

use crate::support::{free_tool, linear_pad, setup, sphere};
use trochoid::contact::{ContactSettings, Hold, solve};
use trochoid::math::quadrature::{Ends, integrate};
use trochoid::motion::{Leg, PathOptions, Pattern, ToolPath, Turn};
use trochoid::panel::{Panel, Patch};
use trochoid::removal::{
    Footprint, Grid, Mask, Quantity, deposit, deposit_by_steps, deposit_quantity, panel_map, pass_profile, ripple,
};
use trochoid::spin::spin_state;
use trochoid::{Angle, Curvature, Length};

/// The footprint of `examples/peer_cases.rs`, case `b`: R 70 mm, e 8 mm, 4000/min, 300 rpm, 30 N, flat or on a patch.
fn footprint(patch: &Patch, hold: &Hold) -> Footprint {
    let pad = linear_pad(140.0, 1e6);
    let c = solve(&pad, patch, 8e-3, hold, 30.0, &ContactSettings::default()).unwrap();
    let turn = 2.0 * core::f64::consts::PI;
    Footprint::new(&c, patch, turn * 4000.0 / 60.0, turn * 5.0)
}

/// Integral of the footprint along a leg seen from a point, by composite Gauss quadrature.
fn direct(f: &Footprint, leg: &Leg, at: (f64, f64)) -> f64 {
    let n = 400;
    let length = leg.length();
    (0..n)
        .map(|i| {
            integrate(f64::from(i) / f64::from(n), f64::from(i + 1) / f64::from(n), 4, Ends::Smooth, |t| {
                let c = leg.at(t);
                let q = leg.slowness.0 + t * (leg.slowness.1 - leg.slowness.0);
                q * length * f.at(at.0 - c.0, at.1 - c.1).work
            })
        })
        .sum()
}

#[test]
fn deposit_agrees_with_quadrature_to_four_digits() {
    let cylinder = Patch::cylinder(Curvature::from_per_m(-1.0), Angle::from_deg(0.0)).unwrap();
    let turned =
        Patch::quadric(Curvature::from_per_m(-0.8), Curvature::from_per_m(0.4), Angle::from_deg(30.0)).unwrap();
    let lifted = sphere(-2.5);
    let tilt = Hold::tilted(Angle::from_deg(1.0), Angle::from_deg(0.5)).unwrap();
    let grid = Grid::over((0.6, 0.6), 5e-3).unwrap();
    for (name, patch, hold) in [
        ("flat", Patch::flat(), Hold::Flat),
        ("hollow with its centre lifted", lifted, Hold::Flat),
        ("cylinder", cylinder, Hold::Flat),
        ("turned saddle", turned, Hold::Flat),
        ("tilted", Patch::flat(), tilt),
    ] {
        let f = footprint(&patch, &hold);
        // The serpentine of that case, with a leg at an angle and one that changes its feed.
        let legs = vec![
            Leg::steady((0.21, 0.28), (0.39, 0.28), 0.04, 0),
            Leg::steady((0.39, 0.28), (0.39, 0.32), 0.04, 0),
            Leg { from: (0.39, 0.32), to: (0.21, 0.32), slowness: (50.0, 20.0), pass: 0 },
            Leg::steady((0.21, 0.32), (0.33, 0.23), 0.04, 0),
        ];
        let path = ToolPath::from_legs(legs.clone()).unwrap();
        let field = deposit_quantity(&f, &path, &grid, Quantity::Work);
        let peak = field.iter().copied().fold(0.0, f64::max);
        let mut worst: f64 = 0.0;
        for j in (0..120).step_by(7) {
            for i in (0..120).step_by(5) {
                let want: f64 = legs.iter().map(|l| direct(&f, l, grid.centre(i, j))).sum();
                worst = worst.max((field[j * 120 + i] - want).abs() / peak);
            }
        }
        // The stated bound of the table's linear reading.
        assert!(worst < 1e-4, "{name}: {worst:.2e} of the peak");
    }
}

#[test]
fn steps_converge_to_the_exact_deposit() {
    let f = footprint(&sphere(-1.0), &Hold::Flat);
    let grid = Grid::over((0.3, 0.3), 20e-3).unwrap();
    let options = PathOptions { inset: 0.08, turn: Turn::Round, lead: 0.03, lead_slowness: 2.0 };
    let path = ToolPath::over_rectangle_with((0.3, 0.3), Pattern::Crosshatch, 2, 0.07, 0.04, &options).unwrap();
    let exact = deposit(&f, &path, grid);
    let mut last = f64::INFINITY;
    for steps in [0.1, 0.4, 3.2] {
        let slow = deposit_by_steps(&f, &path, grid, steps);
        let peak = slow.work.iter().copied().fold(0.0, f64::max);
        let worst = exact.work.iter().zip(&slow.work).map(|(a, b)| (a - b).abs() / peak).fold(0.0, f64::max);
        // Midpoint steps: the error falls at least in proportion to the step.
        assert!(worst < 0.5 * last, "{steps}: {worst}");
        last = worst;
    }
    // At 0.3 mm a step what is left is the table's own 1e-4.
    assert!(last < 2e-4, "{last}");
}

#[test]
fn spinning_disc_line_pass() {
    // Lin (2014), eq. 5: g(s) = √(1−s²) + s² ln((1+√(1−s²))/|s|); maximum 1.199679 at s = 0.552434.
    let pad = linear_pad(140.0, 1e6);
    let c = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 10.0, &ContactSettings::default()).unwrap();
    let spin = 100.0;
    let f = Footprint::new(&c, &Patch::flat(), 0.0, spin);
    let unit = 0.07 * 0.07 * c.mean_pressure_pa * spin;
    // g(0.75) is 1.1088309 by the formula; a table that prints 1.108830 is off by 9e-7.
    let formula = |s: f64| {
        let root = (1.0 - s * s).sqrt();
        root + s * s * ((1.0 + root) / s).ln()
    };
    for (s, table) in [(0.25, 1.097211), (0.5, 1.195265), (0.75, 1.108830), (0.9, 0.814278), (0.552434, 1.199679)] {
        assert!((formula(s) - table).abs() < 1.5e-6, "the printed table, one unit of its last digit: {s}");
        let got = pass_profile(&f, 0.3, &[s * 0.07])[0] / unit;
        // In units of p ω R² the line integral over the chord is g itself; the table's own bound.
        assert!((got / formula(s) - 1.0).abs() < 1e-4, "{s}: {got} {}", formula(s));
    }
}

#[test]
fn overlap_ripple_of_the_published_profile() {
    // Superposed line passes of a spinning disc: the published g(s) summed by hand at each spacing.
    let pad = linear_pad(140.0, 1e6);
    let c = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 10.0, &ContactSettings::default()).unwrap();
    let f = Footprint::new(&c, &Patch::flat(), 0.0, 100.0);
    let g = |s: f64| {
        let s = s.abs();
        if s >= 1.0 {
            return 0.0;
        }
        let root = (1.0 - s * s).sqrt();
        if s < 1e-12 { root } else { root + s * s * ((1.0 + root) / s).ln() }
    };
    for overlap in [0.2, 0.5, 0.75] {
        let spacing = 2.0 * (1.0 - overlap);
        let sums: Vec<f64> = (0..400)
            .map(|i| {
                let y = spacing * (f64::from(i) + 0.5) / 400.0;
                (-12..=12).map(|n| g(y - f64::from(n) * spacing)).sum()
            })
            .collect();
        let mean = sums.iter().sum::<f64>() / 400.0;
        let (low, high) = sums.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(*v), h.max(*v)));
        let got = ripple(&f, 0.0, &[spacing * 0.07]).unwrap()[0];
        // The rim of a disc without an orbit is a square-root corner, which the table rounds by 1e-3.
        assert!((got.peak_to_valley - (high - low) / mean).abs() < 2e-3, "{overlap}: {got:?} {}", (high - low) / mean);
    }
}

#[test]
fn volume_balance() {
    let tool = free_tool(12.0, 4200.0, 0.05, 1e-4);
    for patch in
        [Patch::flat(), sphere(-1.0), Patch::cylinder(Curvature::from_per_m(1.5), Angle::from_deg(20.0)).unwrap()]
    {
        let s = setup(tool.clone(), linear_pad(130.0, 9e5), 0.35, 35.0, patch);
        let state = spin_state(&s, &patch, &ContactSettings::default()).unwrap();
        // A panel so large that nothing falls past its edge.
        let inset = PathOptions { inset: 0.1, ..PathOptions::default() };
        let path = ToolPath::over_rectangle_with((0.3, 0.26), Pattern::Crosshatch, 2, 0.065, 0.04, &inset).unwrap();
        let panel = Panel::new(patch, Length::from_mm(300.0), Length::from_mm(260.0)).unwrap();
        let mut errors = Vec::new();
        for cell in [1e-3, 0.5e-3, 0.25e-3] {
            let map = panel_map(&s, &state, &panel, path.clone(), cell).unwrap();
            let on_grid = 2e-11 * map.field.work.iter().sum::<f64>() * map.field.grid.cell_area();
            errors.push(on_grid / map.volume_m3 - 1.0);
        }
        // Sampling at cell centres errs by the square of the cell; taken out, the deposit itself keeps
        // the volume to a millionth.
        assert!(errors[2].abs() < 0.5 * errors[1].abs() && errors[1].abs() < 0.5 * errors[0].abs(), "{errors:?}");
        let without_cells = (4.0 * errors[2] - errors[1]) / 3.0;
        assert!(without_cells.abs() < 1e-6, "{errors:?} {without_cells:e}");
        let map = panel_map(&s, &state, &panel, path, 1e-3).unwrap();
        assert!(map.spill_m3.abs() < 1e-6 * map.volume_m3, "{}", map.spill_m3 / map.volume_m3);
        // The mask that covers everything averages to the whole volume.
        let all = map.statistics(&map.field.work, 2e-11, Mask::Panel).unwrap();
        assert!((all.mean * 0.078 / map.volume_m3 - 1.0).abs() < 1e-4, "cells of 1 mm");
    }
}

#[test]
fn unrolled_cylinder_is_the_flat_where_it_is_straight() {
    // A cylinder so gentle that its gap is below a nanometre works as a flat.
    let flat = footprint(&Patch::flat(), &Hold::Flat);
    let nearly = Patch::cylinder(Curvature::from_per_m(1e-9), Angle::from_deg(0.0)).unwrap();
    let round = footprint(&nearly, &Hold::Flat);
    for (x, y) in [(0.0, 0.0), (0.03, 0.02), (0.065, 0.01), (0.0, 0.074)] {
        let (a, b) = (flat.at(x, y).work, round.at(x, y).work);
        // Relative change of the pressure k·κ·R²/p ≈ 2e-6 Pa/2 kPa.
        assert!((a - b).abs() <= 1e-8 * a, "{x} {y} {a} {b}");
    }
}
