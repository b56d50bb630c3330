//! Contact solutions: flat, sphere, cylinder and tilted, with each compression law.
//!
//! The figures in `record/` are of builds for the machine's own CPU
//! (`RUSTFLAGS="-C target-cpu=native" cargo bench --bench contact`); a plain `cargo bench` builds
//! for the baseline of the target triple and is slower by what the record says.

use core::hint::black_box;
use criterion::{Criterion, criterion_group, criterion_main};
use trochoid::contact::{ContactSettings, Hold, solve};
use trochoid::equipment::{CompressionLaw, Interface, Pad};
use trochoid::panel::Patch;
use trochoid::{Angle, Curvature, Length, Pressure, RangeError, Stiffness};

const ORBIT: f64 = 6e-3;
const FORCE: f64 = 35.0;

fn pads() -> Result<Vec<(&'static str, Pad)>, RangeError> {
    let pad = |law| Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law);
    let linear = pad(CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?)?;
    let stress: Vec<_> = [3.0, 3.8, 5.0, 8.0].iter().map(|p| Pressure::from_kpa(*p)).collect();
    let measured = pad(CompressionLaw::measured(&[0.25, 0.4, 0.5, 0.65], &stress)?)?;
    let layer = Interface::new(Length::from_mm(10.0), Stiffness::from_kpa_per_mm(0.6))?;
    Ok(vec![
        ("linear", linear.clone()),
        ("measured", measured.clone()),
        ("interface", measured.with_interface(layer)),
        ("overhang", linear.with_plate(Length::from_mm(110.0))?),
    ])
}

fn places() -> Result<Vec<(&'static str, Patch, Hold)>, RangeError> {
    let k = Curvature::from_per_m;
    Ok(vec![
        ("flat", Patch::flat(), Hold::Flat),
        ("crown", Patch::sphere(k(1.5))?, Hold::Flat),
        ("hollow", Patch::sphere(k(-1.5))?, Hold::Flat),
        ("cylinder", Patch::cylinder(k(-1.5), Angle::from_deg(0.0))?, Hold::Flat),
        ("tilted", Patch::sphere(k(1.0))?, Hold::tilted(Angle::from_deg(1.0), Angle::from_deg(0.5))?),
    ])
}

fn contact(c: &mut Criterion) {
    let (Ok(pads), Ok(places)) = (pads(), places()) else { return };
    let settings = ContactSettings::default();
    for (law, pad) in &pads {
        for (place, patch, hold) in &places {
            c.bench_function(&format!("contact/{place}/{law}"), |b| {
                b.iter(|| solve(black_box(pad), black_box(patch), ORBIT, hold, black_box(FORCE), &settings));
            });
        }
    }
}

criterion_group!(benches, contact);
criterion_main!(benches);
