//! Where does the day on a whole vehicle go? The invented saloon of `examples/jobs/vehicle.toml`, planned:
//! which kit works which zone, what is swapped when, and every minute of it on a timeline.
//!
//! Run: `cargo run --release --example 11_vehicle_plan [FOLDER]`.

use std::error::Error;
use std::path::PathBuf;
use trochoid::job::Job;
use trochoid::job::vehicle::plan_vehicle;
use trochoid::plan::vehicle::Minute;
use trochoid::report::pictures::vehicle_timeline;
use trochoid::report::{clock, prepare_folder, write_whole};
use trochoid::spin::StallSettings;

/// Factors on a bearing's drag until it is calibrated.
const UNCALIBRATED: (f64, f64) = (0.5, 2.0);

fn main() -> Result<(), Box<dyn Error>> {
    let text = include_str!("jobs/vehicle.toml");
    let job = Job::parse("vehicle.toml", text)?;
    let plan = plan_vehicle(&job, &StallSettings::default(), &|_| UNCALIBRATED)?;
    println!("{} in all on {} zones, {} steps:", clock(plan.trace.total()), plan.zones.len(), plan.steps.len());
    for minute in Minute::ALL {
        let time = plan.trace.of(minute);
        if time.s() > 0.0 {
            println!("  {:<18} {:>6.1} min", minute.words(), time.s() / 60.0);
        }
    }
    println!(
        "{} tool and {} pad swaps; panel by panel it would be {} and {}",
        plan.order.tool_swaps, plan.order.pad_swaps, plan.naive.tool_swaps, plan.naive.pad_swaps
    );
    for zone in plan.zones.iter().filter(|z| !z.unmet.is_empty()) {
        println!("{}: {}", zone.label, zone.unmet.join("; "));
    }
    for u in plan.uncorrectable.iter().filter(|u| u.never) {
        println!("{}: {} gets no pass: {}", u.panel, u.defect, u.why);
    }
    let figure = vehicle_timeline(&job, &plan).figure()?;
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    prepare_folder(&folder)?;
    write_whole(&folder.join("11_vehicle_plan.svg"), figure.to_svg()?.as_bytes())?;
    write_whole(&folder.join("11_vehicle_plan.png"), &figure.to_png(1.5)?)?;
    println!("wrote {}", folder.join("11_vehicle_plan.svg and .png").display());
    Ok(())
}
