//! The study file: which job and step, which keys vary over which values, in which design, and which
//! columns are computed.

use super::cases::JobTree;
use super::column::Column;
use super::keys::{DESIGN, RANGE, STUDY};
use super::place::path_of;
use super::text::Text;
use crate::error::RangeError;
use crate::job::MAX_JOB_BYTES;
use crate::job::file::{syntax, text_of, text_of_file};
use crate::job::problem::{Problem, one_line};
use crate::job::reader::{Source, Table, Value, list, type_in_words};
use crate::math::digest::Digest;
use crate::plan::{Axis, Design, DesignError, Layout, MAX_AXES, MAX_CASES, Scale};
use core::ops::Range;
use std::path::{Component, Path, PathBuf};
use toml::de::{DeTable, DeValue};

/// Most values in the list of one key.
pub const MAX_VALUES: usize = 1000;

/// A key of the job that varies.
#[derive(Debug, Clone, PartialEq)]
pub struct VariedKey {
    pub(super) segments: Vec<String>,
    pub(super) key_span: Range<usize>,
    pub(super) value_span: Range<usize>,
    /// The values of a list; none for a range.
    pub(super) values: Vec<Text>,
    pub(super) used: bool,
}

impl VariedKey {
    /// Its path in the job, as in `tool.long.throw_mm`: the name of its column.
    #[must_use]
    pub fn path(&self) -> String {
        path_of(&self.segments)
    }

    /// Whether a column of the table can depend on it.
    #[must_use]
    pub const fn is_used(&self) -> bool {
        self.used
    }
}

/// A study as it was read and checked, with the text of its job.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    pub(super) name: String,
    pub(super) text: String,
    pub(super) title: Option<String>,
    pub(super) job_name: String,
    pub(super) job_text: String,
    pub(super) job_folder: Option<PathBuf>,
    pub(super) step: String,
    pub(super) step_spans: (Range<usize>, Range<usize>),
    pub(super) design: Design,
    pub(super) keys: Vec<VariedKey>,
    pub(super) columns: Vec<Column>,
    pub(super) warnings: Vec<String>,
    digest: Digest,
}

/// The text of a job with the name that problems call it, and its folder where it came from a file.
pub struct JobText {
    /// Name of the file.
    pub name: String,
    /// The text.
    pub text: String,
    /// Folder of the files that the job names.
    pub folder: Option<PathBuf>,
}

impl Study {
    /// Reads a study and its job from files. The job lies in the study's folder or below it unless
    /// `anywhere` lifts that.
    ///
    /// # Errors
    /// A [`Problem`] with its place, for everything that is wrong with the study, for a job that cannot be
    /// read, and for a value of a key that the job refuses.
    ///
    /// The text of a study stands in the example of [`crate::job::sweep`].
    pub fn read(path: impl AsRef<Path>, anywhere: bool) -> Result<Self, Problem> {
        let path = path.as_ref();
        let (name, text) = text_of_file(path, "study file")?;
        let folder = path.parent().unwrap_or(Path::new("")).to_owned();
        // A bare file name lies in the current folder.
        let there = |p: &Path| if p.as_os_str().is_empty() { PathBuf::from(".") } else { p.to_owned() };
        Self::parse_with(&name, &text, |job, refuse| {
            let at = Path::new(job);
            let inside = at.components().all(|c| matches!(c, Component::Normal(_) | Component::CurDir));
            let full = folder.join(at);
            // A link may lead out where the name does not.
            let follows = || {
                let (Ok(f), Ok(j)) = (there(&folder).canonicalize(), full.canonicalize()) else { return true };
                j.starts_with(f)
            };
            if !anywhere && (!inside || !follows()) {
                return Err(refuse("`job` leads out of the study's folder")
                    .with_allowed("the name of a file in the study's folder or below it")
                    .with_help("copy the job beside the study, or allow it with --allow-outside"));
            }
            let (name, text) = text_of(&full)?;
            let folder = full.parent().map(there);
            Ok(JobText { name, text, folder })
        })
    }

