//! What looks unlike one original film: readings far off, films too thick or thin, two films on one
//! panel, a panel unlike the others of the vehicle.
//!
//! Flags are hints to look closer, never a proof of a repair.

use super::film::FilmSummary;
use super::gauge::{FilmPart, GaugeReading};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::random::Seed;
use crate::math::statistics::percentile;

/// Limits of the flags; the thickness limits are for the total film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlagSettings {
    /// Modified z-score beyond which a reading stands apart \[1\], 1 to 20. Default 3.5 (Iglewicz and
    /// Hoaglin, How to Detect and Handle Outliers, ASQC 1993).
    pub outlier_score: f64,
    /// Total film above which a respray is likely \[m\]. Default 180 µm: common practice, no source.
    pub respray_m: f64,
    /// Total film above which filler is likely \[m\]. Default 500 µm: common practice, no source.
    pub filler_m: f64,
    /// Total film below which much has been taken off before \[m\]. Default 80 µm: common practice, no
    /// source.
    pub thin_m: f64,
    /// Chance of calling one film two that the test for two films may take \[1\], 0.002 to 0.2. Default 0.01:
    /// assumed.
    pub two_films_level: f64,
}

impl Default for FlagSettings {
    fn default() -> Self {
        Self { outlier_score: 3.5, respray_m: 180e-6, filler_m: 500e-6, thin_m: 80e-6, two_films_level: 0.01 }
    }
}

impl FlagSettings {
    pub(super) fn check(&self) -> Result<(), RangeError> {
        within("outlier_score", self.outlier_score, 1.0, 20.0, "")?;
        within("respray_m", self.respray_m, 0.0, 5e-3, "m")?;
        within("filler_m", self.filler_m, 0.0, 5e-3, "m")?;
        within("thin_m", self.thin_m, 0.0, 5e-3, "m")?;
        within("two_films_level", self.two_films_level, 0.002, 0.2, "")?;
        Ok(())
    }
}

/// One hint that a film is not one original film; never a proof.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum FilmFlag {
    /// A reading apart from the others of its panel.
    Outlier {
        /// Place in the list of readings.
        reading: usize,
        /// Modified z-score, with its sign.
        score: f64,
    },
    /// A median total film as thick as after a respray.
    Respray {
        /// Median \[m\].
        median_m: f64,
    },
    /// A reading as thick as over filler.
    Filler {
        /// Place in the list of readings.
        reading: usize,
    },
    /// A median total film so thin that much went before.
    Thin {
        /// Median \[m\].
        median_m: f64,
    },
    /// Readings that fall into two groups: part of the panel resprayed, perhaps.
    TwoFilms {
        /// Mean of the thinner group \[m\].
        low_m: f64,
        /// Mean of the thicker group \[m\].
        high_m: f64,
        /// Chance that an even spread would look as split, from the seeded draws of the test.
        p_value: f64,
    },
    /// A panel whose median is apart from those of the other panels on the same substrate.
    ApartFromVehicle {
        /// Modified z-score of its median among the panels, with its sign.
        score: f64,
    },
}

impl FilmFlag {
    /// The hint in words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Outlier { score, .. } => {
                format!("one reading stands apart from its panel (modified z-score {score:.1})")
            }
            Self::Respray { median_m } => {
                format!("a median of {:.0} µm is thick for an original film: resprayed?", median_m * 1e6)
            }
            Self::Filler { .. } => "a reading as thick as over filler".to_owned(),
            Self::Thin { median_m } => {
                format!("a median of {:.0} µm is thin: much may have been taken off before", median_m * 1e6)
            }
            Self::TwoFilms { low_m, high_m, .. } => format!(
                "readings fall into two groups around {:.0} and {:.0} µm: part of the panel resprayed?",
                low_m * 1e6,
                high_m * 1e6
            ),
            Self::ApartFromVehicle { score } => {
                format!("the panel's film is unlike that of the other panels (modified z-score {score:.1})")
            }
        }
    }
}

