//! Is the machine itself right: balance against hand work and accelerations, bearings against a handbook and
//! statics, motor against its warming step by step, air against the integral? Do its keys and its command work?

use crate::support::{free_tool, linear_pad, rel, setup, sphere};
use trochoid::contact::ContactSettings;
use trochoid::equipment::{Motor, Pad, Tool};
use trochoid::panel::Patch;
use trochoid::plan::Unbalance;
use trochoid::plan::machine::{
    AXIAL_FACTORS, BalanceLayout, BallBearing, Battery, BearingLoad, CompressedAir, CrossLoad, Duty,
    MachineDescription, MachineState, Mains, MotorLoad, PadSupport, PlaneUnbalance, RADIAL_FACTOR, RELIABILITY_FACTORS,
    SpindleSupport, Supply, SupplyDraw, Supports, compression_power, grade_of, life_of_shares, lives_over_rate,
    machine_state, machine_work, one_plane_correction, permissible_unbalance_kgm, reliability_factor,
    resultant_unbalance, two_plane_correction,
};
use trochoid::spin::{Setup, spin_state};
use trochoid::units::{
    Angle, AngularRate, Energy, Force, Length, Mass, MassMoment, Power, Pressure, Speed, Time, Torque, Volume,
};

fn mm(x: f64) -> Length {
    Length::from_mm(x)
}

fn rotor(list: &[(f64, f64, f64, f64)]) -> Vec<PlaneUnbalance> {
    let at = |(kg, r, deg, z): &(f64, f64, f64, f64)| {
        PlaneUnbalance::new(Mass::from_kg(*kg), Length::from_m(*r), Angle::from_deg(*deg), Length::from_m(*z)).unwrap()
    };
    list.iter().map(at).collect()
}

#[test]
fn two_planes_of_a_textbook() {
    // Khurmi and Gupta, Theory of Machines, example 21.2 (from memory): drawn, so read to a hundredth.
    let four = rotor(&[
        (200.0, 0.08, 0.0, -0.1),
        (300.0, 0.07, 45.0, 0.2),
        (400.0, 0.06, 115.0, 0.3),
        (200.0, 0.08, 235.0, 0.6),
    ]);
    let [x, y] = two_plane_correction(&four, Length::from_m(0.0), Length::from_m(0.4)).unwrap();
    assert!(rel(x.size_kgm(), 35.5) < 0.01 && rel(y.size_kgm(), 18.25) < 0.01, "{x:?} {y:?}");
    // With the weights put on nothing is left, about any plane.
    let mut all = four.clone();
    all.extend([x, y]);
    for z in [-0.7, 0.0, 3.0] {
        let left = resultant_unbalance(&all, Length::from_m(z));
        assert!(left.static_kgm() < 1e-13 && left.couple_size_kgm2() < 1e-12, "rounding: {left:?}");
    }
    assert!((x.angle().deg() + 146.63).abs() < 0.01, "own sum of components by hand");
}

#[test]
fn pad_below_and_two_counterweights_by_moments() {
    // 0.2 kg at e 6 mm: 1200 g·mm at z = 0; planes at 40 and 100 mm.
    // Moments about 40 mm: 1200·(−40) + U2·60 = 0, so U2 = +800 g·mm, on the pad's own side.
    // Forces: 1200 + U1 + 800 = 0, so U1 = −2000 g·mm, opposite.
    let pad = linear_pad(130.0, 9e5).with_mass(Mass::from_kg(0.2)).unwrap();
    let layout = BalanceLayout::new(mm(0.0), mm(40.0)).unwrap().with_second_plane(mm(100.0)).unwrap();
    let layout = layout.with_radii(Some(mm(20.0)), Some(mm(16.0))).unwrap();
    let w = layout.counterweights(mm(6.0), &pad).unwrap();
    let found: Vec<f64> = w.weights().iter().map(|u| MassMoment::from_kgm(u.vector_kgm().0).gmm()).collect();
    assert!((found[0] + 2000.0).abs() < 1e-9 && (found[1] - 800.0).abs() < 1e-9, "rounding: {found:?}");
    // 2000 g·mm at 20 mm is 100 g; 800 at 16 mm is 50 g on the other side.
    let masses = w.masses_kg();
    assert!((masses[0].unwrap() - 0.1).abs() < 1e-12 && (masses[1].unwrap() + 0.05).abs() < 1e-12, "rounding");
    let rate = AngularRate::from_rad_s(440.0);
    let none = w.residual(0.2);
    assert!(none.force_n(rate) < 1e-9 && none.couple_nm(rate) < 1e-10, "nothing is left: {none:?}");
    // 40 g of water more: 0.04 · 0.006 · 440² = 46.464 N at the pad, 40 mm from the first plane.
    let wet = w.residual(0.24);
    assert!((wet.force_n(rate) - 46.464).abs() < 1e-9 && (wet.couple_nm(rate) - 1.85856).abs() < 1e-9, "by hand");
    // One plane nulls the force and leaves 1200 g·mm · 40 mm · 440² = 9.2928 N·m.
    let one = w.in_one_plane().unwrap().residual(0.2);
    assert!(one.force_n(rate) < 1e-9 && (one.couple_nm(rate) - 9.2928).abs() < 1e-9, "by hand");
    // The force is that of the exposure's own unbalance for the same two masses.
    let tool = free_tool(12.0, 4200.0, 0.04, 1e-4);
    let heavy = pad.with_mass(Mass::from_kg(0.24)).unwrap();
    let s = setup(tool, heavy, 0.35, 35.0, Patch::flat());
    let other = Unbalance::of(&s, AngularRate::from_rad_s(30.0)).balanced_for(Mass::from_kg(0.2)).unwrap();
    assert!(rel(w.residual(0.24).force_n(s.tool().rate()), other.residual_force().n()) < 1e-12, "rounding");
}

