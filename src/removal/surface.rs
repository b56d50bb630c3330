//! Work on a real panel: contact and spin solved at every stop of the path, the cut put where the pad
//! really touches.
//!
//! A stop stands for a short stretch of the path. At each one the pad is held in the frame of the
//! surface, contact and spin are solved on the relief under it ([`PlaceSolver`]), and the orbit mean
//! of the rates is added to every cell within reach: the pressure at the cell's own gap times an orbit
//! average that depends on the distance from the tool axis and on the spin. A cell that is inclined to
//! the pad takes its share by its area as the pad sees it, so that the volume is kept.

use super::field::{FieldError, MAX_BYTES};
use super::surface_map::SurfaceMap;
use crate::contact::{ContactError, LocalSettings};
use crate::math::elliptic::mean_speed;
use crate::math::reduce::{for_bands, map_indexed};
use crate::motion::Face;
use crate::panel::{Frame, Surface};
use crate::spin::{PlaceSolver, PlaceState, Setup};

/// A short stretch of a path, worked as if the pad stood in its middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// Place in plan \[m\].
    pub at: (f64, f64),
    /// Time spent \[s\].
    pub time_s: f64,
    /// Share of the step's force \[1\], 0 to 100; 0 for a lifted pad.
    pub force_share: f64,
    /// Number of the pass, from 0.
    pub pass: u32,
}

/// Numerical knobs of the work on a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceSettings {
    /// Contact at each stop; [`LocalSettings::default`] unless set.
    pub contact: LocalSettings,
    /// Radius within which the surface gives the pad its attitude, share of the pad's radius \[1\]; 0.125
    /// unless set.
    pub attitude_share: f64,
}

impl Default for SurfaceSettings {
    fn default() -> Self {
        Self { contact: LocalSettings::default(), attitude_share: 0.125 }
    }
}

/// Square cells over the plan of a panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfaceGrid {
    /// Lower corner of the first cell \[m\].
    pub origin: (f64, f64),
    /// Side of a cell in plan \[m\].
    pub cell: f64,
    /// Cells along x and y.
    pub count: (usize, usize),
}

impl SurfaceGrid {
    /// Cells of side `cell` \[m\] over the outline of a panel.
    ///
    /// # Errors
    /// A cell outside 0.05 to 100 mm, fields of more than [`MAX_BYTES`].
    pub fn over(surface: &Surface, cell: f64) -> Result<Self, crate::Error> {
        crate::equipment::within("map.cell_mm", cell * 1e3, 0.05, 100.0, "mm")?;
        let (low, high) = surface.heights().outline().bounds();
        let cells =
            (((high.0 - low.0) / cell - 1e-6).ceil().max(1.0), ((high.1 - low.1) / cell - 1e-6).ceil().max(1.0));
        let bytes = cells.0 * cells.1 * 8.0 * 20.0;
        if bytes.is_nan() || bytes > MAX_BYTES {
            return Err(FieldError::TooLarge { cells, bytes }.into());
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive and bounded above
        Ok(Self { origin: low, cell, count: (cells.0 as usize, cells.1 as usize) })
    }

    /// Centre of a cell in plan \[m\].
    #[must_use]
    pub fn centre(&self, i: usize, j: usize) -> (f64, f64) {
        (self.origin.0 + (i as f64 + 0.5) * self.cell, self.origin.1 + (j as f64 + 0.5) * self.cell)
    }

    /// Number of cells.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.count.0 * self.count.1
    }

    /// Whether there are no cells.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// Sums on the cells of a panel, row by row from the lowest y.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceField {
    /// ∫ p|v| dt \[J/m²\]; the cut is the map's k_p times it. What a zone's own product cuts is scaled to
    /// that k_p.
    pub work: Vec<f64>,
    /// ∫ |v| dt while pressed \[m\].
    pub slide: Vec<f64>,
    /// Time pressed \[s\].
    pub dwell: Vec<f64>,
    /// Time pressed by a pad below the useful spin \[s\].
    pub stalled: Vec<f64>,
    /// ∫ spin dt while pressed \[rad\].
    pub turned: Vec<f64>,
    /// Largest pressure met \[Pa\].
    pub peak: Vec<f64>,
}

