//! The talk of `init --ask`: puts the questions of `trochoid::job::ask` to a person and reads the
//! answers, from a terminal or from any other stream.
//!
//! No question, range or default stands here.

use super::failure::Failure;
use std::io::{self, BufRead, IsTerminal, Read, Write};
use std::sync::{Mutex, MutexGuard, PoisonError};
use trochoid::job::ask::{Answers, QUESTIONS, Question, Wanted};

/// Longest answer that is read, bytes.
const LONGEST: u64 = 1000;
/// Answers to one question that could not be used before the talk ends: a stream of nonsense must
/// not keep it going for ever.
const MOST_TRIES: usize = 20;
/// Width of the text, characters.
const WIDTH: usize = 88;

/// Why a talk ended before its end.
#[derive(Debug)]
pub(crate) enum Ended {
    /// The answers came to an end.
    Input,
    /// Too many answers in a row that could not be used, at this question.
    Nonsense(&'static str),
    /// The streams failed.
    Io(io::Error),
}

impl From<io::Error> for Ended {
    fn from(e: io::Error) -> Self {
        Self::Io(e)
    }
}

impl From<Ended> for Failure {
    fn from(ended: Ended) -> Self {
        match ended {
            Ended::Input => Self::Unanswered("the answers ended before the last question; nothing was written".into()),
            Ended::Nonsense(question) => Self::Input(format!(
                "{MOST_TRIES} answers in a row to `{question}` could not be used; nothing was written"
            )),
            Ended::Io(e) => Self::Unanswered(format!("the talk broke off ({e}); nothing was written")),
        }
    }
}

/// Whether the job is written; held while it is, and Ctrl-C waits for it.
static WRITTEN: Mutex<bool> = Mutex::new(false);

/// Keeps Ctrl-C from ending the program until the guard, which tells whether the job is written, is
/// dropped.
pub(crate) fn hold_interrupt() -> MutexGuard<'static, bool> {
    WRITTEN.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The talk on standard input and standard error.
pub(crate) fn at_terminal() -> Result<Answers, Failure> {
    // Without the handler Ctrl-C still ends the program and nothing is written; only the words lack.
    let _ = ctrlc::set_handler(|| {
        let written = hold_interrupt();
        if !*written {
            tell!("\nstopped; nothing was written");
        }
        // 128 + SIGINT, what a shell expects of a program that Ctrl-C ended.
        std::process::exit(130);
    });
    let echo = !io::stdin().is_terminal();
    Ok(talk(&mut io::stdin().lock(), &mut io::stderr(), echo)?)
}

/// Puts every question that matters; `echo` repeats the answers, for a stream that nobody sees.
pub(crate) fn talk(input: &mut impl BufRead, out: &mut impl Write, echo: bool) -> Result<Answers, Ended> {
    writeln!(out, "Enter takes the answer in [brackets], ? explains, Ctrl-C stops and writes nothing.")?;
    let mut answers = Answers::default();
    let mut group = None;
    for question in QUESTIONS {
        // A group keeps its heading where its first question is left out.
        group = question.heading.or(group);
        if !question.is_asked(&answers) {
            continue;
        }
        if let Some(heading) = group.take() {
            writeln!(out, "\n{heading}")?;
        }
        put(question, &mut answers, input, out, echo)?;
    }
    writeln!(out)?;
    Ok(answers)
}

fn put(
    question: &Question,
    answers: &mut Answers,
    input: &mut impl BufRead,
    out: &mut impl Write,
    echo: bool,
) -> Result<(), Ended> {
    let default = question.current(answers);
    if let Wanted::Choice(choices) = question.wanted(answers) {
        writeln!(out, "{}?", wrapped(question.text, "  "))?;
        let width = choices.iter().map(|c| c.word.len()).max().unwrap_or(0);
        for (i, c) in choices.iter().enumerate() {
            writeln!(out, "    {}  {:width$}  {}", i + 1, c.word, c.means)?;
        }
        write!(out, "  [{}] ", question.words(default))?;
    } else {
        write!(out, "{} [{}]: ", wrapped(question.text, "  "), question.words(default))?;
    }
    for _ in 0..MOST_TRIES {
        out.flush()?;
        let Some(typed) = line(input)? else {
            writeln!(out)?;
            return Err(Ended::Input);
        };
        let typed = typed.trim();
        if echo {
            writeln!(out, "{typed}")?;
        }
        let answer = if typed.is_empty() {
            Ok(default)
        } else if typed == "?" {
            let text = format!("{} Allowed: {}.", question.explanation, question.allowed(answers));
            writeln!(out, "{}", wrapped(&text, "    "))?;
            Err(None)
        } else {
            question.read(answers, typed).map_err(Some)
        };
        match answer {
            Ok(answer) => match question.accept(answers, answer) {
                Ok(()) => return Ok(()),
                Err(e) => writeln!(out, "    {e}")?,
            },
            Err(Some(why)) => writeln!(out, "{}", wrapped(&why, "    "))?,
            Err(None) => {}
        }
        write!(out, "  [{}] ", question.words(default))?;
    }
    writeln!(out)?;
    Err(Ended::Nonsense(question.name))
}

/// One line, at most [`LONGEST`] bytes of it; `None` at the end of the input. A last line without its
/// end counts as typed.
fn line(input: &mut impl BufRead) -> io::Result<Option<String>> {
    let mut bytes = Vec::new();
    if input.by_ref().take(LONGEST).read_until(b'\n', &mut bytes)? == 0 {
        return Ok(None);
    }
    if bytes.last() != Some(&b'\n') && bytes.len() as u64 == LONGEST {
        // Too long for any answer: the rest goes unread into nothing, a piece at a time.
        loop {
            let piece = input.fill_buf()?;
            let (used, done) = match piece.iter().position(|b| *b == b'\n') {
                Some(end) => (end + 1, true),
                None => (piece.len(), piece.is_empty()),
            };
            input.consume(used);
            if done {
                break;
            }
        }
        bytes = b"(an answer too long to read)".to_vec();
    }
    // What is no text cannot be an answer either, and control characters would play with the terminal.
    let text = String::from_utf8_lossy(&bytes);
    Ok(Some(text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()))
}

/// Text broken into lines, each with `indent` before it.
pub(crate) fn wrapped(text: &str, indent: &str) -> String {
    let mut out = String::new();
    let mut used = 0;
    for word in text.split_whitespace() {
        let long = word.chars().count();
        if used == 0 || used + 1 + long > WIDTH {
            out.push_str(if used == 0 { "" } else { "\n" });
            out.push_str(indent);
            used = indent.len();
        } else {
            out.push(' ');
            used += 1;
        }
        out.push_str(word);
        used += long;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use trochoid::job::ask::{DriveKind, PanelKind};

    fn talked(typed: &[u8]) -> (Result<Answers, Ended>, String) {
        let mut out = Vec::new();
        let result = talk(&mut io::Cursor::new(typed), &mut out, false);
        (result, String::from_utf8(out).unwrap())
    }

    #[test]
    fn enter_all_the_way_gives_the_defaults() {
        let (answers, out) = talked(&[b'\n'; 100]);
        assert_eq!(answers.unwrap(), Answers::default());
        for q in QUESTIONS.iter().filter(|q| q.is_asked(&Answers::default())) {
            assert!(out.contains(&format!("[{}]", q.words(q.current(&Answers::default())))), "{}: {out}", q.name);
        }
    }

    #[test]
    fn nonsense_is_told_the_range_and_asked_again() {
        // Panel `hollow`, then a length that is none, one out of range, one with its unit.
        let mut typed = b"hollow\nlong\n9\n300 mm\n".to_vec();
        typed.extend([b'\n'; 100]);
        let (answers, out) = talked(&typed);
        let answers = answers.unwrap();
        assert_eq!(answers.panel, PanelKind::Hollow);
        assert!((answers.length_mm - 300.0).abs() < 1e-12, "read as typed");
        assert!(out.contains("a number in mm is wanted; allowed: 50 to 2000 mm"), "{out}");
        assert!(out.contains("that is out of range; allowed: 50 to 2000 mm"), "{out}");
    }

    #[test]
    fn a_question_mark_explains_and_asks_again() {
        let mut typed = b"?\nflat\n".to_vec();
        typed.extend([b'\n'; 100]);
        let (answers, out) = talked(&typed);
        assert_eq!(answers.unwrap().panel, PanelKind::Flat);
        assert!(out.contains(QUESTIONS[0].explanation.split('.').next().unwrap()), "{out}");
    }

    #[test]
    fn the_end_of_the_input_ends_the_talk_wherever_it_comes() {
        for n in 0..10 {
            let (answers, _) = talked(&vec![b'\n'; n]);
            assert!(matches!(answers, Err(Ended::Input)), "after {n} answers");
        }
    }

    #[test]
    fn endless_nonsense_ends() {
        for endless in [&b"what\n"[..], b"?\n", b"\xff\xfe\n", b"\0\x1b[31m\n"] {
            let many = endless.repeat(1000);
            let (answers, out) = talked(&many);
            assert!(matches!(answers, Err(Ended::Nonsense("panel"))), "{endless:?}");
            assert!(!out.contains('\x1b'), "an escape code typed is not repeated");
        }
    }

    #[test]
    fn an_endless_line_is_one_wrong_answer() {
        let mut typed = vec![b'9'; 5_000_000];
        typed.extend(b"\n3\n");
        typed.extend([b'\n'; 100]);
        let (answers, out) = talked(&typed);
        assert_eq!(answers.unwrap().panel, PanelKind::Hollow);
        assert!(out.len() < 10_000, "the answer is not repeated: {}", out.len());
    }

    #[test]
    fn headings_stand_once_each_and_only_over_questions() {
        let mut typed = Vec::new();
        // Haze: the pad of the main step is not asked for.
        for q in QUESTIONS.iter().filter(|q| q.is_asked(&Answers::default())).take_while(|q| q.name != "defects") {
            assert_ne!(q.name, "defects");
            typed.push(b'\n');
        }
        typed.extend(b"haze\n");
        typed.extend([b'\n'; 100]);
        let (answers, out) = talked(&typed);
        assert!(!answers.unwrap().two_steps());
        for (heading, times) in [("Machine", 1), ("Pad of the main step", 0), ("Pad of the light step", 1)] {
            assert_eq!(out.lines().filter(|l| *l == heading).count(), times, "{heading}: {out}");
        }
    }

    #[test]
    fn a_rotary_is_not_asked_for_its_throw() {
        let before = QUESTIONS.iter().filter(|q| q.is_asked(&Answers::default())).position(|q| q.name == "drive");
        let mut typed = vec![b'\n'; before.unwrap()];
        typed.extend(b"rot\n");
        typed.extend([b'\n'; 100]);
        let (answers, out) = talked(&typed);
        assert_eq!(answers.unwrap().drive, DriveKind::Rotary);
        assert!(!out.contains("Throw") && out.contains("Turns a minute"), "{out}");
    }
}
