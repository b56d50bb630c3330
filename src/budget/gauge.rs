//! One reading of a film gauge, and which gauge can read which panel.
//!
//! What a gauge measures: magnetic induction, the distance to a magnetic metal (ISO 2178: non-magnetic
//! coatings on magnetic substrates); eddy currents, the distance to a non-magnetic metal (ISO 2360:
//! non-conductive coatings on non-magnetic, electrically conductive base metals); ultrasound, the
//! echo of each layer on anything (ISO 2808, film thickness of paints, lists the methods). Only
//! ultrasound tells layers apart.

use super::error::BudgetError;
use super::interval::microns;
use crate::equipment::{Substrate, within};
use crate::error::RangeError;
use crate::units::Length;
use core::fmt;

/// Thickest film a reading may claim \[µm\]: filler included, far beyond any paint.
pub const THICKEST_UM: f64 = 5000.0;

/// How a gauge measures, which decides what it can read ([`Self::reads`]).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum GaugeKind {
    /// Magnetic induction (ISO 2178).
    Magnetic,
    /// Eddy currents (ISO 2360).
    Eddy,
    /// Ultrasonic echo (listed in ISO 2808).
    Ultrasonic,
}

impl GaugeKind {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::Magnetic, Self::Eddy, Self::Ultrasonic];

    /// Word of a reading file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Magnetic => "magnetic",
            Self::Eddy => "eddy",
            Self::Ultrasonic => "ultrasonic",
        }
    }

    /// Whether this kind can read a film on `substrate`.
    #[must_use]
    pub const fn reads(self, substrate: Substrate) -> bool {
        match self {
            Self::Magnetic => matches!(substrate, Substrate::Steel),
            Self::Eddy => matches!(substrate, Substrate::Aluminium),
            Self::Ultrasonic => true,
        }
    }

    /// What this kind reads, in words.
    #[must_use]
    pub const fn scope(self) -> &'static str {
        match self {
            Self::Magnetic => "steel only: magnetic induction measures the distance to a magnetic metal (ISO 2178)",
            Self::Eddy => {
                "aluminium only: eddy currents measure the distance to a non-magnetic metal that conducts (ISO 2360)"
            }
            Self::Ultrasonic => "any panel: an echo needs no metal (methods in ISO 2808)",
        }
    }
}

impl fmt::Display for GaugeKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// Word of a reading file for a substrate.
///
/// # Example
/// ```
/// use trochoid::{budget::substrate_word, equipment::Substrate};
/// assert_eq!(substrate_word(Substrate::Aluminium), "aluminium");
/// ```
#[must_use]
pub const fn substrate_word(substrate: Substrate) -> &'static str {
    match substrate {
        Substrate::Steel => "steel",
        Substrate::Aluminium => "aluminium",
        Substrate::Plastic => "plastic",
        Substrate::Composite => "composite",
    }
}

/// Which part of the film a reading is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum FilmPart {
    /// Everything above the substrate.
    #[default]
    Total,
    /// The clear coat alone.
    Clear,
    /// The colour coat alone.
    Base,
    /// Primer and filler alone.
    Primer,
}

impl FilmPart {
    /// Every part.
    pub const ALL: [Self; 4] = [Self::Total, Self::Clear, Self::Base, Self::Primer];

    /// Word of a reading file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Total => "total",
            Self::Clear => "clear",
            Self::Base => "base",
            Self::Primer => "primer",
        }
    }
}

/// One reading: what the gauge showed, where, and how far it can be trusted.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeReading {
    panel: String,
    at_m: Option<(f64, f64)>,
    value_m: f64,
    kind: GaugeKind,
    uncertainty_m: f64,
    substrate: Substrate,
    part: FilmPart,
}

