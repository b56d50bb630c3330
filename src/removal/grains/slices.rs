//! Slices of time, each on a window of its own, put together in their order.
//!
//! The steps are cut into slices by number alone, never by thread. A slice deposits into a window just
//! large enough for the pad's way during it; a wave of slices is worked at a time and its windows are then
//! added to the panel band by band, in the order of the slices. So the bits do not depend on threads, and
//! memory is that of one wave.

use super::kernel::{Block, Pitch, Real, SUMS, Step, every, speeds, weighed};
use super::layout::Grains;
use super::press::Press;
use super::travel::Clock;
use crate::math::reduce::{for_bands, map_indexed};
use crate::removal::{Grid, Quantity};

/// Most slices of a wave.
pub(super) const WAVE: usize = 32;
/// Steps that a block of grains is worked through before the next block: an orbit at the default step.
const RUN: usize = 64;
/// Deposits of a slice: enough to make light of its window and of starting it.
const SLICE_DEPOSITS: f64 = 2_097_152.0;
/// Deposits a cell of the window, for the same reason.
const DEPOSITS_A_CELL: f64 = 24.0;

/// How the work is cut.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cutting {
    /// Steps in all, their length [s].
    pub(super) steps: usize,
    pub(super) step_s: f64,
    /// Steps of a slice.
    pub(super) slice: usize,
    /// Slices of a wave.
    pub(super) wave: usize,
    /// Bytes of the fields and of one wave.
    pub(super) bytes: f64,
}

/// What is summed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Sums {
    One(Quantity),
    Every,
}

impl Sums {
    pub(super) const fn count(self) -> usize {
        match self {
            Self::One(_) => 1,
            Self::Every => SUMS,
        }
    }
}

/// Cells of the window for a pad of `reach` whose axis travels `travel` \[m\].
fn window_cells(grid: &Grid, reach: f64, travel: f64) -> f64 {
    let (dx, dy) = grid.cell();
    ((2.0 * reach + travel) / dx + 6.0) * ((2.0 * reach + travel) / dy + 6.0)
}

/// Cuts `steps` steps for `grains` grains, or tells the bytes that even one window would take.
pub(super) fn cut(
    grid: &Grid,
    (steps, step_s): (usize, f64),
    grains: usize,
    (reach, feed): (f64, f64),
    (sums, bytes_a_value, allowed): (usize, f64, f64),
) -> Result<Cutting, f64> {
    let standing = window_cells(grid, reach, 0.0);
    let wanted = (DEPOSITS_A_CELL * standing * sums as f64).max(SLICE_DEPOSITS) / grains as f64;
    // Some eight slices at least, no further than half the pad's reach, and a table of steps that stays small.
    let most = (steps as f64 / 8.0).max(1.0).min((0.5 * reach / (feed * step_s)).max(1.0)).min(65_536.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 1 to 65536
    let slice = wanted.min(most).ceil() as usize;
    let travel = feed * step_s * slice as f64;
    let values = sums as f64 * bytes_a_value;
    let window = window_cells(grid, reach, travel) * values;
    let (nx, ny) = grid.count();
    // The interleaved sums and the fields made from them.
    let fields = (nx * ny) as f64 * sums as f64 * 16.0;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most WAVE
    let wave = (((allowed - fields) / window).floor().clamp(0.0, WAVE as f64) as usize).min(steps.div_ceil(slice));
    if wave == 0 || window / values > f64::from(u32::MAX / 4) {
        return Err(fields + window);
    }
    Ok(Cutting { steps, step_s, slice, wave, bytes: fields + window * wave as f64 })
}

/// The moving pad over the panel.
pub(super) struct Moving<'a> {
    pub(super) clock: Clock<'a>,
    pub(super) orbit: f64,
    pub(super) rate: f64,
    pub(super) spin: f64,
    /// Phase of the orbit and turn of the pad at the start, rad.
    pub(super) start: (f64, f64),
}

/// Pad and tool at one moment.
#[derive(Debug, Clone, Copy)]
pub(super) struct Moment {
    pub(super) axis: (f64, f64),
    pub(super) centre: (f64, f64),
    pub(super) velocity: (f64, f64),
    pub(super) phase: f64,
    pub(super) turn: f64,
}

