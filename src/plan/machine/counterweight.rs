//! The counterweights of an orbiting pad, made for one pad mass, and what they leave at others.
//!
//! The pad's centre of mass circles at the orbit radius below; the counterweights turn on the same shaft
//! above, opposite to it. One plane can null the force and leaves a couple; two planes null both, for one
//! mass. A pad that holds water and product is heavier, a thin one lighter: the difference shakes.
//! The pad's own centre of mass off its bearing is the business of [`crate::plan::Unbalance`].

use super::unbalance::{
    PlaneUnbalance, ResultantUnbalance, grade_of, one_plane_correction, permissible_unbalance_kgm, resultant_unbalance,
    two_plane_correction,
};
use crate::equipment::{Pad, within};
use crate::error::RangeError;
use crate::units::{AngularRate, Length, Mass, MassMoment, Speed};
use core::f64::consts::PI;

/// Density of the water that a washed pad holds, kg/m³ (at 20 °C, rounded).
const WATER_KG_M3: f64 = 998.0;

/// Where the counterweights sit and what is known of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BalanceLayout {
    pad_plane_m: f64,
    plane1_m: f64,
    plane2_m: Option<f64>,
    radius_m: [Option<f64>; 2],
    fitted: Option<(MassMoment, Option<MassMoment>)>,
    nominal_kg: Option<f64>,
    dry_share: f64,
    wet_pore_share: f64,
    rotor_kg: Option<f64>,
    grade: Speed,
}

impl BalanceLayout {
    /// Share of the pad's mass that is left with nothing held: assumed, no source.
    pub const DRY_SHARE: f64 = 0.95;
    /// Share of a pad's volume that water fills after a wash and a spin: assumed, no source.
    pub const WET_PORE_SHARE: f64 = 0.1;
    /// Grade of machines in general, G 6.3, mm/s (ISO 21940-11:2016, table 1; from memory).
    pub const GRADE_MM_S: f64 = 6.3;

    /// A pad assembly in one plane and a counterweight in another; places along the shaft, + away from the
    /// panel, from any one point.
    ///
    /// # Errors
    /// A place outside −500 to 500 mm.
    pub fn new(pad_plane: Length, plane1: Length) -> Result<Self, RangeError> {
        Ok(Self {
            pad_plane_m: plane("pad_plane_mm", pad_plane)?,
            plane1_m: plane("plane1_mm", plane1)?,
            plane2_m: None,
            radius_m: [None; 2],
            fitted: None,
            nominal_kg: None,
            dry_share: Self::DRY_SHARE,
            wet_pore_share: Self::WET_PORE_SHARE,
            rotor_kg: None,
            grade: Speed::from_mm_s(Self::GRADE_MM_S),
        })
    }

    /// Adds a second counterweight plane.
    ///
    /// # Errors
    /// A place outside −500 to 500 mm or within 1 mm of the first plane.
    pub fn with_second_plane(mut self, plane2: Length) -> Result<Self, RangeError> {
        let at = plane("plane2_mm", plane2)?;
        // The planes' own check, on nothing to be balanced.
        two_plane_correction(&[], Length::from_m(self.plane1_m), plane2)?;
        self.plane2_m = Some(at);
        Ok(self)
    }

    /// Sets how far the counterweights' centres of mass lie from the axis, so that their masses are told.
    ///
    /// # Errors
    /// A radius outside 0.5 to 200 mm.
    pub fn with_radii(mut self, first: Option<Length>, second: Option<Length>) -> Result<Self, RangeError> {
        let checked = |what, r: Option<Length>| -> Result<Option<f64>, RangeError> {
            r.map(|r| within(what, r.mm(), 0.5, 200.0, "mm").map(|_| r.m())).transpose()
        };
        self.radius_m = [checked("radius1_mm", first)?, checked("radius2_mm", second)?];
        Ok(self)
    }

    /// Sets the counterweights as they are fitted, + opposite to the pad, instead of those found; none in a
    /// second plane that is left out.
    ///
    /// # Errors
    /// A weight outside −100 000 to 100 000 g·mm, or one in a second plane that is not there.
    pub fn with_fitted(mut self, first: MassMoment, second: Option<MassMoment>) -> Result<Self, RangeError> {
        within("weight1_gmm", first.gmm(), -1e5, 1e5, "g·mm")?;
        if let Some(second) = second {
            within("weight2_gmm", second.gmm(), -1e5, 1e5, "g·mm")?;
            if self.plane2_m.is_none() {
                let allowed = "with a second plane (plane2_mm) only";
                return Err(RangeError::new("weight2_gmm", second.gmm(), "g·mm", allowed));
            }
        }
        self.fitted = Some((first, second));
        Ok(self)
    }

    /// Sets the pad mass that the counterweights are made for; that of the pad in hand without it.
    ///
    /// # Errors
    /// Outside 0.001 to 10 kg.
    pub fn made_for(mut self, pad: Mass) -> Result<Self, RangeError> {
        self.nominal_kg = Some(within("nominal_pad_kg", pad.kg(), 0.001, 10.0, "kg")?);
        Ok(self)
    }

