//! Running line integrals of a footprint along one direction.
//!
//! A leg whose slowness q runs linearly, q(t) = q0 + q1 t, leaves at a point that lies at s along it
//! and at w across it
//!
//! ```text
//! ∫ F(s−t, w) q(t) dt, t = 0..L  =  (q0 + q1 s)·[G(s) − G(s−L)] − q1·[G₁(s) − G₁(s−L)]
//! G(s) = ∫_{−∞}^{s} F(u, w) du,   G₁(s) = ∫_{−∞}^{s} u F(u, w) du
//! ```
//!
//! so that a leg of any length costs two look-ups and no time step.

use super::footprint::{Footprint, Rates};
use crate::math::reduce::map_indexed;
use core::f64::consts::FRAC_PI_2;

/// Steps of a table along the direction, over twice the reach.
const ALONG: usize = 1024;
/// Steps of a table across the direction, over one reach.
const ACROSS: usize = 1024;

/// Place of the two Gauss points on −1..1: 1/√3.
const GAUSS: f64 = 0.577_350_269_189_625_8;

/// Which quantity of a footprint is deposited.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// ∫ p|v| dt, J/m²; the cut is k_p times it, the friction work μ times it.
    Work,
    /// ∫ |v| dt while pressed, m.
    Slide,
    /// Time pressed, s.
    Dwell,
}

impl Quantity {
    fn of(self, r: &Rates) -> f64 {
        match self {
            Self::Work => r.work,
            Self::Slide => r.slide,
            Self::Dwell => r.dwell,
        }
    }
}

/// Tables of one quantity along one direction.
pub(super) struct Swept {
    reach: f64,
    /// Whether the footprint is even in w, so that the rows start at w = 0.
    even: bool,
    /// Whether the rows crowd toward the reach: a footprint that ends in a step (no orbit) has
    /// square-root corners there.
    crowded: bool,
    rows: usize,
    /// Row by row.
    running: Vec<Vec<f64>>,
    /// Running first moment; empty where no leg changes its feed.
    moment: Vec<Vec<f64>>,
}

/// Two neighbouring rows and the weight of the second.
#[derive(Clone, Copy)]
pub(super) struct Rows {
    first: usize,
    second: usize,
    weight: f64,
}

/// Every eighth node of a table, for many short legs: the whole one would not stay in the processor's
/// cache.
pub(super) struct Thinned {
    reach: f64,
    even: bool,
    crowded: bool,
    /// Row by row.
    running: Vec<Vec<f64>>,
}

/// Nodes of a table for one of the thinned.
const THIN: usize = 8;
/// Steps of a thinned table along the direction.
const THIN_ALONG: usize = ALONG / THIN;

impl Thinned {
    pub(super) fn of(table: &Swept) -> Self {
        let thinned = |row: &Vec<f64>| row.iter().step_by(THIN).copied().collect();
        let running = table.running.iter().step_by(THIN).map(thinned).collect();
        Self { reach: table.reach, even: table.even, crowded: table.crowded, running }
    }

    /// Rows around w; `None` beyond the reach.
    pub(super) fn rows(&self, w: f64) -> Option<Rows> {
        let place = row_place(w, self.reach, self.even, self.crowded) / THIN as f64;
        if !(place >= 0.0 && place < (self.running.len() - 1) as f64) {
            return None;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // checked just above
        let j = place as usize;
        Some(Rows { first: j, second: j + 1, weight: place - j as f64 })
    }

    /// Deposit at s along a leg of `length` at unit slowness.
    pub(super) fn steady(&self, rows: Rows, s: f64, length: f64) -> f64 {
        let scale = THIN_ALONG as f64 / (2.0 * self.reach);
        let read = |s: f64| {
            let place = ((s + self.reach) * scale).clamp(0.0, THIN_ALONG as f64);
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped just above
            let i = (place as usize).min(THIN_ALONG - 1);
            Swept::read(&self.running, rows, (i, place - i as f64))
        };
        read(s) - read(s - length)
    }
}

/// Place of w among the rows of a whole table.
fn row_place(w: f64, reach: f64, even: bool, crowded: bool) -> f64 {
    let share = w / reach;
    let share = if crowded { share.clamp(-1.0, 1.0).asin() / FRAC_PI_2 } else { share };
    (if even { share.abs() } else { share + 1.0 }) * ACROSS as f64
}

impl Swept {
    /// One quantity along a direction.
    pub(super) fn new(footprint: &Footprint, direction: (f64, f64), quantity: Quantity, with_moment: bool) -> Self {
        let [one] = Self::several(footprint, direction, [quantity], with_moment);
        one
    }

