//! A step on a real panel: path, work, survey, zones, sections.

use super::step::{StepPlan, StepTask, fit_passes, interval, limits};
use super::survey::{Place, Survey, SurveySettings, survey};
use super::zone::{ZoneKind, Zones, find_zones};
use super::{Limit, OperatingState, Work, operating_state};
use crate::Error;
use crate::math::statistics::Summary;
use crate::motion::{PathReport, PathSetup, Section, SurfacePath, SurfacePathOptions, SurfacePattern, cut_sections};
use crate::panel::{Surface, curvature_at};
use crate::removal::{Stop, SurfaceMap, SurfaceSettings, ZoneSetup, stop_length, work_surface, work_zones};
use crate::spin::{AtHand, Remedy, RemedyKind, Setup, StallSettings};
use std::sync::Arc;

/// How the pad is led over a real panel.
#[derive(Debug, Clone, PartialEq)]
pub enum Route {
    /// A pattern over everything that is to be worked.
    Pattern(SurfacePattern),
    /// A path from a file, worked once as it stands.
    Given(Arc<SurfacePath>),
}

/// What a step on a real panel needs beside its set-up.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceTask {
    /// The panel.
    pub surface: Arc<Surface>,
    /// How the pad is led.
    pub route: Route,
    /// Least distance of the pad centre from edges and tape \[m\]; the pattern's own without it.
    pub inset: Option<f64>,
    /// Last line, leads, travel.
    pub options: SurfacePathOptions,
    /// Sides of the work sections and their blend \[m\]; the panel is worked as one without them.
    pub sections: Option<((f64, f64), f64)>,
    /// Clear coat at each node of the heights \[m\], where it is known.
    pub film: Option<Arc<Vec<f64>>>,
    /// Survey of the panel.
    pub survey: SurveySettings,
}

/// One section as worked.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionWork {
    /// The section.
    pub section: Section,
    /// Time, lifts included, s.
    pub time_s: f64,
    /// Time with the pad on, s.
    pub time_on_s: f64,
    /// Share of that time during which the pad was stalled \[1\].
    pub stalled_share: f64,
    /// Largest pressure met, Pa.
    pub peak_pressure_pa: f64,
    /// Cut over its workable cells, m.
    pub cut: Option<Summary>,
}

/// The map worked again with the change of one zone.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneCheck {
    /// Index of the zone.
    pub zone: usize,
    /// What was changed.
    pub change: Remedy,
    /// Share of the pad-on time in the zone during which the pad was stalled, before and after \[1\].
    pub stalled_share: (f64, f64),
    /// Largest pressure met in the zone, Pa, before and after.
    pub peak_pressure_pa: (f64, f64),
    /// Whether the change did in the map what it promises: no stall where it is against stalling, a
    /// lower peak where it is against pressure.
    pub helps: bool,
}

/// A panel worked.
#[derive(Debug, Clone)]
pub struct SurfaceWork {
    /// The panel.
    pub surface: Arc<Surface>,
    /// Fields.
    pub map: SurfaceMap,
    /// The path.
    pub path: SurfacePath,
    /// What it covers.
    pub report: PathReport,
    /// The pad put down all over the panel.
    pub survey: Survey,
    /// Zones with what to change.
    pub zones: Zones,
    /// Reruns with the change of each zone.
    pub checks: Vec<ZoneCheck>,
    /// Sections in order; empty where the panel is worked as one.
    pub sections: Vec<SectionWork>,
    /// Clear coat at each node of the heights \[m\], where it is known.
    pub film: Option<Arc<Vec<f64>>>,
    /// Inset of the pad centre, m.
    pub inset_m: f64,
    /// Cut over the cells that are further than the pad's reach from every edge and tape, m; over all
    /// workable cells where there are none.
    pub cut: Option<Summary>,
    /// Sliding length over the same cells, m.
    pub slide: Option<Summary>,
    /// Dwell over the same cells, s.
    pub dwell: Option<Summary>,
    /// Cut over all workable cells, m.
    pub panel_cut: Option<Summary>,
}

