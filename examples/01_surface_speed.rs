//! How fast does each place of the pad, and each place of the panel, rub?
//!
//! ```text
//! cargo run --release --example 01_surface_speed [FOLDER]
//! ```
//!
//! A pad point keeps its place on the pad and rubs all the time. A panel point under the rim is
//! covered for part of the orbit only, and just while the speed is high or low, so the two frames
//! give different curves. Writes `01_surface_speed.svg` and `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::motion::{Face, face_mean_speed, pad_point_speed, panel_point_speed};
use trochoid::panel::Patch;
use trochoid::plot::{Axis, CurveChart, Figure, Page, Region, RegionShape, Series, SeriesLabels};
use trochoid::report::write_figure;
use trochoid::spin::{Setup, spin_state};
use trochoid::{AngularRate, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

const MM: f64 = 1e3;

/// A way of driving the pad: name, orbit radius at the face [m], orbit rate and spin [rad/s].
struct Drive {
    name: String,
    orbit: f64,
    rate: f64,
    spin: f64,
}

fn main() -> Result<(), Box<dyn Error>> {
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?.with_shear_modulus(Pressure::from_kpa(30.0))?;
    let rate = AngularRate::from_opm(4200.0);
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), rate, bearing)?;
    let setup = Setup::new(tool, pad.clone(), Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;

    // The free pad finds its own spin from the balance of friction and bearing drag.
    let run = spin_state(&setup, setup.patch(), &ContactSettings::default())?;
    let (orbit, rate) = (run.face_orbit_m, rate.rad_s());
    let named = |name: &str, orbit: f64, rate: f64, spin: f64| Drive {
        name: format!("{name}, {:.0} rpm", AngularRate::from_rad_s(spin).rpm()),
        orbit,
        rate,
        spin,
    };
    let drives = [
        named("free", orbit, rate, run.spin),
        named("stalled", orbit, rate, 0.0),
        named("geared 1:10", orbit, rate, 0.1 * rate),
        named("rotary", 0.0, 0.0, AngularRate::from_rpm(600.0).rad_s()),
    ];

    println!("Mean sliding speed over an orbit [m/s]; pad 130 mm, throw 15 mm, 4200 orbits/min, flat panel, 35 N");
    println!("{:24} pad: centre  half   rim   panel: axis  40 mm  60 mm  70 mm   mean over the pad", "");
    for d in &drives {
        let face = Face::new(&pad, d.orbit);
        let on_pad = |r: f64| pad_point_speed(d.orbit, d.rate, d.spin, r);
        // Adding zero takes the sign off an empty sum: a place that is never covered.
        let on_panel = |mm: f64| panel_point_speed(&face, d.rate, d.spin, mm / MM, 24) + 0.0;
        println!(
            "{:24} {:11.2} {:5.2} {:5.2} {:13.2} {:6.2} {:6.2} {:6.2} {:17.2}",
            d.name,
            on_pad(0.0),
            on_pad(0.5 * pad.radius()),
            on_pad(pad.radius()),
            on_panel(0.0),
            on_panel(40.0),
            on_panel(60.0),
            on_panel(70.0),
            face_mean_speed(&face, d.rate, d.spin),
        );
    }
    println!("An orbit rubs the centre as fast as the rim; a rotary pad leaves its centre at rest.");
    let figure = picture(&pad, orbit, &drives)?;
    save(&figure, "01_surface_speed")
}

/// Pad frame and panel frame side by side, on the same axes.
fn picture(pad: &Pad, orbit: f64, drives: &[Drive]) -> Result<Figure, Box<dyn Error>> {
    let (radius, reach) = (pad.radius(), pad.radius() + orbit);
    let curve = |far: f64, speed: &dyn Fn(f64) -> f64| -> Vec<(f64, f64)> {
        (0..=240).map(|i| far * f64::from(i) / 240.0).map(|r| (r * MM, speed(r))).collect()
    };
    let axis = |title: &str| (Axis::between(title, 0.0, 76.0), Axis::between("mean sliding speed [m/s]", 0.0, 5.0));
    let (x, y) = axis("distance from the pad centre [mm]");
    let on_pad = CurveChart {
        title: "A place on the pad".into(),
        x,
        y,
        series: drives
            .iter()
            .map(|d| Series::new(&d.name, curve(radius, &|r| pad_point_speed(d.orbit, d.rate, d.spin, r))))
            .collect(),
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    };
    let (x, y) = axis("distance from the tool axis [mm]");
    let on_panel = CurveChart {
        title: "A place on the panel, tool at rest".into(),
        x,
        y,
        series: drives
            .iter()
            .map(|d| {
                let face = Face::new(pad, d.orbit);
                Series::new(&d.name, curve(reach, &|r| panel_point_speed(&face, d.rate, d.spin, r, 24)))
            })
            .collect(),
        regions: vec![Region { label: "rim".into(), shape: RegionShape::Columns((radius - orbit) * MM, reach * MM) }],
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    };
    Ok(Page {
        title: "How fast the pad rubs, in both frames".into(),
        caption: format!(
            "Mean over one orbit, zero while uncovered; shaded: under the rim for part of the orbit only. Pad 130 mm, throw 15 mm ({:.1} mm at the face), 4200 orbits/min, \
             35 N, friction 0.35, flat panel; the rotary pad does not orbit.",
            2.0 * orbit * MM
        ),
        panels: vec![on_pad.into(), on_panel.into()],
        ..Page::default()
    }
    .figure()?)
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    write_figure(&folder, stem, figure)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
