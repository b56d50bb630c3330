//! Does a hand that varies do what the closed forms, brute force and a practitioner say?

use crate::support::{free_tool, linear_pad, rel, setup, sphere};
use core::f64::consts::PI;
use trochoid::contact::{ContactSettings, Hold};
use trochoid::equipment::Tool;
use trochoid::math::reduce::with_threads;
use trochoid::motion::Pattern;
use trochoid::panel::{Panel, Patch};
use trochoid::plan::{
    Away, Habit, HandScatter, HandTrials, HandVariability, Response, StepTask, Trial, VariabilitySettings, Working,
    hand_variability,
};
use trochoid::removal::{Footprint, Quantity, deposit_quantity};
use trochoid::spin::{Setup, SpinState, spin_state};
use trochoid::{Angle, AngularRate, Length, Speed, Time};

fn step_of(setup: Setup, side_mm: f64, passes: usize) -> (StepTask, SpinState) {
    let run = spin_state(&setup, setup.patch(), &ContactSettings::default()).unwrap();
    let side = Length::from_mm(side_mm);
    let panel = Panel::new(*setup.patch(), side, side).unwrap();
    let working = Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 };
    let cell = Length::from_mm(2.0);
    let task = StepTask { passes, pattern: Pattern::Crosshatch, cell, ..StepTask::new(setup, panel, working) };
    (task, run)
}

/// Two crossed passes over 300 mm with a pad of 130 mm.
fn step(patch: Patch) -> (StepTask, SpinState) {
    step_of(setup(free_tool(12.0, 4200.0, 0.04, 1e-4), linear_pad(130.0, 9e5), 0.35, 35.0, patch), 300.0, 2)
}

fn few() -> VariabilitySettings {
    VariabilitySettings { replicates: 200, comparisons: 40, most_cells: 150, ..VariabilitySettings::default() }
}

fn feed(rel_sd: f64) -> HandScatter {
    HandScatter::steady().with_feed(rel_sd).unwrap()
}

fn run(step: &(StepTask, SpinState), hand: &HandScatter, settings: &VariabilitySettings) -> HandVariability {
    hand_variability(&step.0, &step.1, step.0.passes, hand, None, settings).unwrap().unwrap()
}

fn trials<'a>(step: &'a (StepTask, SpinState), hand: &HandScatter) -> HandTrials<'a> {
    HandTrials::new(&step.0, &step.1, step.0.passes, hand, &few()).unwrap().unwrap()
}

fn rms(a: &[f64], b: &[f64]) -> f64 {
    let off: f64 = a.iter().zip(b).map(|(x, y)| (x - y) * (x - y)).sum();
    (off / b.iter().map(|y| y * y).sum::<f64>()).sqrt()
}

#[test]
fn a_steady_hand_is_the_plan() {
    for patch in [Patch::flat(), sphere(0.5), crate::support::cylinder(0.8, 30.0)] {
        let s = step(patch);
        let t = trials(&s, &HandScatter::steady());
        let setup = &s.0.setup;
        let footprint = Footprint::new(&s.1.contact, setup.patch(), setup.tool().rate().rad_s(), s.1.spin);
        let work = deposit_quantity(&footprint, &s.0.path(2).unwrap(), t.grid(), Quantity::Work);
        let plan: Vec<f64> = work.iter().map(|w| 2e-11 * w).collect();
        // Tables thinned to 128 steps, read linearly: 1e-3 of the peak, less over a whole path.
        assert!(rms(&t.planned(), &plan) < 3e-4, "{}", rms(&t.planned(), &plan));
        let trial = t.trial(3);
        assert_eq!(trial.cut, t.planned(), "to the bits");
        assert!(trial.stalled_share <= 0.0 && trial.beyond_share <= 0.0);
        assert!(t.response_error().volume < 1e-12 && t.response_error().profile < 1e-12, "nothing to be wrong about");
    }
}

