//! The health report of a mesh: parts, open boundaries, defects, sizes. Nothing is repaired.
//!
//! Linear in the triangles, but for sorting the sides at each vertex and the triangles by their
//! vertices. The limits (needle, size of a panel) are common practice, no source.

use super::bucket::Buckets;
use super::edges::{BoundaryLoop, EdgeTable, pinched};
use super::finding::{Finding, FindingKind, Severity, place};
use super::weld::exact;
use super::{Bounds, EMPTY_BOX, LengthUnit, TriangleMesh, grow, norm, sub};

/// Places and triangle numbers listed with each finding.
const SHOWN: usize = 5;
/// Parts and boundary loops listed, the largest first.
const LISTED: usize = 50;
/// Smallest height of a triangle over its longest side below which it is a needle.
const NEEDLE: f64 = 1e-6;
/// Sizes that a panel has, m.
const PANEL_SIZE: (f64, f64) = (0.03, 6.0);

/// A part of a mesh: triangles joined by edges.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Number, by the order of the first triangles.
    pub number: usize,
    /// Triangles.
    pub triangles: usize,
    /// Its first triangle.
    pub first_triangle: usize,
    /// Area \[m²\].
    pub area: f64,
    /// Lower and upper corner of its box \[m\].
    pub bounds: ([f64; 3], [f64; 3]),
}

/// What a mesh is like: its parts, boundaries, sizes and what is wrong with it.
#[derive(Debug, Clone, PartialEq)]
pub struct MeshHealth {
    /// Number of parts.
    pub component_count: usize,
    /// The parts of the largest area, largest first: at most 50.
    pub components: Vec<Component>,
    /// Number of open boundary loops.
    pub loop_count: usize,
    /// The longest of them, longest first: at most 50, each with its vertices.
    pub loops: Vec<BoundaryLoop>,
    /// Lengths of the edges: smallest, median, largest \[m\]. The median of an even number is the upper of
    /// the middle two.
    pub edge_length: (f64, f64, f64),
    /// Area of all triangles \[m²\].
    pub area: f64,
    /// Lower and upper corner of the box \[m\].
    pub bounds: ([f64; 3], [f64; 3]),
    /// Findings, the worst first.
    pub findings: Vec<Finding>,
}

impl MeshHealth {
    /// Examines a mesh whose coordinates were read as `unit` (metres for one made in memory): the unit
    /// only serves to say how large the mesh would be in another.
    ///
    /// Time and memory grow in proportion to the triangles.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::mesh::{LengthUnit, MeshHealth, TriangleMesh};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // A square of 100 mm from two triangles: one part, one open loop of 400 mm, nothing to find.
    /// let corners = vec![[0.0, 0.0, 0.0], [0.1, 0.0, 0.0], [0.1, 0.1, 0.0], [0.0, 0.1, 0.0]];
    /// let square = TriangleMesh::new(corners.clone(), vec![[0, 1, 2], [0, 2, 3]])?;
    /// let health = MeshHealth::of(&square, LengthUnit::M);
    /// assert_eq!((health.component_count, health.loop_count, health.findings.len()), (1, 1, 0));
    /// assert!((health.area - 0.01).abs() < 1e-15 && (health.loops[0].length - 0.4).abs() < 1e-15);
    /// // The second triangle the other way round: its neighbour faces the wrong side.
    /// let flipped = TriangleMesh::new(corners, vec![[0, 1, 2], [0, 3, 2]])?;
    /// assert_eq!(MeshHealth::of(&flipped, LengthUnit::M).findings.len(), 1);
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn of(mesh: &TriangleMesh, unit: LengthUnit) -> Self {
        let edges = EdgeTable::new(mesh, SHOWN);
        let loops = edges.loops(mesh);
        let all = components(mesh, &edges);
        let mut findings = Vec::new();
        parts(&all, &loops, &mut findings);
        holes(&loops, &mut findings);
        shared_edges(mesh, &edges, &mut findings);
        triangles(mesh, &mut findings);
        vertices(mesh, &mut findings);
        let bounds = mesh.bounds();
        size(bounds, unit, &mut findings);
        // The order of equal severities stays.
        findings.sort_by_key(|f| core::cmp::Reverse(f.severity));
        Self {
            component_count: all.len(),
            components: largest(all, |c| c.area),
            loop_count: loops.len(),
            loops: largest(loops, |l| l.length),
            edge_length: spread(edges.lengths),
            area: mesh.area(),
            bounds,
            findings,
        }
    }

