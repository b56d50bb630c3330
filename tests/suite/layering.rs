//! The rules of the house that a compiler does not check: rooms import only from rooms before them,
//! two crates stay in their homes, and the contributors' page names paths that exist.

use std::fs;
use std::path::{Path, PathBuf};

/// The rooms in their order; a room may import from those before it.
const ROOMS: [&str; 17] = [
    "error",
    "units",
    "math",
    "equipment",
    "panel",
    "motion",
    "contact",
    "spin",
    "removal",
    "heat",
    "wear",
    "finish",
    "budget",
    "plan",
    "job",
    "plot",
    "report",
];
/// Rooms after all of those: they may import from anywhere.
const LAST: [&str; 4] = ["cli", "main", "lib", "verify"];
/// `error` joins the small error enum of each room, so it alone looks up, and at those only.
const JOINS: &str = "error";

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every file under `src`: name from the package's folder, and text.
pub(crate) fn sources() -> Vec<(String, String)> {
    fn walk(dir: &Path, out: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(dir).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, out);
            } else if path.extension().is_some_and(|e| e == "rs") {
                out.push(path);
            }
        }
    }
    let mut files = Vec::new();
    walk(&root().join("src"), &mut files);
    files.sort();
    files
        .into_iter()
        .map(|p| {
            let name = p.strip_prefix(root()).unwrap().to_string_lossy().replace('\\', "/");
            let text = fs::read_to_string(&p).unwrap();
            (name, text)
        })
        .collect()
}

/// The room that a file under `src` belongs to.
fn room(file: &str) -> &str {
    let inside = file.strip_prefix("src/").unwrap();
    inside.split('/').next().unwrap().trim_end_matches(".rs")
}

/// Code without comments and strings, each replaced by a blank.
fn code(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text.chars().peekable();
    while let Some(c) = rest.next() {
        match c {
            '/' if rest.peek() == Some(&'/') => {
                for c in rest.by_ref() {
                    if c == '\n' {
                        break;
                    }
                }
                out.push('\n');
            }
            '"' => {
                while let Some(c) = rest.next() {
                    if c == '\\' {
                        rest.next();
                    } else if c == '"' {
                        break;
                    }
                }
                out.push(' ');
            }
            // A quote as a character would open a string that never ends.
            '\'' if rest.peek() == Some(&'"') => {
                rest.next();
                out.push(' ');
            }
            _ => out.push(c),
        }
    }
    out
}

/// Rooms named after `crate::`, those in a braced list too.
fn imports(code: &str) -> Vec<String> {
    let mut out = Vec::new();
    for (at, word) in code.match_indices("crate::") {
        let before = code[..at].chars().next_back();
        if before.is_some_and(|c| c.is_alphanumeric() || c == '_' || c == '$') {
            continue;
        }
        let rest = &code[at + word.len()..];
        let name =
            |s: &str| s.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
        if let Some(list) = rest.strip_prefix('{') {
            let mut depth = 0;
            let mut start = true;
            for (i, c) in list.char_indices() {
                if start && !c.is_whitespace() {
                    out.push(name(&list[i..]));
                    start = false;
                }
                match c {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => start = true,
                    _ => {}
                }
            }
        } else {
            out.push(name(rest));
        }
    }
    out.retain(|n| !n.is_empty());
    out
}

fn upward(file: &str, text: &str) -> Vec<String> {
    let here = room(file);
    if LAST.contains(&here) {
        return Vec::new();
    }
    let Some(own) = ROOMS.iter().position(|r| *r == here) else {
        return vec![format!("{file}: room `{here}` is not in the order; put it there")];
    };
    let mut out = Vec::new();
    for to in imports(&code(text)) {
        let allowed = match ROOMS.iter().position(|r| *r == to) {
            // Types of the crate root (`crate::Length`, `crate::Error`) come from error and units.
            None => !LAST.contains(&to.as_str()) && to.chars().next().is_some_and(char::is_uppercase),
            Some(_) if here == JOINS => true,
            Some(i) => i <= own,
        };
        // Pictures are drawn by report and command line only.
        if !allowed || (to == "plot" && here != "plot" && here != "report") {
            out.push(format!("{file} imports crate::{to}"));
        }
    }
    out
}

