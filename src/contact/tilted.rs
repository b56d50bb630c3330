//! Contact of a tilted pad: the pressure field moves with the pad, so the load is summed over orbit
//! phases and, at each phase, over rays through the face that are cut at the contact edge.

use super::tilted_peak::{Hardest, peak_pressure};
use super::tilted_phase::{Azimuths, Phase, Ray, Tilt};
use super::{BottomedOut, Contact, ContactError, ContactSettings, Load, PressureField};
use crate::equipment::Stack;
use crate::math::quadrature::{Ends, rule};
use crate::motion::Face;
use crate::panel::Patch;
use core::f64::consts::PI;

/// A pad point at one orbit phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Distance from the pad centre \[m\].
    pub s: f64,
    /// Cosine of the angle between the point and the direction of the orbit radius \[1\].
    pub cosine: f64,
    /// Force that the point stands for, averaged over the orbit \[N\].
    pub force: f64,
}

/// The load of a tilted pad: pad points at orbit phases.
///
/// ```text
/// p = b(s) P(δ0 + t·ρ − ½ xᵀK x),   x = e r̂ + ρ      [Pa]; t slopes [1], ρ place from the pad centre [m]
/// ```
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, Load, solve};
/// use trochoid::{Angle, CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let hold = Hold::tilted(Angle::from_deg(0.5), Angle::from_deg(0.0))?;
/// let run = solve(&pad, &Patch::flat(), 9e-3, &hold, 40.0, &ContactSettings::default())?;
/// let Load::Tilted(load) = &run.load else { unreachable!("a tilted pad") };
/// // In full contact 2598.4 Pa at the pad centre; 30 mm further along x tan 0.5° × 30 mm = 0.2618 mm deeper.
/// assert!((load.pressure(9e-3, 0.0, 0.0) - 2598.4).abs() < 0.1);
/// assert!((load.pressure(39e-3, 0.0, 0.0) - 2598.4 - 261.8).abs() < 0.1);
/// assert!((load.samples().iter().map(|s| s.force).sum::<f64>() - 40.0).abs() < 1e-6);
/// # Ok(())
/// # }
/// ```
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
        let samples = Sweep::new(&self.face, &self.stack, &settings).samples(&self.tilt, 0.0);
        Self { settings, samples, ..self.clone() }
    }

    /// Pad points and phases with the force each stands for.
    #[must_use]
    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// Samples for friction sums where the sliding speed vanishes at `still` from the pad centre,
    /// at γ = π (or at γ = 0): along fresh rays from there when that lies on or near the face, else
    /// the kept ones.
    pub(crate) fn samples_around(&self, still: Option<f64>, at_pi: bool) -> std::borrow::Cow<'_, [Sample]> {
        match still.filter(|s| *s > 0.7 * self.face.hole() && *s < 1.3 * self.face.radius()) {
            None => std::borrow::Cow::Borrowed(&self.samples),
            Some(s) => {
                // The direction of sliding turns once around there: more rays.
                let settings = ContactSettings { azimuth_nodes: 3 * self.settings.azimuth_nodes, ..self.settings };
                let sweep = Sweep::new(&self.face, &self.stack, &settings);
                std::borrow::Cow::Owned(sweep.samples(&self.tilt, if at_pi { -s } else { s }))
            }
        }
    }

    /// Pressure \[Pa\] at panel point (x, y) \[m\] relative to the tool axis, in panel axes, while the pad
    /// centre is at orbit phase `alpha` \[rad\] (from x); zero where the pad is not.
    /// See the example of [`TiltedLoad`].
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

/// More joins of a measured law than this are no longer cut at: the jumps of curvature are small
/// then, and every cut costs nodes.
const MOST_JOINS: usize = 12;

/// Everything that the force balance sums over.
struct Sweep<'a> {
    face: &'a Face,
    stack: &'a Stack,
    /// Foundation modulus where a ray integrates in closed form: linear law, plate behind it all.
    closed_form: Option<f64>,
    knots: Vec<f64>,
    phases: Vec<(f64, f64)>,
    azimuths: Azimuths,
    radial_nodes: usize,
}

