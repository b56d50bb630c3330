//! What the bearings of a shaft carry: rigid shaft on two supports, loads in planes across it.
//!
//! Every load of an orbiting pad turns with the shaft: the pulls of pad and counterweights along one
//! direction, the friction on the face square to it, and the force along the axis at the orbit's radius, whose
//! couple lies in the plane of the pulls. In the frame of the shaft they stand still, so that statics do.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::Length;

/// A force across the shaft, in the frame that turns with it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrossLoad {
    /// Place along the shaft, + away from the panel, m.
    pub at_m: f64,
    /// Force, N.
    pub force_n: (f64, f64),
}

/// Where the two supports of a shaft stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Supports {
    front_m: f64,
    rear_m: f64,
}

/// What the two supports carry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reactions {
    /// The one near the pad, N.
    pub front_n: (f64, f64),
    /// The other one, N.
    pub rear_n: (f64, f64),
}

impl Reactions {
    /// Size at the front \[N\].
    #[must_use]
    pub fn front(&self) -> f64 {
        self.front_n.0.hypot(self.front_n.1)
    }

    /// Size at the rear \[N\].
    #[must_use]
    pub fn rear(&self) -> f64 {
        self.rear_n.0.hypot(self.rear_n.1)
    }
}

impl Supports {
    /// Two supports: the front one `overhang` above the pad's plane, the rear one `span` above the front.
    ///
    /// # Errors
    /// An overhang outside −500 to 500 mm, a span outside 1 to 1000 mm.
    pub fn new(pad_plane: Length, overhang: Length, span: Length) -> Result<Self, RangeError> {
        within("overhang_mm", overhang.mm(), -500.0, 500.0, "mm")?;
        within("span_mm", span.mm(), 1.0, 1000.0, "mm")?;
        let front_m = pad_plane.m() + overhang.m();
        Ok(Self { front_m, rear_m: front_m + span.m() })
    }

    /// Places of the front and the rear support.
    #[must_use]
    pub const fn places(&self) -> (Length, Length) {
        (Length::from_m(self.front_m), Length::from_m(self.rear_m))
    }

    /// What the supports carry of loads and of a couple.
    ///
    /// ```text
    /// R_r = [Σ F_i (z_i − z_f) + M]/(z_r − z_f),   R_f = Σ F_i − R_r
    /// ```
    ///
    /// `couple` \[N·m\] has the sign of a force times its height: the axial force N at the orbit's radius e gives
    /// −N e along the direction of the pad.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::{CrossLoad, Supports};
    /// use trochoid::units::Length;
    /// // 100 N hung 20 mm below the front support, the rear one 40 mm above it: moments about the front
    /// // give −50 N at the rear and so 150 N at the front.
    /// let supports = Supports::new(Length::from_mm(0.0), Length::from_mm(20.0), Length::from_mm(40.0))?;
    /// let r = supports.carry(&[CrossLoad { at_m: 0.0, force_n: (100.0, 0.0) }], (0.0, 0.0));
    /// assert!((r.front() - 150.0).abs() < 1e-9 && (r.rear_n.0 + 50.0).abs() < 1e-9);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn carry(&self, loads: &[CrossLoad], couple: (f64, f64)) -> Reactions {
        let span = self.rear_m - self.front_m;
        let (mut sum, mut moment) = ((0.0, 0.0), couple);
        for l in loads {
            let arm = l.at_m - self.front_m;
            sum.0 += l.force_n.0;
            sum.1 += l.force_n.1;
            moment.0 += l.force_n.0 * arm;
            moment.1 += l.force_n.1 * arm;
        }
        let rear_n = (moment.0 / span, moment.1 / span);
        Reactions { front_n: (sum.0 - rear_n.0, sum.1 - rear_n.1), rear_n }
    }
}
