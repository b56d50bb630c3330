//! A job with every number drawn from over its whole range: the operating state is finite, or refused in
//! words. Run with `-timeout=10 -rss_limit_mb=2048`: never over ten seconds, never over the stated memory.

#![no_main]

use libfuzzer_sys::arbitrary::Unstructured;
use libfuzzer_sys::fuzz_target;
use trochoid::job::Job;
use trochoid::plan::operating_state;
use trochoid::spin::{AtHand, StallSettings};

/// Numbers and choices out of the fuzzer's bytes.
struct Draw<'a>(Unstructured<'a>);

impl Draw<'_> {
    fn share(&mut self) -> f64 {
        f64::from(self.0.arbitrary::<u16>().unwrap_or(0)) / f64::from(u16::MAX)
    }

    /// Evenly between two numbers, both included.
    fn even(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Evenly by decades between two positive numbers.
    fn decades(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.share())
    }

    fn one_of(&mut self, choices: &[&str]) -> String {
        let i = usize::from(self.0.arbitrary::<u8>().unwrap_or(0)) % choices.len();
        choices[i].to_owned()
    }

    fn yes(&mut self) -> bool {
        self.0.arbitrary::<u8>().unwrap_or(0) % 2 == 1
    }
}

fn job(d: &mut Draw<'_>) -> String {
    let drive = match d.one_of(&["free", "free", "free", "geared", "rotary"]).as_str() {
        "free" => format!(
            "drive = \"free\"\nthrow_mm = {:?}\norbit_rate_opm = {:?}\nbearing = {{ breakaway_nm = {:?}, viscous_nms = {:?}, friction = {:?}, bore_mm = {:?}, brake_nm = {:?} }}",
            d.decades(0.1, 50.0),
            d.decades(100.0, 20_000.0),
            d.even(0.0, 1.0),
            d.decades(1e-7, 1e-1),
            d.even(0.0, 0.1),
            d.decades(1.0, 50.0),
            d.even(0.0, 0.5),
        ),
        "geared" => format!(
            "drive = \"geared\"\nthrow_mm = {:?}\norbit_rate_opm = {:?}\nspin_per_orbit = {:?}",
            d.decades(0.1, 50.0),
            d.decades(100.0, 20_000.0),
            d.even(-2.0, 2.0),
        ),
        _ => format!("drive = \"rotary\"\nthrow_mm = 0.0\nspin_rpm = {:?}", d.even(-4000.0, 4000.0)),
    };
    let law = match d.one_of(&["linear", "measured", "power"]).as_str() {
        "linear" => format!("{{ law = \"linear\", stiffness_kpa_per_mm = {:?} }}", d.decades(0.01, 100.0)),
        "power" => format!(
            "{{ law = \"power\", stress_kpa_at_half = {:?}, exponent = {:?} }}",
            d.decades(0.1, 1000.0),
            d.even(0.2, 5.0)
        ),
        _ => {
            let mut stress = d.decades(0.1, 50.0);
            let list: Vec<String> = (0..4)
                .map(|_| {
                    stress += d.decades(0.001, 50.0);
                    format!("{stress:?}")
                })
                .collect();
            format!("{{ law = \"measured\", strain = [0.25, 0.40, 0.50, 0.65], stress_kpa = [{}] }}", list.join(", "))
        }
    };
    let mut pad = format!(
        "diameter_mm = {:?}\nthickness_mm = {:?}\ncompression = {law}\n",
        d.decades(20.0, 300.0),
        d.decades(1.0, 80.0)
    );
    if d.yes() {
        pad += &format!("shear_modulus_kpa = {:?}\n", d.decades(0.5, 1e4));
    }
    if d.yes() {
        pad += &format!("hole_mm = {:?}\n", d.even(0.0, 30.0));
    }
    if d.yes() {
        pad += &format!("plate_mm = {:?}\n", d.decades(20.0, 300.0));
    }
    if d.yes() {
        let (thick, stiff) = (d.decades(1.0, 30.0), d.decades(0.05, 50.0));
        pad += &format!("interface = {{ thickness_mm = {thick:?}, stiffness_kpa_per_mm = {stiff:?} }}\n");
    }
    let shape = match d.one_of(&["flat", "sphere", "cylinder", "quadric"]).as_str() {
        "flat" => "shape = \"flat\"".to_owned(),
        "quadric" => format!(
            "shape = \"quadric\"\ncurvature_per_m = [{:?}, {:?}]\naxis_deg = {:?}",
            d.even(-20.0, 20.0),
            d.even(-20.0, 20.0),
            d.even(-180.0, 180.0)
        ),
        round => format!("shape = \"{round}\"\ncurvature_per_m = {:?}", d.even(-20.0, 20.0)),
    };
    let hold = match d.one_of(&["flat", "flat", "self_aligning", "tilted"]).as_str() {
        "tilted" => {
            format!("{{ kind = \"tilted\", x_deg = {:?}, y_deg = {:?} }}", d.even(-5.0, 5.0), d.even(-5.0, 5.0))
        }
        kind => format!("{{ kind = \"{kind}\" }}"),
    };
    format!(
        "schema = 1\n[tool.t]\n{drive}\n[pad.p]\n{pad}[product.c]\nfriction = {:?}\npreston_per_pa = {:?}\n[panel.s]\n{shape}\nsize_mm = [600.0, 450.0]\n[[step]]\nname = \"cut\"\ntool = \"t\"\npad = \"p\"\nproduct = \"c\"\npanel = \"s\"\nhold = {hold}\nforce_n = {:?}\nfeed_mm_s = {:?}\noverlap = {:?}\npasses = 2\npattern = \"raster\"\n",
        d.decades(0.01, 2.0),
        d.decades(1e-14, 1e-9),
        d.decades(0.1, 500.0),
        d.decades(1.0, 500.0),
        d.even(0.0, 0.9),
    )
}

fuzz_target!(|bytes: &[u8]| {
    let text = job(&mut Draw(Unstructured::new(bytes)));
    let Ok(job) = Job::parse("job.toml", &text) else { return };
    let step = &job.steps[0];
    let task = step.task(job.map.cell, (0.5, 2.0));
    let found =
        operating_state(&task.setup, &task.working, &AtHand::default(), task.drag_range, &StallSettings::default());
    match found {
        Ok(s) => {
            for (name, value) in [
                ("spin", s.run.spin),
                ("low spin", s.spin_range.0),
                ("high spin", s.spin_range.1),
                ("orbit speed", s.orbit_speed_m_s),
                ("mean speed", s.pad_mean_speed_m_s),
                ("volume rate", s.volume_rate_m3_s),
                ("cut", s.cut_per_pass_m),
                ("friction", s.friction_w),
                ("torque", s.orbit_torque_nm),
                ("settling", s.settling_time_s.unwrap_or(0.0)),
                ("stall number", s.limits.stall_number().unwrap_or(0.0)),
            ] {
                assert!(value.is_finite(), "{name} {value}\n{text}");
            }
            assert!(s.volume_rate_m3_s >= 0.0 && s.friction_w >= 0.0, "{text}");
        }
        Err(e) => assert!(!e.to_string().is_empty()),
    }
});
