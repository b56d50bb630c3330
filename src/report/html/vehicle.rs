//! The printable report of a vehicle: answer, order of work, a job card for each panel, minutes, shopping
//! list, assumptions, cautions. A little script sorts tables and shows one panel at a time; without it, and
//! on paper, everything stands there.

use super::figures::{ReportPicture, figure};
use super::words::{fixed, name, percent, plain};
use super::{cautions, head, made_from, values};
use crate::job::Job;
use crate::job::vehicle::{VehiclePlan, ZonePlan};
use crate::plan::vehicle::{Minute, Phase};
use crate::report::heat::drops_words;
use crate::report::vehicle::{binding_of, clock, outcome_words, settings_words};
use crate::report::wording::pass_word;
use maud::{DOCTYPE, Markup, PreEscaped, html};

const SCRIPT: &str = include_str!("vehicle.js");
const OWN_STYLE: &str = include_str!("vehicle.css");

/// All that the report of a vehicle shows.
#[derive(Debug, Clone)]
pub struct VehicleReport<'a> {
    /// The job.
    pub job: &'a Job,
    /// Its plan.
    pub plan: &'a VehiclePlan,
    /// Remarks about the job: what a calibration found.
    pub notes: &'a [String],
    /// The timeline, where this build draws pictures.
    pub timeline: Option<ReportPicture>,
    /// A map for each panel by its index, where there is one.
    pub maps: Vec<(usize, ReportPicture)>,
}

impl VehicleReport<'_> {
    fn title(&self) -> String {
        let own = self.job.vehicle.as_ref().and_then(|v| v.name.as_deref());
        plain(self.job.title.as_deref().or(own).unwrap_or("Plan of a vehicle"))
    }

    fn file(&self) -> &str {
        self.job.file_name.rsplit(['/', '\\']).next().unwrap_or(&self.job.file_name)
    }
}

