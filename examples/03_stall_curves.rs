//! At which orbit rate and force does a pad stall, in a hollow and on a crown?
//!
//! ```text
//! cargo run --release --example 03_stall_curves [FOLDER]
//! ```
//!
//! A curve below zero is the hollow that stalls the pad. A curve above zero says that the pad stalls
//! on a flat panel already and needs a crown of that curvature to turn. Writes
//! `03_stall_curves.svg` and `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::panel::Patch;
use trochoid::plot::{Axis, CurveChart, Figure, Limit, SecondAxis, Series, SeriesLabels};
use trochoid::report::write_figure;
use trochoid::spin::{Against, Setup, StallSettings, stall_curve};
use trochoid::{AngularRate, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

fn main() -> Result<(), Box<dyn Error>> {
    let settings = StallSettings::default();
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?.with_shear_modulus(Pressure::from_kpa(30.0))?;
    // On a flat patch the curve is drawn for spheres, alike in both directions.
    let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;

    let rates: Vec<f64> = (0..=30).map(|i| 2000.0 + 100.0 * f64::from(i)).collect();
    let shown = [0, 10, 20, 30];
    println!("Sphere on which the pad falls to 60 rpm [1/m]: below zero a hollow, above zero a crown");
    print!("{:>8}", "force");
    for i in shown {
        print!("{:>12.0}/min", rates[i]);
    }
    println!();
    let mut series = Vec::new();
    for force in [15.0, 25.0, 35.0, 50.0] {
        let pressed = setup.clone().at_force(Force::from_n(force))?;
        let curve = stall_curve(&pressed, Against::OrbitRate, &rates, &settings, 1.0);
        print!("{force:6.0} N");
        for i in shown {
            print!("{:>16}", curve[i].curvature().map_or_else(|| curve[i].name().to_owned(), |k| format!("{k:+.3}")));
        }
        println!();
        let points = rates.iter().zip(&curve).map(|(x, k)| (*x, k.curvature().unwrap_or(f64::NAN))).collect();
        series.push(Series::new(&format!("{force:.0} N"), points));
    }
    println!("Pressing harder moves every curve up: the pad stalls in gentler hollows, then on the flat.");
    let radii = [f64::INFINITY, -2000.0, -1000.0, -700.0, -500.0, 2000.0, 1000.0, 700.0, 500.0, 400.0];
    let figure = CurveChart {
        title: "Where a pad stalls, against orbit rate and force".into(),
        caption: "A panel below a pad's curve makes it turn slower than 60 rpm. Spherical panel; pad 130 mm, 25 mm \
                  thick, 0.9 kPa/mm, 30 kPa in shear; throw 15 mm; friction 0.35; bearing 0.02 N·m and 5e-5 N·m·s, \
                  not calibrated."
            .into(),
        x: Axis::between("orbit rate [orbits/min]", 2000.0, 5000.0),
        y: Axis::linear("curvature [1/m], − hollow, + crown"),
        series,
        limits: vec![Limit { label: "flat panel".into(), at: 0.0, ..Limit::default() }],
        second_y: Some(SecondAxis::new("radius [mm], − hollow, + crown", &radii, |r| {
            if r.is_infinite() { 0.0 } else { 1e3 / r }
        })),
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    }
    .figure()?;
    save(&figure, "03_stall_curves")
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    write_figure(&folder, stem, figure)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
