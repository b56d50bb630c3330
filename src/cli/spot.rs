//! `spot`: the card of a test spot, from what is at hand.

use super::args::SpotArguments;
use super::failure::Failure;
use super::session::Session;
use super::{print_json, print_out};
use serde_json::json;
use std::fmt::Write as _;
use trochoid::budget::{CardStyle, Combination, Severity, SpotCard};
use trochoid::job::panel_clear;
use trochoid::plan::exposure;
use trochoid::spin::spin_state;
use trochoid::units::Length;

/// Most passes of a trial.
const MOST_PASSES: u32 = 100;

/// A name as a basic string of TOML; a job refuses control characters in names.
fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('\\', "\\\\").replace('"', "\\\""))
}

pub(crate) fn run(arguments: &SpotArguments) -> Result<(), Failure> {
    let session = Session::open(&arguments.job)?;
    let step = session.only();
    // A trial takes no more passes than a card may ask for, however long the step.
    let passes = arguments.passes.unwrap_or_else(|| u32::try_from(step.passes).unwrap_or(u32::MAX).min(MOST_PASSES));
    let paint = step.paint_name.as_deref();
    let mut list = Vec::new();
    let mut unfit: Vec<(&str, String)> = Vec::new();
    let mut stalls: Vec<String> = Vec::new();
    for pad in &session.job.pads {
        for product in &session.job.products {
            let Some(pairing) = session.job.pairing(&pad.name, &product.name, paint) else { continue };
            let mut task = session.task(step);
            // A pad that the tool or the force does not fit is no trial.
            let setup = match task.setup.clone().with_pad(pad.item.clone()) {
                Ok(setup) => setup,
                Err(e) => {
                    unfit.push((&pad.name, e.to_string()));
                    continue;
                }
            };
            task.setup = setup.with_product(pairing.product());
            let run = match spin_state(&task.setup, task.setup.patch(), &session.settings.contact) {
                Ok(run) => run,
                Err(e) => {
                    unfit.push((&pad.name, e.to_string()));
                    continue;
                }
            };
            if run.sticks || run.sums.speed_w <= 0.0 {
                unfit.push((&pad.name, format!("with product `{}` its face sticks and cuts nothing", product.name)));
                continue;
            }
            if task.setup.stalls_at(run.spin, session.settings.useful_spin) {
                let rpm = trochoid::AngularRate::from_rad_s(run.spin).rpm();
                stalls.push(format!(
                    "pad `{}` with `{}` stalls at these settings ({rpm:.0} rpm) and marks the paint: change them first, \
                     `trochoid state` says how",
                    pad.name, product.name
                ));
            }
            let exposed = exposure(&task, passes as usize, &session.settings).ok();
            let preston_per_pa = pairing.product().preston_per_pa();
            list.push(Combination {
                pad: pad.name.clone(),
                product: product.name.clone(),
                preston_per_pa,
                sliding_power_w: run.sums.speed_w,
                predicted_cut: exposed.map(|e| Length::from_m(e * preston_per_pa)),
            });
        }
    }
    let severity = severity(&arguments.defects);
    // A pad that does not fit does so with every product.
    unfit.dedup();
    let named = |u: &(&str, String)| format!("pad `{}`: {}", u.0, u.1);
    if list.is_empty() {
        let why: Vec<String> = unfit.iter().map(named).collect();
        let why = if why.is_empty() { "the job has no pad or no product".to_owned() } else { why.join("; ") };
        return Err(Failure::Unanswered(format!(
            "{}: step `{}`: no pad of the job can be tried at its settings: {why}",
            session.job.file_name, step.name
        )));
    }
    for u in &unfit {
        tell!("note: left out, {}", named(u));
    }
    let (clear, _) = panel_clear(&session.job, &step.panel_name, &step.paint).map_err(|e| session.fail(step, &e))?;
    let (allowed, _) = session.job.budget.policy.allows(clear.mean_m());
    let card = SpotCard::new(&list, severity, passes, Some(Length::from_m(allowed)))
        .map_err(|e| Failure::Unanswered(format!("{}: step `{}`: {e}", session.job.file_name, step.name)))?;
    let mut text = String::new();
    for line in &stalls {
        let _ = writeln!(text, "MIND: {line}.");
    }
    for line in card.lines(CardStyle::Plain) {
        text.push_str(&line);
        text.push('\n');
    }
    text.push_str("\nRecord it in the job, and the plan rests on it:\n\n[[spot]]\nname = \"a name\"\n");
    let _ = writeln!(text, "step = {}\npasses = {passes}", quoted(&step.name));
    text.push_str("swirls_left = \"few\"          # none, few, half, most\nhaze = false\n");
    text.push_str("# pairs_um = [[112.0, 110.0]]   # film before and after at one place, where there is a gauge\n");
    let mut page = String::new();
    for line in &stalls {
        let _ = write!(page, "**Mind:** {line}.\n\n");
    }
    page.push_str(&card.lines(CardStyle::Markdown).join("\n"));
    page.push('\n');
    session.write(&[
        ("spot-card.md".to_owned(), page.into_bytes()),
        ("spot-card.txt".to_owned(), text.clone().into_bytes()),
    ])?;
    if arguments.job.json {
        let trials = trials_json(&card);
        return print_json(&json!({
            "step": step.name, "panel": step.panel_name, "defects": arguments.defects, "passes": passes,
            "allowed_um": allowed * 1e6, "order_reason": card.order_reason, "trials": trials,
            "instructions": card.instructions, "cautions": card.cautions,
        }));
    }
    print_out(&text)
}

fn trials_json(card: &SpotCard) -> Vec<serde_json::Value> {
    card.trials
        .iter()
        .map(|t| {
            json!({
                "pad": t.pad, "product": t.product, "strength": t.strength,
                "predicted_cut_um": t.predicted_cut_m.map(|m| m * 1e6),
                "over_budget": t.over_budget, "reason": t.reason,
            })
        })
        .collect()
}

fn severity(word: &str) -> Severity {
    match word {
        "light" => Severity::Light,
        "heavy" => Severity::Heavy,
        _ => Severity::Moderate,
    }
}
