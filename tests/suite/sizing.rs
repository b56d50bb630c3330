//! Sizing: is the fast search the slow one, do designs trade off as they should, does the search find a
//! front, and say what binds?

use crate::random::{config, setups};
use crate::support::{free_tool, linear_pad, measured_pad, setup, sphere};
use core::cell::Cell;
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use trochoid::contact::{ContactSettings, Hold};
use trochoid::math::reduce::with_threads;
use trochoid::panel::Patch;
use trochoid::plan::sizing::{DesignState, evaluate_designs};
use trochoid::spin::{
    Setup, StallOutcome, StallSettings, friction_sums, spin_state, stall_curvature, stall_limits, stalling_sphere,
};
use trochoid::{Angle, AngularRate, Length};

/// The scan's answer on spheres.
fn by_scan(setup: &Setup, settings: &StallSettings) -> StallOutcome {
    stall_curvature(&setup.clone().on(Patch::flat()), settings, 1.0).unwrap_or(StallOutcome::Refused)
}

fn agree(fast: StallOutcome, slow: StallOutcome) -> bool {
    match (fast, slow) {
        // Both find the root on the same nodes to 1e-9; the sum of both errors with room for rounding.
        (StallOutcome::At(a), StallOutcome::At(b)) => (a - b).abs() <= 4e-9 * b.abs() + 1e-12,
        _ => fast == slow,
    }
}

#[test]
fn the_stalling_sphere_is_the_one_that_the_scan_finds() {
    let settings = StallSettings::default();
    let (mut proven, mut all, mut contacts) = (Cell::new(0), Cell::new(0), Cell::new(0));
    let (hollow, crown, never, always) = (Cell::new(0), Cell::new(0), Cell::new(0), Cell::new(0));
    let bump = |c: &Cell<u32>| c.set(c.get() + 1);
    let mut runner = TestRunner::new(config(3000));
    runner
        .run(&setups(), |s| {
            let slow = by_scan(&s, &settings);
            let fast = stalling_sphere(&s, &settings, 1.0);
            let outcome = fast.as_ref().map_or(StallOutcome::Refused, |f| f.outcome);
            prop_assert!(agree(outcome, slow), "{outcome:?} is not {slow:?}");
            bump(&all);
            if let Some(n) = fast.ok().and_then(|f| f.contacts) {
                bump(&proven);
                contacts.set(contacts.get() + n);
            }
            match slow {
                StallOutcome::At(k) if k < 0.0 => bump(&hollow),
                StallOutcome::At(_) => bump(&crown),
                StallOutcome::Never => bump(&never),
                StallOutcome::Always => bump(&always),
                _ => {}
            }
            Ok(())
        })
        .unwrap();
    println!(
        "all {} proven {} contacts {} hollow {} crown {} never {} always {}",
        all.get_mut(),
        proven.get_mut(),
        contacts.get_mut(),
        hollow.get(),
        crown.get(),
        never.get(),
        always.get()
    );
    // Every kind of outcome came up often enough to mean something.
    assert!(hollow.get().min(crown.get()).min(never.get()).min(always.get()) > 50);
    // The scan may have to answer here and there; where it answers often the search is not fast.
    assert!(f64::from(*proven.get_mut()) > 0.9 * f64::from(*all.get_mut()));
    // A scan takes about sixty contacts.
    assert!(f64::from(*contacts.get_mut()) < 9.0 * f64::from(*proven.get_mut()));
}

#[test]
fn net_torque_never_falls_as_a_hollow_opens() {
    // The theorem itself, on a scan of spheres, where the arms rise outward.
    let settings = ContactSettings { radial_nodes: 24, arc_nodes: 24, ..ContactSettings::default() };
    let mut runner = TestRunner::new(config(150));
    runner
        .run(&setups(), |s| {
            let found = stalling_sphere(&s, &StallSettings::default(), 1.0);
            if !found.is_ok_and(|f| f.contacts.is_some_and(|n| n > 0)) {
                return Ok(());
            }
            let mut last: Option<f64> = None;
            let (rate, useful) = (s.tool().rate().rad_s(), StallSettings::default().useful_spin);
            for i in -40..=40 {
                let Ok(run) = spin_state(&s, &sphere(0.5 * f64::from(i) + 1e-9), &settings) else { continue };
                let friction = -friction_sums(&run.contact.load, rate, useful).moment_nm;
                if let Some(before) = last {
                    // 1e-6 of the torque of the whole force at the rim: the nodes' own error.
                    prop_assert!(
                        friction >= before - 1e-6 * s.force().n() * s.pad().radius(),
                        "{i} {before} {friction}"
                    );
                }
                last = Some(friction);
            }
            Ok(())
        })
        .unwrap();
}

