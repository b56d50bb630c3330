//! Tables of the paint budget and of test spots, and the keys that say what is wrong with a panel.

use super::equipment::Notes;
use super::file::check_name;
use super::keys::{BUDGET, SPOT};
use super::model::{Step, TestSpotRecord};
use super::problem::Problem;
use super::reader::{Table, list, report_default};
use super::real_panel::beside;
use super::resolve::Inventory;
use crate::budget::{
    ClearShare, FilmPart, GaugeReading, Look, PairedReading, Policy, SwirlsLeft, read_gauge_table, substrate_word,
};
use crate::equipment::within;
use crate::finish::{Defect, EDGE_PASS_SHARE, EDGE_STRIP_MM, EdgeRule, Face, GlossAngle, GlossReading, Grit};
use crate::spin::CountedSpin;
use crate::units::{Length, Temperature, Volume};
use crate::wear::{FilmProduct, FrictionRise, PadLimits};
use core::ops::Range;
use std::io::Read;
use toml::de::DeValue;

/// Least spread of a removal coefficient that a test spot can say something of.
const LEAST_REL_SD: f64 = 0.005;
/// Most test spots of a job.
const MOST_SPOTS: usize = 64;
/// Most strange panels that a warning names.
const MOST_NAMED: usize = 8;
/// Largest table of gauge readings, bytes.
const MAX_READINGS_BYTES: u64 = 16 * 1024 * 1024;

/// `[budget]` of a job: how much of the clear coat may go, and what was read of the film.
#[derive(Debug, Clone, PartialEq)]
pub struct BudgetSettings {
    /// How much may go.
    pub policy: Policy,
    /// Share of a total film that is clear coat.
    pub clear_share: ClearShare,
    /// Standard deviation of a stated clear coat \[1\], share of it, 0.01 to 1; 0.2 by default.
    pub clear_rel_sd: f64,
    /// Readings of the film gauge.
    pub readings: Vec<GaugeReading>,
    /// Share \[1\] of the marks that is to be gone to the eye, 0 to 0.999; 0.9 by default.
    pub target_correction: f64,
    /// Fewer passes along edges and body lines.
    pub edges: EdgeRule,
}

/// Relative standard deviation of a stated clear coat where none is given: 30 to 60 µm is common for one
/// called 45 µm (common practice, no source), nine times in ten.
const CLEAR_REL_SD: f64 = 0.2;
/// Uncertainty and resolution of a film gauge where none is given, µm (common practice, no source).
pub(super) const GAUGE_UM: f64 = 1.0;
/// Scatter of a gloss reading where none is given, GU (assumed).
pub(super) const GLOSS_UNCERTAINTY: f64 = 1.0;

impl Default for BudgetSettings {
    fn default() -> Self {
        Self {
            policy: Policy::default(),
            clear_share: ClearShare::default(),
            clear_rel_sd: CLEAR_REL_SD,
            readings: Vec::new(),
            target_correction: 0.9,
            edges: EdgeRule::default(),
        }
    }
}

