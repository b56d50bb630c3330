//! Direction of scratches: how ordered the sliding is at a place, which way it runs, and how soon a grain
//! comes back into its own trace.
//!
//! A random orbit hides its scratches because they run every way; a rotary pass leaves them side by side,
//! which the eye sees as holograms. The measure is the second-order orientation tensor of the sliding
//! direction u, weighed with the work:
//!
//! ```text
//! A = Σ p|v| u⊗u / Σ p|v|        eigenvalues λ1 + λ2 = 1
//! anisotropy = |λ1 − λ2| = √(⟨cos 2φ⟩² + ⟨sin 2φ⟩²)
//! ```
//!
//! 0 where no direction is preferred, 1 where all run one way (there and back count alike). Not the look
//! itself: no light, no scratch profile. Sources: C. L. Tucker and S. G. Advani, J. Rheol. 31 (1987)
//! 751-784, for orientation tensors (from memory); the rest is kinematics.

use super::grains::reference::visit_deposits;
use super::grains::{GrainCase, GrainFields, GrainSettings};
use crate::error::RangeError;
use crate::motion::GrainPath;
use core::f64::consts::{PI, TAU};

/// Work-weighted direction of sliding at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orientation {
    /// |λ1 − λ2| of the orientation tensor \[1\], 0 (every way) to 1 (one way).
    pub anisotropy: f64,
    /// Main direction from x \[rad\], −π/2 to π/2; without meaning where the anisotropy is near zero.
    pub direction_rad: f64,
}

impl Orientation {
    /// From the sums of weight, weight x cos 2φ and weight x sin 2φ; `None` without weight.
    ///
    /// # Example
    /// ```
    /// use trochoid::removal::Orientation;
    /// // Three parts along x, one part along y: λ = 3/4 and 1/4.
    /// let mixed = Orientation::of_sums(4.0, 3.0 - 1.0, 0.0).unwrap();
    /// assert!((mixed.anisotropy - 0.5).abs() < 1e-15 && mixed.direction_rad.abs() < 1e-15);
    /// ```
    #[must_use]
    pub fn of_sums(weight: f64, cos2: f64, sin2: f64) -> Option<Self> {
        if weight > 0.0 {
            Some(Self { anisotropy: cos2.hypot(sin2) / weight, direction_rad: 0.5 * sin2.atan2(cos2) })
        } else {
            None
        }
    }
}

impl GrainFields {
    /// Orientation over every cell whose centre lies in the rectangle \[m\]; `None` where nothing was
    /// worked. See the example of [`super::grain_quantity`].
    #[must_use]
    pub fn orientation_in(&self, from: (f64, f64), to: (f64, f64)) -> Option<Orientation> {
        let (nx, ny) = self.grid.count();
        let mut sums = (0.0, 0.0, 0.0);
        for j in 0..ny {
            for i in 0..nx {
                let (x, y) = self.grid.centre(i, j);
                if x >= from.0 && x <= to.0 && y >= from.1 && y <= to.1 {
                    let c = j * nx + i;
                    sums = (sums.0 + self.work[c], sums.1 + self.cos2[c], sums.2 + self.sin2[c]);
                }
            }
        }
        Orientation::of_sums(sums.0, sums.1, sums.2)
    }

    /// Orientation at every cell, row by row, over a Gaussian of standard deviation `sigma_m` \[m\] around
    /// it; `None` where nothing was worked.
    ///
    /// # Accuracy
    /// n independent traces through the smoothed patch leave an anisotropy of about 1/√n where there is
    /// none: smooth over several grain spacings.
    #[must_use]
    pub fn orientation(&self, sigma_m: f64) -> Vec<Option<Orientation>> {
        let smooth = |v: &[f64]| super::grains::smoothed(v, &self.grid, sigma_m);
        let (work, cos2, sin2) = (smooth(&self.work), smooth(&self.cos2), smooth(&self.sin2));
        work.iter().zip(cos2.iter().zip(&sin2)).map(|(w, (c, s))| Orientation::of_sums(*w, *c, *s)).collect()
    }

