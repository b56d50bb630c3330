//! PLY: a header that describes elements and their properties, then the data as text or binary, parsed
//! by `ply-rs-bw`. What the header claims is checked against the size of the file first: the parser
//! would loop over every element claimed.

use super::error::{excerpt, excerpt_bytes};
use super::{LengthUnit, ReadError, ReadErrorKind, TriangleMesh, coordinate_rule, fan, fan_note, vertex};
use crate::panel::mesh::{MAX_TRIANGLES, MAX_VERTICES};
use ply_rs_bw::parser::{ParseError, Parser, Reader};
use ply_rs_bw::ply::{
    ElementDef, Encoding, Header, Property, PropertyAccess, PropertyAccessResult, PropertyType, ScalarType,
};

/// Longest header that is looked through.
const MAX_HEADER: usize = 64 << 10;

/// Longest line of data as text.
const MAX_LINE: usize = 1 << 20;

/// Elements parsed at a time.
const BLOCK: usize = 1 << 14;

/// What is kept of an element: the coordinates of a vertex or the corners of a polygon.
#[derive(Debug, Default)]
struct Row {
    at: [f64; 3],
    corners: Option<Vec<u32>>,
    /// A list of corners that holds something other than vertex numbers.
    bad: bool,
}

impl PropertyAccess for Row {
    fn new() -> Self {
        Self::default()
    }

    fn set_property(&mut self, name: &str, property: Property) -> PropertyAccessResult {
        let axis = match name {
            "x" => 0,
            "y" => 1,
            "z" => 2,
            "vertex_indices" | "vertex_index" => {
                self.corners = property.to_u32_list();
                self.bad = self.corners.is_none();
                return PropertyAccessResult::Set;
            }
            _ => return PropertyAccessResult::Ignored,
        };
        self.at[axis] = match property {
            Property::Char(v) => f64::from(v),
            Property::UChar(v) => f64::from(v),
            Property::Short(v) => f64::from(v),
            Property::UShort(v) => f64::from(v),
            Property::Int(v) => f64::from(v),
            Property::UInt(v) => f64::from(v),
            Property::Float(v) => f64::from(v),
            Property::Double(v) => v,
            _ => return PropertyAccessResult::UnsupportedType,
        };
        PropertyAccessResult::Set
    }
}

/// The header as text, its lines, and what comes after it.
fn split<'a>(name: &str, bytes: &'a [u8]) -> Result<(&'a str, &'a [u8]), ReadError> {
    const RULE: &str = "a PLY header: \"ply\", \"format ...\", ..., \"end_header\"";
    if !bytes.starts_with(b"ply\n") && !bytes.starts_with(b"ply\r") {
        let what = "the first line is not \"ply\"";
        return Err(ReadError::new(name, ReadErrorKind::WrongFormat, what).allowed(RULE));
    }
    let head = &bytes[..bytes.len().min(MAX_HEADER)];
    let end = head.windows(10).position(|w| w == b"end_header").filter(|p| *p > 0 && head[p - 1] == b'\n');
    let Some(end) = end else {
        let what = if head.contains(&b'\r') && !head.contains(&b'\n') {
            "lines that end in a carriage return alone".to_string()
        } else {
            format!("no line \"end_header\" in the first {} bytes", head.len())
        };
        return Err(ReadError::new(name, ReadErrorKind::Cut, what).allowed(RULE));
    };
    let after = head[end..].iter().position(|b| *b == b'\n').map_or(bytes.len(), |p| end + p + 1);
    let Ok(text) = core::str::from_utf8(&bytes[..after]) else {
        return Err(ReadError::new(name, ReadErrorKind::NotText, "the header is not UTF-8 text"));
    };
    Ok((text, &bytes[after..]))
}

