//! The condition of one pad, section by section: wetted, loaded, its charge of product, its life.
//!
//! Not a field over the face: one number each for the whole pad. The laws stand in their own file; this
//! is the bookkeeping. Temperatures are inputs.

use super::pad_laws::{LoadingLaw, PadLaws};
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Area, Energy, Length, Temperature, Time, Volume};

/// What one section asks of a pad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionLoad {
    /// Friction work, 0 to 10 MJ.
    pub work: Energy,
    /// Paint that a pad in perfect condition would remove, 0 to 1000 ml.
    pub nominal_removal: Volume,
    /// Product laid down for the section, 0 to 100 ml; 0 works the old charge on.
    pub product: Volume,
    /// Share of the product that does not evaporate \[1\], 0 to 1.
    pub solids_share: f64,
    /// Highest core temperature during the section, −40 to 300 °C. Taken as held throughout, so the
    /// damage it does is an upper bound.
    pub peak_core: Temperature,
    /// Time on the section, 0 to a day.
    pub time: Time,
}

impl SectionLoad {
    fn check(&self) -> Result<(), RangeError> {
        within("work of the section", self.work.kj(), 0.0, 1e4, "kJ")?;
        within("removal of the section", self.nominal_removal.ml(), 0.0, 1000.0, "ml")?;
        within("product of the section", self.product.ml(), 0.0, 100.0, "ml")?;
        within("share of solids", self.solids_share, 0.0, 1.0, "")?;
        within("core temperature", self.peak_core.c(), -40.0, 300.0, "°C")?;
        within("time of the section", self.time.s(), 0.0, 86_400.0, "s")?;
        Ok(())
    }
}

/// What is left of the cut of a perfect pad, by cause; each 0 to 1.
///
/// # Example
/// ```
/// let cut = trochoid::wear::CutFactor { wetted: 1.0, loading: 0.8, breakdown: 0.5, wear: 0.9 };
/// // 1 × 0.8 × 0.9 by the pad's own condition, half of that with the charge worked out.
/// assert!((cut.pad() - 0.72).abs() < 1e-15 && (cut.total() - 0.36).abs() < 1e-15);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutFactor {
    /// Wetted share of the face \[1\].
    pub wetted: f64,
    /// Loading with residue, 1/(1 + λ) \[1\].
    pub loading: f64,
    /// Breakdown of the abrasive in the charge \[1\]: the product's doing, the same for any pad.
    pub breakdown: f64,
    /// Wear of the face \[1\].
    pub wear: f64,
}

impl CutFactor {
    /// What the pad's own condition leaves \[1\]: all but the breakdown of the charge. Another pad can do
    /// better at this only.
    #[must_use]
    pub fn pad(&self) -> f64 {
        self.wetted * self.loading * self.wear
    }

    /// All of it \[1\].
    #[must_use]
    pub fn total(&self) -> f64 {
        self.pad() * self.breakdown
    }
}

/// What a section did: cut, paint removed, life used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionOutcome {
    /// Mean cut factor over the section.
    pub cut: CutFactor,
    /// Paint removed: the nominal removal times the total factor.
    pub removed: Volume,
    /// Share of a life used by overheating \[1\].
    pub life_used_by_heat: f64,
    /// Share of a life used by work \[1\].
    pub life_used_by_work: f64,
}

/// How a pad is cleaned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CleaningKind {
    /// A stiff brush on the turning pad.
    Brush,
    /// Compressed air through the face.
    CompressedAir,
    /// Water and soap.
    Wash,
}

impl CleaningKind {
    /// The word for it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Brush => "brush",
            Self::CompressedAir => "compressed air",
            Self::Wash => "wash",
        }
    }
}

/// One way of cleaning, with what it does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cleaning {
    /// Kind.
    pub kind: CleaningKind,
    /// Share of the residue in the face that it takes out \[1\], 0 to 1.
    pub restored_share: f64,
    /// Share of the residue deep in the foam that it takes out \[1\], 0 to 1.
    pub deep_share: f64,
    /// Share of the core's excess over the air that it takes away \[1\], 0 to 1.
    pub cooled_share: f64,
    /// Hands-on time, 0 to 2 h.
    pub time: Time,
    /// Time until the pad is dry and can be used again, 0 to a week; above 0, it must be primed again.
    pub drying: Time,
}

