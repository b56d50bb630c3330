//! The inner loops: a block of grains over a few steps into a window of cells, in double or single
//! precision.
//!
//! Each step is evaluated for a lane of grains at once, in loops without branches that the compiler turns
//! into vector instructions, into two small buffers (cell, value); a second loop then adds the buffers to
//! the window. In double precision a lane is short, so that the processor overlaps the square roots of
//! one lane with the additions of the one before; in single precision roots are cheap and a long lane
//! wins (figures in `benches/record`). No `unsafe`: leaving out the bounds check of the addition changed
//! nothing that could be measured.

// The loops become vector instructions only as one piece with what they call.
#![allow(clippy::inline_always)]

use super::press::Press;
use crate::removal::Quantity;
use core::ops::{Add, AddAssign, Mul, Sub};

/// A precision that deposits are computed and summed in.
pub(super) trait Real:
    Copy
    + Default
    + PartialOrd
    + Send
    + Sync
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + AddAssign
    + 'static
{
    fn from_f64(v: f64) -> Self;
    fn to_f64(self) -> f64;
    /// self·a + b, in one rounding where the processor built for can.
    fn times_plus(self, a: Self, b: Self) -> Self;
    fn root(self) -> Self;
    fn over(self, other: Self) -> Self;
    /// Index of the cell that (column, row) falls into; both already less one half, so that rounding to
    /// the nearest cuts down.
    fn cell(column: Self, row: Self, pitch: &Pitch) -> u32;
}

/// Length of a window's rows in the forms that the kernels use.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pitch {
    cells: u32,
    cells_f64: f64,
    /// What adding the rounding constant leaves in the bits of a single-precision index.
    bias: u32,
}

impl Pitch {
    pub(super) fn new(cells: u32) -> Self {
        let magic = ROUND_F32.to_bits();
        Self { cells, cells_f64: f64::from(cells), bias: magic.wrapping_mul(cells).wrapping_add(magic) }
    }
}

/// Adding 1.5·2⁵² pushes a number's fraction out of the mantissa: what is left is the nearest whole number.
const ROUND_F64: f64 = 6_755_399_441_055_744.0;
/// The same for single precision, 1.5·2²³.
const ROUND_F32: f32 = 12_582_912.0;

/// What reads the same in both precisions.
macro_rules! alike {
    () => {
        #[inline(always)]
        fn times_plus(self, a: Self, b: Self) -> Self {
            if cfg!(target_feature = "fma") { self.mul_add(a, b) } else { self * a + b }
        }
        #[inline(always)]
        fn root(self) -> Self {
            self.sqrt()
        }
        #[inline(always)]
        fn over(self, other: Self) -> Self {
            self / other
        }
    };
}

impl Real for f64 {
    #[inline(always)]
    fn from_f64(v: f64) -> Self {
        v
    }
    #[inline(always)]
    fn to_f64(self) -> f64 {
        self
    }
    alike!();
    #[inline(always)]
    #[allow(clippy::cast_possible_truncation)] // the low half of the bits is the index
    fn cell(column: Self, row: Self, pitch: &Pitch) -> u32 {
        let row = (row + ROUND_F64) - ROUND_F64;
        (row.times_plus(pitch.cells_f64, column) + ROUND_F64).to_bits() as u32
    }
}

impl Real for f32 {
    #[inline(always)]
    #[allow(clippy::cast_possible_truncation)] // the rounding is what this precision is
    fn from_f64(v: f64) -> Self {
        v as Self
    }
    #[inline(always)]
    fn to_f64(self) -> f64 {
        f64::from(self)
    }
    alike!();
    #[inline(always)]
    fn cell(column: Self, row: Self, pitch: &Pitch) -> u32 {
        let (row, column) = ((row + ROUND_F32).to_bits(), (column + ROUND_F32).to_bits());
        row.wrapping_mul(pitch.cells).wrapping_add(column).wrapping_sub(pitch.bias)
    }
}

/// The pad at one step, ready for the loops over its grains.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step<T> {
    /// Pad centre in cells of the window, less one half.
    pub(super) centre: (T, T),
    /// Cosine and sine of the pad's turn over the cell's sides: the first pair for x, the second for y.
    pub(super) to_x: (T, T),
    pub(super) to_y: (T, T),
    /// Velocity of the pad centre in the pad's own axes, m/s.
    pub(super) velocity: (T, T),
    /// Spin, rad/s.
    pub(super) spin: T,
    /// Cosine and sine of twice the pad's turn.
    pub(super) twice: (T, T),
    /// Pad centre from the tool axis in the panel's principal axes, m.
    pub(super) principal: (T, T),
    /// Cosine and sine of the pad's turn from the first principal axis.
    pub(super) principal_cos: T,
    pub(super) principal_sin: T,
    /// Pad centre from the tool axis in panel axes, m; the pad's turn as cosine and sine; phase of the
    /// orbit, rad. For a tilted pad.
    pub(super) offset: (f64, f64),
    pub(super) turn: (f64, f64),
    pub(super) phase: f64,
}

/// Grains in the order of work; the last two are empty where one pressure serves all.
pub(super) struct Block<'a, T> {
    pub(super) x: &'a [T],
    pub(super) y: &'a [T],
    pub(super) rise: &'a [T],
    pub(super) backing: &'a [T],
}

impl<T: Copy> Block<'_, T> {
    fn part(&self, from: usize, to: usize) -> Block<'_, T> {
        let cut = |v: &'_ [T]| -> (usize, usize) { (from.min(v.len()), to.min(v.len())) };
        let ((a, b), (c, d)) = (cut(self.rise), cut(self.backing));
        Block { x: &self.x[from..to], y: &self.y[from..to], rise: &self.rise[a..b], backing: &self.backing[c..d] }
    }
}

