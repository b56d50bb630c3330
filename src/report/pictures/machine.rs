//! Pictures of the machine itself: what shakes it over the pad's mass, how long its bearings live over the
//! orbit rate.

use super::machine_line;
use crate::job::Step;
use crate::plan::machine::{BalanceState, LivesAtRate, MachineState};
use crate::plot::{
    Across, Axis, CurveChart, Figure, Limit, Mark, Page, PlotError, Region, RegionShape, Series, SeriesLabels,
};
use crate::spin::Setup;
use crate::units::{AngularRate, MassMoment};

/// Points of a curve over the pad's mass.
const MASSES: u32 = 81;
/// Orbit rates of a curve of lives.
const RATES: u32 = 25;

fn steps(low: f64, high: f64, count: u32) -> impl Iterator<Item = f64> {
    (0..count).map(move |i| low + (high - low) * f64::from(i) / f64::from(count - 1))
}

/// Residual force and couple over the pad's mass, with one counterweight and as designed; the masses between
/// dry and wet shaded.
///
/// Force \[N\] and couple \[N·m\] over the mass \[g\]. State and balance come from
/// [`machine_state`](crate::plan::machine::machine_state); what a balance is stands in the
/// example of [`two_plane_correction`](crate::plan::machine::two_plane_correction).
#[must_use]
pub fn residual_page(title: &str, setup: &Setup, state: &MachineState, b: &BalanceState) -> Page {
    let w = &b.weights;
    let [dry, own, wet] = &b.residuals;
    let span = (wet.pad_kg.max(w.made_for().kg()) - dry.pad_kg.min(w.made_for().kg())).max(0.1 * own.pad_kg);
    let (low, high) = ((dry.pad_kg.min(w.made_for().kg()) - 0.4 * span).max(0.0), wet.pad_kg + 0.4 * span);
    let masses: Vec<f64> = steps(low, high, MASSES).collect();
    let alone = w.in_one_plane().ok();
    let grams = 1e3;
    let force = |m: &f64| (grams * m, w.residual(*m).force_n(state.rate));
    let couple = |m: &f64| (grams * m, w.residual(*m).couple_nm(state.rate));
    let line = |label: &str, points: Vec<(f64, f64)>, style: usize| Series {
        markers: false,
        style: Some(style),
        ..Series::new(label, points)
    };
    let several = w.weights().len() > 1;
    let name = if several { "two counterweights" } else { "one counterweight" };
    let region =
        || Region { label: "dry to wet".into(), shape: RegionShape::Columns(grams * dry.pad_kg, grams * wet.pad_kg) };
    let mark = |y: f64| Mark { label: "as described".into(), x: grams * own.pad_kg, y };
    let permitted = w.permissible_kgm(state.rate).ok().flatten().map(|u| u * state.rate.rad_s().powi(2));
    let limits = permitted.map(|n| Limit {
        label: format!("permitted by G {:.1}", w.wanted_grade().mm_s()),
        at: n,
        across: Across::Y,
    });
    let mass_axis = || Axis::between("mass of the pad assembly [g]", grams * low, grams * high);
    let mut couples = vec![line(name, masses.iter().map(couple).collect(), 0)];
    if let Some(alone) = alone.filter(|_| several) {
        let points = masses.iter().map(|m| (grams * m, alone.residual(*m).couple_nm(state.rate))).collect();
        couples.push(line("one counterweight alone", points, 1));
    }
    let panels = vec![
        CurveChart {
            title: "Force that shakes the machine".into(),
            x: mass_axis(),
            y: Axis::linear("residual force [N]"),
            series: vec![line(name, masses.iter().map(force).collect(), 0)],
            regions: vec![region()],
            limits: limits.into_iter().collect(),
            marks: vec![mark(own.force.n())],
            labels: SeriesLabels::Legend,
            ..CurveChart::default()
        },
        CurveChart {
            title: "Couple that rocks it".into(),
            x: mass_axis(),
            y: Axis::linear("residual couple [N·m]"),
            series: couples,
            regions: vec![region()],
            marks: vec![mark(own.couple.nm())],
            labels: SeriesLabels::Legend,
            ..CurveChart::default()
        },
    ];
    let weights: Vec<String> = w
        .weights()
        .iter()
        .map(|u| {
            let gmm = -MassMoment::from_kgm(u.vector_kgm().0).gmm();
            let side = if gmm < 0.0 { " on the pad's side" } else { "" };
            format!("{:.0} g·mm at {:.0} mm{side}", gmm.abs(), u.plane().mm())
        })
        .collect();
    Page {
        title: title.into(),
        caption: format!(
            "Counterweights {} for a pad of {:.0} g; couple about the plane of the first; the pad pulls with {:.0} N. {}.",
            weights.join(" and "),
            grams * w.made_for().kg(),
            state.orbit_force.n(),
            machine_line(setup)
        ),
        columns: 2,
        panels: panels.into_iter().map(Into::into).collect(),
        width: 1000.0,
        ..Page::default()
    }
}

