//! How long a pad takes to settle after it lands.

use super::TRANSIENT_SLIP_SCALE;
use crate::math::quadrature::{self, Ends};
use crate::spin::balance::SpinState;
use crate::spin::setup::Setup;
use crate::spin::torque::friction_sums;
use crate::units::{AngularRate, Time};

/// Share of the settled spin within which a pad counts as settled.
pub(super) const BAND: f64 = 0.02;
/// Longest time told \[s\].
const LONGEST_S: f64 = 3600.0;
/// Gauss nodes over one e-fold of the distance to the settled spin.
const NODES: usize = 12;
/// Half width of what is resolved around a step of the bearing law, in its scales.
const AROUND: f64 = 6.0;

/// Least half width of that band [rad/s]: one turn a minute.
pub(super) fn least_band() -> f64 {
    AngularRate::from_rpm(1.0).rad_s()
}

/// Time from landing out of free spin (ω = Ω) until the spin stays within 2 % of its settled value (at
/// least 1 rpm), at constant orbit rate and full force from the start.
///
/// ```text
/// J ω̇ = M(ω) + M_b(Ω−ω),   ω(0) = Ω      J moment of inertia of what spins [kg·m²]
/// t = ∫ J / |M + M_b| dω                 from the edge of the band to Ω [s]
/// ```
///
/// `None` for a drive that is not free, for a face that sticks, and where the spin does not settle within
/// an hour. A tool without a moment of inertia gets that of a uniform disc ([`Setup::spin_inertia`]).
///
/// # Assumptions and valid range
/// Orbit-averaged torques of the contact given, which is taken to carry the full force from the first moment;
/// the bearing's slip smoothed over [`TRANSIENT_SLIP_SCALE`]; no motor. A band wider than the way gives zero.
///
/// # Accuracy
/// The integral runs over the logarithm of the distance to the settled spin, in which the integrand is
/// nearly flat, in pieces of an e-fold with 12 Gauss nodes each: to about 1e-4 of the time, against an
/// integration in time. A hundred or two friction sums of the solved contact, however stiff the bearing.
///
/// # Example
/// ```
/// use trochoid::contact::ContactSettings;
/// use trochoid::spin::{settling_time, spin_state};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let bearing = Bearing::new(Torque::from_nm(0.05), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(18.0), AngularRate::from_opm(4500.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool.clone(), pad, Product::new(0.4, 2e-11)?, Patch::flat(), Force::from_n(45.0))?;
/// let state = spin_state(&setup, setup.patch(), &ContactSettings::default())?;
/// let with = |kgm2: f64| -> Result<f64, Error> {
///     let heavier = setup.clone().with_tool(tool.clone().with_spin_inertia(Inertia::from_kgm2(kgm2))?)?;
///     Ok(settling_time(&heavier, &state).map_or(f64::NAN, |t| t.s()))
/// };
/// // From 471.2 to 1.02 × 9.6 rad/s. Friction never pulls with more than ⅔ μNR = 0.84 N·m on a disc, so with
/// // 4e-4 kg·m² it takes more than 4e-4 × 461.4/0.84 = 0.22 s; twice the inertia takes twice as long.
/// let time = with(4e-4)?;
/// assert!(time > 0.22 && time < 3.0 && (with(8e-4)? / time - 2.0).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own method; `notebooks-free-docs/theory-transient.md`.
#[must_use]
pub fn settling_time(setup: &Setup, state: &SpinState) -> Option<Time> {
    let inertia = setup.spin_inertia().kgm2();
    let drag = setup.spindle_drag()?;
    if state.sticks {
        return None;
    }
    let rate = setup.tool().rate().rad_s();
    let mu = setup.product().friction();
    let torque = |spin: f64| {
        let friction = -mu * friction_sums(&state.contact.load, rate, spin).moment_nm;
        let spindle = drag.spindle_torque(rate - spin, TRANSIENT_SLIP_SCALE);
        friction + spindle - drag.brake_torque(spin, TRANSIENT_SLIP_SCALE)
    };
    let band = (BAND * state.spin.abs()).max(least_band());
    let (away, side) = ((rate - state.spin).abs(), (rate - state.spin).signum());
    if away <= band {
        return Some(Time::from_s(0.0));
    }
    // Seconds over an e-fold of the distance; the torque points to the settled spin all the way.
    let mut turned = false;
    let mut slowness = |log: f64| {
        let distance = log.exp();
        let back = -side * torque(state.spin + side * distance);
        turned |= back <= 0.0;
        inertia * distance / back
    };
    let mut time = 0.0;
    for piece in pieces(band, away, side * (0.0 - state.spin)).windows(2) {
        time += quadrature::integrate(piece[0], piece[1], NODES, Ends::Smooth, &mut slowness);
    }
    (!turned && time <= LONGEST_S).then(|| Time::from_s(time))
}

/// Ends of the pieces, logarithms of distances from the settled spin: e-folds from `band` to `away`, with the
/// surroundings of the two steps of the bearing law, at Ω (`away`) and at standstill, resolved.
fn pieces(band: f64, away: f64, standstill: f64) -> Vec<f64> {
    let width = AROUND * TRANSIENT_SLIP_SCALE;
    let mut ends = vec![band.ln(), away.ln()];
    let count = (away / band).ln().ceil();
    let mut at = 1.0;
    while at < count {
        ends.push(band.ln() + at / count * (away / band).ln());
        at += 1.0;
    }
    for step in [away, standstill] {
        for part in [-1.0, -0.5, -0.25, 0.0, 0.25, 0.5, 1.0] {
            let d = step + part * width;
            if d > band && d < away {
                ends.push(d.ln());
            }
        }
    }
    ends.sort_by(f64::total_cmp);
    ends
}
