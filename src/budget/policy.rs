//! How much of the clear coat may go, and how many jobs of a size that is.
//!
//! The rules of the trade disagree (a quarter of the clear, a cap of some 8 µm, under a third), so the
//! policy is an input, and every answer carries its caution. A spent budget is a result.

use super::error::BudgetError;
use super::exceed::exceedance;
use super::film::FilmSummary;
use super::gauge::FilmPart;
use super::interval::{Interval, checked_level, microns};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::distribution::{LogNormal, normal_half_width};
use crate::units::Length;

/// Printed with every allowed removal.
pub const CAUTION: &str = "The allowed removal follows a rule of the trade, not a standard: ask the paint maker where a warranty \
     or a repair depends on it. Ultraviolet protection sits in the clear coat and is not even through it; film taken \
     off does not come back; edges, body lines and earlier repairs are thinner than a reading beside them.";

/// Added where the clear coat was not measured by itself.
pub const SHARE_CAUTION: &str = "The clear coat was not measured: its share of the total film is an assumption (common practice, no source). \
     On a repaired panel it is wrong; an ultrasonic gauge that tells layers apart measures it.";

/// Share of the total film that is clear coat.
///
/// # Example
/// ```
/// // 0.25 to 0.50 nine times in ten: 0.375 ± 0.125/1.6449 = 0.0760.
/// let share = trochoid::budget::ClearShare::between(0.25, 0.50)?;
/// assert!((share.mean() - 0.375).abs() < 1e-12 && (share.sd() - 0.0760).abs() < 1e-4);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClearShare {
    mean: f64,
    sd: f64,
}

impl Default for ClearShare {
    /// 0.375, nine times in ten between 0.25 and 0.50: a clear of 30 to 60 µm in a total of 100 to
    /// 140 µm, both common practice without a source.
    fn default() -> Self {
        Self { mean: 0.375, sd: 0.125 / 1.645 }
    }
}

impl ClearShare {
    /// A share with the range that holds it nine times in ten.
    ///
    /// # Errors
    /// Ends outside 0.02 to 0.98, or not in order.
    pub fn between(low: f64, high: f64) -> Result<Self, RangeError> {
        within("clear_share_low", low, 0.02, 0.98, "")?;
        within("clear_share_high", high, low, 0.98, "")?;
        Ok(Self { mean: 0.5 * (low + high), sd: 0.5 * (high - low) / normal_half_width(0.9) })
    }

    /// Mean share \[1\].
    #[must_use]
    pub const fn mean(&self) -> f64 {
        self.mean
    }

    /// Standard deviation of what is believed of it \[1\].
    #[must_use]
    pub const fn sd(&self) -> f64 {
        self.sd
    }
}

/// Where the thickness of the clear coat comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClearSource {
    /// A gauge that tells layers apart.
    Measured,
    /// Told by somebody.
    Stated,
    /// A share of the total film.
    ShareOfTotal,
}

/// Which film the budget must hold for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FilmBasis {
    /// Any place of the panel: paint burns through where it is thin.
    #[default]
    Anywhere,
    /// The panel's mean.
    Mean,
}

/// What is believed of the clear coat: a normal distribution, of which what lies below zero counts as
/// no clear coat at all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClearCoat {
    mean_m: f64,
    sd_m: f64,
    source: ClearSource,
}

impl ClearCoat {
    /// A clear coat of stated thickness and standard deviation.
    ///
    /// # Errors
    /// A thickness outside 0 to 1000 µm, a standard deviation outside 0 to 500 µm.
    pub fn stated(thickness: Length, sd: Length) -> Result<Self, RangeError> {
        microns("clear_um", thickness, 0.0, 1000.0)?;
        microns("clear_sd_um", sd, 0.0, 500.0)?;
        Ok(Self { mean_m: thickness.m(), sd_m: sd.m(), source: ClearSource::Stated })
    }

