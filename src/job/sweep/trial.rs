//! Trying the values of a study before the work begins, and telling which of them the job refuses and why.

use super::cases::Cases;
use super::place::{Part, Place};
use super::text::Text;
use crate::job::problem::Problem;
use crate::job::reader::Source;
use crate::plan::Level;
use std::fmt::Write as _;
use toml::de::DeValue;

/// Most corners of the other keys at which an end of a key is tried.
const CORNERS: usize = 64;

impl Cases<'_> {
    /// Why the values are refused, told at the key of the study that does it. The values get a place at the
    /// end of the job's text first, so that the job's own words name them.
    pub(super) fn refusal(&self, texts: &[Text], lead: &str) -> Problem {
        let mut long = self.source.text.to_owned();
        for t in texts {
            let _ = writeln!(long, "{}", t.toml);
        }
        let source = Source { text: &long, ..self.source };
        let told = self.parsed(texts, self.source.text.len()).and_then(|values| {
            self.read_values(source, &values).map(|_| ())?;
            let idle: Vec<usize> = (0..texts.len()).filter(|a| !self.used[*a]).collect();
            self.read_whole_values(source, &values, &idle).map(|_| ())
        });
        let Err(p) = told else { return Problem::of_file(&self.study.name, "the values are accepted") };
        let key = p.key().unwrap_or_default();
        let near = |place: &Place| key == place.path || key.starts_with(&format!("{}.", place.path));
        let below = |place: &Place| place.path.starts_with(&format!("{key}.")) && !key.is_empty();
        let axis = self.places.iter().position(near).or_else(|| self.places.iter().position(below)).unwrap_or(0);
        let mut out = self.study.problem_at(axis, format!("{lead}{}", p.message())).with_key(key);
        if let Some(value) = p.value() {
            out = out.with_value(value);
        }
        if let Some(allowed) = p.allowed() {
            out = out.with_allowed(allowed);
        }
        match p.help() {
            Some(help) => out.with_help(help),
            None => out,
        }
    }

    /// Whether the job takes these values, or refuses them by physics alone.
    fn taken(&self, texts: &[Text], axis: usize) -> bool {
        let answer =
            if self.used[axis] { self.read(texts).map(|_| ()) } else { self.read_whole(texts, &[axis]).map(|_| ()) };
        match answer {
            Ok(()) => true,
            Err(p) => p.is_outcome(),
        }
    }

    /// Tries the ends of every range and every value of every list: with the other keys as the job has them,
    /// then at the corners of the others. What is refused everywhere is a mistake of the study.
    pub(super) fn try_values(&self) -> Result<(), Problem> {
        let axes = self.study.design.axes();
        let at_job: Vec<Option<Text>> = self.places.iter().map(|p| self.text_in_job(p)).collect();
        for (axis, a) in axes.iter().enumerate() {
            let levels: Vec<Level> = match a.ends() {
                [Level::Entry(first), Level::Entry(last)] => (first..=last).map(Level::Entry).collect(),
                ends => ends.to_vec(),
            };
            for level in levels {
                let here = self.text_of(axis, level);
                let with = |others: &dyn Fn(usize) -> Text| -> Vec<Text> {
                    (0..axes.len()).map(|o| if o == axis { here.clone() } else { others(o) }).collect()
                };
                let corner = |bits: usize, o: usize| {
                    let end = axes[o].ends()[usize::from(bits >> (o % 32) & 1 == 1)];
                    self.text_of(o, end)
                };
                let first = with(&|o| at_job[o].clone().unwrap_or_else(|| corner(0, o)));
                let corners = if axes.len() < 6 { 1 << axes.len() } else { CORNERS };
                let end = |o: usize, high: bool| self.text_of(o, axes[o].ends()[usize::from(high)]);
                // Beyond six keys also every key alone at its other end, from all low and from all high.
                let flipped =
                    |high: bool| (0..axes.len()).any(|k| self.taken(&with(&|o| end(o, (o == k) != high)), axis));
                let fine = self.taken(&first, axis)
                    || (0..corners).any(|bits| self.taken(&with(&|o| corner(bits, o)), axis))
                    || (axes.len() > 6 && (flipped(false) || flipped(true)));
                if !fine {
                    return Err(self.refusal(&first, ""));
                }
            }
        }
        Ok(())
    }

    /// The value that the job itself has at a place.
    fn text_in_job(&self, place: &Place) -> Option<Text> {
        let (Part::Key(first), rest) = place.way.split_first()? else { return None };
        let mut value = self.document.get(first.as_str())?;
        for part in rest {
            value = match (part, value.get_ref()) {
                (Part::Key(k), DeValue::Table(t)) => t.get(k.as_str())?,
                (Part::Index(i), DeValue::Array(items)) => items.get(*i)?,
                _ => return None,
            };
        }
        Text::of_value(value).ok()
    }
}
