//! Where a tilted pad is pressed hardest, over the face and the orbit.
//!
//! On a circle of the face the compression above the heave is
//! f(α, ψ) = t·ρ − g(e r̂(α) + ρ(ψ)), ρ at radius s; its largest value is found on a grid of both
//! angles and polished by Newton steps. Inside the face it can only lie where a crown is parallel to
//! the plate.

use super::tilted_phase::{SPOKES, Tilt, spokes};
use crate::equipment::Stack;
use crate::motion::Face;
use core::f64::consts::PI;

/// The hardest pressed point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hardest {
    /// Compression there above the heave, m.
    pub(super) lift: f64,
    /// Distance from the tool axis, m.
    pub(super) radius: f64,
    /// Distance from the pad centre, m.
    pub(super) place: f64,
}

impl Hardest {
    pub(super) fn find(face: &Face, tilt: &Tilt) -> Self {
        let rim = Circle { tilt, orbit: face.orbit(), radius: face.radius() };
        let mut best = rim.hardest();
        if face.hole() > 0.0 {
            let inner = Circle { radius: face.hole(), ..rim }.hardest();
            if inner.lift > best.lift {
                best = inner;
            }
        }
        match inside(face, tilt) {
            Some(point) if point.lift > best.lift => point,
            _ => best,
        }
    }
}

/// The point at which the panel is parallel to the plate, at the phase that presses it hardest;
/// `None` where that does not lie inside the face. It lies on a circle of the face then, at the top of another phase.
fn inside(face: &Face, tilt: &Tilt) -> Option<Hardest> {
    let ((k1, k2), (tx, ty)) = (tilt.curvature, tilt.slope);
    if !(k1 > 0.0 && k2 > 0.0) {
        return None;
    }
    let slope = tx.hypot(ty);
    let unit = if slope > 0.0 { (tx / slope, ty / slope) } else { (1.0, 0.0) };
    let e = face.orbit();
    let (x, y) = (tx / k1, ty / k2);
    let s = (x + e * unit.0).hypot(y + e * unit.1);
    (s >= face.hole() && s <= face.radius()).then(|| Hardest {
        lift: 0.5 * (tx * x + ty * y) + e * slope,
        radius: x.hypot(y),
        place: s,
    })
}

/// A circle of the face.
#[derive(Clone, Copy)]
struct Circle<'a> {
    tilt: &'a Tilt,
    orbit: f64,
    radius: f64,
}

