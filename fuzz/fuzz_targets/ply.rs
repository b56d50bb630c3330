//! Any bytes as PLY: a mesh whose health can be told, or an error. No panic, no claim believed.

#![no_main]

#[path = "../../tests/suite/fuzz_entries.rs"]
#[allow(dead_code)]
mod fuzz_entries;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz_entries::ply(bytes));
