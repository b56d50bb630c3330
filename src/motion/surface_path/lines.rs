//! Pass lines over a surface: evenly fitted level sets of the length across them.
//!
//! In the plan frame turned by the pattern's angle (u along the lines, v across), every section
//! u = const is measured along the surface, over the whole band of v that the pad centre uses. Line k
//! takes the same share of that length in every section, so that the lines spread where the surface is
//! long and close up where it is short, and no two neighbours are further apart than the spacing in any
//! section. The distance of two lines on the surface is never more than that along the section.
//!
//! Lines are cut where the pad centre would come too near an edge, tape or border. The first and the
//! last line are also moved inward by up to three quarters of the spacing there, so that they follow a
//! border that is not quite straight in plan; the others are cut only.

use super::PathError;
use super::ground::{SAMPLE, SLACK, between, distance};
use super::offsets::{LastLine, line_offsets};
use crate::math::reduce::map_indexed;
use crate::panel::HeightMap;

/// A stretch of one pass line on which the pad centre may run.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stretch {
    /// Ends along u.
    pub(super) range: (f64, f64),
    /// Plan points, about a millimetre apart, along rising u.
    pub(super) points: Vec<(f64, f64)>,
}

/// A plan frame turned by an angle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Turned {
    cos: f64,
    sin: f64,
}

impl Turned {
    pub(super) fn by(angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        // Right angles are meant exactly: 6e-17 of a lean would put an edge line off the edge.
        let exact = |x: f64| if x.abs() < 1e-12 { 0.0 } else { x };
        Self { cos: exact(cos), sin: exact(sin) }
    }

    pub(super) fn plan(self, u: f64, v: f64) -> (f64, f64) {
        (self.cos * u - self.sin * v, self.sin * u + self.cos * v)
    }

    pub(super) fn turned(self, p: (f64, f64)) -> (f64, f64) {
        (self.cos * p.0 + self.sin * p.1, self.cos * p.1 - self.sin * p.0)
    }
}

/// Lines across a band, each by its v at evenly spaced u.
#[derive(Debug, Clone)]
pub(super) struct LineSet {
    pub(super) frame: Turned,
    from: f64,
    step: f64,
    band: (f64, f64),
    across: Vec<Vec<f64>>,
    /// Largest distance of neighbouring lines along a section, m.
    pub(super) spacing: f64,
}

/// Lengths along one section, from the low side of the band, at evenly spaced v.
fn measured(heights: &HeightMap, frame: Turned, u: f64, band: (f64, f64), pieces: usize) -> Vec<f64> {
    let step = (band.1 - band.0) / pieces as f64;
    let z = |i: usize| {
        let p = frame.plan(u, band.0 + i as f64 * step);
        heights.height_at(p.0, p.1)
    };
    let mut out = Vec::with_capacity(pieces + 1);
    let (mut sum, mut last) = (0.0, z(0));
    out.push(0.0);
    for i in 1..=pieces {
        let next = z(i);
        sum += step.hypot(next - last);
        last = next;
        out.push(sum);
    }
    out
}