    /// Reads a study from its text; `job` gives the text of the job that it names, or a problem made from
    /// a message by the function that it is handed.
    ///
    /// # Errors
    /// As [`Study::read`].
    ///
    /// # Example
    /// ```
    /// use trochoid::job::{STARTER, sweep::{JobText, Study}};
    /// let study = |force: &str| {
    ///     let text = format!(
    ///         "schema = 1\njob = \"starter.toml\"\nstep = \"cut\"\ndesign = {{ kind = \"grid\" }}\n\
    ///          [vary]\nstep.cut.force_n = {force}\n"
    ///     );
    ///     Study::parse_with("study.toml", &text, |name, _| {
    ///         Ok(JobText { name: name.to_owned(), text: STARTER.to_owned(), folder: None })
    ///     })
    /// };
    /// assert_eq!(study("[20.0, 30.0, 40.0]")?.design().cases(), 3);
    /// // A value that the job refuses is told where the study has it.
    /// assert_eq!(study("[20.0, -30.0]").unwrap_err().line(), Some(6));
    /// # Ok::<(), trochoid::job::Problem>(())
    /// ```
    pub fn parse_with(
        name: &str,
        text: &str,
        job: impl FnOnce(&str, &dyn Fn(&str) -> Problem) -> Result<JobText, Problem>,
    ) -> Result<Self, Problem> {
        if text.len() as u64 > MAX_JOB_BYTES {
            return Err(Problem::of_file(name, "the file is larger than a study may be")
                .with_allowed(format!("at most {MAX_JOB_BYTES} bytes of text")));
        }
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        if text.trim().is_empty() {
            return Err(Problem::of_file(name, "the file is empty"));
        }
        let document = DeTable::parse(text).map_err(|e| syntax(name, text, &e))?;
        let root = Table::document(Source { name, text, folder: None, lists: true }, &STUDY, document.get_ref())?;
        if !root.has("schema") {
            return Err(root.missing("schema", "").with_allowed("1").with_help("put `schema = 1` on the first line"));
        }
        root.need_whole("schema", 1, 1)?;
        let title = root.text("title")?.map(str::to_owned);
        let job_file = root.need_text("job")?;
        let step = root.need_text("step")?.to_owned();
        let spans = root.entry("step").map_or((0..0, 0..0), |(k, v)| (k, v.span()));
        let columns = columns(&root)?;
        let mut warnings = Vec::new();
        let varied = varied(&root)?;
        let design = design(&root, &varied, &mut warnings)?;
        let job = job(job_file, &|message| root.problem("job", message))?;
        let mut study = Self {
            name: name.to_owned(),
            text: text.to_owned(),
            title,
            job_name: job.name,
            job_text: job.text,
            job_folder: job.folder,
            step,
            step_spans: spans,
            design,
            keys: varied.into_iter().map(|(key, _)| key).collect(),
            columns,
            warnings,
            digest: Digest::default(),
        };
        let (used, more, read) = study.checked()?;
        for (key, used) in study.keys.iter_mut().zip(used) {
            key.used = used;
        }
        study.warnings.extend(more);
        study.digest = Digest::default()
            .with_text(env!("CARGO_PKG_VERSION"))
            .with_text(&study.text)
            .with_text(&study.job_text)
            // What other files of the job put under the pad, on whichever panel a case stands.
            .with_text(&read);
        Ok(study)
    }

    /// Reads the job, finds every key in it and tries the ends of every range.
    fn checked(&self) -> Result<(Vec<bool>, Vec<String>, String), Problem> {
        let tree = JobTree::of(self)?;
        let cases = tree.cases()?;
        cases.try_values()?;
        let mut warnings = cases.job_warnings().to_vec();
        for key in self.keys.iter().zip(cases.used()).filter(|(_, used)| !**used).map(|(k, _)| k) {
            warnings.push(format!(
                "{}:{}: no column of this study depends on {}",
                self.name,
                crate::job::problem::position(&self.text, key.key_span.start).0,
                key.path()
            ));
        }
        Ok((cases.used().to_vec(), warnings, cases.panels_as_read()))
    }

