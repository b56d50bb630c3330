//! Contact with a piece of a real panel, sampled where the pad stands: free edges, creases, hollows
//! tighter than the pad.
//!
//! The reduction of `contact` holds for any relief: with the pad held square, the compression
//! δ0 − g(x) of a panel point does not depend on where the pad is in its orbit, so the load is the
//! azimuth mean of the pressure on rings around the tool axis times the cover of each ring. The gap g
//! is measured along the normal of the frame the pad is held in. A tilted pad adds
//! slopes · (x − e r̂), which swings with the orbit; its load is kept by ring and phase.
//!
//! There is no support beyond a free edge: the force is carried by the rest of the face, at a higher
//! pressure. What a pad does when it wraps round an edge is not modelled.

use super::{BottomedOut, ContactError, Hold};
use crate::equipment::{Pad, Stack};
use crate::math::quadrature::{Ends, rule};
use crate::motion::{ArcPoint, Face};
use crate::panel::{Frame, HeightMap, gap_below};
use core::f64::consts::PI;
use nalgebra::{Matrix3, Vector3};

/// Numerical knobs of the local contact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocalSettings {
    /// Gauss nodes of a radial piece as wide as the face (the inner disc, the rim band, each band at the
    /// plate's edge); a narrower piece takes fewer, at least six. Default 10.
    pub radial_nodes: usize,
    /// Directions around the tool axis, at least four. Default 32.
    pub azimuth_nodes: usize,
    /// Orbit phases of a ring, on each side; at least two where the face always covers it. Default 8.
    pub arc_nodes: usize,
    /// Relative force balance at which the iteration stops \[1\]. Default 1e-9.
    pub balance: f64,
}

impl Default for LocalSettings {
    fn default() -> Self {
        Self { radial_nodes: 10, azimuth_nodes: 32, arc_nodes: 8, balance: 1e-9 }
    }
}

#[derive(Debug, Clone, Copy)]
struct NodeRing {
    rho: f64,
    /// Area of the ring, m²; zero for the ring at the very reach, which only looks for the peak.
    area: f64,
    /// Share of the orbit that the ring is covered, and that share weighted with the backing.
    cover: f64,
    backed: f64,
    /// The firmest backing that the ring meets.
    firmest: f64,
    always: bool,
    /// Its phases.
    arcs: (usize, usize),
}

/// Pressure against compression, as a table where the law is not a straight line.
#[derive(Debug, Clone)]
enum PressureLaw {
    Linear(f64),
    Table { per_step: f64, values: Vec<f64> },
}

/// Steps of a tabulated law up to its limit.
const LAW_STEPS: usize = 4096;

impl PressureLaw {
    fn new(stack: &Stack) -> Self {
        if let Some(k) = stack.linear_stiffness() {
            return Self::Linear(k);
        }
        let step = stack.limit_compression() / LAW_STEPS as f64;
        // Two steps beyond the limit, so that a value at the limit has a right-hand neighbour.
        let values = (0..LAW_STEPS + 2).map(|i| stack.pressure((i as f64 * step).min(stack.limit_compression())).0);
        Self::Table { per_step: 1.0 / step, values: values.collect() }
    }

    /// Pressure and stiffness; a compression past the limit, which no solution has, reads the limit.
    #[inline]
    fn at(&self, compression: f64) -> (f64, f64) {
        if compression <= 0.0 {
            return (0.0, 0.0);
        }
        match self {
            Self::Linear(k) => (k * compression, *k),
            Self::Table { per_step, values } => {
                let place = (compression * per_step).min(LAW_STEPS as f64);
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place ≤ LAW_STEPS
                let i = place as usize;
                let rise = values[i + 1] - values[i];
                (values[i] + (place - i as f64) * rise, rise * per_step)
            }
        }
    }
}

