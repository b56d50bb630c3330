//! Temperature of the panel over the work: a thin plate, its losses, and the drop through film and
//! plate under the pad.
//!
//! Mean through the thickness: `C ∂T/∂t = K ∇²T − (h_front + h_back)(T − T_a) + q(x, y, t)`. Heating and
//! loss are exact between the diffusion steps (the losses are uniform); lateral conduction is put in
//! between them, centred in time. Surface: the mean plus the modes through film and substrate, each relaxing
//! at its own rate; those too fast to be seen follow the flux.

use super::EnergyBalance;
use super::air::Cooling;
use super::diffuse::{Diffusion, Rows};
use super::plate::Plate;
use super::source::{HeatSource, Overhang, Spread, Stamp};
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Length, Temperature, Time};

/// Numerical knobs of the panel. A cell is at most a quarter of the smallest footprint's reach.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelHeatSettings {
    /// Side of a cell \[m\], 0.1 to 50 mm; 4 mm.
    pub cell_m: f64,
    /// Longest diffusion step, as the share αΔt/R² of the smallest footprint's time \[1\], 1e-6 to 1; 0.005.
    pub diffusion_share: f64,
}

/// Cells of 4 mm: for a footprint of 70 mm radius the peak rise is within half a percent of that on 2 mm
/// (600 s of work on 1.2 by 0.9 m, steel and aluminium), at a sixth of the cost. [`PanelHeat::read`] gives
/// finer maps from them.
impl Default for PanelHeatSettings {
    fn default() -> Self {
        Self { cell_m: 4e-3, diffusion_share: 5e-3 }
    }
}

/// What is to be answered: a plate, its losses, and the sources in their order.
#[derive(Debug, Clone, Copy)]
pub struct PanelJob<'a> {
    /// Film and substrate.
    pub plate: &'a Plate,
    /// Losses and ambient.
    pub cooling: &'a Cooling,
    /// Sides of the panel along x and y.
    pub size: (Length, Length),
    /// Lower corner in the coordinates of the sources \[m\].
    pub origin_m: (f64, f64),
    /// Temperature of the whole panel at the start.
    pub start: Temperature,
    /// The footprints' spreads.
    pub spreads: &'a [Spread],
    /// What happens, in order.
    pub sources: &'a [HeatSource],
    /// What becomes of heat past the edge.
    pub overhang: Overhang,
    /// Temperature that the paint must stay below.
    pub limit: Option<Temperature>,
    /// Places whose history is kept \[m\].
    pub probes_m: &'a [(f64, f64)],
}

/// A place and time with its temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HotSpot {
    /// Surface of the paint.
    pub surface: Temperature,
    /// Mean of the plate below.
    pub mean: Temperature,
    /// Centre of the cell \[m\].
    pub at_m: (f64, f64),
    /// Time from the start \[s\].
    pub time_s: f64,
}

/// Temperatures at one probed place over the work.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Centre of the cell \[m\].
    pub at_m: (f64, f64),
    /// Time \[s\], mean of the plate \[K\], surface of the paint \[K\].
    pub samples: Vec<(f64, f64, f64)>,
}

/// What the work did to the panel.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelHeat {
    /// Cells along x and y.
    pub count: (usize, usize),
    /// Side of a cell \[m\].
    pub cell_m: (f64, f64),
    /// The hottest paint.
    pub peak: HotSpot,
    /// The peak over what the place would have had without any work \[K\].
    pub rise_k: f64,
    /// Where and when the limit was first reached; `None` where it was not or none was given.
    pub limit_reached: Option<HotSpot>,
    /// Hottest paint of each cell over the work, row by row \[K\].
    pub largest_k: Vec<f64>,
    /// Mean of the plate at the end, row by row \[K\].
    pub final_mean_k: Vec<f64>,
    /// Largest excess of a surface over its mean that the work leaves behind \[K\]; it relaxes at
    /// the rate of [`Plate::mode`] 1 or faster.
    pub final_drop_k: f64,
    /// Histories of the probes.
    pub histories: Vec<History>,
    /// In, stored, lost.
    pub energy: EnergyBalance,
    /// Heat that fell past the panel's edge \[J\].
    pub spilled_j: f64,
    /// Duration \[s\].
    pub time_s: f64,
    /// Biot number of the losses \[1\]: the plate is lumped, good up to about 0.3.
    pub biot: f64,
    /// Diffusion steps taken.
    pub steps: usize,
}

