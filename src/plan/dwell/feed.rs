//! The feed along a given path that comes nearest to a target cut.
//!
//! The unknowns are the slownesses q = 1/feed \[s/m\] at nodes along the path; between two nodes the
//! slowness runs linearly. Cut and time are linear in them:
//!
//! ```text
//! cut = A q,   time = Σ ½h(q_i + q_{i+1}),   h the length between two nodes
//! ```
//!
//! # Acceleration
//! Along a stretch the feed f = 1/q changes at f df/ds = −q'/q³, largest at its faster end. So
//!
//! ```text
//! |q_{i+1} − q_i| ≤ a h min(q_i, q_{i+1})³
//! ```
//!
//! keeps the acceleration along the path below a everywhere, not at the nodes only. The bound is not
//! convex in q. It is met in two parts: the solve is repeated with ties between neighbours whose weights
//! grow where the bound is passed and shrink where there is room, and every round is then slowed down to
//! the least slowness above it that obeys the bound (one pass forward, one backward). The best round is
//! kept. **Guaranteed**: the feed returned lies within its limits and obeys the bound on every stretch;
//! feeds at the start and end of a stretch of pad-on path are free within the limits. **Not guaranteed**:
//! that no other feed obeying the bound comes nearer to the target. Acceleration across the path, where it
//! turns a corner, is not counted.

use super::error::{DwellError, of_length};
use super::operator::{DwellOperator, MAX_ENTRIES, Smoothed, SparseOperator, Tie};
use super::solve::{DwellProblem, DwellSettings, StopReason, solve_dwell};
use crate::equipment::within;
use crate::error::RangeError;
use crate::removal::Column;
use crate::units::{Acceleration, Speed};

/// Limits of a feed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedLimits {
    low: f64,
    high: f64,
    acceleration: Option<f64>,
}

impl FeedLimits {
    /// Slowest and fastest feed.
    ///
    /// # Errors
    /// Outside 0.1 mm/s to 10 m/s, or the slowest above the fastest.
    pub fn new(low: Speed, high: Speed) -> Result<Self, RangeError> {
        within("feed_min_mm_s", low.mm_s(), 0.1, 10_000.0, "mm/s")?;
        within("feed_max_mm_s", high.mm_s(), 0.1, 10_000.0, "mm/s")?;
        if low.m_s() > high.m_s() {
            let allowed = format!("0.1 to 10000; no more than feed_max_mm_s, {} mm/s", high.mm_s());
            return Err(RangeError::new("feed_min_mm_s", low.mm_s(), "mm/s", allowed));
        }
        Ok(Self { low: low.m_s(), high: high.m_s(), acceleration: None })
    }

    /// Largest change of the feed along the path.
    ///
    /// # Errors
    /// Outside 0.1 mm/s² to 100 m/s².
    pub fn with_acceleration(mut self, most: Acceleration) -> Result<Self, RangeError> {
        within("acceleration_mm_s2", most.mm_s2(), 0.1, 100_000.0, "mm/s²")?;
        self.acceleration = Some(most.m_s2());
        Ok(self)
    }

    /// Slowest feed \[m/s\].
    #[must_use]
    pub const fn low(&self) -> f64 {
        self.low
    }

    /// Fastest feed \[m/s\].
    #[must_use]
    pub const fn high(&self) -> f64 {
        self.high
    }

    /// Largest acceleration along the path \[m/s²\].
    #[must_use]
    pub const fn acceleration(&self) -> Option<f64> {
        self.acceleration
    }
}

/// A place along a path where the feed is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedNode {
    /// Way with the pad on from the start of the path \[m\].
    pub way: f64,
    /// Place in plan \[m\].
    pub at: (f64, f64),
    /// Number of the pass, from 0.
    pub pass: usize,
    /// Length of the stretch from the node before \[m\]; `None` where the pad was set down here.
    pub from_last: Option<f64>,
    /// Slowness of the path as it was given \[s/m\].
    pub slowness: f64,
}

/// A path whose feed is sought: its nodes, and the cut that each leaves per unit of slowness.
#[derive(Debug, Clone)]
pub struct FeedPath {
    nodes: Vec<FeedNode>,
    operator: SparseOperator,
}

