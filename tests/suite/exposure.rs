//! Are the daily doses, the weighting and the unbalance those of the standards and of handbook sums?

use crate::support::{free_tool, linear_pad, rel, setup};
use core::f64::consts::PI;
use trochoid::panel::Patch;
use trochoid::plan::{
    ACTION_VALUE, ArmLoad, IN_USE_RANDOM_ORBIT, LIMIT_VALUE, NoiseTask, Unbalance, VibrationTask, daily_noise_level,
    hand_arm_dose, hand_arm_weighting, time_to_reach,
};
use trochoid::units::{Acceleration, Angle, AngularRate, Force, Length, Mass, Time};

fn task(a: f64, hours: f64) -> VibrationTask {
    VibrationTask::new(Acceleration::from_m_s2(a), Time::from_min(60.0 * hours)).unwrap()
}

fn dose(tasks: &[(f64, f64)]) -> (f64, f64) {
    let tasks: Vec<_> = tasks.iter().map(|(a, h)| task(*a, *h)).collect();
    let dose = hand_arm_dose(&tasks).unwrap();
    (dose.daily.m_s2(), dose.points)
}

#[test]
fn doses_of_the_ready_reckoner() {
    // HSE hand-arm vibration ready reckoner, points to the last digit; A(8) of ISO 5349-1 to four decimals.
    let (daily, points) = dose(&[(5.0, 3.0)]);
    assert!((daily - 3.0619).abs() < 5e-5 && (points - 150.0).abs() < 1e-9, "half the last digit; exact");
    let (daily, points) = dose(&[(7.0, 3.0), (4.0, 1.0)]);
    assert!((daily - 4.5139).abs() < 5e-5 && (points - 326.0).abs() < 0.5, "half the last digit");
    assert!((dose(&[(4.0, 6.0)]).1 - 192.0).abs() < 1e-9 && (dose(&[(7.0, 6.0)]).1 - 588.0).abs() < 1e-9, "exact");
    // Directive 2002/44/EC art. 3: eight hours at the action and at the limit value are 100 and 400 points.
    for (value, points) in [(ACTION_VALUE, 100.0), (LIMIT_VALUE, 400.0)] {
        let (daily, got) = dose(&[(value.m_s2(), 8.0)]);
        assert!((daily - value.m_s2()).abs() < 1e-12 && (got - points).abs() < 1e-9, "rounding");
    }
    // Random-orbit machines in use, HSE table: a band.
    assert!(IN_USE_RANDOM_ORBIT.0.m_s2() >= 7.0 && IN_USE_RANDOM_ORBIT.1.m_s2() <= 10.0);
}

#[test]
fn parts_of_a_day_add_up_and_times_to_the_values_come_back() {
    let tasks = [task(7.0, 1.2), task(3.0, 2.0), task(0.0, 3.0)];
    let all = hand_arm_dose(&tasks).unwrap();
    let squares: f64 = all.partial.iter().map(|a| a.m_s2().powi(2)).sum();
    assert!(rel(squares.sqrt(), all.daily.m_s2()) < 1e-14, "rounding");
    assert!(
        rel(100.0 * all.action_share().powi(2), all.points) < 1e-14
            && rel(all.action_share(), 2.0 * all.limit_share()) < 1e-14
    );
    for a in [2.5, 4.0, 8.0] {
        for value in [ACTION_VALUE, LIMIT_VALUE] {
            let time = time_to_reach(value, Acceleration::from_m_s2(a)).unwrap();
            if time.min() <= 1440.0 {
                let reached = dose(&[(a, time.min() / 60.0)]).0;
                assert!(rel(reached, value.m_s2()) < 1e-12, "rounding");
            }
        }
    }
    assert!(time_to_reach(ACTION_VALUE, Acceleration::from_m_s2(0.0)).is_none());
}

#[test]
fn the_weighting_of_the_standard() {
    // ISO 5349-1 annex A at 4200 and 6000 orbits a minute, computed independently.
    assert!((hand_arm_weighting(4200.0 / 60.0) - 0.23024).abs() < 5e-6, "half the last digit");
    assert!((hand_arm_weighting(6000.0 / 60.0) - 0.16021).abs() < 5e-6, "half the last digit");
    // Table A.2 of ISO 5349-1 at third octaves, three figures, from memory: true mid frequencies 10^(n/10).
    for (n, w) in [
        (8, 0.727),
        (9, 0.873),
        (10, 0.951),
        (11, 0.958),
        (12, 0.896),
        (13, 0.782),
        (14, 0.647),
        (15, 0.519),
        (16, 0.411),
        (17, 0.324),
        (18, 0.256),
        (19, 0.202),
        (20, 0.160),
        (21, 0.127),
        (22, 0.101),
        (23, 0.0799),
        (24, 0.0634),
        (25, 0.0503),
        (26, 0.0398),
        (27, 0.0314),
        (28, 0.0245),
        (29, 0.0186),
        (30, 0.0135),
    ] {
        let got = hand_arm_weighting(10f64.powf(0.1 * f64::from(n)));
        // Half the last digit of three figures.
        let half = if w < 0.1 { 5.1e-5 } else { 5.1e-4 };
        assert!((got - w).abs() < half, "band {n}: {got} {w}");
    }
    for outside in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e300, 1e-300] {
        assert!(hand_arm_weighting(outside).abs() <= 0.0, "no weight: {outside}");
    }
}

