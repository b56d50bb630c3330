//! Cases of a sweep: reading alone, with spin and cut, with the stall curvature.
//!
//! The study varies the force, the throw and the stiffness of the pad of the demonstration. Figures in
//! `record/` are of builds for the machine's own CPU (`RUSTFLAGS="-C target-cpu=native" cargo bench --bench
//! sweep`).

use core::hint::black_box;
use criterion::{Criterion, criterion_group, criterion_main};
use trochoid::job::sweep::{JobText, Study};

const VARY: &str = r#"
[design]
kind = "sobol"
count = 1000
[vary]
tool.long_throw.throw_mm = { low = 8.0, high = 20.0 }
pad.cutting.compression.stiffness_kpa_per_mm = { low = 0.4, high = 1.6 }
step.cut_door.force_n = { low = 20.0, high = 50.0 }
"#;

fn study(columns: &str) -> Option<Study> {
    let text = format!("schema = 1\njob = \"demo.toml\"\nstep = \"cut_door\"\ncolumns = [{columns}]\n{VARY}");
    Study::parse_with("bench.toml", &text, |name, _| {
        Ok(JobText { name: name.to_owned(), text: include_str!("../examples/jobs/demo.toml").to_owned(), folder: None })
    })
    .ok()
}

fn sweep(c: &mut Criterion) {
    let sets = [
        ("spin and cut", r#""spin_rpm", "mean_cut_per_pass_um""#),
        ("spin, cut and stall curvature", r#""spin_rpm", "mean_cut_per_pass_um", "stall_curvature_per_m""#),
    ];
    for (name, columns) in sets {
        let Some(study) = study(columns) else { continue };
        let Ok(tree) = study.tree() else { continue };
        let Ok(cases) = tree.cases() else { continue };
        if name == "spin and cut" {
            let mut case = 0;
            c.bench_function("sweep/step of one case", |b| {
                b.iter(|| {
                    case = (case + 1) % cases.count();
                    cases.step(black_box(case)).is_ok()
                });
            });
            c.bench_function("sweep/step of one case by the whole job", |b| {
                b.iter(|| {
                    case = (case + 1) % cases.count();
                    cases.step_of_whole_job(black_box(case)).is_ok()
                });
            });
        }
        let mut case = 0;
        let mut text = String::new();
        c.bench_function(&format!("sweep/row with {name}"), |b| {
            b.iter(|| {
                case = (case + 1) % cases.count();
                text.clear();
                cases.row(black_box(case), &mut text);
                text.len()
            });
        });
    }
}

criterion_group!(benches, sweep);
criterion_main!(benches);
