//! Heat, product and pad of a planned step: how hot the paint gets along the real path, how long the
//! product stays workable, how warm the pad's core gets while it works a section.
//!
//! The friction power of the step's state is split between paint and pad by effusivity. The panel is
//! heated along the path as planned, the phases of a step one after the other in time; the product is laid
//! down once, for the first phase, and dries through all of them at the panel's mean temperature.
//! Temperature does not act back on cut or friction here; `coupling.rs` does that.

use super::state::OperatingState;
use super::step::{StepPlan, StepTask, Work};
use crate::Error;
use crate::equipment::Substrate;
use crate::error::RangeError;
use crate::heat::{
    BulkHeat, Cooling, HeatSource, HotSpot, MOST_MOMENTS, Material, Overhang, PadDisc, PadEvent, PadSettings,
    PanelContact, PanelHeat, PanelHeatSettings, PanelJob, Plate, Side, Spread, SurfaceMoment, effusivity_share,
    heat_panel_at, pad_history, rest_before_next, sources_along, sources_of_stops,
};
use crate::motion::{Section, ToolPath};
use crate::panel::Patch;
use crate::removal::{Footprint, WorkedStop};
use crate::spin::{Setup, SpinState};
use crate::units::{Angle, Area, Energy, Length, Power, Speed, Temperature, Time, Volume};
use crate::wear::{Exposure, FilmCourse, FilmProduct, MoistAir, PassExposure, ProductFilm, SectionWork, drops_needed};
use core::ops::Range;
use std::collections::BTreeMap;

/// The air of the workshop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Workshop {
    /// Air temperature.
    pub temperature: Temperature,
    /// Relative humidity \[1\], 0 to 1.
    pub relative_humidity: f64,
    /// Speed of the air over the panel.
    pub air_speed: Speed,
}

/// What heat and product need to know beside the plan of a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThermalTask {
    /// Air.
    pub workshop: Workshop,
    /// What the paint lies on.
    pub substrate: Substrate,
    /// Incline of the panel: 0 facing up, 90° vertical.
    pub incline: Angle,
    /// Highest temperature of the paint: above that of the air, at most 200 °C.
    pub paint_limit: Temperature,
    /// The product as it dries.
    pub film: FilmProduct,
    /// Drops laid down on a section; as many as its time asks for without a number.
    pub drops: Option<u32>,
}

/// Heat, product and pad of a step.
#[derive(Debug, Clone)]
pub struct StepHeat {
    /// The panel.
    pub panel: PanelHeat,
    /// The hottest paint.
    pub peak: HotSpot,
    /// Share of the friction heat that goes into the panel \[1\].
    pub panel_share: f64,
    /// Rest before the same step could be repeated below the limit; `None` where no rest is enough.
    pub rest: Option<Time>,
    /// Work sections that the step is cut into.
    pub sections: usize,
    /// Time with the pad on for one section.
    pub section_time: Time,
    /// Area of one section.
    pub section_area: Area,
    /// Drops on a section.
    pub drops: u32,
    /// Product on all sections.
    pub product: Volume,
    /// Time until that film counts as dry; `None` where it does not dry.
    pub working_time: Option<Time>,
    /// The pass in which the film dries out, from 0; `None` where it lasts.
    pub dry_out: Option<usize>,
    /// Hottest foam of a pad that starts cold, after one section.
    pub core_after_section: Temperature,
    /// The same after every section of the step without a rest.
    pub core_without_rest: Temperature,
    /// One section as the pad rotation takes it; its kind is left at 0.
    pub work: SectionWork,
    /// Paint under the pad, mean over the work: midway between the start and the mean of the hottest that each
    /// place comes to, since the panel warms about evenly while it is worked.
    pub worked_paint: Temperature,
    /// Friction over that of fresh product in each pass, mean of its start and its end \[1\]; 1 throughout
    /// without a law for it.
    pub friction_by_pass: Vec<f64>,
    /// Highest temperature of the paint that the step was held to.
    pub limit: Temperature,
    /// The panel at the end of each pass with its number from 1; of many passes some, the last among them.
    pub after_passes: Vec<(usize, SurfaceMoment)>,
    /// The pad at work.
    pub pad: WorkingPad,
    /// Film on a section.
    pub film: ProductFilm,
    /// Surface and air in which it dries.
    pub exposure: Exposure,
    /// Share of the volatile part gone at the end of each pass \[1\].
    pub film_gone: Vec<f64>,
}

/// What the heat conduction of a pad needs to know of its work on one section.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkingPad {
    /// The pad as a disc.
    pub disc: PadDisc,
    /// Its work, one stretch a phase.
    pub stretches: Vec<WorkStretch>,
}