    /// The tree of the job, from which the cases are read.
    ///
    /// # Errors
    /// None for a study that was read whole; a [`Problem`] as [`Study::read`] otherwise.
    pub fn tree(&self) -> Result<JobTree<'_>, Problem> {
        JobTree::of(self)
    }

    /// Name of the study's file.
    #[must_use]
    pub fn file_name(&self) -> &str {
        &self.name
    }

    /// Title, where given.
    #[must_use]
    pub fn title(&self) -> Option<&str> {
        self.title.as_deref()
    }

    /// Name of the job's file.
    #[must_use]
    pub fn job_name(&self) -> &str {
        &self.job_name
    }

    /// The step that is worked.
    #[must_use]
    pub fn step_name(&self) -> &str {
        &self.step
    }

    /// The design.
    #[must_use]
    pub const fn design(&self) -> &Design {
        &self.design
    }

    /// The varied keys in order.
    #[must_use]
    pub fn keys(&self) -> &[VariedKey] {
        &self.keys
    }

    /// The computed columns in order.
    #[must_use]
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// What was accepted and may not be meant.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// A digest of study, job and the version of the program: results with the same one go together.
    #[must_use]
    pub const fn digest(&self) -> Digest {
        self.digest
    }

    /// A problem at a varied key.
    pub(super) fn problem_at(&self, axis: usize, message: impl Into<String>) -> Problem {
        let Some(key) = self.keys.get(axis) else { return Problem::of_file(&self.name, message) };
        Problem::in_text(&self.name, &self.text, message, Some(key.key_span.clone()), Some(key.value_span.clone()))
            .with_key(key.path())
    }
}

/// The columns asked for.
fn columns(root: &Table<'_>) -> Result<Vec<Column>, Problem> {
    let key = "columns";
    let expected = "a list of names of columns";
    let names = || list(Column::ALL.iter().map(|c| c.name()));
    let Some(items) = root.array(key, expected)? else { return Ok(Column::USUAL.to_vec()) };
    if items.is_empty() || items.len() > Column::ALL.len() {
        return Err(root.problem(key, format!("`columns` has {} entries", items.len())).with_allowed(names()));
    }
    let mut out = Vec::new();
    for item in items {
        let DeValue::String(word) = item.get_ref() else { return Err(root.wrong_type(key, expected)) };
        let Some(column) = Column::named(word) else {
            let message = format!("`columns` holds \"{}\"", one_line(word));
            return Err(root.suggest(key, &message, word, Column::ALL.iter().map(|c| c.name())));
        };
        if out.contains(&column) {
            return Err(root.problem(key, format!("`columns` holds \"{word}\" twice")).with_allowed("each name once"));
        }
        out.push(column);
    }
    Ok(out)
}

type Varied = (VariedKey, Axis);

/// The varied keys in the order of the file.
fn varied(root: &Table<'_>) -> Result<Vec<Varied>, Problem> {
    let help = "name the keys by their path in the job, as in `step.cut.force_n = { low = 20.0, high = 50.0 }`";
    let Some((_, value)) = root.entry("vary") else { return Err(root.missing("vary", "").with_help(help)) };
    let DeValue::Table(table) = value.get_ref() else {
        return Err(root.wrong_type("vary", "a table of keys of the job").with_help(help));
    };
    let mut out = Vec::new();
    collect(root, table, &mut Vec::new(), &mut out)?;
    out.sort_by_key(|(k, _): &Varied| k.key_span.start);
    if out.is_empty() || out.len() > MAX_AXES {
        return Err(root
            .problem("vary", format!("[vary] holds {} keys", out.len()))
            .with_allowed(format!("1 to {MAX_AXES} keys of the job"))
            .with_help(help));
    }
    Ok(out)
}

