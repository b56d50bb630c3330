//! Settings that a person can follow: feed, overlap and passes of a step.
//!
//! A hand leads the tool at one steady feed, keeps its lines apart by a share of the pad that the eye can
//! judge, and counts passes. So the search runs over those alone; changes of feed along a line are not
//! asked for. The feeds are those of common practice, 25 to 50 mm/s; it has no source.

use super::step::passes_a_round;
use crate::Error;
use crate::math::reduce::map_indexed;
use crate::math::statistics::Summary;
use crate::plan::{MOST_PASSES, StepTask, Working};
use crate::removal::panel_map;
use crate::spin::{StallSettings, spin_state};
use crate::units::{Length, Speed};

/// Feeds that a hand holds, mm/s: common practice, no source.
pub const HAND_FEEDS_MM_S: [f64; 6] = [25.0, 30.0, 35.0, 40.0, 45.0, 50.0];

/// Overlaps that the eye can judge, share of the pad's face, and in words.
pub const HAND_OVERLAPS: [(f64, &str); 5] =
    [(0.25, "a quarter"), (1.0 / 3.0, "a third"), (0.5, "half"), (2.0 / 3.0, "two thirds"), (0.75, "three quarters")];

/// Spread beyond the most even setting that still counts as even, share of the mean: below what a hand
/// adds of its own (assumed).
const AS_EVEN: f64 = 0.02;
/// Cut beyond the target that passes in whole numbers may bring, share of it (assumed).
const MORE_CUT: f64 = 0.25;
/// Share of the pad-on time stalled above which nothing is proposed: the pad marks the paint there.
const MOST_STALLED: f64 = 0.05;

/// One way to work a step by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct HandSetting {
    /// Feed.
    pub feed: Speed,
    /// Overlap of the lines, share of the pad's face \[1\].
    pub overlap: f64,
    /// The same in words.
    pub overlap_words: &'static str,
    /// Largest distance of the lines, m; where they are fitted to the panel they lie a little closer.
    pub spacing_m: f64,
    /// Passes; `None` where even [`MOST_PASSES`] do not reach the target.
    pub passes: Option<usize>,
    /// Mean cut after those passes, m.
    pub cut_m: Option<f64>,
    /// Spread of the cut over the worked area, standard deviation over mean \[1\].
    pub cv: Option<f64>,
    /// Time with the pad on, s.
    pub time_s: Option<f64>,
    /// Share of the pad-on time stalled \[1\].
    pub stalled_share: f64,
    /// Whether it is proposed: reaches the target without much more, is even, and the pad turns.
    pub fits: bool,
    /// Why it stands where it does.
    pub reason: String,
}

/// Settings for a hand, the best first.
#[derive(Debug, Clone, PartialEq)]
pub struct HandSearch {
    /// Ranked settings.
    pub settings: Vec<HandSetting>,
    /// Mean cut to reach, m.
    pub target_m: f64,
    /// Whether the step asked for that cut; else it is what the step as written leaves.
    pub target_given: bool,
}

/// One round of passes at one overlap: cut and time at the feed of the step.
struct Round {
    cut: Option<Summary>,
    time_s: f64,
    stalled_share: f64,
}

/// The work of one round of passes at an overlap.
fn round_of(task: &StepTask, overlap: f64, passes: usize, settings: &StallSettings) -> Result<Round, Error> {
    let mut task = task.clone();
    task.working = Working { overlap, ..task.working };
    task.passes = passes;
    let reach = task.setup.pad().radius() + task.setup.face_orbit().radius_m;
    task.cell = Length::from_m(task.cell.m().max(reach / 16.0));
    if let Some(on) = task.surface.clone() {
        let (path, _) = on.path(&task, passes, on.inset_of(&task, passes))?;
        let map = on.work(&task, &path, settings.useful_spin)?;
        let whole = map.statistics(|k| map.clearance[k] >= map.reach_m, |k| map.cut(k));
        let cut = whole.or_else(|| map.statistics(|_| true, |k| map.cut(k)));
        let time_s = map.stops.iter().map(|s| s.stop.time_s).sum();
        return Ok(Round { cut, time_s, stalled_share: map.stalled_share() });
    }
    let run = spin_state(&task.setup, task.setup.patch(), &settings.contact)?;
    let stalled = run.sticks || task.setup.stalls_at(run.spin, settings.useful_spin);
    let map = panel_map(&task.setup, &run, &task.panel, task.path(passes)?, task.cell.m())?;
    Ok(Round { cut: map.cut, time_s: map.path.time(), stalled_share: if stalled { 1.0 } else { 0.0 } })
}

