//! Phases of a step: do they add up to steps of their own, is a step without them untouched, and does a
//! phase that stalls or dries show?

use crate::support::{free_tool, linear_pad, rel, setup};
use crate::surface_work::USEFUL;
use trochoid::equipment::Substrate;
use trochoid::motion::{Pattern, SurfacePathOptions, SurfacePattern};
use trochoid::panel::{HeightMap, Patch, Surface};
use trochoid::plan::{
    MOST_PHASES, Phase, Route, StepHeat, StepPlan, StepTask, SurfaceTask, SurveySettings, ThermalTask, Work, Working,
    Workshop, exposure, plan_step, step_heat, stops_along,
};
use trochoid::removal::{PanelMap, SurfaceSettings, stop_length, work_surface};
use trochoid::spin::{AtHand, Setup, StallSettings};
use trochoid::wear::FilmProduct;
use trochoid::{Angle, AngularRate, Force, Length, Panel, Speed, Temperature};

pub(crate) fn stall() -> StallSettings {
    StallSettings { useful_spin: USEFUL, ..StallSettings::default() }
}

/// A set-up that turns at a few hundred rpm.
pub(crate) fn usual_setup() -> Setup {
    setup(free_tool(12.0, 4200.0, 0.08, 1e-4), linear_pad(130.0, 0.9e6), 0.35, 35.0, Patch::flat())
}

/// A step of so many passes on a rectangle of 0.5 by 0.4 m.
pub(crate) fn on_rectangle(setup: Setup, pattern: Pattern, passes: usize) -> StepTask {
    let panel = Panel::new(*setup.patch(), Length::from_m(0.5), Length::from_m(0.4)).unwrap();
    let working = Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 };
    StepTask { passes, pattern, cell: Length::from_mm(5.0), ..StepTask::new(setup, panel, working) }
}

/// A flat sheet with free edges, worked in two sections where asked for.
fn on_sheet(passes: usize, sections: bool) -> StepTask {
    let heights = HeightMap::from_function((0.0, 0.0), (0.5, 0.3), 5e-3, |_, _| 0.0).unwrap();
    let mut task = on_rectangle(usual_setup(), Pattern::Raster, passes);
    task.panel = Panel::new(Patch::flat(), Length::from_m(0.5), Length::from_m(0.3)).unwrap();
    task.surface = Some(SurfaceTask {
        surface: std::sync::Arc::new(Surface::new(heights)),
        route: Route::Pattern(SurfacePattern::Raster { angle: Angle::from_deg(0.0) }),
        inset: Some(0.04),
        options: SurfacePathOptions::default(),
        sections: sections.then_some(((0.25, 0.3), 0.04)),
        film: None,
        survey: SurveySettings { step: 40e-3, pad_sizes: false, ..SurveySettings::default() },
    });
    task
}

/// Spread slowly and lightly, work, finish lightly and fast: so many passes each.
pub(crate) fn three(passes: [usize; 3]) -> Vec<Phase> {
    let mut out: Vec<Phase> = ["spread", "work", "finish"].iter().zip(passes).map(|(n, p)| Phase::new(*n, p)).collect();
    out[0].rate = Some(AngularRate::from_opm(3000.0));
    out[0].force = Some(Force::from_n(20.0));
    out[0].feed = Some(Speed::from_mm_s(80.0));
    out[2].force = Some(Force::from_n(25.0));
    out[2].feed = Some(Speed::from_mm_s(50.0));
    out
}

/// Phases without settings of their own.
fn alike(passes: [usize; 3]) -> Vec<Phase> {
    ["first", "second", "third"].iter().zip(passes).map(|(n, p)| Phase::new(*n, p)).collect()
}

pub(crate) fn plan(task: &StepTask) -> StepPlan {
    plan_step(task, &AtHand::default(), &stall()).unwrap()
}

fn map(plan: &StepPlan) -> &PanelMap {
    match &plan.work {
        Work::Patch(m) => m,
        Work::Surface(_) => panic!("a rectangle"),
    }
}

/// Ordinary air over steel.
pub(crate) fn workshop() -> ThermalTask {
    ThermalTask {
        workshop: Workshop {
            temperature: Temperature::from_c(20.0),
            relative_humidity: 0.5,
            air_speed: Speed::from_m_s(0.2),
        },
        substrate: Substrate::Steel,
        incline: Angle::from_deg(0.0),
        paint_limit: Temperature::from_c(60.0),
        film: FilmProduct::default(),
        drops: None,
    }
}

