//! What happens to a tool over time: pieces with force, place, hold and rate, and the ramps between
//! them.
//!
//! Within a ramp force, curvature tensor, slopes of the plate and set-point change linearly. Under a
//! moving pad the true curvature changes across the face as well; a ramp as long as the face takes to
//! pass (diameter over feed) stands for that.

use super::error::TransientError;
use crate::contact::Hold;
use crate::equipment::within;
use crate::error::RangeError;
use crate::panel::Patch;
use crate::units::{Angle, AngularRate, Curvature, Force, Time};

/// Longest schedule \[s\].
const LONGEST_S: f64 = 3600.0;
/// Most pieces of a schedule.
const MOST_PIECES: usize = 10_000;

/// Whether and how the pad is pressed.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Footing {
    /// Off the panel.
    Lifted,
    /// On the panel.
    Pressed {
        /// Local shape under the pad.
        patch: Patch,
        /// How the pad is held.
        hold: Hold,
        /// Normal force on the face.
        force: Force,
    },
}

impl Footing {
    /// On a patch, held square.
    #[must_use]
    pub const fn square(patch: Patch, force: Force) -> Self {
        Self::Pressed { patch, hold: Hold::Flat, force }
    }
}

/// One piece of a schedule, up to an hour after its start: whether and how the pad is pressed, from when to when.
///
/// # Example
/// ```
/// use trochoid::spin::{Footing, Piece, Schedule};
/// use trochoid::{Curvature, Force, Patch, Time};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// // Half a second on the flat, then a hollow that comes in over 0.1 s and is kept for 0.4 s: 1 s in all.
/// let (s, force) = (Time::from_s, Force::from_n(35.0));
/// let flat = Piece::new(s(0.0), s(0.5), Footing::square(Patch::flat(), force))?;
/// let hollow = Patch::sphere(Curvature::from_per_m(-0.5))?;
/// let hollow = Piece::new(s(0.5), s(1.0), Footing::square(hollow, force))?.with_ramp(s(0.1))?;
/// let schedule = Schedule::new(vec![flat, hollow])?;
/// assert!((schedule.duration().s() - 1.0).abs() < 1e-12);
/// // A gap is refused, and so is a ramp longer than its piece.
/// assert!(Schedule::new(vec![hollow]).is_err() && flat.with_ramp(s(0.6)).is_err());
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    from: f64,
    to: f64,
    ramp: f64,
    footing: Footing,
    rate: Option<f64>,
}

impl Piece {
    /// A piece between two times, entered at once; see the example of [`Piece`].
    ///
    /// # Errors
    /// A time that is not finite or negative, an end that does not lie after the start, a force outside
    /// 0.1 to 2000 N.
    pub fn new(from: Time, to: Time, footing: Footing) -> Result<Self, RangeError> {
        within("piece.from_s", from.s(), 0.0, LONGEST_S, "s")?;
        if !(to.s() > from.s() && to.s() <= LONGEST_S) {
            let allowed = format!("after the start of the piece, {} s, and at most {LONGEST_S} s", from.s());
            return Err(RangeError::new("piece.to_s", to.s(), "s", allowed));
        }
        if let Footing::Pressed { force, .. } = footing {
            within("force_n", force.n(), 0.1, 2000.0, "N")?;
        }
        Ok(Self { from: from.s(), to: to.s(), ramp: 0.0, footing, rate: None })
    }

    /// Lets the conditions of the piece before go over into its own during the first `ramp` of it.
    ///
    /// # Errors
    /// A ramp that is negative, not finite or longer than the piece.
    pub fn with_ramp(mut self, ramp: Time) -> Result<Self, RangeError> {
        // A relative 1e-9 forgives the rounding of times that were added up.
        let length = self.to - self.from;
        self.ramp = within("piece.ramp_s", ramp.s(), 0.0, length + 1e-9 * self.to, "s")?.min(length);
        Ok(self)
    }

