//! Dwell on a uniform grid of places: the cut is the dwell convolved with the footprint.
//!
//! [`GridOperator`] works by Fourier transforms (feature `fft`), [`DirectGridOperator`] by plain sums: the
//! slow obvious method, which is there in every build.

use super::error::{DwellError, not_negative, of_length};
use super::operator::DwellOperator;
use crate::removal::Footprint;

/// Most cells of a grid, the footprint's reach on every side counted in: about 64 bytes each, so 1 GB.
pub const MAX_GRID_CELLS: usize = 16_000_000;

/// A footprint on square cells: the cut that one second in the middle of a cell leaves on the cells around.
#[derive(Debug, Clone, PartialEq)]
pub struct FootprintKernel {
    half: usize,
    weights: Vec<f64>,
}

impl FootprintKernel {
    /// From (2·half + 1)² weights, row by row, m/s.
    ///
    /// # Errors
    /// A list of another length, a weight that is negative or not finite, weights that are all zero.
    pub fn new(half: usize, weights: Vec<f64>) -> Result<Self, DwellError> {
        let side = half.saturating_mul(2).saturating_add(1);
        of_length("weights of the footprint", weights.len(), side.saturating_mul(side))?;
        not_negative("weights of the footprint", &weights)?;
        if weights.iter().all(|w| *w <= 0.0) {
            return Err(DwellError::ZeroTarget);
        }
        Ok(Self { half, weights })
    }

    /// A footprint on cells of side `cell` \[m\], with the Preston coefficient \[1/Pa\]: means over the
    /// cells by 8 x 8 places.
    ///
    /// # Errors
    /// A cell outside 0.05 to 100 mm; a footprint that cuts nothing.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::FootprintKernel;
    /// use trochoid::removal::Footprint;
    /// use trochoid::spin::spin_state;
    /// # use trochoid::*;
    /// # fn main() -> Result<(), Error> {
    /// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
    /// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    /// let run = spin_state(&setup, setup.patch(), &Default::default())?;
    /// let footprint = Footprint::new(&run.contact, setup.patch(), setup.tool().rate().rad_s(), run.spin);
    /// let kernel = FootprintKernel::of(&footprint, 2e-11, 5e-3)?;
    /// // Weights times the area of a cell are the volume of a second: k_p N eΩ = 2.309e-9 m³/s.
    /// assert!((kernel.sum() * 25e-6 / 2.309e-9 - 1.0).abs() < 0.005);
    /// # Ok(())
    /// # }
    /// ```
    pub fn of(footprint: &Footprint, preston_per_pa: f64, cell: f64) -> Result<Self, crate::Error> {
        const PLACES: usize = 8;
        crate::equipment::within("map.cell_mm", cell * 1e3, 0.05, 100.0, "mm")?;
        let reach = (footprint.reach() / cell - 1e-9).ceil();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a reach is at most some metres
        let half = reach.max(0.0) as usize;
        within_memory((1, 1), half)?;
        let side = 2 * half + 1;
        let place = |i: usize, k: usize| (i as f64 - half as f64 + (k as f64 + 0.5) / PLACES as f64 - 0.5) * cell;
        let rows = crate::math::reduce::map_indexed(side, |j| {
            (0..side)
                .map(|i| {
                    let mut sum = 0.0;
                    for b in 0..PLACES {
                        for a in 0..PLACES {
                            sum += footprint.at(place(i, a), place(j, b)).work;
                        }
                    }
                    preston_per_pa * sum / (PLACES * PLACES) as f64
                })
                .collect::<Vec<f64>>()
        });
        Ok(Self::new(half, rows.into_iter().flatten().collect())?)
    }

    /// Cells from the middle to the edge.
    #[must_use]
    pub const fn half(&self) -> usize {
        self.half
    }

    /// Weights, row by row \[m/s\].
    #[must_use]
    pub fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// Sum of the weights \[m/s\].
    #[must_use]
    pub fn sum(&self) -> f64 {
        self.weights.iter().sum()
    }
}

fn within_memory(count: (usize, usize), half: usize) -> Result<(), DwellError> {
    let along = |n: usize| n as f64 + 2.0 * half as f64 + 1.0;
    let size = along(count.0) * along(count.1);
    if count.0 == 0 || count.1 == 0 {
        return Err(DwellError::EmptyMask);
    }
    if size > MAX_GRID_CELLS as f64 {
        let most = MAX_GRID_CELLS as f64;
        return Err(DwellError::TooLarge { what: "cells of the dwell grid with the footprint around it", size, most });
    }
    Ok(())
}

/// Convolution by plain sums: (2·half + 1)² products a cell.
#[derive(Debug, Clone)]
pub struct DirectGridOperator {
    count: (usize, usize),
    kernel: FootprintKernel,
}

