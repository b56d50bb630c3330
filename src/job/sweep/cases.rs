//! From the number of a case to its step and its row.
//!
//! The job is parsed once. A case puts its values into copies of the tables that hold a varied key and reads
//! those tables again with the readers of the job file; every other table was read before and is used as it
//! is. A step read in this way is the one that the job would give with the values written into its text: the
//! tests compare the two bit by bit.
//!
//! Counted spins and test spots of the job are left aside: the values are taken as they are written.

use super::column::{Cell, Column, Status, cells};
use super::place::{Lost, Part, Place, place_of, put, put_in, step_at};
use super::study::Study;
use super::text::{Text, csv_field, moved};
use crate::job::equipment::{self, Notes};
use crate::job::file::{self, Found, inventory, pairings, read_job, syntax};
use crate::job::keys::{self, Kind};
use crate::job::machine;
use crate::job::paint_tables::core_limit_above;
use crate::job::panel;
use crate::job::problem::Problem;
use crate::job::reader::{Source, Table, Value, list, segment};
use crate::job::resolve::Inventory;
use crate::job::{Ambient, Job, PairingRule, Step};
use crate::plan::Level;
use core::ops::Range;
use std::fmt::Write as _;
use toml::de::{DeTable, DeValue};

/// Keys of a step that name what it uses.
const NAMES: [&str; 4] = ["tool", "pad", "product", "panel"];

/// The job of a study as a tree.
pub struct JobTree<'s> {
    study: &'s Study,
    document: DeTable<'s>,
}

/// A table that holds varied keys.
#[derive(Clone)]
struct Touched<'t> {
    unit: Unit,
    path: String,
    span: Range<usize>,
    value: &'t Value<'t>,
    /// Number of the varied key and its way from this table.
    keys: Vec<(usize, Vec<Part>)>,
}

/// What a table that is read again describes, with its place in the inventory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Tool(usize),
    Pad(usize),
    Product(usize),
    Panel(usize),
    Pairing(usize),
    Limits,
    Step,
}

/// The cases of a study, ready to be worked in any order and on any thread.
pub struct Cases<'t> {
    pub(super) study: &'t Study,
    pub(super) source: Source<'t>,
    pub(super) document: &'t DeTable<'t>,
    pub(super) places: Vec<Place>,
    pub(super) used: Vec<bool>,
    inventory: Inventory<'t>,
    pairings: Vec<Found<'t, PairingRule>>,
    pairings_change: bool,
    touched: Vec<Touched<'t>>,
    step: (Range<usize>, &'t Value<'t>),
    base: Step,
    air: Ambient,
    useful_spin: f64,
    warnings: Vec<String>,
}

/// A case that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseStep {
    /// The step with the values of the case.
    pub step: Step,
    /// Spin below which its pad counts as stalled \[rad/s\].
    pub useful_spin: f64,
}

impl<'s> JobTree<'s> {
    pub(super) fn of(study: &'s Study) -> Result<Self, Problem> {
        let text = study.job_text.strip_prefix('\u{feff}').unwrap_or(&study.job_text);
        if text.len() as u64 > crate::job::MAX_JOB_BYTES {
            return Err(Problem::of_file(&study.job_name, "the file is larger than a job may be"));
        }
        let document = DeTable::parse(text).map_err(|e| syntax(&study.job_name, text, &e))?;
        Ok(Self { study, document: document.into_inner() })
    }