impl PanelHeat {
    /// A value of `largest_k` or `final_mean_k` at a place from the panel's lower corner \[m\], linear between
    /// the cells' centres and even from the outer ones to the edge: a map on any finer cells. `None` off the
    /// panel or for a list of another length. See the example of [`heat_panel_at`].
    #[must_use]
    pub fn read(&self, values: &[f64], at: (f64, f64)) -> Option<f64> {
        let (nx, ny) = self.count;
        let inside = |v: f64, h: f64, n: usize| v >= 0.0 && v <= h * n as f64 * (1.0 + 1e-12);
        if values.len() != nx * ny || !inside(at.0, self.cell_m.0, nx) || !inside(at.1, self.cell_m.1, ny) {
            return None;
        }
        let place = |v: f64, h: f64, n: usize| {
            let p = (v / h - 0.5).clamp(0.0, (n - 1) as f64);
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the cells
            let i = (p as usize).min(n.saturating_sub(2));
            (i, (i + 1).min(n - 1), p - i as f64)
        };
        let ((i0, i1, u), (j0, j1, w)) = (place(at.0, self.cell_m.0, nx), place(at.1, self.cell_m.1, ny));
        let row = |j: usize| values[j * nx + i0] + u * (values[j * nx + i1] - values[j * nx + i0]);
        Some(row(j0) + w * (row(j1) - row(j0)))
    }
}

/// Surface of the paint all over the panel at one moment, without the flux of a pad that stands on it.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceMoment {
    /// Time from the start \[s\].
    pub time_s: f64,
    /// Temperature of the surface, row by row as the cells of [`PanelHeat`] \[K\].
    pub surface_k: Vec<f64>,
}

/// Most moments that [`heat_panel_at`] keeps.
pub const MOST_MOMENTS: usize = 16;

/// Most cells, and most of them times the diffusion steps, of one answer: about a minute of work.
const MOST_CELLS: f64 = 4e6;
const MOST_CELL_STEPS: f64 = 2e10;
/// Groups of modes through the plate that are followed; the rest follow the flux.
const MOST_MODES: usize = 10;
/// Groups that relax faster than this follow the flux [1/s].
const FASTEST_MODE: f64 = 40.0;

/// Relaxation rate [1/s] and settled drop [m² K/W] of the modes through the plate: the first ones one by
/// one, later ones in groups that keep their summed drop and their summed lag.
fn modes(plate: &Plate) -> impl Iterator<Item = (f64, f64)> + '_ {
    let mut first = 1;
    (0..MOST_MODES).map_while(move |_| {
        let next = (first + 1).max(first * 29 / 20);
        let (mut gain, mut lag) = (0.0, 0.0);
        for n in first..next {
            let (rate, drop) = plate.mode(n);
            gain += drop;
            lag += drop / rate;
        }
        let wanted = plate.mode(first).0 <= FASTEST_MODE;
        first = next;
        wanted.then_some((gain / lag, gain))
    })
}

/// A mode through the thickness; its values hold e^growth times the amplitude.
struct Mode {
    rate: f64,
    gain: f64,
    growth: f64,
    values: Vec<f64>,
}

struct Engine<'a> {
    job: &'a PanelJob<'a>,
    count: (usize, usize),
    cell: (f64, f64),
    side: f64,
    ambient: f64,
    loss: f64,
    capacity: f64,
    /// Drop that follows the flux [m² K/W].
    fast_drop: f64,
    rows: Rows,
    scale: f64,
    modes: Vec<Mode>,
    time: f64,
    start: f64,
    heat: f64,
    energy: EnergyBalance,
    spilled: f64,
    peak: HotSpot,
    rise: f64,
    limit_reached: Option<HotSpot>,
    histories: Vec<((usize, usize), History)>,
    drop_row: Vec<f64>,
}

/// Number of cells along x and y, and their sides \[m\].
type Cells = ((usize, usize), (f64, f64));

