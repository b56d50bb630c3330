//! Unbalance of a rigid rotor: what it sums up to, and the weights in one or two planes that null it.
//!
//! Vectors stand in a frame that turns with the shaft; z runs along it. Not a flexible rotor: below its
//! first bending speed every unbalance can be nulled in two planes.
//!
//! Source of the terms: ISO 21940-11:2016 (before it ISO 1940-1:2003), rotors with rigid behaviour.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Angle, AngularRate, Length, Mass, Speed};

/// Smallest distance of two planes that a couple may be nulled in, m.
const LEAST_PLANE_DISTANCE_M: f64 = 1e-3;

/// An unbalance in one plane across the shaft.
///
/// ```text
/// U = m r        m mass [kg], r distance of its middle from the axis [m], U [kg·m]
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaneUnbalance {
    plane_m: f64,
    x_kgm: f64,
    y_kgm: f64,
}

impl PlaneUnbalance {
    /// A mass at a distance from the axis, in a direction and a plane.
    ///
    /// # Errors
    /// A mass outside 0 to 1000 kg, a radius outside 0 to 10 m, a plane outside −10 to 10 m, an angle that
    /// is not finite.
    pub fn new(mass: Mass, radius: Length, angle: Angle, plane: Length) -> Result<Self, RangeError> {
        let m = within("mass_kg", mass.kg(), 0.0, 1000.0, "kg")?;
        let r = Length::from_mm(within("radius_mm", radius.mm(), 0.0, 10_000.0, "mm")?).m();
        let angle = within("angle_deg", angle.deg(), -3600.0, 3600.0, "°").map(Angle::from_deg)?.rad();
        let plane_m = place("plane_mm", plane)?;
        Ok(Self { plane_m, x_kgm: m * r * angle.cos(), y_kgm: m * r * angle.sin() })
    }

    /// An unbalance of the given size \[kg·m\] along x, negative on the other side; for rotors whose masses
    /// all lie in one plane through the axis, as a pad and its counterweights do.
    pub(super) const fn along_x(plane_m: f64, kgm: f64) -> Self {
        Self { plane_m, x_kgm: kgm, y_kgm: 0.0 }
    }

    /// Place along the shaft.
    #[must_use]
    pub const fn plane(&self) -> Length {
        Length::from_m(self.plane_m)
    }

    /// The vector \[kg·m\].
    #[must_use]
    pub const fn vector_kgm(&self) -> (f64, f64) {
        (self.x_kgm, self.y_kgm)
    }

    /// Its size \[kg·m\].
    #[must_use]
    pub fn size_kgm(&self) -> f64 {
        self.x_kgm.hypot(self.y_kgm)
    }

    /// Its direction, −180° to 180°.
    #[must_use]
    pub fn angle(&self) -> Angle {
        Angle::from_rad(self.y_kgm.atan2(self.x_kgm))
    }
}

fn place(what: &'static str, at: Length) -> Result<f64, RangeError> {
    within(what, at.mm(), -10_000.0, 10_000.0, "mm").map(|_| at.m())
}

/// What the unbalances of a rotor sum up to: the resultant, and the moment of the couple about a plane.
///
/// ```text
/// U_r = Σ U_i                 static part: force U_r Ω² [N]
/// P_r = Σ U_i (z_i − z_0)     moment about the plane z_0: couple P_r Ω² [N·m]
/// ```
///
/// P_r does not depend on z_0 where U_r is zero (a couple unbalance alone).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResultantUnbalance {
    /// U_r \[kg·m\].
    pub force_kgm: (f64, f64),
    /// P_r, kg·m².
    pub couple_kgm2: (f64, f64),
    /// z_0, m.
    pub about_m: f64,
}

impl ResultantUnbalance {
    /// Size of the resultant unbalance \[kg·m\].
    #[must_use]
    pub fn static_kgm(&self) -> f64 {
        self.force_kgm.0.hypot(self.force_kgm.1)
    }

    /// Size of the moment \[kg·m²\].
    #[must_use]
    pub fn couple_size_kgm2(&self) -> f64 {
        self.couple_kgm2.0.hypot(self.couple_kgm2.1)
    }

    /// Force that turns with the shaft at `rate`, N.
    #[must_use]
    pub fn force_n(&self, rate: AngularRate) -> f64 {
        self.static_kgm() * rate.rad_s() * rate.rad_s()
    }

    /// Couple that turns with the shaft at `rate`, N·m.
    #[must_use]
    pub fn couple_nm(&self, rate: AngularRate) -> f64 {
        self.couple_size_kgm2() * rate.rad_s() * rate.rad_s()
    }

