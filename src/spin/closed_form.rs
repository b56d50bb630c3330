//! Closed forms of spin and reversal, each with the range in which it holds.
//!
//! All of them are our own derivations (`notebooks-free-docs/theory-spin.md`): linear compression
//! law, full contact, Coulomb friction. The numeric balance is the truth; these are its check and
//! give orders of magnitude in one line. They take the plate to back the whole face; with foam
//! beyond the plate they are given, and flagged as not valid. With a hole R⁴ stands for R⁴ − r_h⁴.

use super::setup::Setup;
use crate::motion::Face;
use core::f64::consts::PI;

/// A curvature from a closed form, and whether the form holds there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClosedFormCurvature {
    /// Mean curvature H [1/m], + convex.
    pub curvature_per_m: f64,
    /// Whether the pad is in full contact there on a sphere.
    pub valid: bool,
}

/// Friction torque at small spin for an axisymmetric pressure \[N·m\].
///
/// ```text
/// M = −μ N ⟨r²⟩ ω/(2 e Ω)      ⟨r²⟩ = ∫p r² dA/N [m²]: R²/2 uniform, 2R²/5 Hertz, R² at the rim
/// ```
///
/// # Assumptions and valid range
/// |ω| R ≪ e Ω.
///
/// # Accuracy
/// The next term is of relative order (ωR/(eΩ))².
///
/// # Example
/// ```
/// // Even load on R = 70 mm: ⟨r²⟩ = R²/2 = 2.45e-3 m²; μN = 18 N, e = 9 mm, Ω = 471.24, ω = 1 rad/s.
/// let m = trochoid::spin::closed_form::small_spin_torque(18.0, 2.45e-3, 9e-3, 471.24, 1.0);
/// assert!((m + 18.0 * 2.45e-3 / (2.0 * 9e-3 * 471.24)).abs() < 1e-15);
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-spin.md`; even load: the series of Farkas et al. (2003) at
/// small spin.
#[must_use]
pub fn small_spin_torque(friction_n: f64, mean_square_m2: f64, orbit_m: f64, rate: f64, spin: f64) -> f64 {
    -friction_n * mean_square_m2 * spin / (2.0 * orbit_m * rate)
}

/// Spin on the flat at small spin [rad/s].
///
/// ```text
/// ω = 4 e Ω M_b/(μ N R²)      M_b bearing torque [N·m], μN friction [N], R face radius [m]
/// ```
///
/// # Assumptions and valid range
/// Even load on a face without a hole; result small against eΩ/R.
///
/// # Accuracy
/// As [`small_spin_torque`]: at 92 rpm in the example 0.2 % above the full balance, which gives 91.644 rpm.
///
/// # Example
/// ```
/// // 4 × 0.009 × 471.24 × 0.05/(18 × 0.07²) = 9.617 rad/s.
/// let spin = trochoid::spin::closed_form::flat_spin(0.05, 18.0, 0.07, 9e-3, 471.24);
/// assert!((spin - 9.617).abs() < 1e-3);
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-spin.md`.
#[must_use]
pub fn flat_spin(drag_nm: f64, friction_n: f64, radius_m: f64, orbit_m: f64, rate: f64) -> f64 {
    4.0 * orbit_m * rate * drag_nm / (friction_n * radius_m * radius_m)
}

/// Torque from curvature at zero spin, averaged over the orbit \[N·m\].
///
/// ```text
/// M_κ = μ k e H π R⁴/4      k foundation modulus [Pa/m], e orbit radius [m], H mean curvature [1/m]
/// ```
///
/// # Assumptions and valid range
/// Linear law, full contact. Positive (helps the spin) where the panel is convex.
///
/// # Example
/// ```
/// // 0.35 × 1e6 × 0.0075 × (−0.5) × π × 0.07⁴/4 = −0.02475 N·m: a hollow of 2 m radius against the spin.
/// let torque = trochoid::spin::closed_form::curvature_torque(0.35, 1e6, 7.5e-3, -0.5, 0.07f64.powi(4));
/// assert!((torque + 0.02475).abs() < 1e-5);
/// ```
///
/// # References
/// Own derivation, step by step in `notebooks-free-docs/theory-spin.md`.
#[must_use]
pub fn curvature_torque(friction: f64, stiffness_pa_m: f64, orbit_m: f64, mean_curvature: f64, radius4_m4: f64) -> f64 {
    friction * stiffness_pa_m * orbit_m * mean_curvature * PI * radius4_m4 / 4.0
}

