//! The checks as Markdown: a table by source for the README, and a page with every single check.
//!
//! Plain text from the list of checks; nothing is computed here.

use super::{Check, CheckKind};
use std::fmt::Write as _;

/// Head of the table by source.
const HEAD: &str = "| what | kind | source | checks | worst error | tolerance |\n|---|---|---|---|---|---|\n";
/// Head of the table of single checks.
const SINGLE_HEAD: &str = "| check | expected | got | error | tolerance |\n|---|---|---|---|---|\n";

fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

/// Digits of an error: enough to see its size.
fn short(value: f64) -> String {
    format!("{value:.1e}")
}

/// A number to one digit beyond the first of its tolerance, so that the agreement can be seen.
fn digits(value: f64, tolerance: f64) -> String {
    // Of a tolerance that is not above zero, or so small that no digit would show it, all digits count.
    let wanted = if tolerance > 0.0 { 1.0 - tolerance.log10().floor() } else { 12.0 };
    // Between 0 and 12: the range of the comparison, in whole numbers.
    let decimals = (0..12_u8).find(|d| f64::from(*d) >= wanted).unwrap_or(12);
    format!("{value:.*}", usize::from(decimals))
}

fn with_unit(value: String, unit: &str) -> String {
    if unit.is_empty() { value } else { format!("{value} {unit}") }
}

/// Checks that share group, source and unit, in the order in which each first comes.
fn by_source(checks: &[Check]) -> Vec<Vec<&Check>> {
    let mut out: Vec<Vec<&Check>> = Vec::new();
    for c in checks {
        let same = |o: &&Check| (o.group, o.source, o.unit) == (c.group, c.source, c.unit);
        match out.iter_mut().find(|list| list.first().is_some_and(same)) {
            Some(list) => list.push(c),
            None => out.push(vec![c]),
        }
    }
    out
}

/// One row for each group, source and unit: how many checks, and the one that uses most of its tolerance.
///
/// # Example
/// ```
/// let table = trochoid::verify::summary_table(&trochoid::verify::all());
/// assert!(table.starts_with("| what | kind | source |") && table.lines().count() > 20);
/// ```
#[must_use]
pub fn summary_table(checks: &[Check]) -> String {
    let mut out = HEAD.to_owned();
    for of in by_source(checks) {
        let share = |c: &&&Check| c.error() / c.tolerance;
        let Some(worst) = of.iter().max_by(|a, b| share(a).total_cmp(&share(b))) else { continue };
        let _ = writeln!(
            out,
            "| {} | {} | {} | {} | {} | {} |",
            cell(worst.group),
            worst.kind.name(),
            cell(worst.source),
            of.len(),
            with_unit(short(worst.error()), worst.unit),
            with_unit(short(worst.tolerance), worst.unit),
        );
    }
    out
}

/// The page `validation.md`: the table by source and every single check.
///
/// # Example
/// ```
/// let page = trochoid::verify::page(&trochoid::verify::all());
/// assert!(page.starts_with("# Validation") && !page.contains("FAIL"));
/// ```
#[must_use]
pub fn page(checks: &[Check]) -> String {
    let failed = checks.iter().filter(|c| !c.passed()).count();
    let count = |kind: CheckKind| checks.iter().filter(|c| c.kind == kind).count();
    let mut out = format!(
        "# Validation\n\n\
         Written by `trochoid verify --out notebooks-free-docs`; the tests fail when it is out of date. Do not edit it.\n\n\
         {} checks, {failed} failed: {} against numbers computed, apart from this crate, from a **published** formula or\n\
         table; {} against a textbook formula or another quadrature of the model (**computed**); {} against a formula\n\
         derived for this project (**own**). None of them is a measurement on paint: they show that the numbers follow\n\
         from the model, not that the model is right. That only a test spot and a count of turns can show.\n\n\
         Most tolerances are half the last digit that the source prints, so an error near its tolerance is the source's\n\
         rounding.\n\n## By source\n\n{}\n## Every check\n",
        checks.len(),
        count(CheckKind::Published),
        count(CheckKind::Computed),
        count(CheckKind::Own),
        summary_table(checks)
    );
    for of in by_source(checks) {
        let Some(first) = of.first() else { continue };
        let _ = write!(out, "\n### {}\n\n{} ({}).\n\n{SINGLE_HEAD}", first.group, first.source, first.kind.name());
        for c in of {
            let got = digits(c.got, c.tolerance);
            let _ = writeln!(
                out,
                "| {}{} | {} | {} | {} | {} |",
                if c.passed() { "" } else { "FAIL: " },
                cell(&c.name),
                with_unit(digits(c.expected, c.tolerance), c.unit),
                with_unit(got, c.unit),
                short(c.error()),
                short(c.tolerance),
            );
        }
    }
    out
}
