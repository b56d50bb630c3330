//! Wear: moist air, the film against its own equation stepped through, pads against hand-worked
//! numbers, and the orders that hold whatever the constants.

use crate::random::config;
use proptest::prelude::*;
use trochoid::units::{Area, Energy, Length, Power, Speed, Temperature, Time, Volume};
use trochoid::wear::*;

pub(crate) fn c(t: f64) -> Temperature {
    Temperature::from_c(t)
}

pub(crate) fn air(t: f64, humidity: f64) -> MoistAir {
    MoistAir::new(c(t), humidity).unwrap()
}

pub(crate) fn exposure(t: f64, humidity: f64, surface: f64) -> Exposure {
    Exposure::new(air(t, humidity), c(surface), Speed::from_m_s(0.2), Length::from_mm(450.0)).unwrap()
}

/// Section of 450 x 450 mm and face of 130 mm across.
pub(crate) fn section_area() -> Area {
    Area::from_m2(0.45 * 0.45)
}

pub(crate) fn face() -> Area {
    Area::from_m2(core::f64::consts::PI * 0.065 * 0.065)
}

/// 32 W of friction for three minutes, 2 µm off the section, three drops.
pub(crate) fn ordinary() -> SectionWork {
    SectionWork {
        kind: 0,
        work: Energy::from_kj(5.8),
        time: Time::from_min(3.0),
        nominal_removal: Volume::from_ml(0.405),
        product: Volume::from_ml(0.75),
        solids_share: 0.4,
    }
}

pub(crate) fn cutting() -> PadKind {
    PadKind::new("cutting", face())
}

pub(crate) fn falls(values: &[f64]) -> bool {
    values.windows(2).all(|w| w[1] < w[0])
}

#[test]
fn moist_air_refuses_what_it_does_not_cover() {
    for t in [-0.1, 374.0, f64::NAN, -273.15, f64::INFINITY] {
        assert!(saturation_pressure(c(t)).is_err(), "{t}");
    }
    for t in [-45.1, 60.1, -300.0] {
        assert!(saturation_pressure_magnus(c(t)).is_err(), "{t}");
    }
    assert!(MoistAir::new(Temperature::from_k(0.0), 0.5).is_err(), "absolute zero");
    for humidity in [1.01, 50.0, -0.01, f64::NAN] {
        let e = MoistAir::new(c(20.0), humidity).unwrap_err();
        assert_eq!((e.what, e.allowed.as_str()), ("ambient.relative_humidity", "0 to 1"));
    }
    assert!(air(20.0, 0.0).dew_point().is_err(), "dry air has none");
    assert!(air(20.0, 1e-4).dew_point().is_err(), "below the Magnus range");
    // Saturated air is at its dew point; 1e-9: rounding of the inversion.
    assert!((air(17.0, 1.0).dew_point().unwrap().c() - 17.0).abs() < 1e-9);
    // Frosty air works too, and the two forms meet at 0 °C within 2.2e-5 of the pressure there.
    let below = air(-1e-9, 1.0).vapour_pressure().unwrap().pa();
    assert!((below / air(0.0, 1.0).vapour_pressure().unwrap().pa() - 1.0).abs() < 2.2e-5);
}

#[test]
fn saturation_pressure_at_the_ends_of_its_range() {
    // IAPWS SR1-86 (1992), from memory: triple point, normal boiling point, critical point. Half the last digit;
    // at the boiling point that of the temperature, 0.00005 K x 3.6 kPa/K.
    for (k, pa, off) in [(273.16, 611.657, 5e-4), (373.1243, 101_325.0, 0.2), (647.096, 22.064e6, 0.5)] {
        let got = saturation_pressure(Temperature::from_k(k)).unwrap().pa();
        assert!((got - pa).abs() < off, "{k} K: {got}");
    }
}