/// Stops along the pad-on stretches of a path, each no longer than `longest` \[m\] on the surface.
///
/// Each stands in the middle of its piece, for the time \[s\] that the path spends on it. Between two waypoints
/// time, place and share of the force run linearly; where either is lifted there is no stop.
///
/// # Example
/// ```
/// use trochoid::Angle;
/// use trochoid::motion::{PathSetup, SurfacePath, SurfacePathOptions, SurfacePattern};
/// use trochoid::panel::{HeightMap, Surface};
/// use trochoid::plan::stops_along;
/// # fn main() -> Result<(), trochoid::Error> {
/// let panel = Surface::new(HeightMap::from_function((0.0, 0.0), (0.3, 0.3), 0.005, |_, _| 0.0)?);
/// let raster = SurfacePattern::Raster { angle: Angle::from_deg(0.0) };
/// let setup = PathSetup { spacing: 0.05, feed: 0.04, passes: 1, inset: 0.1 };
/// let path = SurfacePath::over(&panel, &raster, &setup, &SurfacePathOptions::default())?;
/// // 3 lines of 0.1 m and 2 joints of 0.05 m at 40 mm/s: 0.4 m in 10 s, no stop above 0.03 m or 0.75 s.
/// let stops = stops_along(&path, &panel, 0.03);
/// assert!((stops.iter().map(|s| s.time_s).sum::<f64>() - 10.0).abs() < 1e-6);
/// assert!(stops.iter().all(|s| s.time_s < 0.75 + 1e-9));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn stops_along(path: &SurfacePath, surface: &Surface, longest: f64) -> Vec<Stop> {
    let mut out = Vec::new();
    for w in path.waypoints().windows(2) {
        let (a, b) = (&w[0], &w[1]);
        if a.force_share <= 0.0 || b.force_share <= 0.0 {
            continue;
        }
        let (p, q) = (surface.heights().point_at(a.at.0, a.at.1), surface.heights().point_at(b.at.0, b.at.1));
        let length = (q[0] - p[0]).hypot(q[1] - p[1]).hypot(q[2] - p[2]);
        let count = (length / longest - 1e-9).ceil().max(1.0);
        let time_s = (b.time_s - a.time_s) / count;
        let mut k = 0.0;
        while k < count {
            let t = (k + 0.5) / count;
            let at = (a.at.0 + t * (b.at.0 - a.at.0), a.at.1 + t * (b.at.1 - a.at.1));
            let force_share = a.force_share + t * (b.force_share - a.force_share);
            let pass = u32::try_from(a.pass).unwrap_or(u32::MAX);
            out.push(Stop { at, time_s, force_share, pass });
            k += 1.0;
        }
    }
    out
}

/// Most pairs of stop and cell of one map: some minutes of work.
const MOST_VISITS: f64 = 2e11;

impl SurfaceTask {
    /// Inset of the pad centre for a number of passes \[m\]: the one given, else the pattern's own for the reach of
    /// pad and orbit; 0 on a given path.
    #[must_use]
    pub fn inset_of(&self, task: &StepTask, passes: usize) -> f64 {
        let reach = task.setup.pad().radius() + task.setup.face_orbit().radius_m;
        match (&self.route, self.inset) {
            (_, Some(inset)) => inset,
            (Route::Pattern(p), None) => p.default_inset(reach, spacing(task), passes),
            (Route::Given(_), None) => 0.0,
        }
    }

    /// The path of the step with a number of passes, and its sections.
    ///
    /// # Errors
    /// As [`SurfacePath::over`] and [`cut_sections`].
    pub fn path(&self, task: &StepTask, passes: usize, inset: f64) -> Result<(SurfacePath, Vec<Section>), Error> {
        let pattern = match &self.route {
            Route::Given(path) => return Ok(((**path).clone(), Vec::new())),
            Route::Pattern(p) => p,
        };
        let setup = PathSetup { spacing: spacing(task), feed: task.working.feed.m_s(), passes, inset };
        let Some((size, blend)) = self.sections else {
            return Ok((SurfacePath::over(&self.surface, pattern, &setup, &self.options)?, Vec::new()));
        };
        let sections = cut_sections(&self.surface, size, blend)?;
        if sections.len() < 2 {
            return Ok((SurfacePath::over(&self.surface, pattern, &setup, &self.options)?, Vec::new()));
        }
        Ok((SurfacePath::over_sections(&self.surface, &sections, pattern, &setup, &self.options)?, sections))
    }

