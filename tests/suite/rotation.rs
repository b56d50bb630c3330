//! Pads in rotation: the trade's bands with the default constants, the search for the number of pads
//! against trying every number, the timeline, and a season worked by hand.
//!
//! The constants of the pad laws were set once so that the ordinary vehicle falls into the bands, so the
//! band test guards the defaults and does not prove the laws; the two departures and the orders do not
//! depend on that.

use crate::random::config;
use crate::wear::{c, cutting, exposure, face, ordinary, section_area};
use proptest::prelude::*;
use trochoid::units::{Energy, Length, Time, Volume};
use trochoid::wear::*;

fn job(kind: PadKind, section: SectionWork, sections: usize, air_c: f64) -> RotationJob {
    RotationJob { kinds: vec![kind], sections: vec![section; sections], air: c(air_c), changeover: Time::from_s(20.0) }
}

#[test]
fn an_ordinary_vehicle_falls_into_the_bands_and_two_departures_leave_them() {
    // Bands: 2-4 drops a section, clean every 2-3 sections, 4-6 pads a vehicle: common practice, no source.
    struct Weather {
        air_c: f64,
        humidity: f64,
        surface_c: f64,
    }
    let vehicle = |weather: Weather, work_kj: f64, removed_um: f64, heat: f64| {
        let exposure = exposure(weather.air_c, weather.humidity, weather.surface_c);
        let need = drops_needed(FilmProduct::default(), section_area(), Time::from_min(3.0), &exposure).unwrap();
        let section = SectionWork {
            work: Energy::from_kj(work_kj),
            nominal_removal: Volume::from_m3(Length::from_um(removed_um).m() * section_area().m2()),
            product: Volume::from_ml(0.25 * f64::from(need.drops)),
            ..ordinary()
        };
        let mut kind = PadKind { heating: PadHeating::default().scaled(heat), ..cutting() };
        let every = clean_interval(&kind, &section, CLEAN_BELOW).unwrap();
        kind.policy.turn = every;
        // 10 m² in sections of 0.2 m².
        let outcome = rotate(&job(kind, section, 50, weather.air_c), MOST_PADS).unwrap();
        let pads = outcome.enough().map(|r| r.pads[0]);
        (need.drops, every, pads)
    };
    let usual = vehicle(Weather { air_c: 20.0, humidity: 0.5, surface_c: 30.0 }, 5.8, 2.0, 1.0);
    assert!((2..=4).contains(&usual.0) && (2..=3).contains(&usual.1), "{usual:?}");
    assert!(usual.2.is_some_and(|n| (4..=6).contains(&n)), "{usual:?}");
    // Plastic in hot dry air: the panel holds the heat, so film and pad run hotter. More product, cleaned
    // more often, more pads.
    let hot = vehicle(Weather { air_c: 30.0, humidity: 0.25, surface_c: 42.0 }, 5.8, 2.0, 1.2);
    assert!(hot.0 > 4 && hot.1 < 2 && hot.2.is_none_or(|n| n > 6), "{hot:?}");
    // Light finishing in the cool: little work, little removed.
    let light = vehicle(Weather { air_c: 15.0, humidity: 0.6, surface_c: 18.0 }, 3.0, 0.3, 1.0);
    assert!(light.0 <= 2 && light.1 > 3 && light.2.is_some_and(|n| n < 4), "{light:?}");
}

/// Whether the timeline makes sense: one pad does one thing at a time, the operator too, nobody is used
/// while drying, a washed or fresh pad is primed before it works, every section is worked once.
fn timeline_holds(job: &RotationJob, r: &Rotation) {
    for w in r.schedule.windows(2) {
        if (w[0].kind, w[0].pad) == (w[1].kind, w[1].pad) {
            // 1e-9 s: sums of times in another order.
            assert!(w[1].start.s() >= w[0].end.s() - 1e-9, "{w:?}");
            assert!((w[1].start.s() - w[0].end.s()).abs() < 1e-9, "no gap without a name: {w:?}");
            if matches!(w[0].activity, Activity::Dry) {
                assert!(matches!(w[1].activity, Activity::Prime | Activity::Rest), "{w:?}");
            }
        }
    }
    let mut hands: Vec<&ScheduleEntry> =
        r.schedule.iter().filter(|e| !matches!(e.activity, Activity::Rest | Activity::Dry)).collect();
    hands.sort_by(|a, b| a.start.s().total_cmp(&b.start.s()));
    assert!(hands.windows(2).all(|w| w[1].start.s() >= w[0].end.s() - 1e-9), "one operator");
    let worked: Vec<usize> =
        hands.iter().filter_map(|e| if let Activity::Work(s) = e.activity { Some(s) } else { None }).collect();
    assert_eq!(worked, (0..job.sections.len()).collect::<Vec<_>>());
    for e in &hands {
        if let Activity::Work(s) = e.activity {
            assert_eq!(e.kind, job.sections[s].kind, "a pad stays with its product");
            assert_eq!((r.sections[s].kind, r.sections[s].pad), (e.kind, e.pad));
        }
    }
    let busy: f64 = hands.iter().map(|e| e.end.s() - e.start.s()).sum();
    let between = job.changeover.s() * (job.sections.len() - 1) as f64;
    assert!((busy + between - r.time.s()).abs() < 1e-6, "the clock counts what was done"); // sums in another order
}

