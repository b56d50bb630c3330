//! Triangle meshes: heights against the true surface and against a test of every triangle at every node,
//! free edges, and each defect of the health report planted and found at its place.

use trochoid::Length;
use trochoid::panel::Outline;
use trochoid::panel::mesh::{
    FindingKind, LengthUnit, MeshHealth, MeshView, OutlineSource, Severity, TriangleMesh, Up, weld,
};

/// Numbers that look random, the same everywhere: splitmix64 (Steele, Lea, Flood 2014).
pub(crate) struct Draw(u64);

impl Draw {
    pub(crate) const fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) const fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1_u64 << 53) as f64)
    }

    pub(crate) fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.next() % end.max(1) as u64).unwrap()
    }
}

/// A grid of squares, each cut in two, seen from +z; `keep` says which squares are there.
fn sheet(
    count: (usize, usize),
    step: f64,
    at: impl Fn(f64, f64) -> [f64; 3],
    keep: impl Fn(usize, usize) -> bool,
) -> TriangleMesh {
    let (nx, ny) = count;
    let mut v = Vec::new();
    for j in 0..=ny {
        for i in 0..=nx {
            v.push(at(i as f64 * step, j as f64 * step));
        }
    }
    let mut t = Vec::new();
    for j in 0..ny {
        for i in (0..nx).filter(|i| keep(*i, j)) {
            let n = u32::try_from(j * (nx + 1) + i).unwrap();
            let up = u32::try_from(nx + 1).unwrap();
            t.push([n, n + 1, n + up + 1]);
            t.push([n, n + up + 1, n + up]);
        }
    }
    TriangleMesh::new(v, t).unwrap()
}

fn flat(count: (usize, usize), keep: impl Fn(usize, usize) -> bool) -> TriangleMesh {
    sheet(count, 0.01, |x, y| [x, y, 0.0], keep)
}

const RADIUS: f64 = 0.5;
const CAP: f64 = 0.12;

/// A square cap of a sphere, 2 mm between vertices in plan, about the sphere's top.
fn cap() -> TriangleMesh {
    let z = |x: f64, y: f64| (RADIUS * RADIUS - x * x - y * y).sqrt();
    sheet((60, 60), 2e-3, |x, y| [x - 0.5 * CAP, y - 0.5 * CAP, z(x - 0.5 * CAP, y - 0.5 * CAP)], |_, _| true)
}

/// A rotation about a skew axis.
fn turned(p: [f64; 3]) -> [f64; 3] {
    let (s, c) = (1.1_f64.sin(), 1.1_f64.cos());
    let q = [c * p[0] - s * p[1], s * p[0] + c * p[1], p[2]];
    let (s, c) = (0.7_f64.sin(), 0.7_f64.cos());
    [c * q[0] + s * q[2] + 0.3, q[1] - 0.2, -s * q[0] + c * q[2] + 0.9]
}

fn moved(mesh: &TriangleMesh, f: impl Fn([f64; 3]) -> [f64; 3]) -> TriangleMesh {
    TriangleMesh::new(mesh.vertices().iter().map(|p| f(*p)).collect(), mesh.triangles().to_vec()).unwrap()
}

#[test]
fn heights_of_a_sphere_are_within_the_sagitta_of_its_triangles() {
    let mesh = cap();
    let longest = MeshHealth::of(&mesh, LengthUnit::M).edge_length.2;
    // A step that falls between the vertices, so that insides of triangles are met.
    let p = MeshView { up: Up::Z, step: 0.7e-3 }.of(&mesh).unwrap();
    assert_eq!((p.layered_nodes, p.outline_source), (0, OutlineSource::MeshBoundary));
    let (nx, _) = p.heights.count();
    // An inscribed triangle is below the sphere by at most κ h²/8, h its longest side, as here the circle
    // round it has that side as its diameter; along z that is more by the slope at the cap's corner.
    let slope = RADIUS / (RADIUS * RADIUS - 0.5 * CAP * CAP).sqrt();
    let sagitta = longest * longest / (8.0 * RADIUS) * slope;
    let mut worst: f64 = 0.0;
    let mut met = 0;
    for (n, z) in p.heights.heights().iter().enumerate() {
        let (x, y) = p.heights.node(n % nx, n / nx);
        if !p.heights.outline().contains(x, y) {
            continue;
        }
        met += 1;
        let q = p.frame.to_mesh([x, y, *z]);
        let below = (RADIUS * RADIUS - q[0] * q[0] - q[1] * q[1]).sqrt() - q[2];
        assert!(below > -1e-12 && below <= sagitta, "{below} at ({x}, {y})"); // 1e-12: roundings of 0.5
        worst = worst.max(below);
    }
    assert!(met > 28_000, "{met}");
    assert!(worst > 0.8 * sagitta, "the bound is met nearly: {worst} of {sagitta}");
}

