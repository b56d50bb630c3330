//! Sizing: is the fast search the slow one, do designs trade off as they should, does the search find a
//! front, and say what binds?

use crate::random::{config, setups};
use crate::support::{free_tool, linear_pad, measured_pad, setup, sphere};
use core::cell::Cell;
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use trochoid::contact::Load;
use trochoid::contact::{ContactSettings, Hold};
use trochoid::equipment::Substrate;
use trochoid::math::evolve::EvolveSettings;
use trochoid::math::pareto::dominates;
use trochoid::math::reduce::with_threads;
use trochoid::panel::Patch;
use trochoid::plan::sizing::{
    Binding, Bound, Design, DesignSpace, DesignState, Duty, Fleet, FleetPanel, Objective, SizedDesign, Sizing,
    SizingOutcome, SizingTask, Variable, VariableRange, evaluate_designs, line_evenness, performance, size_a_tool,
};
use trochoid::plan::{Working, operating_state};
use trochoid::removal::{Footprint, ripple};
use trochoid::spin::{
    AtHand, Setup, StallOutcome, StallSettings, friction_sums, spin_state, stall_curvature, stall_limits,
    stalling_sphere,
};
use trochoid::{Angle, AngularRate, Length, Speed};

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
    // A quarter of the pads has a hole; with a law that is not linear the scan answers for most of those.
    assert!(f64::from(*proven.get_mut()) > 0.8 * f64::from(*all.get_mut()));
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

/// A working with a feed and an overlap.
fn led(feed_mm_s: f64, overlap: f64) -> Working {
    Working { feed: Speed::from_mm_s(feed_mm_s), overlap }
}

/// The design that the tests vary, its panels and its target.
fn base() -> (Design, Duty) {
    let s = setup(free_tool(12.0, 4200.0, 0.04, 1e-4), linear_pad(130.0, 0.9e6), 0.35, 35.0, Patch::flat());
    let panel = |name: &str, patch, share| FleetPanel { name: name.into(), patch, share };
    let fleet = Fleet::new(vec![
        panel("roof", sphere(0.3), 3.0),
        panel("door", Patch::flat(), 2.0),
        panel("hollow", sphere(-0.4), 1.0),
    ])
    .unwrap();
    let settings = StallSettings::default();
    let duty = Duty {
        fleet,
        enough_margin_per_m: 5.0,
        target_cut: Length::from_um(2.0),
        substrate: Substrate::Steel,
        settings,
    };
    (Design::new(s, led(40.0, 0.5)).unwrap(), duty)
}

fn range(variable: Variable, low: f64, high: f64) -> VariableRange {
    VariableRange { variable, low, high }
}

fn task() -> SizingTask {
    let (design, duty) = base();
    let ranges = vec![
        range(Variable::Throw, 5.0, 21.0),
        range(Variable::PadDiameter, 75.0, 160.0),
        range(Variable::OrbitRate, 2500.0, 5500.0),
        range(Variable::Force, 15.0, 50.0),
    ];
    SizingTask {
        space: DesignSpace::new(design, ranges).unwrap(),
        duty,
        objectives: vec![Objective::CutRate, Objective::StallMargin, Objective::ShakingForce],
        bounds: vec![
            Bound { objective: Objective::StalledShare, value: 0.0 },
            Bound { objective: Objective::ShaftPower, value: 120.0 },
        ],
        search: EvolveSettings { population: 32, generations: 12, ..EvolveSettings::default() },
        sensitivity_rows: 128,
    }
}

