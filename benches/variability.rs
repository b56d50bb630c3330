//! A hand that varies: trials of one section, tables of the response, the whole comparison.
//!
//! The figures in `benches/record` were made for the CPU named there.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Pairing, Product, Tool};
use trochoid::math::reduce::{map_indexed, with_threads};
use trochoid::motion::{PathOptions, Pattern};
use trochoid::panel::{Panel, Patch};
use trochoid::plan::{HandScatter, HandTrials, Response, StepTask, VariabilitySettings, Working, hand_variability};
use trochoid::spin::{Setup, SpinState, spin_state};
use trochoid::{AngularRate, Curvature, Force, Length, Speed, Stiffness, Torque, ViscousDrag};

/// Four crossed passes over a section of 450 mm by 450 mm of a gentle crown.
fn section() -> Option<(StepTask, SpinState)> {
    let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(1e-4)).ok()?;
    let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_opm(4200.0), bearing).ok()?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9)).ok()?;
    let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law).ok()?;
    let product = Product::new(0.35, 2e-11).ok()?;
    let patch = Patch::sphere(Curvature::from_per_m(0.5)).ok()?;
    let setup = Setup::new(tool, pad, product, patch, Force::from_n(35.0)).ok()?;
    let run = spin_state(&setup, &patch, &ContactSettings::default()).ok()?;
    let task = StepTask {
        panel: Panel::new(patch, Length::from_mm(450.0), Length::from_mm(450.0)).ok()?,
        setup,
        surface: None,
        pairing: Pairing::of(product),
        working: Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 },
        passes: 4,
        phases: Vec::new(),
        pattern: Pattern::Crosshatch,
        path_options: PathOptions::default(),
        target_cut: None,
        cell: Length::from_mm(2.0),
        drag_range: (0.5, 2.0),
    };
    Some((task, run))
}

fn benches(c: &mut Criterion) {
    let Some((task, run)) = section() else { return };
    let (hand, settings) = (HandScatter::default(), VariabilitySettings::default());
    c.bench_function("variability/tables", |b| b.iter(|| Response::new(&task.setup, &run, &hand, &settings.contact)));
    let Ok(Some(trials)) = HandTrials::new(&task, &run, task.passes, &hand, &settings) else { return };
    c.bench_function("variability/one_trial", |b| b.iter(|| trials.trial(7)));
    let mut panels = c.benchmark_group("variability/1000_panels");
    panels.sample_size(10).throughput(Throughput::Elements(1000));
    for threads in [1_usize, 2] {
        panels.bench_function(BenchmarkId::from_parameter(threads), |b| {
            b.iter(|| with_threads(threads, || map_indexed(1000, |i| trials.trial(i as u64).stalled_share)));
        });
    }
    panels.finish();
    let mut whole = c.benchmark_group("variability/with_comparisons");
    whole.sample_size(10);
    for replicates in [500_usize, 1000] {
        let settings = VariabilitySettings { replicates, ..settings };
        whole.bench_with_input(BenchmarkId::from_parameter(replicates), &settings, |b, s| {
            b.iter(|| with_threads(2, || hand_variability(&task, &run, task.passes, &hand, None, s)));
        });
    }
    whole.finish();
}

criterion_group!(group, benches);
criterion_main!(group);
