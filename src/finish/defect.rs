//! Defects: what kind, how deep, and whether polishing can take them away at all.
//!
//! Default depths are common practice or assumed, never measured: they are there so that a plan can be
//! made before anything is measured, and every one of them can be replaced. A defect that polishing does
//! not mend has no depth distribution, so no passes can be computed for it.

use super::error::FinishError;
use super::grit::Grit;
use crate::equipment::defaults::Grade;
use crate::math::distribution::LogNormal;
use crate::units::Length;

/// A defect of the paint.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Defect {
    /// Fine scratches of washing and wiping, seen as webs round a lamp.
    SwirlMarks,
    /// Single scratches, deeper than swirl marks.
    RandomDeepScratches,
    /// Pits of bird droppings, insects and hard water.
    Etching,
    /// Marks of sanding with a grit.
    SandingMarks(Grit),
    /// A dent in the panel.
    Dent,
    /// A scratch that reaches primer or metal.
    ScratchToPrimer,
    /// Cracked or crazed clear coat.
    Cracks,
    /// A chip knocked out by a stone.
    StoneChip,
    /// Clear coat that has come off or gone white.
    ClearCoatFailure,
}

/// Depths of a kind of defect.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depths {
    /// Distribution of the depth, m.
    pub distribution: LogNormal,
    /// Where it comes from.
    pub source: &'static str,
    /// How well it is known.
    pub grade: Grade,
}

const PRACTICE: &str = "common practice, no source; order of magnitude only";

/// Median depth \[µm\] and spread of swirl marks.
pub const SWIRL_UM: (f64, f64) = (0.8, 0.6);
/// Median depth \[µm\] and spread of random deep scratches.
pub const DEEP_SCRATCH_UM: (f64, f64) = (3.0, 0.6);
/// Median depth \[µm\] and spread of etching.
pub const ETCHING_UM: (f64, f64) = (2.5, 0.8);

impl Defect {
    /// Plain name.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::SwirlMarks => "swirl marks",
            Self::RandomDeepScratches => "random deep scratches",
            Self::Etching => "etching",
            Self::SandingMarks(_) => "sanding marks",
            Self::Dent => "a dent",
            Self::ScratchToPrimer => "a scratch to primer or metal",
            Self::Cracks => "cracked clear coat",
            Self::StoneChip => "a stone chip",
            Self::ClearCoatFailure => "failed clear coat",
        }
    }

    /// Why polishing does not mend it and what does; `None` for what polishing can mend.
    #[must_use]
    pub const fn not_by_polishing(&self) -> Option<&'static str> {
        match self {
            Self::SwirlMarks | Self::RandomDeepScratches | Self::Etching | Self::SandingMarks(_) => None,
            Self::Dent => Some("the sheet is bent, not the paint; it is pressed out or filled, then painted"),
            Self::ScratchToPrimer => Some("the colour is gone there; it is touched in or painted"),
            Self::Cracks => Some("cracks run through the film; the film is stripped and painted"),
            Self::StoneChip => Some("paint is missing there; it is touched in or painted"),
            Self::ClearCoatFailure => Some("there is no sound clear coat left to cut; it is painted"),
        }
    }

    /// Depths to plan with until they are measured.
    ///
    /// # Errors
    /// [`FinishError::NotByPolishing`] for what polishing does not mend.
    ///
    /// # Example
    /// ```
    /// use trochoid::finish::{Defect, FinishError};
    /// assert!(Defect::SwirlMarks.depths().is_ok_and(|d| d.distribution.median() < 1e-6));
    /// assert!(matches!(Defect::Dent.depths(), Err(FinishError::NotByPolishing { .. })));
    /// ```
    pub fn depths(&self) -> Result<Depths, FinishError> {
        if let Some(reason) = self.not_by_polishing() {
            return Err(FinishError::NotByPolishing { defect: self.name(), reason });
        }
        let ((um, spread), source) = match self {
            Self::RandomDeepScratches => (DEEP_SCRATCH_UM, PRACTICE),
            Self::Etching => (ETCHING_UM, PRACTICE),
            Self::SandingMarks(grit) => {
                return Ok(Depths {
                    distribution: grit.mark_depth()?,
                    source: "a share of the grain size, our assumption",
                    grade: Grade::Assumed,
                });
            }
            _ => (SWIRL_UM, PRACTICE),
        };
        let distribution = LogNormal::new(Length::from_um(um).m(), spread)?;
        Ok(Depths { distribution, source, grade: Grade::Assumed })
    }
}
