//! Any text as a job file: a job, or a problem that says where. No panic, no hang, no unbounded memory.

#![no_main]

use libfuzzer_sys::fuzz_target;
use trochoid::job::Job;

fuzz_target!(|text: &str| {
    match Job::parse("job.toml", text) {
        Ok(job) => assert!(job.file_name == "job.toml" && (job.vehicle.is_some() || !job.steps.is_empty())),
        Err(problem) => assert!(problem.to_string().contains("job.toml")),
    }
});
