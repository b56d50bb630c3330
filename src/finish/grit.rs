//! Grit sizes: the number on the paper means nothing without its system.
//!
//! Median grain size of the fine end of three systems. Not the abrasive of a polishing compound, which
//! is given by its size in micrometres, and not the depth of the marks: that is a separate, labelled
//! assumption ([`Grit::mark_depth`]).
//!
//! FEPA P: ISO 6344-3:1998 (the sizes d_s50 as printed in public comparison tables; P3000 to P5000 of the
//! 2021 edition are left out for want of a readable source). JIS: JIS R 6001:1987, electrical resistance
//! method, 50 % point. CAMI: ANSI B74.18 by way of public comparison tables, which differ from each
//! other by up to 15 %, so graded assumed.

use core::fmt;
use core::str::FromStr;

use super::error::FinishError;
use crate::equipment::defaults::Grade;
use crate::math::distribution::LogNormal;
use crate::units::Length;

/// A system of grit numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GritSystem {
    /// FEPA P of coated abrasives, written P2000.
    FepaP,
    /// JIS R 6001, written #2000.
    JisR6001,
    /// ANSI (CAMI) of coated abrasives, written CAMI 600.
    Cami,
}

impl GritSystem {
    /// Grit numbers with median grain size and tolerance, µm.
    const fn sizes(self) -> &'static [(u32, f64, f64)] {
        match self {
            // ISO 6344-3; medians from a public comparison table, tolerances from memory.
            Self::FepaP => &[
                (240, 58.5, 2.0),
                (280, 52.2, 2.0),
                (320, 46.2, 1.5),
                (360, 40.5, 1.5),
                (400, 35.0, 1.5),
                (500, 30.2, 1.5),
                (600, 25.8, 1.0),
                (800, 21.8, 1.0),
                (1000, 18.3, 1.0),
                (1200, 15.3, 1.0),
                (1500, 12.6, 1.0),
                (2000, 10.3, 0.8),
                (2500, 8.4, 0.5),
            ],
            // JIS R 6001:1987, table of the electrical resistance method, size at 50 % with tolerance.
            Self::JisR6001 => &[
                (240, 57.0, 3.0),
                (280, 48.0, 3.0),
                (320, 40.0, 2.5),
                (360, 35.0, 2.0),
                (400, 30.0, 2.0),
                (500, 25.0, 2.0),
                (600, 20.0, 1.5),
                (700, 17.0, 1.3),
                (800, 14.0, 1.0),
                (1000, 11.5, 1.0),
                (1200, 9.5, 0.8),
                (1500, 8.0, 0.6),
                (2000, 6.7, 0.6),
                (2500, 5.5, 0.5),
                (3000, 4.0, 0.5),
                (4000, 3.0, 0.4),
                (6000, 2.0, 0.4),
                (8000, 1.2, 0.3),
            ],
            // Public comparison tables; the tolerance is their disagreement.
            Self::Cami => &[
                (240, 53.0, 8.0),
                (320, 36.0, 5.4),
                (360, 28.0, 4.2),
                (400, 23.0, 3.5),
                (500, 20.0, 3.0),
                (600, 16.0, 2.4),
                (800, 12.6, 1.9),
                (1000, 10.3, 1.5),
            ],
        }
    }

    /// Source of the sizes.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::FepaP => "ISO 6344-3:1998 (FEPA P), by way of public comparison tables; tolerances from memory",
            Self::JisR6001 => "JIS R 6001:1987, electrical resistance method",
            Self::Cami => "ANSI B74.18 (CAMI), by way of public comparison tables that differ by up to 15 %",
        }
    }

    /// How well the sizes are known.
    #[must_use]
    pub const fn grade(self) -> Grade {
        match self {
            Self::FepaP | Self::JisR6001 => Grade::Standard,
            Self::Cami => Grade::Assumed,
        }
    }
}

/// A grit number in its system. One that exists has a size.
///
/// # Example
/// ```
/// use trochoid::finish::Grit;
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// let coarser: Grit = "P2000".parse()?;
/// let finer: Grit = "#2000".parse()?;
/// assert!((coarser.size().um() - 10.3).abs() < 1e-9 && (finer.size().um() - 6.7).abs() < 1e-9);
/// assert!("2000".parse::<Grit>().is_err()); // whose 2000?
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grit {
    system: GritSystem,
    number: u32,
    size_um: f64,
    tolerance_um: f64,
}

