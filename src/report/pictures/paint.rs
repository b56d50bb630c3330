//! Pictures of the paint: the account of a panel's clear coat, what the cut does to its defects, how it
//! looks after each step, its film before and after, and what test spots taught of the coefficient.
//!
//! Shows what `budget`, `finish` and `plan` computed; decides nothing.

use crate::Error;
use crate::budget::{Calibration, CalibrationSettings, FilmMapSettings, GaugeReading, Policy, film_map};
use crate::finish::{correction, visible_depth};
use crate::job::{PanelPaint, Step};
use crate::math::distribution::normal_half_width;
use crate::plan::{LEVEL, Look, StepPlan, Work};
use crate::plot::{
    Across, Axis, Band, Bar, BarChart, BarLimit, BudgetChart, BudgetRow, ColourScale, CurveChart, DensityChart,
    FieldMap, Figure, Limit, LineKind, LineOverlay, Missing, Page, PlotError, Region, RegionShape, Series,
    SeriesLabels,
};
use crate::report::paint::{binding_words, chance_words, clear_source_words, policy_words};
use crate::report::wording::{fixed, percent, short};
use crate::units::Length;

/// Cells along the longer side of a film map.
const FILM_CELLS: usize = 60;
/// Most readings of which a film map is drawn: beyond, kriging on its grid takes many seconds.
const MOST_MAPPED: usize = 1000;
/// Points along a curve.
const POINTS: usize = 121;

fn um(m: f64) -> f64 {
    Length::from_m(m).um()
}

fn mm(m: f64) -> f64 {
    Length::from_m(m).mm()
}

/// The charts of a panel's paint, before they are laid out for paper or for a narrow screen.
#[derive(Debug, Clone)]
pub struct PaintCharts {
    /// Account of the clear coat after each step; `None` where there is no clear coat.
    pub budget: Option<BudgetChart>,
    /// Correction of the panel's defects against the cut; `None` where none can be polished out.
    pub correction: Option<CurveChart>,
    /// Roughness, gloss and haze after each step; `None` where no grain is known.
    pub finish: Option<Page>,
    /// Film before and after; `None` where fewer than three readings have a place.
    pub film: Option<Page>,
    /// Why a picture that was to be expected is missing.
    pub missing: Vec<String>,
}

/// Computes the charts of a panel's paint. `steps` and `plans` are those of the whole job, `readings` its
/// gauge readings, `policy` what of the clear coat may go.
///
/// Account of the clear coat \[µm\], correction \[%\] against the cut, roughness \[nm\], gloss and haze \[GU\], film
/// before and after. What cannot be drawn is `None`, with the reason in `missing` where it was to be expected. The account is that
/// of the example of [`paint_accounts`](crate::job::paint_accounts).
///
/// # Errors
/// Numbers outside the ranges of the distributions.
pub fn paint_charts(
    paint: &PanelPaint,
    steps: &[Step],
    plans: &[&StepPlan],
    policy: &Policy,
    readings: &[GaugeReading],
) -> Result<PaintCharts, Error> {
    let mut missing = Vec::new();
    let works: Vec<&Work> = paint.steps.iter().filter_map(|i| plans.get(*i)).map(|p| &p.work).collect();
    let film = match film_page(paint, &works, readings) {
        Ok(page) => page,
        Err(why) => {
            missing.push(format!("no film map of `{}`: {why}", paint.panel));
            None
        }
    };
    Ok(PaintCharts {
        budget: budget_chart(paint, steps, policy),
        correction: correction_chart(paint, steps)?,
        finish: finish_page(paint, steps),
        film,
        missing,
    })
}

fn budget_chart(paint: &PanelPaint, steps: &[Step], policy: &Policy) -> Option<BudgetChart> {
    let allowed = &paint.account.allowance;
    if paint.clear.mean_m() <= 0.0 {
        return None;
    }
    let tidy = |m: f64| (100.0 * um(m)).round() / 100.0;
    let rows = paint
        .steps
        .iter()
        .zip(&paint.account.steps)
        .map(|(i, a)| BudgetRow {
            label: format!("after {}", steps.get(*i).map_or("", |s| s.name.as_str())),
            clear_um: um(paint.clear.mean_m()),
            gone_um: 0.0,
            job_um: tidy(a.removed.mean),
            job_interval_um: Some((tidy(a.removed.low), tidy(a.removed.high))),
            limit_um: tidy(allowed.allowed.best),
            note: format!("chance of taking more than may go: {}", chance_words(a.over_probability)),
        })
        .collect();
    Some(BudgetChart {
        title: format!("Paint budget: {}", paint.panel),
        caption: format!(
            "May go: {}; {}: {} µm (90 %: {} to {}). A rule of the trade, no standard. Clear coat {}. The interval of \
             the cut is that of the removal coefficient alone.",
            policy_words(policy),
            binding_words(allowed.binding),
            fixed(um(allowed.allowed.best), 1),
            fixed(um(allowed.allowed.low), 1),
            fixed(um(allowed.allowed.high), 1),
            clear_source_words(paint.clear.source())
        ),
        axis_title: "clear coat taken from now on [µm]".into(),
        rows,
        ..BudgetChart::default()
    })
}

