//! What leaves the program: JSON, CSV, and files that are never half written.
//!
//! | what | functions |
//! |---|---|
//! | JSON of a command, keys with units | those that end in `_json`, and [`put_exposure`] |
//! | a table with a head | those that end in `_csv` |
//! | lines of text, as the terminal prints them | those that end in `_words` |
//! | a coloured surface | [`ply_of_heights`], [`ply_of_mesh`], [`surface_ply`] |
//! | one printable page | [`report_html`], [`vehicle_report_html`] |
//! | pictures | `pictures` (feature `plot`) |
//! | files, whole or not at all | [`write_whole`], [`write_figure`], [`run_sweep`], [`merge_shards`] |
//!
//! Nothing here computes physics: numbers come in and go out, in SI inside and in the unit of their key outside.

mod cautions;
mod csv;
mod exposure;
mod hand;
mod heat;
mod html;
mod json;
mod machine;
mod optimize;
mod output;
mod paint;
mod phases;
#[cfg(feature = "plot")]
pub mod pictures;
mod ply;
mod sizing;
mod surface;
mod sweep;
mod trace;
mod vehicle;
mod wording;

pub use cautions::{CAUTIONS, cautions_text};
pub use csv::{curves_csv, map_csv};
pub use exposure::{exposure_words, put_exposure};
pub use hand::{hand_csv, hand_json, hand_words};
pub use heat::{
    HEAT_CAUTIONS, HeatAnswer, drops_words, heat_answer_words, heat_json, pads_words, season_json, season_words,
};
#[cfg(feature = "plot")]
pub use html::{NARROW_WIDTH, narrow_pictures};
pub use html::{
    Report, ReportHeat, ReportPaint, ReportPicture, ReportStep, VehicleReport, report_html, vehicle_report_html,
};
pub use json::{StepNames, map_json, plan_json, state_json, step_json};
pub use machine::{MachineAnswer, machine_json, machine_words};
pub use optimize::{feed_csv, feed_json, feed_words, hand_settings_json, hand_settings_words};
pub use output::{OutputError, left_from_before, prepare_folder, write_whole};
#[cfg(feature = "plot")]
pub use output::{figure_files, write_figure};
pub use paint::{advice_words, panel_paint_json, verdict_words};
pub use phases::{coupling_words, limit_name_words, phase_words};
pub use ply::{ColouredField, ply_of_heights, ply_of_mesh};
pub use sizing::{impossible_words, sizing_csv, sizing_json, sizing_words};
pub use surface::{section_entries, surface_csv, surface_map_json, surface_ply};
pub use sweep::{
    MAX_BATCH, MAX_SHARDS, Merged, Shard, StatusCount, SweepDone, SweepError, SweepRun, merge_shards, run_sweep,
};
pub use trace::trace_json;
pub use vehicle::{clock, vehicle_json, vehicle_words};
pub use wording::{
    CUT_INTERVAL, CUT_WHERE_STALLED, clear_coat_warning, cut_hides_marks, limit_words, ruler_words, three,
    throw_gain_words, volume_words,
};
