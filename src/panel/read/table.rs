//! Tables of lengths as CSV: a header whose columns carry their unit, rows of numbers. Blank lines and
//! lines that start with `#` are passed over.
//!
//! Split here and not by the `csv` crate, whose line numbers are those of the blank line or comment
//! before a row: numbers and column names hold no commas or line breaks, so there is nothing to quote.

use super::error::{excerpt, excerpt_bytes};
use super::{LengthUnit, ReadError, ReadErrorKind};
use crate::panel::MAX_NODES;

/// Rows of lengths in metres, each with its line, columns in the order asked for.
pub(super) struct Table<const N: usize> {
    pub rows: Vec<([f64; N], usize)>,
}

const UNITS: [LengthUnit; 4] = LengthUnit::ALL;

impl<const N: usize> Table<N> {
    /// Reads a table with exactly the columns `wanted`, in any order, each with a unit behind its name.
    pub fn read(name: &str, bytes: &[u8], wanted: [&str; N]) -> Result<Self, ReadError> {
        let rule = || {
            let with = |w: &&str| format!("{w}_mm");
            let columns = wanted.iter().map(with).collect::<Vec<_>>().join(",");
            format!("{columns}, or with _cm, _m or _in in place of _mm")
        };
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        if bytes.trim_ascii().is_empty() {
            return Err(ReadError::new(name, ReadErrorKind::Empty, "the file is empty")
                .allowed(format!("a header and rows: {}", rule())));
        }
        if bytes[..bytes.len().min(4096)].contains(&0) {
            return Err(ReadError::new(name, ReadErrorKind::NotText, "binary data, not a table").allowed(rule()));
        }
        let mut order: Option<[(usize, LengthUnit); N]> = None;
        let mut rows = Vec::new();
        let mut record: Vec<&[u8]> = Vec::new();
        for (i, raw) in bytes.split(|b| *b == b'\n').enumerate() {
            let (line, raw) = (i + 1, raw.trim_ascii());
            if raw.is_empty() || raw.starts_with(b"#") {
                continue;
            }
            record.clear();
            record.extend(raw.split(|b| *b == b',').map(cell));
            let Some(order) = &order else {
                order = Some(header(name, &record, line, wanted, &rule())?);
                continue;
            };
            if record.len() != N {
                let what = format!("{} column(s)", record.len());
                return Err(ReadError::new(name, ReadErrorKind::Syntax, what)
                    .line(line)
                    .allowed(format!("{N}, as in the header")));
            }
            if rows.len() == MAX_NODES {
                return Err(ReadError::new(name, ReadErrorKind::Claim, format!("over {MAX_NODES} rows")).line(line));
            }
            let mut row = [0.0; N];
            for (value, (column, unit)) in row.iter_mut().zip(order) {
                let text = record[*column];
                let fail = |kind| {
                    ReadError::new(name, kind, format!("\"{}\"", excerpt_bytes(text)))
                        .line(line)
                        .column(column + 1)
                        .allowed(super::coordinate_rule(*unit))
                };
                let Ok(text) = core::str::from_utf8(text) else {
                    return Err(fail(ReadErrorKind::NotText));
                };
                let number: f64 = text.parse().map_err(|_| fail(ReadErrorKind::Syntax))?;
                *value = unit.metres(number);
                // NaN fails the comparison, too.
                if value.is_nan() || value.abs() > 1e3 {
                    return Err(fail(ReadErrorKind::Number));
                }
            }
            rows.push((row, line));
        }
        Ok(Self { rows })
    }
}

/// A cell without the blanks and quotes round it.
fn cell(raw: &[u8]) -> &[u8] {
    let raw = raw.trim_ascii();
    raw.strip_prefix(b"\"").and_then(|r| r.strip_suffix(b"\"")).map_or(raw, <[u8]>::trim_ascii)
}

/// For each column wanted, which one of the file it is and its unit.
fn header<const N: usize>(
    name: &str,
    record: &[&[u8]],
    line: usize,
    wanted: [&str; N],
    rule: &str,
) -> Result<[(usize, LengthUnit); N], ReadError> {
    let fail = |what: String| ReadError::new(name, ReadErrorKind::Syntax, what).line(line).allowed(rule);
    let mut found: [Option<(usize, LengthUnit)>; N] = [None; N];
    for (i, text) in record.iter().copied().enumerate() {
        let Ok(text) = core::str::from_utf8(text) else {
            let what = format!("column \"{}\" is not UTF-8 text", excerpt_bytes(text));
            return Err(ReadError::new(name, ReadErrorKind::NotText, what).line(line).column(i + 1).allowed(rule));
        };
        if wanted.contains(&text) {
            return Err(fail(format!("column \"{text}\" has no unit")).column(i + 1));
        }
        let known = text.rsplit_once('_').and_then(|(column, unit)| {
            let at = wanted.iter().position(|w| *w == column)?;
            Some((at, UNITS.into_iter().find(|u| u.short() == unit)?))
        });
        let Some((at, unit)) = known else {
            return Err(fail(format!("unknown column \"{}\"", excerpt(text))).column(i + 1));
        };
        if found[at].replace((i, unit)).is_some() {
            return Err(fail(format!("column \"{}\" stands there twice", wanted[at])).column(i + 1));
        }
    }
    let mut out = [(0, LengthUnit::M); N];
    for (k, f) in found.into_iter().enumerate() {
        out[k] = f.ok_or_else(|| fail(format!("column \"{}\" is missing", wanted[k])))?;
    }
    Ok(out)
}
