//! Interpolation through points that does not overshoot: C¹ cubic Hermite pieces with the slopes of
//! F. N. Fritsch and J. Butland, "A method for constructing local monotone piecewise cubic
//! interpolants", SIAM J. Sci. Stat. Comput. 5 (1984) 300-304, in the weighted form for uneven spacing,
//! with one-sided three-point slopes at the ends.
//!
//! Not a spline: the second derivative jumps at the points, and a point higher than both its neighbours
//! gets a level tangent.

/// A monotone cubic interpolant: it rises, falls and stays level where its points do.
///
/// ```text
/// y(t) = y0 s²(1 + 2t) + y1 t²(1 + 2s) + h (m0 t s² − m1 t² s),   t = (x − x0)/h, s = 1 − t
/// m    = (w1 + w2)/(w1/d0 + w2/d1),   w1 = 2h1 + h0, w2 = h1 + 2h0      h widths, d secants
/// ```
///
/// A slope is 0 where the secants on both sides differ in sign. Three points or more, any unit.
///
/// # Accuracy
/// Exact on a straight line; never beyond the two points around a place. Third order on even spacing where
/// the data are smooth and monotone, second on uneven spacing and at a peak, which is cut off level.
///
/// # Example
/// ```
/// use trochoid::math::interpolate::MonotoneCubic;
/// // Widths 1 and 2, secants 1 and 4. Slope at x = 1: w1 = 5, w2 = 4, so 9/(5/1 + 4/4) = 1.5; at the end
/// // (5·4 − 2·1)/3 = 6. Half-way between 1 and 3: (1 + 9)/2 + 2·(1.5 − 6)/8 = 3.875.
/// let curve = MonotoneCubic::through(vec![0.0, 1.0, 3.0], vec![0.0, 1.0, 9.0]);
/// assert!(curve.is_some_and(|c| (c.at(2.0) - 3.875).abs() < 1e-14));
/// ```
///
/// # References
/// F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304.
#[derive(Debug, Clone, PartialEq)]
pub struct MonotoneCubic {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl MonotoneCubic {
    /// The interpolant through points of rising `x`; `None` with fewer than three of them, with a number
    /// that is not finite, with lists of different length, or where `x` does not rise.
    /// See the example of [`MonotoneCubic`].
    #[must_use]
    pub fn through(x: Vec<f64>, y: Vec<f64>) -> Option<Self> {
        let n = x.len();
        let finite = x.iter().chain(&y).all(|v| v.is_finite());
        if n < 3 || y.len() != n || !finite || x.windows(2).any(|p| p[1] <= p[0]) {
            return None;
        }
        let slope = monotone_slopes(&x, &y);
        Some(Self { x, y, slope })
    }

    /// Value at `x` \[unit of y\]; outside the points that of the nearest end.
    /// See the example of [`MonotoneCubic`].
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        let n = self.x.len();
        let i = self.x.partition_point(|p| *p <= x).clamp(1, n - 1) - 1;
        let h = self.x[i + 1] - self.x[i];
        let t = ((x - self.x[i]) / h).clamp(0.0, 1.0);
        let s = 1.0 - t;
        self.y[i] * s * s * (1.0 + 2.0 * t)
            + self.y[i + 1] * t * t * (1.0 + 2.0 * s)
            + h * (self.slope[i] * t * s * s - self.slope[i + 1] * t * t * s)
    }
}

/// Slopes at two or more points of rising `x`; through two of them the curve is a straight line.
pub(crate) fn monotone_slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let n = x.len();
    let h: Vec<f64> = x.windows(2).map(|p| p[1] - p[0]).collect();
    let d: Vec<f64> = y.windows(2).zip(&h).map(|(p, h)| (p[1] - p[0]) / h).collect();
    if n == 2 {
        return vec![d[0]; 2];
    }
    let mut slope = vec![end_slope(h[0], h[1], d[0], d[1])];
    for i in 1..n - 1 {
        slope.push(if d[i - 1] * d[i] <= 0.0 {
            0.0
        } else {
            let (w1, w2) = (2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]);
            (w1 + w2) / (w1 / d[i - 1] + w2 / d[i])
        });
    }
    slope.push(end_slope(h[n - 2], h[n - 3], d[n - 2], d[n - 3]));
    slope
}

/// One-sided three-point slope, kept monotone.
fn end_slope(h0: f64, h1: f64, d0: f64, d1: f64) -> f64 {
    let m = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if m * d0 <= 0.0 {
        0.0
    } else if d0 * d1 <= 0.0 && m.abs() > 3.0 * d0.abs() {
        3.0 * d0
    } else {
        m
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_kept_and_a_step_is_not_overshot() {
        let line = MonotoneCubic::through(vec![0.0, 1.0, 2.5, 4.0], vec![1.0, 3.0, 6.0, 9.0]).unwrap();
        for k in 0..=40 {
            let x = f64::from(k) * 0.1;
            assert!((line.at(x) - (1.0 + 2.0 * x)).abs() < 1e-13); // a few roundings of numbers below 10
        }
        let step = MonotoneCubic::through(vec![0.0, 1.0, 2.0, 3.0], vec![0.0, 0.0, 1.0, 1.0]).unwrap();
        let mut last = 0.0;
        for k in 0..=300 {
            let y = step.at(f64::from(k) * 0.01);
            // 1e-15: the rounding of a sum near 1.
            assert!((0.0..=1.0 + 1e-15).contains(&y) && y >= last - 1e-15, "{k}: {y}");
            last = y;
        }
    }

    #[test]
    fn a_slope_worked_by_hand() {
        // h 1 and 2, secants 1 and 4: w1 5, w2 4; slope 9 / (5/1 + 4/4) = 1.5.
        let c = MonotoneCubic::through(vec![0.0, 1.0, 3.0], vec![0.0, 1.0, 9.0]).unwrap();
        let e = 1e-6;
        let slope = (c.at(1.0 + e) - c.at(1.0 - e)) / (2.0 * e);
        assert!((slope - 1.5).abs() < 1e-5); // the second derivative jumps there, by about 5 over 2e-6
    }

    #[test]
    fn points_that_do_not_rise_are_refused() {
        assert!(MonotoneCubic::through(vec![0.0, 1.0], vec![0.0, 1.0]).is_none());
        assert!(MonotoneCubic::through(vec![0.0, 1.0, 1.0], vec![0.0, 1.0, 2.0]).is_none());
        assert!(MonotoneCubic::through(vec![0.0, 1.0, 2.0], vec![0.0, f64::NAN, 2.0]).is_none());
    }
}