/// Cells of a panel: how many, their sides, and the side of a square with their area.
pub(super) fn cells(size: (Length, Length), cell: f64) -> Result<Cells, RangeError> {
    within("cell of the heat map", cell * 1e3, 0.1, 50.0, "mm")?;
    let sides = (within("length", size.0.m(), 1e-2, 20.0, "m")?, within("width", size.1.m(), 1e-2, 20.0, "m")?);
    let n = ((sides.0 / cell).round().max(1.0), (sides.1 / cell).round().max(1.0));
    within("cells of the heat map", n.0 * n.1, 1.0, MOST_CELLS, "")?;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive and bounded above
    let count = (n.0 as usize, n.1 as usize);
    Ok((count, (sides.0 / n.0, sides.1 / n.1)))
}

impl<'a> Engine<'a> {
    fn new(job: &'a PanelJob<'a>, settings: &PanelHeatSettings) -> Result<Self, RangeError> {
        let (count, cell) = cells(job.size, settings.cell_m)?;
        let ambient = job.cooling.ambient().k();
        let start = super::temperature_within("temperature at the start", job.start)?;
        if let Some(limit) = job.limit {
            let k = super::temperature_within("temperature limit", limit)?;
            if k <= ambient {
                let least = format!("above ambient, {} °C", job.cooling.ambient().c());
                return Err(RangeError::new("temperature limit", limit.c(), "°C", least));
            }
        } else if job.cooling.total() <= 0.0 {
            let why = "above 0 on one side at least where no temperature limit is given";
            return Err(RangeError::new("heat transfer coefficient", job.cooling.total(), "W/(m² K)", why));
        }
        for s in job.sources {
            s.check(job.spreads.len())?;
        }
        let plate = job.plate;
        let modes: Vec<Mode> = modes(plate)
            .map(|(rate, gain)| Mode { rate, gain, growth: 0.0, values: vec![0.0; count.0 * count.1] })
            .collect();
        let followed: f64 = modes.iter().map(|m| m.gain).sum();
        let excess = start - ambient;
        let place = |at: f64, low: f64, side: f64, n: usize| {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the panel
            let i = ((at - low) / side).floor().clamp(0.0, (n - 1) as f64) as usize;
            (i, low + (i as f64 + 0.5) * side)
        };
        let histories = job
            .probes_m
            .iter()
            .map(|p| {
                let inside = |v: f64, low: f64, size: Length| v >= low && v <= low + size.m();
                if !(inside(p.0, job.origin_m.0, job.size.0) && inside(p.1, job.origin_m.1, job.size.1)) {
                    let bad = if inside(p.0, job.origin_m.0, job.size.0) { p.1 } else { p.0 };
                    return Err(RangeError::new("place of a history", bad, "m", "on the panel"));
                }
                let (i, x) = place(p.0, job.origin_m.0, cell.0, count.0);
                let (j, y) = place(p.1, job.origin_m.1, cell.1, count.1);
                Ok(((i, j), History { at_m: (x, y), samples: vec![(0.0, start, start)] }))
            })
            .collect::<Result<Vec<_>, RangeError>>()?;
        let centre = (job.origin_m.0 + 0.5 * job.size.0.m(), job.origin_m.1 + 0.5 * job.size.1.m());
        let peak = HotSpot { surface: job.start, mean: job.start, at_m: centre, time_s: 0.0 };
        let area = job.size.0.m() * job.size.1.m();
        Ok(Self {
            count,
            cell,
            side: (cell.0 * cell.1).sqrt(),
            ambient,
            loss: job.cooling.total() / plate.capacity(),
            capacity: plate.capacity(),
            fast_drop: (plate.film_drop() + plate.base_drop() - followed).max(0.0),
            rows: Rows::filled(count, excess),
            scale: 1.0,
            modes,
            time: 0.0,
            start: excess,
            heat: excess * plate.capacity() * area,
            energy: EnergyBalance::default(),
            spilled: 0.0,
            peak,
            rise: 0.0,
            limit_reached: job.limit.filter(|l| start >= l.k()).map(|_| peak),
            histories,
            drop_row: Vec::new(),
            job,
        })
    }

