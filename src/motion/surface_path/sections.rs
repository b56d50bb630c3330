//! Cuts a surface into sections of about the same size, measured on the surface.
//!
//! Sections are rectangles in plan whose cuts stand at even shares of the mean length of the surface
//! across them. Neighbours overlap by the blend. The common size is 400 to 460 mm square (common
//! practice, no source).

use super::ground::Sides;
use crate::equipment::within;
use crate::error::RangeError;
use crate::math::reduce::map_indexed;
use crate::panel::{Outline, Surface};

/// Most sections a surface may be cut into, empty ones counted.
pub const MAX_SECTIONS: usize = 10_000;

/// A part of a surface that is finished before the next is begun; made by [`cut_sections`].
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    number: usize,
    place: (usize, usize),
    outline: Outline,
    sides: Sides,
    area: f64,
}

impl Section {
    /// Usual side of a section, m (common practice, no source: 400 to 460 mm).
    pub const USUAL_SIDE: f64 = 0.43;

    /// Number in the order of work, from 1.
    #[must_use]
    pub const fn number(&self) -> usize {
        self.number
    }

    /// Column and row, from 0 at the least x and y.
    #[must_use]
    pub const fn place(&self) -> (usize, usize) {
        self.place
    }

    /// Its rectangle in plan with its share of the blend, cut off at the box round the work.
    #[must_use]
    pub const fn outline(&self) -> &Outline {
        &self.outline
    }

    /// Area to be worked inside the outline, on the surface \[m²\]; areas of neighbours overlap by the blend.
    #[must_use]
    pub const fn area(&self) -> f64 {
        self.area
    }

    pub(super) const fn sides(&self) -> Sides {
        self.sides
    }
}

/// Lengths of the surface along one plan axis, mean over the places to be worked.
struct Profile {
    from: f64,
    step: f64,
    along: Vec<f64>,
}

impl Profile {
    fn of(surface: &Surface, bounds: ((f64, f64), (f64, f64)), along_x: bool) -> Self {
        let ((x0, y0), (x1, y1)) = bounds;
        let (from, to, low, high) = if along_x { (x0, x1, y0, y1) } else { (y0, y1, x0, x1) };
        let grid = surface.heights().step();
        let (pieces, rows) = (count(to - from, grid), count(high - low, grid));
        let step = (to - from) / pieces as f64;
        let place = |a: f64, b: f64| if along_x { (a, b) } else { (b, a) };
        let height = |p: (f64, f64)| surface.heights().height_at(p.0, p.1);
        let lengths = map_indexed(pieces, |i| {
            let a = from + i as f64 * step;
            let (mut sum, mut n) = (0.0, 0_usize);
            for j in 0..=rows {
                let b = low + (high - low) * j as f64 / rows as f64;
                let middle = place(a + 0.5 * step, b);
                if surface.clearance_at(middle.0, middle.1) >= 0.0 {
                    sum += step.hypot(height(place(a + step, b)) - height(place(a, b)));
                    n += 1;
                }
            }
            if n > 0 { sum / n as f64 } else { step }
        });
        let mut along = vec![0.0];
        for l in lengths {
            along.push(along[along.len() - 1] + l);
        }
        Self { from, step, along }
    }

    fn whole(&self) -> f64 {
        self.along[self.along.len() - 1]
    }

    /// Plan coordinate at a length from the low end.
    fn at(&self, length: f64) -> f64 {
        let i = self.along.partition_point(|l| *l <= length).clamp(1, self.along.len() - 1);
        let share = ((length - self.along[i - 1]) / (self.along[i] - self.along[i - 1])).clamp(0.0, 1.0);
        self.from + (i as f64 - 1.0 + share) * self.step
    }
}

/// Pieces of at most `most` in a length.
fn count(length: f64, most: f64) -> usize {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
    let n = (length / most - 1e-9).ceil().clamp(1.0, 1e7) as usize;
    n
}

/// Box round everything that is to be worked.
fn bounds(surface: &Surface) -> ((f64, f64), (f64, f64)) {
    let heights = surface.heights();
    let (nx, ny) = heights.count();
    let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
    for j in 0..ny {
        for i in 0..nx {
            let d = surface.clearances()[j * nx + i];
            if d >= 0.0 {
                let p = heights.node(i, j);
                // A clearance reaches on for its own length: the border lies between this node and the next.
                let reach = d.min(heights.step());
                low = (low.0.min(p.0 - reach), low.1.min(p.1 - reach));
                high = (high.0.max(p.0 + reach), high.1.max(p.1 + reach));
            }
        }
    }
    (low, high)
}