/// Sums over face and orbit.
#[derive(Debug, Default)]
struct Sums {
    force: f64,
    stiffness: f64,
    touching: f64,
    /// Force at each phase, as its share of the orbit mean.
    by_phase: Vec<f64>,
}

impl<'a> Sweep<'a> {
    fn new(face: &'a Face, stack: &'a Stack, settings: &ContactSettings) -> Self {
        let count = settings.phases.max(1);
        let knots = stack.knots();
        Self {
            face,
            stack,
            closed_form: stack.linear_stiffness().filter(|_| !face.overhangs()),
            knots: if knots.len() > MOST_JOINS { Vec::new() } else { knots },
            phases: (0..count)
                .map(|j| {
                    let (sin, cos) = (2.0 * PI * (j as f64 + 0.5) / count as f64).sin_cos();
                    (cos, sin)
                })
                .collect(),
            azimuths: Azimuths::new(settings.azimuth_nodes),
            radial_nodes: settings.radial_nodes,
        }
    }

    /// The orbit-averaged force, its derivative with heave and the area that touches.
    fn balance(&self, tilt: &Tilt) -> Sums {
        let mut sums = Sums { by_phase: Vec::with_capacity(self.phases.len()), ..Sums::default() };
        let share = 1.0 / self.phases.len() as f64;
        let mut cuts = Vec::new();
        for radius in &self.phases {
            let phase = Phase::new(tilt, self.face.orbit(), *radius);
            let (mut force, mut stiffness, mut touching) = (0.0, 0.0, 0.0);
            phase.rays(self.face, 0.0, &self.azimuths, |ray| {
                ray.touching(self.face.hole(), |a, b| {
                    let area = 0.5 * (b - a) * (b + a) * ray.weight;
                    touching += area;
                    if let Some(k) = self.closed_form {
                        let (c0, c1, c2) = ray.compression;
                        let moment = |s: f64| s * s * (0.5 * c0 + s * (c1 / 3.0 + s * 0.25 * c2));
                        force += k * (moment(b) - moment(a)) * ray.weight;
                        stiffness += k * area;
                    } else {
                        self.nodes(&ray, (a, b), &mut cuts, |s, w| {
                            let (p, dp) = self.stack.pressure(ray.at(s));
                            let w = w * self.face.backing(s);
                            force += w * p;
                            stiffness += w * dp;
                        });
                    }
                });
            });
            sums.force += force * share;
            sums.stiffness += stiffness * share;
            sums.touching += touching * share;
            sums.by_phase.push(force * share);
        }
        sums
    }

    /// Orbit mean of the area that touches, m².
    fn touching(&self, tilt: &Tilt) -> f64 {
        let mut area = 0.0;
        for radius in &self.phases {
            Phase::new(tilt, self.face.orbit(), *radius).rays(self.face, 0.0, &self.azimuths, |ray| {
                ray.touching(self.face.hole(), |a, b| area += 0.5 * (b - a) * (b + a) * ray.weight);
            });
        }
        area / self.phases.len() as f64
    }

    /// Pad points with their forces, on rays from a point at `origin` (signed, along the orbit radius).
    fn samples(&self, tilt: &Tilt, origin: f64) -> Vec<Sample> {
        let share = 1.0 / self.phases.len() as f64;
        let mut out = Vec::with_capacity(self.phases.len() * self.azimuths.count() * self.radial_nodes);
        let mut cuts = Vec::new();
        let centred = origin.abs() <= 0.0;
        for radius in &self.phases {
            let phase = Phase::new(tilt, self.face.orbit(), *radius);
            phase.rays(self.face, origin, &self.azimuths, |ray| {
                // Component of the ray's direction along the orbit radius.
                let along = ray.direction.0 * radius.0 + ray.direction.1 * radius.1;
                let from = if centred { self.face.hole() } else { ray.span.0 };
                ray.touching(from, |a, b| {
                    self.nodes(&ray, (a, b), &mut cuts, |t, area| {
                        let s = ray.radius(t);
                        let cosine = if centred {
                            along
                        } else {
                            ((origin + t * along) / s.max(f64::MIN_POSITIVE)).clamp(-1.0, 1.0)
                        };
                        let p = self.stack.pressure(ray.at(t)).0;
                        out.push(Sample { s, cosine, force: area * share * self.face.backing(s) * p });
                    });
                });
            });
        }
        out
    }

