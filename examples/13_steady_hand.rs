//! How much does a steadier hand buy?
//!
//! ```text
//! cargo run --release --example 13_steady_hand [FOLDER]
//! ```
//!
//! One invented section worked by hands of growing unsteadiness: how often each takes more than may go
//! somewhere, how far a place strays, and which habit to work on first. Writes `13_steady_hand.svg` and
//! `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Pairing, Product, Tool};
use trochoid::motion::{PathOptions, Pattern};
use trochoid::panel::{Panel, Patch};
use trochoid::plan::{Habit, HandScatter, StepTask, VariabilitySettings, Working, hand_variability};
use trochoid::plot::{Across, Axis, CurveChart, Figure, Limit, Mark, Page, Panel as PlotPanel, Series};
use trochoid::report::pictures::{percentile_page, tornado_chart};
use trochoid::report::{hand_words, prepare_folder, write_whole};
use trochoid::spin::{Setup, spin_state};
use trochoid::{AngularRate, Curvature, Force, Length, Speed, Stiffness, Torque, ViscousDrag};

/// Section, mm.
const SECTION: f64 = 450.0;
const PASSES: usize = 4;
/// What may go over what a perfectly steady hand takes at its worst place: the margin of the budget.
const MARGIN: f64 = 1.15;

fn main() -> Result<(), Box<dyn Error>> {
    let patch = Patch::sphere(Curvature::from_per_m(0.4))?;
    let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(1e-4))?;
    let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_opm(4200.0), bearing)?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
    let product = Product::new(0.35, 2e-11)?;
    let setup = Setup::new(tool, pad, product, patch, Force::from_n(35.0))?;
    let run = spin_state(&setup, &patch, &ContactSettings::default())?;
    let side = Length::from_mm(SECTION);
    let task = StepTask {
        panel: Panel::new(patch, side, side)?,
        setup: setup.clone(),
        surface: None,
        pairing: Pairing::of(product),
        working: Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 },
        passes: PASSES,
        phases: Vec::new(),
        pattern: Pattern::Crosshatch,
        path_options: PathOptions::default(),
        target_cut: None,
        cell: Length::from_mm(5.0),
        drag_range: (0.5, 2.0),
    };
    let settings = VariabilitySettings { replicates: 400, ..VariabilitySettings::default() };
    let unsteady = HandScatter::default().scaled(1.0)?;
    let planned = hand_variability(&task, &run, PASSES, &HandScatter::steady(), None, &settings)?;
    let planned = planned.ok_or("the face sticks")?;
    let most = planned.planned.iter().fold(0.0_f64, |a, b| a.max(*b));
    let allowed = MARGIN * most;
    let at = move |_: (f64, f64)| allowed;
    let um = |m: f64| Length::from_m(m).um();
    println!(
        "a perfectly steady hand cuts {:.2} µm on average and {:.2} µm at the worst place; {:.2} µm may go",
        um(planned.ensemble.mean.over.mean),
        um(most),
        um(allowed)
    );

    let (mut over, mut stray, mut spread) = (Vec::new(), Vec::new(), Vec::new());
    let mut whole = None;
    for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let hand = unsteady.scaled(share)?;
        let few = VariabilitySettings { comparisons: if share < 1.0 { 10 } else { 200 }, ..settings };
        let v = hand_variability(&task, &run, PASSES, &hand, Some(&at), &few)?.ok_or("the face sticks")?;
        let beyond = v.beyond.as_ref().map_or(0.0, |b| b.anywhere);
        over.push((100.0 * share, 100.0 * beyond));
        stray.push((100.0 * share, 100.0 * v.ensemble.local_rel_sd));
        spread.push((100.0 * share, 100.0 * v.ensemble.cv.over.mean));
        println!(
            "{:3.0} % of the scatter: a place strays by {:4.1} %, over the budget somewhere in {:3.0} of 100 panels",
            100.0 * share,
            100.0 * v.ensemble.local_rel_sd,
            100.0 * beyond
        );
        whole = Some(v);
    }
    let v = whole.ok_or("no hand was followed")?;
    for line in hand_words(&v) {
        println!("{line}");
    }
    let first = v.habits.first().map_or(Habit::Feed, |h| h.habit);
    println!("to work on first: {}", first.name());

    let axis = "scatter, % of the assumed hand's";
    let buys = CurveChart {
        title: "What steadiness buys".into(),
        x: Axis::linear(axis),
        y: Axis::linear("% of the mean cut"),
        series: vec![Series::new("a place, from panel to panel", stray), Series::new("within a panel", spread)],
        ..CurveChart::default()
    };
    let chance = CurveChart {
        title: "Panels over the budget somewhere".into(),
        x: Axis::linear(axis),
        y: Axis::between("panels in 100", 0.0, 100.0),
        marks: over.last().map(|p| Mark { label: "assumed hand".into(), x: p.0, y: p.1 }).into_iter().collect(),
        series: vec![Series::new(&format!("over {:.1} µm", um(allowed)), over)],
        limits: vec![Limit { label: "5 in 100".into(), at: 5.0, across: Across::Y }],
        ..CurveChart::default()
    };
    let maps = percentile_page(&setup, &v, "");
    let mut panels: Vec<PlotPanel> = vec![buys.into(), chance.into()];
    panels.extend(maps.panels.into_iter().skip(3));
    let mut tornado = tornado_chart(&setup, &v, "Which habit matters most");
    tornado.caption = String::new();
    panels.push(PlotPanel::Bars(tornado));
    let figure = Page {
        title: "A hand that varies, and what a steadier one gets".into(),
        caption: maps.caption,
        panels,
        shared_legend: true,
        ..Page::default()
    }
    .figure()?;
    save(&figure, "13_steady_hand")
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