    /// Sets the share of the pad's mass that is left with nothing held, and the share of its volume that
    /// water fills after a wash.
    ///
    /// # Errors
    /// A dry share outside 0.5 to 1, a share of the volume outside 0 to 1.
    pub fn with_mass_range(mut self, dry_share: f64, wet_pore_share: f64) -> Result<Self, RangeError> {
        self.dry_share = within("dry_share", dry_share, 0.5, 1.0, "")?;
        self.wet_pore_share = within("wet_pore_share", wet_pore_share, 0.0, 1.0, "")?;
        Ok(self)
    }

    /// Sets the mass of all that turns with the shaft, for the grade.
    ///
    /// # Errors
    /// Outside 0.01 to 20 kg.
    pub fn with_rotor_mass(mut self, rotor: Mass) -> Result<Self, RangeError> {
        self.rotor_kg = Some(within("rotor_mass_kg", rotor.kg(), 0.01, 20.0, "kg")?);
        Ok(self)
    }

    /// Sets the balance quality grade that the residual is held against.
    ///
    /// # Errors
    /// Outside 0.4 to 4000 mm/s.
    pub fn with_grade(mut self, grade: Speed) -> Result<Self, RangeError> {
        self.grade = within("grade_mm_s", grade.mm_s(), 0.4, 4000.0, "mm/s").map(Speed::from_mm_s)?;
        Ok(self)
    }

    /// Plane of the pad assembly's centre of mass.
    #[must_use]
    pub const fn pad_plane(&self) -> Length {
        Length::from_m(self.pad_plane_m)
    }

    /// The counterweights for a pad on an orbit.
    ///
    /// ```text
    /// one plane   U_1 = −m e                                       e orbit radius [m], m mass made for [kg]
    /// two planes  U_2 = m e (z_1 − z_p)/(z_2 − z_1),  U_1 = −m e − U_2        z places along the shaft [m]
    /// ```
    ///
    /// # Errors
    /// An orbit radius outside 0.005 to 50 mm.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::BalanceLayout;
    /// # use trochoid::*;
    /// # fn main() -> Result<(), Error> {
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
    /// let layout = BalanceLayout::new(Length::from_mm(0.0), Length::from_mm(50.0))?.made_for(Mass::from_kg(0.2))?;
    /// let weights = layout.counterweights(Length::from_mm(6.0), &pad)?;
    /// // 0.2 kg × 6 mm = 1.2e-3 kg·m opposite to the pad. A pad of 0.25 kg leaves 0.05 kg × 6 mm = 3e-4 kg·m,
    /// // which shakes with 3e-4 × 400² = 48 N at 400 rad/s.
    /// assert!((weights.weights()[0].vector_kgm().0 + 1.2e-3).abs() < 1e-15);
    /// let left = weights.residual(0.25);
    /// assert!((left.force_n(AngularRate::from_rad_s(400.0)) - 48.0).abs() < 1e-9);
    /// # Ok(())
    /// # }
    /// ```
    pub fn counterweights(&self, orbit: Length, pad: &Pad) -> Result<Counterweights, RangeError> {
        let orbit_m = within("orbit radius", orbit.mm(), 0.005, 50.0, "mm").map(|_| orbit.m())?;
        let nominal_kg = self.nominal_kg.unwrap_or(pad.mass().kg());
        let pad_at = [PlaneUnbalance::along_x(self.pad_plane_m, nominal_kg * orbit_m)];
        let (first, second) = (Length::from_m(self.plane1_m), self.plane2_m.map(Length::from_m));
        let weights = match (self.fitted, second) {
            (Some((a, _)), None) => vec![PlaneUnbalance::along_x(self.plane1_m, -a.kgm())],
            (Some((a, b)), Some(z)) => vec![
                PlaneUnbalance::along_x(self.plane1_m, -a.kgm()),
                PlaneUnbalance::along_x(z.m(), -b.map_or(0.0, MassMoment::kgm)),
            ],
            (None, None) => vec![one_plane_correction(&pad_at, first)?],
            (None, Some(z)) => two_plane_correction(&pad_at, first, z)?.to_vec(),
        };
        Ok(Counterweights {
            layout: *self,
            orbit_m,
            nominal_kg,
            range: PadMasses::of(pad, self.dry_share, self.wet_pore_share)?,
            weights,
        })
    }
}

fn plane(what: &'static str, at: Length) -> Result<f64, RangeError> {
    within(what, at.mm(), -500.0, 500.0, "mm").map(|_| at.m())
}

/// The masses that one pad comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadMasses {
    /// With nothing held, kg.
    pub dry_kg: f64,
    /// As described: plate, pad, product held, kg.
    pub described_kg: f64,
    /// Just washed and spun: dry, and water in a share of its volume, kg.
    pub wet_kg: f64,
}