/// Cells and sliding speeds of a lane.
#[inline(always)]
fn locate<T: Real>(step: &Step<T>, pitch: &Pitch, x: &[T], y: &[T], cell: &mut [u32], speed: &mut [T]) {
    let n = x.len();
    let (y, cell, speed) = (&y[..n], &mut cell[..n], &mut speed[..n]);
    let zero = T::default();
    let (minus_sin, minus_spin) = (zero - step.to_x.1, zero - step.spin);
    for i in 0..n {
        let column = minus_sin.times_plus(y[i], step.to_x.0.times_plus(x[i], step.centre.0));
        let row = step.to_y.1.times_plus(x[i], step.to_y.0.times_plus(y[i], step.centre.1));
        cell[i] = T::cell(column, row, pitch);
        let a = minus_spin.times_plus(y[i], step.velocity.0);
        let b = step.spin.times_plus(x[i], step.velocity.1);
        speed[i] = a.times_plus(a, b * b).root();
    }
}

#[inline(always)]
fn add<T: Real>(window: &mut [T], cell: &[u32], value: &[T]) {
    for (c, v) in cell.iter().zip(value) {
        // A window holds every place that its steps reach, so that nothing is ever left out here.
        if let Some(sum) = window.get_mut(*c as usize) {
            *sum += *v;
        }
    }
}

/// Adds |v| of every grain at every step.
pub(super) fn speeds<T: Real, const LANE: usize>(
    steps: &[Step<T>],
    block: &Block<'_, T>,
    pitch: &Pitch,
    window: &mut [T],
) {
    let (mut cell, mut value) = ([0_u32; LANE], [T::default(); LANE]);
    let ((xs, x_rest), (ys, y_rest)) = (block.x.as_chunks::<LANE>(), block.y.as_chunks::<LANE>());
    for step in steps {
        for (x, y) in xs.iter().zip(ys) {
            locate(step, pitch, x, y, &mut cell, &mut value);
            add(window, &cell, &value);
        }
        let n = x_rest.len();
        locate(step, pitch, x_rest, y_rest, &mut cell[..n], &mut value[..n]);
        add(window, &cell[..n], &value[..n]);
    }
}

/// Adds one quantity weighed with the pressure under each grain: p|v|, |v| where pressed, or 1 where
/// pressed.
pub(super) fn weighed<T: Real, const LANE: usize>(
    steps: &[Step<T>],
    block: &Block<'_, T>,
    pitch: &Pitch,
    window: &mut [T],
    press: &Press<'_>,
    quantity: Quantity,
) {
    let (mut cell, mut value, mut p) = ([0_u32; LANE], [T::default(); LANE], [T::default(); LANE]);
    let (zero, one) = (T::default(), T::from_f64(1.0));
    for step in steps {
        let mut from = 0;
        while from < block.x.len() {
            let part = block.part(from, (from + LANE).min(block.x.len()));
            let n = part.x.len();
            let (cell, value, p) = (&mut cell[..n], &mut value[..n], &mut p[..n]);
            locate(step, pitch, part.x, part.y, cell, value);
            press.pressures(step, (part.x, part.y), (part.rise, part.backing), p);
            for (v, p) in value.iter_mut().zip(&*p) {
                *v = match quantity {
                    Quantity::Work => *v * *p,
                    Quantity::Slide if *p > zero => *v,
                    Quantity::Dwell if *p > zero => one,
                    Quantity::Slide | Quantity::Dwell => zero,
                };
            }
            add(window, cell, value);
            from += LANE;
        }
    }
}

/// Sums of one cell: work, slide, dwell, and the work times cos 2φ and sin 2φ of its direction.
pub(super) const SUMS: usize = 5;

/// Adds all five sums of every grain at every step.
pub(super) fn every<T: Real, const LANE: usize>(
    steps: &[Step<T>],
    block: &Block<'_, T>,
    pitch: &Pitch,
    window: &mut [T],
    press: &Press<'_>,
) {
    let (mut cell, mut speed, mut p) = ([0_u32; LANE], [T::default(); LANE], [T::default(); LANE]);
    let (mut cosine, mut sine) = ([T::default(); LANE], [T::default(); LANE]);
    let (zero, one) = (T::default(), T::from_f64(1.0));
    // Below any speed that matters; keeps 0/0 out where a grain stands still.
    let least = T::from_f64(1e-15);
    for step in steps {
        let mut from = 0;
        while from < block.x.len() {
            let part = block.part(from, (from + LANE).min(block.x.len()));
            let n = part.x.len();
            locate(step, pitch, part.x, part.y, &mut cell[..n], &mut speed[..n]);
            press.pressures(step, (part.x, part.y), (part.rise, part.backing), &mut p[..n]);
            for i in 0..n {
                let a = step.velocity.0 - step.spin * part.y[i];
                let b = step.velocity.1 + step.spin * part.x[i];
                // |v| cos 2φ = (a² − b²)/|v| and |v| sin 2φ = 2ab/|v| in the pad's axes, turned by twice its turn.
                let share = p[i].over(if speed[i] > least { speed[i] } else { least });
                let (c, s) = ((a * a - b * b) * share, (a + a) * b * share);
                cosine[i] = c * step.twice.0 - s * step.twice.1;
                sine[i] = c * step.twice.1 + s * step.twice.0;
            }
            let cells = window.as_chunks_mut::<SUMS>().0;
            for i in 0..n {
                if p[i] > zero
                    && let Some(sum) = cells.get_mut(cell[i] as usize)
                {
                    sum[0] += p[i] * speed[i];
                    sum[1] += speed[i];
                    sum[2] += one;
                    sum[3] += cosine[i];
                    sum[4] += sine[i];
                }
            }
            from += LANE;
        }
    }
}
