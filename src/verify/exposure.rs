//! Daily vibration and noise, and the frequency weighting of the hand-arm system.

use super::{Check, Group};
use crate::plan::{NoiseTask, VibrationTask, daily_noise_level, hand_arm_dose, hand_arm_weighting};
use crate::units::{Acceleration, Time};

/// Tasks (m/s², h), their name, A(8) where it is printed, points.
type Case<'a> = (&'a [(f64, f64)], &'a str, Option<f64>, f64);

fn dose(tasks: &[(f64, f64)]) -> Option<(f64, f64)> {
    let task = |(a, h): &(f64, f64)| VibrationTask::new(Acceleration::from_m_s2(*a), Time::from_min(60.0 * h)).ok();
    let dose = hand_arm_dose(&tasks.iter().map(task).collect::<Option<Vec<_>>>()?).ok()?;
    Some((dose.daily.m_s2(), dose.points))
}

pub(super) fn checks() -> Vec<Check> {
    let group = "Hand-arm vibration";
    let mut daily = Group::published(group, "ISO 5349-1:2001, daily exposure A(8)", "m/s²");
    let mut points = Group::published(group, "HSE hand-arm vibration ready reckoner", "points");
    let cases: [Case<'_>; 6] = [
        (&[(5.0, 3.0)], "5 m/s² for 3 h", Some(3.0619), 150.0),
        (&[(7.0, 3.0), (4.0, 1.0)], "7 m/s² for 3 h and 4 for 1 h", Some(4.5139), 326.0),
        (&[(4.0, 6.0)], "4 m/s² for 6 h", None, 192.0),
        (&[(7.0, 6.0)], "7 m/s² for 6 h", None, 588.0),
        (&[(2.5, 8.0)], "the action value for 8 h", Some(2.5), 100.0),
        (&[(5.0, 8.0)], "the limit value for 8 h", Some(5.0), 400.0),
    ];
    // Half the last printed digit.
    for (tasks, name, a8, expected) in cases {
        let got = dose(tasks).unwrap_or((f64::NAN, f64::NAN));
        if let Some(a8) = a8 {
            daily.add(name, a8, got.0, 5e-5);
        }
        points.add(name, expected, got.1, 0.5);
    }
    let mut weight = Group::published(group, "ISO 5349-1:2001 annex A, W_h of the filter", "1");
    for (per_minute, expected) in [(4200.0, 0.23024), (6000.0, 0.16021)] {
        weight.add(format!("at {per_minute} orbits/min"), expected, hand_arm_weighting(per_minute / 60.0), 5e-6);
    }
    let mut noise = Group::published("Noise", "ISO 9612:2009, daily noise exposure level L_EX,8h", "dB");
    let level = NoiseTask::new(88.0, Time::from_min(240.0)).ok();
    let level = level.and_then(|t| daily_noise_level(&[t]).ok().flatten()).unwrap_or(f64::NAN);
    noise.add("88 dB for 4 h", 84.990, level, 5e-4);
    [daily, points, weight, noise].into_iter().flat_map(|g| g.checks).collect()
}