fn two_kinds() -> RotationJob {
    let finishing = SectionWork {
        kind: 1,
        work: Energy::from_kj(4.5),
        nominal_removal: Volume::from_ml(0.15),
        product: Volume::from_ml(0.5),
        ..ordinary()
    };
    let mut kinds = vec![cutting(), PadKind::new("finishing", face())];
    kinds[1].limits.least_cut = 0.85;
    // Both steps on each section in turn, then the rest finished.
    let sections = (0..40).map(|i| if i % 2 == 0 && i < 30 { ordinary() } else { finishing }).collect();
    RotationJob { kinds, sections, air: c(22.0), changeover: Time::from_s(20.0) }
}

#[test]
fn the_pads_found_keep_to_every_limit_and_one_fewer_does_not() {
    for job in [job(cutting(), ordinary(), 50, 20.0), two_kinds()] {
        let found = rotate(&job, MOST_PADS).unwrap();
        let r = found.enough().unwrap();
        timeline_holds(&job, r);
        assert!(r.passed.is_empty());
        for s in &r.sections {
            let limits = job.kinds[s.kind].limits;
            assert!(s.peak_core <= limits.core && s.cut.pad() >= limits.least_cut, "{s:?}");
        }
        assert_eq!(run_rotation(&job, &r.pads).unwrap(), *r, "the same run, worked on");
        for k in 0..job.kinds.len() {
            let mut fewer = r.pads.clone();
            fewer[k] -= 1;
            if fewer[k] > 0 {
                assert!(!run_rotation(&job, &fewer).unwrap().passed.is_empty(), "{fewer:?}");
            }
        }
        let lives: f64 = r.life_used.iter().sum();
        assert!(lives > 0.0 && lives < 1.0, "{lives}");
    }
}

#[test]
fn the_search_agrees_with_trying_every_number() {
    let job = two_kinds();
    let found = rotate(&job, MOST_PADS).unwrap().enough().unwrap().pads.clone();
    let mut best: Option<(usize, usize)> = None;
    for a in 1..=8 {
        for b in 1..=8 {
            let holds = run_rotation(&job, &[a, b]).unwrap().passed.is_empty();
            if holds && best.is_none_or(|(x, y)| a + b < x + y) {
                best = Some((a, b));
            }
        }
    }
    assert_eq!(Some((found[0], found[1])), best);
    assert!(found[0] > 1 && found[1] > 1, "both kinds rotate: {found:?}");
    // The kinds count apart: each alone needs no more than with the other, which gives it time to rest.
    for (k, n) in found.iter().enumerate() {
        let alone =
            RotationJob { sections: job.sections.iter().copied().filter(|s| s.kind == k).collect(), ..job.clone() };
        let pads = rotate(&alone, MOST_PADS).unwrap().enough().unwrap().pads.clone();
        assert!(pads[k] >= *n && pads[1 - k] == 0, "{k}: {pads:?} {found:?}");
    }
}

