//! `heat`, the season and the binding limit as a user asks for them: every documented key, numbers that fit
//! together, milder settings against the job run with them, the trade's bands for the shipped ordinary job,
//! and what is refused.
//!
//! The models themselves are checked in `heat`, `wear` and `rotation`.

#![cfg(feature = "cli")]

use crate::cli::{Folder, SMALL, edited, run_in, run_on};
use serde_json::Value;
use trochoid::heat::PadSettings;
use trochoid::heat::{
    Cooling, HeatSource, Overhang, PanelHeatSettings, PanelJob, Plate, Spread, heat_panel, heat_panel_at,
};
use trochoid::job::{Job, pad_courses, pads_in_rotation, step_heats};
use trochoid::plan::plan_step;
use trochoid::spin::{AtHand, StallSettings};
use trochoid::units::{Length, Temperature, Time};
use trochoid::wear::run_rotation;

fn heat(text: &str) -> Value {
    run_on(text, &["heat", "--json"]).json()
}

fn number(v: &Value, pointer: &str) -> f64 {
    v.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer} is no number in {v:#}"))
}

fn close(got: f64, expected: f64, tolerance: f64) -> bool {
    (got - expected).abs() <= tolerance * expected.abs()
}

/// The small job on a panel of several sections.
fn wide() -> String {
    edited(
        SMALL,
        &[
            ("size_mm = [400.0, 300.0]", "size_mm = [900.0, 600.0]"),
            ("curvature_per_m = -0.5", "curvature_per_m = 0.1"),
            ("orbit_rate_opm = 4200.0", "orbit_rate_opm = 4200.0\norbit_rate_range_opm = [2000.0, 5000.0]"),
        ],
    )
}

/// Every key of a value, and of what it holds.
fn keys(v: &Value, out: &mut Vec<String>) {
    match v {
        Value::Object(map) => map.iter().for_each(|(k, v)| {
            out.push(k.clone());
            keys(v, out);
        }),
        Value::Array(list) => list.iter().for_each(|v| keys(v, out)),
        _ => (),
    }
}

#[test]
fn every_documented_key_is_there_and_the_numbers_fit_together() {
    let page =
        std::fs::read_to_string(format!("{}/notebooks-free-docs/job-file.md", env!("CARGO_MANIFEST_DIR"))).unwrap();
    // Sheared foam warms inside, and each section has a pad of its own where there are enough.
    let text =
        edited(&wide(), &[("thickness_mm = 25.0", "thickness_mm = 25.0\nshear_modulus_kpa = 20.0\nclean_every = 1")]);
    let v = heat(&text);
    let mut all = Vec::new();
    keys(&v, &mut all);
    let part = page.split_once("## JSON of `heat`").expect("documented").1;
    for key in &all {
        assert!(
            part.contains(&format!("`{key}`")) || part.contains(&format!("\"{key}\"")),
            "`{key}` is not documented"
        );
    }
    assert!(all.len() > 60, "{all:?}");
    let (friction, panel, pad) =
        (number(&v, "/friction/friction_w"), number(&v, "/friction/into_panel_w"), number(&v, "/friction/into_pad_w"));
    assert!(close(panel + pad, friction, 1e-12), "rounding of one sum");
    let paint = |key: &str| number(&v, &format!("/paint/{key}"));
    // In = stored + lost to 0.1 %, the promise of the reach.
    assert!(close(paint("stored_j") + paint("lost_j"), paint("input_j"), 1e-3));
    let time = run_on(&text, &["plan", "--json"]).json()["steps"][0]["time_s"].as_f64().unwrap();
    // A thousand source times summed.
    assert!(close(paint("input_j") + paint("past_the_edge_j"), panel * time, 1e-9));
    let passes = v["paint"]["after_passes"].as_array().unwrap();
    assert_eq!(passes.len(), 2);
    assert!(close(number(&passes[1], "/time_s"), time, 1e-9), "the last pass ends with the work");
    for p in passes {
        assert!(number(p, "/hottest_c") <= paint("peak_c") && number(p, "/mean_c") <= number(p, "/hottest_c"));
    }
    assert!(
        paint("drop_through_k") > 0.0 && paint("peak_c") < paint("limit_c") && v["paint"]["limit_reached_s"].is_null()
    );
    // A pad that starts cold and works its first section at once is the plan's one section, but for priming.
    let events = v["pad"]["events"].as_array().unwrap();
    let first = events.iter().find(|e| e["activity"] == "work").unwrap();
    // The face's first moments at steps of a second instead of five: within a hundredth of the rise.
    let rise = |c: f64| c - 20.0;
    assert!(close(rise(number(first, "/core_c")), rise(number(&v, "/pad/core_after_section_c")), 0.01), "{first}");
    for e in events {
        assert!(number(e, "/end_s") >= number(e, "/start_s"));
    }
    let cores: Vec<f64> =
        v["pad"]["core_by_pads"].as_array().unwrap().iter().map(|c| number(c, "/peak_core_c")).collect();
    assert_eq!(cores.len(), 6);
    // 1e-3 K: more pads rest at least as long; what is left is the time steps of another schedule.
    assert!(cores.windows(2).all(|w| w[1] <= w[0] + 1e-3), "{cores:?}");
    assert!(cores[0] > cores[5] + 0.5, "a pad without rest runs hotter: {cores:?}");
    assert!(number(&v, "/film/working_time_s") > 0.0 && number(&v, "/film/evaporation_g_m2_min") > 0.0);
    let gone: Vec<f64> =
        v["film"]["gone_share_after_passes"].as_array().unwrap().iter().map(|g| g.as_f64().unwrap()).collect();
    assert!(gone.windows(2).all(|w| w[1] > w[0]) && gone.last().is_some_and(|g| *g < 1.0));
}

