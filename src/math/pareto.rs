//! Trade-offs: which of many points are not dominated, how they rank, and how much they dominate.
//!
//! Every objective is to be small. Ranks and crowding after Deb, Pratap, Agarwal and Meyarivan, "A fast and
//! elitist multiobjective genetic algorithm: NSGA-II", IEEE Trans. Evol. Comput. 6 (2002) 182-197;
//! hypervolume by slicing objective after objective (While, Hingston, Barone and Huband, IEEE Trans. Evol.
//! Comput. 10 (2006) 29-38). [`non_dominated_by_pairs`] is the slow obvious method that the tests hold the
//! others against.

/// Whether `a` dominates `b`: nowhere larger and somewhere smaller.
///
/// # Example
/// ```
/// use trochoid::math::pareto::dominates;
/// assert!(dominates(&[1.0, 2.0], &[1.0, 3.0]));
/// assert!(!dominates(&[1.0, 3.0], &[2.0, 2.0]));
/// ```
#[must_use]
pub fn dominates(a: &[f64], b: &[f64]) -> bool {
    a.iter().zip(b).all(|(x, y)| x <= y) && a.iter().zip(b).any(|(x, y)| x < y)
}

/// Indices of the points that no other point dominates, ascending; every pair is compared.
///
/// Equal points do not dominate each other: all of them stay.
///
/// # Example
/// ```
/// use trochoid::math::pareto::non_dominated_by_pairs;
/// // (2, 2) is no better than (1, 2) anywhere and worse in the first objective.
/// let points = [vec![2.0, 2.0], vec![1.0, 2.0], vec![3.0, 1.0]];
/// assert_eq!(non_dominated_by_pairs(&points), [1, 2]);
/// ```
#[must_use]
pub fn non_dominated_by_pairs(points: &[Vec<f64>]) -> Vec<usize> {
    (0..points.len()).filter(|i| !points.iter().any(|p| dominates(p, &points[*i]))).collect()
}

/// As [`non_dominated_by_pairs`], compared with what is left only: points in ascending order can be
/// dominated by earlier ones alone.
///
/// # Accuracy
/// The same indices, which the tests compare. From n log n comparisons, where one point beats all, to n²/2
/// where none beats another.
///
/// # Example
/// ```
/// use trochoid::math::pareto::non_dominated;
/// // The corner (0, 0) beats both others.
/// assert_eq!(non_dominated(&[vec![1.0, 0.0], vec![0.0, 0.0], vec![0.0, 2.0]]), [1]);
/// ```
#[must_use]
pub fn non_dominated(points: &[Vec<f64>]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    let compare = |i: &usize, j: &usize| {
        let pairs = points[*i].iter().zip(&points[*j]);
        pairs.map(|(a, b)| a.total_cmp(b)).find(|o| o.is_ne()).unwrap_or(core::cmp::Ordering::Equal).then(i.cmp(j))
    };
    order.sort_unstable_by(compare);
    let mut front: Vec<usize> = Vec::new();
    for i in order {
        // The last one found is the nearest and the likeliest to dominate.
        if !front.iter().rev().any(|j| dominates(&points[*j], &points[i])) {
            front.push(i);
        }
    }
    front.sort_unstable();
    front
}

/// Rank of each of `count` points, by a comparison of its own: 0 for those that nothing is better than, 1 for
/// those that only these are better than, and so on.
///
/// `better(i, j)` says whether point i is better than point j; it must not run in circles. n²/2 comparisons.
///
/// # Example
/// ```
/// use trochoid::math::pareto::{dominates, ranks};
/// // A chain (0, 0), (1, 1), (2, 2), and (0.5, 3), which only the first beats.
/// let points = [[1.0, 1.0], [0.0, 0.0], [2.0, 2.0], [0.5, 3.0]];
/// assert_eq!(ranks(4, |i, j| dominates(&points[i], &points[j])), [1, 0, 2, 1]);
/// ```
///
/// # References
/// Deb, Pratap, Agarwal and Meyarivan (2002), the fast non-dominated sort.
#[must_use]
pub fn ranks(count: usize, better: impl Fn(usize, usize) -> bool) -> Vec<usize> {
    let mut beats: Vec<Vec<usize>> = vec![Vec::new(); count];
    let mut beaten = vec![0_usize; count];
    for i in 0..count {
        for j in i + 1..count {
            if better(i, j) {
                beats[i].push(j);
                beaten[j] += 1;
            } else if better(j, i) {
                beats[j].push(i);
                beaten[i] += 1;
            }
        }
    }
    let mut out = vec![0; count];
    let mut now: Vec<usize> = (0..count).filter(|i| beaten[*i] == 0).collect();
    let mut rank = 0;
    while !now.is_empty() {
        let mut next = Vec::new();
        for i in now {
            out[i] = rank;
            for j in &beats[i] {
                beaten[*j] -= 1;
                if beaten[*j] == 0 {
                    next.push(*j);
                }
            }
        }
        next.sort_unstable();
        now = next;
        rank += 1;
    }
    out
}

