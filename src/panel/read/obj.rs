//! OBJ: lines of vertices (`v x y z`) and polygons (`f 1 2 3`), text. Vertices keep their order and
//! number, so that results can be put back on the file's own mesh. Normals, textures, materials, groups
//! are passed over; lines and points (`l`, `p`) and curved surfaces are no triangles and are counted.

use super::error::{excerpt, excerpt_bytes};
use super::{LengthUnit, ReadError, ReadErrorKind, TriangleMesh, coordinate_rule, fan, fan_note, vertex};
use crate::panel::mesh::{MAX_TRIANGLES, MAX_VERTICES};

/// Words that are passed over without a note: they do not change the surface.
const PASSED: [&str; 15] = [
    "vn", "vt", "vp", "g", "o", "s", "mg", "usemtl", "mtllib", "usemap", "maplib", "lod", "bevel", "c_interp",
    "d_interp",
];

/// Whether a line starts as OBJ data do.
fn is_data(word: &[u8]) -> bool {
    [b"v".as_slice(), b"vn", b"vt", b"f", b"o", b"g", b"mtllib", b"usemtl"].contains(&word)
}

/// Whether it is text that starts, after comments, as OBJ does.
pub(super) fn is_text(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(4096)];
    if head.contains(&0) {
        return false;
    }
    let mut lines = head.split(|b| *b == b'\n').map(<[u8]>::trim_ascii);
    let first = lines.find(|l| !l.is_empty() && !l.starts_with(b"#"));
    // A line of text in another format may start with the same letter, so there must be a blank after it.
    first.and_then(|l| l.split(u8::is_ascii_whitespace).next().filter(|w| w.len() < l.len())).is_some_and(is_data)
}

/// What has been read so far.
struct Parts<'a> {
    name: &'a str,
    unit: LengthUnit,
    vertices: Vec<[f64; 3]>,
    triangles: Vec<[u32; 3]>,
    /// Corners of the polygon being read.
    corners: Vec<u32>,
    /// Largest vertex number and its line: checked against the end, since a polygon may come first.
    largest: (u32, usize),
    /// Polygons with more than three corners.
    polygons: usize,
    /// Lines that are no surface.
    other: usize,
}

pub(super) fn read(name: &str, bytes: &[u8], unit: LengthUnit) -> Result<(TriangleMesh, Vec<String>), ReadError> {
    let (vertices, triangles, corners) = (Vec::new(), Vec::new(), Vec::new());
    let mut parts = Parts { name, unit, vertices, triangles, corners, largest: (0, 0), polygons: 0, other: 0 };
    let mut joined: Vec<u8> = Vec::new();
    let mut lines = bytes.split(|b| *b == b'\n').enumerate();
    while let Some((i, mut raw)) = lines.next() {
        // A backslash at the end joins the next line.
        if raw.trim_ascii_end().ends_with(b"\\") {
            joined.clear();
            loop {
                let part = raw.trim_ascii_end();
                let Some(part) = part.strip_suffix(b"\\") else {
                    joined.extend_from_slice(part);
                    break;
                };
                joined.extend_from_slice(part);
                joined.push(b' ');
                match lines.next() {
                    Some((_, next)) => raw = next,
                    None => break,
                }
            }
            raw = &joined;
        }
        parts.line(i + 1, raw)?;
    }
    parts.mesh()
}

