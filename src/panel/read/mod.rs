//! Panels from files: triangle meshes (STL, OBJ, PLY), height maps and profiles (CSV).
//!
//! A file is foreign text: its size is bounded before it is read, what its header claims is checked
//! against its size before anything is allocated, and whatever is wrong comes back as a [`ReadError`]
//! with file, line and what would be allowed. The unit of a mesh is given by the caller, that of a table
//! stands in its header: neither is guessed.
//!
//! PLY is read through `ply-rs-bw`. STL and OBJ are read here, since the crates for them do not do for
//! foreign files: `stl_io` goes by the first word alone and takes a binary file that starts with "solid "
//! for text, stops at the end of the first solid, and refuses a facet whose normal is NaN; `tobj`
//! renumbers the vertices (a result could not be put back), overflows on large texture indices, and
//! names no line. The tests compare with both where both can read.

mod error;
mod grid;
mod obj;
mod ply;
mod profile;
mod stl;
mod table;

pub use error::{ReadError, ReadErrorKind};
pub use grid::{HeightTable, height_map_from_csv, read_height_map};
pub use profile::{Profile, Sweep, profile_from_csv, read_profile};

use super::mesh::{LengthUnit, TriangleMesh};
use core::fmt;
use std::path::Path;

/// Largest file that is read: 512 MiB.
pub const MAX_FILE_BYTES: u64 = 512 << 20;

/// Formats of triangle meshes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeshFormat {
    /// Triangles one by one, text or binary.
    Stl,
    /// Vertices and polygons, text.
    Obj,
    /// Elements described in a header, text or binary.
    Ply,
}

impl MeshFormat {
    /// The format that a file name ends with, in capitals or not.
    ///
    /// # Example
    /// ```
    /// use std::path::Path;
    /// use trochoid::panel::read::MeshFormat;
    /// assert_eq!(MeshFormat::of_name(Path::new("door.PLY")), Some(MeshFormat::Ply));
    /// assert_eq!(MeshFormat::of_name(Path::new("door.csv")), None);
    /// ```
    #[must_use]
    pub fn of_name(name: &Path) -> Option<Self> {
        let end = name.extension()?.to_str()?.to_ascii_lowercase();
        match end.as_str() {
            "stl" => Some(Self::Stl),
            "obj" => Some(Self::Obj),
            "ply" => Some(Self::Ply),
            _ => None,
        }
    }

    /// The format that the content shows, where it shows one beyond doubt.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::read::MeshFormat;
    /// assert_eq!(MeshFormat::of_content(b"ply\nformat ascii 1.0\n"), Some(MeshFormat::Ply));
    /// assert_eq!(MeshFormat::of_content(b"x_mm,z_mm\n0,0\n"), None);
    /// ```
    #[must_use]
    pub fn of_content(bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(b"ply\n") || bytes.starts_with(b"ply\r") {
            return Some(Self::Ply);
        }
        if stl::is_binary(bytes) || stl::is_text(bytes) {
            return Some(Self::Stl);
        }
        obj::is_text(bytes).then_some(Self::Obj)
    }
}

impl fmt::Display for MeshFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Stl => "STL",
            Self::Obj => "OBJ",
            Self::Ply => "PLY",
        })
    }
}

/// A mesh from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct MeshFile {
    /// The mesh, m. Vertices and triangles of OBJ and PLY are in the order of the file.
    pub mesh: TriangleMesh,
    /// Format it was read as.
    pub format: MeshFormat,
    /// Unit its coordinates were read as.
    pub unit: LengthUnit,
    /// What was done to it on the way, in words.
    pub notes: Vec<String>,
}

/// Reads a mesh whose coordinates are in `unit`; see the example of [`mesh_from_bytes`].
///
/// The format is that of the file's name; where the content is beyond doubt another one, that is an
/// error, since one of the two is wrong.
///
/// # Errors
/// A file that cannot be read or is larger than [`MAX_FILE_BYTES`], a name that does not end in stl, obj
/// or ply, content of another format, and whatever [`mesh_from_bytes`] refuses.
pub fn read_mesh(path: &Path, unit: LengthUnit) -> Result<MeshFile, ReadError> {
    let name = path.display().to_string();
    let Some(format) = MeshFormat::of_name(path) else {
        return Err(ReadError::new(&name, ReadErrorKind::WrongFormat, "the name does not say the format")
            .allowed("a name that ends in .stl, .obj or .ply"));
    };
    mesh_from_bytes(&name, &load(path)?, format, unit)
}

