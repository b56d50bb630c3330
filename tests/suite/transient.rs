//! Spin and orbit rate over time, against closed forms, the quasi-steady balance, the slow way of
//! finding friction, and the balance of energy.

use crate::support::{cylinder, free_tool, linear_pad, measured_pad, quadric, rel, setup, sphere, tilted};
use core::f64::consts::PI;
use core::ops::ControlFlow;
use trochoid::contact::{ContactSettings, Hold, solve};
use trochoid::equipment::{Bearing, Motor, Pad, Tool};
use trochoid::math::ode::{OdeSettings, integrate};
use trochoid::panel::Patch;
use trochoid::spin::{
    EventKind, Footing, FrictionMode, Piece, Schedule, Setup, Start, Transient, TransientError, TransientSettings,
    friction_sums, run_transient, settling_time, spin_state,
};
use trochoid::{AngularRate, Force, Inertia, Length, Power, Pressure, Time, Torque, ViscousDrag};

const J: f64 = 4.2e-4;
const RATE_OPM: f64 = 4200.0;

fn with_inertia(tool: Tool) -> Tool {
    tool.with_spin_inertia(Inertia::from_kgm2(J)).unwrap()
}

/// Throw 15 mm, bearing 0.02 N·m and 5e-5 N·m·s.
fn tool() -> Tool {
    with_inertia(free_tool(15.0, RATE_OPM, 0.02, 5e-5))
}

fn motor(rated_w: f64) -> Motor {
    Motor::new(Power::from_w(rated_w), Power::from_w(0.0)).unwrap()
}

/// On `pad` with friction 0.35; patch and force only serve the quasi-steady balance.
fn on(tool: Tool, pad: Pad, patch: Patch, force_n: f64) -> Setup {
    setup(tool, pad, 0.35, force_n, patch)
}

fn pad() -> Pad {
    linear_pad(130.0, 9e5)
}

fn pressed(patch: Patch, force_n: f64) -> Footing {
    Footing::square(patch, Force::from_n(force_n))
}

/// Pieces of (length, ramp, footing), one after the other.
fn schedule(pieces: &[(f64, f64, Footing)]) -> Schedule {
    let mut end = 0.0;
    let list = pieces.iter().map(|(length, ramp, footing)| {
        let from = end;
        end += length;
        Piece::new(Time::from_s(from), Time::from_s(end), *footing).unwrap().with_ramp(Time::from_s(*ramp)).unwrap()
    });
    Schedule::new(list.collect()).unwrap()
}

fn run(setup: &Setup, schedule: &Schedule) -> Transient {
    run_transient(setup, schedule, &Start::default(), &TransientSettings::default()).unwrap()
}

fn from_free_spin() -> Start {
    Start { spin: AngularRate::from_opm(RATE_OPM), rate: None }
}

fn quasi_steady(setup: &Setup) -> f64 {
    spin_state(setup, setup.patch(), &ContactSettings::default()).unwrap().spin
}

#[test]
fn a_lifted_pad_spins_up_as_the_closed_form() {
    // J ω̇ = M0 + c(Ω−ω) while the slip is many times 0.1 rad/s: ω = (Ω + M0/c)(1 − exp(−ct/J)).
    for (breakaway, viscous) in [(0.0, 2e-3), (0.0, 1e-4), (0.02, 1e-3), (0.1, 1e-5)] {
        let s = on(with_inertia(free_tool(15.0, RATE_OPM, breakaway, viscous)), pad(), Patch::flat(), 35.0);
        let rate = s.tool().rate().rad_s();
        let run = run(&s, &schedule(&[(0.6, 0.0, Footing::Lifted)]));
        let mut compared = 0;
        for (t, m) in run.samples(60) {
            let expected = (rate + breakaway / viscous) * (1.0 - (-viscous * t / J).exp());
            if rate - expected > 1.0 {
                compared += 1;
                // Tolerance 1e-6 a step over some tens of steps.
                assert!((m.spin - expected).abs() < 1e-4 * rate, "{breakaway} {viscous} {t}: {} {expected}", m.spin);
            } else {
                assert!(m.spin <= rate + 1e-3, "the bearing takes the pad to the orbit rate and no further");
            }
        }
        assert!(compared > 5);
        assert!(
            run.lifted_rim_speed_m_s.is_some_and(|v| { rel(v, run.pieces[0].spin * 0.065 + 7.5e-3 * rate) < 1e-9 })
        );
        assert_eq!(run.events.iter().filter(|e| e.kind == EventKind::Turns).count(), 1);
        assert!(!run.stalls(), "off the panel nothing stalls");
    }
}

