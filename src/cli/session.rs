//! A job read and made ready: the steps asked for, with calibrated bearings put in.

use super::args::JobArguments;
use super::failure::Failure;
use super::print_out;
use std::path::PathBuf;
use std::sync::{Mutex, MutexGuard, PoisonError};
use trochoid::budget::{Calibration, Identified, NextSpot, Parameter, readings_needed};
use trochoid::contact::ContactSettings;
use trochoid::equipment::Bearing;
use trochoid::finish::RoughnessFound;
use trochoid::job::{Job, Step, TestSpotRecord, plan_job_step, roughness_by_gloss};
use trochoid::plan::{CalibratedPairing, SpotRecord, StepPlan, StepTask, calibrate_spots};
use trochoid::report::{StepNames, left_from_before, prepare_folder, write_whole};
use trochoid::spin::{AtHand, CalibrationError, StallSettings, calibrate_drag};
use trochoid::units::Length;

/// A job with everything that its commands need.
pub(crate) struct Session {
    /// The job.
    pub(crate) job: Job,
    /// Steps asked for.
    pub(crate) steps: Vec<Step>,
    /// Steps that work the panel of the one asked for before it; empty where all are asked for.
    pub(crate) before: Vec<Step>,
    /// Settings of the solvers.
    pub(crate) settings: StallSettings,
    /// What is known of each tool's bearing: factors around its drag, by tool name.
    drag_ranges: Vec<(String, (f64, f64))>,
    out: Option<PathBuf>,
    /// Names of the files written.
    written: Mutex<Vec<String>>,
    /// What the calibration found, in words.
    pub(crate) notes: Vec<String>,
    /// Removal coefficients calibrated from test spots.
    #[cfg_attr(not(feature = "plot"), allow(dead_code))]
    pub(crate) calibrations: Vec<SpotCalibration>,
}

/// A removal coefficient calibrated from test spots.
pub(crate) struct SpotCalibration {
    /// Pad, product and paint, in words.
    #[cfg_attr(not(feature = "plot"), allow(dead_code))]
    pub(crate) whose: String,
    /// Number of spots.
    #[cfg_attr(not(feature = "plot"), allow(dead_code))]
    pub(crate) spots: usize,
    /// What was found.
    #[cfg_attr(not(feature = "plot"), allow(dead_code))]
    pub(crate) found: Calibration,
}

/// Factors on the bearing drag until it is calibrated.
const UNCALIBRATED: (f64, f64) = (0.5, 2.0);

impl Session {
    /// Reads a job of steps and picks the steps.
    pub(crate) fn open(arguments: &JobArguments) -> Result<Self, Failure> {
        let session = Self::open_any(arguments)?;
        if session.job.vehicle.is_some() {
            return Err(Failure::Input(format!(
                "{}: this job plans a [vehicle] and has no [[step]] for this command; `trochoid plan` and `trochoid check` take it",
                session.job.file_name
            )));
        }
        Ok(session)
    }