impl FeedPath {
    /// From nodes and their columns: (cell, cut per unit of slowness \[m per s/m\]).
    ///
    /// # Errors
    /// As [`SparseOperator::from_columns`]; lists of unequal length; no nodes.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::{FeedNode, FeedPath};
    /// // A metre with a node at either end, led at 20 s/m (50 mm/s); each node cuts a cell of its own.
    /// let node = |way, from_last| FeedNode { way, at: (way, 0.0), pass: 0, from_last, slowness: 20.0 };
    /// let nodes = vec![node(0.0, None), node(1.0, Some(1.0))];
    /// let path = FeedPath::new(nodes, &[vec![(0, 1e-7)], vec![(1, 1e-7)]], 2)?;
    /// // 20 s, and 20 s/m × 1e-7 m²/s = 2 µm in each cell.
    /// let given = path.given();
    /// assert!((path.time(&given) - 20.0).abs() < 1e-12 && (path.cut(&given)[1] - 2e-6).abs() < 1e-18);
    /// // From 20 to 25 s/m over the metre: (25 − 20)/(1 × 20³) = 6.25e-4 m/s² at the faster end.
    /// assert!((path.acceleration(&[20.0, 25.0]) - 6.25e-4).abs() < 1e-15);
    /// // With no more than that beside 25 s/m, 10 s/m is slowed to the 20 s/m that obey it.
    /// assert!((path.slowed(&[10.0, 25.0], 6.25e-4)[0] - 20.0).abs() < 1e-9);
    /// # Ok::<(), trochoid::plan::DwellError>(())
    /// ```
    pub fn new(nodes: Vec<FeedNode>, columns: &[Column], cells: usize) -> Result<Self, DwellError> {
        of_length("columns of the path", columns.len(), nodes.len())?;
        if nodes.is_empty() || cells == 0 {
            return Err(DwellError::EmptyMask);
        }
        Ok(Self { operator: SparseOperator::from_columns(cells, columns)?, nodes })
    }

    /// Nodes in order.
    #[must_use]
    pub fn nodes(&self) -> &[FeedNode] {
        &self.nodes
    }

    /// The map from slowness to cut.
    #[must_use]
    pub const fn operator(&self) -> &SparseOperator {
        &self.operator
    }

    /// Slowness of the path as it was given \[s/m\].
    #[must_use]
    pub fn given(&self) -> Vec<f64> {
        self.nodes.iter().map(|n| n.slowness).collect()
    }

    /// Cut of a slowness in every cell \[m\].
    #[must_use]
    pub fn cut(&self, slowness: &[f64]) -> Vec<f64> {
        self.operator.cut(slowness)
    }

    /// Seconds that each unit of slowness takes.
    fn seconds(&self) -> Vec<f64> {
        let mut out = vec![0.0; self.nodes.len()];
        for (k, h) in self.stretches() {
            out[k - 1] += 0.5 * h;
            out[k] += 0.5 * h;
        }
        out
    }

    /// Time with the pad on \[s\].
    ///
    /// ```text
    /// t = Σ ½ h (q_i + q_{i+1})        h length of a stretch [m], q slowness at its ends [s/m]
    /// ```
    #[must_use]
    pub fn time(&self, slowness: &[f64]) -> f64 {
        self.seconds().iter().zip(slowness).map(|(s, q)| s * q).sum()
    }

    /// Index of the node at the end of each stretch, and its length, m.
    fn stretches(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.nodes.iter().enumerate().filter_map(|(k, n)| Some((k, n.from_last.filter(|_| k > 0)?)))
    }

    /// Largest acceleration along the path \[m/s²\].
    ///
    /// ```text
    /// a = |q_{i+1} − q_i| / (h min(q_i, q_{i+1})³)        q slowness [s/m], h length of a stretch [m]
    /// ```
    #[must_use]
    pub fn acceleration(&self, slowness: &[f64]) -> f64 {
        self.stretches()
            .map(|(k, h)| {
                let (a, b) = (slowness[k - 1], slowness[k]);
                (b - a).abs() / (h * a.min(b).powi(3))
            })
            .fold(0.0, f64::max)
    }

