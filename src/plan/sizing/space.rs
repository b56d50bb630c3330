//! The designs to choose from: a set-up, and the ranges of what may change in it.

use super::LEFT_SHARE;
use crate::contact::Hold;
use crate::equipment::within;
use crate::error::RangeError;
use crate::plan::Working;
use crate::spin::{Against, Setup};
use crate::units::{Mass, Speed};

/// What may change from design to design.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Variable {
    /// Throw (orbit diameter), mm.
    Throw,
    /// Face diameter of a pad of the same make, mm.
    PadDiameter,
    /// Thickness of the pad, mm.
    PadThickness,
    /// Factor on the stresses of the pad's compression law.
    PadStiffness,
    /// Orbit rate, orbits per minute.
    OrbitRate,
    /// Normal force, N.
    Force,
    /// Feed, mm/s.
    Feed,
    /// Overlap of the pass lines.
    Overlap,
    /// Pad mass that the counterweight balances, kg.
    BalancedMass,
}

impl Variable {
    /// All of them, in the order of the job file.
    pub const ALL: [Self; 9] = [
        Self::Throw,
        Self::PadDiameter,
        Self::PadThickness,
        Self::PadStiffness,
        Self::OrbitRate,
        Self::Force,
        Self::Feed,
        Self::Overlap,
        Self::BalancedMass,
    ];

    /// Key in job files and results, with its unit.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::Throw => "throw_mm",
            Self::PadDiameter => "pad_diameter_mm",
            Self::PadThickness => "pad_thickness_mm",
            Self::PadStiffness => "pad_stiffness_factor",
            Self::OrbitRate => "orbit_rate_opm",
            Self::Force => "force_n",
            Self::Feed => "feed_mm_s",
            Self::Overlap => "overlap",
            Self::BalancedMass => "balanced_pad_kg",
        }
    }

    /// Name in words, with its unit.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Throw => "throw [mm]",
            Self::PadDiameter => "pad [mm]",
            Self::PadThickness => "thickness [mm]",
            Self::PadStiffness => "stiffness factor",
            Self::OrbitRate => "rate [orbits/min]",
            Self::Force => "force [N]",
            Self::Feed => "feed [mm/s]",
            Self::Overlap => "overlap",
            Self::BalancedMass => "balanced pad [kg]",
        }
    }

    /// Decimals that are worth printing.
    #[must_use]
    pub const fn decimals(self) -> usize {
        match self {
            Self::OrbitRate => 0,
            Self::Throw | Self::PadDiameter | Self::PadThickness | Self::Force | Self::Feed => 1,
            Self::PadStiffness | Self::Overlap => 2,
            Self::BalancedMass => 3,
        }
    }

    /// Least and greatest value that any design may have \[in the unit of its key\].
    #[must_use]
    pub const fn bounds(self) -> (f64, f64) {
        match self {
            Self::Throw => (0.1, 100.0),
            Self::PadDiameter => (5.0, 500.0),
            Self::PadThickness => (0.5, 150.0),
            Self::PadStiffness => (0.01, 100.0),
            Self::OrbitRate => (10.0, 30_000.0),
            Self::Force => (0.1, 2000.0),
            Self::Feed => (0.1, 10_000.0),
            Self::Overlap => (0.0, 0.95),
            Self::BalancedMass => (0.0, 10.0),
        }
    }

    const fn against(self) -> Option<Against> {
        match self {
            Self::Throw => Some(Against::Throw),
            Self::PadDiameter => Some(Against::PadDiameter),
            Self::PadThickness => Some(Against::PadThickness),
            Self::OrbitRate => Some(Against::OrbitRate),
            Self::Force => Some(Against::Force),
            Self::PadStiffness | Self::Feed | Self::Overlap | Self::BalancedMass => None,
        }
    }
}

/// One design.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// Tool, pad, product and force; its patch is the one it was made with.
    pub setup: Setup,
    /// How it is led.
    pub working: Working,
    /// Pad mass that the counterweight balances; `None` for one made for the design's own pad, which leaves
    /// [`LEFT_SHARE`] of it.
    pub balanced: Option<Mass>,
}

impl Design {
    /// A design from a set-up held square, with a counterweight made for its own pad.
    ///
    /// # Errors
    /// A tilted hold.
    pub fn new(setup: Setup, working: Working) -> Result<Self, RangeError> {
        if let Hold::Tilted { x, .. } = setup.hold() {
            return Err(RangeError::new("hold.x_deg", x.deg(), "°", "designs are compared with the pad held square"));
        }
        Ok(Self { setup, working, balanced: None })
    }

    /// Value of a variable \[in the unit of its key\]; the stiffness factor of a design is 1.
    #[must_use]
    pub fn value(&self, variable: Variable) -> f64 {
        match variable {
            Variable::PadStiffness => 1.0,
            Variable::Feed => self.working.feed.mm_s(),
            Variable::Overlap => self.working.overlap,
            Variable::BalancedMass => self.balanced.map_or((1.0 - LEFT_SHARE) * self.setup.pad().mass().kg(), Mass::kg),
            Variable::Throw => Against::Throw.of(&self.setup),
            Variable::PadDiameter => Against::PadDiameter.of(&self.setup),
            Variable::PadThickness => Against::PadThickness.of(&self.setup),
            Variable::OrbitRate => Against::OrbitRate.of(&self.setup),
            Variable::Force => Against::Force.of(&self.setup),
        }
    }

