//! What working does to a pad: priming, loading with residue, breakdown of the abrasive, overheating and
//! mechanical wear. One law a struct, each documented, monotone and switchable.
//!
//! Not measured: no published numbers exist for these. The shapes are the simplest that have the right
//! ends; the constants are assumed, set once so that an ordinary vehicle falls into the trade's bands
//! (clean every 2-3 sections, 4-6 pads; common practice, no source), and meant to be replaced by what a
//! workshop sees. Physics of the Arrhenius form: any textbook of chemical kinetics.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Energy, Length, Temperature, Time, Volume};

/// Molar gas constant, J/(mol·K) (SI, exact to the digits given).
const GAS_CONSTANT: f64 = 8.314462618;

/// Priming: a fresh or washed face carries product on a share of it only, until strokes have spread it.
///
/// ```text
/// wetted = 1 − (1 − wetted_0) exp(−n/n_0)      n strokes
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PrimingLaw {
    /// Strokes n_0 that leave 1/e of the dry share dry \[1\], 0.1 to 100; 2. `pad.priming_strokes`.
    pub strokes: f64,
    /// Strokes that one section is worth \[1\], 0 to 1000; 6. A pad that was not primed primes itself as it
    /// works.
    pub section_strokes: f64,
}

impl Default for PrimingLaw {
    /// Assumed: two strokes spread most of it; a section holds some six lines.
    fn default() -> Self {
        Self { strokes: 2.0, section_strokes: 6.0 }
    }
}

impl PrimingLaw {
    pub(super) fn after(&self, wetted: f64, strokes: f64) -> f64 {
        1.0 - (1.0 - wetted) * (-strokes / self.strokes).exp()
    }

    /// Mean wetted share over a section that starts at `wetted`.
    pub(super) fn over_section(&self, wetted: f64) -> f64 {
        let x = self.section_strokes / self.strokes;
        // (1 − e^−x)/x, 1 at x = 0.
        let mean = if x < 1e-9 { 1.0 } else { -(-x).exp_m1() / x };
        1.0 - (1.0 - wetted) * mean
    }

    fn check(&self) -> Result<(), RangeError> {
        within("pad.priming_strokes", self.strokes, 0.1, 100.0, "strokes")?;
        within("pad.section_strokes", self.section_strokes, 0.0, 1000.0, "strokes")?;
        Ok(())
    }
}

/// Loading: removed paint and the part of the product that stays fill the face.
///
/// ```text
/// cut factor = 1/(1 + λ),   λ = residue per face area / half-loading
/// added      = retained · (removed paint + solids of the product) / face area
/// residue    = most − (most − residue_0) exp(−added/most)       a full face sheds the rest
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadingLaw {
    /// Share of the residue that stays in the pad \[1\], 0 to 1; 0.5. The rest is wiped off the panel or slung.
    /// `pad.retained_share`.
    pub retained_share: f64,
    /// Share of what stays that goes deep into the foam, where only a wash reaches it \[1\], 0 to 1; 0.3.
    /// `pad.deep_share`.
    pub deep_share: f64,
    /// Residue per face area at which the cut has halved, as a thickness, 1 µm to 100 mm; 250 µm.
    /// `pad.half_loading_um`.
    pub half_loading: Length,
    /// Most residue per face area that a face holds, at least the half-loading, to 1 m; 750 µm.
    /// `pad.full_loading_um`.
    pub most: Length,
    /// Relative rise of the heat in the pad per λ \[1\], 0 to 5; 0.3: a clogged face drags. `pad.loading_heat`.
    pub heat_rise: f64,
    /// Relative rise of the mechanical wear per λ \[1\], 0 to 10; 0.5. `pad.loading_wear`.
    pub wear_rise: f64,
}

impl Default for LoadingLaw {
    /// All assumed; see the head of the file.
    fn default() -> Self {
        Self {
            retained_share: 0.5,
            deep_share: 0.3,
            half_loading: Length::from_um(250.0),
            most: Length::from_um(750.0),
            heat_rise: 0.3,
            wear_rise: 0.5,
        }
    }
}

impl LoadingLaw {
    /// λ of a residue per face area \[m\].
    pub(super) fn lambda(&self, residue: f64) -> f64 {
        residue / self.half_loading.m()
    }

    /// Mean of 1/(1 + λ) while λ goes evenly from `from` to `to`.
    pub(super) fn mean_factor(from: f64, to: f64) -> f64 {
        let rise = to - from;
        // The logarithm loses its digits where the rise is small; the midpoint is then exact to rise².
        if rise < 1e-6 { 1.0 / (1.0 + 0.5 * (from + to)) } else { ((1.0 + to) / (1.0 + from)).ln() / rise }
    }

