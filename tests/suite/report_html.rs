//! The printable report as a document: its order, its figures, what it escapes, and that it needs
//! nothing from outside. How it looks in a browser and on paper is checked by
//! `tests/browser/check_report.sh`.

#![cfg(feature = "cli")]

use crate::cli::{Folder, SMALL, edited};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// The report of a job, written in a folder of its own.
fn report_of(job: &Path, folder: &str) -> (String, PathBuf) {
    let out = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("report-{}-{folder}", std::process::id()));
    let run = Command::new(env!("CARGO_BIN_EXE_trochoid"))
        .args(["plan".as_ref(), job.as_os_str(), "--out".as_ref(), out.as_os_str()])
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let text = std::fs::read_to_string(out.join("report.html")).unwrap();
    (text, out)
}

fn at(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn demo() -> &'static str {
    static TEXT: OnceLock<String> = OnceLock::new();
    TEXT.get_or_init(|| {
        let (text, out) = report_of(&at("examples/jobs/demo.toml"), "demo");
        std::fs::remove_dir_all(out).unwrap();
        text
    })
}

fn hard() -> &'static str {
    static TEXT: OnceLock<String> = OnceLock::new();
    TEXT.get_or_init(|| {
        let (text, out) = report_of(&at("tests/browser/hard.toml"), "hard");
        std::fs::remove_dir_all(out).unwrap();
        text
    })
}

/// Start tags of the document: name and the rest up to the closing bracket. The template escapes
/// `>` and `"` in attributes, so a bracket ends a tag.
fn tags(html: &str) -> Vec<(String, String)> {
    let body = html.split_once("</style>").unwrap().1;
    body.split('<')
        .skip(1)
        .filter(|t| t.starts_with(|c: char| c.is_ascii_alphabetic()))
        .map(|t| {
            let inside = t.split_once('>').unwrap().0;
            let name: String = inside.chars().take_while(char::is_ascii_alphanumeric).collect();
            (name.clone(), inside[name.len()..].to_owned())
        })
        .collect()
}

fn attribute<'a>(rest: &'a str, name: &str) -> Option<&'a str> {
    let start = rest.find(&format!(" {name}=\""))? + name.len() + 3;
    rest[start..].split('"').next()
}

/// What a reader sees between two places of the document, white space made even.
fn seen(html: &str) -> String {
    let mut out = String::new();
    for part in html.split('<') {
        out.push_str(part.split_once('>').map_or(part, |(_, text)| text));
    }
    let plain = out.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&#39;", "'");
    // `split_whitespace` takes the no-break spaces between numbers and units too.
    plain.replace("&amp;", "&").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn section<'a>(html: &'a str, id: &str) -> &'a str {
    html.split_once(&format!("<section id=\"{id}\"")).unwrap_or_else(|| panic!("no section {id}")).1
}

#[test]
fn headings_stand_in_their_order() {
    for html in [demo(), hard()] {
        assert!(html.starts_with("<!DOCTYPE html><html lang=\"en\"><head><meta charset=\"utf-8\">"));
        assert!(html.ends_with("</html>\n"));
        let levels: Vec<usize> = tags(html)
            .iter()
            .filter(|(n, _)| n.len() == 2 && n.starts_with('h') && n != "hr")
            .map(|(n, _)| n[1..].parse().unwrap())
            .collect();
        assert_eq!(levels.iter().filter(|l| **l == 1).count(), 1, "one title");
        assert_eq!(levels[0], 1);
        assert!(levels.windows(2).all(|w| w[1] <= w[0] + 1), "a level is skipped: {levels:?}");
        let titles: Vec<String> =
            html.split("<h2").skip(1).map(|h| seen(&format!("<h2{}", h.split("</h2>").next().unwrap()))).collect();
        assert_eq!(
            titles,
            [
                "Answer",
                "Steps at a glance",
                "What to change",
                "Cautions",
                "Paint",
                "Heat, product and pads",
                "Pictures and numbers",
                "Assumptions"
            ]
        );
    }
}

