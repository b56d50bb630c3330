//! The torque balance of a free pad and its root.
//!
//! ```text
//! M(ω) + M_b(Ω−ω) = 0,   M(ω) = −μ ⟨∫ p (ρ×v)/|v| dA⟩
//! ```
//!
//! With Coulomb friction that does not depend on speed, M(ω) is minus the derivative of the convex
//! function μ⟨∫p|v| dA⟩ of ω, so it never rises with ω, whatever the pressure; the bearing law never
//! rises either. The balance therefore has exactly one root, and it is stable (our own remark; the
//! tests scan for others). More than one equilibrium needs friction that falls with speed.

use super::setup::Setup;
use super::torque::{FrictionLoad, FrictionSums, friction_sums};
use crate::contact::{Contact, ContactError, ContactSettings, Load, solve};
use crate::equipment::SpindleDrag;
use crate::math::root;
use crate::panel::Patch;
use crate::units::AngularRate;

/// Scale x_s of s(x) = tanh(x/x_s) in the balance [rad/s].
pub const SLIP_SCALE: f64 = 1e-3;

/// Torque balance of a free pad under one load; the equation stands at [`spin_state`].
#[derive(Debug, Clone, Copy)]
pub struct TorqueBalance<'a, L = Load> {
    /// The load.
    pub load: &'a L,
    /// Friction coefficient μ \[1\].
    pub friction: f64,
    /// Orbit rate Ω [rad/s].
    pub rate: f64,
    /// Bearing law under its load.
    pub drag: SpindleDrag,
}

/// A spin at which the torques balance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Equilibrium {
    /// Spin [rad/s], positive with the orbit.
    pub spin: f64,
    /// Whether a small disturbance dies out.
    pub stable: bool,
    /// Error bound of the root itself [rad/s]; the quadrature's own error is not in it.
    pub error: f64,
    /// Slope of the net torque there \[N·m·s\], negative: what damps a disturbance.
    pub slope: f64,
    /// Evaluations of the friction torque.
    pub calls: u32,
}

