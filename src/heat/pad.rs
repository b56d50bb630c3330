//! The pad's temperature over a schedule: work, lift-off, an air blow-out, a fresh pad.
//!
//! Heat conduction in a disc ([`PadDisc`]) heated at its face and in its bulk. Not what a hot pad does to
//! itself: that is its wear. Product in the foam is left out: it adds heat capacity and takes heat by
//! evaporating, so that a wet pad stays cooler.

use super::EnergyBalance;
use super::banded::Band;
use super::disc::{Cells, Facing, PadDisc};
use super::hysteresis::BulkHeat;
use super::temperature_within;
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Power, Temperature, Time};

/// The panel in front of a working face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelContact {
    /// Coefficient from the face to the panel \[W/(m² K)\]: one over the panel's rise under a square metre
    /// of one watt.
    pub coefficient: f64,
    /// Temperature of the panel as the pad comes to it.
    pub panel: Temperature,
}

/// One event of the schedule.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PadEvent {
    /// The pad works.
    Work {
        /// How long.
        time: Time,
        /// Heat at the face. Without a panel all of it goes into the pad (give the pad's share); with one
        /// the face shares it between the two (give the whole friction power).
        face: Power,
        /// Heat made inside.
        bulk: BulkHeat,
        /// The panel, where the face may give heat to it.
        panel: Option<PanelContact>,
    },
    /// The pad is lifted; its face meets air.
    Rest {
        /// How long.
        time: Time,
    },
    /// Air is blown at the face.
    Blow {
        /// How long.
        time: Time,
        /// Coefficient at the face [W/(m² K)]; 100 to 300 for a jet of compressed air (order of magnitude
        /// of jets in Incropera et al., chapter 7; air that passes through the foam is not counted).
        coefficient: f64,
    },
    /// A fresh pad at ambient temperature takes its place.
    Swap,
}

/// Numerical knobs of the pad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadSettings {
    /// Rings of the disc, 3 to 200; 24.
    pub rings: usize,
    /// Layers through its thickness, 3 to 200; 16.
    pub layers: usize,
    /// Longest time step \[s\], 1 ms to 1 h; 5 s.
    pub longest_step_s: f64,
}

impl Default for PadSettings {
    fn default() -> Self {
        Self { rings: 24, layers: 16, longest_step_s: 5.0 }
    }
}

/// The pad at one time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadMoment {
    /// Time from the start \[s\].
    pub time_s: f64,
    /// Number of the event, from 0.
    pub event: usize,
    /// Hottest cell inside.
    pub core: Temperature,
    /// Where it is: distance from the axis and depth from the face \[m\].
    pub core_at_m: (f64, f64),
    /// Mean of the face.
    pub face: Temperature,
    /// Hottest ring of the face.
    pub hottest_face: Temperature,
    /// Mean of the whole pad.
    pub mean: Temperature,
}

impl PadMoment {
    /// The hotter of core and face.
    #[must_use]
    pub fn hottest(&self) -> Temperature {
        if self.core > self.hottest_face { self.core } else { self.hottest_face }
    }
}

/// The pad over its schedule.
#[derive(Debug, Clone, PartialEq)]
pub struct PadHeat {
    /// Every time step's end, in order; the first is the start.
    pub moments: Vec<PadMoment>,
    /// The moment with the hottest foam, core or face.
    pub peak: PadMoment,
    /// The first moment at which the limit was reached anywhere in the foam.
    pub limit_reached: Option<PadMoment>,
    /// In (friction that entered, hysteresis), stored, lost (air, panel, swapped pads).
    pub energy: EnergyBalance,
    /// Of what was lost, given to the panel \[J\], without the friction heat that never entered the pad.
    pub into_panel_j: f64,
    /// Friction heat at the face that went straight into the panel \[J\].
    pub past_pad_j: f64,
}

impl PadHeat {
    /// Rise of the mean face temperature over ambient for each watt at the face at the end [K/W]: the pad's
    /// side of [`super::matched_share`].
    #[must_use]
    pub fn face_rise_per_watt(&self, disc: &PadDisc, watts: Power) -> Option<f64> {
        let last = self.moments.last()?;
        (watts.w() > 0.0).then(|| (last.face.k() - disc.ambient) / watts.w())
    }

    /// First time after `from` at which neither core nor face is hotter than `limit`.
    #[must_use]
    pub fn first_below(&self, limit: Temperature, from: Time) -> Option<Time> {
        let m = self.moments.iter().find(|m| m.time_s >= from.s() && m.hottest() <= limit)?;
        Some(Time::from_s(m.time_s))
    }
}

/// Halvings of the first step of an event, where the thin layers at the face change fastest.
const HALVINGS: i32 = 6;

/// Shares of a step that its parts take: one part, or for the first of an event a sixty-fourth and on from
/// there, each part as long as all before it.
fn parts(first: bool) -> impl Iterator<Item = f64> {
    let halvings = if first { HALVINGS } else { 0 };
    (0..=halvings).map(move |i| 0.5_f64.powi((halvings + 1 - i).min(halvings)))
}

