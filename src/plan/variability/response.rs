//! What a step's cut does when force, rate and tilt leave their set-points, as tables.
//!
//! Contact and spin are solved again at every node. A footprint away from the set-points is then taken as
//!
//! ```text
//! F(x; n, w, θ) ≈ n w T(ln n, ln w) T_x(θ_x) T_y(θ_y) · F_0(x) + w (θ_x F_x(x) + θ_y F_y(x))
//! ```
//!
//! with n force and w rate over their set-points and T the volume removed a second over what proportion
//! would give. F_x and F_y are the odd parts of the footprints tilted one way and the other: a tilted pad
//! cuts deeper on one side and less on the other, by stiffness times tilt whatever the force. How far
//! volume and shape go wrong is measured at settings that are no nodes and told ([`ResponseError`]).

use super::habit::{Habit, HandScatter};
use crate::Error;
use crate::contact::{ContactSettings, Hold, Load};
use crate::equipment::{Drive, Tool};
use crate::error::RangeError;
use crate::math::distribution::ln_sd_of_relative;
use crate::math::reduce::map_indexed;
use crate::removal::Footprint;
use crate::spin::{Setup, SpinState, spin_state};
use crate::units::{Angle, AngularRate, Force};
use core::f64::consts::PI;

/// Table ends, in standard deviations: 7 draws in a million lie beyond.
const ENDS: f64 = 4.5;
/// Nodes in force, in rate and in tilt; odd, so that the set-point is one.
const NODES: (usize, usize, usize) = (17, 9, 13);
/// Standard deviations of the tilt at which its odd part is taken.
const ODD_AT: f64 = 1.5;
/// Samples along a side and phases of the orbit, for the profile of a footprint.
const SIDE: usize = 61;
const PHASES: usize = 36;

/// Settings away from the set-points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Away {
    /// Force over its set-point \[1\].
    pub force: f64,
    /// Rate over its set-point \[1\].
    pub rate: f64,
    /// Tilt along x and y beside that of the step's own hold \[rad\].
    pub tilt: (f64, f64),
}

/// The step at its set-points.
pub(super) const AT_SET_POINTS: Away = Away { force: 1.0, rate: 1.0, tilt: (0.0, 0.0) };

/// How a footprint differs from that at the set-points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// Volume removed a second over that at the set-points \[1\].
    pub volume: f64,
    /// What the tilt's odd parts along x and y are multiplied by \[rad\].
    pub odd: (f64, f64),
    /// Spin of the pad without its tilt \[rad/s\].
    pub spin: f64,
    /// Whether the settings lie beyond the table or where the pad bottoms out; the nearest node's
    /// departure from proportion was kept.
    pub beyond: bool,
}

/// How far the tables are off, against contact and spin solved again at settings between the nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResponseError {
    /// Largest relative error of the volume \[1\].
    pub volume: f64,
    /// Largest RMS difference of the cut profile across an endless pass along either axis of the panel, over
    /// the RMS of the profile \[1\].
    pub profile: f64,
}

/// Values over even nodes about zero.
#[derive(Debug, Clone)]
struct Axis {
    half: f64,
    nodes: usize,
}

impl Axis {
    fn over(half: f64, nodes: usize) -> Self {
        if half > 0.0 { Self { half, nodes } } else { Self { half: 0.0, nodes: 1 } }
    }

    fn at(&self, i: usize) -> f64 {
        if self.nodes == 1 { 0.0 } else { self.half * (2.0 * i as f64 / (self.nodes - 1) as f64 - 1.0) }
    }

