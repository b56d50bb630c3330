//! Zones of a panel where the settings should change, and the smallest change that helps in each.
//!
//! A survey tells the places apart: a **hollow** is where the pad is below the useful spin, an **edge
//! strip** where it hangs over a free edge and presses harder for it, a **crown** where a convex place
//! takes the load on a small spot; the rest is **flat**. The ratios of pressure from which on a place
//! counts as pressed hard are ours (assumed); what a paint bears is not known so exactly.

use super::survey::{Place, Survey, SurveySettings};
use crate::Error;
use crate::panel::{Patch, Surface, curvature_at};
use crate::spin::{
    AtHand, LAYER_MM, LEAST_FORCE_N, PlaceSolver, PlaceState, Remedy, RemedyKind, Setup, StallSettings, downward,
    layered, remedies_where, softened,
};
use crate::units::{Curvature, Force, Length};

/// Peak pressure over that on a flat from which on an overhanging place is an edge strip.
pub const EDGE_PRESSURE: f64 = 1.25;
/// Peak pressure over that on a flat from which on a convex place is a crown.
pub const CROWN_PRESSURE: f64 = 1.75;
/// Share of the face over an edge from which on a place hangs over it.
const OVERHANG: f64 = 0.02;
/// Smallest zone, places: one alone is not worked differently.
const FEWEST: usize = 2;
/// Most places of a zone that a change is tried on.
const TRIED: usize = 240;

/// What kind of place a zone is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum ZoneKind {
    /// The pad is below the useful spin.
    Hollow,
    /// The pad hangs over a free edge and presses harder for it.
    EdgeStrip,
    /// A convex place takes the load on a small spot.
    Crown,
    /// The rest.
    Flat,
}

impl ZoneKind {
    /// The word in machine-readable results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Hollow => "hollow",
            Self::EdgeStrip => "edge_strip",
            Self::Crown => "crown",
            Self::Flat => "flat",
        }
    }
}

/// A connected zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// What kind of place it is.
    pub kind: ZoneKind,
    /// Indices of its places in the survey.
    pub places: Vec<usize>,
    /// Its worst place in plan \[m\]: the slowest of a hollow, the hardest pressed of the others.
    pub worst_at: (f64, f64),
    /// Least spin \[rad/s\]; `None` where the pad cannot be put down at the worst place.
    pub least_spin: Option<f64>,
    /// Largest pressure, Pa.
    pub peak_pressure_pa: f64,
    /// Mean curvature at the worst place, 1/m.
    pub mean_curvature_per_m: f64,
    /// Changes in the order to try them, each solved again on the zone's places.
    pub changes: Vec<Remedy>,
}

impl Zone {
    /// The first change that helps; `None` where none does, or none is needed.
    #[must_use]
    pub fn change(&self) -> Option<&Remedy> {
        self.changes.iter().find(|c| c.value.is_some())
    }
}

/// Zones of a panel and to which each place of the survey belongs.
#[derive(Debug, Clone, PartialEq)]
pub struct Zones {
    /// The zones; those that need a change first, the larger ones first.
    pub zones: Vec<Zone>,
    /// Zone of each place of the survey; `None` off the worked panel.
    pub of_place: Vec<Option<usize>>,
    /// Peak pressure of the set-up on a flat, Pa.
    pub flat_peak_pa: f64,
}

fn peak(p: &Place) -> f64 {
    p.state.map_or(f64::INFINITY, |s| s.peak_pressure_pa)
}

fn kind_of(p: &Place, flat_peak: f64, free: bool, useful: f64) -> ZoneKind {
    let Some(state) = p.state else {
        return if p.mean_curvature_per_m > 0.0 { ZoneKind::Crown } else { ZoneKind::Hollow };
    };
    if free && (state.sticks || state.spin < useful) {
        ZoneKind::Hollow
    } else if state.overhang_share > OVERHANG && state.peak_pressure_pa > EDGE_PRESSURE * flat_peak {
        ZoneKind::EdgeStrip
    } else if p.mean_curvature_per_m > 0.0 && state.peak_pressure_pa > CROWN_PRESSURE * flat_peak {
        ZoneKind::Crown
    } else {
        ZoneKind::Flat
    }
}

