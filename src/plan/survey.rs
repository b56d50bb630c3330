//! The pad put down at places all over a panel, whatever the path: where it stalls, how hard it
//! presses, and how large a pad still turns there.

use crate::contact::LocalSettings;
use crate::math::reduce::map_indexed;
use crate::panel::Surface;
use crate::spin::{PlaceSolver, PlaceState, Setup, StallSettings};
use crate::units::Length;
use crate::{Error, RangeError};

/// Numerical knobs of a survey.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurveySettings {
    /// Distance of the places in plan \[m\], 0.5 to 500 mm; default 10 mm.
    pub step: f64,
    /// Contact at each place; default 24 azimuths.
    pub contact: LocalSettings,
    /// Radius within which the surface gives the pad its attitude, share of the pad's radius \[1\];
    /// default 1/8.
    pub attitude_share: f64,
    /// Largest multiple of the panel's relief that a stall number is looked for at \[1\]; default 20.
    pub most_scale: f64,
    /// Whether the largest pad that turns is looked for; default yes.
    pub pad_sizes: bool,
}

impl Default for SurveySettings {
    fn default() -> Self {
        let contact = LocalSettings { azimuth_nodes: 24, ..LocalSettings::default() };
        Self { step: 10e-3, contact, attitude_share: 0.125, most_scale: 20.0, pad_sizes: true }
    }
}

/// One place of a survey with the pad put down on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Place in plan \[m\].
    pub at: (f64, f64),
    /// Distance to the nearest edge, tape line or border of the region \[m\].
    pub clearance: f64,
    /// Mean curvature at the scale of the pad, 1/m, positive where convex.
    pub mean_curvature_per_m: f64,
    /// How the pad runs; `None` where it cannot be put down (it bottoms out, or tips off an edge).
    pub state: Option<PlaceState>,
    /// Stall number \[1\]; `None` where there is none.
    pub stall_number: Option<f64>,
    /// Diameter of the largest pad of the same make that turns there, m; `None` where none down to
    /// 30 mm does, or it was not looked for.
    pub largest_pad_m: Option<f64>,
}

/// A survey of a panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// First place \[m\].
    pub origin: (f64, f64),
    /// Distance of the places \[m\].
    pub step: f64,
    /// Places along x and y.
    pub count: (usize, usize),
    /// The places row by row; `None` where the panel is not to be worked.
    pub places: Vec<Option<Place>>,
}

/// Most places of a survey.
pub const MOST_PLACES: f64 = 400_000.0;

/// Diameters tried for the largest pad, m, the largest first: every 10 mm from 30 mm up to the next
/// above one and a half of the pad's own.
fn diameters(setup: &Setup) -> Vec<f64> {
    let most = (setup.pad().diameter().mm() * 1.5 / 10.0).ceil();
    let mut out = Vec::new();
    let mut n = most;
    while n >= 3.0 {
        out.push(Length::from_mm(10.0 * n).m());
        n -= 1.0;
    }
    out
}

