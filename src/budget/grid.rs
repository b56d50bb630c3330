//! The posterior on a grid: axes, tables of the spots' likelihoods, refinement where the mass is.
//!
//! No random numbers: the same records give the same bits. The removal coefficient and the bearing
//! drag are refined until the grid fits the mass; the other axes are as wide as their priors.

use super::calibrate::CalibrationSettings;
use super::error::BudgetError;
use super::likelihood::{ln_class, ln_count, ln_shown_difference};
use super::spot::{PairedReading, SwirlsLeft, TestSpot};

/// Places of the axes in every list.
pub(super) const REMOVAL: usize = 0;
pub(super) const DRAG: usize = 1;
pub(super) const DEPTH: usize = 2;
pub(super) const BREAKDOWN: usize = 3;
pub(super) const PRESSURE: usize = 4;
pub(super) const AXES: usize = 5;

/// Drop of the log-density below its top beyond which a grid is cut: 3e-7 of the top.
const DROP: f64 = 15.0;
/// Most numbers that the tables of a calibration hold: 320 MB.
const MOST_HELD: f64 = 4e7;
/// Most likelihood terms of one pass over the grid: some seconds.
const MOST_TERMS: f64 = 5e8;
/// Most refinements.
const PASSES: u32 = 8;

/// One parameter: evenly spaced nodes and the logarithm of its prior density there.
#[derive(Debug, Clone)]
pub(super) struct Axis {
    pub nodes: Vec<f64>,
    pub ln_prior: Vec<f64>,
}

impl Axis {
    /// A parameter that is not varied.
    pub(super) fn fixed(at: f64) -> Self {
        Self { nodes: vec![at], ln_prior: vec![0.0] }
    }

    pub(super) fn over(low: f64, high: f64, count: usize, ln_prior: impl Fn(f64) -> f64) -> Self {
        let step = (high - low) / (count as f64 - 1.0);
        let nodes: Vec<f64> = (0..count).map(|i| low + step * i as f64).collect();
        let ln_prior = nodes.iter().map(|x| ln_prior(*x)).collect();
        Self { nodes, ln_prior }
    }

    pub(super) fn varies(&self) -> bool {
        self.nodes.len() > 1
    }

    /// Trapezoid weight of a node, without the step.
    fn weight(&self, i: usize) -> f64 {
        if self.varies() && (i == 0 || i + 1 == self.nodes.len()) { 0.5 } else { 1.0 }
    }

    /// The prior itself as a marginal.
    pub(super) fn prior(&self) -> Marginal {
        let top = self.ln_prior.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        Marginal::new(self.nodes.clone(), self.ln_prior.iter().map(|l| (l - top).exp()).collect())
    }
}

/// A density on even nodes, straight between them, normalised.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Marginal {
    pub x: Vec<f64>,
    pub density: Vec<f64>,
}

impl Marginal {
    fn new(x: Vec<f64>, mut density: Vec<f64>) -> Self {
        let area: f64 = x.windows(2).zip(density.windows(2)).map(|(x, d)| 0.5 * (x[1] - x[0]) * (d[0] + d[1])).sum();
        if area > 0.0 {
            for d in &mut density {
                *d /= area;
            }
        }
        Self { x, density }
    }

    fn moment(&self, f: impl Fn(f64) -> f64) -> f64 {
        let pairs = self.x.windows(2).zip(self.density.windows(2));
        pairs.map(|(x, d)| 0.5 * (x[1] - x[0]) * (f(x[0]) * d[0] + f(x[1]) * d[1])).sum()
    }

    pub(super) fn mean(&self) -> f64 {
        self.moment(|x| x)
    }

    pub(super) fn sd(&self) -> f64 {
        let mean = self.mean();
        self.moment(|x| (x - mean) * (x - mean)).sqrt()
    }

    pub(super) fn cdf(&self, at: f64) -> f64 {
        let mut sum = 0.0;
        for (x, d) in self.x.windows(2).zip(self.density.windows(2)) {
            if at >= x[1] {
                sum += 0.5 * (x[1] - x[0]) * (d[0] + d[1]);
            } else if at > x[0] {
                let t = (at - x[0]) / (x[1] - x[0]);
                sum += (at - x[0]) * (d[0] + 0.5 * t * (d[1] - d[0]));
            }
        }
        sum.min(1.0)
    }

