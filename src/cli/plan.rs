//! `plan`: every step on its panel, with its limits, and pictures.

use super::args::{JobArguments, PlanArguments};
use super::failure::Failure;
use super::progress::Progress;
use super::session::{Session, told_names};
use super::{print_json, text};
use serde_json::{Value, json};
use std::fmt::Write as _;
use trochoid::job::{
    PadsInRotation, PanelPaint, SeasonPlan, Step, pads_in_rotation, paint_accounts, season_plan, step_heats,
};
use trochoid::math::reduce::map_indexed;
use trochoid::plan::{StepHeat, StepPlan, StepTask, Work};
use trochoid::report::{
    Report, ReportPaint, ReportPicture, ReportStep, cautions_text, map_csv, panel_paint_json, plan_json, report_html,
    season_json, season_words, section_entries, step_json,
};

pub(crate) fn run(arguments: &PlanArguments) -> Result<(), Failure> {
    let session = Session::open_any(&arguments.job)?;
    if session.job.vehicle.is_some() {
        return super::vehicle::run(session, &arguments.job, arguments.done.as_deref());
    }
    if arguments.done.is_some() {
        return Err(Failure::Input(format!(
            "{}: --done speaks of a vehicle's plan, and the job has no [vehicle]",
            session.job.file_name
        )));
    }
    run_steps(&session, &arguments.job)
}

/// Plans a job of steps.
fn run_steps(session: &Session, arguments: &JobArguments) -> Result<(), Failure> {
    let parts = session.before.len() + if session.writes() { 2 } else { 1 } * session.steps.len();
    let progress = Progress::over(parts, arguments.json);
    let planned = Planned::of(session, &progress)?;
    let assumptions = assumptions(session);
    let (mut json, steps) = planned.json(session, &assumptions);
    let mut out = planned.words(session);
    super::hand::exposure(session, &planned.steps, &mut json, &mut out)?;
    let (time, count) = (planned.time_s(), planned.steps.len());
    let _ = writeln!(out, "total    {} with the pad on, {count} steps", text::minutes(time));
    close(&mut out, assumptions.len());
    if session.writes() {
        let mut files = vec![
            ("plan.json".to_owned(), format!("{json:#}\n").into_bytes()),
            ("plan.txt".to_owned(), out.clone().into_bytes()),
        ];
        planned.draw(session, &progress, &json, &steps, &mut files)?;
        progress.aside(|| session.write(&files))?;
    }
    drop(progress);
    if arguments.json {
        return print_json(&json);
    }
    session.end(&out)
}

/// Everything planned.
struct Planned {
    /// The steps whose work the paint has seen: those before the ones asked for, then they.
    worked: Vec<Step>,
    /// Plans of the steps before the ones asked for.
    earlier: Vec<StepPlan>,
    /// The steps asked for.
    steps: Vec<(StepTask, StepPlan)>,
    heats: Vec<Option<StepHeat>>,
    hands: Vec<super::hand::StepHand>,
    rotation: Option<PadsInRotation>,
    season: Option<SeasonPlan>,
    panels: Vec<PanelPaint>,
}

impl Planned {
    fn of(session: &Session, progress: &Progress) -> Result<Self, Failure> {
        let worked = session.worked();
        let (mut tasks, mut plans) = (Vec::new(), Vec::new());
        for step in &worked {
            progress.at(|| format!("step `{}`", step.name));
            let (task, plan) = session.plan(step)?;
            tasks.push(task);
            plans.push(plan);
            progress.done();
        }
        let of_job = |e: trochoid::Error| Failure::Input(format!("{}: {e}", session.job.file_name));
        let of_season = |e: trochoid::RangeError| Failure::Input(format!("{}: {e}", session.job.file_name));
        let panels = paint_accounts(&session.job, &worked, &mut plans).map_err(of_job)?;
        // Earlier steps have taken their share of the paint; all else is told of the steps asked for.
        let earlier: Vec<StepPlan> = plans.drain(..session.before.len()).collect();
        tasks.drain(..session.before.len());
        let heats = step_heats(&session.job, &session.steps, &tasks, &mut plans).map_err(of_job)?;
        let rotation = pads_in_rotation(&session.job, &session.steps, &heats).map_err(of_job)?;
        let season = season_plan(session.job.season.as_ref(), rotation.as_ref()).map_err(of_season)?;
        let steps: Vec<(StepTask, StepPlan)> = tasks.into_iter().zip(plans).collect();
        let hands = super::hand::hands(session, &steps, &panels)?;
        Ok(Self { worked, earlier, steps, heats, hands, rotation, season, panels })
    }

