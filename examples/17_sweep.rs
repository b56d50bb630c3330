//! How much margin before it stalls does each throw and pad leave? The study
//! `examples/jobs/throw_and_pad.toml`, worked into a table and drawn.
//!
//! Run: `cargo run --release --example 17_sweep [FOLDER]`. Writes `17_sweep.csv`, `.svg` and `.png` to FOLDER
//! (`out/examples`). The same table by the command line:
//! `trochoid sweep examples/jobs/throw_and_pad.toml --out throw_and_pad.csv`.

use std::error::Error;
use std::path::PathBuf;
use trochoid::job::sweep::{Column, JobText, Study};
use trochoid::plot::{BoldLevel, ColourMap, ColourScale, FieldMap, PathOverlay};
use trochoid::report::{SweepRun, prepare_folder, run_sweep, write_figure};

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    prepare_folder(&folder)?;
    let study = Study::parse_with("throw_and_pad.toml", include_str!("jobs/throw_and_pad.toml"), |name, _| {
        Ok(JobText { name: name.to_owned(), text: include_str!("jobs/demo.toml").to_owned(), folder: None })
    })?;
    let tree = study.tree()?;
    let table = folder.join("17_sweep.csv");
    let done = run_sweep(&tree.cases()?, &table, &SweepRun { force: true, ..SweepRun::default() }, &|_| {})?;
    println!("{}: {} cases", study.title().unwrap_or("sweep"), done.ended.sum());

    // Back from the table, as any other program would read it.
    let text = std::fs::read_to_string(&table)?;
    let mut lines = text.lines();
    let head: Vec<&str> = lines.next().ok_or("the table is empty")?.split(',').collect();
    let at = |name: &str| head.iter().position(|h| *h == name).ok_or("a column is missing");
    let number = at(Column::StallNumber.name())?;
    let rows: Vec<Vec<&str>> = lines.map(|l| l.split(',').collect()).collect();
    let axis = |i: usize| -> Result<Vec<f64>, std::num::ParseFloatError> {
        let mut out: Vec<f64> = rows.iter().map(|r| r[2 + i].parse()).collect::<Result<_, _>>()?;
        out.sort_by(f64::total_cmp);
        out.dedup();
        Ok(out)
    };
    let (throws, pads) = (axis(0)?, axis(1)?);
    // The last key of the study runs fastest, so that a row of the picture is every pads.len()-th row.
    let values: Vec<f64> = (0..pads.len())
        .flat_map(|p| (0..throws.len()).map(move |t| (t, p)))
        .map(|(t, p)| rows[t * pads.len() + p][number].parse().unwrap_or(f64::NAN))
        .collect();
    let of_pad = |p: usize| {
        (0..throws.len())
            .map(|t| (throws[t], values[p * throws.len() + t]))
            .filter(|v| v.1.is_finite())
            .min_by(|a, b| a.1.total_cmp(&b.1))
    };
    println!("stiffness [kPa/mm]   best throw [mm]   stall number there (below 1 it turns)");
    for p in (0..pads.len()).step_by(6) {
        match of_pad(p) {
            Some((throw, s)) => println!("{:18.2} {throw:17.1} {s:10.2}", pads[p]),
            None => println!("{:18.2}   no throw turns this pad on the flat, or none stalls", pads[p]),
        }
    }
    let best: Vec<(f64, f64)> = (0..pads.len()).filter_map(|p| of_pad(p).map(|b| (b.0, pads[p]))).collect();
    let ends = |v: &[f64]| {
        let half = 0.5 * (v[v.len() - 1] - v[0]) / (v.len() - 1) as f64;
        (v[0] - half, v[v.len() - 1] + half)
    };
    let figure = FieldMap {
        title: "Stall number over throw and pad stiffness".into(),
        caption:
            "Stall number of a pad of 130 mm in a hollow of −1.2 and −0.2 per metre; at 1 it falls to 60 rpm. 35 N, \
                  4200 orbits/min, friction 0.37, shear modulus 30 kPa, bearing 0.02 N·m and 5e-5 N·m·s. Hatched: \
                  below 60 rpm even on a flat panel. All numbers are invented."
                .into(),
        x_title: "throw, orbit diameter [mm]".into(),
        y_title: "stiffness of the pad [kPa/mm]".into(),
        columns: throws.len(),
        rows: pads.len(),
        values,
        x_range: ends(&throws),
        y_range: ends(&pads),
        aspect: Some(0.7),
        colour: ColourScale {
            title: "stall number [1]".into(),
            map: ColourMap::Diverging,
            range: Some((0.0, 2.0)),
            centre: Some((1.0, "stalls".into())),
            ..ColourScale::default()
        },
        missing_name: "stalls on the flat".into(),
        bold: Some(BoldLevel { at: 1.0, label: "stall limit (turns below)".into() }),
        paths: vec![PathOverlay { label: "best throw of each pad".into(), points: best, directed: false }],
        ..FieldMap::default()
    }
    .figure()?;
    write_figure(&folder, "17_sweep", &figure)?;
    println!("wrote {}", folder.join("17_sweep.csv, .svg and .png").display());
    Ok(())
}
