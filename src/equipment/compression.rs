//! Compression laws of a pad: pressure against strain.
//!
//! Measured laws use a C¹ cubic Hermite interpolant with the slopes of Fritsch and Butland,
//! "A method for constructing local monotone piecewise cubic interpolants", SIAM J. Sci. Stat.
//! Comput. 5 (1984) 300-304, so that the curve never overshoots a measured point.
//!
//! Not here: hysteresis (the loss factor is a property of the pad) and foam models from cell
//! structure.

use crate::error::RangeError;
use crate::math::interpolate::monotone_slopes;
use crate::units::{Pressure, Stiffness};

/// Pressure against compression of a pad.
///
/// ```text
/// linear     p = k δ                        k foundation modulus [Pa/m], δ compression [m]
/// measured   p = cubic through the points   of strain ε = δ/h [1] and stress [Pa], never overshooting
/// power      p = p_half (ε/0.5)ⁿ            p_half stress at half the thickness [Pa]
/// ```
///
/// # Assumptions and valid range
/// Elastic: loading and unloading follow one curve. A measured law ends at its last point, the others
/// at strain 1; a pad pressed further has bottomed out, which is an error of the contact, not clamped.
///
/// # Example
/// ```
/// use trochoid::{CompressionLaw, Length, Pad, Pressure};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let stress = [3.0, 3.8, 5.0, 8.0].map(Pressure::from_kpa);
/// let foam = CompressionLaw::measured(&[0.25, 0.40, 0.50, 0.65], &stress)?;
/// assert!(foam.support_factor().is_some_and(|s| (s - 8.0 / 3.0).abs() < 1e-12));
/// // A quarter of 25 mm is a measured point: 3 kPa.
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// assert!((pad.stack().pressure(6.25e-3).0 - 3000.0).abs() < 1e-6);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Fritsch and Butland (1984), slopes of the cubics; ASTM D3574, the compression test.
#[derive(Debug, Clone, PartialEq)]
pub struct CompressionLaw(Law);

#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Law {
    /// p = k δ.
    Linear { k: f64 },
    /// Monotone cubic through measured points.
    Measured(MonotoneCurve),
    /// p = p_half (ε/0.5)^n.
    Power { half: f64, exponent: f64 },
}

/// Monotone piecewise cubic from (0, 0) through measured (strain, stress).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct MonotoneCurve {
    strain: Vec<f64>,
    stress: Vec<f64>,
    slope: Vec<f64>,
}

impl MonotoneCurve {
    fn through(strain: Vec<f64>, stress: Vec<f64>) -> Self {
        let slope = monotone_slopes(&strain, &stress);
        Self { strain, stress, slope }
    }

    fn last_strain(&self) -> f64 {
        self.strain[self.strain.len() - 1]
    }

    /// The pieces as cubics of the share t of a piece: strain at its start, its width, and stress at
    /// its start with the coefficients of t, t², t³.
    pub(crate) fn pieces(&self) -> impl Iterator<Item = (f64, f64, [f64; 4])> + '_ {
        self.strain.windows(2).enumerate().map(|(i, e)| {
            let h = e[1] - e[0];
            let d = (self.stress[i + 1] - self.stress[i]) / h;
            let (m0, m1) = (self.slope[i], self.slope[i + 1]);
            (e[0], h, [self.stress[i], h * m0, h * (3.0 * d - 2.0 * m0 - m1), h * (m0 + m1 - 2.0 * d)])
        })
    }

    /// Points after (0, 0).
    pub(crate) fn points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        (1..self.strain.len()).map(|i| (self.strain[i], self.stress[i]))
    }

    /// Points between the first and the last one.
    pub(crate) fn inner_points(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let last = self.strain.len() - 1;
        (1..last).map(|i| (self.strain[i], self.stress[i]))
    }

    /// Stress and its derivative; beyond the last point the last point's values.
    fn at(&self, strain: f64) -> (f64, f64) {
        if strain <= 0.0 {
            return (0.0, 0.0);
        }
        let last = self.strain.len() - 1;
        if strain >= self.strain[last] {
            return (self.stress[last], self.slope[last]);
        }
        // Few points: a linear search beats a binary one.
        let mut i = 0;
        while strain > self.strain[i + 1] {
            i += 1;
        }
        let h = self.strain[i + 1] - self.strain[i];
        let t = (strain - self.strain[i]) / h;
        let d = (self.stress[i + 1] - self.stress[i]) / h;
        let (m0, m1) = (self.slope[i], self.slope[i + 1]);
        // Cubic in the local coordinate, coefficients from the end slopes.
        let c2 = 3.0 * d - 2.0 * m0 - m1;
        let c3 = m0 + m1 - 2.0 * d;
        (self.stress[i] + h * t * (m0 + t * (c2 + t * c3)), m0 + t * (2.0 * c2 + 3.0 * t * c3))
    }
}

