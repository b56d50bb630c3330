//! `check`: every value of a job, given or default, with its source and grade.

use super::args::JobArguments;
use super::failure::Failure;
use super::session::{Session, names};
use super::{print_json, print_out};
use serde_json::json;
use std::fmt::Write as _;

pub(crate) fn run(arguments: &JobArguments) -> Result<(), Failure> {
    let session = Session::open_any(arguments)?;
    let job = &session.job;
    if arguments.json {
        let values: Vec<_> = job
            .resolved
            .iter()
            .map(|r| json!({ "key": r.key, "value": r.value, "source": r.source, "grade": r.grade, "default": r.is_default }))
            .collect();
        let steps: Vec<_> = session
            .steps
            .iter()
            .map(|s| {
                let n = names(s);
                json!({ "step": n.step, "tool": n.tool, "pad": n.pad, "product": n.product, "panel": n.panel,
                    "orbit_rate_opm": n.orbit_rate_opm, "speed_setting": n.speed_setting, "force_n": n.force_n,
                    "hand_force_n": n.hand_force_n, "passes": s.passes })
            })
            .collect();
        return print_json(
            &json!({ "title": job.title, "values": values, "steps": steps, "warnings": job.warnings, "notes": session.notes }),
        );
    }
    let mut text = String::new();
    if let Some(title) = &job.title {
        let _ = writeln!(text, "{title}");
    }
    let width = job.resolved.iter().map(|r| r.key.chars().count()).max().unwrap_or(0);
    let value_width = job.resolved.iter().map(|r| r.value.chars().count()).max().unwrap_or(0).min(36);
    for r in &job.resolved {
        let mark = if r.is_default { "default" } else { "given" };
        let grade = r.grade.map_or(String::new(), |g| format!(", {g}"));
        let _ = writeln!(text, "{:width$}  {:value_width$}  {mark}: {}{grade}", r.key, r.value, r.source);
    }
    for note in &session.notes {
        let _ = writeln!(text, "{note}");
    }
    for s in &session.steps {
        let n = names(s);
        let hand =
            n.hand_force_n.map_or("hand force unknown (no tool mass)".to_owned(), |h| format!("{h:.1} N by hand"));
        let _ = writeln!(
            text,
            "step `{}`: {} + {} + {} on {}: {:.1} N on the face, {hand}",
            n.step, n.tool, n.pad, n.product, n.panel, n.force_n
        );
    }
    print_out(&text)
}