#[test]
fn evenness_is_that_of_the_footprint() {
    for (pad, throw, k, spin) in [(130.0, 12.0, 0.0_f64, 12.0), (80.0, 20.0, -1.5, 3.0), (150.0, 8.0, 1.0, 60.0)] {
        let s = setup(free_tool(throw, 4200.0, 0.04, 1e-4), linear_pad(pad, 0.9e6), 0.35, 35.0, Patch::flat());
        let patch = if k.abs() > 0.0 { sphere(k) } else { Patch::flat() };
        let run = spin_state(&s, &patch, &ContactSettings::default()).unwrap();
        let rate = s.tool().rate().rad_s();
        let footprint = Footprint::new(&run.contact, &patch, rate, spin);
        let Load::Rings(rings) = &run.contact.load else { panic!("held square") };
        for overlap in [0.0, 0.2, 0.5, 0.75] {
            let spacing = (1.0 - overlap) * pad * 1e-3;
            let slow = ripple(&footprint, 0.0, &[spacing]).unwrap()[0];
            let fast = line_evenness(rings, rate, spin, spacing);
            // Linear between some thirty rings: 3e-3 of the mean.
            assert!((fast.cv - slow.cv).abs() < 3e-3, "{pad} {overlap} {} {}", fast.cv, slow.cv);
            assert!((fast.lowest - slow.lowest).abs() < 2e-2, "{pad} {overlap} {} {}", fast.lowest, slow.lowest);
        }
    }
}

#[test]
fn performance_is_that_of_the_operating_state() {
    let (design, duty) = base();
    let p = performance(&design, &duty);
    let shares = [0.5, 1.0 / 3.0, 1.0 / 6.0];
    let (mut cut, mut power, mut heat) = (0.0, 0.0_f64, 0.0_f64);
    for (panel, share) in duty.fleet.panels().iter().zip(shares) {
        assert!((panel.share - share).abs() < 1e-15, "rounding");
        let on = design.setup.clone().on(panel.patch);
        let state =
            operating_state(&on, &design.working, &AtHand::default(), (0.5, 2.0), &StallSettings::default()).unwrap();
        cut += share * state.volume_rate_m3_s * 1e9;
        power = power.max(state.orbit_torque_nm * on.tool().rate().rad_s());
        heat = heat.max(state.friction_w);
    }
    let close = |a: f64, b: f64| (a / b - 1.0).abs() < 1e-12; // the same sums in another order
    assert!(close(p.value(Objective::CutRate), cut) && close(p.value(Objective::ShaftPower), power));
    // By hand: share 698.2/(698.2 + 84.9) of the heat into 7832·434·0.7e-3 J/(m²K), 40 mm/s and 65 mm lines.
    let rise = heat * (698.2 / 783.1) / (0.04 * 0.065 * 7832.0 * 434.0 * 0.7e-3);
    assert!((p.value(Objective::SheetRise) / rise - 1.0).abs() < 1e-3, "effusivities to four digits");
    // The hollow is the tightest: its −0.4 against the sphere that stalls.
    let stall = by_scan(&design.setup, &duty.settings).curvature().unwrap();
    assert!((p.value(Objective::StallMargin) - (-0.4 - stall)).abs() < 1e-7, "roots to 1e-9");
    assert!(p.value(Objective::StalledShare).abs() < 1e-15 && stall < -0.4);
    // Counterweight made for this pad: a tenth is left; made for none: 0.2 kg at 6 mm.
    let rate = design.setup.tool().rate().rad_s();
    assert!(close(p.value(Objective::ShakingForce), 0.1 * 0.2 * 0.006 * rate * rate));
    let bare = performance(&design.clone().with(Variable::BalancedMass, 0.0).unwrap(), &duty);
    assert!(close(bare.value(Objective::ShakingForce), 0.2 * 0.006 * rate * rate));
    // Half the feed at twice the lines: the time does not know, but the sheet gets hotter with the overlap.
    let slow = performance(&design.clone().with(Variable::Feed, 20.0).unwrap(), &duty);
    assert!(close(slow.value(Objective::Time), p.value(Objective::Time)));
    assert!(close(slow.value(Objective::SheetRise), 2.0 * p.value(Objective::SheetRise)));
    // A hollow past the stall: the share of it, and a negative margin.
    let tight = design.clone().with(Variable::PadDiameter, 180.0).unwrap();
    let q = performance(&tight, &duty);
    assert!(q.value(Objective::StallMargin) < 0.0);
    assert!((q.value(Objective::StalledShare) - shares[2]).abs() < 1e-15);
}

