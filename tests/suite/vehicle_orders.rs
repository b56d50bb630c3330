//! One input of a vehicle changed at a time: does its plan move the way a practitioner expects? The
//! expectations are the trade's (common practice, no source); each case names its own.

#![cfg(feature = "cli")]

use crate::vehicle_jobs::{plan, with};
use trochoid::job::vehicle::{VehiclePlan, ZonePlan, ZoneStep};
use trochoid::math::reduce::map_indexed;
use trochoid::plan::vehicle::{Minute, Phase};

/// A named case: the pieces that change, and what must hold between the plan before and after.
struct Case {
    name: &'static str,
    /// Pieces changed on both sides, where the small vehicle is too small to show it.
    both: &'static [(&'static str, &'static str)],
    changes: &'static [(&'static str, &'static str)],
    holds: fn(&VehiclePlan, &VehiclePlan) -> Result<(), String>,
}

fn demand(yes: bool, words: String) -> Result<(), String> {
    if yes { Ok(()) } else { Err(words) }
}

/// `after` is more than `before` by more than rounding.
fn rises(what: &str, before: f64, after: f64) -> Result<(), String> {
    demand(after > before * (1.0 + 1e-9) + 1e-12, format!("{what} should rise: {before} to {after}"))
}

fn falls(what: &str, before: f64, after: f64) -> Result<(), String> {
    demand(after < before * (1.0 - 1e-9) - 1e-12, format!("{what} should fall: {before} to {after}"))
}

/// Cut of a phase summed over the zones, µm.
fn cut(p: &VehiclePlan, phase: Phase) -> f64 {
    let own = p.steps.iter().filter(|s| s.phase == phase);
    own.map(|s| 1e6 * s.plan.cut.map_or(s.plan.state.cut_per_pass_m * s.plan.passes as f64, |c| c.mean)).sum()
}

/// Time with the pad on of a phase, min.
fn time(p: &VehiclePlan, phase: Phase) -> f64 {
    p.steps.iter().filter(|s| s.phase == phase).map(|s| s.plan.time_s / 60.0).sum()
}

fn passes(p: &VehiclePlan, phase: Phase) -> f64 {
    p.steps.iter().filter(|s| s.phase == phase).map(|s| s.plan.passes as f64).sum()
}

fn minutes(p: &VehiclePlan, kinds: &[Minute]) -> f64 {
    kinds.iter().map(|m| p.trace.of(*m).s() / 60.0).sum()
}

/// Smallest margin of a limit over all steps.
fn margin(p: &VehiclePlan, limit: &str) -> f64 {
    let all = p.steps.iter().flat_map(|s| &s.plan.limits);
    all.filter(|l| l.name == limit).map(|l| l.margin).fold(f64::INFINITY, f64::min)
}

fn allowed(p: &VehiclePlan) -> f64 {
    p.zones.iter().map(|z| z.allowance.allowed.best * 1e6).sum()
}

fn hollow(p: &VehiclePlan) -> &ZonePlan {
    p.zones.iter().find(|z| z.name == "hollow").expect("the wing has a hollow")
}

/// Face diameter, force and stiffness of the pad that cuts in the hollow: what drags it there.
fn drag_in_hollow(p: &VehiclePlan) -> Option<(f64, f64, f64)> {
    let own = hollow(p).steps.iter().map(|i| &p.steps[*i]).find(|s| s.phase == Phase::Cut)?;
    let pad = own.step.setup.pad();
    let stiffness = pad.shear_modulus().map_or(f64::INFINITY, trochoid::Pressure::kpa);
    Some((pad.diameter().mm(), own.step.setup.force().n(), stiffness))
}

/// Least spin of all steps over the useful one.
fn spin(p: &VehiclePlan) -> f64 {
    p.steps.iter().map(|s| s.plan.state.run.spin / s.plan.state.useful_spin).fold(f64::INFINITY, f64::min)
}

fn uses(p: &VehiclePlan, pad: &str) -> bool {
    p.steps.iter().any(|s| s.step.pad_name == pad)
}

