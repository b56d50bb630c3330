//! Edges of a mesh: which triangles share them, the parts they join, the loops of open ones.

use super::bucket::Buckets;
use super::{Bounds, EMPTY_BOX, TriangleMesh, cross, grow, norm, sub};

/// A triangle's side as seen from its lower vertex: the higher vertex, and the triangle's number
/// doubled, plus one where the triangle runs from the higher vertex to the lower.
type Side = (u32, u32);

/// An open boundary: sides of one triangle only, end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct BoundaryLoop {
    /// Vertex numbers in order; the last joins the first where `closed`.
    pub vertices: Vec<u32>,
    /// Whether it closes. One that does not ends where more than two triangles share an edge.
    pub closed: bool,
    /// Length along its sides \[m\].
    pub length: f64,
    /// Lower and upper corner of its box \[m\].
    pub bounds: ([f64; 3], [f64; 3]),
    /// Number of the part it bounds.
    pub component: usize,
    /// Whether it is the outer edge of its part (the loop that spans the largest area), not a hole.
    pub outer: bool,
    /// Area that it spans, as a vector in m².
    pub(super) span: [f64; 3],
}

impl BoundaryLoop {
    /// Middle of its box \[m\].
    #[must_use]
    pub fn centre(&self) -> [f64; 3] {
        core::array::from_fn(|k| 0.5 * (self.bounds.0[k] + self.bounds.1[k]))
    }

    /// Longest side of its box \[m\].
    #[must_use]
    pub fn size(&self) -> f64 {
        (0..3).map(|k| self.bounds.1[k] - self.bounds.0[k]).fold(0.0, f64::max)
    }
}

/// Marks a vertex that is not on the path being walked.
const AWAY: u32 = u32::MAX;

/// What the edges say.
#[derive(Debug, Default)]
pub(super) struct EdgeTable {
    /// Part of each triangle; parts are numbered in the order of their first triangles.
    pub component: Vec<u32>,
    pub components: usize,
    /// Open sides as (from, to, triangle), in the triangle's own direction.
    pub open: Vec<(u32, u32, u32)>,
    /// Edges with more than two triangles: count, and the first few with their triangles.
    pub crowded: (usize, Vec<(u32, u32, Vec<usize>)>),
    /// Edges whose two triangles run the same way along them.
    pub flipped: (usize, Vec<(u32, u32, Vec<usize>)>),
    /// Lengths of all edges, each once \[m\].
    pub lengths: Vec<f64>,
}

/// Whether two corners of a triangle are one vertex.
pub(super) fn pinched(t: [u32; 3]) -> bool {
    t[0] == t[1] || t[1] == t[2] || t[2] == t[0]
}

impl EdgeTable {
    /// Walks the sides of all triangles but the pinched ones; keeps the first `shown` of each finding.
    #[allow(clippy::cast_possible_truncation)] // triangles are bounded by MAX_TRIANGLES
    pub fn new(mesh: &TriangleMesh, shown: usize) -> Self {
        let sides = mesh.triangles().iter().enumerate().filter(|(_, t)| !pinched(**t)).flat_map(|(i, t)| {
            (0..3).map(move |k| {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                (a.min(b), (a.max(b), 2 * i as u32 + u32::from(a > b)))
            })
        });
        let mut by_vertex: Buckets<Side> = Buckets::new(mesh.vertices().len(), sides);
        let mut joined = Forest::new(mesh.triangles().len());
        let mut out = Self::default();
        for low in 0..by_vertex.keys() {
            let here = by_vertex.of_mut(low);
            here.sort_unstable();
            for edge in here.chunk_by(|a, b| a.0 == b.0) {
                let high = edge[0].0;
                let ends = [low as u32, high].map(|v| mesh.vertices()[v as usize]);
                out.lengths.push(norm(sub(ends[1], ends[0])));
                for pair in edge.windows(2) {
                    joined.unite(pair[0].1 / 2, pair[1].1 / 2);
                }
                let triangles = || edge.iter().take(4).map(|s| s.1 as usize / 2).collect();
                match *edge {
                    [(_, s)] => {
                        let (from, to) = if s % 2 == 0 { (low as u32, high) } else { (high, low as u32) };
                        out.open.push((from, to, s / 2));
                    }
                    [(_, s), (_, t)] => {
                        if s % 2 == t % 2 {
                            keep(&mut out.flipped, shown, || (low as u32, high, triangles()));
                        }
                    }
                    _ => keep(&mut out.crowded, shown, || (low as u32, high, triangles())),
                }
            }
        }
        (out.component, out.components) = joined.numbered();
        out
    }