impl DirectGridOperator {
    /// Dwell places and cut cells on the same `count` cells along x and y.
    ///
    /// ```text
    /// cut(c) = Σ_d weight(d) dwell(c − d)        weight [m/s], dwell [s]
    /// ```
    ///
    /// # Errors
    /// No cells, or more than [`MAX_GRID_CELLS`].
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::{DirectGridOperator, DwellOperator, FootprintKernel};
    /// // A cross of 1 about a middle of 2: 3 s in the middle of 3 × 3 cells leave it threefold.
    /// let cross = [0.0, 1.0, 0.0, 1.0, 2.0, 1.0, 0.0, 1.0, 0.0];
    /// let mut map = DirectGridOperator::new((3, 3), FootprintKernel::new(1, cross.to_vec())?)?;
    /// let (mut dwell, mut cut) = ([0.0; 9], [0.0; 9]);
    /// dwell[4] = 3.0;
    /// map.apply(&dwell, &mut cut);
    /// assert_eq!(cut, cross.map(|w| 3.0 * w));
    /// # Ok::<(), trochoid::plan::DwellError>(())
    /// ```
    pub fn new(count: (usize, usize), kernel: FootprintKernel) -> Result<Self, DwellError> {
        within_memory(count, kernel.half)?;
        Ok(Self { count, kernel })
    }

    /// `out` at c is the sum of `x` at c − sign·d times the weight at d.
    fn sum(&self, x: &[f64], out: &mut [f64], backward: bool) {
        let ((nx, ny), half) = (self.count, self.kernel.half);
        let side = 2 * half + 1;
        for j in 0..ny {
            for i in 0..nx {
                let mut sum = 0.0;
                for b in j.saturating_sub(half)..(j + half + 1).min(ny) {
                    for a in i.saturating_sub(half)..(i + half + 1).min(nx) {
                        let (dx, dy) =
                            if backward { (a + half - i, b + half - j) } else { (i + half - a, j + half - b) };
                        sum += self.kernel.weights[dy * side + dx] * x[b * nx + a];
                    }
                }
                out[j * nx + i] = sum;
            }
        }
    }
}

impl DwellOperator for DirectGridOperator {
    fn unknowns(&self) -> usize {
        self.count.0 * self.count.1
    }

    fn cells(&self) -> usize {
        self.unknowns()
    }

    fn apply(&mut self, dwell: &[f64], cut: &mut [f64]) {
        self.sum(dwell, cut, false);
    }

    fn apply_transposed(&mut self, cells: &[f64], out: &mut [f64]) {
        self.sum(cells, out, true);
    }
}

#[cfg(feature = "fft")]
pub use fast::GridOperator;