const CASES: &[Case] = &[
    Case {
        name: "thinner clear coat: less may go, no more is taken",
        both: &[],
        changes: &[("clear_um = 45.0", "clear_um = 18.0")],
        holds: |a, b| {
            falls("what may go", allowed(a), allowed(b))?;
            demand(cut(b, Phase::Cut) <= cut(a, Phase::Cut) + 1e-9, "more is cut of less".to_owned())
        },
    },
    Case {
        name: "hotter room: less margin to the paint's limit",
        both: &[],
        changes: &[("temperature_c = 20.0", "temperature_c = 38.0")],
        holds: |a, b| falls("margin", margin(a, "paint_temperature"), margin(b, "paint_temperature")),
    },
    Case {
        name: "tighter hollow: a smaller or softer pad or less force there",
        both: &[],
        changes: &[("[0.3, -0.6, -0.1]", "[0.3, -2.6, -0.6]")],
        holds: |a, b| match (drag_in_hollow(a), drag_in_hollow(b)) {
            (Some(a), Some(b)) => demand(b.0 < a.0 || b.1 < a.1 || b.2 < a.2, format!("{a:?} to {b:?}")),
            (_, None) => demand(!hollow(b).unmet.is_empty(), "neither worked nor told".to_owned()),
            (None, Some(_)) => Err("the easier hollow is not worked".to_owned()),
        },
    },
    Case {
        name: "one pad of each at hand: more cleaning and waiting",
        both: &[("size_mm = [1000.0, 700.0]", "size_mm = [1800.0, 1300.0]")],
        changes: &[("count = 8", "count = 1"), ("face = \"finishing_foam\"", "face = \"finishing_foam\"\ncount = 1")],
        holds: |a, b| {
            let of = |p| minutes(p, &[Minute::Clean, Minute::Rest]);
            rises("cleaning and waiting", of(a), of(b))
        },
    },
    Case {
        name: "softer paint: more refining, or haze that stays",
        both: &[],
        changes: &[("hardness = \"medium\"", "hardness = \"soft\"")],
        holds: |a, b| {
            let haze = |p: &VehiclePlan| p.zones.iter().flat_map(|z| &z.unmet).filter(|u| u.contains("haze")).count();
            if haze(b) > haze(a) { Ok(()) } else { rises("refining", time(a, Phase::Refine), time(b, Phase::Refine)) }
        },
    },
    Case {
        name: "plastic instead of steel: less margin to the paint's limit",
        both: &[],
        changes: &[("lightness = 12.0", "lightness = 12.0\nsubstrate = \"plastic\"")],
        holds: |a, b| falls("margin", margin(a, "paint_temperature"), margin(b, "paint_temperature")),
    },
    Case {
        name: "more correction wanted: more is cut",
        both: &[],
        changes: &[("target_correction = 0.9", "target_correction = 0.98")],
        holds: |a, b| rises("cut", cut(a, Phase::Cut), cut(b, Phase::Cut)),
    },
    Case {
        name: "a shorter day: more days",
        both: &[],
        changes: &[("cell_mm = 8.0", "cell_mm = 8.0\nday_hours = 0.75")],
        holds: |a, b| rises("days", a.trace.days() as f64, b.trace.days() as f64),
    },
    Case {
        name: "the cutting pad gone: another one cuts, or a limit is told",
        both: &[],
        changes: &[(
            "[pad.cutting]\ndiameter_mm = 130.0\nthickness_mm = 25.0\ncompression = { law = \"linear\", stiffness_kpa_per_mm = 0.9 }\nshear_modulus_kpa = 30.0\ncount = 8\n",
            "",
        )],
        holds: |a, b| {
            demand(uses(a, "cutting") && !uses(b, "cutting"), "the pad is gone".to_owned())?;
            let worked = b.zones.iter().all(|z| !z.steps.is_empty() || !z.unmet.is_empty());
            demand(worked, "a zone is neither worked nor told".to_owned())?;
            rises("time", a.trace.total().s(), b.trace.total().s())
        },
    },
    Case {
        name: "light paint: haze shows less, less refining",
        both: &[],
        changes: &[("lightness = 12.0", "lightness = 92.0")],
        holds: |a, b| falls("refining", time(a, Phase::Refine), time(b, Phase::Refine)),
    },
    Case {
        name: "a compound that cuts twice as fast: less time to cut",
        both: &[],
        changes: &[("preston_per_pa = 2.0e-11", "preston_per_pa = 4.0e-11")],
        holds: |a, b| falls("time to cut", time(a, Phase::Cut), time(b, Phase::Cut)),
    },
    Case {
        name: "a slower hand: no more passes",
        both: &[],
        changes: &[("feed_mm_s = [25.0, 60.0]", "feed_mm_s = [10.0, 16.0]")],
        holds: |a, b| demand(passes(b, Phase::Cut) <= passes(a, Phase::Cut), "slower and more passes".to_owned()),
    },
    Case {
        name: "a weaker hand: longer at it",
        both: &[],
        changes: &[("force_n = [20.0, 50.0]", "force_n = [8.0, 12.0]")],
        holds: |a, b| rises("time", a.trace.total().s(), b.trace.total().s()),
    },
    Case {
        name: "a coefficient that is better known: less paint is taken to be sure",
        both: &[],
        changes: &[(
            "[paint.clear]",
            "[pairing.known]\npad = \"cutting\"\nproduct = \"compound\"\npreston_rel_sd = 0.1\n[pairing.known_small]\npad = \"small\"\nproduct = \"compound\"\npreston_rel_sd = 0.1\n[paint.clear]",
        )],
        holds: |a, b| falls("cut", cut(a, Phase::Cut), cut(b, Phase::Cut)),
    },
    Case {
        name: "less confidence asked for: less is cut to be sure of the correction",
        both: &[],
        changes: &[("cell_mm = 8.0", "cell_mm = 8.0\nconfidence = 0.75")],
        holds: |a, b| falls("cut", cut(a, Phase::Cut), cut(b, Phase::Cut)),
    },
    Case {
        name: "correction only: no refining, less time",
        both: &[],
        changes: &[("finish = \"correct_and_refine\"", "finish = \"correct\"")],
        holds: |a, b| {
            demand(b.steps.iter().all(|s| s.phase == Phase::Cut), "refined though not wanted".to_owned())?;
            falls("time", a.trace.total().s(), b.trace.total().s())
        },
    },
    Case {
        name: "deeper defects: more is cut, or less is reached",
        both: &[],
        changes: &[("\"swirl_marks\"", "\"random_deep_scratches\"")],
        holds: |a, b| {
            rises("cut", cut(a, Phase::Cut), cut(b, Phase::Cut))?;
            demand(a.reaches() || !b.reaches(), "deeper ones reach what shallower do not".to_owned())
        },
    },
    Case {
        name: "slower masking: masking takes longer and nothing else does",
        both: &[],
        changes: &[("cell_mm = 8.0", "cell_mm = 8.0\nmasking_min_per_m = 1.2")],
        holds: |a, b| {
            rises("masking", minutes(a, &[Minute::Masking]), minutes(b, &[Minute::Masking]))?;
            let work = (minutes(a, &[Minute::Work]), minutes(b, &[Minute::Work]));
            demand((work.0 - work.1).abs() < 1e-9, format!("work changed: {work:?}"))
        },
    },
    Case {
        name: "a grabby compound: the pad turns with less to spare",
        both: &[],
        changes: &[("friction = 0.35", "friction = 0.60")],
        holds: |a, b| {
            let own = |p: &VehiclePlan, of: fn(&ZoneStep) -> f64| {
                p.steps.iter().filter(|s| s.phase == Phase::Cut).map(of).fold(f64::INFINITY, f64::min)
            };
            let spin = |p| own(p, |s| s.plan.state.run.spin);
            let force = |p| own(p, |s| s.step.setup.force().n());
            demand(
                spin(b) < spin(a) || force(b) < force(a),
                format!("spin {} to {}, force {} to {}", spin(a), spin(b), force(a), force(b)),
            )
        },
    },
    Case {
        name: "slacker bearings: slower pads, gentler settings",
        both: &[],
        changes: &[("breakaway_nm = 0.03", "breakaway_nm = 0.018"), ("breakaway_nm = 0.015", "breakaway_nm = 0.009")],
        holds: |a, b| {
            let force = |p: &VehiclePlan| p.steps.iter().map(|s| s.step.setup.force().n()).sum::<f64>();
            demand(
                spin(b) < spin(a) || force(b) < force(a),
                format!("spin {} to {}, force {} to {}", spin(a), spin(b), force(a), force(b)),
            )
        },
    },
    Case {
        name: "larger panels: more sections, product and time",
        both: &[],
        changes: &[("size_mm = [1000.0, 700.0]", "size_mm = [1400.0, 1000.0]")],
        holds: |a, b| {
            rises("time", a.trace.total().s(), b.trace.total().s())?;
            let ml = |p: &VehiclePlan| p.products.iter().map(|x| x.1.ml()).sum();
            rises("product", ml(a), ml(b))
        },
    },
    Case {
        name: "a strict cap: less is cut and the target missed, and it says so",
        both: &[],
        changes: &[("target_correction = 0.9", "target_correction = 0.9\ncap_um = 1.5")],
        holds: |a, b| {
            falls("cut", cut(a, Phase::Cut), cut(b, Phase::Cut))?;
            let told = b
                .zones
                .iter()
                .filter(|z| !z.reaches)
                .all(|z| z.unmet.iter().any(|u| u.contains("budget") || u.contains("may go")));
            demand(!b.reaches() && told, "the budget is not told".to_owned())
        },
    },
    Case {
        name: "a weak motor: gentler on the face",
        both: &[],
        changes: &[
            ("mass_kg = 2.6", "mass_kg = 2.6\nmotor = { rated_power_w = 32.0 }"),
            ("mass_kg = 1.4", "mass_kg = 1.4\nmotor = { rated_power_w = 32.0 }"),
        ],
        holds: |a, b| {
            let watts = |p: &VehiclePlan| p.steps.iter().map(|s| s.plan.state.friction_w).fold(0.0, f64::max);
            falls("largest friction power", watts(a), watts(b))?;
            demand(watts(b) <= 32.0, format!("{} W of 32", watts(b)))
        },
    },
];

#[test]
fn changing_one_input_moves_the_plan_as_a_practitioner_expects() {
    assert!(CASES.len() >= 20, "{} cases", CASES.len());
    let base = plan(&with(&[]));
    let found = map_indexed(CASES.len(), |i| {
        let case = &CASES[i];
        let changed = plan(&with(&[case.both, case.changes].concat()));
        if case.both.is_empty() {
            (case.holds)(&base, &changed)
        } else {
            (case.holds)(&plan(&with(case.both)), &changed)
        }
    });
    let wrong: Vec<String> =
        CASES.iter().zip(found).filter_map(|(c, r)| r.err().map(|e| format!("{}: {e}", c.name))).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    // The check itself can fail: the same plan on both sides moves nowhere.
    let still = CASES.iter().filter(|c| (c.holds)(&base, &base).is_err()).count();
    assert!(still >= CASES.len() - 3, "only {still} cases notice that nothing changed");
}
