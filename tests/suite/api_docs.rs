//! The pages of the API keep to their template, as far as a scan of the source can tell: a function says by an
//! example what it gives, a number says its unit.
//!
//! A scan of lines, no parser: it knows `pub fn` and `pub` fields as rustfmt writes them. Errors and missing pages are
//! the compiler's and clippy's to find (`missing_docs`, `missing_errors_doc`).

use crate::layering::sources;

/// Endings of a name that are a unit; a name with one of them needs no word more.
const UNITS: &str = "m mm um nm m2 m3 mm2 n kn pa kpa s min h hz rad deg rad_s rpm opm k c w w_m2 j j_m2 kg kg_m2 kg_m3 \
                     kgm2 g per_m per_m2 m_s m_s2 mm_s n_m nms m3_s um_s db v a ah wh rad_s2 m2_s l_min percent gu";

/// A public item with what stands above it.
struct Item {
    place: String,
    name: String,
    /// A function outside an `impl`.
    free: bool,
    /// What it gives: the type behind `->`, or that of a field.
    gives: String,
    docs: String,
}

/// Whether the type around the end of these lines is no public one of its file.
fn hidden(before: &[&str], text: &str) -> bool {
    let Some(head) = before.iter().rev().find(|l| !l.starts_with([' ', '}', '/', '#']) && !l.is_empty()) else {
        return false;
    };
    if let Some(kind) = head.strip_prefix("impl") {
        let kind = kind.rsplit(" for ").next().unwrap().trim_start();
        let kind = kind.strip_prefix('<').and_then(|k| k.split_once("> ")).map_or(kind, |(_, k)| k);
        let name: String = kind.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
        let own = |word: &str| {
            text.contains(&format!("\npub(crate) {word} {name}"))
                || text.contains(&format!("\npub(super) {word} {name}"))
                || text.contains(&format!("\n{word} {name}"))
        };
        return own("struct") || own("enum");
    }
    !head.starts_with("pub struct")
}

fn items(file: &str, text: &str) -> Vec<Item> {
    let lines: Vec<&str> = text.lines().collect();
    let mut out = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        let bare = line.trim_start();
        let function = bare.strip_prefix("pub fn ").or_else(|| bare.strip_prefix("pub const fn "));
        let (name, gives) = if let Some(rest) = function {
            let end = rest.find(['(', '<']).unwrap_or(rest.len());
            // The head of a function ends at its opening brace, which rustfmt puts last on its line.
            let head: String = lines[i..]
                .iter()
                .scan(false, |done, l| {
                    let more = !*done;
                    *done |= l.trim_end().ends_with('{') || l.trim_end().ends_with('}') || l.trim_end().ends_with(';');
                    more.then(|| format!("{l} "))
                })
                .collect();
            let head = head.rsplit_once('{').map_or(head.clone(), |(h, _)| h.to_owned());
            (&rest[..end], head.rsplit_once("->").map_or(String::new(), |(_, r)| r.trim().to_owned()))
        } else if let Some((name, kind)) = bare.strip_prefix("pub ").and_then(|r| r.split_once(": "))
            && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
            && bare.ends_with(',')
        {
            (name, kind.trim_end_matches(',').to_owned())
        } else {
            continue;
        };
        if !line.starts_with("pub") && hidden(&lines[..i], text) {
            continue;
        }
        let above = lines[..i].iter().rev().take_while(|l| {
            let l = l.trim_start();
            l.starts_with("///") || l.starts_with("#[")
        });
        let mut docs: Vec<&str> = above.map(|l| l.trim_start()).filter(|l| l.starts_with("///")).collect();
        docs.reverse();
        out.push(Item {
            place: format!("{file}:{}", i + 1),
            name: name.to_owned(),
            free: function.is_some() && !line.starts_with(' '),
            gives,
            docs: docs.join("\n"),
        });
    }
    out
}

/// Every public item of the library; the rooms of the command line and of unit tests are left out.
fn all() -> Vec<Item> {
    let own = |name: &str| {
        let file = name.rsplit('/').next().unwrap();
        !name.starts_with("cli/") && !file.starts_with("tests") && file != "main.rs"
    };
    sources()
        .iter()
        .map(|(name, text)| (name.strip_prefix("src/").unwrap(), text))
        .filter(|(name, _)| own(name))
        .flat_map(|(name, text)| items(name, text))
        .collect()
}

/// Whether the page has an example, or leads to one.
fn shown(docs: &str) -> bool {
    let code = docs.lines().filter(|l| l.trim_start_matches("///").trim_start().starts_with("```"));
    let opened = code.enumerate().any(|(i, l)| i % 2 == 0 && !l.contains("```text"));
    opened || docs.replace("\n///", "").contains("example of [")
}

/// Whether the page or the name tells a unit; `[1]` is that of a number without one, `unit` a field
/// beside it.
fn has_unit(item: &Item) -> bool {
    let bracket = item.docs.replace("\\[", "[").replace("\\]", "]").split('[').skip(1).any(|r| {
        r.split_once(']').is_some_and(|(unit, _)| !unit.is_empty() && (!unit.starts_with('`') || unit == "`unit`"))
    });
    bracket || UNITS.split_whitespace().any(|u| item.name.ends_with(&format!("_{u}")) || item.name == u)
}

/// Rooms that compute; what the others draw, print and read is shown by family.
fn computing(place: &str) -> bool {
    !["report/", "plot/", "job/", "verify/"].iter().any(|room| place.starts_with(room))
}

#[test]
fn free_functions_show_what_they_give() {
    let free: Vec<Item> = all().into_iter().filter(|i| i.free && computing(&i.place)).collect();
    assert!(free.len() > 150, "{} functions found", free.len());
    let bare: Vec<String> =
        free.iter().filter(|i| !shown(&i.docs)).map(|i| format!("{} {}", i.place, i.name)).collect();
    assert!(bare.is_empty(), "{} functions without an example:\n{}", bare.len(), bare.join("\n"));
}

#[test]
fn numbers_tell_their_units() {
    let numbers: Vec<Item> = all().into_iter().filter(|i| i.gives.contains("f64") && computing(&i.place)).collect();
    assert!(numbers.len() > 500, "{} numbers found", numbers.len());
    let bare: Vec<String> =
        numbers.iter().filter(|i| !has_unit(i)).map(|i| format!("{} {}: {}", i.place, i.name, i.gives)).collect();
    assert!(bare.is_empty(), "{} numbers without a unit:\n{}", bare.len(), bare.join("\n"));
}

#[test]
fn the_scan_sees_what_is_missing() {
    let text = "/// A length.\npub fn long() -> f64 {\n/// ```\n/// ```\n#[must_use]\npub fn shown(\n    a: f64,\n) -> f64 {\n\
                pub struct S {\n    /// Share \\[1\\].\n    pub share: f64,\n    /// Bare.\n    pub bare: Option<f64>,\n    \
                /// Named.\n    pub reach_mm: f64,\n";
    let found = items("x.rs", text);
    let names: Vec<&str> = found.iter().map(|i| i.name.as_str()).collect();
    assert_eq!(names, ["long", "shown", "share", "bare", "reach_mm"]);
    assert_eq!(found.iter().map(|i| i.free && shown(&i.docs)).collect::<Vec<_>>(), [false, true, false, false, false]);
    assert_eq!(found.iter().map(has_unit).collect::<Vec<_>>(), [false, false, true, false, true]);
    assert!(found.iter().all(|i| i.gives.contains("f64")));
    assert!(!shown("/// ```text\n/// a = b\n/// ```") && shown("/// See the example of [`f`]."));
}
