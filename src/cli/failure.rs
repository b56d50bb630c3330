//! What a command can fail with, and its exit code.

use std::process::ExitCode;
use trochoid::contact::ContactError;
use trochoid::job::Problem;
use trochoid::plan::DwellError;
use trochoid::report::{OutputError, SweepError};

/// A command that did not finish.
#[derive(Debug)]
pub(crate) enum Failure {
    /// Bad input in the job file, with its place.
    Problem(Problem),
    /// Bad input elsewhere.
    Input(String),
    /// The job cannot be answered.
    Unanswered(String),
}

impl From<Problem> for Failure {
    fn from(p: Problem) -> Self {
        Self::Problem(p)
    }
}

impl From<OutputError> for Failure {
    fn from(e: OutputError) -> Self {
        Self::Unanswered(e.to_string())
    }
}

impl From<SweepError> for Failure {
    fn from(e: SweepError) -> Self {
        match e {
            SweepError::Output(e) => e.into(),
            SweepError::Busy(_) => Self::Unanswered(e.to_string()),
            _ => Self::Input(e.to_string()),
        }
    }
}

impl Failure {
    /// A library error in the step of a job.
    pub(crate) fn in_step(file: &str, step: &str, e: &trochoid::Error) -> Self {
        Self::about(&format!("{file}: step `{step}`"), e)
    }

    /// A library error about something named.
    pub(crate) fn about(what: &str, e: &trochoid::Error) -> Self {
        let text = format!("{what}: {e}");
        match e {
            trochoid::Error::Contact(ContactError::ForceTooLarge { .. })
            | trochoid::Error::Range(_)
            | trochoid::Error::Budget(_)
            | trochoid::Error::Dwell(DwellError::TooLarge { .. })
            | trochoid::Error::Field(_) => Self::Input(text),
            _ => Self::Unanswered(text),
        }
    }

    /// Prints the failure and gives its exit code.
    pub(crate) fn report(self) -> ExitCode {
        match self {
            Self::Problem(p) => {
                use std::io::IsTerminal;
                // The drawn report folds long lines to a terminal's width: elsewhere plain text, so
                // that file:line:column stays in one piece.
                if std::io::stderr().is_terminal() {
                    tell!("{:?}", miette::Report::new(Diagnostic::from(&p)));
                } else {
                    tell!("error: {p}");
                }
                ExitCode::from(2)
            }
            Self::Input(text) => {
                tell!("error: {text}");
                ExitCode::from(2)
            }
            Self::Unanswered(text) => {
                tell!("error: {text}");
                ExitCode::from(1)
            }
        }
    }
}

/// A problem in the shape that the terminal report draws.
#[derive(Debug)]
struct Diagnostic {
    message: String,
    help: Option<String>,
    source: miette::NamedSource<String>,
    labels: Vec<miette::LabeledSpan>,
}

impl From<&Problem> for Diagnostic {
    fn from(p: &Problem) -> Self {
        let mut labels = Vec::new();
        if let Some(span) = p.key_span() {
            labels.push(miette::LabeledSpan::new_with_span(p.key(), span.clone()));
        }
        if let Some(span) = p.value_span() {
            labels.push(miette::LabeledSpan::new_with_span(p.allowed().map(|a| format!("allowed: {a}")), span.clone()));
        }
        // The first line of the plain text holds file, line, column and message, for whoever reads
        // it without a terminal.
        let plain = p.to_string();
        let mut help = p.help();
        let allowed = p.allowed().map(|a| format!("allowed: {a}"));
        let line = match (p.key(), p.value()) {
            (Some(key), Some(value)) => {
                Some(format!("key {key}, value {value}{}", allowed.map_or(String::new(), |a| format!(", {a}"))))
            }
            _ => allowed,
        };
        if let Some(line) = line {
            help = Some(help.map_or(line.clone(), |h| format!("{h}\n{line}")));
        }
        Self {
            message: plain.lines().next().unwrap_or_default().to_owned(),
            help,
            source: miette::NamedSource::new(p.name(), p.source_text().to_owned()),
            labels,
        }
    }
}

impl std::fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Diagnostic {}

impl miette::Diagnostic for Diagnostic {
    fn help<'a>(&'a self) -> Option<Box<dyn std::fmt::Display + 'a>> {
        self.help.as_ref().map(|h| Box::new(h) as Box<dyn std::fmt::Display>)
    }

    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        (!self.labels.is_empty()).then_some(&self.source)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = miette::LabeledSpan> + '_>> {
        (!self.labels.is_empty()).then(|| Box::new(self.labels.iter().cloned()) as Box<dyn Iterator<Item = _>>)
    }
}
