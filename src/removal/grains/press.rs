//! Pressure at a grain: the contact's own field, in a form that a block of grains is worked through with.

use super::kernel::{Real, Step};
use super::layout::Grains;
use crate::contact::{Contact, Load, PressureField, TiltedLoad};
use crate::error::RangeError;
use crate::motion::Face;
use crate::panel::Patch;

/// Steps of a tabulated compression law, read linearly: below 1e-6 of the largest pressure for a law that
/// is smooth over the range.
const TABLE: usize = 16_384;

/// Which form the pressure takes.
enum Form<'a> {
    /// The same everywhere, Pa.
    Even(f64),
    /// Pa/m times the compression.
    Linear(f64),
    /// Pressures at even steps of compression [m].
    Table { values: Vec<f64>, per_m: f64 },
    /// The field moves with the pad.
    Tilted(&'a TiltedLoad),
}

/// The pressure under the grains of one contact.
pub(super) struct Press<'a> {
    form: Form<'a>,
    face: Face,
    /// Principal curvatures, 1/m.
    curvature: (f64, f64),
    /// Compression at the tool axis, m.
    heave: f64,
    /// Direction of the first principal axis, rad.
    axis: f64,
}

impl<'a> Press<'a> {
    pub(super) fn new(contact: &'a Contact, patch: &Patch, grains: &Grains) -> Result<Self, RangeError> {
        let axis = patch.axis().rad();
        match &contact.load {
            Load::Rings(rings) => {
                let field = rings.field();
                let form = Self::square(field, rings.face(), grains);
                Ok(Self { form, face: *rings.face(), curvature: field.curvature(), heave: field.heave(), axis })
            }
            Load::Tilted(_) if grains.have_heights() => Err(RangeError::new(
                "grain heights",
                grains.len() as f64,
                "",
                "none with a tilted pad: heights are for a pad held square",
            )),
            Load::Tilted(load) => {
                Ok(Self { form: Form::Tilted(load), face: *load.face(), curvature: (0.0, 0.0), heave: 0.0, axis })
            }
        }
    }

    fn square(field: &PressureField, face: &Face, grains: &Grains) -> Form<'a> {
        let (k1, k2) = field.curvature();
        let flat = k1.abs().max(k2.abs()) <= 0.0;
        if flat && !grains.have_heights() {
            return Form::Even(field.at(0.0, 0.0));
        }
        if let Some(k) = field.linear_stiffness() {
            return Form::Linear(k);
        }
        let highest = (0..grains.len()).map(|i| grains.height(i)).fold(0.0, f64::max);
        let deepest = field.heave() + highest + 0.5 * (-k1.min(k2)).max(0.0) * face.reach().powi(2);
        let step = deepest.max(1e-9) / (TABLE - 1) as f64;
        // One step more than is reached, so that reading never leaves the table.
        let values = (0..=TABLE).map(|i| field.pressure_of(step * i as f64)).collect();
        Form::Table { values, per_m: 1.0 / step }
    }

    pub(super) const fn face(&self) -> &Face {
        &self.face
    }

    pub(super) const fn axis(&self) -> f64 {
        self.axis
    }

    /// Compression behind a grain at the tool axis [m] and how firmly the plate backs it.
    pub(super) fn grain(&self, grains: &Grains, i: usize) -> (f64, f64) {
        let (x, y) = grains.place(i);
        let backing = if self.face.overhangs() { self.face.backing(x.hypot(y)) } else { 1.0 };
        (self.heave + grains.height(i), backing)
    }

    /// The one pressure under every grain, where there is one.
    pub(super) fn uniform(&self) -> Option<f64> {
        match self.form {
            Form::Even(p) if !self.face.overhangs() => Some(p),
            _ => None,
        }
    }

    /// Pressures of a block of grains at one step.
    #[inline]
    pub(super) fn pressures<T: Real>(
        &self,
        step: &Step<T>,
        (x, y): (&[T], &[T]),
        (rise, backing): (&[T], &[T]),
        out: &mut [T],
    ) {
        let n = out.len();
        let (x, y, rise, backing) = (&x[..n], &y[..n], &rise[..n], &backing[..n]);
        let half = T::from_f64(0.5);
        let (k1, k2) = (half * T::from_f64(self.curvature.0), half * T::from_f64(self.curvature.1));
        let compression = |i: usize| {
            let u = step.principal_cos.times_plus(x[i], step.principal.0) - step.principal_sin * y[i];
            let w = step.principal_cos.times_plus(y[i], step.principal.1) + step.principal_sin * x[i];
            rise[i] - (k1 * u * u + k2 * w * w)
        };
        match &self.form {
            Form::Even(p) => {
                let p = T::from_f64(*p);
                for i in 0..n {
                    out[i] = p * backing[i];
                }
            }
            Form::Linear(k) => {
                let (k, zero) = (T::from_f64(*k), T::default());
                for i in 0..n {
                    let p = k * compression(i) * backing[i];
                    out[i] = if p > zero { p } else { zero };
                }
            }
            Form::Table { values, per_m } => {
                for i in 0..n {
                    let place = (compression(i).to_f64() * per_m).max(0.0);
                    // Bounded by the deepest compression, which the table was made for.
                    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                    let j = (place as usize).min(TABLE - 1);
                    let p = values[j] + (place - j as f64) * (values[j + 1] - values[j]);
                    out[i] = T::from_f64(p) * backing[i];
                }
            }
            Form::Tilted(load) => {
                for i in 0..n {
                    let (px, py) = (x[i].to_f64(), y[i].to_f64());
                    let (c, s) = (step.turn.0, step.turn.1);
                    let at = (step.offset.0 + c * px - s * py, step.offset.1 + s * px + c * py);
                    out[i] = T::from_f64(load.pressure(at.0, at.1, step.phase));
                }
            }
        }
    }
}
