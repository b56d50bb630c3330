//! The guide holds together: its table of contents names every page once, every page's Rust blocks are
//! compiled, every figure is drawn by the command told beside it, and the sessions on its pages print
//! what the pages say.
//!
//! A session is a page whose `sh` blocks call `trochoid`: the calls are made in order in a fresh folder,
//! `toml starter` blocks are put at the end of `job.toml`, and each line of a `text` block right after a
//! `sh` block must be found, in order, in what was printed. Lines of three dots stand for what is left out.

use crate::docs::{pages, root};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;

/// Draws the record of benchmarks; the guide shows what it draws.
#[cfg(feature = "cli")]
#[allow(dead_code)]
#[path = "../../examples/18_how_fast.rs"]
mod how_fast;

const GUIDE: &str = "notebooks-free-docs";

/// Pages of the guide: name and text.
fn guide() -> BTreeMap<String, String> {
    let folder = root().join(GUIDE);
    pages()
        .into_iter()
        .filter(|(path, _)| path.parent() == Some(folder.as_path()))
        .map(|(path, text)| (path.file_name().unwrap().to_string_lossy().into_owned(), text))
        .collect()
}

/// Targets of the links of a page: what stands between `](` and `)`.
fn targets(text: &str) -> Vec<&str> {
    text.split("](").skip(1).filter_map(|part| part.split_once(')').map(|(target, _)| target)).collect()
}

#[test]
fn the_table_of_contents_names_every_page_once() {
    let mut pages = guide();
    let contents = pages.remove("SUMMARY.md").expect("the table of contents");
    assert!(pages.len() > 15, "{} pages", pages.len());
    let listed = targets(&contents);
    for name in pages.keys() {
        let times = listed.iter().filter(|t| *t == name).count();
        assert_eq!(times, 1, "{name} in SUMMARY.md");
    }
    for name in &listed {
        assert!(pages.contains_key(*name), "SUMMARY.md leads to {name}, which is no page of the guide");
    }
    // What the builder of the book reads: a title, parts, and one link a line.
    for line in contents.lines().filter(|l| !l.trim().is_empty()) {
        let link = line.trim_start().trim_start_matches("- ").starts_with('[') && line.ends_with(')');
        assert!(line.starts_with('#') || link, "{line}: neither a title nor a link");
    }
    let book = fs::read_to_string(root().join(GUIDE).join("book.toml")).unwrap();
    let book: toml::Value = toml::from_str(&book).unwrap();
    assert_eq!(book["book"]["src"].as_str(), Some("."), "the pages stand beside book.toml");
}

#[test]
fn anchors_lead_to_headings() {
    let anchors = |text: &str| -> BTreeSet<String> {
        let plain = |title: &str| {
            let kept = |c: char| c.is_alphanumeric() || c == ' ' || c == '-' || c == '_';
            title.trim().to_lowercase().chars().filter(|c| kept(*c)).collect::<String>().replace(' ', "-")
        };
        text.lines().filter(|l| l.starts_with('#')).map(|l| plain(l.trim_start_matches('#'))).collect()
    };
    let pages = guide();
    let mut seen = 0;
    for (name, text) in &pages {
        for (file, anchor) in targets(text).into_iter().filter_map(|t| t.split_once('#')) {
            let file = if file.is_empty() { name } else { file };
            let Some(page) = pages.get(file) else { continue };
            assert!(anchors(page).contains(anchor), "{name}: {file} has no heading for #{anchor}");
            seen += 1;
        }
    }
    assert!(seen >= 4, "{seen} anchors found");
}

#[test]
fn rust_blocks_of_every_page_are_compiled() {
    let lib = fs::read_to_string(root().join("src/lib.rs")).unwrap();
    for (name, text) in guide().iter().filter(|(_, text)| text.contains("```rust")) {
        assert!(
            lib.contains(&format!("include_str!(\"../{GUIDE}/{name}\")")),
            "{name} has Rust blocks ({} of them) and is not in src/lib.rs",
            text.matches("```rust").count()
        );
    }
}

/// One row of the table of figures: figure, command, file that the command writes.
fn figures() -> Vec<[String; 3]> {
    let page = guide().remove("README.md").unwrap();
    let strip = |cell: &str| cell.trim().trim_matches('`').to_owned();
    page.lines()
        .filter(|l| l.starts_with("| `") && (l.contains("`trochoid ") || l.contains("`cargo run ")))
        .filter_map(|l| {
            let cells: Vec<String> = l.trim_matches('|').split('|').map(strip).collect();
            cells.try_into().ok()
        })
        .collect()
}

