//! How the pad runs at a place of a real panel: contact with the relief that is there, spin, and how
//! far the place is from stalling the pad.
//!
//! The spin is the steady one for the place: a pad that crosses from a crown into a hollow needs a
//! moment to follow, which is not looked at here.

use super::balance::TorqueBalance;
use super::setup::Setup;
use super::torque::{FrictionLoad, FrictionSums};
use crate::contact::{ContactError, LocalContact, LocalSettings, PadNodes, Site};
use crate::equipment::SpindleDrag;
use crate::math::root;
use crate::panel::{Frame, HeightMap};
use crate::units::Force;

/// One set-up made ready to be put on many places.
#[derive(Debug, Clone)]
pub struct PlaceSolver {
    setup: Setup,
    nodes: PadNodes,
    drag: Option<SpindleDrag>,
    sticks: bool,
    orbit_m: f64,
}

/// How the pad runs at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaceState {
    /// Spin, rad/s.
    pub spin: f64,
    /// Whether the face sticks.
    pub sticks: bool,
    /// Compression at the tool axis, m.
    pub heave_m: f64,
    /// Slopes of the plate in the frame.
    pub slopes: (f64, f64),
    /// Largest pressure over the pad and the orbit, Pa.
    pub peak_pressure_pa: f64,
    /// Orbit mean of the share of the face that touches.
    pub contact_share: f64,
    /// Orbit mean of the share of the face that hangs over a free edge.
    pub overhang_share: f64,
    /// Largest compression over the stack's limit.
    pub compression_share: f64,
    /// Friction sums at the spin.
    pub sums: FrictionSums,
}

impl PlaceSolver {
    /// Makes `setup` ready at `force_share` of its force.
    ///
    /// # Errors
    /// A force outside 0.1 to 2000 N.
    pub fn new(setup: &Setup, force_share: f64, settings: &LocalSettings) -> Result<Self, crate::RangeError> {
        let setup = setup.clone().at_force(Force::from_n(force_share * setup.force().n()))?;
        let orbit = setup.face_orbit();
        Ok(Self {
            nodes: PadNodes::new(setup.pad(), orbit.radius_m, settings),
            drag: setup.spindle_drag(),
            sticks: orbit.sticks,
            orbit_m: orbit.radius_m,
            setup,
        })
    }

    /// The set-up.
    #[must_use]
    pub const fn setup(&self) -> &Setup {
        &self.setup
    }

    /// The nodes of its pad.
    #[must_use]
    pub const fn nodes(&self) -> &PadNodes {
        &self.nodes
    }

    /// Orbit radius at the face, m.
    #[must_use]
    pub const fn orbit_m(&self) -> f64 {
        self.orbit_m
    }

    /// Distance from the tool axis beyond which nothing is touched, m.
    #[must_use]
    pub fn reach(&self) -> f64 {
        self.nodes.face().reach()
    }

    /// Solves contact and spin on the panel under the pad held in `frame`.
    ///
    /// # Errors
    /// As [`PadNodes::solve`].
    pub fn at(&self, heights: &HeightMap, frame: &Frame) -> Result<PlaceState, ContactError> {
        self.on(&self.nodes.site(heights, frame))
    }

    /// Solves contact and spin on a sampled piece of panel.
    ///
    /// # Errors
    /// As [`PadNodes::solve`].
    pub fn on(&self, site: &Site) -> Result<PlaceState, ContactError> {
        let contact = self.nodes.solve(site, self.setup.hold(), self.setup.force().n())?;
        let mut state = PlaceState {
            spin: 0.0,
            sticks: self.sticks,
            heave_m: contact.heave_m,
            slopes: contact.slopes,
            peak_pressure_pa: contact.peak_pressure_pa,
            contact_share: contact.contact_share,
            overhang_share: contact.overhang_share,
            compression_share: contact.compression_m.0 / contact.compression_m.1,
            sums: FrictionSums::default(),
        };
        if self.sticks {
            return Ok(state);
        }
        let rate = self.setup.tool().rate().rad_s();
        if let Some(spin) = self.setup.driven_spin() {
            state.spin = spin;
        } else if let Some(balance) = self.balance(&contact) {
            // A hundredth of a turn a minute is far below what the place is known to.
            let Some(found) = balance.equilibrium(1e-4) else {
                return Err(ContactError::NotConverged { heave_m: contact.heave_m, residual_n: f64::NAN });
            };
            state.spin = found.spin;
        }
        state.sums = contact.load.friction_sums(rate, state.spin, false);
        Ok(state)
    }