fn sized(task: &SizingTask) -> Sizing {
    match size_a_tool(task).unwrap() {
        SizingOutcome::Sized(s) => *s,
        SizingOutcome::Impossible(i) => panic!("{i:?}"),
    }
}

#[test]
fn a_sized_tool_keeps_its_bounds_and_nothing_beats_its_front() {
    let task = task();
    let found = sized(&task);
    assert!(found.front.len() > 20 && found.evaluated == 32 * 13);
    let values = |d: &SizedDesign| -> Vec<f64> {
        task.objectives
            .iter()
            .map(|o| if o.larger_is_better() { -d.performance.value(*o) } else { d.performance.value(*o) })
            .collect()
    };
    for d in &found.front {
        assert!(task.bounds.iter().all(|b| b.excess(d.performance.value(b.objective)) <= 0.0));
        for (v, r) in d.values.iter().zip(task.space.ranges()) {
            assert!((r.low..=r.high).contains(v));
            assert!((d.design.value(r.variable) / v - 1.0).abs() < 1e-12, "unit conversions");
        }
        assert!(!found.front.iter().any(|other| dominates(&values(other), &values(d))));
        // The limits of a job say the same of the sphere.
        let limits = stall_limits(&d.design.setup, &task.duty.settings, 1.0).unwrap();
        let sphere = limits.sphere.map(|c| c.at);
        match (sphere, d.performance.stall.curvature()) {
            (Some(a), Some(b)) => assert!((a / b - 1.0).abs() < 1e-8, "both roots to 1e-9"),
            (a, b) => assert_eq!(a, b),
        }
    }
    // A crowd drawn at random over the ranges finds nothing that dominates the chosen design.
    let chosen = values(&found.front[found.chosen]);
    let seed = trochoid::math::random::Seed::new(99);
    for i in 0..300 {
        let place: Vec<f64> = (0..4).map(|g| seed.uniform(g, i)).collect();
        let design = task.space.design(&place).unwrap();
        let p = performance(&design, &task.duty);
        let d = SizedDesign { values: task.space.values(&place), design, performance: p };
        let keeps = task.bounds.iter().all(|b| b.excess(d.performance.value(b.objective)) <= 0.0);
        assert!(!(d.performance.runs() && keeps && dominates(&values(&d), &chosen)), "{:?}", d.values);
    }
    // The cut goes with force and speed, and a bound on the power holds someone back.
    let cut = &found.sensitivity[0];
    assert_eq!(cut.objective, Objective::CutRate);
    let total = &cut.indices.as_ref().unwrap().total;
    assert!(total[3].best > total[1].best, "force matters more to the cut than the pad's size");
    let again = with_threads(1, || sized(&task));
    assert!(again == found, "the same bits on one thread");
}

#[test]
fn bounds_that_cannot_be_kept_are_named_with_what_is_missing() {
    let mut task = task();
    task.bounds = vec![
        Bound { objective: Objective::CutRate, value: 1e4 },
        Bound { objective: Objective::ShaftPower, value: 5000.0 },
    ];
    task.sensitivity_rows = 0;
    let SizingOutcome::Impossible(told) = size_a_tool(&task).unwrap() else { panic!("a cut of 10 cm³/s") };
    // The power bound is far away; the cut alone binds, and the nearest is the hardest cutting corner.
    assert_eq!(told.broken.len(), 1);
    let b = told.broken[0];
    assert_eq!(b.bound.objective, Objective::CutRate);
    assert!((b.bound.excess(b.value) - (1e4 - b.value)).abs() < 1e-9, "rounding");
    assert!(told.nearest.values[3] > 48.0, "near the greatest force: {:?}", told.nearest.values);
    assert!((told.best[0].value - b.value).abs() < 1e-9 * b.value, "the best of all is the nearest here");
    // A force that no flat carries: nothing runs, nothing is broken, and it is told as such.
    let (design, duty) = base();
    let soft = linear_pad(130.0, 1e3);
    let heavy = Design::new(design.setup.clone().with_pad(soft).unwrap(), design.working).unwrap();
    let space = DesignSpace::new(heavy, vec![range(Variable::Force, 900.0, 2000.0)]).unwrap();
    let task = SizingTask { space, duty, ..task };
    let SizingOutcome::Impossible(told) = size_a_tool(&task).unwrap() else { panic!("25 Pa at most") };
    assert!(told.broken.is_empty() && told.best.is_empty() && !told.nearest.performance.runs());
}

