//! What the plan rests on: every default with its source and grade, and every value given.

use super::words::plain;
use crate::job::Resolved;
use maud::{Markup, html};

/// A key that may break after its dots and underscores.
fn key(text: &str) -> Markup {
    let text = plain(text);
    html! {
        code { @for part in text.split_inclusive(['.', '_']) { (part) wbr; } }
    }
}

fn table(id: &str, caption: &str, rows: &[&Resolved]) -> Markup {
    html! {
        table.cards.values role="table" aria-labelledby=(id) {
            caption id=(id) { (caption) }
            thead role="rowgroup" {
                tr role="row" {
                    @for c in ["Key", "Value", "Source", "Grade"] { th role="columnheader" scope="col" { (c) } }
                }
            }
            tbody role="rowgroup" {
                @for r in rows {
                    tr role="row" {
                        th role="rowheader" scope="row" { (key(&r.key)) }
                        td role="cell" data-label="Value" { div { (plain(&r.value)) } }
                        td role="cell" data-label="Source" { div { (plain(&r.source)) } }
                        td role="cell" data-label="Grade" {
                            div { @match r.grade { Some(g) => (g), None => "as given" } }
                        }
                    }
                }
            }
        }
    }
}

/// The section.
pub(super) fn section(resolved: &[Resolved], warnings: &[String]) -> Markup {
    let (defaults, given): (Vec<&Resolved>, Vec<&Resolved>) = resolved.iter().partition(|r| r.is_default);
    html! {
        h2 #assumptions-heading { "Assumptions" }
        h3 { "Assumed: what the job left out" }
        p {
            "Grades: measured, read off the thing itself; standard, from a published standard or handbook; derived, \
             follows from other values; assumed, an engineering guess or common practice."
        }
        @if defaults.is_empty() {
            p { "Nothing was left out." }
        } @else {
            (table("defaults-caption", "Defaults used", &defaults))
        }
        h3 { "Given by the job" }
        @if !warnings.is_empty() {
            p { "To look at again:" }
            ul { @for w in warnings { li { (plain(w)) } } }
        }
        (table("given-caption", "Values given, and what follows from them", &given))
    }
}
