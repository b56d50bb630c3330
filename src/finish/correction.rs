//! What a cut does to defects: how many are gone, how many are no longer seen, what it would take to
//! reach a target, and when to stop.
//!
//! A defect of depth d is gone after a cut of d; it is no longer seen once what is left of it is below
//! the threshold of the eye. Cutting is taken as even: a defect neither fills nor opens.

use crate::equipment::within;
use crate::error::RangeError;
use crate::math::distribution::{LogNormal, normal_quantile};
use crate::math::interval::{Interval, checked_level};
use crate::math::root::bracketed;
use crate::units::Length;

/// Most that any cut may be, m.
const MOST_M: f64 = 1e-3;

fn checked(cut: Length) -> Result<f64, RangeError> {
    // In metres: the largest cut allowed does not survive the way to micrometres and back.
    if (0.0..=MOST_M).contains(&cut.m()) {
        Ok(cut.m())
    } else {
        Err(RangeError::new("cut_um", cut.um(), "µm", "0 to 1000"))
    }
}

/// Defects after a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// Share of the defects that are gone \[1\]: depth at most the cut.
    pub removed: f64,
    /// Share of the defects seen before that are no longer seen \[1\]: gone or shallowed below the threshold.
    pub no_longer_seen: f64,
    /// Share of what was seen, each defect by its depth above the threshold, that is no longer there \[1\].
    pub optical: f64,
    /// Share of all defects that are still seen \[1\].
    pub still_seen: f64,
    /// Median depth of those still seen, measured from the new surface \[m\]; `None` where fewer than one in
    /// a million is left.
    pub depth_still_seen_m: Option<f64>,
}

/// Correction of defects with depths \[m\] `depths` by a cut, seen from the depth `visible` on.
///
/// ```text
/// removed  = F(h)
/// seen no more = 1 − (1 − F(h + t))/(1 − F(t))
/// optical  = 1 − E[max(d − h − t, 0)] / E[max(d − t, 0)]
///
/// F distribution of the depth d [m], h cut [m], t depth from which a defect is seen [m]
/// ```
///
/// # Assumptions and valid range
/// The cut is even over defects and ground; a defect neither fills nor opens. Own definitions.
///
/// # Accuracy
/// Exact for the log-normal distribution, to the digits of its distribution function.
///
/// # Errors
/// A cut outside 0 to 1000 µm, a threshold outside 0.001 to 100 µm.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::finish::{LogNormal, correction};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // A cut of the median depth removes half.
/// let swirls = LogNormal::new(0.8e-6, 0.6)?;
/// let c = correction(&swirls, Length::from_um(0.8), Length::from_um(0.2))?;
/// assert!((c.removed - 0.5).abs() < 1e-12 && c.optical > c.removed);
/// # Ok(())
/// # }
/// ```
pub fn correction(depths: &LogNormal, cut: Length, visible: Length) -> Result<Correction, RangeError> {
    let h = checked(cut)?;
    within("visible depth", visible.um(), 1e-3, 100.0, "µm")?;
    let t = visible.m();
    let still_seen = above(depths, h + t);
    let depth_still_seen_m = if still_seen > 1e-6 {
        // Median of the upper tail: half of what is still seen lies above it.
        Some(depths.quantile(1.0 - 0.5 * still_seen) - h)
    } else {
        None
    };
    let share = |measure| share_corrected(depths, h, t, measure);
    Ok(Correction {
        removed: share(Measure::Removed),
        no_longer_seen: share(Measure::NoLongerSeen),
        optical: share(Measure::Optical),
        still_seen,
        depth_still_seen_m,
    })
}

/// One share of [`correction`] alone, for a cut `h` and a threshold `t` \[m\] already checked.
pub(super) fn share_corrected(depths: &LogNormal, h: f64, t: f64, measure: Measure) -> f64 {
    // Where nothing was seen before, nothing is left to be seen.
    let left = |after: f64, before: f64| if before > 0.0 { after / before } else { 0.0 };
    match measure {
        Measure::Removed => depths.cdf(h),
        Measure::NoLongerSeen => 1.0 - left(above(depths, h + t), above(depths, t)),
        Measure::Optical => 1.0 - left(depths.mean_above(h + t), depths.mean_above(t)),
    }
}

fn above(depths: &LogNormal, level: f64) -> f64 {
    depths.exceedance(level)
}

/// Which correction a target speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// [`Correction::removed`].
    Removed,
    /// [`Correction::no_longer_seen`].
    NoLongerSeen,
    /// [`Correction::optical`].
    Optical,
}

impl Correction {
    /// The share that `measure` speaks of \[1\].
    #[must_use]
    pub const fn share(&self, measure: Measure) -> f64 {
        match measure {
            Measure::Removed => self.removed,
            Measure::NoLongerSeen => self.no_longer_seen,
            Measure::Optical => self.optical,
        }
    }
}

