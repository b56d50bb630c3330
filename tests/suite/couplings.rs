//! Temperature, loading and drying acting back on cut and spin: does each have the sign that a practitioner
//! expects, does the fixed point satisfy its equation, and is nothing touched that is switched off?

use crate::phases::{on_rectangle, plan, stall, three, usual_setup, workshop};
use crate::support::rel;
use trochoid::equipment::Product;
use trochoid::motion::Pattern;
use trochoid::plan::{
    Coupling, CouplingLaws, CouplingResult, CouplingSettings, LoadingCoupling, StepHeat, StepPlan, StepTask,
    TemperatureLaw, ThermalTask, Work, plan_coupled, step_heat,
};
use trochoid::spin::AtHand;
use trochoid::wear::{FrictionRise, PadKind, PadState, SectionLoad};
use trochoid::{Length, Temperature};

fn task() -> StepTask {
    on_rectangle(usual_setup(), Pattern::Raster, 4)
}

fn kind(task: &StepTask) -> PadKind {
    PadKind::new("cutting", trochoid::units::Area::from_m2(task.setup.pad().face_area()))
}

fn loading(task: &StepTask, every: Option<usize>) -> LoadingCoupling {
    LoadingCoupling { kind: kind(task), every }
}

fn all(task: &StepTask) -> CouplingLaws {
    CouplingLaws {
        temperature: Some(TemperatureLaw::default()),
        loading: Some(loading(task, Some(3))),
        drying: Some(FrictionRise::default()),
    }
}

/// Drops that just last, so that the film dries while it is worked.
fn few_drops() -> ThermalTask {
    ThermalTask { drops: Some(3), ..workshop() }
}

fn coupled(task: &StepTask, with: &ThermalTask, laws: &CouplingLaws) -> (StepTask, StepPlan, CouplingResult) {
    let made = plan_coupled(task, &AtHand::default(), &stall(), with, laws, &CouplingSettings::default()).unwrap();
    let result = made.1.coupling.clone().unwrap();
    assert!(result.converged && result.residual <= result.tolerance, "{result:?}");
    (made.0, made.1, result)
}

fn work(plan: &StepPlan) -> Vec<u64> {
    let Work::Patch(m) = &plan.work else { panic!("a rectangle") };
    m.field.work.iter().map(|w| w.to_bits()).collect()
}

#[test]
fn with_every_switch_off_nothing_changes_a_bit() {
    let task = task();
    let none = CouplingLaws::default();
    let (same, made) =
        plan_coupled(&task, &AtHand::default(), &stall(), &few_drops(), &none, &CouplingSettings::default()).unwrap();
    let before = plan(&task);
    assert_eq!(same.setup, task.setup);
    assert_eq!(work(&made), work(&before));
    assert!(made.coupling.is_none() && none.on().is_empty());
    assert_eq!(made.state.run.spin.to_bits(), before.state.run.spin.to_bits());
}

#[test]
fn a_drying_film_drags_more_and_slows_the_pad() {
    let task = StepTask { phases: three([1, 2, 1]), ..task() };
    let laws = CouplingLaws { drying: Some(FrictionRise::default()), ..CouplingLaws::default() };
    let (_, made, c) = coupled(&task, &few_drops(), &laws);
    let drag = c.drying.clone().unwrap();
    assert!(drag[0] > 1.0 && drag[1] > drag[0] && drag[2] > drag[1], "drier from phase to phase: {drag:?}");
    let before = plan(&task);
    for (now, then) in made.phases.iter().zip(&before.phases) {
        assert!(now.state.run.spin < then.state.run.spin, "{}", now.name);
        assert!(now.state.friction_w > then.state.friction_w, "{}", now.name);
    }
    assert!(c.spin.1 < c.spin.0 && (c.spin.1 - made.state.run.spin).abs() < 1e-12, "{:?}", c.spin);
    assert_eq!((c.temperature, c.loading, c.every), (None, None, None));
    // A slower pad slides a little less: the cut falls, if only slightly.
    assert!(c.cut_together < 1.0 && c.cut_together > 0.9, "{}", c.cut_together);
    assert_eq!(c.cut_alone.len(), 1);

    // Drier air dries the film further.
    let mut dry = few_drops();
    dry.workshop.relative_humidity = 0.2;
    let (_, _, drier) = coupled(&task, &dry, &laws);
    let (a, b) = (drag[2], drier.drying.unwrap()[2]);
    assert!(b > a && drier.spin.1 < c.spin.1, "{a} {b}");
    // More drops, less of it.
    let (_, _, wetter) = coupled(&task, &ThermalTask { drops: Some(9), ..workshop() }, &laws);
    assert!(wetter.drying.unwrap()[2] < a && wetter.spin.1 > c.spin.1);
}

