//! The frame of a panel's plan, and the way from the mesh into it and back.

use super::{TriangleMesh, cross, dot, norm};
use crate::error::RangeError;
use core::fmt;
use core::str::FromStr;

/// Which way of the mesh points out of the paint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Up {
    /// Along x.
    X,
    /// Against x.
    MinusX,
    /// Along y.
    Y,
    /// Against y.
    MinusY,
    /// Along z.
    Z,
    /// Against z.
    MinusZ,
    /// The mean of the triangles' normals, by area: needs triangles that all face the painted side.
    #[default]
    Auto,
}

const NAMES: [(&str, Up); 7] = [
    ("x", Up::X),
    ("-x", Up::MinusX),
    ("y", Up::Y),
    ("-y", Up::MinusY),
    ("z", Up::Z),
    ("-z", Up::MinusZ),
    ("auto", Up::Auto),
];

impl FromStr for Up {
    type Err = String;

    fn from_str(s: &str) -> Result<Self, String> {
        let found = NAMES.iter().find(|(name, _)| *name == s).map(|(_, up)| *up);
        found.ok_or_else(|| format!("up \"{s}\" is not one of x, -x, y, -y, z, -z, auto"))
    }
}

impl fmt::Display for Up {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = NAMES.iter().find(|(_, up)| up == self).map_or("auto", |(name, _)| name);
        f.write_str(name)
    }
}

/// The way from the coordinates of a mesh into the plan of the panel and back: a rotation and a shift.
///
/// ```text
/// q = A p − s      p on the mesh [m], q plan x, plan y and height [m], A rotation [1], s shift [m]
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanFrame {
    rotation: [[f64; 3]; 3],
    shift: [f64; 3],
}

impl PlanFrame {
    /// The frame with `up` as z and the lower corner of the mesh's box at the origin, in plan and in
    /// height.
    ///
    /// For an axis as up, plan x and y run along the other two axes, y turned round where the frame
    /// would not be right-handed. For [`Up::Auto`], plan x is the mesh's x axis laid into the plan (its
    /// y axis where x stands within about 25° of up).
    ///
    /// # Errors
    /// [`Up::Auto`] for a mesh whose normals cancel: their mean, by area, is no longer than a tenth.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::mesh::{PlanFrame, TriangleMesh, Up};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // A triangle that stands upright and faces +y: with y as up it lies in the plan, lower corner at 0.
    /// let corners = vec![[0.1, 0.5, 0.2], [0.1, 0.5, 0.4], [0.4, 0.5, 0.2]];
    /// let frame = PlanFrame::of(&TriangleMesh::new(corners, vec![[0, 1, 2]])?, Up::Y)?;
    /// let q = frame.to_plan([0.4, 0.5, 0.2]);
    /// assert!((q[0] - 0.3).abs() < 1e-15 && (q[1] - 0.2).abs() < 1e-15 && q[2].abs() < 1e-15);
    /// assert!(frame.to_mesh(q).iter().zip([0.4, 0.5, 0.2]).all(|(a, b)| (a - b).abs() < 1e-15));
    /// # Ok(())
    /// # }
    /// ```
    pub fn of(mesh: &TriangleMesh, up: Up) -> Result<Self, RangeError> {
        let (x, z) = match up {
            Up::X => ([0.0, 1.0, 0.0], [1.0, 0.0, 0.0]),
            Up::MinusX => ([0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]),
            Up::Y => ([1.0, 0.0, 0.0], [0.0, 1.0, 0.0]),
            Up::MinusY => ([1.0, 0.0, 0.0], [0.0, -1.0, 0.0]),
            Up::Z => ([1.0, 0.0, 0.0], [0.0, 0.0, 1.0]),
            Up::MinusZ => ([1.0, 0.0, 0.0], [0.0, 0.0, -1.0]),
            Up::Auto => facing(mesh)?,
        };
        let rotation = [x, cross(z, x), z];
        let mut out = Self { rotation, shift: [0.0; 3] };
        let mut low = [f64::INFINITY; 3];
        for v in mesh.triangles().iter().flatten() {
            let p = out.to_plan(mesh.vertices()[*v as usize]);
            low = core::array::from_fn(|k| low[k].min(p[k]));
        }
        out.shift = low;
        Ok(out)
    }