#[test]
fn residual_is_the_acceleration_of_the_masses() {
    // Slow and obvious: where every mass is at a moment, its acceleration by differences, forces and moments
    // added up; the largest over a turn.
    let pad = linear_pad(150.0, 9e5).with_mass(Mass::from_kg(0.31)).unwrap();
    let layout = BalanceLayout::new(mm(-12.0), mm(35.0)).unwrap().with_second_plane(mm(85.0)).unwrap();
    let layout = layout.made_for(Mass::from_kg(0.25)).unwrap();
    let w = layout.counterweights(mm(7.5), &pad).unwrap();
    let (omega, h) = (300.0, 1e-5);
    let (mut force, mut couple) = (0.0_f64, 0.0_f64);
    for k in 0..36 {
        let t = f64::from(k) * 0.01 / 36.0;
        let (mut f, mut m) = ((0.0, 0.0), (0.0, 0.0));
        for u in w.with_pad(0.31) {
            let at = |t: f64| (u.vector_kgm().0 * (omega * t).cos(), u.vector_kgm().0 * (omega * t).sin());
            let (a, b, c) = (at(t - h), at(t), at(t + h));
            let acc = ((a.0 - 2.0 * b.0 + c.0) / (h * h), (a.1 - 2.0 * b.1 + c.1) / (h * h));
            let arm = u.plane().m() - 0.035;
            f = (f.0 - acc.0, f.1 - acc.1);
            m = (m.0 - acc.0 * arm, m.1 - acc.1 * arm);
        }
        force = force.max(f.0.hypot(f.1));
        couple = couple.max(m.0.hypot(m.1));
    }
    let left = w.residual(0.31);
    let rate = AngularRate::from_rad_s(omega);
    // Differences over 3e-3 rad: (3e-3)²/12 and rounding over h², together 1e-5.
    assert!(rel(left.force_n(rate), force) < 1e-5, "{force}");
    assert!(rel(left.couple_nm(rate), couple) < 1e-5, "{couple}");
}

#[test]
fn unbalance_moves_between_planes_without_loss() {
    let list = rotor(&[(0.2, 0.006, 10.0, 0.0), (0.05, 0.02, 170.0, 0.05), (0.01, 0.03, -80.0, 0.11)]);
    let sum = resultant_unbalance(&list, mm(33.0));
    let two = sum.in_planes(mm(20.0), mm(90.0)).unwrap();
    for z in [0.0, 33.0, 200.0] {
        let (a, b) = (resultant_unbalance(&list, mm(z)), resultant_unbalance(&two, mm(z)));
        assert!((a.force_kgm.0 - b.force_kgm.0).abs() < 1e-17 && (a.force_kgm.1 - b.force_kgm.1).abs() < 1e-17);
        assert!((a.couple_kgm2.0 - b.couple_kgm2.0).abs() < 1e-18 && (a.couple_kgm2.1 - b.couple_kgm2.1).abs() < 1e-18);
    }
    // One plane nulls the force alone.
    let weight = one_plane_correction(&list, mm(40.0)).unwrap();
    let mut all = list;
    all.push(weight);
    let left = resultant_unbalance(&all, mm(0.0));
    assert!(left.static_kgm() < 1e-17 && left.couple_size_kgm2() > 1e-6);
    // Grade and permissible unbalance are inverse.
    let (rate, mass) = (AngularRate::from_rpm(4200.0), Mass::from_kg(1.3));
    let u = permissible_unbalance_kgm(Speed::from_mm_s(6.3), rate, mass).unwrap();
    assert!((grade_of(u, rate, mass).mm_s() - 6.3).abs() < 1e-12, "rounding");
}

