//! The low-discrepancy sequence of Sobol (1967): points that fill a unit cube more evenly than random
//! ones, each of them reached by its number alone.
//!
//! ```text
//! x_n = g_1 v_1 ⊕ g_2 v_2 ⊕ …,   g = n ⊕ ⌊n/2⌋ (Gray code),   v_k = m_k / 2^k
//! m_k = 2 a_1 m_{k−1} ⊕ 4 a_2 m_{k−2} ⊕ … ⊕ 2^s m_{k−s} ⊕ m_{k−s}
//! ```
//!
//! The Gray code is that of Antonov and Saleev (1979). Primitive polynomials and first direction numbers:
//! Joe and Kuo, SIAM J. Sci. Comput. 30, 2635 (2008), their set `new-joe-kuo-6`, dimensions 1 to 40. The
//! tests check that every polynomial is primitive, that the first points are the published ones, and
//! Sobol's property A.
//!
//! Not here: scrambling beyond a digital shift, nets in other bases.

use super::random::Seed;
use crate::error::RangeError;

/// Most dimensions of a sequence.
pub const MAX_DIMENSIONS: usize = 40;

/// Bits of a coordinate: as many as an `f64` holds below 1 with the half step of a shifted point. The
/// sequence has 2 to this power points.
pub const BITS: usize = 52;

/// Degree s, inner coefficients a_1 … a_{s−1} as one number, first direction numbers m_1 … m_s of the
/// dimensions from the second on.
const TABLE: [(u32, u32, [u16; 8]); MAX_DIMENSIONS - 1] = [
    (1, 0, [1, 0, 0, 0, 0, 0, 0, 0]),
    (2, 1, [1, 3, 0, 0, 0, 0, 0, 0]),
    (3, 1, [1, 3, 1, 0, 0, 0, 0, 0]),
    (3, 2, [1, 1, 1, 0, 0, 0, 0, 0]),
    (4, 1, [1, 1, 3, 3, 0, 0, 0, 0]),
    (4, 4, [1, 3, 5, 13, 0, 0, 0, 0]),
    (5, 2, [1, 1, 5, 5, 17, 0, 0, 0]),
    (5, 4, [1, 1, 5, 5, 5, 0, 0, 0]),
    (5, 7, [1, 1, 7, 11, 19, 0, 0, 0]),
    (5, 11, [1, 1, 5, 1, 1, 0, 0, 0]),
    (5, 13, [1, 1, 1, 3, 11, 0, 0, 0]),
    (5, 14, [1, 3, 5, 5, 31, 0, 0, 0]),
    (6, 1, [1, 3, 3, 9, 7, 49, 0, 0]),
    (6, 13, [1, 1, 1, 15, 21, 21, 0, 0]),
    (6, 16, [1, 3, 1, 13, 27, 49, 0, 0]),
    (6, 19, [1, 1, 1, 15, 7, 5, 0, 0]),
    (6, 22, [1, 3, 1, 15, 13, 25, 0, 0]),
    (6, 25, [1, 1, 5, 5, 19, 61, 0, 0]),
    (7, 1, [1, 3, 7, 11, 23, 15, 103, 0]),
    (7, 4, [1, 3, 7, 13, 13, 15, 69, 0]),
    (7, 7, [1, 1, 3, 13, 7, 35, 63, 0]),
    (7, 8, [1, 3, 5, 9, 1, 25, 53, 0]),
    (7, 14, [1, 3, 1, 13, 9, 35, 107, 0]),
    (7, 19, [1, 3, 1, 5, 27, 61, 31, 0]),
    (7, 21, [1, 1, 5, 11, 19, 41, 61, 0]),
    (7, 28, [1, 3, 5, 3, 3, 13, 69, 0]),
    (7, 31, [1, 1, 7, 13, 1, 19, 1, 0]),
    (7, 32, [1, 3, 7, 5, 13, 19, 59, 0]),
    (7, 37, [1, 1, 3, 9, 25, 29, 41, 0]),
    (7, 41, [1, 3, 5, 13, 23, 1, 55, 0]),
    (7, 42, [1, 3, 7, 3, 13, 59, 17, 0]),
    (7, 50, [1, 3, 1, 3, 5, 53, 69, 0]),
    (7, 55, [1, 1, 5, 5, 23, 33, 13, 0]),
    (7, 56, [1, 1, 7, 7, 1, 61, 123, 0]),
    (7, 59, [1, 1, 7, 9, 13, 61, 49, 0]),
    (7, 62, [1, 3, 3, 5, 3, 55, 33, 0]),
    (8, 14, [1, 3, 1, 15, 31, 13, 49, 245]),
    (8, 21, [1, 3, 5, 15, 31, 59, 63, 97]),
    (8, 22, [1, 3, 1, 11, 11, 11, 77, 249]),
];

