//! The pages keep their word: TOML blocks are jobs, every block names its language, links lead
//! somewhere, the README's table of checks agrees with `verify`, the page of the job file holds every
//! key with its unit, default and range, and the contributors' page names every module of the tests.
//!
//! Rust blocks are compiled and run as doctests (see the end of `src/lib.rs`).

#[cfg(feature = "cli")]
use std::collections::BTreeSet;
#[cfg(feature = "cli")]
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

const BEGIN: &str = "<!-- checks: begin -->\n";
const END: &str = "<!-- checks: end -->";

pub(crate) fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// README, contributors' page and the guide: path and text.
pub(crate) fn pages() -> Vec<(PathBuf, String)> {
    let mut files: Vec<PathBuf> = ["README.md", "DEVELOPERS.md", "CHANGELOG.md"].map(|f| root().join(f)).into();
    for entry in fs::read_dir(root().join("notebooks-free-docs")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "md") {
            files.push(path);
        }
    }
    files.sort();
    files.into_iter().map(|p| (p.clone(), fs::read_to_string(p).unwrap())).collect()
}

/// Fenced blocks: line of the fence, its info string, the text inside.
#[cfg(feature = "cli")]
pub(crate) fn blocks(text: &str) -> Vec<(usize, String, String)> {
    let mut out = Vec::new();
    let mut open: Option<(usize, String, String)> = None;
    for (i, line) in text.lines().enumerate() {
        if let Some(info) = line.trim_start().strip_prefix("```") {
            match open.take() {
                Some(block) => out.push(block),
                None => open = Some((i + 1, info.trim().to_owned(), String::new())),
            }
        } else if let Some((_, _, body)) = &mut open {
            body.push_str(line);
            body.push('\n');
        }
    }
    assert!(open.is_none(), "a block is never closed");
    out
}

/// A folder with the files that the pages' jobs read: a mesh and a height map of 300 x 200 mm, a profile
/// of 300 mm, a polyline and a recorded path over them.
#[cfg(feature = "cli")]
fn files_beside_a_job() -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("docs-files");
    fs::create_dir_all(&folder).unwrap();
    let height = |x: f64, y: f64| 5.0 - (x - 150.0).powi(2) / 8000.0 - (y - 100.0).powi(2) / 6000.0;
    let (mut stl, mut map, mut profile) =
        ("solid scan\n".to_owned(), "x_mm,y_mm,z_mm\n".to_owned(), "x_mm,z_mm\n".to_owned());
    for k in 0..31 * 21 {
        let (x, y) = (10.0 * f64::from(k % 31), 10.0 * f64::from(k / 31));
        writeln!(map, "{x},{y},{:.4}", height(x, y)).unwrap();
        if k < 31 {
            writeln!(profile, "{x},{:.4}", height(x, 100.0)).unwrap();
        }
        if k % 31 == 30 || k / 31 == 20 {
            continue;
        }
        for corners in [[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0)], [(0.0, 0.0), (10.0, 10.0), (0.0, 10.0)]] {
            stl.push_str("facet normal 0 0 1\nouter loop\n");
            for (dx, dy) in corners {
                writeln!(stl, "vertex {} {} {:.4}", x + dx, y + dy, height(x + dx, y + dy)).unwrap();
            }
            stl.push_str("endloop\nendfacet\n");
        }
    }
    stl.push_str("endsolid scan\n");
    let polyline = "x_mm,y_mm,feed_mm_s,force_n\n60,60,40,35\n240,60,40,35\n240,130,40,35\n60,130,40,0\n".to_owned();
    let recorded = "time_s,x_mm,y_mm,force_n\n0,60,60,30\n2,140,62,36\n4,230,65,33\n".to_owned();
    let readings = "panel,x_mm,y_mm,value_um,kind,uncertainty_um,substrate\nscanned,60,60,112,magnetic,1,steel\nscanned,240,130,108,magnetic,1,steel\n".to_owned();
    let files = [
        ("scan.stl", stl),
        ("heights.csv", map),
        ("profile.csv", profile),
        ("path.csv", polyline),
        ("film.csv", readings),
        ("recorded.csv", recorded),
    ];
    for (name, text) in files {
        // Tests run at once: each writes its own copy and puts it in place whole.
        let own = folder.join(format!("{name}.{:?}", std::thread::current().id()));
        fs::write(&own, text).unwrap();
        fs::rename(&own, folder.join(name)).unwrap();
    }
    folder
}