#[test]
fn milder_settings_are_what_the_job_gives_with_them() {
    let text = wide();
    let v = heat(&text);
    let (peak, list) = (number(&v, "/paint/peak_c"), v["milder"].as_array().unwrap());
    let of = |kind: &str| list.iter().find(|m| m["kind"] == kind).unwrap_or_else(|| panic!("{kind}: {list:?}"));
    for (kind, from, key) in [
        ("less_force", "force_n = 35.0", "force_n"),
        ("faster_feed", "feed_mm_s = 40.0", "feed_mm_s"),
        ("lower_rate", "orbit_rate_opm = 4200.0", "orbit_rate_opm"),
    ] {
        let m = of(kind);
        assert!(number(m, "/peak_paint_c") < peak, "{kind} is cooler: {m}");
        let again = heat(&edited(&text, &[(from, &format!("{key} = {:.4}", number(m, "/value")))]));
        // The same computation by another way in: rounding.
        assert!(close(number(m, "/peak_paint_c"), number(&again, "/paint/peak_c"), 1e-9), "{kind}: {m}");
        assert!(close(number(m, "/peak_change_k"), number(&again, "/paint/peak_c") - peak, 1e-9));
    }
    // The same force on half the area heats a smaller spot: hotter. A pad is resized as a whole, so its shear
    // stiffness falls with its area; only the order is asserted.
    assert!(number(of("smaller_pad"), "/peak_paint_c") > peak);
    // What cannot be is told with its reason.
    let light = heat(&edited(&text, &[("force_n = 35.0", "force_n = 6.0")]));
    let m = light["milder"].as_array().unwrap().iter().find(|m| m["kind"] == "less_force").unwrap().clone();
    assert!(m["peak_paint_c"].is_null() && m["reason"].as_str().is_some_and(|r| r.contains("5 N")), "{m}");
}

