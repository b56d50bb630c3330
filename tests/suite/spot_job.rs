//! Test spots in a job: the coefficient back out of a synthetic spot, what each kind of record can and
//! cannot tell, which steps change, and the card.
//!
//! Synthetic spots are made with the crate's own exposure and a known coefficient, so they check the
//! way from the record to the coefficient; exposure itself is checked by the tests of the map.

use crate::support::{free_tool, linear_pad, setup, sphere};
use trochoid::Length;
use trochoid::budget::{
    Calibration, CalibrationSettings, CalibrationWarning, Identified, Look, PairedReading, Parameter, SwirlsLeft,
};
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Pairing, Product};
use trochoid::math::random::Seed;
use trochoid::motion::Pattern;
use trochoid::panel::Panel;
use trochoid::plan::{SpotRecord, StepTask, Working, calibrate_spots, exposure, plan_step};
use trochoid::spin::{AtHand, CountedSpin, StallSettings, spin_state};
use trochoid::units::Speed;

/// Coefficient before any spot, 1/Pa, and its relative spread.
const K0: f64 = 2e-11;
const REL_SD: f64 = 0.5;
const PASSES: usize = 4;

fn um(v: f64) -> Length {
    Length::from_um(v)
}

fn pairing() -> Pairing {
    Pairing::new(Product::new(0.35, K0).unwrap(), REL_SD).unwrap()
}

/// Four crossed passes of a 130 mm pad over a nearly flat panel.
fn task() -> StepTask {
    let patch = sphere(0.2);
    let setup = setup(free_tool(12.0, 4200.0, 0.04, 1e-4), linear_pad(130.0, 9e5), 0.35, 35.0, patch);
    let panel = Panel::new(patch, Length::from_mm(400.0), Length::from_mm(300.0)).unwrap();
    StepTask {
        pairing: pairing(),
        passes: PASSES,
        pattern: Pattern::Crosshatch,
        cell: Length::from_mm(16.0),
        ..StepTask::new(setup, panel, Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 })
    }
}

fn record(pairs: &[PairedReading], look: Option<SwirlsLeft>, count: Option<CountedSpin>) -> SpotRecord<'_> {
    let look = look.map(|left| Look { passes: 4, left, haze: false });
    SpotRecord { name: "spot", task: task(), passes: PASSES, pairs, look, count }
}

fn calibrated(record: SpotRecord<'_>) -> (Calibration, Pairing) {
    let calibrated = calibrate_spots(&pairing(), &[record], &StallSettings::default()).unwrap();
    (calibrated.found, calibrated.believed)
}

/// What a gauge of scatter `sd` and step `step` \[µm\] shows of a cut, at `n` places.
fn gauge(seed: Seed, run: u64, cut_um: f64, sd: f64, step: f64, n: u64) -> Vec<PairedReading> {
    let shown = |v: f64| (v / step).round() * step;
    (0..n)
        .map(|i| {
            let film = 100.0 + 30.0 * seed.uniform(run, 3 * i);
            let before = shown(film + sd * seed.normal(run, 1000 + 3 * i));
            let after = shown(film - cut_um + sd * seed.normal(run, 2000 + 3 * i));
            PairedReading::new(um(before), um(after), um(sd), um(step), 1).unwrap()
        })
        .collect()
}

/// Width of the interval of the coefficient, as a ratio.
fn width(c: &Calibration) -> f64 {
    c.removal.value.ratio()
}

