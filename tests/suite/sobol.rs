//! The Sobol sequence against what is published of it, and against the properties that make it one.

use trochoid::math::random::Seed;
use trochoid::math::sobol::{BITS, MAX_DIMENSIONS, Sobol};

#[test]
fn the_first_points_are_the_published_ones() {
    // Joe and Kuo, the first ten points in three dimensions on their page of the set new-joe-kuo-6 (from memory);
    // binary fractions, so exact.
    let published: [[f64; 3]; 10] = [
        [0.0, 0.0, 0.0],
        [0.5, 0.5, 0.5],
        [0.75, 0.25, 0.25],
        [0.25, 0.75, 0.75],
        [0.375, 0.375, 0.625],
        [0.875, 0.875, 0.125],
        [0.625, 0.125, 0.875],
        [0.125, 0.625, 0.375],
        [0.1875, 0.3125, 0.9375],
        [0.6875, 0.8125, 0.4375],
    ];
    let s = Sobol::new(3).unwrap();
    for (i, point) in published.iter().enumerate() {
        for (d, x) in point.iter().enumerate() {
            assert_eq!(s.coordinate(i as u64, d).to_bits(), x.to_bits(), "point {i}, dimension {d}");
        }
    }
}

/// x^n in the field of binary polynomials modulo `p` of degree `s`.
fn power(mut n: u64, p: u64, s: u32) -> u64 {
    let times = |mut a: u64, mut b: u64| {
        let mut out = 0;
        while b != 0 {
            if b & 1 == 1 {
                out ^= a;
            }
            b >>= 1;
            a <<= 1;
            if a >> s & 1 == 1 {
                a ^= p;
            }
        }
        out
    };
    // x itself; of degree one it is 1.
    let (mut base, mut out) = (if s == 1 { 1 } else { 2 }, 1);
    while n != 0 {
        if n & 1 == 1 {
            out = times(out, base);
        }
        base = times(base, base);
        n >>= 1;
    }
    out
}

#[test]
fn every_polynomial_of_the_table_is_primitive_and_every_first_number_odd() {
    let mut seen = std::collections::BTreeSet::new();
    for d in 1..MAX_DIMENSIONS {
        let (s, inner, first) = Sobol::table_row(d).unwrap();
        let p = 1_u64 << s | u64::from(inner) << 1 | 1;
        assert!(seen.insert(p), "dimension {d}: its polynomial stands twice");
        // Primitive: x has the order 2^s − 1 and no smaller one.
        let order = (1_u64 << s) - 1;
        assert_eq!(power(order, p, s), 1, "dimension {d}");
        for q in (2..=order).filter(|q| order.is_multiple_of(*q) && (2..*q).all(|f| !q.is_multiple_of(f))) {
            assert!(power(order / q, p, s) != 1, "dimension {d}: order divides {}", order / q);
        }
        assert_eq!(first.len(), s as usize);
        for (k, m) in first.iter().enumerate() {
            assert!(m % 2 == 1 && u32::from(*m) < 2 << k, "dimension {d}: m_{} = {m}", k + 1);
        }
    }
    assert!(Sobol::table_row(0).is_none() && Sobol::table_row(MAX_DIMENSIONS).is_none());
}

#[test]
fn property_a_holds_in_every_number_of_dimensions() {
    // Sobol (1976): the first 2^d points have one in each of the 2^d halves-of-halves of the cube where the
    // matrix of first bits of the first d direction numbers is regular over the field of two elements. Joe and
    // Kuo chose theirs so up to dimension 1111. Point 2^k of the Gray code has v_{k+1} as its coordinate,
    // combined with v_k; differences of regular rows stay regular.
    let s = Sobol::new(MAX_DIMENSIONS).unwrap();
    for d in 1..=MAX_DIMENSIONS {
        let mut rows: Vec<u64> =
            (0..d).map(|k| (0..d).filter(|c| s.coordinate(1 << k, *c) >= 0.5).fold(0, |row, c| row | 1 << c)).collect();
        let mut rank = 0;
        for bit in 0..d {
            let Some(at) = (rank..d).find(|r| rows[*r] >> bit & 1 == 1) else { continue };
            rows.swap(rank, at);
            for r in 0..d {
                if r != rank && rows[r] >> bit & 1 == 1 {
                    rows[r] ^= rows[rank];
                }
            }
            rank += 1;
        }
        assert_eq!(rank, d, "{d} dimensions");
    }
}

/// Squared L2 star discrepancy by the formula of Warnock (1972).
fn discrepancy(points: &[Vec<f64>]) -> f64 {
    let (n, d) = (points.len() as f64, points[0].len());
    let one: f64 = points.iter().map(|p| p.iter().map(|x| 1.0 - x * x).product::<f64>()).sum();
    let two: f64 = points
        .iter()
        .flat_map(|p| points.iter().map(move |q| p.iter().zip(q).map(|(a, b)| 1.0 - a.max(*b)).product::<f64>()))
        .sum();
    let power = i32::try_from(d).unwrap();
    3.0_f64.powi(-power) - 2.0_f64.powi(1 - power) * one / n + two / (n * n)
}

#[test]
fn points_are_far_more_even_than_random_ones() {
    let n = 512_u64;
    for d in [2, 5, 8] {
        let s = Sobol::new(d).unwrap();
        let shifted = Sobol::new(d).unwrap().shifted(Seed::new(1));
        let points = |f: &dyn Fn(u64, usize) -> f64| {
            (0..n).map(|i| (0..d).map(|c| f(i, c)).collect()).collect::<Vec<Vec<f64>>>()
        };
        // Of random points the mean of the square is exactly (2^-d − 3^-d)/n.
        let power = i32::try_from(d).unwrap();
        let random = (2.0_f64.powi(-power) - 3.0_f64.powi(-power)) / n as f64;
        for (name, got) in [
            ("plain", discrepancy(&points(&|i, c| s.coordinate(i, c)))),
            ("shifted", discrepancy(&points(&|i, c| shifted.coordinate(i, c)))),
        ] {
            // The ratio falls as (log n)^2d / n²·n: 0.04 in two dimensions, about a half in eight.
            let most = [(2, 0.05), (5, 0.25), (8, 0.8)].iter().find(|m| m.0 == d).unwrap().1;
            assert!(got > 0.0 && got < most * random, "{name}, {d} dimensions: {}", got / random);
        }
        let draws = discrepancy(&points(&|i, c| Seed::new(5).uniform(c as u64, i)));
        // The formula itself: random draws are about as bad as their mean.
        assert!(draws > 0.3 * random && draws < 3.0 * random, "{}", draws / random);
    }
}

#[test]
fn the_ends_of_the_sequence_hold() {
    let s = Sobol::new(2).unwrap();
    assert!(Sobol::new(0).is_err() && Sobol::new(MAX_DIMENSIONS + 1).is_err());
    let last = (1_u64 << BITS) - 1;
    for d in 0..2 {
        assert!((0.0..1.0).contains(&s.coordinate(last, d)));
    }
    let shifted = Sobol::new(1).unwrap().shifted(Seed::new(9));
    assert!((0..4096).all(|i| shifted.coordinate(i, 0) > 0.0 && shifted.coordinate(i, 0) < 1.0));
    assert_eq!(s.coordinate(3, 7).to_bits(), 0.0_f64.to_bits(), "a dimension that is not there");
}