/// A stretch of even work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkStretch {
    /// Share of the time on a section \[1\].
    pub share: f64,
    /// Friction power at the face of a clean pad.
    pub friction: Power,
    /// Heat made inside.
    pub bulk: BulkHeat,
    /// The panel that comes under the face.
    pub contact: PanelContact,
}

impl WorkingPad {
    /// Friction power at the face of a clean pad, mean over a section.
    #[must_use]
    pub fn friction(&self) -> Power {
        Power::from_w(self.stretches.iter().map(|s| s.share * s.friction.w()).sum())
    }

    /// What a pad goes through in so much time of work, with a factor on the friction: one event a stretch, each
    /// with its share of the time.
    #[must_use]
    pub fn work(&self, time: Time, friction_factor: f64) -> Vec<PadEvent> {
        let event = |s: &WorkStretch| PadEvent::Work {
            time: Time::from_s(time.s() * s.share),
            face: Power::from_w(s.friction.w() * friction_factor),
            bulk: s.bulk,
            panel: Some(s.contact),
        };
        self.stretches.iter().map(event).collect()
    }
}

/// A phase of the step, or the whole step, as the heat sees it.
struct Part<'a> {
    /// The set-up where the task has it.
    setup: Setup,
    state: &'a OperatingState,
    feed: Speed,
    passes: Range<usize>,
    /// Share of the time with the pad on.
    share: f64,
}

impl Part<'_> {
    fn rubs(&self) -> bool {
        !self.state.run.sticks && self.state.friction_w > 0.0
    }

    /// Friction power, W.
    fn watts(&self) -> f64 {
        if self.rubs() { self.state.friction_w } else { 0.0 }
    }
}

/// The phases of a step with their heat; the step itself where it has none.
fn parts<'a>(task: &StepTask, plan: &'a StepPlan) -> Result<Vec<Part<'a>>, Error> {
    if plan.phases.is_empty() {
        let (setup, feed) = (task.setup.clone(), task.working.feed);
        return Ok(vec![Part { setup, state: &plan.state, feed, passes: 0..plan.passes.max(1), share: 1.0 }]);
    }
    let whole: f64 = plan.phases.iter().map(|p| p.time_s).sum();
    let own = task.parts()?;
    Ok(own
        .into_iter()
        .zip(&plan.phases)
        .map(|(own, p)| Part {
            setup: own.setup,
            state: &p.state,
            feed: own.working.feed,
            passes: p.passes.clone(),
            share: p.time_s / whole,
        })
        .collect())
}

/// Most maps after passes.
const MOST_MAPS: usize = 8;

/// Passes to show and the times at which they end: all, or some spread evenly that end with the last.
fn pass_ends(plan: &StepPlan) -> Vec<(usize, Time)> {
    let mut last: BTreeMap<usize, f64> = BTreeMap::new();
    let mut clock = 0.0;
    let mut add = |pass: usize, time_s: f64| {
        clock += time_s;
        last.insert(pass, clock);
    };
    match &plan.work {
        Work::Patch(map) => {
            for leg in map.path.legs() {
                add(leg.pass, 0.5 * (leg.slowness.0 + leg.slowness.1) * leg.length());
            }
        }
        Work::Surface(w) => {
            for s in &w.map.stops {
                add(s.stop.pass as usize, s.stop.time_s);
            }
        }
    }
    // Section by section a pass ends more than once: its last end counts, and none lies before another's.
    let mut ends: Vec<(usize, Time)> = last.into_iter().map(|(pass, end)| (pass + 1, Time::from_s(end))).collect();
    ends.sort_by(|a, b| a.1.s().total_cmp(&b.1.s()));
    let (all, shown) = (ends.len(), ends.len().min(MOST_MAPS.min(MOST_MOMENTS)));
    (1..=shown).map(|k| ends[k * all / shown - 1]).collect()
}

/// Sections of a step: its own where the panel is cut up, else as many of the usual size as its area holds.
fn sections(plan: &StepPlan, task: &StepTask) -> (usize, f64) {
    let (area, own) = match &plan.work {
        Work::Surface(w) => (w.report.workable_area, w.sections.len()),
        Work::Patch(_) => (task.panel.length().m() * task.panel.width().m(), 0),
    };
    let usual = Section::USUAL_SIDE * Section::USUAL_SIDE;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive, a panel is below 400 m²
    let count = if own > 0 { own } else { (area / usual).round().max(1.0) as usize };
    (count, area / count as f64)
}