#[test]
fn every_figure_has_its_command_and_its_place() {
    let table: BTreeSet<String> = figures().into_iter().map(|[name, ..]| name).collect();
    let folder: BTreeSet<String> = fs::read_dir(root().join(GUIDE).join("figures"))
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(table, folder, "the table of figures in {GUIDE}/README.md, and the folder of figures");
    assert_eq!(table.len(), figures().len(), "a figure stands twice in the table");
    let mut used = BTreeSet::new();
    for (path, text) in pages() {
        for target in targets(&text) {
            let Some((_, name)) = target.rsplit_once("figures/") else { continue };
            assert!(folder.contains(name), "{}: there is no figure {name}", path.display());
            used.insert(name.to_owned());
        }
    }
    assert_eq!(used, folder, "figures on pages, and figures in the folder");
}

#[test]
fn figures_in_the_api_pages_stay_whole() {
    let mut found = 0;
    for module in ["budget", "removal", "spin", "wear"] {
        let head = fs::read_to_string(root().join("src").join(module).join("mod.rs")).unwrap();
        let (_, rest) = head.split_once("figures/").unwrap_or_else(|| panic!("no figure in {module}"));
        let name = rest.split_once('"').unwrap().0;
        let figure = fs::read_to_string(root().join(GUIDE).join("figures").join(name)).unwrap();
        // A blank line ends a block of HTML in Markdown: the rest of the drawing would be read as text.
        assert!(figure.lines().all(|l| !l.trim().is_empty()), "{name} has a blank line");
        assert!(figure.starts_with("<svg ") && figure.contains("<desc") | figure.contains("aria-label"), "{name}");
        found += 1;
    }
    assert_eq!(found, 4);
}

#[cfg(feature = "cli")]
mod run {
    use super::{GUIDE, figures, fs, guide, how_fast, root};
    use crate::cli::{Folder, run_in};
    use crate::docs::blocks;
    use crate::golden::difference;
    use std::path::Path;
    use trochoid::report::write_figure;

    /// A folder with the jobs that the pages name.
    fn workshop() -> Folder {
        let folder = Folder::new();
        let jobs = folder.path().join("examples/jobs");
        fs::create_dir_all(&jobs).unwrap();
        for entry in fs::read_dir(root().join("examples/jobs")).unwrap() {
            let path = entry.unwrap().path();
            fs::copy(&path, jobs.join(path.file_name().unwrap())).unwrap();
        }
        folder
    }

    /// Runs a line `trochoid ...` of a page; what it printed.
    fn call(folder: &Path, line: &str) -> String {
        let words: Vec<&str> = line.split_whitespace().collect();
        let answer = run_in(folder, &words[1..]);
        assert_eq!(answer.code, Some(0), "{line}: {}", answer.err);
        answer.out
    }

    /// The lines of `told` that are not found, in order, in `printed`.
    fn missing(told: &str, printed: &str) -> Option<String> {
        let mut rest = printed.lines();
        told.lines()
            .filter(|l| !matches!(l.trim(), "" | "..."))
            .find(|line| !rest.any(|p| difference(p.trim(), line.trim()).is_none()))
            .map(str::to_owned)
    }

    /// Plays the session of a page; how many calls it made and how many lines it compared.
    fn play(name: &str, text: &str) -> (usize, usize) {
        let folder = workshop();
        let (mut calls, mut lines) = (0, 0);
        let mut printed: Option<String> = None;
        for (line, info, body) in blocks(text) {
            let place = format!("{name}, line {line}");
            match info.as_str() {
                "sh" => {
                    let own: Vec<&str> = body.lines().filter(|l| l.starts_with("trochoid ")).collect();
                    calls += own.len();
                    printed = (!own.is_empty()).then(|| own.iter().map(|l| call(folder.path(), l)).collect());
                }
                "text" => {
                    if let Some(printed) = printed.take() {
                        lines += body.lines().count();
                        let lost = missing(&body, &printed);
                        assert_eq!(lost, None, "{place}: not in what was printed:\n{printed}");
                    }
                }
                "toml starter" => {
                    let job = folder.path().join("job.toml");
                    let before = fs::read_to_string(&job).unwrap();
                    fs::write(&job, format!("{before}\n{body}")).unwrap();
                }
                _ => printed = None,
            }
        }
        (calls, lines)
    }

