//! The operating state of one step at one place: contact, spin, stall limits, speeds, removal,
//! power, remedies.

use crate::Error;
use crate::motion::{Face, face_mean_speed};
use crate::removal::{mean_cut_per_pass, volume_rate};
use crate::spin::{
    AtHand, Remedy, Setup, SpinState, StallLimits, StallSettings, closed_form, inertia_gain, remedies, settling_time,
    spin_state, spin_with_drag, stall_limits_for,
};
use crate::units::Speed;

/// How the pad is moved over the panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Working {
    /// Feed.
    pub feed: Speed,
    /// Overlap of neighbouring pass lines, share of the pad's face \[1\]; negative leaves them apart, below 1.
    pub overlap: f64,
}

/// Everything that `state` prints.
#[derive(Debug, Clone, PartialEq)]
pub struct OperatingState {
    /// Contact, spin and friction sums at the panel's own curvature.
    pub run: SpinState,
    /// Useful minimum of the spin \[rad/s\].
    pub useful_spin: f64,
    /// Whether the spin of a free drive is below the useful minimum.
    pub stalled: bool,
    /// Whether the pad turns against the orbit (below −0.5 rpm).
    pub reverses: bool,
    /// Spin at the ends of the range of the bearing drag \[rad/s\], ascending.
    pub spin_range: (f64, f64),
    /// Factors on the bearing drag that bound what is known of it \[1\]; the upper one may be infinite.
    pub drag_range: (f64, f64),
    /// Stall limits.
    pub limits: StallLimits,
    /// Stall limits at the ends of the range of the bearing drag; `None` unless the drive is free.
    pub limits_range: Option<(StallLimits, StallLimits)>,
    /// Closed-form reversal curvature and its validity.
    pub closed_form: Option<closed_form::ClosedFormCurvature>,
    /// e_f Ω, m/s.
    pub orbit_speed_m_s: f64,
    /// Area mean over the pad of the orbit mean of |v|, m/s.
    pub pad_mean_speed_m_s: f64,
    /// Volume removed per second, m³/s.
    pub volume_rate_m3_s: f64,
    /// Mean cut of one pass, m.
    pub cut_per_pass_m: f64,
    /// Friction power, W.
    pub friction_w: f64,
    /// Torque on the orbit shaft (on the spindle for a rotary drive), N·m.
    pub orbit_torque_nm: f64,
    /// Contact stiffness over tool mass over Ω² \[1\]: the heave is constant over the orbit while this is far
    /// below 1. `None` without a tool mass or an orbit.
    pub heave_ratio: Option<f64>,
    /// Factor by which the pad's own inertia raises the throw at the face \[1\]: told, not applied; infinite at
    /// the pad's shear resonance. `None` for a pad rigid in shear, a drive without an orbit or a face that
    /// sticks.
    pub throw_gain: Option<f64>,
    /// Time to settle after landing from free spin, s; `None` as in [`settling_time`].
    pub settling_time_s: Option<f64>,
    /// Remedies, where the pad stalls.
    pub remedies: Vec<Remedy>,
}

/// Solves the operating state of `setup` on its own patch.
///
/// `drag_range` are the factors on the bearing drag that bound what is known of it: (0.5, 2) until
/// it is calibrated.
///
/// ```text
/// friction power   P = μ ∫ ⟨p |v|⟩ dA  [W]           p pressure [Pa], v sliding velocity [m/s]
/// volume rate      V̇ = k_p ∫ ⟨p |v|⟩ dA  [m³/s]      k_p Preston coefficient [1/Pa]
/// mean cut a pass  h = V̇/(f s)  [m]                  f feed [m/s], s = (1 − overlap) · face line spacing [m]
/// ```
///
/// # Assumptions and valid range
/// One place, steady. The remedies are looked for where the pad stalls, each solved again.
///
/// # Accuracy
/// That of [`spin_state`] and of the stall search at `settings`; the range of the bearing drag is carried through
/// spin and stall limits and nothing else.
///
/// # Errors
/// As [`crate::contact::solve`].
///
/// # Example
/// ```
/// use trochoid::plan::{Working, operating_state};
/// use trochoid::spin::{AtHand, StallSettings};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let bearing = Bearing::new(Torque::from_nm(0.03), ViscousDrag::from_nms(5e-5))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// let state = operating_state(&setup, &working, &AtHand::default(), (0.5, 2.0), &StallSettings::default())?;
/// // eΩ = 7.5 mm × 439.8 = 3.299 m/s; μN eΩ = 12.25 × 3.299 = 40.4 W, and a hundredth more for the turning.
/// assert!((state.orbit_speed_m_s - 3.2987).abs() < 1e-4 && (state.friction_w / 40.4 - 1.01).abs() < 0.005);
/// assert!(!state.stalled && state.spin_range.0 < state.run.spin);
/// # Ok(())
/// # }
/// ```
pub fn operating_state(
    setup: &Setup,
    working: &Working,
    at_hand: &AtHand,
    drag_range: (f64, f64),
    settings: &StallSettings,
) -> Result<OperatingState, Error> {
    let run = spin_state(setup, setup.patch(), &settings.contact)?;
    let tool = setup.tool();
    let rate = tool.rate().rad_s();
    let free = tool.bearing().is_some();
    let found = stall_limits_for(setup, settings, &[1.0, drag_range.0, drag_range.1])?;
    let (limits, limits_range) = (found[0], free.then(|| (found[1], found[2])));
    let spin_range = match (spin_with_drag(setup, &run, drag_range.0), spin_with_drag(setup, &run, drag_range.1)) {
        (Some(a), Some(b)) => (a.min(b).min(run.spin), a.max(b).max(run.spin)),
        _ => (run.spin, run.spin),
    };
    let stalled = setup.stalls_at(run.spin, settings.useful_spin);
    let list = if stalled { remedies(setup, at_hand, settings) } else { Vec::new() };
    let now = Running::of(setup, working, &run);
    Ok(OperatingState {
        useful_spin: settings.useful_spin,
        stalled,
        reverses: free && now.reverses,
        spin_range,
        drag_range,
        limits,
        limits_range,
        closed_form: closed_form::reversal_curvature(setup),
        orbit_speed_m_s: run.face_orbit_m * rate,
        pad_mean_speed_m_s: now.mean_speed_m_s,
        volume_rate_m3_s: now.volume_rate_m3_s,
        cut_per_pass_m: now.cut_per_pass_m,
        friction_w: now.friction_w,
        orbit_torque_nm: now.orbit_torque_nm,
        heave_ratio: now.heave_ratio,
        throw_gain: now.throw_gain,
        settling_time_s: settling_time(setup, &run).map(crate::units::Time::s),
        remedies: list,
        run,
    })
}