    fn check(&self) -> Result<(), RangeError> {
        within("pad.retained_share", self.retained_share, 0.0, 1.0, "")?;
        within("pad.deep_share", self.deep_share, 0.0, 1.0, "")?;
        within("pad.half_loading_um", self.half_loading.um(), 1.0, 1e5, "µm")?;
        within("pad.full_loading_um", self.most.um(), self.half_loading.um(), 1e6, "µm")?;
        within("pad.loading_heat", self.heat_rise, 0.0, 5.0, "")?;
        within("pad.loading_wear", self.wear_rise, 0.0, 10.0, "")?;
        Ok(())
    }
}

/// Breakdown of a diminishing abrasive over the life of a charge of product.
///
/// ```text
/// cut factor = r + (1 − r) exp(−w/w_0)      w friction work per volume of the charge
/// ```
///
/// # Example
/// ```
/// // By default 0.4 + 0.6 exp(−w/w_0): all at first, 0.4 + 0.6/e = 0.6207 at w = w_0, 0.4 at the end.
/// let law = trochoid::wear::BreakdownLaw::default();
/// assert!((law.factor(0.0) - 1.0).abs() < 1e-15 && (law.factor(1.0) - 0.6207).abs() < 1e-4);
/// assert!((law.factor(1e3) - 0.4).abs() < 1e-15);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BreakdownLaw {
    /// Work that takes the breakable part to 1/e, for each [`BreakdownLaw::per`] of product, 1 J to 10 MJ;
    /// 10 kJ.
    /// `product.breakdown_kj_per_ml`.
    pub work: Energy,
    /// Volume of product that `work` belongs to, 0.01 to 100 ml; 1.
    pub per: Volume,
    /// Cut factor r of a fully broken-down charge \[1\], 0 to 1; 0.4. `product.residual_cut`.
    pub residual: f64,
}

impl Default for BreakdownLaw {
    /// Assumed: 0.75 ml under 6 kJ of a section loses a little more than half of its breakable part.
    fn default() -> Self {
        Self { work: Energy::from_kj(10.0), per: Volume::from_ml(1.0), residual: 0.4 }
    }
}

impl BreakdownLaw {
    /// Ratio w/w_0 of a charge.
    pub(super) fn spent(&self, work_j: f64, charge_m3: f64) -> f64 {
        work_j * self.per.m3() / (self.work.j() * charge_m3)
    }

    /// Cut factor of a charge at w/w_0 = `spent` \[1\].
    #[must_use]
    pub fn factor(&self, spent: f64) -> f64 {
        self.residual + (1.0 - self.residual) * (-spent).exp()
    }

    /// Mean cut factor while w/w_0 goes evenly from `from` to `to`.
    pub(super) fn mean_factor(&self, from: f64, to: f64) -> f64 {
        let rise = to - from;
        let mean = if rise < 1e-9 { 1.0 } else { -(-rise).exp_m1() / rise };
        self.residual + (1.0 - self.residual) * (-from).exp() * mean
    }

    fn check(&self) -> Result<(), RangeError> {
        within("product.breakdown_work", self.work.j(), 1.0, 1e7, "J")?;
        within("product.breakdown_volume", self.per.ml(), 0.01, 100.0, "ml")?;
        within("product.residual_cut", self.residual, 0.0, 1.0, "")?;
        Ok(())
    }
}

/// Overheating: above its limit the foam degrades, the faster the hotter.
///
/// ```text
/// rate = [exp(E/R (1/T_lim − 1/T)) − 1]/t_0   above T_lim,   0 below      [lives per second]
/// ```
///
/// # Example
/// ```
/// use trochoid::{Temperature, wear::OverheatingLaw};
/// let law = OverheatingLaw::default();
/// // At 80 °C: 80 000/8.3145 × (1/343.15 − 1/353.15) = 0.7940, e^0.7940 − 1 = 1.212, over 7200 s 1.683e-4 per second:
/// // an hour takes six tenths of a life. Nothing up to the limit of 70 °C.
/// assert!((law.rate(Temperature::from_c(80.0)) - 1.683e-4).abs() < 2e-7);
/// assert!(law.rate(Temperature::from_c(70.0)) <= 0.0);
/// ```
///
/// # References
/// The form of Arrhenius; limit, energy and life are assumed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OverheatingLaw {
    /// Core temperature above which the foam degrades, 30 to 150 °C; 70. `pad.core_limit_c`.
    pub limit: Temperature,
    /// Activation energy E, 1 to 300 kJ for each mole; 80. `pad.activation_kj_mol`.
    pub activation: Energy,
    /// Time scale t_0, 1 min to 1000 h; 120 min: the life of a pad kept where exp(E/R (1/T_lim − 1/T)) = 2.
    /// `pad.overheated_life_min`.
    pub life: Time,
}

