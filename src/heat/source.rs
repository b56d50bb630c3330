//! Heat that enters the panel: a footprint's spread, and the places and times at which it works.
//!
//! The same list feeds the panel from a flat path or from the stops on a real surface.

use crate::equipment::within;
use crate::error::RangeError;
use crate::motion::ToolPath;
use crate::removal::{Footprint, WorkedStop};
use crate::units::{Length, Power};
use core::f64::consts::PI;

/// How the heat of a footprint is spread around the tool axis.
///
/// # Example
/// ```
/// use trochoid::{Length, heat::Spread};
/// // A pad of 65 mm radius that orbits by 5.8 mm reaches 70.8 mm from the tool axis.
/// let disc = Spread::orbiting_disc(Length::from_mm(65.0), Length::from_mm(5.8))?;
/// assert!((disc.reach().mm() - 70.8).abs() < 1e-9);
/// // The scale of a flux does not matter, a negative one is refused.
/// let reach = Length::from_mm(50.0);
/// assert_eq!(Spread::radial(reach, |_| 1.0)?, Spread::radial(reach, |_| 2.0)?);
/// assert!(Spread::radial(reach, |rho| 0.04 - rho).is_err());
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    reach_m: f64,
    /// Steps of the table per ρ² [1/m²].
    per_square: f64,
    /// Shares of the power per area at equally spaced ρ² from 0 to reach² [1/m²].
    by_square: Vec<f64>,
}

/// Steps of the table over ρ².
const STEPS: usize = 2048;

impl Spread {
    /// A spread from the relative flux at a distance from the tool axis \[m\], kept at 2049 points evenly
    /// spaced in the square of the distance; see the example of [`Spread`].
    ///
    /// # Errors
    /// Reach outside 1 to 500 mm; flux that is negative, not finite, or zero everywhere.
    pub fn radial(reach: Length, flux: impl Fn(f64) -> f64) -> Result<Self, RangeError> {
        within("footprint radius", reach.mm(), 1.0, 500.0, "mm")?;
        let reach_m = reach.m();
        let mut by_square: Vec<f64> = (0..=STEPS).map(|k| flux(reach_m * (k as f64 / STEPS as f64).sqrt())).collect();
        let worst = by_square.iter().copied().find(|f| !(f.is_finite() && *f >= 0.0));
        // ∫ 2πρ f dρ = π ∫ f d(ρ²), by trapezia.
        let sum: f64 = by_square.windows(2).map(|w| 0.5 * (w[0] + w[1])).sum::<f64>() / STEPS as f64;
        let whole = PI * reach_m * reach_m * sum;
        if worst.is_some() || !(whole > 0.0 && whole.is_finite()) {
            return Err(RangeError::new(
                "flux of a footprint",
                worst.unwrap_or(whole),
                "",
                "finite, not negative, not zero everywhere",
            ));
        }
        for f in &mut by_square {
            *f /= whole;
        }
        Ok(Self { reach_m, per_square: STEPS as f64 / (reach_m * reach_m), by_square })
    }

    /// Even flux under a disc that orbits: a disc of `radius`, blurred by the share of the orbit during
    /// which a point is covered; see the example of [`Spread`].
    ///
    /// ```text
    /// 1 for ρ ≤ R − e,   (1/π) acos((ρ² + e² − R²)/(2ρe)) to R + e
    /// ```
    ///
    /// # Errors
    /// Orbit radius negative or not below the radius; as [`Spread::radial`].
    pub fn orbiting_disc(radius: Length, orbit: Length) -> Result<Self, RangeError> {
        let (r, e) = (radius.m(), orbit.m());
        within("orbit radius", orbit.mm(), 0.0, 0.999 * radius.mm(), "mm")?;
        Self::radial(Length::from_m(r + e), |rho| {
            if rho <= r - e {
                1.0
            } else {
                ((rho * rho + e * e - r * r) / (2.0 * rho * e)).clamp(-1.0, 1.0).acos() / PI
            }
        })
    }

    /// The friction work of a footprint, averaged over the directions around the tool axis: exact for a
    /// round footprint. A long one (cylinder, tilt) is made round, which lowers its local peak; the
    /// heat is kept. For the parts see the example of [`Spread`].
    ///
    /// # Errors
    /// As [`Spread::radial`]; a footprint that does no work.
    pub fn of_footprint(footprint: &Footprint) -> Result<Self, RangeError> {
        const DIRECTIONS: i32 = 48;
        Self::radial(Length::from_m(footprint.reach()), |rho| {
            let inside = rho.min(footprint.reach() * (1.0 - 1e-9));
            let mean = |i: i32| {
                let turn = 2.0 * PI * (f64::from(i) + 0.5) / f64::from(DIRECTIONS);
                footprint.at(inside * turn.cos(), inside * turn.sin()).work
            };
            if footprint.is_round() { footprint.at(inside, 0.0).work } else { (0..DIRECTIONS).map(mean).sum::<f64>() }
        })
    }

