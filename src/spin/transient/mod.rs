//! Spin and orbit rate over time: spin-up, landing, lifting, crossing from a crown into a hollow.
//!
//! ```text
//! J ω̇ = M(ω, Ω) + M_b(Ω−ω)            pad about its axis [N·m]
//! I Ω̇ = M_motor − e_f F − M_spindle    orbit shaft; I = rotor + m_p e² [kg·m²]
//! ```
//!
//! M and F are the friction torque and the friction force along the orbit, from the contact at the
//! place and force of the moment; M_spindle the Ω−ω terms of the bearing law M_b, smoothed with
//! x_s = 0.1 rad/s. Without a motor the orbit rate is held exactly.
//!
//! Contact and face follow at once: heave, shear and the pad's own waves have no inertia here, and the
//! energy that the foam stores is left out of the balance (some hundredths of a joule). Friction does
//! not depend on the speed; feed is neglected. Own model; `notebooks-free-docs/theory-transient.md`.
//!
//! The slip term of the bearing is stiff near Ω = ω (rate M0/(J x_s), some hundreds to thousands per
//! second). The explicit pair of [`crate::math::ode`] then takes steps of about 3.3 over that rate; no
//! implicit method is used.

mod drive;
mod error;
mod friction;
mod outcome;
mod schedule;
mod settle;

pub use error::TransientError;
pub use friction::FrictionMode;
pub use outcome::{EnergyBalance, Event, EventKind, Moment, PieceOutcome, Transient};
pub use schedule::{Footing, Piece, Schedule};
pub use settle::settling_time;

use super::setup::Setup;
use crate::contact::{ContactError, ContactSettings};
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::ode::{OdeError, OdeSettings, SignChange, Step, integrate, sign_changes};
use crate::units::AngularRate;
use core::ops::ControlFlow;
use drive::SpeedControl;
use friction::{Friction, Pull, orbit_at};
use schedule::{Stretch, stretches};

/// Scale x_s of s(x) = tanh(x/x_s) in the time integration [rad/s].
pub const TRANSIENT_SLIP_SCALE: f64 = 0.1;

/// Numbers of the state: spin, orbit rate, integral term of the speed control, phase, and the work of
/// motor, friction, bearing and brake.
const STATE: usize = 8;
const SPIN: usize = 0;
const RATE: usize = 1;
const INTEGRAL: usize = 2;
const PHASE: usize = 3;
const MOTOR_WORK: usize = 4;
const FRICTION_WORK: usize = 5;
const BEARING_WORK: usize = 6;
const BRAKE_WORK: usize = 7;

type State = [f64; STATE];

/// Parts of a step in which events are looked for.
const PARTS: u32 = 4;
/// Share of the set-point at which the motor counts as stopped.
const STOPPED_SHARE: f64 = 0.01;
/// Share of the sticking force up to which a rising force is followed.
const STICKING_SHARE: f64 = 0.999;

/// Numerical knobs and limits of a run over time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TransientSettings {
    /// Relative error allowed in a step \[1\]; 1e-6.
    pub tolerance: f64,
    /// Useful minimum of the spin [rad/s]; 60 rpm, common practice, no source.
    pub useful_spin: f64,
    /// Share of the set-point by which the orbit rate may fall before it counts as bogging \[1\]; 0.05.
    /// Assumed: a speed control dips by a few per cent under a sudden load without being overloaded.
    pub bog_share: f64,
    /// Intervals between the conditions that are solved along a ramp, 3 to 1000; 12.
    pub ramp_intervals: usize,
    /// How friction is found; from tables.
    pub friction: FrictionMode,
    /// Knobs of the contact.
    pub contact: ContactSettings,
    /// Steps of a run after which it gives up; 200 000. A step keeps 336 bytes, so this bounds the memory.
    pub most_steps: usize,
}

impl Default for TransientSettings {
    fn default() -> Self {
        Self {
            tolerance: 1e-6,
            useful_spin: AngularRate::from_rpm(crate::equipment::defaults::USEFUL_SPIN_RPM).rad_s(),
            bog_share: 0.05,
            ramp_intervals: 12,
            friction: FrictionMode::Table,
            contact: ContactSettings::default(),
            most_steps: 200_000,
        }
    }
}

/// Motion at the start of a run; at rest at the first set-point by default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Spin, positive with the orbit.
    pub spin: AngularRate,
    /// Orbit rate; `None` is the first set-point.
    pub rate: Option<AngularRate>,
}

