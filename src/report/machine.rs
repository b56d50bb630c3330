//! The machine itself in JSON and in words.

use crate::job::{MachineSettings, Step};
use crate::plan::machine::{
    BalanceState, LARGEST_LOAD_SHARE, LEAST_LOAD_SHARE, MachineState, MachineWork, MotorLoad, RatingLife, Residual,
    Supply, SupplyDraw,
};
use crate::units::{Energy, MassMoment, Power, Speed, Time, Torque, Volume};
use serde_json::{Value, json};

/// One tool with the steps that it does.
#[derive(Debug, Clone)]
pub struct MachineAnswer<'a> {
    /// Name of the tool.
    pub tool: &'a str,
    /// What the job tells of its machine.
    pub settings: &'a MachineSettings,
    /// Its steps and the machine in each.
    pub steps: Vec<(&'a Step, &'a MachineState)>,
    /// The work on one vehicle; `None` where its time is not known.
    pub work: Option<MachineWork>,
}

fn gmm(kgm: f64) -> f64 {
    MassMoment::from_kgm(kgm).gmm()
}

/// A number that is told only where it is finite.
fn finite(x: f64) -> Option<f64> {
    Some(x).filter(|x| x.is_finite())
}

fn residual_json(r: &Residual) -> Value {
    json!({
        "pad_mass_kg": r.pad_kg,
        "residual_gmm": gmm(r.sum.static_kgm()),
        "residual_couple_gmm2": gmm(r.sum.couple_size_kgm2()) * 1e3,
        "force_n": r.force.n(),
        "couple_nm": r.couple.nm(),
        "in_bearing_planes_gmm": r.in_bearings_kgm.map(|b| b.map(gmm)),
    })
}

fn balance_json(b: &BalanceState, state: &MachineState) -> Value {
    let w = &b.weights;
    let weights: Vec<Value> = w
        .weights()
        .iter()
        .zip(w.masses_kg())
        .map(|(u, kg)| json!({ "plane_mm": u.plane().mm(), "unbalance_gmm": -gmm(u.vector_kgm().0), "mass_g": kg.map(|m| 1e3 * m) }))
        .collect();
    let [low, own, high] = &b.residuals;
    json!({
        "nominal_pad_mass_kg": w.made_for().kg(),
        "weights_fitted": w.fitted(),
        "weights": weights,
        "dry": residual_json(low),
        "described": residual_json(own),
        "wet": residual_json(high),
        "one_plane_couple_nm": b.one_plane_couple.nm(),
        "couple_about_mm": own.sum.about_m * 1e3,
        "grade_mm_s": w.grade(own.pad_kg, state.rate).map(Speed::mm_s),
        "grade_wet_mm_s": w.grade(high.pad_kg, state.rate).map(Speed::mm_s),
        "grade_limit_mm_s": w.wanted_grade().mm_s(),
        "permissible_gmm": w.permissible_kgm(state.rate).ok().flatten().map(gmm),
    })
}

fn life_json(l: &RatingLife) -> Value {
    json!({
        "radial_n": l.load.radial_n,
        "axial_n": l.load.axial_n,
        "equivalent_n": l.equivalent_n,
        "l10_million_turns": finite(l.l10_million),
        "l10_h": finite(l.l10.h()),
        "a1": l.a1,
        "modified_h": finite(l.modified.h()),
        "static_safety": finite(l.static_safety),
        "loaded_enough": l.loaded_enough,
        "within_formula": l.within_formula && l.within_table,
    })
}

fn motor_json(m: &MotorLoad) -> Value {
    json!({
        "work_torque_nm": m.work_nm,
        "idle_torque_nm": m.idle_nm,
        "rated_torque_nm": m.rated_nm,
        "margin_nm": m.margin_nm(),
        "load_share": m.load_share,
        "peak_load_share": m.peak_load_share,
        "largest_load_share": m.largest_load_share,
        "heating_share": m.heating_share,
    })
}

