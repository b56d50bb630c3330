//! How the time grows with the work, and how close the inner loops come to what the machine can do. A record rather
//! than a statistic: the best of a few runs for each size, one row each, to be put into `record/growth.csv`.
//!
//! ```text
//! RUSTFLAGS="-C target-cpu=native" cargo bench --bench growth -- 2026-11-28 >> benches/record/growth.csv
//! ```
//!
//! on a quiet machine, with the date as its word. Beside each row it tells on the error stream the time over that of the
//! last record of the same processor and build, and marks what takes a fifth longer. `examples/18_how_fast.rs` draws the
//! record.
//!
//! Operations are counted in the source of the loop, one for each addition, product, root and rounding, two for a fused
//! product and sum; bytes are those that must come from or go to memory where nothing is kept between two visits.

#[path = "cases/heat.rs"]
mod heated;
#[path = "cases/contact.rs"]
mod pressed;

use core::hint::black_box;
use std::collections::BTreeMap;
use std::time::Instant;
use trochoid::equipment::{Bearing, CompressionLaw, Pad, Product, Substrate, Tool};
use trochoid::heat::{Cooling, PanelHeatSettings, Plate, Spread, heat_panel};
use trochoid::math::random::Seed;
use trochoid::math::reduce::with_threads;
use trochoid::motion::{Face, Leg, Pattern, ToolPath};
use trochoid::panel::Patch;
use trochoid::plan::sizing::evaluate_designs;
use trochoid::plan::{DwellProblem, DwellSettings, FootprintKernel, GridOperator, solve_dwell};
use trochoid::removal::{
    Footprint, GrainCase, GrainSettings, Grains, Grid, Precision, Quantity, SweptPath, Travel, grain_quantity,
};
use trochoid::spin::{Setup, StallSettings};
use trochoid::{AngularRate, Curvature, Error, Force, Length, Stiffness, Torque, ViscousDrag};

const RECORD: &str = include_str!("record/growth.csv");
/// Operations of one deposit of |v|: place 8, cell 5, velocity 4, its square 3, root 1, sum 1.
const FLOP_A_DEPOSIT: f64 = 22.0;
/// Operations of one step of conduction on one cell: two solves of 5 and their combination of 3, in two directions; the
/// scale and the largest value.
const FLOP_A_CELL: f64 = 28.0;
/// Bytes of the same: 8 read, 8 written and 8 read for the columns, 16 read and 16 written for the rows.
const BYTES_A_CELL: f64 = 56.0;

/// One measured row; its name holds no comma, which parts the columns of the record.
struct Row {
    what: String,
    threads: usize,
    size: f64,
    seconds: f64,
    /// Operations and bytes, where they are counted.
    counted: Option<(f64, f64)>,
}

/// Least seconds of at least three runs and half a second.
fn least(mut run: impl FnMut()) -> f64 {
    let (mut best, mut all, mut runs) = (f64::INFINITY, 0.0, 0);
    while runs < 3 || (all < 0.5 && runs < 2000) {
        let start = Instant::now();
        run();
        let took = start.elapsed().as_secs_f64();
        best = best.min(took);
        all += took;
        runs += 1;
    }
    best
}

/// The same on each of `threads` threads at once.
fn at_once(threads: usize, work: impl Fn() + Sync) {
    std::thread::scope(|s| {
        for _ in 0..threads {
            s.spawn(&work);
        }
    });
}

/// What the machine gives: fused products and sums in either precision, square roots, and bytes from memory.
fn machine(threads: usize) -> Vec<Row> {
    const LANES: usize = 128;
    const ROUNDS: usize = 1_000_000;
    macro_rules! fused {
        ($real:ty) => {
            least(|| {
                at_once(threads, || {
                    let (mut v, a, b) = ([1.0 as $real; LANES], black_box(0.999), black_box(1e-3));
                    for _ in 0..ROUNDS {
                        for x in &mut v {
                            *x = if cfg!(target_feature = "fma") { x.mul_add(a, b) } else { *x * a + b };
                        }
                    }
                    black_box(v);
                });
            })
        };
    }
    let roots = least(|| {
        at_once(threads, || {
            let mut v = [2.0_f64; LANES];
            for _ in 0..ROUNDS / 10 {
                for x in &mut v {
                    *x = (*x + 1.0).sqrt();
                }
            }
            black_box(v);
        });
    });
    // 64 MB a stream, far beyond the caches.
    let length = 8_000_000;
    let streams = || (vec![1.0_f64; length], vec![2.0_f64; length], vec![0.0_f64; length]);
    let mut of_threads: Vec<_> = (0..threads).map(|_| streams()).collect();
    let triad = least(|| {
        std::thread::scope(|s| {
            for (a, b, c) in &mut of_threads {
                s.spawn(move || {
                    for ((x, y), z) in a.iter().zip(&*b).zip(&mut *c) {
                        *z = 3.0 * y + x;
                    }
                    black_box(&c);
                });
            }
        });
    });
    let n = threads as f64;
    let row = |what: &str, size: f64, seconds: f64, flop: f64, byte: f64| Row {
        what: what.into(),
        threads,
        size,
        seconds,
        counted: Some((flop, byte)),
    };
    let all = (LANES * ROUNDS) as f64 * n;
    let sums = length as f64 * n;
    vec![
        row("machine fused double", all, fused!(f64), 2.0 * all, 0.0),
        row("machine fused single", all, fused!(f32), 2.0 * all, 0.0),
        row("machine roots double", 0.1 * all, roots, 0.1 * all, 0.0),
        // 24 bytes a sum, and the 8 of the line that is fetched before it is written.
        row("machine memory", sums, triad, 2.0 * sums, 32.0 * sums),
    ]
}