impl LineSet {
    /// Lines over the region inside `loops` (plan, m) at an angle \[rad\].
    pub(super) fn fit(
        heights: &HeightMap,
        loops: &[Vec<(f64, f64)>],
        angle: f64,
        spacing: f64,
        last: LastLine,
    ) -> Result<Self, PathError> {
        let frame = Turned::by(angle);
        let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
        for p in loops.iter().flatten() {
            let t = frame.turned(*p);
            low = (low.0.min(t.0), low.1.min(t.1));
            high = (high.0.max(t.0), high.1.max(t.1));
        }
        let step = heights.step();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // bounded by the grid's own size
        let pieces = |length: f64| ((length / step).ceil().clamp(1.0, 1e7)) as usize;
        let band = (low.1, high.1);
        let (columns, rows) = (pieces(high.0 - low.0), pieces(band.1 - band.0));
        let section = |i: usize| low.0 + (high.0 - low.0) * i as f64 / columns as f64;
        let lengths = map_indexed(columns + 1, |i| {
            measured(heights, frame, section(i), band, rows).last().copied().unwrap_or(0.0)
        });
        let longest = lengths.iter().copied().fold(0.0, f64::max);
        let offsets = line_offsets(longest, 0.0, spacing, last)?;
        let sections = map_indexed(columns + 1, |i| {
            let along = measured(heights, frame, section(i), band, rows);
            let whole = along[rows];
            let mut at = 0;
            offsets
                .iter()
                .map(|o| {
                    let target = if longest > 0.0 { o / longest * whole } else { 0.0 };
                    while at + 1 < rows && along[at + 1] < target {
                        at += 1;
                    }
                    let piece = along[at + 1] - along[at];
                    let share = if piece > 0.0 { ((target - along[at]) / piece).clamp(0.0, 1.0) } else { 0.0 };
                    // The last line is meant to lie on the border, not a rounding beside it.
                    if target >= whole {
                        band.1
                    } else {
                        band.0 + (band.1 - band.0) * (at as f64 + share) / rows as f64
                    }
                })
                .collect::<Vec<f64>>()
        });
        let across = (0..offsets.len()).map(|k| sections.iter().map(|s| s[k]).collect()).collect();
        let gap = offsets.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
        let step = ((high.0 - low.0) / columns as f64).max(f64::MIN_POSITIVE);
        Ok(Self { frame, from: low.0, step, band, across, spacing: if gap > 0.0 { gap } else { spacing } })
    }

    /// Number of lines.
    pub(super) fn len(&self) -> usize {
        self.across.len()
    }

    /// Length of the band along the lines, in plan, m.
    pub(super) fn run(&self) -> f64 {
        self.step * (self.across.first().map_or(1, Vec::len) - 1) as f64
    }