/// Reads `[budget]`; the defaults where it is missing.
pub(super) fn budget(
    root: &Table<'_>,
    inventory: &Inventory<'_>,
    notes: &mut Notes,
) -> Result<BudgetSettings, Problem> {
    let Some(t) = root.table("budget", &BUDGET)? else {
        for key in BUDGET.keys {
            report_default(&mut notes.resolved, &BUDGET, key.name, BUDGET.path_of(key.name));
        }
        return Ok(BudgetSettings::default());
    };
    let mut out = BudgetSettings::default();
    let share = t.number("share_of_clear")?.unwrap_or(Policy::USUAL_SHARE);
    let share = t.ranged(within("share_of_clear", share, 0.0, 1.0, ""))?;
    let um = |key: &'static str| -> Result<Option<Length>, Problem> {
        let given = t.number(key)?.map(|v| t.ranged(within(key, v, 0.0, 1000.0, "µm"))).transpose()?;
        Ok(given.map(Length::from_um))
    };
    let cap = um("cap_um")?.unwrap_or(Length::from_um(Policy::USUAL_CAP_UM));
    out.policy = t.ranged(Policy::new(share, Some(cap), um("floor_um")?))?;
    if let Some((low, high)) = t.pair("clear_share_of_film", "two shares of the total film, [low, high]")? {
        out.clear_share = t.ranged(ClearShare::between(low, high)).map_err(|_| {
            t.problem("clear_share_of_film", format!("{low} to {high} is no range of a share"))
                .with_allowed("0.02 to 0.98, the lower one first")
        })?;
    }
    if let Some(sd) = t.number("clear_rel_sd")? {
        out.clear_rel_sd = t.ranged(within("clear_rel_sd", sd, 0.01, 1.0, ""))?;
    }
    if let Some(share) = t.number("target_correction")? {
        out.target_correction = t.ranged(within("target_correction", share, 0.0, 0.999, ""))?;
    }
    let share = t.number("edge_share")?.unwrap_or(EDGE_PASS_SHARE);
    let share = t.ranged(within("edge_share", share, 0.0, 1.0, ""))?;
    let strip = t.number("edge_strip_mm")?.unwrap_or(EDGE_STRIP_MM);
    let strip = Length::from_mm(t.ranged(within("edge_strip_mm", strip, 0.0, 500.0, "mm"))?);
    out.edges = t.ranged(EdgeRule::new(share, strip))?;
    if let Some(name) = t.text("readings_file")? {
        let path = beside(&t, "readings_file", name)?;
        let cannot =
            |why: String| t.problem("readings_file", why).with_allowed("a text table of at most 16 MiB beside the job");
        let file = std::fs::File::open(&path).map_err(|e| cannot(format!("{name} cannot be read: {e}")))?;
        let mut bytes = Vec::new();
        file.take(MAX_READINGS_BYTES + 1)
            .read_to_end(&mut bytes)
            .map_err(|e| cannot(format!("{name} cannot be read: {e}")))?;
        if bytes.len() as u64 > MAX_READINGS_BYTES {
            return Err(cannot(format!("{name} is larger than 16 MiB")));
        }
        let text = String::from_utf8(bytes).map_err(|_| cannot(format!("{name} is not UTF-8 text")))?;
        out.readings = read_gauge_table(name, &text).map_err(|e| t.problem("readings_file", e.to_string()))?;
        match_readings(&t, name, &text, &out.readings, inventory, notes)?;
    }
    t.report(&mut notes.resolved, &[]);
    Ok(out)
}

/// Checks film readings against the panels they name: one substrate a panel, and a warning for what
/// would otherwise be left aside without a word.
fn match_readings(
    t: &Table<'_>,
    file: &str,
    text: &str,
    readings: &[GaugeReading],
    inventory: &Inventory<'_>,
    notes: &mut Notes,
) -> Result<(), Problem> {
    // Every line that is not blank holds one reading, but for the header.
    let line = |reading: usize| {
        text.lines().enumerate().filter(|(_, l)| !l.trim().is_empty()).nth(reading + 1).map_or(0, |(i, _)| i + 1)
    };
    for panel in &inventory.panels {
        let mut of = readings.iter().enumerate().filter(|(_, r)| r.panel() == panel.name);
        let Some((_, first)) = of.next() else { continue };
        let word = substrate_word(first.substrate());
        if let Some((i, other)) = of.find(|(_, r)| r.substrate() != first.substrate()) {
            let message = format!(
                "{file}:{}: column substrate: panel `{}` is read on {} here and on {word} before",
                line(i),
                panel.name,
                substrate_word(other.substrate())
            );
            return Err(t.problem("readings_file", message).with_allowed("one substrate for all readings of a panel"));
        }
        let paint = match panel.table.text("paint")? {
            Some(name) => inventory.paints.iter().find(|p| p.name == name),
            None => None,
        };
        if let Some(paint) = paint.filter(|p| p.table.has("substrate") && p.item.substrate() != first.substrate()) {
            notes.warnings.push(format!(
                "{file}: panel `{}` is read on {word}, but its paint `{}` says {}",
                panel.name,
                paint.name,
                substrate_word(paint.item.substrate())
            ));
        }
        let tells = |r: &GaugeReading| matches!(r.part(), FilmPart::Total | FilmPart::Clear);
        if !readings.iter().any(|r| r.panel() == panel.name && tells(r)) {
            notes.warnings.push(format!(
                "{file}: no reading of panel `{}` is of its total film or its clear coat, so its clear coat is that of the paint",
                panel.name
            ));
        }
    }
    let mut strange: Vec<&str> =
        readings.iter().map(GaugeReading::panel).filter(|r| inventory.panels.iter().all(|p| p.name != *r)).collect();
    strange.sort_unstable();
    strange.dedup();
    if !strange.is_empty() {
        let more = strange.len().saturating_sub(MOST_NAMED);
        strange.truncate(MOST_NAMED);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        notes.warnings.push(format!(
            "{file}: no panel of the job is named {}{more}; these readings are left aside",
            super::problem::one_line(&list(strange.into_iter()))
        ));
    }
    Ok(())
}

