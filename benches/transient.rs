//! Two seconds of motion: landing, a change of place with a ramp, lifting.
//!
//! The bound set for it is 50 ms on a flat or spherical panel. Figures in `record/` are of builds for the
//! machine's own CPU (`RUSTFLAGS="-C target-cpu=native" cargo bench --bench transient`).

use core::hint::black_box;
use criterion::{Criterion, criterion_group, criterion_main};
use trochoid::equipment::{Bearing, CompressionLaw, Motor, Pad, Product, Tool};
use trochoid::panel::Patch;
use trochoid::spin::{
    Footing, FrictionMode, Piece, Schedule, Setup, Start, TransientError, TransientSettings, run_transient,
    settling_time, spin_state,
};
use trochoid::{
    Angle, AngularRate, Curvature, Force, Inertia, Length, Power, RangeError, Stiffness, Time, Torque, ViscousDrag,
};

fn setup() -> Result<Setup, RangeError> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?
        .with_spin_inertia(Inertia::from_kgm2(4.2e-4))?
        .with_motor(Motor::new(Power::from_w(500.0), Power::from_w(100.0))?);
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
    Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))
}

/// In the air, landing within 50 ms, on the first patch, over 0.2 s to the second one, off again.
fn schedule(first: Patch, second: Patch) -> Result<Schedule, TransientError> {
    let place = |patch| Footing::square(patch, Force::from_n(35.0));
    let piece = |from: f64, to: f64, ramp: f64, footing| -> Result<Piece, RangeError> {
        Piece::new(Time::from_s(from), Time::from_s(to), footing)?.with_ramp(Time::from_s(ramp))
    };
    Schedule::new(vec![
        piece(0.0, 0.3, 0.0, Footing::Lifted)?,
        piece(0.3, 0.9, 0.05, place(first))?,
        piece(0.9, 1.6, 0.2, place(second))?,
        piece(1.6, 2.0, 0.05, Footing::Lifted)?,
    ])
}

fn transient(c: &mut Criterion) {
    let Ok(s) = setup() else { return };
    let sphere = |k: f64| Patch::sphere(Curvature::from_per_m(k));
    let cylinder = |k: f64| Patch::cylinder(Curvature::from_per_m(k), Angle::from_deg(0.0));
    let pairs = [
        ("flat", Ok(Patch::flat()), Ok(Patch::flat())),
        ("crown to hollow", sphere(0.5), sphere(-0.8)),
        ("cylinders", cylinder(1.0), cylinder(-1.0)),
    ];
    for (name, first, second) in pairs {
        let (Ok(first), Ok(second)) = (first, second) else { continue };
        let Ok(what) = schedule(first, second) else { continue };
        let settings = TransientSettings::default();
        if let Ok(run) = run_transient(&s, &what, &Start::default(), &settings) {
            println!(
                "{name}: {} steps, {} rejected, {} contacts, {} sums over the face, residual {:.1e}",
                run.accepted,
                run.rejected,
                run.contacts,
                run.friction_sums,
                run.energy.residual_share()
            );
        }
        c.bench_function(&format!("transient/{name}, 2 s"), |b| {
            b.iter(|| run_transient(black_box(&s), &what, &Start::default(), &settings));
        });
        let phase = TransientSettings { friction: FrictionMode::Phase, ..settings };
        c.bench_function(&format!("transient/{name}, 2 s, by phase"), |b| {
            b.iter(|| run_transient(black_box(&s), &what, &Start::default(), &phase));
        });
    }
    if let Ok(state) = spin_state(&s, s.patch(), &TransientSettings::default().contact) {
        c.bench_function("transient/settling time", |b| b.iter(|| settling_time(black_box(&s), &state)));
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = transient
}
criterion_main!(benches);