#[test]
fn what_holds_a_design_back_is_told() {
    let mut task = task();
    // More force and more rate only ever cut more here, so the chosen one ends at a limit.
    task.objectives = vec![Objective::CutRate, Objective::Time];
    task.bounds = vec![Bound { objective: Objective::ShaftPower, value: 60.0 }];
    task.search.generations = 40;
    let found = sized(&task);
    assert!(
        found.binding.iter().any(|b| matches!(b, Binding::Bound(bound, _) if bound.objective == Objective::ShaftPower)),
        "{:?}",
        found.binding
    );
}

#[test]
fn ranges_that_make_no_sense_are_refused() {
    let (design, _) = base();
    let space = |ranges| DesignSpace::new(design.clone(), ranges);
    assert!(space(vec![]).is_err());
    assert!(space(vec![range(Variable::Force, 20.0, 20.0)]).is_err());
    assert!(space(vec![range(Variable::Force, 20.0, f64::NAN)]).is_err());
    assert!(space(vec![range(Variable::Overlap, 0.5, 0.99)]).is_err());
    assert!(space(vec![range(Variable::Force, 20.0, 30.0), range(Variable::Force, 20.0, 30.0)]).is_err());
    let meet = space(vec![range(Variable::Throw, 5.0, 50.0), range(Variable::PadDiameter, 40.0, 90.0)]);
    assert!(meet.unwrap_err().to_string().contains("every throw below every pad"));
    assert!(
        Design::new(
            design.setup.clone().with_hold(Hold::tilted(Angle::from_deg(1.0), Angle::from_deg(0.0)).unwrap()),
            design.working
        )
        .is_err()
    );
    // A pad smaller than the base's throw comes with its own throw.
    let small = space(vec![range(Variable::PadDiameter, 10.0, 11.0), range(Variable::Throw, 4.0, 6.0)]).unwrap();
    assert!((small.design(&[0.0, 1.0]).unwrap().value(Variable::Throw) - 6.0).abs() < 1e-12, "unit conversions");
    let mut task = task();
    task.objectives.truncate(1);
    assert!(size_a_tool(&task).is_err());
    task.objectives = vec![Objective::Time, Objective::Time];
    assert!(size_a_tool(&task).is_err());
    assert!(Fleet::new(Vec::new()).is_err());
}

#[cfg(feature = "cli")]
mod commands {
    use crate::cli::{Folder, edited, names_in, run_in, run_on};
    use serde_json::Value;

    /// The shipped job with a smaller search.
    fn job() -> String {
        let path = format!("{}/examples/jobs/sizing.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        edited(&text, &[("[sizing]\n", "[sizing]\npopulation = 24\ngenerations = 10\nsensitivity_rows = 60\n")])
    }

    fn number(v: &Value, pointer: &str) -> f64 {
        v.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("no number at {pointer} in {v:#}"))
    }