fn heat(task: &StepTask, plan: &StepPlan) -> StepHeat {
    step_heat(task, plan, &workshop()).unwrap().unwrap()
}

/// Largest difference of two fields over the largest value.
#[track_caller]
fn near(what: &str, got: &[f64], expected: &[f64], tolerance: f64) {
    assert_eq!(got.len(), expected.len(), "{what}");
    let largest = expected.iter().copied().fold(0.0, f64::max);
    let worst = got.iter().zip(expected).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    assert!(largest > 0.0 && worst <= tolerance * largest, "{what}: off by {worst} of {largest}");
}

/// Bits of a number: the same or not.
fn bits(values: &[f64]) -> Vec<u64> {
    values.iter().map(|v| v.to_bits()).collect()
}

#[test]
fn one_phase_is_the_step_itself_to_the_bit() {
    let task = on_rectangle(usual_setup(), Pattern::Crosshatch, 3);
    let phased = StepTask { phases: vec![Phase::new("all", 3)], ..task.clone() };
    let (a, b) = (plan(&task), plan(&phased));
    assert!(a.phases.is_empty() && a.main_phase().is_none() && b.phases.len() == 1);
    assert_eq!(bits(&map(&a).field.work), bits(&map(&b).field.work));
    assert_eq!(bits(&map(&a).field.peak), bits(&map(&b).field.peak));
    let told = |p: &StepPlan| [p.time_s, p.cut.unwrap().mean, p.state.run.spin, map(p).volume_m3, map(p).spill_m3];
    assert_eq!(bits(&told(&a)), bits(&told(&b)));
    assert_eq!(a.limits, b.limits);
    let (h, g) = (heat(&task, &a), heat(&phased, &b));
    let told = |h: &StepHeat| {
        [h.peak.surface.k(), h.core_after_section.k(), h.core_without_rest.k(), h.work.work.j(), h.section_time.s()]
    };
    assert_eq!(bits(&told(&h)), bits(&told(&g)));
    assert_eq!((h.drops, h.dry_out), (g.drops, g.dry_out));
}

#[test]
fn phases_add_up_to_steps_of_their_own() {
    // After two passes one way the next one starts where the first did, so each phase runs the path that a
    // step of its own would.
    let mut task = on_rectangle(usual_setup(), Pattern::Raster, 6);
    task.phases = three([2, 2, 2]);
    let whole = plan(&task);
    let own: Vec<StepPlan> = task.parts().unwrap().iter().map(plan).collect();
    let total = |f: fn(&StepPlan) -> f64| own.iter().map(f).sum::<f64>();
    let fields: [fn(&PanelMap) -> &Vec<f64>; 4] =
        [|m| &m.field.work, |m| &m.field.slide, |m| &m.field.dwell, |m| &m.field.passes];
    for (what, field) in ["work", "slide", "dwell", "passes"].iter().zip(fields) {
        let mut sum = vec![0.0; field(map(&whole)).len()];
        for p in &own {
            sum.iter_mut().zip(field(map(p))).for_each(|(s, v)| *s += v);
        }
        near(what, field(map(&whole)), &sum, 1e-12); // rounding
    }
    let peak =
        own.iter().map(|p| map(p).field.peak.clone()).reduce(|a, b| a.iter().zip(&b).map(|(a, b)| a.max(*b)).collect());
    near("peak", &map(&whole).field.peak, &peak.unwrap(), 1e-12); // rounding
    assert!(rel(whole.time_s, total(|p| p.time_s)) < 1e-12, "rounding");
    assert!(rel(map(&whole).volume_m3, total(|p| map(p).volume_m3)) < 1e-12, "rounding");
    assert!(rel(map(&whole).spill_m3, total(|p| map(p).spill_m3)) < 1e-9, "difference of nearly equal volumes");
    assert!(rel(whole.cut.unwrap().mean, whole.phases.iter().map(|p| p.cut_m.unwrap()).sum()) < 1e-12, "rounding");
    for (phase, p) in whole.phases.iter().zip(&own) {
        assert_eq!(phase.state.run.spin.to_bits(), p.state.run.spin.to_bits(), "{}", phase.name);
        assert!(rel(phase.time_s, p.time_s) < 1e-12 && rel(phase.volume_m3, map(p).volume_m3) < 1e-12, "rounding");
        assert_eq!(phase.passes.len(), 2);
    }
    // Heat, work and removal of a section add up as well. The shares of the time are rounded once more.
    let all = heat(&task, &whole);
    let each: Vec<StepHeat> = task.parts().unwrap().iter().zip(&own).map(|(t, p)| heat(t, p)).collect();
    let sum = |f: fn(&StepHeat) -> f64| each.iter().map(f).sum::<f64>();
    assert!(rel(all.panel.energy.input_j, sum(|h| h.panel.energy.input_j)) < 1e-9, "sums of a thousand sources");
    assert!(rel(all.work.work.j(), sum(|h| h.work.work.j())) < 1e-12, "rounding");
    assert!(rel(all.work.nominal_removal.m3(), sum(|h| h.work.nominal_removal.m3())) < 1e-12, "rounding");
    assert!(all.panel.energy.residual() < 1e-3, "in = stored + lost to 0.1 %");
    // Three phases one after the other end hotter than the hottest of them from a cold panel.
    assert!(each.iter().all(|h| h.peak.surface < all.peak.surface));
}