    /// Whether next to nothing of the mass lies at either end of the nodes.
    pub(super) fn ends_inside(&self) -> bool {
        let top = self.density.iter().copied().fold(0.0, f64::max);
        let end = |d: Option<&f64>| d.copied().unwrap_or(0.0);
        top > 0.0 && end(self.density.first()).max(end(self.density.last())) < 1e-4 * top
    }

    /// Value not exceeded with probability `p`.
    pub(super) fn quantile(&self, p: f64) -> f64 {
        let mut sum = 0.0;
        for (x, d) in self.x.windows(2).zip(self.density.windows(2)) {
            let width = x[1] - x[0];
            let area = 0.5 * width * (d[0] + d[1]);
            if sum + area >= p && area > 0.0 {
                // (d0 + ½(d1−d0)t) t = wanted/width, the root that is stable for small slopes.
                let wanted = (p - sum) / width;
                let root = (d[0] * d[0] + 2.0 * (d[1] - d[0]) * wanted).max(0.0).sqrt();
                let t = if wanted > 0.0 { 2.0 * wanted / (d[0] + root) } else { 0.0 };
                return x[0] + width * t.clamp(0.0, 1.0);
            }
            sum += area;
        }
        self.x.last().copied().unwrap_or(f64::NAN)
    }
}

/// A function of the logarithm of the cut on even nodes, a parabola through the nearest three.
#[derive(Debug, Clone)]
struct Curve {
    low: f64,
    step: f64,
    values: Vec<f64>,
}

impl Curve {
    fn at(&self, x: f64) -> f64 {
        let last = self.values.len() - 1;
        let place = ((x - self.low) / self.step).clamp(0.0, last as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place ≤ last
        let i = (place.round() as usize).clamp(1, last - 1);
        let t = place - i as f64;
        let (a, b, c) = (self.values[i - 1], self.values[i], self.values[i + 1]);
        b + 0.5 * t * (c - a) + 0.5 * t * t * (a - 2.0 * b + c)
    }
}

/// What one spot says, as a function of the logarithm of its nominal cut.
#[derive(Debug)]
struct SpotTable {
    /// By depth node, then breakdown node; one curve where neither matters.
    curves: Vec<Curve>,
    /// Logarithm of the exposure at each breakdown node.
    ln_exposure: Vec<f64>,
    /// Logarithm of the pressure over the reference.
    ln_pressure: f64,
    depends: bool,
}

/// Finest relative difference that the readings of one spot are taken to tell together: the step of the
/// tables. A gauge that claims more is read as this good, which makes an interval wider, never narrower.
const FINEST: f64 = 0.002;

/// Scatter with which a pair enters: its own, or that of [`FINEST`].
fn scatter_of(pair: &PairedReading, spot: &TestSpot) -> f64 {
    pair.sd_m().max(FINEST * (spot.pairs().len() as f64).sqrt() * pair.difference_m().abs())
}

/// How sharp a spot is in the logarithm of its cut, and the step of its table.
fn sharpness(spot: &TestSpot) -> (f64, f64) {
    // At the largest cut that the gauge could have seen.
    let pair = |p: &PairedReading| {
        let noise = p.noise_m().max(scatter_of(p, spot));
        noise / (p.difference_m().abs() + 3.0 * noise)
    };
    let gauge = spot.pairs().iter().map(pair).fold(f64::INFINITY, f64::min);
    let sharp = gauge / (spot.pairs().len().max(1) as f64).sqrt();
    let sharp = if spot.looks().is_empty() { sharp } else { sharp.min(0.15) };
    (sharp, (0.5 * sharp).clamp(FINEST, 0.01))
}

/// Share of a spot's exposure that its first `done` of `all` passes have, when the cut of pass j falls
/// as j^−β; relative to `all` equal passes.
pub(super) fn worked_share(done: u32, all: u32, breakdown: f64) -> f64 {
    (1..=done).map(|j| f64::from(j).powf(-breakdown)).sum::<f64>() / f64::from(all)
}

/// Everything that a posterior needs of the records.
#[derive(Debug)]
pub(super) struct Problem<'a> {
    pub spots: &'a [TestSpot],
    pub settings: &'a CalibrationSettings,
    /// Reference pressure of the exponent \[Pa\].
    pub reference_pa: Option<f64>,
    pub axes: [Axis; AXES],
}

/// The posterior on its last grid.
#[derive(Debug)]
pub(super) struct Posterior {
    pub marginals: [Option<Marginal>; AXES],
    /// Correlations of the axes that vary.
    pub correlation: [[f64; AXES]; AXES],
}

