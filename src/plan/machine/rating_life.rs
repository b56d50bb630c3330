//! Rating life of a radial deep-groove ball bearing.
//!
//! ```text
//! P     = X F_r + Y F_a  where F_a/F_r > e, else F_r          equivalent load [N]
//! L_10  = (C/P)³                                              10⁶ turns, 90 of 100 bearings reach it
//! L_10h = 10⁶ L_10/(60 n)                                     h, n [1/min]
//! L_nm  = a_1 L_10                                            another reliability
//! ```
//!
//! Not reckoned: lubrication and dirt (a_ISO of the standard is left at 1), clearance, misalignment, and
//! every end of a bearing but fatigue: wet pads and abrasive dust end most small bearings earlier.
//!
//! Source: ISO 281:2007 (tables 3 and 12), ISO 76:2006 for the static load; table values from memory, held
//! against a textbook's own table in the tests.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{AngularRate, Force, Time};

/// f_0 F_a/C_0, e, Y of a single-row deep-groove bearing of ordinary clearance; X = 0.56 throughout
/// (ISO 281:2007, table 3).
pub const AXIAL_FACTORS: [(f64, f64, f64); 9] = [
    (0.172, 0.19, 2.30),
    (0.345, 0.22, 1.99),
    (0.689, 0.26, 1.71),
    (1.03, 0.28, 1.55),
    (1.38, 0.30, 1.45),
    (2.07, 0.34, 1.31),
    (3.45, 0.38, 1.15),
    (5.17, 0.42, 1.04),
    (6.89, 0.44, 1.00),
];
/// X of the same table where the axial load counts.
pub const RADIAL_FACTOR: f64 = 0.56;
/// Reliability and a_1 (ISO 281:2007, table 12).
pub const RELIABILITY_FACTORS: [(f64, f64); 13] = [
    (0.90, 1.0),
    (0.95, 0.64),
    (0.96, 0.55),
    (0.97, 0.47),
    (0.98, 0.37),
    (0.99, 0.25),
    (0.992, 0.22),
    (0.994, 0.19),
    (0.996, 0.16),
    (0.998, 0.12),
    (0.999, 0.093),
    (0.9992, 0.087),
    (0.9995, 0.077),
];
/// Load below which balls may slide instead of roll, as a share of C: common practice, no source.
pub const LEAST_LOAD_SHARE: f64 = 0.01;
/// Equivalent load over C up to which the standard's formula is held good.
pub const LARGEST_LOAD_SHARE: f64 = 0.5;

/// A radial deep-groove ball bearing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BallBearing {
    dynamic_n: f64,
    static_n: f64,
    f0: f64,
    reliability: f64,
}

/// What a bearing carries, in directions that do not change against the loaded ring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BearingLoad {
    /// Across the shaft, N.
    pub radial_n: f64,
    /// Along it, N.
    pub axial_n: f64,
}

/// The life of a bearing under a steady load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatingLife {
    /// What it carries.
    pub load: BearingLoad,
    /// P, N.
    pub equivalent_n: f64,
    /// L_10 \[10⁶ turns\]; infinite without a load.
    pub l10_million: f64,
    /// Life at 90 % in hours; infinite without a load or where the rings do not turn against each other.
    pub l10: Time,
    /// a_1 of the reliability asked for \[1\].
    pub a1: f64,
    /// Life at that reliability.
    pub modified: Time,
    /// C_0 over the equivalent static load \[1\]; infinite without a load.
    pub static_safety: f64,
    /// Whether P is at least a hundredth of C, below which balls may slide.
    pub loaded_enough: bool,
    /// Whether P is at most half of C, up to which the formula holds.
    pub within_formula: bool,
    /// Whether f_0 F_a/C_0 is at most the table's last, 6.89; beyond it P is reckoned with the last row.
    pub within_table: bool,
}

impl BallBearing {
    /// Geometry factor f_0 where none is given: of small bearings it is 12 to 16 (ISO 76; assumed).
    pub const F0: f64 = 14.0;
    /// Reliability where none is asked for: that of the rating itself.
    pub const RELIABILITY: f64 = 0.9;

