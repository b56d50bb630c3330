//! Any text as a polyline and as a recorded way over a panel: a path of finite length and time, or an
//! error that names the file.

#![no_main]

#[path = "../../tests/suite/fuzz_entries.rs"]
#[allow(dead_code)]
mod fuzz_entries;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz_entries::path_csv(bytes));