impl Cleaning {
    /// Brush: half of the face's residue, 15 s. Assumed.
    #[must_use]
    pub const fn brush() -> Self {
        Self {
            kind: CleaningKind::Brush,
            restored_share: 0.5,
            deep_share: 0.0,
            cooled_share: 0.0,
            time: Time::from_s(15.0),
            drying: Time::from_s(0.0),
        }
    }

    /// Compressed air: most of the face's residue (0.85) and a third of the heat, 20 s. Assumed.
    #[must_use]
    pub const fn compressed_air() -> Self {
        Self {
            kind: CleaningKind::CompressedAir,
            restored_share: 0.85,
            deep_share: 0.0,
            cooled_share: 0.35,
            time: Time::from_s(20.0),
            drying: Time::from_s(0.0),
        }
    }

    /// Wash: everything, and cold; 2 min of work, then 8 h until dry. Assumed.
    #[must_use]
    pub const fn wash() -> Self {
        Self {
            kind: CleaningKind::Wash,
            restored_share: 1.0,
            deep_share: 1.0,
            cooled_share: 1.0,
            time: Time::from_min(2.0),
            drying: Time::from_min(480.0),
        }
    }

    /// Checks every number.
    ///
    /// # Errors
    /// The first number outside the range that stands with its field.
    pub fn check(&self) -> Result<(), RangeError> {
        within("pad.clean_restores", self.restored_share, 0.0, 1.0, "")?;
        within("pad.clean_restores_deep", self.deep_share, 0.0, 1.0, "")?;
        within("pad.clean_cools", self.cooled_share, 0.0, 1.0, "")?;
        within("pad.clean_time_s", self.time.s(), 0.0, 7200.0, "s")?;
        within("pad.drying_time_min", self.drying.s(), 0.0, 604_800.0, "s")?;
        Ok(())
    }
}

/// Condition of a pad: how far its face is wetted, what residue it holds, the charge of product on it, and how
/// much of its life is used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadState {
    face: f64,
    wetted: f64,
    used: bool,
    residue: f64,
    deep: f64,
    charge: f64,
    charge_work: f64,
    life_used_by_heat: f64,
    life_used_by_work: f64,
}

impl PadState {
    /// A fresh pad with a face of that area: dry, clean, its whole life before it.
    ///
    /// # Errors
    /// Face outside 1e-4 to 1 m².
    pub fn fresh(face: Area) -> Result<Self, RangeError> {
        Ok(Self {
            face: within("area of the face", face.m2(), 1e-4, 1.0, "m²")?,
            wetted: 0.0,
            used: false,
            residue: 0.0,
            deep: 0.0,
            charge: 0.0,
            charge_work: 0.0,
            life_used_by_heat: 0.0,
            life_used_by_work: 0.0,
        })
    }

    /// Whether it must be primed before it works: fresh, or washed since it last worked.
    #[must_use]
    pub const fn wants_priming(&self) -> bool {
        !self.used
    }

    /// Wetted share of the face \[1\], 0 to 1.
    #[must_use]
    pub const fn wetted(&self) -> f64 {
        self.wetted
    }

    /// Residue per face area, in the face and deep in the foam together, as a thickness.
    #[must_use]
    pub const fn residue(&self) -> Length {
        Length::from_m(self.residue + self.deep)
    }

    /// Residue per face area that only a wash takes out.
    #[must_use]
    pub const fn deep_residue(&self) -> Length {
        Length::from_m(self.deep)
    }

    /// Share of its life that a pad has used \[1\], 0 for a fresh one; from 1 on it is worn out.
    #[must_use]
    pub fn life_used(&self) -> f64 {
        self.life_used_by_heat + self.life_used_by_work
    }

    /// The part of [`Self::life_used`] that overheating took \[1\].
    #[must_use]
    pub const fn life_used_by_heat(&self) -> f64 {
        self.life_used_by_heat
    }

    /// Loading λ: residue over half-loading \[1\]; 0 without a law.
    #[must_use]
    pub fn loading(&self, laws: &PadLaws) -> f64 {
        laws.loading.map_or(0.0, |l| l.lambda(self.residue + self.deep))
    }