/// Whether a table says what a key may be; else it leads to keys further down.
fn is_range(table: &DeTable<'_>) -> bool {
    let holds = |key: &str, wanted: fn(&DeValue<'_>) -> bool| table.get(key).is_some_and(|v| wanted(v.get_ref()));
    holds("low", |v| !v.is_table()) || holds("high", |v| !v.is_table()) || holds("values", |v| !v.is_table())
}

fn collect(
    root: &Table<'_>,
    table: &DeTable<'_>,
    above: &mut Vec<String>,
    out: &mut Vec<Varied>,
) -> Result<(), Problem> {
    for (key, value) in table {
        let name: &str = key.get_ref();
        above.push(name.to_owned());
        match value.get_ref() {
            DeValue::Table(inner) if !is_range(inner) && !inner.is_empty() => collect(root, inner, above, out)?,
            _ => {
                let path = path_of(above);
                out.push(one_key(root, above, &path, key.span(), value)?);
            }
        }
        if out.len() > MAX_AXES {
            return Err(root
                .problem("vary", format!("[vary] holds more than {MAX_AXES} keys"))
                .with_allowed(format!("1 to {MAX_AXES} keys of the job")));
        }
        above.pop();
    }
    Ok(())
}

/// One varied key: a list of values, or a range.
fn one_key(
    root: &Table<'_>,
    segments: &[String],
    path: &str,
    key_span: Range<usize>,
    value: &Value<'_>,
) -> Result<Varied, Problem> {
    let source = root.source;
    let at = |message: String, place: Range<usize>| {
        Problem::in_text(source.name, source.text, message, Some(key_span.clone()), Some(place)).with_key(path)
    };
    let key = |values: Vec<Text>| VariedKey {
        segments: segments.to_vec(),
        key_span: key_span.clone(),
        value_span: value.span(),
        values,
        used: true,
    };
    let listed = |items: &[Value<'_>]| -> Result<Varied, Problem> {
        if items.is_empty() || items.len() > MAX_VALUES {
            return Err(at(format!("`{path}` has {} values", items.len()), value.span())
                .with_allowed(format!("1 to {MAX_VALUES} values")));
        }
        let mut values = Vec::with_capacity(items.len());
        for item in items {
            values.push(Text::of_value(item).map_err(|what| {
                at(format!("`{path}` cannot be {what}"), item.span())
                    .with_allowed("numbers, words, true or false, or lists of them")
            })?);
        }
        let axis = Axis::list(values.len() as u64).map_err(|e| at(e.to_string(), value.span()))?;
        Ok((key(values), axis))
    };
    match value.get_ref() {
        DeValue::Array(items) => listed(items.as_ref()),
        DeValue::Table(_) => {
            let t = Table::open(source, &RANGE, path.to_owned(), &key_span, value)?;
            if let Some(items) = t.array("values", "a list of values")? {
                if let Some(stray) = ["low", "high", "count", "scale", "whole"].into_iter().find(|k| t.has(k)) {
                    return Err(t
                        .problem(stray, format!("`{}` does not go with a list of values", t.path_of(stray)))
                        .with_allowed("values alone, or low and high"));
                }
                return listed(items.as_ref());
            }
            Ok((key(Vec::new()), range(&t)?))
        }
        other => Err(at(format!("`{path}` is {} here, so it would not vary", type_in_words(other)), value.span())
            .with_allowed("a list of values, or a range { low = …, high = … }")),
    }
}

/// A range between two numbers.
fn range(t: &Table<'_>) -> Result<Axis, Problem> {
    let count = whole_number(t, "count")?;
    let log = t.choice("scale", &["linear", "log"])? == Some("log");
    if t.flag("whole")?.unwrap_or(false) {
        if let Some(stray) = ["scale", "count"].into_iter().find(|k| t.has(k)) {
            return Err(t
                .problem(stray, format!("`{}` does not go with whole numbers", t.path_of(stray)))
                .with_allowed("low, high and whole = true: every whole number between them"));
        }
        let end = |key: &'static str| -> Result<i64, Problem> {
            let x = t.need_number(key)?;
            let fits = x.fract().abs() <= 0.0 && x.abs() <= 4e15;
            if !fits {
                return Err(t.wrong_type(key, "a whole number"));
            }
            #[allow(clippy::cast_possible_truncation)] // whole and below 2^52
            Ok(x as i64)
        };
        return t.ranged(Axis::whole(end("low")?, end("high")?));
    }
    let scale = if log { Scale::Log } else { Scale::Linear };
    t.ranged(Axis::range(t.need_number("low")?, t.need_number("high")?, scale, count))
}