pub(super) fn read(name: &str, bytes: &[u8], unit: LengthUnit) -> Result<(TriangleMesh, Vec<String>), ReadError> {
    let (text, body) = split(name, bytes)?;
    let parser = Parser::<Row>::new();
    let mut reader = Reader::new(bytes);
    let header = parser.read_header(&mut reader).map_err(|e| parse_error(name, &e))?;
    claims(name, text, &header, body)?;
    let mut vertices = Vec::new();
    let mut triangles = Vec::new();
    let mut polygons = 0;
    for element in header.elements.values() {
        // Block by block, so that what is passed over and the parser's rows need no memory of their own.
        let mut done = 0;
        while done < element.count {
            let block = ElementDef { count: BLOCK.min(element.count - done), ..element.clone() };
            let rows = parser.read_payload_for_element(&mut reader, &block, &header);
            let rows = rows.map_err(|e| ReadError {
                // Binary data have no lines.
                line: e.line().filter(|_| header.encoding == Encoding::Ascii),
                ..parse_error(name, &e)
            })?;
            match element.name.as_str() {
                "vertex" => coordinates(name, done, &rows, unit, &mut vertices)?,
                "face" => polygons += faces(name, done, &rows, &mut triangles)?,
                _ => {}
            }
            done += block.count;
        }
    }
    let mut notes: Vec<String> = fan_note(polygons).into_iter().collect();
    let left = reader.get_ref().trim_ascii().len();
    if left > 0 {
        notes.push(format!("{left} byte(s) after the last element were passed over"));
    }
    for element in header.elements.values().filter(|e| e.name != "vertex" && e.name != "face") {
        notes.push(format!("{} element(s) \"{}\" were passed over", element.count, excerpt(&element.name)));
    }
    let mesh = TriangleMesh::new(vertices, triangles)
        .map_err(|e| ReadError::new(name, ReadErrorKind::Content, e.to_string()))?;
    Ok((mesh, notes))
}

fn coordinates(
    name: &str,
    first: usize,
    rows: &[Row],
    unit: LengthUnit,
    vertices: &mut Vec<[f64; 3]>,
) -> Result<(), ReadError> {
    for (i, row) in rows.iter().enumerate() {
        vertices.push(vertex(row.at, unit).map_err(|bad| {
            ReadError::new(name, ReadErrorKind::Number, format!("vertex {}: {bad}", first + i))
                .allowed(coordinate_rule(unit))
        })?);
    }
    Ok(())
}

/// Adds the triangles of some faces and returns how many had more than three corners.
fn faces(name: &str, first: usize, rows: &[Row], triangles: &mut Vec<[u32; 3]>) -> Result<usize, ReadError> {
    let mut polygons = 0;
    for (i, row) in rows.iter().enumerate() {
        let fail = |kind, what: String| ReadError::new(name, kind, format!("face {}: {what}", first + i));
        let corners = row.corners.as_deref().unwrap_or_default();
        if row.bad || corners.len() < 3 {
            let bad = "a vertex number below 0 or not whole".to_string();
            let what = if row.bad { bad } else { format!("{} corner(s)", corners.len()) };
            return Err(fail(ReadErrorKind::Content, what).allowed("three or more vertex numbers from 0"));
        }
        polygons += usize::from(corners.len() > 3);
        if triangles.len() + corners.len() - 2 > MAX_TRIANGLES {
            return Err(fail(ReadErrorKind::Claim, format!("over {MAX_TRIANGLES} triangles")));
        }
        fan(corners, triangles);
    }
    Ok(polygons)
}

