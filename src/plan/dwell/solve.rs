//! The solve: bounded least squares by a projected accelerated gradient.
//!
//! ```text
//! least  ½‖M(A x − b)‖² + cᵀx    with  low ≤ x ≤ high
//!
//! x dwell, A dwell -> cut (entries of 0 or more), b target, M mask, c price of a unit of each dwell
//! ```
//!
//! Each step goes down the gradient in the metric of the operator's majorizer, clips to the bounds and
//! carries momentum. Residual and gradient are kept at the iterates and not at the points that momentum
//! leads to: both are affine, so that the latter cost nothing, and every iterate knows its objective, its
//! optimality and a bound on the best. A step that would raise the objective is thrown away and the
//! momentum dropped, so the objective never rises. Steps grow by a twentieth while the quadratic bound
//! that convergence rests on holds, which is tested with numbers that are there anyway.
//!
//! References: Beck & Teboulle, SIAM J. Imaging Sciences 2 (2009) 183-202 (the accelerated step);
//! O'Donoghue & Candès, Found. Comput. Math. 15 (2015) 715-732 (restarts). Both from memory.

use super::error::{DwellError, not_negative, of_length};
use super::operator::DwellOperator;

/// What is asked of a dwell.
#[derive(Debug, Clone, PartialEq)]
pub struct DwellProblem {
    target: Vec<f64>,
    mask: Vec<bool>,
    low: Vec<f64>,
    high: Vec<f64>,
    price: Vec<f64>,
    start: Option<Vec<f64>>,
}

impl DwellProblem {
    /// The cut `target` in every cell from `unknowns` dwells of zero or more.
    ///
    /// # Errors
    /// No cells, an entry that is negative or not finite, a target that is zero everywhere.
    pub fn new(target: Vec<f64>, unknowns: usize) -> Result<Self, DwellError> {
        let mask = vec![true; target.len()];
        Self::inside(target, mask, unknowns)
    }

    /// The same, counted in the cells of `mask` only; what the target holds elsewhere is not read.
    ///
    /// # Errors
    /// As [`DwellProblem::new`], inside the mask; lists of unequal length.
    pub fn inside(mut target: Vec<f64>, mask: Vec<bool>, unknowns: usize) -> Result<Self, DwellError> {
        of_length("mask", mask.len(), target.len())?;
        if !mask.contains(&true) || unknowns == 0 {
            return Err(DwellError::EmptyMask);
        }
        for (t, inside) in target.iter_mut().zip(&mask) {
            if !inside {
                *t = 0.0;
            }
        }
        not_negative("target", &target)?;
        if target.iter().all(|t| *t <= 0.0) {
            return Err(DwellError::ZeroTarget);
        }
        Ok(Self {
            target,
            mask,
            low: vec![0.0; unknowns],
            high: vec![f64::INFINITY; unknowns],
            price: vec![0.0; unknowns],
            start: None,
        })
    }

    /// Bounds of every dwell; an upper one may be infinite.
    ///
    /// # Errors
    /// Lists of the wrong length, a lower bound that is negative, not finite or above its upper one.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::{DwellProblem, DwellSettings, SparseOperator, solve_dwell};
    /// // 3 is asked for at 1 a second, but no more than 2 s may be spent: a third stays undone.
    /// let mut map = SparseOperator::from_columns(1, &[vec![(0, 1.0)]])?;
    /// let asked = DwellProblem::new(vec![3.0], 1)?.between(vec![0.0], vec![2.0])?;
    /// let found = solve_dwell(&mut map, &asked, &DwellSettings::default())?;
    /// assert!((found.dwell[0] - 2.0).abs() < 1e-9 && (found.residual_rel - 1.0 / 3.0).abs() < 1e-9);
    /// # Ok::<(), trochoid::Error>(())
    /// ```
    pub fn between(mut self, low: Vec<f64>, high: Vec<f64>) -> Result<Self, DwellError> {
        of_length("lower bounds", low.len(), self.low.len())?;
        of_length("upper bounds", high.len(), self.low.len())?;
        not_negative("lower bounds", &low)?;
        if let Some(index) = low.iter().zip(&high).position(|(l, h)| h.is_nan() || h < l) {
            let allowed = "at least its lower bound";
            return Err(DwellError::BadNumber { what: "upper bounds", index, value: high[index], allowed });
        }
        (self.low, self.high) = (low, high);
        Ok(self)
    }

