//! Fields and curves as CSV with a header row; units in the column names.

use crate::removal::PanelMap;

/// The fields of a map, one row a cell, row by row from the panel's first corner.
///
/// # Errors
/// Only where memory for the text cannot be had.
pub fn map_csv(map: &PanelMap) -> Result<Vec<u8>, csv::Error> {
    let mut w = csv::Writer::from_writer(Vec::new());
    w.write_record([
        "x_mm",
        "y_mm",
        "cut_um",
        "sliding_length_m",
        "coverage_m_per_m2",
        "dwell_s",
        "passes",
        "friction_work_j_per_m2",
        "peak_pressure_pa",
        "spin_rpm",
    ])?;
    let f = &map.field;
    let spin = crate::units::AngularRate::from_rad_s(map.spin_rad_s).rpm();
    let (nx, ny) = f.grid.count();
    for j in 0..ny {
        for i in 0..nx {
            let (x, y) = f.grid.centre(i, j);
            let c = j * nx + i;
            w.write_record(
                [
                    x * 1e3,
                    y * 1e3,
                    map.preston_per_pa * f.work[c] * 1e6,
                    f.slide[c],
                    f.slide[c] * map.grains_per_m2,
                    f.dwell[c],
                    f.passes[c],
                    map.friction * f.work[c],
                    f.peak[c],
                    spin,
                ]
                .map(|v| format!("{v:.6e}")),
            )?;
        }
    }
    w.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}

/// Columns of equal length under their names; missing values are empty.
///
/// # Errors
/// Only where memory for the text cannot be had.
pub fn curves_csv(columns: &[(String, Vec<Option<f64>>)]) -> Result<Vec<u8>, csv::Error> {
    let mut w = csv::Writer::from_writer(Vec::new());
    w.write_record(columns.iter().map(|(name, _)| name))?;
    let rows = columns.iter().map(|(_, v)| v.len()).max().unwrap_or(0);
    for row in 0..rows {
        w.write_record(
            columns.iter().map(|(_, v)| v.get(row).copied().flatten().map_or(String::new(), |x| format!("{x:.6e}"))),
        )?;
    }
    w.into_inner().map_err(|e| csv::Error::from(e.into_error()))
}