/// The nodes of one pad on one orbit: everything that does not depend on the place.
///
/// ```text
/// δ = δ0 + t·(x − e r̂) − g(x)            compression at a panel point x [m], g the gap along the normal [m]
/// ⟨∫ b(s) P(δ) on(x) dA⟩ = N              b backing [1], on the share on the panel [1], N force [N]
/// ```
///
/// # Assumptions and valid range
/// Independent springs under a stiff plate; heave δ0 and slopes t constant over the orbit; no support beyond
/// a free edge, and the pad does not wrap round it. A law that is no straight line is tabulated in 4096 steps.
///
/// # Accuracy
/// Fixed nodes, no error estimate of its own: against brute force the tests allow 0.3 % of force, peak and
/// torque at a straight edge, 0.5 % at a body line, 1 % in a hollow tighter than the pad.
///
/// # Example
/// ```
/// use trochoid::contact::{Hold, LocalSettings, PadNodes};
/// use trochoid::{CompressionLaw, Length, Pad, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// let nodes = PadNodes::new(&pad, 9e-3, &LocalSettings::default());
/// // On a flat 40 N over π 70² mm² press 2.598 mm into 1 kPa/mm, everywhere alike.
/// let flat = nodes.solve(&nodes.site_of(|_, _| 0.0), &Hold::Flat, 40.0)?;
/// assert!((flat.heave_m - 2.5984e-3).abs() < 1e-6 && (flat.peak_pressure_pa - 2598.4).abs() < 1.0);
/// // A crown of 2 m radius, g = r²/4 m⁻¹, is found again as 0.5 per metre.
/// let crown = nodes.site_of(|x, y| 0.25 * (x * x + y * y));
/// assert!((nodes.mean_curvature(&crown) - 0.5).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own reduction, see `notebooks-free-docs/theory-surfaces.md`.
#[derive(Debug, Clone)]
pub struct PadNodes {
    face: Face,
    law: PressureLaw,
    limit: f64,
    rings: Vec<NodeRing>,
    arcs: Vec<ArcPoint>,
    directions: Vec<(f64, f64)>,
    settings: LocalSettings,
}

/// A piece of panel under the nodes of a pad; good for those nodes only.
#[derive(Debug, Clone)]
pub struct Site {
    /// Gap below the tangent plane at each node, ring by ring, m.
    gap: Vec<f64>,
    /// Share of each node that lies on the panel; empty where all of it does.
    on_panel: Vec<f64>,
}

impl Site {
    /// The same piece of panel with its relief multiplied by `t` \[1\]; edges stay where they are.
    #[must_use]
    pub fn scaled(&self, t: f64) -> Self {
        Self { gap: self.gap.iter().map(|g| g * t).collect(), on_panel: self.on_panel.clone() }
    }
}

/// A solved local contact.
#[derive(Debug, Clone)]
pub struct LocalContact<'a> {
    /// Compression at the tool axis \[m\].
    pub heave_m: f64,
    /// Slopes of the plate along the frame's x and y \[1\].
    pub slopes: (f64, f64),
    /// Largest pressure over the pad and the orbit \[Pa\].
    pub peak_pressure_pa: f64,
    /// Where that is, in the frame \[m\].
    pub peak_at: (f64, f64),
    /// Orbit mean of the share of the face that touches \[1\].
    pub contact_share: f64,
    /// Orbit mean of the share of the face that hangs over a free edge \[1\].
    pub overhang_share: f64,
    /// Largest compression \[m\], and the stack's limit \[m\].
    pub compression_m: (f64, f64),
    /// Force carried \[N\].
    pub force_n: f64,
    /// Evaluations of the balance.
    pub evaluations: u32,
    /// The load.
    pub load: LocalLoad<'a>,
}

/// The load of a local contact, for friction and removal.
#[derive(Debug, Clone)]
pub struct LocalLoad<'a> {
    nodes: &'a PadNodes,
    /// Force of each ring if it were always covered and backed, N; 1 where the arcs hold the force.
    rings: Vec<f64>,
    /// Force by ring and phase, of a tilted pad.
    arcs: Option<Vec<f64>>,
}

