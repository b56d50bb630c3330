//! Access to spanned TOML tables: every value is fetched by key with its place, and every refusal
//! names both.
//!
//! Opening a table checks its keys against its [`Kind`]; fetching a value checks its type; ranges
//! are checked by the validated types, whose `RangeError` is mapped back onto the key here.

use super::absent::documented;
use super::keys::{KINDS, Kind, Need, closest};
use super::model::Resolved;
use super::problem::{Problem, one_line, position};
use crate::equipment::defaults::Grade;
use crate::error::RangeError;
use core::ops::Range;
use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

/// A value with its place.
pub(super) type Value<'a> = Spanned<DeValue<'a>>;

/// A table's entry in file order: span of its name, name, value.
pub(super) type NamedValue<'a> = (Range<usize>, &'a str, &'a Value<'a>);

/// The text a job was read from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Source<'a> {
    pub(super) name: &'a str,
    pub(super) text: &'a str,
    /// Folder of the job file, where it was read from one.
    pub(super) folder: Option<&'a std::path::Path>,
    /// Whether values and defaults are listed for `check`; the cases of a sweep have no use for that.
    pub(super) lists: bool,
}

/// A table of a known kind at a place in the text.
#[derive(Debug, Clone)]
pub(super) struct Table<'a> {
    pub(super) source: Source<'a>,
    pub(super) kind: &'static Kind,
    /// Path with the names a user gave, as in `pad.wide`.
    pub(super) path: String,
    pub(super) span: Range<usize>,
    entries: &'a DeTable<'a>,
}

/// What a value is, in words.
pub(super) fn type_in_words(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a string",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// A number as f64; whole numbers count. Not finite where it is written so or does not fit.
pub(super) fn number_of(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Float(f) => f.as_str().parse().ok(),
        DeValue::Integer(i) if i.radix() == 10 => i.as_str().parse().ok(),
        // Only the other bases can fail here, when they pass 2^128: far outside every range.
        DeValue::Integer(i) => Some(u128::from_str_radix(i.as_str(), i.radix()).map_or(f64::INFINITY, |n| n as f64)),
        _ => None,
    }
}

/// Whether two numbers are the same but for the rounding of a unit conversion.
fn same_number(a: f64, b: f64) -> bool {
    (a.is_nan() && b.is_nan())
        || (a.is_infinite() && b.is_infinite() && (a > 0.0) == (b > 0.0))
        // A few roundings; two numbers a user types differ by far more.
        || (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

/// A number inside a value, lists included, that equals `wanted`.
fn find_number<'a>(value: &'a Value<'a>, wanted: f64) -> Option<&'a Value<'a>> {
    match value.get_ref() {
        DeValue::Array(items) => items.iter().find_map(|v| find_number(v, wanted)),
        v => number_of(v).filter(|n| same_number(*n, wanted)).map(|_| value),
    }
}

/// The first number in a value that is not finite.
fn find_infinite<'a>(value: &'a Value<'a>) -> Option<&'a Value<'a>> {
    match value.get_ref() {
        DeValue::Array(items) => items.iter().find_map(find_infinite),
        DeValue::Table(t) => t.values().find_map(find_infinite),
        v => number_of(v).filter(|n| !n.is_finite()).map(|_| value),
    }
}

/// A path segment, quoted where it is not a plain word.
pub(super) fn segment(name: &str) -> String {
    let plain = !name.is_empty() && name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    if plain { one_line(name) } else { format!("\"{}\"", one_line(name)) }
}

