//! The machine itself: balance in two planes, rating life of bearings, duty of a motor, compressed air.

use super::{Check, Group};
use crate::plan::machine::{
    BallBearing, BearingLoad, Duty, PlaneUnbalance, compression_power, permissible_unbalance_kgm, reliability_factor,
    two_plane_correction,
};
use crate::units::{Angle, AngularRate, Force, Length, Mass, MassMoment, Pressure, Speed, Time};

/// A mass: kg, radius m, angle °, plane m.
type Rotor<'a> = &'a [(f64, f64, f64, f64)];

/// Size and direction of the two corrections, kg·m and °.
fn corrected(rotor: Rotor<'_>, planes_m: (f64, f64)) -> Option<[(f64, f64); 2]> {
    let at = |(kg, r, deg, z): &(f64, f64, f64, f64)| {
        PlaneUnbalance::new(Mass::from_kg(*kg), Length::from_m(*r), Angle::from_deg(*deg), Length::from_m(*z)).ok()
    };
    let list: Option<Vec<_>> = rotor.iter().map(at).collect();
    let found = two_plane_correction(&list?, Length::from_m(planes_m.0), Length::from_m(planes_m.1)).ok()?;
    Some(found.map(|u| (u.size_kgm(), u.angle().deg())))
}

const NOT: [(f64, f64); 2] = [(f64::NAN, f64::NAN); 2];

fn balance(out: &mut Vec<Check>) {
    const KHURMI: &str = "Khurmi and Gupta (2005), Theory of Machines, example 21.2, drawn to scale (from memory)";
    const NORTON: &str = "Norton (2008), Design of Machinery, example 12-2, plane B (from memory)";
    let four =
        [(200.0, 0.08, 0.0, -0.1), (300.0, 0.07, 45.0, 0.2), (400.0, 0.06, 115.0, 0.3), (200.0, 0.08, 235.0, 0.6)];
    let [x, y] = corrected(&four, (0.0, 0.4)).unwrap_or(NOT);
    let mut g = Group::published("Balance in two planes", KHURMI, "kg·m");
    // A drawing is read to about a hundredth.
    g.add("four masses, weight in plane X", 35.5, x.0, 0.01 * 35.5);
    g.add("four masses, weight in plane Y", 18.25, y.0, 0.01 * 18.25);
    out.extend(g.checks);
    let three = [(1.2, 1.135, 113.4, 0.854), (1.8, 0.822, 48.8, 1.701), (2.4, 1.04, 251.4, 2.396)];
    let [_, b] = corrected(&three, (0.0, 3.097)).unwrap_or(NOT);
    let mut g = Group::published("Balance in two planes", NORTON, "kg·m");
    // Half the last printed digit.
    g.add("three masses, weight in plane B", 0.904, b.0, 5e-4);
    out.extend(g.checks);
    let mut g = Group::published("Balance in two planes", NORTON, "°");
    // Half the last printed digit, and the angles of the case are printed to 0.1° only.
    g.add("three masses, direction of it", 75.27, b.1, 0.05);
    out.extend(g.checks);
    let mut g =
        Group::own("Balance in two planes", "own moments by hand: pad 200 g on 6 mm, planes 40 and 100 mm", "g·mm");
    let pad = [(0.2, 0.006, 0.0, 0.0)];
    let [first, second] = corrected(&pad, (0.04, 0.1)).unwrap_or(NOT);
    // Rounding.
    g.add("lower counterweight", 2000.0, MassMoment::from_kgm(first.0).gmm(), 1e-9);
    g.add("upper counterweight", 800.0, MassMoment::from_kgm(second.0).gmm(), 1e-9);
    out.extend(g.checks);
    let mut g = Group::published("Balance in two planes", "e_per = G/Omega of ISO 21940-11:2016", "µm");
    let rate = AngularRate::from_rpm(3000.0);
    let one = permissible_unbalance_kgm(Speed::from_mm_s(6.3), rate, Mass::from_kg(1.0)).unwrap_or(f64::NAN);
    // Half the last digit of a division by hand: 6.3/314.159.
    g.add("G 6.3 at 3000 /min", 20.05, Length::from_m(one).um(), 5e-3);
    out.extend(g.checks);
}

