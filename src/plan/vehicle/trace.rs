//! Where every minute comes from: a list of entries, one after the other, whose sum is the total.
//!
//! A day begins with its own setting up. A block (a zone with one kit, with what belongs to it) that no
//! longer fits into the day begins the next one; a block longer than a day runs on over the next.

use super::operator::ShopTimes;
use crate::units::Time;

/// What a time is spent on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Minute {
    /// Setting up, once a day.
    SetUp,
    /// Masking a panel.
    Masking,
    /// Changing the tool.
    ToolSwap,
    /// Changing the pad.
    PadSwap,
    /// Priming a pad.
    Prime,
    /// Pad on the panel.
    Work,
    /// Cleaning a pad.
    Clean,
    /// Waiting for a pad to cool or dry, or for the panel.
    Rest,
    /// Wiping a section.
    Wipe,
    /// Looking at a section.
    Inspect,
    /// Washing the pads at the end.
    Wash,
    /// What was done already, as it was reported.
    Done,
}

impl Minute {
    /// Every kind, in the order of a table.
    pub const ALL: [Self; 12] = [
        Self::SetUp,
        Self::Masking,
        Self::Done,
        Self::Work,
        Self::Prime,
        Self::Clean,
        Self::Rest,
        Self::PadSwap,
        Self::ToolSwap,
        Self::Wipe,
        Self::Inspect,
        Self::Wash,
    ];

    /// The word in machine-readable results.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::SetUp => "set_up",
            Self::Masking => "masking",
            Self::ToolSwap => "tool_swap",
            Self::PadSwap => "pad_swap",
            Self::Prime => "prime",
            Self::Work => "work",
            Self::Clean => "clean",
            Self::Rest => "rest",
            Self::Wipe => "wipe",
            Self::Inspect => "inspect",
            Self::Wash => "wash",
            Self::Done => "done",
        }
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::SetUp => "setting up",
            Self::Masking => "masking",
            Self::ToolSwap => "changing the tool",
            Self::PadSwap => "changing the pad",
            Self::Prime => "priming pads",
            Self::Work => "pad on the panel",
            Self::Clean => "cleaning pads",
            Self::Rest => "waiting",
            Self::Wipe => "wiping",
            Self::Inspect => "inspecting",
            Self::Wash => "washing pads",
            Self::Done => "done already",
        }
    }
}

/// One entry.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceEntry {
    /// What the time is spent on.
    pub minute: Minute,
    /// What it is about, in words: a panel, a zone, a pad.
    pub about: String,
    /// Index of the step it belongs to, where it does.
    pub step: Option<usize>,
    /// Tool in the hand while the pad is on.
    pub tool: Option<usize>,
    /// Day, from 0.
    pub day: usize,
    /// Start: the sum of all entries before, s.
    pub start_s: f64,
    /// How long, s.
    pub time_s: f64,
}

impl TraceEntry {
    /// An entry that has not been put into a day yet.
    #[must_use]
    pub fn new(minute: Minute, about: impl Into<String>, time: Time) -> Self {
        Self { minute, about: about.into(), step: None, tool: None, day: 0, start_s: 0.0, time_s: time.s() }
    }

    /// The same entry of a step, with its tool.
    #[must_use]
    pub const fn of(mut self, step: usize, tool: Option<usize>) -> Self {
        self.step = Some(step);
        self.tool = tool;
        self
    }
}

/// The entries of a vehicle.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeTrace {
    entries: Vec<TraceEntry>,
    total_s: f64,
    days: usize,
    /// Time used of the day that runs, s.
    used_s: f64,
    day_s: f64,
    set_up: Time,
}

impl TimeTrace {
    /// A trace that begins with setting up.
    #[must_use]
    pub fn new(times: &ShopTimes) -> Self {
        let mut out = Self {
            entries: Vec::new(),
            total_s: 0.0,
            days: 1,
            used_s: 0.0,
            day_s: times.day.s(),
            set_up: times.set_up,
        };
        out.push(TraceEntry::new(Minute::SetUp, "day 1", times.set_up));
        out
    }

    fn push(&mut self, mut entry: TraceEntry) {
        if entry.time_s <= 0.0 {
            return;
        }
        entry.day = self.days - 1;
        entry.start_s = self.total_s;
        self.total_s += entry.time_s;
        self.used_s += entry.time_s;
        self.entries.push(entry);
    }

    fn next_day(&mut self, left_over_s: f64) {
        self.days += 1;
        self.used_s = left_over_s;
        let about = format!("day {}", self.days);
        self.push(TraceEntry::new(Minute::SetUp, about, self.set_up));
    }

    /// Adds what belongs together. Entries without time are left out.
    ///
    /// # Example
    /// ```
    /// use trochoid::Time;
    /// use trochoid::plan::vehicle::{Minute, ShopTimes, TimeTrace, TraceEntry};
    /// // A day of 480 min with 20 min of setting up: after 300 min of work a block of 200 no longer fits and
    /// // begins the next day, after its own setting up. 20 + 300 + 20 + 200 = 540 min.
    /// let work = |min| [TraceEntry::new(Minute::Work, "roof", Time::from_min(min))];
    /// let mut trace = TimeTrace::new(&ShopTimes::default());
    /// trace.block(work(300.0));
    /// trace.block(work(200.0));
    /// assert!(trace.days() == 2 && (trace.total().min() - 540.0).abs() < 1e-9);
    /// ```
    pub fn block(&mut self, entries: impl IntoIterator<Item = TraceEntry>) {
        let entries: Vec<TraceEntry> = entries.into_iter().filter(|e| e.time_s > 0.0).collect();
        let time: f64 = entries.iter().map(|e| e.time_s).sum();
        let fresh = self.used_s <= self.set_up.s();
        // A millisecond forgives the rounding of a sum.
        if !entries.is_empty() && self.used_s + time > self.day_s + 1e-3 && !fresh {
            self.next_day(0.0);
        }
        for e in entries {
            self.push(e);
        }
        while self.used_s > self.day_s + 1e-3 {
            let over = self.used_s - self.day_s;
            self.next_day(over);
        }
    }

    /// The entries in order of time.
    #[must_use]
    pub fn entries(&self) -> &[TraceEntry] {
        &self.entries
    }

    /// The sum of all entries.
    #[must_use]
    pub const fn total(&self) -> Time {
        Time::from_s(self.total_s)
    }

    /// Days that the work takes.
    #[must_use]
    pub const fn days(&self) -> usize {
        self.days
    }

    /// Sum of the entries of one kind.
    #[must_use]
    pub fn of(&self, minute: Minute) -> Time {
        Time::from_s(self.entries.iter().filter(|e| e.minute == minute).map(|e| e.time_s).sum())
    }

    /// Sum of the entries that belong to a step.
    #[must_use]
    pub fn of_step(&self, step: usize) -> Time {
        Time::from_s(self.entries.iter().filter(|e| e.step == Some(step)).map(|e| e.time_s).sum())
    }
}