    /// Severity of the worst finding; `None` where nothing was found.
    #[must_use]
    pub fn worst(&self) -> Option<Severity> {
        self.findings.first().map(|f| f.severity)
    }

    /// The findings of a kind.
    pub fn of_kind(&self, kind: FindingKind) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(move |f| f.kind == kind)
    }
}

/// The first `LISTED` by size, largest first; equals keep their order.
fn largest<T>(mut items: Vec<T>, of: impl Fn(&T) -> f64) -> Vec<T> {
    items.sort_by(|a, b| of(b).total_cmp(&of(a)));
    items.truncate(LISTED);
    items
}

fn spread(mut lengths: Vec<f64>) -> (f64, f64, f64) {
    if lengths.is_empty() {
        return (0.0, 0.0, 0.0);
    }
    let middle = lengths.len() / 2;
    let (below, median, above) = lengths.select_nth_unstable_by(middle, f64::total_cmp);
    let low = below.iter().copied().fold(*median, f64::min);
    let high = above.iter().copied().fold(*median, f64::max);
    (low, *median, high)
}

fn components(mesh: &TriangleMesh, edges: &EdgeTable) -> Vec<Component> {
    let mut out: Vec<Component> = (0..edges.components)
        .map(|number| Component { number, triangles: 0, first_triangle: 0, area: 0.0, bounds: EMPTY_BOX })
        .collect();
    for (t, c) in edges.component.iter().enumerate() {
        let part = &mut out[*c as usize];
        if part.triangles == 0 {
            part.first_triangle = t;
        }
        part.triangles += 1;
        part.area += norm(mesh.area_vector(t));
        for p in mesh.corners(t) {
            grow(&mut part.bounds, p);
        }
    }
    out
}

fn middle(bounds: Bounds) -> [f64; 3] {
    core::array::from_fn(|k| 0.5 * (bounds.0[k] + bounds.1[k]))
}

fn parts(all: &[Component], loops: &[BoundaryLoop], findings: &mut Vec<Finding>) {
    if all.len() > 1 {
        let total: f64 = all.iter().map(|c| c.area).sum();
        let first = largest(all.to_vec(), |c| c.area);
        let share = if total > 0.0 { 100.0 * first[0].area / total } else { 0.0 };
        let text = format!(
            "{} parts that share no edge; the largest has {} triangles and {share:.1} % of the area",
            all.len(),
            first[0].triangles
        );
        let shown: Vec<&Component> = first.iter().take(SHOWN).collect();
        findings.push(Finding {
            kind: FindingKind::SeveralParts,
            severity: Severity::Warns,
            count: all.len(),
            triangles: shown.iter().map(|c| c.first_triangle).collect(),
            places: shown.iter().map(|c| middle(c.bounds)).collect(),
            text,
        });
    }
    let mut open = vec![false; all.len()];
    for l in loops {
        open[l.component] = true;
    }
    let closed: Vec<&Component> = all.iter().filter(|c| !open[c.number] && c.area > 0.0).collect();
    if !closed.is_empty() {
        findings.push(Finding {
            kind: FindingKind::ClosedBody,
            severity: Severity::Warns,
            count: closed.len(),
            triangles: closed.iter().take(SHOWN).map(|c| c.first_triangle).collect(),
            places: closed.iter().take(SHOWN).map(|c| middle(c.bounds)).collect(),
            text: format!(
                "{} closed part(s) without an open edge: bodies, not sheets; only the upper side counts",
                closed.len()
            ),
        });
    }
}