#[test]
fn compressed_air_cools_and_a_brush_only_gives_a_pause() {
    let next_start = |how: Cleaning| {
        let treatment = PadTreatment { sections: 2, cleaning: Some((1, how)), rest: Time::from_s(0.0) };
        // Without loading, the second section differs by warmth alone.
        let kind = PadKind { laws: PadLaws::NONE, ..cutting() };
        run_pad(&kind, &ordinary(), c(20.0), &treatment).unwrap()[1].peak_core.c()
    };
    let air = Cleaning::compressed_air();
    assert!(next_start(air) < next_start(Cleaning { cooled_share: 0.0, ..air }) - 1.0, "by more than a kelvin");
    assert!(next_start(air) < next_start(Cleaning::brush()));
    // The body's mode by hand: 48.33 K (1 − e^−0.3) = 12.527, 20 s of rest, a third gone, three minutes more; the
    // face's mode likewise. Friction power 5800/180 W.
    let power: f64 = 5800.0 / 180.0;
    let mode = |rise: f64, work: f64, rest: f64| {
        let end = rise * power;
        let first = end * (1.0 - (-180.0 / work).exp());
        end + (0.65 * first * (-20.0 / rest).exp() - end) * (-180.0 / work).exp()
    };
    let by_hand = 20.0 + mode(0.5, 60.0, 60.0) + mode(1.5, 600.0, 900.0);
    assert!((next_start(air) - by_hand).abs() < 1e-9, "{by_hand}"); // rounding
}

#[test]
fn vapour_pressure_deficits_keep_their_order() {
    // 30 °C/30 % > 20/50 > 20/80: order from the ranges of the trade's weather.
    let d = [(30.0, 0.3), (20.0, 0.5), (20.0, 0.8)].map(|(t, h)| air(t, h).deficit().unwrap().pa());
    assert!(falls(&d), "{d:?}");
    assert!(air(30.0, 0.9).deficit_over(c(10.0)).unwrap().pa() < 0.0, "condenses");
}

#[test]
fn evaporation_agrees_with_the_wet_bulb() {
    // WMO-No. 8, annex 4.B: ventilated psychrometer, e = e_s(t_w) − 6.53e-4 (1 + 9.44e-4 t_w) p (t − t_w),
    // from memory. At the wet bulb the heat from the air, h (t − t_w), pays for the evaporation, L ṁ.
    let wet = exposure(20.0, 0.5, 13.7);
    let constant = wet.heat_transfer_w_m2k() * air(20.0, 0.5).deficit_over(c(13.7)).unwrap().pa()
        / (2.469e6 * wet.free_water_rate().unwrap() * 101_325.0);
    let measured = 6.53e-4 * (1.0 + 9.44e-4 * 13.7);
    // Below the measured one, by up to 12 %: Le^(2/3) takes 9 % off, and a real bulb also takes up radiation.
    let ratio = constant / measured;
    assert!(ratio < 1.0 && ratio > 0.88, "{constant} {measured}");
}

#[test]
fn heat_transfer_rises_with_air_speed_and_difference() {
    let h = |v: f64, d: f64| air_heat_transfer(Speed::from_m_s(v), Length::from_m(0.5), d).unwrap();
    assert!(falls(&[20.0, 10.0, 3.0, 1.0, 0.2, 0.0].map(|v| h(v, 10.0))));
    assert!(falls(&[60.0, 30.0, 10.0, 1.0].map(|d| h(0.2, d))));
    // A colder panel draws the air down as a hotter one draws it up; 1e-15: the same arithmetic.
    assert!((h(0.2, -10.0) - h(0.2, 10.0)).abs() < 1e-15);
    // Both laws of forced flow meet at the transition within the 2 % that the textbook's constants leave.
    let at = |re: f64| h(re * 15.89e-6 / 0.5, 0.0);
    assert!((at(5.0001e5) / at(4.9999e5) - 1.0).abs() < 0.02);
    assert!(air_heat_transfer(Speed::from_m_s(-0.1), Length::from_m(0.5), 0.0).is_err());
    assert!(air_heat_transfer(Speed::from_m_s(0.1), Length::from_m(0.0), 0.0).is_err());
}

