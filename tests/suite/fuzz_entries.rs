//! What each entry promises for any input: no panic, no claim of a file believed, and every error in words.
//! The fuzz targets of `fuzz/` call these with bytes of the fuzzer, the tests with the files of `tests/corpus`.

use core::fmt::Write;
use std::sync::OnceLock;
use trochoid::budget::read_gauge_table;
use trochoid::job::sweep::{JobText, Study};
use trochoid::job::{Job, STARTER};
use trochoid::motion::{Steady, SurfacePath, SurfacePathOptions};
use trochoid::panel::mesh::{LengthUnit, MeshHealth};
use trochoid::panel::read::{MeshFormat, height_map_from_csv, mesh_from_bytes, profile_from_csv};
use trochoid::panel::{AnalyticShape, Surface};
use trochoid::plan::operating_state;
use trochoid::spin::{AtHand, StallSettings};
use trochoid::{Curvature, Length};

/// Takes any bytes; panics where a promise is broken.
pub type Entry = fn(&[u8]);

/// Every entry with its name, which is that of its fuzz target and of its folder in `tests/corpus`.
pub const ENTRIES: [(&str, Entry); 10] = [
    ("gauge_csv", gauge_csv),
    ("height_csv", height_csv),
    ("job", job_text),
    ("obj", obj),
    ("path_csv", path_csv),
    ("ply", ply),
    ("profile_csv", profile_csv),
    ("state", state),
    ("stl", stl),
    ("study", study),
];

/// The longest beginning of the bytes that is text.
fn text(bytes: &[u8]) -> &str {
    match core::str::from_utf8(bytes) {
        Ok(all) => all,
        Err(e) => core::str::from_utf8(&bytes[..e.valid_up_to()]).unwrap_or(""),
    }
}

/// A mesh whose health can be told, or an error.
fn mesh(bytes: &[u8], format: MeshFormat) {
    match mesh_from_bytes("file", bytes, format, LengthUnit::Mm) {
        Ok(file) => {
            let vertices = file.mesh.vertices().len();
            assert!(file.mesh.triangles().iter().flatten().all(|v| (*v as usize) < vertices));
            assert!(file.mesh.vertices().iter().flatten().all(|c| c.abs() <= 1e3));
            assert!(!MeshHealth::of(&file.mesh, LengthUnit::Mm).to_string().is_empty());
        }
        Err(e) => assert!(e.to_string().len() < 1000),
    }
}

/// Any bytes as STL.
pub fn stl(bytes: &[u8]) {
    mesh(bytes, MeshFormat::Stl);
}

/// Any bytes as OBJ.
pub fn obj(bytes: &[u8]) {
    mesh(bytes, MeshFormat::Obj);
}

/// Any bytes as PLY.
pub fn ply(bytes: &[u8]) {
    mesh(bytes, MeshFormat::Ply);
}

/// Any bytes as a table of heights: a height map without gaps, or an error.
pub fn height_csv(bytes: &[u8]) {
    match height_map_from_csv("file", bytes) {
        Ok(table) => assert!(table.heights.heights().iter().all(|z| z.is_finite())),
        Err(e) => assert!(e.to_string().len() < 1000),
    }
}

/// Any bytes as a profile: a curve that can be swept without gaps, or an error.
pub fn profile_csv(bytes: &[u8]) {
    match profile_from_csv("file", bytes) {
        Ok(profile) => {
            let (first, last) = (profile.points()[0].0, profile.points()[profile.points().len() - 1].0);
            // A hundred nodes across, however long it is; refused where that is no step for a height map.
            let step = Length::from_m((last - first) / 100.0);
            if let Ok(sweep) = profile.swept(Length::from_m((last - first) / 10.0), step) {
                assert!(sweep.heights.heights().iter().all(|z| z.is_finite()));
            }
        }
        Err(e) => assert!(e.to_string().len() < 1000),
    }
}

/// Any text as a table of film readings: readings of finite numbers, or an error that names the file.
pub fn gauge_csv(bytes: &[u8]) {
    match read_gauge_table("film.csv", text(bytes)) {
        Ok(readings) => {
            assert!(!readings.is_empty() && readings.iter().all(|r| r.value().m().is_finite()));
        }
        Err(e) => assert!(e.to_string().contains("film.csv")),
    }
}

fn panel() -> Option<&'static Surface> {
    static PANEL: OnceLock<Option<Surface>> = OnceLock::new();
    PANEL
        .get_or_init(|| {
            let crown = AnalyticShape::sphere(Curvature::from_per_m(0.3)).ok()?;
            let size = (Length::from_mm(400.0), Length::from_mm(300.0));
            Some(Surface::new(crown.height_map(size, Length::from_mm(5.0)).ok()?))
        })
        .as_ref()
}