#[test]
fn harder_work_needs_more_pads() {
    let count = |change: &dyn Fn(&mut RotationJob)| {
        let mut job = job(cutting(), ordinary(), 50, 20.0);
        change(&mut job);
        rotate(&job, MOST_PADS).unwrap().enough().map_or(99, |r| r.pads[0])
    };
    let usual = count(&|_| {});
    assert!(count(&|j| j.sections = vec![ordinary(); 90]) > usual, "more sections");
    assert!(count(&|j| j.kinds[0].policy.by = None) > usual, "no cleaning");
    assert!(count(&|j| j.kinds[0].policy.by = Some(Cleaning::brush())) >= usual, "a brush restores less");
    assert!(count(&|j| j.kinds[0].limits.least_cut = 0.85) > usual, "more cut asked");
    assert!(count(&|j| j.kinds[0].limits.least_cut = 0.5) < usual, "less cut asked");
    assert!(count(&|j| j.kinds[0].limits.core = c(52.0)) > usual, "a tighter core limit");
    // A wash that dries while the others take their turns brings pads back; a slower one, or none, does not.
    let quick = Cleaning { drying: Time::from_min(15.0), ..Cleaning::wash() };
    assert!(count(&|j| j.kinds[0].policy.wash = Some(quick)) < usual, "dry in time");
    assert_eq!(count(&|j| j.kinds[0].policy.wash = None), usual, "dry too late is as good as not washed");
}

#[test]
fn washed_pads_stay_out_until_dry_and_are_primed_again() {
    let mut job = job(cutting(), ordinary(), 50, 20.0);
    job.kinds[0].policy.wash = Some(Cleaning { drying: Time::from_min(15.0), ..Cleaning::wash() });
    let found = rotate(&job, MOST_PADS).unwrap();
    let r = found.enough().unwrap();
    timeline_holds(&job, r);
    let count = |a: &dyn Fn(&Activity) -> bool| r.schedule.iter().filter(|e| a(&e.activity)).count();
    let washed = count(&|a| *a == Activity::Clean(CleaningKind::Wash));
    assert!(washed > 0 && count(&|a| *a == Activity::Dry) == washed);
    // Each pad is primed when fresh; those that came back after a wash once more.
    assert!(count(&|a| *a == Activity::Prime) > r.pads[0], "primed again");
    for e in r.schedule.iter().filter(|e| e.activity == Activity::Dry) {
        assert!((e.end.s() - e.start.s() - 900.0).abs() < 1e-9); // rounding
    }
    let primed = 1e6 * r.product.m3() - 50.0 * 0.75;
    assert!((primed - count(&|a| *a == Activity::Prime) as f64).abs() < 1e-9, "1 ml a priming"); // rounding
}

#[test]
fn what_binds_is_told_when_no_number_suffices() {
    let short = |job: &RotationJob, most| match rotate(job, most).unwrap() {
        RotationOutcome::Short(s) => s,
        RotationOutcome::Enough(r) => panic!("{:?} suffice", r.pads),
    };
    let mut hot = job(cutting(), ordinary(), 20, 20.0);
    hot.kinds[0].heating = hot.kinds[0].heating.scaled(2.5);
    let s = short(&hot, MOST_PADS);
    // 20 + 2.5 · 27.7 K on the first section: a fresh pad fails.
    assert!(s.fresh_pad_fails && s.binds.limit == PadLimit::Core && s.binds.section == 0, "{s:?}");
    assert!((s.binds.value - (20.0 + 2.5 * 27.7)).abs() < 1.0 && (s.binds.allowed - 70.0).abs() < 1e-9); // 1 K: digits of 27.7
    let s = short(&job(cutting(), ordinary(), 50, 20.0), 2);
    assert!(!s.fresh_pad_fails && s.binds.limit == PadLimit::Cut && s.pads == vec![2], "{s:?}");
    let mut picky = job(cutting(), ordinary(), 5, 20.0);
    picky.kinds[0].limits.least_cut = 1.0;
    let s = short(&picky, MOST_PADS);
    assert!(s.fresh_pad_fails && s.binds.limit == PadLimit::Cut, "{s:?}");
    let mut brittle = job(cutting(), ordinary(), 50, 20.0);
    brittle.kinds[0].laws = PadLaws {
        abrasion: Some(AbrasionLaw { work_per_m2: Energy::from_kj(2000.0), cut_loss: 0.0 }),
        ..PadLaws::NONE
    };
    let s = short(&brittle, 3);
    assert!(!s.fresh_pad_fails && s.binds.limit == PadLimit::Life && s.binds.value >= 1.0, "{s:?}");
}