    fn source(&self) -> Source<'_> {
        let text = self.study.job_text.strip_prefix('\u{feff}').unwrap_or(&self.study.job_text);
        Source { name: &self.study.job_name, text, folder: self.study.job_folder.as_deref(), lists: false }
    }

    /// The cases; see the example of [`crate::job::sweep`].
    ///
    /// # Errors
    /// A [`Problem`] where the job cannot be read, has no such step, or lacks a varied key.
    pub fn cases(&self) -> Result<Cases<'_>, Problem> {
        let (study, source) = (self.study, self.source());
        let root = Table::root(source, &self.document)?;
        let job = read_job(&root)?;
        let at_step = |message: String| {
            let (key, value) = study.step_spans.clone();
            Problem::in_text(&study.name, &study.text, message, Some(key), Some(value)).with_key("step")
        };
        if job.vehicle.is_some() {
            return Err(at_step(format!("{} plans a vehicle and has no steps to vary", study.job_name)));
        }
        let steps = file::steps(&root)?;
        let names = || list(job.steps.iter().map(|s| s.name.as_str()));
        let items = self.document.get("step").and_then(|v| v.get_ref().as_array());
        let found = items.and_then(|items| step_at(items.as_ref(), &study.step));
        let Some((number, base)) = found.and_then(|i| Some((i, job.steps.get(i)?.clone()))) else {
            let message = format!("{} has no step named \"{}\"", study.job_name, study.step);
            return Err(at_step(message).with_allowed(names()));
        };
        let Some(step) = steps.get(number).cloned() else {
            return Err(at_step(format!("{} has no step {number}", study.job_name)));
        };
        let mut places = Vec::new();
        for (axis, key) in study.keys.iter().enumerate() {
            let place = place_of(&self.document, &key.segments).map_err(|Lost { message, allowed }| {
                study
                    .problem_at(axis, message)
                    .with_allowed(allowed)
                    .with_help(format!("the job is {}", study.job_name))
            })?;
            if let Some(earlier) = places.iter().position(|p: &Place| p.way == place.way) {
                let path = &study.keys[earlier].path();
                return Err(study.problem_at(axis, format!("`{path}` is the same place of the job")));
            }
            places.push(place);
        }
        let mut notes = Notes::default();
        let (mut all, _) = inventory(&root, job.ambient.temperature, &mut notes)?;
        let mut rules = pairings(&root, &all, &mut notes)?;
        // With a name that varies any table may be used; else only those of the step.
        let names_vary = places.iter().any(|p| {
            matches!(p.way.as_slice(), [Part::Key(s), Part::Index(i), Part::Key(k)]
                if s == "step" && *i == number && NAMES.contains(&k.as_str()))
        });
        if !names_vary {
            all.tools.retain(|f| f.name == base.tool_name);
            all.pads.retain(|f| f.name == base.pad_name);
            all.products.retain(|f| f.name == base.product_name);
            all.panels.retain(|f| f.name == base.panel_name);
            rules.retain(|f| f.item.pad == base.pad_name && f.item.product == base.product_name);
            all.pairings = file::into_named(rules.clone());
        }
        let mut out = Cases {
            study,
            source,
            document: &self.document,
            used: vec![false; places.len()],
            places,
            inventory: all,
            pairings: rules,
            pairings_change: false,
            touched: Vec::new(),
            step,
            base,
            air: job.ambient,
            useful_spin: job.limits.useful_spin.rad_s(),
            warnings: job_warnings(&job),
        };
        out.find_touched(number);
        Ok(out)
    }
}

/// What the job warns of, and what of it a sweep leaves aside.
fn job_warnings(job: &Job) -> Vec<String> {
    let mut out = job.warnings.clone();
    if !job.counted_spins.is_empty() || !job.spots.is_empty() {
        out.push(format!(
            "{}: counted spins and test spots are left aside: a sweep takes drag and removal as they are written",
            job.file_name
        ));
    }
    out
}

impl<'t> Cases<'t> {
    /// The panels that a case may stand on, with what their files held, and the step as the job has it: to tell a
    /// study whose files have changed from the one that was begun.
    pub(super) fn panels_as_read(&self) -> String {
        let panels: Vec<_> = self.inventory.panels.iter().map(|p| (p.name, &p.item)).collect();
        format!("{panels:?} {:?}", self.base.setup)
    }

    /// Sorts the varied keys by the tables that are read again.
    fn find_touched(&mut self, number: usize) {
        for axis in 0..self.places.len() {
            let Some((unit, length)) = self.unit_of(&self.places[axis].way, number) else { continue };
            self.used[axis] = true;
            let rest = self.places[axis].way[length..].to_vec();
            if let Some(t) = self.touched.iter_mut().find(|t| t.unit == unit) {
                t.keys.push((axis, rest));
                continue;
            }
            let Some((path, span, value)) = self.table_at(unit) else { continue };
            self.touched.push(Touched { unit, path, span, value, keys: vec![(axis, rest)] });
        }
        let changes = |u: Unit| matches!(u, Unit::Product(_) | Unit::Pairing(_));
        self.pairings_change = !self.pairings.is_empty() && self.touched.iter().any(|t| changes(t.unit));
    }

