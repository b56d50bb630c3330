//! Step by step: what to change, then pictures and numbers.

use super::answer::{helping, kind, reason};
use super::figures::figure;
use super::overview::number;
use super::words::{self, Standing, fixed, name, percent, three};
use super::{Report, ReportStep, zones};
use crate::plan::AfterStep;
use crate::report::phases::{coupling_words, limit_name_words, phase_words};
use crate::report::wording::{limit_words, throw_gain_words, work_words};
use crate::spin::Remedy;
use maud::{Markup, html};
use serde_json::Value;

/// The section with the remedies.
pub(super) fn changes(report: &Report<'_>) -> Markup {
    let with: Vec<_> = report.steps.iter().filter(|s| !s.plan.state.remedies.is_empty()).collect();
    html! {
        h2 #change-heading { "What to change" }
        @if with.is_empty() {
            p { "No step stalls as set, so no remedy is proposed." }
        }
        @for s in &with {
            @let list = &s.plan.state.remedies;
            @let helps: Vec<&Remedy> = helping(list).collect();
            h3 { (name(&s.step.name)) " on " (name(&s.step.panel_name)) }
            @if helps.is_empty() {
                p { "Nothing that was tried makes this pad turn here." }
            } @else {
                p { "In the order to try them. Each was solved again on this panel unless it says otherwise." }
                ol {
                    @for r in &helps {
                        li { b { (kind(r)) } ": " (reason(r)) @if !r.verified { " (not solved again)" } }
                    }
                }
            }
            @if helps.len() < list.len() {
                p { "No help here:" }
                ul { @for r in list.iter().filter(|r| r.value.is_none()) { li { b { (kind(r)) } ": " (reason(r)) } } }
            }
        }
        @for s in &report.steps {
            @if let Some(w) = s.plan.work.surface() {
                h3 { "Zones of " (name(&s.step.panel_name)) ", " (name(&s.step.name)) }
                (zones::zones(w))
            }
        }
    }
}

fn numbers(s: &ReportStep<'_>, json: &Value) -> Vec<(&'static str, String)> {
    let p = s.plan;
    let state = &p.state;
    let c = &state.run.contact;
    let mut out = vec![
        (
            "Pressure on the face",
            format!("mean {} kPa, peak {} kPa", three(c.mean_pressure_pa / 1e3), three(c.peak_pressure_pa / 1e3)),
        ),
        ("Part of the pad that touches", percent(c.contact_share)),
        (
            "Pressed in",
            format!("{} mm of {} mm at most", three(1e3 * c.compression_m.0), three(1e3 * c.compression_m.1)),
        ),
        ("Spin", words::spin_sentence(p)),
    ];
    if let Some(line) = words::stall_sentence(s.step, state) {
        out.push(("Stall limit", line));
    }
    let gain = throw_gain_words(state).map_or(String::new(), |g| format!("; {g}"));
    out.push(("Throw at the face", format!("{} mm{gain}", fixed(2e3 * state.run.face_orbit_m, 2))));
    out.push((
        "Speed at the face",
        format!(
            "{} m/s on the orbit, {} m/s mean over the pad",
            fixed(state.orbit_speed_m_s, 2),
            fixed(state.pad_mean_speed_m_s, 2)
        ),
    ));
    out.push((
        "Removal",
        format!("{} mm³/s, {} µm a pass", fixed(state.volume_rate_m3_s * 1e9, 4), fixed(state.cut_per_pass_m * 1e6, 3)),
    ));
    if let Some(c) = p.work.cut() {
        out.push((
            "Cut inside the worked area",
            format!(
                "mean {} µm, 5 to 95 % of the area {} to {} µm, spread {}",
                fixed(1e6 * c.mean, 2),
                fixed(1e6 * c.p5, 2),
                fixed(1e6 * c.p95, 2),
                c.cv().map_or_else(|| "undefined".to_owned(), |cv| format!("{} % of the mean", fixed(100.0 * cv, 1)))
            ),
        ));
    }
    out.push(("Volume", work_words(&p.work)));
    out.push(("Part of the panel where the pad stalls", percent(p.stalled_share)));
    out.push((
        "Power",
        format!("{} W of friction, {} N·m on the shaft", fixed(state.friction_w, 0), fixed(state.orbit_torque_nm, 3)),
    ));
    out.push(("Hottest paint", number(&json["peak_paint_c"], "°C")));
    out.push(("Pad core", number(&json["pad_core_c"], "°C")));
    out.push(("Share of the paint budget used", budget_used(p.paint.as_ref(), json)));
    out
}

/// Share of the paint budget used by this step and those before it, or why there is none.
fn budget_used(paint: Option<&AfterStep>, json: &Value) -> String {
    match (json["budget_used_share"].as_f64(), paint) {
        (Some(share), _) => percent(share),
        (None, Some(_)) => "no share: nothing may go".to_owned(),
        (None, None) => words::NOT_YET.to_owned(),
    }
}

/// The phases of a step and what its couplings come to; nothing where it has neither.
fn phases(s: &ReportStep<'_>) -> Markup {
    html! {
        @if let Some(main) = s.plan.main_phase() {
            table.plain {
                caption { "Phases of step " (name(&s.step.name)) "; its state is that of " (name(&main.name)) }
                tbody {
                    @for p in &s.plan.phases { tr { th scope="row" { (name(&p.name)) } td { (phase_words(p)) } } }
                }
            }
        }
        @if let Some(c) = &s.plan.coupling {
            table.plain {
                caption { "Couplings of step " (name(&s.step.name)) ": what each changes, from a fixed point" }
                tbody {
                    @for line in coupling_words(c) {
                        @let (what, how) = line.split_once(": ").unwrap_or(("", &line));
                        tr { th scope="row" { (what) } td { (how) } }
                    }
                }
            }
        }
    }
}

fn details(s: &ReportStep<'_>, json: &Value) -> Markup {
    html! {
        div.tables {
        table.plain {
            caption { "Numbers of step " (name(&s.step.name)) }
            tbody {
                @for (what, value) in numbers(s, json) { tr { th scope="row" { (what) } td { (value) } } }
            }
        }
        (phases(s))
        @if let Some(w) = s.plan.work.surface() { (zones::sections(w)) }
        @if !s.plan.limits.is_empty() {
            table.plain {
                caption { "Limits of step " (name(&s.step.name)) ", the tightest first" }
                tbody {
                    @for l in &s.plan.limits {
                        @let (_, numbers, margin) = limit_words(l);
                        tr { th scope="row" { (words::plain(&limit_name_words(s.plan, l))) } td { (numbers) ", " (margin) } }
                    }
                }
            }
        }
        }
    }
}

/// The section with the pictures and numbers of each step; `shown` figures stand before it.
pub(super) fn pictures(report: &Report<'_>, shown: usize) -> Markup {
    let mut number = shown;
    html! {
        h2 #pictures-heading { "Pictures and numbers" }
        @for (i, s) in report.steps.iter().enumerate() {
            @let standing = Standing::of(s);
            section.step {
                h3 {
                    (name(&s.step.name)) " on " (name(&s.step.panel_name)) " "
                    span class=(standing.class()) { (standing.tag()) }
                }
                @if s.pictures.is_empty() { p { "No pictures: this build draws none." } }
                div.figures {
                    @for p in &s.pictures {
                        ({ number += 1; figure(p, number) })
                    }
                }
                (details(s, report.steps_json.get(i).unwrap_or(&Value::Null)))
            }
        }
    }
}
