//! Deposit of a footprint: tables, and the deposit itself over legs and cells.
//!
//! The figures in `benches/record` were made for the CPU named there, with
//! `RUSTFLAGS="-C target-cpu=native"` where they say so; a plain build targets baseline x86-64.

#[path = "cases/contact.rs"]
mod case;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use trochoid::motion::{Pattern, ToolPath};
use trochoid::panel::Patch;
use trochoid::removal::{Footprint, Grid, Quantity, SweptPath};
use trochoid::{Angle, Curvature};

fn footprint(patch: &Patch) -> Option<Footprint> {
    let (_, contact) = case::contact(patch).ok()?;
    Some(Footprint::new(&contact, patch, 418.9, 31.4))
}

fn path(passes: usize) -> Option<ToolPath> {
    ToolPath::over_rectangle((0.6, 0.6), Pattern::Crosshatch, passes, 0.07, 0.04).ok()
}

fn benches(c: &mut Criterion) {
    let cylinder = Patch::cylinder(Curvature::from_per_m(-1.0), Angle::from_deg(0.0));
    let (Some(round), Some(two), Ok(cylinder)) = (footprint(&Patch::flat()), path(2), cylinder) else { return };
    let Some(long) = footprint(&cylinder) else { return };
    c.bench_function("deposit/tables/round", |b| b.iter(|| SweptPath::new(&round, &two, Quantity::Work)));
    c.bench_function("deposit/tables/cylinder", |b| b.iter(|| SweptPath::new(&long, &two, Quantity::Work)));
    let mut cells = c.benchmark_group("deposit/cells");
    for side in [150_usize, 300, 600, 1200] {
        let Ok(grid) = Grid::over((0.6, 0.6), 0.6 / side as f64) else { return };
        let swept = SweptPath::new(&round, &two, Quantity::Work);
        cells.throughput(Throughput::Elements((side * side) as u64));
        cells.bench_with_input(BenchmarkId::from_parameter(side), &grid, |b, g| b.iter(|| swept.onto(g)));
    }
    cells.finish();
    let mut legs = c.benchmark_group("deposit/passes");
    let Ok(grid) = Grid::over((0.6, 0.6), 2e-3) else { return };
    for passes in [1_usize, 2, 4, 8] {
        let Some(p) = path(passes) else { return };
        let swept = SweptPath::new(&round, &p, Quantity::Work);
        legs.throughput(Throughput::Elements(p.legs().len() as u64));
        legs.bench_with_input(BenchmarkId::from_parameter(passes), &grid, |b, g| b.iter(|| swept.onto(g)));
    }
    legs.finish();
}

criterion_group!(group, benches);
criterion_main!(group);
