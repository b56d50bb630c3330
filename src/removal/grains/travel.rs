//! Where the tool axis is at a given time: standing, or along the legs of a path.

use crate::error::RangeError;
use crate::motion::{Leg, ToolPath};

/// What the tool axis does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Travel<'a> {
    /// It stays at one place.
    Standing {
        /// Place on the panel, m.
        at: (f64, f64),
        /// Time, s.
        seconds: f64,
    },
    /// It runs along a path at the path's own feed.
    Along(&'a ToolPath),
}

/// Place [m] and velocity [m/s] of the tool axis over time.
pub(super) struct Clock<'a> {
    travel: Travel<'a>,
    /// Time at the end of each leg, s.
    ends: Vec<f64>,
    time: f64,
}

impl<'a> Clock<'a> {
    pub(super) fn new(travel: Travel<'a>) -> Result<Self, RangeError> {
        let mut ends = Vec::new();
        let time = match travel {
            Travel::Standing { at, seconds } => {
                for v in [at.0, at.1] {
                    crate::equipment::within("place of the tool", v, -1e3, 1e3, "m")?;
                }
                seconds
            }
            Travel::Along(path) => {
                let mut sum = 0.0;
                for leg in path.legs() {
                    sum += leg.time();
                    ends.push(sum);
                }
                sum
            }
        };
        if !(time > 0.0 && time <= 1e6) {
            return Err(RangeError::new("time of the work", time, "s", "above 0, at most 1e6 s"));
        }
        Ok(Self { travel, ends, time })
    }

    pub(super) const fn time(&self) -> f64 {
        self.time
    }

    /// Corners of what the tool axis passes over: every end of a leg, or the one place.
    pub(super) fn corners(&self) -> Vec<(f64, f64)> {
        match self.travel {
            Travel::Standing { at, .. } => vec![at],
            Travel::Along(path) => path.legs().iter().flat_map(|l| [l.from, l.to]).collect(),
        }
    }

    /// Fastest feed, m/s.
    pub(super) fn fastest(&self) -> f64 {
        match self.travel {
            Travel::Standing { .. } => 0.0,
            Travel::Along(path) => path.legs().iter().map(|l| 1.0 / l.slowness.0.min(l.slowness.1)).fold(0.0, f64::max),
        }
    }

    /// Place and velocity at time `t`.
    pub(super) fn at(&self, t: f64) -> ((f64, f64), (f64, f64)) {
        match self.travel {
            Travel::Standing { at, .. } => (at, (0.0, 0.0)),
            Travel::Along(path) => {
                let last = path.legs().len() - 1;
                let k = self.ends.partition_point(|end| *end <= t).min(last);
                let leg = &path.legs()[k];
                on_leg(leg, t - (self.ends[k] - leg.time()))
            }
        }
    }
}

/// Place and velocity `t` after the start of a leg.
///
/// With the slowness q linear along the leg, t(s) = q0 s + (q1 − q0) s²/(2L); solved for s in the form
/// that keeps its digits when q1 = q0.
fn on_leg(leg: &Leg, t: f64) -> ((f64, f64), (f64, f64)) {
    let length = leg.length();
    if length <= 0.0 {
        return (leg.from, (0.0, 0.0));
    }
    let (q0, q1) = leg.slowness;
    let root = (q0 * q0 + 2.0 * (q1 - q0) * t / length).max(0.0).sqrt();
    let share = (2.0 * t / (q0 + root) / length).clamp(0.0, 1.0);
    let feed = 1.0 / (q0 + share * (q1 - q0));
    let direction = ((leg.to.0 - leg.from.0) / length, (leg.to.1 - leg.from.1) / length);
    (leg.at(share), (feed * direction.0, feed * direction.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_runs_the_path_at_its_feed() {
        let legs = vec![
            Leg { from: (0.0, 0.0), to: (0.3, 0.4), slowness: (50.0, 20.0), pass: 0 },
            Leg::steady((0.3, 0.4), (0.3, 0.1), 0.04, 0),
        ];
        let path = ToolPath::from_legs(legs).unwrap();
        let clock = Clock::new(Travel::Along(&path)).unwrap();
        assert!((clock.time() - (0.5 * 35.0 + 7.5)).abs() < 1e-12);
        // The velocity summed over time is the place; midpoint steps of 1/20000 of the time.
        let (n, mut sum) = (20_000, (0.0, 0.0));
        for i in 0..n {
            let dt = clock.time() / f64::from(n);
            let (at, v) = clock.at((f64::from(i) + 0.5) * dt);
            let next = (sum.0 + 0.5 * v.0 * dt, sum.1 + 0.5 * v.1 * dt);
            assert!((at.0 - next.0).hypot(at.1 - next.1) < 1e-5, "{i}: {at:?} {next:?}");
            sum = (sum.0 + v.0 * dt, sum.1 + v.1 * dt);
        }
        assert!((sum.0 - 0.3).hypot(sum.1 - 0.1) < 1e-5);
    }

    #[test]
    fn no_time_is_refused() {
        for seconds in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(Clock::new(Travel::Standing { at: (0.0, 0.0), seconds }).is_err(), "{seconds}");
        }
    }
}
