//! Contact of a tilted pad: the pressure field moves with the pad, so the load is summed over pad
//! points and orbit phases, with every ring cut at the contact edge.

use super::{BottomedOut, Contact, ContactError, ContactSettings, Load};
use crate::equipment::Stack;
use crate::math::quadrature::{Ends, rule};
use crate::motion::Face;
use crate::panel::Patch;
use core::f64::consts::PI;

/// A pad point at one orbit phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Distance from the pad centre, m.
    pub s: f64,
    /// Cosine of the angle between the point and the direction of the orbit radius.
    pub cosine: f64,
    /// Force that the point stands for, averaged over the orbit, N.
    pub force: f64,
}

/// The load of a tilted pad.
#[derive(Debug, Clone, PartialEq)]
pub struct TiltedLoad {
    face: Face,
    stack: Stack,
    tilt: Tilt,
    settings: ContactSettings,
    samples: Vec<Sample>,
}

impl TiltedLoad {
    /// The orbiting face.
    #[must_use]
    pub const fn face(&self) -> &Face {
        &self.face
    }

    /// The same load on fewer nodes and phases.
    pub(crate) fn fewer(&self) -> Self {
        let settings = self.settings.fewer();
        let mut samples = Vec::new();
        Sweep { face: &self.face, stack: &self.stack, settings: &settings }.run(&self.tilt, None, Some(&mut samples));
        Self { settings, samples, ..self.clone() }
    }

    /// Pad points and phases with the force each stands for.
    #[must_use]
    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// Samples for friction sums where the sliding speed vanishes at `still` from the pad centre,
    /// at γ = π (or at γ = 0): fresh and crowded there when that lies on the face, else the kept
    /// ones.
    pub(crate) fn samples_around(&self, still: Option<f64>, at_pi: bool) -> std::borrow::Cow<'_, [Sample]> {
        match still.filter(|s| *s > 0.8 * self.face.hole() && *s < 1.25 * self.face.radius()) {
            None => std::borrow::Cow::Borrowed(&self.samples),
            Some(s) => {
                let sweep = Sweep { face: &self.face, stack: &self.stack, settings: &self.settings };
                let mut out = Vec::with_capacity(self.samples.len() * 2);
                sweep.run(&self.tilt, Some((s, at_pi)), Some(&mut out));
                std::borrow::Cow::Owned(out)
            }
        }
    }

    /// Pressure at panel point (x, y) relative to the tool axis, in panel axes, while the pad
    /// centre is at orbit phase `alpha` (from x); zero where the pad is not. Pa.
    #[must_use]
    pub fn pressure(&self, x: f64, y: f64, alpha: f64) -> f64 {
        let (sin, cos) = alpha.sin_cos();
        let e = self.face.orbit();
        let s = (x - e * cos).hypot(y - e * sin);
        if s > self.face.radius() || s < self.face.hole() {
            return 0.0;
        }
        // Turn into principal axes.
        let (c, si) = (self.tilt.axis.cos(), self.tilt.axis.sin());
        let (px, py) = (c * x + si * y, c * y - si * x);
        let (ex, ey) = (e * (c * cos + si * sin), e * (c * sin - si * cos));
        let (k1, k2) = self.tilt.curvature;
        let compression = self.tilt.heave + self.tilt.slope.0 * (px - ex) + self.tilt.slope.1 * (py - ey)
            - 0.5 * (k1 * px * px + k2 * py * py);
        self.face.backing(s) * self.stack.pressure(compression).0
    }
}

/// Heave, slopes and curvatures in principal axes.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Tilt {
    curvature: (f64, f64),
    axis: f64,
    slope: (f64, f64),
    heave: f64,
}

/// Compression on pad rings at one phase: c0(s) + s(gx cos φ + gy sin φ) − d s² cos 2φ.
#[derive(Debug, Clone, Copy)]
struct Phase {
    alpha: f64,
    base: f64,
    bend: f64,
    gx: f64,
    gy: f64,
    twist: f64,
}

const SPOKES: usize = 32;

