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
use crate::heat::{
    BulkHeat, Cooling, HeatSource, HotSpot, Material, Overhang, PadDisc, PadEvent, PadSettings, PanelContact,
    PanelHeat, PanelHeatSettings, PanelJob, Plate, Side, Spread, effusivity_share, heat_panel, pad_history,
    rest_before_next, sources_along, sources_of_stops,
};
use crate::motion::Section;
use crate::removal::Footprint;
use crate::spin::Setup;
use crate::units::{Angle, Area, Energy, Length, Power, Speed, Temperature, Time, Volume};
use crate::wear::{Exposure, FilmProduct, MoistAir, PassExposure, ProductFilm, SectionWork, drops_needed};
use core::ops::Range;

/// The air of the workshop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Workshop {
    /// Air temperature.
    pub temperature: Temperature,
    /// Relative humidity, 0 to 1.
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
    /// Incline of the panel.
    pub incline: Angle,
    /// Highest temperature of the paint.
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
    /// Share of the friction heat that goes into the panel.
    pub panel_share: f64,
    /// Rest before the same step could be repeated below the limit; `None` where no rest is enough.
    pub rest: Option<Time>,
    /// Work sections, the time on each and its area.
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
    /// Friction over that of fresh product in each pass, mean of its start and its end; 1 throughout
    /// without a law for it.
    pub friction_by_pass: Vec<f64>,
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

    fn spread(&self, task: &StepTask, plan: &StepPlan) -> Result<Spread, Error> {
        if plan.work.surface().is_some() {
            let orbit = Length::from_m(self.setup.face_orbit().radius_m);
            return Ok(Spread::orbiting_disc(Length::from_m(self.setup.pad().radius()), orbit)?);
        }
        let rate = self.setup.tool().rate().rad_s();
        let run = &self.state.run;
        Ok(Spread::of_footprint(&Footprint::new(&run.contact, task.panel.patch(), rate, run.spin))?)
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

/// Heat, product and pad of a planned step; `None` where the face sticks in every phase, which rubs nothing.
///
/// # Errors
/// Limits at or below the air's temperature, air outside its ranges, a panel too large for the solver.
pub fn step_heat(task: &StepTask, plan: &StepPlan, with: &ThermalTask) -> Result<Option<StepHeat>, Error> {
    let parts = parts(task, plan)?;
    if !parts.iter().any(Part::rubs) {
        return Ok(None);
    }
    let air = &with.workshop;
    crate::equipment::within("paint_c", with.paint_limit.c(), air.temperature.c() + 0.1, 200.0, "°C")?;
    let share = effusivity_share(&Material::paint_film().thermal, &Material::foam().thermal);
    let size = (task.panel.length(), task.panel.width());
    let plate = Plate::painted(with.substrate);
    // The taller side faces the rising air.
    let cooling = Cooling::of_panel(air.temperature, air.air_speed, (size.1, size.0), with.incline, Side::Free, 20.0)?;
    let (spreads, sources, overhang) = heating(task, plan, &parts, share)?;
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
    let panel = heat_panel(&job, &settings)?;
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
    let (friction_by_pass, dry_out) = dried(&film, &parts, section_time, exposure)?;

    let rim = Speed::from_m_s(plan.state.orbit_speed_m_s);
    let disc = PadDisc::of(parts[0].setup.pad(), air.temperature, rim)?;
    let one_section = section_events(&parts, section_time, Temperature::from_k(mean_k))?;
    let hottest = |events: &[PadEvent]| -> Result<Temperature, Error> {
        Ok(pad_history(&disc, events, None, &PadSettings::default())?.peak.core)
    };
    let core_after_section = hottest(&one_section)?;
    let core_without_rest = if parts.len() == 1 {
        // One stretch of work, however many sections it is.
        let whole = Time::from_s(section_time.s() * count as f64);
        hottest(&section_events(&parts, whole, Temperature::from_k(mean_k))?)?
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
        dry_out,
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
    }))
}

