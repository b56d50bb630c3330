//! `sweep`: one step over many values, into a table; `merge`: its shards put together.

use super::args::{MergeArguments, SweepArguments};
use super::failure::Failure;
use super::progress::Progress;
use super::{print_json, print_out};
use serde_json::{Map, Value, json};
use trochoid::job::sweep::{Status, Study};
use trochoid::report::{Shard, StatusCount, SweepRun, merge_shards, run_sweep};

/// Reads `I/N`.
fn shard_of(text: &str) -> Result<Shard, Failure> {
    let refuse = |why: &str| Failure::Input(format!("--shard {text}: {why}"));
    let numbers = text.split_once('/').and_then(|(i, n)| Some((i.trim().parse().ok()?, n.trim().parse().ok()?)));
    let Some((number, of)) = numbers else { return Err(refuse("two whole numbers are wanted, as in 3/7")) };
    Shard::new(number, of).map_err(|e| refuse(&format!("allowed is {}", e.allowed)))
}

fn statuses(ended: &StatusCount) -> Map<String, Value> {
    Status::ALL.iter().map(|s| (s.name().to_owned(), json!(ended.of(*s)))).collect()
}

fn in_words(ended: &StatusCount) -> String {
    let some = |s: &Status| (ended.of(*s) > 0).then(|| format!("{} {}", ended.of(*s), s.name()));
    let words: Vec<String> = Status::ALL.iter().filter_map(some).collect();
    if words.is_empty() { "no cases".to_owned() } else { words.join(", ") }
}

pub(crate) fn run(arguments: &SweepArguments) -> Result<(), Failure> {
    let shard = shard_of(&arguments.shard)?;
    let study = Study::read(&arguments.study, arguments.allow_outside)?;
    for w in study.warnings() {
        tell!("warning: {w}");
    }
    let tree = study.tree()?;
    let cases = tree.cases()?;
    let mine = shard.cases(cases.count());
    let bar = Progress::counting(mine.end - mine.start, arguments.json);
    let run = SweepRun { shard, force: arguments.force };
    let done = run_sweep(&cases, &arguments.out, &run, &|n| bar.stands_at(n))?;
    drop(bar);
    if !done.locked {
        tell!("warning: this file system cannot lock {}; let no second run write it", arguments.out.display());
    }
    if arguments.json {
        return print_json(&json!({
            "study": study.file_name(),
            "title": study.title(),
            "job": study.job_name(),
            "step": study.step_name(),
            "digest": study.digest().hex(),
            "out": arguments.out.display().to_string(),
            "shard": { "number": shard.number(), "of": shard.of() },
            "cases": { "total": cases.count(), "first": done.cases.start, "end": done.cases.end },
            "rows": done.ended.sum(),
            "rows_found": done.found,
            "was_complete": done.was_complete,
            "statuses": statuses(&done.ended),
            "varied": study.keys().iter().map(|k| json!({ "key": k.path(), "used": k.is_used() })).collect::<Vec<_>>(),
            "columns": study.columns().iter().map(|c| c.name()).collect::<Vec<_>>(),
        }));
    }
    let part = if shard == Shard::WHOLE { String::new() } else { format!(", shard {}/{}", shard.number(), shard.of()) };
    let before = if done.was_complete {
        "; it was complete before".to_owned()
    } else if done.found > 0 {
        format!("; {} of them from an earlier run", done.found)
    } else {
        String::new()
    };
    print_out(&format!(
        "{}: {} of {} cases{part}: {}{before}\n",
        arguments.out.display(),
        done.ended.sum(),
        cases.count(),
        in_words(&done.ended)
    ))
}

pub(crate) fn merge(arguments: &MergeArguments) -> Result<(), Failure> {
    let merged = merge_shards(&arguments.parts, &arguments.out, arguments.force)?;
    if arguments.json {
        return print_json(&json!({
            "out": arguments.out.display().to_string(),
            "shards": merged.shards,
            "rows": merged.ended.sum(),
            "statuses": statuses(&merged.ended),
        }));
    }
    print_out(&format!(
        "{}: {} cases from {} shards: {}\n",
        arguments.out.display(),
        merged.ended.sum(),
        merged.shards,
        in_words(&merged.ended)
    ))
}