    /// Reads a job of steps, or one that plans a vehicle and has none.
    pub(crate) fn open_any(arguments: &JobArguments) -> Result<Self, Failure> {
        let mut job = Job::read(&arguments.job)?;
        for w in &job.warnings {
            tell!("warning: {w}");
        }
        let settings = StallSettings { useful_spin: job.limits.useful_spin.rad_s(), ..StallSettings::default() };
        let mut drag_ranges = Vec::new();
        let mut notes = Vec::new();
        for count in &job.counted_spins.clone() {
            let found = calibrate_drag(&count.setup, &count.count, &ContactSettings::default())
                .map_err(|e| uncalibrated(&job.file_name, &count.tool_name, &e))?;
            put_bearing(&mut job, &count.tool_name, found.bearing)?;
            notes.push(format!(
                "bearing drag of `{}` calibrated from counted turns: x {:.3} ({:.3} to {:.3})",
                count.tool_name, found.factor, found.factor_range.0, found.factor_range.1
            ));
            let range = (found.factor_range.0 / found.factor, found.factor_range.1 / found.factor);
            drag_ranges.push((count.tool_name.clone(), range));
        }
        let calibrations = calibrate_by_spots(&mut job, &settings, &mut drag_ranges, &mut notes)?;
        let (before, steps) = match &arguments.step {
            None => (Vec::new(), job.steps.clone()),
            Some(name) if job.vehicle.is_some() => {
                return Err(Failure::Input(format!(
                    "{}: there is no step `{name}`: the job plans a vehicle, whose steps the plan chooses",
                    job.file_name
                )));
            }
            Some(name) => match job.steps.iter().position(|s| s.name == *name) {
                Some(at) => {
                    let panel = &job.steps[at].panel_name;
                    let before = job.steps[..at].iter().filter(|s| s.panel_name == *panel).cloned().collect();
                    (before, vec![job.steps[at].clone()])
                }
                None => {
                    let known: Vec<&str> = job.steps.iter().map(|s| s.name.as_str()).collect();
                    return Err(Failure::Input(format!(
                        "{}: there is no step `{name}`; the job has {}",
                        job.file_name,
                        known.join(", ")
                    )));
                }
            },
        };
        Ok(Self {
            out: arguments.out.clone(),
            written: Mutex::default(),
            job,
            steps,
            before,
            settings,
            drag_ranges,
            notes,
            calibrations,
        })
    }

    /// What has worked the panels by the end of the steps asked for: those before them, then they.
    pub(crate) fn worked(&self) -> Vec<Step> {
        self.before.iter().chain(&self.steps).cloned().collect()
    }

    /// What else is at hand for a step.
    pub(crate) fn at_hand(&self, step: &Step) -> AtHand {
        let paint = step.paint_name.as_deref();
        let product = |pad: &str, product: &str| self.job.pairing(pad, product, paint).map(|p| p.product());
        let (pads, products) = (&self.job.pads, &self.job.products);
        AtHand {
            tools: self.job.tools.iter().map(|t| (t.name.clone(), t.item.clone())).collect(),
            pads: pads
                .iter()
                .filter(|p| p.name != step.pad_name)
                .filter_map(|p| Some((p.name.clone(), p.item.clone(), product(&p.name, &step.product_name)?)))
                .collect(),
            products: products
                .iter()
                .filter(|p| p.name != step.product_name)
                .filter_map(|p| Some((p.name.clone(), product(&step.pad_name, &p.name)?)))
                .collect(),
            weight_n: step.setup.tool().mass().map(|m| step.panel.weight_share(m).n()),
        }
    }

    /// Factors on the bearing drag of a step's tool.
    pub(crate) fn drag_range(&self, step: &Step) -> (f64, f64) {
        self.drag_range_of(&step.tool_name)
    }

    /// Factors on the bearing drag of a tool.
    pub(crate) fn drag_range_of(&self, tool: &str) -> (f64, f64) {
        range_among(&self.drag_ranges, tool)
    }

    /// The step as the planner takes it.
    pub(crate) fn task(&self, step: &Step) -> StepTask {
        step.task(self.job.map.cell, self.drag_range(step))
    }

    /// Plans a step with the couplings of the job; the task is the step as the couplings leave it.
    pub(crate) fn plan(&self, step: &Step) -> Result<(StepTask, StepPlan), Failure> {
        plan_job_step(&self.job, step, &self.task(step), &self.at_hand(step), &self.settings)
            .map_err(|e| self.fail(step, &e))
    }

    /// Error of a step.
    pub(crate) fn fail(&self, step: &Step, e: &trochoid::Error) -> Failure {
        Failure::in_step(&self.job.file_name, &step.name, e)
    }

    /// The one step that a single JSON object is about: the one asked for, or the first.
    pub(crate) fn only(&self) -> &Step {
        if self.steps.len() > 1 {
            tell!("note: step `{}` is shown; choose another with --step", self.steps[0].name);
        }
        &self.steps[0]
    }