#[test]
fn moments_are_the_panel_at_their_times_and_change_nothing() {
    let room = Temperature::from_c(20.0);
    let (plate, cooling) =
        (Plate::painted(trochoid::equipment::Substrate::Plastic), Cooling::new(room, 10.0, 10.0).unwrap());
    let spreads = [Spread::orbiting_disc(Length::from_mm(60.0), Length::from_mm(6.0)).unwrap()];
    let sources: Vec<HeatSource> = (0..40)
        .map(|i| HeatSource { at_m: (0.05 + 0.005 * f64::from(i), 0.15), time_s: 0.5, watts: 40.0, spread: 0 })
        .collect();
    let job = |sources| PanelJob {
        plate: &plate,
        cooling: &cooling,
        size: (Length::from_mm(300.0), Length::from_mm(300.0)),
        origin_m: (0.0, 0.0),
        start: room,
        spreads: &spreads,
        sources,
        overhang: Overhang::Lost,
        limit: None,
        probes_m: &[],
    };
    let settings = PanelHeatSettings::default();
    let plain = heat_panel(&job(&sources), &settings).unwrap();
    let times = [Time::from_s(0.0), Time::from_s(10.0), Time::from_s(20.0), Time::from_s(99.0)];
    let (same, moments) = heat_panel_at(&job(&sources), &settings, &times).unwrap();
    assert_eq!(plain, same, "looking on changes no bit");
    assert_eq!(moments.len(), 4);
    // At the end of the source in which the time falls; a time after the end is the end.
    let at: Vec<f64> = moments.iter().map(|m| m.time_s).collect();
    assert!(close(at[0], 0.5, 1e-12) && close(at[1], 10.0, 1e-12) && close(at[3], 20.0, 1e-12), "{at:?}");
    assert_eq!(moments[2].surface_k, moments[3].surface_k);
    for (end, mean) in moments[3].surface_k.iter().zip(&same.final_mean_k) {
        assert!(
            *end >= *mean - 1e-12 && *end <= mean + same.final_drop_k + 1e-12,
            "mean plus what is left of the drop"
        );
    }
    // The first half alone is the moment at its end, but for diffusion steps that are laid out anew: 1 % of the rise.
    let half = heat_panel_at(&job(&sources[..20]), &settings, &[Time::from_s(10.0)]).unwrap().1;
    let rise = moments[1].surface_k.iter().fold(0.0_f64, |a, k| a.max(k - room.k()));
    for (a, b) in half[0].surface_k.iter().zip(&moments[1].surface_k) {
        assert!((a - b).abs() < 0.01 * rise, "{a} {b}");
    }
    assert!(heat_panel_at(&job(&sources), &settings, &[Time::from_s(-1.0)]).is_err());
    assert!(heat_panel_at(&job(&sources), &settings, &[Time::from_s(2.0), Time::from_s(1.0)]).is_err());
    assert!(heat_panel_at(&job(&sources), &settings, &[Time::from_s(f64::NAN)]).is_err());
    assert!(heat_panel_at(&job(&sources), &settings, &[Time::from_s(1.0); 17]).is_err());
}

/// Name of the binding limit of the first step, with every limit's margin checked against it.
fn binding(text: &str) -> String {
    let v = run_on(text, &["plan", "--json"]).json();
    let step = &v["steps"][0];
    let b = &step["binding_limit"];
    b["name"].as_str().unwrap_or_else(|| panic!("{step:#}")).to_owned()
}

#[test]
fn the_binding_limit_changes_with_one_input() {
    let base = wide();
    assert_eq!(binding(&base), "spin");
    let limits = |c: &str| edited(&base, &[("[tool.long]", &format!("[limits]\npaint_c = {c}\n[tool.long]"))]);
    assert_eq!(binding(&limits("30")), "paint_temperature");
    let hot = edited(&base, &[("[tool.long]", "[ambient]\ntemperature_c = 50\n[tool.long]")]);
    assert_eq!(binding(&hot), "paint_temperature");
    let core = edited(&base, &[("thickness_mm = 25.0", "thickness_mm = 25.0\ncore_limit_c = 29")]);
    assert_eq!(binding(&core), "pad_core_temperature");
    assert_eq!(binding(&edited(&base, &[("passes = 2", "passes = 2\ndrops = 1")])), "working_time");
    assert_eq!(binding(&edited(&base, &[("passes = 2", "passes = 6")])), "paint_budget");
    // In a slight hollow the paint's limit is the nearest, until more force all but stops the pad.
    let hollow = edited(&base, &[("curvature_per_m = 0.1", "curvature_per_m = -0.3")]);
    assert_eq!(binding(&hollow), "paint_temperature");
    assert_eq!(binding(&edited(&hollow, &[("force_n = 35.0", "force_n = 120.0")])), "spin");
    // What is told is the smallest margin of all limits that the report lists.
    let folder = Folder::new();
    folder.put("job.toml", limits("30"));
    assert_eq!(run_in(folder.path(), &["plan", "job.toml", "--out", "o"]).code, Some(0));
    let html = std::fs::read_to_string(folder.path().join("o/report.html")).unwrap();
    let table = html.split_once(", the tightest first").unwrap().1.split_once("</table>").unwrap().0;
    let margins: Vec<f64> = table
        .split("margin ")
        .skip(1)
        .map(|m| m.split('\u{a0}').next().unwrap().replace('−', "-").parse().unwrap())
        .collect();
    assert!(margins.len() > 3 && margins.windows(2).all(|w| w[0] <= w[1]), "{margins:?}");
}

