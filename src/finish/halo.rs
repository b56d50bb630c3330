//! The look of fine scratches under a point light: the halo around the lamp's mirror image.
//!
//! A long, straight scratch throws light only into the cone of directions that make the same angle with
//! it as the incoming light does, whatever its profile. So at a place of the panel an eye sees those
//! scratches that run across the halfway direction of lamp and eye: scratches that run every way draw
//! rings around the mirror image, scratches of one direction a bar through it, and a surface without
//! scratches stays dark beside it.
//!
//! How bright, and how far from the mirror image, is assumed: see [`ScratchSpread`]. It is a picture for
//! comparing states of one surface under one lamp, not a measurement. Not here: colours by diffraction,
//! single glints, the bend of a scratch within a cell, orange peel, the colour below the clear coat, the
//! mirror image itself.
//!
//! Cone of a thin cylinder: J. T. Kajiya and T. L. Kay, Computer Graphics 23 (1989) 271-280; the same for
//! a scratch by diffraction: S. Werner et al., ACM Trans. Graph. 36 (2017) 207; facets: R. L. Cook and
//! K. E. Torrance, ACM Trans. Graph. 1 (1982) 7-24 (all from memory). The closing of the direction
//! distribution by its tensor is ours.

use super::error::FinishError;
use super::gloss::reflectance;
use super::scatter::{WAVELENGTH_M, scatter};
use crate::equipment::within;
use crate::error::RangeError;
use crate::removal::{Grid, Orientation};
use crate::units::{Angle, Length};
use core::f64::consts::{FRAC_PI_2, PI, TAU};

/// Standard deviation of the slope that a scratch throws light with, across it. Assumed: a scratch half
/// to two micrometres wide spreads light of 0.55 µm by some 0.3 to 1 rad, half of that as a slope.
pub const ACROSS_SLOPE: f64 = 0.25;
/// The same along it: a lamp of some 20 mm at half a metre, and scratches that are not quite straight.
/// Assumed.
pub const ALONG_SLOPE: f64 = 0.02;

/// Slopes between which a halo is judged: clear of the mirror image, and before it fades.
const JUDGED: (f64, f64) = (0.06, 0.3);

/// A lamp and an eye over a flat panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointLight {
    lamp: [f64; 3],
    eye: [f64; 3],
}

impl PointLight {
    /// From the places of lamp and eye: x and y along the panel, z above it.
    ///
    /// # Errors
    /// A height outside 0.05 to 20 m, a place along the panel beyond 20 m.
    pub fn new(lamp: [Length; 3], eye: [Length; 3]) -> Result<Self, RangeError> {
        let checked = |place: [Length; 3], names: [&'static str; 3]| -> Result<[f64; 3], RangeError> {
            within(names[0], place[0].m(), -20.0, 20.0, "m")?;
            within(names[1], place[1].m(), -20.0, 20.0, "m")?;
            within(names[2], place[2].m(), 0.05, 20.0, "m")?;
            Ok(place.map(Length::m))
        };
        Ok(Self {
            lamp: checked(lamp, ["lamp's x", "lamp's y", "lamp's height"])?,
            eye: checked(eye, ["eye's x", "eye's y", "eye's height"])?,
        })
    }

    /// Where on the panel the eye sees the lamp mirrored, m.
    ///
    /// # Example
    /// ```
    /// use trochoid::Length;
    /// use trochoid::finish::PointLight;
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // Lamp and eye equally high: halfway between them.
    /// let [zero, metre] = [Length::from_m(0.0), Length::from_m(1.0)];
    /// let light = PointLight::new([zero, zero, metre], [metre, zero, metre])?;
    /// assert_eq!(light.mirror_place(), (0.5, 0.0));
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn mirror_place(&self) -> (f64, f64) {
        let share = self.lamp[2] / (self.lamp[2] + self.eye[2]);
        let at = |k: usize| self.lamp[k] + share * (self.eye[k] - self.lamp[k]);
        (at(0), at(1))
    }