#[test]
fn the_settled_spin_is_the_quasi_steady_one() {
    let soft = pad().with_shear_modulus(Pressure::from_kpa(40.0)).unwrap();
    let loaded = {
        let bearing = Bearing::new(Torque::from_nm(0.03), ViscousDrag::from_nms(1e-4)).unwrap();
        let bearing = bearing.with_load_friction(0.002, Length::from_mm(12.0)).unwrap();
        with_inertia(Tool::free(Length::from_mm(12.0), AngularRate::from_opm(5000.0), bearing).unwrap())
    };
    let braked = tool().with_bearing(
        Bearing::new(Torque::from_nm(0.05), ViscousDrag::from_nms(5e-5))
            .unwrap()
            .with_brake(Torque::from_nm(0.01))
            .unwrap(),
    );
    let cases = [
        ("flat", on(tool(), pad(), Patch::flat(), 35.0)),
        ("crown", on(tool(), pad(), sphere(1.5), 35.0)),
        ("hollow", on(tool(), pad(), sphere(-0.15), 35.0)),
        ("cylinder", on(tool(), pad(), cylinder(0.8, 20.0), 25.0)),
        ("saddle", on(tool(), pad(), quadric(0.6, -0.9, 0.0), 30.0)),
        ("measured law", on(tool(), measured_pad(140.0), sphere(0.5), 45.0)),
        ("shear", on(tool(), soft, sphere(0.3), 35.0)),
        ("load friction", on(loaded, pad(), sphere(-0.1), 30.0)),
        ("brake", on(braked, pad(), sphere(0.2), 30.0)),
        ("reversed", on(tool(), pad(), sphere(-2.0), 60.0)),
    ];
    for (name, s) in cases {
        let expected = quasi_steady(&s);
        let place = pressed(*s.patch(), s.force().n());
        for start in [Start::default(), Start { spin: s.tool().rate(), rate: None }] {
            let run =
                run_transient(&s, &schedule(&[(2.5, 0.0, place)]), &start, &TransientSettings::default()).unwrap();
            let got = run.pieces[0].spin;
            // The two differ by the smoothing of the bearing alone (0.1 and 1e-3 rad/s); 0.02 rad/s of
            // an exponential tail. The issue asks for 1 %.
            assert!((got - expected).abs() < 2e-3 * expected.abs() + 0.02, "{name}: {got} {expected}");
            assert!(run.pieces[0].settled_after_s.is_some_and(|t| t < 2.0), "{name}");
        }
    }
}

#[test]
fn tables_agree_with_friction_solved_anew() {
    let cases = [
        ("crown to hollow", sphere(1.2), sphere(-0.8), 35.0, 45.0),
        ("flat to cylinder", Patch::flat(), cylinder(-1.5, 30.0), 35.0, 20.0),
        ("hollow to saddle", sphere(-0.4), quadric(1.0, -0.7, 50.0), 25.0, 40.0),
    ];
    for (name, a, b, first_n, then_n) in cases {
        let s = on(tool().with_motor(motor(250.0)), pad(), a, first_n);
        let what = schedule(&[
            (0.1, 0.0, Footing::Lifted),
            (0.2, 0.05, pressed(a, first_n)),
            (0.25, 0.1, pressed(b, then_n)),
            (0.1, 0.05, Footing::Lifted),
        ]);
        let mode = |friction| {
            let settings = TransientSettings { friction, tolerance: 1e-7, ..TransientSettings::default() };
            run_transient(&s, &what, &Start::default(), &settings).unwrap()
        };
        let (fast, slow) = (mode(FrictionMode::Table), mode(FrictionMode::Direct));
        let mut worst: f64 = 0.0;
        for ((t, f), (_, d)) in fast.samples(200).into_iter().zip(slow.samples(200)) {
            worst = worst.max((f.spin - d.spin).abs().max((f.rate - d.rate).abs()));
            // A ten-thousandth of the orbit rate, 440 rad/s: a hundredth of what the issue asks for.
            assert!((f.spin - d.spin).abs() < 0.044, "{name} at {t}: {} {}", f.spin, d.spin);
        }
        assert!(
            worst > 0.0 && 3 * fast.contacts < slow.contacts,
            "{name}: the table saves work: {} {}",
            fast.contacts,
            slow.contacts
        );
        // Landing from free spin leaves no doubt that friction worked.
        assert!(rel(fast.energy.friction_j, slow.energy.friction_j) < 1e-4, "{name}: as the spin");
        assert_eq!(
            fast.events.iter().map(|e| e.kind).collect::<Vec<_>>(),
            slow.events.iter().map(|e| e.kind).collect::<Vec<_>>(),
            "{name}"
        );
        println!("{name}: worst {worst:.2e} rad/s");
    }
}

