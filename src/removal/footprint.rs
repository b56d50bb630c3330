//! The footprint: orbit-averaged rates of cut, sliding and dwell around the tool axis.
//!
//! With the pad held square the pressure is a fixed field over the panel, so the rates factor into
//! the pressure at the point and an orbit average that depends on the distance from the tool axis
//! only (with its blur over the rim band R−e..R+e). A tilted pad is averaged over its phases.

use crate::contact::{Contact, Load, PressureField, TiltedLoad};
use crate::math::elliptic::mean_speed;
use crate::math::reduce::map_indexed;
use crate::motion::Face;
use crate::panel::Patch;
use core::f64::consts::{FRAC_PI_2, PI};

/// Rates at one point of the panel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Rates {
    /// p|v| averaged over the orbit \[W/m²\]; the cut rate is k_p times it.
    pub work: f64,
    /// |v| while pressed, averaged over the orbit \[m/s\].
    pub slide: f64,
    /// Share of the time during which the point is pressed \[1\], 0 to 1.
    pub dwell: f64,
    /// Largest pressure over the orbit \[Pa\].
    pub peak: f64,
}

impl Rates {
    fn lerp(self, other: Self, t: f64) -> Self {
        Self {
            work: self.work + t * (other.work - self.work),
            slide: self.slide + t * (other.slide - self.slide),
            dwell: self.dwell + t * (other.dwell - self.dwell),
            peak: self.peak + t * (other.peak - self.peak),
        }
    }

    fn pressed_with(self, p: f64) -> Self {
        if p > 0.0 { Self { work: p * self.work, peak: p * self.peak, ..self } } else { Self::default() }
    }
}

