//! Real panels of a job: shapes by formula, files, free edges, holes, tape, work region, sections.

use super::equipment::Notes;
use super::panel::patch;
use super::problem::Problem;
use super::reader::{Table, list, report_derived};
use crate::equipment::within;
use crate::error::RangeError;
use crate::panel::mesh::{LengthUnit, MeshHealth, MeshPanel, MeshView, Severity, TriangleMesh, Up};
use crate::panel::read::{ReadError, read_height_map, read_mesh, read_profile};
use crate::panel::{
    AnalyticShape, BodyLine, Crease, CreaseSettings, CrownedDoor, HeightMap, Outline, Panel, Patch, Surface, TorusSide,
    WheelArch, find_creases,
};
use crate::units::{Angle, Curvature, Length};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

/// Shapes that are always real panels, with free edges.
pub(super) const REAL_SHAPES: [&str; 8] =
    ["torus", "crowned_door", "body_line", "wheel_arch", "sine", "height_map", "profile", "mesh"];

/// Distance of the nodes of a height map where none is given, mm.
pub(super) const GRID_MM: f64 = 2.0;
/// Blend of neighbouring sections where none is given, mm.
pub(super) const BLEND_MM: f64 = 40.0;
/// Length over which the crown of a door fades in above its lower edge, where none is given, mm.
pub(super) const EDGE_LENGTH_MM: f64 = 150.0;
/// Width of the hollow of a flare where none is given, mm.
pub(super) const FLARE_HOLLOW_WIDTH_MM: f64 = 60.0;
/// Width of the lip of a flare where none is given, mm.
pub(super) const FLARE_LIP_WIDTH_MM: f64 = 15.0;

/// A mesh from a file and how its vertices stand in plan, for results put back on it.
#[derive(Debug, Clone, PartialEq)]
pub struct MeshSource {
    /// The mesh.
    pub mesh: TriangleMesh,
    /// The mesh in plan.
    pub plan: MeshPanel,
    /// What was found wrong or worth knowing.
    pub health: MeshHealth,
}

/// A `[panel.NAME]` with free edges: a shape by formula other than flat, sphere, cylinder and quadric, a height map,
/// profile or mesh from a file beside the job, or any shape with `edges = "free"`.
///
/// Refused are files outside the job's folder, damaged ones, and keys of another shape.
#[derive(Debug, Clone, PartialEq)]
pub struct RealPanel {
    /// Heights, tape, region, incline.
    pub surface: Arc<Surface>,
    /// Sides of the work sections, 0.05 to 10 m, and their blend, 0 to 0.5 m \[m\], where the panel is to be cut into sections.
    pub sections: Option<((f64, f64), f64)>,
    /// The mesh it came from, where it came from one.
    pub mesh: Option<Arc<MeshSource>>,
    /// Creases and body lines found on it.
    pub creases: Vec<Crease>,
    /// What was noticed on the way, in words.
    pub notes: Vec<String>,
}

/// Keys that only a real panel has.
const REAL_KEYS: [&str; 6] = ["holes_mm", "tape_mm", "region_mm", "section_mm", "blend_mm", "grid_mm"];

/// Keys of a shape of its own, for the others to refuse.
const SHAPE_KEYS: [(&str, &[&str]); 19] = [
    ("tube_radius_mm", &["torus"]),
    ("ring_radius_mm", &["torus"]),
    ("torus_side", &["torus"]),
    ("crown_per_m", &["crowned_door", "body_line"]),
    ("edge_crown_per_m", &["crowned_door"]),
    ("edge_length_mm", &["crowned_door"]),
    ("line_angle_deg", &["body_line"]),
    ("line_radius_mm", &["body_line"]),
    ("line_offset_mm", &["body_line"]),
    ("line_direction_deg", &["body_line"]),
    ("wheel_radius_mm", &["wheel_arch"]),
    ("wheel_centre_mm", &["wheel_arch"]),
    ("flare_hollow_per_m", &["wheel_arch"]),
    ("flare_lip_per_m", &["wheel_arch"]),
    ("amplitude_mm", &["sine"]),
    ("wavelength_mm", &["sine"]),
    ("file", &["height_map", "profile", "mesh"]),
    ("sweep_mm", &["profile"]),
    ("unit", &["mesh"]),
];

