//! Panels from files: the same mesh out of every format, agreement with other parsers where they can
//! read, clear refusals, and thousands of damaged files that must come back as a result or an error.

#![cfg(feature = "mesh")]

use crate::mesh::Draw;
use std::fmt::Write;
use std::time::{Duration, Instant};
use trochoid::Length;
use trochoid::panel::mesh::{LengthUnit, MeshView, TriangleMesh, Up};
use trochoid::panel::read::{
    MeshFormat, ReadError, ReadErrorKind, height_map_from_csv, mesh_from_bytes, profile_from_csv, read_height_map,
    read_mesh,
};

/// A bowl of 12 x 9 squares of 8 mm, in millimetres that single precision holds exactly.
fn bowl() -> (Vec<[f32; 3]>, Vec<[u32; 3]>) {
    let mut v = Vec::new();
    for j in 0..10_u8 {
        for i in 0..13_u8 {
            let (x, y) = (8.0 * f32::from(i), 8.0 * f32::from(j));
            let z = ((x - 48.0) * (x - 48.0) + (y - 36.0) * (y - 36.0)) / 512.0 - 1.5;
            v.push([x, y, z]);
        }
    }
    let mut t = Vec::new();
    for j in 0..9_u32 {
        for i in 0..12_u32 {
            let n = 13 * j + i;
            t.push([n, n + 1, n + 14]);
            t.push([n, n + 14, n + 13]);
        }
    }
    (v, t)
}

fn stl_binary(v: &[[f32; 3]], t: &[[u32; 3]]) -> Vec<u8> {
    // A header that starts as a text file would.
    let mut out = b"solid of a binary file".to_vec();
    out.resize(80, b' ');
    out.extend(u32::try_from(t.len()).unwrap().to_le_bytes());
    for corners in t {
        out.extend([0; 12]);
        for c in corners.iter().flat_map(|k| v[*k as usize]) {
            out.extend(c.to_le_bytes());
        }
        out.extend([0; 2]);
    }
    out
}

fn stl_text(v: &[[f32; 3]], t: &[[u32; 3]]) -> Vec<u8> {
    let mut out = "solid bowl\n".to_string();
    for corners in t {
        out += "facet normal 0 0 1\n outer loop\n";
        for k in corners {
            let [x, y, z] = v[*k as usize];
            writeln!(out, "  vertex {x:e} {y} {z}").unwrap();
        }
        out += " endloop\nendfacet\n";
    }
    out += "endsolid bowl\n";
    out.into_bytes()
}

fn obj(v: &[[f32; 3]], t: &[[u32; 3]]) -> Vec<u8> {
    let mut out = "# a bowl\nmtllib none.mtl\no bowl\n".to_string();
    for [x, y, z] in v {
        writeln!(out, "v {x} {y} {z}").unwrap();
    }
    out += "vt 0 0\nvn 0 0 1\ns off\n";
    for (k, [a, b, c]) in t.iter().enumerate() {
        let back = |n: u32| i64::from(n) - i64::try_from(v.len()).unwrap();
        match k % 3 {
            0 => writeln!(out, "f {} {} {}", a + 1, b + 1, c + 1).unwrap(),
            1 => writeln!(out, "f {}/1/1 {}//1 \\\n {}/1", a + 1, b + 1, c + 1).unwrap(),
            _ => writeln!(out, "f {} {} {}", back(*a), back(*b), back(*c)).unwrap(),
        }
    }
    out.into_bytes()
}

fn ply(v: &[[f32; 3]], t: &[[u32; 3]], encoding: &str) -> Vec<u8> {
    let mut out = format!(
        "ply\nformat {encoding} 1.0\ncomment a bowl\nelement vertex {}\nproperty float x\nproperty float y\nproperty \
         float z\nproperty uchar red\nelement face {}\nproperty list uchar int vertex_indices\nend_header\n",
        v.len(),
        t.len()
    )
    .into_bytes();
    let big = encoding == "binary_big_endian";
    if encoding == "ascii" {
        for [x, y, z] in v {
            out.extend(format!("{x} {y} {z} 7\n").bytes());
        }
        for [a, b, c] in t {
            out.extend(format!("3 {a} {b} {c}\n").bytes());
        }
        return out;
    }
    for p in v {
        for c in p {
            out.extend(if big { c.to_be_bytes() } else { c.to_le_bytes() });
        }
        out.push(7);
    }
    for corners in t {
        out.push(3);
        for k in corners {
            out.extend(if big { k.to_be_bytes() } else { k.to_le_bytes() });
        }
    }
    out
}

/// The bowl in every format.
fn files() -> Vec<(&'static str, MeshFormat, Vec<u8>)> {
    let (v, t) = bowl();
    vec![
        ("bowl.stl", MeshFormat::Stl, stl_binary(&v, &t)),
        ("text.stl", MeshFormat::Stl, stl_text(&v, &t)),
        ("bowl.obj", MeshFormat::Obj, obj(&v, &t)),
        ("text.ply", MeshFormat::Ply, ply(&v, &t, "ascii")),
        ("little.ply", MeshFormat::Ply, ply(&v, &t, "binary_little_endian")),
        ("big.ply", MeshFormat::Ply, ply(&v, &t, "binary_big_endian")),
    ]
}