impl Phase {
    fn new(tilt: &Tilt, orbit: f64, alpha: f64) -> Self {
        let (k1, k2) = tilt.curvature;
        let (sin, cos) = alpha.sin_cos();
        Self {
            alpha,
            base: tilt.heave - 0.5 * orbit * orbit * (k1 * cos * cos + k2 * sin * sin),
            bend: 0.25 * (k1 + k2),
            gx: tilt.slope.0 - orbit * k1 * cos,
            gy: tilt.slope.1 - orbit * k2 * sin,
            twist: 0.25 * (k1 - k2),
        }
    }

    fn compression(&self, s: f64, phi: f64) -> f64 {
        let (sin, cos) = phi.sin_cos();
        self.base - self.bend * s * s + s * (self.gx * cos + self.gy * sin)
            - self.twist * s * s * (cos * cos - sin * sin)
    }

    /// Smallest and largest compression on a ring.
    fn extremes(&self, s: f64) -> (f64, f64) {
        let amplitude = s * self.gx.hypot(self.gy);
        if self.twist.abs() * s * s <= 1e-15 * amplitude {
            let mean = self.base - self.bend * s * s;
            return (mean - amplitude, mean + amplitude);
        }
        let step = 2.0 * PI / SPOKES as f64;
        let at = |i: usize| self.compression(s, step * i as f64);
        let (mut low, mut high) = ((f64::INFINITY, 0), (f64::NEG_INFINITY, 0));
        for i in 0..SPOKES {
            let v = at(i);
            if v < low.0 {
                low = (v, i);
            }
            if v > high.0 {
                high = (v, i);
            }
        }
        let polish = |i: usize, sign: f64| {
            let (mut a, mut b) = (step * (i as f64 - 1.0), step * (i as f64 + 1.0));
            for _ in 0..40 {
                let (c, d) = (a + 0.381_966 * (b - a), b - 0.381_966 * (b - a));
                if sign * self.compression(s, c) > sign * self.compression(s, d) {
                    b = d;
                } else {
                    a = c;
                }
            }
            self.compression(s, 0.5 * (a + b))
        };
        (low.0.min(polish(low.1, -1.0)), high.0.max(polish(high.1, 1.0)))
    }

    /// Radii at which a ring begins or ceases to touch, wholly or partly.
    fn breaks(&self, inner: f64, outer: f64, out: &mut Vec<f64>) {
        let scan = 16;
        let radius = |i: usize| inner + (outer - inner) * i as f64 / scan as f64;
        let mut last = self.extremes(radius(0));
        for i in 1..=scan {
            let next = self.extremes(radius(i));
            for pick in [0_usize, 1] {
                let take = |e: (f64, f64)| if pick == 0 { e.0 } else { e.1 };
                if (take(last) > 0.0) != (take(next) > 0.0) {
                    let (mut a, mut b) = (radius(i - 1), radius(i));
                    let positive = take(last) > 0.0;
                    for _ in 0..40 {
                        let mid = 0.5 * (a + b);
                        if (take(self.extremes(mid)) > 0.0) == positive {
                            a = mid;
                        } else {
                            b = mid;
                        }
                    }
                    out.push(0.5 * (a + b));
                }
            }
            last = next;
        }
    }

    /// Arcs of a ring that touch, as (from, to); a full ring is (0, 2π).
    fn arcs(&self, s: f64, out: &mut Vec<(f64, f64)>) {
        out.clear();
        let amplitude = s * self.gx.hypot(self.gy);
        let mean = self.base - self.bend * s * s;
        if self.twist.abs() * s * s <= 1e-15 * amplitude.max(mean.abs()) {
            if mean >= amplitude {
                out.push((0.0, 2.0 * PI));
            } else if mean > -amplitude {
                let half = (-mean / amplitude).acos();
                let centre = self.gy.atan2(self.gx);
                out.push((centre - half, centre + half));
            }
            return;
        }
        let step = 2.0 * PI / SPOKES as f64;
        let mut edges: Vec<(f64, bool)> = Vec::new();
        let mut last = self.compression(s, 0.0);
        let first_in = last > 0.0;
        for i in 1..=SPOKES {
            let next = self.compression(s, step * i as f64);
            if (last > 0.0) != (next > 0.0) {
                let (mut a, mut b) = (step * (i as f64 - 1.0), step * i as f64);
                let positive = last > 0.0;
                for _ in 0..50 {
                    let mid = 0.5 * (a + b);
                    if (self.compression(s, mid) > 0.0) == positive {
                        a = mid;
                    } else {
                        b = mid;
                    }
                }
                edges.push((0.5 * (a + b), !positive));
            }
            last = next;
        }
        if edges.is_empty() {
            if first_in {
                out.push((0.0, 2.0 * PI));
            }
            return;
        }
        for (i, (from, enters)) in edges.iter().enumerate() {
            if *enters {
                let to = if i + 1 < edges.len() { edges[i + 1].0 } else { edges[0].0 + 2.0 * PI };
                out.push((*from, to));
            }
        }
    }
}