/// Checks the header against the size of the file and what is needed from it.
fn claims(name: &str, text: &str, header: &Header, body: &[u8]) -> Result<(), ReadError> {
    let fail = |kind, what: String| ReadError::new(name, kind, what);
    // The parser keeps one of two elements or properties of the same name, and would read the rest askew.
    let said = |word: &str| text.lines().filter(|l| l.split_ascii_whitespace().next() == Some(word)).count();
    let properties: usize = header.elements.values().map(|e| e.properties.len()).sum();
    if said("element") != header.elements.len() || said("property") != properties {
        return Err(fail(ReadErrorKind::Syntax, "an element or property is named twice in the header".into()));
    }
    let mut least: u128 = 0;
    for e in header.elements.values() {
        let each = smallest(e, header.encoding);
        if each == 0 && e.count > 0 {
            let what = format!("element \"{}\" has no properties and a count of {}", excerpt(&e.name), e.count);
            return Err(fail(ReadErrorKind::Syntax, what));
        }
        least += each as u128 * e.count as u128;
        // The last line of a text file may end without a line break.
        if least > body.len() as u128 + 1 {
            let what = format!(
                "the header claims {} elements \"{}\", at least {least} bytes with those before, but {} follow it",
                e.count,
                excerpt(&e.name),
                body.len()
            );
            return Err(fail(ReadErrorKind::Claim, what).allowed("a count that fits into the file"));
        }
    }
    let longest = || body.split(|b| *b == b'\n').map(<[u8]>::len).max().unwrap_or(0);
    if header.encoding == Encoding::Ascii && longest() > MAX_LINE {
        let what = format!("a line of {} bytes", longest());
        return Err(fail(ReadErrorKind::Syntax, what).allowed(format!("up to {MAX_LINE} bytes")));
    }
    let need = |element: &str, most: usize| {
        let count = header.elements.get(element).map_or(0, |e| e.count);
        if count == 0 || count > most {
            let kind = if count == 0 { ReadErrorKind::Empty } else { ReadErrorKind::Claim };
            return Err(fail(kind, format!("{count} elements \"{element}\"")).allowed(format!("1 to {most}")));
        }
        Ok(())
    };
    need("vertex", MAX_VERTICES)?;
    need("face", MAX_TRIANGLES)?;
    let scalar = |axis: &str| {
        let vertex = header.elements.get("vertex").and_then(|e| e.properties.get(axis));
        vertex.is_some_and(|p| matches!(p.data_type, PropertyType::Scalar(_)))
    };
    if let Some(axis) = ["x", "y", "z"].into_iter().find(|a| !scalar(a)) {
        let what = format!("element \"vertex\" has no scalar property \"{axis}\"");
        return Err(fail(ReadErrorKind::Content, what).allowed("x, y and z"));
    }
    let listed = |p: &str| {
        let face = header.elements.get("face").and_then(|e| e.properties.get(p));
        face.is_some_and(|p| matches!(p.data_type, PropertyType::List(..)))
    };
    if !listed("vertex_indices") && !listed("vertex_index") {
        let what = "element \"face\" has no list \"vertex_indices\" or \"vertex_index\"";
        return Err(fail(ReadErrorKind::Content, what.into()).allowed("one of them"));
    }
    Ok(())
}

/// Fewest bytes that an element takes: in text one digit and one blank for each property.
fn smallest(e: &ElementDef, encoding: Encoding) -> usize {
    let each = |p: &PropertyType| match (encoding, p) {
        (Encoding::Ascii, _) => 2,
        (_, PropertyType::Scalar(s) | PropertyType::List(s, _)) => match s {
            ScalarType::Char | ScalarType::UChar => 1,
            ScalarType::Short | ScalarType::UShort => 2,
            ScalarType::Int | ScalarType::UInt | ScalarType::Float => 4,
            ScalarType::Double => 8,
        },
    };
    e.properties.values().map(|p| each(&p.data_type)).sum()
}

/// The parser's error, with its line and without the whole line of foreign text in it.
fn parse_error(name: &str, e: &ParseError) -> ReadError {
    use std::io::ErrorKind;
    let text = e.to_string();
    let text = text.strip_prefix("Line ").and_then(|t| t.split_once(": ")).map_or(text.as_str(), |(_, t)| t);
    let kind = match e.kind() {
        ErrorKind::UnexpectedEof => ReadErrorKind::Cut,
        _ if text.contains("valid UTF-8") => ReadErrorKind::NotText,
        _ => ReadErrorKind::Syntax,
    };
    let what = match kind {
        ReadErrorKind::Cut => "the file ends before its elements do".to_string(),
        ReadErrorKind::NotText => "not UTF-8 text".to_string(),
        _ => {
            // "…\n\tString: '…'\n\tError: …": the sentence and the text it is about.
            let sentence = text.lines().next().unwrap_or_default();
            let about = text.split("String: '").nth(1).and_then(|t| t.split('\'').next());
            let about = about.map(|t| format!(" \"{}\"", excerpt_bytes(t.trim().as_bytes()))).unwrap_or_default();
            // The sentence, too, may quote a name of any length.
            format!("{}{about}", excerpt(sentence.trim_end_matches('.')))
        }
    };
    let out = ReadError::new(name, kind, what);
    let out = match e.line() {
        Some(line) => out.line(line),
        None => out,
    };
    if kind == ReadErrorKind::Syntax { out.allowed("PLY 1.0; finite decimal numbers in text") } else { out }
}