#[test]
fn bad_rotations_are_refused() {
    let good = job(cutting(), ordinary(), 3, 20.0);
    let bad = |change: &dyn Fn(&mut RotationJob)| {
        let mut job = good.clone();
        change(&mut job);
        rotate(&job, MOST_PADS).is_err()
    };
    assert!(bad(&|j| j.kinds.clear()) && bad(&|j| j.sections.clear()));
    assert!(bad(&|j| j.sections[1].kind = 1), "no such kind");
    assert!(bad(&|j| j.sections[1].time = Time::from_s(0.0)) && bad(&|j| j.air = c(f64::NAN)));
    assert!(bad(&|j| j.kinds[0].policy.turn = 0) && bad(&|j| j.kinds[0].limits.least_cut = 1.1));
    assert!(bad(&|j| j.kinds[0].heating.slow.working = Time::from_s(0.0)));
    assert!(bad(&|j| j.sections = vec![ordinary(); MOST_SECTIONS + 1]), "bounded");
    assert!(rotate(&good, 0).is_err() && rotate(&good, MOST_PADS + 1).is_err());
    assert!(run_rotation(&good, &[]).is_err() && run_rotation(&good, &[0]).is_err());
    assert!(run_rotation(&good, &[MOST_PADS + 1]).is_err());
}

fn season() -> Season {
    Season { vehicles_per_week: 5, weeks: 20, pad_price: 10.0, wash_cost: 0.2, hourly_rate: 30.0 }
}

fn rotating() -> PadStrategy {
    PadStrategy {
        pads: 5,
        lives_per_vehicle: 0.25,
        washes_per_vehicle: 5.0,
        handling_per_vehicle: Time::from_min(20.0),
        turnaround: Time::from_min(482.0),
    }
}

fn few() -> PadStrategy {
    PadStrategy {
        pads: 1,
        lives_per_vehicle: 2.0,
        washes_per_vehicle: 0.0,
        handling_per_vehicle: Time::from_min(2.0),
        turnaround: Time::from_s(0.0),
    }
}

#[test]
fn a_season_by_hand() {
    // 100 vehicles. Rotating: 100 · 0.25 = 25 pads (more than the 5 on hand) at 10 = 250; 500 washes at 0.2 = 100;
    // 100 · ⅓ h · 30 = 1000: 1350. Wearing out: 200 pads = 2000; no wash; 100 · 1/30 h · 30 = 100: 2100.
    let both = compare_season(&season(), &rotating(), &few()).unwrap();
    let (a, b) = (both.rotating, both.wearing_out);
    let near = |got: f64, expected: f64| (got - expected).abs() < 1e-9; // rounding
    assert!(near(a.pads, 25.0) && near(a.pad_cost, 250.0) && near(a.wash_cost, 100.0) && near(a.time_cost, 1000.0));
    assert!(near(a.total, 1350.0) && near(a.per_vehicle, 13.5) && near(a.pads_per_vehicle, 0.25));
    assert!(near(b.pads, 200.0) && near(b.total, 2100.0) && near(b.per_vehicle, 21.0));
    // Even where 25 p + 1100 = 200 p + 100: p = 1000/175.
    let even = both.even_price.unwrap();
    assert!(near(even, 1000.0 / 175.0));
    let at = |price: f64| compare_season(&Season { pad_price: price, ..season() }, &rotating(), &few()).unwrap();
    assert!(near(at(even).rotating.total, at(even).wearing_out.total));
    assert!(at(even * 1.1).rotating.total < at(even * 1.1).wearing_out.total, "dear pads: rotate");
    assert!(at(even * 0.9).rotating.total > at(even * 0.9).wearing_out.total, "cheap pads: wear them out");
    // Vehicles n: rotating max(5, ⌈n/4⌉)·10 + 11 n against 20 n + n. While 5 pads do (n ≤ 20): 50 + 11 n < 21 n from
    // n = 6 on; after that 2.5 n + 11 n is below 21 n throughout.
    assert_eq!(both.even_vehicles, Some(6));
    assert_eq!(at(even * 0.9).even_vehicles, None);
    // Pads that are back only after 2.5 vehicles: three sets of 5, 15 < 25 worn; with ten on hand, 30 > 25.
    let slow = PadStrategy { turnaround: Time::from_min(2.5 * 7.0 * 24.0 * 60.0 / 5.0), ..rotating() };
    assert!(near(season_cost(&season(), &slow).unwrap().pads, 25.0));
    assert!(near(season_cost(&season(), &PadStrategy { pads: 10, ..slow }).unwrap().pads, 30.0));
}

