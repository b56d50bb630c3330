//! How hot does the paint on a plastic part get, and how fast must the pad move to keep it cool?
//!
//! ```text
//! cargo run --release --example 09_heat_on_plastic [FOLDER]
//! ```
//!
//! The same four passes over one section of steel, aluminium, composite and plastic at several feeds, and on
//! plastic what milder settings do. Writes `09_heat_on_plastic.svg` and `.png` to FOLDER (`out/examples`).
//! Hot plastic gives way and hot pads burn: the limit drawn is a rule of the trade, not that of a maker.

use std::error::Error;
use std::path::PathBuf;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Pairing, Product, Substrate, Tool};
use trochoid::motion::{PathOptions, Pattern};
use trochoid::panel::{Panel, Patch};
use trochoid::plan::{
    StepHeat, StepPlan, StepTask, ThermalTask, Working, Workshop, milder_settings, plan_step, step_heat,
};
use trochoid::plot::{Axis, CurveChart, Figure, Limit, Page, Series, SeriesLabels};
use trochoid::report::pictures::heat_chart;
use trochoid::report::{prepare_folder, write_whole};
use trochoid::spin::{AtHand, Setup, StallSettings};
use trochoid::units::{Speed, Temperature};
use trochoid::wear::FilmProduct;
use trochoid::{Angle, AngularRate, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

const SUBSTRATES: [(Substrate, &str); 4] = [
    (Substrate::Plastic, "plastic"),
    (Substrate::Composite, "composite"),
    (Substrate::Steel, "steel"),
    (Substrate::Aluminium, "aluminium"),
];
const FEEDS_MM_S: [f64; 7] = [10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 80.0];
/// Highest temperature of paint on plastic, °C (common practice, no source: below 60, plastics lower).
const LIMIT_C: f64 = 50.0;
/// The feed whose map is shown, mm/s.
const SHOWN_MM_S: f64 = 10.0;

fn main() -> Result<(), Box<dyn Error>> {
    let settings = StallSettings::default();
    let mut curves: Vec<Vec<(f64, f64)>> = vec![Vec::new(); SUBSTRATES.len()];
    let mut shown: Option<(StepTask, StepPlan, StepHeat)> = None;
    println!("feed, mm/s   {}", SUBSTRATES.map(|s| format!("{:>12}", s.1)).concat());
    for feed in FEEDS_MM_S {
        let task = task(feed)?;
        let plan = plan_step(&task, &AtHand::default(), &settings)?;
        print!("{feed:10.0}   ");
        for ((substrate, _), curve) in SUBSTRATES.iter().zip(&mut curves) {
            let heat = step_heat(&task, &plan, &with(*substrate))?.ok_or("the face sticks")?;
            print!("{:9.1} °C", heat.peak.surface.c());
            curve.push((feed, heat.peak.surface.c()));
            if *substrate == Substrate::Plastic && (feed - SHOWN_MM_S).abs() < 1e-9 {
                shown = Some((task.clone(), plan.clone(), heat));
            }
        }
        println!();
    }
    let (task, plan, heat) = shown.ok_or("the feed that is shown is not among those worked")?;
    match heat.panel.limit_reached {
        Some(at) => println!("plastic at {SHOWN_MM_S} mm/s reaches {LIMIT_C} °C after {:.0} s", at.time_s),
        None => println!("plastic at {SHOWN_MM_S} mm/s stays below {LIMIT_C} °C"),
    }
    match heat.rest {
        Some(t) => println!("rest before the same work again: {:.0} s", t.s()),
        None => println!("no rest is long enough to do the same again below the limit"),
    }
    for m in milder_settings(&task, &plan, &with(Substrate::Plastic), &settings)? {
        match &m.outcome {
            Ok(o) => println!("  {}: {:.1} °C instead of {:.1}", m.words(&task), o.peak.c(), heat.peak.surface.c()),
            Err(why) => println!("  {}: {why}", m.words(&task)),
        }
    }

    let series = SUBSTRATES.iter().zip(curves).map(|((_, name), points)| Series::new(name, points)).collect();
    let chart = CurveChart {
        title: "Hottest paint against feed".into(),
        x: Axis::linear("feed [mm/s]"),
        y: Axis::linear("hottest paint [°C]"),
        series,
        limits: vec![Limit { label: format!("limit on plastic {LIMIT_C:.0} °C"), at: LIMIT_C, ..Limit::default() }],
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    };
    let mut map = heat_chart(&heat, &format!("Plastic at {SHOWN_MM_S:.0} mm/s"));
    map.caption = String::new();
    let figure = Page {
        title: "Paint on plastic runs hotter".into(),
        caption: "One section of 450 mm square in air at 20 °C, four crosshatch passes, 130 mm pad, 15 mm throw, 4200 orbits a \
                  minute, 35 N. Corners where the pad turns are the hottest. The limit is a rule of the trade: that of the \
                  maker of paint and part holds."
            .into(),
        panels: vec![chart.into(), map.into()],
        ..Page::default()
    }
    .figure()?;
    save(&figure, "09_heat_on_plastic")
}

/// Four passes over a flat section at a feed.
fn task(feed_mm_s: f64) -> Result<StepTask, Box<dyn Error>> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?
        .with_rate_range(AngularRate::from_opm(2000.0), AngularRate::from_opm(5000.0))?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?.with_shear_modulus(Pressure::from_kpa(30.0))?;
    let product = Product::new(0.35, 2e-11)?;
    let side = Length::from_mm(450.0);
    Ok(StepTask {
        setup: Setup::new(tool, pad, product, Patch::flat(), Force::from_n(35.0))?,
        panel: Panel::new(Patch::flat(), side, side)?,
        surface: None,
        pairing: Pairing::of(product),
        working: Working { feed: Speed::from_mm_s(feed_mm_s), overlap: 0.5 },
        passes: 4,
        phases: Vec::new(),
        pattern: Pattern::Crosshatch,
        path_options: PathOptions::default(),
        target_cut: None,
        cell: Length::from_mm(5.0),
        drag_range: (0.5, 2.0),
    })
}

fn with(substrate: Substrate) -> ThermalTask {
    ThermalTask {
        workshop: Workshop {
            temperature: Temperature::from_c(20.0),
            relative_humidity: 0.5,
            air_speed: Speed::from_m_s(0.2),
        },
        substrate,
        incline: Angle::from_deg(80.0),
        paint_limit: Temperature::from_c(LIMIT_C),
        film: FilmProduct::default(),
        drops: None,
    }
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    prepare_folder(&folder)?;
    write_whole(&folder.join(format!("{stem}.svg")), figure.to_svg()?.as_bytes())?;
    write_whole(&folder.join(format!("{stem}.png")), &figure.to_png(1.5)?)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