/// What is wrong with a block, if anything: an unknown language, or TOML that is no job.
#[cfg(feature = "cli")]
fn complaint(name: &str, info: &str, body: &str) -> Option<String> {
    match info {
        "rust" | "text" | "sh" => None,
        "toml" => trochoid::job::Job::parse(name, body).err().map(|e| e.to_string()),
        // Tables that the reader puts at the end of the demonstration job.
        "toml addition" => {
            let demo = fs::read_to_string(root().join("examples/jobs/demo.toml")).unwrap();
            trochoid::job::Job::parse(name, &format!("{demo}\n{body}")).err().map(|e| e.to_string())
        }
        // Tables that the reader puts at the end of the job that `init` writes.
        "toml starter" => {
            let starter = fs::read_to_string(root().join("src/job/starter.toml")).unwrap();
            trochoid::job::Job::parse(name, &format!("{starter}\n{body}")).err().map(|e| e.to_string())
        }
        // A job with files beside it.
        "toml files" => {
            trochoid::job::Job::parse_in(name, body, Some(&files_beside_a_job())).err().map(|e| e.to_string())
        }
        // A study of the demonstration job.
        "toml study" => trochoid::job::sweep::Study::parse_with(name, body, |job, _| {
            let text = fs::read_to_string(root().join("examples/jobs").join(job)).unwrap();
            Ok(trochoid::job::sweep::JobText { name: job.to_owned(), text, folder: None })
        })
        .err()
        .map(|e| e.to_string()),
        other => Some(format!(
            "a block of `{other}`: say rust, toml, toml addition, toml starter, toml files, toml study, text or sh"
        )),
    }
}

#[cfg(feature = "cli")]
#[test]
fn every_block_is_what_it_says() {
    let mut jobs = 0;
    for (path, text) in pages() {
        for (line, info, body) in blocks(&text) {
            let name = format!("{}, line {line}", path.display());
            jobs += usize::from(info.starts_with("toml"));
            let wrong = complaint(&name, &info, &body);
            assert!(wrong.is_none(), "{name}: {}", wrong.unwrap_or_default());
        }
    }
    assert!(jobs >= 2, "the pages show a job and an addition: {jobs} blocks found");
    // The check itself refuses what is wrong.
    assert!(complaint("x", "", "").is_some());
    assert!(complaint("x", "toml", "schema = 1\nno_such_key = 2\n").is_some());
    assert!(complaint("x", "toml addition", "[pad.other]\nno_such_key = 2\n").is_some());
    assert!(complaint("x", "toml starter", "[pad.other]\nno_such_key = 2\n").is_some());
    assert!(complaint("x", "toml study", "schema = 1\njob = \"demo.toml\"\nstep = \"none\"\n").is_some());
}

#[test]
fn links_lead_somewhere() {
    let mut seen = 0;
    for (path, text) in pages() {
        for (at, _) in text.match_indices("](") {
            let target: String = text[at + 2..].chars().take_while(|c| *c != ')').collect();
            if target.contains("://") || target.starts_with('#') {
                continue;
            }
            seen += 1;
            let file = target.split('#').next().unwrap();
            let from = path.parent().unwrap_or(Path::new("."));
            assert!(from.join(file).exists(), "{}: {target} does not exist", path.display());
        }
    }
    assert!(seen >= 8, "{seen} links found");
}

#[test]
fn every_numbered_example_is_in_the_readme() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let mut seen = 0;
    for entry in fs::read_dir(root().join("examples")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if let Some(stem) = name.strip_suffix(".rs").filter(|s| s.starts_with(|c: char| c.is_ascii_digit())) {
            seen += 1;
            assert!(readme.contains(&format!("`{stem}`")), "{stem} is missing");
        }
    }
    assert!(seen >= 4);
}

