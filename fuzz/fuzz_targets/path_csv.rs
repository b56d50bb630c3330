//! Any text as a polyline and as a recorded way over a panel: a path of finite length and time, or an
//! error that names the file.

#![no_main]

use libfuzzer_sys::fuzz_target;
use std::sync::OnceLock;
use trochoid::motion::{Steady, SurfacePath, SurfacePathOptions};
use trochoid::panel::{AnalyticShape, Surface};
use trochoid::{Curvature, Length};

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

fuzz_target!(|text: &str| {
    let Some(surface) = panel() else { return };
    let options = SurfacePathOptions::default();
    let steady = Steady { feed: 0.04, force: 35.0 };
    for path in [
        SurfacePath::from_polyline_csv(surface, "way.csv", text, steady, &options),
        SurfacePath::from_recorded_csv(surface, "way.csv", text, 35.0, &options),
    ] {
        match path {
            Ok(p) => assert!(p.time().is_finite() && p.time() >= 0.0),
            Err(e) => assert!(e.to_string().contains("way.csv")),
        }
    }
});