/// The footprint of one running pad: what it does around the tool axis, averaged over the orbit.
///
/// ```text
/// work(x) = ⟨p |v|⟩ [W/m²]      k_p work = rate of cut [m/s]      ∫ work dA = ⟨∫ p |v| dA⟩ [W]
/// ```
///
/// # Assumptions and valid range
/// The tool moves little in one orbit, so that the average stands for the place; feed left out of |v|.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::removal::Footprint;
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let flat = solve(&pad, &Patch::flat(), 9e-3, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// let print = Footprint::new(&flat, &Patch::flat(), 500.0, 0.0);
/// // In the middle always covered: 2598.4 Pa at eΩ = 4.5 m/s are 11 693 W/m²; beyond 79 mm nothing.
/// assert!((print.at(0.0, 0.0).work - 11_693.0).abs() < 1.0);
/// assert!((print.reach() - 0.079).abs() < 1e-12 && print.at(0.08, 0.0).dwell <= 0.0);
/// // A straight pass touches a strip that reaches as far to either side.
/// assert!((print.half_width(0.0) - 0.079).abs() < 3e-4);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone)]
pub struct Footprint {
    shape: Form,
    reach: f64,
    /// Whether the rates fall to zero at the reach in a step: a pad that does not orbit.
    step: bool,
    /// Direction of the first principal axis, where the footprint is even about it.
    axis: f64,
}

#[derive(Debug, Clone)]
enum Form {
    /// Rates that depend on the distance from the tool axis only.
    Round { radial: Vec<Rates> },
    /// Pressure field times radial orbit averages; (cos, sin) turn panel axes into principal ones.
    Square { field: PressureField, turn: (f64, f64), radial: Vec<Rates> },
    /// Rates sampled on a square grid around the tool axis.
    Sampled { rates: Vec<Rates>, side: usize },
}

const RADIAL_STEPS: usize = 8192;
const SAMPLES_PER_REACH: usize = 160;
const PHASES: usize = 180;
/// Gauss nodes an arc of phases.
const ARC_NODES: usize = 24;

impl Footprint {
    /// The footprint of a solved contact at orbit rate `rate` and spin `spin` [rad/s].
    ///
    /// # Accuracy
    /// Radial averages are tabulated in 8192 steps and read linearly: about 1e-6 of the peak in
    /// any line integral. A tilted pad is sampled on a 321 x 321 grid and 180 phases: about 1e-3.
    #[must_use]
    pub fn new(contact: &Contact, patch: &Patch, rate: f64, spin: f64) -> Self {
        let axis = patch.axis().rad();
        match &contact.load {
            Load::Rings(rings) => {
                let (face, field) = (*rings.face(), rings.field());
                let reach = face.reach();
                let round = field.isotropic();
                let radial = map_indexed(RADIAL_STEPS + 1, |i| {
                    let rho = reach * i as f64 / RADIAL_STEPS as f64;
                    let rates = radial_rates(&face, rate, spin, rho);
                    if round { rates.pressed_with(field.at(rho, 0.0)) } else { rates }
                });
                let shape = if round {
                    Form::Round { radial }
                } else {
                    Form::Square { field: field.clone(), turn: (axis.cos(), axis.sin()), radial }
                };
                Self { shape, reach, step: face.orbit() <= 0.0, axis }
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
                Self { shape: Form::Sampled { rates, side }, reach, step: load.face().orbit() <= 0.0, axis }
            }
        }
    }

    /// Half the difference of the work rates of two tilted footprints of one pad over `by`: what a small
    /// tilt adds, per unit. Without the second one, that of the opposite tilt is read from the first turned
    /// by half a turn, which holds for a pad that is square otherwise. `None` unless both are tilted and
    /// reach equally far. Dwell and speed are left at zero.
    #[must_use]
    pub(crate) fn odd_part(&self, opposite: Option<&Self>, by: f64) -> Option<Self> {
        let Form::Sampled { rates, side } = &self.shape else { return None };
        let other = |k: usize| match opposite.map(|o| (&o.shape, o.reach)) {
            None => Some(rates[side * side - 1 - k].work),
            Some((Form::Sampled { rates, .. }, reach)) if (reach - self.reach).abs() < 1e-12 => Some(rates[k].work),
            Some(_) => None,
        };
        let half = |(k, r): (usize, &Rates)| Some(Rates { work: 0.5 * (r.work - other(k)?) / by, ..Rates::default() });
        let rates = rates.iter().enumerate().map(half).collect::<Option<Vec<Rates>>>()?;
        Some(Self { shape: Form::Sampled { rates, side: *side }, ..*self })
    }

    /// Distance from the tool axis beyond which every rate is zero \[m\].
    #[must_use]
    pub const fn reach(&self) -> f64 {
        self.reach
    }

    /// Whether the rates fall to zero at the reach in a step, as under a pad that does not orbit.
    pub(crate) const fn ends_in_a_step(&self) -> bool {
        self.step
    }

    /// Whether the rates depend on the distance from the tool axis only.
    #[must_use]
    pub const fn is_round(&self) -> bool {
        matches!(self.shape, Form::Round { .. })
    }

    /// Whether the rates are the same on both sides of a line through the tool axis along
    /// `direction` [rad].
    #[must_use]
    pub(crate) fn is_even_about(&self, direction: f64) -> bool {
        match self.shape {
            Form::Round { .. } => true,
            Form::Square { .. } => {
                let quarter_turns = (direction - self.axis) / FRAC_PI_2;
                (quarter_turns - quarter_turns.round()).abs() < 1e-12
            }
            Form::Sampled { .. } => false,
        }
    }

    /// How far to the side of a line along `direction` \[rad\] the pad touches, m: half the width of
    /// the strip that one endless pass works. See the example of [`Footprint`].
    ///
    /// # Accuracy
    /// Scanned on 720 directions and 400 distances: to 0.3 % of the reach.
    #[must_use]
    pub fn half_width(&self, direction: f64) -> f64 {
        const DISTANCES: i32 = 400;
        let mut widest: f64 = 0.0;
        for i in 0..720 {
            let turn = 2.0 * PI * f64::from(i) / 720.0;
            let sideways = (turn - direction).sin().abs();
            let mut n = DISTANCES;
            while n > 0 {
                let rho = self.reach * (f64::from(n) - 0.5) / f64::from(DISTANCES);
                if rho * sideways <= widest {
                    break;
                }
                if self.at(rho * turn.cos(), rho * turn.sin()).dwell > 0.0 {
                    widest = rho * sideways;
                    break;
                }
                n -= 1;
            }
        }
        widest
    }

    /// Rates at (x, y) \[m\] from the tool axis, panel axes; all zero beyond the reach. See the example of
    /// [`Footprint`].
    #[must_use]
    pub fn at(&self, x: f64, y: f64) -> Rates {
        match &self.shape {
            Form::Round { radial } => self.radial(radial, x, y),
            Form::Square { field, turn: (c, s), radial } => {
                let mean = self.radial(radial, x, y);
                mean.pressed_with(field.at(c * x + s * y, c * y - s * x))
            }
            Form::Sampled { rates, side } => {
                let step = self.reach / SAMPLES_PER_REACH as f64;
                let (u, w) = ((x + self.reach) / step, (y + self.reach) / step);
                let last = (*side - 1) as f64;
                if !(u >= 0.0 && w >= 0.0 && u < last && w < last && x.hypot(y) < self.reach) {
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

    fn radial(&self, table: &[Rates], x: f64, y: f64) -> Rates {
        let place = (x * x + y * y).sqrt() / self.reach * RADIAL_STEPS as f64;
        if place >= RADIAL_STEPS as f64 {
            return Rates::default();
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place < table length
        let i = place as usize;
        table[i].lerp(table[i + 1], place - i as f64)
    }
}

/// Orbit averages at a panel distance: backed speed (in `work`, to be multiplied by the pressure),
/// speed, cover, and the firmest backing (in `peak`, likewise).
fn radial_rates(face: &Face, rate: f64, spin: f64, rho: f64) -> Rates {
    let (a, b) = (face.orbit() * (rate - spin), spin * rho);
    if face.always_covered(rho, rho) {
        let v = mean_speed(a, b);
        return Rates { work: v, slide: v, dwell: 1.0, peak: 1.0 };
    }
    let mut arcs = Vec::new();
    face.arcs(rho, ARC_NODES, &mut arcs);
    let mut out = Rates::default();
    for p in &arcs {
        let v = (a * a + b * b + 2.0 * a * b * p.cosine).max(0.0).sqrt();
        out.work += p.weight * v;
        out.slide += p.cover * v;
        out.dwell += p.cover;
    }
    let nearest = (rho - face.orbit()).abs().max(face.hole());
    out.peak = if nearest <= face.radius() && !arcs.is_empty() { face.backing(nearest) } else { 0.0 };
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
            out.work += p * v / PHASES as f64;
            out.slide += v / PHASES as f64;
            out.dwell += 1.0 / PHASES as f64;
            out.peak = out.peak.max(p);
        }
    }
    out
}
