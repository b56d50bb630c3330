//! The panel that is heated: passes over 1.2 m by 0.9 m at 38 W into it.

use trochoid::heat::{Cooling, HeatSource, Overhang, PanelJob, Plate, Spread, sources_along};
use trochoid::motion::{Pattern, ToolPath};
use trochoid::units::{Power, Temperature};
use trochoid::{Length, RangeError};

pub const ROOM: Temperature = Temperature::from_c(20.0);

/// The first seconds of the passes.
pub fn sources(seconds: f64) -> Result<Vec<HeatSource>, RangeError> {
    let path = ToolPath::over_rectangle((1.2, 0.9), Pattern::Crosshatch, 2, 0.065, 0.05)?;
    let all = sources_along(&path, Power::from_w(38.0), Length::from_mm(5.0), 0)?;
    let mut left = seconds;
    Ok(all
        .into_iter()
        .take_while(|s| {
            left -= s.time_s;
            left >= 0.0
        })
        .collect())
}

/// The job of the panel.
pub fn panel_job<'a>(
    plate: &'a Plate,
    cooling: &'a Cooling,
    spreads: &'a [Spread],
    sources: &'a [HeatSource],
) -> PanelJob<'a> {
    PanelJob {
        plate,
        cooling,
        size: (Length::from_m(1.2), Length::from_m(0.9)),
        origin_m: (0.0, 0.0),
        start: ROOM,
        spreads,
        sources,
        overhang: Overhang::Lost,
        limit: None,
        probes_m: &[],
    }
}
