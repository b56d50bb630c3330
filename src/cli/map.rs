//! `map`: cut, coverage and dwell over the panel.

use super::args::{JobArguments, MapArguments, Method};
use super::failure::Failure;
use super::session::Session;
use super::{print_json, text};
use serde_json::{Value, json};
use std::fmt::Write as _;
use trochoid::job::Step;
use trochoid::plan::{StepPlan, StepTask, map_by_grains};
use trochoid::removal::GrainRun;
use trochoid::removal::grains::Agreement;
use trochoid::report::{
    CUT_WHERE_STALLED, map_csv, map_json, surface_csv, surface_map_json, surface_ply, volume_words,
};

pub(crate) fn run(asked: &MapArguments) -> Result<(), Failure> {
    let arguments: &JobArguments = &asked.job;
    let session = Session::open(arguments)?;
    if arguments.json {
        session.only();
    }
    let steps = if arguments.json { &session.steps[..1] } else { &session.steps[..] };
    let mut out = String::new();
    for step in steps {
        if step.surface.is_some() {
            if asked.method == Method::Grains {
                return Err(Failure::Input(format!(
                    "step `{}`: --method grains is given, allowed on the real panel `{}` is footprint: grains are simulated on panels of one curvature (flat, sphere, cylinder, quadric, without free edges)",
                    step.name, step.panel_name
                )));
            }
            if let Some(json) = on_surface(&session, step, arguments.json, &mut out)? {
                return print_json(&json);
            }
            continue;
        }
        // With couplings the cut is that of the coupled step.
        let task = if session.job.coupling.any() { session.plan(step)?.0 } else { session.task(step) };
        let (map, simulated) = match asked.method {
            Method::Footprint => (task.map(&session.settings).map_err(|e| session.fail(step, &e))?, None),
            Method::Grains => map_by_grains(&task, &session.settings, asked.grains as usize, asked.seed)
                .map_err(|e| session.fail(step, &e))?,
        };
        if map.gap_m > 0.0 {
            tell!("warning: step `{}`: {}", step.name, text::gap(map.gap_m));
        }
        if session.writes() {
            let stem = session.stem(step);
            let table = map_csv(&map).map_err(|e| Failure::Unanswered(format!("cannot make the table: {e}")))?;
            let mut files = vec![(format!("{stem}-map.csv"), table)];
            files.extend(pictures(&stem, &step.setup, &map)?);
            session.write(&files)?;
        }
        let mut json = map_json(&step.name, &step.panel_name, &map);
        method_json(&mut json, asked, simulated.as_ref());
        if arguments.json {
            return print_json(&json);
        }
        let _ = writeln!(
            out,
            "step `{}` on `{}`: {} passes {}",
            step.name, step.panel_name, step.passes, step.pattern_name
        );
        if let (Some(c), Some(s), Some(d)) = (map.cut, map.slide, map.dwell) {
            let row = |out: &mut String, name: &str, unit: &str, f: f64, v: &trochoid::math::statistics::Summary| {
                let _ = writeln!(
                    out,
                    "  {name:9} mean {:8.2} {unit:5} 5 % {:8.2}  95 % {:8.2}  spread {:5.1} %",
                    f * v.mean,
                    f * v.p5,
                    f * v.p95,
                    100.0 * v.cv().unwrap_or(0.0)
                );
            };
            row(&mut out, "cut", "µm", 1e6, &c);
            row(&mut out, "coverage", "m/m²", map.grains_per_m2, &s);
            row(&mut out, "dwell", "s", 1.0, &d);
        } else {
            let _ = writeln!(out, "  the pad is too large for the panel to leave a worked area inside its rim");
        }
        if let Some((run, a)) = &simulated {
            let _ = writeln!(
                out,
                "  {} grains, {} steps of {:.3} ms; against the footprint: volume {:+.2} %, {:.2} % apart after 5 mm smoothing",
                run.grains,
                run.steps,
                run.step_s * 1e3,
                100.0 * a.volume,
                100.0 * a.l1
            );
        }
        if step.setup.face_orbit().sticks {
            let _ = writeln!(out, "  {}", text::STICKS);
        }
        if step.setup.stalls_at(map.spin_rad_s, session.settings.useful_spin) && map.volume_m3 > 0.0 {
            let _ = writeln!(out, "  the pad stalls: the cut is {CUT_WHERE_STALLED}");
        }
        let _ = writeln!(out, "  {}; {:.0} s with the pad on", text::plain(&volume_words(&map)), map.path.time());
    }
    session.end(&out)
}

