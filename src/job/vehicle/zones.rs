//! Zones of a vehicle's panels: the bands of a rectangle as they are given, those of a real panel as its
//! survey finds them.
//!
//! A zone is worked as a rectangle of its area in the proportions of its panel (assumed: a band that runs
//! along an edge is longer and narrower, which changes the number of lines but not the area). On a real
//! panel places are told apart by the mean curvature that the widest pad feels; a hollow and a crown are
//! planned for the place that is curved harder than nine in ten of theirs.

use super::Vehicle;
use super::bands::zone_names;
use crate::Error;
use crate::equipment::Pad;
use crate::error::RangeError;
use crate::job::model::Job;
use crate::math::reduce::map_indexed;
use crate::panel::{Patch, Surface, curvature_at};

/// A zone as the plan takes it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Zone {
    pub(super) panel: usize,
    pub(super) name: String,
    pub(super) patch: Patch,
    pub(super) size_m: (f64, f64),
    pub(super) area_m2: f64,
}

/// Mean curvature from which on a place of a real panel is a hollow or a crown, 1/m (assumed).
const CURVED_PER_M: f64 = 0.15;
/// Places of a survey along the longer side of a panel.
const PLACES: usize = 24;
/// Smallest share of a panel that is a zone of its own.
const LEAST_SHARE: f64 = 0.01;
/// Share of the places of a zone that are curved less than the one it is planned for.
const HARDER_THAN: f64 = 0.9;

/// The zones of every panel, in the order of panels and bands.
pub(super) fn zones(job: &Job, vehicle: &Vehicle) -> Result<Vec<Zone>, Error> {
    let widest = job.pads.iter().map(|p| &p.item).max_by(|a, b| a.radius().total_cmp(&b.radius()));
    let Some(widest) = widest else {
        return Err(RangeError::new("pads", 0.0, "", "at least one").into());
    };
    let mut out = Vec::new();
    for (index, panel) in vehicle.panels.iter().enumerate() {
        let (area, bands) = match &panel.real {
            Some(real) => surveyed(&real.surface, widest)?,
            None => {
                let area = panel.panel.length().m() * panel.panel.width().m();
                (area, panel.bands.iter().map(|b| (b.share, b.patch)).collect())
            }
        };
        let names = zone_names(&bands.iter().map(|b| b.1).collect::<Vec<_>>());
        let (length, width) = (panel.panel.length().m(), panel.panel.width().m());
        for ((share, patch), name) in bands.into_iter().zip(names) {
            let area_m2 = share * area;
            let scale = (area_m2 / (length * width)).sqrt();
            out.push(Zone { panel: index, name, patch, size_m: (length * scale, width * scale), area_m2 });
        }
    }
    Ok(out)
}

/// Workable area of a real panel and its bands.
fn surveyed(surface: &Surface, pad: &Pad) -> Result<(f64, Vec<(f64, Patch)>), Error> {
    let heights = surface.heights();
    let (low, high) = heights.outline().bounds();
    let step = ((high.0 - low.0).max(high.1 - low.1) / PLACES as f64).max(heights.step());
    let along = |a: f64, b: f64| -> Vec<f64> {
        let mut out = Vec::new();
        let mut x = a + 0.5 * step;
        while x < b {
            out.push(x);
            x += step;
        }
        if out.is_empty() { vec![0.5 * (a + b)] } else { out }
    };
    let (xs, ys) = (along(low.0, high.0), along(low.1, high.1));
    let found = map_indexed(xs.len() * ys.len(), |k| {
        let (x, y) = (xs[k % xs.len()], ys[k / xs.len()]);
        if surface.clearance_at(x, y) <= 0.0 {
            return None;
        }
        // Where too little of the panel is near for a fit, its neighbours speak for it.
        curvature_at(heights, x, y, pad.radius()).and_then(|c| c.patch()).ok()
    });
    let patches: Vec<Patch> = found.into_iter().flatten().collect();
    if patches.is_empty() {
        return Err(RangeError::new("places of the survey", 0.0, "", "at least one that can be worked").into());
    }
    let all = patches.len() as f64;
    let kind = |p: &Patch| if p.mean() < -CURVED_PER_M { 0 } else { 1 + usize::from(p.mean() > CURVED_PER_M) };
    let mut bands = Vec::new();
    let mut counted = 0.0;
    // The rest first, as on a panel whose bands are written down.
    for which in [1, 2, 0] {
        let mut own: Vec<&Patch> = patches.iter().filter(|p| kind(p) == which).collect();
        let share = own.len() as f64 / all;
        if own.is_empty() || (share < LEAST_SHARE && own.len() < patches.len()) {
            continue;
        }
        own.sort_by(|a, b| a.mean().abs().total_cmp(&b.mean().abs()));
        let at = if which == 1 { 0.5 } else { HARDER_THAN };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a share of a length
        let chosen = own[((own.len() - 1) as f64 * at).round() as usize];
        counted += share;
        bands.push((share, *chosen));
    }
    for b in &mut bands {
        b.0 /= counted;
    }
    Ok((surface.workable_area(), bands))
}
