//! Times the library on cases that are easy to program again: an independent baseline that draws the
//! same numbers can be run side by side with it on one machine.
//!
//! ```text
//! peer_cases a STEPS GRAINS GRID [single]
//!                         grain simulation of a flat pass onto GRID x GRID, in double or single precision
//! peer_cases b GRID       footprint of a flat pass, deposited along three legs onto GRID x GRID
//! peer_cases d COUNT      COUNT spin equilibria, contact included, one thread
//! peer_cases e FILE       dwell of least residual for the target and kernel in FILE, one thread
//! peer_cases designs COUNT THREADS   spin, stalling sphere and cut of COUNT designs
//! ```
//!
//! The last word on standard output is the time in seconds, start-up excluded. Case `a`: the pass of case
//! `b` step by step, 64 steps an orbit, STEPS of them (42 667 are the whole pass of 10 s); grains thrown at
//! random. Case `b`: R 70 mm,
//! orbit radius 8 mm, 4000 orbits a minute, 300 rpm, 30 N on a flat panel of 600 mm, 400 mm of path at
//! 40 mm/s; the last word is the deposit alone, as a baseline would leave out rasterising its kernel,
//! and the time of the tables stands before it. All threads are used. Case `d`: a linear
//! pad (8 kPa/mm, μ 0.4) on crowns of 0 to 4 per metre, 15 to 40 N, face radius 25 to 90 mm, orbit
//! radius 1.5 to 10 mm, 2000 to 6000 orbits a minute, bearing 0.02 N·m and 2e-4 N·m·s. Every case is
//! a fresh set-up: nothing is kept from one to the next but the quadrature nodes.
//!
//! Case `e`: a panel of 600 mm in 100 x 100 cells; the kernel is the footprint of case `b`'s pad, held at an
//! even pressure, as means over the cells and with a sum of 1. The target is 1 further than 90 mm from the edges and falls off
//! toward them as 1/(1 + exp(−(d − 90 mm)/12 mm)), times 1 plus twelve bell-shaped spots. FILE is text, so
//! that both sides have the same spots: the side of the grid, the kernel's half side, the relative residual
//! to reach, then the kernel and the target row by row. The last word is the median of 25 solves from the
//! target as start until that residual is reached; operator and plans are made before.
//!
//! Case `designs`: the cases of `d`, each with the curvature of the sphere on which its pad falls to 60 turns
//! a minute and with its cut.
//!
//! Build for the CPU at hand to compare with just-in-time compiled code:
//! `RUSTFLAGS="-C target-cpu=native" cargo build --release --example peer_cases`.

use std::process::ExitCode;
use std::time::Instant;
use trochoid::contact::{ContactSettings, Hold, solve};
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
use trochoid::math::random::Seed;
use trochoid::math::reduce::with_threads;
use trochoid::motion::{Face, Leg, ToolPath};
use trochoid::panel::Patch;
use trochoid::plan::sizing::evaluate_designs;
use trochoid::plan::{
    DwellOperator, DwellProblem, DwellSettings, FootprintKernel, GridOperator, StopReason, solve_dwell,
};
use trochoid::removal::{
    Footprint, GrainCase, GrainSettings, Grains, Grid, Precision, Quantity, SweptPath, Travel, grain_quantity,
};
use trochoid::spin::{Setup, StallSettings, friction_sums, spin_state};
use trochoid::{AngularRate, Curvature, Error, Force, Length, RangeError, Stiffness, Torque, ViscousDrag};

/// Numbers in 0..1 from a seed (a 64-bit mix by Steele, Lea and Flood, OOPSLA 2014).
struct Numbers(u64);

impl Numbers {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
        low + (high - low) * ((z >> 11) as f64 / (1_u64 << 53) as f64)
    }
}

fn case(numbers: &mut Numbers) -> Result<Setup, RangeError> {
    let force = Force::from_n(numbers.between(15.0, 40.0));
    let radius = numbers.between(0.025, 0.09);
    let orbit = numbers.between(0.0015, 0.01);
    let rate = AngularRate::from_opm(numbers.between(2000.0, 6000.0));
    let patch = Patch::sphere(Curvature::from_per_m(numbers.between(0.0, 4.0)))?;
    let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(2e-4))?;
    let tool = Tool::free(Length::from_m(2.0 * orbit), rate, bearing)?;
    let law = CompressionLaw::linear(Stiffness::from_pa_per_m(8e6))?;
    let pad = Pad::new(Length::from_m(2.0 * radius), Length::from_mm(25.0), law)?;
    Setup::new(tool, pad, Product::new(0.4, 2e-11)?, patch, force)
}

/// Seconds that `count` equilibria take, and the mean spin in turns a minute.
fn equilibria(count: usize) -> Result<(f64, f64), Error> {
    let mut numbers = Numbers(5);
    let setups = (0..count).map(|_| case(&mut numbers)).collect::<Result<Vec<_>, _>>()?;
    let settings = ContactSettings::default();
    // One solution first, so that the tables of nodes are there.
    if let Some(s) = setups.first() {
        spin_state(s, s.patch(), &settings)?;
    }
    let start = Instant::now();
    let mut sum = 0.0;
    for s in &setups {
        sum += AngularRate::from_rad_s(spin_state(s, s.patch(), &settings)?.spin).rpm();
    }
    Ok((start.elapsed().as_secs_f64(), sum / count as f64))
}