    /// Price of a unit of each dwell, in the squared unit of the target over that of the dwell: with a
    /// weight times the seconds that each unit takes, the objective trades residual against time.
    ///
    /// # Errors
    /// A list of the wrong length, a price that is negative or not finite.
    pub fn priced(mut self, price: Vec<f64>) -> Result<Self, DwellError> {
        of_length("prices", price.len(), self.low.len())?;
        not_negative("prices", &price)?;
        self.price = price;
        Ok(self)
    }

    /// Where to start; what lies beyond the bounds starts on them. Zero, or the lower bound, without it.
    /// An unknown that nothing depends on stays where it starts.
    ///
    /// # Errors
    /// A list of the wrong length, an entry that is negative or not finite.
    pub fn starting_at(mut self, start: Vec<f64>) -> Result<Self, DwellError> {
        of_length("start", start.len(), self.low.len())?;
        not_negative("start", &start)?;
        self.start = Some(start);
        Ok(self)
    }
}

/// Numerical knobs of [`solve_dwell`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DwellSettings {
    /// Most iterations; default 3000.
    pub iterations: usize,
    /// Optimality (see [`DwellSolution::optimality_rel`]) at which the solve is over \[1\];
    /// default 1e-7.
    pub optimality_rel: f64,
    /// Fall of the objective over 25 iterations, share of it, below which the solve has settled \[1\]; 0 for
    /// never; default 1e-6.
    pub settled_rel: f64,
    /// Residual, share of the target, that is good enough to stop \[1\]; 0, the default, for the best
    /// there is.
    pub good_enough_rel: f64,
}

impl Default for DwellSettings {
    fn default() -> Self {
        Self { iterations: 3000, optimality_rel: 1e-7, settled_rel: 1e-6, good_enough_rel: 0.0 }
    }
}

/// Why a solve came to its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum StopReason {
    /// The conditions of an optimum hold to the tolerance.
    Optimal,
    /// The objective hardly fell any more.
    Settled,
    /// The residual that was asked for is reached.
    GoodEnough,
    /// The iterations ran out: the dwell is the best so far, and it may be far from the best there is.
    IterationLimit,
}

impl StopReason {
    /// The word in machine-readable results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Optimal => "optimal",
            Self::Settled => "settled",
            Self::GoodEnough => "good_enough",
            Self::IterationLimit => "iteration_limit",
        }
    }
}

/// A dwell and how good it is.
#[derive(Debug, Clone, PartialEq)]
pub struct DwellSolution {
    /// The dwell \[s\], or in the unit of what else the operator maps.
    pub dwell: Vec<f64>,
    /// Its cut in every cell, outside the mask too \[m\].
    pub cut: Vec<f64>,
    /// RMS of cut − target over RMS of the target, both inside the mask \[1\].
    pub residual_rel: f64,
    /// No dwell within the bounds has a residual below this one \[1\]; 0 where nothing can be said, as with
    /// prices. From the dual of the problem, so it holds whatever the solve did.
    pub residual_bound_rel: f64,
    /// The objective, in the squared unit of the target \[m² for a cut\].
    pub objective: f64,
    /// What the dwell costs at the prices given, in the unit of the objective \[m² for a cut\].
    pub price: f64,
    /// Distance from optimality \[1\]: the projected gradient step in the majorizer's metric over the norm of
    /// the target. Zero exactly where the Karush-Kuhn-Tucker conditions hold.
    pub optimality_rel: f64,
    /// Iterations taken.
    pub iterations: usize,
    /// Applications of the operator, either way.
    pub applications: usize,
    /// Why it stopped.
    pub stopped: StopReason,
}

/// Momentum of the accelerated step.
struct Momentum {
    theta: f64,
    beta: f64,
}

impl Momentum {
    const REST: Self = Self { theta: 1.0, beta: 0.0 };