    /// The clear coat of a panel whose film was read: as it is where the clear was read by itself,
    /// otherwise `share` of the total.
    ///
    /// ```text
    /// mean = m_s m_t,  variance = m_s² v_t + m_t² v_s + v_s v_t     share s and total t independent
    /// ```
    ///
    /// # Errors
    /// A film summary of another layer.
    ///
    /// # Example
    /// ```
    /// use trochoid::Length;
    /// use trochoid::budget::{ClearCoat, ClearShare, FilmBasis, FilmSettings, GaugeKind, GaugeReading, film_summaries};
    /// use trochoid::equipment::Substrate;
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let um = Length::from_um;
    /// let reading = GaugeReading::new("bonnet", um(120.0), GaugeKind::Magnetic, um(2.0), Substrate::Steel)?;
    /// let film = film_summaries(&[reading], &FilmSettings::default())?.remove(0);
    /// // Three eighths of 120 µm; the share's own ±0.076 alone is worth 9.1 µm.
    /// let clear = ClearCoat::of_film(&film, ClearShare::default(), FilmBasis::Mean)?;
    /// assert!((clear.mean_m() - 45e-6).abs() < 1e-12 && clear.sd_m() > 9.1e-6);
    /// # Ok(())
    /// # }
    /// ```
    pub fn of_film(film: &FilmSummary, share: ClearShare, basis: FilmBasis) -> Result<Self, BudgetError> {
        let sd = match basis {
            FilmBasis::Anywhere => film.anywhere_sd_m,
            FilmBasis::Mean => film.mean_sd_m,
        };
        let mean = film.mean.best;
        match film.part {
            FilmPart::Clear => Ok(Self { mean_m: mean, sd_m: sd, source: ClearSource::Measured }),
            FilmPart::Total => Ok(Self {
                mean_m: share.mean * mean,
                sd_m: (share.mean * sd).hypot(mean * share.sd).hypot(share.sd * sd),
                source: ClearSource::ShareOfTotal,
            }),
            part => Err(BudgetError::Name { what: "film part for the clear coat", value: part.word().to_owned() }),
        }
    }

    /// Mean \[m\].
    #[must_use]
    pub const fn mean_m(&self) -> f64 {
        self.mean_m
    }

    /// Standard deviation \[m\].
    #[must_use]
    pub const fn sd_m(&self) -> f64 {
        self.sd_m
    }

    /// Where it comes from.
    #[must_use]
    pub const fn source(&self) -> ClearSource {
        self.source
    }

    /// Interval of the thickness \[m\]; a lower end below zero is given as zero.
    ///
    /// # Errors
    /// A level outside 0.5 to 0.999.
    pub fn interval(&self, level: f64) -> Result<Interval, RangeError> {
        let half = normal_half_width(checked_level(level)?) * self.sd_m;
        Ok(Interval { low: (self.mean_m - half).max(0.0), best: self.mean_m, high: self.mean_m + half, level })
    }
}

/// Which limit of the policy is the smallest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Binding {
    /// The share of the clear coat.
    Share,
    /// The cap.
    Cap,
    /// What must be left.
    Floor,
}

/// How much may go: the smallest of a share of the clear coat (0 to 1), a cap (0 to 1000 µm or none), and what
/// lies above a floor (0 to 1000 µm).
///
/// Advice, never a guarantee: [`CAUTION`] is printed with it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Policy {
    share: f64,
    cap_m: f64,
    floor_m: f64,
}

impl Policy {
    /// Usual share of the clear coat that may go: common practice, no source.
    pub(crate) const USUAL_SHARE: f64 = 0.25;
    /// Usual cap \[µm\]: common practice, no source.
    pub(crate) const USUAL_CAP_UM: f64 = 8.0;
}

impl Default for Policy {
    /// A quarter of the clear coat, at most 8 µm, no floor: common practice, no source.
    fn default() -> Self {
        Self { share: Self::USUAL_SHARE, cap_m: Length::from_um(Self::USUAL_CAP_UM).m(), floor_m: 0.0 }
    }
}

/// What a policy allows on a clear coat.
#[derive(Debug, Clone, PartialEq)]
pub struct Allowance {
    /// Allowed removal \[m\], at the median clear coat, with its interval.
    pub allowed: Interval,
    /// The limit that binds at the median.
    pub binding: Binding,
    /// Whether nothing may go at the median.
    pub spent: bool,
    /// Probability that nothing may go \[1\].
    pub spent_probability: f64,
    /// What must be read with it.
    pub cautions: Vec<&'static str>,
}

