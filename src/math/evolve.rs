//! A search for trade-offs: NSGA-II on the unit cube.
//!
//! Deb, Pratap, Agarwal and Meyarivan, IEEE Trans. Evol. Comput. 6 (2002) 182-197, with simulated binary
//! crossover and polynomial mutation (Deb and Agrawal, Complex Systems 9 (1995) 115-148). Constraints by
//! their rule: of two designs that break them the smaller violation is better, and any that keeps them
//! beats any that does not. Every draw comes from seed, generation and place, and designs are evaluated in
//! order, so that any number of threads gives the same bits.
//!
//! Unlike the paper, every design that was ever evaluated counts for the front at the end: evaluations are
//! the dear part, and none is thrown away.

use super::pareto::{crowding, dominates, non_dominated, ranks};
use super::random::Seed;
use super::reduce::map_indexed;

/// Knobs of the search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EvolveSettings {
    /// Designs in a generation, at least 4; an odd number is raised by one. Default 100.
    pub population: usize,
    /// Generations after the first. Default 100.
    pub generations: usize,
    /// Seed of every draw. Default 1.
    pub seed: u64,
    /// Probability that two parents are crossed \[1\]. Default 0.9.
    pub crossover: f64,
    /// Distribution index of the crossover \[1\]: large keeps children near their parents. Default 20.
    pub crossover_index: f64,
    /// Distribution index of the mutation \[1\]: large keeps a gene near where it was. Default 20.
    pub mutation_index: f64,
}

impl Default for EvolveSettings {
    fn default() -> Self {
        // The paper's own: probability 0.9, indices 20; one gene in the mean is mutated.
        Self { population: 100, generations: 100, seed: 1, crossover: 0.9, crossover_index: 20.0, mutation_index: 20.0 }
    }
}

/// What an evaluation says of a design.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// Objectives, all to be small, each in a unit of its own \[any\].
    pub objectives: Vec<f64>,
    /// How far constraints are broken \[any\], the same measure for every design; 0 where they are kept.
    pub violation: f64,
}

/// A design and its score.
#[derive(Debug, Clone, PartialEq)]
pub struct Individual {
    /// Place in the unit cube \[1\], 0 to 1 along every axis.
    pub genes: Vec<f64>,
    /// Its score.
    pub score: Score,
}

/// What a search came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Evolved {
    /// Every design that was evaluated, in order.
    pub all: Vec<Individual>,
    /// Indices into `all` of those that keep the constraints and that none dominates, ascending.
    pub front: Vec<usize>,
}

/// Streams of the draws of one generation.
const STREAMS: u64 = 8;

fn better(a: &Score, b: &Score) -> bool {
    if a.violation > 0.0 || b.violation > 0.0 {
        return a.violation < b.violation;
    }
    dominates(&a.objectives, &b.objectives)
}

/// A uniform draw by stream and index.
type Draw<'a> = &'a dyn Fn(u64, u64) -> f64;

/// Two children of two parents, gene by gene.
fn crossed(a: &[f64], b: &[f64], pair: u64, settings: &EvolveSettings, draw: Draw<'_>) -> [Vec<f64>; 2] {
    let (mut first, mut second) = (a.to_vec(), b.to_vec());
    if draw(2, pair) >= settings.crossover {
        return [first, second];
    }
    let power = 1.0 / (settings.crossover_index + 1.0);
    for (g, (x, y)) in a.iter().zip(b).enumerate() {
        let index = pair * a.len() as u64 + g as u64;
        let (low, high) = (x.min(*y), x.max(*y));
        // Half of the genes are crossed, and equal ones have nothing to cross.
        if draw(3, index) >= 0.5 || high - low < 1e-14 {
            continue;
        }
        let u = draw(4, index);
        // Spread so that no child leaves the cube: the bounded form of the paper's own program.
        let child = |room: f64| {
            let beta = 1.0 + 2.0 * room / (high - low);
            let alpha = 2.0 - beta.powf(-(settings.crossover_index + 1.0));
            if u <= 1.0 / alpha { (u * alpha).powf(power) } else { (1.0 / (2.0 - u * alpha)).powf(power) }
        };
        let middle = low + high;
        let one = (0.5 * (middle - child(low) * (high - low))).clamp(0.0, 1.0);
        let two = (0.5 * (middle + child(1.0 - high) * (high - low))).clamp(0.0, 1.0);
        let swap = draw(5, index) < 0.5;
        (first[g], second[g]) = if swap { (two, one) } else { (one, two) };
    }
    [first, second]
}

fn mutate(genes: &mut [f64], place: u64, settings: &EvolveSettings, draw: Draw<'_>) {
    let count = genes.len();
    let rate = 1.0 / count as f64;
    let power = 1.0 / (settings.mutation_index + 1.0);
    for (g, x) in genes.iter_mut().enumerate() {
        let index = place * count as u64 + g as u64;
        if draw(6, index) >= rate {
            continue;
        }
        let u = draw(7, index);
        let shift = if u < 0.5 {
            let far = (1.0 - *x).powf(settings.mutation_index + 1.0);
            (2.0 * u + (1.0 - 2.0 * u) * far).powf(power) - 1.0
        } else {
            let far = x.powf(settings.mutation_index + 1.0);
            1.0 - (2.0 * (1.0 - u) + 2.0 * (u - 0.5) * far).powf(power)
        };
        *x = (*x + shift).clamp(0.0, 1.0);
    }
}