impl PadMasses {
    /// The masses of a pad.
    ///
    /// ```text
    /// m_dry = s_d m_p,   m_wet = m_dry + s_w π (R² − r_h²) h ρ_w        h thickness of pad and layer [m]
    /// ```
    ///
    /// # Assumptions and valid range
    /// Water of 998 kg/m³; both shares are assumed, no source.
    ///
    /// # Errors
    /// A dry share outside 0.5 to 1, a share of the volume outside 0 to 1.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::PadMasses;
    /// # use trochoid::*;
    /// # fn main() -> Result<(), Error> {
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
    /// let masses = PadMasses::of(&pad, 0.95, 0.1)?;
    /// // A tenth of π × 65² × 25 mm³ = 331.8 ml holds 33.2 ml of water, 33.1 g.
    /// assert!((masses.wet_kg - masses.dry_kg - 0.03312).abs() < 1e-5);
    /// # Ok(())
    /// # }
    /// ```
    pub fn of(pad: &Pad, dry_share: f64, wet_pore_share: f64) -> Result<Self, RangeError> {
        let dry = within("dry_share", dry_share, 0.5, 1.0, "")? * pad.mass().kg();
        let layer = pad.interface().map_or(0.0, |i| i.thickness().m());
        let area = PI * (pad.radius().powi(2) - pad.hole_radius().powi(2));
        let volume = area * (pad.thickness().m() + layer);
        let share = within("wet_pore_share", wet_pore_share, 0.0, 1.0, "")?;
        Ok(Self { dry_kg: dry, described_kg: pad.mass().kg(), wet_kg: dry + share * volume * WATER_KG_M3 })
    }

    /// Lightest and heaviest of the three \[kg\].
    #[must_use]
    pub fn ends(&self) -> (f64, f64) {
        (self.dry_kg.min(self.described_kg), self.wet_kg.max(self.described_kg))
    }
}

/// Counterweights made for one pad mass.
#[derive(Debug, Clone, PartialEq)]
pub struct Counterweights {
    layout: BalanceLayout,
    orbit_m: f64,
    nominal_kg: f64,
    range: PadMasses,
    weights: Vec<PlaneUnbalance>,
}

impl Counterweights {
    /// Mass that they are made for.
    #[must_use]
    pub const fn made_for(&self) -> Mass {
        Mass::from_kg(self.nominal_kg)
    }

    /// The masses that the pad comes to.
    #[must_use]
    pub const fn pad_masses(&self) -> PadMasses {
        self.range
    }

    /// Whether the weights are as fitted, not found.
    #[must_use]
    pub const fn fitted(&self) -> bool {
        self.layout.fitted.is_some()
    }

    /// Plane of the pad.
    #[must_use]
    pub const fn pad_plane(&self) -> Length {
        self.layout.pad_plane()
    }

    /// The weights, in the order of their planes.
    #[must_use]
    pub fn weights(&self) -> &[PlaneUnbalance] {
        &self.weights
    }

    /// Masses of the weights at their radii, U/r, kg, negative for one on the pad's side; `None` where no radius is
    /// given.
    #[must_use]
    pub fn masses_kg(&self) -> Vec<Option<f64>> {
        let opposite = |u: &PlaneUnbalance| -u.vector_kgm().0;
        self.weights.iter().zip(self.layout.radius_m).map(|(u, r)| r.map(|r| opposite(u) / r)).collect()
    }

    /// Everything that turns with the shaft and a pad of a mass.
    #[must_use]
    pub fn with_pad(&self, pad_kg: f64) -> Vec<PlaneUnbalance> {
        let mut list = vec![PlaneUnbalance::along_x(self.layout.pad_plane_m, pad_kg * self.orbit_m)];
        list.extend_from_slice(&self.weights);
        list
    }

    /// What is left with a pad of a mass; the moment about the first plane.
    #[must_use]
    pub fn residual(&self, pad_kg: f64) -> ResultantUnbalance {
        resultant_unbalance(&self.with_pad(pad_kg), Length::from_m(self.layout.plane1_m))
    }

    /// The same weights in one plane: the force nulled for the same mass, the couple left.
    ///
    /// # Errors
    /// As [`one_plane_correction`].
    pub fn in_one_plane(&self) -> Result<Self, RangeError> {
        let pad = [PlaneUnbalance::along_x(self.layout.pad_plane_m, self.nominal_kg * self.orbit_m)];
        let weight = one_plane_correction(&pad, Length::from_m(self.layout.plane1_m))?;
        Ok(Self { weights: vec![weight], ..self.clone() })
    }

    /// Grade that the residual with a pad of a mass amounts to; `None` without the rotor's mass.
    #[must_use]
    pub fn grade(&self, pad_kg: f64, rate: AngularRate) -> Option<Speed> {
        self.layout.rotor_kg.map(|m| grade_of(self.residual(pad_kg).static_kgm(), rate, Mass::from_kg(m)))
    }

    /// Grade asked for.
    #[must_use]
    pub const fn wanted_grade(&self) -> Speed {
        self.layout.grade
    }

    /// Residual that the grade asked for permits \[kg·m\]; `None` without the rotor's mass.
    ///
    /// # Errors
    /// As [`permissible_unbalance_kgm`].
    pub fn permissible_kgm(&self, rate: AngularRate) -> Result<Option<f64>, RangeError> {
        let of = |m| permissible_unbalance_kgm(self.layout.grade, rate, Mass::from_kg(m));
        self.layout.rotor_kg.map(of).transpose()
    }
}