#[test]
fn planes_that_coincide_and_numbers_out_of_range_are_refused() {
    let list = rotor(&[(0.2, 0.006, 0.0, 0.0)]);
    let e = two_plane_correction(&list, mm(40.0), mm(40.0)).unwrap_err();
    assert!(e.to_string().contains("plane2_mm") && e.to_string().contains("one plane holds no couple"), "{e}");
    assert!(BalanceLayout::new(mm(0.0), mm(40.0)).unwrap().with_second_plane(mm(40.5)).is_err());
    assert!(BalanceLayout::new(mm(0.0), mm(f64::NAN)).is_err() && BalanceLayout::new(mm(900.0), mm(0.0)).is_err());
    let layout = BalanceLayout::new(mm(0.0), mm(40.0)).unwrap();
    assert!(layout.made_for(Mass::from_kg(-0.2)).is_err() && layout.with_rotor_mass(Mass::from_kg(0.0)).is_err());
    assert!(layout.with_mass_range(1.2, 0.1).is_err() && layout.with_mass_range(0.9, -0.1).is_err());
    let (a, b) = (MassMoment::from_gmm(1000.0), MassMoment::from_gmm(200.0));
    assert!(layout.with_fitted(a, Some(b)).is_err() && layout.with_fitted(MassMoment::from_gmm(2e5), None).is_err());
    assert!(PlaneUnbalance::new(Mass::from_kg(-1.0), mm(1.0), Angle::from_deg(0.0), mm(0.0)).is_err());
    let n = Force::from_n;
    assert!(BallBearing::new(n(0.0), n(100.0)).is_err() && BallBearing::new(n(100.0), n(f64::INFINITY)).is_err());
    let bearing = BallBearing::new(n(1000.0), n(500.0)).unwrap();
    assert!(bearing.with_f0(0.0).is_err() && bearing.with_reliability(0.5).is_err());
    assert!(SpindleSupport::new(bearing, mm(20.0), mm(0.0)).is_err());
    let load = BearingLoad { radial_n: f64::NAN, axial_n: 0.0 };
    assert!(bearing.life(load, AngularRate::from_rpm(1.0)).is_err());
    assert!(Mains::new(0.0, 0.6).is_err() && Battery::new(Energy::from_wh(-1.0), 0.6).is_err());
    assert!(CompressedAir::new(Volume::from_l(0.0)).is_err());
    assert!(Duty::default().with_cycle(Time::from_min(0.0), Time::from_min(1.0)).is_err());
}

#[test]
fn bearing_life_of_a_handbook() {
    // Budynas and Nisbett, Shigley's Mechanical Engineering Design, example 11-4 (from memory): 500 lbf across,
    // 400 along, C 7900, C_0 4450 lbf, 720 /min: 890.8 lbf and 16 150 h; f_0 = 12.3 is its table's.
    let bearing = BallBearing::new(Force::from_n(7900.0), Force::from_n(4450.0)).unwrap().with_f0(12.3).unwrap();
    let life = bearing.life(BearingLoad { radial_n: 500.0, axial_n: 400.0 }, AngularRate::from_rpm(720.0)).unwrap();
    assert!(rel(life.equivalent_n, 890.8) < 1e-3 && rel(life.l10.h(), 16150.0) < 3e-3, "{life:?}");
    assert!(life.within_formula && life.loaded_enough && life.within_table);
    // P is continuous where the axial load begins to count: X + Y e = 1, to the rounding of the table.
    for (_, e, y) in AXIAL_FACTORS {
        assert!((RADIAL_FACTOR + y * e - 1.0).abs() < 7e-3, "e {e}, Y {y}");
    }
    // a_1: three-parameter Weibull law behind the table (ISO/TR 1281-2, from memory), half the last digit.
    for (s, a1) in RELIABILITY_FACTORS {
        let law = 0.05 + 0.95 * (s.ln() / 0.9_f64.ln()).powf(2.0 / 3.0);
        assert!((law - a1).abs() <= if s < 0.9985 { 5.1e-3 } else { 5.1e-4 }, "{s}: {law}, {a1}");
        assert!((reliability_factor(s).unwrap() - a1).abs() < 1e-12, "a row of the table");
    }
    let strict = bearing.with_reliability(0.99).unwrap();
    let modified = strict.life(life.load, AngularRate::from_rpm(-720.0)).unwrap();
    assert!(rel(modified.modified.h(), 0.25 * life.l10.h()) < 1e-12, "a1 of 99 %, whatever the direction");
}

