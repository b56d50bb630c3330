//! Pictures of heat, product and pads: the panel after each pass, the pads' cores for different numbers of
//! them, working time against humidity, and pads in rotation over the job.

use crate::heat::SurfaceMoment;
use crate::job::{CoreOverJob, PadCourse, PadsInRotation};
use crate::plan::StepHeat;
use crate::plot::{
    Axis, BoldLevel, ColourMap, ColourScale, Contours, CurveChart, FieldMap, Figure, Limit, Mark, Page, PlotError,
    Series, SeriesLabels, Strips, TimeBar, TimeRow, Timeline,
};
use crate::report::wording::{fixed, percent};
use crate::units::{Length, Temperature};
use crate::wear::{Activity, Exposure, MoistAir, RotationOutcome};

fn mm(m: f64) -> f64 {
    Length::from_m(m).mm()
}

/// A map over the panel of a step.
fn panel_map(h: &StepHeat, values: &[f64]) -> FieldMap {
    let (nx, ny) = h.panel.count;
    let side = |n: usize, cell: f64| mm(n as f64 * cell);
    FieldMap {
        columns: nx,
        rows: ny,
        values: values.iter().map(|k| Temperature::from_k(*k).c()).collect(),
        x_range: (0.0, side(nx, h.panel.cell_m.0)),
        y_range: (0.0, side(ny, h.panel.cell_m.1)),
        contours: Contours::None,
        strips: Strips::None,
        ..FieldMap::default()
    }
}

fn limit_label(h: &StepHeat) -> String {
    format!("limit {}\u{a0}°C", fixed(h.limit.c(), 0))
}

fn hottest_words(h: &StepHeat) -> String {
    format!(
        "Hottest {} °C at x {} mm, y {} mm after {} s; {} of the friction heat goes into the panel.",
        fixed(h.peak.surface.c(), 1),
        fixed(mm(h.peak.at_m.0), 0),
        fixed(mm(h.peak.at_m.1), 0),
        fixed(h.peak.time_s, 0),
        percent(h.panel_share)
    )
}

/// Hottest paint at each place over the work, with the line of the limit.
///
/// Temperatures \[°C\], places \[mm\]. The heat is that of the example of [`step_heats`](crate::job::step_heats).
#[must_use]
pub fn heat_chart(h: &StepHeat, title: &str) -> FieldMap {
    FieldMap {
        title: title.into(),
        caption: hottest_words(h),
        colour: ColourScale { title: "hottest paint [°C]".into(), map: ColourMap::Cividis, ..ColourScale::default() },
        bold: Some(BoldLevel { at: h.limit.c(), label: limit_label(h) }),
        ..panel_map(h, &h.panel.largest_k)
    }
}

/// The paint after each pass as small maps of one colour scale, the limit as a line where it is crossed.
///
/// Surface of the paint \[°C\]. The heat is that of the example of [`step_heats`](crate::job::step_heats).
#[must_use]
pub fn passes_page(h: &StepHeat, title: &str) -> Page {
    let all = || h.after_passes.iter().flat_map(|(_, m)| &m.surface_k).map(|k| Temperature::from_k(*k).c());
    let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    let crossed = low < h.limit.c() && h.limit.c() <= high;
    let map = |(pass, moment): &(usize, SurfaceMoment)| -> FieldMap {
        FieldMap {
            title: format!("after pass {pass}, {} s", fixed(moment.time_s, 0)),
            colour: ColourScale {
                title: "surface of the paint [°C]".into(),
                map: ColourMap::Cividis,
                ..ColourScale::default()
            },
            bold: crossed.then(|| BoldLevel { at: h.limit.c(), label: limit_label(h) }),
            ..panel_map(h, &moment.surface_k)
        }
    };
    let line = if crossed {
        format!("Bold line: {}.", limit_label(h))
    } else {
        format!("After no pass does the paint reach the {}.", limit_label(h))
    };
    Page {
        title: title.into(),
        caption: format!(
            "The pad just lifted, so under it the paint was hotter. {}{} {line}",
            sections_words(h),
            hottest_words(h)
        ),
        columns: if h.after_passes.len() > 4 { 3 } else { 2 },
        panels: h.after_passes.iter().map(|m| map(m).into()).collect(),
        shared_colour: true,
        shared_legend: true,
        letters: false,
        // Narrower than a page of its own: the labels stay readable in the report.
        width: if h.after_passes.len() > 4 { 960.0 } else { 860.0 },
        ..Page::default()
    }
}