/// Curvature at which the balance at zero spin vanishes: from there on a hollow turns the pad backwards.
///
/// ```text
/// H_rev = −4 M_b(ω=0)/(π μ k e R⁴)      M_b [N·m], k foundation modulus [Pa/m], e orbit radius at the face [m]
/// ```
///
/// # Assumptions and valid range
/// Linear law, full contact, no spin. `None` unless the drive is free, the compression law linear and the face
/// slides. `valid` says whether the plate backs the whole face and a sphere of that curvature is in full contact.
///
/// # Accuracy
/// Exact where `valid`: no small spin is assumed.
///
/// # Example
/// ```
/// use trochoid::spin::closed_form::reversal_curvature;
/// use trochoid::*;
/// # fn main() -> Result<(), RangeError> {
/// let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_rad_s(440.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// // −4 × 0.04/(π × 0.35 × 9e5 × 0.0075 × 0.065⁴) = −1.2077 per metre. Full contact there needs
/// // πk|H|R⁴/4 (1 + 2e²/R²) = 15.6 N; 35 N press.
/// let found = reversal_curvature(&setup);
/// assert!(found.is_some_and(|c| (c.curvature_per_m + 1.2077).abs() < 1e-4 && c.valid));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-spin.md`.
#[must_use]
pub fn reversal_curvature(setup: &Setup) -> Option<ClosedFormCurvature> {
    let k = setup.pad().stack().linear_stiffness()?;
    let orbit = setup.face_orbit();
    let drag = setup.spindle_drag()?;
    if orbit.sticks {
        return None;
    }
    let rate = setup.tool().rate().rad_s();
    let torque = drag.spindle_torque(rate, super::balance::SLIP_SCALE);
    let h = -torque / (PI * setup.product().friction() * k * orbit.radius_m * moment(setup, 3));
    Some(ClosedFormCurvature { curvature_per_m: h, valid: valid(setup, orbit.radius_m, k, h) })
}

/// ∫ rⁿ dr over the face, without regard to the plate.
fn moment(setup: &Setup, n: i32) -> f64 {
    let pad = setup.pad();
    (pad.radius().powi(n + 1) - pad.hole_radius().powi(n + 1)) / f64::from(n + 1)
}

fn valid(setup: &Setup, orbit: f64, k: f64, h: f64) -> bool {
    let face = Face::new(setup.pad(), orbit);
    !face.overhangs() && full_contact_on_sphere(&face, k, h, setup.force().n())
}

/// Curvature at which the spin falls to `useful` [rad/s].
///
/// ```text
/// H_u = −(A − μN⟨r²⟩ω_u/(2eΩ)) / (μkπ [e m₃ − (⟨r²⟩m₃ − m₅) ω_u/(2eΩ)])
/// A = M_b(Ω−ω_u) [N·m],   ⟨r²⟩ = m₃/m₁ [m²],   m_n = ∫rⁿ dr over the face
/// ```
///
/// The second term in the bracket is the change of ⟨r²⟩ with curvature (load that moves to the rim
/// damps harder). It is of the same order as the first near the best throw; without it the form
/// reduces to −(4/(πμkR⁴))(A/e − B/e²), which is up to 15 % too tight there (the tests compare both
/// with the numeric root).
///
/// # Assumptions and valid range
/// Linear law, full contact, small spin: ω_u R ≪ eΩ. `None` and `valid` as for [`reversal_curvature`].
///
/// # Accuracy
/// Within half a percent of the numeric root in the example of [`super::stalling_sphere`].
///
/// # Example
/// ```
/// use trochoid::spin::closed_form::useful_curvature;
/// use trochoid::*;
/// # fn main() -> Result<(), RangeError> {
/// let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_rad_s(440.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// // ω_u/(2eΩ) = 6.2832/(2 × 0.0075 × 440) = 0.952 per metre; m₃ = R⁴/4, m₅ = R⁶/6, ⟨r²⟩ = R²/2.
/// // Above: 0.04 − 12.25 × 2.1125e-3 × 0.952 = 0.015364 N·m. Bracket: 3.347e-8 + 0.299e-8 = 3.646e-8 m⁵,
/// // times μkπ = 9.896e5: H_u = −0.015364/0.036082 = −0.4258 per metre.
/// let found = useful_curvature(&setup, AngularRate::from_rpm(60.0).rad_s());
/// assert!(found.is_some_and(|c| (c.curvature_per_m + 0.4258).abs() < 1e-4 && c.valid));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-spin.md`.
#[must_use]
pub fn useful_curvature(setup: &Setup, useful: f64) -> Option<ClosedFormCurvature> {
    let k = setup.pad().stack().linear_stiffness()?;
    let orbit = setup.face_orbit();
    if orbit.sticks {
        return None;
    }
    let (a, b) = useful_terms(setup, useful)?;
    let e = orbit.radius_m;
    let (m1, m3, m5) = (moment(setup, 1), moment(setup, 3), moment(setup, 5));
    let damping = useful / (2.0 * e * setup.tool().rate().rad_s());
    let slope = setup.product().friction() * k * PI * (e * m3 - damping * (m3 / m1 * m3 - m5));
    let h = -(a - b / e) / slope;
    Some(ClosedFormCurvature { curvature_per_m: h, valid: valid(setup, e, k, h) })
}