#[cfg(feature = "fft")]
mod fast {
    use super::{DwellError, DwellOperator, FootprintKernel, within_memory};
    use core::fmt;
    use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};
    use rustfft::num_complex::Complex;
    use rustfft::{Fft, FftPlanner};
    use std::sync::Arc;

    /// Convolution by Fourier transforms, padded so that nothing wraps round onto the grid.
    ///
    /// # Accuracy
    /// Rounding: about 1e-15 of the largest cut, held against [`DirectGridOperator`](super::DirectGridOperator)
    /// in the tests.
    ///
    /// One thread: a transform of 10 000 cells is over in some tens of microseconds.
    pub struct GridOperator {
        count: (usize, usize),
        /// Padded sides and number of frequencies along x.
        padded: (usize, usize),
        frequencies: usize,
        along: Arc<dyn RealToComplex<f64>>,
        back_along: Arc<dyn ComplexToReal<f64>>,
        across: Arc<dyn Fft<f64>>,
        back_across: Arc<dyn Fft<f64>>,
        /// Transform of the kernel over the number of padded cells, frequency by frequency.
        spectrum: Vec<Complex<f64>>,
        work: Vec<Complex<f64>>,
        /// Some rows and their transforms, end to end.
        rows: Vec<f64>,
        spectra: Vec<Complex<f64>>,
        scratch: Vec<Complex<f64>>,
    }

    impl fmt::Debug for GridOperator {
        fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.debug_struct("GridOperator")
                .field("count", &self.count)
                .field("padded", &self.padded)
                .finish_non_exhaustive()
        }
    }

    /// Rows that are transformed before they are put into the columns: as many as fill whole cache lines there.
    const ROWS: usize = 8;

    /// The next even length without prime factors above 5.
    fn fast_length(least: usize) -> usize {
        let mut n = least + least % 2;
        loop {
            let mut rest = n;
            for p in [2, 3, 5] {
                while usize::is_multiple_of(rest, p) {
                    rest /= p;
                }
            }
            if rest == 1 {
                return n;
            }
            n += 2;
        }
    }

    impl GridOperator {
        /// Dwell places and cut cells on the same `count` cells along x and y; see the example of
        /// [`DirectGridOperator::new`](super::DirectGridOperator::new), whose cut this is to rounding.
        ///
        /// # Errors
        /// No cells, or more than [`MAX_GRID_CELLS`](super::MAX_GRID_CELLS).
        pub fn new(count: (usize, usize), kernel: &FootprintKernel) -> Result<Self, DwellError> {
            within_memory(count, kernel.half)?;
            let half = kernel.half;
            // What wraps round must land beyond the grid: half the footprint of padding is enough, and the
            // footprint itself must fit.
            let length = |n: usize| fast_length((n + half).max(2 * half + 1));
            let padded = (length(count.0), length(count.1));
            let frequencies = padded.0 / 2 + 1;
            let mut real = RealFftPlanner::new();
            let mut complex = FftPlanner::new();
            let (along, back_along) = (real.plan_fft_forward(padded.0), real.plan_fft_inverse(padded.0));
            let (across, back_across) = (complex.plan_fft_forward(padded.1), complex.plan_fft_inverse(padded.1));
            let zero = Complex::new(0.0, 0.0);
            let scratch = along
                .get_scratch_len()
                .max(back_along.get_scratch_len())
                .max(across.get_inplace_scratch_len())
                .max(back_across.get_inplace_scratch_len());
            let mut out = Self {
                count,
                padded,
                frequencies,
                rows: vec![0.0; ROWS * padded.0],
                spectra: vec![zero; ROWS * frequencies],
                work: vec![zero; frequencies * padded.1],
                spectrum: Vec::new(),
                scratch: vec![zero; scratch],
                along,
                back_along,
                across,
                back_across,
            };
            let side = 2 * half + 1;
            let scale = 1.0 / (padded.0 * padded.1) as f64;
            // The kernel's middle at the origin, its left and lower parts wrapped round.
            for (j, weights) in kernel.weights.chunks(side).enumerate() {
                out.rows.fill(0.0);
                for (i, w) in weights.iter().enumerate() {
                    out.rows[(i + padded.0 - half) % padded.0] = scale * w;
                }
                out.transform_rows((j + padded.1 - half) % padded.1, 1);
            }
            out.across.process_with_scratch(&mut out.work, &mut out.scratch);
            out.spectrum.clone_from(&out.work);
            Ok(out)
        }

        /// Transforms up to [`ROWS`] real rows that stand end to end and puts them into the columns from row
        /// `first` on. The lengths fit by construction, so that the transform cannot fail.
        fn transform_rows(&mut self, first: usize, count: usize) {
            let ((width, height), frequencies) = (self.padded, self.frequencies);
            for (row, out) in self.rows.chunks_mut(width).zip(self.spectra.chunks_mut(frequencies)).take(count) {
                let done = self.along.process_with_scratch(row, out, &mut self.scratch);
                debug_assert!(done.is_ok());
            }
            for (k, column) in self.work.chunks_mut(height).enumerate() {
                for (row, to) in column[first..first + count].iter_mut().enumerate() {
                    *to = self.spectra[row * frequencies + k];
                }
            }
        }

        fn convolve(&mut self, x: &[f64], out: &mut [f64], transposed: bool) {
            let ((nx, ny), (width, height), frequencies) = (self.count, self.padded, self.frequencies);
            for (block, given) in x.chunks(nx * ROWS).enumerate() {
                let count = given.len() / nx;
                for (row, given) in self.rows.chunks_mut(width).zip(given.chunks(nx)) {
                    row[..nx].copy_from_slice(given);
                    row[nx..].fill(0.0);
                }
                self.transform_rows(block * ROWS, count);
            }
            for (column, spectrum) in self.work.chunks_mut(height).zip(self.spectrum.chunks(height)) {
                column[ny..].fill(Complex::new(0.0, 0.0));
                self.across.process_with_scratch(column, &mut self.scratch);
                if transposed {
                    for (w, s) in column.iter_mut().zip(spectrum) {
                        *w *= s.conj();
                    }
                } else {
                    for (w, s) in column.iter_mut().zip(spectrum) {
                        *w *= s;
                    }
                }
                self.back_across.process_with_scratch(column, &mut self.scratch);
            }
            for (block, taken) in out.chunks_mut(nx * ROWS).enumerate() {
                let (first, count) = (block * ROWS, taken.len() / nx);
                for (k, column) in self.work.chunks(height).enumerate() {
                    for (row, from) in column[first..first + count].iter().enumerate() {
                        self.spectra[row * frequencies + k] = *from;
                    }
                }
                for ((spectrum, row), to) in
                    self.spectra.chunks_mut(frequencies).zip(self.rows.chunks_mut(width)).zip(taken.chunks_mut(nx))
                {
                    // Rounding leaves imaginary parts where a real row has none.
                    spectrum[0].im = 0.0;
                    spectrum[frequencies - 1].im = 0.0;
                    let done = self.back_along.process_with_scratch(spectrum, row, &mut self.scratch);
                    debug_assert!(done.is_ok());
                    to.copy_from_slice(&row[..nx]);
                }
            }
        }
    }

    impl DwellOperator for GridOperator {
        fn unknowns(&self) -> usize {
            self.count.0 * self.count.1
        }

        fn cells(&self) -> usize {
            self.unknowns()
        }

        fn apply(&mut self, dwell: &[f64], cut: &mut [f64]) {
            self.convolve(dwell, cut, false);
        }

        fn apply_transposed(&mut self, cells: &[f64], out: &mut [f64]) {
            self.convolve(cells, out, true);
        }
    }
}
