//! `plan`: every step on its panel, with its limits, and pictures.

use super::args::{JobArguments, PlanArguments};
use super::failure::Failure;
use super::progress::Progress;
use super::session::{Session, names};
use super::{print_json, print_out, text};
use serde_json::{Value, json};
use std::fmt::Write as _;
use trochoid::job::{PadsInRotation, PanelPaint, pads_in_rotation, paint_accounts, step_heats};
use trochoid::math::reduce::map_indexed;
use trochoid::plan::{StepHeat, StepPlan, StepTask, Work, plan_step};
use trochoid::report::{
    Report, ReportPaint, ReportPicture, ReportStep, cautions_text, map_csv, panel_paint_json, plan_json, report_html,
    section_entries, step_json,
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
    let mut planned: Vec<(StepTask, StepPlan)> = Vec::new();
    let parts = if session.writes() { 2 } else { 1 } * session.steps.len();
    let progress = Progress::over(parts, arguments.json);
    for step in &session.steps {
        progress.at(|| format!("step `{}`", step.name));
        let task = session.task(step);
        let plan = plan_step(&task, &session.at_hand(step), &session.settings).map_err(|e| session.fail(step, &e))?;
        planned.push((task, plan));
        progress.done();
    }
    let (tasks, mut plans): (Vec<StepTask>, Vec<StepPlan>) = planned.into_iter().unzip();
    let panels = paint_accounts(&session.job, &session.steps, &mut plans)
        .map_err(|e| Failure::Input(format!("{}: {e}", session.job.file_name)))?;
    let heats = step_heats(&session.job, &session.steps, &tasks, &mut plans)
        .map_err(|e| Failure::Input(format!("{}: {e}", session.job.file_name)))?;
    let rotation = pads_in_rotation(&session.job, &session.steps, &heats)
        .map_err(|e| Failure::Input(format!("{}: {e}", session.job.file_name)))?;
    let planned: Vec<(StepTask, StepPlan)> = tasks.into_iter().zip(plans).collect();
    let steps: Vec<Value> = session
        .steps
        .iter()
        .zip(&planned)
        .zip(&heats)
        .map(|((s, (_, p)), h)| {
            // Without enough pads, what one section does to a cold one.
            let core =
                h.as_ref().map(|h| rotation.as_ref().and_then(|r| r.hottest_core(s)).unwrap_or(h.core_after_section));
            step_json(&names(s), p, h.as_ref(), core.map(trochoid::Temperature::c))
        })
        .collect();
    let pads = pads_of(session, rotation.as_ref());
    let product_ml = rotation.as_ref().and_then(PadsInRotation::product).map(trochoid::units::Volume::ml);
    let time: f64 = planned.iter().map(|(_, p)| p.time_s).sum();
    let assumptions = assumptions(session);
    let entries: Vec<Value> =
        steps.iter().zip(&planned).flat_map(|(json, (_, plan))| section_entries(json, plan)).collect();
    let mut json = plan_json(&entries, &pads, product_ml, time, &assumptions);
    json["panels"] = Value::Array(panels.iter().map(|p| panel_paint_json(p, &session.steps)).collect());

    let mut out = words(session, &planned, &heats, rotation.as_ref(), &panels);
    let _ = writeln!(out, "total    {} with the pad on, {} steps", text::minutes(time), planned.len());
    close(&mut out, assumptions.len());

    if session.writes() {
        let mut files = vec![
            ("plan.json".to_owned(), format!("{json:#}\n").into_bytes()),
            ("plan.txt".to_owned(), out.clone().into_bytes()),
        ];
        // Steps are drawn side by side; the files come out in the order of the steps.
        progress.at(|| "pictures".to_owned());
        let made = map_indexed(planned.len(), |i| {
            let (step, (task, plan)) = (&session.steps[i], &planned[i]);
            let stem = session.stem(step);
            let (drawn, shown) = pictures(session, &stem, &step.name, task, plan)?;
            let mut made = Vec::new();
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
        for ((step, (_, plan)), made) in session.steps.iter().zip(&planned).zip(made) {
            let (step_files, shown) = made?;
            files.extend(step_files);
            printed.push(ReportStep { step, plan, pictures: shown });
            progress.done();
        }
        let (paint_files, paint, calibrations) = paint_pictures(session, &panels, &printed)?;
        files.extend(paint_files);
        let report = report_html(&Report {
            file_name: &session.job.file_name,
            title: session.job.title.as_deref(),
            notes: &session.notes,
            steps: printed,
            policy: &session.job.budget.policy,
            paint,
            calibrations,
            json: &json,
            steps_json: &steps,
            resolved: &session.job.resolved,
            warnings: &session.job.warnings,
        });
        files.insert(0, ("report.html".to_owned(), report.into_bytes()));
        progress.aside(|| session.write(&files))?;
    }
    drop(progress);
    if arguments.json { print_json(&json) } else { print_out(&out) }
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

/// The plan in words: notes, steps, pads, paint.
fn words(
    session: &Session,
    planned: &[(StepTask, StepPlan)],
    heats: &[Option<StepHeat>],
    rotation: Option<&PadsInRotation>,
    panels: &[PanelPaint],
) -> String {
    let mut out = String::new();
    if let Some(title) = &session.job.title {
        let _ = writeln!(out, "{title}");
    }
    for note in &session.notes {
        let _ = writeln!(out, "{note}");
    }
    for ((step, (_, plan)), heat) in session.steps.iter().zip(planned).zip(heats) {
        text::planned(&mut out, step, plan);
        if let Some(h) = heat {
            text::heat(&mut out, h);
        }
    }
    if let Some(r) = rotation {
        text::pads(&mut out, r);
    }
    for panel in panels {
        text::paint(&mut out, panel);
    }
    out
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
fn pictures(_: &Session, _: &str, _: &str, _: &StepTask, _: &StepPlan) -> Result<Pictures, Failure> {
    Ok((Vec::new(), Vec::new()))
}

/// Files by name, the paint of each panel, and what test spots taught.
type PaintPictures<'a> = (Vec<(String, Vec<u8>)>, Vec<ReportPaint<'a>>, Vec<ReportPicture>);

#[cfg(feature = "plot")]
fn paint_pictures<'a>(
    session: &Session,
    panels: &'a [PanelPaint],
    steps: &[ReportStep<'_>],
) -> Result<PaintPictures<'a>, Failure> {
    use trochoid::report::pictures::{coefficient_chart, paint_charts};
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    let plans: Vec<&StepPlan> = steps.iter().map(|s| s.plan).collect();
    let budget = &session.job.budget;
    let made = map_indexed(panels.len(), |i| {
        let panel = &panels[i];
        let stem = format!("paint-{}", session.panel_stem(&panel.panel));
        let charts = paint_charts(panel, &session.steps, &plans, &budget.policy, &budget.readings)
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
        paint.push(ReportPaint { paint: panel, pictures });
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
fn paint_pictures<'a>(
    _: &Session,
    panels: &'a [PanelPaint],
    _: &[ReportStep<'_>],
) -> Result<PaintPictures<'a>, Failure> {
    let paint = panels.iter().map(|paint| ReportPaint { paint, pictures: Vec::new() }).collect();
    Ok((Vec::new(), paint, Vec::new()))
}

/// A figure as SVG and as PNG.
#[cfg(feature = "plot")]
pub(crate) fn both_formats(
    out: &mut Vec<(String, Vec<u8>)>,
    stem: &str,
    figure: &trochoid::plot::Figure,
) -> Result<(), Failure> {
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    out.push((format!("{stem}.svg"), figure.to_svg().map_err(fail)?.into_bytes()));
    out.push((format!("{stem}.png"), figure.to_png(1.5).map_err(fail)?));
    Ok(())
}