impl PadNodes {
    /// Nodes of `pad` on an orbit of radius `orbit` \[m\] at the face. See the example of [`PadNodes`].
    #[must_use]
    pub fn new(pad: &Pad, orbit: f64, settings: &LocalSettings) -> Self {
        let face = Face::new(pad, orbit);
        let stack = pad.stack();
        let (mut rings, mut arcs) = (Vec::new(), Vec::new());
        let mut push = |rho: f64, area: f64, always: bool| {
            let start = arcs.len();
            if always && orbit > 0.0 {
                let n = settings.arc_nodes.max(2);
                for k in 0..n {
                    let share = 1.0 / n as f64;
                    let cosine = (PI * (k as f64 + 0.5) * share).cos();
                    arcs.push(ArcPoint { cosine, cover: share, weight: share });
                }
            } else {
                face.arcs(rho, settings.arc_nodes, &mut arcs);
            }
            let list = &arcs[start..];
            let nearest = (rho - orbit).abs().max(face.hole());
            rings.push(NodeRing {
                rho,
                area,
                cover: list.iter().map(|p| p.cover).sum(),
                backed: list.iter().map(|p| p.weight).sum(),
                firmest: if nearest <= face.radius() { face.backing(nearest) } else { 0.0 },
                always,
                arcs: (start, arcs.len()),
            });
        };
        for w in face.breaks().windows(2) {
            let (low, high) = (w[0], w[1]);
            let covered = face.always_covered(low, high);
            // Cover has square-root corners at its breaks. A wide piece takes all the nodes, a narrow one
            // as many as keep their distance, at least six.
            let corner = !covered && orbit > 0.0;
            let share = ((high - low) / face.radius()).sqrt().min(1.0);
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 0 and `radial_nodes`
            let n = ((settings.radial_nodes as f64 * share).ceil() as usize).max(6);
            for q in rule(n, Ends::from_flags(corner, corner)) {
                let rho = low + (high - low) * q.x;
                push(rho, 2.0 * PI * rho * q.w * (high - low), covered);
            }
        }
        push(face.reach(), 0.0, false);
        let n = settings.azimuth_nodes.max(4);
        let directions = (0..n).map(|j| (2.0 * PI * (j as f64 + 0.5) / n as f64).sin_cos()).map(|(s, c)| (c, s));
        Self {
            face,
            law: PressureLaw::new(&stack),
            limit: stack.limit_compression(),
            rings,
            arcs,
            directions: directions.collect(),
            settings: *settings,
        }
    }

    /// The orbiting face.
    #[must_use]
    pub const fn face(&self) -> &Face {
        &self.face
    }

    /// Pressure \[Pa\] of a fully backed point at a compression \[m\]; past the stack's limit that at the limit.
    #[must_use]
    pub fn pressure(&self, compression: f64) -> f64 {
        self.law.at(compression).0
    }

    /// Samples the panel under the pad held in `frame`: the gap along the frame's normal, and what of each node
    /// is on the panel.
    ///
    /// ```text
    /// on = clamp(½ + d/w, 0, 1)      d distance to the edge, + on the panel [m], w width of a node [m]
    /// ```
    ///
    /// Without edges [`PadNodes::site_of`] does the same; see the example of [`PadNodes`].
    ///
    /// # Accuracy
    /// Gaps as of [`gap_below`]. The share of a node beyond an edge is smeared over the distance
    /// of the nodes, so that moving the pad over an edge changes the load without steps.
    #[must_use]
    pub fn site(&self, heights: &HeightMap, frame: &Frame) -> Site {
        let count = self.rings.len() * self.directions.len();
        let mut gap = Vec::with_capacity(count);
        let mut places = Vec::new();
        let reach = self.face.reach();
        let near_edge = heights.edge_distance_at(frame.foot[0], frame.foot[1]) < 1.2 * reach;
        if near_edge {
            places.reserve(count);
        }
        for ring in &self.rings {
            for (c, s) in &self.directions {
                let (x, y) = (ring.rho * c, ring.rho * s);
                let (g, place) = gap_below(heights, frame, x, y);
                gap.push(g);
                if near_edge {
                    places.push(place);
                }
            }
        }
        let mut on_panel = Vec::new();
        if near_edge {
            let around = 2.0 * PI / self.directions.len() as f64;
            let radial = reach / self.settings.radial_nodes as f64;
            on_panel.reserve(count);
            for (k, (x, y)) in places.iter().enumerate() {
                let rho = self.rings[k / self.directions.len()].rho;
                let width = (0.5 * (rho * around + radial)).max(heights.step());
                on_panel.push((0.5 + heights.edge_distance_at(*x, *y) / width).clamp(0.0, 1.0));
            }
            if on_panel.iter().all(|c| *c >= 1.0) {
                on_panel.clear();
            }
        }
        Site { gap, on_panel }
    }

