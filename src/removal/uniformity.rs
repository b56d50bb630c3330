//! A worked panel: fields, statistics inside the worked mask, volume balance.

use super::deposit::deposit;
use super::field::{Field, Grid};
use super::footprint::Footprint;
use super::preston::volume_rate;
use super::spill::share_inside;
use crate::math::statistics::Summary;
use crate::motion::ToolPath;
use crate::panel::Panel;
use crate::spin::{Setup, SpinState};

/// Statistics of one field inside the worked mask.
pub type FieldSummary = Summary;

/// The result of working a panel along a path.
#[derive(Debug, Clone)]
pub struct PanelMap {
    /// Sums over the panel.
    pub field: Field,
    /// Preston coefficient k_p, 1/Pa.
    pub preston_per_pa: f64,
    /// Grains in action per square metre of face.
    pub grains_per_m2: f64,
    /// The path worked.
    pub path: ToolPath,
    /// Inset of the worked mask from the panel's edges, m.
    pub inset_m: f64,
    /// Everything that the pad removed, m³, whether on the panel or past its edge.
    pub volume_m3: f64,
    /// What fell past the panel's edge, m³.
    pub spill_m3: f64,
    /// Cut inside the mask, m.
    pub cut: Option<FieldSummary>,
    /// Sliding length inside the mask, m.
    pub slide: Option<FieldSummary>,
    /// Dwell inside the mask, s.
    pub dwell: Option<FieldSummary>,
}

/// Works `panel` along `path` with the pad of `setup` running as `state` says, on cells of at most
/// `cell` [m].
///
/// The worked mask is the rectangle inset by R + e_f on each side; statistics are `None` where
/// nothing is left of it.
///
/// # Errors
/// As [`Grid::over`].
pub fn panel_map(
    setup: &Setup,
    state: &SpinState,
    panel: &Panel,
    path: ToolPath,
    cell: f64,
) -> Result<PanelMap, crate::Error> {
    let size = (panel.length().m(), panel.width().m());
    let grid = Grid::over(size, cell)?;
    let preston = setup.product().preston_per_pa();
    let reach = setup.pad().radius() + state.face_orbit_m;
    let volume = volume_rate(preston, &state.sums) * path.time();
    let (field, on_panel) = if state.sticks {
        (Field::zero(grid), 0.0)
    } else {
        let footprint = Footprint::new(&state.contact, panel.patch(), setup.tool().rate().rad_s(), state.spin);
        (deposit(&footprint, &path, grid), volume * share_inside(&footprint, &path, size))
    };
    let pick = |values: &[f64], factor: f64| {
        let inside: Vec<f64> = inside(&grid, size, reach).map(|i| factor * values[i]).collect();
        Summary::of(&inside)
    };
    let (cut, slide, dwell) = (pick(&field.work, preston), pick(&field.slide, 1.0), pick(&field.dwell, 1.0));
    Ok(PanelMap {
        field,
        preston_per_pa: preston,
        grains_per_m2: setup.pad().grains_per_m2(),
        path,
        inset_m: reach,
        volume_m3: volume,
        spill_m3: volume - on_panel,
        cut,
        slide,
        dwell,
    })
}

/// Cells whose centre lies inside the rectangle inset by `inset`.
fn inside(grid: &Grid, size: (f64, f64), inset: f64) -> impl Iterator<Item = usize> {
    let grid = *grid;
    let (nx, ny) = grid.count();
    (0..ny).flat_map(move |j| {
        (0..nx).filter_map(move |i| {
            let (x, y) = grid.centre(i, j);
            (x >= inset && x <= size.0 - inset && y >= inset && y <= size.1 - inset).then_some(j * nx + i)
        })
    })
}
