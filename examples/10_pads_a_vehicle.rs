//! How many pads does a vehicle take, and what does cleaning more often save?
//!
//! ```text
//! cargo run --release --example 10_pads_a_vehicle [FOLDER]
//! ```
//!
//! The shipped ordinary job, `examples/jobs/ordinary.toml`: the pads that it takes in rotation when each is
//! cleaned every 1 to 6 sections, how hot their cores get with fewer or more of them, and what a season of
//! such vehicles costs. Writes `10_pads_a_vehicle.svg` and `.png` to FOLDER (`out/examples`). The laws of
//! wear and loading behind it are assumed: it ranks ways of working.

use std::error::Error;
use std::path::PathBuf;
use trochoid::job::{Job, cores_by_pads, pads_in_rotation, season_plan, step_heats};
use trochoid::plan::{StepTask, plan_step};
use trochoid::plot::{Figure, Page};
use trochoid::report::pictures::{cores_chart, pads_timeline};
use trochoid::report::{pads_words, prepare_folder, season_words, write_whole};
use trochoid::spin::{AtHand, StallSettings};

fn main() -> Result<(), Box<dyn Error>> {
    let job = Job::parse("ordinary.toml", include_str!("jobs/ordinary.toml"))?;
    let tasks: Vec<StepTask> = job.steps.iter().map(|s| s.task(job.map.cell, (0.5, 2.0))).collect();
    let settings = StallSettings::default();
    let mut plans = tasks.iter().map(|t| plan_step(t, &AtHand::default(), &settings)).collect::<Result<Vec<_>, _>>()?;
    let heats = step_heats(&job, &job.steps, &tasks, &mut plans)?;

    println!("cleaned every   pads   hours of the vehicle   season, money a vehicle");
    for every in 1..=6 {
        let mut steps = job.steps.clone();
        for s in &mut steps {
            s.clean_every = Some(every);
        }
        let Some(pads) = pads_in_rotation(&job, &steps, &heats)? else { return Err("no step rubs".into()) };
        match pads.outcome.enough() {
            None => println!("{every:13}   no number suffices"),
            Some(found) => {
                let hours = found.time.min() / 60.0;
                let season = season_plan(job.season.as_ref(), Some(&pads))?;
                let money = season.map_or(f64::NAN, |s| s.pads_cost());
                println!("{every:13}   {:4}   {hours:20.1}   {money:23.2}", found.pads.iter().sum::<usize>());
            }
        }
    }

    let Some(pads) = pads_in_rotation(&job, &job.steps, &heats)? else { return Err("no step rubs".into()) };
    println!("as the job has it:");
    let season = season_plan(job.season.as_ref(), Some(&pads))?;
    for (what, answer) in pads_words(&pads).into_iter().chain(season.as_ref().map_or_else(Vec::new, season_words)) {
        println!("  {what}: {}", answer.replace('\u{a0}', " "));
    }
    let cores = cores_by_pads(&pads, &heats, 0, 6)?;
    let mut chart = cores_chart(&cores, pads.job.kinds[0].limits.core, "Pad core by number of pads");
    chart.caption = String::new();
    let mut timeline = pads_timeline(&pads)?.ok_or("no number of pads suffices")?;
    timeline.caption = String::new();
    let figure = Page {
        title: "Pads of an ordinary vehicle".into(),
        caption: "Eight steel panels, one correction step, 20 °C, half humidity. Left: core of the pad at work, its first \
                  section as it warms, then the hottest of each section; with too few pads the last one works on while the \
                  others are washed and dry. Right: who works when; what is neither working nor being cleaned rests."
            .into(),
        panels: vec![chart.into(), timeline.into()],
        ..Page::default()
    }
    .figure()?;
    save(&figure, "10_pads_a_vehicle")
}

/// Writes the figure to the folder named on the command line.
fn save(figure: &Figure, stem: &str) -> Result<(), Box<dyn Error>> {
    let folder = std::env::args_os().nth(1).map_or_else(|| PathBuf::from("out/examples"), PathBuf::from);
    prepare_folder(&folder)?;
    write_whole(&folder.join(format!("{stem}.svg")), figure.to_svg()?.as_bytes())?;
    write_whole(&folder.join(format!("{stem}.png")), &figure.to_png(1.5)?)?;
    println!("wrote {}", folder.join(format!("{stem}.svg and .png")).display());
    Ok(())
}