    fn step(&mut self) {
        let next = 0.5 * (1.0 + (1.0 + 4.0 * self.theta * self.theta).sqrt());
        self.beta = (self.theta - 1.0) / next;
        self.theta = next;
    }
}

/// A point with what is known of it.
#[derive(Clone)]
struct Iterate {
    dwell: Vec<f64>,
    /// M(A x − b).
    residual: Vec<f64>,
    /// Square of its norm.
    square: f64,
    gradient: Vec<f64>,
    objective: f64,
}

/// Sum of `f` over 0..count in eight running sums, so that it uses vector registers; the order is fixed.
fn sum_over(count: usize, f: impl Fn(usize) -> f64) -> f64 {
    let mut sums = [0.0; 8];
    let whole = count - count % 8;
    let mut i = 0;
    while i < whole {
        for (k, s) in sums.iter_mut().enumerate() {
            *s += f(i + k);
        }
        i += 8;
    }
    (whole..count).fold(sums.iter().sum::<f64>(), |sum, i| sum + f(i))
}

/// The problem with its operator and metric.
struct Solver<'a, O> {
    operator: &'a mut O,
    problem: &'a DwellProblem,
    metric: Vec<f64>,
    /// One inside the mask, zero outside.
    weight: Vec<f64>,
    /// Whether anything has a price.
    priced: bool,
    applications: usize,
}

impl<O: DwellOperator> Solver<'_, O> {
    fn residual(&mut self, dwell: &[f64], out: &mut [f64]) {
        self.applications += 1;
        self.operator.apply(dwell, out);
        for ((o, t), w) in out.iter_mut().zip(&self.problem.target).zip(&self.weight) {
            *o = w * (*o - t);
        }
    }

    fn gradient(&mut self, residual: &[f64], out: &mut [f64]) {
        self.applications += 1;
        self.operator.apply_transposed(residual, out);
        if self.priced {
            for (o, c) in out.iter_mut().zip(&self.problem.price) {
                *o += c;
            }
        }
    }

    fn objective(&self, dwell: &[f64], square: f64) -> f64 {
        0.5 * square + if self.priced { dot(&self.problem.price, dwell) } else { 0.0 }
    }

    /// Square of the projected gradient step in the metric.
    fn optimality(&self, at: &Iterate) -> f64 {
        let p = self.problem;
        sum_over(at.dwell.len(), |j| {
            let m = self.metric[j];
            let moved = onto(at.dwell[j] - at.gradient[j] / m, p.low[j], p.high[j]) - at.dwell[j];
            m * moved * moved
        })
    }

    /// A lower bound on ½‖M(Ax − b)‖² by the dual: with ν = r + s·1 on the mask and h = Aᵀν,
    ///
    /// ```text
    /// −½‖ν‖² − νᵀb + Σ_j least of x h_j over the bounds of x
    /// ```
    ///
    /// where s ≥ 0 is the least shift that leaves no negative h_j on an unknown without an upper bound.
    fn dual(&mut self, at: &Iterate) -> Option<f64> {
        let p = self.problem;
        if self.priced {
            return None;
        }
        let ones = self.weight.clone();
        let mut sums = vec![0.0; at.dwell.len()];
        self.applications += 1;
        self.operator.apply_transposed(&ones, &mut sums);
        let mut shift = 0.0_f64;
        for (j, sum) in sums.iter().enumerate() {
            if p.high[j].is_infinite() && at.gradient[j] < 0.0 {
                shift = shift.max(-at.gradient[j] / sum);
            }
        }
        if !shift.is_finite() {
            return None;
        }
        let mut value = 0.0;
        for ((r, one), t) in at.residual.iter().zip(&ones).zip(&p.target) {
            let nu = r + shift * one;
            value -= 0.5 * nu * nu + nu * t;
        }
        for (j, sum) in sums.iter().enumerate() {
            let h = at.gradient[j] + shift * sum;
            // Rounding may leave a hair below zero where the bound is infinite.
            value += if h >= 0.0 || p.high[j].is_infinite() { p.low[j] * h } else { p.high[j] * h };
        }
        (value.is_finite() && value > 0.0).then_some(value)
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    sum_over(a.len().min(b.len()), |i| a[i] * b[i])
}

