//! Paint budget: readings, film, map, policy and card against hand work, simulation and bad input.

use trochoid::Length;
use trochoid::budget::*;
use trochoid::equipment::Substrate;
use trochoid::math::distribution::{LogNormal, normal_quantile};
use trochoid::math::random::Seed;

fn um(v: f64) -> Length {
    Length::from_um(v)
}

fn steel(panel: &str, value_um: f64) -> GaugeReading {
    GaugeReading::new(panel, um(value_um), GaugeKind::Magnetic, um(1.0), Substrate::Steel).unwrap()
}

fn film(values_um: &[f64]) -> FilmSummary {
    let readings: Vec<_> = values_um.iter().map(|v| steel("bonnet", *v)).collect();
    film_summaries(&readings, &FilmSettings::default()).unwrap().remove(0)
}

#[test]
fn each_gauge_reads_only_what_it_can() {
    use GaugeKind::{Eddy, Magnetic, Ultrasonic};
    use Substrate::{Aluminium, Composite, Plastic, Steel};
    // ISO 2178 magnetic substrates; ISO 2360 non-magnetic conductors; ISO 2808 lists ultrasound.
    for (kind, reads) in [
        (Magnetic, [true, false, false, false]),
        (Eddy, [false, true, false, false]),
        (Ultrasonic, [true, true, true, true]),
    ] {
        for (substrate, ok) in [Steel, Aluminium, Plastic, Composite].into_iter().zip(reads) {
            let got = GaugeReading::new("wing", um(110.0), kind, um(1.0), substrate);
            assert_eq!(got.is_ok(), ok, "{kind:?} {substrate:?}");
            if let Err(e) = got {
                let text = e.to_string();
                assert!(text.contains(kind.word()) && text.contains(substrate_word(substrate)), "{text}");
            }
        }
    }
    assert!(steel("wing", 110.0).of(FilmPart::Clear).is_err(), "magnetic induction sees no layers");
    let layered = GaugeReading::new("wing", um(45.0), Ultrasonic, um(2.0), Plastic).unwrap();
    assert_eq!(layered.of(FilmPart::Clear).unwrap().part(), FilmPart::Clear);
    for bad in [-0.1, 5000.1, f64::NAN, f64::INFINITY] {
        assert!(GaugeReading::new("wing", um(bad), Magnetic, um(1.0), Steel).is_err(), "{bad}");
    }
    for bad in [0.0, -1.0, f64::NAN, 501.0] {
        assert!(GaugeReading::new("wing", um(100.0), Magnetic, um(bad), Steel).is_err(), "{bad}");
    }
    assert!(GaugeReading::new("  ", um(100.0), Magnetic, um(1.0), Steel).is_err());
    // JCGM 100:2008, 4.3.7: an even spread of half-width a has the standard uncertainty a/√3.
    assert!((standard_from_limit(um(3.0)).um() - 1.7320508).abs() < 5e-8, "half the last digit");
}

#[test]
fn a_table_is_read_as_written() {
    let text = "\u{feff}kind,panel,value_mil,uncertainty_um,substrate,layer,x_mm,y_mm\r\n\
                magnetic,\"bonnet, left\",4.0,1.5,steel,total,120,80.5\r\n\r\n\
                ultrasonic,bumper,1.75,2,plastic,clear,,\r\n";
    let r = read_gauge_table("film.csv", text).unwrap();
    assert_eq!(r.len(), 2);
    assert_eq!(r[0].panel(), "bonnet, left");
    // One mil is 25.4 µm.
    assert!((r[0].value().um() - 101.6).abs() < 1e-9, "rounding");
    assert_eq!(r[0].place_m(), Some((Length::from_mm(120.0).m(), Length::from_mm(80.5).m())));
    assert_eq!((r[1].part(), r[1].place_m()), (FilmPart::Clear, None));
}