impl Parts<'_> {
    fn fail(&self, line: usize, kind: ReadErrorKind, what: String) -> ReadError {
        ReadError::new(self.name, kind, what).line(line)
    }

    fn line(&mut self, line: usize, raw: &[u8]) -> Result<(), ReadError> {
        let mut words = raw.split(u8::is_ascii_whitespace).filter(|w| !w.is_empty());
        let Some(first) = words.next() else { return Ok(()) };
        if first.starts_with(b"#") {
            return Ok(());
        }
        // Names of groups and materials may be in any encoding; numbers may not.
        let Ok(first) = core::str::from_utf8(first) else {
            let what = format!("not UTF-8 text: \"{}\"", excerpt_bytes(raw));
            return Err(self.fail(line, ReadErrorKind::NotText, what));
        };
        match first {
            "v" => self.vertex(line, words),
            "f" => self.polygon(line, words),
            "l" | "p" | "curv" | "curv2" | "surf" | "cstype" | "deg" | "parm" | "trim" | "hole" | "end" | "fo" => {
                self.other += 1;
                Ok(())
            }
            _ if PASSED.contains(&first) => Ok(()),
            _ => Err(self
                .fail(line, ReadErrorKind::Syntax, format!("unknown word \"{}\"", excerpt(first)))
                .allowed("v, f, vn, vt, g, o, s, usemtl, mtllib and the other words of OBJ")),
        }
    }

    /// A vertex; the weight or colour that may follow belongs to curved surfaces and pictures.
    fn vertex<'w>(&mut self, line: usize, mut words: impl Iterator<Item = &'w [u8]>) -> Result<(), ReadError> {
        if self.vertices.len() == MAX_VERTICES {
            return Err(self.fail(line, ReadErrorKind::Claim, format!("over {MAX_VERTICES} vertices")));
        }
        let mut p = [0.0; 3];
        for c in &mut p {
            let word = words.next().unwrap_or(b"");
            *c = number(word).ok_or_else(|| {
                let what = format!("vertex: \"{}\"", excerpt_bytes(word));
                self.fail(line, ReadErrorKind::Syntax, what).allowed("v X Y Z")
            })?;
        }
        let p = vertex(p, self.unit)
            .map_err(|bad| self.fail(line, ReadErrorKind::Number, bad).allowed(coordinate_rule(self.unit)))?;
        self.vertices.push(p);
        Ok(())
    }

    fn polygon<'w>(&mut self, line: usize, words: impl Iterator<Item = &'w [u8]>) -> Result<(), ReadError> {
        self.corners.clear();
        for word in words {
            let v = index(word, self.vertices.len()).ok_or_else(|| {
                let what = format!("vertex number \"{}\"", excerpt_bytes(word));
                let rule = format!("1 to {MAX_VERTICES}, or -1 to -{} counted back", self.vertices.len());
                self.fail(line, ReadErrorKind::Content, what).allowed(rule)
            })?;
            if v > self.largest.0 {
                self.largest = (v, line);
            }
            self.corners.push(v);
        }
        let count = self.corners.len();
        if count < 3 {
            let what = format!("a polygon of {count} corner(s)");
            return Err(self.fail(line, ReadErrorKind::Syntax, what).allowed("three or more"));
        }
        self.polygons += usize::from(count > 3);
        if self.triangles.len() + count - 2 > MAX_TRIANGLES {
            return Err(self.fail(line, ReadErrorKind::Claim, format!("over {MAX_TRIANGLES} triangles")));
        }
        fan(&self.corners, &mut self.triangles);
        Ok(())
    }

    fn mesh(self) -> Result<(TriangleMesh, Vec<String>), ReadError> {
        let (name, count) = (self.name, self.vertices.len());
        if self.triangles.is_empty() || count == 0 {
            let what = format!("{count} vertices and {} triangles", self.triangles.len());
            return Err(ReadError::new(name, ReadErrorKind::Empty, what).allowed("lines \"v X Y Z\" and \"f A B C\""));
        }
        if self.largest.0 as usize >= count {
            let what = format!("vertex number {}", u64::from(self.largest.0) + 1);
            return Err(self.fail(self.largest.1, ReadErrorKind::Content, what).allowed(format!("1 to {count}")));
        }
        let mut notes: Vec<String> = fan_note(self.polygons).into_iter().collect();
        if self.other > 0 {
            let what = "line(s) of points, lines or curved surfaces were passed over: they hold no triangles";
            notes.push(format!("{} {what}", self.other));
        }
        let mesh = TriangleMesh::new(self.vertices, self.triangles)
            .map_err(|e| ReadError::new(name, ReadErrorKind::Content, e.to_string()))?;
        Ok((mesh, notes))
    }
}

fn number(word: &[u8]) -> Option<f64> {
    core::str::from_utf8(word).ok()?.parse().ok()
}

/// The vertex number, from 0, of a corner `v`, `v/vt`, `v//vn` or `v/vt/vn`; a negative one counts back
/// from the last vertex so far.
fn index(word: &[u8], so_far: usize) -> Option<u32> {
    let mut parts = word.split(|b| *b == b'/');
    let v: i64 = core::str::from_utf8(parts.next()?).ok()?.parse().ok()?;
    // The others are not used, but have to be numbers, or the line is something else.
    let mut rest = 0;
    for part in parts {
        rest += 1;
        if !part.is_empty() {
            core::str::from_utf8(part).ok()?.parse::<i64>().ok()?;
        }
    }
    let from_zero = if v > 0 { v - 1 } else { i64::try_from(so_far).ok()?.checked_add(v)? };
    let allowed = rest <= 2 && v != 0 && from_zero >= 0 && from_zero < i64::try_from(MAX_VERTICES).ok()?;
    if allowed { u32::try_from(from_zero).ok() } else { None }
}