fn holes(loops: &[BoundaryLoop], findings: &mut Vec<Finding>) {
    let mut inner: Vec<&BoundaryLoop> = loops.iter().filter(|l| !l.outer && l.closed).collect();
    if !inner.is_empty() {
        inner.sort_by(|a, b| b.length.total_cmp(&a.length));
        let l = inner[0];
        let text = format!(
            "{} hole(s); the longest is {:.2} mm round and {:.2} mm wide",
            inner.len(),
            l.length * 1e3,
            l.size() * 1e3
        );
        findings.push(Finding {
            kind: FindingKind::Holes,
            severity: Severity::Note,
            count: inner.len(),
            triangles: Vec::new(),
            places: inner.iter().take(SHOWN).map(|l| l.centre()).collect(),
            text,
        });
    }
    let torn: Vec<&BoundaryLoop> = loops.iter().filter(|l| !l.closed).collect();
    if !torn.is_empty() {
        findings.push(Finding {
            kind: FindingKind::OpenChain,
            severity: Severity::Warns,
            count: torn.len(),
            triangles: Vec::new(),
            places: torn.iter().take(SHOWN).map(|l| l.centre()).collect(),
            text: format!("{} boundary line(s) that do not close", torn.len()),
        });
    }
}

fn shared_edges(mesh: &TriangleMesh, edges: &EdgeTable, findings: &mut Vec<Finding>) {
    type Listed = (usize, Vec<(u32, u32, Vec<usize>)>);
    let mut add = |list: &Listed, kind, text: &str| {
        if list.0 == 0 {
            return;
        }
        let place = |e: &(u32, u32, Vec<usize>)| {
            let (a, b) = (mesh.vertices()[e.0 as usize], mesh.vertices()[e.1 as usize]);
            core::array::from_fn(|k| 0.5 * (a[k] + b[k]))
        };
        let mut triangles: Vec<usize> = list.1.iter().flat_map(|e| e.2.iter().copied()).collect();
        triangles.truncate(2 * SHOWN);
        findings.push(Finding {
            kind,
            severity: Severity::Warns,
            count: list.0,
            triangles,
            places: list.1.iter().map(place).collect(),
            text: format!("{} {text}", list.0),
        });
    };
    add(&edges.crowded, FindingKind::CrowdedEdges, "edge(s) shared by more than two triangles");
    let flipped = "edge(s) whose two triangles run opposite ways: one of them faces the wrong side";
    add(&edges.flipped, FindingKind::FlippedNeighbours, flipped);
}

fn centre(mesh: &TriangleMesh, t: usize) -> [f64; 3] {
    let [a, b, c] = mesh.corners(t);
    core::array::from_fn(|k| (a[k] + b[k] + c[k]) / 3.0)
}

/// Whether a triangle is a needle or has no area: its smallest height over its longest side.
fn degenerate(mesh: &TriangleMesh, t: usize) -> bool {
    let [a, b, c] = mesh.corners(t);
    let longest = norm(sub(b, a)).max(norm(sub(c, b))).max(norm(sub(a, c)));
    pinched(mesh.triangles()[t]) || 2.0 * norm(mesh.area_vector(t)) <= NEEDLE * longest * longest
}

fn triangles(mesh: &TriangleMesh, findings: &mut Vec<Finding>) {
    let add = |findings: &mut Vec<Finding>, kind, severity, (count, first): (usize, Vec<usize>), text: String| {
        findings.push(Finding {
            kind,
            severity,
            count,
            places: first.iter().map(|t| centre(mesh, *t)).collect(),
            triangles: first,
            text,
        });
    };
    let count = mesh.triangles().len();
    let flat = first_few((0..count).filter(|t| degenerate(mesh, *t)));
    if flat.0 > 0 {
        let severity = match flat.0 {
            n if n == count => Severity::Stops,
            n if n * 100 > count => Severity::Warns,
            _ => Severity::Note,
        };
        let text =
            format!("{} triangle(s) of {count} without area or thinner than a millionth of their length", flat.0);
        add(findings, FindingKind::DegenerateTriangles, severity, flat, text);
    }
    let sorted = |t: [u32; 3]| {
        let mut t = t;
        t.sort_unstable();
        t
    };
    #[allow(clippy::cast_possible_truncation)] // bounded by MAX_TRIANGLES
    let keys = mesh.triangles().iter().enumerate().map(|(i, t)| {
        let [low, mid, high] = sorted(*t);
        (low, (mid, high, i as u32))
    });
    let mut by_lowest: Buckets<(u32, u32, u32)> = Buckets::new(mesh.vertices().len(), keys);
    let mut repeats = Vec::new();
    for v in 0..by_lowest.keys() {
        let here = by_lowest.of_mut(v);
        here.sort_unstable();
        for same in here.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            // A pinched triangle is listed above; its copies add nothing.
            if !pinched(mesh.triangles()[same[0].2 as usize]) {
                repeats.extend(same[1..].iter().map(|s| s.2 as usize));
            }
        }
    }
    if !repeats.is_empty() {
        repeats.sort_unstable();
        let text = format!("{} triangle(s) that repeat the vertices of an earlier one", repeats.len());
        add(findings, FindingKind::DuplicateTriangles, Severity::Note, first_few(repeats.into_iter()), text);
    }
}

