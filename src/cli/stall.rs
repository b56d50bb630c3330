//! `stall`: stall-threshold curves over orbit rate, force, throw and pad size.

use super::args::JobArguments;
use super::failure::Failure;
use super::print_json;
use super::progress::Progress;
use super::session::Session;
use serde_json::{Map, Value, json};
use std::fmt::Write as _;
use trochoid::job::Step;
use trochoid::report::curves_csv;
use trochoid::spin::{Against, StallOutcome, stall_curvature, stall_curve};

const SWEEPS: [Against; 5] =
    [Against::OrbitRate, Against::Force, Against::Throw, Against::PadDiameter, Against::PadThickness];

/// Values of one sweep and its curves as (force, drag factor, curvatures).
struct Sweep {
    against: Against,
    values: Vec<f64>,
    curves: Vec<(f64, f64, Vec<StallOutcome>)>,
}

fn sweep(session: &Session, step: &Step, against: Against) -> Sweep {
    use trochoid::spin::Setup;
    let setup = &step.setup;
    let values = trochoid::spin::sweep_values(setup, against);
    let range = session.drag_range(step);
    let mut curves = Vec::new();
    let mut push = |at: &Setup, factor: f64| {
        curves.push((at.force().n(), factor, stall_curve(at, against, &values, &session.settings, factor)));
    };
    if against == Against::OrbitRate {
        for force in trochoid::spin::force_family(setup) {
            if let Ok(at) = Against::Force.set(setup, force) {
                push(&at, 1.0);
            }
        }
    } else {
        push(setup, 1.0);
    }
    for factor in [range.0, range.1] {
        // A drag that nothing bounds stalls nowhere: there is no curve to give.
        if factor.is_finite() {
            push(setup, factor);
        }
    }
    Sweep { against, values, curves }
}

/// Keeps the steps with a free pad, which alone can stall, and notes the others.
fn free_only(session: &mut Session) -> Result<(), Failure> {
    const WHY: &str = "its pad turns whatever the panel, so there is no stall curve";
    let is_driven = |step: &Step| step.setup.tool().bearing().is_none();
    let tell_of =
        |step: &Step| format!("step `{}`: the drive of tool `{}` is not free: {WHY}", step.name, step.tool_name);
    let driven: Vec<String> = session.steps.iter().filter(|s| is_driven(s)).map(tell_of).collect();
    if driven.len() == session.steps.len() {
        return Err(Failure::Unanswered(format!("{}: {}", session.job.file_name, driven.join("; "))));
    }
    for note in driven {
        tell!("note: {note}");
    }
    session.steps.retain(|s| !is_driven(s));
    Ok(())
}

