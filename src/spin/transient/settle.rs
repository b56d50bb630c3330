//! How long a pad takes to settle after it lands.

use super::TRANSIENT_SLIP_SCALE;
use crate::math::ode::{OdeSettings, Step, integrate, sign_changes};
use crate::spin::balance::SpinState;
use crate::spin::setup::Setup;
use crate::spin::torque::friction_sums;
use crate::units::{AngularRate, Time};
use core::ops::ControlFlow;

/// Share of the settled spin within which a pad counts as settled.
pub(super) const BAND: f64 = 0.02;
/// Longest time looked at, s.
const LONGEST_S: f64 = 3600.0;

/// Least half width of that band, rad/s: one turn a minute.
pub(super) fn least_band() -> f64 {
    AngularRate::from_rpm(1.0).rad_s()
}

/// Time from landing out of free spin (ω = Ω) until the spin stays within 2 % of its settled value (at
/// least 1 rpm), at constant orbit rate and full force from the start.
///
/// ```text
/// J ω̇ = M(ω) + M_b(Ω−ω),   ω(0) = Ω      J moment of inertia of what spins [kg·m²]
/// ```
///
/// `None` for a drive that is not free, for a face that sticks, and where the spin does not settle within
/// an hour. A tool without a moment of inertia gets that of a uniform disc ([`Setup::spin_inertia`]).
///
/// # Accuracy
/// To about 1e-4 of the time; the friction sums are those of the contact, solved anew at every
/// evaluation.
#[must_use]
pub fn settling_time(setup: &Setup, state: &SpinState) -> Option<Time> {
    let inertia = setup.spin_inertia().kgm2();
    let drag = setup.spindle_drag()?;
    if state.sticks {
        return None;
    }
    let rate = setup.tool().rate().rad_s();
    let mu = setup.product().friction();
    let slope = |_: f64, y: &[f64; 1]| {
        let friction = -mu * friction_sums(&state.contact.load, rate, y[0]).moment_nm;
        let spindle = drag.spindle_torque(rate - y[0], TRANSIENT_SLIP_SCALE);
        [(friction + spindle - drag.brake_torque(y[0], TRANSIENT_SLIP_SCALE)) / inertia]
    };
    let band = (BAND * state.spin.abs()).max(least_band());
    let off = |_: f64, y: &[f64; 1]| (y[0] - state.spin).abs() - band;
    if off(0.0, &[rate]) <= 0.0 {
        return Some(Time::from_s(0.0));
    }
    // The spin nears its only equilibrium from one side, so it enters the band once.
    let mut settled = None;
    let settings = OdeSettings { relative: 1e-6, absolute: [1e-5], ..OdeSettings::default() };
    let keep = |step: &Step<1>| match sign_changes(step, 2, 1e-9, off).first() {
        Some(change) => {
            settled = Some(change.at);
            ControlFlow::Break(change.at)
        }
        None => ControlFlow::Continue(()),
    };
    integrate(slope, (0.0, [rate]), LONGEST_S, &settings, keep).ok()?;
    settled.map(Time::from_s)
}