#[test]
fn a_bad_table_is_refused_with_its_place() {
    const HEAD: &str = "panel,x_mm,y_mm,value_um,kind,uncertainty_um,substrate,layer\n";
    let good = "bonnet,1,2,118,magnetic,1,steel,total\n";
    for (line, column, value) in [
        ("bonnet,1,2,-3,magnetic,1,steel,total", "value_um", "-3"),
        ("bonnet,1,2,6000,magnetic,1,steel,total", "value_um", "6000"),
        ("bonnet,1,2,nan,magnetic,1,steel,total", "value_um", "nan"),
        ("bonnet,1,2,1e999,magnetic,1,steel,total", "value_um", "1e999"),
        ("bonnet,1,2,,magnetic,1,steel,total", "value_um", ""),
        ("bonnet,1,2,118,magnetic,0,steel,total", "uncertainty_um", "0"),
        ("bonnet,1,2,118,laser,1,steel,total", "kind", "laser"),
        ("bonnet,1,2,118,magnetic,1,plastic,total", "kind", "magnetic"),
        ("bonnet,1,2,118,magnetic,1,wood,total", "substrate", "wood"),
        ("bonnet,1,2,118,magnetic,1,steel,clear", "layer", "clear"),
        ("bonnet,1,2,118,magnetic,1,steel,lacquer", "layer", "lacquer"),
        ("bonnet,1,,118,magnetic,1,steel,total", "y_mm", ""),
        ("bonnet,99999999,2,118,magnetic,1,steel,total", "x_mm", "99999999"),
        (",1,2,118,magnetic,1,steel,total", "panel", ""),
        ("bonnet,1,2,118,5,magnetic,1,steel,total", "", "bonnet,1,2,118,5,magnetic,1,steel,total"),
        ("bonnet", "", "bonnet"),
        ("\"bonnet,1,2,118,magnetic,1,steel,total", "", "\"bonnet,1,2,118,magnetic,1,steel,total"),
        ("\"bon\"net,1,2,118,magnetic,1,steel,total", "", "\"bon\"net,1,2,118,magnetic,1,steel,total"),
    ] {
        let e = read_gauge_table("film.csv", &format!("{HEAD}{good}\n{line}\n")).unwrap_err();
        let BudgetError::Table(t) = e else { panic!("{line}: {e:?}") };
        assert_eq!((t.file.as_str(), t.line), ("film.csv", 4), "{line}");
        assert_eq!((t.column.as_str(), t.value.as_str()), (column, value), "{t}");
        assert!(!t.allowed.is_empty());
    }
    for head in [
        "panel,value_um,kind,uncertainty_um",
        "panel,value_um,value_mil,kind,uncertainty_um,substrate",
        "panel,value_um,kind,uncertainty_um,substrate,colour",
        "panel,panel,value_um,kind,uncertainty_um,substrate",
        "panel,value_mm,kind,uncertainty_um,substrate",
        "panel,x_mm,value_um,kind,uncertainty_um,substrate",
        "",
    ] {
        let e = read_gauge_table("film.csv", &format!("{head}\n")).unwrap_err();
        assert!(matches!(&e, BudgetError::Table(t) if t.line == 1), "{head}: {e}");
    }
    assert!(read_gauge_table("film.csv", HEAD).is_err(), "no reading");
    let long = format!("{HEAD}{}\n", "x".repeat(5000));
    assert!(read_gauge_table("film.csv", &long).is_err(), "a line without end");
    let many = format!("{HEAD}{}", good.repeat(MOST_LINES));
    assert!(read_gauge_table("film.csv", &many).is_err(), "more lines than allowed");
}

#[test]
fn film_interval_by_hand() {
    // 110, 118, 126: mean 118, squares 128; prior worth 2 readings of 8 µm: (128 + 128)/4 = 64, spread 8;
    // t(4, 95 %) = 2.132 (NIST/SEMATECH table); z = 1.645, u = 1.
    let f = film(&[110.0, 118.0, 126.0]);
    assert!((f.mean.best * 1e6 - 118.0).abs() < 1e-9, "rounding");
    let half = (2.132f64 * 8.0 / 3f64.sqrt()).hypot(1.645);
    // 5e-4 of t times 4.6 µm.
    assert!((f.mean.high * 1e6 - 118.0 - half).abs() < 3e-3, "{:?}", f.mean);
    let anywhere = (2.132f64 * 8.0 * (4.0f64 / 3.0).sqrt()).hypot(1.645);
    assert!((118.0 - f.anywhere.low * 1e6 - anywhere).abs() < 6e-3, "5e-4 of t times 9.2 µm: {:?}", f.anywhere);
    assert!((f.reading_sd_m.unwrap() * 1e6 - 8.0).abs() < 1e-9, "√(128/2)");
}

#[test]
fn one_reading_or_equal_ones_keep_a_wide_interval() {
    let one = film(&[118.0]);
    // t(2, 95 %) = 2.920 times 8 µm, and the gauge's 1.6 µm: 23.4 µm.
    assert!((one.mean.width() * 0.5e6 - 23.42).abs() < 0.01, "{:?}", one.mean);
    assert_eq!(one.reading_sd_m, None);
    let equal = film(&[118.0; 6]);
    assert!(equal.mean.width() > 2.0 * 1.645e-6, "never below the gauge: {:?}", equal.mean);
    assert!(equal.mean.width() < one.mean.width());
    let many = film(&[118.0; 400]);
    assert!(many.mean.width() > 2.0 * 1.644e-6, "400 equal readings do not beat the gauge's own uncertainty");
    let thin = film(&[4.0]);
    assert!(thin.mean.low >= 0.0 && thin.anywhere.low >= 0.0, "a film is not negative");
}

