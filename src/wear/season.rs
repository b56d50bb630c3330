//! What pads cost over a season: buying more and rotating them against wearing out a few.
//!
//! Not accounting: no interest, no stock at the end. Money in any currency. Plain arithmetic; no source
//! needed.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::Time;

/// A season's work and prices, money in any one currency.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Season {
    /// Vehicles a week, 1 to 1000. `season.vehicles_per_week`.
    pub vehicles_per_week: u32,
    /// Weeks, 1 to 520. `season.weeks`.
    pub weeks: u32,
    /// Price of one pad \[money\], 0 to 1e6. `season.pad_price`.
    pub pad_price: f64,
    /// Cost of one wash beyond the time it takes \[money\], 0 to 1e6. `season.wash_cost`.
    pub wash_cost: f64,
    /// Cost of an hour of work \[money/h\], 0 to 1e6. `season.hourly_rate`.
    pub hourly_rate: f64,
}

impl Season {
    fn check(&self) -> Result<(), RangeError> {
        within("season.vehicles_per_week", f64::from(self.vehicles_per_week), 1.0, 1000.0, "")?;
        within("season.weeks", f64::from(self.weeks), 1.0, 520.0, "")?;
        within("season.pad_price", self.pad_price, 0.0, 1e6, "")?;
        within("season.wash_cost", self.wash_cost, 0.0, 1e6, "")?;
        within("season.hourly_rate", self.hourly_rate, 0.0, 1e6, "")?;
        Ok(())
    }

    /// Vehicles of the season.
    #[must_use]
    pub const fn vehicles(&self) -> u32 {
        self.vehicles_per_week.saturating_mul(self.weeks)
    }
}

/// One way of using pads of a kind, as a rotation gives it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadStrategy {
    /// Pads on hand for one vehicle, 1 to 1000.
    pub pads: u32,
    /// Pad lives used by one vehicle \[1\], 0 to 1000; 0.25 wears a pad out in four.
    pub lives_per_vehicle: f64,
    /// Washes for one vehicle \[1\], 0 to 10 000.
    pub washes_per_vehicle: f64,
    /// Hands-on time for one vehicle: priming, cleaning, washing; 0 to 1000 h.
    pub handling_per_vehicle: Time,
    /// Time from the end of a vehicle until its pads can be used again, 0 to 8 weeks.
    pub turnaround: Time,
}

impl PadStrategy {
    fn check(&self) -> Result<(), RangeError> {
        within("pads on hand", f64::from(self.pads), 1.0, 1000.0, "")?;
        within("pad lives for one vehicle", self.lives_per_vehicle, 0.0, 1000.0, "")?;
        within("washes for one vehicle", self.washes_per_vehicle, 0.0, 1e4, "")?;
        within("handling time for one vehicle", self.handling_per_vehicle.s(), 0.0, 3.6e6, "s")?;
        within("turnaround of the pads", self.turnaround.s(), 0.0, 4_838_400.0, "s")?;
        Ok(())
    }
}

/// Cost of a season: pads bought, washes, hands-on time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonCost {
    /// Pads bought \[1\]: the sets that must be on hand, or the lives used rounded up, whichever is more.
    pub pads: f64,
    /// Cost of the pads \[money\].
    pub pad_cost: f64,
    /// Cost of the washes \[money\].
    pub wash_cost: f64,
    /// Cost of the hands-on time \[money\].
    pub time_cost: f64,
    /// All of it \[money\].
    pub total: f64,
    /// All of it, for each vehicle \[money\].
    pub per_vehicle: f64,
    /// Pads for each vehicle \[1\].
    pub pads_per_vehicle: f64,
}

/// Pads bought for so many vehicles.
fn pads_bought(season: &Season, strategy: &PadStrategy, vehicles: u32) -> f64 {
    // Sets in turn: one at work, and one more for every vehicle that comes before the first is back.
    let interval = Time::from_min(7.0 * 24.0 * 60.0).s() / f64::from(season.vehicles_per_week);
    let waiting = (strategy.turnaround.s() / interval).floor().min(f64::from(vehicles - 1));
    let on_hand = f64::from(strategy.pads) * (1.0 + waiting);
    let worn = f64::from(vehicles) * strategy.lives_per_vehicle;
    // A whole number of lives may come out a rounding above itself.
    on_hand.max((worn * (1.0 - 4.0 * f64::EPSILON)).ceil())
}

fn running_cost(season: &Season, strategy: &PadStrategy) -> (f64, f64) {
    let hours = strategy.handling_per_vehicle.s() / Time::from_min(60.0).s();
    (season.wash_cost * strategy.washes_per_vehicle, season.hourly_rate * hours)
}