/// Defects of a panel: a list of words; sanding marks carry their grit, as in "sanding marks P2000".
pub(super) fn defects(t: &Table<'_>) -> Result<Vec<Defect>, Problem> {
    const WORDS: [&str; 9] = [
        "swirl_marks",
        "random_deep_scratches",
        "etching",
        "sanding_marks GRIT",
        "dent",
        "scratch_to_primer",
        "cracks",
        "stone_chip",
        "clear_coat_failure",
    ];
    let key = "defects";
    let expected = "a list of words";
    let Some(items) = t.array(key, expected)? else { return Ok(Vec::new()) };
    if items.len() > 32 {
        return Err(t
            .problem(key, format!("`{}` has {} entries", t.path_of(key), items.len()))
            .with_allowed("at most 32"));
    }
    let mut out = Vec::new();
    for item in items {
        let DeValue::String(word) = item.get_ref() else {
            return Err(t.wrong_type(key, expected));
        };
        let refused = |why: &str| {
            t.problem(key, format!("`{}` holds \"{}\"{why}", t.path_of(key), super::problem::one_line(word)))
                .with_allowed(list(WORDS.iter().copied()))
        };
        let defect = match word.as_ref() {
            "swirl_marks" => Defect::SwirlMarks,
            "random_deep_scratches" => Defect::RandomDeepScratches,
            "etching" => Defect::Etching,
            "dent" => Defect::Dent,
            "scratch_to_primer" => Defect::ScratchToPrimer,
            "cracks" => Defect::Cracks,
            "stone_chip" => Defect::StoneChip,
            "clear_coat_failure" => Defect::ClearCoatFailure,
            other => match other.strip_prefix("sanding_marks ") {
                Some(grit) => {
                    Defect::SandingMarks(grit.trim().parse::<Grit>().map_err(|e| refused(&format!(": {e}")))?)
                }
                None => return Err(refused("")),
            },
        };
        if !out.contains(&defect) {
            out.push(defect);
        }
    }
    Ok(out)
}

/// Grain of a product, where it is given.
pub(super) fn grain(t: &Table<'_>) -> Result<Option<Length>, Problem> {
    let given = t.number("grain_um")?.map(|v| t.ranged(within("grain_um", v, 0.01, 100.0, "µm"))).transpose()?;
    Ok(given.map(Length::from_um))
}

/// Face of a pad.
pub(super) fn face(t: &Table<'_>) -> Result<Face, Problem> {
    Ok(match t.choice("face", &["cutting_foam", "finishing_foam", "fibre"])? {
        Some("finishing_foam") => Face::FinishingFoam,
        Some("fibre") => Face::Fibre,
        _ => Face::CuttingFoam,
    })
}