/// Defaults that only some shapes take, with those shapes.
const SHAPE_DEFAULTS: [(&str, &[&str]); 10] = [
    ("axis_deg", &["cylinder", "quadric", "sine"]),
    ("up", &["mesh"]),
    ("torus_side", &["torus"]),
    ("crown_per_m", &["body_line"]),
    ("edge_length_mm", &["crowned_door"]),
    ("line_offset_mm", &["body_line"]),
    ("line_direction_deg", &["body_line"]),
    ("flare_hollow_width_mm", &["wheel_arch"]),
    ("flare_lip_width_mm", &["wheel_arch"]),
    ("size_mm", &[]),
];

/// Keys whose defaults are used on real panels alone, whatever their shape.
const REAL_DEFAULTS: [&str; 10] = [
    "grid_mm",
    "holes_mm",
    "tape_mm",
    "region_mm",
    "section_mm",
    "blend_mm",
    "edge_thinning",
    "edge_thinning_mm",
    "line_thinning",
    "line_thinning_mm",
];

/// Keys that only a vehicle's plan uses; it lists them itself.
pub(super) const VEHICLE_KEYS: [&str; 2] = ["bands", "masking_m"];

/// Keys that a plain rectangle leaves out without meaning anything by it.
pub(super) fn not_on_a_rectangle() -> Vec<&'static str> {
    let of_shapes = SHAPE_DEFAULTS.iter().map(|(k, _)| *k).filter(|k| *k != "axis_deg" && *k != "size_mm");
    REAL_DEFAULTS.into_iter().chain(of_shapes).chain(VEHICLE_KEYS).collect()
}

/// Lists the values of a real panel and the defaults that it used.
fn report(t: &Table<'_>, shape: &str, creases: bool, notes: &mut Notes) {
    let left_out = |k: &&'static str| !t.has(k);
    let mut skip: Vec<&'static str> = SHAPE_DEFAULTS
        .iter()
        .filter(|(_, shapes)| !shapes.contains(&shape))
        .map(|(k, _)| *k)
        .filter(left_out)
        .collect();
    let mut unused = |key: &'static str, yes: bool| {
        if yes && !t.has(key) {
            skip.push(key);
        }
    };
    unused("edges", true);
    for k in VEHICLE_KEYS {
        unused(k, true);
    }
    // A height map brings its own nodes; sections that are not cut have no blend.
    unused("grid_mm", shape == "height_map");
    unused("blend_mm", !t.has("section_mm"));
    unused("line_thinning", !creases);
    unused("line_thinning_mm", !creases);
    t.report(&mut notes.resolved, &skip);
    if !t.has("edges") {
        let source = format!("a {shape} has free edges");
        report_derived(&mut notes.resolved, t.path_of("edges"), "free".to_owned(), source);
    }
}

/// Whether a table describes a real panel: by its shape, by free edges, or by a key that only a real
/// panel has.
pub(super) fn is_real(t: &Table<'_>, shape: &str) -> Result<bool, Problem> {
    for (key, shapes) in SHAPE_KEYS {
        if t.has(key) && !shapes.contains(&shape) {
            return Err(t
                .problem(key, format!("`{}` does not belong to a {shape}", t.path_of(key)))
                .with_allowed(format!("with shape = {} only", list(shapes.iter().copied()))));
        }
    }
    let edges = t.choice("edges", &["continued", "free"])?;
    let real_shape = REAL_SHAPES.contains(&shape);
    let stray = REAL_KEYS.into_iter().find(|k| t.has(k));
    match edges {
        Some("continued") if real_shape => {
            Err(t.problem("edges", format!("a {shape} has free edges")).with_allowed("free, or left out"))
        }
        Some("continued") | None if !real_shape && stray.is_some() => {
            let key = stray.unwrap_or_default();
            Err(t
                .problem(key, format!("`{}` needs a panel with free edges", t.path_of(key)))
                .with_allowed("with edges = \"free\", or a shape of its own")
                .with_help("add edges = \"free\" to this panel"))
        }
        Some("free") => Ok(true),
        _ => Ok(real_shape),
    }
}

/// A file beside the job.
pub(super) fn beside(t: &Table<'_>, key: &str, name: &str) -> Result<PathBuf, Problem> {
    let path = Path::new(name);
    let plain = path.components().all(|c| matches!(c, Component::Normal(_) | Component::CurDir));
    if !plain || name.trim().is_empty() {
        return Err(t
            .problem(key, format!("`{}` leads out of the job's folder", t.path_of(key)))
            .with_allowed("the name of a file in the job's folder or below it")
            .with_help("copy the file beside the job"));
    }
    let Some(folder) = t.source.folder else {
        return Err(t.problem(key, "a job that was not read from a file has no folder to read other files from"));
    };
    Ok(folder.join(path))
}