    /// Lower node, weight of the next one, whether x lies beyond the ends.
    fn place(&self, x: f64) -> (usize, f64, bool) {
        if self.nodes == 1 {
            return (0, 0.0, false);
        }
        let place = 0.5 * (x / self.half + 1.0) * (self.nodes - 1) as f64;
        let inside = place.clamp(0.0, (self.nodes - 1) as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the nodes
        let i = (inside as usize).min(self.nodes - 2);
        (i, inside - i as f64, (place - inside).abs() > 1e-9)
    }
}

/// A node of a table.
#[derive(Debug, Clone, Copy)]
struct Node {
    ratio: f64,
    spin: f64,
    solved: bool,
}

impl Node {
    fn mix(self, other: Self, t: f64) -> Self {
        let lerp = |a: f64, b: f64| a + t * (b - a);
        Self {
            ratio: lerp(self.ratio, other.ratio),
            spin: lerp(self.spin, other.spin),
            solved: (t >= 1.0 || self.solved) && (t <= 0.0 || other.solved),
        }
    }
}

/// The response of a step's footprint to force, rate and tilt.
#[derive(Debug, Clone)]
pub struct Response {
    force: Axis,
    rate: Axis,
    /// Over force and rate, force fastest.
    table: Vec<Node>,
    tilt: Axis,
    tilted: [Vec<Node>; 2],
    odd: Option<[Footprint; 2]>,
    error: ResponseError,
}

/// The set-up of a step with the hand away from the set-points.
///
/// # Errors
/// A force, rate or tilt outside the ranges of the set-up.
pub(super) fn away(setup: &Setup, off: &Away) -> Result<Setup, RangeError> {
    let tool = match setup.tool().drive() {
        Drive::Rotary { spin } => Tool::rotary(AngularRate::from_rad_s(spin.rad_s() * off.rate))?,
        Drive::Free(_) | Drive::Geared { .. } => {
            // A hand does not ask for the range of the machine's setting: the motor gives way or runs on.
            let rate = setup.tool().rate().rad_s() * off.rate;
            let (low, high) = setup.tool().rate_range();
            let (low, high) = (low.rad_s().min(rate), high.rad_s().max(rate));
            let [low, high, rate] = [low, high, rate].map(AngularRate::from_rad_s);
            setup.tool().clone().with_rate_range(low, high)?.at_rate(rate)?
        }
    };
    let tilted = off.tilt.0.abs() > 0.0 || off.tilt.1.abs() > 0.0;
    let hold = match *setup.hold() {
        Hold::Flat if tilted => Hold::tilted(Angle::from_rad(off.tilt.0), Angle::from_rad(off.tilt.1))?,
        Hold::Tilted { x, y } => {
            Hold::tilted(Angle::from_rad(x.rad() + off.tilt.0), Angle::from_rad(y.rad() + off.tilt.1))?
        }
        other => other,
    };
    let force = Force::from_n(setup.force().n() * off.force);
    Ok(setup.clone().with_tool(tool)?.at_force(force)?.with_hold(hold))
}

/// Whether a hand can tilt the pad: one that aligns itself it cannot.
fn tilts(setup: &Setup) -> bool {
    !matches!(setup.hold(), Hold::SelfAligning)
}

impl Response {
    /// Tables wide enough for `hand`, for a step whose `state` at its set-points is known.
    ///
    /// # Accuracy
    /// Straight lines between 17 nodes in force, 9 in rate and 13 in tilt, out to 4.5 standard deviations;
    /// [`Response::error`] tells how far they are off at settings between the nodes.
    ///
    /// # Errors
    /// A set-up that cannot be solved at its own set-points.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::{Away, HandScatter, Response};
    /// use trochoid::spin::spin_state;
    /// # use trochoid::*;
    /// # fn main() -> Result<(), Error> {
    /// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
    /// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    /// let state = spin_state(&setup, setup.patch(), &Default::default())?;
    /// let hand = HandScatter::steady().with_force(0.2)?;
    /// let response = Response::new(&setup, &state, &hand, &Default::default())?;
    /// // An unspun, geared pad on a flat cuts in proportion to the force: a fifth more force, a fifth more volume.
    /// let effect = response.at(&Away { force: 1.2, rate: 1.0, tilt: (0.0, 0.0) });
    /// assert!((effect.volume - 1.2).abs() < 1e-6 && !effect.beyond);
    /// # Ok(())
    /// # }
    /// ```
    pub fn new(
        setup: &Setup,
        state: &SpinState,
        hand: &HandScatter,
        settings: &ContactSettings,
    ) -> Result<Self, Error> {
        let half = |habit: Habit| {
            let s = ln_sd_of_relative(hand.sd(habit));
            // The mean of the logarithm lies half a variance below that of the mean.
            ENDS * s + 0.5 * s * s
        };
        let force = Axis::over(half(Habit::Force), NODES.0);
        let rate = Axis::over(half(Habit::Rate), NODES.1);
        let tilt = Axis::over(if tilts(setup) { ENDS * hand.sd(Habit::Tilt) } else { 0.0 }, NODES.2);
        let base = Base { setup, volume: state.sums.speed_w, settings };
        let mut table = map_indexed(force.nodes * rate.nodes, |k| {
            let (i, j) = (k % force.nodes, k / force.nodes);
            base.node(&Away { force: force.at(i).exp(), rate: rate.at(j).exp(), tilt: (0.0, 0.0) })
        });
        for row in table.chunks_mut(force.nodes) {
            keep_nearest(row);
        }
        let tilted = [0, 1].map(|axis| {
            let mut nodes = map_indexed(tilt.nodes, |i| {
                let angle = tilt.at(i);
                let tilt = if axis == 0 { (angle, 0.0) } else { (0.0, angle) };
                base.node(&Away { tilt, ..AT_SET_POINTS })
            });
            keep_nearest(&mut nodes);
            nodes
        });
        let odd = if tilt.nodes > 1 { Some(base.odd_parts(ODD_AT * hand.sd(Habit::Tilt))?) } else { None };
        let error = ResponseError { volume: 0.0, profile: 0.0 };
        let mut out = Self { force, rate, table, tilt, tilted, odd, error };
        out.error = out.measure(&base, state, hand);
        Ok(out)
    }

