//! Test spots turned into the calibration of a pairing: what each spot was exposed to is computed, what
//! was read and seen there is taken from its record.

use super::step::StepTask;
use super::surface_phases::work_phases;
use crate::Error;
use crate::budget::{Calibration, CalibrationSettings, DragResponse, Look, PairedReading, TestSpot, calibrate};
use crate::equipment::{Pairing, Product};
use crate::removal::panel_map;
use crate::spin::{CountedSpin, StallSettings, friction_sums, spin_state, spin_with_drag};

/// What was recorded at one test spot.
#[derive(Debug, Clone)]
pub struct SpotRecord<'a> {
    /// Name.
    pub name: &'a str,
    /// The step whose settings were used.
    pub task: StepTask,
    /// Passes done.
    pub passes: usize,
    /// Film before and after.
    pub pairs: &'a [PairedReading],
    /// What the eye saw after the last pass.
    pub look: Option<Look>,
    /// Counted rotation of the pad.
    pub count: Option<CountedSpin>,
}

/// Mean exposure ∫ p|v| dt inside the worked area after a number of passes \[Pa·m\]: the cut in metres at a
/// removal coefficient of one per pascal.
///
/// ```text
/// E = N eΩ n/(f s)      away from edges, flat and unspun: n passes, f feed [m/s], s line spacing [m]
/// ```
///
/// # Assumptions and valid range
/// As [`plan_step`](super::plan_step); of a step with phases the repeated one takes up the number of passes.
///
/// # Errors
/// As [`panel_map`]; a panel on which nothing is left of the worked area.
///
/// # Example
/// With the step of the example of [`StepTask::new`]:
/// ```
/// use trochoid::plan::exposure;
/// # use trochoid::plan::{StepTask, Working};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let side = Length::from_mm(400.0);
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// // 35 N × 3.299 m/s over 0.04 m/s × 0.05 m is 57 730 Pa·m; what lines at both ends of the mask add or
/// // leave out is a few hundredths of it.
/// let once = exposure(&task, 1, &Default::default())?;
/// assert!((once / 57_730.0 - 1.0).abs() < 0.05);
/// # Ok(())
/// # }
/// ```
pub fn exposure(task: &StepTask, passes: usize, settings: &StallSettings) -> Result<f64, Error> {
    let preston = task.setup.product().preston_per_pa();
    let phased = !task.phases.is_empty();
    let mean = match &task.surface {
        Some(on) => {
            let map = if phased {
                work_phases(&task.with_passes(passes)?, on, settings.useful_spin)?
            } else {
                let inset = on.inset_of(task, passes);
                let (path, _) = on.path(task, passes, inset)?;
                on.work(task, &path, settings.useful_spin)?
            };
            let inside = map.statistics(|k| map.clearance[k] >= map.reach_m, |k| map.field.work[k]);
            inside.or_else(|| map.statistics(|_| true, |k| map.field.work[k])).map(|s| s.mean)
        }
        None => {
            let map = if phased {
                task.with_passes(passes)?.map(settings)?
            } else {
                let run = spin_state(&task.setup, task.setup.patch(), &settings.contact)?;
                panel_map(&task.setup, &run, &task.panel, task.path(passes)?, task.cell.m())?
            };
            map.cut.map(|c| c.mean / preston)
        }
    };
    mean.filter(|m| *m > 0.0).ok_or_else(|| {
        let allowed = "above 0: the pad is too large for the panel, or its face sticks";
        crate::RangeError::new("exposure of the test spot", 0.0, "Pa·m", allowed).into()
    })
}

