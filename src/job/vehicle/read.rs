//! Reads `[vehicle]`, `[[done]]`, and the keys that go with them in the tables of tools, pads and panels.

use super::bands::{band_patch, zone_names};
use super::{Band, Done, DoneReading, StockedPad, StockedProduct, Vehicle, VehiclePanel};
use crate::budget::{FilmPart, FilmSettings, GaugeReading, film_summaries};
use crate::equipment::{Paint, within};
use crate::job::equipment::Notes;
use crate::job::file::Found;
use crate::job::keys::{BUDGET, DONE, PAD, PANEL, TOOL, VEHICLE};
use crate::job::model::Job;
use crate::job::paint_tables;
use crate::job::panel::Described;
use crate::job::problem::{Problem, one_line};
use crate::job::reader::{Table, report_default};
use crate::job::real_panel::VEHICLE_KEYS;
use crate::job::resolve::Inventory;
use crate::job::route;
use crate::plan::vehicle::{FinishWanted, Goal, Operator, Phase, ShopTimes};
use crate::units::{Force, Length, Speed, Time};
use core::ops::Range;

/// Side of a cell of the zones' maps where none is given, mm.
pub(in crate::job) const CELL_MM: f64 = 5.0;
/// Confidence where none is given.
pub(in crate::job) const CONFIDENCE: f64 = 0.9;
/// Uncertainty of a film reading where none is given, µm.
const READING_UM: f64 = paint_tables::GAUGE_UM;
/// Most `[[done]]` tables.
const MOST_DONE: usize = 2000;
/// Most bands of a panel.
const MOST_BANDS: usize = 12;

/// Reads the vehicle of a job; `None` for a job of steps, whose keys that only a vehicle uses are told.
pub(in crate::job) fn vehicle(
    root: &Table<'_>,
    inventory: &Inventory<'_>,
    notes: &mut Notes,
) -> Result<Option<Vehicle>, Problem> {
    let Some(t) = root.table("vehicle", &VEHICLE)? else {
        if root.has("done") {
            return Err(root.problem("done", "[[done]] speaks of a vehicle's plan, and the job has no [vehicle]"));
        }
        let why = "is used by the plan of a [vehicle] only";
        for tool in &inventory.tools {
            tool.table.ignore(&["pad_range_mm"], why, &mut notes.warnings)?;
        }
        for pad in &inventory.pads {
            pad.table.ignore(&["count"], why, &mut notes.warnings)?;
        }
        for panel in &inventory.panels {
            panel.table.ignore(&VEHICLE_KEYS, why, &mut notes.warnings)?;
        }
        return Ok(None);
    };
    if root.has("step") {
        return Err(root
            .problem("step", "the job has both a [vehicle] and [[step]]s: either the plan chooses the steps, or you do")
            .with_allowed("[vehicle] or [[step]], not both")
            .with_help(
                "take the [[step]]s out to have the whole vehicle planned, or [vehicle] to plan your own steps",
            ));
    }
    for (kind, none) in [
        ("panel", inventory.panels.is_empty()),
        ("tool", inventory.tools.is_empty()),
        ("pad", inventory.pads.is_empty()),
        ("product", inventory.products.is_empty()),
    ] {
        if none {
            return Err(t
                .problem("name", format!("the vehicle cannot be planned: the job has no {kind}"))
                .with_allowed(format!("at least one [{kind}.NAME]")));
        }
    }
    let mut out = settings(&t)?;
    for tool in &inventory.tools {
        out.pad_ranges.push(pad_range(&tool.table)?);
        list_default(&tool.table, "pad_range_mm", notes);
    }
    for pad in &inventory.pads {
        let p = &pad.table;
        let count = if p.has("count") { Some(p.need_whole("count", 1, 40)?) } else { None };
        list_default(p, "count", notes);
        out.pads.push(StockedPad {
            face: paint_tables::face(p)?,
            core_limit: paint_tables::core_limit(p)?,
            clean_every: paint_tables::clean_every(p)?,
            count,
        });
    }
    for product in &inventory.products {
        out.products.push(StockedProduct {
            grain: paint_tables::grain(&product.table)?,
            film: paint_tables::film(&product.table)?,
        });
    }
    something_fits(&t, &out, inventory)?;
    for panel in &inventory.panels {
        out.panels.push(vehicle_panel(panel, inventory)?);
        for k in VEHICLE_KEYS {
            list_default(&panel.table, k, notes);
        }
    }
    t.report(&mut notes.resolved, &[]);
    Ok(Some(out))
}

