//! What the grains of a step draw, and its map worked grain by grain.

use super::lamp::{LampSettings, ScratchLayer, scratch_directions, under_lamp};
use super::step::StepTask;
use crate::contact::{Contact, ContactSettings, solve};
use crate::error::{Error, RangeError};
use crate::finish::{Halo, Scratches};
use crate::math::random::Seed;
use crate::motion::{Face, GrainPath, Leg, ToolPath};
use crate::panel::Patch;
use crate::removal::grains::{Agreement, agreement, touched_share};
use crate::removal::{
    GrainCase, GrainFields, GrainRun, GrainSettings, Grains, Grid, LoopShape, Mask, NearRepeat, PanelMap, Precision,
    Quantity, Rose, Travel, grain_fields, grain_quantity, loop_shape, near_repeat, rose,
};
use crate::spin::{Setup, SpinState, StallSettings, spin_state};
use crate::units::Length;
use core::f64::consts::TAU;

/// Standard deviation of the smoothing before maps are compared, m.
const SMOOTHING_M: f64 = 5e-3;
/// The same for the direction of scratches, over the radius of the face: a few grain spacings.
const DIRECTION_SHARE: f64 = 0.06;
/// Way of a grain between two steps where single cells count, m: a tenth of a cell of 0.5 mm.
const CLOSED_STRIDE_M: f64 = 0.05e-3;
/// Steps an orbit where single cells count, at least.
const CLOSED_STEPS: f64 = 1000.0;

/// Works the panel of a task grain by grain: the map, and what the simulation took with how well the
/// footprint agrees with it; `None` for the latter where the face sticks and nothing is cut.
///
/// # Assumptions and valid range
/// `count` grains spread evenly over the face at places drawn from `seed`, each carrying its share of the
/// local pressure; contact and spin are those of the step and do not change along the path.
///
/// # Accuracy
/// A sample: compared after smoothing over 5 mm; the error falls as one over the root of the grains. Cost: some
/// tens of steps an orbit for every grain.
///
/// # Errors
/// As [`StepTask::map`] and [`grain_fields`]; a step with phases.
///
/// # Example
/// ```
/// use trochoid::plan::{StepTask, Working, map_by_grains};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let side = Length::from_mm(200.0);
/// let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// let (map, compared) = map_by_grains(&task, &Default::default(), 300, 1)?;
/// // 5 lines of 0.2 m and 4 joints of 0.05 m take 30 s at 40 mm/s: k_p N eΩ t = 2e-11 × 35 × 3.299 × 30 s is
/// // 6.927e-8 m³, and the footprint says the same.
/// assert!((map.volume_m3 / 6.927e-8 - 1.0).abs() < 2e-3);
/// assert!(compared.is_some_and(|(_, with_footprint)| with_footprint.volume.abs() < 2e-3));
/// # Ok(())
/// # }
/// ```
pub fn map_by_grains(
    task: &StepTask,
    settings: &StallSettings,
    count: usize,
    seed: u64,
) -> Result<(PanelMap, Option<(GrainRun, Agreement)>), Error> {
    if !task.phases.is_empty() {
        let allowed = "none: with phases of a step use the footprint, which works each as it runs";
        return Err(RangeError::new("phases of a step worked by grains", task.phases.len() as f64, "", allowed).into());
    }
    let mut map = task.map(settings)?;
    let state = spin_state(&task.setup, task.setup.patch(), &settings.contact)?;
    if state.sticks {
        return Ok((map, None));
    }
    let grains = Grains::even(&Face::new(task.setup.pad(), state.face_orbit_m), count, Seed::new(seed))?;
    let case = GrainCase::of(&task.setup, &state, &grains, Travel::Along(&map.path), map.field.grid);
    let fields = grain_fields(&case, &GrainSettings { precision: Precision::Single, ..GrainSettings::default() })?;
    let mut a = agreement(&fields.work, &map.field.work, &map.field.grid, SMOOTHING_M);
    let volume = fields.run.total * map.preston_per_pa;
    a.volume = volume / map.volume_m3 - 1.0;
    let run = fields.run;
    (map.field.work, map.field.slide, map.field.dwell) = (fields.work, fields.slide, fields.dwell);
    map.volume_m3 = volume;
    map.spill_m3 = run.spill * map.preston_per_pa;
    map.cut = map.statistics(&map.field.work, map.preston_per_pa, Mask::Worked);
    map.slide = map.statistics(&map.field.slide, 1.0, Mask::Worked);
    map.dwell = map.statistics(&map.field.dwell, 1.0, Mask::Worked);
    Ok((map, Some((run, a))))
}

