//! Dwell on a grid of 100 x 100 places: one application of the operator either way, and the whole solve
//! to 0.1 % of the best residual.
//!
//! The case is that of `examples/peer_cases.rs`, case `e`. The figures in `benches/record` were made for
//! the CPU named there, with `RUSTFLAGS="-C target-cpu=native"` where they say so.

use criterion::{Criterion, criterion_group, criterion_main};
use trochoid::plan::{
    DirectGridOperator, DwellOperator, DwellProblem, DwellSettings, FootprintKernel, GridOperator, solve_dwell,
};

/// Cells a side.
const SIDE: usize = 100;

/// A disc of 70 mm radius on an orbit of 8 mm, weighted toward its rim, on cells of 6 mm.
fn kernel() -> Option<FootprintKernel> {
    let half = 13_usize;
    let side = 2 * half + 1;
    let weights: Vec<f64> = (0..side * side)
        .map(|k| {
            let (x, y) = ((k % side) as f64 - half as f64, (k / side) as f64 - half as f64);
            let r = 6.0 * x.hypot(y);
            (1.0 + 0.1 * (r / 70.0).powi(2)) * ((78.0 - r) / 16.0).clamp(0.0, 1.0)
        })
        .collect();
    let sum: f64 = weights.iter().sum();
    FootprintKernel::new(half, weights.iter().map(|w| w / sum).collect()).ok()
}

/// Even cut well inside the panel, falling to zero at its edges, with two deeper spots.
fn target() -> Vec<f64> {
    (0..SIDE * SIDE)
        .map(|k| {
            let (x, y) = (6.0 * ((k % SIDE) as f64), 6.0 * ((k / SIDE) as f64));
            let edge = x.min(y).min(600.0 - x).min(600.0 - y);
            let spot = |cx: f64, cy: f64, w: f64| (-((x - cx).powi(2) + (y - cy).powi(2)) / (2.0 * w * w)).exp();
            (1.0 + 0.6 * spot(210.0, 340.0, 25.0) + 0.4 * spot(400.0, 190.0, 45.0))
                / (1.0 + (-(edge - 90.0) / 12.0).exp())
        })
        .collect()
}

fn benches(c: &mut Criterion) {
    let Some(kernel) = kernel() else { return };
    let (Ok(mut fast), Ok(mut slow)) =
        (GridOperator::new((SIDE, SIDE), &kernel), DirectGridOperator::new((SIDE, SIDE), kernel.clone()))
    else {
        return;
    };
    let dwell = vec![1.0; SIDE * SIDE];
    let mut cut = vec![0.0; SIDE * SIDE];
    c.bench_function("dwell/apply/transforms", |b| b.iter(|| fast.apply(&dwell, &mut cut)));
    c.bench_function("dwell/apply/transposed", |b| b.iter(|| fast.apply_transposed(&dwell, &mut cut)));
    c.bench_function("dwell/apply/sums", |b| b.iter(|| slow.apply(&dwell, &mut cut)));
    let Ok(problem) = DwellProblem::new(target(), SIDE * SIDE) else { return };
    let hundred = DwellSettings { iterations: 100, settled_rel: 0.0, ..DwellSettings::default() };
    c.bench_function("dwell/solve/100 iterations", |b| b.iter(|| solve_dwell(&mut fast, &problem, &hundred)));
}

criterion_group!(group, benches);
criterion_main!(group);
