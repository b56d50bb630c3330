//! What happens to the spin when the pad runs from a crown into a hollow?
//!
//! ```text
//! cargo run --release --example 15_crown_to_hollow [FOLDER]
//! ```
//!
//! A pad lands on a crown, is led into a hollow that stalls it, pressed lighter there so that it turns
//! again, and lifted while the tool runs. The motor is small enough to be felt. Spin and orbit rate are
//! drawn over time with what happens marked: a stalled pad is one thing, a bogged motor another.
//! Writes `15_crown_to_hollow.svg` and `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Motor, Pad, Product, Tool};
use trochoid::panel::Patch;
use trochoid::plot::{Across, Axis, CurveChart, Figure, Limit, Mark, Page, Region, RegionShape, Series, SeriesLabels};
use trochoid::report::write_figure;
use trochoid::spin::{
    EventKind, Footing, Piece, Schedule, Setup, Start, Transient, TransientSettings, run_transient, settling_time,
    spin_state,
};
use trochoid::{AngularRate, Curvature, Force, Inertia, Length, Power, Stiffness, Time, Torque, ViscousDrag};

/// Curvature of crown and hollow, 1/m.
const PLACES: (f64, f64) = (0.5, -0.8);
/// Name, end [s], ramp into it [s], force [N] (zero is off the panel), curvature [1/m].
const PIECES: [(&str, f64, f64, f64, f64); 5] = [
    ("in the air", 0.3, 0.0, 0.0, 0.0),
    ("crown, 35 N", 1.2, 0.05, 35.0, PLACES.0),
    ("hollow, 60 N", 2.4, 0.3, 60.0, PLACES.1),
    ("hollow, 15 N", 3.6, 0.1, 15.0, PLACES.1),
    ("lifted", 4.0, 0.05, 0.0, 0.0),
];
/// Power of the motor, W.
const MOTOR_W: f64 = 70.0;

fn main() -> Result<(), Box<dyn Error>> {
    let setup = setup()?;
    let run = run_transient(&setup, &schedule()?, &Start::default(), &TransientSettings::default())?;
    println!("35 N on a crown of {} per metre, then 60 and 15 N in a hollow of {} per metre", PLACES.0, PLACES.1);
    for event in &run.events {
        println!(
            "{:7.3} s  {:26} spin {:6.0} rpm, orbit rate {:5.0}/min",
            event.at_s,
            event.kind.name(),
            rpm(event.spin),
            rpm(event.rate)
        );
    }
    for (piece, (name, ..)) in run.pieces.iter().zip(PIECES) {
        let settled = piece.settled_after_s.map_or("still changing".to_owned(), |t| format!("settled after {t:.2} s"));
        println!(
            "{name:13} ends at {:5.0} rpm, {settled}, {:5.1} J of friction heat",
            rpm(piece.spin),
            piece.friction_j
        );
    }
    let e = run.energy;
    println!(
        "work of the motor {:.1} J = friction {:.1} + bearing {:.1} + motion {:.1} J; missing {:.0e} of it",
        e.motor_j,
        e.friction_j,
        e.bearing_j,
        e.kinetic_j,
        e.residual_share()
    );
    println!("on the panel below 60 rpm for {:.2} s, motor bogged for {:.2} s", run.stalled_s, run.bogged_s);
    let crown = setup.clone().on(Patch::sphere(Curvature::from_per_m(PLACES.0))?).at_force(Force::from_n(35.0))?;
    let steady = spin_state(&crown, crown.patch(), &ContactSettings::default())?;
    if let Some(t) = settling_time(&crown, &steady) {
        println!("landing on the crown at once from free spin it would settle in {:.2} s", t.s());
    }
    if let Some(v) = run.lifted_rim_speed_m_s {
        println!(
            "CAUTION: lifted while running the rim reaches {v:.0} m/s and flings product; stop the tool on the panel, \
             eyes covered, cords and sleeves clear"
        );
    }
    save(&figure(&run)?, "15_crown_to_hollow")
}

fn rpm(rad_s: f64) -> f64 {
    AngularRate::from_rad_s(rad_s).rpm()
}

fn setup() -> Result<Setup, Box<dyn Error>> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?
        .with_spin_inertia(Inertia::from_kgm2(4.2e-4))?
        .with_motor(Motor::new(Power::from_w(MOTOR_W), Power::from_w(0.0))?);
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
    Ok(Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?)
}