#[test]
fn lives_scale_and_their_remarks_come_where_they_must() {
    let bearing = BallBearing::new(Force::from_n(5000.0), Force::from_n(2400.0)).unwrap();
    let at = |radial_n: f64, axial_n: f64, rpm: f64| {
        bearing.life(BearingLoad { radial_n, axial_n }, AngularRate::from_rpm(rpm)).unwrap()
    };
    let base = at(400.0, 0.0, 4000.0);
    assert!(rel(at(800.0, 0.0, 4000.0).l10.h(), base.l10.h() / 8.0) < 1e-12, "the cube of the load");
    assert!(rel(at(400.0, 0.0, 8000.0).l10.h(), base.l10.h() / 2.0) < 1e-12, "turns are turns");
    assert!(at(400.0, 300.0, 4000.0).l10 < base.l10 && at(400.0, 40.0, 4000.0).l10.h() <= base.l10.h());
    assert!(!at(49.0, 0.0, 1.0).loaded_enough && at(51.0, 0.0, 1.0).loaded_enough);
    assert!(at(2499.0, 0.0, 1.0).within_formula && !at(2501.0, 0.0, 1.0).within_formula);
    assert!(!at(10.0, 1300.0, 1.0).within_table && at(10.0, 1100.0, 1.0).within_table);
    assert!((at(1000.0, 2000.0, 1.0).static_safety - 2400.0 / 1600.0).abs() < 1e-12, "0.6·1000 + 0.5·2000 N");
    let free = at(0.0, 0.0, 4000.0);
    assert!(free.l10_million.is_infinite() && !free.loaded_enough);
    assert!(at(400.0, 0.0, 0.0).l10.h().is_infinite(), "rings that stand do not tire");
    // Shares: brute force, the damage of a thousand slices of time.
    let (a, b) = (Time::from_h(700.0), Time::from_h(5200.0));
    let mixed = life_of_shares(&[(3.0, a), (7.0, b)]).unwrap();
    let damage: f64 = (0..1000).map(|i| mixed.h() / 1000.0 / if i % 10 < 3 { a.h() } else { b.h() }).sum();
    assert!((damage - 1.0).abs() < 1e-12, "used up after that life");
    assert!(life_of_shares(&[]).is_none());
}

fn described() -> MachineDescription {
    let bearing = BallBearing::new(Force::from_n(9500.0), Force::from_n(4800.0)).unwrap();
    let layout = BalanceLayout::new(mm(0.0), mm(45.0)).unwrap().with_second_plane(mm(95.0)).unwrap();
    MachineDescription {
        balance: Some(layout),
        spindle: Some(SpindleSupport::new(bearing, mm(30.0), mm(40.0)).unwrap()),
        pad: Some(PadSupport::new(bearing, mm(5.0), Some(mm(12.0))).unwrap()),
        duty: Duty::default(),
        supply: Some(Supply::Mains(Mains::new(230.0, 0.6).unwrap())),
    }
}

fn working(tool: Tool, pad: Pad, force_n: f64) -> Setup {
    setup(tool, pad, 0.35, force_n, sphere(-0.3))
}

fn powered(throw_mm: f64, rate_opm: f64) -> Tool {
    let motor = Motor::new(Power::from_w(700.0), Power::from_w(120.0)).unwrap();
    free_tool(throw_mm, rate_opm, 0.02, 5e-5).with_motor(motor)
}

fn solve(s: &Setup, d: &MachineDescription) -> MachineState {
    machine_state(s, d, &ContactSettings::default()).unwrap()
}

