//! The project's own closed forms, held against the numeric solution. They are derived in
//! `notebooks-free-docs/theory-spin.md` and `notebooks-free-docs/theory-contact.md`, most of them for
//! the linear law; the tests say where each stops being true.

use crate::support::{cylinder, field, fine, free_tool, linear_pad, power_pad, quadric, rel, setup, sphere};
use core::f64::consts::PI;
use trochoid::contact::{Contact, ContactSettings, Hold, Load, solve};
use trochoid::equipment::Pad;
use trochoid::panel::Patch;
use trochoid::spin::{Setup, StallSettings, closed_form, face_orbit, friction_sums, spin_state, stall_limits};
use trochoid::{AngularRate, Length};

const R: f64 = 0.07;
const K: f64 = 1e6;
const E: f64 = 9e-3;
/// 4500 orbits a minute.
const RATE: f64 = 471.238_898_038_469;

fn square(pad: &Pad, patch: &Patch, orbit: f64, force: f64, settings: &ContactSettings) -> Contact {
    solve(pad, patch, orbit, &Hold::Flat, force, settings).unwrap()
}

/// Friction torque with coefficient 1.
fn torque(c: &Contact, spin: f64) -> f64 {
    -friction_sums(&c.load, RATE, spin).moment_nm
}

#[test]
fn curvature_torque_in_full_contact() {
    // theory-spin.md, "the torque of curvature": M_κ = μ k e H π (R⁴ − r_h⁴)/4 at zero spin.
    let holed = linear_pad(140.0, K).with_hole(Length::from_mm(40.0)).unwrap();
    let radius4 = R.powi(4);
    let holed4 = radius4 - 0.02_f64.powi(4);
    let patches = [
        ("sphere", sphere(0.7)),
        ("hollow sphere", sphere(-0.9)),
        ("cylinder", cylinder(0.8, 0.0)),
        ("rotated cylinder", cylinder(-0.8, 33.0)),
        ("quadric", quadric(0.9, 0.3, 0.0)),
        ("rotated quadric", quadric(-0.9, 0.5, 71.0)),
    ];
    for (name, patch) in patches {
        for (pad, r4) in [(linear_pad(140.0, K), radius4), (holed.clone(), holed4)] {
            for orbit in [0.5e-3, 4e-3, E] {
                let c = square(&pad, &patch, orbit, 60.0, &fine());
                assert!(c.contact_share > 1.0 - 1e-9, "{name}: the law asks for full contact");
                let expected = closed_form::curvature_torque(1.0, K, orbit, patch.mean(), r4);
                // Quadrature with 40 nodes is exact to rounding here; the sum cancels from μNe.
                assert!(rel(torque(&c, 0.0), expected) < 1e-9, "{name} {orbit}: {} {expected}", torque(&c, 0.0));
                // The default nodes: 1e-6 of μNe, the size of the terms that cancel.
                let quick = square(&pad, &patch, orbit, 60.0, &ContactSettings::default());
                assert!(
                    (torque(&quick, 0.0) - expected).abs() < 1e-6 * 60.0 * orbit,
                    "{name} {orbit}: {}",
                    torque(&quick, 0.0) - expected
                );
            }
        }
    }
    // H = 0: a saddle turns the pad no more than a flat does.
    let c = square(&linear_pad(140.0, K), &quadric(0.8, -0.8, 20.0), E, 60.0, &fine());
    assert!(torque(&c, 0.0).abs() < 1e-12 * 60.0 * E, "rounding of the sums that cancel: {}", torque(&c, 0.0));
}