impl<L: FrictionLoad> TorqueBalance<'_, L> {
    /// Friction torque about the pad axis at a spin [rad/s], −μ ⟨∫ p (ρ×v)_z/|v| dA⟩ over the orbit \[N·m\];
    /// negative where it brakes a pad that turns with the orbit.
    #[must_use]
    pub fn friction_torque(&self, spin: f64) -> f64 {
        -self.friction * self.load.friction_sums(self.rate, spin, true).moment_nm
    }

    /// Net torque on the pad at a spin [rad/s]: friction, bearing and brake \[N·m\]. At exactly zero spin the
    /// brake gives nothing: s(0) = 0.
    #[must_use]
    pub fn net(&self, spin: f64) -> f64 {
        self.friction_torque(spin) + self.drag.spindle_torque(self.rate - spin, SLIP_SCALE)
            - self.drag.brake_torque(spin, SLIP_SCALE)
    }

    /// The net torque on the contact's own nodes, split nowhere: for the way to the root.
    fn quick(&self, spin: f64) -> f64 {
        self.drag.spindle_torque(self.rate - spin, SLIP_SCALE)
            - self.drag.brake_torque(spin, SLIP_SCALE)
            - self.friction * self.load.friction_sums(self.rate, spin, false).moment_nm
    }

    /// The equilibrium, found to `tolerance` [rad/s]; see the example of [`spin_state`].
    ///
    /// A first root on the contact's own nodes, then the true one from there: most evaluations need
    /// no splitting at the point of no sliding.
    ///
    /// Returns `None` only where a torque is not a number or the tolerance is not positive.
    #[must_use]
    pub fn equilibrium(&self, tolerance: f64) -> Option<Equilibrium> {
        if tolerance.is_nan() || tolerance <= 0.0 {
            return None;
        }
        let mut calls = 0;
        let (low, high) = self.bracket(&mut calls)?;
        let guess = root::bracketed(|w| self.quick(w), low, high, (1e-6 * self.rate.abs()).max(tolerance))?;
        let h = (1e-4 * self.rate.abs()).min(0.25 * (high.0 - low.0));
        let slope = (self.quick(guess.x + h) - self.quick(guess.x - h)).abs() / (2.0 * h);
        calls += guess.calls + 2;
        // Walk from the guess in steps that grow until the sign changes; the net torque never rises.
        let start = (guess.x, self.net(guess.x));
        calls += 1;
        let forward = start.1 > 0.0;
        let mut near = start;
        let mut step =
            (1.5 * start.1 / slope.max(f64::MIN_POSITIVE)).abs().min(1e-2 * self.rate.abs().max(1.0)).max(tolerance);
        let far = loop {
            let spin = if forward { near.0 + step } else { near.0 - step };
            let next = (spin, self.net(spin));
            calls += 1;
            if next.1.is_nan() || step > 1e9 {
                return None;
            }
            if (next.1 > 0.0) != forward {
                break next;
            }
            near = next;
            step *= 4.0;
        };
        let r = root::bracketed(|w| self.net(w), near, far, tolerance)?;
        Some(Equilibrium { spin: r.x, stable: true, error: r.error, slope: -slope, calls: calls + r.calls })
    }

    /// Two spins between which the quick net torque changes sign.
    fn bracket(&self, calls: &mut u32) -> Option<((f64, f64), (f64, f64))> {
        let at_rest = self.quick(0.0);
        *calls += 1;
        // The tanh terms act within a few slip scales of ω = 0 and ω = Ω; outside it the balance is
        // smooth, so those corners are kept as ends of the bracket.
        let edge = 40.0 * SLIP_SCALE;
        if at_rest >= 0.0 {
            let mut low = (0.0, at_rest);
            let guess = self.rate - edge;
            let mut high = if guess > edge {
                let inner = (guess, self.quick(guess));
                *calls += 1;
                if inner.1 > 0.0 {
                    low = inner;
                    *calls += 1;
                    (self.rate, self.quick(self.rate))
                } else {
                    inner
                }
            } else {
                *calls += 1;
                (self.rate, self.quick(self.rate))
            };
            if self.drag.brake_nm > 0.0 {
                let inner = (edge, self.quick(edge));
                *calls += 1;
                if inner.1 > 0.0 {
                    if inner.0 > low.0 {
                        low = inner;
                    }
                } else if inner.0 < high.0 {
                    high = inner;
                }
            }
            return Some((low, high));
        }
        let mut high = (0.0, at_rest);
        let mut step = if self.drag.brake_nm > 0.0 { edge } else { 0.02 * self.rate.max(1.0) };
        loop {
            let spin = -step;
            let net = self.quick(spin);
            *calls += 1;
            if net > 0.0 {
                return Some(((spin, net), high));
            }
            high = (spin, net);
            if net.is_nan() || step > 1e9 {
                return None;
            }
            step *= 2.0;
        }
    }
}

/// How the pad runs at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct SpinState {
    /// Spin [rad/s].
    pub spin: f64,
    /// Error estimate of the spin [rad/s]: the root's own and the quadrature's.
    pub error: f64,
    /// Equilibria of a free drive; empty for the others and for a sticking face.
    pub equilibria: Vec<Equilibrium>,
    /// Whether the face sticks and the pad only kneads.
    pub sticks: bool,
    /// Orbit radius at the face \[m\].
    pub face_orbit_m: f64,
    /// The contact.
    pub contact: Contact,
    /// Friction sums at the spin.
    pub sums: FrictionSums,
}

impl SpinState {
    /// The spin as a quantity, to be read in rpm or rad/s; positive with the orbit.
    #[must_use]
    pub const fn spin_rate(&self) -> AngularRate {
        AngularRate::from_rad_s(self.spin)
    }
}

