//! Any bytes as a profile: a curve that can be swept without gaps, or an error.

#![no_main]

use libfuzzer_sys::fuzz_target;
use trochoid::Length;
use trochoid::panel::read::profile_from_csv;

fuzz_target!(|bytes: &[u8]| {
    match profile_from_csv("file", bytes) {
        Ok(profile) => {
            let (first, last) = (profile.points()[0].0, profile.points()[profile.points().len() - 1].0);
            // A hundred nodes across, however long it is; refused where that is no step for a height map.
            let step = Length::from_m((last - first) / 100.0);
            if let Ok(sweep) = profile.swept(Length::from_m((last - first) / 10.0), step) {
                assert!(sweep.heights.heights().iter().all(|z| z.is_finite()));
            }
        }
        Err(e) => assert!(e.to_string().len() < 1000),
    }
});
