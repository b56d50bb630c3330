//! Sizing a tool for a fleet of panels: the search, the design chosen from its front, what holds it back, and
//! which variable matters.

use super::performance::{Duty, Objective, Performance, performance};
use super::{Design, DesignSpace, Variable};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::evolve::{EvolveSettings, Individual, Score, evolve};
use crate::math::sensitivity::{SobolIndices, sobol_indices};

/// A bound on an objective: at most the value, or at least where more is better.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// Which objective.
    pub objective: Objective,
    /// The value \[in the unit of the objective's key\].
    pub value: f64,
}

impl Bound {
    /// How far a value is past the bound \[in the unit of the objective's key\]; negative with room to spare.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::sizing::{Bound, Objective};
    /// // At least 2 mm³/s: 1.5 is 0.5 short. At most 100 W: 80 W leave 20.
    /// let cut = Bound { objective: Objective::CutRate, value: 2.0 };
    /// let power = Bound { objective: Objective::ShaftPower, value: 100.0 };
    /// assert!((cut.excess(1.5) - 0.5).abs() < 1e-12 && (power.excess(80.0) + 20.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn excess(&self, value: f64) -> f64 {
        if self.objective.larger_is_better() { self.value - value } else { value - self.value }
    }

    /// Excess over the size of the bound, or over 1 where it is zero, so that unlike bounds can be added.
    fn relative(&self, value: f64) -> f64 {
        let size = if self.value.abs() > 0.0 { self.value.abs() } else { 1.0 };
        self.excess(value) / size
    }
}

/// What a tool is sized by.
#[derive(Debug, Clone, PartialEq)]
pub struct SizingTask {
    /// Designs to choose from.
    pub space: DesignSpace,
    /// Panels, target and settings.
    pub duty: Duty,
    /// Two to four objectives.
    pub objectives: Vec<Objective>,
    /// Bounds that a design must keep.
    pub bounds: Vec<Bound>,
    /// The search.
    pub search: EvolveSettings,
    /// Rows of the sensitivities; 0 leaves them out.
    pub sensitivity_rows: usize,
}

impl SizingTask {
    /// Refuses what [`size_a_tool`] refuses.
    ///
    /// # Errors
    /// As there.
    pub fn check(&self) -> Result<(), RangeError> {
        let task = self;
        let count = task.objectives.len();
        if !(2..=4).contains(&count) {
            return Err(RangeError::new("objectives", count as f64, "", "two to four objectives"));
        }
        for (i, o) in task.objectives.iter().enumerate() {
            if task.objectives[..i].contains(o) {
                return Err(RangeError::new(
                    "objectives",
                    i as f64 + 1.0,
                    "",
                    format!("each once; {} stands twice", o.key()),
                ));
            }
        }
        for b in &task.bounds {
            let (low, high) = b.objective.bounds();
            within(b.objective.key(), b.value, low, high, "")?;
        }
        let [population, generations, rows] = SEARCH_LIMITS;
        within("population", task.search.population as f64, population.0, population.1, "")?;
        within("generations", task.search.generations as f64, generations.0, generations.1, "")?;
        let margin = task.bounds.iter().find(|b| b.objective == Objective::StallMargin);
        if let Some(b) = margin.filter(|b| b.value > task.duty.enough_margin_per_m) {
            let allowed = format!("at least the bound on the stall margin, {}", b.value);
            return Err(RangeError::new("enough_margin_per_m", task.duty.enough_margin_per_m, "1/m", allowed));
        }
        let designs = task.search.population as f64 * (task.search.generations as f64 + 1.0);
        if designs > MOST_DESIGNS {
            let allowed = format!("at most {MOST_DESIGNS} designs together with population, not {designs}");
            return Err(RangeError::new("generations", task.search.generations as f64, "", allowed));
        }
        within("enough_margin_per_m", task.duty.enough_margin_per_m, 0.01, 40.0, "1/m")?;
        within("sensitivity_rows", task.sensitivity_rows as f64, rows.0, rows.1, "")?;
        Ok(())
    }
}

/// Designs of a generation, generations and rows of sensitivities that are taken.
pub const SEARCH_LIMITS: [(f64, f64); 3] = [(8.0, 2000.0), (1.0, 2000.0), (0.0, 20_000.0)];

/// Designs evaluated in one search at most: all of them are kept.
pub const MOST_DESIGNS: f64 = 200_000.0;

