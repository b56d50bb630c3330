//! Fields and curves as CSV with a header row; units in the column names.

use crate::removal::PanelMap;

/// The fields of a map, one row a cell, row by row from the panel's first corner.
///
/// Columns: `x_mm`, `y_mm` (middle of the cell), `cut_um`, `sliding_length_m`, `coverage_m_per_m2`, `dwell_s`, `passes`,
/// `friction_work_j_per_m2`, `peak_pressure_pa`, `spin_rpm`; seven digits. Spill past the edges is left out.
///
/// # Errors
/// Only where memory for the text cannot be had.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::{Work, plan_step};
/// use trochoid::report::map_csv;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let Work::Patch(map) = &plan.work else { return Err("a rectangle is one patch".into()) };
/// let (nx, ny) = map.field.grid.count();
/// let table = String::from_utf8(map_csv(map)?)?;
/// // A row for each cell under the head.
/// assert!(table.starts_with("x_mm,y_mm,cut_um,"));
/// assert_eq!(table.lines().count(), 1 + nx * ny);
/// # Ok(())
/// # }
/// ```
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
///
/// # Example
/// ```
/// use trochoid::report::curves_csv;
/// let columns = [("force_n".to_owned(), vec![Some(20.0), Some(40.0)]), ("spin_rpm".to_owned(), vec![Some(120.0), None])];
/// let table = String::from_utf8(curves_csv(&columns)?)?;
/// assert_eq!(table, "force_n,spin_rpm\n2.000000e1,1.200000e2\n4.000000e1,\n");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