fn deposits(threads: usize) -> Result<Vec<Row>, Error> {
    let footprint = Footprint::new(&pressed::contact(&Patch::flat())?.1, &Patch::flat(), 418.9, 31.4);
    let path = ToolPath::over_rectangle((0.6, 0.6), Pattern::Crosshatch, 2, 0.07, 0.04)?;
    let swept = SweptPath::new(&footprint, &path, Quantity::Work);
    let mut out = Vec::new();
    for side in [75_usize, 150, 300, 600, 1200, 2400] {
        let grid = Grid::over((0.6, 0.6), 0.6 / side as f64)?;
        let seconds = with_threads(threads, || least(|| drop(black_box(swept.onto(&grid)))));
        out.push(Row { what: "deposit".into(), threads, size: (side * side) as f64, seconds, counted: None });
    }
    Ok(out)
}

fn grains(threads: usize) -> Result<Vec<Row>, Error> {
    let flat = Patch::flat();
    let (pad, contact) = pressed::contact(&flat)?;
    // 100 mm in 2.5 s.
    let path = ToolPath::from_legs(vec![Leg::steady((0.25, 0.3), (0.35, 0.3), 0.04, 0)])?;
    let settings = GrainSettings::default();
    let mut out = Vec::new();
    for (side, word, precision) in [
        (300_usize, "double", Precision::Double),
        (300, "single", Precision::Single),
        (1200, "double", Precision::Double),
        (1200, "single", Precision::Single),
    ] {
        for count in [64_usize, 256, 1024, 4096] {
            let grains = Grains::random(&Face::new(&pad, 8e-3), count, Seed::new(1))?;
            let case = GrainCase {
                contact: &contact,
                patch: &flat,
                rate_rad_s: 418.9,
                spin_rad_s: 31.4,
                start_rad: (0.0, 0.0),
                grains: &grains,
                travel: Travel::Along(&path),
                grid: Grid::over((0.6, 0.6), 0.6 / side as f64)?,
            };
            let settings = GrainSettings { precision, ..settings };
            let steps = grain_quantity(&case, Quantity::Slide, &settings)?.run.steps as f64;
            let seconds =
                with_threads(threads, || least(|| drop(black_box(grain_quantity(&case, Quantity::Slide, &settings)))));
            let size = steps * count as f64;
            let real = if precision == Precision::Double { 8.0 } else { 4.0 };
            let bytes = real * (2 * count + threads * side * side) as f64;
            let what = format!("grains {side} cells {word}");
            out.push(Row { what, threads, size, seconds, counted: Some((FLOP_A_DEPOSIT * size, bytes)) });
        }
    }
    Ok(out)
}

fn designs(threads: usize) -> Vec<Row> {
    let settings = StallSettings::default();
    let mut out = Vec::new();
    for count in [100_usize, 1000, 10_000] {
        let design = |i: usize| {
            let bearing = Bearing::new(Torque::from_nm(0.04), ViscousDrag::from_nms(1e-4))?;
            let throw = Length::from_mm(6.0 + 12.0 * i as f64 / count as f64);
            let tool = Tool::free(throw, AngularRate::from_opm(4200.0), bearing)?;
            let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
            let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
            let crown = Patch::sphere(Curvature::from_per_m(0.5))?;
            Setup::new(tool, pad, Product::new(0.35, 2e-11)?, crown, Force::from_n(35.0))
        };
        let seconds = with_threads(threads, || least(|| drop(black_box(evaluate_designs(count, design, &settings)))));
        out.push(Row { what: "designs".into(), threads, size: count as f64, seconds, counted: None });
    }
    out
}

