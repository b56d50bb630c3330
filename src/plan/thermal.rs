//! Heat, product and pad of a planned step: how hot the paint gets along the real path, how long the
//! product stays workable, how warm the pad's core gets while it works a section.
//!
//! The friction power of the step's state is split between paint and pad by effusivity. The panel is
//! heated along the path as planned; the product dries at the panel's mean temperature over the work.
//! Temperature does not act back on cut or friction here.

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
use crate::wear::{Exposure, FilmProduct, MoistAir, PassExposure, ProductFilm, SectionWork, drops_needed};
use std::collections::BTreeMap;

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
    /// Share of the volatile part gone at the end of each pass.
    pub film_gone: Vec<f64>,
}

/// What the heat conduction of a pad needs to know of its work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkingPad {
    /// The pad as a disc.
    pub disc: PadDisc,
    /// Heat made inside.
    pub bulk: BulkHeat,
    /// Friction power at the face of a clean pad.
    pub friction: Power,
    /// The panel that comes under the face.
    pub contact: PanelContact,
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

/// Where and when a step heats its panel.
pub(super) struct Heating {
    pub(super) spread: Spread,
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
        let sources = sources_along(path, Power::from_w(panel_share() * watts), Length::from_mm(5.0), 0)?;
        Ok(Self { spread: Spread::of_footprint(&footprint)?, sources, overhang: Overhang::Lost })
    }

    /// Of the stops on a real panel.
    pub(super) fn of_stops(setup: &Setup, stops: &[WorkedStop]) -> Result<Self, RangeError> {
        let orbit = Length::from_m(setup.face_orbit().radius_m);
        let spread = Spread::orbiting_disc(Length::from_m(setup.pad().radius()), orbit)?;
        let sources = sources_of_stops(stops, setup.product().friction(), panel_share(), 0)?;
        Ok(Self { spread, sources, overhang: Overhang::Pressed })
    }
}

/// Heat, product and pad of a planned step; `None` for a face that sticks, which rubs nothing.
///
/// # Errors
/// Limits at or below the air's temperature, air outside its ranges, a panel too large for the solver.
pub fn step_heat(task: &StepTask, plan: &StepPlan, with: &ThermalTask) -> Result<Option<StepHeat>, Error> {
    if plan.state.run.sticks || plan.state.friction_w <= 0.0 {
        return Ok(None);
    }
    let (setup, air) = (&task.setup, &with.workshop);
    crate::equipment::within("paint_c", with.paint_limit.c(), air.temperature.c() + 0.1, 200.0, "°C")?;
    let share = panel_share();
    let watts = plan.state.friction_w;
    let size = (task.panel.length(), task.panel.width());
    let plate = Plate::painted(with.substrate);
    let cooling = cooling_of(task, with)?;
    let Heating { spread, sources, overhang } = match &plan.work {
        Work::Patch(map) => Heating::along(setup, task.panel.patch(), &plan.state.run, &map.path, watts)?,
        Work::Surface(w) => Heating::of_stops(setup, &w.map.stops)?,
    };
    let origin_m = plan.work.surface().map_or((0.0, 0.0), |w| w.map.grid.origin);
    let spreads = [spread];
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
    let drops = match with.drops {
        Some(n) => n,
        None => drops_needed(with.film, section_area, section_time, &exposure)?.drops,
    };
    let film = ProductFilm::from_drops(with.film, drops, section_area)?;
    let passes = plan.passes.max(1);
    let each = Time::from_s(section_time.s() / passes as f64);
    let course = film.course(&vec![PassExposure { time: each, exposure }; passes])?;

    let rim = Speed::from_m_s(plan.state.orbit_speed_m_s);
    let disc = PadDisc::of(setup.pad(), air.temperature, rim)?;
    let bulk = BulkHeat::of(setup, plan.state.run.spin)?;
    // Fresh paint comes under the face for as long as the pad takes to pass: the mean of the half-space's
    // flux over that time is 2 e/√(π t) times the difference, e the effusivity of the film. The whole
    // friction power enters at the face and splits by what the pad can carry off.
    let pass_s = 2.0 * setup.pad().radius() / task.working.feed.m_s();
    let coefficient = 2.0 * Material::paint_film().thermal.effusivity() / (core::f64::consts::PI * pass_s).sqrt();
    let contact = PanelContact { coefficient, panel: Temperature::from_k(mean_k) };
    let pad = WorkingPad { disc, bulk, friction: Power::from_w(watts), contact };
    let hottest = |time: Time| -> Result<Temperature, Error> {
        let events = [PadEvent::Work { time, face: pad.friction, bulk, panel: Some(contact) }];
        Ok(pad_history(&disc, &events, None, &PadSettings::default())?.peak.core)
    };
    let core_after_section = hottest(section_time)?;
    let core_without_rest = hottest(Time::from_s(section_time.s() * count as f64))?;
    let product = Volume::from_ml(f64::from(drops) * with.film.drop.ml() * count as f64);
    let removal = plan.state.volume_rate_m3_s * section_time.s();
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
            work: Energy::from_j(watts * section_time.s()),
            time: section_time,
            nominal_removal: Volume::from_mm3(removal * 1e9),
            product: Volume::from_ml(f64::from(drops) * with.film.drop.ml()),
            solids_share: 1.0 - with.film.volatile_share,
        },
        limit: with.paint_limit,
        after_passes,
        pad,
        film,
        exposure,
        film_gone: course.gone,
    }))
}
