//! What was believed before a measurement and what after: two densities, the interval
//! and the median of the second.
//!
//! Makes a [`CurveChart`]; the densities are given, not computed.

use super::curve::{Band, CurveChart, Limit, Mark, Series, SeriesLabels};
use super::scale::{Axis, plain};
use super::{Figure, MAX_POINTS, PlotError, check_size};

/// Prior and posterior density of one quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct DensityChart {
    /// Title.
    pub title: String,
    /// One line of settings below the picture; wrapped when long.
    pub caption: String,
    /// Title of the quantity with its unit.
    pub x_title: String,
    /// Title of the density with its unit.
    pub y_title: String,
    /// Name of the first curve.
    pub prior_name: String,
    /// Quantity and density before, from left to right; may be empty.
    pub prior: Vec<(f64, f64)>,
    /// Name of the second curve.
    pub posterior_name: String,
    /// Quantity and density after, from left to right.
    pub posterior: Vec<(f64, f64)>,
    /// Interval shaded below the second curve \[unit of the x axis\].
    pub interval: (f64, f64),
    /// Name of the interval, such as `90 % interval`.
    pub interval_name: String,
    /// Median of the second curve \[unit of the x axis\].
    pub median: f64,
    /// Reference lines, such as a limit or a measured value.
    pub limits: Vec<Limit>,
    /// Width of the picture when it stands alone \[picture units\], within [`WIDTHS`](super::WIDTHS).
    pub width: f64,
}

impl Default for DensityChart {
    fn default() -> Self {
        Self {
            title: String::new(),
            caption: String::new(),
            x_title: String::new(),
            y_title: "probability density".into(),
            prior_name: "before the test spot".into(),
            prior: Vec::new(),
            posterior_name: "after the test spot".into(),
            posterior: Vec::new(),
            interval: (0.0, 0.0),
            interval_name: "90 % interval".into(),
            median: 0.0,
            limits: Vec::new(),
            width: 720.0,
        }
    }
}

impl DensityChart {
    /// The chart, to be drawn or put on a page.
    ///
    /// # Errors
    /// [`PlotError`] for fewer than two points after, a point that is not finite, a density
    /// below zero, points not from left to right, or an interval or median outside the second
    /// curve.
    ///
    /// # Example
    /// ```
    /// use trochoid::plot::DensityChart;
    /// // A triangle between 1 and 3 with its median at its top.
    /// let chart = DensityChart {
    ///     title: "Removal coefficient".into(),
    ///     x_title: "k_p [1e-11 1/Pa]".into(),
    ///     posterior_name: "after".into(),
    ///     posterior: vec![(1.0, 0.0), (2.0, 1.0), (3.0, 0.0)],
    ///     interval: (1.5, 2.5),
    ///     median: 2.0,
    ///     ..DensityChart::default()
    /// };
    /// assert!(chart.chart()?.figure().is_ok());
    /// // A median beside the curve is refused.
    /// assert!(DensityChart { median: 4.0, ..chart }.chart().is_err());
    /// # Ok::<(), trochoid::plot::PlotError>(())
    /// ```
    pub fn chart(&self) -> Result<CurveChart, PlotError> {
        let name = format!("the density \"{}\"", self.title);
        check_size(
            "number of points of a density",
            (self.prior.len() + self.posterior.len()) as f64,
            MAX_POINTS as f64,
        )?;
        if self.posterior.len() < 2 {
            return Err(PlotError::Empty { what: name });
        }
        for curve in [&self.prior, &self.posterior] {
            if let Some(p) = curve.iter().find(|p| !(p.0.is_finite() && p.1 >= 0.0 && p.1.is_finite())) {
                let allowed = "finite, its density at least 0".to_string();
                return Err(PlotError::Range { what: format!("point of {name}"), value: p.1, allowed });
            }
            if let Some(w) = curve.windows(2).find(|w| w[1].0 <= w[0].0) {
                let allowed = format!("above {}: points run from left to right", w[0].0);
                return Err(PlotError::Range { what: format!("point of {name}"), value: w[1].0, allowed });
            }
        }
        let (first, last) = (self.posterior[0].0, self.posterior[self.posterior.len() - 1].0);
        let (low, high) = self.interval;
        for (what, value, least) in
            [("interval start", low, first), ("median", self.median, low), ("interval end", high, self.median)]
        {
            if !(value >= least && value <= last) {
                let allowed = format!("from {least} to {last}");
                return Err(PlotError::Range { what: format!("{what} of {name}"), value, allowed });
            }
        }
        let mut upper = vec![(low, self.after(low))];
        upper.extend(self.posterior.iter().copied().filter(|p| p.0 > low && p.0 < high));
        upper.push((high, self.after(high)));
        let at_median = (self.median, self.after(self.median));
        let line = |label: &str, points: Vec<(f64, f64)>, style: usize| Series {
            markers: false,
            style: Some(style),
            ..Series::new(label, points)
        };
        let mut series = Vec::new();
        if !self.prior.is_empty() {
            series.push(line(&self.prior_name, self.prior.clone(), 1));
        }
        series.push(line(&self.posterior_name, self.posterior.clone(), 0));
        series.push(line("", vec![(self.median, 0.0), at_median], 6));
        Ok(CurveChart {
            title: self.title.clone(),
            caption: self.caption.clone(),
            x: Axis::linear(&self.x_title),
            y: Axis::linear(&self.y_title),
            series,
            bands: vec![Band {
                label: format!("{}: {} to {}", self.interval_name, plain(low), plain(high)),
                lower: vec![(low, 0.0), (high, 0.0)],
                upper,
                style: 0,
            }],
            limits: self.limits.clone(),
            marks: vec![Mark { label: format!("median {}", plain(self.median)), x: at_median.0, y: at_median.1 }],
            labels: SeriesLabels::Legend,
            width: self.width,
            ..CurveChart::default()
        })
    }