impl<'a> Table<'a> {
    /// Opens a value as a table of a kind; unknown keys are refused.
    pub(super) fn open(
        source: Source<'a>,
        kind: &'static Kind,
        path: String,
        key_span: &Range<usize>,
        value: &'a Value<'a>,
    ) -> Result<Self, Problem> {
        let DeValue::Table(entries) = value.get_ref() else {
            let got = type_in_words(value.get_ref());
            let problem = Problem::in_text(
                source.name,
                source.text,
                format!("`{path}` is {got}, expected a table"),
                Some(key_span.clone()),
                Some(value.span()),
            )
            .with_allowed(format!("a table with the keys {}", list(kind.keys.iter().map(|k| k.name))));
            let parent = kind.name;
            return Err(if matches!(parent, "tool" | "pad" | "product" | "paint" | "pairing" | "panel") {
                problem.with_help(format!("every {parent} has a name of your own: head its table with [{parent}.NAME]"))
            } else {
                problem
            }
            .with_key(path));
        };
        let table = Self { source, kind, path, span: value.span(), entries };
        table.refuse_unknown_keys()?;
        Ok(table)
    }

    /// The whole document of a job.
    pub(super) fn root(source: Source<'a>, entries: &'a DeTable<'a>) -> Result<Self, Problem> {
        Self::document(source, &super::keys::JOB, entries)
    }

    /// A whole document of a kind.
    pub(super) fn document(source: Source<'a>, kind: &'static Kind, entries: &'a DeTable<'a>) -> Result<Self, Problem> {
        let table = Self { source, kind, path: String::new(), span: 0..0, entries };
        table.refuse_unknown_keys()?;
        Ok(table)
    }

    fn refuse_unknown_keys(&self) -> Result<(), Problem> {
        let mut unknown: Vec<_> = self.entries.iter().filter(|(k, _)| self.kind.find(k.get_ref()).is_none()).collect();
        unknown.sort_by_key(|(k, _)| k.span().start);
        let Some((key, value)) = unknown.first() else { return Ok(()) };
        let typed: &str = key.get_ref();
        let what = if self.path.is_empty() {
            if matches!(value.get_ref(), DeValue::Table(_)) { "table" } else { "key" }.to_owned()
        } else {
            format!("key in [{}]", self.path)
        };
        let homes: Vec<String> = KINDS
            .iter()
            .filter(|k| k.find(typed).is_some() && !k.name.is_empty())
            .map(|k| format!("[{}]", k.name))
            .collect();
        let radius = typed.starts_with("radius") && self.kind.find("curvature_per_m").is_some();
        let near = closest(typed, self.kind.keys.iter().map(|k| k.name)).filter(|_| !radius);
        let mut message = format!("`{}` is not a known {what}", one_line(typed));
        let help = if radius {
            "a panel's curve is given as curvature_per_m, 1000 over the radius in mm: 2000 mm is 0.5, and -0.5 where it is hollow".to_owned()
        } else if let Some(near) = near {
            message = format!("{message}; did you mean `{near}`?");
            format!(
                "did you mean `{near}`? Every key carries its unit; unknown keys are errors so that a typing error cannot go unnoticed"
            )
        } else if let Some((last, others)) = homes.split_last() {
            let before = if others.is_empty() { String::new() } else { format!("{} or ", others.join(", ")) };
            format!("`{typed}` belongs in a {before}{last} table")
        } else {
            "unknown keys are errors, so that a typing error cannot go unnoticed".to_owned()
        };
        Err(Problem::in_text(self.source.name, self.source.text, message, Some(key.span()), None)
            .with_key(self.path_of(typed))
            .with_allowed(list(self.kind.keys.iter().map(|k| k.name)))
            .with_help(help))
    }