#[test]
fn film_intervals_hold_as_often_as_stated() {
    // Spreads about the prior's 8 µm and an offset of the gauge within its 1 µm.
    let seed = Seed::new(11);
    let (mut held, mut anywhere, runs) = (0, 0, 1000);
    for run in 0..runs {
        let spread = 8.0 * (0.5 * seed.normal(run, 0)).exp();
        let truth = 118.0 + seed.normal(run, 1);
        let values: Vec<f64> = (0..6).map(|i| truth + spread * seed.normal(run, 2 + i)).collect();
        let f = film(&values);
        // The reading's offset (1 µm, one standard deviation) is in `truth`; the film itself is at 118.
        held += u32::from(f.mean.holds(118e-6));
        anywhere += u32::from(f.anywhere.holds((118.0 + spread * seed.normal(run, 20)) * 1e-6));
    }
    // 90 % and four binomial standard errors of 0.95 %; wide is allowed by a point more, the prior's
    // chi-square being heavier than the log-normal drawn from.
    for (what, n) in [("mean", held), ("anywhere", anywhere)] {
        let share = f64::from(n) / f64::from(u32::try_from(runs).unwrap());
        assert!((0.862..0.948).contains(&share), "{what}: {share}");
    }
}

#[test]
fn readings_of_different_panels_substrates_and_layers_are_never_pooled() {
    let alu = GaugeReading::new("bonnet", um(95.0), GaugeKind::Eddy, um(1.0), Substrate::Aluminium).unwrap();
    let clear = GaugeReading::new("bonnet", um(44.0), GaugeKind::Ultrasonic, um(2.0), Substrate::Steel)
        .unwrap()
        .of(FilmPart::Clear)
        .unwrap();
    let readings = [steel("bonnet", 120.0), alu, steel("door", 100.0), clear, steel("bonnet", 122.0)];
    let films = film_summaries(&readings, &FilmSettings::default()).unwrap();
    let got: Vec<_> = films.iter().map(|f| (f.panel.as_str(), f.substrate, f.part, f.readings.clone())).collect();
    assert_eq!(
        got,
        [
            ("bonnet", Substrate::Steel, FilmPart::Total, vec![0, 4]),
            ("bonnet", Substrate::Aluminium, FilmPart::Total, vec![1]),
            ("door", Substrate::Steel, FilmPart::Total, vec![2]),
            ("bonnet", Substrate::Steel, FilmPart::Clear, vec![3]),
        ]
    );
    assert!(film_summaries(&[], &FilmSettings::default()).is_err());
    let wrong = FilmSettings { level: f64::NAN, ..FilmSettings::default() };
    assert!(film_summaries(&readings, &wrong).is_err());
    let crowd: Vec<_> = (0..1001).map(|i| steel(&format!("p{i}"), 100.0)).collect();
    assert!(film_summaries(&crowd, &FilmSettings::default()).is_err(), "a thousand films at most");
}

#[test]
fn odd_films_are_flagged_and_ordinary_ones_are_not() {
    let has = |f: &FilmSummary, want: fn(&FilmFlag) -> bool| f.flags.iter().any(want);
    let plain = film(&[112.0, 117.0, 120.0, 115.0, 123.0, 118.0, 114.0, 119.0, 121.0]);
    assert!(plain.flags.is_empty(), "{:?}", plain.flags);
    let odd = film(&[112.0, 117.0, 120.0, 115.0, 123.0, 118.0, 640.0]);
    assert!(has(&odd, |f| matches!(f, FilmFlag::Outlier { reading: 6, score } if *score > 3.5)), "{:?}", odd.flags);
    assert!(has(&odd, |f| matches!(f, FilmFlag::Filler { reading: 6 })));
    let thick = film(&[240.0, 250.0, 245.0]);
    assert!(has(&thick, |f| matches!(f, FilmFlag::Respray { .. })));
    assert!(has(&film(&[70.0, 75.0]), |f| matches!(f, FilmFlag::Thin { .. })));
    let half = film(&[110.0, 112.0, 114.0, 111.0, 113.0, 109.0, 190.0, 194.0, 192.0, 188.0, 195.0, 191.0]);
    assert!(has(
        &half,
        |f| matches!(f, FilmFlag::TwoFilms { low_m, high_m, .. } if *low_m < 115e-6 && *high_m > 187e-6)
    ));
    // Equal readings: a median deviation of zero does not make the next step of the display an outlier.
    assert!(film(&[118.0, 118.0, 118.0, 118.0, 118.0, 119.0]).flags.is_empty());
    let mut vehicle: Vec<_> =
        ["bonnet", "roof", "door", "wing"].iter().flat_map(|p| [114.0, 118.0, 121.0].map(|v| steel(p, v))).collect();
    vehicle.extend([152.0, 155.0, 150.0].map(|v| steel("tailgate", v)));
    let films = film_summaries(&vehicle, &FilmSettings::default()).unwrap();
    for f in &films {
        let apart = has(f, |f| matches!(f, FilmFlag::ApartFromVehicle { .. }));
        assert_eq!(apart, f.panel == "tailgate", "{}: {:?}", f.panel, f.flags);
    }
    assert!(films.iter().flat_map(|f| &f.flags).all(|f| !f.words().is_empty()));
}