#[test]
fn even_load_damps_with_half_the_square_radius() {
    // theory-spin.md, "damping": M = −μ N ⟨r²⟩ ω/(2eΩ), ⟨r²⟩ = (R² + r_h²)/2 for an even load.
    for hole in [0.0_f64, 0.02] {
        let pad = linear_pad(140.0, K).with_hole(Length::from_m(2.0 * hole)).unwrap();
        let c = square(&pad, &Patch::flat(), E, 45.0, &fine());
        let mean_square = 0.5 * (R * R + hole * hole);
        let off = |spin: f64| torque(&c, spin) / closed_form::small_spin_torque(45.0, mean_square, E, RATE, spin) - 1.0;
        // The next term is of order (ωR/eΩ)²; one Richardson step takes it out and leaves the
        // fourth order, (1/60)⁴ = 1e-7.
        let extrapolated = (4.0 * off(0.5) - off(1.0)) / 3.0;
        assert!(extrapolated.abs() < 1e-7, "{hole}: {extrapolated}");
        assert!(off(1.0).abs() < (R / (E * RATE)).powi(2), "first order holds within its stated next term");
    }
}

/// ⟨r²⟩/R² that the friction torque shows: its part odd in the spin, at an orbit and a spin so
/// small that the law's next terms vanish.
fn damping_square(pad: &Pad, patch: &Patch, force: f64) -> (f64, f64) {
    let orbit = 1e-5 * R;
    let c = square(pad, patch, orbit, force, &fine());
    let spin = 1e-2 * orbit * RATE / R;
    let odd = 0.5 * (torque(&c, spin) - torque(&c, -spin));
    let Load::Rings(rings) = &c.load else { panic!("held square") };
    let (mut load, mut second) = (0.0, 0.0);
    for r in rings.rings().iter().filter(|r| r.rho < R) {
        load += r.area * r.pressure;
        second += r.area * r.pressure * r.rho * r.rho;
    }
    (-odd * 2.0 * orbit * RATE / (force * spin) / (R * R), second / load / (R * R))
}

#[test]
fn uneven_loads_damp_with_their_own_square_radius() {
    // theory-spin.md, "damping": dome 1 − r²/R² R²/3, edge-heavy r² 2R²/3, Hertz √(1 − r²/R²) 2R²/5, rim R².
    let threshold = PI * K * R.powi(4) / 4.0;
    let linear = linear_pad(140.0, K);
    let (half, thick) = (5e3, 0.025);
    // Square-root law p = half·(2δ/h)^½ on a crown that just touches the rim: δ = κ(R² − r²)/2.
    let hertz = power_pad(140.0, half * 1e-3, 0.5);
    let hertz_force = half * (2.0 * 0.5 * R * R / thick).sqrt() * 2.0 * PI * R * R / 3.0;
    for (name, pad, patch, force, share, tolerance) in [
        // Orbit 1e-5 R and speed ratio 1e-2: the next terms are 1e-5 and 4e-5.
        ("dome", &linear, sphere(1.0), threshold, 1.0 / 3.0, 1e-4),
        ("edge-heavy", &linear, sphere(-1.0), threshold, 2.0 / 3.0, 1e-4),
        ("Hertz", &hertz, sphere(1.0), hertz_force, 2.0 / 5.0, 1e-4),
        // A hollow of 15/m under a hundredth of the force for full contact is a rim of R/20 or so.
        ("rim", &linear, sphere(-15.0), 0.01 * 15.0 * threshold, 1.0, 0.06),
    ] {
        let (damped, summed) = damping_square(pad, &patch, force);
        assert!((damped - share).abs() < tolerance, "{name}: {damped} {share}");
        assert!((damped - summed).abs() < 1e-4, "{name}: the same next terms: {damped} {summed}");
    }
}

