//! From dwell to cut: the linear map that a solve turns round.
//!
//! Cut is linear in dwell, and no dwell takes paint back: every entry of the map is zero or more.
//! [`SparseOperator`] holds the entries, [`Smoothed`] adds rows that hold neighbouring unknowns together;
//! the convolution of a footprint over a grid stands in `grid.rs`.

use super::error::DwellError;
use crate::math::reduce::for_bands;

/// Most entries of a [`SparseOperator`]: 24 bytes each, so 480 MB.
pub const MAX_ENTRIES: usize = 20_000_000;

/// Rows that one piece of parallel work takes.
const BAND: usize = 512;

/// A linear map from dwell to cut whose entries are zero or more.
///
/// The operator keeps its own scratch memory, hence `&mut self`.
pub trait DwellOperator {
    /// Number of unknowns.
    fn unknowns(&self) -> usize;
    /// Number of cells that are cut.
    fn cells(&self) -> usize;
    /// Writes the cut of `dwell` to `cut`.
    fn apply(&mut self, dwell: &[f64], cut: &mut [f64]);
    /// Writes the transposed map of `cells` to `out`.
    fn apply_transposed(&mut self, cells: &[f64], out: &mut [f64]);

    /// A diagonal D with xᵀAᵀM A x ≤ xᵀD x for every x, M the 0-or-1 mask of the cells.
    ///
    /// ```text
    /// D_j = (AᵀM A 1)_j
    /// ```
    ///
    /// # Assumptions
    /// Entries of zero or more: then for each row 2x_i x_j ≤ x_i² + x_j² sums up to D.
    ///
    /// # References
    /// A. R. De Pierro, IEEE Trans. Medical Imaging 14 (1995) 132-137 (from memory).
    fn majorizer(&mut self, mask: &[bool]) -> Vec<f64> {
        let mut cut = vec![0.0; self.cells()];
        self.apply(&vec![1.0; self.unknowns()], &mut cut);
        for (c, inside) in cut.iter_mut().zip(mask) {
            if !inside {
                *c = 0.0;
            }
        }
        let mut out = vec![0.0; self.unknowns()];
        self.apply_transposed(&cut, &mut out);
        out
    }
}

/// Lists of (index, value), one a row, end to end.
#[derive(Debug, Clone, Default)]
struct Lists {
    starts: Vec<usize>,
    index: Vec<u32>,
    value: Vec<f64>,
}

impl Lists {
    fn dot(&self, row: usize, x: &[f64]) -> f64 {
        let range = self.starts[row]..self.starts[row + 1];
        self.index[range.clone()].iter().zip(&self.value[range]).map(|(i, v)| v * x[*i as usize]).sum()
    }

    fn apply(&self, x: &[f64], out: &mut [f64]) {
        for_bands(out, 1, BAND, |first, rows| {
            for (k, o) in rows.iter_mut().enumerate() {
                *o = self.dot(first + k, x);
            }
        });
    }
}

/// A map by its entries, kept by cell and by unknown.
#[derive(Debug, Clone)]
pub struct SparseOperator {
    by_cell: Lists,
    by_unknown: Lists,
}

impl SparseOperator {
    /// From one column an unknown: (cell, cut per unit of dwell), each cell at most once a column.
    ///
    /// # Errors
    /// A cell that does not exist, an entry that is negative or not finite, more than [`MAX_ENTRIES`].
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::SparseOperator;
    /// // The first unknown cuts cell 0 by 2 a second, the second cells 0 and 1 by 1 and 3.
    /// let map = SparseOperator::from_columns(2, &[vec![(0, 2.0)], vec![(0, 1.0), (1, 3.0)]])?;
    /// // 5 s and 1 s: 2·5 + 1·1 and 3·1.
    /// assert_eq!(map.cut(&[5.0, 1.0]), [11.0, 3.0]);
    /// # Ok::<(), trochoid::plan::DwellError>(())
    /// ```
    pub fn from_columns(cells: usize, columns: &[Vec<(u32, f64)>]) -> Result<Self, DwellError> {
        let entries: usize = columns.iter().map(Vec::len).sum();
        if entries > MAX_ENTRIES || columns.len() >= u32::MAX as usize || cells >= u32::MAX as usize {
            let (size, most) = (entries as f64, MAX_ENTRIES as f64);
            return Err(DwellError::TooLarge { what: "entries of the dwell problem", size, most });
        }
        let mut counts = vec![0_usize; cells + 1];
        let mut by_unknown =
            Lists { starts: vec![0], index: Vec::with_capacity(entries), value: Vec::with_capacity(entries) };
        for column in columns {
            for (cell, value) in column {
                let bad = |allowed| DwellError::BadNumber {
                    what: "entries of the dwell problem",
                    index: by_unknown.value.len(),
                    value: *value,
                    allowed,
                };
                if *cell as usize >= cells {
                    return Err(bad("a cell that exists"));
                }
                if !(value.is_finite() && *value >= 0.0) {
                    return Err(bad("finite, 0 or more"));
                }
                counts[*cell as usize + 1] += 1;
                by_unknown.index.push(*cell);
                by_unknown.value.push(*value);
            }
            by_unknown.starts.push(by_unknown.index.len());
        }
        for k in 0..cells {
            counts[k + 1] += counts[k];
        }
        let mut by_cell = Lists { starts: counts.clone(), index: vec![0; entries], value: vec![0.0; entries] };
        for (unknown, column) in (0_u32..).zip(columns) {
            for (cell, value) in column {
                let at = &mut counts[*cell as usize];
                by_cell.index[*at] = unknown;
                by_cell.value[*at] = *value;
                *at += 1;
            }
        }
        Ok(Self { by_cell, by_unknown })
    }

