//! Stall-threshold curves: the curvature that stalls a pad, against one setting at a time.

use super::balance::spin_state;
use super::setup::Setup;
use super::stall::{NetTorque, SEARCH_LIMIT_PER_M, StallSettings, first_crossing};
use crate::contact::ContactError;
use crate::math::reduce::map_indexed;
use crate::panel::Patch;
use crate::units::{AngularRate, Curvature, Force, Length};

/// What a curve is drawn against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Against {
    /// Orbit rate, orbits per minute.
    OrbitRate,
    /// Normal force \[N\].
    Force,
    /// Throw (orbit diameter) \[mm\].
    Throw,
    /// Face diameter of a pad of the same make \[mm\].
    PadDiameter,
    /// Thickness of the pad \[mm\].
    PadThickness,
}

impl Against {
    /// Key of the quantity in machine-readable results, with its unit.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::OrbitRate => "orbit_rate_opm",
            Self::Force => "force_n",
            Self::Throw => "throw_mm",
            Self::PadDiameter => "pad_diameter_mm",
            Self::PadThickness => "pad_thickness_mm",
        }
    }

    /// Value of the quantity in `setup` in the unit that [`Against::key`] ends with \[orbits/min, N or mm\].
    #[must_use]
    pub fn of(self, setup: &Setup) -> f64 {
        match self {
            Self::OrbitRate => setup.tool().rate().opm(),
            Self::Force => setup.force().n(),
            Self::Throw => setup.tool().throw().mm(),
            Self::PadDiameter => setup.pad().diameter().mm(),
            Self::PadThickness => setup.pad().thickness().mm(),
        }
    }

    /// `setup` with the quantity changed to `value` in the unit of [`Against::key`]; the example of
    /// [`stall_curve`] goes through it. The tool's own range of rates does not bound a curve.
    ///
    /// # Errors
    /// A value that the tool, the pad or the set-up refuses.
    pub fn set(self, setup: &Setup, value: f64) -> Result<Setup, crate::RangeError> {
        let out = setup.clone();
        match self {
            Self::OrbitRate => {
                let rate = AngularRate::from_opm(value);
                let tool = setup.tool().clone();
                let (low, high) = tool.rate_range();
                let tool = if rate < low || rate > high {
                    // Beyond the range: the range is opened for the curve only.
                    let (low, high) = (low.opm().min(value), high.opm().max(value));
                    tool.with_rate_range(AngularRate::from_opm(low), AngularRate::from_opm(high))?
                } else {
                    tool
                };
                out.with_tool(tool.at_rate(rate)?)
            }
            Self::Force => out.at_force(Force::from_n(value)),
            Self::Throw => {
                let tool = setup.tool().clone().with_throw(Length::from_mm(value))?;
                out.with_tool(tool)
            }
            Self::PadDiameter => {
                let pad = setup.pad().resized(Length::from_mm(value))?;
                out.with_pad(pad)
            }
            Self::PadThickness => {
                let pad = setup.pad().with_thickness(Length::from_mm(value))?;
                out.with_pad(pad)
            }
        }
    }
}

/// A patch of the panel's own curvature ratio whose larger principal curvature is `curvature`; a
/// sphere where the panel is flat.
fn patch_like(patch: &Patch, curvature: f64) -> Option<Patch> {
    if patch.is_flat() {
        Patch::sphere(Curvature::from_per_m(curvature)).ok()
    } else {
        patch.scaled(curvature / patch.dominant()).ok()
    }
}

/// Where a pad stalls as the panel bends more and more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StallOutcome {
    /// The spin crosses the useful minimum at this curvature (the larger principal one) [1/m]:
    /// negative where a hollow stalls a pad that turns on the flat, positive where a crown frees one
    /// that stalls on the flat.
    At(f64),
    /// Turns on the flat and in every hollow down to −20 per metre or to where the pad bottoms out.
    Never,
    /// Stalls on the flat and on every crown up to 20 per metre or to where the pad bottoms out.
    Always,
    /// The face sticks: the pad only kneads.
    Sticks,
    /// The drive is not free: the pad turns whatever the panel.
    Driven,
    /// The set-up is refused or its contact has no solution on a flat.
    Refused,
}