/// That the passes end in the last section, where the sections of a panel are worked one after the other.
fn sections_words(h: &StepHeat) -> &'static str {
    let ends = (h.after_passes.first(), h.after_passes.last());
    let (Some((_, first)), Some((_, last)), section) = (ends.0, ends.1, h.section_time.s()) else { return "" };
    // All passes of the last section come after those of the others.
    let in_turn = h.sections > 1 && first.time_s > 1.5 * section && last.time_s - first.time_s < section;
    if in_turn { "Passes of the last section: the others have cooled. " } else { "" }
}

/// Humidities of the curves of working time, share.
const HUMIDITIES: core::ops::RangeInclusive<u32> = 5..=95;
/// Air warmer and colder than that of the job, K.
const APART_K: f64 = 10.0;

/// Working time of the film against the humidity of the air, at three air temperatures, with the paint as
/// much warmer than the air as in the step.
///
/// Minutes over relative humidity from 5 to 95 %, in air of the job and 10 K colder and warmer;
/// `relative_humidity` \[1\] is marked. No series where the film dries in none of them. The heat is that of the
/// example of [`step_heats`](crate::job::step_heats).
#[must_use]
pub fn working_time_chart(h: &StepHeat, relative_humidity: f64, title: &str) -> CurveChart {
    let air = h.exposure.air().temperature();
    let over = h.exposure.surface().k() - air.k();
    let minutes = |t: Temperature, humidity: f64| -> Option<f64> {
        let moist = MoistAir::new(t, humidity).ok()?;
        let warm = Temperature::from_k(t.k() + over);
        let exposure = Exposure::with_heat_transfer(moist, warm, h.exposure.heat_transfer_w_m2k()).ok()?;
        Some(h.film.working_time(&exposure).ok()??.min())
    };
    let series: Vec<Series> = [-APART_K, 0.0, APART_K]
        .iter()
        .filter_map(|by| {
            let t = Temperature::from_k(air.k() + by);
            let points: Vec<(f64, f64)> =
                HUMIDITIES.step_by(5).map(f64::from).filter_map(|p| Some((p, minutes(t, p / 100.0)?))).collect();
            let label = format!("air {}\u{a0}°C", fixed(t.c(), 0));
            (points.len() > 1).then(|| Series { markers: false, ..Series::new(&label, points) })
        })
        .collect();
    let own = h.working_time.map(|t| Mark { label: "this step".into(), x: 100.0 * relative_humidity, y: t.min() });
    CurveChart {
        title: title.into(),
        caption: format!(
            "{} drops on a section, a film of {} µm; paint {} K warmer than the air. Drier and warmer air dries it sooner. \
             The share of the product's rate to that of water is assumed: set it right with one timed section.",
            h.drops,
            fixed(h.film.thickness().um(), 1),
            fixed(over, 1)
        ),
        x: Axis::between("relative humidity [%]", 0.0, 100.0),
        y: Axis::logarithmic("working time [min]"),
        series,
        limits: vec![Limit { label: "time on a section".into(), at: h.section_time.min(), ..Limit::default() }],
        marks: own.into_iter().filter(|m| (0.0..=100.0).contains(&m.x)).collect(),
        labels: SeriesLabels::LineEnds,
        ..CurveChart::default()
    }
}

fn core_limit(limit: Temperature) -> Limit {
    Limit { label: format!("core limit {} °C", fixed(limit.c(), 0)), at: limit.c(), ..Limit::default() }
}