/// Takes in the `[[done]]` tables of a job once its readings are known.
pub(in crate::job) fn take_done(
    root: &Table<'_>,
    vehicle: &mut Vehicle,
    readings: &[GaugeReading],
    notes: &mut Notes,
) -> Result<(), Problem> {
    contradictions(root, vehicle, readings)?;
    let Some(items) = root.array("done", "what was done, headed [[done]]")? else { return Ok(()) };
    if items.len() > MOST_DONE {
        return Err(root
            .problem("done", format!("{} [[done]] tables are given", items.len()))
            .with_allowed(format!("at most {MOST_DONE}")));
    }
    for (number, value) in items.iter().enumerate() {
        let span: Range<usize> = value.span();
        let t = Table::open(root.source, &DONE, format!("done#{}", number + 1), &span, value)?;
        let done = done(&t, vehicle, readings)?;
        let same = |d: &Done| {
            d.panel == done.panel
                && (d.zone == done.zone || d.zone.is_none() || done.zone.is_none())
                && (d.phase == done.phase || d.phase.is_none() || done.phase.is_none())
        };
        if vehicle.done.iter().any(same) {
            return Err(t
                .problem("panel", format!("this part of panel \"{}\" is told as done twice", one_line(&done.panel)))
                .with_allowed("one [[done]] for each zone and step"));
        }
        t.report(&mut notes.resolved, &[]);
        vehicle.done.push(done);
    }
    Ok(())
}

/// Refuses readings of which both cannot be: more clear coat on a panel than film in all.
fn contradictions(root: &Table<'_>, vehicle: &Vehicle, readings: &[GaugeReading]) -> Result<(), Problem> {
    for panel in &vehicle.panels {
        let of = |part: FilmPart| {
            let own: Vec<GaugeReading> =
                readings.iter().filter(|r| r.panel() == panel.name && r.part() == part).cloned().collect();
            film_summaries(&own, &FilmSettings::default()).unwrap_or_default().into_iter().next()
        };
        let (Some(clear), Some(total)) = (of(FilmPart::Clear), of(FilmPart::Total)) else { continue };
        // Three standard deviations of the difference: chance gives one in a thousand.
        let slack = 3.0 * clear.mean_sd_m.hypot(total.mean_sd_m);
        if clear.mean.best > total.mean.best + slack {
            let um = |m: f64| Length::from_m(m).um();
            let message = format!(
                "the readings of panel \"{}\" contradict each other: {:.0} µm of clear coat in {:.0} µm of film",
                one_line(&panel.name),
                um(clear.mean.best),
                um(total.mean.best)
            );
            let budget = root.table("budget", &BUDGET)?;
            let at = budget.as_ref().unwrap_or(root);
            return Err(at
                .problem("readings_file", message)
                .with_allowed("readings of the clear coat below those of the whole film"));
        }
    }
    Ok(())
}

/// Takes in a file of `[[done]]` tables.
pub(in crate::job) fn read_done_file(root: &Table<'_>, job: &mut Job) -> Result<(), Problem> {
    let strange = crate::job::keys::JOB.keys.iter().find(|k| root.has(k.name) && !["schema", "done"].contains(&k.name));
    if let Some(k) = strange {
        return Err(root
            .problem(k.name, format!("`{}` does not belong into a file of what was done", k.name))
            .with_allowed("schema, [[done]]"));
    }
    if !root.has("done") {
        return Err(Problem::of_file(root.source.name, "the file tells nothing as done")
            .with_key("done")
            .with_help("head each part that was done with [[done]]"));
    }
    let readings = job.budget.readings.clone();
    let Some(vehicle) = &mut job.vehicle else {
        return Err(Problem::of_file(root.source.name, "the job plans no [vehicle], so nothing of it can be done"));
    };
    let mut notes = Notes::default();
    take_done(root, vehicle, &readings, &mut notes)?;
    job.resolved.extend(notes.resolved);
    Ok(())
}

/// Lists the default of a key that only a vehicle uses.
fn list_default(t: &Table<'_>, key: &str, notes: &mut Notes) {
    if !t.has(key) {
        let kind = match t.kind.name {
            "tool" => &TOOL,
            "pad" => &PAD,
            _ => &PANEL,
        };
        report_default(&mut notes.resolved, kind, key, t.path_of(key));
    }
}

