//! Published numbers, and numbers computed from published formulas. The source stands beside each.

use crate::support::{free_tool, linear_pad, setup, sphere};
use trochoid::AngularRate;
use trochoid::contact::{ContactSettings, Hold, solve};
use trochoid::math::elliptic::mean_speed;
use trochoid::motion::{Face, face_mean_speed, panel_point_speed};
use trochoid::panel::Patch;
use trochoid::spin::{face_orbit, friction_sums, spin_state};

/// Farkas, Bartels, Unger and Wolf, Phys. Rev. Lett. 90, 248302 (2003); Leine and Glocker (2003):
/// ε, force in μN, torque in μNR.
const SLIDING_DISC: [(f64, f64, f64); 4] = [
    (0.1, 0.0998748433, 0.6616760547),
    (0.5, 0.4838437556, 0.5477483548),
    (5.0, 0.9949746819, 0.0501685736),
    (10.0, 0.9987484326, 0.0250208922),
];

#[test]
fn sliding_spinning_disc() {
    // An even pressure looks the same in every phase of the orbit, so each phase is the steady disc of
    // the source at v = eΩ, however long the orbit; e 9 mm, R 70 mm, N 1.
    let pad = linear_pad(140.0, 1e6);
    let c = solve(&pad, &Patch::flat(), 9e-3, &Hold::Flat, 1.0, &ContactSettings::default()).unwrap();
    let rate = 500.0;
    let mut table = SLIDING_DISC.to_vec();
    table.push((1.0, 8.0 / (3.0 * core::f64::consts::PI), 8.0 / (9.0 * core::f64::consts::PI)));
    table.push((2.0, 0.9676875113, 0.1278091983));
    for (eps, force, torque) in table {
        let spin = 9e-3 * rate / (eps * 0.07);
        let s = friction_sums(&c.load, rate, spin);
        // Half the last digit printed is 5e-11; the split at the point of no sliding leaves about 1e-7.
        assert!((s.forward_n - force).abs() < 2e-7, "force at {eps}: {} {force}", s.forward_n);
        assert!((s.moment_nm / 0.07 - torque).abs() < 2e-7, "torque at {eps}: {} {torque}", s.moment_nm / 0.07);
        let mean = face_mean_speed(&Face::new(&pad, 9e-3), rate, spin);
        // Ten printed digits are good to 1e-10; the rest is room for the quadrature of the mean at its
        // point of no sliding.
        assert!((mean / (spin * 0.07 * (eps * force + torque)) - 1.0).abs() < 1e-8, "mean speed at {eps}");
    }
}

#[test]
fn spin_on_the_flat() {
    // Computed from the disc formulas above: e 9 mm, 4500 orbits/min, R 70 mm, N 45 N, μ 0.4.
    for (drag, rpm) in [(0.05, 91.644), (0.1, 182.126), (0.2, 354.820), (0.5, 734.975)] {
        let s = setup(free_tool(18.0, 4500.0, drag, 0.0), linear_pad(140.0, 1e6), 0.4, 45.0, Patch::flat());
        let state = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
        let got = AngularRate::from_rad_s(state.spin).rpm();
        // Half the last printed digit.
        assert!((got - rpm).abs() < 5e-4, "{drag}: {got} {rpm}");
    }
}

#[test]
fn throw_at_the_face() {
    // The project's own formula; pad 130 mm across, G 15 kPa.
    for (throw, force, mu, thick, expected) in
        [(12.0, 35.0, 0.35, 25.0, 5.7995), (8.0, 35.0, 0.5, 25.0, 3.3424), (12.0, 60.0, 0.6, 30.0, 2.5642)]
    {
        let ks = 15e3 * core::f64::consts::PI * 0.065 * 0.065 / (thick * 1e-3);
        let e = face_orbit(throw * 0.5e-3, mu * force, ks);
        // Half the last printed digit.
        assert!((e.radius_m * 1e3 - expected).abs() < 5e-5, "{} {expected}", e.radius_m * 1e3);
    }
}

#[test]
fn mean_of_a_rotating_sum() {
    // (2/π)(a+b)E(m).
    for (a, b, expected) in [
        (1.0, 0.1, 1.0025015664),
        (1.0, 0.5, 1.0635444100),
        (1.0, 1.0, 4.0 / core::f64::consts::PI),
        (1.0, 2.0, 2.1270888199),
        (3.0, 4.0, 4.5859190175),
    ] {
        assert!((mean_speed(a, b) - expected).abs() < 5e-11, "half the last digit");
    }
}

#[test]
fn share_of_the_orbit_covered_and_panel_speed() {
    // Computed: R 70, e 9 mm.
    let face = Face::new(&linear_pad(140.0, 1e6), 9e-3);
    for (mm, share) in [(65.0, 0.66950132), (70.0, 0.47952310), (75.0, 0.29634453)] {
        assert!((face.occupancy(mm * 1e-3) - share).abs() < 5e-9, "half the last digit");
    }
    let (rate, spin) = (AngularRate::from_opm(4200.0).rad_s(), AngularRate::from_rpm(250.0).rad_s());
    for (mm, speed) in [
        (0.0, 3.722787),
        (30.0, 3.764328),
        (61.0, 3.896120),
        (66.0, 2.974802),
        (70.0, 2.449909),
        (75.0, 1.630840),
        (78.0, 0.817125),
    ] {
        let got = panel_point_speed(&face, rate, spin, mm * 1e-3, 24);
        assert!((got - speed).abs() < 5e-7, "half the last digit: {mm} {got} {speed}");
    }
    // Area integral, equal in both frames.
    let area = core::f64::consts::PI * 0.07 * 0.07;
    assert!((face_mean_speed(&face, rate, spin) * area - 0.06258270532).abs() < 5e-12, "half the last digit");
}