#[test]
fn drier_air_and_hotter_panels_shorten_the_working_time() {
    let film = ProductFilm::from_drops(FilmProduct::default(), 3, section_area()).unwrap();
    let t = |e: Exposure| film.working_time(&e).unwrap().map_or(f64::INFINITY, Time::s);
    assert!(falls(&[0.9, 0.7, 0.5, 0.3, 0.1].map(|h| t(exposure(20.0, h, 28.0)))), "drier");
    assert!(falls(&[20.0, 25.0, 30.0, 40.0, 55.0].map(|s| t(exposure(20.0, 0.5, s)))), "hotter");
    let fan = |v: f64| Exposure::new(air(20.0, 0.5), c(28.0), Speed::from_m_s(v), Length::from_mm(450.0)).unwrap();
    assert!(falls(&[0.0, 0.5, 2.0, 5.0].map(|v| t(fan(v)))), "more wind");
    let with = |drops| ProductFilm::from_drops(FilmProduct::default(), drops, section_area()).unwrap();
    let one = with(1).working_time(&exposure(20.0, 0.5, 30.0)).unwrap().unwrap().s();
    let four = with(4).working_time(&exposure(20.0, 0.5, 30.0)).unwrap().unwrap().s();
    // 1e-12: four times the volume, by rounding.
    assert!((four / one - 4.0).abs() < 1e-12);
    // Air that would condense on a cold panel dries nothing.
    let cold = exposure(30.0, 0.9, 15.0);
    assert_eq!(film.working_time(&cold).unwrap(), None);
    assert!(film.gone_after(&cold, Time::from_min(60.0)).unwrap().abs() < 1e-15); // nothing evaporated
}

#[test]
fn the_film_agrees_with_its_equation_stepped_through() {
    for n in [0.0, 0.5, 1.0, 1.5, 3.0] {
        let product = FilmProduct { falling_rate: n, ..FilmProduct::default() };
        let film = ProductFilm::from_drops(product, 3, section_area()).unwrap();
        let warm = exposure(20.0, 0.5, 30.0);
        let t = film.working_time(&warm).unwrap().unwrap().s();
        // The slow obvious way: dg/dt = r ṁ/m (1 − g)^n in midpoint steps.
        let rate = product.relative_evaporation * warm.free_water_rate().unwrap() / film.volatile_kg_m2();
        let steps = 20_000;
        let dt = t / f64::from(steps);
        let mut gone = 0.0_f64;
        for _ in 0..steps {
            let half = gone + 0.5 * dt * rate * (1.0 - gone).powf(n);
            gone += dt * rate * (1.0 - half).powf(n);
        }
        // 1e-6: midpoint steps of second order, 20 000 of them, with the steep end of n = 3.
        assert!((gone - product.dry_share).abs() < 1e-6, "n {n}: {gone}");
        assert!((film.gone_after(&warm, Time::from_s(t)).unwrap() - gone).abs() < 1e-6, "n {n}"); // the same
    }
    // A film of constant rate is gone at a finite time and stays gone.
    let film = ProductFilm::from_drops(FilmProduct::default(), 1, section_area()).unwrap();
    let all = film.gone_after(&exposure(20.0, 0.3, 50.0), Time::from_min(60.0)).unwrap();
    assert!((all - 1.0).abs() < 1e-15); // exactly one
}

#[test]
fn dry_out_inside_a_pass_is_told_where() {
    let product = FilmProduct { friction_rise: Some(FrictionRise::default()), ..FilmProduct::default() };
    let film = ProductFilm::from_drops(product, 2, section_area()).unwrap();
    let (cool, hot) = (exposure(20.0, 0.5, 25.0), exposure(20.0, 0.5, 40.0));
    let pass = |e| PassExposure { time: Time::from_s(60.0), exposure: e };
    let course = film.course(&[pass(cool), pass(cool), pass(hot), pass(hot)]).unwrap();
    let dry = course.dry_out.unwrap();
    // By hand: the share that the two cool passes take, then the rest at the hot rate.
    let per_s = |e: &Exposure| 0.8 / film.working_time(e).unwrap().unwrap().s();
    let by_hand = 120.0 + (0.8 - 120.0 * per_s(&cool)) / per_s(&hot);
    assert!((dry.after.s() - by_hand).abs() < 1e-9, "{dry:?} {by_hand}"); // rounding
    assert!(dry.pass == 2 && dry.share_of_pass > 0.0 && dry.share_of_pass < 1.0, "{dry:?}");
    assert!(course.friction_factor.windows(2).all(|w| w[1] >= w[0]), "friction rises");
    // Half as much friction again once all has gone.
    assert!((film.friction_factor(1.0) - 1.5).abs() < 1e-15 && (film.friction_factor(0.0) - 1.0).abs() < 1e-15);
    let plain = ProductFilm::from_drops(FilmProduct::default(), 2, section_area()).unwrap();
    assert!(plain.course(&[pass(hot)]).unwrap().friction_factor.iter().all(|f| (f - 1.0).abs() < 1e-15)); // off
    let ample = ProductFilm::from_drops(product, 8, section_area()).unwrap();
    assert_eq!(ample.course(&[pass(cool), pass(cool)]).unwrap().dry_out, None);
    assert!(film.course(&[]).is_err());
    assert!(ProductFilm::from_drops(product, 0, section_area()).is_err());
    assert!(ProductFilm::new(FilmProduct { volatile_share: 1.2, ..product }, Volume::from_ml(1.0), face()).is_err());
}