fn settings(t: &Table<'_>) -> Result<Vehicle, Problem> {
    let number = |key: &'static str, otherwise: f64, low: f64, high: f64, unit: &'static str| -> Result<f64, Problem> {
        t.number(key)?.map_or(Ok(otherwise), |v| t.ranged(within(key, v, low, high, unit)))
    };
    let finish = match t.choice("finish", &["correct", "correct_and_refine", "refine"])? {
        Some("correct") => FinishWanted::Correct,
        Some("refine") => FinishWanted::Refine,
        _ => FinishWanted::CorrectAndRefine,
    };
    let usual = Operator::default();
    let force = t.pair("force_n", "two forces, [least, largest], in N")?.unwrap_or(usual.force_n());
    let mm_s = |v: f64| Speed::from_m_s(v).mm_s();
    let feed = t
        .pair("feed_mm_s", "two speeds, [slowest, fastest], in mm/s")?
        .unwrap_or((mm_s(usual.feed_m_s().0), mm_s(usual.feed_m_s().1)));
    let overlap = number("overlap", usual.overlap(), 0.0, 0.9, "")?;
    let operator = t.ranged(Operator::new(
        (Force::from_n(force.0), Force::from_n(force.1)),
        (Speed::from_mm_s(feed.0), Speed::from_mm_s(feed.1)),
        overlap,
    ))?;
    let d = ShopTimes::default();
    let seconds = |key: &'static str, usual: Time| number(key, usual.s(), 0.0, 3600.0, "s").map(Time::from_s);
    let times = ShopTimes {
        day: Time::from_min(60.0 * number("day_hours", d.day.s() / 3600.0, 0.5, 24.0, "h")?),
        set_up: Time::from_min(number("set_up_min", d.set_up.s() / 60.0, 0.0, 480.0, "min")?),
        masking_per_m: Time::from_min(number("masking_min_per_m", d.masking_per_m.s() / 60.0, 0.0, 60.0, "min/m")?),
        wipe: seconds("wipe_s_per_section", d.wipe)?,
        inspect: seconds("inspect_s_per_section", d.inspect)?,
        tool_swap: seconds("tool_swap_s", d.tool_swap)?,
        pad_swap: seconds("pad_swap_s", d.pad_swap)?,
        clean: seconds("clean_s", d.clean)?,
    };
    if times.set_up.s() > times.day.s() - 60.0 {
        return Err(t
            .problem(
                "set_up_min",
                format!(
                    "setting up ({:.0} min) leaves nothing of a day of {:.1} h",
                    times.set_up.s() / 60.0,
                    times.day.s() / 3600.0
                ),
            )
            .with_allowed("at least a minute less than day_hours"));
    }
    t.ranged(times.check())?;
    Ok(Vehicle {
        name: t.text("name")?.map(str::to_owned),
        finish,
        confidence: number("confidence", CONFIDENCE, 0.5, 0.999, "")?,
        operator,
        most_passes: if t.has("most_passes") { t.need_whole("most_passes", 1, 100)? } else { Goal::MOST_PASSES },
        times,
        cell: Length::from_mm(number("cell_mm", CELL_MM, 0.5, 100.0, "mm")?),
        panels: Vec::new(),
        pad_ranges: Vec::new(),
        pads: Vec::new(),
        products: Vec::new(),
        done: Vec::new(),
    })
}

fn pad_range(t: &Table<'_>) -> Result<Option<(Length, Length)>, Problem> {
    let Some((low, high)) = t.pair("pad_range_mm", "two face diameters, [least, largest], in mm")? else {
        return Ok(None);
    };
    t.ranged(within("pad_range_mm", low, 5.0, 500.0, "mm"))?;
    t.ranged(within("pad_range_mm", high, low, 500.0, "mm"))?;
    Ok(Some((Length::from_mm(low), Length::from_mm(high))))
}

/// Whether a pad of that face goes on the tool.
pub(super) fn fits(range: Option<(Length, Length)>, throw: Length, face: Length) -> bool {
    // A thousandth of a millimetre forgives the conversion.
    let inside = |r: (Length, Length)| face.mm() >= r.0.mm() - 1e-3 && face.mm() <= r.1.mm() + 1e-3;
    face > throw && range.is_none_or(inside)
}

