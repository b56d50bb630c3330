//! How the operator or the machine holds the pad against the panel.

use crate::error::RangeError;
use crate::units::Angle;

/// Attitude of the plate against the panel.
///
/// # Example
/// ```
/// use trochoid::Angle;
/// use trochoid::contact::Hold;
/// let tilted = Hold::tilted(Angle::from_deg(2.0), Angle::from_deg(0.0))?;
/// // tan 2° = 0.03492: the rim of a 65 mm pad goes 2.3 mm deeper on its +x side.
/// assert!((tilted.slopes().0 - 0.03492).abs() < 1e-5);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[non_exhaustive]
pub enum Hold {
    /// Square to the panel.
    #[default]
    Flat,
    /// Tilted by two angles within ±30°; positive x presses the +x side deeper (a slope along x), likewise y.
    Tilted {
        /// Slope angle along x.
        x: Angle,
        /// Slope angle along y.
        y: Angle,
    },
    /// Free to find the attitude in which the orbit-averaged moment of the pressure about the pad
    /// centre is zero. Friction moments are neglected.
    SelfAligning,
}

impl Hold {
    /// A tilted hold; the variant made by hand is not checked.
    ///
    /// # Errors
    /// An angle outside ±30°.
    pub fn tilted(x: Angle, y: Angle) -> Result<Self, RangeError> {
        crate::equipment::within("hold.x_deg", x.deg(), -30.0, 30.0, "°")?;
        crate::equipment::within("hold.y_deg", y.deg(), -30.0, 30.0, "°")?;
        Ok(Self::Tilted { x, y })
    }

    /// Slopes (tan x, tan y) of a given tilt \[1\]; zero for the other holds.
    #[must_use]
    pub fn slopes(&self) -> (f64, f64) {
        match self {
            Self::Tilted { x, y } => (x.rad().tan(), y.rad().tan()),
            Self::Flat | Self::SelfAligning => (0.0, 0.0),
        }
    }
}
