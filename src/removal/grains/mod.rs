//! Grain simulation: every grain of a pad that orbits, turns and travels, step by step in time.
//!
//! ```text
//! x_i(t) = x_tool(t) + e_f r̂(Ωt) + R(ωt) ρ_i          place of grain i [m]
//! v_i(t) = ẋ_tool + e_f Ω θ̂(Ωt) + ω ẑ × R(ωt) ρ_i     its sliding velocity, feed included [m/s]
//! ∫ p|v| dt at a cell ≈ (A/N) Σ p_i |v_i| Δt / a       A face area, N grains, a cell area [J/m²]
//! ```
//!
//! This is the obvious method beside the footprint of [`super::deposit`]: it averages nothing, so it
//! shows what averages hide (gaps under a stalled pad, marks, direction), and costs a deposit for every
//! grain and step. Pressure is the contact's own field; it does not answer to the single grain. Spin and
//! orbit rate are constant.
//!
//! Not here: the transient of the spin, the shape and wear of grains.

mod agreement;
mod kernel;
mod layout;
mod press;
pub mod reference;
mod slices;
mod travel;

pub use agreement::{Agreement, agreement, smoothed, touched_share};
pub use layout::{Grains, MAX_GRAINS};
pub use travel::Travel;

use super::field::{Field, Grid};
use super::swept::Quantity;
use crate::contact::Contact;
use crate::error::RangeError;
use crate::panel::Patch;
use crate::spin::{Setup, SpinState};
use core::f64::consts::TAU;
use press::Press;
use slices::{Cutting, Deposited, Moving, Sums, cut, deposit_in};
use travel::Clock;

/// Most deposits (grains times steps) of one simulation: an hour or so of work.
pub const MAX_DEPOSITS: f64 = 4e12;

/// Precision of places, speeds and of the sums of one slice of time; slices are always put together in
/// double precision.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Precision {
    /// 53 bits.
    #[default]
    Double,
    /// 24 bits: a place errs by up to 1e-4 of a cell, a cell's sum by about 1e-6.
    Single,
}

/// Numerical knobs of the grain simulation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrainSettings {
    /// Steps an orbit \[1\] (a turn of the pad where that is the faster), 8 to a million; 64 unless set.
    pub steps_per_orbit: f64,
    /// Longest step \[s\], in place of the above; at most an eighth of an orbit. `None` unless set.
    pub step_s: Option<f64>,
    /// Precision of the deposits; double unless set.
    pub precision: Precision,
    /// Most memory for fields and windows \[bytes\]; 512 MiB unless set.
    pub memory_bytes: f64,
}

impl Default for GrainSettings {
    fn default() -> Self {
        Self {
            steps_per_orbit: 64.0,
            step_s: None,
            precision: Precision::Double,
            memory_bytes: 512.0 * 1024.0 * 1024.0,
        }
    }
}

/// A running pad with its grains, over a grid.
#[derive(Debug, Clone, Copy)]
pub struct GrainCase<'a> {
    /// The solved contact; its face gives the orbit radius e_f at the face, after the shear of the pad.
    pub contact: &'a Contact,
    /// The patch that it was solved on.
    pub patch: &'a Patch,
    /// Orbit rate Ω \[rad/s\]; 0 for a rotary pad.
    pub rate_rad_s: f64,
    /// Spin ω \[rad/s\]: given, geared, or that of the torque balance.
    pub spin_rad_s: f64,
    /// Phase of the orbit and turn of the pad at the start \[rad\].
    pub start_rad: (f64, f64),
    /// The grains.
    pub grains: &'a Grains,
    /// What the tool axis does.
    pub travel: Travel<'a>,
    /// The grid, over the panel's rectangle.
    pub grid: Grid,
}