/// How spin and exposure of a set-up depend on the factor on its bearing drag; `None` unless the drive is
/// free. Of a step with phases it is that of the repeated one, in which turns are counted.
fn response(task: &StepTask, settings: &StallSettings) -> Result<Option<DragResponse>, Error> {
    if let Some(repeated) = task.repeated_phase() {
        return response(&task.parts()?[repeated], settings);
    }
    if task.setup.tool().bearing().is_none() {
        return Ok(None);
    }
    let run = spin_state(&task.setup, task.setup.patch(), &settings.contact)?;
    let rate = task.setup.tool().rate().rad_s();
    let at = |factor: f64| {
        let spin = spin_with_drag(&task.setup, &run, factor).unwrap_or(run.spin);
        let speed = friction_sums(&run.contact.load, rate, spin).speed_w;
        let ratio = if run.sums.speed_w > 0.0 { speed / run.sums.speed_w } else { 1.0 };
        Ok::<_, Error>((spin, ratio))
    };
    DragResponse::sample(at).map(Some)
}

/// What test spots tell of a pairing.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibratedPairing {
    /// The calibration.
    pub found: Calibration,
    /// The pairing as it is believed now.
    pub believed: Pairing,
    /// [`exposure`] of each spot, Pa·m.
    pub exposures_pa_m: Vec<f64>,
}

/// Calibrates the removal coefficient of a pairing from the spots worked with it.
///
/// # Assumptions and valid range
/// The pairing's own coefficient is the median of what was believed before, its spread that belief's. The
/// exposures are computed with the tool, pad and force of each record, so an error common to all of them
/// goes into the coefficient.
///
/// # Accuracy
/// As [`calibrate`]; `believed` is a log-normal with the posterior's moments.
///
/// # Errors
/// As [`exposure`] and [`calibrate`].
///
/// # Example
/// One spot of two passes, with the step of the example of [`StepTask::new`]:
/// ```
/// use trochoid::budget::PairedReading;
/// use trochoid::equipment::Pairing;
/// use trochoid::plan::{SpotRecord, calibrate_spots};
/// # use trochoid::plan::{StepTask, Working};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let side = Length::from_mm(400.0);
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// let believed = Pairing::new(*task.setup.product(), 1.0)?;
/// let um = Length::from_um;
/// let pairs = [PairedReading::new(um(120.0), um(115.4), um(0.1), um(0.01), 10)?];
/// let spot = SpotRecord { name: "left", task, passes: 2, pairs: &pairs, look: None, count: None };
/// let found = calibrate_spots(&believed, &[spot], &Default::default())?;
/// // 4.6 µm came off where 2e-11/Pa × 2 × 57 730 Pa·m promised 2.3 µm: the coefficient is about twice that.
/// let ratio = found.believed.product().preston_per_pa() / 2e-11;
/// assert!((ratio - 2.0).abs() < 0.1 && found.believed.preston_rel_sd() < 0.3);
/// # Ok(())
/// # }
/// ```
pub fn calibrate_spots(
    pairing: &Pairing,
    records: &[SpotRecord<'_>],
    settings: &StallSettings,
) -> Result<CalibratedPairing, Error> {
    let mut spots = Vec::with_capacity(records.len());
    let mut exposures_pa_m = Vec::with_capacity(records.len());
    for r in records {
        let exposed = exposure(&r.task, r.passes, settings)?;
        exposures_pa_m.push(exposed);
        let mut spot = TestSpot::new(r.name, exposed, u32::try_from(r.passes).unwrap_or(u32::MAX))?;
        for pair in r.pairs {
            spot = spot.with_pair(*pair)?;
        }
        if let Some(look) = r.look {
            spot = spot.with_look(look)?;
        }
        if let (Some(count), Some(response)) = (r.count, response(&r.task, settings)?) {
            spot = spot.with_count(count, response);
        }
        spots.push(spot);
    }
    let found = calibrate(pairing, &spots, &CalibrationSettings::default())?;
    let product = Product::new(pairing.product().friction(), found.ln_mean.exp())?;
    // The spread of a log-normal from that of its logarithm.
    let believed = Pairing::new(product, (found.ln_sd * found.ln_sd).exp_m1().sqrt())?;
    Ok(CalibratedPairing { found, believed, exposures_pa_m })
}