impl Moving<'_> {
    pub(super) fn at(&self, t: f64) -> Moment {
        let (axis, feed) = self.clock.at(t);
        let (phase, turn) = (self.start.0 + self.rate * t, self.start.1 + self.spin * t);
        let (sin, cos) = phase.sin_cos();
        let (e, speed) = (self.orbit, self.orbit * self.rate);
        Moment {
            axis,
            centre: (axis.0 + e * cos, axis.1 + e * sin),
            velocity: (feed.0 - speed * sin, feed.1 + speed * cos),
            phase,
            turn,
        }
    }
}

/// The sums of one slice.
struct Window<T> {
    /// Panel column and row of its first cell; may lie past the panel's edge.
    first: (i64, i64),
    columns: usize,
    rows: usize,
    values: Vec<T>,
    totals: [f64; SUMS],
}

/// Grains in one precision, in the order of work.
struct Ordered<T> {
    x: Vec<T>,
    y: Vec<T>,
    rise: Vec<T>,
    backing: Vec<T>,
}

/// All sums over the panel, interleaved cell by cell, and their totals wherever they fell.
pub(super) struct Deposited {
    pub(super) values: Vec<f64>,
    pub(super) totals: [f64; SUMS],
}

/// Deposits all of it in one precision, `LANE` grains at a time in blocks of `block`.
pub(super) fn deposit_in<T: Real, const LANE: usize>(
    (moving, press, grains, grid): (&Moving<'_>, &Press<'_>, &Grains, &Grid),
    cutting: &Cutting,
    sums: Sums,
    block: usize,
) -> Deposited {
    let order = grains.in_blocks(block);
    let list = |f: &dyn Fn(usize) -> f64| order.iter().map(|i| T::from_f64(f(*i))).collect::<Vec<T>>();
    let plain = press.uniform().is_some() && matches!(sums, Sums::One(Quantity::Work | Quantity::Slide));
    let pressed = |f: &dyn Fn(usize) -> f64| if plain { Vec::new() } else { list(f) };
    let ordered = Ordered {
        x: list(&|i| grains.place(i).0),
        y: list(&|i| grains.place(i).1),
        rise: pressed(&|i| press.grain(grains, i).0),
        backing: pressed(&|i| press.grain(grains, i).1),
    };
    let count = sums.count();
    let (nx, ny) = grid.count();
    let mut values = vec![0.0; nx * ny * count];
    let mut totals = [0.0; SUMS];
    let slices = cutting.steps.div_ceil(cutting.slice);
    let mut done = 0;
    while done < slices {
        let now = cutting.wave.min(slices - done);
        let windows = map_indexed(now, |k| {
            slice_in::<T, LANE>((moving, press, grid, &ordered), cutting, done + k, (sums, plain, block))
        });
        for_bands(&mut values, nx * count, 16, |first_row, rows| {
            for window in &windows {
                merge(window, (nx, count), first_row, rows);
            }
        });
        for window in &windows {
            for (sum, part) in totals.iter_mut().zip(window.totals) {
                *sum += part;
            }
        }
        done += now;
    }
    Deposited { values, totals }
}

