//! Heat of every step of a job, and the pads that it takes in rotation.

use super::model::{Job, Step};
use crate::Error;
use crate::equipment::Substrate;
use crate::plan::{Limit, StepHeat, StepPlan, StepTask, ThermalTask, Workshop, step_heat};
use crate::units::{Area, Temperature, Time, Volume};
use crate::wear::{
    CLEAN_BELOW, MOST_PADS, PadHeating, PadKind, PadWarmth, RotationJob, RotationOutcome, clean_interval, rotate,
};

/// Highest temperature of paint on metal and composite where none is given, °C; on plastic, which gives
/// way sooner, less. Common practice, no source: below 60 °C, plastics lower.
pub(super) const PAINT_C: (f64, f64) = (60.0, 50.0);
/// Time between two sections: wiping, looking, moving on (assumed), s.
const CHANGEOVER_S: f64 = 20.0;

/// The pads of a job in rotation.
#[derive(Debug, Clone)]
pub struct PadsInRotation {
    /// Pad and product of each kind: a pad stays with one product.
    pub kinds: Vec<(String, String)>,
    /// The job as the rotation takes it.
    pub job: RotationJob,
    /// How many pads suffice, or what binds.
    pub outcome: RotationOutcome,
}

/// Heat of every step, with the limits of paint and pad among those of its plan; `None` for a face that
/// sticks.
///
/// # Errors
/// As [`step_heat`].
pub fn step_heats(
    job: &Job,
    steps: &[Step],
    tasks: &[StepTask],
    plans: &mut [StepPlan],
) -> Result<Vec<Option<StepHeat>>, Error> {
    let mut out = Vec::with_capacity(steps.len());
    for ((step, task), plan) in steps.iter().zip(tasks).zip(plans) {
        out.push(heat_of(job, step, task, plan)?);
    }
    Ok(out)
}

/// Highest temperature of a step's paint.
pub(super) fn paint_limit(job: &Job, step: &Step) -> Temperature {
    let usual = if step.paint.substrate() == Substrate::Plastic { PAINT_C.1 } else { PAINT_C.0 };
    job.limits.paint.unwrap_or(Temperature::from_c(usual))
}

/// Heat of one step, with the limits of paint and pad among those of its plan.
pub(super) fn heat_of(job: &Job, step: &Step, task: &StepTask, plan: &mut StepPlan) -> Result<Option<StepHeat>, Error> {
    let workshop = Workshop {
        temperature: job.ambient.temperature,
        relative_humidity: job.ambient.relative_humidity,
        air_speed: job.ambient.air_speed,
    };
    let with = ThermalTask {
        workshop,
        substrate: step.paint.substrate(),
        incline: step.panel.incline(),
        paint_limit: paint_limit(job, step),
        film: step.film,
        drops: step.drops,
    };
    let heat = step_heat(task, plan, &with)?;
    if let Some(h) = &heat {
        let air = workshop.temperature.c();
        let mut push = |name, value: f64, limit: f64| {
            // Margins are shares of the rise that may be: degrees have no zero of their own.
            plan.limits.push(Limit { name, value, limit, margin: (limit - value) / (limit - air), unit: "°C" });
        };
        push("paint_temperature", h.peak.surface.c(), with.paint_limit.c());
        if step.core_limit.c() > air {
            push("pad_core_temperature", h.core_after_section.c(), step.core_limit.c());
        }
        plan.limits.sort_by(|a, b| a.margin.total_cmp(&b.margin));
    }
    Ok(heat)
}

/// The pads that a job takes, each kind cleaned in turn; `None` where no step rubs.
///
/// # Errors
/// Sections outside the ranges of the wear models.
pub fn pads_in_rotation(
    job: &Job,
    steps: &[Step],
    heats: &[Option<StepHeat>],
) -> Result<Option<PadsInRotation>, Error> {
    let Some((kinds, job)) = rotation_job(job, steps, heats)? else { return Ok(None) };
    let outcome = rotate(&job, MOST_PADS)?;
    Ok(Some(PadsInRotation { kinds, job, outcome }))
}

/// Pad and product of each kind, and the sections that they work.
pub(super) type NamedRotation = (Vec<(String, String)>, RotationJob);

/// The kinds of pad of a job with the names of pad and product, and all its sections in order; `None`
/// where no step rubs.
pub(super) fn rotation_job(
    job: &Job,
    steps: &[Step],
    heats: &[Option<StepHeat>],
) -> Result<Option<NamedRotation>, Error> {
    let mut names: Vec<(String, String)> = Vec::new();
    let mut kinds: Vec<PadKind> = Vec::new();
    let mut sections = Vec::new();
    for (step, heat) in steps.iter().zip(heats) {
        let Some(h) = heat else { continue };
        let key = (step.pad_name.clone(), step.product_name.clone());
        let at = match names.iter().position(|n| *n == key) {
            Some(at) => at,
            None => {
                let mut kind = PadKind::new(
                    format!("{} with {}", step.pad_name, step.product_name),
                    Area::from_m2(step.setup.pad().face_area()),
                );
                // The usual heating, scaled so that one section warms the core as the pad's own heat
                // conduction says.
                let usual = PadHeating::default();
                let rise = h.core_after_section.k() - job.ambient.temperature.k();
                let expected = usual.peak_k(PadWarmth::default(), h.work.power(), h.section_time);
                if rise > 0.0 && expected > 0.0 {
                    kind.heating = usual.scaled(rise / expected);
                }
                kind.limits.core = step.core_limit;
                kind.policy.turn = match step.clean_every {
                    Some(n) => n,
                    None => clean_interval(&kind, &h.work, CLEAN_BELOW)?.max(1),
                };
                kinds.push(kind);
                names.push(key);
                kinds.len() - 1
            }
        };
        for _ in 0..h.sections {
            let mut work = h.work;
            work.kind = at;
            sections.push(work);
        }
    }
    if kinds.is_empty() {
        return Ok(None);
    }
    let rotation =
        RotationJob { kinds, sections, air: job.ambient.temperature, changeover: Time::from_s(CHANGEOVER_S) };
    Ok(Some((names, rotation)))
}

impl PadsInRotation {
    /// How many pads of a name the job takes, over all products; `None` where no number suffices or the
    /// pad is not used.
    #[must_use]
    pub fn count_of(&self, pad: &str) -> Option<usize> {
        let RotationOutcome::Enough(found) = &self.outcome else { return None };
        let own = self.kinds.iter().zip(&found.pads).filter(|(k, _)| k.0 == pad);
        Some(own.map(|(_, n)| n).sum()).filter(|n| *n > 0)
    }

    /// Hottest core that the pads of a step come to; `None` where no number of pads suffices.
    #[must_use]
    pub fn hottest_core(&self, step: &Step) -> Option<Temperature> {
        let RotationOutcome::Enough(found) = &self.outcome else { return None };
        let kind = self.kinds.iter().position(|k| k.0 == step.pad_name && k.1 == step.product_name)?;
        let own = found.sections.iter().filter(|s| s.kind == kind).map(|s| s.peak_core.k());
        own.max_by(f64::total_cmp).map(Temperature::from_k)
    }

    /// Product of the whole job, priming included; `None` where no number of pads suffices.
    #[must_use]
    pub fn product(&self) -> Option<Volume> {
        match &self.outcome {
            RotationOutcome::Enough(found) => Some(found.product),
            RotationOutcome::Short(_) => None,
        }
    }
}