/// Share of the friction heat that goes into the panel.
pub(super) fn panel_share() -> f64 {
    effusivity_share(&Material::paint_film().thermal, &Material::foam().thermal)
}

/// Losses of the panel of a step; its taller side faces the rising air.
pub(super) fn cooling_of(task: &StepTask, with: &ThermalTask) -> Result<Cooling, RangeError> {
    let (air, size) = (&with.workshop, (task.panel.width(), task.panel.length()));
    Cooling::of_panel(air.temperature, air.air_speed, size, with.incline, Side::Free, 20.0)
}

/// Where and when a step heats its panel; the sources stand in the order of time.
pub(super) struct Heating {
    pub(super) spreads: Vec<Spread>,
    pub(super) sources: Vec<HeatSource>,
    pub(super) overhang: Overhang,
}

impl Heating {
    /// Of a pad that runs as `run` along a path over a patch, with `watts` of friction.
    pub(super) fn along(
        setup: &Setup,
        patch: &Patch,
        run: &SpinState,
        path: &ToolPath,
        watts: f64,
    ) -> Result<Self, RangeError> {
        let footprint = Footprint::new(&run.contact, patch, setup.tool().rate().rad_s(), run.spin);
        let sources = along(path, watts, 0)?;
        Ok(Self { spreads: vec![Spread::of_footprint(&footprint)?], sources, overhang: Overhang::Lost })
    }

    /// Of the stops on a real panel.
    pub(super) fn of_stops(setup: &Setup, stops: &[WorkedStop]) -> Result<Self, RangeError> {
        let sources = sources_of_stops(stops, setup.product().friction(), panel_share(), 0)?;
        Ok(Self { spreads: vec![disc_spread(setup)?], sources, overhang: Overhang::Pressed })
    }

