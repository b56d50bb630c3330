//! What the planned steps do to the person who works them, with the machines of the job.

use super::model::Step;
use crate::error::RangeError;
use crate::plan::{
    ArmLoad, HandArmDose, IN_USE_RANDOM_ORBIT, LONGEST_DAY, NoiseTask, StepPlan, Unbalance, VibrationTask,
    daily_noise_level, hand_arm_dose,
};
use crate::units::{Acceleration, AngularRate, Time};

/// A tool over the whole job.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolExposure {
    /// Name.
    pub name: String,
    /// Vibration total value, as the job gives it.
    pub vibration: Option<Acceleration>,
    /// Sound level at the ear \[dB(A)\], as the job gives it.
    pub noise_db: Option<f64>,
    /// Time with the pad on.
    pub time: Time,
    /// Whether its pad orbits.
    pub orbits: bool,
}

/// A step for the person who works it.
#[derive(Debug, Clone, PartialEq)]
pub struct StepExposure {
    /// Name.
    pub step: String,
    /// Load on the arms, where the tool's mass is known.
    pub arm: Option<ArmLoad>,
    /// What the pad shakes the machine with.
    pub unbalance: Unbalance,
}

/// The exposure of one person who works every step of a job on one day.
#[derive(Debug, Clone, PartialEq)]
pub struct JobExposure {
    /// Tools in the order in which they are first used.
    pub tools: Vec<ToolExposure>,
    /// Steps in order.
    pub steps: Vec<StepExposure>,
    /// Dose at the values given; `None` where a tool has none or the steps do not fit into a day.
    pub vibration: Option<HandArmDose>,
    /// A(8) at the ends of the band that random-orbit machines were found at in use, for the same times;
    /// `None` where a pad does not orbit or the steps do not fit into a day.
    pub in_use: Option<(HandArmDose, HandArmDose)>,
    /// Daily noise exposure level of the tools' own times, dB(A); `None` where a tool has no level.
    pub noise_db: Option<f64>,
}

/// Adds up what the steps do to one person.
///
/// The time of a tool is that of its steps with the pad on. The daily vibration is that of
/// [`hand_arm_dose`], the noise that of [`daily_noise_level`]; both stay open where the steps take longer than a day
/// or a tool tells no value. A limit is advice with its uncertainty: declared values tend to lie below those in use.
///
/// # Errors
/// A value outside the ranges of the doses.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, job_exposure};
/// use trochoid::plan::plan_step;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let plan = |i: usize| {
///     plan_step(&job.steps[i].task(job.map.cell, (0.5, 2.0)), &AtHand::default(), &StallSettings::default())
/// };
/// let (cut, refine) = (plan(0)?, plan(1)?);
/// let day = job_exposure(&job.steps, &[&cut, &refine])?;
/// // One tool of 4 m/s²: A(8) = 4 √(T/8 h).
/// let hours = (cut.time_s + refine.time_s) / 3600.0;
/// let dose = day.vibration.expect("the tool declares its value");
/// assert!((dose.daily.m_s2() - 4.0 * (hours / 8.0).sqrt()).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
pub fn job_exposure(steps: &[Step], plans: &[&StepPlan]) -> Result<JobExposure, RangeError> {
    let mut tools: Vec<ToolExposure> = Vec::new();
    let mut of_steps = Vec::with_capacity(steps.len());
    for (step, plan) in steps.iter().zip(plans) {
        let tool = step.setup.tool();
        match tools.iter_mut().find(|t| t.name == step.tool_name) {
            Some(t) => t.time = Time::from_s(t.time.s() + plan.time_s),
            None => tools.push(ToolExposure {
                name: step.tool_name.clone(),
                vibration: tool.vibration(),
                noise_db: tool.noise_db(),
                time: Time::from_s(plan.time_s),
                orbits: tool.rate().rad_s() > 0.0,
            }),
        }
        let arm = |mass| ArmLoad::new(step.setup.force(), mass, step.panel.incline(), Time::from_s(plan.time_s));
        of_steps.push(StepExposure {
            step: step.name.clone(),
            arm: tool.mass().map(arm).transpose()?,
            unbalance: Unbalance::of(&step.setup, AngularRate::from_rad_s(plan.state.run.spin)),
        });
    }
    let fits = tools.iter().map(|t| t.time.s()).sum::<f64>() <= LONGEST_DAY.s();
    let dose = |value: &dyn Fn(&ToolExposure) -> Option<Acceleration>| -> Result<Option<HandArmDose>, RangeError> {
        let tasks = tools.iter().map(|t| value(t).map(|a| VibrationTask::new(a, t.time)));
        match tasks.collect::<Option<Result<Vec<_>, _>>>() {
            Some(tasks) if fits => hand_arm_dose(&tasks?).map(Some),
            _ => Ok(None),
        }
    };
    let band = |a: Acceleration| dose(&|t: &ToolExposure| t.orbits.then_some(a));
    let (vibration, low, high) =
        (dose(&|t: &ToolExposure| t.vibration)?, band(IN_USE_RANDOM_ORBIT.0)?, band(IN_USE_RANDOM_ORBIT.1)?);
    let levels: Option<Vec<(f64, Time)>> = tools.iter().map(|t| t.noise_db.map(|l| (l, t.time))).collect();
    let noise_db = match levels {
        Some(levels) if fits => {
            let tasks: Result<Vec<_>, _> = levels.into_iter().map(|(l, t)| NoiseTask::new(l, t)).collect();
            daily_noise_level(&tasks?)?
        }
        _ => None,
    };
    Ok(JobExposure { tools, steps: of_steps, vibration, in_use: low.zip(high), noise_db })
}