#[test]
fn every_format_gives_the_same_height_map() {
    let maps: Vec<_> = files()
        .into_iter()
        .map(|(name, format, bytes)| {
            assert_eq!(MeshFormat::of_content(&bytes), Some(format), "{name}");
            let file = mesh_from_bytes(name, &bytes, format, LengthUnit::Mm).unwrap();
            assert_eq!((file.mesh.vertices().len(), file.mesh.triangles().len()), (130, 216), "{name}");
            MeshView { up: Up::Z, step: 2e-3 }.of(&file.mesh).unwrap()
        })
        .collect();
    for m in &maps[1..] {
        assert_eq!(m.heights, maps[0].heights);
    }
    // The lowest vertex, at (48, 40) mm, is the origin of heights; the corner is 6.71875 mm above it.
    let h = &maps[0].heights;
    assert!(h.height_at(0.048, 0.04).abs() < 1e-15 && h.height_at(0.048, 0.032).abs() < 1e-15); // stored
    let corner = (48.0 * 48.0 + 36.0 * 36.0 - 16.0) / 512.0;
    assert!((h.height_at(0.0, 0.0) - corner * 1e-3).abs() < 1e-15); // roundings of 7 mm
}

#[test]
fn the_unit_given_is_the_unit_taken() {
    let (name, format, bytes) = files().remove(2);
    for (unit, metres) in
        [(LengthUnit::Mm, 0.096), (LengthUnit::Cm, 0.96), (LengthUnit::Inch, 2.4384), (LengthUnit::M, 96.0)]
    {
        let m = mesh_from_bytes(name, &bytes, format, unit).unwrap();
        assert_eq!(m.unit, unit);
        let wide = m.mesh.bounds().1[0] - m.mesh.bounds().0[0];
        assert!((wide - metres).abs() < 1e-12 * metres); // roundings; 96 mm, and 96 in of 25.4 mm
    }
}

#[test]
fn other_parsers_agree_where_they_can_read() {
    let (v, t) = bowl();
    let near = |p: [f64; 3], q: [f64; 3]| (0..3).all(|k| (p[k] - q[k]).abs() < 1e-12); // one rounding of 100
    let ours = |name: &str, bytes: &[u8], format| mesh_from_bytes(name, bytes, format, LengthUnit::M).unwrap().mesh;

    let text = stl_text(&v, &t);
    let theirs = stl_io::read_stl(&mut std::io::Cursor::new(&text)).unwrap();
    let mine = ours("text.stl", &text, MeshFormat::Stl);
    assert_eq!(theirs.faces.len(), mine.triangles().len());
    for (i, f) in theirs.faces.iter().enumerate() {
        for (k, c) in mine.corners(i).into_iter().enumerate() {
            assert!(near(c, theirs.vertices[f.vertices[k]].0.map(f64::from)));
        }
    }
    // In binary, with a header that it does not take for text.
    let mut binary = stl_binary(&v, &t);
    binary[0] = b'-';
    let theirs = stl_io::read_stl(&mut std::io::Cursor::new(&binary)).unwrap();
    let mine = ours("bowl.stl", &binary, MeshFormat::Stl);
    for (i, f) in theirs.faces.iter().enumerate() {
        for (k, c) in mine.corners(i).into_iter().enumerate() {
            assert!(near(c, theirs.vertices[f.vertices[k]].0.map(f64::from)));
        }
    }

    // Without the lines that go on after a backslash, which it does not join.
    let text = String::from_utf8(obj(&v, &t)).unwrap().replace("\\\n", "").into_bytes();
    let options = tobj::LoadOptions { triangulate: true, ..tobj::LoadOptions::default() };
    let none = |_: &std::path::Path| Err(tobj::LoadError::OpenFileFailed);
    let (models, _) = tobj::load_obj_buf(&mut text.as_slice(), &options, none).unwrap();
    let m = &models[0].mesh;
    let mine = ours("bowl.obj", &text, MeshFormat::Obj);
    assert_eq!((models.len(), m.indices.len()), (1, 3 * mine.triangles().len()));
    for (n, i) in m.indices.iter().enumerate() {
        let at = 3 * *i as usize;
        assert!(near(mine.corners(n / 3)[n % 3], [m.positions[at], m.positions[at + 1], m.positions[at + 2]]));
    }
}

#[test]
fn polygons_are_fanned_and_that_is_said() {
    let obj = b"v 0 0 0\nv 100 0 0\nv 120 50 0\nv 50 90 0\nv -20 50 0\nl 1 2\nf 1 2 3 4 5\n";
    let ply = b"ply\nformat ascii 1.0\nelement vertex 5\nproperty double x\nproperty double y\nproperty double z\n\
        element edge 1\nproperty int a\nelement face 1\nproperty list uchar uint vertex_index\nend_header\n\
        0 0 0\n100 0 0\n120 50 0\n50 90 0\n-20 50 0\n4\n5 0 1 2 3 4\n";
    for (bytes, format, more) in
        [(&obj[..], MeshFormat::Obj, "1 line(s) of points"), (&ply[..], MeshFormat::Ply, "1 element(s) \"edge\"")]
    {
        let m = mesh_from_bytes("p", bytes, format, LengthUnit::Mm).unwrap();
        assert_eq!(m.mesh.triangles(), [[0, 1, 2], [0, 2, 3], [0, 3, 4]]);
        assert!(m.notes.iter().any(|n| n.starts_with("1 polygon(s)")), "{:?}", m.notes);
        assert!(m.notes.iter().any(|n| n.starts_with(more)), "{:?}", m.notes);
    }
}