fn correction_chart(paint: &PanelPaint, steps: &[Step]) -> Result<Option<CurveChart>, Error> {
    let (Some(last), Some(first)) = (paint.account.steps.last(), paint.steps.first().and_then(|i| steps.get(*i)))
    else {
        return Ok(None);
    };
    if last.defects.is_empty() {
        return Ok(None);
    }
    let allowed = paint.account.allowance.allowed;
    let end = (1.2 * last.removed.high).max(1.25 * allowed.best).max(1e-6);
    let eye = Length::from_m(visible_depth(first.paint.lightness())?.median());
    // What a calibration grants the depths of swirls, for every defect: all of them are assumed.
    let wrong = CalibrationSettings::default().depth_ln_sd.exp();
    let (mut series, mut bands) = (Vec::new(), Vec::new());
    for (style, d) in last.defects.iter().enumerate() {
        let Ok(depths) = d.defect.depths() else { continue };
        let curve = |factor: f64| {
            let depths = depths.distribution.scaled(factor)?;
            (0..POINTS)
                .map(|i| {
                    let cut = end * i as f64 / (POINTS - 1) as f64;
                    let c = correction(&depths, Length::from_m(cut), eye)?;
                    Ok((um(cut), 100.0 * c.optical))
                })
                .collect::<Result<Vec<_>, Error>>()
        };
        bands.push(Band { label: String::new(), lower: curve(wrong)?, upper: curve(1.0 / wrong)?, style });
        series.push(Series { style: Some(style), ..Series::new(d.defect.name(), curve(1.0)?) });
    }
    if let Some(b) = bands.first_mut() {
        b.label = format!("depths a factor of {} either way", fixed(wrong, 1));
    }
    let removed = last.removed;
    let regions = if removed.high > removed.low {
        let shape = RegionShape::Columns(um(removed.low), um(removed.high));
        vec![Region { label: String::new(), shape }]
    } else {
        Vec::new()
    };
    let line = |label: String, at: f64| Limit { label, at: um(at), across: Across::X };
    Ok(Some(CurveChart {
        title: format!("What the cut does to the defects: {}", paint.panel),
        caption: format!(
            "Correction to the eye: share of the depth above what is seen ({} µm at lightness {}) that is gone. Shaded \
             columns: 90 % interval of the cut. Depths of the defects are assumed, of the right order at best.",
            fixed(eye.um(), 2),
            short(first.paint.lightness())
        ),
        x: Axis::between("cut of all steps [µm]", 0.0, um(end)),
        y: Axis::between("correction to the eye [%]", 0.0, 100.0),
        series,
        bands,
        regions,
        limits: vec![
            line(
                format!(
                    "this job {} µm ({} to {})",
                    fixed(um(removed.mean), 1),
                    fixed(um(removed.low), 1),
                    fixed(um(removed.high), 1)
                ),
                removed.mean,
            ),
            line(format!("may go {} µm", fixed(um(allowed.best), 1)), allowed.best),
        ],
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    }))
}

/// A value with its ends, where there is one.
type Ranged = Option<(f64, Option<(f64, f64)>)>;

fn finish_bars(
    paint: &PanelPaint,
    steps: &[Step],
    title: &str,
    axis: Axis,
    value: impl Fn(&Look) -> Ranged,
) -> Option<BarChart> {
    let bars: Vec<Bar> = paint
        .steps
        .iter()
        .zip(&paint.account.steps)
        .map(|(i, a)| {
            let found = a.look.as_ref().and_then(&value);
            Bar {
                label: format!("after {}", steps.get(*i).map_or("", |s| s.name.as_str())),
                value: found.map_or(f64::NAN, |f| f.0),
                interval: found.and_then(|f| f.1),
                ..Bar::default()
            }
        })
        .collect();
    bars.iter().any(|b| b.value.is_finite()).then(|| BarChart {
        title: title.into(),
        axis,
        bars,
        interval_name: "90 % interval".into(),
        ..BarChart::default()
    })
}