/// A whole number from 0 up, where given.
fn whole_number(t: &Table<'_>, key: &'static str) -> Result<Option<u64>, Problem> {
    let Some((_, value)) = t.entry(key) else { return Ok(None) };
    let DeValue::Integer(i) = value.get_ref() else { return Err(t.wrong_type(key, "a whole number")) };
    match u64::from_str_radix(i.as_str(), i.radix()) {
        Ok(n) => Ok(Some(n)),
        Err(_) => t.ranged(Err(RangeError::new(
            key,
            crate::job::reader::number_of(value.get_ref()).unwrap_or(f64::NAN),
            "",
            format!("a whole number from 0 to {}", u64::MAX),
        ))),
    }
}

/// The design of the study.
fn design(root: &Table<'_>, varied: &[Varied], warnings: &mut Vec<String>) -> Result<Design, Problem> {
    let Some(t) = root.table("design", &DESIGN)? else {
        return Err(root.missing("design", "").with_help("for instance `design = { kind = \"grid\" }`"));
    };
    let kind = t.need_choice("kind", &["grid", "random", "sobol"])?;
    let (count, seed) = (whole_number(&t, "count")?, whole_number(&t, "seed")?);
    let needed = || count.ok_or_else(|| t.missing("count", &format!(" of a {kind} design")));
    let layout = match kind {
        "grid" => {
            t.ignore(&["count", "seed"], "is not used by a grid", warnings)?;
            Layout::Grid
        }
        "random" => Layout::Random {
            count: needed()?,
            seed: seed.ok_or_else(|| t.missing("seed", " of a random design").with_allowed("any whole number"))?,
        },
        _ => Layout::Sobol { count: needed()?, seed },
    };
    let axes: Vec<Axis> = varied.iter().map(|(_, a)| *a).collect();
    if kind != "grid" && axes.iter().zip(varied).any(|(a, (k, _))| k.values.is_empty() && counted_range(a)) {
        warnings.push(format!("{}: the count of a range is used by a grid only", root.source.name));
    }
    Design::new(axes, layout).map_err(|e| match e {
        DesignError::NoCount { axis } => match varied.get(axis) {
            Some((key, _)) => Problem::in_text(
                root.source.name,
                root.source.text,
                format!("a grid must know how many values `{}` takes", key.path()),
                Some(key.key_span.clone()),
                Some(key.value_span.clone()),
            )
            .with_key(key.path())
            .with_help("add `count = …` to the range, or give its values"),
            None => t.problem("kind", e.to_string()),
        },
        DesignError::Cases { count } => {
            let key = if kind == "grid" { "kind" } else { "count" };
            t.problem(key, format!("the design has {count} cases")).with_allowed(format!(
                "1 to {MAX_CASES} cases: more would be a table above 100 GB, and days of one processor core"
            ))
        }
        DesignError::Axes { given, most } => t
            .problem("kind", format!("a {kind} design cannot vary {given} keys"))
            .with_allowed(format!("1 to {most} keys")),
    })
}

/// Whether an axis is a range of numbers with a count.
fn counted_range(axis: &Axis) -> bool {
    matches!(axis.ends()[0], crate::plan::Level::Number(_)) && axis.grid_count().is_some()
}