/// The cells of the rows of a table of checks, heads and rules left out.
fn checked_rows(text: &str) -> Vec<Vec<&str>> {
    text.lines()
        .filter(|l| l.starts_with("| ") && !l.starts_with("| what |") && !l.starts_with("| check |"))
        .map(|l| l.trim_start_matches("| ").trim_end_matches(" |").split(" | ").collect())
        .collect()
}

/// Whether a number of a page may have been printed by another processor: an error may differ in its
/// digits and a value within its tolerance, so both are only held to the tolerance told beside them.
fn agrees(told: &[&str], fresh: &[&str]) -> bool {
    let number = |text: &str| text.split(' ').next().unwrap().parse::<f64>().unwrap();
    match (told, fresh) {
        ([what, kind, source, count, error, tolerance], [f @ .., _, fresh_tolerance]) => {
            [*what, *kind, *source, *count] == *f && tolerance == fresh_tolerance && number(error) <= number(tolerance)
        }
        ([check, expected, got, error, tolerance], [fresh_check, fresh_expected, .., fresh_tolerance]) => {
            // The page prints two digits beyond the tolerance, so printing adds less than a tenth of it.
            let near = (number(got) - number(expected)).abs() <= 1.1 * number(tolerance);
            check == fresh_check
                && expected == fresh_expected
                && tolerance == fresh_tolerance
                && near
                && number(error) <= number(tolerance)
        }
        _ => false,
    }
}

/// What of the tables in `told` no longer agrees with those in `fresh`.
fn out_of_date(told: &str, fresh: &str) -> Option<String> {
    let (told, fresh) = (checked_rows(told), checked_rows(fresh));
    if told.len() != fresh.len() {
        return Some(format!("{} rows, should be {}", told.len(), fresh.len()));
    }
    told.iter().zip(&fresh).find(|(t, f)| !agrees(t, f)).map(|(t, f)| format!("{t:?} should be {f:?}"))
}

/// The page with every check.
fn validation() -> PathBuf {
    root().join("notebooks-free-docs/validation.md")
}

#[test]
fn the_tables_of_checks_agree_with_verify() {
    let path = root().join("README.md");
    let readme = fs::read_to_string(&path).unwrap();
    let (before, rest) = readme.split_once(BEGIN).expect("the table's first marker");
    let (old, after) = rest.split_once(END).expect("the table's last marker");
    let checks = trochoid::verify::all();
    let failed: Vec<&str> = checks.iter().filter(|c| !c.passed()).map(|c| c.name.as_str()).collect();
    assert!(failed.is_empty(), "{failed:?}");
    let (table, page) = (trochoid::verify::summary_table(&checks), trochoid::verify::page(&checks));
    if std::env::var_os("TROCHOID_RENEW_TABLE").is_some_and(|v| v == "1") {
        fs::write(&path, format!("{before}{BEGIN}{table}{END}{after}")).unwrap();
        fs::write(validation(), page).unwrap();
        return;
    }
    assert_eq!(out_of_date(old, &table), None, "renew the README's table as the README says");
    let told = fs::read_to_string(validation()).unwrap();
    assert_eq!(out_of_date(&told, &page), None, "renew validation.md as the README says");
    // Outside the tables the page is the same to the letter.
    let prose = |text: &str| text.lines().filter(|l| !l.starts_with('|')).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(prose(&told), prose(&page), "renew validation.md as the README says");
}

#[test]
fn a_page_of_checks_that_is_out_of_date_is_seen() {
    let page = trochoid::verify::page(&trochoid::verify::all());
    assert!(checked_rows(&page).len() > 130, "{} rows", checked_rows(&page).len());
    assert_eq!(out_of_date(&page, &page), None);
    let row = page.lines().find(|l| l.contains("| friction torque at eps 0.5 |")).unwrap();
    for (from, to) in [
        (row.to_owned(), String::new()),
        (row.to_owned(), row.replace("0.5477", "0.5478")),
        (row.to_owned(), row.replace("eps 0.5", "eps 0.6")),
        ("published | Farkas".to_owned(), "computed | Farkas".to_owned()),
    ] {
        let changed = page.replacen(&from, &to, 1);
        assert!(changed != page && out_of_date(&changed, &page).is_some(), "{from} -> {to}");
    }
}

