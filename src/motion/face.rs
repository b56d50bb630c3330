//! The pad's face in its orbit: which panel points it covers, for what share of the orbit, and how
//! firmly the plate backs it there.
//!
//! A panel point at distance ρ from the tool axis meets pad points at s² = ρ² + e² − 2ρe cos β,
//! where β is the angle between the point and the pad centre as seen from the tool axis. It is
//! covered while r_h ≤ s ≤ R. Foam beyond the plate's edge carries load by our overhang law
//! exp(−(s − R_p)/λ) (assumed; λ defaults to half the pad's thickness).

use crate::equipment::Pad;
use crate::math::quadrature::{Ends, rule};
use core::f64::consts::PI;

/// Geometry of the orbiting face: a disc or ring of radius R on an orbit of radius e about the tool axis.
///
/// ```text
/// s² = ρ² + e² − 2ρe cos β      distance of a panel point from the pad centre [m], ρ its distance from the tool
///                               axis [m], β its angle to the pad centre as seen from there [rad]
/// b(s) = 1 up to the plate's radius R_p, exp(−(s − R_p)/λ) beyond      backing [1], λ overhang length [m]
/// ```
///
/// # Assumptions and valid range
/// The face stays round and flat on the panel. The overhang law is own and assumed.
///
/// # Example
/// ```
/// use trochoid::equipment::{CompressionLaw, Pad};
/// use trochoid::motion::Face;
/// use trochoid::units::{Length, Stiffness};
/// let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), law)?;
/// let face = Face::new(&pad, 9e-3);
/// // 70 + 9 = 79 mm; π 70² mm² = 15 394 mm²; ∫ s ds = R²/2 = 2450 mm², ∫ s³ ds = R⁴/4.
/// assert!((face.reach() - 79e-3).abs() < 1e-15 && (face.area() - 15394e-6).abs() < 1e-6);
/// assert!((face.radial_moment(1) - 2450e-6).abs() < 1e-15);
/// assert!((face.radial_moment(3) - 0.07f64.powi(4) / 4.0).abs() < 1e-18);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    radius: f64,
    hole: f64,
    plate: f64,
    overhang: f64,
    orbit: f64,
}

/// One phase at which a panel point is covered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ArcPoint {
    /// cos β.
    pub(crate) cosine: f64,
    /// Share of the orbit that this phase stands for.
    pub(crate) cover: f64,
    /// `cover` times the plate's backing.
    pub(crate) weight: f64,
}

impl Face {
    /// The face of `pad` on an orbit of radius `orbit` \[m\] (half the throw at the face). A plate larger than
    /// the face counts as large as it. See the example of [`Face`].
    #[must_use]
    pub fn new(pad: &Pad, orbit: f64) -> Self {
        Self {
            radius: pad.radius(),
            hole: pad.hole_radius(),
            plate: pad.plate_radius().min(pad.radius()),
            overhang: pad.overhang_length().m(),
            orbit,
        }
    }

    /// Radius of the face \[m\].
    #[must_use]
    pub const fn radius(&self) -> f64 {
        self.radius
    }

    /// Radius of the centre hole \[m\].
    #[must_use]
    pub const fn hole(&self) -> f64 {
        self.hole
    }

    /// Radius of the orbit at the face \[m\].
    #[must_use]
    pub const fn orbit(&self) -> f64 {
        self.orbit
    }

    /// Distance from the tool axis beyond which nothing is ever covered \[m\].
    #[must_use]
    pub fn reach(&self) -> f64 {
        self.radius + self.orbit
    }

    /// Distance from the tool axis within which nothing is ever covered \[m\]: r_h − e, not below 0.
    #[must_use]
    pub fn core(&self) -> f64 {
        (self.hole - self.orbit).max(0.0)
    }

    /// Area of the face \[m²\].
    #[must_use]
    pub fn area(&self) -> f64 {
        PI * (self.radius * self.radius - self.hole * self.hole)
    }