    /// Heats and cools for `dt`; the stamp's shares of `watts` stand still.
    fn advance(&mut self, dt: f64, watts: f64, stamp: &Stamp) {
        let kept = (-self.loss * dt).exp();
        // Mean time that heat given evenly over dt has left to be lost in.
        let held = if self.loss * dt > 1e-8 { (1.0 - kept) / self.loss } else { dt };
        let landed = watts * stamp.landed;
        self.energy.input_j += landed * dt;
        self.spilled += watts * dt - landed * dt;
        self.energy.lost_j += self.heat * (1.0 - kept) + landed * (dt - held);
        self.heat = self.heat * kept + landed * held;
        self.scale *= kept;
        self.time += dt;
        for m in &mut self.modes {
            m.growth += m.rate * dt;
            if m.growth > 300.0 {
                // e^300 stays far inside the range of a double; what is older is below rounding.
                m.values.iter_mut().for_each(|v| *v *= (-m.growth).exp());
                m.growth = 0.0;
            }
        }
        if watts > 0.0 && stamp.landed > 0.0 {
            self.heat_cells(dt, held, watts, stamp);
        }
        self.note();
    }

    fn heat_cells(&mut self, dt: f64, held: f64, watts: f64, stamp: &Stamp) {
        let flux = watts / (self.cell.0 * self.cell.1);
        let (c0, c1) = stamp.columns;
        let width = c1 - c0;
        let warm = flux * held / (self.capacity * self.scale);
        let base = self.start * (-self.loss * self.time).exp();
        let (mut best, mut at, mut mean) = (f64::NEG_INFINITY, (0, 0), 0.0);
        for (k, j) in (stamp.rows.0..stamp.rows.1).enumerate() {
            let shares = &stamp.shares[k * width..(k + 1) * width];
            self.drop_row.clear();
            self.drop_row.extend(shares.iter().map(|s| self.fast_drop * flux * s));
            for m in &mut self.modes {
                let decay = (-m.growth).exp();
                let feed = m.gain * flux * (1.0 - (-m.rate * dt).exp()) / decay;
                let row = &mut m.values[j * self.count.0 + c0..j * self.count.0 + c1];
                for ((v, s), d) in row.iter_mut().zip(shares).zip(&mut self.drop_row) {
                    *v += feed * s;
                    *d += *v * decay;
                }
            }
            let (values, largest) = self.rows.row(j);
            let row = values[c0..c1].iter_mut().zip(&mut largest[c0..c1]).zip(shares).zip(&self.drop_row);
            for (i, (((v, m), s), d)) in row.enumerate() {
                *v += warm * s;
                let surface = *v * self.scale + d;
                *m = m.max(surface);
                if surface > best {
                    (best, at, mean) = (surface, (c0 + i, j), *v * self.scale);
                }
            }
        }
        let spot = HotSpot {
            surface: Temperature::from_k(self.ambient + best),
            mean: Temperature::from_k(self.ambient + mean),
            at_m: self.centre(at),
            time_s: self.time,
        };
        self.rise = self.rise.max(best - base);
        if spot.surface > self.peak.surface {
            self.peak = spot;
        }
        if self.limit_reached.is_none() && self.job.limit.is_some_and(|l| spot.surface >= l) {
            self.limit_reached = Some(spot);
        }
    }

    fn centre(&self, at: (usize, usize)) -> (f64, f64) {
        let o = self.job.origin_m;
        (o.0 + (at.0 as f64 + 0.5) * self.cell.0, o.1 + (at.1 as f64 + 0.5) * self.cell.1)
    }

    /// Keeps the histories; the surface's own drop is that of the modes, without the flux that the pad
    /// brings, which `heat_cells` has in the largest values.
    fn note(&mut self) {
        for ((i, j), h) in &mut self.histories {
            let mean = self.ambient + self.rows.value(*i, *j) * self.scale;
            let cell = *j * self.count.0 + *i;
            let drop: f64 = self.modes.iter().map(|m| m.values[cell] * (-m.growth).exp()).sum();
            h.samples.push((self.time, mean, mean + drop));
        }
    }

    /// Adds the drop that follows the flux to the newest samples of histories under the stamp.
    fn note_flux(&mut self, watts: f64, stamp: &Stamp) {
        let (c, r) = (stamp.columns, stamp.rows);
        for ((i, j), h) in &mut self.histories {
            if *i >= c.0 && *i < c.1 && *j >= r.0 && *j < r.1 {
                let share = stamp.shares[(*j - r.0) * (c.1 - c.0) + *i - c.0];
                if let Some(s) = h.samples.last_mut() {
                    s.2 += self.fast_drop * watts * share / (self.cell.0 * self.cell.1);
                }
            }
        }
    }

