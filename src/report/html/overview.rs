//! The steps at a glance: one table, which a narrow screen shows as cards.

use super::words::{self, NOT_YET, Standing, minutes, name, percent, short};
use super::{Report, ReportStep};
use crate::report::phases::limit_name_words;
use crate::report::wording::{CUT_INTERVAL, cut_hides_marks, limit_words};
use maud::{Markup, html};
use serde_json::Value;

/// A cell with the name of its column, for the card form, and a second line where there is one.
///
/// Roles are spelled out: a table laid out as cards would lose them.
fn cell(label: &str, main: &Markup, more: &[Markup]) -> Markup {
    html! {
        td role="cell" data-label=(label) {
            div { (main) @for m in more { span.more { (m) } } }
        }
    }
}

fn text(t: &str) -> Markup {
    html! { (t) }
}

const COLUMNS: [&str; 9] = [
    "Step, panel",
    "Tool, pad, product",
    "Rate or setting",
    "Force",
    "Passes, time",
    "Spin (range)",
    "Stall number",
    "Cut (90 % interval)",
    "Binding limit",
];

fn row(s: &ReportStep<'_>) -> Markup {
    let (step, plan) = (s.step, s.plan);
    let standing = Standing::of(s);
    let rate = words::rate(step, plan);
    let told = step.told(plan);
    let setting = told.speed_setting.map(|v| format!("setting {}", short(v)));
    let (spin, range) = words::spin(&plan.state);
    let (cut, interval) = words::cut(plan);
    let passes = format!("{} {}", plan.passes, step.pattern_name);
    let lead = format!("{}\u{a0}mm/s, overlap {}", short(told.feed.mm_s()), percent(step.overlap));
    html! {
        tr role="row" {
            th role="rowheader" scope="row" {
                b { (name(&step.name)) }
                span.more { "on " (name(&step.panel_name)) }
                span.more { span class=(standing.class()) { (standing.tag()) } }
            }
            (cell(COLUMNS[1], &name(&step.tool_name), &[name(&step.pad_name), name(&step.product_name)]))
            (match &setting {
                Some(setting) => cell(COLUMNS[2], &text(setting), &[text(&rate)]),
                None => cell(COLUMNS[2], &text(&rate), &[]),
            })
            (cell(COLUMNS[3], &text(&format!("{} on the face", words::newtons(told.force.n()))), &[text(&words::hand(told.hand_force_n))]))
            (cell(COLUMNS[4], &text(&passes), &[text(&minutes(plan.time_s)), text(&lead)]))
            (cell(COLUMNS[5], &text(&spin), &range.iter().map(|r| text(r)).collect::<Vec<_>>()))
            (cell(COLUMNS[6], &text(&words::stall_number(&plan.state)), &[]))
            (cell(COLUMNS[7], &text(&cut), &interval.iter().map(|i| text(i)).collect::<Vec<_>>()))
            (match plan.limits.first() {
                Some(l) => {
                    let (_, numbers, margin) = limit_words(l);
                    let what = words::plain(&limit_name_words(plan, l));
                    cell(COLUMNS[8], &html! { b { (what) } }, &[text(&numbers), text(&margin)])
                }
                None => cell(COLUMNS[8], &text("none"), &[]),
            })
        }
    }
}

/// A number of the plan's JSON with its unit; null is said to be missing.
pub(super) fn number(value: &Value, unit: &str) -> String {
    value.as_f64().map_or_else(|| NOT_YET.to_owned(), |v| format!("{} {unit}", words::three(v)))
}

fn pads(report: &Report<'_>) -> Vec<(String, String)> {
    let totals = report.json["totals"]["pads"].as_object();
    totals.into_iter().flatten().map(|(pad, n)| (pad.clone(), n.as_f64().map_or(NOT_YET.to_owned(), short))).collect()
}

/// What belongs to the exposure of the day, where it is known.
fn exposure(totals: &Value) -> Vec<(&'static str, String)> {
    let mut out = Vec::new();
    let share = |key: &str| totals[key].as_f64().map(percent);
    if let (Some(action), Some(limit), Some(points)) =
        (share("vibration_action_share"), share("vibration_limit_share"), totals["vibration_points"].as_f64())
    {
        let value = format!("{action} of the action value, {limit} of the limit; {points:.0} points");
        out.push(("Of 2.5 and 5 m/s² (2002/44/EC)", value));
    }
    if let (Some(low), Some(high)) = (totals["a8_in_use_m_s2"][0].as_f64(), totals["a8_in_use_m_s2"][1].as_f64()) {
        out.push((
            "A(8) at 7 to 10 m/s², as found in use",
            format!("{} to {} m/s²", words::three(low), words::three(high)),
        ));
    }
    if let Some(level) = totals["noise_lex8h_db"].as_f64() {
        out.push(("Noise exposure of the day", format!("{level:.1} dB(A)")));
    }
    out
}

/// The section.
pub(super) fn section(report: &Report<'_>) -> Markup {
    let totals = &report.json["totals"];
    html! {
        h2 #steps-heading { "Steps at a glance" }
        table.cards.overview role="table" aria-labelledby="steps-caption" {
            caption #steps-caption { "Settings and outcome of each step" }
            thead role="rowgroup" {
                tr role="row" { @for c in COLUMNS { th role="columnheader" scope="col" { (c) } } }
            }
            tbody role="rowgroup" { @for s in &report.steps { (row(s)) } }
        }
        p.note {
            "Spin range: over what is known of the bearing's drag. Stall number: the panel's curvature over the one at which \
             the pad stalls; from 1 on it stalls. Cut: " (CUT_INTERVAL) ". Margin: how far a limit is, as a share of it."
            @if report.steps.iter().any(|s| cut_hides_marks(&s.plan.state)) {
                " Where the pad stalls the cut is averaged over the spin and does not show the marks."
            }
            @if report.steps.iter().any(|s| words::shows_reversal(&s.plan.state)) { " " (words::REVERSAL) }
        }
        table.plain role="table" {
            caption { "Totals" }
            tbody {
                tr { th scope="row" { "Time with the pad on" } td { (minutes(report.time_s())) } }
                @for (pad, n) in pads(report) {
                    tr { th scope="row" { "Pads needed, " (name(&pad)) } td { (n) } }
                }
                tr { th scope="row" { "Product" } td { (number(&totals["product_ml"], "ml")) } }
                tr { th scope="row" { "Vibration exposure of the day, A(8)" } td { (number(&totals["a8_m_s2"], "m/s²")) } }
                @for (what, value) in exposure(totals) { tr { th scope="row" { (what) } td { (value) } } }
            }
        }
    }
}