/// Solves contact and spin of `setup` on `patch` (its own or another one).
///
/// ```text
/// −μ ⟨∫ p (ρ×v)_z/|v| dA⟩ + M_b(Ω−ω) = 0      ω spin [rad/s], M_b torque of the bearing [N·m]
/// ```
///
/// # Assumptions and valid range
/// Coulomb friction that does not depend on speed, so that there is one equilibrium and it is stable;
/// the steady spin of the place, without the time that a pad needs to get there; feed left out of |v|.
///
/// # Accuracy
/// The root to 1e-8 rad/s; [`SpinState::error`] adds what the torque changes by on seven tenths of the
/// nodes. The quadrature aims at 1e-6 of the force. Cost: tens of microseconds for a pad held square, up to
/// milliseconds for a tilted one (dated figures in `benches/record`).
///
/// # Errors
/// As [`crate::contact::solve`]. A stall, a reversal or a sticking face is a result, not an error.
///
/// # Example
/// ```
/// use trochoid::contact::ContactSettings;
/// use trochoid::spin::{closed_form, spin_state};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let bearing = Bearing::new(Torque::from_nm(0.05), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(18.0), AngularRate::from_opm(4500.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.4, 2e-11)?, Patch::flat(), Force::from_n(45.0))?;
/// let run = spin_state(&setup, setup.patch(), &ContactSettings::default())?;
/// // Small spin: 4 e Ω M_b/(μ N R²) = 4 × 0.009 × 471.24 × 0.05/(18 × 0.0049) = 9.617 rad/s, 91.8 rpm;
/// // the full balance, from the published torque of a sliding, spinning disc: 91.644 rpm.
/// let by_hand = closed_form::flat_spin(0.05, 18.0, 0.07, 9e-3, 471.24);
/// assert!((by_hand - 9.617).abs() < 1e-3);
/// assert!((AngularRate::from_rad_s(run.spin).rpm() - 91.644).abs() < 5e-4);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Farkas, Bartels, Unger and Wolf, Phys. Rev. Lett. 90, 248302 (2003), the disc; the balance and its
/// uniqueness are own, see `notebooks-free-docs/theory-spin.md`.
pub fn spin_state(setup: &Setup, patch: &Patch, settings: &ContactSettings) -> Result<SpinState, ContactError> {
    let orbit = setup.face_orbit();
    let contact = solve(setup.pad(), patch, orbit.radius_m, setup.hold(), setup.force().n(), settings)?;
    let rate = setup.tool().rate().rad_s();
    let mut state = SpinState {
        spin: 0.0,
        error: 0.0,
        equilibria: Vec::new(),
        sticks: orbit.sticks,
        face_orbit_m: orbit.radius_m,
        contact,
        sums: FrictionSums::default(),
    };
    if orbit.sticks {
        // Static friction holds a face that does not slide; nothing turns and nothing is cut.
        return Ok(state);
    }
    if let Some(spin) = setup.driven_spin() {
        state.spin = spin;
    } else if let Some(drag) = setup.spindle_drag() {
        let balance = TorqueBalance { load: &state.contact.load, friction: setup.product().friction(), rate, drag };
        let Some(found) = balance.equilibrium(1e-8) else {
            return Err(ContactError::NotConverged { heave_m: state.contact.heave_m, residual_n: f64::NAN });
        };
        state.spin = found.spin;
        // What the torque at this spin changes by on fewer nodes, over the damping.
        let fewer = state.contact.load.fewer();
        let judge = TorqueBalance { load: &fewer, ..balance };
        state.error = found.error + (judge.net(found.spin) / found.slope).abs();
        state.equilibria.push(found);
    }
    state.sums = friction_sums(&state.contact.load, rate, state.spin);
    Ok(state)
}

/// Spin of a free drive with its bearing drag (breakaway, friction, viscous) multiplied by
/// `factor`, on a contact that is already solved; `None` for other drives.
#[must_use]
pub(crate) fn spin_with_drag(setup: &Setup, state: &SpinState, factor: f64) -> Option<f64> {
    if state.sticks {
        return setup.tool().bearing().map(|_| 0.0);
    }
    if factor.is_infinite() {
        // A drag without bound takes the pad round with the orbit.
        return setup.tool().bearing().map(|_| setup.tool().rate().rad_s());
    }
    let mut drag = setup.spindle_drag()?;
    drag.steady_nm *= factor;
    drag.viscous_nms *= factor;
    TorqueBalance {
        load: &state.contact.load,
        friction: setup.product().friction(),
        rate: setup.tool().rate().rad_s(),
        drag,
    }
    .equilibrium(1e-8)
    .map(|e| e.spin)
}
