//! Real panels in machine-readable form: JSON of a worked panel, its fields as CSV.

use super::json::{remedy, rpm, summary};
use super::ply::{ColouredField, ply_of_heights, ply_of_mesh};
use crate::error::RangeError;
use crate::job::MeshSource;
use crate::math::reduce::map_indexed;
use crate::plan::{SectionWork, StepPlan, SurfaceWork};
use crate::units::Length;
use serde_json::{Value, json};
use std::fmt::Write as _;

fn mm(at: (f64, f64)) -> [f64; 2] {
    [Length::from_m(at.0).mm(), Length::from_m(at.1).mm()]
}

/// The zones of a worked panel, each with its changes and what the first of them did in the map.
#[must_use]
pub(crate) fn zones_json(w: &SurfaceWork) -> Value {
    let whole = w.survey.worked().count().max(1) as f64;
    let zones: Vec<Value> = w
        .zones
        .zones
        .iter()
        .enumerate()
        .map(|(i, z)| {
            let check = w.checks.iter().find(|c| c.zone == i).map(|c| {
                // A pad that no longer comes into the zone presses nowhere there.
                let comes = c.peak_pressure_pa.1 > 0.0;
                json!({
                    "kind": c.change.kind.name(), "value": c.change.value, "unit": c.change.unit,
                    "stalled_share_before": c.stalled_share.0,
                    "stalled_share_after": comes.then_some(c.stalled_share.1),
                    "peak_pressure_before_pa": c.peak_pressure_pa.0,
                    "peak_pressure_after_pa": comes.then_some(c.peak_pressure_pa.1),
                    "helps": c.helps,
                })
            });
            json!({
                "zone": i + 1,
                "kind": z.kind.name(),
                "area_share": z.places.len() as f64 / whole,
                "worst_at_mm": mm(z.worst_at),
                "mean_curvature_per_m": z.mean_curvature_per_m,
                "least_spin_rpm": z.least_spin.map(rpm),
                "peak_pressure_pa": z.peak_pressure_pa,
                "changes": z.changes.iter().map(remedy).collect::<Vec<_>>(),
                "map_rerun": check,
            })
        })
        .collect();
    Value::Array(zones)
}

fn sections_json(w: &SurfaceWork) -> Vec<Value> {
    w.sections
        .iter()
        .map(|s| {
            let (low, high) = s.section.outline().bounds();
            json!({
                "section": s.section.number(),
                "from_mm": mm(low),
                "to_mm": mm(high),
                "area_m2": s.section.area(),
                "time_s": s.time_s,
                "time_on_s": s.time_on_s,
                "stalled_share": s.stalled_share,
                "peak_pressure_pa": s.peak_pressure_pa,
                "cut_um": summary(s.cut.as_ref(), 1e6),
            })
        })
        .collect()
}

