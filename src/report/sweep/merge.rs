//! Putting the shards of a sweep together: the bytes of one run over all the cases.

use super::SweepError;
use super::rows::{StatusCount, count_fields, next_line};
use super::shard::Belongs;
use super::state::{beside, fail};
use crate::report::prepare_folder;
use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use std::path::{Path, PathBuf};

/// What was merged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    /// Shards put together.
    pub shards: u64,
    /// Cases and how they ended.
    pub ended: StatusCount,
}

struct Part {
    path: PathBuf,
    belongs: Belongs,
    head: Vec<u8>,
}

/// What a shard says of itself, and its rows yet to be read.
fn open(path: &Path) -> Result<(Part, BufReader<File>), SweepError> {
    let refuse = |why: &str| SweepError::NoShard { path: path.to_owned(), why: why.to_owned() };
    let about = std::fs::metadata(path).map_err(|e| fail(path, "read", e))?;
    if !about.is_file() {
        return Err(refuse("it is not a regular file"));
    }
    let mut rest = BufReader::new(File::open(path).map_err(|e| fail(path, "read", e))?);
    let (mut mark, mut head) = (Vec::new(), Vec::new());
    next_line(&mut rest, &mut mark).map_err(|e| fail(path, "read", e))?;
    let text = core::str::from_utf8(&mark).unwrap_or_default();
    let Some(belongs) = Belongs::read(text) else {
        return Err(refuse(if text.starts_with("case,") {
            "it is a whole table, not a shard of one"
        } else {
            "it does not begin as a shard of a sweep does"
        }));
    };
    next_line(&mut rest, &mut head).map_err(|e| fail(path, "read", e))?;
    if !head.starts_with(b"case,status,") || !head.ends_with(b"\n") {
        return Err(refuse("it has no head of a table"));
    }
    Ok((Part { path: path.to_owned(), belongs, head }, rest))
}

/// The shards in their order, each there once. None is held open, so their number is not bound by the system's.
fn in_order(paths: &[PathBuf]) -> Result<Vec<Part>, SweepError> {
    let mut parts = Vec::with_capacity(paths.len());
    for path in paths {
        parts.push(open(path)?.0);
    }
    parts.sort_by_key(|p| p.belongs.shard.number());
    let Some(first) = parts.first() else { return Err(SweepError::NothingToMerge) };
    for p in &parts {
        let (a, b) = (&first.belongs, &p.belongs);
        if a.digest != b.digest || a.total != b.total || a.shard.of() != b.shard.of() || first.head != p.head {
            return Err(SweepError::OtherSweep { one: first.path.clone(), other: p.path.clone() });
        }
    }
    if let Some(twice) = parts.windows(2).find(|w| w[0].belongs.shard == w[1].belongs.shard) {
        return Err(SweepError::Twice {
            number: twice[0].belongs.shard.number(),
            one: twice[0].path.clone(),
            other: twice[1].path.clone(),
        });
    }
    let of = first.belongs.shard.of();
    if parts.len() as u64 != of {
        let there: std::collections::BTreeSet<u64> = parts.iter().map(|p| p.belongs.shard.number()).collect();
        return Err(SweepError::Missing { of, numbers: (1..=of).filter(|n| !there.contains(n)).collect() });
    }
    Ok(parts)
}

