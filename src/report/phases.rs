//! Phases and couplings of a planned step, in words and as JSON: the same numbers for the printed text, the
//! printable report and machines.

use super::json::rpm;
use super::wording::{fixed, limit_words, pass_word, percent};
use crate::plan::{CouplingResult, Limit, PhasePlan, StepPlan};
use serde_json::{Value, json};

/// The name of a limit in words, with the phase it comes from.
///
/// As [`limit_words`](super::limit_words) has it where the step has no phases; see the
/// example of [`limit_words`](super::limit_words).
#[must_use]
pub fn limit_name_words(plan: &StepPlan, l: &Limit) -> String {
    let name = limit_words(l).0;
    plan.phase_of(l).map_or_else(|| name.clone(), |p| format!("{name} in phase \"{}\"", p.name))
}

/// A phase in words: settings, how the pad turns, cut and time.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::plan_step;
/// use trochoid::report::phase_words;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let phases = "[[step.phase]]\nname = \"spread\"\npasses = 1\nforce_n = 20.0\n\
///               [[step.phase]]\nname = \"work\"\npasses = 2\n";
/// let job = Job::parse("phases.toml", &format!("{STARTER}\n{phases}"))?;
/// let task = job.steps[1].task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// // What the phase leaves out is the step's: mark 3 is 3400 orbits a minute, the feed 30 mm/s.
/// let words = phase_words(&plan.phases[0]).replace('\u{a0}', " ");
/// assert!(words.starts_with("1 pass at 3400 orbits/min, 20 N, 30 mm/s: turns at"));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn phase_words(p: &PhasePlan) -> String {
    let passes = p.passes.len();
    let plural = pass_word(passes);
    let rate = p.setup.tool().rate().opm();
    let rate = if rate > 0.0 { format!("{}\u{a0}orbits/min, ", fixed(rate, 0)) } else { String::new() };
    let run = &p.state.run;
    let spin = if run.sticks {
        "THE FACE STICKS".to_owned()
    } else {
        let word = if p.state.stalled { "STALLS at" } else { "turns at" };
        format!("{word} {}\u{a0}rpm", fixed(rpm(run.spin), 0))
    };
    let cut = p.cut_m.map_or_else(
        || format!("{}\u{a0}µm a pass", fixed(1e6 * p.state.cut_per_pass_m, 3)),
        |c| format!("cut {}\u{a0}µm", fixed(1e6 * c, 2)),
    );
    format!(
        "{passes} {plural} at {rate}{}\u{a0}N, {}\u{a0}mm/s: {spin}, {cut}, {}\u{a0}s",
        fixed(p.setup.force().n(), 0),
        fixed(1e3 * p.working.feed.m_s(), 0),
        fixed(p.time_s, 0)
    )
}

/// What the couplings of a step come to, one line for each, then all together.
///
/// What each does to the cut alone \[%\], with the law called assumed, then cut and spin together; a fixed point that
/// was not reached is said. A plan with couplings comes from [`plan_job_step`](crate::job::plan_job_step).
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, plan_job_step};
/// use trochoid::report::coupling_words;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("warm.toml", &format!("{STARTER}\n[coupling]\ntemperature = true\n"))?;
/// let task = job.steps[0].task(job.map.cell, (0.5, 2.0));
/// let (_, plan) = plan_job_step(&job, &job.steps[0], &task, &AtHand::default(), &StallSettings::default())?;
/// let words = coupling_words(plan.coupling.as_ref().expect("one is on"));
/// // Warm paint is cut faster; one coupling and all together are the same.
/// assert!(words[0].starts_with("temperature alone: cut +") && words[1].starts_with("together: cut +"));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn coupling_words(c: &CouplingResult) -> Vec<String> {
    let change = |ratio: f64| {
        let change = 100.0 * (ratio - 1.0);
        format!("cut {}{}\u{a0}%", if change < 0.0 { "" } else { "+" }, fixed(change, 1))
    };
    let mut out = Vec::new();
    for (which, ratio) in &c.cut_alone {
        let how = match which {
            crate::plan::Coupling::Temperature => {
                format!("paint under the pad at {}\u{a0}°C on average", fixed(c.paint.c(), 0))
            }
            crate::plan::Coupling::Loading => match c.every {
                Some(1) => "pad cleaned every section".to_owned(),
                Some(n) => format!("pad cleaned every {n} sections"),
                None => "pad as it is cleaned".to_owned(),
            },
            crate::plan::Coupling::Drying => {
                let most = c.drying.iter().flatten().copied().fold(1.0, f64::max);
                format!("friction up to {} higher", percent(most - 1.0))
            }
        };
        out.push(format!("{} alone: {} ({how}; assumed law)", which.name(), change(*ratio)));
    }
    let spin = format!("spin {} to {}\u{a0}rpm", fixed(rpm(c.spin.0), 0), fixed(rpm(c.spin.1), 0));
    out.push(format!("together: {}, {spin}", change(c.cut_together)));
    if !c.converged {
        out.push(format!(
            "NOT CONVERGED: after {} rounds the factors still change by {:.1e} where {:.0e} was asked for",
            c.rounds, c.residual, c.tolerance
        ));
    }
    out
}

/// The phases of a step; empty for a step without.
#[must_use]
pub(crate) fn phases_json(plan: &StepPlan) -> Value {
    let one = |p: &PhasePlan| {
        let rate = p.setup.tool().rate().opm();
        json!({
            "name": p.name,
            "passes": p.passes.len(),
            "orbit_rate_opm": (rate > 0.0).then_some(rate),
            "force_n": p.setup.force().n(),
            "feed_mm_s": 1e3 * p.working.feed.m_s(),
            "time_s": p.time_s,
            "spin_rpm": rpm(p.state.run.spin),
            "stalled": p.state.stalled,
            "sticks": p.state.run.sticks,
            "stall_number": p.state.limits.stall_number(),
            "cut_um_mean": p.cut_m.map(|c| c * 1e6),
            "volume_mm3": p.volume_m3 * 1e9,
            "friction_w": p.state.friction_w,
        })
    };
    Value::Array(plan.phases.iter().map(one).collect())
}

/// The couplings of a step; null where none is on.
#[must_use]
pub(crate) fn coupling_json(c: Option<&CouplingResult>) -> Value {
    let Some(c) = c else { return Value::Null };
    let alone = |name: &str| c.cut_alone.iter().find(|a| a.0.name() == name).map(|a| a.1);
    json!({
        "cut_factor_temperature": c.temperature,
        "cut_factor_loading": c.loading,
        "friction_factor_by_phase": c.drying,
        "worked_paint_c": c.paint.c(),
        "sections_between_cleanings": c.every,
        "cut_ratio": {
            "temperature": alone("temperature"),
            "loading": alone("loading"),
            "drying": alone("drying"),
            "together": c.cut_together,
        },
        "spin_rpm_without": rpm(c.spin.0),
        "spin_rpm_with": rpm(c.spin.1),
        "residual": c.residual,
        "tolerance": c.tolerance,
        "rounds": c.rounds,
        "converged": c.converged,
    })
}
