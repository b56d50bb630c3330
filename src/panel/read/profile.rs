//! Profiles as CSV: places and heights along one line, swept straight to a panel. What a contour gauge
//! or a ruler and a feeler give.

use super::table::Table;
use super::{ReadError, ReadErrorKind, load};
use crate::error::RangeError;
use crate::math::interpolate::MonotoneCubic;
use crate::panel::HeightMap;
use crate::units::Length;
use std::path::Path;

/// A profile: heights over x, through which a curve is laid.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    points: Vec<(f64, f64)>,
    curve: MonotoneCubic,
}

/// A profile swept along y.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    /// The heights; x as in the file, y from 0 to the length.
    pub heights: HeightMap,
    /// Smallest radius of the circles through three neighbouring points \[m\]; infinite for a straight
    /// profile.
    pub smallest_radius: f64,
    /// The x of the middle one of those three \[m\].
    pub smallest_at: f64,
    /// The larger of the two spacings there \[m\].
    pub spacing: f64,
    /// What is worth saying, in words.
    pub notes: Vec<String>,
}

/// Reads a profile: columns `x_mm,z_mm`, or with `_cm`, `_m`, `_in`.
///
/// See the example of [`profile_from_csv`].
///
/// # Errors
/// A file that cannot be read or is too large, and whatever [`profile_from_csv`] refuses.
pub fn read_profile(path: &Path) -> Result<Profile, ReadError> {
    profile_from_csv(&path.display().to_string(), &load(path)?)
}

/// Reads a profile from the bytes of a table; `name` is for messages.
///
/// # Errors
/// A header without units or with unknown columns, a row of another length, a number that is not finite
/// or beyond 1 km, fewer than three points, x that does not rise from row to row.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::panel::read::profile_from_csv;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// // Three points of a circle of 5 m radius: 100 mm beside the crest it lies 1 mm lower (0.1²/(2 × 0.001) ≈ 5 m).
/// let profile = profile_from_csv("crown.csv", b"x_mm,z_mm\n-100,-1\n0,0\n100,-1\n")?;
/// assert!(profile.height_at(0.0).abs() < 1e-15 && (profile.height_at(0.1) + 1e-3).abs() < 1e-15);
/// let sweep = profile.swept(Length::from_mm(300.0), Length::from_mm(5.0))?;
/// assert!((sweep.smallest_radius - 5.0005).abs() < 1e-6); // exactly (0.1² + 0.001²)/(2 × 0.001)
/// # Ok(())
/// # }
/// ```
pub fn profile_from_csv(name: &str, bytes: &[u8]) -> Result<Profile, ReadError> {
    let table = Table::read(name, bytes, ["x", "z"])?;
    let fail = |what: String| ReadError::new(name, ReadErrorKind::Content, what);
    for pair in table.rows.windows(2) {
        let ((a, _), (b, line)) = (pair[0], pair[1]);
        if b[0] <= a[0] {
            let what = format!("x = {:.4} mm after {:.4} mm", b[0] * 1e3, a[0] * 1e3);
            return Err(fail(what).line(line).allowed("x that rises from row to row"));
        }
    }
    let points: Vec<(f64, f64)> = table.rows.iter().map(|(r, _)| (r[0], r[1])).collect();
    let (x, z) = points.iter().copied().unzip();
    match MonotoneCubic::through(x, z) {
        Some(curve) => Ok(Profile { points, curve }),
        None => Err(fail(format!("{} point(s)", points.len())).allowed("3 or more")),
    }
}

impl Profile {
    /// The points, x and z \[m\].
    #[must_use]
    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    /// Height at x \[m\]: monotone cubic through the points, which does not overshoot, but is level at a
    /// point higher or lower than both its neighbours.
    ///
    /// # References
    /// F. N. Fritsch and J. Butland, 1984, as in [`MonotoneCubic`].
    #[must_use]
    pub fn height_at(&self, x: f64) -> f64 {
        self.curve.at(x)
    }

    /// The profile swept straight along y over `length`, with nodes `step` apart. Beyond its ends it goes on
    /// straight. See the example of [`profile_from_csv`].
    ///
    /// # Errors
    /// A length or profile shorter than two steps, a step or number of nodes that a height map does not
    /// take.
    pub fn swept(&self, length: Length, step: Length) -> Result<Sweep, RangeError> {
        let (length, step) = (length.m(), step.m());
        let (first, last) = (self.points[0].0, self.points[self.points.len() - 1].0);
        for (what, l) in [("sweep length", length), ("profile length", last - first)] {
            if !l.is_finite() || l < 2.0 * step {
                return Err(RangeError::new(what, l * 1e3, "mm", format!("two steps of {} mm or more", step * 1e3)));
            }
        }
        // Beyond its ends the profile goes on straight, so that no cliff or kink stands beside an edge.
        let slope = |at: f64, inward: f64| (self.curve.at(at + inward) - self.curve.at(at)) / inward;
        let reach = 1e-3 * (last - first).min(step);
        let (left, right) = (slope(first, reach), slope(last, -reach));
        let heights = HeightMap::from_function((first, 0.0), (last, length), step, |x, _| {
            let at = x.clamp(first, last);
            self.curve.at(at) + if x < first { left * (x - first) } else { right * (x - last).max(0.0) }
        })?;
        let (smallest_radius, smallest_at, spacing) = self.tightest();
        let notes = vec![note(smallest_radius, smallest_at, spacing)];
        Ok(Sweep { heights, smallest_radius, smallest_at, spacing, notes })
    }

    /// Radius of the tightest circle through three neighbouring points, where, and the spacing there.
    fn tightest(&self) -> (f64, f64, f64) {
        let mut best = (f64::INFINITY, self.points[0].0, self.points[1].0 - self.points[0].0);
        for p in self.points.windows(3) {
            let (a, b, c) = (p[0], p[1], p[2]);
            let side = |p: (f64, f64), q: (f64, f64)| (p.0 - q.0).hypot(p.1 - q.1);
            let twice = ((b.0 - a.0) * (c.1 - a.1) - (c.0 - a.0) * (b.1 - a.1)).abs();
            // Circle through the corners of a triangle: the product of its sides over four times its area.
            let radius = if twice > 0.0 { side(a, b) * side(b, c) * side(c, a) / (2.0 * twice) } else { f64::INFINITY };
            if radius < best.0 {
                best = (radius, b.0, (b.0 - a.0).max(c.0 - b.0));
            }
        }
        best
    }
}

/// Points against the radius: chords of half a radius leave a thirtieth of it unseen (s²/8R).
fn note(radius: f64, at: f64, spacing: f64) -> String {
    if radius.is_infinite() {
        return "the profile is straight".into();
    }
    let unseen = spacing * spacing / (8.0 * radius);
    let told = format!(
        "smallest radius through three neighbouring points {:.2} mm at x = {:.2} mm; points are {:.2} mm apart there, which leaves {:.3} mm between chord and arc",
        radius * 1e3,
        at * 1e3,
        spacing * 1e3,
        unseen * 1e3
    );
    // Half the radius: common practice, no source.
    if spacing > 0.5 * radius {
        format!("{told}: too far apart to show the radius, measure closer points")
    } else {
        told
    }
}