    /// Time with the pad on, s.
    fn time_s(&self) -> f64 {
        self.steps.iter().map(|(_, p)| p.time_s).sum()
    }

    /// The whole as JSON, and each step's own.
    fn json(&self, session: &Session, assumptions: &[Value]) -> (Value, Vec<Value>) {
        let rotation = self.rotation.as_ref();
        let steps: Vec<Value> = session
            .steps
            .iter()
            .zip(&self.steps)
            .zip(&self.heats)
            .zip(&self.hands)
            .map(|(((s, (_, p)), h), hand)| {
                // Without enough pads, what one section does to a cold one.
                let core = h.as_ref().map(|h| rotation.and_then(|r| r.hottest_core(s)).unwrap_or(h.core_after_section));
                let mut json = step_json(&told_names(s, p), p, h.as_ref(), core.map(trochoid::Temperature::c));
                super::hand::put(&mut json, hand);
                json
            })
            .collect();
        let pads = pads_of(session, rotation);
        let product_ml = rotation.and_then(PadsInRotation::product).map(trochoid::units::Volume::ml);
        let entries: Vec<Value> =
            steps.iter().zip(&self.steps).flat_map(|(json, (_, plan))| section_entries(json, plan)).collect();
        let mut json = plan_json(&entries, &pads, product_ml, self.time_s(), assumptions);
        json["season"] = self.season.as_ref().map_or(Value::Null, season_json);
        json["panels"] = Value::Array(self.panels.iter().map(|p| panel_paint_json(p, &self.worked)).collect());
        (json, steps)
    }

    /// The plan in words: notes, steps, pads, paint.
    fn words(&self, session: &Session) -> String {
        let mut out = String::new();
        if let Some(title) = &session.job.title {
            let _ = writeln!(out, "{title}");
        }
        for note in &session.notes {
            let _ = writeln!(out, "{note}");
        }
        let parts = session.steps.iter().zip(&self.steps).zip(&self.heats).zip(&self.hands);
        for (((step, (_, plan)), heat), hand) in parts {
            text::planned(&mut out, step, plan);
            if let Some(h) = heat {
                text::heat(&mut out, h);
            }
            super::hand::text(&mut out, hand);
        }
        if let Some(r) = &self.rotation {
            text::pads(&mut out, r);
        }
        for panel in &self.panels {
            text::paint(&mut out, panel, &self.worked);
        }
        for (what, answer) in self.season.as_ref().map_or_else(Vec::new, season_words) {
            let _ = writeln!(out, "season   {}: {}", text::plain(&what), text::plain(&answer));
        }
        out
    }