    /// A bearing from its basic dynamic and static load ratings.
    ///
    /// # Errors
    /// A rating outside 1 to 10 000 000 N.
    pub fn new(dynamic: Force, r#static: Force) -> Result<Self, RangeError> {
        Ok(Self {
            dynamic_n: within("dynamic_rating_n", dynamic.n(), 1.0, 1e7, "N")?,
            static_n: within("static_rating_n", r#static.n(), 1.0, 1e7, "N")?,
            f0: Self::F0,
            reliability: Self::RELIABILITY,
        })
    }

    /// Sets the geometry factor f_0.
    ///
    /// # Errors
    /// Outside 5 to 20.
    pub fn with_f0(mut self, f0: f64) -> Result<Self, RangeError> {
        self.f0 = within("f0", f0, 5.0, 20.0, "")?;
        Ok(self)
    }

    /// Sets the reliability that a life is told for beside the 90 % of the rating.
    ///
    /// # Errors
    /// Outside 0.9 to 0.9995.
    pub fn with_reliability(mut self, reliability: f64) -> Result<Self, RangeError> {
        self.reliability = within("reliability", reliability, 0.9, 0.9995, "")?;
        Ok(self)
    }

    /// Basic dynamic load rating C.
    #[must_use]
    pub const fn dynamic_rating(&self) -> Force {
        Force::from_n(self.dynamic_n)
    }

    /// Reliability asked for \[1\].
    #[must_use]
    pub const fn reliability(&self) -> f64 {
        self.reliability
    }

    /// e and Y at an axial load \[1\]; linear between the rows of [`AXIAL_FACTORS`], the first and
    /// the last row beyond them.
    #[must_use]
    pub fn axial_factors(&self, axial_n: f64) -> (f64, f64) {
        let at = self.f0 * axial_n / self.static_n;
        (between_rows(&AXIAL_FACTORS.map(|r| (r.0, r.1)), at), between_rows(&AXIAL_FACTORS.map(|r| (r.0, r.2)), at))
    }

    /// Equivalent dynamic load P, N.
    ///
    /// ```text
    /// P = X F_r + Y F_a  where F_a > e F_r, else F_r        X = 0.56, e and Y by f_0 F_a/C_0 [1], F [N]
    /// ```
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::{BallBearing, BearingLoad};
    /// use trochoid::units::Force;
    /// let bearing = BallBearing::new(Force::from_n(7900.0), Force::from_n(4450.0))?;
    /// // An axial load of a tenth of the radial one counts for nothing.
    /// let p = bearing.equivalent_n(&BearingLoad { radial_n: 500.0, axial_n: 50.0 });
    /// assert!((p - 500.0).abs() < 1e-9);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn equivalent_n(&self, load: &BearingLoad) -> f64 {
        let (radial, axial) = (load.radial_n.abs(), load.axial_n.abs());
        let (e, y) = self.axial_factors(axial);
        if axial > e * radial { RADIAL_FACTOR * radial + y * axial } else { radial }
    }

