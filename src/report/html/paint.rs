//! The paint of each panel: what may go, what goes, what becomes of its defects, how it looks.

use super::figures::figure;
use super::words::{fixed, name, percent, plain};
use super::{Report, ReportPaint};
use crate::finish::MarkKind;
use crate::job::FewestSteps;
use crate::plan::{AfterStep, DefectLeft, Look};
use crate::report::paint::{
    advice_words, binding_words, chance_words, clear_source_words, policy_words, verdict_words,
};
use crate::units::Length;
use core::fmt::Write as _;
use maud::{Markup, html};

fn um(m: f64, decimals: usize) -> String {
    fixed(Length::from_m(m).um(), decimals)
}

/// A value with its ends, µm.
fn ranged(best: f64, low: f64, high: f64, decimals: usize) -> String {
    format!("{}\u{a0}µm ({} to {})", um(best, decimals), um(low, decimals), um(high, decimals))
}

/// Figures that this section shows.
pub(super) fn pictures_in(report: &Report<'_>) -> usize {
    report.paint.iter().map(|p| p.pictures.len()).sum::<usize>() + report.calibrations.len()
}

fn removed(a: &AfterStep) -> String {
    let share = if a.used_share.is_finite() {
        format!("{} of what may go", percent(a.used_share))
    } else {
        "nothing may go".to_owned()
    };
    format!("{}, {share}", ranged(a.removed.mean, a.removed.low, a.removed.high, 2))
}

fn defect(d: &DefectLeft) -> String {
    let (best, low, high) = &d.correction;
    format!(
        "{} corrected to the eye ({} to {}), {} still to be seen; {}",
        percent(best.optical),
        percent(low.optical),
        percent(high.optical),
        percent(best.still_seen),
        advice_words(&d.deepest)
    )
}

fn fewest(f: &FewestSteps) -> String {
    let goal = format!("{} of the {} gone to the eye, no haze, within the budget", percent(f.target), f.defect.name());
    if f.steps.is_empty() {
        return format!("no choice of these steps reaches it ({goal}): {}", f.why_none.join("; "));
    }
    let each: Vec<String> = f
        .steps
        .iter()
        .zip(&f.edge_passes)
        .map(|((step, n), edge)| format!("{n} passes of {step} (along edges and lines {edge})"))
        .collect();
    format!("{}: {}\u{a0}µm in all ({goal})", each.join(", then "), um(f.cut_m, 1))
}

fn finish(look: Option<&Look>) -> String {
    let Some(l) = look else {
        return "not told: the grain of a product (grain_um) is not given".to_owned();
    };
    let nm = |m: f64| fixed(1e3 * Length::from_m(m).um(), 0);
    let r = l.roughness_m;
    let mut out = format!("roughness {}\u{a0}nm ({} to {})", nm(r.best), nm(r.low), nm(r.high));
    let _ = match &l.gloss[0] {
        Some(g) => {
            let [best, low, high] = [g.units.best, g.units.low, g.units.high].map(|u| fixed(u, 0));
            write!(out, ", gloss at 20° {best} ({low} to {high})")
        }
        None => write!(out, ", too rough for a gloss to be told"),
    };
    if let Some(h) = l.haze.as_ref().and_then(|h| h.middle) {
        let _ = write!(out, ", haze {} ({} of it from roughness)", fixed(h.reading, 0), fixed(h.from_scatter(), 1));
    }
    if l.kind == Some(MarkKind::Hologram) {
        out.push_str(", marks along one direction: holograms");
    }
    format!("{out}; {}", verdict_words(l.decision.verdict))
}

/// Rows of a panel's table: what, and the answer.
fn rows(report: &Report<'_>, p: &ReportPaint<'_>) -> Vec<(String, String)> {
    let (paint, account) = (p.paint, &p.paint.account);
    let allowed = &account.allowance.allowed;
    let mut out = vec![(
        "Clear coat".to_owned(),
        format!(
            "{}\u{a0}± {}\u{a0}µm (90\u{a0}%), {}",
            um(paint.clear.mean_m(), 0),
            um(1.645 * paint.clear.sd_m(), 0),
            clear_source_words(paint.clear.source())
        ),
    )];
    if let Some(f) = &paint.film {
        out.push((
            "Film read".to_owned(),
            format!(
                "{} readings of the {} film, mean {}; anywhere on the panel {} to {}\u{a0}µm",
                f.readings.len(),
                f.part.word(),
                ranged(f.mean.best, f.mean.low, f.mean.high, 1),
                um(f.anywhere.low, 0),
                um(f.anywhere.high, 0)
            ),
        ));
        out.extend(f.flags.iter().map(|flag| ("Look closer".to_owned(), flag.words())));
    }
    out.push((
        "May go".to_owned(),
        format!(
            "{}; {}: {}",
            ranged(allowed.best, allowed.low, allowed.high, 1),
            policy_words(report.policy),
            binding_words(account.allowance.binding)
        ),
    ));
    if let Some(a) = account.steps.last() {
        out.push(("Removed by all steps".to_owned(), removed(a)));
        out.push(("Chance of taking more than may go".to_owned(), chance_words(a.over_probability)));
        let left = a.jobs_left.map_or_else(|| "nothing is cut".to_owned(), |j| j.words());
        out.push(("Jobs left after this one".to_owned(), left));
        out.extend(a.defects.iter().map(|d| (format!("Defect: {}", d.defect.name()), defect(d))));
        out.push(("Finish".to_owned(), finish(a.look.as_ref())));
    }
    if let Some(share) = paint.over_area_share.filter(|s| *s > 0.0) {
        out.push((
            "Thin film".to_owned(),
            format!("on {} of the area the steps take more than the thinner film there may give", percent(share)),
        ));
    }
    if let Some(e) = &paint.edges {
        let names = paint.steps.iter().filter_map(|i| p.worked.get(*i)).map(|s| s.name.as_str());
        out.push(("Edges and body lines".to_owned(), e.words(names)));
    }
    if let Some(f) = &paint.fewest {
        out.push(("Fewest of these steps".to_owned(), fewest(f)));
    }
    out.extend(
        account.not_by_polishing.iter().map(|(what, why)| (format!("Not by polishing: {what}"), (*why).to_owned())),
    );
    out
}

/// The section.
pub(super) fn section(report: &Report<'_>) -> Markup {
    let mut number = 0;
    let mut cautions: Vec<&str> = Vec::new();
    for c in report.paint.iter().flat_map(|p| &p.paint.account.allowance.cautions) {
        if !cautions.contains(c) {
            cautions.push(c);
        }
    }
    html! {
        h2 #paint-heading { "Paint" }
        @for p in &report.paint {
            h3 { "Paint of " (name(&p.paint.panel)) }
            table.plain {
                caption { "Paint account of " (name(&p.paint.panel)) ", after all its steps" }
                tbody {
                    @for (what, answer) in rows(report, p) { tr { th scope="row" { (what) } td { (plain(&answer)) } } }
                }
            }
            div.figures {
                @for picture in &p.pictures { ({ number += 1; figure(picture, number) }) }
            }
        }
        @if !report.calibrations.is_empty() {
            h3 { "What the test spots taught" }
            div.figures {
                @for picture in &report.calibrations { ({ number += 1; figure(picture, number) }) }
            }
        }
        @for c in &cautions { p.note { (c) } }
        p.note {
            "Ranges in brackets hold nine times in ten, for what is not known of the removal coefficient, the film and the \
             roughness. Depths of defects are assumed."
        }
    }
}