fn schedule() -> Result<Schedule, Box<dyn Error>> {
    let mut from = 0.0;
    let mut pieces = Vec::new();
    for (_, to, ramp, force, curvature) in PIECES {
        let footing = if force > 0.0 {
            Footing::square(Patch::sphere(Curvature::from_per_m(curvature))?, Force::from_n(force))
        } else {
            Footing::Lifted
        };
        pieces.push(Piece::new(Time::from_s(from), Time::from_s(to), footing)?.with_ramp(Time::from_s(ramp))?);
        from = to;
    }
    Ok(Schedule::new(pieces)?)
}

fn figure(run: &Transient) -> Result<Figure, Box<dyn Error>> {
    let samples = run.samples(2000);
    let end = run.end_s;
    let marks = |kinds: &[EventKind], value: &dyn Fn(f64, f64) -> f64| -> Vec<Mark> {
        let chosen = run.events.iter().filter(|e| kinds.contains(&e.kind));
        chosen
            .map(|e| Mark { label: format!("{} {:.2} s", e.kind.name(), e.at_s), x: e.at_s, y: value(e.spin, e.rate) })
            .collect()
    };
    // Each piece begins where the one before ends.
    let bounds =
        || PIECES.windows(2).map(|p| Limit { label: format!("from here {}", p[1].0), at: p[0].1, across: Across::X });
    let spin_top = 350.0;
    let on_panel: Vec<EventKind> = vec![EventKind::Stall, EventKind::Reversal, EventKind::Turns];
    let spin = CurveChart {
        title: "Spin of the pad".into(),
        x: Axis::between("time [s]", 0.0, end),
        y: Axis::between("spin [rpm]", -50.0, spin_top),
        series: vec![Series {
            markers: false,
            ..Series::new("spin", samples.iter().map(|(t, m)| (*t, clipped(rpm(m.spin), spin_top))).collect())
        }],
        regions: vec![Region { label: "stalled".into(), shape: RegionShape::Rows(-50.0, 60.0) }],
        limits: std::iter::once(Limit { label: "useful minimum 60 rpm".into(), at: 60.0, across: Across::Y })
            .chain(bounds())
            .collect(),
        marks: marks(&on_panel, &|spin, _| rpm(spin)).into_iter().filter(|m| m.x > 0.3 && m.x < 3.6).collect(),
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    };
    let names = PIECES.iter().scan(0.0, |from, (name, to, ..)| {
        let columns = RegionShape::Columns(*from, *to);
        *from = *to;
        Some(Region { label: (*name).to_owned(), shape: columns })
    });
    let rate = CurveChart {
        title: "Orbit rate".into(),
        x: Axis::between("time [s]", 0.0, end),
        y: Axis::between("orbit rate [orbits/min]", 3400.0, 4400.0),
        series: vec![Series {
            markers: false,
            ..Series::new("orbit rate", samples.iter().map(|(t, m)| (*t, rpm(m.rate))).collect())
        }],
        regions: names.step_by(2).collect(),
        limits: vec![
            Limit { label: "set-point".into(), at: 4200.0, across: Across::Y },
            Limit { label: "bogs below 95 %".into(), at: 0.95 * 4200.0, across: Across::Y },
        ],
        marks: marks(&[EventKind::Bogs, EventKind::RateRecovered, EventKind::PowerLimit], &|_, rate| rpm(rate)),
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    };
    let caption = format!(
        "In the air to 0.3 s, 35 N on a crown of {} per metre to 1.2 s, a hollow of {} per metre with 60 N to 2.4 s and 15 N \
         to 3.6 s, then lifted; ramps 0.05 to 0.3 s. Pad 130 mm, 0.9 kPa/mm, throw 15 mm, friction 0.35, bearing 0.02 N·m and \
         5e-5 N·m·s, inertia of the pad 4.2e-4 kg·m², motor {MOTOR_W:.0} W with 0.001 kg·m² (assumed). Spin above {spin_top:.0} \
         rpm is off the picture.",
        PLACES.0, PLACES.1
    );
    Ok(Page {
        title: "From a crown into a hollow".into(),
        caption,
        columns: 1,
        panels: vec![spin.into(), rate.into()],
        ..Page::default()
    }
    .figure()?)
}

/// A gap where the value is off the picture.
fn clipped(value: f64, top: f64) -> f64 {
    if value > top { f64::NAN } else { value }
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    write_figure(&folder, stem, figure)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