pub(crate) fn run(arguments: &JobArguments) -> Result<(), Failure> {
    let mut session = Session::open(arguments)?;
    free_only(&mut session)?;
    if arguments.json {
        session.only();
    }
    let steps = if arguments.json { &session.steps[..1] } else { &session.steps[..] };
    let mut text = String::new();
    let parts = SWEEPS.len() + usize::from(session.writes());
    let progress = Progress::over(parts * steps.len(), arguments.json);
    for step in steps {
        let setup = &step.setup;
        let own = stall_curvature(setup, &session.settings, 1.0).map_err(|e| session.fail(step, &e.into()))?;
        let mut sweeps = Vec::with_capacity(SWEEPS.len());
        for against in SWEEPS {
            progress.at(|| format!("step `{}` over {}", step.name, against.key()));
            sweeps.push(sweep(&session, step, against));
            progress.done();
        }
        let patch = setup.patch();
        let (k1, k2) = patch.principal();
        if session.writes() {
            let stem = session.stem(step);
            let mut files = Vec::new();
            for s in &sweeps {
                let mut columns = vec![(s.against.key().to_owned(), s.values.iter().map(|v| Some(*v)).collect())];
                for (force, factor, curve) in &s.curves {
                    let values = curve.iter().map(|o| o.curvature()).collect();
                    columns.push((format!("stall_curvature_per_m_at_{force:.1}_n_drag_x{factor:.2}"), values));
                }
                let table =
                    curves_csv(&columns).map_err(|e| Failure::Unanswered(format!("cannot make the table: {e}")))?;
                files.push((format!("{stem}-stall-{}.csv", s.against.key()), table));
            }
            progress.at(|| format!("pictures of step `{}`", step.name));
            files.extend(pictures(&session, step, &stem)?);
            progress.done();
            progress.aside(|| session.write(&files))?;
        }
        if arguments.json {
            let mut all = Map::new();
            for s in &sweeps {
                let curves: Vec<Value> = s
                    .curves
                    .iter()
                    .map(|(force, factor, curve)| {
                        let values: Vec<Option<f64>> = curve.iter().map(|o| o.curvature()).collect();
                        let stalls: Vec<&str> = curve.iter().map(|o| o.name()).collect();
                        json!({ "force_n": force, "drag_factor": factor, "stall_curvature_per_m": values, "stalls": stalls })
                    })
                    .collect();
                all.insert(s.against.key().to_owned(), json!({ "values": s.values, "curves": curves }));
            }
            return print_json(&json!({
                "step": step.name,
                "panel": step.panel_name,
                "panel_curvature_per_m": [k1, k2],
                "useful_spin_rpm": trochoid::AngularRate::from_rad_s(session.settings.useful_spin).rpm(),
                "stall_curvature_along_panel_ratio_per_m": own.curvature(),
                "stalls": own.name(),
                "sweeps": all,
            }));
        }
        let _ =
            writeln!(text, "step `{}` on `{}` (curvatures {k1:.2} and {k2:.2} per metre)", step.name, step.panel_name);
        let _ = match own {
            StallOutcome::At(k) if k < 0.0 => {
                writeln!(text, "  stalls in hollows tighter than {}", super::text::curvature(k))
            }
            StallOutcome::At(k) => {
                writeln!(text, "  stalls on the flat; turns on crowns tighter than {}", super::text::curvature(k))
            }
            StallOutcome::Always => writeln!(text, "  stalls on the flat and on every crown"),
            StallOutcome::Sticks => writeln!(text, "  the face sticks: the pad only kneads and never turns"),
            StallOutcome::Never | StallOutcome::Driven | StallOutcome::Refused => {
                writeln!(text, "  no stall before 20 per metre or before the pad bottoms out")
            }
        };
        for s in &sweeps {
            let _ = writeln!(text, "  {:>18}  stall curvature, 1/m", s.against.key());
            let curve = s.curves.iter().find(|c| (c.0 - setup.force().n()).abs() < 1e-9 && (c.1 - 1.0).abs() < 1e-9);
            if let Some((_, _, curve)) = curve {
                for (v, k) in s.values.iter().zip(curve).step_by(4) {
                    let k = k.curvature().map_or(k.name().to_owned(), |k| format!("{k:.3}"));
                    let _ = writeln!(text, "  {v:18.1}  {k}");
                }
            }
        }
    }
    drop(progress);
    session.end(&text)
}

#[cfg(feature = "plot")]
fn pictures(session: &Session, step: &Step, stem: &str) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    use trochoid::report::pictures::{stall_picture, stall_sweeps_picture};
    let fail = |e: trochoid::plot::PlotError| Failure::Unanswered(e.to_string());
    let range = session.drag_range(step);
    let mut out = Vec::new();
    let main = stall_picture(&step.setup, range, &session.settings).map_err(fail)?;
    super::plan::both_formats(&mut out, &format!("{stem}-stall"), &main)?;
    let sweeps = stall_sweeps_picture(&step.setup, &session.settings).map_err(fail)?;
    super::plan::both_formats(&mut out, &format!("{stem}-stall-sweeps"), &sweeps)?;
    Ok(out)
}

#[cfg(not(feature = "plot"))]
#[allow(clippy::unnecessary_wraps)] // the same shape as with pictures
fn pictures(_session: &Session, _step: &Step, _stem: &str) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(Vec::new())
}
