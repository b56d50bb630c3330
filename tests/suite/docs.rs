//! The pages keep their word: TOML blocks are jobs, every block names its language, links lead
//! somewhere, and the README's table of checks agrees with `verify`.
//!
//! Rust blocks are compiled and run as doctests (see the end of `src/lib.rs`).

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use trochoid::verify::Check;

const BEGIN: &str = "<!-- checks: begin -->\n";
const END: &str = "<!-- checks: end -->";
const HEAD: &str = "| what | source | checks | worst error | tolerance |\n|---|---|---|---|---|\n";

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// README, contributors' page and the guide: path and text.
fn pages() -> Vec<(PathBuf, String)> {
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
fn blocks(text: &str) -> Vec<(usize, String, String)> {
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
        other => Some(format!("a block of `{other}`: say rust, toml, toml addition, text or sh")),
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

/// Digits of a table: enough to see the size of an error.
fn short(value: f64) -> String {
    format!("{value:.1e}")
}

fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}

/// Rows: what, source, number of checks, worst error and its tolerance (with the unit).
fn rows(checks: &[Check]) -> Vec<[String; 5]> {
    let mut out = Vec::new();
    let mut done = BTreeSet::new();
    for c in checks {
        if !done.insert((c.group, c.source, c.unit)) {
            continue;
        }
        let of: Vec<&Check> =
            checks.iter().filter(|o| (o.group, o.source, o.unit) == (c.group, c.source, c.unit)).collect();
        let share = |o: &Check| (o.got - o.expected).abs() / o.tolerance;
        let worst = of.iter().copied().max_by(|a, b| share(a).total_cmp(&share(b))).unwrap();
        let unit = if c.unit.is_empty() { String::new() } else { format!(" {}", c.unit) };
        out.push([
            cell(c.group),
            cell(c.source),
            of.len().to_string(),
            format!("{}{unit}", short((worst.got - worst.expected).abs())),
            format!("{}{unit}", short(worst.tolerance)),
        ]);
    }
    out
}

fn table(rows: &[[String; 5]]) -> String {
    let mut out = HEAD.to_owned();
    for row in rows {
        let _ = writeln!(out, "| {} |", row.join(" | "));
    }
    out
}

#[test]
fn the_table_of_checks_agrees_with_verify() {
    let path = root().join("README.md");
    let readme = fs::read_to_string(&path).unwrap();
    let (before, rest) = readme.split_once(BEGIN).expect("the table's first marker");
    let (old, after) = rest.split_once(END).expect("the table's last marker");
    let checks = trochoid::verify::all();
    let failed: Vec<&str> = checks.iter().filter(|c| !c.passed()).map(|c| c.name.as_str()).collect();
    assert!(failed.is_empty(), "{failed:?}");
    let fresh = rows(&checks);
    if std::env::var_os("TROCHOID_RENEW_TABLE").is_some_and(|v| v == "1") {
        fs::write(&path, format!("{before}{BEGIN}{}{END}{after}", table(&fresh))).unwrap();
        return;
    }
    let told: Vec<Vec<String>> = old
        .strip_prefix(HEAD)
        .expect("the table's head")
        .lines()
        .map(|l| l.trim_start_matches("| ").trim_end_matches(" |").split(" | ").map(str::to_owned).collect())
        .collect();
    assert_eq!(told.len(), fresh.len(), "rows of the table; renew it as the README says");
    for (told, fresh) in told.iter().zip(&fresh) {
        // What, source and number of checks to the letter, the tolerance too; the worst error may
        // differ in its digits between processors, so it is only held to the tolerance it names.
        assert_eq!(told[..3], fresh[..3], "renew the table as the README says");
        assert_eq!(told[4], fresh[4], "renew the table as the README says");
        let number = |text: &str| text.split(' ').next().unwrap().parse::<f64>().unwrap();
        assert!(number(&told[3]) <= number(&told[4]), "{told:?}");
    }
}