impl Default for Start {
    fn default() -> Self {
        Self { spin: AngularRate::from_rad_s(0.0), rate: None }
    }
}

/// What does not change during a run.
struct Machine<'a> {
    setup: &'a Setup,
    settings: &'a TransientSettings,
    control: Option<SpeedControl>,
    spin_inertia: f64,
    orbit_inertia: f64,
    orbit: f64,
}

/// Torques and powers at one moment.
struct Balance {
    pull: Pull,
    spindle_nm: f64,
    brake_nm: f64,
}

impl Machine<'_> {
    fn balance(&self, pull: Pull, force_n: f64, y: &State) -> Balance {
        let (spin, rate) = (y[SPIN], y[RATE]);
        let centrifugal = self.setup.pad().mass().kg() * self.orbit * rate * rate;
        let friction_n = self.setup.product().friction() * force_n;
        let drag = self.setup.tool().bearing().map(|b| b.under_load(centrifugal, friction_n));
        Balance {
            pull,
            spindle_nm: drag.map_or(0.0, |d| d.spindle_torque(rate - spin, TRANSIENT_SLIP_SCALE)),
            brake_nm: drag.map_or(0.0, |d| d.brake_torque(spin, TRANSIENT_SLIP_SCALE)),
        }
    }

    fn slope(&self, stretch: &Stretch, share: f64, b: &Balance, y: &State) -> State {
        let (spin, rate) = (y[SPIN], y[RATE]);
        let load = b.pull.on_orbit_nm + b.spindle_nm;
        let (torque, turn, integral) = match &self.control {
            Some(c) => {
                let (torque, integral) = c.act(rate, stretch.set_point(share), y[INTEGRAL]);
                (torque, (torque - load) / self.orbit_inertia, integral)
            }
            None => {
                let turn = stretch.set_point_slope();
                (load + self.orbit_inertia * turn, turn, 0.0)
            }
        };
        let mut out = [0.0; STATE];
        out[SPIN] = (b.pull.on_pad_nm + b.spindle_nm - b.brake_nm) / self.spin_inertia;
        out[RATE] = turn;
        out[INTEGRAL] = integral;
        out[PHASE] = rate;
        out[MOTOR_WORK] = torque * rate;
        out[FRICTION_WORK] = b.pull.heat_w;
        out[BEARING_WORK] = b.spindle_nm * (rate - spin);
        out[BRAKE_WORK] = b.brake_nm * spin;
        out
    }

    fn kinetic(&self, y: &State) -> f64 {
        0.5 * (self.spin_inertia * y[SPIN] * y[SPIN] + self.orbit_inertia * y[RATE] * y[RATE])
    }

    /// Force at which the face sticks \[N\].
    fn sticking_force(&self) -> f64 {
        self.setup.pad().shear_stiffness() * self.orbit / self.setup.product().friction()
    }
}

/// Time within a step during which a function with these changes of sign is negative \[s\].
fn negative_time(step: &Step<STATE>, until: f64, changes: &[SignChange], starts_negative: bool) -> f64 {
    let (mut total, mut since) = (0.0, starts_negative.then_some(step.start()));
    for c in changes.iter().filter(|c| c.at <= until) {
        if c.rising {
            total += since.take().map_or(0.0, |s| c.at - s);
        } else {
            since = Some(c.at);
        }
    }
    total + since.map_or(0.0, |s| until - s)
}

/// What is gathered while a run goes on.
struct Record {
    out: Transient,
    value: State,
    /// Whether the motor was at its power limit at the end of the last step.
    limited: Option<bool>,
    /// Whether the rate was too far below its set-point at the end of the last step.
    low: Option<bool>,
    /// Whether the rate has reached its set-point since it last stood higher: before that it is low without
    /// having fallen.
    reached: bool,
}

impl Record {
    fn event(&mut self, at_s: f64, kind: EventKind, y: &State) {
        self.out.events.push(Event { at_s, kind, spin: y[SPIN], rate: y[RATE] });
    }