#[test]
fn scatter_of_the_feed_raises_the_mean_by_its_square() {
    // A log-normal feed of mean f and relative deviation s has E[1/feed] = (1 + s²)/f exactly.
    let s = step(Patch::flat());
    let steady = run(&s, &HandScatter::steady(), &few()).ensemble.mean.over.mean;
    for sd in [0.1, 0.3] {
        let settings = VariabilitySettings { replicates: 1000, comparisons: 10, ..few() };
        let mean = run(&s, &feed(sd), &settings).ensemble.mean;
        // Four standard errors; the seed is fixed.
        let off = mean.over.mean / steady - (1.0 + sd * sd);
        assert!(off.abs() < 4.0 * mean.standard_error / steady, "{sd}: {off}");
        // The effect itself must be seen: it is many standard errors.
        assert!(mean.over.mean - steady > 4.0 * mean.standard_error, "{sd}");
    }
}

#[test]
fn the_standard_error_falls_as_one_over_the_root_and_is_what_means_stray_by() {
    let s = step(Patch::flat());
    let error = |replicates: usize, seed: u64| {
        let settings = VariabilitySettings { replicates, comparisons: 10, seed, ..few() };
        run(&s, &feed(0.2), &settings).ensemble.mean
    };
    let (small, large) = (error(100, 1).standard_error, error(1600, 1).standard_error);
    // 4; the deviation of n draws is known to 1/√(2n): 7 % of the smaller run, three of them.
    assert!((small / large - 4.0).abs() < 0.21 * 4.0, "{}", small / large);
    let means: Vec<f64> = (0..24).map(|seed| error(50, seed).over.mean).collect();
    let told = error(50, 0).standard_error;
    let mean = means.iter().sum::<f64>() / 24.0;
    let strays = (means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / 23.0).sqrt();
    // Known to 15 % and 10 %: within three of both together.
    assert!((strays / told - 1.0).abs() < 0.54, "{}", strays / told);
}

#[test]
fn a_share_over_the_whole_panel_scales_it_as_one() {
    let s = step(Patch::flat());
    let hand = feed(0.2).with_panel_share(1.0).unwrap();
    let t = trials(&s, &hand);
    let planned = t.planned();
    let factors: Vec<f64> = (0..400)
        .map(|i| {
            let cut = t.trial(i).cut;
            let factor = cut[0] / planned[0];
            assert!(cut.iter().zip(&planned).all(|(c, p)| (c - factor * p).abs() <= 1e-9 * p.abs()), "rounding");
            factor.ln()
        })
        .collect();
    let mean = factors.iter().sum::<f64>() / 400.0;
    let sd = (factors.iter().map(|f| (f - mean).powi(2)).sum::<f64>() / 400.0).sqrt();
    // √ln(1 + s²), known to 1/√(2·400) = 3.5 %: three of them.
    assert!(rel(sd, 0.04f64.ln_1p().sqrt()) < 0.106, "{sd}");
}

#[test]
fn small_scatter_is_propagation_of_error() {
    let s = step(Patch::flat());
    let hand = feed(0.03).with_correlation(Time::from_s(1.5)).unwrap();
    let t = trials(&s, &hand);
    let setup = &s.0.setup;
    let footprint = Footprint::new(&s.1.contact, setup.patch(), setup.tool().rate().rad_s(), s.1.spin);
    // Slow: what each piece leaves at a cell, and the correlation of every two pieces.
    let pieces: Vec<Vec<f64>> = t
        .pieces()
        .iter()
        .map(|leg| {
            let path = trochoid::motion::ToolPath::from_legs(vec![*leg]).unwrap();
            deposit_quantity(&footprint, &path, t.grid(), Quantity::Work)
        })
        .collect();
    let mut at = vec![0.0];
    for w in t.pieces().windows(2) {
        at.push(at[at.len() - 1] + 0.5 * (w[0].length() + w[1].length()));
    }
    let length = 0.04 * 1.5;
    let many: Vec<Trial> = (0..3000).map(|i| t.trial(i)).collect();
    let (nx, ny) = t.grid().count();
    for cell in [ny / 2 * nx + nx / 2, ny / 3 * nx + nx / 4] {
        let mut variance = 0.0;
        for (i, a) in pieces.iter().enumerate() {
            for (j, b) in pieces.iter().enumerate() {
                variance += a[cell] * b[cell] * (-(at[i] - at[j]).abs() / length).exp();
            }
        }
        let expected = 2e-11 * 0.03 * variance.sqrt();
        let mean = many.iter().map(|t| t.cut[cell]).sum::<f64>() / 3000.0;
        let got = (many.iter().map(|t| (t.cut[cell] - mean).powi(2)).sum::<f64>() / 3000.0).sqrt();
        // 1/√(2n) = 1.3 %, three of them; the second order adds a relative s² = 0.1 %.
        assert!(rel(got, expected) < 0.04, "{cell}: {got} {expected}");
    }
}

