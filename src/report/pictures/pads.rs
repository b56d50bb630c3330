//! Pictures of heat and pads: hottest paint over a panel, pads in rotation over the job.

use crate::job::PadsInRotation;
use crate::plan::StepHeat;
use crate::plot::{ColourMap, ColourScale, Contours, FieldMap, PlotError, Strips, TimeBar, TimeRow, Timeline};
use crate::units::{Length, Temperature};
use crate::wear::{Activity, RotationOutcome};

/// Hottest paint at each place over the work.
#[must_use]
pub fn heat_chart(h: &StepHeat, title: &str) -> FieldMap {
    let (nx, ny) = h.panel.count;
    let side = |n: usize, cell: f64| Length::from_m(n as f64 * cell).mm();
    let at = (Length::from_m(h.peak.at_m.0).mm(), Length::from_m(h.peak.at_m.1).mm());
    FieldMap {
        title: title.into(),
        caption: format!(
            "Hottest {:.1} °C at x {:.0} mm, y {:.0} mm after {:.0} s; {:.0} % of the friction heat goes into the panel.",
            h.peak.surface.c(),
            at.0,
            at.1,
            h.peak.time_s,
            100.0 * h.panel_share
        ),
        columns: nx,
        rows: ny,
        values: h.panel.largest_k.iter().map(|k| Temperature::from_k(*k).c()).collect(),
        x_range: (0.0, side(nx, h.panel.cell_m.0)),
        y_range: (0.0, side(ny, h.panel.cell_m.1)),
        colour: ColourScale { title: "hottest paint [°C]".into(), map: ColourMap::Cividis, ..ColourScale::default() },
        contours: Contours::None,
        strips: Strips::None,
        ..FieldMap::default()
    }
}

/// The pads of a job over time; `None` where no number of pads suffices.
///
/// # Errors
/// [`PlotError`] for more bars than a picture may have.
pub fn pads_timeline(pads: &PadsInRotation) -> Result<Option<Timeline>, PlotError> {
    let RotationOutcome::Enough(rotation) = &pads.outcome else { return Ok(None) };
    let mut rows: Vec<TimeRow> = Vec::new();
    for (kind, count) in rotation.pads.iter().enumerate() {
        for pad in 0..*count {
            let own = rotation.schedule.iter().filter(|e| e.kind == kind && e.pad == pad);
            let bars = own
                .filter_map(|e| {
                    let (kind, label) = match e.activity {
                        Activity::Prime => (0, String::new()),
                        Activity::Work(section) => (1, (section + 1).to_string()),
                        Activity::Clean(_) => (2, String::new()),
                        Activity::Dry => (3, String::new()),
                        Activity::Rest => return None,
                    };
                    Some(TimeBar { start_min: e.start.s() / 60.0, end_min: e.end.s() / 60.0, label, kind })
                })
                .collect();
            rows.push(TimeRow { label: format!("{} {}", pads.kinds[kind].0, pad + 1), bars });
        }
    }
    Ok(Some(Timeline {
        title: "Pads in rotation".into(),
        caption: "Numbers are sections in the order of work; a pad that is neither working nor being cleaned rests and cools."
            .into(),
        kinds: vec!["priming".into(), "working".into(), "cleaning".into(), "drying".into()],
        rows,
        ..Timeline::default()
    }))
}
