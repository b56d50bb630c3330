//! Any text as a job file: a job, or a problem that says where. No panic, no hang, no unbounded memory.

#![no_main]

#[path = "../../tests/suite/fuzz_entries.rs"]
#[allow(dead_code)]
mod fuzz_entries;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| fuzz_entries::job_text(bytes));