/// A file that cannot be read, as a problem of the key that names it.
fn unread(t: &Table<'_>, e: &ReadError) -> Problem {
    // What is allowed stands in a line of its own.
    let what = ReadError { allowed: String::new(), ..e.clone() };
    let allowed =
        if e.allowed.is_empty() { "a file that can be read, in the job's folder or below it" } else { &e.allowed };
    t.problem("file", what.to_string()).with_allowed(allowed)
}

/// Reads a real panel; the box and incline go into the [`Panel`], whose patch is flat until a step says
/// how large its pad is.
pub(super) fn real_panel(
    t: &Table<'_>,
    shape: &str,
    axis: Angle,
    notes: &mut Notes,
) -> Result<(Panel, RealPanel), Problem> {
    let grid_mm = t.number("grid_mm")?.unwrap_or(GRID_MM);
    let grid = Length::from_mm(t.ranged(within("grid_mm", grid_mm, 0.1, 50.0, "mm"))?);
    let mut told = Vec::new();
    let mut mesh = None;
    let mut heights = match shape {
        "mesh" => {
            let found = from_mesh(t, grid)?;
            for f in &found.health.findings {
                let text = f.to_string();
                if f.severity == Severity::Stops {
                    return Err(t
                        .problem("file", format!("this mesh cannot be worked: {text}"))
                        .with_help("mend the mesh where it was made; nothing is repaired here"));
                }
                told.push(text);
            }
            told.extend(found.plan.notes.iter().cloned());
            let heights = found.plan.heights.clone();
            mesh = Some(Arc::new(found));
            heights
        }
        "height_map" => {
            let path = beside(t, "file", t.need_text("file")?)?;
            let found = read_height_map(&path).map_err(|e| unread(t, &e))?;
            told.extend(found.notes);
            found.heights
        }
        "profile" => {
            let path = beside(t, "file", t.need_text("file")?)?;
            let sweep = t.need_number("sweep_mm")?;
            let sweep = Length::from_mm(t.ranged(within("sweep_mm", sweep, 10.0, 20_000.0, "mm"))?);
            let found = read_profile(&path).map_err(|e| unread(t, &e))?;
            let swept = t.ranged(found.swept(sweep, grid))?;
            told.extend(swept.notes);
            swept.heights
        }
        _ => by_formula(t, shape, axis, grid)?,
    };
    let given_size = t.pair("size_mm", "two lengths, [along x, along y], in mm")?;
    if given_size.is_some() && matches!(shape, "mesh" | "height_map" | "profile") {
        return Err(t
            .problem("size_mm", format!("a {shape} brings its own size"))
            .with_allowed("left out; region_mm limits the work to a part"));
    }
    // The lower corner of the panel is the origin of its plan, as for every other panel.
    let (low, _) = heights.outline().bounds();
    heights = t.ranged(heights.moved((-low.0, -low.1)))?;
    if let Some(plan) = mesh.as_ref().map(|m: &Arc<MeshSource>| m.plan.heights.outline().bounds().0)
        && (plan.0 - low.0).hypot(plan.1 - low.1) > 0.0
    {
        told.push("the lower corner of the outline is the origin of the plan".to_owned());
    }
    for hole in polygons(t, "holes_mm")? {
        heights = t.ranged(heights.with_hole(&hole))?;
    }
    let mut surface = Surface::new(heights);
    if let Some(incline) = t.number("incline_deg")? {
        surface = t.ranged(surface.with_incline(Angle::from_deg(incline)))?;
    }
    let (low, high) = surface.heights().outline().bounds();
    let tape = polygons(t, "tape_mm")?;
    for o in &tape {
        outside(t, "tape_mm", o, (low, high))?;
    }
    if !tape.is_empty() {
        surface = surface.with_tape(tape).map_err(|e| nothing_left(t, "tape_mm", &e))?;
    }
    if let Some(region) = polygon(t, "region_mm")? {
        outside(t, "region_mm", &region, (low, high))?;
        surface = surface.with_region(region).map_err(|e| nothing_left(t, "region_mm", &e))?;
    }
    let blend =
        Length::from_mm(t.ranged(within("blend_mm", t.number("blend_mm")?.unwrap_or(BLEND_MM), 0.0, 500.0, "mm"))?);
    let sections = match t.pair("section_mm", "two lengths, [along x, along y], in mm")? {
        Some((a, b)) => {
            t.ranged(within("section_mm", a, 50.0, 10_000.0, "mm"))?;
            t.ranged(within("section_mm", b, 50.0, 10_000.0, "mm"))?;
            Some(((Length::from_mm(a).m(), Length::from_mm(b).m()), blend.m()))
        }
        None => None,
    };
    let mut panel =
        t.ranged(Panel::new(Patch::flat(), Length::from_m(high.0 - low.0), Length::from_m(high.1 - low.1)))?;
    panel = t.ranged(panel.with_incline(surface.incline()))?;
    let defaults = CreaseSettings::default();
    let smoothing = Length::from_m(defaults.smoothing.m().max(surface.heights().step()));
    let creases = t.ranged(find_creases(surface.heights(), &CreaseSettings { smoothing, ..defaults }))?;
    for note in &told {
        notes.warnings.push(t.warning("shape", &format!("({shape}): {note}")));
    }
    report(t, shape, !creases.is_empty(), notes);
    Ok((panel, RealPanel { surface: Arc::new(surface), sections, mesh, creases, notes: told }))
}