/// A product as it dries.
pub(super) fn film(t: &Table<'_>) -> Result<FilmProduct, Problem> {
    let mut film = FilmProduct::default();
    if let Some(share) = t.number("water_share")? {
        film.volatile_share = t.ranged(within("water_share", share, 0.01, 1.0, ""))?;
    }
    if let Some(ml) = t.number("drop_ml")? {
        film.drop = Volume::from_ml(t.ranged(within("drop_ml", ml, 0.01, 5.0, "ml"))?);
    }
    if let Some(rise) = t.number("dry_friction_rise")? {
        let amplitude = t.ranged(within("dry_friction_rise", rise, 0.0, 5.0, ""))?;
        film.friction_rise = Some(FrictionRise { amplitude, ..FrictionRise::default() });
    }
    Ok(film)
}

/// Drops on a section.
pub(super) fn drops(t: &Table<'_>) -> Result<Option<u32>, Problem> {
    if !t.has("drops") {
        return Ok(None);
    }
    Ok(u32::try_from(t.need_whole("drops", 1, 200)?).ok())
}

/// Highest core temperature of a pad.
pub(super) fn core_limit(t: &Table<'_>) -> Result<Temperature, Problem> {
    match t.number("core_limit_c")? {
        Some(c) => Ok(Temperature::from_c(t.ranged(within("core_limit_c", c, 25.0, 150.0, "°C"))?)),
        None => Ok(PadLimits::default().core),
    }
}

/// Refuses a core limit that the air alone passes.
pub(super) fn core_limit_above(t: &Table<'_>, air: Temperature) -> Result<(), Problem> {
    let limit = core_limit(t)?;
    if limit > air {
        return Ok(());
    }
    Err(t
        .problem("core_limit_c", format!("the pad's core may be {} °C, and the air is as warm", limit.c()))
        .with_allowed(format!("above ambient.temperature_c, {} °C", air.c())))
}

/// Sections after which a pad is cleaned.
pub(super) fn clean_every(t: &Table<'_>) -> Result<Option<usize>, Problem> {
    if t.has("clean_every") { t.need_whole("clean_every", 1, 1000).map(Some) } else { Ok(None) }
}

/// Reads the `[[spot]]` tables; each speaks of a step or brings settings of its own, which come back
/// beside them.
pub(super) fn spots(
    root: &Table<'_>,
    inventory: &Inventory<'_>,
    steps: &[Step],
    notes: &mut Notes,
) -> Result<(Vec<TestSpotRecord>, Vec<Step>), Problem> {
    let (source, mut own) = (root.source, Vec::new());
    let Some(items) = root.array("spot", "test spots headed [[spot]]")? else { return Ok((Vec::new(), own)) };
    if items.len() > MOST_SPOTS {
        return Err(root
            .problem("spot", format!("the job has {} test spots", items.len()))
            .with_allowed(format!("at most {MOST_SPOTS}")));
    }
    let mut out: Vec<TestSpotRecord> = Vec::with_capacity(items.len());
    for (number, value) in items.iter().enumerate() {
        let span: Range<usize> = value.span();
        let t = Table::open(source, &SPOT, format!("spot#{}", number + 1), &span, value)?;
        out.push(spot(&t, inventory, steps, &mut own, notes)?);
        let name = &out[number].name;
        if out[..number].iter().any(|s| s.name == *name) {
            return Err(t.problem("name", format!("two test spots are named \"{}\"", super::problem::one_line(name))));
        }
    }
    Ok((out, own))
}

/// Keys with which a test spot brings its own settings.
const OWN_KEYS: [&str; 8] = ["tool", "pad", "product", "panel", "force_n", "orbit_rate_opm", "feed_mm_s", "overlap"];