    /// A piece of panel given by its gap \[m\] as a function of the frame's x and y, without edges.
    #[must_use]
    pub fn site_of(&self, gap: impl Fn(f64, f64) -> f64) -> Site {
        let gaps = self.rings.iter().flat_map(|r| self.directions.iter().map(move |(c, s)| (r.rho * c, r.rho * s)));
        Site { gap: gaps.map(|(x, y)| gap(x, y)).collect(), on_panel: Vec::new() }
    }

    /// Mean curvature of a site at the scale of the pad [1/m], positive where convex: the least-squares
    /// fit of g = H r²/2 over what of the face is on the panel; zero where nothing is.
    ///
    /// ```text
    /// H = Σ w g q/Σ w q²,   q = r²/2 [m²], w = area x cover x share on the panel [m²]
    /// ```
    ///
    /// Own measure, for a headline number; the contact itself takes the relief as it is.
    /// See the example of [`PadNodes`].
    #[must_use]
    pub fn mean_curvature(&self, site: &Site) -> f64 {
        let width = self.directions.len();
        let (mut up, mut down) = (0.0, 0.0);
        for (k, g) in site.gap.iter().enumerate() {
            let ring = &self.rings[k / width];
            let weight = ring.area * ring.cover * Self::on_panel(site, k);
            let square = 0.5 * ring.rho * ring.rho;
            up += weight * g * square;
            down += weight * square * square;
        }
        if down > 0.0 { up / down } else { 0.0 }
    }

    fn on_panel(site: &Site, k: usize) -> f64 {
        if site.on_panel.is_empty() { 1.0 } else { site.on_panel[k] }
    }

