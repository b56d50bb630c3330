//! Heat, product and pads of a step as JSON and in words, and a season's pads: the terminal and the
//! printable report say the same of them.
//!
//! Shows what `heat`, `wear`, `plan` and `job` computed; decides nothing.

use super::wording::{fixed, percent, three};
use crate::job::{CoreOverJob, PadCourse, PadsInRotation, SeasonPlan, Step};
use crate::plan::{Milder, StepHeat, StepPlan, StepTask};
use crate::units::{Length, Temperature};
use crate::wear::{Activity, RotationOutcome, SeasonCost};
use serde_json::{Value, json};

/// All that `heat` tells of one step.
#[derive(Debug, Clone, Copy)]
pub struct HeatAnswer<'a> {
    /// The step as read.
    pub step: &'a Step,
    /// The step as planned from.
    pub task: &'a StepTask,
    /// Its plan.
    pub plan: &'a StepPlan,
    /// Its heat.
    pub heat: &'a StepHeat,
    /// Milder settings.
    pub milder: &'a [Milder],
    /// The pads that this step alone takes.
    pub pads: &'a PadsInRotation,
    /// Those pads by heat conduction.
    pub courses: &'a [PadCourse],
    /// What other numbers of pads would come to.
    pub cores: &'a [CoreOverJob],
}

fn mm(at: (f64, f64)) -> [f64; 2] {
    [Length::from_m(at.0).mm(), Length::from_m(at.1).mm()]
}

fn place(at: (f64, f64)) -> String {
    let [x, y] = mm(at);
    format!("x {}\u{a0}mm, y {}\u{a0}mm", fixed(x, 0), fixed(y, 0))
}

fn minutes(seconds: f64) -> String {
    let whole = seconds.round();
    format!("{:.0}\u{a0}min {:02.0}\u{a0}s", (whole / 60.0).floor(), whole % 60.0)
}

fn degrees(t: Temperature) -> String {
    format!("{}\u{a0}°C", fixed(t.c(), 1))
}

/// What goes into the panel and into the pad of the friction heat, W.
fn split(h: &StepHeat) -> (f64, f64) {
    let watts = h.pad.friction().w();
    (h.panel_share * watts, (1.0 - h.panel_share) * watts)
}

/// Evaporation of the product's volatile part at the start, g/(m²·min); `None` outside the range of moist air.
fn evaporation(step: &Step, h: &StepHeat) -> Option<f64> {
    let free = h.exposure.free_water_rate().ok()?;
    Some(step.film.relative_evaporation * free.max(0.0) * 1e3 * 60.0)
}

fn activity(a: Activity) -> (&'static str, Option<usize>) {
    match a {
        Activity::Prime => ("prime", None),
        Activity::Work(section) => ("work", Some(section + 1)),
        Activity::Clean(kind) => (kind.name(), None),
        Activity::Dry => ("dry", None),
        Activity::Rest => ("rest", None),
    }
}