/// Modified z-scores of values \[1\].
///
/// ```text
/// 0.6745 (x − median)/max(MAD, 0.6745 floor)      MAD median of |x − median|
/// ```
///
/// `floor`, in the unit of the values, keeps differences within the gauge's own scatter from standing out. All
/// scores are zero where MAD and floor are.
///
/// # Example
/// ```
/// // Median 3, distances 2, 1, 0, 1, 97 with median 1: the last stands off by 0.6745 × 97 = 65.4.
/// let scores = trochoid::budget::modified_scores(&[1.0, 2.0, 3.0, 4.0, 100.0], 0.0);
/// assert!((scores[4] - 65.4265).abs() < 1e-4 && scores[2].abs() < 1e-12);
/// ```
///
/// # References
/// Iglewicz and Hoaglin, How to Detect and Handle Outliers, ASQC 1993.
#[must_use]
pub fn modified_scores(values: &[f64], floor: f64) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let median = percentile(&sorted, 0.5);
    let mut off: Vec<f64> = values.iter().map(|v| (v - median).abs()).collect();
    off.sort_unstable_by(f64::total_cmp);
    let mad = percentile(&off, 0.5).max(0.6745 * floor);
    values.iter().map(|v| if mad > 0.0 { 0.6745 * (v - median) / mad } else { 0.0 }).collect()
}

pub(super) fn flags(
    readings: &[GaugeReading],
    films: &[FilmSummary],
    which: usize,
    settings: &FlagSettings,
) -> Vec<FilmFlag> {
    let film = &films[which];
    let values: Vec<f64> = film.readings.iter().map(|i| readings[*i].value().m()).collect();
    let mut out = Vec::new();
    if film.part == FilmPart::Total {
        if film.median_m > settings.respray_m {
            out.push(FilmFlag::Respray { median_m: film.median_m });
        } else if film.median_m < settings.thin_m {
            out.push(FilmFlag::Thin { median_m: film.median_m });
        }
        let thick = film.readings.iter().zip(&values).filter(|(_, v)| **v > settings.filler_m);
        out.extend(thick.map(|(i, _)| FilmFlag::Filler { reading: *i }));
    }
    // Below five readings a median and its deviations say nothing about the next reading.
    if values.len() >= 5 {
        let scores = modified_scores(&values, film.uncertainty_m);
        let apart = film.readings.iter().zip(scores).filter(|(_, s)| s.abs() > settings.outlier_score);
        out.extend(apart.map(|(i, score)| FilmFlag::Outlier { reading: *i, score }));
    }
    if let Some(test) = two_films(&values)
        && test.p_value <= settings.two_films_level
        && test.high_m - test.low_m > 2.0 * film.uncertainty_m
    {
        out.push(FilmFlag::TwoFilms { low_m: test.low_m, high_m: test.high_m, p_value: test.p_value });
    }
    let alike: Vec<_> = films
        .iter()
        .filter(|f| f.substrate == film.substrate && f.part == film.part && f.panel != film.panel)
        .collect();
    if alike.len() >= 3 {
        let mut medians: Vec<f64> = alike.iter().map(|f| f.median_m).collect();
        medians.push(film.median_m);
        // Panels of one vehicle differ by a few microns: not below the spread that one panel has.
        let floor = alike.iter().map(|f| f.reading_sd_m.unwrap_or(0.0)).fold(film.uncertainty_m, f64::max);
        if let Some(score) = modified_scores(&medians, floor).last().copied()
            && score.abs() > settings.outlier_score
        {
            out.push(FilmFlag::ApartFromVehicle { score });
        }
    }
    out
}

/// The best split of readings into two groups, and how often an even spread splits as well.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoFilmsTest {
    /// Mean of the thinner group \[m\].
    pub low_m: f64,
    /// Mean of the thicker group \[m\].
    pub high_m: f64,
    /// Share of the sum of squares that the split explains \[1\].
    pub between_share: f64,
    /// Chance of that share or more under an even spread \[1\], 0.001 at least.
    pub p_value: f64,
}

