//! Heat, product and pads: how warm each step gets, what the pads of the job do and cost.

use super::figures::figure;
use super::words::{name, plain};
use super::{Report, ReportPicture};
use crate::job::{PadsInRotation, SeasonPlan};
use crate::plan::StepHeat;
use crate::report::heat::{HEAT_CAUTIONS, heat_words, pads_words, season_words};
use maud::{Markup, html};

/// Heat of the steps and the pads of the job.
#[derive(Debug, Clone, Default)]
pub struct ReportHeat<'a> {
    /// Heat of each step; `None` for a face that sticks.
    pub steps: Vec<Option<&'a StepHeat>>,
    /// Pictures of each step's heat.
    pub pictures: Vec<Vec<ReportPicture>>,
    /// The pads in rotation.
    pub pads: Option<&'a PadsInRotation>,
    /// Pictures of the pads.
    pub pad_pictures: Vec<ReportPicture>,
    /// What a season's pads cost.
    pub season: Option<&'a SeasonPlan>,
}

/// Figures that this section shows.
pub(super) fn pictures_in(report: &Report<'_>) -> usize {
    report.heat.pictures.iter().map(Vec::len).sum::<usize>() + report.heat.pad_pictures.len()
}

fn table(caption: &Markup, rows: &[(String, String)]) -> Markup {
    html! {
        table.plain {
            caption { (caption) }
            tbody { @for (what, answer) in rows { tr { th scope="row" { (plain(what)) } td { (plain(answer)) } } } }
        }
    }
}

/// The section; `shown` figures stand before it.
pub(super) fn section(report: &Report<'_>, shown: usize) -> Markup {
    let mut number = shown;
    let heat = &report.heat;
    html! {
        h2 #heat-heading { "Heat, product and pads" }
        @for (i, (s, h)) in report.steps.iter().zip(&heat.steps).enumerate() {
            h3 { "Heat of " (name(&s.step.name)) }
            @match h {
                None => p { "Its face sticks: the pad only kneads, and rubs nothing warm." },
                Some(h) => {
                    @let rows: Vec<_> = heat_words(h).into_iter().map(|(w, a)| (w.to_owned(), a)).collect();
                    (table(&html! { "Heat and product of " (name(&s.step.name)) }, &rows))
                }
            }
            @if let Some(own) = heat.pictures.get(i) {
                div.figures { @for p in own { ({ number += 1; figure(p, number) }) } }
            }
        }
        @if let Some(pads) = heat.pads {
            h3 { "Pads of the job" }
            (table(&html! { "Pads in rotation" }, &pads_words(pads)))
            div.figures { @for p in &heat.pad_pictures { ({ number += 1; figure(p, number) }) } }
        }
        @if let Some(season) = heat.season {
            h3 { "Pads over a season" }
            (table(&html! { "A season of vehicles like this job; money in the unit of the prices" }, &season_words(season)))
        }
        @for c in HEAT_CAUTIONS { p.note { (c) } }
        p.note {
            "Wear, loading and drying rest on assumed laws: they rank ways of working. One timed section and one worn-out \
             pad of your own set them right."
        }
    }
}