    /// Of a planned step with its phases.
    fn of_parts(task: &StepTask, plan: &StepPlan, parts: &[Part<'_>]) -> Result<Self, Error> {
        let (mut spreads, mut spread_of) = (Vec::new(), Vec::new());
        for part in parts {
            // A face that sticks gives off nothing, whatever its spread.
            spread_of.push(if part.rubs() { spreads.len() } else { 0 });
            if part.rubs() {
                let run = &part.state.run;
                spreads.push(match &plan.work {
                    Work::Patch(_) => {
                        let rate = part.setup.tool().rate().rad_s();
                        Spread::of_footprint(&Footprint::new(&run.contact, task.panel.patch(), rate, run.spin))?
                    }
                    Work::Surface(_) => disc_spread(&part.setup)?,
                });
            }
        }
        let mut sources = Vec::new();
        let overhang = match &plan.work {
            Work::Patch(map) => {
                for (part, spread) in parts.iter().zip(&spread_of) {
                    let path =
                        if parts.len() == 1 { map.path.clone() } else { map.path.of_passes(part.passes.clone()) };
                    sources.extend(along(&path, part.watts(), *spread)?);
                }
                Overhang::Lost
            }
            Work::Surface(w) => {
                // A panel cut into sections has all phases worked on one section before the next.
                let of = |s: &WorkedStop| parts.iter().position(|p| p.passes.contains(&(s.stop.pass as usize)));
                for stretch in w.map.stops.chunk_by(|a, b| of(a) == of(b)) {
                    let own = stretch.first().and_then(of).unwrap_or(0);
                    let into_panel = if parts[own].rubs() { panel_share() } else { 0.0 };
                    let friction = parts[own].setup.product().friction();
                    sources.extend(sources_of_stops(stretch, friction, into_panel, spread_of[own])?);
                }
                Overhang::Pressed
            }
        };
        Ok(Self { spreads, sources, overhang })
    }
}

/// Heat of `watts` of friction that enters the panel along a path.
fn along(path: &ToolPath, watts: f64, spread: usize) -> Result<Vec<HeatSource>, RangeError> {
    sources_along(path, Power::from_w(panel_share() * watts), Length::from_mm(5.0), spread)
}

/// How the heat of a pad on a real panel spreads.
fn disc_spread(setup: &Setup) -> Result<Spread, RangeError> {
    let orbit = Length::from_m(setup.face_orbit().radius_m);
    Spread::orbiting_disc(Length::from_m(setup.pad().radius()), orbit)
}

/// Heat, product and pad of a planned step; `None` where the face sticks in every phase, which rubs nothing.
///
/// ```text
/// into the panel  s P,  s = b_1/(b_1 + b_2)      P friction power [W], b effusivity of paint and foam
/// worked paint    ½ (T_air + mean of the hottest that each place comes to)      [K]
/// pad on panel    2 b/√(π t) (T_pad − T_panel)   b of the paint [W √s/(m² K)], t time of a passage [s]
/// ```
///
/// # Assumptions and valid range
/// The split by effusivity is that of two half-spaces. Sections are those of the plan, or as many of the
/// usual size as the panel's area holds; the film is laid down once a section and dries at the panel's mean
/// temperature at the end of the work. Cut and friction do not follow the temperature here:
/// [`plan_coupled`](super::plan_coupled) does that.
///
/// # Accuracy
/// That of [`heat_panel_at`](crate::heat::heat_panel_at) and [`pad_history`] at their default settings.
///
/// # Errors
/// Limits at or below the air's temperature, air outside its ranges, a panel too large for the solver.
///
/// # Example
/// With the step of the example of [`StepTask::new`]:
/// ```
/// use trochoid::equipment::Substrate;
/// use trochoid::plan::{ThermalTask, Workshop, plan_step, step_heat};
/// use trochoid::wear::FilmProduct;
/// # use trochoid::plan::{StepTask, Working};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let side = Length::from_mm(400.0);
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// let with = ThermalTask {
///     workshop: Workshop {
///         temperature: Temperature::from_c(20.0), relative_humidity: 0.5, air_speed: Speed::from_m_s(0.1),
///     },
///     substrate: Substrate::Steel,
///     incline: Angle::from_deg(0.0),
///     paint_limit: Temperature::from_c(60.0),
///     film: FilmProduct::default(),
///     drops: None,
/// };
/// let plan = plan_step(&task, &Default::default(), &Default::default())?;
/// let heat = step_heat(&task, &plan, &with)?;
/// // One section of 0.16 m², 100 s on it: μ N eΩ = 0.35 × 35 × 3.299 = 40.4 W make 4041 J.
/// assert!(heat.is_some_and(|h| h.sections == 1 && (h.work.work.j() - 4041.0).abs() < 0.5));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Carslaw and Jaeger, section 2.15 (the split between two half-spaces); see
/// [`effusivity_share`] and `notebooks-free-docs/theory-heat.md`.
pub fn step_heat(task: &StepTask, plan: &StepPlan, with: &ThermalTask) -> Result<Option<StepHeat>, Error> {
    let parts = parts(task, plan)?;
    if !parts.iter().any(Part::rubs) {
        return Ok(None);
    }
    let air = &with.workshop;
    crate::equipment::within("paint_c", with.paint_limit.c(), air.temperature.c() + 0.1, 200.0, "°C")?;
    let share = panel_share();
    let size = (task.panel.length(), task.panel.width());
    let plate = Plate::painted(with.substrate);
    let cooling = cooling_of(task, with)?;
    let Heating { spreads, sources, overhang } = Heating::of_parts(task, plan, &parts)?;
    let origin_m = plan.work.surface().map_or((0.0, 0.0), |w| w.map.grid.origin);
    let job = PanelJob {
        plate: &plate,
        cooling: &cooling,
        size,
        origin_m,
        start: air.temperature,
        spreads: &spreads,
        sources: &sources,
        overhang,
        limit: Some(with.paint_limit),
        probes_m: &[],
    };
    let settings = PanelHeatSettings::default();
    let ends = pass_ends(plan);
    let (panel, moments) = heat_panel_at(&job, &settings, &ends.iter().map(|e| e.1).collect::<Vec<_>>())?;
    let after_passes = ends.iter().map(|e| e.0).zip(moments).collect();
    let rest = rest_before_next(&job, &panel, with.paint_limit, &settings)?.time;

    let hottest_mean_k = panel.largest_k.iter().sum::<f64>() / panel.largest_k.len().max(1) as f64;
    let worked_paint = Temperature::from_k(0.5 * (air.temperature.k() + hottest_mean_k));

    let (count, area_m2) = sections(plan, task);
    let time_on = plan.work.surface().map_or(plan.time_s, |w| w.path.time_on());
    let section_time = Time::from_s((time_on / count as f64).max(1.0));
    let section_area = Area::from_m2(area_m2);
    // The film lies on paint as warm as the panel is on average at the end of the work, which is warmer
    // than over most of it.
    let mean_k = panel.final_mean_k.iter().sum::<f64>() / panel.final_mean_k.len().max(1) as f64;
    let moist = MoistAir::new(air.temperature, air.relative_humidity)?;
    let side = Length::from_m(area_m2.sqrt());
    let exposure = Exposure::new(moist, Temperature::from_k(mean_k), air.air_speed, side)?;
    // A step with couplings was worked out for the drops that it would take without them.
    let drops = match with.drops.or_else(|| plan.coupling.as_ref().map(|c| c.drops)) {
        Some(n) => n,
        None => drops_needed(with.film, section_area, section_time, &exposure)?.drops,
    };
    let film = ProductFilm::from_drops(with.film, drops, section_area)?;
    let (course, friction_by_pass) = dried(&film, &parts, section_time, exposure)?;

    let rim = Speed::from_m_s(plan.state.orbit_speed_m_s);
    let disc = PadDisc::of(parts[0].setup.pad(), air.temperature, rim)?;
    let pad = WorkingPad { disc, stretches: stretches(&parts, Temperature::from_k(mean_k))? };
    let hottest = |events: &[PadEvent]| -> Result<Temperature, Error> {
        Ok(pad_history(&disc, events, None, &PadSettings::default())?.peak.core)
    };
    let one_section = pad.work(section_time, 1.0);
    let core_after_section = hottest(&one_section)?;
    let core_without_rest = if parts.len() == 1 {
        // One stretch of work, however many sections it is.
        hottest(&pad.work(Time::from_s(section_time.s() * count as f64), 1.0))?
    } else {
        hottest(&one_section.iter().cycle().take(one_section.len() * count).copied().collect::<Vec<_>>())?
    };
    let product = Volume::from_ml(f64::from(drops) * with.film.drop.ml() * count as f64);
    // What the pad would remove in perfect condition: its loading, where it is in the coefficient already, is
    // taken out.
    let loading = plan.coupling.as_ref().and_then(|c| c.loading).unwrap_or(1.0);
    let removal = over(&parts, section_time, |p| p.state.volume_rate_m3_s) / loading;
    let work_j = over(&parts, section_time, Part::watts);
    Ok(Some(StepHeat {
        peak: panel.peak,
        panel,
        panel_share: share,
        rest,
        sections: count,
        section_time,
        section_area,
        drops,
        product,
        working_time: film.working_time(&exposure)?,
        dry_out: course.dry_out.map(|d| d.pass),
        core_after_section,
        core_without_rest,
        work: SectionWork {
            kind: 0,
            work: Energy::from_j(work_j),
            time: section_time,
            nominal_removal: Volume::from_mm3(removal * 1e9),
            product: Volume::from_ml(f64::from(drops) * with.film.drop.ml()),
            solids_share: 1.0 - with.film.volatile_share,
        },
        worked_paint,
        friction_by_pass,
        limit: with.paint_limit,
        after_passes,
        pad,
        film,
        exposure,
        film_gone: course.gone,
    }))
}

/// A rate of each phase summed over the time on a section.
fn over<'p>(parts: &[Part<'p>], section: Time, rate: impl Fn(&Part<'p>) -> f64) -> f64 {
    parts.iter().map(|p| rate(p) * (section.s() * p.share)).sum()
}