#[test]
fn tables_agree_with_contact_and_spin_solved_at_every_piece() {
    let hand = HandScatter::default().with_tilt(Angle::from_deg(0.0)).unwrap();
    for patch in [Patch::flat(), sphere(1.0), sphere(-0.4)] {
        let s = step(patch);
        let t = trials(&s, &hand);
        let (fast, slow) = (t.trial(1).cut, t.by_resolving(1).unwrap());
        let told = t.response_error();
        // The error told is that of a profile at one and a half deviations, the RMS over a path is less.
        let off = rms(&fast, &slow);
        assert!(off < told.profile.max(1e-3), "{off} {told:?}");
        assert!(told.volume < 5e-3 && told.profile < 0.1, "{told:?}");
        // Not for nothing: without the tables (force and rate in proportion, shape kept) it is further off.
        assert!(off < 0.5 * rms(&t.planned(), &slow), "{off} against {}", rms(&t.planned(), &slow));
    }
}

#[test]
fn a_tilted_pad_agrees_with_one_solved_at_every_piece() {
    // One short pass: a tilted footprint takes a while to sample.
    let tool = free_tool(12.0, 4200.0, 0.04, 1e-4);
    let mut s = step_of(setup(tool, linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat()), 160.0, 1);
    s.0.pattern = Pattern::Raster;
    let hand = HandScatter::steady().with_tilt(Angle::from_deg(0.5)).unwrap();
    let hand = hand.with_correlation(Time::from_s(6.0)).unwrap();
    let t = trials(&s, &hand);
    assert!(t.pieces().len() < 24, "{}", t.pieces().len());
    let (fast, slow) = (t.trial(2).cut, t.by_resolving(2).unwrap());
    let off = rms(&fast, &slow);
    assert!(off < t.response_error().profile, "{off} {:?}", t.response_error());
    assert!(off < 0.5 * rms(&t.planned(), &slow), "{off} against {}", rms(&t.planned(), &slow));
}

#[test]
fn a_tilt_adds_what_the_closed_form_says() {
    // Linear pad in full contact, hardly turning: p = p0 + kθx and |v| = eΩ, so a radian adds k x eΩ inside
    // R − e, evenly odd about the middle.
    let tool = Tool::geared(Length::from_mm(12.0), AngularRate::from_opm(4200.0), 1e-6).unwrap();
    let s = setup(tool, linear_pad(130.0, 4e5), 0.35, 60.0, Patch::flat());
    let run = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
    let hand = HandScatter::steady().with_tilt(Angle::from_deg(0.5)).unwrap();
    let response = Response::new(&s, &run, &hand, &ContactSettings::default()).unwrap();
    let [along_x, along_y] = response.odd_parts().unwrap();
    for x in [-0.05, -0.02, 0.03, 0.055] {
        let expected = 4e5 * x * 6e-3 * 4200.0 * PI / 30.0;
        // The slope is the tangent: 6e-5 of the angle at 0.75°. Pressure under a point does not depend on the
        // phase on average; the table is read linearly.
        assert!(rel(along_x.at(x, 0.01).work, expected) < 2e-3, "{x}: {} {expected}", along_x.at(x, 0.01).work);
        assert!(rel(along_y.at(0.01, x).work, expected) < 2e-3, "{x}");
        assert!(rel(along_x.at(x, 0.01).work, -along_x.at(-x, -0.01).work) < 1e-9, "odd");
    }
    let effect = response.at(&Away { force: 1.0, rate: 1.0, tilt: (0.01, -0.01) });
    // The volume ∫p|v| does not change in full contact.
    assert!((effect.volume - 1.0).abs() < 2e-3, "quadrature of a tilted pad: {}", effect.volume);
    assert!(response.error().profile < 0.01 && response.error().volume < 2e-3, "{:?}", response.error());
    let aligned = s.with_hold(Hold::SelfAligning);
    let run = spin_state(&aligned, aligned.patch(), &ContactSettings::default()).unwrap();
    let response = Response::new(&aligned, &run, &hand, &ContactSettings::default()).unwrap();
    assert!(response.odd_parts().is_none(), "it does not feel the tilt");
    // A pad held at a slant from the start takes both tilts of its own.
    let slanted = setup(free_tool(12.0, 4200.0, 0.04, 1e-4), linear_pad(130.0, 4e5), 0.35, 60.0, Patch::flat());
    let slanted = slanted.with_hold(crate::support::tilted(0.3, 0.0));
    let run = spin_state(&slanted, slanted.patch(), &ContactSettings::default()).unwrap();
    let response = Response::new(&slanted, &run, &hand, &ContactSettings::default()).unwrap();
    assert!(response.odd_parts().is_some() && response.error().profile < 0.02, "{:?}", response.error());
}