fn finish_page(paint: &PanelPaint, steps: &[Step]) -> Option<Page> {
    let mut panels = Vec::new();
    let nm = |m: f64| um(m) * 1e3;
    let rough = finish_bars(paint, steps, "Roughness", Axis::linear("RMS roughness [nm]"), |l| {
        let r = l.roughness_m;
        Some((nm(r.best), Some((nm(r.low), nm(r.high)))))
    });
    let looks = || paint.account.steps.iter().filter_map(|a| a.look.as_ref());
    if let Some(mut chart) = rough {
        if let Some(limit) = looks().find_map(|l| l.decision.shows_from_m) {
            chart.limits = vec![BarLimit { label: "haze shows on this paint".into(), at: nm(limit) }];
        }
        panels.push(chart);
    }
    panels.extend(finish_bars(paint, steps, "Gloss at 20 degrees", Axis::linear("gloss [GU]"), |l| {
        l.gloss[0].as_ref().map(|g| (g.units.best, Some((g.units.low, g.units.high))))
    }));
    panels.extend(finish_bars(paint, steps, "Haze from roughness", Axis::linear("haze [GU]"), |l| {
        let h = l.haze.as_ref()?;
        let ends = h.low.zip(h.high).map(|(a, b)| (a.from_scatter(), b.from_scatter()));
        h.middle.map(|m| (m.from_scatter(), ends))
    }));
    (!panels.is_empty()).then(|| Page {
        title: format!("How the paint looks: {}", paint.panel),
        caption: "Roughness from grain, pressure and paint by a model whose constants are assumed: an order of the steps \
                  and a size within a factor of 2.7, no measurement. Gloss on the scale of ISO 2813; haze as in ASTM D4039, \
                  less what a perfectly smooth coat reads by its index. Orange peel is not in them."
            .into(),
        columns: 1,
        panels: panels.into_iter().map(Into::into).collect(),
        letters: false,
        width: 720.0,
        ..Page::default()
    })
}

/// Cells of a film map: origin, size, number along x and y.
struct Cells {
    from: (f64, f64),
    size: (f64, f64),
    count: (usize, usize),
}

/// The rectangle in plan of a worked panel, m.
fn cells_over(work: &Work) -> Cells {
    let (from, size) = match work {
        Work::Patch(map) => {
            let (n, d) = (map.field.grid.count(), map.field.grid.cell());
            ((0.0, 0.0), (n.0 as f64 * d.0, n.1 as f64 * d.1))
        }
        Work::Surface(w) => {
            let g = &w.map.grid;
            (g.origin, (g.count.0 as f64 * g.cell, g.count.1 as f64 * g.cell))
        }
    };
    let side = size.0.max(size.1) / FILM_CELLS as f64;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most FILM_CELLS
    let along = |l: f64| ((l / side).round() as usize).clamp(2, FILM_CELLS);
    Cells { from, size, count: (along(size.0), along(size.1)) }
}

/// What a step takes off at a place in plan, m; `None` off the panel.
fn cut_at(work: &Work, at: (f64, f64)) -> Option<f64> {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
    let index = |x: f64, cell: f64, n: usize| (x / cell).clamp(0.0, n as f64 - 1.0) as usize;
    match work {
        Work::Patch(map) => {
            let ((nx, ny), (dx, dy)) = (map.field.grid.count(), map.field.grid.cell());
            Some(map.preston_per_pa * map.field.work[index(at.1, dy, ny) * nx + index(at.0, dx, nx)])
        }
        Work::Surface(w) => {
            let g = &w.map.grid;
            let i = index(at.0 - g.origin.0, g.cell, g.count.0);
            let j = index(at.1 - g.origin.1, g.cell, g.count.1);
            let k = j * g.count.0 + i;
            // Tape, not paint, loses what is cut over it.
            let cut = if w.map.taped[k] { 0.0 } else { w.map.preston_per_pa * w.map.field.work[k] };
            (w.map.area[k] > 0.0).then_some(cut)
        }
    }
}

