//! Friction of the face over time: a table of orbit averages, and the two slow obvious ways beside it.
//!
//! With Coulomb friction the torques do not change when orbit rate and spin grow in proportion, and
//! the power grows with them. So they are functions of one angle, that of (R ω, e Ω), times the length
//! of that pair (own remark). A table over the whole circle, filled where it is asked, then serves every
//! rate; along a ramp there is one for each of a few conditions between its ends.

use super::schedule::{Condition, Stretch};
use crate::contact::{Contact, ContactError, ContactSettings, solve};
use crate::math::quadrature::{Ends, rule};
use crate::motion::Face;
use crate::spin::setup::Setup;
use crate::spin::shear::face_orbit;
use crate::spin::torque::friction_sums;
use core::f64::consts::PI;

/// Angles around the circle.
const ANGLES: usize = 512;
/// Points of the pad along a radius and around it where the phase is followed.
const PHASE_POINTS: (usize, usize) = (16, 40);

/// How the friction torque is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum FrictionMode {
    /// Orbit averages from tables.
    #[default]
    Table,
    /// Orbit averages solved anew at every evaluation: slow, what the tables are judged by.
    Direct,
    /// Torque at the phase of the orbit, summed over points of the pad; heave and tilt are still those
    /// of the orbit average. Differs from the average where the panel is not round or the pad tilted.
    Phase,
}

/// What friction does at one moment, the friction coefficient put in.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Pull {
    /// Torque on the pad about its axis \[N·m\].
    pub(super) on_pad_nm: f64,
    /// Torque on the orbit shaft against its turning \[N·m\].
    pub(super) on_orbit_nm: f64,
    /// Heat \[W\].
    pub(super) heat_w: f64,
}

/// Torque against the spin, torque on the orbit shaft, power; friction coefficient 1.
type Sums = [f64; 3];

/// The contact of one condition with its table.
struct Node {
    contact: Contact,
    orbit: f64,
    sums: Vec<Option<Sums>>,
}

/// Friction along one stretch.
pub(super) struct Friction<'a> {
    setup: &'a Setup,
    stretch: Stretch,
    mode: FrictionMode,
    settings: &'a ContactSettings,
    /// Contacts at even shares of the stretch; `None` for a pad off the panel.
    nodes: Vec<Option<Node>>,
    points: Vec<(f64, f64, f64)>,
    /// Contacts solved.
    pub(super) contacts: usize,
    /// Sums over the face made.
    pub(super) summed: usize,
}

/// Weights of the four nearest of `n + 1` even places, and the first of them.
fn cubic(share: f64, n: usize) -> (usize, [f64; 4]) {
    let x = share.clamp(0.0, 1.0) * n as f64;
    // Between 0 and n.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let first = (x.floor() as usize).saturating_sub(1).min(n - 3);
    let x = x - first as f64;
    let (a, b, c, d) = (x, x - 1.0, x - 2.0, x - 3.0);
    (first, [-b * c * d / 6.0, a * c * d / 2.0, -a * b * d / 2.0, a * b * c / 6.0])
}

/// Weights of the six places around an interval at `f` in it: cubic Hermite with slopes of fourth order.
fn hermite(f: f64) -> [f64; 6] {
    let g = 1.0 - f;
    let (v0, v1) = (g * g * (1.0 + 2.0 * f), f * f * (1.0 + 2.0 * g));
    let (s0, s1) = (f * g * g / 12.0, -f * f * g / 12.0);
    [s0, s1 - 8.0 * s0, v0 - 8.0 * s1, v1 + 8.0 * s0, 8.0 * s1 - s0, -s1]
}

fn add(to: &mut Sums, from: &Sums, weight: f64) {
    for (t, f) in to.iter_mut().zip(from) {
        *t += weight * f;
    }
}

/// Orbit radius at the face under a force; `None` where the face sticks.
pub(super) fn orbit_at(setup: &Setup, force_n: f64) -> Option<f64> {
    let orbit =
        face_orbit(0.5 * setup.tool().throw().m(), setup.product().friction() * force_n, setup.pad().shear_stiffness());
    (!orbit.sticks).then_some(orbit.radius_m)
}

