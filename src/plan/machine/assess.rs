//! A machine at its work: balance, bearings, motor and supply of one set-up.

use super::bearing_load::{CrossLoad, Supports};
use super::counterweight::{BalanceLayout, Counterweights};
use super::motor::{Duty, MotorLoad};
use super::rating_life::{BallBearing, BearingLoad, RatingLife};
use super::supply::{Supply, SupplyDraw};
use super::unbalance::ResultantUnbalance;
use crate::Error;
use crate::contact::ContactSettings;
use crate::equipment::within;
use crate::error::RangeError;
use crate::plan::Unbalance;
use crate::plan::state::shaft_load;
use crate::spin::{Setup, SpinState, spin_state};
use crate::units::{AngularRate, Force, Length, Power, Torque};

/// The two bearings of the spindle, alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpindleSupport {
    /// Each of them.
    pub bearing: BallBearing,
    overhang_m: f64,
    span_m: f64,
}

impl SpindleSupport {
    /// Two bearings: the front one `overhang` above the pad's plane, the rear one `span` above it. The front
    /// one takes the force along the axis.
    ///
    /// # Errors
    /// As [`Supports::new`].
    pub fn new(bearing: BallBearing, overhang: Length, span: Length) -> Result<Self, RangeError> {
        Supports::new(Length::from_m(0.0), overhang, span)?;
        Ok(Self { bearing, overhang_m: overhang.m(), span_m: span.m() })
    }

    /// The supports of a shaft whose pad lies in a plane.
    fn supports(&self, pad_plane: Length) -> Result<Supports, RangeError> {
        Supports::new(pad_plane, Length::from_m(self.overhang_m), Length::from_m(self.span_m))
    }
}

/// The bearing, or the two alike, that the pad turns on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadSupport {
    /// Each of them.
    pub bearing: BallBearing,
    overhang_m: f64,
    span_m: Option<f64>,
}

impl PadSupport {
    /// One bearing at `overhang` above the pad's plane; with a `span` another one above it. The lower one
    /// takes the force along the axis.
    ///
    /// # Errors
    /// As [`Supports::new`].
    pub fn new(bearing: BallBearing, overhang: Length, span: Option<Length>) -> Result<Self, RangeError> {
        within("overhang_mm", overhang.mm(), -500.0, 500.0, "mm")?;
        if let Some(span) = span {
            Supports::new(Length::from_m(0.0), overhang, span)?;
        }
        Ok(Self { bearing, overhang_m: overhang.m(), span_m: span.map(Length::m) })
    }
}

/// What is known of a machine; what is not is not told.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MachineDescription {
    /// Planes of pad and counterweights.
    pub balance: Option<BalanceLayout>,
    /// Bearings of the spindle.
    pub spindle: Option<SpindleSupport>,
    /// Bearings of the pad.
    pub pad: Option<PadSupport>,
    /// How the motor is worked; steadily where nothing is said.
    pub duty: Duty,
    /// What feeds it.
    pub supply: Option<Supply>,
}

/// What is left with one pad mass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residual {
    /// Pad mass, kg.
    pub pad_kg: f64,
    /// Resultant and moment about the first counterweight plane.
    pub sum: ResultantUnbalance,
    /// Force that shakes the machine.
    pub force: Force,
    /// Couple that shakes it.
    pub couple: Torque,
    /// The same as unbalances in the planes of the front and the rear spindle bearing \[kg·m\]; `None` where
    /// these are not known.
    pub in_bearings_kgm: Option<[f64; 2]>,
}

/// Counterweights and what they leave.
#[derive(Debug, Clone, PartialEq)]
pub struct BalanceState {
    /// The counterweights.
    pub weights: Counterweights,
    /// At the lightest mass of the pad, as described, at the heaviest.
    pub residuals: [Residual; 3],
    /// One plane alone, made for the same mass: couple at that mass.
    pub one_plane_couple: Torque,
}