#[test]
fn the_torque_at_the_phase_averages_to_the_same_spin() {
    let last = |run: &Transient| {
        // Whole orbits at the end: 4200/min are 70 a second.
        let (from, to) = (run.end_s - 20.0 / 70.0, run.end_s);
        let spins: Vec<f64> =
            (0..2000).map(|i| run.at(from + (to - from) * f64::from(i) / 2000.0).unwrap().spin).collect();
        let mean = spins.iter().sum::<f64>() / 2000.0;
        let (low, high) = spins.iter().fold((f64::MAX, f64::MIN), |(l, h), s| (l.min(*s), h.max(*s)));
        (mean, high - low)
    };
    for (name, patch, force, ripple) in [
        // The sums over 640 points alone tell flat and round patches from the average.
        ("flat", Patch::flat(), 35.0, (0.0, 0.02)),
        ("sphere", sphere(0.8), 35.0, (0.0, 0.1)),
        // Curvature along and across alternate twice an orbit: M_κ/(2ΩJ) each way, 0.045 and 0.09 rad/s.
        ("cylinder", cylinder(1.0, 0.0), 35.0, (0.05, 0.2)),
        ("saddle", quadric(1.0, -1.0, 0.0), 35.0, (0.1, 0.4)),
    ] {
        let s = on(tool(), pad(), patch, force);
        let settings = TransientSettings { friction: FrictionMode::Phase, ..TransientSettings::default() };
        let start = Start { spin: AngularRate::from_rad_s(quasi_steady(&s)), rate: None };
        let run = run_transient(&s, &schedule(&[(1.0, 0.0, pressed(patch, force))]), &start, &settings).unwrap();
        let (mean, swing) = last(&run);
        // 1 %: what the issue asks for between quasi-steady and settled spin.
        assert!(rel(mean, quasi_steady(&s)) < 0.01, "{name}: {mean} {}", quasi_steady(&s));
        assert!(swing >= ripple.0 && swing < ripple.1, "{name}: ripple {swing} rad/s");
        // The sums are exact for the power of the same points, so only the integration is left.
        assert!(run.energy.residual_share() < 1e-4, "{name}: {:?}", run.energy);
        println!("{name}: mean {mean:.3}, steady {:.3}, swing {swing:.3}", quasi_steady(&s));
    }
}

#[test]
fn no_energy_is_lost() {
    let bearing = Bearing::new(Torque::from_nm(0.03), ViscousDrag::from_nms(1e-4))
        .unwrap()
        .with_load_friction(0.002, Length::from_mm(12.0))
        .unwrap()
        .with_brake(Torque::from_nm(0.005))
        .unwrap();
    let what = schedule(&[
        (0.2, 0.0, Footing::Lifted),
        (0.3, 0.04, pressed(sphere(0.8), 35.0)),
        (0.3, 0.1, pressed(sphere(-0.6), 45.0)),
        (0.2, 0.0, pressed(cylinder(0.5, 10.0), 60.0)),
        (0.2, 0.03, Footing::Lifted),
    ]);
    for motor_w in [None, Some(500.0), Some(60.0)] {
        let mut tool = tool().with_bearing(bearing);
        if let Some(w) = motor_w {
            tool = tool.with_motor(motor(w));
        }
        let s = on(tool, pad(), Patch::flat(), 35.0);
        let share = |friction, tolerance| {
            let settings = TransientSettings { friction, tolerance, ..TransientSettings::default() };
            let e = run_transient(&s, &what, &Start::default(), &settings).unwrap().energy;
            assert!(e.motor_j > 5.0 && e.friction_j > 5.0 && e.bearing_j > 0.1 && e.brake_j > 0.01, "{e:?}");
            e.residual_share()
        };
        let table = share(FrictionMode::Table, 1e-6);
        // Hermite tables of 512 angles: h⁴ of 0.012 rad is 2e-8, and the integration.
        assert!(table < 1e-6, "{motor_w:?}: {table}");
        // Without tables only the integration is left, and it follows its tolerance.
        let sweep = [1e-3, 1e-5, 1e-7].map(|t| share(FrictionMode::Direct, t));
        assert!(sweep[0] < 1e-2 && sweep[1] < 1e-4 && sweep[2] < 2e-6, "{motor_w:?}: {sweep:?}");
        println!("{motor_w:?}: table {table:.1e}, direct {sweep:?}");
    }
}

#[test]
fn a_steady_run_takes_the_power_of_the_balance() {
    // From the balance at rest: orbit torque x rate = friction + M_s(Ω−ω) (contract of `state`).
    let s = on(tool(), pad(), sphere(0.5), 35.0);
    let state = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
    let rate = s.tool().rate().rad_s();
    let friction_w = 0.35 * state.sums.speed_w;
    let spindle = s.spindle_drag().unwrap().spindle_torque(rate - state.spin, 0.1);
    let start = Start { spin: AngularRate::from_rad_s(state.spin), rate: None };
    let e =
        run_transient(&s, &schedule(&[(0.5, 0.0, pressed(sphere(0.5), 35.0))]), &start, &TransientSettings::default())
            .unwrap()
            .energy;
    // The start is the settled spin to 1e-4; tables 1e-5.
    assert!(rel(e.friction_j, 0.5 * friction_w) < 1e-4, "{e:?} {friction_w}");
    assert!(rel(e.bearing_j, 0.5 * spindle * (rate - state.spin)) < 1e-4);
    assert!(rel(e.motor_j, 0.5 * (friction_w + spindle * (rate - state.spin))) < 1e-4);
}