/// The report as one HTML document.
///
/// Sorted and filtered by a small script inside; without it all is shown. The plan is that of the
/// example of [`plan_vehicle`](crate::job::vehicle::plan_vehicle), the page is made as in the
/// example of [`report_html`](super::report_html).
#[must_use]
pub fn vehicle_report_html(report: &VehicleReport<'_>) -> String {
    let title = report.title();
    let pages = html! {
        (DOCTYPE)
        html lang="en" {
            (head(&title, "vehicle plan", OWN_STYLE))
            body {
                header {
                    p.kind { "Vehicle plan, " (made_from(report.file())) }
                    h1 { bdi { (title) } }
                    nav aria-label="Contents" {
                        ul {
                            @for (id, word) in [
                                ("answer", "Answer"), ("cautions", "Cautions"), ("order", "Order of work"), ("cards", "Job cards"),
                                ("minutes", "Minutes"), ("shopping", "Shopping list"), ("assumptions", "Assumptions"),
                            ] {
                                li { a href={ "#" (id) } { (word) } }
                            }
                        }
                    }
                }
                main {
                    section #answer aria-labelledby="answer-heading" { (answer(report)) }
                    (cautions())
                    section #order aria-labelledby="order-heading" { (order(report)) }
                    section #cards aria-labelledby="cards-heading" { (cards(report)) }
                    section #minutes aria-labelledby="minutes-heading" { (minutes(report)) }
                    section #shopping aria-labelledby="shopping-heading" { (shopping(report)) }
                    section #assumptions aria-labelledby="assumptions-heading" {
                        (values::section(&report.job.resolved, &report.job.warnings))
                    }
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    let mut text = pages.into_string();
    text.push('\n');
    text
}

fn answer(report: &VehicleReport<'_>) -> Markup {
    let plan = report.plan;
    let days = plan.trace.days();
    let short: Vec<&ZonePlan> = plan.zones.iter().filter(|z| !z.unmet.is_empty()).collect();
    html! {
        h2 #answer-heading { "Answer" }
        p.lead {
            b { (clock(plan.trace.total())) } " in all, " (clock(plan.trace.of(Minute::Work))) " of it with the pad on, in "
            (plan.steps.len()) " steps on " (plan.zones.len()) " zones; "
            @if days == 1 { "it fits into one day. " } @else { b { "it takes " (days) " days. " } }
            (plan.order.tool_swaps) " tool and " (plan.order.pad_swaps) " pad swaps; going panel by panel would take "
            (plan.naive.tool_swaps) " and " (plan.naive.pad_swaps) ". "
            @if short.is_empty() { "Every zone reaches what is wanted at the stated confidence. " }
            "Every number is an estimate: prove it on a test spot."
        }
        @if !plan.changes.is_empty() {
            h3 { "What changed with what is done" }
            ul { @for c in &plan.changes { li { (plain(c)) } } }
        }
        @if !short.is_empty() {
            h3 { "Not reached" }
            ul {
                @for z in short {
                    @for u in &z.unmet { li { b { (name(&z.label)) } ": " (plain(u)) } }
                }
            }
        }
        @if !plan.uncorrectable.is_empty() {
            h3 { "Not by polishing, or not all of it" }
            ul {
                @for u in &plan.uncorrectable {
                    li {
                        b { (name(&u.panel)) } ", " (u.defect) ": "
                        @if u.never { span class="tag bad" { "no passes" } " " }
                        (plain(&u.why))
                    }
                }
            }
        }
        @for note in report.notes { p { (plain(note).replace('`', "\"")) "." } }
        @if let Some(t) = &report.timeline { div.figures { (figure(t, 1)) } }
    }
}

const COLUMNS: [&str; 7] = ["Step", "Zone", "Tool, pad, product", "Settings", "Cut", "Time", "What binds"];

fn order(report: &VehicleReport<'_>) -> Markup {
    let plan = report.plan;
    html! {
        h2 #order-heading { "Order of work" }
        p { "The same kit stays in the hand as long as it can; all cutting comes before all refining, so that no compound dust falls on what is finished." }
        table.cards.sortable.steps role="table" aria-labelledby="order-caption" {
            caption #order-caption { "Steps in the order of work" }
            thead role="rowgroup" { tr role="row" { @for c in COLUMNS { th role="columnheader" scope="col" { (c) } } } }
            tbody role="rowgroup" {
                @for (i, s) in plan.steps.iter().enumerate() {
                    @let z = &plan.zones[s.zone];
                    @let cut = s.plan.cut;
                    tr role="row" {
                        th role="rowheader" scope="row" data-value=(i + 1) { b { (i + 1) } }
                        td role="cell" data-label="Zone" { div { b { (name(&z.label)) } span.more { (s.phase.word()) } } }
                        td role="cell" data-label="Tool, pad, product" {
                            div { (name(&s.step.tool_name)) span.more { (name(&s.step.pad_name)) } span.more { (name(&s.step.product_name)) } }
                        }
                        td role="cell" data-label="Settings" { div { (settings_words(s)) } }
                        td role="cell" data-label="Cut" data-value=(cut.map_or(0.0, |c| c.mean * 1e6)) {
                            div {
                                @match cut {
                                    Some(c) => { (fixed(c.mean * 1e6, 1)) "\u{a0}µm" span.more { (fixed(c.low * 1e6, 1)) " to " (fixed(c.high * 1e6, 1)) } },
                                    None => { (fixed(s.plan.state.cut_per_pass_m * s.plan.passes as f64 * 1e6, 1)) "\u{a0}µm" span.more { "narrower than the pad's reach" } },
                                }
                            }
                        }
                        td role="cell" data-label="Time" data-value=(s.time.s()) {
                            div {
                                (clock(s.time))
                                span.more { "day " (s.day + 1) ", from " (clock(s.start)) }
                                @if s.swaps.0 { span.more { "swap the tool" } }
                                @if s.swaps.1 { span.more { "swap the pad" } }
                            }
                        }
                        td role="cell" data-label="What binds" {
                            div { @match s.plan.limits.first() {
                                Some(l) => { (l.name.replace('_', " ")) span.more { "margin " (percent(l.margin)) } },
                                None => "none",
                            } }
                        }
                    }
                }
            }
        }
    }
}

fn cards(report: &VehicleReport<'_>) -> Markup {
    let plan = report.plan;
    let panels = report.job.vehicle.iter().flat_map(|v| &v.panels).enumerate();
    html! {
        h2 #cards-heading { "Job cards" }
        p #switcher {}
        @for (panel, described) in panels {
            @let zones: Vec<&ZonePlan> = plan.zones.iter().filter(|z| z.panel == panel).collect();
            section.card id={ "card-" (panel + 1) } {
                h3 { (name(&described.name)) }
                @for z in &zones { (zone(report, z)) }
                @if let Some(at) = report.maps.iter().position(|(p, _)| *p == panel) {
                    div.figures { (figure(&report.maps[at].1, at + 2)) }
                }
            }
        }
    }
}

fn zone(report: &VehicleReport<'_>, z: &ZonePlan) -> Markup {
    let (a, b) = z.patch.principal();
    html! {
        table.plain {
            caption {
                (plain(&z.name)) ", " (fixed(z.area.m2(), 2)) "\u{a0}m², curved " (fixed(a, 2)) " and " (fixed(b, 2)) " per metre "
                @if z.reaches { span class="tag good" { "reaches it" } } @else { span class="tag bad" { "falls short" } }
            }
            tbody {
                @for i in &z.steps {
                    @let s = &report.plan.steps[*i];
                    tr {
                        th scope="row" { @if s.phase == Phase::Cut { "Cut" } @else { "Refine" } ", step " (i + 1) }
                        td {
                            (name(&s.step.tool_name)) ", " (name(&s.step.pad_name)) ", " (name(&s.step.product_name)) ": "
                            (settings_words(s)) ". " (clock(s.time)) "."
                            @if let Some(h) = &s.heat {
                                " " (drops_words(h.drops, h.sections))
                                "; paint up to " (fixed(h.peak.surface.c(), 0)) "\u{a0}°C."
                            }
                        }
                    }
                }
                tr { th scope="row" { "Outcome" } td { (outcome_words(z)) } }
                @if let Some(e) = z.edge {
                    tr {
                        th scope="row" { "Edges, " (fixed(e.strip.mm(), 0)) "\u{a0}mm" }
                        td { (e.cut) " " (pass_word(e.cut)) " to cut" @if e.refine > 0 { ", " (e.refine) " to refine" } ", fewer than inside them" }
                    }
                }
                tr { th scope="row" { "What binds" } td { (binding_of(z)) } }
                @for d in &z.done { tr { th scope="row" { "Done" } td { (plain(d)) } } }
                @for u in &z.unmet { tr { th scope="row" { "Not reached" } td { (plain(u)) } } }
            }
        }
    }
}

/// Colour class of a kind of minute; the words beside carry the meaning.
const fn colour(m: Minute) -> usize {
    match m {
        Minute::SetUp | Minute::Masking | Minute::Done => 0,
        Minute::Work => 1,
        Minute::Prime | Minute::Clean | Minute::Wash => 2,
        Minute::Rest => 3,
        Minute::Wipe | Minute::Inspect => 4,
        Minute::ToolSwap | Minute::PadSwap => 5,
    }
}

fn minutes(report: &VehicleReport<'_>) -> Markup {
    let trace = &report.plan.trace;
    let total = trace.total().s().max(1e-9);
    let shown: Vec<Minute> = Minute::ALL.into_iter().filter(|m| trace.of(*m).s() > 0.0).collect();
    html! {
        h2 #minutes-heading { "Where every minute comes from" }
        // The table below says the same in words.
        div.share aria-hidden="true" {
            @for m in &shown {
                @let t = trace.of(*m);
                span class={ "m" (colour(*m)) } style={ "flex:" (format!("{:.4}", t.s() / total)) } title={ (m.words()) ": " (fixed(t.s() / 60.0, 1)) " min" } {}
            }
        }
        table.plain.sortable {
            caption { "Minutes by what they are spent on" }
            thead { tr { th scope="col" { "What" } th scope="col" { "Minutes" } th scope="col" { "Share" } } }
            tbody {
                @for m in &shown {
                    @let t = trace.of(*m).s();
                    tr {
                        th scope="row" { (m.words()) }
                        td data-value=(t) { (fixed(t / 60.0, 1)) }
                        td data-value=(t) { (percent(t / total)) }
                    }
                }
            }
            tfoot { tr { th scope="row" { b { "in all" } } td { b { (fixed(total / 60.0, 1)) } } td { "100\u{a0}%" } } }
        }
    }
}

fn shopping(report: &VehicleReport<'_>) -> Markup {
    let plan = report.plan;
    html! {
        h2 #shopping-heading { "Shopping list" }
        table.plain {
            caption { "What the vehicle takes" }
            tbody {
                @for k in &plan.pads.kinds {
                    tr {
                        th scope="row" { "Pads, " (name(&k.pad)) " with " (name(&k.product)) }
                        td {
                            b { (k.used) }
                            @if let Some(w) = k.wanted.filter(|w| *w > k.used) { " at hand; " (w) " would do without a rest" }
                            "; cleaned every " (k.clean_every) @if k.clean_every == 1 { " section" } @else { " sections" }
                            @if k.rest.s() > 0.0 { "; " (fixed(k.rest.s(), 0)) "\u{a0}s of rest between sections" }
                            @if let Some(p) = k.passed { "; all the same the " (p.limit.name()) " is passed" }
                        }
                    }
                }
                @for (product, v) in &plan.products {
                    tr { th scope="row" { "Product, " (name(product)) } td { (fixed(v.ml(), 0)) "\u{a0}ml, priming included" } }
                }
                tr { th scope="row" { "Tape" } td { (fixed(plan.masking.m(), 0)) "\u{a0}m of edge" } }
                @for (tool, hours) in &plan.tool_hours {
                    tr {
                        th scope="row" { "Hours on " (name(tool)) }
                        td { @for (d, h) in hours.iter().enumerate() { @if d > 0 { ", " } (fixed(h.s() / 3600.0, 1)) "\u{a0}h" } " with the pad on" }
                    }
                }
                tr {
                    th scope="row" { "Vibration exposure of the worst day, A(8)" }
                    td { @match &plan.a8 {
                        Some(dose) => { (fixed(dose.daily.m_s2(), 1)) "\u{a0}m/s² from the declared values, which use often exceeds; action value 2.5, limit value 5.0: follow the local rules" },
                        None => "not told: a tool declares no vibration",
                    } }
                }
            }
        }
    }
}
