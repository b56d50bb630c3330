//! The slow obvious methods beside the fast ones: explicit steps on every cell.
//!
//! For tests and for checks of one case, not for work: their cost grows with the inverse fourth power of
//! the cell.

use super::panel::{PanelJob, cells};
use super::plate::Plate;
use super::source::Stamp;
use crate::error::RangeError;

/// Mean temperature of the plate at the end, row by row, and the largest met \[K\]: all terms together in
/// explicit steps of a fifth of what is stable or less.
///
/// ```text
/// C ∂T/∂t = K ∇²T − (h_front + h_back)(T − T_a) + q      five-point star, insulated edges
/// ```
///
/// # Accuracy
/// First order in time, second in the cell. The drop through the plate is not in it.
///
/// # Errors
/// As [`super::heat_panel`] for cell and sources; more than 1e12 cell steps.
///
/// # Example
/// ```
/// use trochoid::equipment::Substrate;
/// use trochoid::heat::{reference::heat_panel_explicit, *};
/// use trochoid::{Length, Temperature};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let room = Temperature::from_c(20.0);
/// let (plate, cooling) = (Plate::painted(Substrate::Steel), Cooling::new(room, 0.0, 0.0)?);
/// let spreads = [Spread::orbiting_disc(Length::from_mm(65.0), Length::from_mm(5.8))?];
/// let sources = [HeatSource { at_m: (0.15, 0.15), time_s: 10.0, watts: 30.0, spread: 0 }];
/// let size = (Length::from_m(0.3), Length::from_m(0.3));
/// let job = PanelJob { plate: &plate, cooling: &cooling, size, origin_m: (0.0, 0.0), start: room, spreads: &spreads,
///     sources: &sources, overhang: Overhang::Lost, limit: None, probes_m: &[] };
/// let (end, _) = heat_panel_explicit(&job, 0.015)?;
/// // Nothing is lost: 300 J in 0.09 m² of 2613.4 J/(m² K) are 1.2755 K on average.
/// let mean = end.iter().sum::<f64>() / end.len() as f64 - room.k();
/// assert!((mean - 1.2755).abs() < 1e-4);
/// # Ok(())
/// # }
/// ```
pub fn heat_panel_explicit(job: &PanelJob<'_>, cell_m: f64) -> Result<(Vec<f64>, Vec<f64>), RangeError> {
    let ((nx, ny), h) = cells(job.size, cell_m)?;
    let alpha = job.plate.lateral_diffusivity();
    let (capacity, loss) = (job.plate.capacity(), job.cooling.total());
    let stable = 0.5 / (alpha / (h.0 * h.0) + alpha / (h.1 * h.1) + 0.5 * loss / capacity);
    let whole: f64 = job.sources.iter().map(|s| s.time_s).sum();
    crate::equipment::within("cell steps of the reference", whole / stable * 5.0 * (nx * ny) as f64, 0.0, 1e12, "")?;
    let ambient = job.cooling.ambient().k();
    let mut t = vec![job.start.k() - ambient; nx * ny];
    let (mut next, mut largest) = (t.clone(), t.clone());
    let mut stamp = Stamp::default();
    for s in job.sources.iter().filter(|s| s.time_s > 0.0) {
        s.check(job.spreads.len())?;
        stamp.shares.clear();
        (stamp.rows, stamp.columns) = ((0, 0), (0, 0));
        if s.watts > 0.0 {
            let at = (s.at_m.0 - job.origin_m.0, s.at_m.1 - job.origin_m.1);
            stamp.set(&job.spreads[s.spread], at, (nx, ny), h, job.overhang);
        }
        let n = (s.time_s / (0.2 * stable)).ceil().max(1.0);
        let dt = s.time_s / n;
        let mut k = 0.0;
        while k < n {
            for j in 0..ny {
                for i in 0..nx {
                    let c = j * nx + i;
                    let here = t[c];
                    let left = if i > 0 { t[c - 1] } else { here };
                    let right = if i + 1 < nx { t[c + 1] } else { here };
                    let below = if j > 0 { t[c - nx] } else { here };
                    let above = if j + 1 < ny { t[c + nx] } else { here };
                    let spread = alpha
                        * ((left + right - 2.0 * here) / (h.0 * h.0) + (below + above - 2.0 * here) / (h.1 * h.1));
                    let inside = j >= stamp.rows.0 && j < stamp.rows.1 && i >= stamp.columns.0 && i < stamp.columns.1;
                    let flux = if inside {
                        let width = stamp.columns.1 - stamp.columns.0;
                        s.watts * stamp.shares[(j - stamp.rows.0) * width + i - stamp.columns.0] / (h.0 * h.1)
                    } else {
                        0.0
                    };
                    next[c] = here + dt * (spread + (flux - loss * here) / capacity);
                    largest[c] = largest[c].max(next[c]);
                }
            }
            core::mem::swap(&mut t, &mut next);
            k += 1.0;
        }
    }
    let up = |v: Vec<f64>| v.into_iter().map(|x| x + ambient).collect();
    Ok((up(t), up(largest)))
}

