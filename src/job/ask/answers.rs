//! What was answered, and what follows from it by itself: curvature, stiffness, forces, cautions.

use super::list::QUESTIONS;
use crate::error::RangeError;
use crate::units::{Angle, Length, Pressure, STANDARD_GRAVITY};
use core::f64::consts::PI;

/// An answer out of a short list.
pub(super) trait Listed: Copy + PartialEq + 'static {
    /// Every answer, in the order in which they are offered.
    const ALL: &'static [Self];

    /// Place in the list.
    fn place(self) -> usize {
        Self::ALL.iter().position(|a| *a == self).unwrap_or(0)
    }
}

macro_rules! listed {
    ($(#[$doc:meta])* $name:ident { $($(#[$each:meta])* $variant:ident),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum $name {
            $($(#[$each])* $variant),+
        }

        impl Listed for $name {
            const ALL: &'static [Self] = &[$(Self::$variant),+];
        }
    };
}

listed! {
    /// What is worked.
    PanelKind {
        /// As flat as a bonnet.
        Flat,
        /// A door with a gentle crown: a radius of 4 m both ways.
        Door,
        /// A hollow beside a wheel arch: a radius of 0.8 m one way.
        Hollow,
        /// A curve measured with a straight edge.
        Measured,
    }
}

listed! {
    /// To which side a panel curves.
    Bend {
        /// Toward the pad.
        Crown,
        /// Away from it.
        Hollow,
    }
}

listed! {
    /// In how many directions a panel curves.
    Ways {
        /// Like a pipe.
        One,
        /// Like a ball.
        Both,
    }
}

listed! {
    /// How deep the worst defects are.
    Defects {
        /// Haze: a light step.
        Haze,
        /// Swirls: a medium step, then a light one.
        Swirls,
        /// Deep scratches: a heavy step, then a light one.
        Deep,
    }
}

listed! {
    /// What turns the pad.
    DriveKind {
        /// Only the drag of its bearing.
        Free,
        /// Gears.
        Geared,
        /// The shaft itself, without an orbit.
        Rotary,
    }
}

listed! {
    /// How the working rate is known.
    RateKnown {
        /// As orbits a minute.
        Orbits,
        /// As a mark on the machine's dial.
        Dial,
    }
}

listed! {
    /// How firm a pad feels.
    Firmness {
        /// A finishing foam.
        Soft,
        /// An all-round foam.
        Medium,
        /// A cutting foam.
        Firm,
    }
}

listed! {
    /// How hard the paint is.
    PaintHardness {
        /// Marks at a touch.
        Soft,
        /// In between.
        Medium,
        /// Resists.
        Hard,
    }
}

impl Firmness {
    /// Pressure that would press the foam flat if it gave evenly: stiffness times thickness.
    /// Assumed, no source: 22.5 kPa is 0.9 kPa/mm at 25 mm.
    pub(super) fn modulus_kpa(self) -> f64 {
        match self {
            Self::Soft => 12.0,
            Self::Medium => 22.5,
            Self::Firm => 35.0,
        }
    }

    /// Shear modulus, assumed, no source.
    pub(super) fn shear_kpa(self) -> f64 {
        match self {
            Self::Soft => 15.0,
            Self::Medium => 30.0,
            Self::Firm => 45.0,
        }
    }
}

impl Defects {
    /// Band of the main step's cut in µm: common practice, sources disagree. The heavy band is open
    /// above; 6 µm is where this talk ends it.
    pub(super) fn cut_band_um(self) -> (f64, f64) {
        match self {
            Self::Haze => (1.0, 2.0),
            Self::Swirls => (2.0, 4.0),
            Self::Deep => (4.0, 6.0),
        }
    }
}

/// A pad at hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadAnswers {
    /// Diameter of the face, mm.
    pub diameter_mm: f64,
    /// Thickness without the plate, mm.
    pub thickness_mm: f64,
    /// How firm it feels.
    pub firmness: Firmness,
}

impl PadAnswers {
    /// Pressure per millimetre pressed in, kPa/mm: the assumed modulus over the thickness, to three figures.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::ask::Answers;
    /// // A medium pad gives with 22.5 kPa over 25 mm.
    /// assert_eq!(Answers::default().cutting.stiffness_kpa_per_mm(), 0.9);
    /// ```
    #[must_use]
    pub fn stiffness_kpa_per_mm(&self) -> f64 {
        // Three figures: more would claim a knowledge that nobody has.
        let raw = self.firmness.modulus_kpa() / self.thickness_mm;
        let unit = 10_f64.powf(raw.log10().floor() - 2.0);
        let rounded = (raw / unit).round() * unit;
        // Takes the rounding noise of the product out of the printed number.
        (rounded * 1e6).round() / 1e6
    }

    /// Area of the face, m².
    fn area(&self) -> f64 {
        let d = Length::from_mm(self.diameter_mm).m();
        PI / 4.0 * d * d
    }

    /// Force that presses the pad to half its thickness on a flat, N, but at most 200 N.
    pub(super) fn most_force_n(&self) -> f64 {
        (0.5 * Pressure::from_kpa(self.firmness.modulus_kpa()).pa() * self.area()).min(200.0)
    }

    /// Force with the mean pressure of 35 N on a face of 130 mm, to the newton, 1 N at least: common
    /// practice, no source.
    pub(super) fn usual_force_n(&self) -> f64 {
        let usual = Self { diameter_mm: 130.0, ..*self }.area();
        let force = 35.0 * self.area() / usual;
        if force < 1.5 { 1.0_f64.min(self.most_force_n()) } else { force.round().min(self.most_force_n().floor()) }
    }
}

/// Every answer, in the units in which it was asked.
///
/// [`Answers::default`] is what Enter all the way through gives. Which answers count depends on
/// others: the throw means nothing to a rotary.
#[derive(Debug, Clone, PartialEq)]
pub struct Answers {
    /// What is worked.
    pub panel: PanelKind,
    /// Length of the straight edge, mm.
    pub edge_mm: f64,
    /// Gap under it, mm.
    pub gap_mm: f64,
    /// To which side the panel curves.
    pub bend: Bend,
    /// In how many directions.
    pub ways: Ways,
    /// Length of the section, mm.
    pub length_mm: f64,
    /// Width of the section, mm.
    pub width_mm: f64,
    /// 0 faces up, 90 stands, 180 faces down, °.
    pub incline_deg: f64,
    /// How deep the defects are.
    pub defects: Defects,
    /// Cut of the main step, µm.
    pub target_cut_um: f64,
    /// Clear coat, µm.
    pub clear_um: f64,
    /// How hard the paint is.
    pub hardness: PaintHardness,
    /// What turns the pad.
    pub drive: DriveKind,
    /// Diameter of the orbit, mm.
    pub throw_mm: f64,
    /// Turns of a geared pad per orbit \[1\], + with the orbit.
    pub spin_per_orbit: f64,
    /// Turns a minute of a rotary.
    pub spin_rpm: f64,
    /// Slowest orbit rate, orbits a minute.
    pub slowest_opm: f64,
    /// Fastest orbit rate, orbits a minute.
    pub fastest_opm: f64,
    /// How the working rate is known.
    pub rate_known: RateKnown,
    /// Working rate, orbits a minute.
    pub rate_opm: f64,
    /// Lowest \[mark\] on the dial.
    pub lowest_mark: f64,
    /// Highest \[mark\] on the dial.
    pub highest_mark: f64,
    /// \[mark\] to work at.
    pub mark: f64,
    /// Mass of the machine with plate and pad, kg.
    pub mass_kg: f64,
    /// Pad of the main step after swirls and scratches.
    pub cutting: PadAnswers,
    /// Pad of the light step.
    pub finishing: PadAnswers,
    /// Air temperature, °C.
    pub temperature_c: f64,
    /// Relative humidity \[%\].
    pub humidity_percent: f64,
    /// Force on the face in the main step, weight included, N.
    pub force_n: f64,
}

impl Default for Answers {
    fn default() -> Self {
        Self {
            panel: PanelKind::Door,
            edge_mm: 500.0,
            gap_mm: 8.0,
            bend: Bend::Crown,
            ways: Ways::One,
            length_mm: 450.0,
            width_mm: 420.0,
            incline_deg: 80.0,
            defects: Defects::Swirls,
            target_cut_um: 3.0,
            clear_um: 45.0,
            hardness: PaintHardness::Medium,
            drive: DriveKind::Free,
            throw_mm: 15.0,
            spin_per_orbit: 0.1,
            spin_rpm: 1500.0,
            slowest_opm: 2000.0,
            fastest_opm: 5000.0,
            rate_known: RateKnown::Orbits,
            rate_opm: 3900.0,
            lowest_mark: 1.0,
            highest_mark: 6.0,
            mark: 4.0,
            mass_kg: 2.6,
            cutting: PadAnswers { diameter_mm: 130.0, thickness_mm: 25.0, firmness: Firmness::Medium },
            finishing: PadAnswers { diameter_mm: 130.0, thickness_mm: 25.0, firmness: Firmness::Soft },
            temperature_c: 20.0,
            humidity_percent: 50.0,
            force_n: 35.0,
        }
    }
}

impl Answers {
    /// Whether there is a cutting step before the light one.
    #[must_use]
    pub fn two_steps(&self) -> bool {
        self.defects != Defects::Haze
    }

    /// Pad of the main step.
    #[must_use]
    pub const fn main_pad(&self) -> &PadAnswers {
        match self.defects {
            Defects::Haze => &self.finishing,
            Defects::Swirls | Defects::Deep => &self.cutting,
        }
    }

    /// Principal curvatures, 1/m, + toward the pad.
    ///
    /// ```text
    /// κ = 8 s/L² [1/m]        L length of the straight edge [m], s gap under it [m]
    /// ```
    ///
    /// # Assumptions and valid range
    /// The edge spans an arc of a circle (own derivation).
    ///
    /// # Accuracy
    /// 8 s/(L² + 4 s²) exactly, so the short form is at most 1 % high for s up to L/20.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::ask::{Answers, PanelKind};
    /// // 8 mm under 500 mm: 8 · 0.008 / 0.25 = 0.256 1/m, one way.
    /// let measured = Answers { panel: PanelKind::Measured, ..Answers::default() };
    /// assert_eq!(measured.curvature_per_m(), (0.256, 0.0));
    /// ```
    #[must_use]
    pub fn curvature_per_m(&self) -> (f64, f64) {
        match self.panel {
            PanelKind::Flat => (0.0, 0.0),
            PanelKind::Door => (0.25, 0.25),
            PanelKind::Hollow => (-1.25, 0.0),
            PanelKind::Measured => {
                let edge = Length::from_mm(self.edge_mm).m();
                let size = 8.0 * Length::from_mm(self.gap_mm).m() / (edge * edge);
                // Four decimals: a tenth of a millimetre under a metre is 0.0008 per metre.
                let size = (size * 1e4).round() / 1e4;
                let k = if self.bend == Bend::Crown { size } else { -size };
                (k, if self.ways == Ways::Both { k } else { 0.0 })
            }
        }
    }

    /// Cut of the light step, µm: the main one after haze, else at most a third of the main cut and
    /// at least 1 (common practice, no source).
    ///
    /// # Example
    /// ```
    /// use trochoid::job::ask::Answers;
    /// // A cut of 4.5 µm is refined with 1.5 µm; after 2.4 µm it is 1 µm, not 0.8.
    /// let after = |um: f64| Answers { target_cut_um: um, ..Answers::default() }.light_cut_um();
    /// assert_eq!((after(4.5), after(2.4)), (1.5, 1.0));
    /// ```
    #[must_use]
    pub fn light_cut_um(&self) -> f64 {
        if self.two_steps() {
            // To a hundredth of a micrometre, far below what a gauge reads.
            ((self.target_cut_um / 3.0).max(1.0) * 100.0).round() / 100.0
        } else {
            self.target_cut_um
        }
    }

    /// Force on the face in the light step, N: the main one after haze, else 6/7 of the mean pressure
    /// of the main step (our choice, no source), as far as the pad carries it at half its thickness.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::ask::Answers;
    /// // Both pads have the same face: 6/7 of 35 N.
    /// assert_eq!(Answers::default().light_force_n(), 30.0);
    /// ```
    #[must_use]
    pub fn light_force_n(&self) -> f64 {
        if !self.two_steps() {
            return self.force_n;
        }
        let same = self.force_n * 6.0 / 7.0 * self.finishing.area() / self.cutting.area();
        // To the half newton below, but no smaller than what was found; a nanonewton forgives the rounding of
        // the quotients, which made 29.5 N of 30.
        let half = (2.0 * same.min(self.finishing.most_force_n()) + 1e-9).floor() / 2.0;
        if half >= 0.5 { half } else { (100.0 * same).floor() / 100.0 }
    }

    /// Force of the hand for a force on the face, N: what the machine's weight does not give on this
    /// incline. Negative: the hand carries part of the weight.
    ///
    /// ```text
    /// F = N − m g cos θ [N]       N force on the face [N], m mass [kg], g = 9.80665 m/s², θ incline [rad]
    /// ```
    ///
    /// # Example
    /// ```
    /// use trochoid::job::ask::Answers;
    /// // Facing up, a machine of 2.6 kg gives 25.497 N of 35 N by itself.
    /// let flat = Answers { incline_deg: 0.0, ..Answers::default() };
    /// assert!((flat.hand_force_n(35.0) - 9.503).abs() < 5e-4);
    /// ```
    #[must_use]
    pub fn hand_force_n(&self, force_n: f64) -> f64 {
        force_n - self.mass_kg * STANDARD_GRAVITY * Angle::from_deg(self.incline_deg).rad().cos()
    }

    /// What to know before starting, one sentence each; empty when nothing stands out: more cut than a quarter of
    /// the clear coat or 8 µm (one of several policies, common practice), a section above 600 mm, a machine
    /// heavier than the force asked for.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::ask::Answers;
    /// // 3 µm and 1 µm of a clear coat of 45 µm: below 8 µm. Of 12 µm only 3 µm may go.
    /// assert!(Answers::default().cautions().is_empty());
    /// let thin = Answers { clear_um: 12.0, ..Answers::default() };
    /// assert!(thin.cautions()[0].starts_with("The steps take 4.0 µm together"));
    /// ```
    #[must_use]
    pub fn cautions(&self) -> Vec<String> {
        let mut out = Vec::new();
        // A quarter of the clear coat, 8 µm at most: one of several policies, common practice.
        let allowed = (0.25 * self.clear_um).min(8.0);
        let total = self.target_cut_um + if self.two_steps() { self.light_cut_um() } else { 0.0 };
        if total > allowed {
            out.push(format!(
                "The steps take {total:.1} µm together; a quarter of the clear coat, 8 µm at most, is {allowed:.1} \
                 (common practice, policies differ). Take less, or live with what is left of the defects."
            ));
        }
        if self.length_mm > 600.0 || self.width_mm > 600.0 {
            out.push(
                "A section of about 400 to 460 mm square is usual: work a larger panel in several, or the product \
                 dries before you come back to it."
                    .to_owned(),
            );
        }
        if self.hand_force_n(self.force_n) < 0.0 {
            out.push("The machine's own weight is more than the force asked for: the hand lifts a little.".to_owned());
        }
        out
    }

    /// Checks every answer that counts against the range of its question.
    ///
    /// # Errors
    /// The first answer outside its range.
    pub fn check(&self) -> Result<(), RangeError> {
        QUESTIONS.iter().filter(|q| q.is_asked(self)).try_for_each(|q| q.check(self))
    }
}