#[test]
fn the_same_bits_for_any_number_of_threads_and_other_ones_for_another_seed() {
    let s = step(sphere(0.5));
    let settings = VariabilitySettings { replicates: 24, comparisons: 12, ..few() };
    let with = |threads: usize, seed: u64| {
        let settings = VariabilitySettings { seed, ..settings };
        with_threads(threads, || run(&s, &HandScatter::default(), &settings))
    };
    let one = with(1, 7);
    assert_eq!(one, with(2, 7));
    assert_eq!(one, with(3, 7));
    let other = with(2, 8);
    assert!(one.p95 != other.p95 && one.planned == other.planned, "another hand, the same plan");
}

#[test]
fn half_the_scatter_halves_the_stray_and_shares_add_up() {
    let s = step(Patch::flat());
    let hand = HandScatter::steady().with_feed(0.05).unwrap().with_force(0.04).unwrap().with_spacing(0.02).unwrap();
    let settings = VariabilitySettings { replicates: 200, comparisons: 200, ..few() };
    let v = run(&s, &hand, &settings);
    let ratio = v.steadier.steadier.local_rel_sd / v.steadier.now.local_rel_sd;
    // The same draws: what is left is the second order, a few per cent of 5 %.
    assert!((ratio - 0.5).abs() < 0.01, "{ratio}");
    assert!(v.steadier.steadier.cv.over.mean < v.steadier.now.cv.over.mean, "a steadier hand cuts more evenly");
    let sum: f64 = v.habits.iter().map(|h| h.first_order_share).sum();
    // Nearly linear, so the shares add up to one; each is known to about 1/√(200 trials x a few places).
    assert!((sum - 1.0).abs() < 0.12, "{sum}");
    let whole: f64 = v.habits.iter().map(|h| h.alone.local_rel_sd.powi(2)).sum();
    assert!((whole.sqrt() / v.steadier.now.local_rel_sd - 1.0).abs() < 0.05, "variances of independent habits add");
    for h in &v.habits {
        let alone = h.alone.local_rel_sd.powi(2) / whole;
        assert!((h.first_order_share - alone).abs() < 0.08, "{:?}: {} {alone}", h.habit, h.first_order_share);
    }
    let order: Vec<f64> = v.habits.iter().map(|h| h.alone.local_rel_sd).collect();
    assert!(order.windows(2).all(|w| w[0] >= w[1]) && v.habits.len() == 3, "the largest first");
}

