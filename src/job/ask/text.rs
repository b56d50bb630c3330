//! The answers as a job file with comments, and the drill with the bathroom scale.

use super::answers::{Answers, DriveKind, Firmness, PadAnswers, PaintHardness, PanelKind, RateKnown};
use crate::error::RangeError;
use crate::units::STANDARD_GRAVITY;
use core::fmt::Write as _;

/// Column in which comments start.
const COLUMN: usize = 34;

/// A job file while it is written.
#[derive(Default)]
struct Page(String);

impl Page {
    /// A line `key = value`, with its comment in a column of its own.
    fn line(&mut self, key: &str, value: &str, comment: &str) {
        let entry = format!("{key} = {value}");
        let _ = if comment.is_empty() {
            writeln!(self.0, "{entry}")
        } else {
            writeln!(self.0, "{entry:COLUMN$} # {comment}")
        };
    }

    /// A number; the debug form keeps the point that makes it a number of the right kind.
    fn number(&mut self, key: &str, value: f64, comment: &str) {
        self.line(key, &format!("{value:?}"), comment);
    }

    fn word(&mut self, key: &str, value: &str, comment: &str) {
        self.line(key, &format!("\"{value}\""), comment);
    }

    fn head(&mut self, head: &str) {
        let _ = writeln!(self.0, "\n{head}");
    }

    /// Comment lines, wrapped at a hundred characters.
    fn comment(&mut self, text: &str) {
        let mut line = String::from("#");
        for word in text.split_whitespace() {
            if line.chars().count() + 1 + word.chars().count() > 100 {
                let _ = writeln!(self.0, "{line}");
                line = String::from("#");
            }
            line.push(' ');
            line.push_str(word);
        }
        let _ = writeln!(self.0, "{line}");
    }
}

/// A step of the job.
struct StepText {
    name: &'static str,
    pad: &'static str,
    product: &'static str,
    force_n: f64,
    cut_um: f64,
    feed_mm_s: f64,
    passes: u32,
}

const PANEL_NAMES: [(PanelKind, &str, &str); 4] = [
    (PanelKind::Flat, "bonnet", "Flat section"),
    (PanelKind::Door, "door", "Crowned door"),
    (PanelKind::Hollow, "hollow", "Hollow beside a wheel arch"),
    (PanelKind::Measured, "panel", "Measured panel"),
];

/// Three decimals at most, no zeros at the end.
fn short(x: f64) -> String {
    format!("{}", (x * 1e3).round() / 1e3)
}