    /// Nodes over the pressed stretch `from..to` of a ray, cut at the joins of a measured law, the edge
    /// of the plate and the hole; `f` gets the distance from the ray's origin and the area.
    fn nodes(&self, ray: &Ray, (from, to): (f64, f64), cuts: &mut Vec<f64>, mut f: impl FnMut(f64, f64)) {
        cuts.clear();
        let mut cut = |(a, b): (f64, f64)| cuts.extend([a, b].into_iter().filter(|s| *s > from && *s < to));
        for knot in &self.knots {
            cut(ray.roots(*knot));
        }
        if self.face.overhangs() {
            cut(ray.meets(self.face.plate()));
        }
        if self.face.hole() > 0.0 {
            cut(ray.meets(self.face.hole()));
        }
        cuts.extend([from, to]);
        cuts.sort_unstable_by(f64::total_cmp);
        for w in cuts.windows(2) {
            let (low, high) = (w[0], w[1]);
            let (middle, span) = (0.5 * (low + high), high - low);
            if ray.radius(middle) < self.face.hole() {
                continue;
            }
            // A power law leaves the contact edge like a power of the distance.
            let edge = |s: f64| self.stack.linear_stiffness().is_none() && ray.at(s) <= 1e-6 * ray.at(middle);
            for q in rule(self.radial_nodes, Ends::from_flags(edge(low), edge(high))) {
                let s = low + span * q.x;
                f(s, q.w * span * s * ray.weight);
            }
        }
    }
}

/// Part of the force in the highest harmonics that the phases resolve: what lies beyond them, and is
/// lost, is smaller. Three neighbours are looked at, as symmetry can make one of them vanish.
fn phase_error(by_phase: &[f64]) -> f64 {
    let n = by_phase.len();
    if n < 4 {
        // Too few to say anything.
        return by_phase.iter().sum();
    }
    let harmonic = |m: usize| {
        let (mut re, mut im) = (0.0, 0.0);
        for (j, f) in by_phase.iter().enumerate() {
            let (sin, cos) = (2.0 * PI * ((m * j) % n) as f64 / n as f64).sin_cos();
            re += f * cos;
            im += f * sin;
        }
        re.hypot(im)
    };
    (0..3.min(n / 2)).map(|i| n / 2 - i).map(harmonic).fold(0.0, f64::max)
}

