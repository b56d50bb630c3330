//! A door with a body line, a handle hole and a taped strip: which pad, and how far from the edges?
//!
//! ```text
//! cargo run --release --example 05_door_with_body_line [FOLDER]
//! ```
//!
//! Three pads, each pressed to the same mean pressure, are put down all over the door. Two pressures
//! decide: on the body line, where the whole load comes to stand on a narrow ridge, and at the edges,
//! where the part of the pad that hangs over carries nothing. The pad that keeps both in bounds is then
//! led over the door at the smallest inset that does. The bounds are those of the zones of a plan
//! (assumed). Writes `05_door_with_body_line.svg` and `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use std::sync::Arc;
use trochoid::contact::LocalSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Interface, Pad, Pairing, Product, Tool};
use trochoid::motion::{PathOptions, Pattern, SurfacePathOptions, SurfacePattern};
use trochoid::panel::{
    AnalyticShape, BodyLine, Crease, CreaseSettings, Outline, Panel, Patch, Surface, crease_distances, find_creases,
};
use trochoid::plan::{
    CROWN_PRESSURE, EDGE_PRESSURE, Route, StepPlan, StepTask, SurfaceTask, SurveySettings, Working, ZoneKind, plan_step,
};
use trochoid::plot::{
    Axis, Bar, BarChart, BarLimit, CurveChart, Figure, Limit, LineKind, LineOverlay, Page, Series, SeriesLabels,
};
use trochoid::report::pictures::{Shown, pressure_chart, work_chart};
use trochoid::report::{prepare_folder, write_whole};
use trochoid::spin::{AtHand, PlaceSolver, Setup, StallSettings};
use trochoid::{Angle, AngularRate, Curvature, Force, Length, Pressure, Speed, Stiffness, Torque, ViscousDrag};

const SIZE: (f64, f64) = (900.0, 600.0);
/// Distance of the places at which a pad is put down, mm.
const STEP: f64 = 10.0;

/// Largest pressures of a pad over its pressure on a flat.
struct Tried {
    name: &'static str,
    setup: Setup,
    line: f64,
    /// By distance of the pad centre from the edge, mm.
    edge: Vec<(f64, f64)>,
}

fn main() -> Result<(), Box<dyn Error>> {
    let mm = Length::from_mm;
    let (surface, creases) = door()?;
    println!("Door {:.0} x {:.0} mm, worked area {:.3} m²", SIZE.0, SIZE.1, worked_area(&surface));
    for c in &creases {
        println!(
            "body line: {:.0} mm long, turns by {:.1} degrees with a radius of {:.1} mm",
            1e3 * c.length(),
            c.turn().deg(),
            1e3 * c.radius()
        );
    }
    let foam = CompressionLaw::measured(&[0.25, 0.40, 0.50, 0.65], &[3.0, 3.8, 5.0, 8.0].map(Pressure::from_kpa))?;
    let pad = |d: f64| -> Result<Pad, Box<dyn Error>> {
        Ok(Pad::new(mm(d), mm(25.0), foam.clone())?.with_shear_modulus(Pressure::from_kpa(25.0))?)
    };
    let layer = Interface::new(mm(10.0), Stiffness::from_kpa_per_mm(0.5))?;
    let mut tried = Vec::new();
    println!("\nLargest pressure over that on a flat, every pad at 2.6 kPa on average");
    println!("pad                       force   body line   edge at 20, 40, 60 mm from it");
    for (name, pad) in
        [("130 mm", pad(130.0)?), ("130 mm, soft layer", pad(130.0)?.with_interface(layer)), ("80 mm", pad(80.0)?)]
    {
        let one = put_down(name, setup(pad)?, &surface, &creases)?;
        let at = |d: f64| one.edge.iter().find(|e| e.0 >= d).map_or(f64::NAN, |e| e.1);
        let show = |v: f64| match v {
            v if v.is_nan() => "clear".to_owned(),
            v if v.is_infinite() => "ends".to_owned(),
            v => format!("{v:.2}"),
        };
        println!(
            "{:24} {:5.1} N {:11.2}   {:>5} {:>5} {:>5}",
            one.name,
            one.setup.force().n(),
            one.line,
            show(at(20.0)),
            show(at(40.0)),
            show(at(60.0))
        );
        tried.push(one);
    }
    println!("clear: nothing hangs over an edge any more; ends: the pad bottoms out at some place");
    let inset_of = |t: &Tried| t.edge.iter().find(|e| e.1.is_nan() || e.1 <= EDGE_PRESSURE).map(|e| e.0);
    let best =
        tried.iter().filter(|t| t.line <= CROWN_PRESSURE).filter_map(|t| Some((t, inset_of(t)?))).min_by(|a, b| {
            (a.1 - 0.5 * a.0.setup.pad().diameter().mm()).total_cmp(&(b.1 - 0.5 * b.0.setup.pad().diameter().mm()))
        });
    let Some((chosen, inset)) = best else {
        return Err("no pad keeps the pressure on the line in bounds".into());
    };
    println!(
        "\n{}: at most {EDGE_PRESSURE} at the edges from {inset:.0} mm on, at most {CROWN_PRESSURE} on the line",
        chosen.name
    );
    let task = task(&chosen.setup, &surface, inset)?;
    let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
    tell(&plan)?;
    let figure = picture(&tried, chosen.name, inset, &task, &plan, &creases)?;
    save(&figure, "05_door_with_body_line")
}

