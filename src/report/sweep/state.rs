//! The state file beside an unfinished table: what the table belongs to, locked by the run that writes it.
//!
//! The lock is the operating system's, on the open file, so that it ends with the process however that ends.

use super::SweepError;
use super::shard::Belongs;
use crate::report::OutputError;
use std::ffi::OsString;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Longest state that is read, bytes.
const MAX_STATE: u64 = 4096;

/// `FILE.csv` -> `FILE.csv.part`.
pub(super) fn beside(out: &Path, ending: &str) -> PathBuf {
    let mut name = OsString::from(out.file_name().unwrap_or_default());
    name.push(ending);
    out.with_file_name(name)
}

pub(super) fn fail(path: &Path, doing: &'static str, source: std::io::Error) -> SweepError {
    SweepError::Output(OutputError { path: path.to_owned(), doing, source })
}

/// A held state file.
pub(super) struct State {
    path: PathBuf,
    file: File,
    /// Whether the file system could lock it.
    pub(super) locked: bool,
    /// What it said when it was opened; `None` for a new one.
    pub(super) said: Option<Said>,
}

/// What a state file says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Said {
    Belongs(Belongs),
    /// Nothing that this version understands.
    Other,
}

#[cfg(unix)]
fn same_file(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), std::fs::metadata(path)) {
        (Ok(a), Ok(b)) => (a.dev(), a.ino()) == (b.dev(), b.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn same_file(_: &File, path: &Path) -> bool {
    path.exists()
}

impl State {
    /// Opens and locks the state of `out`, made where it is missing.
    pub(super) fn hold(out: &Path) -> Result<Self, SweepError> {
        let path = beside(out, ".state");
        if std::fs::symlink_metadata(&path).is_ok_and(|m| !m.is_file()) {
            return Err(SweepError::NotAFile(path));
        }
        // A run that ends takes its state away while another one waits at the door: look again then.
        for _ in 0..20 {
            let file = OpenOptions::new()
                .read(true)
                .write(true)
                .create(true)
                .truncate(false)
                .open(&path)
                .map_err(|e| fail(&path, "write", e))?;
            let locked = match file.try_lock() {
                Ok(()) => true,
                Err(TryLockError::WouldBlock) => return Err(SweepError::Busy(out.to_owned())),
                Err(TryLockError::Error(e)) if e.kind() == std::io::ErrorKind::Unsupported => false,
                Err(TryLockError::Error(e)) => return Err(fail(&path, "lock", e)),
            };
            if !same_file(&file, &path) {
                continue;
            }
            let mut held = Self { path, file, locked, said: None };
            held.said = held.read()?;
            return Ok(held);
        }
        Err(SweepError::Busy(out.to_owned()))
    }

    fn read(&mut self) -> Result<Option<Said>, SweepError> {
        let mut bytes = Vec::new();
        (&self.file).take(MAX_STATE).read_to_end(&mut bytes).map_err(|e| fail(&self.path, "read", e))?;
        if bytes.is_empty() {
            return Ok(None);
        }
        let read = String::from_utf8(bytes).ok().filter(|t| t.ends_with('\n')).and_then(|t| Belongs::read(&t));
        Ok(Some(read.map_or(Said::Other, Said::Belongs)))
    }

    /// Writes what the table belongs to.
    pub(super) fn write(&mut self, belongs: &Belongs) -> Result<(), SweepError> {
        let mut put = || -> std::io::Result<()> {
            self.file.set_len(0)?;
            self.file.seek(SeekFrom::Start(0))?;
            self.file.write_all(belongs.mark().as_bytes())?;
            self.file.sync_all()
        };
        put().map_err(|e| fail(&self.path, "write", e))
    }

    /// Takes the state away: the table is finished, or was never begun.
    pub(super) fn remove(self) -> Result<(), SweepError> {
        std::fs::remove_file(&self.path).map_err(|e| fail(&self.path, "remove", e))
    }
}
