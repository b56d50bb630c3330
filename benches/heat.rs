//! Heat: a whole panel at the cells of the promise and at the default ones, and a pad over a whole vehicle.

#[path = "cases/heat.rs"]
mod case;

use case::ROOM;
use criterion::{Criterion, criterion_group, criterion_main};
use trochoid::equipment::Substrate;
use trochoid::heat::{
    BulkHeat, Cooling, Material, PadDisc, PadEvent, PadSettings, PanelContact, PanelHeatSettings, Plate, Spread,
    heat_panel, pad_history,
};
use trochoid::units::{Area, Energy, Power, Temperature, Time, Volume};
use trochoid::wear::{PadKind, RotationJob, SectionWork, rotate};
use trochoid::{Length, RangeError};

/// Fifty sections of three minutes with twenty seconds between them, blown out after every second one.
fn vehicle() -> Result<(PadDisc, Vec<PadEvent>), RangeError> {
    let mm = Length::from_mm;
    let disc = PadDisc::new((mm(65.0), mm(0.0), mm(25.0)), Material::foam().thermal, ROOM, (10.0, 40.0, 0.0))?;
    let contact = PanelContact { coefficient: 300.0, panel: Temperature::from_c(26.0) };
    let bulk = BulkHeat::new(4e3, 1e3)?;
    let mut events = Vec::new();
    for i in 0..50 {
        events.push(PadEvent::Work {
            time: Time::from_min(3.0),
            face: Power::from_w(40.0),
            bulk,
            panel: Some(contact),
        });
        let time = Time::from_s(20.0);
        events.push(if i % 2 == 1 { PadEvent::Blow { time, coefficient: 200.0 } } else { PadEvent::Rest { time } });
    }
    Ok((disc, events))
}

fn panel(c: &mut Criterion) -> Result<(), RangeError> {
    let sources = case::sources(600.0)?;
    let spreads = [Spread::orbiting_disc(Length::from_mm(65.0), Length::from_mm(7.0))?];
    let cooling = Cooling::new(ROOM, 10.0, 10.0)?;
    let mut group = c.benchmark_group("heat/panel/600s");
    group.sample_size(10);
    for (substrate, name) in
        [(Substrate::Steel, "steel"), (Substrate::Aluminium, "aluminium"), (Substrate::Plastic, "plastic")]
    {
        let plate = Plate::painted(substrate);
        let job = case::panel_job(&plate, &cooling, &spreads, &sources);
        for mm in [2.0, 4.0] {
            let settings = PanelHeatSettings { cell_m: Length::from_mm(mm).m(), ..PanelHeatSettings::default() };
            group.bench_function(format!("{name}/{mm:.0}mm"), |b| b.iter(|| heat_panel(&job, &settings)));
        }
    }
    group.finish();
    Ok(())
}

fn pads(c: &mut Criterion) -> Result<(), RangeError> {
    let (disc, events) = vehicle()?;
    let settings = PadSettings::default();
    c.bench_function("heat/pad/vehicle", |b| b.iter(|| pad_history(&disc, &events, None, &settings)));
    let section = SectionWork {
        kind: 0,
        work: Energy::from_kj(5.8),
        time: Time::from_min(3.0),
        nominal_removal: Volume::from_ml(0.4),
        product: Volume::from_ml(0.75),
        solids_share: 0.4,
    };
    let job = RotationJob {
        kinds: vec![PadKind::new("cutting", Area::from_m2(0.0133))],
        sections: vec![section; 50],
        air: ROOM,
        changeover: Time::from_s(20.0),
    };
    c.bench_function("heat/rotation/vehicle", |b| b.iter(|| rotate(&job, 40)));
    Ok(())
}

fn benches(c: &mut Criterion) {
    // The descriptions are constant; one that is refused leaves its benchmarks out, which shows.
    let _ = panel(c);
    let _ = pads(c);
}

criterion_group!(group, benches);
criterion_main!(group);
