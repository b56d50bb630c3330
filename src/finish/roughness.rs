//! The roughness that a step leaves: how deep its grains press in, and how much of the marks before it
//! are still there.
//!
//! A grain is a blunt cone that carries its share of the pressure on the front half of its imprint and
//! ploughs a groove; grooves side by side make the roughness. It orders steps (fine below coarse, soft
//! pad below stiff, hard paint below soft) and gives a size with a wide interval; it is not a
//! measurement of a product. The cut itself comes from `removal`.
//!
//! Cone under load: F. P. Bowden and D. Tabor, The Friction and Lubrication of Solids, 1950, ploughing;
//! E. Rabinowicz, Friction and Wear of Materials, 1965 (front half carries the load). The constants are
//! ours unless [`super::TABLE`] names a source.

use super::error::FinishError;
use super::grit::{Grit, MARK_DEPTH_SPREAD};
use crate::equipment::{Hardness, within};
use crate::error::RangeError;
use crate::math::distribution::{LogNormal, normal_half_width};
use crate::math::interval::{Interval, checked_level};
use crate::units::{Length, Pressure};
use core::f64::consts::PI;

/// Half angle of the cone that stands for a grain, degrees. Assumed: a grain attacks at some 30°.
pub const CONE_HALF_ANGLE_DEG: f64 = 60.0;
/// Largest depth of a mark as a share of the grain. Assumed: deeper, the grain's root would rub.
pub const DEPTH_CAP_SHARE: f64 = 0.25;
/// Standard deviation of the logarithm of a predicted roughness: within a factor of 2.7 at 95 %. Assumed.
pub const ROUGHNESS_SPREAD: f64 = 0.5;
/// How much rougher marks that all run one way stay than crossing ones, which cut off each other's
/// ridges. Assumed.
pub const ONE_WAY_GAIN: f64 = 0.4;
/// Cut that leaves 1/e of the marks before, in median depths of those marks. Derived: least largest
/// difference (0.12) to slicing off triangular marks whose depths spread by [`MARK_DEPTH_SPREAD`].
pub const DECAY_DEPTHS: f64 = 1.07;
/// Depth at which half of a groove's volume leaves as debris; shallower grains mostly push aside, m.
/// Assumed; it only orders the cut of steps.
pub const CUTTING_DEPTH_M: f64 = 30e-9;
/// Anisotropy above which marks count as directional. Assumed.
pub const DIRECTIONAL_FROM: f64 = 0.3;
/// Indentation hardness of soft, medium and hard clear coat, MPa. Assumed order of magnitude.
pub const HARDNESS_MPA: [f64; 3] = [80.0, 150.0, 250.0];
/// Share of a closed layer of grains in action under finishing foam, cutting foam and fibre. Assumed: a
/// softer face brings more grains to bear.
pub const ACTIVE_SHARE: [f64; 3] = [0.03, 0.015, 0.008];

/// The face that carries the grains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Face {
    /// Soft foam.
    FinishingFoam,
    /// Firm foam.
    CuttingFoam,
    /// Microfibre or wool.
    Fibre,
    /// Share of a closed layer of grains in action, 1e-4 to 1.
    ActiveShare(f64),
}

impl Face {
    fn active_share(self) -> f64 {
        match self {
            Self::FinishingFoam => ACTIVE_SHARE[0],
            Self::CuttingFoam => ACTIVE_SHARE[1],
            Self::Fibre => ACTIVE_SHARE[2],
            Self::ActiveShare(share) => share,
        }
    }
}

/// Indentation hardness of a hardness class ([`HARDNESS_MPA`]) or the measured one.
///
/// # Example
/// ```
/// use trochoid::equipment::Hardness;
/// assert!((trochoid::finish::indentation_hardness(Hardness::Medium).mpa() - 150.0).abs() < 1e-9);
/// ```
#[must_use]
pub const fn indentation_hardness(hardness: Hardness) -> Pressure {
    match hardness {
        Hardness::Soft => Pressure::from_mpa(HARDNESS_MPA[0]),
        Hardness::Medium => Pressure::from_mpa(HARDNESS_MPA[1]),
        Hardness::Hard => Pressure::from_mpa(HARDNESS_MPA[2]),
        Hardness::Measured(h) => h,
    }
}

/// Grains at work on paint: what decides how deep they mark it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Abrading {
    grain_m: f64,
    pressure_pa: f64,
    active_share: f64,
    hardness_pa: f64,
    anisotropy: f64,
}