    /// The least slowness that is no lower than `slowness` anywhere and keeps the acceleration within
    /// `most` \[m/s²\].
    #[must_use]
    pub fn slowed(&self, slowness: &[f64], most: f64) -> Vec<f64> {
        let mut out = slowness.to_vec();
        let stretches: Vec<(usize, f64)> = self.stretches().collect();
        for (k, h) in &stretches {
            out[*k] = out[*k].max(least_beside(out[k - 1], most * h));
        }
        for (k, h) in stretches.iter().rev() {
            out[k - 1] = out[k - 1].max(least_beside(out[*k], most * h));
        }
        out
    }
}

/// The q with q + c q³ = Q: the fastest that may stand beside a slowness Q. By bisection between the
/// bounds 0 and Q, so that it is never too fast: the upper end is returned.
fn least_beside(slow: f64, c: f64) -> f64 {
    let (mut low, mut high) = (0.0, slow);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if middle + c * middle * middle * middle >= slow {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

/// Which cut is asked for where.
#[derive(Debug, Clone, PartialEq)]
pub struct CutTarget {
    /// Cut in every cell \[m\]; read where the cell counts.
    pub cut: Vec<f64>,
    /// The cells that are judged: they count in full, and the residual is theirs.
    pub mask: Vec<bool>,
    /// What the other cells count, share of a judged one \[1\]: 0 for not at all. Where they do not count, a
    /// feed may buy evenness inside with any cut outside.
    pub rim_weight: Vec<f64>,
}

impl CutTarget {
    /// A target that only the cells of the mask count toward.
    #[must_use]
    pub fn inside(cut: Vec<f64>, mask: Vec<bool>) -> Self {
        Self { rim_weight: vec![0.0; mask.len()], cut, mask }
    }

    /// Weight of each cell.
    fn weight(&self) -> Vec<f64> {
        self.mask.iter().zip(&self.rim_weight).map(|(inside, rim)| if *inside { 1.0 } else { *rim }).collect()
    }
}

/// Numerical knobs of [`solve_feed`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FeedSettings {
    /// Each round's solve; default an optimality of 1e-6 and a settled fall of 1e-5, else as
    /// [`DwellSettings`].
    pub solve: DwellSettings,
    /// Most rounds of stronger ties; default 16, one where the acceleration is not bound.
    pub rounds: usize,
    /// Weight of the ties that keep the feed from changing where nothing is gained by it, share of the median
    /// of the map's majorizer \[1\]. Default 1e-2 (assumed).
    pub calm: f64,
    /// What a second costs, share of the square of the target's norm over the time of the path as given
    /// \[1\]: 0 asks for the best residual whatever it takes. Default 1e-4: no second is spent where it buys
    /// next to nothing.
    pub time_weight: f64,
}

impl Default for FeedSettings {
    fn default() -> Self {
        let solve = DwellSettings { optimality_rel: 1e-6, settled_rel: 1e-5, ..DwellSettings::default() };
        Self { solve, rounds: 16, calm: 1e-2, time_weight: 1e-4 }
    }
}

/// A feed and what it leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct FeedSolution {
    /// Slowness at the nodes \[s/m\].
    pub slowness: Vec<f64>,
    /// Cut in every cell \[m\].
    pub cut: Vec<f64>,
    /// RMS of cut − target over RMS of the target, inside the mask \[1\].
    pub residual_rel: f64,
    /// The same at the feed of the path as given \[1\].
    pub residual_given_rel: f64,
    /// RMS of cut − target over RMS of the target over every cell that counts, by its weight \[1\]: what the
    /// solve seeks the least of. The same as `residual_rel` where no rim counts.
    pub counted_rel: f64,
    /// The same at the feed of the path as given \[1\].
    pub counted_given_rel: f64,
    /// Time with the pad on, s.
    pub time_s: f64,
    /// The same for the path as given, s.
    pub time_given_s: f64,
    /// Largest acceleration along the path, m/s².
    pub acceleration_m_s2: f64,
    /// Residual without the acceleration bound, by the first round \[1\].
    pub residual_unbound_rel: f64,
    /// Iterations over all rounds.
    pub iterations: usize,
    /// Rounds.
    pub rounds: usize,
    /// Optimality of the round kept, before it was slowed down \[1\].
    pub optimality_rel: f64,
    /// Why the solve of that round stopped.
    pub stopped: StopReason,
}