#[test]
fn two_films_are_found_and_one_is_not_called_two() {
    let seed = Seed::new(5);
    let rate = |make: &dyn Fn(u64, u64) -> f64| {
        let called = (0..300_u64)
            .filter(|run| {
                let values: Vec<f64> = (0..20).map(|i| make(*run, i)).collect();
                two_films(&values).unwrap().p_value <= 0.05
            })
            .count();
        f64::from(u32::try_from(called).unwrap()) / 300.0
    };
    // An even spread is the null itself: 5 % and four binomial standard errors of 1.26 %.
    let even = rate(&|run, i| seed.uniform(run, i));
    assert!((0.0..0.10).contains(&even), "{even}");
    // One normal film is called two more seldom than that.
    let one = rate(&|run, i| 118.0 + 6.0 * seed.normal(1000 + run, i));
    assert!(one <= 0.06, "{one}");
    // Two films ten of their own standard deviations apart are always seen.
    let two = rate(&|run, i| if i < 8 { 110.0 } else { 150.0 } + 4.0 * seed.normal(2000 + run, i));
    assert!(two > 0.99, "{two}");
    assert_eq!(two_films(&[1.0; 20]), None, "equal readings");
    assert_eq!(two_films(&[1.0, 2.0, 3.0]), None, "too few");
}

/// Inverse of a 4 x 4 matrix by cofactors, written out: nothing shared with the library.
#[allow(clippy::needless_range_loop)] // indices are the matter here
fn inverse(m: [[f64; 4]; 4]) -> [[f64; 4]; 4] {
    let minor = |r: usize, c: usize| {
        let rows: Vec<usize> = (0..4).filter(|i| *i != r).collect();
        let cols: Vec<usize> = (0..4).filter(|j| *j != c).collect();
        let a = |i: usize, j: usize| m[rows[i]][cols[j]];
        a(0, 0) * (a(1, 1) * a(2, 2) - a(1, 2) * a(2, 1)) - a(0, 1) * (a(1, 0) * a(2, 2) - a(1, 2) * a(2, 0))
            + a(0, 2) * (a(1, 0) * a(2, 1) - a(1, 1) * a(2, 0))
    };
    let sign = |r: usize, c: usize| if (r + c).is_multiple_of(2) { 1.0 } else { -1.0 };
    let det: f64 = (0..4).map(|c| m[0][c] * sign(0, c) * minor(0, c)).sum();
    let mut out = [[0.0; 4]; 4];
    for r in 0..4 {
        for c in 0..4 {
            out[c][r] = sign(r, c) * minor(r, c) / det;
        }
    }
    out
}

#[test]
fn kriging_solves_the_three_point_case() {
    let sites = [((0.0, 0.0), 110.0, 1.0), ((0.3, 0.0), 122.0, 4.0), ((0.0, 0.4), 104.0, 2.0)]
        .map(|(at, v, var)| Site { at, value: v * 1e-6, noise: var * 1e-12 });
    for shape in [CovarianceShape::Exponential, CovarianceShape::Gaussian] {
        let c = Covariance::new(shape, Length::from_m(0.25), um(9.0)).unwrap();
        let k = Kriging::new(&sites, c).unwrap();
        for at in [(0.1, 0.1), (0.0, 0.0), (0.3, 0.4), (2.0, -1.0)] {
            // In µm², so that the numbers are near one; the covariance is written out once more.
            let cov = |d: f64| {
                let s = d / 0.25;
                81.0 * if shape == CovarianceShape::Exponential { (-s).exp() } else { (-s * s).exp() }
            };
            let d = |a: (f64, f64), b: (f64, f64)| ((a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)).sqrt();
            let mut m = [[1.0; 4]; 4];
            m[3][3] = 0.0;
            for i in 0..3 {
                for j in 0..3 {
                    m[i][j] = cov(d(sites[i].at, sites[j].at)) + if i == j { sites[i].noise * 1e12 } else { 0.0 };
                }
            }
            let inv = inverse(m);
            let right = [cov(d(sites[0].at, at)), cov(d(sites[1].at, at)), cov(d(sites[2].at, at)), 1.0];
            let w: Vec<f64> = (0..4).map(|i| (0..4).map(|j| inv[i][j] * right[j]).sum()).collect();
            let film: f64 = (0..3).map(|i| w[i] * sites[i].value * 1e6).sum();
            let variance = 81.0 - (0..3).map(|i| w[i] * right[i]).sum::<f64>() - w[3];
            let got = k.at(at.0, at.1);
            // Cofactors of numbers of size 100 lose some four digits.
            assert!((got.film_m * 1e6 - film).abs() < 1e-9 * film, "{at:?}: {} {film}", got.film_m * 1e6);
            assert!((got.variance_m2 * 1e12 - variance).abs() < 1e-8 * 81.0, "{at:?}: {} {variance}", got.variance_m2);
            assert!((w[0] + w[1] + w[2] - 1.0).abs() < 1e-10, "weights add up");
        }
        // Far away: the mean and more than the whole sill.
        let far = k.at(50.0, 50.0);
        assert!((far.film_m - k.mean()).abs() < 1e-12 && far.variance_m2 > 81e-12);
    }
}