impl Abrading {
    /// Grains of size `grain` under the mean pressure `pressure` of a pad with face `face` on paint of
    /// hardness `hardness`, moved in all directions alike.
    ///
    /// # Errors
    /// A grain outside 0.01 to 100 µm, a pressure outside 0.01 to 1000 kPa, an active share outside 1e-4
    /// to 1, a hardness outside 1 to 10 000 MPa. See the example of [`Abrading::groove_depth`].
    pub fn new(grain: Length, pressure: Pressure, face: Face, hardness: Hardness) -> Result<Self, RangeError> {
        let hardness = indentation_hardness(hardness);
        within("grain_um", grain.um(), 0.01, 100.0, "µm")?;
        within("pressure_kpa", pressure.kpa(), 0.01, 1e3, "kPa")?;
        within("active share of the grains", face.active_share(), 1e-4, 1.0, "")?;
        within("hardness_mpa", hardness.mpa(), 1.0, 1e4, "MPa")?;
        Ok(Self {
            grain_m: grain.m(),
            pressure_pa: pressure.pa(),
            active_share: face.active_share(),
            hardness_pa: hardness.pa(),
            anisotropy: 0.0,
        })
    }

    /// Sets the anisotropy of the sliding direction \[1\]: 0 for a random orbit, 1 for one direction only.
    ///
    /// # Errors
    /// Outside 0 to 1.
    pub fn with_anisotropy(mut self, anisotropy: f64) -> Result<Self, RangeError> {
        self.anisotropy = within("anisotropy", anisotropy, 0.0, 1.0, "")?;
        Ok(self)
    }

    /// Load on one grain \[N\]: pressure over grains in action per area, `p d²/c`.
    #[must_use]
    pub fn load_per_grain(&self) -> f64 {
        self.pressure_pa * self.grain_m * self.grain_m / self.active_share
    }

    /// Median depth of the grooves, m.
    ///
    /// ```text
    /// h = min( √( F / (½ π tan²θ · H) ), 0.25 d )     F load per grain [N], H hardness [Pa], d grain [m]
    /// ```
    ///
    /// # Assumptions and valid range
    /// Blunt cones of half angle θ = 60° that the front half of their imprint carries; all grains alike. It
    /// orders steps; the size is known within [`ROUGHNESS_SPREAD`].
    ///
    /// # Example
    /// ```
    /// use trochoid::equipment::Hardness;
    /// use trochoid::finish::{Abrading, Face};
    /// use trochoid::{Length, Pressure};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // 3 kPa on 1.5 % of a layer of 3 µm grains, 150 MPa: F = 1.8 µN, h = √(F/(4.712·150e6)) = 50.46 nm.
    /// let work = Abrading::new(Length::from_um(3.0), Pressure::from_kpa(3.0), Face::CuttingFoam, Hardness::Medium)?;
    /// assert!((work.groove_depth() - 50.46e-9).abs() < 1e-11);
    /// # Ok(())
    /// # }
    /// ```
    ///
    /// # References
    /// F. P. Bowden and D. Tabor, The Friction and Lubrication of Solids, 1950, ploughing; E. Rabinowicz,
    /// Friction and Wear of Materials, 1965, the front half; constants are own.
    #[must_use]
    pub fn groove_depth(&self) -> f64 {
        let tan = CONE_HALF_ANGLE_DEG.to_radians().tan();
        let depth = (self.load_per_grain() / (0.5 * PI * tan * tan * self.hardness_pa)).sqrt();
        depth.min(DEPTH_CAP_SHARE * self.grain_m)
    }

    /// Whether the depth is held by the grain's size rather than by its load.
    #[must_use]
    pub fn depth_is_capped(&self) -> bool {
        self.groove_depth() >= DEPTH_CAP_SHARE * self.grain_m
    }

    /// The marks that long work leaves.
    ///
    /// # Errors
    /// A depth outside the range of [`LogNormal::new`].
    pub fn marks(&self) -> Result<Marks, RangeError> {
        let depth = LogNormal::new(self.groove_depth(), ROUGHNESS_SPREAD)?;
        Marks::new(depth, self.anisotropy)
    }

    /// The same where gloss has told how rough the step leaves a surface: `factor` on the depth \[1\], and
    /// the standard deviation `ln_sd` of its logarithm \[1\].
    ///
    /// # Errors
    /// A factor or spread that takes the depth outside the range of [`LogNormal::new`].
    pub fn marks_with(&self, factor: f64, ln_sd: f64) -> Result<Marks, RangeError> {
        Marks::new(LogNormal::new(factor * self.groove_depth(), ln_sd)?, self.anisotropy)
    }

    /// Cut per sliding length \[1\] up to a factor common to all steps: groove area, grains per area and the
    /// share that leaves as debris. Only the ratio of two steps means anything; it stands in where no cut
    /// was measured, and is no Preston coefficient.
    ///
    /// ```text
    /// p/H · h²/(h² + h0²)      p pressure, H hardness [Pa], h depth of the grooves [m], h0 = 30 nm
    /// ```
    ///
    /// # References
    /// Own form; the depth h0 is assumed ([`CUTTING_DEPTH_M`]).
    #[must_use]
    pub fn relative_cut(&self) -> f64 {
        let h2 = self.groove_depth().powi(2);
        self.pressure_pa / self.hardness_pa * h2 / (h2 + CUTTING_DEPTH_M * CUTTING_DEPTH_M)
    }
}