    /// Events at the start of a stretch, where the motor's state differs from that at the end of the last.
    fn at_jump(&mut self, at_s: f64, limited: bool, low: bool) -> Vec<(f64, EventKind)> {
        let mut found = Vec::new();
        if limited != self.limited.unwrap_or(false) {
            found.push((at_s, if limited { EventKind::PowerLimit } else { EventKind::PowerToSpare }));
        }
        let was_low = self.low.unwrap_or(false);
        if low && !was_low {
            self.reached = false;
        } else if !low {
            if was_low && self.reached {
                found.push((at_s, EventKind::RateRecovered));
            }
            self.reached = true;
        }
        found
    }

    /// Takes an accepted step in; the moment at which it ends the run.
    fn take(&mut self, step: &Step<STATE>, machine: &Machine<'_>, stretch: &Stretch) -> Option<f64> {
        let slack = 1e-12 * step.end();
        let find = |g: &dyn Fn(f64, &State) -> f64| {
            let changes = sign_changes(step, PARTS, slack, g);
            let negative = g(step.start(), &step.at(step.start())) < 0.0;
            (changes, negative)
        };
        let useful = machine.settings.useful_spin;
        let mut found: Vec<(f64, EventKind)> = Vec::new();
        let mut note = |changes: &[SignChange], rising: EventKind, falling: EventKind| {
            found.extend(changes.iter().map(|c| (c.at, if c.rising { rising } else { falling })));
        };
        let (stalls, stalled) = find(&|_, y| y[SPIN] - useful);
        note(&stalls, EventKind::Turns, EventKind::Stall);
        note(&find(&|_, y| y[SPIN]).0, EventKind::TurnsForward, EventKind::Reversal);
        let mut bogs = (Vec::new(), false);
        let mut jumps = Vec::new();
        let mut stop = None;
        if let Some(control) = &machine.control {
            let set_point = |t: f64| stretch.set_point(stretch.share(t));
            let (limits, spare) = find(&|t, y| {
                control.command(y[RATE], set_point(t), y[INTEGRAL]) - control.limit(y[RATE], set_point(t))
            });
            note(&limits, EventKind::PowerLimit, EventKind::PowerToSpare);
            let (changes, low) = find(&|t, y| y[RATE] - (1.0 - machine.settings.bog_share) * set_point(t));
            if step.start() <= stretch.from_s + slack {
                // A set-point that jumps, or a start beyond the motor's power, changes no sign inside a step.
                jumps = self.at_jump(step.start(), !spare, low);
            }
            self.limited = Some(limits.last().map_or(!spare, |c| c.rising));
            self.low = Some(changes.last().map_or(low, |c| !c.rising));
            bogs.1 = low && self.reached;
            for c in changes {
                if self.reached {
                    bogs.0.push(c);
                }
                self.reached |= c.rising;
            }
            note(&bogs.0, EventKind::RateRecovered, EventKind::Bogs);
            let (stops, _) = find(&|t, y| y[RATE] - STOPPED_SHARE * set_point(t));
            stop = stops.iter().find(|c| !c.rising).map(|c| c.at);
        }
        let until = stop.unwrap_or_else(|| step.end());
        found.extend(jumps);
        found.retain(|f| f.0 <= until);
        found.extend(stop.map(|t| (t, EventKind::MotorStops)));
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (at, kind) in found {
            self.event(at, kind, &step.at(at));
        }
        if stretch.pressed() {
            self.out.stalled_s += negative_time(step, until, &stalls, stalled);
        } else {
            for y in [step.at(step.start()), step.at(until)] {
                let rim = y[SPIN].abs() * machine.setup.pad().radius() + machine.orbit * y[RATE].abs();
                self.out.lifted_rim_speed_m_s = Some(self.out.lifted_rim_speed_m_s.map_or(rim, |r| r.max(rim)));
            }
        }
        self.out.bogged_s += negative_time(step, until, &bogs.0, bogs.1);
        self.out.steps.push(*step);
        stop
    }