    /// The life under a steady load, the rings turning against each other at `rate`.
    ///
    /// ```text
    /// L_10 = (C/P)³ [10⁶ turns],   L_10h = 10⁶ L_10/(60 n) [h],   L_nm = a_1 L_10        n [1/min]
    /// static safety = C_0/max(F_r, 0.6 F_r + 0.5 F_a)      [1]
    /// ```
    ///
    /// # Assumptions and valid range
    /// P between a hundredth and a half of C, told by two flags of the result. Lubrication, dirt, clearance and
    /// misalignment are left out: wet pads and abrasive dust end most small bearings earlier.
    ///
    /// # Errors
    /// A load or a rate that is not finite.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::{BallBearing, BearingLoad};
    /// use trochoid::units::{AngularRate, Force};
    /// // P a tenth of C: a thousand million turns, at 1000 /min 16 667 h.
    /// let bearing = BallBearing::new(Force::from_n(5000.0), Force::from_n(2500.0))?;
    /// let life = bearing.life(BearingLoad { radial_n: 500.0, axial_n: 0.0 }, AngularRate::from_rpm(1000.0))?;
    /// assert!((life.l10_million - 1000.0).abs() < 1e-9 && (life.l10.h() - 16_666.667).abs() < 1e-3);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    ///
    /// # References
    /// ISO 281:2007 (life) and ISO 76:2006 (static load), from memory.
    pub fn life(&self, load: BearingLoad, rate: AngularRate) -> Result<RatingLife, RangeError> {
        within("radial load", load.radial_n, -1e9, 1e9, "N")?;
        within("axial load", load.axial_n, -1e9, 1e9, "N")?;
        within("rate", rate.rpm(), -1e6, 1e6, "/min")?;
        let (radial, axial) = (load.radial_n.abs(), load.axial_n.abs());
        let p = self.equivalent_n(&load);
        let l10_million = (self.dynamic_n / p).powi(3);
        let per_hour = rate.rpm().abs() * 60.0;
        let hours = 1e6 * l10_million / per_hour;
        let a1 = reliability_factor(self.reliability)?;
        let at_rest = radial.max(0.6 * radial + 0.5 * axial);
        Ok(RatingLife {
            load: BearingLoad { radial_n: radial, axial_n: axial },
            equivalent_n: p,
            l10_million,
            l10: Time::from_h(hours),
            a1,
            modified: Time::from_h(a1 * hours),
            static_safety: self.static_n / at_rest,
            loaded_enough: p >= LEAST_LOAD_SHARE * self.dynamic_n,
            within_formula: p <= LARGEST_LOAD_SHARE * self.dynamic_n,
            within_table: self.f0 * axial / self.static_n <= AXIAL_FACTORS[8].0,
        })
    }
}

/// The factor a_1 on the life for a reliability, linear between the rows of ISO 281:2007, table 12 \[1\].
///
/// # Errors
/// A reliability outside 0.9 to 0.9995.
///
/// # Example
/// ```
/// use trochoid::plan::machine::reliability_factor;
/// assert!((reliability_factor(0.99)? - 0.25).abs() < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn reliability_factor(reliability: f64) -> Result<f64, RangeError> {
    let r = within("reliability", reliability, 0.9, 0.9995, "")?;
    Ok(between_rows(&RELIABILITY_FACTORS, r))
}

/// Value between the rows of a table, on a straight line; the first or last row outside it.
fn between_rows(rows: &[(f64, f64)], at: f64) -> f64 {
    let next = rows.partition_point(|r| r.0 <= at).clamp(1, rows.len() - 1);
    let ((x0, y0), (x1, y1)) = (rows[next - 1], rows[next]);
    y0 + (y1 - y0) * ((at - x0) / (x1 - x0)).clamp(0.0, 1.0)
}

/// The life of a bearing that spends shares of its time under several loads and rates (Palmgren and Miner):
/// 1/L = Σ q_i/L_i. `None` without a share above zero.
///
/// # Example
/// ```
/// use trochoid::plan::machine::life_of_shares;
/// use trochoid::units::Time;
/// // Half the time at a load that takes 1000 h, half at one that takes 3000 h: 1/(0.5/1000 + 0.5/3000).
/// let life = life_of_shares(&[(1.0, Time::from_h(1000.0)), (1.0, Time::from_h(3000.0))]);
/// assert!(life.is_some_and(|l| (l.h() - 1500.0).abs() < 1e-9));
/// ```
///
/// # References
/// Palmgren (1924), Miner (1945): linear damage.
#[must_use]
pub fn life_of_shares(shares: &[(f64, Time)]) -> Option<Time> {
    let whole: f64 = shares.iter().map(|s| s.0).sum();
    let used: f64 = shares.iter().map(|s| s.0 / s.1.s()).sum();
    (whole > 0.0).then(|| Time::from_s(whole / used))
}