impl CompressionLaw {
    /// Winkler law p = k δ, independent of the pad's thickness; limit strain 1.
    ///
    /// # Assumptions and valid range
    /// The reference case of the closed forms. Open-cell foam follows it to some 5 % strain (Gibson and Ashby 1997);
    /// beyond that a measured law is better.
    ///
    /// # Errors
    /// Stiffness outside 1e-3 to 1e4 kPa/mm.
    pub fn linear(stiffness: Stiffness) -> Result<Self, RangeError> {
        super::within("compression.stiffness_kpa_per_mm", stiffness.kpa_per_mm(), 1e-3, 1e4, "kPa/mm")?;
        Ok(Self(Law::Linear { k: stiffness.pa_per_m() }))
    }

    /// Law through measured points of a compression-force-deflection test; (0, 0) is put before
    /// them. The limit strain is the last measured one. See the example of [`CompressionLaw`].
    ///
    /// ```text
    /// m = (w1 + w2)/(w1/d0 + w2/d1),   w1 = 2h1 + h0, w2 = h1 + 2h0      slope at an inner point [Pa]
    /// ```
    ///
    /// h are the widths of strain beside the point, d the secants; the slope at an end is the three-point one,
    /// kept monotone.
    ///
    /// # Accuracy
    /// Through every point, never above or below the two around a strain; what the foam does between them
    /// is not known better than that.
    ///
    /// # Errors
    /// No points or more than 1000, lists of different length, strains outside 0 to 1 or not
    /// increasing, stresses not increasing or outside 0 to 100 MPa.
    pub fn measured(strain: &[f64], stress: &[Pressure]) -> Result<Self, RangeError> {
        let what = "compression.strain";
        if strain.is_empty() || strain.len() > 1000 {
            return Err(RangeError::new(what, strain.len() as f64, "points", "1 to 1000 points"));
        }
        if strain.len() != stress.len() {
            return Err(RangeError::new(
                "compression.stress_kpa",
                stress.len() as f64,
                "points",
                format!("as many as compression.strain has, {}", strain.len()),
            ));
        }
        let (mut es, mut ps) = (vec![0.0], vec![0.0]);
        for (&e, p) in strain.iter().zip(stress) {
            let (last_e, last_p) = (es[es.len() - 1], ps[ps.len() - 1]);
            if !(e.is_finite() && e > last_e + 1e-6 && e <= 1.0) {
                return Err(RangeError::new(what, e, "", format!("above the strain before it, {last_e}, and up to 1")));
            }
            if !(p.is_finite() && p.pa() > last_p && p.pa() <= 1e8) {
                return Err(RangeError::new(
                    "compression.stress_kpa",
                    p.kpa(),
                    "kPa",
                    format!("above the stress before it, {} kPa, and up to 100000", last_p / 1e3),
                ));
            }
            es.push(e);
            ps.push(p.pa());
        }
        Ok(Self(Law::Measured(MonotoneCurve::through(es, ps))))
    }

