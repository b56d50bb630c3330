//! STL: triangles one by one, each with its three corners; binary (an 80 byte header, a count, 50 bytes
//! a triangle) or text. Corners of the same bits are joined.
//!
//! The normals in the file are not used: the order of the corners gives them, and many programs write
//! zeros or NaN.

use super::error::{excerpt, excerpt_bytes};
use super::{LengthUnit, ReadError, ReadErrorKind, TriangleMesh, coordinate_rule, vertex};
use crate::panel::mesh::{MAX_TRIANGLES, weld};
use crate::units::Length;

const HEAD: usize = 84;
const EACH: usize = 50;

/// The count in a binary header.
fn claimed(bytes: &[u8]) -> Option<usize> {
    let four: [u8; 4] = bytes.get(80..HEAD)?.try_into().ok()?;
    usize::try_from(u32::from_le_bytes(four)).ok()
}

/// Whether the length is exactly that of a binary file with the count in its header. This goes before
/// the word at its start: there are binary files that start with "solid".
pub(super) fn is_binary(bytes: &[u8]) -> bool {
    claimed(bytes).is_some_and(|n| n > 0 && n.checked_mul(EACH).is_some_and(|b| b + HEAD == bytes.len()))
}

fn starts_with_solid(bytes: &[u8]) -> bool {
    bytes.get(..5).is_some_and(|w| w.eq_ignore_ascii_case(b"solid")) && bytes.get(5).is_none_or(u8::is_ascii_whitespace)
}

/// Whether it is a text file that starts as STL does.
pub(super) fn is_text(bytes: &[u8]) -> bool {
    starts_with_solid(bytes.trim_ascii_start()) && !bytes[..bytes.len().min(1024)].contains(&0)
}

pub(super) fn read(name: &str, bytes: &[u8], unit: LengthUnit) -> Result<(TriangleMesh, Vec<String>), ReadError> {
    let (corners, mut notes) = if !is_binary(bytes) && is_text(bytes) {
        text(name, bytes, unit)?
    } else {
        (binary(name, bytes, unit)?, Vec::new())
    };
    #[allow(clippy::cast_possible_truncation)] // bounded by MAX_TRIANGLES
    let triangles = (0..corners.len() as u32 / 3).map(|t| [3 * t, 3 * t + 1, 3 * t + 2]).collect();
    let content = |e: crate::RangeError| ReadError::new(name, ReadErrorKind::Content, e.to_string());
    let soup = TriangleMesh::new(corners, triangles).map_err(content)?;
    let welded = weld(&soup, Length::from_m(0.0)).map_err(content)?;
    notes.push(format!(
        "{} corners of equal coordinates were joined to {} vertices",
        soup.vertices().len(),
        welded.mesh.vertices().len()
    ));
    Ok((welded.mesh, notes))
}

fn too_many(name: &str, count: usize) -> ReadError {
    ReadError::new(name, ReadErrorKind::Claim, format!("{count} triangles")).allowed(format!("1 to {MAX_TRIANGLES}"))
}

fn binary(name: &str, bytes: &[u8], unit: LengthUnit) -> Result<Vec<[f64; 3]>, ReadError> {
    let Some(count) = claimed(bytes) else {
        let what = format!("{} bytes are neither text that starts with \"solid\" nor a binary header", bytes.len());
        return Err(
            ReadError::new(name, ReadErrorKind::Cut, what).allowed(format!("at least {HEAD} bytes for binary STL"))
        );
    };
    let room = bytes.len() - HEAD;
    if count == 0 && room == 0 {
        return Err(ReadError::new(name, ReadErrorKind::Empty, "the header says 0 triangles").allowed("1 or more"));
    }
    if count.checked_mul(EACH) != Some(room) {
        let kind = if count > room / EACH { ReadErrorKind::Claim } else { ReadErrorKind::Content };
        let what = format!(
            "the binary header claims {count} triangles, but the {} bytes of the file hold {}{}",
            bytes.len(),
            room / EACH,
            if room.is_multiple_of(EACH) { "" } else { " and a part of one" }
        );
        return Err(ReadError::new(name, kind, what).allowed("a count that fits, or text that starts with \"solid\""));
    }
    if count > MAX_TRIANGLES {
        return Err(too_many(name, count));
    }
    let mut corners = Vec::with_capacity(3 * count);
    for (t, triangle) in bytes[HEAD..].chunks_exact(EACH).enumerate() {
        // 12 bytes of normal, then nine coordinates, then two bytes that mean nothing here.
        let number = |k: usize| {
            let at = 12 + 4 * k;
            f64::from(f32::from_le_bytes([triangle[at], triangle[at + 1], triangle[at + 2], triangle[at + 3]]))
        };
        for k in 0..3 {
            let p = [number(3 * k), number(3 * k + 1), number(3 * k + 2)];
            corners.push(vertex(p, unit).map_err(|bad| {
                ReadError::new(name, ReadErrorKind::Number, format!("triangle {t}, corner {k}: {bad}"))
                    .allowed(coordinate_rule(unit))
            })?);
        }
    }
    Ok(corners)
}