    /// Mean anisotropy \[1\] over the worked cells inside the rectangle \[m\], each told over a Gaussian of
    /// standard deviation `sigma_m` \[m\] and weighed with its work; `None` where nothing was worked.
    #[must_use]
    pub fn mean_anisotropy(&self, sigma_m: f64, from: (f64, f64), to: (f64, f64)) -> Option<f64> {
        let (nx, _) = self.grid.count();
        let (mut weight, mut sum) = (0.0, 0.0);
        for (c, o) in self.orientation(sigma_m).iter().enumerate() {
            let (x, y) = self.grid.centre(c % nx, c / nx);
            if let Some(o) = o.filter(|_| x >= from.0 && x <= to.0 && y >= from.1 && y <= to.1) {
                weight += self.work[c];
                sum += self.work[c] * o.anisotropy;
            }
        }
        if weight > 0.0 { Some(sum / weight) } else { None }
    }
}

/// Anisotropy \[1\] at a panel point that stays covered for whole orbits, tool at rest.
///
/// ```text
/// v = a û(β) + b ŷ,  a = e|Ω − ω|,  b = |ω| ρ      [m/s]
/// anisotropy = |∮ |v| cos 2φ dβ| / ∮ |v| dβ
/// ```
///
/// 0 at the tool axis (b = 0) and for a pad that does not spin; 1 for a rotary pad (a = 0). For b well
/// below a it grows as ⅜(b/a)².
///
/// # Assumptions and valid range
/// Pressure that does not change over the orbit, feed left out of v.
///
/// # Accuracy
/// 720 phases of a periodic integrand: 1e-12 except near a = b, where the speed touches zero and 1e-5 is
/// left. Zero where neither speed is.
///
/// # Example
/// ```
/// use trochoid::removal::point_anisotropy;
/// // One way under a rotary pad, every way without spin.
/// assert!((point_anisotropy(0.0, 2.0) - 1.0).abs() < 1e-12 && point_anisotropy(3.0, 0.0) < 1e-12);
/// // Spin a tenth of the orbit's speed: ⅜ × 0.1² = 0.00375.
/// assert!((point_anisotropy(3.0, 0.3) - 0.00375).abs() < 1e-5);
/// ```
///
/// # References
/// Own derivation from the tensor of Tucker and Advani, J. Rheol. 31 (1987) 751-784 (from memory).
#[must_use]
pub fn point_anisotropy(orbit_speed: f64, spin_speed: f64) -> f64 {
    let (mut weight, mut along) = (0.0, 0.0);
    for i in 0..720 {
        let (sin, cos) = (TAU * (f64::from(i) + 0.5) / 720.0).sin_cos();
        let (x, y) = (orbit_speed * cos, orbit_speed * sin + spin_speed);
        let speed = x.hypot(y);
        weight += speed;
        if speed > 0.0 {
            along += (x * x - y * y) / speed;
        }
    }
    if weight > 0.0 { along.abs() / weight } else { 0.0 }
}

/// Work per direction of sliding inside a disc of the panel: a rose.
#[derive(Debug, Clone, PartialEq)]
pub struct Rose {
    /// Share of the work \[1\] in each of the even bins of 0..π from x.
    pub shares: Vec<f64>,
    /// Orientation over the disc.
    pub orientation: Orientation,
    /// Deposits that fell into the disc \[1\].
    pub deposits: f64,
}

