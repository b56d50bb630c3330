//! Many trials together: percentile maps, the chance of going over, what steadiness buys, which habit
//! matters most.

use super::habit::{Habit, HandScatter};
use super::response::ResponseError;
use super::trial::{HandTrials, Source, Trial};
use crate::Error;
use crate::contact::ContactSettings;
use crate::error::RangeError;
use crate::math::reduce::map_indexed;
use crate::math::statistics::{Summary, percentile};
use crate::plan::StepTask;
use crate::removal::{FieldError, Grid, MAX_VISITS};
use crate::spin::SpinState;
use crate::units::AngularRate;

/// Numerical knobs of the trials.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VariabilitySettings {
    /// Trials, 10 to 10 000; default 500.
    pub replicates: usize,
    /// Trials of every comparison (a steadier hand, one habit alone), 10 to 10 000; default 100.
    pub comparisons: usize,
    /// Seed; any number will do; default 1.
    pub seed: u64,
    /// Most cells of the maps, 16 to 100 000, default 2500: the cut is smooth over a pad, and every trial keeps its
    /// own map.
    pub most_cells: usize,
    /// Pieces of the path in a correlation length \[1\], 1 to 100; default 4.
    pub pieces_per_length: f64,
    /// Spin below which a pad counts as stalled; default 60 rpm.
    pub useful_spin: AngularRate,
    /// Settings of the contact.
    pub contact: ContactSettings,
}

impl Default for VariabilitySettings {
    fn default() -> Self {
        Self {
            replicates: 500,
            comparisons: 100,
            seed: 1,
            most_cells: 2500,
            pieces_per_length: 4.0,
            useful_spin: AngularRate::from_rpm(crate::equipment::defaults::USEFUL_SPIN_RPM),
            contact: ContactSettings::default(),
        }
    }
}

/// Most numbers that the maps of all trials may hold together: 256 MiB.
const MOST_NUMBERS: f64 = 33_554_432.0;

impl VariabilitySettings {
    pub(super) fn check(&self) -> Result<(), RangeError> {
        for (what, n) in [("replicates", self.replicates), ("comparisons", self.comparisons)] {
            crate::equipment::within(what, n as f64, 10.0, 10_000.0, "")?;
        }
        crate::equipment::within("most_cells", self.most_cells as f64, 16.0, 100_000.0, "")?;
        crate::equipment::within("pieces_per_length", self.pieces_per_length, 1.0, 100.0, "")?;
        Ok(())
    }
}

/// How one number spreads over the trials.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Mean, spread and percentiles over the trials.
    pub over: Summary,
    /// Standard error of the mean, sd/√n \[the unit of `over`\].
    pub standard_error: f64,
}

impl Spread {
    fn of(values: &[f64]) -> Option<Self> {
        let over = Summary::of(values)?;
        Some(Self { over, standard_error: over.sd / (over.count as f64).sqrt() })
    }
}

/// What many panels worked by one hand have in common, inside the worked mask.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ensemble {
    /// Mean cut of a panel, m.
    pub mean: Spread,
    /// Unevenness within a panel: standard deviation over mean of its cells.
    pub cv: Spread,
    /// How far the cut at a place strays from panel to panel \[1\]: RMS over the places of its standard
    /// deviation, over the mean cut.
    pub local_rel_sd: f64,
    /// Chance that the cut at the worst place is more than may go, where that is known \[1\].
    pub over_anywhere: Option<f64>,
}

/// What a steadier hand gets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steadier {
    /// What every scatter was multiplied by \[1\].
    pub factor: f64,
    /// The hand as it is, over the same trials.
    pub now: Ensemble,
    /// The steadier hand.
    pub steadier: Ensemble,
}

/// What one habit does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HabitShare {
    /// The habit.
    pub habit: Habit,
    /// Everything else perfectly steady.
    pub alone: Ensemble,
    /// First-order share of the variance of the cut at a place, summed over the places \[1\] (Sobol index by
    /// common draws: I. M. Sobol, Math. Comput. Simul. 55 (2001) 271; estimator of A. Janon et al., ESAIM
    /// Probab. Stat. 18 (2014) 342; from memory). Known to about 1/√(comparisons x the few places that stray
    /// apart): 0.03 to 0.06 at a hundred comparisons; a small share can come out below zero.
    pub first_order_share: f64,
}

/// The chance of taking more than may go.
#[derive(Debug, Clone, PartialEq)]
pub struct Beyond {
    /// What may go at each cell \[m\].
    pub allowed: Vec<f64>,
    /// Share of the trials in which the cell is beyond it \[1\].
    pub at_cell: Vec<f64>,
    /// Share of the trials in which any cell of the panel is \[1\].
    pub anywhere: f64,
    /// Standard error of that share \[1\].
    pub standard_error: f64,
}

