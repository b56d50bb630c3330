//! Gauge readings from comma-separated text.
//!
//! ```text
//! panel,x_mm,y_mm,value_um,kind,uncertainty_um,substrate,layer
//! bonnet,120,80,118,magnetic,1.5,steel,total
//! ```
//!
//! The unit stands in the header (`value_um` or `value_mil`), so a file cannot mix units. Columns may
//! stand in any order; `layer` may be missing (total); both coordinates of a line may be empty, or
//! both columns missing. Text may stand in double quotes. No other dialect is guessed.

use super::error::{BudgetError, TableError};
use super::gauge::{FilmPart, GaugeKind, GaugeReading, substrate_word};
use crate::equipment::Substrate;
use crate::units::Length;

/// Most lines of a reading file.
pub const MOST_LINES: usize = 100_000;

/// Longest line, bytes.
const LONGEST_LINE: usize = 4096;

const COLUMNS: [&str; 10] = [
    "panel",
    "x_mm",
    "y_mm",
    "value_um",
    "value_mil",
    "kind",
    "uncertainty_um",
    "uncertainty_mil",
    "substrate",
    "layer",
];

const SUBSTRATES: [Substrate; 4] = [Substrate::Steel, Substrate::Aluminium, Substrate::Plastic, Substrate::Composite];

/// A table with its header read: places of the columns.
struct Header<'a> {
    file: &'a str,
    names: Vec<String>,
    panel: usize,
    place: Option<(usize, usize)>,
    value: usize,
    uncertainty: usize,
    kind: usize,
    substrate: usize,
    layer: Option<usize>,
}

/// Reads gauge readings from text; `file` is named in errors.
///
/// # Errors
/// [`BudgetError::Table`] with line, column, value and what is allowed: an unknown, missing or doubled
/// column, a wrong number of fields, a number or word that cannot be, a gauge that cannot read the
/// substrate; more than [`MOST_LINES`] lines; no reading at all.
///
/// # Example
/// ```
/// let text = "panel,value_um,kind,uncertainty_um,substrate\nbonnet,118,magnetic,1.5,steel\n";
/// let readings = trochoid::budget::read_gauge_table("film.csv", text)?;
/// assert!((readings[0].value().um() - 118.0).abs() < 1e-9);
/// # Ok::<(), trochoid::budget::BudgetError>(())
/// ```
pub fn read_gauge_table(file: &str, text: &str) -> Result<Vec<GaugeReading>, BudgetError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut header: Option<Header<'_>> = None;
    let mut readings = Vec::new();
    for (i, raw) in text.lines().enumerate() {
        let line = i + 1;
        let fail = |column: &str, value: &str, allowed: String| problem(file, line, column, value, allowed);
        if i >= MOST_LINES {
            return Err(fail("", raw, format!("at most {MOST_LINES} lines")).into());
        }
        if raw.len() > LONGEST_LINE {
            return Err(fail("", raw, format!("lines of at most {LONGEST_LINE} bytes")).into());
        }
        if raw.trim().is_empty() {
            continue;
        }
        let fields = split(raw).map_err(|allowed| fail("", raw, allowed.to_owned()))?;
        match &header {
            None => header = Some(Header::read(file, line, &fields)?),
            Some(h) => readings.push(h.reading(line, raw, &fields)?),
        }
    }
    if readings.is_empty() {
        let allowed = "a header line and at least one reading".to_owned();
        return Err(problem(file, text.lines().count().max(1), "", "", allowed).into());
    }
    Ok(readings)
}

fn problem(file: &str, line: usize, column: &str, value: &str, allowed: String) -> TableError {
    TableError {
        file: file.to_owned(),
        line,
        column: column.to_owned(),
        value: value.chars().take(60).collect(),
        allowed,
    }
}

/// Fields of one line, quotes removed and blanks trimmed.
fn split(line: &str) -> Result<Vec<String>, &'static str> {
    let mut fields = Vec::new();
    let mut field = String::new();
    let mut quoted = false;
    let mut closed = false;
    let mut rest = line.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '"' if quoted && rest.peek() == Some(&'"') => {
                rest.next();
                field.push('"');
            }
            '"' if quoted => {
                quoted = false;
                closed = true;
            }
            '"' if field.trim().is_empty() && !closed => {
                field.clear();
                quoted = true;
            }
            ',' if !quoted => {
                fields.push(field.trim().to_owned());
                field.clear();
                closed = false;
            }
            c if closed && !c.is_whitespace() => return Err("nothing between a closing quote and the next comma"),
            '"' => return Err("a double quote only around a whole field"),
            c => field.push(c),
        }
    }
    if quoted {
        return Err("every double quote closed on its line");
    }
    fields.push(field.trim().to_owned());
    Ok(fields)
}