/// Everything that the force balance sums over.
struct Sweep<'a> {
    face: &'a Face,
    stack: &'a Stack,
    settings: &'a ContactSettings,
}

struct Sums {
    force: f64,
    stiffness: f64,
    touching: f64,
    peak: f64,
}

impl Sweep<'_> {
    fn run(&self, tilt: &Tilt, still: Option<(f64, bool)>, mut keep: Option<&mut Vec<Sample>>) -> Sums {
        let face = self.face;
        let mut sums = Sums { force: 0.0, stiffness: 0.0, touching: 0.0, peak: 0.0 };
        let (mut radii, mut arcs) = (Vec::new(), Vec::new());
        let phases = self.settings.phases;
        for j in 0..phases {
            let alpha = 2.0 * PI * (j as f64 + 0.5) / phases as f64;
            let phase = Phase::new(tilt, face.orbit(), alpha);
            radii.clear();
            radii.extend([face.hole(), face.radius()]);
            if face.overhangs() {
                radii.push(face.plate());
            }
            phase.breaks(face.hole(), face.radius(), &mut radii);
            if let Some((r, _)) = still.filter(|(r, _)| *r > face.hole() && *r < face.radius()) {
                radii.push(r);
            }
            radii.sort_unstable_by(f64::total_cmp);
            for w in radii.windows(2) {
                let (low, high) = (w[0], w[1]);
                if high - low <= 1e-12 * face.radius() || phase.extremes(0.5 * (low + high)).1 <= 0.0 {
                    continue;
                }
                for q in rule(self.settings.radial_nodes, Ends::Both) {
                    let s = low + (high - low) * q.x;
                    let ring = q.w * (high - low) * s / phases as f64;
                    let backing = face.backing(s);
                    phase.arcs(s, &mut arcs);
                    // Where the speed nearly vanishes on this ring, crowd the nodes around that point.
                    let crowd = still.map(|(r, at_pi)| {
                        let width = ((s - r).abs() / (s * r).sqrt()).max(1e-12);
                        (width, phase.alpha + if at_pi { PI } else { 0.0 })
                    });
                    for (from, to) in &arcs {
                        let span = to - from;
                        let mut point = |phi: f64, weight: f64| {
                            let (p, dp) = self.stack.pressure(phase.compression(s, phi));
                            let area = ring * weight;
                            sums.force += area * backing * p;
                            sums.stiffness += area * backing * dp;
                            sums.touching += area;
                            sums.peak = sums.peak.max(backing * p);
                            if let Some(list) = keep.as_deref_mut() {
                                list.push(Sample { s, cosine: (phi - phase.alpha).cos(), force: area * backing * p });
                            }
                        };
                        if let Some((width, centre)) = crowd.filter(|(width, _)| *width < 0.3) {
                            crowded(from - centre, to - centre, width, self.settings.azimuth_nodes, |u, w| {
                                point(centre + u, w);
                            });
                        } else if span >= 2.0 * PI {
                            let n = 2 * self.settings.azimuth_nodes;
                            for i in 0..n {
                                point(2.0 * PI * (i as f64 + 0.5) / n as f64, 2.0 * PI / n as f64);
                            }
                        } else {
                            for a in rule(self.settings.azimuth_nodes, Ends::Smooth) {
                                point(from + span * a.x, a.w * span);
                            }
                        }
                    }
                }
            }
        }
        sums
    }
}

