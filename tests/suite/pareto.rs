//! Trade-offs: are ranks and volumes those of slow methods, does the search reach known fronts?

use core::f64::consts::PI;
use trochoid::math::evolve::{EvolveSettings, Evolved, Score, evolve};
use trochoid::math::pareto::{crowding, dominates, hypervolume, non_dominated, non_dominated_by_pairs, ranks};
use trochoid::math::random::Seed;
use trochoid::math::reduce::with_threads;

fn cloud(count: usize, objectives: usize, seed: u64, levels: f64) -> Vec<Vec<f64>> {
    let seed = Seed::new(seed);
    // On few levels, so that equal values and equal points come up.
    let value = |i: usize, m: usize| (seed.uniform(m as u64, i as u64) * levels).floor() / levels;
    (0..count).map(|i| (0..objectives).map(|m| value(i, m)).collect()).collect()
}

#[test]
fn fronts_and_ranks_are_those_of_all_pairs() {
    for (objectives, levels) in [(1, 8.0), (2, 10.0), (2, 1e6), (3, 5.0), (4, 1e3)] {
        let points = cloud(200, objectives, 3, levels);
        assert_eq!(non_dominated(&points), non_dominated_by_pairs(&points), "{objectives} {levels}");
        let rank = ranks(points.len(), |i, j| dominates(&points[i], &points[j]));
        // Peeled off one after the other.
        let mut left: Vec<usize> = (0..points.len()).collect();
        let mut level = 0;
        while !left.is_empty() {
            let some: Vec<Vec<f64>> = left.iter().map(|i| points[*i].clone()).collect();
            let front: Vec<usize> = non_dominated_by_pairs(&some).into_iter().map(|k| left[k]).collect();
            assert!(front.iter().all(|i| rank[*i] == level));
            left.retain(|i| !front.contains(i));
            level += 1;
        }
    }
}

#[test]
fn crowding_of_a_line_by_hand() {
    let points: Vec<Vec<f64>> = [(0.0, 4.0), (1.0, 2.0), (2.0, 1.0), (4.0, 0.0)].map(|p| vec![p.0, p.1]).to_vec();
    let room = crowding(&points, &[0, 1, 2, 3]);
    assert!(room[0].is_infinite() && room[3].is_infinite());
    // (2 − 0)/4 + (4 − 1)/4, and (4 − 1)/4 + (2 − 0)/4.
    assert!((room[1] - 1.25).abs() < 1e-15 && (room[2] - 1.25).abs() < 1e-15, "rounding");
}

#[test]
fn hypervolume_is_that_of_inclusion_and_exclusion() {
    for objectives in 1..=4 {
        for seed in 0..6 {
            let points = cloud(9, objectives, 100 + seed, 1e6);
            let reference = vec![0.9; objectives];
            // Over every set of points, with the sign of its size, the box from their largest values on.
            let mut sum = 0.0;
            for set in 1_u32..1 << points.len() {
                let chosen = || (0..points.len()).filter(|i| set >> i & 1 == 1);
                let volume: f64 = (0..objectives)
                    .map(|m| (reference[m] - chosen().map(|i| points[i][m]).fold(f64::NEG_INFINITY, f64::max)).max(0.0))
                    .product();
                sum += if set.count_ones() % 2 == 1 { volume } else { -volume };
            }
            let got = hypervolume(&points, &reference);
            assert!((got - sum).abs() < 1e-12, "rounding of 511 terms: {objectives} {got} {sum}");
        }
    }
    assert!(hypervolume(&[vec![1.0, 1.0]], &[1.0, 2.0]).abs() < 1e-15, "on the reference: nothing");
}

/// Share of the true front's hypervolume that a search reaches, reference point 1.1 of each objective.
fn reached(found: &Evolved, scale: &[f64], whole: f64) -> f64 {
    let points: Vec<Vec<f64>> = found.front.iter().map(|i| found.all[*i].score.objectives.clone()).collect();
    let reference: Vec<f64> = scale.iter().map(|s| 1.1 * s).collect();
    hypervolume(&points, &reference) / whole
}

