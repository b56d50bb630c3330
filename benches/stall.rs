//! Stall limits of one set-up: on a sphere, at reversal and along the panel's own shape.
//!
//! Figures in `record/` are of builds for the machine's own CPU
//! (`RUSTFLAGS="-C target-cpu=native" cargo bench --bench stall`).

use core::hint::black_box;
use criterion::{Criterion, criterion_group, criterion_main};
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::panel::Patch;
use trochoid::spin::{Setup, StallSettings, stall_limits};
use trochoid::{Angle, AngularRate, Curvature, Force, Length, Pressure, RangeError, Stiffness, Torque, ViscousDrag};

fn setup(law: CompressionLaw, patch: Patch) -> Result<Setup, RangeError> {
    let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(1e-4))?;
    let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_opm(4200.0), bearing)?;
    let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?
        .with_plate(Length::from_mm(125.0))?
        .with_shear_modulus(Pressure::from_kpa(15.0))?;
    Setup::new(tool, pad, Product::new(0.35, 2e-11)?, patch, Force::from_n(35.0))
}

fn laws() -> Result<[(&'static str, CompressionLaw); 2], RangeError> {
    let stress: Vec<_> = [3.0, 3.8, 5.0, 8.0].iter().map(|p| Pressure::from_kpa(*p)).collect();
    Ok([
        ("linear", CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?),
        ("measured", CompressionLaw::measured(&[0.25, 0.4, 0.5, 0.65], &stress)?),
    ])
}

fn stall(c: &mut Criterion) {
    let Ok(laws) = laws() else { return };
    for (law, curve) in laws {
        for (place, patch) in [
            ("flat", Ok(Patch::flat())),
            ("sphere", Patch::sphere(Curvature::from_per_m(-1.0))),
            (
                "fender hollow",
                Patch::quadric(Curvature::from_per_m(-1.5), Curvature::from_per_m(-0.2), Angle::from_deg(0.0)),
            ),
        ] {
            let Ok(s) = patch.and_then(|p| setup(curve.clone(), p)) else { continue };
            c.bench_function(&format!("stall/{place}/{law}"), |b| {
                b.iter(|| stall_limits(black_box(&s), &StallSettings::default(), 1.0));
            });
        }
    }
}

criterion_group!(benches, stall);
criterion_main!(benches);