#[test]
fn bearings_carry_what_statics_gives() {
    // Three equations of statics, solved here by elimination for each direction: forces, moments about the
    // pad's plane.
    let s = working(powered(15.0, 4200.0), linear_pad(130.0, 9e5).with_mass(Mass::from_kg(0.26)).unwrap(), 40.0);
    let mut d = described();
    d.balance = Some(d.balance.unwrap().made_for(Mass::from_kg(0.2)).unwrap());
    let found = solve(&s, &d);
    let run = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
    let omega2 = s.tool().rate().rad_s().powi(2);
    let side = 0.35 * run.sums.forward_n;
    assert!(rel(found.side_force.n(), side) < 1e-12 && side > 5.0, "friction along the orbit");
    let pull = 0.26 * 0.0075 * omega2;
    assert!(rel(found.orbit_force.n(), pull) < 1e-12, "m e Ω²");
    // Weights for 0.2 kg: U1 = −1.5 (1 + 45/50) = −2.85 g·m, U2 = 1.5·45/50 = 1.35 g·m.
    let (w1, w2) = (-2.85e-3 * omega2, 1.35e-3 * omega2);
    // z: pad 0, front 30, weight 45, rear 70, weight 95 mm; the face 12.5 mm below; N at e makes −N e.
    let rear_x = ((w1 * 0.045 + w2 * 0.095 - 40.0 * 0.0075) - 0.03 * (pull + w1 + w2)) / 0.04;
    let front_x = pull + w1 + w2 - rear_x;
    let rear_y = -side * (-0.0125 - 0.03) / 0.04;
    let front_y = -side - rear_y;
    let [front, rear] = found.spindle.unwrap();
    assert!(rel(front.load.radial_n, front_x.hypot(front_y)) < 1e-9, "statics by hand: {front:?}");
    assert!(rel(rear.load.radial_n, rear_x.hypot(rear_y)) < 1e-9, "statics by hand: {rear:?}");
    assert!((front.load.axial_n - 40.0).abs() < 1e-12 && rear.load.axial_n.abs() < 1e-12);
    // Pad bearing: lower at 5, upper at 17 mm.
    let (upper_x, upper_y) = (-pull * 0.005 / 0.012, -side * (-0.0125 - 0.005) / 0.012);
    let (lower, upper) = found.pad.unwrap();
    assert!(rel(upper.unwrap().load.radial_n, upper_x.hypot(upper_y)) < 1e-9);
    assert!(rel(lower.load.radial_n, (pull - upper_x).hypot(-side - upper_y)) < 1e-9);
    // The spindle turns at Ω, the pad bearing at Ω − ω.
    let turns = |l: &trochoid::plan::machine::RatingLife| 1e6 * l.l10_million / l.l10.h() / 60.0;
    assert!(rel(turns(&front), 4200.0) < 1e-9);
    assert!(rel(turns(&lower), 4200.0 - AngularRate::from_rad_s(run.spin).rpm()) < 1e-9);
    // Supports alone: a load between them is shared by the lever.
    let supports = Supports::new(mm(0.0), mm(0.0), mm(100.0)).unwrap();
    let r = supports.carry(&[CrossLoad { at_m: 0.025, force_n: (0.0, 80.0) }], (0.0, 0.0));
    assert!((r.front_n.1 - 60.0).abs() < 1e-9 && (r.rear_n.1 - 20.0).abs() < 1e-9);
}