fn free(objectives: Vec<f64>) -> Score {
    Score { objectives, violation: 0.0 }
}

/// Area below 1.1 of both axes and above the front f2(f1) on 0..1, by the midpoint rule, where f2 falls.
fn area_above(front: impl Fn(f64) -> f64) -> f64 {
    let n = 200_000;
    let mut sum = 0.0;
    let mut least = f64::INFINITY;
    for i in 0..n {
        // Dominated by whatever lies lower to the left.
        least = least.min(front((f64::from(i) + 0.5) / f64::from(n)));
        sum += (1.1 - least).max(0.0) / f64::from(n);
    }
    sum + 0.1 * (1.1 - least.min(front(1.0)))
}

#[test]
fn fronts_of_zitzler_deb_and_thiele_are_reached() {
    // E. Zitzler, K. Deb, L. Thiele, Evol. Comput. 8 (2000) 173-195: 30 variables, g = 1 on the front.
    let settings = EvolveSettings { population: 100, generations: 200, ..EvolveSettings::default() };
    let g = |x: &[f64]| 1.0 + 9.0 * x[1..].iter().sum::<f64>() / (x.len() - 1) as f64;
    let one = evolve(30, &settings, |x| free(vec![x[0], g(x) * (1.0 - (x[0] / g(x)).sqrt())]));
    // 1.21 − 0.1·... in closed form: 1.1² − 1.1·0 − ∫(1 − √f)df over 0..1 = 1.21 − 1/3.
    let whole = area_above(|f| 1.0 - f.sqrt());
    assert!((whole - (1.21 - 1.0 / 3.0)).abs() < 1e-5, "midpoint rule at a square root: {whole}");
    let share = reached(&one, &[1.0, 1.0], whole);
    assert!(share > 0.99 && share <= 1.0 + 1e-6, "ZDT1 {share}");
    let two = evolve(30, &settings, |x| free(vec![x[0], g(x) * (1.0 - (x[0] / g(x)).powi(2))]));
    let share = reached(&two, &[1.0, 1.0], area_above(|f| 1.0 - f * f));
    assert!(share > 0.99 && share <= 1.0 + 1e-4, "ZDT2 {share}");
    // ZDT3 comes in pieces and below zero; 1e-4 is the midpoint rule at its jumps.
    let wave = |f: f64, g: f64| 1.0 - (f / g).sqrt() - f / g * (10.0 * PI * f).sin();
    let three = evolve(30, &settings, |x| free(vec![x[0], g(x) * wave(x[0], g(x))]));
    let share = reached(&three, &[1.0, 1.0], area_above(|f| wave(f, 1.0)));
    assert!(share > 0.99 && share <= 1.0 + 1e-4, "ZDT3 {share}");
    // ZDT6: ten variables, crowded away from the front; f1 from 0.2807753191 on.
    let first = |x: f64| 1.0 - (-4.0 * x).exp() * (6.0 * PI * x).sin().powi(6);
    let six = evolve(10, &EvolveSettings { generations: 400, ..settings }, |x| {
        let g = 1.0 + 9.0 * (x[1..].iter().sum::<f64>() / 9.0).powf(0.25);
        free(vec![first(x[0]), g * (1.0 - (first(x[0]) / g).powi(2))])
    });
    let whole = area_above(|f| if f < 0.280_775_319_1 { f64::INFINITY } else { 1.0 - f * f });
    let share = reached(&six, &[1.0, 1.0], whole);
    println!("ZDT6 {share}");
    assert!(share > 0.99 && share <= 1.0 + 1e-4, "ZDT6 {share}");
}

