//! Rows of a sweep in a file: which of them are whole and belong where they stand.

use crate::job::sweep::Status;
use core::ops::Range;
use std::io::{BufRead, Read};

/// Longest line that is read, bytes: 64 keys of at most 200 characters and 21 columns stay far below it.
const MAX_LINE: u64 = 1 << 20;

/// How many cases ended in which way.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct StatusCount([u64; Status::ALL.len()]);

impl StatusCount {
    /// Cases of a status.
    #[must_use]
    pub fn of(&self, status: Status) -> u64 {
        Status::ALL.iter().position(|s| *s == status).map_or(0, |i| self.0[i])
    }

    /// All cases.
    #[must_use]
    pub fn sum(&self) -> u64 {
        self.0.iter().sum()
    }

    /// Takes in a line; false for one that is no row of `case` with `fields` fields.
    pub(super) fn take(&mut self, line: &[u8], case: u64, fields: usize) -> bool {
        let Ok(text) = core::str::from_utf8(line) else { return false };
        let Some(text) = text.strip_suffix('\n') else { return false };
        let mut parts = text.splitn(3, ',');
        let (Some(number), Some(word)) = (parts.next(), parts.next()) else { return false };
        if number != case.to_string() || count_fields(text) != fields {
            return false;
        }
        let Some(i) = Status::ALL.iter().position(|s| s.name() == word) else { return false };
        self.0[i] += 1;
        true
    }
}

/// Fields of a CSV line; 0 for one that ends inside a quoted field or holds a control character.
pub(super) fn count_fields(line: &str) -> usize {
    let (mut fields, mut quoted) = (1, false);
    for b in line.bytes() {
        match b {
            b'"' => quoted = !quoted,
            b',' if !quoted => fields += 1,
            b if b.is_ascii_control() => return 0,
            _ => {}
        }
    }
    if quoted { 0 } else { fields }
}

/// The next line with its end; empty at the end of the file. A line beyond [`MAX_LINE`] comes cut.
pub(super) fn next_line(from: &mut impl BufRead, line: &mut Vec<u8>) -> std::io::Result<usize> {
    line.clear();
    from.by_ref().take(MAX_LINE).read_until(b'\n', line)
}

/// Rows found in a file.
pub(super) struct Found {
    /// Rows that are whole and in their order, and how they ended.
    pub(super) rows: StatusCount,
    /// Bytes from the start of the file to the end of the last of them.
    pub(super) bytes: u64,
    /// Whether something else follows them.
    pub(super) torn: bool,
}

impl Found {
    /// Whether the rows of all these cases are there and nothing else.
    pub(super) fn is_whole(&self, cases: &Range<u64>) -> bool {
        !self.torn && self.rows.sum() == cases.end - cases.start
    }
}

/// Reads the rows of `cases` after a `head` that the file must begin with; `None` where it does not.
pub(super) fn rows_after(
    from: &mut impl BufRead,
    head: &str,
    cases: Range<u64>,
    fields: usize,
) -> std::io::Result<Option<Found>> {
    let mut line = Vec::new();
    for wanted in head.split_inclusive('\n') {
        next_line(from, &mut line)?;
        if line != wanted.as_bytes() {
            return Ok(None);
        }
    }
    let mut out = Found { rows: StatusCount::default(), bytes: head.len() as u64, torn: false };
    for case in cases {
        let n = next_line(from, &mut line)?;
        if n == 0 {
            return Ok(Some(out));
        }
        if !out.rows.take(&line, case, fields) {
            out.torn = true;
            return Ok(Some(out));
        }
        out.bytes += n as u64;
    }
    out.torn = next_line(from, &mut line)? > 0;
    Ok(Some(out))
}