/// RMS roughness of dense triangular marks over their median depth \[1\], for depths that spread by
/// [`MARK_DEPTH_SPREAD`].
///
/// ```text
/// √(⟨d²⟩/3 − ⟨d⟩²/4)/median = √(e^(2s²)/3 − e^(s²)/4)      d depth [m], s spread of its logarithm [1]
/// ```
///
/// # Example
/// ```
/// // s = 0.35: √(1.27762/3 − 1.13032/4) = √0.14329 = 0.3785; marks all alike would give √(1/12) = 0.2887.
/// assert!((trochoid::finish::rms_per_depth() - 0.3785).abs() < 1e-4);
/// ```
///
/// # References
/// Own derivation.
#[must_use]
pub fn rms_per_depth() -> f64 {
    let s2 = MARK_DEPTH_SPREAD * MARK_DEPTH_SPREAD;
    ((2.0 * s2).exp() / 3.0 - s2.exp() / 4.0).sqrt()
}

/// What marks look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkKind {
    /// Marks in all directions: a grey veil, micro-marring.
    MicroMarring,
    /// Marks along one direction: light bands that move with the eye, holograms. Left by rotary work.
    Hologram,
}

impl MarkKind {
    /// By the anisotropy \[1\], 0 to 1; holograms above [`DIRECTIONAL_FROM`].
    #[must_use]
    pub fn of(anisotropy: f64) -> Self {
        if anisotropy > DIRECTIONAL_FROM { Self::Hologram } else { Self::MicroMarring }
    }
}

/// Marks of one step: typical depth, the roughness they make, how directional they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Marks {
    depth: LogNormal,
    rms: LogNormal,
    anisotropy: f64,
}

impl Marks {
    /// From the typical depth \[m\], known within its spread, and the anisotropy \[1\].
    ///
    /// # Errors
    /// An anisotropy outside 0 to 1; a roughness outside the range of [`LogNormal::new`].
    pub fn new(depth: LogNormal, anisotropy: f64) -> Result<Self, RangeError> {
        within("anisotropy", anisotropy, 0.0, 1.0, "")?;
        let rms = depth.scaled(rms_per_depth() * (1.0 + ONE_WAY_GAIN * anisotropy))?;
        Ok(Self { depth, rms, anisotropy })
    }

    /// Sanding marks of a grit, made in all directions.
    ///
    /// # Errors
    /// As [`Grit::mark_depth`].
    pub fn sanding(grit: &Grit) -> Result<Self, FinishError> {
        Ok(Self::new(grit.mark_depth()?, 0.0)?)
    }

    /// Typical depth, m.
    #[must_use]
    pub const fn depth(&self) -> &LogNormal {
        &self.depth
    }

    /// RMS roughness, m.
    #[must_use]
    pub const fn rms(&self) -> &LogNormal {
        &self.rms
    }

    /// Anisotropy \[1\], 0 to 1.
    #[must_use]
    pub const fn anisotropy(&self) -> f64 {
        self.anisotropy
    }

    /// Share of the RMS roughness of these marks that is left after a cut \[1\], for marks of the median
    /// depth.
    ///
    /// ```text
    /// exp(−h / (1.07 d))      h cut [m], d median depth [m]
    /// ```
    ///
    /// # Accuracy
    /// Within 0.13 of slicing off triangular marks of spread depths.
    ///
    /// # Errors
    /// A cut that is negative or above 1 mm.
    ///
    /// # Example
    /// ```
    /// use trochoid::Length;
    /// use trochoid::finish::{LogNormal, Marks};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // A cut of 1.07 depths leaves 1/e = 0.3679.
    /// let marks = Marks::new(LogNormal::new(1e-6, 0.5)?, 0.0)?;
    /// assert!((marks.share_left(Length::from_um(1.07))? - 0.3679).abs() < 1e-4);
    /// # Ok(())
    /// # }
    /// ```
    pub fn share_left(&self, cut: Length) -> Result<f64, RangeError> {
        within("cut_um", cut.um(), 0.0, 1000.0, "µm")?;
        Ok(self.left_at(cut.m(), 0.0))
    }

    fn left_at(&self, cut: f64, z: f64) -> f64 {
        (-cut / (DECAY_DEPTHS * self.depth.at(z))).exp()
    }
}

/// One step done on a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Worked {
    marks: Marks,
    cut: LogNormal,
}