#[test]
fn lift_off_thresholds() {
    for (radius, orbit, kappa) in [(R, E, 1.0), (R, 2e-3, 0.4), (0.0375, 6e-3, 3.0), (R, 0.0, 0.8)] {
        let pad = linear_pad(2e3 * radius, K);
        let full = PI * K * kappa * radius.powi(4) / 4.0;
        // Convex: the rim lifts first, at the farthest point of the orbit.
        let rim = full * (1.0 + 4.0 * orbit / radius);
        // Concave: the tool axis lifts first.
        let centre = full * (1.0 + 2.0 * (orbit / radius).powi(2));
        for (sign, force, loosest) in [(1.0, rim, radius + orbit), (-1.0, centre, 0.0)] {
            let patch = sphere(sign * kappa);
            let at = square(&pad, &patch, orbit, force, &fine());
            // Heave is found to 1e-12 of the force; 1e-9 leaves room for the cancellation in δ.
            assert!(field(&at).at(loosest, 0.0).abs() < 1e-9 * at.peak_pressure_pa, "{radius} {orbit} {sign}");
            let above = square(&pad, &patch, orbit, force * 1.001, &fine());
            let below = square(&pad, &patch, orbit, force * 0.999, &fine());
            assert!(above.contact_share > 1.0 - 1e-12, "rounding of the area sum: {}", above.contact_share);
            assert!(below.contact_share < 1.0 - 1e-8, "a strip of a few µm lifts: {}", below.contact_share);
            let face = trochoid::motion::Face::new(&pad, orbit);
            assert!(closed_form::full_contact_on_sphere(&face, K, sign * kappa, force * 1.001));
            assert!(!closed_form::full_contact_on_sphere(&face, K, sign * kappa, force * 0.999));
        }
    }
}

#[test]
fn pressure_on_a_sphere_without_an_orbit() {
    // theory-contact.md, "limits that the solution reproduces": p(r) = N/(πR²) + kκ(R²/4 − r²/2).
    for kappa in [0.9, -0.9, 0.2] {
        let c = square(&linear_pad(140.0, K), &sphere(kappa), 0.0, 40.0, &ContactSettings::default());
        for i in 0..=14 {
            let r = R * f64::from(i) / 14.0;
            let expected = 40.0 / (PI * R * R) + K * kappa * (R * R / 4.0 - r * r / 2.0);
            // Gauss is exact for this polynomial, the heave is solved to 1e-12.
            assert!(rel(field(&c).at(0.6 * r, 0.8 * r), expected) < 1e-10, "{kappa} {r}");
        }
        let centre = 40.0 / (PI * R * R) + K * kappa * R * R / 4.0;
        assert!(rel(c.centre_pressure_pa.unwrap(), centre) < 1e-10, "as above");
        let peak = centre.max(centre - K * kappa * R * R / 2.0);
        assert!(rel(c.peak_pressure_pa, peak) < 1e-10, "as above");
    }
}

#[test]
fn small_contact_on_a_crown() {
    // theory-contact.md, "limits that the solution reproduces": N = πkδ0²/κ, contact radius √(2δ0/κ), no orbit.
    for (kappa, force) in [(5.0, 4.0), (20.0, 1.0), (2.0, 30.0)] {
        let c = square(&linear_pad(140.0, K), &sphere(kappa), 0.0, force, &ContactSettings::default());
        let heave = (force * kappa / (PI * K)).sqrt();
        assert!(rel(c.heave_m, heave) < 1e-10, "the split at the contact edge makes Gauss exact: {}", c.heave_m);
        let radius2 = 2.0 * heave / kappa;
        assert!(rel(c.contact_share, radius2 / (R * R)) < 1e-10, "as above");
        assert!(rel(c.peak_pressure_pa, K * heave) < 1e-10, "as above");
    }
}

fn tool_setup(throw_mm: f64, breakaway: f64, viscous: f64, force: f64, patch: Patch) -> Setup {
    setup(free_tool(throw_mm, 4500.0, breakaway, viscous), linear_pad(140.0, K), 0.4, force, patch)
}