/// How the film dries over the passes, and the friction over that of fresh product in each.
fn dried(
    film: &ProductFilm,
    parts: &[Part<'_>],
    section: Time,
    exposure: Exposure,
) -> Result<(FilmCourse, Vec<f64>), Error> {
    let mut exposures = Vec::new();
    for part in parts {
        let passes = part.passes.len().max(1);
        let each = Time::from_s(section.s() * part.share / passes as f64);
        exposures.extend(vec![PassExposure { time: each, exposure }; passes]);
    }
    let course = film.course(&exposures)?;
    let mut before = film.friction_factor(0.0);
    let mean = |now: &f64| 0.5 * (core::mem::replace(&mut before, *now) + now);
    let friction = course.friction_factor.iter().map(mean).collect();
    Ok((course, friction))
}

/// The work of a pad on one section: the phases one after the other.
fn stretches(parts: &[Part<'_>], panel: Temperature) -> Result<Vec<WorkStretch>, Error> {
    let mut out = Vec::with_capacity(parts.len());
    for part in parts {
        // Fresh paint comes under the face for as long as the pad takes to pass: the mean of the half-space's
        // flux over that time is 2 e/√(π t) times the difference, e the effusivity of the film. The whole
        // friction power enters at the face and splits by what the pad can carry off.
        let pass_s = 2.0 * part.setup.pad().radius() / part.feed.m_s();
        let coefficient = 2.0 * Material::paint_film().thermal.effusivity() / (core::f64::consts::PI * pass_s).sqrt();
        out.push(WorkStretch {
            share: part.share,
            friction: Power::from_w(part.watts()),
            bulk: BulkHeat::of(&part.setup, part.state.run.spin)?,
            contact: PanelContact { coefficient, panel },
        });
    }
    Ok(out)
}
