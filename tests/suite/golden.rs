//! Printed text and pictures against files that were looked at once, and the same bits of files for
//! any number of threads.
//!
//! The files stand in `tests/suite/golden`. After a wanted change, look at the new output and renew
//! them with `TROCHOID_RENEW_GOLDEN=1 cargo test --test suite golden`. They are no proof that a
//! number is right: that is the business of the other tests.

#![cfg(feature = "cli")]

use crate::cli::{DEMO, Folder, SMALL, command, edited, finish, names_in, run, run_in};
use std::path::{Path, PathBuf};
use std::process::Stdio;
use std::time::Duration;

fn file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/suite/golden").join(name)
}

/// A text cut into words and numbers, in turn.
fn pieces(text: &str) -> Vec<&str> {
    let bytes = text.as_bytes();
    let digit = |i: usize| bytes.get(i).is_some_and(u8::is_ascii_digit);
    let mut out = Vec::new();
    let (mut from, mut i) = (0, 0);
    while i < bytes.len() {
        let in_word = i > 0 && (bytes[i - 1].is_ascii_alphanumeric() || b"_#".contains(&bytes[i - 1]));
        let signed = bytes[i] == b'-' && digit(i + 1);
        if in_word || !(digit(i) || signed) {
            i += 1;
            continue;
        }
        let start = i;
        i += 1;
        while digit(i) || (bytes.get(i) == Some(&b'.') && digit(i + 1)) {
            i += 1;
        }
        if matches!(bytes.get(i), Some(b'e' | b'E')) {
            let sign = usize::from(matches!(bytes.get(i + 1), Some(b'+' | b'-')));
            if digit(i + 1 + sign) {
                i += 1 + sign;
                while digit(i) {
                    i += 1;
                }
            }
        }
        out.push(&text[from..start]);
        out.push(&text[start..i]);
        from = i;
    }
    out.push(&text[from..]);
    out
}

/// One step in the last digit printed of a number.
fn last_digit(number: &str) -> f64 {
    let (mantissa, exponent) = number.split_once(['e', 'E']).unwrap_or((number, "0"));
    let decimals = mantissa.split_once('.').map_or(0, |(_, d)| d.len());
    10f64.powi(exponent.parse::<i32>().unwrap() - i32::try_from(decimals).unwrap())
}

/// The first difference of two texts, numbers compared as numbers.
pub(crate) fn difference(got: &str, expected: &str) -> Option<String> {
    let (got, expected) = (pieces(got), pieces(expected));
    for (i, (g, e)) in got.iter().zip(&expected).enumerate() {
        let near = || {
            let (Ok(a), Ok(b)) = (g.parse::<f64>(), e.parse::<f64>()) else { return false };
            // 1e-6: functions of the platform's mathematics library may differ in their last bits, and
            // iterations amplify that; one last digit: a value beside a border of rounding.
            i % 2 == 1 && (a - b).abs() <= 1e-6 * b.abs() + 1.001 * last_digit(e)
        };
        if g != e && !near() {
            let before: String = expected[i.saturating_sub(4)..i].concat();
            return Some(format!("after {before:?}: got {g:?}, expected {e:?}"));
        }
    }
    (got.len() != expected.len()).then(|| format!("{} pieces, expected {}", got.len(), expected.len()))
}

