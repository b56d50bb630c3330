//! Any text as a table of film readings: readings of finite numbers, or an error that names the file.

#![no_main]

#[path = "../../tests/suite/fuzz_entries.rs"]
#[allow(dead_code)]
mod fuzz_entries;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz_entries::gauge_csv(bytes));