impl GaugeReading {
    /// A reading of the total film, no place given.
    ///
    /// `uncertainty` is the standard uncertainty of one reading (one standard deviation). A maker's
    /// "± limit" is turned into one by [`standard_from_limit`].
    ///
    /// # Errors
    /// A value outside 0 to 5000 µm; an uncertainty outside 0.1 to 500 µm; a panel name that is empty
    /// or longer than 100 characters; a gauge that cannot read this substrate.
    ///
    /// # Example
    /// ```
    /// use trochoid::Length;
    /// use trochoid::budget::{FilmPart, GaugeKind, GaugeReading};
    /// use trochoid::equipment::Substrate;
    /// let film = Length::from_um(118.0);
    /// let sd = Length::from_um(2.0);
    /// assert!(GaugeReading::new("bonnet", film, GaugeKind::Magnetic, sd, Substrate::Steel).is_ok());
    /// assert!(GaugeReading::new("bumper", film, GaugeKind::Magnetic, sd, Substrate::Plastic).is_err());
    /// // Only an echo tells layers apart.
    /// let (whole, echo) = (GaugeKind::Magnetic, GaugeKind::Ultrasonic);
    /// assert!(GaugeReading::new("bonnet", film, whole, sd, Substrate::Steel)?.of(FilmPart::Clear).is_err());
    /// assert!(GaugeReading::new("bonnet", film, echo, sd, Substrate::Steel)?.of(FilmPart::Clear).is_ok());
    /// # Ok::<(), trochoid::budget::BudgetError>(())
    /// ```
    pub fn new(
        panel: &str,
        value: Length,
        kind: GaugeKind,
        uncertainty: Length,
        substrate: Substrate,
    ) -> Result<Self, BudgetError> {
        let panel = panel.trim();
        if panel.is_empty() || panel.chars().count() > 100 {
            return Err(BudgetError::Name { what: "panel", value: panel.chars().take(100).collect() });
        }
        microns("value_um", value, 0.0, THICKEST_UM)?;
        microns("uncertainty_um", uncertainty, 0.1, 500.0)?;
        if !kind.reads(substrate) {
            return Err(BudgetError::Gauge { kind, substrate });
        }
        Ok(Self {
            panel: panel.to_owned(),
            at_m: None,
            value_m: value.m(),
            kind,
            uncertainty_m: uncertainty.m(),
            substrate,
            part: FilmPart::Total,
        })
    }

    /// Sets the place on the panel.
    ///
    /// # Errors
    /// A coordinate outside ±20 m.
    pub fn at(mut self, x: Length, y: Length) -> Result<Self, RangeError> {
        within("x_mm", x.mm(), -20_000.0, 20_000.0, "mm")?;
        within("y_mm", y.mm(), -20_000.0, 20_000.0, "mm")?;
        self.at_m = Some((x.m(), y.m()));
        Ok(self)
    }

    /// Sets the part of the film that was read; the total unless set. See the example of [`Self::new`].
    ///
    /// # Errors
    /// A single layer read with a gauge that sees only the whole film.
    pub fn of(mut self, part: FilmPart) -> Result<Self, BudgetError> {
        if part != FilmPart::Total && self.kind != GaugeKind::Ultrasonic {
            return Err(BudgetError::Layer { kind: self.kind, part });
        }
        self.part = part;
        Ok(self)
    }

    /// Panel name.
    #[must_use]
    pub fn panel(&self) -> &str {
        &self.panel
    }

    /// Place \[m\].
    #[must_use]
    pub const fn place_m(&self) -> Option<(f64, f64)> {
        self.at_m
    }

    /// Value shown.
    #[must_use]
    pub const fn value(&self) -> Length {
        Length::from_m(self.value_m)
    }

    /// Standard uncertainty of one reading.
    #[must_use]
    pub const fn uncertainty(&self) -> Length {
        Length::from_m(self.uncertainty_m)
    }

    /// How it was measured.
    #[must_use]
    pub const fn kind(&self) -> GaugeKind {
        self.kind
    }

    /// What lies under the film.
    #[must_use]
    pub const fn substrate(&self) -> Substrate {
        self.substrate
    }

    /// Part of the film.
    #[must_use]
    pub const fn part(&self) -> FilmPart {
        self.part
    }
}

/// Standard uncertainty that stands for a stated limit ±`limit`.
///
/// ```text
/// u = limit/√3      an even distribution between the limits
/// ```
///
/// # Example
/// ```
/// use trochoid::{Length, budget::standard_from_limit};
/// // ±3 µm: 3/1.7321 = 1.732 µm.
/// assert!((standard_from_limit(Length::from_um(3.0)).um() - 1.7321).abs() < 1e-4);
/// ```
///
/// # References
/// JCGM 100:2008, 4.3.7.
#[must_use]
pub fn standard_from_limit(limit: Length) -> Length {
    Length::from_m(limit.m() / 3f64.sqrt())
}
