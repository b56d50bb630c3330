//! Work on real panels: against the exact deposit on patches of constant curvature, volume, edges.

use trochoid::contact::ContactSettings;
use trochoid::motion::{Pattern, ToolPath};
use trochoid::panel::{HeightMap, Surface};
use trochoid::removal::{Stop, SurfaceSettings, panel_map, stop_length, work_surface};
use trochoid::spin::spin_state;
use trochoid::*;

fn setup(patch: Patch) -> Setup {
    let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(1e-4)).unwrap();
    let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_opm(4200.0), bearing).unwrap();
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9)).unwrap();
    let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law).unwrap();
    Setup::new(tool, pad, Product::new(0.35, 2e-11).unwrap(), patch, Force::from_n(35.0)).unwrap()
}

/// Stops every few millimetres along straight legs, moved into plan by `place`.
fn stops(path: &ToolPath, longest: f64, place: impl Fn((f64, f64)) -> (f64, f64)) -> Vec<Stop> {
    let mut out = Vec::new();
    for leg in path.legs() {
        let n = (leg.length() / longest).ceil().max(1.0) as usize;
        for k in 0..n {
            let at = place(leg.at((k as f64 + 0.5) / n as f64));
            out.push(Stop { at, time_s: leg.time() / n as f64, force_share: 1.0, pass: leg.pass as u32 });
        }
    }
    out
}

/// A cylinder is worked in plan as its developed rectangle is: unrolled, the two maps are one.
#[test]
fn a_cylinder_unrolls() {
    for curvature in [0.0, 0.8, -0.5] {
        let patch = Patch::cylinder(Curvature::from_per_m(curvature), Angle::from_deg(0.0)).unwrap();
        let setup = setup(patch);
        let size = (0.40, 0.30);
        let path = ToolPath::over_rectangle(size, Pattern::Crosshatch, 2, 0.065, 0.04).unwrap();
        let panel = Panel::new(patch, Length::from_mm(400.0), Length::from_mm(300.0)).unwrap();
        let run = spin_state(&setup, &patch, &ContactSettings::default()).unwrap();
        let exact = panel_map(&setup, &run, &panel, path.clone(), 2e-3).unwrap();
        // Plan x from the developed s, the crest in the middle.
        let plan = |s: f64| if curvature == 0.0 { s } else { 0.2 + (curvature * (s - 0.2)).sin() / curvature };
        let height = |x: f64, _: f64| {
            if curvature == 0.0 {
                return 0.0;
            }
            let u: f64 = (x - 0.2) * curvature;
            ((1.0 - u * u).sqrt() - 1.0) / curvature
        };
        let map = HeightMap::from_function((-0.12, -0.12), (0.52, 0.42), 2e-3, height).unwrap();
        let surface = Surface::new(map);
        let list = stops(&path, stop_length(&setup), |(s, y)| (plan(s), y));
        let t = std::time::Instant::now();
        let found = work_surface(&setup, &surface, &list, 2e-3, 6.283, &SurfaceSettings::default()).unwrap();
        println!("{} stops, {} cells {:?}", list.len(), found.grid.len(), t.elapsed());
        let (mut worst, mut sum, mut n) = (0.0f64, 0.0, 0.0);
        let grid = &exact.field.grid;
        let peak = exact.field.work.iter().fold(0.0f64, |a, b| a.max(*b));
        for j in 0..grid.count().1 {
            for i in 0..grid.count().0 {
                let (s, y) = grid.centre(i, j);
                let (x, y) = (plan(s), y);
                let g = &found.grid;
                let (u, v) = ((x - g.origin.0) / g.cell - 0.5, (y - g.origin.1) / g.cell - 0.5);
                let (a, b) = (u.floor() as usize, v.floor() as usize);
                let (tu, tv) = (u.fract(), v.fract());
                let at = |i: usize, j: usize| found.field.work[j * g.count.0 + i];
                let value = (1.0 - tv) * ((1.0 - tu) * at(a, b) + tu * at(a + 1, b))
                    + tv * ((1.0 - tu) * at(a, b + 1) + tu * at(a + 1, b + 1));
                let d = value - exact.field.work[j * grid.count().0 + i];
                worst = worst.max(d.abs() / peak);
                sum += d;
                n += exact.field.work[j * grid.count().0 + i];
            }
        }
        println!(
            "k {curvature}: worst {worst:.5} mean rel {:.6} volume {:.6} cells {:.6} exact {:.6}",
            sum / n,
            found.volume_m3 * 1e9,
            found.volume_on_cells_m3() * 1e9,
            exact.volume_m3 * 1e9
        );
    }
}

#[test]
fn survey_and_zones_of_a_hollow_door() {
    use trochoid::plan::*;
    use trochoid::spin::{AtHand, StallSettings};
    let setup = setup(Patch::flat());
    // A door with a hollow of radius 300 mm across the middle third, and free edges.
    let map = HeightMap::from_function((0.0, 0.0), (0.8, 0.6), 2e-3, |_, y| {
        let u = (y - 0.3) / 0.12;
        -0.012 * (-u * u).exp()
    })
    .unwrap();
    let surface = Surface::new(map);
    let t = std::time::Instant::now();
    let s = survey(&setup, &surface, &StallSettings::default(), &SurveySettings::default()).unwrap();
    println!("survey {:?} {} places", t.elapsed(), s.places.len());
    let t = std::time::Instant::now();
    let z = find_zones(
        &setup,
        &surface,
        &s,
        0.04,
        &AtHand::default(),
        &StallSettings::default(),
        &SurveySettings::default(),
    )
    .unwrap();
    println!("zones {:?}", t.elapsed());
    for zone in &z.zones {
        println!(
            "{:?} {} places worst {:?} spin {:?} peak {} H {}",
            zone.kind,
            zone.places.len(),
            zone.worst_at,
            zone.least_spin.map(|s| s * 9.549),
            zone.peak_pressure_pa,
            zone.mean_curvature_per_m
        );
        for c in &zone.changes {
            println!("   {:?} {:?} {}", c.kind, c.value, c.reason);
        }
    }
}