/// Which directions the grains of `case` slide in inside a disc of the panel about `centre` \[m\]; `None`
/// where nothing is worked in it.
///
/// # Accuracy
/// The slow obvious simulation, deposit by deposit: see [`super::grains::reference`].
///
/// # Errors
/// As [`super::grain_fields`]; bins outside 2 to 3600.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::motion::Face;
/// use trochoid::removal::{GrainCase, GrainSettings, Grains, Grid, Travel, rose};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let patch = Patch::flat();
/// # let contact = solve(&pad, &patch, 9e-3, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // A grain in the middle of a pad without spin runs round a circle, here ten times in 64 steps each.
/// let grains = Grains::at(&Face::new(&pad, 9e-3), &[(0.0, 0.0)])?;
/// let travel = Travel::Standing { at: (0.1, 0.1), seconds: 10.0 * core::f64::consts::TAU / 500.0 };
/// let (rates, grid) = ((500.0, 0.0), Grid::over((0.2, 0.2), 1e-3)?);
/// let case = GrainCase { contact: &contact, patch: &patch, rate_rad_s: rates.0, spin_rad_s: rates.1,
///     start_rad: (0.0, 0.0), grains: &grains, travel, grid };
/// // Every direction alike: a quarter of the work in each of four bins.
/// let found = rose(&case, (0.1, 0.1), 0.02, 4, &GrainSettings::default())?;
/// assert!(found.is_some_and(|r| (r.deposits - 640.0).abs() < 0.5
///     && r.orientation.anisotropy < 1e-12 && r.shares.iter().all(|s| (s - 0.25).abs() < 1e-12)));
/// # Ok(())
/// # }
/// ```
pub fn rose(
    case: &GrainCase<'_>,
    centre: (f64, f64),
    radius_m: f64,
    bins: usize,
    settings: &GrainSettings,
) -> Result<Option<Rose>, RangeError> {
    if !(2..=3600).contains(&bins) {
        return Err(RangeError::new("bins of a rose", bins as f64, "", "2 to 3600"));
    }
    let mut shares = vec![0.0; bins];
    let (mut weight, mut cos2, mut sin2, mut deposits) = (0.0, 0.0, 0.0, 0.0);
    visit_deposits(case, settings, |d| {
        let (dx, dy) = (d.at.0 - centre.0, d.at.1 - centre.1);
        if d.pressure <= 0.0 || dx * dx + dy * dy > radius_m * radius_m {
            return;
        }
        let work = d.pressure * d.velocity.0.hypot(d.velocity.1);
        let direction = d.velocity.1.atan2(d.velocity.0).rem_euclid(PI);
        // 0 ≤ direction ≤ π, the last being the first again.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let bin = (direction / PI * bins as f64) as usize % bins;
        shares[bin] += work;
        weight += work;
        cos2 += work * (2.0 * direction).cos();
        sin2 += work * (2.0 * direction).sin();
        deposits += 1.0;
    })?;
    let Some(orientation) = Orientation::of_sums(weight, cos2, sin2) else { return Ok(None) };
    for s in &mut shares {
        *s /= weight;
    }
    Ok(Some(Rose { shares, orientation, deposits }))
}

/// How soon a standing pad brings a grain back into its own trace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearRepeat {
    /// Orbits until then.
    pub orbits: u64,
    /// Turns of the pad in that time.
    pub turns: i64,
    /// How far a grain at the rim then is beside its trace \[m\].
    pub miss_m: f64,
    /// 1 / `orbits` \[1\]: 1 where every orbit runs in the last one's trace, near 0 where none does.
    pub index: f64,
}

/// Longest repeat that is looked for, orbits: over an hour of work.
const MOST_ORBITS: f64 = 1e6;

/// The first number of orbits after which every grain within `radius_m` of the pad centre comes back into
/// its trace to within `width_m`; `None` where that takes more than a million orbits.
///
/// ```text
/// 2π R |n ω/Ω − m| ≤ w        n orbits, m turns
/// ```
///
/// The smallest such n belongs to a convergent of the continued fraction of ω/Ω, since those are its best
/// approximations (A. Ya. Khinchin, Continued Fractions, theorem 16; from memory).
///
/// # Assumptions
/// A tool at rest. With a feed f each orbit is also moved on by 2πf/Ω.
///
/// # Example
/// ```
/// use trochoid::removal::near_repeat;
/// // One turn in 20 orbits: the 21st orbit runs in the trace of the first.
/// let r = near_repeat(400.0, 20.0, 0.07, 20e-6).unwrap().unwrap();
/// assert_eq!((r.orbits, r.turns), (20, 1));
/// ```
///
/// # Errors
/// An orbit rate of zero, a radius or a width that is not positive, a spin that is not finite.
pub fn near_repeat(
    rate_rad_s: f64,
    spin_rad_s: f64,
    radius_m: f64,
    width_m: f64,
) -> Result<Option<NearRepeat>, RangeError> {
    for (what, v) in [("orbit rate", rate_rad_s.abs()), ("radius", radius_m), ("grain width", width_m)] {
        if !(v.is_finite() && v > 0.0) {
            return Err(RangeError::new(what, v, "SI", "above 0"));
        }
    }
    let ratio = spin_rad_s / rate_rad_s;
    crate::equipment::within("spin over orbit rate", ratio, -1e6, 1e6, "")?;
    // Convergents m/n by the continued fraction of the ratio; all exact in f64 up to the bound on n.
    let (mut before, mut last) = ((0.0, 1.0), (1.0, 0.0));
    let mut rest = ratio;
    loop {
        let whole = rest.floor();
        let next = (whole * last.0 + before.0, whole * last.1 + before.1);
        let (turns, orbits): (f64, f64) = next;
        if orbits > MOST_ORBITS {
            return Ok(None);
        }
        let miss = TAU * radius_m * (orbits * ratio - turns).abs();
        if miss <= width_m {
            // Whole numbers, at most 1e12.
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let (orbits, turns) = (orbits as u64, turns as i64);
            return Ok(Some(NearRepeat { orbits, turns, miss_m: miss, index: 1.0 / orbits as f64 }));
        }
        (before, last) = (last, next);
        rest = 1.0 / (rest - whole);
    }
}