/// Draws of the test for two films.
const DRAWS: u64 = 999;
/// Readings that the test uses at most; of more, every k-th in the order given.
const MOST: usize = 1000;

/// Tests whether readings fall into two groups.
///
/// The statistic is the largest share of the sum of squares that lies between two groups, over all
/// splits of the sorted readings that leave a sixth of them, and three, on each side. Its chance is
/// taken from 999 seeded draws of an even (uniform) spread, the flattest spread with one hump, so that
/// a film that thickens steadily across a panel is not called two. `None` below eight readings or
/// where all are equal.
///
/// # Accuracy
/// A chance p is off by some √(p(1 − p)/999) from the draws; the seed is fixed, so the same readings give the same
/// chance. Of more than 1000 readings every k-th is used.
///
/// # Example
/// ```
/// // Four readings around 101.5 and four around 201.5 µm.
/// let values = [100.0, 101.0, 102.0, 103.0, 200.0, 201.0, 202.0, 203.0].map(|um| um * 1e-6);
/// let test = trochoid::budget::two_films(&values);
/// assert!(test.is_some_and(|t| (t.low_m - 101.5e-6).abs() < 1e-12 && (t.high_m - 201.5e-6).abs() < 1e-12));
/// // Between the groups 8 × 50² = 20 000 of 20 000 + 2 × 5 µm².
/// assert!(test.is_some_and(|t| (t.between_share - 20_000.0 / 20_010.0).abs() < 1e-9 && t.p_value < 0.01));
/// // An even spread is not two.
/// let even: Vec<f64> = (0..8).map(|i| 100e-6 + 1e-6 * f64::from(i)).collect();
/// assert!(trochoid::budget::two_films(&even).is_some_and(|t| t.p_value > 0.05));
/// ```
///
/// # References
/// Own test; the statistic is that of two-means clustering in one dimension.
#[must_use]
pub fn two_films(values: &[f64]) -> Option<TwoFilmsTest> {
    let stride = values.len().div_ceil(MOST).max(1);
    let mut sorted: Vec<f64> = values.iter().step_by(stride).copied().collect();
    sorted.sort_unstable_by(f64::total_cmp);
    let n = sorted.len();
    if n < 8 {
        return None;
    }
    let (between_share, split) = best_split(&sorted)?;
    let seed = Seed::new(0x0066_696c_6d73);
    let mut at_least = 0_u32;
    let mut draw = vec![0.0; n];
    for stream in 0..DRAWS {
        for (i, d) in draw.iter_mut().enumerate() {
            *d = seed.uniform(stream, i as u64);
        }
        draw.sort_unstable_by(f64::total_cmp);
        if best_split(&draw).is_some_and(|(share, _)| share >= between_share) {
            at_least += 1;
        }
    }
    let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
    Some(TwoFilmsTest {
        low_m: mean(&sorted[..split]),
        high_m: mean(&sorted[split..]),
        between_share,
        // The readings count as one more draw, so that the chance is never given as zero.
        p_value: f64::from(at_least + 1) / (DRAWS as f64 + 1.0),
    })
}

/// Largest between-group share and the size of the lower group.
fn best_split(sorted: &[f64]) -> Option<(f64, usize)> {
    let n = sorted.len();
    let mean = sorted.iter().sum::<f64>() / n as f64;
    let total: f64 = sorted.iter().map(|v| (v - mean) * (v - mean)).sum();
    if total <= 0.0 {
        return None;
    }
    let least = n.div_ceil(6).max(3);
    let mut low = 0.0;
    let mut best = (0.0, 0);
    for (i, v) in sorted.iter().enumerate() {
        low += v - mean;
        let k = i + 1;
        if k >= least && n - k >= least {
            // Deviations add up to zero, so the upper group's sum is −low.
            let between = low * low / k as f64 + low * low / (n - k) as f64;
            if between / total > best.0 {
                best = (between / total, k);
            }
        }
    }
    (best.1 > 0).then_some(best)
}