/// Connected places of one kind, each with its indices.
fn components(kinds: &[Option<ZoneKind>], (nx, ny): (usize, usize)) -> Vec<(ZoneKind, Vec<usize>)> {
    let mut seen = vec![false; kinds.len()];
    let mut out = Vec::new();
    for start in 0..kinds.len() {
        let Some(kind) = kinds[start].filter(|_| !seen[start]) else { continue };
        let (mut list, mut next) = (Vec::new(), vec![start]);
        seen[start] = true;
        while let Some(k) = next.pop() {
            list.push(k);
            let (i, j) = (k % nx, k / nx);
            let sides = [
                (i > 0).then(|| k - 1),
                (i + 1 < nx).then(|| k + 1),
                (j > 0).then(|| k - nx),
                (j + 1 < ny).then(|| k + nx),
            ];
            for n in sides.into_iter().flatten() {
                if !seen[n] && kinds[n] == Some(kind) {
                    seen[n] = true;
                    next.push(n);
                }
            }
        }
        list.sort_unstable();
        out.push((kind, list));
    }
    out
}

/// Finds the zones of a surveyed panel and what to change in each. Places nearer to an edge or tape
/// line than `inset` \[m\], where the pad centre never comes, are left out.
///
/// ```text
/// hollow      ω < ω_u, or the face sticks (free drives)
/// edge strip  share of the face over an edge > 0.02 and p_peak > 1.25 p_flat
/// crown       H > 0 and p_peak > 1.75 p_flat           H mean curvature [1/m], p_flat peak on a flat [Pa]
/// ```
///
/// # Assumptions and valid range
/// The two ratios of pressure are ours (assumed). A place alone in its kind goes to the flat. A change is tried
/// on the worst place of a zone and on up to 240 others of it, each solved again, and told only where it helps
/// on all.
///
/// # Accuracy
/// That of the survey: a zone ends within half a step of its places.
///
/// # Errors
/// A set-up that cannot be put on a flat.
///
/// # Example
/// ```
/// use trochoid::panel::{HeightMap, Surface};
/// use trochoid::plan::{SurveySettings, ZoneKind, find_zones, survey};
/// use trochoid::spin::{AtHand, StallSettings};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.1)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let panel = Surface::new(HeightMap::from_function((0.0, 0.0), (0.3, 0.2), 0.005, |_, _| 0.0)?);
/// let settings = SurveySettings { step: 0.05, pad_sizes: false, ..SurveySettings::default() };
/// let stall = StallSettings::default();
/// let seen = survey(&setup, &panel, &stall, &settings)?;
/// let found = find_zones(&setup, &panel, &seen, 0.06, &AtHand::default(), &stall, &settings)?;
/// // Of 6 × 4 places 50 mm apart, the 4 × 2 that do not stand at the border are further in than the inset.
/// // A flat is one zone, and there is nothing to change in it.
/// assert!(found.zones.len() == 1 && found.zones[0].kind == ZoneKind::Flat);
/// assert!(found.zones[0].places.len() == 8 && found.zones[0].change().is_none());
/// # Ok(())
/// # }
/// ```
pub fn find_zones(
    setup: &Setup,
    surface: &Surface,
    survey: &Survey,
    inset: f64,
    at_hand: &AtHand,
    stall: &StallSettings,
    settings: &SurveySettings,
) -> Result<Zones, Error> {
    let solver = PlaceSolver::new(setup, 1.0, &settings.contact)?;
    let flat_peak_pa = solver.on(&solver.nodes().site_of(|_, _| 0.0))?.peak_pressure_pa;
    let free = setup.tool().bearing().is_some();
    let reached = |p: &&Place| p.clearance >= inset - 0.5 * survey.step;
    let kind = |p: &Place| kind_of(p, flat_peak_pa, free, stall.useful_spin);
    let mut kinds: Vec<Option<ZoneKind>> = survey.places.iter().map(|p| p.as_ref().filter(reached).map(kind)).collect();
    // A place or two that stand alone go to the rest.
    for (_, list) in components(&kinds, survey.count).iter().filter(|(k, l)| *k != ZoneKind::Flat && l.len() < FEWEST) {
        for k in list {
            kinds[*k] = Some(ZoneKind::Flat);
        }
    }
    let mut found = components(&kinds, survey.count);
    // All that is flat is one zone, however it is cut up by the others.
    let mut flat = Vec::new();
    found.retain(|(k, l)| {
        if *k == ZoneKind::Flat {
            flat.extend_from_slice(l);
        }
        *k != ZoneKind::Flat
    });
    found.sort_by_key(|(_, l)| core::cmp::Reverse(l.len()));
    if !flat.is_empty() {
        flat.sort_unstable();
        found.push((ZoneKind::Flat, flat));
    }
    let mut of_place = vec![None; survey.places.len()];
    let mut zones = Vec::with_capacity(found.len());
    for (kind, places) in found {
        for k in &places {
            of_place[*k] = Some(zones.len());
        }
        zones.push(describe(kind, places, setup, surface, survey, at_hand, stall, settings, flat_peak_pa)?);
    }
    Ok(Zones { zones, of_place, flat_peak_pa })
}

