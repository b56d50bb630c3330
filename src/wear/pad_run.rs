//! One pad over many equal sections: what cleaning and rest are worth, and how often to clean.
//!
//! Not a rotation: a single pad, one kind of section.

use super::pad_kind::{PadAtWork, PadKind, SectionWork};
use super::pad_state::{Cleaning, SectionOutcome};
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Temperature, Time};

/// Most sections of one run.
pub const MOST_SECTIONS: usize = 2000;

/// How a pad is treated over a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadTreatment {
    /// Sections worked, 1 to [`MOST_SECTIONS`].
    pub sections: usize,
    /// Cleaned after every so many sections, and how; `None` never.
    pub cleaning: Option<(usize, Cleaning)>,
    /// Rest after each section, 0 to a day.
    pub rest: Time,
}

/// One section of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadRunSection {
    /// Highest core temperature.
    pub peak_core: Temperature,
    /// Cut, removal and life used.
    pub outcome: SectionOutcome,
    /// Share of its life that the pad has used by the end of the section \[1\].
    pub life_used: f64,
}

/// Works one pad, primed first, over equal sections in air at `air`.
///
/// # Assumptions and valid range
/// The laws of [`super::PadLaws`], all assumed; a pad that comes wet out of a cleaning is primed again before it
/// works, and dries first.
///
/// # Errors
/// A number outside the range that stands with its field; a core above 300 °C.
///
/// # Example
/// ```
/// use trochoid::units::{Area, Energy, Temperature, Time, Volume};
/// use trochoid::wear::{PadKind, PadTreatment, SectionWork, run_pad};
/// let section = SectionWork { kind: 0, work: Energy::from_kj(5.76), time: Time::from_min(3.0),
///     nominal_removal: Volume::from_ml(0.4), product: Volume::from_ml(0.75), solids_share: 0.4 };
/// let rested = PadTreatment { sections: 3, cleaning: None, rest: Time::from_s(0.0) };
/// let run = run_pad(&PadKind::new("cutting", Area::from_m2(0.01327)), &section, Temperature::from_c(20.0), &rested)?;
/// // The first, clean: 32 W for three minutes bring 16 (1 − e^−3) + 48 (1 − e^−0.3) = 27.6 K over 20 °C.
/// assert!((run[0].peak_core.c() - 47.6).abs() < 0.05);
/// // Its life by work: 5760 J of 80 MJ/m² × 0.01327 m² = 0.00543, and a little more as the face loads.
/// assert!(run[0].life_used > 0.00543 && run[0].life_used < 0.0065);
/// // Without cleaning or rest each section finds it hotter and fuller.
/// assert!(run.windows(2).all(|w| w[1].peak_core > w[0].peak_core && w[1].outcome.cut.loading < w[0].outcome.cut.loading));
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn run_pad(
    kind: &PadKind,
    section: &SectionWork,
    air: Temperature,
    treatment: &PadTreatment,
) -> Result<Vec<PadRunSection>, RangeError> {
    kind.check()?;
    section.check()?;
    within("ambient.temperature_c", air.c(), -40.0, 60.0, "°C")?;
    within("sections of the run", treatment.sections as f64, 1.0, MOST_SECTIONS as f64, "")?;
    within("rest after a section", treatment.rest.s(), 0.0, 86_400.0, "s")?;
    if let Some((every, cleaning)) = treatment.cleaning {
        within("pad.clean_every", every as f64, 1.0, MOST_SECTIONS as f64, "sections")?;
        cleaning.check()?;
    }
    let mut pad = PadAtWork::fresh(kind)?;
    let mut out = Vec::with_capacity(treatment.sections);
    for n in 1..=treatment.sections {
        pad.state.prime(&kind.laws, kind.priming.strokes)?;
        let worked = pad.work(kind, section, air)?;
        out.push(PadRunSection {
            peak_core: worked.peak_core,
            outcome: worked.outcome,
            life_used: pad.state.life_used(),
        });
        if let Some((every, cleaning)) = treatment.cleaning
            && n % every == 0
        {
            pad.clean(kind, &cleaning)?;
            pad.rest_until(kind, pad.at + cleaning.drying.s());
        }
        pad.rest_until(kind, pad.at + treatment.rest.s());
    }
    Ok(out)
}

/// Least loading factor at which a pad is still worth working on before it is cleaned. Assumed: with it
/// an ordinary section comes out at cleaning every 2 to 3 sections (common practice, no source).
pub const CLEAN_BELOW: f64 = 0.8;

/// Most sections that [`clean_interval`] gives.
pub const LONGEST_INTERVAL: usize = 40;

/// How often to clean: most sections that a clean pad works before its loading factor falls below
/// `clean_below` (0 to 1), at least 1, at most [`LONGEST_INTERVAL`].
///
/// # Assumptions and valid range
/// Loading alone decides; heat is left out, and a law of loading that is switched off gives the longest
/// interval.
///
/// # Errors
/// A number outside the range that stands with its field.
///
/// # Example
/// ```
/// use trochoid::units::{Area, Energy, Time, Volume};
/// use trochoid::wear::{CLEAN_BELOW, LONGEST_INTERVAL, PadKind, PadLaws, SectionWork, clean_interval};
/// let section = SectionWork { kind: 0, work: Energy::from_kj(5.76), time: Time::from_min(3.0),
///     nominal_removal: Volume::from_ml(0.4), product: Volume::from_ml(0.75), solids_share: 0.4 };
/// let kind = PadKind::new("cutting", Area::from_m2(0.01327));
/// // Some 0.6 ml of residue a section, half of it kept on 0.01327 m², is 23 µm, λ = 0.09; 1/(1 + λ) = 0.8 at λ = 0.25:
/// // two to three sections, as the trade has it.
/// assert!((2..=3).contains(&clean_interval(&kind, &section, CLEAN_BELOW)?));
/// // A face that never clogs is never due.
/// let clean = PadKind { laws: PadLaws::NONE, ..kind };
/// assert_eq!(clean_interval(&clean, &section, CLEAN_BELOW)?, LONGEST_INTERVAL);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn clean_interval(kind: &PadKind, section: &SectionWork, clean_below: f64) -> Result<usize, RangeError> {
    kind.check()?;
    section.check()?;
    within("pad.clean_below", clean_below, 0.0, 1.0, "")?;
    let mut pad = PadAtWork::fresh(kind)?;
    pad.state.prime(&kind.laws, kind.priming.strokes)?;
    // Loading alone is asked for, so the core stays at the coldest that a load may have.
    let cold = Temperature::from_c(-40.0);
    let calm = PadKind { heating: kind.heating.scaled(0.0), ..kind.clone() };
    for done in 0..LONGEST_INTERVAL {
        pad.work(&calm, section, cold)?;
        if pad.state.cut_factor(&kind.laws).loading < clean_below {
            return Ok(done.max(1));
        }
    }
    Ok(LONGEST_INTERVAL)
}
