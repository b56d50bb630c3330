//! Pictures composed from results: which numbers stand on which axes, with their limits and
//! captions. Drawing itself is in `plot`.
//!
//! A function that ends in `_chart` or `_page` gives a chart that can still be changed, or put on a page of one's
//! own; one that ends in `_picture` or `_pictures` gives finished figures. Every axis and colour bar carries its
//! unit.
//!
//! # Example
//! ```
//! use trochoid::job::{Job, STARTER};
//! use trochoid::plan::plan_step;
//! use trochoid::report::pictures::step_charts;
//! use trochoid::spin::{AtHand, StallSettings};
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let job = Job::parse("starter.toml", STARTER)?;
//! let (task, settings) = (job.steps[0].task(job.map.cell, (0.5, 2.0)), StallSettings::default());
//! let plan = plan_step(&task, &AtHand::default(), &settings)?;
//! let charts = step_charts("cut", &task, &plan, &settings)?;
//! // The plain rectangle has a map of the cut and the stall curves, but no map of the spin.
//! let names: Vec<String> = charts.figures("cut")?.into_iter().map(|(stem, _)| stem).collect();
//! assert_eq!(names, ["cut-cut", "cut-stall"]);
//! // Largest value of the map: the largest cut of the plan, in micrometres.
//! let most = charts.cut.values.iter().copied().fold(0.0, f64::max);
//! assert!(most > 1e6 * plan.mean_cut_m());
//! # Ok(())
//! # }
//! ```

mod feed;
mod hand;
mod machine;
mod pads;
mod paint;
mod sheet;
mod sizing;
mod state;
mod surface;
mod traces;
mod vehicle;

pub use feed::{feed_chart, feed_cut_page, feed_pictures, trade_chart};
pub use hand::{hand_pictures, narrow_hand_pictures, percentile_page, tornado_chart};
pub use machine::{bearing_life_chart, life_rates, machine_pictures, residual_page};
pub use pads::{
    PadCharts, StepHeatCharts, cores_chart, course_chart, heat_chart, pads_timeline, passes_page, working_time_chart,
};
pub use paint::{PaintCharts, coefficient_chart, crosses, paint_charts};
pub use sheet::comparison_sheet;
pub use sizing::{front_page, margin_chart, parallel_chart, sizing_pictures, tornado_page};
pub use state::{overlap_picture, pressure_picture, speed_picture, throw_picture};
pub use surface::{
    largest_pad_chart, oblique_view, pressure_chart, spin_chart, stall_number_chart, surface_pictures, work_chart,
};
pub use vehicle::{largest_worked_zone, vehicle_timeline, zone_cut_chart};

pub use traces::{halo_page, trace_page};

use crate::plan::{StepPlan, StepTask};
use crate::plot::{
    Axis, Band, ColourMap, ColourScale, Contours, CurveChart, FieldMap, Figure, Limit, Mark, Page, Panel as PlotPanel,
    PathOverlay, PlotError, RectangleOverlay, Region, RegionShape, SecondAxis, Series, Strips,
};
use crate::removal::PanelMap;
use crate::spin::{Against, Setup, StallOutcome, StallSettings, force_family, stall_curve, sweep_values};
use crate::units::AngularRate;

/// One line with the settings of a set-up, for captions.
///
/// # Example
/// ```
/// use trochoid::report::pictures::settings_line;
/// use trochoid::spin::Setup;
/// use trochoid::*;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
/// let crown = Patch::sphere(Curvature::from_per_m(0.25))?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, crown, Force::from_n(35.0))?;
/// let line = settings_line(&setup);
/// assert!(line.starts_with("Free pad, throw 15 mm, 4200 orbits/min; pad 130 mm, 25 mm thick; 35 N; friction 0.35; "));
/// assert!(line.ends_with("panel curved 0.25 per metre both ways"));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn settings_line(setup: &Setup) -> String {
    let (k1, k2) = setup.patch().principal();
    let shape = match setup.patch().shape() {
        crate::panel::Shape::Flat => "flat panel".to_owned(),
        _ if (k1 - k2).abs() < 5e-3 => format!("panel curved {k1:.2} per metre both ways"),
        _ => format!("panel curved {k1:.2} and {k2:.2} per metre"),
    };
    format!("{}; {shape}", machine_line(setup))
}