    fn across_at(&self, line: usize, u: f64) -> f64 {
        let v = &self.across[line];
        let place = ((u - self.from) / self.step).clamp(0.0, (v.len() - 1) as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the list
        let i = (place as usize).min(v.len().saturating_sub(2));
        v[i] + (place - i as f64) * (v[(i + 1).min(v.len() - 1)] - v[i])
    }

    /// The line's place at u where `margin` is not negative there; outer lines look further in.
    fn place(&self, line: usize, u: f64, margin: &impl Fn((f64, f64)) -> f64) -> Option<(f64, f64)> {
        let v = self.across_at(line, u);
        let left = |v: f64| margin(self.frame.plan(u, v));
        let here = left(v);
        if here >= -SLACK {
            return Some(self.frame.plan(u, v));
        }
        let last = self.len() - 1;
        let inward = match line {
            0 if last > 0 => 1.0,
            l if l == last && last > 0 && v > 0.5 * (self.band.0 + self.band.1) => -1.0,
            _ => return None,
        };
        let (mut moved, mut short) = (0.0, -here);
        let most = 0.75 * self.spacing;
        while moved < most {
            // A clearance cannot come back faster than the way along the surface, at most twice the plan's
            // where the surface rises by less than 60°.
            let (low, high) = (moved, (moved + SAMPLE.max(0.5 * short)).min(most));
            (moved, short) = (high, -left(v + inward * high));
            if short <= SLACK {
                let (mut out, mut into) = (low, high);
                for _ in 0..30 {
                    let middle = 0.5 * (out + into);
                    if left(v + inward * middle) >= -SLACK { into = middle } else { out = middle }
                }
                return Some(self.frame.plan(u, v + inward * into));
            }
        }
        None
    }

    /// Stretches of a line on which `margin` is not negative.
    pub(super) fn stretches(&self, line: usize, margin: impl Fn((f64, f64)) -> f64) -> Vec<Stretch> {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
        let pieces = ((self.run() / SAMPLE).ceil().clamp(1.0, 1e6)) as usize;
        let u = |i: usize| self.from + self.run() * i as f64 / pieces as f64;
        // Last place between `good` and `bad` (both u) where the line still fits.
        let end = |mut good: f64, mut bad: f64| {
            let mut found = None;
            for _ in 0..40 {
                let middle = 0.5 * (good + bad);
                match self.place(line, middle, &margin) {
                    Some(p) => (good, found) = (middle, Some(p)),
                    None => bad = middle,
                }
            }
            (good, found)
        };
        let mut out: Vec<Stretch> = Vec::new();
        let mut open: Option<Stretch> = None;
        for i in 0..=pieces {
            match (self.place(line, u(i), &margin), &mut open) {
                (Some(p), Some(s)) if s.points.last().is_some_and(|q| distance(*q, p) <= 6.0 * SAMPLE) => {
                    s.points.push(p);
                    s.range.1 = u(i);
                }
                (Some(p), None) => {
                    let mut s = Stretch { range: (u(i), u(i)), points: vec![p] };
                    if i > 0
                        && let (at, Some(q)) = end(u(i), u(i - 1))
                        && distance(p, q) <= 6.0 * SAMPLE
                    {
                        s.points.insert(0, q);
                        s.range.0 = at;
                    }
                    open = Some(s);
                }
                // An outer line that jumps inward is a new stretch.
                (Some(p), Some(_)) => {
                    out.extend(open.take());
                    open = Some(Stretch { range: (u(i), u(i)), points: vec![p] });
                }
                (None, Some(s)) => {
                    if let (at, Some(q)) = end(u(i - 1), u(i))
                        && s.points.last().is_some_and(|p| distance(*p, q) <= 6.0 * SAMPLE)
                    {
                        s.points.push(q);
                        s.range.1 = at;
                    }
                    out.extend(open.take());
                }
                (None, None) => {}
            }
        }
        out.extend(open);
        // A stretch shorter than a millimetre is a touch, not a pass.
        out.retain(|s| s.range.1 - s.range.0 >= SAMPLE);
        out
    }
}

/// Stretches that are worked one after the other: each continues its neighbour on the next line, and
/// neither of the two has another such neighbour there (the cells of a boustrophedon).
pub(super) fn cells(lines: Vec<Vec<Stretch>>) -> Vec<Vec<Stretch>> {
    let meets = |a: &Stretch, b: &Stretch| a.range.1.min(b.range.1) > a.range.0.max(b.range.0);
    // Cells still growing, by the stretch of the line before that ends them.
    let mut out: Vec<Vec<Stretch>> = Vec::new();
    let mut tips: Vec<usize> = Vec::new();
    let mut before: Vec<Stretch> = Vec::new();
    for line in lines {
        let mut new_tips = Vec::with_capacity(line.len());
        for s in &line {
            let from: Vec<usize> = (0..before.len()).filter(|i| meets(&before[*i], s)).collect();
            let alone = match from.as_slice() {
                [one] => line.iter().filter(|t| meets(&before[*one], t)).count() == 1,
                _ => false,
            };
            if alone {
                let cell = tips[from[0]];
                out[cell].push(s.clone());
                new_tips.push(cell);
            } else {
                out.push(vec![s.clone()]);
                new_tips.push(out.len() - 1);
            }
        }
        tips = new_tips;
        before = line;
    }
    out
}

/// Points of a plan line, none further apart than `most` \[m\].
pub(super) fn refined(points: &[(f64, f64)], most: f64) -> Vec<(f64, f64)> {
    let mut out = Vec::with_capacity(points.len());
    for w in points.windows(2) {
        out.push(w[0]);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // plan lengths are below 2 km
        let pieces = ((distance(w[0], w[1]) / most).ceil().clamp(1.0, 1e7)) as usize;
        for i in 1..pieces {
            out.push(between(w[0], w[1], i as f64 / pieces as f64));
        }
    }
    out.extend(points.last());
    out
}
