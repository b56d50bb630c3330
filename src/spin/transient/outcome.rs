//! What a run over time gives: motion at any moment, events, energy, a summary of each piece.

use super::STATE;
use crate::math::ode::Step;

/// Kinds of event in a run over time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum EventKind {
    /// The pad touches down.
    TouchDown,
    /// The pad leaves the panel.
    LiftOff,
    /// The spin falls below the useful minimum.
    Stall,
    /// The spin rises to the useful minimum.
    Turns,
    /// The spin falls below zero: the pad turns against the orbit. A prediction: not yet seen in
    /// published data.
    Reversal,
    /// The spin rises through zero.
    TurnsForward,
    /// The motor gives all it has.
    PowerLimit,
    /// The motor has torque to spare again.
    PowerToSpare,
    /// The orbit rate falls below its set-point by more than the share that counts as bogging.
    Bogs,
    /// The orbit rate is back.
    RateRecovered,
    /// The orbit rate falls to a hundredth of its set-point: the run ends.
    MotorStops,
    /// Friction takes the whole throw of the pad: its face sticks and it only kneads. The run ends.
    FaceSticks,
}

impl EventKind {
    /// The kind in a few words, for tables and reports.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::TouchDown => "touches down",
            Self::LiftOff => "lifts off",
            Self::Stall => "stalls",
            Self::Turns => "turns usefully",
            Self::Reversal => "reverses (prediction)",
            Self::TurnsForward => "turns forward again",
            Self::PowerLimit => "motor at its power limit",
            Self::PowerToSpare => "motor has power to spare",
            Self::Bogs => "motor bogs down",
            Self::RateRecovered => "orbit rate recovered",
            Self::MotorStops => "motor stops",
            Self::FaceSticks => "face sticks",
        }
    }
}

/// Something that happened, and when, with the motion at that moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// When \[s\].
    pub at_s: f64,
    /// What.
    pub kind: EventKind,
    /// Spin [rad/s].
    pub spin: f64,
    /// Orbit rate [rad/s].
    pub rate: f64,
}

/// Motion at one moment: spin, orbit rate and phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Spin [rad/s].
    pub spin: f64,
    /// Orbit rate [rad/s].
    pub rate: f64,
    /// Angle of the orbit since the start \[rad\].
    pub phase: f64,
}

/// Where the work went.
///
/// ```text
/// motor work = friction heat + bearing loss + brake loss + change of ½Jω² + ½IΩ² + residual
/// ```
///
/// Every term but the kinetic one is integrated for itself, and the friction heat is summed from p|v|
/// and not from the torques, so the residual holds the errors of the integration and of the tables. It
/// does not see the interpolation between the conditions along a ramp, which keeps the balance.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EnergyBalance {
    /// Work of the motor on the orbit shaft \[J\]; negative where a rate held exactly had to brake.
    pub motor_j: f64,
    /// Heat between pad and panel \[J\].
    pub friction_j: f64,
    /// Loss in the spindle bearing \[J\].
    pub bearing_j: f64,
    /// Loss in the pad brake \[J\].
    pub brake_j: f64,
    /// Kinetic energy at the end less that at the start \[J\].
    pub kinetic_j: f64,
}

impl EnergyBalance {
    /// What is missing \[J\].
    #[must_use]
    pub fn residual_j(&self) -> f64 {
        self.motor_j - self.friction_j - self.bearing_j - self.brake_j - self.kinetic_j
    }

    /// What is missing over the largest term \[1\]; zero where all are.
    #[must_use]
    pub fn residual_share(&self) -> f64 {
        let terms = [self.motor_j, self.friction_j, self.bearing_j, self.brake_j, self.kinetic_j];
        let largest = terms.iter().fold(0.0_f64, |m, t| m.max(t.abs()));
        if largest > 0.0 { self.residual_j().abs() / largest } else { 0.0 }
    }
}