#[test]
fn percentiles_and_chances_are_in_order() {
    let s = step(Patch::flat());
    let hand = HandScatter::default();
    let v = run(&s, &hand, &few());
    for c in 0..v.p5.len() {
        assert!(v.p5[c] <= v.p50[c] && v.p50[c] <= v.p95[c]);
    }
    assert!(v.beyond.is_none() && v.ensemble.over_anywhere.is_none(), "nothing known of the budget");
    assert!(v.masked && v.habits.len() == 5);
    let over = |allowed: f64| {
        let at = move |_: (f64, f64)| allowed;
        let v = hand_variability(&s.0, &s.1, 2, &hand, Some(&at), &few()).unwrap().unwrap();
        v.beyond.unwrap()
    };
    let most = v.p95.iter().fold(0.0_f64, |a, b| a.max(*b));
    let (none, some, all) = (over(10.0 * most), over(most), over(0.0));
    assert!(none.anywhere <= 0.0 && all.anywhere >= 1.0);
    // Five in a hundred at the worst place alone, and there are other places.
    assert!(some.anywhere >= 0.05 && some.anywhere < 1.0, "{}", some.anywhere);
    let worst = some.at_cell.iter().fold(0.0_f64, |a, b| a.max(*b));
    assert!((worst - 0.05).abs() <= 1.0 / 200.0 + 1e-12, "the place with the largest percentile: one trial off");
    assert!(some.at_cell.iter().all(|p| *p <= some.anywhere));
    // A percentile says what share lies above it.
    let (n, place) = (200.0, v.p95.len() / 2);
    let t = trials(&s, &hand);
    let above = (0..200).filter(|i| t.trial(*i).cut[place] > v.p95[place]).count() as f64;
    assert!((above / n - 0.05).abs() <= 1.0 / n + 1e-12, "one trial off: {above}");
}

#[test]
fn habits_have_the_effects_a_practitioner_expects() {
    let s = step(Patch::flat());
    // A hand whose deviations last longer does not average them out.
    let lasting = |seconds: f64| {
        let hand = feed(0.2).with_correlation(Time::from_s(seconds)).unwrap();
        run(&s, &hand, &few()).ensemble
    };
    let (quick, slow) = (lasting(0.3), lasting(6.0));
    assert!(quick.local_rel_sd < slow.local_rel_sd, "{} {}", quick.local_rel_sd, slow.local_rel_sd);
    assert!(quick.mean.over.sd < slow.mean.over.sd);
    // More passes average more.
    let more = step_of(s.0.setup.clone(), 300.0, 8);
    let default = HandScatter::default();
    assert!(run(&more, &default, &few()).ensemble.local_rel_sd < run(&s, &default, &few()).ensemble.local_rel_sd);
    // Place of the lines alone leaves the mean where it is: the pad only works beside its line.
    let place = run(&s, &HandScatter::steady().with_spacing(0.2).unwrap(), &few());
    let planned = run(&s, &HandScatter::steady(), &few()).ensemble.mean.over.mean;
    assert!(rel(place.ensemble.mean.over.mean, planned) < 0.02, "lines at the mask's edges come and go");
    // Near its stall in a hollow a heavier hand stops the pad for part of the time.
    let hollow = step(sphere(-0.1));
    let slow = VariabilitySettings { useful_spin: AngularRate::from_rad_s(hollow.1.spin), ..few() };
    let v = run(&hollow, &HandScatter::steady().with_force(0.2).unwrap(), &slow);
    assert!(v.stalled_share > 0.2 && v.stalled_share < 0.8, "at the set-point about half: {}", v.stalled_share);
}

#[test]
fn a_face_that_sticks_is_told_as_nothing() {
    let pad = linear_pad(130.0, 9e5).with_shear_modulus(trochoid::Pressure::from_kpa(0.5)).unwrap();
    let s = step_of(setup(free_tool(8.0, 4200.0, 0.04, 1e-4), pad, 0.6, 60.0, Patch::flat()), 300.0, 2);
    assert!(s.1.sticks);
    assert!(hand_variability(&s.0, &s.1, 2, &HandScatter::default(), None, &few()).unwrap().is_none());
}