/// Reads a mesh from the bytes of a file; `name` is for messages.
///
/// # Errors
/// An empty, cut or damaged file, content of another format, a claim of more triangles or vertices than
/// the bytes can hold or than a mesh may have, a coordinate that is not finite or beyond 1 km, a vertex
/// number that does not exist.
///
/// # Example
/// ```
/// use trochoid::panel::mesh::LengthUnit;
/// use trochoid::panel::read::{MeshFormat, mesh_from_bytes};
/// # fn main() -> Result<(), trochoid::panel::read::ReadError> {
/// // Legs of 300 and 400 mm: half of 0.12 m².
/// let text = b"v 0 0 0\nv 300 0 0\nv 0 400 0\nf 1 2 3\n";
/// let file = mesh_from_bytes("small.obj", text, MeshFormat::Obj, LengthUnit::Mm)?;
/// assert!((file.mesh.area() - 0.06).abs() < 1e-15);
/// // A vertex that does not exist is refused with its line.
/// let bad = mesh_from_bytes("small.obj", b"v 0 0 0\nv 300 0 0\nf 1 2 3\n", MeshFormat::Obj, LengthUnit::Mm);
/// assert!(bad.is_err_and(|e| e.line == Some(3)));
/// # Ok(())
/// # }
/// ```
pub fn mesh_from_bytes(name: &str, bytes: &[u8], format: MeshFormat, unit: LengthUnit) -> Result<MeshFile, ReadError> {
    if bytes.is_empty() {
        return Err(ReadError::new(name, ReadErrorKind::Empty, "the file is empty").allowed(format!("{format} data")));
    }
    if let Some(seen) = MeshFormat::of_content(bytes).filter(|seen| *seen != format) {
        return Err(ReadError::new(
            name,
            ReadErrorKind::WrongFormat,
            format!("named {format}, but the content is {seen}"),
        )
        .allowed(format!("{format} data, or a name that ends in .{}", seen.to_string().to_lowercase())));
    }
    let (mesh, notes) = match format {
        MeshFormat::Stl => stl::read(name, bytes, unit)?,
        MeshFormat::Obj => obj::read(name, bytes, unit)?,
        MeshFormat::Ply => ply::read(name, bytes, unit)?,
    };
    Ok(MeshFile { mesh, format, unit, notes })
}

/// The bytes of a file of bounded size.
fn load(path: &Path) -> Result<Vec<u8>, ReadError> {
    use std::io::Read;
    let name = path.display().to_string();
    let system = |e: &std::io::Error| ReadError::new(&name, ReadErrorKind::System, e.to_string());
    let file = std::fs::File::open(path).map_err(|e| system(&e))?;
    let meta = file.metadata().map_err(|e| system(&e))?;
    if meta.is_dir() {
        return Err(ReadError::new(&name, ReadErrorKind::System, "this is a folder").allowed("a file"));
    }
    let too_large = |bytes: u64| {
        ReadError::new(&name, ReadErrorKind::TooLarge, format!("the file has {bytes} bytes"))
            .allowed(format!("at most {MAX_FILE_BYTES} bytes"))
    };
    if meta.len() > MAX_FILE_BYTES {
        return Err(too_large(meta.len()));
    }
    // One byte more than allowed, so that a pipe or a growing file is caught as well.
    let mut bytes = Vec::new();
    file.take(MAX_FILE_BYTES + 1).read_to_end(&mut bytes).map_err(|e| system(&e))?;
    if bytes.len() as u64 > MAX_FILE_BYTES {
        return Err(too_large(bytes.len() as u64));
    }
    Ok(bytes)
}

/// Coordinates in metres, where they are finite and within 1 km.
fn vertex(p: [f64; 3], unit: LengthUnit) -> Result<[f64; 3], String> {
    for (axis, c) in ["x", "y", "z"].into_iter().zip(p) {
        if !c.is_finite() || unit.metres(c).abs() > 1e3 {
            return Err(format!("{axis} = {c}"));
        }
    }
    Ok(p.map(|c| unit.metres(c)))
}

/// What a coordinate may be.
fn coordinate_rule(unit: LengthUnit) -> String {
    format!("a finite number, within ±{} {unit}", unit.of_metres(1e3).round())
}

/// Adds the triangles of a polygon, fanned from its first corner.
fn fan(polygon: &[u32], triangles: &mut Vec<[u32; 3]>) {
    for pair in polygon[1..].windows(2) {
        triangles.push([polygon[0], pair[0], pair[1]]);
    }
}

fn fan_note(polygons: usize) -> Option<String> {
    (polygons > 0).then(|| {
        format!("{polygons} polygon(s) with more than three corners were cut into triangles from their first corner")
    })
}