#[test]
fn a_step_split_into_like_phases_stays_what_it_was() {
    // One, two and one pass across each other: directions and corners go on from phase to phase.
    let task = on_rectangle(usual_setup(), Pattern::Crosshatch, 4);
    let split = StepTask { phases: alike([1, 2, 1]), ..task.clone() };
    let (a, b) = (plan(&task), plan(&split));
    near("work", &map(&b).field.work, &map(&a).field.work, 1e-12); // rounding
    near("dwell", &map(&b).field.dwell, &map(&a).field.dwell, 1e-12); // rounding
    assert!(rel(b.time_s, a.time_s) < 1e-12 && rel(b.cut.unwrap().mean, a.cut.unwrap().mean) < 1e-12, "rounding");
    let (h, g) = (heat(&task, &a), heat(&split, &b));
    assert!((h.peak.surface.k() - g.peak.surface.k()).abs() < 1e-9, "the same sources in the same order");
    // The pad's time steps end with each phase; its model holds to 1 % of the rise on finer steps.
    let rise = |h: &StepHeat| h.core_after_section.c() - 20.0;
    assert!(rel(rise(&g), rise(&h)) < 0.01, "{} {}", rise(&g), rise(&h));
    assert_eq!(h.drops, g.drops);
}

#[test]
fn a_real_panel_is_worked_by_the_phase_of_each_pass() {
    let mut task = on_sheet(4, false);
    task.phases = three([1, 2, 1]);
    let whole = plan(&task);
    let work = whole.work.surface().unwrap();
    // The slow way: the stops of the path told apart by pass, each lot worked by itself, the fields added.
    let on = task.surface.as_ref().unwrap();
    let parts = task.parts().unwrap();
    let step = parts.iter().map(|p| stop_length(&p.setup)).fold(f64::INFINITY, f64::min);
    let stops = stops_along(&work.path, &on.surface, step);
    let mut sum = vec![0.0; work.map.grid.len()];
    let (mut time, mut volume) = (0.0, 0.0);
    for (part, passes) in parts.iter().zip([0..1, 1..3, 3..4]) {
        let own: Vec<_> = stops.iter().filter(|s| passes.contains(&s.pass)).copied().collect();
        let made = work_surface(&part.setup, &on.surface, &own, 5e-3, USEFUL, &SurfaceSettings::default()).unwrap();
        sum.iter_mut().zip(&made.field.work).for_each(|(s, v)| *s += v);
        time += own.iter().map(|s| s.time_s).sum::<f64>();
        volume += made.volume_m3;
    }
    near("work", &work.map.field.work, &sum, 1e-12); // rounding
    assert!(rel(work.map.volume_m3, volume) < 1e-12 && rel(work.path.time_on(), time) < 1e-9, "rounding of many times");
    // Feeds: the first pass at twice the step's feed takes half the time of one of the second phase.
    let each: Vec<f64> = whole.phases.iter().map(|p| p.time_s / p.passes.len() as f64).collect();
    assert!(rel(each[0], 0.5 * each[1]) < 0.02, "passes differ by their joints: {each:?}");
    assert_eq!(whole.main_phase().unwrap().name, "work");
    assert_eq!(work.map.stops.len(), stops.len());

    let like = StepTask { phases: alike([1, 2, 1]), ..on_sheet(4, false) };
    let (a, b) = (plan(&on_sheet(4, false)), plan(&like));
    let field = |p: &StepPlan| p.work.surface().unwrap().map.field.work.clone();
    // Spins are tabulated over the range that each lot of stops met; reading between them is good to 1e-4.
    near("split alike", &field(&b), &field(&a), 1e-4);
    assert!(rel(b.time_s, a.time_s) < 1e-12, "rounding");
    let (h, g) = (heat(&on_sheet(4, false), &a), heat(&like, &b));
    assert!((h.peak.surface.k() - g.peak.surface.k()).abs() < 1e-6, "the same sources but for rounding");
}