fn heat(threads: usize) -> Result<Vec<Row>, Error> {
    let sources = heated::sources(120.0)?;
    let spreads = [Spread::orbiting_disc(Length::from_mm(65.0), Length::from_mm(7.0))?];
    let (plate, cooling) = (Plate::painted(Substrate::Steel), Cooling::new(heated::ROOM, 10.0, 10.0)?);
    let job = heated::panel_job(&plate, &cooling, &spreads, &sources);
    let mut out = Vec::new();
    for (mm, cells) in [(8.0, 150.0 * 113.0), (4.0, 300.0 * 225.0), (2.0, 600.0 * 450.0), (1.0, 1200.0 * 900.0)] {
        let settings = PanelHeatSettings { cell_m: Length::from_mm(mm).m(), ..PanelHeatSettings::default() };
        let steps = heat_panel(&job, &settings)?.steps as f64;
        let seconds = with_threads(threads, || least(|| drop(black_box(heat_panel(&job, &settings)))));
        let size = cells * steps;
        let counted = Some((FLOP_A_CELL * size, BYTES_A_CELL * size));
        out.push(Row { what: "heat of steel".into(), threads, size, seconds, counted });
    }
    Ok(out)
}

fn dwell() -> Result<Vec<Row>, Box<dyn std::error::Error>> {
    let half = 13_usize;
    let side = 2 * half + 1;
    let weights: Vec<f64> = (0..side * side)
        .map(|k| {
            let (x, y) = ((k % side) as f64 - half as f64, (k / side) as f64 - half as f64);
            ((78.0 - 6.0 * x.hypot(y)) / 16.0).clamp(0.0, 1.0)
        })
        .collect();
    let sum: f64 = weights.iter().sum();
    let kernel = FootprintKernel::new(half, weights.iter().map(|w| w / sum).collect())?;
    let settings = DwellSettings { iterations: 100, settled_rel: 0.0, ..DwellSettings::default() };
    let mut out = Vec::new();
    for side in [50_usize, 100, 200, 400] {
        let mut operator = GridOperator::new((side, side), &kernel)?;
        let at = |k: usize| ((k % side) as f64 / side as f64 - 0.5, (k / side) as f64 / side as f64 - 0.5);
        let target = (0..side * side).map(|k| (-8.0 * (at(k).0.powi(2) + at(k).1.powi(2))).exp()).collect();
        let problem = DwellProblem::new(target, side * side)?;
        let seconds = least(|| drop(black_box(solve_dwell(&mut operator, &problem, &settings))));
        let size = (side * side) as f64;
        out.push(Row { what: "dwell 100 rounds".into(), threads: 1, size, seconds, counted: None });
    }
    Ok(out)
}

/// The processor's name, without what a table of commas and a page of text cannot hold.
fn processor() -> String {
    let told = std::fs::read_to_string("/proc/cpuinfo").unwrap_or_default();
    let name = told.lines().find_map(|l| l.strip_prefix("model name")?.split(':').nth(1));
    name.map_or_else(|| "unknown".into(), |n| n.trim().replace([',', '"'], " "))
}

fn build() -> &'static str {
    if cfg!(target_feature = "fma") { "native" } else { "plain" }
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    // The harness adds a flag of its own to the words given.
    let date = std::env::args().skip(1).find(|a| !a.starts_with("--")).unwrap_or_else(|| "today".into());
    let (processor, build) = (processor(), build());
    // Of the last record, whatever its date.
    let mut before = BTreeMap::new();
    for line in RECORD.lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        if let [_, b, p, what, threads, size, seconds, _, _] = cells.as_slice()
            && *b == build
            && *p == processor
            && let Ok(seconds) = seconds.parse::<f64>()
        {
            before.insert(((*what).to_owned(), (*threads).to_owned(), (*size).to_owned()), seconds);
        }
    }
    let mut rows = Vec::new();
    for threads in [1, 2] {
        rows.extend(machine(threads));
        rows.extend(deposits(threads)?);
        rows.extend(grains(threads)?);
        rows.extend(designs(threads));
        rows.extend(heat(threads)?);
    }
    rows.extend(dwell()?);
    for row in rows {
        let what = &row.what;
        let size = format!("{:.0}", row.size);
        let (flop, byte) =
            row.counted.map_or((String::new(), String::new()), |(f, b)| (format!("{f:.4e}"), format!("{b:.4e}")));
        println!("{date},{build},{processor},{what},{},{size},{:.4e},{flop},{byte}", row.threads, row.seconds);
        match before.get(&(what.clone(), row.threads.to_string(), size.clone())) {
            Some(then) => {
                let ratio = row.seconds / then;
                let mark = if ratio > 1.2 { "   SLOWER" } else { "" };
                eprintln!("{what:28} {} threads {size:>14}: {ratio:.2} of the last record{mark}", row.threads);
            }
            None => eprintln!("{what:28} {} threads {size:>14}: {:.3e} s, new", row.threads, row.seconds),
        }
    }
    Ok(())
}
