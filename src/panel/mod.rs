//! Panels: the local shape under the pad and the rectangle that is worked.
//!
//! Curvature is positive where the panel is convex (bulges toward the pad).

mod patch;
mod rectangle;

pub use patch::{Patch, Shape};
pub use rectangle::Panel;