#[test]
fn a_synthetic_spot_gives_its_coefficient_back() {
    let exposed = exposure(&task(), PASSES, &StallSettings::default()).unwrap();
    let ln_sd = (REL_SD * REL_SD).ln_1p().sqrt();
    let scatter = CalibrationSettings::default().exposure_ln_sd();
    let (seed, runs) = (Seed::new(3), 24);
    let (mut held, mut off) = (0, 0.0_f64);
    for run in 0..runs {
        // A coefficient from what was believed, and a hand that works a little more or less than asked.
        let k = K0 * (ln_sd * seed.normal(run, 5000)).exp();
        let cut = k * exposed * (scatter * seed.normal(run, 5001)).exp();
        let pairs = gauge(seed, run, cut * 1e6, 0.4, 0.1, 6);
        let (found, believed) = calibrated(record(&pairs, None, None));
        held += usize::from(found.removal.value.holds(k));
        off += (found.ln_mean - k.ln()).powi(2);
        assert_eq!(found.removal.identified, Identified::Well, "{run}");
        // The pairing carried on is the log-normal of the posterior's moments.
        assert!((believed.product().preston_per_pa().ln() - found.ln_mean).abs() < 1e-12, "rounding");
        let sd = believed.preston_rel_sd();
        assert!(((sd * sd).ln_1p().sqrt() - found.ln_sd).abs() < 1e-12, "rounding");
        assert!(believed.product().friction().to_bits() == 0.35_f64.to_bits(), "friction is not touched");
    }
    // 90 % intervals: 21.6 of 24 are expected, and fewer than 18 happen once in 134 (binomial).
    assert!(held >= 18, "{held} of {runs}");
    // A tenth of scatter of the hand and 0.23 µm of 6 pairs: about 0.12 to 0.2 in the logarithm.
    let rms = (off / runs as f64).sqrt();
    assert!(rms < 0.25, "{rms}");
}

#[test]
fn an_eye_alone_works_and_tells_less_than_a_gauge() {
    let exposed = exposure(&task(), PASSES, &StallSettings::default()).unwrap();
    let cut_um = K0 * exposed * 1e6;
    // 3.2 µm of cut leave a hundredth of swirls as deep as assumed, an eighth of those twice as deep.
    let (eye, _) = calibrated(record(&[], Some(SwirlsLeft::Few), None));
    let pairs = gauge(Seed::new(5), 0, cut_um, 0.4, 0.1, 6);
    let (read, _) = calibrated(record(&pairs, None, None));
    let (both, _) = calibrated(record(&pairs, Some(SwirlsLeft::Few), None));
    let before = eye.removal.prior.ratio();
    assert!(width(&eye) < 0.97 * before, "{} {before}", width(&eye));
    assert!(
        width(&read) < 0.6 * width(&eye) && width(&both) <= 1.01 * width(&read),
        "{} {}",
        width(&read),
        width(&both)
    );
    // An eye that sees more left believes in less cut.
    let middle = |left| calibrated(record(&[], Some(left), None)).0.removal.value.best;
    let all: Vec<f64> = [SwirlsLeft::None, SwirlsLeft::Few, SwirlsLeft::Half, SwirlsLeft::Most].map(middle).into();
    assert!(all.windows(2).all(|w| w[1] < w[0]), "{all:?}");
}

#[test]
fn a_gauge_that_cannot_resolve_the_cut_says_so() {
    // Passes that take 1 µm; one pair, shown to 1 µm with 1.5 µm of scatter.
    let exposed = exposure(&task(), 1, &StallSettings::default()).unwrap();
    let k = 1e-6 / exposed;
    let product = Product::new(0.35, k).unwrap();
    let pairing = Pairing::new(product, 0.4).unwrap();
    let mut worked = task();
    worked.setup = worked.setup.with_product(product);
    let pairs = [PairedReading::new(um(112.0), um(111.0), um(1.5), um(1.0), 1).unwrap()];
    let one = SpotRecord { name: "spot", task: worked, passes: 1, pairs: &pairs, look: None, count: None };
    let found = calibrate_spots(&pairing, &[one], &StallSettings::default()).unwrap().found;
    assert_eq!(found.removal.identified, Identified::Not);
    // The noise of the difference, √(2·1.5² + 1/6) = 2.16 µm, is five times the spread of the cut believed.
    assert!(width(&found) > 0.9 * found.removal.prior.ratio(), "{} {}", width(&found), found.removal.prior.ratio());
    let told = found.statements().join("\n");
    assert!(told.contains("the removal coefficient is not identifiable from these records"), "{told}");
}

