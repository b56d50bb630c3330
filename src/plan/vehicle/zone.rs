//! What a zone is and what is to be reached on it.

use super::setting::KitOnPaint;
use crate::budget::{ClearCoat, Policy};
use crate::equipment::Paint;
use crate::error::RangeError;
use crate::finish::{Defect, Measure, cut_for, visible_depth};
use crate::math::distribution::LogNormal;
use crate::panel::Patch;
use crate::plan::PaintStep;
use crate::units::Length;

/// A zone: a part of a panel that is curved alike.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneTask {
    /// Its shape as the pad feels it.
    pub patch: Patch,
    /// Sides of the rectangle that it is worked as, m.
    pub size_m: (f64, f64),
    /// The paint.
    pub paint: Paint,
    /// What is believed of its clear coat now.
    pub clear: ClearCoat,
    /// How much of it may go.
    pub policy: Policy,
    /// Defects seen.
    pub defects: Vec<Defect>,
    /// The kits, each as it works on this paint; `None` where the pad does not go on the tool.
    pub kits: Vec<Option<KitOnPaint>>,
    /// Largest friction power that paint and pad stand, W; as far as it is known.
    pub most_power_w: Option<f64>,
    /// What was cut already and does not show in `clear`.
    pub done: Vec<PaintStep>,
}

/// What is to be reached, and how sure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goal {
    /// Share of the shallowest mendable defect to be corrected to the eye \[1\], 0 to 0.999.
    pub correction: f64,
    /// Confidence of correction and budget \[1\], 0.5 to 0.999.
    pub confidence: f64,
    /// Least useful spin \[rad/s\].
    pub useful_spin: f64,
    /// Most passes of a step.
    pub most_passes: usize,
    /// How many times longer the work may be with settings that turn whatever the bearing's drag before
    /// settings that may stall are taken instead \[1\].
    pub sure_factor: f64,
}

impl Goal {
    /// Usual most passes of a step: beyond it another product is the answer (common practice, no source).
    pub const MOST_PASSES: usize = 12;
    /// Usual factor for settings that turn for sure: assumed.
    pub const SURE_FACTOR: f64 = 1.5;
}

/// The defect that decides on a zone, its depths, and the cut that corrects it to the goal \[m\]; `None`
/// where no defect is named that polishing mends.
///
/// What decides is the shallowest, which most of a panel shows; deeper ones are told of one by one. See the
/// example of [`cut_options`](super::cut_options).
///
/// # Assumptions and valid range
/// The depths are those of [`Defect::depths`]: common practice or assumed until they are measured. Corrected
/// means to the eye: what is shallower than the paint's visible depth counts as gone.
///
/// # Accuracy
/// As [`cut_for`]: a root to 1e-13 m.
///
/// # Errors
/// A goal out of reach of any cut up to 1000 µm.
pub fn goal_of(zone: &ZoneTask, goal: &Goal) -> Result<Option<(Defect, LogNormal, f64)>, RangeError> {
    let depths = |d: &Defect| d.depths().map(|n| (*d, n.distribution)).ok();
    let decides = zone.defects.iter().filter_map(depths).min_by(|a, b| a.1.median().total_cmp(&b.1.median()));
    let Some((defect, depths)) = decides else { return Ok(None) };
    let visible = Length::from_m(visible_depth(zone.paint.lightness())?.median());
    let cut = cut_for(&depths, goal.correction, Measure::Optical, visible)?;
    Ok(Some((defect, depths, cut.m())))
}