    /// How firmly the plate backs a pad point at `s` \[m\] from the pad centre, 0 to 1 \[1\].
    ///
    /// # Example
    /// ```
    /// use trochoid::equipment::{CompressionLaw, Pad};
    /// use trochoid::motion::Face;
    /// use trochoid::units::{Length, Stiffness};
    /// let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
    /// // A plate of 125 mm under a pad of 150 mm; the load decays over 12.5 mm, so at the rim 1/e is left.
    /// let pad = Pad::new(Length::from_mm(150.0), Length::from_mm(25.0), law)?.with_plate(Length::from_mm(125.0))?;
    /// let face = Face::new(&pad, 6e-3);
    /// assert!((face.backing(75e-3) - (-1.0f64).exp()).abs() < 1e-12 && (face.backing(62e-3) - 1.0).abs() < 1e-15);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn backing(&self, s: f64) -> f64 {
        if s <= self.plate { 1.0 } else { ((self.plate - s) / self.overhang).exp() }
    }

    /// Whether foam stands out beyond the plate.
    #[must_use]
    pub fn overhangs(&self) -> bool {
        self.plate < self.radius
    }

    /// Radius of the plate where it backs the face \[m\].
    #[must_use]
    pub const fn plate(&self) -> f64 {
        self.plate
    }

    /// Moment ∫ b(s) sⁿ ds over the face, weighted with the backing \[m^(n+1)\]; n = 1 and 3 are the ones in use.
    ///
    /// 2π times it is the backed area (n = 1), and the polar second moment of that area (n = 3).
    ///
    /// # Accuracy
    /// Closed form behind the plate, 16 Gauss nodes beyond it. See the example of [`Face`].
    #[must_use]
    pub fn radial_moment(&self, n: i32) -> f64 {
        let power = f64::from(n + 1);
        let mut sum = (self.plate.powi(n + 1) - self.hole.powi(n + 1)) / power;
        if self.overhangs() {
            sum += crate::math::quadrature::integrate(self.plate, self.radius, 16, Ends::Smooth, |s| {
                self.backing(s) * s.powi(n)
            });
        }
        sum
    }

    /// Distances from the tool axis at which the cover changes its form, ascending.
    pub(crate) fn breaks(&self) -> Vec<f64> {
        let mut out = vec![self.core(), self.reach()];
        if self.orbit > 0.0 {
            out.push((self.radius - self.orbit).abs());
            if self.overhangs() {
                out.push((self.plate - self.orbit).abs());
                out.push(self.plate + self.orbit);
            }
            if self.hole > 0.0 {
                out.push((self.orbit - self.hole).abs());
                out.push(self.hole + self.orbit);
            }
        } else if self.overhangs() {
            out.push(self.plate);
        }
        let (low, high) = (self.core(), self.reach());
        out.retain(|r| *r >= low && *r <= high);
        out.sort_unstable_by(f64::total_cmp);
        let slack = 1e-13 * high;
        out.dedup_by(|a, b| (*a - *b).abs() <= slack);
        out
    }

    /// Whether every point between two breaks is covered all the time with full backing.
    pub(crate) fn always_covered(&self, low: f64, high: f64) -> bool {
        let slack = 1e-12 * self.radius;
        let inside = high + self.orbit <= self.plate + slack;
        let clear = self.hole <= 0.0 || low - self.orbit >= self.hole - slack || self.orbit - high >= self.hole - slack;
        inside && clear
    }

    /// Phase at which a panel point at `rho` lies at `s` from the pad centre, in 0..=π.
    fn phase(&self, rho: f64, s: f64) -> f64 {
        let e = self.orbit;
        let cosine = ((rho - s) * (rho + s) + e * e) / (2.0 * rho * e);
        if cosine >= 1.0 {
            0.0
        } else if cosine <= -1.0 {
            PI
        } else {
            cosine.acos()
        }
    }

    /// Phases between which a panel point at `rho` is covered, and the one from which on the foam over
    /// it stands out beyond the plate: first, edge, last.
    fn bounds(&self, rho: f64) -> (f64, f64, f64) {
        let first = if self.hole > 0.0 { self.phase(rho, self.hole) } else { 0.0 };
        let last = self.phase(rho, self.radius);
        let edge = if self.overhangs() { self.phase(rho, self.plate).clamp(first, last.max(first)) } else { last };
        (first, edge, last)
    }

    /// Distance from the pad centre of a panel point at `rho`.
    fn pad_distance(&self, rho: f64, cosine: f64) -> f64 {
        (rho * rho + self.orbit * self.orbit - 2.0 * rho * self.orbit * cosine).max(0.0).sqrt()
    }

    fn arc_point(&self, rho: f64, cosine: f64, cover: f64, beyond: bool) -> ArcPoint {
        let weight = if beyond { cover * self.backing(self.pad_distance(rho, cosine)) } else { cover };
        ArcPoint { cosine, cover, weight }
    }

    /// Appends the covered phases of a panel point at `rho`, `n` nodes an arc.
    pub(crate) fn arcs(&self, rho: f64, n: usize, out: &mut Vec<ArcPoint>) {
        if self.orbit <= 0.0 {
            if rho >= self.hole && rho <= self.radius {
                // Without an orbit the point is always at s = ρ; cos β averages to zero.
                let weight = 0.5 * self.backing(rho);
                out.push(ArcPoint { cosine: 1.0, cover: 0.5, weight });
                out.push(ArcPoint { cosine: -1.0, cover: 0.5, weight });
            }
            return;
        }
        let (first, edge, last) = self.bounds(rho);
        for (from, to, beyond) in [(first, edge, false), (edge, last, true)] {
            let span = to - from;
            if span <= 0.0 {
                continue;
            }
            // Crowd toward β = π, where the sliding speed may nearly vanish.
            let ends = if to >= PI { Ends::Right } else { Ends::Smooth };
            for q in rule(n, ends) {
                let cosine = (from + span * q.x).cos();
                let cover = q.w * span / PI;
                out.push(self.arc_point(rho, cosine, cover, beyond));
            }
        }
    }

    /// As [`Face::arcs`], with the nodes crowded for a sliding speed that nearly vanishes at β = π
    /// (or at β = 0): the substitution x = width·sinh t takes the near-singularity
    /// 1/√(width² + x²) out of the integrand, x the distance from there.
    pub(crate) fn arcs_crowded(&self, rho: f64, n: usize, width: f64, at_pi: bool, out: &mut Vec<ArcPoint>) {
        let (first, edge, last) = self.bounds(rho);
        for (from, to, beyond) in [(first, edge, false), (edge, last, true)] {
            if to <= from {
                continue;
            }
            let (near, far) = if at_pi { (PI - to, PI - from) } else { (from, to) };
            let (t0, t1) = ((near / width).asinh(), (far / width).asinh());
            for q in rule(n, Ends::Smooth) {
                // sinh and cosh of t from one exponential.
                let grow = (t0 + (t1 - t0) * q.x).exp();
                let x = 0.5 * width * (grow - 1.0 / grow);
                let cosine = if at_pi { -x.cos() } else { x.cos() };
                let cover = q.w * (t1 - t0) * 0.5 * width * (grow + 1.0 / grow) / PI;
                out.push(self.arc_point(rho, cosine, cover, beyond));
            }
        }
    }

    /// Share of the orbit during which a panel point at `rho` \[m\] from the tool axis is under the face \[1\].
    ///
    /// ```text
    /// (1/π) acos((ρ² + e² − R²)/(2ρe))  between R−e and R+e, 1 inside, 0 outside; the hole likewise
    /// ```
    ///
    /// # Accuracy
    /// Closed form. Its integral over the plane is the area of the face.
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::Face;
    /// # use trochoid::equipment::{CompressionLaw, Pad};
    /// # use trochoid::units::{Length, Stiffness};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// # let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
    /// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), law)?;
    /// // At the rim's own radius: acos(e/(2R))/π = acos(9/140)/π.
    /// let share = Face::new(&pad, 9e-3).occupancy(70e-3);
    /// assert!((share - 0.479523).abs() < 1e-6);
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn occupancy(&self, rho: f64) -> f64 {
        if self.orbit <= 0.0 || rho <= 0.0 {
            let s = rho.max(self.orbit);
            return if s >= self.hole && s <= self.radius { 1.0 } else { 0.0 };
        }
        let first = if self.hole > 0.0 { self.phase(rho, self.hole) } else { 0.0 };
        (self.phase(rho, self.radius) - first).max(0.0) / PI
    }

    /// Occupancy weighted with the backing, `n` nodes beyond the plate.
    pub(crate) fn backed_occupancy(&self, rho: f64, n: usize) -> f64 {
        if !self.overhangs() {
            return self.occupancy(rho);
        }
        if self.orbit <= 0.0 {
            return self.occupancy(rho) * self.backing(rho);
        }
        let (first, edge, last) = self.bounds(rho);
        let span = last - edge;
        let mut sum = (edge - first).max(0.0);
        if span > 0.0 {
            let ends = if last >= PI { Ends::Right } else { Ends::Smooth };
            for q in rule(n, ends) {
                let c = (edge + span * q.x).cos();
                sum += q.w * span * self.backing(self.pad_distance(rho, c));
            }
        }
        sum / PI
    }
}
