//! Heights and exact derivatives of the analytic panels, all in SI, origin in the middle of the panel.
//!
//! Arcs go on straight beyond 80° of slope, so that the nodes past a panel's edge hold numbers.

use core::f64::consts::PI;

/// Sine of the slope at which arcs end: 80°.
const LAST_SINE: f64 = 0.984_807_753_012_208;

/// Height and derivatives at a point: z, (z_x, z_y), (z_xx, z_xy, z_yy).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Jet {
    pub(super) z: f64,
    pub(super) slope: (f64, f64),
    pub(super) second: (f64, f64, f64),
}

/// Value and two derivatives of a profile.
pub(super) type Profile = (f64, f64, f64);

/// The forms; lengths in m, curvatures in 1/m, angles in rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Form {
    Flat,
    Sphere { k: f64 },
    Cylinder { k: f64, axis: f64 },
    Paraboloid { first: f64, second: f64, axis: f64 },
    Torus { tube: f64, ring: f64, side: f64 },
    Door { along: f64, across: f64, edge: f64, length: f64, edge_y: f64 },
    Line { radius: f64, half_turn: f64, offset: f64, direction: f64, along: f64, across: f64 },
    Flare(Flare),
    Sine { amplitude: f64, wavelength: f64, axis: f64 },
}

/// A wheel arch: door, hollow and lip along the radius about the wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Flare {
    pub(super) wheel: f64,
    pub(super) centre: (f64, f64),
    pub(super) hollow: f64,
    pub(super) hollow_width: f64,
    pub(super) lip: f64,
    pub(super) lip_width: f64,
}

/// Circular arc of curvature `k`, z = 0 with slope 0 at s = 0.
pub(super) fn arc(k: f64, s: f64) -> Profile {
    let sine = k * s;
    if sine.abs() <= LAST_SINE {
        let c = (1.0 - sine * sine).sqrt();
        // -(1 - c)/k without the loss of digits.
        return (-k * s * s / (1.0 + c), -sine / c, -k / (c * c * c));
    }
    let c = (1.0 - LAST_SINE * LAST_SINE).sqrt();
    let end = (LAST_SINE / k).abs();
    let slope = -k.signum() * LAST_SINE / c;
    (-k * end * end / (1.0 + c) + slope * (s.abs() - end), slope * s.signum(), 0.0)
}

/// A profile along a direction.
fn along(axis: f64, x: f64, y: f64, f: impl Fn(f64) -> Profile) -> Jet {
    let (s, c) = axis.sin_cos();
    let (z, d, dd) = f(c * x + s * y);
    Jet { z, slope: (d * c, d * s), second: (dd * c * c, dd * c * s, dd * s * s) }
}

/// A profile along the distance from a point.
fn round(x: f64, y: f64, f: impl Fn(f64) -> Profile) -> Jet {
    let r = x.hypot(y);
    let (z, d, dd) = f(r);
    if r < 1e-12 {
        return Jet { z, slope: (0.0, 0.0), second: (dd, 0.0, dd) };
    }
    let (c, s) = (x / r, y / r);
    let ring = d / r;
    Jet {
        z,
        slope: (d * c, d * s),
        second: (dd * c * c + ring * s * s, (dd - ring) * c * s, dd * s * s + ring * c * c),
    }
}

fn sum(a: Jet, b: Jet) -> Jet {
    Jet {
        z: a.z + b.z,
        slope: (a.slope.0 + b.slope.0, a.slope.1 + b.slope.1),
        second: (a.second.0 + b.second.0, a.second.1 + b.second.1, a.second.2 + b.second.2),
    }
}

/// Bell of curvature: second derivative sin²(πt/w), with its two integrals.
fn bell(t: f64, w: f64) -> Profile {
    let a = 2.0 * PI / w;
    let (s, c) = (a * t).sin_cos();
    (t * t / 4.0 + (c - 1.0) / (2.0 * a * a), t / 2.0 - s / (2.0 * a), 0.5 * (1.0 - c))
}

