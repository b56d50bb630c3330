//! The printable report of a plan: one HTML document with its style and its figures inside, readable
//! without a network, without scripts, on a phone, a desk and on paper.
//!
//! The answer comes first, in words; then the steps in a table, what to change, the paint of each panel, heat and pads,
//! pictures and numbers of each step, what was assumed, and the cautions. Everything a job file brings in as text goes
//! through the escaping of the template. Not a result format: machines read the JSON.

mod answer;
mod figures;
mod heat;
#[cfg(feature = "plot")]
mod narrow;
mod overview;
mod paint;
mod steps;
mod values;
mod vehicle;
mod words;
mod zones;

pub use figures::ReportPicture;
pub use heat::ReportHeat;
#[cfg(feature = "plot")]
pub use narrow::{NARROW_WIDTH, narrow_pictures};
pub use vehicle::{VehicleReport, vehicle_report_html};

use super::cautions::CAUTIONS;
use crate::budget::Policy;
use crate::job::{PanelPaint, Resolved, Step};
use crate::plan::StepPlan;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use serde_json::Value;
use words::plain;

const STYLE: &str = include_str!("style.css");

/// A step of the report.
#[derive(Debug, Clone)]
pub struct ReportStep<'a> {
    /// The step as it was read.
    pub step: &'a Step,
    /// What was planned.
    pub plan: &'a StepPlan,
    /// Its pictures, in the order in which they are shown.
    pub pictures: Vec<ReportPicture>,
}

/// The paint of a panel in the report.
#[derive(Debug, Clone)]
pub struct ReportPaint<'a> {
    /// The account.
    pub paint: &'a PanelPaint,
    /// The steps that its indices mean.
    pub worked: &'a [Step],
    /// Its pictures, in the order in which they are shown.
    pub pictures: Vec<ReportPicture>,
}

/// All that the report shows.
#[derive(Debug, Clone)]
pub struct Report<'a> {
    /// Name of the job file; a path is cut down to its last part.
    pub file_name: &'a str,
    /// Title of the job.
    pub title: Option<&'a str>,
    /// Remarks about the job, one a paragraph: what a calibration found.
    pub notes: &'a [String],
    /// The steps in their order.
    pub steps: Vec<ReportStep<'a>>,
    /// How much of the clear coat may go.
    pub policy: &'a Policy,
    /// The paint of each panel.
    pub paint: Vec<ReportPaint<'a>>,
    /// Heat of the steps, and the pads.
    pub heat: ReportHeat<'a>,
    /// What test spots taught of the removal coefficients.
    pub calibrations: Vec<ReportPicture>,
    /// The plan's JSON: numbers that are null there are said to be not computed yet.
    pub json: &'a Value,
    /// The plan's JSON of each step as a whole, in the order of the steps; what is missing counts as null.
    pub steps_json: &'a [Value],
    /// Every value of the job, given or default.
    pub resolved: &'a [Resolved],
    /// What of the job has no effect or looks unintended.
    pub warnings: &'a [String],
}

impl Report<'_> {
    /// The file name without its folders, of either system's spelling.
    fn file(&self) -> &str {
        self.file_name.rsplit(['/', '\\']).next().unwrap_or(self.file_name)
    }

    fn time_s(&self) -> f64 {
        self.steps.iter().map(|s| s.plan.time_s).sum()
    }
}

/// The head of a document: its title and what it is, the style with what it needs beside.
fn head(title: &str, what: &str, own_style: &str) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="color-scheme" content="light";
            title { (title) " - " (what) }
            style { (PreEscaped(STYLE)) (PreEscaped(own_style)) }
        }
    }
}

/// What made a document, and from which job.
fn made_from(file: &str) -> Markup {
    html! { "trochoid " (env!("CARGO_PKG_VERSION")) ", job file " bdi { (plain(file)) } }
}

/// The cautions: before the long tables, where they are read.
fn cautions() -> Markup {
    html! {
        section #cautions aria-labelledby="cautions-heading" {
            h2 #cautions-heading { "Cautions" }
            ul { @for line in CAUTIONS { li { (line) } } }
        }
    }
}

/// The report as one HTML document.
///
/// Whatever stands in the job as text is escaped; figures stand inside as SVG. Nothing is loaded from outside.
///
/// # Example
/// ```
/// use serde_json::json;
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::plan_step;
/// use trochoid::report::{Report, ReportHeat, ReportStep, report_html};
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let task = job.steps[0].task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let json = json!({ "totals": { "time_s": plan.time_s } });
/// let report = Report {
///     file_name: "/home/shop/starter.toml",
///     title: Some("Door <first try>"),
///     notes: &[],
///     steps: vec![ReportStep { step: &job.steps[0], plan: &plan, pictures: Vec::new() }],
///     policy: &job.budget.policy,
///     paint: Vec::new(),
///     heat: ReportHeat::default(),
///     calibrations: Vec::new(),
///     json: &json,
///     steps_json: &[],
///     resolved: &job.resolved,
///     warnings: &job.warnings,
/// };
/// let page = report_html(&report);
/// // The title is text, not markup; of the path only the name is told.
/// assert!(page.contains("Door &lt;first try&gt;") && !page.contains("/home/shop"));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn report_html(report: &Report<'_>) -> String {
    let title = report.title.map_or_else(|| format!("Plan of {}", report.file()), str::to_owned);
    let title = plain(&title);
    let pages = html! {
        (DOCTYPE)
        html lang="en" {
            (head(&title, "polishing plan", ""))
            body {
                header {
                    p.kind { "Polishing plan, " (made_from(report.file())) }
                    h1 { bdi { (title) } }
                    nav aria-label="Contents" {
                        ul {
                            li { a href="#answer" { "Answer" } }
                            li { a href="#steps" { "Steps" } }
                            li { a href="#change" { "What to change" } }
                            li { a href="#cautions" { "Cautions" } }
                            li { a href="#paint" { "Paint" } }
                            li { a href="#heat" { "Heat, product and pads" } }
                            li { a href="#pictures" { "Pictures" } }
                            li { a href="#assumptions" { "Assumptions" } }
                        }
                    }
                }
                main {
                    section #answer aria-labelledby="answer-heading" { (answer::section(report)) }
                    section #steps aria-labelledby="steps-heading" { (overview::section(report)) }
                    section #change aria-labelledby="change-heading" { (steps::changes(report)) }
                    (cautions())
                    section #paint aria-labelledby="paint-heading" { (paint::section(report)) }
                    section #heat aria-labelledby="heat-heading" { (heat::section(report, paint::pictures_in(report))) }
                    section #pictures aria-labelledby="pictures-heading" { (steps::pictures(report, paint::pictures_in(report) + heat::pictures_in(report))) }
                    section #assumptions aria-labelledby="assumptions-heading" { (values::section(report.resolved, report.warnings)) }
                }
            }
        }
    };
    let mut text = pages.into_string();
    text.push('\n');
    text
}
