//! The answer in plain words: what to set, how long it takes, what binds, what to change.

use super::words::{self, Standing, fixed, minutes, name, percent, short};
use super::{Report, ReportStep};
use crate::report::phases::limit_name_words;
use crate::report::wording::{
    CUT_INTERVAL, CUT_WHERE_STALLED, clear_coat_warning, cut_hides_marks, limit_words, pass_word,
};
use crate::spin::Remedy;
use maud::{Markup, html};

/// The reason of a remedy as text for the page.
pub(super) fn reason(remedy: &Remedy) -> String {
    words::plain(&remedy.reason).replace('`', "\"")
}

/// What a remedy changes.
pub(super) fn kind(remedy: &Remedy) -> String {
    remedy.kind.name().replace('_', " ")
}

/// Remedies that help, in the order to try them.
pub(super) fn helping(list: &[Remedy]) -> impl Iterator<Item = &Remedy> {
    list.iter().filter(|r| r.value.is_some())
}

fn listed(steps: &[&ReportStep<'_>]) -> Markup {
    html! {
        @for (i, s) in steps.iter().enumerate() {
            @if i > 0 { @if i + 1 == steps.len() { " and " } @else { ", " } }
            b { (name(&s.step.name)) }
        }
    }
}

/// What no number of the plan speaks of yet.
fn unchecked(report: &Report<'_>) -> Option<&'static str> {
    let missing =
        |key: &str| (0..report.steps.len()).any(|i| report.steps_json.get(i).is_none_or(|s| s[key].is_null()));
    // A budget without a share is one of which nothing may go: a limit, told among the others.
    let no_budget = report.steps.iter().any(|s| s.plan.paint.is_none());
    match (missing("peak_paint_c") || missing("pad_core_c"), no_budget) {
        (true, true) => Some("heat and paint budget are"),
        (true, false) => Some("heat is"),
        (false, true) => Some("the paint budget is"),
        (false, false) => None,
    }
}

fn summary(report: &Report<'_>) -> Markup {
    let (trouble, fine): (Vec<_>, Vec<_>) = report.steps.iter().partition(|s| !words::trouble(s).is_empty());
    let unsure: Vec<_> = fine.iter().copied().filter(|s| Standing::of(s) == Standing::MayStall).collect();
    let count = report.steps.len();
    html! {
        p.lead {
            (count) @if count == 1 { " step" } @else { " steps" }
            ", " (minutes(report.time_s())) " with the pad on the panel. "
            @if !fine.is_empty() {
                (listed(&fine)) @if fine.len() == 1 { " turns" } @else { " turn" } " as set"
                @if let Some(parts) = unchecked(report) { "; " (parts) " not checked yet" }
                ". "
            }
            @if !unsure.is_empty() {
                "Watch " (listed(&unsure)) ": within what is known of the bearing the pad may stall. "
            }
            @for s in &trouble {
                b { (name(&s.step.name)) } " cannot be worked as set: " (words::trouble(s)) ". "
                @if let Some(r) = helping(&s.plan.state.remedies).next() {
                    "First try " b { (kind(r)) } ": " (reason(r)) ". "
                }
            }
            "Every number is an estimate: prove it on a test spot."
        }
    }
}

fn step(s: &ReportStep<'_>) -> Markup {
    let (step, plan) = (s.step, s.plan);
    let standing = Standing::of(s);
    let rate = words::rate(step, plan);
    let told = step.told(plan);
    let (cut, interval) = words::cut(plan);
    let helps: Vec<&Remedy> = helping(&plan.state.remedies).collect();
    html! {
        li {
            p {
                b { (name(&step.name)) } " on " (name(&step.panel_name)) " "
                span class=(standing.class()) { (standing.tag()) } ". "
                "Set " (name(&step.tool_name)) " to "
                @match told.speed_setting {
                    Some(setting) => { b { "setting " (short(setting)) } " (" (rate) ")" },
                    None => b { (rate) },
                }
                ", with pad " (name(&step.pad_name)) " and " (name(&step.product_name)) ". Press with "
                b { (words::newtons(told.force.n())) } " on the pad face (" (words::hand(told.hand_force_n)) "). Move at "
                b { (short(told.feed.mm_s())) "\u{a0}mm/s" } ", overlap " b { (percent(step.overlap)) } ", "
                b { (plan.passes) " " (pass_word(plan.passes)) } " " (step.pattern_name)
                ": " b { (minutes(plan.time_s)) } " with the pad on. "
                @if let Some(main) = plan.main_phase() {
                    "In " (plan.phases.len()) " phases; settings and spin told here are those of " b { (name(&main.name)) }
                    ", the longest, the others stand with the numbers of the step. "
                }
                @if plan.cut.is_some() {
                    "Cut " b { (cut) } " on average"
                    @if let Some(i) = interval { " (" (i) ", " (CUT_INTERVAL) ")" }
                    @if cut_hides_marks(&plan.state) { ", " (CUT_WHERE_STALLED) }
                    ". "
                } @else {
                    "The pad is too large for the panel to leave a worked area inside its rim; "
                    (fixed(1e6 * plan.state.cut_per_pass_m, 3)) " µm a pass"
                    @if cut_hides_marks(&plan.state) { ", " (CUT_WHERE_STALLED) }
                    ". "
                }
                @if let Some(warning) = clear_coat_warning(step, plan) { b { "Beyond a limit: " (warning) "." } " " }
                @if plan.target_out_of_reach { b { "The target cut is out of reach with these settings." } " " }
                (words::spin_sentence(plan)) " "
                @if let Some(l) = plan.limits.first() {
                    @let (_, numbers, margin) = limit_words(l);
                    "What binds first: " b { (words::plain(&limit_name_words(plan, l))) } ", " (numbers) ", " (margin) "."
                }
                @if !helps.is_empty() {
                    " Try, in this order: "
                    @for (i, r) in helps.iter().enumerate() {
                        @if i > 0 { "; " } "(" (i + 1) ") " b { (kind(r)) } ": " (reason(r))
                    }
                    "."
                }
            }
        }
    }
}

/// The section.
pub(super) fn section(report: &Report<'_>) -> Markup {
    html! {
        h2 #answer-heading { "Answer" }
        (summary(report))
        ol.answer { @for s in &report.steps { (step(s)) } }
        @for note in report.notes { p { (words::plain(note).replace('`', "\"")) "." } }
    }
}
