//! From a file to a job: size and encoding first, then TOML, then the tables in their order.
//!
//! Nothing here knows a range; see `equipment`, `panel` and `resolve`.

use super::equipment::{self, Notes};
use super::keys::{self, Kind};
use super::machine::MachineSettings;
use super::model::{Job, Named, PairingRule};
use super::problem::Problem;
use super::reader::{Source, Table, Value};
use super::{coupling, hand, machine, paint_tables, panel, resolve, season, vehicle};
use crate::units::Temperature;
use core::ops::Range;
use std::io::Read;
use std::path::Path;
use toml::de::{DeTable, DeValue};

/// Largest job file that is read, bytes.
pub const MAX_JOB_BYTES: u64 = 4 * 1024 * 1024;

/// Most tables of one kind, and most steps, that a job may have.
pub const MAX_TABLES: usize = 1000;

/// A description with the table it was read from, for errors found later.
#[derive(Clone)]
pub(super) struct Found<'a, T> {
    pub(super) name: &'a str,
    pub(super) item: T,
    pub(super) table: Table<'a>,
}

impl<T> Found<'_, T> {
    fn into_named(self) -> Named<T> {
        Named { name: self.name.to_owned(), item: self.item }
    }
}

pub(super) fn into_named<T>(read: Vec<Found<'_, T>>) -> Vec<Named<T>> {
    read.into_iter().map(Found::into_named).collect()
}

fn too_large(name: &str) -> Problem {
    Problem::of_file(name, "the file is larger than a job may be")
        .with_allowed(format!("at most {} MiB ({MAX_JOB_BYTES} bytes) of text", MAX_JOB_BYTES / (1024 * 1024)))
}

/// The text of a job file with the name that problems call it.
pub(super) fn text_of(path: &Path) -> Result<(String, String), Problem> {
    text_of_file(path, "job file").map_err(|p| {
        if path.exists() {
            return p;
        }
        let meant = path.with_extension("toml");
        if path.extension().is_none() && meant.is_file() {
            return p.with_help(format!("did you mean {}?", meant.display()));
        }
        p.with_help("`trochoid init` writes a commented job to start from")
    })
}

/// The text of a file of this kind with the name that problems call it.
pub(super) fn text_of_file(path: &Path, kind: &str) -> Result<(String, String), Problem> {
    let name = path.display().to_string();
    let cannot = |e: &std::io::Error| Problem::of_file(&name, format!("the {kind} cannot be read: {e}"));
    let about = std::fs::metadata(path).map_err(|e| cannot(&e))?;
    if about.is_dir() {
        return Err(Problem::of_file(&name, format!("this is a directory, not a {kind}")));
    }
    // Opening a pipe nobody writes to would wait for ever.
    if !about.is_file() {
        return Err(Problem::of_file(&name, "this is not a regular file").with_allowed(format!(
            "a regular file of at most {} MiB ({MAX_JOB_BYTES} bytes) of text",
            MAX_JOB_BYTES / (1024 * 1024)
        )));
    }
    if about.len() > MAX_JOB_BYTES {
        return Err(too_large(&name));
    }
    let mut bytes = Vec::new();
    // The file may grow between the two looks at it; one byte more tells.
    let file = std::fs::File::open(path).map_err(|e| cannot(&e))?;
    file.take(MAX_JOB_BYTES + 1).read_to_end(&mut bytes).map_err(|e| cannot(&e))?;
    if bytes.len() as u64 > MAX_JOB_BYTES {
        return Err(too_large(&name));
    }
    let text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let line = 1 + String::from_utf8_lossy(&e.as_bytes()[..at]).matches('\n').count();
        Problem::of_file(
            &name,
            format!("the file is not UTF-8 text: byte {} on line {line} does not belong there", at + 1),
        )
        .with_allowed("text saved as UTF-8")
    })?;
    Ok((name, text))
}