/// Cut that reaches a target share of correction \[1\]; zero where the target is met without.
///
/// # Accuracy
/// The quantile for [`Measure::Removed`]; else a bracketed root to 1e-13 m.
///
/// # Errors
/// A target outside 0 to 0.9999, a threshold outside 0.001 to 100 µm, or a cut above 1000 µm.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::finish::{LogNormal, Measure, cut_for};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // Half of the defects are no deeper than the median; 97.7 % no deeper than 0.8 e^(2 × 0.6) = 2.656 µm.
/// let swirls = LogNormal::new(0.8e-6, 0.6)?;
/// let half = cut_for(&swirls, 0.5, Measure::Removed, Length::from_um(0.2))?;
/// let most = cut_for(&swirls, 0.97725, Measure::Removed, Length::from_um(0.2))?;
/// assert!((half.um() - 0.8).abs() < 1e-9 && (most.um() - 2.656).abs() < 1e-3);
/// # Ok(())
/// # }
/// ```
pub fn cut_for(depths: &LogNormal, target: f64, measure: Measure, visible: Length) -> Result<Length, RangeError> {
    within("target correction", target, 0.0, 0.9999, "")?;
    within("visible depth", visible.um(), 1e-3, 100.0, "µm")?;
    let miss = |h: f64| share_corrected(depths, h, visible.m(), measure) - target;
    let (none, all) = (miss(0.0), miss(MOST_M));
    if none >= 0.0 {
        return Ok(Length::from_m(0.0));
    }
    let too_deep = || RangeError::new("cut for the target", MOST_M * 1e6, "µm", "at most 1000 µm; lower the target");
    let cut = if measure == Measure::Removed {
        depths.quantile(target.max(1e-12))
    } else {
        bracketed(miss, (0.0, none), (MOST_M, all), 1e-13).ok_or_else(too_deep)?.x
    };
    if cut > MOST_M { Err(too_deep()) } else { Ok(Length::from_m(cut)) }
}

/// Cut to aim for so that the target is met at `confidence`, when what comes off differs from what was
/// aimed for by a factor that spreads by `cut_spread` (standard deviation of its logarithm \[1\]).
///
/// ```text
/// aim = needed · e^(z s)      z quantile of the normal distribution at the confidence [1], s spread [1]
/// ```
///
/// # Assumptions and valid range
/// One-sided: only too little cut misses the target. That more than needed may come off is for the budget.
///
/// # Errors
/// A cut outside 0 to 1000 µm, a confidence outside 0.5 to 0.999, a spread outside 0 to 3.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::finish::cut_to_aim_for;
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // At even odds just what is needed; at 84.1 %, one standard deviation, e^0.3 = 1.34986 times as much.
/// let needed = Length::from_um(2.0);
/// assert!((cut_to_aim_for(needed, 0.3, 0.5)?.um() - 2.0).abs() < 1e-12);
/// assert!((cut_to_aim_for(needed, 0.3, 0.841345)?.um() - 2.69972).abs() < 1e-4);
/// # Ok(())
/// # }
/// ```
pub fn cut_to_aim_for(needed: Length, cut_spread: f64, confidence: f64) -> Result<Length, RangeError> {
    checked_level("confidence", confidence)?;
    within("cut_spread", cut_spread, 0.0, 3.0, "")?;
    let h = checked(needed)?;
    // One-sided: too little is the only way to miss.
    Ok(Length::from_m(h * (normal_quantile(confidence) * cut_spread).exp()))
}

/// A probability with what the uncertainty of the cut does to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Probability {
    /// With depth and cut both uncertain \[1\].
    pub overall: f64,
    /// With the cut at the low end of its interval \[1\].
    pub with_little_cut: f64,
    /// With the cut at the high end of its interval \[1\].
    pub with_much_cut: f64,
}

/// How likely one scratch goes with a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chance {
    /// That the cut reaches its ground.
    pub gone: Probability,
    /// That what is left of it is below the threshold of the eye.
    pub no_longer_seen: Probability,
}