impl Answers {
    /// The job file.
    ///
    /// What was not asked is assumed; the comments say where. The text reads back with
    /// [`crate::job::Job::parse`] for every set of answers that [`Answers::check`] passes.
    ///
    /// # Errors
    /// The first answer outside the range of its question.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::{Job, ask::Answers};
    /// let text = Answers::default().job_text()?;
    /// let job = Job::parse("asked.toml", &text).expect("every job written this way reads back");
    /// assert_eq!(job.steps.len(), 2);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn job_text(&self) -> Result<String, RangeError> {
        self.check()?;
        let mut page = Page::default();
        let steps = self.steps();
        self.write_head(&mut page);
        self.write_tool(&mut page, &steps);
        for (name, pad) in self.pads() {
            write_pad(&mut page, name, pad);
        }
        self.write_products(&mut page);
        self.write_panel(&mut page);
        page.0.push('\n');
        page.comment("How hard is that? Learn it on a bathroom scale.");
        for line in self.scale_drill() {
            page.comment(&line);
        }
        for step in &steps {
            self.write_step(&mut page, step);
        }
        Ok(page.0)
    }

    /// How to learn the force with a bathroom scale: for every step what it must read, what the
    /// machine alone reads, and what it must read for the hand's share on this panel.
    ///
    /// A scale that shows kilograms shows force / 9.80665 m/s² (standard gravity, CGPM 1901).
    ///
    /// # Example
    /// ```
    /// use trochoid::job::ask::Answers;
    /// let drill = Answers::default().scale_drill();
    /// // 35 N / 9.80665 m/s² = 3.569 kg.
    /// assert!(drill[1].starts_with("Step \"cut\", 35 N on the face: press until the scale reads 3.6 kg."));
    /// ```
    #[must_use]
    pub fn scale_drill(&self) -> Vec<String> {
        let kg = |n: f64| format!("{:.1} kg", n / STANDARD_GRAVITY);
        let mut out = vec![format!(
            "Lay a cloth on the scale, stand the machine on it on its pad, switched off, the cord held up: its own \
             weight alone reads {:.1} kg.",
            self.mass_kg
        )];
        for step in self.steps() {
            let force = step.force_n;
            let hand = self.hand_force_n(force);
            let there = self.mass_kg * STANDARD_GRAVITY + hand;
            let mut line = format!(
                "Step \"{}\", {} N on the face: press until the scale reads {}.",
                step.name,
                short(force),
                kg(force)
            );
            // Closer than a scale of 0.1 kg can show, the panel is as good as level.
            if (there - force).abs() / STANDARD_GRAVITY >= 0.1 {
                let _ = if there >= 0.0 {
                    write!(
                        line,
                        " That is a level panel. On this one, at {}°, less of the weight helps: your hand gives {} N, \
                         which feels like {} on the scale.",
                        short(self.incline_deg),
                        short(hand.round()),
                        kg(there)
                    )
                } else {
                    write!(
                        line,
                        " That is a level panel. On this one, at {}°, your hand gives {} N.",
                        short(self.incline_deg),
                        short(hand.round())
                    )
                };
            }
            out.push(line);
        }
        out.push("Do it five times without looking, then look: most hands press harder than they think.".to_owned());
        out
    }

    fn pads(&self) -> Vec<(&'static str, &PadAnswers)> {
        let mut out = vec![("finishing", &self.finishing)];
        if self.two_steps() {
            out.insert(0, ("cutting", &self.cutting));
        }
        out
    }

    fn steps(&self) -> Vec<StepText> {
        let refine = StepText {
            name: "refine",
            pad: "finishing",
            product: "polish",
            force_n: self.light_force_n(),
            cut_um: self.light_cut_um(),
            feed_mm_s: 30.0,
            passes: 3,
        };
        if !self.two_steps() {
            return vec![refine];
        }
        let cut = StepText {
            name: "cut",
            pad: "cutting",
            product: "compound",
            force_n: self.force_n,
            cut_um: self.target_cut_um,
            feed_mm_s: 40.0,
            passes: 4,
        };
        vec![cut, refine]
    }

    fn write_head(&self, page: &mut Page) {
        let panel = PANEL_NAMES.iter().find(|p| p.0 == self.panel).map_or("Panel", |p| p.2);
        let work = if self.two_steps() { "cut and refine" } else { "refine" };
        page.comment(
            "A job written from your answers. Lines marked \"assumed\" were not asked: plausible numbers, not \
             measured ones. `trochoid check` lists every value with its source, `trochoid plan` plans the steps.",
        );
        for caution in self.cautions() {
            page.comment(&format!("CAUTION: {caution}"));
        }
        page.0.push('\n');
        page.line("schema", "1", "version of this format");
        page.word("title", &format!("{panel}, {work}"), "heads the report");
        page.head("[ambient]");
        page.number("temperature_c", self.temperature_c, "°C");
        page.number("relative_humidity", self.humidity_percent / 100.0, "share, 0 to 1");
    }

    /// The working rate in orbits a minute; the dial read as evenly spaced between its ends.
    fn working_opm(&self) -> f64 {
        match self.rate_known {
            RateKnown::Orbits => self.rate_opm,
            RateKnown::Dial => {
                let share = (self.mark - self.lowest_mark) / (self.highest_mark - self.lowest_mark);
                let rate = self.slowest_opm + share * (self.fastest_opm - self.slowest_opm);
                rate.round().clamp(self.slowest_opm, self.fastest_opm)
            }
        }
    }

    fn write_tool(&self, page: &mut Page, steps: &[StepText]) {
        page.head("[tool.machine]");
        let drive = match self.drive {
            DriveKind::Free => "free",
            DriveKind::Geared => "geared",
            DriveKind::Rotary => "rotary",
        };
        page.word("drive", drive, "free | geared | rotary");
        if self.drive == DriveKind::Rotary {
            page.number("throw_mm", 0.0, "it does not orbit");
            page.number("spin_rpm", self.spin_rpm, "turns a minute");
        } else {
            page.number("throw_mm", self.throw_mm, "diameter of the orbit, mm");
            page.number("orbit_rate_opm", self.working_opm(), "orbits a minute it is set to");
            page.line(
                "orbit_rate_range_opm",
                &format!("[{:?}, {:?}]", self.slowest_opm, self.fastest_opm),
                "slowest and fastest",
            );
            if self.rate_known == RateKnown::Dial {
                page.line(
                    "speed_settings",
                    &format!(
                        "[[{:?}, {:?}], [{:?}, {:?}]]",
                        self.lowest_mark, self.slowest_opm, self.highest_mark, self.fastest_opm
                    ),
                    "dial mark, orbits a minute; add the marks between if you know them",
                );
            }
        }
        if self.drive == DriveKind::Geared {
            page.number("spin_per_orbit", self.spin_per_orbit, "turns of the pad per orbit, + with it");
        }
        if self.drive == DriveKind::Free {
            page.comment(
                "What turns a free pad is the drag of its bearing, the least known number of all. Assumed; count \
                 turns as told below to pin it down.",
            );
            page.line("bearing", "{ breakaway_nm = 0.02, viscous_nms = 5.0e-5 }", "assumed, N·m and N·m·s");
        }
        page.number("mass_kg", self.mass_kg, "with plate and pad, kg");
        page.comment("If its papers tell them, take the marks away and put in your numbers:");
        page.0.push_str("# motor = { rated_power_w = 700.0, idle_power_w = 120.0 }   # W\n");
        page.0.push_str("# vibration_m_s2 = 4.0            # declared hand-arm value, m/s²\n");
        if let (DriveKind::Free, Some(step)) = (self.drive, steps.first()) {
            self.write_count(page, step);
        }
    }

    /// How to count turns, as a table to be uncommented.
    fn write_count(&self, page: &mut Page, step: &StepText) {
        page.0.push('\n');
        page.comment(
            "Counting turns. Put a stripe of tape across the rim of the backing plate. On a flat panel, with the pad, \
             product, force and rate below, let someone film the plate, count how often the stripe comes round in \
             ten seconds, put the number in and take the marks away. This sets the bearing drag, and every spin and \
             stall figure gets much narrower.",
        );
        let _ = write!(
            page.0,
            "# [tool.machine.counted_spin]\n# turns = 15.0\n# seconds = 10.0\n# force_n = {:?}\n# orbit_rate_opm = {:?}\n\
             # pad = \"{}\"\n# product = \"{}\"\n",
            step.force_n,
            self.working_opm(),
            step.pad,
            step.product
        );
    }

    fn write_products(&self, page: &mut Page) {
        page.0.push('\n');
        page.comment(
            "Friction (drag on the paint / pressing force) and cut (depth per pressure and sliding length, 1/Pa) of a \
             product: assumed. A test spot, gauge before and after, gives yours.",
        );
        if self.two_steps() {
            page.0.push_str("[product.compound]\n");
            page.number("friction", 0.35, "assumed");
            page.line("preston_per_pa", "2.0e-11", "1/Pa, assumed");
            page.0.push('\n');
        }
        page.0.push_str("[product.polish]\n");
        page.number("friction", 0.3, "assumed");
        page.line("preston_per_pa", "8.5e-12", "1/Pa, assumed");
        page.head("[paint.clear]");
        let hardness = match self.hardness {
            PaintHardness::Soft => "soft",
            PaintHardness::Medium => "medium",
            PaintHardness::Hard => "hard",
        };
        page.word("hardness", hardness, "soft | medium | hard");
        page.number("clear_um", self.clear_um, "clear coat, µm");
    }

    fn panel_name(&self) -> &'static str {
        PANEL_NAMES.iter().find(|p| p.0 == self.panel).map_or("panel", |p| p.1)
    }

    fn write_panel(&self, page: &mut Page) {
        page.head(&format!("[panel.{}]", self.panel_name()));
        let (k1, k2) = self.curvature_per_m();
        let flat = k1.abs() < f64::MIN_POSITIVE;
        let shape = if flat {
            "flat"
        } else if k2.abs() < f64::MIN_POSITIVE {
            "cylinder"
        } else {
            "sphere"
        };
        page.word("shape", shape, "flat | sphere | cylinder | quadric");
        if !flat {
            let side = if k1 > 0.0 { "bulges toward the pad" } else { "is hollow" };
            page.number("curvature_per_m", k1, &format!("1/m, it {side}: a radius of {:.1} m", 1.0 / k1.abs()));
            if self.panel == PanelKind::Measured {
                let (gap, edge) = (short(self.gap_mm), short(self.edge_mm));
                page.comment(&format!(
                    "Curvature = 8 x gap / length^2 (small gap): {gap} mm under a straight edge of {edge} mm."
                ));
            } else {
                page.comment("This curvature is assumed: lay a straight edge on the panel for your own.");
            }
        }
        page.line("size_mm", &format!("[{:?}, {:?}]", self.length_mm, self.width_mm), "one section, mm");
        page.number("incline_deg", self.incline_deg, "0 faces up, 90 stands, 180 faces down");
        page.word("paint", "clear", "");
    }

    fn write_step(&self, page: &mut Page, step: &StepText) {
        page.head("[[step]]");
        page.word("name", step.name, "");
        page.word("tool", "machine", "");
        page.word("pad", step.pad, "");
        page.word("product", step.product, "");
        page.word("panel", self.panel_name(), "");
        page.number("force_n", step.force_n, "on the pad face, the machine's weight included, N");
        if self.drive != DriveKind::Rotary && self.rate_known == RateKnown::Dial {
            page.number("speed_setting", self.mark, "mark of the dial");
        }
        page.number("feed_mm_s", step.feed_mm_s, "assumed; 25 to 50 is usual (common practice, no source)");
        page.number("overlap", 0.5, "about half (common practice, no source)");
        page.number("target_cut_um", step.cut_um, "mean cut; the plan changes the passes to reach it");
        page.line("passes", &step.passes.to_string(), "where the plan starts; 2 to 4 is usual (common practice)");
        page.word("pattern", "crosshatch", "every pass across the last one");
    }
}

fn write_pad(page: &mut Page, name: &str, pad: &PadAnswers) {
    let word = match pad.firmness {
        Firmness::Soft => "soft",
        Firmness::Medium => "medium",
        Firmness::Firm => "firm",
    };
    page.head(&format!("[pad.{name}]"));
    page.number("diameter_mm", pad.diameter_mm, "face, mm");
    page.number("thickness_mm", pad.thickness_mm, "without the plate, mm");
    page.comment(&format!(
        "How it gives, from \"{word}\": assumed, {} kPa to press it flat, over its thickness. A compression test of \
         your pad takes its place (law = \"measured\").",
        short(pad.firmness.modulus_kpa())
    ));
    page.line(
        "compression",
        &format!("{{ law = \"linear\", stiffness_kpa_per_mm = {:?} }}", pad.stiffness_kpa_per_mm()),
        "",
    );
    page.number("shear_modulus_kpa", pad.firmness.shear_kpa(), "kPa, assumed from the firmness");
}
