//! Any bytes as a profile: a curve that can be swept without gaps, or an error.

#![no_main]

#[path = "../../tests/suite/fuzz_entries.rs"]
#[allow(dead_code)]
mod fuzz_entries;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz_entries::profile_csv(bytes));
