//! What fuzzing has seen, played again: the inputs kept in `tests/corpus`, the same cut short and damaged,
//! and jobs drawn from seeds. What each entry promises stands in `fuzz_entries`.
#![cfg(feature = "cli")]
#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "shares of a length and of a byte, drawn from 0 up"
)]

use crate::fuzz_entries::{ENTRIES, state};
use crate::properties::uniform;
use std::fs;
use std::path::{Path, PathBuf};

fn kept(name: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/corpus").join(name);
    let mut list: Vec<PathBuf> = fs::read_dir(&folder).unwrap().map(|e| e.unwrap().path()).collect();
    list.sort();
    list
}

#[test]
fn every_kept_input_keeps_its_promise() {
    for (name, entry) in ENTRIES {
        let files = kept(name);
        assert!(files.len() >= 8, "{name}: {} inputs", files.len());
        for file in files {
            // Shown by the test runner where one of them panics.
            println!("{}", file.display());
            entry(&fs::read(&file).unwrap());
        }
    }
}

#[test]
fn damaged_inputs_keep_it_too() {
    for (name, entry) in ENTRIES {
        for (i, file) in kept(name).iter().enumerate() {
            let whole = fs::read(file).unwrap();
            if whole.is_empty() {
                continue;
            }
            let place = |j: u64| ((uniform(i as u64, j, 0.0, 1.0) * whole.len() as f64) as usize).min(whole.len() - 1);
            println!("{}, cut at {}, byte {} turned", file.display(), place(0), place(1));
            entry(&whole[..place(0)]);
            let mut turned = whole.clone();
            turned[place(1)] ^= 1 << (i % 8);
            entry(&turned);
        }
    }
}

#[test]
fn jobs_from_all_over_the_ranges_have_a_finite_state_or_a_refusal() {
    for i in 0..150 {
        let bytes: Vec<u8> = (0..96).map(|j| uniform(9000 + i, j, 0.0, 256.0) as u8).collect();
        println!("job {i}");
        state(&bytes);
    }
}

#[test]
fn every_entry_has_its_target() {
    let targets = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/fuzz_targets");
    if !targets.exists() {
        println!("NOTICE: the fuzz targets are not part of the packaged crate");
        return;
    }
    let mut found: Vec<String> = fs::read_dir(targets)
        .unwrap()
        .map(|e| e.unwrap().path().file_stem().unwrap().to_str().unwrap().to_owned())
        .collect();
    found.sort();
    assert_eq!(found, ENTRIES.map(|(name, _)| name.to_owned()));
}