#[test]
fn a_film_that_grew_is_warned_of() {
    let pairs = [PairedReading::new(um(108.0), um(112.0), um(1.0), um(1.0), 1).unwrap()];
    let (found, _) = calibrated(record(&pairs, None, None));
    let [CalibrationWarning::Grew { spot, by_m, .. }] = found.warnings.as_slice() else {
        panic!("{:?}", found.warnings)
    };
    assert!(spot == "spot" && (by_m - 4e-6).abs() < 1e-12, "rounding");
    assert!(found.removal.value.low > 0.0, "a coefficient stays positive");
    // Within the noise, 2·√(2 + 1/6) = 2.9 µm, it is none.
    let pairs = [PairedReading::new(um(108.0), um(110.0), um(1.0), um(1.0), 1).unwrap()];
    assert!(calibrated(record(&pairs, None, None)).0.warnings.is_empty());
}

#[test]
fn a_counted_rotation_narrows_the_drag() {
    let pairs = gauge(Seed::new(5), 0, 3.0, 0.4, 0.1, 6);
    let uncounted = calibrated(record(&pairs, None, None)).0;
    assert!(uncounted.others.iter().all(|p| p.parameter != Parameter::BearingDrag));
    for factor in [0.7, 1.0, 1.4] {
        // A tool whose bearing really drags by that factor.
        let tool = free_tool(12.0, 4200.0, 0.04 * factor, 1e-4 * factor);
        let true_setup = setup(tool, linear_pad(130.0, 9e5), 0.35, 35.0, sphere(0.2));
        let spin = spin_state(&true_setup, true_setup.patch(), &ContactSettings::default()).unwrap().spin;
        let turns = (spin * 30.0 / (2.0 * core::f64::consts::PI)).round();
        let count = CountedSpin::new(turns, 30.0).unwrap();
        let found = calibrated(record(&pairs, None, Some(count))).0;
        let drag = found.others.iter().find(|p| p.parameter == Parameter::BearingDrag).unwrap();
        assert_eq!(drag.identified, Identified::Well, "{factor}: {drag:?}");
        assert!(drag.value.holds(factor) && drag.value.ratio() < 0.5 * drag.prior.ratio(), "{factor}: {drag:?}");
        assert!(found.warnings.is_empty(), "{:?}", found.warnings);
    }
    // A pad that hardly turned: no drag within a factor of two does that.
    let found = calibrated(record(&pairs, None, Some(CountedSpin::new(1.0, 30.0).unwrap()))).0;
    assert!(found.warnings.iter().any(|w| matches!(w, CalibrationWarning::CountOutOfReach { .. })));
}

#[test]
fn a_plan_after_the_spot_has_the_calibrations_interval() {
    let settings = StallSettings::default();
    let exposed = exposure(&task(), PASSES, &settings).unwrap();
    let pairs = gauge(Seed::new(8), 0, 1.4 * K0 * exposed * 1e6, 0.5, 0.1, 6);
    let (found, believed) = calibrated(record(&pairs, None, None));
    let mut next = task();
    next.pairing = believed;
    next.setup = next.setup.with_product(believed.product());
    let cut = plan_step(&next, &AtHand::default(), &settings).unwrap().cut.unwrap();
    // Median and ends of the log-normal with the calibration's moments.
    for (got, z) in [(cut.low, -1.644_853_627), (cut.mean, 0.0), (cut.high, 1.644_853_627)] {
        let expected = exposed * (found.ln_mean + z * found.ln_sd).exp();
        assert!((got / expected - 1.0).abs() < 1e-9, "ten digits of z: {got} {expected}");
    }
    // The posterior itself is not quite log-normal: its quantiles lie within 3 % (seen: 1 %).
    for (got, k) in [(cut.low, found.removal.value.low), (cut.high, found.removal.value.high)] {
        assert!((got / (exposed * k) - 1.0).abs() < 0.03, "{got} {k}");
    }
}

/// From here on jobs, as a user runs them.
#[cfg(feature = "cli")]
mod jobs {
    use crate::cli::{Answer, DEMO, Folder, SMALL, edited, names_in, run_in, run_on};
    use serde_json::Value;

    /// The small job with a spot that records these keys.
    fn with_spot(keys: &str) -> String {
        format!("{SMALL}[[spot]]\nname = \"half a door\"\nstep = \"cut\"\n{keys}\n")
    }