#[test]
fn what_no_hand_does_is_refused() {
    let told = |e: &dyn std::fmt::Display, words: &[&str]| {
        let text = e.to_string();
        assert!(words.iter().all(|w| text.contains(w)), "{text}");
    };
    let hand = HandScatter::default;
    told(&hand().with_feed(1.1).unwrap_err(), &["feed_rel_sd = 1.1", "0 to 1"]);
    told(&hand().with_force(f64::NAN).unwrap_err(), &["force_rel_sd"]);
    told(&hand().with_tilt(Angle::from_deg(5.1)).unwrap_err(), &["tilt_sd_deg = 5.1", "0 to 5"]);
    told(&hand().with_spacing(-0.1).unwrap_err(), &["spacing_rel_sd"]);
    told(&hand().with_rate(0.6).unwrap_err(), &["rate_rel_sd", "0 to 0.5"]);
    told(&hand().with_correlation(Time::from_s(0.0)).unwrap_err(), &["correlation_s", "0.1 to 1000"]);
    told(&hand().with_panel_share(2.0).unwrap_err(), &["panel_share"]);
    told(&hand().scaled(-1.0).unwrap_err(), &["0 to 1"]);
    let s = step(Patch::flat());
    let refused = |settings: &VariabilitySettings, hand: &HandScatter, words: &[&str]| {
        told(&hand_variability(&s.0, &s.1, 2, hand, None, settings).unwrap_err(), words);
    };
    refused(&VariabilitySettings { replicates: 9, ..few() }, &hand(), &["replicates = 9", "10 to 10000"]);
    refused(&VariabilitySettings { comparisons: 0, ..few() }, &hand(), &["comparisons = 0"]);
    refused(&VariabilitySettings { most_cells: 1, ..few() }, &hand(), &["most_cells"]);
    refused(&VariabilitySettings { pieces_per_length: 0.0, ..few() }, &hand(), &["pieces_per_length"]);
    refused(
        &VariabilitySettings { replicates: 10_000, most_cells: 100_000, ..few() },
        &hand(),
        &["cells x replicates"],
    );
    let crawling =
        StepTask { working: Working { feed: Speed::from_mm_s(0.1), overlap: 0.9 }, passes: 40, ..s.0.clone() };
    let short = hand().with_correlation(Time::from_s(0.1)).unwrap();
    let e = hand_variability(&crawling, &s.1, 40, &short, None, &few()).unwrap_err();
    told(&e, &["pieces of the path", "longer correlation time"]);
    assert!(Habit::ALL.iter().all(|h| !h.name().is_empty() && !hand().in_words(*h).is_empty()));
}

#[cfg(feature = "cli")]
mod in_a_job {
    use crate::cli::{Folder, SMALL, edited, run_in, run_on};
    use serde_json::Value;

    const HAND: &str = "[hand]\nreplicates = 20\ncorrelation_s = 4.0\n";

    fn with_hand(more: &str) -> String {
        edited(SMALL, &[("[map]\n", &format!("{HAND}{more}[map]\n"))])
    }

    fn plan(text: &str) -> Value {
        let answer = run_on(text, &["plan", "--json"]);
        assert_eq!(answer.code, Some(0), "{}", answer.told());
        answer.json()
    }