    /// The effect of settings away from the set-points.
    ///
    /// ```text
    /// volume = n w T(ln n, ln w) T_x(θ_x) T_y(θ_y),   odd = w θ        n force, w rate over set-point [1], θ [rad]
    /// ```
    #[must_use]
    pub fn at(&self, off: &Away) -> Effect {
        let (i, t, far) = self.force.place(off.force.ln());
        let (j, u, fast) = self.rate.place(off.rate.ln());
        let node = |i: usize, j: usize| self.table[j * self.force.nodes + i];
        let along = |j: usize| {
            if self.force.nodes == 1 { node(0, j) } else { node(i, j).mix(node(i + 1, j), t) }
        };
        let level = if self.rate.nodes == 1 { along(0) } else { along(j).mix(along(j + 1), u) };
        let mut out = Effect {
            volume: off.force * off.rate * level.ratio,
            odd: (0.0, 0.0),
            spin: level.spin,
            beyond: far || fast || !level.solved,
        };
        if self.tilt.nodes > 1 {
            for (nodes, angle) in self.tilted.iter().zip([off.tilt.0, off.tilt.1]) {
                let (i, t, steep) = self.tilt.place(angle);
                let tilted = nodes[i].mix(nodes[i + 1], t);
                out.volume *= tilted.ratio;
                out.beyond |= steep || !tilted.solved;
            }
            out.odd = (off.rate * off.tilt.0, off.rate * off.tilt.1);
        }
        out
    }

    /// What a tilt of one radian along x and along y would add to the footprint, were it as small as the
    /// hand's; `None` where the pad does not feel the hand's tilt.
    #[must_use]
    pub const fn odd_parts(&self) -> Option<&[Footprint; 2]> {
        self.odd.as_ref()
    }

    /// How far the tables are off.
    #[must_use]
    pub const fn error(&self) -> ResponseError {
        self.error
    }