impl<'a> GrainCase<'a> {
    /// The pad of `setup` running as `state` says: spin from the torque balance, geared or rotary. A face
    /// that sticks does not orbit.
    #[must_use]
    pub fn of(setup: &'a Setup, state: &'a SpinState, grains: &'a Grains, travel: Travel<'a>, grid: Grid) -> Self {
        Self {
            contact: &state.contact,
            patch: setup.patch(),
            rate_rad_s: if state.sticks { 0.0 } else { setup.tool().rate().rad_s() },
            spin_rad_s: state.spin,
            start_rad: (0.0, 0.0),
            grains,
            travel,
            grid,
        }
    }
}

/// What a simulation took, and what fell where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrainRun {
    /// Grains.
    pub grains: usize,
    /// Steps.
    pub steps: usize,
    /// Step \[s\].
    pub step_s: f64,
    /// Longest way of a grain in one step \[m\]: deposits of one grain lie that far apart at most. A trace
    /// is closed on the grid where this is well below the cell.
    pub stride_m: f64,
    /// Time of the work \[s\].
    pub time_s: f64,
    /// Memory of fields and windows \[bytes\].
    pub memory_bytes: f64,
    /// ∫ of the quantity (the work where all are summed) over the panel and past its edge: \[J\] for the
    /// work, \[m³\] for the slide, \[m²·s\] for the dwell.
    pub total: f64,
    /// The part of `total` that fell past the panel's edge \[as `total`\].
    pub spill: f64,
}

/// One quantity on the grid.
#[derive(Debug, Clone, PartialEq)]
pub struct GrainMap {
    /// The grid.
    pub grid: Grid,
    /// Row by row from y = 0, in the unit of the quantity: \[J/m²\], \[m\] or \[s\].
    pub values: Vec<f64>,
    /// What it took.
    pub run: GrainRun,
}

/// Every sum on the grid, row by row from y = 0.
#[derive(Debug, Clone, PartialEq)]
pub struct GrainFields {
    /// The grid.
    pub grid: Grid,
    /// ∫ p|v| dt \[J/m²\].
    pub work: Vec<f64>,
    /// ∫ |v| dt while pressed \[m\]; times the grains in action per square metre it is the coverage.
    pub slide: Vec<f64>,
    /// Time pressed \[s\].
    pub dwell: Vec<f64>,
    /// ∫ p|v| cos 2φ dt, φ the direction of sliding from x \[J/m²\].
    pub cos2: Vec<f64>,
    /// ∫ p|v| sin 2φ dt \[J/m²\].
    pub sin2: Vec<f64>,
    /// What it took.
    pub run: GrainRun,
}

/// A case that has been checked and cut into slices.
struct Prepared<'a> {
    case: &'a GrainCase<'a>,
    moving: Moving<'a>,
    press: Press<'a>,
    cutting: Cutting,
    stride: f64,
}