/// Nodes over `from..to`, crowded around the multiples of 2π by x = width·sinh t, x the distance from
/// the nearest one.
fn crowded(from: f64, to: f64, width: f64, n: usize, mut f: impl FnMut(f64, f64)) {
    let mut k = (from / PI).floor();
    while k * PI < to {
        let (low, high) = ((k * PI).max(from), ((k + 1.0) * PI).min(to));
        let even = k.rem_euclid(2.0) < 0.5;
        if high > low {
            // The near end is the left one after an even multiple of π, the right one before it.
            let (near, far) =
                if even { (low - k * PI, high - k * PI) } else { ((k + 1.0) * PI - high, (k + 1.0) * PI - low) };
            let (t0, t1) = ((near / width).asinh(), (far / width).asinh());
            for q in rule(n, Ends::Smooth) {
                let t = t0 + (t1 - t0) * q.x;
                let x = width * t.sinh();
                let u = if even { k * PI + x } else { (k + 1.0) * PI - x };
                f(u, q.w * (t1 - t0) * width * t.cosh());
            }
        }
        k += 1.0;
    }
}

/// Largest compression over pad and orbit above the heave, and where it is.
fn highest(face: &Face, tilt: &Tilt) -> (f64, f64) {
    let flat = Tilt { heave: 0.0, ..*tilt };
    let (k1, k2) = tilt.curvature;
    let at = |alpha: f64| {
        let phase = Phase::new(&flat, face.orbit(), alpha);
        let mut best = (phase.extremes(face.radius()).1, face.radius());
        if face.hole() > 0.0 {
            let v = phase.extremes(face.hole()).1;
            if v > best.0 {
                best = (v, face.hole());
            }
        }
        if k1 > 0.0 && k2 > 0.0 {
            // Inside the face the compression peaks where the panel is parallel to the plate.
            let (sin, cos) = alpha.sin_cos();
            let (x, y) = (tilt.slope.0 / k1 - face.orbit() * cos, tilt.slope.1 / k2 - face.orbit() * sin);
            let s = x.hypot(y);
            if s >= face.hole() && s <= face.radius() {
                let v = phase.compression(s, y.atan2(x));
                if v > best.0 {
                    best = (v, s);
                }
            }
        }
        best
    };
    let phases = 48;
    let step = 2.0 * PI / f64::from(phases);
    let mut best = (at(0.0), 0.0);
    for j in 1..phases {
        let alpha = step * f64::from(j);
        let v = at(alpha);
        if v.0 > best.0.0 {
            best = (v, alpha);
        }
    }
    // Golden section around the best phase.
    let (mut a, mut b) = (best.1 - step, best.1 + step);
    for _ in 0..30 {
        let (c, d) = (a + 0.381_966 * (b - a), b - 0.381_966 * (b - a));
        if at(c).0 > at(d).0 {
            b = d;
        } else {
            a = c;
        }
    }
    let polished = at(0.5 * (a + b));
    if polished.0 > best.0.0 { polished } else { best.0 }
}

/// Largest pressure over pad and orbit where backing falls beyond the plate, on a grid of phases and
/// radii whose spacing leaves about 1e-3.
fn overhung_peak(face: &Face, stack: &Stack, tilt: &Tilt) -> f64 {
    let (phases, steps) = (96, 16);
    let mut best = 0.0_f64;
    for j in 0..phases {
        let phase = Phase::new(tilt, face.orbit(), 2.0 * PI * f64::from(j) / f64::from(phases));
        for i in 0..=steps {
            let s = face.plate() + (face.radius() - face.plate()) * f64::from(i) / f64::from(steps);
            best = best.max(face.backing(s) * stack.pressure(phase.extremes(s).1).0);
        }
    }
    best
}