    #[test]
    fn a_hand_is_told_only_where_the_job_has_one() {
        let (plain, with) = (plan(SMALL), plan(&with_hand("")));
        assert!(plain["steps"][0].get("hand").is_none());
        let hand = &with["steps"][0]["hand"];
        // The scatter does not touch the plan itself.
        for key in ["cut_um", "time_s", "spin_rpm", "budget_used_share"] {
            assert_eq!(plain["steps"][0][key], with["steps"][0][key], "{key}");
        }
        let number = |path: &str| hand.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path}"));
        let planned = with["steps"][0]["cut_um"]["mean"].as_f64().unwrap();
        // The feed's scatter raises it by 2 %; twenty panels know it to a few.
        assert!((number("/mean_cut_um/mean") / planned - 1.0).abs() < 0.15);
        assert!(number("/local_rel_sd") > number("/half_the_scatter/steadier/local_rel_sd"));
        assert!((0.0..=1.0).contains(&number("/over_anywhere_probability")));
        assert_eq!(hand["habits"].as_array().unwrap().len(), 5);
        assert!(number("/table_profile_error_rel") > 0.0 && number("/table_profile_error_rel") < 0.2);
        assert_eq!((number("/replicates"), number("/seed")), (20.0, 1.0));
        // The same seed again, another one, and no scatter.
        assert_eq!(*hand, plan(&with_hand(""))["steps"][0]["hand"]);
        assert_ne!(*hand, plan(&with_hand("seed = 2\n"))["steps"][0]["hand"]);
        let steady =
            with_hand("feed_rel_sd = 0\nforce_rel_sd = 0\ntilt_sd_deg = 0\nspacing_rel_sd = 0\nrate_rel_sd = 0\n");
        let steady = &plan(&steady)["steps"][0]["hand"];
        assert!(steady["local_rel_sd"].as_f64().unwrap() < 1e-14, "rounding of the mean");
        assert!(steady["habits"].as_array().unwrap().is_empty());
    }

    #[test]
    fn the_assumptions_of_a_hand_are_listed_and_its_files_written() {
        let folder = Folder::new();
        let job = folder.put("job.toml", with_hand(""));
        let out = folder.path().join("out");
        let arguments = ["plan", job.to_str().unwrap(), "--out", out.to_str().unwrap()];
        let answer = run_in(folder.path(), &arguments);
        assert_eq!(answer.code, Some(0), "{}", answer.told());
        assert!(answer.out.contains("20 trials: mean cut") && answer.out.contains("stray by one habit alone"));
        let names = crate::cli::names_in(&out);
        for name in ["cut-hand.csv", "cut-hand.svg", "cut-hand.png", "cut-habits.svg", "cut-habits.png"] {
            let drawn = cfg!(feature = "plot") || name.ends_with("csv");
            assert_eq!(names.contains(name), drawn, "{name} in {names:?}");
        }
        let checked = run_on(&with_hand(""), &["check"]).out;
        for key in [
            "hand.feed_rel_sd",
            "hand.force_rel_sd",
            "hand.tilt_sd_deg",
            "hand.spacing_rel_sd",
            "hand.rate_rel_sd",
            "hand.panel_share",
            "hand.seed",
        ] {
            let line = checked.lines().find(|l| l.starts_with(key)).unwrap_or_else(|| panic!("{key} is not listed"));
            assert!(line.contains("default"), "{line}");
        }
        assert!(!run_on(SMALL, &["check"]).out.contains("hand."), "nothing of it without the table");
    }

    #[test]
    fn a_hand_that_cannot_be_is_refused_with_its_place() {
        for (line, words) in [
            ("feed_rel_sd = 1.5", &["hand.feed_rel_sd", "0 to 1", ":5"][..]),
            ("force_rel_sd = nan", &["hand.force_rel_sd", "0 to 1"]),
            ("tilt_sd_deg = 6", &["hand.tilt_sd_deg", "0 to 5 °"]),
            ("spacing_rel_sd = -0.1", &["hand.spacing_rel_sd", "0 to 1"]),
            ("rate_rel_sd = 0.6", &["hand.rate_rel_sd", "0 to 0.5"]),
            ("panel_share = 2", &["hand.panel_share", "0 to 1"]),
            ("seed = -1", &["hand.seed"]),
            ("seed = 1.5", &["hand.seed", "whole number"]),
            ("feed_sd = 0.1", &["did you mean `feed_rel_sd`?"]),
        ] {
            let answer = run_on(&with_hand(&format!("{line}\n")), &["plan"]);
            assert_eq!(answer.code, Some(2), "{line}: {}", answer.told());
            assert!(words.iter().all(|w| answer.err.contains(w)), "{line}: {}", answer.err);
        }
        for (from, to, word) in [
            ("replicates = 20", "replicates = 9", "10 to 10000"),
            ("replicates = 20", "replicates = 1e9", "whole number"),
            ("correlation_s = 4.0", "correlation_s = 0", "0.1 to 1000 s"),
        ] {
            let answer = run_on(&edited(&with_hand(""), &[(from, to)]), &["plan"]);
            assert_eq!(answer.code, Some(2), "{to}: {}", answer.told());
            assert!(answer.err.contains(word), "{to}: {}", answer.err);
        }
    }

    #[test]
    fn a_real_panel_has_no_hand_and_says_so() {
        let text =
            edited(&with_hand(""), &[("size_mm = [400.0, 300.0]", "size_mm = [400.0, 300.0]\nedges = \"free\"")]);
        let answer = run_on(&text, &["plan"]);
        assert_eq!(answer.code, Some(0), "{}", answer.told());
        assert!(answer.out.contains("hand     not told for a panel with a shape of its own"), "{}", answer.out);
        assert!(plan(&text)["steps"].as_array().unwrap().iter().all(|s| s.get("hand").is_none_or(Value::is_null)));
    }
}