pub(super) fn solve(
    face: &Face,
    stack: &Stack,
    patch: &Patch,
    slopes: (f64, f64),
    force_n: f64,
    settings: &ContactSettings,
    estimate: bool,
) -> Result<Contact, ContactError> {
    let axis = patch.axis().rad();
    let (c, s) = (axis.cos(), axis.sin());
    let slope = (c * slopes.0 + s * slopes.1, c * slopes.1 - s * slopes.0);
    let mut tilt = Tilt { curvature: patch.principal(), axis, slope, heave: 0.0 };
    let hardest = Hardest::find(face, &tilt);
    let (floor, ceiling) = (-hardest.lift, stack.limit_compression() - hardest.lift);

    let area = 2.0 * PI * face.radial_moment(1);
    let mean_square = 2.0 * PI * face.radial_moment(3) / area + face.orbit() * face.orbit();
    tilt.heave = (stack.compression_at(force_n / area) + 0.5 * patch.mean() * mean_square).clamp(floor, ceiling);
    // A guess on half the nodes and phases costs a fraction and leaves two or three full evaluations.
    let half = ContactSettings {
        radial_nodes: settings.radial_nodes.div_ceil(2),
        azimuth_nodes: settings.azimuth_nodes.div_ceil(2),
        phases: settings.phases.div_ceil(2),
        ..*settings
    };
    let (coarse, full) = (Sweep::new(face, stack, &half), Sweep::new(face, stack, settings));
    let guess = find_heave(&coarse, &mut tilt, force_n, (floor, ceiling), 1e-6);
    let found = find_heave(&full, &mut tilt, force_n, (floor, ceiling), settings.balance.max(1e-12));
    let miss = found.sums.force - force_n;
    if miss.abs() > 1e-9 * force_n {
        if miss < 0.0 && tilt.heave >= ceiling {
            return Err(ContactError::BottomsOut(BottomedOut {
                force_n,
                fitting_force_n: found.sums.force,
                radius_m: hardest.radius,
                place: if hardest.place >= face.radius() {
                    "at the rim of the tilted pad"
                } else {
                    "under the tilted pad"
                },
            }));
        }
        return Err(ContactError::NotConverged { heave_m: tilt.heave, residual_n: miss });
    }
    let mut evaluations = guess.evaluations + found.evaluations;
    let (mut touching, mut error) = (found.sums.touching, f64::NAN);
    if estimate {
        // Nodes on the face by taking some of them away, orbit phases by their spectrum.
        let fewer = ContactSettings { phases: settings.phases, ..settings.fewer() };
        let nodes = (Sweep::new(face, stack, &fewer).balance(&tilt).force - found.sums.force).abs();
        error = (nodes + phase_error(&found.sums.by_phase)) / force_n;
        // The touching area jumps at its edge: it wants more phases than the force.
        let more = ContactSettings { phases: 2 * settings.phases, ..*settings };
        touching = Sweep::new(face, stack, &more).touching(&tilt);
        evaluations += 2;
    }
    let centre =
        PressureField::new(stack.clone(), tilt.curvature, tilt.heave, settings.azimuth_nodes).ring(face.orbit());
    Ok(Contact {
        heave_m: tilt.heave,
        slopes,
        mean_pressure_pa: force_n / face.area(),
        peak_pressure_pa: peak_pressure(face, stack, &tilt, &hardest),
        centre_pressure_pa: (face.hole() <= 0.0).then_some(centre.pressure),
        contact_share: (touching / face.area()).min(1.0),
        compression_m: (tilt.heave + hardest.lift, stack.limit_compression()),
        heave_stiffness_n_m: found.sums.stiffness,
        force_n,
        error,
        evaluations,
        load: Load::Tilted(TiltedLoad {
            face: *face,
            stack: stack.clone(),
            settings: *settings,
            samples: full.samples(&tilt, 0.0),
            tilt,
        }),
    })
}

struct Found {
    sums: Sums,
    evaluations: u32,
}

/// Moves the heave within its bounds until the force is carried to `balance` (relative), or as nearly
/// as rounding and the bounds allow: a bracketed Newton iteration on a rising function.
fn find_heave(sweep: &Sweep<'_>, tilt: &mut Tilt, force_n: f64, (floor, ceiling): (f64, f64), balance: f64) -> Found {
    let (mut low, mut high) = (floor, ceiling);
    let mut evaluations = 0;
    loop {
        let sums = sweep.balance(tilt);
        evaluations += 1;
        let miss = sums.force - force_n;
        let at_ceiling = tilt.heave >= ceiling && miss < 0.0;
        if miss.abs() <= balance * force_n || at_ceiling || evaluations >= 60 {
            return Found { sums, evaluations };
        }
        if miss > 0.0 {
            high = tilt.heave;
        } else {
            low = tilt.heave;
        }
        let newton = if sums.stiffness > 0.0 { tilt.heave - miss / sums.stiffness } else { f64::NAN };
        // A step past the ceiling is tried at the ceiling itself, which settles whether it carries.
        let next = if newton > low && newton < high {
            newton
        } else if newton >= high {
            high
        } else {
            0.5 * (low + high)
        };
        if (next - tilt.heave).abs() <= 1e-15 * tilt.heave.abs().max(1e-6) {
            return Found { sums, evaluations };
        }
        tilt.heave = next;
    }
}
