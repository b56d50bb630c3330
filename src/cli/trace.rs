//! `trace`: what the grains of a pad draw.

use super::args::TraceArguments;
use super::failure::Failure;
use super::print_json;
use super::session::Session;
use std::fmt::Write as _;
use trochoid::plan::{GrainTrace, TraceSettings, trace_grains};
use trochoid::report::trace_json;
use trochoid::spin::spin_state;
use trochoid::{AngularRate, Length};

pub(crate) fn run(arguments: &TraceArguments) -> Result<(), Failure> {
    let session = Session::open(&arguments.job)?;
    if arguments.job.json {
        session.only();
    }
    let steps = if arguments.job.json { &session.steps[..1] } else { &session.steps[..] };
    let width = Length::from_um(f64::from(arguments.grain_width_um)).m();
    let settings = TraceSettings { seed: arguments.seed, grain_width_m: width, ..TraceSettings::default() };
    let mut out = String::new();
    for step in steps {
        let state = spin_state(&step.setup, step.setup.patch(), &session.settings.contact)
            .map_err(|e| session.fail(step, &e.into()))?;
        if state.sticks {
            return Err(Failure::Unanswered(format!(
                "step `{}`: the face sticks and the pad only kneads: its grains draw nothing",
                step.name
            )));
        }
        let settings = TraceSettings { feed_m_s: step.feed.m_s(), ..settings };
        let trace = trace_grains(&step.setup, &state, &settings).map_err(|e| session.fail(step, &e))?;
        if session.writes() {
            let stem = session.stem(step);
            let files = pictures(&stem, &step.name, &step.setup, &trace)?;
            session.write(&files)?;
        }
        if arguments.job.json {
            return print_json(&trace_json(&step.name, &step.panel_name, arguments.seed, width, &trace));
        }
        told(&mut out, &step.name, &step.panel_name, &trace);
    }
    session.end(&out)
}

fn told(out: &mut String, step: &str, panel: &str, t: &GrainTrace) {
    let _ = writeln!(out, "step `{step}` at the centre of `{panel}`");
    let _ = writeln!(out, "  {:20} {:>8}  {:>8}  {:>5}  {:>7}", "pad", "spin", "one way", "bands", "touched");
    let share = |v: Option<f64>| v.map_or_else(|| "none".to_owned(), |v| format!("{v:.2}"));
    for d in &t.drives {
        let touched = d.touched.last().map_or_else(|| "none".to_owned(), |(_, s)| format!("{:.0} %", 100.0 * s));
        let _ = writeln!(
            out,
            "  {:20} {:>8}  {:>8}  {:>5}  {touched:>7}",
            d.name,
            format!("{:.0} rpm", AngularRate::from_rad_s(d.spin).rpm()),
            share(d.anisotropy),
            share(d.halo.banding),
        );
    }
    let orbits = t.drives.first().and_then(|d| d.touched.last()).map_or(0.0, |l| l.0);
    let _ = writeln!(
        out,
        "  one way: anisotropy of the scratches, 0 every way, 1 all one way; bands: of their halo under a lamp, 0 an even ring;\n  \
         touched: paint under a standing pad that 200 grains reach in {orbits:.0} orbits"
    );
    let _ = match t.repeat {
        Some(r) => {
            let orbits = if r.orbits == 1 { "every orbit".to_owned() } else { format!("after {} orbits", r.orbits) };
            writeln!(out, "  a grain at the rim comes back into its trace {orbits}")
        }
        None if t.loops.is_none() => {
            writeln!(out, "  without an orbit every grain of a standing pad runs in its own trace each turn")
        }
        None => writeln!(out, "  no grain at the rim comes back into its trace within a million orbits"),
    };
    if let Some(l) = t.loops {
        let _ = writeln!(
            out,
            "  a grain at half the radius draws {} {:.1} mm across, {:.1} mm further each orbit",
            if l.loops { "loops" } else { "waves" },
            l.width_m * 1e3,
            l.drift_m * 1e3
        );
    }
}

#[cfg(feature = "plot")]
fn pictures(
    stem: &str,
    step: &str,
    setup: &trochoid::spin::Setup,
    trace: &GrainTrace,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    use trochoid::report::pictures::{halo_page, settings_line, trace_page};
    let page =
        trace_page(&format!("What the grains of step `{step}` draw"), &format!("{}.", settings_line(setup)), trace);
    let figure = page.figure().map_err(|e| Failure::Unanswered(e.to_string()))?;
    let mut out = Vec::new();
    super::plan::both_formats(&mut out, &format!("{stem}-trace"), &figure)?;
    let halos: Vec<_> = trace.drives.iter().map(|d| (d.name.clone(), &d.halo)).collect();
    let title = format!("Look of step `{step}` under a lamp, by how the pad runs");
    let caption = format!(
        "Marks of {:.0} nm RMS after one pass at {:.0} mm/s, the same for all. {}.",
        1e9 * trace.settings.marks_rms_m,
        1e3 * trace.settings.feed_m_s,
        settings_line(setup)
    );
    let figure = halo_page(&title, &caption, &halos).figure().map_err(|e| Failure::Unanswered(e.to_string()))?;
    super::plan::both_formats(&mut out, &format!("{stem}-look"), &figure)?;
    Ok(out)
}

#[cfg(not(feature = "plot"))]
#[allow(clippy::unnecessary_wraps)] // the same shape as with pictures
fn pictures(_: &str, _: &str, _: &trochoid::spin::Setup, _: &GrainTrace) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    Ok(Vec::new())
}