#[test]
fn a_free_disc_stops_sliding_and_spinning_together() {
    // Farkas, Bartels, Unger, Wolf, Phys. Rev. Lett. 90, 248302 (2003): v/(Rω) -> 0.653001789 for a
    // uniform disc, whatever it started with. m v̇ = −μmg F, ½mR² ω̇ = −μmgR T.
    const REST: f64 = 0.653001789;
    let (radius, weight) = (0.07, 3.0);
    // Twice the nodes: the point of no sliding lies on the face.
    let contact =
        solve(&linear_pad(140.0, 1e6), &Patch::flat(), 9e-3, &Hold::Flat, 1.0, &ContactSettings::default().doubled())
            .unwrap();
    let slope = |_: f64, y: &[f64; 2]| {
        let sums = friction_sums(&contact.load, y[0] / 9e-3, y[1]);
        [-weight * sums.forward_n, -2.0 * weight / (radius * radius) * sums.moment_nm]
    };
    for start_ratio in [0.05, 0.3, 0.653, 1.5, 10.0] {
        let spin = 40.0;
        let start = [start_ratio * radius * spin, spin];
        let settings = OdeSettings { relative: 1e-9, absolute: [1e-15, 1e-13], ..OdeSettings::default() };
        let mut ends = start;
        let stop = integrate(slope, (0.0, start), 60.0, &settings, |step| {
            ends = step.at(step.end());
            if ends[0] < 1e-7 * start[0] { ControlFlow::Break(step.end()) } else { ControlFlow::Continue(()) }
        });
        let stop = stop.unwrap();
        // Both are spent at that moment: speeds fall by seven decades and spin by as many.
        assert!(ends[0] < 1e-7 * start[0] && ends[1].abs() < 1e-5 * spin, "{start_ratio}: {ends:?} at {}", stop.at);
        // The ratio nears its end like a power of about 0.4 of what is left of the speed.
        let ratio = ends[0] / (radius * ends[1]);
        assert!((ratio - REST).abs() < 3e-3, "{start_ratio}: {ratio}");
        // Only the ratio decides where it goes, so it can be followed over 30 decades of spin:
        // dε/d(−ln ω) = ε − F/(2T) turned round, from v̇/ω̇ = (R/2) F/T.
        let sink = |_: f64, y: &[f64; 1]| {
            let sums = friction_sums(&contact.load, y[0] * radius / 9e-3, 1.0);
            [y[0] - 0.5 * sums.forward_n * radius / sums.moment_nm]
        };
        let log = OdeSettings { relative: 1e-10, absolute: [1e-12], ..OdeSettings::default() };
        let decades = 30.0 * f64::ln(10.0);
        let end = integrate(sink, (0.0, [start_ratio]), decades, &log, |_| ControlFlow::Continue(())).unwrap();
        // The split at the point of no sliding leaves about 1e-7 in F and T.
        assert!((end.value[0] - REST).abs() < 3e-7, "{start_ratio}: {}", end.value[0]);
        println!("{start_ratio}: rests at {:.4} s, ratio {ratio:.6}, followed on {:.9}", stop.at, end.value[0]);
    }
}

#[test]
fn landing_takes_the_settling_time_and_scuffs() {
    for (name, patch, force) in
        [("flat", Patch::flat(), 35.0), ("crown", sphere(1.0), 25.0), ("hollow", sphere(-0.15), 35.0)]
    {
        let s = on(tool(), pad(), patch, force);
        let state = spin_state(&s, &patch, &ContactSettings::default()).unwrap();
        let told = settling_time(&s, &state).unwrap().s();
        let what = schedule(&[(0.05, 0.0, Footing::Lifted), (3.0, 0.0, pressed(patch, force))]);
        let run = run_transient(&s, &what, &from_free_spin(), &TransientSettings::default()).unwrap();
        let seen = run.pieces[1].settled_after_s.unwrap();
        // The end of the run stands for the settled spin, 1e-4 off, where the band is 2 %.
        assert!(rel(seen, told) < 0.01, "{name}: {seen} {told}");
        assert!((0.02..2.0).contains(&told), "{name}: {told}");
        // Friction takes what the pad had and more: the scuff lies above the steady heat.
        let steady = 0.35 * state.sums.speed_w * told;
        let early = run_transient(
            &s,
            &schedule(&[(0.05, 0.0, Footing::Lifted), (told, 0.0, pressed(patch, force))]),
            &from_free_spin(),
            &TransientSettings::default(),
        )
        .unwrap();
        assert!(early.pieces[1].friction_j > steady, "{name}: {} {steady}", early.pieces[1].friction_j);
        assert_eq!(run.moments(EventKind::TouchDown).collect::<Vec<_>>().len(), 1);
        println!("{name}: settles in {told:.4} s, scuff {:.2} J, steady {steady:.2} J", early.pieces[1].friction_j);
    }
}

#[test]
fn a_crown_turns_the_pad_and_a_hollow_stalls_it() {
    let s = on(tool().with_motor(motor(700.0)), pad(), Patch::flat(), 35.0);
    let what = schedule(&[
        (0.6, 0.0, pressed(sphere(0.5), 35.0)),
        (0.9, 0.2, pressed(sphere(-0.8), 35.0)),
        (0.5, 0.1, Footing::Lifted),
    ]);
    let run = run_transient(&s, &what, &from_free_spin(), &TransientSettings::default()).unwrap();
    let stall = run.moments(EventKind::Stall).next().expect("it stalls");
    assert!(stall > 0.6 && stall < 1.1, "in the hollow: {stall}");
    assert!(run.at(stall).is_some_and(|m| rel(m.spin, 2.0 * PI) < 1e-6), "located on the useful minimum");
    assert!(run.stalls() && !run.bogs(), "a stall is no bogging: {:?}", run.events);
    // The stall ends with the ramp off the panel, or when the pad is free.
    let turns = run.moments(EventKind::Turns).last().expect("it turns again");
    assert!(turns > 1.5, "{turns}");
    let until = turns.min(1.6);
    assert!((run.stalled_s - (until - stall)).abs() < 1e-6, "{} {}", run.stalled_s, until - stall);
    assert_eq!(run.moments(EventKind::LiftOff).map(|t| (t * 1e6).round()).collect::<Vec<_>>(), vec![1.6e6]);
}