/// The result of `map` on a real panel: the keys of a rectangle's map, and what only a real panel has.
///
/// Beside the statistics of [`map_json`](super::map_json): tape, shares touched and stalled, the worst stall number, zones
/// with their changes, sections. See the example of [`surface_csv`].
#[must_use]
pub fn surface_map_json(step: &str, panel: &str, w: &SurfaceWork) -> Value {
    let mut cut = summary(w.cut.as_ref(), 1e6);
    cut.insert("volume_mm3".to_owned(), json!(w.map.volume_m3 * 1e9));
    let grid = &w.map.grid;
    let revisits = w.report.revisits.map(|r| json!({ "median": r.median, "mean": r.mean, "longest": r.longest }));
    let peak = w.map.stops.iter().filter_map(|s| s.state).map(|s| s.peak_pressure_pa).fold(0.0, f64::max);
    json!({
        "step": step,
        "panel": panel,
        "cut_um": cut,
        "panel_cut_um": summary(w.panel_cut.as_ref(), 1e6),
        "sliding_length_m": summary(w.slide.as_ref(), 1.0),
        "coverage_m_per_m2": summary(w.slide.as_ref(), w.map.grains_per_m2),
        "dwell_s": summary(w.dwell.as_ref(), 1.0),
        "path_time_s": w.path.time_on(),
        "lifted_time_s": w.path.time() - w.path.time_on(),
        "path_length_m": w.path.length(),
        "line_spacing_mm": w.path.spacing().first().map(|s| s * 1e3),
        "line_spacing_by_pass_mm": w.path.spacing().iter().map(|s| s * 1e3).collect::<Vec<_>>(),
        // Nothing is removed past a free edge; what the tape took is told apart.
        "spill_mm3": 0.0,
        "tape_mm3": w.map.tape_m3 * 1e9,
        "mask_inset_mm": w.map.reach_m * 1e3,
        "inset_mm": w.inset_m * 1e3,
        "gap_mm": null,
        "covered_share": w.report.covered_share,
        "touched_share": w.map.covered_share(),
        "stalled_share": w.map.stalled_share(),
        "stall_number": w.survey.worst_stall_number(w.inset_m),
        "peak_pressure_pa": peak,
        "turns": w.report.turns,
        "lifts": w.report.lifts,
        "revisit_s": revisits,
        "workable_area_m2": w.report.workable_area,
        "zones": zones_json(w),
        "sections": sections_json(w),
        "grid": { "cell_mm": grid.cell * 1e3, "cell_y_mm": grid.cell * 1e3, "nx": grid.count.0, "ny": grid.count.1 },
    })
}

/// Entries of `plan` for a step that is worked section by section: the step's own with what differs.
///
/// Time, stalled share, peak pressure and cut are the section's own; the interval of its cut has the relative width of the
/// step's. A step without sections gives the one entry back.
///
/// # Example
/// ```
/// use serde_json::json;
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::plan_step;
/// use trochoid::report::section_entries;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// // A rectangle is worked in one piece.
/// let entry = json!({ "step": "cut", "section": null });
/// assert_eq!(section_entries(&entry, &plan), [entry]);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn section_entries(step: &Value, plan: &StepPlan) -> Vec<Value> {
    let Some(w) = plan.work.surface().filter(|w| !w.sections.is_empty()) else { return vec![step.clone()] };
    let spread = plan.cut.map_or((1.0, 1.0), |c| (c.low / c.mean, c.high / c.mean));
    let entry = |s: &SectionWork| {
        let mut out = step.clone();
        let mean = s.cut.map(|c| c.mean * 1e6);
        out["section"] = json!(s.section.number());
        out["time_s"] = json!(s.time_s);
        out["stalled_share"] = json!(s.stalled_share);
        out["peak_pressure_pa"] = json!(s.peak_pressure_pa);
        out["cut_um"] = json!({ "mean": mean, "lo": mean.map(|m| m * spread.0), "hi": mean.map(|m| m * spread.1) });
        out
    };
    w.sections.iter().map(entry).collect()
}