    /// The surface as it is now.
    fn moment(&self) -> SurfaceMoment {
        let decays: Vec<f64> = self.modes.iter().map(|m| (-m.growth).exp()).collect();
        let drop = |c: usize| self.modes.iter().zip(&decays).map(|(m, d)| m.values[c] * d).sum::<f64>();
        let means = self.rows.collect(false);
        let surface_k = means.iter().enumerate().map(|(c, v)| self.ambient + v * self.scale + drop(c)).collect();
        SurfaceMoment { time_s: self.time, surface_k }
    }

    fn diffuse(&mut self, step: &Diffusion) {
        step.step(&mut self.rows, self.scale);
        self.scale = 1.0;
    }

    fn finish(mut self, steps: usize) -> PanelHeat {
        let scale = self.scale;
        let cell_heat = self.capacity * self.side * self.side;
        let mean: Vec<f64> = self.rows.collect(false).iter().map(|v| v * scale).collect();
        self.energy.stored_j = mean.iter().map(|v| (v - self.start) * cell_heat).sum();
        let decays: Vec<f64> = self.modes.iter().map(|m| (-m.growth).exp()).collect();
        let final_drop_k = (0..mean.len())
            .map(|c| self.modes.iter().zip(&decays).map(|(m, d)| m.values[c] * d).sum::<f64>())
            .fold(0.0, f64::max);
        PanelHeat {
            count: self.count,
            cell_m: self.cell,
            peak: self.peak,
            rise_k: self.rise,
            limit_reached: self.limit_reached,
            largest_k: self.rows.collect(true).iter().map(|v| v + self.ambient).collect(),
            final_mean_k: mean.iter().map(|v| v + self.ambient).collect(),
            final_drop_k,
            histories: self.histories.into_iter().map(|(_, h)| h).collect(),
            energy: self.energy,
            spilled_j: self.spilled,
            time_s: self.time,
            biot: self.job.plate.biot(self.job.cooling.front().max(self.job.cooling.back())),
            steps,
        }
    }
}

/// Stretches of work and of rest: duration and whether it is a rest.
fn stretches(sources: &[HeatSource]) -> Vec<(f64, bool)> {
    let mut out: Vec<(f64, bool)> = Vec::new();
    for s in sources.iter().filter(|s| s.time_s > 0.0) {
        let rests = s.watts <= 0.0;
        match out.last_mut() {
            Some(last) if last.1 == rests => last.0 += s.time_s,
            _ => out.push((s.time_s, rests)),
        }
    }
    out
}

/// Diffusion steps: the time of each one's middle, and how long it is. In a rest, where the field only
/// grows smoother, they grow by a quarter each up to sixteen times the longest of the work.
fn schedule(sources: &[HeatSource], longest: f64, cells: usize) -> Result<Vec<(f64, f64)>, RangeError> {
    let mut out = Vec::new();
    let mut from = 0.0;
    for (duration, rests) in stretches(sources) {
        let n = (duration / if rests { 16.0 * longest } else { longest }).ceil().max(1.0);
        within("diffusion steps times cells", (out.len() as f64 + n) * cells as f64, 0.0, MOST_CELL_STEPS, "")?;
        if rests {
            let (mut left, mut step) = (duration, longest);
            while left > 0.0 {
                let dt = if left <= 1.5 * step { left } else { step };
                out.push((from + duration - left + 0.5 * dt, dt));
                left -= dt;
                step = (1.25 * step).min(16.0 * longest);
            }
        } else {
            let dt = duration / n;
            let mut k = 0.0;
            while k < n {
                out.push((from + (k + 0.5) * dt, dt));
                k += 1.0;
            }
        }
        from += duration;
    }
    Ok(out)
}