/// The slow obvious method: the filter as differential equations, driven by a sine until it is steady; RMS
/// of what comes out over that of what goes in.
fn filtered(frequency: f64) -> f64 {
    let (w1, w2, w3) = (2.0 * PI * 10f64.powf(0.8), 2.0 * PI * 10f64.powf(3.1), 100.0);
    let (q1, q2) = (0.5f64.sqrt(), 0.64);
    let rate = |t: f64, s: [f64; 6]| {
        let input = (2.0 * PI * frequency * t).sin();
        let first = input - w1 / q1 * s[1] - w1 * w1 * s[0];
        let second = first - w2 / q1 * s[3] - w2 * w2 * s[2];
        let third = w2 * w2 * s[2] - w3 / q2 * s[5] - w3 * w3 * s[4];
        [s[1], first, s[3], second, s[5], third]
    };
    let add = |a: [f64; 6], b: [f64; 6], h: f64| core::array::from_fn::<f64, 6, _>(|i| a[i] + h * b[i]);
    // Twenty steps a radian of the fastest corner.
    let dt = 0.05 / (w2.max(2.0 * PI * frequency));
    let settle = 0.6;
    let periods = (0.2 * frequency).ceil().max(1.0);
    let (mut t, mut s, mut sum, mut time) = (0.0, [0.0; 6], 0.0, 0.0);
    while t < settle + periods / frequency {
        let k1 = rate(t, s);
        let k2 = rate(t + 0.5 * dt, add(s, k1, 0.5 * dt));
        let k3 = rate(t + 0.5 * dt, add(s, k2, 0.5 * dt));
        let k4 = rate(t + dt, add(s, k3, dt));
        s = core::array::from_fn(|i| s[i] + dt / 6.0 * (k1[i] + 2.0 * (k2[i] + k3[i]) + k4[i]));
        t += dt;
        if t >= settle {
            let out = (s[5] + w3 * s[4]) * w3;
            sum += out * out * dt;
            time += dt;
        }
    }
    (2.0 * sum / time).sqrt()
}

#[test]
fn the_weighting_is_what_the_filter_does_to_a_sine() {
    for frequency in [4.0, 16.0, 70.0, 400.0, 1300.0] {
        let (slow, fast) = (filtered(frequency), hand_arm_weighting(frequency));
        // The mean square ends within a step of a whole period: 0.05/(2π periods); Runge-Kutta adds 1e-6.
        assert!(rel(slow, fast) < 5e-3, "{frequency}: {slow} {fast}");
    }
}

#[test]
fn noise_of_half_a_day_and_of_two_tools() {
    let noise = |l: f64, h: f64| NoiseTask::new(l, Time::from_min(60.0 * h)).unwrap();
    // ISO 9612: 88 dB for four hours, three decimals.
    let level = daily_noise_level(&[noise(88.0, 4.0)]).unwrap().unwrap();
    assert!((level - 84.990).abs() < 5e-4, "half the last digit: {level}");
    // Twice the same is 3.01 dB more; silence adds nothing.
    let twice = daily_noise_level(&[noise(88.0, 4.0), noise(88.0, 4.0)]).unwrap().unwrap();
    assert!((twice - 88.0).abs() < 1e-12, "rounding");
    assert!(daily_noise_level(&[noise(88.0, 0.0)]).unwrap().is_none() && daily_noise_level(&[]).unwrap().is_none());
}

