//! Pictures of one operating state: speed over the pad in both frames, pressure on a crown, a flat
//! and a hollow, throw lost in the pad, overlap against ripple.

use super::settings_line;
use crate::contact::{Contact, ContactSettings, Load, solve};
use crate::motion::{Face, pad_point_speed, panel_point_speed};
use crate::panel::Patch;
use crate::plot::{
    Axis, ColourMap, ColourScale, Contours, CurveChart, DiscMap, DiscSamples, Figure, Limit, Mark, Page,
    Panel as PlotPanel, PlotError, Series,
};
use crate::removal::{Footprint, ripple};
use crate::spin::{Setup, SpinState, face_orbit};
use crate::units::AngularRate;

const RINGS: usize = 120;
const SIDE: usize = 161;

/// Sliding speed over the pad's face and over the panel below it, on one colour scale.
///
/// Means over an orbit \[m/s\], places \[mm\]; a place of the panel counts zero while the pad is elsewhere. See the
/// example of [`throw_picture`] for the set-up.
///
/// # Errors
/// [`PlotError`] from drawing.
pub fn speed_picture(setup: &Setup, state: &SpinState) -> Result<Figure, PlotError> {
    let face = Face::new(setup.pad(), state.face_orbit_m);
    let (rate, spin) = (setup.tool().rate().rad_s(), state.spin);
    let polar = |radius: f64, f: &dyn Fn(f64) -> f64| DiscSamples::Polar {
        rings: RINGS,
        spokes: 4,
        values: (0..RINGS).flat_map(|i| [f(radius * (i as f64 + 0.5) / RINGS as f64); 4]).collect(),
    };
    let disc = |title: &str, radius: f64, samples: DiscSamples| DiscMap {
        title: title.into(),
        radius: radius * 1e3,
        samples,
        colour: ColourScale {
            title: "mean sliding speed [m/s]".into(),
            map: ColourMap::Viridis,
            ..ColourScale::default()
        },
        contours: Contours::About(6),
        ..DiscMap::default()
    };
    let on_pad = |r: f64| {
        if r < face.hole() { f64::NAN } else { pad_point_speed(face.orbit(), rate, spin, r) }
    };
    let on_panel = |rho: f64| panel_point_speed(&face, rate, spin, rho, 24);
    Page {
        title: "How fast the pad rubs".into(),
        caption: format!(
            "Mean over an orbit. Left: each place of the pad. Right: each place of the panel around the tool axis, zero while the pad is elsewhere. \
             Spin {:.0} rpm; throw at the face {:.1} mm. {}.",
            AngularRate::from_rad_s(spin).rpm(),
            2e3 * face.orbit(),
            settings_line(setup)
        ),
        columns: 2,
        shared_colour: true,
        panels: vec![
            PlotPanel::Disc(disc("Over the pad's face", face.radius(), polar(face.radius(), &on_pad))),
            PlotPanel::Disc(disc("Over the panel", face.reach(), polar(face.reach(), &on_panel))),
        ],
        ..Page::default()
    }
    .figure()
}

