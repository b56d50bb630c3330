//! A worked real panel: sums and areas of its cells, what was removed, and what is read from them.
//!
//! Not the work itself, which is done in [`super::work_surface`].

use super::surface::{SurfaceField, SurfaceGrid, WorkedStop};
use crate::math::statistics::Summary;
use crate::spin::PlaceState;

/// The result of working a panel.
#[derive(Debug, Clone)]
pub struct SurfaceMap {
    /// The cells.
    pub grid: SurfaceGrid,
    /// The sums.
    pub field: SurfaceField,
    /// Area of the panel in each cell, on the surface \[m²\]; zero off the panel.
    pub area: Vec<f64>,
    /// Distance to the nearest free edge \[m\].
    pub edge: Vec<f64>,
    /// Distance to the nearest edge, tape line or border of the work region \[m\]; positive where the
    /// panel is to be worked.
    pub clearance: Vec<f64>,
    /// Whether the cell is under tape.
    pub taped: Vec<bool>,
    /// Preston coefficient k_p, 1/Pa.
    pub preston_per_pa: f64,
    /// Grains in action per square metre of face \[1/m²\].
    pub grains_per_m2: f64,
    /// Useful minimum of the spin \[rad/s\].
    pub useful_spin: f64,
    /// Whether the spin is driven (geared or rotary): such a pad cannot stall short of sticking.
    pub driven: bool,
    /// Distance from the tool axis beyond which nothing is touched, at the step's force \[m\].
    pub reach_m: f64,
    /// Everything removed by the stops' own contact sums \[m³\].
    pub volume_m3: f64,
    /// What the tape took of it \[m³\].
    pub tape_m3: f64,
    /// The stops in order.
    pub stops: Vec<WorkedStop>,
}

impl SurfaceMap {
    /// Whether a cell counts as paint to be worked: on the panel, not taped, inside the region.
    #[must_use]
    pub fn is_workable(&self, cell: usize) -> bool {
        self.area[cell] > 0.0 && !self.taped[cell] && self.clearance[cell] >= 0.0
    }

    /// Statistics of `value` over the workable cells that fulfil `keep`, weighted with their area, in the
    /// unit of the value; `None` where there are none.
    #[must_use]
    pub fn statistics(&self, keep: impl Fn(usize) -> bool, value: impl Fn(usize) -> f64) -> Option<Summary> {
        let chosen: Vec<(f64, f64)> = (0..self.grid.len())
            .filter(|k| self.is_workable(*k) && keep(*k))
            .map(|k| (value(k), self.area[k]))
            .collect();
        Summary::weighted(&chosen)
    }

    /// Cut at a cell \[m\].
    #[must_use]
    pub fn cut(&self, cell: usize) -> f64 {
        self.preston_per_pa * self.field.work[cell]
    }

    /// Share of the workable area that the pad touched \[1\]. See the example of [`super::work_surface`].
    #[must_use]
    pub fn covered_share(&self) -> f64 {
        let (mut touched, mut whole) = (0.0, 0.0);
        for k in (0..self.grid.len()).filter(|k| self.is_workable(*k)) {
            whole += self.area[k];
            touched += if self.field.dwell[k] > 0.0 { self.area[k] } else { 0.0 };
        }
        if whole > 0.0 { touched / whole } else { 0.0 }
    }

    /// Share of the pad-on time during which the pad was stalled \[1\]. See the example of [`super::work_surface`].
    #[must_use]
    pub fn stalled_share(&self) -> f64 {
        let (mut stalled, mut whole) = (0.0, 0.0);
        for s in &self.stops {
            if let Some(state) = s.state {
                whole += s.stop.time_s;
                stalled += if self.is_stalled(&state) { s.stop.time_s } else { 0.0 };
            }
        }
        if whole > 0.0 { stalled / whole } else { 0.0 }
    }

    /// Whether a free pad is below the useful spin, or the face sticks, as in [`SurfaceField::stalled`].
    #[must_use]
    pub fn is_stalled(&self, state: &PlaceState) -> bool {
        state.sticks || (!self.driven && state.spin < self.useful_spin)
    }

    /// Volume that the cells hold, m³, tape included.
    #[must_use]
    pub fn volume_on_cells_m3(&self) -> f64 {
        self.preston_per_pa * self.field.work.iter().zip(&self.area).map(|(w, a)| w * a).sum::<f64>()
    }
}