#[test]
fn a_turned_panel_is_found_by_its_mean_normal_and_leads_back() {
    let mesh = moved(&cap(), turned);
    let centre = turned([0.0; 3]);
    let p = MeshView { up: Up::Auto, step: 1e-3 }.of(&mesh).unwrap();
    let (nx, _) = p.heights.count();
    let mut met = 0;
    for (n, z) in p.heights.heights().iter().enumerate() {
        let (x, y) = p.heights.node(n % nx, n / nx);
        if p.heights.outline().contains(x, y) {
            let q = p.frame.to_mesh([x, y, *z]);
            let r = (0..3).map(|k| (q[k] - centre[k]).powi(2)).sum::<f64>().sqrt();
            // 2.1e-6: the sagitta of the test above, 3.0 mm the longest side on the slope.
            assert!((r - RADIUS).abs() < 2.3e-6, "{r}");
            met += 1;
        }
    }
    assert!(met > 14_000, "{met}");
    // Up is the sphere's own axis: the cap is symmetric. 1e-9: the sum of 7200 normals.
    let up = p.frame.rotation()[2];
    let axis = turned([0.0, 0.0, 1.0]);
    let along: f64 = (0..3).map(|k| up[k] * (axis[k] - centre[k])).sum();
    assert!((along - 1.0).abs() < 1e-9);
    assert!(p.facing_away_share < 1e-15 && p.steep_share < 1e-15); // none at all
}

#[test]
fn interpolation_is_right_up_to_the_edge() {
    let p = MeshView { up: Up::Z, step: 0.7e-3 }.of(&cap()).unwrap();
    // Along the edge the cells reach off the panel, onto the continued nodes.
    for k in 0..=100 {
        let along = f64::from(k) * 1e-2 * CAP;
        for (x, y) in [(along, 0.0), (along, CAP), (0.0, along), (CAP, along)] {
            let q = p.frame.to_mesh([x, y, p.heights.height_at(x, y)]);
            let off = (RADIUS * RADIUS - q[0] * q[0] - q[1] * q[1]).sqrt() - q[2];
            // Sagitta of the triangles (2.1 µm), bilinear cells of 0.7 mm (κ h²/4 = 0.25 µm), and a straight
            // continuation of one node from slopes that jump by κ x 2 mm between triangles (2.8 µm).
            assert!(off.abs() < 5.2e-6, "{off} at ({x}, {y})");
        }
    }
}

#[test]
fn a_hole_is_found_with_its_length_and_kept() {
    let mesh = flat((30, 20), |i, j| !((10..12).contains(&i) && (5..8).contains(&j)));
    let h = MeshHealth::of(&mesh, LengthUnit::M);
    assert_eq!((h.component_count, h.loop_count), (1, 2));
    let hole = h.loops.iter().find(|l| !l.outer).unwrap();
    // Round a hole of 20 x 30 mm; a few roundings.
    assert!((hole.length - 0.1).abs() < 1e-15 && (hole.size() - 0.03).abs() < 1e-15);
    let c = hole.centre();
    assert!((c[0] - 0.11).abs() < 1e-15 && (c[1] - 0.065).abs() < 1e-15); // a few roundings
    let outer = h.loops.iter().find(|l| l.outer).unwrap();
    assert!((outer.length - 1.0).abs() < 1e-14); // 100 sides of 10 mm
    let f: Vec<_> = h.of_kind(FindingKind::Holes).collect();
    assert_eq!((f.len(), f[0].count, f[0].severity), (1, 1, Severity::Note));
    assert!(f[0].text.contains("100.00 mm") && f[0].to_string().contains("(110.00, 65.00, 0.00)"), "{}", f[0]);
    let p = MeshView { up: Up::Z, step: 2e-3 }.of(&mesh).unwrap();
    assert_eq!(p.outline_source, OutlineSource::MeshBoundary);
    assert_eq!(p.heights.outline().loops().len(), 2);
    assert!(!p.heights.outline().contains(0.11, 0.065) && p.heights.outline().contains(0.09, 0.065));
    // 10 mm from the hole's edge; the nodes lie on lines through the hole's corners; roundings.
    assert!((p.heights.edge_distance_at(0.09, 0.064) - 0.01).abs() < 1e-12);
}