fn prepare<'a>(case: &'a GrainCase<'a>, settings: &GrainSettings, sums: Sums) -> Result<Prepared<'a>, RangeError> {
    let press = Press::new(case.contact, case.patch, case.grains)?;
    let clock = Clock::new(case.travel)?;
    let (rate, spin) = (case.rate_rad_s, case.spin_rad_s);
    for (what, v) in
        [("orbit rate", rate), ("spin", spin), ("start phase", case.start_rad.0), ("start turn", case.start_rad.1)]
    {
        crate::equipment::within(what, v, -1e5, 1e5, "rad/s or rad")?;
    }
    let fastest = rate.abs().max(spin.abs());
    if fastest <= 0.0 {
        return Err(RangeError::new("orbit rate", 0.0, "rad/s", "above 0, or a pad that turns"));
    }
    let orbit_time = TAU / fastest;
    let longest = match settings.step_s {
        Some(step) if step > 0.0 && step <= orbit_time / 8.0 => step,
        Some(step) => {
            return Err(RangeError::new(
                "step_s",
                step,
                "s",
                format!("above 0, at most {:.3e} s, an eighth of an orbit", orbit_time / 8.0),
            ));
        }
        None => {
            crate::equipment::within("steps_per_orbit", settings.steps_per_orbit, 8.0, 1e6, "")?;
            orbit_time / settings.steps_per_orbit
        }
    };
    let face = *press.face();
    let (nx, ny) = case.grid.count();
    let (dx, dy) = case.grid.cell();
    let reach = face.reach();
    for (what, at, size) in
        clock.corners().iter().flat_map(|c| [("path's x", c.0, nx as f64 * dx), ("path's y", c.1, ny as f64 * dy)])
    {
        if !(at >= -reach && at <= size + reach) {
            return Err(RangeError::new(
                what,
                at * 1e3,
                "mm",
                format!("{:.1} to {:.1} mm, where the pad still touches the panel", -reach * 1e3, (size + reach) * 1e3),
            ));
        }
    }
    let steps = (clock.time() / longest - 1e-9).ceil().max(1.0);
    let deposits = steps * case.grains.len() as f64;
    if deposits > MAX_DEPOSITS {
        return Err(RangeError::new(
            "grains times steps",
            deposits,
            "",
            format!("at most {MAX_DEPOSITS:.0e}: fewer grains, a longer step or less time"),
        ));
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive, bounded just above
    let steps = steps as usize;
    let step_s = clock.time() / steps as f64;
    let feed = clock.fastest();
    let stride = (face.orbit() * rate.abs() + face.radius() * spin.abs() + feed) * step_s;
    let bytes_a_value = if settings.precision == Precision::Single { 4.0 } else { 8.0 };
    let allowed = settings.memory_bytes;
    let cutting =
        cut(&case.grid, (steps, step_s), case.grains.len(), (reach, feed), (sums.count(), bytes_a_value, allowed))
            .map_err(|bytes| {
                RangeError::new(
                    "memory of the grain simulation",
                    bytes / 1_048_576.0,
                    "MiB",
                    format!("at most {:.0} MiB: larger cells or a smaller panel", allowed / 1_048_576.0),
                )
            })?;
    let moving = Moving { clock, orbit: face.orbit(), rate, spin, start: case.start_rad };
    Ok(Prepared { case, moving, press, cutting, stride })
}

impl Prepared<'_> {
    fn deposit(&self, precision: Precision, sums: Sums) -> Deposited {
        let parts = (&self.moving, &self.press, self.case.grains, &self.case.grid);
        match precision {
            Precision::Double => deposit_in::<f64, 32>(parts, &self.cutting, sums, 256),
            Precision::Single if matches!(sums, Sums::One(_)) => {
                deposit_in::<f32, 512>(parts, &self.cutting, sums, 512)
            }
            Precision::Single => deposit_in::<f32, 64>(parts, &self.cutting, sums, 256),
        }
    }

    /// What one deposit of 1 means at a cell: its time, times the face area a grain stands for, over the
    /// cell's area.
    fn unit(&self) -> f64 {
        self.cutting.step_s * self.press.face().area() / self.case.grains.len() as f64 / self.case.grid.cell_area()
    }

    fn run(&self, total: f64, inside: f64) -> GrainRun {
        let area = self.case.grid.cell_area();
        GrainRun {
            grains: self.case.grains.len(),
            steps: self.cutting.steps,
            step_s: self.cutting.step_s,
            stride_m: self.stride,
            time_s: self.moving.clock.time(),
            memory_bytes: self.cutting.bytes,
            total: total * area,
            spill: (total - inside) * area,
        }
    }
}