impl Default for OverheatingLaw {
    /// Assumed: 70 °C; the usual order of polymer degradation, 80 kJ/mol (doubles in some 9 K); two
    /// hours.
    fn default() -> Self {
        Self { limit: Temperature::from_c(70.0), activation: Energy::from_kj(80.0), life: Time::from_min(120.0) }
    }
}

impl OverheatingLaw {
    /// Lives used per second at a core temperature [1/s]; 0 up to the limit.
    #[must_use]
    pub fn rate(&self, core: Temperature) -> f64 {
        if core <= self.limit {
            return 0.0;
        }
        (self.activation.j() / GAS_CONSTANT * (1.0 / self.limit.k() - 1.0 / core.k())).exp_m1() / self.life.s()
    }

    fn check(&self) -> Result<(), RangeError> {
        within("pad.core_limit_c", self.limit.c(), 30.0, 150.0, "°C")?;
        within("pad.activation_kj_mol", self.activation.kj(), 1.0, 300.0, "kJ/mol")?;
        within("pad.overheated_life_min", self.life.s(), 60.0, 3.6e6, "s")?;
        Ok(())
    }
}

/// Mechanical wear: work done by the face uses its life, and a worn face cuts less.
///
/// ```text
/// life used per section = work (1 + wear_rise λ)/(w_life A),   cut factor = exp(−cut_loss · life used)
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AbrasionLaw {
    /// Friction work in a pad's life for each square metre of face, 10 kJ to 1 TJ; 80 MJ. `pad.life_mj_per_m2`.
    pub work_per_m2: Energy,
    /// Logarithm of the cut lost over a life \[1\], 0 to 10; 0.3 leaves 74 %. `pad.worn_cut_loss`.
    pub cut_loss: f64,
}

impl Default for AbrasionLaw {
    /// Assumed: 80 MJ/m² of face, some 180 sections of 6 kJ for a face of 130 mm.
    fn default() -> Self {
        Self { work_per_m2: Energy::from_kj(80_000.0), cut_loss: 0.3 }
    }
}

impl AbrasionLaw {
    fn check(&self) -> Result<(), RangeError> {
        within("pad.life_mj_per_m2", self.work_per_m2.kj(), 10.0, 1e9, "kJ")?;
        within("pad.worn_cut_loss", self.cut_loss, 0.0, 10.0, "")?;
        Ok(())
    }
}

/// Every law of a pad with its product; `None` switches a law off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadLaws {
    /// Priming; off: every face is wetted throughout.
    pub priming: Option<PrimingLaw>,
    /// Loading with residue; off: a face never clogs.
    pub loading: Option<LoadingLaw>,
    /// Breakdown of the abrasive; off: it does not diminish.
    pub breakdown: Option<BreakdownLaw>,
    /// Overheating; off: heat does no harm.
    pub overheating: Option<OverheatingLaw>,
    /// Mechanical wear; off: work does no harm.
    pub abrasion: Option<AbrasionLaw>,
}

impl Default for PadLaws {
    fn default() -> Self {
        Self {
            priming: Some(PrimingLaw::default()),
            loading: Some(LoadingLaw::default()),
            breakdown: Some(BreakdownLaw::default()),
            overheating: Some(OverheatingLaw::default()),
            abrasion: Some(AbrasionLaw::default()),
        }
    }
}

impl PadLaws {
    /// No law at all: a pad that stays as it is.
    pub const NONE: Self = Self { priming: None, loading: None, breakdown: None, overheating: None, abrasion: None };

    /// Checks every number of every law; goes through in the example of [`super::PadKind`].
    ///
    /// # Errors
    /// The first number outside the range that stands with its field.
    pub fn check(&self) -> Result<(), RangeError> {
        self.priming.map_or(Ok(()), |l| l.check())?;
        self.loading.map_or(Ok(()), |l| l.check())?;
        self.breakdown.map_or(Ok(()), |l| l.check())?;
        self.overheating.map_or(Ok(()), |l| l.check())?;
        self.abrasion.map_or(Ok(()), |l| l.check())
    }
}