/// Drops a section (least and most), clean every so many sections, pads a vehicle; of the shipped job with
/// edits in every place.
fn vehicle(edits: &[(&str, &str)]) -> ((u64, u64), u64, Option<u64>) {
    let path = format!("{}/examples/jobs/ordinary.toml", env!("CARGO_MANIFEST_DIR"));
    let mut text = std::fs::read_to_string(path).unwrap();
    for (from, to) in edits {
        assert!(text.contains(from), "no {from:?}");
        text = text.replace(from, to);
    }
    let plan = run_on(&text, &["plan", "--json"]).json();
    let drops = || plan["steps"].as_array().unwrap().iter().map(|s| s["drops_per_section"].as_u64().unwrap());
    let one = run_on(&text, &["heat", "--json", "--step", "bonnet"]).json();
    let every = one["pad"]["clean_every_sections"].as_u64().unwrap();
    ((drops().min().unwrap(), drops().max().unwrap()), every, plan["totals"]["pads"]["cutting"].as_u64())
}

#[test]
fn the_ordinary_job_lies_in_the_bands_and_two_departures_leave_them() {
    // Common practice, no source: 2 to 4 drops a section, cleaned every 2 to 3 sections, 4 to 6 pads a vehicle.
    let (drops, every, pads) = vehicle(&[]);
    assert!(drops.0 >= 2 && drops.1 <= 4, "{drops:?} drops");
    assert!((2..=3).contains(&every), "cleaned every {every} sections");
    assert!(pads.is_some_and(|n| (4..=6).contains(&n)), "{pads:?} pads");
    // Plastic in hot dry air: more product and more pads, or none that suffice.
    let hot = vehicle(&[
        ("substrate = \"steel\"", "substrate = \"plastic\""),
        ("temperature_c = 20.0", "temperature_c = 33.0"),
        ("relative_humidity = 0.5", "relative_humidity = 0.15"),
    ]);
    assert!(hot.0.0 > 4 && hot.1 <= every && hot.2.is_none_or(|n| n > 6), "{hot:?}");
    // Light finishing in the cool: little force, little cut.
    let light = vehicle(&[
        ("temperature_c = 20.0", "temperature_c = 12.0"),
        ("relative_humidity = 0.5", "relative_humidity = 0.7"),
        ("force_n = 35.0", "force_n = 20.0"),
        ("preston_per_pa = 1.8e-11", "preston_per_pa = 8.0e-12"),
    ]);
    assert!(light.0.1 <= 2 && light.1 > 3 && light.2.is_some_and(|n| n < 4), "{light:?}");
}

#[test]
fn pads_in_rotation_are_followed_as_their_heat_conduction_says() {
    let path = format!("{}/examples/jobs/ordinary.toml", env!("CARGO_MANIFEST_DIR"));
    let job = Job::read(path).unwrap();
    let step = job.step("bonnet").unwrap().clone();
    let task = step.task(job.map.cell, (0.5, 2.0));
    let mut plans = [plan_step(&task, &AtHand::default(), &StallSettings::default()).unwrap()];
    let steps = [step];
    let heats = step_heats(&job, &steps, &[task], &mut plans).unwrap();
    let h = heats[0].as_ref().unwrap();
    let pads = pads_in_rotation(&job, &steps, &heats).unwrap().unwrap();
    let air = job.ambient.temperature;
    // The modes of the rotation meet the disc after all sections; here the slow one alone, which reads one
    // section on the safe side, by no more than a quarter.
    let excess = |n: usize| {
        let n = u32::try_from(n).unwrap();
        pads.job.kinds[0].heating.after_sections(n, h.work.power(), h.section_time)
    };
    let rise = |core: Temperature| core.k() - air.k();
    assert!(close(excess(h.sections), rise(h.core_without_rest), 1e-9), "one equation solved: {}", excess(h.sections));
    let one = excess(1) / rise(h.core_after_section);
    assert!((1.0 - 1e-9..1.25).contains(&one), "one section: {one} of the disc's rise");
    for counts in [[1], [3]] {
        let rotation = run_rotation(&pads.job, &counts).unwrap();
        let courses = pad_courses(&pads, &heats, &rotation, &PadSettings::default()).unwrap();
        assert_eq!(courses.len(), counts[0]);
        let life: f64 = courses.iter().map(|c| c.after.life_used()).sum();
        // The condition replayed along the timeline is that of the rotation: rounding of the sums.
        assert!(close(life, rotation.life_used[0], 1e-12), "{life} {:?}", rotation.life_used);
        let mut worked = 0;
        for c in &courses {
            assert!(c.heat.energy.residual() < 1e-9, "rounding: {:?}", c.heat.energy);
            let end = c.entries.last().unwrap().end.s();
            let last = c.start_s + c.heat.moments.last().unwrap().time_s;
            assert!(close(last, end, 1e-9), "the clock of the pad is that of the job: {last} {end}");
            worked += c.before.len();
            for (section, _) in &c.before {
                assert_eq!(rotation.sections[*section].pad, c.pad);
                assert!(c.core_of_section(*section).is_some_and(|t| t > air));
            }
        }
        assert_eq!(worked, h.sections, "every section once");
    }
}

