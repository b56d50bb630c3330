//! A panel to be worked: its heights, what is taped off, and which part of it is to be worked.

use super::segment_tree::SegmentTree;
use super::{HeightMap, Outline};
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::Angle;

/// A real panel with its tape lines, its work region and its incline.
///
/// # Example
/// ```
/// use trochoid::panel::{HeightMap, Outline, Surface};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let flat = HeightMap::from_function((0.0, 0.0), (0.4, 0.3), 5e-3, |_, _| 0.0)?;
/// // Tape over the last 100 mm, laid 20 mm past the edges.
/// let panel = Surface::new(flat).with_tape(vec![Outline::rectangle((0.3, -0.02), (0.42, 0.32))?])?;
/// // At x = 240 mm the tape line is 60 mm away, nearer than every edge; 10 mm onto the tape it counts down.
/// assert!((panel.clearance_at(0.24, 0.15) - 0.06).abs() < 1e-12);
/// assert!((panel.clearance_at(0.31, 0.15) + 0.01).abs() < 1e-12 && panel.taped_at(0.31, 0.15));
/// // 300 x 300 mm of 400 x 300 are left.
/// assert!((panel.workable_area() - 0.09).abs() < 1e-4);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Surface {
    heights: HeightMap,
    tape: Vec<Outline>,
    tape_trees: Vec<SegmentTree>,
    region: Option<Outline>,
    incline: f64,
    clearance: Vec<f64>,
}

impl Surface {
    /// A panel without tape, all of it to be worked, facing up.
    #[must_use]
    pub fn new(heights: HeightMap) -> Self {
        let clearance = heights.edge_distances().to_vec();
        Self { heights, tape: Vec::new(), tape_trees: Vec::new(), region: None, incline: 0.0, clearance }
    }

    /// Tapes areas off: the pad presses there, but the paint is not touched, and the pad centre keeps
    /// clear of them.
    ///
    /// # Errors
    /// Tape and region that leave nothing to work.
    pub fn with_tape(mut self, tape: Vec<Outline>) -> Result<Self, RangeError> {
        self.tape_trees = tape.iter().map(Outline::tree).collect();
        self.tape = tape;
        self.renew()
    }

    /// Limits the work to a region.
    ///
    /// # Errors
    /// Tape and region that leave nothing to work.
    pub fn with_region(mut self, region: Outline) -> Result<Self, RangeError> {
        self.region = Some(region);
        self.renew()
    }

    /// Sets the incline: 0 facing up, 90° vertical, 180° facing down.
    ///
    /// # Errors
    /// Outside 0 to 180°.
    pub fn with_incline(mut self, incline: Angle) -> Result<Self, RangeError> {
        within("incline_deg", incline.deg(), 0.0, 180.0, "°")?;
        self.incline = incline.rad();
        Ok(self)
    }

    fn renew(mut self) -> Result<Self, RangeError> {
        self.clearance = self.heights.edge_distances().to_vec();
        for t in &self.tape_trees {
            for (c, d) in self.clearance.iter_mut().zip(t.distances(&self.heights, true)) {
                *c = c.min(-d);
            }
        }
        if let Some(r) = &self.region {
            for (c, d) in self.clearance.iter_mut().zip(r.tree().distances(&self.heights, true)) {
                *c = c.min(d);
            }
        }
        if self.clearance.iter().all(|d| *d <= 0.0) {
            return Err(RangeError::new("workable area", 0.0, "mm²", "above 0: tape and region leave nothing to work"));
        }
        Ok(self)
    }

    /// The heights.
    #[must_use]
    pub const fn heights(&self) -> &HeightMap {
        &self.heights
    }

    /// Taped areas.
    #[must_use]
    pub fn tape(&self) -> &[Outline] {
        &self.tape
    }

    /// The region to be worked, where it is limited.
    #[must_use]
    pub const fn region(&self) -> Option<&Outline> {
        self.region.as_ref()
    }

    /// Incline: 0 facing up, 90° vertical, 180° facing down.
    #[must_use]
    pub const fn incline(&self) -> Angle {
        Angle::from_rad(self.incline)
    }

    /// Signed distance to the nearest free edge, tape line or border of the region \[m\]: positive where
    /// the panel is to be worked; measured through space.
    #[must_use]
    pub fn clearance_at(&self, x: f64, y: f64) -> f64 {
        self.heights.read(&self.clearance, x, y)
    }

    /// The same at the nodes \[m\], row by row.
    #[must_use]
    pub fn clearances(&self) -> &[f64] {
        &self.clearance
    }

    /// Whether a point of the plan \[m\] is under tape.
    #[must_use]
    pub fn taped_at(&self, x: f64, y: f64) -> bool {
        self.tape_trees.iter().any(|t| t.contains(x, y))
    }
}
