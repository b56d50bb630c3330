//! How does the time grow with the work, and how near does it come to what the machine can do? Draws the record
//! `benches/record/growth.csv`, which `cargo bench --bench growth` measures.
//!
//! Run: `cargo run --release --example 18_how_fast [FOLDER]`. Writes `18_how_fast.svg` and `.png` (time of a piece
//! of work against the size) and `18_how_fast-roofline.svg` and `.png` to FOLDER (`out/examples`).

use std::error::Error;
use std::path::PathBuf;
use trochoid::plot::{Axis, CurveChart, Figure, Series, SeriesLabels};
use trochoid::report::{prepare_folder, write_figure};

/// The record as it was when this was compiled.
pub const RECORD: &str = include_str!("../benches/record/growth.csv");

/// One measured row of the record.
struct Row<'a> {
    date: &'a str,
    build: &'a str,
    what: &'a str,
    threads: usize,
    size: f64,
    seconds: f64,
    /// Operations and bytes, where they are counted.
    counted: Option<(f64, f64)>,
}

/// The rows of the last date in the record.
fn last(text: &str) -> Result<Vec<Row<'_>>, Box<dyn Error>> {
    let mut rows = Vec::new();
    for (i, line) in text.lines().enumerate().skip(1) {
        let [date, build, _, what, threads, size, seconds, flop, byte] =
            line.split(',').collect::<Vec<_>>().try_into().map_err(|_| format!("line {}: not nine columns", i + 1))?;
        let counted = if flop.is_empty() { None } else { Some((flop.parse()?, byte.parse()?)) };
        rows.push(Row {
            date,
            build,
            what,
            threads: threads.parse()?,
            size: size.parse()?,
            seconds: seconds.parse()?,
            counted,
        });
    }
    let date = rows.last().ok_or("the record is empty")?.date;
    rows.retain(|r| r.date == date);
    Ok(rows)
}

