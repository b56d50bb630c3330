//! Names into things: pairings, counted rotations and steps, each with the tables it speaks of.

use super::equipment::Notes;
use super::file::{Found, check_name, into_named};
use super::keys::{COUNTED_SPIN, HOLD, STEP};
use super::model::{Named, PairingRule, SpinCount, Step, pairing_for};
use super::paint_tables;
use super::panel::Described;
use super::phases::{self, Whole};
use super::problem::{Problem, one_line};
use super::reader::{Source, Table, Value, list, out_of_range, report_derived, segment};
use super::route::{self, PATTERNS};
use crate::contact::Hold;
use crate::equipment::{Drive, Pad, Paint, Pairing, Product, Tool, defaults, within};
use crate::error::RangeError;
use crate::motion::{Face, PathOptions, Pattern, Steady, Turn};
use crate::panel::Patch;
use crate::spin::{CountedSpin, Setup};
use crate::units::{Angle, AngularRate, Force, Length, Speed};
use core::f64::consts::PI;
use core::ops::Range;
use std::collections::HashMap;

/// Smallest force on the face that a set-up takes, N.
const LEAST_FORCE_N: f64 = 0.1;
/// Largest force of a hand or on a face, N.
const LARGEST_FORCE_N: f64 = 2000.0;

/// Everything named in the job, with its tables.
#[derive(Clone)]
pub(super) struct Inventory<'a> {
    pub(super) tools: Vec<Found<'a, Tool>>,
    pub(super) pads: Vec<Found<'a, Pad>>,
    pub(super) products: Vec<Found<'a, Product>>,
    pub(super) paints: Vec<Found<'a, Paint>>,
    pub(super) panels: Vec<Found<'a, Described>>,
    pub(super) pairings: Vec<Named<PairingRule>>,
}

/// The thing that `t.key` names.
fn named<'r, 'a, T>(
    t: &Table<'_>,
    key: &str,
    things: &'r [Found<'a, T>],
    kind: &str,
) -> Result<&'r Found<'a, T>, Problem> {
    let name = t.need_text(key)?;
    things.iter().find(|r| r.name == name).ok_or_else(|| {
        let message =
            format!("`{}` names \"{}\", but there is no [{kind}.{}]", t.path_of(key), one_line(name), segment(name));
        let problem = t.suggest(key, &message, name, things.iter().map(|r| r.name));
        if things.is_empty() {
            problem.with_help(format!("define it under [{kind}.{}]", segment(name)))
        } else {
            problem
        }
    })
}

fn named_if_given<'r, 'a, T>(
    t: &Table<'_>,
    key: &str,
    things: &'r [Found<'a, T>],
    kind: &str,
) -> Result<Option<&'r Found<'a, T>>, Problem> {
    if t.has(key) { named(t, key, things, kind).map(Some) } else { Ok(None) }
}

/// Force on the face, what the hand gives of it, and the key that said so.
pub(super) struct Press {
    pub(super) force: f64,
    pub(super) hand: Option<f64>,
    pub(super) key: &'static str,
}

impl<'a> Inventory<'a> {
    /// Reads `[pairing.NAME]`.
    pub(super) fn pairing(&self, t: &Table<'_>, notes: &mut Notes) -> Result<PairingRule, Problem> {
        let pad = named(t, "pad", &self.pads, "pad")?;
        let product = named(t, "product", &self.products, "product")?;
        let paint = named_if_given(t, "paint", &self.paints, "paint")?;
        let (friction, preston) = (t.number("friction")?, t.number("preston_per_pa")?);
        let sd = t.number("preston_rel_sd")?;
        if friction.is_none() && preston.is_none() && sd.is_none() {
            notes.warnings.push(t.warning("pad", "belongs to a pairing that overrides nothing"));
        }
        let effective = t.ranged(Product::new(
            friction.unwrap_or(product.item.friction()),
            preston.unwrap_or(product.item.preston_per_pa()),
        ))?;
        let pairing = t.ranged(Pairing::new(effective, sd.unwrap_or(defaults::PRESTON_REL_SD)))?;
        t.report(&mut notes.resolved, &[]);
        Ok(PairingRule {
            pad: pad.name.to_owned(),
            product: product.name.to_owned(),
            paint: paint.map(|p| p.name.to_owned()),
            pairing,
        })
    }