/// Longest diffusion step for a job \[s\].
pub(super) fn longest_step(job: &PanelJob<'_>, settings: &PanelHeatSettings) -> Result<f64, RangeError> {
    within("diffusion share", settings.diffusion_share, 1e-6, 1.0, "")?;
    let reach = job.spreads.iter().map(|s| s.reach().m()).fold(f64::INFINITY, f64::min);
    let reach = if reach.is_finite() { reach } else { job.size.0.m().min(job.size.1.m()) };
    if job.sources.iter().any(|s| s.watts > 0.0) {
        within("cell of the heat map", settings.cell_m * 1e3, 0.1, 0.25e3 * reach, "mm")?;
    }
    Ok(settings.diffusion_share * reach * reach / job.plate.lateral_diffusivity())
}

/// Temperature of the panel over the sources in their order.
///
/// ```text
/// C ∂T/∂t = K ∇²T − (h_front + h_back)(T − T_a) + q(x, y, t)     C = Σρcd [J/(m² K)], K = Σkd [W/K], q [W/m²]
/// surface = T + Σ u_n,   ∂u_n/∂t = β_n² (r_n q − u_n)            modes through the plate, [`Plate::mode`]
/// ```
///
/// # Assumptions and valid range
/// Plate thin against the footprint, and lumped against its losses (`biot` up to about 0.3); edges
/// insulated; a curved panel counts in its plan or unrolled coordinates; properties constant; losses
/// linearised and the same everywhere, under the pad too. Sources stand still during their time: give a
/// path in steps of a tenth of the footprint's radius or less.
///
/// # Accuracy
/// Second order in the cell and in the diffusion step. At the default cell and step the peak rise of a
/// moving pad is within 1 % of an explicit solution on half the cell (tests); heat is kept to rounding. Drop
/// through a poor conductor: the first modes one by one, later ones in groups, what is faster than 40 per
/// second counts as settled: within 3 % of a fine one-dimensional solution from a tenth of a
/// second of contact on, for 2 to 5 mm of plastic or composite and for sheet steel (tests).
///
/// Cost: about 8 ns a cell and diffusion step, and 2 ns a cell under the footprint, source and followed mode.
///
/// # Errors
/// Panel, cell, times, powers or temperatures out of range; a limit not above ambient; neither losses nor
/// a limit; a probe off the panel. A limit reached is a result.
///
/// # Example
/// ```
/// use trochoid::equipment::Substrate;
/// use trochoid::heat::*;
/// use trochoid::{Length, Temperature};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let room = Temperature::from_c(20.0);
/// let (plate, cooling) = (Plate::painted(Substrate::Steel), Cooling::new(room, 10.0, 10.0)?);
/// let spreads = [Spread::orbiting_disc(Length::from_mm(65.0), Length::from_mm(5.8))?];
/// let sources = [HeatSource { at_m: (0.3, 0.3), time_s: 10.0, watts: 30.0, spread: 0 }];
/// let size = (Length::from_m(0.6), Length::from_m(0.6));
/// let job = PanelJob { plate: &plate, cooling: &cooling, size, origin_m: (0.0, 0.0), start: room, spreads: &spreads,
///     sources: &sources, overhang: Overhang::Lost, limit: Some(Temperature::from_c(60.0)), probes_m: &[] };
/// let heat = heat_panel(&job, &PanelHeatSettings::default())?;
/// // Without conduction 30 W over 133 cm² of 2613 J/(m² K) give 8.6 K in 10 s; some flows off.
/// let rise = heat.peak.surface.c() - 20.0;
/// assert!(rise > 6.0 && rise < 10.0 && heat.limit_reached.is_none());
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Carslaw and Jaeger, Conduction of Heat in Solids (1959), layered plates; the scheme is own, see
/// `notebooks-free-docs/theory-heat.md`.
pub fn heat_panel(job: &PanelJob<'_>, settings: &PanelHeatSettings) -> Result<PanelHeat, RangeError> {
    heat_panel_at(job, settings, &[]).map(|(heat, _)| heat)
}