impl StallOutcome {
    /// The curvature, where there is a crossing [1/m].
    #[must_use]
    pub const fn curvature(self) -> Option<f64> {
        if let Self::At(k) = self { Some(k) } else { None }
    }

    /// One word for tables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::At(_) => "at",
            Self::Never => "never",
            Self::Always => "always",
            Self::Sticks => "sticks",
            Self::Driven => "driven",
            Self::Refused => "refused",
        }
    }
}

/// Where the pad of `setup` stalls, along the curvature ratio of its own patch (a sphere where that
/// is flat). `drag_factor` multiplies the bearing drag (1 as given).
///
/// # Assumptions and valid range
/// Those of [`spin_state`]; curvatures from the flat to ±[`SEARCH_LIMIT_PER_M`] or to where the pad bottoms
/// out, of which the first crossing counts.
///
/// # Accuracy
/// As [`super::stall_limits`].
///
/// # Errors
/// As [`crate::contact::solve`], for the flat panel.
///
/// # Example
/// ```
/// use trochoid::spin::{StallOutcome, StallSettings, stall_curvature};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_rad_s(440.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let found = stall_curvature(&setup, &StallSettings::default(), 1.0)?;
/// // −0.4258 per metre by hand, see the example of `closed_form::useful_curvature`, small spin assumed.
/// assert!(found.curvature().is_some_and(|k| (k / -0.4258 - 1.0).abs() < 0.01));
/// // Geared, it turns whatever the panel.
/// let geared = setup.clone().with_tool(Tool::geared(Length::from_mm(15.0), AngularRate::from_rad_s(440.0), 0.1)?)?;
/// assert_eq!(stall_curvature(&geared, &StallSettings::default(), 1.0)?, StallOutcome::Driven);
/// # Ok(())
/// # }
/// ```
pub fn stall_curvature(
    setup: &Setup,
    settings: &StallSettings,
    drag_factor: f64,
) -> Result<StallOutcome, ContactError> {
    if setup.tool().bearing().is_none() {
        return Ok(StallOutcome::Driven);
    }
    if setup.face_orbit().sticks {
        return Ok(StallOutcome::Sticks);
    }
    // The same rules as for the limits of a job: scan on fewer nodes, refine on all of them.
    let (fine, coarse) = (settings.contact, settings.contact.fewer());
    let net = NetTorque::new(setup, settings.useful_spin, drag_factor);
    let Some(flat) = net.at(&Patch::flat(), &settings.contact) else {
        return spin_state(setup, &Patch::flat(), &settings.contact).map(|_| StallOutcome::Refused);
    };
    let turns = flat >= 0.0;
    let side = if turns { -1.0 } else { 1.0 };
    let crossing = first_crossing(SEARCH_LIMIT_PER_M, settings.scan, settings.tolerance, turns, |k, is_fine| {
        net.at(&patch_like(setup.patch(), side * k)?, if is_fine { &fine } else { &coarse })
    });
    Ok(match crossing {
        Some(c) => StallOutcome::At(side * c.at),
        None if turns => StallOutcome::Never,
        None => StallOutcome::Always,
    })
}

