//! Tables of panels, and the ambient, limits and map tables.

use super::equipment::Notes;
use super::keys::{AMBIENT, LIMITS, MAP};
use super::model::{Ambient, Limits, MapSettings};
use super::problem::Problem;
use super::reader::{Table, report_default};
use super::real_panel::{RealPanel, is_real, not_on_a_rectangle, real_panel};
use crate::equipment::{defaults, within};
use crate::panel::{Panel, Patch};
use crate::units::{Angle, AngularRate, Curvature, Length, Speed, Temperature};
use std::sync::Arc;

const SHAPES: [&str; 12] = [
    "flat",
    "sphere",
    "cylinder",
    "quadric",
    "torus",
    "crowned_door",
    "body_line",
    "wheel_arch",
    "sine",
    "height_map",
    "profile",
    "mesh",
];

/// A panel as a job describes it.
#[derive(Debug, Clone)]
pub(super) struct Described {
    /// Local shape, box and incline; the patch of a real panel depends on the pad and is flat here.
    pub(super) panel: Panel,
    /// The real panel, where it is one.
    pub(super) real: Option<Arc<RealPanel>>,
}

/// Zero, whatever its sign; a subnormal curvature is flat too.
fn is_zero(k: f64) -> bool {
    k.abs() < f64::MIN_POSITIVE
}

/// Reads `[panel.NAME]`; the name of its paint is left to the caller.
pub(super) fn panel(t: &Table<'_>, notes: &mut Notes) -> Result<Described, Problem> {
    let shape = t.need_choice("shape", &SHAPES)?;
    let axis_deg = t.ranged(within("axis_deg", t.number("axis_deg")?.unwrap_or(0.0), -360.0, 360.0, "°"))?;
    let axis = Angle::from_deg(axis_deg);
    if is_real(t, shape)? {
        let (panel, real) = real_panel(t, shape, axis, notes)?;
        return Ok(Described { panel, real: Some(Arc::new(real)) });
    }
    let patch = patch(t, shape, axis)?;
    let size = "two lengths, [along x, along y], in mm";
    let (x, y) = t.pair("size_mm", size)?.ok_or_else(|| t.missing("size_mm", ""))?;
    let mut panel = t.ranged(Panel::new(patch, Length::from_mm(x), Length::from_mm(y)))?;
    if let Some(incline) = t.number("incline_deg")? {
        panel = t.ranged(panel.with_incline(Angle::from_deg(incline)))?;
    }
    let mut skip = not_on_a_rectangle();
    skip.retain(|k| !t.has(k));
    t.report(&mut notes.resolved, &skip);
    Ok(Described { panel, real: None })
}

pub(super) fn patch(t: &Table<'_>, shape: &str, axis: Angle) -> Result<Patch, Problem> {
    let key = "curvature_per_m";
    let expected = match shape {
        "flat" => "0, or left out",
        "sphere" => "one curvature k, or [k, k], in 1/m",
        "cylinder" => "one curvature k, or [k, 0], in 1/m",
        _ => "two principal curvatures, [k1, k2], in 1/m",
    };
    let given = curvatures(t, key, expected)?;
    let refused = || {
        t.problem(key, format!("`{}` does not describe a {shape}", t.path_of(key)))
            .with_allowed(expected)
            .with_help("shape = \"quadric\" takes any two principal curvatures")
    };
    let per_m = Curvature::from_per_m;
    let Some(given) = given else {
        return if shape == "flat" {
            Ok(Patch::flat())
        } else {
            Err(t.missing(key, &format!(" of a {shape}")).with_allowed(expected))
        };
    };
    // Range first, so that a number that is none is told as such.
    for k in &given {
        t.ranged(Patch::sphere(per_m(*k)))?;
    }
    match (shape, given.as_slice()) {
        ("flat", [k]) if is_zero(*k) => Ok(Patch::flat()),
        ("flat", [a, b]) if is_zero(*a) && is_zero(*b) => Ok(Patch::flat()),
        ("sphere", [k]) => t.ranged(Patch::sphere(per_m(*k))),
        ("sphere", [a, b]) if is_zero(a - b) => t.ranged(Patch::sphere(per_m(*a))),
        ("cylinder", [k]) => t.ranged(Patch::cylinder(per_m(*k), axis)),
        ("cylinder", [k, other]) if is_zero(*other) => t.ranged(Patch::cylinder(per_m(*k), axis)),
        ("quadric", [a, b]) => t.ranged(Patch::quadric(per_m(*a), per_m(*b), axis)),
        _ => Err(refused()),
    }
}

