//! Small tables of numbers with a header, as path files are: commas between the cells, one row a line.
//!
//! Not a general reader of comma-separated values: no quotes, no other separators.

use super::{PathError, RowError};

/// Most rows a path file may have.
pub const MAX_ROWS: usize = 1_000_000;

/// A table with its cells still as text.
pub(super) struct Table<'t> {
    file: &'t str,
    names: &'static [&'static str],
    /// Place of each name among the cells.
    places: Vec<Option<usize>>,
    width: usize,
    rows: Vec<(usize, &'t str)>,
}

/// One row: its line in the file and the cells by name.
pub(super) struct Row<'a> {
    pub(super) line: usize,
    table: &'a Table<'a>,
    cells: Vec<&'a str>,
}

impl<'t> Table<'t> {
    /// Reads a header and splits the rows off. The first `needed` of `names` must be there; the others
    /// may; in any order.
    pub(super) fn read(
        file: &'t str,
        text: &'t str,
        names: &'static [&'static str],
        needed: usize,
    ) -> Result<Self, PathError> {
        let fail = |line: usize, column: &str, value: &str, allowed: String| {
            Err(PathError::Row(RowError {
                file: file.into(),
                line,
                column: column.into(),
                value: shown(value),
                allowed,
            }))
        };
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let mut lines = text.lines().enumerate().map(|(i, l)| (i + 1, l.trim())).filter(|l| !l.1.is_empty());
        let Some((at, header)) = lines.next() else {
            return fail(1, "header", "", format!("columns {}", names[..needed].join(",")));
        };
        let heads: Vec<&str> = header.split(',').map(str::trim).take(names.len() + 1).collect();
        let mut places = vec![None; names.len()];
        for (i, head) in heads.iter().enumerate() {
            match names.iter().position(|n| n == head) {
                Some(k) if places[k].is_none() => places[k] = Some(i),
                Some(_) => return fail(at, "header", head, "each column once".into()),
                None => return fail(at, "header", head, format!("columns {}", names.join(","))),
            }
        }
        for (name, place) in names.iter().zip(&places).take(needed) {
            if place.is_none() {
                return fail(at, "header", header, format!("a column {name}"));
            }
        }
        let rows: Vec<(usize, &str)> = lines.take(MAX_ROWS + 1).collect();
        match rows.as_slice() {
            [] | [_] => return fail(at, "rows", &rows.len().to_string(), format!("2 to {MAX_ROWS}")),
            all if all.len() > MAX_ROWS => {
                return fail(all[MAX_ROWS].0, "rows", "more", format!("2 to {MAX_ROWS}"));
            }
            _ => {}
        }
        Ok(Self { file, names, places, width: heads.len(), rows })
    }

    pub(super) fn len(&self) -> usize {
        self.rows.len()
    }

    pub(super) fn row(&self, i: usize) -> Result<Row<'_>, PathError> {
        let (line, text) = self.rows[i];
        let cells: Vec<&str> = text.split(',').map(str::trim).take(self.width + 1).collect();
        let row = Row { line, table: self, cells };
        if row.cells.len() == self.width { Ok(row) } else { Err(row.whole(text, format!("{} cells", self.width))) }
    }
}

/// A cell for a message, cut short where it is long.
fn shown(value: &str) -> String {
    if value.chars().count() > 60 { value.chars().take(60).chain("...".chars()).collect() } else { value.into() }
}

impl Row<'_> {
    /// The number in a column, within `low..=high`; `None` where the table has no such column.
    pub(super) fn number(&self, name: usize, low: f64, high: f64) -> Result<Option<f64>, PathError> {
        let Some(place) = self.table.places[name] else { return Ok(None) };
        match self.cells[place].parse::<f64>() {
            Ok(v) if v >= low && v <= high => Ok(Some(v)),
            _ => Err(self.wrong(name, format!("a number from {low} to {high}"))),
        }
    }

    /// An error about a column.
    pub(super) fn wrong(&self, name: usize, allowed: String) -> PathError {
        let value = self.table.places[name].map_or("", |p| self.cells[p]);
        self.error(self.table.names[name], value, allowed)
    }

    /// An error about the row.
    pub(super) fn whole(&self, value: &str, allowed: String) -> PathError {
        self.error("row", value, allowed)
    }

    fn error(&self, column: &str, value: &str, allowed: String) -> PathError {
        PathError::Row(RowError {
            file: self.table.file.into(),
            line: self.line,
            column: column.into(),
            value: shown(value),
            allowed,
        })
    }
}