/// The outcome of a step worked by a hand that varies.
#[derive(Debug, Clone, PartialEq)]
pub struct HandVariability {
    /// The hand.
    pub hand: HandScatter,
    /// Trials.
    pub replicates: usize,
    /// Seed.
    pub seed: u64,
    /// Grid of the maps.
    pub grid: Grid,
    /// Cut of a perfectly steady hand \[m\], row by row.
    pub planned: Vec<f64>,
    /// 5th percentile of the cut at each cell \[m\].
    pub p5: Vec<f64>,
    /// Median \[m\].
    pub p50: Vec<f64>,
    /// 95th percentile \[m\].
    pub p95: Vec<f64>,
    /// The chance of going over, where it is known what may go.
    pub beyond: Option<Beyond>,
    /// Mean, unevenness and local spread.
    pub ensemble: Ensemble,
    /// Whether they hold for the worked mask; else for the whole panel, as the pad leaves no mask.
    pub masked: bool,
    /// What half the scatter would change.
    pub steadier: Steadier,
    /// What each habit that scatters does, the largest first.
    pub habits: Vec<HabitShare>,
    /// Share of the time below the useful minimum of the spin, mean over the trials \[1\].
    pub stalled_share: f64,
    /// Share of the settings beyond the tables or where the pad bottoms out \[1\].
    pub beyond_share: f64,
    /// How far the tables of the response are off.
    pub response_error: ResponseError,
}

struct Cells {
    inside: Vec<usize>,
    allowed: Option<Vec<f64>>,
}

impl Cells {
    fn ensemble(&self, trials: &[Trial]) -> Option<Ensemble> {
        let n = trials.len() as f64;
        let stats: Vec<Summary> = trials
            .iter()
            .filter_map(|t| Summary::of(&self.inside.iter().map(|c| t.cut[*c]).collect::<Vec<_>>()))
            .collect();
        let means: Vec<f64> = stats.iter().map(|s| s.mean).collect();
        let cvs: Vec<f64> = stats.iter().filter_map(Summary::cv).collect();
        let mean = Spread::of(&means)?;
        let variance: f64 = self
            .inside
            .iter()
            .map(|c| {
                let m = trials.iter().map(|t| t.cut[*c]).sum::<f64>() / n;
                trials.iter().map(|t| (t.cut[*c] - m) * (t.cut[*c] - m)).sum::<f64>() / n
            })
            .sum::<f64>()
            / self.inside.len() as f64;
        Some(Ensemble {
            mean,
            cv: Spread::of(&cvs)?,
            local_rel_sd: variance.sqrt() / mean.over.mean,
            over_anywhere: self.allowed.as_ref().map(|allowed| {
                trials.iter().filter(|t| t.cut.iter().zip(allowed).any(|(c, a)| c > a)).count() as f64 / n
            }),
        })
    }
}

/// Σ over the places of the covariance of two runs that share one habit, over Σ of the variance.
fn first_order_share(inside: &[usize], a: &[Trial], c: &[Trial]) -> f64 {
    let n = a.len().min(c.len()) as f64;
    let (mut shared, mut whole) = (0.0, 0.0);
    for cell in inside {
        let pairs = || a.iter().zip(c).map(|(a, c)| (a.cut[*cell], c.cut[*cell]));
        let mean = pairs().map(|(x, y)| 0.5 * (x + y)).sum::<f64>() / n;
        shared += pairs().map(|(x, y)| (x - mean) * (y - mean)).sum::<f64>() / n;
        whole += pairs().map(|(x, y)| 0.5 * ((x - mean) * (x - mean) + (y - mean) * (y - mean))).sum::<f64>() / n;
    }
    if whole > 0.0 { shared / whole } else { 0.0 }
}

