//! What gloss read on a worked spot says of the roughness that its step leaves.
//!
//! A Bayesian update of one factor on the predicted roughness, on a grid, with the index of the clear
//! coat as the unknown beside it: gloss falls with roughness and grows with the index, and a single
//! reading cannot tell a rougher surface from a lower index. A reading before the work bounds the index
//! from below, because no surface is glossier than a smooth one. Nothing here speaks of the cut.

use super::error::FinishError;
use super::gloss::{GlossAngle, gloss_at};
use super::roughness::{ROUGHNESS_SPREAD, Surface};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::interval::{Interval, checked_level};
use crate::math::quadrature::{Ends, rule};
use crate::units::Length;

/// Least and largest index of a cured clear coat (assumed: acrylic and urethane resins).
pub const INDEX_RANGE: (f64, f64) = (1.48, 1.53);
/// Roughness of a surface before the work, nm: even in the logarithm between these (assumed).
const BEFORE_NM: (f64, f64) = (1.0, 100.0);
/// Nodes of the factor, of the index and of the roughness before: close enough together for readings as
/// steady as [`LEAST_SD`].
const NODES: (usize, usize, usize) = (641, 32, 1024);
/// Least standard deviation of a reading, GU: a steadier one would fall between the nodes.
const LEAST_SD: f64 = 0.3;
/// Readings further than this from anything that the paint can read, in their own standard deviations,
/// are not explained.
const FARTHEST: f64 = 5.0;
/// Standard deviations of the prior that the factor spans to each side.
const SPAN: f64 = 4.0;
/// Gauss rules of the crate have this many points; index and roughness before are split into panels.
const RULE: usize = 16;

/// Gloss read on one spot, in gloss units of ISO 2813.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlossReading {
    before: Option<f64>,
    after: f64,
    sd: f64,
    angle: GlossAngle,
}

impl GlossReading {
    /// Gloss after the work \[GU\], and before it where it was read, each with the standard deviation `sd`
    /// \[GU\] of a reading.
    ///
    /// # Errors
    /// A gloss outside 0 to 120, a standard deviation outside 0.3 to 20 gloss units.
    ///
    /// # Example
    /// ```
    /// use trochoid::finish::{GlossAngle, GlossReading};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // Two deviations of a difference are 2 × 1 × √2 = 2.83 GU: a loss of 3 is more than noise, one of 2 is not.
    /// assert!(GlossReading::new(Some(85.0), 82.0, 1.0, GlossAngle::Twenty)?.dulled());
    /// assert!(!GlossReading::new(Some(85.0), 83.0, 1.0, GlossAngle::Twenty)?.dulled());
    /// # Ok(())
    /// # }
    /// ```
    pub fn new(before: Option<f64>, after: f64, sd: f64, angle: GlossAngle) -> Result<Self, RangeError> {
        if let Some(before) = before {
            within("gloss before", before, 0.0, 120.0, "GU")?;
        }
        within("gloss after", after, 0.0, 120.0, "GU")?;
        within("gloss_uncertainty", sd, LEAST_SD, 20.0, "GU")?;
        Ok(Self { before, after, sd, angle })
    }

    /// Gloss before the work \[GU\].
    #[must_use]
    pub const fn before(&self) -> Option<f64> {
        self.before
    }

    /// Gloss after the work \[GU\].
    #[must_use]
    pub const fn after(&self) -> f64 {
        self.after
    }

    /// Whether the surface became duller by more than the readings' noise, two standard deviations of
    /// their difference: the step leaves a haze that a finer one must take away.
    #[must_use]
    pub fn dulled(&self) -> bool {
        self.before.is_some_and(|b| self.after < b - 2.0 * self.sd * 2f64.sqrt())
    }

    fn ln_likelihood(&self, predicted: f64, read: f64) -> f64 {
        let z = (read - predicted) / self.sd;
        -0.5 * z * z
    }
}

/// The roughness that a step leaves, as gloss readings tell it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoughnessFound {
    /// Factor on the predicted roughness \[1\]: median and interval.
    pub factor: Interval,
    /// The same before the readings \[1\].
    pub prior: Interval,
    /// Standard deviation of the logarithm of the factor \[1\].
    pub ln_sd: f64,
    /// That over its value before the readings \[1\]; near 1 the gloss says next to nothing.
    pub width_ratio: f64,
}

