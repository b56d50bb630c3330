//! The table `[hand]`: how far the hand scatters that works the steps.
//!
//! Without the table nothing is told of a hand that varies, and no default of it is listed.

use super::equipment::Notes;
use super::keys::HAND;
use super::problem::Problem;
use super::reader::Table;
use crate::plan::{HandScatter, VariabilitySettings};
use crate::units::{Angle, Time};

/// A hand that varies, and how many trials it is followed over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandSettings {
    /// How far it scatters.
    pub scatter: HandScatter,
    /// Trials, 10 to 10 000; 500 where none are asked for.
    pub replicates: usize,
    /// Seed of the draws; 1 where none is given.
    pub seed: u64,
}

/// Trials where none are asked for.
pub(super) const REPLICATES: usize = 500;
/// Seed where none is given.
pub(super) const SEED: u64 = 1;

/// Reads `[hand]`; `None` where the job has none.
pub(super) fn hand(root: &Table<'_>, notes: &mut Notes) -> Result<Option<HandSettings>, Problem> {
    let Some(t) = root.table("hand", &HAND)? else { return Ok(None) };
    let number = |key: &'static str, default: f64| -> Result<f64, Problem> { Ok(t.number(key)?.unwrap_or(default)) };
    let scatter = t.ranged(HandScatter::steady().with_feed(number("feed_rel_sd", HandScatter::FEED_REL_SD)?))?;
    let scatter = t.ranged(scatter.with_force(number("force_rel_sd", HandScatter::FORCE_REL_SD)?))?;
    let tilt = number("tilt_sd_deg", HandScatter::TILT_SD_DEG)?;
    let scatter = t.ranged(scatter.with_tilt(Angle::from_deg(tilt)))?;
    let scatter = t.ranged(scatter.with_spacing(number("spacing_rel_sd", HandScatter::SPACING_REL_SD)?))?;
    let scatter = t.ranged(scatter.with_rate(number("rate_rel_sd", HandScatter::RATE_REL_SD)?))?;
    let time = number("correlation_s", HandScatter::CORRELATION_S)?;
    let scatter = t.ranged(scatter.with_correlation(Time::from_s(time)))?;
    let scatter = t.ranged(scatter.with_panel_share(number("panel_share", HandScatter::PANEL_SHARE)?))?;
    let replicates = if t.has("replicates") { t.need_whole("replicates", 10, 10_000)? } else { REPLICATES };
    let seed = if t.has("seed") { t.need_whole("seed", 0, u32::MAX)? as u64 } else { SEED };
    t.report(&mut notes.resolved, &[]);
    Ok(Some(HandSettings { scatter, replicates, seed }))
}

impl HandSettings {
    /// The numerical knobs of its trials. Each comparison (a steadier hand, one habit alone) gets a fifth of
    /// the trials, 20 at least and 200 at most.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::HandSettings;
    /// use trochoid::plan::HandScatter;
    /// let hand = HandSettings { scatter: HandScatter::steady(), replicates: 500, seed: 1 };
    /// assert_eq!(hand.trials().comparisons, 100);
    /// ```
    #[must_use]
    pub fn trials(&self) -> VariabilitySettings {
        let comparisons = (self.replicates / 5).clamp(20, 200);
        VariabilitySettings {
            replicates: self.replicates,
            comparisons,
            seed: self.seed,
            ..VariabilitySettings::default()
        }
    }
}
