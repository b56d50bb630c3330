//! Motion: the orbiting face over the panel, sliding speeds in both frames, grain paths, tool paths.
//!
//! Two frames, not to be mixed up: a **pad** point is at a distance r from the pad centre and keeps
//! its place on the pad; a **panel** point is at a distance ρ from the tool axis and is covered for
//! part of the orbit.

mod face;
mod grain;
mod path;
mod speed;
mod surface_path;

pub(crate) use face::ArcPoint;
pub use face::Face;
pub use grain::GrainPath;
pub use path::{Leg, MAX_LEGS, PassLine, PathOptions, Pattern, ToolPath, Turn};
pub use speed::{face_mean_speed, pad_point_speed, panel_point_speed};
pub use surface_path::{
    LastLine, Lead, MAX_LINES, MAX_ROWS, MAX_SECTIONS, MAX_WAYPOINTS, PathError, PathReport, PathSetup, Revisits,
    RowError, Section, SectionRun, Steady, SurfaceLine, SurfacePath, SurfacePathOptions, SurfacePattern, Waypoint,
    cut_sections, line_offsets,
};