/// One stop with what happened there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkedStop {
    /// The stop.
    pub stop: Stop,
    /// How the pad ran; `None` where nothing of it was over the panel.
    pub state: Option<PlaceState>,
}

/// Why a surface cannot be worked.
#[derive(Debug, Clone, PartialEq)]
pub struct StopError {
    /// Place in plan \[m\].
    pub at: (f64, f64),
    /// What stops the answer there.
    pub source: ContactError,
}

impl core::fmt::Display for StopError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "at x {:.0} mm, y {:.0} mm of the panel: {}", self.at.0 * 1e3, self.at.1 * 1e3, self.source)
    }
}

impl std::error::Error for StopError {}

/// Steps of the tables over the square of the distance.
const STEPS: usize = 512;
/// Force levels between zero and the step's force at which the throw at the face is worked out.
const LEVELS: f64 = 16.0;
/// Most spins at which the rates are tabulated.
const SPINS: usize = 129;

/// Orbit averages at one distance: sliding speed while covered and backed, while covered, the cover, and
/// the firmest backing. Side by side, since a cell reads all of them.
type Averages = [f64; 4];

/// Orbit averages over ρ², and the mean of the phase cosine weighted with the backed speed, which only a
/// tilted pad asks for.
#[derive(Debug, Clone, Default)]
struct RateRow {
    rates: Vec<Averages>,
    lean: Vec<f64>,
}

struct Level {
    share: f64,
    solver: PlaceSolver,
    spins: (f64, f64),
    rows: Vec<RateRow>,
}

fn distance(face: &Face, k: usize) -> f64 {
    face.reach() * (k as f64 / STEPS as f64).sqrt()
}

fn rate_row(face: &Face, rate: f64, spin: f64) -> RateRow {
    let mut row = RateRow::default();
    let mut arcs = Vec::new();
    for k in 0..=STEPS + 1 {
        let rho = distance(face, k.min(STEPS));
        let (a, b) = (face.orbit() * (rate - spin), spin * rho);
        arcs.clear();
        face.arcs(rho.max(1e-9), 16, &mut arcs);
        let (mut work, mut slide, mut lean) = (0.0, 0.0, 0.0);
        for p in &arcs {
            let v = (a * a + b * b + 2.0 * a * b * p.cosine).max(0.0).sqrt();
            work += p.weight * v;
            slide += p.cover * v;
            lean += p.weight * v * p.cosine;
        }
        if face.always_covered(rho, rho) {
            work = mean_speed(a, b);
            slide = work;
        }
        let nearest = (rho - face.orbit()).abs().max(face.hole());
        let firmest = if nearest <= face.radius() { face.backing(nearest) } else { 0.0 };
        row.lean.push(if work > 0.0 { lean / work } else { 0.0 });
        row.rates.push([work, slide, face.occupancy(rho), firmest]);
    }
    row
}

impl Level {
    fn new(setup: &Setup, share: f64, settings: &LocalSettings) -> Result<Self, crate::RangeError> {
        let solver = PlaceSolver::new(setup, share, settings)?;
        Ok(Self { share, solver, spins: (0.0, 0.0), rows: Vec::new() })
    }

    /// Tabulates the rates over the spins that were met.
    fn tabulate(&mut self, spins: (f64, f64)) {
        let face = *self.solver.nodes().face();
        let rate = self.solver.setup().tool().rate().rad_s();
        let span = spins.1 - spins.0;
        let count = if span > 1e-9 { SPINS } else { 1 };
        self.rows =
            map_indexed(count, |i| rate_row(&face, rate, spins.0 + span * i as f64 / (count.max(2) - 1) as f64));
        self.spins = spins;
    }