/// Where the pad stalls at each of `values`.
///
/// Values are solved in parallel; the result does not depend on the threads.
///
/// # Units
/// `values` in the unit of [`Against::key`]; curvatures in 1/m.
///
/// # Example
/// ```
/// use trochoid::spin::{Against, StallSettings, stall_curve};
/// use trochoid::*;
/// # fn main() -> Result<(), RangeError> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(0.0))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let curve = stall_curve(&setup, Against::Throw, &[8.0, 12.0], &StallSettings::default(), 1.0);
/// // On the flat it turns from e = μNR²ω_u/(4ΩM_b) = 12.25 × 0.065² × 6.283/(4 × 439.8 × 0.02) = 9.24 mm
/// // on, a throw of 18.5 mm: at both throws only a crown lets it turn, a gentler one at the longer throw.
/// let crowns: Vec<f64> = curve.iter().filter_map(|k| k.curvature()).collect();
/// assert!(crowns.len() == 2 && crowns[0] > crowns[1] && crowns[1] > 0.0);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn stall_curve(
    setup: &Setup,
    against: Against,
    values: &[f64],
    settings: &StallSettings,
    drag_factor: f64,
) -> Vec<StallOutcome> {
    map_indexed(values.len(), |i| {
        let Ok(changed) = against.set(setup, values[i]) else { return StallOutcome::Refused };
        stall_curvature(&changed, settings, drag_factor).unwrap_or(StallOutcome::Refused)
    })
}

/// Evenly spaced values, ends included.
fn spaced(low: f64, high: f64, count: usize) -> Vec<f64> {
    let last = count.saturating_sub(1).max(1) as f64;
    (0..count).map(|i| low + (high - low) * i as f64 / last).collect()
}

/// Range of rates that a curve covers: the tool's own, or half to one and a half of the set-point.
fn rate_window(setup: &Setup) -> (f64, f64) {
    let (low, high) = setup.tool().rate_range();
    if high.opm() > low.opm() * 1.01 {
        (low.opm(), high.opm())
    } else {
        let now = setup.tool().rate().opm();
        (0.5 * now, 1.5 * now)
    }
}

/// Forces that the curves are drawn for \[N\]: half, three quarters and one and a half of the set-up's own,
/// to whole newtons and at least one, and its own.
///
/// # Example
/// ```
/// use trochoid::*;
/// # fn main() -> Result<(), RangeError> {
/// # let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_opm(4200.0), 0.1)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(30.0))?;
/// // 15, 22.5 and 45 N around 30 N.
/// assert_eq!(trochoid::spin::force_family(&setup), [15.0, 23.0, 30.0, 45.0]);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn force_family(setup: &Setup) -> Vec<f64> {
    let n = setup.force().n();
    let whole = |share: f64| (share * n).round().max(1.0);
    vec![whole(0.5), whole(0.75), n, whole(1.5)]
}

/// Values that a sweep picture shows for one setting \[in the unit of [`Against::key`]\]: 25 evenly spaced.
///
/// Orbit rates over the tool's range, or from half to one and a half of the set-point where it has none; forces
/// from a fifth to twice the set-up's own; throws from 2 mm to twice its own (at least 12 mm); diameters from
/// half its own (at least 40 mm and 1.2 times the throw) to 1.4 times it (at least 60 mm); thicknesses from
/// 0.3 to twice its own.
///
/// # Example
/// ```
/// use trochoid::spin::{Against, sweep_values};
/// use trochoid::*;
/// # fn main() -> Result<(), RangeError> {
/// # let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_opm(4200.0), 0.1)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(40.0))?;
/// // From 8 to 80 N in 24 steps of 3 N.
/// let forces = sweep_values(&setup, Against::Force);
/// assert_eq!((forces.len(), forces[0], forces[24]), (25, 8.0, 80.0));
/// assert!((forces[1] - 11.0).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn sweep_values(setup: &Setup, against: Against) -> Vec<f64> {
    let now = against.of(setup);
    match against {
        Against::OrbitRate => {
            let (low, high) = rate_window(setup);
            spaced(low, high, 25)
        }
        Against::Force => spaced(0.2 * now, 2.0 * now, 25),
        Against::Throw => spaced(2.0, (2.0 * now).max(12.0), 25),
        Against::PadDiameter => {
            spaced((0.5 * now).max(40.0).max(1.2 * setup.tool().throw().mm()), (1.4 * now).max(60.0), 25)
        }
        Against::PadThickness => spaced(0.3 * now, 2.0 * now, 25),
    }
}
