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

/// (Cell, amount) in rising order of the cells.
pub type Column = Vec<(u32, f64)>;

/// The deposit of every leg on the cells of `grid`, in two parts: for a slowness that falls from 1 s/m at
/// the leg's start to 0 at its end, and for one that rises. Any slowness that runs linearly along the leg
/// leaves a sum of the two. A leg without length leaves nothing.
///
/// # Accuracy
/// As [`super::deposit_quantity`]: below 1e-4 of the peak.
#[must_use]
pub fn leg_columns(footprint: &Footprint, legs: &[Leg], grid: &Grid, quantity: Quantity) -> Vec<[Column; 2]> {
    let with_length: Vec<&Leg> = legs.iter().filter(|l| l.length() > 0.0).collect();
    let [swept] = SweptPath::tabulate(footprint, &with_length, [quantity], true);
    let mut made = map_indexed(with_length.len(), |k| swept.parts_of(k, grid)).into_iter();
    legs.iter()
        .map(|l| if l.length() > 0.0 { made.next().unwrap_or_default() } else { <[Column; 2]>::default() })
        .collect()
}