    /// Works the panel along a path.
    ///
    /// # Errors
    /// As [`work_surface`]; more work than a map may take.
    pub fn work(&self, task: &StepTask, path: &SurfacePath, useful_spin: f64) -> Result<SurfaceMap, Error> {
        let stops = stops_along(path, &self.surface, stop_length(&task.setup));
        bounded(&stops, task)?;
        work_surface(&task.setup, &self.surface, &stops, task.cell.m(), useful_spin, &SurfaceSettings::default())
    }
}

pub(super) fn bounded(stops: &[Stop], task: &StepTask) -> Result<(), Error> {
    let reach = 2.0 * task.setup.pad().radius() / task.cell.m();
    let visits = stops.len() as f64 * reach * reach;
    if visits > MOST_VISITS {
        return Err(crate::removal::FieldError::TooMuchWork { visits }.into());
    }
    Ok(())
}

fn spacing(task: &StepTask) -> f64 {
    (1.0 - task.working.overlap) * task.setup.pad().diameter().m()
}

/// The place that a step's state is told for: the slowest one that the pad centre comes to whose face does not
/// hang over an edge, or else the slowest.
fn told_for(survey: &Survey, inset: f64) -> Option<&Place> {
    let spin = |p: &&Place| p.state.map_or(f64::INFINITY, |s| s.spin);
    let reached = || survey.worked().filter(|p| p.state.is_some() && p.clearance >= inset - 0.5 * survey.step);
    let whole = reached().filter(|p| p.state.is_some_and(|s| s.overhang_share < 0.02));
    whole.min_by(|a, b| spin(a).total_cmp(&spin(b))).or_else(|| reached().min_by(|a, b| spin(a).total_cmp(&spin(b))))
}

/// Plans a step on a real panel.
///
/// # Errors
/// As [`operating_state`], [`survey`] and [`SurfaceTask::work`].
pub(super) fn plan_surface(
    task: &StepTask,
    on: &SurfaceTask,
    at_hand: &AtHand,
    settings: &StallSettings,
) -> Result<StepPlan, Error> {
    let useful = settings.useful_spin;
    let inset = on.inset_of(task, task.passes);
    let seen = look_over(task, on, inset, at_hand, settings)?;
    let make = |passes: usize| {
        let inset = on.inset_of(task, passes);
        let (path, sections) = on.path(task, passes, inset)?;
        let map = on.work(task, &path, useful)?;
        let cut = worked(&map, &map);
        Ok((map, path, sections, inset, cut))
    };
    let cut = |m: &Made| m.4.map(|c| c.mean);
    let rates = |m: &Made, n: usize| (0.0, cut(m).map_or(seen.state.cut_per_pass_m, |c| c / n as f64));
    let given = matches!(on.route, Route::Given(_));
    let (passes, (map, path, sections, inset_m, _), out_of_reach) = fit_passes(task, 0, given, make, cut, rates)?;
    let stops = stops_along(&path, &on.surface, stop_length(&task.setup));
    let checks = check_zones(task, on, &seen, &map, (&stops, passes), useful)?;
    let mut limits = limits(task, &seen.state);
    for l in &mut limits {
        worsen(l, Some(&seen.survey), inset_m, &map);
    }
    limits.sort_by(|a, b| a.margin.total_cmp(&b.margin));
    let work = surface_work(task, on, (map, path, sections), inset_m, (seen.survey, seen.zones, checks))?;
    Ok(StepPlan {
        passes,
        cut: work.cut.map(|c| interval(task, c.mean)),
        time_s: work.path.time(),
        stalled_share: work.map.stalled_share(),
        limits,
        target_out_of_reach: out_of_reach,
        paint: None,
        told_at: seen.told_at,
        setup: seen.setup,
        state: seen.state,
        work: Work::Surface(Box::new(work)),
        phases: Vec::new(),
        coupling: None,
    })
}

/// A panel worked with some number of passes: map, path, sections, inset, cut.
type Made = (SurfaceMap, SurfacePath, Vec<Section>, f64, Option<Summary>);

/// What was seen before the work: the survey, its zones, and the state at the place it is told for.
pub(super) struct Looked {
    pub(super) survey: Survey,
    pub(super) zones: Zones,
    pub(super) told_at: Option<(f64, f64)>,
    pub(super) setup: Setup,
    pub(super) state: OperatingState,
}