impl Job {
    /// Reads a job from a file.
    ///
    /// # Errors
    /// A [`Problem`] when the file cannot be read, is not a regular file, is larger than
    /// [`MAX_JOB_BYTES`], is not UTF-8 text, or holds no valid job.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::Job;
    /// // What is wrong with a file as a whole has no line.
    /// let problem = Job::read("no-such-job.toml").unwrap_err();
    /// assert_eq!((problem.name(), problem.line()), ("no-such-job.toml", None));
    /// ```
    pub fn read(path: impl AsRef<Path>) -> Result<Self, Problem> {
        let path = path.as_ref();
        let (name, text) = text_of(path)?;
        // A bare file name lies in the current folder.
        let folder = path.parent().map(|p| if p.as_os_str().is_empty() { Path::new(".") } else { p });
        Self::parse_in(&name, &text, folder)
    }

    /// Reads a job from its text; `name` is what problems call the file.
    ///
    /// # Errors
    /// A [`Problem`] when the text is no valid job.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::{Job, STARTER};
    /// let job = Job::parse("starter.toml", STARTER)?;
    /// assert_eq!(job.steps.len(), 2);
    /// let wrong = STARTER.replace("diameter_mm", "diamter_mm");
    /// let problem = Job::parse("starter.toml", &wrong).unwrap_err();
    /// assert!(problem.to_string().contains("did you mean `diameter_mm`?"));
    /// # Ok::<(), trochoid::job::Problem>(())
    /// ```
    pub fn parse(name: &str, text: &str) -> Result<Self, Problem> {
        Self::parse_in(name, text, None)
    }

    /// As [`Job::parse`], with the folder in which the files that the job names are found; see the
    /// example of [`Job::parse`]. Without a folder a job that names a file is refused.
    ///
    /// # Errors
    /// As [`Job::parse`]; a named file that cannot be read.
    pub fn parse_in(name: &str, text: &str, folder: Option<&Path>) -> Result<Self, Problem> {
        if text.len() as u64 > MAX_JOB_BYTES {
            return Err(too_large(name));
        }
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        if text.trim().is_empty() {
            return Err(Problem::of_file(name, "the file is empty")
                .with_help("`trochoid init` writes a commented job to start from"));
        }
        let document = DeTable::parse(text).map_err(|e| syntax(name, text, &e))?;
        let source = Source { name, text, folder, lists: true };
        let root = Table::root(source, document.get_ref())?;
        read_job(&root)
    }

    /// Takes in what was done on a vehicle already, from a file that holds `[[done]]` tables and nothing
    /// else but `schema`.
    ///
    /// # Errors
    /// As [`Job::read`]; a job that plans no vehicle, another table, a panel that the job does not have.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::{Job, STARTER};
    /// // The starter plans steps, so there is no vehicle to be told of.
    /// let mut job = Job::parse("starter.toml", STARTER)?;
    /// let done = std::env::temp_dir().join(format!("trochoid-done-{}.toml", std::process::id()));
    /// std::fs::write(&done, "schema = 1\n[[done]]\npanel = \"door\"\n").expect("the folder takes a file");
    /// assert!(job.read_done(&done).is_err());
    /// # std::fs::remove_file(&done).expect("it was written");
    /// # Ok::<(), trochoid::job::Problem>(())
    /// ```
    pub fn read_done(&mut self, path: impl AsRef<Path>) -> Result<(), Problem> {
        let (name, text) = text_of(path.as_ref())?;
        let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
        let document = DeTable::parse(text).map_err(|e| syntax(&name, text, &e))?;
        let source = Source { name: &name, text, folder: None, lists: true };
        let root = Table::root(source, document.get_ref())?;
        vehicle::read_done_file(&root, self)
    }
}

pub(super) fn syntax(name: &str, text: &str, e: &toml::de::Error) -> Problem {
    let span = e.span().unwrap_or(text.len()..text.len());
    let rest = text.get(span.start..).unwrap_or("");
    let value_missing = rest.starts_with(['\n', '\r', '#']) || rest.is_empty();
    let after_equals = text.get(..span.start).is_some_and(|t| t.trim_end_matches([' ', '\t']).ends_with('='));
    let bare_word = after_equals && rest.starts_with(char::is_alphabetic);
    let message = if value_missing && after_equals {
        "a value is missing after `=`".to_owned()
    } else if bare_word {
        // The parser takes the word for a misspelt true or false.
        "this is not valid TOML: a word stands here without quotes".to_owned()
    } else {
        format!("this is not valid TOML: {}", e.message())
    };
    let span_start = span.start;
    let problem = Problem::in_text(name, text, message, None, Some(span));
    if e.message().starts_with("duplicate key") {
        problem.with_help(
            "this name stands in the same table already; every key and every [kind.NAME] may stand only once",
        )
    } else if bare_word {
        problem.with_help("words stand in double quotes, as in drive = \"free\"")
    } else if let Some(help) = number_help(text, span_start) {
        problem.with_help(help)
    } else {
        problem
    }
}