impl Circle<'_> {
    /// Compression above the heave for unit vectors of phase and azimuth.
    fn value(&self, (ca, sa): (f64, f64), (cp, sp): (f64, f64)) -> f64 {
        let ((k1, k2), (tx, ty)) = (self.tilt.curvature, self.tilt.slope);
        let (x, y) = (self.orbit * ca + self.radius * cp, self.orbit * sa + self.radius * sp);
        self.radius * (tx * cp + ty * sp) - 0.5 * (k1 * x * x + k2 * y * y)
    }

    /// Every hill of the grid that may hold the summit, polished.
    fn hardest(&self) -> Hardest {
        let mut grid = [[0.0_f64; SPOKES]; SPOKES];
        let mut top = (f64::NEG_INFINITY, 0, 0);
        for (i, row) in grid.iter_mut().enumerate() {
            for (j, v) in row.iter_mut().enumerate() {
                *v = self.value(spokes()[i], spokes()[j]);
                if *v > top.0 {
                    top = (*v, i, j);
                }
            }
        }
        let (mut best, mut angles) = self.climb(top.1, top.2);
        for i in 0..SPOKES {
            let (up, down) = ((i + 1) % SPOKES, (i + SPOKES - 1) % SPOKES);
            for j in 0..SPOKES {
                let (right, left) = ((j + 1) % SPOKES, (j + SPOKES - 1) % SPOKES);
                let v = grid[i][j];
                // Strict on one side: a plateau has no hill but the top itself.
                let hill = v > grid[down][j] && v > grid[i][left] && v >= grid[up][j] && v >= grid[i][right];
                let gain = v - 0.25 * (grid[down][j] + grid[up][j] + grid[i][left] + grid[i][right]);
                if hill && (i, j) != (top.1, top.2) && v + 2.0 * gain > best {
                    let (value, at) = self.climb(i, j);
                    if value > best {
                        (best, angles) = (value, at);
                    }
                }
            }
        }
        let (sa, ca) = angles.0.sin_cos();
        let (sp, cp) = angles.1.sin_cos();
        Hardest {
            lift: best,
            radius: (self.orbit * ca + self.radius * cp).hypot(self.orbit * sa + self.radius * sp),
            place: self.radius,
        }
    }

    /// Newton steps uphill from a grid point; the Hessian is shifted until it is negative definite.
    fn climb(&self, i: usize, j: usize) -> (f64, (f64, f64)) {
        let step = 2.0 * PI / SPOKES as f64;
        let (mut alpha, mut psi) = (step * i as f64, step * j as f64);
        let ((k1, k2), (tx, ty)) = (self.tilt.curvature, self.tilt.slope);
        let (e, r) = (self.orbit, self.radius);
        let mut best = self.value(spokes()[i], spokes()[j]);
        let mut shift = 0.0;
        for _ in 0..30 {
            let ((sa, ca), (sp, cp)) = (alpha.sin_cos(), psi.sin_cos());
            let (x, y) = (e * ca + r * cp, e * sa + r * sp);
            let ga = e * (k1 * x * sa - k2 * y * ca);
            let gp = r * (ty * cp - tx * sp + k1 * x * sp - k2 * y * cp);
            let haa = e * (k1 * (x * ca - e * sa * sa) + k2 * (y * sa - e * ca * ca));
            let hap = -e * r * (k1 * sp * sa + k2 * cp * ca);
            let hpp = r * (k1 * (x * cp - r * sp * sp) + k2 * (y * sp - r * cp * cp) - tx * cp - ty * sp);
            let highest = 0.5 * (haa + hpp) + (0.5 * (haa - hpp)).hypot(hap);
            let size = haa.abs() + hpp.abs() + hap.abs();
            let (a, d) = {
                let s = (highest + 1e-9 * size).max(0.0) + shift;
                (haa - s, hpp - s)
            };
            let determinant = a * d - hap * hap;
            if determinant <= 0.0 {
                break;
            }
            let (da, dp) = ((hap * gp - d * ga) / determinant, (hap * ga - a * gp) / determinant);
            let ((sa, ca), (sp, cp)) = ((alpha + da).sin_cos(), (psi + dp).sin_cos());
            let value = self.value((ca, sa), (cp, sp));
            if value >= best {
                let gain = value - best;
                (best, alpha, psi, shift) = (value, alpha + da, psi + dp, 0.0);
                if gain <= 1e-15 * best.abs() {
                    break;
                }
            } else {
                shift = 4.0 * shift + 0.1 * size;
            }
        }
        (best, (alpha, psi))
    }
}

/// Largest pressure over the face and the orbit, the plate's backing counted.
pub(super) fn peak_pressure(face: &Face, stack: &Stack, tilt: &Tilt, hardest: &Hardest) -> f64 {
    if !face.overhangs() {
        return stack.pressure(tilt.heave + hardest.lift).0;
    }
    // Behind the plate the rim of the plate, the hole or a place inside; beyond it backing falls
    // while the compression may still rise.
    let circle = |radius: f64| Circle { tilt, orbit: face.orbit(), radius };
    let at = |radius: f64| face.backing(radius) * stack.pressure(tilt.heave + circle(radius).hardest().lift).0;
    let mut best = at(face.plate());
    if face.hole() > 0.0 {
        best = best.max(at(face.hole()));
    }
    if let Some(point) = inside(face, tilt) {
        best = best.max(face.backing(point.place) * stack.pressure(tilt.heave + point.lift).0);
    }
    let width = face.radius() - face.plate();
    let parts = 8;
    let place = |i: usize| face.plate() + width * i as f64 / parts as f64;
    let mut top = 0;
    for i in 1..=parts {
        let p = at(place(i));
        if p > best {
            (best, top) = (p, i);
        }
    }
    if top == 0 {
        return best;
    }
    let (mut a, mut b) = (place(top - 1), place((top + 1).min(parts)));
    for _ in 0..24 {
        let (c, d) = (a + 0.381_966 * (b - a), b - 0.381_966 * (b - a));
        let (pc, pd) = (at(c), at(d));
        best = best.max(pc).max(pd);
        if pc > pd {
            b = d;
        } else {
            a = c;
        }
    }
    best
}