#[test]
fn nothing_comes_from_outside_and_nothing_runs() {
    for html in [demo(), hard()] {
        for word in ["<script", "<link", "<iframe", "<object", "<embed", "javascript:", "@import", "url(", "srcset"] {
            assert!(!html.contains(word), "{word}");
        }
        for (name, rest) in tags(html) {
            for key in ["href", "src", "xlink:href", "action", "data", "poster"] {
                if let Some(to) = attribute(&rest, key) {
                    assert!(to.starts_with('#') || to.starts_with("data:image/png;base64,"), "<{name} {key}={to}");
                }
            }
            assert!(!rest.contains(" on"), "an event handler in <{name}{rest}>");
        }
        // Not even the name space of SVG, which goes without saying inside a page.
        assert_eq!(html.replace("http://www.w3.org/2000/svg", "").matches("http").count(), 0);
    }
}

#[test]
fn markup_in_names_is_shown_not_obeyed() {
    let html = hard();
    for raw in ["<script>", "<b>bold", "<h1>one", "<img", "<h1></bdi>", "onerror=alert(2)>\""] {
        assert!(!html.contains(raw), "{raw} is in the page as markup");
    }
    let text = seen(html.split_once("</style>").unwrap().1);
    for shown in [
        "<script>alert(1)</script> & \"quotes\" <b>bold</b> ]]>",
        "<h1>one</h1> & 'two'",
        "free <img src=x onerror=alert(2)>",
        "crown </td></tr></table><h1>",
        "a & b",
    ] {
        assert!(text.contains(shown), "{shown} is not shown");
    }
    assert!(html.contains("<title>&lt;script&gt;alert(1)&lt;/script&gt; &amp; "), "the window's title too");
}

#[test]
fn identifiers_are_unique_and_every_reference_leads_somewhere() {
    for html in [demo(), hard()] {
        let tags = tags(html);
        let ids: Vec<&str> = tags.iter().filter_map(|(_, r)| attribute(r, "id")).collect();
        let unique: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(ids.len(), unique.len());
        for (name, rest) in &tags {
            for key in ["aria-labelledby", "aria-describedby"] {
                if let Some(to) = attribute(rest, key) {
                    assert!(unique.contains(to), "<{name} {key}={to}");
                }
            }
            if let Some(to) = attribute(rest, "href").and_then(|h| h.strip_prefix('#')) {
                assert!(unique.contains(to), "#{to}");
            }
        }
        // Tables are named and their headings say what they head.
        let count = |n: &str| tags.iter().filter(|(name, _)| name == n).count();
        assert_eq!(count("table"), count("caption"));
        assert!(tags.iter().filter(|(n, _)| n == "th").all(|(_, r)| attribute(r, "scope").is_some()));
    }
}

#[test]
#[cfg(feature = "plot")]
fn every_figure_has_a_name_of_its_own() {
    let html = demo();
    let tags = tags(html);
    let drawings: Vec<&String> = tags.iter().filter(|(n, _)| n == "svg").map(|(_, r)| r).collect();
    let figures = tags.iter().filter(|(n, _)| n == "figure").count();
    assert!(figures >= 6, "a cut map and stall curves for each of three steps: {figures}");
    assert!(drawings.len() >= figures);
    for d in drawings {
        let id = attribute(d, "id").unwrap();
        assert_eq!(attribute(d, "role"), Some("img"));
        assert_eq!(attribute(d, "aria-labelledby"), Some(format!("{id}-title").as_str()));
        for (tag, part) in [("title", "title"), ("desc", "description")] {
            let open = format!("<{tag} id=\"{id}-{part}\">");
            let text = html.split_once(&open).unwrap_or_else(|| panic!("no {open}")).1;
            assert!(text.split('<').next().unwrap().len() > 10, "{open} says nothing");
        }
    }
}