impl Flare {
    /// Rise over the door at distance `r` from the wheel's centre.
    fn profile(&self, r: f64) -> Profile {
        // From the door inward: t counts from where the hollow begins.
        let t = self.wheel + self.hollow_width + self.lip_width - r;
        if t <= 0.0 {
            return (0.0, 0.0, 0.0);
        }
        let (h, hw, l, lw) = (self.hollow, self.hollow_width, self.lip, self.lip_width);
        let (z, d, dd) = if t <= hw {
            let b = bell(t, hw);
            (h * b.0, h * b.1, h * b.2)
        } else {
            let (b, u) = (bell(hw, hw), (t - hw).min(lw));
            let e = bell(u, lw);
            let (z, d, dd) = (h * b.0 + h * b.1 * u - l * e.0, h * b.1 - l * e.1, -l * e.2);
            // Past the lip, in the opening, the flare goes on straight.
            if t - hw > lw { (z + d * (t - hw - lw), d, 0.0) } else { (z, d, dd) }
        };
        (z, -d, dd)
    }
}

impl Form {
    /// Height and derivatives.
    pub(super) fn jet(&self, x: f64, y: f64) -> Jet {
        match *self {
            Self::Flat => along(0.0, x, y, |_| (0.0, 0.0, 0.0)),
            Self::Sphere { k } => round(x, y, |r| arc(k, r)),
            Self::Cylinder { k, axis } => along(axis, x, y, |s| arc(k, s)),
            Self::Paraboloid { first, second, axis } => sum(
                along(axis, x, y, |s| (-0.5 * first * s * s, -first * s, -first)),
                along(axis + 0.5 * PI, x, y, |s| (-0.5 * second * s * s, -second * s, -second)),
            ),
            Self::Torus { tube, ring, side } => torus(tube, ring, side, x, y),
            Self::Door { along: k, across, edge, length, edge_y } => sum(
                along(0.0, x, y, |s| arc(k, s)),
                along(0.5 * PI, x, y, |s| {
                    // Curvature across + (edge - across) e^((edge_y - s)/length), level at s = 0.
                    let extra = (edge - across) * ((edge_y - s) / length).exp();
                    let level = (edge - across) * (edge_y / length).exp();
                    (
                        -0.5 * across * s * s - length * length * (extra - level) - length * level * s,
                        -across * s + length * (extra - level),
                        -across - extra,
                    )
                }),
            ),
            Self::Line { radius, half_turn, offset, direction, along: k, across } => {
                let fold = |s: f64| {
                    let s = s - offset;
                    let end = radius * half_turn.sin().abs();
                    let sign = half_turn.signum();
                    if s.abs() < end {
                        arc(sign / radius, s)
                    } else {
                        let slope = -half_turn.tan();
                        (-sign * radius * (1.0 - half_turn.cos()) + slope * (s.abs() - end), slope * s.signum(), 0.0)
                    }
                };
                let normal = direction + 0.5 * PI;
                let faces = sum(along(direction, x, y, |s| arc(k, s)), along(normal, x, y, |s| arc(across, s)));
                sum(along(normal, x, y, fold), faces)
            }
            Self::Flare(f) => round(x - f.centre.0, y - f.centre.1, |r| f.profile(r)),
            Self::Sine { amplitude, wavelength, axis } => along(axis, x, y, |s| {
                let k = 2.0 * PI / wavelength;
                let (sine, cosine) = (k * s).sin_cos();
                (amplitude * cosine, -amplitude * k * sine, -amplitude * k * k * cosine)
            }),
        }
    }
}

/// Torus with its axis along y; `side` +1 at the outer equator, -1 at the inner one.
///
/// The tube's distance from the axis, g(y) = ring ± √(tube² − y²), and z = ±√(g² − x²): heights over the
/// tangent plane of the equator. Where the tube or the ring ends, both go on with the last slope of 80°.
fn torus(tube: f64, ring: f64, side: f64, x: f64, y: f64) -> Jet {
    let (h, hd, hdd) = arc(1.0 / tube, y);
    // g falls away from the equator outside, and grows inside.
    let (g, gd, gdd) = (ring + side * (tube + h), side * hd, side * hdd);
    let (z, d, dd) = arc(side / g, x);
    // z = side (√(g² − x²) − g0): the arc over x gives √(g² − x²) − g, the rest is g − g0.
    let sine = x / g;
    if sine.abs() > LAST_SINE {
        return Jet { z: z + h, slope: (d, hd), second: (dd, 0.0, hdd) };
    }
    let c = (1.0 - sine * sine).sqrt();
    // √(g² − x²) = g c: by g its derivative is 1/c, its second −x²/(g³c³), the mixed one x/(g²c³).
    let c3g = c * c * c * g;
    Jet {
        z: z + h,
        slope: (d, side * gd / c),
        second: (dd, side * gd * (sine / c3g), side * (gdd / c - gd * gd * sine * sine / c3g)),
    }
}