/// Searches the unit cube of `genes` dimensions for the designs that trade the objectives off best.
///
/// # Accuracy
/// A search, not a proof: the front is what was found. The tests measure it on the fronts of Zitzler, Deb
/// and Thiele (2000) and of Deb, Thiele, Laumanns and Zitzler (2002): at least 99 % of their hypervolume.
/// Evaluations: `population` times (1 + `generations`).
///
/// # Example
/// ```
/// use trochoid::math::evolve::{EvolveSettings, Score, evolve};
/// // Small x against large x, with x at least a half: no x beats another, so the front is every x ≥ ½.
/// let settings = EvolveSettings { population: 8, generations: 2, ..EvolveSettings::default() };
/// let found = evolve(1, &settings, |x| Score { objectives: vec![x[0], -x[0]], violation: (0.5 - x[0]).max(0.0) });
/// assert_eq!(found.all.len(), 8 * (1 + 2));
/// let kept = found.all.iter().filter(|d| d.genes[0] >= 0.5).count();
/// assert!(kept >= 4 && found.front.len() == kept); // four slices of the first generation lie there
/// ```
///
/// # References
/// Deb, Pratap, Agarwal and Meyarivan (2002); crossover and mutation of Deb and Agrawal (1995).
pub fn evolve(genes: usize, settings: &EvolveSettings, evaluate: impl Fn(&[f64]) -> Score + Sync + Send) -> Evolved {
    let size = settings.population.max(4).next_multiple_of(2);
    let seed = Seed::new(settings.seed);
    let score = |list: Vec<Vec<f64>>| -> Vec<Individual> {
        let scores = map_indexed(list.len(), |i| evaluate(&list[i]));
        list.into_iter().zip(scores).map(|(genes, score)| Individual { genes, score }).collect()
    };
    // One in every slice of every axis: a Latin hypercube, the slices put in order by draws.
    let columns: Vec<Vec<usize>> = (0..genes)
        .map(|g| {
            let mut order: Vec<usize> = (0..size).collect();
            let key = |i: usize| seed.uniform(0, (g * size + i) as u64);
            order.sort_by(|a, b| key(*a).total_cmp(&key(*b)));
            order
        })
        .collect();
    let first = (0..size)
        .map(|i| {
            let place = |g: usize| (columns[g][i] as f64 + seed.uniform(1, (g * size + i) as u64)) / size as f64;
            (0..genes).map(place).collect()
        })
        .collect();
    let mut all = score(first);
    let mut parents: Vec<usize> = (0..all.len()).collect();
    for generation in 0..settings.generations {
        let stream = STREAMS * (generation as u64 + 1);
        let draw = |which: u64, index: u64| seed.uniform(stream + which, index);
        let place = sorted(&all, &parents);
        // Two drawn at random, the better one becomes a parent.
        let pick = |k: u64| {
            let at = |j: u64| (draw(0, 2 * k + j) * size as f64).min(size as f64 - 1.0).floor();
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ at < size
            let (a, b) = (at(0) as usize, at(1) as usize);
            if place[a] <= place[b] { parents[a] } else { parents[b] }
        };
        let mut children = Vec::with_capacity(size);
        for pair in 0..size as u64 / 2 {
            let (a, b) = (pick(2 * pair), pick(2 * pair + 1));
            for (k, mut child) in (0..).zip(crossed(&all[a].genes, &all[b].genes, pair, settings, &draw)) {
                mutate(&mut child, 2 * pair + k, settings, &draw);
                children.push(child);
            }
        }
        let from = all.len();
        all.extend(score(children));
        let mut both: Vec<usize> = parents.into_iter().chain(from..all.len()).collect();
        let place = sorted(&all, &both);
        let mut order: Vec<usize> = (0..both.len()).collect();
        order.sort_by_key(|k| place[*k]);
        order.truncate(size);
        // In order of their making, so that a draw means the same whatever the sort does with ties.
        order.sort_unstable();
        both = order.into_iter().map(|k| both[k]).collect();
        parents = both;
    }
    let kept: Vec<usize> = (0..all.len()).filter(|i| all[*i].score.violation <= 0.0).collect();
    let points: Vec<Vec<f64>> = kept.iter().map(|i| all[*i].score.objectives.clone()).collect();
    let front = non_dominated(&points).into_iter().map(|k| kept[k]).collect();
    Evolved { all, front }
}

/// Place of each of `which` from the best: by rank, then by crowding, then by index.
fn sorted(all: &[Individual], which: &[usize]) -> Vec<usize> {
    let rank = ranks(which.len(), |i, j| better(&all[which[i]].score, &all[which[j]].score));
    let points: Vec<Vec<f64>> = which.iter().map(|i| all[*i].score.objectives.clone()).collect();
    let mut room = vec![0.0; which.len()];
    let last = rank.iter().max().map_or(0, |r| r + 1);
    for r in 0..last {
        let front: Vec<usize> = (0..which.len()).filter(|i| rank[*i] == r).collect();
        for (i, c) in front.iter().zip(crowding(&points, &front)) {
            room[*i] = c;
        }
    }
    let mut order: Vec<usize> = (0..which.len()).collect();
    order.sort_by(|a, b| rank[*a].cmp(&rank[*b]).then(room[*b].total_cmp(&room[*a])).then(a.cmp(b)));
    let mut place = vec![0; which.len()];
    for (p, i) in order.into_iter().enumerate() {
        place[i] = p;
    }
    place
}
