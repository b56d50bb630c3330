//! What leaves the program: JSON, CSV, and files that are never half written.

mod cautions;
mod csv;
mod html;
mod json;
mod output;
mod paint;
#[cfg(feature = "plot")]
pub mod pictures;
mod ply;
mod surface;
mod trace;
mod wording;

pub use cautions::{CAUTIONS, cautions_text};
pub use csv::{curves_csv, map_csv};
#[cfg(feature = "plot")]
pub use html::{NARROW_WIDTH, narrow_pictures};
pub use html::{Report, ReportPaint, ReportPicture, ReportStep, report_html};
pub use json::{StepNames, map_json, plan_json, state_json, step_json};
pub use output::{OutputError, prepare_folder, write_whole};
pub use paint::{
    advice_words, binding_words, chance_words, clear_source_words, panel_paint_json, policy_words, verdict_words,
};
pub use ply::{ColouredField, ply_of_heights, ply_of_mesh};
pub use surface::{section_entries, surface_csv, surface_map_json, surface_ply, zones_json};
pub use trace::trace_json;
pub use wording::{
    CUT_INTERVAL, CUT_WHERE_STALLED, clear_coat_warning, cut_hides_marks, limit_words, throw_gain_words, volume_words,
    work_words,
};
