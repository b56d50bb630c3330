//! Speeds and occupancy of an orbiting, spinning pad, and its footprint along a line.

use super::{Check, Group, case};
use crate::contact::{ContactSettings, Hold, solve};
use crate::math::elliptic::mean_speed;
use crate::motion::{Face, face_mean_speed, panel_point_speed};
use crate::panel::Patch;
use crate::removal::Footprint;
use crate::spin::face_orbit;
use crate::units::{AngularRate, Length};
use core::f64::consts::PI;

pub(super) fn checks() -> Vec<Check> {
    let mut mean = Group::computed("Kinematics", "(2/pi)(a+b)E(m), complete elliptic integral", "");
    for (a, b, expected) in [
        (1.0, 0.1, 1.0025015664),
        (1.0, 0.5, 1.0635444100),
        (1.0, 1.0, 4.0 / PI),
        (1.0, 2.0, 2.1270888199),
        (3.0, 4.0, 4.5859190175),
    ] {
        // Half the last printed digit.
        mean.add(format!("mean of a rotating sum ({a}, {b})"), expected, mean_speed(a, b), 5e-11);
    }
    let face = case::pad(140.0, 1e6).map(|p| Face::new(&p, 9e-3));
    let mut share = Group::computed("Kinematics", "(1/pi) acos((r²+e²-R²)/(2re)), R 70, e 9 mm", "");
    for (mm, expected) in [(65.0, 0.66950132), (70.0, 0.47952310), (75.0, 0.29634453)] {
        let got = face.map_or(f64::NAN, |f| f.occupancy(Length::from_mm(mm).m()));
        // Half the last printed digit.
        share.add(format!("share of the orbit covered at {mm} mm"), expected, got, 5e-9);
    }
    let mut speed = Group::computed(
        "Kinematics",
        "independent quadrature of |v| over the covered phases; R 70, e 9 mm, 4200/min, 250 rpm",
        "m/s",
    );
    let (rate, spin) = (AngularRate::from_opm(4200.0).rad_s(), AngularRate::from_rpm(250.0).rad_s());
    for (mm, expected) in [
        (0.0, 3.722787),
        (30.0, 3.764328),
        (61.0, 3.896120),
        (66.0, 2.974802),
        (70.0, 2.449909),
        (75.0, 1.630840),
        (78.0, 0.817125),
    ] {
        let got = face.map_or(f64::NAN, |f| panel_point_speed(&f, rate, spin, Length::from_mm(mm).m(), 24));
        // Half the last printed digit.
        speed.add(format!("panel-frame mean speed at {mm} mm"), expected, got, 5e-7);
    }
    let mut area =
        Group::computed("Kinematics", "area integral of the panel-frame speed, equal in both frames", "m³/s");
    let got = face.map_or(f64::NAN, |f| face_mean_speed(&f, rate, spin) * f.area());
    // Half the last printed digit.
    area.add("area integral of the mean speed", 0.06258270532, got, 5e-12);

    let mut throw = Group::own("Throw at the face", "own formula e_f = sqrt(e² - (µN/k_s)²); pad 130 mm, 15 kPa", "mm");
    for (throw_mm, force, mu, thick, expected) in
        [(12.0, 35.0, 0.35, 25.0, 5.7995), (8.0, 35.0, 0.5, 25.0, 3.3424), (12.0, 60.0, 0.6, 30.0, 2.5642)]
    {
        let area = PI * Length::from_mm(65.0).m().powi(2);
        let e = face_orbit(Length::from_mm(0.5 * throw_mm).m(), mu * force, 15e3 * area / Length::from_mm(thick).m());
        throw.add(
            format!("orbit radius, throw {throw_mm} mm, {force} N, friction {mu}"),
            expected,
            Length::from_m(e.radius_m).mm(),
            // Half the last printed digit.
            5e-5,
        );
    }
    let mut line =
        Group::published("Straight pass", "Lin (2014), eq. 5: g(s) = sqrt(1-s²) + s² ln((1+sqrt(1-s²))/|s|)", "");
    for (s, expected) in [(0.25, 1.097211), (0.5, 1.195265), (0.75, 1.108831), (0.9, 0.814278)] {
        line.add(
            format!("spinning disc, line integral at y/R = {s}"),
            expected,
            line_integral(s).unwrap_or(f64::NAN),
            // Half the last printed digit.
            5e-7,
        );
    }
    let mut out = mean.checks;
    for g in [share, speed, area, throw, line] {
        out.extend(g.checks);
    }
    out
}

/// Line integral of the footprint of a pure spinning disc at even pressure, in units of pωR².
fn line_integral(s: f64) -> Option<f64> {
    let pad = case::pad(140.0, 1e6)?;
    let contact = solve(&pad, &Patch::flat(), 0.0, &Hold::Flat, 10.0, &ContactSettings::default()).ok()?;
    let (radius, spin) = (pad.radius(), 100.0);
    let footprint = Footprint::new(&contact, &Patch::flat(), 0.0, spin);
    let half = radius * (1.0 - s * s).sqrt();
    let sum = crate::math::quadrature::integrate(0.0, half, 64, crate::math::quadrature::Ends::Smooth, |x| {
        footprint.at(x, s * radius).work
    });
    Some(2.0 * sum / (contact.mean_pressure_pa * spin * radius * radius))
}
