//! Designs of experiments: which values the varied settings take in which case.
//!
//! A case is reached by its number alone, so that cases can be worked in any order, on any number of
//! threads or machines, and stay what they are. Grid: every combination, the last axis fastest. Random:
//! draws that depend on seed, axis and case. Sobol: points of [`crate::math::sobol`], even in every block
//! of 2^k cases.
//!
//! Not here: what the axes mean, and what is computed in a case.

use crate::error::RangeError;
use crate::math::random::Seed;
use crate::math::sobol::{MAX_DIMENSIONS, Sobol};
use core::fmt;

/// Most cases of a design: at a hundred bytes a row their table is a file of 100 GB, and at 0.1 ms a case
/// they take a day of one processor core.
pub const MAX_CASES: u64 = 1_000_000_000;

/// Most axes of a design that is not a Sobol sequence.
pub const MAX_AXES: usize = 64;

/// How a range is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// Equal steps.
    Linear,
    /// Equal ratios.
    Log,
}

/// What one setting may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis(Span);

#[derive(Debug, Clone, Copy, PartialEq)]
enum Span {
    List(u64),
    Range { low: f64, high: f64, scale: Scale, count: Option<u64> },
    Whole { low: i64, high: i64 },
}

/// The value of an axis in a case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Level {
    /// Entry of a list, from 0.
    Entry(u64),
    /// Number in a range.
    Number(f64),
    /// Whole number in a range.
    Whole(i64),
}

/// Largest whole number of an axis: every one below it is an `f64`.
const LARGEST_WHOLE: i64 = 1 << 52;

impl Axis {
    /// A list of `entries` values.
    ///
    /// # Errors
    /// An empty list, or one longer than [`MAX_CASES`].
    pub fn list(entries: u64) -> Result<Self, RangeError> {
        if entries == 0 || entries > MAX_CASES {
            return Err(RangeError::new("values", entries as f64, "values", format!("1 to {MAX_CASES} values")));
        }
        Ok(Self(Span::List(entries)))
    }

    /// A range; a grid takes `count` values of it, both ends included.
    ///
    /// # Errors
    /// Ends that are not finite, a low end above the high one, a logarithmic range that does not lie above
    /// zero, a count of 0, or of 1 where the ends differ.
    pub fn range(low: f64, high: f64, scale: Scale, count: Option<u64>) -> Result<Self, RangeError> {
        if !high.is_finite() {
            return Err(RangeError::new("high", high, "", "a finite number"));
        }
        if !low.is_finite() || low > high {
            return Err(RangeError::new("low", low, "", format!("a finite number, at most the high end, {high}")));
        }
        if scale == Scale::Log && low < f64::MIN_POSITIVE {
            return Err(RangeError::new("low", low, "", "above 0 on a logarithmic scale"));
        }
        if !(high - low).is_finite() || (scale == Scale::Log && !(high / low).is_finite()) {
            return Err(RangeError::new("high", high, "", "within reach of the low end: their distance is no number"));
        }
        let least = if low < high { 2 } else { 1 };
        if let Some(n) = count.filter(|n| *n < least || *n > MAX_CASES) {
            return Err(RangeError::new("count", n as f64, "", format!("{least} to {MAX_CASES}")));
        }
        Ok(Self(Span::Range { low, high, scale, count }))
    }

    /// The whole numbers from `low` to `high`; a grid takes each of them.
    ///
    /// # Errors
    /// A low end above the high one, numbers beyond ±2^52, more than [`MAX_CASES`] of them.
    pub fn whole(low: i64, high: i64) -> Result<Self, RangeError> {
        let bound = -LARGEST_WHOLE..=LARGEST_WHOLE;
        if !bound.contains(&high) {
            return Err(RangeError::new("high", high as f64, "", "−2^52 to 2^52"));
        }
        if !bound.contains(&low) || low > high {
            return Err(RangeError::new("low", low as f64, "", format!("−2^52 to the high end, {high}")));
        }
        if low.abs_diff(high) >= MAX_CASES {
            return Err(RangeError::new("high", high as f64, "", format!("less than {MAX_CASES} above the low end")));
        }
        Ok(Self(Span::Whole { low, high }))
    }

    /// Values that a grid takes; `None` for a range without a count.
    #[must_use]
    pub const fn grid_count(&self) -> Option<u64> {
        match self.0 {
            Span::List(n) => Some(n),
            Span::Range { count, .. } => count,
            Span::Whole { low, high } => Some(low.abs_diff(high) + 1),
        }
    }

    /// Value `i` of `n` of a grid.
    fn at_step(&self, i: u64, n: u64) -> Level {
        match self.0 {
            Span::List(_) => Level::Entry(i),
            Span::Range { low, high, scale, .. } => {
                // The ends exactly as they were given.
                Level::Number(if i == 0 {
                    low
                } else if i + 1 == n {
                    high
                } else {
                    between(low, high, scale, i as f64 / (n - 1) as f64)
                })
            }
            Span::Whole { low, .. } => Level::Whole(low.saturating_add_unsigned(i)),
        }
    }

    /// Value at a share 0 ≤ u < 1 of the way.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ u < 1, at most 10^9 entries
    fn at_share(&self, u: f64) -> Level {
        let pick = |n: u64| ((u * n as f64) as u64).min(n - 1);
        match self.0 {
            Span::List(n) => Level::Entry(pick(n)),
            Span::Range { low, high, scale, .. } => Level::Number(between(low, high, scale, u)),
            Span::Whole { low, high } => Level::Whole(low.saturating_add_unsigned(pick(low.abs_diff(high) + 1))),
        }
    }

