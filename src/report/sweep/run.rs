//! Running a sweep into a file: rows in the order of their cases, appended batch by batch, gone on with
//! where an earlier run ended.
//!
//! While it runs, `FILE.part` holds the head and the rows so far, `FILE.state` what they belong to. A run that
//! was killed leaves both; the next one reads the rows again, cuts off what is torn, and goes on. At the end
//! `FILE.part` takes its final name.
//!
//! Memory: one batch of rows, at most [`MAX_BATCH`] of them, besides the job itself.

use super::rows::{Found, StatusCount, rows_after};
use super::shard::{Belongs, Shard};
use super::state::{Said, State, beside, fail};
use super::{SweepError, rows};
use crate::job::sweep::Cases;
use crate::math::reduce::map_indexed;
use crate::report::prepare_folder;
use core::ops::Range;
use std::fs::{File, OpenOptions};
use std::io::{BufReader, Write};
use std::path::Path;
use std::time::{Duration, Instant};

/// Cases that are worked in one piece by one thread.
const CHUNK: u64 = 16;
/// Fewest cases of a batch.
const MIN_BATCH: u64 = 16 * CHUNK;
/// Most cases of a batch: what is held in memory before it is written, about 3 MB of rows of 200 bytes.
pub const MAX_BATCH: u64 = 16_384;
/// A batch that took less is followed by a larger one, a longer one by a smaller one. The rows do not depend
/// on it: a case knows nothing of its batch.
const WANTED: Duration = Duration::from_millis(500);

/// How a sweep is run: by default all of it, throwing nothing away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SweepRun {
    /// Which part of it.
    pub shard: Shard,
    /// Whether a finished table, or an unfinished one of another study, is thrown away.
    pub force: bool,
}

impl Default for SweepRun {
    fn default() -> Self {
        Self { shard: Shard::WHOLE, force: false }
    }
}

/// What a run did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SweepDone {
    /// The cases of the file.
    pub cases: Range<u64>,
    /// How they ended.
    pub ended: StatusCount,
    /// Cases that were found in an earlier run's file.
    pub found: u64,
    /// Whether the file was complete before.
    pub was_complete: bool,
    /// Whether the output was locked against a second run; some network file systems cannot.
    pub locked: bool,
}

/// A table that is being written.
struct Unfinished {
    file: File,
    rows: StatusCount,
}

fn regular(path: &Path) -> Result<bool, SweepError> {
    match std::fs::metadata(path) {
        Ok(m) if m.is_file() => Ok(true),
        Ok(_) => Err(SweepError::NotAFile(path.to_owned())),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(false),
        Err(e) => Err(fail(path, "read", e)),
    }
}

/// Rows of a file that begins with `head`; `None` where there is no such file, or another one.
fn look(path: &Path, head: &str, cases: Range<u64>) -> Result<Option<Found>, SweepError> {
    if !regular(path)? {
        return Ok(None);
    }
    let file = File::open(path).map_err(|e| fail(path, "read", e))?;
    let fields = head.lines().last().map_or(0, rows::count_fields);
    rows_after(&mut BufReader::new(file), head, cases, fields).map_err(|e| fail(path, "read", e))
}

/// Opens the unfinished table: a new one with its head, or the one of an earlier run cut back to its last
/// whole row.
fn open_part(part: &Path, head: &str, cases: Range<u64>) -> Result<Unfinished, SweepError> {
    let found = look(part, head, cases)?;
    let mut file = OpenOptions::new().append(true).create(true).open(part).map_err(|e| fail(part, "write", e))?;
    match found {
        Some(found) => {
            if found.torn {
                file.set_len(found.bytes).map_err(|e| fail(part, "write", e))?;
            }
            Ok(Unfinished { file, rows: found.rows })
        }
        None => {
            file.set_len(0).and_then(|()| file.write_all(head.as_bytes())).map_err(|e| fail(part, "write", e))?;
            Ok(Unfinished { file, rows: StatusCount::default() })
        }
    }
}

/// What is there before the work begins.
enum Before {
    /// The table is complete.
    Complete(Found, bool),
    /// The table is to be written, held against other runs.
    Open(Unfinished, State),
}

