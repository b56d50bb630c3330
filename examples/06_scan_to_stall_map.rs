//! From a scan to a stall map: where on this wheel arch does the pad stall, and how large a pad turns?
//!
//! ```text
//! cargo run --release --example 06_scan_to_stall_map [FOLDER]
//! ```
//!
//! The scan is made here: a wheel arch with 20 µm of noise (seeded, so every run is the same) and one
//! hole where the scanner saw nothing, written as STL into a folder of its own inside FOLDER and taken
//! away again. From there on everything is what one would do with a real scan: read it with its unit,
//! look at its health report, turn it into heights, put the pad down all over it, work it. Writes
//! `06_scan_to_stall_map.svg`, `.png` and `.ply` (the scan coloured by the cut, for a mesh viewer) to
//! FOLDER (`out/examples`).

use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Pairing, Product, Tool};
use trochoid::job::MeshSource;
use trochoid::math::random::Seed;
use trochoid::motion::{PathOptions, Pattern, SurfacePathOptions, SurfacePattern};
use trochoid::panel::mesh::{LengthUnit, MeshHealth, MeshView, Up};
use trochoid::panel::read::read_mesh;
use trochoid::panel::{AnalyticShape, Panel, Patch, Surface, WheelArch};
use trochoid::plan::{Place, Route, StepTask, SurfaceTask, SurveySettings, Working, ZoneKind, plan_step};
use trochoid::plot::{Figure, Page};
use trochoid::report::pictures::{largest_pad_chart, spin_chart};
use trochoid::report::{prepare_folder, surface_ply, write_whole};
use trochoid::spin::{AtHand, Setup, StallSettings};
use trochoid::{Angle, AngularRate, Curvature, Force, Length, Pressure, Speed, Torque, ViscousDrag};

const SIZE: (f64, f64) = (700.0, 420.0);
/// Standard deviation of the scanner's noise, mm.
const NOISE: f64 = 0.02;
/// Middle and radius of the place that the scanner missed, mm.
const MISSED: ((f64, f64), f64) = ((120.0, 330.0), 12.0);

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    let own = folder.join("06_scan");
    prepare_folder(&own)?;
    let scan = own.join("arch.stl");
    write_whole(&scan, &stl()?)?;
    let found = read(&scan);
    std::fs::remove_file(&scan)?;
    std::fs::remove_dir(&own)?;
    let source = found?;

    let surface = Arc::new(Surface::new(source.plan.heights.clone()).with_incline(Angle::from_deg(90.0))?);
    let bearing = Bearing::new(Torque::from_nm(0.015), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let foam = CompressionLaw::measured(&[0.25, 0.40, 0.50, 0.65], &[3.0, 3.8, 5.0, 8.0].map(Pressure::from_kpa))?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?.with_shear_modulus(Pressure::from_kpa(25.0))?;
    let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(30.0))?;
    let stall = StallSettings::default();
    let plan = plan_step(&task(&setup, &surface)?, &AtHand::default(), &stall)?;
    let work = plan.work.surface().ok_or("the scan is a real panel")?;

    let useful = AngularRate::from_rad_s(stall.useful_spin).rpm();
    let stalls = |p: &&Place| p.state.is_some_and(|s| s.sticks || s.spin < stall.useful_spin);
    let (all, slow) = (work.survey.worked().count(), work.survey.worked().filter(stalls).count());
    println!(
        "\nThe pad put down every {:.0} mm: below {useful:.0} rpm at {slow} of {all} places",
        1e3 * work.survey.step
    );
    for (i, z) in work.zones.zones.iter().enumerate().filter(|(_, z)| z.kind == ZoneKind::Hollow) {
        println!(
            "hollow {}: slowest at x {:.0}, y {:.0} mm, {:.0} rpm, mean curvature {:+.2} per metre",
            i + 1,
            1e3 * z.worst_at.0,
            1e3 * z.worst_at.1,
            z.least_spin.map_or(f64::NAN, |s| AngularRate::from_rad_s(s).rpm()),
            z.mean_curvature_per_m
        );
        println!("  {}", z.change().map_or("nothing that was tried helps", |c| c.reason.as_str()));
    }
    let sizes = work.survey.worked().filter(stalls).filter_map(|p| p.largest_pad_m);
    if let Some(least) = sizes.min_by(f64::total_cmp) {
        println!("the largest pad of this make that turns everywhere it stalls now: {:.0} mm", 1e3 * least);
    }
    write_whole(&folder.join("06_scan_to_stall_map.ply"), &surface_ply(work, Some(&source))?)?;
    let mut panels = vec![spin_chart(&setup, work, "Where the pad stalls").into()];
    panels.extend(largest_pad_chart(&setup, work, "The largest pad that still turns").map(Into::into));
    let page = Page {
        title: "A scanned wheel arch".into(),
        caption: format!(
            "Scan of {:.0} triangles with {:.0} µm of noise; the small hole is one that the scanner left.",
            source.mesh.triangles().len(),
            1e3 * NOISE
        ),
        columns: 1,
        panels,
        ..Page::default()
    };
    save(&page.figure()?, &folder, "06_scan_to_stall_map")
}