    /// The facet that shows the eye the lamp at a place of the panel \[m\].
    ///
    /// # Example
    /// ```
    /// use trochoid::Length;
    /// use trochoid::finish::PointLight;
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // Where the lamp is mirrored the facet lies flat, and light comes in at atan(0.5/1): cos = 2/√5 = 0.8944.
    /// let [zero, metre] = [Length::from_m(0.0), Length::from_m(1.0)];
    /// let light = PointLight::new([zero, zero, metre], [metre, zero, metre])?;
    /// let facet = light.facet(light.mirror_place());
    /// assert!(facet.slope.0.abs() < 1e-12 && (facet.cos_incidence - 0.8944).abs() < 1e-4);
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn facet(&self, at: (f64, f64)) -> Facet {
        let towards = |from: [f64; 3]| {
            let v = [from[0] - at.0, from[1] - at.1, from[2]];
            let length = v[0].hypot(v[1]).hypot(v[2]);
            v.map(|c| c / length)
        };
        let (l, e) = (towards(self.lamp), towards(self.eye));
        let half = [l[0] + e[0], l[1] + e[1], l[2] + e[2]];
        // |l + e|² = 2 + 2 l·e and l·h = (1 + l·e)/|l + e|: both are half of |l + e|.
        let length = half[0].hypot(half[1]).hypot(half[2]);
        Facet {
            slope: (half[0] / half[2], half[1] / half[2]),
            cos_light: l[2],
            cos_eye: e[2],
            cos_facet: half[2] / length,
            cos_incidence: (0.5 * length).min(1.0),
        }
    }
}

/// A facet that mirrors a lamp into an eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Facet {
    /// Its slope along x and y \[1\]: the halfway direction of lamp and eye over its height.
    pub slope: (f64, f64),
    /// Cosine of the angle between the panel's normal and the lamp \[1\].
    pub cos_light: f64,
    /// Cosine of the angle between the panel's normal and the eye \[1\].
    pub cos_eye: f64,
    /// Cosine of the angle between the panel's normal and the facet's \[1\].
    pub cos_facet: f64,
    /// Cosine of the angle of incidence on the facet \[1\].
    pub cos_incidence: f64,
}

/// How far a scratch throws light across and along itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScratchSpread {
    across: f64,
    along: f64,
}

impl Default for ScratchSpread {
    fn default() -> Self {
        Self { across: ACROSS_SLOPE, along: ALONG_SLOPE }
    }
}

impl ScratchSpread {
    /// From the standard deviations of the slope across and along a scratch \[1\].
    ///
    /// # Errors
    /// Across outside 0.02 to 2; along outside 0.001 to 0.5.
    pub fn new(across: f64, along: f64) -> Result<Self, RangeError> {
        within("slope across the scratch", across, 0.02, 2.0, "")?;
        within("slope along the scratch", along, 1e-3, 0.5, "")?;
        Ok(Self { across, along })
    }
}

/// How much light scratches throw aside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scratches {
    /// Fine marks side by side with this RMS roughness: as much as Davies' law says.
    Dense(Length),
    /// Single scratches, deep against the wavelength, over this share of the area: all that falls there.
    Single(f64),
}

/// Scratches at a place, with their directions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Marking {
    /// How much they throw aside.
    pub scratches: Scratches,
    /// Which way they run.
    pub orientation: Orientation,
}

/// Share of the scratches that run below `angle` \[rad\] from the main direction, counted on over every
/// half turn: the axial wrapped Cauchy distribution, whose orientation tensor is that of `orientation`.
fn share_below(angle: f64, anisotropy: f64) -> f64 {
    let turns = (angle / PI).round();
    let (sin, cos) = (angle - turns * PI).sin_cos();
    turns + ((1.0 + anisotropy) * sin).atan2((1.0 - anisotropy) * cos) / PI
}

/// The angle below which the share `share` runs: the inverse of [`share_below`].
fn angle_of(share: f64, anisotropy: f64) -> f64 {
    let turns = share.round();
    let (sin, cos) = ((share - turns) * PI).sin_cos();
    turns * PI + ((1.0 - anisotropy) * sin).atan2((1.0 + anisotropy) * cos)
}

