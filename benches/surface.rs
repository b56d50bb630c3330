//! Real panels: contact and spin at one place, the survey, the work along a path, curvature, and a mesh
//! made into heights.
//!
//! Figures in `record/` are of builds for the machine's own CPU
//! (`RUSTFLAGS="-C target-cpu=native" cargo bench --bench surface`).

use core::hint::black_box;
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use trochoid::contact::LocalSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::motion::{PathSetup, SurfacePath, SurfacePathOptions, SurfacePattern};
use trochoid::panel::mesh::{MeshHealth, MeshView, TriangleMesh, Up};
use trochoid::panel::{AnalyticShape, BodyLine, Patch, Surface, curvature_at};
use trochoid::plan::{SurveySettings, stops_along, survey};
use trochoid::removal::{SurfaceSettings, stop_length, work_surface};
use trochoid::spin::{PlaceSolver, Setup, StallSettings};
use trochoid::{
    Angle, AngularRate, Curvature, Error, Force, Length, Pressure, RangeError, Stiffness, Torque, ViscousDrag,
};

fn linear() -> Result<CompressionLaw, RangeError> {
    CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))
}

fn measured() -> Result<CompressionLaw, RangeError> {
    CompressionLaw::measured(&[0.25, 0.40, 0.50, 0.65], &[3.0, 3.8, 5.0, 8.0].map(Pressure::from_kpa))
}

fn setup(law: CompressionLaw) -> Result<Setup, RangeError> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?.with_shear_modulus(Pressure::from_kpa(25.0))?;
    Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))
}

/// 1.0 x 0.7 m with a body line, nodes 2 mm apart.
fn door() -> Result<Surface, RangeError> {
    let mm = Length::from_mm;
    let shape = AnalyticShape::body_line(&BodyLine {
        angle: Angle::from_deg(14.0),
        radius: mm(8.0),
        offset: mm(90.0),
        direction: Angle::from_deg(0.0),
        crown_along: Curvature::from_per_m(0.12),
        crown_across: Curvature::from_per_m(0.30),
    })?;
    Ok(Surface::new(shape.height_map((mm(1000.0), mm(700.0)), mm(2.0))?))
}

fn path(surface: &Surface, passes: usize) -> Result<SurfacePath, Error> {
    let setup = PathSetup { spacing: 0.065, feed: 0.04, passes, inset: 0.044 };
    Ok(SurfacePath::over(surface, &SurfacePattern::crosshatch(), &setup, &SurfacePathOptions::default())?)
}

fn one_place(c: &mut Criterion) {
    let Ok(surface) = door() else { return };
    let heights = surface.heights();
    let hollow = AnalyticShape::sphere(Curvature::from_per_m(-0.5))
        .and_then(|s| s.height_map((Length::from_mm(400.0), Length::from_mm(400.0)), Length::from_mm(2.0)));
    let Ok(hollow) = hollow else { return };
    for (law, name) in [(linear(), "linear"), (measured(), "measured")] {
        let Ok(setup) = law.and_then(setup) else { continue };
        let Ok(solver) = PlaceSolver::new(&setup, 1.0, &LocalSettings::default()) else { continue };
        // At the edge about a fifth of the pad hangs over it.
        for (at, map, x, y) in [
            ("face", heights, 0.1, -0.2),
            ("edge", heights, 0.1, -0.32),
            ("line", heights, 0.1, 0.09),
            ("hollow", &hollow, 0.0, 0.0),
        ] {
            let frame = map.frame_at(x, y, 8e-3);
            c.bench_function(&format!("surface/place/{at}, {name}"), |b| b.iter(|| solver.at(map, black_box(&frame))));
        }
        let frame = hollow.frame_at(0.0, 0.0, 8e-3);
        let site = solver.nodes().site(&hollow, &frame);
        let useful = StallSettings::default().useful_spin;
        c.bench_function(&format!("surface/stall number, {name}"), |b| {
            b.iter(|| solver.stall_number(black_box(&site), useful, 20.0));
        });
    }
    c.bench_function("surface/curvature at a place", |b| {
        b.iter(|| curvature_at(heights, black_box(0.1), -0.2, 0.065));
    });
}

fn whole_panel(c: &mut Criterion) {
    let (Ok(surface), Ok(setup)) = (door(), measured().and_then(setup)) else { return };
    let stall = StallSettings::default();
    let settings = SurfaceSettings::default();
    let mut group = c.benchmark_group("surface");
    group.sample_size(10);
    let Ok(two) = path(&surface, 2) else { return };
    let stops = stops_along(&two, &surface, stop_length(&setup));
    for cell in [4.0, 2.0, 1.0] {
        group.throughput(Throughput::Elements(stops.len() as u64));
        group.bench_function(BenchmarkId::new("work, cells of", format!("{cell} mm")), |b| {
            b.iter(|| work_surface(&setup, &surface, &stops, 1e-3 * cell, stall.useful_spin, &settings));
        });
    }
    for passes in [1_usize, 2, 4] {
        let Ok(path) = path(&surface, passes) else { continue };
        let stops = stops_along(&path, &surface, stop_length(&setup));
        group.throughput(Throughput::Elements(stops.len() as u64));
        group.bench_function(BenchmarkId::new("work, 4 mm, passes", passes), |b| {
            b.iter(|| work_surface(&setup, &surface, &stops, 4e-3, stall.useful_spin, &settings));
        });
    }
    for (name, pad_sizes) in [("survey every 20 mm", false), ("survey every 20 mm with pad sizes", true)] {
        let settings = SurveySettings { step: 20e-3, pad_sizes, ..SurveySettings::default() };
        group.throughput(Throughput::Elements(50 * 35));
        group.bench_function(name, |b| b.iter(|| survey(&setup, &surface, &stall, &settings)));
    }
    group.finish();
}

/// 100 352 triangles over 1.0 x 0.7 m.
fn mesh() -> Result<TriangleMesh, RangeError> {
    let (nx, ny) = (256_u32, 196_u32);
    let point = |k: u32| {
        let (x, y) = (f64::from(k % (nx + 1)) / f64::from(nx), 0.7 * f64::from(k / (nx + 1)) / f64::from(ny));
        [x, y, 0.02 * (3.0 * x).cos() * (4.0 * y).cos()]
    };
    let corner = |i: u32, j: u32| j * (nx + 1) + i;
    let cells = (0..nx * ny).map(|k| (k % nx, k / nx));
    let triangles = cells.flat_map(|(i, j)| {
        let [a, b, c, d] = [corner(i, j), corner(i + 1, j), corner(i + 1, j + 1), corner(i, j + 1)];
        [[a, b, c], [a, c, d]]
    });
    TriangleMesh::new((0..(nx + 1) * (ny + 1)).map(point).collect(), triangles.collect())
}

fn from_mesh(c: &mut Criterion) {
    let Ok(mesh) = mesh() else { return };
    let mut group = c.benchmark_group("surface/mesh of 100 000 triangles");
    group.sample_size(10);
    group.throughput(Throughput::Elements(mesh.triangles().len() as u64));
    group.bench_function("heights, 2 mm", |b| {
        b.iter(|| MeshView { up: Up::Z, step: 2e-3 }.of(black_box(&mesh)));
    });
    group.bench_function("health", |b| {
        b.iter(|| MeshHealth::of(black_box(&mesh), trochoid::panel::mesh::LengthUnit::M));
    });
    group.finish();
}

criterion_group!(benches, one_place, whole_panel, from_mesh);
criterion_main!(benches);