#[test]
fn many_local_fronts_are_left_behind() {
    // ZDT4: ten variables, 21⁹ local fronts.
    let settings = EvolveSettings { population: 100, generations: 400, ..EvolveSettings::default() };
    let found = evolve(10, &settings, |x| {
        let wavy = |u: &f64| {
            let y = 10.0 * u - 5.0;
            y * y - 10.0 * (4.0 * PI * y).cos() + 10.0
        };
        let g = 1.0 + x[1..].iter().map(wavy).sum::<f64>();
        free(vec![x[0], g * (1.0 - (x[0] / g).sqrt())])
    });
    let share = reached(&found, &[1.0, 1.0], area_above(|f| 1.0 - f.sqrt()));
    println!("ZDT4 {share}");
    assert!(share > 0.99 && share <= 1.0 + 1e-6, "ZDT4 {share}");
}

#[test]
fn the_sphere_of_dtlz2_is_reached() {
    // K. Deb, L. Thiele, M. Laumanns, E. Zitzler, "Scalable multi-objective optimization test problems",
    // CEC 2002: three objectives, ten distance variables; the front is an eighth of the unit sphere.
    let settings = EvolveSettings { population: 200, generations: 300, ..EvolveSettings::default() };
    let found = evolve(12, &settings, |x| {
        let g: f64 = x[2..].iter().map(|v| (v - 0.5) * (v - 0.5)).sum();
        let (a, b) = (0.5 * PI * x[0], 0.5 * PI * x[1]);
        free(vec![(1.0 + g) * a.cos() * b.cos(), (1.0 + g) * a.cos() * b.sin(), (1.0 + g) * a.sin()])
    });
    // A reference front of 5050 points, evenly spread over the simplex (Das and Dennis 1998) and drawn out onto
    // the sphere. No finite front has the volume of the whole sphere, 1.1³ − π/6: these have 99.0 % of it.
    let mut reference = Vec::new();
    for i in 0..100 {
        for j in 0..100 - i {
            let p = [f64::from(i), f64::from(j), f64::from(99 - i - j)];
            let length = p.iter().map(|v| v * v).sum::<f64>().sqrt();
            reference.push(p.iter().map(|v| v / length).collect::<Vec<f64>>());
        }
    }
    assert_eq!(reference.len(), 5050);
    let whole = 1.1_f64.powi(3) - PI / 6.0;
    let finite = hypervolume(&reference, &[1.1; 3]);
    let (share, of_sphere) = (reached(&found, &[1.0; 3], finite), reached(&found, &[1.0; 3], whole));
    println!("DTLZ2 {share} {of_sphere} {} front {}", finite / whole, found.front.len());
    assert!(finite < whole && share > 0.99 && of_sphere > 0.98 && of_sphere < 1.0, "DTLZ2 {share} {of_sphere}");
}

#[test]
fn constraints_are_kept_and_threads_do_not_matter() {
    // Smallest x and y with x + y ≥ 1.2 on the unit square: a line.
    let model = |x: &[f64]| Score { objectives: x.to_vec(), violation: (1.2 - x[0] - x[1]).max(0.0) };
    let settings = EvolveSettings { population: 40, generations: 40, ..EvolveSettings::default() };
    let found = evolve(2, &settings, model);
    assert!(found.front.len() > 30);
    for i in &found.front {
        let sum: f64 = found.all[*i].genes.iter().sum();
        // Forty generations of forty leave gaps: no point of the front is further than 0.05 from the line.
        assert!((1.2..1.25).contains(&sum), "{sum}");
    }
    assert_eq!(found.all.len(), 40 * 41);
    for threads in [1, 2, 5] {
        let again = with_threads(threads, || evolve(2, &settings, model));
        assert!(again.all.iter().zip(&found.all).all(|(a, b)| a == b) && again.front == found.front);
    }
    let other = evolve(2, &EvolveSettings { seed: 2, ..settings }, model);
    assert!(other.all != found.all);
    // Where nothing keeps the constraint there is no front, and the nearest is there to be told.
    let none = evolve(2, &settings, |x| Score { objectives: x.to_vec(), violation: 3.0 - x[0] - x[1] });
    assert!(none.front.is_empty());
    let least = none.all.iter().map(|i| i.score.violation).fold(f64::INFINITY, f64::min);
    assert!(least < 1.02, "the corner (1, 1) breaks it least, by 1: {least}");
}