    /// A point of the mesh in the panel's frame: plan x, plan y, height \[m\].
    #[must_use]
    pub const fn to_plan(&self, p: [f64; 3]) -> [f64; 3] {
        let r = &self.rotation;
        [dot(r[0], p) - self.shift[0], dot(r[1], p) - self.shift[1], dot(r[2], p) - self.shift[2]]
    }

    /// A point of the panel's frame on the mesh \[m\].
    #[must_use]
    pub fn to_mesh(&self, q: [f64; 3]) -> [f64; 3] {
        let t: [f64; 3] = core::array::from_fn(|k| q[k] + self.shift[k]);
        core::array::from_fn(|k| self.rotation[0][k] * t[0] + self.rotation[1][k] * t[1] + self.rotation[2][k] * t[2])
    }

    /// A direction of the mesh in the panel's frame \[the unit given\]: turned, not shifted.
    #[must_use]
    pub const fn turn(&self, d: [f64; 3]) -> [f64; 3] {
        let r = &self.rotation;
        [dot(r[0], d), dot(r[1], d), dot(r[2], d)]
    }

    /// The rotation \[1\], row by row: plan x, plan y and up as unit vectors of the mesh.
    #[must_use]
    pub const fn rotation(&self) -> &[[f64; 3]; 3] {
        &self.rotation
    }

    /// What is taken off after the rotation \[m\].
    #[must_use]
    pub const fn shift(&self) -> [f64; 3] {
        self.shift
    }
}

/// Plan x and up from the mean normal.
fn facing(mesh: &TriangleMesh) -> Result<([f64; 3], [f64; 3]), RangeError> {
    let (mut sum, mut area) = ([0.0; 3], 0.0);
    for t in 0..mesh.triangles().len() {
        let a = mesh.area_vector(t);
        area += norm(a);
        sum = core::array::from_fn(|k| sum[k] + a[k]);
    }
    let length = norm(sum);
    // A mesh without area is refused here, too.
    if length <= 0.1 * area {
        let mean = if area > 0.0 { length / area } else { 0.0 };
        let rule = "above 0.1: the triangles face all ways; name up as x, -x, y, -y, z or -z";
        return Err(RangeError::new("mean normal", mean, "", rule));
    }
    let z = sum.map(|c| c / length);
    let along = if z[0].abs() < 0.9 { [1.0, 0.0, 0.0] } else { [0.0, 1.0, 0.0] };
    let off = dot(along, z);
    let x: [f64; 3] = core::array::from_fn(|k| along[k] - off * z[k]);
    let l = norm(x);
    Ok((x.map(|c| c / l), z))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tilted() -> TriangleMesh {
        let v = vec![[0.1, 0.2, 0.3], [0.4, 0.2, 0.5], [0.1, 0.6, 0.7]];
        TriangleMesh::new(v, vec![[0, 1, 2]]).unwrap()
    }

    #[test]
    fn every_frame_is_right_handed_and_leads_back() {
        let m = tilted();
        for (name, up) in NAMES {
            let f = PlanFrame::of(&m, up).unwrap();
            let [x, y, z] = f.rotation();
            assert!((dot(cross(*x, *y), *z) - 1.0).abs() < 1e-14, "{name}"); // a few roundings
            let mut low = [f64::INFINITY; 3];
            for p in m.vertices() {
                let q = f.to_plan(*p);
                low = core::array::from_fn(|k| low[k].min(q[k]));
                let back = f.to_mesh(q);
                for k in 0..3 {
                    assert!((back[k] - p[k]).abs() < 1e-15, "{name}"); // a few roundings of 0.5
                }
            }
            assert!(low.iter().all(|c| c.abs() < 1e-15), "{name}: {low:?}"); // a rounding of the shift
            assert_eq!(name.parse(), Ok(up));
            assert_eq!(up.to_string(), name);
        }
        assert!("up".parse::<Up>().is_err());
    }

    #[test]
    fn auto_takes_the_mean_normal() {
        let f = PlanFrame::of(&tilted(), Up::Auto).unwrap();
        // One triangle lies in its own plan: all heights are 0, up to rounding.
        assert!(tilted().vertices().iter().all(|p| f.to_plan(*p)[2].abs() < 1e-15));
        let both = TriangleMesh::new(tilted().vertices().to_vec(), vec![[0, 1, 2], [0, 2, 1]]).unwrap();
        assert!(PlanFrame::of(&both, Up::Auto).unwrap_err().to_string().contains("name up as"));
    }
}