#[test]
fn drops_follow_the_weather() {
    let need = |e: Exposure| drops_needed(FilmProduct::default(), section_area(), Time::from_min(3.0), &e).unwrap();
    // 2-4 drops a section, more in dry air: common practice, no source.
    let usual = need(exposure(20.0, 0.5, 30.0));
    assert!((2..=4).contains(&usual.drops) && !usual.cover_binds, "{usual:?}");
    let dry = need(exposure(32.0, 0.2, 42.0));
    assert!(dry.drops > 4, "{dry:?}");
    let damp = need(exposure(15.0, 0.8, 18.0));
    assert!(damp.cover_binds && damp.drops <= 2, "{damp:?}");
    // The drops found last the time asked for, one fewer does not.
    let lasts = |n| {
        let film = ProductFilm::from_drops(FilmProduct::default(), n, section_area()).unwrap();
        film.working_time(&exposure(32.0, 0.2, 42.0)).unwrap().unwrap().s() >= 180.0
    };
    assert!(lasts(dry.drops) && !lasts(dry.drops - 1));
    let long = drops_needed(FilmProduct::default(), section_area(), Time::from_min(120.0), &exposure(40.0, 0.0, 140.0));
    assert!(long.is_err(), "more than anybody lays down");
}

#[test]
fn a_section_by_hand() {
    // Face 0.01 m². Primed with 2 ln 10 strokes at n_0 = 2: a tenth dry. Section of 2 ln 10 strokes: mean dry
    // share 0.1·0.9/ln 10.
    let laws = PadLaws {
        priming: Some(PrimingLaw { strokes: 2.0, section_strokes: 2.0 * 10f64.ln() }),
        loading: Some(LoadingLaw {
            retained_share: 0.5,
            deep_share: 0.25,
            half_loading: Length::from_um(100.0),
            most: Length::from_mm(100.0),
            heat_rise: 0.3,
            wear_rise: 0.0,
        }),
        breakdown: None,
        overheating: Some(OverheatingLaw::default()),
        abrasion: Some(AbrasionLaw { work_per_m2: Energy::from_kj(10_000.0), cut_loss: 0.3 }),
    };
    let mut pad = PadState::fresh(Area::from_m2(0.01)).unwrap();
    assert!(pad.prime(&laws, 2.0 * 10f64.ln()).unwrap());
    assert!((pad.wetted() - 0.9).abs() < 1e-12); // rounding
    let load = SectionLoad {
        work: Energy::from_kj(5.0),
        nominal_removal: Volume::from_ml(0.0),
        product: Volume::from_ml(1.0),
        solids_share: 0.4,
        peak_core: c(60.0),
        time: Time::from_s(100.0),
    };
    let done = pad.advance(&laws, &load).unwrap();
    assert!((done.cut.wetted - (1.0 - 0.09 / 10f64.ln())).abs() < 1e-12); // rounding
    // Residue 0.5 · 0.4 ml on 0.01 m² = 20 µm: λ goes from 0 to 0.2, mean of 1/(1 + λ) = ln 1.2/0.2. 1e-3 of it:
    // the full face is 100 mm away.
    assert!((pad.residue().um() - 20.0).abs() < 0.01 && (pad.deep_residue().um() - 5.0).abs() < 0.005);
    assert!((done.cut.loading - 1.2f64.ln() / 0.2).abs() < 1e-3);
    assert!((pad.heat_factor(&laws) - 1.06).abs() < 1e-3); // 1 + 0.3 · 0.2, as above
    // 5 kJ of 10 MJ/m² on 0.01 m²: a twentieth of a life, none by heat below the limit.
    assert!((pad.life_used() - 0.05).abs() < 1e-12 && pad.life_used_by_heat().abs() < 1e-15); // rounding
    assert!((pad.cut_factor(&laws).wear - (-0.015f64).exp()).abs() < 1e-12); // rounding
    let now = pad.cut_factor(&laws);
    assert!((now.pad() - now.wetted / 1.2 * (-0.015f64).exp()).abs() < 1e-3); // as the residue above
    assert!((now.pad() - now.wetted * now.loading * now.wear).abs() < 1e-15 && now.wear < 0.99); // the same product
    assert!(!pad.prime(&laws, 8.0).unwrap(), "priming is for fresh and washed pads");
    pad.clean(&Cleaning::brush()).unwrap();
    assert!((pad.residue().um() - 12.5).abs() < 0.01); // half of 15, and 5 deep
    pad.clean(&Cleaning::wash()).unwrap();
    assert!(pad.residue().um().abs() < 1e-12 && pad.wants_priming() && pad.wetted().abs() < 1e-15); // nothing left
    assert!(pad.prime(&laws, 8.0).unwrap());
    // Bad loads leave the pad as it is.
    let before = pad;
    for bad in [
        SectionLoad { solids_share: 1.5, ..load },
        SectionLoad { peak_core: c(f64::NAN), ..load },
        SectionLoad { work: Energy::from_j(-1.0), ..load },
    ] {
        assert!(pad.advance(&laws, &bad).is_err());
    }
    assert_eq!(pad, before);
}