/// A machine at its work.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineState {
    /// Rate of the shaft: orbit rate, or that of a rotary spindle.
    pub rate: AngularRate,
    /// Spin of the pad.
    pub spin: AngularRate,
    /// Whether the face sticks; then nothing is told of motor and supply.
    pub sticks: bool,
    /// Pull of the pad on its orbit, m e Ω².
    pub orbit_force: Force,
    /// Friction on the face across the shaft, along the orbit.
    pub side_force: Force,
    /// Torque of friction and bearing drag on the shaft.
    pub torque: Option<Torque>,
    /// Power at the shaft, idle power included.
    pub power: Option<Power>,
    /// Balance; `None` without its layout or an orbit.
    pub balance: Option<BalanceState>,
    /// Lives of the front and the rear spindle bearing; of a pad that orbits with its balance only.
    pub spindle: Option<[RatingLife; 2]>,
    /// The same with the pad at its heaviest.
    pub spindle_wet: Option<[RatingLife; 2]>,
    /// Lives of the lower and, where there are two, the upper pad bearing.
    pub pad: Option<(RatingLife, Option<RatingLife>)>,
    /// The motor; `None` without one.
    pub motor: Option<MotorLoad>,
    /// The supply.
    pub supply: Option<SupplyDraw>,
}

/// Height of the middle of pad and layer above the face: where the pad assembly's centre of mass is taken to
/// lie, m.
fn face_depth(setup: &Setup) -> f64 {
    0.5 * (setup.pad().thickness().m() + setup.pad().interface().map_or(0.0, |i| i.thickness().m()))
}

/// Friction along the orbit \[N\]; all of μN where the face sticks.
fn side_force(setup: &Setup, run: &SpinState) -> f64 {
    if run.sticks {
        setup.friction_n()
    } else if setup.tool().rate().rad_s() > 0.0 {
        setup.product().friction() * run.sums.forward_n.abs()
    } else {
        // A pad that only turns rubs alike on all sides.
        0.0
    }
}

/// Balance, bearings, motor and supply of a set-up on its own patch.
///
/// ```text
/// spindle: m e Ω² at the pad's plane, −U_1 Ω², −U_2 Ω² at the counterweights', friction F_t square to them at
///          the face, and the couple −N e; along the axis N
/// pad bearing: m e Ω² at the pad's plane, F_t at the face; along the axis N; turning at Ω − ω
/// ```
///
/// # Assumptions and valid range
/// Rigid shaft and housing; steady load at the set-up's force; the weight of the parts is left out; the centre
/// of mass of the pad assembly lies half the pad's thickness above the face. The pressure under the pad is
/// taken to act on the pad's axis. A single pad bearing is not reckoned with the moment that it must bear too.
///
/// # Accuracy
/// Statics of a rigid shaft, exact for the loads named; those are as good as [`spin_state`].
///
/// # Errors
/// As [`spin_state`]; a description out of range.
///
/// # Example
/// ```
/// use trochoid::plan::machine::{MachineDescription, machine_state};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_rad_s(400.0), 0.0)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let at_work = machine_state(&setup, &MachineDescription::default(), &Default::default())?;
/// // A pad of 0.2 kg pulls with 0.2 × 0.006 × 400² = 192 N; unspun its friction asks the shaft for
/// // μ N e = 0.35 × 35 × 0.006 = 0.0735 N·m, at 400 rad/s 29.4 W.
/// assert!((at_work.orbit_force.n() - 192.0).abs() < 1e-9);
/// assert!(at_work.power.is_some_and(|p| (p.w() - 29.4).abs() < 0.01));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Statics; own choice of loads, see `notebooks-free-docs/theory-machine.md`.
pub fn machine_state(
    setup: &Setup,
    machine: &MachineDescription,
    settings: &ContactSettings,
) -> Result<MachineState, Error> {
    let run = spin_state(setup, setup.patch(), settings)?;
    let (tool, spin) = (setup.tool(), AngularRate::from_rad_s(run.spin));
    let orbits = tool.rate().rad_s() > 0.0;
    let rate = if orbits { tool.rate() } else { spin };
    let orbit_n = Unbalance::of(setup, spin).orbit_force().n();
    let side_n = side_force(setup, &run);
    let torque = (!run.sticks).then(|| Torque::from_nm(shaft_load(setup, &run).1));
    let balance = match &machine.balance {
        Some(layout) if orbits => Some(balance(setup, layout, machine.spindle.as_ref(), rate)?),
        _ => None,
    };
    let weights = balance.as_ref().map(|b| &b.weights);
    let load = Loads { setup, side_n, rate };
    // Without its counterweights what an orbiting shaft carries is not known.
    let known = machine.spindle.as_ref().filter(|_| weights.is_some() || !orbits);
    let own_kg = setup.pad().mass().kg();
    let spindle = known.map(|s| load.spindle(s, weights, own_kg)).transpose()?;
    let wet_kg = weights.map_or(own_kg, |w| w.pad_masses().ends().1);
    let spindle_wet = known.map(|s| load.spindle(s, weights, wet_kg)).transpose()?;
    let relative = AngularRate::from_rad_s(tool.rate().rad_s() - run.spin);
    let pad = match &machine.pad {
        Some(support) if orbits => Some(load.pad(support, orbit_n, relative)?),
        _ => None,
    };
    let motor = match (tool.motor(), torque) {
        (Some(motor), Some(work)) => {
            let peak = peak_torque(setup, &machine.duty, settings)?;
            Some(MotorLoad::of(motor, rate, work, peak, &machine.duty)?)
        }
        _ => None,
    };
    let work_w = torque.map(|t| t.nm() * rate.rad_s());
    let idle_w = tool.motor().map_or(0.0, |m| m.idle().w());
    let power = work_w.map(|w| Power::from_w(w + idle_w));
    let share = work_w.zip(tool.motor()).map(|(w, m)| w / m.available().w()).filter(|s| s.is_finite());
    let supply = machine.supply.zip(power).and_then(|(s, p)| s.draw(p, share));
    Ok(MachineState {
        rate,
        spin,
        sticks: run.sticks,
        orbit_force: Force::from_n(orbit_n),
        side_force: Force::from_n(side_n),
        torque,
        power,
        balance,
        spindle,
        spindle_wet,
        pad,
        motor,
        supply,
    })
}