/// Tool, pad, force and friction of a step, without the panel.
fn machine_line(setup: &Setup) -> String {
    let tool = setup.tool();
    let drive = match tool.drive() {
        crate::equipment::Drive::Free(_) => {
            format!("Free pad, throw {:.0} mm, {:.0} orbits/min", tool.throw().mm(), tool.rate().opm())
        }
        crate::equipment::Drive::Geared { spin_per_orbit } => format!(
            "Geared pad, {spin_per_orbit:.3} turns an orbit, throw {:.0} mm, {:.0} orbits/min",
            tool.throw().mm(),
            tool.rate().opm()
        ),
        crate::equipment::Drive::Rotary { spin } => format!("Rotary, {:.0} rpm", spin.rpm()),
    };
    format!(
        "{drive}; pad {:.0} mm, {:.0} mm thick; {:.0} N; friction {:.2}",
        setup.pad().diameter().mm(),
        setup.pad().thickness().mm(),
        setup.force().n(),
        setup.product().friction()
    )
}

fn points(x: &[f64], y: &[StallOutcome]) -> Vec<(f64, f64)> {
    x.iter().zip(y).map(|(x, y)| (*x, y.curvature().unwrap_or(f64::NAN))).collect()
}

/// Range of curvatures that keeps the curves and the job's own point in view.
fn curvature_window(all: &[Vec<StallOutcome>], own: f64) -> (f64, f64) {
    let values = all.iter().flatten().filter_map(|o| o.curvature()).chain([own, 0.0]);
    let (low, high) = values.fold((0.0_f64, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
    let room = 0.15 * (high - low).max(0.2);
    (low - room, high + room)
}

fn radius_axis() -> SecondAxis {
    SecondAxis::new(
        "radius [mm], − hollow, + crown",
        &[
            f64::INFINITY,
            -2000.0,
            -1000.0,
            -700.0,
            -500.0,
            -400.0,
            -300.0,
            -250.0,
            -200.0,
            -150.0,
            -120.0,
            -100.0,
            -80.0,
            -60.0,
            2000.0,
            1000.0,
            700.0,
            500.0,
            400.0,
            300.0,
            200.0,
            150.0,
            100.0,
            80.0,
            60.0,
        ],
        |r| if r.is_infinite() { 0.0 } else { 1e3 / r },
    )
}

/// Stall-threshold curves against one setting, for several forces; the job's own force carries the
/// range of its bearing drag as a band, and the job's own point is marked.
///
/// `values` are those of `against` \[orbits/min, N or mm\], `forces` in N; `drag_range` are the factors that bound the
/// bearing drag. Places without a stall are gaps; a force that the set-up refuses is left out. Each curve costs one
/// search of a stalling sphere a value.
///
/// # Errors
/// [`PlotError`] where there is nothing finite to draw.
///
/// # Example
/// ```
/// use trochoid::report::pictures::stall_chart;
/// use trochoid::spin::{Against, StallSettings};
/// use trochoid::spin::Setup;
/// use trochoid::*;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
/// let crown = Patch::sphere(Curvature::from_per_m(0.25))?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, crown, Force::from_n(35.0))?;
/// let chart = stall_chart(&setup, Against::OrbitRate, &[3500.0, 4900.0], &[35.0], (0.5, 2.0), &StallSettings::default())?;
/// // One curve of two points, and the job's own point at 4200 orbits a minute on a crown of 0.25 per metre.
/// assert_eq!((chart.series.len(), chart.series[0].points.len()), (1, 2));
/// assert!((chart.marks[0].x - 4200.0).abs() < 1e-6 && (chart.marks[0].y - 0.25).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
pub fn stall_chart(
    setup: &Setup,
    against: Against,
    values: &[f64],
    forces: &[f64],
    drag_range: (f64, f64),
    settings: &StallSettings,
) -> Result<CurveChart, PlotError> {
    let own_force = setup.force().n();
    let mut all = Vec::new();
    let mut series = Vec::new();
    let mut own_curve = Vec::new();
    for (style, force) in forces.iter().enumerate() {
        let Ok(at) = Against::Force.set(setup, *force) else { continue };
        let curve = stall_curve(&at, against, values, settings, 1.0);
        let own = (force - own_force).abs() < 1e-9 * own_force;
        if own {
            own_curve = points(values, &curve);
        }
        series.push(Series {
            style: Some(style),
            ..Series::new(&format!("{force:.0} N{}", if own { " (this job)" } else { "" }), points(values, &curve))
        });
        all.push(curve);
    }
    let low = stall_curve(setup, against, values, settings, drag_range.0);
    let high = stall_curve(setup, against, values, settings, drag_range.1);
    let own_curvature = setup.patch().dominant();
    let window = curvature_window(&all, own_curvature);
    // An edge that no hollow stalls, or no crown frees, lies beyond the frame; the band ends where there is neither.
    let height = window.1 - window.0;
    let edge = |o: &StallOutcome| match o {
        StallOutcome::At(k) => Some(*k),
        StallOutcome::Never => Some(window.0 - height),
        StallOutcome::Always => Some(window.1 + height),
        _ => None,
    };
    let one_is_there = |a: &StallOutcome, b: &StallOutcome| a.curvature().or(b.curvature()).is_some();
    let pairs: Vec<(f64, f64, f64)> = values
        .iter()
        .zip(low.iter().zip(&high))
        .filter(|(_, (a, b))| one_is_there(a, b))
        .filter_map(|(x, (a, b))| Some((*x, edge(a)?, edge(b)?)))
        .collect();
    let own_style = forces.iter().position(|f| (f - own_force).abs() < 1e-9 * own_force).unwrap_or(0);
    let bands = if pairs.len() > 1 {
        vec![Band {
            label: format!("bearing drag x {:.2} to x {:.2}", drag_range.0, drag_range.1),
            lower: pairs.iter().map(|(x, a, b)| (*x, a.min(*b))).collect(),
            upper: pairs.iter().map(|(x, a, b)| (*x, a.max(*b))).collect(),
            style: own_style,
        }]
    } else {
        Vec::new()
    };
    let finite: Vec<(f64, f64)> = own_curve.iter().copied().filter(|p| p.1.is_finite()).collect();
    let regions = if finite.len() > 1 {
        vec![Region { label: "stalls".into(), shape: RegionShape::Below(finite) }]
    } else {
        Vec::new()
    };
    let (title, x) = match against {
        Against::OrbitRate => ("Where the pad stalls, against orbit rate", "orbit rate [orbits/min]"),
        Against::Force => ("Where the pad stalls, against force", "normal force [N]"),
        Against::Throw => ("Where the pad stalls, against throw", "throw, orbit diameter [mm]"),
        Against::PadDiameter => ("Where the pad stalls, against pad size", "pad face diameter [mm]"),
        Against::PadThickness => ("Where the pad stalls, against pad thickness", "pad thickness [mm]"),
    };
    let useful = AngularRate::from_rad_s(settings.useful_spin).rpm();
    // A curve may end where there is nothing to draw; the axis still shows all that was looked at.
    let ends = |wanted: fn(&StallOutcome) -> bool| all.iter().flatten().any(wanted);
    let mut why = String::new();
    if ends(|o| *o == StallOutcome::Never) {
        why.push_str(" Where a curve ends, no hollow searched stalls the pad before it bottoms out.");
    }
    if ends(|o| *o == StallOutcome::Always) {
        why.push_str(" Where one ends above, no crown searched frees it.");
    }
    let axis = match (values.first(), values.last()) {
        (Some(first), Some(last)) if ends(|o| o.curvature().is_none()) && first < last => {
            Axis::between(x, *first, *last)
        }
        _ => Axis::linear(x),
    };
    Ok(CurveChart {
        title: title.into(),
        caption: format!(
            "Below its curve a pad turns slower than {useful:.0} rpm. Curvature: that of the panel's tighter direction, the other in proportion.{why} {}.",
            settings_line(setup)
        ),
        x: axis,
        y: Axis::between("curvature [1/m], − hollow, + crown", window.0, window.1),
        series,
        bands,
        regions,
        limits: vec![Limit { label: "flat".into(), at: 0.0, ..Limit::default() }],
        marks: vec![Mark { label: "this job".into(), x: against.of(setup), y: own_curvature }],
        second_y: Some(radius_axis()),
        ..CurveChart::default()
    })
}

/// The main stall picture: curvature and radius against orbit rate, for several forces.
///
/// The rates are those of the tool's range, the forces around the set-up's own; see the example of [`stall_chart`].
///
/// # Errors
/// [`PlotError`] where there is nothing finite to draw.
pub fn stall_picture(setup: &Setup, drag_range: (f64, f64), settings: &StallSettings) -> Result<Figure, PlotError> {
    rate_chart(setup, drag_range, settings)?.figure()
}

fn rate_chart(setup: &Setup, drag_range: (f64, f64), settings: &StallSettings) -> Result<CurveChart, PlotError> {
    let rates = sweep_values(setup, Against::OrbitRate);
    stall_chart(setup, Against::OrbitRate, &rates, &force_family(setup), drag_range, settings)
}

/// Stall curves against orbit rate for a family of forces, throws, pad sizes and thicknesses, on one
/// page with common axes.
///
/// One setting changes at a time, from 0.6 to 1.3 of the set-up's own; a family that stalls nowhere is left out. See the
/// example of [`stall_chart`].
///
/// # Errors
/// [`PlotError`] where there is nothing finite to draw.
pub fn stall_sweeps_picture(setup: &Setup, settings: &StallSettings) -> Result<Figure, PlotError> {
    let rates = sweep_values(setup, Against::OrbitRate);
    let mut panels = Vec::new();
    for (family, title, unit) in [
        (Against::Force, "Force", "N"),
        (Against::Throw, "Throw", "mm"),
        (Against::PadDiameter, "Pad size", "mm"),
        (Against::PadThickness, "Pad thickness", "mm"),
    ] {
        let own = family.of(setup);
        let mut series = Vec::new();
        for (style, share) in [0.6, 0.8, 1.0, 1.3].iter().enumerate() {
            let Ok(changed) = family.set(setup, share * own) else { continue };
            let curve = stall_curve(&changed, Against::OrbitRate, &rates, settings, 1.0);
            if curve.iter().any(|o| o.curvature().is_some()) {
                series.push(Series {
                    style: Some(style),
                    ..Series::new(&format!("{:.0} {unit}", share * own), points(&rates, &curve))
                });
            }
        }
        if series.is_empty() {
            continue;
        }
        panels.push(PlotPanel::Curve(CurveChart {
            title: title.into(),
            x: Axis::linear("orbit rate [orbits/min]"),
            y: Axis::linear("curvature [1/m]"),
            series,
            limits: vec![Limit { label: "flat".into(), at: 0.0, ..Limit::default() }],
            marks: vec![Mark { label: "this job".into(), x: setup.tool().rate().opm(), y: setup.patch().dominant() }],
            ..CurveChart::default()
        }));
    }
    Page {
        title: "What moves the stall limit".into(),
        caption: format!(
            "Below its curve a pad stalls (− hollow, + crown). One setting changed at a time, from 0.6 to 1.3 of this job's. {}.",
            settings_line(setup)
        ),
        columns: 2,
        panels,
        ..Page::default()
    }
    .figure()
}

/// Which field of a map a picture shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// Cut \[µm\].
    Cut,
    /// Coverage \[m/m²\].
    Coverage,
    /// Dwell \[s\].
    Dwell,
}

/// A field of a map with colour bar, path and worked-area outline.
///
/// See the example of [`map_chart`].
///
/// # Errors
/// [`PlotError`] for a grid above the plot's bound.
pub fn map_picture(setup: &Setup, map: &PanelMap, shown: Shown, title: &str) -> Result<Figure, PlotError> {
    map_chart(setup, map, shown, title).figure()
}

/// The parts of [`map_picture`], to be put on a page.
///
/// A grid of more than 900 cells a side is thinned for the picture; the path is that of the first two passes.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::{Work, plan_step};
/// use trochoid::report::pictures::{Shown, map_chart};
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let task = job.steps[0].task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let Work::Patch(map) = &plan.work else { return Err("a rectangle is one patch".into()) };
/// let chart = map_chart(&task.setup, map, Shown::Cut, "Cut after four passes");
/// // The panel's own 450 mm x 420 mm, one value a cell.
/// assert!((chart.x_range.1 - 450.0).abs() < 1e-6 && (chart.y_range.1 - 420.0).abs() < 1e-6);
/// assert_eq!(chart.values.len(), chart.columns * chart.rows);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn map_chart(setup: &Setup, map: &PanelMap, shown: Shown, title: &str) -> FieldMap {
    let grid = &map.field.grid;
    let (nx, ny) = grid.count();
    let (dx, dy) = grid.cell();
    let (values, colour_title, colours): (Vec<f64>, &str, ColourMap) = match shown {
        Shown::Cut => {
            (map.field.work.iter().map(|w| map.preston_per_pa * w * 1e6).collect(), "cut [µm]", ColourMap::Viridis)
        }
        Shown::Coverage => {
            (map.field.slide.iter().map(|s| s * map.grains_per_m2).collect(), "coverage [m/m²]", ColourMap::Cividis)
        }
        Shown::Dwell => (map.field.dwell.clone(), "dwell [s]", ColourMap::Cividis),
    };
    // Large grids are thinned for the picture only; the numbers stay whole.
    let step = nx.div_ceil(900).max(ny.div_ceil(900)).max(1);
    let (px, py) = (nx.div_ceil(step), ny.div_ceil(step));
    let picture: Vec<f64> =
        (0..py).flat_map(|j| (0..px).map(move |i| (i * step, j * step))).map(|(i, j)| values[j * nx + i]).collect();
    let size = (nx as f64 * dx * 1e3, ny as f64 * dy * 1e3);
    let mut path = Vec::new();
    for leg in map.path.legs().iter().filter(|l| l.pass < 2) {
        if path.is_empty() {
            path.push((leg.from.0 * 1e3, leg.from.1 * 1e3));
        }
        path.push((leg.to.0 * 1e3, leg.to.1 * 1e3));
    }
    let inset = map.inset_m * 1e3;
    let rectangles = if 2.0 * inset < size.0.min(size.1) {
        vec![RectangleOverlay { label: "worked area".into(), x: (inset, size.0 - inset), y: (inset, size.1 - inset) }]
    } else {
        Vec::new()
    };
    FieldMap {
        title: title.into(),
        caption: format!("{}. {}.", statistics_line(map, shown), settings_line(setup)),
        x_title: "x [mm]".into(),
        y_title: "y [mm]".into(),
        columns: px,
        rows: py,
        values: picture,
        x_range: (0.0, size.0),
        y_range: (0.0, size.1),
        colour: ColourScale { title: colour_title.into(), map: colours, ..ColourScale::default() },
        contours: Contours::None,
        paths: vec![PathOverlay { label: "path, first two passes".into(), points: path, directed: true }],
        rectangles,
        strips: Strips::Mean,
        ..FieldMap::default()
    }
}

