//! One question: its words, when it is asked, what it takes, and how a typed answer is read.

use super::answers::Answers;
use crate::error::RangeError;

/// An answer that may be picked; part of [`Wanted`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Choice {
    /// The word to type.
    pub word: &'static str,
    /// What it means.
    pub means: &'static str,
}

/// What a question takes, given the answers before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wanted {
    /// One of a list.
    Choice(&'static [Choice]),
    /// A number in a unit, both bounds included.
    Number {
        /// Unit; empty for a plain number.
        unit: &'static str,
        /// Smallest.
        low: f64,
        /// Largest.
        high: f64,
    },
}

/// An answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Answer {
    /// Place in the list of choices.
    Choice(usize),
    /// Number in the question's unit.
    Number(f64),
}

/// Where an answer is kept.
#[derive(Clone, Copy)]
pub(super) enum Kept {
    Choice {
        choices: &'static [Choice],
        get: fn(&Answers) -> usize,
        set: fn(&mut Answers, usize),
    },
    Number {
        unit: &'static str,
        range: fn(&Answers) -> (f64, f64),
        get: fn(&Answers) -> f64,
        set: fn(&mut Answers, f64),
    },
}

/// One question of [`QUESTIONS`](super::QUESTIONS).
///
/// # Example
/// ```
/// use trochoid::job::ask::{Answer, Answers, QUESTIONS, Wanted};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let mut answers = Answers::default();
/// let question = QUESTIONS.iter().find(|q| q.name == "throw").expect("it is asked");
/// assert!(matches!(question.wanted(&answers), Wanted::Number { unit: "mm", .. }));
/// // A comma and the unit are read as a person writes them.
/// let typed = question.read(&answers, "12,5 mm")?;
/// assert_eq!((typed, question.words(typed)), (Answer::Number(12.5), "12.5 mm".to_owned()));
/// question.accept(&mut answers, typed)?;
/// assert_eq!(answers.throw_mm, 12.5);
/// // What cannot be is refused with what can.
/// let why = question.read(&answers, "wide").unwrap_err();
/// assert!(why.ends_with(&format!("allowed: {}", question.allowed(&answers))));
/// # Ok(())
/// # }
/// ```
#[derive(Clone, Copy)]
pub struct Question {
    /// Short name, unique.
    pub name: &'static str,
    /// Heading over the first question of a group.
    pub heading: Option<&'static str>,
    /// What is asked.
    pub text: &'static str,
    /// What `?` explains.
    pub explanation: &'static str,
    pub(super) asked: fn(&Answers) -> bool,
    pub(super) kept: Kept,
}

impl core::fmt::Debug for Question {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.debug_struct("Question").field("name", &self.name).finish_non_exhaustive()
    }
}

/// A number as a person types it, no zeros at the end; typed back it is the same number.
fn plain(x: f64) -> String {
    format!("{x}")
}

impl Question {
    /// Whether the question matters after the answers before it.
    #[must_use]
    pub fn is_asked(&self, answers: &Answers) -> bool {
        (self.asked)(answers)
    }

    /// What it takes; see the example of [`Question`].
    #[must_use]
    pub fn wanted(&self, answers: &Answers) -> Wanted {
        match &self.kept {
            Kept::Choice { choices, .. } => Wanted::Choice(choices),
            Kept::Number { unit, range, .. } => {
                let (low, high) = range(answers);
                Wanted::Number { unit, low, high }
            }
        }
    }

    /// The answer that holds now: the default, until another is given.
    #[must_use]
    pub fn current(&self, answers: &Answers) -> Answer {
        match &self.kept {
            Kept::Choice { get, .. } => Answer::Choice(get(answers)),
            Kept::Number { get, .. } => Answer::Number(get(answers)),
        }
    }

    /// An answer in words, with its unit; see the example of [`Question`].
    #[must_use]
    pub fn words(&self, answer: Answer) -> String {
        match (&self.kept, answer) {
            (Kept::Choice { choices, .. }, Answer::Choice(i)) => choices.get(i).map_or("", |c| c.word).to_owned(),
            (Kept::Number { unit, .. }, Answer::Number(x)) if !unit.is_empty() => format!("{} {unit}", plain(x)),
            (_, Answer::Number(x)) => plain(x),
            (_, Answer::Choice(i)) => (i + 1).to_string(),
        }
    }