/// The step whose settings a test spot has: the one it names, or its own.
fn spot_step<'s>(
    t: &Table<'_>,
    name: &str,
    inventory: &Inventory<'_>,
    steps: &'s [Step],
    own: &'s mut Vec<Step>,
    notes: &mut Notes,
) -> Result<&'s Step, Problem> {
    if t.has("step") {
        if let Some(stray) = OWN_KEYS.iter().find(|k| t.has(k)) {
            return Err(t
                .problem(stray, format!("`{}` stands beside `step`, whose settings the spot has", t.path_of(stray)))
                .with_allowed("step, or settings of its own"));
        }
        let step_name = t.need_text("step")?;
        return steps.iter().find(|s| s.name == step_name).ok_or_else(|| {
            let message = format!(
                "`{}` names \"{}\", but there is no such step",
                t.path_of("step"),
                super::problem::one_line(step_name)
            );
            let names: Vec<&str> = steps.iter().map(|s| s.name.as_str()).collect();
            t.suggest("step", &message, step_name, names.into_iter())
        });
    }
    if !OWN_KEYS.iter().any(|k| t.has(k)) {
        return Err(t
            .missing("step", "")
            .with_help(format!("name the step whose settings were used, or give them: {}", OWN_KEYS.join(", "))));
    }
    own.push(inventory.spot_step(t, name, notes)?);
    Ok(&own[own.len() - 1])
}

fn spot(
    t: &Table<'_>,
    inventory: &Inventory<'_>,
    steps: &[Step],
    own: &mut Vec<Step>,
    notes: &mut Notes,
) -> Result<TestSpotRecord, Problem> {
    let name = t.need_text("name")?;
    if let Err(why) = check_name(name) {
        return Err(t.problem("name", "a test spot cannot have this name").with_allowed(why));
    }
    let step = spot_step(t, name, inventory, steps, own, notes)?;
    let (sd, preston) = (step.pairing.preston_rel_sd(), step.pairing.product().preston_per_pa());
    if sd < LEAST_REL_SD || preston <= 0.0 {
        let (what, value) = if preston > 0.0 { ("preston_rel_sd", sd) } else { ("preston_per_pa", preston) };
        let message = format!(
            "`{}` names a step of pad `{}` and product `{}` with {what} = {value}: there is nothing to calibrate",
            t.path_of("step"),
            step.pad_name,
            step.product_name
        );
        return Err(t
            .problem("step", message)
            .with_allowed(format!("a step with preston_per_pa above 0 and preston_rel_sd from {LEAST_REL_SD} to 3")));
    }
    let passes = if t.has("passes") { t.need_whole("passes", 1, 1000)? } else { step.passes };
    let um = |key: &'static str, otherwise: f64, low: f64, high: f64| -> Result<Length, Problem> {
        let v = t.number(key)?.unwrap_or(otherwise);
        Ok(Length::from_um(t.ranged(within(key, v, low, high, "µm"))?))
    };
    let (uncertainty, resolution) =
        (um("gauge_uncertainty_um", GAUGE_UM, 0.01, 500.0)?, um("gauge_resolution_um", GAUGE_UM, 0.01, 50.0)?);
    #[allow(clippy::cast_possible_truncation)] // at most 1000
    let averaged = if t.has("readings_averaged") { t.need_whole("readings_averaged", 1, 1000)? as u32 } else { 1 };
    let expected = "pairs of film readings, each [before, after] in µm";
    let mut pairs = Vec::new();
    if let Some(items) = t.array("pairs_um", expected)? {
        if items.len() > 100 {
            return Err(t.problem("pairs_um", format!("{} pairs are given", items.len())).with_allowed("at most 100"));
        }
        for item in items {
            let pair = t.numbers_in("pairs_um", t.array_in("pairs_um", item, expected)?, expected)?;
            let [before, after] = pair.as_slice() else {
                return Err(t
                    .problem("pairs_um", format!("a pair holds {} numbers", pair.len()))
                    .with_allowed(expected));
            };
            let made = PairedReading::new(
                Length::from_um(*before),
                Length::from_um(*after),
                uncertainty,
                resolution,
                averaged,
            );
            pairs.push(made.map_err(|e| {
                t.problem("pairs_um", format!("{} = {} {}", e.what, e.value, e.unit)).with_allowed(e.allowed)
            })?);
        }
    }
    let seen = t.choice("swirls_left", &["none", "few", "half", "most"])?;
    let left = seen.map(|w| match w {
        "none" => SwirlsLeft::None,
        "few" => SwirlsLeft::Few,
        "half" => SwirlsLeft::Half,
        _ => SwirlsLeft::Most,
    });
    let haze = t.flag("haze")?;
    let count = count(t)?;
    let gloss = gloss(t)?;
    if pairs.is_empty() && left.is_none() && count.is_none() {
        let what = if gloss.is_some() {
            "this test spot records nothing of the cut: gloss speaks of the finish only"
        } else {
            "this test spot records nothing"
        };
        return Err(t
            .problem("name", what)
            .with_allowed("at least one of pairs_um, swirls_left, counted_turns with counted_seconds"));
    }
    // Nothing rests on how a gloss is read where none was.
    let unused: &[&str] = if gloss.is_some() { &[] } else { &["gloss_angle_deg", "gloss_uncertainty"] };
    t.report(&mut notes.resolved, unused);
    #[allow(clippy::cast_possible_truncation)] // at most 1000
    let look = left.map(|left| Look { passes: passes as u32, left, haze: haze.unwrap_or(false) });
    if gloss.is_some() && step.grain.is_none() {
        notes.warnings.push(format!(
            "`{}` has no effect: product `{}` has no grain_um, so there is no roughness to compare it with",
            t.path_of("gloss"),
            step.product_name
        ));
    }
    Ok(TestSpotRecord { name: name.to_owned(), step_name: step.name.clone(), passes, pairs, look, count, gloss })
}