#[test]
fn one_thing_changed_moves_the_machine_as_expected() {
    let pad = |kg: f64| linear_pad(130.0, 9e5).with_mass(Mass::from_kg(kg)).unwrap();
    let d = described();
    let base = solve(&working(powered(15.0, 4200.0), pad(0.2), 35.0), &d);
    let b = base.balance.as_ref().unwrap();
    let [dry, own, wet] = &b.residuals;
    assert!(own.force.n() < 1e-9 && wet.force.n() > dry.force.n() && dry.force.n() > 0.0, "made for this pad");
    // Water in a tenth of 0.332 l: 0.19 + 0.0331 kg.
    assert!((wet.pad_kg - 0.2231).abs() < 1e-4 && (dry.pad_kg - 0.19).abs() < 1e-12, "{wet:?}");
    assert!(b.one_plane_couple.nm() > 5.0 && own.couple.nm() < 1e-9);
    // Residual unbalances in the bearing planes: that of the water at the pad, moved by the lever.
    let [front, rear] = wet.in_bearings_kgm.unwrap();
    let u = wet.sum.static_kgm();
    assert!(rel(front, u * 70.0 / 40.0) < 1e-9 && rel(rear, u * 30.0 / 40.0) < 1e-9, "{front} {rear} {u}");
    let pressed = solve(&working(powered(15.0, 4200.0), pad(0.2), 50.0), &d);
    assert!(pressed.power.unwrap().w() > base.power.unwrap().w());
    assert!(pressed.motor.unwrap().margin_nm() < base.motor.unwrap().margin_nm());
    assert!(pressed.spindle.unwrap()[0].l10 < base.spindle.unwrap()[0].l10);
    // Balanced in two planes, the bearings carry nothing of the pull: N e and friction alone are left.
    let [front, rear] = base.spindle.unwrap();
    let lever = 35.0_f64 * 0.0075 / 0.04;
    let side = base.side_force.n();
    assert!(rel(front.load.radial_n, lever.hypot(side * 82.5 / 40.0)) < 1e-9, "{front:?}");
    assert!(rel(rear.load.radial_n, lever.hypot(side * 42.5 / 40.0)) < 1e-9, "{rear:?}");
    assert!(base.spindle_wet.unwrap()[0].l10 < front.l10);
    let heavy = solve(&working(powered(15.0, 4200.0), pad(0.4), 35.0), &d);
    assert!(heavy.pad.unwrap().0.l10 < base.pad.unwrap().0.l10);
    let fast = solve(&working(powered(15.0, 5200.0), pad(0.2), 35.0), &d);
    assert!(fast.spindle_wet.unwrap()[0].l10 < base.spindle_wet.unwrap()[0].l10);
    // Torque and margin fit together: T Ω + idle = s P_rated.
    let m = base.motor.unwrap();
    let omega = base.rate.rad_s();
    assert!(rel(m.work_nm * omega + 120.0, m.load_share * 700.0) < 1e-12);
    assert!(rel((m.margin_nm() + m.work_nm + m.idle_nm) * omega, 700.0) < 1e-12);
    assert!(m.peak_load_share.unwrap() > m.load_share);
    let at_peak = solve(&working(powered(15.0, 4200.0), pad(0.2), 52.5), &d);
    assert!(rel(m.peak_load_share.unwrap(), at_peak.motor.unwrap().load_share) < 1e-12, "1.5 x 35 N");
    // Lives over the rate: at the set-point those of the state, falling with the rate.
    let s = working(powered(15.0, 4200.0), pad(0.2), 35.0);
    let rates = [3000.0, 4200.0, 5600.0].map(AngularRate::from_opm);
    let lives = lives_over_rate(&s, &d, &rates, &ContactSettings::default()).unwrap();
    let spindle: Vec<f64> = lives.iter().map(|l| l.spindle_wet_h.unwrap()).collect();
    let wet = base.spindle_wet.unwrap();
    assert!(
        rel(spindle[1], wet[0].l10.h().min(wet[1].l10.h())) < 1e-9
            && spindle[0] > spindle[1]
            && spindle[1] > spindle[2]
    );
}

#[test]
fn torque_is_that_of_the_operating_state() {
    use trochoid::plan::{Working, operating_state};
    use trochoid::spin::{AtHand, StallSettings};
    let pad = || linear_pad(130.0, 9e5);
    let geared = Tool::geared(mm(8.0), AngularRate::from_opm(4800.0), 0.1).unwrap();
    let rotary = Tool::rotary(AngularRate::from_rpm(1500.0)).unwrap();
    for tool in [powered(15.0, 4200.0), geared, rotary] {
        let s = working(tool, pad(), 35.0);
        let work = Working { feed: Speed::from_mm_s(40.0), overlap: 0.5 };
        let state = operating_state(&s, &work, &AtHand::default(), (0.5, 2.0), &StallSettings::default()).unwrap();
        let found = solve(&s, &described());
        assert!(rel(found.torque.unwrap().nm(), state.orbit_torque_nm) < 1e-12, "one formula");
        // Without an orbit nothing circles: no balance, no pad bearing, and the spindle bears the push alone.
        let orbits = s.tool().rate().rad_s() > 0.0;
        assert_eq!((found.balance.is_some(), found.pad.is_some()), (orbits, orbits));
        let front = found.spindle.unwrap()[0].load;
        assert!((front.axial_n - 35.0).abs() < 1e-12 && (orbits || front.radial_n < 1e-9));
        if !orbits {
            assert!((found.rate.rpm() - 1500.0).abs() < 1e-9 && found.side_force.n() < 1e-12);
        }
    }
    // Without its balance an orbiting spindle's load is not known.
    let s = working(powered(15.0, 4200.0), pad(), 35.0);
    assert!(solve(&s, &MachineDescription { balance: None, ..described() }).spindle.is_none());
}