/// Density of facets over their slope \[1\]: what scratches of one area, with directions as `orientation`
/// says, show at the slope `slope` \[1\].
///
/// ```text
/// P(s) = ∫ f(φ) g_a(s·n(φ)) g_w(s·u(φ)) dφ,   f(φ) = (1 − A²)/(π (1 + A² − 2A cos 2(φ − φ0)))
///
/// u, n along and across a scratch of direction φ;  A anisotropy, φ0 main direction
/// g_a, g_w Gaussians of the spread across and along;  ∫∫ P ds = 1
/// ```
///
/// # Assumptions
/// Of the directions only their tensor is known: f is the wrapped Cauchy distribution that has it, even
/// for A = 0, one direction for A = 1.
///
/// # Accuracy
/// 64 bins over the directions that show at all, each with its exact share at its median: 2e-3 of the
/// largest value up to an anisotropy of 0.9, 1e-2 above, exact at 1.
///
/// # Example
/// ```
/// use trochoid::finish::{ScratchSpread, facet_density};
/// use trochoid::removal::Orientation;
/// // Flat facets show whichever way the scratches run: 1/(2π × 0.25 × 0.02) = 31.83.
/// let every_way = Orientation { anisotropy: 0.0, direction_rad: 0.0 };
/// let flat = facet_density((0.0, 0.0), &every_way, &ScratchSpread::default());
/// assert!((flat - 31.83).abs() < 1e-2);
/// // Scratches along x throw light across: along y, one deviation out, e^(−1/2) = 0.6065 of it.
/// let along_x = Orientation { anisotropy: 1.0, direction_rad: 0.0 };
/// let out = facet_density((0.0, 0.25), &along_x, &ScratchSpread::default());
/// assert!((out / flat - 0.6065).abs() < 1e-3);
/// ```
///
/// # References
/// J. T. Kajiya and T. L. Kay, Computer Graphics 23 (1989) 271-280, the cone of a thin cylinder (from
/// memory); the closing of the directions by their tensor is own.
#[must_use]
pub fn facet_density(slope: (f64, f64), orientation: &Orientation, spread: &ScratchSpread) -> f64 {
    const BINS: usize = 64;
    let steep = slope.0.hypot(slope.1);
    // Scratches across the slope show; five deviations of the slope along them to either side.
    let half = if steep > 0.0 { (5.0 * spread.along / steep).min(FRAC_PI_2) } else { FRAC_PI_2 };
    let middle = slope.1.atan2(slope.0) + FRAC_PI_2;
    let gauss = |v: f64, sd: f64| (-0.5 * (v / sd).powi(2)).exp() / (sd * TAU.sqrt());
    let below = |angle: f64| share_below(angle - orientation.direction_rad, orientation.anisotropy);
    let mut sum = 0.0;
    let mut before = below(middle - half);
    for k in 0..BINS {
        let after = below(middle - half + 2.0 * half * (k as f64 + 1.0) / BINS as f64);
        let median = angle_of(0.5 * (before + after), orientation.anisotropy) + orientation.direction_rad;
        let off = median - middle;
        sum += (after - before) * gauss(steep * off.cos(), spread.across) * gauss(steep * off.sin(), spread.along);
        before = after;
    }
    sum
}

impl PointLight {
    /// How bright scratches look at a place \[m\]: luminance over that of a white matt card there \[1\].
    ///
    /// ```text
    /// β = π R(θ) Σ S_i P_i(s) / (4 cos⁴m cosθ_l cosθ_e)
    ///
    /// R reflectance at the incidence θ on the facet, S_i share of the light that scratches i throw aside,
    /// P_i their density of facets, m tilt of the facet, θ_l and θ_e angles of lamp and eye
    /// ```
    ///
    /// # Assumptions and valid range
    /// Flat panel; every ray is thrown once; shading of one facet by another left out, so lamp and eye
    /// well above the panel. Dense marks scatter together: S = 1 − exp(−Σg²), shared by their variances.
    ///
    /// # Errors
    /// An index outside 1 to 4, a share of area outside 0 to 1, marks too rough for the scatter law.
    ///
    /// # Example
    /// ```
    /// use trochoid::Length;
    /// use trochoid::finish::{Marking, PointLight, ScratchSpread, Scratches};
    /// use trochoid::removal::Orientation;
    /// # fn main() -> Result<(), trochoid::finish::FinishError> {
    /// // Lamp and eye straight above, index 1.5: R = 0.04, all cosines 1, density 31.83 (see `facet_density`). A
    /// // hundredth of the area under single scratches: π × 0.04 × 0.01 × 31.83/4 = 0.01.
    /// let above = [Length::from_m(0.0), Length::from_m(0.0), Length::from_m(1.0)];
    /// let orientation = Orientation { anisotropy: 0.0, direction_rad: 0.0 };
    /// let marking = Marking { scratches: Scratches::Single(0.01), orientation };
    /// let light = PointLight::new(above, above)?;
    /// let bright = light.luminance_factor((0.0, 0.0), &[marking], 1.5, &ScratchSpread::default())?;
    /// assert!((bright - 0.01).abs() < 1e-6);
    /// # Ok(())
    /// # }
    /// ```
    pub fn luminance_factor(
        &self,
        at: (f64, f64),
        markings: &[Marking],
        index: f64,
        spread: &ScratchSpread,
    ) -> Result<f64, FinishError> {
        let facet = self.facet(at);
        let incidence = Angle::from_rad(facet.cos_incidence.acos());
        let mirror = reflectance(index, incidence)?;
        let (mut variance, mut dense, mut single, mut deep) = (0.0, 0.0, 0.0, 0.0);
        for m in markings {
            let density = facet_density(facet.slope, &m.orientation, spread);
            match m.scratches {
                Scratches::Dense(rms) => {
                    variance += rms.m() * rms.m();
                    dense += rms.m() * rms.m() * density;
                }
                Scratches::Single(area) => {
                    deep += within("area under single scratches", area, 0.0, 1.0, "")?;
                    single += area * density;
                }
            }
        }
        within("area under single scratches", deep, 0.0, 1.0, "")?;
        let thrown = scatter(Length::from_m(variance.sqrt()), incidence, Length::from_m(WAVELENGTH_M))?.share;
        let marks = if variance > 0.0 { thrown * dense / variance } else { 0.0 };
        let geometry = 4.0 * facet.cos_facet.powi(4) * facet.cos_light * facet.cos_eye;
        Ok(PI * mirror * ((1.0 - deep) * marks + single) / geometry)
    }
}

