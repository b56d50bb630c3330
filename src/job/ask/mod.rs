//! A job from a short talk in the words of the trade: what is asked ([`QUESTIONS`]), what was
//! answered ([`Answers`]), and the commented job file that follows ([`Answers::job_text`]).
//!
//! Pure: nothing here reads a terminal or writes a file; the command line does both. What the
//! answers leave open is assumed and said so in the job. Bands of depth, passes, feed and overlap
//! are common practice without a published source.

mod answers;
mod list;
mod question;
mod text;

pub use answers::{Answers, Bend, Defects, DriveKind, Firmness, PadAnswers, PaintHardness, PanelKind, RateKnown, Ways};
pub use list::QUESTIONS;
pub use question::{Answer, Choice, Question, Wanted};
