//! Heat: what friction and kneading do to the temperature of the panel and of the pad.
//!
//! The panel is a thin layered plate heated by a footprint that moves along the real path; the pad is a
//! disc heated at its face and, by hysteresis, in its bulk. All losses are linearised, so that both are
//! linear in their sources. Not here: what a temperature does to paint or foam, evaporation of the
//! product, and the contact itself.
//!
//! Sources: H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. (1959); F. P. Incropera
//! et al., Fundamentals of Heat and Mass Transfer (convection and properties).

mod air;
mod banded;
pub mod closed_form;
mod diffuse;
mod disc;
mod hysteresis;
mod material;
mod pad;
mod panel;
mod partition;
mod plate;
pub mod reference;
mod rest;
mod source;

pub use air::{Air, Cooling, Side, forced_air, natural_air, radiation};
pub use disc::PadDisc;
pub use hysteresis::BulkHeat;
pub use material::{MATERIALS, Material, Thermal};
pub use pad::{PadEvent, PadHeat, PadMoment, PadSettings, PanelContact, pad_history};
pub use panel::{
    History, HotSpot, MOST_MOMENTS, PanelHeat, PanelHeatSettings, PanelJob, SurfaceMoment, heat_panel, heat_panel_at,
};
pub use partition::{effusivity_share, matched_share};
pub use plate::Plate;
pub use rest::{Rest, rest_before_next};
pub use source::{HeatSource, Overhang, Spread, sources_along, sources_of_stops};

/// Energy in, kept and given off \[J\].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EnergyBalance {
    /// Put in by the sources.
    pub input_j: f64,
    /// Heat content at the end less that at the start, summed over the cells.
    pub stored_j: f64,
    /// Given off to the surroundings; negative where they warm the body.
    pub lost_j: f64,
}

impl EnergyBalance {
    /// |in − stored − lost| over the largest of the three \[1\]; zero where all three are.
    #[must_use]
    pub fn residual(&self) -> f64 {
        let largest = self.input_j.abs().max(self.stored_j.abs()).max(self.lost_j.abs());
        if largest > 0.0 { (self.input_j - self.stored_j - self.lost_j).abs() / largest } else { 0.0 }
    }
}

/// Checks a temperature for the range in which the linearised losses mean something.
fn temperature_within(what: &'static str, value: crate::Temperature) -> Result<f64, crate::RangeError> {
    crate::equipment::within(what, value.c(), -60.0, 400.0, "°C")?;
    Ok(value.k())
}
