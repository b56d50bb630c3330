//! Grain simulation: deposits a second in both precisions, over cells, grains and what is summed.
//!
//! The figures in `benches/record` were made for the CPU named there, with
//! `RUSTFLAGS="-C target-cpu=native"`; a plain build targets baseline x86-64, without fused additions.

#[path = "cases/contact.rs"]
mod case;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use trochoid::Curvature;
use trochoid::math::random::Seed;
use trochoid::motion::{Face, Leg, ToolPath};
use trochoid::panel::Patch;
use trochoid::removal::{
    GrainCase, GrainSettings, Grains, Grid, Precision, Quantity, Travel, grain_fields, grain_quantity,
};

fn benches(c: &mut Criterion) {
    let flat = Patch::flat();
    let Ok(crown) = Patch::sphere(Curvature::from_per_m(0.5)) else { return };
    let (Ok((pad, on_flat)), Ok((_, on_crown))) = (case::contact(&flat), case::contact(&crown)) else { return };
    // 100 mm in 2.5 s: 10 667 steps.
    let Ok(path) = ToolPath::from_legs(vec![Leg::steady((0.25, 0.3), (0.35, 0.3), 0.04, 0)]) else { return };
    let Ok(grains) = Grains::random(&Face::new(&pad, 8e-3), 4096, Seed::new(1)) else { return };
    for (name, contact, patch) in [("flat", &on_flat, &flat), ("crown", &on_crown, &crown)] {
        let mut group = c.benchmark_group(format!("grains/{name}"));
        group.sample_size(10);
        for side in [300_usize, 1200] {
            let Ok(grid) = Grid::over((0.6, 0.6), 0.6 / side as f64) else { return };
            let case = GrainCase {
                contact,
                patch,
                rate_rad_s: 418.9,
                spin_rad_s: 31.4,
                start_rad: (0.0, 0.0),
                grains: &grains,
                travel: Travel::Along(&path),
                grid,
            };
            group.throughput(Throughput::Elements(10_667 * 4096));
            for (word, precision) in [("double", Precision::Double), ("single", Precision::Single)] {
                let settings = GrainSettings { precision, ..GrainSettings::default() };
                group.bench_with_input(BenchmarkId::new(format!("work/{word}"), side), &case, |b, case| {
                    b.iter(|| grain_quantity(case, Quantity::Work, &settings));
                });
                group.bench_with_input(BenchmarkId::new(format!("all/{word}"), side), &case, |b, case| {
                    b.iter(|| grain_fields(case, &settings));
                });
            }
        }
        group.finish();
    }
}

criterion_group!(group, benches);
criterion_main!(group);