pub(super) fn solve(
    face: &Face,
    stack: &Stack,
    patch: &Patch,
    slopes: (f64, f64),
    force_n: f64,
    settings: &ContactSettings,
) -> Result<Contact, ContactError> {
    let axis = patch.axis().rad();
    let (c, s) = (axis.cos(), axis.sin());
    let slope = (c * slopes.0 + s * slopes.1, c * slopes.1 - s * slopes.0);
    let mut tilt = Tilt { curvature: patch.principal(), axis, slope, heave: 0.0 };
    let (lift, at) = highest(face, &tilt);
    let sweep = Sweep { face, stack, settings };
    // The way to the heave is walked on fewer nodes, and the same ones judge the result.
    let rough_settings = settings.fewer();
    let rough = Sweep { face, stack, settings: &rough_settings };
    let mut walking = true;

    let (mut low, mut high) = (-lift, stack.limit_compression() - lift);
    let limit = high;
    let area = 2.0 * PI * face.radial_moment(1);
    tilt.heave = stack.compression_at(force_n / area).clamp(low, high);
    let mut evaluations = 0;
    let mut sums;
    loop {
        sums = if walking { rough.run(&tilt, None, None) } else { sweep.run(&tilt, None, None) };
        evaluations += 1;
        let miss = sums.force - force_n;
        if walking && (miss.abs() <= 1e-3 * force_n || tilt.heave >= limit || evaluations >= 30) {
            walking = false;
            (low, high) = (-lift, limit);
            let newton = if sums.stiffness > 0.0 { tilt.heave - miss / sums.stiffness } else { f64::NAN };
            if newton > low && newton < high {
                tilt.heave = newton;
            }
            continue;
        }
        if miss.abs() <= settings.balance.max(1e-12) * force_n {
            break;
        }
        if tilt.heave >= limit && miss < 0.0 {
            return Err(ContactError::BottomsOut(BottomedOut {
                force_n,
                fitting_force_n: sums.force,
                radius_m: at,
                place: if at >= face.radius() { "at the rim of the tilted pad" } else { "under the tilted pad" },
            }));
        }
        if miss > 0.0 {
            high = tilt.heave;
        } else {
            low = tilt.heave;
        }
        let newton = if sums.stiffness > 0.0 { tilt.heave - miss / sums.stiffness } else { f64::NAN };
        let next = if newton > low && newton < high {
            newton
        } else if newton >= high {
            high
        } else {
            0.5 * (low + high)
        };
        if (next - tilt.heave).abs() <= 1e-15 * tilt.heave.abs().max(1e-6) || evaluations >= 90 {
            if miss.abs() > 1e-9 * force_n {
                return Err(ContactError::NotConverged { heave_m: tilt.heave, residual_n: miss });
            }
            break;
        }
        tilt.heave = next;
    }
    let mut samples = Vec::new();
    let sums = sweep.run(&tilt, None, Some(&mut samples));
    let check = rough.run(&tilt, None, None);
    let centre = {
        let n = 64;
        let (k1, k2) = tilt.curvature;
        let e = face.orbit();
        (0..n)
            .map(|j| {
                let (sin, cos) = (2.0 * PI * (f64::from(j) + 0.5) / f64::from(n)).sin_cos();
                stack.pressure(tilt.heave - 0.5 * e * e * (k1 * cos * cos + k2 * sin * sin)).0 / f64::from(n)
            })
            .sum()
    };
    let peak = if face.overhangs() {
        sums.peak.max(overhung_peak(face, stack, &tilt))
    } else {
        stack.pressure(tilt.heave + lift).0
    };
    Ok(Contact {
        heave_m: tilt.heave,
        slopes,
        mean_pressure_pa: force_n / face.area(),
        peak_pressure_pa: peak,
        centre_pressure_pa: (face.hole() <= 0.0).then_some(centre),
        contact_share: (sums.touching / face.area()).min(1.0),
        compression_m: (tilt.heave + lift, stack.limit_compression()),
        heave_stiffness_n_m: sums.stiffness,
        force_n,
        error: (check.force - sums.force).abs() / force_n,
        evaluations: evaluations + 2,
        load: Load::Tilted(TiltedLoad { face: *face, stack: stack.clone(), tilt, settings: *settings, samples }),
    })
}