#[test]
fn every_step_is_answered_listed_and_shown() {
    let html = demo();
    for name in ["cut_door", "cut_arch", "finish_door"] {
        for part in ["answer", "steps", "pictures"] {
            let text = section(html, part).split("</section>").collect::<Vec<_>>();
            // The pictures hold a section a step; the others none.
            let whole = if part == "pictures" { text[..4].concat() } else { text[0].to_owned() };
            // Names may break after their underscores.
            assert!(whole.replace("<wbr>", "").contains(&format!("<bdi>{name}</bdi>")), "{name} in {part}");
        }
    }
    let answer = seen(section(html, "answer").split("</section>").next().unwrap());
    // The same figures as the machine-readable plan prints for this job's fixed settings.
    for words in
        ["setting 4.5 (4200 orbits/min)", "35 N on the pad face", "40 mm/s", "overlap 50 %", "4 passes crosshatch"]
    {
        assert!(answer.contains(words), "{words}: {answer}");
    }
    assert!(answer.contains("cut_arch cannot be worked as set: the pad stalls. First try"), "{answer}");
    let change = seen(section(html, "change").split("</section>").next().unwrap());
    assert!(change.contains("less force: at ") && change.contains("No help here:"), "{change}");
}

#[test]
fn numbers_agree_with_the_plan() {
    let (html, out) = report_of(&at("examples/jobs/demo.toml"), "numbers");
    let json: serde_json::Value = serde_json::from_slice(&std::fs::read(out.join("plan.json")).unwrap()).unwrap();
    std::fs::remove_dir_all(out).unwrap();
    let rows = section(&html, "steps").split("<tbody").nth(1).unwrap();
    let rows: Vec<String> = rows.split("<tr").skip(1).take(3).map(|r| seen(&format!("<tr{r}"))).collect();
    for (row, step) in rows.iter().zip(json["steps"].as_array().unwrap()) {
        assert!(row.contains(step["step"].as_str().unwrap()), "{row}");
        let number =
            |v: &serde_json::Value, decimals: usize| format!("{:.decimals$}", v.as_f64().unwrap()).replace('-', "−");
        for part in [
            format!("{} µm", number(&step["cut_um"]["mean"], 2)),
            format!("{} to {} µm", number(&step["cut_um"]["lo"], 2), number(&step["cut_um"]["hi"], 2)),
            format!("{} rpm", number(&step["spin_rpm"], 0)),
            format!("{} to {}", number(&step["spin_rpm_range"][0], 0), number(&step["spin_rpm_range"][1], 0)),
            step["binding_limit"]["name"].as_str().unwrap().replace('_', " "),
        ] {
            assert!(row.contains(&part), "{part} is not in {row}");
        }
        if let Some(s) = step["stall_number"].as_f64() {
            assert!(row.contains(&format!("{s:.2}")), "{row}");
        }
    }
    // Every assumption of the plan, with its value, source and grade.
    let assumed = seen(section(&html, "assumptions"));
    for a in json["assumptions"].as_array().unwrap() {
        let line = ["key", "value", "source"].map(|k| a[k].as_str().unwrap()).join("");
        let grade = a["grade"].as_str().unwrap();
        let squeezed = |t: &str| t.split_whitespace().collect::<String>();
        let (all, whole) = (squeezed(&assumed), squeezed(&format!("{line}{grade}")));
        // Alike in several tables: one row with a star in place of the name, and the names before the value.
        let mut parts = a["key"].as_str().unwrap().splitn(3, '.');
        let (kind, name, rest) = (parts.next().unwrap(), parts.next().unwrap_or(""), parts.next().unwrap_or(""));
        let end = squeezed(&format!("{}{}{grade}", a["value"].as_str().unwrap(), a["source"].as_str().unwrap()));
        let shared = all
            .split(&format!("{kind}.*.{rest}"))
            .skip(1)
            .any(|row| row.find(&end).is_some_and(|at| row[..at].split(',').any(|n| n == name)));
        assert!(all.contains(&whole) || shared, "{line}{grade}");
    }
}