    #[test]
    fn sessions_print_what_the_pages_say() {
        let mut sessions = 0;
        for (name, text) in guide() {
            // Only pages that show what a command prints; the commands of the others are run elsewhere.
            let shows = |b: &[(usize, String, String)]| {
                b.windows(2).any(|w| w[0].1 == "sh" && w[0].2.starts_with("trochoid ") && w[1].1 == "text")
            };
            if shows(&blocks(&text)) {
                let (calls, lines) = play(&name, &text);
                assert!(calls > 0 && lines > 0, "{name}: {calls} calls, {lines} lines");
                sessions += 1;
            }
        }
        assert!(sessions >= 4, "{sessions} sessions found");
        // A session that promises what is not printed is seen.
        assert_eq!(missing("spin 112 rpm\n...\ntotal 3 s", "spin 112 rpm\nheat\ntotal 3 s\n"), None);
        assert!(missing("total 3 s\nspin 112 rpm", "spin 112 rpm\ntotal 3 s").is_some());
        assert!(missing("spin 115 rpm", "spin 112 rpm").is_some());
    }

    /// A picture as size and grey values.
    fn pixels(bytes: &[u8]) -> ((u32, u32), Vec<u8>) {
        let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
        let mut out = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut out).unwrap();
        out.truncate(info.buffer_size());
        ((info.width, info.height), out)
    }

    /// Whether two pictures are the same for the eye. Numbers may differ in their last bits between
    /// machines, which can move the edge of a line by a pixel: one value in two hundred may differ by more
    /// than a step of colour that the eye cannot see (8 of 255).
    fn alike((size, got): &((u32, u32), Vec<u8>), (wanted, expected): &((u32, u32), Vec<u8>)) -> bool {
        let far = got.iter().zip(expected).filter(|(a, b)| a.abs_diff(**b) > 8).count();
        size == wanted && got.len() == expected.len() && 200 * far <= got.len()
    }

    /// The text of a drawing without the pictures inside it, and how many there were.
    fn drawing(bytes: &[u8]) -> (String, usize) {
        let text = std::str::from_utf8(bytes).unwrap();
        let mut parts = text.split("base64,");
        let first = parts.next().unwrap().to_owned();
        let rest: Vec<&str> = parts.map(|p| p.split_once('"').unwrap().1).collect();
        (first + &rest.concat(), rest.len())
    }

    #[test]
    fn figures_are_what_their_commands_draw() {
        let folder = workshop();
        let mut done = Vec::new();
        let kept = root().join(GUIDE).join("figures");
        let renew = std::env::var_os("TROCHOID_RENEW_FIGURES").is_some_and(|v| v == "1");
        for [name, command, file] in figures() {
            if !done.contains(&command) {
                for line in command.split(" && ") {
                    if line.starts_with("cargo run ") {
                        assert!(line.ends_with("--example 18_how_fast"), "{line}: an example that is not drawn here");
                        for (stem, figure) in how_fast::pictures(how_fast::RECORD).unwrap() {
                            write_figure(&folder.path().join("out/examples"), stem, &figure).unwrap();
                        }
                    } else {
                        call(folder.path(), line);
                    }
                }
                done.push(command);
            }
            let drawn = fs::read(folder.path().join(&file)).unwrap_or_else(|e| panic!("{name}: {file}: {e}"));
            if renew {
                fs::write(kept.join(&name), drawn).unwrap();
                continue;
            }
            let told = fs::read(kept.join(&name)).unwrap();
            let same = if Path::new(&name).extension().is_some_and(|e| e == "svg") {
                let ((got, inside), (expected, wanted)) = (drawing(&drawn), drawing(&told));
                inside == wanted && difference(&got, &expected).is_none()
            } else {
                alike(&pixels(&drawn), &pixels(&told))
            };
            assert!(
                same,
                "{name} is out of date: TROCHOID_RENEW_FIGURES=1 cargo test --test suite guide, and look at it"
            );
        }
        assert!(done.len() >= 2, "{} commands", done.len());
    }

    #[test]
    fn pictures_that_differ_are_told_apart() {
        let name = figures().into_iter().map(|[name, ..]| name).find(|n| n.ends_with("png")).unwrap();
        let whole = pixels(&fs::read(root().join(GUIDE).join("figures").join(name)).unwrap());
        assert!(alike(&whole, &whole));
        // A hundredth of the values inverted: a line that has moved.
        let mut changed = whole.clone();
        let moved = changed.1.len() / 100;
        changed.1[..moved].iter_mut().for_each(|v| *v = 255 - *v);
        assert!(!alike(&changed, &whole));
        let svg = |x: &str| format!("<svg><image href=\"data:image/png;base64,{x}\"/><path d=\"M1,2\"/></svg>");
        assert_eq!(drawing(svg("AAAA").as_bytes()), drawing(svg("BBB").as_bytes()));
        assert_eq!(drawing(svg("AAAA").as_bytes()).1, 1);
    }
}