    /// Takes the pairings in; two for the same pad, product and paint could not be told apart.
    pub(super) fn set_pairings(&mut self, pairings: Vec<Found<'_, PairingRule>>) -> Result<(), Problem> {
        let mut seen: HashMap<(&str, &str, Option<&str>), &Found<'_, PairingRule>> = HashMap::new();
        for p in &pairings {
            let rule = &p.item;
            if let Some(first) = seen.insert((&rule.pad, &rule.product, rule.paint.as_deref()), p) {
                return Err(p
                    .table
                    .problem(
                        "pad",
                        format!(
                            "[{}] and [{}] (line {}) are for the same pad, product and paint, so neither can hold",
                            p.table.path,
                            first.table.path,
                            first.table.line()
                        ),
                    )
                    .with_help("keep one of them, or give them different paints"));
            }
        }
        self.pairings = into_named(pairings);
        Ok(())
    }

    /// Every panel's paint must exist, used or not.
    pub(super) fn check_panel_paints(&self) -> Result<(), Problem> {
        self.panels.iter().try_for_each(|p| named_if_given(&p.table, "paint", &self.paints, "paint").map(|_| ()))
    }

    /// Reads `[tool.NAME.counted_spin]` of every free tool.
    pub(super) fn counted_spins(&self, notes: &mut Notes) -> Result<Vec<SpinCount>, Problem> {
        let mut out = Vec::new();
        for tool in self.tools.iter().filter(|t| matches!(t.item.drive(), Drive::Free(_))) {
            let Some(t) = tool.table.table("counted_spin", &COUNTED_SPIN)? else { continue };
            let count = t.ranged(CountedSpin::new(t.need_number("turns")?, t.need_number("seconds")?))?;
            let pad = named(&t, "pad", &self.pads, "pad")?;
            let product = named(&t, "product", &self.products, "product")?;
            let paint = named_if_given(&t, "paint", &self.paints, "paint")?;
            let force = t.ranged(within("force_n", t.need_number("force_n")?, LEAST_FORCE_N, LARGEST_FORCE_N, "N"))?;
            let rated = match t.number("orbit_rate_opm")? {
                Some(opm) => t.ranged(tool.item.clone().at_rate(AngularRate::from_opm(opm)))?,
                None => tool.item.clone(),
            };
            let rule = pairing_for(&self.pairings, pad.name, product.name, paint.map(|p| p.name));
            let effective = rule.map_or(product.item, |r| r.item.pairing.product());
            let setup = Setup::new(rated, pad.item.clone(), effective, Patch::flat(), Force::from_n(force))
                .map_err(|e| out_of_range(&[&t, &tool.table], &e))?;
            carries(&t, "force_n", &setup)?;
            t.report(&mut notes.resolved, &[]);
            out.push(SpinCount {
                tool_name: tool.name.to_owned(),
                pad_name: pad.name.to_owned(),
                product_name: product.name.to_owned(),
                paint_name: paint.map(|p| p.name.to_owned()),
                count,
                setup,
            });
        }
        Ok(out)
    }

    /// Reads the steps.
    pub(super) fn steps(
        &self,
        source: Source<'a>,
        items: &[(Range<usize>, &'a Value<'a>)],
        notes: &mut Notes,
    ) -> Result<Vec<Step>, Problem> {
        let mut out = Vec::with_capacity(items.len());
        let mut lines: HashMap<String, usize> = HashMap::new();
        for (number, (span, value)) in items.iter().enumerate() {
            // Until its name is known, a step is told by its number.
            let mut t = Table::open(source, &STEP, format!("step#{}", number + 1), span, value)?;
            let name = t.need_text("name")?;
            if let Err(why) = check_name(name) {
                return Err(t.problem("name", "a step cannot have this name").with_allowed(why));
            }
            t.path = format!("step.{}", segment(name));
            if let Some(first) = lines.insert(name.to_owned(), t.line()) {
                return Err(t
                    .problem(
                        "name",
                        format!("two steps are named \"{}\"; the first one is on line {first}", one_line(name)),
                    )
                    .with_allowed("a name of its own for every step"));
            }
            out.push(self.step(&t, name, notes)?);
        }
        Ok(out)
    }

    /// Reads the settings of a test spot that names no step: those of a step without its pattern.
    pub(super) fn spot_step(&self, t: &Table<'_>, name: &str, notes: &mut Notes) -> Result<Step, Problem> {
        self.step(t, name, notes)
    }