/// Pressure under the pad at one instant: on a crown, on a flat, in a hollow of the same curvature,
/// and on the panel itself, on one colour scale. Places that have lifted off carry no value.
///
/// Pressures \[kPa\] at the phase in which the pad centre stands off the tool axis along x. See the
/// example of [`throw_picture`] for the set-up.
///
/// # Errors
/// [`PlotError`] from drawing, or [`PlotError::Empty`] where the pad bottoms out on all of them.
pub fn pressure_picture(setup: &Setup, settings: &ContactSettings) -> Result<Figure, PlotError> {
    let own = *setup.patch();
    let size = if own.is_flat() { 1.0 } else { own.dominant().abs() };
    let like = |k: f64| {
        if own.is_flat() {
            Patch::sphere(crate::units::Curvature::from_per_m(k)).ok()
        } else {
            own.scaled(k / own.dominant()).ok()
        }
    };
    let orbit = setup.face_orbit().radius_m;
    let mut panels = Vec::new();
    let mut mean = 0.0;
    for (name, patch) in [("Crown", like(size)), ("Flat", Some(Patch::flat())), ("Hollow", like(-size))] {
        let Some(patch) = patch else { continue };
        let Ok(contact) = solve(setup.pad(), &patch, orbit, setup.hold(), setup.force().n(), settings) else {
            continue;
        };
        let here = (patch.dominant() - own.dominant()).abs() < 1e-9;
        let title = format!(
            "{name}{}: peak {:.1} kPa, {:.0} % on",
            if here { " (this job)" } else { "" },
            contact.peak_pressure_pa / 1e3,
            100.0 * contact.contact_share
        );
        mean = contact.mean_pressure_pa / 1e3;
        panels.push(PlotPanel::Disc(DiscMap {
            title,
            radius: setup.pad().radius() * 1e3,
            hole_radius: setup.pad().hole_radius() * 1e3,
            samples: DiscSamples::Cartesian { side: SIDE, values: pressure_on_pad(setup, &patch, &contact) },
            colour: ColourScale { title: "pressure [kPa]".into(), map: ColourMap::Viridis, ..ColourScale::default() },
            contours: Contours::About(5),
            missing_name: "lifted off".into(),
            ..DiscMap::default()
        }));
    }
    Page {
        title: "Where the pad presses".into(),
        caption: format!(
            "Pad seen from above at the moment when its centre stands to the right of the tool axis; mean {mean:.2} kPa in each. {}.",
            settings_line(setup)
        ),
        columns: panels.len().max(1),
        shared_colour: true,
        panels,
        width: 1300.0,
        ..Page::default()
    }
    .figure()
}

/// Pressure over the face while the pad centre is at phase zero, kPa; NaN where it has lifted.
fn pressure_on_pad(setup: &Setup, patch: &Patch, contact: &Contact) -> Vec<f64> {
    let (radius, hole) = (setup.pad().radius(), setup.pad().hole_radius());
    let (axis_cos, axis_sin) = (patch.axis().rad().cos(), patch.axis().rad().sin());
    let mut values = Vec::with_capacity(SIDE * SIDE);
    for j in 0..SIDE {
        for i in 0..SIDE {
            let place = |n: usize| radius * (2.0 * (n as f64 + 0.5) / SIDE as f64 - 1.0);
            let (x, y) = (place(i), place(j));
            let s = x.hypot(y);
            let p = match &contact.load {
                Load::Rings(rings) => {
                    let (px, py) = (x + rings.face().orbit(), y);
                    rings.face().backing(s)
                        * rings.field().at(axis_cos * px + axis_sin * py, axis_cos * py - axis_sin * px)
                }
                Load::Tilted(load) => load.pressure(x + load.face().orbit(), y, 0.0),
            };
            values.push(if s <= radius && s >= hole && p > 0.0 { p / 1e3 } else { f64::NAN });
        }
    }
    values
}

