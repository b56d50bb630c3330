//! What does a test spot teach: with the eye alone, and with a film gauge?
//!
//! ```text
//! cargo run --release --example 07_test_spot [FOLDER]
//! ```
//!
//! An invented spot of four passes, worked with a removal coefficient that the calibration does not know.
//! First only a look at it (few swirls left), then two places read before and after with a gauge of ±1 µm
//! as well, then what a third reading would be expected to bring. Writes `07_test_spot.svg` and `.png` to
//! FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::budget::{
    Calibration, CalibrationSettings, Interval, Look, NextSpot, PairedReading, SwirlsLeft, TestSpot, calibrate,
    readings_needed,
};
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Pairing, Product, Tool};
use trochoid::motion::{Pattern, ToolPath};
use trochoid::panel::{Panel, Patch};
use trochoid::plot::{Across, CurveChart, Figure, Limit, Page};
use trochoid::removal::panel_map;
use trochoid::report::pictures::coefficient_chart;
use trochoid::report::write_figure;
use trochoid::spin::{Setup, spin_state};
use trochoid::{AngularRate, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

const PASSES: u32 = 4;
/// What the calibration does not know: the coefficient that the invented spot was worked with, 1/Pa.
const TRUE_PER_PA: f64 = 2.8e-11;
/// What is believed before: 1/Pa, and its relative standard deviation.
const BELIEVED: (f64, f64) = (2.0e-11, 0.5);
/// Errors of the four readings of the gauge, µm; drawn once, kept so that the example repeats.
const GAUGE_ERRORS: [f64; 4] = [0.6, -0.4, -0.9, 0.3];

fn main() -> Result<(), Box<dyn Error>> {
    let exposure = exposure_of_one_pass()? * f64::from(PASSES);
    let product = Product::new(0.35, BELIEVED.0)?;
    let pairing = Pairing::new(product, BELIEVED.1)?;
    let cut = Length::from_m(TRUE_PER_PA * exposure);
    println!(
        "{PASSES} passes: exposure {exposure:.3e} Pa·m, true cut {:.2} µm (the calibration does not know it)",
        cut.um()
    );

    let look = Look { passes: PASSES, left: SwirlsLeft::Few, haze: true };
    let seen = TestSpot::new("seen", exposure, PASSES)?.with_look(look)?;
    let mut read = TestSpot::new("seen and read", exposure, PASSES)?.with_look(look)?;
    for (film, errors) in [118.0, 123.0].into_iter().zip(GAUGE_ERRORS.chunks(2)) {
        // The display shows whole micrometres.
        let before = (film + errors[0]).round();
        let after = (film - cut.um() + errors[1]).round();
        println!("gauge: {before} µm before, {after} µm after");
        let [before, after, one] = [before, after, 1.0].map(Length::from_um);
        read = read.with_pair(PairedReading::new(before, after, one, one, 1)?)?;
    }
    let settings = CalibrationSettings::default();
    let by_eye = calibrate(&pairing, &[seen], &settings)?;
    let by_gauge = calibrate(&pairing, &[read], &settings)?;

    println!("                        median        90 % interval [1/Pa]     upper / lower");
    told("before", &by_eye.removal.prior);
    told("a look", &by_eye.removal.value);
    told("a look and two readings", &by_gauge.removal.value);
    for (name, found) in [("a look", &by_eye), ("a look and two readings", &by_gauge)] {
        for s in found.statements() {
            println!("{name}: {s}");
        }
    }

    // A third place, at one more spot of the same passes.
    let one = Length::from_um(1.0);
    let next = NextSpot {
        exposure_per_pass_pa_m: exposure / f64::from(PASSES),
        passes: PASSES,
        pairs: 1,
        uncertainty: one,
        resolution: one,
    };
    let needed = readings_needed(&by_gauge, &next, 1.5, 0.90)?;
    println!(
        "a third reading, at one more spot, is expected to bring upper / lower from {:.2} to {:.2}",
        needed.ratio_now, needed.ratio_next
    );
    println!("for upper / lower of 1.5: {}", needed.words());

    let figure = Page {
        title: "What a test spot teaches of the removal coefficient".into(),
        caption: format!(
            "One invented spot of {PASSES} passes, few swirls left; two places read with a gauge of ±1 µm that shows whole \
             micrometres. The dashed line is the coefficient that the spot was made with. A third reading is expected to \
             bring the ratio of the interval's ends from {:.2} to {:.2}.",
            needed.ratio_now, needed.ratio_next
        ),
        panels: vec![
            chart("A look only", &by_eye)?.into(),
            chart("A look and two readings", &by_gauge)?.into(),
        ],
        shared_axes: true,
        ..Page::default()
    }
    .figure()?;
    save(&figure, "07_test_spot")
}

fn told(name: &str, i: &Interval) {
    println!("{name:23} {:.2e}     {:.2e} to {:.2e}     {:8.2}", i.best, i.low, i.high, i.ratio());
}

fn chart(title: &str, found: &Calibration) -> Result<CurveChart, Box<dyn Error>> {
    let mut density = coefficient_chart("", 1, found);
    density.title = title.into();
    density.caption = String::new();
    // The chart counts in powers of ten of the median; both lie in 1e-11 per pascal.
    density.limits = vec![Limit { label: "true".into(), at: TRUE_PER_PA / 1e-11, across: Across::X }];
    Ok(density.chart()?)
}

/// Mean exposure ∫ p|v| dt of one pass inside the worked area of a flat section, Pa·m.
fn exposure_of_one_pass() -> Result<f64, Box<dyn Error>> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?.with_shear_modulus(Pressure::from_kpa(30.0))?;
    let product = Product::new(0.35, BELIEVED.0)?;
    let setup = Setup::new(tool, pad, product, Patch::flat(), Force::from_n(35.0))?;
    let run = spin_state(&setup, setup.patch(), &ContactSettings::default())?;
    let panel = Panel::new(Patch::flat(), Length::from_mm(450.0), Length::from_mm(450.0))?;
    let path = ToolPath::over_rectangle((0.45, 0.45), Pattern::Raster, 1, 0.065, 0.04)?;
    let map = panel_map(&setup, &run, &panel, path, 5e-3)?;
    let cut = map.cut.ok_or("the pad leaves no worked area on this panel")?;
    Ok(cut.mean / map.preston_per_pa)
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    write_figure(&folder, stem, figure)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
