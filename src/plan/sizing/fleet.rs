//! The panels that a tool is sized for, each with its share of the work.

use crate::equipment::within;
use crate::error::RangeError;
use crate::panel::Patch;

/// One kind of panel of a fleet.
#[derive(Debug, Clone, PartialEq)]
pub struct FleetPanel {
    /// Name.
    pub name: String,
    /// Its curvature.
    pub patch: Patch,
    /// Its area in any unit, or its share of the work \[1\].
    pub share: f64,
}

/// The panels; shares add up to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Fleet(Vec<FleetPanel>);

/// Most kinds of panels of a fleet.
pub const MOST_PANELS: usize = 64;

impl Fleet {
    /// A fleet; shares are taken in proportion.
    ///
    /// # Errors
    /// None or more than 64 panels, a share outside 1e-9 to 1e9.
    ///
    /// # Example
    /// ```
    /// use trochoid::Patch;
    /// use trochoid::plan::sizing::{Fleet, FleetPanel};
    /// // 3 m² and 1 m²: three quarters and a quarter of the work.
    /// let flat = |share| FleetPanel { name: "flat".to_owned(), patch: Patch::flat(), share };
    /// let fleet = Fleet::new(vec![flat(3.0), flat(1.0)])?;
    /// assert!((fleet.panels()[0].share - 0.75).abs() < 1e-15);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn new(mut panels: Vec<FleetPanel>) -> Result<Self, RangeError> {
        if panels.is_empty() || panels.len() > MOST_PANELS {
            return Err(RangeError::new("panels", panels.len() as f64, "", format!("1 to {MOST_PANELS} panels")));
        }
        for p in &panels {
            within("panels", p.share, 1e-9, 1e9, "")?;
        }
        let whole: f64 = panels.iter().map(|p| p.share).sum();
        for p in &mut panels {
            p.share /= whole;
        }
        Ok(Self(panels))
    }

    /// The panels.
    #[must_use]
    pub fn panels(&self) -> &[FleetPanel] {
        &self.0
    }
}