#[test]
fn ends_of_the_search_agree_with_the_scan() {
    let settings = StallSettings::default();
    let pad = || linear_pad(130.0, 0.9e6);
    // No drag at all: stalled on the flat, and no crown frees it before the pad's rim is all that is off.
    let mut cases = vec![
        setup(free_tool(12.0, 4200.0, 0.0, 0.0), pad(), 0.35, 35.0, Patch::flat()),
        setup(free_tool(12.0, 4200.0, 2.0, 1e-3), pad(), 0.35, 35.0, sphere(-1.0)),
        setup(free_tool(12.0, 4200.0, 0.04, 1e-4), measured_pad(130.0), 0.35, 60.0, sphere(-1.0)),
        setup(free_tool(12.0, 4200.0, 0.04, 1e-4), pad(), 0.35, 35.0, sphere(-1.0)),
    ];
    // A hole wider than the orbit and one narrower, which leaves a core that is always bare or not.
    for hole in [4.0, 40.0] {
        let holed = pad().with_hole(Length::from_mm(hole)).unwrap();
        cases.push(setup(free_tool(12.0, 4200.0, 0.04, 1e-4), holed, 0.35, 35.0, Patch::flat()));
    }
    // Tilted: the scan answers.
    let hold = Hold::tilted(Angle::from_deg(0.3), Angle::from_deg(0.0)).unwrap();
    cases.push(cases[3].clone().with_hold(hold));
    for (i, s) in cases.iter().enumerate() {
        let found = stalling_sphere(s, &settings, 1.0).unwrap();
        let slow = by_scan(s, &settings);
        assert!(agree(found.outcome, slow), "{i}: {:?} is not {slow:?}", found.outcome);
        assert_eq!(found.contacts.is_none(), i == 6, "{i}");
        // The limits of a job find the same sphere.
        let limit = stall_limits(s, &settings, 1.0).unwrap().sphere.map(|c| c.at);
        assert!(
            match (limit, found.outcome.curvature()) {
                (Some(a), Some(b)) => (a - b).abs() <= 4e-9 * a.abs(), // both roots to 1e-9
                (a, b) => a.is_none() && b.is_none(),
            },
            "{i}"
        );
    }
    // A drag factor acts as a bearing scaled by it.
    let double = stalling_sphere(&cases[3], &settings, 2.0).unwrap().outcome.curvature().unwrap();
    let slow = stall_curvature(&cases[3].clone().on(Patch::flat()), &settings, 2.0).unwrap().curvature().unwrap();
    assert!((double / slow - 1.0).abs() < 4e-9, "both roots to 1e-9");
}

#[test]
fn designs_have_the_same_bits_on_any_number_of_threads() {
    let design = |i: usize| {
        let throw = 4.0 + 0.25 * i as f64;
        let tool = free_tool(throw, 4200.0, 0.04, 1e-4);
        let pad = if i.is_multiple_of(2) { linear_pad(130.0, 0.9e6) } else { measured_pad(130.0) };
        let s = setup(tool, pad, 0.35, 35.0, sphere(-0.3));
        // A throw beyond what the tool's rate range takes is refused, as a value and not as a panic.
        if i == 50 { s.at_rate(AngularRate::from_opm(9e9)) } else { Ok(s) }
    };
    let settings = StallSettings::default();
    let one = with_threads(1, || evaluate_designs(64, design, &settings));
    for threads in [2, 3, 8] {
        let many = with_threads(threads, || evaluate_designs(64, design, &settings));
        for (a, b) in one.iter().zip(&many) {
            assert_eq!(a.spin.to_bits(), b.spin.to_bits());
            assert_eq!(a.volume_rate_m3_s.to_bits(), b.volume_rate_m3_s.to_bits());
            assert_eq!(a.stall.curvature().map(f64::to_bits), b.stall.curvature().map(f64::to_bits));
        }
    }
    assert_eq!(one[50].state, DesignState::Refused);
    assert!(one[50].spin.is_nan());
    // The spin and the cut are those of the state.
    let s = design(8).unwrap();
    let run = spin_state(&s, s.patch(), &settings.contact).unwrap();
    assert_eq!(one[8].spin.to_bits(), run.spin.to_bits());
    assert_eq!(one[8].volume_rate_m3_s.to_bits(), (2e-11 * run.sums.speed_w).to_bits());
}