/// What to do about a number that was written as on paper: a comma for the decimal point, a unit behind it.
fn number_help(text: &str, at: usize) -> Option<String> {
    let start = text.get(..at)?.rfind('\n').map_or(0, |n| n + 1);
    let line = text.get(start..)?.lines().next()?;
    let (key, value) = line.split_once('=')?;
    let (key, value) = (key.trim(), value.split('#').next()?.trim());
    let digits = |t: &str| !t.is_empty() && t.chars().all(|c| c.is_ascii_digit());
    if let Some((whole, part)) = value.split_once(',')
        && digits(whole.trim_start_matches(['-', '+']))
        && digits(part)
    {
        return Some(format!("the decimal sign is a point: {key} = {whole}.{part}"));
    }
    let end = value.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))?;
    let (number, unit) = (value.get(..end)?, value.get(end..)?.trim());
    let is_unit = unit.chars().count() <= 8 && unit.chars().all(|c| c.is_alphabetic() || "/%°²³·".contains(c));
    (number.parse::<f64>().is_ok() && is_unit && key.chars().all(|c| c.is_alphanumeric() || c == '_'))
        .then(|| format!("the unit stands in the key, the number alone behind it: {key} = {number}"))
}

fn read_all<'a, T>(
    root: &Table<'a>,
    kind: &'static Kind,
    mut read: impl FnMut(&Table<'a>) -> Result<T, Problem>,
) -> Result<Vec<Found<'a, T>>, Problem> {
    let found = root.named(kind.name)?;
    if found.len() > MAX_TABLES {
        return Err(root
            .problem(kind.name, format!("the job has {} tables [{}.NAME]", found.len(), kind.name))
            .with_allowed(format!("at most {MAX_TABLES}")));
    }
    let mut out = Vec::with_capacity(found.len());
    for (span, name, value) in found {
        let path = format!("{}.{}", kind.name, super::reader::segment(name));
        let table = Table::open(root.source, kind, path, &span, value)?;
        if let Err(why) = check_name(name) {
            return Err(Problem::in_text(
                root.source.name,
                root.source.text,
                format!("a {} cannot have this name", kind.name),
                Some(span),
                None,
            )
            .with_key(table.path)
            .with_allowed(why));
        }
        let item = read(&table)?;
        out.push(Found { name, item, table });
    }
    Ok(out)
}

/// A name that can stand in a table and in a message.
pub(super) fn check_name(name: &str) -> Result<(), &'static str> {
    let fine = !name.trim().is_empty() && name.chars().count() <= 100 && !name.chars().any(char::is_control);
    if fine { Ok(()) } else { Err("1 to 100 characters, no control characters, not only spaces") }
}

/// Everything named in the job, and what the tools tell of themselves as machines.
pub(super) fn inventory<'a>(
    root: &Table<'a>,
    air: Temperature,
    notes: &mut Notes,
) -> Result<(resolve::Inventory<'a>, Vec<Named<MachineSettings>>), Problem> {
    let mut machines = Vec::new();
    let tools = read_all(root, &keys::TOOL, |t| {
        let tool = equipment::tool(t, notes)?;
        machines.push(machine::machine(t, &tool, notes)?);
        Ok(tool)
    })?;
    let machines = tools.iter().zip(machines).map(|(t, item)| Named { name: t.name.to_owned(), item }).collect();
    let pads = read_all(root, &keys::PAD, |t| equipment::pad(t, notes))?;
    pads.iter().try_for_each(|p| paint_tables::core_limit_above(&p.table, air))?;
    let products = read_all(root, &keys::PRODUCT, |t| equipment::product(t, notes))?;
    let paints = read_all(root, &keys::PAINT, |t| equipment::paint(t, notes))?;
    let panels = read_all(root, &keys::PANEL, |t| panel::panel(t, notes))?;
    let mut inventory = resolve::Inventory { tools, pads, products, paints, panels, pairings: Vec::new() };
    let pairings = pairings(root, &inventory, notes)?;
    inventory.set_pairings(pairings)?;
    inventory.check_panel_paints()?;
    Ok((inventory, machines))
}