/// A wheel arch as a scanner would give it: a binary STL, in mm like most of them, without its unit.
fn stl() -> Result<Vec<u8>, Box<dyn Error>> {
    let mm = Length::from_mm;
    let shape = AnalyticShape::wheel_arch(&WheelArch {
        wheel_radius: mm(310.0),
        centre: (mm(0.0), mm(-0.5 * SIZE.1 - 90.0)),
        hollow: Curvature::from_per_m(6.0),
        hollow_width: mm(90.0),
        lip: Curvature::from_per_m(12.0),
        lip_width: mm(25.0),
    })?;
    let outline = shape.outline((mm(SIZE.0), mm(SIZE.1)))?;
    let step = 3.0;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most some hundreds
    let (nx, ny) = ((SIZE.0 / step) as usize, (SIZE.1 / step) as usize);
    let seed = Seed::new(6);
    // Points in mm from the lower corner, the height with its noise.
    let point = |i: usize, j: usize| {
        let (x, y) = (step * i as f64, step * j as f64);
        let z = 1e3 * shape.height(1e-3 * (x - 0.5 * SIZE.0), 1e-3 * (y - 0.5 * SIZE.1));
        [x, y, z + NOISE * seed.normal(0, (j * (nx + 1) + i) as u64)]
    };
    let seen = |p: &[f64; 3]| {
        let ((x, y), radius) = MISSED;
        outline.contains(1e-3 * (p[0] - 0.5 * SIZE.0), 1e-3 * (p[1] - 0.5 * SIZE.1))
            && (p[0] - x).hypot(p[1] - y) > radius
    };
    let mut triangles = Vec::new();
    for k in 0..nx * ny {
        let (i, j) = (k % nx, k / nx);
        let [a, b, c, d] = [point(i, j), point(i + 1, j), point(i + 1, j + 1), point(i, j + 1)];
        triangles.extend([[a, b, c], [a, c, d]].into_iter().filter(|t| t.iter().all(seen)));
    }
    let mut bytes = vec![b' '; 80];
    bytes.extend(u32::try_from(triangles.len())?.to_le_bytes());
    for t in &triangles {
        // Readers take the normal from the corners.
        bytes.extend([0; 12]);
        #[allow(clippy::cast_possible_truncation)] // single precision is what the format holds
        bytes.extend(t.iter().flatten().flat_map(|v| (*v as f32).to_le_bytes()));
        bytes.extend([0; 2]);
    }
    Ok(bytes)
}

/// Reads the scan and prints what is to be known of it.
fn read(scan: &Path) -> Result<MeshSource, Box<dyn Error>> {
    let file = read_mesh(scan, LengthUnit::Mm)?;
    let health = MeshHealth::of(&file.mesh, file.unit);
    let size: [f64; 3] = core::array::from_fn(|k| 1e3 * (health.bounds.1[k] - health.bounds.0[k]));
    println!(
        "{} read in {}: {} triangles, {:.0} x {:.0} x {:.0} mm, {:.3} m²",
        file.format,
        file.unit,
        file.mesh.triangles().len(),
        size[0],
        size[1],
        size[2],
        health.area
    );
    println!(
        "{} part, {} open boundaries, edges {:.1} to {:.1} mm",
        health.component_count,
        health.loop_count,
        1e3 * health.edge_length.0,
        1e3 * health.edge_length.2
    );
    for finding in &health.findings {
        println!("{finding}");
    }
    let plan = MeshView { up: Up::Z, step: 2e-3 }.of(&file.mesh)?;
    for note in file.notes.iter().chain(&plan.notes) {
        println!("note: {note}");
    }
    Ok(MeshSource { mesh: file.mesh, plan, health })
}

/// Two crossed passes over the arch.
fn task(setup: &Setup, surface: &Arc<Surface>) -> Result<StepTask, Box<dyn Error>> {
    let mm = Length::from_mm;
    Ok(StepTask {
        setup: setup.clone(),
        panel: Panel::new(Patch::flat(), mm(SIZE.0), mm(SIZE.1))?,
        surface: Some(SurfaceTask {
            surface: Arc::clone(surface),
            route: Route::Pattern(SurfacePattern::crosshatch()),
            inset: None,
            options: SurfacePathOptions::default(),
            sections: None,
            film: None,
            survey: SurveySettings { step: mm(12.0).m(), ..SurveySettings::default() },
        }),
        pairing: Pairing::of(*setup.product()),
        working: Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 },
        phases: Vec::new(),
        passes: 2,
        pattern: Pattern::Crosshatch,
        path_options: PathOptions::default(),
        target_cut: None,
        cell: mm(4.0),
        drag_range: (1.0, 1.0),
    })
}

/// Writes the figure to the folder.
fn save(figure: &Figure, folder: &Path, stem: &str) -> Result<(), Box<dyn Error>> {
    write_whole(&folder.join(format!("{stem}.svg")), figure.to_svg()?.as_bytes())?;
    write_whole(&folder.join(format!("{stem}.png")), &figure.to_png(1.5)?)?;
    println!("wrote {}", folder.join(format!("{stem}.svg, .png and .ply")).display());
    Ok(())
}