    /// Solves again at one and a half standard deviations, several habits at once, and compares.
    fn measure(&self, base: &Base<'_>, state: &SpinState, hand: &HandScatter) -> ResponseError {
        const SIGNS: [[f64; 4]; 6] = [
            [1.0, 1.0, 1.0, 0.0],
            [-1.0, 1.0, 0.0, 1.0],
            [1.0, -1.0, 0.0, -1.0],
            [-1.0, -1.0, -1.0, 0.0],
            [1.0, 0.0, 0.7, 0.7],
            [-1.0, 0.0, -0.7, 0.7],
        ];
        let log = |habit: Habit, sign: f64| (1.5 * sign * ln_sd_of_relative(hand.sd(habit))).exp();
        let angle = |sign: f64| 1.5 * sign * if self.tilt.nodes > 1 { hand.sd(Habit::Tilt) } else { 0.0 };
        let own = Shape::of(base.setup, state);
        let odd = self.odd.as_ref().map(|o| o.each_ref().map(|f| Shape::from_footprint(f, own.reach)));
        let errors = map_indexed(SIGNS.len(), |k| {
            let [n, w, x, y] = SIGNS[k];
            let off = Away { force: log(Habit::Force, n), rate: log(Habit::Rate, w), tilt: (angle(x), angle(y)) };
            let effect = self.at(&off);
            // Where the pad cannot be pressed so hard there is nothing to compare with.
            let Ok(setup) = away(base.setup, &off) else { return (0.0, 0.0) };
            let Ok(run) = spin_state(&setup, setup.patch(), base.settings) else { return (0.0, 0.0) };
            let volume = (effect.volume * base.volume / run.sums.speed_w - 1.0).abs();
            let found = Shape::of(&setup, &run);
            let mut told = own.profiles(effect.volume);
            for (part, by) in odd.iter().flatten().zip([effect.odd.0, effect.odd.1]) {
                for (sum, more) in told.iter_mut().flatten().zip(part.profiles(by).iter().flatten()) {
                    *sum += more;
                }
            }
            (volume, found.difference(&told, &own))
        });
        errors.iter().fold(ResponseError { volume: 0.0, profile: 0.0 }, |e, (v, p)| ResponseError {
            volume: e.volume.max(*v),
            profile: e.profile.max(*p),
        })
    }
}

/// Nodes that have no solution take what the nearest solved one toward the set-point has.
fn keep_nearest(nodes: &mut [Node]) {
    let middle = nodes.len() / 2;
    for i in middle + 1..nodes.len() {
        if !nodes[i].solved {
            nodes[i] = Node { solved: false, ..nodes[i - 1] };
        }
    }
    for i in (0..middle).rev() {
        if !nodes[i].solved {
            nodes[i] = Node { solved: false, ..nodes[i + 1] };
        }
    }
}

/// The set-points that everything is related to.
struct Base<'a> {
    setup: &'a Setup,
    volume: f64,
    settings: &'a ContactSettings,
}

impl Base<'_> {
    fn node(&self, off: &Away) -> Node {
        let none = Node { ratio: 1.0, spin: 0.0, solved: false };
        let Ok(setup) = away(self.setup, off) else { return none };
        let Ok(run) = spin_state(&setup, setup.patch(), self.settings) else { return none };
        Node { ratio: run.sums.speed_w / (off.force * off.rate * self.volume), spin: run.spin, solved: true }
    }

    /// The odd parts of the footprints tilted by `angle` along x and along y.
    fn odd_parts(&self, angle: f64) -> Result<[Footprint; 2], Error> {
        let tilted = |tilt: (f64, f64)| -> Result<Footprint, Error> {
            let setup = away(self.setup, &Away { tilt, ..AT_SET_POINTS })?;
            let run = spin_state(&setup, setup.patch(), self.settings)?;
            Ok(Footprint::new(&run.contact, setup.patch(), setup.tool().rate().rad_s(), run.spin))
        };
        let odd = |x: f64, y: f64| -> Result<Footprint, Error> {
            let plus = tilted((x, y))?;
            let square = matches!(self.setup.hold(), Hold::Flat);
            let minus = if square { None } else { Some(tilted((-x, -y))?) };
            let none = || {
                RangeError::new("tilt_sd_deg", Angle::from_rad(angle).deg(), "°", "a tilt that can be told from none")
            };
            Ok(plus.odd_part(minus.as_ref(), angle).ok_or_else(none)?)
        };
        Ok([odd(angle, 0.0)?, odd(0.0, angle)?])
    }
}