/// Compares with the file, or renews it.
fn golden(name: &str, got: &str) {
    if std::env::var_os("TROCHOID_RENEW_GOLDEN").is_some_and(|v| v == "1") {
        std::fs::write(file(name), got).unwrap();
        return;
    }
    let expected = std::fs::read_to_string(file(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
    if let Some(what) = difference(got, &expected.replace("\r\n", "\n")) {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
        std::fs::write(folder.join(name), got).unwrap();
        panic!("{name}: {what}\nThe new text is {}; renew with TROCHOID_RENEW_GOLDEN=1", folder.join(name).display());
    }
}

#[test]
fn the_comparison_sees_differences_and_forgives_rounding() {
    let text = "spin 118 rpm (70 to 210), -0.419 per metre, 2.0e-11 1/Pa, <path d=\"M10.25,3\"/> #4f12 x2";
    assert_eq!(pieces(text).concat(), text);
    assert_eq!(difference(text, text), None);
    assert_eq!(difference(&text.replace("118", "119"), text), None, "one last digit");
    assert_eq!(difference("1234567.89", "1234567.11"), None, "1e-6 of the value");
    for (from, to) in [
        ("118", "120"),
        ("-0.419", "0.419"),
        ("-0.419", "-0.421"),
        ("2.0e-11", "2.0e-12"),
        ("10.25", "10.28"),
        ("4f12", "4f13"),
        ("x2", "x3"),
        ("rpm", "opm"),
        (" x2", ""),
    ] {
        assert!(difference(&text.replacen(from, to, 1), text).is_some(), "{from} -> {to}");
    }
}

fn printed(name: &str) {
    let answer = run(&[name, DEMO]);
    // Without a folder it is said that there are no pictures, and nothing else.
    assert!(answer.err.lines().all(|l| l.starts_with("note: no pictures")), "{}", answer.err);
    assert_eq!(answer.code, Some(0));
    golden(&format!("demo-{name}.txt"), &answer.out);
}

#[test]
fn state_of_the_demonstration() {
    printed("state");
}

#[test]
fn plan_of_the_demonstration() {
    printed("plan");
}

#[test]
fn check_of_the_demonstration() {
    printed("check");
}

#[cfg(feature = "plot")]
#[test]
fn stall_picture_of_the_demonstration() {
    let folder = Folder::new();
    let out = folder.path().to_string_lossy().into_owned();
    let answer = run(&["stall", DEMO, "--step", "cut_arch", "--out", &out]);
    assert_eq!(answer.code, Some(0), "{}", answer.err);
    let svg = std::fs::read_to_string(folder.path().join("cut_arch-stall.svg")).unwrap();
    golden("demo-cut_arch-stall.svg", &svg);
}

/// Everything that a run answers and writes, with a number of threads.
fn with_threads(folder: &Path, arguments: &[&str], threads: usize) -> Vec<(String, Vec<u8>)> {
    let out = format!("out-{threads}");
    let all = [arguments, &["--out", &out]].concat();
    let child = command(folder, &all)
        .env("RAYON_NUM_THREADS", threads.to_string())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let answer = finish(child, Duration::from_secs(120));
    assert_eq!(answer.code, Some(0));
    let written = folder.join(&out);
    let mut files = vec![("standard output".to_owned(), answer.out.into_bytes())];
    files.extend(names_in(&written).into_iter().map(|n| (n.clone(), std::fs::read(written.join(n)).unwrap())));
    std::fs::remove_dir_all(written).unwrap();
    files
}

#[test]
fn the_same_files_for_any_number_of_threads() {
    let folder = Folder::new();
    folder.put("job.toml", edited(SMALL, &[("cell_mm = 5.0", "cell_mm = 4.0")]));
    let tilted = edited(
        SMALL,
        &[
            ("cell_mm = 5.0", "cell_mm = 10.0"),
            ("panel = \"door\"\n", "panel = \"door\"\nhold = { kind = \"tilted\", x_deg = 1.0 }\n"),
        ],
    );
    folder.put("tilted.toml", tilted);
    for arguments in [&["map", "job.toml", "--json"][..], &["map", "tilted.toml", "--json"], &["plan", "job.toml"]] {
        let one = with_threads(folder.path(), arguments, 1);
        assert!(one.iter().all(|(_, bytes)| !bytes.is_empty()) && one.len() >= 2, "{arguments:?}");
        for threads in [2, 3] {
            for (a, b) in one.iter().zip(&with_threads(folder.path(), arguments, threads)) {
                assert_eq!(a.0, b.0, "{arguments:?}: files with {threads} threads");
                assert!(a.1 == b.1, "{arguments:?}: {} differs with {threads} threads", a.0);
            }
        }
    }
    // And the same bits of a run that is simply repeated.
    let again = |name: &str| run_in(folder.path(), &["state", name, "--json"]).out;
    assert_eq!(again("job.toml"), again("job.toml"));
}
