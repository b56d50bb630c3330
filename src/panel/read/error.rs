//! What can be wrong with a file that a panel is read from.

use core::fmt;

/// What kind of fault a [`ReadError`] tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum ReadErrorKind {
    /// The system cannot read the file.
    System,
    /// The file is larger than is read.
    TooLarge,
    /// The file holds nothing to read.
    Empty,
    /// The name tells no format, or the content is beyond doubt another one.
    WrongFormat,
    /// The file ends before its data do.
    Cut,
    /// The header claims more than the file can hold or than is taken.
    Claim,
    /// Bytes that are not text where text has to be.
    NotText,
    /// A line, column or header that cannot be understood.
    Syntax,
    /// A number that is not finite or out of range.
    Number,
    /// Data that are each right but do not fit together.
    Content,
}

/// A file that cannot be read as a panel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadError {
    /// File.
    pub file: String,
    /// Line, from 1, where there are lines.
    pub line: Option<usize>,
    /// Column, from 1, in a table.
    pub column: Option<usize>,
    /// Kind of fault.
    pub kind: ReadErrorKind,
    /// What is wrong, with the value.
    pub what: String,
    /// What would be right; empty where there is nothing to add.
    pub allowed: String,
}

impl ReadError {
    pub(super) fn new(file: &str, kind: ReadErrorKind, what: impl Into<String>) -> Self {
        Self { file: file.into(), line: None, column: None, kind, what: what.into(), allowed: String::new() }
    }

    pub(super) fn line(mut self, line: usize) -> Self {
        self.line = Some(line);
        self
    }

    pub(super) fn column(mut self, column: usize) -> Self {
        self.column = Some(column);
        self
    }

    pub(super) fn allowed(mut self, allowed: impl Into<String>) -> Self {
        self.allowed = allowed.into();
        self
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(line) = self.line {
            write!(f, ", line {line}")?;
        }
        if let Some(column) = self.column {
            write!(f, ", column {column}")?;
        }
        write!(f, ": {}", self.what)?;
        if !self.allowed.is_empty() {
            write!(f, "; allowed: {}", self.allowed)?;
        }
        Ok(())
    }
}

impl std::error::Error for ReadError {}

/// Characters of foreign text in a message.
const EXCERPT: usize = 80;

/// A piece of foreign text short enough for a message, control characters escaped.
pub(super) fn excerpt(text: &str) -> String {
    let mut out: String = text.chars().take(EXCERPT).flat_map(char::escape_debug).collect();
    if text.chars().nth(EXCERPT).is_some() {
        out.push_str("...");
    }
    out
}

/// The same of bytes that may not be text.
pub(super) fn excerpt_bytes(bytes: &[u8]) -> String {
    excerpt(&String::from_utf8_lossy(&bytes[..bytes.len().min(4 * EXCERPT)]))
}