/// Refuses a vehicle of which no pad goes on any tool, with the nearest size; warns of nothing else.
fn something_fits(t: &Table<'_>, vehicle: &Vehicle, inventory: &Inventory<'_>) -> Result<(), Problem> {
    let any = inventory
        .tools
        .iter()
        .zip(&vehicle.pad_ranges)
        .any(|(tool, range)| inventory.pads.iter().any(|pad| fits(*range, tool.item.throw(), pad.item.diameter())));
    if any {
        return Ok(());
    }
    let tools: Vec<String> = inventory
        .tools
        .iter()
        .zip(&vehicle.pad_ranges)
        .map(|(tool, range)| match range {
            Some((l, h)) => format!("\"{}\" takes {:.0} to {:.0} mm", one_line(tool.name), l.mm(), h.mm()),
            None => format!(
                "\"{}\" takes pads wider than its throw of {:.1} mm",
                one_line(tool.name),
                tool.item.throw().mm()
            ),
        })
        .collect();
    let pads: Vec<String> = inventory.pads.iter().map(|p| format!("{:.0} mm", p.item.diameter().mm())).collect();
    let at = inventory.tools.iter().map(|f| &f.table).find(|f| f.has("pad_range_mm")).unwrap_or(t);
    Err(at
        .problem(
            "pad_range_mm",
            format!("no pad at hand goes on any tool: {}; pads at hand: {}", tools.join(", "), pads.join(", ")),
        )
        .with_allowed("a range that holds the face of at least one pad"))
}

fn vehicle_panel(found: &Found<'_, Described>, inventory: &Inventory<'_>) -> Result<VehiclePanel, Problem> {
    let t = &found.table;
    let paint = match t.text("paint")? {
        Some(name) => inventory.paints.iter().find(|p| p.name == name),
        None => None,
    };
    let real = found.item.real.clone();
    let bands = match (&real, bands(t, found)?) {
        (Some(_), Some(_)) => {
            return Err(t
                .problem(
                    "bands",
                    format!("panel \"{}\" has a shape of its own, whose survey tells its bands", one_line(found.name)),
                )
                .with_allowed("bands with a plain rectangle only"));
        }
        (Some(_), None) => Vec::new(),
        (None, Some(bands)) => bands,
        (None, None) => vec![Band { share: 1.0, patch: *found.item.panel.patch() }],
    };
    let masking = t.number("masking_m")?.map(|m| t.ranged(within("masking_m", m, 0.0, 1000.0, "m"))).transpose()?;
    let thinning = t.number("edge_thinning")?.unwrap_or(route::EDGE_THINNING.0);
    Ok(VehiclePanel {
        name: found.name.to_owned(),
        panel: found.item.panel,
        real,
        bands,
        paint_name: paint.map(|p| p.name.to_owned()),
        paint: paint.map_or_else(Paint::default, |p| p.item),
        defects: paint_tables::defects(t)?,
        masking: masking.map(Length::from_m),
        edge_thinning: t.ranged(within("edge_thinning", thinning, 0.0, 0.95, ""))?,
    })
}

fn bands(t: &Table<'_>, found: &Found<'_, Described>) -> Result<Option<Vec<Band>>, Problem> {
    let expected = "bands, each [share of the area, first curvature, second curvature], shares summing to 1";
    let Some(items) = t.array("bands", expected)? else { return Ok(None) };
    if items.is_empty() || items.len() > MOST_BANDS {
        return Err(t
            .problem("bands", format!("`{}` has {} bands", t.path_of("bands"), items.len()))
            .with_allowed(format!("1 to {MOST_BANDS} bands")));
    }
    let mut out = Vec::with_capacity(items.len());
    let mut sum = 0.0;
    for item in items {
        let numbers = t.numbers_in("bands", t.array_in("bands", item, expected)?, expected)?;
        let [share, first, second] = numbers.as_slice() else {
            return Err(t.problem("bands", format!("a band holds {} numbers", numbers.len())).with_allowed(expected));
        };
        let refused = |e: crate::RangeError| {
            t.problem("bands", format!("a band's {} = {} is out of range", e.what, e.value))
                .with_allowed(format!("{} {}", e.allowed, e.unit))
        };
        within("share", *share, 1e-3, 1.0, "").map_err(refused)?;
        let patch = band_patch(*first, *second, found.item.panel.patch().axis()).map_err(refused)?;
        sum += share;
        out.push(Band { share: *share, patch });
    }
    // Shares are typed by hand: a hundredth may be missing.
    if (sum - 1.0_f64).abs() > 0.01 {
        return Err(t
            .problem("bands", format!("the shares of the bands sum to {sum:.3}"))
            .with_allowed("shares that sum to 1, within 0.01"));
    }
    for b in &mut out {
        b.share /= sum;
    }
    Ok(Some(out))
}