    fn cuts(v: &Value) -> Vec<[f64; 3]> {
        let of = |s: &Value, key: &str| s["cut_um"][key].as_f64().unwrap();
        v["steps"].as_array().unwrap().iter().map(|s| ["lo", "mean", "hi"].map(|k| of(s, k))).collect()
    }

    #[test]
    fn every_step_with_the_same_pad_product_and_paint_changes_and_no_other() {
        let more = "[pad.small]\ndiameter_mm = 80.0\nthickness_mm = 20.0\n\
             compression = { law = \"linear\", stiffness_kpa_per_mm = 0.9 }\n\
             [product.polish]\nfriction = 0.30\npreston_per_pa = 8.5e-12\n\
             [paint.dark]\nhardness = \"medium\"\n[paint.light]\nhardness = \"medium\"\n\
             [panel.roof]\nshape = \"flat\"\nsize_mm = [400.0, 300.0]\npaint = \"dark\"\n\
             [panel.wing]\nshape = \"flat\"\nsize_mm = [400.0, 300.0]\npaint = \"light\"\n[panel.door]\npaint = \"dark\"";
        let step = |name: &str, pad: &str, product: &str, panel: &str| {
            format!(
                "[[step]]\nname = \"{name}\"\ntool = \"long\"\npad = \"{pad}\"\nproduct = \"{product}\"\npanel = \"{panel}\"\n\
                 force_n = 30.0\nfeed_mm_s = 40.0\noverlap = 0.5\npasses = 2\npattern = \"raster\"\n"
            )
        };
        let text = edited(SMALL, &[("[panel.door]", more)])
            + &step("same on the roof", "wide", "compound", "roof")
            + &step("other paint", "wide", "compound", "wing")
            + &step("other pad", "small", "compound", "roof")
            + &step("other product", "wide", "polish", "roof");
        let spot = "[[spot]]\nname = \"a\"\nstep = \"cut\"\npairs_um = [[112.0, 111.0], [120.0, 119.5]]\n\
             gauge_uncertainty_um = 0.3\ngauge_resolution_um = 0.1\n";
        let before = cuts(&run_on(&text, &["plan", "--json"]).json());
        let told = run_on(&format!("{text}{spot}"), &["plan", "--json"]);
        let after = cuts(&told.json());
        for i in [0, 1] {
            let (b, a) = (before[i], after[i]);
            assert!((a[1] / b[1] - 1.0).abs() > 0.1, "step {i}: {b:?} {a:?}");
            assert!(a[2] / a[0] < 0.7 * b[2] / b[0], "narrower: step {i}: {b:?} {a:?}");
        }
        assert!((after[0][1] / before[0][1] - after[1][1] / before[1][1]).abs() < 1e-12, "one factor: rounding");
        for i in [2, 3, 4] {
            let bits = |c: [f64; 3]| c.map(f64::to_bits);
            assert_eq!(bits(before[i]), bits(after[i]), "step {i} is another pairing");
        }
    }

    #[test]
    fn a_plan_says_what_its_spots_tell() {
        let good =
            run_on(&with_spot("pairs_um = [[112.0, 110.0]]\ncounted_turns = 40\ncounted_seconds = 20"), &["plan"]);
        assert_eq!(good.code, Some(0), "{}", good.err);
        for words in ["removal coefficient of pad `wide` with product `compound` from 1 test spot", "the bearing drag"]
        {
            assert!(good.out.contains(words), "lacks {words:?}: {}", good.out);
        }
        let coarse = "passes = 1\npairs_um = [[112.0, 111.0]]\ngauge_uncertainty_um = 1.5\ngauge_resolution_um = 1.0";
        let vague = run_on(&with_spot(coarse), &["plan"]);
        assert!(vague.out.contains("not identifiable from these records"), "{}", vague.out);
        let grown = run_on(&with_spot("pairs_um = [[108.0, 113.0]]"), &["plan"]);
        assert_eq!(grown.code, Some(0), "{}", grown.err);
        assert!(grown.err.contains("'half a door': the film reads 5.0 µm thicker after than before"), "{}", grown.err);
        let eye = run_on(&with_spot("swirls_left = \"few\""), &["plan"]);
        assert!(eye.code == Some(0) && eye.out.contains("from 1 test spot"), "{}", eye.err);
    }

