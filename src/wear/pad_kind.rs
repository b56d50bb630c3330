//! A kind of pad as a rotation uses it (pads that carry one product), and one such pad at work.
//!
//! Not a plan: what a section costs a pad, in condition and in heat, one section at a time.

use super::pad_heating::{PadHeating, PadWarmth};
use super::pad_laws::PadLaws;
use super::pad_state::{Cleaning, PadState, SectionLoad, SectionOutcome};
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Area, Energy, Power, Temperature, Time, Volume};

/// When and how pads of a kind are cleaned; every second section with compressed air by default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CleaningPolicy {
    /// Sections that a pad works before it is cleaned and put aside for the next one, 1 to 1000.
    /// `pad.clean_every`.
    pub turn: usize,
    /// How it is cleaned at the end of its turn; `None` puts it aside as it is. `pad.clean_by`.
    pub by: Option<Cleaning>,
    /// How it is washed when cleaning no longer restores it; `None` leaves it aside. `pad.wash`.
    pub wash: Option<Cleaning>,
}

impl Default for CleaningPolicy {
    /// Every second section with compressed air, washed when spent. Common practice, no source.
    fn default() -> Self {
        Self { turn: 2, by: Some(Cleaning::compressed_air()), wash: Some(Cleaning::wash()) }
    }
}

/// What a pad must keep to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadLimits {
    /// Highest core temperature, 20 to 150 °C; 70. `pad.core_limit_c`.
    pub core: Temperature,
    /// Least cut factor of the pad's own condition \[1\], 0 to 1; 0.75. `pad.least_cut`.
    pub least_cut: f64,
}

impl Default for PadLimits {
    /// Assumed: 70 °C in the core, three quarters of the cut of a pad in perfect condition.
    fn default() -> Self {
        Self { core: Temperature::from_c(70.0), least_cut: 0.75 }
    }
}

/// How a fresh or washed pad is primed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priming {
    /// Strokes at low rate \[1\], 0 to 1000; 8. `pad.prime_strokes`.
    pub strokes: f64,
    /// Time it takes, 0 to 1 h; 30 s. `pad.prime_time_s`.
    pub time: Time,
    /// Product it takes beyond that of the section, 0 to 100 ml; 1. `pad.prime_ml`.
    pub product: Volume,
}

impl Default for Priming {
    /// Assumed: eight strokes in half a minute with four drops of 0.25 ml.
    fn default() -> Self {
        Self { strokes: 8.0, time: Time::from_s(30.0), product: Volume::from_ml(1.0) }
    }
}

/// A kind of pad, kept to one product.
///
/// # Example
/// ```
/// use trochoid::{units::Area, wear::PadKind};
/// // A face of 130 mm, π 0.065² = 0.01327 m²; every law and limit as assumed.
/// let kind = PadKind::new("cutting", Area::from_m2(0.01327));
/// assert!(kind.check().is_ok() && kind.policy.turn == 2 && (kind.limits.core.c() - 70.0).abs() < 1e-9);
/// // Never to be cleaned is said by `policy.by: None`, not by a turn of zero.
/// let mut wrong = kind.clone();
/// wrong.policy.turn = 0;
/// assert!(wrong.check().is_err());
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct PadKind {
    /// Its name, with the product's where pads of one model carry two products.
    pub name: String,
    /// Area of the face, 1e-4 to 1 m².
    pub face: Area,
    /// What working does to it.
    pub laws: PadLaws,
    /// How it heats and cools.
    pub heating: PadHeating,
    /// How it is primed.
    pub priming: Priming,
    /// When and how it is cleaned.
    pub policy: CleaningPolicy,
    /// What it must keep to.
    pub limits: PadLimits,
}

impl PadKind {
    /// A kind with every default; see the example of [`PadKind`].
    #[must_use]
    pub fn new(name: impl Into<String>, face: Area) -> Self {
        Self {
            name: name.into(),
            face,
            laws: PadLaws::default(),
            heating: PadHeating::default(),
            priming: Priming::default(),
            policy: CleaningPolicy::default(),
            limits: PadLimits::default(),
        }
    }

    /// Checks every number.
    ///
    /// # Errors
    /// The first number outside the range that stands with its field.
    pub fn check(&self) -> Result<(), RangeError> {
        PadState::fresh(self.face)?;
        self.laws.check()?;
        self.heating.check()?;
        within("pad.prime_strokes", self.priming.strokes, 0.0, 1000.0, "strokes")?;
        within("pad.prime_time_s", self.priming.time.s(), 0.0, 3600.0, "s")?;
        within("pad.prime_ml", self.priming.product.ml(), 0.0, 100.0, "ml")?;
        within("pad.clean_every", self.policy.turn as f64, 1.0, 1000.0, "sections")?;
        self.policy.by.map_or(Ok(()), |c| c.check())?;
        self.policy.wash.map_or(Ok(()), |c| c.check())?;
        within("pad.core_limit_c", self.limits.core.c(), 20.0, 150.0, "°C")?;
        within("pad.least_cut", self.limits.least_cut, 0.0, 1.0, "")?;
        Ok(())
    }
}

