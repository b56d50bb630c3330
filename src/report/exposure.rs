//! The person's day in JSON and in words.

use crate::job::JobExposure;
use crate::plan::{
    ACTION_VALUE, LIMIT_VALUE, NOISE_ACTION_VALUES_DB, NOISE_LIMIT_DB, Unbalance, hand_arm_weighting, time_to_reach,
};
use crate::units::{Acceleration, Force, Time};
use core::f64::consts::PI;
use serde_json::{Value, json};

fn minutes(t: Time) -> String {
    let total = t.min();
    if total >= 1440.0 {
        "more than a day".to_owned()
    } else if total >= 60.0 {
        format!("{:.0} h {:02.0} min", (total / 60.0).floor(), (total % 60.0).floor())
    } else {
        format!("{total:.0} min")
    }
}

fn unbalance_json(u: &Unbalance, orbit_rate: f64) -> Value {
    json!({
        "orbit_force_n": u.orbit_force().n(),
        "off_centre_force_n": u.off_centre_force().n(),
        "off_centre_force_lifted_n": u.off_centre_force_lifted().n(),
        "weighting_at_orbit_rate": Some(hand_arm_weighting(orbit_rate / (2.0 * PI))).filter(|w| *w > 0.0),
    })
}

/// Puts the exposure into the result of `plan`: `totals.a8_m_s2` and what belongs to it.
///
/// `orbit_rates` are those of the steps \[rad/s\], in their order. Into `totals` go `a8_m_s2` with points and shares of
/// action and limit value, the band in use and the noise level; `exposure` gets tools and steps. What is not known is
/// null.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, job_exposure};
/// use trochoid::plan::plan_step;
/// use trochoid::report::{exposure_words, plan_json, put_exposure};
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let day = job_exposure(&job.steps[..1], &[&plan])?;
/// let mut answer = plan_json(&[], &[], None, plan.time_s, &[]);
/// put_exposure(&mut answer, &day, &[step.setup.tool().rate().rad_s()]);
/// // 4 m/s² for T: 2 a² = 32 points an hour.
/// let points = answer["totals"]["vibration_points"].as_f64().expect("the tool declares its value");
/// assert!((points - 32.0 * plan.time_s / 3600.0).abs() < 1e-9);
/// assert_eq!(exposure_words(&day)[0].0, "hands");
/// # Ok(())
/// # }
/// ```
pub fn put_exposure(json: &mut Value, e: &JobExposure, orbit_rates: &[f64]) {
    let dose = e.vibration.as_ref();
    let a8 = |d: &crate::plan::HandArmDose| d.daily.m_s2();
    let totals = &mut json["totals"];
    totals["a8_m_s2"] = json!(dose.map(a8));
    totals["vibration_points"] = json!(dose.map(|d| d.points));
    totals["vibration_action_share"] = json!(dose.map(crate::plan::HandArmDose::action_share));
    totals["vibration_limit_share"] = json!(dose.map(crate::plan::HandArmDose::limit_share));
    totals["a8_in_use_m_s2"] = json!(e.in_use.as_ref().map(|(low, high)| [a8(low), a8(high)]));
    totals["noise_lex8h_db"] = json!(e.noise_db);
    let seconds = |value: Acceleration, a: Option<Acceleration>| a.and_then(|a| time_to_reach(value, a)).map(Time::s);
    let tools: Vec<Value> = e
        .tools
        .iter()
        .enumerate()
        .map(|(i, t)| {
            json!({
                "tool": t.name,
                "time_s": t.time.s(),
                "vibration_m_s2": t.vibration.map(Acceleration::m_s2),
                "partial_a8_m_s2": dose.and_then(|d| d.partial.get(i)).map(|a| a.m_s2()),
                "time_to_action_s": seconds(ACTION_VALUE, t.vibration),
                "time_to_limit_s": seconds(LIMIT_VALUE, t.vibration),
                "noise_db": t.noise_db,
            })
        })
        .collect();
    let steps: Vec<Value> = e
        .steps
        .iter()
        .zip(orbit_rates)
        .map(|(s, rate)| {
            json!({
                "step": s.step,
                "push_n": s.arm.map(|a| a.push.n()),
                "carry_n": s.arm.map(|a| a.carry.n()),
                "arm_load_n": s.arm.map(|a| a.load.n()),
                "arm_load_n_min": s.arm.map(|a| a.newton_minutes),
                "unbalance": unbalance_json(&s.unbalance, *rate),
            })
        })
        .collect();
    json["exposure"] = json!({ "tools": tools, "steps": steps });
}

/// The day in lines of text: what it is about, and what is to be said.
///
/// Says A(8) against action and limit value, the time of each tool to reach them, noise, arms and shaking; or why
/// there is no A(8). See the example of [`put_exposure`].
#[must_use]
pub fn exposure_words(e: &JobExposure) -> Vec<(&'static str, String)> {
    let mut out = Vec::new();
    if let Some(d) = &e.vibration {
        out.push((
            "hands",
            format!(
                "A(8) {:.2} m/s² at the values given: {:.0} % of the action value of {}, {:.0} % of the limit of {}; {:.0} points",
                d.daily.m_s2(),
                100.0 * d.action_share(),
                ACTION_VALUE.m_s2(),
                100.0 * d.limit_share(),
                LIMIT_VALUE.m_s2(),
                d.points
            ),
        ));
        for t in &e.tools {
            let Some(a) = t.vibration else { continue };
            let reach = |value| time_to_reach(value, a).map_or_else(|| "never".to_owned(), minutes);
            out.push((
                "",
                format!(
                    "`{}` at {} m/s² for {}: action value after {}, limit after {}",
                    t.name,
                    a.m_s2(),
                    minutes(t.time),
                    reach(ACTION_VALUE),
                    reach(LIMIT_VALUE)
                ),
            ));
        }
        if let Some((low, high)) = &e.in_use {
            out.push((
                "",
                format!(
                    "declared values mostly read low: at the 7 to 10 m/s² found in use A(8) is {:.2} to {:.2} m/s²",
                    low.daily.m_s2(),
                    high.daily.m_s2()
                ),
            ));
        }
    } else {
        let without: Vec<String> =
            e.tools.iter().filter(|t| t.vibration.is_none()).map(|t| format!("`{}`", t.name)).collect();
        let why = if without.is_empty() {
            "the steps do not fit into a day".to_owned()
        } else {
            format!("no vibration value of {}", without.join(", "))
        };
        out.push(("hands", format!("no A(8): {why}")));
    }
    if let Some(level) = e.noise_db {
        let (low, high) = NOISE_ACTION_VALUES_DB;
        out.push((
            "ears",
            format!("daily noise {level:.1} dB(A); action asked for from {low} and {high}, at most {NOISE_LIMIT_DB} under protection"),
        ));
    }
    for s in &e.steps {
        if let Some(a) = s.arm {
            out.push((
                "arms",
                format!(
                    "`{}`: push {:.0} N, carry {:.0} N, together {:.0} N; {:.0} N·min",
                    s.step,
                    a.push.n(),
                    a.carry.n(),
                    a.load.n(),
                    a.newton_minutes
                ),
            ));
        }
        let (on, lifted) = (s.unbalance.off_centre_force(), s.unbalance.off_centre_force_lifted());
        if lifted.n() > 0.0 {
            out.push((
                "shaking",
                format!(
                    "`{}`: the pad off its middle pulls with {:.1} N, lifted while running with up to {:.0} N: centre it",
                    s.step,
                    on.n(),
                    Force::n(lifted)
                ),
            ));
        }
    }
    out
}