    /// Rates at a spin, read linearly between the tabulated ones.
    fn row(&self, spin: f64, out: &mut RateRow) {
        let last = self.rows.len() - 1;
        let span = self.spins.1 - self.spins.0;
        let place = if last == 0 { 0.0 } else { ((spin - self.spins.0) / span).clamp(0.0, 1.0) * last as f64 };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place ≤ last
        let i = (place as usize).min(last.saturating_sub(1));
        let (low, high, t) = (&self.rows[i], &self.rows[(i + 1).min(last)], place - i as f64);
        let mix = |a: f64, b: f64| a + t * (b - a);
        out.rates.clear();
        out.rates.extend(low.rates.iter().zip(&high.rates).map(|(a, b)| {
            let mut both = *a;
            for (x, y) in both.iter_mut().zip(b) {
                *x = mix(*x, *y);
            }
            both
        }));
        out.lean.clear();
        out.lean.extend(low.lean.iter().zip(&high.lean).map(|(a, b)| mix(*a, *b)));
    }
}

/// What one stop adds, ready to be put on cells.
struct Stamp {
    /// Index of the stop.
    stop: usize,
    level: usize,
    frame: Frame,
    heave: f64,
    slopes: (f64, f64),
    spin: f64,
    sticks: bool,
    stalled: bool,
    time: f64,
    /// Preston coefficient over that of the map: a zone may have its own pad or product.
    gain: f64,
}

/// Length of path that one stop may stand for \[m\]: half the orbit, so that the ramp of the cover at
/// the rim is met, but no finer than a 130th and no coarser than a 20th of the pad's radius.
///
/// # Example
/// ```
/// use trochoid::removal::stop_length;
/// use trochoid::*;
/// # fn main() -> Result<(), RangeError> {
/// let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_opm(4200.0), 0.1)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// // Half of the 6 mm of the orbit; a 20th of the radius would be 3.25 mm.
/// assert!((stop_length(&setup) - 3e-3).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// The bounds are own choices, from the tests of the volume.
#[must_use]
pub fn stop_length(setup: &Setup) -> f64 {
    let radius = setup.pad().radius();
    (0.5 * setup.face_orbit().radius_m).clamp(radius / 130.0, radius / 20.0)
}

/// A set-up and the places that it is for; one without a test is for everywhere.
#[derive(Clone, Copy)]
pub struct ZoneSetup<'a> {
    /// The set-up.
    pub setup: &'a Setup,
    /// Whether a place in plan \[m\] belongs to the zone.
    pub holds: Option<&'a (dyn Fn((f64, f64)) -> bool + Sync)>,
}

/// Works a panel: `setup` led over the stops, on cells of `cell` \[m\] in plan. The pad counts as
/// stalled below `useful_spin` \[rad/s\].
///
/// ```text
/// W(x) = Σ t_i p_i(x) ⟨|v|⟩_i(x) n_i·n(x)      [J/m²]
///
/// t_i time of stop i [s];  p_i pressure at the cell's own gap [Pa];  ⟨|v|⟩_i mean sliding speed while
/// covered and backed [m/s];  n_i, n normals of the pad and of the surface [1]
/// ```
///
/// # Assumptions and valid range
/// The pad stands in the middle of each stretch, with the spin that it would settle to there; feed left
/// out of |v|; plate held square to the surface as smoothed over `settings.attitude_share` of the pad's
/// radius, unless the set-up holds it otherwise.
///
/// # Accuracy
/// Against the exact deposit on a patch of constant curvature: within 0.5 % of the cut, volume within
/// 0.3 % (tests). Rates are read linearly from tables of 512 distances and up to 129 spins; the throw
/// at the face is that of the nearest sixteenth of the force where it is ramped. A tilted pad's swing
/// of the pressure over an orbit is exact for a linear law in full contact, first order otherwise: the
/// cells then lose a share of the volume of about the square of e_f·slope over the largest compression
/// (1 % at a tenth; a stiff pad that hardly presses and tips to and fro loses most of it).
///
/// # Errors
/// As [`SurfaceGrid::over`]; a force share outside 0 to 100; a stop where the pad bottoms out, with its
/// place.
///
/// # Example
/// ```
/// use trochoid::panel::{HeightMap, Surface};
/// use trochoid::removal::{Stop, SurfaceMap, SurfaceSettings, work_surface};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.01)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let flat = Surface::new(HeightMap::from_function((0.0, 0.0), (0.3, 0.3), 5e-3, |_, _| 0.0)?);
/// let stop = Stop { at: (0.15, 0.15), time_s: 1.0, force_share: 1.0, pass: 0 };
/// let map = work_surface(&setup, &flat, &[stop], 2e-3, 6.28, &SurfaceSettings::default())?;
/// // k_p N eΩ t = 2e-11 × 35 N × 3.30 m/s × 1 s = 2.31 mm³, all of it on the cells.
/// assert!((map.volume_m3 * 1e9 - 2.31).abs() < 0.02);
/// assert!((map.volume_on_cells_m3() / map.volume_m3 - 1.0).abs() < 3e-3);
/// // The pad of 65 mm comes 7.5 mm further: π 72.5² of 300² mm² are touched.
/// assert!((map.covered_share() - 0.1835).abs() < 5e-3);
/// // Geared to 42 turns a minute it is below the useful spin, and yet no stalled pad: nothing can stop it.
/// assert!(map.stalled_share() <= 0.0);
/// // The same stop twice.
/// let twice = SurfaceMap::sum(&[map.clone(), map.clone()], 0, &[vec![0], vec![1]]);
/// assert!(twice.is_some_and(|t| (t.volume_m3 / map.volume_m3 - 2.0).abs() < 1e-12));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own method, see `notebooks-free-docs/theory-surfaces.md`.
pub fn work_surface(
    setup: &Setup,
    surface: &Surface,
    stops: &[Stop],
    cell: f64,
    useful_spin: f64,
    settings: &SurfaceSettings,
) -> Result<SurfaceMap, crate::Error> {
    work_zones(&[ZoneSetup { setup, holds: None }], surface, stops, cell, useful_spin, settings)
}

