//! Dwell and feed: is a known dwell found again, do bounds, optimality and the trade hold, and is it what
//! an active set finds?

use crate::properties::uniform;
use crate::support::{free_tool, linear_pad, setup, sphere};
use trochoid::equipment::Pairing;
use trochoid::math::reduce::with_threads;
use trochoid::motion::{Leg, Pattern, ToolPath};
use trochoid::panel::{Panel, Patch};
use trochoid::plan::dwell_reference::non_negative_least_squares;
use trochoid::plan::{
    CutTarget, DirectGridOperator, DwellError, DwellOperator, DwellProblem, DwellSettings, DwellSolution, FeedLimits,
    FeedPath, FeedSettings, FeedTask, FootprintKernel, HAND_FEEDS_MM_S, HAND_OVERLAPS, Smoothed, SparseOperator,
    StepTask, StopReason, TRADE_WEIGHTS, TargetKind, Tie, Working, optimise_feed, settings_for_hand, solve_dwell,
    solve_feed, trade_off,
};
use trochoid::removal::{Footprint, Grid, Quantity, deposit_quantity};
use trochoid::spin::{StallSettings, spin_state};
use trochoid::{Acceleration, Error, Length, Product, Speed};

/// A random map with some entries missing.
fn columns(seed: u64, cells: usize, unknowns: usize) -> Vec<Vec<(u32, f64)>> {
    let at = |k: usize, low, high| uniform(seed, k as u64, low, high);
    (0..unknowns)
        .map(|j| {
            (0..cells)
                .filter(|i| at(i * unknowns + j, 0.0, 1.0) < 0.6)
                .map(|i| (u32::try_from(i).unwrap(), at(100_000 + i * unknowns + j, 0.0, 1.0)))
                .collect()
        })
        .collect()
}

fn rows(columns: &[Vec<(u32, f64)>], cells: usize) -> Vec<Vec<f64>> {
    let mut out = vec![vec![0.0; columns.len()]; cells];
    for (j, column) in columns.iter().enumerate() {
        for (i, v) in column {
            out[*i as usize][j] = *v;
        }
    }
    out
}

fn exact() -> DwellSettings {
    DwellSettings { iterations: 200_000, optimality_rel: 1e-12, settled_rel: 0.0, good_enough_rel: 0.0 }
}