/// The finding of a kind in a mesh.
fn found(mesh: &TriangleMesh, kind: FindingKind) -> trochoid::panel::mesh::Finding {
    let h = MeshHealth::of(mesh, LengthUnit::M);
    let all: Vec<_> = h.of_kind(kind).cloned().collect();
    assert_eq!(all.len(), 1, "{h}");
    all[0].clone()
}

fn near(p: [f64; 3], q: [f64; 3]) -> bool {
    (0..3).all(|k| (p[k] - q[k]).abs() < 1e-12) // roundings of places below 1 m
}

fn changed(mesh: &TriangleMesh, f: impl Fn(&mut Vec<[f64; 3]>, &mut Vec<[u32; 3]>)) -> TriangleMesh {
    let (mut v, mut t) = (mesh.vertices().to_vec(), mesh.triangles().to_vec());
    f(&mut v, &mut t);
    TriangleMesh::new(v, t).unwrap()
}

#[test]
fn a_sound_sheet_has_nothing_to_report() {
    let h = MeshHealth::of(&flat((10, 10), |_, _| true), LengthUnit::M);
    assert!(h.findings.is_empty() && h.worst().is_none(), "{h}");
    assert!((h.area - 0.01).abs() < 1e-15); // 100 mm square; roundings
    // Sides of 10 mm, diagonals √2 longer; 220 sides and 100 diagonals, so the median is a side.
    assert!((h.edge_length.0 - 0.01).abs() < 1e-15 && (h.edge_length.1 - 0.01).abs() < 1e-15); // roundings
    assert!((h.edge_length.2 - 0.01 * 2.0_f64.sqrt()).abs() < 1e-15); // roundings
}

#[test]
fn each_planted_defect_is_found_at_its_place() {
    let whole = flat((10, 10), |_, _| true);

    let parts = flat((10, 10), |i, _| i != 6);
    let f = found(&parts, FindingKind::SeveralParts);
    assert_eq!((f.count, f.severity), (2, Severity::Warns));
    assert!(near(f.places[0], [0.03, 0.05, 0.0]) && near(f.places[1], [0.085, 0.05, 0.0]));
    assert!(f.text.contains("66.7 %"), "{}", f.text); // 60 of 90 squares

    // Triangle 57 turned over: its three sides all have a neighbour.
    let flipped = changed(&whole, |_, t| t[57].swap(1, 2));
    let f = found(&flipped, FindingKind::FlippedNeighbours);
    assert_eq!((f.count, f.severity), (3, Severity::Warns));
    assert!(f.triangles.chunks(2).all(|pair| pair.contains(&57)), "{:?}", f.triangles);

    // A fin on the side from vertex 60 to vertex 61.
    let crowded = changed(&whole, |v, t| {
        v.push([0.055, 0.05, 0.02]);
        t.push([60, 61, 121]);
    });
    let f = found(&crowded, FindingKind::CrowdedEdges);
    assert_eq!(f.count, 1);
    assert!(near(f.places[0], [0.055, 0.05, 0.0]) && f.triangles.contains(&200), "{f:?}");
    assert_eq!(found(&crowded, FindingKind::OpenChain).count, 1);

    let twice = changed(&whole, |_, t| t.push([t[33][1], t[33][2], t[33][0]]));
    let f = found(&twice, FindingKind::DuplicateTriangles);
    assert_eq!((f.count, f.triangles.as_slice()), (1, [200].as_slice()));
    let c = whole.corners(33);
    assert!(near(f.places[0], core::array::from_fn(|k| (c[0][k] + c[1][k] + c[2][k]) / 3.0)));

    // A needle of 30 mm and 10 nm, and a triangle with one corner twice.
    let thin = changed(&whole, |v, t| {
        v.extend([[0.2, 0.0, 0.0], [0.23, 0.0, 0.0], [0.21, 1e-8, 0.0]]);
        t.push([121, 122, 123]);
        t.push([5, 5, 9]);
    });
    let f = found(&thin, FindingKind::DegenerateTriangles);
    assert_eq!((f.count, f.triangles.as_slice(), f.severity), (2, [200, 201].as_slice(), Severity::Note));
    let all_flat = TriangleMesh::new(vec![[0.0; 3], [0.1, 0.0, 0.0], [0.2, 0.0, 0.0]], vec![[0, 1, 2]]).unwrap();
    assert_eq!(found(&all_flat, FindingKind::DegenerateTriangles).severity, Severity::Stops);

    let unused = changed(&whole, |v, _| v.push([0.3, 0.4, 0.5]));
    let f = found(&unused, FindingKind::UnusedVertices);
    assert_eq!(f.count, 1);
    assert!(near(f.places[0], [0.3, 0.4, 0.5]));

    // A cut along the last triangle's long side: two of its vertices are there twice.
    let cut = changed(&whole, |v, t| {
        let t = &mut t[199];
        for k in [0, 1] {
            v.push(v[t[k] as usize]);
            t[k] = u32::try_from(v.len() - 1).unwrap();
        }
    });
    let f = found(&cut, FindingKind::DuplicateVertices);
    assert_eq!((f.count, f.severity), (2, Severity::Warns));
    assert!(near(f.places[0], cut.vertices()[121]) && near(f.places[1], cut.vertices()[122]));
    let welded = weld(&cut, Length::from_mm(0.0)).unwrap();
    assert_eq!(welded.merged, 2);
    assert!(MeshHealth::of(&welded.mesh, LengthUnit::M).findings.is_empty());
}