#[test]
fn what_is_not_there_is_said_never_zero() {
    let html = demo();
    let (_, out) = report_of(&at("examples/jobs/demo.toml"), "nulls");
    let json: serde_json::Value = serde_json::from_slice(&std::fs::read(out.join("plan.json")).unwrap()).unwrap();
    std::fs::remove_dir_all(out).unwrap();
    let text = seen(section(html, "steps"));
    for (key, words) in [("product_ml", "Product"), ("a8_m_s2", "Vibration exposure of the day, A(8)")] {
        let missing = text.contains(&format!("{words}not computed yet"));
        assert_eq!(json["totals"][key].is_null(), missing, "{words}");
    }
    for (key, words) in [
        ("peak_paint_c", "Hottest paint"),
        ("pad_core_c", "Pad core"),
        ("budget_used_share", "Share of the paint budget used"),
    ] {
        let missing = text.matches(&format!("{words}not computed yet")).count();
        let null = json["steps"].as_array().unwrap().iter().filter(|s| s[key].is_null()).count();
        assert_eq!(missing, null, "{words}");
    }
    // A tool of unknown mass, a panel inside the pad's rim, a flat that stalls, driven tools.
    let hard = seen(section(hard(), "answer"));
    for words in [
        "by hand not known: the tool's mass is not given",
        "too large for the panel to leave a worked area",
        "none: stalls on a flat already",
        "none: driven",
        "a prediction, not yet seen in published data",
    ] {
        assert!(hard.contains(words), "{words}");
    }
    for odd in ["NaN", "inf ", "null", "None", "-0 "] {
        assert!(!hard.contains(odd), "{odd}");
    }
}

#[test]
fn the_file_is_named_first_and_the_cautions_stand_before_the_long_tables() {
    let html = demo();
    let text = seen(section(html, "cautions"));
    for line in trochoid::report::CAUTIONS {
        assert!(text.contains(line), "{line}");
    }
    let head = seen(html.split("<h1").next().unwrap());
    assert!(head.contains(&format!("trochoid {}, job file demo.toml", env!("CARGO_PKG_VERSION"))), "{head}");
    let at = |id: &str| html.find(&format!("<section id=\"{id}\"")).unwrap();
    assert!(at("answer") < at("cautions") && at("cautions") < at("paint") && at("paint") < at("assumptions"));
    assert!(!html.contains(env!("CARGO_MANIFEST_DIR")), "the folder of the job is nobody's business");
}

#[test]
fn defaults_alike_share_a_row_that_names_their_tables() {
    let text = seen(section(demo(), "assumptions"));
    // None of the three pads gives a loss factor; the two tools' bearings differ in nothing that was left out.
    assert_eq!(text.matches("loss_factor").count(), 1, "{text}");
    let at = text.find("pad.*.loss_factor").unwrap();
    let row = &text[at..at + text[at..].find("polyurethane").unwrap()];
    for pad in ["cutting", "small_cutting", "finishing"] {
        assert!(row.contains(pad), "{pad}: {row}");
    }
    // One that stands alone keeps its whole name.
    assert!(text.contains("limits.useful_spin_rpm"), "{text}");
}

/// The answer of the report and the printed plan of a job given as text.
fn answered(text: &str, folder: &str) -> (String, String) {
    let home = Folder::new();
    let (html, out) = report_of(&home.put("job.toml", text), folder);
    let printed = std::fs::read_to_string(out.join("plan.txt")).unwrap();
    std::fs::remove_dir_all(out).unwrap();
    (seen(section(&html, "answer").split("</section>").next().unwrap()), printed)
}