    /// What is allowed, in words; see the example of [`Question`].
    #[must_use]
    pub fn allowed(&self, answers: &Answers) -> String {
        match self.wanted(answers) {
            Wanted::Choice(choices) => choices.iter().map(|c| c.word).collect::<Vec<_>>().join(", "),
            Wanted::Number { unit, low, high } => {
                format!("{} to {} {unit}", plain(low), plain(high)).trim_end().to_owned()
            }
        }
    }

    /// Reads a typed answer: a number with or without its unit and with a point or a comma, or a
    /// choice by its word, the start of its word, or its place in the list; see the example of [`Question`].
    ///
    /// # Errors
    /// What is wrong with it and what is allowed, as one sentence.
    pub fn read(&self, answers: &Answers, typed: &str) -> Result<Answer, String> {
        let typed = typed.trim();
        let refused = |why: &str| Err(format!("{why}; allowed: {}", self.allowed(answers)));
        match self.wanted(answers) {
            Wanted::Choice(choices) => {
                if let Ok(n) = typed.parse::<usize>() {
                    return if (1..=choices.len()).contains(&n) {
                        Ok(Answer::Choice(n - 1))
                    } else {
                        refused("there is no such number in the list")
                    };
                }
                let word = typed.to_lowercase();
                let starts = |c: &&Choice| !word.is_empty() && c.word.starts_with(&word);
                if let Some(i) = choices.iter().position(|c| c.word == word) {
                    return Ok(Answer::Choice(i));
                }
                match choices.iter().filter(starts).count() {
                    1 => choices
                        .iter()
                        .position(|c| starts(&c))
                        .map_or_else(|| refused("unknown"), |i| Ok(Answer::Choice(i))),
                    0 => refused("that is not in the list"),
                    _ => refused("that could be more than one of the list"),
                }
            }
            Wanted::Number { unit, low, high } => {
                let number = typed.strip_suffix(unit).unwrap_or(typed).trim().replace(',', ".");
                // Words such as `inf` and `nan` are numbers to the parser, not to a person.
                let digits = number.chars().any(|c| c.is_ascii_digit());
                match number.parse::<f64>() {
                    Ok(x) if digits && x.is_finite() && (low..=high).contains(&x) => Ok(Answer::Number(x)),
                    Ok(x) if digits && x.is_finite() => refused("that is out of range"),
                    _ if unit.is_empty() => refused("a plain number is wanted"),
                    _ => refused(&format!("a number in {unit} is wanted")),
                }
            }
        }
    }

    /// Keeps an answer, and sets the defaults of later questions that follow from it; see the
    /// example of [`Question`].
    ///
    /// # Errors
    /// An answer of the other kind, outside the list or outside the range.
    pub fn accept(&self, answers: &mut Answers, answer: Answer) -> Result<(), RangeError> {
        self.check_one(answers, answer)?;
        match (&self.kept, answer) {
            (Kept::Choice { set, .. }, Answer::Choice(i)) => set(answers, i),
            (Kept::Number { set, .. }, Answer::Number(x)) => set(answers, x),
            _ => {}
        }
        Ok(())
    }

    /// Checks the answer that holds now.
    pub(super) fn check(&self, answers: &Answers) -> Result<(), RangeError> {
        self.check_one(answers, self.current(answers))
    }

    fn check_one(&self, answers: &Answers, answer: Answer) -> Result<(), RangeError> {
        let refused = |x: f64, unit| Err(RangeError::new(self.name, x, unit, self.allowed(answers)));
        match (self.wanted(answers), answer) {
            (Wanted::Choice(choices), Answer::Choice(i)) if i < choices.len() => Ok(()),
            (Wanted::Choice(_), Answer::Choice(i)) => refused(i as f64, ""),
            (Wanted::Choice(_), Answer::Number(x)) => refused(x, ""),
            (Wanted::Number { low, high, .. }, Answer::Number(x)) if (low..=high).contains(&x) => Ok(()),
            (Wanted::Number { unit, .. }, Answer::Number(x)) => refused(x, unit),
            (Wanted::Number { unit, .. }, Answer::Choice(_)) => refused(f64::NAN, unit),
        }
    }
}