/// A smooth film drawn from the exponential covariance at `places` by its own Cholesky factor.
fn drawn_film(places: &[(f64, f64)], range: f64, spread_um: f64, stream: u64) -> Vec<f64> {
    let n = places.len();
    let seed = Seed::new(77);
    let mut l = vec![vec![0.0_f64; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let d = (places[i].0 - places[j].0).hypot(places[i].1 - places[j].1);
            let c = spread_um * spread_um * ((-d / range).exp() + if i == j { 1e-9 } else { 0.0 });
            let s: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            l[i][j] = if i == j { (c - s).sqrt() } else { (c - s) / l[j][j] };
        }
    }
    (0..n).map(|i| 118.0 + (0..=i).map(|k| l[i][k] * seed.normal(stream, k as u64)).sum::<f64>()).collect()
}

#[test]
fn kriging_intervals_hold_as_often_as_stated() {
    let seed = Seed::new(3);
    let (mut held, mut all) = (0, 0);
    for run in 0..40_u64 {
        // 30 readings and 25 places between them, on a panel of 1 m x 0.8 m.
        let places: Vec<(f64, f64)> =
            (0..55).map(|i| (seed.uniform(run, 2 * i), 0.8 * seed.uniform(run, 2 * i + 1))).collect();
        let truth = drawn_film(&places, 0.3, 8.0, run);
        let sites: Vec<Site> = (0..30)
            .map(|i| Site { at: places[i], value: (truth[i] + seed.normal(500 + run, i as u64)) * 1e-6, noise: 1e-12 })
            .collect();
        let fitted = fit_covariance(&sites, CovarianceShape::Exponential).unwrap();
        let k = Kriging::new(&sites, fitted.covariance).unwrap();
        for (place, t) in places[30..].iter().zip(&truth[30..]) {
            let e = k.at(place.0, place.1);
            held += u32::from((e.film_m * 1e6 - t).abs() < 1.645 * e.variance_m2.sqrt() * 1e6);
            all += 1;
        }
    }
    // 1000 places in 40 films that hang together: standard error about 1.5 %, three of them; fitted
    // range and spread are plugged in, which costs a point or two.
    let share = f64::from(held) / f64::from(all);
    assert!((0.84..0.95).contains(&share), "{share}");
}

#[test]
fn a_film_map_follows_the_film_and_knows_where_it_does_not() {
    let reading = |x: f64, y: f64, v: f64| steel("roof", v).at(Length::from_m(x), Length::from_m(y)).unwrap();
    let mut readings = vec![steel("roof", 121.0), steel("door", 99.0)];
    for i in 0..6 {
        for j in 0..6 {
            let (x, y) = (0.1 * f64::from(i), 0.1 * f64::from(j));
            readings.push(reading(x, y, (110.0 + 30.0 * x).round()));
        }
    }
    let films = film_summaries(&readings, &FilmSettings::default()).unwrap();
    let settings = FilmMapSettings {
        from: (0.0, 0.0),
        to: (1.5, 0.5),
        points: (16, 6),
        level: 0.9,
        shape: CovarianceShape::Gaussian,
    };
    let map = film_map(&readings, &films[0], &settings).unwrap();
    assert_eq!((map.readings_used, map.readings_without_place), (36, 1));
    assert_eq!(map.places[17], (0.1, 0.1), "row by row from the lower corner");
    // A steady rise, read to 1 µm: the map follows within its own noise inside, and says so.
    let inside = &map.film[16 * 2 + 2];
    assert!((inside.best * 1e6 - 116.0).abs() < 1.0, "the reading's rounding: {inside:?}");
    let outside = &map.film[16 * 2 + 15];
    assert!(outside.width() > 2.0 * inside.width(), "{outside:?} {inside:?}");
    assert!(map.film.iter().all(|f| f.width() >= 2.0 * 1.644e-6), "never below the gauge's own");
    assert!(map.places[map.thinnest()].0 < 0.2, "thin where it is thin");
    let again = trochoid::math::reduce::with_threads(3, || film_map(&readings, &films[0], &settings).unwrap());
    assert_eq!(map, again, "the same bits on another number of threads");
    assert!(matches!(film_map(&readings, &films[1], &settings), Err(BudgetError::TooFew { .. })));
    for points in [(1, 5), (2000, 2000)] {
        assert!(film_map(&readings, &films[0], &FilmMapSettings { points, ..settings }).is_err());
    }
    for to in [(0.0, 0.5), (f64::NAN, 0.5), (1e9, 0.5)] {
        assert!(film_map(&readings, &films[0], &FilmMapSettings { to, ..settings }).is_err());
    }
    // Every reading at one place is no reason to fail.
    let heap: Vec<_> = (0..5).map(|i| reading(0.2, 0.2, 118.0 + f64::from(i))).collect();
    let one = film_summaries(&heap, &FilmSettings::default()).unwrap();
    let flat = film_map(&heap, &one[0], &settings).unwrap();
    assert!(flat.film.iter().all(|f| f.best.is_finite() && f.width() > 0.0));
}