    /// Several quantities along a direction, for which the footprint is read once.
    pub(super) fn several<const N: usize>(
        footprint: &Footprint,
        direction: (f64, f64),
        quantities: [Quantity; N],
        with_moment: bool,
    ) -> [Self; N] {
        let reach = footprint.reach();
        let (ux, uy) = direction;
        let even = footprint.is_even_about(uy.atan2(ux));
        let rows = if even { ACROSS + 1 } else { 2 * ACROSS + 1 };
        let crowded = footprint.ends_in_a_step();
        let first = if even { 0.0 } else { -1.0 };
        let step = 2.0 * reach / ALONG as f64;
        let lines = map_indexed(rows, |j| {
            let share = first + j as f64 / ACROSS as f64;
            let w = reach * if crowded { (FRAC_PI_2 * share).sin() } else { share };
            let chord = (reach * reach - w * w).max(0.0).sqrt();
            let mut running: [Vec<f64>; N] = core::array::from_fn(|_| Vec::with_capacity(ALONG + 1));
            let mut moment: [Vec<f64>; N] =
                core::array::from_fn(|_| Vec::with_capacity(if with_moment { ALONG + 1 } else { 0 }));
            let (mut sum, mut sum1) = ([0.0; N], [0.0; N]);
            for n in 0..N {
                running[n].push(0.0);
                if with_moment {
                    moment[n].push(0.0);
                }
            }
            // A footprint that is even across the line is even along it too: its axes stand at right
            // angles and it looks the same turned by half a turn.
            let mut mirror = vec![[[0.0; N]; 2]; if even { ALONG / 2 } else { 0 }];
            for i in 0..ALONG {
                // Outside the circle of the reach the footprint is zero, and without an orbit it
                // ends there in a step: the pieces are cut at the chord.
                let low = (i as f64 * step - reach).max(-chord);
                let high = ((i as f64 + 1.0) * step - reach).min(chord);
                if high > low {
                    let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
                    // Two Gauss points a piece.
                    let places = [middle - half * GAUSS, middle + half * GAUSS];
                    let values = if even && i >= ALONG / 2 {
                        let [before, after] = mirror[ALONG - 1 - i];
                        [after, before]
                    } else {
                        places.map(|s| {
                            let rates = footprint.at(ux * s - uy * w, uy * s + ux * w);
                            quantities.map(|q| half * q.of(&rates))
                        })
                    };
                    if even && i < ALONG / 2 {
                        mirror[i] = values;
                    }
                    for (s, f) in places.into_iter().zip(values) {
                        for n in 0..N {
                            sum[n] += f[n];
                            sum1[n] += f[n] * s;
                        }
                    }
                }
                for n in 0..N {
                    running[n].push(sum[n]);
                    if with_moment {
                        moment[n].push(sum1[n]);
                    }
                }
            }
            (running, moment)
        });
        let mut out: [Self; N] = core::array::from_fn(|_| Self {
            reach,
            even,
            crowded,
            rows,
            running: Vec::with_capacity(rows),
            moment: Vec::with_capacity(if with_moment { rows } else { 0 }),
        });
        for (running, moment) in lines {
            for (table, (running, moment)) in out.iter_mut().zip(running.into_iter().zip(moment)) {
                table.running.push(running);
                if with_moment {
                    table.moment.push(moment);
                }
            }
        }
        out
    }