    /// Solves the force balance at `force_n` \[N\], above 0; a self-aligning pad also that of the moments about
    /// its centre, friction left out.
    ///
    /// # Accuracy
    /// Heave to `balance` by a bracketed Newton iteration, attitude to 1e-6 of N and N R by damped Newton
    /// steps on a convex problem. See the example of [`PadNodes`].
    ///
    /// # Errors
    /// The pad bottoms out; nothing of the face is over the panel; a self-aligning pad that tips off
    /// an edge.
    pub fn solve(&self, site: &Site, hold: &Hold, force_n: f64) -> Result<LocalContact<'_>, ContactError> {
        let slopes = hold.slopes();
        let tilted = slopes.0.abs().max(slopes.1.abs()) > 0.0;
        match hold {
            Hold::SelfAligning => self.align(site, force_n),
            _ if tilted => self.solve_tilted(site, slopes, force_n),
            _ => self.solve_square(site, force_n),
        }
    }

    fn solve_square(&self, site: &Site, force_n: f64) -> Result<LocalContact<'_>, ContactError> {
        let width = self.directions.len();
        let (mut least, mut place, mut area, mut moment) = (f64::INFINITY, 0, 0.0, 0.0);
        for (i, ring) in self.rings.iter().enumerate() {
            let weight = ring.area * ring.backed / width as f64;
            for k in i * width..(i + 1) * width {
                let on = Self::on_panel(site, k);
                if on > 0.0 && ring.cover.max(ring.firmest) > 0.0 && site.gap[k] < least {
                    least = site.gap[k];
                    place = k;
                }
                area += weight * on;
                moment += weight * on * site.gap[k];
            }
        }
        if area <= 0.0 {
            return Err(ContactError::NotConverged { heave_m: f64::NAN, residual_n: -force_n });
        }
        let force_at = |heave: f64| {
            let (mut force, mut stiffness) = (0.0, 0.0);
            for (i, ring) in self.rings.iter().enumerate() {
                let (mut p, mut dp) = (0.0, 0.0);
                for k in i * width..(i + 1) * width {
                    let at = self.law.at(heave - site.gap[k]);
                    let on = Self::on_panel(site, k);
                    p += on * at.0;
                    dp += on * at.1;
                }
                let weight = ring.area * ring.backed / width as f64;
                force += weight * p;
                stiffness += weight * dp;
            }
            (force, stiffness)
        };
        let mean = self.law_compression(force_n / area);
        let start = moment / area + mean;
        let (heave, evaluations) = self
            .heave(force_at, (least, least + self.limit), start, force_n)
            .map_err(|most| self.bottoms_out(place, force_n, most))?;
        let mut out = self.described(site, heave, (0.0, 0.0), force_n, evaluations);
        out.load.rings = self
            .rings
            .iter()
            .enumerate()
            .map(|(i, ring)| {
                let nodes = i * width..(i + 1) * width;
                let p: f64 = nodes.map(|k| Self::on_panel(site, k) * self.law.at(heave - site.gap[k]).0).sum();
                ring.area * p / width as f64
            })
            .collect();
        Ok(out)
    }

    /// Heave between bounds at which `force_at`, which gives a rising force and its slope, carries
    /// `force_n`: a bracketed Newton iteration. With it, the evaluations it took; the force at the upper
    /// bound where that is too little.
    fn heave(
        &self,
        force_at: impl Fn(f64) -> (f64, f64),
        (mut low, mut high): (f64, f64),
        start: f64,
        force_n: f64,
    ) -> Result<(f64, u32), f64> {
        let most = force_at(high).0;
        if most < force_n {
            return Err(most);
        }
        let mut evaluations = 1;
        let mut heave = start.clamp(low, high);
        for _ in 0..100 {
            let (force, stiffness) = force_at(heave);
            evaluations += 1;
            let miss = force - force_n;
            if miss.abs() <= self.settings.balance * force_n {
                break;
            }
            if miss > 0.0 {
                high = heave;
            } else {
                low = heave;
            }
            let newton = heave - miss / stiffness;
            heave = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            if high - low <= 1e-15 {
                break;
            }
        }
        Ok((heave, evaluations))
    }

    fn bottoms_out(&self, node: usize, force_n: f64, most: f64) -> ContactError {
        let rho = self.rings[node / self.directions.len()].rho;
        ContactError::BottomsOut(BottomedOut {
            force_n,
            fitting_force_n: most,
            radius_m: rho,
            place: if rho > 0.8 * self.face.reach() { "at the rim" } else { "under the pad" },
        })
    }

    fn law_compression(&self, pressure: f64) -> f64 {
        match &self.law {
            PressureLaw::Linear(k) => pressure / k,
            PressureLaw::Table { per_step, values } => values.partition_point(|p| *p < pressure) as f64 / per_step,
        }
    }

    /// Calls `f(ring, node, arc, lever along x and y about the pad centre, weight)` for every node and
    /// phase that is covered and on the panel.
    fn visit(&self, site: &Site, mut f: impl FnMut(usize, usize, usize, (f64, f64), f64)) {
        let width = self.directions.len();
        let e = self.face.orbit();
        for (i, ring) in self.rings.iter().enumerate() {
            for (j, (c, s)) in self.directions.iter().enumerate() {
                let k = i * width + j;
                let on = Self::on_panel(site, k);
                if on <= 0.0 {
                    continue;
                }
                for a in ring.arcs.0..ring.arcs.1 {
                    let arc = &self.arcs[a];
                    let sine = (1.0 - arc.cosine * arc.cosine).max(0.0).sqrt();
                    // The pad centre stands at the angle β to either side of the point.
                    for sign in [-1.0, 1.0] {
                        let (rx, ry) = (c * arc.cosine - sign * s * sine, s * arc.cosine + sign * c * sine);
                        let lever = (ring.rho * c - e * rx, ring.rho * s - e * ry);
                        f(i, k, a, lever, 0.5 * on * ring.area * arc.weight / width as f64);
                    }
                }
            }
        }
    }

    /// Force and moments about the pad centre at an attitude, with their derivatives.
    fn balance(&self, site: &Site, at: &Vector3<f64>) -> (Vector3<f64>, Matrix3<f64>) {
        let (mut sum, mut slope) = (Vector3::zeros(), Matrix3::zeros());
        self.visit(site, |_, k, _, (lx, ly), weight| {
            let (p, dp) = self.law.at(at[0] + at[1] * lx + at[2] * ly - site.gap[k]);
            let l = Vector3::new(1.0, lx, ly);
            sum += weight * p * l;
            slope += weight * dp * l * l.transpose();
        });
        (sum, slope)
    }

    /// Largest compression at zero heave, and the node that has it.
    fn hardest(&self, site: &Site, slopes: (f64, f64)) -> (f64, usize) {
        let mut best = (f64::NEG_INFINITY, 0);
        self.visit(site, |_, k, _, (lx, ly), _| {
            let d = slopes.0 * lx + slopes.1 * ly - site.gap[k];
            if d > best.0 {
                best = (d, k);
            }
        });
        best
    }

    fn solve_tilted(&self, site: &Site, slopes: (f64, f64), force_n: f64) -> Result<LocalContact<'_>, ContactError> {
        let (lift, node) = self.hardest(site, slopes);
        let force_at = |heave: f64| {
            let (f, k) = self.balance(site, &Vector3::new(heave, slopes.0, slopes.1));
            (f[0], k[(0, 0)])
        };
        let bounds = (-lift, self.limit - lift);
        let (heave, evaluations) = self
            .heave(force_at, bounds, 0.5 * (bounds.0 + bounds.1), force_n)
            .map_err(|most| self.bottoms_out(node, force_n, most))?;
        Ok(self.with_phases(site, heave, slopes, force_n, evaluations))
    }

    /// Attitude with no moment about the pad centre: a convex problem, damped Newton.
    fn align(&self, site: &Site, force_n: f64) -> Result<LocalContact<'_>, ContactError> {
        let start = self.solve_square(site, force_n)?;
        let mut at = Vector3::new(start.heave_m, 0.0, 0.0);
        let scale = Vector3::new(force_n, force_n * self.face.radius(), force_n * self.face.radius());
        let target = Vector3::new(force_n, 0.0, 0.0);
        let miss_of = |sum: &Vector3<f64>| (sum - target).component_div(&scale).norm();
        let (mut sum, mut slope) = self.balance(site, &at);
        let mut evaluations = start.evaluations + 1;
        for _ in 0..60 {
            let miss = miss_of(&sum);
            if miss <= 1e-9 {
                break;
            }
            let Some(step) = slope.lu().solve(&(target - sum)) else { break };
            let mut share = 1.0;
            loop {
                let next = at + share * step;
                let found = self.balance(site, &next);
                evaluations += 1;
                if miss_of(&found.0) < miss || share < 1e-4 {
                    at = next;
                    (sum, slope) = found;
                    break;
                }
                share *= 0.5;
            }
        }
        if miss_of(&sum) > 1e-6 || at.iter().any(|v| !v.is_finite()) {
            return Err(ContactError::NotConverged { heave_m: at[0], residual_n: sum[0] - force_n });
        }
        let slopes = (at[1], at[2]);
        let (lift, node) = self.hardest(site, slopes);
        if at[0] + lift > self.limit {
            let most = self.balance(site, &Vector3::new(self.limit - lift, slopes.0, slopes.1)).0[0];
            return Err(self.bottoms_out(node, force_n, most));
        }
        Ok(self.with_phases(site, at[0], slopes, force_n, evaluations))
    }

    fn with_phases(
        &self,
        site: &Site,
        heave: f64,
        slopes: (f64, f64),
        force_n: f64,
        evaluations: u32,
    ) -> LocalContact<'_> {
        let mut out = self.described(site, heave, slopes, force_n, evaluations);
        let mut arcs = vec![0.0; self.arcs.len()];
        self.visit(site, |_, k, a, (lx, ly), weight| {
            arcs[a] += weight * self.law.at(heave + slopes.0 * lx + slopes.1 * ly - site.gap[k]).0;
        });
        out.load.rings = vec![1.0; self.rings.len()];
        out.load.arcs = Some(arcs);
        out
    }

    /// Whether a node may hold the peak: covered at all, and at least a share of `least` on the panel.
    fn counts_for_peak(&self, site: &Site, k: usize, least: f64) -> bool {
        self.rings[k / self.directions.len()].firmest > 0.0 && Self::on_panel(site, k) >= least
    }

    /// Peak, contact and overhang of a solution; the load is left to the caller.
    fn described(
        &self,
        site: &Site,
        heave: f64,
        slopes: (f64, f64),
        force_n: f64,
        evaluations: u32,
    ) -> LocalContact<'_> {
        let width = self.directions.len();
        let (mut touching, mut over, mut hardest) = (0.0, 0.0, f64::NEG_INFINITY);
        let (mut peak, mut peak_at) = (0.0, (0.0, 0.0));
        let tilted = slopes.0.abs().max(slopes.1.abs()) > 0.0;
        // A node whose middle is off the panel carries what of it is on, but is pressed less or more than
        // that: it counts for the peak only where no node has its middle on the panel.
        let least =
            if (0..site.gap.len()).any(|k| self.counts_for_peak(site, k, 0.5)) { 0.5 } else { f64::MIN_POSITIVE };
        let mut meet = |k: usize, compression: f64| {
            if !self.counts_for_peak(site, k, least) {
                return;
            }
            let ring = &self.rings[k / width];
            hardest = f64::max(hardest, compression);
            let p = ring.firmest * self.law.at(compression).0;
            if p > peak {
                let (c, s) = self.directions[k % width];
                (peak, peak_at) = (p, (ring.rho * c, ring.rho * s));
            }
        };
        for (i, ring) in self.rings.iter().enumerate() {
            for k in i * width..(i + 1) * width {
                let on = Self::on_panel(site, k);
                let area = ring.area * ring.cover / width as f64;
                over += area * (1.0 - on);
                if !tilted && on > 0.0 && ring.firmest > 0.0 {
                    let compression = heave - site.gap[k];
                    touching += if compression > 0.0 { area * on } else { 0.0 };
                    meet(k, compression);
                }
            }
        }
        if tilted {
            self.visit(site, |i, k, a, (lx, ly), _| {
                let compression = heave + slopes.0 * lx + slopes.1 * ly - site.gap[k];
                if compression > 0.0 {
                    let share = 0.5 * self.arcs[a].cover * Self::on_panel(site, k);
                    touching += self.rings[i].area * share / width as f64;
                }
                meet(k, compression);
            });
        }
        let area = self.face.area();
        LocalContact {
            heave_m: heave,
            slopes,
            peak_pressure_pa: peak,
            peak_at,
            contact_share: (touching / area).clamp(0.0, 1.0),
            overhang_share: (over / area).clamp(0.0, 1.0),
            compression_m: (hardest, self.limit),
            force_n,
            evaluations,
            load: LocalLoad { nodes: self, rings: Vec::new(), arcs: None },
        }
    }
}

/// One ring of a local load, for the friction sums.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LoadRing<'a> {
    pub(crate) rho: f64,
    /// Force of the ring were it always covered; to be multiplied by the arcs' weights otherwise.
    pub(crate) force: f64,
    /// Cosine of the phase and weight; `None` for a ring that is always covered.
    pub(crate) arcs: Option<(&'a [ArcPoint], Option<&'a [f64]>)>,
}

impl LocalLoad<'_> {
    /// The orbiting face.
    #[must_use]
    pub const fn face(&self) -> &Face {
        self.nodes.face()
    }

    /// The rings with their forces.
    pub(crate) fn rings(&self) -> impl Iterator<Item = LoadRing<'_>> {
        self.nodes.rings.iter().zip(&self.rings).filter(|(n, _)| n.area > 0.0).map(|(n, force)| {
            let range = n.arcs.0..n.arcs.1;
            let arcs = match &self.arcs {
                Some(own) => Some((&self.nodes.arcs[range.clone()], Some(&own[range]))),
                None if n.always => None,
                None => Some((&self.nodes.arcs[range], None)),
            };
            LoadRing { rho: n.rho, force: *force, arcs }
        })
    }
}