/// Any text as a polyline and as a recorded way over a panel: a path of finite length and time, or an error
/// that names the file.
pub fn path_csv(bytes: &[u8]) {
    let surface = panel().expect("a crown has heights");
    let options = SurfacePathOptions::default();
    let steady = Steady { feed: 0.04, force: 35.0 };
    for path in [
        SurfacePath::from_polyline_csv(surface, "way.csv", text(bytes), steady, &options),
        SurfacePath::from_recorded_csv(surface, "way.csv", text(bytes), 35.0, &options),
    ] {
        match path {
            Ok(p) => assert!(p.time().is_finite() && p.time() >= 0.0),
            Err(e) => assert!(e.to_string().contains("way.csv")),
        }
    }
}

/// Any text as a job file: a job, or a problem that says where.
pub fn job_text(bytes: &[u8]) {
    match Job::parse("job.toml", text(bytes)) {
        Ok(job) => assert!(job.file_name == "job.toml" && (job.vehicle.is_some() || !job.steps.is_empty())),
        Err(problem) => assert!(problem.to_string().contains("job.toml")),
    }
}

/// Any text as a study of the starter job: cases that can be worked, or an error.
pub fn study(bytes: &[u8]) {
    let job = |name: &str| JobText { name: name.to_owned(), text: STARTER.to_owned(), folder: None };
    match Study::parse_with("study.toml", text(bytes), |name, _| Ok(job(name))) {
        Ok(study) => {
            let tree = study.tree().expect("a study that was read has its job");
            let cases = tree.cases().expect("a study that was read has its cases");
            for case in [0, cases.count() / 2, cases.count() - 1] {
                let mut row = String::new();
                cases.row(case, &mut row);
                assert!(row.starts_with(&format!("{case},")) && row.matches('\n').count() == 1);
            }
        }
        Err(e) => assert!(e.to_string().chars().count() < 5000),
    }
}

/// Numbers and choices out of bytes, zeros where they have run out.
struct Draw<'a>(&'a [u8]);

impl Draw<'_> {
    fn byte(&mut self) -> u8 {
        let (first, rest) = self.0.split_first().map_or((0, self.0), |(b, rest)| (*b, rest));
        self.0 = rest;
        first
    }

    fn share(&mut self) -> f64 {
        f64::from(u16::from_le_bytes([self.byte(), self.byte()])) / f64::from(u16::MAX)
    }

    /// Evenly between two numbers, both included.
    fn even(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Evenly by decades between two positive numbers.
    fn decades(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.share())
    }

    fn one_of(&mut self, choices: &[&str]) -> String {
        choices[usize::from(self.byte()) % choices.len()].to_owned()
    }

    fn yes(&mut self) -> bool {
        self.byte() % 2 == 1
    }
}