    /// Reads one step.
    pub(super) fn step(&self, t: &Table<'_>, name: &str, notes: &mut Notes) -> Result<Step, Problem> {
        let start = notes.resolved.len();
        let tool = named(t, "tool", &self.tools, "tool")?;
        let pad = named(t, "pad", &self.pads, "pad")?;
        let product = named(t, "product", &self.products, "product")?;
        let panel = named(t, "panel", &self.panels, "panel")?;
        let paint = named_if_given(&panel.table, "paint", &self.paints, "paint")?;
        let hold = hold(t, notes)?;
        let mut skip = Vec::new();
        let (rated, speed_setting) = rate(t, tool, notes, &mut skip)?;
        let press = press(t, tool, panel)?;
        notes.warnings.extend(unusual_force(t, &press, &pad.item));
        let rule = pairing_for(&self.pairings, pad.name, product.name, paint.map(|p| p.name));
        let pairing = rule.map_or(Pairing::of(product.item), |r| r.item.pairing);
        let setup = put_together(t, (tool, rated), pad, panel, &press, pairing.product())?.with_hold(hold);
        carries(t, press.key, &setup)?;
        let feed = t.ranged(within("feed_mm_s", t.need_number("feed_mm_s")?, 0.1, 10_000.0, "mm/s"))?;
        let overlap = t.ranged(within("overlap", t.need_number("overlap")?, -1.0, 0.95, ""))?;
        // A test spot is worked crosswise.
        let own = t.kind.find("pattern").is_some();
        let pattern_name = if own { t.need_choice("pattern", &PATTERNS)? } else { "crosshatch" };
        let pattern = if pattern_name == "raster" { Pattern::Raster } else { Pattern::Crosshatch };
        let target_cut = t
            .number("target_cut_um")?
            .map(|um| t.ranged(within("target_cut_um", um, 0.01, 200.0, "µm")).map(Length::from_um))
            .transpose()?;
        let whole =
            Whole { setup: &setup, tool, panel, hand_force_n: press.hand, speed_setting, pattern: pattern_name };
        let (phases, passes) = phases::phases(t, &whole, notes)?;
        skip.push("phase");
        let path_options = path_options(t, feed)?;
        let paint_item = paint.map_or_else(Paint::default, |p| p.item);
        let surface = match &panel.item.real {
            Some(real) => {
                let steady = Steady { feed: Speed::from_mm_s(feed).m_s(), force: press.force };
                Some(route::surface_task(
                    t,
                    pattern_name,
                    real,
                    &panel.table,
                    &path_options,
                    steady,
                    &paint_item,
                    notes,
                )?)
            }
            None => {
                route::refuse_on_rectangle(t, pattern_name)?;
                None
            }
        };
        skip.extend(route::unlisted(t, pattern_name, surface.is_some(), path_options.lead > 0.0));
        if own {
            notes.list_before(start, t, &skip);
        }
        derived(t, &press, speed_setting, rule, &setup, notes);
        if let Some(task) = &surface {
            route::report_inset(t, task, &setup, overlap, passes, notes);
        }
        Ok(Step {
            name: name.to_owned(),
            tool_name: tool.name.to_owned(),
            pad_name: pad.name.to_owned(),
            product_name: product.name.to_owned(),
            panel_name: panel.name.to_owned(),
            paint_name: paint.map(|p| p.name.to_owned()),
            pairing_name: rule.map(|r| r.name.clone()),
            setup,
            panel: panel.item.panel,
            real_panel: panel.item.real.clone(),
            surface,
            defects: paint_tables::defects(&panel.table)?,
            grain: paint_tables::grain(&product.table)?,
            face: paint_tables::face(&pad.table)?,
            roughness: None,
            film: paint_tables::film(&product.table)?,
            drops: paint_tables::drops(t)?,
            core_limit: paint_tables::core_limit(&pad.table)?,
            clean_every: paint_tables::clean_every(&pad.table)?,
            paint: paint_item,
            pairing,
            hand_force_n: press.hand,
            speed_setting,
            feed: Speed::from_mm_s(feed),
            overlap,
            passes,
            phases,
            pattern,
            pattern_name,
            path_options,
            target_cut,
        })
    }
}