/// What a trace is made with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TraceSettings {
    /// Seed of the grains' places; default 1.
    pub seed: u64,
    /// Width of a grain's trace, m; default 10 µm.
    pub grain_width_m: f64,
    /// Feed of the pass, m/s; default 0.04.
    pub feed_m_s: f64,
    /// Spin of the rotary pad that is drawn for comparison \[rad/s\]; default 1200 rpm.
    pub rotary_spin: f64,
    /// RMS roughness of the marks that are looked at under a lamp, the same for every drive, m; default 20 nm.
    pub marks_rms_m: f64,
    /// The lamp.
    pub lamp: LampSettings,
}

impl Default for TraceSettings {
    fn default() -> Self {
        // 10 µm, 40 mm/s, 1200 rpm and 20 nm: assumed, for comparison only.
        Self {
            seed: 1,
            grain_width_m: 10e-6,
            feed_m_s: 0.04,
            rotary_spin: 1200.0 * TAU / 60.0,
            marks_rms_m: 20e-9,
            lamp: LampSettings::default(),
        }
    }
}

/// One way of driving the pad of a trace.
#[derive(Debug, Clone)]
pub struct TraceDrive {
    /// Name, such as "stalled".
    pub name: String,
    /// Orbit radius at the face, m.
    pub orbit_m: f64,
    /// Spin \[rad/s\].
    pub spin: f64,
    /// Sliding length of a few grains standing for a few orbits, on fine cells \[m/m²\].
    pub traces: Vec<f64>,
    /// Share of the cells of 0.5 mm inside R − e that 200 grains touch after so many orbits \[1\].
    pub touched: Vec<(f64, f64)>,
    /// Sums of one straight pass, on the panel grid.
    pub pass: GrainFields,
    /// Directions at the middle of the pass, half a radius beside its line; `None` where nothing is worked
    /// there.
    pub rose: Option<Rose>,
    /// Mean anisotropy across the middle of the pass \[1\], 0 to 1; `None` where nothing is worked there.
    pub anisotropy: Option<f64>,
    /// Look of a pass over a square under a lamp.
    pub halo: Halo,
}

/// What the grains of a step draw.
#[derive(Debug, Clone)]
pub struct GrainTrace {
    /// The pad as it runs, the same stalled, and a rotary one of the same size.
    pub drives: Vec<TraceDrive>,
    /// When a grain at the rim of the running pad comes back into its trace; `None` for longer than any
    /// job, and for a rotary pad.
    pub repeat: Option<NearRepeat>,
    /// Loop of a grain at half the radius of the running pad; `None` for a rotary pad.
    pub loops: Option<LoopShape>,
    /// Grid of the traces.
    pub trace_grid: Grid,
    /// Grid of the pass.
    pub pass_grid: Grid,
    /// Standard deviation of the smoothing before the order of the scratches is told, m.
    pub smoothing_m: f64,
    /// Orbits drawn \[1\], grains drawn.
    pub drawn: (f64, usize),
    /// What it was made with.
    pub settings: TraceSettings,
}

/// Orbits of the traces, and their grains.
const DRAWN: (f64, usize) = (6.0, 24);
/// Orbits after which what is touched is counted.
const COUNTED: [f64; 7] = [1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0];