/// Core of the pad at work over the job, for different numbers of pads in rotation.
///
/// Cores \[°C\] over the clock \[min\], with the limit.
///
/// # Example
/// ```
/// use trochoid::Temperature;
/// use trochoid::job::CoreOverJob;
/// use trochoid::report::pictures::cores_chart;
/// let (warm, hot) = (Temperature::from_c(45.0), Temperature::from_c(62.0));
/// let one = CoreOverJob { pads: 1, points: vec![(0.0, warm), (300.0, hot)], peak: hot };
/// let chart = cores_chart(&[one], Temperature::from_c(60.0), "Pad core by number of pads");
/// // 300 s are 5 min.
/// let (minutes, core) = chart.series[0].points[1];
/// assert!((minutes - 5.0).abs() < 1e-12 && (core - 62.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn cores_chart(cores: &[CoreOverJob], limit: Temperature, title: &str) -> CurveChart {
    let series = cores
        .iter()
        .map(|c| {
            let points = c.points.iter().map(|(t, core)| (t / 60.0, core.c())).collect();
            let word = if c.pads == 1 { "pad" } else { "pads" };
            Series { markers: c.points.len() < 40, ..Series::new(&format!("{} {word}", c.pads), points) }
        })
        .collect();
    CurveChart {
        title: title.into(),
        caption: "Core of the pad at work, by heat conduction: its first section as it warms, then the hottest of each \
                  section at its end. Rests, blow-outs and changes as the rotation has them; with too few pads the last \
                  one works on while the others are washed and dry."
            .into(),
        x: Axis::linear("time [min]"),
        y: Axis::linear("pad core [°C]"),
        series,
        limits: vec![core_limit(limit)],
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    }
}

/// Core and face of the first pad over the step; `None` where none works.
///
/// Temperatures \[°C\] over the clock \[min\], with the limit of the core. The courses are those of the
/// example of [`pad_courses`](crate::job::pad_courses).
#[must_use]
pub fn course_chart(pads: &PadsInRotation, courses: &[PadCourse]) -> Option<CurveChart> {
    let first = courses.first()?;
    let limit = pads.job.kinds.get(first.kind)?.limits.core;
    let of = |value: fn(&crate::heat::PadMoment) -> Temperature| {
        first.heat.moments.iter().map(|m| ((first.start_s + m.time_s) / 60.0, value(m).c())).collect::<Vec<_>>()
    };
    let line = |label: &str, points| Series { markers: false, ..Series::new(label, points) };
    Some(CurveChart {
        title: format!("Pad 1 of {} over the step", pads.counts().iter().sum::<usize>()),
        caption: "Mean of the face, which takes the temperature of the rubbed paint at once, and hottest foam inside. \
                  Between sections the pad rests, is blown out or changed."
            .into(),
        x: Axis::linear("time [min]"),
        y: Axis::linear("temperature [°C]"),
        series: vec![line("core", of(|m| m.core)), line("face", of(|m| m.face))],
        limits: vec![core_limit(limit)],
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    })
}

/// The charts of the heat of one step, before they are laid out for paper or for a narrow screen.
#[derive(Debug, Clone)]
pub struct StepHeatCharts {
    /// The panel after each pass.
    pub passes: Page,
    /// Working time against humidity; `None` where the film does not dry in any air shown.
    pub drying: Option<CurveChart>,
}

impl StepHeatCharts {
    /// The charts of a step of that name, in air of that relative humidity \[1\]; the heat is that of the
    /// example of [`step_heats`](crate::job::step_heats).
    #[must_use]
    pub fn of(step: &str, h: &StepHeat, relative_humidity: f64) -> Self {
        let drying = working_time_chart(h, relative_humidity, &format!("Working time of the product: {step}"));
        Self {
            passes: passes_page(h, &format!("Paint after each pass: {step}")),
            drying: Some(drying).filter(|c| !c.series.is_empty()),
        }
    }

    /// The pictures, by file stem: `-heat` and `-drying` after `stem`; as in the
    /// example of [`crate::report::pictures`].
    ///
    /// # Errors
    /// [`PlotError`] from any of them.
    pub fn figures(&self, stem: &str) -> Result<Vec<(String, Figure)>, PlotError> {
        let mut out = vec![(format!("{stem}-heat"), self.passes.figure()?)];
        if let Some(c) = &self.drying {
            out.push((format!("{stem}-drying"), c.figure()?));
        }
        Ok(out)
    }