/// A design and what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct SizedDesign {
    /// Values of the variables \[each in the unit of its key\], in the order of the ranges.
    pub values: Vec<f64>,
    /// The design.
    pub design: Design,
    /// What it does.
    pub performance: Performance,
}

/// What holds the chosen design back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Binding {
    /// A bound with little room: the value of the objective beside it.
    Bound(Bound, f64),
    /// A variable near the low end of its range.
    LowEnd(Variable, f64),
    /// A variable near the high end of its range.
    HighEnd(Variable, f64),
}

/// Sensitivity of one objective to the variables, in the order of the ranges.
#[derive(Debug, Clone, PartialEq)]
pub struct ObjectiveSensitivity {
    /// Which.
    pub objective: Objective,
    /// Its indices; `None` where it does not vary over the ranges.
    pub indices: Option<SobolIndices>,
}

/// A tool sized.
#[derive(Debug, Clone, PartialEq)]
pub struct Sizing {
    /// Designs that keep every bound and that none of those evaluated dominates, the first objective best
    /// first.
    pub front: Vec<SizedDesign>,
    /// Index of the chosen one.
    pub chosen: usize,
    /// What holds it back.
    pub binding: Vec<Binding>,
    /// Sensitivities of the objectives over the whole of the ranges.
    pub sensitivity: Vec<ObjectiveSensitivity>,
    /// Designs evaluated in the search.
    pub evaluated: usize,
    /// Of those, the ones that keep every bound.
    pub feasible: usize,
}

/// A bound that the nearest design breaks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BrokenBound {
    /// The bound.
    pub bound: Bound,
    /// What the design comes to \[in the unit of the objective's key\].
    pub value: f64,
}

/// No design keeps every bound.
#[derive(Debug, Clone, PartialEq)]
pub struct Impossible {
    /// The design that breaks them least, by the sum of the relative excesses.
    pub nearest: SizedDesign,
    /// The bounds that it breaks, the furthest first; none where no design evaluated runs on every panel.
    pub broken: Vec<BrokenBound>,
    /// For each bound, the best value that any design evaluated that runs came to.
    pub best: Vec<BrokenBound>,
    /// Designs evaluated.
    pub evaluated: usize,
}

/// What a sizing came to.
#[derive(Debug, Clone, PartialEq)]
pub enum SizingOutcome {
    /// A front and a choice from it.
    Sized(Box<Sizing>),
    /// No design found keeps every bound.
    Impossible(Box<Impossible>),
}

/// Violation of a design that does not run: above that of any that runs, and graded so that the search is led
/// out.
const NOT_RUNNING: f64 = 1e6;

fn score(task: &SizingTask, place: &[f64]) -> Score {
    let none = |violation| Score { objectives: vec![f64::INFINITY; task.objectives.len()], violation };
    let Ok(design) = task.space.design(place) else { return none(4.0 * NOT_RUNNING) };
    let p = performance(&design, &task.duty);
    if p.sticks {
        // The less throw friction takes up, the nearer the face is to sliding.
        let lost = design.setup.friction_n() / design.setup.pad().shear_stiffness();
        let missing = lost / (0.5 * design.setup.tool().throw().m());
        return none(NOT_RUNNING * (2.0 + (1.0 - 1.0 / missing.max(1.0))));
    }
    if !p.runs() {
        return none(NOT_RUNNING * (1.0 + p.bottoming_share.min(1.0)));
    }
    let sign = |o: Objective| if o.larger_is_better() { -1.0 } else { 1.0 };
    let objectives = task.objectives.iter().map(|o| sign(*o) * p.value(*o)).collect();
    let excess: f64 = task.bounds.iter().map(|b| b.relative(p.value(b.objective)).max(0.0)).sum();
    // Rises with the excess and stays below what does not run.
    Score { objectives, violation: excess / (1.0 + excess / NOT_RUNNING) }
}