    #[test]
    fn a_tool_is_sized_with_its_files() {
        let folder = Folder::new();
        folder.put("job.toml", job());
        let done = run_in(folder.path(), &["size", "job.toml", "--json", "--out", "out"]);
        assert_eq!(done.code, Some(0), "{}", done.err);
        let v: Value = serde_json::from_str(&done.out).unwrap();
        assert_eq!(v["step"], "cut");
        assert!((number(&v, "/evaluated") - 24.0 * 11.0).abs() < 0.5);
        let front = v["front"].as_array().unwrap();
        assert!(front.contains(&v["chosen"]) && front.len() > 3);
        for d in front {
            // The limits of the job, and the ranges that the answer repeats.
            assert!(number(d, "/objectives/stalled_share") <= 0.0);
            assert!(number(d, "/objectives/stall_margin_per_m") >= 0.1);
            assert!(number(d, "/objectives/shaft_power_w") <= 220.0 && number(d, "/objectives/sheet_rise_k") <= 8.0);
            for (key, range) in v["ranges"].as_object().unwrap() {
                let value = number(d, &format!("/values/{key}"));
                assert!(value >= number(range, "/0") && value <= number(range, "/1"), "{key} {value}");
            }
            // Margin by hand: the hollowest mean curvature, −0.4 of the sill, less the stalling sphere.
            let tightest = -0.4;
            // Two per metre is enough, for a pad that stalls nowhere as well.
            let sphere = d["stall_curvature_per_m"].as_f64();
            assert_eq!(sphere.is_none(), d["stalls"] == "never");
            let margin = sphere.map_or(2.0, |k| (tightest - k).min(2.0));
            assert!((margin - number(d, "/objectives/stall_margin_per_m")).abs() < 1e-9, "rounding");
            let shares: f64 = (0..4).map(|i| number(d, &format!("/panels/{i}/share"))).sum();
            assert!((shares - 1.0).abs() < 1e-12, "rounding");
        }
        assert!(number(&v, "/sensitivity/cut_rate_mm3_s/variables/force_n/total/value") > 0.1);
        let table = std::fs::read_to_string(folder.path().join("out/cut-sizing-front.csv")).unwrap();
        assert_eq!(table.lines().count(), front.len() + 1);
        let mut expected = vec!["cut-sizing.json".to_owned(), "cut-sizing-front.csv".to_owned()];
        if cfg!(feature = "plot") {
            for name in ["front", "parallel", "tornado", "margin", "stall"] {
                expected.extend([format!("cut-sizing-{name}.svg"), format!("cut-sizing-{name}.png")]);
            }
        }
        let names = names_in(&folder.path().join("out"));
        assert_eq!(names.len(), expected.len(), "{names:?}");
        assert!(expected.iter().all(|n| names.contains(n)), "{names:?}");
        // The same again, byte for byte, and in words.
        assert_eq!(run_on(&job(), &["size", "--json"]).out, done.out);
        let text = run_on(&job(), &["size"]);
        assert_eq!(text.code, Some(0), "{}", text.err);
        for words in [
            "chosen: nearest to the best",
            "the front, cut rate",
            "what moves shaking force",
            "throw [mm]",
            "Sobol indices over the whole ranges",
            "of the work, mean curvature -0.40 per metre",
            "rate [orbits/min]",
        ] {
            assert!(text.out.contains(words), "no {words} in {}", text.out);
        }
    }

    #[test]
    fn a_margin_that_is_enough_is_told_as_at_least_that() {
        let told = |enough: &str| {
            let job = edited(&job(), &[("[sizing]\n", &format!("[sizing]\nenough_margin_per_m = {enough}\n"))]);
            let text = run_on(&job, &["size"]).out;
            text.lines().find(|l| l.contains("* stall margin [1/m]")).unwrap().to_owned()
        };
        // Every design of the front has at least the 0.1 of the limits; none comes near 40.
        assert!(told("0.1").contains("0.1000 or more"), "{}", told("0.1"));
        assert!(!told("40.0").contains("or more"), "{}", told("40.0"));
    }