    /// Distance beyond which nothing enters.
    #[must_use]
    pub const fn reach(&self) -> Length {
        Length::from_m(self.reach_m)
    }

    /// Share of the power per area at a distance ρ, from its square \[m²\]; 1/m².
    pub(super) fn at_square(&self, square: f64) -> f64 {
        let place = square * self.per_square;
        if place >= STEPS as f64 {
            return 0.0;
        }
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place < STEPS
        let i = place as usize;
        let (a, b) = (self.by_square[i], self.by_square[i + 1]);
        a + (b - a) * (place - i as f64)
    }
}

/// A short stretch of work: heat enters around `at_m` for `time_s`. Without watts it is a rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatSource {
    /// Tool axis in the plan of the panel \[m\].
    pub at_m: (f64, f64),
    /// Duration \[s\].
    pub time_s: f64,
    /// Power into the panel \[W\].
    pub watts: f64,
    /// Which of the job's spreads, from 0.
    pub spread: usize,
}

impl HeatSource {
    /// A time without work.
    #[must_use]
    pub const fn rest(time_s: f64) -> Self {
        Self { at_m: (0.0, 0.0), time_s, watts: 0.0, spread: 0 }
    }

    pub(super) fn check(&self, spreads: usize) -> Result<(), RangeError> {
        within("time of a heat source", self.time_s, 0.0, 1e6, "s")?;
        within("power into the panel", self.watts, 0.0, 1e5, "W")?;
        within("place of a heat source, x", self.at_m.0, -1e3, 1e3, "m")?;
        within("place of a heat source, y", self.at_m.1, -1e3, 1e3, "m")?;
        if self.watts > 0.0 && self.spread >= spreads {
            return Err(RangeError::new("spread of a heat source", self.spread as f64, "", format!("below {spreads}")));
        }
        Ok(())
    }
}

/// What happens to the heat of a footprint's part that lies past the panel's edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Overhang {
    /// The power given is that of the whole footprint as if the panel went on: the part past the edge is
    /// lost. For the footprint of an endless panel.
    #[default]
    Lost,
    /// The power given is what enters the panel: the part on it takes all. For contact solved with free
    /// edges.
    Pressed,
}

/// Heat sources along a tool path, one for each `step` or less of it.
///
/// # Assumptions and valid range
/// Each source stands in the middle of its step, for the time that the feed there gives it; the power is the same
/// all along. A step of a tenth of the footprint's radius or less keeps the trail smooth.
///
/// # Errors
/// A step outside 0.1 to 100 mm, power outside 0 to 100 kW, more than 10 million sources.
///
/// # Example
/// ```
/// use trochoid::motion::{Leg, ToolPath};
/// use trochoid::{Length, Power, heat::sources_along};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // 1 m at 50 mm/s in steps of 10 mm: 100 sources of 0.2 s, 30 W over 20 s are 600 J.
/// let path = ToolPath::from_legs(vec![Leg::steady((0.0, 0.0), (1.0, 0.0), 0.05, 0)])?;
/// let sources = sources_along(&path, Power::from_w(30.0), Length::from_mm(10.0), 0)?;
/// let joules: f64 = sources.iter().map(|s| s.watts * s.time_s).sum();
/// assert!(sources.len().abs_diff(100) <= 1 && (joules - 600.0).abs() < 1e-9);
/// // The first stands in the middle of its step.
/// assert!((sources[0].at_m.0 - 0.5 / sources.len() as f64).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
pub fn sources_along(
    path: &ToolPath,
    into_panel: Power,
    step: Length,
    spread: usize,
) -> Result<Vec<HeatSource>, RangeError> {
    within("step along the path", step.mm(), 0.1, 100.0, "mm")?;
    within("power into the panel", into_panel.w(), 0.0, 1e5, "W")?;
    within("number of heat sources", path.length() / step.m() + path.legs().len() as f64, 0.0, 1e7, "")?;
    let mut out = Vec::new();
    for leg in path.legs() {
        let steps = (leg.length() / step.m()).ceil().max(1.0);
        let mut k = 0.0;
        while k < steps {
            let share = (k + 0.5) / steps;
            let slowness = leg.slowness.0 + share * (leg.slowness.1 - leg.slowness.0);
            out.push(HeatSource {
                at_m: leg.at(share),
                time_s: slowness * leg.length() / steps,
                watts: into_panel.w(),
                spread,
            });
            k += 1.0;
        }
    }
    Ok(out)
}