    /// The same as two unbalances in two planes, as a standard's residual in the bearing planes.
    ///
    /// ```text
    /// U_2 = P_1/(z_2 − z_1),   U_1 = U_r − U_2        P_1 the moment about z_1
    /// ```
    ///
    /// See the example of [`two_plane_correction`], which is this with the signs turned.
    ///
    /// # Errors
    /// Planes outside −10 to 10 m or closer than 1 mm: one plane cannot hold a couple.
    pub fn in_planes(&self, first: Length, second: Length) -> Result<[PlaneUnbalance; 2], RangeError> {
        let (z1, z2) = (place("plane1_mm", first)?, place("plane2_mm", second)?);
        let apart = z2 - z1;
        if apart.abs() < LEAST_PLANE_DISTANCE_M {
            return Err(RangeError::new(
                "plane2_mm",
                second.mm(),
                "mm",
                format!("at least 1 mm away from the first plane at {} mm: one plane holds no couple", first.mm()),
            ));
        }
        let shift = self.about_m - z1;
        let outer = |u: f64, p: f64| (p + u * shift) / apart;
        let (x, y) = (outer(self.force_kgm.0, self.couple_kgm2.0), outer(self.force_kgm.1, self.couple_kgm2.1));
        Ok([
            PlaneUnbalance { plane_m: z1, x_kgm: self.force_kgm.0 - x, y_kgm: self.force_kgm.1 - y },
            PlaneUnbalance { plane_m: z2, x_kgm: x, y_kgm: y },
        ])
    }
}

/// Sums up unbalances, the moment about the plane `about`.
///
/// ```text
/// U_r = Σ U_i [kg·m],   P_r = Σ U_i (z_i − z_0) [kg·m²]
/// ```
///
/// # Assumptions and valid range
/// A rigid rotor: well below its first bending speed.
///
/// # Example
/// ```
/// use trochoid::plan::machine::{PlaneUnbalance, resultant_unbalance};
/// use trochoid::units::{Angle, Length, Mass};
/// // 0.2 kg at 6 mm below and 0.06 kg at 20 mm on the other side, 50 mm above: no force, but a couple of
/// // 1.2e-3 kg·m x 50 mm.
/// let at = |kg, mm, deg, z| PlaneUnbalance::new(
///     Mass::from_kg(kg), Length::from_mm(mm), Angle::from_deg(deg), Length::from_mm(z));
/// let sum = resultant_unbalance(&[at(0.2, 6.0, 0.0, 0.0)?, at(0.06, 20.0, 180.0, 50.0)?], Length::from_mm(0.0));
/// assert!(sum.static_kgm() < 1e-15 && (sum.couple_size_kgm2() - 6e-5).abs() < 1e-15);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[must_use]
pub fn resultant_unbalance(list: &[PlaneUnbalance], about: Length) -> ResultantUnbalance {
    let mut out = ResultantUnbalance { force_kgm: (0.0, 0.0), couple_kgm2: (0.0, 0.0), about_m: about.m() };
    for u in list {
        let arm = u.plane_m - out.about_m;
        out.force_kgm.0 += u.x_kgm;
        out.force_kgm.1 += u.y_kgm;
        out.couple_kgm2.0 += u.x_kgm * arm;
        out.couple_kgm2.1 += u.y_kgm * arm;
    }
    out
}

/// The weight in one plane that nulls the force, and leaves the couple.
///
/// ```text
/// U = −Σ U_i        [kg·m]
/// ```
///
/// # Errors
/// A plane outside −10 to 10 m.
///
/// # Example
/// ```
/// use trochoid::plan::machine::{PlaneUnbalance, one_plane_correction, resultant_unbalance};
/// use trochoid::units::{Angle, Length, Mass};
/// let mm = Length::from_mm;
/// // 0.2 kg at 6 mm ask for 1.2e-3 kg·m on the other side; 50 mm above the pad that leaves a couple of
/// // 1.2e-3 × 0.05 = 6e-5 kg·m².
/// let pad = PlaneUnbalance::new(Mass::from_kg(0.2), mm(6.0), Angle::from_deg(0.0), mm(0.0))?;
/// let weight = one_plane_correction(&[pad], mm(50.0))?;
/// assert!((weight.vector_kgm().0 + 1.2e-3).abs() < 1e-15);
/// let left = resultant_unbalance(&[pad, weight], mm(0.0));
/// assert!(left.static_kgm() < 1e-15 && (left.couple_size_kgm2() - 6e-5).abs() < 1e-15);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// ISO 21940-11:2016, clause 4.
pub fn one_plane_correction(list: &[PlaneUnbalance], plane: Length) -> Result<PlaneUnbalance, RangeError> {
    let plane_m = place("plane1_mm", plane)?;
    let sum = resultant_unbalance(list, plane);
    Ok(PlaneUnbalance { plane_m, x_kgm: -sum.force_kgm.0, y_kgm: -sum.force_kgm.1 })
}

