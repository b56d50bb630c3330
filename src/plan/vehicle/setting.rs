//! One kit (tool, pad, product) tried on one zone over a small grid of rates and forces.
//!
//! The grid: up to [`Grid::rates`] of the tool's own settings, evenly over its scale or its range with
//! both ends, and [`Grid::forces`] forces evenly over the operator's. Each point is a contact and a
//! torque balance; what stalls, sticks, bottoms out or overloads the motor is left out, and the nearest
//! miss is kept so that a plan can say what binds.

use crate::contact::{ContactError, ContactSettings};
use crate::equipment::{Drive, Pad, Paint, Pairing, Tool};
use crate::error::RangeError;
use crate::finish::{Abrading, Face, Marks};
use crate::panel::Patch;
use crate::plan::Limit;
use crate::removal::volume_rate;
use crate::spin::{SLIP_SCALE, Setup, spin_state, spin_with_drag};
use crate::units::{AngularRate, Force, Length, Pressure};

use super::operator::Operator;

/// Points tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grid {
    /// Orbit rates of a tool; default 4.
    pub rates: usize,
    /// Forces; default 4.
    pub forces: usize,
    /// Feeds; default 3.
    pub feeds: usize,
}

impl Default for Grid {
    fn default() -> Self {
        Self { rates: 4, forces: 4, feeds: 3 }
    }
}

/// A tool with a pad and what the pad does with a product on the paint of a zone.
#[derive(Debug, Clone, PartialEq)]
pub struct KitOnPaint {
    /// The tool.
    pub tool: Tool,
    /// The pad.
    pub pad: Pad,
    /// Friction and removal on that paint, with its spread.
    pub pairing: Pairing,
    /// Grain of the product and face of the pad, where the grain is known.
    pub grain: Option<(Length, Face)>,
    /// Factors on the bearing drag that bound what is known of it \[1\].
    pub drag_range: (f64, f64),
}

/// Marks of a rotary drive run one way; an orbiting pad's in all directions (assumed).
const ROTARY_ANISOTROPY: f64 = 0.9;

impl KitOnPaint {
    /// Standard deviation of the logarithm of the removal coefficient \[1\].
    #[must_use]
    pub fn ln_sd(&self) -> f64 {
        self.pairing.preston_ln_sd()
    }

    /// Marks left on `paint` at a mean pressure \[Pa\]; `None` without a known grain.
    ///
    /// # Errors
    /// As [`Abrading::new`].
    pub fn marks(&self, pressure_pa: f64, paint: &Paint) -> Result<Option<Marks>, RangeError> {
        let Some((grain, face)) = self.grain else { return Ok(None) };
        let rotary = matches!(self.tool.drive(), Drive::Rotary { .. });
        Abrading::new(grain, Pressure::from_pa(pressure_pa), face, paint.hardness())?
            .with_anisotropy(if rotary { ROTARY_ANISOTROPY } else { 0.0 })?
            .marks()
            .map(Some)
    }

    /// Rates tried \[rad/s\], ascending; the one rate there is of a tool without a range.
    #[must_use]
    pub fn rates(&self, count: usize) -> Vec<f64> {
        let (low, high) = self.tool.rate_range();
        let (low, high) = (low.rad_s(), high.rad_s());
        if matches!(self.tool.drive(), Drive::Rotary { .. }) || high <= low {
            return vec![self.tool.rate().rad_s()];
        }
        if let Some(scale) = self.tool.speed_scale() {
            let within = |r: &f64| *r >= low * (1.0 - 1e-9) && *r <= high * (1.0 + 1e-9);
            let all: Vec<f64> = scale
                .settings()
                .iter()
                .filter_map(|s| scale.rate_at(*s).ok())
                .map(AngularRate::rad_s)
                .filter(within)
                .collect();
            if all.len() > count && count > 1 {
                return (0..count).map(|i| all[i * (all.len() - 1) / (count - 1)]).collect();
            }
            if !all.is_empty() {
                return all;
            }
        }
        evenly((low, high), count)
    }
}

/// `count` values from one end to the other; the middle for one.
pub(super) fn evenly((low, high): (f64, f64), count: usize) -> Vec<f64> {
    if count < 2 || high <= low {
        return vec![0.5 * (low + high)];
    }
    (0..count).map(|i| low + (high - low) * i as f64 / (count - 1) as f64).collect()
}

/// A rate and force at which the kit works on the zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// Orbit rate \[rad/s\].
    pub rate: f64,
    /// Force on the face, N.
    pub force_n: f64,
    /// Spin \[rad/s\].
    pub spin: f64,
    /// Spin with the bearing at its slackest \[rad/s\].
    pub least_spin: f64,
    /// Whether the pad turns even then.
    pub sure: bool,
    /// Volume removed per second, m³/s.
    pub volume_rate_m3_s: f64,
    /// Friction power, W.
    pub friction_w: f64,
    /// Mean pressure on the face, Pa.
    pub pressure_pa: f64,
}

/// What a grid came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Tried {
    /// Points at which the pad works.
    pub settings: Vec<Setting>,
    /// The nearest miss: its limit, its rate \[rad/s\] and force \[N\]; `None` where nothing missed.
    pub nearest: Option<(Limit, f64, f64)>,
}

