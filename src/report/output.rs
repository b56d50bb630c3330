//! Files that appear whole or not at all: written under a temporary name in the same folder, then
//! renamed.

#[cfg(feature = "plot")]
use crate::plot::{Figure, PlotError};
use core::fmt;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

/// An output that could not be written: a folder that cannot be made, a file that cannot be written or given its
/// name, a figure that cannot be drawn.
#[derive(Debug)]
pub struct OutputError {
    /// File or folder.
    pub path: PathBuf,
    /// What was being done.
    pub doing: &'static str,
    /// The system's error.
    pub source: std::io::Error,
}

impl fmt::Display for OutputError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "cannot {} {}: {}", self.doing, self.path.display(), self.source)
    }
}

impl std::error::Error for OutputError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        Some(&self.source)
    }
}

/// Makes the folder where it is missing.
///
/// Folders above it are made too; a folder that is there already is left as it is. See the example of [`write_whole`].
///
/// # Errors
/// The system's error with the path.
pub fn prepare_folder(path: &Path) -> Result<(), OutputError> {
    let fail = |source| OutputError { path: path.to_owned(), doing: "make the folder", source };
    if path.is_file() {
        let why = "a file of that name is there; give another name";
        return Err(fail(std::io::Error::new(std::io::ErrorKind::AlreadyExists, why)));
    }
    std::fs::create_dir_all(path).map_err(fail)
}

/// Names of result files in a folder that are not among those just written, sorted: left there by an earlier
/// run, and easily taken for this one's.
#[must_use]
pub fn left_from_before(folder: &Path, written: &[String]) -> Vec<String> {
    const KINDS: [&str; 8] = ["html", "json", "txt", "md", "csv", "png", "svg", "ply"];
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut names: Vec<String> = entries
        .filter_map(|e| e.ok()?.file_name().into_string().ok())
        .filter(|n| !written.contains(n) && n.rsplit_once('.').is_some_and(|(_, kind)| KINDS.contains(&kind)))
        .collect();
    names.sort();
    names
}

static COUNTER: AtomicU64 = AtomicU64::new(0);

/// Writes `bytes` to `path`: first to a temporary file beside it, then renamed.
///
/// A file of that name is replaced at once; who reads it sees the old bytes or the new ones, never a part. The bytes are
/// on the disk before the name is given.
///
/// # Errors
/// The system's error with the path; the temporary file is removed.
///
/// # Example
/// ```
/// use trochoid::report::{prepare_folder, write_whole};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let folder = std::env::temp_dir().join(format!("trochoid-whole-{}", std::process::id()));
/// prepare_folder(&folder)?;
/// write_whole(&folder.join("answer.txt"), b"42\n")?;
/// assert_eq!(std::fs::read(folder.join("answer.txt"))?, b"42\n");
/// // Nothing else is left in the folder.
/// assert_eq!(std::fs::read_dir(&folder)?.count(), 1);
/// # std::fs::remove_dir_all(&folder)?;
/// # Ok(())
/// # }
/// ```
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), OutputError> {
    let fail = |doing, source| OutputError { path: path.to_owned(), doing, source };
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.{}.tmp", std::process::id(), COUNTER.fetch_add(1, Ordering::Relaxed)));
    let temporary = path.with_file_name(name);
    let write = || -> std::io::Result<()> {
        let mut file = std::fs::File::create(&temporary)?;
        file.write_all(bytes)?;
        file.sync_all()
    };
    write().and_then(|()| std::fs::rename(&temporary, path)).map_err(|source| {
        // The cause is reported; a leftover that cannot be removed would add nothing to it.
        let _ = std::fs::remove_file(&temporary);
        fail("write", source)
    })
}

/// Pixels of a PNG a pixel of the figure.
#[cfg(feature = "plot")]
const PNG_SCALE: f64 = 1.5;

/// A figure as the files `stem.svg` and `stem.png`: their names and contents.
///
/// # Errors
/// A figure that cannot be drawn.
///
/// # Example
/// ```
/// use trochoid::plot::{Axis, CurveChart, Series};
/// use trochoid::report::figure_files;
/// let chart = CurveChart {
///     title: "Throw at the face".into(),
///     x: Axis::linear("force [N]"),
///     y: Axis::linear("throw [mm]"),
///     series: vec![Series::new("25 mm thick", vec![(20.0, 7.6), (40.0, 6.9), (60.0, 5.4)])],
///     ..CurveChart::default()
/// };
/// let [(svg, text), (png, bytes)] = figure_files("throw", &chart.figure()?)?;
/// assert_eq!((svg.as_str(), png.as_str()), ("throw.svg", "throw.png"));
/// assert!(text.starts_with(b"<svg") || text.starts_with(b"<?xml"));
/// assert_eq!(&bytes[1..4], b"PNG");
/// # Ok::<(), trochoid::plot::PlotError>(())
/// ```
#[cfg(feature = "plot")]
pub fn figure_files(stem: &str, figure: &Figure) -> Result<[(String, Vec<u8>); 2], PlotError> {
    Ok([(format!("{stem}.svg"), figure.to_svg()?.into_bytes()), (format!("{stem}.png"), figure.to_png(PNG_SCALE)?)])
}

/// Writes a figure as `stem.svg` and `stem.png` into the folder, which is made where it is missing.
///
/// See the example of [`figure_files`] for what is written, and of [`write_whole`] for how.
///
/// # Errors
/// A figure that cannot be drawn; the system's error with the path.
#[cfg(feature = "plot")]
pub fn write_figure(folder: &Path, stem: &str, figure: &Figure) -> Result<(), OutputError> {
    let undrawn =
        |e: PlotError| OutputError { path: folder.join(stem), doing: "draw", source: std::io::Error::other(e) };
    let files = figure_files(stem, figure).map_err(undrawn)?;
    prepare_folder(folder)?;
    files.iter().try_for_each(|(name, bytes)| write_whole(&folder.join(name), bytes))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failed_write_leaves_nothing_behind() {
        let folder = std::env::temp_dir().join(format!("trochoid-output-{}", std::process::id()));
        prepare_folder(&folder).unwrap();
        let target = folder.join("taken");
        std::fs::create_dir_all(target.join("inside")).unwrap();
        // A folder of that name that is not empty cannot be replaced by a file.
        assert!(write_whole(&target, b"text").is_err());
        let left: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|e| e.unwrap().file_name()).collect();
        assert_eq!(left, ["taken"]);
        write_whole(&folder.join("fine.txt"), b"text").unwrap();
        assert_eq!(std::fs::read(folder.join("fine.txt")).unwrap(), b"text");
        std::fs::remove_dir_all(&folder).unwrap();
    }
}
