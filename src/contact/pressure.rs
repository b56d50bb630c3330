//! The pressure field over the panel under a pad held square: p(x) = P(δ0 − ½ xᵀK x).
//!
//! Own reduction (`notebooks-free-docs/theory-contact.md`): with heave constant over the orbit the field does
//! not move with the pad.

use crate::equipment::Stack;
use crate::math::quadrature::{Ends, rule};
use core::f64::consts::PI;

/// Pressure over the panel, in principal axes of the patch, before cover and backing.
///
/// ```text
/// p(x, y) = P(δ0 − ½(κ1 x² + κ2 y²))      [Pa]; δ0 heave [m], κ principal curvatures [1/m], + convex
/// ```
///
/// # Assumptions and valid range
/// A pad held square, independent springs under a stiff plate. Part of a solved contact ([`super::Rings`]).
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, Load, solve};
/// use trochoid::{CompressionLaw, Curvature, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let crown = Patch::sphere(Curvature::from_per_m(0.5))?;
/// let run = solve(&pad, &crown, 0.0, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// let Load::Rings(rings) = &run.load else { unreachable!("a pad held square") };
/// // Without an orbit p(r) = N/(πR²) + kκ(R²/4 − r²/2): 2598.4 ± 612.5 Pa at the centre and the rim.
/// assert!((rings.field().at(0.0, 0.0) - 3210.9).abs() < 0.1);
/// assert!((rings.field().ring(0.07).pressure - 1985.9).abs() < 0.1);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PressureField {
    stack: Stack,
    /// Principal curvatures.
    curvature: (f64, f64),
    /// Compression at the tool axis, m.
    heave: f64,
    azimuth_nodes: usize,
}

/// Azimuth means on one ring of panel points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RingMean {
    /// Mean pressure \[Pa\].
    pub pressure: f64,
    /// Mean of dp/dδ [Pa/m].
    pub stiffness: f64,
    /// Share of the ring that is pressed \[1\].
    pub touching: f64,
}

impl PressureField {
    pub(crate) const fn new(stack: Stack, curvature: (f64, f64), heave: f64, azimuth_nodes: usize) -> Self {
        Self { stack, curvature, heave, azimuth_nodes }
    }

    pub(crate) const fn set_heave(&mut self, heave: f64) {
        self.heave = heave;
    }

    /// The same field with seven tenths of the azimuth nodes.
    pub(crate) fn fewer(&self) -> Self {
        Self { azimuth_nodes: (self.azimuth_nodes * 7 / 10).max(1), ..self.clone() }
    }

    /// Compressions at which the pieces of a measured law join, m.
    pub(crate) fn knots(&self) -> Vec<f64> {
        self.stack.knots()
    }

    /// Compression at the tool axis \[m\].
    #[must_use]
    pub const fn heave(&self) -> f64 {
        self.heave
    }

    /// Principal curvatures [1/m].
    #[must_use]
    pub const fn curvature(&self) -> (f64, f64) {
        self.curvature
    }

    /// Pressure \[Pa\] at (x, y) \[m\] in principal axes, as if the point were under a fully backed pad.
    #[must_use]
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let (k1, k2) = self.curvature;
        self.stack.pressure(self.heave - 0.5 * (k1 * x * x + k2 * y * y)).0
    }

    /// Pressure at a compression [m], Pa, as if fully backed.
    pub(crate) fn pressure_of(&self, compression: f64) -> f64 {
        self.stack.pressure(compression).0
    }

    /// Pressure over compression where the law is linear, Pa/m.
    pub(crate) const fn linear_stiffness(&self) -> Option<f64> {
        self.stack.linear_stiffness()
    }

    /// The smaller principal curvature: along it the panel falls away least.
    pub(crate) fn least_curvature(&self) -> f64 {
        self.curvature.0.min(self.curvature.1)
    }

    /// Whether the panel is curved alike in every direction, so that the field is round.
    pub(crate) fn isotropic(&self) -> bool {
        let (k1, k2) = self.curvature;
        (k1 - k2).abs() <= 1e-14 * k1.abs().max(k2.abs())
    }

    /// Distances at which the azimuth mean has a corner: where contact begins or ends along a
    /// principal direction, and, on a sphere, where the pieces of a measured law join.
    pub(crate) fn breaks(&self, knots: &[f64], out: &mut Vec<f64>) {
        out.clear();
        let (k1, k2) = self.curvature;
        let mut push = |d: f64, k: f64| {
            let square = 2.0 * d / k;
            if square > 0.0 && square.is_finite() {
                out.push(square.sqrt());
            }
        };
        push(self.heave, k1);
        if !self.isotropic() {
            push(self.heave, k2);
        }
        for knot in knots {
            push(self.heave - knot, k1);
            if !self.isotropic() {
                push(self.heave - knot, k2);
            }
        }
        out.sort_unstable_by(f64::total_cmp);
    }

    /// Azimuth means at distance `rho` \[m\] from the tool axis.
    ///
    /// # Accuracy
    /// Closed form on a sphere, and for a linear law; else Gauss nodes over the pressed arc, or the midpoint
    /// rule over the whole ring. See the example of [`PressureField`].
    #[must_use]
    pub fn ring(&self, rho: f64) -> RingMean {
        let (k1, k2) = self.curvature;
        let mean = self.heave - 0.25 * rho * rho * (k1 + k2);
        if self.isotropic() {
            let (pressure, stiffness) = self.stack.pressure(mean);
            return RingMean { pressure, stiffness, touching: if mean > 0.0 { 1.0 } else { 0.0 } };
        }
        // δ = mean − swing·cos θ with θ twice the azimuth; half a turn of θ covers every value.
        let swing = 0.25 * rho * rho * (k1 - k2).abs();
        if mean <= -swing {
            return RingMean { pressure: 0.0, stiffness: 0.0, touching: 0.0 };
        }
        let edge = if mean >= swing { 0.0 } else { (mean / swing).acos() };
        let touching = 1.0 - edge / PI;
        if let Some(k) = self.stack.linear_stiffness() {
            let pressure = k * (mean * (PI - edge) + swing * edge.sin()) / PI;
            return RingMean { pressure, stiffness: k * touching, touching };
        }
        let (mut pressure, mut stiffness) = (0.0, 0.0);
        if edge > 0.0 {
            let span = PI - edge;
            for q in rule(self.azimuth_nodes, Ends::Left) {
                let (p, dp) = self.stack.pressure(mean - swing * (edge + span * q.x).cos());
                pressure += q.w * p;
                stiffness += q.w * dp;
            }
            pressure *= touching;
            stiffness *= touching;
        } else {
            let share = 1.0 / self.azimuth_nodes as f64;
            for j in 0..self.azimuth_nodes {
                let (p, dp) = self.stack.pressure(mean - swing * (PI * (j as f64 + 0.5) * share).cos());
                pressure += p * share;
                stiffness += dp * share;
            }
        }
        RingMean { pressure, stiffness, touching }
    }
}