impl RoughnessFound {
    /// What the gloss tells, a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        let (best, low, high) = (self.factor.best, self.factor.low, self.factor.high);
        if self.width_ratio > 0.9 {
            format!(
                "roughness is not identifiable from the gloss: a factor of {low:.2} to {high:.2} on the prediction stays \
                 open, as before"
            )
        } else {
            format!(
                "gloss puts the roughness at {best:.2} times the prediction ({low:.2} to {high:.2}), {:.0} % of its width \
                 before",
                100.0 * self.width_ratio
            )
        }
    }
}

/// Nodes and weights over a range: Gauss rules of [`RULE`] points on equal panels.
fn panels(low: f64, high: f64, nodes: usize) -> Vec<(f64, f64)> {
    let count = nodes.div_ceil(RULE).max(1);
    let width = (high - low) / count as f64;
    let of = |i: usize| {
        let start = low + width * i as f64;
        rule(RULE, Ends::Smooth).iter().map(move |q| (start + width * q.x, width * q.w))
    };
    (0..count).flat_map(of).collect()
}

/// The factor on the predicted roughness that gloss readings speak for.
///
/// ```text
/// G(n, f σ) ~ N(read after, s²),   G(n, σ_b) ~ N(read before, s²)
/// ln f ~ N(0, 0.5²),  n even in 1.48 to 1.53,  ln σ_b even over 1 to 100 nm
/// ```
///
/// G gloss by Fresnel and scatter \[GU\], σ the roughness that the surface was predicted to have after the
/// spot's cut \[m\], s standard deviation of a reading \[GU\]. Readings are independent given f and n; the
/// spots are of one paint, pad and product. Damage still there after the work counts as roughness, so
/// read where the marks are gone.
///
/// # Accuracy
/// Quadrature; quantiles to 1e-2 of the prior's width (tested against a finer grid).
///
/// # Errors
/// No spot, a surface that nothing marks, a level outside 0.5 to 0.999; a gloss that no index and no
/// roughness within the scatter law explains.
///
/// # Example
/// ```
/// use trochoid::equipment::Hardness;
/// use trochoid::finish::{Abrading, Face, GlossAngle, GlossReading, LogNormal, Surface, roughness_from_gloss};
/// use trochoid::{Length, Pressure};
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// let grains = Abrading::new(Length::from_um(3.0), Pressure::from_kpa(3.0), Face::CuttingFoam, Hardness::Medium)?;
/// let cut = LogNormal::new(2e-6, 0.3)?;
/// let worked = Surface::smooth().worked(grains.marks()?, cut);
/// // A dull surface after the step speaks for more roughness than a bright one.
/// let dull = roughness_from_gloss(&[(GlossReading::new(None, 70.0, 1.0, GlossAngle::Twenty)?, worked.clone())], 0.9)?;
/// let bright = roughness_from_gloss(&[(GlossReading::new(None, 82.0, 1.0, GlossAngle::Twenty)?, worked)], 0.9)?;
/// assert!(dull.factor.best > bright.factor.best);
/// # Ok(())
/// # }
/// ```
pub fn roughness_from_gloss(spots: &[(GlossReading, Surface)], level: f64) -> Result<RoughnessFound, FinishError> {
    on_grid(spots, level, NODES)
}

