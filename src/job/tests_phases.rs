//! Phases of a step and couplings as the job file has them: what is taken, what is refused and where.

use super::tests::{SMALL, after, job, refused, with};

/// `SMALL` with its passes replaced by phases.
fn phased(phases: &str) -> String {
    with("passes = 4\npattern = \"crosshatch\"\n", &format!("pattern = \"crosshatch\"\n{phases}"))
}

const TWO: &str = "[[step.phase]]\nname = \"spread\"\npasses = 1\norbit_rate_opm = 4200\nforce_n = 20\n\
                   [[step.phase]]\nname = \"work\"\npasses = 3\nfeed_mm_s = 30\nrepeat = true\n";

#[test]
fn phases_of_a_step_are_read() {
    let read = job(&phased(TWO));
    let step = read.step("cut").unwrap();
    assert_eq!((step.passes, step.phases.len()), (4, 2));
    let (spread, work) = (&step.phases[0].phase, &step.phases[1].phase);
    assert_eq!((spread.name.as_str(), spread.passes, spread.repeat), ("spread", 1, false));
    assert_eq!((work.passes, work.repeat, work.force, work.rate), (3, true, None, None));
    // Rounding of the unit conversions only.
    assert!((spread.force.unwrap().n() - 20.0).abs() < 1e-12 && (work.feed.unwrap().mm_s() - 30.0).abs() < 1e-12);
    assert!((spread.rate.unwrap().opm() - 4200.0).abs() < 1e-9);
    assert!(read.warnings.iter().any(|w| w.contains("repeat has no effect")), "{:?}", read.warnings);
    // The sum may stand in the step.
    let told = with("passes = 4\n", &format!("passes = 4\ntarget_cut_um = 2.0\n{TWO}"))
        .replace("pattern = \"crosshatch\"\n", "");
    let told = told.replace("overlap = 0.5\n", "overlap = 0.5\npattern = \"crosshatch\"\n");
    assert_eq!(job(&told).step("cut").unwrap().passes, 4);
    assert_eq!(job(&told).warnings, Vec::<String>::new());
}

#[test]
fn a_force_of_the_hand_and_a_setting_are_those_of_the_phase() {
    let scale = "orbit_rate_range_opm = [1800, 5200]\nspeed_settings = [[1, 1800.0], [5, 5200.0]]\nmass_kg = 2.6";
    let text = phased("[[step.phase]]\nname = \"a\"\npasses = 1\nspeed_setting = 1\nhand_force_n = 5\n[[step.phase]]\nname = \"b\"\npasses = 1\n")
        .replace("orbit_rate_opm = 4200\n", &format!("orbit_rate_opm = 4200\n{scale}\n"));
    let read = job(&text);
    let [a, b] = read.steps[0].phases.as_slice() else { panic!("two") };
    assert_eq!((a.speed_setting, a.hand_force_n), (Some(1.0), Some(5.0)));
    assert!((a.phase.rate.unwrap().opm() - 1800.0).abs() < 1e-9, "rounding");
    // Facing up: the hand and the whole weight, 2.6 kg.
    assert!((a.phase.force.unwrap().n() - (5.0 + 2.6 * 9.80665)).abs() < 1e-9);
    assert_eq!((b.phase.rate, b.phase.force), (None, None));
    assert_eq!(b.speed_setting, read.steps[0].speed_setting);
}