/// RMS of cut − target over that of the target, over the cells that are judged.
fn residual_rel(cut: &[f64], target: &CutTarget) -> f64 {
    let (mut off, mut whole) = (0.0, 0.0);
    for ((c, t), inside) in cut.iter().zip(&target.cut).zip(&target.mask) {
        if *inside {
            off += (c - t) * (c - t);
            whole += t * t;
        }
    }
    (off / whole).sqrt()
}

/// Seeks the feed along `path` whose cut comes nearest to `target` within `limits`.
///
/// ```text
/// least  ½ Σ w_c (cut_c − target_c)² + λ ‖target‖²/t_given · t      with  1/f_max ≤ q ≤ 1/f_min
///
/// w weight of a cell [1], q slowness [s/m], t time of the path [s], λ weight of the time [1]
/// ```
///
/// # Assumptions and valid range
/// Contact, spin and product do not depend on the feed, so that cut and time are linear in the slowness.
///
/// # Accuracy
/// Without an acceleration bound as [`solve_dwell`]. With one the feed returned obeys it on every stretch, but
/// another that obeys it may come nearer to the target. The cut is that of the path's own columns.
///
/// # Errors
/// As [`DwellProblem::inside`] and [`solve_dwell`].
///
/// # Example
/// ```
/// use trochoid::Speed;
/// use trochoid::plan::{CutTarget, FeedLimits, FeedNode, FeedPath, FeedSettings, solve_feed};
/// # fn main() -> Result<(), trochoid::Error> {
/// // The path of the example of [`FeedPath::new`]: 2 µm in each of two cells at 20 s/m.
/// # let node = |way, from_last| FeedNode { way, at: (way, 0.0), pass: 0, from_last, slowness: 20.0 };
/// # let nodes = vec![node(0.0, None), node(1.0, Some(1.0))];
/// # let path = FeedPath::new(nodes, &[vec![(0, 1e-7)], vec![(1, 1e-7)]], 2)?;
/// let target = CutTarget::inside(vec![3e-6; 2], vec![true; 2]);
/// let limits = FeedLimits::new(Speed::from_mm_s(10.0), Speed::from_mm_s(100.0))?;
/// let settings = FeedSettings { time_weight: 0.0, ..FeedSettings::default() };
/// // 3 µm ask for 30 s/m, which takes 30 s.
/// let found = solve_feed(&path, &target, &limits, &settings)?;
/// assert!((found.slowness[0] - 30.0).abs() < 1e-3 && (found.time_s - 30.0).abs() < 1e-3);
/// assert!(found.residual_rel < 1e-4 && (found.residual_given_rel - 1.0 / 3.0).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own reduction, see `notebooks-free-docs/theory-dwell.md`; the solve as in [`solve_dwell`].
pub fn solve_feed(
    path: &FeedPath,
    target: &CutTarget,
    limits: &FeedLimits,
    settings: &FeedSettings,
) -> Result<FeedSolution, crate::Error> {
    solve_feed_from(&path.given(), path, target, limits, settings)
}

