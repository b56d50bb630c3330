//! Coloured surfaces as PLY, binary little endian, for any viewer of meshes: positions in millimetres,
//! a colour for the eye and the value itself for whoever wants to measure.
//!
//! Colours are those of the cividis map (J. R. Nuñez, C. R. Anderton, R. S. Renslow, "Optimizing
//! colormaps with consideration for color vision deficiency", PLoS ONE 13 (2018) e0199239), as in the
//! pictures. Values outside the range take its end colours, values that are not numbers are grey.

use crate::RangeError;
use crate::panel::HeightMap;
use crate::panel::mesh::TriangleMesh;
use crate::units::Length;

/// Colour of a value that is not a number.
const GREY: [u8; 3] = [150, 150, 150];

/// What a surface is coloured by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColouredField<'a> {
    /// Name of the property, with its unit: a letter, then letters, digits and `_`, such as `cut_um`.
    pub name: &'a str,
    /// Values, one for each node or vertex, in the unit that the name says.
    pub values: &'a [f64],
    /// Values of the first and the last colour; `None` takes them from the values.
    pub range: Option<(f64, f64)>,
}

impl ColouredField<'_> {
    fn check(&self, wanted: usize) -> Result<(f64, f64), RangeError> {
        let word = |c: char| c.is_ascii_alphanumeric() || c == '_';
        let letter = self.name.starts_with(|c: char| c.is_ascii_alphabetic());
        let taken = ["x", "y", "z", "red", "green", "blue"].contains(&self.name);
        if !letter || taken || self.name.len() > 60 || !self.name.chars().all(word) {
            let rule = "up to 60 letters, digits and _, a letter first, none of x, y, z, red, green, blue";
            return Err(RangeError::new("letters of the field name", self.name.len() as f64, "", rule));
        }
        if self.values.len() != wanted {
            let allowed = format!("{wanted}, one for each node or vertex");
            return Err(RangeError::new("field values", self.values.len() as f64, "", allowed));
        }
        let finite = || self.values.iter().copied().filter(|v| v.is_finite());
        let (low, high) = self
            .range
            .unwrap_or_else(|| (finite().fold(f64::INFINITY, f64::min), finite().fold(f64::NEG_INFINITY, f64::max)));
        if self.range.is_some() && !(low.is_finite() && high.is_finite() && low < high) {
            return Err(RangeError::new("colour range", high - low, "", "finite, its end above its start"));
        }
        Ok((low, high))
    }
}

fn colour(value: f64, (low, high): (f64, f64)) -> [u8; 3] {
    if value.is_nan() {
        return GREY;
    }
    // All values equal, or none: the middle of the map.
    let t = if high > low { ((value - low) / (high - low)).clamp(0.0, 1.0) } else { 0.5 };
    let c = colorous::CIVIDIS.eval_continuous(t);
    [c.r, c.g, c.b]
}

/// A height map with one value a node, row by row: the nodes on the panel, and two triangles for each
/// cell with all four corners on it.
///
/// # Errors
/// A name that is not one, another number of values, a range that is not one, a map without a full cell.
///
/// # Example
/// ```
/// use trochoid::panel::HeightMap;
/// use trochoid::report::{ColouredField, ply_of_heights};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // A flat of 20 mm x 20 mm in steps of 10 mm: 9 nodes, 4 cells, 8 triangles.
/// let map = HeightMap::from_function((0.0, 0.0), (0.02, 0.02), 0.01, |_, _| 0.0)?;
/// // The map reaches past the panel; nodes there take no part.
/// let values = vec![2.0; map.count().0 * map.count().1];
/// let file = ply_of_heights(&map, &ColouredField { name: "cut_um", values: &values, range: None })?;
/// let head = String::from_utf8_lossy(&file);
/// assert!(head.contains("element vertex 9\n") && head.contains("element face 8\n"));
/// # Ok(())
/// # }
/// ```
pub fn ply_of_heights(map: &HeightMap, field: &ColouredField<'_>) -> Result<Vec<u8>, RangeError> {
    let (nx, ny) = map.count();
    let range = field.check(nx * ny)?;
    // Nodes on the border count as on the panel; a nanometre for the rounding of their distance.
    let on = |n: usize| map.edge_distances()[n] >= -1e-9;
    let mut number = vec![u32::MAX; nx * ny];
    let mut file = Writer::new(range);
    for n in (0..nx * ny).filter(|n| on(*n)) {
        let (x, y) = map.node(n % nx, n / nx);
        number[n] = file.vertex([x, y, map.heights()[n]], field.values[n]);
    }
    for j in 0..ny - 1 {
        for i in 0..nx - 1 {
            let n = j * nx + i;
            let [a, b, c, d] = [n, n + 1, n + nx + 1, n + nx].map(|n| number[n]);
            if [a, b, c, d].iter().all(|v| *v != u32::MAX) {
                file.triangle([a, b, c]);
                file.triangle([a, c, d]);
            }
        }
    }
    if file.triangles == 0 {
        return Err(RangeError::new("cells on the panel", 0.0, "", "1 or more"));
    }
    Ok(file.finish(field.name))
}