fn statistics_line(map: &PanelMap, shown: Shown) -> String {
    let (summary, factor, unit) = match shown {
        Shown::Cut => (map.cut, 1e6, "µm"),
        Shown::Coverage => (map.slide, map.grains_per_m2, "m/m²"),
        Shown::Dwell => (map.dwell, 1.0, "s"),
    };
    summary.map_or_else(
        || "The pad is too large for the panel to leave a worked area".to_owned(),
        |s| {
            format!(
                "Inside the worked area: mean {:.3} {unit}, 5 to 95 % {:.3} to {:.3}, spread {:.1} % of the mean",
                factor * s.mean,
                factor * s.p5,
                factor * s.p95,
                100.0 * s.cv().unwrap_or(0.0)
            )
        },
    )
}

/// The charts of a planned step, before they are laid out for paper or for a narrow screen.
#[derive(Debug, Clone)]
pub struct StepCharts {
    /// Cut over the panel.
    pub cut: FieldMap,
    /// Spin over a real panel, with the line below which the pad stalls.
    pub spin: Option<FieldMap>,
    /// Stall curves against orbit rate; `None` for a driven pad or a face that sticks.
    pub stall: Option<CurveChart>,
}

/// Computes the charts of a planned step; `step` is the name in titles.
///
/// The cut over the panel, the spin over a real panel, and the stall curves of a free pad that does not stick. See the
/// example of [`crate::report::pictures`].
///
/// # Errors
/// [`PlotError`] from the stall curves.
pub fn step_charts(
    step: &str,
    task: &StepTask,
    plan: &StepPlan,
    settings: &StallSettings,
) -> Result<StepCharts, PlotError> {
    let passes = if plan.passes == 1 { "one pass".to_owned() } else { format!("{} passes", plan.passes) };
    let setup = plan.main_phase().map_or(&task.setup, |main| &main.setup);
    let turns = task.setup.tool().bearing().is_some() && !plan.state.run.sticks;
    Ok(StepCharts {
        cut: work_chart(setup, &plan.work, Shown::Cut, &format!("Cut after {passes}: {step}")),
        spin: plan.work.surface().map(|w| spin_chart(setup, w, &format!("Where this pad stalls: {step}"))),
        stall: turns.then(|| rate_chart(&plan.setup, task.drag_range, settings)).transpose()?,
    })
}

impl StepCharts {
    /// The pictures, by file stem: `-cut`, `-spin`, `-stall` after `stem`; see the
    /// example of [`crate::report::pictures`].
    ///
    /// # Errors
    /// [`PlotError`] from any of them.
    pub fn figures(&self, stem: &str) -> Result<Vec<(String, Figure)>, PlotError> {
        let mut out = vec![(format!("{stem}-cut"), self.cut.figure()?)];
        if let Some(spin) = &self.spin {
            out.push((format!("{stem}-spin"), spin.figure()?));
        }
        if let Some(stall) = &self.stall {
            out.push((format!("{stem}-stall"), stall.figure()?));
        }
        Ok(out)
    }
}