fn first_few<T>(all: impl Iterator<Item = T>) -> (usize, Vec<T>) {
    let (mut count, mut first) = (0, Vec::new());
    for t in all {
        if count < SHOWN {
            first.push(t);
        }
        count += 1;
    }
    (count, first)
}

fn vertices(mesh: &TriangleMesh, findings: &mut Vec<Finding>) {
    let mut used = vec![false; mesh.vertices().len()];
    for v in mesh.triangles().iter().flatten() {
        used[*v as usize] = true;
    }
    let mut add = |kind, severity, (count, first): (usize, Vec<usize>), text: String| {
        if count > 0 {
            findings.push(Finding {
                kind,
                severity,
                count,
                triangles: Vec::new(),
                places: first.iter().map(|v| mesh.vertices()[*v]).collect(),
                text: format!("{count} {text}"),
            });
        }
    };
    let unused = first_few((0..used.len()).filter(|v| !used[*v]));
    add(FindingKind::UnusedVertices, Severity::Note, unused, "vertex or vertices that no triangle uses".into());
    let (map, kept, _) = exact(mesh.vertices());
    let mut seen = vec![false; kept.len()];
    let repeated = first_few((0..map.len()).filter(|v| core::mem::replace(&mut seen[map[*v] as usize], true)));
    let text = "vertex or vertices in the same place as an earlier one: edges are open there until welded";
    add(FindingKind::DuplicateVertices, Severity::Warns, repeated, text.into());
}

fn size(bounds: Bounds, unit: LengthUnit, findings: &mut Vec<Finding>) {
    let longest = (0..3).map(|k| bounds.1[k] - bounds.0[k]).fold(0.0, f64::max);
    if longest >= PANEL_SIZE.0 && longest <= PANEL_SIZE.1 {
        return;
    }
    let number = unit.of_metres(longest);
    let others: Vec<String> = LengthUnit::ALL
        .into_iter()
        .filter(|u| *u != unit)
        .map(|u| format!("{:.4} mm if it were {u}", u.metres(number) * 1e3))
        .collect();
    let text = format!(
        "the longest side of the box is {:.4} mm, read as {unit}; a panel has {} to {} mm: is the unit right? It would be {}",
        longest * 1e3,
        PANEL_SIZE.0 * 1e3,
        PANEL_SIZE.1 * 1e3,
        others.join(", ")
    );
    let severity = if longest > 0.0 { Severity::Warns } else { Severity::Stops };
    let places = vec![place_of(bounds)];
    findings.push(Finding { kind: FindingKind::Size, severity, count: 1, triangles: Vec::new(), places, text });
}

fn place_of(bounds: Bounds) -> [f64; 3] {
    middle(bounds)
}

impl core::fmt::Display for MeshHealth {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let mm = |x: f64| x * 1e3;
        writeln!(
            f,
            "box from {} to {} mm, area {:.0} mm²; edges {:.3} / {:.3} / {:.3} mm (least, median, most)",
            place(self.bounds.0),
            place(self.bounds.1),
            self.area * 1e6,
            mm(self.edge_length.0),
            mm(self.edge_length.1),
            mm(self.edge_length.2)
        )?;
        writeln!(f, "{} part(s), {} open boundary loop(s)", self.component_count, self.loop_count)?;
        for finding in &self.findings {
            writeln!(f, "{finding}")?;
        }
        Ok(())
    }
}