impl Policy {
    /// A policy; `None` leaves a limit out (the share is always needed).
    ///
    /// # Errors
    /// A share outside 0 to 1, a cap outside 0 to 1000 µm, a floor outside 0 to 1000 µm.
    pub fn new(share: f64, cap: Option<Length>, floor: Option<Length>) -> Result<Self, RangeError> {
        within("budget_share", share, 0.0, 1.0, "")?;
        let cap = cap.map(|c| microns("budget_cap_um", c, 0.0, 1000.0)).transpose()?;
        let floor = floor.map(|f| microns("clear_left_um", f, 0.0, 1000.0)).transpose()?;
        Ok(Self { share, cap_m: cap.unwrap_or(f64::INFINITY), floor_m: floor.unwrap_or(0.0) })
    }

    /// Share of the clear coat \[1\].
    #[must_use]
    pub const fn share(&self) -> f64 {
        self.share
    }

    /// Cap \[m\]; infinite where there is none.
    #[must_use]
    pub const fn cap_m(&self) -> f64 {
        self.cap_m
    }

    /// Clear coat that must be left \[m\]; zero where there is no floor.
    #[must_use]
    pub const fn floor_m(&self) -> f64 {
        self.floor_m
    }

    /// Allowed removal on a clear coat of `clear_m` \[m\], and the limit that binds; never below zero.
    ///
    /// # Example
    /// ```
    /// use trochoid::budget::{Binding, Policy};
    /// let (allowed, binding) = Policy::default().allows(30e-6);
    /// assert!((allowed - 7.5e-6).abs() < 1e-18); // a quarter of 30 µm
    /// assert_eq!(binding, Binding::Share);
    /// ```
    #[must_use]
    pub fn allows(&self, clear_m: f64) -> (f64, Binding) {
        let mut best = (self.share * clear_m.max(0.0), Binding::Share);
        if self.cap_m < best.0 {
            best = (self.cap_m, Binding::Cap);
        }
        if clear_m - self.floor_m < best.0 {
            best = ((clear_m - self.floor_m).max(0.0), Binding::Floor);
        }
        best
    }

    /// Thinnest clear coat on which `removal_m` is allowed \[m\]; infinite where none is.
    ///
    /// # Example
    /// ```
    /// use trochoid::budget::Policy;
    /// // A quarter: 7.5 µm need 30 µm of clear. More than the cap of 8 µm is allowed on none.
    /// assert!((Policy::default().needs(7.5e-6) - 30e-6).abs() < 1e-15);
    /// assert!(Policy::default().needs(8.5e-6).is_infinite());
    /// ```
    #[must_use]
    pub fn needs(&self, removal_m: f64) -> f64 {
        if removal_m <= 0.0 {
            return self.floor_m;
        }
        if removal_m > self.cap_m || self.share <= 0.0 {
            return f64::INFINITY;
        }
        (removal_m / self.share).max(removal_m + self.floor_m)
    }

    /// What may go on a clear coat that is known with an interval only.
    ///
    /// The allowed removal never falls as the clear coat grows, so the ends of its interval are those of
    /// the clear coat, exactly.
    ///
    /// # Errors
    /// A level outside 0.5 to 0.999.
    ///
    /// # Example
    /// ```
    /// use trochoid::{Length, budget::{Binding, ClearCoat, Policy}};
    /// // 45 ± 12 µm, nine times in ten 25.3 to 64.7: a quarter of the thin end is 6.3 µm, the cap of 8 µm holds above 32.
    /// let clear = ClearCoat::stated(Length::from_um(45.0), Length::from_um(12.0))?;
    /// let found = Policy::default().allowance(&clear, 0.9)?;
    /// assert!((found.allowed.low - 6.316e-6).abs() < 1e-9 && (found.allowed.high - 8e-6).abs() < 1e-15);
    /// assert!(found.binding == Binding::Cap && !found.spent && !found.cautions.is_empty());
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn allowance(&self, clear: &ClearCoat, level: f64) -> Result<Allowance, RangeError> {
        let film = clear.interval(level)?;
        let (best, binding) = self.allows(film.best);
        let allowed = Interval { low: self.allows(film.low).0, best, high: self.allows(film.high).0, level };
        let mut cautions = vec![CAUTION];
        if clear.source() == ClearSource::ShareOfTotal {
            cautions.push(SHARE_CAUTION);
        }
        let nothing = if self.share <= 0.0 || self.cap_m <= 0.0 {
            1.0
        } else if clear.sd_m() > 0.0 {
            crate::math::distribution::normal_cdf((self.floor_m - clear.mean_m()) / clear.sd_m())
        } else if clear.mean_m() <= self.floor_m {
            1.0
        } else {
            0.0
        };
        Ok(Allowance { allowed, binding, spent: best <= 0.0, spent_probability: nothing, cautions })
    }
}