/// Looks a panel over with the pad of a step.
pub(super) fn look_over(
    task: &StepTask,
    on: &SurfaceTask,
    inset: f64,
    at_hand: &AtHand,
    settings: &StallSettings,
) -> Result<Looked, Error> {
    let seen = survey(&task.setup, &on.surface, settings, &on.survey)?;
    let zones = find_zones(&task.setup, &on.surface, &seen, inset, at_hand, settings, &on.survey)?;
    let place = told_for(&seen, inset).copied();
    let radius = task.setup.pad().radius();
    let fitted = place.and_then(|p| curvature_at(on.surface.heights(), p.at.0, p.at.1, radius).ok());
    let local = fitted.map(|c| c.patch()).transpose()?;
    let setup = local.map_or_else(|| task.setup.clone(), |patch| task.setup.clone().on(patch));
    let mut state = operating_state(&setup, &task.working, at_hand, task.drag_range, settings)?;
    if let Some(hollow) = zones.zones.iter().find(|z| z.kind == ZoneKind::Hollow) {
        state.remedies.clone_from(&hollow.changes);
    }
    Ok(Looked { survey: seen, zones, told_at: place.map(|p| p.at), setup, state })
}

/// Puts together what is told of a worked panel.
pub(super) fn surface_work(
    task: &StepTask,
    on: &SurfaceTask,
    (map, path, sections): (SurfaceMap, SurfacePath, Vec<Section>),
    inset_m: f64,
    (survey, zones, checks): (Survey, Zones, Vec<ZoneCheck>),
) -> Result<SurfaceWork, Error> {
    Ok(SurfaceWork {
        surface: Arc::clone(&on.surface),
        report: path.report(&on.surface, map.reach_m, inset_m, (5e-3_f64).max(task.cell.m()))?,
        sections: sections.into_iter().map(|s| section_work(s, &map, &path)).collect(),
        cut: worked(&map, &map),
        slide: over_worked(&map, |k| map.field.slide[k]),
        dwell: over_worked(&map, |k| map.field.dwell[k]),
        panel_cut: map.statistics(|_| true, |k| map.cut(k)),
        film: on.film.clone(),
        survey,
        zones,
        checks,
        inset_m,
        path,
        map,
    })
}

/// Sets a limit to the worst that the survey, where there is one, and the path met.
pub(super) fn worsen(limit: &mut Limit, survey: Option<&Survey>, inset_m: f64, map: &SurfaceMap) {
    let states = map.stops.iter().filter_map(|s| s.state);
    match limit.name {
        "stall" => {
            let worst = survey.and_then(|s| s.worst_stall_number(inset_m));
            limit.value = worst.unwrap_or(limit.value).max(limit.value);
        }
        "pad_compression" => {
            let share = states.map(|s| s.compression_share).fold(0.0, f64::max);
            limit.value = limit.value.max(share * limit.limit);
        }
        _ => return,
    }
    limit.margin = (limit.limit - limit.value) / limit.limit;
}

/// Statistics over the cells that the pad covers on every side; over all workable cells where there
/// are none.
pub(super) fn over_worked(map: &SurfaceMap, value: impl Fn(usize) -> f64 + Copy) -> Option<Summary> {
    map.statistics(|k| map.clearance[k] >= map.reach_m, value).or_else(|| map.statistics(|_| true, value))
}

/// Cut of `part` over the cells that the pad of `whole` covers on every side, m.
pub(super) fn worked(whole: &SurfaceMap, part: &SurfaceMap) -> Option<Summary> {
    over_worked(whole, |k| part.cut(k))
}

fn section_work(section: Section, map: &SurfaceMap, path: &SurfacePath) -> SectionWork {
    let run = path.sections().iter().find(|r| r.number == section.number());
    let times: Vec<(f64, f64)> = run.map_or_else(Vec::new, |r| {
        let w = &path.waypoints()[r.waypoints.clone()];
        w.windows(2).map(|w| (w[1].time_s - w[0].time_s, w[0].force_share.min(w[1].force_share))).collect()
    });
    let inside = |at: (f64, f64)| section.outline().contains(at.0, at.1);
    let (mut on, mut stalled, mut peak) = (0.0, 0.0, 0.0_f64);
    for s in map.stops.iter().filter(|s| inside(s.stop.at)) {
        let Some(state) = s.state else { continue };
        on += s.stop.time_s;
        stalled += if map.is_stalled(&state) { s.stop.time_s } else { 0.0 };
        peak = peak.max(state.peak_pressure_pa);
    }
    let count = map.grid.count.0;
    let cell_inside = |k: usize| inside(map.grid.centre(k % count, k / count));
    SectionWork {
        time_s: times.iter().map(|t| t.0).sum(),
        time_on_s: times.iter().filter(|t| t.1 > 0.0).map(|t| t.0).sum(),
        stalled_share: if on > 0.0 { stalled / on } else { 0.0 },
        peak_pressure_pa: peak,
        cut: map.statistics(cell_inside, |k| map.cut(k)),
        section,
    }
}