#[test]
fn every_section_has_all_phases_before_the_next() {
    let mut task = on_sheet(3, true);
    task.phases = three([1, 1, 1]);
    let whole = plan(&task);
    let work = whole.work.surface().unwrap();
    assert_eq!(work.sections.len(), 2);
    let mut order: Vec<u32> = work.map.stops.iter().map(|s| s.stop.pass).collect();
    order.dedup();
    assert_eq!(order, [0, 1, 2, 0, 1, 2], "spread, work and finish on one section, then on the next");
    let on: f64 = whole.phases.iter().map(|p| p.time_s).sum();
    assert!(rel(on, work.path.time_on()) < 1e-9, "rounding of many times");
}

#[test]
fn the_longest_phase_is_told_and_a_stalled_one_is_named() {
    // Turns at the step's rate, stalls at half of it: spin goes with the rate.
    let slow = setup(free_tool(12.0, 4200.0, 0.03, 5e-5), linear_pad(130.0, 0.9e6), 0.35, 35.0, Patch::flat());
    let mut task = on_rectangle(slow, Pattern::Raster, 3);
    task.phases = vec![Phase::new("spread", 1), Phase::new("work", 2)];
    task.phases[0].rate = Some(AngularRate::from_opm(1800.0));
    let p = plan(&task);
    let main = p.main_phase().unwrap();
    assert_eq!(main.name, "work");
    let alone = plan(&task.parts().unwrap()[1]);
    assert_eq!(p.state.run.spin.to_bits(), alone.state.run.spin.to_bits());
    assert!(!p.state.stalled && p.phases[0].state.stalled && !p.phases[0].state.remedies.is_empty());
    let binds = &p.limits[0];
    assert!(binds.margin < 0.0 && matches!(binds.name, "stall" | "spin"), "{binds:?}");
    assert_eq!(p.phase_of(binds).unwrap().name, "spread");
    // One pass of three.
    assert!((p.stalled_share - 1.0 / 3.0).abs() < 0.02, "passes differ by their joints: {}", p.stalled_share);
    // At the step's own rate throughout nothing stalls.
    task.phases[0].rate = None;
    let p = plan(&task);
    assert!(p.limits[0].margin > 0.0 && p.stalled_share < 1e-12, "{:?}", p.limits[0]);
}

#[test]
fn a_target_repeats_the_working_phase_only() {
    let mut task = on_rectangle(usual_setup(), Pattern::Raster, 4);
    task.phases = three([1, 2, 1]);
    let one = plan(&task);
    let per_pass = one.phases[1].cut_m.unwrap() / 2.0;
    let target = one.cut.unwrap().mean + 2.5 * per_pass;
    task.target_cut = Some(Length::from_m(target));
    let more = plan(&task);
    assert_eq!(more.phases.iter().map(|p| p.passes.len()).collect::<Vec<_>>(), [1, 5, 1]);
    assert_eq!((more.passes, more.target_out_of_reach), (7, false));
    assert!(more.cut.unwrap().mean >= target);
    let fewer = task.with_passes(6).unwrap();
    assert!(fewer.map(&stall()).unwrap().cut.unwrap().mean < target, "one pass less would not do");
    // A marked phase is repeated instead.
    task.phases[2].repeat = true;
    let marked = plan(&task);
    assert_eq!(marked.phases[1].passes.len(), 2);
    assert!(marked.phases[2].passes.len() > 1 && marked.cut.unwrap().mean >= target);
    // A target that the other phases pass already leaves one pass; too few passes in all are refused.
    task.target_cut = Some(Length::from_um(0.01));
    assert_eq!(plan(&task).phases[2].passes.len(), 1);
    assert!(task.with_passes(3).unwrap_err().to_string().contains("4 or more"));
}

