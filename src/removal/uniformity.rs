//! A worked panel: fields, statistics inside the worked mask, volume balance.

use super::deposit::deposit;
use super::field::{Field, FieldError, Grid, MAX_VISITS};
use super::footprint::Footprint;
use super::preston::volume_rate;
use super::spill::share_inside;
use crate::math::statistics::Summary;
use crate::motion::ToolPath;
use crate::panel::Panel;
use crate::spin::{Setup, SpinState};

/// Statistics of one field inside the worked mask, in the unit of the field.
pub type FieldSummary = Summary;

/// Which cells statistics are taken over.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Mask {
    /// The rectangle inset by R + e_f on each side: what the pad covers on every side.
    Worked,
    /// Every cell of the panel.
    Panel,
    /// A rectangle between two corners.
    Rectangle {
        /// Lower corner \[m\].
        from: (f64, f64),
        /// Upper corner \[m\].
        to: (f64, f64),
    },
}

/// The result of working a panel along a path.
#[derive(Debug, Clone)]
pub struct PanelMap {
    /// Sums over the panel.
    pub field: Field,
    /// Preston coefficient k_p, 1/Pa.
    pub preston_per_pa: f64,
    /// Friction coefficient μ \[1\]: friction work per area is μ times the work field.
    pub friction: f64,
    /// Spin of the pad \[rad/s\]; the same all over a panel of constant curvature.
    pub spin_rad_s: f64,
    /// Grains in action per square metre of face \[1/m²\].
    pub grains_per_m2: f64,
    /// The path worked.
    pub path: ToolPath,
    /// Inset of the worked mask from the panel's edges \[m\].
    pub inset_m: f64,
    /// Widest strip between neighbouring pass lines that the pad does not touch \[m\]; 0 where the lines
    /// meet or overlap.
    pub gap_m: f64,
    /// Everything that the pad removed \[m³\], whether on the panel or past its edge.
    pub volume_m3: f64,
    /// What fell past the panel's edge \[m³\].
    pub spill_m3: f64,
    /// Cut inside the mask, m.
    pub cut: Option<FieldSummary>,
    /// Sliding length inside the mask, m.
    pub slide: Option<FieldSummary>,
    /// Dwell inside the mask, s.
    pub dwell: Option<FieldSummary>,
}