    /// Tables, pictures and the report.
    fn draw(
        &self,
        session: &Session,
        progress: &Progress,
        json: &Value,
        steps_json: &[Value],
        files: &mut Vec<(String, Vec<u8>)>,
    ) -> Result<(), Failure> {
        // Steps are drawn side by side; the files come out in the order of the steps.
        progress.at(|| "pictures".to_owned());
        let made = map_indexed(self.steps.len(), |i| {
            let (step, (task, plan)) = (&session.steps[i], &self.steps[i]);
            let stem = session.stem(step);
            let (drawn, mut shown) = pictures(session, &stem, &step.name, task, plan)?;
            let mut made = Vec::new();
            super::hand::files(&stem, step, &self.hands[i], &mut made, &mut shown)?;
            match &plan.work {
                Work::Patch(map) => {
                    let table = map_csv(map).map_err(|e| Failure::Unanswered(format!("cannot make the table: {e}")))?;
                    made.push((format!("{stem}-map.csv"), table));
                }
                Work::Surface(_) => super::map::surface_files(session, step, task, plan, &mut made)?,
            }
            // A picture that the report shows too is written once.
            for file in drawn {
                if !made.iter().any(|(name, _)| *name == file.0) {
                    made.push(file);
                }
            }
            Ok::<_, Failure>((made, shown))
        });
        let mut printed = Vec::new();
        for ((step, (_, plan)), made) in session.steps.iter().zip(&self.steps).zip(made) {
            let (step_files, shown) = made?;
            files.extend(step_files);
            printed.push(ReportStep { step, plan, pictures: shown });
            progress.done();
        }
        let plans: Vec<&StepPlan> = self.earlier.iter().chain(self.steps.iter().map(|s| &s.1)).collect();
        let (paint_files, paint, calibrations) = paint_pictures(session, &self.panels, &self.worked, &plans)?;
        files.extend(paint_files);
        let (heat_files, mut heat) = super::heat::report_pictures(session, &self.heats, self.rotation.as_ref())?;
        files.extend(heat_files);
        heat.season = self.season.as_ref();
        let report = report_html(&Report {
            file_name: &session.job.file_name,
            title: session.job.title.as_deref(),
            notes: &session.notes,
            steps: printed,
            policy: &session.job.budget.policy,
            paint,
            heat,
            calibrations,
            json,
            steps_json,
            resolved: &session.job.resolved,
            warnings: &session.job.warnings,
        });
        files.insert(0, ("report.html".to_owned(), report.into_bytes()));
        Ok(())
    }
}

/// The pads of the job by name, and how many of each it takes, where that is known.
fn pads_of<'s>(session: &'s Session, rotation: Option<&PadsInRotation>) -> Vec<(&'s str, Option<usize>)> {
    let mut pads: Vec<&str> = session.steps.iter().map(|s| s.pad_name.as_str()).collect();
    pads.sort_unstable();
    pads.dedup();
    pads.into_iter().map(|p| (p, rotation.and_then(|r| r.count_of(p)))).collect()
}

/// The last lines of a plan: how much was assumed, and the cautions.
pub(super) fn close(out: &mut String, assumed: usize) {
    let _ =
        writeln!(out, "{assumed} values were assumed or defaulted; `trochoid check` lists them with their sources.");
    out.push_str(&cautions_text());
}

/// Every default that the job rests on.
pub(super) fn assumptions(session: &Session) -> Vec<Value> {
    let of =
        |r: &trochoid::job::Resolved| json!({ "key": r.key, "value": r.value, "source": r.source, "grade": r.grade });
    session.job.resolved.iter().filter(|r| r.is_default).map(of).collect()
}

/// Files by name, and pictures for the printable report.
type Pictures = (Vec<(String, Vec<u8>)>, Vec<ReportPicture>);

#[cfg(feature = "plot")]
fn pictures(session: &Session, stem: &str, title: &str, task: &StepTask, plan: &StepPlan) -> Result<Pictures, Failure> {
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    // The charts are computed once and laid out twice, for paper and for a narrow screen.
    let charts = trochoid::report::pictures::step_charts(title, task, plan, &session.settings).map_err(fail)?;
    let list = charts.figures(stem).map_err(fail)?;
    let narrow = trochoid::report::narrow_pictures(stem, &charts, plan.passes).map_err(fail)?;
    let (mut files, mut shown) = (Vec::new(), Vec::new());
    for (name, figure) in &list {
        both_formats(&mut files, name, figure)?;
        let small = narrow.iter().find(|(n, _)| n == name).map(|(_, f)| f);
        shown.push(ReportPicture::new(figure.title(), figure, small).map_err(fail)?);
    }
    Ok((files, shown))
}