    /// The small job whose compound has a known grain, with a spot.
    fn with_gloss(keys: &str) -> String {
        let grained = edited(SMALL, &[("[product.compound]", "[product.compound]\ngrain_um = 3.0")]);
        format!("{grained}[[spot]]\nname = \"half a door\"\nstep = \"cut\"\npairs_um = [[112.0, 110.0]]\n{keys}\n")
    }

    #[test]
    fn gloss_of_a_spot_tells_the_roughness_and_leaves_the_cut_alone() {
        let roughness = |keys: &str| {
            let answer = run_on(&with_gloss(keys), &["plan", "--json"]);
            let v = answer.json();
            let ends = [0, 1, 2].map(|i| v["panels"][0]["steps"][0]["finish"]["roughness_nm"][i].as_f64().unwrap());
            (ends, cuts(&v)[0])
        };
        let (unread, cut) = roughness("");
        let (dull, cut_dull) = roughness("gloss = [60.0, 68.0]");
        let (bright, _) = roughness("gloss = [60.0, 80.0]");
        assert!(dull[1] > bright[1], "a duller surface is a rougher one: {dull:?} {bright:?}");
        assert!(dull[2] / dull[0] < unread[2] / unread[0], "gloss narrows it: {dull:?} {unread:?}");
        assert_eq!(cut.map(f64::to_bits), cut_dull.map(f64::to_bits), "gloss says nothing of the cut");
        let told = run_on(&with_gloss("gloss = [80.0, 70.0]\ngloss_angle_deg = 20"), &["plan"]);
        assert!(told.out.contains("gloss puts the roughness at"), "{}", told.out);
        assert!(told.err.contains("the gloss is lower after than before"), "{}", told.err);
        // Without a grain there is no roughness to compare it with.
        let grainless = run_on(&with_spot("pairs_um = [[112.0, 110.0]]\ngloss = [60.0, 80.0]"), &["plan"]);
        assert!(grainless.code == Some(0) && grainless.err.contains("has no effect"), "{}", grainless.err);
    }

    #[test]
    fn wrong_gloss_is_refused_with_line_key_value_and_range() {
        let pair = "pairs_um = [[112.0, 110.0]]";
        for (keys, key, words) in [
            ("gloss = [-1.0, 80.0]", "gloss", "gloss before -1 0 to 120"),
            ("gloss = [60.0, 300.0]", "gloss", "gloss after 300 0 to 120"),
            ("gloss = [1.0, 2.0, 3.0]", "gloss", "3 numbers [before, after]"),
            ("gloss = 80.0", "gloss", "[before, after]"),
            ("gloss = [80.0]\ngloss_angle_deg = 45", "gloss_angle_deg", "45 20, 60 or 85"),
            ("gloss = [80.0]\ngloss_uncertainty = 0.1", "gloss_uncertainty", "0.1 0.3 to 20"),
        ] {
            refused(&with_spot(&format!("{pair}\n{keys}")), key, key, words);
        }
        refused(&with_spot("gloss = [60.0, 80.0]"), "name", "spot#1", "gloss speaks of the finish only pairs_um");
        // A gloss that no clear coat has: bad input, told with its range.
        let matt = run_on(&with_gloss("gloss = [3.0]\ngloss_uncertainty = 0.3"), &["plan"]);
        assert!(matt.code == Some(2) && matt.err.contains("1.48 to 1.53"), "{:?} {}", matt.code, matt.err);
    }