    /// Closes a piece whose first step is `first`.
    fn close(&mut self, first: usize, pressed: bool, start: &State, value: &State) {
        let end_s = self.out.end_s;
        let steps = &self.out.steps[first..];
        let from_s = steps.first().map_or(end_s, Step::start);
        let (mut spins, mut lowest_rate) = ((value[SPIN], value[SPIN]), value[RATE]);
        for step in steps {
            for part in 0..PARTS {
                let t = step.start() + (step.end() - step.start()) * f64::from(part) / f64::from(PARTS);
                let y = step.at(t.min(end_s));
                spins = (spins.0.min(y[SPIN]), spins.1.max(y[SPIN]));
                lowest_rate = lowest_rate.min(y[RATE]);
            }
        }
        let band = (settle::BAND * value[SPIN].abs()).max(settle::least_band());
        let off = |_: f64, y: &State| (y[SPIN] - value[SPIN]).abs() - band;
        let entered = steps
            .iter()
            .rev()
            .find_map(|s| sign_changes(s, PARTS, 1e-9, off).iter().rev().find(|c| !c.rising).map(|c| c.at))
            .unwrap_or(from_s);
        self.out.pieces.push(PieceOutcome {
            from_s,
            to_s: end_s,
            pressed,
            spin: value[SPIN],
            spin_range: spins,
            rate: value[RATE],
            lowest_rate,
            friction_j: value[FRICTION_WORK] - start[FRICTION_WORK],
            settled_after_s: (entered <= from_s + 0.9 * (end_s - from_s)).then_some(entered - from_s),
        });
    }
}

fn check(setup: &Setup, schedule: &Schedule, start: &Start, s: &TransientSettings) -> Result<(), RangeError> {
    within("tolerance", s.tolerance, 1e-12, 1e-2, "")?;
    within("useful_spin", s.useful_spin, 0.0, 1e5, "rad/s")?;
    within("bog_share", s.bog_share, 0.0, 0.9, "")?;
    within("ramp_intervals", s.ramp_intervals as f64, 3.0, 1000.0, "")?;
    within("most_steps", s.most_steps as f64, 1.0, 1e7, "")?;
    within("start.spin_rpm", start.spin.rpm(), -1e5, 1e5, "rpm")?;
    for piece in schedule.pieces() {
        if let Some(rate) = piece.rate() {
            setup.tool().clone().at_rate(rate)?;
        }
    }
    let Some(rate) = start.rate else { return Ok(()) };
    within("start.rate_opm", rate.opm(), 0.0, 1e5, "/min")?;
    if setup.tool().motor().is_none() {
        let allowed = "none for a tool without a motor: its rate is held at the set-point";
        return Err(RangeError::new("start.rate_opm", rate.opm(), "/min", allowed));
    }
    let first = &schedule.pieces()[0];
    let set_point = first.rate().unwrap_or(setup.tool().rate());
    if matches!(first.footing(), Footing::Pressed { .. }) && rate.rad_s() <= STOPPED_SHARE * set_point.rad_s() {
        let allowed = format!("above {:.1} where the run starts on the panel", STOPPED_SHARE * set_point.opm());
        return Err(RangeError::new("start.rate_opm", rate.opm(), "/min", allowed));
    }
    Ok(())
}