    #[cfg(feature = "plot")]
    #[test]
    fn stall_curves_show_all_that_was_looked_at() {
        use crate::support::{cylinder, free_tool, measured_pad, setup};
        use trochoid::report::pictures::stall_chart;
        use trochoid::spin::{Against, StallOutcome, StallSettings, stall_curve};
        let set = setup(free_tool(10.0, 5000.0, 0.015, 5e-5), measured_pad(90.0), 0.4, 20.0, cylinder(-2.0, 0.0));
        let rates: Vec<f64> = (0..=20).map(|i| 2000.0 + 200.0 * f64::from(i)).collect();
        let of = |drag: f64| stall_curve(&set, Against::OrbitRate, &rates, &StallSettings::default(), drag);
        let (low, own, high) = (of(0.5), of(1.0), of(2.0));
        // The case is one whose curve ends, and whose band has one edge only somewhere.
        assert!(own.iter().any(|o| o.curvature().is_some()) && own.contains(&StallOutcome::Never));
        let one: Vec<usize> =
            (0..rates.len()).filter(|i| low[*i].curvature().is_some() && high[*i] == StallOutcome::Never).collect();
        assert!(!one.is_empty(), "{low:?} {high:?}");
        let chart =
            stall_chart(&set, Against::OrbitRate, &rates, &[20.0], (0.5, 2.0), &StallSettings::default()).unwrap();
        let (bottom, _) = chart.y.range.unwrap();
        for i in one {
            let k = low[i].curvature().unwrap();
            let below = chart.bands[0].lower.iter().find(|p| (p.0 - rates[i]).abs() < 1e-9).unwrap();
            let above = chart.bands[0].upper.iter().find(|p| (p.0 - rates[i]).abs() < 1e-9).unwrap();
            assert!(below.1 <= bottom && (above.1 - k).abs() < 1e-12, "{below:?} {above:?} {k}");
        }
        assert_eq!(chart.x.range, Some((2000.0, 6000.0)), "all of the rates");
        assert!(chart.caption.contains("Where a curve ends"), "{}", chart.caption);
    }

    #[test]
    fn impossible_limits_say_which_bind() {
        let hard = edited(&job(), &[("shaft_power_w = 220.0", "shaft_power_w = 220.0\ncut_rate_mm3_s = 500.0")]);
        let done = run_on(&hard, &["size"]);
        assert_eq!(done.code, Some(1), "{}", done.err);
        for words in ["none of 264 designs", "cut_rate_mm3_s", "at least 500", " off", "no design at all comes nearer"]
        {
            assert!(done.err.contains(words), "no {words} in {}", done.err);
        }
        // Two limits that fight: hard cutting and little power; each alone can be kept.
        let fight = edited(&job(), &[("shaft_power_w = 220.0", "shaft_power_w = 25.0\ncut_rate_mm3_s = 1.0")]);
        let done = run_on(&fight, &["size"]);
        assert!(done.code == Some(1) && done.err.contains("breaks"), "{}", done.err);
    }