/// Most time steps of one schedule.
const MOST_STEPS: f64 = 2e5;
/// Factors kept at once.
const MOST_FACTORS: usize = 64;

/// Factors of the steps that came last, each made once.
#[derive(Default)]
struct Factors(Vec<((u64, u64), Band)>);

impl Factors {
    fn of(&mut self, cells: &Cells, facing: Facing, dt: f64) -> &Band {
        let key = (dt.to_bits(), facing.coefficient.to_bits());
        let found = self.0.iter().position(|(k, _)| *k == key);
        let at = found.unwrap_or_else(|| {
            if self.0.len() >= MOST_FACTORS {
                self.0.remove(0);
            }
            self.0.push((key, cells.factor(facing, dt)));
            self.0.len() - 1
        });
        &self.0[at].1
    }
}

/// An event made ready.
struct Stretch {
    event: usize,
    time: f64,
    flux: f64,
    bulk: Option<BulkHeat>,
    facing: Facing,
    meets_panel: bool,
}

fn ready(disc: &PadDisc, area: f64, event: usize, e: &PadEvent) -> Result<Option<Stretch>, RangeError> {
    let time = |t: Time| within("time of an event", t.s(), 0.0, 1e6, "s");
    let plain = |time: f64, coefficient: f64| Stretch {
        event,
        time,
        flux: 0.0,
        bulk: None,
        facing: Facing { coefficient, excess: 0.0 },
        meets_panel: false,
    };
    Ok(match e {
        PadEvent::Work { time: t, face, bulk, panel } => {
            let watts = within("heat at the face", face.w(), 0.0, 1e5, "W")?;
            let facing = match panel {
                None => Facing { coefficient: 0.0, excess: 0.0 },
                Some(p) => Facing {
                    coefficient: within("coefficient to the panel", p.coefficient, 0.0, 1e5, "W/(m² K)")?,
                    excess: temperature_within("panel temperature", p.panel)? - disc.ambient,
                },
            };
            let work = plain(time(*t)?, 0.0);
            Some(Stretch { flux: watts / area, bulk: Some(*bulk), facing, meets_panel: panel.is_some(), ..work })
        }
        PadEvent::Rest { time: t } => Some(plain(time(*t)?, disc.face_air)),
        PadEvent::Blow { time: t, coefficient } => {
            let h = within("heat transfer coefficient of the blow-out", *coefficient, 0.0, 1e4, "W/(m² K)")?;
            Some(plain(time(*t)?, h))
        }
        PadEvent::Swap => None,
    })
}

struct Body<'a> {
    disc: &'a PadDisc,
    cells: Cells,
    t: Vec<f64>,
}

impl Body<'_> {
    fn moment(&self, time_s: f64, event: usize, flux: f64, facing: Facing) -> PadMoment {
        let (nr, nz) = self.cells.count;
        let mut hot = 0;
        for (c, v) in self.t.iter().enumerate() {
            if *v > self.t[hot] {
                hot = c;
            }
        }
        let (i, k) = (hot / nz, hot % nz);
        let (r, z) = (&self.cells.radii, &self.cells.depths);
        let (mut sum, mut hottest) = (0.0, f64::NEG_INFINITY);
        for i in 0..nr {
            let face = self.cells.face(&self.t, i, flux, facing);
            sum += face * self.cells.areas[i];
            hottest = hottest.max(face);
        }
        let over = |v: f64| Temperature::from_k(self.disc.ambient + v);
        PadMoment {
            time_s,
            event,
            core: over(self.t[hot]),
            core_at_m: (0.5 * (r[i] + r[i + 1]), 0.5 * (z[k] + z[k + 1])),
            face: over(sum / self.cells.areas.iter().sum::<f64>()),
            hottest_face: over(hottest),
            mean: over(self.cells.heat(&self.t) / self.cells.whole_capacity()),
        }
    }
}