const SEASON: &str = "[season]\nvehicles_per_week = 3\nweeks = 10\npad_price = 12.0\nwash_cost = 0.5\nhourly_rate = 30.0\n\
                      product_price_per_l = 40.0\n[tool.long]";

#[test]
fn a_season_is_what_its_own_numbers_give() {
    assert!(run_on(SMALL, &["plan", "--json"]).json()["season"].is_null(), "no table, no answer");
    assert!(!run_on(SMALL, &["plan"]).out.contains("season"));
    // Worn out soon enough for several pads: a hard-cutting product on a panel of many sections.
    let text = edited(
        &wide(),
        &[
            ("[tool.long]", SEASON),
            ("preston_per_pa = 2.0e-11", "preston_per_pa = 6.0e-11"),
            ("[900.0, 600.0]", "[1600.0, 1200.0]"),
            ("cell_mm = 5.0", "cell_mm = 10.0"),
        ],
    );
    let v = run_on(&text, &["plan", "--json"]).json();
    let season = &v["season"];
    assert_eq!(season["vehicles"], 30);
    let k = &season["kinds"][0];
    assert_eq!(k["pads_in_rotation"], v["totals"]["pads"]["wide"], "{season:#}");
    let n = |p: &str| number(k, p);
    // By hand: pads · price + vehicles (washes · cost + hours · rate), here for both ways.
    let by_hand =
        |pads: f64, washes: f64, handling_s: f64| pads * 12.0 + 30.0 * (washes * 0.5 + handling_s / 3600.0 * 30.0);
    let total = by_hand(n("/rotating/pads_bought"), n("/washes_per_vehicle"), n("/handling_s_per_vehicle"));
    assert!(close(n("/rotating/total_money"), total, 1e-12), "rounding: {k:#}");
    assert!(close(n("/rotating/per_vehicle_money"), total / 30.0, 1e-12));
    // At least the lives used, and at least the set.
    let lives = 30.0 * n("/lives_per_vehicle");
    assert!(n("/rotating/pads_bought") >= lives && n("/rotating/pads_bought") >= n("/pads_in_rotation"));
    assert!(n("/pads_in_rotation") > 1.0, "the comparison needs more than one pad");
    // At the even price both ways cost the same.
    if let Some(price) = k["few"]["even_pad_price_money"].as_f64() {
        let at = |way: &str| {
            let pads = n(&format!("{way}/pads_bought"));
            n(&format!("{way}/total_money")) + pads * (price - 12.0)
        };
        assert!(close(at("/rotating"), at("/few/wearing_out"), 1e-9), "two straight lines: {k:#}");
    }
    let (ml, cost) = (number(season, "/product_ml_per_vehicle"), number(season, "/product_per_vehicle_money"));
    assert!(close(cost, 40.0 * ml / 1000.0, 1e-12) && close(ml, number(&v, "/totals/product_ml"), 1e-12));
    let told = run_on(&text, &["plan"]).out;
    assert!(told.contains("season   Season: 30 vehicles"), "{told}");
    let listed = run_on(&text, &["check"]).out;
    assert!(listed.contains("season.few_pads") && listed.contains("season.pad_price"), "{listed}");
}