/// Heat sources of the stops on a real surface: friction times the stop's own sum of p|v|, times the
/// share that goes into the panel. A stop with nothing under the pad is a rest.
///
/// ```text
/// watts = μ s ⟨∫ p|v| dA⟩      μ friction [1], s share into the panel [1]
/// ```
///
/// # Errors
/// Friction outside 0.001 to 5, share outside 0 to 1.
///
/// # Example
/// ```
/// use trochoid::removal::{Stop, WorkedStop};
/// use trochoid::spin::{FrictionSums, PlaceState};
/// // 100 W of p|v| at a friction of 0.35, nine tenths of it into the panel: 31.5 W. Then the pad is off it.
/// let stop = Stop { at: (0.1, 0.2), time_s: 0.5, force_share: 1.0, pass: 0 };
/// let state = PlaceState { spin: 10.0, sticks: false, heave_m: 1e-3, slopes: (0.0, 0.0), peak_pressure_pa: 3e3,
///     contact_share: 1.0, overhang_share: 0.0, compression_share: 0.1,
///     sums: FrictionSums { speed_w: 100.0, ..FrictionSums::default() } };
/// let stops = [WorkedStop { stop, state: Some(state) }, WorkedStop { stop, state: None }];
/// let sources = trochoid::heat::sources_of_stops(&stops, 0.35, 0.9, 0)?;
/// assert!((sources[0].watts - 31.5).abs() < 1e-12 && sources[1].watts <= 0.0);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn sources_of_stops(
    stops: &[WorkedStop],
    friction: f64,
    share_into_panel: f64,
    spread: usize,
) -> Result<Vec<HeatSource>, RangeError> {
    within("friction", friction, 1e-3, 5.0, "")?;
    within("share of the heat into the panel", share_into_panel, 0.0, 1.0, "")?;
    Ok(stops
        .iter()
        .map(|w| HeatSource {
            at_m: w.stop.at,
            time_s: w.stop.time_s,
            watts: w.state.map_or(0.0, |s| friction * s.sums.speed_w * share_into_panel),
            spread,
        })
        .collect())
}

/// A footprint on the cells that it touches: shares of the power, row by row.
#[derive(Debug, Default)]
pub(super) struct Stamp {
    pub(super) columns: (usize, usize),
    pub(super) rows: (usize, usize),
    pub(super) shares: Vec<f64>,
    /// What of the power lands on the panel.
    pub(super) landed: f64,
}

impl Stamp {
    /// Puts `spread` around a place given in metres from the lower corner of the cells.
    ///
    /// Cells take the flux at their centre; the shares are scaled so that, over a panel without end,
    /// they add up to one.
    pub(super) fn set(
        &mut self,
        spread: &Spread,
        at: (f64, f64),
        count: (usize, usize),
        cell: (f64, f64),
        overhang: Overhang,
    ) {
        let reach = spread.reach_m;
        let span = |x: f64, h: f64| (((x - reach) / h - 0.5).ceil(), ((x + reach) / h - 0.5).floor());
        let ((x0, x1), (y0, y1)) = (span(at.0, cell.0), span(at.1, cell.1));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the panel
        let inside = |low: f64, high: f64, n: usize| {
            (low.clamp(0.0, n as f64) as usize, (high + 1.0).clamp(0.0, n as f64) as usize)
        };
        self.columns = inside(x0, x1, count.0);
        self.rows = inside(y0, y1, count.1);
        self.shares.clear();
        let square = |k: f64, a: f64, h: f64| ((k + 0.5) * h - a).powi(2);
        let across: Vec<f64> = (self.columns.0..self.columns.1).map(|i| square(i as f64, at.0, cell.0)).collect();
        let mut on = 0.0;
        for j in self.rows.0..self.rows.1 {
            let dy = square(j as f64, at.1, cell.1);
            for dx in &across {
                let f = spread.at_square(dy + dx);
                on += f;
                self.shares.push(f);
            }
        }
        // Only a footprint that crosses the edge has a part past it.
        let crosses = x0 < 0.0 || y0 < 0.0 || x1 >= count.0 as f64 || y1 >= count.1 as f64;
        let mut all = on;
        if crosses && overhang == Overhang::Lost {
            all = 0.0;
            let mut y = y0;
            while y <= y1 {
                let dy = square(y, at.1, cell.1);
                let mut x = x0;
                while x <= x1 {
                    all += spread.at_square(dy + square(x, at.0, cell.0));
                    x += 1.0;
                }
                y += 1.0;
            }
        }
        let whole = match overhang {
            Overhang::Lost => all,
            Overhang::Pressed => on,
        };
        let scale = if on > 0.0 && whole > 0.0 { 1.0 / whole } else { 0.0 };
        for f in &mut self.shares {
            *f *= scale;
        }
        self.landed = on * scale;
    }
}