impl Grit {
    /// The grit `number` of `system`. See the example of [`Grit`].
    ///
    /// # Errors
    /// [`FinishError::UnknownGrit`] for a number that the system's table does not hold, with those it does.
    pub fn new(system: GritSystem, number: u32) -> Result<Self, FinishError> {
        match system.sizes().iter().find(|g| g.0 == number) {
            Some(&(_, size_um, tolerance_um)) => Ok(Self { system, number, size_um, tolerance_um }),
            None => Err(FinishError::UnknownGrit {
                given: written(system, number),
                allowed: format!("known: {}", known(system)),
            }),
        }
    }

    /// Every grit of a system, coarse to fine.
    pub fn all(system: GritSystem) -> impl Iterator<Item = Self> {
        system.sizes().iter().map(move |&(number, size_um, tolerance_um)| Self {
            system,
            number,
            size_um,
            tolerance_um,
        })
    }

    /// Its system.
    #[must_use]
    pub const fn system(&self) -> GritSystem {
        self.system
    }

    /// Its number.
    #[must_use]
    pub const fn number(&self) -> u32 {
        self.number
    }

    /// Median grain size.
    #[must_use]
    pub const fn size(&self) -> Length {
        Length::from_um(self.size_um)
    }

    /// Tolerance of the median grain size, either way.
    #[must_use]
    pub const fn tolerance(&self) -> Length {
        Length::from_um(self.tolerance_um)
    }

    /// Depth of the sanding marks that this grit leaves in paint, m: an own assumption, not a
    /// measurement.
    ///
    /// [`MARK_DEPTH_SHARE`] of the grain size, within a factor of two for most marks
    /// ([`MARK_DEPTH_SPREAD`]); the tolerance of the grit is added.
    ///
    /// # Errors
    /// None for the sizes in the tables; the range of [`LogNormal::new`] otherwise.
    ///
    /// # Example
    /// ```
    /// # fn main() -> Result<(), trochoid::finish::FinishError> {
    /// // 0.15 of the 10.3 µm of P2000.
    /// let grit: trochoid::finish::Grit = "P2000".parse()?;
    /// assert!((grit.mark_depth()?.median() - 1.545e-6).abs() < 1e-12);
    /// # Ok(())
    /// # }
    /// ```
    pub fn mark_depth(&self) -> Result<LogNormal, FinishError> {
        // The tolerance bounds the median grain size: half of it as a standard deviation.
        let spread = MARK_DEPTH_SPREAD.hypot(0.5 * self.tolerance_um / self.size_um);
        Ok(LogNormal::new(MARK_DEPTH_SHARE * self.size().m(), spread)?)
    }
}

/// Median depth of sanding marks as a share of the grain size: between a thirteenth and three tenths of the
/// grain for most marks. Assumed, no source.
pub const MARK_DEPTH_SHARE: f64 = 0.15;
/// Standard deviation of the logarithm of that depth: ln 2 / 2, so that 95 % lie within a factor of two.
pub const MARK_DEPTH_SPREAD: f64 = 0.35;

fn written(system: GritSystem, number: u32) -> String {
    match system {
        GritSystem::FepaP => format!("P{number}"),
        GritSystem::JisR6001 => format!("#{number}"),
        GritSystem::Cami => format!("CAMI {number}"),
    }
}

fn known(system: GritSystem) -> String {
    system.sizes().iter().map(|g| written(system, g.0)).collect::<Vec<_>>().join(", ")
}

impl fmt::Display for Grit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&written(self.system, self.number))
    }
}

impl FromStr for Grit {
    type Err = FinishError;

    /// Reads `P2000`, `#2000` or `CAMI 600`; a bare number is refused.
    fn from_str(text: &str) -> Result<Self, FinishError> {
        let text = text.trim();
        let unknown = || FinishError::UnknownGrit {
            given: text.chars().take(40).collect(),
            allowed: "write it with its system: P2000 (FEPA), #2000 (JIS R 6001) or CAMI 600".into(),
        };
        let (system, number) = if let Some(n) = text.strip_prefix(['P', 'p']) {
            (GritSystem::FepaP, n)
        } else if let Some(n) = text.strip_prefix('#') {
            (GritSystem::JisR6001, n)
        } else if let Some(n) = text.strip_prefix("CAMI").or_else(|| text.strip_prefix("cami")) {
            (GritSystem::Cami, n.trim_start())
        } else {
            return Err(unknown());
        };
        if number.is_empty() || number.len() > 5 || !number.bytes().all(|b| b.is_ascii_digit()) {
            return Err(unknown());
        }
        Self::new(system, number.parse().map_err(|_| unknown())?)
    }
}