#[test]
fn heavy_force_in_a_hollow_reverses_the_pad() {
    // A prediction of the model, not yet seen in published data; the result says so.
    let s = on(tool(), pad(), sphere(-2.0), 60.0);
    let what = schedule(&[(0.5, 0.0, pressed(sphere(0.4), 30.0)), (1.5, 0.1, pressed(sphere(-2.0), 60.0))]);
    let run = run_transient(&s, &what, &from_free_spin(), &TransientSettings::default()).unwrap();
    let reversal = run.events.iter().find(|e| e.kind == EventKind::Reversal).expect("it reverses");
    assert!(reversal.kind.name().contains("prediction") && reversal.at_s > 0.5 && reversal.spin.abs() < 1e-6);
    assert!(run.pieces[1].spin < -0.05 && quasi_steady(&s) < -0.05);
    assert!(run.moments(EventKind::Stall).next().is_some_and(|t| t < reversal.at_s), "a stall comes first");
}

#[test]
fn a_weak_motor_bogs_while_the_pad_turns() {
    let weak = tool().with_motor(motor(40.0));
    let s = on(weak.clone(), pad(), sphere(0.8), 35.0);
    let what =
        schedule(&[(0.2, 0.0, Footing::Lifted), (25.0, 0.1, pressed(sphere(0.8), 35.0)), (5.0, 0.1, Footing::Lifted)]);
    let run = run_transient(&s, &what, &from_free_spin(), &TransientSettings::default()).unwrap();
    assert!(run.bogs(), "{:?}", run.events);
    let stalled_at_all = run.moments(EventKind::Stall).next().is_some();
    assert!(!stalled_at_all && !run.stalls(), "bogging is no stall");
    let kinds = [EventKind::PowerLimit, EventKind::Bogs, EventKind::RateRecovered];
    let order: Vec<f64> = kinds.iter().map(|k| run.moments(*k).next().expect("each of them comes")).collect();
    assert!(order.is_sorted(), "{order:?}");
    assert!(rel(run.pieces[2].rate, s.tool().rate().rad_s()) < 1e-3, "the rate comes back off the panel");
    // Droop: the rate at which the load takes exactly what the motor has.
    let rate = run.pieces[1].rate;
    let there = on(weak.at_rate(AngularRate::from_rad_s(rate)).unwrap(), pad(), sphere(0.8), 35.0);
    let state = spin_state(&there, there.patch(), &ContactSettings::default()).unwrap();
    let spindle = there.spindle_drag().unwrap().spindle_torque(rate - state.spin, 0.1) * (rate - state.spin);
    // Nearing its end with I Ω²/P, about 3 s: after 25 s a thousandth.
    assert!(rel(0.35 * state.sums.speed_w + spindle, 40.0) < 2e-3, "{} {spindle} at {rate}", state.sums.speed_w);
    assert!(rate < 0.9 * s.tool().rate().rad_s());
}

#[test]
fn a_motor_without_power_stops_and_the_run_says_so() {
    let s = on(tool().with_motor(motor(2.0)), pad(), Patch::flat(), 60.0);
    let what = schedule(&[(5.0, 0.0, pressed(Patch::flat(), 60.0)), (1.0, 0.0, Footing::Lifted)]);
    let run = run(&s, &what);
    assert_eq!(run.ended_by, Some(EventKind::MotorStops));
    // It starts beyond its power, so that is told at once.
    assert!(run.events[0].kind == EventKind::PowerLimit && run.events[0].at_s <= 0.0, "{:?}", run.events[0]);
    let last = run.events.last().unwrap();
    assert!(last.kind == EventKind::MotorStops && rel(last.rate, 0.01 * s.tool().rate().rad_s()) < 1e-6);
    assert!((last.at_s - run.end_s).abs() < 1e-12 && run.end_s < 5.0 && run.pieces.len() == 1);
    assert!(run.at(run.end_s + 1e-6).is_none() && run.at(-1e-9).is_none());
    // To the moment it stopped: nothing but the tables' error is missing.
    assert!(run.energy.residual_share() < 1e-4, "{:?}", run.energy);
}

