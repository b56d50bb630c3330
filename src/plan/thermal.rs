//! Heat, product and pad of a planned step: how hot the paint gets along the real path, how long the
//! product stays workable, how warm the pad's core gets while it works a section.
//!
//! The friction power of the step's state is split between paint and pad by effusivity. The panel is
//! heated along the path as planned; the product dries at the panel's mean temperature over the work.
//! Temperature does not act back on cut or friction here.

use super::step::{StepPlan, StepTask, Work};
use crate::Error;
use crate::equipment::Substrate;
use crate::heat::{
    BulkHeat, Cooling, HotSpot, Material, Overhang, PadDisc, PadEvent, PadSettings, PanelContact, PanelHeat,
    PanelHeatSettings, PanelJob, Plate, Side, Spread, effusivity_share, heat_panel, pad_history, rest_before_next,
    sources_along, sources_of_stops,
};
use crate::motion::Section;
use crate::removal::Footprint;
use crate::units::{Angle, Area, Energy, Length, Power, Speed, Temperature, Time, Volume};
use crate::wear::{Exposure, FilmProduct, MoistAir, PassExposure, ProductFilm, SectionWork, drops_needed};

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
    let share = effusivity_share(&Material::paint_film().thermal, &Material::foam().thermal);
    let watts = plan.state.friction_w;
    let size = (task.panel.length(), task.panel.width());
    let plate = Plate::painted(with.substrate);
    // The taller side faces the rising air.
    let cooling = Cooling::of_panel(air.temperature, air.air_speed, (size.1, size.0), with.incline, Side::Free, 20.0)?;
    let rate = setup.tool().rate().rad_s();
    let (spread, sources, overhang) = match &plan.work {
        Work::Patch(map) => {
            let footprint = Footprint::new(&plan.state.run.contact, task.panel.patch(), rate, plan.state.run.spin);
            let sources = sources_along(&map.path, Power::from_w(share * watts), Length::from_mm(5.0), 0)?;
            (Spread::of_footprint(&footprint)?, sources, Overhang::Lost)
        }
        Work::Surface(w) => {
            let orbit = Length::from_m(setup.face_orbit().radius_m);
            let spread = Spread::orbiting_disc(Length::from_m(setup.pad().radius()), orbit)?;
            let sources = sources_of_stops(&w.map.stops, setup.product().friction(), share, 0)?;
            (spread, sources, Overhang::Pressed)
        }
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
    let panel = heat_panel(&job, &settings)?;
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
    let panel_contact = Some(PanelContact { coefficient, panel: Temperature::from_k(mean_k) });
    let hottest = |time: Time| -> Result<Temperature, Error> {
        let events = [PadEvent::Work { time, face: Power::from_w(watts), bulk, panel: panel_contact }];
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
    }))
}
