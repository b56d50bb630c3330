//! The pictures of a step once more, laid out for a narrow screen: the text keeps its size and the
//! drawing gives way.

use crate::plot::{Figure, PlotError, SeriesLabels, Strips};
use crate::report::pictures::StepCharts;
use crate::report::wording::pass_word;

/// Width of a drawing for a phone \[picture units\]: its labels are then read at about their own size.
pub const NARROW_WIDTH: f64 = 420.0;

/// Narrow forms by file stem, as in [`StepCharts::figures`]; a picture without one is shown as it is.
///
/// The cut without its strips, the stall curves without the axis of radii and with their names in a legend. The charts are
/// those of the example of [`crate::report::pictures`].
///
/// # Errors
/// [`PlotError`] from any of them.
pub fn narrow_pictures(stem: &str, charts: &StepCharts, passes: usize) -> Result<Vec<(String, Figure)>, PlotError> {
    let mut charts = charts.clone();
    charts.cut.title = format!("Cut after {passes} {}", pass_word(passes));
    charts.cut.width = NARROW_WIDTH;
    charts.cut.strips = Strips::None;
    if let Some(spin) = &mut charts.spin {
        spin.title = "Where this pad stalls".into();
        spin.width = NARROW_WIDTH;
    }
    if let Some(stall) = &mut charts.stall {
        stall.width = NARROW_WIDTH;
        // The radius axis would leave little of the width for the curves.
        stall.second_y = None;
        stall.labels = SeriesLabels::Legend;
        stall.y.title = "curvature [1/m]".into();
    }
    charts.figures(stem)
}
