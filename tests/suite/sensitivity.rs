//! Sobol indices: known values, honest errors, any number of threads.

use core::f64::consts::PI;
use trochoid::math::reduce::with_threads;
use trochoid::math::sensitivity::{SobolIndices, sobol_indices};

/// T. Ishigami, T. Homma, ISUMA 1990: sin x1 + 7 sin² x2 + 0.1 x3⁴ sin x1 on −π..π.
fn ishigami(u: &[f64]) -> Vec<f64> {
    let x: Vec<f64> = u.iter().map(|u| PI * (2.0 * u - 1.0)).collect();
    vec![x[0].sin() + 7.0 * x[1].sin().powi(2) + 0.1 * x[2].powi(4) * x[0].sin()]
}

fn one(rows: usize, seed: u64) -> SobolIndices {
    sobol_indices(3, 1, rows, seed, ishigami).swap_remove(0).unwrap()
}

/// Analytic values (Saltelli et al., "Global Sensitivity Analysis. The Primer", 2008, from memory; the closed
/// form is summed here): V = a²/8 + bπ⁴/5 + b²π⁸/18 + 1/2, V1 = ½(1 + bπ⁴/5)², V2 = a²/8, V13 = 8b²π⁸/225.
fn known() -> ([f64; 3], [f64; 3], f64) {
    let (a, b) = (7.0_f64, 0.1);
    let v1 = 0.5 * (1.0 + b * PI.powi(4) / 5.0).powi(2);
    let (v2, v13) = (a * a / 8.0, 8.0 * b * b * PI.powi(8) / 225.0);
    let v = v1 + v2 + v13;
    ([v1 / v, v2 / v, 0.0], [(v1 + v13) / v, v2 / v, v13 / v], v)
}

#[test]
fn ishigami_comes_out() {
    let (first, total, variance) = known();
    // Printed to four digits in the literature.
    for (got, printed) in first.iter().chain(&total).zip([0.3139, 0.4424, 0.0, 0.5576, 0.4424, 0.2437]) {
        assert!((got - printed).abs() < 5e-5, "half the last printed digit: {got} {printed}");
    }
    let s = one(1 << 14, 1);
    for i in 0..3 {
        // 0.03: two to three standard errors of 16384 rows.
        assert!((s.first[i].best - first[i]).abs() < 0.03, "{i} {:?}", s.first[i]);
        assert!((s.total[i].best - total[i]).abs() < 0.03, "{i} {:?}", s.total[i]);
        assert!(s.first[i].error < 0.015 && s.total[i].error < 0.015, "{s:?}");
    }
    // Mean a/2 = 3.5; both to about three standard errors of 32768 values.
    assert!((s.mean - 3.5).abs() < 0.06 && (s.variance / variance - 1.0).abs() < 0.03, "{} {}", s.mean, s.variance);
}

#[test]
fn the_stated_error_covers_what_it_should() {
    let (first, total, _) = known();
    let (mut within, mut wide, mut all) = (0, 0, 0);
    for seed in 0..60 {
        let s = one(512, 100 + seed);
        for i in 0..3 {
            for (e, truth) in [(s.first[i], first[i]), (s.total[i], total[i])] {
                let off = (e.best - truth).abs() / e.error;
                all += 1;
                within += i32::from(off < 1.0);
                wide += i32::from(off < 2.0);
            }
        }
    }
    let share = |n: i32| f64::from(n) / f64::from(all);
    println!("one {} two {}", share(within), share(wide));
    // A normal law has 0.683 and 0.954; 360 values that hang together in sixes scatter by about 0.05.
    assert!((share(within) - 0.683).abs() < 0.12, "{}", share(within));
    assert!((share(wide) - 0.954).abs() < 0.05, "{}", share(wide));
}

#[test]
fn several_outputs_and_holes_are_told_apart() {
    let model = |u: &[f64]| {
        let sum = u[0] + 3.0 * u[1];
        // A constant, a sum, and the sum where it has an answer.
        vec![4.0, sum, if u[0] > 0.9 { f64::NAN } else { sum }]
    };
    let found = sobol_indices(2, 4, 4096, 5, model);
    assert!(found[0].is_none(), "nothing varies");
    let sum = found[1].as_ref().unwrap();
    // Variances 1 to 9 and no product: S = ST = 0.1 and 0.9; 0.03 is three standard errors.
    for (e, share) in sum.first.iter().chain(&sum.total).zip([0.1, 0.9, 0.1, 0.9]) {
        assert!((e.best - share).abs() < 0.03, "{e:?}");
    }
    assert_eq!(sum.rows, 4096);
    let holes = found[2].as_ref().unwrap();
    // f(A), f(B) and f(A_B,1) each have an answer: 0.9 of A's, 0.9 of B's first input.
    assert!((holes.rows as f64 / 4096.0 - 0.81).abs() < 0.03, "three standard errors: {}", holes.rows);
    assert!(found[3].is_none(), "an output that the model does not give");
    for threads in [1, 3] {
        assert_eq!(with_threads(threads, || sobol_indices(2, 2, 256, 5, model)), sobol_indices(2, 2, 256, 5, model));
    }
}
