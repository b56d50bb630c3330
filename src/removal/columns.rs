//! What each short piece of a path leaves on the cells, as sparse columns: the entries of the map from
//! slowness to cut.
//!
//! Not here: a whole map at once, which [`super::SweptPath`] makes without keeping the parts.

use super::deposit::SweptPath;
use super::field::Grid;
use super::footprint::Footprint;
use super::swept::Quantity;
use crate::math::reduce::map_indexed;
use crate::motion::Leg;

/// Cells with what falls on them: (cell, amount) in rising order of the cells, which count row by row from 0.
pub type Column = Vec<(u32, f64)>;

/// The deposit of every leg on the cells of `grid`, in two parts: for a slowness that falls from 1 s/m at
/// the leg's start to 0 at its end, and for one that rises. Any slowness that runs linearly along the leg
/// leaves a sum of the two. A leg without length leaves nothing.
///
/// ```text
/// deposit of a leg = q_start c_falling + q_end c_rising      q slowness at its ends [s/m]
/// c in W/m for the work, m²/s for the slide, m for the dwell
/// ```
///
/// # Accuracy
/// As [`super::deposit_quantity`]: below 1e-4 of the peak.
///
/// # Example
/// ```
/// use trochoid::contact::{ContactSettings, Hold, solve};
/// use trochoid::motion::Leg;
/// use trochoid::removal::{Column, Footprint, Grid, Quantity, leg_columns};
/// use trochoid::{CompressionLaw, Length, Pad, Patch, Stiffness};
/// # fn main() -> Result<(), trochoid::Error> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// # let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?;
/// # let contact = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 40.0, &ContactSettings::default())?;
/// // A rotary pad of 140 mm: at the middle of the leg it stands over the cell for 140 mm of way, half in each part.
/// let print = Footprint::new(&contact, &Patch::flat(), 0.0, 200.0);
/// let leg = Leg::steady((-0.195, 0.105), (0.405, 0.105), 0.04, 0);
/// let made = leg_columns(&print, &[leg], &Grid::over((0.2, 0.2), 0.01)?, Quantity::Dwell);
/// let at = |c: &Column| c.iter().find(|(cell, _)| *cell == 210).map_or(0.0, |(_, amount)| *amount);
/// assert!((at(&made[0][0]) - 0.07).abs() < 1e-4 && (at(&made[0][1]) - 0.07).abs() < 1e-4);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn leg_columns(footprint: &Footprint, legs: &[Leg], grid: &Grid, quantity: Quantity) -> Vec<[Column; 2]> {
    let with_length: Vec<&Leg> = legs.iter().filter(|l| l.length() > 0.0).collect();
    let [swept] = SweptPath::tabulate(footprint, &with_length, [quantity], true);
    let mut made = map_indexed(with_length.len(), |k| swept.parts_of(k, grid)).into_iter();
    legs.iter()
        .map(|l| if l.length() > 0.0 { made.next().unwrap_or_default() } else { <[Column; 2]>::default() })
        .collect()
}