#[test]
fn contradictions_among_phases_are_refused_where_they_stand() {
    let bad = |from: &str, to: &str| {
        assert!(TWO.contains(from), "{from}");
        phased(&TWO.replacen(from, to, 1))
    };
    // The step's table starts on line 18; the first phase's on 28, the second's on 33.
    refused(&phased(""), 18, &["`passes`", "phases with passes of their own"]);
    refused(&bad("passes = 1\n", "passes = 0\n"), 30, &["step.cut.phase.spread.passes", "1 to 1000"]);
    refused(&bad("passes = 1\n", "passes = 1.5\n"), 30, &["a whole number, 1 to 1000"]);
    refused(&bad("force_n = 20", "force_n = -20"), 32, &["step.cut.phase.spread.force_n", "0.1 to 2000"]);
    refused(&bad("force_n = 20", "force_n = 1900"), 32, &["bottoms the pad out"]);
    refused(&bad("orbit_rate_opm = 4200", "speed_setting = 3"), 31, &["speed_setting", "no speed_settings"]);
    refused(&bad("force_n = 20", "hand_force_n = 20"), 32, &["hand_force_n", "mass_kg"]);
    refused(&bad("feed_mm_s = 30", "feed_mm_s = 0"), 36, &["step.cut.phase.work.feed_mm_s", "0.1 to 10000"]);
    refused(&bad("repeat = true", "repeat = 1"), 37, &["true or false"]);
    refused(&bad("name = \"work\"", "name = \"spread\""), 34, &["two phases of this step are named \"spread\""]);
    refused(&bad("force_n = 20", "force_n = 20\nrepeat = true"), 38, &["at most one phase"]);
    refused(&bad("feed_mm_s = 30", "feed = 30"), 36, &["did you mean `feed_mm_s`?", "step.cut.phase#2"]);
    let one = &TWO[..TWO.find("[[step.phase]]\nname = \"work\"").unwrap()];
    refused(&phased(one), 28, &["has 1 phases", "2 to 8, or none", "into the step itself"]);
    let many = "abcdefghi"
        .chars()
        .map(|c| format!("[[step.phase]]\nname = \"{c}\"\npasses = 1\n"))
        .collect::<Vec<_>>()
        .concat();
    refused(&phased(&many), 28, &["has 9 phases", "2 to 8"]);
    let sum = with("passes = 4\npattern = \"crosshatch\"\n", &format!("passes = 5\npattern = \"crosshatch\"\n{TWO}"));
    refused(&sum, 27, &["`step.cut.passes` = 5, but the phases have 4 passes together", "4, or left out"]);
    refused(&bad("passes = 3", "passes = 1000"), 28, &["1001 passes together"]);
    refused(&with("passes = 4\n", "passes = 4\nphase = 3\n"), 28, &["`step.cut.phase`", "[[step.phase]]"]);
}

#[test]
fn couplings_are_off_until_switched_on() {
    let read = job(SMALL);
    assert!(!read.coupling.any() && read.resolved.iter().all(|r| !r.key.contains("coupling")));
    let table = |lines: &str| with("schema = 1\n", &format!("schema = 1\n[coupling]\n{lines}\n"));
    let read = job(&table("temperature = true\ncut_rise_per_10k = 0.1\ncut_reference_c = 25"));
    assert!(read.coupling.temperature && !read.coupling.loading && !read.coupling.drying);
    assert!((read.coupling.law.rise_per_10k - 0.1).abs() < 1e-12);
    assert!((read.coupling.law.reference.c() - 25.0).abs() < 1e-9, "rounding");
    let laws = read.coupling.laws(&read.steps[0]);
    assert!(laws.temperature.is_some() && laws.loading.is_none() && laws.drying.is_none());
    let rise = after("preston_per_pa = 2.0e-11", "dry_friction_rise = 0.8");
    assert!(job(&rise).warnings[0].contains("dry_friction_rise has no effect while the coupling of the drying is off"));
    let on = rise.replacen("schema = 1\n", "schema = 1\n[coupling]\ndrying = true\n", 1);
    assert_eq!(job(&on).warnings, Vec::<String>::new());
    let laws = job(&on).coupling.laws(&job(&on).steps[0]);
    assert!((laws.drying.unwrap().amplitude - 0.8).abs() < 1e-12);
    assert!(job(&table("cut_reference_c = 25")).warnings[0].contains("while the coupling of the temperature is off"));
    refused(&table("temperature = 1"), 3, &["coupling.temperature", "true or false"]);
    refused(&table("loading = \"yes\""), 3, &["coupling.loading", "true or false"]);
    refused(&table("dryness = true"), 3, &["did you mean `drying`?"]);
    refused(&table("temperature = true\ncut_rise_per_10k = 1.5"), 4, &["cut_rise_per_10k", "0 to 1"]);
    refused(&table("temperature = true\ncut_reference_c = -300"), 4, &["cut_reference_c", "40 to 100"]);
    refused(&after("preston_per_pa = 2.0e-11", "dry_friction_rise = 6"), 14, &["dry_friction_rise", "0 to 5"]);
}
