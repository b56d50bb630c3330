//! Numbers and sentences that the printed text and the printable report share, so that both say the
//! same of the same plan. Not the layout of either.
//!
//! A number stays on the line of its unit by a no-break space, and a minus is a true one; a terminal
//! may put plain characters in their place.

use crate::job::Step;
use crate::plan::{Limit, OperatingState, StepPlan};
use crate::plan::{SurfaceWork, Work};
use crate::removal::PanelMap;

/// What stands where a calculation gave no finite number.
pub(super) const NO_NUMBER: &str = "no number";

/// What the interval of a cut is.
pub const CUT_INTERVAL: &str = "90\u{a0}% interval of the Preston coefficient alone";

/// What a mean cut leaves out where the pad turns too slowly.
pub const CUT_WHERE_STALLED: &str =
    "averaged over the spin; a pad this slow leaves marks that this figure does not show";

/// The word behind a number of passes.
pub(super) const fn pass_word(count: usize) -> &'static str {
    if count == 1 { "pass" } else { "passes" }
}

/// Fixed decimals, with a true minus sign.
pub(super) fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return NO_NUMBER.to_owned();
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        // Rounded to nothing: a zero has no sign.
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => text,
    }
}

/// A curvature as a hand finds it: the gap under a ruler laid across a hollow, or beside one rocked on a crown.
///
/// The longest of 400, 200 and 100 mm whose gap is at most a twentieth of it, where g = κL²/8 holds within
/// 1 %; `None` for tighter curves and for gaps below half a millimetre.
///
/// # Example
/// ```
/// // 1 per metre over 0.4 m: 0.4²/8 = 20 mm.
/// assert_eq!(trochoid::report::ruler_words(-1.0).as_deref(), Some("20 mm under a 400 mm ruler"));
/// ```
#[must_use]
pub fn ruler_words(per_m: f64) -> Option<String> {
    let gap = |length: f64| per_m.abs() * length * length / 8.0;
    let length = [0.4, 0.2, 0.1].into_iter().find(|l| gap(*l) <= l / 20.0 + 1e-12)?;
    let mm = 1e3 * gap(length);
    let decimals = usize::from(mm < 9.95);
    (mm >= 0.5).then(|| format!("{} mm under a {:.0} mm ruler", fixed(mm, decimals), 1e3 * length))
}

/// Three significant digits, at most four decimals.
#[must_use]
pub fn three(value: f64) -> String {
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

/// A share as a whole percentage.
pub(super) fn percent(share: f64) -> String {
    format!("{}\u{a0}%", fixed(100.0 * share, 0))
}

/// A limit in words: its name, where the step is of where the limit is, and the margin.
///
/// # Example
/// ```
/// use trochoid::plan::Limit;
/// use trochoid::report::limit_words;
/// let limit = Limit { name: "motor_power", value: 190.0, limit: 200.0, margin: 0.05, unit: "W" };
/// let (name, numbers, margin) = limit_words(&limit);
/// assert_eq!([name, numbers, margin].map(|w| w.replace('\u{a0}', " ")), ["motor power", "190 of 200 W", "margin 5 %"]);
/// ```
#[must_use]
pub fn limit_words(l: &Limit) -> (String, String, String) {
    let numbers = match l.name {
        "stall" => format!("{} of {} times the stall curvature", fixed(l.value, 2), fixed(l.limit, 2)),
        "spin" => format!("{}\u{a0}{}, at least {} wanted", fixed(l.value, 1), l.unit, short(l.limit)),
        _ => format!("{} of {}\u{a0}{}", three(l.value), three(l.limit), l.unit),
    };
    let beyond = if l.margin < 0.0 { ": beyond the limit" } else { "" };
    (l.name.replace('_', " "), numbers, format!("margin {}{beyond}", percent(l.margin)))
}

/// Whether the mean cut hides marks: the pad turns too slowly, but does cut.
///
/// A stalled pad that slides leaves marks that a mean over many passes does not show. See the
/// example of [`clear_coat_warning`].
#[must_use]
pub fn cut_hides_marks(s: &OperatingState) -> bool {
    s.stalled && !s.run.sticks
}

/// The warning where the upper end of the cut's interval is more than the clear coat; `None` below it
/// and where the panel has no worked area.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::plan_step;
/// use trochoid::report::{clear_coat_warning, cut_hides_marks, throw_gain_words};
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// // Some µm of 45 µm; of a coat of 1 µm they are more than there is.
/// assert_eq!(clear_coat_warning(step, &plan), None);
/// let thin = Job::parse("thin.toml", &STARTER.replace("clear_um = 45.0", "clear_um = 1.0"))?;
/// assert!(clear_coat_warning(&thin.steps[0], &plan).is_some_and(|w| w.ends_with("do not work it")));
/// // The pad turns on this gentle crown; its inertia is told of from 5 % more throw on.
/// assert!(!cut_hides_marks(&plan.state));
/// assert_eq!(throw_gain_words(&plan.state).is_some(), plan.state.throw_gain.is_some_and(|gain| gain > 1.05));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn clear_coat_warning(step: &Step, plan: &StepPlan) -> Option<String> {
    let (high, clear) = (plan.cut?.high * 1e6, step.paint.clear().um());
    (high > clear).then(|| {
        format!(
            "the upper end of the cut, {}\u{a0}µm, is more than the clear coat, {}\u{a0}µm: do not work it",
            fixed(high, 2),
            short(clear)
        )
    })
}