    /// The cut of a dwell in every cell \[m\].
    #[must_use]
    pub fn cut(&self, dwell: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.by_cell.starts.len() - 1];
        self.by_cell.apply(dwell, &mut out);
        out
    }

    /// The same map onto the cells of a weight above zero, in their order, each times the root of its weight:
    /// so that a sum of squares counts it by that weight.
    ///
    /// # Errors
    /// A list of another length, a weight that is negative or not finite.
    pub fn weighted(&self, weight: &[f64]) -> Result<Self, DwellError> {
        super::error::of_length("weights", weight.len(), self.by_cell.starts.len() - 1)?;
        super::error::not_negative("weights", weight)?;
        let mut place = Vec::with_capacity(weight.len());
        let mut count = 0_u32;
        for w in weight {
            place.push((*w > 0.0).then_some((count, w.sqrt())));
            count += u32::from(*w > 0.0);
        }
        let by = &self.by_unknown;
        let columns: Vec<Vec<(u32, f64)>> = by
            .starts
            .windows(2)
            .map(|w| {
                let range = w[0]..w[1];
                let entries = by.index[range.clone()].iter().zip(&by.value[range]);
                entries.filter_map(|(i, v)| place[*i as usize].map(|(at, root)| (at, root * v))).collect()
            })
            .collect();
        Self::from_columns(count as usize, &columns)
    }

    /// Number of entries.
    #[must_use]
    pub const fn entries(&self) -> usize {
        self.by_cell.index.len()
    }
}

impl DwellOperator for SparseOperator {
    fn unknowns(&self) -> usize {
        self.by_unknown.starts.len() - 1
    }

    fn cells(&self) -> usize {
        self.by_cell.starts.len() - 1
    }

    fn apply(&mut self, dwell: &[f64], cut: &mut [f64]) {
        self.by_cell.apply(dwell, cut);
    }

    fn apply_transposed(&mut self, cells: &[f64], out: &mut [f64]) {
        self.by_unknown.apply(cells, out);
    }
}

/// Two unknowns that are held together, and how strongly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tie {
    /// The unknowns.
    pub between: (usize, usize),
    /// Weight w of the term ½w(x_i − x_j)² \[square of a map entry: (m/s)² for dwell, (m²/s)² for slowness\].
    pub weight: f64,
}

/// An operator with one more row a tie, √w (x_i − x_j), after its own cells.
#[derive(Debug)]
pub struct Smoothed<'a, O> {
    inner: &'a mut O,
    ties: &'a [Tie],
}

impl<'a, O: DwellOperator> Smoothed<'a, O> {
    /// Ties unknowns of `inner` together.
    ///
    /// # Errors
    /// A weight that is negative or not finite; an unknown that does not exist.
    pub fn new(inner: &'a mut O, ties: &'a [Tie]) -> Result<Self, DwellError> {
        let unknowns = inner.unknowns();
        for (index, tie) in ties.iter().enumerate() {
            let fits = tie.between.0 < unknowns && tie.between.1 < unknowns;
            if !(fits && tie.weight.is_finite() && tie.weight >= 0.0) {
                let allowed = "a finite weight of 0 or more between two unknowns";
                return Err(DwellError::BadNumber { what: "ties", index, value: tie.weight, allowed });
            }
        }
        Ok(Self { inner, ties })
    }
}

impl<O: DwellOperator> DwellOperator for Smoothed<'_, O> {
    fn unknowns(&self) -> usize {
        self.inner.unknowns()
    }

    fn cells(&self) -> usize {
        self.inner.cells() + self.ties.len()
    }

    fn apply(&mut self, dwell: &[f64], cut: &mut [f64]) {
        let (own, rows) = cut.split_at_mut(self.inner.cells());
        self.inner.apply(dwell, own);
        for (row, tie) in rows.iter_mut().zip(self.ties) {
            *row = tie.weight.sqrt() * (dwell[tie.between.0] - dwell[tie.between.1]);
        }
    }

    fn apply_transposed(&mut self, cells: &[f64], out: &mut [f64]) {
        let (own, rows) = cells.split_at(self.inner.cells());
        self.inner.apply_transposed(own, out);
        for (row, tie) in rows.iter().zip(self.ties) {
            let pull = tie.weight.sqrt() * row;
            out[tie.between.0] += pull;
            out[tie.between.1] -= pull;
        }
    }

    /// As for the inner operator; a tie adds (x_i − x_j)² ≤ 2x_i² + 2x_j².
    fn majorizer(&mut self, mask: &[bool]) -> Vec<f64> {
        let mut out = self.inner.majorizer(&mask[..self.inner.cells()]);
        for tie in self.ties {
            out[tie.between.0] += 2.0 * tie.weight;
            out[tie.between.1] += 2.0 * tie.weight;
        }
        out
    }
}