/// A footprint's work rate sampled on a square grid: for its profile only.
struct Shape {
    reach: f64,
    rates: Vec<f64>,
}

impl Shape {
    fn of(setup: &Setup, run: &SpinState) -> Self {
        let reach = setup.pad().radius() + run.face_orbit_m;
        if run.sticks {
            return Self { reach, rates: vec![0.0; SIDE * SIDE] };
        }
        let rate = setup.tool().rate().rad_s();
        let rates = match &run.contact.load {
            Load::Rings(_) => {
                return Self::from_footprint(&Footprint::new(&run.contact, setup.patch(), rate, run.spin), reach);
            }
            Load::Tilted(load) => {
                let e = load.face().orbit();
                let turns: Vec<(f64, f64, f64)> = (0..PHASES)
                    .map(|j| {
                        let alpha = 2.0 * PI * (j as f64 + 0.5) / PHASES as f64;
                        (alpha, alpha.cos(), alpha.sin())
                    })
                    .collect();
                (0..SIDE * SIDE)
                    .map(|k| {
                        let (x, y) = sample(k, reach);
                        let one = |(alpha, cos, sin): &(f64, f64, f64)| {
                            let p = load.pressure(x, y, *alpha);
                            let (sx, sy) = (x - e * cos, y - e * sin);
                            p * (-e * rate * sin - run.spin * sy).hypot(e * rate * cos + run.spin * sx)
                        };
                        turns.iter().map(one).sum::<f64>() / PHASES as f64
                    })
                    .collect()
            }
        };
        Self { reach, rates }
    }

    fn from_footprint(footprint: &Footprint, reach: f64) -> Self {
        let at = |k: usize| {
            let (x, y) = sample(k, reach);
            footprint.at(x, y).work
        };
        Self { reach, rates: (0..SIDE * SIDE).map(at).collect() }
    }

    fn step(&self) -> f64 {
        2.0 * self.reach / SIDE as f64
    }

    fn place(&self, i: usize) -> f64 {
        (i as f64 + 0.5) * self.step() - self.reach
    }

    /// Sums over lines along y (a profile over x) and along x, per length, times a factor.
    fn profiles(&self, factor: f64) -> [Vec<f64>; 2] {
        let mut out = [vec![0.0; SIDE], vec![0.0; SIDE]];
        for (k, r) in self.rates.iter().enumerate() {
            out[0][k % SIDE] += factor * r * self.step();
            out[1][k / SIDE] += factor * r * self.step();
        }
        out
    }

    /// RMS difference of the profiles to those told for the samples of `base`, over their RMS; the larger of
    /// the two directions.
    fn difference(&self, told: &[Vec<f64>; 2], base: &Self) -> f64 {
        let read = |profile: &[f64], x: f64| {
            let place = (x + base.reach) / base.step() - 0.5;
            let low = place.floor();
            #[allow(clippy::cast_possible_truncation)] // a few times the table at most
            let value = |i: f64| usize::try_from(i as i64).ok().and_then(|i| profile.get(i)).copied().unwrap_or(0.0);
            value(low) + (place - low) * (value(low + 1.0) - value(low))
        };
        let mut worst: f64 = 0.0;
        for (own, told) in self.profiles(1.0).iter().zip(told) {
            let (mut off, mut whole) = (0.0, 0.0);
            for (i, v) in own.iter().enumerate() {
                let told = read(told, self.place(i));
                off += (v - told) * (v - told);
                whole += v * v;
            }
            if whole > 0.0 {
                worst = worst.max((off / whole).sqrt());
            }
        }
        worst
    }
}

/// Place of a sample from the tool axis, m.
fn sample(k: usize, reach: f64) -> (f64, f64) {
    let step = 2.0 * reach / SIDE as f64;
    (((k % SIDE) as f64 + 0.5) * step - reach, ((k / SIDE) as f64 + 0.5) * step - reach)
}
