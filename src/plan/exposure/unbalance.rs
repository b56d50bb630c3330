//! The force with which a pad that circles and turns shakes its machine.

use super::weighting::hand_arm_weighting;
use crate::equipment::within;
use crate::error::RangeError;
use crate::spin::Setup;
use crate::units::{Acceleration, AngularRate, Force, Length, Mass};
use core::f64::consts::PI;

/// Masses that circle: the pad on its orbit, its counterweight, and the pad's own centre of mass about its
/// bearing.
///
/// The centre of mass of a pad that is mounted off the middle lies at
///
/// ```text
/// e r̂(Ωt) + d r̂(ωt + φ)        e orbit radius [m], d off-centre [m], Ω orbit, ω spin [rad/s]
/// ```
///
/// so that it pulls with m e Ω² round the orbit, which the counterweight balances for the pad mass it was
/// made for, and with m d ω² round the bearing, which nothing balances. A pad lifted while running spins
/// up toward the orbit rate: there the second one is m d Ω².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unbalance {
    pad_kg: f64,
    balanced_kg: f64,
    orbit_m: f64,
    off_centre_m: f64,
    rate: f64,
    spin: f64,
    top_spin: f64,
}

impl Unbalance {
    /// The unbalance of a set-up whose pad turns at `spin`, with a counterweight made for this very
    /// pad (assumed: nothing else is known of it).
    #[must_use]
    pub fn of(setup: &Setup, spin: AngularRate) -> Self {
        let pad_kg = setup.pad().mass().kg();
        let rate = setup.tool().rate().rad_s();
        let top_spin = setup.driven_spin().unwrap_or(rate);
        Self {
            pad_kg,
            balanced_kg: pad_kg,
            orbit_m: 0.5 * setup.tool().throw().m(),
            off_centre_m: setup.pad().off_centre().m(),
            rate,
            spin: spin.rad_s(),
            top_spin,
        }
    }

    /// Sets the pad mass that the counterweight balances.
    ///
    /// # Errors
    /// Outside 0 to 10 kg.
    pub fn balanced_for(mut self, pad: Mass) -> Result<Self, RangeError> {
        self.balanced_kg = within("balanced pad mass", pad.kg(), 0.0, 10.0, "kg")?;
        Ok(self)
    }

    /// Sets how far the pad is mounted off the middle.
    ///
    /// # Errors
    /// Outside 0 to 50 mm.
    pub fn off_centre_by(mut self, distance: Length) -> Result<Self, RangeError> {
        self.off_centre_m = Length::from_mm(within("off_centre_mm", distance.mm(), 0.0, 50.0, "mm")?).m();
        Ok(self)
    }

    /// Pull of the pad on its orbit, m e Ω²: what the bearing carries and the counterweight balances.
    ///
    /// # Example
    /// ```
    /// use trochoid::equipment::{CompressionLaw, Pad, Product, Tool};
    /// use trochoid::panel::Patch;
    /// use trochoid::plan::Unbalance;
    /// use trochoid::spin::Setup;
    /// use trochoid::units::{AngularRate, Force, Length, Stiffness};
    /// let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_rad_s(400.0), 0.1)?;
    /// let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
    /// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    /// // 0.2 kg (the default) at 6 mm and 400 rad/s: 0.2 · 0.006 · 160 000 = 192 N.
    /// let unbalance = Unbalance::of(&setup, AngularRate::from_rad_s(40.0));
    /// assert!((unbalance.orbit_force().n() - 192.0).abs() < 1e-9);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn orbit_force(&self) -> Force {
        Force::from_n(self.pad_kg * self.orbit_m * self.rate * self.rate)
    }

    /// What the counterweight leaves of it, |m − m_c| e Ω².
    #[must_use]
    pub fn residual_force(&self) -> Force {
        Force::from_n((self.pad_kg - self.balanced_kg).abs() * self.orbit_m * self.rate * self.rate)
    }

    /// Pull of a pad mounted off the middle at its spin on the panel, m d ω².
    #[must_use]
    pub fn off_centre_force(&self) -> Force {
        Force::from_n(self.pad_kg * self.off_centre_m * self.spin * self.spin)
    }

    /// The same when the pad is lifted and spins up to the orbit rate, m d Ω²; of a driven pad the
    /// same as on the panel.
    #[must_use]
    pub fn off_centre_force_lifted(&self) -> Force {
        Force::from_n(self.pad_kg * self.off_centre_m * self.top_spin * self.top_spin)
    }

    /// Largest force on the machine on the panel: both pulls in one direction, |m − m_c| e Ω² + m d ω².
    #[must_use]
    pub fn shaking_force(&self) -> Force {
        Force::from_n(self.residual_force().n() + self.off_centre_force().n())
    }

    /// Frequency-weighted vibration total value of a rigid machine of mass `tool` hanging free, shaken by
    /// what is not balanced.
    ///
    /// ```text
    /// a_hv = √( (W_h(Ω/2π) F_r/M)² + (W_h(ω/2π) F_d/M)² )        F_r residual, F_d off-centre [N], M [kg]
    /// ```
    ///
    /// A force of steady size that turns shakes two axes with F/(M√2) each, together F/M.
    ///
    /// # Assumptions and valid range
    /// An estimate of the order: no hand, no turning of the machine about its middle, no other source.
    /// A machine shakes with more than its unbalance.
    ///
    /// # Errors
    /// A mass outside 0.1 to 50 kg.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::{Unbalance, hand_arm_weighting};
    /// # use trochoid::*;
    /// # fn main() -> Result<(), Error> {
    /// let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_rad_s(400.0), 0.0)?;
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
    /// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    /// let spin = AngularRate::from_rad_s(40.0);
    /// // The counterweight is made for 0.15 of 0.2 kg: 0.05 × 0.006 × 400² = 48 N shake 2 kg with 24 m/s², which
    /// // the weighting at 400/2π = 63.66 Hz takes down to about 24 × 16/63.66 = 6 m/s².
    /// let left = Unbalance::of(&setup, spin).balanced_for(Mass::from_kg(0.15))?;
    /// let a = left.weighted_acceleration(Mass::from_kg(2.0))?;
    /// assert!((a.m_s2() - 24.0 * hand_arm_weighting(63.662)).abs() < 1e-4 && (a.m_s2() - 6.0).abs() < 0.2);
    /// # Ok(())
    /// # }
    /// ```
    ///
    /// # References
    /// Own estimate; the weighting is that of ISO 5349-1:2001, annex A.
    pub fn weighted_acceleration(&self, tool: Mass) -> Result<Acceleration, RangeError> {
        let mass = within("mass_kg", tool.kg(), 0.1, 50.0, "kg")?;
        let part = |force: Force, rate: f64| hand_arm_weighting(rate.abs() / (2.0 * PI)) * force.n() / mass;
        let orbit = part(self.residual_force(), self.rate);
        Ok(Acceleration::from_m_s2(orbit.hypot(part(self.off_centre_force(), self.spin))))
    }
}