#[test]
fn overheating_by_hand() {
    // 70 °C limit, 80 kJ/mol, two hours: at 80 °C exp(80000/8.314462618 · (1/343.15 − 1/353.15)) − 1 = 1.2127.
    let law = OverheatingLaw::default();
    let expected = ((80_000.0 / 8.314462618 * (1.0 / 343.15 - 1.0 / 353.15f64)).exp() - 1.0) / 7200.0;
    assert!((law.rate(c(80.0)) / expected - 1.0).abs() < 1e-12); // rounding
    assert!((expected * 7200.0 - 1.2127).abs() < 1e-3); // the digits above
    assert!(law.rate(c(70.0)).abs() < 1e-15 && law.rate(c(20.0)).abs() < 1e-15); // none up to the limit
    assert!(falls(&[120.0, 100.0, 80.0, 70.1].map(|t| law.rate(c(t)))));
}

#[test]
fn the_charge_breaks_down_over_its_life() {
    let laws = PadLaws { breakdown: Some(BreakdownLaw::default()), ..PadLaws::NONE };
    let mut pad = PadState::fresh(face()).unwrap();
    assert!(pad.cut_factor(&laws).breakdown.abs() < 1e-15, "no product, no cut");
    let mut load = SectionLoad {
        work: Energy::from_kj(5.0),
        nominal_removal: Volume::from_ml(0.4),
        product: Volume::from_ml(0.5),
        solids_share: 0.4,
        peak_core: c(40.0),
        time: Time::from_min(3.0),
    };
    // w/w_0 = 10 kJ/ml over 10 kJ/ml = 1: mean 0.4 + 0.6 (1 − 1/e).
    let first = pad.advance(&laws, &load).unwrap().cut.total();
    assert!((first - (0.4 + 0.6 * (1.0 - (-1f64).exp()))).abs() < 1e-12); // rounding
    load.product = Volume::from_ml(0.0);
    let worked_on: Vec<f64> = (0..6).map(|_| pad.advance(&laws, &load).unwrap().cut.total()).collect();
    assert!(first > worked_on[0] && falls(&worked_on) && worked_on[5] > 0.4, "{worked_on:?}");
    load.product = Volume::from_ml(0.5);
    assert!((pad.advance(&laws, &load).unwrap().cut.total() - first).abs() < 1e-12, "fresh product"); // rounding
}