/// Torque on the shaft at the peak of the force; `None` where the face sticks or the pad bottoms out there.
fn peak_torque(setup: &Setup, duty: &Duty, settings: &ContactSettings) -> Result<Option<Torque>, RangeError> {
    let at = setup.clone().at_force(Force::from_n(setup.force().n() * duty.peak_force_factor()))?;
    let run = spin_state(&at, at.patch(), settings).ok().filter(|r| !r.sticks);
    Ok(run.map(|r| Torque::from_nm(shaft_load(&at, &r).1)))
}

fn balance(
    setup: &Setup,
    layout: &BalanceLayout,
    spindle: Option<&SpindleSupport>,
    rate: AngularRate,
) -> Result<BalanceState, RangeError> {
    let orbit = Length::from_m(0.5 * setup.tool().throw().m());
    let weights = layout.counterweights(orbit, setup.pad())?;
    let places = spindle.map(|s| s.supports(layout.pad_plane())).transpose()?.map(|s| s.places());
    let of = |pad_kg: f64| -> Result<Residual, RangeError> {
        let sum = weights.residual(pad_kg);
        let in_bearings_kgm = match places {
            Some((front, rear)) => Some(sum.in_planes(front, rear)?.map(|u| u.size_kgm())),
            None => None,
        };
        Ok(Residual {
            pad_kg,
            sum,
            force: Force::from_n(sum.force_n(rate)),
            couple: Torque::from_nm(sum.couple_nm(rate)),
            in_bearings_kgm,
        })
    };
    let masses = weights.pad_masses();
    let (low, high) = masses.ends();
    let residuals = [of(low)?, of(masses.described_kg)?, of(high)?];
    let alone = weights.in_one_plane()?.residual(weights.made_for().kg());
    Ok(BalanceState { residuals, one_plane_couple: Torque::from_nm(alone.couple_nm(rate)), weights })
}

/// What acts on the bearings of a set-up.
struct Loads<'a> {
    setup: &'a Setup,
    side_n: f64,
    rate: AngularRate,
}