fn supply_json(d: &SupplyDraw) -> Value {
    let hour = Time::from_h(1.0);
    let mut out = json!({ "electric_w": d.electric().w(), "energy_wh_per_h": d.energy(hour).wh() });
    let more = match d {
        SupplyDraw::Mains(m) => json!({
            "kind": "mains", "current_a": m.current_a, "fuse_share": m.fuse_share, "cord_drop_share": m.cord_drop_share,
        }),
        SupplyDraw::Battery(b) => json!({ "kind": "battery", "per_pack_min": b.per_pack.min() }),
        SupplyDraw::Air(a) => json!({
            "kind": "air",
            "free_air_l_min": a.free_air_per_s.l() * Time::from_min(1.0).s(),
            "free_air_m3_per_h": a.free_air_per_s.m3() * hour.s(),
            "adiabatic_w": a.adiabatic.w(),
            "isothermal_w": a.isothermal.w(),
        }),
    };
    if let (Some(out), Value::Object(more)) = (out.as_object_mut(), more) {
        out.extend(more);
    }
    out
}

fn step_json(step: &Step, s: &MachineState) -> Value {
    json!({
        "step": step.name,
        "pad": step.pad_name,
        "force_n": step.setup.force().n(),
        "shaft_rate_rpm": s.rate.rpm(),
        "spin_rpm": s.spin.rpm(),
        "sticks": s.sticks,
        "orbit_force_n": s.orbit_force.n(),
        "side_force_n": s.side_force.n(),
        "torque_nm": s.torque.map(Torque::nm),
        "shaft_power_w": s.power.map(Power::w),
        "balance": s.balance.as_ref().map(|b| balance_json(b, s)),
        "spindle_bearing": s.spindle.as_ref().zip(s.spindle_wet.as_ref()).map(|([f, r], [fw, rw])| json!({
            "front": life_json(f), "rear": life_json(r), "front_wet": life_json(fw), "rear_wet": life_json(rw),
        })),
        "pad_bearing": s.pad.as_ref().map(|(a, b)| json!({ "lower": life_json(a), "upper": b.as_ref().map(life_json) })),
        "motor": s.motor.as_ref().map(motor_json),
        "supply": s.supply.as_ref().map(supply_json),
    })
}