#[test]
fn each_law_can_be_switched_off() {
    let hot = PadTreatment { sections: 10, cleaning: None, rest: Time::from_s(0.0) };
    let last = |laws| {
        let kind = PadKind { laws, ..cutting() };
        *run_pad(&kind, &ordinary(), c(30.0), &hot).unwrap().last().unwrap()
    };
    let off = last(PadLaws::NONE);
    assert!((off.outcome.cut.total() - 1.0).abs() < 1e-15 && off.life_used.abs() < 1e-15); // nothing acts
    let on = PadLaws::default();
    let one = |laws: PadLaws| last(laws).outcome.cut;
    assert!(one(PadLaws { loading: on.loading, ..PadLaws::NONE }).loading < 0.8);
    assert!(one(PadLaws { breakdown: on.breakdown, ..PadLaws::NONE }).breakdown < 0.9);
    assert!(one(PadLaws { abrasion: on.abrasion, ..PadLaws::NONE }).wear < 1.0);
    assert!(last(PadLaws { overheating: on.overheating, ..PadLaws::NONE }).life_used > 0.0);
    let mut dry = PadState::fresh(face()).unwrap();
    let load = SectionLoad {
        work: Energy::from_kj(5.8),
        nominal_removal: Volume::from_ml(0.4),
        product: Volume::from_ml(0.75),
        solids_share: 0.4,
        peak_core: c(40.0),
        time: Time::from_min(3.0),
    };
    let unprimed = dry.advance(&PadLaws { priming: on.priming, ..PadLaws::NONE }, &load).unwrap();
    assert!(unprimed.cut.wetted < 0.8, "an unprimed pad cuts less at first");
}

#[test]
fn more_cleaning_cuts_more_and_runs_cooler() {
    // Every section beats every third beats every sixth, in cut and temperature: common practice, no source.
    for cleaning in [Cleaning::brush(), Cleaning::compressed_air()] {
        let run = |every: usize| {
            let treatment = PadTreatment { sections: 18, cleaning: Some((every, cleaning)), rest: Time::from_s(0.0) };
            run_pad(&cutting(), &ordinary(), c(20.0), &treatment).unwrap()
        };
        let runs = [1, 3, 6].map(run);
        let removed = [0, 1, 2].map(|i| runs[i].iter().map(|s| s.outcome.removed.mm3()).sum::<f64>());
        assert!(falls(&removed), "{:?}: {removed:?}", cleaning.kind);
        let peak = [2, 1, 0].map(|i: usize| runs[i].iter().map(|s| s.peak_core.c()).fold(0.0, f64::max));
        assert!(falls(&peak), "{:?}: {peak:?}", cleaning.kind);
    }
    // Compressed air restores more than a brush, a wash more than either.
    let residue = [Cleaning::brush(), Cleaning::compressed_air(), Cleaning::wash()].map(|how| {
        let treatment = PadTreatment { sections: 6, cleaning: Some((2, how)), rest: Time::from_s(0.0) };
        let cut = run_pad(&cutting(), &ordinary(), c(20.0), &treatment).unwrap();
        -cut.last().unwrap().outcome.cut.loading
    });
    assert!(falls(&residue), "{residue:?}");
}

#[test]
fn a_pad_without_rest_or_cleaning_loses_its_life_several_times_faster() {
    // Common practice, no source; "several times" read as three or more.
    let sections = 60;
    let abused =
        run_pad(&cutting(), &ordinary(), c(20.0), &PadTreatment { sections, cleaning: None, rest: Time::from_s(0.0) })
            .unwrap();
    let rotated = run_pad(
        &cutting(),
        &ordinary(),
        c(20.0),
        &PadTreatment {
            sections,
            cleaning: Some((2, Cleaning::compressed_air())),
            rest: Time::from_min(12.0), // four others take their turns
        },
    )
    .unwrap();
    let lives = (abused[sections - 1].life_used, rotated[sections - 1].life_used);
    assert!(lives.0 > 3.0 * lives.1, "{lives:?}");
    // Counted in sections until the life is used up, the rotated pad's at the rate it has kept so far.
    let until = abused.iter().position(|s| s.life_used >= 1.0).unwrap() + 1;
    assert!((until as f64) < sections as f64 / lives.1 / 3.0, "{until}");
    // It fails by heat, at its centre.
    assert!(abused[sections - 1].peak_core > c(70.0) && rotated.iter().all(|s| s.peak_core < c(70.0)));
}