/// The set-up of a step: its pad on its tool at the step's rate, on its panel.
fn put_together(
    t: &Table<'_>,
    (tool, rated): (&Found<'_, Tool>, Tool),
    pad: &Found<'_, Pad>,
    panel: &Found<'_, Described>,
    press: &Press,
    product: Product,
) -> Result<Setup, Problem> {
    let patch = match &panel.item.real {
        Some(real) => route::middle_patch(&real.surface, &pad.item),
        None => *panel.item.panel.patch(),
    };
    Setup::new(rated, pad.item.clone(), product, patch, Force::from_n(press.force)).map_err(|e| {
        let step = t.need_text("name").unwrap_or_default();
        out_of_range(&[t, &tool.table, &pad.table], &e).with_help(format!(
            "step \"{}\" (line {}) puts pad \"{}\" on tool \"{}\"",
            one_line(step),
            t.line(),
            pad.name,
            tool.name
        ))
    })
}

/// Inset, turns and leads of the pass lines.
fn path_options(t: &Table<'_>, feed_mm_s: f64) -> Result<PathOptions, Problem> {
    let length = |key: &'static str, most: f64| -> Result<f64, Problem> {
        match t.number(key)? {
            Some(mm) => t.ranged(within(key, mm, 0.0, most, "mm")).map(|mm| Length::from_mm(mm).m()),
            None => Ok(0.0),
        }
    };
    let turn = match t.choice("turn", &["straight", "round"])? {
        Some("round") => Turn::Round,
        _ => Turn::Straight,
    };
    let lead_feed = match t.number("lead_feed_mm_s")? {
        Some(v) => t.ranged(within("lead_feed_mm_s", v, 0.01 * feed_mm_s, 10.0 * feed_mm_s, "mm/s"))?,
        None => 0.5 * feed_mm_s,
    };
    Ok(PathOptions {
        inset: length("inset_mm", 10_000.0)?,
        turn,
        lead: length("lead_mm", 10_000.0)?,
        lead_slowness: feed_mm_s / lead_feed,
    })
}

/// Lists what a step's values lead to.
fn derived(
    t: &Table<'_>,
    press: &Press,
    speed_setting: Option<f64>,
    rule: Option<&Named<PairingRule>>,
    setup: &Setup,
    notes: &mut Notes,
) {
    if !t.source.lists {
        return;
    }
    let out = &mut notes.resolved;
    if press.key == "hand_force_n" {
        report_derived(
            out,
            t.path_of("force_n"),
            format!("{:.3} N", press.force),
            "hand_force_n + tool mass x g x cos(incline)".to_owned(),
        );
    } else if let Some(hand) = press.hand {
        report_derived(
            out,
            t.path_of("hand_force_n"),
            format!("{hand:.3} N"),
            "force_n − tool mass x g x cos(incline)".to_owned(),
        );
    }
    if let Some(setting) = speed_setting {
        if t.has("speed_setting") {
            let rate = format!("{:.1} /min", setup.tool().rate().opm());
            report_derived(out, t.path_of("orbit_rate_opm"), rate, "speed_setting on the tool's scale".to_owned());
        } else {
            report_derived(
                out,
                t.path_of("speed_setting"),
                format!("{setting:.2}"),
                "orbit rate on the tool's scale".to_owned(),
            );
        }
    }
    if let Some(rule) = rule {
        let p = rule.item.pairing.product();
        let source = format!("pairing.{}", segment(&rule.name));
        report_derived(out, t.path_of("friction"), format!("{}", p.friction()), source.clone());
        report_derived(out, t.path_of("preston_per_pa"), format!("{:e} 1/Pa", p.preston_per_pa()), source);
    }
}

