//! `heat`: what friction does to paint, pad and product in each step.

use super::args::JobArguments;
use super::failure::Failure;
use super::progress::Progress;
use super::session::Session;
use super::{print_json, text};
use std::fmt::Write as _;
use trochoid::heat::PadSettings;
#[cfg(feature = "plot")]
use trochoid::job::CoreOverJob;
use trochoid::job::{PadsInRotation, cores_by_pads, pad_courses, pads_in_rotation, step_heats, thermal_task};
#[cfg(feature = "plot")]
use trochoid::math::reduce::map_indexed;
use trochoid::plan::{StepHeat, milder_settings};
use trochoid::report::{HEAT_CAUTIONS, HeatAnswer, ReportHeat, heat_answer_words, heat_json};

/// Most pads in rotation that are looked at.
const MOST_PADS: usize = 6;

pub(crate) fn run(arguments: &JobArguments) -> Result<(), Failure> {
    let mut session = Session::open(arguments)?;
    if arguments.json {
        session.only();
        session.steps.truncate(1);
    }
    let mut out = String::new();
    let progress = Progress::over(session.steps.len(), arguments.json);
    for step in &session.steps {
        progress.at(|| format!("step `{}`", step.name));
        let fail = |e: &trochoid::Error| session.fail(step, e);
        let input =
            |e: &trochoid::Error| Failure::Input(format!("{}: step `{}`: {e}", session.job.file_name, step.name));
        let (task, plan) = session.plan(step)?;
        let steps = std::slice::from_ref(step);
        let mut plans = [plan];
        let heats = step_heats(&session.job, steps, std::slice::from_ref(&task), &mut plans).map_err(|e| input(&e))?;
        let pads = pads_in_rotation(&session.job, steps, &heats).map_err(|e| input(&e))?;
        let (Some(heat), Some(pads)) = (&heats[0], &pads) else {
            let why = "its face sticks: the pad only kneads, and rubs nothing warm";
            if arguments.json || session.steps.len() == 1 {
                return Err(Failure::Unanswered(format!("{}: step `{}`: {why}", session.job.file_name, step.name)));
            }
            let _ = writeln!(out, "step `{}` on `{}`: {why}", step.name, step.panel_name);
            continue;
        };
        let with = thermal_task(&session.job, step);
        let milder = milder_settings(&task, &plans[0], &with, &session.settings).map_err(|e| input(&e))?;
        // A step of its own is short enough for seconds.
        let fine = PadSettings { longest_step_s: 1.0, ..PadSettings::default() };
        let rotation = pads.worked().map_err(|e| input(&e.into()))?;
        let courses = pad_courses(pads, &heats, &rotation, &fine).map_err(|e| fail(&e))?;
        let cores = cores_by_pads(pads, &heats, 0, MOST_PADS).map_err(|e| fail(&e))?;
        let answer = HeatAnswer {
            step,
            task: &task,
            plan: &plans[0],
            heat,
            milder: &milder,
            pads,
            courses: &courses,
            cores: &cores,
        };
        words(&mut out, &answer);
        let json = heat_json(&answer);
        progress.done();
        if session.writes() {
            let stem = session.stem(step);
            let mut files = vec![(format!("{stem}-heat.json"), format!("{json:#}\n").into_bytes())];
            files.extend(pictures(&session, &stem, &answer)?);
            progress.aside(|| session.write(&files))?;
        }
        if arguments.json {
            drop(progress);
            return print_json(&json);
        }
    }
    out.push_str("Cautions\n");
    for line in HEAT_CAUTIONS {
        let _ = writeln!(out, "  {line}");
    }
    drop(progress);
    session.end(&out)
}

/// The answer in words, one line each.
fn words(out: &mut String, a: &HeatAnswer<'_>) {
    let _ = writeln!(out, "step `{}` on `{}`", a.step.name, a.step.panel_name);
    let mut before = "";
    for (what, answer) in heat_answer_words(a) {
        let head = if what == before { "" } else { what };
        let _ = writeln!(out, "  {head:<28}{}", text::plain(&answer));
        before = what;
    }
    text::pads(out, a.pads);
}

