//! Gauss-Legendre quadrature on an interval, with optional crowding of nodes at an end where the
//! integrand has a square-root or logarithmic corner.
//!
//! Nodes by Newton iteration on the Legendre polynomial, Abramowitz and Stegun 25.4.29-30.

use std::sync::OnceLock;

/// Largest rule kept.
pub const MAX_NODES: usize = 128;

/// One node of a rule on 0..1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Place in 0..1 \[1\].
    pub x: f64,
    /// Weight \[1\]; the weights of a rule add up to 1, but for one node with [`Ends::Both`] (1.5).
    pub w: f64,
}

/// How nodes are spread over a segment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Smooth at both ends: plain Gauss.
    Smooth,
    /// Corner at the left end: x = u².
    Left,
    /// Corner at the right end: x = 2u − u².
    Right,
    /// Corners at both ends: x = 3u² − 2u³.
    Both,
}

impl Ends {
    /// Spread from the two ends' own flags.
    #[must_use]
    pub const fn from_flags(left: bool, right: bool) -> Self {
        match (left, right) {
            (false, false) => Self::Smooth,
            (true, false) => Self::Left,
            (false, true) => Self::Right,
            (true, true) => Self::Both,
        }
    }
}

type Table = Vec<OnceLock<[Vec<Node>; 4]>>;

fn table() -> &'static Table {
    static TABLE: OnceLock<Table> = OnceLock::new();
    TABLE.get_or_init(|| (0..=MAX_NODES).map(|_| OnceLock::new()).collect())
}

/// Gauss rule with `n` nodes (clamped to 1..=[`MAX_NODES`]) on 0..1, crowded as `ends` says.
///
/// # Accuracy
/// Exact for polynomials of degree 2n−1 with [`Ends::Smooth`]; nodes to the last bit or two.
///
/// # Example
/// ```
/// use trochoid::math::quadrature::{rule, Ends};
/// let third: f64 = rule(4, Ends::Smooth).iter().map(|q| q.w * q.x * q.x).sum();
/// assert!((third - 1.0 / 3.0).abs() < 1e-15);
/// ```
///
/// # References
/// Abramowitz and Stegun, 25.4.29-30.
#[must_use]
pub fn rule(n: usize, ends: Ends) -> &'static [Node] {
    let n = n.clamp(1, MAX_NODES);
    let all = table()[n].get_or_init(|| {
        let plain = legendre(n);
        let map = |f: fn(f64) -> (f64, f64)| {
            plain
                .iter()
                .map(|q| {
                    let (x, dx) = f(q.x);
                    Node { x, w: q.w * dx }
                })
                .collect::<Vec<_>>()
        };
        let left = map(|u| (u * u, 2.0 * u));
        let right = map(|u| (u * (2.0 - u), 2.0 * (1.0 - u)));
        let both = map(|u| (u * u * (3.0 - 2.0 * u), 6.0 * u * (1.0 - u)));
        [plain, left, right, both]
    });
    match ends {
        Ends::Smooth => &all[0],
        Ends::Left => &all[1],
        Ends::Right => &all[2],
        Ends::Both => &all[3],
    }
}

fn legendre(n: usize) -> Vec<Node> {
    let nf = n as f64;
    let mut nodes = vec![Node { x: 0.5, w: 1.0 }; n];
    for i in 0..n.div_ceil(2) {
        let mut z = (core::f64::consts::PI * (i as f64 + 0.75) / (nf + 0.5)).cos();
        let mut derivative = 1.0;
        for _ in 0..100 {
            let (mut p1, mut p2) = (1.0, 0.0);
            for j in 0..n {
                let jf = j as f64;
                (p1, p2) = (((2.0 * jf + 1.0) * z * p1 - jf * p2) / (jf + 1.0), p1);
            }
            derivative = nf * (z * p1 - p2) / (z * z - 1.0);
            let step = p1 / derivative;
            z -= step;
            if step.abs() < 1e-16 {
                break;
            }
        }
        let w = 1.0 / ((1.0 - z * z) * derivative * derivative);
        nodes[i] = Node { x: 0.5 * (1.0 - z), w };
        nodes[n - 1 - i] = Node { x: 0.5 * (1.0 + z), w };
    }
    nodes
}

/// Integral of `f` over `low..high` with `n` Gauss nodes, in the unit of f times that of its argument
/// \[f·x\]; the sign turns with the ends.
///
/// # Accuracy
/// That of [`rule`]: exact up to degree 2n − 1 where smooth. No error estimate: the caller compares two
/// numbers of nodes.
///
/// # Example
/// ```
/// use trochoid::math::quadrature::{Ends, integrate};
/// // ∫√x over 0..4 is (2/3)·8 = 16/3; with x = 4u² the root is 2u, so two nodes give it exactly.
/// let crowded = integrate(0.0, 4.0, 2, Ends::Left, f64::sqrt);
/// assert!((crowded - 16.0 / 3.0).abs() < 1e-14);
/// assert!((integrate(0.0, 4.0, 2, Ends::Smooth, f64::sqrt) - 16.0 / 3.0).abs() > 0.01);
/// ```
pub fn integrate(low: f64, high: f64, n: usize, ends: Ends, mut f: impl FnMut(f64) -> f64) -> f64 {
    let span = high - low;
    rule(n, ends).iter().map(|q| q.w * f(low + span * q.x)).sum::<f64>() * span
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_add_up_and_low_rules_match_the_handbook() {
        for n in [1, 2, 3, 5, 8, 16, 31, 64, 128] {
            for ends in [Ends::Smooth, Ends::Left, Ends::Right, Ends::Both] {
                let sum: f64 = rule(n, ends).iter().map(|q| q.w).sum();
                let expected = if n == 1 && ends == Ends::Both { 1.5 } else { 1.0 };
                // One node cannot integrate the quadratic Jacobian of the two-sided map.
                assert!((sum - expected).abs() < 1e-13, "rounding of {n} terms: {sum}");
            }
        }
        // Abramowitz and Stegun table 25.4, n = 3: ±0.774596669241483, weights 5/9, 8/9.
        let r = rule(3, Ends::Smooth);
        assert!((r[0].x - 0.5 * (1.0 - 0.774_596_669_241_483)).abs() < 1e-15, "table has 15 digits");
        assert!((r[1].w - 4.0 / 9.0).abs() < 1e-15, "rounding");
    }

    #[test]
    fn crowding_removes_square_root_corners() {
        // ∫ √(x(1−x)) = π/8; plain Gauss with 12 nodes is off by 1e-4, the mapped one by less than 1e-9.
        let both = integrate(0.0, 1.0, 12, Ends::Both, |x| (x * (1.0 - x)).sqrt());
        assert!((both - core::f64::consts::PI / 8.0).abs() < 1e-9, "{both}");
    }
}