/// Works `panel` along `path` with the pad of `setup` running as `state` says, on cells of at most
/// `cell` \[m\].
///
/// The worked mask is the rectangle inset by R + e_f on each side; statistics are `None` where
/// nothing is left of it.
///
/// # Assumptions and valid range
/// The panel is unrolled; the spin is the same all over; cut in proportion to time. Sums are exact along
/// straight legs, without a time step.
///
/// # Accuracy
/// Values at cell centres to 1e-4 of the peak; the volume is that of the sums, not of the cells.
///
/// # Errors
/// As [`Grid::over`]; [`FieldError::TooMuchWork`] above [`MAX_VISITS`] pairs of cell and leg.
///
/// # Example
/// ```
/// use trochoid::contact::ContactSettings;
/// use trochoid::motion::{Pattern, ToolPath};
/// use trochoid::removal::{PanelMap, panel_map};
/// use trochoid::spin::spin_state;
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.02)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let run = spin_state(&setup, setup.patch(), &ContactSettings::default())?;
/// let panel = Panel::new(Patch::flat(), Length::from_mm(400.0), Length::from_mm(400.0))?;
/// let path = ToolPath::over_rectangle((0.4, 0.4), Pattern::Raster, 1, 0.1, 0.04)?;
/// let map = panel_map(&setup, &run, &panel, path, 5e-3)?;
/// // 2e-11 × 35 N × 3.30 m/s for 60 s: 139 mm³ (a little more, because the pad turns too).
/// assert!((map.volume_m3 * 1e9 - 138.6).abs() < 1.0 && map.spill_m3 > 0.0);
/// // Worked twice, all of it doubles.
/// let twice = PanelMap::sum(&[map.clone(), map.clone()], 0, map.path.clone());
/// assert!(twice.is_some_and(|t| (t.volume_m3 / map.volume_m3 - 2.0).abs() < 1e-12));
/// # Ok(())
/// # }
/// ```
pub fn panel_map(
    setup: &Setup,
    state: &SpinState,
    panel: &Panel,
    path: ToolPath,
    cell: f64,
) -> Result<PanelMap, crate::Error> {
    let size = (panel.length().m(), panel.width().m());
    let grid = Grid::over(size, cell)?;
    let visits = (grid.count().0 * grid.count().1) as f64 * path.legs().len() as f64;
    if visits > MAX_VISITS {
        return Err(FieldError::TooMuchWork { visits }.into());
    }
    let preston = setup.product().preston_per_pa();
    let reach = setup.pad().radius() + state.face_orbit_m;
    let volume = volume_rate(preston, &state.sums) * path.time();
    let (field, on_panel, gap) = if state.sticks {
        (Field::zero(grid), 0.0, 0.0)
    } else {
        let footprint = Footprint::new(&state.contact, panel.patch(), setup.tool().rate().rad_s(), state.spin);
        let gap = widest_gap(&footprint, &path);
        (deposit(&footprint, &path, grid), volume * share_inside(&footprint, &path, size), gap)
    };
    let map = PanelMap {
        field,
        preston_per_pa: preston,
        friction: setup.product().friction(),
        spin_rad_s: state.spin,
        grains_per_m2: setup.pad().grains_per_m2(),
        path,
        inset_m: reach,
        gap_m: gap,
        volume_m3: volume,
        spill_m3: volume - on_panel,
        cut: None,
        slide: None,
        dwell: None,
    };
    Ok(map.with_statistics())
}

/// Widest untouched strip over the passes of a path; passes that run along x come first, as the
/// path builder makes them.
fn widest_gap(footprint: &Footprint, path: &ToolPath) -> f64 {
    let mut widest: f64 = 0.0;
    for (pass, spacing) in path.spacing().iter().enumerate() {
        let along =
            path.legs().iter().find(|l| l.pass == pass).map_or(0.0, |l| (l.to.1 - l.from.1).atan2(l.to.0 - l.from.0));
        widest = widest.max(spacing - 2.0 * footprint.half_width(along));
    }
    widest.max(0.0)
}

impl PanelMap {
    /// Takes the statistics inside the worked mask anew.
    pub(super) fn with_statistics(mut self) -> Self {
        self.cut = self.statistics(&self.field.work, self.preston_per_pa, Mask::Worked);
        self.slide = self.statistics(&self.field.slide, 1.0, Mask::Worked);
        self.dwell = self.statistics(&self.field.dwell, 1.0, Mask::Worked);
        self
    }

    /// Statistics of `values` (one a cell) times `factor` over a mask, in the unit of their product; `None`
    /// where it holds no cell centre.
    #[must_use]
    pub fn statistics(&self, values: &[f64], factor: f64, mask: Mask) -> Option<FieldSummary> {
        let grid = &self.field.grid;
        let ((nx, ny), (dx, dy)) = (grid.count(), grid.cell());
        let size = (nx as f64 * dx, ny as f64 * dy);
        let (from, to) = match mask {
            Mask::Worked => ((self.inset_m, self.inset_m), (size.0 - self.inset_m, size.1 - self.inset_m)),
            Mask::Panel => ((0.0, 0.0), size),
            Mask::Rectangle { from, to } => (from, to),
        };
        let mut inside = Vec::new();
        for j in 0..ny {
            for i in 0..nx {
                let (x, y) = grid.centre(i, j);
                if x >= from.0 && x <= to.0 && y >= from.1 && y <= to.1 {
                    inside.push(factor * values[j * nx + i]);
                }
            }
        }
        Summary::of(&inside)
    }
}