#[test]
fn reversal_curvature_where_it_holds_and_where_it_does_not() {
    let settings = StallSettings { contact: fine(), tolerance: 1e-12, ..StallSettings::default() };
    for (breakaway, viscous) in [(0.02, 0.0), (0.02, 5e-5), (0.0, 1e-4)] {
        let s = tool_setup(18.0, breakaway, viscous, 45.0, Patch::flat());
        let closed = closed_form::reversal_curvature(&s).unwrap();
        // By hand: −4 M_b/(π μ k e R⁴), M_b = M0 + cΩ.
        let by_hand = -4.0 * (breakaway + viscous * RATE) / (PI * 0.4 * K * E * R.powi(4));
        assert!(rel(closed.curvature_per_m, by_hand) < 1e-12, "rounding");
        assert!(closed.valid);
        let found = stall_limits(&s, &settings, 1.0).unwrap().reversal.unwrap();
        // The crossing is refined to 1e-12; the torque at rest cancels from μNe, 1e-9 of it, over M_b.
        assert!(rel(found.at, by_hand) < 1e-8, "{} {by_hand}", found.at);
        // There is no force in it, as long as contact is full.
        let heavier = stall_limits(&tool_setup(18.0, breakaway, viscous, 60.0, Patch::flat()), &settings, 1.0).unwrap();
        assert!(rel(heavier.reversal.unwrap().at, by_hand) < 1e-8, "as above");
        // Too little force for full contact: the closed form says so, and the numbers part.
        let light = tool_setup(18.0, breakaway, viscous, 3.0, Patch::flat());
        assert!(!closed_form::reversal_curvature(&light).unwrap().valid);
        let parted = stall_limits(&light, &settings, 1.0).unwrap().reversal;
        // 5 %: far beyond every error of the numeric solution, so the difference is the law's.
        assert!(parted.is_none_or(|c| rel(c.at, by_hand) > 0.05), "centre lifted at 3 N: {parted:?} {by_hand}");
    }
    // A cylinder needs twice the curvature for the same mean curvature.
    let cyl = tool_setup(18.0, 0.02, 5e-5, 60.0, cylinder(-0.5, 25.0));
    let h = closed_form::reversal_curvature(&cyl).unwrap().curvature_per_m;
    let at_limit = cyl.clone().on(cylinder(2.0 * h, 25.0));
    let state = spin_state(&at_limit, at_limit.patch(), &fine()).unwrap();
    // The spin at the limit is zero within 1e-9 μNe over the damping, about 1e-7 rad/s.
    assert!(state.spin.abs() < 1e-6, "{}", state.spin);
    // Not linear or not free: no closed form.
    let power = setup(free_tool(18.0, 4500.0, 0.02, 0.0), power_pad(140.0, 6.0, 2.0), 0.4, 45.0, Patch::flat());
    assert!(closed_form::reversal_curvature(&power).is_none());
}

#[test]
fn useful_curvature_at_small_spin() {
    let s = tool_setup(18.0, 0.02, 5e-5, 45.0, Patch::flat());
    let off = |useful: f64| {
        let settings =
            StallSettings { contact: fine(), tolerance: 1e-12, useful_spin: useful, ..StallSettings::default() };
        let closed = closed_form::useful_curvature(&s, useful).unwrap();
        assert!(closed.valid);
        stall_limits(&s, &settings, 1.0).unwrap().sphere.unwrap().at / closed.curvature_per_m - 1.0
    };
    let (one, half, quarter) = (off(2.0), off(1.0), off(0.5));
    // What the form leaves out is of second order in the spin: halving it leaves a quarter, up to
    // the third order.
    assert!((half / one - 0.25).abs() < 0.03 && (quarter / half - 0.25).abs() < 0.03, "{one} {half} {quarter}");
    // (ωR/eΩ)² = 7e-5 at 0.5 rad/s.
    assert!(quarter.abs() < 7e-5, "{quarter}");
    // The simpler −(4/(πμkR⁴))(A/e − B/e²) of theory-spin.md leaves out R²ω/(12e²Ω), first order.
    let (a, b) = (0.02 + 5e-5 * (RATE - 1.0), 0.4 * 45.0 * R * R / (4.0 * RATE));
    let simple = -4.0 / (PI * 0.4 * K * R.powi(4)) * (a / E - b / (E * E));
    let full = closed_form::useful_curvature(&s, 1.0).unwrap().curvature_per_m;
    assert!(rel(full * (1.0 + R * R / (12.0 * E * E * RATE)), simple) < 1e-12, "rounding: {full} {simple}");
}