    /// Heat in the pad over that of a clean one at the same work, 1 + heat rise · λ \[1\].
    #[must_use]
    pub fn heat_factor(&self, laws: &PadLaws) -> f64 {
        laws.loading.map_or(1.0, |l| 1.0 + l.heat_rise * self.loading(laws))
    }

    /// Cut factor of the pad as it stands; see the example of [`Self::prime`].
    ///
    /// Without any product yet, the breakdown factor is 0 where there is a law: nothing cuts.
    #[must_use]
    pub fn cut_factor(&self, laws: &PadLaws) -> CutFactor {
        let breakdown = match laws.breakdown {
            None => 1.0,
            Some(_) if self.charge <= 0.0 => 0.0,
            Some(l) => l.factor(l.spent(self.charge_work, self.charge)),
        };
        CutFactor {
            wetted: if laws.priming.is_some() { self.wetted } else { 1.0 },
            loading: 1.0 / (1.0 + self.loading(laws)),
            breakdown,
            wear: self.wear_factor(laws),
        }
    }

    fn wear_factor(&self, laws: &PadLaws) -> f64 {
        laws.abrasion.map_or(1.0, |l| (-l.cut_loss * self.life_used()).exp())
    }

    /// Spreads product over the face with `strokes` at low rate. Only a fresh or washed pad takes it:
    /// `false`, and nothing changed, for any other.
    ///
    /// # Errors
    /// Strokes outside 0 to 1000.
    ///
    /// # Example
    /// ```
    /// use trochoid::{units::Area, wear::{PadLaws, PadState}};
    /// let laws = PadLaws::default();
    /// let mut pad = PadState::fresh(Area::from_m2(0.0133))?;
    /// // Two strokes leave 1/e of the face dry, four 1/e².
    /// pad.prime(&laws, 2.0)?;
    /// assert!((pad.cut_factor(&laws).wetted - 0.63212).abs() < 1e-5);
    /// pad.prime(&laws, 2.0)?;
    /// assert!((pad.wetted() - 0.86466).abs() < 1e-5);
    /// // No product is on it yet, so that nothing cuts.
    /// assert!(pad.cut_factor(&laws).total() <= 0.0);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn prime(&mut self, laws: &PadLaws, strokes: f64) -> Result<bool, RangeError> {
        within("priming strokes", strokes, 0.0, 1000.0, "strokes")?;
        if self.used {
            return Ok(false);
        }
        self.wetted = laws.priming.map_or(1.0, |l| l.after(self.wetted, strokes));
        Ok(true)
    }

    /// Works one section.
    ///
    /// Fresh product starts a new charge. The residue grows evenly over the section, from the paint that
    /// the pad would remove at the loading it starts with; wear and damage take effect from the next
    /// section on.
    ///
    /// # Errors
    /// A number of the load or of a law outside its range; the state is then unchanged.
    ///
    /// # Example
    /// ```
    /// use trochoid::units::{Area, Energy, Temperature, Time, Volume};
    /// use trochoid::wear::{PadLaws, PadState, SectionLoad};
    /// let laws = PadLaws::default();
    /// let mut pad = PadState::fresh(Area::from_m2(0.0133))?;
    /// pad.prime(&laws, 8.0)?;
    /// let load = SectionLoad {
    ///     work: Energy::from_kj(6.0),
    ///     nominal_removal: Volume::from_ml(0.4),
    ///     product: Volume::from_ml(0.75),
    ///     solids_share: 0.4,
    ///     peak_core: Temperature::from_c(45.0),
    ///     time: Time::from_min(3.0),
    /// };
    /// let first = pad.advance(&laws, &load)?;
    /// // A charge of 0.75 ml under 6 kJ, w/w_0 = 6/(0.75 × 10) = 0.8: 0.4 + 0.6 (1 − e^−0.8)/0.8 = 0.8130 on average.
    /// assert!((first.cut.breakdown - 0.8130).abs() < 1e-4);
    /// let second = pad.advance(&laws, &load)?;
    /// assert!(second.cut.loading < first.cut.loading && pad.life_used() > 0.0);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn advance(&mut self, laws: &PadLaws, load: &SectionLoad) -> Result<SectionOutcome, RangeError> {
        laws.check()?;
        load.check()?;
        if load.product.m3() > 0.0 {
            self.charge = load.product.m3();
            self.charge_work = 0.0;
        }
        let breakdown = match laws.breakdown {
            None => 1.0,
            Some(_) if self.charge <= 0.0 => 0.0,
            Some(l) => l.mean_factor(
                l.spent(self.charge_work, self.charge),
                l.spent(self.charge_work + load.work.j(), self.charge),
            ),
        };
        let wetted = laws.priming.map_or(1.0, |l| l.over_section(self.wetted));
        let wear = self.wear_factor(laws);
        let before = self.loading(laws);
        let mut cut = CutFactor { wetted, loading: 1.0 / (1.0 + before), breakdown, wear };
        if let Some(law) = laws.loading {
            let removed = load.nominal_removal.m3() * cut.total();
            self.take_residue(&law, removed + load.solids_share * load.product.m3());
            cut.loading = LoadingLaw::mean_factor(before, self.loading(laws));
        }
        let by_heat = laws.overheating.map_or(0.0, |l| l.rate(load.peak_core) * load.time.s());
        let by_work = laws.abrasion.map_or(0.0, |l| {
            let rise = 1.0 + laws.loading.map_or(0.0, |g| g.wear_rise) * 0.5 * (before + self.loading(laws));
            load.work.j() * rise / (l.work_per_m2.j() * self.face)
        });
        self.life_used_by_heat += by_heat;
        self.life_used_by_work += by_work;
        self.charge_work += load.work.j();
        self.wetted = laws.priming.map_or(1.0, |l| l.after(self.wetted, l.section_strokes));
        self.used = true;
        Ok(SectionOutcome {
            cut,
            removed: Volume::from_m3(load.nominal_removal.m3() * cut.total()),
            life_used_by_heat: by_heat,
            life_used_by_work: by_work,
        })
    }

    /// Takes up its share of `volume` \[m³\] of residue; the nearer to full, the less.
    fn take_residue(&mut self, law: &LoadingLaw, volume: f64) {
        let room = law.most.m() - (self.residue + self.deep);
        let taken = room * -(-law.retained_share * volume / (self.face * law.most.m())).exp_m1();
        self.deep += law.deep_share * taken;
        self.residue += (1.0 - law.deep_share) * taken;
    }

    /// Cleans the pad. One that comes out wet (drying time above 0) has lost its product and must be
    /// primed again.
    ///
    /// # Errors
    /// A number of the cleaning outside its range.
    ///
    /// # Example
    /// ```
    /// use trochoid::units::{Area, Energy, Temperature, Time, Volume};
    /// use trochoid::wear::{Cleaning, PadLaws, PadState, SectionLoad};
    /// let laws = PadLaws::default();
    /// let mut pad = PadState::fresh(Area::from_m2(0.0133))?;
    /// pad.advance(&laws, &SectionLoad { work: Energy::from_kj(6.0), nominal_removal: Volume::from_ml(0.4),
    ///     product: Volume::from_ml(0.75), solids_share: 0.4, peak_core: Temperature::from_c(45.0),
    ///     time: Time::from_min(3.0) })?;
    /// // Three tenths of the residue lie deep. Air takes 0.85 of the other seven: 0.30 + 0.15 × 0.70 = 0.405 stays.
    /// let full = pad.residue().m();
    /// pad.clean(&Cleaning::compressed_air())?;
    /// assert!((pad.residue().m() / full - 0.405).abs() < 1e-12 && !pad.wants_priming());
    /// // A wash takes it all, and the pad wants priming again.
    /// pad.clean(&Cleaning::wash())?;
    /// assert!(pad.residue().m() <= 0.0 && pad.wants_priming());
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn clean(&mut self, cleaning: &Cleaning) -> Result<(), RangeError> {
        cleaning.check()?;
        self.residue *= 1.0 - cleaning.restored_share;
        self.deep *= 1.0 - cleaning.deep_share;
        if cleaning.drying.s() > 0.0 {
            self.wetted = 0.0;
            self.used = false;
            self.charge = 0.0;
            self.charge_work = 0.0;
        }
        Ok(())
    }
}
