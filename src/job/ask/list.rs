//! The questions, in the order in which they are asked.
//!
//! Ranges keep an answer inside what the job file takes; where they are narrower they are what is
//! met in a workshop (our choice, no source).

use super::answers::{Answers, Bend, Defects, DriveKind, Firmness, Listed, PaintHardness, PanelKind, RateKnown, Ways};
use super::question::{Choice, Kept, Question};

const fn choice(word: &'static str, means: &'static str) -> Choice {
    Choice { word, means }
}

fn always(_: &Answers) -> bool {
    true
}

fn measured(a: &Answers) -> bool {
    a.panel == PanelKind::Measured
}

fn orbits(a: &Answers) -> bool {
    a.drive != DriveKind::Rotary
}

fn by_dial(a: &Answers) -> bool {
    orbits(a) && a.rate_known == RateKnown::Dial
}

/// The choice at a place; `old` where the list is shorter, which `Question::accept` rules out.
fn at<T: Listed>(place: usize, old: T) -> T {
    T::ALL.get(place).copied().unwrap_or(old)
}

/// Sets the force that goes with the pad of the main step.
fn usual_force(a: &mut Answers) {
    a.force_n = a.main_pad().usual_force_n();
}

/// Sets a rate and a mark in the upper middle of the machine's range.
fn usual_rate(a: &mut Answers) {
    let (low, high) = (a.slowest_opm, a.fastest_opm);
    a.rate_opm = (((low + 0.633 * (high - low)) / 100.0).round() * 100.0).clamp(low, high);
}

fn usual_mark(a: &mut Answers) {
    let (low, high) = (a.lowest_mark, a.highest_mark);
    a.mark = ((2.0 * (low + 0.6 * (high - low))).round() / 2.0).clamp(low, high);
}

/// Forces from a fifth of the usual one to half the pad's thickness.
fn force_range(a: &Answers) -> (f64, f64) {
    let pad = a.main_pad();
    ((0.2 * pad.usual_force_n()).max(0.5), (10.0 * pad.most_force_n()).floor() / 10.0)
}

/// A question about one pad, three times the same words.
macro_rules! pad_questions {
    ($asked:expr, $pad:ident, $heading:literal, $set_diameter:expr, [$d:literal, $t:literal, $f:literal]) => {
        [
            Question {
                name: $d,
                heading: Some($heading),
                text: "Diameter of the pad's face",
                explanation: "Measure the face that touches the paint, not the plate behind it. A larger pad stalls \
                              in a gentler hollow: the torque against it grows with the fourth power of the size.",
                asked: $asked,
                kept: Kept::Number {
                    unit: "mm",
                    range: |_| (25.0, 250.0),
                    get: |a| a.$pad.diameter_mm,
                    set: $set_diameter,
                },
            },
            Question {
                name: $t,
                heading: None,
                text: "Thickness of the pad",
                explanation: "The foam or fibre alone, without the plate, not pressed. A thick pad follows a curve \
                              better, and gives away more of the throw.",
                asked: $asked,
                kept: Kept::Number {
                    unit: "mm",
                    range: |_| (5.0, 60.0),
                    get: |a| a.$pad.thickness_mm,
                    set: |a, x| a.$pad.thickness_mm = x,
                },
            },
            Question {
                name: $f,
                heading: None,
                text: "How firm does it feel",
                explanation: "Press it between two fingers. Soft gives like a bath sponge, firm like the side of a \
                              cork mat. A stiffness is assumed from it and marked so in the job; a compression test \
                              of your own pad takes its place.",
                asked: $asked,
                kept: Kept::Choice {
                    choices: &[
                        choice("soft", "gives at once: a finishing foam"),
                        choice("medium", "gives under some push: an all-round foam"),
                        choice("firm", "hardly gives: a cutting foam"),
                    ],
                    get: |a| a.$pad.firmness.place(),
                    set: |a, i| {
                        a.$pad.firmness = at::<Firmness>(i, a.$pad.firmness);
                        usual_force(a);
                    },
                },
            },
        ]
    };
}