/// Surveys the part of a panel that is to be worked: contact, spin and stall number at places on a grid.
///
/// # Assumptions and valid range
/// The pad is held square to the surface as its hand feels it, its force full, its spin steady at each
/// place. Where it stands depends on the grid and not on any path.
///
/// # Accuracy
/// That of [`PlaceSolver`] at each place, about a thousandth; features narrower than `settings.step` fall between
/// places. Cost: a contact and a root a place, and one more contact for each diameter tried.
///
/// # Errors
/// A step outside 0.5 to 500 mm, more than [`MOST_PLACES`] places; a force that the set-up cannot have.
///
/// # Example
/// ```
/// use trochoid::panel::{HeightMap, Surface};
/// use trochoid::plan::{SurveySettings, survey};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.1)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let panel = Surface::new(HeightMap::from_function((0.0, 0.0), (0.3, 0.2), 0.005, |_, _| 0.0)?);
/// let settings = SurveySettings { step: 0.05, pad_sizes: false, ..SurveySettings::default() };
/// let seen = survey(&setup, &panel, &Default::default(), &settings)?;
/// // 300 × 200 mm at 50 mm: 6 × 4 places. In the middle 35 N over π 50² mm² press with 4456 Pa everywhere.
/// assert_eq!(seen.count, (6, 4));
/// let middle = seen.places[seen.index_of((0.15, 0.1))].and_then(|p| p.state);
/// assert!(middle.is_some_and(|s| (s.peak_pressure_pa / 4456.0 - 1.0).abs() < 0.01));
/// # Ok(())
/// # }
/// ```
pub fn survey(
    setup: &Setup,
    surface: &Surface,
    stall: &StallSettings,
    settings: &SurveySettings,
) -> Result<Survey, Error> {
    crate::equipment::within("survey step", settings.step * 1e3, 0.5, 500.0, "mm")?;
    let (low, high) = surface.heights().outline().bounds();
    let count = ((high.0 - low.0) / settings.step, (high.1 - low.1) / settings.step);
    let count = (count.0.round().max(1.0), count.1.round().max(1.0));
    if count.0 * count.1 > MOST_PLACES {
        return Err(RangeError::new("survey places", count.0 * count.1, "", format!("at most {MOST_PLACES}")).into());
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // positive and bounded above
    let (nx, ny) = (count.0 as usize, count.1 as usize);
    let origin = (low.0 + 0.5 * settings.step, low.1 + 0.5 * settings.step);
    let solver = PlaceSolver::new(setup, 1.0, &settings.contact)?;
    let mut sizes = Vec::new();
    if settings.pad_sizes && setup.tool().bearing().is_some() {
        for d in diameters(setup) {
            let resized = setup.pad().resized(Length::from_m(d)).and_then(|p| setup.clone().with_pad(p));
            if let Ok(changed) = resized {
                sizes.push((d, PlaceSolver::new(&changed, 1.0, &settings.contact)?));
            }
        }
    }
    let places = map_indexed(nx * ny, |k| {
        let at = (origin.0 + (k % nx) as f64 * settings.step, origin.1 + (k / nx) as f64 * settings.step);
        let clearance = surface.clearance_at(at.0, at.1);
        if clearance <= 0.0 {
            return None;
        }
        let heights = surface.heights();
        let radius = settings.attitude_share * setup.pad().radius();
        let frame = surface.heights().frame_at(at.0, at.1, radius);
        let site = solver.nodes().site(heights, &frame);
        let largest = sizes.iter().find(|(_, s)| s.turns(&s.nodes().site(heights, &frame), stall.useful_spin));
        Some(Place {
            at,
            clearance,
            mean_curvature_per_m: solver.nodes().mean_curvature(&site),
            state: solver.on(&site).ok(),
            stall_number: solver.stall_number(&site, stall.useful_spin, settings.most_scale),
            largest_pad_m: largest.map(|(d, _)| *d),
        })
    });
    Ok(Survey { origin, step: settings.step, count: (nx, ny), places })
}

impl Survey {
    /// Places that are to be worked.
    pub fn worked(&self) -> impl Iterator<Item = &Place> {
        self.places.iter().flatten()
    }

    /// Largest stall number \[1\] among the places at least `inset` \[m\], less half a step of the survey, from every
    /// edge and tape line; `None` where none of them has one.
    #[must_use]
    pub fn worst_stall_number(&self, inset: f64) -> Option<f64> {
        let reached = self.worked().filter(|p| p.clearance >= inset - 0.5 * self.step);
        reached.filter_map(|p| p.stall_number).max_by(f64::total_cmp)
    }

    /// Share of the places where the pad is below `useful_spin` \[rad/s\], sticks, or cannot be put down \[1\].
    #[must_use]
    pub fn stalled_share(&self, useful_spin: f64) -> f64 {
        let (mut below, mut all) = (0.0, 0.0);
        for p in self.worked() {
            all += 1.0;
            below += if p.state.is_none_or(|s| s.sticks || s.spin < useful_spin) { 1.0 } else { 0.0 };
        }
        if all > 0.0 { below / all } else { 0.0 }
    }

    /// Index of the place nearest to a point of the plan \[m\]; points beyond the survey take its border.
    #[must_use]
    pub fn index_of(&self, at: (f64, f64)) -> usize {
        let place = |v: f64, o: f64, n: usize| ((v - o) / self.step).round().clamp(0.0, (n - 1) as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the survey
        let (i, j) =
            (place(at.0, self.origin.0, self.count.0) as usize, place(at.1, self.origin.1, self.count.1) as usize);
        j * self.count.0 + i
    }
}