fn nothing_left(t: &Table<'_>, key: &str, e: &RangeError) -> Problem {
    t.problem(key, format!("`{}` leaves nothing of the panel to work", t.path_of(key)))
        .with_allowed(format!("{}; everything else is taped, outside the region or off the panel", e.allowed))
}

/// Refuses a polygon that does not meet the panel's box at all.
fn outside(t: &Table<'_>, key: &str, o: &Outline, (low, high): ((f64, f64), (f64, f64))) -> Result<(), Problem> {
    let (a, b) = o.bounds();
    if b.0 > low.0 && a.0 < high.0 && b.1 > low.1 && a.1 < high.1 {
        return Ok(());
    }
    let mm = |v: f64| Length::from_m(v).mm();
    Err(t.problem(key, format!("an area of `{}` lies wholly off the panel", t.path_of(key))).with_allowed(format!(
        "within x {:.0} to {:.0} mm and y {:.0} to {:.0} mm",
        mm(low.0),
        mm(high.0),
        mm(low.1),
        mm(high.1)
    )))
}

fn from_mesh(t: &Table<'_>, grid: Length) -> Result<MeshSource, Problem> {
    let path = beside(t, "file", t.need_text("file")?)?;
    let unit = t.text("unit")?.ok_or_else(|| {
        t.missing("unit", " of a mesh: files of triangles carry none, and it is never guessed")
            .with_allowed("mm, cm, m, in")
    })?;
    let unit: LengthUnit = unit.parse().map_err(|e: String| t.problem("unit", e).with_allowed("mm, cm, m, in"))?;
    let up: Up = match t.text("up")? {
        Some(up) => up.parse().map_err(|e: String| t.problem("up", e).with_allowed("x, -x, y, -y, z, -z, auto"))?,
        None => Up::Auto,
    };
    let found = read_mesh(&path, unit).map_err(|e| unread(t, &e))?;
    let health = MeshHealth::of(&found.mesh, unit);
    if let Some(stop) = health.findings.iter().find(|f| f.severity == Severity::Stops) {
        return Err(t
            .problem("file", format!("this mesh cannot be worked: {stop}"))
            .with_help("mend the mesh where it was made; nothing is repaired here"));
    }
    let view = MeshView { up, step: grid.m() };
    let mut plan = t.ranged(view.of(&found.mesh))?;
    plan.notes.splice(0..0, found.notes);
    Ok(MeshSource { mesh: found.mesh, plan, health })
}