/// Probability that a scratch of depth `depth` \[m\] is gone, and that it is no longer seen, after a cut
/// known within `cut` \[m\]; `confidence` is that of the interval of the cut.
///
/// # Accuracy
/// `gone` is exact. `no_longer_seen` averages over 256 equally likely values of the cut: within 1e-3 while
/// the depth spreads by 0.2 or more, within 4e-3 else.
///
/// # Errors
/// A confidence outside 0.5 to 0.999, a threshold outside 0.001 to 100 µm.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::finish::{LogNormal, chance};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // Depth and cut alike: even odds, however uncertain both are.
/// let depth = LogNormal::new(2e-6, 0.3)?;
/// let c = chance(&depth, &LogNormal::new(2e-6, 0.5)?, Length::from_um(0.2), 0.9)?;
/// assert!((c.gone.overall - 0.5).abs() < 1e-12 && c.no_longer_seen.overall > 0.5);
/// # Ok(())
/// # }
/// ```
pub fn chance(depth: &LogNormal, cut: &LogNormal, visible: Length, confidence: f64) -> Result<Chance, RangeError> {
    within("visible depth", visible.um(), 1e-3, 100.0, "µm")?;
    let ends = cut.interval(confidence)?;
    let t = visible.m();
    let slices = 256;
    let mean = (0..slices)
        .map(|i| {
            let z = normal_quantile((f64::from(i) + 0.5) / f64::from(slices));
            depth.cdf(cut.at(z) + t)
        })
        .sum::<f64>()
        / f64::from(slices);
    let at_ends = |extra: f64, overall: f64| Probability {
        overall,
        with_little_cut: depth.cdf(ends.low + extra),
        with_much_cut: depth.cdf(ends.high + extra),
    };
    Ok(Chance { gone: at_ends(0.0, depth.probability_at_most(cut)), no_longer_seen: at_ends(t, mean) })
}

/// What to do about the deepest defect: advice, with the depths taken at their bad ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Advice {
    /// The paint can give it: cut this much, m.
    CutOut {
        /// Cut that takes the defect out at the confidence asked for, m.
        cut_m: f64,
        /// What is left of the budget's lower end then, m.
        spare_m: f64,
    },
    /// The paint cannot give all of it, but enough that the rest is not seen: cut this much, m.
    CutUntilUnseen {
        /// Cut after which the rest is below the threshold of the eye, m.
        cut_m: f64,
        /// Depth left, m.
        left_m: f64,
    },
    /// Stop here: chasing it would cost more paint than may go. Soften its edges so that it catches less
    /// light, and leave the rest.
    SoftenEdges {
        /// The most that may go, m.
        cut_m: f64,
        /// Depth left then, m.
        left_m: f64,
    },
    /// It may reach through the clear coat: polishing does not mend it.
    ThroughClear {
        /// How deep it may be, m.
        depth_m: f64,
    },
}

/// Whether the deepest defect, of depth `deepest` \[m\], can be cut out of a budget of which `budget`
/// \[m\] may go at least and at most, under a clear coat of thickness `clear`. Takes the deep end of the
/// defect and the low end of the budget at `confidence`.
///
/// # Errors
/// A budget outside 0 to 1000 µm or with its ends out of order, a clear coat outside 0 to 1000 µm, a
/// confidence outside 0.5 to 0.999, a threshold outside 0.001 to 100 µm.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::finish::{Advice, Interval, LogNormal, deepest_against_budget};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // A scratch known to be 5 µm deep, 4.9 µm that may go at least: cut 4.8, what is left is not seen.
/// let budget = Interval { low: 4.9e-6, best: 6e-6, high: 7e-6, level: 0.9 };
/// let (clear, visible) = (Length::from_um(45.0), Length::from_um(0.2));
/// let advice = deepest_against_budget(&LogNormal::new(5e-6, 0.0)?, budget, clear, visible, 0.9)?;
/// assert!(matches!(advice, Advice::CutUntilUnseen { cut_m, left_m }
///     if (cut_m - 4.8e-6).abs() < 1e-15 && (left_m - 0.2e-6).abs() < 1e-15));
/// # Ok(())
/// # }
/// ```
pub fn deepest_against_budget(
    deepest: &LogNormal,
    budget: Interval,
    clear: Length,
    visible: Length,
    confidence: f64,
) -> Result<Advice, RangeError> {
    let may_go = budget_low(budget)?;
    within("clear_um", clear.um(), 0.0, 1000.0, "µm")?;
    within("visible depth", visible.um(), 1e-3, 100.0, "µm")?;
    let deep = deepest.interval(confidence)?.high;
    let unseen = deep - visible.m();
    Ok(if deep >= clear.m() {
        Advice::ThroughClear { depth_m: deep }
    } else if deep <= may_go {
        Advice::CutOut { cut_m: deep, spare_m: may_go - deep }
    } else if unseen <= may_go {
        Advice::CutUntilUnseen { cut_m: unseen.max(0.0), left_m: deep - unseen.max(0.0) }
    } else {
        Advice::SoftenEdges { cut_m: may_go, left_m: deep - may_go }
    })
}

/// Lower end of a budget interval \[m\], checked.
pub(super) fn budget_low(budget: Interval) -> Result<f64, RangeError> {
    within("budget, lower end", budget.low * 1e6, 0.0, MOST_M * 1e6, "µm")?;
    within("budget, upper end", budget.high * 1e6, budget.low * 1e6, MOST_M * 1e6, "µm")?;
    Ok(budget.low)
}