/// Sizes a tool: searches the space for the best trade-offs and chooses one.
///
/// The chosen design is the one of the front nearest to the ideal point (compromise programming, M. Zeleny 1973,
/// from memory), each objective measured by the share of the front that is better in it: no objective has a
/// weight, and no unit or outlier gives it one. What else the front holds is there to be chosen from.
///
/// # Accuracy
/// A search by [`evolve`]: what it finds are designs that do what is said of them, not proof that there is
/// nothing better. The same task gives the same bits on any number of threads.
///
/// # Errors
/// Fewer than two or more than four objectives, one twice, a bound outside [`Objective::bounds`], knobs
/// outside [`SEARCH_LIMITS`].
///
/// # Example
/// The force of a tool, with design and duty of the example of [`performance`]:
/// ```
/// use trochoid::plan::sizing::{
///     Bound, DesignSpace, Objective, SizingOutcome, SizingTask, Variable, VariableRange, size_a_tool,
/// };
/// # use trochoid::equipment::Substrate;
/// # use trochoid::plan::Working;
/// # use trochoid::plan::sizing::{Design, Duty, Fleet, FleetPanel};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let design = Design::new(setup, working)?;
/// # let panel = FleetPanel { name: "roof".to_owned(), patch: Patch::flat(), share: 1.0 };
/// # let duty = Duty {
/// #     fleet: Fleet::new(vec![panel])?,
/// #     enough_margin_per_m: 0.5,
/// #     target_cut: Length::from_um(2.0),
/// #     substrate: Substrate::Steel,
/// #     settings: Default::default(),
/// # };
/// let force = VariableRange { variable: Variable::Force, low: 20.0, high: 40.0 };
/// let mut task = SizingTask {
///     space: DesignSpace::new(design, vec![force])?,
///     duty,
///     objectives: vec![Objective::CutRate, Objective::ShaftPower],
///     bounds: vec![Bound { objective: Objective::CutRate, value: 2.0 }],
///     search: Default::default(),
///     sensitivity_rows: 0,
/// };
/// (task.search.population, task.search.generations) = (16, 4);
/// // Each newton cuts 2e-11 × 3.299 m³/s = 0.06597 mm³/s: 2 mm³/s ask for 30.3 N or more. Power over cut rate is
/// // μ/k_p = 0.35/2e-11 J/m³ = 17.5 J/mm³ for every design.
/// let SizingOutcome::Sized(sized) = size_a_tool(&task)? else { panic!("40 N keep the bound") };
/// for d in &sized.front {
///     let (cut, power) = (d.performance.value(Objective::CutRate), d.performance.value(Objective::ShaftPower));
///     assert!(d.values[0] > 30.31 && (power / cut - 17.5).abs() < 1e-6);
/// }
/// # Ok(())
/// # }
/// ```
///
/// # References
/// M. Zeleny, compromise programming (1973, from memory); the search as in [`evolve`]. See
/// `notebooks-free-docs/tool-sizing.md`.
pub fn size_a_tool(task: &SizingTask) -> Result<SizingOutcome, RangeError> {
    task.check()?;
    let genes = task.space.ranges().len();
    let found = evolve(genes, &task.search, |place| score(task, place));
    let sized = |i: &Individual| -> Result<SizedDesign, RangeError> {
        let values = task.space.values(&i.genes);
        let design = task.space.with_values(&values)?;
        let performance = performance(&design, &task.duty);
        Ok(SizedDesign { values, design, performance })
    };
    let evaluated = found.all.len();
    if found.front.is_empty() {
        return impossible(task, &found.all, sized).map(|i| SizingOutcome::Impossible(Box::new(i)));
    }
    let mut order = found.front.clone();
    order.sort_by(|a, b| {
        let key = |i: &usize| found.all[*i].score.objectives[0];
        let genes = |i: &usize| found.all[*i].genes.iter();
        let by_genes = || genes(a).zip(genes(b)).map(|(x, y)| x.total_cmp(y)).find(|o| o.is_ne());
        key(a).total_cmp(&key(b)).then_with(|| by_genes().unwrap_or(core::cmp::Ordering::Equal)).then(a.cmp(b))
    });
    // Twins, as when neither parent was changed, are told once.
    order.dedup_by(|a, b| found.all[*a].genes == found.all[*b].genes);
    let points: Vec<&[f64]> = order.iter().map(|i| found.all[*i].score.objectives.as_slice()).collect();
    let chosen = nearest_to_ideal(&points);
    let front = crate::math::reduce::map_indexed(order.len(), |k| sized(&found.all[order[k]]));
    let front = front.into_iter().collect::<Result<Vec<_>, _>>()?;
    let binding = binding(task, &front[chosen]);
    let feasible = found.all.iter().filter(|i| i.score.violation <= 0.0).count();
    let sensitivity = if task.sensitivity_rows > 0 { sensitivities(task) } else { Vec::new() };
    Ok(SizingOutcome::Sized(Box::new(Sizing { front, chosen, binding, sensitivity, evaluated, feasible })))
}

