//! Paint film over a panel: thinner toward free edges and over ridges.
//!
//! While a film dries, surface tension draws it from outside corners and piles it up in inside corners
//! (Weidner and Schwartz, Role of surface tension gradients in correcting coating defects in corners,
//! Journal of Colloid and Interface Science 179, 1996; the abstract was read, volume and year are from
//! memory). The exponential form and the four numbers are assumed, no source. Free edges can also carry
//! more film than the face (a fat edge, from surface tension gradients while solvent leaves): not here,
//! because the thin case is the one in which paint burns through. Grooves are left as they are for the
//! same reason.

use super::crease::{Crease, crease_distances};
use super::height_map::HeightMap;
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::Length;

/// How a film thins toward free edges and ridges.
///
/// ```text
/// film = nominal (1 − edge_share e^(−d/edge_length)) (1 − line_share e^(−d_line/line_length))   [m]
/// d distance to the nearest free edge, d_line to the nearest ridge                              [m]
/// ```
///
/// # Assumptions and valid range
/// Thinner, never thicker, at an edge; an edge and a ridge near one place multiply. Form and default
/// numbers are assumed, no source: a gauge near the edge says more.
///
/// # Example
/// ```
/// use trochoid::panel::FilmLaw;
/// let law = FilmLaw::default();
/// // At a free edge far from any ridge a third is missing; 10 mm inside, a third of 1/e: 1 − 0.33/e = 0.8786.
/// assert!((law.share(0.0, f64::INFINITY) - 0.67).abs() < 1e-12);
/// assert!((law.share(0.010, f64::INFINITY) - 0.8786).abs() < 1e-4);
/// // On a ridge a quarter is missing; where both meet, what is left is 0.67 × 0.75.
/// assert!((law.share(0.0, 0.0) - 0.5025).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FilmLaw {
    edge_share: f64,
    edge_length: f64,
    line_share: f64,
    line_length: f64,
}

impl Default for FilmLaw {
    /// A third of the film missing at a free edge, a quarter on a ridge, over 10 and 8 mm: assumed, no
    /// source.
    fn default() -> Self {
        Self { edge_share: 0.33, edge_length: 0.010, line_share: 0.25, line_length: 0.008 }
    }
}

impl FilmLaw {
    /// A law from the shares of the film that are missing at the edge and on the ridge (0 to 0.95), and
    /// the lengths over which that falls to 1/e (0.1 to 500 mm). See the example of [`FilmLaw`].
    ///
    /// # Errors
    /// `edge_share`, `edge_length_mm`, `line_share` or `line_length_mm` outside its range.
    pub fn new(edge_share: f64, edge_length: Length, line_share: f64, line_length: Length) -> Result<Self, RangeError> {
        within("edge_share", edge_share, 0.0, 0.95, "")?;
        within("line_share", line_share, 0.0, 0.95, "")?;
        within("edge_length_mm", edge_length.mm(), 0.1, 500.0, "mm")?;
        within("line_length_mm", line_length.mm(), 0.1, 500.0, "mm")?;
        Ok(Self { edge_share, edge_length: edge_length.m(), line_share, line_length: line_length.m() })
    }

    /// The same film everywhere.
    #[must_use]
    pub fn even() -> Self {
        Self { edge_share: 0.0, line_share: 0.0, ..Self::default() }
    }

    /// Share of the nominal film \[1\] at distances \[m\] from the nearest free edge and ridge, either of
    /// them infinite where there is none; off the panel as at its edge.
    #[must_use]
    pub fn share(&self, edge: f64, line: f64) -> f64 {
        let left = |missing: f64, d: f64, length: f64| 1.0 - missing * (-d.max(0.0) / length).exp();
        left(self.edge_share, edge, self.edge_length) * left(self.line_share, line, self.line_length)
    }

    /// Film at every node \[m\], row by row. Of `creases` only the ridges count.
    ///
    /// # Errors
    /// A nominal film outside 1 to 5000 µm.
    pub fn film(&self, map: &HeightMap, creases: &[Crease], nominal: Length) -> Result<Vec<f64>, RangeError> {
        within("film_um", nominal.um(), 1.0, 5000.0, "µm")?;
        let lines = crease_distances(map, creases, Some(true));
        Ok(map.edge_distances().iter().zip(&lines).map(|(e, l)| nominal.m() * self.share(*e, *l)).collect())
    }
}
