//! Triangle meshes of panels: what a scanner or a drawing gives, before it is turned into heights.
//!
//! A mesh is checked when it is made and never changed in silence: what is wrong with it is listed by
//! [`MeshHealth`], and [`MeshView`] turns it into a [`HeightMap`](super::HeightMap) with an account of
//! what a height map cannot hold. Not a mesh repair: nothing is closed, flipped or smoothed here.

pub(crate) mod border;
mod bucket;
mod edges;
pub(crate) mod extend;
mod finding;
mod frame;
mod health;
pub(crate) mod raster;
mod unit;
mod view;
mod weld;

pub use edges::BoundaryLoop;
pub use finding::{Finding, FindingKind, Severity};
pub use frame::{PlanFrame, Up};
pub use health::{Component, MeshHealth};
pub use unit::LengthUnit;
pub use view::{MeshPanel, MeshView, OutlineSource};
pub use weld::{Welded, weld};

use crate::error::RangeError;

/// Most triangles a mesh may have: about 700 MB with everything that the health report builds.
pub const MAX_TRIANGLES: usize = 5_000_000;

/// Most vertices a mesh may have: three for each triangle, as in a soup.
pub const MAX_VERTICES: usize = 3 * MAX_TRIANGLES;

/// Triangles over shared vertices, m.
///
/// Seen from the painted side the corners of a triangle run anticlockwise; a mesh that breaks this is
/// taken all the same, and its [`MeshHealth`] says so. At most [`MAX_TRIANGLES`] triangles, coordinates
/// within 1 km.
///
/// # Example
/// ```
/// use trochoid::panel::mesh::TriangleMesh;
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // A right triangle with legs of 300 and 400 mm: half of 0.12 m², facing up.
/// let mesh = TriangleMesh::new(vec![[0.0; 3], [0.3, 0.0, 0.0], [0.0, 0.4, 0.0]], vec![[0, 1, 2]])?;
/// assert!((mesh.area() - 0.06).abs() < 1e-15 && (mesh.area_vector(0)[2] - 0.06).abs() < 1e-15);
/// assert!((mesh.bounds().1[1] - 0.4).abs() < 1e-15);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct TriangleMesh {
    vertices: Vec<[f64; 3]>,
    triangles: Vec<[u32; 3]>,
}

impl TriangleMesh {
    /// A mesh from its vertices \[m\] and the vertex numbers of its triangles, from 0.
    ///
    /// # Errors
    /// No triangle, more than [`MAX_TRIANGLES`] triangles or [`MAX_VERTICES`] vertices, a coordinate
    /// that is not finite or beyond 1 km, a vertex number that does not exist.
    pub fn new(vertices: Vec<[f64; 3]>, triangles: Vec<[u32; 3]>) -> Result<Self, RangeError> {
        if triangles.is_empty() || triangles.len() > MAX_TRIANGLES {
            let allowed = format!("1 to {MAX_TRIANGLES}");
            return Err(RangeError::new("mesh triangles", triangles.len() as f64, "", allowed));
        }
        if vertices.is_empty() || vertices.len() > MAX_VERTICES {
            let allowed = format!("3 to {MAX_VERTICES}");
            return Err(RangeError::new("mesh vertices", vertices.len() as f64, "", allowed));
        }
        for (i, v) in vertices.iter().enumerate() {
            for (k, c) in v.iter().enumerate() {
                if c.is_nan() || c.abs() > 1e3 {
                    let axis = ["x", "y", "z"][k];
                    let allowed = format!("finite, within 1 km (vertex {i}, {axis})");
                    return Err(RangeError::new("vertex coordinate", *c, "m", allowed));
                }
            }
        }
        for (i, t) in triangles.iter().enumerate() {
            if let Some(v) = t.iter().find(|v| **v as usize >= vertices.len()) {
                let allowed = format!("0 to {} (triangle {i})", vertices.len() - 1);
                return Err(RangeError::new("vertex number", f64::from(*v), "", allowed));
            }
        }
        Ok(Self { vertices, triangles })
    }

    /// Vertices \[m\].
    #[must_use]
    pub fn vertices(&self) -> &[[f64; 3]] {
        &self.vertices
    }

    /// Vertex numbers of the triangles.
    #[must_use]
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// Corners of a triangle \[m\].
    #[must_use]
    pub fn corners(&self, triangle: usize) -> [[f64; 3]; 3] {
        self.triangles[triangle].map(|v| self.vertices[v as usize])
    }

    /// Half the cross product of two sides: along the normal, as long as the area \[m²\].
    #[must_use]
    pub fn area_vector(&self, triangle: usize) -> [f64; 3] {
        let [a, b, c] = self.corners(triangle);
        cross(sub(b, a), sub(c, a)).map(|x| 0.5 * x)
    }

    /// Area of all triangles \[m²\].
    #[must_use]
    pub fn area(&self) -> f64 {
        (0..self.triangles.len()).map(|t| norm(self.area_vector(t))).sum()
    }

    /// Lower and upper corner of the box round the vertices that triangles use \[m\].
    #[must_use]
    pub fn bounds(&self) -> ([f64; 3], [f64; 3]) {
        let mut out = EMPTY_BOX;
        for t in 0..self.triangles.len() {
            for p in self.corners(t) {
                grow(&mut out, p);
            }
        }
        out
    }
}

type Bounds = ([f64; 3], [f64; 3]);

const EMPTY_BOX: Bounds = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);

fn grow(bounds: &mut Bounds, p: [f64; 3]) {
    for (k, c) in p.into_iter().enumerate() {
        bounds.0[k] = bounds.0[k].min(c);
        bounds.1[k] = bounds.1[k].max(c);
    }
}

const fn sub(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

const fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

const fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn norm(a: [f64; 3]) -> f64 {
    dot(a, a).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mesh_is_checked_when_it_is_made() {
        let v = vec![[0.0, 0.0, 0.0], [0.1, 0.0, 0.0], [0.0, 0.1, 0.0]];
        assert!(TriangleMesh::new(v.clone(), vec![[0, 1, 2]]).is_ok());
        let what = |v: Vec<[f64; 3]>, t: Vec<[u32; 3]>| TriangleMesh::new(v, t).unwrap_err().to_string();
        assert!(what(v.clone(), vec![[0, 1, 3]]).contains("vertex number = 3"));
        assert!(what(v.clone(), Vec::new()).contains("mesh triangles = 0"));
        assert!(what(vec![], vec![[0, 1, 2]]).contains("mesh vertices = 0"));
        let mut bad = v.clone();
        bad[1][2] = f64::NAN;
        assert!(what(bad, vec![[0, 1, 2]]).contains("vertex 1, z"));
        let mut far = v;
        far[2][0] = 1.1e3;
        assert!(what(far, vec![[0, 1, 2]]).contains("1100"));
    }

    #[test]
    fn area_and_box_of_a_triangle() {
        let m = TriangleMesh::new(
            vec![[0.0, 0.0, 1.0], [0.3, 0.0, 1.0], [0.0, 0.4, 1.0], [9.0, 9.0, 9.0]],
            vec![[0, 1, 2]],
        )
        .unwrap();
        assert!((m.area() - 0.06).abs() < 1e-15); // half of 0.3 x 0.4; one rounding
        assert!(m.area_vector(0)[2] > 0.0);
        // The vertex that no triangle uses does not count.
        assert!((m.bounds().1[0] - 0.3).abs() < 1e-15); // stored, not computed
    }
}