#[test]
fn several_solids_capitals_and_bad_normals_are_read() {
    let facet = "FACET NORMAL nan nan nan\nOUTER LOOP\nVERTEX 0 0 0\nVERTEX 50 0 0\nVERTEX 0 50 0\nENDLOOP\nENDFACET\n";
    let text = format!("SOLID\n{facet}ENDSOLID\n\nsolid two\n{}endsolid\n", facet.replace("50 0 0", "60 0 0"));
    let m = mesh_from_bytes("two.stl", text.as_bytes(), MeshFormat::Stl, LengthUnit::Mm).unwrap();
    assert_eq!((m.mesh.triangles().len(), m.mesh.vertices().len()), (2, 4));
    assert!(m.notes.iter().any(|n| n.starts_with("2 solids")), "{:?}", m.notes);
}

/// What a refusal must hold: its kind, its line and a part of its text.
type Refusal = (ReadErrorKind, Option<usize>, &'static str);

fn refused(e: &ReadError, (kind, line, word): Refusal) {
    let text = e.to_string();
    assert_eq!((e.kind, e.line), (kind, line), "{text}");
    assert!(text.contains(word) && text.len() < 700, "{text}");
}

fn mesh_refused(format: MeshFormat, bytes: &[u8], refusal: Refusal) {
    match mesh_from_bytes("file", bytes, format, LengthUnit::Mm) {
        Ok(m) => panic!("{format} was read: {} triangles; {refusal:?}", m.mesh.triangles().len()),
        Err(e) => refused(&e, refusal),
    }
}

#[test]
fn claims_larger_than_the_file_are_refused_with_both_numbers() {
    let (v, t) = bowl();
    let begin = Instant::now();
    let mut stl = stl_binary(&v, &t);
    stl[80..84].copy_from_slice(&1_000_000_000_u32.to_le_bytes());
    mesh_refused(
        MeshFormat::Stl,
        &stl,
        (ReadErrorKind::Claim, None, "claims 1000000000 triangles, but the 10884 bytes of the file hold 216"),
    );
    for encoding in ["ascii", "binary_little_endian", "binary_big_endian"] {
        let bytes = ply(&v, &t, encoding);
        for (old, new, word) in [
            ("vertex 130", "vertex 1000000000", "claims 1000000000 elements \"vertex\""),
            ("face 216", "face 1000000000", "claims 1000000000 elements \"face\""),
            ("face 216", "face 18446744073709551615", "claims 18446744073709551615"),
            ("face 216", "face 99999999999999999999", "Invalid element"),
        ] {
            let text = bytes.iter().map(|b| char::from(*b)).collect::<String>().replacen(old, new, 1);
            let claimed: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
            let kind = if word.starts_with("Inv") { ReadErrorKind::Syntax } else { ReadErrorKind::Claim };
            mesh_refused(MeshFormat::Ply, &claimed, (kind, (kind == ReadErrorKind::Syntax).then_some(9), word));
        }
    }
    // A name without end does not make a message without end.
    let long = format!("element {}", "n".repeat(5000));
    let named = String::from_utf8(ply(&v, &t, "ascii")).unwrap().replacen("element vertex", &long, 1);
    mesh_refused(MeshFormat::Ply, named.as_bytes(), (ReadErrorKind::Empty, None, "0 elements \"vertex\""));
    let big = named.replacen("n 130", "n 1000000000", 1);
    mesh_refused(MeshFormat::Ply, big.as_bytes(), (ReadErrorKind::Claim, None, "nnn...\""));
    let early = named.replacen("comment", &format!("property float {} \ncomment", "n".repeat(5000)), 1);
    mesh_refused(MeshFormat::Ply, early.as_bytes(), (ReadErrorKind::Syntax, Some(3), "nnn..."));
    // A list that claims two thousand million corners.
    let list = b"ply\nformat binary_little_endian 1.0\nelement vertex 1\nproperty float x\nproperty float y\n\
        property float z\nelement face 1\nproperty list int int vertex_index\nend_header\n\
        \0\0\0\0\0\0\0\0\0\0\0\0\xff\xff\xff\x7f\0\0\0\0";
    mesh_refused(MeshFormat::Ply, list, (ReadErrorKind::Cut, None, "ends before"));
    assert!(begin.elapsed() < Duration::from_secs(5)); // all refused at once; generous for a loaded machine
}

#[test]
fn damaged_meshes_are_refused_with_place_and_reason() {
    use ReadErrorKind::{Claim, Content, Cut, Empty, NotText, Number, Syntax, WrongFormat};
    let (v, t) = bowl();
    let (binary, text, obj, ply) = (stl_binary(&v, &t), stl_text(&v, &t), obj(&v, &t), ply(&v, &t, "ascii"));
    let swap = |bytes: &[u8], old: &str, new: &str| {
        let s = String::from_utf8(bytes.to_vec()).unwrap();
        assert!(s.contains(old), "{old}");
        s.replacen(old, new, 1).into_bytes()
    };
    for format in [MeshFormat::Stl, MeshFormat::Obj, MeshFormat::Ply] {
        mesh_refused(format, b"", (Empty, None, "the file is empty"));
    }
    // Names that do not fit the content.
    mesh_refused(MeshFormat::Obj, &text, (WrongFormat, None, "named OBJ, but the content is STL"));
    mesh_refused(MeshFormat::Stl, &ply, (WrongFormat, None, "but the content is PLY"));
    mesh_refused(MeshFormat::Ply, &obj, (WrongFormat, None, "but the content is OBJ"));
    let noise: Vec<u8> = (0..500_u32).map(|k| (k * k * 7 + 200).to_le_bytes()[0] | 1).collect();
    mesh_refused(MeshFormat::Stl, &noise, (Claim, None, "claims"));
    mesh_refused(MeshFormat::Ply, &noise, (WrongFormat, None, "end_header"));
    mesh_refused(MeshFormat::Obj, &noise, (NotText, Some(1), "not UTF-8"));

    mesh_refused(MeshFormat::Stl, &binary[..60], (Cut, Some(1), "within a solid"));
    mesh_refused(MeshFormat::Stl, &[9; 60], (Cut, None, "60 bytes"));
    mesh_refused(MeshFormat::Stl, &binary[..5000], (Claim, None, "hold 98 and a part of one"));
    let mut named = binary.clone();
    named[..5].copy_from_slice(b"mesh ");
    mesh_refused(MeshFormat::Stl, &named[..5000], (Claim, None, "hold 98 and a part of one"));
    named.push(0);
    mesh_refused(MeshFormat::Stl, &named, (Content, None, "hold 216 and a part of one"));
    let mut nan = binary;
    nan[84 + 50 + 16..84 + 50 + 20].copy_from_slice(&f32::NAN.to_le_bytes());
    mesh_refused(MeshFormat::Stl, &nan, (Number, None, "triangle 1, corner 0: y = NaN"));

    mesh_refused(MeshFormat::Stl, &text[..text.len() - 15], (Cut, Some(1513), "ends within a solid"));
    mesh_refused(MeshFormat::Stl, &swap(&text, "vertex 8e0 0", "vertex 8e0"), (Syntax, Some(5), "2 coordinate(s)"));
    mesh_refused(MeshFormat::Stl, &swap(&text, "vertex 8e0", "vertex inf"), (Number, Some(5), "x = inf"));
    mesh_refused(MeshFormat::Stl, &swap(&text, "vertex 8e0", "vertex 8,0"), (Syntax, Some(5), "\"8,0\""));
    mesh_refused(MeshFormat::Stl, &swap(&text, "endloop", "vertex 1 2 3"), (Syntax, Some(7), "endloop"));
    mesh_refused(MeshFormat::Stl, b"solid a\nendsolid a\n", (Empty, None, "no facet"));
    let mut garbled = text;
    garbled[40] = 0xff;
    mesh_refused(MeshFormat::Stl, &garbled, (NotText, Some(3), "not UTF-8"));

    mesh_refused(MeshFormat::Obj, &swap(&obj, "v 8 0", "v nan 0"), (Number, Some(5), "x = NaN"));
    mesh_refused(MeshFormat::Obj, &swap(&obj, "v 8 0", "v 8 1e400"), (Number, Some(5), "y = inf"));
    mesh_refused(MeshFormat::Obj, &swap(&obj, "v 8 0", "v 8 2e6"), (Number, Some(5), "±1000000 mm"));
    mesh_refused(
        MeshFormat::Obj,
        &swap(&obj, "f 1 2 15", "f 1 2 131"),
        (Content, Some(137), "vertex number 131; allowed: 1 to 130"),
    );
    mesh_refused(MeshFormat::Obj, &swap(&obj, "f 1 2 15", "f 1 2 0"), (Content, Some(137), "\"0\""));
    mesh_refused(MeshFormat::Obj, &swap(&obj, "f 1 2 15", "f 1 2 -131"), (Content, Some(137), "\"-131\""));
    mesh_refused(MeshFormat::Obj, &swap(&obj, "f 1 2 15", "f 1 2 9999999999999999999999"), (Content, Some(137), "999"));
    mesh_refused(MeshFormat::Obj, &swap(&obj, "f 1 2 15", "f 1 2"), (Syntax, Some(137), "2 corner(s)"));
    mesh_refused(MeshFormat::Obj, &swap(&obj, "s off", "<html>"), (Syntax, Some(136), "<html>"));
    mesh_refused(MeshFormat::Obj, b"v 0 0 0\n", (Empty, None, "1 vertices and 0 triangles"));

    mesh_refused(MeshFormat::Ply, &ply[..100], (Cut, None, "end_header"));
    mesh_refused(MeshFormat::Ply, &ply[..ply.len() - 100], (Cut, Some(351), "ends before"));
    mesh_refused(MeshFormat::Ply, &swap(&ply, "\n8 0 ", "\nnan 0 "), (Syntax, Some(13), "nan 0"));
    mesh_refused(MeshFormat::Ply, &swap(&ply, "\n8 0 ", "\n8e9 0 "), (Number, None, "vertex 1: x = 8000000000"));
    mesh_refused(MeshFormat::Ply, &swap(&ply, "3 0 1 14", "3 0 1 130"), (Content, None, "vertex number = 130"));
    mesh_refused(
        MeshFormat::Ply,
        &swap(&ply, "3 0 1 14", "3 0 1 -2"),
        (Content, None, "face 0: a vertex number below 0"),
    );
    mesh_refused(MeshFormat::Ply, &swap(&ply, "3 0 1 14", "2 0 1"), (Content, None, "face 0: 2 corner(s)"));
    mesh_refused(MeshFormat::Ply, &swap(&ply, "float z", "float w"), (Content, None, "no scalar property \"z\""));
    mesh_refused(MeshFormat::Ply, &swap(&ply, "vertex_indices", "corners"), (Content, None, "vertex_indices"));
    mesh_refused(MeshFormat::Ply, &swap(&ply, "float z", "float x"), (Syntax, None, "named twice"));
    mesh_refused(MeshFormat::Ply, &swap(&ply, "ascii", "utf8"), (Syntax, Some(2), "format utf8"));
    mesh_refused(
        MeshFormat::Ply,
        &swap(&ply, "element face 216\n", "element none 9\nelement face 216\n"),
        (Syntax, None, "no properties"),
    );
}

#[test]
fn files_on_disk_are_read_by_their_name() {
    let folder = std::env::temp_dir().join(format!("trochoid-readers-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    for (name, format, bytes) in files() {
        let path = folder.join(name.to_uppercase());
        std::fs::write(&path, &bytes).unwrap();
        assert_eq!(read_mesh(&path, LengthUnit::Mm).unwrap().format, format);
    }
    let read = |name: &str| read_mesh(&folder.join(name), LengthUnit::Mm).unwrap_err();
    refused(&read("none.stl"), (ReadErrorKind::System, None, "none.stl"));
    std::fs::write(folder.join("panel.txt"), "v 0 0 0").unwrap();
    refused(&read("panel.txt"), (ReadErrorKind::WrongFormat, None, ".stl, .obj or .ply"));
    std::fs::create_dir_all(folder.join("folder.stl")).unwrap();
    refused(&read("folder.stl"), (ReadErrorKind::System, None, "folder"));
    // A file with a hole in it: large without taking room on the disk.
    let large = std::fs::File::create(folder.join("large.stl")).unwrap();
    large.set_len((512 << 20) + 1).unwrap();
    refused(&read("large.stl"), (ReadErrorKind::TooLarge, None, "536870913 bytes; allowed: at most 536870912"));
    let csv = folder.join("heights.csv");
    std::fs::write(&csv, heights("x_mm,y_mm,z_mm", 5, 4, |_, _| true)).unwrap();
    assert_eq!(read_height_map(&csv).unwrap().given, 20);
    std::fs::remove_dir_all(&folder).unwrap();
}

/// Rows of a height map in steps of 5, shuffled, where `keep` says so.
fn heights(header: &str, nx: usize, ny: usize, keep: impl Fn(usize, usize) -> bool) -> Vec<u8> {
    let mut rows: Vec<String> = Vec::new();
    for j in 0..ny {
        for i in (0..nx).filter(|i| keep(*i, j)) {
            let (x, y) = (5.0 * i as f64 - 10.0, 5.0 * j as f64 + 2.0);
            rows.push(format!("{x},{y},{}", 0.001 * x * x - 0.5 * y));
        }
    }
    let mut draw = Draw::seeded(3);
    for k in (1..rows.len()).rev() {
        rows.swap(k, draw.below(k + 1));
    }
    format!("{header}\n{}\n", rows.join("\n")).into_bytes()
}

#[test]
fn a_height_table_is_read_in_any_order_and_unit() {
    for (header, scale) in [("x_mm,y_mm,z_mm", 1e-3), ("x_cm, y_cm, z_cm", 1e-2), ("x_in,y_in,z_in", 0.0254)] {
        let t = height_map_from_csv("h.csv", &heights(header, 21, 13, |_, _| true)).unwrap();
        assert_eq!((t.given, t.missing, t.heights.count()), (273, 0, (25, 17)));
        let h = &t.heights;
        assert!((h.step() - 5.0 * scale).abs() < 1e-12); // roundings
        let at = |x: f64, y: f64| h.height_at(x * scale, y * scale) / scale;
        assert!((at(35.0, 22.0) - (0.001 * 35.0 * 35.0 - 11.0)).abs() < 1e-9); // a node; roundings
        // The panel ends at its outermost nodes; roundings.
        let ((x0, y0), (x1, y1)) = h.outline().bounds();
        for (got, is) in [(x0, -10.0), (y0, 2.0), (x1, 90.0), (y1, 62.0)] {
            assert!((got - is * scale).abs() < 1e-12, "{got}");
        }
        assert_eq!(h.outline().loops()[0].len(), 4);
    }
    // Mixed units and columns in another order.
    let mixed =
        b"z_in,x_mm,y_m\n1,0,0\n2,5,0\n3,10,0\n1,0,0.005\n2,5,0.005\n3,10,0.005\n1,0,0.01\n2,5,0.01\n3,10,0.01\n";
    let h = height_map_from_csv("m.csv", mixed).unwrap().heights;
    assert!((h.height_at(0.005, 0.005) - 0.0508).abs() < 1e-12); // 2 in; roundings
}

#[test]
fn missing_nodes_are_not_panel() {
    // A hole of 2 x 2 nodes and a corner cut off.
    let keep = |i: usize, j: usize| !((8..10).contains(&i) && (5..7).contains(&j)) && i + j >= 4;
    let t = height_map_from_csv("h.csv", &heights("x_mm,y_mm,z_mm", 21, 13, keep)).unwrap();
    assert_eq!(t.missing, 4 + 10);
    let o = t.heights.outline();
    assert_eq!(o.loops().len(), 2);
    let inside = |i: f64, j: f64| o.contains((5.0 * i - 10.0) * 1e-3, (5.0 * j + 2.0) * 1e-3);
    assert!(!inside(8.5, 5.5) && !inside(7.6, 5.5) && inside(6.9, 5.5) && inside(8.5, 7.1));
    assert!(!inside(1.9, 1.9) && inside(2.1, 2.1) && !inside(0.5, 0.5));
    assert!(t.notes.iter().any(|n| n.starts_with("14 node(s)")), "{:?}", t.notes);
}

fn table_refused(text: &str, (kind, line, column, word): (ReadErrorKind, Option<usize>, Option<usize>, &'static str)) {
    let e = height_map_from_csv("h.csv", text.as_bytes()).unwrap_err();
    refused(&e, (kind, line, word));
    assert_eq!(e.column, column, "{e}");
}

#[test]
fn bad_height_tables_are_refused_with_line_and_column() {
    use ReadErrorKind::{Claim, Content, Empty, NotText, Number, Syntax};
    let whole = String::from_utf8(heights("x_mm,y_mm,z_mm", 5, 4, |_, _| true)).unwrap();
    let rows: Vec<&str> = whole.lines().collect();
    let with = |k: usize, row: &str| {
        let mut r = rows.clone();
        r[k - 1] = row;
        r.join("\n")
    };
    table_refused("", (Empty, None, None, "x_mm,y_mm,z_mm"));
    table_refused(&with(1, "x,y,z"), (Syntax, Some(1), Some(1), "\"x\" has no unit"));
    table_refused(&with(1, "x_mm,y_mm,z"), (Syntax, Some(1), Some(3), "\"z\" has no unit"));
    table_refused(&with(1, "x_mm,y_mm,z_ft"), (Syntax, Some(1), Some(3), "unknown column \"z_ft\""));
    table_refused(&with(1, "x_mm,y_mm,z_mm,w"), (Syntax, Some(1), Some(4), "unknown column \"w\""));
    table_refused(&with(1, "x_mm,y_mm"), (Syntax, Some(1), None, "\"z\" is missing"));
    table_refused(&with(1, "x_mm,x_cm,z_mm"), (Syntax, Some(1), Some(2), "twice"));
    table_refused(&with(7, "0,2"), (Syntax, Some(7), None, "2 column(s); allowed: 3"));
    table_refused(&with(7, "0,2,nan"), (Number, Some(7), Some(3), "\"nan\""));
    table_refused(&with(7, "0,inf,1"), (Number, Some(7), Some(2), "\"inf\""));
    table_refused(&with(7, "0,2,"), (Syntax, Some(7), Some(3), "\"\""));
    table_refused(&with(7, "0,2,1e9"), (Number, Some(7), Some(3), "±1000000 mm"));
    table_refused(&with(7, rows[2]), (Content, Some(7), None, "stands in line 3 already"));
    // 2.1 mm to the neighbour at 0 becomes the step, which the others do not fit; the first that does not
    // is named.
    let e = height_map_from_csv("h.csv", with(7, "2.1,2,1").as_bytes()).unwrap_err();
    assert!(e.kind == Content && e.line.is_some() && e.to_string().contains("off the grid"), "{e}");
    table_refused("x_mm,y_mm,z_mm\n0,0,1\n", (Content, None, None, "1 row(s)"));
    table_refused("x_mm,y_mm,z_mm\n0,0,1\n5,0,1\n0,5,1\n5,5,1\n", (Content, None, None, "2 places along x"));
    let oblong = "0,0,0\n5,0,0\n10,0,0\n0,7,0\n5,7,0\n10,7,0\n0,14,0\n5,14,0\n10,14,0\n";
    table_refused(
        &format!("x_mm,y_mm,z_mm\n{oblong}"),
        (Content, None, None, "5.0000 mm along x and 7.0000 mm along y"),
    );
    let line = "0,0,0\n1,1,0\n2,2,0\n3,3,0\n4,4,0\n";
    table_refused(&format!("x_mm,y_mm,z_mm\n{line}"), (Content, None, None, "no area"));
    let far = "x_mm,y_mm,z_mm\n0,0,0\n0.1,0,0\n5000,0,0\n0,0.1,0\n0,5000,0\n";
    table_refused(far, (Claim, None, None, "nodes"));
    let mut bytes = whole.clone().into_bytes();
    let first_number = rows[0].len() + 1;
    bytes[first_number] = 0xfe;
    let e = height_map_from_csv("h.csv", &bytes).unwrap_err();
    assert_eq!((e.kind, e.line, e.column), (NotText, Some(2), Some(1)), "{e}");
    assert_eq!(height_map_from_csv("h.csv", &[0, 159, 146, 150]).unwrap_err().kind, NotText);
}

/// A profile of points on a circle, `spacing` apart.
fn arc(radius: f64, spacing: f64, half: i32) -> String {
    let row = |k: i32| {
        let x = f64::from(k) * spacing;
        format!("{x},{}\n", (radius * radius - x * x).sqrt())
    };
    format!("x_mm,z_mm\n{}", (-half..=half).map(row).collect::<String>())
}

#[test]
fn a_profile_is_swept_with_its_radius() {
    let p = profile_from_csv("p.csv", arc(400.0, 10.0, 15).as_bytes()).unwrap();
    let s = p.swept(Length::from_mm(200.0), Length::from_mm(2.0)).unwrap();
    assert!((s.smallest_radius - 0.4).abs() < 1e-9); // a circle through three of its points; roundings
    assert!(s.notes[0].contains("400.00 mm") && !s.notes[0].contains("too far"), "{}", s.notes[0]);
    for k in -140..=140 {
        let x = f64::from(k) * 1e-3;
        let is = (0.16 - x * x).sqrt();
        let got = s.heights.height_at(x, 0.13);
        // Between chord and arc: the slopes are harmonic means of the secants, the nodes bilinear; the
        // sagitta of a 10 mm chord, 31.25 µm, bounds both since the curve runs through the points.
        assert!((got - is).abs() < 3.2e-5, "{x}: {got} {is}");
        assert!((got - s.heights.height_at(x, 0.02)).abs() < 1e-15, "straight along y"); // the same number
    }
    let ((x0, y0), (x1, y1)) = s.heights.outline().bounds();
    assert!((x0 + 0.15).abs() < 1e-12 && y0.abs() < 1e-12 && (x1 - 0.15).abs() < 1e-12 && (y1 - 0.2).abs() < 1e-12); // roundings
    // No overshoot at a step in the data, at any node.
    let step = b"x_mm,z_mm\n0,0\n10,0\n20,0\n30,8\n40,8\n50,8\n";
    let s = profile_from_csv("p.csv", step).unwrap().swept(Length::from_mm(20.0), Length::from_mm(0.5)).unwrap();
    assert!(s.heights.heights().iter().all(|z| (-1e-15..=8e-3 + 1e-15).contains(z))); // a rounding
    let coarse = profile_from_csv("p.csv", arc(30.0, 20.0, 1).as_bytes()).unwrap();
    let s = coarse.swept(Length::from_mm(100.0), Length::from_mm(1.0)).unwrap();
    assert!(s.notes[0].contains("too far apart"), "{}", s.notes[0]);
    assert!(coarse.swept(Length::from_mm(f64::NAN), Length::from_mm(1.0)).is_err());
    assert!(coarse.swept(Length::from_mm(1.0), Length::from_mm(1.0)).is_err());
    assert!(coarse.swept(Length::from_mm(1e9), Length::from_mm(1.0)).is_err());
}

#[test]
fn bad_profiles_are_refused_with_their_line() {
    let refuse = |text: &str, refusal| refused(&profile_from_csv("p.csv", text.as_bytes()).unwrap_err(), refusal);
    refuse("x_mm,z_mm\n0,0\n1,0\n", (ReadErrorKind::Content, None, "2 point(s); allowed: 3 or more"));
    refuse("x_mm,z_mm\n0,0\n2,0\n1,0\n", (ReadErrorKind::Content, Some(4), "x = 1.0000 mm after 2.0000 mm"));
    refuse("x_mm,z_mm\n0,0\n2,0\n# same again\n2,1\n", (ReadErrorKind::Content, Some(5), "rises"));
    refuse("x_mm,z_mm\n0,0\n2,NaN\n3,0\n", (ReadErrorKind::Number, Some(3), "column 2"));
    refuse("x,z\n0,0\n2,0\n3,0\n", (ReadErrorKind::Syntax, Some(1), "no unit"));
    refuse("x_mm,y_mm\n0,0\n2,0\n3,0\n", (ReadErrorKind::Syntax, Some(1), "unknown column \"y_mm\""));
    refuse("x_mm,z_mm\n0;0\n", (ReadErrorKind::Syntax, Some(2), "1 column(s)"));
}

#[cfg(feature = "cli")]
#[test]
fn a_coloured_surface_is_written_and_read_again() {
    use trochoid::report::{ColouredField, ply_of_heights, ply_of_mesh};
    let (name, format, bytes) = files().remove(0);
    let mesh = mesh_from_bytes(name, &bytes, format, LengthUnit::Mm).unwrap().mesh;
    let values: Vec<f64> = (0..mesh.vertices().len()).map(|k| if k == 7 { f64::NAN } else { k as f64 }).collect();
    let field = ColouredField { name: "cut_um", values: &values, range: None };
    let out = ply_of_mesh(&mesh, &field).unwrap();
    let again = mesh_from_bytes("out.ply", &out, MeshFormat::Ply, LengthUnit::Mm).unwrap();
    assert!(again.notes.is_empty(), "{:?}", again.notes);
    assert_eq!(again.mesh.triangles(), mesh.triangles());
    for (p, q) in again.mesh.vertices().iter().zip(mesh.vertices()) {
        assert!((0..3).all(|k| (p[k] - q[k]).abs() < 4e-9)); // half a step of single precision at 96 mm
    }
    // The value stands in the file as a property, in single precision.
    let end = b"end_header\n";
    let body = out.windows(end.len()).position(|w| w == end).unwrap() + end.len();
    let value = |k: usize| f32::from_le_bytes(out[body + 19 * k + 12..body + 19 * k + 16].try_into().unwrap());
    assert!(value(7).is_nan() && (value(100) - 100.0).abs() < 1e-3); // whole numbers are exact

    let p = MeshView { up: Up::Z, step: 4e-3 }.of(&mesh).unwrap();
    let zeros = vec![0.0; p.heights.heights().len()];
    let out =
        ply_of_heights(&p.heights, &ColouredField { name: "cut_um", values: &zeros, range: Some((0.0, 1.0)) }).unwrap();
    let again = mesh_from_bytes("out.ply", &out, MeshFormat::Ply, LengthUnit::Mm).unwrap().mesh;
    // 96 x 72 mm in cells of 4 mm.
    assert_eq!((again.vertices().len(), again.triangles().len()), (25 * 19, 2 * 24 * 18));
    let q = MeshView { up: Up::Z, step: 4e-3 }.of(&again).unwrap();
    for (n, (a, b)) in p.heights.heights().iter().zip(q.heights.heights()).enumerate() {
        let on = p.heights.edge_distances()[n] >= 0.0;
        assert!(!on || (a - b).abs() < 1e-9); // single precision of 8 mm, and the origin of heights
    }
}

/// A damaged copy: bits flipped, bytes written over, parts cut out, doubled, moved, or the end cut off.
fn damaged(seed: &[u8], draw: &mut Draw) -> Vec<u8> {
    let mut b = seed.to_vec();
    for _ in 0..=draw.below(4) {
        if b.is_empty() {
            return b;
        }
        let at = draw.below(b.len());
        let most = (b.len() - at).min(40);
        match draw.below(9) {
            0 => b[at] ^= 1 << draw.below(8),
            1 => b[at] = draw.next().to_le_bytes()[0],
            2 => b.truncate(at),
            3 => drop(b.drain(at..at + draw.below(most))),
            4 => {
                let part = b[at..at + draw.below(most)].to_vec();
                let to = draw.below(b.len());
                b.splice(to..to, part);
            }
            5 => {
                let words: [&[u8]; 14] = [
                    b"nan",
                    b"-inf",
                    b"1e999",
                    b"-1",
                    b"4294967295",
                    b"99999999999999999999",
                    b"\n",
                    b"\0",
                    b"\xff\xfe",
                    b" ",
                    b"\r",
                    b"/",
                    b"\\\n",
                    b"end_header\n",
                ];
                b.splice(at..at, words[draw.below(words.len())].iter().copied());
            }
            6 => {
                // A digit becomes another: counts and indices change.
                if let Some(d) = b[at..].iter().position(u8::is_ascii_digit) {
                    b[at + d] = b'0' + draw.next().to_le_bytes()[0] % 10;
                }
            }
            7 => {
                let four = [0, u32::MAX, 1 << 31, 0x7fc0_0000, 1_000_000_000][draw.below(5)].to_le_bytes();
                for (to, from) in b[at..].iter_mut().zip(four) {
                    *to = from;
                }
            }
            _ => {
                let to = draw.below(b.len());
                b.swap(at, to);
            }
        }
    }
    b
}

/// Reads `count` damaged copies of each seed and returns how many were read all the same.
fn survive(seeds: &[Vec<u8>], count: usize, read: impl Fn(&[u8]) -> Result<(), ReadError>) -> usize {
    let mut draw = Draw::seeded(20_260_101);
    let mut fine = 0;
    for seed in seeds {
        assert!(read(seed).is_ok(), "{:?}", read(seed));
        for _ in 0..count {
            let bytes = damaged(seed, &mut draw);
            let begin = Instant::now();
            match read(&bytes) {
                Ok(()) => fine += 1,
                Err(e) => {
                    let text = e.to_string();
                    assert!(text.starts_with("file") && text.len() > 12 && text.len() < 1000, "{text}");
                }
            }
            // A file of a few kilobytes takes microseconds; a claim that is believed takes minutes.
            assert!(begin.elapsed() < Duration::from_secs(5), "{} bytes took {:?}", bytes.len(), begin.elapsed());
        }
    }
    fine
}

/// A small piece of the bowl, so that damage hits what matters.
fn piece() -> (Vec<[f32; 3]>, Vec<[u32; 3]>) {
    let (v, t) = bowl();
    (v[..40].to_vec(), t.into_iter().filter(|t| t.iter().all(|k| *k < 40)).collect())
}

#[test]
fn damaged_meshes_never_panic() {
    let (v, t) = piece();
    let binary = ["ascii", "binary_little_endian", "binary_big_endian"].map(|e| ply(&v, &t, e));
    for (format, seeds) in [
        (MeshFormat::Stl, vec![stl_binary(&v, &t), stl_text(&v, &t)]),
        (MeshFormat::Obj, vec![obj(&v, &t)]),
        (MeshFormat::Ply, binary.to_vec()),
    ] {
        let fine = survive(&seeds, 3000, |bytes| {
            let m = mesh_from_bytes("file", bytes, format, LengthUnit::Mm)?;
            whole(&m.mesh);
            Ok(())
        });
        // Some damage does no harm (a digit of a coordinate), some does.
        assert!(fine > 100 && fine < 2900 * seeds.len(), "{format}: {fine}");
    }
}

/// What is promised of any mesh that is read, and that the steps after it take it.
fn whole(mesh: &TriangleMesh) {
    assert!(mesh.triangles().iter().flatten().all(|v| (*v as usize) < mesh.vertices().len()));
    assert!(mesh.vertices().iter().flatten().all(|c| c.abs() <= 1e3));
    assert!(!trochoid::panel::mesh::MeshHealth::of(mesh, LengthUnit::Mm).to_string().is_empty());
    let (low, high) = mesh.bounds();
    if (0..3).any(|k| high[k] - low[k] > 0.5) {
        return;
    }
    // Refused, or a map: both are answers. A box of up to 0.5 m in steps of 8 mm keeps the nodes few.
    if let Ok(p) = (MeshView { up: Up::Z, step: 8e-3 }).of(mesh) {
        assert!(p.heights.heights().iter().all(|z| z.is_finite()));
    }
}

#[test]
fn damaged_tables_never_panic() {
    let seeds = [heights("x_mm,y_mm,z_mm", 7, 6, |_, _| true), heights("x_in,y_in,z_in", 6, 6, |i, j| i + j > 2)];
    let fine = survive(&seeds, 3000, |bytes| {
        let t = height_map_from_csv("file", bytes)?;
        assert!(t.heights.heights().iter().all(|z| z.is_finite()));
        Ok(())
    });
    assert!(fine > 100 && fine < 5900, "{fine}");
    let seeds = [arc(300.0, 5.0, 12).into_bytes()];
    let fine = survive(&seeds, 4000, |bytes| {
        let p = profile_from_csv("file", bytes)?;
        if let Ok(s) = p.swept(Length::from_mm(50.0), Length::from_mm(5.0)) {
            assert!(s.heights.heights().iter().all(|z| z.is_finite()));
        }
        Ok(())
    });
    assert!(fine > 100 && fine < 3900, "{fine}");
}