#[test]
fn rooms_import_only_from_rooms_before_them() {
    let files = sources();
    assert!(files.len() > 30, "the walk finds the crate: {}", files.len());
    let off: Vec<_> = files.iter().flat_map(|(f, t)| upward(f, t)).collect();
    assert!(off.is_empty(), "{}", off.join("\n"));
}

#[test]
fn the_check_itself_sees_an_upward_import() {
    for text in [
        "use crate::spin::Setup;",
        "use crate::{units::Length, spin};",
        "fn f() { crate::contact::solve() }",
        "use crate::{\n    equipment::{Pad, Tool},\n    contact::Hold,\n};",
    ] {
        assert_eq!(upward("src/panel/patch.rs", text).len(), 1, "{text}");
    }
    for text in [
        "// crate::spin is not used here",
        "use crate::units::Length;",
        "let s = \"crate::spin\";",
        "use crate::equipment::{Pad};",
        "use crate::Length;",
    ] {
        assert!(upward("src/panel/patch.rs", text).is_empty(), "{text}: {:?}", upward("src/panel/patch.rs", text));
    }
    assert_eq!(upward("src/helper/mod.rs", "").len(), 1);
    assert_eq!(upward("src/spin/stall.rs", "use crate::plot::Theme;").len(), 1);
    assert!(upward("src/report/html.rs", "use crate::plot::Theme;").is_empty());
}

fn named_outside(krate: &str, home: impl Fn(&str) -> bool) -> Vec<String> {
    sources()
        .into_iter()
        .filter(|(f, _)| !home(f))
        .filter(|(_, t)| {
            let code = code(t);
            [format!("use {krate}"), format!("{krate}::")].iter().any(|w| code.contains(w.as_str()))
        })
        .map(|(f, _)| f)
        .collect()
}

#[test]
fn rayon_and_plotters_stay_at_home() {
    assert_eq!(named_outside("rayon", |f| f == "src/math/reduce.rs"), Vec::<String>::new());
    assert_eq!(named_outside("plotters", |f| f.starts_with("src/plot/")), Vec::<String>::new());
    // The search does find a crate where it is.
    assert!(named_outside("rayon", |_| false).contains(&"src/math/reduce.rs".to_string()));
}

#[test]
fn no_room_or_file_is_a_grab_bag() {
    for (file, text) in sources() {
        let stem = file.rsplit('/').next().unwrap().trim_end_matches(".rs");
        assert!(!["util", "utils", "common", "helper", "helpers", "manager"].contains(&stem), "{file}");
        assert!(text.lines().count() <= 800, "{file} has {} lines; split it", text.lines().count());
        assert!(text.starts_with("//!"), "{file} opens without saying what it is");
        assert!(!code(&text).contains("unsafe "), "{file}");
    }
}

#[test]
fn the_contributors_page_names_paths_that_exist() {
    let page = root().join("DEVELOPERS.md");
    // Not there in a packaged crate without it; in the repository it always is.
    let Ok(text) = fs::read_to_string(&page) else {
        assert!(!root().join(".git").exists() || !root().join("README.md").exists(), "DEVELOPERS.md is missing");
        return;
    };
    let mut seen = 0;
    for (i, line) in text.lines().enumerate() {
        for word in line.split(|c: char| c.is_whitespace() || "`()[],;\"'<>|".contains(c)) {
            let word = word.trim_end_matches(['.', ':']);
            let starts =
                ["src/", "tests/", "benches/", "examples/", "assets/", "fuzz/", "notebooks-free-docs/", ".ci/"];
            if !starts.iter().any(|s| word.starts_with(s)) {
                continue;
            }
            seen += 1;
            // `src/plot/*` stands for the folder; `src/{a,b}` is cut at the comma above and skipped.
            let plain = word.split(['*', '{', '#']).next().unwrap().trim_end_matches('/');
            assert!(root().join(plain).exists(), "DEVELOPERS.md line {}: {word} does not exist", i + 1);
        }
    }
    assert!(seen > 5, "the page names the rooms of the house: {seen} paths found");
}