/// Most jobs that are counted.
pub const MOST_CORRECTIONS: u32 = 1000;

/// How many more jobs of one size fit into the allowed removal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CorrectionsLeft {
    /// Jobs that fit with the upper probability of the interval.
    pub low: u32,
    /// Jobs that fit more likely than not.
    pub best: u32,
    /// Jobs that fit with the lower probability of the interval.
    pub high: u32,
}

impl CorrectionsLeft {
    /// Whether no further job fits, more likely than not.
    #[must_use]
    pub const fn spent(&self) -> bool {
        self.best == 0
    }

    /// The counts as a sentence; see the example of [`corrections_left`].
    #[must_use]
    pub fn words(&self) -> String {
        match (self.low, self.best, self.high) {
            (_, 0, 0) => "the budget is spent: not one more job of this size fits".to_owned(),
            (_, 0, high) => {
                format!("the budget is as good as spent: none to {high} more jobs of this size fit, none likely")
            }
            (low, best, high) if low == high => format!("{best} more jobs of this size fit"),
            (low, best, high) => format!("{low} to {high} more jobs of this size fit, {best} likely"),
        }
    }
}

/// Counts the jobs of cut `cut` that fit into what `policy` allows on `clear`.
///
/// n jobs fit with the probability that n times the cut stays within the allowed removal, the cut being
/// the same unknown number in each job (it is mostly the removal coefficient that is unknown, and that
/// is the same next time). `low`, `best` and `high` are the largest n that fit with probability
/// (1 + level)/2, 1/2 and (1 − level)/2; at most [`MOST_CORRECTIONS`]. The policy is applied to the
/// clear coat as it is now, once.
///
/// # Accuracy
/// Each count is exact for the probabilities of [`exceedance`], of which it takes about ten.
///
/// # Errors
/// A level outside 0.5 to 0.999.
///
/// # Example
/// ```
/// use trochoid::{Length, budget::{ClearCoat, Policy, corrections_left}, math::distribution::LogNormal};
/// // 8 µm allowed on 45 µm known exactly, 1.9 µm a job to 2 %: four take 7.6 µm, a fifth would be 9.5.
/// let clear = ClearCoat::stated(Length::from_um(45.0), Length::from_um(0.0))?;
/// let left = corrections_left(&LogNormal::new(1.9e-6, 0.02)?, &clear, &Policy::default(), 0.9)?;
/// assert_eq!((left.low, left.best, left.high), (4, 4, 4));
/// assert_eq!(left.words(), "4 more jobs of this size fit");
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn corrections_left(
    cut: &LogNormal,
    clear: &ClearCoat,
    policy: &Policy,
    level: f64,
) -> Result<CorrectionsLeft, RangeError> {
    checked_level(level)?;
    let fits = |n: u32| -> Result<f64, RangeError> {
        Ok(1.0 - exceedance(&cut.scaled(f64::from(n))?, clear, policy).probability)
    };
    let largest = |wanted: f64| -> Result<u32, RangeError> {
        let (mut low, mut high) = (0, MOST_CORRECTIONS + 1);
        while high - low > 1 {
            let middle = u32::midpoint(low, high);
            if fits(middle)? >= wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(low)
    };
    Ok(CorrectionsLeft { low: largest(0.5 + 0.5 * level)?, best: largest(0.5)?, high: largest(0.5 - 0.5 * level)? })
}