fn done(t: &Table<'_>, vehicle: &Vehicle, readings: &[GaugeReading]) -> Result<Done, Problem> {
    let name = t.need_text("panel")?;
    let Some(panel) = vehicle.panels.iter().find(|p| p.name == name) else {
        let message = format!("`{}` names \"{}\", but there is no such panel", t.path_of("panel"), one_line(name));
        return Err(t.suggest("panel", &message, name, vehicle.panels.iter().map(|p| p.name.as_str())));
    };
    let zone = t.text("zone")?;
    // The zones of a real panel come from its survey and are looked up when the plan is made.
    if let Some(zone) = zone.filter(|_| panel.real.is_none()) {
        let names = zone_names(&panel.bands.iter().map(|b| b.patch).collect::<Vec<_>>());
        if !names.iter().any(|n| n == zone) {
            let message = format!("panel \"{}\" has no zone \"{}\"", one_line(name), one_line(zone));
            return Err(t.suggest("zone", &message, zone, names.iter().map(String::as_str)));
        }
    }
    let phase = t.choice("step", &["cut", "refine"])?.map(|w| if w == "cut" { Phase::Cut } else { Phase::Refine });
    let passes = if t.has("passes") { Some(t.need_whole("passes", 1, 1000)?) } else { None };
    let time = t.number("time_min")?.map(|v| t.ranged(within("time_min", v, 0.0, 10_000.0, "min"))).transpose()?;
    let um = |key: &'static str, low: f64, high: f64| -> Result<Option<Length>, Problem> {
        let given = t.number(key)?.map(|v| t.ranged(within(key, v, low, high, "µm"))).transpose()?;
        Ok(given.map(Length::from_um))
    };
    let uncertainty = um("reading_uncertainty_um", 0.01, 500.0)?.unwrap_or(Length::from_um(READING_UM));
    let (now, before) = (um("reading_um", 0.0, 5000.0)?, um("before_um", 0.0, 5000.0)?);
    let reading = match now {
        Some(now) => Some(done_reading(t, name, now, before, uncertainty, readings)?),
        None if before.is_some() => return Err(t.missing("reading_um", " beside before_um")),
        None => None,
    };
    Ok(Done {
        panel: name.to_owned(),
        zone: zone.map(str::to_owned),
        phase,
        passes,
        time: time.map(Time::from_min),
        reading,
    })
}

/// The film before and now; film cannot have grown.
fn done_reading(
    t: &Table<'_>,
    panel: &str,
    now: Length,
    before: Option<Length>,
    uncertainty: Length,
    readings: &[GaugeReading],
) -> Result<DoneReading, Problem> {
    let before = match before {
        Some(b) => (b, uncertainty),
        None => {
            let own: Vec<GaugeReading> = readings.iter().filter(|r| r.panel() == panel).cloned().collect();
            let found = film_summaries(&own, &FilmSettings::default()).unwrap_or_default();
            let Some(film) = found.first() else {
                return Err(t
                    .missing("before_um", ": the panel has no film readings, so what was removed cannot be told")
                    .with_allowed("0 to 5000 µm"));
            };
            (Length::from_m(film.mean.best), Length::from_m(film.mean_sd_m))
        }
    };
    // Three standard deviations of the difference: chance gives one in a thousand.
    let slack = 3.0 * before.1.um().hypot(uncertainty.um());
    if now.um() > before.0.um() + slack {
        return Err(t
            .problem(
                "reading_um",
                format!(
                    "the film of panel \"{}\" was {:.1} µm before and is read as {:.1} µm now: polishing does not add film, so one of the two is wrong",
                    one_line(panel),
                    before.0.um(),
                    now.um()
                ),
            )
            .with_allowed(format!("at most {:.1} µm", before.0.um() + slack)));
    }
    Ok(DoneReading { before, now, uncertainty })
}
