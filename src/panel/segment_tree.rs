//! Segments in plan under a tree of boxes: which one is nearest, and which ones a row of nodes crosses.
//!
//! The segments come in the order of their line, so that neighbours in the list are neighbours in plan
//! and halving the list makes boxes that hardly overlap. The slow obvious methods, a loop over all
//! segments, are [`Outline::nearest`](super::Outline::nearest) and
//! [`Outline::contains`](super::Outline::contains); both give the same bits.

use super::HeightMap;
use crate::math::reduce::map_indexed;

/// A segment, from and to.
pub(super) type Segment = ((f64, f64), (f64, f64));

/// Segments under one box at the bottom of the tree.
const LEAF: usize = 4;

/// Segments and the boxes round each half, quarter and so on of their list.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct SegmentTree {
    segments: Vec<Segment>,
    /// Box of node 1 (all), of its halves 2 and 3, and so on: low x, low y, high x, high y.
    boxes: Vec<[f64; 4]>,
    /// First node of the bottom level.
    bottom: usize,
}

/// Nearest point of a segment and its squared distance.
pub(super) fn foot(s: &Segment, x: f64, y: f64) -> ((f64, f64), f64) {
    let (a, b) = *s;
    let (ux, uy) = (b.0 - a.0, b.1 - a.1);
    let square = ux * ux + uy * uy;
    let t = if square > 0.0 { (((x - a.0) * ux + (y - a.1) * uy) / square).clamp(0.0, 1.0) } else { 0.0 };
    let p = (a.0 + t * ux, a.1 + t * uy);
    (p, (x - p.0) * (x - p.0) + (y - p.1) * (y - p.1))
}

/// Where a segment crosses the line of a given y, counted once at shared corners.
pub(super) fn crossing(s: &Segment, y: f64) -> Option<f64> {
    let (a, b) = *s;
    ((a.1 > y) != (b.1 > y)).then(|| a.0 + (y - a.1) / (b.1 - a.1) * (b.0 - a.0))
}

fn apart(b: &[f64; 4], x: f64, y: f64) -> f64 {
    let dx = (b[0] - x).max(x - b[2]).max(0.0);
    let dy = (b[1] - y).max(y - b[3]).max(0.0);
    dx * dx + dy * dy
}

impl SegmentTree {
    pub(super) fn new(segments: Vec<Segment>) -> Self {
        let leaves = segments.len().div_ceil(LEAF).max(1).next_power_of_two();
        let none = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        let mut boxes = vec![none; 2 * leaves];
        for (i, (a, b)) in segments.iter().enumerate() {
            let e = &mut boxes[leaves + i / LEAF];
            *e = [e[0].min(a.0).min(b.0), e[1].min(a.1).min(b.1), e[2].max(a.0).max(b.0), e[3].max(a.1).max(b.1)];
        }
        for n in (1..leaves).rev() {
            let (l, r) = (boxes[2 * n], boxes[2 * n + 1]);
            boxes[n] = [l[0].min(r[0]), l[1].min(r[1]), l[2].max(r[2]), l[3].max(r[3])];
        }
        Self { segments, boxes, bottom: leaves }
    }

    fn leaf(&self, node: usize) -> core::ops::Range<usize> {
        let at = (node - self.bottom) * LEAF;
        at.min(self.segments.len())..(at + LEAF).min(self.segments.len())
    }

    /// Nearest point, its distance and the number of its segment; `hint` is a segment that is likely to
    /// be near. Of segments at one distance, the first in the list. `None` without segments.
    pub(super) fn nearest(&self, x: f64, y: f64, hint: usize) -> Option<((f64, f64), f64, usize)> {
        let first = hint.min(self.segments.len().checked_sub(1)?);
        let (mut point, mut best) = foot(&self.segments[first], x, y);
        let mut at = first;
        // One node and its sibling a level wait at most: 64 levels are more than an address has bits.
        let mut stack = [0_usize; 64];
        stack[0] = 1;
        let mut depth = 1;
        while depth > 0 {
            depth -= 1;
            let node = stack[depth];
            // A box that is farther by more than rounding holds nothing nearer.
            let limit = best * (1.0 + 1e-12);
            if apart(&self.boxes[node], x, y) > limit {
                continue;
            }
            if node >= self.bottom {
                for i in self.leaf(node) {
                    let (p, d) = foot(&self.segments[i], x, y);
                    if d < best || (d <= best && i < at) {
                        (point, best, at) = (p, d, i);
                    }
                }
                continue;
            }
            let (l, r) = (2 * node, 2 * node + 1);
            let (dl, dr) = (apart(&self.boxes[l], x, y), apart(&self.boxes[r], x, y));
            let (far, df, near, dn) = if dl <= dr { (r, dr, l, dl) } else { (l, dl, r, dr) };
            for (n, d) in [(far, df), (near, dn)] {
                if d <= limit {
                    stack[depth] = n;
                    depth += 1;
                }
            }
        }
        Some((point, (x - point.0).hypot(y - point.1), at))
    }

    /// Where the segments cross the line of a given y, in the order of x.
    pub(super) fn crossings(&self, y: f64) -> Vec<f64> {
        let mut out = Vec::new();
        let mut stack = vec![1_usize];
        while let Some(node) = stack.pop() {
            let b = &self.boxes[node];
            if b[1] > y || b[3] < y {
                continue;
            }
            if node >= self.bottom {
                out.extend(self.segments[self.leaf(node)].iter().filter_map(|s| crossing(s, y)));
            } else {
                stack.extend([2 * node, 2 * node + 1]);
            }
        }
        out.sort_unstable_by(f64::total_cmp);
        out
    }

    /// Whether a point is inside (even-odd rule).
    pub(super) fn contains(&self, x: f64, y: f64) -> bool {
        self.crossings(y).iter().filter(|c| x < **c).count() % 2 == 1
    }

    /// Distance of every node of a height map to the nearest segment, measured through space, m;
    /// infinite without segments. With `signed`, negative outside (even-odd rule).
    pub(super) fn distances(&self, map: &HeightMap, signed: bool) -> Vec<f64> {
        let (nx, ny) = map.count();
        map_indexed(ny, |j| {
            let crossings = if signed { self.crossings(map.node(0, j).1) } else { Vec::new() };
            let mut passed = 0;
            let mut hint = 0;
            (0..nx)
                .map(|i| {
                    let (x, y) = map.node(i, j);
                    let Some((p, plan, at)) = self.nearest(x, y, hint) else { return f64::INFINITY };
                    hint = at;
                    let d = plan.hypot(map.heights()[j * nx + i] - map.height_at(p.0, p.1));
                    while crossings.get(passed).is_some_and(|c| *c <= x) {
                        passed += 1;
                    }
                    if signed && (crossings.len() - passed) % 2 == 0 { -d } else { d }
                })
                .collect::<Vec<f64>>()
        })
        .concat()
    }
}
