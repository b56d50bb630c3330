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
///
/// # Example
/// ```
/// use trochoid::contact::LocalSettings;
/// use trochoid::spin::PlaceSolver;
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let bearing = Bearing::new(Torque::from_nm(0.05), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(18.0), AngularRate::from_opm(4500.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.4, 2e-11)?, Patch::flat(), Force::from_n(45.0))?;
/// let solver = PlaceSolver::new(&setup, 1.0, &LocalSettings::default())?;
/// // On the flat 91.644 rpm, as in the example of `spin_state`; here summed over the contact's own nodes.
/// let flat = solver.on(&solver.nodes().site_of(|_, _| 0.0))?;
/// assert!((AngularRate::from_rad_s(flat.spin).rpm() - 91.644).abs() < 0.1);
/// // A hollow of 1 m radius with half its relief is half as near to the stall.
/// let hollow = solver.nodes().site_of(|x, y| -0.5 * (x * x + y * y));
/// let number = |t: f64| solver.stall_number(&hollow.scaled(t), 6.283, 20.0);
/// assert!(number(1.0).zip(number(0.5)).is_some_and(|(whole, half)| (whole / half - 2.0).abs() < 2e-3));
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone)]
pub struct PlaceSolver {
    setup: Setup,
    nodes: PadNodes,
    drag: Option<SpindleDrag>,
    sticks: bool,
    orbit_m: f64,
}

/// Halvings towards the relief at which the pad bottoms out, when a stall is looked for before it.
const BOTTOM_STEPS: usize = 8;

/// How the pad runs at one place of a real panel: contact, spin and friction sums. A stall or a sticking
/// face is a result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaceState {
    /// Spin [rad/s].
    pub spin: f64,
    /// Whether the face sticks.
    pub sticks: bool,
    /// Compression at the tool axis \[m\].
    pub heave_m: f64,
    /// Slopes of the plate along x and y of the frame \[1\].
    pub slopes: (f64, f64),
    /// Largest pressure over the pad and the orbit \[Pa\].
    pub peak_pressure_pa: f64,
    /// Orbit mean of the share of the face that touches \[1\].
    pub contact_share: f64,
    /// Orbit mean of the share of the face that hangs over a free edge \[1\].
    pub overhang_share: f64,
    /// Largest compression over the stack's limit \[1\]; 1 is bottomed out.
    pub compression_share: f64,
    /// Friction sums at the spin.
    pub sums: FrictionSums,
}

impl PlaceSolver {
    /// Makes `setup` ready at `force_share` of its force.
    ///
    /// # Assumptions and valid range
    /// The spin is the steady one of each place. A flat site gives what [`super::spin_state`] gives on a
    /// flat patch: see the example of [`PlaceSolver`], and `notebooks-free-docs/theory-surfaces.md`.
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

    /// Orbit radius at the face \[m\].
    #[must_use]
    pub const fn orbit_m(&self) -> f64 {
        self.orbit_m
    }

    /// Distance from the tool axis beyond which nothing is touched \[m\].
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

    /// Solves contact and spin on a sampled piece of panel; see the example of [`PlaceSolver`].
    ///
    /// # Accuracy
    /// The spin to 1e-4 rad/s in its root, on the contact's own nodes: within 0.1 rpm of
    /// [`super::spin_state`] on paraboloids (tests).
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

    /// Net torque at a spin on a site \[N·m\]; `None` where the contact cannot be solved or the drive is
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