#[test]
fn a_loaded_pad_cuts_less_and_cleaning_gives_it_back() {
    let task = task();
    let at = |every: usize| {
        let laws = CouplingLaws { loading: Some(loading(&task, Some(every))), ..CouplingLaws::default() };
        coupled(&task, &few_drops(), &laws)
    };
    let cuts: Vec<f64> = [1, 3, 6].iter().map(|n| at(*n).1.cut.unwrap().mean).collect();
    let fresh = plan(&task).cut.unwrap().mean;
    assert!(fresh > cuts[0] && cuts[0] > cuts[1] && cuts[1] > cuts[2], "{fresh} {cuts:?}");
    let (_, made, c) = at(3);
    // Friction and spin know nothing of it, so the cut falls by the factor itself.
    assert!(rel(c.cut_together, c.loading.unwrap()) < 1e-12, "rounding");
    assert!(rel(made.cut.unwrap().mean, fresh * c.loading.unwrap()) < 1e-12, "rounding");
    assert!((c.spin.0 - c.spin.1).abs() < 1e-12);
    // Without a number the interval is that at which the pad has lost a fifth, and it is told.
    let laws = CouplingLaws { loading: Some(loading(&task, None)), ..CouplingLaws::default() };
    assert!(coupled(&task, &few_drops(), &laws).2.every.is_some_and(|n| n >= 1));
}

#[test]
fn warm_paint_is_cut_faster() {
    let task = task();
    let laws = CouplingLaws { temperature: Some(TemperatureLaw::default()), ..CouplingLaws::default() };
    let at = |c: f64| {
        let mut with = few_drops();
        with.workshop.temperature = Temperature::from_c(c);
        coupled(&task, &with, &laws).2
    };
    let (cool, warm) = (at(10.0), at(30.0));
    // 1.05 for 10 K: two such steps of the room are two of the paint, but for the losses.
    assert!(warm.temperature.unwrap() > cool.temperature.unwrap() * 1.08, "{warm:?}");
    let law = TemperatureLaw::default();
    assert!((law.factor(Temperature::from_c(20.0)) - 1.0).abs() < 1e-12);
    assert!(rel(warm.temperature.unwrap(), law.factor(warm.paint)) < 2e-6, "the tolerance of the point");
    // On plastic the paint is warmer, and is cut faster.
    let plastic = ThermalTask { substrate: trochoid::equipment::Substrate::Plastic, ..few_drops() };
    let steel = coupled(&task, &few_drops(), &laws).2;
    assert!(coupled(&task, &plastic, &laws).2.cut_together > steel.cut_together);
}

/// What the step at given factors asks for, from public pieces alone: another way than the solver's.
fn asked(task: &StepTask, plan: &StepPlan, with: &ThermalTask, laws: &CouplingLaws, at: [f64; 3]) -> [f64; 3] {
    let mut with = *with;
    with.film.friction_rise = laws.drying;
    let mut plain = plan.clone();
    plain.coupling = None;
    let heat: StepHeat = step_heat(task, &plain, &with).unwrap().unwrap();
    let temperature = laws.temperature.map_or(1.0, |l| l.factor(heat.worked_paint));
    let loading = laws.loading.as_ref().map_or(1.0, |l| {
        let mut pad = PadState::fresh(l.kind.face).unwrap();
        pad.prime(&l.kind.laws, l.kind.priming.strokes).unwrap();
        let load = SectionLoad {
            work: heat.work.work,
            nominal_removal: trochoid::units::Volume::from_m3(heat.work.nominal_removal.m3() / at[1]),
            product: heat.work.product,
            solids_share: heat.work.solids_share,
            peak_core: Temperature::from_c(20.0),
            time: heat.work.time,
        };
        let sections = l.every.unwrap();
        (0..sections).map(|_| pad.advance(&l.kind.laws, &load).unwrap().cut.loading).sum::<f64>() / sections as f64
    });
    let drying = heat.friction_by_pass.iter().sum::<f64>() / heat.friction_by_pass.len() as f64;
    [temperature, loading, drying]
}

/// A step with the factors in its product.
fn at_factors(task: &StepTask, f: [f64; 3]) -> StepTask {
    let p = task.setup.product();
    let product = Product::new(p.friction() * f[2], p.preston_per_pa() * f[0] * f[1]).unwrap();
    StepTask { setup: task.setup.clone().with_product(product), ..task.clone() }
}