/// The tool at the rate of the step, and the setting on its scale.
fn rate(
    t: &Table<'_>,
    tool: &Found<'_, Tool>,
    notes: &mut Notes,
    skip: &mut Vec<&'static str>,
) -> Result<(Tool, Option<f64>), Problem> {
    if matches!(tool.item.drive(), Drive::Rotary { .. }) {
        let keys = ["orbit_rate_opm", "speed_setting"];
        t.ignore(&keys, "is not used by a rotary drive", &mut notes.warnings)?;
        skip.extend(keys);
        return Ok((tool.item.clone(), None));
    }
    let (opm, setting) = (t.number("orbit_rate_opm")?, t.number("speed_setting")?);
    let at_scale = |tool: &Tool| tool.speed_scale().and_then(|s| s.setting_at(tool.rate()));
    match (opm, setting) {
        (Some(_), Some(_)) => Err(t
            .problem("speed_setting", format!("[{}] gives both orbit_rate_opm and speed_setting", t.path))
            .with_allowed("one of the two, or neither for the tool's set-point")),
        (Some(opm), None) => {
            let rated = t.ranged(tool.item.clone().at_rate(AngularRate::from_opm(opm)))?;
            let setting = at_scale(&rated);
            Ok((rated, setting))
        }
        (None, Some(setting)) => {
            skip.push("orbit_rate_opm");
            let Some(scale) = tool.item.speed_scale() else {
                return Err(t
                    .problem(
                        "speed_setting",
                        format!("tool \"{}\" has no speed_settings to read this setting on", one_line(tool.name)),
                    )
                    .with_help(format!(
                        "give orbit_rate_opm, or add speed_settings to [{}] (line {})",
                        tool.table.path,
                        tool.table.line()
                    )));
            };
            let rate = t.ranged(scale.rate_at(setting))?;
            let rated = tool.item.clone().at_rate(rate).map_err(|e| {
                t.problem(
                    "speed_setting",
                    format!(
                        "speed_setting {setting} is {:.0} orbits per minute, which tool \"{}\" does not run at",
                        e.value,
                        one_line(tool.name)
                    ),
                )
                .with_allowed(format!("{} (orbit_rate_range_opm)", e.allowed))
            })?;
            Ok((rated, Some(setting)))
        }
        (None, None) => Ok((tool.item.clone(), at_scale(&tool.item))),
    }
}

/// The tool at a rate that the table gives itself, and the setting on its scale; `None` where it gives none.
pub(super) fn rate_if_given(
    t: &Table<'_>,
    tool: &Found<'_, Tool>,
    notes: &mut Notes,
    skip: &mut Vec<&'static str>,
) -> Result<Option<(Tool, Option<f64>)>, Problem> {
    let given = t.has("orbit_rate_opm") || t.has("speed_setting");
    let rated = rate(t, tool, notes, skip)?;
    Ok(Some(rated).filter(|_| given && !matches!(tool.item.drive(), Drive::Rotary { .. })))
}

/// Force on the face that the table gives itself; `None` where it gives none.
pub(super) fn press_if_given(
    t: &Table<'_>,
    tool: &Found<'_, Tool>,
    panel: &Found<'_, Described>,
) -> Result<Option<Press>, Problem> {
    if t.has("force_n") || t.has("hand_force_n") { press(t, tool, panel).map(Some) } else { Ok(None) }
}

/// Force on the face from whichever of the two keys is given.
fn press(t: &Table<'_>, tool: &Found<'_, Tool>, panel: &Found<'_, Described>) -> Result<Press, Problem> {
    let weight = tool.item.mass().map(|m| panel.item.panel.weight_share(m).n());
    match (t.number("force_n")?, t.number("hand_force_n")?) {
        (Some(_), Some(_)) => Err(t
            .problem("hand_force_n", format!("[{}] gives both force_n and hand_force_n", t.path))
            .with_allowed("exactly one of the two")
            .with_help("force_n is the force on the pad face, tool weight included; hand_force_n is what the hand adds to the weight")),
        (None, None) => Err(t
            .missing("force_n", "; hand_force_n may stand in its place")
            .with_allowed("exactly one of force_n and hand_force_n")
            .with_help("add `force_n = …`, the force on the pad face in N, tool weight included")),
        (Some(force), None) => {
            let force = t.ranged(within("force_n", force, LEAST_FORCE_N, LARGEST_FORCE_N, "N"))?;
            Ok(Press { force, hand: weight.map(|w| force - w), key: "force_n" })
        }
        (None, Some(hand)) => {
            let key = "hand_force_n";
            if !(hand.is_finite() && (0.0..=LARGEST_FORCE_N).contains(&hand)) {
                return Err(t
                    .ranged::<()>(Err(RangeError::new("hand_force_n", hand, "N", "0 to 2000")))
                    .err()
                    .unwrap_or_else(|| t.problem(key, "out of range"))
                    .with_help("where the hand carries part of the tool's weight, give force_n, the force on the pad face"));
            }
            let Some(weight) = weight else {
                return Err(t
                    .problem(key, format!("the force on the face cannot be told from hand_force_n: tool \"{}\" has no mass_kg", one_line(tool.name)))
                    .with_help(format!("add mass_kg to [{}] (line {}), or give force_n instead", tool.table.path, tool.table.line())));
            };
            let force = hand + weight;
            if force > LEAST_FORCE_N && force <= LARGEST_FORCE_N {
                return Ok(Press { force, hand: Some(hand), key });
            }
            let least = LEAST_FORCE_N - weight;
            Err(if force > LARGEST_FORCE_N {
                t.problem(key, format!("hand and weight press with {force:.1} N")).with_allowed(format!("at most {:.1} N by hand", LARGEST_FORCE_N - weight))
            } else if weight < 0.0 {
                t.problem(
                    key,
                    format!("on panel \"{}\" the tool's weight pulls the pad off with {:.1} N, so {hand} N by hand leaves nothing on the face", one_line(panel.name), -weight),
                )
                .with_allowed(format!("above {least:.1} N"))
                .with_help("the hand must press harder: this panel faces down")
            } else {
                t.problem(key, format!("hand and weight leave {force:.3} N on the face; the weight does not press on this panel"))
                    .with_allowed(format!("above {least:.3} N"))
                    .with_help("the hand must press harder")
            })
        }
    }
}

