//! How much may be cut at a stated confidence, and the chance of going over.

use crate::budget::{ClearCoat, Policy, exceedance};
use crate::error::RangeError;
use crate::math::distribution::LogNormal;
use crate::math::root::bracketed;
use crate::plan::PaintStep;
use crate::plan::paint::summed_cut;

/// Largest median cut \[m\] that stays within what `policy` allows on `clear` with probability
/// `confidence`, where the cut spreads by `ln_sd` (standard deviation of its logarithm).
///
/// # Accuracy
/// Brent's method on [`exceedance`], which rises with the cut: to 1e-4 of the result, from below, so that
/// the result itself keeps the confidence.
///
/// # Errors
/// A spread outside the range of the distribution.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::budget::{ClearCoat, Policy};
/// use trochoid::plan::vehicle::largest_cut;
/// // 8 µm may go of 45 µm known exactly; a cut that spreads by 0.3 keeps to it nine times in ten
/// // where its median is 8 µm / exp(1.2816 x 0.3) = 5.446 µm.
/// let clear = ClearCoat::stated(Length::from_um(45.0), Length::from_um(0.0))?;
/// let most = largest_cut(&clear, &Policy::default(), 0.3, 0.9)?;
/// assert!((most * 1e6 - 5.446).abs() < 2e-3);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn largest_cut(clear: &ClearCoat, policy: &Policy, ln_sd: f64, confidence: f64) -> Result<f64, RangeError> {
    let keeps_by = |median: f64| -> Result<f64, RangeError> {
        Ok(exceedance(&LogNormal::new(median, ln_sd)?, clear, policy).probability - (1.0 - confidence))
    };
    let keeps = |median: f64| keeps_by(median).map(|by| by <= 0.0);
    // Below a hundredth of a nanometre nothing is cut that anyone could mean.
    let (mut low, mut high): (f64, f64) = (1e-11, 1e-3);
    if !keeps(low)? {
        return Ok(0.0);
    }
    // Of the logarithm, to a fifth of what is promised; what does not quite keep it is taken back below.
    let over = |ln: f64| keeps_by(ln.exp()).unwrap_or(f64::NAN);
    if let Some(root) = bracketed(over, (low.ln(), over(low.ln())), (high.ln(), over(high.ln())), 2e-5) {
        for back in [0.0, 2e-5, 4e-5, 8e-5] {
            let median = (root.x - back).exp();
            if keeps(median)? {
                return Ok(median);
            }
        }
    }
    // Where the chance jumps rather than rises: halve the range.
    while high / low > 1.0001 {
        let middle = (low * high).sqrt();
        if keeps(middle)? {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(low)
}

/// Everything the steps take together \[m\]; `None` where they take nothing.
///
/// # Assumptions and valid range
/// Steps of one pairing share its removal coefficient, so that their cuts add up as they stand; those of
/// different pairings are independent, their sum is taken as log-normal with the right two moments.
///
/// # Errors
/// A spread outside the range of the distribution.
///
/// # Example
/// ```
/// use trochoid::plan::PaintStep;
/// use trochoid::plan::vehicle::total_cut;
/// let step = |cut_m: f64| PaintStep { name: "cut".to_owned(), cut_m, ln_sd: 0.3, pairing: 0, marks: None };
/// // One unknown coefficient: 2 µm and 3 µm are 5 µm, as uncertain as each of them.
/// let total = total_cut(&[step(2e-6), step(3e-6)])?;
/// assert!(total.is_some_and(|t| (t.median() - 5e-6).abs() < 1e-15));
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// L. F. Fenton, IRE Transactions on Communications Systems 8 (1960), sums of log-normal distributions (from
/// memory).
pub fn total_cut(steps: &[PaintStep]) -> Result<Option<LogNormal>, RangeError> {
    summed_cut(steps)
}

/// Probability that the steps together take more than may go \[1\].
///
/// # Errors
/// As [`total_cut`].
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::budget::{ClearCoat, Policy};
/// use trochoid::plan::PaintStep;
/// use trochoid::plan::vehicle::over_probability;
/// let step = |cut_m: f64| PaintStep { name: "cut".to_owned(), cut_m, ln_sd: 0.3, pairing: 0, marks: None };
/// // Of 45 µm known exactly 8 may go (a quarter, at most 8): half of all cuts with a median of 8 µm take more.
/// let clear = ClearCoat::stated(Length::from_um(45.0), Length::from_um(0.0))?;
/// let over = over_probability(&[step(8e-6)], &clear, &Policy::default())?;
/// assert!((over - 0.5).abs() < 1e-3);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn over_probability(steps: &[PaintStep], clear: &ClearCoat, policy: &Policy) -> Result<f64, RangeError> {
    Ok(total_cut(steps)?.map_or(0.0, |cut| exceedance(&cut, clear, policy).probability))
}