/// One number or a list of one or two.
fn curvatures(t: &Table<'_>, key: &str, expected: &str) -> Result<Option<Vec<f64>>, Problem> {
    if !t.is_array(key) {
        return match t.number(key) {
            Ok(k) => Ok(k.map(|k| vec![k])),
            Err(_) => Err(t.wrong_type(key, expected)),
        };
    }
    let given = t.numbers(key, expected)?;
    if given.as_ref().is_some_and(|k| k.is_empty() || k.len() > 2) {
        let count = given.map_or(0, |k| k.len());
        return Err(t
            .problem(key, format!("`{}` has {count} numbers, expected {expected}", t.path_of(key)))
            .with_allowed(expected));
    }
    Ok(given)
}

/// Reads `[ambient]`, `[limits]` and `[map]`, each with its defaults where it is missing.
pub(super) fn settings(root: &Table<'_>, notes: &mut Notes) -> Result<(Ambient, Limits, MapSettings), Problem> {
    let ambient = match root.table("ambient", &AMBIENT)? {
        Some(t) => {
            let air = Ambient::new(
                Temperature::from_c(t.number("temperature_c")?.unwrap_or(defaults::AIR_TEMPERATURE_C)),
                t.number("relative_humidity")?.unwrap_or(defaults::RELATIVE_HUMIDITY),
                Speed::from_m_s(t.number("air_speed_m_s")?.unwrap_or(defaults::AIR_SPEED_M_S)),
            );
            t.report(&mut notes.resolved, &[]);
            t.ranged(air)?
        }
        None => Ambient::default(),
    };
    let limits = match root.table("limits", &LIMITS)? {
        Some(t) => {
            let rpm = t.number("useful_spin_rpm")?.unwrap_or(defaults::USEFUL_SPIN_RPM);
            t.report(&mut notes.resolved, &[]);
            let paint = t.number("paint_c")?;
            let paint = paint.map(|c| t.ranged(within("paint_c", c, 25.0, 200.0, "°C"))).transpose()?;
            if let Some(limit) = paint.filter(|c| *c <= ambient.temperature.c()) {
                return Err(t
                    .problem("paint_c", format!("the paint may be {limit} °C, and the air is as warm"))
                    .with_allowed(format!("above ambient.temperature_c, {} °C", ambient.temperature.c())));
            }
            Limits {
                useful_spin: AngularRate::from_rpm(t.ranged(within("useful_spin_rpm", rpm, 0.1, 5000.0, "rpm"))?),
                paint: paint.map(Temperature::from_c),
            }
        }
        None => Limits::default(),
    };
    let map = match root.table("map", &MAP)? {
        Some(t) => {
            let mm = t.number("cell_mm")?.unwrap_or(defaults::CELL_MM);
            t.report(&mut notes.resolved, &[]);
            MapSettings { cell: Length::from_mm(t.ranged(within("cell_mm", mm, 0.05, 100.0, "mm"))?) }
        }
        None => MapSettings::default(),
    };
    for kind in [&AMBIENT, &LIMITS, &MAP] {
        if !root.has(kind.name) {
            for key in kind.keys {
                report_default(&mut notes.resolved, kind, key.name, kind.path_of(key.name));
            }
        }
    }
    Ok((ambient, limits, map))
}
