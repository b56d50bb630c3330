//! Removal: Preston cut, the footprint around the tool axis, its deposit along a path, and how even
//! the result is.
//!
//! Preston's law dh/dt = k_p p |v| (F. W. Preston, J. Soc. Glass Technol. 11 (1927) 214-256).
//! Curved panels are worked in their developed (unrolled) coordinates; the feed is neglected in
//! |v|.
//!
//! Cut of the starter job's door after four crossed passes: even in the worked area (dashed), more in the corners of the path.
//! [`panel_map`] computes such a map.
//!
//! <figure><style>figure { margin: 0 } figure svg { max-width: 100%; height: auto }</style>
#![doc = include_str!("../../notebooks-free-docs/figures/first-cut.svg")]
//! </figure>

mod columns;
mod deposit;
mod direction;
mod field;
mod footprint;
pub mod grains;
mod overlap;
mod peak;
mod preston;
mod spill;
mod sum;
mod surface;
mod surface_map;
mod swept;
mod uniformity;

pub use columns::{Column, leg_columns};
pub use deposit::{
    MovablePath, MovedStroke, Quantity, SweptPath, count_passes, deposit, deposit_by_steps, deposit_quantity,
};
pub use direction::{LoopShape, NearRepeat, Orientation, Rose, loop_shape, near_repeat, point_anisotropy, rose};
pub use field::{Field, FieldError, Grid, MAX_BYTES, MAX_VISITS};
pub use footprint::{Footprint, Rates};
pub use grains::{
    GrainCase, GrainFields, GrainMap, GrainRun, GrainSettings, Grains, Precision, Travel, grain_fields, grain_quantity,
};
pub use overlap::{Ripple, pass_profile, ripple};
pub use peak::peak_pressure;
pub use preston::{mean_cut_per_pass, volume_rate};
pub use surface::{
    Stop, StopError, SurfaceColumns, SurfaceField, SurfaceGrid, SurfaceSettings, WorkedStop, ZoneSetup, stop_columns,
    stop_length, work_surface, work_zones, worked_stops,
};
pub use surface_map::SurfaceMap;
pub use uniformity::{FieldSummary, Mask, PanelMap, panel_map};
