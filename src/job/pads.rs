//! Heat of every step of a job, and the pads that it takes in rotation.

use super::model::{Job, Step};
use crate::Error;
use crate::equipment::Substrate;
use crate::error::RangeError;
use crate::plan::{Limit, StepHeat, StepPlan, StepTask, ThermalTask, Workshop, step_heat};
use crate::units::{Area, Temperature, Time, Volume};
use crate::wear::{
    CLEAN_BELOW, HeatMode, MOST_PADS, PadHeating, PadKind, PadWarmth, Rotation, RotationJob, RotationOutcome,
    clean_interval, rotate, run_rotation,
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
    /// Step of each section, by its place among the steps.
    pub step_of: Vec<usize>,
    /// How many pads suffice, or what binds.
    pub outcome: RotationOutcome,
}

/// What the heat of a step needs to know beside its plan. The paint may come to what `[limits]` says, else to
/// 60 °C, on plastic to 50 °C (common practice, no source: below 60 °C, plastics lower).
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, thermal_task};
/// let job = Job::parse("starter.toml", STARTER)?;
/// let on_steel = thermal_task(&job, &job.steps[0]);
/// assert!((on_steel.paint_limit.c() - 60.0).abs() < 1e-9 && (on_steel.workshop.temperature.c() - 20.0).abs() < 1e-9);
/// let plastic = STARTER.replace("substrate = \"steel\"", "substrate = \"plastic\"");
/// let job = Job::parse("starter.toml", &plastic)?;
/// assert!((thermal_task(&job, &job.steps[0]).paint_limit.c() - 50.0).abs() < 1e-9);
/// # Ok::<(), trochoid::job::Problem>(())
/// ```
#[must_use]
pub fn thermal_task(job: &Job, step: &Step) -> ThermalTask {
    let substrate = step.paint.substrate();
    let usual = if substrate == Substrate::Plastic { PAINT_C.1 } else { PAINT_C.0 };
    ThermalTask {
        workshop: Workshop {
            temperature: job.ambient.temperature,
            relative_humidity: job.ambient.relative_humidity,
            air_speed: job.ambient.air_speed,
        },
        substrate,
        incline: step.panel.incline(),
        paint_limit: job.limits.paint.unwrap_or(Temperature::from_c(usual)),
        film: step.film,
        drops: step.drops,
    }
}

/// The pads of a step with its product, before their heating is known.
pub(super) fn pad_kind(step: &Step) -> PadKind {
    let name = format!("{} with {}", step.pad_name, step.product_name);
    let mut kind = PadKind::new(name, Area::from_m2(step.setup.pad().face_area()));
    kind.limits.core = step.core_limit;
    kind
}

/// Heat of every step, with the limits of paint and pad among those of its plan; `None` for a face that
/// sticks. `tasks` and `plans` stand in the order of `steps`.
///
/// ```text
/// margin of a temperature = (T_limit − T)/(T_limit − T_air) [1]      T [°C]
/// margin of the working time = (t_film − t_section)/t_film [1]       t [s], only where `drops` are given
/// ```
///
/// # Errors
/// As [`step_heat`]; a `core_limit_c` that is not 0.1 K above the air.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, step_heats};
/// use trochoid::plan::plan_step;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let (steps, task) = (&job.steps[..1], job.steps[0].task(job.map.cell, (0.5, 2.0)));
/// let mut plans = [plan_step(&task, &AtHand::default(), &StallSettings::default())?];
/// let heats = step_heats(&job, steps, &[task], &mut plans)?;
/// let peak = heats[0].as_ref().expect("the face slides").peak.surface.c();
/// // Steel in air of 20 °C, limit 60 °C: 40 K may be used.
/// let limit = plans[0].limits.iter().find(|l| l.name == "paint_temperature").expect("it was put in");
/// assert!((limit.margin - (60.0 - peak) / 40.0).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
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

/// Heat of one step, with the limits of paint and pad among those of its plan.
pub(super) fn heat_of(job: &Job, step: &Step, task: &StepTask, plan: &mut StepPlan) -> Result<Option<StepHeat>, Error> {
    let with = thermal_task(job, step);
    let air = with.workshop.temperature.c();
    crate::equipment::within("core_limit_c", step.core_limit.c(), air + 0.1, 150.0, "°C")?;
    let heat = step_heat(task, plan, &with)?;
    if let Some(h) = &heat {
        let mut push = |name, value: f64, limit: f64| {
            // Margins are shares of the rise that may be: degrees have no zero of their own.
            plan.limits.push(Limit { name, value, limit, margin: (limit - value) / (limit - air), unit: "°C" });
        };
        push("paint_temperature", h.peak.surface.c(), with.paint_limit.c());
        push("pad_core_temperature", h.core_after_section.c(), step.core_limit.c());
        // Drops that are not given are as many as the time asks for, so that only given ones can be too few.
        if let Some(lasts) = h.working_time.filter(|_| step.drops.is_some()) {
            let (value, limit) = (h.section_time.s(), lasts.s());
            plan.limits.push(Limit { name: "working_time", value, limit, margin: (limit - value) / limit, unit: "s" });
        }
        plan.limits.sort_by(|a, b| a.margin.total_cmp(&b.margin));
    }
    Ok(heat)
}

