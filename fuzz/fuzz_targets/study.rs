//! Any text as a study of the starter job: cases that can be worked, or an error. No panic, no endless reading.

#![no_main]

#[path = "../../tests/suite/fuzz_entries.rs"]
#[allow(dead_code)]
mod fuzz_entries;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz_entries::study(bytes));
