//! The ground of a path: clearance on a surface, borders of a section, and legs that stay in it.

use crate::panel::Surface;

/// Clearance that rounding may cost, m: a line along an edge lies on the border of the region itself.
pub(super) const SLACK: f64 = 1e-6;

/// Distance of the samples at which a line or leg is held against the clearance, m.
pub(super) const SAMPLE: f64 = 1e-3;

/// Sides of a section in plan, lower and upper x, lower and upper y; infinite where the panel's own
/// edge is the border.
pub(super) type Sides = [f64; 4];

/// No borders but the surface's own.
pub(super) const OPEN: Sides = [f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY];

/// A surface, what limits the pad centre on it, and how far the pad centre keeps from that.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ground<'a> {
    pub(super) surface: &'a Surface,
    pub(super) sides: Sides,
    pub(super) inset: f64,
}

pub(super) fn distance(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

pub(super) fn between(a: (f64, f64), b: (f64, f64), share: f64) -> (f64, f64) {
    (a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1))
}

impl Ground<'_> {
    /// Clearance, the section's own borders included, m.
    pub(super) fn clearance(&self, p: (f64, f64)) -> f64 {
        let s = &self.sides;
        let inside = (p.0 - s[0]).min(s[1] - p.0).min(p.1 - s[2]).min(s[3] - p.1);
        self.surface.clearance_at(p.0, p.1).min(inside)
    }

    /// Clearance left over at a place of the pad centre, m: not negative where it may stand.
    pub(super) fn margin(&self, p: (f64, f64)) -> f64 {
        self.clearance(p) - self.inset
    }

    /// The point of the surface, m.
    pub(super) fn point(&self, p: (f64, f64)) -> [f64; 3] {
        self.surface.heights().point_at(p.0, p.1)
    }

    /// Distance of two near points, straight through space, m.
    pub(super) fn length(&self, a: (f64, f64), b: (f64, f64)) -> f64 {
        let (p, q) = (self.point(a), self.point(b));
        (p[0] - q[0]).hypot(p[1] - q[1]).hypot(p[2] - q[2])
    }

    /// Slopes of the clearance, by differences over half a grid step.
    fn uphill(&self, p: (f64, f64)) -> (f64, f64) {
        let h = 0.25 * self.surface.heights().step();
        let d = |dx: f64, dy: f64| self.clearance((p.0 + dx, p.1 + dy));
        ((d(h, 0.0) - d(-h, 0.0)) / (2.0 * h), (d(0.0, h) - d(0.0, -h)) / (2.0 * h))
    }

    /// The place near `p`, at most `reach` \[m\] away, where the margin is nought; `p` itself where it is
    /// not negative.
    pub(super) fn pushed(&self, p: (f64, f64), reach: f64) -> Option<(f64, f64)> {
        let mut at = p;
        for _ in 0..24 {
            let margin = self.margin(at);
            if margin >= -0.5 * SLACK {
                return (distance(at, p) <= reach).then_some(at);
            }
            let g = self.uphill(at);
            let square = g.0 * g.0 + g.1 * g.1;
            if square < 1e-6 {
                return None;
            }
            let move_by = (-margin + 0.1 * SLACK).min(reach) / square.max(0.25);
            at = (at.0 + move_by * g.0, at.1 + move_by * g.1);
        }
        None
    }

    /// A leg from `a` to `b`, straight in plan but pushed off what it would touch by at most `reach`
    /// \[m\]; nothing where that cannot be done.
    pub(super) fn leg(&self, a: (f64, f64), b: (f64, f64), reach: f64) -> Option<Vec<(f64, f64)>> {
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // short by the caller's limit
        let pieces = ((distance(a, b) / SAMPLE).ceil().clamp(1.0, 100_000.0)) as usize;
        let mut out = Vec::with_capacity(pieces + 1);
        out.push(a);
        for i in 1..pieces {
            let p = self.pushed(between(a, b, i as f64 / pieces as f64), reach)?;
            // A push to the other side of an obstacle is no leg.
            if out.last().is_some_and(|q| distance(*q, p) > 6.0 * SAMPLE) {
                return None;
            }
            out.push(p);
        }
        if out.last().is_some_and(|q| distance(*q, b) > 6.0 * SAMPLE) {
            return None;
        }
        out.push(b);
        Some(out)
    }
}
