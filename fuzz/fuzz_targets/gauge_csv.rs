//! Any text as a table of film readings: readings of finite numbers, or an error that names the file.

#![no_main]

use libfuzzer_sys::fuzz_target;
use trochoid::budget::read_gauge_table;

fuzz_target!(|text: &str| {
    match read_gauge_table("film.csv", text) {
        Ok(readings) => {
            assert!(!readings.is_empty() && readings.iter().all(|r| r.value().m().is_finite()));
        }
        Err(e) => assert!(e.to_string().contains("film.csv")),
    }
});