/// The door: its plan begins at the lower left corner, as in a job.
fn door() -> Result<(Arc<Surface>, Vec<Crease>), Box<dyn Error>> {
    let mm = Length::from_mm;
    let shape = AnalyticShape::body_line(&BodyLine {
        angle: Angle::from_deg(13.0),
        radius: mm(8.0),
        offset: mm(70.0),
        direction: Angle::from_deg(0.0),
        crown_along: Curvature::from_per_m(0.12),
        crown_across: Curvature::from_per_m(0.30),
    })?;
    let rectangle =
        |x: (f64, f64), y: (f64, f64)| Outline::rectangle((1e-3 * x.0, 1e-3 * y.0), (1e-3 * x.1, 1e-3 * y.1));
    let heights = shape
        .height_map((mm(SIZE.0), mm(SIZE.1)), mm(2.0))?
        .moved((0.5e-3 * SIZE.0, 0.5e-3 * SIZE.1))?
        .with_hole(&rectangle((690.0, 800.0), (425.0, 465.0))?)?;
    let creases = find_creases(&heights, &CreaseSettings::default())?;
    // A strip of trim along the upper edge is taped.
    let surface = Surface::new(heights).with_tape(vec![rectangle((0.0, SIZE.0), (585.0, SIZE.1))?])?;
    Ok((Arc::new(surface.with_incline(Angle::from_deg(90.0))?), creases))
}

fn worked_area(surface: &Surface) -> f64 {
    let step = surface.heights().step();
    surface.clearances().iter().filter(|c| **c > 0.0).count() as f64 * step * step
}

/// The pad on a long-throw tool, pressed to the mean pressure of 35 N on 130 mm.
fn setup(pad: Pad) -> Result<Setup, Box<dyn Error>> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let force = 35.0 * (pad.diameter().mm() / 130.0).powi(2);
    Ok(Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(force))?)
}

/// Puts the pad down all over the door.
fn put_down(name: &'static str, setup: Setup, surface: &Surface, creases: &[Crease]) -> Result<Tried, Box<dyn Error>> {
    let solver = PlaceSolver::new(&setup, 1.0, &LocalSettings::default())?;
    let flat = solver.on(&solver.nodes().site_of(|_, _| 0.0))?.peak_pressure_pa;
    let heights = surface.heights();
    let to_line = crease_distances(heights, creases, None);
    let mut line: f64 = 0.0;
    let mut hanging = Vec::new();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most some hundreds
    let (nx, ny) = ((SIZE.0 / STEP) as usize, (SIZE.1 / STEP) as usize);
    for k in 0..nx * ny {
        let at = ((k % nx) as f64 + 0.5, (k / nx) as f64 + 0.5);
        let (x, y) = (1e-3 * STEP * at.0, 1e-3 * STEP * at.1);
        let clearance = surface.clearance_at(x, y);
        if clearance <= 0.0 {
            continue;
        }
        let place = heights.frame_at(x, y, 0.125 * setup.pad().radius());
        let near_line = heights.read(&to_line, x, y) < solver.reach();
        let near_edge = clearance.min(heights.edge_distance_at(x, y)) < solver.reach();
        // A pad that cannot carry the force there presses beyond every bound.
        let (ratio, hangs) = match solver.at(heights, &place) {
            Ok(state) => (state.peak_pressure_pa / flat, state.overhang_share > 1e-3),
            Err(_) => (f64::INFINITY, near_edge),
        };
        // Places where line and edge meet count for neither.
        if hangs && !near_line {
            hanging.push((1e3 * clearance, ratio));
        } else if near_line && !near_edge {
            line = line.max(ratio);
        }
    }
    // A place stands for half a step round it.
    let worst = |d: f64| hanging.iter().filter(|h| h.0 >= d - 0.5 * STEP).map(|h| h.1).fold(f64::NAN, f64::max);
    let edge = (0..16).map(|i| 5.0 * f64::from(i)).map(|d| (d, worst(d))).collect();
    Ok(Tried { name, setup, line, edge })
}