#[test]
fn a_policy_is_the_smallest_of_its_limits() {
    let p = Policy::new(0.25, Some(um(8.0)), Some(um(30.0))).unwrap();
    for (clear, allowed, binding) in [
        (60.0, 8.0, Binding::Cap),
        (36.0, 6.0, Binding::Floor),
        (30.0, 0.0, Binding::Floor),
        (10.0, 0.0, Binding::Floor),
        (-5.0, 0.0, Binding::Floor),
    ] {
        let (got, by) = p.allows(clear * 1e-6);
        assert!((got * 1e6 - allowed).abs() < 1e-9, "rounding: {clear}");
        assert_eq!(by, binding, "{clear}");
    }
    for removal in [0.5e-6, 3e-6, 7.9e-6] {
        assert!((p.allows(p.needs(removal)).0 - removal).abs() < 1e-18, "needs undoes allows: rounding");
    }
    assert!(p.needs(9e-6).is_infinite());
    for bad in [(-0.1, 8.0), (1.1, 8.0), (f64::NAN, 8.0), (0.25, -1.0)] {
        assert!(Policy::new(bad.0, Some(um(bad.1)), None).is_err(), "{bad:?}");
    }
}

#[test]
fn a_share_of_the_total_is_propagated_and_cautioned() {
    let f = film(&[116.0, 120.0, 118.0, 122.0, 114.0]);
    let clear = ClearCoat::of_film(&f, ClearShare::default(), FilmBasis::Anywhere).unwrap();
    assert!((clear.mean_m() - 0.375 * f.mean.best).abs() < 1e-15, "rounding");
    // Product of independents: the simulation gives the same spread.
    let seed = Seed::new(2);
    let n = 200_000;
    let (mut m1, mut m2) = (0.0, 0.0);
    for i in 0..n {
        let total = f.mean.best + f.anywhere_sd_m * seed.normal(0, i);
        let v = total * (ClearShare::default().mean() + ClearShare::default().sd() * seed.normal(1, i));
        m1 += v / n as f64;
        m2 += v * v / n as f64;
    }
    let sd = (m2 - m1 * m1).sqrt();
    // Standard error of a standard deviation of 200 000: 0.16 %, four of them.
    assert!((clear.sd_m() / sd - 1.0).abs() < 0.0064, "{} {sd}", clear.sd_m());
    let a = Policy::default().allowance(&clear, 0.9).unwrap();
    assert_eq!(a.cautions, [CAUTION, SHARE_CAUTION]);
    assert!(!a.spent && a.allowed.high <= 8e-6 && a.allowed.low < a.allowed.best, "{a:?}");
    // Range of the share: nine times in ten between a quarter and a half.
    let share = ClearShare::between(0.25, 0.5).unwrap();
    assert!((share.sd() - ClearShare::default().sd()).abs() < 1e-4, "1.645 has four digits");
    assert!(ClearShare::between(0.5, 0.4).is_err());
    // A clear coat read by itself is not divided again.
    let layer = GaugeReading::new("bonnet", um(44.0), GaugeKind::Ultrasonic, um(2.0), Substrate::Steel)
        .unwrap()
        .of(FilmPart::Clear)
        .unwrap();
    let f = film_summaries(&[layer], &FilmSettings::default()).unwrap().remove(0);
    let clear = ClearCoat::of_film(&f, ClearShare::default(), FilmBasis::Mean).unwrap();
    assert!((clear.mean_m() - 44e-6).abs() < 1e-15 && clear.source() == ClearSource::Measured);
    assert_eq!(Policy::default().allowance(&clear, 0.9).unwrap().cautions, [CAUTION]);
}