/// Orbit radius at which the pad tolerates the tightest hollow, and that below which it stalls on the flat
/// \[m\].
///
/// ```text
/// e = 2B/A,   e = B/A      A = M_b(Ω−ω_u) [N·m],   B = μN⟨r²⟩ω_u/(2Ω) [N·m²]
/// ```
///
/// From the form −(4/(πμkR⁴))(A/e − B/e²), which leaves out the change of ⟨r²⟩ with curvature: an
/// estimate of the optimum, exact for the flat.
///
/// The bearing law is taken as it stands at the tool's own throw. `None` unless the drive is free
/// and drags the pad at all.
///
/// # Example
/// ```
/// use trochoid::spin::closed_form::best_orbit;
/// use trochoid::*;
/// # fn main() -> Result<(), RangeError> {
/// let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_rad_s(440.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// // B = 12.25 × 0.065² × 6.2832/(4 × 440) = 1.8477e-4 N·m², A = 0.04 N·m: B/A = 4.62 mm.
/// let found = best_orbit(&setup, AngularRate::from_rpm(60.0).rad_s());
/// assert!(found.is_some_and(|(best, least)| (best - 9.24e-3).abs() < 1e-5 && (least - 4.62e-3).abs() < 1e-5));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-spin.md`.
#[must_use]
pub fn best_orbit(setup: &Setup, useful: f64) -> Option<(f64, f64)> {
    let (a, b) = useful_terms(setup, useful)?;
    (a > 0.0).then(|| (2.0 * b / a, b / a))
}

fn useful_terms(setup: &Setup, useful: f64) -> Option<(f64, f64)> {
    let drag = setup.spindle_drag()?;
    let rate = setup.tool().rate().rad_s();
    let mean_square = moment(setup, 3) / moment(setup, 1);
    let a = drag.spindle_torque(rate - useful, super::balance::SLIP_SCALE)
        - drag.brake_torque(useful, super::balance::SLIP_SCALE);
    Some((a, setup.friction_n() * mean_square * useful / (2.0 * rate)))
}

/// Whether a pad with a linear law touches everywhere on a sphere over the whole orbit.
///
/// ```text
/// δ0 = N/(kA) + ½κ(⟨r²⟩ + e²),   δ0 − ½κρ² ≥ 0      ρ = R + e on a crown, the least reached in a hollow [m]
/// ```
///
/// For a full disc backed to its rim this is N ≥ πkκR⁴/4·(1 + 4e/R) on a crown and
/// N ≥ πk|κ|R⁴/4·(1 + 2e²/R²) in a hollow.
///
/// # Assumptions and valid range
/// Linear law, pad held square, even thickness. A pressure of exactly zero counts as contact.
///
/// # Example
/// ```
/// use trochoid::spin::closed_form::full_contact_on_sphere;
/// use trochoid::{CompressionLaw, Length, Pad, Stiffness, motion::Face};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// // Without an orbit πkκR⁴/4 = π × 1e6 × 1 × 0.07⁴/4 = 18.86 N on a crown of 1 m radius.
/// let face = Face::new(&pad, 0.0);
/// assert!(full_contact_on_sphere(&face, 1e6, 1.0, 18.9) && !full_contact_on_sphere(&face, 1e6, 1.0, 18.8));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own derivation, see `notebooks-free-docs/theory-contact.md`.
#[must_use]
pub fn full_contact_on_sphere(face: &Face, stiffness_pa_m: f64, curvature_per_m: f64, force_n: f64) -> bool {
    let area = 2.0 * PI * face.radial_moment(1);
    let mean_square = face.radial_moment(3) / face.radial_moment(1) + face.orbit() * face.orbit();
    let heave = force_n / (stiffness_pa_m * area) + 0.5 * curvature_per_m * mean_square;
    let loosest = if curvature_per_m > 0.0 { face.reach() } else { face.core() };
    heave - 0.5 * curvature_per_m * loosest * loosest >= 0.0
}
