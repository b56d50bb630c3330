//! The unit of the coordinates in a file. Files of triangles do not carry one, and it is never guessed.

use crate::units::Length;
use core::fmt;
use core::str::FromStr;

/// Unit of length of the coordinates in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthUnit {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres.
    M,
    /// International inches, 25.4 mm.
    Inch,
}

impl LengthUnit {
    /// Every unit, smallest first.
    pub const ALL: [Self; 4] = [Self::Mm, Self::Cm, Self::Inch, Self::M];

    /// A number in this unit, in metres \[m\].
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::mesh::LengthUnit;
    /// // Ten inches of 25.4 mm.
    /// assert!((LengthUnit::Inch.metres(10.0) - 0.254).abs() < 1e-15);
    /// assert!((LengthUnit::Inch.of_metres(0.254) - 10.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub const fn metres(self, value: f64) -> f64 {
        match self {
            Self::Mm => Length::from_mm(value).m(),
            Self::Cm => Length::from_cm(value).m(),
            Self::M => Length::from_m(value).m(),
            Self::Inch => Length::from_inch(value).m(),
        }
    }

    /// A length \[m\] as a number in this unit.
    #[must_use]
    pub const fn of_metres(self, metres: f64) -> f64 {
        let l = Length::from_m(metres);
        match self {
            Self::Mm => l.mm(),
            Self::Cm => l.cm(),
            Self::M => l.m(),
            Self::Inch => l.inch(),
        }
    }

    /// The short name: mm, cm, m, in.
    #[must_use]
    pub const fn short(self) -> &'static str {
        match self {
            Self::Mm => "mm",
            Self::Cm => "cm",
            Self::M => "m",
            Self::Inch => "in",
        }
    }
}

impl fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.short())
    }
}

impl FromStr for LengthUnit {
    type Err = String;

    fn from_str(s: &str) -> Result<Self, String> {
        match s {
            "inch" => Ok(Self::Inch),
            _ => Self::ALL
                .into_iter()
                .find(|u| u.short() == s)
                .ok_or_else(|| format!("unit \"{s}\" is not one of mm, cm, m, in")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_metre_in_each_unit() {
        // Exact by definition (SI Brochure; inch of 1959: 25.4 mm); 1e-12 for the rounding of a division.
        for (u, n) in [(LengthUnit::Mm, 1000.0), (LengthUnit::Cm, 100.0), (LengthUnit::M, 1.0)] {
            assert!((u.of_metres(1.0) - n).abs() < 1e-12 * n);
            assert!((u.metres(n) - 1.0).abs() < 1e-12);
        }
        assert!((LengthUnit::Inch.metres(10.0) - 0.254).abs() < 1e-15); // one rounding
        assert_eq!("in".parse(), Ok(LengthUnit::Inch));
        assert_eq!("inch".parse(), Ok(LengthUnit::Inch));
        assert!("ft".parse::<LengthUnit>().unwrap_err().contains("mm, cm, m, in"));
    }
}