/// One point of the grid: works, or misses a limit.
fn point(kit: &KitOnPaint, setup: &Setup, useful: f64) -> Result<Result<Setting, Limit>, crate::Error> {
    let beyond =
        |name, value: f64, limit: f64, unit| Limit { name, value, limit, margin: (limit - value) / limit, unit };
    let run = match spin_state(setup, setup.patch(), &ContactSettings::default()) {
        Ok(run) => run,
        Err(ContactError::BottomsOut(b)) => {
            return Ok(Err(beyond("pad_compression", b.force_n, b.fitting_force_n, "N")));
        }
        Err(ContactError::ForceTooLarge { force_n, limit_n }) => {
            return Ok(Err(beyond("pad_compression", force_n, limit_n, "N")));
        }
        Err(e) => return Err(e.into()),
    };
    if run.sticks {
        let pull = setup.pad().shear_stiffness() * 0.5 * setup.tool().throw().m();
        return Ok(Err(beyond("face_sticks", setup.friction_n(), pull, "N")));
    }
    let least_spin = spin_with_drag(setup, &run, kit.drag_range.0).map_or(run.spin, |s| s.min(run.spin));
    if setup.stalls_at(run.spin, useful) {
        let rpm = |s: f64| AngularRate::from_rad_s(s).rpm();
        let (value, limit) = (rpm(run.spin), rpm(useful));
        return Ok(Err(Limit { name: "spin", value, limit, margin: (value - limit) / limit, unit: "rpm" }));
    }
    let friction_w = setup.product().friction() * run.sums.speed_w;
    if let Some(motor) = setup.tool().motor() {
        let slip = setup.tool().rate().rad_s() - run.spin;
        let spindle = setup.spindle_drag().map_or(0.0, |d| d.spindle_torque(slip, SLIP_SCALE) * slip);
        let (watts, most) = (friction_w + spindle, motor.available().w());
        if watts > most {
            return Ok(Err(beyond("motor_power", watts, most, "W")));
        }
    }
    Ok(Ok(Setting {
        rate: setup.tool().rate().rad_s(),
        force_n: setup.force().n(),
        spin: run.spin,
        least_spin,
        sure: !setup.stalls_at(least_spin, useful),
        volume_rate_m3_s: volume_rate(setup.product().preston_per_pa(), &run.sums),
        friction_w,
        pressure_pa: run.contact.mean_pressure_pa,
    }))
}

/// Tries the grid of a kit on a patch; `useful` is the least useful spin \[rad/s\].
///
/// # Assumptions and valid range
/// Held square, steady, the feed left out of the sliding speed. Where the pad stalls, sticks, bottoms out or
/// overloads the motor the point is left out; a setting is `sure` where the pad turns at the low end of the
/// kit's bearing drag as well.
///
/// # Accuracy
/// That of [`spin_state`] at each point.
///
/// # Errors
/// A set-up that cannot be made, or a contact that does not converge.
///
/// # Example
/// ```
/// use trochoid::equipment::Pairing;
/// use trochoid::plan::vehicle::{Grid, KitOnPaint, Operator, settings_on};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let pairing = Pairing::new(Product::new(0.35, 2e-11)?, 0.2)?;
/// let kit = KitOnPaint { tool, pad, pairing, grain: None, drag_range: (0.5, 2.0) };
/// let grid = Grid { rates: 1, forces: 2, feeds: 1 };
/// let tried = settings_on(&kit, &Patch::flat(), &Operator::default(), &grid, 6.28)?;
/// // The tool's one rate with the hand's 20 and 50 N: k_p N eΩ = 2e-11 × 20 × 3.299 = 1.319 mm³/s, and 2.5 times
/// // that.
/// let rates: Vec<f64> = tried.settings.iter().map(|s| s.volume_rate_m3_s * 1e9).collect();
/// assert!(rates.len() == 2 && (rates[0] - 1.319).abs() < 1e-3 && (rates[1] / rates[0] - 2.5).abs() < 1e-6);
/// # Ok(())
/// # }
/// ```
pub fn settings_on(
    kit: &KitOnPaint,
    patch: &Patch,
    operator: &Operator,
    grid: &Grid,
    useful: f64,
) -> Result<Tried, crate::Error> {
    let mut out = Tried { settings: Vec::new(), nearest: None };
    for rate in kit.rates(grid.rates) {
        let rated =
            if rate > 0.0 { kit.tool.clone().at_rate(AngularRate::from_rad_s(rate))? } else { kit.tool.clone() };
        for force in evenly(operator.force_n(), grid.forces) {
            let setup =
                Setup::new(rated.clone(), kit.pad.clone(), kit.pairing.product(), *patch, Force::from_n(force))?;
            match point(kit, &setup, useful)? {
                Ok(s) => out.settings.push(s),
                Err(miss) => {
                    if out.nearest.as_ref().is_none_or(|(l, ..)| miss.margin > l.margin) {
                        out.nearest = Some((miss, rate, force));
                    }
                }
            }
        }
    }
    Ok(out)
}