/// Adds a window to a band of the panel's rows.
fn merge<T: Real>(window: &Window<T>, (nx, count): (usize, usize), first_row: usize, rows: &mut [f64]) {
    // Panel and window indices are far below 2^62.
    #[allow(clippy::cast_possible_wrap)]
    let (width, first_row) = (nx as i64, first_row as i64);
    #[allow(clippy::cast_possible_wrap)]
    let (columns, window_rows) = (window.columns as i64, window.rows as i64);
    let (from, to) = (window.first.0.max(0), (window.first.0 + columns).min(width));
    if from >= to {
        return;
    }
    for (row, y) in rows.chunks_mut(nx * count).zip(first_row..) {
        let j = y - window.first.1;
        if j < 0 || j >= window_rows {
            continue;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // none is negative here
        let (from, to, source) = (from as usize, to as usize, (j * columns + from - window.first.0) as usize);
        let added = &window.values[source * count..(source + to - from) * count];
        for (sum, v) in row[from * count..to * count].iter_mut().zip(added) {
            *sum += v.to_f64();
        }
    }
}

/// Works one slice.
fn slice_in<T: Real, const LANE: usize>(
    (moving, press, grid, grains): (&Moving<'_>, &Press<'_>, &Grid, &Ordered<T>),
    cutting: &Cutting,
    slice: usize,
    (sums, plain, block): (Sums, bool, usize),
) -> Window<T> {
    let from = slice * cutting.slice;
    let to = (from + cutting.slice).min(cutting.steps);
    let moments: Vec<Moment> = (from..to).map(|s| moving.at((s as f64 + 0.5) * cutting.step_s)).collect();
    let (dx, dy) = grid.cell();
    let radius = press.face().radius();
    let span = |pick: fn(&Moment) -> f64, side: f64| {
        let (low, high) =
            moments.iter().map(pick).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        // A cell to spare on either side.
        (((low - radius) / side).floor() - 1.0, ((high + radius) / side).floor() + 2.0)
    };
    let ((x0, x1), (y0, y1)) = (span(|m| m.centre.0, dx), span(|m| m.centre.1, dy));
    // Bounded by the window's memory and by a path within a kilometre.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (columns, rows, first) = ((x1 - x0) as usize, (y1 - y0) as usize, (x0 as i64, y0 as i64));
    let number = T::from_f64;
    let steps: Vec<Step<T>> = moments
        .iter()
        .map(|m| {
            let ((sin, cos), (sin2, cos2)) = (m.turn.sin_cos(), (2.0 * m.turn).sin_cos());
            let (axis_sin, axis_cos) = press.axis().sin_cos();
            let offset = (m.centre.0 - m.axis.0, m.centre.1 - m.axis.1);
            Step {
                centre: (number(m.centre.0 / dx - x0 - 0.5), number(m.centre.1 / dy - y0 - 0.5)),
                to_x: (number(cos / dx), number(sin / dx)),
                to_y: (number(cos / dy), number(sin / dy)),
                velocity: (
                    number(cos * m.velocity.0 + sin * m.velocity.1),
                    number(cos * m.velocity.1 - sin * m.velocity.0),
                ),
                spin: number(moving.spin),
                twice: (number(cos2), number(sin2)),
                principal: (
                    number(axis_cos * offset.0 + axis_sin * offset.1),
                    number(axis_cos * offset.1 - axis_sin * offset.0),
                ),
                principal_cos: number(cos * axis_cos + sin * axis_sin),
                principal_sin: number(sin * axis_cos - cos * axis_sin),
                offset,
                turn: (cos, sin),
                phase: m.phase,
            }
        })
        .collect();
    let count = sums.count();
    let mut values = vec![T::default(); columns * rows * count];
    #[allow(clippy::cast_possible_truncation)] // bounded by the window's memory
    let pitch = Pitch::new(columns as u32);
    for run in steps.chunks(RUN) {
        let mut from = 0;
        while from < grains.x.len() {
            let to = (from + block).min(grains.x.len());
            let cut = |v: &'_ Vec<T>| if v.is_empty() { (0, 0) } else { (from, to) };
            let (a, b) = cut(&grains.rise);
            let part = Block {
                x: &grains.x[from..to],
                y: &grains.y[from..to],
                rise: &grains.rise[a..b],
                backing: &grains.backing[a..b],
            };
            match sums {
                _ if plain => speeds::<T, LANE>(run, &part, &pitch, &mut values),
                Sums::One(quantity) => weighed::<T, LANE>(run, &part, &pitch, &mut values, press, quantity),
                Sums::Every => every::<T, LANE>(run, &part, &pitch, &mut values, press),
            }
            from = to;
        }
    }
    let totals = totals_of(&values, count);
    Window { first, columns, rows, values, totals }
}

/// Totals of each sum, in a fixed order.
fn totals_of<T: Real>(values: &[T], count: usize) -> [f64; SUMS] {
    let mut totals = [0.0; SUMS];
    if count == 1 {
        // Eight partial sums side by side: one alone would wait for each addition.
        let mut parts = [0.0; 8];
        let (chunks, rest) = values.as_chunks::<8>();
        for chunk in chunks {
            for (sum, v) in parts.iter_mut().zip(chunk) {
                *sum += v.to_f64();
            }
        }
        totals[0] = parts.iter().sum::<f64>() + rest.iter().map(|v| v.to_f64()).sum::<f64>();
    } else {
        for cell in values.chunks_exact(count) {
            for (sum, v) in totals.iter_mut().zip(cell) {
                *sum += v.to_f64();
            }
        }
    }
    totals
}