/// What happens to the pads, in order of time: pad from 1, what, section from 1, start and end \[s\], core
/// and face at the end.
type PadEventTold = (usize, &'static str, Option<usize>, f64, f64, Temperature, Temperature);

fn events(courses: &[PadCourse]) -> Vec<PadEventTold> {
    let mut out: Vec<PadEventTold> = Vec::new();
    for c in courses {
        for (entry, event) in c.entries.iter().zip(&c.event_of) {
            let Some(last) = c.heat.moments.iter().rfind(|m| m.event == *event) else { continue };
            let (what, section) = activity(entry.activity);
            out.push((c.pad + 1, what, section, entry.start.s(), entry.end.s(), last.core, last.face));
        }
    }
    out.sort_by(|a, b| a.3.total_cmp(&b.3).then(a.0.cmp(&b.0)));
    out
}

/// Most moments of a pad in the JSON.
const MOST_MOMENTS: usize = 400;

fn course_json(c: &PadCourse) -> Value {
    let every = c.heat.moments.len().div_ceil(MOST_MOMENTS).max(1);
    let last = c.heat.moments.len().saturating_sub(1);
    let kept = || c.heat.moments.iter().enumerate().filter(|(i, _)| i % every == 0 || *i == last).map(|(_, m)| m);
    json!({
        "pad": c.pad + 1,
        "time_s": kept().map(|m| c.start_s + m.time_s).collect::<Vec<_>>(),
        "core_c": kept().map(|m| m.core.c()).collect::<Vec<_>>(),
        "face_c": kept().map(|m| m.face.c()).collect::<Vec<_>>(),
        "peak_c": c.heat.peak.hottest().c(),
        "limit_reached_s": c.heat.limit_reached.map(|m| c.start_s + m.time_s),
    })
}

/// Milder settings, each worked again.
fn milder_json(a: &HeatAnswer<'_>) -> Vec<Value> {
    let h = a.heat;
    a.milder
        .iter()
        .map(|m| {
            let o = m.outcome.as_ref().ok();
            json!({
                "kind": m.kind.name(),
                "value": m.value,
                "own_value": m.own_value(a.task),
                "unit": m.kind.unit(),
                "peak_paint_c": o.map(|o| o.peak.c()),
                "peak_change_k": o.map(|o| o.peak.k() - h.peak.surface.k()),
                "cut_um": o.and_then(|o| o.cut).map(Length::um),
                "time_s": o.map(|o| o.time.s()),
                "friction_w": o.map(|o| o.friction_w),
                "reason": m.outcome.as_ref().err(),
            })
        })
        .collect()
}

/// The panel after each pass.
fn passes_json(h: &StepHeat) -> Vec<Value> {
    h.after_passes
        .iter()
        .map(|(pass, moment)| {
            let (sum, hottest) = moment.surface_k.iter().fold((0.0, 0.0_f64), |(s, m), k| (s + k, m.max(*k)));
            let mean = sum / moment.surface_k.len().max(1) as f64;
            json!({
                "pass": pass,
                "time_s": moment.time_s,
                "hottest_c": Temperature::from_k(hottest).c(),
                "mean_c": Temperature::from_k(mean).c(),
            })
        })
        .collect()
}

/// The result of `heat` for one step.
///
/// Friction and its split \[W\], hottest paint \[°C\] with place and time, milder settings, cores of the pads with what
/// happened to them, the film with its working time \[s\], condition of the pad, the binding limit. What does not
/// exist for the step is null; of the moments of a pad at most 400 are kept.
///
/// # Example
/// ```
/// use trochoid::heat::PadSettings;
/// use trochoid::job::{Job, STARTER, pad_courses, pads_in_rotation, step_heats};
/// use trochoid::plan::plan_step;
/// use trochoid::report::{HeatAnswer, heat_answer_words, heat_json};
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let (tasks, mut plans) = ([task], [plan]);
/// let heats = step_heats(&job, &job.steps[..1], &tasks, &mut plans)?;
/// let heat = heats[0].as_ref().expect("the face slides");
/// let pads = pads_in_rotation(&job, &job.steps[..1], &heats)?.expect("it rubs");
/// let courses = pad_courses(&pads, &heats, &pads.worked()?, &PadSettings::default())?;
/// let answer = HeatAnswer {
///     step, task: &tasks[0], plan: &plans[0], heat, milder: &[], pads: &pads, courses: &courses, cores: &[],
/// };
/// let told = heat_json(&answer);
/// // What goes into the panel and into the pad is all the friction.
/// let watts = |key: &str| told["friction"][key].as_f64().unwrap_or(f64::NAN);
/// assert!((watts("into_panel_w") + watts("into_pad_w") - watts("friction_w")).abs() < 1e-9);
/// assert_eq!(heat_answer_words(&answer)[0].0, "Friction");
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn heat_json(a: &HeatAnswer<'_>) -> Value {
    let h = a.heat;
    let (into_panel, into_pad) = split(h);
    let panel = &h.panel;
    let kind = a.pads.job.kinds.first();
    let told: Vec<Value> = events(a.courses)
        .iter()
        .map(|(pad, what, section, start, end, core, face)| {
            json!({
                "pad": pad, "activity": what, "section": section, "start_s": start, "end_s": end,
                "core_c": core.c(), "face_c": face.c(),
            })
        })
        .collect();
    let passed = match &a.pads.outcome {
        RotationOutcome::Enough(_) => Value::Null,
        RotationOutcome::Short(s) => json!({
            "name": s.binds.limit.name(), "value": s.binds.value, "limit": s.binds.allowed,
            "section": s.binds.section + 1, "fresh_pad_passes_it_too": s.fresh_pad_fails,
        }),
    };
    json!({
        "step": a.step.name,
        "panel": a.step.panel_name,
        "friction": {
            "friction_w": h.pad.friction().w(), "into_panel_w": into_panel, "into_pad_w": into_pad,
            "panel_share": h.panel_share,
        },
        "paint": {
            "peak_c": h.peak.surface.c(),
            "peak_at_mm": mm(h.peak.at_m),
            "peak_time_s": h.peak.time_s,
            "drop_through_k": h.peak.surface.k() - h.peak.mean.k(),
            "limit_c": h.limit.c(),
            "limit_reached_s": panel.limit_reached.map(|s| s.time_s),
            "limit_reached_at_mm": panel.limit_reached.map(|s| mm(s.at_m)),
            "rest_before_repeat_s": h.rest.map(crate::units::Time::s),
            "after_passes": passes_json(h),
            "input_j": panel.energy.input_j,
            "stored_j": panel.energy.stored_j,
            "lost_j": panel.energy.lost_j,
            "past_the_edge_j": panel.spilled_j,
            "biot": panel.biot,
        },
        "milder": milder_json(a),
        "pad": {
            "core_limit_c": a.step.core_limit.c(),
            "core_after_section_c": h.core_after_section.c(),
            "core_without_rest_c": h.core_without_rest.c(),
            "pads": a.pads.outcome.enough().map(|r| r.pads.iter().sum::<usize>()),
            "clean_every_sections": kind.map(|k| k.policy.turn),
            "limit_passed": passed,
            "courses": a.courses.iter().map(course_json).collect::<Vec<_>>(),
            "events": told,
            "core_by_pads": a.cores.iter().map(|c| json!({ "pads": c.pads, "peak_core_c": c.peak.c() }))
                .collect::<Vec<_>>(),
        },
        "film": {
            "drops_per_section": h.drops,
            "product_ml": h.product.ml(),
            "thickness_um": h.film.thickness().um(),
            "surface_c": h.exposure.surface().c(),
            "evaporation_g_m2_min": evaporation(a.step, h),
            "section_time_s": h.section_time.s(),
            "working_time_s": h.working_time.map(crate::units::Time::s),
            "gone_share_after_passes": h.film_gone,
            "dries_out_in_pass": h.dry_out.map(|p| p + 1),
        },
        "condition": condition_json(a),
        "binding_limit": a.plan.limits.first().map(|l| json!({
            "name": l.name, "value": l.value, "limit": l.limit, "margin": l.margin, "unit": l.unit,
        })),
    })
}

/// Condition of the pad that is loaded most: before its first section, before that in which it is loaded
/// most, and at the end.
struct Condition {
    wetted_at_first: f64,
    cut_at_first: f64,
    residue_um: f64,
    cut_loaded: f64,
    breakdown: f64,
    life_of_section: f64,
}

fn condition(a: &HeatAnswer<'_>) -> Option<Condition> {
    let kind = a.pads.job.kinds.first()?;
    let course = a.courses.iter().max_by(|x, y| x.after.life_used().total_cmp(&y.after.life_used()))?;
    let (_, first) = course.before.first()?;
    let states = || course.before.iter().map(|b| b.1).chain([course.after]);
    let residue = states().map(|s| s.residue().um()).fold(0.0, f64::max);
    let loaded = states().max_by(|x, y| x.residue().um().total_cmp(&y.residue().um()))?;
    let sections = course.before.len().max(1) as f64;
    Some(Condition {
        wetted_at_first: first.wetted(),
        cut_at_first: first.cut_factor(&kind.laws).pad(),
        residue_um: residue,
        cut_loaded: loaded.cut_factor(&kind.laws).pad(),
        breakdown: course.after.cut_factor(&kind.laws).breakdown,
        life_of_section: course.after.life_used() / sections,
    })
}

fn condition_json(a: &HeatAnswer<'_>) -> Value {
    condition(a).map_or(Value::Null, |c| {
        json!({
            "wetted_share_after_priming": c.wetted_at_first,
            "cut_factor_after_priming": c.cut_at_first,
            "most_residue_um": c.residue_um,
            "cut_factor_most_loaded": c.cut_loaded,
            "breakdown_factor_at_end": c.breakdown,
            "life_used_per_section": c.life_of_section,
            "sections_per_life": Some(1.0 / c.life_of_section).filter(|n| n.is_finite()),
        })
    })
}

/// Heat and product of a planned step in words: what, and the answer.
#[must_use]
pub(crate) fn heat_words(h: &StepHeat) -> Vec<(&'static str, String)> {
    let (panel, pad) = split(h);
    let mut out = vec![
        (
            "Friction",
            format!(
                "{}\u{a0}W: {}\u{a0}W into the paint ({}), {}\u{a0}W into the pad",
                fixed(h.pad.friction().w(), 0),
                fixed(panel, 0),
                percent(h.panel_share),
                fixed(pad, 0)
            ),
        ),
        (
            "Hottest paint",
            format!(
                "{} at {}, after {}; limit {}",
                degrees(h.peak.surface),
                place(h.peak.at_m),
                minutes(h.peak.time_s),
                degrees(h.limit)
            ),
        ),
        (
            "Drop through film and panel",
            format!(
                "{}\u{a0}K between the surface and the mean below it, at that moment",
                three(h.peak.surface.k() - h.peak.mean.k())
            ),
        ),
        (
            "Paint limit",
            h.panel.limit_reached.map_or_else(
                || "not reached".to_owned(),
                |s| format!("REACHED after {} at {}", minutes(s.time_s), place(s.at_m)),
            ),
        ),
        (
            "Rest before a repeat",
            match h.rest {
                Some(t) if t.s() > 0.0 => minutes(t.s()),
                Some(_) => "none needed".to_owned(),
                None => "no rest is long enough to stay below the limit".to_owned(),
            },
        ),
        (
            "Product",
            format!(
                "{}, a film of {}\u{a0}µm; {} a section",
                drops_words(h.drops, h.sections),
                fixed(h.film.thickness().um(), 1),
                minutes(h.section_time.s())
            ),
        ),
    ];
    let lasts = h.working_time.map_or("it does not dry".to_owned(), |t| format!("workable for {}", minutes(t.s())));
    let dry = h.dry_out.map_or_else(
        || {
            let gone = h.film_gone.last().copied().unwrap_or(0.0);
            format!("{} of its volatile part gone at the end", percent(gone))
        },
        |p| format!("IT DRIES OUT in pass {}: more drops, smaller sections or fewer passes", p + 1),
    );
    out.push(("Working time", format!("{lasts} on paint at {}; {dry}", degrees(h.exposure.surface()))));
    out
}

/// Drops on every section, in words.
#[must_use]
pub fn drops_words(drops: u32, sections: usize) -> String {
    let drops = if drops == 1 { "1 drop".to_owned() } else { format!("{drops} drops") };
    if sections == 1 { drops } else { format!("{drops} on each of {sections} sections") }
}

/// What only `heat` tells: evaporation, milder settings, the pads over the step, their condition.
///
/// Evaporation in g/(m² min), temperatures in °C; of what happens to the pads the first 12 lines. See the
/// example of [`heat_json`].
#[must_use]
pub fn heat_answer_words(a: &HeatAnswer<'_>) -> Vec<(&'static str, String)> {
    let h = a.heat;
    let mut out = heat_words(h);
    if let Some(rate) = evaporation(a.step, h) {
        out.push(("Evaporation", format!("{}\u{a0}g a square metre and minute at the start", three(rate))));
    }
    for m in a.milder {
        let words = m.words(a.task);
        out.push((
            "Milder",
            match &m.outcome {
                Ok(o) => format!(
                    "{words}: paint up to {} ({}{}\u{a0}K), {}{}",
                    degrees(o.peak),
                    if o.peak >= h.peak.surface { "+" } else { "" },
                    fixed(o.peak.k() - h.peak.surface.k(), 1),
                    o.cut.map_or(String::new(), |c| format!("cut {}\u{a0}µm, ", fixed(c.um(), 2))),
                    minutes(o.time.s())
                ),
                Err(why) => format!("{words}: no answer: {why}"),
            },
        ));
    }
    out.push((
        "Pad core",
        format!(
            "{} after one section from cold, {} after all {} without a rest; limit {}",
            degrees(h.core_after_section),
            degrees(h.core_without_rest),
            h.sections,
            degrees(a.step.core_limit)
        ),
    ));
    let all = events(a.courses);
    for (pad, what, section, start, end, core, face) in all.iter().filter(|e| e.1 != "rest").take(MOST_EVENTS) {
        out.push((
            "",
            format!(
                "{} to {}: pad {pad} {}: core {}, face {}",
                minutes(*start),
                minutes(*end),
                section.map_or_else(|| format!("({what})"), |s| format!("works section {s}")),
                degrees(*core),
                degrees(*face)
            ),
        ));
    }
    let more = all.iter().filter(|e| e.1 != "rest").count().saturating_sub(MOST_EVENTS);
    if more > 0 {
        out.push(("", format!("and {more} more, all in the JSON")));
    }
    let list: Vec<String> = a.cores.iter().map(|c| format!("{}: {}", c.pads, degrees(c.peak))).collect();
    let peaks = || a.cores.iter().map(|c| c.peak.k());
    let apart = peaks().fold(f64::NEG_INFINITY, f64::max) - peaks().fold(f64::INFINITY, f64::min);
    let words =
        if a.cores.len() > 1 && apart < 0.05 { "more pads do not keep it cooler".to_owned() } else { list.join(", ") };
    out.push(("Core by pads in rotation", words));
    if let Some(c) = condition(a) {
        out.push((
            "Pad condition",
            format!(
                "after priming {} wetted, cut factor {}; at its most loaded {}\u{a0}µm of residue, cut factor {}; \
                 abrasive broken down to {}",
                percent(c.wetted_at_first),
                fixed(c.cut_at_first, 2),
                fixed(c.residue_um, 0),
                fixed(c.cut_loaded, 2),
                fixed(c.breakdown, 2)
            ),
        ));
        let sections = 1.0 / c.life_of_section;
        if sections.is_finite() {
            out.push((
                "Pad life",
                format!(
                    "about {} sections like these (assumed wear laws)",
                    fixed(sections, usize::from(sections < 9.95))
                ),
            ));
        }
    }
    out
}

/// The pads of a job in words: what, and the answer.
///
/// For each kind of pad how many rotate, how often they are cleaned and how hot their cores get; then time and
/// product of the job. Where no number suffices, the limit that is passed instead. See the
/// example of [`pads_in_rotation`](crate::job::pads_in_rotation).
#[must_use]
pub fn pads_words(pads: &PadsInRotation) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = Vec::new();
    match &pads.outcome {
        RotationOutcome::Enough(found) => {
            for ((pad, product), (n, kind)) in pads.kinds.iter().zip(found.pads.iter().zip(&pads.job.kinds)) {
                let every = match kind.policy.turn {
                    1 => "every section".to_owned(),
                    n => format!("every {n} sections"),
                };
                let own = found.sections.iter().filter(|r| pads.job.kinds[r.kind].name == kind.name);
                let hottest = own.map(|r| r.peak_core.k()).max_by(f64::total_cmp);
                let warm = hottest.map_or(String::new(), |k| {
                    let limit = degrees(kind.limits.core);
                    format!(
                        "; core up to some {} (estimate, the picture solves it; limit {limit})",
                        degrees(Temperature::from_k(k))
                    )
                });
                out.push((format!("{pad} with {product}"), format!("{n} in rotation, cleaned {every}{warm}")));
            }
            let clock = minutes(found.time.s());
            out.push(("Time".to_owned(), format!("{clock} in all, with priming, cleaning and moving on")));
            let product = fixed(found.product.ml(), 0);
            out.push(("Product".to_owned(), format!("{product}\u{a0}ml in all, priming included")));
        }
        RotationOutcome::Short(short) => {
            let (pad, product) = &pads.kinds[short.binds.kind];
            let fresh =
                if short.fresh_pad_fails { ", for a fresh pad too: smaller sections or less force" } else { "" };
            out.push((
                format!("{pad} with {product}"),
                format!(
                    "no number of pads suffices: {} {} where {} may be{fresh}",
                    short.binds.limit.name(),
                    fixed(short.binds.value, 2),
                    fixed(short.binds.allowed, 2)
                ),
            ));
        }
    }
    out
}