/// Looks at what is there, takes hold of the output and opens the unfinished table.
fn begin(out: &Path, belongs: &Belongs, head: &str, force: bool) -> Result<Before, SweepError> {
    let part = beside(out, ".part");
    let range = belongs.cases();
    if out.file_name().is_none() {
        return Err(SweepError::NotAFile(out.to_owned()));
    }
    let exists = regular(out)?;
    regular(&part)?;
    if exists && !force && !beside(out, ".state").exists() {
        // A part says what it belongs to; a whole table does not.
        if belongs.shard != Shard::WHOLE
            && let Some(f) = look(out, head, range.clone())?
            && f.is_whole(&range)
        {
            return Ok(Before::Complete(f, true));
        }
        return Err(SweepError::Exists(out.to_owned()));
    }
    if let Some(folder) = out.parent().filter(|p| !p.as_os_str().is_empty()) {
        prepare_folder(folder).map_err(SweepError::Output)?;
    }
    let mut state = State::hold(out)?;
    let other = || SweepError::OtherStudy { out: out.to_owned() };
    let fresh = match &state.said {
        // A finished table in the way is replaced only where no forced run is under way already.
        Some(Said::Belongs(b)) if b == belongs && !(force && exists && !regular(&part)?) => false,
        Some(_) if !force => return Err(other()),
        None if !force && (exists || regular(&part)?) => {
            state.remove()?;
            return Err(if exists { SweepError::Exists(out.to_owned()) } else { other() });
        }
        _ => true,
    };
    if fresh {
        // A table that exists stays until the new one takes its name. The unfinished one is there before the
        // state that speaks of it, so a state beside a table and no unfinished one means a finished run.
        if exists {
            File::create(&part).map_err(|e| fail(&part, "write", e))?;
        } else if regular(&part)? {
            std::fs::remove_file(&part).map_err(|e| fail(&part, "remove", e))?;
        }
        if let Err(e) = state.write(belongs) {
            // The cause is told; a state without a table would only be in the way.
            let _ = state.remove();
            return Err(e);
        }
    } else if regular(out)? && !regular(&part)? {
        // The last run may have ended between giving the table its name and taking its state away.
        if let Some(f) = look(out, head, range.clone())?
            && f.is_whole(&range)
        {
            let locked = state.locked;
            state.remove()?;
            return Ok(Before::Complete(f, locked));
        }
        return Err(SweepError::Exists(out.to_owned()));
    }
    Ok(Before::Open(open_part(&part, head, range)?, state))
}

/// Rows of the cases from `first` to before `end`, chunk by chunk on the threads there are.
fn rows_of(cases: &Cases<'_>, first: u64, end: u64) -> Vec<String> {
    let chunks = usize::try_from((end - first).div_ceil(CHUNK)).unwrap_or(0);
    map_indexed(chunks, |c| {
        let from = first + c as u64 * CHUNK;
        let mut text = String::new();
        (from..end.min(from + CHUNK)).for_each(|case| cases.row(case, &mut text));
        text
    })
}

/// Works a sweep, or the part of it that `run` names, into the file `out`. `done` is told how many cases of
/// the part are in the file.
///
/// The bytes of the file depend on study, job and version alone: not on the number of threads, on
/// interruptions, or, once merged, on the shards.
///
/// See the example of [`merge_shards`](super::merge_shards), which works a sweep in two parts.
///
/// # Errors
/// [`SweepError`]: the file exists, belongs to another study, is being written by another run, or cannot be
/// written. What was computed stays in `FILE.part`, and nothing has the final name before it is whole.
pub fn run_sweep(
    cases: &Cases<'_>,
    out: &Path,
    run: &SweepRun,
    done: &(dyn Fn(u64) + Sync),
) -> Result<SweepDone, SweepError> {
    let belongs = Belongs::of(cases, run.shard);
    let range = belongs.cases();
    let head = format!("{}{}", belongs.line(), cases.head());
    let (mut table, state) = match begin(out, &belongs, &head, run.force)? {
        Before::Complete(f, locked) => {
            let ended = f.rows;
            return Ok(SweepDone { cases: range, ended, found: ended.sum(), was_complete: true, locked });
        }
        Before::Open(table, state) => (table, state),
    };
    let (part, locked, found) = (beside(out, ".part"), state.locked, table.rows.sum());
    done(found);
    let fields = rows::count_fields(cases.head().trim_end());
    let (mut next, mut batch) = (range.start + found, MIN_BATCH);
    while next < range.end {
        let began = Instant::now();
        let end = range.end.min(next + batch);
        let texts = rows_of(cases, next, end);
        for (case, line) in (next..end).zip(texts.iter().flat_map(|t| t.split_inclusive('\n'))) {
            table.rows.take(line.as_bytes(), case, fields);
        }
        table.file.write_all(texts.concat().as_bytes()).map_err(|e| fail(&part, "write", e))?;
        next = end;
        done(next - range.start);
        let took = began.elapsed();
        if took < WANTED / 2 {
            batch = (2 * batch).min(MAX_BATCH);
        } else if took > 2 * WANTED {
            batch = (batch / 2).max(MIN_BATCH);
        }
    }
    table.file.sync_all().map_err(|e| fail(&part, "write", e))?;
    drop(table.file);
    std::fs::rename(&part, out).map_err(|e| fail(out, "write", e))?;
    state.remove()?;
    Ok(SweepDone { cases: range, ended: table.rows, found, was_complete: false, locked })
}