/// A mesh with one value a vertex.
///
/// # Errors
/// A name that is not one, another number of values, a range that is not one.
///
/// # Example
/// ```
/// use trochoid::panel::mesh::TriangleMesh;
/// use trochoid::report::{ColouredField, ply_of_mesh};
/// let mesh = TriangleMesh::new(vec![[0.0; 3], [1e-3, 0.0, 0.0], [0.0, 2e-3, 0.0]], vec![[0, 1, 2]])?;
/// let file = ply_of_mesh(&mesh, &ColouredField { name: "cut_um", values: &[1.0, 2.0, 3.0], range: None })?;
/// // After the head three vertices of four singles and a colour, 19 bytes each, and a triangle of 13 bytes.
/// let head = b"end_header\n";
/// let at = file.windows(head.len()).position(|w| w == head).expect("every file has a head") + head.len();
/// assert_eq!(file.len() - at, 3 * 19 + 13);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn ply_of_mesh(mesh: &TriangleMesh, field: &ColouredField<'_>) -> Result<Vec<u8>, RangeError> {
    let mut file = Writer::new(field.check(mesh.vertices().len())?);
    for (p, value) in mesh.vertices().iter().zip(field.values) {
        file.vertex(*p, *value);
    }
    for t in mesh.triangles() {
        file.triangle(*t);
    }
    Ok(file.finish(field.name))
}

/// The two lists of the file as bytes.
struct Writer {
    range: (f64, f64),
    vertices: u32,
    triangles: u32,
    vertex_bytes: Vec<u8>,
    triangle_bytes: Vec<u8>,
}

impl Writer {
    const fn new(range: (f64, f64)) -> Self {
        Self { range, vertices: 0, triangles: 0, vertex_bytes: Vec::new(), triangle_bytes: Vec::new() }
    }

    fn vertex(&mut self, p: [f64; 3], value: f64) -> u32 {
        for c in p {
            self.single(Length::from_m(c).mm());
        }
        self.single(value);
        self.vertex_bytes.extend_from_slice(&colour(value, self.range));
        self.vertices += 1;
        self.vertices - 1
    }

    #[allow(clippy::cast_possible_truncation)] // single precision is what viewers read
    fn single(&mut self, value: f64) {
        self.vertex_bytes.extend_from_slice(&(value as f32).to_le_bytes());
    }

    fn triangle(&mut self, t: [u32; 3]) {
        self.triangle_bytes.push(3);
        for v in t {
            self.triangle_bytes.extend_from_slice(&v.to_le_bytes());
        }
        self.triangles += 1;
    }

    fn finish(self, name: &str) -> Vec<u8> {
        let mut out = format!(
            "ply\nformat binary_little_endian 1.0\ncomment x, y, z in mm\n\
             element vertex {}\nproperty float x\nproperty float y\nproperty float z\nproperty float {name}\n\
             property uchar red\nproperty uchar green\nproperty uchar blue\n\
             element face {}\nproperty list uchar int vertex_indices\nend_header\n",
            self.vertices, self.triangles
        )
        .into_bytes();
        out.extend(self.vertex_bytes);
        out.extend(self.triangle_bytes);
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_triangle_byte_by_byte() {
        let mesh = TriangleMesh::new(vec![[0.0; 3], [1e-3, 0.0, 0.0], [0.0, 2e-3, 0.0]], vec![[0, 1, 2]]).unwrap();
        let field = ColouredField { name: "cut_um", values: &[1.0, f64::NAN, 3.0], range: None };
        let bytes = ply_of_mesh(&mesh, &field).unwrap();
        let head = b"end_header\n";
        let at = bytes.windows(head.len()).position(|w| w == head).unwrap() + head.len();
        // Three vertices of four singles and three bytes, one triangle of a byte and three numbers.
        assert_eq!(bytes.len() - at, 3 * 19 + 13);
        let single = |k: usize| f32::from_le_bytes(bytes[at + k..at + k + 4].try_into().unwrap());
        assert!((single(19) - 1.0).abs() < 1e-6); // x of the second, mm, single precision
        assert!((single(12) - 1.0).abs() < 1e-6 && single(19 + 12).is_nan());
        let ends = [colorous::CIVIDIS.eval_continuous(0.0), colorous::CIVIDIS.eval_continuous(1.0)];
        assert_eq!(bytes[at + 16..at + 19], [ends[0].r, ends[0].g, ends[0].b]);
        assert_eq!(bytes[at + 19 + 16..at + 38], GREY);
        assert_eq!(bytes[at + 38 + 16..at + 57], [ends[1].r, ends[1].g, ends[1].b]);
        assert_eq!(bytes[at + 57..], [3, 0, 0, 0, 0, 1, 0, 0, 0, 2, 0, 0, 0]);
    }

    #[test]
    fn bad_fields_are_refused() {
        let mesh = TriangleMesh::new(vec![[0.0; 3]; 3], vec![[0, 1, 2]]).unwrap();
        let v = [1.0; 3];
        for (name, values, range) in [
            ("cut um", &v[..], None),
            ("x", &v[..], None),
            ("", &v[..], None),
            ("cut_um", &v[..2], None),
            ("cut_um", &v[..], Some((1.0, 1.0))),
            ("cut_um", &v[..], Some((f64::NAN, 1.0))),
        ] {
            assert!(ply_of_mesh(&mesh, &ColouredField { name, values, range }).is_err(), "{name} {range:?}");
        }
    }
}
