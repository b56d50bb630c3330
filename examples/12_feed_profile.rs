//! What does a machine gain that may change its feed along the path?
//!
//! ```text
//! cargo run --release --example 12_feed_profile [FOLDER]
//! ```
//!
//! One section of a crowned door, worked in two crossed passes whose lines lie far apart. At one steady
//! feed the lines show as stripes. Then the feed may change within its limits of speed and acceleration,
//! and the one that comes nearest to an even cut is sought, at several prices of a second. For the hand,
//! which cannot do that, the settings that get nearest are printed. Writes `12_feed_profile.svg` and
//! `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Pairing, Product, Tool};
use trochoid::motion::{PathOptions, Pattern};
use trochoid::panel::{Panel, Patch};
use trochoid::plan::{
    FeedLimits, FeedSettings, FeedTask, StepTask, TargetKind, Working, optimise_feed, settings_for_hand,
};
use trochoid::plot::{Figure, Page};
use trochoid::report::pictures::{feed_chart, feed_cut_page, settings_line, trade_chart};
use trochoid::report::{prepare_folder, write_whole};
use trochoid::spin::{Setup, StallSettings};
use trochoid::{Acceleration, AngularRate, Curvature, Force, Length, Pressure, Speed, Stiffness, Torque, ViscousDrag};

fn task() -> Result<StepTask, Box<dyn Error>> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?.with_shear_modulus(Pressure::from_kpa(30.0))?;
    let patch = Patch::sphere(Curvature::from_per_m(0.25))?;
    let product = Product::new(0.35, 2e-11)?;
    Ok(StepTask {
        setup: Setup::new(tool, pad, product, patch, Force::from_n(35.0))?,
        panel: Panel::new(patch, Length::from_mm(450.0), Length::from_mm(420.0))?,
        surface: None,
        pairing: Pairing::new(product, 0.5)?,
        working: Working { feed: Speed::from_mm_s(40.0), overlap: 0.3 },
        passes: 2,
        phases: Vec::new(),
        pattern: Pattern::Crosshatch,
        path_options: PathOptions::default(),
        target_cut: None,
        cell: Length::from_mm(5.0),
        drag_range: (0.5, 2.0),
    })
}

fn main() -> Result<(), Box<dyn Error>> {
    let task = task()?;
    let limits = FeedLimits::new(Speed::from_mm_s(10.0), Speed::from_mm_s(100.0))?
        .with_acceleration(Acceleration::from_mm_s2(250.0))?;
    let settings = StallSettings::default();
    let feed = FeedTask { limits, kind: TargetKind::Even, film: None, settings: FeedSettings::default() };
    let plan = optimise_feed(&task, &feed, &settings)?;
    let percent = |share: f64| 100.0 * share;
    println!("An even cut of {:.2} µm over 450 x 420 mm, two crossed passes, overlap 30 %", 1e6 * plan.target_mean_m);
    println!("                       off the target (RMS)   time [s]");
    println!(
        "steady 40 mm/s         {:8.1} % {:21.0}",
        percent(plan.found.residual_given_rel),
        plan.found.time_given_s
    );
    println!("feed along the path    {:8.1} % {:21.0}", percent(plan.found.residual_rel), plan.found.time_s);
    println!("at a price of time, with the rim around the worked area counted a quarter:");
    for t in &plan.trade {
        println!("  weight {:7.4}       {:8.1} % {:21.0}", t.time_weight, percent(t.counted_rel), t.time_s);
    }
    println!(
        "Acceleration along the path: at most {:.0} mm/s² of the 250 allowed.",
        Acceleration::from_m_s2(plan.found.acceleration_m_s2).mm_s2()
    );
    let hand = settings_for_hand(&task, &settings)?;
    println!("By hand, for the same cut:");
    for s in hand.settings.iter().take(3) {
        println!(
            "  {:.0} mm/s, overlap {}, {} passes: spread {:.1} %, {:.0} s ({})",
            s.feed.mm_s(),
            s.overlap_words,
            s.passes.map_or("too many".into(), |p| p.to_string()),
            percent(s.cv.unwrap_or(f64::NAN)),
            s.time_s.unwrap_or(f64::NAN),
            s.reason
        );
    }
    let maps = feed_cut_page("Cut", &task, &plan, TargetKind::Even)?;
    let mut panels = maps.panels;
    let mut along = feed_chart("feed along the path", &task, &plan, &limits);
    let mut trade = trade_chart("what time buys", &task, &plan);
    along.caption = String::new();
    trade.caption = String::new();
    panels.push(along.into());
    panels.push(trade.into());
    let figure = Page {
        title: "A feed that changes along the path".into(),
        caption: format!(
            "Two crossed passes, overlap 30 %; an even cut is asked for inside the worked area (dashed). Spread = \
             standard deviation / mean there. Feed 10 to 100 mm/s, at most 250 mm/s² along the path; what turning a \
             corner asks of the machine is not counted. {}.",
            settings_line(&task.setup)
        ),
        panels,
        shared_colour: true,
        shared_legend: true,
        width: 1000.0,
        ..Page::default()
    }
    .figure()?;
    save(&figure, "12_feed_profile")
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    prepare_folder(&folder)?;
    write_whole(&folder.join(format!("{stem}.svg")), figure.to_svg()?.as_bytes())?;
    write_whole(&folder.join(format!("{stem}.png")), &figure.to_png(1.5)?)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