/// What the pad's own inertia does to the throw at its face, where that is above 5 % or unknown.
///
/// See the example of [`clear_coat_warning`].
#[must_use]
pub fn throw_gain_words(s: &OperatingState) -> Option<String> {
    let gain = s.throw_gain.filter(|_| !s.run.sticks)?;
    if !gain.is_finite() {
        return Some("the pad is near its shear resonance: the throw is not known".to_owned());
    }
    (gain > 1.05).then(|| format!("the pad's own inertia may raise it by {}", percent(gain - 1.0)))
}

/// What a worked panel lost, in words.
#[must_use]
pub(crate) fn work_words(work: &Work) -> String {
    match work {
        Work::Patch(map) => volume_words(map),
        Work::Surface(w) => surface_words(w),
    }
}

/// What the passes remove from a real panel, and how much of that the tape takes.
fn surface_words(w: &SurfaceWork) -> String {
    let (all, tape) = (1e9 * w.map.volume_m3, 1e9 * w.map.tape_m3);
    let tape = if tape > 5e-4 * all { format!(", {} of it from the tape", three(tape)) } else { String::new() };
    format!(
        "the pad's passes remove {}\u{a0}mm³{tape}; they touch {} of the area to be worked",
        three(all),
        percent(w.map.covered_share())
    )
}

/// What all passes could remove, and how much of it falls on the panel.
///
/// Volumes in mm³; the set-up is that of the example of [`map_json`](super::map_json).
#[must_use]
pub fn volume_words(map: &PanelMap) -> String {
    let (all, past) = (1e9 * map.volume_m3, 1e9 * map.spill_m3);
    let could = format!("the pad's passes could remove {}\u{a0}mm³", three(all));
    // Less than the last digit shown.
    if past <= 5e-4 * all {
        format!("{could}; all of it falls on the panel")
    } else {
        format!("{could}; {} of it falls on the panel, the rest past its edges", three(all - past))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_words() {
        assert_eq!(fixed(-0.004, 2), "0.00");
        assert_eq!(fixed(-1.5, 1), "−1.5");
        assert_eq!([f64::NAN, f64::INFINITY].map(three), [NO_NUMBER; 2]);
        assert_eq!([250.4, 25.04, 2.504, 0.2504, 0.02504].map(three), ["250", "25.0", "2.50", "0.250", "0.0250"]);
        assert_eq!([4.5, 3.0, 100.0, 2.25].map(short), ["4.5", "3", "100", "2.25"]);
        assert_eq!(percent(-0.668), "−67\u{a0}%");
    }

    #[test]
    fn limits_in_words() {
        let limit = |name, value, limit, margin, unit| Limit { name, value, limit, margin, unit };
        for (l, words) in [
            (
                limit("spin", 117.78, 60.0, 0.4906, "rpm"),
                ["spin", "117.8\u{a0}rpm, at least 60 wanted", "margin 49\u{a0}%"],
            ),
            (
                limit("stall", 1.67, 1.0, -0.67, "of the stall curvature"),
                ["stall", "1.67 of 1.00 times the stall curvature", "margin −67\u{a0}%: beyond the limit"],
            ),
            (limit("motor_power", 190.0, 200.0, 0.05, "W"), ["motor power", "190 of 200\u{a0}W", "margin 5\u{a0}%"]),
        ] {
            let (name, numbers, margin) = limit_words(&l);
            assert_eq!([name.as_str(), &numbers, &margin], words);
        }
    }
}