#[test]
fn a_spent_budget_is_a_result() {
    let clear = ClearCoat::stated(um(28.0), um(2.0)).unwrap();
    let policy = Policy::new(0.25, None, Some(um(30.0))).unwrap();
    let a = policy.allowance(&clear, 0.9).unwrap();
    assert!(a.spent && a.allowed.best <= 0.0 && a.binding == Binding::Floor && !a.cautions.is_empty());
    // Φ(1) = 0.84134 (normal table).
    assert!((a.spent_probability - 0.84134).abs() < 5.1e-6, "half the last digit");
    let cut = LogNormal::new(2e-6, 0.3).unwrap();
    let left = corrections_left(&cut, &clear, &policy, 0.9).unwrap();
    assert!(left.spent() && left.low == 0, "{left:?}");
    assert!(left.words().contains("spent"), "{}", left.words());
}

#[test]
fn jobs_left_are_counted_by_hand_where_nothing_is_uncertain() {
    // 8 µm allowed, 1.9 µm a job: four fit, five do not.
    let clear = ClearCoat::stated(um(45.0), um(0.0)).unwrap();
    let cut = LogNormal::new(1.9e-6, 0.0).unwrap();
    let left = corrections_left(&cut, &clear, &Policy::default(), 0.9).unwrap();
    assert_eq!((left.low, left.best, left.high), (4, 4, 4));
    // A cut known to a factor: the ends are 8 over the cut's own quantiles.
    let cut = LogNormal::new(1.9e-6, 0.4).unwrap();
    let left = corrections_left(&cut, &clear, &Policy::default(), 0.9).unwrap();
    let at = |p: f64| (8.0 / (1.9 * (0.4 * normal_quantile(p)).exp())).floor();
    assert_eq!((f64::from(left.low), f64::from(left.best), f64::from(left.high)), (at(0.95), 4.0, at(0.05)));
    let tiny = LogNormal::new(1e-12, 0.1).unwrap();
    assert_eq!(corrections_left(&tiny, &clear, &Policy::default(), 0.9).unwrap().best, MOST_CORRECTIONS);
}

#[test]
fn exceedance_agrees_with_simulation() {
    let policies = [
        Policy::default(),
        Policy::new(0.25, Some(um(8.0)), Some(um(30.0))).unwrap(),
        Policy::new(0.33, None, Some(um(35.0))).unwrap(),
    ];
    let seed = Seed::new(42);
    let n = 200_000_u64;
    for (c, (mean, sd)) in [(45.0, 9.0), (32.0, 6.0), (60.0, 25.0), (10.0, 12.0)].into_iter().enumerate() {
        for (p, policy) in policies.iter().enumerate() {
            for (k, (median, ln_sd)) in [(3.0, 0.5), (7.0, 0.05), (8.0, 0.0), (1.0, 1.5)].into_iter().enumerate() {
                let clear = ClearCoat::stated(um(mean), um(sd)).unwrap();
                let cut = LogNormal::new(median * 1e-6, ln_sd).unwrap();
                let got = exceedance(&cut, &clear, policy);
                let stream = (c * 100 + p * 10 + k) as u64;
                let over = (0..n)
                    .filter(|i| {
                        let film = (mean + sd * seed.normal(stream, 2 * i)) * 1e-6;
                        let taken = median * 1e-6 * (ln_sd * seed.normal(stream, 2 * i + 1)).exp();
                        taken > policy.allows(film).0
                    })
                    .count();
                let share = over as f64 / n as f64;
                // Four binomial standard errors, and one draw.
                let error = 4.0 * (share * (1.0 - share) / n as f64).sqrt() + 1.0 / n as f64;
                assert!((got.probability - share).abs() < error, "{c} {p} {k}: {got:?} {share}");
                assert!(got.error < 1e-9, "half the nodes agree: {got:?}");
            }
        }
    }
}

fn at_hand() -> Vec<Combination> {
    [
        ("wool", "coarse", 4e-11, 60.0, 6.0),
        ("foam soft", "fine", 1e-11, 40.0, 1.0),
        ("foam firm", "medium", 2e-11, 50.0, 2.5),
    ]
    .map(|(pad, product, k, w, cut)| Combination {
        pad: pad.to_owned(),
        product: product.to_owned(),
        preston_per_pa: k,
        sliding_power_w: w,
        predicted_cut: Some(um(cut)),
    })
    .into()
}