    /// Rows around w; `None` beyond the reach.
    pub(super) fn rows(&self, w: f64) -> Option<Rows> {
        let place = row_place(w, self.reach, self.even, self.crowded);
        if !(place >= 0.0 && place < (self.rows - 1) as f64) {
            return None;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // checked just above
        let j = place as usize;
        Some(Rows { first: j, second: j + 1, weight: place - j as f64 })
    }

    /// Place of s in a row, and the share of the step beyond it.
    fn place(&self, s: f64) -> (usize, f64) {
        let place = ((s + self.reach) * (ALONG as f64 / (2.0 * self.reach))).clamp(0.0, ALONG as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped just above
        let i = (place as usize).min(ALONG - 1);
        (i, place - i as f64)
    }

    fn read(table: &[Vec<f64>], rows: Rows, (i, t): (usize, f64)) -> f64 {
        let (a, b) = (&table[rows.first][i..i + 2], &table[rows.second][i..i + 2]);
        let low = a[0] + t * (a[1] - a[0]);
        let high = b[0] + t * (b[1] - b[0]);
        low + rows.weight * (high - low)
    }

    /// Integral along the whole line.
    pub(super) fn whole(&self, rows: Rows) -> f64 {
        Self::read(&self.running, rows, (ALONG - 1, 1.0))
    }

    /// Deposit at s along a leg of `length` at steady slowness `q`.
    pub(super) fn steady(&self, rows: Rows, s: f64, length: f64, q: f64) -> f64 {
        let upto = if s >= self.reach { self.whole(rows) } else { Self::read(&self.running, rows, self.place(s)) };
        let from =
            if s - length <= -self.reach { 0.0 } else { Self::read(&self.running, rows, self.place(s - length)) };
        q * (upto - from)
    }

    /// Adds the deposit of a leg of `length` at steady slowness `q` to a run of cells that lie along
    /// it, at s = `first`, `first` + `step`, …; `merged` is scratch.
    pub(super) fn add_steady_run(
        &self,
        rows: Rows,
        (first, step): (f64, f64),
        length: f64,
        q: f64,
        merged: &mut Vec<f64>,
        cells: &mut [f64],
    ) {
        let (low, high) = (&self.running[rows.first], &self.running[rows.second]);
        merged.clear();
        merged.extend(low.iter().zip(high).map(|(a, b)| q * (a + rows.weight * (b - a))));
        let whole = merged[ALONG];
        let scale = ALONG as f64 / (2.0 * self.reach);
        let read = |s: f64| {
            let place = ((s + self.reach) * scale).clamp(0.0, ALONG as f64);
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped just above
            let i = (place as usize).min(ALONG - 1);
            merged[i] + (place - i as f64) * (merged[i + 1] - merged[i])
        };
        // Cells from `ahead` on have the whole footprint behind them; up to `behind` the leg's start
        // still counts in full.
        let place_of = |s: f64| {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the run
            let k = ((s - first) / step).ceil().clamp(0.0, cells.len() as f64) as usize;
            k
        };
        let (ahead, behind) = (place_of(self.reach), place_of(length - self.reach));
        for (k, cell) in cells.iter_mut().enumerate() {
            let s = first + k as f64 * step;
            let upto = if k >= ahead { whole } else { read(s) };
            *cell += if k < behind { upto } else { upto - read(s - length) };
        }
    }

    /// Deposit at s along a leg of `length` whose slowness runs from `q.0` to `q.1`.
    pub(super) fn changing(&self, rows: Rows, s: f64, length: f64, q: (f64, f64)) -> f64 {
        let (upto, from) = (self.place(s), self.place(s - length));
        let zeroth = Self::read(&self.running, rows, upto) - Self::read(&self.running, rows, from);
        let first = Self::read(&self.moment, rows, upto) - Self::read(&self.moment, rows, from);
        let slope = (q.1 - q.0) / length;
        (q.0 + slope * s) * zeroth - slope * first
    }
}