/// Rows that belong to no table, or have another number of cells than its head: line and text.
fn loose_rows(text: &str) -> Vec<(usize, String)> {
    let lines: Vec<&str> = text.lines().collect();
    let (mut fenced, mut cells, mut out) = (false, None, Vec::new());
    for (i, line) in lines.iter().enumerate() {
        fenced ^= line.starts_with("```");
        if fenced || !line.starts_with('|') {
            cells = None;
            continue;
        }
        let count = line.replace("\\|", "").matches('|').count();
        let head = cells.is_none() && lines.get(i + 1).is_some_and(|l| l.starts_with("|--"));
        if head {
            cells = Some(count);
        }
        if cells != Some(count) {
            out.push((i + 1, (*line).to_owned()));
        }
    }
    out
}

#[test]
fn every_table_is_whole() {
    for (path, text) in pages() {
        assert_eq!(loose_rows(&text), [], "{}", path.display());
    }
    // A gap before a row, a cell too many, and a bar inside code are told apart.
    let table = "| a | b |\n|---|---|\n| 1 | 2 |\n";
    assert_eq!(loose_rows(table), []);
    assert_eq!(loose_rows("| a | b |\n|---|---|\n\n| 1 | 2 |\n").len(), 1);
    assert_eq!(loose_rows("| a | b |\n|---|---|\n| 1 | 2 | 3 |\n").len(), 1);
    assert_eq!(loose_rows("| a | b |\n|---|---|\n| 1 | \\|x\\| |\n"), []);
}

/// What the page of the stall curves says of its pictures and tables in words.
#[cfg(feature = "cli")]
#[test]
fn the_prose_of_the_stall_page_holds() {
    use trochoid::spin::{Against, StallSettings, stall_curve};
    let job = trochoid::job::Job::read(root().join("examples/jobs/demo.toml")).unwrap();
    let setup = &job.steps.iter().find(|s| s.name == "cut_arch").unwrap().setup;
    let curve = |against: Against, values: &[f64], force: f64| -> Vec<f64> {
        let pressed = Against::Force.set(setup, force).unwrap();
        let found = stall_curve(&pressed, against, values, &StallSettings::default(), 1.0);
        found.iter().map(|k| k.curvature().unwrap()).collect()
    };
    // "The circle lies below the curve for 35 N and just above the one for 18 N": -1.2 at 4200.
    let at = |force| curve(Against::OrbitRate, &[4200.0], force)[0];
    assert!(at(35.0) > -1.2 && at(17.5) < -1.2 && at(17.5) > -1.4, "{} {}", at(35.0), at(17.5));
    // "at 53 N below some 4000 orbits a minute" it stalls on the flat.
    let hard = curve(Against::OrbitRate, &[3900.0, 4200.0], 52.5);
    assert!(hard[0] > 0.0 && hard[1] < 0.0, "{hard:?}");
    // "The table turns round near 20 mm": within the grid of its throws.
    let throws: Vec<f64> = (12..=30).map(f64::from).collect();
    let deepest = curve(Against::Throw, &throws, 35.0);
    let best = (0..throws.len()).min_by(|a, b| deepest[*a].total_cmp(&deepest[*b])).unwrap();
    assert!((throws[best] - 20.0).abs() <= 1.0, "{}", throws[best]);
}

#[test]
fn kinds_of_checks_are_told_apart() {
    let checks = trochoid::verify::all();
    for c in &checks {
        let own = c.source.contains("own ");
        assert_eq!(own, c.kind.name() == "own", "{}: {}", c.name, c.source);
        // A published source is named: a year, a standard, or the word.
        let named = c.source.split('(').any(|p| p.bytes().take_while(u8::is_ascii_digit).count() == 4)
            || ["ISO", "WMO", "HSE", "ASTM", "published", "Fresnel"].iter().any(|w| c.source.contains(w));
        assert!(c.kind.name() != "published" || named, "{}: {}", c.name, c.source);
    }
}