/// Four crossed passes over the door with the pad centre `inset` from every edge and the tape.
fn task(setup: &Setup, surface: &Arc<Surface>, inset: f64) -> Result<StepTask, Box<dyn Error>> {
    let mm = Length::from_mm;
    Ok(StepTask {
        setup: setup.clone(),
        panel: Panel::new(Patch::flat(), mm(SIZE.0), mm(SIZE.1))?,
        surface: Some(SurfaceTask {
            surface: Arc::clone(surface),
            route: Route::Pattern(SurfacePattern::crosshatch()),
            inset: Some(mm(inset).m()),
            options: SurfacePathOptions::default(),
            sections: None,
            film: None,
            survey: SurveySettings { step: mm(STEP).m(), pad_sizes: false, ..SurveySettings::default() },
        }),
        pairing: Pairing::of(*setup.product()),
        working: Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 },
        phases: Vec::new(),
        passes: 4,
        pattern: Pattern::Crosshatch,
        path_options: PathOptions::default(),
        target_cut: None,
        cell: mm(4.0),
        drag_range: (1.0, 1.0),
    })
}

fn tell(plan: &StepPlan) -> Result<(), Box<dyn Error>> {
    let work = plan.work.surface().ok_or("the door is a real panel")?;
    let cut = work.cut.ok_or("nothing is worked")?;
    println!(
        "4 passes, {:.0} s: cut {:.2} µm on average, 5 to 95 % {:.2} to {:.2}; {:.1} % of the door touched",
        plan.time_s,
        1e6 * cut.mean,
        1e6 * cut.p5,
        1e6 * cut.p95,
        100.0 * work.map.covered_share()
    );
    println!("What asks for more than that, mostly where the line runs out at an edge:");
    for (i, z) in work.zones.zones.iter().enumerate().filter(|(_, z)| z.kind != ZoneKind::Flat) {
        let change = z.change().map_or("nothing that was tried helps", |c| c.reason.as_str());
        println!(
            "zone {} ({}) at x {:.0}, y {:.0} mm, up to {:.1} kPa: {change}",
            i + 1,
            z.kind.name(),
            1e3 * z.worst_at.0,
            1e3 * z.worst_at.1,
            z.peak_pressure_pa / 1e3
        );
    }
    if work.zones.zones.iter().all(|z| z.kind == ZoneKind::Flat) {
        println!("nothing");
    }
    Ok(())
}

fn picture(
    tried: &[Tried],
    chosen: &str,
    inset: f64,
    task: &StepTask,
    plan: &StepPlan,
    creases: &[Crease],
) -> Result<Figure, Box<dyn Error>> {
    let work = plan.work.surface().ok_or("the door is a real panel")?;
    let edges = CurveChart {
        title: "At the edges".into(),
        x: Axis::between("pad centre from the edge [mm]", 0.0, 75.0),
        y: Axis::linear("largest pressure / flat [1]"),
        series: tried.iter().map(|t| Series::new(t.name, t.edge.clone())).collect(),
        limits: vec![Limit { label: "bound".into(), at: EDGE_PRESSURE, ..Limit::default() }],
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    };
    let bar = |(i, t): (usize, &Tried)| Bar { label: t.name.into(), value: t.line, style: i, ..Bar::default() };
    let line = BarChart {
        title: "On the body line".into(),
        axis: Axis::linear("largest pressure / flat [1]"),
        bars: tried.iter().enumerate().map(bar).collect(),
        limits: vec![BarLimit { label: "bound".into(), at: CROWN_PRESSURE }],
        ..BarChart::default()
    };
    let ridge: Vec<Vec<(f64, f64)>> =
        creases.iter().map(|c| c.points.iter().map(|p| (1e3 * p.x, 1e3 * p.y)).collect()).collect();
    let mut maps = [
        work_chart(&task.setup, &plan.work, Shown::Cut, &format!("Cut: {chosen}, {inset:.0} mm from the edges")),
        pressure_chart(&task.setup, work, "Peak pressure"),
    ];
    for map in &mut maps {
        map.caption.clear();
        map.lines.push(LineOverlay::lines(LineKind::Zone, "body line", ridge.clone()));
    }
    let [cut, pressure] = maps;
    let page = Page {
        title: "A door with a body line: which pad, and how far from the edges?".into(),
        caption: format!(
            "Left out of the curves: places where line and edge meet. All pads at 2.6 kPa on average, measured foam 25 mm \
             thick, throw 15 mm, 4200 orbits/min, friction 0.35; 4 crossed passes at 40 mm/s, overlap 50 %. Bounds {EDGE_PRESSURE} \
             and {CROWN_PRESSURE} (assumed)."
        ),
        columns: 2,
        panels: vec![edges.into(), line.into(), cut.into(), pressure.into()],
        shared_legend: true,
        ..Page::default()
    };
    Ok(page.figure()?)
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