/// The first `seconds` of the serpentine of cases `a` and `b`, at 40 mm/s.
fn serpentine(seconds: f64) -> Result<ToolPath, RangeError> {
    let corners = [(0.21, 0.28), (0.39, 0.28), (0.39, 0.32), (0.21, 0.32)];
    let mut left = 0.04 * seconds;
    let mut legs = Vec::new();
    for w in corners.windows(2) {
        let leg = Leg::steady(w[0], w[1], 0.04, 0);
        if left <= 1e-9 {
            break;
        }
        let share = (left / leg.length()).min(1.0);
        legs.push(Leg { to: leg.at(share), ..leg });
        left -= leg.length();
    }
    ToolPath::from_legs(legs)
}

/// Deposits, seconds (best of five, as the baselines warm up too) and the share of the work that is kept
/// on the panel.
fn grains(steps: usize, count: usize, side: usize, precision: Precision) -> Result<(f64, f64, f64), Error> {
    let law = CompressionLaw::linear(Stiffness::from_pa_per_m(1e6))?;
    let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), law)?;
    let flat = Patch::flat();
    let contact = solve(&pad, &flat, 8e-3, &Hold::Flat, 30.0, &ContactSettings::default())?;
    let (rate, spin) = (AngularRate::from_opm(4000.0).rad_s(), AngularRate::from_rpm(300.0).rad_s());
    let path = serpentine(steps as f64 / (64.0 * 4000.0 / 60.0))?;
    let grains = Grains::random(&Face::new(&pad, 8e-3), count, Seed::new(1))?;
    let case = GrainCase {
        contact: &contact,
        patch: &flat,
        rate_rad_s: rate,
        spin_rad_s: spin,
        start_rad: (0.0, 0.0),
        grains: &grains,
        travel: Travel::Along(&path),
        grid: Grid::over((0.6, 0.6), 0.6 / side as f64)?,
    };
    let settings = GrainSettings { precision, ..GrainSettings::default() };
    let mut best = (0.0, f64::INFINITY, 0.0);
    for _ in 0..5 {
        let start = Instant::now();
        let map = grain_quantity(&case, Quantity::Work, &settings)?;
        let seconds = start.elapsed().as_secs_f64();
        if seconds < best.1 {
            best = (map.run.steps as f64 * count as f64, seconds, 1.0 - map.run.spill / map.run.total);
        }
    }
    Ok(best)
}

/// The `index`-th design of case `designs`: case `d` with numbers of its own.
fn design(index: usize) -> Result<Setup, RangeError> {
    case(&mut Numbers(5 + 1_000_003 * index as u64))
}

/// Seconds that `count` designs take on `threads`, the share that some sphere stalls or frees, and the mean
/// curvature of those spheres.
fn designs(count: usize, threads: usize) -> (f64, f64, f64) {
    let settings = StallSettings::default();
    with_threads(threads, || {
        // A few first, so that the tables of nodes are there.
        let _ = evaluate_designs(8, design, &settings);
        let start = Instant::now();
        let found = evaluate_designs(count, design, &settings);
        let seconds = start.elapsed().as_secs_f64();
        let spheres: Vec<f64> = found.iter().filter_map(|o| o.stall.curvature()).collect();
        let some = spheres.len() as f64;
        (seconds, some / count as f64, spheres.iter().sum::<f64>() / some)
    })
}

/// Seconds for the tables, seconds for one deposit (median of 15), and the deposit's sum times the
/// cell area over the whole work, which is 1 where nothing is lost.
fn coverage(side: usize) -> Result<(f64, f64, f64), Error> {
    let law = CompressionLaw::linear(Stiffness::from_pa_per_m(1e6))?;
    let pad = Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), law)?;
    let flat = Patch::flat();
    let contact = solve(&pad, &flat, 8e-3, &Hold::Flat, 30.0, &ContactSettings::default())?;
    let (rate, spin) = (AngularRate::from_opm(4000.0).rad_s(), AngularRate::from_rpm(300.0).rad_s());
    let path = serpentine(10.0)?;
    let grid = Grid::over((0.6, 0.6), 0.6 / side as f64)?;
    let start = Instant::now();
    let footprint = Footprint::new(&contact, &flat, rate, spin);
    let swept = SweptPath::new(&footprint, &path, Quantity::Work);
    let tables = start.elapsed().as_secs_f64();
    let whole = friction_sums(&contact.load, rate, spin).speed_w * path.time();
    let mut times = Vec::new();
    let mut share = 0.0;
    for _ in 0..15 {
        let start = Instant::now();
        let field = swept.onto(&grid);
        times.push(start.elapsed().as_secs_f64());
        share = field.iter().sum::<f64>() * grid.cell_area() / whole;
    }
    times.sort_by(f64::total_cmp);
    Ok((tables, times[7], share))
}