/// The weights in two planes that null force and couple.
///
/// ```text
/// U_2 = −P_1/(z_2 − z_1),   U_1 = −U_r − U_2        P_1 the moment about z_1 [kg·m²]
/// ```
///
/// # Errors
/// As [`ResultantUnbalance::in_planes`].
///
/// # Example
/// ```
/// use trochoid::plan::machine::{PlaneUnbalance, two_plane_correction};
/// use trochoid::units::{Angle, Length, Mass};
/// // 1.2e-3 kg·m at z = 0; planes at 40 and 100 mm. Moments about 40 mm: −40·1.2 + 60·U2 = 0, U2 = 0.8;
/// // forces: 1.2 + U1 + 0.8 = 0, U1 = −2.0 (all in g·m).
/// let pad = PlaneUnbalance::new(
///     Mass::from_kg(0.2), Length::from_mm(6.0), Angle::from_deg(0.0), Length::from_mm(0.0))?;
/// let [first, second] = two_plane_correction(&[pad], Length::from_mm(40.0), Length::from_mm(100.0))?;
/// assert!((first.vector_kgm().0 + 2.0e-3).abs() < 1e-15);
/// assert!((second.vector_kgm().0 - 0.8e-3).abs() < 1e-15);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// ISO 21940-11:2016, clause 4 (unbalance of a rotor, its representations).
pub fn two_plane_correction(
    list: &[PlaneUnbalance],
    first: Length,
    second: Length,
) -> Result<[PlaneUnbalance; 2], RangeError> {
    let planes = resultant_unbalance(list, first).in_planes(first, second)?;
    Ok(planes.map(|u| PlaneUnbalance { x_kgm: -u.x_kgm, y_kgm: -u.y_kgm, ..u }))
}

/// Largest permissible residual unbalance of a balance quality grade, kg·m.
///
/// ```text
/// e_per = G/Ω [m],   U_per = e_per m        G [m/s], m mass of the rotor [kg], Ω [rad/s]
/// ```
///
/// # Errors
/// A grade outside 0.4 to 4000 mm/s, a rate outside 1 to 200 000 per minute, a mass outside 0.001 to
/// 1000 kg.
///
/// # Example
/// ```
/// use trochoid::plan::machine::permissible_unbalance_kgm;
/// use trochoid::units::{AngularRate, Mass, Speed};
/// // G 6.3 at 3000 /min: e_per = 6.3 mm/s / 314.16 rad/s = 20.05 µm; 10 kg: 200.5 g·mm.
/// let u = permissible_unbalance_kgm(Speed::from_mm_s(6.3), AngularRate::from_rpm(3000.0), Mass::from_kg(10.0))?;
/// assert!((u - 2.0054e-4).abs() < 5e-9);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// ISO 21940-11:2016, clause 6 (balance quality grades).
pub fn permissible_unbalance_kgm(grade: Speed, rate: AngularRate, rotor: Mass) -> Result<f64, RangeError> {
    within("grade_mm_s", grade.mm_s(), 0.4, 4000.0, "mm/s")?;
    within("rate", rate.rpm(), 1.0, 200_000.0, "/min")?;
    let mass = within("rotor_mass_kg", rotor.kg(), 0.001, 1000.0, "kg")?;
    Ok(grade.m_s() / rate.rad_s() * mass)
}

/// The grade e Ω that a residual unbalance amounts to; the inverse of [`permissible_unbalance_kgm`].
///
/// ```text
/// G = U Ω/m        U residual unbalance [kg·m], Ω rate of the shaft [rad/s], m mass of the rotor [kg], G [m/s]
/// ```
///
/// # Example
/// ```
/// use trochoid::plan::machine::grade_of;
/// use trochoid::units::{AngularRate, Mass};
/// // 1e-4 kg·m on a rotor of 2 kg at 300 rad/s: 50 µm off, and 50 µm × 300 rad/s = 15 mm/s.
/// let grade = grade_of(1e-4, AngularRate::from_rad_s(300.0), Mass::from_kg(2.0));
/// assert!((grade.mm_s() - 15.0).abs() < 1e-9);
/// ```
///
/// # References
/// ISO 21940-11:2016, clause 6 (balance quality grades).
#[must_use]
pub fn grade_of(residual_kgm: f64, rate: AngularRate, rotor: Mass) -> Speed {
    Speed::from_m_s(residual_kgm / rotor.kg() * rate.rad_s())
}