#[test]
fn a_card_orders_its_trials_and_decides() {
    use SwirlsLeft::{Few, Half, Most, None as Clean};
    let card = SpotCard::new(&at_hand(), Severity::Moderate, 4, None).unwrap();
    let order: Vec<_> = card.trials.iter().map(|t| t.combination).collect();
    assert_eq!(order, [1, 2, 0], "mildest first: 1, 2.5, 6 µm");
    assert!((card.trials[2].strength - 6.0).abs() < 1e-12, "6/1");
    // A small pad that cuts less a second, but deeper, is the stronger trial.
    let mut small = at_hand();
    small[1].predicted_cut = Some(um(4.0));
    let card_small = SpotCard::new(&small, Severity::Moderate, 4, None).unwrap();
    assert_eq!(card_small.trials.iter().map(|t| t.combination).collect::<Vec<_>>(), [2, 1, 0]);
    // Where one cut is not known, all go by volume a second: 0.4, 1.0, 2.4 mm³/s x 1e-9.
    small[0].predicted_cut = None;
    let card_unknown = SpotCard::new(&small, Severity::Moderate, 4, None).unwrap();
    assert_eq!(card_unknown.trials.iter().map(|t| t.combination).collect::<Vec<_>>(), [1, 2, 0]);
    assert!((card_unknown.trials[1].strength - 2.5).abs() < 1e-12, "1.0/0.4");
    let heavy = SpotCard::new(&at_hand(), Severity::Heavy, 4, None).unwrap();
    assert_eq!(heavy.trials.iter().map(|t| t.combination).collect::<Vec<_>>(), [0, 2, 1]);
    assert_ne!(card.order_reason, heavy.order_reason);
    for (of, trial, left, haze, verdict, next) in [
        (&card, 0, Clean, false, Verdict::Good, None),
        (&card, 0, Most, false, Verdict::Stronger, Some(1)),
        (&card, 1, Half, true, Verdict::Stronger, Some(2)),
        (&card, 2, Half, false, Verdict::NotCorrectable, None),
        (&card, 2, Clean, true, Verdict::Refine, Some(1)),
        (&card, 0, Few, true, Verdict::Refine, None),
        (&card, 1, Few, false, Verdict::Good, Some(2)),
        (&heavy, 0, Clean, false, Verdict::Milder, Some(1)),
        (&heavy, 2, Clean, false, Verdict::Good, None),
        (&heavy, 0, Most, false, Verdict::NotCorrectable, None),
    ] {
        let d = of.decide(trial, left, haze);
        assert_eq!((d.verdict, d.next), (verdict, next), "{trial} {left:?} {haze}");
    }
    // A trial hardly stronger than the one before is no step up: from 1 and 1.05 µm the next is 6.
    let mut alike = at_hand();
    (alike[1].predicted_cut, alike[2].predicted_cut) = (Some(um(1.0)), Some(um(1.05)));
    let flat = SpotCard::new(&alike, Severity::Moderate, 4, None).unwrap();
    assert!(flat.trials[1].reason.contains("hardly stronger") && !flat.trials[2].reason.contains("hardly"));
    assert_eq!(flat.decide(0, Most, false).next, Some(2));
    // What would take more than is allowed is never proposed.
    let tight = SpotCard::new(&at_hand(), Severity::Moderate, 4, Some(um(3.0))).unwrap();
    assert!(tight.trials[2].over_budget);
    assert_eq!(tight.decide(1, Most, false).verdict, Verdict::NotCorrectable);
    let spent = SpotCard::new(&at_hand(), Severity::Moderate, 4, Some(um(0.0))).unwrap();
    assert!(spent.cautions[0].contains("spent"));

    assert!(SpotCard::new(&[], Severity::Light, 4, None).is_err());
    assert!(SpotCard::new(&at_hand(), Severity::Light, 0, None).is_err());
    let mut bad = at_hand();
    bad[0].sliding_power_w = f64::NAN;
    assert!(SpotCard::new(&bad, Severity::Light, 4, None).is_err());
}

#[test]
fn a_card_reads_well_in_both_styles() {
    let mut hand = at_hand();
    hand[1].pad = "soft | *foam*\nround".to_owned();
    let card = SpotCard::new(&hand, Severity::Moderate, 4, Some(um(5.0))).unwrap();
    let plain = card.lines(CardStyle::Plain);
    let markdown = card.lines(CardStyle::Markdown);
    for lines in [&plain, &markdown] {
        assert!(lines.iter().all(|l| !l.contains('\n')), "one line each");
        let text = lines.join("\n");
        for word in
            ["Tape off", "Prime", "Wipe with panel wipe", "inspection light", "both sides", "4 passes", "leave out"]
        {
            assert!(text.contains(word), "{word}");
        }
        for verdict in [Verdict::Good, Verdict::Stronger, Verdict::Refine, Verdict::NotCorrectable] {
            assert!(text.contains(verdict.words()), "{verdict:?}");
        }
    }
    // One table for all trials: four answers, with and without haze, split only where the advice differs.
    let rows = plain.iter().filter(|l| l.starts_with("  none left") || l.starts_with("  most left")).count();
    assert!((4..=8).contains(&rows), "{rows}: {}", plain.join("\n"));
    // A name with a bar in it does not make another column.
    let row = markdown.iter().find(|l| l.contains("soft")).unwrap();
    assert!(row.contains("soft \\| \\*foam\\* round"), "{row}");
    assert!(markdown[0].starts_with("# ") && plain[0] == "TEST SPOT");
    if std::env::var_os("TROCHOID_SHOW").is_some() {
        println!("{}\n\n{}", plain.join("\n"), markdown.join("\n"));
    }
}