/// The pairings with their tables.
pub(super) fn pairings<'a>(
    root: &Table<'a>,
    inventory: &resolve::Inventory<'_>,
    notes: &mut Notes,
) -> Result<Vec<Found<'a, PairingRule>>, Problem> {
    read_all(root, &keys::PAIRING, |t| inventory.pairing(t, notes))
}

pub(super) fn read_job(root: &Table<'_>) -> Result<Job, Problem> {
    let mut notes = Notes::default();
    if !root.has("schema") {
        return Err(root.missing("schema", "").with_allowed("1").with_help("put `schema = 1` on the first line"));
    }
    root.need_whole("schema", 1, 1)?;
    let title = root.text("title")?.map(str::to_owned);
    root.report(&mut notes.resolved, &["step", "spot", "done"]);
    let (ambient, limits, map) = panel::settings(root, &mut notes)?;
    let (inventory, machines) = inventory(root, ambient.temperature, &mut notes)?;
    let budget = paint_tables::budget(root, &inventory, &mut notes)?;
    let coupling = coupling::coupling(root, &inventory, &mut notes)?;
    let season = season::season(root, &mut notes)?;
    let hand = hand::hand(root, &mut notes)?;
    let optimize = super::optimize::optimize(root, &mut notes)?;
    let counted_spins = inventory.counted_spins(&mut notes)?;
    let mut vehicle = vehicle::vehicle(root, &inventory, &mut notes)?;
    if let Some(v) = &mut vehicle {
        vehicle::take_done(root, v, &budget.readings, &mut notes)?;
    }
    let steps = if vehicle.is_some() { Vec::new() } else { steps(root)? };
    let steps = inventory.steps(root.source, &steps, &mut notes)?;
    let sizing = super::sizing::sizing(root, &inventory, &steps, &mut notes)?;
    let (spots, spot_steps) = paint_tables::spots(root, &inventory, &steps, &mut notes)?;
    Ok(Job {
        file_name: root.source.name.to_owned(),
        title,
        ambient,
        limits,
        map,
        coupling,
        budget,
        season,
        hand,
        optimize,
        sizing,
        spots,
        spot_steps,
        vehicle,
        machines,
        tools: into_named(inventory.tools),
        pads: into_named(inventory.pads),
        products: into_named(inventory.products),
        paints: into_named(inventory.paints),
        pairings: inventory.pairings,
        panels: inventory.panels.into_iter().map(|p| Named { name: p.name.to_owned(), item: p.item.panel }).collect(),
        counted_spins,
        steps,
        resolved: notes.resolved,
        warnings: notes.warnings,
    })
}

/// The `[[step]]` tables in order.
pub(super) fn steps<'a>(root: &Table<'a>) -> Result<Vec<(Range<usize>, &'a Value<'a>)>, Problem> {
    let help = "head every step with [[step]], in double brackets";
    if !root.has("step") {
        let help = format!("{help}; or plan a whole vehicle with a [vehicle] table instead");
        return Err(Problem::of_file(root.source.name, "the job has no step").with_key("step").with_help(help));
    }
    let Some(items) = root.array("step", "steps headed [[step]]").map_err(|p| p.with_help(help))? else {
        return Ok(Vec::new());
    };
    if items.is_empty() || items.len() > MAX_TABLES {
        return Err(root
            .problem("step", format!("the job has {} steps", items.len()))
            .with_allowed(format!("1 to {MAX_TABLES} steps")));
    }
    if let Some(stray) = items.iter().find(|v| !matches!(v.get_ref(), DeValue::Table(_))) {
        return Err(Problem::in_text(
            root.source.name,
            root.source.text,
            "a step is not a table",
            None,
            Some(stray.span()),
        )
        .with_key("step")
        .with_help(help));
    }
    Ok(items.iter().map(|v| (v.span(), v)).collect())
}