/// Median seconds of a solve, its residual, iterations and the largest difference of cut from the target
/// where that is above 0.9.
fn dwell(file: &str) -> Result<(f64, f64, usize, f64), Box<dyn std::error::Error>> {
    let text = std::fs::read_to_string(file)?;
    let mut numbers = text.split_ascii_whitespace();
    let mut next =
        || -> Result<f64, Box<dyn std::error::Error>> { Ok(numbers.next().ok_or("the file ends early")?.parse()?) };
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // within the range just looked at
    let whole = |v: f64| (0.0..=2000.0).contains(&v).then_some(v as usize).ok_or("a side of 0 to 2000 is read");
    let (side, half, goal) = (whole(next()?)?, whole(next()?)?, next()?);
    let mut list = |count: usize| (0..count).map(|_| next()).collect::<Result<Vec<f64>, _>>();
    let kernel = FootprintKernel::new(half, list((2 * half + 1) * (2 * half + 1))?).map_err(Error::from)?;
    let target = list(side * side)?;
    let mut operator = GridOperator::new((side, side), &kernel).map_err(Error::from)?;
    let problem = DwellProblem::new(target.clone(), operator.unknowns())
        .and_then(|p| p.starting_at(target.clone()))
        .map_err(Error::from)?;
    let settings = DwellSettings { good_enough_rel: goal, settled_rel: 0.0, ..DwellSettings::default() };
    let mut times = Vec::new();
    let mut found = solve_dwell(&mut operator, &problem, &settings)?;
    for _ in 0..25 {
        let start = Instant::now();
        found = solve_dwell(&mut operator, &problem, &settings)?;
        times.push(start.elapsed().as_secs_f64());
    }
    if found.stopped != StopReason::GoodEnough {
        return Err("the residual asked for was not reached".into());
    }
    times.sort_by(f64::total_cmp);
    let worst =
        found.cut.iter().zip(&target).filter(|(_, t)| **t > 0.9).map(|(c, t)| (c - t).abs()).fold(0.0, f64::max);
    Ok((times[12], found.residual_rel, found.iterations, worst))
}

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if let [case, file] = words.as_slice()
        && case == "e"
    {
        return match dwell(file) {
            Ok((seconds, residual, iterations, worst)) => {
                println!(
                    "{iterations} iterations, residual {residual:.7}, worst inside {worst:.4}, seconds: {seconds:.6}"
                );
                ExitCode::SUCCESS
            }
            Err(e) => {
                eprintln!("{file}: {e}");
                ExitCode::FAILURE
            }
        };
    }
    let number = words.get(1).and_then(|w| w.parse::<usize>().ok());
    let count = match (words.first().map(String::as_str), number) {
        (Some("d"), Some(n)) if (1..=10_000_000).contains(&n) => n,
        (Some("designs"), Some(n)) if (1..=10_000_000).contains(&n) => {
            let threads = words.get(2).and_then(|w| w.parse().ok()).unwrap_or(1);
            let (seconds, share, mean) = designs(n, threads);
            println!("{n} designs, {share:.4} with a sphere, mean {mean:.6} per metre, seconds: {seconds:.6}");
            return ExitCode::SUCCESS;
        }
        (Some("b"), Some(n)) if (10..=10_000).contains(&n) => {
            return match coverage(n) {
                Ok((tables, seconds, share)) => {
                    println!(
                        "{n} x {n} cells, volume kept {share:.8}, tables {tables:.6} s, deposit seconds: {seconds:.6}"
                    );
                    ExitCode::SUCCESS
                }
                Err(e) => {
                    eprintln!("{e}");
                    ExitCode::FAILURE
                }
            };
        }
        (Some("a"), Some(steps)) if words.len() >= 4 => {
            let number = |i: usize| words.get(i).and_then(|w: &String| w.parse::<usize>().ok()).unwrap_or(0);
            let single = words.get(4).is_some_and(|w| w == "single");
            let precision = if single { Precision::Single } else { Precision::Double };
            return match grains(steps, number(2), number(3).max(1), precision) {
                Ok((deposits, seconds, kept)) => {
                    println!(
                        "{deposits:.0} deposits, {:.3} G/s, kept {kept:.6}, seconds: {seconds:.6}",
                        1e-9 * deposits / seconds
                    );
                    ExitCode::SUCCESS
                }
                Err(e) => {
                    eprintln!("{e}");
                    ExitCode::FAILURE
                }
            };
        }
        _ => {
            eprintln!(
                "usage: peer_cases a STEPS GRAINS GRID [single] | b GRID (10 to 10000) | d COUNT (1 to 10000000) | designs COUNT THREADS | e FILE"
            );
            return ExitCode::from(2);
        }
    };
    match equilibria(count) {
        Ok((seconds, rpm)) => {
            println!("{count} equilibria, mean {rpm:.3} turns a minute, seconds: {seconds:.6}");
            ExitCode::SUCCESS
        }
        Err(e) => {
            eprintln!("{e}");
            ExitCode::FAILURE
        }
    }
}
