//! The slow obvious grain simulation: one grain after the other, sines and cosines at every step, no
//! slices, windows or lanes. The fast one is compared with it, and what needs single deposits (a rose of
//! directions) is built on it.

use super::{GrainCase, GrainFields, GrainSettings, Sums, prepare};
use crate::contact::Load;
use crate::error::RangeError;

/// One deposit: a grain at one step of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deposit {
    /// Which grain.
    pub grain: usize,
    /// Time \[s\].
    pub time: f64,
    /// Place on the panel \[m\].
    pub at: (f64, f64),
    /// Sliding velocity \[m/s\].
    pub velocity: (f64, f64),
    /// Pressure \[Pa\]; zero where the grain is lifted.
    pub pressure: f64,
}

/// Calls `f` for every deposit, step by step and grain by grain in the order given, and returns what the
/// simulation would take.
///
/// # Errors
/// As [`super::grain_quantity`].
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::motion::Face;
/// use trochoid::removal::grains::reference::{grain_fields_slow, visit_deposits};
/// use trochoid::removal::{GrainCase, GrainSettings, Grains, Grid, Travel};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let patch = Patch::flat();
/// # let contact = solve(&pad, &patch, 9e-3, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// let grains = Grains::at(&Face::new(&pad, 9e-3), &[(0.0, 0.0), (0.05, 0.0)])?;
/// let orbit = core::f64::consts::TAU / 500.0;
/// let case = GrainCase {
///     contact: &contact,
///     patch: &patch,
///     rate_rad_s: 500.0,
///     spin_rad_s: 0.0,
///     start_rad: (0.0, 0.0),
///     grains: &grains,
///     travel: Travel::Standing { at: (0.1, 0.1), seconds: orbit },
///     grid: Grid::over((0.2, 0.2), 1e-3)?,
/// };
/// // Two grains in 64 steps of one orbit, all at eΩ = 4.5 m/s.
/// let mut count = 0;
/// visit_deposits(&case, &GrainSettings::default(), |d| {
///     assert!((d.velocity.0.hypot(d.velocity.1) - 4.5).abs() < 1e-12);
///     count += 1;
/// })?;
/// assert_eq!(count, 128);
/// // 40 N × 4.5 m/s × 12.566 ms = 2.262 J.
/// assert!((grain_fields_slow(&case, &GrainSettings::default())?.run.total - 2.262).abs() < 1e-3);
/// # Ok(())
/// # }
/// ```
pub fn visit_deposits(
    case: &GrainCase<'_>,
    settings: &GrainSettings,
    mut f: impl FnMut(&Deposit),
) -> Result<super::GrainRun, RangeError> {
    let prepared = prepare(case, settings, Sums::Every)?;
    let (axis_sin, axis_cos) = case.patch.axis().rad().sin_cos();
    for step in 0..prepared.cutting.steps {
        let time = (step as f64 + 0.5) * prepared.cutting.step_s;
        let (tool, feed) = prepared.moving.clock.at(time);
        let (alpha, theta) = (case.start_rad.0 + case.rate_rad_s * time, case.start_rad.1 + case.spin_rad_s * time);
        let e = prepared.press.face().orbit();
        for grain in 0..case.grains.len() {
            let (gx, gy) = case.grains.place(grain);
            let (radius, angle) = (gx.hypot(gy), gy.atan2(gx) + theta);
            // From the tool axis, panel axes.
            let (x, y) = (e * alpha.cos() + radius * angle.cos(), e * alpha.sin() + radius * angle.sin());
            let (orbiting, spinning) = (e * case.rate_rad_s, radius * case.spin_rad_s);
            let velocity = (
                feed.0 - orbiting * alpha.sin() - spinning * angle.sin(),
                feed.1 + orbiting * alpha.cos() + spinning * angle.cos(),
            );
            let pressure = match &case.contact.load {
                Load::Rings(rings) => {
                    let (u, w) = (axis_cos * x + axis_sin * y, axis_cos * y - axis_sin * x);
                    let (k1, k2) = rings.field().curvature();
                    let gap = 0.5 * (k1 * u * u + k2 * w * w);
                    let p = rings.field().pressure_of(rings.field().heave() + case.grains.height(grain) - gap);
                    p.max(0.0) * rings.face().backing(radius)
                }
                Load::Tilted(load) => load.pressure(x, y, alpha),
            };
            f(&Deposit { grain, time, at: (tool.0 + x, tool.1 + y), velocity, pressure });
        }
    }
    Ok(prepared.run(0.0, 0.0))
}

/// Every sum on the grid, by the obvious loop: the reference for [`super::grain_fields`].
///
/// See the example of [`visit_deposits`].
///
/// # Errors
/// As [`super::grain_fields`].
pub fn grain_fields_slow(case: &GrainCase<'_>, settings: &GrainSettings) -> Result<GrainFields, RangeError> {
    let (nx, ny) = case.grid.count();
    let (dx, dy) = case.grid.cell();
    let zero = || vec![0.0; nx * ny];
    let (mut work, mut slide, mut dwell, mut cos2, mut sin2) = (zero(), zero(), zero(), zero(), zero());
    let (mut total, mut inside) = (0.0, 0.0);
    let mut run = visit_deposits(case, settings, |d| {
        let speed = d.velocity.0.hypot(d.velocity.1);
        total += d.pressure * speed;
        let (column, row) = ((d.at.0 / dx).floor(), (d.at.1 / dy).floor());
        if d.pressure <= 0.0 || column < 0.0 || row < 0.0 || column >= nx as f64 || row >= ny as f64 {
            return;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // inside the grid
        let cell = row as usize * nx + column as usize;
        let direction = d.velocity.1.atan2(d.velocity.0);
        inside += d.pressure * speed;
        work[cell] += d.pressure * speed;
        slide[cell] += speed;
        dwell[cell] += 1.0;
        cos2[cell] += d.pressure * speed * (2.0 * direction).cos();
        sin2[cell] += d.pressure * speed * (2.0 * direction).sin();
    })?;
    let prepared = prepare(case, settings, Sums::Every)?;
    let unit = prepared.unit();
    for field in [&mut work, &mut slide, &mut dwell, &mut cos2, &mut sin2] {
        for v in field.iter_mut() {
            *v *= unit;
        }
    }
    let area = case.grid.cell_area();
    (run.total, run.spill) = (total * unit * area, (total - inside) * unit * area);
    Ok(GrainFields { grid: case.grid, work, slide, dwell, cos2, sin2, run })
}
