//! What is wrong with a job, and where: file, line, column, key, value, allowed range, a way out.
//!
//! Plain data with a plain-text `Display`; whoever wants colours builds them from the getters.

use core::fmt;
use core::ops::Range;

/// Longest stretch of a source line that is shown.
const SHOWN_CHARS: usize = 120;
/// Longest value or name that is repeated in a message.
const CLIPPED_CHARS: usize = 60;

/// Bad input in a job file: unknown keys, values of the wrong type or outside their range, names that lead
/// nowhere, text that is no TOML, files that cannot be read.
///
/// Spans are byte ranges into [`Problem::source_text`]; lines and columns count from one, columns
/// in characters. A problem with the file itself (missing, too large) has no place in a text. Printed it shows
/// the place and the line, as in the example of [`Job::parse`](super::Job::parse).
#[derive(Debug, Clone, PartialEq)]
pub struct Problem(Box<Details>);

#[derive(Debug, Clone, PartialEq, Default)]
struct Details {
    name: String,
    source_text: String,
    message: String,
    key_span: Option<Range<usize>>,
    value_span: Option<Range<usize>>,
    key: Option<String>,
    value: Option<String>,
    allowed: Option<String>,
    help: Option<String>,
    /// The values are allowed, and physics alone refuses them together.
    outcome: bool,
}

impl Problem {
    /// A problem with the file as a whole.
    pub(super) fn of_file(name: &str, message: impl Into<String>) -> Self {
        Self(Box::new(Details { name: name.to_owned(), message: message.into(), ..Details::default() }))
    }

    /// A problem at a place in the text: the key's span, the value's, or both.
    pub(super) fn in_text(
        name: &str,
        text: &str,
        message: impl Into<String>,
        key_span: Option<Range<usize>>,
        value_span: Option<Range<usize>>,
    ) -> Self {
        let value = value_span.clone().and_then(|s| text.get(s)).filter(|v| !v.trim().is_empty()).map(one_line);
        Self(Box::new(Details {
            name: name.to_owned(),
            source_text: text.to_owned(),
            message: message.into(),
            key_span,
            value_span,
            value,
            ..Details::default()
        }))
    }

    pub(super) fn with_key(mut self, key: impl Into<String>) -> Self {
        self.0.key = Some(key.into());
        self
    }

    pub(super) fn with_value(mut self, value: impl Into<String>) -> Self {
        self.0.value = Some(value.into());
        self
    }

    pub(super) fn with_allowed(mut self, allowed: impl Into<String>) -> Self {
        self.0.allowed = Some(allowed.into());
        self
    }

    pub(super) fn with_help(mut self, help: impl Into<String>) -> Self {
        self.0.help = Some(help.into());
        self
    }

    /// Marks a refusal that is no mistake of the writer: for a single job bad input, in a sweep a row.
    pub(super) fn into_outcome(mut self) -> Self {
        self.0.outcome = true;
        self
    }

    /// Whether it is a refusal by physics alone.
    pub(super) fn is_outcome(&self) -> bool {
        self.0.outcome
    }