#[test]
fn season_cost_is_monotone() {
    let rises = |totals: &[f64]| totals.windows(2).all(|w| w[1] > w[0]);
    let total = |s: Season, p: PadStrategy| season_cost(&s, &p).unwrap().total;
    let (s, p) = (season(), rotating());
    assert!(rises(&[0.0, 1.0, 10.0, 100.0].map(|x| total(Season { pad_price: x, ..s }, p))));
    assert!(rises(&[0.0, 0.1, 1.0, 5.0].map(|x| total(Season { wash_cost: x, ..s }, p))));
    assert!(rises(&[0.0, 10.0, 60.0].map(|x| total(Season { hourly_rate: x, ..s }, p))));
    assert!(rises(&[1, 2, 5, 20].map(|x| total(Season { vehicles_per_week: x, ..s }, p))));
    assert!(rises(&[1, 2, 20, 52].map(|x| total(Season { weeks: x, ..s }, p))));
    assert!(rises(&[0.1, 0.5, 2.0].map(|x| total(s, PadStrategy { lives_per_vehicle: x, ..p }))));
    assert!(season_cost(&Season { pad_price: -1.0, ..s }, &p).is_err());
    assert!(season_cost(&Season { weeks: 0, ..s }, &p).is_err());
    assert!(season_cost(&s, &PadStrategy { lives_per_vehicle: f64::NAN, ..p }).is_err());
}

#[test]
fn rotation_and_season_fit_together() {
    let job = job(cutting(), ordinary(), 50, 20.0);
    let many = rotate(&job, MOST_PADS).unwrap();
    let many = many.enough().unwrap();
    // One pad for the whole vehicle, never cleaned, thrown away worn: no wash, no waiting.
    let mut worn = job.clone();
    worn.kinds[0].policy = CleaningPolicy { turn: 1000, by: None, wash: None };
    let one = run_rotation(&worn, &[1]).unwrap();
    assert!(one.passed.iter().any(|p| p.limit == PadLimit::Core), "it runs hot");
    // Each pad thrown away had used its life up, and the last one is still at work.
    let worn_out = f64::from(one.replaced[0]);
    assert!(worn_out >= 1.0 && one.life_used[0] >= worn_out && many.replaced == vec![0], "{:?}", one.replaced);
    timeline_holds(&worn, &one);
    let a = many.strategy(&job, 0).unwrap();
    let b = one.strategy(&worn, 0).unwrap();
    assert!(a.pads as usize == many.pads[0] && b.pads == 1 && b.washes_per_vehicle.abs() < 1e-15); // none
    assert!(b.lives_per_vehicle > 3.0 * a.lives_per_vehicle, "{a:?} {b:?}");
    assert!(a.handling_per_vehicle > b.handling_per_vehicle && many.strategy(&job, 1).is_none());
    let both = compare_season(&season(), &a, &b).unwrap();
    assert!(both.rotating.pads < both.wearing_out.pads, "{both:?}");
}

proptest! {
    #![proptest_config(config(64))]

    #[test]
    fn any_rotation_ends_and_its_timeline_holds(
        counts in (1usize..6, 1usize..6),
        turns in (1usize..5, 1usize..5),
        order in proptest::collection::vec(0usize..2, 1..60),
        work_kj in 0.5f64..8.0,
        drying_min in 0.0f64..60.0,
        how in (0usize..3, 0usize..2),
        least_cut in 0.5f64..0.95,
    ) {
        let by = [None, Some(Cleaning::brush()), Some(Cleaning::compressed_air())][how.0];
        let wash = [None, Some(Cleaning { drying: Time::from_min(drying_min), ..Cleaning::wash() })][how.1];
        let kind = |turn| PadKind {
            policy: CleaningPolicy { turn, by, wash },
            limits: PadLimits { least_cut, ..PadLimits::default() },
            ..cutting()
        };
        let sections = order
            .iter()
            .map(|k| SectionWork { kind: *k, work: Energy::from_kj(work_kj), ..ordinary() })
            .collect();
        let job = RotationJob {
            kinds: vec![kind(turns.0), kind(turns.1)],
            sections,
            air: c(20.0),
            changeover: Time::from_s(20.0),
        };
        let worked = run_rotation(&job, &[counts.0, counts.1]).unwrap();
        timeline_holds(&job, &worked);
        for s in &worked.sections {
            for f in [s.cut.wetted, s.cut.loading, s.cut.breakdown, s.cut.wear] {
                prop_assert!(f > 0.0 && f <= 1.0, "{s:?}");
            }
        }
        match rotate(&job, MOST_PADS).unwrap() {
            RotationOutcome::Enough(r) => {
                timeline_holds(&job, &r);
                prop_assert!(r.passed.is_empty());
            }
            RotationOutcome::Short(s) => prop_assert!(s.fresh_pad_fails || s.pads[s.binds.kind] == MOST_PADS),
        }
    }
}