/// The value, or the bound that it lies beyond.
fn onto(value: f64, low: f64, high: f64) -> f64 {
    value.max(low).min(high)
}

fn square(a: &[f64]) -> f64 {
    dot(a, a)
}

/// Share by which a step grows after one that held.
const GROWTH: f64 = 1.05;
/// Iterations over which the fall of the objective is judged.
const SPAN: usize = 25;
/// Iterations after which the optimality is looked at again.
const LOOK: usize = 5;

/// Seeks the dwell whose cut comes nearest to the target.
///
/// ```text
/// least  ½‖M(A x − b)‖² + cᵀx    with  low ≤ x ≤ high
///
/// x dwell [s], A map from dwell to cut [m/s], b target [m], M mask [1], c price of a unit of dwell [m²/s]
/// ```
///
/// # Assumptions and valid range
/// Entries of A of 0 or more, as no dwell takes paint back. Any consistent units do.
///
/// # Accuracy
/// Falls toward the optimum at least as fast as the square of the iterations from any start; the solution
/// carries its optimality and a bound on the best residual. A 100 x 100 grid comes within 0.1 % of its
/// best residual in about 80 iterations.
///
/// # Errors
/// A problem that does not fit the operator; [`DwellError::OutOfReach`] where no unknown reaches the mask.
///
/// # Example
/// ```
/// use trochoid::plan::{DwellProblem, DwellSettings, SparseOperator, solve_dwell};
/// // Two places, three cells, each place cuts its own cell by 2 and the middle one by 1 a second.
/// let mut rows = SparseOperator::from_columns(3, &[vec![(0, 2.0), (1, 1.0)], vec![(1, 1.0), (2, 2.0)]])?;
/// // 4, 3, 2 is what 2 s and 1 s leave: 2·2, 2 + 1, 2·1.
/// let asked = DwellProblem::new(vec![4.0, 3.0, 2.0], 2)?;
/// let found = solve_dwell(&mut rows, &asked, &DwellSettings::default())?;
/// assert!((found.dwell[0] - 2.0).abs() < 1e-5 && (found.dwell[1] - 1.0).abs() < 1e-5);
/// # Ok::<(), trochoid::Error>(())
/// ```
///
/// # References
/// Beck and Teboulle, SIAM J. Imaging Sciences 2 (2009) 183-202; O'Donoghue and Candès, Found. Comput. Math. 15
/// (2015) 715-732 (both from memory).
pub fn solve_dwell<O: DwellOperator>(
    operator: &mut O,
    problem: &DwellProblem,
    settings: &DwellSettings,
) -> Result<DwellSolution, crate::Error> {
    of_length("unknowns of the problem", problem.low.len(), operator.unknowns())?;
    of_length("cells of the problem", problem.target.len(), operator.cells())?;
    let metric = metric(operator, problem)?;
    let (unknowns, cells) = (operator.unknowns(), operator.cells());
    let weight = problem.mask.iter().map(|m| if *m { 1.0 } else { 0.0 }).collect();
    let priced = problem.price.iter().any(|c| *c > 0.0);
    let mut solver = Solver { operator, problem, metric, weight, priced, applications: 2 };
    let clip = |j: usize, v: f64| onto(v, problem.low[j], problem.high[j]);
    let start: Vec<f64> = (0..unknowns).map(|j| clip(j, problem.start.as_ref().map_or(0.0, |s| s[j]))).collect();
    let (mut residual, mut gradient) = (vec![0.0; cells], vec![0.0; unknowns]);
    solver.residual(&start, &mut residual);
    solver.gradient(&residual, &mut gradient);
    let first = square(&residual);
    let objective = solver.objective(&start, first);
    let mut at = Iterate { dwell: start, residual, square: first, gradient, objective };
    let mut before = at.clone();
    let mut next = at.clone();
    let norm = square(&problem.target).sqrt();
    let inverse: Vec<f64> = solver.metric.iter().map(|m| 1.0 / m).collect();
    let mut momentum = Momentum::REST;
    let mut size = 1.0_f64;
    let mut iterations = 0;
    let mut mark = (0, at.objective);
    let stopped = loop {
        if iterations % LOOK == 0 && solver.optimality(&at).sqrt() <= settings.optimality_rel * norm {
            break StopReason::Optimal;
        }
        // A residual of zero is the least there is, but with prices not the best there is.
        if settings.good_enough_rel > 0.0 && at.square.sqrt() <= settings.good_enough_rel * norm {
            break StopReason::GoodEnough;
        }
        if iterations >= mark.0 + SPAN {
            if mark.1 - at.objective <= settings.settled_rel * mark.1.abs() {
                break StopReason::Settled;
            }
            mark = (iterations, at.objective);
        }
        if iterations >= settings.iterations {
            break StopReason::IterationLimit;
        }
        iterations += 1;
        let beta = momentum.beta;
        let ahead = |now: f64, past: f64| now + beta * (now - past);
        // From the point that momentum leads to, down the gradient, onto the bounds. The step stands where
        // ‖A d‖² is no more than its length in the metric over its size.
        loop {
            let mut lengths = [0.0; 8];
            for j in 0..unknowns {
                let y = ahead(at.dwell[j], before.dwell[j]);
                let slope = ahead(at.gradient[j], before.gradient[j]);
                let x = clip(j, y - size * slope * inverse[j]);
                lengths[j % 8] += solver.metric[j] * (x - y) * (x - y);
                next.dwell[j] = x;
            }
            let length: f64 = lengths.iter().sum();
            solver.residual(&next.dwell, &mut next.residual);
            let change = sum_over(cells, |i| {
                let d = next.residual[i] - ahead(at.residual[i], before.residual[i]);
                d * d
            });
            if size <= 1.0 || size * change <= length {
                break;
            }
            size = (0.9 * length / change).clamp(1.0, size);
        }
        next.square = square(&next.residual);
        next.objective = solver.objective(&next.dwell, next.square);
        if next.objective > at.objective {
            if momentum.beta <= 0.0 {
                // A plain step that does not go down: what is left is rounding.
                break StopReason::Settled;
            }
            momentum = Momentum::REST;
            size = 1.0;
            continue;
        }
        let residual = core::mem::take(&mut next.residual);
        solver.gradient(&residual, &mut next.gradient);
        next.residual = residual;
        momentum.step();
        core::mem::swap(&mut before, &mut at);
        core::mem::swap(&mut at, &mut next);
        size *= GROWTH;
    };
    Ok(solved(&mut solver, at, norm, iterations, stopped))
}

