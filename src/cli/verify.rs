//! `verify`: every published check with source, expected, got; as a page of Markdown on request.

use super::args::VerifyArguments;
use super::failure::Failure;
use super::{print_json, print_out};
use serde_json::json;
use std::fmt::Write as _;
use trochoid::report::{prepare_folder, write_whole};

pub(crate) fn run(arguments: &VerifyArguments) -> Result<(), Failure> {
    let checks = trochoid::verify::all();
    let failed = checks.iter().filter(|c| !c.passed()).count();
    if let Some(folder) = &arguments.out {
        let file = folder.join("validation.md");
        prepare_folder(folder)?;
        write_whole(&file, trochoid::verify::page(&checks).as_bytes())?;
        tell!("wrote {}", file.display());
    }
    if arguments.json {
        let list: Vec<_> = checks
            .iter()
            .map(|c| {
                json!({ "group": c.group, "check": c.name, "source": c.source, "expected": c.expected, "got": c.got,
                    "tolerance": c.tolerance, "unit": c.unit, "passed": c.passed() })
            })
            .collect();
        print_json(&json!({ "checks": list, "passed": checks.len() - failed, "failed": failed }))?;
    } else {
        let mut out = String::new();
        let mut group = "";
        for c in &checks {
            if c.group != group {
                group = c.group;
                let _ = writeln!(out, "{group}");
            }
            let _ = writeln!(
                out,
                "  {} {:58} expected {:<14} got {:<14} +- {:.1e} {:7} [{}]",
                if c.passed() { "pass" } else { "FAIL" },
                c.name,
                format!("{:.10}", c.expected).trim_end_matches('0').trim_end_matches('.'),
                format!("{:.10}", c.got).trim_end_matches('0').trim_end_matches('.'),
                c.tolerance,
                c.unit,
                c.source
            );
        }
        let _ = writeln!(out, "{} checks passed, {failed} failed", checks.len() - failed);
        print_out(&out)?;
    }
    if failed == 0 { Ok(()) } else { Err(Failure::Unanswered(format!("{failed} checks failed"))) }
}
