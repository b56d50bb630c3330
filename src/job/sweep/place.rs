//! From the path of a key to its place in the tree of a job, and a new value into that place.

use crate::job::keys::{JOB, closest};
use crate::job::problem::one_line;
use crate::job::reader::{Value, list, segment, type_in_words};
use std::borrow::Cow;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// One part of the way through a tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Part {
    /// A key of a table.
    Key(String),
    /// A place in a list, from 0.
    Index(usize),
}

/// A place in the tree of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Place {
    /// The way to it from the top.
    pub(super) way: Vec<Part>,
    /// The path as problems of the job name it, as in `step.cut.force_n`.
    pub(super) path: String,
}

/// Why a path leads nowhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Lost {
    pub(super) message: String,
    pub(super) allowed: String,
}

/// A path as it is written, from its segments.
pub(super) fn path_of(segments: &[String]) -> String {
    segments.iter().map(|s| segment(s)).collect::<Vec<_>>().join(".")
}

fn lost(message: &str, near: Option<&str>, allowed: String) -> Lost {
    Lost { message: near.map_or_else(|| message.to_owned(), |n| format!("{message}; did you mean `{n}`?")), allowed }
}

/// The step of a name among the steps of a job.
pub(super) fn step_at(items: &[Value<'_>], name: &str) -> Option<usize> {
    items.iter().position(|v| step_name(v) == Some(name))
}

fn step_name<'v>(value: &'v Value<'_>) -> Option<&'v str> {
    value.get_ref().as_table()?.get("name")?.get_ref().as_str()
}

/// Finds the place of a key. Its last part may be missing in the job where a table takes it: whether that is
/// so the reader of the table says.
pub(super) fn place_of(root: &DeTable<'_>, segments: &[String]) -> Result<Place, Lost> {
    let path = path_of(segments);
    let (Some(first), true) = (segments.first(), segments.len() > 1) else {
        return Err(lost(
            &format!("`{path}` is no key of a table of the job"),
            None,
            "a path as in tool.NAME.throw_mm or step.NAME.force_n".to_owned(),
        ));
    };
    let Some(mut value) = root.get(first.as_str()).map(Spanned::get_ref) else {
        let names: Vec<&str> = root.keys().map(|k| &**k.get_ref()).collect();
        let known = JOB.find(first).is_some();
        let near = if known { None } else { closest(first, names.iter().copied()) };
        return Err(lost(&format!("the job has no [{}]", segment(first)), near, list(names.into_iter())));
    };
    let mut way = vec![Part::Key(first.clone())];
    for (depth, part) in segments.iter().enumerate().skip(1) {
        let last = depth + 1 == segments.len();
        let before = path_of(&segments[..depth]);
        match value {
            DeValue::Table(table) => {
                way.push(Part::Key(part.clone()));
                match table.get(part.as_str()) {
                    Some(next) => value = next.get_ref(),
                    None if last && (depth > 1 || !holds_tables(table)) => return Ok(Place { way, path }),
                    None => {
                        let names: Vec<&str> = table.keys().map(|k| &**k.get_ref()).collect();
                        let near = closest(part, names.iter().copied());
                        let message = format!("the job has no [{before}.{}]", segment(part));
                        return Err(lost(&message, near, list(names.into_iter())));
                    }
                }
            }
            DeValue::Array(items) => {
                let index = if items.iter().any(|v| v.get_ref().is_table()) {
                    step_at(items, part)
                } else {
                    part.parse().ok().filter(|i| *i < items.len())
                };
                let Some(next) = index.and_then(|i| items.get(i)) else {
                    let names: Vec<&str> = items.iter().filter_map(step_name).collect();
                    return Err(if names.is_empty() {
                        let allowed = format!("a place in the list, 0 to {}", items.len().saturating_sub(1));
                        lost(&format!("`{before}` has no place {}", one_line(part)), None, allowed)
                    } else {
                        let near = closest(part, names.iter().copied());
                        let message = format!("the job has no {before} named \"{}\"", one_line(part));
                        lost(&message, near, list(names.iter().copied()))
                    });
                };
                way.push(Part::Index(index.unwrap_or(0)));
                value = next.get_ref();
            }
            other => {
                let message = format!("`{before}` is {} in the job, so there is no `{path}`", type_in_words(other));
                return Err(lost(&message, None, before));
            }
        }
    }
    if value.is_table() {
        let keys = value.as_table().map(|t| list(t.keys().map(|k| &**k.get_ref()))).unwrap_or_default();
        return Err(lost(
            &format!("`{path}` is a table of the job, not a value"),
            None,
            format!("a key of it: {keys}"),
        ));
    }
    Ok(Place { way, path })
}

/// Whether a table holds named tables, as `[tool]` does, and no values.
fn holds_tables(table: &DeTable<'_>) -> bool {
    !table.is_empty() && table.values().all(|v| v.get_ref().is_table())
}

/// Puts a value in its place below a table; says whether there was one.
pub(super) fn put<'v>(table: &mut DeTable<'v>, way: &[Part], new: Value<'v>) -> bool {
    let Some((Part::Key(key), rest)) = way.split_first() else { return false };
    match table.get_mut(key.as_str()) {
        Some(old) => put_in(old, rest, new),
        None if rest.is_empty() => {
            table.insert(Spanned::new(new.span(), Cow::Owned(key.clone())), new);
            true
        }
        None => false,
    }
}

/// Puts a value in its place below a value.
pub(super) fn put_in<'v>(old: &mut Value<'v>, way: &[Part], new: Value<'v>) -> bool {
    match (way.split_first(), old.get_mut()) {
        (None, _) => {
            *old = new;
            true
        }
        (Some((Part::Key(_), _)), DeValue::Table(t)) => put(t, way, new),
        (Some((Part::Index(i), rest)), DeValue::Array(items)) => {
            items.get_mut(*i).is_some_and(|item| put_in(item, rest, new))
        }
        _ => false,
    }
}