fn norm(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

#[test]
fn the_active_set_finds_a_published_like_case_by_hand() {
    // Least ‖(x + y − 2, x − y − 4)‖ over x, y ≥ 0: free optimum (3, −1), so y = 0 and x = 3, the mean of 2 and 4.
    let x = non_negative_least_squares(&[vec![1.0, 1.0], vec![1.0, -1.0]], &[2.0, 4.0]).unwrap();
    assert!((x[0] - 3.0).abs() < 1e-14 && x[1].abs() < 1e-14, "rounding: {x:?}");
    // Two columns that say the same: any split of the one amount is an optimum.
    let x = non_negative_least_squares(&[vec![1.0, 1.0], vec![2.0, 2.0]], &[3.0, 6.0]).unwrap();
    assert!((x[0] + x[1] - 3.0).abs() < 1e-12 && x.iter().all(|v| *v >= 0.0), "{x:?}");
}

#[test]
fn the_gradient_solve_agrees_with_the_active_set() {
    for (seed, extra) in (0..12_u64).zip(0_usize..) {
        let (cells, unknowns) = (30 + extra, 8 + extra);
        let made = columns(seed, cells, unknowns);
        // A target with negative parts taken off leaves some dwells on their bound.
        let target: Vec<f64> = (0..cells).map(|i| uniform(seed, 500_000 + i as u64, -1.0, 2.0).max(0.0)).collect();
        let slow = non_negative_least_squares(&rows(&made, cells), &target).unwrap();
        let mut operator = SparseOperator::from_columns(cells, &made).unwrap();
        let problem = DwellProblem::new(target.clone(), unknowns).unwrap();
        let fast = solve_dwell(&mut operator, &problem, &exact()).unwrap();
        let mut cut = vec![0.0; cells];
        operator.apply(&slow, &mut cut);
        let off: Vec<f64> = cut.iter().zip(&target).map(|(c, t)| c - t).collect();
        let best = norm(&off) / norm(&target);
        assert!(slow.iter().any(|v| *v <= 0.0) || seed < 3, "no bound is met in case {seed}");
        // The objective is flat at the optimum: half the digits of the optimality in the residual.
        assert!((fast.residual_rel - best).abs() < 1e-9 * best, "{seed}: {} against {best}", fast.residual_rel);
        assert!(fast.dwell.iter().all(|v| *v >= 0.0));
        let largest = slow.iter().copied().fold(0.0, f64::max);
        for (a, b) in fast.dwell.iter().zip(&slow) {
            // Optimality 1e-12 over a condition number of up to some thousands.
            assert!((a - b).abs() < 1e-6 * largest, "{seed}: {a} against {b}");
        }
        // The bound is below the best there is, and tight at the optimum: a few parts in a million of
        // optimality remain in the shift.
        assert!(fast.residual_bound_rel <= best * (1.0 + 1e-12), "{seed}: {}", fast.residual_bound_rel);
        assert!(fast.residual_bound_rel > 0.999 * best, "{seed}: {} of {best}", fast.residual_bound_rel);
    }
}

#[test]
fn the_bound_holds_from_the_first_iteration_on() {
    let (cells, unknowns) = (40, 15);
    let made = columns(77, cells, unknowns);
    let target: Vec<f64> = (0..cells).map(|i| uniform(77, 900_000 + i as u64, 0.0, 2.0)).collect();
    let mut operator = SparseOperator::from_columns(cells, &made).unwrap();
    let problem = DwellProblem::new(target, unknowns).unwrap();
    let best = solve_dwell(&mut operator, &problem, &exact()).unwrap();
    let mut last = f64::INFINITY;
    for iterations in [0, 1, 2, 5, 10, 30, 100] {
        let settings = DwellSettings { iterations, settled_rel: 0.0, ..DwellSettings::default() };
        let cut_short = solve_dwell(&mut operator, &problem, &settings).unwrap();
        assert!(cut_short.residual_bound_rel <= best.residual_rel * (1.0 + 1e-12), "{iterations}");
        assert!(cut_short.residual_rel >= best.residual_rel * (1.0 - 1e-9), "{iterations}");
        assert!(cut_short.objective <= last * (1.0 + 1e-12), "the objective rose at {iterations}");
        last = cut_short.objective;
        if iterations < 30 {
            assert_eq!(cut_short.stopped, StopReason::IterationLimit);
            assert_eq!(cut_short.iterations, iterations);
        }
    }
}

#[test]
fn bounds_prices_and_masks_are_obeyed() {
    let (cells, unknowns) = (40, 15);
    let made = columns(5, cells, unknowns);
    let target: Vec<f64> = (0..cells).map(|i| uniform(5, 900_000 + i as u64, 0.5, 2.0)).collect();
    let mut operator = SparseOperator::from_columns(cells, &made).unwrap();
    let problem = DwellProblem::new(target.clone(), unknowns).unwrap();
    let (low, high) = (vec![0.05; unknowns], vec![0.2; unknowns]);
    let bounded = problem.clone().between(low.clone(), high.clone()).unwrap();
    let found = solve_dwell(&mut operator, &bounded, &exact()).unwrap();
    assert!(found.dwell.iter().all(|v| (0.05..=0.2).contains(v)));
    assert!(found.residual_bound_rel > 0.999 * found.residual_rel, "with finite bounds the dual is tight");
    // Karush-Kuhn-Tucker, worked out here: no descent that stays within the bounds.
    let mut residual = vec![0.0; cells];
    operator.apply(&found.dwell, &mut residual);
    for (r, t) in residual.iter_mut().zip(&target) {
        *r -= t;
    }
    let mut slope = vec![0.0; unknowns];
    operator.apply_transposed(&residual, &mut slope);
    let scale = slope.iter().fold(0.0_f64, |a, v| a.max(v.abs()));
    for (x, g) in found.dwell.iter().zip(&slope) {
        let free = *x > 0.05 && *x < 0.2;
        let fine = if free {
            g.abs() < 1e-7 * scale
        } else if *x > 0.1 {
            *g <= 1e-7 * scale
        } else {
            *g >= -1e-7 * scale
        };
        assert!(fine, "dwell {x} with slope {g}, scale {scale}");
    }
    // A price makes every dwell cost: the total falls with it.
    let mut last = f64::INFINITY;
    for price in [0.0, 0.1, 1.0, 10.0] {
        let priced = problem.clone().priced(vec![price; unknowns]).unwrap();
        let total: f64 = solve_dwell(&mut operator, &priced, &exact()).unwrap().dwell.iter().sum();
        assert!(total <= last * (1.0 + 1e-9), "price {price}: {total} after {last}");
        last = total;
    }
    // What the mask leaves out may hold anything.
    let mask: Vec<bool> = (0..cells).map(|i| i % 3 != 0).collect();
    let mut spoilt = target.clone();
    for (t, inside) in spoilt.iter_mut().zip(&mask) {
        if !inside {
            *t = f64::NAN;
        }
    }
    let masked = DwellProblem::inside(spoilt, mask.clone(), unknowns).unwrap();
    let found = solve_dwell(&mut operator, &masked, &exact()).unwrap();
    let kept: Vec<usize> = (0..cells).filter(|i| mask[*i]).collect();
    let all = rows(&made, cells);
    let part: Vec<Vec<f64>> = kept.iter().map(|i| all[*i].clone()).collect();
    let slow = non_negative_least_squares(&part, &kept.iter().map(|i| target[*i]).collect::<Vec<_>>()).unwrap();
    for (a, b) in found.dwell.iter().zip(&slow) {
        // As against the active set without a mask.
        assert!((a - b).abs() < 1e-5 * slow.iter().copied().fold(0.0, f64::max), "{a} against {b}");
    }
}

/// The footprint of a flat pass and its Preston coefficient.
fn flat_footprint() -> (Footprint, f64) {
    let s = setup(free_tool(15.0, 4200.0, 0.02, 5e-5), linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat());
    let run = spin_state(&s, s.patch(), &StallSettings::default().contact).unwrap();
    let rate = s.tool().rate().rad_s();
    (Footprint::new(&run.contact, &Patch::flat(), rate, run.spin), s.product().preston_per_pa())
}

#[test]
fn the_kernel_keeps_the_volume_of_the_footprint() {
    let (footprint, preston) = flat_footprint();
    let s = setup(free_tool(15.0, 4200.0, 0.02, 5e-5), linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat());
    let run = spin_state(&s, s.patch(), &StallSettings::default().contact).unwrap();
    for cell in [3e-3, 6e-3, 12e-3] {
        let kernel = FootprintKernel::of(&footprint, preston, cell).unwrap();
        let whole = preston * run.sums.speed_w;
        // 64 places a cell over a profile whose rim ramp is wider than a cell.
        assert!(
            (kernel.sum() * cell * cell / whole - 1.0).abs() < 1e-3,
            "{cell}: {}",
            kernel.sum() * cell * cell / whole
        );
    }
}

fn lopsided(half: usize) -> FootprintKernel {
    let side = 2 * half + 1;
    FootprintKernel::new(half, (0..side * side).map(|k| uniform(3, k as u64, 0.0, 1.0)).collect()).unwrap()
}

#[test]
fn sums_over_a_grid_are_what_they_say() {
    // One second in cell (2, 1) of 4 x 3 leaves the kernel around it, row by row.
    let mut operator = DirectGridOperator::new((4, 3), lopsided(1)).unwrap();
    let kernel = lopsided(1);
    let mut x = vec![0.0; 12];
    x[4 + 2] = 1.0;
    let mut cut = vec![0.0; 12];
    operator.apply(&x, &mut cut);
    for j in 0..3 {
        for i in 0..4 {
            let expected = if (1..=3).contains(&i) { kernel.weights()[j * 3 + (i - 1)] } else { 0.0 };
            assert!((cut[j * 4 + i] - expected).abs() < 1e-15, "({i}, {j})");
        }
    }
}

#[cfg(feature = "fft")]
#[test]
fn transforms_are_the_sums() {
    use trochoid::plan::GridOperator;
    // Grids smaller and larger than the footprint, odd sides, one row.
    for (count, half) in [((7, 5), 2), ((3, 4), 5), ((1, 9), 3), ((40, 33), 6), ((25, 64), 1), ((16, 16), 0)] {
        let kernel = lopsided(half);
        let mut fast = GridOperator::new(count, &kernel).unwrap();
        let mut slow = DirectGridOperator::new(count, kernel.clone()).unwrap();
        let n = count.0 * count.1;
        let x: Vec<f64> = (0..n).map(|k| uniform(9, k as u64, 0.0, 1.0)).collect();
        let z: Vec<f64> = (0..n).map(|k| uniform(10, k as u64, -1.0, 1.0)).collect();
        let (mut a, mut b) = (vec![0.0; n], vec![0.0; n]);
        for _ in 0..2 {
            // Twice: nothing may be left behind in the scratch memory.
            fast.apply(&x, &mut a);
            slow.apply(&x, &mut b);
            let scale = kernel.sum();
            for (p, q) in a.iter().zip(&b) {
                assert!((p - q).abs() < 1e-13 * scale, "rounding: {count:?} {half}: {p} against {q}");
            }
            let forward: f64 = a.iter().zip(&z).map(|(p, q)| p * q).sum();
            fast.apply_transposed(&z, &mut a);
            slow.apply_transposed(&z, &mut b);
            for (p, q) in a.iter().zip(&b) {
                assert!((p - q).abs() < 1e-13 * scale, "rounding: {count:?} {half}: {p} against {q}");
            }
            let backward: f64 = a.iter().zip(&x).map(|(p, q)| p * q).sum();
            assert!((forward - backward).abs() < 1e-11 * scale * n as f64, "adjoint: {forward} {backward}");
        }
    }
}

/// A known dwell on a grid, its cut, and what the solve makes of it.
fn recovered<O: DwellOperator>(operator: &mut O, known: &[f64]) -> DwellSolution {
    let mut target = vec![0.0; known.len()];
    operator.apply(known, &mut target);
    let problem = DwellProblem::new(target.iter().map(|t| t.max(0.0)).collect(), known.len()).unwrap();
    solve_dwell(operator, &problem, &exact()).unwrap()
}

#[test]
fn a_known_dwell_on_a_grid_comes_back() {
    // A kernel whose middle outweighs the rest has an inverse that noise does not blow up.
    let kernel = FootprintKernel::new(1, vec![0.1, 0.3, 0.1, 0.3, 4.0, 0.3, 0.1, 0.3, 0.1]).unwrap();
    let known: Vec<f64> = (0..20 * 15).map(|k| uniform(21, k, -0.5, 1.0).max(0.0)).collect();
    let found = recovered(&mut DirectGridOperator::new((20, 15), kernel.clone()).unwrap(), &known);
    for (a, b) in found.dwell.iter().zip(&known) {
        assert!((a - b).abs() < 1e-9, "optimality 1e-12 over a condition number of about 3: {a} against {b}");
    }
    #[cfg(feature = "fft")]
    {
        let fast = recovered(&mut trochoid::plan::GridOperator::new((20, 15), &kernel).unwrap(), &known);
        for (a, b) in fast.dwell.iter().zip(&known) {
            assert!((a - b).abs() < 1e-9, "{a} against {b}");
        }
    }
}

#[test]
fn an_interrupted_or_impatient_solve_says_so() {
    let made = columns(8, 50, 20);
    let target: Vec<f64> = (0..50).map(|i| uniform(8, 900_000 + i, 0.0, 2.0)).collect();
    let mut operator = SparseOperator::from_columns(50, &made).unwrap();
    let problem = DwellProblem::new(target, 20).unwrap();
    // 1e-12 is where rounding may end a solve before its tolerance does.
    let fine = DwellSettings { optimality_rel: 1e-9, ..exact() };
    let best = solve_dwell(&mut operator, &problem, &fine).unwrap();
    assert_eq!(best.stopped, StopReason::Optimal);
    assert!(best.optimality_rel <= 1e-9);
    let goal = 1.05 * best.residual_rel;
    let soon = DwellSettings { good_enough_rel: goal, ..fine };
    let early = solve_dwell(&mut operator, &problem, &soon).unwrap();
    assert_eq!(early.stopped, StopReason::GoodEnough);
    assert!(early.residual_rel <= goal && early.iterations < best.iterations);
    let settled = solve_dwell(&mut operator, &problem, &DwellSettings { settled_rel: 1e-3, ..fine }).unwrap();
    assert_eq!(settled.stopped, StopReason::Settled);
}

#[test]
fn a_start_on_the_target_is_still_traded_against_its_price() {
    // ½(x − 2)² + 0.5x is least at 1.5, whatever residual the start has: none at all here.
    let mut operator = SparseOperator::from_columns(1, &[vec![(0, 1.0)]]).unwrap();
    let problem = DwellProblem::new(vec![2.0], 1).unwrap().priced(vec![0.5]).unwrap();
    let found = solve_dwell(&mut operator, &problem.starting_at(vec![2.0]).unwrap(), &exact()).unwrap();
    // An optimality of 1e-12 of the target leaves the dwell about as close.
    assert!((found.dwell[0] - 1.5).abs() < 1e-11, "{found:?}");
    assert_eq!(found.stopped, StopReason::Optimal);
}

#[test]
fn ties_pull_neighbours_together() {
    let made = columns(31, 40, 10);
    let target: Vec<f64> = (0..40).map(|i| uniform(31, 900_000 + i, 0.5, 2.0)).collect();
    let mut operator = SparseOperator::from_columns(40, &made).unwrap();
    let mut spread = f64::INFINITY;
    for weight in [0.0, 1.0, 1e2, 1e4] {
        let ties: Vec<Tie> = (1..10).map(|k| Tie { between: (k - 1, k), weight }).collect();
        let mut tied = Smoothed::new(&mut operator, &ties).unwrap();
        let mut wanted = target.clone();
        wanted.resize(49, 0.0);
        let problem = DwellProblem::new(wanted, 10).unwrap();
        let found = solve_dwell(&mut tied, &problem, &DwellSettings { optimality_rel: 1e-9, ..exact() }).unwrap();
        let now: f64 = found.dwell.windows(2).map(|w| (w[1] - w[0]).powi(2)).sum();
        assert!(now < spread || weight <= 0.0, "{weight}: {now} after {spread}");
        spread = now;
    }
    assert!(spread < 1e-5, "{spread}");
}

fn lines() -> ToolPath {
    let corners = [(0.10, 0.10), (0.30, 0.10), (0.30, 0.16), (0.10, 0.16), (0.16, 0.24)];
    ToolPath::from_legs(corners.windows(2).map(|w| Leg::steady(w[0], w[1], 0.04, 0)).collect()).unwrap()
}

fn feed_path(longest: f64) -> (FeedPath, Grid, Footprint, f64) {
    let (footprint, preston) = flat_footprint();
    let grid = Grid::over((0.4, 0.35), 6e-3).unwrap();
    (FeedPath::over_legs(&footprint, preston, &lines(), &grid, longest).unwrap(), grid, footprint, preston)
}

#[test]
fn columns_add_up_to_the_deposit() {
    let (path, grid, footprint, preston) = feed_path(0.017);
    assert!((path.nodes().last().unwrap().way - lines().length()).abs() < 1e-12);
    assert!((path.time(&path.given()) - lines().time()).abs() < 1e-9);
    // Any slowness at the nodes, against the deposit of the legs that it makes.
    let slowness: Vec<f64> = (0..path.nodes().len()).map(|k| uniform(4, k as u64, 10.0, 60.0)).collect();
    let legs = path.legs(&slowness).unwrap();
    assert!((legs.time() - path.time(&slowness)).abs() < 1e-9);
    for (slowness, legs) in [(path.given(), lines()), (slowness, legs)] {
        let whole = deposit_quantity(&footprint, &legs, &grid, Quantity::Work);
        let most = whole.iter().copied().fold(0.0, f64::max);
        for (a, b) in path.cut(&slowness).iter().zip(&whole) {
            // The same tables read in two parts; tables of another direction agree to 1e-4 of the peak.
            assert!((a - preston * b).abs() < 2e-4 * preston * most, "{a} against {}", preston * b);
        }
    }
}

fn loose() -> FeedLimits {
    FeedLimits::new(Speed::from_mm_s(10.0), Speed::from_mm_s(100.0)).unwrap()
}

fn all_touched(cut: &[f64]) -> Vec<bool> {
    let most = cut.iter().copied().fold(0.0, f64::max);
    cut.iter().map(|c| *c > 0.02 * most).collect()
}

#[test]
fn a_known_feed_comes_back() {
    // Nodes a pad's radius apart, so that each leaves a mark of its own.
    let (path, ..) = feed_path(0.065);
    let known: Vec<f64> = (0..path.nodes().len()).map(|k| 1.0 / uniform(6, k as u64, 0.02, 0.08)).collect();
    let cut = path.cut(&known);
    let mask = all_touched(&cut);
    let settings = FeedSettings { solve: exact(), calm: 0.0, time_weight: 0.0, ..FeedSettings::default() };
    let found = solve_feed(&path, &CutTarget::inside(cut, mask), &loose(), &settings).unwrap();
    assert!(found.residual_rel < 1e-6, "{}", found.residual_rel);
    for (a, b) in found.slowness.iter().zip(&known) {
        // The target can be met exactly: what is left is optimality times the condition of the nodes.
        assert!((a / b - 1.0).abs() < 1e-3, "{a} against {b}");
    }
}

/// An even cut under the lines of the test path, at the mean of a steady feed.
fn even(path: &FeedPath) -> CutTarget {
    let cut = path.cut(&path.given());
    let mask = all_touched(&cut);
    let inside: Vec<f64> = cut.iter().zip(&mask).filter(|(_, m)| **m).map(|(c, _)| *c).collect();
    let mean = inside.iter().sum::<f64>() / inside.len() as f64;
    CutTarget::inside(vec![mean; cut.len()], mask)
}

#[test]
fn an_acceleration_bound_is_truly_obeyed() {
    let (path, ..) = feed_path(0.01);
    let target = even(&path);
    // Time costs nothing here, so that residuals compare.
    let settings = FeedSettings { time_weight: 0.0, ..FeedSettings::default() };
    let free = solve_feed(&path, &target, &loose(), &settings).unwrap();
    let mut last = free.residual_rel;
    for most in [0.5, 0.1, 0.02, 0.004] {
        let limits = loose().with_acceleration(Acceleration::from_m_s2(most)).unwrap();
        let found = solve_feed(&path, &target, &limits, &settings).unwrap();
        assert!(free.acceleration_m_s2 > most, "the bound of {most} would not bind");
        assert!(found.acceleration_m_s2 <= most * (1.0 + 1e-9), "{} of {most}", found.acceleration_m_s2);
        // By small steps along every stretch, independent of how the bound is written: a = f Δf/Δs.
        let nodes = path.nodes();
        let mut worst = 0.0_f64;
        for (k, node) in nodes.iter().enumerate().skip(1) {
            let Some(h) = node.from_last else { continue };
            let feed = |t: f64| 1.0 / (found.slowness[k - 1] + t * (found.slowness[k] - found.slowness[k - 1]));
            for i in 0..100 {
                let (a, b) = (f64::from(i) / 100.0, f64::from(i + 1) / 100.0);
                let (f, g) = (feed(a), feed(b));
                worst = worst.max((0.5 * (f + g) * (g - f) / (h * 0.01)).abs());
            }
        }
        assert!(worst <= most * (1.0 + 1e-6), "{worst} of {most}");
        for q in &found.slowness {
            assert!((10.0 - 1e-9..=100.0 + 1e-9).contains(q), "feed {}", 1.0 / q);
        }
        // A tighter bound cannot help; the search for the best under it is not exact.
        assert!(found.residual_rel > 0.98 * last, "{most}: {} after {last}", found.residual_rel);
        // And it is worth more than slowing the free answer down.
        let slowed = path.cut(&path.slowed(&free.slowness, most));
        let rms = |cut: &[f64]| {
            let pairs = || cut.iter().zip(&target.cut).zip(&target.mask).filter(|(_, m)| **m);
            let off: f64 = pairs().map(|((c, t), _)| (c - t) * (c - t)).sum();
            (off / pairs().map(|((_, t), _)| t * t).sum::<f64>()).sqrt()
        };
        assert!(found.residual_rel <= rms(&slowed) * (1.0 + 1e-9), "{most}");
        assert!(found.residual_rel < found.residual_given_rel, "worse than a steady feed");
        last = found.residual_rel;
    }
}

#[test]
fn slowing_down_is_the_least_that_obeys() {
    let (path, ..) = feed_path(0.02);
    let wild: Vec<f64> = (0..path.nodes().len()).map(|k| uniform(12, k as u64, 10.0, 100.0)).collect();
    let slowed = path.slowed(&wild, 0.05);
    assert!(path.acceleration(&wild) > 0.05 && path.acceleration(&slowed) <= 0.05 * (1.0 + 1e-9));
    assert!(slowed.iter().zip(&wild).all(|(a, b)| a >= b));
    // Nothing that is slowed can be faster while the others stand.
    for k in 0..slowed.len() {
        if slowed[k] > wild[k] {
            let mut faster = slowed.clone();
            faster[k] *= 1.0 - 1e-6;
            assert!(path.acceleration(&faster) > 0.05, "node {k}");
        }
    }
    let again = path.slowed(&slowed, 0.05);
    assert_eq!(again, slowed, "what obeys stays");
}

#[test]
fn time_grows_as_the_residual_falls() {
    let (path, ..) = feed_path(0.012);
    let target = even(&path);
    let settings = FeedSettings { solve: DwellSettings { optimality_rel: 1e-9, ..exact() }, ..FeedSettings::default() };
    let curve = trade_off(&path, &target, &loose(), &settings, &TRADE_WEIGHTS).unwrap();
    for w in curve.windows(2) {
        // Optimality 1e-9 of the target: far below a part in 1e5 of either.
        assert!(w[1].time_s <= w[0].time_s * (1.0 + 1e-5), "{w:?}");
        assert!(w[1].counted_rel >= w[0].counted_rel * (1.0 - 1e-5), "{w:?}");
        assert!((w[0].counted_rel / w[0].residual_rel - 1.0).abs() < 1e-12, "no rim counts here");
    }
    let (first, last) = (curve[0], curve[curve.len() - 1]);
    assert!(last.time_s < 0.9 * first.time_s && last.residual_rel > 1.1 * first.residual_rel, "the curve is a point");
}

#[test]
fn the_same_bits_on_any_number_of_threads() {
    let solves = || {
        let (path, ..) = feed_path(0.01);
        let limits = loose().with_acceleration(Acceleration::from_m_s2(0.1)).unwrap();
        let found = solve_feed(&path, &even(&path), &limits, &FeedSettings::default()).unwrap();
        let curve = trade_off(&path, &even(&path), &limits, &FeedSettings::default(), &[0.0, 0.01]).unwrap();
        let bits = |v: &[f64]| v.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
        (bits(&found.slowness), bits(&found.cut), curve.iter().map(|t| t.time_s.to_bits()).collect::<Vec<_>>())
    };
    let one = with_threads(1, solves);
    for threads in [2, 3] {
        assert_eq!(one, with_threads(threads, solves), "{threads} threads");
    }
}

/// Two crossed passes over a crowned section, lines far apart.
fn step() -> StepTask {
    let patch = sphere(0.25);
    let setup = setup(free_tool(15.0, 4200.0, 0.02, 5e-5), linear_pad(130.0, 9e5), 0.35, 35.0, patch);
    let panel = Panel::new(patch, Length::from_mm(450.0), Length::from_mm(420.0)).unwrap();
    let working = Working { feed: Speed::from_mm_s(40.0), overlap: 0.3 };
    StepTask {
        pairing: Pairing::of(Product::new(0.35, 2e-11).unwrap()),
        passes: 2,
        pattern: Pattern::Crosshatch,
        cell: Length::from_mm(5.0),
        ..StepTask::new(setup, panel, working)
    }
}

fn machine(kind: TargetKind, film: Option<Vec<f64>>) -> FeedTask {
    let limits = loose().with_acceleration(Acceleration::from_mm_s2(250.0)).unwrap();
    FeedTask { limits, kind, film, settings: FeedSettings::default() }
}

#[test]
fn a_machine_evens_out_what_lines_leave() {
    let plan = optimise_feed(&step(), &machine(TargetKind::Even, None), &StallSettings::default()).unwrap();
    let (before, after) = (plan.before.inside.unwrap(), plan.after.inside.unwrap());
    assert!(after.cv().unwrap() < 0.8 * before.cv().unwrap(), "{:?} {:?}", after.cv(), before.cv());
    // The mean asked for is the mean of the step, and least squares keeps near it.
    assert!((plan.target_mean_m / before.mean - 1.0).abs() < 1e-12);
    assert!((after.mean / before.mean - 1.0).abs() < 0.02, "{} {}", after.mean, before.mean);
    assert!(plan.found.acceleration_m_s2 <= 0.25 * (1.0 + 1e-9));
    assert!(plan.stalled_share <= 0.0);
    // Evenness inside is not bought at the edges, where paint burns through first.
    // With the rim counted the trade still runs one way.
    for w in plan.trade.windows(2) {
        // Settled to 1e-5 of the objective in 25 iterations: a hundredth of either bounds what that leaves.
        assert!(w[1].time_s <= 1.01 * w[0].time_s && w[1].counted_rel >= 0.99 * w[0].counted_rel, "{w:?}");
    }
    let (most, was) = (plan.after.panel.unwrap().max, plan.before.panel.unwrap().max);
    assert!(most < 1.05 * was, "{most} after {was}");
    // The map of the step itself, on the same cells, by the deposit of the whole path.
    let map = StepTask { cell: Length::from_m(plan.before.cell.0), ..step() };
    let run = spin_state(&map.setup, map.setup.patch(), &StallSettings::default().contact).unwrap();
    let whole = trochoid::removal::panel_map(&map.setup, &run, &map.panel, map.path(2).unwrap(), map.cell.m()).unwrap();
    let mean = whole.cut.unwrap().mean;
    assert!((before.mean / mean - 1.0).abs() < 1e-3, "tables read in two parts: {} against {mean}", before.mean);
}

#[test]
fn a_target_follows_the_film() {
    let task = step();
    let grid = trochoid::plan::feed_grid(&task).unwrap();
    let (nx, ny) = grid.count();
    // Twice as thick at one side as at the other.
    let film: Vec<f64> = (0..nx * ny).map(|k| 30e-6 * (1.0 + (k % nx) as f64 / (nx - 1) as f64)).collect();
    let asked = machine(TargetKind::Film, Some(film.clone()));
    let plan = optimise_feed(&task, &asked, &StallSettings::default()).unwrap();
    let inside = |left: bool| {
        let cells = (0..nx * ny).filter(|k| plan.target.mask[*k] && ((k % nx) < nx / 2) == left);
        let (sum, count) = cells.fold((0.0, 0.0), |(s, n), k| (s + plan.after.cut[k] / film[k], n + 1.0));
        sum / count
    };
    // Cut over film is the same on both halves; an even cut would take 1.25 times as much of the thin one.
    assert!((inside(true) / inside(false) - 1.0).abs() < 0.05, "{} {}", inside(true), inside(false));
    assert!(plan.found.residual_rel < 0.8 * plan.found.residual_given_rel);
    let unknown = optimise_feed(&task, &machine(TargetKind::Film, None), &StallSettings::default());
    assert!(matches!(unknown, Err(Error::Dwell(DwellError::UnknownFilm))));
}

#[test]
fn settings_for_a_hand_reach_the_cut_and_are_ranked() {
    let task = StepTask { target_cut: Some(Length::from_um(3.0)), ..step() };
    let found = settings_for_hand(&task, &StallSettings::default()).unwrap();
    assert!(found.target_given && (found.target_m - 3e-6).abs() < 1e-18);
    assert_eq!(found.settings.len(), HAND_FEEDS_MM_S.len() * HAND_OVERLAPS.len());
    let best = &found.settings[0];
    assert!(best.fits && best.reason.contains("quickest"), "{best:?}");
    for s in &found.settings {
        assert!((25.0..=50.0).contains(&s.feed.mm_s()) && !s.reason.is_empty());
        let (passes, cut) = (s.passes.unwrap(), s.cut_m.unwrap());
        assert!(cut >= 3e-6 * (1.0 - 1e-9), "the target is reached: {s:?}");
        assert_eq!(passes % 2, 0, "a crosshatch goes both ways alike");
        // One round less falls short.
        let less = cut * (passes as f64 - 2.0) / passes as f64;
        assert!(less < 3e-6);
        if s.fits {
            assert!(s.time_s.unwrap() >= best.time_s.unwrap() && s.cv.unwrap() <= best.cv.unwrap() + 0.04);
        }
    }
    // All passes at once, as the planner works them, against the sum of rounds.
    for s in found.settings.iter().take(3) {
        let whole =
            StepTask { working: Working { feed: s.feed, overlap: s.overlap }, passes: s.passes.unwrap(), ..step() };
        let map = whole.map(&StallSettings::default()).unwrap();
        let cut = map.cut.unwrap();
        // Joints lie on other sides in later passes, outside the mask but for the rim of the pad.
        assert!((cut.mean / s.cut_m.unwrap() - 1.0).abs() < 0.01, "{} {:?}", cut.mean, s.cut_m);
        assert!((cut.cv().unwrap() - s.cv.unwrap()).abs() < 0.01, "{:?} {:?}", cut.cv(), s.cv);
        assert!((map.path.time() / s.time_s.unwrap() - 1.0).abs() < 1e-9);
    }
}

#[test]
fn a_stalled_pad_gets_no_settings() {
    let task = StepTask {
        setup: setup(free_tool(15.0, 4200.0, 0.005, 1e-6), linear_pad(130.0, 9e5), 0.35, 35.0, sphere(-1.0)),
        panel: Panel::new(sphere(-1.0), Length::from_mm(450.0), Length::from_mm(420.0)).unwrap(),
        ..step()
    };
    let found = settings_for_hand(&task, &StallSettings::default()).unwrap();
    assert!(found.settings.iter().all(|s| !s.fits && s.reason.contains("stalls")), "{:?}", found.settings[0]);
    let plan = optimise_feed(&task, &machine(TargetKind::Even, None), &StallSettings::default()).unwrap();
    assert!((plan.stalled_share - 1.0).abs() < 1e-12);
}

#[cfg(feature = "cli")]
mod command {
    use crate::cli::{Folder, SMALL, edited, run_in, run_on};
    use serde_json::Value;

    fn number(v: &Value, key: &str) -> f64 {
        v.pointer(key).and_then(Value::as_f64).unwrap_or_else(|| panic!("{key} is no number in {v:#}"))
    }

    /// A panel that leaves a worked area.
    fn job() -> String {
        edited(SMALL, &[("overlap = 0.5", "overlap = 0.3"), ("curvature_per_m = -0.5", "curvature_per_m = 0.2")])
    }

    #[test]
    fn a_hand_gets_ranked_settings() {
        let done = run_on(&job(), &["optimize", "--json"]);
        assert_eq!(done.code, Some(0), "{}", done.err);
        let v: Value = serde_json::from_str(&done.out).unwrap();
        assert_eq!(v["for"], "hand");
        assert_eq!(v["target_given"], false);
        let settings = v["settings"].as_array().unwrap();
        assert_eq!(settings.len(), 30);
        for (i, s) in settings.iter().enumerate() {
            assert!((number(s, "/rank") - (i + 1) as f64).abs() < 1e-12);
            assert!(number(s, "/cut_um/mean") >= number(&v, "/target_cut_um") * (1.0 - 1e-9));
            let spacing = (1.0 - number(s, "/overlap")) * 130.0;
            assert!((number(s, "/line_spacing_mm") - spacing).abs() < 1e-9, "(1 − overlap) x diameter");
            assert!(s["fits"].is_boolean() && !s["reason"].as_str().unwrap().is_empty());
        }
        let text = run_on(&job(), &["optimize"]);
        assert!(text.code == Some(0) && text.out.contains("by hand") && text.out.contains("quickest"), "{}", text.out);
    }

    #[test]
    fn a_machine_gets_a_feed_and_its_files() {
        let folder = Folder::new();
        let with = format!("{}\n[optimize]\nfeed_min_mm_s = 15\nfeed_max_mm_s = 90\nacceleration_mm_s2 = 150\n", job());
        folder.put("job.toml", with);
        let done = run_in(folder.path(), &["optimize", "job.toml", "--for", "machine", "--json", "--out", "out"]);
        assert_eq!(done.code, Some(0), "{}", done.err);
        let v: Value = serde_json::from_str(&done.out).unwrap();
        assert!(number(&v, "/residual_rel") < number(&v, "/residual_before_rel"));
        assert!(number(&v, "/residual_without_acceleration_bound_rel") <= number(&v, "/residual_rel") * 1.001);
        assert!(number(&v, "/acceleration_mm_s2") <= 150.0 * (1.0 + 1e-9));
        assert!(number(&v, "/feed_mm_s/min") >= 15.0 - 1e-6 && number(&v, "/feed_mm_s/max") <= 90.0 + 1e-6);
        let mean = number(&v, "/path_length_mm") / number(&v, "/time_s");
        assert!((number(&v, "/feed_mm_s/mean") / mean - 1.0).abs() < 1e-9);
        assert_eq!(v["trade_off"].as_array().unwrap().len(), 9);
        // The table: the way grows, the feed stays within its limits, and the time adds up.
        let table = std::fs::read_to_string(folder.path().join("out/cut-feed.csv")).unwrap();
        let mut lines = table.lines();
        assert_eq!(lines.next(), Some("s_mm,x_mm,y_mm,feed_mm_s"));
        let rows: Vec<Vec<f64>> = lines.map(|l| l.split(',').map(|n| n.parse().unwrap()).collect()).collect();
        assert!((rows.len() as f64 - number(&v, "/nodes")).abs() < 0.5);
        let mut time = 0.0;
        for w in rows.windows(2) {
            assert!(w[1][0] >= w[0][0] && (15.0 - 1e-3..=90.0 + 1e-3).contains(&w[1][3]));
            time += (w[1][0] - w[0][0]) * 0.5 * (1.0 / w[0][3] + 1.0 / w[1][3]);
        }
        // Seven digits in the table.
        assert!((time / number(&v, "/time_s") - 1.0).abs() < 1e-4, "{time}");
        let mut expected = vec!["cut-feed.csv".to_owned(), "cut-optimize.json".to_owned()];
        if cfg!(feature = "plot") {
            for name in ["feed", "feed-cut", "feed-trade"] {
                expected.extend([format!("cut-{name}.svg"), format!("cut-{name}.png")]);
            }
        }
        for name in expected {
            assert!(folder.path().join("out").join(&name).is_file(), "{name} is missing");
        }
    }

    #[test]
    fn a_real_panel_is_led_over_too() {
        let text = edited(
            SMALL,
            &[
                ("shape = \"sphere\"\ncurvature_per_m = -0.5\n", "shape = \"flat\"\nedges = \"free\"\ngrid_mm = 5.0\n"),
                ("overlap = 0.5", "overlap = 0.3"),
                ("[map]", "[optimize]\ntarget = \"film\"\n[map]"),
            ],
        );
        let done = run_on(&text, &["optimize", "--for", "machine", "--json"]);
        assert_eq!(done.code, Some(0), "{}", done.err);
        let v: Value = serde_json::from_str(&done.out).unwrap();
        assert_eq!(v["target"], "film");
        assert!(number(&v, "/residual_rel") < number(&v, "/residual_before_rel"), "{v:#}");
        assert!(number(&v, "/acceleration_mm_s2") <= 250.0 * (1.0 + 1e-9));
    }

    #[test]
    fn what_cannot_be_is_refused_with_its_place() {
        let with = |table: &str| format!("{}\n[optimize]\n{table}\n", job());
        for (table, words) in [
            ("feed_min_mm_s = 200", vec!["feed_min_mm_s", "200", "feed_max_mm_s"]),
            ("feed_max_mm_s = -1", vec!["feed_max_mm_s", "-1", "0.1 to 10000"]),
            ("acceleration_mm_s2 = 0", vec!["acceleration_mm_s2", "0.1 to 100000"]),
            ("acceleration_mm_s2 = nan", vec!["acceleration_mm_s2"]),
            ("target = \"smooth\"", vec!["target", "even, film"]),
            ("feed_mim_mm_s = 10", vec!["feed_min_mm_s"]),
        ] {
            let done = run_on(&with(table), &["optimize", "--for", "machine"]);
            assert_eq!(done.code, Some(2), "{table}: {}", done.err);
            for word in words {
                assert!(done.err.contains(word), "{table}: no {word} in {}", done.err);
            }
        }
        // A film that nobody knows place by place, and a panel under the pad's own size.
        let film = run_on(&with("target = \"film\""), &["optimize", "--for", "machine"]);
        assert!(film.code == Some(1) && film.err.contains("readings with their places"), "{}", film.err);
        let small = edited(&job(), &[("size_mm = [400.0, 300.0]", "size_mm = [120.0, 120.0]")]);
        for who in ["hand", "machine"] {
            let done = run_on(&small, &["optimize", "--for", who]);
            assert!(done.code == Some(1) && done.err.contains("nowhere to cut"), "{who}: {}", done.err);
        }
        assert_eq!(run_on(&job(), &["optimize", "--for", "robot"]).code, Some(2));
    }
}

#[test]
fn what_cannot_be_asked_is_refused() {
    let short = DwellProblem::new(Vec::new(), 3);
    assert_eq!(short.unwrap_err(), DwellError::EmptyMask);
    assert_eq!(DwellProblem::inside(vec![1.0; 3], vec![false; 3], 2).unwrap_err(), DwellError::EmptyMask);
    assert_eq!(DwellProblem::new(vec![0.0; 3], 2).unwrap_err(), DwellError::ZeroTarget);
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        let refused = DwellProblem::new(vec![1.0, bad, 1.0], 2).unwrap_err();
        assert!(matches!(refused, DwellError::BadNumber { what: "target", index: 1, .. }), "{refused}");
        assert!(FootprintKernel::new(0, vec![bad]).is_err());
        assert!(SparseOperator::from_columns(2, &[vec![(0, bad)]]).is_err());
    }
    let fine = DwellProblem::new(vec![1.0; 3], 2).unwrap();
    assert!(fine.clone().between(vec![2.0; 2], vec![1.0; 2]).is_err());
    assert!(fine.clone().between(vec![0.0; 2], vec![f64::NAN; 2]).is_err());
    assert!(fine.clone().between(vec![0.0; 3], vec![1.0; 2]).is_err());
    assert!(fine.clone().priced(vec![-1.0; 2]).is_err());
    assert!(fine.clone().starting_at(vec![f64::NAN; 2]).is_err());
    assert!(SparseOperator::from_columns(2, &[vec![(2, 1.0)]]).is_err(), "a cell that is not there");
    let mut blank = SparseOperator::from_columns(3, &[vec![], vec![]]).unwrap();
    let out = solve_dwell(&mut blank, &fine, &DwellSettings::default()).unwrap_err();
    assert!(matches!(out, Error::Dwell(DwellError::OutOfReach)), "{out}");
    let mut other = SparseOperator::from_columns(4, &[vec![], vec![]]).unwrap();
    assert!(matches!(
        solve_dwell(&mut other, &fine, &DwellSettings::default()),
        Err(Error::Dwell(DwellError::Length { needed: 4, given: 3, .. }))
    ));
    // Memory is refused before it is taken.
    let tiny = FootprintKernel::new(0, vec![1.0]).unwrap();
    for count in [(5000, 5000), (usize::MAX, 2), (1, usize::MAX)] {
        let refused = DirectGridOperator::new(count, tiny.clone()).unwrap_err();
        assert!(matches!(refused, DwellError::TooLarge { .. }), "{refused}");
        #[cfg(feature = "fft")]
        assert!(trochoid::plan::GridOperator::new(count, &tiny).is_err());
    }
    assert!(FootprintKernel::new(usize::MAX, vec![1.0]).is_err());
    let (footprint, preston) = flat_footprint();
    let grid = Grid::over((0.4, 0.35), 1e-4).unwrap();
    let refused = FeedPath::over_legs(&footprint, preston, &lines(), &grid, 1e-3).unwrap_err();
    assert!(matches!(refused, Error::Dwell(DwellError::TooLarge { .. })), "{refused}");
    // Limits that contradict one another name their key and range.
    let refused = FeedLimits::new(Speed::from_mm_s(60.0), Speed::from_mm_s(50.0)).unwrap_err();
    assert!(refused.to_string().contains("feed_min_mm_s = 60") && refused.allowed.contains("50"), "{refused}");
    assert!(FeedLimits::new(Speed::from_mm_s(f64::NAN), Speed::from_mm_s(50.0)).is_err());
    assert!(loose().with_acceleration(Acceleration::from_mm_s2(0.0)).is_err());
    // A panel that the pad covers to its edges has no worked area.
    let small = Panel::new(Patch::flat(), Length::from_mm(120.0), Length::from_mm(120.0)).unwrap();
    let task = StepTask { panel: small, ..step() };
    let refused = optimise_feed(&task, &machine(TargetKind::Even, None), &StallSettings::default()).unwrap_err();
    assert!(matches!(refused, Error::Dwell(DwellError::EmptyMask)), "{refused}");
    assert!(matches!(settings_for_hand(&task, &StallSettings::default()), Err(Error::Dwell(DwellError::EmptyMask))));
}
