//! A height map put elsewhere or with a hole cut into it, and the middle of a surface.

use super::{HeightMap, Outline, Surface};
use crate::error::RangeError;

impl HeightMap {
    /// The same panel moved in plan by `by` \[m\].
    ///
    /// # Errors
    /// Coordinates that leave ±1 km.
    pub fn moved(&self, by: (f64, f64)) -> Result<Self, RangeError> {
        let shift = |p: (f64, f64)| (p.0 + by.0, p.1 + by.1);
        let loops = self.outline().loops().iter().map(|l| l.iter().map(|p| shift(*p)).collect()).collect();
        Self::new(shift(self.origin()), self.step(), self.count(), self.heights().to_vec(), Outline::new(loops)?)
    }

    /// The same panel with a hole cut out. The hole must lie within the panel: loops that cross would
    /// make a panel of what lies outside of both.
    ///
    /// # Errors
    /// A corner of the hole off the panel; nothing left of it.
    pub fn with_hole(&self, hole: &Outline) -> Result<Self, RangeError> {
        for l in hole.loops() {
            if let Some(p) = l.iter().find(|p| !self.outline().contains(p.0, p.1)) {
                let mm = crate::units::Length::from_m(p.0).mm();
                return Err(RangeError::new(
                    "holes_mm",
                    mm,
                    "mm along x",
                    "corners within the panel and off other holes",
                ));
            }
        }
        let mut loops = self.outline().loops().to_vec();
        loops.extend(hole.loops().iter().cloned());
        let out = Self::new(self.origin(), self.step(), self.count(), self.heights().to_vec(), Outline::new(loops)?)?;
        if out.edge_distances().iter().all(|d| *d <= 0.0) {
            return Err(RangeError::new("holes_mm", 0.0, "mm² left", "holes that leave some of the panel"));
        }
        Ok(out)
    }
}

impl Surface {
    /// The middle of the panel's box in plan \[m\] where that is to be worked, else the node furthest from
    /// every edge and tape line.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::{HeightMap, Outline, Surface};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// let flat = HeightMap::from_function((0.0, 0.0), (0.4, 0.2), 0.01, |_, _| 0.0)?;
    /// let panel = Surface::new(flat);
    /// assert!((panel.middle().0 - 0.2).abs() < 1e-15);
    /// // With the right three quarters taped, the roomiest node is in the middle of what is left.
    /// let panel = panel.with_tape(vec![Outline::rectangle((0.1, 0.0), (0.4, 0.2))?])?;
    /// assert!((panel.middle().0 - 0.05).abs() < 1e-12);
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn middle(&self) -> (f64, f64) {
        let (low, high) = self.heights().outline().bounds();
        let middle = (0.5 * (low.0 + high.0), 0.5 * (low.1 + high.1));
        if self.clearance_at(middle.0, middle.1) > 0.0 {
            return middle;
        }
        let roomiest = self.clearances().iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
        let nx = self.heights().count().0;
        roomiest.map_or(middle, |(k, _)| self.heights().node(k % nx, k / nx))
    }
}