/// Shape of a grain's path over one orbit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopShape {
    /// Way along the path \[m\].
    pub length_m: f64,
    /// How far the grain has moved on after the orbit \[m\].
    pub drift_m: f64,
    /// Widest extent of the path across the drift \[m\]: the size of the loop.
    pub width_m: f64,
    /// Mean of the curvature's magnitude along the path \[1/m\].
    pub mean_curvature_per_m: f64,
    /// Smallest radius of curvature \[m\].
    pub tightest_radius_m: f64,
    /// Whether the path runs in loops: the grain moves backward for part of the orbit.
    pub loops: bool,
}

/// The shape of a grain's path over the orbit that starts at `from_s` \[s\].
///
/// # Accuracy
/// 1440 points an orbit: 1e-5 of extents and means away from cusps.
///
/// # Errors
/// An orbit rate of zero: without an orbit there is no loop.
///
/// # Example
/// ```
/// use trochoid::motion::GrainPath;
/// use trochoid::removal::loop_shape;
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // Without spin and feed a circle of 6 mm radius: 2π 6 mm = 37.70 mm round, 12 mm wide, no drift.
/// let (rate_rad_s, spin_rad_s, feed_m_s) = (440.0, 0.0, (0.0, 0.0));
/// let grain = GrainPath { orbit_m: 6e-3, rate_rad_s, spin_rad_s, radius_m: 0.05, start_rad: 0.0, feed_m_s };
/// let shape = loop_shape(&grain, 0.0)?;
/// assert!((shape.length_m - 37.699e-3).abs() < 1e-6 && (shape.width_m - 12e-3).abs() < 1e-7);
/// assert!((shape.tightest_radius_m - 6e-3).abs() < 1e-9 && shape.drift_m < 1e-12);
/// # Ok(())
/// # }
/// ```
pub fn loop_shape(path: &GrainPath, from_s: f64) -> Result<LoopShape, RangeError> {
    const POINTS: usize = 1440;
    let period = TAU / path.rate_rad_s.abs();
    if !period.is_finite() {
        return Err(RangeError::new("orbit rate", path.rate_rad_s, "rad/s", "not 0"));
    }
    let (start, end) = (path.position(from_s), path.position(from_s + period));
    let drift = (end.0 - start.0, end.1 - start.1);
    let drift_m = drift.0.hypot(drift.1);
    // Without a drift any direction will do.
    let along = if drift_m > 1e-12 { (drift.0 / drift_m, drift.1 / drift_m) } else { (1.0, 0.0) };
    let (mut length, mut bent, mut sharpest) = (0.0, 0.0, 0.0_f64);
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut backward = false;
    for i in 0..POINTS {
        let t = from_s + period * (i as f64 + 0.5) / POINTS as f64;
        let ((x, y), (vx, vy)) = (path.position(t), path.velocity(t));
        let across = along.0 * (y - start.1) - along.1 * (x - start.0);
        (low, high) = (low.min(across), high.max(across));
        let step = vx.hypot(vy) * period / POINTS as f64;
        length += step;
        let curvature = path.curvature(t).abs();
        if curvature.is_finite() {
            bent += curvature * step;
            sharpest = sharpest.max(curvature);
        }
        backward |= along.0 * vx + along.1 * vy < 0.0;
    }
    Ok(LoopShape {
        length_m: length,
        drift_m,
        width_m: high - low,
        mean_curvature_per_m: if length > 0.0 { bent / length } else { 0.0 },
        tightest_radius_m: 1.0 / sharpest,
        loops: backward,
    })
}
