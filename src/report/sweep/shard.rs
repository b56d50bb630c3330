//! Shards: the cases of a sweep cut into ranges that follow each other, and the line that a shard's file
//! begins with.

use crate::error::RangeError;
use crate::job::sweep::Cases;
use core::ops::Range;

/// Most shards of a sweep.
pub const MAX_SHARDS: u64 = 100_000;

/// One part of a sweep.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shard {
    number: u64,
    of: u64,
}

impl Shard {
    /// The whole sweep.
    pub const WHOLE: Self = Self { number: 1, of: 1 };

    /// Part `number`, from 1, of `of`.
    ///
    /// # Errors
    /// No part, more than [`MAX_SHARDS`], a number that is none of them.
    ///
    /// # Example
    /// ```
    /// use trochoid::report::Shard;
    /// let shard = Shard::new(2, 3)?;
    /// assert_eq!(shard.cases(10), 3..6);
    /// assert!(Shard::new(0, 7).is_err() && Shard::new(8, 7).is_err());
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn new(number: u64, of: u64) -> Result<Self, RangeError> {
        if of == 0 || of > MAX_SHARDS {
            return Err(RangeError::new("shards", of as f64, "", format!("1 to {MAX_SHARDS}")));
        }
        if number == 0 || number > of {
            return Err(RangeError::new("shard", number as f64, "", format!("1 to {of}, of {of} shards")));
        }
        Ok(Self { number, of })
    }

    /// Its number, from 1.
    #[must_use]
    pub const fn number(&self) -> u64 {
        self.number
    }

    /// How many there are.
    #[must_use]
    pub const fn of(&self) -> u64 {
        self.of
    }

    /// Its cases of `total`: the shards follow each other and differ by one case at most.
    /// See the example of [`Shard::new`].
    #[must_use]
    pub const fn cases(&self, total: u64) -> Range<u64> {
        // The floor of total·number/of, in parts that cannot overflow: the rest is below 10^5.
        let (each, rest) = (total / self.of, total % self.of);
        let low = each * (self.number - 1) + rest * (self.number - 1) / self.of;
        let high = each * self.number + rest * self.number / self.of;
        low..high
    }
}

/// What a file of rows belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Belongs {
    /// Digest of study, job and version.
    pub(super) digest: String,
    /// Cases of the whole sweep.
    pub(super) total: u64,
    pub(super) shard: Shard,
}

const MARK: &str = "# trochoid sweep ";

impl Belongs {
    pub(super) fn of(cases: &Cases<'_>, shard: Shard) -> Self {
        Self { digest: cases.study().digest().hex(), total: cases.count(), shard }
    }

    pub(super) fn cases(&self) -> Range<u64> {
        self.shard.cases(self.total)
    }

    /// The line that a part of a sweep begins with; a whole table is plain CSV and has none.
    pub(super) fn line(&self) -> String {
        if self.shard == Shard::WHOLE { String::new() } else { self.mark() }
    }

    /// The same as text for the state of a run.
    pub(super) fn mark(&self) -> String {
        let cases = self.cases();
        format!(
            "{MARK}{}: shard {} of {}, cases from {} to before {} of {}\n",
            self.digest, self.shard.number, self.shard.of, cases.start, cases.end, self.total
        )
    }

    /// Reads such a line; `None` for any other.
    pub(super) fn read(line: &str) -> Option<Self> {
        let (digest, rest) = line.strip_prefix(MARK)?.split_once(": shard ")?;
        let (number, rest) = rest.split_once(" of ")?;
        let (of, rest) = rest.split_once(", cases from ")?;
        let total = rest.trim_end().rsplit_once(" of ")?.1;
        let shard = Shard::new(number.parse().ok()?, of.parse().ok()?).ok()?;
        let total: u64 = total.parse().ok().filter(|n| *n <= crate::plan::MAX_CASES)?;
        let out = Self { digest: digest.to_owned(), total, shard };
        // A line that was changed by hand says something else.
        (out.mark().trim_end() == line.trim_end()).then_some(out)
    }
}