/// As [`heat_panel`], with the panel's surface at some moments: each at the end of the source during which
/// it falls, those after the last source at its end.
///
/// # Errors
/// As [`heat_panel`]; more than [`MOST_MOMENTS`] moments, a time that is negative or not finite, times that
/// fall.
///
/// # Example
/// ```
/// use trochoid::equipment::Substrate;
/// use trochoid::heat::*;
/// use trochoid::{Length, Temperature, Time};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let room = Temperature::from_c(20.0);
/// let (plate, cooling) = (Plate::painted(Substrate::Steel), Cooling::new(room, 0.0, 0.0)?);
/// let spreads = [Spread::orbiting_disc(Length::from_mm(65.0), Length::from_mm(5.8))?];
/// let work = HeatSource { at_m: (0.3, 0.3), time_s: 10.0, watts: 30.0, spread: 0 };
/// let (sources, size) = ([work, HeatSource::rest(5.0)], (Length::from_m(0.6), Length::from_m(0.6)));
/// let job = PanelJob { plate: &plate, cooling: &cooling, size, origin_m: (0.0, 0.0), start: room, spreads: &spreads,
///     sources: &sources, overhang: Overhang::Lost, limit: Some(Temperature::from_c(60.0)), probes_m: &[] };
/// let (heat, moments) = heat_panel_at(&job, &PanelHeatSettings::default(), &[Time::from_s(15.0)])?;
/// // Nothing is lost: 300 J in 0.36 m² of 2613.4 J/(m² K) are 0.3189 K on average, the surface as the plate.
/// let surface = &moments[0].surface_k;
/// let mean = surface.iter().sum::<f64>() / surface.len() as f64 - room.k();
/// assert!((mean - 0.3189).abs() < 1e-3);
/// // The map reads hot in the middle, as the room in a corner, and not at all off the panel.
/// let at = |x: f64, y: f64| heat.read(&heat.final_mean_k, (x, y)).map(|k| k - room.k());
/// assert!(at(0.3, 0.3).is_some_and(|k| k > 5.0) && at(0.0, 0.0).is_some_and(|k| k < 0.01));
/// assert!(at(0.7, 0.3).is_none());
/// # Ok(())
/// # }
/// ```
pub fn heat_panel_at(
    job: &PanelJob<'_>,
    settings: &PanelHeatSettings,
    at: &[Time],
) -> Result<(PanelHeat, Vec<SurfaceMoment>), RangeError> {
    within("moments", at.len() as f64, 0.0, MOST_MOMENTS as f64, "")?;
    at.iter().try_fold(0.0, |before, t| within("time of a moment", t.s(), before, 1e9, "s"))?;
    let mut moments = Vec::with_capacity(at.len());
    let mut engine = Engine::new(job, settings)?;
    let plan = schedule(job.sources, longest_step(job, settings)?, engine.count.0 * engine.count.1)?;
    let mut steps = plan.iter().peekable();
    let mut made: Option<(f64, Diffusion)> = None;
    let (mut stamp, mut taken) = (Stamp::default(), 0);
    for s in job.sources.iter().filter(|s| s.time_s > 0.0) {
        stamp.landed = 0.0;
        if s.watts > 0.0 {
            let at = (s.at_m.0 - job.origin_m.0, s.at_m.1 - job.origin_m.1);
            stamp.set(&job.spreads[s.spread], at, engine.count, engine.cell, job.overhang);
        }
        let end = engine.time + s.time_s;
        let mut left = s.time_s;
        while left > 0.0 {
            let due = steps.peek().filter(|(middle, _)| *middle <= end).map(|(middle, dt)| (*middle, *dt));
            let dt = due.map_or(left, |(middle, _)| (middle - engine.time).clamp(0.0, left));
            engine.advance(dt, s.watts, &stamp);
            if s.watts > 0.0 && stamp.landed > 0.0 {
                engine.note_flux(s.watts, &stamp);
            }
            left -= dt;
            if let Some((_, long)) = due {
                steps.next();
                let same = made.as_ref().is_some_and(|(l, _)| (l - long).abs() <= 1e-12 * long);
                if !same {
                    let number = job.plate.lateral_diffusivity() * long;
                    made = Some((long, Diffusion::new(engine.count, number, engine.cell)));
                }
                if let Some((_, d)) = &made {
                    engine.diffuse(d);
                    taken += 1;
                }
            } else {
                break;
            }
        }
        // Sums of many times differ from a time worked out in one go by their rounding.
        while at.get(moments.len()).is_some_and(|t| t.s() <= engine.time * (1.0 + 1e-9)) {
            moments.push(engine.moment());
        }
    }
    while moments.len() < at.len() {
        moments.push(engine.moment());
    }
    Ok((engine.finish(taken), moments))
}