fn job(d: &mut Draw<'_>) -> String {
    let drive = match d.one_of(&["free", "free", "free", "geared", "rotary"]).as_str() {
        "free" => format!(
            "drive = \"free\"\nthrow_mm = {:?}\norbit_rate_opm = {:?}\nbearing = {{ breakaway_nm = {:?}, viscous_nms = {:?}, friction = {:?}, bore_mm = {:?}, brake_nm = {:?} }}",
            d.decades(0.1, 50.0),
            d.decades(100.0, 20_000.0),
            d.even(0.0, 1.0),
            d.decades(1e-7, 1e-1),
            d.even(0.0, 0.1),
            d.decades(1.0, 50.0),
            d.even(0.0, 0.5),
        ),
        "geared" => format!(
            "drive = \"geared\"\nthrow_mm = {:?}\norbit_rate_opm = {:?}\nspin_per_orbit = {:?}",
            d.decades(0.1, 50.0),
            d.decades(100.0, 20_000.0),
            d.even(-2.0, 2.0),
        ),
        _ => format!("drive = \"rotary\"\nthrow_mm = 0.0\nspin_rpm = {:?}", d.even(-4000.0, 4000.0)),
    };
    let law = match d.one_of(&["linear", "measured", "power"]).as_str() {
        "linear" => format!("{{ law = \"linear\", stiffness_kpa_per_mm = {:?} }}", d.decades(0.01, 100.0)),
        "power" => format!(
            "{{ law = \"power\", stress_kpa_at_half = {:?}, exponent = {:?} }}",
            d.decades(0.1, 1000.0),
            d.even(0.2, 5.0)
        ),
        _ => {
            let mut stress = d.decades(0.1, 50.0);
            let list: Vec<String> = (0..4)
                .map(|_| {
                    stress += d.decades(0.001, 50.0);
                    format!("{stress:?}")
                })
                .collect();
            format!("{{ law = \"measured\", strain = [0.25, 0.40, 0.50, 0.65], stress_kpa = [{}] }}", list.join(", "))
        }
    };
    let mut pad = format!(
        "diameter_mm = {:?}\nthickness_mm = {:?}\ncompression = {law}\n",
        d.decades(20.0, 300.0),
        d.decades(1.0, 80.0)
    );
    if d.yes() {
        writeln!(pad, "shear_modulus_kpa = {:?}", d.decades(0.5, 1e4)).unwrap();
    }
    if d.yes() {
        writeln!(pad, "hole_mm = {:?}", d.even(0.0, 30.0)).unwrap();
    }
    if d.yes() {
        writeln!(pad, "plate_mm = {:?}", d.decades(20.0, 300.0)).unwrap();
    }
    if d.yes() {
        let (thick, stiff) = (d.decades(1.0, 30.0), d.decades(0.05, 50.0));
        writeln!(pad, "interface = {{ thickness_mm = {thick:?}, stiffness_kpa_per_mm = {stiff:?} }}").unwrap();
    }
    let shape = match d.one_of(&["flat", "sphere", "cylinder", "quadric"]).as_str() {
        "flat" => "shape = \"flat\"".to_owned(),
        "quadric" => format!(
            "shape = \"quadric\"\ncurvature_per_m = [{:?}, {:?}]\naxis_deg = {:?}",
            d.even(-20.0, 20.0),
            d.even(-20.0, 20.0),
            d.even(-180.0, 180.0)
        ),
        round => format!("shape = \"{round}\"\ncurvature_per_m = {:?}", d.even(-20.0, 20.0)),
    };
    let hold = match d.one_of(&["flat", "flat", "self_aligning", "tilted"]).as_str() {
        "tilted" => {
            format!("{{ kind = \"tilted\", x_deg = {:?}, y_deg = {:?} }}", d.even(-5.0, 5.0), d.even(-5.0, 5.0))
        }
        kind => format!("{{ kind = \"{kind}\" }}"),
    };
    format!(
        "schema = 1\n[tool.t]\n{drive}\n[pad.p]\n{pad}[product.c]\nfriction = {:?}\npreston_per_pa = {:?}\n[panel.s]\n{shape}\nsize_mm = [600.0, 450.0]\n[[step]]\nname = \"cut\"\ntool = \"t\"\npad = \"p\"\nproduct = \"c\"\npanel = \"s\"\nhold = {hold}\nforce_n = {:?}\nfeed_mm_s = {:?}\noverlap = {:?}\npasses = 2\npattern = \"raster\"\n",
        d.decades(0.01, 2.0),
        d.decades(1e-14, 1e-9),
        d.decades(0.1, 500.0),
        d.decades(1.0, 500.0),
        d.even(0.0, 0.9),
    )
}

/// A job with every number drawn from over its whole range: the operating state is finite, or refused in words.
pub fn state(bytes: &[u8]) {
    let text = job(&mut Draw(bytes));
    let Ok(job) = Job::parse("job.toml", &text) else { return };
    let step = &job.steps[0];
    let task = step.task(job.map.cell, (0.5, 2.0));
    let found =
        operating_state(&task.setup, &task.working, &AtHand::default(), task.drag_range, &StallSettings::default());
    match found {
        Ok(s) => {
            for (name, value) in [
                ("spin", s.run.spin),
                ("low spin", s.spin_range.0),
                ("high spin", s.spin_range.1),
                ("orbit speed", s.orbit_speed_m_s),
                ("mean speed", s.pad_mean_speed_m_s),
                ("volume rate", s.volume_rate_m3_s),
                ("cut", s.cut_per_pass_m),
                ("friction", s.friction_w),
                ("torque", s.orbit_torque_nm),
                ("settling", s.settling_time_s.unwrap_or(0.0)),
                ("stall number", s.limits.stall_number().unwrap_or(0.0)),
            ] {
                assert!(value.is_finite(), "{name} {value}\n{text}");
            }
            assert!(s.volume_rate_m3_s >= 0.0 && s.friction_w >= 0.0, "{text}");
        }
        Err(e) => assert!(!e.to_string().is_empty()),
    }
}