#[test]
fn a_cut_through_the_clear_coat_is_a_limit_passed() {
    let job = std::fs::read_to_string(at("examples/jobs/demo.toml")).unwrap();
    // The upper ends of the demonstration's cuts, calibrated by its test spot, are 5.4, 5.7 and 2.4 µm.
    for (clear, thin) in [("45.0", [false; 3]), ("5.5", [false, true, false]), ("5.0", [true, true, false])] {
        let text =
            edited(&job, &[("clear_um = 45.0", &format!("clear_um = {clear}")), ("cell_mm = 2.0", "cell_mm = 10.0")]);
        let (answer, printed) = answered(&text, &format!("clear-{clear}"));
        let short = clear.trim_end_matches(".0");
        let words = format!("is more than the clear coat, {short} µm: do not work it");
        for (part, thin) in printed.split("\nstep `").skip(1).zip(thin) {
            assert_eq!(part.contains(&words), thin, "{part}");
        }
        assert_eq!(answer.matches(&words).count(), thin.iter().filter(|t| **t).count(), "{answer}");
        // A quarter of 45 µm is more than every cut, a quarter of 5.5 µm less than any but the finish's.
        let beyond = "the limit of paint budget is passed";
        let thick = clear == "45.0";
        assert_eq!(answer.contains("cut_door and finish_door turn as set."), thick, "{answer}");
        assert_eq!(answer.contains(beyond), !thick, "{answer}");
        let through = "the cut may go through the clear coat";
        let door = format!("cut_door cannot be worked as set: {beyond}; {through}.");
        assert_eq!(answer.contains(&door), thin[0], "{answer}");
        let stalls = "cut_arch cannot be worked as set: the pad stalls";
        assert_eq!(answer.contains(&format!("{stalls}; {beyond}; {through}. First try")), thin[1], "{answer}");
        // One step stalls: its cut hides marks, and both say so once.
        for text in [&answer, &printed] {
            assert_eq!(text.matches("leaves marks that this figure does not show").count(), 1, "{text}");
            assert_eq!(text.matches("90 % interval of the Preston coefficient alone").count(), 3, "{text}");
        }
    }
}

#[test]
fn a_target_out_of_reach_is_no_limit_passed() {
    let text = edited(SMALL, &[("overlap = 0.5", "overlap = 0.5\ntarget_cut_um = 200.0")]);
    let (answer, printed) = answered(&text, "target");
    assert!(answer.contains("cut cannot be worked as set: the target cut is out of reach."), "{answer}");
    assert!(answer.contains("target out of reach") && !answer.contains("limit is passed"), "{answer}");
    assert!(printed.contains("the target cut is out of reach"), "{printed}");
}

#[test]
fn a_throw_that_inertia_changes_is_told_and_no_infinite_number_is() {
    // Phase Ωh√(ρ/G) = 440 x 0.025 x √(200/5000) = 2.2, beyond a quarter wave; friction of 12.25 N is
    // below the pull of 5 kPa x 0.01327 m²/25 mm x 6 mm = 15.9 N, so the face slides. At 40 kPa the
    // phase is 0.78 and the gain 1/cos 0.78 = 1.40. At 1 kPa the face sticks and has no throw.
    for (kpa, words) in [
        (5.0, Some("the pad is near its shear resonance: the throw is not known")),
        (40.0, Some("the pad's own inertia may raise it by 40 %")),
        (1e4, None),
        (1.0, None),
    ] {
        let pad = format!("thickness_mm = 25.0\nfoam_density_kg_m3 = 200.0\nshear_modulus_kpa = {kpa:?}");
        let text = edited(SMALL, &[("thickness_mm = 25.0", &pad)]);
        let home = Folder::new();
        let (html, out) = report_of(&home.put("job.toml", &text), &format!("gain-{kpa}"));
        let printed = std::fs::read_to_string(out.join("plan.txt")).unwrap();
        std::fs::remove_dir_all(out).unwrap();
        let state = crate::cli::run_on(&text, &["state"]).out;
        let all = [seen(section(&html, "pictures")), printed, state];
        for text in &all {
            for odd in ["inf %", "inf\u{a0}%", "not computed yet %", "no number"] {
                assert!(!text.contains(odd), "{odd} at {kpa} kPa: {text}");
            }
            match words {
                Some(words) => assert!(text.contains(words), "{kpa} kPa: {text}"),
                None => assert!(!text.contains("own inertia") && !text.contains("resonance"), "{kpa} kPa: {text}"),
            }
        }
    }
}
