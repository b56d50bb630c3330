//! How a step is led over a real panel: pattern, angles, last line, leads, a path from a file.

use super::equipment::Notes;
use super::problem::Problem;
use super::reader::{Table, report_derived};
use super::real_panel::{RealPanel, beside};
use crate::equipment::{Pad, Paint, within};
use crate::motion::{LastLine, Lead, PathOptions, Steady, SurfacePath, SurfacePathOptions, SurfacePattern, Turn};
use crate::panel::{FilmLaw, Patch, Surface, curvature_at};
use crate::plan::{Route, SurfaceTask, SurveySettings};
use crate::spin::Setup;
use crate::units::{Angle, Length, Speed};
use std::io::Read;
use std::sync::Arc;

/// Patterns that a step may ask for; the first two are for every panel.
pub(super) const PATTERNS: [&str; 6] = ["raster", "crosshatch", "edge_first", "spiral", "figure_of_eight", "file"];

/// Keys of a step that only a real panel takes.
const REAL_ONLY: [&str; 5] = ["lead_force_share", "angles_deg", "last_line", "path_file", "travel_mm_s"];

/// Largest path file, bytes: a million rows of sixty letters.
const MAX_PATH_BYTES: u64 = 64 * 1024 * 1024;

/// What the pad feels in the middle of a panel: the place furthest from every edge and tape line where
/// the middle of its box is not to be worked. Flat where no fit can be had.
pub(super) fn middle_patch(surface: &Surface, pad: &Pad) -> Patch {
    let (x, y) = surface.middle();
    curvature_at(surface.heights(), x, y, pad.radius()).and_then(|c| c.patch()).unwrap_or_else(|_| Patch::flat())
}

/// Refuses what needs a real panel on a plain rectangle.
pub(super) fn refuse_on_rectangle(t: &Table<'_>, pattern: &str) -> Result<(), Problem> {
    let help = "add edges = \"free\" to the panel, or give it a shape of its own";
    if !PATTERNS[..2].contains(&pattern) {
        return Err(t
            .problem("pattern", format!("pattern \"{pattern}\" needs a panel with free edges"))
            .with_allowed("raster, crosshatch")
            .with_help(help));
    }
    match REAL_ONLY.into_iter().find(|k| t.has(k)) {
        Some(key) => Err(t
            .problem(key, format!("`{}` needs a panel with free edges", t.path_of(key)))
            .with_allowed("on such a panel only")
            .with_help(help)),
        None => Ok(()),
    }
}

/// Force at the ends of a line over the step's, where none is given.
pub(super) const LEAD_FORCE_SHARE: f64 = 1.0;
/// Speed of the lifted pad where none is given, mm/s.
pub(super) const TRAVEL_MM_S: f64 = 250.0;
/// Share of the film missing at a free edge where none is given, and over which length, mm.
pub(super) const EDGE_THINNING: (f64, f64) = (0.33, 10.0);
/// Share of the film missing on a convex line where none is given, and over which length, mm.
pub(super) const LINE_THINNING: (f64, f64) = (0.25, 8.0);