#[test]
fn bad_heat_and_bad_seasons_are_refused_with_their_key() {
    let air = |line: &str| edited(SMALL, &[("[tool.long]", &format!("[ambient]\n{line}\n[tool.long]"))]);
    let limits = |line: &str| edited(SMALL, &[("[tool.long]", &format!("[limits]\n{line}\n[tool.long]"))]);
    let season = |from: &str, to: &str| edited(SMALL, &[("[tool.long]", &edited(SEASON, &[(from, to)]))]);
    let paint = "[paint.p]\nsubstrate = \"unobtainium\"\n[tool.long]";
    for (text, key) in [
        (air("temperature_c = -273.15"), "temperature_c"), // absolute zero
        (air("relative_humidity = 1.01"), "relative_humidity"),
        (air("relative_humidity = -0.1"), "relative_humidity"),
        (air("air_speed_m_s = -0.1"), "air_speed_m_s"),
        (limits("paint_c = 19"), "paint_c"),
        (air("temperature_c = 40").replace("[tool.long]", "[limits]\npaint_c = 40\n[tool.long]"), "paint_c"),
        (
            air("temperature_c = 40").replace("thickness_mm = 25.0", "thickness_mm = 25.0\ncore_limit_c = 40"),
            "core_limit_c",
        ),
        (edited(SMALL, &[("[tool.long]", paint)]), "substrate"),
        (edited(SMALL, &[("passes = 2", "passes = 2\ndrops = 0")]), "drops"),
        (edited(SMALL, &[("preston_per_pa", "drop_ml = -0.2\npreston_per_pa")]), "drop_ml"),
        (season("weeks = 10", "weeks = -1"), "weeks"),
        (season("vehicles_per_week = 3", "vehicles_per_week = 0"), "vehicles_per_week"),
        (season("pad_price = 12.0", "pad_price = -1.0"), "pad_price"),
        (season("pad_price = 12.0\n", ""), "pad_price"),
        (season("wash_cost = 0.5", "wash_cost = nan"), "wash_cost"),
        (season("hourly_rate = 30.0", "hourly_rate = 30.0\nfew_pads = 41"), "few_pads"),
        (season("hourly_rate", "hourly_rates"), "hourly_rates"),
    ] {
        for command in ["heat", "plan"] {
            let answer = run_on(&text, &[command, "--json"]);
            assert_eq!((answer.code, answer.out.as_str()), (Some(2), ""), "{key}: {}", answer.err);
            assert!(answer.told().contains(key), "{key}: {}", answer.told());
        }
    }
    // On plastic the default limit lies below the hottest air that a job may have.
    let plastic = edited(SMALL, &[("[panel.door]", "[paint.p]\nsubstrate = \"plastic\"\n[panel.door]\npaint = \"p\"")]);
    let hot = plastic.replace("[tool.long]", "[ambient]\ntemperature_c = 55\n[tool.long]");
    let answer = run_on(&hot, &["heat"]);
    assert!(answer.code == Some(2) && answer.told().contains("paint_c"), "{}", answer.told());
    // A face that sticks rubs nothing: no answer, and why.
    let stuck = edited(SMALL, &[("thickness_mm = 25.0", "thickness_mm = 25.0\nshear_modulus_kpa = 0.2")]);
    let answer = run_on(&stuck, &["heat", "--json"]);
    assert!(answer.code == Some(1) && answer.told().contains("sticks"), "{}", answer.told());
}

#[test]
fn heat_writes_its_pictures_and_the_report_shows_them() {
    let folder = Folder::new();
    folder.put("job.toml", wide());
    let answer = run_in(folder.path(), &["heat", "job.toml", "--out", "h"]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    for words in
        ["Hottest paint", "Milder", "Core by pads in rotation", "Pad condition", "Hot paint, pads and plastics"]
    {
        assert!(answer.out.contains(words), "{words}: {}", answer.out);
    }
    assert!(answer.out.lines().all(|l| l.is_ascii() || l.contains(['°', 'µ', '²', '³', '·'])), "plain characters");
    let names = crate::cli::names_in(&folder.path().join("h"));
    crate::cli::no_leftovers(&names);
    assert!(names.contains("cut-heat.json"));
    if cfg!(feature = "plot") {
        for name in ["cut-heat", "cut-drying", "cut-pad-core", "cut-rotation", "cut-pad-course"] {
            assert!(
                names.contains(&format!("{name}.svg")) && names.contains(&format!("{name}.png")),
                "{name}: {names:?}"
            );
        }
    }
    assert_eq!(run_in(folder.path(), &["plan", "job.toml", "--out", "p"]).code, Some(0));
    let html = std::fs::read_to_string(folder.path().join("p/report.html")).unwrap();
    let part = html.split_once("<section id=\"heat\"").unwrap().1.split_once("<section id=\"pictures\"").unwrap().0;
    for words in ["Heat, product and pads", "Hottest paint", "Working time", "Pads of the job"] {
        assert!(part.contains(words), "{words}");
    }
    if cfg!(feature = "plot") {
        // Passes, working time, cores, rotation.
        assert_eq!(part.matches("<figure>").count(), 4, "figures of the section");
    }
    assert!(!part.contains("<script"));
}