/// Time of a piece of work against how many there are: a level line is time in proportion.
fn growth(rows: &[Row<'_>]) -> Result<Figure, Box<dyn Error>> {
    let threads = rows.iter().map(|r| r.threads).max().ok_or("no rows")?;
    let mut series = Vec::new();
    for (what, label) in [
        ("designs", "a design: spin, stalling sphere, cut"),
        ("dwell 100 rounds", "a place of a dwell map, 100 rounds, one thread"),
        ("deposit", "a cell of a deposit, crossed lines 70 mm apart"),
        ("heat of steel", "a cell and step of heat"),
        ("grains 300 cells double", "a grain and step, 300 x 300 cells"),
        ("grains 1200 cells double", "a grain and step, 1200 x 1200 cells"),
    ] {
        let of = |t: usize| rows.iter().filter(move |r| r.what == what && r.threads == t);
        let mut points: Vec<(f64, f64)> = of(threads).map(|r| (r.size, 1e9 * r.seconds / r.size)).collect();
        if points.is_empty() {
            points = of(1).map(|r| (r.size, 1e9 * r.seconds / r.size)).collect();
        }
        series.push(Series::new(label, points));
    }
    let first = &rows[0];
    let chart = CurveChart {
        title: "What one piece of work costs, from few to many".into(),
        caption: format!(
            "{}, {} build, {threads} threads; least of several runs. Level: time in proportion to the work. Rising to \
             the left: the start of threads and tables shared by few.",
            first.date, first.build
        ),
        x: Axis::logarithmic("Pieces of work [1]"),
        y: Axis::logarithmic("Time of a piece [ns]"),
        series,
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    };
    Ok(chart.figure()?)
}

/// Operations a second against operations a byte, under what the processor and the memory give.
fn roofline(rows: &[Row<'_>]) -> Result<Figure, Box<dyn Error>> {
    let threads = rows.iter().map(|r| r.threads).max().ok_or("no rows")?;
    let here = || rows.iter().filter(|r| r.threads == threads);
    let rate = |what: &str| -> Result<(f64, f64), String> {
        let row = here().find(|r| r.what == what).ok_or_else(|| format!("no row \"{what}\""))?;
        let (flop, byte) = row.counted.ok_or_else(|| format!("\"{what}\" is not counted"))?;
        Ok((1e-9 * flop / row.seconds, 1e-9 * byte / row.seconds))
    };
    let memory = rate("machine memory")?.1;
    let roof =
        |peak: f64| -> Vec<(f64, f64)> { [0.1, peak / memory, 1e4].map(|x| (x, (x * memory).min(peak))).to_vec() };
    let bare = |label: &str, points, style| Series {
        label: label.into(),
        points,
        line: true,
        markers: false,
        style: Some(style),
    };
    let (double, single) = (rate("machine fused double")?.0, rate("machine fused single")?.0);
    let mut series = vec![
        bare("memory, then fused sums, double precision", roof(double), 0),
        bare("the same, single precision", roof(single), 1),
    ];
    for (i, (what, label)) in [
        ("heat of steel", "heat of steel, 8 to 1 mm cells"),
        ("grains 300 cells double", "grains, double, 300 x 300 cells"),
        ("grains 300 cells single", "grains, single, 300 x 300 cells"),
        ("grains 1200 cells double", "grains, double, 1200 x 1200 cells"),
        ("grains 1200 cells single", "grains, single, 1200 x 1200 cells"),
    ]
    .into_iter()
    .enumerate()
    {
        let points = here()
            .filter(|r| r.what == what)
            .filter_map(|r| r.counted.map(|(flop, byte)| (flop / byte, 1e-9 * flop / r.seconds)))
            .collect();
        series.push(Series { label: label.into(), points, line: false, markers: true, style: Some(i + 2) });
    }
    // A deposit in double precision takes one root: no more of them than the processor has roots.
    let grain = here().find(|r| r.what == "grains 300 cells double").and_then(|r| Some(r.counted?.0 / r.size));
    let roots = rate("machine roots double")?.0 * grain.ok_or("no counted grains")?;
    series.push(bare("one square root a deposit, double precision", vec![(0.1, roots), (1e4, roots)], 7));
    let chart = CurveChart {
        title: "How near the inner loops come to the machine".into(),
        caption: format!(
            "{}, {} build, {threads} threads. Memory {memory:.0} GB/s, fused sums {double:.0} and {single:.0} Gflop/s, all \
             measured in the same run. Operations are counted in the source, bytes are the least that memory must move; \
             a point above the slope of the memory is served by the caches.",
            rows[0].date, rows[0].build
        ),
        x: Axis { range: Some((0.1, 1e4)), ..Axis::logarithmic("Operations a byte of memory [flop/B]") },
        y: Axis::logarithmic("Operations a second [Gflop/s]"),
        series,
        labels: SeriesLabels::Legend,
        ..CurveChart::default()
    };
    Ok(chart.figure()?)
}

/// Both pictures of a record, with their names.
///
/// # Errors
/// A line that is no row of the record, and a row that a picture needs and that is not there.
pub fn pictures(record: &str) -> Result<[(&'static str, Figure); 2], Box<dyn Error>> {
    let rows = last(record)?;
    Ok([("18_how_fast", growth(&rows)?), ("18_how_fast-roofline", roofline(&rows)?)])
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    prepare_folder(&folder)?;
    println!("{:28} {:>7} {:>14} {:>12} {:>12}", "what", "threads", "size", "seconds", "each [ns]");
    for r in last(RECORD)? {
        println!("{:28} {:7} {:14.0} {:12.3e} {:12.3}", r.what, r.threads, r.size, r.seconds, 1e9 * r.seconds / r.size);
    }
    for (name, figure) in pictures(RECORD)? {
        write_figure(&folder, name, &figure)?;
    }
    Ok(())
}