impl Problem<'_> {
    /// Numbers that the tables of all spots hold, and likelihood terms of one pass over the grid.
    fn size(&self) -> (f64, f64) {
        let node = |a: usize| self.axes[a].nodes.len() as f64;
        let held = |spot: &TestSpot| {
            let (low, high) = self.range(spot, self.ln_pressure(spot));
            let curves = if spot.looks().is_empty() { 1.0 } else { node(DEPTH) * node(BREAKDOWN) };
            (high - low) / sharpness(spot).1 * curves
        };
        let grid: f64 = (0..AXES).map(node).product();
        (self.spots.iter().map(held).sum(), grid * self.spots.len() as f64)
    }

    /// Itself, unless tables or grid would outgrow their bounds.
    pub(super) fn within_bounds(&self) -> Result<&Self, BudgetError> {
        let (held, terms) = self.size();
        for (what, value, most) in
            [("numbers held by a calibration", held, MOST_HELD), ("terms of a calibration", terms, MOST_TERMS)]
        {
            if value > most {
                return Err(BudgetError::TooMuch { what, value, most });
            }
        }
        Ok(self)
    }

    fn ln_pressure(&self, spot: &TestSpot) -> f64 {
        match (self.reference_pa, spot.mean_pressure_pa()) {
            (Some(reference), Some(p)) => (p / reference).ln(),
            _ => 0.0,
        }
    }

    /// Range of the logarithm of the cut at one spot, over all axes.
    fn range(&self, spot: &TestSpot, ln_pressure: f64) -> (f64, f64) {
        let ends = |a: usize| {
            let n = &self.axes[a].nodes;
            (n[0], n[n.len() - 1])
        };
        let (k, drag, beta, power) = (ends(REMOVAL), &self.axes[DRAG].nodes, ends(BREAKDOWN), ends(PRESSURE));
        let response = drag.iter().map(|d| spot.response().map_or(0.0, |r| r.ln_exposure(*d)));
        let (r_low, r_high) = response.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        let shift = |b: f64| worked_share(spot.passes(), spot.passes(), b).ln();
        let p = [(power.0 - 1.0) * ln_pressure, (power.1 - 1.0) * ln_pressure];
        let e = spot.exposure_pa_m().ln();
        (k.0 + e + r_low + shift(beta.1) + p[0].min(p[1]), k.1 + e + r_high + shift(beta.0) + p[0].max(p[1]))
    }

    fn table(&self, spot: &TestSpot, eye: &[Curve]) -> SpotTable {
        let s = self.settings;
        let scatter = s.exposure_ln_sd();
        let ln_pressure = self.ln_pressure(spot);
        let (low, high) = self.range(spot, ln_pressure);
        let (sharp, step) = sharpness(spot);
        // Nodes of the scatter: a trapezoid sum as fine as the product of scatter and likelihood asks.
        let joint = 1.0 / (1.0 / (scatter * scatter) + 1.0 / (sharp * sharp)).sqrt();
        let stride = if scatter > 0.0 { (1.2 * joint / step).floor().max(1.0) } else { 1.0 };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 to some thousands
        let (stride, arms) = (stride as usize, (4.0 * scatter / (stride * step)).ceil() as usize);
        let margin = stride * arms;
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most some tens of thousands
        let count = ((high - low) / step).ceil() as usize + 3;
        let gauge: Vec<f64> = (0..count + 2 * margin)
            .map(|i| {
                let cut = (low + step * (i as f64 - margin as f64 - 1.0)).exp();
                let ln = |p: &PairedReading| {
                    ln_shown_difference(p.difference_m() - cut, scatter_of(p, spot), p.resolution_m())
                };
                spot.pairs().iter().map(ln).sum()
            })
            .collect();
        let weights: Vec<f64> = {
            let raw: Vec<f64> = (0..=2 * arms)
                .map(|j| {
                    let eta = step * stride as f64 * (j as f64 - arms as f64);
                    if scatter > 0.0 { -0.5 * (eta / scatter) * (eta / scatter) } else { 0.0 }
                })
                .collect();
            let sum: f64 = raw.iter().map(|w| w.exp()).sum();
            raw.iter().map(|w| w - sum.ln()).collect()
        };
        let beta = &self.axes[BREAKDOWN].nodes;
        let ln_exposure =
            beta.iter().map(|b| (spot.exposure_pa_m() * worked_share(spot.passes(), spot.passes(), *b)).ln()).collect();
        let depends = !spot.looks().is_empty();
        let depths: &[f64] = if depends { &self.axes[DEPTH].nodes } else { &[0.0] };
        let betas: &[f64] = if depends { beta } else { &[0.0] };
        let mut curves = Vec::with_capacity(depths.len() * betas.len());
        for depth in depths {
            for b in betas {
                let looks: Vec<(&Curve, f64)> = spot
                    .looks()
                    .iter()
                    .map(|look| {
                        let part = worked_share(look.passes, spot.passes(), *b)
                            / worked_share(spot.passes(), spot.passes(), *b);
                        (&eye[class_index(look.left)], part.ln() - depth)
                    })
                    .collect();
                // Log-likelihood at one cut, the scatter not yet averaged over.
                let exact: Vec<f64> = gauge
                    .iter()
                    .enumerate()
                    .map(|(i, g)| {
                        let m = low + step * (i as f64 - margin as f64 - 1.0);
                        g + looks.iter().map(|(c, shift)| c.at(m + shift)).sum::<f64>()
                    })
                    .collect();
                let values = (0..count)
                    .map(|i| {
                        let picks = || weights.iter().enumerate().map(|(j, w)| w + exact[i + j * stride]);
                        let top = picks().fold(f64::NEG_INFINITY, f64::max);
                        top + picks().map(|v| (v - top).exp()).sum::<f64>().ln()
                    })
                    .collect();
                curves.push(Curve { low: low - step, step, values });
            }
        }
        SpotTable { curves, ln_exposure, ln_pressure, depends }
    }

    /// Log-probability of each class over the logarithm of cut over depth factor, for every spot.
    fn eye_curves(&self) -> Vec<Curve> {
        let s = self.settings;
        let depth = &self.axes[DEPTH].nodes;
        let widest = depth.iter().fold(0.0_f64, |a, d| a.max(d.abs()));
        // A look after the first of a thousand passes has a thousandth of the cut.
        let least = self.spots.iter().map(|t| f64::from(t.passes()).ln()).fold(0.0, f64::max);
        let ends = self.spots.iter().map(|t| self.range(t, self.ln_pressure(t)));
        let (low, high) = ends.fold((f64::MAX, f64::MIN), |(l, h), r| (l.min(r.0), h.max(r.1)));
        // The scatter reaches four standard deviations and less than one of its own steps beyond.
        let margin = 4.0 * s.exposure_ln_sd() + widest + 0.3;
        let (low, high, step) = (low - margin - least, high + margin, 0.01);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most some thousands
        let count = ((high - low) / step).ceil() as usize + 3;
        SwirlsLeft::ALL
            .iter()
            .map(|class| Curve {
                low,
                step,
                values: (0..count)
                    .map(|i| ln_class(*class, &s.depth, (low + step * i as f64).exp(), s.eye_sd, s.eye_lapse))
                    .collect(),
            })
            .collect()
    }

    /// Log-posterior over the whole grid, the removal coefficient running fastest.
    fn evaluate(&self, tables: &[SpotTable], axes: &[Axis; AXES]) -> Vec<f64> {
        let k = &axes[REMOVAL];
        let mut out = Vec::with_capacity(axes.iter().map(|a| a.nodes.len()).product());
        let betas = axes[BREAKDOWN].nodes.len();
        for (ia, power) in axes[PRESSURE].nodes.iter().enumerate() {
            for ib in 0..betas {
                for id in 0..axes[DEPTH].nodes.len() {
                    for (ig, drag) in axes[DRAG].nodes.iter().enumerate() {
                        let mut base = axes[PRESSURE].ln_prior[ia]
                            + axes[BREAKDOWN].ln_prior[ib]
                            + axes[DEPTH].ln_prior[id]
                            + axes[DRAG].ln_prior[ig];
                        let mut terms: Vec<(&Curve, f64)> = Vec::with_capacity(tables.len());
                        for (spot, t) in self.spots.iter().zip(tables) {
                            let mut shift = t.ln_exposure[ib] + (power - 1.0) * t.ln_pressure;
                            if let Some(r) = spot.response() {
                                shift += r.ln_exposure(*drag);
                                if let Some(c) = spot.count() {
                                    base += ln_count(c, r.spin(*drag), self.settings.spin_rel_sd);
                                }
                            }
                            let which = if t.depends { id * betas + ib } else { 0 };
                            terms.push((&t.curves[which], shift));
                        }
                        out.extend(k.nodes.iter().zip(&k.ln_prior).map(|(x, prior)| {
                            base + prior + terms.iter().map(|(c, shift)| c.at(x + shift)).sum::<f64>()
                        }));
                    }
                }
            }
        }
        out
    }

    /// Solves the posterior.
    pub(super) fn solve(&self, prior_k: impl Fn(f64) -> f64, prior_drag: impl Fn(f64) -> f64) -> Posterior {
        let looked = self.spots.iter().any(|s| !s.looks().is_empty());
        let eye = if looked { self.eye_curves() } else { Vec::new() };
        let tables: Vec<SpotTable> = self.spots.iter().map(|s| self.table(s, &eye)).collect();
        let mut axes = self.axes.clone();
        let mut pass = 0;
        loop {
            let posterior = reduce(&self.evaluate(&tables, &axes), &axes);
            pass += 1;
            let mut shrunk = false;
            for which in [REMOVAL, DRAG] {
                if let Some((low, high)) = posterior.marginals[which].as_ref().and_then(mass) {
                    let nodes = &axes[which].nodes;
                    let (n, old) = (nodes.len(), nodes[nodes.len() - 1] - nodes[0]);
                    if high - low < 0.8 * old {
                        axes[which] = if which == REMOVAL {
                            Axis::over(low, high, n, &prior_k)
                        } else {
                            Axis::over(low, high, n, &prior_drag)
                        };
                        shrunk = true;
                    }
                }
            }
            if !shrunk || pass >= PASSES {
                return posterior;
            }
        }
    }
}