/// Surface and mean excess \[K\] of the two-layer plate at the given times \[s\], rising, under a flux
/// [W/m²] that depends on time: one dimension through the thickness, explicit, insulated behind, no losses.
///
/// `layers` cells in the substrate and a quarter as many in the film, at least 4 each.
///
/// # Accuracy
/// First order in time, second in the cell; for checks, at a cost of `layers` cubed.
///
/// # Example
/// ```
/// use trochoid::{Length, equipment::Substrate, heat::{Plate, reference::through_plate}};
/// // 3 mm of plastic of 5130 J/(m² K) under 1 kW/m²: after 100 s 19.493 K on average, and at the surface the
/// // settled drop q d/(3k) = 5 K more.
/// let wall = Plate::painted(Substrate::Plastic).with_film(Length::from_um(0.0))?;
/// let (surface, mean) = through_plate(&wall, |_| 1e3, &[100.0], 40)[0];
/// assert!((mean - 19.493).abs() < 1e-3 && (surface - mean - 5.0).abs() < 0.01);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[must_use]
pub fn through_plate(plate: &Plate, flux: impl Fn(f64) -> f64, times: &[f64], layers: usize) -> Vec<(f64, f64)> {
    let mut cells: Vec<(f64, f64, f64)> = Vec::new();
    let parts = [(plate.film(), plate.film_build().m(), layers / 4), (plate.base(), plate.thickness().m(), layers)];
    for (m, d, n) in parts {
        let n = n.max(4);
        if d > 0.0 {
            cells.extend((0..n).map(|_| (d / n as f64, m.through(), m.volumetric())));
        }
    }
    // Half a cell to the middle on each side, in series.
    let link: Vec<f64> = cells.windows(2).map(|w| 2.0 / (w[0].0 / w[0].1 + w[1].0 / w[1].1)).collect();
    let stable = cells.iter().map(|(d, k, c)| 0.5 * c * d * d / k).fold(f64::INFINITY, f64::min);
    let whole: f64 = cells.iter().map(|(d, _, c)| d * c).sum();
    let mut t = vec![0.0; cells.len()];
    let mut out = Vec::with_capacity(times.len());
    let mut now = 0.0;
    for end in times {
        let steps = ((end - now) / (0.4 * stable)).ceil().max(1.0);
        let dt = (end - now) / steps;
        let mut k = 0.0;
        while k < steps {
            let q = flux(now + 0.5 * dt);
            let flow: Vec<f64> = link.iter().zip(t.windows(2)).map(|(g, w)| g * (w[0] - w[1])).collect();
            for (i, (x, (d, _, c))) in t.iter_mut().zip(&cells).enumerate() {
                let enters = if i == 0 { q } else { flow[i - 1] };
                let leaves = flow.get(i).copied().unwrap_or(0.0);
                *x += dt * (enters - leaves) / (d * c);
            }
            now += dt;
            k += 1.0;
        }
        let mean = t.iter().zip(&cells).map(|(x, (d, _, c))| x * d * c).sum::<f64>() / whole;
        // From the middle of the first cell to its face.
        let face = t.first().copied().unwrap_or(0.0)
            + cells.first().map_or(0.0, |(d, k, _)| flux(now - 0.5 * dt) * 0.5 * d / k);
        out.push((face, mean));
    }
    out
}