fn cost_of(season: &Season, strategy: &PadStrategy, vehicles: u32) -> SeasonCost {
    let n = f64::from(vehicles);
    let pads = pads_bought(season, strategy, vehicles);
    let (wash, time) = running_cost(season, strategy);
    let (pad_cost, wash_cost, time_cost) = (season.pad_price * pads, n * wash, n * time);
    let total = pad_cost + wash_cost + time_cost;
    SeasonCost { pads, pad_cost, wash_cost, time_cost, total, per_vehicle: total / n, pads_per_vehicle: pads / n }
}

/// Cost of a season with one way of using pads.
///
/// ```text
/// pads  = max(n (1 + ⌊turnaround/interval⌋), ⌈V L⌉)     V vehicles, L lives for one vehicle
/// total = price · pads + V (washes · wash cost + hours · rate)
/// ```
///
/// # Assumptions and valid range
/// Vehicles evenly spaced over the week; pads bought at the start or as they wear out, whichever asks for more;
/// no interest, nothing left at the end.
///
/// # Errors
/// A number outside the range that stands with its field.
///
/// # Example
/// ```
/// use trochoid::units::Time;
/// use trochoid::wear::{PadStrategy, Season, season_cost};
/// let season =
///     Season { vehicles_per_week: 2, weeks: 10, pad_price: 12.0, wash_cost: 0.5, hourly_rate: 30.0 };
/// let rotate = PadStrategy {
///     pads: 5,
///     lives_per_vehicle: 0.2,
///     washes_per_vehicle: 5.0,
///     handling_per_vehicle: Time::from_min(20.0),
///     turnaround: Time::from_min(480.0),
/// };
/// // 20 vehicles use 4 lives, so the 5 on hand do: 60 + 20 (2.50 + 10) = 310.
/// assert!((season_cost(&season, &rotate)?.total - 310.0).abs() < 1e-9);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn season_cost(season: &Season, strategy: &PadStrategy) -> Result<SeasonCost, RangeError> {
    season.check()?;
    strategy.check()?;
    Ok(cost_of(season, strategy, season.vehicles()))
}

/// Two ways of using pads over a season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeasonComparison {
    /// Cost of more pads in rotation.
    pub rotating: SeasonCost,
    /// Cost of few pads, worn out.
    pub wearing_out: SeasonCost,
    /// Price of a pad at which both cost the same over the season \[money\], where there is one above 0. The way
    /// that buys fewer pads is the cheaper one above it.
    pub even_price: Option<f64>,
    /// Number of vehicles from which rotating is cheaper for every number up to the end of the season;
    /// `None` where it is not cheaper at the end.
    pub even_vehicles: Option<u32>,
}

/// Compares more pads in rotation with few pads worn out, each as [`season_cost`].
///
/// ```text
/// even price = (running cost of wearing out − running cost of rotating)/(pads of rotating − pads of wearing out)
/// ```
///
/// # Errors
/// A number outside the range that stands with its field.
///
/// # Example
/// ```
/// use trochoid::units::Time;
/// use trochoid::wear::{PadStrategy, Season, compare_season};
/// let season = Season { vehicles_per_week: 1, weeks: 20, pad_price: 12.0, wash_cost: 0.0, hourly_rate: 30.0 };
/// let rotate = PadStrategy { pads: 5, lives_per_vehicle: 0.2, washes_per_vehicle: 0.0,
///     handling_per_vehicle: Time::from_min(20.0), turnaround: Time::from_min(480.0) };
/// let wear_out = PadStrategy { pads: 1, lives_per_vehicle: 1.0, handling_per_vehicle: Time::from_min(16.0), ..rotate };
/// // 5 pads and 20 × 10 for the time against 20 pads and 20 × 8: 260 against 400.
/// let found = compare_season(&season, &rotate, &wear_out)?;
/// assert!((found.rotating.total - 260.0).abs() < 1e-9 && (found.wearing_out.total - 400.0).abs() < 1e-9);
/// // 40 more for the time, 15 pads fewer: even at 40/15 a pad. n vehicles, 60 + 10 n against 20 n: from the seventh on.
/// assert!(found.even_price.is_some_and(|p| (p - 40.0 / 15.0).abs() < 1e-9));
/// assert_eq!(found.even_vehicles, Some(7));
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn compare_season(
    season: &Season,
    rotating: &PadStrategy,
    wearing_out: &PadStrategy,
) -> Result<SeasonComparison, RangeError> {
    let a = season_cost(season, rotating)?;
    let b = season_cost(season, wearing_out)?;
    // Pads bought do not depend on the price, so both totals are straight lines in it.
    let price = ((b.wash_cost + b.time_cost) - (a.wash_cost + a.time_cost)) / (a.pads - b.pads);
    let cheaper = |n: u32| cost_of(season, rotating, n).total < cost_of(season, wearing_out, n).total;
    let even_vehicles = (1..=season.vehicles()).rev().take_while(|n| cheaper(*n)).last();
    Ok(SeasonComparison {
        rotating: a,
        wearing_out: b,
        even_price: (price.is_finite() && price > 0.0).then_some(price),
        even_vehicles,
    })
}