fn class_index(class: SwirlsLeft) -> usize {
    match class {
        SwirlsLeft::None => 0,
        SwirlsLeft::Few => 1,
        SwirlsLeft::Half => 2,
        SwirlsLeft::Most => 3,
    }
}

/// Range of the nodes that hold mass, one node more on each side.
fn mass(m: &Marginal) -> Option<(f64, f64)> {
    let top = m.density.iter().copied().fold(0.0, f64::max);
    let least = top * (-DROP).exp();
    let first = m.density.iter().position(|d| *d > least)?;
    let last = m.density.iter().rposition(|d| *d > least)?;
    Some((m.x[first.saturating_sub(1)], m.x[(last + 1).min(m.x.len() - 1)]))
}

/// Marginals and correlations of a log-density on the grid.
fn reduce(ln: &[f64], axes: &[Axis; AXES]) -> Posterior {
    let top = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let counts: [usize; AXES] = core::array::from_fn(|a| axes[a].nodes.len());
    let mut sums: [Vec<f64>; AXES] = core::array::from_fn(|a| vec![0.0; counts[a]]);
    let (mut total, mut first, mut second) = (0.0, [0.0; AXES], [[0.0; AXES]; AXES]);
    for (flat, l) in ln.iter().enumerate() {
        let density = (l - top).exp();
        if density <= 0.0 {
            continue;
        }
        let mut rest = flat;
        let mut at = [0; AXES];
        for (a, n) in counts.iter().enumerate() {
            at[a] = rest % n;
            rest /= n;
        }
        let weights: [f64; AXES] = core::array::from_fn(|a| axes[a].weight(at[a]));
        let w = density * weights.iter().product::<f64>();
        total += w;
        for a in 0..AXES {
            // The marginal at a node is a density there: its own end weight is no part of it.
            sums[a][at[a]] += w / weights[a];
            let x = axes[a].nodes[at[a]];
            first[a] += w * x;
            for b in 0..=a {
                second[a][b] += w * x * axes[b].nodes[at[b]];
            }
        }
    }
    let mean = first.map(|f| f / total);
    let covariance = |a: usize, b: usize| second[a.max(b)][a.min(b)] / total - mean[a] * mean[b];
    let correlation = core::array::from_fn(|a| {
        core::array::from_fn(|b| {
            let scale = (covariance(a, a) * covariance(b, b)).sqrt();
            if scale > 0.0 && axes[a].varies() && axes[b].varies() {
                (covariance(a, b) / scale).clamp(-1.0, 1.0)
            } else {
                0.0
            }
        })
    });
    let mut marginals: [Option<Marginal>; AXES] = core::array::from_fn(|_| None);
    for ((m, sum), axis) in marginals.iter_mut().zip(sums).zip(axes) {
        if axis.varies() {
            *m = Some(Marginal::new(axis.nodes.clone(), sum));
        }
    }
    Posterior { marginals, correlation }
}
