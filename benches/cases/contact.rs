//! The pad of the deposits and grains: 140 mm of linear foam on an orbit of 16 mm, pressed with 30 N.

use trochoid::contact::{Contact, ContactSettings, Hold, solve};
use trochoid::equipment::{CompressionLaw, Pad};
use trochoid::panel::Patch;
use trochoid::{Error, Length, Stiffness};

/// The pad, and its contact on a patch.
pub fn contact(patch: &Patch) -> Result<(Pad, Contact), Error> {
    let law = CompressionLaw::linear(Stiffness::from_pa_per_m(1e6))?;
    let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), law)?;
    let contact = solve(&pad, patch, 8e-3, &Hold::Flat, 30.0, &ContactSettings::default())?;
    Ok((pad, contact))
}