#[test]
fn a_closed_body_is_told_from_a_sheet() {
    let v = vec![[0.0; 3], [0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]];
    let t = vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]];
    let body = TriangleMesh::new(v, t).unwrap();
    assert_eq!(found(&body, FindingKind::ClosedBody).severity, Severity::Warns);
    assert!(MeshView { up: Up::Auto, step: 2e-3 }.of(&body).unwrap_err().to_string().contains("mean normal"));
    let p = MeshView { up: Up::Z, step: 2e-3 }.of(&body).unwrap();
    assert_eq!(p.outline_source, OutlineSource::CoveredNodes);
    // Its floor faces away, its two walls are steep: areas 1, 1, 1 and √3 for legs of 1.
    let all = 3.0 + 3.0_f64.sqrt();
    assert!((p.facing_away_share - 1.0 / all).abs() < 1e-12); // roundings
    assert!((p.steep_share - 2.0 / all).abs() < 1e-12); // roundings
    assert!(p.layered_nodes > 1000 && p.notes.len() == 4, "{} {:?}", p.layered_nodes, p.notes);
}

#[test]
fn a_doubtful_size_names_it_in_the_other_units() {
    let mesh = moved(&flat((10, 10), |_, _| true), |p| p.map(|c| c * 1e-1));
    // 10 units across, read as millimetres: 100 mm as centimetres, 10 000 mm as metres, 254 mm as inches.
    let h = MeshHealth::of(&mesh, LengthUnit::Mm);
    let f: Vec<_> = h.of_kind(FindingKind::Size).collect();
    assert_eq!(f[0].severity, Severity::Warns);
    for word in [
        "10.0000 mm, read as mm",
        "100.0000 mm if it were cm",
        "10000.0000 mm if it were m",
        "254.0000 mm if it were in",
    ] {
        assert!(f[0].text.contains(word), "{}", f[0].text);
    }
    let large = moved(&mesh, |p| p.map(|c| c * 700.0));
    assert_eq!(MeshHealth::of(&large, LengthUnit::M).of_kind(FindingKind::Size).count(), 1);
    let fits = moved(&mesh, |p| p.map(|c| c * 300.0));
    assert_eq!(MeshHealth::of(&fits, LengthUnit::M).of_kind(FindingKind::Size).count(), 0);
}