/// Most force on the face that hands work with, N, and least mean pressure, kPa: a third of the least and
/// twice the most that is usual (assumed).
const MOST_HAND_FORCE_N: f64 = 120.0;
const LEAST_PRESSURE_KPA: f64 = 0.4;

/// What looks like a slip of the unit in a force.
fn unusual_force(t: &Table<'_>, press: &Press, pad: &Pad) -> Option<String> {
    let pressure_kpa = 1e-3 * press.force / pad.face_area();
    if press.force > MOST_HAND_FORCE_N {
        let text = format!(
            "presses the face with {:.0} N, more than a hand holds over a panel: is it in newtons?",
            press.force
        );
        return Some(t.warning(press.key, &text));
    }
    (pressure_kpa < LEAST_PRESSURE_KPA).then(|| {
        let text = format!(
            "presses the face with {:.1} N, {pressure_kpa:.2} kPa, hardly more than laying the pad down: is it in newtons? 1 kg presses with 9.8 N",
            press.force
        );
        t.warning(press.key, &text)
    })
}

/// Refuses a force that bottoms the pad out on a flat panel.
pub(super) fn carries(t: &Table<'_>, key: &str, setup: &Setup) -> Result<(), Problem> {
    let orbit = setup.face_orbit();
    let backed_area = 2.0 * PI * Face::new(setup.pad(), orbit.radius_m).radial_moment(1);
    let limit = setup.pad().stack().limit_pressure() * backed_area;
    let force = setup.force().n();
    if force <= limit {
        return Ok(());
    }
    Err(t
        .problem(key, format!("{force:.1} N on the face bottoms the pad out even on a flat panel"))
        .with_allowed(format!("at most {limit:.1} N on the face of this pad (end of its compression law x face area)"))
        .with_help("press less, or take a larger or stiffer pad")
        .into_outcome())
}

fn hold(t: &Table<'_>, notes: &mut Notes) -> Result<Hold, Problem> {
    let kinds = ["flat", "tilted", "self_aligning"];
    let Some(h) = t.table("hold", &HOLD).map_err(|p| {
        let help = "for instance hold = { kind = \"flat\" } or hold = { kind = \"tilted\", x_deg = 2.0, y_deg = 0.0 }";
        if p.help().is_none() { p.with_help(help) } else { p }
    })?
    else {
        return Ok(Hold::Flat);
    };
    let kind = h.need_choice("kind", &kinds)?;
    let (x, y) = (h.number("x_deg")?, h.number("y_deg")?);
    let hold = if kind == "tilted" {
        if x.is_none() && y.is_none() {
            return Err(h.missing("x_deg", " or `y_deg` of a tilted hold").with_allowed("−30 to 30 °"));
        }
        let tilted = Hold::tilted(Angle::from_deg(x.unwrap_or(0.0)), Angle::from_deg(y.unwrap_or(0.0)));
        h.report(&mut notes.resolved, &[]);
        t.ranged(tilted)?
    } else {
        if let Some(stray) = ["x_deg", "y_deg"].into_iter().find(|k| h.has(k)) {
            return Err(h
                .problem(stray, format!("`{}` does not belong to a {kind} hold", h.path_of(stray)))
                .with_allowed("with kind = \"tilted\" only")
                .with_help(format!("take it out, or make the kind one of {}", list(kinds.into_iter()))));
        }
        h.report(&mut notes.resolved, &["x_deg", "y_deg"]);
        if kind == "flat" { Hold::Flat } else { Hold::SelfAligning }
    };
    Ok(hold)
}