    fn balance<'l, 'c>(
        &self,
        contact: &'l LocalContact<'c>,
    ) -> Option<TorqueBalance<'l, crate::contact::LocalLoad<'c>>> {
        let (friction, rate) = (self.setup.product().friction(), self.setup.tool().rate().rad_s());
        self.drag.map(|drag| TorqueBalance { load: &contact.load, friction, rate, drag })
    }

    /// Net torque at a spin on a site, N·m; `None` where the contact cannot be solved or the drive is
    /// not free.
    fn net_at(&self, site: &Site, spin: f64) -> Option<f64> {
        let contact = self.nodes.solve(site, self.setup.hold(), self.setup.force().n()).ok()?;
        self.balance(&contact).map(|b| b.net(spin))
    }

    /// Whether the pad reaches `useful_spin` \[rad/s\] on a site: one contact and one torque, no root.
    #[must_use]
    pub fn turns(&self, site: &Site, useful_spin: f64) -> bool {
        match self.setup.driven_spin() {
            Some(spin) => !self.sticks && spin >= useful_spin,
            None => !self.sticks && self.net_at(site, useful_spin).is_some_and(|n| n >= 0.0),
        }
    }

    /// Stall number of a site: its relief is scaled by t until the spin falls to `useful_spin`
    /// \[rad/s\], and S = 1/t. `None` where a flat already stalls, where no t up to `most` does it (or
    /// the pad bottoms out before), and for a drive that is not free.
    #[must_use]
    pub fn stall_number(&self, site: &Site, useful_spin: f64, most: f64) -> Option<f64> {
        if self.sticks {
            return None;
        }
        let net = |t: f64| self.net_at(&site.scaled(t), useful_spin);
        let flat = net(0.0)?;
        if flat < 0.0 {
            return None;
        }
        // Doubling from one tenth brackets the first crossing of a torque that falls on the whole.
        let (mut low, mut high) = ((0.0, flat), None);
        let mut t = 0.1;
        while high.is_none() && t < 2.0 * most {
            let at = t.min(most);
            let here = (at, net(at)?);
            if here.1 < 0.0 {
                high = Some(here);
            } else {
                low = here;
            }
            if at >= most {
                break;
            }
            t *= 2.0;
        }
        let found = root::bracketed(|t| net(t).unwrap_or(f64::NAN), low, high?, 1e-4)?;
        (found.x > 0.0).then(|| 1.0 / found.x)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::contact::{ContactSettings, Hold};
    use crate::panel::Patch;
    use crate::spin::spin_state;
    use crate::units::{Angle, AngularRate, Curvature, Length, Stiffness, Torque, ViscousDrag};
    use crate::{Bearing, CompressionLaw, Pad, Product, Tool};

    fn setup(patch: Patch) -> Setup {
        let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(1e-4)).unwrap();
        let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_opm(4200.0), bearing).unwrap();
        let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9)).unwrap();
        let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law).unwrap();
        Setup::new(tool, pad, Product::new(0.35, 2e-11).unwrap(), patch, Force::from_n(35.0)).unwrap()
    }

    #[test]
    fn a_sampled_paraboloid_agrees_with_the_patch() {
        for (k1, k2, hold) in [
            (0.0, 0.0, Hold::Flat),
            (1.0, 1.0, Hold::Flat),
            (-0.6, -0.2, Hold::Flat),
            (2.5, 0.4, Hold::Flat),
            (-0.5, -0.1, Hold::tilted(Angle::from_deg(1.0), Angle::from_deg(-0.5)).unwrap()),
        ] {
            let patch =
                Patch::quadric(Curvature::from_per_m(k1), Curvature::from_per_m(k2), Angle::from_deg(20.0)).unwrap();
            let setup = setup(patch).with_hold(hold);
            let exact = spin_state(&setup, &patch, &ContactSettings::default()).unwrap();
            let solver = PlaceSolver::new(&setup, 1.0, &LocalSettings::default()).unwrap();
            let site = solver.nodes().site_of(|x, y| patch.gap(x, y));
            let t = std::time::Instant::now();
            let state = solver.on(&site).unwrap();
            println!(
                "{k1} {k2} {:?}: spin {:.3} {:.3} peak {:.1} {:.1} share {:.4} {:.4} work {:.5} {:.5} {:?}",
                hold,
                exact.spin * 9.5493,
                state.spin * 9.5493,
                exact.contact.peak_pressure_pa,
                state.peak_pressure_pa,
                exact.contact.contact_share,
                state.contact_share,
                exact.sums.speed_w,
                state.sums.speed_w,
                t.elapsed()
            );
            println!("S {:?}", solver.stall_number(&site, 6.283, 40.0));
        }
    }
}