/// Friction power \[W\], and the torque of friction and bearing on the orbit shaft (on the spindle for a
/// rotary drive) \[N·m\].
pub(super) fn shaft_load(setup: &Setup, run: &SpinState) -> (f64, f64) {
    let tool = setup.tool();
    let (rate, mu) = (tool.rate().rad_s(), setup.product().friction());
    let friction_w = mu * run.sums.speed_w;
    if tool.bearing().is_none() {
        let shaft = if rate > 0.0 { rate } else { run.spin };
        return (friction_w, friction_w / shaft);
    }
    let spindle = setup.spindle_drag().map_or(0.0, |d| d.spindle_torque(rate - run.spin, crate::spin::SLIP_SCALE));
    (friction_w, run.face_orbit_m * mu * run.sums.forward_n + spindle)
}

/// What follows from contact and spin alone, without the search for stall limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Running {
    /// As [`OperatingState::reverses`], for any drive.
    pub reverses: bool,
    /// As [`OperatingState::pad_mean_speed_m_s`].
    pub mean_speed_m_s: f64,
    /// As [`OperatingState::volume_rate_m3_s`].
    pub volume_rate_m3_s: f64,
    /// As [`OperatingState::cut_per_pass_m`].
    pub cut_per_pass_m: f64,
    /// As [`OperatingState::friction_w`].
    pub friction_w: f64,
    /// As [`OperatingState::orbit_torque_nm`].
    pub orbit_torque_nm: f64,
    /// As [`OperatingState::heave_ratio`] \[1\].
    pub heave_ratio: Option<f64>,
    /// As [`OperatingState::throw_gain`] \[1\].
    pub throw_gain: Option<f64>,
}

impl Running {
    /// What follows from a solved contact and spin of `setup`, by the equations of [`operating_state`].
    #[must_use]
    pub fn of(setup: &Setup, working: &Working, run: &SpinState) -> Self {
        let tool = setup.tool();
        let rate = tool.rate().rad_s();
        let rpm = crate::units::AngularRate::from_rad_s(run.spin).rpm();
        let (friction_w, orbit_torque_nm) = shaft_load(setup, run);
        let volume = volume_rate(setup.product().preston_per_pa(), &run.sums);
        let face = Face::new(setup.pad(), run.face_orbit_m);
        Self {
            reverses: rpm < -0.5,
            mean_speed_m_s: if run.sticks { 0.0 } else { face_mean_speed(&face, rate, run.spin) },
            volume_rate_m3_s: volume,
            cut_per_pass_m: mean_cut_per_pass(volume, working.feed.m_s(), working.overlap, setup.pad().diameter().m()),
            friction_w,
            orbit_torque_nm,
            heave_ratio: tool
                .mass()
                .filter(|_| rate > 0.0)
                .map(|m| run.contact.heave_stiffness_n_m / (m.kg() * rate * rate)),
            throw_gain: setup
                .pad()
                .shear_modulus()
                .filter(|_| rate > 0.0 && !run.sticks)
                .map(|g| inertia_gain(rate, setup.pad().thickness().m(), setup.pad().foam_density(), g.pa())),
        }
    }
}

impl OperatingState {
    /// Puts in what `setup` does with another product at the same place; limits, ranges and remedies stay
    /// what they were.
    pub(super) fn rerun(&mut self, setup: &Setup, working: &Working, settings: &StallSettings) -> Result<(), Error> {
        let run = spin_state(setup, setup.patch(), &settings.contact)?;
        let now = Running::of(setup, working, &run);
        self.stalled = setup.stalls_at(run.spin, self.useful_spin);
        self.orbit_speed_m_s = run.face_orbit_m * setup.tool().rate().rad_s();
        self.pad_mean_speed_m_s = now.mean_speed_m_s;
        self.volume_rate_m3_s = now.volume_rate_m3_s;
        self.cut_per_pass_m = now.cut_per_pass_m;
        self.friction_w = now.friction_w;
        self.orbit_torque_nm = now.orbit_torque_nm;
        self.run = run;
        Ok(())
    }
}
