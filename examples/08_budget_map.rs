//! Where on a door would a plan take more paint than may go?
//!
//! ```text
//! cargo run --release --example 08_budget_map [FOLDER]
//! ```
//!
//! Forty invented gauge readings of a door become a film map with its interval; a policy turns the film
//! into what may go at each place; six passes over the door are planned and set against it. Writes
//! `08_budget_map.svg` and `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::budget::{
    ClearCoat, ClearShare, CovarianceShape, FilmMap, FilmMapSettings, FilmSettings, GaugeKind, GaugeReading, Policy,
    exceedance, film_map, film_summaries,
};
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Substrate, Tool};
use trochoid::math::distribution::{LogNormal, normal_half_width};
use trochoid::motion::{Pattern, ToolPath};
use trochoid::panel::{Panel, Patch};
use trochoid::plot::{BoldLevel, ColourMap, ColourScale, FieldMap, Figure, Page};
use trochoid::removal::{PanelMap, panel_map};
use trochoid::report::pictures::crosses;
use trochoid::report::write_figure;
use trochoid::spin::{Setup, spin_state};
use trochoid::{AngularRate, Force, Length, Pressure, Stiffness, Torque, ViscousDrag};

/// Door, mm.
const DOOR: (f64, f64) = (1100.0, 700.0);
/// Points of the film map.
const POINTS: (usize, usize) = (55, 35);
const PASSES: usize = 6;
/// Chance of taking more than may go that is accepted at a place, %.
const ACCEPTED: f64 = 10.0;
/// Standard deviation of the logarithm of the removal coefficient after a test spot.
const CUT_LN_SD: f64 = 0.2;
const LEVEL: f64 = 0.90;

#[allow(clippy::too_many_lines)] // one story, told in order
fn main() -> Result<(), Box<dyn Error>> {
    let readings = readings()?;
    let films = film_summaries(&readings, &FilmSettings::default())?;
    let film = films.first().ok_or("no film was read")?;
    let cell = (DOOR.0 / POINTS.0 as f64, DOOR.1 / POINTS.1 as f64);
    let corner = |x: f64, y: f64| (Length::from_mm(x).m(), Length::from_mm(y).m());
    let map = film_map(
        &readings,
        film,
        &FilmMapSettings {
            from: corner(0.5 * cell.0, 0.5 * cell.1),
            to: corner(DOOR.0 - 0.5 * cell.0, DOOR.1 - 0.5 * cell.1),
            points: POINTS,
            level: LEVEL,
            shape: CovarianceShape::Exponential,
        },
    )?;
    let um = |m: f64| Length::from_m(m).um();
    let thin = map.thinnest();
    println!(
        "{} readings: mean film {:.1} µm ({:.1} to {:.1}); kriged with a spread of {:.1} µm over {:.0} mm",
        readings.len(),
        um(film.mean.best),
        um(film.mean.low),
        um(film.mean.high),
        map.fitted.covariance.spread().um(),
        map.fitted.covariance.range().mm()
    );
    println!(
        "thinnest estimate {:.0} µm ({:.0} to {:.0}) at {:.0}, {:.0} mm",
        um(map.film[thin].best),
        um(map.film[thin].low),
        um(map.film[thin].high),
        Length::from_m(map.places[thin].0).mm(),
        Length::from_m(map.places[thin].1).mm()
    );

    let policy = Policy::default();
    let plan = planned()?;
    let share = ClearShare::default();
    let mut may_go = Vec::new();
    let mut over = Vec::new();
    for (i, at) in map.places.iter().enumerate() {
        let clear = clear_at(&map, i, share)?;
        may_go.push(um(policy.allowance(&clear, LEVEL)?.allowed.low));
        let cut = LogNormal::new(cut_at(&plan, *at), CUT_LN_SD)?;
        over.push(100.0 * exceedance(&cut, &clear, &policy).probability);
    }
    let beyond = over.iter().filter(|p| **p > ACCEPTED).count();
    let cut = plan.cut.ok_or("the pad leaves no worked area on this panel")?;
    println!(
        "{PASSES} passes cut {:.2} µm on average; at least {:.1} µm may go at the thinnest place (lower end)",
        um(cut.mean),
        may_go[thin]
    );
    println!(
        "chance of taking more than may go: {:.1} % at the thinnest place; above {ACCEPTED} % on {:.0} % of the door",
        over[thin],
        100.0 * beyond as f64 / over.len() as f64
    );
    for caution in policy.allowance(&clear_at(&map, thin, share)?, LEVEL)?.cautions {
        println!("{caution}");
    }

    let places: Vec<(f64, f64)> = readings.iter().filter_map(GaugeReading::place_m).collect();
    let panel = |title: &str, values: Vec<f64>, colour: ColourScale| FieldMap {
        title: title.into(),
        columns: POINTS.0,
        rows: POINTS.1,
        values,
        x_range: (0.0, DOOR.0),
        y_range: (0.0, DOOR.1),
        colour,
        ..FieldMap::default()
    };
    let scale = |title: &str, map: ColourMap| ColourScale { title: title.into(), map, ..ColourScale::default() };
    let mut total = panel(
        "Film as kriged",
        map.film.iter().map(|f| um(f.best)).collect(),
        scale("total film [µm]", ColourMap::Viridis),
    );
    total.lines = vec![crosses(&places, ((0.0, DOOR.0), (0.0, DOOR.1)))];
    let mut wide = panel(
        "How far to trust it",
        map.film.iter().map(|f| um(f.high - f.best)).collect(),
        scale("90 % half-width [µm]", ColourMap::Cividis),
    );
    wide.lines.clone_from(&total.lines);
    let allowed = panel("What may go at least", may_go, scale("may go, lower end [µm]", ColourMap::Viridis));
    let mut risk =
        panel("Where the plan is over the budget", over, scale("chance of going over [%]", ColourMap::Cividis));
    risk.bold = Some(BoldLevel { at: ACCEPTED, label: format!("{ACCEPTED} % accepted") });
    let figure = Page {
        title: "A door's paint budget, place by place".into(),
        caption: format!(
            "{} invented readings (+) of the total film; clear coat an assumed share of it (25 to 50 %, nine times in \
             ten); may go: a quarter of it, at most 8 µm, a rule of the trade; c) is the lower end of its 90 % interval. Plan: {PASSES} crossed passes, {:.1} µm on \
             average, known within a factor of {:.1} (90 %).",
            readings.len(),
            um(cut.mean),
            (normal_half_width(LEVEL) * CUT_LN_SD).exp()
        ),
        panels: [total, wide, allowed, risk].map(Into::into).into(),
        ..Page::default()
    }
    .figure()?;
    save(&figure, "08_budget_map")
}