/// Runs a free tool through a schedule. Tool, pad and product are those of `setup`; its own patch,
/// force and hold are not used.
///
/// # Assumptions and valid range
/// Contact, shear and heave follow at once; Coulomb friction that does not depend on the speed; feed left out;
/// ramps linear in force, curvature, slopes and set-point. Without a motor the orbit rate is held exactly.
///
/// # Accuracy
/// Explicit Runge-Kutta of order 5 with the error of a step held to `settings.tolerance`. With tables
/// the spin stays within 0.02 rad/s of [`FrictionMode::Direct`] over the ramps of the tests. The
/// residual of [`EnergyBalance`] tells the error of integration and tables.
///
/// # Errors
/// A drive that is not free, a knob or start outside its range, a
/// contact that cannot be solved (with its moment), an integration that stops (with the best value).
/// A motor that stops and a face that sticks are results.
///
/// # Example
/// ```
/// use trochoid::spin::{Footing, Piece, Schedule, Setup, Start, TransientSettings, run_transient};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// // Off the panel, from rest; no seal drag: ω = Ω(1 − exp(−ct/J)), c/J = 2e-3/4e-4 = 5 per second.
/// let bearing = Bearing::new(Torque::from_nm(0.0), ViscousDrag::from_nms(2e-3))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_rad_s(400.0), bearing)?
///     .with_spin_inertia(Inertia::from_kgm2(4e-4))?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let air = Piece::new(Time::from_s(0.0), Time::from_s(0.2), Footing::Lifted)?;
/// let run = run_transient(&setup, &Schedule::new(vec![air])?, &Start::default(), &TransientSettings::default())?;
/// assert!((run.pieces[0].spin - 400.0 * (1.0 - (-1.0_f64).exp())).abs() < 1e-3); // 252.8 rad/s
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own model, see `notebooks-free-docs/theory-transient.md`.
pub fn run_transient(
    setup: &Setup,
    schedule: &Schedule,
    start: &Start,
    settings: &TransientSettings,
) -> Result<Transient, TransientError> {
    let tool = setup.tool();
    if tool.bearing().is_none() {
        return Err(TransientError::NotFree);
    }
    check(setup, schedule, start, settings)?;
    let orbit = 0.5 * tool.throw().m();
    let orbit_inertia =
        tool.motor().map_or(0.0, |m| m.rotor_inertia().kgm2()) + setup.pad().mass().kg() * orbit * orbit;
    let machine = Machine {
        setup,
        settings,
        control: tool.motor().map(|m| SpeedControl::new(m, orbit_inertia)),
        spin_inertia: setup.spin_inertia().kgm2(),
        orbit_inertia,
        orbit,
    };
    let list = stretches(schedule, tool.rate().rad_s());
    let mut value = [0.0; STATE];
    value[SPIN] = start.spin.rad_s();
    value[RATE] = start.rate.map_or_else(|| list.first().map_or(0.0, |s| s.rates.0), AngularRate::rad_s);
    let at_start = machine.kinetic(&value);
    let mut record = Record { out: empty(), value, limited: None, low: None, reached: false };
    let mut off_panel = None;
    let mut opened = (0, value);
    for (i, stretch) in list.iter().enumerate() {
        if off_panel == Some(true) && stretch.pressed() {
            record.event(stretch.from_s, EventKind::TouchDown, &record.value.clone());
        } else if off_panel == Some(false) && !stretch.pressed() {
            record.event(stretch.from_s, EventKind::LiftOff, &record.value.clone());
        }
        run_stretch(&machine, stretch, &mut record)?;
        off_panel = Some(stretch.last.force_n <= 0.0);
        if stretch.pressed() && off_panel == Some(true) && record.out.ended_by.is_none() {
            record.event(stretch.to_s, EventKind::LiftOff, &record.value.clone());
        }
        let ended = record.out.ended_by.is_some();
        if ended || list.get(i + 1).is_none_or(|next| next.piece != stretch.piece) {
            let pressed = matches!(schedule.pieces()[stretch.piece].footing(), Footing::Pressed { .. });
            let value = record.value;
            record.close(opened.0, pressed, &opened.1, &value);
            opened = (record.out.steps.len(), value);
        }
        if ended {
            break;
        }
    }
    let y = record.value;
    record.out.energy = EnergyBalance {
        motor_j: y[MOTOR_WORK],
        friction_j: y[FRICTION_WORK],
        bearing_j: y[BEARING_WORK],
        brake_j: y[BRAKE_WORK],
        kinetic_j: machine.kinetic(&y) - at_start,
    };
    Ok(record.out)
}

fn empty() -> Transient {
    Transient {
        steps: Vec::new(),
        events: Vec::new(),
        energy: EnergyBalance::default(),
        pieces: Vec::new(),
        end_s: 0.0,
        ended_by: None,
        stalled_s: 0.0,
        bogged_s: 0.0,
        lifted_rim_speed_m_s: None,
        accepted: 0,
        rejected: 0,
        contacts: 0,
        friction_sums: 0,
    }
}

/// Share of a stretch at which the face sticks, if it does.
fn sticks_at(machine: &Machine<'_>, stretch: &Stretch) -> Option<f64> {
    let (from, to, most) = (stretch.first.force_n, stretch.last.force_n, machine.sticking_force());
    if orbit_at(machine.setup, from).is_none() || from >= STICKING_SHARE * most {
        return (from > 0.0).then_some(0.0);
    }
    (to >= STICKING_SHARE * most).then(|| ((STICKING_SHARE * most - from) / (to - from)).clamp(0.0, 1.0))
}