#[cfg(feature = "plot")]
fn pictures(session: &Session, stem: &str, a: &HeatAnswer<'_>) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    use trochoid::report::pictures::{PadCharts, StepHeatCharts, course_chart};
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    let mut out = Vec::new();
    let mut figures =
        StepHeatCharts::of(&a.step.name, a.heat, session.job.ambient.relative_humidity).figures(stem).map_err(fail)?;
    figures.extend(PadCharts::of(a.pads, &[a.cores.to_vec()]).map_err(fail)?.figures(stem).map_err(fail)?);
    if let Some(chart) = course_chart(a.pads, a.courses) {
        figures.push((format!("{stem}-pad-course"), chart.figure().map_err(fail)?));
    }
    for (name, figure) in &figures {
        super::plan::both_formats(&mut out, name, figure)?;
    }
    Ok(out)
}

#[cfg(not(feature = "plot"))]
fn pictures(_: &Session, _: &str, _: &HeatAnswer<'_>) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(Vec::new())
}

/// The heat of a plan for its report, with the files of its pictures.
type HeatPictures<'a> = (Vec<(String, Vec<u8>)>, ReportHeat<'a>);

/// Pictures of the heat of every step and of the pads of the whole job, for files and report.
#[cfg(feature = "plot")]
pub(crate) fn report_pictures<'a>(
    session: &Session,
    heats: &'a [Option<StepHeat>],
    pads: Option<&'a PadsInRotation>,
) -> Result<HeatPictures<'a>, Failure> {
    use trochoid::plot::{Figure, PlotError};
    use trochoid::report::pictures::{PadCharts, StepHeatCharts};
    use trochoid::report::{NARROW_WIDTH, ReportPicture};
    let fail = |e: PlotError| Failure::Unanswered(e.to_string());
    let mut files = Vec::new();
    let mut shown = |wide: Vec<(String, Figure)>, narrow: Vec<(String, Figure)>| -> Result<Vec<_>, Failure> {
        let mut pictures = Vec::new();
        for ((name, figure), (_, small)) in wide.iter().zip(&narrow) {
            super::plan::both_formats(&mut files, name, figure)?;
            pictures.push(ReportPicture::new(figure.title(), figure, Some(small)).map_err(fail)?);
        }
        Ok(pictures)
    };
    let humidity = session.job.ambient.relative_humidity;
    let made = map_indexed(heats.len(), |i| {
        let Some(h) = &heats[i] else { return Ok((Vec::new(), Vec::new())) };
        let (step, stem) = (&session.steps[i], session.stem(&session.steps[i]));
        let charts = StepHeatCharts::of(&step.name, h, humidity);
        Ok::<_, PlotError>((charts.figures(&stem)?, charts.narrowed(NARROW_WIDTH).figures(&stem)?))
    });
    let mut pictures = Vec::with_capacity(heats.len());
    for step in made {
        let (wide, narrow) = step.map_err(fail)?;
        pictures.push(shown(wide, narrow)?);
    }
    let pad_pictures = match pads {
        None => Vec::new(),
        Some(pads) => {
            // Without an answer of the conduction model the rotation is shown alone.
            let cores: Vec<Vec<CoreOverJob>> =
                (0..pads.kinds.len()).map(|k| cores_by_pads(pads, heats, k, MOST_PADS).unwrap_or_default()).collect();
            let charts = PadCharts::of(pads, &cores).map_err(fail)?;
            let wide = charts.figures("job").map_err(fail)?;
            shown(wide, charts.narrowed(NARROW_WIDTH).figures("job").map_err(fail)?)?
        }
    };
    let steps = heats.iter().map(Option::as_ref).collect();
    Ok((files, ReportHeat { steps, pictures, pads, pad_pictures, season: None }))
}

/// The heat of every step and the pads without pictures, which this build does not draw.
#[cfg(not(feature = "plot"))]
pub(crate) fn report_pictures<'a>(
    _: &Session,
    heats: &'a [Option<StepHeat>],
    pads: Option<&'a PadsInRotation>,
) -> Result<HeatPictures<'a>, Failure> {
    let steps = heats.iter().map(Option::as_ref).collect();
    Ok((Vec::new(), ReportHeat { steps, pads, ..ReportHeat::default() }))
}
