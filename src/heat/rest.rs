//! How long to wait before the same work may be done again.

use super::diffuse::{Diffusion, Rows};
use super::panel::{PanelHeat, PanelHeatSettings, PanelJob, longest_step};
use crate::error::RangeError;
use crate::units::{Temperature, Time};

/// The rest before the same work is repeated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// Shortest rest found; zero where none is needed, `None` where no rest helps: the work alone passes
    /// the limit from ambient, or the panel does not cool enough.
    pub time: Option<Time>,
    /// What the work adds \[K\].
    pub rise_k: f64,
    /// What the panel may still hold above ambient when the work starts again \[K\].
    pub headroom_k: f64,
    /// What the hottest place held at the end of the first work \[K\].
    pub residual_k: f64,
}

/// Most steps that are looked ahead.
const MOST_STEPS: usize = 20_000;

/// Rest after `heat` until the same work may be repeated without passing `limit`.
///
/// ```text
/// rise of the work + hottest place left after the rest ≤ limit − ambient [K]
/// ```
///
/// The panel is linear, so the next peak is at most the rise of the work plus the hottest place that is
/// left. The rest ends when that sum has fallen to the limit: on the safe side, exact where the hot places
/// of both coincide and nothing cools during the work.
///
/// # Accuracy
/// Second-order diffusion steps that grow to a twentieth of the cooling time; between two of them the hottest
/// place is taken as exponential. At most 20 000 steps are looked ahead.
///
/// # Errors
/// A limit outside −60 to 400 °C or not above ambient.
///
/// # Example
/// ```
/// # use trochoid::equipment::Substrate;
/// # use trochoid::heat::*;
/// # use trochoid::{Length, Temperature};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// # let room = Temperature::from_c(20.0);
/// # let (plate, cooling) = (Plate::painted(Substrate::Plastic), Cooling::new(room, 10.0, 10.0)?);
/// # let spreads = [Spread::orbiting_disc(Length::from_mm(65.0), Length::from_mm(5.8))?];
/// # let sources = [HeatSource { at_m: (0.3, 0.3), time_s: 20.0, watts: 30.0, spread: 0 }];
/// # let size = (Length::from_m(0.6), Length::from_m(0.6));
/// # let job = PanelJob { plate: &plate, cooling: &cooling, size, origin_m: (0.0, 0.0), start: room, spreads: &spreads,
/// #     sources: &sources, overhang: Overhang::Lost, limit: None, probes_m: &[] };
/// let settings = PanelHeatSettings::default();
/// let heat = heat_panel(&job, &settings)?;
/// let limit = Temperature::from_c(20.0 + 1.5 * heat.rise_k);
/// let rest = rest_before_next(&job, &heat, limit, &settings)?;
/// // Half the rise is left to the panel before the next work; it takes a rest to get there.
/// assert!((rest.headroom_k - 0.5 * heat.rise_k).abs() < 1e-9 && rest.residual_k > rest.headroom_k);
/// assert!(rest.time.is_some_and(|t| t.s() > 10.0));
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own method; superposition in a linear body.
pub fn rest_before_next(
    job: &PanelJob<'_>,
    heat: &PanelHeat,
    limit: Temperature,
    settings: &PanelHeatSettings,
) -> Result<Rest, RangeError> {
    let ambient = job.cooling.ambient().k();
    let allowed = super::temperature_within("temperature limit", limit)? - ambient;
    if allowed <= 0.0 {
        let least = format!("above ambient, {} °C", job.cooling.ambient().c());
        return Err(RangeError::new("temperature limit", limit.c(), "°C", least));
    }
    let headroom = allowed - heat.rise_k;
    let excess: Vec<f64> = heat.final_mean_k.iter().map(|t| t - ambient).collect();
    let mut rows = Rows::of(heat.count, &excess);
    let loss = job.cooling.total() / job.plate.capacity();
    let slowest = job.plate.mode(1).0;
    let hottest = |rows: &Rows, t: f64| {
        rows.collect(false).into_iter().fold(f64::NEG_INFINITY, f64::max) + heat.final_drop_k * (-slowest * t).exp()
    };
    let mut last = (0.0, hottest(&rows, 0.0));
    let mut out = Rest { time: None, rise_k: heat.rise_k, headroom_k: headroom, residual_k: last.1 };
    if headroom <= 0.0 {
        return Ok(out);
    }
    if last.1 <= headroom {
        out.time = Some(Time::from_s(0.0));
        return Ok(out);
    }
    let mean = excess.iter().sum::<f64>() / excess.len() as f64;
    if loss <= 0.0 && mean >= headroom {
        return Ok(out);
    }
    let mut dt = longest_step(job, settings)?;
    // Steps grow no longer than a twentieth of the time in which the panel cools.
    let longest = if loss > 0.0 { (0.05 / loss).max(dt) } else { 64.0 * dt };
    let mut step = Diffusion::new(heat.count, job.plate.lateral_diffusivity() * dt, heat.cell_m);
    for _ in 0..MOST_STEPS {
        step.step(&mut rows, (-loss * dt).exp());
        let now = (last.0 + dt, hottest(&rows, last.0 + dt));
        if now.1 <= headroom {
            // Exponential between the two: straight in the logarithm.
            let share = if now.1 > 0.0 { (last.1 / headroom).ln() / (last.1 / now.1).ln() } else { 1.0 };
            out.time = Some(Time::from_s(last.0 + share * dt));
            return Ok(out);
        }
        last = now;
        if dt < longest {
            dt = (1.25 * dt).min(longest);
            step = Diffusion::new(heat.count, job.plate.lateral_diffusivity() * dt, heat.cell_m);
        }
    }
    Ok(out)
}