/// Keys whose default `check` does not list for this step; those of a plain rectangle where there is no
/// real panel.
pub(super) fn unlisted(t: &Table<'_>, pattern: &str, real: bool, leads: bool) -> Vec<&'static str> {
    let mut skip: Vec<&'static str> = Vec::new();
    if !real {
        skip.extend(REAL_ONLY);
        return skip;
    }
    // Turns follow the edge, and the inset is the pattern's own: `report_inset` tells it.
    skip.extend(["turn", "inset_mm"]);
    if !leads {
        skip.push("lead_force_share");
    }
    if matches!(pattern, "spiral" | "file") {
        skip.push("angles_deg");
    }
    if !matches!(pattern, "raster" | "crosshatch" | "edge_first") {
        skip.push("last_line");
    }
    skip.retain(|k| !t.has(k));
    skip
}

/// Lists the inset that a pattern takes by itself.
pub(super) fn report_inset(
    t: &Table<'_>,
    task: &SurfaceTask,
    setup: &Setup,
    overlap: f64,
    passes: usize,
    notes: &mut Notes,
) {
    let Route::Pattern(pattern) = &task.route else { return };
    if task.inset.is_some() {
        return;
    }
    let reach = setup.pad().radius() + setup.face_orbit().radius_m;
    let spacing = (1.0 - overlap) * setup.pad().diameter().m();
    let inset = Length::from_m(pattern.default_inset(reach, spacing, passes));
    let source = "at most 0.6 x (face radius + orbit radius) from edges and tape: so corners are still touched";
    report_derived(&mut notes.resolved, t.path_of("inset_mm"), format!("{:.1} mm", inset.mm()), source.to_owned());
}

fn angles(t: &Table<'_>) -> Result<Vec<Angle>, Problem> {
    let Some(given) = t.numbers("angles_deg", "angles of the lines from x, one for each pass in turn, in °")? else {
        return Ok(vec![Angle::from_deg(0.0), Angle::from_deg(90.0)]);
    };
    if given.is_empty() {
        return Err(t.problem("angles_deg", "no angle is given").with_allowed("1 or more angles, −360 to 360 °"));
    }
    given.into_iter().map(|a| Ok(Angle::from_deg(t.ranged(within("angles_deg", a, -360.0, 360.0, "°"))?))).collect()
}

#[allow(clippy::too_many_arguments)] // one call site; what a step knows when it comes to its path
pub(super) fn surface_task(
    t: &Table<'_>,
    pattern: &str,
    real: &RealPanel,
    panel: &Table<'_>,
    lines: &PathOptions,
    steady: Steady,
    paint: &Paint,
    notes: &mut Notes,
) -> Result<SurfaceTask, Problem> {
    let options = SurfacePathOptions {
        last_line: match t.choice("last_line", &["edge_to_edge", "drop", "shift", "spread"])? {
            Some("drop") => LastLine::Drop,
            Some("shift") => LastLine::Shift,
            Some("spread") => LastLine::Spread,
            _ => LastLine::EdgeToEdge,
        },
        lead: Lead {
            length: lines.lead,
            force_share: match t.number("lead_force_share")? {
                Some(v) => t.ranged(within("lead_force_share", v, 0.01, 10.0, ""))?,
                None => LEAD_FORCE_SHARE,
            },
            feed_share: 1.0 / lines.lead_slowness,
        },
        travel_speed: {
            let v = t.number("travel_mm_s")?.unwrap_or(TRAVEL_MM_S);
            Speed::from_mm_s(t.ranged(within("travel_mm_s", v, 1.0, 10_000.0, "mm/s"))?).m_s()
        },
        ..SurfacePathOptions::default()
    };
    if lines.turn == Turn::Round {
        t.ignore(&["turn"], "is not used on a panel with free edges", &mut notes.warnings)?;
    }
    let angles = angles(t)?;
    let first = angles.first().copied().unwrap_or(Angle::from_deg(0.0));
    let crosshatch = || SurfacePattern::Crosshatch { angles: angles.clone() };
    if pattern != "file" && t.has("path_file") {
        return Err(t
            .problem("path_file", "a path file is given, but the pattern is another")
            .with_allowed("with pattern = \"file\" only"));
    }
    let route = match pattern {
        "raster" => Route::Pattern(SurfacePattern::Raster { angle: first }),
        "edge_first" => Route::Pattern(SurfacePattern::EdgeFirst { inner: Box::new(crosshatch()) }),
        "spiral" => Route::Pattern(SurfacePattern::Spiral),
        "figure_of_eight" => Route::Pattern(SurfacePattern::FigureOfEight {
            angle: first,
            // Circles of about 50 mm radius are usual in vibration test codes; the advance keeps them half over.
            radius: Length::from_mm(50.0).m(),
            advance: Length::from_mm(50.0).m(),
        }),
        "file" => Route::Given(Arc::new(from_file(t, real, steady, &options)?)),
        _ => Route::Pattern(crosshatch()),
    };
    Ok(SurfaceTask {
        surface: Arc::clone(&real.surface),
        route,
        inset: t.has("inset_mm").then_some(lines.inset),
        options,
        sections: real.sections,
        film: film(panel, real, paint)?,
        survey: SurveySettings::default(),
    })
}

fn from_file(
    t: &Table<'_>,
    real: &RealPanel,
    steady: Steady,
    options: &SurfacePathOptions,
) -> Result<SurfacePath, Problem> {
    let name = t.need_text("path_file")?;
    let path = beside(t, "path_file", name)?;
    let cannot =
        |why: String| t.problem("path_file", why).with_allowed("a text table of at most 64 MiB beside the job");
    let file = std::fs::File::open(&path).map_err(|e| cannot(format!("{name} cannot be read: {e}")))?;
    let mut bytes = Vec::new();
    file.take(MAX_PATH_BYTES + 1).read_to_end(&mut bytes).map_err(|e| cannot(format!("{name} cannot be read: {e}")))?;
    if bytes.len() as u64 > MAX_PATH_BYTES {
        return Err(cannot(format!("{name} is larger than 64 MiB")));
    }
    let text = String::from_utf8(bytes).map_err(|_| cannot(format!("{name} is not UTF-8 text")))?;
    // A recorded way has times; a polyline has none.
    let recorded = text.lines().next().unwrap_or_default().contains("time_s");
    let found = if recorded {
        SurfacePath::from_recorded_csv(&real.surface, name, &text, steady.force, options)
    } else {
        SurfacePath::from_polyline_csv(&real.surface, name, &text, steady, options)
    };
    found.map_err(|e| t.problem("path_file", e.to_string()))
}

/// Clear coat at every node, thinner toward edges and convex lines.
fn film(panel: &Table<'_>, real: &RealPanel, paint: &Paint) -> Result<Option<Arc<Vec<f64>>>, Problem> {
    let share = |key: &'static str, otherwise: f64| -> Result<f64, Problem> {
        panel.ranged(within(key, panel.number(key)?.unwrap_or(otherwise), 0.0, 0.95, ""))
    };
    let length = |key: &'static str, otherwise: f64| -> Result<Length, Problem> {
        let mm = panel.number(key)?.unwrap_or(otherwise);
        Ok(Length::from_mm(panel.ranged(within(key, mm, 0.5, 200.0, "mm"))?))
    };
    let law = panel.ranged(FilmLaw::new(
        share("edge_thinning", EDGE_THINNING.0)?,
        length("edge_thinning_mm", EDGE_THINNING.1)?,
        share("line_thinning", LINE_THINNING.0)?,
        length("line_thinning_mm", LINE_THINNING.1)?,
    ))?;
    // Nothing is known of a clear coat of no thickness.
    if paint.clear().um() < 1.0 {
        return Ok(None);
    }
    Ok(Some(Arc::new(panel.ranged(law.film(real.surface.heights(), &real.creases, paint.clear()))?)))
}