    /// Power law p = p_half (ε/0.5)^n, as for microfibre and wool; limit strain 1.
    ///
    /// # Errors
    /// Stress outside 1 Pa to 10 MPa, exponent outside 0.5 to 8.
    ///
    /// # Example
    /// ```
    /// use trochoid::{CompressionLaw, Length, Pad, Pressure};
    /// // 6 kPa at half the thickness, square law: a quarter of it carries 6 × (0.25/0.5)² = 1.5 kPa.
    /// let wool = CompressionLaw::power(Pressure::from_kpa(6.0), 2.0)?;
    /// let pad = Pad::new(Length::from_mm(150.0), Length::from_mm(20.0), wool)?;
    /// assert!((pad.stack().pressure(5e-3).0 - 1500.0).abs() < 1e-9);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn power(stress_at_half: Pressure, exponent: f64) -> Result<Self, RangeError> {
        super::within("compression.stress_kpa_at_half", stress_at_half.kpa(), 1e-3, 1e4, "kPa")?;
        super::within("compression.exponent", exponent, 0.5, 8.0, "")?;
        Ok(Self(Law::Power { half: stress_at_half.pa(), exponent }))
    }

    /// Foundation modulus of a linear law.
    #[must_use]
    pub const fn linear_stiffness(&self) -> Option<Stiffness> {
        if let Law::Linear { k } = &self.0 { Some(Stiffness::from_pa_per_m(*k)) } else { None }
    }

    /// The same law with every stress multiplied by `factor`, as for a softer or stiffer pad.
    ///
    /// # Errors
    /// As the constructor of the law.
    ///
    /// # Example
    /// ```
    /// use trochoid::{CompressionLaw, Stiffness};
    /// // Two thirds of 0.9 kPa/mm are 0.6 kPa/mm.
    /// let softer = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?.scaled(2.0 / 3.0)?;
    /// assert!(softer.linear_stiffness().is_some_and(|k| (k.kpa_per_mm() - 0.6).abs() < 1e-12));
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn scaled(&self, factor: f64) -> Result<Self, RangeError> {
        match &self.0 {
            Law::Linear { k } => Self::linear(Stiffness::from_pa_per_m(k * factor)),
            Law::Power { half, exponent } => Self::power(Pressure::from_pa(half * factor), *exponent),
            Law::Measured(c) => Self::measured(
                &c.strain[1..],
                &c.stress[1..].iter().map(|p| Pressure::from_pa(p * factor)).collect::<Vec<_>>(),
            ),
        }
    }

    /// Support factor \[1\]: stress at 65 % over stress at 25 % compression; `None` where the law ends before
    /// 65 %. See the example of [`CompressionLaw`].
    ///
    /// # Assumptions and valid range
    /// The standard's factor is IFD65/IFD25, of a plate smaller than the sample; here the whole sample is
    /// pressed, which leaves out what the foam beside the plate adds.
    ///
    /// # References
    /// ASTM D3574, the indentation-force deflections IFD65 and IFD25.
    #[must_use]
    pub fn support_factor(&self) -> Option<f64> {
        // A unit thickness: the ratio does not depend on it.
        (self.limit_strain() >= 0.65).then(|| self.at(0.65, 1.0).0 / self.at(0.25, 1.0).0)
    }

    /// Largest strain at which the law holds \[1\]: the last measured strain, 1 for linear and power.
    #[must_use]
    pub fn limit_strain(&self) -> f64 {
        match &self.0 {
            Law::Measured(c) => c.last_strain(),
            Law::Linear { .. } | Law::Power { .. } => 1.0,
        }
    }

    /// Pressure [Pa] and dp/dε [Pa] at a strain, for a pad of `thickness` [m].
    ///
    /// Zero at and below zero strain. Beyond the limit strain the law has no meaning: callers stop
    /// there.
    #[must_use]
    pub(crate) fn at(&self, strain: f64, thickness: f64) -> (f64, f64) {
        if strain <= 0.0 {
            return (0.0, 0.0);
        }
        match &self.0 {
            Law::Linear { k } => (k * thickness * strain, k * thickness),
            Law::Measured(c) => c.at(strain),
            Law::Power { half, exponent } => {
                let p = half * (2.0 * strain).powf(*exponent);
                (p, exponent * p / strain)
            }
        }
    }

    pub(crate) const fn law(&self) -> &Law {
        &self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_follow_the_published_formula() {
        // Points of a compression test; slopes worked by hand from Fritsch and Butland (1984).
        let kpa = |v: &[f64]| v.iter().map(|p| Pressure::from_kpa(*p)).collect::<Vec<_>>();
        let law = CompressionLaw::measured(&[0.25, 0.5], &kpa(&[2.0, 8.0])).unwrap();
        let Law::Measured(c) = &law.0 else { panic!("measured") };
        // h = 0.25 both, d = 8, 24 kPa: interior (w1+w2)/(w1/d0+w2/d1) = 2/(1/8+1/24) = 12 kPa.
        assert!((c.slope[1] - 12e3).abs() < 1e-6, "rounding only");
        // left end (3·8 − 24)/2 = 0; right end (3·24 − 8)/2 = 32 kPa.
        assert!(c.slope[0].abs() < 1e-6, "rounding only");
        assert!((c.slope[2] - 32e3).abs() < 1e-6, "rounding only");
    }

    #[test]
    fn measured_law_passes_through_its_points_and_is_monotone() {
        let stress: Vec<_> = [3.0, 3.8, 5.0, 8.0].iter().map(|p| Pressure::from_kpa(*p)).collect();
        let law = CompressionLaw::measured(&[0.25, 0.4, 0.5, 0.65], &stress).unwrap();
        assert!((law.at(0.4, 0.025).0 - 3800.0).abs() < 1e-9, "rounding only");
        let mut last = 0.0;
        for i in 1..=650 {
            let p = law.at(f64::from(i) * 1e-3, 0.025).0;
            assert!(p >= last);
            last = p;
        }
    }

    #[test]
    fn rejects_points_that_do_not_increase() {
        let two = [Pressure::from_kpa(3.0), Pressure::from_kpa(2.0)];
        assert!(CompressionLaw::measured(&[0.2, 0.4], &two).is_err());
        assert!(CompressionLaw::measured(&[0.2, f64::NAN], &two).is_err());
        assert!(CompressionLaw::measured(&[], &[]).is_err());
    }
}