    /// Stall number of a site \[1\]: its relief is scaled by t until the spin falls to `useful_spin`
    /// [rad/s], and S = 1/t. See the example of [`PlaceSolver`]. `None` where a flat already stalls, where no
    /// t up to `most` does it (or the pad bottoms out before), and for a drive that is not free.
    ///
    /// # Accuracy
    /// The bracket of t doubles from a tenth, so a crossing and its return between two of these are not
    /// seen; t itself to 1e-4. Within 0.5 % of [`super::StallLimits::stall_number`] on paraboloids (tests).
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
            let Some(torque) = net(at) else {
                // The pad bottoms out on the way: a crossing before that point counts. Where the torque
                // has not fallen so far, none is near.
                let mut bad = at;
                for _ in 0..if low.1 < flat { BOTTOM_STEPS } else { 0 } {
                    let middle = 0.5 * (low.0 + bad);
                    match net(middle) {
                        Some(torque) if torque < 0.0 => {
                            high = Some((middle, torque));
                            break;
                        }
                        Some(torque) => low = (middle, torque),
                        None => bad = middle,
                    }
                }
                break;
            };
            if torque < 0.0 {
                high = Some((at, torque));
            } else {
                low = (at, torque);
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
    use crate::spin::{StallSettings, spin_state, stall_limits};
    use crate::units::{Angle, AngularRate, Curvature, Length, Stiffness, Torque, ViscousDrag};
    use crate::{Bearing, CompressionLaw, Pad, Product, Tool};

    fn setup(patch: Patch) -> Setup {
        let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(1e-4)).unwrap();
        let tool = Tool::free(Length::from_mm(12.0), AngularRate::from_opm(4200.0), bearing).unwrap();
        let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9)).unwrap();
        let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law).unwrap();
        Setup::new(tool, pad, Product::new(0.35, 2e-11).unwrap(), patch, Force::from_n(35.0)).unwrap()
    }

    fn quadric(k1: f64, k2: f64) -> Patch {
        let axis = Angle::from_deg(20.0);
        Patch::quadric(Curvature::from_per_m(k1), Curvature::from_per_m(k2), axis).unwrap()
    }

    fn tilted(x: f64, y: f64) -> Hold {
        Hold::tilted(Angle::from_deg(x), Angle::from_deg(y)).unwrap()
    }

    fn near(what: &str, got: f64, expected: f64, tolerance: f64) {
        assert!((got - expected).abs() <= tolerance, "{what}: {got} against {expected}, allowed {tolerance}");
    }

    /// The method of constant curvature is tested against brute force; a sampled paraboloid must give the same.
    #[test]
    fn a_sampled_paraboloid_agrees_with_the_patch() {
        for (k1, k2, hold) in [
            (0.0, 0.0, Hold::Flat),
            (1.0, 1.0, Hold::Flat),
            (-0.6, -0.2, Hold::Flat),
            (2.5, 0.4, Hold::Flat),
            (-2.0, -1.0, Hold::Flat),
            (1.5, -1.5, Hold::Flat),
            (-0.5, -0.1, tilted(1.0, -0.5)),
            (0.8, 0.3, tilted(-0.7, 0.4)),
            (-0.4, 0.2, Hold::SelfAligning),
        ] {
            let patch = quadric(k1, k2);
            let setup = setup(patch).with_hold(hold);
            let exact = spin_state(&setup, &patch, &ContactSettings::default()).unwrap();
            let solver = PlaceSolver::new(&setup, 1.0, &LocalSettings::default()).unwrap();
            let site = solver.nodes().site_of(|x, y| patch.gap(x, y));
            let state = solver.on(&site).unwrap();
            let about = format!("{k1} {k2} {hold:?}");
            let rpm = |s: f64| AngularRate::from_rad_s(s).rpm();
            // 0.1 rpm: both methods sum over some hundred nodes with a corner where the contact ends.
            near(&about, rpm(state.spin), rpm(exact.spin), 0.1);
            // 0.5 %: the sampled peak is the largest of 32 directions, the exact one is searched for.
            near(&about, state.peak_pressure_pa, exact.contact.peak_pressure_pa, 5e-3 * exact.contact.peak_pressure_pa);
            // 1e-4: the same corner, which the work feels less than the spin.
            near(&about, state.sums.speed_w, exact.sums.speed_w, 1e-4 * exact.sums.speed_w);
        }
    }
    /// The numbers that `stall_limits` finds by scanning on patches, from a sampled site by doubling.
    #[test]
    fn the_stall_number_is_that_of_the_patch() {
        let foam = CompressionLaw::measured(
            &[0.25, 0.4, 0.5, 0.65],
            &[3.0, 3.8, 5.0, 8.0].map(crate::units::Pressure::from_kpa),
        )
        .unwrap();
        let useful = AngularRate::from_rpm(60.0).rad_s();
        let settings = StallSettings { useful_spin: useful, ..StallSettings::default() };
        let (mut found, mut bottomed) = (0, 0);
        for law in [None, Some(foam)] {
            for (k1, k2) in
                [(-0.6, -0.2), (-2.0, -1.0), (-0.4, 0.2), (-8.0, 0.0), (-0.05, -0.05), (1.0, 1.0), (0.0, 0.0)]
            {
                for force in [20.0, 35.0, 60.0] {
                    let patch = quadric(k1, k2);
                    let mut setup = setup(patch).at_force(Force::from_n(force)).unwrap();
                    if let Some(law) = &law {
                        let pad = setup.pad().clone().with_compression(law.clone());
                        setup = setup.with_pad(pad).unwrap();
                    }
                    let expected = stall_limits(&setup, &settings, 1.0).unwrap().stall_number();
                    let solver = PlaceSolver::new(&setup, 1.0, &LocalSettings::default()).unwrap();
                    let site = solver.nodes().site_of(|x, y| patch.gap(x, y));
                    let most = 20.0 / patch.dominant().abs().max(1e-9);
                    let got = solver.stall_number(&site, useful, most.min(1e3));
                    bottomed += usize::from(solver.net_at(&site.scaled(most.min(1e3)), useful).is_none());
                    match (got, expected) {
                        // 0.5 %: the torque is summed over the contact's own nodes, its root found to 1e-4; found 0.2 %.
                        (Some(a), Some(b)) => near(&format!("{k1} {k2} {force} N"), a, b, 5e-3 * b),
                        (a, b) => assert_eq!(a, b, "{k1} {k2} {force} N, law {}", law.is_some()),
                    }
                    found += usize::from(got.is_some());
                }
            }
        }
        assert!(found > 10 && bottomed > 3, "the cases hold both kinds: {found} {bottomed}");
    }
}