#[test]
fn an_off_centre_pad_shakes_more() {
    // Order 11 of the trade.
    let s = setup(free_tool(12.0, 4200.0, 0.04, 1e-4), linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat());
    let centred = Unbalance::of(&s, AngularRate::from_rpm(300.0));
    let rate = 4200.0 * PI / 30.0;
    // By hand: m e Ω² with 0.2 kg (the default), 6 mm.
    assert!(rel(centred.orbit_force().n(), 0.2 * 6e-3 * rate * rate) < 1e-12, "rounding");
    assert!(centred.shaking_force().n() <= 0.0, "balanced for this pad");
    let mut last = centred;
    for mm in [1.0, 3.0, 10.0] {
        let off = centred.off_centre_by(Length::from_mm(mm)).unwrap();
        assert!(off.shaking_force().n() > last.shaking_force().n());
        assert!(off.off_centre_force_lifted().n() > last.off_centre_force_lifted().n());
        let mass = Mass::from_kg(2.6);
        assert!(off.weighted_acceleration(mass).unwrap().m_s2() > last.weighted_acceleration(mass).unwrap().m_s2());
        // Lifted, the pad runs up to the orbit rate: (4200/300)² times the pull.
        assert!(rel(off.off_centre_force_lifted().n(), 196.0 * off.off_centre_force().n()) < 1e-12, "rounding");
        last = off;
    }
    // A pad 50 g heavier than the counterweight is made for: 0.05 kg on the orbit, weighted at 70 Hz.
    let heavy = centred.balanced_for(Mass::from_kg(0.15)).unwrap();
    let force = 0.05 * 6e-3 * rate * rate;
    assert!(rel(heavy.residual_force().n(), force) < 1e-12, "rounding");
    let told = heavy.weighted_acceleration(Mass::from_kg(2.6)).unwrap().m_s2();
    assert!(rel(told, hand_arm_weighting(70.0) * force / 2.6) < 1e-12, "rounding");
}

#[test]
fn arms_on_a_hood_a_door_and_overhead() {
    let arm = |incline: f64| {
        let (force, mass) = (Force::from_n(40.0), Mass::from_kg(2.0));
        ArmLoad::new(force, mass, Angle::from_deg(incline), Time::from_min(5.0)).unwrap()
    };
    let weight = 2.0 * 9.80665;
    let (hood, door, overhead) = (arm(0.0), arm(90.0), arm(180.0));
    // The weight presses, hangs, and is held up.
    assert!((hood.push.n() - (40.0 - weight)).abs() < 1e-12 && hood.carry.n().abs() < 1e-12, "rounding");
    assert!((door.push.n() - 40.0).abs() < 1e-12 && (door.carry.n() - weight).abs() < 1e-12, "rounding");
    assert!((overhead.push.n() - (40.0 + weight)).abs() < 1e-12 && overhead.carry.n().abs() < 1e-12, "rounding");
    assert!(hood.load.n() < door.load.n() && door.load.n() < overhead.load.n());
    assert!((door.newton_minutes - 5.0 * 40f64.hypot(weight)).abs() < 1e-9, "rounding");
}

#[test]
fn what_no_day_or_hand_has_is_refused() {
    let told = |e: trochoid::RangeError, words: &[&str]| {
        let text = e.to_string();
        assert!(words.iter().all(|w| text.contains(w)), "{text}");
    };
    let a = Acceleration::from_m_s2;
    told(VibrationTask::new(a(101.0), Time::from_s(1.0)).unwrap_err(), &["vibration_m_s2 = 101", "0 to 100"]);
    told(VibrationTask::new(a(f64::NAN), Time::from_s(1.0)).unwrap_err(), &["vibration_m_s2"]);
    told(VibrationTask::new(a(5.0), Time::from_s(-1.0)).unwrap_err(), &["exposure time", "0 to 24"]);
    told(hand_arm_dose(&[task(5.0, 20.0), task(5.0, 5.0)]).unwrap_err(), &["= 25 h", "24 h together"]);
    told(NoiseTask::new(151.0, Time::from_s(1.0)).unwrap_err(), &["noise_db = 151", "30 to 150"]);
    let s = setup(free_tool(12.0, 4200.0, 0.04, 1e-4), linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat());
    let u = Unbalance::of(&s, AngularRate::from_rpm(300.0));
    told(u.off_centre_by(Length::from_mm(51.0)).unwrap_err(), &["off_centre_mm = 51", "0 to 50"]);
    told(u.balanced_for(Mass::from_kg(-0.1)).unwrap_err(), &["0 to 10"]);
    told(u.weighted_acceleration(Mass::from_kg(0.0)).unwrap_err(), &["0.1 to 50"]);
    let arm = ArmLoad::new(Force::from_n(10.0), Mass::from_kg(2.0), Angle::from_deg(200.0), Time::from_s(1.0));
    told(arm.unwrap_err(), &["incline_deg = 200", "0 to 180"]);
}

#[cfg(feature = "cli")]
mod in_a_job {
    use crate::cli::{SMALL, edited, run_on};
    use serde_json::Value;