/// A sequence in a number of dimensions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sobol {
    /// Direction numbers v_k of every dimension, the first bit after the point in bit `BITS − 1`.
    directions: Vec<[u64; BITS]>,
    /// Digital shift of every dimension; `None` for the sequence as published.
    shift: Option<Vec<u64>>,
}

/// Direction numbers of one dimension.
fn directions(dimension: usize) -> [u64; BITS] {
    let mut v = [0; BITS];
    let row = dimension.checked_sub(1).and_then(|d| TABLE.get(d));
    let Some((degree, inner, first)) = row else {
        // Every m of the first dimension is 1: the sequence of van der Corput.
        for (k, v) in v.iter_mut().enumerate() {
            *v = 1 << (BITS - 1 - k);
        }
        return v;
    };
    let s = *degree as usize;
    for k in 0..BITS {
        v[k] = if k < s {
            u64::from(first[k]) << (BITS - 1 - k)
        } else {
            let mut next = v[k - s] ^ (v[k - s] >> s);
            for i in 1..s {
                if inner >> (s - 1 - i) & 1 == 1 {
                    next ^= v[k - i];
                }
            }
            next
        };
    }
    v
}

impl Sobol {
    /// The sequence as published: its point 0 is the corner of zeros.
    ///
    /// # Errors
    /// Fewer than 1 or more than [`MAX_DIMENSIONS`] dimensions.
    ///
    /// # Example
    /// ```
    /// use trochoid::math::sobol::Sobol;
    /// let sequence = Sobol::new(3)?;
    /// // Point 5 of the published list in three dimensions.
    /// assert_eq!((0..3).map(|d| sequence.coordinate(5, d)).collect::<Vec<_>>(), [0.875, 0.875, 0.125]);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn new(dimensions: usize) -> Result<Self, RangeError> {
        if dimensions == 0 || dimensions > MAX_DIMENSIONS {
            return Err(RangeError::new("dimensions", dimensions as f64, "", format!("1 to {MAX_DIMENSIONS}")));
        }
        Ok(Self { directions: (0..dimensions).map(directions).collect(), shift: None })
    }

    /// The same points moved by a digital shift: every bit pattern of a dimension is combined with one random
    /// pattern of that dimension. It keeps how evenly a block of 2^k points fills the cube, and no coordinate
    /// is 0 any more.
    ///
    /// # Example
    /// ```
    /// use trochoid::math::{random::Seed, sobol::Sobol};
    /// // Of the first four points one lies in each quarter of each axis, shifted or not.
    /// let sequence = Sobol::new(2)?.shifted(Seed::new(1));
    /// let mut quarters: Vec<f64> = (0..4).map(|n| (4.0 * sequence.coordinate(n, 1)).floor()).collect();
    /// quarters.sort_by(f64::total_cmp);
    /// assert_eq!(quarters, [0.0, 1.0, 2.0, 3.0]);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn shifted(mut self, seed: Seed) -> Self {
        let shift = (0..self.directions.len() as u64).map(|d| seed.bits(d, 0) >> (64 - BITS));
        self.shift = Some(shift.collect());
        self
    }

    /// Number of dimensions.
    #[must_use]
    pub fn dimensions(&self) -> usize {
        self.directions.len()
    }

    /// Coordinate `dimension` of point `index` \[1\]: 0 to below 1, above 0 where the sequence is shifted. Only
    /// the lowest [`BITS`] bits of the index count. 0 for a dimension that the sequence does not have.
    /// See the example of [`Sobol::new`].
    #[must_use]
    pub fn coordinate(&self, index: u64, dimension: usize) -> f64 {
        const STEPS: f64 = (1_u64 << BITS) as f64;
        let Some(v) = self.directions.get(dimension) else { return 0.0 };
        let mut gray = (index ^ (index >> 1)) & ((1 << BITS) - 1);
        let mut x = 0;
        while gray != 0 {
            x ^= v[gray.trailing_zeros() as usize];
            gray &= gray - 1;
        }
        match self.shift.as_ref().and_then(|s| s.get(dimension)) {
            Some(shift) => ((x ^ shift) as f64 + 0.5) / STEPS,
            None => x as f64 / STEPS,
        }
    }

    /// Polynomial and first direction numbers of a dimension from the second (1) on: degree, inner
    /// coefficients as one number, m_1 to m_s. For checks of the table.
    #[must_use]
    pub fn table_row(dimension: usize) -> Option<(u32, u32, Vec<u16>)> {
        let (degree, inner, first) = TABLE.get(dimension.checked_sub(1)?)?;
        Some((*degree, *inner, first.iter().take(*degree as usize).copied().collect()))
    }
}