/// Works a step's panel many times with a hand that varies.
///
/// `state` is the step's state at its set-points, `passes` the number worked, `allowed` what may go at a
/// place \[m\], where that is known. `None` where nothing is cut: the face sticks.
///
/// # Assumptions and valid range
/// Rectangles of constant curvature. The removal coefficient is taken as it is: its own spread comes on
/// top. The spin follows the force at once. A self-aligning pad does not feel the hand's tilt.
///
/// # Accuracy
/// Tables of the response: [`HandVariability::response_error`]. Trials: the standard errors beside the
/// means; a percentile of n trials has a relative standard error of about 2/√n of the spread at 5 and
/// 95 %. The same bits for any number of threads.
///
/// # Errors
/// As [`HandTrials::new`]; settings outside their ranges; maps of all trials above 256 MiB; more than
/// [`MAX_VISITS`] pairs of cell and piece.
///
/// # Example
/// With the step of the example of [`StepTask::new`]:
/// ```
/// use trochoid::plan::{HandScatter, VariabilitySettings, hand_variability};
/// use trochoid::spin::spin_state;
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
/// let state = spin_state(&task.setup, task.setup.patch(), &Default::default())?;
/// let settings = VariabilitySettings { replicates: 10, comparisons: 10, most_cells: 100, ..Default::default() };
/// let steady = hand_variability(&task, &state, 1, &HandScatter::steady(), None, &settings)?;
/// // A hand that never strays leaves what was planned, every time: lines 50 mm apart at 40 mm/s cut 1.15 µm.
/// assert!(steady.is_some_and(|s| {
///     let mean = s.ensemble.mean.over;
///     s.p5 == s.p95 && mean.sd < 1e-15 && (mean.mean * 1e6 - 1.15).abs() < 0.06
/// }));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own model, see `notebooks-free-docs/theory-hand.md`; the process is that of Uhlenbeck and Ornstein, Phys. Rev.
/// 36 (1930) 823-841, drawn exactly as by Gillespie, Phys. Rev. E 54 (1996) 2084-2091 (both from memory).
pub fn hand_variability(
    task: &StepTask,
    state: &SpinState,
    passes: usize,
    hand: &HandScatter,
    allowed: Option<&dyn Fn((f64, f64)) -> f64>,
    settings: &VariabilitySettings,
) -> Result<Option<HandVariability>, Error> {
    let Some(trials) = HandTrials::new(task, state, passes, hand, settings)? else { return Ok(None) };
    let grid = *trials.grid();
    let (nx, ny) = grid.count();
    let habits: Vec<Habit> = Habit::ALL.into_iter().filter(|h| hand.sd(*h) > 0.0).collect();
    let runs = settings.replicates + (2 + 2 * habits.len()) * settings.comparisons;
    crate::equipment::within(
        "cells x replicates",
        (nx * ny) as f64 * settings.replicates.max(3 * settings.comparisons) as f64,
        0.0,
        MOST_NUMBERS,
        "",
    )?;
    let visits = trials.visits() * runs as f64;
    if visits > MAX_VISITS {
        return Err(FieldError::TooMuchWork { visits }.into());
    }
    let (inside, masked) = trials.worked_cells();
    let places = (0..nx * ny).map(|c| grid.centre(c % nx, c / nx));
    let cells = Cells { inside, allowed: allowed.map(|at| places.map(at).collect()) };
    let run = |hand: &HandScatter, count: usize, source: &(dyn Fn(u64) -> Source + Sync)| {
        map_indexed(count, |i| trials.trial_of(hand, &source(i as u64)))
    };
    let main = run(hand, settings.replicates, &|i| [i; 5]);
    let sorted = map_indexed(nx * ny, |c| {
        let mut values: Vec<f64> = main.iter().map(|t| t.cut[c]).collect();
        values.sort_unstable_by(f64::total_cmp);
        let over = cells.allowed.as_ref().map(|a| values.iter().filter(|v| **v > a[c]).count());
        ([0.05, 0.5, 0.95].map(|share| percentile(&values, share)), over)
    });
    let n = settings.replicates as f64;
    let none = || RangeError::new("cut of the trials", f64::NAN, "m", "a positive number");
    let ensemble = cells.ensemble(&main).ok_or_else(none)?;
    let beyond = cells.allowed.clone().map(|allowed| {
        let anywhere = ensemble.over_anywhere.unwrap_or(0.0);
        Beyond {
            allowed,
            at_cell: sorted.iter().map(|(_, over)| over.unwrap_or(0) as f64 / n).collect(),
            anywhere,
            standard_error: (anywhere * (1.0 - anywhere) / n).sqrt(),
        }
    });
    let few = settings.comparisons;
    // The same draws for every comparison, so that the difference is the hand's and not the dice's; the
    // trials of the main run are taken again where there are enough of them.
    let now = if few <= main.len() { main[..few].to_vec() } else { run(hand, few, &|i| [i; 5]) };
    let half = hand.scaled(0.5)?;
    let steadier = Steadier {
        factor: 0.5,
        now: cells.ensemble(&now).ok_or_else(none)?,
        steadier: cells.ensemble(&run(&half, few, &|i| [i; 5])).ok_or_else(none)?,
    };
    let mut shares = Vec::with_capacity(habits.len());
    for habit in habits {
        let alone = run(&hand.only(habit), few, &|i| [i; 5]);
        // Everything but this habit from other trials, which the main run does not reach.
        let shared = run(hand, few, &|i| {
            let mut source = [(1 << 32) + i; 5];
            source[habit.number()] = i;
            source
        });
        shares.push(HabitShare {
            habit,
            alone: cells.ensemble(&alone).ok_or_else(none)?,
            first_order_share: first_order_share(&cells.inside, &now, &shared),
        });
    }
    shares.sort_by(|a, b| b.alone.local_rel_sd.total_cmp(&a.alone.local_rel_sd));
    let of = |k: usize| sorted.iter().map(|(v, _)| v[k]).collect();
    Ok(Some(HandVariability {
        hand: *hand,
        replicates: settings.replicates,
        seed: settings.seed,
        grid,
        planned: trials.planned(),
        p5: of(0),
        p50: of(1),
        p95: of(2),
        beyond,
        ensemble,
        masked,
        steadier,
        habits: shares,
        stalled_share: main.iter().map(|t| t.stalled_share).sum::<f64>() / n,
        beyond_share: main.iter().map(|t| t.beyond_share).sum::<f64>() / n,
        response_error: trials.response_error(),
    }))
}