    #[test]
    fn a_count_at_a_spot_narrows_the_spin_of_every_step_with_that_tool() {
        let range = |text: &str| {
            let v = run_on(text, &["state", "--json"]).json();
            let at = |i: usize| v["spin"]["spin_rpm_range"][i].as_f64().unwrap();
            (v["spin"]["spin_rpm"].as_f64().unwrap(), at(1) - at(0))
        };
        let seen = "swirls_left = \"few\"";
        let (plain, wide) = range(&with_spot(seen));
        // Two turns a second more than predicted, so the drag is larger than it was described.
        let turns = (plain / 60.0 * 1.3 * 30.0).round();
        let (counted, narrow) = range(&with_spot(&format!("{seen}\ncounted_turns = {turns}\ncounted_seconds = 30")));
        assert!(counted > 1.1 * plain, "{counted} {plain}");
        assert!(narrow < 0.5 * wide, "{narrow} {wide}");
    }

    /// Bad input: the line of `marker`, this key, these words, soon and without a panic.
    fn refused(text: &str, marker: &str, key: &str, words: &str) {
        let answer = run_on(text, &["plan"]);
        let told = answer.told();
        assert_eq!((answer.code, answer.out.as_str()), (Some(2), ""), "{told}");
        let at = text.rfind(marker).unwrap_or_else(|| panic!("no {marker:?}"));
        let place = format!("job.toml:{}:", 1 + text[..at].matches('\n').count());
        for word in words.split(' ').chain([place.as_str(), key, "allowed"]) {
            assert!(told.contains(word), "lacks {word:?}: {told}");
        }
        assert!(!told.contains("panicked"), "{told}");
    }

    #[test]
    fn wrong_spots_are_refused_with_line_key_value_and_range() {
        let seen = "swirls_left = \"few\"";
        for (keys, marker, key, words) in [
            ("pairs_um = [[-3.0, 110.0]]", "pairs_um", "pairs_um", "before_um -3 0 to 5000"),
            ("pairs_um = [[110.0, 9000.0]]", "pairs_um", "pairs_um", "after_um 9000 0 to 5000"),
            ("pairs_um = [[110.0, nan]]", "pairs_um", "pairs_um", "nan"),
            ("pairs_um = [[110.0]]", "pairs_um", "pairs_um", "1 numbers [before, after]"),
            ("pairs_um = [110.0, 108.0]", "pairs_um", "pairs_um", "[before, after]"),
            (
                "pairs_um = [[112.0, 110.0]]\ngauge_uncertainty_um = 0.0",
                "gauge_unc",
                "gauge_uncertainty_um",
                "0.0 0.01 to 500 µm",
            ),
            (
                "pairs_um = [[112.0, 110.0]]\ngauge_resolution_um = 99.0",
                "gauge_res",
                "gauge_resolution_um",
                "99.0 0.01 to 50 µm",
            ),
            (
                "pairs_um = [[112.0, 110.0]]\nreadings_averaged = 0",
                "readings_averaged",
                "readings_averaged",
                "0 1 to 1000",
            ),
            ("swirls_left = \"some\"", "swirls_left", "swirls_left", "some none few half most"),
            (&format!("{seen}\npasses = 0"), "passes", "spot#1.passes", "0 1 to 1000"),
            (&format!("{seen}\npasses = 1001"), "passes", "spot#1.passes", "1001 1 to 1000"),
            (
                &format!("{seen}\ncounted_turns = 9e9\ncounted_seconds = 20"),
                "counted_turns",
                "counted_turns",
                "9e9 -100000 to 100000 turns",
            ),
            (
                &format!("{seen}\ncounted_turns = 9\ncounted_seconds = 0"),
                "counted_seconds",
                "counted_seconds",
                "0 0.1 to 3600 s",
            ),
            ("gauge_uncertainty_um = 1.0", "name", "spot#1", "records nothing pairs_um, swirls_left, counted_turns"),
            (&format!("{seen}\npairs_mil = [[4.0, 3.9]]"), "pairs_mil", "pairs_mil", "pairs_um"),
        ] {
            refused(&with_spot(keys), marker, key, words);
        }
        let text = with_spot(seen);
        refused(
            &edited(&text, &[("step = \"cut\"", "step = \"cutt\"")]),
            "step = \"cutt\"",
            "spot#1.step",
            "cutt cut no such step",
        );
        let twice = format!("{text}[[spot]]\nname = \"half a door\"\nstep = \"cut\"\n{seen}\n");
        let answer = run_on(&twice, &["plan"]);
        assert!(
            answer.code == Some(2) && answer.told().contains("two test spots are named \"half a door\""),
            "{}",
            answer.told()
        );
        // A count with one half missing, and a pairing that nothing can be learned of.
        let half = run_on(&with_spot(&format!("{seen}\ncounted_turns = 9")), &["plan"]);
        assert!(half.code == Some(2) && half.told().contains("counted_seconds"), "{}", half.told());
        let known = "[pairing.known]\npad = \"wide\"\nproduct = \"compound\"\npreston_rel_sd = 0.0\n[panel.door]";
        refused(
            &edited(&text, &[("[panel.door]", known)]),
            "step = \"cut\"",
            "spot#1.step",
            "preston_rel_sd = 0 nothing to calibrate 0.005",
        );
    }