fn bearings(out: &mut Vec<Check>) {
    const SHIGLEY: &str = "Budynas and Nisbett (2011), Shigley's, example 11-4: 500 and 400 lbf (from memory)";
    // The units of the example cancel; f_0 = 12.3 makes its table, kept over F_a/C_0, that of the standard.
    let bearing = BallBearing::new(Force::from_n(7900.0), Force::from_n(4450.0)).and_then(|b| b.with_f0(12.3)).ok();
    let load = BearingLoad { radial_n: 500.0, axial_n: 400.0 };
    let life = bearing.and_then(|b| b.life(load, AngularRate::from_rpm(720.0)).ok());
    let mut g = Group::published("Bearing life", SHIGLEY, "lbf");
    // The two tables round differently: 0.1 %.
    g.add("equivalent load", 890.8, life.map_or(f64::NAN, |l| l.equivalent_n), 0.9);
    out.extend(g.checks);
    let mut g = Group::published("Bearing life", SHIGLEY, "h");
    // Three times the 0.1 % of the load.
    g.add("life at 720 /min", 16150.0, life.map_or(f64::NAN, |l| l.l10.h()), 50.0);
    out.extend(g.checks);
    let exercise = BallBearing::new(Force::from_n(55_900.0), Force::from_n(34_000.0)).and_then(|b| b.with_f0(12.3));
    let load = BearingLoad { radial_n: 8400.0, axial_n: 3000.0 };
    let mut g = Group::published(
        "Bearing life",
        "Budynas and Nisbett (2011), ch. 11, exercise 1.2 x 7 kN and 3 kN, a published solution",
        "N",
    );
    // Its Y is rounded to 1.53: 0.5 % of the axial part.
    g.add("equivalent load", 9294.0, exercise.map_or(f64::NAN, |b| b.equivalent_n(&load)), 20.0);
    out.extend(g.checks);
    let mut g = Group::published(
        "Bearing life",
        "ISO/TR 1281-2:2008, a1 = 0.05 + 0.95 (ln S/ln 0.9)^(2/3), behind table 12 of ISO 281 (from memory)",
        "",
    );
    for (s, half) in [(0.95, 5e-3), (0.97, 5e-3), (0.99, 5e-3), (0.999, 5e-4), (0.9995, 5e-4)] {
        let weibull = 0.05 + 0.95 * (f64::ln(s) / f64::ln(0.9)).powf(2.0 / 3.0);
        // Half the last printed digit of the table.
        g.add(format!("a1 at {s}"), weibull, reliability_factor(s).unwrap_or(f64::NAN), half);
    }
    out.extend(g.checks);
}

fn motor_and_air(out: &mut Vec<Check>) {
    let duty = |on: f64, off: f64, running: f64, resting: f64, ratio: f64| {
        let d = Duty::default().with_cycle(Time::from_min(on), Time::from_min(off)).ok()?;
        let d = d.with_time_constants(Time::from_min(running), Time::from_min(resting)).ok()?;
        d.with_constant_loss_ratio(ratio).ok()
    };
    let bears = |d: Option<Duty>| d.map_or(f64::NAN, |d| d.largest_load_share());
    let mut g = Group::computed(
        "Motor duty",
        "Dubey, Fundamentals of Electrical Drives, data (from memory) in the formula for copper loss, evaluated by hand",
        "kW",
    );
    // Half the last printed digit.
    g.add("10 min on, 10 min off", 25.1, 20.0 * bears(duty(10.0, 10.0, 60.0, 90.0, 0.0)), 0.05);
    out.extend(g.checks);
    let mut g = Group::computed(
        "Motor duty",
        "Subrahmanyam, Electric Drives, 2nd edition, data of example 5.3 in its formula, evaluated by hand",
        "",
    );
    // Half the last printed digit.
    g.add("15 min on, 30 off, 100 and 150 min, ratio 0.4", 1.6025, bears(duty(15.0, 30.0, 100.0, 150.0, 0.4)), 5e-5);
    out.extend(g.checks);
    let kw = |m3_min: f64, bar: (f64, f64), n: f64| {
        let pa = |b: f64| Pressure::from_bar(b).pa();
        compression_power(m3_min / 60.0, pa(bar.0), pa(bar.1), n) / 1000.0
    };
    let mut g = Group::published(
        "Compressed air",
        "Eastop and McConkey (1993), Applied Thermodynamics, example 12.1: 1 m³/min, 1.013 to 7 bar, n 1.35",
        "kW",
    );
    // Half the last printed digit.
    g.add("indicated power", 4.24, kw(1.0, (1.013, 7.0), 1.35), 5e-3);
    out.extend(g.checks);
    let mut g = Group::published(
        "Compressed air",
        "published solution of a university paper (GTU, summer 2019): 0.3 m³/min, 1.013 to 7 bar",
        "kW",
    );
    // Its own rounding of the powers on the way: two units of the last digit.
    g.add("isentropic", 1.306, kw(0.3, (1.013, 7.0), 1.4), 2e-3);
    g.add("polytropic, n 1.25", 1.195, kw(0.3, (1.013, 7.0), 1.25), 2e-3);
    g.add("isothermal", 0.977, kw(0.3, (1.013, 7.0), 1.0), 3e-3);
    out.extend(g.checks);
}

pub(super) fn checks() -> Vec<Check> {
    let mut out = Vec::new();
    balance(&mut out);
    bearings(&mut out);
    motor_and_air(&mut out);
    out
}