#[allow(clippy::too_many_arguments)] // one call site; the loop body of `find_zones`
fn describe(
    kind: ZoneKind,
    places: Vec<usize>,
    setup: &Setup,
    surface: &Surface,
    survey: &Survey,
    at_hand: &AtHand,
    stall: &StallSettings,
    settings: &SurveySettings,
    flat_peak: f64,
) -> Result<Zone, Error> {
    let here: Vec<&Place> = places.iter().filter_map(|k| survey.places[*k].as_ref()).collect();
    let spin = |p: &&&Place| p.state.map_or(f64::NEG_INFINITY, |s| s.spin);
    let worst = match kind {
        ZoneKind::Hollow => here.iter().min_by(|a, b| spin(a).total_cmp(&spin(b))),
        _ => here.iter().max_by(|a, b| peak(a).total_cmp(&peak(b))),
    };
    let Some(worst) = worst.copied() else {
        return Err(crate::RangeError::new("zone places", 0.0, "", "1 or more").into());
    };
    let try_on = Trial::new(surface, &here, worst, settings, stall.useful_spin);
    let changes = match kind {
        ZoneKind::Hollow => {
            let local = setup.clone().on(fitted(worst, setup, surface)?);
            let works = |changed: &Setup| try_on.least_spin(changed);
            remedies_where(&local, at_hand, stall, &works)
        }
        ZoneKind::EdgeStrip => edge_changes(setup, &here, survey.step, &try_on, flat_peak),
        ZoneKind::Crown => crown_changes(setup, &try_on, flat_peak),
        ZoneKind::Flat => Vec::new(),
    };
    Ok(Zone {
        kind,
        worst_at: worst.at,
        least_spin: here.iter().filter_map(|p| p.state.map(|s| s.spin)).min_by(f64::total_cmp),
        peak_pressure_pa: here.iter().filter_map(|p| p.state.map(|s| s.peak_pressure_pa)).fold(0.0, f64::max),
        mean_curvature_per_m: worst.mean_curvature_per_m,
        changes,
        places,
    })
}

/// The paraboloid that the pad feels at a place.
fn fitted(place: &Place, setup: &Setup, surface: &Surface) -> Result<Patch, Error> {
    // Where too little of the panel is near for a fit, the pad's own mean curvature has to do.
    match curvature_at(surface.heights(), place.at.0, place.at.1, setup.pad().radius()) {
        Ok(found) => Ok(found.patch()?),
        Err(_) => Ok(Patch::sphere(Curvature::from_per_m(place.mean_curvature_per_m))?),
    }
}

/// Places of a zone on which a change is tried: the worst one first, then a fair choice of the others.
struct Trial<'a> {
    surface: &'a Surface,
    places: Vec<(f64, f64)>,
    settings: &'a SurveySettings,
    useful: f64,
}

impl<'a> Trial<'a> {
    fn new(surface: &'a Surface, here: &[&Place], worst: &Place, settings: &'a SurveySettings, useful: f64) -> Self {
        let mut places = vec![worst.at];
        let stride = here.len().div_ceil(TRIED).max(1);
        places.extend(here.iter().step_by(stride).map(|p| p.at));
        Self { surface, places, settings, useful }
    }

    /// States at the places as long as each fulfils `good`; `None` as soon as one does not.
    fn all(&self, changed: &Setup, good: impl Fn(&PlaceState) -> bool) -> Option<Vec<PlaceState>> {
        let solver = PlaceSolver::new(changed, 1.0, &self.settings.contact).ok()?;
        let heights = self.surface.heights();
        let radius = self.settings.attitude_share * changed.pad().radius();
        let mut out = Vec::with_capacity(self.places.len());
        for (x, y) in &self.places {
            let state = solver.at(heights, &heights.frame_at(*x, *y, radius)).ok()?;
            if !good(&state) {
                return None;
            }
            out.push(state);
        }
        Some(out)
    }

    /// Least spin over the zone, where it is the useful minimum or more everywhere.
    fn least_spin(&self, changed: &Setup) -> Option<f64> {
        let states = self.all(changed, |s| !s.sticks && s.spin >= self.useful)?;
        states.iter().map(|s| s.spin).min_by(f64::total_cmp)
    }