/// One piece of the schedule as it ran.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PieceOutcome {
    /// Start \[s\].
    pub from_s: f64,
    /// End \[s\]: that of the piece, or where the run ended.
    pub to_s: f64,
    /// Whether the pad was on the panel in the piece, ramps left out.
    pub pressed: bool,
    /// Spin at the end [rad/s].
    pub spin: f64,
    /// Lowest and highest spin [rad/s].
    pub spin_range: (f64, f64),
    /// Orbit rate at the end [rad/s].
    pub rate: f64,
    /// Lowest orbit rate [rad/s].
    pub lowest_rate: f64,
    /// Heat between pad and panel \[J\]: where the pad lands, that of the scuff too.
    pub friction_j: f64,
    /// Time from the start of the piece after which the spin stays within 2 % (at least 1 rpm) of its
    /// value at the end \[s\]; `None` where it is still changing by more than that in the last tenth.
    pub settled_after_s: Option<f64>,
}

/// A run over time: motion at any moment, events, energy and a summary of each piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Transient {
    pub(super) steps: Vec<Step<STATE>>,
    /// Events in order.
    pub events: Vec<Event>,
    /// Where the work went.
    pub energy: EnergyBalance,
    /// The pieces as they ran; those after an early end are missing.
    pub pieces: Vec<PieceOutcome>,
    /// End of the run \[s\].
    pub end_s: f64,
    /// What ended the run before the end of the schedule.
    pub ended_by: Option<EventKind>,
    /// Time on the panel, ramps included, with the spin below the useful minimum \[s\]: the pad stalls.
    pub stalled_s: f64,
    /// Time with the orbit rate below its set-point by more than the share that counts \[s\]: the motor
    /// bogs. Not the same as a stall: a bogged tool may turn its pad, and a stalled pad may leave the
    /// motor at its rate.
    pub bogged_s: f64,
    /// Largest speed of the rim while off the panel, |ω|R + eΩ [m/s]: product on it flies.
    pub lifted_rim_speed_m_s: Option<f64>,
    /// Steps accepted.
    pub accepted: usize,
    /// Steps tried again.
    pub rejected: usize,
    /// Contacts solved.
    pub contacts: usize,
    /// Sums over the face made.
    pub friction_sums: usize,
}

impl Transient {
    /// Motion at a moment \[s\], from the integrator's own interpolant; `None` outside the run. The final
    /// spin in the example of [`super::run_transient`] is that of `at(end_s)`.
    #[must_use]
    pub fn at(&self, t: f64) -> Option<Moment> {
        if !(t >= 0.0 && t <= self.end_s) {
            return None;
        }
        let i = self.steps.partition_point(|s| s.start() <= t).saturating_sub(1);
        self.steps.get(i).map(|s| {
            let y = s.at(t);
            Moment { spin: y[super::SPIN], rate: y[super::RATE], phase: y[super::PHASE] }
        })
    }

    /// Motion at `count` even moments from start to end, with their times \[s\]: for a picture.
    #[must_use]
    pub fn samples(&self, count: usize) -> Vec<(f64, Moment)> {
        let last = count.saturating_sub(1).max(1) as f64;
        (0..count)
            .filter_map(|i| {
                let t = self.end_s * (i as f64 / last);
                self.at(t.min(self.end_s)).map(|m| (t, m))
            })
            .collect()
    }

    /// Moments of one kind of event \[s\].
    pub fn moments(&self, kind: EventKind) -> impl Iterator<Item = f64> + '_ {
        self.events.iter().filter(move |e| e.kind == kind).map(|e| e.at_s)
    }

    /// Whether the pad stalled on the panel.
    #[must_use]
    pub fn stalls(&self) -> bool {
        self.stalled_s > 0.0
    }

    /// Whether the motor bogged.
    #[must_use]
    pub fn bogs(&self) -> bool {
        self.bogged_s > 0.0
    }
}