#[test]
fn pressing_harder_in_steps_slows_the_pad_each_time() {
    let s = on(tool(), pad(), sphere(0.3), 20.0);
    let steps: Vec<_> = [20.0, 30.0, 45.0, 60.0].iter().map(|n| (0.8, 0.05, pressed(sphere(0.3), *n))).collect();
    let mut pieces = steps;
    pieces[0].1 = 0.0;
    let start = Start { spin: AngularRate::from_rad_s(quasi_steady(&s)), rate: None };
    let run = run_transient(&s, &schedule(&pieces), &start, &TransientSettings::default()).unwrap();
    let spins: Vec<f64> = run.pieces.iter().map(|p| p.spin).collect();
    assert!(spins.windows(2).all(|w| w[1] < w[0]), "{spins:?}");
    for (p, n) in run.pieces.iter().zip([20.0, 30.0, 45.0, 60.0]) {
        let steady = quasi_steady(&on(tool(), pad(), sphere(0.3), n));
        // 0.75 s are some time constants; what is left of the change before is within a per cent.
        assert!(rel(p.spin, steady) < 0.01, "{n}: {} {steady}", p.spin);
    }
}

#[test]
fn rocking_over_a_body_line_is_followed() {
    // A line of 250 mm radius crossed with the pad tipped to one side, level, to the other.
    let s = on(tool(), pad(), cylinder(4.0, 0.0), 30.0);
    let tipped =
        |deg: f64| Footing::Pressed { patch: cylinder(4.0, 0.0), hold: tilted(deg, 0.0), force: Force::from_n(30.0) };
    let what = schedule(&[(0.3, 0.0, tipped(5.0)), (0.5, 0.1, tipped(-5.0))]);
    let settings = TransientSettings { ramp_intervals: 6, tolerance: 1e-5, ..TransientSettings::default() };
    let tipped_setup = s.clone().with_hold(tilted(5.0, 0.0));
    let steady = quasi_steady(&tipped_setup);
    let start = Start { spin: AngularRate::from_rad_s(steady), rate: None };
    let run = run_transient(&s, &what, &start, &settings).unwrap();
    // The two sides mirror each other; level between them the pad turns otherwise.
    let ends = [run.pieces[0].spin, run.pieces[1].spin];
    let level = quasi_steady(&s);
    assert!(rel(level, steady) > 0.01, "{level} {steady}");
    assert!(
        (run.pieces[1].spin_range.1 - steady).abs().max((run.pieces[1].spin_range.0 - steady).abs()) > 0.01 * steady
    );
    for end in ends {
        // 0.4 s of settling after the ramp: a per cent.
        assert!(rel(end, steady) < 0.01, "{end} {steady}");
    }
    // Tilted tables on the default phases: 1e-4 of the work.
    assert!(run.energy.residual_share() < 1e-3, "{:?}", run.energy);
}

#[test]
fn a_face_that_sticks_ends_the_run() {
    let soft = pad().with_shear_modulus(Pressure::from_kpa(5.0)).unwrap();
    let sticks_n = soft.shear_stiffness() * 7.5e-3 / 0.35;
    assert!(sticks_n > 25.0 && sticks_n < 90.0, "{sticks_n}");
    let s = on(tool(), soft, Patch::flat(), 20.0);
    let what = schedule(&[(0.3, 0.0, pressed(Patch::flat(), 20.0)), (1.0, 0.4, pressed(Patch::flat(), 100.0))]);
    let run = run_transient(&s, &what, &from_free_spin(), &TransientSettings::default()).unwrap();
    assert_eq!(run.ended_by, Some(EventKind::FaceSticks));
    // The ramp is followed to 0.999 of the sticking force.
    let expected = 0.3 + 0.4 * (0.999 * sticks_n - 20.0) / 80.0;
    assert!((run.end_s - expected).abs() < 1e-9, "{} {expected}", run.end_s);
    let at_once = schedule(&[(0.3, 0.0, pressed(Patch::flat(), 20.0)), (1.0, 0.0, pressed(Patch::flat(), 100.0))]);
    let run = run_transient(&s, &at_once, &from_free_spin(), &TransientSettings::default()).unwrap();
    assert!(run.ended_by == Some(EventKind::FaceSticks) && (run.end_s - 0.3).abs() < 1e-9);
}

#[test]
fn a_fast_passage_is_not_quasi_steady() {
    // Spin at the end of a ramp from crown to hollow less the quasi-steady spin there, over the change.
    let lag = |ramp: f64, inertia: f64| {
        let tool = free_tool(15.0, RATE_OPM, 0.02, 5e-5).with_spin_inertia(Inertia::from_kgm2(inertia)).unwrap();
        let (crown, hollow) = (on(tool.clone(), pad(), sphere(0.5), 35.0), on(tool, pad(), sphere(-0.15), 35.0));
        let (from, to) = (quasi_steady(&crown), quasi_steady(&hollow));
        let what = schedule(&[(0.01, 0.0, pressed(sphere(0.5), 35.0)), (ramp, ramp, pressed(sphere(-0.15), 35.0))]);
        let start = Start { spin: AngularRate::from_rad_s(from), rate: None };
        let run = run_transient(&crown, &what, &start, &TransientSettings::default()).unwrap();
        (run.pieces[1].spin - to) / (from - to)
    };
    let at = |ramp| lag(ramp, J);
    // Linear response with the time constant J/(damping), about 0.1 s: lag = (τ/T)(1 − exp(−T/τ)).
    let (creep, usual, crease) = (at(10.0), at(1.0), at(0.02));
    assert!(creep.abs() < 0.02, "a ramp of ten seconds is quasi-steady: {creep}");
    assert!((0.03..0.3).contains(&usual), "a second is not quite: {usual}");
    assert!(crease > 0.8, "over a crease the pad keeps its spin: {crease}");
    // A tenth of the inertia lags a tenth as much where the lag is τ/T.
    assert!(rel(lag(10.0, 0.1 * J), 0.1 * creep) < 0.1, "{} {creep}", lag(10.0, 0.1 * J));
    for ramp in [0.02, 0.1, 0.3, 1.0, 3.0, 10.0] {
        println!("ramp {ramp} s: lag {:.4}", at(ramp));
    }
}

