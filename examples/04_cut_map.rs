//! How even is the cut over a section: raster or crosshatch, wide or narrow lines?
//!
//! ```text
//! cargo run --release --example 04_cut_map [FOLDER]
//! ```
//!
//! Four passes over one section, twice as raster and twice as crosshatch. Each map is divided by its
//! own mean inside the worked area, so that the colours compare the evenness and not the amount.
//! Writes `04_cut_map.svg` and `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::motion::{Pattern, ToolPath};
use trochoid::panel::{Panel, Patch};
use trochoid::plot::{ColourMap, ColourScale, FieldMap, Figure, Page, RectangleOverlay};
use trochoid::removal::{PanelMap, panel_map};
use trochoid::report::write_figure;
use trochoid::spin::{Setup, spin_state};
use trochoid::{AngularRate, Curvature, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

const PASSES: usize = 4;

fn main() -> Result<(), Box<dyn Error>> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?.with_shear_modulus(Pressure::from_kpa(30.0))?;
    let patch = Patch::sphere(Curvature::from_per_m(0.25))?;
    let panel = Panel::new(patch, Length::from_mm(450.0), Length::from_mm(450.0))?;
    let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, patch, Force::from_n(35.0))?;
    let run = spin_state(&setup, setup.patch(), &ContactSettings::default())?;

    println!("Cut after {PASSES} passes at 40 mm/s over 450 x 450 mm, inside the worked area");
    println!("pattern     overlap   mean [µm]   5 to 95 % [µm]   spread [% of mean]   time [s]");
    let mut panels = Vec::new();
    let mut inset = 0.0;
    for overlap in [0.5, 0.2] {
        for pattern in [Pattern::Raster, Pattern::Crosshatch] {
            let spacing = (1.0 - overlap) * setup.pad().diameter().m();
            let size = (panel.length().m(), panel.width().m());
            let path = ToolPath::over_rectangle(size, pattern, PASSES, spacing, 0.04)?;
            let map = panel_map(&setup, &run, &panel, path, 2e-3)?;
            let cut = map.cut.ok_or("the pad leaves no worked area on this panel")?;
            let spread = 100.0 * cut.cv().ok_or("nothing was cut")?;
            println!(
                "{:11} {:5.0} % {:11.2} {:9.2} to {:.2} {:17.1} {:14.0}",
                pattern.name(),
                100.0 * overlap,
                1e6 * cut.mean,
                1e6 * cut.p5,
                1e6 * cut.p95,
                spread,
                map.path.time()
            );
            inset = map.inset_m;
            panels.push(chart(&map, pattern, overlap, cut.mean, spread).into());
        }
    }
    println!("Lines set closer even out the cut most; crossing them helps at either distance.");
    println!("The ends of the lines, where the pad turns on the edge, are cut more than the section inside.");
    let figure = Page {
        title: "How even is the cut".into(),
        caption: format!(
            "Cut over its mean inside the worked area (dashed, {:.0} mm from the edges); spread = standard deviation / \
             mean there. {PASSES} passes at 40 mm/s; pad 130 mm, throw 15 mm, 4200 orbits/min, 35 N, crown of 0.25 per \
             metre.",
            1e3 * inset
        ),
        panels,
        shared_colour: true,
        ..Page::default()
    }
    .figure()?;
    save(&figure, "04_cut_map")
}

fn chart(map: &PanelMap, pattern: Pattern, overlap: f64, mean: f64, spread: f64) -> FieldMap {
    let grid = &map.field.grid;
    let ((nx, ny), (dx, dy)) = (grid.count(), grid.cell());
    let (width, height) = (1e3 * nx as f64 * dx, 1e3 * ny as f64 * dy);
    let inset = 1e3 * map.inset_m;
    FieldMap {
        title: format!("{}, overlap {:.0} %: spread {spread:.1} %", pattern.name(), 100.0 * overlap),
        columns: nx,
        rows: ny,
        values: map.field.work.iter().map(|w| map.preston_per_pa * w / mean).collect(),
        x_range: (0.0, width),
        y_range: (0.0, height),
        colour: ColourScale {
            title: "cut / mean [1]".into(),
            map: ColourMap::Diverging,
            range: Some((0.5, 1.5)),
            centre: Some((1.0, "mean".into())),
            ..ColourScale::default()
        },
        rectangles: vec![RectangleOverlay {
            label: "worked area".into(),
            x: (inset, width - inset),
            y: (inset, height - inset),
        }],
        ..FieldMap::default()
    }
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    write_figure(&folder, stem, figure)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