/// Counted rotation at a test spot.
fn count(t: &Table<'_>) -> Result<Option<CountedSpin>, Problem> {
    Ok(match (t.number("counted_turns")?, t.number("counted_seconds")?) {
        (Some(turns), Some(seconds)) => Some(CountedSpin::new(turns, seconds).map_err(|e| {
            let key = if e.what == "counted_spin.turns" { "counted_turns" } else { "counted_seconds" };
            t.problem(key, format!("`{}` is out of range", t.path_of(key)))
                .with_allowed(format!("{} {}", e.allowed, e.unit))
        })?),
        (None, None) => None,
        (Some(_), None) => return Err(t.missing("counted_seconds", " beside counted_turns")),
        (None, Some(_)) => return Err(t.missing("counted_turns", " beside counted_seconds")),
    })
}

/// Gloss of a test spot: `[before, after]`, or `[after]` alone.
fn gloss(t: &Table<'_>) -> Result<Option<GlossReading>, Problem> {
    let expected = "gloss [before, after] in gloss units, or [after]";
    let angle = match t.number("gloss_angle_deg")? {
        None | Some(20.0) => GlossAngle::Twenty,
        Some(60.0) => GlossAngle::Sixty,
        Some(85.0) => GlossAngle::EightyFive,
        Some(other) => {
            return Err(t
                .problem("gloss_angle_deg", format!("`{}` = {other}", t.path_of("gloss_angle_deg")))
                .with_allowed("20, 60 or 85 (ISO 2813)"));
        }
    };
    let sd = t.number("gloss_uncertainty")?.unwrap_or(GLOSS_UNCERTAINTY);
    let sd = t.ranged(within("gloss_uncertainty", sd, 0.3, 20.0, "GU"))?;
    let Some(items) = t.array("gloss", expected)? else { return Ok(None) };
    let (before, after) = match t.numbers_in("gloss", items, expected)?.as_slice() {
        [after] => (None, *after),
        [before, after] => (Some(*before), *after),
        other => {
            return Err(t
                .problem("gloss", format!("`{}` holds {} numbers", t.path_of("gloss"), other.len()))
                .with_allowed(expected));
        }
    };
    GlossReading::new(before, after, sd, angle)
        .map(Some)
        .map_err(|e| t.problem("gloss", format!("{} = {} {}", e.what, e.value, e.unit)).with_allowed(e.allowed))
}