/// As [`solve_feed`], from a slowness of one's own.
fn solve_feed_from(
    start: &[f64],
    path: &FeedPath,
    target: &CutTarget,
    limits: &FeedLimits,
    settings: &FeedSettings,
) -> Result<FeedSolution, crate::Error> {
    let unknowns = path.nodes.len();
    of_length("target", target.cut.len(), path.operator.cells())?;
    let given = path.given();
    let (low, high) = (1.0 / limits.high, 1.0 / limits.low);
    let start: Vec<f64> = start.iter().map(|q| q.clamp(low, high)).collect();
    let stretches: Vec<(usize, f64)> = path.stretches().collect();
    of_length("mask", target.mask.len(), target.cut.len())?;
    of_length("weights of the rim", target.rim_weight.len(), target.cut.len())?;
    // What is judged must be good by itself, whatever stands at the rim.
    DwellProblem::inside(target.cut.clone(), target.mask.clone(), unknowns)?;
    let weight = target.weight();
    let mut operator = path.operator.weighted(&weight)?;
    // The rows of the ties stand after the cells, with nothing as their target.
    let counted = target.cut.iter().zip(&weight).filter(|(_, w)| **w > 0.0);
    let mut wanted: Vec<f64> = counted.map(|(t, w)| w.sqrt() * t).collect();
    let cells = wanted.len();
    DwellProblem::new(wanted.clone(), unknowns)?;
    wanted.resize(cells + stretches.len(), 0.0);
    let norm: f64 = wanted.iter().map(|t| t * t).sum();
    let off_from = |operator: &SparseOperator, slowness: &[f64]| -> f64 {
        operator.cut(slowness).iter().zip(&wanted).map(|(c, t)| (c - t) * (c - t)).sum()
    };
    let seconds = path.seconds();
    let time_given_s = path.time(&given);
    let price: Vec<f64> = seconds.iter().map(|s| settings.time_weight * norm / time_given_s * s).collect();
    let mut sorted = operator.majorizer(&vec![true; cells]);
    sorted.sort_unstable_by(f64::total_cmp);
    let typical = sorted[sorted.len() / 2].max(1e-12 * sorted[sorted.len() - 1]);
    let calm = settings.calm * typical;
    let mut ties: Vec<Tie> = stretches.iter().map(|(k, _)| Tie { between: (k - 1, *k), weight: calm }).collect();
    let base = DwellProblem::new(wanted.clone(), unknowns)?
        .between(vec![low; unknowns], vec![high; unknowns])?
        .priced(price.clone())?;
    let mut from = start;
    let mut best: Option<FeedSolution> = None;
    let mut best_objective = f64::INFINITY;
    let (mut iterations, mut rounds, mut unbound) = (0, 0, f64::NAN);
    while rounds < settings.rounds.max(1) {
        rounds += 1;
        let problem = base.clone().starting_at(from)?;
        let found = solve_dwell(&mut Smoothed::new(&mut operator, &ties)?, &problem, &settings.solve)?;
        iterations += found.iterations;
        let slowness = match limits.acceleration {
            Some(most) => path.slowed(&found.dwell, most),
            None => found.dwell.clone(),
        };
        if rounds == 1 {
            unbound = residual_rel(&path.cut(&found.dwell), target);
        }
        let off = off_from(&operator, &slowness);
        let objective = 0.5 * off + price.iter().zip(&slowness).map(|(p, q)| p * q).sum::<f64>();
        if objective < best_objective {
            best_objective = objective;
            let cut = path.cut(&slowness);
            best = Some(FeedSolution {
                residual_rel: residual_rel(&cut, target),
                residual_given_rel: residual_rel(&path.cut(&given), target),
                counted_rel: (off / norm).sqrt(),
                counted_given_rel: (off_from(&operator, &given) / norm).sqrt(),
                time_s: path.time(&slowness),
                time_given_s,
                acceleration_m_s2: path.acceleration(&slowness),
                residual_unbound_rel: unbound,
                iterations: 0,
                rounds: 0,
                optimality_rel: found.optimality_rel,
                stopped: found.stopped,
                cut,
                slowness,
            });
        }
        let Some(most) = limits.acceleration else { break };
        if !tighten(&mut ties, &stretches, &found.dwell, most, (calm, typical)) {
            break;
        }
        from = found.dwell;
    }
    best.map(|b| FeedSolution { iterations, rounds, ..b }).ok_or_else(|| DwellError::OutOfReach.into())
}

/// Weights of the ties where the bound is passed grow with the share by which it is, and shrink where
/// there is room; whether any was passed by more than a hundredth.
///
/// At a fixed point the weight times the difference is the multiplier of the bound.
fn tighten(
    ties: &mut [Tie],
    stretches: &[(usize, f64)],
    slowness: &[f64],
    most: f64,
    (calm, typical): (f64, f64),
) -> bool {
    let mut passed = false;
    for (tie, (k, h)) in ties.iter_mut().zip(stretches) {
        let (a, b) = (slowness[k - 1], slowness[*k]);
        let share = (b - a).abs() / (most * h * a.min(b).powi(3));
        passed |= share > 1.01;
        if share > 1.0 {
            tie.weight = tie.weight.max(0.02 * typical) * share.min(10.0);
        } else {
            tie.weight = (tie.weight * share.max(0.5)).max(calm);
        }
        tie.weight = tie.weight.min(1e6 * typical);
    }
    passed
}