/// Index of the point nearest to the ideal one, every axis measured by the share of the points that are better
/// along it; the first of equals.
fn nearest_to_ideal(points: &[&[f64]]) -> usize {
    let objectives = points.first().map_or(0, |p| p.len());
    let sorted: Vec<Vec<f64>> = (0..objectives)
        .map(|m| {
            let mut column: Vec<f64> = points.iter().map(|p| p[m]).collect();
            column.sort_unstable_by(f64::total_cmp);
            column
        })
        .collect();
    let distance = |p: &[f64]| -> f64 {
        let better = |(v, column): (&f64, &Vec<f64>)| column.partition_point(|c| c < v) as f64;
        p.iter().zip(&sorted).map(better).map(|d| d * d).sum()
    };
    let mut best = (0, f64::INFINITY);
    for (i, p) in points.iter().enumerate() {
        let d = distance(p);
        if d < best.1 {
            best = (i, d);
        }
    }
    best.0
}

/// Room within which a bound or an end of a range counts as holding a design back: a share of the bound or of
/// the range.
const NEAR: f64 = 0.02;

fn binding(task: &SizingTask, chosen: &SizedDesign) -> Vec<Binding> {
    let bounds = task.bounds.iter().filter_map(|b| {
        let value = chosen.performance.value(b.objective);
        // A bound of zero has no size to be near to by.
        (b.value.abs() > 0.0 && b.relative(value) > -NEAR).then_some(Binding::Bound(*b, value))
    });
    let ends = task.space.ranges().iter().zip(&chosen.values).filter_map(|(r, v)| {
        let share = (v - r.low) / (r.high - r.low);
        if share < NEAR {
            Some(Binding::LowEnd(r.variable, r.low))
        } else if share > 1.0 - NEAR {
            Some(Binding::HighEnd(r.variable, r.high))
        } else {
            None
        }
    });
    bounds.chain(ends).collect()
}

fn impossible(
    task: &SizingTask,
    all: &[Individual],
    sized: impl Fn(&Individual) -> Result<SizedDesign, RangeError> + Sync,
) -> Result<Impossible, RangeError> {
    let mut order: Vec<&Individual> = all.iter().collect();
    order.sort_by(|a, b| a.score.violation.total_cmp(&b.score.violation));
    let designs = all.len() as f64;
    // The first of them that can be made at all.
    let made = order.iter().find_map(|i| sized(i).ok());
    let Some(nearest) = made else {
        let allowed = "ranges in which some values make a tool and a pad together";
        return Err(RangeError::new("designs evaluated", designs, "", allowed));
    };
    let mut broken: Vec<BrokenBound> = task
        .bounds
        .iter()
        .map(|b| BrokenBound { bound: *b, value: nearest.performance.value(b.objective) })
        .filter(|b| b.bound.excess(b.value) > 0.0)
        .collect();
    broken.sort_by(|a, b| b.bound.relative(b.value).total_cmp(&a.bound.relative(a.value)));
    let runs: Vec<&Individual> = order.into_iter().filter(|i| i.score.violation < NOT_RUNNING).collect();
    let performances = crate::math::reduce::map_indexed(runs.len(), |k| sized(runs[k]).map(|s| s.performance));
    let best = task
        .bounds
        .iter()
        .filter_map(|b| {
            let values = performances.iter().flatten().map(|p| p.value(b.objective));
            values.min_by(|x, y| b.excess(*x).total_cmp(&b.excess(*y))).map(|value| BrokenBound { bound: *b, value })
        })
        .collect();
    Ok(Impossible { nearest, broken, best, evaluated: all.len() })
}

fn sensitivities(task: &SizingTask) -> Vec<ObjectiveSensitivity> {
    let model = |place: &[f64]| -> Vec<f64> {
        let Ok(design) = task.space.design(place) else { return vec![f64::NAN; task.objectives.len()] };
        let p = performance(&design, &task.duty);
        task.objectives.iter().map(|o| p.value(*o)).collect()
    };
    let inputs = task.space.ranges().len();
    let found = sobol_indices(inputs, task.objectives.len(), task.sensitivity_rows, task.search.seed, model);
    task.objectives
        .iter()
        .zip(found)
        .map(|(objective, indices)| ObjectiveSensitivity { objective: *objective, indices })
        .collect()
}
