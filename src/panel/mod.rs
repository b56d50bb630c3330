//! Panels: the local shape under the pad, the rectangle that is worked, and real surfaces.
//!
//! Curvature is positive where the panel is convex (bulges toward the pad).

mod coat;
mod crease;
mod curvature;
mod gap;
mod height_map;
mod measure;
pub mod mesh;
mod outline;
mod patch;
mod place;
mod polynomial;
#[cfg(feature = "mesh")]
pub mod read;
mod rectangle;
mod segment_tree;
mod shape;
mod shape_form;
mod surface;
mod window;

pub use coat::FilmLaw;
pub use crease::{Crease, CreasePoint, CreaseSettings, crease_distances, find_creases};
pub use curvature::{CurvatureMap, MOST_FIT_NODES, SurfaceCurvature, curvature_at, curvature_map};
pub use gap::gap_below;
pub use height_map::{Frame, HeightMap, MAX_NODES};
pub use outline::{MAX_CORNERS, Outline};
pub use patch::{Patch, Shape};
pub use rectangle::Panel;
pub use shape::{AnalyticShape, BodyLine, CrownedDoor, STEEPEST_DEG, TorusSide, WheelArch};
pub use surface::Surface;