#[test]
fn bad_input_is_refused() {
    let time = Time::from_s;
    let flat = pressed(Patch::flat(), 35.0);
    for (from, to) in [(0.0, 0.0), (1.0, 0.5), (-1.0, 1.0), (f64::NAN, 1.0), (0.0, f64::NAN), (0.0, f64::INFINITY)] {
        assert!(Piece::new(time(from), time(to), flat).is_err(), "{from} {to}");
    }
    for force in [0.0, -3.0, f64::NAN, 1e9] {
        let e = Piece::new(time(0.0), time(1.0), pressed(Patch::flat(), force)).unwrap_err();
        assert!(e.to_string().contains("force_n") && e.to_string().contains("0.1 to 2000"), "{e}");
    }
    let piece = Piece::new(time(0.0), time(1.0), flat).unwrap();
    for ramp in [-0.1, 1.1, f64::NAN] {
        assert!(piece.with_ramp(time(ramp)).is_err_and(|e| e.to_string().contains("piece.ramp_s")), "{ramp}");
    }
    assert!(piece.with_rate(AngularRate::from_opm(0.0)).is_err());
    assert!(Schedule::new(Vec::new()).is_err());
    assert!(Schedule::new(vec![piece.with_ramp(time(0.5)).unwrap()]).is_err(), "nothing to ramp from");
    for from in [0.9, 1.1] {
        let next = Piece::new(time(from), time(2.0), flat).unwrap();
        let e = Schedule::new(vec![piece, next]).unwrap_err();
        assert!(
            matches!(e, TransientError::Gap { piece: 1, .. }) && e.to_string().contains("piece 2 starts at"),
            "{e}"
        );
    }
    assert!(tool().with_spin_inertia(Inertia::from_kgm2(-1e-4)).is_err());
    assert!(motor(100.0).with_rotor_inertia(Inertia::from_kgm2(-1.0)).is_err());

    let one = Schedule::new(vec![piece]).unwrap();
    let ask = |tool: Tool, schedule: &Schedule, start: &Start, settings: &TransientSettings| {
        run_transient(&on(tool, pad(), Patch::flat(), 35.0), schedule, start, settings)
    };
    let (start, settings) = (Start::default(), TransientSettings::default());
    let geared = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4000.0), 0.1).unwrap();
    assert_eq!(ask(geared, &one, &start, &settings).unwrap_err(), TransientError::NotFree);
    for settings in [
        TransientSettings { tolerance: 0.0, ..settings },
        TransientSettings { tolerance: f64::NAN, ..settings },
        TransientSettings { useful_spin: -1.0, ..settings },
        TransientSettings { bog_share: 1.0, ..settings },
        TransientSettings { ramp_intervals: 0, ..settings },
        TransientSettings { most_steps: usize::MAX, ..settings },
    ] {
        assert!(matches!(ask(tool(), &one, &start, &settings), Err(TransientError::Range(_))), "{settings:?}");
    }
    let spinning = Start { spin: AngularRate::from_rad_s(f64::NAN), rate: None };
    assert!(matches!(ask(tool(), &one, &spinning, &settings), Err(TransientError::Range(_))));
    let still = Start { rate: Some(AngularRate::from_rad_s(0.0)), ..start };
    assert!(matches!(ask(tool(), &one, &still, &settings), Err(TransientError::Range(_))), "no motor to start it");
    let e = ask(tool().with_motor(motor(500.0)), &one, &still, &settings).unwrap_err();
    assert!(e.to_string().contains("start.rate_opm"), "{e}");
    let ranged = tool().with_rate_range(AngularRate::from_opm(2000.0), AngularRate::from_opm(5000.0)).unwrap();
    let fast = Schedule::new(vec![piece.with_rate(AngularRate::from_opm(6000.0)).unwrap()]).unwrap();
    assert!(matches!(ask(ranged, &fast, &start, &settings), Err(TransientError::Range(_))), "beyond the tool's range");

    // Too few steps: the best value comes with the refusal.
    let few = TransientSettings { most_steps: 5, ..settings };
    match ask(tool(), &one, &start, &few).unwrap_err() {
        TransientError::Stopped { at_s, spin, rate, why } => {
            assert!(at_s > 0.0 && at_s < 1.0 && spin > 0.0 && rate > 400.0 && why.contains("steps"), "{at_s} {spin}");
        }
        e => panic!("{e}"),
    }
    // A pad that bottoms out in the middle of a ramp: when, and why.
    let hard = schedule(&[(0.2, 0.0, flat), (1.0, 0.5, pressed(sphere(-15.0), 300.0))]);
    let e = run_transient(&on(tool(), measured_pad(130.0), Patch::flat(), 35.0), &hard, &start, &settings).unwrap_err();
    match &e {
        TransientError::Contact { at_s, .. } => {
            assert!(*at_s > 0.2 && *at_s < 0.7 && e.to_string().starts_with("at 0."));
        }
        _ => panic!("{e}"),
    }
}