/// The machines of a job as one object.
///
/// For each tool its steps (forces, balance, bearing lives, motor, supply) and the work on one vehicle; masses in g or kg,
/// unbalance in g·mm, lives in h. What the job does not describe is null. The states come from
/// [`machine_state`](crate::plan::machine::machine_state).
///
/// # Example
/// ```
/// use trochoid::report::{machine_json, machine_words};
/// // No tool, no entry; the cautions are said all the same.
/// assert_eq!(machine_json(&[])["tools"].as_array().map(Vec::len), Some(0));
/// assert_eq!(machine_words(&[]).lines().count(), 2);
/// ```
#[must_use]
pub fn machine_json(answers: &[MachineAnswer<'_>]) -> Value {
    let tools: Vec<Value> = answers
        .iter()
        .map(|a| {
            let steps: Vec<Value> = a.steps.iter().map(|(step, state)| step_json(step, state)).collect();
            let vehicle = a.work.map(|w| {
                json!({
                    "work_s": w.work.s(),
                    "energy_wh": w.energy.map(Energy::wh),
                    "packs": w.packs,
                    "free_air_m3": w.free_air.map(Volume::m3),
                    "spindle_front_l10_h": w.spindle.and_then(|s| finite(s[0].h())),
                    "spindle_rear_l10_h": w.spindle.and_then(|s| finite(s[1].h())),
                    "spindle_front_wet_l10_h": w.spindle_wet.and_then(|s| finite(s[0].h())),
                    "spindle_rear_wet_l10_h": w.spindle_wet.and_then(|s| finite(s[1].h())),
                    "pad_bearing_l10_h": w.pad.and_then(|t| finite(t.h())),
                })
            });
            json!({ "tool": a.tool, "steps": steps, "vehicle": vehicle })
        })
        .collect();
    json!({ "tools": tools })
}

fn hours(t: Time) -> String {
    if t.h() < 1e6 { format!("{:.0} h", t.h()) } else { "over a million hours".to_owned() }
}

fn balance_words(b: &BalanceState, s: &MachineState, out: &mut Vec<(&'static str, String)>) {
    let w = &b.weights;
    let one = |(u, kg): (&crate::plan::machine::PlaneUnbalance, Option<f64>)| {
        let mass = kg.map_or(String::new(), |m| format!(" = {:.1} g", 1e3 * m.abs()));
        let opposite = -gmm(u.vector_kgm().0);
        let side = if opposite < 0.0 { "on the pad's side" } else { "opposite the pad" };
        format!("{:.0} g·mm{mass} at {:.0} mm {side}", opposite.abs(), u.plane().mm())
    };
    let weights: Vec<String> = w.weights().iter().zip(w.masses_kg()).map(one).collect();
    let whose = if w.fitted() { "counterweights as fitted" } else { "counterweights" };
    out.push(("balance", format!("{whose}, for a pad of {:.0} g: {}", 1e3 * w.made_for().kg(), weights.join("; "))));
    for (name, r) in ["dry", "as described", "wet"].iter().zip(&b.residuals) {
        let planes = r
            .in_bearings_kgm
            .map_or(String::new(), |[f, k]| format!("; in the bearing planes {:.0} and {:.0} g·mm", gmm(f), gmm(k)));
        out.push((
            "",
            format!(
                "pad {name}, {:.0} g: shakes with {:.1} N and {:.2} N·m{planes}",
                1e3 * r.pad_kg,
                r.force.n(),
                r.couple.nm()
            ),
        ));
    }
    if w.weights().len() > 1 && !w.fitted() {
        out.push(("", format!("one counterweight alone would leave a couple of {:.2} N·m", b.one_plane_couple.nm())));
    }
    let high = &b.residuals[2];
    if let (Some(own), Some(wet)) = (w.grade(b.residuals[1].pad_kg, s.rate), w.grade(high.pad_kg, s.rate)) {
        out.push((
            "",
            format!(
                "grade G {:.1} as described, G {:.1} wet; held against G {:.1}",
                own.mm_s(),
                wet.mm_s(),
                w.wanted_grade().mm_s()
            ),
        ));
    }
}

fn life_words(name: &str, l: &RatingLife) -> String {
    let mut parts = vec![format!(
        "{name}: {:.0} N across, {:.0} along, P {:.0} N: L10h {}",
        l.load.radial_n,
        l.load.axial_n,
        l.equivalent_n,
        hours(l.l10)
    )];
    if l.a1 < 1.0 {
        parts.push(format!("{} at the reliability asked for (a1 {:.2})", hours(l.modified), l.a1));
    }
    if !l.loaded_enough {
        parts.push(format!("below {:.0} % of C, its balls may slide", 100.0 * LEAST_LOAD_SHARE));
    }
    if !l.within_formula {
        parts.push(format!("above {:.0} % of C, beyond the formula", 100.0 * LARGEST_LOAD_SHARE));
    }
    if !l.within_table {
        parts.push("axial load beyond the standard's table".to_owned());
    }
    if l.static_safety < 1.0 {
        parts.push(format!("static safety {:.2}, dents", l.static_safety));
    }
    parts.join("; ")
}

fn motor_words(m: &MotorLoad, duty_given: bool, out: &mut Vec<(&'static str, String)>) {
    out.push((
        "motor",
        format!(
            "work {:.3} N·m and idle {:.3} of {:.3} rated: {:.0} % of the rating, margin {:.3} N·m{}",
            m.work_nm,
            m.idle_nm,
            m.rated_nm,
            100.0 * m.load_share,
            m.margin_nm(),
            if m.load_share > 1.0 { "; MORE THAN IT IS RATED FOR" } else { "" }
        ),
    ));
    let peak = m.peak_load_share.map_or_else(
        || "the face sticks or the pad bottoms out at the peak of the force".to_owned(),
        |p| format!("{:.0} % at the peak of the force{}", 100.0 * p, if p > 1.0 { ": it bogs down" } else { "" }),
    );
    let what = if duty_given { "in its duty" } else { "without a pause" };
    out.push((
        "",
        format!(
            "{peak}; {what} it may give {:.0} % of its rating, and here warms to {:.0} % of its rated rise",
            100.0 * m.largest_load_share,
            100.0 * m.heating_share
        ),
    ));
}

fn supply_words(d: &SupplyDraw) -> String {
    let per_hour = d.energy(Time::from_h(1.0)).wh();
    match d {
        SupplyDraw::Mains(m) => {
            let fuse = m.fuse_share.map_or(String::new(), |s| {
                format!(", {:.0} % of the fuse{}", 100.0 * s, if s > 1.0 { ": IT BLOWS" } else { "" })
            });
            let cord = m
                .cord_drop_share
                .map_or(String::new(), |s| format!(", {:.1} % of the voltage lost in the cord", 100.0 * s));
            format!("mains {:.0} W, {:.2} A{fuse}{cord}; {per_hour:.0} Wh an hour of work", m.input.w(), m.current_a)
        }
        SupplyDraw::Battery(b) => {
            format!(
                "battery {:.0} W, {:.0} min a pack; {per_hour:.0} Wh an hour of work",
                b.input.w(),
                b.per_pack.min()
            )
        }
        SupplyDraw::Air(a) => format!(
            "free air {:.0} l/min, {:.1} m³ an hour of work; compressor {:.0} W (ideal {:.0} adiabatic, {:.0} isothermal)",
            a.free_air_per_s.l() * Time::from_min(1.0).s(),
            a.free_air_per_s.m3() * Time::from_h(1.0).s(),
            a.compressor.w(),
            a.adiabatic.w(),
            a.isothermal.w()
        ),
    }
}

/// What a step asks of the machine, in lines: what it is about, and what is to be said.
fn step_words(s: &MachineState, settings: &MachineSettings) -> Vec<(&'static str, String)> {
    let mut out = vec![(
        "shaft",
        format!(
            "{:.0} /min; the pad pulls with {:.0} N on its orbit, friction across the shaft {:.1} N",
            s.rate.rpm(),
            s.orbit_force.n(),
            s.side_force.n()
        ),
    )];
    if let Some(b) = &s.balance {
        balance_words(b, s, &mut out);
    }
    if let Some([front, rear]) = &s.spindle {
        out.push(("spindle", life_words("front bearing", front)));
        out.push(("", life_words("rear bearing", rear)));
    }
    if let Some([front, rear]) = s.spindle_wet.as_ref().filter(|_| s.balance.is_some()) {
        let wet = format!("with a wet pad: front {:.0} N across", front.load.radial_n);
        let rear_wet = format!("rear {:.0} N", rear.load.radial_n);
        out.push(("", format!("{wet}, L10h {}; {rear_wet}, {}", hours(front.l10), hours(rear.l10))));
    }
    if let Some((lower, upper)) = &s.pad {
        match upper {
            None => {
                out.push(("pad", format!("{}; its moment is not reckoned", life_words("bearing", lower))));
            }
            Some(upper) => {
                out.push(("pad", life_words("lower bearing", lower)));
                out.push(("", life_words("upper bearing", upper)));
            }
        }
    }
    if s.sticks {
        out.push(("motor", "the face sticks: the torque is not known".to_owned()));
    }
    if let Some(m) = &s.motor {
        motor_words(m, settings.duty_given, &mut out);
    }
    if let Some(d) = &s.supply {
        out.push(("supply", supply_words(d)));
    }
    out
}

fn work_words(w: &MachineWork) -> Vec<(&'static str, String)> {
    let mut parts = Vec::new();
    if let Some(e) = w.energy {
        parts.push(format!("{:.1} Wh", e.wh()));
    }
    if let Some(n) = w.packs {
        parts.push(format!("{n:.0} pack{} charged", if n > 1.0 { "s" } else { "" }));
    }
    if let Some(v) = w.free_air {
        parts.push(format!("{:.1} m³ of free air", v.m3()));
    }
    let mut out = Vec::new();
    if !parts.is_empty() {
        out.push(("vehicle", format!("{:.1} min of work: {}", w.work.min(), parts.join(", "))));
    }
    let mut lives = Vec::new();
    if let Some([front, rear]) = w.spindle {
        lives.push(format!("spindle {} front, {} rear", hours(front), hours(rear)));
    }
    if let Some([front, rear]) = w.spindle_wet {
        lives.push(format!("with wet pads {} and {}", hours(front), hours(rear)));
    }
    if let Some(pad) = w.pad {
        lives.push(format!("pad {}", hours(pad)));
    }
    if !lives.is_empty() {
        out.push(("lives", format!("over all steps, L10h: {}", lives.join("; "))));
    }
    out
}

/// What the job leaves untold of a machine.
fn missing(answer: &MachineAnswer<'_>) -> Option<String> {
    let d = &answer.settings.description;
    let orbits = answer.steps.iter().any(|(s, _)| s.setup.tool().rate().rad_s() > 0.0);
    let motor = answer.steps.iter().all(|(s, _)| s.setup.tool().motor().is_some());
    let gaps: Vec<&str> = [
        ("balance", d.balance.is_none() && orbits),
        ("spindle_bearing", d.spindle.is_none()),
        ("pad_bearing", d.pad.is_none() && orbits),
        ("motor", !motor),
        ("supply", d.supply.is_none()),
        (
            "what the supply gives (it needs the motor's ratings)",
            d.supply.is_some() && answer.steps.iter().any(|(_, m)| m.supply.is_none() && !m.sticks),
        ),
    ]
    .into_iter()
    .filter_map(|(name, gone)| gone.then_some(name))
    .collect();
    (!gaps.is_empty()).then(|| format!("not described, so not told: {}; a table of the tool each", gaps.join(", ")))
}

/// The machines of a job in words.
///
/// The same numbers as [`machine_json`], what is not described, and the cautions; see the example of [`machine_json`].
#[must_use]
pub fn machine_words(answers: &[MachineAnswer<'_>]) -> String {
    let mut lines = Vec::new();
    let line = |(head, text): &(&'static str, String)| format!("  {head:8} {text}");
    for a in answers {
        for (step, state) in &a.steps {
            lines.push(format!(
                "tool `{}`, step `{}`: pad `{}`, {:.0} N",
                a.tool,
                step.name,
                step.pad_name,
                step.setup.force().n()
            ));
            lines.extend(step_words(state, a.settings).iter().map(line));
        }
        lines.push(format!("tool `{}`", a.tool));
        lines.extend(a.work.iter().flat_map(work_words).map(|w| line(&w)));
        lines.extend(missing(a).map(|gaps| line(&("gaps", gaps))));
        if let Some(Supply::Air(_)) = a.settings.description.supply {
            lines.push(line(&("air", "the net leaks too: add its own losses".to_owned())));
        }
        if lines.last().is_some_and(|l| l.starts_with("tool")) {
            lines.pop();
        }
    }
    lines.extend(CAUTIONS.map(str::to_owned));
    lines.join("\n") + "\n"
}

/// What is to be kept in mind with every answer.
const CAUTIONS: [&str; 2] = [
    "A rating life is fatigue alone, in clean grease: water and abrasive dust end most small bearings earlier.",
    "Keep cords unrolled and off wet floors, hoses free of kinks; a pad lifted while running flings product.",
];