    /// Draws the chart alone.
    ///
    /// # Errors
    /// As [`DensityChart::chart`], and those of drawing.
    pub fn figure(&self) -> Result<Figure, PlotError> {
        self.chart()?.figure()
    }

    /// The second curve between its points.
    fn after(&self, x: f64) -> f64 {
        let at = self.posterior.partition_point(|p| p.0 < x).clamp(1, self.posterior.len() - 1);
        let (a, b) = (self.posterior[at - 1], self.posterior[at]);
        a.1 + (x - a.0) / (b.0 - a.0) * (b.1 - a.1)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;

    fn hill(centre: f64, spread: f64) -> Vec<(f64, f64)> {
        let density = |x: f64| (-0.5 * ((x - centre) / spread).powi(2)).exp() / (spread * std::f64::consts::TAU.sqrt());
        (0..=200).map(|i| f64::from(i) * 0.03).map(|x| (x, density(x))).collect()
    }

    fn chart() -> DensityChart {
        DensityChart {
            title: "Removal".into(),
            x_title: "k [1e-11/Pa]".into(),
            prior: hill(2.0, 1.0),
            posterior: hill(2.6, 0.35),
            interval: (2.024, 3.176),
            median: 2.6,
            ..DensityChart::default()
        }
    }

    /// The shaded area of a normal density between its 5 % and 95 % points is 0.9 (1.645 standard
    /// deviations to each side, any table of the normal distribution).
    #[test]
    fn the_shaded_area_is_that_of_the_interval() {
        let c = chart().chart().unwrap();
        let area: f64 = c.bands[0].upper.windows(2).map(|w| 0.5 * (w[0].1 + w[1].1) * (w[1].0 - w[0].0)).sum();
        // 1e-3: the interval is rounded to 1.646 deviations (1e-4) and the chord rule errs by h²/12 of the slope change (2e-4).
        assert!((area - 0.9).abs() < 1e-3, "{area}");
        assert_eq!(c.marks[0].label, "median 2.6");
    }

    #[test]
    fn what_does_not_fit_the_curve_is_refused() {
        let range = |d: DensityChart| matches!(d.chart(), Err(PlotError::Range { .. }));
        assert!(range(DensityChart { median: 9.0, ..chart() }));
        assert!(range(DensityChart { interval: (2.7, 3.0), ..chart() }));
        assert!(range(DensityChart { interval: (f64::NAN, 3.0), ..chart() }));
        assert!(range(DensityChart { prior: vec![(0.0, 1.0), (0.0, 2.0)], ..chart() }));
        assert!(range(DensityChart { posterior: vec![(0.0, -1.0), (9.0, 2.0)], ..chart() }));
        let empty = DensityChart { posterior: Vec::new(), ..chart() };
        assert!(matches!(empty.chart(), Err(PlotError::Empty { .. })));
    }
}