/// Deposits one quantity of every grain.
///
/// ```text
/// D(cell) = (A/N)/a Σ d_i(t_k) Δt      d = p|v| [W/m²], |v| [m/s] or 1 while pressed
/// A face area [m²], N grains, a cell area [m²], Δt step [s], sum over the grains and steps in the cell
/// ```
///
/// # Assumptions and valid range
/// Spin and orbit rate constant; pressure that of the contact, not that of the single grain.
///
/// # Accuracy
/// Steps are midpoints: the sums over whole orbits converge faster than any power of the step, while a
/// deposit lies up to half a stride from where it belongs, so that the map is blurred by
/// (stride/L)²/24 of its value over a length L. Grains are a sample: see [`Grains::random`].
/// The same bits for any number of threads; other bits on another processor build (fused additions).
///
/// # Memory
/// The field twice and up to 32 windows just larger than the pad, fewer where that would pass
/// [`GrainSettings::memory_bytes`]; reported in the result.
///
/// # Errors
/// No time; a step longer than an eighth of an orbit; a path that leaves the panel by more than the pad's
/// reach; more than [`MAX_DEPOSITS`]; more memory than allowed; heights on a tilted pad.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::math::random::Seed;
/// use trochoid::motion::Face;
/// use trochoid::removal::{GrainCase, GrainSettings, Grains, Grid, Quantity, Travel, grain_fields, grain_quantity};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let patch = Patch::flat();
/// # let contact = solve(&pad, &patch, 9e-3, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// let grains = Grains::random(&Face::new(&pad, 9e-3), 100, Seed::new(1))?;
/// let case = GrainCase {
///     contact: &contact,
///     patch: &patch,
///     rate_rad_s: 500.0,
///     spin_rad_s: 0.0,
///     start_rad: (0.0, 0.0),
///     grains: &grains,
///     travel: Travel::Standing { at: (0.1, 0.1), seconds: 10.0 * core::f64::consts::TAU / 500.0 },
///     grid: Grid::over((0.2, 0.2), 1e-3)?,
/// };
/// // Every grain slides at eΩ = 4.5 m/s: 40 N × 4.5 m/s × 0.12566 s = 22.62 J, none of it past the edge.
/// let map = grain_quantity(&case, Quantity::Work, &GrainSettings::default())?;
/// assert!((map.run.total - 22.62).abs() < 1e-2 && map.run.spill.abs() < 1e-9);
/// // In circles: no direction is preferred.
/// let fields = grain_fields(&case, &GrainSettings::default())?;
/// assert!(fields.orientation_in((0.0, 0.0), (0.2, 0.2)).is_some_and(|o| o.anisotropy < 1e-9));
/// # Ok(())
/// # }
/// ```
pub fn grain_quantity(
    case: &GrainCase<'_>,
    quantity: Quantity,
    settings: &GrainSettings,
) -> Result<GrainMap, RangeError> {
    let sums = Sums::One(quantity);
    let prepared = prepare(case, settings, sums)?;
    let Deposited { mut values, totals } = prepared.deposit(settings.precision, sums);
    let pressure = match (quantity, prepared.press.uniform()) {
        // The plain kernel leaves out a pressure that is the same for all.
        (Quantity::Work, Some(p)) => p,
        _ => 1.0,
    };
    let unit = prepared.unit() * pressure;
    let mut inside = 0.0;
    for v in &mut values {
        *v *= unit;
        inside += *v;
    }
    let run = prepared.run(totals[0] * unit, inside);
    Ok(GrainMap { grid: case.grid, values, run })
}

/// Deposits work, slide, dwell and the direction of the work of every grain.
///
/// Accuracy and memory as [`grain_quantity`], with five fields in place of one. See the example of
/// [`grain_quantity`].
///
/// # Errors
/// As [`grain_quantity`].
pub fn grain_fields(case: &GrainCase<'_>, settings: &GrainSettings) -> Result<GrainFields, RangeError> {
    let prepared = prepare(case, settings, Sums::Every)?;
    let Deposited { values, totals } = prepared.deposit(settings.precision, Sums::Every);
    let unit = prepared.unit();
    let field = |k: usize| values.iter().skip(k).step_by(kernel::SUMS).map(|v| v * unit).collect::<Vec<f64>>();
    let work = field(0);
    let run = prepared.run(totals[0] * unit, work.iter().sum());
    Ok(GrainFields { grid: case.grid, work, slide: field(1), dwell: field(2), cos2: field(3), sin2: field(4), run })
}

impl GrainFields {
    /// Work, slide and dwell as a field of a panel map; pass counts and peak pressure, which a simulation
    /// does not tell, stay zero.
    #[must_use]
    pub fn to_field(&self) -> Field {
        let mut field = Field::zero(self.grid);
        field.work.clone_from(&self.work);
        field.slide.clone_from(&self.slide);
        field.dwell.clone_from(&self.dwell);
        field
    }
}