    /// Sets the set-point of the orbit rate; without one it is the tool's.
    ///
    /// # Errors
    /// Outside 1 to 100 000 per minute.
    pub fn with_rate(mut self, rate: AngularRate) -> Result<Self, RangeError> {
        within("orbit_rate_opm", rate.opm(), 1.0, 100_000.0, "/min")?;
        self.rate = Some(rate.rad_s());
        Ok(self)
    }

    /// Start.
    #[must_use]
    pub const fn from(&self) -> Time {
        Time::from_s(self.from)
    }

    /// End.
    #[must_use]
    pub const fn to(&self) -> Time {
        Time::from_s(self.to)
    }

    /// Time taken from the conditions of the piece before.
    #[must_use]
    pub const fn ramp(&self) -> Time {
        Time::from_s(self.ramp)
    }

    /// How the pad stands.
    #[must_use]
    pub const fn footing(&self) -> &Footing {
        &self.footing
    }

    /// Own set-point of the orbit rate.
    #[must_use]
    pub fn rate(&self) -> Option<AngularRate> {
        self.rate.map(AngularRate::from_rad_s)
    }
}

/// Pieces in order, without gap or overlap: at most ten thousand, the first from zero and without a ramp.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    pieces: Vec<Piece>,
}

impl Schedule {
    /// A schedule; see the example of [`Piece`].
    ///
    /// # Errors
    /// No piece or more than ten thousand, a first piece that does not start at zero or has a ramp, a
    /// piece that does not start where the one before ends.
    pub fn new(pieces: Vec<Piece>) -> Result<Self, TransientError> {
        let count = pieces.len();
        if count == 0 || count > MOST_PIECES {
            return Err(RangeError::new("pieces", count as f64, "", format!("1 to {MOST_PIECES}")).into());
        }
        if pieces[0].ramp > 0.0 {
            let allowed = "0 for the first piece: nothing lies before it";
            return Err(RangeError::new("piece.ramp_s", pieces[0].ramp, "s", allowed).into());
        }
        let mut end = 0.0;
        for (piece, p) in pieces.iter().enumerate() {
            // A relative 1e-9 forgives the rounding of times that were added up.
            if (p.from - end).abs() > 1e-9 * p.to {
                return Err(TransientError::Gap { piece, starts_s: p.from, expected_s: end });
            }
            end = p.to;
        }
        Ok(Self { pieces })
    }

    /// The pieces.
    #[must_use]
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// Length of the whole.
    #[must_use]
    pub fn duration(&self) -> Time {
        Time::from_s(self.pieces.last().map_or(0.0, |p| p.to))
    }
}

/// Force, curvature and slopes at one moment; a force of zero is a pad off the panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Condition {
    pub(super) force_n: f64,
    /// Curvature tensor xx, xy, yy [1/m].
    pub(super) tensor: [f64; 3],
    /// Slopes of the plate along x and y.
    pub(super) slopes: (f64, f64),
}

fn mix(a: f64, b: f64, share: f64) -> f64 {
    a + (b - a) * share
}

impl Condition {
    pub(super) fn of(footing: &Footing) -> Option<Self> {
        let Footing::Pressed { patch, hold, force } = footing else { return None };
        let k = patch.tensor();
        Some(Self { force_n: force.n(), tensor: [k[(0, 0)], k[(0, 1)], k[(1, 1)]], slopes: hold.slopes() })
    }

    pub(super) const fn without_force(self) -> Self {
        Self { force_n: 0.0, ..self }
    }

    pub(super) const fn lifted() -> Self {
        Self { force_n: 0.0, tensor: [0.0; 3], slopes: (0.0, 0.0) }
    }

    pub(super) fn toward(&self, other: &Self, share: f64) -> Self {
        Self {
            force_n: mix(self.force_n, other.force_n, share),
            tensor: core::array::from_fn(|i| mix(self.tensor[i], other.tensor[i], share)),
            slopes: (mix(self.slopes.0, other.slopes.0, share), mix(self.slopes.1, other.slopes.1, share)),
        }
    }