fn contact_at(setup: &Setup, c: &Condition, orbit: f64, settings: &ContactSettings) -> Result<Contact, ContactError> {
    // A tensor between two valid ones and slopes between two valid ones are valid.
    let lost = |_| ContactError::NotConverged { heave_m: f64::NAN, residual_n: f64::NAN };
    solve(setup.pad(), &c.patch().map_err(lost)?, orbit, &c.hold().map_err(lost)?, c.force_n, settings)
}

impl Node {
    /// Sums at one angle of the table, for eΩ = cos, Rω = sin.
    fn at(&mut self, index: usize, scale: (f64, f64), summed: &mut usize) -> Sums {
        if let Some(known) = self.sums[index] {
            return known;
        }
        // Half a place off, so that neither rate is exactly zero.
        let angle = 2.0 * PI * (index as f64 + 0.5) / ANGLES as f64;
        let found = sums(&self.contact, self.orbit, angle.cos() / scale.0, angle.sin() / scale.1);
        *summed += 1;
        self.sums[index] = Some(found);
        found
    }
}

fn sums(contact: &Contact, orbit: f64, rate: f64, spin: f64) -> Sums {
    let s = friction_sums(&contact.load, rate, spin);
    [s.moment_nm, orbit * s.forward_n, s.speed_w]
}

impl<'a> Friction<'a> {
    /// Solves the contacts of a stretch; `conditions` of them along a ramp.
    ///
    /// On an error also the share of the stretch at which it arose.
    pub(super) fn new(
        setup: &'a Setup,
        stretch: Stretch,
        mode: FrictionMode,
        conditions: usize,
        settings: &'a ContactSettings,
    ) -> Result<Self, (f64, ContactError)> {
        let mut out =
            Self { setup, stretch, mode, settings, nodes: Vec::new(), points: Vec::new(), contacts: 0, summed: 0 };
        if !stretch.pressed() {
            return Ok(out);
        }
        let most = if stretch.steady() { 0 } else { conditions.clamp(3, 1000) };
        for i in 0..=most {
            let share = if most > 0 { i as f64 / most as f64 } else { 0.0 };
            let condition = stretch.condition(share);
            let Some(orbit) = orbit_at(setup, condition.force_n).filter(|_| condition.force_n > 0.0) else {
                out.nodes.push(None);
                continue;
            };
            let contact = contact_at(setup, &condition, orbit, settings).map_err(|e| (share, e))?;
            out.contacts += 1;
            let sums = if mode == FrictionMode::Table { vec![None; ANGLES] } else { Vec::new() };
            out.nodes.push(Some(Node { contact, orbit, sums }));
        }
        if mode == FrictionMode::Phase {
            let (hole, radius) = (setup.pad().hole_radius(), setup.pad().radius());
            let around = PHASE_POINTS.1;
            for q in rule(PHASE_POINTS.0, Ends::Smooth) {
                let r = hole + (radius - hole) * q.x;
                let area = 2.0 * PI * r * (radius - hole) * q.w / around as f64;
                out.points.extend((0..around).map(|j| {
                    let (s, c) = (2.0 * PI * (j as f64 + 0.5) / around as f64).sin_cos();
                    (r * c, r * s, area)
                }));
            }
        }
        Ok(out)
    }

    /// Friction at a share of the stretch, an orbit rate, a spin and a phase.
    pub(super) fn pull(&mut self, share: f64, rate: f64, spin: f64, phase: f64) -> Result<Pull, ContactError> {
        if self.nodes.is_empty() {
            return Ok(Pull::default());
        }
        let [moment, orbit, heat] = match self.mode {
            FrictionMode::Table => self.by_table(share, rate, spin),
            FrictionMode::Direct => self.direct(share, rate, spin)?,
            FrictionMode::Phase => self.at_phase(share, rate, spin, phase),
        };
        let mu = self.setup.product().friction();
        Ok(Pull { on_pad_nm: -mu * moment, on_orbit_nm: mu * orbit, heat_w: mu * heat })
    }