/// Temperature of a pad over a schedule, from ambient.
///
/// ```text
/// ρc ∂T/∂t = (1/r) ∂/∂r (k_r r ∂T/∂r) + k_z ∂²T/∂z² + w(r)     w hysteresis [W/m³], face flux [W/m²]
/// ```
///
/// # Assumptions and valid range
/// Even friction heat over the face; axisymmetric; properties constant; losses linear; the plate side as the
/// disc says, and the rim as if it always moved, at rest too (foam conducts so badly that the core hardly
/// sees the rim); no product in the foam. The face temperature is that of the wall, half a layer before the
/// first cell.
///
/// # Accuracy
/// Second order in ring, layer and time step. At the defaults core and face are within 1 % of their rise on
/// twice the rings and layers with a quarter of the step (tests). The first step of an event is parted into
/// seven, from a sixty-fourth of it on, and stays within 2 % of steps of a hundredth (tests). Energy closes to rounding. Cost: about 40 µs a step; three hours of work about 0.1 s.
///
/// # Errors
/// Rings or layers outside 3 to 200, a step outside 1 ms to 1 h, more than 200 000 steps; times, powers or
/// temperatures out of range; a limit not above ambient; neither losses nor a limit. A limit reached is a
/// result.
///
/// # Example
/// ```
/// use trochoid::heat::*;
/// use trochoid::{Length, Power, Temperature, Time};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let (room, mm) = (Temperature::from_c(20.0), Length::from_mm);
/// let disc = PadDisc::new((mm(65.0), mm(0.0), mm(25.0)), Material::foam().thermal, room, (10.0, 40.0, 0.0))?;
/// let bulk = BulkHeat::new(6e3, 0.0)?;
/// let work = PadEvent::Work { time: Time::from_min(3.0), face: Power::from_w(0.0), bulk, panel: None };
/// let schedule = [work, PadEvent::Rest { time: Time::from_min(5.0) }];
/// let heat = pad_history(&disc, &schedule, None, &PadSettings::default())?;
/// // 6 kW/m³ for 180 s in 0.144 MJ/(m³ K), nothing lost: 7.5 K in the middle.
/// let core = heat.moments[36].core.c();
/// assert!(core > 27.3 && core < 27.6, "{core}");
/// assert!(heat.energy.residual() < 1e-9);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Carslaw and Jaeger (1959), the equation in a cylinder; the time step of R. Alexander, SIAM J. Numer. Anal.
/// 14 (1977) 1006.
pub fn pad_history(
    disc: &PadDisc,
    schedule: &[PadEvent],
    limit: Option<Temperature>,
    settings: &PadSettings,
) -> Result<PadHeat, RangeError> {
    within("rings", settings.rings as f64, 3.0, 200.0, "")?;
    within("layers", settings.layers as f64, 3.0, 200.0, "")?;
    within("longest step", settings.longest_step_s, 1e-3, 3600.0, "s")?;
    if let Some(l) = limit {
        if temperature_within("temperature limit", l)? <= disc.ambient {
            let least = format!("above ambient, {} °C", Temperature::from_k(disc.ambient).c());
            return Err(RangeError::new("temperature limit", l.c(), "°C", least));
        }
    } else if disc.face_air + disc.rim_air + disc.plate <= 0.0 {
        let why = "above 0 somewhere where no temperature limit is given";
        return Err(RangeError::new("heat transfer coefficient", 0.0, "W/(m² K)", why));
    }
    let cells = Cells::new(disc, (settings.rings, settings.layers));
    let area: f64 = cells.areas.iter().sum();
    let stretches =
        schedule.iter().enumerate().map(|(i, e)| ready(disc, area, i, e)).collect::<Result<Vec<_>, RangeError>>()?;
    let steps_of = |s: &Stretch| (s.time / settings.longest_step_s - 1e-9).ceil().max(1.0);
    within("time steps of the schedule", stretches.iter().flatten().map(steps_of).sum(), 0.0, MOST_STEPS, "")?;

    let mut body = Body { disc, t: vec![0.0; settings.rings * settings.layers], cells };
    let none = Facing { coefficient: 0.0, excess: 0.0 };
    let start = body.moment(0.0, 0, 0.0, none);
    let mut out = PadHeat {
        moments: vec![start],
        peak: start,
        limit_reached: None,
        energy: EnergyBalance::default(),
        into_panel_j: 0.0,
        past_pad_j: 0.0,
    };
    let mut factors = Factors::default();
    let mut work = [Vec::new(), Vec::new(), Vec::new()];
    let mut time = 0.0;
    for s in &stretches {
        let Some(s) = s else {
            out.energy.lost_j += body.cells.heat(&body.t);
            body.t.fill(0.0);
            continue;
        };
        if s.time <= 0.0 {
            continue;
        }
        let steps = steps_of(s);
        let dt = s.time / steps;
        let mut heat = s.bulk.map_or_else(|| vec![0.0; body.t.len()], |b| body.cells.bulk(&b));
        let share = body.cells.face_share(s.facing);
        for (first, area) in heat.chunks_mut(settings.layers).zip(&body.cells.areas) {
            first[0] += s.flux * share * area;
        }
        out.past_pad_j += s.flux * (1.0 - share) * area * s.time;
        let from = time;
        let mut k = 0.0;
        while k < steps {
            for part in parts(k < 0.5) {
                let dt = part * dt;
                let factor = factors.of(&body.cells, s.facing, dt);
                let passed = body.cells.step(factor, &mut body.t, &heat, s.facing, dt, &mut work);
                out.energy.input_j += passed.entered;
                out.energy.lost_j += passed.to_air + passed.to_facing;
                if s.meets_panel {
                    out.into_panel_j += passed.to_facing;
                }
            }
            k += 1.0;
            time = from + s.time * k / steps;
            let m = body.moment(time, s.event, s.flux, s.facing);
            if m.hottest() > out.peak.hottest() {
                out.peak = m;
            }
            if out.limit_reached.is_none() && limit.is_some_and(|l| m.hottest() >= l) {
                out.limit_reached = Some(m);
            }
            out.moments.push(m);
        }
    }
    out.energy.stored_j = body.cells.heat(&body.t);
    Ok(out)
}