#[test]
fn the_report_stays_short_however_bad_the_mesh() {
    // 2500 squares that touch at corners only.
    let h = MeshHealth::of(&flat((100, 50), |i, j| (i + j) % 2 == 0), LengthUnit::M);
    assert_eq!((h.component_count, h.loop_count), (2500, 2500));
    assert!(h.components.len() <= 50 && h.loops.len() <= 50);
    assert!(h.findings.iter().all(|f| f.places.len() <= 5 && f.triangles.len() <= 10));
    assert!(h.to_string().len() < 2000);
}

#[test]
fn loops_use_each_open_side_once() {
    let mut draw = Draw::seeded(41);
    for round in 0..60 {
        let (nx, ny) = (3 + round % 9, 4 + round % 7);
        let there: Vec<bool> = (0..nx * ny).map(|_| draw.below(10) < 7).collect();
        if there.iter().all(|t| !t) {
            continue;
        }
        let mesh = flat((nx, ny), |i, j| there[j * nx + i]);
        // The slow obvious count: sides that one triangle has.
        let mut sides = std::collections::HashMap::new();
        for t in mesh.triangles() {
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                *sides.entry((a.min(b), a.max(b))).or_insert(0) += 1;
            }
        }
        let open = sides.values().filter(|c| **c == 1).count();
        let h = MeshHealth::of(&mesh, LengthUnit::M);
        assert!(h.loops.iter().all(|l| l.closed));
        assert_eq!(h.loops.iter().map(|l| l.vertices.len()).sum::<usize>(), open);
        // Each loop goes through a vertex once.
        for l in &h.loops {
            let mut v = l.vertices.clone();
            v.sort_unstable();
            v.dedup();
            assert_eq!(v.len(), l.vertices.len());
        }
        assert_eq!(h.loops.iter().filter(|l| l.outer).count(), h.component_count);
    }
}

#[test]
fn the_uppermost_layer_agrees_with_a_test_of_every_triangle() {
    let mut draw = Draw::seeded(7);
    let mut layered = 0;
    for _ in 0..8 {
        let mut v = Vec::new();
        let mut t = Vec::new();
        for k in 0..40_u32 {
            let centre = [draw.between(0.0, 0.1), draw.between(0.0, 0.1), draw.between(0.0, 0.05)];
            for _ in 0..3 {
                v.push(core::array::from_fn(|a| centre[a] + draw.between(-0.02, 0.02)));
            }
            t.push([3 * k, 3 * k + 1, 3 * k + 2]);
        }
        let mesh = TriangleMesh::new(v, t).unwrap();
        let p = MeshView { up: Up::Z, step: 1.3e-3 }.of(&mesh).unwrap();
        layered += p.layered_nodes;
        let (nx, ny) = p.heights.count();
        let placed = p.plan_of(&mesh);
        let mut covered = 0;
        for n in 0..nx * ny {
            let (x, y) = p.heights.node(n % nx, n / nx);
            let mut top = f64::NEG_INFINITY;
            for t in mesh.triangles() {
                let [a, b, c] = t.map(|v| placed[v as usize]);
                let side = |p: [f64; 3], q: [f64; 3]| (q[0] - p[0]) * (y - p[1]) - (q[1] - p[1]) * (x - p[0]);
                let (u, v, w) = (side(b, c), side(c, a), side(a, b));
                if (u >= 0.0 && v >= 0.0 && w >= 0.0) || (u <= 0.0 && v <= 0.0 && w <= 0.0) {
                    top = top.max((u * a[2] + v * b[2] + w * c[2]) / (u + v + w));
                }
            }
            if top.is_finite() {
                covered += 1;
                // 1e-10: roundings grow with the slope of triangles seen nearly edge on.
                assert!((p.heights.heights()[n] - top).abs() < 1e-10, "node {n}");
            }
        }
        assert_eq!(covered, p.covered_nodes);
    }
    assert!(layered > 1000, "{layered}");
}

