//! Any text as a study of the starter job: cases that can be worked, or an error. No panic, no endless reading.

#![no_main]

use libfuzzer_sys::fuzz_target;
use trochoid::job::STARTER;
use trochoid::job::sweep::{JobText, Study};

fuzz_target!(|text: &str| {
    let job = |name: &str| JobText { name: name.to_owned(), text: STARTER.to_owned(), folder: None };
    match Study::parse_with("study.toml", text, |name, _| Ok(job(name))) {
        Ok(study) => {
            let tree = study.tree().expect("a study that was read has its job");
            let cases = tree.cases().expect("a study that was read has its cases");
            for case in [0, cases.count() / 2, cases.count() - 1] {
                let mut row = String::new();
                cases.row(case, &mut row);
                assert!(row.starts_with(&format!("{case},")) && row.matches('\n').count() == 1);
            }
        }
        Err(e) => assert!(e.to_string().chars().count() < 5000),
    }
});