/// Readings on an uneven grid: a film that thins toward the lower edge, and a place that was worked
/// before. The scatter is a fixed sequence, so that the example repeats.
fn readings() -> Result<Vec<GaugeReading>, Box<dyn Error>> {
    let mut out = Vec::new();
    for i in 0..40_u32 {
        let (column, row) = (f64::from(i % 8), f64::from(i / 8));
        // Multiples of the golden section fill the interval evenly and look random.
        let wobble = |k: f64| (f64::from(i) * 0.618_034 * k).fract() - 0.5;
        let x = 80.0 + 134.0 * column + 70.0 * wobble(1.0);
        let y = 60.0 + 142.0 * row + 60.0 * wobble(3.0);
        let worked = 48.0 * (-((x - 780.0).powi(2) + (y - 480.0).powi(2)) / 170_f64.powi(2)).exp();
        let film = 112.0 + 14.0 * (y / DOOR.1).sqrt() - worked + 4.0 * wobble(7.0);
        out.push(
            GaugeReading::new(
                "door",
                Length::from_um(film.round()),
                GaugeKind::Magnetic,
                Length::from_um(1.5),
                Substrate::Steel,
            )?
            .at(Length::from_mm(x), Length::from_mm(y))?,
        );
    }
    Ok(out)
}

/// Clear coat at a place of the map: an assumed share of the film there, both uncertain.
fn clear_at(map: &FilmMap, i: usize, share: ClearShare) -> Result<ClearCoat, Box<dyn Error>> {
    let (film, sd) = (map.film[i].best, map.sd_m[i]);
    let spread = (share.mean() * sd).hypot(film * share.sd()).hypot(share.sd() * sd);
    Ok(ClearCoat::stated(Length::from_m(share.mean() * film), Length::from_m(spread))?)
}

/// The planned passes over the whole door, taken as flat.
fn planned() -> Result<PanelMap, Box<dyn Error>> {
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
    let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
    let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    let pad =
        Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?.with_shear_modulus(Pressure::from_kpa(30.0))?;
    let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    let run = spin_state(&setup, setup.patch(), &ContactSettings::default())?;
    let [x, y] = [DOOR.0, DOOR.1].map(Length::from_mm);
    let panel = Panel::new(Patch::flat(), x, y)?;
    let path = ToolPath::over_rectangle((x.m(), y.m()), Pattern::Crosshatch, PASSES, 0.065, 0.04)?;
    Ok(panel_map(&setup, &run, &panel, path, 5e-3)?)
}

/// Planned cut at a place, m.
fn cut_at(plan: &PanelMap, at: (f64, f64)) -> f64 {
    let grid = &plan.field.grid;
    let ((nx, ny), (dx, dy)) = (grid.count(), grid.cell());
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // places on the panel
    let cell = |x: f64, d: f64, n: usize| ((x / d) as usize).min(n - 1);
    plan.preston_per_pa * plan.field.work[cell(at.1, dy, ny) * nx + cell(at.0, dx, nx)]
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    write_figure(&folder, stem, figure)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
