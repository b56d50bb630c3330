//! Numbers, names and outcomes in words. A number stays on the line of its unit. A number that is not there is said to be missing; it never
//! shows as zero.

use crate::job::Step;
use crate::plan::{Limit, OperatingState, StepPlan};
use crate::units::AngularRate;
use maud::{Markup, html};

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
    html! { bdi { (plain(text)) } }
}

/// Fixed decimals, with a true minus sign.
pub(super) fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return NOT_YET.to_owned();
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        // Rounded to nothing: a zero has no sign.
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

/// Three significant digits, at most four decimals.
pub(super) fn three(value: f64) -> String {
    let size = value.abs();
    let decimals = if size >= 100.0 {
        0
    } else if size >= 10.0 {
        1
    } else if size >= 1.0 {
        2
    } else if size >= 0.1 {
        3
    } else {
        4
    };
    fixed(value, decimals)
}

/// At most two decimals, without zeros at the end.
pub(super) fn short(value: f64) -> String {
    let text = fixed(value, 2);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Force in whole newtons, tenths below ten.
pub(super) fn newtons(value: f64) -> String {
    format!("{}\u{a0}N", fixed(value, usize::from(value.abs() < 9.95)))
}

/// A share as a whole percentage.
pub(super) fn percent(share: f64) -> String {
    format!("{}\u{a0}%", fixed(100.0 * share, 0))
}

/// Revolutions per minute of a rate in rad/s.
pub(super) fn rpm(rad_s: f64) -> f64 {
    AngularRate::from_rad_s(rad_s).rpm()
}

/// Minutes and seconds.
pub(super) fn minutes(seconds: f64) -> String {
    if !seconds.is_finite() {
        return NOT_YET.to_owned();
    }
    let whole = seconds.round();
    format!("{:.0}\u{a0}min {:02.0}\u{a0}s", (whole / 60.0).floor(), whole % 60.0)
}

/// A curvature with its radius.
fn curvature(per_m: f64) -> String {
    format!("{} per metre (radius {} mm)", fixed(per_m, 3), fixed(1e3 / per_m.abs(), 0))
}

/// Orbit rate of the step, or the spin of a drive without an orbit.
pub(super) fn rate(step: &Step, plan: &StepPlan) -> String {
    let opm = step.setup.tool().rate().opm();
    if opm > 0.0 {
        format!("{} orbits/min", fixed(opm, 0))
    } else {
        format!("{} rpm", fixed(rpm(plan.state.run.spin), 0))
    }
}

/// What the hand does beside the tool's own weight.
pub(super) fn hand(step: &Step) -> String {
    match step.hand_force_n {
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
    /// Turns, but a limit is passed.
    Beyond,
    /// Turns, but stalls within the range of the bearing drag.
    MayStall,
    /// Turns over the whole range.
    Turns,
    /// Driven.
    Driven,
}

impl Standing {
    pub(super) fn of(plan: &StepPlan) -> Self {
        let s = &plan.state;
        if s.run.sticks {
            Self::Sticks
        } else if s.reverses {
            Self::Reverses
        } else if s.stalled {
            Self::Stalls
        } else if plan.limits.iter().any(|l| l.margin < 0.0) || plan.target_out_of_reach {
            Self::Beyond
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
            Self::MayStall => "may stall",
            Self::Turns => "turns",
            Self::Driven => "driven",
        }
    }

    /// What is the matter, to follow "cannot be worked as set:".
    pub(super) const fn trouble(self) -> Option<&'static str> {
        match self {
            Self::Sticks => Some("the face sticks and the pad only kneads"),
            Self::Reverses => Some("the pad turns against the orbit (a prediction, not yet seen in published data)"),
            Self::Stalls => Some("the pad stalls"),
            Self::Beyond => Some("a limit is passed"),
            Self::MayStall | Self::Turns | Self::Driven => None,
        }
    }

    /// Style class of the tag; the words alone carry the meaning.
    pub(super) const fn class(self) -> &'static str {
        match self {
            Self::Sticks | Self::Reverses | Self::Stalls | Self::Beyond => "tag bad",
            Self::MayStall => "tag unsure",
            Self::Turns | Self::Driven => "tag good",
        }
    }
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

/// What of a limit is used: the name, where the step is of where the limit is, the margin.
pub(super) fn limit(l: &Limit) -> (String, String, String) {
    let numbers = match l.name {
        "stall" => format!("{} of {} times the stall curvature", fixed(l.value, 2), fixed(l.limit, 2)),
        "spin" => format!("{} {}, at least {} wanted", fixed(l.value, 0), l.unit, fixed(l.limit, 0)),
        _ => format!("{} of {} {}", three(l.value), three(l.limit), l.unit),
    };
    let beyond = if l.margin < 0.0 { ": beyond the limit" } else { "" };
    (l.name.replace('_', " "), numbers, format!("margin {}{beyond}", percent(l.margin)))
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
        assert_eq!(fixed(-0.004, 2), "0.00");
        assert_eq!(fixed(-1.5, 1), "−1.5");
        assert_eq!(fixed(f64::NAN, 1), NOT_YET);
        assert_eq!([250.4, 25.04, 2.504, 0.2504, 0.02504].map(three), ["250", "25.0", "2.50", "0.250", "0.0250"]);
        assert_eq!([4.5, 3.0, 100.0, 2.25].map(short), ["4.5", "3", "100", "2.25"]);
        assert_eq!([35.0, 4.25, -9.96].map(newtons), ["35\u{a0}N", "4.2\u{a0}N", "−10\u{a0}N"]);
        assert_eq!(minutes(119.6), "2\u{a0}min 00\u{a0}s");
        assert_eq!(percent(-0.668), "−67\u{a0}%");
        assert_eq!(plain("a\u{0}b\nc"), "a b c");
    }
}