    /// Name of the file as it was given.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.0.name
    }

    /// The text of the job; empty where the file could not be read.
    #[must_use]
    pub fn source_text(&self) -> &str {
        &self.0.source_text
    }

    /// What is wrong, in one sentence.
    #[must_use]
    pub fn message(&self) -> String {
        printable(&self.0.message)
    }

    /// Path of the key, as in `pad.wide.diameter_mm`.
    #[must_use]
    pub fn key(&self) -> Option<String> {
        self.0.key.as_deref().map(printable)
    }

    /// The value as it was written, on one line and cut short where it is long.
    #[must_use]
    pub fn value(&self) -> Option<String> {
        self.0.value.as_deref().map(printable)
    }

    /// The allowed range, words or names.
    #[must_use]
    pub fn allowed(&self) -> Option<String> {
        self.0.allowed.as_deref().map(printable)
    }

    /// A way out.
    #[must_use]
    pub fn help(&self) -> Option<String> {
        self.0.help.as_deref().map(printable)
    }

    /// Bytes of the key, or of the header of the table that lacks a key.
    #[must_use]
    pub fn key_span(&self) -> Option<Range<usize>> {
        self.0.key_span.clone()
    }

    /// Bytes of the value.
    #[must_use]
    pub fn value_span(&self) -> Option<Range<usize>> {
        self.0.value_span.clone()
    }

    /// Bytes to look at first: the value, else the key.
    #[must_use]
    pub fn span(&self) -> Option<Range<usize>> {
        self.0.value_span.clone().or_else(|| self.0.key_span.clone())
    }

    /// Line of [`Problem::span`], from one.
    #[must_use]
    pub fn line(&self) -> Option<usize> {
        self.span().map(|s| position(&self.0.source_text, s.start).0)
    }

    /// Column of [`Problem::span`] in characters, from one.
    #[must_use]
    pub fn column(&self) -> Option<usize> {
        self.span().map(|s| position(&self.0.source_text, s.start).1)
    }

    fn excerpt(&self, f: &mut fmt::Formatter<'_>, span: &Range<usize>) -> fmt::Result {
        let text = &self.0.source_text;
        let (line, column) = position(text, span.start);
        let start = line_start(text, span.start);
        let line_text = text[start..].split(['\n', '\r']).next().unwrap_or("");
        let end = start + line_text.len();
        // Character columns of a span on this line, if it touches the line at all.
        let columns = |s: &Range<usize>| {
            (s.start >= start && s.start <= end).then(|| {
                let first = text[start..s.start].chars().count();
                let width = text.get(s.start..s.end.min(end)).map_or(0, |t| t.chars().count());
                (first, first + width.max(1))
            })
        };
        let from =
            if line_text.chars().nth(SHOWN_CHARS).is_some() { (column - 1).saturating_sub(SHOWN_CHARS / 3) } else { 0 };
        let shown: String = line_text.chars().skip(from).take(SHOWN_CHARS).map(visible).collect();
        let cut = line_text.chars().nth(from + SHOWN_CHARS).is_some();
        let (before, after) = (if from > 0 { "…" } else { "" }, if cut { "…" } else { "" });
        let mut marks = vec![' '; shown.chars().count() + 1];
        let mut mark = |range: Option<(usize, usize)>, with: char| {
            if let Some((a, b)) = range {
                for c in a.max(from)..b.min(from + marks.len()) {
                    marks[c - from] = with;
                }
            }
        };
        mark(self.0.key_span.as_ref().and_then(columns), if self.0.value_span.is_some() { '-' } else { '^' });
        mark(self.0.value_span.as_ref().and_then(columns), '^');
        let marks: String = marks.into_iter().collect();
        let number = line.to_string();
        let gap = " ".repeat(number.len());
        let lead = if from > 0 { " " } else { "" };
        writeln!(f, "\n{gap} |")?;
        writeln!(f, "{number} | {before}{shown}{after}")?;
        write!(f, "{gap} | {lead}{}", marks.trim_end())
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&printable(&self.0.name))?;
        if let (Some(line), Some(column)) = (self.line(), self.column()) {
            write!(f, ":{line}:{column}")?;
        }
        write!(f, ": {}", self.message())?;
        if let Some(span) = self.span() {
            self.excerpt(f, &span)?;
        }
        let rows = [("key", self.key()), ("value", self.value()), ("allowed", self.allowed()), ("help", self.help())];
        for (word, text) in rows {
            if let Some(text) = text {
                write!(f, "\n  {word}: {text}")?;
            }
        }
        Ok(())
    }
}

impl std::error::Error for Problem {}

/// Largest character boundary at or below `at`.
fn boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

fn line_start(text: &str, at: usize) -> usize {
    text[..boundary(text, at)].rfind('\n').map_or(0, |i| i + 1)
}

/// Line and column of a byte, both from one.
pub(super) fn position(text: &str, at: usize) -> (usize, usize) {
    let at = boundary(text, at);
    let start = line_start(text, at);
    let line = 1 + text[..start].bytes().filter(|b| *b == b'\n').count();
    (line, 1 + text[start..at].chars().count())
}

/// Control and direction-changing characters would garble a terminal: they are shown as a mark.
fn visible(c: char) -> char {
    match c {
        '\t' => ' ',
        '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => '\u{fffd}',
        c if c.is_control() => '\u{fffd}',
        c => c,
    }
}

fn printable(text: &str) -> String {
    text.chars().map(visible).collect()
}

/// At most 60 characters of a name or value, on one line.
pub(super) fn one_line(text: &str) -> String {
    // Twice the shown length is enough to tell whether something was cut.
    let head: String = text.chars().take(16 * CLIPPED_CHARS).collect();
    let joined = head.split_whitespace().collect::<Vec<_>>().join(" ");
    if joined.chars().count() > CLIPPED_CHARS || head.len() < text.len() {
        let mut cut: String = joined.chars().take(CLIPPED_CHARS).collect();
        cut.push('…');
        cut
    } else {
        joined
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn positions_count_characters_from_one() {
        let text = "a = 1\nµm = 2\n";
        assert_eq!(position(text, 0), (1, 1));
        // Byte 12 is the 2: `µ` takes two bytes and one column.
        assert_eq!(&text[12..13], "2");
        assert_eq!(position(text, 12), (2, 6));
        // The end of the text is on the line after the last line break.
        assert_eq!(position(text, text.len()), (3, 1));
    }

    #[test]
    fn the_excerpt_underlines_key_and_value() {
        let text = "[pad.x]\ndiameter_mm = 5e3 # wide\n";
        let p = Problem::in_text("j.toml", text, "too wide", Some(8..19), Some(22..25)).with_allowed("5 to 500 mm");
        assert_eq!(
            p.to_string(),
            "j.toml:2:15: too wide\n  |\n2 | diameter_mm = 5e3 # wide\n  | -----------   ^^^\n  value: 5e3\n  allowed: 5 to 500 mm"
        );
    }

    #[test]
    fn long_lines_and_control_characters_stay_readable() {
        let text = format!("x = \"{}\u{1b}[31m\u{202e}\"\n", "y".repeat(100_000));
        let p = Problem::in_text("j.toml", &text, "bad\u{1b}[2J", Some(0..1), Some(4..text.len() - 1));
        let shown = p.to_string();
        assert!(shown.chars().count() < 600, "{} characters", shown.chars().count());
        assert!(!shown.contains('\u{1b}') && !shown.contains('\u{202e}'));
    }
}
