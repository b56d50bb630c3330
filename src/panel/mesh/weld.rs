//! Joins the vertices of a triangle soup: a file of loose triangles repeats each vertex in every
//! triangle that meets there.

use super::{TriangleMesh, sub};
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::Length;
use std::collections::HashMap;
use std::collections::hash_map::Entry;

/// A welded mesh and what the welding did.
#[derive(Debug, Clone, PartialEq)]
pub struct Welded {
    /// The mesh.
    pub mesh: TriangleMesh,
    /// Vertices that went into another one.
    pub merged: usize,
    /// Largest distance between a vertex and the one it went into \[m\]: 0 for an exact weld.
    pub largest_move: f64,
    /// Triangles that lost a side by it: they have two corners in one vertex now.
    pub collapsed: usize,
}

/// Joins vertices of the same place.
///
/// With a tolerance of 0 those whose coordinates have the same bits (0 and −0 being the same); with a
/// larger one, each vertex in turn goes into the first one kept before it that is within the tolerance,
/// so that no vertex moves further than that.
///
/// Linear time while the tolerance is below the distance of neighbouring vertices.
///
/// # Errors
/// A tolerance outside 0 to 5 mm, or one so coarse that a cell of its size holds over 64 kept vertices.
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::panel::mesh::{TriangleMesh, weld};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // Two loose triangles of a square: of six corners two pairs lie in one place, so four are left.
/// let soup = vec![[0.0, 0.0, 0.0], [0.1, 0.0, 0.0], [0.1, 0.1, 0.0], [0.0, 0.0, 0.0], [0.1, 0.1, 0.0], [0.0, 0.1, 0.0]];
/// let welded = weld(&TriangleMesh::new(soup, vec![[0, 1, 2], [3, 4, 5]])?, Length::from_mm(0.0))?;
/// assert_eq!((welded.merged, welded.mesh.vertices().len()), (2, 4));
/// assert_eq!(welded.mesh.triangles(), [[0, 1, 2], [0, 2, 3]]);
/// # Ok(())
/// # }
/// ```
pub fn weld(mesh: &TriangleMesh, tolerance: Length) -> Result<Welded, RangeError> {
    within("weld tolerance", tolerance.mm(), 0.0, 5.0, "mm")?;
    let (map, kept, largest_move) =
        if tolerance.m() > 0.0 { near(mesh.vertices(), tolerance.m())? } else { exact(mesh.vertices()) };
    let merged = mesh.vertices().len() - kept.len();
    let sides = |t: &[u32; 3]| t[0] != t[1] && t[1] != t[2] && t[2] != t[0];
    let mut collapsed = 0;
    let triangles = mesh
        .triangles()
        .iter()
        .map(|t| {
            let to = t.map(|v| map[v as usize]);
            collapsed += usize::from(sides(t) && !sides(&to));
            to
        })
        .collect();
    Ok(Welded { mesh: TriangleMesh::new(kept, triangles)?, merged, largest_move, collapsed })
}

pub(super) type Joined = (Vec<u32>, Vec<[f64; 3]>, f64);

/// The bits of a place; adding 0 makes −0 the same place as 0.
pub(super) fn bits(p: [f64; 3]) -> [u64; 3] {
    p.map(|c| (c + 0.0).to_bits())
}

#[allow(clippy::cast_possible_truncation)] // the number of vertices is bounded by MAX_VERTICES
pub(super) fn exact(vertices: &[[f64; 3]]) -> Joined {
    let mut seen: HashMap<[u64; 3], u32> = HashMap::new();
    let mut kept = Vec::new();
    let map = vertices
        .iter()
        .map(|p| match seen.entry(bits(*p)) {
            Entry::Occupied(e) => *e.get(),
            Entry::Vacant(e) => {
                let at = kept.len() as u32;
                e.insert(at);
                kept.push(*p);
                at
            }
        })
        .collect();
    (map, kept, 0.0)
}

#[allow(clippy::cast_possible_truncation)] // vertices are bounded; cells lie within 1 km / 1 nm
fn near(vertices: &[[f64; 3]], tolerance: f64) -> Result<Joined, RangeError> {
    // Cells no smaller than a nanometre, so that their numbers stay exact.
    let size = tolerance.max(1e-9);
    let cell = |p: &[f64; 3]| p.map(|c| (c / size).floor() as i64);
    let mut cells: HashMap<[i64; 3], Vec<u32>> = HashMap::new();
    let mut kept: Vec<[f64; 3]> = Vec::new();
    let mut largest: f64 = 0.0;
    let mut map = Vec::with_capacity(vertices.len());
    for p in vertices {
        let c = cell(p);
        let mut best: Option<u32> = None;
        for d in 0..27_i64 {
            let at = [c[0] + d % 3 - 1, c[1] + d / 3 % 3 - 1, c[2] + d / 9 - 1];
            for k in cells.get(&at).into_iter().flatten() {
                let off = super::norm(sub(kept[*k as usize], *p));
                if off <= tolerance && best.is_none_or(|b| *k < b) {
                    best = Some(*k);
                }
            }
        }
        let to = match best {
            Some(k) => {
                largest = largest.max(super::norm(sub(kept[k as usize], *p)));
                k
            }
            None => {
                let here = cells.entry(c).or_default();
                if here.len() >= 64 {
                    let rule = "smaller: a cell of this size holds over 64 vertices";
                    return Err(RangeError::new("weld tolerance", tolerance * 1e3, "mm", rule));
                }
                here.push(kept.len() as u32);
                kept.push(*p);
                kept.len() as u32 - 1
            }
        };
        map.push(to);
    }
    Ok((map, kept, largest))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two triangles of a square, each with its own corners, the second moved by `off` in x.
    fn soup(off: f64) -> TriangleMesh {
        let v = vec![
            [0.0, 0.0, 0.0],
            [0.1, 0.0, 0.0],
            [0.1, 0.1, 0.0],
            [-0.0 + off, 0.0, -0.0],
            [0.1 + off, 0.1, 0.0],
            [off, 0.1, 0.0],
        ];
        TriangleMesh::new(v, vec![[0, 1, 2], [3, 4, 5]]).unwrap()
    }

    #[test]
    fn equal_bits_are_joined_and_nothing_else() {
        let w = weld(&soup(0.0), Length::from_mm(0.0)).unwrap();
        assert_eq!((w.mesh.vertices().len(), w.merged, w.collapsed), (4, 2, 0));
        assert_eq!(w.mesh.triangles(), [[0, 1, 2], [0, 2, 3]]);
        assert_eq!(weld(&soup(1e-12), Length::from_mm(0.0)).unwrap().merged, 0);
    }

    #[test]
    fn a_tolerance_joins_up_to_itself() {
        let w = weld(&soup(8e-5), Length::from_mm(0.1)).unwrap();
        assert_eq!(w.merged, 2);
        assert!((w.largest_move - 8e-5).abs() < 1e-12); // rounding of 0.1 + 8e-5
        assert_eq!(weld(&soup(1.2e-4), Length::from_mm(0.1)).unwrap().merged, 0);
        assert!(weld(&soup(0.0), Length::from_mm(6.0)).is_err());
    }

    #[test]
    fn a_triangle_smaller_than_the_tolerance_is_counted() {
        let v = vec![[0.0, 0.0, 0.0], [1e-3, 0.0, 0.0], [0.0, 0.1, 0.0]];
        let m = TriangleMesh::new(v, vec![[0, 1, 2]]).unwrap();
        assert_eq!(weld(&m, Length::from_mm(2.0)).unwrap().collapsed, 1);
    }
}