    /// The same charts laid out for a screen of that width \[picture units\]; the figures then come as in the
    /// example of [`crate::report::pictures`].
    #[must_use]
    pub fn narrowed(mut self, width: f64) -> Self {
        self.passes.width = width;
        self.passes.columns = 1;
        if let Some(c) = &mut self.drying {
            c.width = width;
            c.labels = SeriesLabels::Legend;
        }
        self
    }
}

/// The charts of the pads of a job, before they are laid out for paper or for a narrow screen.
#[derive(Debug, Clone)]
pub struct PadCharts {
    /// Cores for different numbers of pads, one of each kind that has any.
    pub cores: Vec<CurveChart>,
    /// The rotation; `None` where no number of pads suffices.
    pub rotation: Option<Timeline>,
}

impl PadCharts {
    /// The charts of a job's pads; `cores` by kind, as in the example of [`cores_chart`].
    ///
    /// # Errors
    /// As [`pads_timeline`].
    pub fn of(pads: &PadsInRotation, cores: &[Vec<CoreOverJob>]) -> Result<Self, PlotError> {
        let charts = pads.kinds.iter().zip(&pads.job.kinds).zip(cores).filter(|(_, c)| !c.is_empty());
        Ok(Self {
            cores: charts
                .map(|(((pad, product), kind), c)| {
                    cores_chart(c, kind.limits.core, &format!("Pad core by number of pads: {pad} with {product}"))
                })
                .collect(),
            rotation: pads_timeline(pads)?,
        })
    }

    /// The pictures, by file stem: `-pad-core`, numbered where there are several, and `-rotation` after `stem`; as in
    /// the example of [`crate::report::pictures`].
    ///
    /// # Errors
    /// [`PlotError`] from any of them.
    pub fn figures(&self, stem: &str) -> Result<Vec<(String, Figure)>, PlotError> {
        let mut out = Vec::new();
        for (i, c) in self.cores.iter().enumerate() {
            let number = if self.cores.len() > 1 { format!("-{}", i + 1) } else { String::new() };
            out.push((format!("{stem}-pad-core{number}"), c.figure()?));
        }
        if let Some(t) = &self.rotation {
            out.push((format!("{stem}-rotation"), t.figure()?));
        }
        Ok(out)
    }

    /// The same charts laid out for a screen of that width \[picture units\]; the figures then come as in the
    /// example of [`crate::report::pictures`].
    #[must_use]
    pub fn narrowed(mut self, width: f64) -> Self {
        for c in &mut self.cores {
            c.width = width;
        }
        if let Some(t) = &mut self.rotation {
            t.width = width;
        }
        self
    }
}

/// The pads of a job over time; `None` where no number of pads suffices.
///
/// A row for each pad, with priming, work, cleaning and rest over minutes. The pads are those of the
/// example of [`pads_in_rotation`](crate::job::pads_in_rotation).
///
/// # Errors
/// [`PlotError`] for more bars than a picture may have.
pub fn pads_timeline(pads: &PadsInRotation) -> Result<Option<Timeline>, PlotError> {
    let RotationOutcome::Enough(rotation) = &pads.outcome else { return Ok(None) };
    let mut rows: Vec<TimeRow> = Vec::new();
    for (kind, count) in rotation.pads.iter().enumerate() {
        for pad in 0..*count {
            let own = rotation.schedule.iter().filter(|e| e.kind == kind && e.pad == pad);
            let bars = own
                .filter_map(|e| {
                    let (kind, label) = match e.activity {
                        Activity::Prime => (0, String::new()),
                        Activity::Work(section) => (1, (section + 1).to_string()),
                        Activity::Clean(_) => (2, String::new()),
                        Activity::Dry => (3, String::new()),
                        Activity::Rest => return None,
                    };
                    Some(TimeBar { start_min: e.start.s() / 60.0, end_min: e.end.s() / 60.0, label, kind })
                })
                .collect();
            rows.push(TimeRow { label: format!("{} {}", pads.kinds[kind].0, pad + 1), bars });
        }
    }
    Ok(Some(Timeline {
        title: "Pads in rotation".into(),
        caption: "Numbers are sections in the order of work; a pad that is neither working nor being cleaned rests and cools."
            .into(),
        kinds: vec!["priming".into(), "working".into(), "cleaning".into(), "drying".into()],
        rows,
        ..Timeline::default()
    }))
}
