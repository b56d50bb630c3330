//! Grids over a panel and the fields on them.

use core::fmt;

/// Most memory that the fields of one map may take, bytes.
pub const MAX_BYTES: f64 = 2.0 * 1024.0 * 1024.0 * 1024.0;

/// Why a map cannot be made.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum FieldError {
    /// The grid would need more memory than [`MAX_BYTES`].
    TooLarge {
        /// Cells along x and y.
        cells: (f64, f64),
        /// Bytes that the fields would need.
        bytes: f64,
    },
    /// Cells times legs pass [`MAX_VISITS`].
    TooMuchWork {
        /// Cells times legs.
        visits: f64,
    },
}

impl fmt::Display for FieldError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLarge { cells, bytes } => write!(
                f,
                "a grid of {:.0} x {:.0} cells would need {:.1} GiB, more than the 2 GiB allowed; take larger cells",
                cells.0,
                cells.1,
                bytes / (1024.0 * 1024.0 * 1024.0)
            ),
            Self::TooMuchWork { visits } => write!(
                f,
                "{visits:.1e} pairs of cell and path leg are more than the {MAX_VISITS:.0e} allowed; take larger cells, fewer passes or less overlap"
            ),
        }
    }
}

impl std::error::Error for FieldError {}

/// Most cell-and-leg pairs of one map: a minute or two of work.
pub const MAX_VISITS: f64 = 2e10;

/// Cells over a rectangle with one corner at the origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    nx: usize,
    ny: usize,
    dx: f64,
    dy: f64,
}

impl Grid {
    /// Cells of at most `cell` \[m\] over `size` \[m\]: as many as fit, evenly.
    ///
    /// # Errors
    /// A cell that is not within 1 µm to 1 m, or fields of more than [`MAX_BYTES`].
    ///
    /// # Example
    /// ```
    /// # fn main() -> Result<(), trochoid::Error> {
    /// // 100 x 50 mm in cells of at most 30 mm: 4 x 2 of 25 x 25 mm, the first one's centre at 12.5 mm.
    /// let grid = trochoid::removal::Grid::over((0.1, 0.05), 0.03)?;
    /// assert_eq!(grid.count(), (4, 2));
    /// assert!((grid.centre(0, 0).0 - 0.0125).abs() < 1e-15 && (grid.cell_area() - 625e-6).abs() < 1e-15);
    /// # Ok(())
    /// # }
    /// ```
    pub fn over(size: (f64, f64), cell: f64) -> Result<Self, crate::Error> {
        crate::equipment::within("map.cell_mm", cell * 1e3, 1e-3, 1e3, "mm")?;
        let cells = ((size.0 / cell - 1e-9).ceil().max(1.0), (size.1 / cell - 1e-9).ceil().max(1.0));
        // Five fields, one sorted copy and the picture's copy of one field.
        let bytes = cells.0 * cells.1 * 8.0 * 7.0;
        if bytes.is_nan() || bytes > MAX_BYTES {
            return Err(FieldError::TooLarge { cells, bytes }.into());
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive and bounded above
        let (nx, ny) = (cells.0 as usize, cells.1 as usize);
        Ok(Self { nx, ny, dx: size.0 / cells.0, dy: size.1 / cells.1 })
    }

    /// Cells along x and y.
    #[must_use]
    pub const fn count(&self) -> (usize, usize) {
        (self.nx, self.ny)
    }

    /// Sides of a cell \[m\].
    #[must_use]
    pub const fn cell(&self) -> (f64, f64) {
        (self.dx, self.dy)
    }

    /// Area of a cell \[m²\].
    #[must_use]
    pub fn cell_area(&self) -> f64 {
        self.dx * self.dy
    }

    /// Centre of the cell (i, j) \[m\].
    #[must_use]
    pub fn centre(&self, i: usize, j: usize) -> (f64, f64) {
        ((i as f64 + 0.5) * self.dx, (j as f64 + 0.5) * self.dy)
    }
}

/// Sums on a grid, row by row from y = 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// The grid.
    pub grid: Grid,
    /// ∫ p|v| dt \[J/m²\]; the cut is k_p times it.
    pub work: Vec<f64>,
    /// ∫ |v| dt while pressed \[m\].
    pub slide: Vec<f64>,
    /// Time pressed \[s\].
    pub dwell: Vec<f64>,
    /// Pass lines whose reach covers the cell \[1\].
    pub passes: Vec<f64>,
    /// Largest pressure met \[Pa\].
    pub peak: Vec<f64>,
}

impl Field {
    /// A field of zeros.
    #[must_use]
    pub fn zero(grid: Grid) -> Self {
        let n = grid.nx * grid.ny;
        Self {
            grid,
            work: vec![0.0; n],
            slide: vec![0.0; n],
            dwell: vec![0.0; n],
            passes: vec![0.0; n],
            peak: vec![0.0; n],
        }
    }
}
