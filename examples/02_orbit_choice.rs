//! Which throw keeps a pad turning in this hollow?
//!
//! ```text
//! cargo run --release --example 02_orbit_choice [FOLDER]
//! ```
//!
//! A longer throw drags the pad against its spin where the panel is hollow, but it also weakens the
//! friction that damps the spin. So there is a best throw, and below half of it the pad does not
//! even turn on a flat panel. The solved curve stands beside the small-spin estimate of its top.
//! Writes `02_orbit_choice.svg` and `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::panel::Patch;
use trochoid::plot::{Axis, CurveChart, Figure, Limit, Mark, Series};
use trochoid::report::write_figure;
use trochoid::spin::{Against, Setup, StallSettings, closed_form, stall_curve};
use trochoid::{Angle, AngularRate, Curvature, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

/// The hollow: principal curvatures, 1/m.
const HOLLOW: (f64, f64) = (-1.2, -0.2);

fn main() -> Result<(), Box<dyn Error>> {
    let settings = StallSettings::default();
    let throws: Vec<f64> = (0..=112).map(|i| 2.0 + 0.25 * f64::from(i)).collect();
    let mut series = Vec::new();
    let mut marks = Vec::new();
    println!("Hollow of {} and {} per metre; 35 N, 4200 orbits/min, friction 0.35", HOLLOW.0, HOLLOW.1);
    for diameter in [130.0, 110.0] {
        let setup = setup(diameter)?;
        // The useful minimum is one turn a second. Hollows are negative: the size is drawn.
        let curve: Vec<(f64, f64)> = stall_curve(&setup, Against::Throw, &throws, &settings, 1.0)
            .iter()
            .zip(&throws)
            .map(|(k, throw)| (*throw, k.curvature().filter(|k| *k < 0.0).map_or(f64::NAN, f64::abs)))
            .collect();
        let (best, least) =
            closed_form::best_orbit(&setup, settings.useful_spin).ok_or("the bearing does not drag the pad")?;
        let top = curve.iter().copied().filter(|p| p.1.is_finite()).max_by(|a, b| a.1.total_cmp(&b.1));
        let (at, tightest) = top.ok_or("no throw turns this pad on the flat")?;
        println!("pad {diameter:.0} mm:");
        println!("  on a flat panel it turns above a throw of {:.1} mm (estimate e = B/A)", 2e3 * least);
        println!("  best throw {at:.2} mm, solved in steps of 0.25 mm; {:.1} mm by the estimate e = 2B/A", 2e3 * best);
        println!(
            "  at that throw it stalls in hollows tighter than {:.2} per metre (radius {:.0} mm)",
            -tightest,
            1e3 / tightest
        );
        let fits: Vec<f64> = curve.iter().filter(|p| p.1 >= HOLLOW.0.abs()).map(|p| p.0).collect();
        match (fits.first(), fits.last()) {
            (Some(low), Some(high)) => println!("  throws of {low:.1} to {high:.1} mm work this hollow"),
            _ => println!("  no throw from 2 to 30 mm works this hollow: take a smaller pad or less force"),
        }
        marks.push(Mark { label: format!("{at:.1} mm (est. {:.1})", 2e3 * best), x: at, y: tightest });
        series.push(Series::new(&format!("pad {diameter:.0} mm"), curve));
    }
    let figure = CurveChart {
        title: "Which throw for this hollow".into(),
        caption: format!(
            "A pad turns in hollows below its curve. Curvature is the larger principal one at the ratio {:.0}:{:.0}; \
             useful minimum 60 rpm. 35 N, 4200 orbits/min, friction 0.35, pads 25 mm thick, 0.9 kPa/mm; bearing 0.02 \
             N·m and 5e-5 N·m·s. Marked: best throw, with its small-spin estimate.",
            HOLLOW.0 / HOLLOW.1,
            1.0
        ),
        x: Axis::between("throw, orbit diameter [mm]", 0.0, 30.0),
        y: Axis::between("hollow that stalls the pad, |curvature| [1/m]", 0.0, 3.0),
        series,
        limits: vec![Limit { label: "this hollow".into(), at: HOLLOW.0.abs(), ..Limit::default() }],
        marks,
        ..CurveChart::default()
    }
    .figure()?;
    save(&figure, "02_orbit_choice")
}

fn setup(diameter_mm: f64) -> Result<Setup, Box<dyn Error>> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad = Pad::new(Length::from_mm(diameter_mm), Length::from_mm(25.0), law)?
        .with_shear_modulus(Pressure::from_kpa(30.0))?;
    let patch =
        Patch::quadric(Curvature::from_per_m(HOLLOW.0), Curvature::from_per_m(HOLLOW.1), Angle::from_deg(90.0))?;
    Ok(Setup::new(tool, pad, Product::new(0.35, 2e-11)?, patch, Force::from_n(35.0))?)
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    write_figure(&folder, stem, figure)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
