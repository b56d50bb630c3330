//! The compliant layers in series: pad and optional interface layer carry the same pressure, their
//! compressions add.
//!
//! Not here: shear of the layers (see [`Pad::shear_stiffness`](super::Pad::shear_stiffness)).

use super::compression::Law;
use super::{CompressionLaw, Interface};

/// Pressure against total compression of pad and interface layer in series; made by
/// [`Pad::stack`](super::Pad::stack).
///
/// ```text
/// δ = h ε + p/k_i,   p = P(ε)      total compression [m]; h thickness of the pad [m], ε its strain [1],
///                                  k_i foundation modulus of the interface layer [Pa/m]
/// k = 1/(1/k_pad + 1/k_i)          where every layer is linear [Pa/m]
/// ```
///
/// # Assumptions and valid range
/// Up to the compression at which the first layer bottoms out: the pad at its law's limit strain, the
/// interface layer at strain 1.
///
/// # Accuracy
/// Linear laws, and any law without an interface layer, in closed form; others by Newton steps to rounding.
///
/// # Example
/// ```
/// use trochoid::equipment::Interface;
/// use trochoid::{CompressionLaw, Length, Pad, Stiffness};
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let soft = Interface::new(Length::from_mm(5.0), Stiffness::from_kpa_per_mm(0.6))?;
/// let stack = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?.with_interface(soft).stack();
/// // 0.36 kPa/mm in series: 1 mm carries 360 Pa. The layer is through at 0.6 × 5 = 3 kPa, 8.333 mm in all.
/// assert!((stack.pressure(1e-3).0 - 360.0).abs() < 1e-9);
/// assert!((stack.compression_at(360.0) - 1e-3).abs() < 1e-15);
/// assert!((stack.limit_pressure() - 3000.0).abs() < 1e-9);
/// assert!((stack.limit_compression() - 3.0 / 360.0).abs() < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    law: CompressionLaw,
    thickness: f64,
    /// Foundation modulus of the interface layer, Pa/m; infinite without one.
    interface_k: f64,
    /// Foundation modulus of the whole stack where it is linear.
    linear_k: Option<f64>,
    limit_pressure: f64,
    limit_compression: f64,
    /// A measured law with an interface layer, piece by piece.
    pieces: Vec<SeriesPiece>,
}

/// One cubic piece of a measured law in series with an interface layer. In the share t of the piece
/// the total compression and the pressure are both cubics.
#[derive(Debug, Clone, Copy, PartialEq)]
struct SeriesPiece {
    /// Total compression at the end of the piece, m.
    end: f64,
    /// Coefficients of the total compression, m.
    compression: [f64; 4],
    /// Coefficients of the pressure, Pa.
    pressure: [f64; 4],
}

fn cubic(c: &[f64; 4], t: f64) -> f64 {
    c[0] + t * (c[1] + t * (c[2] + t * c[3]))
}

fn cubic_slope(c: &[f64; 4], t: f64) -> f64 {
    c[1] + t * (2.0 * c[2] + 3.0 * t * c[3])
}

impl SeriesPiece {
    /// Pressure and its derivative with the total compression; `None` where Newton's steps leave the
    /// piece or do not settle, which a bracketed search then answers.
    fn pressure(&self, compression: f64) -> Option<(f64, f64)> {
        let start = self.compression[0];
        let mut t = (compression - start) / (self.end - start);
        for _ in 0..12 {
            let step = (cubic(&self.compression, t) - compression) / cubic_slope(&self.compression, t);
            t -= step;
            if !(-0.5..=1.5).contains(&t) {
                return None;
            }
            // Newton squares the step: after one below 1e-8 only rounding is left.
            if step.abs() < 1e-8 {
                let slope = cubic_slope(&self.pressure, t) / cubic_slope(&self.compression, t);
                return Some((cubic(&self.pressure, t), slope));
            }
        }
        None
    }
}

impl Stack {
    pub(super) fn new(law: &CompressionLaw, thickness: f64, interface: Option<&Interface>) -> Self {
        let interface_k = interface.map_or(f64::INFINITY, |i| i.stiffness().pa_per_m());
        let linear_k = match law.law() {
            Law::Linear { k } => Some(1.0 / (1.0 / k + 1.0 / interface_k)),
            Law::Measured(_) | Law::Power { .. } => None,
        };
        // The first layer to reach its limit ends the law: the pad at its limit strain, the
        // (linear) interface layer at strain 1.
        let pad_limit = law.at(law.limit_strain(), thickness).0;
        let layer_limit = interface.map_or(f64::INFINITY, |i| i.stiffness().pa_per_m() * i.thickness().m());
        let mut stack = Self {
            law: law.clone(),
            thickness,
            interface_k,
            linear_k,
            limit_pressure: pad_limit.min(layer_limit),
            limit_compression: 0.0,
            pieces: Vec::new(),
        };
        if let (Law::Measured(curve), true) = (law.law(), interface_k.is_finite()) {
            stack.pieces.extend(curve.pieces().map(|(start, width, pressure)| {
                let mut compression = pressure.map(|c| c / interface_k);
                compression[0] += thickness * start;
                compression[1] += thickness * width;
                SeriesPiece { end: cubic(&compression, 1.0), compression, pressure }
            }));
        }
        stack.limit_compression = if pad_limit <= layer_limit {
            thickness * law.limit_strain() + pad_limit / interface_k
        } else {
            stack.compression_at(layer_limit)
        };
        stack
    }

    /// Foundation modulus of the whole stack [Pa/m], where every layer is linear.
    #[must_use]
    pub const fn linear_stiffness(&self) -> Option<f64> {
        self.linear_k
    }