impl<'a> Header<'a> {
    fn read(file: &'a str, line: usize, fields: &[String]) -> Result<Self, TableError> {
        let fail = |column: &str, value: &str, allowed: String| problem(file, line, column, value, allowed);
        for (i, name) in fields.iter().enumerate() {
            if !COLUMNS.contains(&name.as_str()) {
                let allowed = format!("columns are {}", COLUMNS.join(", "));
                return Err(fail(name, name, allowed));
            }
            if fields[..i].contains(name) {
                return Err(fail(name, name, "each column once".to_owned()));
            }
        }
        let find = |name: &str| fields.iter().position(|f| f == name);
        let must = |name: &str| {
            find(name).ok_or_else(|| fail(name, &fields.join(","), format!("a header with the column {name}")))
        };
        // One unit a quantity: two columns for the same one would leave it open which counts.
        let one = |a: &str, b: &str| match (find(a), find(b)) {
            (Some(_), Some(_)) => Err(fail(b, &fields.join(","), format!("either {a} or {b}, not both"))),
            (Some(i), None) | (None, Some(i)) => Ok(i),
            (None, None) => Err(fail(a, &fields.join(","), format!("a header with the column {a} or {b}"))),
        };
        let place = match (find("x_mm"), find("y_mm")) {
            (Some(x), Some(y)) => Some((x, y)),
            (None, None) => None,
            _ => return Err(fail("x_mm", &fields.join(","), "x_mm and y_mm, or neither".to_owned())),
        };
        Ok(Self {
            file,
            names: fields.to_vec(),
            panel: must("panel")?,
            place,
            value: one("value_um", "value_mil")?,
            uncertainty: one("uncertainty_um", "uncertainty_mil")?,
            kind: must("kind")?,
            substrate: must("substrate")?,
            layer: find("layer"),
        })
    }

    fn fail(&self, line: usize, column: usize, value: &str, allowed: String) -> TableError {
        problem(self.file, line, self.names.get(column).map_or("", String::as_str), value, allowed)
    }

    fn number(&self, line: usize, column: usize, fields: &[String], allowed: &str) -> Result<f64, TableError> {
        let text = &fields[column];
        match text.parse::<f64>() {
            Ok(v) if v.is_finite() => Ok(v),
            _ => Err(self.fail(line, column, text, allowed.to_owned())),
        }
    }

    fn length(&self, line: usize, column: usize, fields: &[String]) -> Result<Length, TableError> {
        let v = self.number(line, column, fields, "a number with a decimal point")?;
        Ok(if self.names[column].ends_with("_mil") { Length::from_mil(v) } else { Length::from_um(v) })
    }

    fn word<T: Copy>(
        &self,
        line: usize,
        column: usize,
        text: &str,
        all: &[T],
        word: impl Fn(T) -> &'static str,
    ) -> Result<T, TableError> {
        all.iter().copied().find(|k| word(*k) == text).ok_or_else(|| {
            let words: Vec<_> = all.iter().map(|k| word(*k)).collect();
            self.fail(line, column, text, words.join(", "))
        })
    }

    fn reading(&self, line: usize, raw: &str, fields: &[String]) -> Result<GaugeReading, TableError> {
        if fields.len() != self.names.len() {
            let allowed = format!("{} fields, there are {} (decimals take a point)", self.names.len(), fields.len());
            return Err(problem(self.file, line, "", raw, allowed));
        }
        let value = self.length(line, self.value, fields)?;
        let uncertainty = self.length(line, self.uncertainty, fields)?;
        let kind = self.word(line, self.kind, &fields[self.kind], &GaugeKind::ALL, GaugeKind::word)?;
        let substrate = self.word(line, self.substrate, &fields[self.substrate], &SUBSTRATES, substrate_word)?;
        let mut reading = GaugeReading::new(&fields[self.panel], value, kind, uncertainty, substrate).map_err(|e| {
            let column = match &e {
                BudgetError::Range(r) if r.what == "value_um" => self.value,
                BudgetError::Range(_) => self.uncertainty,
                BudgetError::Name { .. } => self.panel,
                _ => self.kind,
            };
            self.fail(line, column, &fields[column], e.to_string())
        })?;
        if let Some(layer) = self.layer.filter(|l| !fields[*l].is_empty()) {
            let part = self.word(line, layer, &fields[layer], &FilmPart::ALL, FilmPart::word)?;
            reading = reading.of(part).map_err(|e| self.fail(line, layer, &fields[layer], e.to_string()))?;
        }
        if let Some((x, y)) = self.place {
            match (fields[x].is_empty(), fields[y].is_empty()) {
                (true, true) => {}
                (false, false) => {
                    let place =
                        |c| self.number(line, c, fields, "a number with a decimal point, or both x_mm and y_mm empty");
                    let (at_x, at_y) = (Length::from_mm(place(x)?), Length::from_mm(place(y)?));
                    reading = reading.at(at_x, at_y).map_err(|e| {
                        let column = if e.what == "x_mm" { x } else { y };
                        self.fail(line, column, &fields[column], e.to_string())
                    })?;
                }
                (empty_x, _) => {
                    let column = if empty_x { x } else { y };
                    return Err(self.fail(line, column, "", "x_mm and y_mm, or both empty".to_owned()));
                }
            }
        }
        Ok(reading)
    }
}