/// What a line of text STL may be.
#[derive(Clone, Copy, PartialEq)]
enum Expect {
    Facet,
    OuterLoop,
    Corner(u8),
    EndLoop,
    EndFacet,
    Solid,
}

impl Expect {
    const fn words(self) -> &'static str {
        match self {
            Self::Facet => "\"facet normal X Y Z\" or \"endsolid\"",
            Self::OuterLoop => "\"outer loop\"",
            Self::Corner(_) => "\"vertex X Y Z\" (three a facet)",
            Self::EndLoop => "\"endloop\" after three corners",
            Self::EndFacet => "\"endfacet\"",
            Self::Solid => "\"solid\" or the end of the file",
        }
    }
}

type Text = (Vec<[f64; 3]>, Vec<String>);

fn text(name: &str, bytes: &[u8], unit: LengthUnit) -> Result<Text, ReadError> {
    let mut expect = Expect::Solid;
    let mut solids = 0_usize;
    let mut corners: Vec<[f64; 3]> = Vec::new();
    let mut last_line = 0;
    for (i, raw) in bytes.split(|b| *b == b'\n').enumerate() {
        last_line = i + 1;
        let Ok(line) = core::str::from_utf8(raw) else {
            // The name after "solid" may be in any encoding.
            if expect == Expect::Solid && starts_with_solid(raw.trim_ascii_start()) {
                (expect, solids) = (Expect::Facet, solids + 1);
                continue;
            }
            let what = format!("not UTF-8 text: \"{}\"", excerpt_bytes(raw));
            return Err(ReadError::new(name, ReadErrorKind::NotText, what).line(i + 1));
        };
        let mut words = line.split_ascii_whitespace();
        let Some(first) = words.next() else { continue };
        let is = |word: &str| first.eq_ignore_ascii_case(word);
        let next = match expect {
            Expect::Solid if is("solid") => {
                solids += 1;
                Some(Expect::Facet)
            }
            Expect::Facet if is("facet") => Some(Expect::OuterLoop),
            Expect::Facet if is("endsolid") => Some(Expect::Solid),
            Expect::OuterLoop if is("outer") => Some(Expect::Corner(0)),
            Expect::Corner(k) if is("vertex") => {
                corners.push(corner(words, unit).map_err(|(kind, what)| {
                    let rule = format!("three coordinates, each {}", coordinate_rule(unit));
                    ReadError::new(name, kind, what).line(i + 1).allowed(rule)
                })?);
                if corners.len() > 3 * MAX_TRIANGLES {
                    return Err(too_many(name, corners.len().div_ceil(3)).line(i + 1));
                }
                Some(if k == 2 { Expect::EndLoop } else { Expect::Corner(k + 1) })
            }
            Expect::EndLoop if is("endloop") => Some(Expect::EndFacet),
            Expect::EndFacet if is("endfacet") => Some(Expect::Facet),
            _ => None,
        };
        expect = next.ok_or_else(|| {
            ReadError::new(name, ReadErrorKind::Syntax, format!("unexpected \"{}\"", excerpt(line.trim())))
                .line(i + 1)
                .allowed(expect.words())
        })?;
    }
    if expect != Expect::Solid {
        let what = "the file ends within a solid";
        return Err(ReadError::new(name, ReadErrorKind::Cut, what).line(last_line).allowed(expect.words()));
    }
    if corners.is_empty() {
        return Err(ReadError::new(name, ReadErrorKind::Empty, "no facet").allowed("1 or more"));
    }
    let notes = if solids > 1 { vec![format!("{solids} solids were read as one mesh")] } else { Vec::new() };
    Ok((corners, notes))
}

fn corner<'a>(words: impl Iterator<Item = &'a str>, unit: LengthUnit) -> Result<[f64; 3], (ReadErrorKind, String)> {
    let mut p = [0.0; 3];
    let mut count = 0;
    for word in words {
        let number = word.parse();
        match (p.get_mut(count), number) {
            (Some(c), Ok(number)) => *c = number,
            _ => return Err((ReadErrorKind::Syntax, format!("vertex: \"{}\"", excerpt(word)))),
        }
        count += 1;
    }
    if count < 3 {
        return Err((ReadErrorKind::Syntax, format!("vertex with {count} coordinate(s)")));
    }
    vertex(p, unit).map_err(|bad| (ReadErrorKind::Number, bad))
}