/// Share of the pad-on time stalled and largest pressure over the stops of one zone.
fn in_zone(map: &SurfaceMap, belongs: &dyn Fn((f64, f64)) -> bool) -> (f64, f64) {
    let (mut on, mut stalled, mut peak) = (0.0, 0.0, 0.0_f64);
    for s in map.stops.iter().filter(|s| belongs(s.stop.at)) {
        let Some(state) = s.state else { continue };
        on += s.stop.time_s;
        stalled += if map.is_stalled(&state) { s.stop.time_s } else { 0.0 };
        peak = peak.max(state.peak_pressure_pa);
    }
    (if on > 0.0 { stalled / on } else { 0.0 }, peak)
}

/// Works the panel again with the first change of every zone, each in its own zone.
pub(super) fn check_zones(
    task: &StepTask,
    on: &SurfaceTask,
    seen: &Looked,
    before: &SurfaceMap,
    (stops, passes): (&[Stop], usize),
    useful: f64,
) -> Result<Vec<ZoneCheck>, Error> {
    let zones = &seen.zones;
    let mut checks = Vec::new();
    let of = |at: (f64, f64)| zones.of_place[seen.survey.index_of(at)];
    let changes: Vec<(usize, &Remedy)> =
        zones.zones.iter().enumerate().filter_map(|(i, z)| z.change().map(|c| (i, c))).collect();
    if changes.is_empty() {
        return Ok(checks);
    }
    let tests: Vec<_> = changes.iter().map(|(i, _)| move |at: (f64, f64)| of(at) == Some(*i)).collect();
    let mut setups = Vec::new();
    for ((_, change), test) in changes.iter().zip(&tests) {
        if let Some(setup) = &change.setup {
            setups.push(ZoneSetup { setup, holds: Some(test) });
        }
    }
    setups.push(ZoneSetup { setup: &task.setup, holds: None });
    // Lines further from the edge make another path.
    let wider = changes.iter().filter(|(_, c)| c.kind == RemedyKind::KeepRimOn).filter_map(|(_, c)| c.value);
    let inset = wider.fold(0.0_f64, |a, mm| a.max(crate::units::Length::from_mm(mm).m()));
    let again = match &on.route {
        Route::Pattern(_) if inset > on.inset_of(task, passes) => on.path(task, passes, inset).ok().map(|(p, _)| p),
        _ => None,
    };
    let again = again.map(|path| stops_along(&path, &on.surface, stop_length(&task.setup)));
    let stops = again.as_deref().unwrap_or(stops);
    bounded(stops, task)?;
    let settings = SurfaceSettings::default();
    let after = work_zones(&setups, &on.surface, stops, task.cell.m(), useful, &settings)?;
    for ((zone, change), test) in changes.iter().zip(&tests) {
        let (old, new) = (in_zone(before, test), in_zone(&after, test));
        let helps = match zones.zones[*zone].kind {
            // A twentieth of the time is what entering and leaving the zone leaves.
            ZoneKind::Hollow => new.0 <= 0.05 * old.0,
            _ => new.1 < old.1,
        };
        checks.push(ZoneCheck {
            zone: *zone,
            change: (*change).clone(),
            stalled_share: (old.0, new.0),
            peak_pressure_pa: (old.1, new.1),
            helps,
        });
    }
    Ok(checks)
}

impl SurfaceWork {
    /// Clear coat at a cell \[m\], where it is known.
    #[must_use]
    pub fn film_at(&self, cell: usize) -> Option<f64> {
        let film = self.film.as_ref()?;
        let (x, y) = self.map.grid.centre(cell % self.map.grid.count.0, cell / self.map.grid.count.0);
        Some(self.surface.heights().read(film, x, y))
    }
}
