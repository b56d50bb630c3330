//! The drive of the orbit shaft: a rate held exactly, or a motor that holds it up to its power.

use crate::equipment::Motor;

/// Natural rate of the speed control [rad/s]: it settles in about 0.1 s. Assumed.
const CONTROL_RATE: f64 = 30.0;
/// Largest torque as a multiple of that at rated power and set-point. Assumed: a motor that slows down
/// gives more torque, but not without bound.
const MOST_TORQUE: f64 = 2.0;

/// Motor with a proportional-integral speed control.
///
/// ```text
/// M_c = 2 w I (Ω_s − Ω) + z                            command [N·m], w the control's natural rate [rad/s]
/// M   = M_c held between 0 and min(P/Ω, 2P/Ω_s)        P what the power leaves over idling [W]
/// ż   = w² I (Ω_s − Ω) + w (M − M_c)                   integral term, led back where M is held
/// ```
///
/// Critically damped. The way back from the limit is that of K. J. Åström and T. Hägglund, "PID
/// Controllers", 2nd ed., ISA 1995, 3.5 (back-calculation; cited from memory). Idle power (fan, gear,
/// windings) is taken off the rated one and is not part of the balance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SpeedControl {
    inertia: f64,
    available_w: f64,
}

impl SpeedControl {
    /// A control for everything that turns with the shaft \[kg·m²\].
    pub(super) fn new(motor: &Motor, inertia: f64) -> Self {
        Self { inertia, available_w: motor.available().w() }
    }

    /// Largest torque at a rate \[N·m\].
    pub(super) fn limit(&self, rate: f64, set_point: f64) -> f64 {
        let most = MOST_TORQUE * self.available_w / set_point;
        if rate * most > self.available_w { self.available_w / rate } else { most }
    }

    /// Torque asked for \[N·m\].
    pub(super) fn command(&self, rate: f64, set_point: f64, integral: f64) -> f64 {
        2.0 * CONTROL_RATE * self.inertia * (set_point - rate) + integral
    }

    /// Torque given [N·m] and slope of the integral term [N·m/s].
    pub(super) fn act(&self, rate: f64, set_point: f64, integral: f64) -> (f64, f64) {
        let command = self.command(rate, set_point, integral);
        let given = command.max(0.0).min(self.limit(rate, set_point));
        let error = set_point - rate;
        (given, CONTROL_RATE * CONTROL_RATE * self.inertia * error + CONTROL_RATE * (given - command))
    }
}