#[test]
fn a_sticking_face_tells_no_torque() {
    let soft = linear_pad(130.0, 9e5).with_shear_modulus(Pressure::from_kpa(1.0)).unwrap();
    let s = working(powered(4.0, 4200.0), soft, 60.0);
    let found = solve(&s, &described());
    assert!(found.sticks && found.torque.is_none() && found.motor.is_none() && found.supply.is_none());
    // The bearings carry the most that friction can be.
    assert!((found.side_force.n() - 0.35 * 60.0).abs() < 1e-9 && found.spindle.is_some());
}

#[test]
fn warming_in_a_duty_is_that_of_small_steps() {
    let (on, off, running, resting) = (12.0, 7.0, 20.0, 40.0);
    let d = Duty::default()
        .with_cycle(Time::from_min(on), Time::from_min(off))
        .and_then(|d| d.with_time_constants(Time::from_min(running), Time::from_min(resting)))
        .unwrap();
    // Slow and obvious: dθ/dt = (θ_∞ − θ)/τ in steps of a thousandth of a minute, many cycles.
    let (mut theta, dt) = (0.0_f64, 1e-3);
    for _ in 0..40 {
        for _ in 0..12_000 {
            theta += dt * (1.0 - theta) / running;
        }
        if (theta - d.heating_factor()).abs() < 1e-4 {
            break;
        }
        for _ in 0..7_000 {
            theta -= dt * theta / resting;
        }
    }
    // Steps of 5e-5 of a time constant: first order, 1e-4.
    assert!((theta - d.heating_factor()).abs() < 1e-4, "{theta} {}", d.heating_factor());
    // At the largest load it is just as warm as at the rating.
    assert!((d.heating_share(d.largest_load_share()) - 1.0).abs() < 1e-12, "inverse");
    assert!(
        (Duty::default().largest_load_share() - 1.0).abs() < 1e-12 && (d.working_share() - 12.0 / 19.0).abs() < 1e-12
    );
    // Data of Dubey, Fundamentals of Electrical Drives (from memory): a motor of 20 kW, 10 min on, 10 off; by hand
    // 20 √((1 − e^−0.27778)/(1 − e^−0.16667)) = 25.1 kW.
    let minutes = Time::from_min;
    let book = Duty::default().with_cycle(minutes(10.0), minutes(10.0)).unwrap();
    let book = book.with_time_constants(minutes(60.0), minutes(90.0)).unwrap().with_constant_loss_ratio(0.0).unwrap();
    assert!((20.0 * book.largest_load_share() - 25.1).abs() < 0.05, "half the last digit");
    let motor = Motor::new(Power::from_w(500.0), Power::from_w(100.0)).unwrap();
    // 400 rad/s and 0.8 N·m: 320 W and 100 idle of 500: 84 %; margin 1.25 − 0.25 − 0.8 N·m.
    let load = MotorLoad::of(&motor, AngularRate::from_rad_s(400.0), Torque::from_nm(0.8), None, &book).unwrap();
    assert!((load.load_share - 0.84).abs() < 1e-12 && (load.margin_nm() - 0.2).abs() < 1e-12, "by hand");
    assert!(MotorLoad::of(&motor, AngularRate::from_rad_s(0.0), Torque::from_nm(0.8), None, &book).is_err());
}

#[test]
fn air_power_is_the_integral_of_v_dp() {
    // Slow and obvious: ∫ v dp along p vⁿ = const by the midpoint rule, flow-work of an ideal compressor.
    for n in [1.0, 1.2, 1.35, 1.4] {
        let (p1, p2, q) = (1.013e5, 7.0e5, 1.0 / 60.0);
        let steps = 200_000;
        let dp = (p2 - p1) / f64::from(steps);
        let sum: f64 = (0..steps).map(|i| q * (p1 / (p1 + (f64::from(i) + 0.5) * dp)).powf(1.0 / n) * dp).sum();
        // Midpoint rule, second order in 1/200 000.
        assert!(rel(compression_power(q, p1, p2, n), sum) < 1e-8, "{n}");
    }
    // Eastop and McConkey, Applied Thermodynamics, example 12.1: 4.24 kW.
    assert!((compression_power(1.0 / 60.0, 1.013e5, 7e5, 1.35) / 1e3 - 4.24).abs() < 5e-3, "half the last digit");
}