/// Simulates what the grains of `setup` running as `state` draw.
///
/// Three pads of one size: as it runs, stalled, and a rotary one for comparison; a rotary drive has itself only.
///
/// # Assumptions and valid range
/// Grains sit still in the face. Traces are those of 24 grains standing for 6 orbits, the touched share that of
/// 200 grains on cells of 0.5 mm, the pass one straight line over the middle.
///
/// # Accuracy
/// Steps of a tenth of a cell where single cells count; elsewhere a sample of 300 to 1500 grains.
///
/// # Errors
/// A face that sticks draws nothing; as [`grain_quantity`] otherwise.
///
/// # Example
/// ```
/// use trochoid::plan::{TraceSettings, trace_grains};
/// use trochoid::spin::spin_state;
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(18.0), AngularRate::from_opm(4200.0), 0.05)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let state = spin_state(&setup, setup.patch(), &Default::default())?;
/// let trace = trace_grains(&setup, &state, &TraceSettings::default())?;
/// // A grain of a pad that does not turn goes round its own circle: what 200 of them touch in one orbit, about
/// // 0.37 of the cells inside R − e, is what they touch in 64.
/// let touched = &trace.drives[1].touched;
/// assert!((touched[0].1 - touched[6].1).abs() < 0.01 && (touched[6].1 - 0.37).abs() < 0.03);
/// # Ok(())
/// # }
/// ```
pub fn trace_grains(setup: &Setup, state: &SpinState, settings: &TraceSettings) -> Result<GrainTrace, Error> {
    if state.sticks {
        return Err(
            RangeError::new("throw at the face", 0.0, "mm", "above 0: the face sticks and draws nothing").into()
        );
    }
    let rate = setup.tool().rate().rad_s();
    let radius = setup.pad().radius();
    let orbits = state.face_orbit_m > 0.0;
    let reach = radius + state.face_orbit_m;
    let side = 2.0 * (reach + 3e-3);
    let trace_grid = Grid::over((side, side), side / 200.0)?;
    let pass_grid = Grid::over((2.0 * side, side), side / 120.0)?;
    let mut drives = Vec::new();
    if orbits {
        let patch = *setup.patch();
        let at = |name: &str, spin: f64| {
            one_drive(setup, (&state.contact, &patch), (name, rate, spin), &trace_grid, &pass_grid, settings)
        };
        drives.push(at("as it runs", state.spin)?);
        drives.push(at("stalled", 0.0)?);
    }
    let (rotary, name, spin) = if orbits {
        let force = setup.force().n();
        let held = solve(setup.pad(), setup.patch(), 0.0, setup.hold(), force, &ContactSettings::default())?;
        (held, "rotary", settings.rotary_spin)
    } else {
        (state.contact.clone(), "as it runs", state.spin)
    };
    drives.push(one_drive(setup, (&rotary, setup.patch()), (name, 0.0, spin), &trace_grid, &pass_grid, settings)?);
    let (repeat, loops) = if orbits {
        let grain = GrainPath {
            orbit_m: state.face_orbit_m,
            rate_rad_s: rate,
            spin_rad_s: state.spin,
            radius_m: 0.5 * radius,
            start_rad: 0.0,
            feed_m_s: (0.0, 0.0),
        };
        (near_repeat(rate, state.spin, radius, settings.grain_width_m)?, Some(loop_shape(&grain, 0.0)?))
    } else {
        (None, None)
    };
    let smoothing_m = DIRECTION_SHARE * radius;
    Ok(GrainTrace { drives, repeat, loops, trace_grid, pass_grid, smoothing_m, drawn: DRAWN, settings: *settings })
}

