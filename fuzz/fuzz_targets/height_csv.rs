//! Any bytes as a table of heights: a height map without gaps, or an error.

#![no_main]

use libfuzzer_sys::fuzz_target;
use trochoid::panel::read::height_map_from_csv;

fuzz_target!(|bytes: &[u8]| {
    match height_map_from_csv("file", bytes) {
        Ok(table) => assert!(table.heights.heights().iter().all(|z| z.is_finite())),
        Err(e) => assert!(e.to_string().len() < 1000),
    }
});
