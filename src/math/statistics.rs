//! Statistics of cell values: mean, population standard deviation, percentiles.

/// Summary of a set of values, as of the cells of a map; in the unit of the values \[u\].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Number of values.
    pub count: usize,
    /// Mean \[u\].
    pub mean: f64,
    /// Population standard deviation \[u\] (over n, not n − 1).
    pub sd: f64,
    /// 5th percentile \[u\], linear between sorted values.
    pub p5: f64,
    /// 95th percentile \[u\], likewise.
    pub p95: f64,
    /// Smallest \[u\].
    pub min: f64,
    /// Largest \[u\].
    pub max: f64,
}

impl Summary {
    /// Summary of `values`, all of equal weight; `None` when there are none.
    ///
    /// # Example
    /// ```
    /// use trochoid::math::statistics::Summary;
    /// // Mean 2.5, variance (2.25 + 0.25 + 0.25 + 2.25)/4 = 1.25; 5 % of the way lies 0.15 past the first.
    /// let s = Summary::of(&[4.0, 1.0, 3.0, 2.0]);
    /// assert!(s.is_some_and(|s| (s.mean - 2.5).abs() < 1e-15 && (s.sd - 1.25f64.sqrt()).abs() < 1e-15));
    /// assert!(s.is_some_and(|s| (s.p5 - 1.15).abs() < 1e-14 && (s.p95 - 3.85).abs() < 1e-14));
    /// ```
    #[must_use]
    pub fn of(values: &[f64]) -> Option<Self> {
        if values.is_empty() {
            return None;
        }
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let variance = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / n;
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        Some(Self {
            count: values.len(),
            mean,
            sd: variance.sqrt(),
            p5: percentile(&sorted, 0.05),
            p95: percentile(&sorted, 0.95),
            min: sorted[0],
            max: sorted[sorted.len() - 1],
        })
    }

    /// Summary of values with weights (value, weight), for cells of unequal area; percentiles are
    /// linear between the middles of the sorted values' weights, which for equal weights differs from
    /// [`percentile`] by less than one value's step. `None` when there are none or nothing weighs.
    ///
    /// # Example
    /// ```
    /// use trochoid::math::statistics::Summary;
    /// // Three parts of 1 and one of 5: mean 8/4 = 2, variance (3·1 + 1·9)/4 = 3.
    /// let s = Summary::weighted(&[(5.0, 1.0), (1.0, 3.0)]);
    /// assert!(s.is_some_and(|s| (s.mean - 2.0).abs() < 1e-15 && (s.sd - 3f64.sqrt()).abs() < 1e-15));
    /// ```
    #[must_use]
    pub fn weighted(values: &[(f64, f64)]) -> Option<Self> {
        let whole: f64 = values.iter().map(|v| v.1).sum();
        if values.is_empty() || whole.is_nan() || whole <= 0.0 {
            return None;
        }
        let mean = values.iter().map(|v| v.0 * v.1).sum::<f64>() / whole;
        let variance = values.iter().map(|v| v.1 * (v.0 - mean) * (v.0 - mean)).sum::<f64>() / whole;
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let at = |share: f64| {
            let goal = share * whole;
            let mut before = 0.0;
            let mut last: Option<(f64, f64)> = None;
            for (v, w) in &sorted {
                let middle = before + 0.5 * w;
                if middle >= goal {
                    return last.map_or(*v, |(m, u)| u + (goal - m) / (middle - m) * (v - u));
                }
                last = Some((middle, *v));
                before += w;
            }
            sorted[sorted.len() - 1].0
        };
        Some(Self {
            count: values.len(),
            mean,
            sd: variance.sqrt(),
            p5: at(0.05),
            p95: at(0.95),
            min: sorted[0].0,
            max: sorted[sorted.len() - 1].0,
        })
    }

    /// Coefficient of variation, standard deviation over mean \[1\]; `None` where the mean is not positive.
    #[must_use]
    pub fn cv(&self) -> Option<f64> {
        (self.mean > 0.0).then(|| self.sd / self.mean)
    }
}

/// Percentile of sorted values \[u\], linear between the values at i/(n−1); a `share` outside 0 to 1 is taken
/// to the nearer end. NaN of no values.
///
/// # Example
/// ```
/// use trochoid::math::statistics::percentile;
/// // A quarter of the way through 0, 10, 20 lies half-way between the first two.
/// assert!((percentile(&[0.0, 10.0, 20.0], 0.25) - 5.0).abs() < 1e-14);
/// ```
#[must_use]
pub fn percentile(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return f64::NAN };
    let place = share.clamp(0.0, 1.0) * last as f64;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place ≤ last
    let i = (place.floor() as usize).min(last);
    let t = place - i as f64;
    if i == last { sorted[last] } else { sorted[i] + t * (sorted[i + 1] - sorted[i]) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hand_worked_set() {
        let s = Summary::of(&[4.0, 1.0, 3.0, 2.0]).unwrap();
        assert!((s.mean - 2.5).abs() < 1e-15);
        // variance (2.25+0.25+0.25+2.25)/4 = 1.25
        assert!((s.sd - 1.25f64.sqrt()).abs() < 1e-15);
        // place 0.05·3 = 0.15 between 1 and 2
        assert!((s.p5 - 1.15).abs() < 1e-12);
        assert!(Summary::of(&[]).is_none());
    }
}