    fn plan(text: &str) -> (Value, String) {
        let json = run_on(text, &["plan", "--json"]);
        assert_eq!(json.code, Some(0), "{}", json.told());
        (json.json(), run_on(text, &["plan"]).out)
    }

    fn with(tool: &str, pad: &str) -> String {
        edited(
            SMALL,
            &[
                ("throw_mm = 12.0\n", &format!("throw_mm = 12.0\n{tool}")),
                ("thickness_mm = 25.0\n", &format!("thickness_mm = 25.0\n{pad}")),
            ],
        )
    }

    #[test]
    fn the_day_is_told_where_the_tool_has_a_value_and_null_where_not() {
        let (json, text) = plan(SMALL);
        for key in ["a8_m_s2", "vibration_points", "vibration_action_share", "vibration_limit_share", "noise_lex8h_db"]
        {
            assert!(json["totals"].get(key).is_some_and(Value::is_null), "{key}");
        }
        assert!(text.contains("no A(8): no vibration value of `long`"), "{text}");
        let (json, text) = plan(&with("vibration_m_s2 = 6.0\nnoise_db = 88.0\nmass_kg = 2.0\n", ""));
        let of = |path: &str| json.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path}"));
        let time = of("/totals/time_s");
        // By hand from the time with the pad on.
        assert!((of("/totals/a8_m_s2") - 6.0 * (time / 28_800.0).sqrt()).abs() < 1e-9, "rounding");
        assert!((of("/totals/vibration_points") - 2.0 * 36.0 * time / 3600.0).abs() < 1e-9, "rounding");
        assert!((of("/totals/vibration_action_share") - of("/totals/a8_m_s2") / 2.5).abs() < 1e-12, "rounding");
        assert!((of("/totals/a8_in_use_m_s2/0") - 7.0 * (time / 28_800.0).sqrt()).abs() < 1e-9, "rounding");
        assert!((of("/totals/noise_lex8h_db") - (88.0 + 10.0 * (time / 28_800.0).log10())).abs() < 1e-9, "rounding");
        // 2.5 is 1/2.4 of 6: 8 h/5.76 = 5000 s.
        assert!((of("/exposure/tools/0/time_to_action_s") - 5000.0).abs() < 1e-9, "rounding");
        // On a panel that faces up the weight presses: 35 N less 19.6 N.
        assert!((of("/exposure/steps/0/push_n") - (35.0 - 2.0 * 9.80665)).abs() < 1e-9, "rounding");
        for words in [
            "hands    A(8)",
            "of the action value of 2.5",
            "action value after 1 h 23 min",
            "declared values mostly read low",
            "ears     daily noise",
            "arms     `cut`",
        ] {
            assert!(text.contains(words), "{words} in {text}");
        }
        assert!(!text.contains("shaking"), "centred");
    }

    #[test]
    fn a_pad_off_its_middle_shakes() {
        let shake = |mm: &str| {
            let (json, text) = plan(&with("", &format!("off_centre_mm = {mm}\n")));
            let of = |key: &str| json["exposure"]["steps"][0]["unbalance"][key].as_f64().unwrap();
            (of("off_centre_force_n"), of("off_centre_force_lifted_n"), text)
        };
        let (none, some, more) = (shake("0"), shake("1"), shake("4"));
        assert!(none.0 <= 0.0 && none.1 <= 0.0 && some.0 > 0.0 && more.0 > some.0 && more.1 > some.1);
        // 0.2 kg (the default) 1 mm off at 4200/min: 38.69 N.
        assert!((some.1 - 38.69).abs() < 5e-3, "half the last digit: {}", some.1);
        assert!(some.2.contains("shaking") && some.2.contains("centre it"));
    }

    #[test]
    fn a_noise_or_a_pad_that_cannot_be_is_refused_with_its_place() {
        for (text, words) in [
            (with("noise_db = 151\n", ""), ["tool.long.noise_db", "30 to 150 dB", ":7"]),
            (with("noise_db = \"loud\"\n", ""), ["tool.long.noise_db", "expected a number in dB", ":7"]),
            (with("", "off_centre_mm = 51\n"), ["pad.wide.off_centre_mm", "0 to 50 mm", ":12"]),
            (with("", "off_centre_mm = -1\n"), ["pad.wide.off_centre_mm", "0 to 50 mm", ":12"]),
        ] {
            let answer = run_on(&text, &["check"]);
            assert_eq!(answer.code, Some(2), "{}", answer.told());
            assert!(words.iter().all(|w| answer.err.contains(w)), "{}", answer.err);
        }
    }
}
