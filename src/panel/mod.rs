//! Panels: the local shape under the pad, the rectangle that is worked, and real surfaces.
//!
//! Curvature is positive where the panel is convex (bulges toward the pad).

mod height_map;
pub mod mesh;
mod outline;
mod patch;
#[cfg(feature = "mesh")]
pub mod read;
mod rectangle;
mod surface;

pub use height_map::{Frame, HeightMap, MAX_NODES};
pub use outline::{MAX_CORNERS, Outline};
pub use patch::{Patch, Shape};
pub use rectangle::Panel;
pub use surface::Surface;
