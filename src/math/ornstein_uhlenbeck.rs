//! A wandering quantity: the stationary Ornstein-Uhlenbeck process, mean 0 and standard deviation 1, at
//! given places along a line.
//!
//! ```text
//! z_0 = ξ_0,   z_j = ρ_j z_(j−1) + √(1 − ρ_j²) ξ_j,   ρ_j = exp(−d_j/ℓ)
//! ```
//!
//! with ξ independent standard normal numbers, d_j the distance to the place before and ℓ the
//! correlation length: exact at any distance, no time step (G. E. Uhlenbeck, L. S. Ornstein, On the
//! theory of the Brownian motion, Phys. Rev. 36 (1930) 823; D. T. Gillespie, Phys. Rev. E 54 (1996)
//! 2084, the update; from memory). The correlation of two places is exp(−distance/ℓ).

use crate::error::RangeError;

/// The process at given places, with mean 0, standard deviation 1 and a correlation of exp(−distance/ℓ).
#[derive(Debug, Clone, PartialEq)]
pub struct OrnsteinUhlenbeck {
    /// What is kept of the value before, and the weight of what is new.
    steps: Vec<(f64, f64)>,
}

impl OrnsteinUhlenbeck {
    /// A process whose places follow each other at `distances`, one fewer than there are places, with
    /// the correlation length `correlation`, all in one unit.
    /// See the example of [`OrnsteinUhlenbeck::path`].
    ///
    /// # Errors
    /// A distance that is negative or not finite, a correlation length that is not positive and finite.
    pub fn along(distances: &[f64], correlation: f64) -> Result<Self, RangeError> {
        if !(correlation.is_finite() && correlation > 0.0) {
            return Err(RangeError::new("correlation length", correlation, "", "above 0 and finite"));
        }
        if let Some(bad) = distances.iter().find(|d| !(d.is_finite() && **d >= 0.0)) {
            return Err(RangeError::new("distance of two places", *bad, "", "0 or more and finite"));
        }
        // 1 − ρ² without cancellation at small distances.
        let step = |d: &f64| ((-d / correlation).exp(), (-(-2.0 * d / correlation).exp_m1()).sqrt());
        Ok(Self { steps: distances.iter().map(step).collect() })
    }

    /// Number of places.
    #[must_use]
    pub fn places(&self) -> usize {
        self.steps.len() + 1
    }

    /// One path \[1\], from the standard normal number that `draw` gives for each place.
    ///
    /// ```text
    /// z_0 = ξ_0,   z_j = ρ_j z_(j−1) + √(1 − ρ_j²) ξ_j,   ρ_j = exp(−d_j/ℓ)
    /// ```
    ///
    /// # Accuracy
    /// Exact in distribution at any distance.
    ///
    /// # Example
    /// ```
    /// use trochoid::math::ornstein_uhlenbeck::OrnsteinUhlenbeck;
    /// // One correlation length on, 1/e of the value is left; the rest is new.
    /// let process = OrnsteinUhlenbeck::along(&[2.0], 2.0)?;
    /// let path = process.path(|place| if place == 0 { 1.0 } else { 0.0 });
    /// assert!((path[1] - (-1.0_f64).exp()).abs() < 1e-15);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    ///
    /// # References
    /// Uhlenbeck and Ornstein (1930); Gillespie (1996).
    #[must_use]
    pub fn path(&self, draw: impl Fn(u64) -> f64) -> Vec<f64> {
        let mut z = draw(0);
        let mut out = Vec::with_capacity(self.places());
        out.push(z);
        for (place, (kept, new)) in (1..).zip(&self.steps) {
            z = kept * z + new * draw(place);
            out.push(z);
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::random::Seed;

    #[test]
    fn the_correlation_is_that_set_at_uneven_distances() {
        let process = OrnsteinUhlenbeck::along(&[0.3, 1.0, 0.2], 1.3).unwrap();
        let seed = Seed::new(4);
        let count = 40_000;
        let paths: Vec<Vec<f64>> = (0..count).map(|i| process.path(|k| seed.normal(i, k))).collect();
        let at = [0.0, 0.3, 1.3, 1.5_f64];
        for i in 0..4 {
            for j in 0..4 {
                let got = paths.iter().map(|p| p[i] * p[j]).sum::<f64>() / f64::from(u32::try_from(count).unwrap());
                let expected = (-(at[i] - at[j]).abs() / 1.3).exp();
                // Standard error √((1 + ρ²)/n) at most 0.0071; four of them, the seed is fixed.
                assert!((got - expected).abs() < 0.029, "{i} {j}: {got} {expected}");
            }
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(OrnsteinUhlenbeck::along(&[1.0], 0.0).is_err());
        assert!(OrnsteinUhlenbeck::along(&[f64::NAN], 1.0).is_err());
        assert!(OrnsteinUhlenbeck::along(&[-1.0], 1.0).is_err());
        assert_eq!(OrnsteinUhlenbeck::along(&[], 1.0).unwrap().places(), 1);
    }
}