fn by_formula(t: &Table<'_>, shape: &str, axis: Angle, grid: Length) -> Result<HeightMap, Problem> {
    let per_m = |key: &'static str| -> Result<Curvature, Problem> { Ok(Curvature::from_per_m(t.need_number(key)?)) };
    let mm = |key: &'static str| -> Result<Length, Problem> { Ok(Length::from_mm(t.need_number(key)?)) };
    let or = |key: &'static str, otherwise: f64| -> Result<f64, Problem> { Ok(t.number(key)?.unwrap_or(otherwise)) };
    let (x, y) =
        t.pair("size_mm", "two lengths, [along x, along y], in mm")?.ok_or_else(|| t.missing("size_mm", ""))?;
    let (x, y) = (Length::from_mm(x), Length::from_mm(y));
    let crowns = || t.pair("crown_per_m", "two curvatures, [along, across], in 1/m");
    let form = match shape {
        "torus" => {
            let side = match t.choice("torus_side", &["outer", "inner"])? {
                Some("inner") => TorusSide::Inner,
                _ => TorusSide::Outer,
            };
            AnalyticShape::torus(mm("tube_radius_mm")?, mm("ring_radius_mm")?, side)
        }
        "crowned_door" => {
            let (along, across) = crowns()?.ok_or_else(|| t.missing("crown_per_m", " of a crowned door"))?;
            AnalyticShape::crowned_door(&CrownedDoor {
                along: Curvature::from_per_m(along),
                across: Curvature::from_per_m(across),
                edge: per_m("edge_crown_per_m")?,
                length: Length::from_mm(or("edge_length_mm", EDGE_LENGTH_MM)?),
                below: Length::from_m(0.5 * y.m()),
            })
        }
        "body_line" => {
            let (along, across) = crowns()?.unwrap_or((0.0, 0.0));
            AnalyticShape::body_line(&BodyLine {
                angle: Angle::from_deg(t.need_number("line_angle_deg")?),
                radius: mm("line_radius_mm")?,
                offset: Length::from_mm(or("line_offset_mm", 0.0)?),
                direction: Angle::from_deg(or("line_direction_deg", 0.0)?),
                crown_along: Curvature::from_per_m(along),
                crown_across: Curvature::from_per_m(across),
            })
        }
        "wheel_arch" => {
            // The centre of the opening is told from the panel's lower corner, as every place is.
            let centre = t
                .pair("wheel_centre_mm", "two lengths, [x, y], in mm from the panel's lower corner")?
                .ok_or_else(|| t.missing("wheel_centre_mm", " of a wheel arch"))?;
            let from_middle = |v: f64, side: Length| Length::from_m(Length::from_mm(v).m() - 0.5 * side.m());
            AnalyticShape::wheel_arch(&WheelArch {
                wheel_radius: mm("wheel_radius_mm")?,
                centre: (from_middle(centre.0, x), from_middle(centre.1, y)),
                hollow: per_m("flare_hollow_per_m")?,
                hollow_width: Length::from_mm(or("flare_hollow_width_mm", FLARE_HOLLOW_WIDTH_MM)?),
                lip: per_m("flare_lip_per_m")?,
                lip_width: Length::from_mm(or("flare_lip_width_mm", FLARE_LIP_WIDTH_MM)?),
            })
        }
        "sine" => AnalyticShape::sine(mm("amplitude_mm")?, mm("wavelength_mm")?, axis),
        _ => {
            let patch = patch(t, shape, axis)?;
            let (a, b) = patch.principal();
            let (a, b) = (Curvature::from_per_m(a), Curvature::from_per_m(b));
            match shape {
                "flat" => Ok(AnalyticShape::flat()),
                "sphere" => AnalyticShape::sphere(a),
                "cylinder" => AnalyticShape::cylinder(a, axis),
                _ => AnalyticShape::paraboloid(a, b, axis),
            }
        }
    };
    t.ranged(t.ranged(form)?.height_map((x, y), grid))
}

/// Polygons of a key: a list of lists of [x, y] in mm.
fn polygons(t: &Table<'_>, key: &str) -> Result<Vec<Outline>, Problem> {
    let expected = "polygons, each a list of corners [x, y] in mm";
    let Some(items) = t.array(key, expected)? else { return Ok(Vec::new()) };
    if items.len() > 200 {
        return Err(t
            .problem(key, format!("`{}` has {} polygons", t.path_of(key), items.len()))
            .with_allowed("at most 200"));
    }
    items.iter().map(|item| corners(t, key, t.array_in(key, item, expected)?, expected)).collect()
}

fn polygon(t: &Table<'_>, key: &str) -> Result<Option<Outline>, Problem> {
    let expected = "a list of corners [x, y] in mm";
    t.array(key, expected)?.map(|items| corners(t, key, items, expected)).transpose()
}

fn corners(t: &Table<'_>, key: &str, items: &[super::reader::Value<'_>], expected: &str) -> Result<Outline, Problem> {
    if items.len() > 1000 {
        return Err(t
            .problem(key, format!("a polygon of `{}` has {} corners", t.path_of(key), items.len()))
            .with_allowed("3 to 1000"));
    }
    let mut list = Vec::with_capacity(items.len());
    for item in items {
        let pair = t.numbers_in(key, t.array_in(key, item, expected)?, expected)?;
        let [x, y] = pair.as_slice() else {
            return Err(t
                .problem(key, format!("a corner of `{}` has {} numbers", t.path_of(key), pair.len()))
                .with_allowed(expected));
        };
        list.push((Length::from_mm(*x).m(), Length::from_mm(*y).m()));
    }
    Outline::new(vec![list]).map_err(|e| {
        t.problem(key, format!("`{}` holds no area: {} = {}", t.path_of(key), e.what, e.value)).with_allowed(e.allowed)
    })
}