#[test]
fn the_two_modes_agree_with_small_steps() {
    let heating = PadHeating::default();
    // A pad that starts with a hot face over a cold body, where the highest core is neither start nor end.
    let from = PadWarmth { fast_k: 0.0, slow_k: 40.0 };
    let (power, time) = (Power::from_w(20.0), Time::from_s(400.0));
    let mut warm = from;
    let mut peak = warm.excess_k();
    let steps = 100_000;
    let dt = time.s() / f64::from(steps);
    for _ in 0..steps {
        warm.fast_k += dt * (0.5 * power.w() - warm.fast_k) / 60.0;
        warm.slow_k += dt * (1.5 * power.w() - warm.slow_k) / 600.0;
        peak = peak.max(warm.excess_k());
    }
    let end = heating.work(from, power, time);
    // 1e-3 K: Euler steps of 4 ms.
    assert!((end.excess_k() - warm.excess_k()).abs() < 1e-3);
    let got = heating.peak_k(from, power, time);
    assert!((got - peak).abs() < 1e-3 && got > end.excess_k() + 0.1 && got > from.excess_k(), "{got} {peak}");
    let long: Vec<f64> = (1..8).map(|n| -heating.after_sections(n, Power::from_w(32.0), Time::from_min(3.0))).collect();
    assert!(falls(&long), "hotter section by section");
    let rested = heating.rest(end, Time::from_min(180.0)).excess_k();
    assert!(rested < 1e-3, "cold again: {rested}");
}

proptest! {
    #![proptest_config(config(64))]

    #[test]
    fn more_load_never_helps_a_pad(
        work_kj in 0.0f64..20.0,
        removal_ml in 0.0f64..2.0,
        product_ml in 0.1f64..5.0,
        core_c in 20.0f64..100.0,
        more in 1.0f64..3.0,
    ) {
        let laws = PadLaws::default();
        let run = |load: SectionLoad| {
            let mut pad = PadState::fresh(face()).unwrap();
            pad.prime(&laws, 8.0).unwrap();
            for _ in 0..3 {
                pad.advance(&laws, &load).unwrap();
            }
            pad
        };
        let load = SectionLoad {
            work: Energy::from_kj(work_kj),
            nominal_removal: Volume::from_ml(removal_ml),
            product: Volume::from_ml(product_ml),
            solids_share: 0.4,
            peak_core: c(core_c),
            time: Time::from_min(3.0),
        };
        let base = run(load);
        // 1 − 1e-12: the same arithmetic in another order.
        let least = base.life_used() * (1.0 - 1e-12);
        let hotter = run(SectionLoad { peak_core: c(core_c * more), ..load });
        prop_assert!(hotter.life_used() >= least);
        let longer = run(SectionLoad { time: Time::from_min(3.0 * more), ..load });
        prop_assert!(longer.life_used() >= least);
        // Removal and product clog; more work would break the charge down and so remove less.
        let clogged = run(SectionLoad { nominal_removal: Volume::from_ml(removal_ml * more), ..load });
        prop_assert!(clogged.residue().m() >= base.residue().m() * (1.0 - 1e-12));
        let clogged = run(SectionLoad { product: Volume::from_ml(product_ml * more), ..load });
        prop_assert!(clogged.residue().m() >= base.residue().m() * (1.0 - 1e-12));
        prop_assert!(base.residue().um() <= 750.0, "a full face holds no more");
        for how in [Cleaning::brush(), Cleaning::compressed_air(), Cleaning::wash()] {
            let mut pad = base;
            pad.clean(&how).unwrap();
            prop_assert!(pad.residue() <= base.residue() && pad.life_used() >= least);
        }
    }
}