    /// Loops of the open sides. Where several meet in one vertex they are parted there, so that no loop
    /// goes through a vertex twice.
    #[allow(clippy::cast_possible_truncation)] // sides are bounded by three times MAX_TRIANGLES
    pub fn loops(&self, mesh: &TriangleMesh) -> Vec<BoundaryLoop> {
        // Part by part, so that no loop crosses into another part where two touch in a vertex.
        let part = |side: &(u32, u32, u32)| self.component[side.2 as usize];
        let mut open = self.open.clone();
        open.sort_by_key(part);
        // Sides by vertex, either way round: the direction is lost where neighbours are flipped.
        let ends = open.iter().enumerate().flat_map(|(i, s)| [(s.0, i as u32), (s.1, i as u32)]);
        let by_vertex: Buckets<u32> = Buckets::new(mesh.vertices().len(), ends);
        let mut next = vec![0_u32; mesh.vertices().len()];
        let mut used = vec![false; open.len()];
        let mut on_path = vec![AWAY; mesh.vertices().len()];
        let mut out = Vec::new();
        for first in 0..open.len() {
            if used[first] {
                continue;
            }
            let component = part(&open[first]);
            let mut path = vec![open[first].0];
            on_path[path[0] as usize] = 0;
            let mut turned = false;
            while let Some(here) = path.last().copied() {
                let sides = by_vertex.of(here as usize);
                let at = &mut next[here as usize];
                while (*at as usize) < sides.len() && used[sides[*at as usize] as usize] {
                    *at += 1;
                }
                // Sides of the parts before are used up, so the next one is of this part or a later one.
                let side = sides.get(*at as usize).map(|s| *s as usize);
                let Some(side) = side.filter(|s| part(&open[*s]) == component) else {
                    // A line that does not close: the walk may have begun in its middle.
                    if turned {
                        break;
                    }
                    turned = true;
                    path.reverse();
                    for (i, v) in path.iter().enumerate() {
                        on_path[*v as usize] = i as u32;
                    }
                    continue;
                };
                used[side] = true;
                let (a, b, _) = open[side];
                let to = if a == here { b } else { a };
                if on_path[to as usize] == AWAY {
                    on_path[to as usize] = path.len() as u32;
                    path.push(to);
                } else {
                    let cut = on_path[to as usize] as usize;
                    out.push(boundary(mesh, path[cut..].to_vec(), true, component as usize));
                    for v in path.drain(cut + 1..) {
                        on_path[v as usize] = AWAY;
                    }
                }
            }
            for v in &path {
                on_path[*v as usize] = AWAY;
            }
            if path.len() > 1 {
                out.push(boundary(mesh, path, false, component as usize));
            }
        }
        mark_outer(&mut out, self.components);
        out
    }
}

fn keep<T>(list: &mut (usize, Vec<T>), shown: usize, item: impl FnOnce() -> T) {
    list.0 += 1;
    if list.1.len() < shown {
        list.1.push(item());
    }
}

fn boundary(mesh: &TriangleMesh, vertices: Vec<u32>, closed: bool, component: usize) -> BoundaryLoop {
    let at = |i: usize| mesh.vertices()[vertices[i % vertices.len()] as usize];
    let sides = if closed { vertices.len() } else { vertices.len() - 1 };
    let mut bounds: Bounds = EMPTY_BOX;
    let (mut length, mut span) = (0.0, [0.0; 3]);
    for i in 0..vertices.len() {
        grow(&mut bounds, at(i));
    }
    for i in 0..sides {
        length += norm(sub(at(i + 1), at(i)));
        // From the first vertex, not from the origin: no digits are lost far away from it.
        let part = cross(sub(at(i), at(0)), sub(at(i + 1), at(0)));
        span = core::array::from_fn(|k| span[k] + 0.5 * part[k]);
    }
    BoundaryLoop { vertices, closed, length, bounds, component, outer: false, span }
}

/// The loop of each part that spans the largest area; the first one of equals.
fn mark_outer(loops: &mut [BoundaryLoop], components: usize) {
    let mut best: Vec<Option<usize>> = vec![None; components];
    for (i, l) in loops.iter().enumerate() {
        let size = |j: usize| norm(loops[j].span);
        if best[l.component].is_none_or(|j| norm(l.span) > size(j)) {
            best[l.component] = Some(i);
        }
    }
    for i in best.into_iter().flatten() {
        loops[i].outer = true;
    }
}

/// Union of sets with the lower number as the name, so that the outcome does not depend on the order.
struct Forest(Vec<u32>);

impl Forest {
    #[allow(clippy::cast_possible_truncation)] // bounded by MAX_TRIANGLES
    fn new(count: usize) -> Self {
        Self((0..count as u32).collect())
    }

    fn root(&mut self, mut i: u32) -> u32 {
        while self.0[i as usize] != i {
            let up = self.0[self.0[i as usize] as usize];
            self.0[i as usize] = up;
            i = up;
        }
        i
    }

    fn unite(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b) as usize] = a.min(b);
    }

    #[allow(clippy::cast_possible_truncation)] // as in `new`
    fn numbered(mut self) -> (Vec<u32>, usize) {
        let mut count = 0;
        let mut number = vec![0; self.0.len()];
        for i in 0..self.0.len() as u32 {
            let root = self.root(i);
            number[i as usize] = if root == i {
                count += 1;
                count - 1
            } else {
                number[root as usize]
            };
        }
        (number, count as usize)
    }
}
