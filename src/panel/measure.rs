//! Areas and lengths on the surface itself, not in plan.

use super::height_map::HeightMap;
use super::surface::Surface;
use crate::math::reduce::map_indexed;

impl HeightMap {
    /// Surface area per plan area at every node \[1\], row by row: √(1 + z_x² + z_y²), slopes from the
    /// neighbours. See the example of [`HeightMap::area`].
    #[must_use]
    pub fn area_factors(&self) -> Vec<f64> {
        let (nx, ny) = self.count();
        let z = self.heights();
        map_indexed(ny, |j| {
            let (down, up) = (j.saturating_sub(1), (j + 1).min(ny - 1));
            (0..nx)
                .map(|i| {
                    let (left, right) = (i.saturating_sub(1), (i + 1).min(nx - 1));
                    let zx = (z[j * nx + right] - z[j * nx + left]) / ((right - left) as f64 * self.step());
                    let zy = (z[up * nx + i] - z[down * nx + i]) / ((up - down) as f64 * self.step());
                    (1.0 + zx * zx + zy * zy).sqrt()
                })
                .collect::<Vec<f64>>()
        })
        .concat()
    }

    /// Surface area of the panel \[m²\].
    ///
    /// # Accuracy
    /// Cells on the edge count by the edge's distance from their middle: right for edges along the grid but
    /// for a quarter of a cell at each corner, and within the square of the step over the size otherwise.
    /// Noise of standard deviation σ adds about σ²/(2 step²) of the area.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::HeightMap;
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // Three up on four along stretches a plan of 200 x 100 mm by 5/4: 0.02 m² become 0.025 m².
    /// let ramp = HeightMap::from_function((0.0, 0.0), (0.2, 0.1), 1e-3, |x, _| 0.75 * x)?;
    /// assert!(ramp.area_factors().iter().all(|f| (f - 1.25).abs() < 1e-12));
    /// assert!((ramp.area() - 0.025).abs() < 2e-6); // a quarter of a cell at each corner
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn area(&self) -> f64 {
        self.area_where(self.edge_distances())
    }

    /// Surface area where a signed distance is positive.
    fn area_where(&self, distance: &[f64]) -> f64 {
        let step = self.step();
        let factors = self.area_factors();
        let (nx, ny) = self.count();
        let rows = map_indexed(ny, |j| {
            let row = j * nx..(j + 1) * nx;
            let cells = distance[row.clone()].iter().zip(&factors[row]);
            cells.map(|(d, f)| f * (0.5 + d / step).clamp(0.0, 1.0)).sum::<f64>()
        });
        rows.iter().sum::<f64>() * step * step
    }

    /// Way over the surface between two points of the plan along the straight plan line \[m\]: chords of at
    /// most one step.
    ///
    /// # Accuracy
    /// A chord is shorter than the arc over it by step²/(24 R²) of its length, R the radius of curvature.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::HeightMap;
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // Three up on four along: 80 mm of plan are 100 mm of way.
    /// let ramp = HeightMap::from_function((0.0, 0.0), (0.2, 0.1), 5e-3, |x, _| 0.75 * x)?;
    /// assert!((ramp.distance_along((0.05, 0.05), (0.13, 0.05)) - 0.1).abs() < 1e-12);
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn distance_along(&self, from: (f64, f64), to: (f64, f64)) -> f64 {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let plan = dx.hypot(dy);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
        let n = (plan / self.step()).ceil().clamp(1.0, 1e6) as usize;
        let each = plan / n as f64;
        let mut last = self.height_at(from.0, from.1);
        let mut sum = 0.0;
        for k in 1..=n {
            let t = k as f64 / n as f64;
            let z = self.height_at(from.0 + t * dx, from.1 + t * dy);
            sum += each.hypot(z - last);
            last = z;
        }
        sum
    }
}

impl Surface {
    /// Surface area of the part that is to be worked \[m²\]. See the example of [`Surface`].
    ///
    /// # Accuracy
    /// As [`HeightMap::area`]. Where the border of tape or region runs exactly along a free edge, the nodes
    /// on it have no clearance on either side, and a strip of half a step there counts in addition: lay
    /// tape past the edge.
    #[must_use]
    pub fn workable_area(&self) -> f64 {
        self.heights().area_where(self.clearances())
    }
}