    /// The patch with this curvature tensor.
    pub(super) fn patch(&self) -> Result<Patch, RangeError> {
        let [xx, xy, yy] = self.tensor;
        let (mean, half) = (0.5 * (xx + yy), (0.5 * (xx - yy)).hypot(xy));
        let size = mean.abs() + half;
        if size < f64::MIN_POSITIVE {
            return Ok(Patch::flat());
        }
        // Rounding of a round patch must not make it a quadric.
        if half <= 1e-12 * size {
            return Patch::sphere(Curvature::from_per_m(mean));
        }
        let axis = Angle::from_rad(0.5 * (2.0 * xy).atan2(xx - yy));
        Patch::quadric(Curvature::from_per_m(mean + half), Curvature::from_per_m(mean - half), axis)
    }

    pub(super) fn hold(&self) -> Result<Hold, RangeError> {
        let (x, y) = self.slopes;
        if x.abs().max(y.abs()) > 0.0 {
            Hold::tilted(Angle::from_rad(x.atan()), Angle::from_rad(y.atan()))
        } else {
            Ok(Hold::Flat)
        }
    }
}

/// A stretch of the schedule with one kind of condition: a ramp, or the rest of a piece after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    pub(super) piece: usize,
    pub(super) from_s: f64,
    pub(super) to_s: f64,
    pub(super) first: Condition,
    pub(super) last: Condition,
    /// Set-points at both ends [rad/s].
    pub(super) rates: (f64, f64),
}

impl Stretch {
    pub(super) fn share(&self, t: f64) -> f64 {
        ((t - self.from_s) / (self.to_s - self.from_s)).clamp(0.0, 1.0)
    }

    pub(super) fn condition(&self, share: f64) -> Condition {
        self.first.toward(&self.last, share)
    }

    pub(super) fn set_point(&self, share: f64) -> f64 {
        mix(self.rates.0, self.rates.1, share)
    }

    /// Slope of the set-point [rad/s²].
    pub(super) fn set_point_slope(&self) -> f64 {
        (self.rates.1 - self.rates.0) / (self.to_s - self.from_s)
    }

    pub(super) fn pressed(&self) -> bool {
        self.first.force_n.max(self.last.force_n) > 0.0
    }

    pub(super) fn steady(&self) -> bool {
        self.first == self.last
    }
}

/// Stretches of a schedule, with `rate` [rad/s] where a piece has no set-point of its own.
pub(super) fn stretches(schedule: &Schedule, rate: f64) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::with_capacity(2 * schedule.pieces.len());
    let mut before: Option<(Option<Condition>, f64)> = None;
    let mut start = 0.0;
    for (piece, p) in schedule.pieces.iter().enumerate() {
        let own = Condition::of(&p.footing);
        let set_point = p.rate.unwrap_or(rate);
        let (was, old_rate) = before.unwrap_or((own, set_point));
        let (first, last) = match (was, own) {
            (None, None) => (Condition::lifted(), Condition::lifted()),
            (Some(a), None) => (a, a.without_force()),
            (None, Some(b)) => (b.without_force(), b),
            (Some(a), Some(b)) => (a, b),
        };
        let after = own.unwrap_or_else(Condition::lifted);
        // Starts are taken from the end before, so that rounding leaves no gap.
        let middle = if p.ramp > 0.0 { (p.from + p.ramp).min(p.to) } else { start };
        let rates = (old_rate, set_point);
        if middle > start {
            out.push(Stretch { piece, from_s: start, to_s: middle, first, last, rates });
        }
        if p.to > middle + 1e-12 * p.to {
            let rates = (set_point, set_point);
            out.push(Stretch { piece, from_s: middle, to_s: p.to, first: after, last: after, rates });
        }
        start = out.last().map_or(start, |s| s.to_s);
        before = Some((own, set_point));
    }
    out
}