/// A section to be worked.
///
/// # Example
/// ```
/// use trochoid::units::{Energy, Time, Volume};
/// let section = trochoid::wear::SectionWork { kind: 0, work: Energy::from_kj(5.76), time: Time::from_min(3.0),
///     nominal_removal: Volume::from_ml(0.4), product: Volume::from_ml(0.75), solids_share: 0.4 };
/// // 5760 J in 180 s.
/// assert!(section.check().is_ok() && (section.power().w() - 32.0).abs() < 1e-9);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionWork {
    /// Kind of pad that works it: index into the list of kinds.
    pub kind: usize,
    /// Friction work, 0 to 10 MJ.
    pub work: Energy,
    /// Time on the section, 1 s to 2 h.
    pub time: Time,
    /// Paint that a pad in perfect condition would remove, 0 to 1000 ml.
    pub nominal_removal: Volume,
    /// Product laid down, 0 to 100 ml.
    pub product: Volume,
    /// Share of the product that does not evaporate \[1\], 0 to 1.
    pub solids_share: f64,
}

impl SectionWork {
    /// Friction power: the work over the time.
    #[must_use]
    pub fn power(&self) -> Power {
        Power::from_w(self.work.j() / self.time.s())
    }

    /// Checks every number but the kind.
    ///
    /// # Errors
    /// The first number outside the range that stands with its field.
    pub fn check(&self) -> Result<(), RangeError> {
        within("work of the section", self.work.kj(), 0.0, 1e4, "kJ")?;
        within("time of the section", self.time.s(), 1.0, 7200.0, "s")?;
        within("removal of the section", self.nominal_removal.ml(), 0.0, 1000.0, "ml")?;
        within("product of the section", self.product.ml(), 0.0, 100.0, "ml")?;
        within("share of solids", self.solids_share, 0.0, 1.0, "")?;
        Ok(())
    }
}

/// One pad at work: condition, warmth, and the time at which both hold.
#[derive(Debug, Clone, Copy)]
pub(super) struct PadAtWork {
    pub(super) state: PadState,
    pub(super) warmth: PadWarmth,
    pub(super) at: f64,
}

/// What one section did to a pad.
#[derive(Debug, Clone, Copy)]
pub(super) struct Worked {
    pub(super) peak_core: Temperature,
    pub(super) outcome: SectionOutcome,
}

impl PadAtWork {
    pub(super) fn fresh(kind: &PadKind) -> Result<Self, RangeError> {
        Ok(Self { state: PadState::fresh(kind.face)?, warmth: PadWarmth::default(), at: 0.0 })
    }

    /// Lets it rest until the clock shows `now` \[s\].
    pub(super) fn rest_until(&mut self, kind: &PadKind, now: f64) {
        self.warmth = kind.heating.rest(self.warmth, Time::from_s(now - self.at));
        self.at = now;
    }

    /// Heating power: that of friction, more for a loaded face.
    fn power(&self, kind: &PadKind, section: &SectionWork) -> Power {
        Power::from_w(section.power().w() * self.state.heat_factor(&kind.laws))
    }

    /// Highest core temperature that the section would bring.
    pub(super) fn peak_core(&self, kind: &PadKind, section: &SectionWork, air: Temperature) -> Temperature {
        let excess = kind.heating.peak_k(self.warmth, self.power(kind, section), section.time);
        Temperature::from_k(air.k() + excess)
    }

    pub(super) fn work(
        &mut self,
        kind: &PadKind,
        section: &SectionWork,
        air: Temperature,
    ) -> Result<Worked, RangeError> {
        let peak_core = self.peak_core(kind, section, air);
        let power = self.power(kind, section);
        let outcome = self.state.advance(
            &kind.laws,
            &SectionLoad {
                work: section.work,
                nominal_removal: section.nominal_removal,
                product: section.product,
                solids_share: section.solids_share,
                peak_core,
                time: section.time,
            },
        )?;
        self.warmth = kind.heating.work(self.warmth, power, section.time);
        self.at += section.time.s();
        Ok(Worked { peak_core, outcome })
    }

    /// Cleans it; it cools by itself while it is handled, then by the cleaning.
    pub(super) fn clean(&mut self, kind: &PadKind, cleaning: &Cleaning) -> Result<(), RangeError> {
        self.state.clean(cleaning)?;
        self.rest_until(kind, self.at + cleaning.time.s());
        self.warmth = self.warmth.cooled_by(cleaning.cooled_share);
        Ok(())
    }
}