#[cfg(not(feature = "plot"))]
#[allow(clippy::unnecessary_wraps)] // the same shape as with pictures
fn pictures(_: &Session, _: &str, _: &str, _: &StepTask, _: &StepPlan) -> Result<Pictures, Failure> {
    Ok((Vec::new(), Vec::new()))
}

/// Files by name, the paint of each panel, and what test spots taught.
type PaintPictures<'a> = (Vec<(String, Vec<u8>)>, Vec<ReportPaint<'a>>, Vec<ReportPicture>);

#[cfg(feature = "plot")]
fn paint_pictures<'a>(
    session: &Session,
    panels: &'a [PanelPaint],
    worked: &'a [Step],
    plans: &[&StepPlan],
) -> Result<PaintPictures<'a>, Failure> {
    use trochoid::report::pictures::{coefficient_chart, paint_charts};
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    let budget = &session.job.budget;
    let made = map_indexed(panels.len(), |i| {
        let panel = &panels[i];
        let stem = format!("paint-{}", session.panel_stem(&panel.panel));
        let charts = paint_charts(panel, worked, plans, &budget.policy, &budget.readings)
            .map_err(|e| Failure::Unanswered(format!("panel `{}`: {e}", panel.panel)))?;
        let wide = charts.figures(&stem).map_err(fail)?;
        let missing = charts.missing.clone();
        let narrow = charts.narrowed(trochoid::report::NARROW_WIDTH).figures(&stem).map_err(fail)?;
        let (mut files, mut pictures) = (Vec::new(), Vec::new());
        for ((name, figure), (_, small)) in wide.iter().zip(&narrow) {
            both_formats(&mut files, name, figure)?;
            pictures.push(ReportPicture::new(figure.title(), figure, Some(small)).map_err(fail)?);
        }
        Ok::<_, Failure>((files, pictures, missing))
    });
    let (mut files, mut paint) = (Vec::new(), Vec::new());
    for (panel, made) in panels.iter().zip(made) {
        let (own, pictures, missing) = made?;
        for why in missing {
            tell!("note: {why}");
        }
        files.extend(own);
        paint.push(ReportPaint { paint: panel, worked, pictures });
    }
    let mut calibrations = Vec::new();
    for (i, c) in session.calibrations.iter().enumerate() {
        let mut chart = coefficient_chart(&c.whose, c.spots, &c.found);
        let figure = chart.figure().map_err(fail)?;
        both_formats(&mut files, &format!("paint-coefficient-{}", i + 1), &figure)?;
        chart.width = trochoid::report::NARROW_WIDTH;
        let small = chart.figure().map_err(fail)?;
        calibrations.push(ReportPicture::new(figure.title(), &figure, Some(&small)).map_err(fail)?);
    }
    Ok((files, paint, calibrations))
}

#[cfg(not(feature = "plot"))]
#[allow(clippy::unnecessary_wraps)] // the same shape as with pictures
fn paint_pictures<'a>(
    _: &Session,
    panels: &'a [PanelPaint],
    worked: &'a [Step],
    _: &[&StepPlan],
) -> Result<PaintPictures<'a>, Failure> {
    let paint = panels.iter().map(|paint| ReportPaint { paint, worked, pictures: Vec::new() }).collect();
    Ok((Vec::new(), paint, Vec::new()))
}

/// A figure as SVG and as PNG.
#[cfg(feature = "plot")]
pub(crate) fn both_formats(
    out: &mut Vec<(String, Vec<u8>)>,
    stem: &str,
    figure: &trochoid::plot::Figure,
) -> Result<(), Failure> {
    out.extend(trochoid::report::figure_files(stem, figure).map_err(|e| Failure::Unanswered(e.to_string()))?);
    Ok(())
}
