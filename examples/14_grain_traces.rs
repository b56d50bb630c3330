//! What do the grains of a stalled, a turning and a rotary pad draw, and does the fast map agree with them?
//!
//! ```text
//! cargo run --release --example 14_grain_traces [FOLDER]
//! ```
//!
//! A stalled pad draws the same circles over and over and leaves gaps between them; a turning one closes
//! them; a rotary one draws its scratches side by side. Then the footprint's map is held against maps of
//! ever more grains, and the panel is looked at under a lamp: washed for years, cut with a rotary pad,
//! refined with the orbiting one. Writes `14_grain_traces` and `14_look`, `.svg` and `.png`, to FOLDER
//! (`out/examples`).

use std::error::Error;
use std::f64::consts::PI;
use std::fmt::Write as _;
use std::path::PathBuf;
use trochoid::contact::{ContactSettings, Hold, solve};
use trochoid::equipment::{Bearing, CompressionLaw, Hardness, Pad, Product, Tool};
use trochoid::finish::{Abrading, Face as PadFace, Halo, LogNormal, Marks, SWIRL_UM, Scratches};
use trochoid::math::random::Seed;
use trochoid::motion::{Face, PathOptions, Pattern, ToolPath};
use trochoid::panel::{Panel, Patch};
use trochoid::plan::{LampSettings, ScratchLayer, TraceSettings, scratch_directions, trace_grains, under_lamp};
use trochoid::removal::grains::agreement;
use trochoid::removal::{GrainCase, GrainSettings, Grains, Orientation, Quantity, Travel, grain_quantity, panel_map};
use trochoid::report::pictures::{halo_page, settings_line, trace_page};
use trochoid::report::write_figure;
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
    write_figure(&folder, "14_grain_traces", &figure)?;
    let looks = looks(&setup, &run, settings.rotary_spin)?;
    println!("Under a lamp, around its mirror image (1: as bright as a white card):");
    for (name, halo) in &looks {
        let (mean, banding) = (halo.mean.unwrap_or(f64::NAN), halo.banding.unwrap_or(f64::NAN));
        println!("{name:36} {mean:8.4}   banding {banding:.2} (0 an even ring)");
    }
    let shown: Vec<(String, &Halo)> = looks.iter().map(|(name, halo)| (name.clone(), halo)).collect();
    let figure = halo_page("The panel under a lamp", "Scratches assumed: see the example.", &shown).figure()?;
    write_figure(&folder, "14_look", &figure)?;
    println!("wrote 14_grain_traces and 14_look, .svg and .png, to {}", folder.display());
    Ok(())
}

/// The panel before, after a rotary cut, after refining with the orbiting pad. Our own inventions: 2 % of
/// the area under wash marks, a cut of 3 µm with grains of 3 µm, a refining of 0.8 µm with grains of 1 µm.
fn looks(setup: &Setup, run: &SpinState, rotary_spin: f64) -> Result<Vec<(String, Halo)>, Box<dyn Error>> {
    let lamp = LampSettings::default();
    let pressure = Pressure::from_pa(setup.force().n() / (PI * setup.pad().radius().powi(2)));
    let marks = |grain_um: f64, face: PadFace| -> Result<Marks, Box<dyn Error>> {
        Ok(Abrading::new(Length::from_um(grain_um), pressure, face, Hardness::Medium)?.marks()?)
    };
    let (coarse, fine) = (marks(3.0, PadFace::CuttingFoam)?, marks(1.0, PadFace::FinishingFoam)?);
    let (cut, refined) = (Length::from_um(3.0), Length::from_um(0.8));
    let swirls = LogNormal::new(Length::from_um(SWIRL_UM.0).m(), SWIRL_UM.1)?;
    let washed = |cut: f64| lamp.every_way(Scratches::Single(0.02 * swirls.exceedance(cut)));

    let on_rotary =
        solve(setup.pad(), setup.patch(), 0.0, &Hold::Flat, setup.force().n(), &ContactSettings::default())?;
    let still = Face::new(setup.pad(), 0.0);
    let rotary = scratch_directions((&on_rotary, setup.patch()), (0.0, rotary_spin), &still, &lamp)?;
    let face = Face::new(setup.pad(), run.face_orbit_m);
    let rate = setup.tool().rate().rad_s();
    let orbit = scratch_directions((&run.contact, setup.patch()), (rate, run.spin), &face, &lamp)?;

    let layer = |rms: f64, directions: &[Option<Orientation>]| ScratchLayer {
        scratches: Scratches::Dense(Length::from_m(rms)),
        directions: directions.to_vec(),
    };
    let coarse_rms = coarse.rms().median();
    let (left, written) = (coarse.share_left(refined)?, 1.0 - fine.share_left(refined)?.powi(2));
    let after_cut = [washed(cut.m())?, layer(coarse_rms, &rotary)];
    let after_refining = [
        washed(cut.m() + refined.m())?,
        layer(coarse_rms * left, &rotary),
        layer(fine.rms().median() * written.sqrt(), &orbit),
    ];
    println!(
        "Marks, RMS: {:.0} nm after the cut, {:.1} nm after refining.",
        1e9 * coarse_rms,
        1e9 * fine.rms().median()
    );
    Ok(vec![
        ("before: wash marks".to_owned(), under_lamp(&[washed(0.0)?], &lamp)?),
        ("after cutting, rotary".to_owned(), under_lamp(&after_cut, &lamp)?),
        ("after refining, orbiting".to_owned(), under_lamp(&after_refining, &lamp)?),
    ])
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
