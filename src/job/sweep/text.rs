//! Values of a study as text: as TOML for the reader of the job, and as a field of a CSV table.

use crate::job::reader::{Value, type_in_words};
use std::fmt::Write as _;
use toml::Spanned;
use toml::de::DeValue;

/// A value in both forms.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Text {
    /// As TOML.
    pub(super) toml: String,
    /// As a field of a table, quoted where that is needed.
    pub(super) csv: String,
}

impl Text {
    /// A number, with the digits that give the same number again.
    pub(super) fn of_number(x: f64) -> Self {
        let text = format!("{x:?}");
        Self { csv: text.clone(), toml: text }
    }

    /// A whole number.
    pub(super) fn of_whole(n: i64) -> Self {
        let text = n.to_string();
        Self { csv: text.clone(), toml: text }
    }

    /// A value of the study; what cannot stand in a job or in one line is refused in words.
    pub(super) fn of_value(value: &Value<'_>) -> Result<Self, String> {
        let toml = toml_of(value.get_ref())?;
        let csv = match value.get_ref() {
            DeValue::String(s) => csv_field(s),
            _ => csv_field(&toml),
        };
        Ok(Self { toml, csv })
    }
}

fn toml_of(value: &DeValue<'_>) -> Result<String, String> {
    Ok(match value {
        DeValue::String(s) => {
            if s.chars().any(char::is_control) || s.chars().count() > 200 {
                return Err("text of more than 200 characters, or with control characters".to_owned());
            }
            format!("\"{}\"", s.replace('\\', "\\\\").replace('"', "\\\""))
        }
        DeValue::Integer(i) => i.to_string(),
        DeValue::Float(f) => f.to_string(),
        DeValue::Boolean(b) => b.to_string(),
        DeValue::Array(items) => {
            if items.len() > 100 {
                return Err("a list of more than 100 entries".to_owned());
            }
            let mut out = "[".to_owned();
            for (i, item) in items.iter().enumerate() {
                let before = if i == 0 { "" } else { ", " };
                let _ = write!(out, "{before}{}", toml_of(item.get_ref())?);
            }
            out.push(']');
            out
        }
        DeValue::Datetime(_) | DeValue::Table(_) => return Err(type_in_words(value).to_owned()),
    })
}

/// A field of a CSV line; nothing that breaks a line gets here.
pub(super) fn csv_field(text: &str) -> String {
    let plain = !text.contains([',', '"']) && text.trim() == text && !text.starts_with('#');
    if plain { text.to_owned() } else { format!("\"{}\"", text.replace('"', "\"\"")) }
}

/// A parsed value whose places count from `offset`.
pub(super) fn moved(value: Value<'_>, offset: usize) -> Value<'_> {
    let span = value.span();
    let inner = match value.into_inner() {
        DeValue::Array(items) => DeValue::Array(items.into_iter().map(|v| moved(v, offset)).collect()),
        other => other,
    };
    Spanned::new(span.start + offset..span.end + offset, inner)
}