    /// The two ends of the axis: first and last entry, low and high end.
    #[must_use]
    pub const fn ends(&self) -> [Level; 2] {
        match self.0 {
            Span::List(n) => [Level::Entry(0), Level::Entry(n - 1)],
            Span::Range { low, high, .. } => [Level::Number(low), Level::Number(high)],
            Span::Whole { low, high } => [Level::Whole(low), Level::Whole(high)],
        }
    }
}

/// A number at share `u` of the way from `low` to `high`, never past the ends.
fn between(low: f64, high: f64, scale: Scale, u: f64) -> f64 {
    let x = match scale {
        Scale::Linear => low + u * (high - low),
        Scale::Log => low * (high / low).powf(u),
    };
    // Rounding alone could step past an end by a unit in the last place.
    x.max(low).min(high)
}

/// How the cases are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// Every combination.
    Grid,
    /// Independent draws.
    Random {
        /// Number of cases.
        count: u64,
        /// Seed of the draws.
        seed: u64,
    },
    /// Points of a Sobol sequence.
    Sobol {
        /// Number of cases; a power of two is the most even.
        count: u64,
        /// Seed of a digital shift; `None` for the sequence as published.
        seed: Option<u64>,
    },
}

/// Why there is no design.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum DesignError {
    /// No axis, or too many for the layout.
    Axes {
        /// Axes given.
        given: usize,
        /// Most that the layout takes.
        most: usize,
    },
    /// No case at all, or more than [`MAX_CASES`]; exact up to 2^128, there cut off.
    Cases {
        /// Cases that the design would have.
        count: u128,
    },
    /// An axis of a grid is a range without a count.
    NoCount {
        /// Number of the axis, from 0.
        axis: usize,
    },
}

impl fmt::Display for DesignError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Axes { given, most } => write!(f, "the design varies {given} settings; 1 to {most} can be varied"),
            Self::Cases { count } => write!(f, "the design has {count} cases; 1 to {MAX_CASES} can be worked"),
            Self::NoCount { axis } => write!(f, "range {axis} of the grid has no count"),
        }
    }
}

impl std::error::Error for DesignError {}

/// A design: axes, layout, number of cases.
///
/// # Example
/// ```
/// use trochoid::plan::{Axis, Design, Layout, Level, Scale};
/// let throw = Axis::range(8.0, 20.0, Scale::Linear, Some(4))?;
/// let pads = Axis::list(3)?;
/// let design = Design::new(vec![throw, pads], Layout::Grid)?;
/// assert_eq!(design.cases(), 12);
/// // The last axis runs fastest: case 7 is throw 2 of 0 to 3 and pad 1 of 0 to 2.
/// assert_eq!(design.level(7, 0), Some(Level::Number(16.0)));
/// assert_eq!(design.level(7, 1), Some(Level::Entry(1)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    axes: Vec<Axis>,
    layout: Layout,
    cases: u64,
    /// Values of each axis of a grid and the cases after which it moves on.
    strides: Vec<(u64, u64)>,
    sobol: Option<Sobol>,
}

impl Design {
    /// A design.
    ///
    /// # Errors
    /// No axis or too many, no case or more than [`MAX_CASES`], a range without a count on a grid.
    pub fn new(axes: Vec<Axis>, layout: Layout) -> Result<Self, DesignError> {
        let most = if matches!(layout, Layout::Sobol { .. }) { MAX_DIMENSIONS } else { MAX_AXES };
        if axes.is_empty() || axes.len() > most {
            return Err(DesignError::Axes { given: axes.len(), most });
        }
        let mut strides = Vec::new();
        let count = match layout {
            Layout::Random { count, .. } | Layout::Sobol { count, .. } => u128::from(count),
            Layout::Grid => {
                let mut product: u128 = 1;
                for (axis, a) in axes.iter().enumerate() {
                    let n = a.grid_count().ok_or(DesignError::NoCount { axis })?;
                    product = product.saturating_mul(u128::from(n));
                }
                product
            }
        };
        let cases = u64::try_from(count).ok().filter(|n| (1..=MAX_CASES).contains(n));
        let Some(cases) = cases else { return Err(DesignError::Cases { count }) };
        if layout == Layout::Grid {
            let mut stride = cases;
            for a in &axes {
                let n = a.grid_count().unwrap_or(1);
                stride /= n;
                strides.push((n, stride));
            }
        }
        let sobol = match layout {
            Layout::Sobol { seed, .. } => {
                let plain = Sobol::new(axes.len()).ok();
                match seed {
                    Some(s) => plain.map(|p| p.shifted(Seed::new(s))),
                    None => plain,
                }
            }
            _ => None,
        };
        Ok(Self { axes, layout, cases, strides, sobol })
    }

    /// Number of cases.
    #[must_use]
    pub const fn cases(&self) -> u64 {
        self.cases
    }

    /// The axes in order.
    #[must_use]
    pub fn axes(&self) -> &[Axis] {
        &self.axes
    }

    /// The layout.
    #[must_use]
    pub const fn layout(&self) -> Layout {
        self.layout
    }

    /// Value of an axis in a case; `None` for an axis or a case that the design does not have.
    #[must_use]
    pub fn level(&self, case: u64, axis: usize) -> Option<Level> {
        let a = self.axes.get(axis).filter(|_| case < self.cases)?;
        Some(match self.layout {
            Layout::Grid => {
                let (n, stride) = *self.strides.get(axis)?;
                a.at_step(case / stride % n, n)
            }
            Layout::Random { seed, .. } => a.at_share(Seed::new(seed).uniform(axis as u64, case)),
            Layout::Sobol { .. } => a.at_share(self.sobol.as_ref()?.coordinate(case, axis)),
        })
    }
}