    /// Writes files into the folder asked for, each whole or not at all; nothing without one.
    pub(crate) fn write(&self, files: &[(String, Vec<u8>)]) -> Result<(), Failure> {
        let Some(folder) = &self.out else { return Ok(()) };
        prepare_folder(folder)?;
        for (name, bytes) in files {
            let path = folder.join(name);
            write_whole(&path, bytes)?;
            tell!("wrote {}", path.display());
        }
        self.names().extend(files.iter().map(|f| f.0.clone()));
        Ok(())
    }

    fn names(&self) -> MutexGuard<'_, Vec<String>> {
        self.written.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Prints the text of a run, then says on standard error what to know of its files: that there are none,
    /// or that the folder holds others.
    pub(crate) fn end(&self, text: &str) -> Result<(), Failure> {
        print_out(text)?;
        let Some(folder) = &self.out else {
            tell!("note: no pictures were drawn; add `--out report` for them, into the folder `report`");
            return Ok(());
        };
        let old = left_from_before(folder, &self.names());
        if let Some(first) = old.first() {
            let count = if old.len() == 1 { "1 file".to_owned() } else { format!("{} files", old.len()) };
            tell!("note: {} also holds {count} that this run did not write, such as {first}", folder.display());
        }
        Ok(())
    }

    /// A step's part of its file names; steps whose names differ only in what a file name cannot hold
    /// are told apart by a number.
    pub(crate) fn stem(&self, step: &Step) -> String {
        stem_among(&step.name, self.job.steps.iter().map(|s| s.name.as_str()))
    }

    /// A panel's part of its file names, told apart like those of the steps.
    #[cfg_attr(not(feature = "plot"), allow(dead_code))]
    pub(crate) fn panel_stem(&self, panel: &str) -> String {
        stem_among(panel, self.job.panels.iter().map(|p| p.name.as_str()))
    }

    /// Whether files were asked for.
    pub(crate) const fn writes(&self) -> bool {
        self.out.is_some()
    }
}

/// A count that gives no drag: bad input where it is the count that cannot be.
fn uncalibrated(file: &str, tool: &str, e: &CalibrationError) -> Failure {
    let text = format!("{file}: tool `{tool}`: counted spin: {e}");
    match e {
        CalibrationError::NoDrag { .. } | CalibrationError::Range(_) => Failure::Input(text),
        _ => Failure::Unanswered(text),
    }
}

/// A name as part of a file name, with a number where an earlier one of `all` looks the same there.
fn stem_among<'n>(name: &str, all: impl Iterator<Item = &'n str>) -> String {
    let own = file_stem(name);
    let before = all.take_while(|n| *n != name).filter(|n| file_stem(n).eq_ignore_ascii_case(&own)).count();
    if before == 0 { own } else { format!("{own}.{}", before + 1) }
}

/// A step's name as part of a file name: letters, digits, dash and underscore are kept.
fn file_stem(name: &str) -> String {
    let stem: String = name
        .chars()
        .take(60)
        .map(|c| if c.is_ascii_alphanumeric() || c == '-' || c == '_' { c } else { '_' })
        .collect();
    if stem.is_empty() { "step".to_owned() } else { stem }
}

/// Names and settings of a step for its JSON.
pub(crate) fn names(step: &Step) -> StepNames<'_> {
    let rate = step.setup.tool().rate().opm();
    StepNames {
        step: &step.name,
        panel: &step.panel_name,
        tool: &step.tool_name,
        pad: &step.pad_name,
        product: &step.product_name,
        speed_setting: step.speed_setting,
        orbit_rate_opm: (rate > 0.0).then_some(rate),
        force_n: step.setup.force().n(),
        hand_force_n: step.hand_force_n,
    }
}

/// Names and settings of a planned step for its JSON: those that its state is told for.
pub(crate) fn told_names<'s>(step: &'s Step, plan: &StepPlan) -> StepNames<'s> {
    let told = step.told(plan);
    StepNames {
        speed_setting: told.speed_setting,
        orbit_rate_opm: Some(told.rate.opm()).filter(|r| *r > 0.0),
        force_n: told.force.n(),
        hand_force_n: told.hand_force_n,
        ..names(step)
    }
}