/// Merges the shards of a sweep, given in any order, into the file `out`, row by row: the memory taken is
/// that of one row and of the shards' names and heads.
///
/// # Errors
/// [`SweepError`]: a file that is no shard, a shard that is missing, there twice, unfinished or of another
/// sweep, an output that exists (unless `force`) or cannot be written. Nothing is left behind then.
///
/// # Example
/// ```
/// use trochoid::job::{STARTER, sweep::{JobText, Status, Study}};
/// use trochoid::report::{Shard, SweepRun, merge_shards, prepare_folder, run_sweep};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let text = "schema = 1\njob = \"starter.toml\"\nstep = \"cut\"\ncolumns = [\"mean_pressure_pa\"]\n\
///             design = { kind = \"grid\" }\n[vary]\nstep.cut.force_n = [20.0, 25.0, 30.0, 35.0, 40.0]\n";
/// let study = Study::parse_with("study.toml", text, |name, _| {
///     Ok(JobText { name: name.to_owned(), text: STARTER.to_owned(), folder: None })
/// })?;
/// let (tree, folder) = (study.tree()?, std::env::temp_dir().join(format!("trochoid-shards-{}", std::process::id())));
/// prepare_folder(&folder)?;
/// let parts = [1, 2].map(|n| folder.join(format!("part{n}.csv")));
/// for (n, part) in (1..).zip(&parts) {
///     run_sweep(&tree.cases()?, part, &SweepRun { shard: Shard::new(n, 2)?, force: false }, &|_| {})?;
/// }
/// let merged = merge_shards(&parts, &folder.join("all.csv"), false)?;
/// // Five cases in two shards, all solved, under one head.
/// assert_eq!((merged.shards, merged.ended.of(Status::Ok)), (2, 5));
/// assert_eq!(std::fs::read_to_string(folder.join("all.csv"))?.lines().count(), 6);
/// # std::fs::remove_dir_all(&folder)?;
/// # Ok(())
/// # }
/// ```
pub fn merge_shards(paths: &[PathBuf], out: &Path, force: bool) -> Result<Merged, SweepError> {
    match std::fs::metadata(out) {
        Ok(m) if !m.is_file() => return Err(SweepError::NotAFile(out.to_owned())),
        Ok(_) if !force => return Err(SweepError::Exists(out.to_owned())),
        _ => {}
    }
    if out.file_name().is_none() {
        return Err(SweepError::NotAFile(out.to_owned()));
    }
    let parts = in_order(paths)?;
    if let Ok(target) = out.canonicalize()
        && paths.iter().any(|p| p.canonicalize().is_ok_and(|p| p == target))
    {
        return Err(SweepError::NoShard { path: out.to_owned(), why: "it is to be the output as well".to_owned() });
    }
    if let Some(folder) = out.parent().filter(|p| !p.as_os_str().is_empty()) {
        prepare_folder(folder).map_err(SweepError::Output)?;
    }
    let temporary = beside(out, &format!(".{}.tmp", std::process::id()));
    let merged = write(&parts, &temporary)
        .and_then(|m| std::fs::rename(&temporary, out).map(|()| m).map_err(|e| fail(out, "write", e)));
    if merged.is_err() {
        // The cause is told; a leftover that cannot be removed would add nothing to it.
        let _ = std::fs::remove_file(&temporary);
    }
    merged
}

fn write(parts: &[Part], to: &Path) -> Result<Merged, SweepError> {
    let put = |e| fail(to, "write", e);
    let mut file = BufWriter::new(File::create(to).map_err(put)?);
    let mut ended = StatusCount::default();
    let shards = parts.len() as u64;
    let mut line = Vec::new();
    if let Some(first) = parts.first() {
        file.write_all(&first.head).map_err(put)?;
    }
    for p in parts {
        let fields = core::str::from_utf8(&p.head).map_or(0, |h| count_fields(h.trim_end_matches('\n')));
        let cases = p.belongs.cases();
        let wrong = |case: u64| SweepError::Unfinished { path: p.path.clone(), case, end: cases.end };
        let (now, mut rest) = open(&p.path)?;
        if now.belongs != p.belongs || now.head != p.head {
            return Err(wrong(cases.start));
        }
        for case in cases.clone() {
            next_line(&mut rest, &mut line).map_err(|e| fail(&p.path, "read", e))?;
            if !ended.take(&line, case, fields) {
                return Err(wrong(case));
            }
            file.write_all(&line).map_err(put)?;
        }
        if next_line(&mut rest, &mut line).map_err(|e| fail(&p.path, "read", e))? > 0 {
            return Err(wrong(cases.end));
        }
    }
    file.into_inner().map_err(|e| put(e.into_error()))?.sync_all().map_err(put)?;
    Ok(Merged { shards, ended })
}
