//! What the plan rests on: every default with its source and grade, every value given, and what
//! follows from those.

use super::words::plain;
use crate::job::Resolved;
use maud::{Markup, html};
use std::collections::HashMap;

/// A key that may break after its dots and underscores.
fn key(text: &str) -> Markup {
    let text = plain(text);
    html! {
        code { @for part in text.split_inclusive(['.', '_']) { (part) wbr; } }
    }
}

/// Values that read alike in several tables of a kind share a row: the first of them, and the tables' names.
fn alike<'r>(rows: &[&'r Resolved]) -> Vec<(&'r Resolved, Vec<&'r str>)> {
    let mut out: Vec<(&Resolved, Vec<&str>)> = Vec::new();
    let mut places = HashMap::new();
    for r in rows {
        let (table, rest) = part_of(&r.key);
        let (kind, name) = table.split_once('.').unwrap_or((table, ""));
        let place = *places.entry((kind, rest, &r.value, &r.source)).or_insert(out.len());
        match out.get_mut(place) {
            Some(row) => row.1.push(name),
            None => out.push((r, vec![name])),
        }
    }
    out
}

/// The key of a row: whole where it stands for one table, else without the name, and the names below it.
fn keys(r: &Resolved, names: &[&str]) -> Markup {
    let (table, rest) = part_of(&r.key);
    let kind = table.split_once('.').map_or(table, |t| t.0);
    html! {
        @if names.len() == 1 {
            (key(&r.key))
        } @else {
            (key(&format!("{kind}.*.{rest}")))
            span.more { @for (i, n) in names.iter().enumerate() { @if i > 0 { ", " } (key(n)) } }
        }
    }
}

/// Values with source and grade, one a row.
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
                @for (r, names) in alike(rows) {
                    tr role="row" {
                        th role="rowheader" scope="row" { (keys(r, &names)) }
                        td role="cell" data-label="Value" { div { (plain(&r.value)) } }
                        td role="cell" data-label="Source" { div { (plain(&r.source)) } }
                        td role="cell" data-label="Grade" { div { @match r.grade { Some(g) => (g), None => "not graded" } } }
                    }
                }
            }
        }
    }
}

/// Table of the job file that a key stands in, and the rest of the key.
fn part_of(key: &str) -> (&str, &str) {
    let named = ["tool.", "pad.", "product.", "paint.", "pairing.", "panel.", "step."];
    let dots = if named.iter().any(|n| key.starts_with(n)) { 2 } else { 1 };
    match key.match_indices('.').nth(dots - 1) {
        Some((at, _)) => (&key[..at], &key[at + 1..]),
        None => ("", key),
    }
}

/// Values from the job file, a row for each of its tables.
fn given_table(rows: &[&Resolved]) -> Markup {
    html! {
        table.plain.given {
            caption { "Values given in the job file, table by table" }
            thead { tr { th scope="col" { "Table" } th scope="col" { "Keys and values" } } }
            tbody {
                @for group in rows.chunk_by(|a, b| part_of(&a.key).0 == part_of(&b.key).0) {
                    tr {
                        th scope="row" {
                            @match group.first().map_or("", |r| part_of(&r.key).0) {
                                "" => "job",
                                name => (key(name)),
                            }
                        }
                        td {
                            @for (i, r) in group.iter().enumerate() {
                                @if i > 0 { "; " }
                                span.key { (key(part_of(&r.key).1)) } " " (plain(&r.value))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The section.
pub(super) fn section(resolved: &[Resolved], warnings: &[String]) -> Markup {
    let (defaults, others): (Vec<&Resolved>, Vec<&Resolved>) = resolved.iter().partition(|r| r.is_default);
    // What the job file itself says has no grade: how well it is known is its writer's to say.
    let (follows, given): (Vec<&Resolved>, Vec<&Resolved>) = others.into_iter().partition(|r| r.grade.is_some());
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
        (given_table(&given))
        @if !follows.is_empty() {
            (table("follows-caption", "What follows from the values given", &follows))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::part_of;

    #[test]
    fn keys_fall_apart_at_their_table() {
        assert_eq!(part_of("tool.wide.bearing.bore_mm"), ("tool.wide", "bearing.bore_mm"));
        assert_eq!(part_of("ambient.temperature_c"), ("ambient", "temperature_c"));
        assert_eq!(part_of("schema"), ("", "schema"));
        assert_eq!(part_of("step.cut"), ("", "step.cut"));
    }
}