    fn spot(text: &str, options: &[&str]) -> Answer {
        run_on(text, &[&["spot"], options].concat())
    }

    #[test]
    fn the_card_is_aligned_and_its_block_reads_back() {
        // A name that a string must escape.
        let text = edited(SMALL, &[("name = \"cut\"", "name = 'the \"cut\" \\ left'")]);
        let card = spot(&text, &["--passes", "3", "--defects", "heavy"]);
        assert_eq!(card.code, Some(0), "{}", card.err);
        // The columns of every table begin where those of its head do.
        let lines: Vec<&str> = card.out.lines().collect();
        let head = lines.iter().position(|l| l.trim_start().starts_with("trial ")).unwrap();
        for (at, column) in [(head, "predicted cut"), (head, "when")] {
            let start = |l: &str| l.chars().take(l[..l.find(column).unwrap()].chars().count()).count();
            let begin = start(lines[at]);
            let row: Vec<char> = lines[at + 1].chars().collect();
            assert!(
                row[begin] != ' ' && row[begin - 1] == ' ' && row[begin - 2] == ' ',
                "{column}: {:?}",
                lines[at + 1]
            );
        }
        assert!(card.out.contains("3 passes") && card.out.contains("Strongest first"), "{}", card.out);
        // What it asks to be written down, written down.
        let block = &card.out[card.out.find("\n[[spot]]").unwrap()..];
        let parsed: toml::Table = toml::from_str(block).unwrap();
        let first = parsed["spot"].as_array().unwrap()[0].as_table().unwrap();
        assert_eq!(first["step"].as_str(), Some("the \"cut\" \\ left"));
        assert_eq!(first["passes"].as_integer(), Some(3));
        let job = format!("{text}{block}");
        let plan = run_on(&job, &["plan"]);
        assert!(plan.code == Some(0) && plan.out.contains("from 1 test spot"), "{}{}", plan.out, plan.err);
        // With the readings that it offers, too.
        let read = job.replace("# pairs_um", "pairs_um");
        assert_eq!(run_on(&read, &["plan"]).code, Some(0));
    }

    #[test]
    fn a_pad_that_stalls_there_is_no_trial_without_a_word() {
        let word = "stalls at these settings";
        assert!(!spot(SMALL, &[]).out.contains(word));
        let hollow = edited(SMALL, &[("curvature_per_m = -0.5", "curvature_per_m = -3.0")]);
        let card = spot(&hollow, &[]).out;
        assert!(card.starts_with("MIND: pad `wide` with `compound` stalls at these settings ("), "{card}");
    }

