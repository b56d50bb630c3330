//! Which throw, pad, rate and force for these panels?
//!
//! ```text
//! cargo run --release --example 16_size_a_tool [FOLDER]
//! ```
//!
//! Three invented kinds of panel, each with its share of the work. The search trades cut against stall margin
//! and shaking; the design nearest to the best of all three is told with what holds it back. Writes
//! `16_size_a_tool.svg` and `.png` (the front) and `16_size_a_tool_margin.svg` and `.png` (where the pad would stall) to
//! FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Substrate, Tool};
use trochoid::math::evolve::EvolveSettings;
use trochoid::panel::Patch;
use trochoid::plan::Working;
use trochoid::plan::sizing::{
    Bound, Design, DesignSpace, Duty, Fleet, FleetPanel, Objective, SizingOutcome, SizingTask, Variable, VariableRange,
    size_a_tool,
};
use trochoid::report::pictures::{front_page, margin_chart};
use trochoid::report::{impossible_words, sizing_words, write_figure};
use trochoid::spin::{Setup, StallSettings};
use trochoid::{AngularRate, Curvature, Force, Length, Speed, Stiffness, Torque, ViscousDrag};

fn main() -> Result<(), Box<dyn Error>> {
    let bearing = Bearing::new(Torque::from_nm(0.03), ViscousDrag::from_nms(8e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
    let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    let base = Design::new(setup, Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 })?;
    let panel = |name: &str, per_m: f64, share: f64| -> Result<FleetPanel, Box<dyn Error>> {
        Ok(FleetPanel { name: name.into(), patch: Patch::sphere(Curvature::from_per_m(per_m))?, share })
    };
    let range = |variable, low, high| VariableRange { variable, low, high };
    let task = SizingTask {
        space: DesignSpace::new(
            base,
            vec![
                range(Variable::Throw, 6.0, 24.0),
                range(Variable::PadDiameter, 75.0, 160.0),
                range(Variable::OrbitRate, 2500.0, 5500.0),
                range(Variable::Force, 15.0, 60.0),
            ],
        )?,
        duty: Duty {
            fleet: Fleet::new(vec![
                panel("roofs", 0.2, 6.0)?,
                panel("doors", 0.1, 3.0)?,
                panel("hollows", -0.5, 1.0)?,
            ])?,
            enough_margin_per_m: 2.0,
            target_cut: Length::from_um(2.0),
            substrate: Substrate::Steel,
            settings: StallSettings::default(),
        },
        objectives: vec![Objective::CutRate, Objective::StallMargin, Objective::ShakingForce],
        bounds: vec![
            Bound { objective: Objective::StalledShare, value: 0.0 },
            Bound { objective: Objective::ShaftPower, value: 200.0 },
            // Without it the smallest pad at the greatest force wins: hard cutting on a small, hot strip.
            Bound { objective: Objective::SheetRise, value: 8.0 },
        ],
        search: EvolveSettings { population: 60, generations: 30, ..EvolveSettings::default() },
        sensitivity_rows: 300,
    };
    let sizing = match size_a_tool(&task)? {
        SizingOutcome::Sized(sizing) => sizing,
        SizingOutcome::Impossible(told) => return Err(impossible_words(&task, &told).into()),
    };
    print!("{}", sizing_words("draft", &task, &sizing));
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    let map = margin_chart("Where the pad would stall", &task, &sizing.front[sizing.chosen]);
    for (name, figure) in [
        ("16_size_a_tool", front_page("The best trade-offs", &task, &sizing).figure()?),
        ("16_size_a_tool_margin", map.figure()?),
    ] {
        write_figure(&folder, name, &figure)?;
    }
    Ok(())
}