/// What more readings would bring after the last of the records, where the coefficient is not yet known to
/// a factor of two.
fn more_readings(calibrated: &CalibratedPairing, records: &[SpotRecord<'_>]) -> Option<String> {
    const WANTED: f64 = 2.0;
    let passes = u32::try_from(records.last()?.passes).ok()?;
    let next = NextSpot {
        exposure_per_pass_pa_m: calibrated.exposures_pa_m.last()? / f64::from(passes),
        passes,
        pairs: 3,
        uncertainty: Length::from_um(1.0),
        resolution: Length::from_um(1.0),
    };
    let needed = readings_needed(&calibrated.found, &next, WANTED, 0.9).ok()?;
    (!needed.reached).then(|| format!("for an interval within a factor of {WANTED:.0}: {}", needed.words()))
}

/// Gives every step of a tool, and the tool, a bearing that was calibrated.
fn put_bearing(job: &mut Job, tool_name: &str, bearing: Bearing) -> Result<(), Failure> {
    for step in job.steps.iter_mut().filter(|s| s.tool_name == tool_name) {
        let tool = step.setup.tool().clone().with_bearing(bearing);
        step.setup = step
            .setup
            .clone()
            .with_tool(tool)
            .map_err(|e| Failure::Input(format!("{}: tool `{tool_name}`: {e}", job.file_name)))?;
    }
    for t in job.tools.iter_mut().filter(|t| t.name == tool_name) {
        t.item = t.item.clone().with_bearing(bearing);
    }
    Ok(())
}

/// The bearing that the counts of the spots of one pairing speak for, with the range of factors that stays
/// open around it; `None` where they tell nothing, where the counts are of several tools, or where the tool
/// was calibrated by a count of its own.
fn drag_of(
    job: &Job,
    spots: &[usize],
    calibrated: &CalibratedPairing,
    known: &[(String, (f64, f64))],
) -> Option<(String, Bearing, (f64, f64))> {
    let drag = calibrated.found.others.iter().find(|p| p.parameter == Parameter::BearingDrag)?;
    let mut counted = spots.iter().map(|i| &job.spots[*i]).filter(|s| s.count.is_some());
    let step = job.step(&counted.next()?.step_name)?;
    let same = |s: &TestSpotRecord| job.step(&s.step_name).is_some_and(|o| o.tool_name == step.tool_name);
    if drag.identified == Identified::Not || !counted.all(same) || known.iter().any(|k| k.0 == step.tool_name) {
        return None;
    }
    let bearing = step.setup.tool().bearing()?.with_drag_scaled(drag.value.best).ok()?;
    let range = (drag.value.low / drag.value.best, drag.value.high / drag.value.best);
    Some((step.tool_name.clone(), bearing, range))
}

/// What gloss read on the spots of one pairing tells of the roughness that its steps leave.
fn roughness_of(job: &Job, spots: &[usize], calibrated: &CalibratedPairing) -> Result<Option<RoughnessFound>, Failure> {
    let mut glossed = Vec::new();
    for (i, exposure) in spots.iter().zip(&calibrated.exposures_pa_m) {
        let spot = &job.spots[*i];
        let (Some(gloss), Some(step)) = (spot.gloss, job.step(&spot.step_name)) else { continue };
        if gloss.dulled() {
            tell!("warning: test spot `{}`: the gloss is lower after than before: the step leaves haze", spot.name);
        }
        let cut = calibrated.found.cut(*exposure).map_err(|e| Failure::Input(e.to_string()))?;
        glossed.push((step, gloss, cut));
    }
    roughness_by_gloss(&glossed).map_err(|e| Failure::Input(format!("{}: gloss of the test spots: {e}", job.file_name)))
}

/// Factors on the bearing drag of a tool, among those that are known.
fn range_among(known: &[(String, (f64, f64))], tool: &str) -> (f64, f64) {
    known.iter().find(|(name, _)| name == tool).map_or(UNCALIBRATED, |(_, range)| *range)
}

/// Calibrates the removal coefficient of every pairing that has test spots, and puts it into the steps
/// and pairings of the job.
fn calibrate_by_spots(
    job: &mut Job,
    settings: &StallSettings,
    drag_ranges: &mut Vec<(String, (f64, f64))>,
    notes: &mut Vec<String>,
) -> Result<Vec<SpotCalibration>, Failure> {
    type Key = (String, String, Option<String>);
    let key_of = |s: &Step| -> Key { (s.pad_name.clone(), s.product_name.clone(), s.paint_name.clone()) };
    let mut groups: Vec<(Key, Vec<usize>)> = Vec::new();
    for (i, spot) in job.spots.iter().enumerate() {
        let Some(step) = job.step(&spot.step_name) else { continue };
        let key = key_of(step);
        match groups.iter_mut().find(|g| g.0 == key) {
            Some(g) => g.1.push(i),
            None => groups.push((key, vec![i])),
        }
    }
    let mut out = Vec::new();
    for (key, spots) in groups {
        let mut records = Vec::new();
        let mut pairing = None;
        for i in &spots {
            let spot = &job.spots[*i];
            let Some(step) = job.step(&spot.step_name) else { continue };
            pairing = Some(step.pairing);
            records.push(SpotRecord {
                name: &spot.name,
                task: step.task(job.map.cell, range_among(drag_ranges, &step.tool_name)),
                passes: spot.passes,
                pairs: &spot.pairs,
                look: spot.look,
                count: spot.count,
            });
        }
        let Some(pairing) = pairing else { continue };
        let calibrated = calibrate_spots(&pairing, &records, settings).map_err(|e| {
            Failure::about(&format!("{}: test spots of pad `{}` with product `{}`", job.file_name, key.0, key.1), &e)
        })?;
        let more = more_readings(&calibrated, &records);
        drop(records);
        let drag = drag_of(job, &spots, &calibrated, drag_ranges);
        let roughness = roughness_of(job, &spots, &calibrated)?;
        let CalibratedPairing { found, believed, .. } = calibrated;
        notes.push(format!(
            "removal coefficient of pad `{}` with product `{}` from {} test spot{}: {:.2e} 1/Pa (90 %: {:.2e} to {:.2e}; before {:.2e} to {:.2e})",
            key.0,
            key.1,
            spots.len(),
            if spots.len() == 1 { "" } else { "s" },
            found.removal.value.best,
            found.removal.value.low,
            found.removal.value.high,
            found.removal.prior.low,
            found.removal.prior.high
        ));
        notes.extend(found.statements());
        notes.extend(more);
        notes.extend(roughness.as_ref().map(RoughnessFound::words));
        if roughness.is_some() && job.vehicle.is_some() {
            notes.push("the plan of a vehicle does not use the gloss of a test spot yet".to_owned());
        }
        for w in &found.warnings {
            tell!("warning: {}", w.words());
        }
        let on = key.2.as_ref().map_or(String::new(), |paint| format!(" on {paint}"));
        out.push(SpotCalibration { whose: format!("{} with {}{on}", key.0, key.1), spots: spots.len(), found });
        if let Some((tool, bearing, range)) = drag {
            put_bearing(job, &tool, bearing)?;
            drag_ranges.push((tool, range));
        }
        for step in job.steps.iter_mut().filter(|s| key_of(s) == key) {
            step.pairing = believed;
            step.roughness = roughness;
            step.setup = step.setup.clone().with_product(believed.product());
        }
        let fits = |r: &trochoid::job::PairingRule| r.pad == key.0 && r.product == key.1 && r.paint == key.2;
        match job.pairings.iter_mut().find(|r| fits(&r.item)) {
            Some(rule) => rule.item.pairing = believed,
            None => job.pairings.push(trochoid::job::Named {
                name: format!("test spots of {} with {}", key.0, key.1),
                item: trochoid::job::PairingRule { pad: key.0, product: key.1, paint: key.2, pairing: believed },
            }),
        }
    }
    Ok(out)
}