/// Crowding distance of the points `front` of `points`, in their order: the sum over the objectives of the
/// distance between both neighbours over the front's width \[1\]; infinite at the ends.
///
/// # Example
/// ```
/// use trochoid::math::pareto::crowding;
/// // Point 1 stands between 0 and 3 of 0 to 4 in the first objective, between 5 and 10 of 0 to 10 in the
/// // second: 3/4 + 5/10 = 1.25.
/// let points = [vec![0.0, 10.0], vec![1.0, 6.0], vec![3.0, 5.0], vec![4.0, 0.0]];
/// let room = crowding(&points, &[0, 1, 2, 3]);
/// assert!(room[0].is_infinite() && room[3].is_infinite());
/// assert!((room[1] - 1.25).abs() < 1e-15);
/// ```
///
/// # References
/// Deb, Pratap, Agarwal and Meyarivan (2002).
#[must_use]
pub fn crowding(points: &[Vec<f64>], front: &[usize]) -> Vec<f64> {
    let mut out = vec![0.0; front.len()];
    let objectives = front.first().map_or(0, |i| points[*i].len());
    for column in (0..objectives).map(|m| points.iter().map(|p| p[m]).collect::<Vec<f64>>()) {
        let value = |k: usize| column[front[k]];
        let mut order: Vec<usize> = (0..front.len()).collect();
        order.sort_by(|a, b| value(*a).total_cmp(&value(*b)).then(front[*a].cmp(&front[*b])));
        let (Some(first), Some(last)) = (order.first(), order.last()) else { continue };
        let width = value(*last) - value(*first);
        out[*first] = f64::INFINITY;
        out[*last] = f64::INFINITY;
        if width > 0.0 && width.is_finite() {
            for w in order.windows(3) {
                out[w[1]] += (value(w[2]) - value(w[0])) / width;
            }
        }
    }
    out
}

/// Volume that `points` dominate up to `reference` \[product of the objectives' units\]; points that do not
/// lie below it in every objective count for nothing.
///
/// # Accuracy
/// Exact but for rounding. Two objectives take n log n, each further one a factor of n: for up to four.
///
/// # Example
/// ```
/// use trochoid::math::pareto::hypervolume;
/// // Two squares of 2 x 1 and 1 x 2 that share one of 1 x 1.
/// assert!((hypervolume(&[vec![1.0, 2.0], vec![2.0, 1.0]], &[3.0, 3.0]) - 3.0).abs() < 1e-12);
/// ```
///
/// # References
/// While, Hingston, Barone and Huband (2006).
#[must_use]
pub fn hypervolume(points: &[Vec<f64>], reference: &[f64]) -> f64 {
    let inside: Vec<&[f64]> = points
        .iter()
        .map(Vec::as_slice)
        .filter(|p| p.len() == reference.len() && p.iter().zip(reference).all(|(x, r)| x < r))
        .collect();
    slice(inside, reference)
}

fn slice(mut points: Vec<&[f64]>, reference: &[f64]) -> f64 {
    let Some((last, rest)) = reference.split_last() else { return 0.0 };
    let m = rest.len();
    points.sort_by(|a, b| a[m].total_cmp(&b[m]));
    if m == 0 {
        return points.first().map_or(0.0, |p| last - p[0]);
    }
    if m == 1 {
        // Ascending in the second objective, so each step to a smaller first one adds a rectangle.
        let (mut sum, mut least) = (0.0, rest[0]);
        for p in points {
            if p[0] < least {
                sum += (least - p[0]) * (last - p[1]);
                least = p[0];
            }
        }
        return sum;
    }
    let mut sum = 0.0;
    // The points so far, thinned to those that the next slices need.
    let mut so_far: Vec<Vec<f64>> = Vec::new();
    for (k, p) in points.iter().enumerate() {
        let head = &p[..m];
        if !so_far.iter().any(|q| q.iter().zip(head).all(|(a, b)| a <= b)) {
            so_far.retain(|q| !dominates(head, q));
            so_far.push(head.to_vec());
        }
        let depth = points.get(k + 1).map_or(*last, |next| next[m]) - p[m];
        if depth > 0.0 {
            sum += depth * slice(so_far.iter().map(Vec::as_slice).collect(), rest);
        }
    }
    sum
}
