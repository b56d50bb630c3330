//! `plan` on a whole vehicle: kits, settings and order for every zone, minutes, needs, report.

use super::args::JobArguments;
use super::failure::Failure;
use super::plan::{assumptions, close};
use super::progress::Progress;
use super::session::Session;
use super::{print_json, text};
use std::fmt::Write as _;
use std::path::Path;
use trochoid::job::vehicle::{VehiclePlan, plan_vehicle};
use trochoid::report::{ReportPicture, VehicleReport, vehicle_json, vehicle_report_html, vehicle_words};

pub(crate) fn run(mut session: Session, arguments: &JobArguments, done: Option<&Path>) -> Result<(), Failure> {
    if let Some(path) = done {
        session.job.read_done(path)?;
    }
    let progress = Progress::over(if session.writes() { 2 } else { 1 }, arguments.json);
    progress.at(|| "the vehicle".to_owned());
    let drag = |tool: &str| session.drag_range_of(tool);
    let plan = plan_vehicle(&session.job, &session.settings, &drag)
        .map_err(|e| Failure::about(&format!("{}: vehicle", session.job.file_name), &e))?;
    progress.done();
    let assumptions = assumptions(&session);
    let json = vehicle_json(&session.job, &plan, &assumptions);
    let mut out = String::new();
    if let Some(title) = &session.job.title {
        let _ = writeln!(out, "{title}");
    }
    for note in &session.notes {
        let _ = writeln!(out, "{note}");
    }
    out.push_str(&text::plain(&vehicle_words(&session.job, &plan)));
    close(&mut out, assumptions.len());
    if session.writes() {
        progress.at(|| "report and pictures".to_owned());
        let mut files = vec![
            ("plan.json".to_owned(), format!("{json:#}\n").into_bytes()),
            ("plan.txt".to_owned(), out.clone().into_bytes()),
            ("time-trace.csv".to_owned(), trace_csv(&plan).into_bytes()),
        ];
        let (drawn, timeline, maps) = pictures(&session, &plan)?;
        files.extend(drawn);
        let report = vehicle_report_html(&VehicleReport {
            job: &session.job,
            plan: &plan,
            notes: &session.notes,
            timeline,
            maps,
        });
        files.insert(0, ("report.html".to_owned(), report.into_bytes()));
        progress.done();
        progress.aside(|| session.write(&files))?;
    }
    drop(progress);
    if arguments.json {
        return print_json(&json);
    }
    session.end(&out)
}

/// Every entry of the trace, a line each.
fn trace_csv(plan: &VehiclePlan) -> String {
    let mut out = String::from("day,start_s,time_s,kind,step\n");
    for e in plan.trace.entries() {
        let step = e.step.map_or(String::new(), |s| (s + 1).to_string());
        let _ = writeln!(out, "{},{},{},{},{step}", e.day + 1, e.start_s, e.time_s, e.minute.word());
    }
    out
}

/// Files by name, the timeline, and a map for each panel by its index.
type Pictures = (Vec<(String, Vec<u8>)>, Option<ReportPicture>, Vec<(usize, ReportPicture)>);

#[cfg(feature = "plot")]
fn pictures(session: &Session, plan: &VehiclePlan) -> Result<Pictures, Failure> {
    use super::plan::both_formats;
    use trochoid::math::reduce::map_indexed;
    use trochoid::report::NARROW_WIDTH;
    use trochoid::report::pictures::{largest_worked_zone, vehicle_timeline, zone_cut_chart};
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    let mut files = Vec::new();
    let mut chart = vehicle_timeline(&session.job, plan);
    let wide = chart.figure().map_err(fail)?;
    both_formats(&mut files, "timeline", &wide)?;
    chart.width = NARROW_WIDTH;
    let narrow = chart.figure().map_err(fail)?;
    let timeline = ReportPicture::new(wide.title(), &wide, Some(&narrow)).map_err(fail)?;
    let panels = session.job.vehicle.as_ref().map_or(0, |v| v.panels.len());
    let made = map_indexed(panels, |panel| {
        let Some(mut chart) = largest_worked_zone(plan, panel).and_then(|z| zone_cut_chart(plan, z)) else {
            return Ok(None);
        };
        let wide = chart.figure().map_err(fail)?;
        let mut files = Vec::new();
        let name = session.job.vehicle.as_ref().map_or("", |v| v.panels[panel].name.as_str());
        both_formats(&mut files, &format!("cut-{}", session.panel_stem(name)), &wide)?;
        chart.width = NARROW_WIDTH;
        let narrow = chart.figure().map_err(fail)?;
        let picture = ReportPicture::new(wide.title(), &wide, Some(&narrow)).map_err(fail)?;
        Ok::<_, Failure>(Some((files, panel, picture)))
    });
    let mut maps = Vec::new();
    for m in made {
        if let Some((own, panel, picture)) = m? {
            files.extend(own);
            maps.push((panel, picture));
        }
    }
    Ok((files, Some(timeline), maps))
}

#[cfg(not(feature = "plot"))]
fn pictures(_: &Session, _: &VehiclePlan) -> Result<Pictures, Failure> {
    Ok((Vec::new(), None, Vec::new()))
}
