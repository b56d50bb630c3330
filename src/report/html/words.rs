//! Numbers, names and outcomes in words. A number stays on the line of its unit. A number that is not
//! there is said to be missing; it never shows as zero.

use super::ReportStep;
use crate::job::Step;
use crate::plan::{OperatingState, StepPlan};
use crate::report::wording::{NO_NUMBER, clear_coat_warning, limit_words, ruler_words};
use crate::units::AngularRate;
use maud::{Markup, html};

pub(super) use crate::report::wording::{fixed, percent, short, three};

/// What stands where a capability is not there yet.
pub(super) const NOT_YET: &str = "not computed yet";
/// What is said of every spin against the orbit.
pub(super) const REVERSAL: &str =
    "A spin below zero means that the pad turns against the orbit: a prediction, not yet seen in published data.";

/// Text from a job without control characters, which HTML does not allow.
pub(super) fn plain(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A name from the job, kept apart from the direction of the text around it.
pub(super) fn name(text: &str) -> Markup {
    let text = plain(text);
    // A long name breaks after its underscores, not inside a word.
    html! { bdi { @for part in text.split_inclusive('_') { (part) @if part.ends_with('_') { wbr; } } } }
}

/// Force in whole newtons, tenths below ten.
pub(super) fn newtons(value: f64) -> String {
    format!("{}\u{a0}N", fixed(value, usize::from(value.abs() < 9.95)))
}

/// Revolutions per minute of a rate in rad/s.
pub(super) fn rpm(rad_s: f64) -> f64 {
    AngularRate::from_rad_s(rad_s).rpm()
}

/// Minutes and seconds.
pub(super) fn minutes(seconds: f64) -> String {
    if !seconds.is_finite() {
        return NO_NUMBER.to_owned();
    }
    let whole = seconds.round();
    format!("{:.0}\u{a0}min {:02.0}\u{a0}s", (whole / 60.0).floor(), whole % 60.0)
}

/// A curvature with its radius.
fn curvature(per_m: f64) -> String {
    let gap = ruler_words(per_m).map_or(String::new(), |w| format!(", {w}"));
    format!("{} per metre (radius {} mm{gap})", fixed(per_m, 3), fixed(1e3 / per_m.abs(), 0))
}

/// Orbit rate of the step, or the spin of a drive without an orbit.
pub(super) fn rate(step: &Step, plan: &StepPlan) -> String {
    let opm = step.told(plan).rate.opm();
    if opm > 0.0 {
        format!("{} orbits/min", fixed(opm, 0))
    } else {
        format!("{} rpm", fixed(rpm(plan.state.run.spin), 0))
    }
}

/// What the hand does beside the tool's own weight.
pub(super) fn hand(hand_force_n: Option<f64>) -> String {
    match hand_force_n {
        Some(n) if n >= 0.0 => format!("{} by hand", newtons(n)),
        Some(n) => format!("carry {} of the tool's weight", newtons(-n)),
        None => "by hand not known: the tool's mass is not given".to_owned(),
    }
}

/// How a step stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Standing {
    /// The face sticks and only kneads.
    Sticks,
    /// Turns against the orbit.
    Reverses,
    /// Below the useful spin.
    Stalls,
    /// Turns, but a limit is passed or the cut may go through the clear coat.
    Beyond,
    /// Turns within its limits, but cannot reach the target cut.
    OutOfReach,
    /// Turns, but stalls within the range of the bearing drag.
    MayStall,
    /// Turns over the whole range.
    Turns,
    /// Driven.
    Driven,
}

impl Standing {
    pub(super) fn of(step: &ReportStep<'_>) -> Self {
        let (plan, s) = (step.plan, &step.plan.state);
        if s.run.sticks {
            Self::Sticks
        } else if s.reverses {
            Self::Reverses
        } else if s.stalled {
            Self::Stalls
        } else if plan.limits.iter().any(|l| l.margin < 0.0) || clear_coat_warning(step.step, plan).is_some() {
            Self::Beyond
        } else if plan.target_out_of_reach {
            Self::OutOfReach
        } else if s.limits_range.is_none() {
            Self::Driven
        } else if s.spin_range.0 < s.useful_spin {
            Self::MayStall
        } else {
            Self::Turns
        }
    }

    /// A word or two for a tag.
    pub(super) const fn tag(self) -> &'static str {
        match self {
            Self::Sticks => "face sticks",
            Self::Reverses => "turns backwards (predicted)",
            Self::Stalls => "stalls",
            Self::Beyond => "beyond a limit",
            Self::OutOfReach => "target out of reach",
            Self::MayStall => "may stall",
            Self::Turns => "turns",
            Self::Driven => "driven",
        }
    }

    /// Style class of the tag; the words alone carry the meaning.
    pub(super) const fn class(self) -> &'static str {
        match self {
            Self::Sticks | Self::Reverses | Self::Stalls | Self::Beyond | Self::OutOfReach => "tag bad",
            Self::MayStall => "tag unsure",
            Self::Turns | Self::Driven => "tag good",
        }
    }
}