#[test]
fn the_film_dries_through_all_phases() {
    let mut task = on_rectangle(usual_setup(), Pattern::Raster, 6);
    task.phases = three([2, 3, 1]);
    let p = plan(&task);
    let with = ThermalTask { drops: Some(1), ..workshop() };
    let h = step_heat(&task, &p, &with).unwrap().unwrap();
    assert_eq!(h.friction_by_pass.len(), 6);
    // The pass in which one drop dries, from the clock: laid down once, before the first phase.
    let dry = h.working_time.unwrap().s();
    let mut clock = 0.0;
    let mut expected = None;
    let mut pass = 0;
    for phase in &p.phases {
        for _ in 0..phase.passes.len() {
            clock += phase.time_s / phase.passes.len() as f64 / h.sections as f64;
            if clock >= dry && expected.is_none() {
                expected = Some(pass);
            }
            pass += 1;
        }
    }
    assert_eq!(h.dry_out, expected);
    assert!(expected.is_some_and(|n| n >= 2), "beyond the first phase: {expected:?}");
}

#[test]
fn a_test_spot_is_exposed_to_all_phases() {
    let mut task = on_rectangle(usual_setup(), Pattern::Raster, 4);
    task.phases = three([1, 2, 1]);
    let whole = task.map(&stall()).unwrap();
    let expected = whole.cut.unwrap().mean / whole.preston_per_pa;
    assert!(rel(exposure(&task, 4, &stall()).unwrap(), expected) < 1e-12, "rounding");
    assert!(exposure(&task, 5, &stall()).unwrap() > expected);
    assert!(exposure(&task, 2, &stall()).is_err(), "fewer than the other phases have");
}

#[test]
fn what_cannot_be_is_refused() {
    let mut task = on_rectangle(usual_setup(), Pattern::Raster, 4);
    task.phases = (0..=MOST_PHASES).map(|i| Phase::new(i.to_string(), 1)).collect();
    assert!(plan_step(&task, &AtHand::default(), &stall()).unwrap_err().to_string().contains("1 to 8"));
    task.phases = three([1, 0, 1]);
    assert!(plan_step(&task, &AtHand::default(), &stall()).is_err());
    task.phases = three([1, 1, 1]);
    task.phases[1].force = Some(Force::from_n(-1.0));
    assert!(plan_step(&task, &AtHand::default(), &stall()).unwrap_err().to_string().contains("force_n"));
    // A path of its own is worked as it stands.
    let mut given = on_sheet(2, false);
    let path = plan(&given).work.surface().unwrap().path.clone();
    given.surface.as_mut().unwrap().route = Route::Given(std::sync::Arc::new(path));
    given.phases = three([1, 1, 1]);
    let told = plan_step(&given, &AtHand::default(), &stall()).unwrap_err().to_string();
    assert!(told.contains("path of its own"), "{told}");
}

#[cfg(feature = "cli")]
mod commands {
    use crate::cli::{Folder, SMALL, edited, run_in, run_on};
    use serde_json::Value;

    const PHASES: &str = "pattern = \"crosshatch\"\n[[step.phase]]\nname = \"spread\"\npasses = 1\norbit_rate_opm = 3000.0\nforce_n = 20.0\n[[step.phase]]\nname = \"work\"\npasses = 2\n[[step.phase]]\nname = \"finish\"\npasses = 1\nforce_n = 25.0\nfeed_mm_s = 60.0\n";

    fn phased() -> String {
        edited(SMALL, &[("passes = 2\n", ""), ("pattern = \"crosshatch\"\n", PHASES)])
    }