    /// Compression at which the first layer bottoms out \[m\].
    #[must_use]
    pub const fn limit_compression(&self) -> f64 {
        self.limit_compression
    }

    /// Pressure at which the first layer bottoms out \[Pa\].
    #[must_use]
    pub const fn limit_pressure(&self) -> f64 {
        self.limit_pressure
    }

    /// Pressure \[Pa\] and its derivative [Pa/m] at a total compression \[m\]; zero where not pressed. Beyond
    /// the limit compression the numbers mean nothing: callers stop there. See the example of [`Stack`].
    #[must_use]
    pub fn pressure(&self, compression: f64) -> (f64, f64) {
        if compression <= 0.0 {
            return (0.0, 0.0);
        }
        if let Some(k) = self.linear_k {
            return (k * compression, k);
        }
        if self.interface_k.is_infinite() {
            let (p, dp) = self.law.at(compression / self.thickness, self.thickness);
            return (p, dp / self.thickness);
        }
        if let Some(found) = self.pieces.iter().find(|p| compression <= p.end).and_then(|p| p.pressure(compression)) {
            return found;
        }
        let strain = self.strain_at(compression);
        let (p, dp) = self.law.at(strain, self.thickness);
        let pad_k = dp / self.thickness;
        (p, pad_k / (1.0 + pad_k / self.interface_k))
    }

    /// Compressions at which the pieces of a measured law join, m.
    pub(crate) fn knots(&self) -> Vec<f64> {
        match self.law.law() {
            Law::Measured(curve) => curve
                .inner_points()
                .map(|(strain, stress)| self.thickness * strain + stress / self.interface_k)
                .collect(),
            Law::Linear { .. } | Law::Power { .. } => Vec::new(),
        }
    }

    /// Strain of the pad when pad and interface layer together are compressed by `compression`.
    fn strain_at(&self, compression: f64) -> f64 {
        // h ε + P(ε)/k_i = δ: the left side rises with ε, so a bracketed Newton always ends. On a
        // measured law the joins bracket the strain, and the chord between them starts close to it.
        let (mut low, mut high) = (0.0, compression / self.thickness);
        let mut strain = 0.5 * high;
        if let Law::Measured(curve) = self.law.law() {
            let (mut from, mut to) = ((0.0, 0.0), None);
            for (e, p) in curve.points() {
                let d = self.thickness * e + p / self.interface_k;
                if d >= compression {
                    to = Some((d, e));
                    break;
                }
                from = (d, e);
            }
            if let Some((d, e)) = to {
                (low, high) = (from.1, e.min(high));
                strain = from.1 + (e - from.1) * (compression - from.0) / (d - from.0);
            }
        }
        for _ in 0..80 {
            let (p, dp) = self.law.at(strain, self.thickness);
            let miss = self.thickness * strain + p / self.interface_k - compression;
            if miss > 0.0 {
                high = strain;
            } else {
                low = strain;
            }
            let newton = strain - miss / (self.thickness + dp / self.interface_k);
            let next = if newton >= low && newton <= high { newton } else { 0.5 * (low + high) };
            let step = (next - strain).abs();
            strain = next;
            // Newton squares the step: below 1e-8 of the strain the next one is rounding.
            if step <= 1e-9 * strain || high - low <= 4.0 * f64::EPSILON * high {
                break;
            }
        }
        strain
    }

    /// Total compression \[m\] that carries a pressure \[Pa\], up to the limit pressure.
    /// See the example of [`Stack`].
    #[must_use]
    pub fn compression_at(&self, pressure: f64) -> f64 {
        if pressure <= 0.0 {
            return 0.0;
        }
        if let Some(k) = self.linear_k {
            return pressure / k;
        }
        // The law rises with strain: bisection to the last bit, at most 80 halvings.
        let (mut low, mut high) = (0.0, self.law.limit_strain());
        for _ in 0..80 {
            let mid = 0.5 * (low + high);
            if self.law.at(mid, self.thickness).0 < pressure {
                low = mid;
            } else {
                high = mid;
            }
        }
        self.thickness * 0.5 * (low + high) + pressure / self.interface_k
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Length, Pressure, Stiffness};

    #[test]
    fn springs_in_series_add_their_compliance() {
        let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9)).unwrap();
        let layer = Interface::new(Length::from_mm(10.0), Stiffness::from_kpa_per_mm(0.6)).unwrap();
        let stack = Stack::new(&law, 0.025, Some(&layer));
        // 0.9·0.6/(0.9+0.6) = 0.36 kPa/mm.
        assert!((stack.pressure(1e-3).0 - 360.0).abs() < 1e-9, "rounding only");
    }

    #[test]
    fn measured_stack_inverts_itself() {
        let stress: Vec<_> = [3.0, 3.8, 5.0, 8.0].iter().map(|p| Pressure::from_kpa(*p)).collect();
        let law = CompressionLaw::measured(&[0.25, 0.4, 0.5, 0.65], &stress).unwrap();
        let layer = Interface::new(Length::from_mm(10.0), Stiffness::from_kpa_per_mm(1.2)).unwrap();
        let stack = Stack::new(&law, 0.025, Some(&layer));
        for pa in [10.0, 500.0, 3000.0, 3300.0, 4600.0, 7900.0] {
            let p = stack.pressure(stack.compression_at(pa)).0;
            assert!((p / pa - 1.0).abs() < 1e-12, "both sides iterate to rounding: {p} {pa}");
        }
        // Derivative against a central difference of 1 nm, good to about 1e-6.
        let (d, h) = (7e-3, 1e-7);
        let slope = (stack.pressure(d + h).0 - stack.pressure(d - h).0) / (2.0 * h);
        assert!((stack.pressure(d).1 / slope - 1.0).abs() < 1e-6, "central difference");
    }
}