impl Loads<'_> {
    fn axial(&self) -> f64 {
        self.setup.force().n()
    }

    fn spindle(
        &self,
        support: &SpindleSupport,
        weights: Option<&Counterweights>,
        pad_kg: f64,
    ) -> Result<[RatingLife; 2], RangeError> {
        let pad_plane = weights.map_or(Length::from_m(0.0), Counterweights::pad_plane);
        let supports = support.supports(pad_plane)?;
        let square = self.rate.rad_s().powi(2);
        let turning = weights.map_or_else(Vec::new, |w| w.with_pad(pad_kg));
        let pull = |u: &super::PlaneUnbalance| CrossLoad {
            at_m: u.plane().m(),
            force_n: (u.vector_kgm().0 * square, u.vector_kgm().1 * square),
        };
        let mut loads: Vec<CrossLoad> = turning.iter().map(pull).collect();
        loads.push(CrossLoad { at_m: pad_plane.m() - face_depth(self.setup), force_n: (0.0, -self.side_n) });
        let orbit_m = 0.5 * self.setup.tool().throw().m();
        let carried = supports.carry(&loads, (-self.axial() * orbit_m, 0.0));
        let life = |radial_n: f64, axial_n: f64| support.bearing.life(BearingLoad { radial_n, axial_n }, self.rate);
        Ok([life(carried.front(), self.axial())?, life(carried.rear(), 0.0)?])
    }

    fn pad(
        &self,
        support: &PadSupport,
        orbit_n: f64,
        relative: AngularRate,
    ) -> Result<(RatingLife, Option<RatingLife>), RangeError> {
        let life = |radial_n: f64, axial_n: f64| support.bearing.life(BearingLoad { radial_n, axial_n }, relative);
        let Some(span) = support.span_m else {
            return Ok((life(orbit_n.hypot(self.side_n), self.axial())?, None));
        };
        let supports = Supports::new(Length::from_m(0.0), Length::from_m(support.overhang_m), Length::from_m(span))?;
        let loads = [
            CrossLoad { at_m: 0.0, force_n: (orbit_n, 0.0) },
            CrossLoad { at_m: -face_depth(self.setup), force_n: (0.0, -self.side_n) },
        ];
        let carried = supports.carry(&loads, (0.0, 0.0));
        Ok((life(carried.front(), self.axial())?, Some(life(carried.rear(), 0.0)?)))
    }
}

/// Lives of the bearings at one orbit rate, h.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LivesAtRate {
    /// Orbit rate.
    pub rate: AngularRate,
    /// The spindle bearing that lives shorter.
    pub spindle_h: Option<f64>,
    /// The same with the pad at its heaviest.
    pub spindle_wet_h: Option<f64>,
    /// The pad bearing that lives shorter.
    pub pad_h: Option<f64>,
}

/// Lives at 90 % over orbit rates, the pad's spin solved again at each; the tool's own range does not bound
/// them. Empty for a rotary drive.
///
/// # Errors
/// As [`machine_state`].
///
/// # Example
/// ```
/// use trochoid::plan::machine::{BallBearing, MachineDescription, PadSupport, lives_over_rate};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_rad_s(400.0), 0.0)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.05, 2e-11)?, Patch::flat(), Force::from_n(1.0))?;
/// let bearing = BallBearing::new(Force::from_n(5000.0), Force::from_n(2500.0))?;
/// let support = PadSupport::new(bearing, Length::from_mm(10.0), None)?;
/// let machine = MachineDescription { pad: Some(support), ..MachineDescription::default() };
/// let rates = [200.0, 400.0].map(AngularRate::from_rad_s);
/// let lives = lives_over_rate(&setup, &machine, &rates, &Default::default())?;
/// // The load is the pad's pull, which goes with the square of the rate, its cube goes into the life, and the
/// // turns of an hour double: twice the rate leaves 1/2⁷ of the hours.
/// let hours: Vec<f64> = lives.iter().filter_map(|l| l.pad_h).collect();
/// assert!((hours[0] / hours[1] - 128.0).abs() < 0.01);
/// # Ok(())
/// # }
/// ```
pub fn lives_over_rate(
    setup: &Setup,
    machine: &MachineDescription,
    rates: &[AngularRate],
    settings: &ContactSettings,
) -> Result<Vec<LivesAtRate>, Error> {
    if setup.tool().rate().rad_s() <= 0.0 {
        return Ok(Vec::new());
    }
    let bearings = MachineDescription { supply: None, ..*machine };
    let shorter = |s: [RatingLife; 2]| s[0].l10.h().min(s[1].l10.h());
    let at = |rate: &AngularRate| -> Result<LivesAtRate, Error> {
        let own = setup.tool().rate();
        let (low, high) = if rate.rad_s() < own.rad_s() { (*rate, own) } else { (own, *rate) };
        let tool = setup.tool().clone().with_rate_range(low, high)?.at_rate(*rate)?;
        let found = machine_state(&setup.clone().with_tool(tool)?, &bearings, settings)?;
        let pad = found.pad.map(|(a, b)| b.map_or(a.l10.h(), |b| b.l10.h().min(a.l10.h())));
        Ok(LivesAtRate {
            rate: *rate,
            spindle_h: found.spindle.map(shorter),
            spindle_wet_h: found.spindle_wet.map(shorter),
            pad_h: pad,
        })
    };
    rates.iter().map(at).collect()
}