fn one_drive(
    setup: &Setup,
    (contact, patch): (&Contact, &Patch),
    (name, rate, spin): (&str, f64, f64),
    trace_grid: &Grid,
    pass_grid: &Grid,
    settings: &TraceSettings,
) -> Result<TraceDrive, Error> {
    let orbit_m = match &contact.load {
        crate::contact::Load::Rings(r) => r.face().orbit(),
        crate::contact::Load::Tilted(t) => t.face().orbit(),
    };
    let face = Face::new(setup.pad(), orbit_m);
    let seed = settings.seed;
    let grains = |count: usize| Grains::even(&face, count, Seed::new(seed));
    // A rotary pad is followed for as long as an orbiting one.
    let orbit_time = TAU / if rate > 0.0 { rate } else { spin.abs() };
    let middle = |grid: &Grid| {
        let ((nx, ny), (dx, dy)) = (grid.count(), grid.cell());
        (0.5 * nx as f64 * dx, 0.5 * ny as f64 * dy)
    };
    let case = |grains: &'_ Grains,
                travel: Travel<'_>,
                grid: &Grid,
                f: &mut dyn FnMut(&GrainCase<'_>) -> Result<(), Error>| {
        f(&GrainCase {
            contact,
            patch,
            rate_rad_s: rate,
            spin_rad_s: spin,
            start_rad: (0.0, 0.0),
            grains,
            travel,
            grid: *grid,
        })
    };
    // Steps go by the faster of orbit and spin; a grain at the rim makes this way in one of its turns.
    let way = (orbit_m * rate + face.radius() * spin.abs()) * TAU / rate.max(spin.abs());
    let closed =
        GrainSettings { steps_per_orbit: (way / CLOSED_STRIDE_M).max(CLOSED_STEPS), ..GrainSettings::default() };
    let mut traces = Vec::new();
    let few = grains(DRAWN.1)?;
    case(&few, Travel::Standing { at: middle(trace_grid), seconds: DRAWN.0 * orbit_time }, trace_grid, &mut |c| {
        traces = grain_quantity(c, Quantity::Slide, &closed)?.values;
        Ok(())
    })?;
    let side = 2.0 * face.reach();
    let count_grid = Grid::over((side, side), 0.5e-3)?;
    let two_hundred = Grains::random(&face, 200, Seed::new(seed))?;
    let mut touched = Vec::new();
    for orbits in COUNTED {
        let travel = Travel::Standing { at: middle(&count_grid), seconds: orbits * orbit_time };
        case(&two_hundred, travel, &count_grid, &mut |c| {
            let map = grain_quantity(c, Quantity::Slide, &closed)?;
            let inside = face.radius() - face.orbit();
            touched.extend(touched_share(&map.values, &count_grid, middle(&count_grid), inside).map(|s| (orbits, s)));
            Ok(())
        })?;
    }
    let (mx, my) = middle(pass_grid);
    let path = ToolPath::from_legs(vec![Leg::steady((0.0, my), (2.0 * mx, my), settings.feed_m_s, 0)])?;
    let many = grains(1500)?;
    let (mut pass, mut directions) = (None, None);
    case(&many, Travel::Along(&path), pass_grid, &mut |c| {
        let settings =
            GrainSettings { steps_per_orbit: 32.0, precision: Precision::Single, ..GrainSettings::default() };
        pass = Some(grain_fields(c, &settings)?);
        Ok(())
    })?;
    // Eight phases of the orbit a bin, so that the steps of an unspun pad fill all bins alike.
    let some = grains(300)?;
    case(&some, Travel::Along(&path), pass_grid, &mut |c| {
        let settings = GrainSettings { steps_per_orbit: 144.0, ..GrainSettings::default() };
        directions = rose(c, (mx, my + 0.5 * face.radius()), 0.1 * face.radius(), 18, &settings)?;
        Ok(())
    })?;
    let Some(pass) = pass else {
        return Err(RangeError::new("pass", 0.0, "", "one pass over the panel").into());
    };
    let strip = 0.1 * face.radius();
    let anisotropy = pass.mean_anisotropy(
        DIRECTION_SHARE * face.radius(),
        (mx - strip, my - face.radius()),
        (mx + strip, my + face.radius()),
    );
    let mut lamp = settings.lamp;
    lamp.grains.2 = seed;
    lamp.feed_m_s = settings.feed_m_s;
    let marks = ScratchLayer {
        scratches: Scratches::Dense(Length::from_m(settings.marks_rms_m)),
        directions: scratch_directions((contact, patch), (rate, spin), &face, &lamp)?,
    };
    let halo = under_lamp(&[marks], &lamp)?;
    Ok(TraceDrive { name: name.to_owned(), orbit_m, spin, traces, touched, pass, rose: directions, anisotropy, halo })
}