    /// The table that a key belongs to and the length of the way to it; `None` where no column depends on it.
    fn unit_of(&self, way: &[Part], step: usize) -> Option<(Unit, usize)> {
        fn at<T>(found: &[Found<'_, T>], name: &str) -> Option<usize> {
            found.iter().position(|f| f.name == name)
        }
        let (Part::Key(kind), second) = (way.first()?, way.get(1)?) else { return None };
        let inv = &self.inventory;
        let unit = match (kind.as_str(), second) {
            ("limits", Part::Key(k)) if k == "useful_spin_rpm" => return Some((Unit::Limits, 1)),
            ("step", Part::Index(i)) if *i == step => Unit::Step,
            // A counted spin calibrates nothing here.
            ("tool", Part::Key(_)) if matches!(way.get(2), Some(Part::Key(k)) if k == "counted_spin") => return None,
            ("tool", Part::Key(n)) => Unit::Tool(at(&inv.tools, n)?),
            ("pad", Part::Key(n)) => Unit::Pad(at(&inv.pads, n)?),
            ("product", Part::Key(n)) => Unit::Product(at(&inv.products, n)?),
            ("panel", Part::Key(n)) => Unit::Panel(at(&inv.panels, n)?),
            ("pairing", Part::Key(n)) => Unit::Pairing(at(&self.pairings, n)?),
            _ => return None,
        };
        Some((unit, 2))
    }

    fn table_at(&self, unit: Unit) -> Option<(String, Range<usize>, &'t Value<'t>)> {
        let (kind, name) = match unit {
            Unit::Tool(i) => ("tool", self.inventory.tools[i].name),
            Unit::Pad(i) => ("pad", self.inventory.pads[i].name),
            Unit::Product(i) => ("product", self.inventory.products[i].name),
            Unit::Panel(i) => ("panel", self.inventory.panels[i].name),
            Unit::Pairing(i) => ("pairing", self.pairings[i].name),
            Unit::Limits => {
                let (k, v) = self.document.get_key_value("limits")?;
                return Some(("limits".to_owned(), k.span(), v));
            }
            Unit::Step => {
                let path = format!("step.{}", segment(&self.base.name));
                return Some((path, self.step.0.clone(), self.step.1));
            }
        };
        let (k, v) = self.document.get(kind)?.get_ref().as_table()?.get_key_value(name)?;
        Some((format!("{kind}.{}", segment(name)), k.span(), v))
    }

    /// Which of the varied keys a column can depend on.
    #[must_use]
    pub(super) fn used(&self) -> &[bool] {
        &self.used
    }

    pub(super) fn job_warnings(&self) -> &[String] {
        &self.warnings
    }

    /// The study.
    #[must_use]
    pub const fn study(&self) -> &'t Study {
        self.study
    }

    /// Number of cases.
    #[must_use]
    pub const fn count(&self) -> u64 {
        self.study.design.cases()
    }

    pub(super) fn text_of(&self, axis: usize, level: Level) -> Text {
        match level {
            Level::Entry(i) => {
                let values = &self.study.keys[axis].values;
                usize::try_from(i).ok().and_then(|i| values.get(i)).cloned().unwrap_or_else(|| Text::of_whole(0))
            }
            Level::Number(x) => Text::of_number(x),
            Level::Whole(n) => Text::of_whole(n),
        }
    }

    /// The values of a case, key by key.
    pub(super) fn texts(&self, case: u64) -> Vec<Text> {
        (0..self.places.len())
            .filter_map(|axis| Some(self.text_of(axis, self.study.design.level(case, axis)?)))
            .collect()
    }

    /// The step of a case.
    ///
    /// # Errors
    /// A [`Problem`] of the study, at the key whose value the job refuses.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::{STARTER, sweep::{JobText, Study}};
    /// let text = "schema = 1\njob = \"starter.toml\"\nstep = \"cut\"\ndesign = { kind = \"grid\" }\n\
    ///             [vary]\nstep.cut.force_n = [20.0, 40.0]\n";
    /// let study = Study::parse_with("study.toml", text, |name, _| {
    ///     Ok(JobText { name: name.to_owned(), text: STARTER.to_owned(), folder: None })
    /// })?;
    /// let tree = study.tree()?;
    /// let cases = tree.cases()?;
    /// assert_eq!(cases.step(1)?.step.setup.force().n(), 40.0);
    /// assert_eq!(cases.step(1)?, cases.step_of_whole_job(1)?);
    /// # Ok::<(), trochoid::job::Problem>(())
    /// ```
    pub fn step(&self, case: u64) -> Result<CaseStep, Problem> {
        let texts = self.texts(case);
        self.read(&texts).map_err(|_| self.refusal(&texts, &format!("case {case}: ")))
    }