#[test]
fn each_check_can_fail() {
    for c in trochoid::verify::all() {
        assert!(c.tolerance > 0.0 && c.expected.is_finite(), "{}", c.name);
        // No number, none that ends, and one just outside the tolerance on either side are all seen.
        for got in [f64::NAN, f64::INFINITY, c.expected + 1.01 * c.tolerance, c.expected - 1.01 * c.tolerance] {
            assert!(!trochoid::verify::Check { got, ..c.clone() }.passed(), "{}: {got} for {}", c.name, c.expected);
        }
        // No tolerance swallows the number that it holds, but for what is zero or counted in whole pairs.
        assert!(c.expected.abs() < 1e-12 || c.tolerance <= 0.2 * c.expected.abs(), "{}: {}", c.name, c.tolerance);
    }
}

#[test]
fn the_contributors_page_names_every_module_of_the_tests() {
    let page = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let main = fs::read_to_string(root().join("tests/suite/main.rs")).unwrap();
    let modules: Vec<&str> =
        main.lines().filter_map(|l| l.trim().strip_prefix("mod ").and_then(|l| l.strip_suffix(';'))).collect();
    assert!(modules.contains(&"docs") && modules.len() > 20, "{modules:?}");
    for module in modules {
        assert!(page.contains(&format!("| `tests/suite/{module}.rs` |")), "{module} has no row");
    }
    for folder in ["tests/browser", "tests/cluster"] {
        for entry in fs::read_dir(root().join(folder)).unwrap() {
            let name = entry.unwrap().file_name().into_string().unwrap();
            assert!(page.contains(&format!("{folder}/{name}")), "{name} is missing");
        }
    }
}

/// One row of the page of the job file: key, unit, default, range.
struct KeyRow {
    table: String,
    key: String,
    unit: String,
    default: String,
    range: String,
}

/// The kind of a table: `tool.bearing` of `## [tool.NAME.bearing]` or of `[tool.polisher.bearing]`.
fn kind_of_table(header: &str) -> String {
    let mut parts: Vec<&str> = header.trim_matches(['[', ']', '`']).split('.').collect();
    if parts.len() > 1 && !matches!(parts[0], "step" | "sizing") {
        parts.remove(1);
    }
    parts.join(".")
}

fn job_page() -> String {
    fs::read_to_string(root().join("notebooks-free-docs/job-file.md")).unwrap()
}

fn key_rows(page: &str) -> Vec<KeyRow> {
    let mut out = Vec::new();
    let mut table = None;
    for line in page.lines() {
        if let Some(title) = line.strip_prefix("## ") {
            table = match title {
                "Top of the file" => Some(String::new()),
                _ => title.starts_with('`').then(|| kind_of_table(title)),
            };
        }
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        if let (Some(table), [key, unit, default, range, _]) = (&table, cells.as_slice())
            && let Some(key) = key.strip_prefix('`').and_then(|k| k.strip_suffix('`'))
        {
            let [key, unit, default, range] = [key, unit, default, range].map(|s| (*s).to_owned());
            out.push(KeyRow { table: table.clone(), key, unit, default, range });
        }
    }
    out
}

/// Every key of the reader's own list: kind of table, key, unit.
fn keys_of_the_reader() -> Vec<(String, String, String)> {
    let code = fs::read_to_string(root().join("src/job/keys.rs")).unwrap();
    let mut out = Vec::new();
    for part in code.split("pub(super) static ").filter(|p| p.contains(": Kind =")) {
        let quoted = |text: &str| text.split('"').nth(1).unwrap().to_owned();
        let table = quoted(part.split_once("name:").unwrap().1);
        for key in part.split("key(").skip(1) {
            let words: Vec<&str> = key.splitn(5, '"').collect();
            if let [_, name, _, unit, _] = words.as_slice() {
                out.push((table.clone(), (*name).to_owned(), (*unit).to_owned()));
            }
        }
    }
    out
}