/// The halo over a panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Halo {
    /// The grid.
    pub grid: Grid,
    /// Luminance over that of a white matt card \[1\], row by row from y = 0.
    pub luminance_factor: Vec<f64>,
    /// Where the lamp is mirrored \[m\].
    pub mirror_place: (f64, f64),
    /// Mean luminance factor \[1\] around the mirror image, facets of slope 0.06 to 0.3; `None` where no
    /// cell lies there.
    pub mean: Option<f64>,
    /// 0 for a ring, 1 for a bar \[1\]: |Σ β exp 2iψ| / Σ β over the same cells, ψ the direction of the
    /// slope; `None` where nothing shines.
    pub streak: Option<f64>,
    /// How far it is from the halo of the same scratches running every way, cell by cell \[1\]: root of
    /// Σ(β − β_even)² / Σβ_even² over the same cells. 0 for a random finish; what moves with the eye as
    /// bands. `None` where nothing shines.
    pub banding: Option<f64>,
}

/// The halo over the cells of a grid; `at_cell` tells what each cell bears, by its number row by row.
///
/// # Errors
/// As [`PointLight::luminance_factor`].
///
/// # Example
/// ```
/// use trochoid::Length;
/// use trochoid::finish::{Marking, PointLight, ScratchSpread, Scratches, halo};
/// use trochoid::removal::{Grid, Orientation};
/// # fn main() -> Result<(), trochoid::Error> {
/// // Scratches that run every way draw a ring round the mirror image: no streak, no bands.
/// let [middle, metre] = [Length::from_m(0.3), Length::from_m(1.0)];
/// let light = PointLight::new([middle, middle, metre], [middle, middle, metre])?;
/// let orientation = Orientation { anisotropy: 0.0, direction_rad: 0.0 };
/// let marks = |_| vec![Marking { scratches: Scratches::Single(0.01), orientation }];
/// let ring = halo(&light, &Grid::over((0.6, 0.6), 0.01)?, 1.5, &ScratchSpread::default(), marks)?;
/// assert!((ring.mirror_place.0 - 0.3).abs() < 1e-12);
/// assert!(ring.streak.is_some_and(|s| s < 1e-3) && ring.banding.is_some_and(|b| b < 1e-12));
/// # Ok(())
/// # }
/// ```
pub fn halo(
    light: &PointLight,
    grid: &Grid,
    index: f64,
    spread: &ScratchSpread,
    at_cell: impl Fn(usize) -> Vec<Marking>,
) -> Result<Halo, FinishError> {
    let (nx, ny) = grid.count();
    let mut luminance_factor = Vec::with_capacity(nx * ny);
    let (mut cells, mut sum, mut cos2, mut sin2, mut off, mut even) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    for cell in 0..nx * ny {
        let at = grid.centre(cell % nx, cell / nx);
        let mut markings = at_cell(cell);
        let value = light.luminance_factor(at, &markings, index, spread)?;
        let slope = light.facet(at).slope;
        let steep = slope.0.hypot(slope.1);
        if steep >= JUDGED.0 && steep <= JUDGED.1 {
            let twice = 2.0 * slope.1.atan2(slope.0);
            cells += 1.0;
            sum += value;
            cos2 += value * twice.cos();
            sin2 += value * twice.sin();
            for m in &mut markings {
                m.orientation = Orientation { anisotropy: 0.0, direction_rad: 0.0 };
            }
            let every_way = light.luminance_factor(at, &markings, index, spread)?;
            off += (value - every_way).powi(2);
            even += every_way * every_way;
        }
        luminance_factor.push(value);
    }
    Ok(Halo {
        grid: *grid,
        luminance_factor,
        mirror_place: light.mirror_place(),
        mean: (cells > 0.0).then(|| sum / cells),
        streak: (sum > 0.0).then(|| cos2.hypot(sin2) / sum),
        banding: (even > 0.0).then(|| (off / even).sqrt()),
    })
}