    /// The step of a case read the slow way, for comparison: the values are put into a copy of the whole tree,
    /// and the whole job is read from it. See the example of [`Cases::step`].
    ///
    /// # Errors
    /// As [`Cases::step`].
    pub fn step_of_whole_job(&self, case: u64) -> Result<CaseStep, Problem> {
        let texts = self.texts(case);
        let all: Vec<usize> = (0..texts.len()).collect();
        let job = self.read_whole(&texts, &all).map_err(|_| self.refusal(&texts, &format!("case {case}: ")))?;
        let useful_spin = job.limits.useful_spin.rad_s();
        let found = job.steps.into_iter().find(|s| s.name == self.base.name);
        let step = found.ok_or_else(|| Problem::of_file(&self.study.job_name, "the step is gone"))?;
        Ok(CaseStep { step, useful_spin })
    }

    /// Parses the values; those that a table takes stand at the places of the text they are told from.
    pub(super) fn parsed<'v>(&self, texts: &'v [Text], base: usize) -> Result<Vec<Value<'v>>, Problem> {
        let mut offset = base;
        let mut out = Vec::with_capacity(texts.len());
        for t in texts {
            let value = DeValue::parse(&t.toml).map_err(|e| Problem::of_file(&self.study.name, e.to_string()))?;
            out.push(moved(value, offset));
            offset += t.toml.len() + 1;
        }
        Ok(out)
    }

    pub(super) fn read(&self, texts: &[Text]) -> Result<CaseStep, Problem> {
        // Whatever is said of the values is said again by `refusal`, where they have a place in a text.
        let values = self.parsed(texts, self.source.text.len())?;
        self.read_values(self.source, &values)
    }

    pub(super) fn read_values<'v>(&self, source: Source<'v>, values: &[Value<'v>]) -> Result<CaseStep, Problem>
    where
        't: 'v,
    {
        let mut tables: Vec<Value<'v>> = Vec::with_capacity(self.touched.len());
        for t in &self.touched {
            let mut table: Value<'v> = t.value.clone();
            for (axis, way) in &t.keys {
                put_in(&mut table, way, values[*axis].clone());
            }
            tables.push(table);
        }
        let mut notes = Notes::default();
        let mut useful_spin = self.useful_spin;
        let mut rules: Vec<Found<'_, PairingRule>> = Vec::new();
        let mut inv: Inventory<'_> = self.inventory.clone();
        let open =
            |t: &Touched<'_>, kind: &'static Kind, value| Table::open(source, kind, t.path.clone(), &t.span, value);
        let (mut step_table, mut new_rules) = (None, Vec::new());
        for (t, value) in self.touched.iter().zip(&tables) {
            match t.unit {
                Unit::Tool(i) => {
                    let table = open(t, &keys::TOOL, value)?;
                    let tool = equipment::tool(&table, &mut notes)?;
                    machine::machine(&table, &tool, &mut notes)?;
                    inv.tools[i] = Found { name: inv.tools[i].name, item: tool, table };
                }
                Unit::Pad(i) => {
                    let table = open(t, &keys::PAD, value)?;
                    core_limit_above(&table, self.air.temperature)?;
                    inv.pads[i] = Found { name: inv.pads[i].name, item: equipment::pad(&table, &mut notes)?, table };
                }
                Unit::Product(i) => {
                    let table = open(t, &keys::PRODUCT, value)?;
                    inv.products[i] =
                        Found { name: inv.products[i].name, item: equipment::product(&table, &mut notes)?, table };
                }
                Unit::Panel(i) => {
                    let table = open(t, &keys::PANEL, value)?;
                    inv.panels[i] = Found { name: inv.panels[i].name, item: panel::panel(&table, &mut notes)?, table };
                }
                Unit::Pairing(i) => new_rules.push((i, open(t, &keys::PAIRING, value)?)),
                Unit::Limits => useful_spin = self.limits(source, value)?,
                Unit::Step => step_table = Some(open(t, &keys::STEP, value)?),
            }
        }
        if self.pairings_change {
            for (i, old) in self.pairings.iter().enumerate() {
                let changed = new_rules.iter().position(|(at, _)| *at == i).map(|at| new_rules.swap_remove(at).1);
                let table = changed.unwrap_or_else(|| old.table.clone());
                rules.push(Found { name: old.name, item: inv.pairing(&table, &mut notes)?, table });
            }
            inv.set_pairings(rules)?;
        }
        let step_table = match step_table {
            Some(t) => t,
            None => {
                let path = format!("step.{}", segment(&self.base.name));
                Table::open(source, &keys::STEP, path, &self.step.0, self.step.1)?
            }
        };
        let step = inv.step(&step_table, &self.base.name, &mut notes)?;
        Ok(CaseStep { step, useful_spin })
    }

    /// The useful minimum of the spin from a changed table of limits, rad/s.
    fn limits<'v>(&self, source: Source<'v>, limits: &Value<'v>) -> Result<f64, Problem>
    where
        't: 'v,
    {
        let mut small: DeTable<'v> = DeTable::new();
        if let Some((k, v)) = self.document.get_key_value("ambient") {
            small.insert(k.clone(), v.clone());
        }
        if let Some((k, _)) = self.document.get_key_value("limits") {
            small.insert(k.clone(), limits.clone());
        }
        let root = Table::root(source, &small)?;
        panel::settings(&root, &mut Notes::default()).map(|(_, limits, _)| limits.useful_spin.rad_s())
    }

    /// Reads the whole job with the values of `axes` put in.
    pub(super) fn read_whole(&self, texts: &[Text], axes: &[usize]) -> Result<Job, Problem> {
        let values = self.parsed(texts, self.source.text.len())?;
        self.read_whole_values(self.source, &values, axes)
    }

    pub(super) fn read_whole_values<'v>(
        &self,
        source: Source<'v>,
        values: &[Value<'v>],
        axes: &[usize],
    ) -> Result<Job, Problem>
    where
        't: 'v,
    {
        let mut document: DeTable<'v> = self.document.clone();
        for axis in axes {
            put(&mut document, &self.places[*axis].way, values[*axis].clone());
        }
        read_job(&Table::root(source, &document)?)
    }

    /// The head of the table: `case`, `status`, the varied keys, the columns; see the
    /// example of [`crate::job::sweep`].
    #[must_use]
    pub fn head(&self) -> String {
        let mut out = "case,status".to_owned();
        for key in &self.study.keys {
            let _ = write!(out, ",{}", csv_field(&key.path()));
        }
        for column in &self.study.columns {
            let _ = write!(out, ",{}", column.name());
        }
        out.push('\n');
        out
    }

    /// Solves a case.
    #[must_use]
    pub fn solve(&self, case: u64) -> (Status, Vec<Cell>) {
        self.solve_texts(&self.texts(case))
    }

    fn solve_texts(&self, texts: &[Text]) -> (Status, Vec<Cell>) {
        let answer = match self.read(texts) {
            Ok(c) => cells(&c.step, c.useful_spin, &self.study.columns),
            Err(p) if p.is_outcome() => Err(Status::BottomsOut),
            Err(_) => Err(Status::Refused),
        };
        match answer {
            Ok(cells) => (Status::Ok, cells),
            Err(status) => (status, vec![Cell::Missing; self.study.columns.len()]),
        }
    }

    /// Solves a case and appends its line to `out`: numbers with nine digits, missing ones empty; see the
    /// example of [`crate::job::sweep`].
    pub fn row(&self, case: u64, out: &mut String) {
        let texts = self.texts(case);
        let (status, cells) = self.solve_texts(&texts);
        let _ = write!(out, "{case},{}", status.name());
        for t in &texts {
            out.push(',');
            out.push_str(&t.csv);
        }
        for cell in cells {
            let _ = match cell {
                Cell::Number(x) => write!(out, ",{x:.8e}"),
                Cell::Flag(yes) => write!(out, ",{yes}"),
                Cell::Missing => write!(out, ","),
            };
        }
        out.push('\n');
    }

    /// The columns.
    #[must_use]
    pub fn columns(&self) -> &'t [Column] {
        &self.study.columns
    }
}