fn run_stretch(machine: &Machine<'_>, stretch: &Stretch, record: &mut Record) -> Result<(), TransientError> {
    let settings = machine.settings;
    let length = stretch.to_s - stretch.from_s;
    let sticks = sticks_at(machine, stretch);
    let end = sticks.map_or(stretch.to_s, |share| stretch.from_s + share * length);
    let mut y = record.value;
    if machine.control.is_none() && (y[RATE] - stretch.rates.0).abs() > 0.0 {
        // A rate held exactly jumps with its set-point; the motor pays.
        let before = machine.kinetic(&y);
        y[RATE] = stretch.rates.0;
        y[MOTOR_WORK] += machine.kinetic(&y) - before;
    }
    if end > stretch.from_s {
        // Near sticking the throw at the face falls like a square root, which no table follows.
        let mode = match settings.friction {
            FrictionMode::Table if sticks.is_some() => FrictionMode::Direct,
            mode => mode,
        };
        let shortened = sticks.map_or(*stretch, |share| Stretch {
            to_s: end,
            last: stretch.condition(share),
            rates: (stretch.rates.0, stretch.set_point(share)),
            ..*stretch
        });
        y = integrate_stretch(machine, &shortened, mode, y, record)?;
    }
    record.value = y;
    if sticks.is_some() && record.out.ended_by.is_none() {
        record.out.end_s = end;
        record.event(end, EventKind::FaceSticks, &y);
        record.out.ended_by = Some(EventKind::FaceSticks);
    }
    Ok(())
}

fn integrate_stretch(
    machine: &Machine<'_>,
    stretch: &Stretch,
    mode: FrictionMode,
    mut y: State,
    record: &mut Record,
) -> Result<State, TransientError> {
    let settings = machine.settings;
    let length = stretch.to_s - stretch.from_s;
    let mut friction = Friction::new(machine.setup, *stretch, mode, settings.ramp_intervals, &settings.contact)
        .map_err(|(share, error)| TransientError::Contact { at_s: stretch.from_s + share * length, error })?;
    let mut trouble: Option<(f64, ContactError)> = None;
    if record.out.steps.is_empty() && machine.control.is_some() {
        // The run starts with the control in balance with its load, as far as the motor can.
        let pull = friction
            .pull(0.0, y[RATE], y[SPIN], y[PHASE])
            .map_err(|error| TransientError::Contact { at_s: stretch.from_s, error })?;
        let b = machine.balance(pull, stretch.first.force_n, &y);
        let most = machine.control.map_or(0.0, |c| c.limit(y[RATE], stretch.rates.0));
        y[INTEGRAL] = (b.pull.on_orbit_nm + b.spindle_nm).max(0.0).min(most);
    }
    let mut absolute = [settings.tolerance; STATE];
    absolute[SPIN] *= 10.0;
    absolute[RATE] *= 10.0;
    absolute[PHASE] = f64::INFINITY;
    let knobs = OdeSettings {
        relative: settings.tolerance,
        absolute,
        first_step: None,
        largest_step: length,
        most_steps: settings.most_steps.saturating_sub(record.out.accepted + record.out.rejected).max(1),
    };
    let slope = |t: f64, y: &State| {
        let share = stretch.share(t);
        match friction.pull(share, y[RATE], y[SPIN], y[PHASE]) {
            Ok(pull) => machine.slope(stretch, share, &machine.balance(pull, stretch.condition(share).force_n, y), y),
            Err(error) => {
                trouble.get_or_insert((t, error));
                [f64::NAN; STATE]
            }
        }
    };
    let keep = |step: &Step<STATE>| match record.take(step, machine, stretch) {
        Some(at) => ControlFlow::Break(at),
        None => ControlFlow::Continue(()),
    };
    let run = integrate(slope, (stretch.from_s, y), stretch.to_s, &knobs, keep);
    if let Some((at_s, error)) = trouble {
        return Err(TransientError::Contact { at_s, error });
    }
    let stopped =
        |at_s: f64, y: &State, why: &'static str| TransientError::Stopped { at_s, spin: y[SPIN], rate: y[RATE], why };
    let run = run.map_err(|e| match &e {
        OdeError::NotFinite { at, value } => stopped(*at, value, "a torque is no finite number"),
        OdeError::StepTooSmall { at, value } => stopped(*at, value, "the tolerance cannot be met; take a larger one"),
        OdeError::TooManySteps { at, value } => {
            stopped(*at, value, "the bound on the number of steps is reached; take a larger tolerance or bound")
        }
        OdeError::BadInput => stopped(stretch.from_s, &y, "a knob of the integration is not a positive number"),
    })?;
    record.out.accepted += run.accepted;
    record.out.rejected += run.rejected;
    record.out.contacts += friction.contacts;
    record.out.friction_sums += friction.summed;
    record.out.end_s = run.at;
    if run.at < stretch.to_s {
        record.out.ended_by = Some(EventKind::MotorStops);
    }
    Ok(run.value)
}