#[test]
fn winkler_on_a_paraboloid() {
    // Computed: k 1e6 Pa/m, sphere radius 1 m, 40 N (pad larger than the contact). Every tolerance is
    // half the last printed digit.
    let c = solve(&linear_pad(300.0, 1e6), &sphere(1.0), 0.0, &Hold::Flat, 40.0, &ContactSettings::default()).unwrap();
    assert!((c.heave_m * 1e3 - 3.568248).abs() < 5e-7, "half the last digit: {}", c.heave_m);
    let radius = 0.15 * c.contact_share.sqrt();
    assert!((radius * 1e3 - 84.47779).abs() < 5e-6, "half the last digit: {radius}");
    // k 1.41e6, 8 N, curvatures (1, 1)/m.
    let c =
        solve(&linear_pad(300.0, 1.41e6), &sphere(1.0), 0.0, &Hold::Flat, 8.0, &ContactSettings::default()).unwrap();
    assert!((c.heave_m * 1e3 - 1.343880).abs() < 5e-7, "half the last digit");
    assert!((c.peak_pressure_pa - 1894.871).abs() < 5e-4, "half the last digit");
    assert!((0.15 * c.contact_share.sqrt() * 1e3 - 51.843612).abs() < 5e-7, "half the last digit");
}

#[test]
fn free_disc_comes_to_rest() {
    // Farkas et al. (2003): a free uniform disc stops sliding and spinning together, at ε₀ where
    // v̇/v = ω̇/ω, that is F = 2 ε T.
    let c =
        solve(&linear_pad(140.0, 1e6), &Patch::flat(), 9e-3, &Hold::Flat, 1.0, &ContactSettings::default().doubled())
            .unwrap();
    let miss = |eps: f64| {
        let s = friction_sums(&c.load, 500.0, 9e-3 * 500.0 / (eps * 0.07));
        s.forward_n - 2.0 * eps * s.moment_nm / 0.07
    };
    let root = trochoid::math::root::bracketed(miss, (0.4, miss(0.4)), (0.9, miss(0.9)), 1e-12).unwrap();
    // The sums at the point of no sliding are good to about 1e-8.
    assert!((root.x - 0.653001789).abs() < 1e-7, "{}", root.x);
}

#[test]
fn half_space_and_foam() {
    // Hertz: E* 1e5 Pa, R 10 mm, 1 N; half the last digit each.
    let h = trochoid::contact::hertz(1e5, 10e-3, 1.0);
    assert!((h.radius_m * 1e3 - 4.217163).abs() < 5e-7 && (h.approach_m * 1e3 - 1.778447).abs() < 5e-7);
    assert!((h.peak_pa - 26847.30).abs() < 5e-3);
    // Gibson and Ashby (1997): relative density 0.03, E_s 45 MPa; constants stated in their book.
    let f = trochoid::equipment::OpenCellFoam::new(0.03, trochoid::Pressure::from_mpa(45.0)).unwrap();
    assert!((f.modulus().kpa() - 40.5).abs() < 1e-9, "rounding");
    assert!((f.plateau().kpa() - 2.025).abs() < 1e-9, "rounding");
    assert!((f.densification_strain() - 0.958).abs() < 1e-12, "rounding");
    // ASTM D3574: support factor = IFD65/IFD25, here 8.0/3.0 of the measured points.
    let stress: Vec<_> = [3.0, 3.8, 5.0, 8.0].iter().map(|p| trochoid::Pressure::from_kpa(*p)).collect();
    let law = trochoid::CompressionLaw::measured(&[0.25, 0.4, 0.5, 0.65], &stress).unwrap();
    assert!((law.support_factor().unwrap() - 8.0 / 3.0).abs() < 1e-12, "rounding");
    // The line pass of Lin (2014) integrates to 2π/3 over −1..1: twice π/3 over half of it.
    let half: f64 =
        trochoid::math::quadrature::integrate(1e-12, 1.0, 100, trochoid::math::quadrature::Ends::Both, |s| {
            let root = (1.0 - s * s).sqrt();
            root + s * s * ((1.0 + root) / s).ln()
        });
    assert!((2.0 * half - 2.0 * core::f64::consts::PI / 3.0).abs() < 1e-6, "crowded nodes at both ends: {half}");
}

#[test]
fn full_contact_threshold_at_zero_orbit() {
    // N ≥ πkR⁴/(4ρ): k 1e6, R 70 mm: 18.86 N at 1 m, 37.71 N at 0.5 m.
    for (radius, newtons) in [(1.0, 18.86), (0.5, 37.71)] {
        let share = |n: f64| {
            solve(&linear_pad(140.0, 1e6), &sphere(1.0 / radius), 0.0, &Hold::Flat, n, &ContactSettings::default())
                .unwrap()
                .contact_share
        };
        // Half the last digit on either side of the printed threshold. 1e-9 is rounding of the area
        // sum; 5 mN too little lift a rim of 1e-4 of the area, and 1e-7 tells that from rounding.
        assert!(share(newtons + 0.005) > 1.0 - 1e-9 && share(newtons - 0.005) < 1.0 - 1e-7, "{radius}");
    }
}
