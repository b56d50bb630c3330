//! How a panel looks under a lamp: the directions that a step leaves its scratches in, simulated grain by
//! grain, and the halo of one or several layers of scratches.
//!
//! Flat under the lamp: the directions are those of the developed panel. What single scratches there were
//! before and how much of them a step leaves is for the caller to say; see [`crate::finish::Surface`].

use crate::contact::Contact;
use crate::error::Error;
use crate::finish::{CLEAR_COAT_INDEX, Halo, Marking, PointLight, ScratchSpread, Scratches, halo};
use crate::math::random::Seed;
use crate::motion::{Face, PathOptions, Pattern, ToolPath};
use crate::panel::Patch;
use crate::removal::{GrainCase, GrainSettings, Grains, Grid, Orientation, Precision, Travel, grain_fields};
use crate::units::Length;

/// A square of panel under a lamp, and how its scratches are simulated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LampSettings {
    /// Side of the square, m; default 0.36.
    pub side_m: f64,
    /// Side of its cells, m; default 3 mm.
    pub cell_m: f64,
    /// Lamp: x and y from the middle of the square, height over it, m; default −0.1, 0, 0.5.
    pub lamp_m: [f64; 3],
    /// Eye, likewise, m; default 0.1, 0, 0.5.
    pub eye_m: [f64; 3],
    /// Refractive index of the clear coat \[1\]; default [`CLEAR_COAT_INDEX`].
    pub index: f64,
    /// How far scratches throw light.
    pub spread: ScratchSpread,
    /// Grains, steps an orbit \[1\], and seed of the grains' places; default 800, 24, 1.
    pub grains: (usize, f64, u64),
    /// Feed of the pass, m/s; default 0.04.
    pub feed_m_s: f64,
    /// Standard deviation of the smoothing of directions, m; default 6 mm.
    pub smoothing_m: f64,
}

impl Default for LampSettings {
    fn default() -> Self {
        // A lamp in one hand beside the head: assumed, for comparison only.
        Self {
            side_m: 0.36,
            cell_m: 3e-3,
            lamp_m: [-0.1, 0.0, 0.5],
            eye_m: [0.1, 0.0, 0.5],
            index: CLEAR_COAT_INDEX,
            spread: ScratchSpread::default(),
            grains: (800, 24.0, 1),
            feed_m_s: 0.04,
            smoothing_m: 6e-3,
        }
    }
}

/// One layer of scratches on the square.
#[derive(Debug, Clone, PartialEq)]
pub struct ScratchLayer {
    /// How much light they throw aside.
    pub scratches: Scratches,
    /// Their directions, cell by cell; `None` where there are none.
    pub directions: Vec<Option<Orientation>>,
}

impl LampSettings {
    /// The cells.
    ///
    /// # Errors
    /// As [`Grid::over`].
    pub fn grid(&self) -> Result<Grid, Error> {
        Grid::over((self.side_m, self.side_m), self.cell_m)
    }

    /// Scratches that run every way alike, all over the square.
    ///
    /// # Errors
    /// As [`Self::grid`].
    pub fn every_way(&self, scratches: Scratches) -> Result<ScratchLayer, Error> {
        let (nx, ny) = self.grid()?.count();
        let every_way = Orientation { anisotropy: 0.0, direction_rad: 0.0 };
        Ok(ScratchLayer { scratches, directions: vec![Some(every_way); nx * ny] })
    }
}

/// Directions of the scratches after one pass over the square, lines a pad radius apart.
///
/// # Assumptions
/// All marks of the pass count alike, although later ones wipe out earlier ones: a rotary's halo is more
/// even here than it is.
///
/// # Accuracy
/// A sample of grains: where no direction is preferred an anisotropy of some 0.05 is left.
///
/// # Errors
/// As [`grain_fields`]; a square or a feed without size.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::motion::Face;
/// use trochoid::plan::{LampSettings, scratch_directions};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let contact = solve(&pad, &Patch::flat(), 7.5e-3, &Hold::Flat, 35.0, &ContactSettings::default())?;
/// let lamp = LampSettings { side_m: 0.12, cell_m: 6e-3, grains: (200, 24.0, 1), ..LampSettings::default() };
/// let face = Face::new(&pad, 7.5e-3);
/// let directions = scratch_directions((&contact, &Patch::flat()), (440.0, 0.0), &face, &lamp)?;
/// // 120 mm in cells of 6 mm: 20 × 20. A pad that orbits without turning slides every way alike, so that
/// // in the middle hardly any direction is preferred.
/// assert_eq!(directions.len(), 400);
/// assert!(directions[10 * 20 + 10].is_some_and(|o| o.anisotropy < 0.2));
/// # Ok(())
/// # }
/// ```
pub fn scratch_directions(
    (contact, patch): (&Contact, &Patch),
    (rate_rad_s, spin_rad_s): (f64, f64),
    face: &Face,
    settings: &LampSettings,
) -> Result<Vec<Option<Orientation>>, Error> {
    let side = settings.side_m;
    let path = ToolPath::over_rectangle_with(
        (side, side),
        Pattern::Raster,
        1,
        face.radius(),
        settings.feed_m_s,
        &PathOptions::default(),
    )?;
    let (count, steps_per_orbit, seed) = settings.grains;
    let grains = Grains::even(face, count, Seed::new(seed))?;
    let case = GrainCase {
        contact,
        patch,
        rate_rad_s,
        spin_rad_s,
        start_rad: (0.0, 0.0),
        grains: &grains,
        travel: Travel::Along(&path),
        grid: settings.grid()?,
    };
    let numerical = GrainSettings { steps_per_orbit, precision: Precision::Single, ..GrainSettings::default() };
    Ok(grain_fields(&case, &numerical)?.orientation(settings.smoothing_m))
}

/// The halo of all layers together.
///
/// # Assumptions and valid range
/// A flat square; the layers throw light one beside the other, none hides another. Luminance is told over that
/// of a white matt card in the same light \[1\]. See [`halo`] for the model.
///
/// # Errors
/// As [`halo`]; a lamp or an eye outside the range of [`PointLight::new`].
///
/// # Example
/// ```
/// use trochoid::finish::Scratches;
/// use trochoid::plan::{LampSettings, under_lamp};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let lamp = LampSettings::default();
/// let layer = lamp.every_way(Scratches::Dense(Length::from_um(0.02)))?;
/// let halo = under_lamp(&[layer], &lamp)?;
/// // Lamp and eye stand 0.1 m to either side of the middle of a square of 0.36 m, equally high: the lamp is
/// // mirrored in its middle. Scratches that run every way alike leave no bands.
/// assert!((halo.mirror_place.0 - 0.18).abs() < 1e-12 && (halo.mirror_place.1 - 0.18).abs() < 1e-12);
/// assert!(halo.banding.is_some_and(|b| b < 1e-12));
/// # Ok(())
/// # }
/// ```
pub fn under_lamp(layers: &[ScratchLayer], settings: &LampSettings) -> Result<Halo, Error> {
    let middle = 0.5 * settings.side_m;
    let place = |p: [f64; 3]| [p[0] + middle, p[1] + middle, p[2]].map(Length::from_m);
    let light = PointLight::new(place(settings.lamp_m), place(settings.eye_m))?;
    let at_cell = |cell: usize| {
        let marking = |l: &ScratchLayer| {
            let orientation = l.directions.get(cell).copied().flatten()?;
            Some(Marking { scratches: l.scratches, orientation })
        };
        layers.iter().filter_map(marking).collect()
    };
    Ok(halo(&light, &settings.grid()?, settings.index, &settings.spread, at_cell)?)
}