#[test]
fn the_point_found_satisfies_its_equation() {
    let task = task();
    let laws = all(&task);
    let (made, plan, c) = coupled(&task, &few_drops(), &laws);
    let told = [c.temperature.unwrap(), c.loading.unwrap(), c.drying.clone().unwrap()[0]];
    assert_eq!(made.setup, at_factors(&task, told).setup);
    let asked = asked(&made, &plan, &few_drops(), &laws, told);
    for (t, a) in told.iter().zip(asked) {
        assert!((t - a).abs() <= 1e-6, "the tolerance of the point: {told:?} {asked:?}");
    }
    assert!(told[0] > 1.0 && told[1] < 1.0 && told[2] > 1.0, "{told:?}");
    // Each alone, and all: the three act on each other, but weakly.
    let names: Vec<Coupling> = c.cut_alone.iter().map(|a| a.0).collect();
    assert_eq!(names, [Coupling::Temperature, Coupling::Loading, Coupling::Drying]);
    let product: f64 = c.cut_alone.iter().map(|a| a.1).product();
    assert!(rel(c.cut_together, product) < 0.02, "together {} against {product}", c.cut_together);
    assert!((c.cut_together - product).abs() > 1e-7, "they do act on each other");
    // The heat of the coupled plan hands the pads what one in perfect condition would remove.
    let heat = step_heat(&made, &plan, &few_drops()).unwrap().unwrap();
    let nominal = plan.state.volume_rate_m3_s / told[1] * heat.section_time.s();
    assert!(rel(heat.work.nominal_removal.m3(), nominal) < 1e-12, "rounding");
}

#[test]
fn the_order_of_the_couplings_has_no_say() {
    let task = task();
    let laws = all(&task);
    let told = coupled(&task, &few_drops(), &laws).2;
    let told = [told.temperature.unwrap(), told.loading.unwrap(), told.drying.unwrap()[0]];
    // The slow way: one factor renewed at a time, in either order, ten times round.
    for order in [[0, 1, 2], [2, 1, 0]] {
        let mut f = [1.0; 3];
        for _ in 0..10 {
            for which in order {
                let at = at_factors(&task, f);
                f[which] = asked(&at, &plan(&at), &few_drops(), &laws, f)[which];
            }
        }
        for (a, b) in f.iter().zip(told) {
            assert!((a - b).abs() < 3e-6, "a few tolerances of the point: {f:?} {told:?}");
        }
    }
}

#[test]
fn a_tighter_tolerance_takes_more_rounds_and_a_bound_on_them_is_told() {
    let task = task();
    let laws = all(&task);
    let at = |tolerance: f64, rounds: usize| {
        let numerical = CouplingSettings { tolerance, rounds };
        plan_coupled(&task, &AtHand::default(), &stall(), &few_drops(), &laws, &numerical).unwrap().1.coupling.unwrap()
    };
    let found: Vec<CouplingResult> = [1e-1, 1e-4, 1e-6, 1e-9].iter().map(|t| at(*t, 60)).collect();
    for (a, b) in found.iter().zip(&found[1..]) {
        assert!(b.rounds >= a.rounds && b.residual <= a.residual, "{a:?} {b:?}");
        assert!(a.converged && a.residual <= a.tolerance);
        // The answer moves by no more than what was asked for, times the inverse of one less the slope.
        assert!((a.cut_together - found[3].cut_together).abs() < 3.0 * a.tolerance, "{a:?}");
    }
    assert!(found[3].rounds <= 20, "{} rounds", found[3].rounds);
    let short = at(1e-9, 2);
    assert!(!short.converged && short.rounds == 2 && short.residual > 1e-9);
    #[cfg(feature = "cli")]
    assert!(trochoid::report::coupling_words(&short).iter().any(|w| w.contains("NOT CONVERGED")));
}

#[test]
fn a_target_cut_is_reached_by_the_coupled_step() {
    let mut task = task();
    let one = plan(&task).cut.unwrap().mean;
    task.target_cut = Some(Length::from_m(one));
    let laws = CouplingLaws { loading: Some(loading(&task, Some(6))), ..CouplingLaws::default() };
    let (_, made, c) = coupled(&task, &few_drops(), &laws);
    assert!(c.loading.unwrap() < 0.95);
    assert!(made.passes > 4 && made.cut.unwrap().mean >= one, "{} passes", made.passes);
}

#[test]
fn a_law_outside_its_range_is_refused() {
    let task = task();
    let bad = TemperatureLaw { rise_per_10k: 2.0, ..TemperatureLaw::default() };
    let laws = CouplingLaws { temperature: Some(bad), ..CouplingLaws::default() };
    let numerical = CouplingSettings::default();
    let told = plan_coupled(&task, &AtHand::default(), &stall(), &workshop(), &laws, &numerical).unwrap_err();
    assert!(told.to_string().contains("cut_rise_per_10k"), "{told}");
    let none = CouplingSettings { rounds: 0, ..numerical };
    assert!(plan_coupled(&task, &AtHand::default(), &stall(), &workshop(), &all(&task), &none).is_err());
}