#[test]
fn two_layers_are_counted_and_the_outline_is_that_of_the_nodes() {
    let low = flat((20, 20), |_, _| true);
    let both = changed(&low, |v, t| {
        let first = u32::try_from(v.len()).unwrap();
        v.extend([[0.05, 0.05, 0.03], [0.1, 0.05, 0.03], [0.1, 0.1, 0.03], [0.05, 0.1, 0.03]]);
        t.extend([[first, first + 1, first + 2], [first, first + 2, first + 3]]);
    });
    let p = MeshView { up: Up::Z, step: 5e-3 }.of(&both).unwrap();
    assert_eq!((p.covered_nodes, p.layered_nodes), (41 * 41, 11 * 11)); // nodes of 200 and of 50 mm
    assert_eq!(p.outline_source, OutlineSource::CoveredNodes);
    let (a, b) = p.heights.outline().bounds();
    // Half a step out on each side; roundings.
    assert!((a.0 + 2.5e-3).abs() < 1e-12 && (b.1 - 0.2025).abs() < 1e-12);
    assert!((p.heights.height_at(0.075, 0.075) - 0.03).abs() < 1e-12); // the upper layer; roundings
    assert!(p.notes.iter().any(|n| n.contains("121 of 1681 nodes")), "{:?}", p.notes);
}

#[test]
fn a_slit_is_no_free_edge_but_is_told() {
    // One row of vertices is there twice, so that the sheet is cut for 40 mm in its middle.
    let whole = flat((10, 10), |_, _| true);
    let cut = changed(&whole, |v, t| {
        let old: Vec<u32> = (3..=7).map(|i| 5 * 11 + i).collect();
        for o in &old[1..old.len() - 1] {
            let new = u32::try_from(v.len()).unwrap();
            v.push(v[*o as usize]);
            for tri in t.iter_mut().skip(100) {
                for c in tri.iter_mut().filter(|c| **c == *o) {
                    *c = new;
                }
            }
        }
    });
    let h = MeshHealth::of(&cut, LengthUnit::M);
    assert_eq!((h.loop_count, h.component_count), (2, 1));
    assert_eq!(h.of_kind(FindingKind::DuplicateVertices).next().map(|f| f.count), Some(3));
    let p = MeshView { up: Up::Z, step: 1e-3 }.of(&cut).unwrap();
    assert_eq!((p.slits, p.outline_source), (1, OutlineSource::MeshBoundary));
    assert!((p.heights.edge_distance_at(0.05, 0.05) - 0.05).abs() < 1e-12); // to the outer edge; roundings
}

#[test]
fn results_are_read_back_onto_the_vertices() {
    let mesh = moved(&cap(), turned);
    let p = MeshView { up: Up::Auto, step: 1e-3 }.of(&mesh).unwrap();
    let (nx, ny) = p.heights.count();
    let values: Vec<f64> =
        (0..nx * ny).map(|n| p.heights.node(n % nx, n / nx)).map(|(x, y)| 2.0 * x - 3.0 * y).collect();
    let back = p.read_back(&mesh, &values, 1e-3).unwrap();
    for (q, v) in p.plan_of(&mesh).iter().zip(&back) {
        assert!((v - (2.0 * q[0] - 3.0 * q[1])).abs() < 1e-12); // bilinear keeps a plane; roundings
    }
    assert!(p.read_back(&mesh, &values[1..], 1e-3).is_err());
    // A vertex below the surface is not given the value above it.
    let below = changed(&mesh, |v, _| v[1800] = p.frame.to_mesh([0.06, 0.06, -0.02]));
    assert!(p.read_back(&below, &values, 1e-3).unwrap()[1800].is_nan());
}

#[test]
fn plans_out_of_range_are_refused_with_the_numbers() {
    let mesh = flat((10, 10), |_, _| true);
    let refused = |up, step| MeshView { up, step }.of(&mesh).unwrap_err().to_string();
    assert!(refused(Up::Z, 2e-5).contains("step of 0.04 mm or more"), "{}", refused(Up::Z, 2e-5));
    assert!(refused(Up::Z, 0.06).contains("narrow side of the plan = 100"));
    assert!(refused(Up::X, 1e-3).contains("narrow side of the plan = 0 mm"), "{}", refused(Up::X, 1e-3));
    assert!(refused(Up::Z, f64::NAN).contains("height map step"));
    let outline = MeshView { up: Up::Z, step: 1e-3 }.of(&mesh).unwrap().heights.outline().clone();
    assert_eq!(outline, Outline::rectangle((0.0, 0.0), (0.1, 0.1)).unwrap());
}