/// A surface and the steps done on it so far.
///
/// Each step cuts away marks that are there, the shallow ones sooner, and writes its own as it cuts:
///
/// ```text
/// σ² = Σ σ_i² · (1 − exp(−2 h_i/(c d_i))) · exp(−2 H_i/(c d_i))
///
/// σ_i, d_i   steady roughness and depth of the marks of step i [m];  c = 1.07
/// h_i, H_i   cut of step i, cut of all steps after it [m]
/// ```
///
/// So a step approaches its steady roughness exponentially, at the pace of the marks before it where
/// those are deeper; a step done in two halves is the same step. Intervals take all unknowns to the same
/// side at once, a cut to one side where it writes and to the other where it clears: wider than the truth.
///
/// # Example
/// ```
/// use trochoid::finish::{LogNormal, Marks, Surface, rms_per_depth};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // Marks of 1 µm alone: 1 µm × 0.3785. A long second step of marks a tenth as deep leaves a tenth.
/// let marks = |depth: f64| Marks::new(LogNormal::new(depth, 0.0)?, 0.0);
/// let coarse = Surface::marked(marks(1e-6)?);
/// assert!((coarse.rms(0.9)?.best / (1e-6 * rms_per_depth()) - 1.0).abs() < 1e-12);
/// let fine = coarse.worked(marks(1e-7)?, LogNormal::new(2e-5, 0.0)?);
/// assert!((fine.rms(0.9)?.best / (1e-7 * rms_per_depth()) - 1.0).abs() < 1e-9);
/// assert!(fine.share_of_earlier_marks() < 1e-12);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own model; c is fitted to slicing off triangular marks ([`DECAY_DEPTHS`]).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Surface {
    start: Option<Marks>,
    steps: Vec<Worked>,
}

impl Surface {
    /// A surface without marks.
    #[must_use]
    pub const fn smooth() -> Self {
        Self { start: None, steps: Vec::new() }
    }

    /// A surface that bears marks.
    #[must_use]
    pub const fn marked(marks: Marks) -> Self {
        Self { start: Some(marks), steps: Vec::new() }
    }

    /// The surface after a step that leaves `marks` and cuts `cut` \[m\] in all.
    #[must_use]
    pub fn worked(&self, marks: Marks, cut: LogNormal) -> Self {
        let mut next = self.clone();
        next.steps.push(Worked { marks, cut });
        next
    }

    /// RMS roughness \[m\] with the interval that holds `confidence`; all zero while nothing marks it.
    ///
    /// # Errors
    /// A confidence outside 0.5 to 0.999.
    pub fn rms(&self, confidence: f64) -> Result<Interval, RangeError> {
        let z = normal_half_width(checked_level("confidence", confidence)?);
        Ok(Interval { low: self.rms_at(-z), best: self.rms_at(0.0), high: self.rms_at(z), level: confidence })
    }

    /// Anisotropy of what is on the surface \[1\], each step's by its share of the variance; `None` while
    /// nothing marks it.
    #[must_use]
    pub fn anisotropy(&self) -> Option<f64> {
        let layers = self.layers(0.0);
        let all: f64 = layers.iter().map(|l| l.1).sum();
        (all > 0.0).then(|| layers.iter().map(|(m, v)| m.anisotropy * v).sum::<f64>() / all)
    }

    /// What the marks look like; `None` while there are none.
    #[must_use]
    pub fn kind(&self) -> Option<MarkKind> {
        self.anisotropy().map(MarkKind::of)
    }

    /// Share of the variance on the surface that the last step did not write \[1\]: marks it should have
    /// removed; 0 before any step. See the example of [`Surface`].
    #[must_use]
    pub fn share_of_earlier_marks(&self) -> f64 {
        let layers = self.layers(0.0);
        let all: f64 = layers.iter().map(|l| l.1).sum();
        match (layers.split_last(), self.steps.is_empty()) {
            (Some((_, earlier)), false) if all > 0.0 => earlier.iter().map(|l| l.1).sum::<f64>() / all,
            _ => 0.0,
        }
    }

    pub(super) fn rms_at(&self, z: f64) -> f64 {
        self.layers(z).iter().map(|l| l.1).sum::<f64>().sqrt()
    }

    /// Marks on the surface with their variance \[m²\], oldest first, with every unknown `z` standard
    /// deviations to the rough side.
    fn layers(&self, z: f64) -> Vec<(Marks, f64)> {
        let mut out: Vec<(Marks, f64)> = self.start.iter().map(|m| (*m, m.rms.at(z).powi(2))).collect();
        for step in &self.steps {
            let clears = step.cut.at(-z);
            for (marks, variance) in &mut out {
                *variance *= marks.left_at(clears, z).powi(2);
            }
            // Deeper marks are written more slowly but are rougher: their variance still grows with depth.
            let written = 1.0 - step.marks.left_at(step.cut.at(z), z).powi(2);
            out.push((step.marks, step.marks.rms.at(z).powi(2) * written));
        }
        out
    }
}
