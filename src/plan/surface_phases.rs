//! A step with phases on a real panel: one path, each stop worked by the phase of its pass, the maps added.
//!
//! The panel is looked over, and changes in its zones are tried, with the phase that takes longest; the other
//! phases are told for the same place. Their stall limit is that of the place, not of the whole panel.

use super::phase::{PhasePlan, longest, no_sum, tightest};
use super::state::operating_state;
use super::step::{StepPlan, StepTask, Work, fit_passes, interval, limits};
use super::surface::{Route, SurfaceTask, bounded, check_zones, look_over, stops_along, surface_work, worked, worsen};
use crate::Error;
use crate::error::RangeError;
use crate::motion::{Section, SurfacePath};
use crate::removal::{Stop, SurfaceMap, SurfaceSettings, stop_length, work_surface};
use crate::spin::{AtHand, StallSettings};

/// A real panel worked phase by phase.
struct Layers {
    path: SurfacePath,
    sections: Vec<Section>,
    inset_m: f64,
    stops: Vec<Vec<Stop>>,
    maps: Vec<SurfaceMap>,
    whole: SurfaceMap,
    main: usize,
}

impl Layers {
    /// Time with the pad on in each phase, s.
    fn times(stops: &[Vec<Stop>]) -> impl Iterator<Item = f64> {
        stops.iter().map(|s| s.iter().map(|s| s.time_s).sum())
    }
}

/// Works a panel with the phases of `task`.
fn work(task: &StepTask, parts: &[StepTask], on: &SurfaceTask, useful: f64) -> Result<Layers, Error> {
    if matches!(on.route, Route::Given(_)) {
        let allowed = "none on a path of its own, which is worked once as it stands";
        return Err(RangeError::new("phases", parts.len() as f64, "", allowed).into());
    }
    let ranges = task.pass_ranges();
    let passes = ranges.last().map_or(0, |r| r.end);
    let inset_m = parts.iter().map(|p| on.inset_of(p, passes)).fold(0.0, f64::max);
    let (path, sections) = on.path(task, passes, inset_m)?;
    let path = path.with_feeds(|pass| task.feed_share(pass));
    let step = parts.iter().map(|p| stop_length(&p.setup)).fold(f64::INFINITY, f64::min);
    let mut stops = vec![Vec::new(); parts.len()];
    let mut places = vec![Vec::new(); parts.len()];
    for (place, stop) in stops_along(&path, &on.surface, step).into_iter().enumerate() {
        let own = ranges.iter().position(|r| r.contains(&(stop.pass as usize))).unwrap_or(parts.len() - 1);
        stops[own].push(stop);
        places[own].push(place);
    }
    let mut maps = Vec::with_capacity(parts.len());
    for (part, stops) in parts.iter().zip(&stops) {
        bounded(stops, part)?;
        let settings = SurfaceSettings::default();
        maps.push(work_surface(&part.setup, &on.surface, stops, part.cell.m(), useful, &settings)?);
    }
    let main = longest(Layers::times(&stops));
    let whole = SurfaceMap::sum(&maps, main, &places).ok_or_else(|| no_sum(maps.len()))?;
    Ok(Layers { path, sections, inset_m, stops, maps, whole, main })
}

/// The map of a panel with the step's own passes.
pub(super) fn work_phases(task: &StepTask, on: &SurfaceTask, useful: f64) -> Result<SurfaceMap, Error> {
    Ok(work(task, &task.parts()?, on, useful)?.whole)
}

/// Plans a step with phases on a real panel.
///
/// # Errors
/// As [`super::plan_step`]; phases along a given path.
pub(super) fn plan_surface_phases(
    task: &StepTask,
    on: &SurfaceTask,
    at_hand: &AtHand,
    settings: &StallSettings,
) -> Result<StepPlan, Error> {
    let parts = task.parts()?;
    let useful = settings.useful_spin;
    let repeated = task.repeated_phase().unwrap_or(0);
    let others = task.other_passes();
    let make = |passes: usize| work(&task.with_passes(passes)?, &parts, on, useful);
    let cut = |l: &Layers| worked(&l.whole, &l.whole).map(|c| c.mean);
    let rates = |l: &Layers, passes: usize| {
        let own = worked(&l.whole, &l.maps[repeated]).map_or(0.0, |c| c.mean);
        (cut(l).unwrap_or(0.0) - own, own / (passes - others) as f64)
    };
    let summed = StepTask { passes: others + task.phases[repeated].passes, ..task.clone() };
    let (passes, layers, target_out_of_reach) = fit_passes(&summed, others, false, make, cut, rates)?;
    let ranges = task.with_passes(passes)?.pass_ranges();
    let Layers { path, sections, inset_m, stops, maps, whole, main } = layers;
    let seen = look_over(&parts[main], on, inset_m, at_hand, settings)?;
    let checks = check_zones(&parts[main], on, &seen, &maps[main], (&stops[main], ranges[main].len()), useful)?;
    let times: Vec<f64> = Layers::times(&stops).collect();
    let mut phases = Vec::with_capacity(parts.len());
    for (i, (part, passes)) in parts.iter().zip(ranges).enumerate() {
        let setup = part.setup.clone().on(*seen.setup.patch());
        let state = if i == main {
            seen.state.clone()
        } else {
            operating_state(&setup, &part.working, at_hand, part.drag_range, settings)?
        };
        let mut limits = limits(part, &state);
        for l in &mut limits {
            worsen(l, (i == main).then_some(&seen.survey), inset_m, &maps[i]);
        }
        limits.sort_by(|a, b| a.margin.total_cmp(&b.margin));
        phases.push(PhasePlan {
            name: task.phases[i].name.clone(),
            passes,
            setup,
            working: part.working,
            state,
            limits,
            time_s: times[i],
            cut_m: worked(&whole, &maps[i]).map(|c| c.mean),
            volume_m3: maps[i].volume_m3,
        });
    }
    let work = surface_work(task, on, (whole, path, sections), inset_m, (seen.survey, seen.zones, checks))?;
    Ok(StepPlan {
        passes,
        cut: work.cut.map(|c| interval(task, c.mean)),
        time_s: work.path.time(),
        stalled_share: work.map.stalled_share(),
        limits: tightest(&phases),
        target_out_of_reach,
        paint: None,
        told_at: seen.told_at,
        setup: seen.setup,
        state: seen.state,
        work: Work::Surface(Box::new(work)),
        phases,
        coupling: None,
    })
}