/// Most lines of what happens to the pads.
const MOST_EVENTS: usize = 12;

fn cost_json(c: &SeasonCost) -> Value {
    json!({
        "pads_bought": c.pads,
        "pads_per_vehicle": c.pads_per_vehicle,
        "pads_money": c.pad_cost,
        "washes_money": c.wash_cost,
        "handling_money": c.time_cost,
        "total_money": c.total,
        "per_vehicle_money": c.per_vehicle,
    })
}

/// A season as JSON; money in the unit of the prices.
///
/// Pads bought, lives, washes and handling of each kind, rotated and, where that is fewer, worn out; cost of the
/// product. See the example of [`season_plan`](crate::job::season_plan).
#[must_use]
pub fn season_json(s: &SeasonPlan) -> Value {
    let season = &s.settings.season;
    let kinds: Vec<Value> = s
        .kinds
        .iter()
        .map(|k| {
            json!({
                "pad": k.pad,
                "product": k.product,
                "pads_in_rotation": k.rotating_pads,
                "lives_per_vehicle": k.rotating.lives_per_vehicle,
                "washes_per_vehicle": k.rotating.washes_per_vehicle,
                "handling_s_per_vehicle": k.rotating.handling_per_vehicle.s(),
                "rotating": cost_json(&k.cost),
                "few": k.few.as_ref().map(|f| json!({
                    "pads": f.pads,
                    "lives_per_vehicle": f.strategy.lives_per_vehicle,
                    "hottest_core_c": f.hottest_core.c(),
                    "wearing_out": cost_json(&f.comparison.wearing_out),
                    "even_pad_price_money": f.comparison.even_price,
                    "even_vehicles": f.comparison.even_vehicles,
                })),
            })
        })
        .collect();
    json!({
        "vehicles": season.vehicles(),
        "kinds": kinds,
        "pads_per_vehicle": s.pads_per_vehicle(),
        "pads_per_vehicle_money": s.pads_cost(),
        "product_ml_per_vehicle": s.product.ml(),
        "product_per_vehicle_money": s.product_cost(),
    })
}