#[test]
fn a_tool_starts_in_the_air() {
    // Motor from rest: full torque 2P/Ω_s, then constant power; the pad follows its bearing.
    let s = on(tool().with_motor(motor(500.0)), pad(), Patch::flat(), 35.0);
    let start = Start { rate: Some(AngularRate::from_rad_s(0.0)), ..Start::default() };
    let run =
        run_transient(&s, &schedule(&[(3.0, 0.0, Footing::Lifted)]), &start, &TransientSettings::default()).unwrap();
    assert!(rel(run.pieces[0].rate, s.tool().rate().rad_s()) < 1e-3, "{}", run.pieces[0].rate);
    // ½IΩ² at 500 W: I = 1e-3 + 0.2·7.5e-3² kg·m², 97.8 J, so not before 0.19 s.
    let fast = run.samples(3000).into_iter().find(|(_, m)| m.rate > 0.95 * s.tool().rate().rad_s()).unwrap().0;
    assert!((0.17..0.6).contains(&fast), "{fast}");
    // Below its set-point because it starts, not because it fell.
    assert!(!run.bogs() && run.bogged_s <= 0.0, "{:?}", run.events);
    assert!(run.events.iter().all(|e| e.kind != EventKind::RateRecovered), "{:?}", run.events);
    // The same where the set-point jumps up; that the motor then gives all it has is told at the jump.
    let jump = Schedule::new(vec![
        Piece::new(Time::from_s(0.0), Time::from_s(0.5), Footing::Lifted)
            .unwrap()
            .with_rate(AngularRate::from_opm(3000.0))
            .unwrap(),
        Piece::new(Time::from_s(0.5), Time::from_s(1.5), Footing::Lifted)
            .unwrap()
            .with_rate(AngularRate::from_opm(5000.0))
            .unwrap(),
    ])
    .unwrap();
    let jumped = run_transient(&s, &jump, &Start::default(), &TransientSettings::default()).unwrap();
    assert!(!jumped.bogs() && jumped.bogged_s <= 0.0, "{:?}", jumped.events);
    assert!(jumped.moments(EventKind::PowerLimit).any(|t| (t - 0.5).abs() < 1e-12), "{:?}", jumped.events);
    assert!(run.energy.residual_share() < 1e-5, "no friction table in it: {:?}", run.energy);
}

#[test]
fn settling_under_a_stiff_bearing() {
    // A bearing that drags hard on a light pad: its slip term alone asks for steps of microseconds in time.
    for (breakaway, inertia, force) in [(0.3, 2e-5, 80.0), (0.1, 1e-6, 40.0)] {
        let tool = free_tool(15.0, RATE_OPM, breakaway, 5e-5).with_spin_inertia(Inertia::from_kgm2(inertia)).unwrap();
        let s = on(tool, pad(), Patch::flat(), force);
        let state = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
        let told = settling_time(&s, &state).unwrap().s();
        let what = schedule(&[(0.001, 0.0, Footing::Lifted), (6.0 * told, 0.0, pressed(Patch::flat(), force))]);
        let seen = run_transient(&s, &what, &from_free_spin(), &TransientSettings::default()).unwrap().pieces[1]
            .settled_after_s
            .unwrap();
        // The end of the run stands for the settled spin, as above.
        assert!(rel(seen, told) < 0.01, "{breakaway}: {seen} {told}");
    }
}

#[cfg(feature = "cli")]
mod in_state {
    use crate::cli::{SMALL, edited, run_on};
    use crate::contract::state;

    #[test]
    fn settling_time_goes_with_the_inertia() {
        let with = |inertia: &str| {
            let rate = "orbit_rate_opm = 4200.0\n";
            edited(SMALL, &[(rate, &format!("{rate}spin_inertia_kgm2 = {inertia}\n"))])
        };
        // The default is a uniform disc of 0.2 kg and 130 mm: 0.5 · 0.2 · 0.065² kg·m².
        let disc = state(SMALL)["spin"]["settling_time_s"].as_f64().unwrap();
        let given = state(&with("4.225e-4"))["spin"]["settling_time_s"].as_f64().unwrap();
        assert!((given / disc - 1.0).abs() < 1e-9, "rounding of the inertia, {given} {disc}");
        let text = with("4.0e-4");
        let one = state(&text)["spin"]["settling_time_s"].as_f64().unwrap();
        assert!((0.01..5.0).contains(&one), "{one}");
        assert!(run_on(&text, &["state"]).out.contains("after landing from free spin"));
        // The time goes with the inertia: J ω̇ = torque.
        let two = state(&text.replace("4.0e-4", "8.0e-4"))["spin"]["settling_time_s"].as_f64().unwrap();
        assert!((two / one - 2.0).abs() < 1e-3, "tolerance of the integration, {two} {one}");
    }
}