fn on_grid(
    spots: &[(GlossReading, Surface)],
    level: f64,
    nodes: (usize, usize, usize),
) -> Result<RoughnessFound, FinishError> {
    checked_level("level", level)?;
    within("spots with a gloss", spots.len() as f64, 1.0, 500.0, "spots")?;
    let mut predicted = Vec::with_capacity(spots.len());
    for (_, surface) in spots {
        let nm = surface.rms_at(0.0) * 1e9;
        predicted.push(within("predicted roughness_nm", nm, 0.01, 1e5, "nm")? * 1e-9);
    }
    let half = SPAN * ROUGHNESS_SPREAD;
    let step = 2.0 * half / (nodes.0 as f64 - 1.0);
    let ln_factor = |i: usize| -half + step * i as f64;
    let indices = panels(INDEX_RANGE.0, INDEX_RANGE.1, nodes.1);
    let before = panels(BEFORE_NM.0.ln(), BEFORE_NM.1.ln(), nodes.2);
    // Beyond the scatter law a roughness has no gloss and explains no reading.
    let gloss = |index: f64, m: f64, at: GlossAngle| gloss_at(index, Length::from_m(m), at).ok().map(|g| g.0);
    let mut ln_mass = vec![f64::NEG_INFINITY; nodes.0 * indices.len()];
    let mut nearest = f64::NEG_INFINITY;
    let smoothest = |at: GlossAngle| gloss(INDEX_RANGE.1, BEFORE_NM.0 * 1e-9, at).unwrap_or(0.0);
    let too_bright = |r: &GlossReading| r.before.filter(|b| *b > smoothest(r.angle) + FARTHEST * r.sd);
    let unexplained = |value: f64| {
        let allowed = "what a clear coat of index 1.48 to 1.53 can read at this angle within the scatter law; read where the \
                       marks are gone";
        Err(RangeError::new("gloss", value, "GU", allowed).into())
    };
    if let Some(value) = spots.iter().find_map(|s| too_bright(&s.0)) {
        return unexplained(value);
    }
    for ((n, weight), row) in indices.iter().zip(ln_mass.chunks_exact_mut(nodes.0)) {
        // What the readings before say of the index.
        let mut ln_index = weight.ln();
        for (reading, _) in spots {
            let Some(read) = reading.before else { continue };
            let of = |ln_nm: f64| gloss(*n, ln_nm.exp() * 1e-9, reading.angle);
            let sum: f64 =
                before.iter().filter_map(|(x, w)| of(*x).map(|g| w * reading.ln_likelihood(g, read).exp())).sum();
            ln_index += sum.ln();
        }
        for (i, ln) in row.iter_mut().enumerate() {
            let f = ln_factor(i).exp();
            let read: f64 = spots
                .iter()
                .zip(&predicted)
                .map(|((reading, _), sigma)| {
                    gloss(*n, f * sigma, reading.angle)
                        .map_or(f64::NEG_INFINITY, |g| reading.ln_likelihood(g, reading.after))
                })
                .sum();
            *ln = ln_index + read - 0.5 * (ln_factor(i) / ROUGHNESS_SPREAD).powi(2);
            nearest = if ln.is_finite() { nearest.max(read) } else { nearest };
        }
    }
    if nearest < -0.5 * FARTHEST * FARTHEST * spots.len() as f64 {
        return unexplained(spots[0].0.after);
    }
    let top = ln_mass.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut density = vec![0.0; nodes.0];
    for row in ln_mass.chunks_exact(nodes.0) {
        for (d, ln) in density.iter_mut().zip(row) {
            *d += (ln - top).exp();
        }
    }
    let mass: f64 = density.iter().sum();
    let mean = density.iter().enumerate().map(|(i, d)| d * ln_factor(i)).sum::<f64>() / mass;
    let variance = density.iter().enumerate().map(|(i, d)| d * (ln_factor(i) - mean).powi(2)).sum::<f64>() / mass;
    let quantile = |p: f64| {
        let mut sum = 0.0;
        for (i, d) in density.iter().enumerate() {
            if sum + d >= p * mass {
                // Each node's mass is spread evenly over its step.
                let share = if *d > 0.0 { (p * mass - sum) / d } else { 0.0 };
                return (ln_factor(i) + (share - 0.5) * step).exp();
            }
            sum += d;
        }
        half.exp()
    };
    let z = crate::math::distribution::normal_half_width(level);
    let ln_sd = variance.sqrt();
    Ok(RoughnessFound {
        factor: Interval {
            low: quantile(0.5 - 0.5 * level),
            best: quantile(0.5),
            high: quantile(0.5 + 0.5 * level),
            level,
        },
        prior: Interval { low: (-z * ROUGHNESS_SPREAD).exp(), best: 1.0, high: (z * ROUGHNESS_SPREAD).exp(), level },
        ln_sd,
        width_ratio: ln_sd / ROUGHNESS_SPREAD,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::equipment::Hardness;
    use crate::finish::{Abrading, Face, LogNormal};
    use crate::units::Pressure;

    fn worked() -> Surface {
        worked_with(3.0)
    }

    fn worked_with(grain_um: f64) -> Surface {
        let grains =
            Abrading::new(Length::from_um(grain_um), Pressure::from_kpa(3.0), Face::CuttingFoam, Hardness::Medium)
                .unwrap();
        Surface::smooth().worked(grains.marks().unwrap(), LogNormal::new(3e-6, 0.3).unwrap())
    }

    fn read(after: f64, sd: f64, before: Option<f64>) -> GlossReading {
        GlossReading::new(before, after, sd, GlossAngle::Twenty).unwrap()
    }

    #[test]
    fn a_finer_grid_tells_the_same() {
        for sd in [0.5, 1.0, 5.0] {
            let spots = [(read(74.0, sd, Some(60.0)), worked())];
            let (a, b) = (on_grid(&spots, 0.9, NODES).unwrap(), on_grid(&spots, 0.9, (2561, 128, 4096)).unwrap());
            // 1e-2 of the prior's width, as stated.
            for (x, y) in [(a.factor.low, b.factor.low), (a.factor.best, b.factor.best), (a.factor.high, b.factor.high)]
            {
                assert!((x.ln() - y.ln()).abs() < 1e-2 * ROUGHNESS_SPREAD, "{x} {y} at {sd}");
            }
        }
    }

    #[test]
    fn the_roughness_that_made_the_gloss_comes_back() {
        // Gloss made with a factor and an index inside their ranges lies within the 90 % interval for
        // most of them: here all nine, which are near the middle of the prior.
        for factor in [0.6, 1.0, 1.6] {
            for index in [1.485, 1.50, 1.525] {
                let sigma = Length::from_m(factor * worked().rms_at(0.0));
                let gloss = gloss_at(index, sigma, GlossAngle::Twenty).unwrap().0;
                let found = roughness_from_gloss(&[(read(gloss, 1.0, None), worked())], 0.9).unwrap();
                assert!(found.factor.holds(factor), "{factor} at {index}: {:?}", found.factor);
                assert!(found.width_ratio < 1.0);
            }
        }
    }

    #[test]
    fn an_unsteady_gauge_leaves_the_prior_alone() {
        // Marks so fine that no factor of the prior takes them beyond the scatter law.
        let found = roughness_from_gloss(&[(read(80.0, 20.0, None), worked_with(0.3))], 0.9).unwrap();
        assert!(found.width_ratio > 0.97 && found.words().contains("not identifiable"), "{found:?}");
        // What 20 GU of scatter still tell: 3 % of the width, as asserted above.
        assert!((found.factor.high / found.prior.high - 1.0).abs() < 0.05, "{found:?}");
        assert!((found.factor.low / found.prior.low - 1.0).abs() < 0.05, "{found:?}");
    }

    #[test]
    fn a_bright_start_bounds_the_index_and_so_the_roughness() {
        let alone = roughness_from_gloss(&[(read(80.0, 0.5, None), worked())], 0.9).unwrap();
        let bright = roughness_from_gloss(&[(read(80.0, 0.5, Some(86.0)), worked())], 0.9).unwrap();
        // 86 GU needs an index above 1.52, so 80 GU must be roughness.
        assert!(bright.factor.best > alone.factor.best && bright.ln_sd < alone.ln_sd, "{alone:?} {bright:?}");
        assert!(read(80.0, 0.5, Some(86.0)).dulled() && !read(80.0, 0.5, Some(81.0)).dulled());
    }

    #[test]
    fn gloss_no_surface_can_have_is_refused() {
        assert!(GlossReading::new(None, -1.0, 1.0, GlossAngle::Twenty).is_err());
        assert!(GlossReading::new(Some(f64::NAN), 80.0, 1.0, GlossAngle::Twenty).is_err());
        assert!(GlossReading::new(None, 80.0, 0.0, GlossAngle::Twenty).is_err());
        assert!(roughness_from_gloss(&[], 0.9).is_err());
        // Matt paint is beyond the scatter law.
        let matt = roughness_from_gloss(&[(read(1.0, 0.3, None), worked())], 0.9);
        assert!(matches!(matt, Err(FinishError::Range(_))), "{matt:?}");
        // Nothing smooth of index 1.53 reads 100.
        assert!(roughness_from_gloss(&[(read(80.0, 0.3, Some(100.0)), worked())], 0.9).is_err());
    }
}