/// Seeks settings for a hand: feed, overlap and passes that reach the cut of the step, evenly.
///
/// The lines of a step repeat after a round (one pass each way of a crosshatch, else one pass), so that cut
/// and time go with the rounds and the spread does not change with them; the cut goes with the slowness.
/// Ranked: settings that reach the target, pass it by no more than a quarter and are within two percentage
/// points of the most even one, the quickest first; then the less even; then those that cut too much; then
/// those that never reach it. A pad that stalls leaves nothing to propose.
///
/// # Accuracy
/// As [`panel_map`] on cells of a sixteenth of the pad's reach or the job's own; the sum of rounds against
/// all passes at once is held within 1 % of the cut in the tests.
///
/// # Errors
/// As [`panel_map`], [`spin_state`] and the paths; a step that cuts nothing inside its worked area.
///
/// # Example
/// With the step of the example of [`StepTask::new`], which asks for no cut of its own:
/// ```
/// use trochoid::plan::settings_for_hand;
/// # use trochoid::plan::{StepTask, Working};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let side = Length::from_mm(400.0);
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// let found = settings_for_hand(&task, &Default::default())?;
/// // The target is what its one pass at 40 mm/s and half overlap leaves: that setting needs one pass, with
/// // lines half a pad of 100 mm apart.
/// let own = |s: &&trochoid::plan::HandSetting| s.overlap_words == "half" && (s.feed.mm_s() - 40.0).abs() < 1e-9;
/// let own = found.settings.iter().find(own);
/// assert!(own.is_some_and(|s| s.passes == Some(1) && (s.spacing_m - 0.05).abs() < 1e-12));
/// # Ok(())
/// # }
/// ```
pub fn settings_for_hand(task: &StepTask, settings: &StallSettings) -> Result<HandSearch, Error> {
    let round = passes_a_round(task);
    let own = round_of(task, task.working.overlap, task.passes, settings)?;
    let target_given = task.target_cut.is_some();
    let target_m = task.target_cut.map_or_else(|| own.cut.map_or(0.0, |c| c.mean), Length::m);
    if own.cut.is_none() {
        return Err(super::DwellError::EmptyMask.into());
    }
    if !(target_m.is_finite() && target_m > 0.0) {
        return Err(super::DwellError::ZeroTarget.into());
    }
    let rounds = map_indexed(HAND_OVERLAPS.len(), |i| round_of(task, HAND_OVERLAPS[i].0, round, settings));
    let rounds = rounds.into_iter().collect::<Result<Vec<_>, Error>>()?;
    let mut out = Vec::new();
    for ((overlap, words), made) in HAND_OVERLAPS.iter().zip(&rounds) {
        for feed in HAND_FEEDS_MM_S.map(Speed::from_mm_s) {
            out.push(setting(task, (*overlap, words), feed, made, round, target_m));
        }
    }
    rank(&mut out, target_m);
    Ok(HandSearch { settings: out, target_m, target_given })
}

fn setting(
    task: &StepTask,
    (overlap, overlap_words): (f64, &'static str),
    feed: Speed,
    made: &Round,
    round: usize,
    target_m: f64,
) -> HandSetting {
    let slower = task.working.feed.m_s() / feed.m_s();
    let cut = made.cut.map(|c| c.mean * slower);
    let needed = cut.map_or(f64::INFINITY, |c| (target_m / c - 1e-9).ceil().max(1.0));
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 ≤ needed ≤ MOST_PASSES
    let rounds = (needed * round as f64 <= MOST_PASSES as f64).then_some(needed as usize);
    let times = rounds.map(|r| r as f64);
    HandSetting {
        feed,
        overlap,
        overlap_words,
        spacing_m: (1.0 - overlap) * task.setup.pad().diameter().m(),
        passes: rounds.map(|r| r * round),
        cut_m: times.and_then(|t| Some(t * cut?)),
        cv: made.cut.and_then(|c| c.cv()),
        time_s: times.map(|t| t * slower * made.time_s),
        stalled_share: made.stalled_share,
        fits: false,
        reason: String::new(),
    }
}

/// Puts the settings in their order and says why each stands where it does.
fn rank(all: &mut [HandSetting], target_m: f64) {
    let more = |s: &HandSetting| s.cut_m.map_or(f64::INFINITY, |c| c / target_m - 1.0);
    let good = |s: &HandSetting| s.stalled_share <= MOST_STALLED && more(s) <= MORE_CUT;
    let most_even = all.iter().filter(|s| good(s)).filter_map(|s| s.cv).fold(f64::INFINITY, f64::min);
    let even = |s: &HandSetting| s.cv.is_some_and(|cv| cv <= most_even + AS_EVEN);
    let group = |s: &HandSetting| -> u8 {
        if s.stalled_share > MOST_STALLED {
            4
        } else if s.passes.is_none() {
            3
        } else if more(s) > MORE_CUT {
            2
        } else {
            u8::from(!even(s))
        }
    };
    let key = |s: &HandSetting| -> (u8, f64, f64) {
        let (cv, time) = (s.cv.unwrap_or(f64::INFINITY), s.time_s.unwrap_or(f64::INFINITY));
        match group(s) {
            0 => (0, time, cv),
            1 => (1, cv, time),
            2 => (2, more(s), cv),
            g => (g, cv, s.feed.m_s()),
        }
    };
    all.sort_by(|a, b| {
        let (x, y) = (key(a), key(b));
        x.0.cmp(&y.0).then(x.1.total_cmp(&y.1)).then(x.2.total_cmp(&y.2))
    });
    let quickest = all.first().and_then(|s| s.time_s).unwrap_or(f64::NAN);
    for (i, s) in all.iter_mut().enumerate() {
        let cv = 100.0 * s.cv.unwrap_or(f64::NAN);
        s.fits = group(s) == 0;
        s.reason = match group(s) {
            0 if i == 0 => {
                format!("the quickest of those within {:.0} points of the most even", 100.0 * AS_EVEN)
            }
            0 => format!("as even; takes {:.0} % longer", 100.0 * (s.time_s.unwrap_or(f64::NAN) / quickest - 1.0)),
            1 => {
                format!("less even: lines {:.0} mm apart leave a spread of {cv:.1} %", Length::from_m(s.spacing_m).mm())
            }
            2 => format!("whole passes cut {:.0} % more than asked", 100.0 * more(s)),
            3 => format!("{MOST_PASSES} passes do not reach the cut"),
            _ => format!("the pad stalls for {:.0} % of the time: change the set-up first", 100.0 * s.stalled_share),
        };
    }
}