/// A rate of each phase summed over the time on a section.
fn over<'p>(parts: &[Part<'p>], section: Time, rate: impl Fn(&Part<'p>) -> f64) -> f64 {
    parts.iter().map(|p| rate(p) * (section.s() * p.share)).sum()
}

/// Friction over that of fresh product in each pass, and the pass in which the film dries out.
fn dried(
    film: &ProductFilm,
    parts: &[Part<'_>],
    section: Time,
    exposure: Exposure,
) -> Result<(Vec<f64>, Option<usize>), Error> {
    let mut exposures = Vec::new();
    for part in parts {
        let passes = part.passes.len().max(1);
        let each = Time::from_s(section.s() * part.share / passes as f64);
        exposures.extend(vec![PassExposure { time: each, exposure }; passes]);
    }
    let course = film.course(&exposures)?;
    let mut before = film.friction_factor(0.0);
    let mean = |now: &f64| 0.5 * (core::mem::replace(&mut before, *now) + now);
    Ok((course.friction_factor.iter().map(mean).collect(), course.dry_out.map(|d| d.pass)))
}

/// How the heat of each phase spreads, where and when it enters the panel with its `share`, and what becomes of
/// the part past the edge. Sources stand in the order of time.
fn heating(
    task: &StepTask,
    plan: &StepPlan,
    parts: &[Part<'_>],
    share: f64,
) -> Result<(Vec<Spread>, Vec<HeatSource>, Overhang), Error> {
    let (mut spreads, mut spread_of) = (Vec::new(), Vec::new());
    for part in parts {
        spread_of.push(spreads.len());
        if part.rubs() {
            spreads.push(part.spread(task, plan)?);
        }
    }
    Ok(match &plan.work {
        Work::Patch(map) => {
            let mut sources = Vec::new();
            for (part, spread) in parts.iter().zip(&spread_of) {
                let into_panel = Power::from_w(share * part.watts());
                let path = if parts.len() == 1 { map.path.clone() } else { map.path.of_passes(part.passes.clone()) };
                sources.extend(sources_along(&path, into_panel, Length::from_mm(5.0), *spread)?);
            }
            (spreads, sources, Overhang::Lost)
        }
        Work::Surface(w) => {
            let mut sources = Vec::with_capacity(w.map.stops.len());
            for stop in &w.map.stops {
                let own = parts.iter().position(|p| p.passes.contains(&(stop.stop.pass as usize))).unwrap_or(0);
                let part = &parts[own];
                let into_panel = if part.rubs() { share } else { 0.0 };
                let friction = part.setup.product().friction();
                sources.extend(sources_of_stops(core::slice::from_ref(stop), friction, into_panel, spread_of[own])?);
            }
            (spreads, sources, Overhang::Pressed)
        }
    })
}

/// What a pad goes through on one section: the phases one after the other.
fn section_events(parts: &[Part<'_>], time: Time, panel: Temperature) -> Result<Vec<PadEvent>, Error> {
    let mut out = Vec::with_capacity(parts.len());
    for part in parts {
        // Fresh paint comes under the face for as long as the pad takes to pass: the mean of the half-space's
        // flux over that time is 2 e/√(π t) times the difference, e the effusivity of the film. The whole
        // friction power enters at the face and splits by what the pad can carry off.
        let pass_s = 2.0 * part.setup.pad().radius() / part.feed.m_s();
        let coefficient = 2.0 * Material::paint_film().thermal.effusivity() / (core::f64::consts::PI * pass_s).sqrt();
        out.push(PadEvent::Work {
            time: Time::from_s(time.s() * part.share),
            face: Power::from_w(part.watts()),
            bulk: BulkHeat::of(&part.setup, part.state.run.spin)?,
            panel: Some(PanelContact { coefficient, panel }),
        });
    }
    Ok(out)
}