/// A point of the trade between residual and time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TradePoint {
    /// Weight of the time \[1\] (see [`FeedSettings::time_weight`]).
    pub time_weight: f64,
    /// Time with the pad on, s.
    pub time_s: f64,
    /// Relative residual over the cells that are judged \[1\].
    pub residual_rel: f64,
    /// Relative residual over all that count \[1\] (see [`FeedSolution::counted_rel`]): this is what time is traded
    /// against.
    pub counted_rel: f64,
    /// Mean cut inside the mask over the mean of the target \[1\].
    pub cut_share: f64,
}

/// Weights of a trade-off curve: from what hardly matters to time above all.
pub const TRADE_WEIGHTS: [f64; 9] = [0.0, 1e-4, 1e-3, 3e-3, 1e-2, 3e-2, 0.1, 0.2, 0.4];

/// The trade between residual and time: the solve at each weight.
///
/// At the optimum of each weight the residual of all that counts rises and the time falls with it; a solve that
/// is cut short or slowed down to an acceleration may stray from that by its own inaccuracy.
///
/// # Errors
/// As [`solve_feed`]; a weight that is negative or not finite.
///
/// # Example
/// ```
/// use trochoid::Speed;
/// use trochoid::plan::{CutTarget, FeedLimits, FeedNode, FeedPath, FeedSettings, trade_off};
/// # fn main() -> Result<(), trochoid::Error> {
/// // The path of the example of [`FeedPath::new`], whose own feed meets the target exactly.
/// # let node = |way, from_last| FeedNode { way, at: (way, 0.0), pass: 0, from_last, slowness: 20.0 };
/// # let nodes = vec![node(0.0, None), node(1.0, Some(1.0))];
/// # let path = FeedPath::new(nodes, &[vec![(0, 1e-7)], vec![(1, 1e-7)]], 2)?;
/// let target = CutTarget::inside(vec![2e-6; 2], vec![true; 2]);
/// let limits = FeedLimits::new(Speed::from_mm_s(10.0), Speed::from_mm_s(100.0))?;
/// // A weight λ then lengthens no second and shortens all: the slowness falls to 1 − λ of what it was, the
/// // time with it, and the residual is λ.
/// let points = trade_off(&path, &target, &limits, &FeedSettings::default(), &[0.0, 0.1])?;
/// assert!((points[0].time_s - 20.0).abs() < 1e-3 && (points[1].time_s - 18.0).abs() < 1e-3);
/// assert!((points[1].residual_rel - 0.1).abs() < 1e-4 && (points[1].cut_share - 0.9).abs() < 1e-4);
/// # Ok(())
/// # }
/// ```
pub fn trade_off(
    path: &FeedPath,
    target: &CutTarget,
    limits: &FeedLimits,
    settings: &FeedSettings,
    weights: &[f64],
) -> Result<Vec<TradePoint>, crate::Error> {
    super::error::not_negative("time weights", weights)?;
    // One solve from the path as given; the others start from it.
    let Some(first) = weights.first() else { return Ok(Vec::new()) };
    let first = solve_feed(path, target, limits, &FeedSettings { time_weight: *first, ..*settings })?;
    let each = crate::math::reduce::map_indexed(weights.len(), |i| {
        let settings = FeedSettings { time_weight: weights[i], ..*settings };
        let found = solve_feed_from(&first.slowness, path, target, limits, &settings)?;
        let inside = |values: &[f64]| -> f64 {
            values.iter().zip(&target.mask).filter(|(_, m)| **m).map(|(v, _)| v).sum::<f64>()
        };
        Ok(TradePoint {
            time_weight: weights[i],
            time_s: found.time_s,
            residual_rel: found.residual_rel,
            counted_rel: found.counted_rel,
            cut_share: inside(&found.cut) / inside(&target.cut),
        })
    });
    each.into_iter().collect()
}

/// Refuses a path whose columns would not fit into memory, before they are made.
pub(super) fn bounded(nodes: f64, cells_each: f64) -> Result<(), DwellError> {
    let size = nodes * cells_each;
    if size > MAX_ENTRIES as f64 {
        return Err(DwellError::TooLarge { what: "entries of the dwell problem", size, most: MAX_ENTRIES as f64 });
    }
    Ok(())
}