/// Bearing lives over the orbit rate, with the tool's own range shaded and its set-point marked.
///
/// Lives \[h\] over the rate \[orbits/min\]; what is not finite is a gap. The lives come from
/// [`lives_over_rate`](crate::plan::machine::lives_over_rate) at the rates of [`life_rates`]; see the
/// example of [`life_rates`].
#[must_use]
pub fn bearing_life_chart(title: &str, setup: &Setup, lives: &[LivesAtRate]) -> CurveChart {
    let line = |label: &str, style: usize, of: &dyn Fn(&LivesAtRate) -> Option<f64>| {
        let points: Vec<(f64, f64)> = lives
            .iter()
            .map(|l| (l.rate.opm(), of(l).filter(|h| h.is_finite() && *h > 0.0).unwrap_or(f64::NAN)))
            .collect();
        let any = points.iter().any(|p| p.1.is_finite());
        any.then(|| Series { markers: false, style: Some(style), ..Series::new(label, points) })
    };
    let series = [
        line("spindle, pad as described", 0, &|l| l.spindle_h),
        line("spindle, wet pad", 1, &|l| l.spindle_wet_h),
        line("pad bearing", 2, &|l| l.pad_h),
    ];
    let (low, high) = setup.tool().rate_range();
    let own = setup.tool().rate().opm();
    let regions = if high.opm() > low.opm() {
        vec![Region { label: "the tool's range".into(), shape: RegionShape::Columns(low.opm(), high.opm()) }]
    } else {
        Vec::new()
    };
    CurveChart {
        title: title.into(),
        caption: format!(
            "Fatigue alone (ISO 281), 90 of 100 bearings live longer; water and abrasive dust end them earlier. Of two bearings the one that lives shorter. {}.",
            machine_line(setup)
        ),
        x: Axis::linear("orbit rate [orbits/min]"),
        y: Axis::logarithmic("rating life L10h [h]"),
        series: series.into_iter().flatten().collect(),
        regions,
        limits: vec![Limit { label: "this step".into(), at: own, across: Across::X }],
        labels: SeriesLabels::Legend,
        width: 800.0,
        ..CurveChart::default()
    }
}

/// Orbit rates around the tool's range, for [`bearing_life_chart`].
///
/// From 0.7 of the slowest to 1.25 of the fastest rate of the tool, 25 of them, evenly spaced.
///
/// # Example
/// ```
/// use trochoid::report::pictures::life_rates;
/// use trochoid::spin::Setup;
/// use trochoid::*;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
/// let crown = Patch::sphere(Curvature::from_per_m(0.25))?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, crown, Force::from_n(35.0))?;
/// // A tool without a range of its own runs at 4200 orbits a minute: from 2940 to 5250.
/// let rates = life_rates(&setup);
/// assert_eq!(rates.len(), 25);
/// assert!((rates[0].opm() - 2940.0).abs() < 1e-6 && (rates[24].opm() - 5250.0).abs() < 1e-6);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn life_rates(setup: &Setup) -> Vec<AngularRate> {
    let (low, high) = setup.tool().rate_range();
    let own = setup.tool().rate().opm();
    let (low, high) = (0.7 * low.opm().min(own), 1.25 * high.opm().max(own));
    steps(low, high, RATES).map(AngularRate::from_opm).collect()
}

/// All pictures of the machine in a step, by the end of their file stem; `lives` over [`life_rates`].
///
/// [`residual_page`] where the balance is described, [`bearing_life_chart`] where a bearing is; see the
/// example of [`life_rates`].
///
/// # Errors
/// [`PlotError`] from any of them.
pub fn machine_pictures(
    step: &Step,
    state: &MachineState,
    lives: &[LivesAtRate],
) -> Result<Vec<(&'static str, Figure)>, PlotError> {
    let mut out = Vec::new();
    if let Some(b) = &state.balance {
        let page = residual_page(&format!("Balance over the pad's mass: {}", step.name), &step.setup, state, b);
        out.push(("balance", page.figure()?));
    }
    if lives.iter().any(|l| l.spindle_h.is_some() || l.pad_h.is_some()) {
        let title = format!("Bearing life over the orbit rate: {}", step.name);
        out.push(("bearing-life", bearing_life_chart(&title, &step.setup, lives).figure()?));
    }
    Ok(out)
}
