//! A job with every number drawn from over its whole range: the operating state is finite, or refused in
//! words. Run with `-timeout=10 -rss_limit_mb=2048`: never over ten seconds, never over the stated memory.

#![no_main]

#[path = "../../tests/suite/fuzz_entries.rs"]
#[allow(dead_code)]
mod fuzz_entries;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz_entries::state(bytes));