/// Cuts a surface into sections in boustrophedon order, row by row from the least y.
///
/// `size` along plan x and y and `blend`, the overlap of neighbours, are lengths on the surface, m. Each
/// direction is cut into the number of equal parts whose size is nearest the one asked for. Sections with
/// nothing to work are left out. A path keeps its inset from a section's border as from a tape line, so
/// that neighbouring sections' pad centres come within twice the inset less the blend of each other.
///
/// # Errors
/// A size outside 50 mm to 10 m, a blend outside 0 to half the smaller size, more than
/// [`MAX_SECTIONS`], a surface with nothing to work.
///
/// # Accuracy
/// Cuts stand at even shares of the mean length across them, by chords of a grid step; areas are counted in
/// cells of 5 mm, so to about that over the section's width at a border.
///
/// # Example
/// ```
/// use trochoid::motion::cut_sections;
/// use trochoid::panel::{HeightMap, Surface};
/// let flat = Surface::new(HeightMap::from_function((0.0, 0.0), (0.86, 0.43), 0.01, |_, _| 0.0)?);
/// // Two sections side by side, each with half of the 50 mm they share: 455 x 430 mm.
/// let sections = cut_sections(&flat, (0.43, 0.43), 0.05)?;
/// assert_eq!(sections.len(), 2);
/// assert!((sections[0].area() - 0.455 * 0.43).abs() < 0.01 * 0.2); // cells at the borders: 1 %
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn cut_sections(surface: &Surface, size: (f64, f64), blend: f64) -> Result<Vec<Section>, RangeError> {
    within("section size", size.0 * 1e3, 50.0, 10_000.0, "mm")?;
    within("section size", size.1 * 1e3, 50.0, 10_000.0, "mm")?;
    within("section blend", blend * 1e3, 0.0, 500.0 * size.0.min(size.1), "mm")?;
    let (low, high) = bounds(surface);
    if !(high.0 > low.0 && high.1 > low.1) {
        return Err(RangeError::new(
            "workable area",
            0.0,
            "mm²",
            "above 0: edges, tape and region leave nothing to work",
        ));
    }
    let profiles = (Profile::of(surface, (low, high), true), Profile::of(surface, (low, high), false));
    let parts = |whole: f64, size: f64| {
        let most = (whole / size).ceil().max(1.0);
        let fewer = (most - 1.0).max(1.0);
        if (whole / fewer - size).abs() < (whole / most - size).abs() { fewer } else { most }
    };
    let (nx, ny) = (parts(profiles.0.whole(), size.0), parts(profiles.1.whole(), size.1));
    if nx * ny > MAX_SECTIONS as f64 {
        return Err(RangeError::new("sections", nx * ny, "", format!("at most {MAX_SECTIONS}: larger sections")));
    }
    // Sides of the i-th of n parts: the outline's, and the borders that limit the pad.
    let sides = |p: &Profile, i: f64, n: f64, ends: (f64, f64)| {
        let cut = |k: f64, by: f64| p.at(p.whole() * k / n + by);
        let a = (i > 0.5).then(|| cut(i, -0.5 * blend));
        let b = (i < n - 1.5).then(|| cut(i + 1.0, 0.5 * blend));
        let outline = (a.unwrap_or(ends.0), b.unwrap_or(ends.1));
        (outline, (a.unwrap_or(f64::NEG_INFINITY), b.unwrap_or(f64::INFINITY)))
    };
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // bounded by MAX_SECTIONS
    let (columns, rows) = (nx as usize, ny as usize);
    let mut out = Vec::new();
    for row in 0..rows {
        for step in 0..columns {
            let column = if row % 2 == 0 { step } else { columns - 1 - step };
            let (x, x_limits) = sides(&profiles.0, column as f64, nx, (low.0, high.0));
            let (y, y_limits) = sides(&profiles.1, row as f64, ny, (low.1, high.1));
            let area = worked_area(surface, (x.0, y.0), (x.1, y.1));
            if area > 0.0 {
                out.push(Section {
                    number: out.len() + 1,
                    place: (column, row),
                    outline: Outline::rectangle((x.0, y.0), (x.1, y.1))?,
                    sides: [x_limits.0, x_limits.1, y_limits.0, y_limits.1],
                    area,
                });
            }
        }
    }
    Ok(out)
}

/// Area of the surface over a plan cell with its middle at a place, m².
pub(super) fn cell_area(surface: &Surface, middle: (f64, f64), cell: (f64, f64)) -> f64 {
    let (sx, sy) = surface.heights().slope_at(middle.0, middle.1, 0.0);
    cell.0 * cell.1 * (1.0 + sx * sx + sy * sy).sqrt()
}

/// Area to be worked inside a rectangle in plan, by cells of at most 5 mm (or 2000 a side), m².
fn worked_area(surface: &Surface, low: (f64, f64), high: (f64, f64)) -> f64 {
    let cells = |l: f64| count(l, 5e-3).min(2000);
    let (nx, ny) = (cells(high.0 - low.0), cells(high.1 - low.1));
    let cell = ((high.0 - low.0) / nx as f64, (high.1 - low.1) / ny as f64);
    let rows = map_indexed(ny, |j| {
        let y = low.1 + (j as f64 + 0.5) * cell.1;
        (0..nx)
            .map(|i| (low.0 + (i as f64 + 0.5) * cell.0, y))
            .filter(|p| surface.clearance_at(p.0, p.1) >= 0.0)
            .map(|p| cell_area(surface, p, cell))
            .sum::<f64>()
    });
    rows.iter().sum()
}
