//! The pictures of a step once more, laid out for a narrow screen: the text keeps its size and the
//! drawing gives way.

use crate::plan::{StepPlan, StepTask};
use crate::plot::{Figure, PlotError, SeriesLabels, Strips};
use crate::report::pictures::{Shown, map_chart, stall_chart};
use crate::spin::{Against, StallSettings, force_family, sweep_values};

/// Width of a drawing for a phone, picture units: its labels are then read at about their own size.
const WIDTH: f64 = 420.0;

/// Narrow forms by file stem, as in [`crate::report::pictures::step_pictures`]; a picture without
/// one is shown as it is.
///
/// # Errors
/// [`PlotError`] from any of them.
pub fn narrow_pictures(
    name: &str,
    task: &StepTask,
    plan: &StepPlan,
    settings: &StallSettings,
) -> Result<Vec<(String, Figure)>, PlotError> {
    let passes = if plan.passes == 1 { "pass" } else { "passes" };
    let mut map = map_chart(&task.setup, &plan.map, Shown::Cut, &format!("Cut after {} {passes}", plan.passes));
    map.width = WIDTH;
    map.strips = Strips::None;
    let mut out = vec![(format!("{name}-cut"), map.figure()?)];
    if task.setup.tool().bearing().is_some() && !plan.state.run.sticks {
        let rates = sweep_values(&task.setup, Against::OrbitRate);
        let forces = force_family(&task.setup);
        let mut chart = stall_chart(&task.setup, Against::OrbitRate, &rates, &forces, task.drag_range, settings)?;
        chart.width = WIDTH;
        // The radius axis would leave little of the width for the curves.
        chart.second_y = None;
        chart.labels = SeriesLabels::Legend;
        chart.y.title = "curvature [1/m]".into();
        out.push((format!("{name}-stall"), chart.figure()?));
    }
    Ok(out)
}