    #[test]
    fn a_plan_lists_its_phases() {
        let v = run_on(&phased(), &["plan", "--json"]).json();
        let step = &v["steps"][0];
        assert_eq!(step["passes"], 4);
        assert_eq!((step["main_phase"].as_str(), step["coupling"].is_null()), (Some("work"), true));
        let list = step["phases"].as_array().unwrap();
        let text = |key: &str| list.iter().map(|p| p[key].to_string()).collect::<Vec<_>>();
        assert_eq!(text("name"), ["\"spread\"", "\"work\"", "\"finish\""]);
        assert_eq!(text("passes"), ["1", "2", "1"]);
        assert_eq!(text("force_n"), ["20.0", "35.0", "25.0"]);
        assert_eq!(text("stalled"), ["false", "false", "false"]);
        let number = |p: &Value, key: &str| p[key].as_f64().unwrap();
        let sum = |key: &str| list.iter().map(|p| number(p, key)).sum::<f64>();
        assert!((sum("time_s") - number(step, "time_s")).abs() < 1e-9, "rounding");
        assert!((sum("cut_um_mean") - step["cut_um"]["mean"].as_f64().unwrap()).abs() < 1e-9, "rounding");
        assert!((number(&list[0], "orbit_rate_opm") - 3000.0).abs() < 1e-6, "rounding of a unit");
        assert!(
            (number(&list[1], "spin_rpm") - number(step, "spin_rpm")).abs() < 1e-12,
            "the state is the main phase's"
        );
        let words = run_on(&phased(), &["plan"]).out;
        for line in ["phase    `spread`: 1 pass at 3000 orbits/min, 20 N", "are those of `work`, the longest"] {
            assert!(words.contains(line), "{line}:\n{words}");
        }
        // A step without phases has none to list.
        let plain = run_on(SMALL, &["plan", "--json"]).json();
        assert_eq!(plain["steps"][0]["phases"], Value::Array(Vec::new()));
        assert!(plain["steps"][0]["main_phase"].is_null());
    }

    #[test]
    fn a_map_is_that_of_the_plan() {
        let plan = run_on(&phased(), &["plan", "--json"]).json();
        let map = run_on(&phased(), &["map", "--json"]).json();
        assert_eq!(map["cut_um"]["mean"], plan["steps"][0]["cut_um"]["mean"]);
        assert_eq!(map["path_time_s"], plan["steps"][0]["time_s"]);
        let real = edited(
            &phased(),
            &[("shape = \"sphere\"\ncurvature_per_m = -0.5", "shape = \"flat\"\nedges = \"free\"\ngrid_mm = 5.0")],
        );
        let plan = run_on(&real, &["plan", "--json"]).json();
        let map = run_on(&real, &["map", "--json"]).json();
        assert_eq!(map["cut_um"]["mean"], plan["steps"][0]["cut_um"]["mean"]);
        assert_eq!(plan["steps"][0]["phases"].as_array().unwrap().len(), 3);
    }

    #[test]
    fn a_phase_that_stalls_is_named_as_the_limit() {
        let slow = edited(
            &phased(),
            &[("breakaway_nm = 0.04", "breakaway_nm = 0.015"), ("curvature_per_m = -0.5", "curvature_per_m = 0.0")],
        );
        let stalls = edited(&slow, &[("3000.0", "900.0")]);
        let v = run_on(&stalls, &["plan", "--json"]).json();
        let step = &v["steps"][0];
        assert_eq!(step["phases"][0]["stalled"], true);
        assert_eq!(step["stalled"], false);
        assert_eq!(step["binding_limit"]["phase"], "spread");
        let words = run_on(&stalls, &["plan"]).out;
        assert!(words.contains("in phase \"spread\"") && words.contains("STALLS at"), "{words}");
    }

    #[test]
    fn the_report_shows_every_phase() {
        let folder = Folder::new();
        folder.put("job.toml", phased());
        run_in(folder.path(), &["plan", "job.toml", "--out", "o"]);
        let html = std::fs::read_to_string(folder.path().join("o/report.html")).unwrap();
        assert!(html.contains("Phases of step") && html.contains("finish") && html.contains("In 3 phases"), "phases");
        assert!(!html.contains("Couplings of step"));
    }

    #[test]
    fn check_tells_what_a_phase_takes_from_its_step() {
        let v = run_on(&phased(), &["check", "--json"]).json();
        let find = |key: &str| {
            let all = v["values"].as_array().unwrap();
            all.iter().find(|r| r["key"] == key).map(|r| r["value"].as_str().unwrap().to_owned())
        };
        assert_eq!(find("step.cut.phase.work.force_n").as_deref(), Some("the step's"));
        assert_eq!(find("step.cut.phase.spread.force_n").as_deref(), Some("20.0 N"));
        assert_eq!(find("step.cut.phase.finish.feed_mm_s").as_deref(), Some("60.0 mm/s"));
        assert_eq!(find("step.cut.phase.finish.repeat").as_deref(), Some("false"));
        assert_eq!(find("step.cut.phase"), None, "a table is listed by its own keys");
    }
}
