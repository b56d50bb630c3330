//! Maps of the same panel added up: what several phases of a step leave together.
//!
//! Not a blend: every field is the plain sum of the parts' fields, the peak pressure their largest.

use super::field::Field;
use super::surface::{SurfaceField, WorkedStop};
use super::surface_map::SurfaceMap;
use super::uniformity::PanelMap;
use crate::motion::ToolPath;

fn add(to: &mut [f64], from: &[f64], factor: f64) {
    for (a, b) in to.iter_mut().zip(from) {
        *a += factor * b;
    }
}

fn raise(to: &mut [f64], from: &[f64]) {
    for (a, b) in to.iter_mut().zip(from) {
        *a = a.max(*b);
    }
}

/// Factor that brings the work of a part to the coefficient of the whole.
fn gain(part_preston: f64, preston: f64) -> f64 {
    if preston > 0.0 { part_preston / preston } else { 1.0 }
}

impl PanelMap {
    /// The sum of maps on the same cells, worked one after the other along `path`; coefficient, grains and
    /// spin are those of part `main`. `None` without that part or where the cells differ.
    ///
    /// ```text
    /// W = Σ k_p,i/k_p W_i [J/m²],   slide, dwell and passes added,   peak the largest
    /// μ = Σ μ_i ∫W_i dA / ∫W dA     so that the friction work of the whole panel is kept
    /// ```
    ///
    /// The inset of the worked mask is the largest of the parts'. See the example of [`super::panel_map`].
    #[must_use]
    pub fn sum(parts: &[Self], main: usize, path: ToolPath) -> Option<Self> {
        let chief = parts.get(main)?;
        let grid = chief.field.grid;
        if parts.iter().any(|p| p.field.grid != grid) {
            return None;
        }
        let preston = chief.preston_per_pa;
        let mut field = Field::zero(grid);
        let (mut friction_work, mut work) = (0.0, 0.0);
        for p in parts {
            let gain = gain(p.preston_per_pa, preston);
            add(&mut field.work, &p.field.work, gain);
            add(&mut field.slide, &p.field.slide, 1.0);
            add(&mut field.dwell, &p.field.dwell, 1.0);
            add(&mut field.passes, &p.field.passes, 1.0);
            raise(&mut field.peak, &p.field.peak);
            let own: f64 = p.field.work.iter().sum();
            friction_work += p.friction * own;
            work += gain * own;
        }
        let widest = |f: fn(&Self) -> f64| parts.iter().map(f).fold(0.0, f64::max);
        let map = Self {
            field,
            preston_per_pa: preston,
            friction: if work > 0.0 { friction_work / work } else { chief.friction },
            spin_rad_s: chief.spin_rad_s,
            grains_per_m2: chief.grains_per_m2,
            path,
            inset_m: widest(|p| p.inset_m),
            gap_m: widest(|p| p.gap_m),
            volume_m3: parts.iter().map(|p| p.volume_m3).sum(),
            spill_m3: parts.iter().map(|p| p.spill_m3).sum(),
            cut: None,
            slide: None,
            dwell: None,
        };
        Some(map.with_statistics())
    }
}

impl SurfaceMap {
    /// The sum of maps on the same cells; `places` holds for each part the place of each of its stops in
    /// the order of the whole path. Coefficient, grains and useful spin are those of part `main`. `None`
    /// without that part, where the cells differ or where a place is missing.
    ///
    /// ```text
    /// W = Σ k_p,i/k_p W_i [J/m²],   slide, dwell, stalled time and turn added,   peak the largest
    /// ```
    ///
    /// See the example of [`super::work_surface`].
    #[must_use]
    pub fn sum(parts: &[Self], main: usize, places: &[Vec<usize>]) -> Option<Self> {
        let chief = parts.get(main)?;
        if parts.iter().any(|p| p.grid != chief.grid) {
            return None;
        }
        let preston = chief.preston_per_pa;
        let cells = chief.grid.len();
        let zero = || vec![0.0; cells];
        let mut field =
            SurfaceField { work: zero(), slide: zero(), dwell: zero(), stalled: zero(), turned: zero(), peak: zero() };
        let mut stops: Vec<Option<WorkedStop>> = vec![None; parts.iter().map(|p| p.stops.len()).sum()];
        for (p, places) in parts.iter().zip(places) {
            add(&mut field.work, &p.field.work, gain(p.preston_per_pa, preston));
            add(&mut field.slide, &p.field.slide, 1.0);
            add(&mut field.dwell, &p.field.dwell, 1.0);
            add(&mut field.stalled, &p.field.stalled, 1.0);
            add(&mut field.turned, &p.field.turned, 1.0);
            raise(&mut field.peak, &p.field.peak);
            for (stop, place) in p.stops.iter().zip(places) {
                *stops.get_mut(*place)? = Some(*stop);
            }
        }
        Some(Self {
            grid: chief.grid,
            field,
            area: chief.area.clone(),
            edge: chief.edge.clone(),
            clearance: chief.clearance.clone(),
            taped: chief.taped.clone(),
            preston_per_pa: preston,
            grains_per_m2: chief.grains_per_m2,
            useful_spin: chief.useful_spin,
            driven: chief.driven,
            reach_m: parts.iter().map(|p| p.reach_m).fold(0.0, f64::max),
            volume_m3: parts.iter().map(|p| p.volume_m3).sum(),
            tape_m3: parts.iter().map(|p| p.tape_m3).sum(),
            stops: stops.into_iter().collect::<Option<Vec<_>>>()?,
        })
    }
}
