//! What the hand can do and what the shop's handling takes. Every default is common practice without a
//! source; the job file lists each with its grade.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Force, Speed, Time};

/// What is wanted of the finish.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FinishWanted {
    /// Correct the defects; what haze the cut leaves stays.
    Correct,
    /// Correct, then refine where haze would show.
    CorrectAndRefine,
    /// Refine only: no correction is asked for.
    Refine,
}

impl FinishWanted {
    /// Whether defects are to be cut out.
    #[must_use]
    pub const fn corrects(self) -> bool {
        !matches!(self, Self::Refine)
    }

    /// Whether haze is to be taken away.
    #[must_use]
    pub const fn refines(self) -> bool {
        !matches!(self, Self::Correct)
    }

    /// The word of the job file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Correct => "correct",
            Self::CorrectAndRefine => "correct_and_refine",
            Self::Refine => "refine",
        }
    }
}

/// The range in which a hand presses and moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Operator {
    force_n: (f64, f64),
    feed_m_s: (f64, f64),
    overlap: f64,
}

impl Default for Operator {
    /// 20 to 50 N on the face, 25 to 60 mm/s, half overlapping. Common practice, no source.
    fn default() -> Self {
        Self { force_n: (20.0, 50.0), feed_m_s: (0.025, 0.060), overlap: 0.5 }
    }
}

impl Operator {
    /// An operator from the ends of force and feed and the overlap of the lines.
    ///
    /// # Errors
    /// Forces outside 0.1 to 2000 N, feeds outside 1 to 1000 mm/s, a range that runs backwards, an
    /// overlap outside 0 to 0.9.
    pub fn new(force: (Force, Force), feed: (Speed, Speed), overlap: f64) -> Result<Self, RangeError> {
        within("force_n", force.0.n(), 0.1, 2000.0, "N")?;
        within("force_n", force.1.n(), force.0.n(), 2000.0, "N")?;
        within("feed_mm_s", feed.0.mm_s(), 1.0, 1000.0, "mm/s")?;
        within("feed_mm_s", feed.1.mm_s(), feed.0.mm_s(), 1000.0, "mm/s")?;
        within("overlap", overlap, 0.0, 0.9, "")?;
        Ok(Self { force_n: (force.0.n(), force.1.n()), feed_m_s: (feed.0.m_s(), feed.1.m_s()), overlap })
    }

    /// Least and largest force on the face, N.
    #[must_use]
    pub const fn force_n(&self) -> (f64, f64) {
        self.force_n
    }

    /// Slowest and fastest feed, m/s.
    #[must_use]
    pub const fn feed_m_s(&self) -> (f64, f64) {
        self.feed_m_s
    }

    /// Overlap of the pass lines \[1\].
    #[must_use]
    pub const fn overlap(&self) -> f64 {
        self.overlap
    }
}

/// What the handling takes, and how long a day is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShopTimes {
    /// Working hours of a day, 0.5 to 24 h.
    pub day: Time,
    /// Setting up, once a day, 0 to 8 h.
    pub set_up: Time,
    /// Masking a metre of edge, taking it off included, 0 to 1 h.
    pub masking_per_m: Time,
    /// Wiping a section, 0 to 1 h.
    pub wipe: Time,
    /// Inspecting a section under the lamp, 0 to 1 h.
    pub inspect: Time,
    /// Laying one tool down and taking another up, cord and speed included, 0 to 1 h.
    pub tool_swap: Time,
    /// Changing the pad of a tool, 0 to 1 h.
    pub pad_swap: Time,
    /// Cleaning a pad, 0 to 1 h.
    pub clean: Time,
}

impl Default for ShopTimes {
    /// Common practice, no source: a day of 8 h, 20 min of setting up, 24 s of masking a metre, 15 s of
    /// wiping and 20 s of looking a section, 30 s to change the tool, 20 s the pad; 20 s of cleaning
    /// with compressed air.
    fn default() -> Self {
        Self {
            day: Time::from_min(480.0),
            set_up: Time::from_min(20.0),
            masking_per_m: Time::from_s(24.0),
            wipe: Time::from_s(15.0),
            inspect: Time::from_s(20.0),
            tool_swap: Time::from_s(30.0),
            pad_swap: Time::from_s(20.0),
            clean: Time::from_s(20.0),
        }
    }
}

impl ShopTimes {
    /// Checks every time.
    ///
    /// # Errors
    /// The first time outside the range that stands with its field; a day that its own setting up uses up.
    pub fn check(&self) -> Result<(), RangeError> {
        within("day_hours", self.day.s() / 3600.0, 0.5, 24.0, "h")?;
        // A day must hold more than its own setting up.
        within("set_up_min", self.set_up.s() / 60.0, 0.0, (self.day.s() / 60.0 - 1.0).min(480.0), "min")?;
        within("masking_min_per_m", self.masking_per_m.s() / 60.0, 0.0, 60.0, "min/m")?;
        for (what, time) in [
            ("wipe_s_per_section", self.wipe),
            ("inspect_s_per_section", self.inspect),
            ("tool_swap_s", self.tool_swap),
            ("pad_swap_s", self.pad_swap),
            ("clean_s", self.clean),
        ] {
            within(what, time.s(), 0.0, 3600.0, "s")?;
        }
        Ok(())
    }
}