fn film_page(paint: &PanelPaint, works: &[&Work], readings: &[GaugeReading]) -> Result<Option<Page>, Error> {
    let (Some(film), Some(first)) = (&paint.film, works.first()) else { return Ok(None) };
    let places: Vec<(f64, f64)> =
        film.readings.iter().filter_map(|i| readings.get(*i)).filter_map(GaugeReading::place_m).collect();
    if places.len() < 3 {
        return Ok(None);
    }
    if places.len() > MOST_MAPPED {
        let allowed = format!("at most {MOST_MAPPED}");
        return Err(crate::RangeError::new("readings with a place", places.len() as f64, "", allowed).into());
    }
    let cells = cells_over(first);
    let (nx, ny) = cells.count;
    let half = (0.5 * cells.size.0 / nx as f64, 0.5 * cells.size.1 / ny as f64);
    let map = film_map(
        readings,
        film,
        &FilmMapSettings {
            from: (cells.from.0 + half.0, cells.from.1 + half.1),
            to: (cells.from.0 + cells.size.0 - half.0, cells.from.1 + cells.size.1 - half.1),
            points: cells.count,
            level: LEVEL,
            shape: crate::budget::CovarianceShape::default(),
        },
    )?;
    let gone: Vec<f64> = map
        .places
        .iter()
        .map(|at| works.iter().map(|w| cut_at(w, *at)).sum::<Option<f64>>().unwrap_or(f64::NAN))
        .collect();
    let ends = |values: &mut dyn Iterator<Item = f64>| {
        values.filter(|v| v.is_finite()).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
    };
    let halves = ends(&mut map.film.iter().map(|f| f.high - f.best));
    let taken = ends(&mut gone.iter().copied());
    let ranges =
        ((mm(cells.from.0), mm(cells.from.0 + cells.size.0)), (mm(cells.from.1), mm(cells.from.1 + cells.size.1)));
    let films =
        ends(&mut map.film.iter().zip(&gone).flat_map(|(f, g)| [um(f.best), um(f.best - g)]).filter(|v| v.is_finite()));
    // Round ends, so that the short bar of the page bears numbers.
    let shown = (10.0 * (films.0 / 10.0).floor(), 10.0 * (films.1 / 10.0).ceil());
    let chart = |title: &str, factor: f64| FieldMap {
        title: title.into(),
        columns: nx,
        rows: ny,
        values: map.film.iter().zip(&gone).map(|(f, g)| um(f.best - factor * g)).collect(),
        x_range: ranges.0,
        y_range: ranges.1,
        colour: ColourScale {
            title: format!("{} film [µm]", film.part.word()),
            range: Some(shown).filter(|r| r.1 > r.0),
            ..ColourScale::default()
        },
        missing: Missing::Paper,
        lines: vec![crosses(&places, ranges)],
        ..FieldMap::default()
    };
    Ok(Some(Page {
        title: format!("Film: {}", paint.panel),
        caption: format!(
            "Kriged from {} readings with a place (+); 90 % half-width {} to {} µm. After: less the planned cut, {} to {} \
             µm, at the removal coefficient given. Thickest and thinnest places between readings are guesses.",
            places.len(),
            fixed(um(halves.0), 1),
            fixed(um(halves.1), 1),
            fixed(um(taken.0), 1),
            fixed(um(taken.1), 1)
        ),
        columns: 2,
        panels: vec![chart("before", 0.0).into(), chart("after this job", 1.0).into()],
        shared_colour: true,
        shared_legend: true,
        letters: false,
        width: 760.0,
        ..Page::default()
    }))
}

/// A small cross at each reading inside the map.
///
/// Places \[m\], ranges of the map \[mm\]; the arms are 1.5 % of the longer side, and a cross that would reach past the map
/// is left out.
///
/// # Example
/// ```
/// use trochoid::report::pictures::crosses;
/// // One reading in the middle of a map of 400 mm x 300 mm, one beside it: two lines of 2 · 6 mm.
/// let overlay = crosses(&[(0.2, 0.15), (0.5, 0.15)], ((0.0, 400.0), (0.0, 300.0)));
/// assert_eq!(overlay.lines.len(), 2);
/// assert!((overlay.lines[0][0].0 - 194.0).abs() < 1e-9 && (overlay.lines[0][1].0 - 206.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn crosses(places_m: &[(f64, f64)], ranges_mm: ((f64, f64), (f64, f64))) -> LineOverlay {
    let arm = 0.015 * (ranges_mm.0.1 - ranges_mm.0.0).max(ranges_mm.1.1 - ranges_mm.1.0);
    let inside = |v: f64, r: (f64, f64)| v - arm >= r.0 && v + arm <= r.1;
    let lines = places_m
        .iter()
        .map(|p| (mm(p.0), mm(p.1)))
        .filter(|p| inside(p.0, ranges_mm.0) && inside(p.1, ranges_mm.1))
        .flat_map(|(x, y)| [vec![(x - arm, y), (x + arm, y)], vec![(x, y - arm), (x, y + arm)]])
        .collect();
    LineOverlay::lines(LineKind::Pass, "", lines)
}