/// All that is the matter, to follow "cannot be worked as set:"; empty where nothing is.
pub(super) fn trouble(s: &ReportStep<'_>) -> String {
    let mut out = Vec::new();
    match Standing::of(s) {
        Standing::Sticks => out.push("the face sticks and the pad only kneads".to_owned()),
        Standing::Reverses => {
            out.push("the pad turns against the orbit (a prediction, not yet seen in published data)".to_owned());
        }
        Standing::Stalls => out.push("the pad stalls".to_owned()),
        _ => {}
    }
    // Sticking and stalling are said above, of the phase that the state is told for.
    let said = ["stall", "spin", "face_sticks"];
    let main = s.plan.main_phase().map(|p| &p.name);
    for p in s.plan.phases.iter().filter(|p| Some(&p.name) != main) {
        if p.state.run.sticks {
            out.push(format!("the face sticks in phase \"{}\"", plain(&p.name)));
        } else if p.state.stalled {
            out.push(format!("the pad stalls in phase \"{}\"", plain(&p.name)));
        }
    }
    out.extend(
        s.plan
            .limits
            .iter()
            .filter(|l| l.margin < 0.0 && !said.contains(&l.name))
            .map(|l| format!("the limit of {} is passed", limit_words(l).0)),
    );
    if clear_coat_warning(s.step, s.plan).is_some() {
        out.push("the cut may go through the clear coat".to_owned());
    }
    if s.plan.target_out_of_reach {
        out.push("the target cut is out of reach".to_owned());
    }
    out.join("; ")
}

/// Whether any spin of the step, its range included, is against the orbit.
pub(super) fn shows_reversal(s: &OperatingState) -> bool {
    // The bound below which a spin counts as a reversal.
    s.limits_range.is_some() && !s.run.sticks && rpm(s.spin_range.0) < -0.5
}

/// Spin and its range, apart.
pub(super) fn spin(s: &OperatingState) -> (String, Option<String>) {
    if s.run.sticks {
        return ("face sticks".to_owned(), None);
    }
    let own = format!("{}\u{a0}rpm", fixed(rpm(s.run.spin), 0));
    if s.limits_range.is_none() {
        return (own, Some("driven".to_owned()));
    }
    (own, Some(format!("{} to {}", fixed(rpm(s.spin_range.0), 0), fixed(rpm(s.spin_range.1), 0))))
}

/// How the pad turns, as a sentence.
pub(super) fn spin_sentence(plan: &StepPlan) -> String {
    let s = &plan.state;
    let (own, range) = (fixed(rpm(s.run.spin), 0), spin(s).1.unwrap_or_default());
    let numbers = format!(
        "{own}\u{a0}rpm ({range} over the range of the bearing drag); useful from {}",
        fixed(rpm(s.useful_spin), 0)
    );
    if s.run.sticks {
        return "The face sticks: the pad only kneads and cuts nothing; less force, or a thinner or stiffer pad."
            .to_owned();
    }
    if s.limits_range.is_none() {
        return format!("The pad is driven: {own} rpm whatever the panel.");
    }
    if s.reverses {
        return format!(
            "The pad turns backwards, against the orbit (a prediction, not yet seen in published data): {numbers}."
        );
    }
    if s.stalled {
        let unsure =
            if s.spin_range.1 >= s.useful_spin { " Within what is known of the bearing drag it may turn." } else { "" };
        return format!("The pad stalls: {numbers}.{unsure}");
    }
    let unsure =
        if s.spin_range.0 < s.useful_spin { " Within what is known of the bearing drag it may stall." } else { "" };
    format!("The pad turns: {numbers}.{unsure}")
}

/// The stall number, or why there is none.
pub(super) fn stall_number(s: &OperatingState) -> String {
    if s.limits_range.is_none() {
        return "none: driven".to_owned();
    }
    if s.run.sticks {
        return "none: the face sticks".to_owned();
    }
    if s.limits.stalled_on_flat {
        return "none: stalls on a flat already".to_owned();
    }
    s.limits.stall_number().map_or_else(|| "none: no stall along this shape".to_owned(), |n| fixed(n, 2))
}

/// Where the stall limit lies, as a sentence.
pub(super) fn stall_sentence(step: &Step, s: &OperatingState) -> Option<String> {
    s.limits_range.filter(|_| !s.run.sticks)?;
    if s.limits.stalled_on_flat {
        let crown =
            s.limits.sphere.map_or(String::new(), |c| format!("; on a crown it would turn from {}", curvature(c.at)));
        return Some(format!("it stalls on a flat panel already{crown}"));
    }
    if let (Some(number), Some(k)) = (s.limits.stall_number(), s.limits.along_panel_per_m(step.setup.patch())) {
        let again = s.limits.along_panel.and_then(|c| c.second).map_or(String::new(), |t| {
            format!("; beyond {} times this panel it turns again, nearly free: beware", fixed(t, 2))
        });
        return Some(format!("stall number {}: it stalls at {}{again}", fixed(number, 2), curvature(k)));
    }
    s.limits.sphere.map(|c| format!("on a sphere it would stall at {}", curvature(c.at)))
}

/// The mean cut and its 90 % interval, apart.
pub(super) fn cut(plan: &StepPlan) -> (String, Option<String>) {
    match plan.cut {
        Some(c) => (
            format!("{}\u{a0}µm", fixed(1e6 * c.mean, 2)),
            Some(format!("{} to {}\u{a0}µm", fixed(1e6 * c.low, 2), fixed(1e6 * c.high, 2))),
        ),
        None => (
            "no worked area inside the pad's rim".to_owned(),
            Some(format!("{} µm a pass in passing", fixed(1e6 * plan.state.cut_per_pass_m, 3))),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_words() {
        assert_eq!([35.0, 4.25, -9.96].map(newtons), ["35\u{a0}N", "4.2\u{a0}N", "−10\u{a0}N"]);
        assert_eq!(minutes(119.6), "2\u{a0}min 00\u{a0}s");
        assert_eq!(minutes(f64::INFINITY), NO_NUMBER);
        assert_eq!(plain("a\u{0}b\nc"), "a b c");
    }
}