#[test]
fn supplies_by_hand() {
    let mains = Mains::new(230.0, 0.6).unwrap().with_power_factor(0.95).unwrap().with_fuse(10.0).unwrap();
    let mains = mains.with_cord(Length::from_m(20.0), 1.5).unwrap();
    // 414 W at the shaft: 690 W, 3.1579 A; the cord has 2·1.7241e-8·20/1.5e-6 = 0.45976 Ω and loses 1.4519 V.
    let d = mains.draw(Power::from_w(414.0));
    assert!((d.input.w() - 690.0).abs() < 1e-9 && (d.current_a - 3.15789).abs() < 1e-5);
    assert!((d.fuse_share.unwrap() - 0.315789).abs() < 1e-6);
    assert!((d.cord_drop_share.unwrap() - 1.45187 / 230.0).abs() < 1e-7, "half the last digit");
    // 100 Wh at four fifths, 200 W of 160 at the shaft and 0.8: 24 min a pack.
    let battery = Battery::new(Energy::from_wh(100.0), 0.8).unwrap();
    let b = battery.draw(Power::from_w(160.0));
    assert!((b.input.w() - 200.0).abs() < 1e-9 && (b.per_pack.min() - 24.0).abs() < 1e-9);
    // 300 l/min at the rating, half when idle, at a third of the load: 200 l/min.
    let air = CompressedAir::new(Volume::from_l(5.0)).unwrap();
    let a = air.draw(1.0 / 3.0);
    assert!((a.free_air_per_s.l() * 60.0 - 200.0).abs() < 1e-9);
    // 1 to 7.3 bar: 3.5·1e5·(0.2/60)·(7.3^(1/3.5) − 1) = 892.1 W; isothermal 662.6 W; over 0.6.
    assert!((a.adiabatic.w() - 892.1).abs() < 0.1 && (a.isothermal.w() - 662.6).abs() < 0.1, "{a:?}");
    assert!(rel(a.compressor.w(), a.adiabatic.w() / 0.6) < 1e-12 && a.isothermal < a.adiabatic);
}

#[test]
fn a_vehicle_adds_its_steps_up() {
    let pad = || linear_pad(130.0, 9e5);
    let battery = Battery::new(Energy::from_wh(90.0), 0.7).unwrap();
    let d = MachineDescription { supply: Some(Supply::Battery(battery)), ..described() };
    let light = solve(&working(powered(15.0, 3600.0), pad(), 25.0), &d);
    let heavy = solve(&working(powered(15.0, 4800.0), pad(), 45.0), &d);
    let (a, b) = (Time::from_min(30.0), Time::from_min(70.0));
    let w = machine_work(&[(&light, a), (&heavy, b)], None).unwrap();
    let electric = |m: &MachineState| m.supply.unwrap().electric().w();
    let wh = (electric(&light) * a.s() + electric(&heavy) * b.s()) / 3600.0;
    assert!(rel(w.energy.unwrap().wh(), wh) < 1e-12 && w.free_air.is_none());
    // A pack gives 72 Wh.
    assert!((w.packs.unwrap() - (wh / 72.0).ceil()).abs() < 1e-9);
    let stretched = machine_work(&[(&light, a), (&heavy, b)], Some(Time::from_min(200.0))).unwrap();
    assert!(rel(stretched.energy.unwrap().wh(), 2.0 * wh) < 1e-12 && rel(stretched.work.min(), 200.0) < 1e-12);
    // Lives do not change with the time, and lie between those of the steps.
    let (one, two) = (light.spindle.unwrap()[0].l10.h(), heavy.spindle.unwrap()[0].l10.h());
    let mixed = w.spindle.unwrap()[0].h();
    assert!(rel(mixed, 1.0 / (0.3 / one + 0.7 / two)) < 1e-12 && rel(stretched.spindle.unwrap()[0].h(), mixed) < 1e-12);
    let SupplyDraw::Battery(draw) = light.supply.unwrap() else { panic!("a battery") };
    assert!(draw.per_pack.min() > 5.0);
    assert!(machine_work(&[], None).is_none() && machine_work(&[(&light, Time::from_s(0.0))], None).is_none());
}
