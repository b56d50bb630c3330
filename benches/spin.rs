//! Spin equilibria, contact included.
//!
//! `spin/random crowns` draws from the ranges of the independent baselines (see
//! `examples/peer_cases.rs`). Figures in `record/` are of builds for the machine's own CPU
//! (`RUSTFLAGS="-C target-cpu=native" cargo bench --bench spin`).

use core::hint::black_box;
use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::panel::Patch;
use trochoid::spin::{Setup, TorqueBalance, friction_sums, spin_state};
use trochoid::{Angle, AngularRate, Curvature, Force, Length, RangeError, Stiffness, Torque, ViscousDrag};

fn setup(force: f64, radius: f64, orbit: f64, opm: f64, patch: Patch) -> Result<Setup, RangeError> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(2e-4))?;
    let tool = Tool::free(Length::from_m(2.0 * orbit), AngularRate::from_opm(opm), bearing)?;
    let pad = Pad::new(
        Length::from_m(2.0 * radius),
        Length::from_mm(25.0),
        CompressionLaw::linear(Stiffness::from_pa_per_m(8e6))?,
    )?;
    Setup::new(tool, pad, Product::new(0.4, 2e-11)?, patch, Force::from_n(force))
}

fn random(count: u64) -> Result<Vec<Setup>, RangeError> {
    // A 64-bit mix by Steele, Lea and Flood, OOPSLA 2014.
    let mut state = 5_u64;
    let mut between = |low: f64, high: f64| {
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        low + (high - low) * ((z >> 11) as f64 / (1_u64 << 53) as f64)
    };
    (0..count)
        .map(|_| {
            let (force, radius, orbit) = (between(15.0, 40.0), between(0.025, 0.09), between(0.0015, 0.01));
            let (opm, k) = (between(2000.0, 6000.0), between(0.0, 4.0));
            setup(force, radius, orbit, opm, Patch::sphere(Curvature::from_per_m(k))?)
        })
        .collect()
}

fn spin(c: &mut Criterion) {
    let settings = ContactSettings::default();
    let k = Curvature::from_per_m;
    let places = [
        ("flat", Ok(Patch::flat())),
        ("crown", Patch::sphere(k(1.5))),
        ("hollow", Patch::sphere(k(-0.1))),
        ("cylinder", Patch::cylinder(k(1.5), Angle::from_deg(0.0))),
    ];
    for (name, patch) in places {
        let Ok(s) = patch.and_then(|p| setup(30.0, 0.065, 6e-3, 4200.0, p)) else { continue };
        c.bench_function(&format!("spin/{name}"), |b| b.iter(|| spin_state(black_box(&s), s.patch(), &settings)));
        let Ok(state) = spin_state(&s, s.patch(), &settings) else { continue };
        let Some(drag) = s.spindle_drag() else { continue };
        let rate = s.tool().rate().rad_s();
        let balance = TorqueBalance { load: &state.contact.load, friction: 0.4, rate, drag };
        c.bench_function(&format!("spin/{name}, balance alone"), |b| b.iter(|| balance.equilibrium(black_box(1e-8))));
        c.bench_function(&format!("spin/{name}, one torque"), |b| {
            b.iter(|| friction_sums(&state.contact.load, rate, black_box(20.0)));
        });
    }
    if let Ok(setups) = random(256) {
        c.bench_function("spin/256 random crowns", |b| {
            b.iter_batched(
                || (),
                |()| {
                    setups.iter().filter_map(|s| spin_state(s, s.patch(), &settings).ok()).map(|s| s.spin).sum::<f64>()
                },
                BatchSize::SmallInput,
            );
        });
    }
}

criterion_group!(benches, spin);
criterion_main!(benches);
