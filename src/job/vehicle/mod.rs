//! A whole vehicle in a job file: its `[vehicle]` table, the zones of its panels, and its plan.
//!
//! [`Vehicle`] is what was read; [`plan_vehicle`] makes a [`VehiclePlan`] of it. The choice of settings,
//! kits and order is made in `plan::vehicle`; here it gets its full maps, heat, pads and minutes.

mod assemble;
mod bands;
mod choose;
mod pads;
mod plan;
mod read;
mod replan;
mod work;
mod zones;

pub use pads::{KindOfPad, PadsAtHand};
pub use plan::{EdgePasses, Uncorrectable, VehiclePlan, ZonePlan, ZoneStep, plan_vehicle};
#[cfg(test)]
pub(super) use read::{CELL_MM, CONFIDENCE};
pub(super) use read::{read_done_file, take_done, vehicle};

use super::real_panel::RealPanel;
use crate::equipment::Paint;
use crate::finish::{Defect, Face};
use crate::panel::{Panel, Patch};
use crate::plan::vehicle::{FinishWanted, Operator, Phase, ShopTimes};
use crate::units::{Length, Temperature, Time};
use crate::wear::FilmProduct;
use std::sync::Arc;

/// A band of a panel: the part of its area that is curved alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Share \[1\] of the panel's area, 0.001 to 1.
    pub share: f64,
    /// Its shape.
    pub patch: Patch,
}

/// A panel of the vehicle: one `[panel.NAME]` with its bands, defects and edges.
#[derive(Debug, Clone, PartialEq)]
pub struct VehiclePanel {
    /// Name.
    pub name: String,
    /// Its rectangle, or the box of a real panel, with its incline.
    pub panel: Panel,
    /// The real panel, where it is one.
    pub real: Option<Arc<RealPanel>>,
    /// Bands of a rectangle, their shares summing to one; empty for a real panel, which is surveyed.
    pub bands: Vec<Band>,
    /// Name of its paint, where it has one.
    pub paint_name: Option<String>,
    /// Its paint; all defaults where none is named.
    pub paint: Paint,
    /// Defects seen on it.
    pub defects: Vec<Defect>,
    /// Edge to be taped, 0 to 1000 m, where given; else its perimeter.
    pub masking: Option<Length>,
    /// Share \[1\] of the clear coat that is missing at its edges, 0 to 0.95.
    pub edge_thinning: f64,
}

/// A pad as the vehicle's plan needs it beside its description, in the order of the job's pads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockedPad {
    /// Face.
    pub face: Face,
    /// Highest core temperature.
    pub core_limit: Temperature,
    /// Sections after which it is cleaned, where given.
    pub clean_every: Option<usize>,
    /// How many are at hand, where it matters.
    pub count: Option<usize>,
}

/// A product as the vehicle's plan needs it, in the order of the job's products.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockedProduct {
    /// Grain, where known.
    pub grain: Option<Length>,
    /// How it dries.
    pub film: FilmProduct,
}

/// `[[done]]`: something that was done already.
#[derive(Debug, Clone, PartialEq)]
pub struct Done {
    /// Panel.
    pub panel: String,
    /// Zone; every zone of the panel without one.
    pub zone: Option<String>,
    /// Cut or refining; both without one.
    pub phase: Option<Phase>,
    /// Passes done, where they were not those planned.
    pub passes: Option<usize>,
    /// Time that it took, all handling included, 0 to 10 000 min.
    pub time: Option<Time>,
    /// Film before and after with the uncertainty of one reading, where it was read.
    pub reading: Option<DoneReading>,
}

/// A film reading after something was done, `before_um` and `reading_um` of `[[done]]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DoneReading {
    /// Film before, with its standard uncertainty.
    pub before: (Length, Length),
    /// Film now.
    pub now: Length,
    /// Standard uncertainty of the reading.
    pub uncertainty: Length,
}

/// The `[vehicle]` table with everything that goes with it; refused beside `[[step]]`s, without a panel, tool, pad
/// or product, and where no pad goes on any tool.
#[derive(Debug, Clone, PartialEq)]
pub struct Vehicle {
    /// Name of the vehicle, where given.
    pub name: Option<String>,
    /// What is wanted.
    pub finish: FinishWanted,
    /// Confidence \[1\] of correction and budget, 0.5 to 0.999; 0.9 by default.
    pub confidence: f64,
    /// The hand.
    pub operator: Operator,
    /// Most passes of a step, 1 to 100.
    pub most_passes: usize,
    /// Handling and the day.
    pub times: ShopTimes,
    /// Side of a cell of the zones' maps, 0.5 to 100 mm; 5 mm by default.
    pub cell: Length,
    /// Panels in file order.
    pub panels: Vec<VehiclePanel>,
    /// Least and largest face that each tool of the job takes, where told.
    pub pad_ranges: Vec<Option<(Length, Length)>>,
    /// Pads of the job.
    pub pads: Vec<StockedPad>,
    /// Products of the job.
    pub products: Vec<StockedProduct>,
    /// What was done already.
    pub done: Vec<Done>,
}