fn money(value: f64) -> String {
    fixed(value, 2)
}

/// A season in words: what, and the answer.
///
/// The same numbers as [`season_json`]; see the example of [`season_plan`](crate::job::season_plan).
#[must_use]
pub fn season_words(s: &SeasonPlan) -> Vec<(String, String)> {
    let season = &s.settings.season;
    let mut out = vec![(
        "Season".to_owned(),
        format!(
            "{} vehicles like this job ({} a week, {} weeks): each takes {} pads, and {} of money for pads, washing and handling",
            season.vehicles(),
            season.vehicles_per_week,
            season.weeks,
            three(s.pads_per_vehicle()),
            money(s.pads_cost())
        ),
    )];
    if let Some(cost) = s.product_cost() {
        out.push((
            "Product".to_owned(),
            format!("{}\u{a0}ml a vehicle, {} of money", fixed(s.product.ml(), 1), money(cost)),
        ));
    }
    for k in &s.kinds {
        let who = format!("{} with {}", k.pad, k.product);
        out.push((
            who.clone(),
            format!(
                "{} in rotation: {} bought, {} of money in all, {} a vehicle",
                k.rotating_pads,
                fixed(k.cost.pads, 0),
                money(k.cost.total),
                money(k.cost.per_vehicle)
            ),
        ));
        let Some(f) = &k.few else {
            out.push((who, format!("no comparison with {} at a time: they are not fewer", s.settings.few_pads)));
            continue;
        };
        let (a, b) = (&f.comparison.rotating, &f.comparison.wearing_out);
        let cheaper = if a.total < b.total { "rotating is cheaper" } else { "wearing out few is not dearer" };
        let even = match f.comparison.even_price {
            Some(p) => format!("both cost the same at {} a pad", money(p)),
            None => "no price of a pad makes both cost the same".to_owned(),
        };
        let from = f.comparison.even_vehicles.map_or_else(
            || "rotating does not pay within the season".to_owned(),
            |n| format!("rotating pays from vehicle {n} on"),
        );
        out.push((
            who,
            format!(
                "{} at a time, worn out: core up to {}, {} bought, {} of money in all, {} a vehicle; {cheaper}; {even}; {from}",
                f.pads,
                degrees(f.hottest_core),
                fixed(b.pads, 0),
                money(b.total),
                money(b.per_vehicle)
            ),
        ));
    }
    out
}

/// Cautions of heat, in words.
pub const HEAT_CAUTIONS: [&str; 3] = [
    "Hot paint, pads and plastics burn skin and give way: feel the panel often with the back of the hand, and let it cool.",
    "Plastics and edges run hotter than the flat metal beside them; the limit of the maker of paint and part holds.",
    "Never leave a loaded, hot pad running on one spot; lift only when the pad has stopped.",
];