/// Fields of a real panel as CSV: a header, then one row for every cell that is on the panel.
///
/// `x_mm` and `y_mm` are plan coordinates of the cell's middle, `z_mm` the height there. The stall
/// number is that of the nearest place of the survey; missing values are empty.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::{Work, plan_step};
/// use trochoid::report::{surface_csv, surface_map_json, surface_ply};
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let text = STARTER.replace("shape = \"sphere\"", "shape = \"sphere\"\nedges = \"free\"");
/// let job = Job::parse("door.toml", &text)?;
/// let task = job.steps[0].task(trochoid::Length::from_mm(20.0), (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let Work::Surface(work) = &plan.work else { return Err("free edges make a real panel".into()) };
/// let table = String::from_utf8(surface_csv(work))?;
/// let cells = work.map.area.iter().filter(|a| **a > 0.0).count();
/// assert_eq!(table.lines().count(), 1 + cells);
/// // Nothing is removed past a free edge.
/// assert_eq!(surface_map_json("cut", "door", work)["spill_mm3"], 0.0);
/// assert!(surface_ply(work, None)?.starts_with(b"ply\n"));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn surface_csv(w: &SurfaceWork) -> Vec<u8> {
    let (map, grid) = (&w.map, &w.map.grid);
    let (nx, ny) = grid.count;
    let heights = w.surface.heights();
    let head = "x_mm,y_mm,z_mm,cut_um,sliding_length_m,coverage_m_per_m2,dwell_s,stalled_share,peak_pressure_pa,spin_rpm,stall_number,edge_distance_mm,clear_um,taped\n";
    let rows = map_indexed(ny, |j| {
        let mut out = String::new();
        for i in 0..nx {
            let k = j * nx + i;
            if map.area[k] <= 0.0 {
                continue;
            }
            let (x, y) = grid.centre(i, j);
            let dwell = map.field.dwell[k];
            let [x_mm, y_mm] = mm((x, y));
            let _ = write!(
                out,
                "{x_mm:.3},{y_mm:.3},{:.4},{:.6e},{:.6e},{:.6e},{:.6e},",
                Length::from_m(heights.height_at(x, y)).mm(),
                Length::from_m(map.cut(k)).um(),
                map.field.slide[k],
                map.field.slide[k] * map.grains_per_m2,
                dwell
            );
            if dwell > 0.0 {
                let _ = write!(
                    out,
                    "{:.4},{:.6e},{:.3},",
                    map.field.stalled[k] / dwell,
                    map.field.peak[k],
                    rpm(map.field.turned[k] / dwell)
                );
            } else {
                out.push_str(",,,");
            }
            let place = w.survey.places[w.survey.index_of((x, y))].and_then(|p| p.stall_number);
            let _ = place.map_or(Ok(()), |s| write!(out, "{s:.4}"));
            let _ = write!(out, ",{:.3},", Length::from_m(map.edge[k]).mm());
            let _ = w.film_at(k).map_or(Ok(()), |f| write!(out, "{:.3}", Length::from_m(f).um()));
            out.push_str(if map.taped[k] { ",1\n" } else { ",0\n" });
        }
        out
    });
    let mut all = String::with_capacity(head.len() + rows.iter().map(String::len).sum::<usize>());
    all.push_str(head);
    for row in rows {
        all.push_str(&row);
    }
    all.into_bytes()
}

/// The cut on the surface as a coloured PLY: on the mesh that the panel came from, where it came from
/// one, else on its height map. Grey is not worked.
///
/// The value is `cut_um`; see the example of [`surface_csv`].
///
/// # Errors
/// A panel without a whole cell of heights.
pub fn surface_ply(w: &SurfaceWork, source: Option<&MeshSource>) -> Result<Vec<u8>, RangeError> {
    let heights = w.surface.heights();
    let (nx, ny) = heights.count();
    let (grid, map) = (&w.map.grid, &w.map);
    let values: Vec<f64> = map_indexed(nx * ny, |n| {
        let (x, y) = heights.node(n % nx, n / nx);
        let place = ((x - grid.origin.0) / grid.cell, (y - grid.origin.1) / grid.cell);
        let last = ((grid.count.0 - 1) as f64, (grid.count.1 - 1) as f64);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
        let (i, j) = (place.0.floor().clamp(0.0, last.0) as usize, place.1.floor().clamp(0.0, last.1) as usize);
        let k = j * grid.count.0 + i;
        if map.is_workable(k) { Length::from_m(map.cut(k)).um() } else { f64::NAN }
    });
    let Some(source) = source else {
        return ply_of_heights(heights, &ColouredField { name: "cut_um", values: &values, range: None });
    };
    // The panel of the job is the mesh's own plan moved to the corner of its outline: the nodes are the same.
    let on_mesh = source.plan.read_back(&source.mesh, &values, 2.0 * heights.step())?;
    ply_of_mesh(&source.mesh, &ColouredField { name: "cut_um", values: &on_mesh, range: None })
}