/// Adds how the map was worked out; what no grain was asked for is null.
fn method_json(json: &mut Value, asked: &MapArguments, simulated: Option<&(GrainRun, Agreement)>) {
    let Some(map) = json.as_object_mut() else { return };
    let grains = asked.method == Method::Grains;
    map.insert("method".to_owned(), json!(if grains { "grains" } else { "footprint" }));
    map.insert("grain_count".to_owned(), if grains { json!(asked.grains) } else { Value::Null });
    map.insert("grain_seed".to_owned(), if grains { json!(asked.seed) } else { Value::Null });
    let agreement = simulated.map(|(run, a)| {
        json!({
            "smoothing_mm": 5.0,
            "volume_difference": a.volume,
            "l1_difference": a.l1,
            "rms_difference": a.rms,
            "step_s": run.step_s,
            "stride_mm": run.stride_m * 1e3,
        })
    });
    map.insert("agreement".to_owned(), json!(agreement));
}

/// Works a real panel: its JSON where that is asked for, else its lines of text.
fn on_surface(session: &Session, step: &Step, as_json: bool, out: &mut String) -> Result<Option<Value>, Failure> {
    let (task, plan) = session.plan(step)?;
    let Some(work) = plan.work.surface() else { return Ok(None) };
    if session.writes() {
        let mut files = Vec::new();
        surface_files(session, step, &task, &plan, &mut files)?;
        session.write(&files)?;
    }
    if as_json {
        return Ok(Some(surface_map_json(&step.name, &step.panel_name, work)));
    }
    text::planned(out, step, &plan);
    Ok(None)
}

/// Fields as CSV, the cut on the surface as PLY, and pictures of a worked panel.
pub(crate) fn surface_files(
    session: &Session,
    step: &Step,
    task: &StepTask,
    plan: &StepPlan,
    files: &mut Vec<(String, Vec<u8>)>,
) -> Result<(), Failure> {
    let Some(work) = plan.work.surface() else { return Ok(()) };
    let stem = session.stem(step);
    files.push((format!("{stem}-map.csv"), surface_csv(work)));
    let mesh = step.real_panel.as_ref().and_then(|p| p.mesh.as_deref());
    let ply = surface_ply(work, mesh).map_err(|e| Failure::Unanswered(e.to_string()))?;
    files.push((format!("{stem}-cut.ply"), ply));
    surface_figures(&stem, step, task, plan, files)
}

#[cfg(feature = "plot")]
fn surface_figures(
    stem: &str,
    step: &Step,
    task: &StepTask,
    plan: &StepPlan,
    files: &mut Vec<(String, Vec<u8>)>,
) -> Result<(), Failure> {
    use trochoid::report::pictures::{Shown, surface_pictures, work_chart};
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    for (shown, name) in [(Shown::Cut, "cut"), (Shown::Coverage, "coverage"), (Shown::Dwell, "dwell")] {
        let title = format!("{} over the panel", name[..1].to_uppercase() + &name[1..]);
        let figure = work_chart(&task.setup, &plan.work, shown, &title).figure().map_err(fail)?;
        super::plan::both_formats(files, &format!("{stem}-{name}"), &figure)?;
    }
    if let Some(work) = plan.work.surface() {
        for (name, figure) in surface_pictures(&step.name, task, work).map_err(fail)? {
            super::plan::both_formats(files, &format!("{stem}-{name}"), &figure)?;
        }
    }
    Ok(())
}

#[cfg(not(feature = "plot"))]
#[allow(clippy::unnecessary_wraps)] // the same shape as with pictures
fn surface_figures(
    _: &str,
    _: &Step,
    _: &StepTask,
    _: &StepPlan,
    _: &mut Vec<(String, Vec<u8>)>,
) -> Result<(), Failure> {
    Ok(())
}

#[cfg(feature = "plot")]
fn pictures(
    stem: &str,
    setup: &trochoid::spin::Setup,
    map: &trochoid::removal::PanelMap,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    use trochoid::report::pictures::{Shown, map_picture};
    let mut out = Vec::new();
    for (shown, name, title) in [
        (Shown::Cut, "cut", "Cut over the panel"),
        (Shown::Coverage, "coverage", "Coverage over the panel"),
        (Shown::Dwell, "dwell", "Dwell over the panel"),
    ] {
        let figure = map_picture(setup, map, shown, title).map_err(|e| Failure::Unanswered(e.to_string()))?;
        super::plan::both_formats(&mut out, &format!("{stem}-{name}"), &figure)?;
    }
    Ok(out)
}

#[cfg(not(feature = "plot"))]
#[allow(clippy::unnecessary_wraps)] // the same shape as with pictures
fn pictures(
    _stem: &str,
    _setup: &trochoid::spin::Setup,
    _map: &trochoid::removal::PanelMap,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(Vec::new())
}
