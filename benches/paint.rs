//! Paint: calibration from test spots, and a film map from gauge readings.

use criterion::{Criterion, criterion_group, criterion_main};
use trochoid::Length;
use trochoid::budget::{
    BudgetError, CalibrationSettings, CovarianceShape, FilmMapSettings, FilmSettings, GaugeKind, GaugeReading, Look,
    PairedReading, SwirlsLeft, TestSpot, calibrate, film_map, film_summaries,
};
use trochoid::equipment::{Pairing, Product, Substrate};

/// Spots of 4 µm each, read at two places and judged by eye.
fn spots(count: u32) -> Result<Vec<TestSpot>, BudgetError> {
    (0..count)
        .map(|i| {
            let mut spot = TestSpot::new(&format!("spot {i}"), 2e5, 4)?;
            let one = Length::from_um(1.0);
            for j in 0..2 {
                let after = Length::from_um(116.0 + f64::from((i + j) % 3) - 1.0);
                spot = spot.with_pair(PairedReading::new(Length::from_um(120.0), after, one, one, 1)?)?;
            }
            spot.with_look(Look { passes: 4, left: SwirlsLeft::Few, haze: false })
        })
        .collect()
}

/// Readings over 1.2 m x 0.8 m whose places and film come from multiples of irrational numbers.
fn readings(count: u32) -> Result<Vec<GaugeReading>, BudgetError> {
    (0..count)
        .map(|i| {
            let part = |k: f64| (f64::from(i) * k).fract();
            let (x, y) = (1200.0 * part(0.754_877), 800.0 * part(0.569_840));
            let film = 115.0 + 8.0 * (x / 250.0).sin() + 5.0 * (y / 180.0).cos() + 3.0 * (part(0.618_034) - 0.5);
            let uncertainty = Length::from_um(1.5);
            let film = Length::from_um(film);
            Ok(GaugeReading::new("door", film, GaugeKind::Magnetic, uncertainty, Substrate::Steel)?
                .at(Length::from_mm(x), Length::from_mm(y))?)
        })
        .collect()
}

fn benches(c: &mut Criterion) {
    let pairing = Product::new(0.35, 2e-11).and_then(|p| Pairing::new(p, 0.5));
    let (Ok(spots), Ok(pairing), Ok(readings)) = (spots(20), pairing, readings(500)) else { return };
    let settings = CalibrationSettings::default();
    c.bench_function("paint/calibrate/20", |b| b.iter(|| calibrate(&pairing, &spots, &settings)));
    let Ok(films) = film_summaries(&readings, &FilmSettings::default()) else { return };
    let map = FilmMapSettings {
        from: (0.0, 0.0),
        to: (1.2, 0.8),
        points: (60, 40),
        level: 0.9,
        shape: CovarianceShape::Exponential,
    };
    let mut slow = c.benchmark_group("paint");
    slow.sample_size(10);
    slow.bench_function("film_map/500", |b| b.iter(|| film_map(&readings, &films[0], &map)));
    slow.finish();
}

criterion_group!(group, benches);
criterion_main!(group);