    fn by_table(&mut self, share: f64, rate: f64, spin: f64) -> Sums {
        let scale = (0.5 * self.setup.tool().throw().m(), self.setup.pad().radius());
        let (a, b) = (scale.0 * rate, scale.1 * spin);
        let speed = a.hypot(b);
        if speed <= 0.0 || !speed.is_finite() {
            return if speed.is_finite() { Sums::default() } else { [f64::NAN; 3] };
        }
        let place = (b.atan2(a) / (2.0 * PI)).rem_euclid(1.0) * ANGLES as f64 - 0.5 + ANGLES as f64;
        // Between ANGLES − 1 and 2·ANGLES.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let below = place.floor() as usize;
        let around = hermite(place - place.floor());
        let count = self.nodes.len();
        let (first, along) = if count > 1 { cubic(share, count - 1) } else { (0, [1.0, 0.0, 0.0, 0.0]) };
        let mut out = Sums::default();
        for (node, weight) in self.nodes[first..].iter_mut().zip(along) {
            let Some(node) = node.as_mut().filter(|_| weight.abs() > 0.0) else { continue };
            for (j, w) in around.iter().enumerate() {
                let found = node.at((below + j - 2) % ANGLES, scale, &mut self.summed);
                add(&mut out, &found, weight * w);
            }
        }
        out[2] *= speed;
        out
    }

    fn direct(&mut self, share: f64, rate: f64, spin: f64) -> Result<Sums, ContactError> {
        if let [Some(node)] = self.nodes.as_slice() {
            self.summed += 1;
            return Ok(sums(&node.contact, node.orbit, rate, spin));
        }
        let condition = self.stretch.condition(share);
        // Less than a millionth of a newton neither brakes nor heats.
        let Some(orbit) = orbit_at(self.setup, condition.force_n).filter(|_| condition.force_n > 1e-6) else {
            return Ok(Sums::default());
        };
        let contact = contact_at(self.setup, &condition, orbit, self.settings)?;
        self.contacts += 1;
        self.summed += 1;
        Ok(sums(&contact, orbit, rate, spin))
    }

    /// Sums at one phase over points of the pad; heave and slopes between those of the contacts solved.
    fn at_phase(&mut self, share: f64, rate: f64, spin: f64, phase: f64) -> Sums {
        self.summed += 1;
        let condition = self.stretch.condition(share);
        let count = self.nodes.len();
        let (first, along) = if count > 1 { cubic(share, count - 1) } else { (0, [1.0, 0.0, 0.0, 0.0]) };
        let (mut heave, mut known) = (0.0, 0.0);
        for (node, weight) in self.nodes[first..].iter().zip(along) {
            if let Some(node) = node {
                heave += weight * node.contact.heave_m;
                known += weight;
            }
        }
        let Some(orbit) = orbit_at(self.setup, condition.force_n).filter(|_| known > 0.0) else {
            return Sums::default();
        };
        // Off the panel there is no heave to go from: the others stand for it.
        heave /= known;
        let stack = self.setup.pad().stack();
        let face = Face::new(self.setup.pad(), orbit);
        let (sin, cos) = phase.sin_cos();
        let [xx, xy, yy] = condition.tensor;
        let (sx, sy) = condition.slopes;
        let mut out = Sums::default();
        for &(px, py, area) in &self.points {
            let (x, y) = (orbit * cos + px, orbit * sin + py);
            let gap = 0.5 * (xx * x * x + 2.0 * xy * x * y + yy * y * y);
            let (pressure, _) = stack.pressure(heave + sx * px + sy * py - gap);
            if pressure <= 0.0 {
                continue;
            }
            let force = pressure * area * face.backing(px.hypot(py));
            let (vx, vy) = (-orbit * rate * sin - spin * py, orbit * rate * cos + spin * px);
            let speed = vx.hypot(vy);
            if speed > 0.0 {
                let share = force / speed;
                add(&mut out, &[px * vy - py * vx, orbit * (cos * vy - sin * vx), speed * speed], share);
            }
        }
        out
    }
}
