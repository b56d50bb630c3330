//! Many designs: the sphere that stalls one, spin, stall and cut of ten thousand, what one does over a fleet.
//!
//! Figures in `record/` are of builds for the machine's own CPU
//! (`RUSTFLAGS="-C target-cpu=native" cargo bench --bench sizing`); the million is that of
//! `examples/peer_cases designs`.

use core::hint::black_box;
use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Substrate, Tool};
use trochoid::math::reduce::with_threads;
use trochoid::panel::Patch;
use trochoid::plan::Working;
use trochoid::plan::sizing::{Design, Duty, Fleet, FleetPanel, evaluate_designs, performance};
use trochoid::spin::{Setup, StallSettings, stall_curvature, stalling_sphere};
use trochoid::{AngularRate, Curvature, Force, Length, Pressure, RangeError, Speed, Stiffness, Torque, ViscousDrag};

fn setup(law: CompressionLaw, throw_mm: f64) -> Result<Setup, RangeError> {
    let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(1e-4))?;
    let tool = Tool::free(Length::from_mm(throw_mm), AngularRate::from_opm(4200.0), bearing)?;
    let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
    Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::sphere(Curvature::from_per_m(0.5))?, Force::from_n(35.0))
}

fn linear() -> Result<CompressionLaw, RangeError> {
    CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))
}

fn measured() -> Result<CompressionLaw, RangeError> {
    let stress: Vec<_> = [3.0, 3.8, 5.0, 8.0].iter().map(|p| Pressure::from_kpa(*p)).collect();
    CompressionLaw::measured(&[0.25, 0.4, 0.5, 0.65], &stress)
}

fn sizing(c: &mut Criterion) {
    let settings = StallSettings::default();
    for (name, law) in [("linear", linear()), ("measured", measured())] {
        let Ok(s) = law.and_then(|l| setup(l, 12.0)) else { continue };
        let flat = s.clone().on(Patch::flat());
        c.bench_function(&format!("sphere/scan/{name}"), |b| {
            b.iter(|| stall_curvature(black_box(&flat), &settings, 1.0));
        });
        c.bench_function(&format!("sphere/fast/{name}"), |b| {
            b.iter(|| stalling_sphere(black_box(&s), &settings, 1.0));
        });
        let Ok(fleet) = Fleet::new(vec![FleetPanel { name: "own".into(), patch: *s.patch(), share: 1.0 }]) else {
            continue;
        };
        let duty = Duty {
            fleet,
            enough_margin_per_m: 2.0,
            target_cut: Length::from_um(2.0),
            substrate: Substrate::Steel,
            settings,
        };
        let Ok(design) = Design::new(s, Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 }) else { continue };
        c.bench_function(&format!("performance/{name}"), |b| b.iter(|| performance(black_box(&design), &duty)));
    }
    let mut group = c.benchmark_group("designs");
    group.sample_size(10);
    for count in [1000, 10_000] {
        for threads in [1, 2] {
            let design = |i: usize| setup(linear()?, 6.0 + 12.0 * i as f64 / count as f64);
            group.bench_function(BenchmarkId::new(format!("threads{threads}"), count), |b| {
                with_threads(threads, || b.iter(|| evaluate_designs(count, design, &settings)));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, sizing);
criterion_main!(benches);