    #[test]
    fn what_makes_no_sense_is_refused_with_its_place() {
        for (from, to, words) in [
            ("throw_mm = [6.0, 24.0]", "throw_mm = [24.0, 6.0]", vec!["sizing.throw_mm", "low end is 24"]),
            ("throw_mm = [6.0, 24.0]", "throw_mm = [6.0, 240.0]", vec!["sizing.throw_mm", "240", "0.1 to 100"]),
            (
                "throw_mm = [6.0, 24.0]",
                "throw_mm = [6.0, 90.0]",
                vec!["sizing.throw_mm", "every throw below every pad"],
            ),
            ("throw_mm = [6.0, 24.0]", "throw_mm = 12.0", vec!["sizing.throw_mm", "two numbers"]),
            ("throw_mm = [6.0, 24.0]", "throw_mm = [6.0, nan]", vec!["sizing.throw_mm"]),
            ("throw_mm = [6.0, 24.0]", "thorw_mm = [6.0, 24.0]", vec!["did you mean `throw_mm`"]),
            ("\"doors\", ", "\"dors\", ", vec!["sizing.panels", "did you mean `doors`"]),
            ("0.4, 0.4]", "0.4]", vec!["sizing.shares", "3 numbers for 4 panels"]),
            ("0.4, 0.4]", "0.4, 0.0]", vec!["sizing.shares"]),
            ("\"shaking_force_n\"]", "\"cut_rate_mm3_s\"]", vec!["sizing.objectives", "twice"]),
            ("\"shaking_force_n\"]", "\"shaking\"]", vec!["sizing.objectives", "shaking_force_n"]),
            ("population = 24", "population = 4", vec!["sizing.population", "8 to 2000"]),
            ("generations = 10", "generations = 2001", vec!["sizing.generations", "1 to 2000"]),
            (
                "population = 24\ngenerations = 10",
                "population = 2000\ngenerations = 2000",
                vec!["sizing.generations", "at most 200000 designs"],
            ),
            ("population = 24", "population = 24.5", vec!["sizing.population", "whole number"]),
            ("sensitivity_rows = 60", "step = \"cat\"", vec!["sizing.step", "there is no step \"cat\""]),
            ("stalled_share = 0.0", "stalled_share = 2.0", vec!["sizing.limits.stalled_share", "0 to 1"]),
            (
                "stall_margin_per_m = 0.1",
                "stall_margin_per_m = 3.0",
                vec!["sizing.enough_margin_per_m", "limits.stall_margin_per_m, 3"],
            ),
            ("stalled_share = 0.0", "stalled = 0.0", vec!["stalled_share"]),
        ] {
            let done = run_on(&edited(&job(), &[(from, to)]), &["size"]);
            assert_eq!(done.code, Some(2), "{to}: {}", done.err);
            for word in words {
                assert!(done.told().contains(word), "{to}: no {word} in {}", done.err);
            }
            assert!(done.err.contains(".toml:"), "{to}: no line in {}", done.err);
        }
        // No table, no range, a real panel, a tilted pad.
        let text = job();
        let without = &text[..text.find("[sizing]").unwrap()];
        let done = run_on(without, &["size"]);
        assert!(done.code == Some(2) && done.err.contains("[sizing]"), "{}", done.err);
        let done = run_on(&format!("{without}[sizing]\nseed = 2\n"), &["size"]);
        assert!(done.code == Some(2) && done.err.contains("throw_mm"), "{}", done.err);
        let real = edited(&text, &[("shape = \"sphere\"\n", "shape = \"sphere\"\nedges = \"free\"\ngrid_mm = 10.0\n")]);
        let done = run_on(&real, &["size"]);
        assert!(done.code == Some(2) && done.err.contains("real panel"), "{}", done.err);
        let tilted = edited(&text, &[("force_n = 35.0", "force_n = 35.0\nhold = { kind = \"tilted\", x_deg = 1.0 }")]);
        let done = run_on(&tilted, &["size"]);
        assert!(done.code == Some(2) && done.err.contains("held square"), "{}", done.err);
    }

    #[test]
    fn check_lists_what_sizing_takes() {
        let done = run_on(&job(), &["check"]);
        assert_eq!(done.code, Some(0), "{}", done.err);
        for key in ["sizing.throw_mm", "sizing.limits.stalled_share", "sizing.seed", "sizing.target_cut_um"] {
            assert!(done.out.contains(key), "no {key}");
        }
    }

    #[test]
    fn documented_defaults_are_the_values_used() {
        let text = edited(&job(), &[("population = 24\ngenerations = 10\nsensitivity_rows = 60\n", "")]);
        let job = trochoid::job::Job::parse("job.toml", &text).unwrap();
        let sizing = job.sizing.unwrap();
        for (key, used) in [
            ("population", sizing.search.population as f64),
            ("generations", sizing.search.generations as f64),
            ("sensitivity_rows", sizing.sensitivity_rows as f64),
            ("seed", sizing.search.seed as f64),
            ("enough_margin_per_m", sizing.enough_margin_per_m),
        ] {
            let told = job.resolved.iter().find(|r| r.key == format!("sizing.{key}")).unwrap();
            assert!(told.is_default);
            let value = told.value.split(' ').next().unwrap();
            assert!((value.parse::<f64>().unwrap() - used).abs() < 1e-12, "{key}: {}", told.value);
        }
        // The step's own target, and the shares as they are given.
        assert!((sizing.target_cut.um() - 2.0).abs() < 1e-12, "unit conversion");
        let shares: Vec<f64> = sizing.fleet.panels().iter().map(|p| p.share).collect();
        assert!((shares[1] / shares[0] - 2.4 / 1.4).abs() < 1e-12, "rounding");
    }
}