/// Prior and posterior of the removal coefficient; `whose` names pad and product.
///
/// Densities over k_p \[1/Pa\], in a power of ten that its title tells. The calibration is that of
/// [`calibrate`](crate::budget::calibrate); the chart is drawn as in the example of [`DensityChart::chart`].
#[must_use]
pub fn coefficient_chart(whose: &str, spots: usize, found: &Calibration) -> DensityChart {
    let (value, prior) = (found.removal.value, found.removal.prior);
    // The prior is log-normal: its median and the ends of its interval tell all of it.
    let prior_sd = (prior.high / prior.low).ln() / (2.0 * normal_half_width(prior.level));
    let before = |z: f64| prior.best * (z * prior_sd).exp();
    let low = found.quantile(1e-4).min(before(-2.6));
    let high = found.quantile(0.9999).min(4.0 * value.high).max(before(2.6));
    #[allow(clippy::cast_possible_truncation)] // k_p lies between 1e-18 and 1e-6
    let power = value.best.log10().floor() as i32;
    let unit = 10f64.powi(power);
    let prior_points = (0..POINTS)
        .map(|i| {
            let k = low + (high - low) * i as f64 / (POINTS - 1) as f64;
            let z = (k / prior.best).ln() / prior_sd;
            (k / unit, (-0.5 * z * z).exp() / (prior_sd * std::f64::consts::TAU.sqrt()) * unit / k)
        })
        .collect();
    // A density of the logarithm over the coefficient is one of the coefficient.
    let posterior =
        found.density().filter(|(k, _)| *k >= low && *k <= high).map(|(k, d)| (k / unit, d * unit / k)).collect();
    let plural = if spots == 1 { "" } else { "s" };
    DensityChart {
        title: format!("Removal coefficient: {whose}"),
        caption: format!(
            "{spots} test spot{plural}; the interval is {} of its width before (standard deviations of the logarithm).",
            percent(found.removal.width_ratio)
        ),
        x_title: format!("removal coefficient [1e{power}/Pa]"),
        y_title: format!("density [Pa/1e{power}]"),
        prior_name: format!("before the test spot{plural}"),
        prior: prior_points,
        posterior_name: format!("after the test spot{plural}"),
        posterior,
        interval: (value.low / unit, value.high / unit),
        interval_name: format!("{} interval", percent(value.level)),
        median: value.best / unit,
        ..DensityChart::default()
    }
}

impl PaintCharts {
    /// The pictures, by file stem: `-budget`, `-correction`, `-finish`, `-film` after `stem`; as in the
    /// example of [`crate::report::pictures`].
    ///
    /// # Errors
    /// [`PlotError`] from any of them.
    pub fn figures(&self, stem: &str) -> Result<Vec<(String, Figure)>, PlotError> {
        let mut out = Vec::new();
        if let Some(c) = &self.budget {
            out.push((format!("{stem}-budget"), c.figure()?));
        }
        if let Some(c) = &self.correction {
            out.push((format!("{stem}-correction"), c.figure()?));
        }
        if let Some(p) = &self.finish {
            out.push((format!("{stem}-finish"), p.figure()?));
        }
        if let Some(p) = &self.film {
            out.push((format!("{stem}-film"), p.figure()?));
        }
        Ok(out)
    }

    /// The same charts laid out for a screen of that width \[picture units\]; the figures then come as in the
    /// example of [`crate::report::pictures`].
    #[must_use]
    pub fn narrowed(mut self, width: f64) -> Self {
        if let Some(c) = &mut self.budget {
            c.width = width;
        }
        if let Some(c) = &mut self.correction {
            c.width = width;
        }
        for p in self.finish.iter_mut().chain(&mut self.film) {
            p.width = width;
            p.columns = 1;
        }
        self
    }
}
