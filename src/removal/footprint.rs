//! The footprint: orbit-averaged rates of cut, sliding and dwell around the tool axis.
//!
//! With the pad held square the pressure is a fixed field over the panel, so the rates factor into
//! the pressure at the point and an orbit average that depends on the distance from the tool axis
//! only (with its blur over the rim band R−e..R+e). A tilted pad is averaged over its phases.

use crate::contact::{Contact, Load, TiltedLoad};
use crate::math::reduce::map_indexed;
use crate::motion::Face;
use crate::panel::Patch;
use core::f64::consts::PI;

/// Rates at one point of the panel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Rates {
    /// p|v| averaged over the orbit, W/m²; the cut rate is k_p times it.
    pub work: f64,
    /// |v| while pressed, averaged over the orbit, m/s.
    pub slide: f64,
    /// Share of the time during which the point is pressed, 0 to 1.
    pub dwell: f64,
}

impl Rates {
    pub(crate) fn lerp(self, other: Self, t: f64) -> Self {
        Self {
            work: self.work + t * (other.work - self.work),
            slide: self.slide + t * (other.slide - self.slide),
            dwell: self.dwell + t * (other.dwell - self.dwell),
        }
    }

    pub(crate) fn add_scaled(&mut self, other: Self, factor: f64) {
        self.work += factor * other.work;
        self.slide += factor * other.slide;
        self.dwell += factor * other.dwell;
    }
}

/// The footprint of one running pad.
#[derive(Debug, Clone)]
pub struct Footprint {
    shape: ShapeOf,
    reach: f64,
}

#[derive(Debug, Clone)]
enum ShapeOf {
    /// Pressure field times radial orbit averages; `axis` turns panel axes into principal ones.
    Square { field: crate::contact::PressureField, axis: f64, radial: Vec<Rates>, step: f64, round: bool },
    /// Rates sampled on a square grid around the tool axis.
    Sampled { rates: Vec<Rates>, side: usize, step: f64 },
}

const RADIAL_STEPS: usize = 4096;
const SAMPLES_PER_REACH: usize = 160;
const PHASES: usize = 180;

impl Footprint {
    /// The footprint of a solved contact at orbit rate `rate` and spin `spin` [rad/s].
    ///
    /// # Accuracy
    /// Radial averages are tabulated in 4096 steps and read linearly: about 1e-6 of the peak in
    /// any line integral. A tilted pad is sampled on a 321 x 321 grid and 180 phases: about 1e-3.
    #[must_use]
    pub fn new(contact: &Contact, patch: &Patch, rate: f64, spin: f64) -> Self {
        match &contact.load {
            Load::Rings(rings) => {
                let face = *rings.face();
                let reach = face.reach();
                let step = reach / RADIAL_STEPS as f64;
                let radial = map_indexed(RADIAL_STEPS + 1, |i| radial_rates(&face, rate, spin, i as f64 * step));
                let (k1, k2) = patch.principal();
                let round = (k1 - k2).abs() <= 1e-14 * k1.abs().max(k2.abs());
                let axis = patch.axis().rad();
                Self { shape: ShapeOf::Square { field: rings.field().clone(), axis, radial, step, round }, reach }
            }
            Load::Tilted(load) => {
                let reach = load.face().reach();
                let side = 2 * SAMPLES_PER_REACH + 1;
                let step = reach / SAMPLES_PER_REACH as f64;
                let rates = map_indexed(side * side, |i| {
                    let x = (i % side) as f64 * step - reach;
                    let y = (i / side) as f64 * step - reach;
                    tilted_rates(load, rate, spin, x, y)
                });
                Self { shape: ShapeOf::Sampled { rates, side, step }, reach }
            }
        }
    }

    /// Distance from the tool axis beyond which every rate is zero, m.
    #[must_use]
    pub const fn reach(&self) -> f64 {
        self.reach
    }

    /// Whether the rates depend on the distance from the tool axis only.
    #[must_use]
    pub const fn is_round(&self) -> bool {
        matches!(self.shape, ShapeOf::Square { round: true, .. })
    }

    /// Rates at (x, y) from the tool axis, panel axes, m.
    #[must_use]
    pub fn at(&self, x: f64, y: f64) -> Rates {
        match &self.shape {
            ShapeOf::Square { field, axis, radial, step, .. } => {
                let place = x.hypot(y) / step;
                if place >= RADIAL_STEPS as f64 {
                    return Rates::default();
                }
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place < table length
                let i = place as usize;
                let mean = radial[i].lerp(radial[i + 1], place - i as f64);
                let (s, c) = axis.sin_cos();
                let p = field.at(c * x + s * y, c * y - s * x);
                if p > 0.0 {
                    Rates { work: p * mean.work, slide: mean.slide, dwell: mean.dwell }
                } else {
                    Rates::default()
                }
            }
            ShapeOf::Sampled { rates, side, step } => {
                let (u, w) = ((x + self.reach) / step, (y + self.reach) / step);
                let last = (*side - 1) as f64;
                if !(u >= 0.0 && w >= 0.0 && u < last && w < last) {
                    return Rates::default();
                }
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // checked just above
                let (i, j) = (u as usize, w as usize);
                let at = j * side + i;
                let (tu, tw) = (u - i as f64, w - j as f64);
                rates[at].lerp(rates[at + 1], tu).lerp(rates[at + side].lerp(rates[at + side + 1], tu), tw)
            }
        }
    }
}

/// Orbit averages at a panel distance: backed speed (in `work`, to be multiplied by the pressure),
/// speed and cover.
fn radial_rates(face: &Face, rate: f64, spin: f64, rho: f64) -> Rates {
    let (a, b) = (face.orbit() * (rate - spin), spin * rho);
    let mut arcs = Vec::new();
    if face.always_covered(rho, rho) {
        let v = crate::math::elliptic::mean_speed(a, b);
        return Rates { work: v, slide: v, dwell: 1.0 };
    }
    face.arcs(rho, 24, &mut arcs);
    let mut out = Rates::default();
    for p in &arcs {
        let v = (a * a + b * b + 2.0 * a * b * p.cosine).max(0.0).sqrt();
        out.work += p.weight * v;
        out.slide += p.cover * v;
        out.dwell += p.cover;
    }
    out
}

fn tilted_rates(load: &TiltedLoad, rate: f64, spin: f64, x: f64, y: f64) -> Rates {
    let e = load.face().orbit();
    let mut out = Rates::default();
    for j in 0..PHASES {
        let alpha = 2.0 * PI * (j as f64 + 0.5) / PHASES as f64;
        let p = load.pressure(x, y, alpha);
        if p > 0.0 {
            let (sin, cos) = alpha.sin_cos();
            let (sx, sy) = (x - e * cos, y - e * sin);
            let v = (-e * rate * sin - spin * sy).hypot(e * rate * cos + spin * sx);
            out.add_scaled(Rates { work: p * v, slide: v, dwell: 1.0 }, 1.0 / PHASES as f64);
        }
    }
    out
}