/// The usual heating of a pad with its two modes weighted so that its core warms as the pad's own heat
/// conduction says, in one section and in all of the step's without a rest. Where no two positive weights
/// do that, the one mode that is left meets the one of the two and lies above the other.
fn heating_of(h: &StepHeat, air: Temperature) -> PadHeating {
    let usual = PadHeating::default();
    let rises = [h.core_after_section, h.core_without_rest].map(|core| core.k() - air.k());
    if rises[0] <= 0.0 || h.work.work.j() <= 0.0 {
        return usual;
    }
    if h.sections < 2 {
        return usual.scaled(rises[0] / usual.peak_k(PadWarmth::default(), h.work.power(), h.section_time));
    }
    let times = [h.section_time.s(), h.section_time.s() * h.sections as f64];
    let rise = |m: HeatMode, t: f64| m.rise_k_per_w * h.work.power().w() * -(-t / m.working.s()).exp_m1();
    let [fast, slow] = [usual.fast, usual.slow].map(|m| times.map(|t| rise(m, t)));
    let determinant = fast[0] * slow[1] - slow[0] * fast[1];
    let of_fast = (rises[0] * slow[1] - slow[0] * rises[1]) / determinant;
    let of_slow = (fast[0] * rises[1] - fast[1] * rises[0]) / determinant;
    let alone = |mode: [f64; 2]| (rises[0] / mode[0]).max(rises[1] / mode[1]);
    let (of_fast, of_slow) = match (of_fast > 0.0, of_slow > 0.0) {
        (true, true) => (of_fast, of_slow),
        (true, false) => (alone(fast), 0.0),
        _ => (0.0, alone(slow)),
    };
    let weighted = |m: HeatMode, w: f64| HeatMode { rise_k_per_w: w * m.rise_k_per_w, ..m };
    PadHeating { fast: weighted(usual.fast, of_fast), slow: weighted(usual.slow, of_slow) }
}

/// The pads that a job takes, each kind cleaned in turn; `None` where no step rubs.
///
/// A pad stays with one product, so each pair of pad and product is a kind of its own. It is cleaned after the
/// step's `clean_every` sections, else before its cut would fall too far ([`clean_interval`]). Between two sections
/// lie 20 s of wiping and looking (assumed). Up to [`MOST_PADS`] of a kind are tried.
///
/// # Errors
/// Sections outside the ranges of the wear models.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, pads_in_rotation, step_heats};
/// use trochoid::plan::plan_step;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let tasks: Vec<_> = job.steps.iter().map(|s| s.task(job.map.cell, (0.5, 2.0))).collect();
/// let plan = |t| plan_step(t, &AtHand::default(), &StallSettings::default());
/// let mut plans = tasks.iter().map(plan).collect::<Result<Vec<_>, _>>()?;
/// let heats = step_heats(&job, &job.steps, &tasks, &mut plans)?;
/// let pads = pads_in_rotation(&job, &job.steps, &heats)?.expect("both steps rub");
/// // One section a step, each with its own pad and product: one pad of each of two kinds.
/// assert_eq!(pads.step_of, [0, 1]);
/// assert_eq!((pads.counts(), pads.count_of("cutting")), (&[1, 1][..], Some(1)));
/// # Ok(())
/// # }
/// ```
pub fn pads_in_rotation(
    job: &Job,
    steps: &[Step],
    heats: &[Option<StepHeat>],
) -> Result<Option<PadsInRotation>, Error> {
    let Some((kinds, job, step_of)) = rotation_job(job, steps, heats)? else { return Ok(None) };
    let outcome = rotate(&job, MOST_PADS)?;
    Ok(Some(PadsInRotation { kinds, job, step_of, outcome }))
}

/// Pad and product of each kind, the sections that they work, and the place of the step of each section.
pub(super) type NamedRotation = (Vec<(String, String)>, RotationJob, Vec<usize>);

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
    let mut step_of = Vec::new();
    for (place, (step, heat)) in steps.iter().zip(heats).enumerate() {
        let Some(h) = heat else { continue };
        let key = (step.pad_name.clone(), step.product_name.clone());
        let at = match names.iter().position(|n| *n == key) {
            Some(at) => at,
            None => {
                let mut kind = pad_kind(step);
                kind.heating = heating_of(h, job.ambient.temperature);
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
            step_of.push(place);
        }
    }
    if kinds.is_empty() {
        return Ok(None);
    }
    let rotation =
        RotationJob { kinds, sections, air: job.ambient.temperature, changeover: Time::from_s(CHANGEOVER_S) };
    Ok(Some((names, rotation, step_of)))
}

impl PadsInRotation {
    /// Pads of each kind: those that suffice, or those with which the search ended.
    #[must_use]
    pub fn counts(&self) -> &[usize] {
        match &self.outcome {
            RotationOutcome::Enough(found) => &found.pads,
            RotationOutcome::Short(short) => &short.pads,
        }
    }

    /// The job worked with the pads that suffice; where none do, on past the limits with those with which
    /// the search ended.
    ///
    /// # Errors
    /// As [`run_rotation`].
    pub fn worked(&self) -> Result<Rotation, RangeError> {
        match &self.outcome {
            RotationOutcome::Enough(found) => Ok(found.clone()),
            RotationOutcome::Short(short) => run_rotation(&self.job, &short.pads),
        }
    }

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