    /// Path of a key in this table, names included.
    pub(super) fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { segment(key) } else { format!("{}.{}", self.path, segment(key)) }
    }

    /// Line of the table's header.
    pub(super) fn line(&self) -> usize {
        position(self.source.text, self.span.start).0
    }

    pub(super) fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    /// Whether a key is given as a list.
    pub(super) fn is_array(&self, key: &str) -> bool {
        matches!(self.entry(key).map(|(_, v)| v.get_ref()), Some(DeValue::Array(_)))
    }

    /// A value with the place of its key.
    pub(super) fn entry(&self, key: &str) -> Option<(Range<usize>, &'a Value<'a>)> {
        self.entries.get_key_value(key).map(|(k, v)| (k.span(), v))
    }

    /// Tables inside a value of this table, in file order: key span, name, value.
    pub(super) fn named(&self, key: &str) -> Result<Vec<NamedValue<'a>>, Problem> {
        let Some((_, value)) = self.entry(key) else { return Ok(Vec::new()) };
        let DeValue::Table(inner) = value.get_ref() else {
            return Err(self
                .wrong_type(key, &format!("tables headed [{key}.NAME]"))
                .with_help(format!("every {key} has a name of your own: head its table with [{key}.NAME]")));
        };
        let mut out: Vec<_> = inner.iter().map(|(k, v)| (k.span(), &**k.get_ref(), v)).collect();
        // The parser sorts by name; a reader expects the order of the file.
        out.sort_by_key(|(k, _, _)| k.start);
        Ok(out)
    }

    /// A problem at a key of this table, or at the table's header where the key is missing.
    pub(super) fn problem(&self, key: &str, message: impl Into<String>) -> Problem {
        let (key_span, value_span) = match self.entry(key) {
            Some((k, v)) => (k, Some(v.span())),
            None => (self.span.clone(), None),
        };
        Problem::in_text(self.source.name, self.source.text, message, Some(key_span), value_span)
            .with_key(self.path_of(key))
    }

    /// A required key that is not there.
    pub(super) fn missing(&self, key: &str, why: &str) -> Problem {
        let place =
            if self.path.is_empty() { "the job".to_owned() } else { format!("[{}] (line {})", self.path, self.line()) };
        let unit = self.kind.find(key).map_or("", |k| k.unit);
        let problem = self.problem(key, format!("{place} lacks the required key `{key}`{why}"));
        if unit.is_empty() { problem } else { problem.with_help(format!("add `{key} = …`, in {unit}")) }
    }

    /// A value of the wrong type.
    pub(super) fn wrong_type(&self, key: &str, expected: &str) -> Problem {
        let got = self.entry(key).map_or("nothing", |(_, v)| type_in_words(v.get_ref()));
        self.problem(key, format!("`{}` is {got}, expected {expected}", self.path_of(key))).with_allowed(expected)
    }

    fn needed<T>(&self, key: &str, value: Option<T>) -> Result<T, Problem> {
        value.ok_or_else(|| self.missing(key, ""))
    }

    /// A number, where given.
    pub(super) fn number(&self, key: &str) -> Result<Option<f64>, Problem> {
        let Some((_, value)) = self.entry(key) else { return Ok(None) };
        if let Some(n) = number_of(value.get_ref()) {
            return Ok(Some(n));
        }
        let unit = self.kind.find(key).map_or("", |k| k.unit);
        let expected = if unit.is_empty() { "a number".to_owned() } else { format!("a number in {unit}") };
        let problem = self.wrong_type(key, &expected);
        Err(if matches!(value.get_ref(), DeValue::String(_)) {
            problem.with_help("numbers stand without quotes")
        } else {
            problem
        })
    }

    /// A number that must be given.
    pub(super) fn need_number(&self, key: &str) -> Result<f64, Problem> {
        let number = self.number(key)?;
        self.needed(key, number)
    }

    /// A whole number within a range that must be given.
    pub(super) fn need_whole(&self, key: &'static str, low: u32, high: u32) -> Result<usize, Problem> {
        let value = self.need_number(key)?;
        if !matches!(self.entry(key).map(|(_, v)| v.get_ref()), Some(DeValue::Integer(_))) {
            return Err(self.wrong_type(key, &format!("a whole number, {low} to {high}")));
        }
        let value = self.ranged(crate::equipment::within(key, value, f64::from(low), f64::from(high), ""))?;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a whole number within u32, checked above
        Ok(value as usize)
    }

    /// Text, where given.
    pub(super) fn text(&self, key: &str) -> Result<Option<&'a str>, Problem> {
        let Some((_, value)) = self.entry(key) else { return Ok(None) };
        match value.get_ref() {
            DeValue::String(s) => Ok(Some(s)),
            _ => Err(self.wrong_type(key, "a string in quotes")),
        }
    }

    /// Yes or no, where given.
    pub(super) fn flag(&self, key: &str) -> Result<Option<bool>, Problem> {
        let Some((_, value)) = self.entry(key) else { return Ok(None) };
        match value.get_ref() {
            DeValue::Boolean(b) => Ok(Some(*b)),
            _ => Err(self.wrong_type(key, "true or false")),
        }
    }

    /// Text that must be given.
    pub(super) fn need_text(&self, key: &str) -> Result<&'a str, Problem> {
        let text = self.text(key)?;
        self.needed(key, text)
    }

    /// One of the allowed words, where given.
    pub(super) fn choice(&self, key: &str, words: &[&'static str]) -> Result<Option<&'static str>, Problem> {
        let Some(word) = self.text(key)? else { return Ok(None) };
        if let Some(known) = words.iter().find(|w| **w == word) {
            return Ok(Some(known));
        }
        let message = format!("`{}` cannot be \"{}\"", self.path_of(key), one_line(word));
        Err(self.suggest(key, &message, word, words.iter().copied()))
    }

    /// One of the allowed words that must be given.
    pub(super) fn need_choice(&self, key: &str, words: &[&'static str]) -> Result<&'static str, Problem> {
        let word = self.choice(key, words)?;
        word.ok_or_else(|| self.missing(key, "").with_allowed(list(words.iter().copied())))
    }

    /// A problem at a key whose text is none of `names`, with the nearest one proposed.
    pub(super) fn suggest<'n>(
        &self,
        key: &str,
        message: &str,
        typed: &str,
        names: impl Iterator<Item = &'n str> + Clone,
    ) -> Problem {
        let near = closest(typed, names.clone());
        let message = near.map_or_else(|| message.to_owned(), |n| format!("{message}; did you mean `{n}`?"));
        let problem = self.problem(key, message).with_allowed(list(names));
        if let Some(n) = near { problem.with_help(format!("did you mean `{n}`?")) } else { problem }
    }

    /// A list, where given.
    pub(super) fn array(&self, key: &str, expected: &str) -> Result<Option<&'a DeArray<'a>>, Problem> {
        let Some((_, value)) = self.entry(key) else { return Ok(None) };
        match value.get_ref() {
            DeValue::Array(items) => Ok(Some(items)),
            _ => Err(self.wrong_type(key, expected)),
        }
    }

    /// An item that must be a list itself.
    pub(super) fn array_in(&self, key: &str, item: &'a Value<'a>, expected: &str) -> Result<&'a DeArray<'a>, Problem> {
        match item.get_ref() {
            DeValue::Array(items) => Ok(items),
            other => {
                let message = format!("`{}` holds {}, expected {expected}", self.path_of(key), type_in_words(other));
                Err(Problem::in_text(self.source.name, self.source.text, message, None, Some(item.span()))
                    .with_key(self.path_of(key))
                    .with_allowed(expected))
            }
        }
    }

    /// The numbers of a list; `expected` says in words what the list must be.
    pub(super) fn numbers_in(&self, key: &str, items: &[Value<'a>], expected: &str) -> Result<Vec<f64>, Problem> {
        // Longest list that any key takes; longer ones are refused before they are copied.
        if items.len() > 1000 {
            return Err(self
                .problem(key, format!("`{}` has {} entries, at most 1000 are read", self.path_of(key), items.len()))
                .with_allowed(expected));
        }
        let mut out = Vec::with_capacity(items.len());
        for item in items {
            let Some(n) = number_of(item.get_ref()) else {
                let (key_span, _) = self.entry(key).unwrap_or((self.span.clone(), item));
                let got = type_in_words(item.get_ref());
                let message = format!("`{}` holds {got}, expected {expected}", self.path_of(key));
                return Err(Problem::in_text(
                    self.source.name,
                    self.source.text,
                    message,
                    Some(key_span),
                    Some(item.span()),
                )
                .with_key(self.path_of(key))
                .with_allowed(expected));
            };
            out.push(n);
        }
        Ok(out)
    }

    /// A list of numbers, where given.
    pub(super) fn numbers(&self, key: &str, expected: &str) -> Result<Option<Vec<f64>>, Problem> {
        self.array(key, expected)?.map(|items| self.numbers_in(key, items, expected)).transpose()
    }

    /// Exactly two numbers, where given.
    pub(super) fn pair(&self, key: &str, expected: &str) -> Result<Option<(f64, f64)>, Problem> {
        match self.numbers(key, expected)?.as_deref() {
            None => Ok(None),
            Some([a, b]) => Ok(Some((*a, *b))),
            Some(other) => Err(self
                .problem(key, format!("`{}` has {} numbers, expected {expected}", self.path_of(key), other.len()))
                .with_allowed(expected)),
        }
    }

    /// A table inside this one, where given.
    pub(super) fn table(&self, key: &str, kind: &'static Kind) -> Result<Option<Self>, Problem> {
        self.entry(key).map(|(span, value)| Self::open(self.source, kind, self.path_of(key), &span, value)).transpose()
    }

    /// Maps a range error onto the key it speaks of.
    pub(super) fn ranged<T>(&self, result: Result<T, RangeError>) -> Result<T, Problem> {
        result.map_err(|e| out_of_range(&[self], &e))
    }

    /// Warns of keys that have no effect here; what they hold must be finite all the same.
    pub(super) fn ignore(&self, keys: &[&str], why: &str, warnings: &mut Vec<String>) -> Result<(), Problem> {
        for key in keys {
            let Some((key_span, value)) = self.entry(key) else { continue };
            if let Some(bad) = find_infinite(value) {
                return Err(Problem::in_text(
                    self.source.name,
                    self.source.text,
                    format!("`{}` is not a finite number", self.path_of(key)),
                    Some(key_span),
                    Some(bad.span()),
                )
                .with_key(self.path_of(key))
                .with_allowed("a finite number"));
            }
            let line = position(self.source.text, key_span.start).0;
            warnings.push(format!("{}:{line}: {} {why} and is ignored", self.source.name, self.path_of(key)));
        }
        Ok(())
    }

    /// A warning at a key.
    pub(super) fn warning(&self, key: &str, text: &str) -> String {
        let start = self.entry(key).map_or(self.span.start, |(k, _)| k.start);
        format!("{}:{}: {} {text}", self.source.name, position(self.source.text, start).0, self.path_of(key))
    }

    /// Lists the values of this table and the defaults of what was left out, `skip` excepted.
    pub(super) fn report(&self, out: &mut Vec<Resolved>, skip: &[&str]) {
        if !self.source.lists {
            return;
        }
        for key in self.kind.keys.iter().filter(|k| !skip.contains(&k.name)) {
            match self.entry(key.name) {
                // Tables report themselves.
                Some((_, v)) if matches!(v.get_ref(), DeValue::Table(_)) => {}
                Some((_, v)) => {
                    let value = match v.get_ref() {
                        DeValue::String(s) => one_line(s),
                        _ => self.source.text.get(v.span()).map_or_else(String::new, one_line),
                    };
                    let value = with_unit(&value, key.unit);
                    out.push(Resolved {
                        key: self.path_of(key.name),
                        value,
                        source: "job file".to_owned(),
                        grade: None,
                        is_default: false,
                    });
                }
                None if key.need == Need::Default => {
                    report_default(out, self.kind, key.name, self.path_of(key.name));
                }
                None => {}
            }
        }
    }
}

/// Lists the documented default of a key under `path`.
pub(super) fn report_default(out: &mut Vec<Resolved>, kind: &'static Kind, key: &str, path: String) {
    if let Some(d) = documented(&kind.path_of(key)) {
        let unit = kind.find(key).map_or("", |k| k.unit);
        // A default in words ("the face diameter") carries no unit.
        let value = if d.value.parse::<f64>().is_ok() { with_unit(d.value, unit) } else { d.value.to_owned() };
        out.push(Resolved { key: path, value, source: d.source.to_owned(), grade: Some(d.grade), is_default: true });
    }
}

/// Lists a value that follows from others.
pub(super) fn report_derived(out: &mut Vec<Resolved>, key: String, value: String, source: String) {
    out.push(Resolved { key, value, source, grade: Some(Grade::Derived), is_default: false });
}

fn with_unit(value: &str, unit: &str) -> String {
    if unit.is_empty() { value.to_owned() } else { format!("{value} {unit}") }
}

/// Names in a row; long rows are cut.
pub(super) fn list<'n>(names: impl Iterator<Item = &'n str>) -> String {
    let mut out = String::new();
    for (i, name) in names.enumerate() {
        if i == 40 {
            out.push_str(", …");
            break;
        }
        if i > 0 {
            out.push_str(", ");
        }
        out.push_str(&one_line(name));
    }
    if out.is_empty() { "none are defined".to_owned() } else { out }
}

/// A range error as a problem at the key it speaks of, looked for in `tables` in turn; at the
/// header of the first table where no key fits.
pub(super) fn out_of_range(tables: &[&Table<'_>], e: &RangeError) -> Problem {
    for table in tables {
        if let Some(problem) = locate(table, e) {
            return problem;
        }
    }
    let allowed = with_unit(&e.allowed, e.unit);
    match tables.first() {
        Some(t) => Problem::in_text(t.source.name, t.source.text, e.to_string(), Some(t.span.clone()), None)
            .with_key(t.path.clone())
            .with_allowed(allowed),
        None => Problem::of_file("job", e.to_string()).with_allowed(allowed),
    }
}

fn locate(table: &Table<'_>, e: &RangeError) -> Option<Problem> {
    // `tool.mass_kg` in a tool, `bearing.bore_mm` below it, `throw_mm` plain.
    let kind = table.kind.name.rsplit('.').next().unwrap_or("");
    let what = e.what.strip_prefix(kind).and_then(|r| r.strip_prefix('.')).unwrap_or(e.what);
    let mut path = table.path.clone();
    let mut entries = table.entries;
    let mut found = None;
    for part in what.split('.') {
        let (k, v) = entries.get_key_value(part)?;
        path = if path.is_empty() { segment(part) } else { format!("{path}.{}", segment(part)) };
        found = Some((k.span(), v));
        if let DeValue::Table(inner) = v.get_ref() {
            entries = inner;
        }
    }
    let (key_span, value) = found?;
    // A count of points or marks is no number of the list.
    let counted = matches!(e.unit, "points" | "marks");
    let at = if counted { value } else { find_number(value, e.value).unwrap_or(value) };
    let written = table.source.text.get(at.span()).map_or_else(String::new, one_line);
    let message = if counted {
        format!("`{path}` has {} {}, outside the allowed range", e.value, e.unit)
    } else {
        format!("`{path}` = {written} is outside the allowed range")
    };
    let unit = if counted { "" } else { e.unit };
    Some(
        Problem::in_text(table.source.name, table.source.text, message, Some(key_span), Some(at.span()))
            .with_key(path)
            .with_allowed(if e.allowed.contains(unit) { e.allowed.clone() } else { range_with_unit(&e.allowed, unit) }),
    )
}

/// `0.01 to 100; a pad …` -> `0.01 to 100 mm; a pad …`.
fn range_with_unit(allowed: &str, unit: &str) -> String {
    match allowed.split_once([';', ',']) {
        Some((range, _)) => format!("{} {unit}{}", range, &allowed[range.len()..]),
        None => format!("{allowed} {unit}"),
    }
}