    /// Largest pressure and least spin, where the pressure stays below `limit` everywhere.
    fn pressure_below(&self, changed: &Setup, limit: f64) -> Option<(f64, f64)> {
        let states = self.all(changed, |s| s.peak_pressure_pa <= limit)?;
        let peak = states.iter().map(|s| s.peak_pressure_pa).fold(0.0, f64::max);
        Some((peak, states.iter().map(|s| s.spin).fold(f64::INFINITY, f64::min)))
    }
}

/// The first candidate whose pressure stays below `limit`, as a remedy whose reason `told` words from
/// the candidate and the pressure, kPa.
fn first_gentle(
    on: &Trial<'_>,
    limit: f64,
    (kind, unit): (RemedyKind, &'static str),
    candidates: Vec<f64>,
    change: impl Fn(f64) -> Option<Setup>,
    told: impl Fn(f64, f64) -> String,
    otherwise: String,
) -> Remedy {
    let gentle = candidates.into_iter().find_map(|value| {
        let changed = change(value)?;
        let (peak, spin) = on.pressure_below(&changed, limit)?;
        Some(Remedy::tried(kind, value, unit, spin, changed, told(value, peak / 1e3)))
    });
    gentle.unwrap_or_else(|| Remedy::without(kind, unit, otherwise))
}

/// Less force, in whole newtons, until the pressure stays below `limit`.
fn less_force(setup: &Setup, on: &Trial<'_>, limit: f64, ratio: f64) -> Remedy {
    let now = setup.force().n();
    first_gentle(
        on,
        limit,
        (RemedyKind::LessForce, "N"),
        downward(now, LEAST_FORCE_N, 1.0),
        |n| setup.clone().at_force(Force::from_n(n)).ok(),
        |n, kpa| {
            format!(
                "at {n:.0} N the pad presses with no more than {kpa:.1} kPa here, {ratio:.2} times the flat's at {now:.0} N"
            )
        },
        format!("not even {LEAST_FORCE_N:.0} N brings the pressure down to {ratio:.2} times the flat's"),
    )
}

fn edge_changes(setup: &Setup, here: &[&Place], step: f64, on: &Trial<'_>, flat_peak: f64) -> Vec<Remedy> {
    let limit = EDGE_PRESSURE * flat_peak;
    // The nearest that a pad centre may come to the edge with every place further in below the limit.
    let mut inset: f64 = 0.0;
    for p in here {
        if p.state.is_none_or(|s| s.overhang_share > OVERHANG && s.peak_pressure_pa > limit) {
            inset = inset.max(p.clearance + 0.5 * step);
        }
    }
    let keep = Remedy {
        kind: RemedyKind::KeepRimOn,
        value: Some(Length::from_m(inset).mm().ceil()),
        unit: "mm",
        reason: format!(
            "keep the pad centre {:.0} mm from the edge: nowhere further in does the overhang press harder than {EDGE_PRESSURE:.2} times the flat's",
            Length::from_m(inset).mm().ceil()
        ),
        verified: true,
        spin: None,
        setup: None,
    };
    vec![keep, less_force(setup, on, limit, EDGE_PRESSURE)]
}

fn crown_changes(setup: &Setup, on: &Trial<'_>, flat_peak: f64) -> Vec<Remedy> {
    let limit = CROWN_PRESSURE * flat_peak;
    let softer = first_gentle(
        on,
        limit,
        (RemedyKind::SofterPad, "% of stiffness"),
        downward(100.0, 20.0, 5.0),
        |percent| softened(setup, percent),
        |percent, kpa| {
            format!("a pad of at most {percent:.0} % of this one's stiffness presses with {kpa:.1} kPa here")
        },
        "no pad down to a fifth of the stiffness presses gently enough, or it bottoms out".to_owned(),
    );
    let mut out = vec![less_force(setup, on, limit, CROWN_PRESSURE), softer];
    if setup.pad().interface().is_none() {
        out.push(first_gentle(
            on,
            limit,
            (RemedyKind::InterfaceLayer, "kPa/mm"),
            downward(5.1, 0.2, 0.2),
            |k| layered(setup, k),
            |k, kpa| {
                format!("with a {LAYER_MM:.0} mm layer of at most {k:.1} kPa/mm the pad presses with {kpa:.1} kPa here")
            },
            format!("no {LAYER_MM:.0} mm layer from 5 down to 0.2 kPa/mm is enough, or it bottoms out"),
        ));
    }
    out
}