    /// The design with a variable changed; a stiffness factor acts on what is there.
    ///
    /// # Errors
    /// A value outside [`Variable::bounds`], or that tool, pad or set-up refuse.
    pub fn with(mut self, variable: Variable, value: f64) -> Result<Self, RangeError> {
        let (low, high) = variable.bounds();
        within(variable.key(), value, low, high, "")?;
        match (variable, variable.against()) {
            (_, Some(against)) => self.setup = against.set(&self.setup, value)?,
            (Variable::Feed, _) => self.working.feed = Speed::from_mm_s(value),
            (Variable::Overlap, _) => self.working.overlap = value,
            (Variable::BalancedMass, _) => self.balanced = Some(Mass::from_kg(value)),
            (_, None) => {
                let law = self.setup.pad().compression().scaled(value)?;
                let pad = self.setup.pad().clone().with_compression(law);
                self.setup = self.setup.with_pad(pad)?;
            }
        }
        Ok(self)
    }
}

/// Range of one variable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VariableRange {
    /// Which.
    pub variable: Variable,
    /// Least value \[in the unit of the variable's key\].
    pub low: f64,
    /// Greatest value \[in the unit of the variable's key\].
    pub high: f64,
}

/// All designs between the ends of some ranges around a base.
#[derive(Debug, Clone, PartialEq)]
pub struct DesignSpace {
    base: Design,
    ranges: Vec<VariableRange>,
}

impl DesignSpace {
    /// The space.
    ///
    /// # Errors
    /// No range, a variable twice, a range that is empty or leaves [`Variable::bounds`], or a throw that
    /// reaches the smallest pad.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::Working;
    /// use trochoid::plan::sizing::{Design, DesignSpace, Variable, VariableRange};
    /// # use trochoid::*;
    /// # fn main() -> Result<(), Error> {
    /// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
    /// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
    /// let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
    /// let force = VariableRange { variable: Variable::Force, low: 20.0, high: 40.0 };
    /// let space = DesignSpace::new(Design::new(setup, working)?, vec![force])?;
    /// // A quarter of the way from 20 to 40 N; the throw of 15 mm stays.
    /// let design = space.design(&[0.25])?;
    /// assert!((design.value(Variable::Force) - 25.0).abs() < 1e-9);
    /// assert!((design.value(Variable::Throw) - 15.0).abs() < 1e-9);
    /// # Ok(())
    /// # }
    /// ```
    pub fn new(base: Design, ranges: Vec<VariableRange>) -> Result<Self, RangeError> {
        if ranges.is_empty() {
            return Err(RangeError::new("ranges", 0.0, "", "at least one variable with its range"));
        }
        for (i, r) in ranges.iter().enumerate() {
            let (low, high) = r.variable.bounds();
            for end in [r.low, r.high] {
                within(r.variable.key(), end, low, high, "")?;
            }
            if r.high <= r.low {
                let allowed = format!("a range from below to above; its low end is {}", r.low);
                return Err(RangeError::new(r.variable.key(), r.high, "", allowed));
            }
            if ranges[..i].iter().any(|q| q.variable == r.variable) {
                return Err(RangeError::new(r.variable.key(), r.low, "", "one range a variable"));
            }
        }
        let of = |v: Variable| ranges.iter().find(|r| r.variable == v);
        let throw = of(Variable::Throw).map_or(base.value(Variable::Throw), |r| r.high);
        let smallest = of(Variable::PadDiameter).map_or(base.value(Variable::PadDiameter), |r| r.low);
        if throw >= smallest {
            let key = if of(Variable::Throw).is_some() { Variable::Throw } else { Variable::PadDiameter };
            let value = if key == Variable::Throw { throw } else { smallest };
            return Err(RangeError::new(
                key.key(),
                value,
                "",
                format!("every throw below every pad: {throw} mm and {smallest} mm meet"),
            ));
        }
        Ok(Self { base, ranges })
    }

    /// The base.
    #[must_use]
    pub const fn base(&self) -> &Design {
        &self.base
    }

    /// The ranges.
    #[must_use]
    pub fn ranges(&self) -> &[VariableRange] {
        &self.ranges
    }

    /// Values of the variables \[each in the unit of its key\] at a place in the unit cube, one number of 0 to 1 a range.
    #[must_use]
    pub fn values(&self, place: &[f64]) -> Vec<f64> {
        self.ranges.iter().zip(place).map(|(r, u)| r.low + (r.high - r.low) * u).collect()
    }

    /// The design at a place in the unit cube.
    ///
    /// # Errors
    /// Values that together make no design.
    pub fn design(&self, place: &[f64]) -> Result<Design, RangeError> {
        self.with_values(&self.values(place))
    }

    /// The design with values of the variables in the order of the ranges.
    ///
    /// # Errors
    /// Values that together make no design.
    pub fn with_values(&self, values: &[f64]) -> Result<Design, RangeError> {
        let mut design = self.base.clone();
        let mut later = None;
        for (r, v) in self.ranges.iter().zip(values) {
            // Set-ups refuse a throw as large as the pad on the way as well: the larger pad comes first.
            if r.variable == Variable::Throw {
                later = Some(*v);
            } else if r.variable == Variable::PadDiameter && *v <= design.value(Variable::Throw) {
                let throw = self.ranges.iter().zip(values).find(|(q, _)| q.variable == Variable::Throw);
                design = design.with(Variable::Throw, throw.map_or(0.5 * v, |t| *t.1))?.with(r.variable, *v)?;
            } else {
                design = design.with(r.variable, *v)?;
            }
        }
        match later {
            Some(throw) => design.with(Variable::Throw, throw),
            None => Ok(design),
        }
    }
}