    #[test]
    fn the_card_as_json_and_as_files() {
        let folder = Folder::new();
        let text = edited(&std::fs::read_to_string(DEMO).unwrap(), &[("cell_mm = 2.0", "cell_mm = 6.0")]);
        folder.put("job.toml", text);
        let answer = run_in(folder.path(), &["spot", "job.toml", "--step", "cut_door", "--json", "--out", "card"]);
        let v = answer.json();
        let keys =
            ["step", "panel", "defects", "passes", "allowed_um", "order_reason", "trials", "instructions", "cautions"];
        assert_eq!(v.as_object().unwrap().keys().map(String::as_str).collect::<Vec<_>>(), keys);
        assert_eq!((&v["step"], &v["panel"], &v["passes"]), (&"cut_door".into(), &"door_crown".into(), &4.into()));
        let trials = v["trials"].as_array().unwrap();
        assert_eq!(trials.len(), 6, "three pads, two products");
        for t in trials {
            assert!(
                t["pad"].is_string()
                    && t["product"].is_string()
                    && t["reason"].is_string()
                    && t["over_budget"].is_boolean()
            );
        }
        let cut: Vec<f64> = trials.iter().map(|t| t["predicted_cut_um"].as_f64().unwrap()).collect();
        assert!(cut.windows(2).all(|w| w[1] >= w[0]), "mildest first: {cut:?}");
        // The predicted cut is the plan's.
        let plan = run_in(folder.path(), &["plan", "job.toml", "--step", "cut_door", "--json"]).json();
        let own = trials.iter().find(|t| t["pad"] == "cutting" && t["product"] == "compound").unwrap();
        let (card, planned) =
            (own["predicted_cut_um"].as_f64().unwrap(), plan["steps"][0]["cut_um"]["mean"].as_f64().unwrap());
        assert!((card / planned - 1.0).abs() < 1e-9, "the same map: {card} {planned}");
        let names = names_in(&folder.path().join("card"));
        assert_eq!(names.into_iter().collect::<Vec<_>>(), ["spot-card.md", "spot-card.txt"]);
    }

    #[test]
    fn the_card_goes_by_the_films_that_were_read() {
        let folder = Folder::new();
        folder.put("job.toml", format!("{SMALL}[budget]\nreadings_file = \"film.csv\"\n"));
        let head = "panel,value_um,kind,uncertainty_um,substrate,layer\n";
        folder.put("film.csv", format!("{head}door,20,ultrasonic,1.0,steel,clear\n"));
        let v = run_in(folder.path(), &["spot", "job.toml", "--json"]).json();
        assert!((v["allowed_um"].as_f64().unwrap() - 5.0).abs() < 1e-9, "a quarter of 20 µm: {}", v["allowed_um"]);
        // A thin film rules the trial out that a thick one allows.
        folder.put("film.csv", format!("{head}door,5,ultrasonic,1.0,steel,clear\n"));
        let v = run_in(folder.path(), &["spot", "job.toml", "--json"]).json();
        assert_eq!(v["trials"][0]["over_budget"], true, "{v:#}");
    }

    #[test]
    fn a_job_without_a_pad_that_fits_is_told_why() {
        // A pad so soft in shear that its face sticks.
        let soft = edited(SMALL, &[("thickness_mm = 25.0", "thickness_mm = 60.0\nshear_modulus_kpa = 1.0")]);
        let answer = spot(&soft, &[]);
        assert_eq!((answer.code, answer.out.as_str()), (Some(1), ""), "{}", answer.told());
        let told = answer.told();
        for words in ["step `cut`", "no pad of the job can be tried", "pad `wide`", "face sticks"] {
            assert!(told.contains(words), "lacks {words:?}: {told}");
        }
        // Beside one that fits it is only left out, by name.
        let two = edited(
            &soft,
            &[(
                "[product.compound]",
                "[pad.firm]\ndiameter_mm = 130.0\nthickness_mm = 25.0\ncompression = { law = \"linear\", stiffness_kpa_per_mm = 0.9 }\n[product.compound]",
            )],
        );
        let v = spot(&two, &["--json"]);
        assert!(v.err.contains("left out, pad `wide`"), "{}", v.err);
        assert_eq!(v.json()["trials"].as_array().unwrap().len(), 1);
        // Options out of range are the parser's to refuse.
        for bad in [["--passes", "0"], ["--passes", "101"], ["--defects", "awful"]] {
            let answer = spot(SMALL, &bad);
            assert_eq!(answer.code, Some(2), "{}", answer.told());
        }
        // A spot of a step that cannot cut has no exposure to go by.
        let answer =
            run_on(&format!("{soft}[[spot]]\nname = \"a\"\nstep = \"cut\"\nswirls_left = \"few\"\n"), &["plan"]);
        assert_eq!(answer.code, Some(2), "{}", answer.told());
        assert!(answer.told().contains("its face sticks"), "{}", answer.told());
    }
}
