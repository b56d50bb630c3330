//! Closed outlines in plan: a panel's free edges, its holes, taped areas, work regions.

use super::segment_tree::{SegmentTree, crossing, foot};
use crate::error::RangeError;

/// Most corners an outline may have.
pub const MAX_CORNERS: usize = 200_000;

/// A set of closed loops in plan, m. A point is inside where an odd number of loops goes round it, so
/// a loop within a loop is a hole.
///
/// # Example
/// ```
/// use trochoid::panel::Outline;
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // 400 x 300 mm with a hole of 100 x 100 mm: 0.12 − 0.01 m².
/// let side = vec![(0.0, 0.0), (0.4, 0.0), (0.4, 0.3), (0.0, 0.3)];
/// let hole = vec![(0.1, 0.1), (0.2, 0.1), (0.2, 0.2), (0.1, 0.2)];
/// let panel = Outline::new(vec![side, hole])?;
/// assert!((panel.plan_area() - 0.11).abs() < 1e-15);
/// // The middle of the hole is off the panel, 50 mm from its edge.
/// assert!(!panel.contains(0.15, 0.15) && (panel.signed_distance(0.15, 0.15) + 0.05).abs() < 1e-15);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Outline {
    loops: Vec<Vec<(f64, f64)>>,
}

impl Outline {
    /// An outline from its loops \[m\]; the last corner of each joins the first.
    ///
    /// See the example of [`Outline`].
    ///
    /// # Errors
    /// No loop, a loop of fewer than three corners, a corner that is not finite or beyond 1 km, more
    /// than [`MAX_CORNERS`] corners.
    pub fn new(loops: Vec<Vec<(f64, f64)>>) -> Result<Self, RangeError> {
        let corners: usize = loops.iter().map(Vec::len).sum();
        if loops.is_empty() || corners > MAX_CORNERS {
            return Err(RangeError::new("outline corners", corners as f64, "", format!("3 to {MAX_CORNERS}")));
        }
        for l in &loops {
            if l.len() < 3 {
                return Err(RangeError::new("outline corners", l.len() as f64, "", "3 or more in each loop"));
            }
            for p in l {
                crate::equipment::within("outline corner", p.0, -1e3, 1e3, "m")?;
                crate::equipment::within("outline corner", p.1, -1e3, 1e3, "m")?;
            }
        }
        Ok(Self { loops })
    }

    /// A rectangle between two opposite corners, m.
    ///
    /// # Errors
    /// As [`Outline::new`].
    pub fn rectangle(from: (f64, f64), to: (f64, f64)) -> Result<Self, RangeError> {
        Self::new(vec![vec![from, (to.0, from.1), to, (from.0, to.1)]])
    }

    /// The loops \[m\].
    #[must_use]
    pub fn loops(&self) -> &[Vec<(f64, f64)>] {
        &self.loops
    }

    /// Segments of all loops, from and to \[m\].
    pub fn segments(&self) -> impl Iterator<Item = ((f64, f64), (f64, f64))> + '_ {
        self.loops.iter().flat_map(|l| (0..l.len()).map(move |i| (l[i], l[(i + 1) % l.len()])))
    }

    /// Whether a point \[m\] is inside (even-odd rule). Goes through every segment.
    #[must_use]
    pub fn contains(&self, x: f64, y: f64) -> bool {
        self.segments().filter_map(|s| crossing(&s, y)).filter(|c| x < *c).count() % 2 == 1
    }

    /// Nearest point of the outline and its distance in plan \[m\]; the first of those at one distance.
    /// Goes through every segment: the reference for the tree that serves whole grids.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::Outline;
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // From 30 mm beyond one side and 40 mm beyond the next, the corner is nearest: √(30² + 40²) = 50 mm.
    /// let panel = Outline::rectangle((0.0, 0.0), (0.4, 0.3))?;
    /// let (at, distance) = panel.nearest(0.43, 0.34);
    /// assert!((at.0 - 0.4).abs() < 1e-15 && (at.1 - 0.3).abs() < 1e-15 && (distance - 0.05).abs() < 1e-15);
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn nearest(&self, x: f64, y: f64) -> ((f64, f64), f64) {
        let mut best = ((f64::NAN, f64::NAN), f64::INFINITY);
        for s in self.segments() {
            let (p, square) = foot(&s, x, y);
            if square < best.1 {
                best = (p, square);
            }
        }
        (best.0, (x - best.0.0).hypot(y - best.0.1))
    }

    /// The segments under a tree of boxes.
    pub(super) fn tree(&self) -> SegmentTree {
        SegmentTree::new(self.segments().collect())
    }

    /// Area in plan \[m²\]: the sum over the loops with the sign that makes a hole count down, for loops
    /// that do not cross one another. See the example of [`Outline`].
    #[must_use]
    pub fn plan_area(&self) -> f64 {
        let mut sum = 0.0;
        for (i, l) in self.loops.iter().enumerate() {
            let twice: f64 =
                (0..l.len()).map(|k| (l[k], l[(k + 1) % l.len()])).map(|(a, b)| a.0 * b.1 - b.0 * a.1).sum();
            // A loop within an odd number of others is a hole.
            let around = self.loops.iter().enumerate().filter(|(o, _)| *o != i);
            let depth = around.filter(|(_, o)| Self { loops: vec![(*o).clone()] }.contains(l[0].0, l[0].1)).count();
            sum += if depth % 2 == 0 { twice.abs() } else { -twice.abs() };
        }
        0.5 * sum
    }

    /// Signed distance in plan \[m\]: positive inside.
    #[must_use]
    pub fn signed_distance(&self, x: f64, y: f64) -> f64 {
        let d = self.nearest(x, y).1;
        if self.contains(x, y) { d } else { -d }
    }

    /// Smallest box that holds every loop: lower and upper corner \[m\].
    #[must_use]
    pub fn bounds(&self) -> ((f64, f64), (f64, f64)) {
        let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
        for p in self.loops.iter().flatten() {
            low = (low.0.min(p.0), low.1.min(p.1));
            high = (high.0.max(p.0), high.1.max(p.1));
        }
        (low, high)
    }
}
