//! What do the grains of a stalled, a turning and a rotary pad draw, and does the fast map agree with them?
//!
//! ```text
//! cargo run --release --example 14_grain_traces [FOLDER]
//! ```
//!
//! A stalled pad draws the same circles over and over and leaves gaps between them; a turning one closes
//! them; a rotary one draws its scratches side by side. Then the footprint's map is held against maps of
//! ever more grains. Writes `14_grain_traces.svg` and `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::fmt::Write as _;
use std::path::PathBuf;
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::math::random::Seed;
use trochoid::motion::{Face, PathOptions, Pattern, ToolPath};
use trochoid::panel::{Panel, Patch};
use trochoid::plan::{TraceSettings, trace_grains};
use trochoid::removal::grains::agreement;
use trochoid::removal::{GrainCase, GrainSettings, Grains, Quantity, Travel, grain_quantity, panel_map};
use trochoid::report::pictures::{settings_line, trace_page};
use trochoid::report::{prepare_folder, write_whole};
use trochoid::spin::{Setup, SpinState, spin_state};
use trochoid::{AngularRate, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

fn main() -> Result<(), Box<dyn Error>> {
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?.with_shear_modulus(Pressure::from_kpa(30.0))?;
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    let run = spin_state(&setup, setup.patch(), &ContactSettings::default())?;

    let settings = TraceSettings::default();
    let trace = trace_grains(&setup, &run, &settings)?;
    println!("{:24} {:>8} {:>22} {:>20}", "drive", "rpm", "order of the scratches", "touched, 64 orbits");
    for d in &trace.drives {
        println!(
            "{:24} {:8.0} {:22.2} {:18.1} %",
            d.name,
            AngularRate::from_rad_s(d.spin).rpm(),
            d.anisotropy.unwrap_or(f64::NAN),
            d.touched.last().map_or(f64::NAN, |(_, share)| 100.0 * share)
        );
    }
    if let Some(r) = trace.repeat {
        println!("A grain at the rim is back in its trace, within 10 µm, after {} orbits.", r.orbits);
    }
    agree(&setup, &run)?;
    let page = trace_page("What the grains of a pad draw", &format!("{}.", settings_line(&setup)), &trace);
    let figure = page.figure()?;
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    prepare_folder(&folder)?;
    write_whole(&folder.join("14_grain_traces.svg"), figure.to_svg()?.as_bytes())?;
    write_whole(&folder.join("14_grain_traces.png"), &figure.to_png(1.5)?)?;
    println!("wrote {}", folder.join("14_grain_traces.svg and .png").display());
    Ok(())
}

/// Maps of ever more grains against the footprint's map.
fn agree(setup: &Setup, run: &SpinState) -> Result<(), Box<dyn Error>> {
    let panel = Panel::new(Patch::flat(), Length::from_mm(450.0), Length::from_mm(400.0))?;
    let inset = PathOptions { inset: 0.08, ..PathOptions::default() };
    let path = ToolPath::over_rectangle_with((0.45, 0.4), Pattern::Crosshatch, 2, 0.065, 0.04, &inset)?;
    let map = panel_map(setup, run, &panel, path.clone(), 2e-3)?;
    println!("Grains against the footprint, two crossed passes ({:.0} s), smoothed over 5 mm:", path.time());
    println!("{:>8} {:>24} {:>26}", "grains", "at random: volume, L1 %", "spread evenly: volume, L1 %");
    let face = Face::new(setup.pad(), run.face_orbit_m);
    for count in [250, 1000, 4000, 16_000] {
        let mut row = format!("{count:8}");
        for grains in [Grains::random(&face, count, Seed::new(1))?, Grains::even(&face, count, Seed::new(1))?] {
            let case = GrainCase::of(setup, run, &grains, Travel::Along(&path), map.field.grid);
            let settings = GrainSettings { steps_per_orbit: 24.0, ..GrainSettings::default() };
            let simulated = grain_quantity(&case, Quantity::Work, &settings)?;
            let a = agreement(&simulated.values, &map.field.work, &map.field.grid, 5e-3);
            let volume = simulated.run.total * map.preston_per_pa / map.volume_m3 - 1.0;
            write!(row, "{:16.3} {:7.3}  ", 100.0 * volume, 100.0 * a.l1)?;
        }
        println!("{row}");
    }
    Ok(())
}