#[test]
fn best_orbit_is_where_the_hollow_may_be_tightest() {
    // theory-spin.md, "reversal and stall": |H_u| peaks at e = 2B/A, and below e = B/A the pad stalls on the flat.
    let useful = AngularRate::from_rpm(60.0).rad_s();
    let at = |orbit: f64| tool_setup(2e3 * orbit, 0.06, 0.0, 45.0, Patch::flat());
    let (best, least) = closed_form::best_orbit(&at(E), useful).unwrap();
    assert!(rel(best, 2.0 * least) < 1e-12, "rounding");
    // A = 0.06, B = μNR²ω_u/(4Ω).
    assert!(rel(least, 0.4 * 45.0 * R * R * useful / (4.0 * RATE) / 0.06) < 1e-12, "rounding");
    let settings = StallSettings { contact: fine(), tolerance: 1e-11, ..StallSettings::default() };
    let hollow = |orbit: f64| -stall_limits(&at(orbit), &settings, 1.0).unwrap().sphere.unwrap().at;
    let step = 0.15 * best;
    let (a, b, c) = (hollow(best - step), hollow(best), hollow(best + step));
    assert!(b > a && b > c, "{a} {b} {c}");
    // The numeric best orbit, by golden section to 1e-4 of e.
    let (mut low, mut high) = (best - step, best + step);
    while high - low > 1e-4 * best {
        let (m, n) = (low + 0.381_966 * (high - low), high - 0.381_966 * (high - low));
        if hollow(m) > hollow(n) {
            high = n;
        } else {
            low = m;
        }
    }
    let peak = 0.5 * (low + high);
    // The uneven load of the hollow (see above), which the closed optimum leaves out, moves it out by about R²ω_u/(12e²Ω) = 6 %.
    assert!(peak > best && rel(peak, best) < 0.08, "{peak} {best}");
    // The top is flat: the closed form gives away less than half the square of that shift.
    assert!(b > hollow(peak) * (1.0 - 0.5 * 0.08 * 0.08), "{b} {}", hollow(peak));
    assert!(stall_limits(&at(0.97 * least), &settings, 1.0).unwrap().stalled_on_flat);
    assert!(
        !stall_limits(&at(1.03 * least), &settings, 1.0).unwrap().stalled_on_flat,
        "3 % clears the next term at twice the ratio"
    );
}

#[test]
fn flat_spin_at_small_drag() {
    // theory-spin.md, "damping": ω = 4eΩM_b/(μNR²).
    for force in [20.0, 45.0, 80.0] {
        let s = tool_setup(18.0, 1e-3, 0.0, force, Patch::flat());
        let state = spin_state(&s, s.patch(), &fine()).unwrap();
        let closed = closed_form::flat_spin(1e-3, 0.4 * force, R, E, RATE);
        // Next term (ωR/eΩ)²/8, at most 6e-6 at 20 N.
        assert!(rel(state.spin, closed) < 1e-5, "{force}: {} {closed}", state.spin);
    }
}

#[test]
fn face_orbit_limits() {
    let still = |lost: f64| face_orbit(6e-3, lost * 1e4, 1e4);
    // No friction, or a pad rigid in shear: nothing is lost.
    assert!((face_orbit(6e-3, 0.0, 1e4).radius_m - 6e-3).abs() < 1e-18, "rounding");
    assert!((face_orbit(6e-3, 50.0, f64::INFINITY).radius_m - 6e-3).abs() < 1e-18, "rounding");
    // 3-4-5 triangle.
    assert!((face_orbit(5e-3, 30.0, 1e4).radius_m - 4e-3).abs() < 1e-17, "rounding");
    // Just below the limit the throw goes to zero as a square root: √(2e·gap).
    let gap = 1e-9;
    assert!(rel(still(6e-3 - gap).radius_m, (2.0 * 6e-3 * gap).sqrt()) < 1e-6, "gap/e = 2e-7");
    assert!(!still(6e-3 - gap).sticks);
    for lost in [6e-3, 7e-3, 1.0] {
        let stuck = still(lost);
        assert!(stuck.sticks && stuck.radius_m.abs() < f64::MIN_POSITIVE);
    }
    // A rotary drive has no throw to lose.
    assert!(!face_orbit(0.0, 50.0, 1e4).sticks);
}