/// The majorizer inside the mask, with a floor for unknowns that nothing depends on.
fn metric<O: DwellOperator>(operator: &mut O, problem: &DwellProblem) -> Result<Vec<f64>, crate::Error> {
    let mut metric = operator.majorizer(&problem.mask);
    let most = metric.iter().copied().fold(0.0, f64::max);
    if let Some(index) = metric.iter().position(|m| !m.is_finite()) {
        let (value, allowed) = (metric[index], "entries that are finite");
        return Err(DwellError::BadNumber { what: "map from dwell to cut", index, value, allowed }.into());
    }
    if most <= 0.0 {
        return Err(DwellError::OutOfReach.into());
    }
    for m in &mut metric {
        *m = m.max(1e-12 * most);
    }
    Ok(metric)
}

fn solved<O: DwellOperator>(
    solver: &mut Solver<'_, O>,
    at: Iterate,
    norm: f64,
    iterations: usize,
    stopped: StopReason,
) -> DwellSolution {
    let optimality_rel = solver.optimality(&at).sqrt() / norm;
    let bound = solver.dual(&at).map_or(0.0, |d| (2.0 * d).sqrt() / norm);
    let mut cut = vec![0.0; at.residual.len()];
    solver.applications += 1;
    solver.operator.apply(&at.dwell, &mut cut);
    DwellSolution {
        residual_rel: at.square.sqrt() / norm,
        residual_bound_rel: bound,
        objective: at.objective,
        price: dot(&solver.problem.price, &at.dwell),
        optimality_rel,
        iterations,
        applications: solver.applications,
        stopped,
        cut,
        dwell: at.dwell,
    }
}