/// Throw at the face against force, for several pad thicknesses; `None` for a pad rigid in shear.
///
/// # Errors
/// [`PlotError`] from drawing.
///
/// # Example
/// ```
/// use trochoid::report::pictures::throw_picture;
/// use trochoid::spin::Setup;
/// use trochoid::*;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
/// let crown = Patch::sphere(Curvature::from_per_m(0.25))?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, crown, Force::from_n(35.0))?;
/// // A pad that is rigid in shear keeps its throw whatever the force: there is nothing to draw.
/// assert!(throw_picture(&setup)?.is_none());
/// let soft = setup.pad().clone().with_shear_modulus(Pressure::from_kpa(30.0))?;
/// let setup = Setup::new(setup.tool().clone(), soft, *setup.product(), crown, setup.force())?;
/// assert!(throw_picture(&setup)?.is_some_and(|f| f.width() > 0.0));
/// # Ok(())
/// # }
/// ```
pub fn throw_picture(setup: &Setup) -> Result<Option<Figure>, PlotError> {
    let (Some(_), throw) = (setup.pad().shear_modulus(), setup.tool().throw()) else { return Ok(None) };
    if throw.m() <= 0.0 {
        return Ok(None);
    }
    let now = setup.force().n();
    let (half, mu) = (0.5 * throw.m(), setup.product().friction());
    let own = setup.pad().thickness().mm();
    let mut series = Vec::new();
    for (style, share) in [0.5, 1.0, 1.5, 2.0].iter().enumerate() {
        let thickness = crate::units::Length::from_mm(share * own);
        let Ok(pad) = setup.pad().with_thickness(thickness) else { continue };
        let points = (0..=60)
            .map(|i| {
                let n = 3.0 * now * f64::from(i) / 60.0;
                (n, 2e3 * face_orbit(half, mu * n, pad.shear_stiffness()).radius_m)
            })
            .collect();
        series.push(Series {
            style: Some(style),
            markers: false,
            ..Series::new(&format!("{:.0} mm thick", thickness.mm()), points)
        });
    }
    CurveChart {
        title: "Throw lost in the pad".into(),
        caption: format!("Where a curve meets zero the face sticks and the pad only kneads. {}.", settings_line(setup)),
        x: Axis::between("normal force [N]", 0.0, 3.0 * now),
        y: Axis::between("throw at the face [mm]", 0.0, 1.1 * throw.mm()),
        series,
        limits: vec![Limit { label: "plate".into(), at: throw.mm(), ..Limit::default() }],
        marks: vec![Mark { label: "this job".into(), x: now, y: 2e3 * setup.face_orbit().radius_m }],
        ..CurveChart::default()
    }
    .figure()
    .map(Some)
}

/// Ripple of parallel pass lines against overlap, for the job's own pad.
///
/// Ripple \[% of the mean cut\] over the overlap \[%\] from 0 to 90; see the example of [`throw_picture`] for the set-up.
///
/// # Errors
/// [`PlotError`] from drawing.
pub fn overlap_picture(setup: &Setup, state: &SpinState, overlap: f64) -> Result<Figure, PlotError> {
    let footprint = Footprint::new(&state.contact, setup.patch(), setup.tool().rate().rad_s(), state.spin);
    let overlaps: Vec<f64> = (0..=90).map(|i| f64::from(i) / 100.0).collect();
    let diameter = setup.pad().diameter().m();
    let spacings: Vec<f64> = overlaps.iter().chain([&overlap]).map(|o| (1.0 - o) * diameter).collect();
    let mut all = ripple(&footprint, 0.0, &spacings)
        .map_err(|e| PlotError::Empty { what: format!("the overlap picture ({e})") })?;
    let own = all.pop();
    let line = |name: &str, f: &dyn Fn(&crate::removal::Ripple) -> f64| Series {
        markers: false,
        ..Series::new(name, overlaps.iter().zip(&all).map(|(o, r)| (100.0 * o, 100.0 * f(r))).collect())
    };
    CurveChart {
        title: "Overlap against ripple".into(),
        caption: format!(
            "Endless pass lines one way, spacing (1 − overlap) x {:.0} mm. {}.",
            1e3 * diameter,
            settings_line(setup)
        ),
        x: Axis::between("overlap [% of pad diameter]", 0.0, 90.0),
        y: Axis::linear("ripple of the cut [% of its mean]"),
        series: vec![line("peak to valley", &|r| r.peak_to_valley), line("standard deviation", &|r| r.cv)],
        marks: own
            .map(|r| Mark { label: "this job".into(), x: 100.0 * overlap, y: 100.0 * r.peak_to_valley })
            .into_iter()
            .collect(),
        ..CurveChart::default()
    }
    .figure()
}