/// As [`work_surface`], with a set-up of its own in each zone: stops whose place fulfils a zone's test
/// take its set-up, the first that fits; the last entry takes the rest.
///
/// The work of a zone is scaled to the Preston coefficient of the last entry. See the example of
/// [`work_surface`].
///
/// # Errors
/// As [`work_surface`]; no zone at all.
pub fn work_zones(
    zones: &[ZoneSetup<'_>],
    surface: &Surface,
    stops: &[Stop],
    cell: f64,
    useful_spin: f64,
    settings: &SurfaceSettings,
) -> Result<SurfaceMap, crate::Error> {
    let grid = SurfaceGrid::over(surface, cell)?;
    let Some(ZoneSetup { setup, .. }) = zones.last() else {
        return Err(crate::RangeError::new("zones", 0.0, "", "1 or more").into());
    };
    let Stamped { levels, which, states, stamps } = stamp_all(zones, setup, surface, stops, useful_spin, settings)?;
    let cells = Cells::of(surface, grid);
    let field = deposit(&levels, &stamps, &cells);
    let preston = setup.product().preston_per_pa();
    let zone_preston = |level: usize| levels[level].solver.setup().product().preston_per_pa();
    let volume: f64 = (0..stops.len())
        .filter_map(|i| Some(zone_preston(which[i]?) * states[i]?.1.sums.speed_w * stops[i].time_s))
        .sum();
    let tape =
        (0..grid.len()).filter(|k| cells.taped[*k]).map(|k| field.work[k] * cells.area[k]).sum::<f64>() * preston;
    Ok(SurfaceMap {
        grid,
        field,
        area: cells.area,
        edge: cells.edge,
        clearance: cells.clearance,
        taped: cells.taped,
        preston_per_pa: preston,
        grains_per_m2: setup.pad().grains_per_m2(),
        useful_spin,
        driven: setup.tool().bearing().is_none(),
        reach_m: setup.pad().radius() + setup.face_orbit().radius_m,
        volume_m3: volume,
        tape_m3: tape,
        stops: (0..stops.len()).map(|i| WorkedStop { stop: stops[i], state: states[i].map(|s| s.1) }).collect(),
    })
}

/// Every stop solved.
struct Stamped {
    levels: Vec<Level>,
    /// The level of each stop; none for a lifted pad.
    which: Vec<Option<usize>>,
    states: Vec<Option<(Frame, PlaceState)>>,
    stamps: Vec<Stamp>,
}

/// Solves contact and spin at every stop. Gains are counted from the Preston coefficient of `setup`.
fn stamp_all(
    zones: &[ZoneSetup<'_>],
    setup: &Setup,
    surface: &Surface,
    stops: &[Stop],
    useful_spin: f64,
    settings: &SurfaceSettings,
) -> Result<Stamped, crate::Error> {
    let (mut levels, which) = prepare(zones, stops, &settings.contact)?;
    let states = solve_stops(&levels, &which, surface, stops, settings)?;
    for (k, (_, level)) in levels.iter_mut().enumerate() {
        let own = states.iter().zip(&which).filter(|(_, w)| **w == Some(k));
        let spins = own.filter_map(|(s, _)| s.as_ref().map(|s| s.1.spin));
        let (low, high) = spins.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| (a.min(s), b.max(s)));
        if low <= high {
            level.tabulate((low, high));
        }
    }
    let stamps: Vec<Stamp> = (0..stops.len())
        .filter_map(|i| {
            let ((frame, state), level) = (states[i]?, which[i]?);
            Some(Stamp {
                stop: i,
                level,
                frame,
                heave: state.heave_m,
                slopes: state.slopes,
                spin: state.spin,
                sticks: state.sticks,
                stalled: state.sticks || levels[level].1.solver.setup().stalls_at(state.spin, useful_spin),
                time: stops[i].time_s,
                gain: levels[level].1.solver.setup().product().preston_per_pa() / setup.product().preston_per_pa(),
            })
        })
        .collect();
    let levels: Vec<Level> = levels.into_iter().map(|(_, l)| l).collect();
    Ok(Stamped { levels, which, states, stamps })
}

/// What each stop takes off in a second, cell by cell.
#[derive(Debug, Clone)]
pub struct SurfaceColumns {
    /// The cells.
    pub grid: SurfaceGrid,
    /// Cut of each stop, m/s: (cell, amount), on cells that are paint to be worked.
    pub columns: Vec<super::Column>,
    /// Distance of each cell to the nearest edge, tape line or border of the work region \[m\].
    pub clearance: Vec<f64>,
    /// Whether a cell counts as paint to be worked.
    pub workable: Vec<bool>,
    /// Distance from the tool axis beyond which nothing is touched \[m\].
    pub reach_m: f64,
    /// Whether the pad turns slower than the useful spin, or sticks, at each stop.
    pub stalled: Vec<bool>,
}

/// The cut rate of every stop on cells of `cell` \[m\]; the time of the stops is not read. See the
/// example of [`work_surface`].
///
/// # Accuracy
/// As [`work_surface`].
///
/// # Errors
/// As [`work_surface`].
pub fn stop_columns(
    setup: &Setup,
    surface: &Surface,
    stops: &[Stop],
    cell: f64,
    useful_spin: f64,
    settings: &SurfaceSettings,
) -> Result<SurfaceColumns, crate::Error> {
    let grid = SurfaceGrid::over(surface, cell)?;
    let each: Vec<Stop> = stops.iter().map(|s| Stop { time_s: 1.0, ..*s }).collect();
    let stamped = stamp_all(&[ZoneSetup { setup, holds: None }], setup, surface, &each, useful_spin, settings)?;
    let cells = Cells::of(surface, grid);
    let workable: Vec<bool> =
        (0..grid.len()).map(|k| cells.area[k] > 0.0 && !cells.taped[k] && cells.clearance[k] >= 0.0).collect();
    let preston = setup.product().preston_per_pa();
    let (nx, ny) = grid.count;
    let made = map_indexed(stamped.stamps.len(), |k| {
        let stamp = &stamped.stamps[k];
        let level = &stamped.levels[stamp.level];
        let mut rates = RateRow::default();
        level.row(stamp.spin, &mut rates);
        let reach = REACH_MARGIN * level.solver.reach();
        let row = |y: f64| ((y - grid.origin.1) / grid.cell).clamp(0.0, ny as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
        let (from, to) = (row(stamp.frame.foot[1] - reach) as usize, row(stamp.frame.foot[1] + reach).ceil() as usize);
        let mut column = Vec::new();
        let mut lanes = vec![0.0; nx * LANES];
        for j in from..to {
            lanes.fill(0.0);
            add_to_row(stamp, level, &rates, &cells, j, &mut lanes);
            for (i, work) in lanes[..nx].iter().enumerate() {
                let cell = j * nx + i;
                if *work > 0.0 && workable[cell] {
                    column.push((u32::try_from(cell).unwrap_or(u32::MAX), preston * work));
                }
            }
        }
        column
    });
    let mut columns = vec![Vec::new(); stops.len()];
    let mut stalled = vec![false; stops.len()];
    for (stamp, column) in stamped.stamps.iter().zip(made) {
        columns[stamp.stop] = column;
        stalled[stamp.stop] = stamp.stalled;
    }
    let reach_m = setup.pad().radius() + setup.face_orbit().radius_m;
    Ok(SurfaceColumns { grid, columns, clearance: cells.clearance, workable, reach_m, stalled })
}

/// How the pad runs at each stop, and how it is held there; `None` where nothing of it is over the panel.
fn solve_stops(
    levels: &[(usize, Level)],
    which: &[Option<usize>],
    surface: &Surface,
    stops: &[Stop],
    settings: &SurfaceSettings,
) -> Result<Vec<Option<(Frame, PlaceState)>>, crate::Error> {
    let heights = surface.heights();
    let states = map_indexed(stops.len(), |i| {
        let Some(level) = which[i] else { return Ok(None) };
        let solver = &levels[level].1.solver;
        let radius = settings.attitude_share * solver.setup().pad().radius();
        let (x, y) = stops[i].at;
        if heights.edge_distance_at(x, y) < -solver.reach() {
            return Ok(None);
        }
        let frame = heights.frame_at(x, y, radius);
        match solver.at(heights, &frame) {
            Ok(state) => Ok(Some((frame, state))),
            Err(ContactError::NotConverged { heave_m, .. }) if heave_m.is_nan() => Ok(None),
            Err(source) => Err(StopError { at: stops[i].at, source }),
        }
    });
    states.into_iter().collect::<Result<Vec<_>, StopError>>().map_err(crate::Error::Stop)
}

/// How the pad of `setup` runs at every stop: what [`work_surface`] finds there, without the fields. See
/// the example of [`work_surface`].
///
/// # Errors
/// A stop where the pad bottoms out, with its place.
pub fn worked_stops(
    setup: &Setup,
    surface: &Surface,
    stops: &[Stop],
    settings: &SurfaceSettings,
) -> Result<Vec<WorkedStop>, crate::Error> {
    let (levels, which) = prepare(&[ZoneSetup { setup, holds: None }], stops, &settings.contact)?;
    let states = solve_stops(&levels, &which, surface, stops, settings)?;
    Ok(stops.iter().zip(states).map(|(stop, s)| WorkedStop { stop: *stop, state: s.map(|s| s.1) }).collect())
}

/// The levels in use, each with its zone, and the one of each stop; none for a lifted pad.
#[allow(clippy::type_complexity)] // two lists that belong together
fn prepare(
    zones: &[ZoneSetup<'_>],
    stops: &[Stop],
    settings: &LocalSettings,
) -> Result<(Vec<(usize, Level)>, Vec<Option<usize>>), crate::RangeError> {
    let mut levels: Vec<(usize, Level)> = Vec::new();
    let mut which = Vec::with_capacity(stops.len());
    for stop in stops {
        crate::equipment::within("force share", stop.force_share, 0.0, 100.0, "")?;
        if stop.force_share <= 0.0 {
            which.push(None);
            continue;
        }
        let zone = zones.iter().position(|z| z.holds.is_none_or(|t| t(stop.at))).unwrap_or(zones.len() - 1);
        // A ramp comes down to a sixteenth, below which the pad hardly touches.
        let share = ((stop.force_share * LEVELS).round() / LEVELS).max(1.0 / LEVELS);
        let known = levels.iter().position(|(z, l)| *z == zone && (l.share - share).abs() < 1e-9);
        let at = match known {
            Some(at) => at,
            None => {
                levels.push((zone, Level::new(zones[zone].setup, share, settings)?));
                levels.len() - 1
            }
        };
        which.push(Some(at));
    }
    Ok((levels, which))
}

/// Cells with their place on the surface.
struct Cells {
    grid: SurfaceGrid,
    height: Vec<f64>,
    /// Outward normal.
    normal: Vec<[f64; 3]>,
    area: Vec<f64>,
    edge: Vec<f64>,
    clearance: Vec<f64>,
    taped: Vec<bool>,
}

impl Cells {
    fn of(surface: &Surface, grid: SurfaceGrid) -> Self {
        let heights = surface.heights();
        let half = 0.5 * grid.cell;
        let rows = map_indexed(grid.count.1, |j| {
            (0..grid.count.0)
                .map(|i| {
                    let (x, y) = grid.centre(i, j);
                    let h = half.max(0.5 * heights.step());
                    let slope = (
                        (heights.height_at(x + h, y) - heights.height_at(x - h, y)) / (2.0 * h),
                        (heights.height_at(x, y + h) - heights.height_at(x, y - h)) / (2.0 * h),
                    );
                    let edge = heights.edge_distance_at(x, y);
                    let share = (0.5 + edge / grid.cell).clamp(0.0, 1.0);
                    let stretch = (1.0 + slope.0 * slope.0 + slope.1 * slope.1).sqrt();
                    let area = share * stretch * grid.cell * grid.cell;
                    let normal = [-slope.0 / stretch, -slope.1 / stretch, 1.0 / stretch];
                    (heights.height_at(x, y), normal, area, edge, surface.clearance_at(x, y), surface.taped_at(x, y))
                })
                .collect::<Vec<_>>()
        });
        let mut out = Self {
            grid,
            height: Vec::with_capacity(grid.len()),
            normal: Vec::with_capacity(grid.len()),
            area: Vec::with_capacity(grid.len()),
            edge: Vec::with_capacity(grid.len()),
            clearance: Vec::with_capacity(grid.len()),
            taped: Vec::with_capacity(grid.len()),
        };
        for (height, normal, area, edge, clearance, taped) in rows.into_iter().flatten() {
            out.height.push(height);
            out.normal.push(normal);
            out.area.push(area);
            out.edge.push(edge);
            out.clearance.push(clearance);
            out.taped.push(taped);
        }
        out
    }
}

/// Rows of cells that one piece of parallel work takes.
const BAND: usize = 24;
/// Quantities laid side by side in a row.
const LANES: usize = 6;

fn deposit(levels: &[Level], stamps: &[Stamp], cells: &Cells) -> SurfaceField {
    let grid = cells.grid;
    let (nx, ny) = grid.count;
    // Stamps that touch each band, in order.
    let mut of_band = vec![Vec::new(); ny.div_ceil(BAND)];
    for (k, s) in stamps.iter().enumerate() {
        let reach = REACH_MARGIN * levels[s.level].solver.reach();
        let row = |y: f64| (y - grid.origin.1) / grid.cell / BAND as f64;
        let (low, high) = (row(s.frame.foot[1] - reach), row(s.frame.foot[1] + reach));
        if high < 0.0 || low >= of_band.len() as f64 {
            continue;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the bands
        let (low, high) = (low.max(0.0) as usize, (high as usize).min(of_band.len() - 1));
        for band in &mut of_band[low..=high] {
            band.push(k);
        }
    }
    let mut all = vec![0.0; nx * ny * LANES];
    for_bands(&mut all, nx * LANES, BAND, |first, rows| {
        let mut row = RateRow::default();
        for k in &of_band[first / BAND] {
            let stamp = &stamps[*k];
            let level = &levels[stamp.level];
            level.row(stamp.spin, &mut row);
            for (j, lanes) in rows.chunks_mut(nx * LANES).enumerate() {
                add_to_row(stamp, level, &row, cells, first + j, lanes);
            }
        }
    });
    let lane = |n: usize| -> Vec<f64> {
        all.chunks(nx * LANES).flat_map(|row| row[n * nx..(n + 1) * nx].iter().copied()).collect()
    };
    SurfaceField { work: lane(0), slide: lane(1), dwell: lane(2), stalled: lane(3), turned: lane(4), peak: lane(5) }
}

/// How far in plan a pad can touch, over its reach: a surface that falls away below a steep pad comes
/// out from under it in plan.
const REACH_MARGIN: f64 = 1.15;

fn add_to_row(stamp: &Stamp, level: &Level, rates: &RateRow, cells: &Cells, j: usize, lanes: &mut [f64]) {
    let (grid, frame) = (&cells.grid, &stamp.frame);
    let nx = grid.count.0;
    let face = level.solver.nodes().face();
    let reach = face.reach();
    let (x0, y) = grid.centre(0, j);
    let dy = y - frame.foot[1];
    let far = REACH_MARGIN * reach;
    let half = far * far - dy * dy;
    if half <= 0.0 {
        return;
    }
    let half = half.sqrt();
    let place = |x: f64| ((x - x0) / grid.cell).clamp(0.0, nx as f64);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the row
    let (from, to) =
        (place(frame.foot[0] - half).ceil() as usize, (place(frame.foot[0] + half).floor() as usize + 1).min(nx));
    let (work, rest) = lanes.split_at_mut(nx);
    let (slide, rest) = rest.split_at_mut(nx);
    let (dwell, rest) = rest.split_at_mut(nx);
    let (stalled, rest) = rest.split_at_mut(nx);
    let (turned, peak) = rest.split_at_mut(nx);
    let per_step = STEPS as f64 / (reach * reach);
    let (n, tx, ty) = (&frame.normal, &frame.x, &frame.y);
    let e = face.orbit();
    let tilted = stamp.slopes.0.abs().max(stamp.slopes.1.abs()) > 0.0;
    let nodes = level.solver.nodes();
    let dwelling = if stamp.stalled { stamp.time } else { 0.0 };
    let cutting = if stamp.sticks { 0.0 } else { stamp.gain * stamp.time };
    let sliding = if stamp.sticks { 0.0 } else { stamp.time };
    let row = j * nx;
    let (height, area, normal) =
        (&cells.height[row..row + nx], &cells.area[row..row + nx], &cells.normal[row..row + nx]);
    for i in from..to {
        let dx = x0 + i as f64 * grid.cell - frame.foot[0];
        let dz = height[i] - frame.foot[2];
        let (lx, ly) = (tx[0] * dx + tx[1] * dy + tx[2] * dz, ty[0] * dx + ty[1] * dy + ty[2] * dz);
        let place = (lx * lx + ly * ly) * per_step;
        if place >= STEPS as f64 || area[i] <= 0.0 {
            continue;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place < STEPS
        let at = place as usize;
        let t = place - at as f64;
        let mut compression = stamp.heave + n[0] * dx + n[1] * dy + n[2] * dz;
        if tilted {
            let lean = stamp.slopes.0 * lx + stamp.slopes.1 * ly;
            let rho = (lx * lx + ly * ly).sqrt().max(1e-9);
            let swing = rates.lean[at] + t * (rates.lean[at + 1] - rates.lean[at]);
            compression += lean - e * swing * lean / rho;
        }
        let pressure = nodes.pressure(compression);
        if pressure <= 0.0 {
            continue;
        }
        let (low, high) = (&rates.rates[at], &rates.rates[at + 1]);
        let read = |k: usize| low[k] + t * (high[k] - low[k]);
        // Area as the pad sees it over area on the surface.
        let facing = n[0] * normal[i][0] + n[1] * normal[i][1] + n[2] * normal[i][2];
        let cover = read(2);
        work[i] += cutting * pressure * read(0) * facing;
        slide[i] += sliding * read(1);
        dwell[i] += stamp.time * cover;
        turned[i] += stamp.time * cover * stamp.spin;
        stalled[i] += dwelling * cover;
        peak[i] = f64::max(peak[i], pressure * read(3));
    }
}