#[cfg(feature = "cli")]
mod commands {
    use crate::cli::{Folder, SMALL, edited, run_in, run_on};

    fn switched(on: &str) -> String {
        edited(SMALL, &[("[map]\n", &format!("[coupling]\n{on}[map]\n"))])
    }

    const ALL: &str = "temperature = true\nloading = true\ndrying = true\n";

    #[test]
    fn switched_off_is_as_if_not_there() {
        let plain = run_on(SMALL, &["plan", "--json"]).json();
        let off = run_on(&switched("temperature = false\n"), &["plan", "--json"]).json();
        assert_eq!(plain["steps"], off["steps"]);
        assert!(plain["steps"][0]["coupling"].is_null());
    }

    #[test]
    fn a_plan_tells_the_size_of_each() {
        let v = run_on(&switched(ALL), &["plan", "--json"]).json();
        let c = &v["steps"][0]["coupling"];
        let ratio = |key: &str| c["cut_ratio"][key].as_f64().unwrap();
        assert!(ratio("temperature") > 1.0 && ratio("loading") < 1.0 && ratio("drying") <= 1.0, "{c}");
        assert_eq!(c["converged"], true);
        assert!(
            c["residual"].as_f64().unwrap() <= c["tolerance"].as_f64().unwrap() && c["rounds"].as_u64().unwrap() > 1
        );
        assert!(c["spin_rpm_with"].as_f64().unwrap() < c["spin_rpm_without"].as_f64().unwrap());
        assert_eq!(v["steps"][0]["spin_rpm"], c["spin_rpm_with"]);
        let plain = run_on(SMALL, &["plan", "--json"]).json();
        let cut = |v: &serde_json::Value| v["steps"][0]["cut_um"]["mean"].as_f64().unwrap();
        // Removal and the mean inside the mask differ by what the slower spin moves to the rim.
        assert!((cut(&v) / cut(&plain) - ratio("together")).abs() < 2e-3, "{c}");
        // The map is the same.
        let map = run_on(&switched(ALL), &["map", "--json"]).json();
        assert_eq!(map["cut_um"]["mean"], v["steps"][0]["cut_um"]["mean"]);
        let words = run_on(&switched(ALL), &["plan"]).out;
        for line in
            ["coupled  temperature alone: cut +", "loading alone: cut -", "drying alone: cut ", "together: cut "]
        {
            assert!(words.contains(line), "{line}:\n{words}");
        }
        let one = run_on(&switched("loading = true\n"), &["plan", "--json"]).json();
        let c = &one["steps"][0]["coupling"];
        assert!(c["cut_ratio"]["temperature"].is_null() && c["cut_factor_temperature"].is_null(), "{c}");
        assert_eq!(c["cut_ratio"]["loading"], c["cut_ratio"]["together"]);
    }

    #[test]
    fn a_real_panel_is_coupled_too() {
        let real = edited(
            &switched(ALL),
            &[("shape = \"sphere\"\ncurvature_per_m = -0.5", "shape = \"flat\"\nedges = \"free\"\ngrid_mm = 5.0")],
        );
        let v = run_on(&real, &["plan", "--json"]).json();
        let c = &v["steps"][0]["coupling"];
        assert!(c["converged"] == true && c["cut_ratio"]["loading"].as_f64().unwrap() < 1.0, "{c}");
    }

    #[test]
    fn the_order_in_the_file_has_no_say() {
        let other = switched("drying = true\nloading = true\ntemperature = true\n");
        let (a, b) = (run_on(&switched(ALL), &["plan", "--json"]), run_on(&other, &["plan", "--json"]));
        assert_eq!(a.json()["steps"], b.json()["steps"]);
    }

    #[test]
    fn the_report_and_check_tell_of_it() {
        let folder = Folder::new();
        folder.put("job.toml", switched(ALL));
        run_in(folder.path(), &["plan", "job.toml", "--out", "o"]);
        let html = std::fs::read_to_string(folder.path().join("o/report.html")).unwrap();
        assert!(html.contains("Couplings of step") && html.contains("loading alone"));
        let check = run_in(folder.path(), &["check", "job.toml"]).out;
        for line in ["coupling.cut_rise_per_10k", "coupling.cut_reference_c", "product.compound.dry_friction_rise"] {
            assert!(check.contains(line), "{line}:\n{check}");
        }
        let plain = run_on(SMALL, &["check"]).out;
        assert!(!plain.contains("coupling") && !plain.contains("dry_friction_rise"), "{plain}");
    }
}