/// Every question.
pub static QUESTIONS: &[Question] = &[
    Question {
        name: "panel",
        heading: Some("Panel"),
        text: "What do you work on",
        explanation: "One section of one panel. Take the worst place of it: the tightest hollow is where a pad \
                      stops turning first. Choose measured to lay a straight edge on it.",
        asked: always,
        kept: Kept::Choice {
            choices: &[
                choice("flat", "flat as the middle of a bonnet"),
                choice("door", "a door with a gentle crown, radius about 4 m"),
                choice("hollow", "a hollow beside a wheel arch, radius about 0.8 m"),
                choice("measured", "a curve that you measure with a straight edge"),
            ],
            get: |a| a.panel.place(),
            set: |a, i| {
                a.panel = at::<PanelKind>(i, a.panel);
                a.incline_deg = match a.panel {
                    PanelKind::Flat => 5.0,
                    PanelKind::Door | PanelKind::Measured => 80.0,
                    PanelKind::Hollow => 90.0,
                };
            },
        },
    },
    Question {
        name: "bend",
        heading: None,
        text: "Does it bulge toward you or fall away",
        explanation: "A straight edge rocks on a crown and bridges a hollow.",
        asked: measured,
        kept: Kept::Choice {
            choices: &[choice("crown", "bulges toward the pad"), choice("hollow", "the edge bridges it")],
            get: |a| a.bend.place(),
            set: |a, i| a.bend = at::<Bend>(i, a.bend),
        },
    },
    Question {
        name: "straight_edge",
        heading: None,
        text: "Length of the straight edge",
        explanation: "A ruler or the edge of a box, laid across the tightest curve. For a tight curve take a short \
                      one, so that the gap stays below a twentieth of its length.",
        asked: measured,
        kept: Kept::Number {
            unit: "mm",
            range: |_| (50.0, 2000.0),
            get: |a| a.edge_mm,
            set: |a, x| {
                a.edge_mm = x;
                a.gap_mm = a.gap_mm.min(a.edge_mm / 20.0);
            },
        },
    },
    Question {
        name: "gap",
        heading: None,
        text: "Gap under it",
        explanation: "In a hollow: under the middle, with both ends down. On a crown: under one end, with the middle \
                      down and both ends equally high. The curvature is 8 x gap / length^2: 8 mm under 500 mm is \
                      0.256 per metre, a radius of 3.9 m. No gap is a flat panel.",
        asked: measured,
        kept: Kept::Number {
            unit: "mm",
            range: |a| (0.0, a.edge_mm / 20.0),
            get: |a| a.gap_mm,
            set: |a, x| a.gap_mm = x,
        },
    },
    Question {
        name: "ways",
        heading: None,
        text: "Does it curve one way or both",
        explanation: "Turn the straight edge by a quarter: without a gap there, it curves one way, like a pipe.",
        asked: measured,
        kept: Kept::Choice {
            choices: &[choice("one", "one way, like a pipe"), choice("both", "both ways alike, like a ball")],
            get: |a| a.ways.place(),
            set: |a, i| a.ways = at::<Ways>(i, a.ways),
        },
    },
    Question {
        name: "length",
        heading: None,
        text: "Length of the section",
        explanation: "The part worked in one go. About 400 to 460 mm square is usual (common practice, no source): \
                      larger, and the product dries before you come back.",
        asked: always,
        kept: Kept::Number { unit: "mm", range: |_| (50.0, 2000.0), get: |a| a.length_mm, set: |a, x| a.length_mm = x },
    },
    Question {
        name: "width",
        heading: None,
        text: "Width of the section",
        explanation: "Across the length.",
        asked: always,
        kept: Kept::Number { unit: "mm", range: |_| (50.0, 2000.0), get: |a| a.width_mm, set: |a, x| a.width_mm = x },
    },
    Question {
        name: "incline",
        heading: None,
        text: "How it leans: 0 faces up, 90 stands upright, 180 faces down",
        explanation: "It decides how much of the machine's weight presses the pad: all of it on a level panel, none \
                      on an upright one.",
        asked: always,
        kept: Kept::Number {
            unit: "°",
            range: |_| (0.0, 180.0),
            get: |a| a.incline_deg,
            set: |a, x| a.incline_deg = x,
        },
    },
    Question {
        name: "defects",
        heading: Some("Paint"),
        text: "How deep are the worst defects",
        explanation: "A nail that catches in a scratch says that it is too deep to take out whole. The step sizes are \
                      common practice; sources disagree.",
        asked: always,
        kept: Kept::Choice {
            choices: &[
                choice("haze", "light haze: one light step of 1 to 2 µm"),
                choice("swirls", "swirls and wash marks: a step of 2 to 4 µm, then a light one"),
                choice("scratches", "deep scratches: a step of 4 µm or more, then a light one"),
            ],
            get: |a| a.defects.place(),
            set: |a, i| {
                a.defects = at::<Defects>(i, a.defects);
                a.target_cut_um = match a.defects {
                    Defects::Haze => 1.0,
                    Defects::Swirls => 3.0,
                    Defects::Deep => 4.5,
                };
                usual_force(a);
            },
        },
    },
    Question {
        name: "cut",
        heading: None,
        text: "How much to take off in the main step",
        explanation: "The mean over the section. The plan works out the passes that reach it. A film gauge before \
                      and after a test spot is the only proof.",
        asked: always,
        kept: Kept::Number {
            unit: "µm",
            range: |a| a.defects.cut_band_um(),
            get: |a| a.target_cut_um,
            set: |a, x| a.target_cut_um = x,
        },
    },
    Question {
        name: "clear_coat",
        heading: None,
        text: "How thick is the clear coat",
        explanation: "30 to 60 µm is usual. A film gauge reads the whole build on metal; the clear coat is the part \
                      on top, often less than half of it.",
        asked: always,
        kept: Kept::Number { unit: "µm", range: |_| (5.0, 500.0), get: |a| a.clear_um, set: |a, x| a.clear_um = x },
    },
    Question {
        name: "hardness",
        heading: None,
        text: "How hard is the paint",
        explanation: "Soft paint takes marks from a dry cloth and hazes easily; hard paint shrugs them off and cuts \
                      slowly. Medium if you do not know: the test spot will tell.",
        asked: always,
        kept: Kept::Choice {
            choices: &[
                choice("soft", "marks at a touch"),
                choice("medium", "in between, or not known"),
                choice("hard", "resists marks and cutting"),
            ],
            get: |a| a.hardness.place(),
            set: |a, i| a.hardness = at::<PaintHardness>(i, a.hardness),
        },
    },
    Question {
        name: "drive",
        heading: Some("Machine"),
        text: "What turns the pad",
        explanation: "Hold the plate and turn it by hand, machine unplugged: if it turns freely while the shaft \
                      stands, the drive is free.",
        asked: always,
        kept: Kept::Choice {
            choices: &[
                choice("free", "it orbits, and spins freely in its bearing"),
                choice("geared", "it orbits, and gears make it turn"),
                choice("rotary", "it only turns, without an orbit"),
            ],
            get: |a| a.drive.place(),
            set: |a, i| a.drive = at::<DriveKind>(i, a.drive),
        },
    },
    Question {
        name: "throw",
        heading: None,
        text: "Throw",
        explanation: "The diameter of the orbit: twice the distance between the shaft and the pad's own axis.",
        asked: orbits,
        kept: Kept::Number { unit: "mm", range: |_| (1.0, 24.0), get: |a| a.throw_mm, set: |a, x| a.throw_mm = x },
    },
    Question {
        name: "turns_per_orbit",
        heading: None,
        text: "Turns of the pad per orbit, minus if it turns against the orbit",
        explanation: "Turn the shaft by hand and count: two turns of the pad in twenty orbits are 0.1.",
        asked: |a| a.drive == DriveKind::Geared,
        kept: Kept::Number {
            unit: "",
            range: |_| (-2.0, 2.0),
            get: |a| a.spin_per_orbit,
            set: |a, x| a.spin_per_orbit = x,
        },
    },
    Question {
        name: "spin",
        heading: None,
        text: "Turns a minute you work at",
        explanation: "As the machine is marked, under load a little less.",
        asked: |a| a.drive == DriveKind::Rotary,
        kept: Kept::Number { unit: "rpm", range: |_| (100.0, 5000.0), get: |a| a.spin_rpm, set: |a, x| a.spin_rpm = x },
    },
    Question {
        name: "slowest",
        heading: None,
        text: "Slowest orbit rate",
        explanation: "Orbits a minute at the lowest setting, as printed on the machine or in its papers.",
        asked: orbits,
        kept: Kept::Number {
            unit: "orbits/min",
            range: |_| (500.0, 8000.0),
            get: |a| a.slowest_opm,
            set: |a, x| {
                a.slowest_opm = x;
                if a.fastest_opm < x + 100.0 {
                    a.fastest_opm = (2.5 * x).min(12_000.0);
                }
                usual_rate(a);
            },
        },
    },
    Question {
        name: "fastest",
        heading: None,
        text: "Fastest orbit rate",
        explanation: "Orbits a minute at the highest setting.",
        asked: orbits,
        kept: Kept::Number {
            unit: "orbits/min",
            range: |a| (a.slowest_opm + 100.0, 12_000.0),
            get: |a| a.fastest_opm,
            set: |a, x| {
                a.fastest_opm = x;
                usual_rate(a);
            },
        },
    },
    Question {
        name: "rate_by",
        heading: None,
        text: "How do you set it",
        explanation: "By the dial: say its marks, and rates are told as marks from then on. The marks between are \
                      taken as evenly spaced.",
        asked: orbits,
        kept: Kept::Choice {
            choices: &[choice("orbits", "I know the orbits a minute"), choice("dial", "by the marks of a dial")],
            get: |a| a.rate_known.place(),
            set: |a, i| a.rate_known = at::<RateKnown>(i, a.rate_known),
        },
    },
    Question {
        name: "rate",
        heading: None,
        text: "Rate you work at",
        explanation: "Under light load. Faster turns a free pad faster, up to a point.",
        asked: |a| orbits(a) && a.rate_known == RateKnown::Orbits,
        kept: Kept::Number {
            unit: "orbits/min",
            range: |a| (a.slowest_opm, a.fastest_opm),
            get: |a| a.rate_opm,
            set: |a, x| a.rate_opm = x,
        },
    },
    Question {
        name: "lowest_mark",
        heading: None,
        text: "Lowest mark of the dial",
        explanation: "The mark at the slowest rate.",
        asked: by_dial,
        kept: Kept::Number {
            unit: "",
            range: |_| (0.0, 10.0),
            get: |a| a.lowest_mark,
            set: |a, x| {
                a.lowest_mark = x;
                a.highest_mark = a.highest_mark.max(x + 1.0);
                usual_mark(a);
            },
        },
    },
    Question {
        name: "highest_mark",
        heading: None,
        text: "Highest mark of the dial",
        explanation: "The mark at the fastest rate.",
        asked: by_dial,
        kept: Kept::Number {
            unit: "",
            range: |a| (a.lowest_mark + 1.0, 100.0),
            get: |a| a.highest_mark,
            set: |a, x| {
                a.highest_mark = x;
                usual_mark(a);
            },
        },
    },
    Question {
        name: "mark",
        heading: None,
        text: "Mark you work at",
        explanation: "Marks between two printed ones count too.",
        asked: by_dial,
        kept: Kept::Number {
            unit: "",
            range: |a| (a.lowest_mark, a.highest_mark),
            get: |a| a.mark,
            set: |a, x| a.mark = x,
        },
    },
    Question {
        name: "mass",
        heading: None,
        text: "Mass of the machine, with plate and pad",
        explanation: "Stand it on a scale, the cord held up. It tells how much of the force its weight gives.",
        asked: always,
        kept: Kept::Number { unit: "kg", range: |_| (0.3, 15.0), get: |a| a.mass_kg, set: |a, x| a.mass_kg = x },
    },
    CUTTING[0],
    CUTTING[1],
    CUTTING[2],
    FINISHING[0],
    FINISHING[1],
    FINISHING[2],
    Question {
        name: "temperature",
        heading: Some("Air"),
        text: "Air temperature",
        explanation: "Of the workshop. Warm air dries the product sooner.",
        asked: always,
        kept: Kept::Number {
            unit: "°C",
            range: |_| (-10.0, 50.0),
            get: |a| a.temperature_c,
            set: |a, x| a.temperature_c = x,
        },
    },
    Question {
        name: "humidity",
        heading: None,
        text: "Relative humidity",
        explanation: "From a room meter or the weather report; 50 % if you do not know.",
        asked: always,
        kept: Kept::Number {
            unit: "%",
            range: |_| (0.0, 100.0),
            get: |a| a.humidity_percent,
            set: |a, x| a.humidity_percent = x,
        },
    },
    Question {
        name: "force",
        heading: Some("Force"),
        text: "Force on the pad face in the main step, the machine's weight included",
        explanation: "10 N is about the weight of a litre of water. The default has the pressure of 35 N on a pad of \
                      130 mm (common practice, no source). At the end you are told what a bathroom scale must read.",
        asked: always,
        kept: Kept::Number { unit: "N", range: force_range, get: |a| a.force_n, set: |a, x| a.force_n = x },
    },
];

const CUTTING: [Question; 3] = pad_questions!(
    Answers::two_steps,
    cutting,
    "Pad of the main step",
    |a, x| {
        a.cutting.diameter_mm = x;
        a.finishing.diameter_mm = x;
        usual_force(a);
    },
    ["cutting_diameter", "cutting_thickness", "cutting_firmness"]
);

const FINISHING: [Question; 3] = pad_questions!(
    always,
    finishing,
    "Pad of the light step",
    |a, x| {
        a.finishing.diameter_mm = x;
        usual_force(a);
    },
    ["finishing_diameter", "finishing_thickness", "finishing_firmness"]
);