#[test]
fn the_job_page_holds_every_key() {
    let rows = key_rows(&job_page());
    let keys = keys_of_the_reader();
    assert!(keys.len() > 90, "{} keys read from the reader's list", keys.len());
    for (table, key, unit) in &keys {
        let Some(row) = rows.iter().find(|r| r.table == *table && r.key == *key) else {
            panic!("[{table}] {key} has no row");
        };
        assert_eq!(&row.unit, unit, "unit of [{table}] {key}");
        assert!(!row.default.is_empty() && !row.range.is_empty(), "[{table}] {key} says too little");
    }
    for r in &rows {
        assert!(keys.iter().any(|k| k.0 == r.table && k.1 == r.key), "[{}] {} is no key", r.table, r.key);
    }
    assert_eq!(rows.len(), keys.len(), "a key stands twice");
    for d in trochoid::equipment::defaults::TABLE {
        let (table, key) = d.key.rsplit_once('.').unwrap();
        let row = rows.iter().find(|r| r.table == table && r.key == key).unwrap();
        assert_eq!(row.default, d.value, "default of {}", d.key);
    }
}

/// Bounds of a cell that says nothing but `LOW to HIGH`.
#[cfg(feature = "cli")]
fn bounds(cell: &str) -> Option<(f64, f64)> {
    let (low, high) = cell.split_once(" to ")?;
    Some((low.parse().ok()?, high.parse().ok()?))
}

#[cfg(feature = "cli")]
#[test]
fn the_job_page_tells_the_ranges_that_the_reader_holds() {
    let page = job_page();
    let rows = key_rows(&page);
    // One job of steps and one of a vehicle.
    let whole: Vec<String> = blocks(&page).into_iter().filter(|b| b.1 == "toml").map(|b| b.2).collect();
    assert_eq!(whole.len(), 2, "whole jobs on the page");
    let mut table = String::new();
    let mut seen = BTreeSet::new();
    let mut tried = 0;
    for (lines, i) in whole.iter().flat_map(|text| {
        let lines: Vec<&str> = text.lines().collect();
        (0..lines.len()).map(move |i| (lines.clone(), i))
    }) {
        let line = lines[i];
        if i == 0 {
            table.clear();
        }
        if line.starts_with('[') {
            table = kind_of_table(line.split('#').next().unwrap().trim());
            continue;
        }
        let Some((key, value)) = line.split_once(" = ") else { continue };
        seen.insert((table.clone(), key.to_owned()));
        let row = rows.iter().find(|r| r.table == table && r.key == key).unwrap();
        let Some((low, high)) = bounds(&row.range) else { continue };
        // A whole number stays one.
        let text = |x: f64| if value.trim().parse::<i64>().is_ok() { format!("{x:.0}") } else { format!("{x:?}") };
        for outside in [low - 1.0, 2.0 * high.abs() + 1.0] {
            let mut changed = lines.clone();
            let new = format!("{key} = {}", text(outside));
            changed[i] = &new;
            let refused = trochoid::job::Job::parse("page", &changed.join("\n"));
            let told = refused.err().map(|e| e.to_string()).unwrap_or_default();
            assert!(
                told.contains(key) && told.contains(&format!("{low} to {high}")),
                "[{table}] {new} should be refused with {low} to {high}: {told}"
            );
            tried += 1;
        }
    }
    assert!(tried > 90, "{tried} values tried");
    // What a job reads from files stands in a block of its own.
    let (_, _, with_files) = blocks(&page).into_iter().find(|b| b.1 == "toml files").expect("a job with files");
    for line in with_files.lines() {
        if line.starts_with('[') {
            table = kind_of_table(line.trim());
        } else if let Some((key, _)) = line.split_once(" = ") {
            seen.insert((table.clone(), key.to_owned()));
        }
    }
    // The two jobs show every key that holds a value itself.
    for r in rows.iter().filter(|r| r.range != "table") {
        assert!(seen.contains(&(r.table.clone(), r.key.clone())), "[{}] {} is not in the job", r.table, r.key);
    }
}
