//! How many pads of each kind a vehicle needs so that none passes its core limit or falls below its
//! least cut, and when each of them is at work, being cleaned, at rest or drying.
//!
//! Not an optimiser of the order of work: the sections come in the order given, one operator, who never
//! waits for a pad. A pad stays with one product, so each kind is counted by itself; the kinds share the
//! clock only.

use super::pad_kind::{PadKind, SectionWork};
use super::pad_run::MOST_SECTIONS;
use super::pad_state::{CleaningKind, CutFactor};
use super::schedule::{OnLimit, Simulation};
use super::season::PadStrategy;
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Temperature, Time, Volume};

/// Most pads of one kind that a search tries.
pub const MOST_PADS: usize = 40;
/// Most kinds of pad in one job.
pub const MOST_KINDS: usize = 16;

/// Sections to be worked and the pads for them.
#[derive(Debug, Clone, PartialEq)]
pub struct RotationJob {
    /// Kinds of pad, 1 to [`MOST_KINDS`].
    pub kinds: Vec<PadKind>,
    /// Sections in the order of work, 1 to [`MOST_SECTIONS`].
    pub sections: Vec<SectionWork>,
    /// Air temperature, −40 to 60 °C.
    pub air: Temperature,
    /// Time between two sections: wiping, inspecting, moving on; 0 to 1 h.
    pub changeover: Time,
}

impl RotationJob {
    /// Checks every number.
    ///
    /// # Errors
    /// The first number outside the range that stands with its field.
    pub fn check(&self) -> Result<(), RangeError> {
        within("kinds of pad", self.kinds.len() as f64, 1.0, MOST_KINDS as f64, "")?;
        within("sections", self.sections.len() as f64, 1.0, MOST_SECTIONS as f64, "")?;
        within("ambient.temperature_c", self.air.c(), -40.0, 60.0, "°C")?;
        within("time between sections", self.changeover.s(), 0.0, 3600.0, "s")?;
        self.kinds.iter().try_for_each(PadKind::check)?;
        for s in &self.sections {
            s.check()?;
            within("kind of pad of a section", s.kind as f64, 0.0, self.kinds.len() as f64 - 1.0, "")?;
        }
        Ok(())
    }
}

/// What a pad does for a stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Activity {
    /// Being primed.
    Prime,
    /// Working the section of that index.
    Work(usize),
    /// Being cleaned.
    Clean(CleaningKind),
    /// Drying after a wash.
    Dry,
    /// At rest between two activities.
    Rest,
}

/// One bar of the timeline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScheduleEntry {
    /// Kind of pad.
    pub kind: usize,
    /// Number of the pad among its kind, from 0.
    pub pad: usize,
    /// Start.
    pub start: Time,
    /// End.
    pub end: Time,
    /// What it does.
    pub activity: Activity,
}

/// How a section went: which pad worked it, how hot it got, what it cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionRecord {
    /// Kind of pad.
    pub kind: usize,
    /// Number of the pad among its kind.
    pub pad: usize,
    /// Highest core temperature.
    pub peak_core: Temperature,
    /// Mean cut factor.
    pub cut: CutFactor,
    /// Paint removed.
    pub removed: Volume,
}

/// A limit of a pad.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PadLimit {
    /// Core temperature \[°C\].
    Core,
    /// Cut factor of the pad's own condition.
    Cut,
    /// Share of its life used.
    Life,
}

impl PadLimit {
    /// The words for it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Core => "core temperature",
            Self::Cut => "cut of the pad",
            Self::Life => "life of the pad",
        }
    }
}

/// A limit that a section passes with the pad that is best rested.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitPassed {
    /// Section.
    pub section: usize,
    /// Kind of pad.
    pub kind: usize,
    /// Which limit.
    pub limit: PadLimit,
    /// Value it would reach \[°C for the core, else 1\].
    pub value: f64,
    /// Value allowed \[likewise\].
    pub allowed: f64,
}

/// A vehicle worked with given numbers of pads.
#[derive(Debug, Clone, PartialEq)]
pub struct Rotation {
    /// Pads of each kind.
    pub pads: Vec<usize>,
    /// Timeline, by kind, pad and start.
    pub schedule: Vec<ScheduleEntry>,
    /// How each section went.
    pub sections: Vec<SectionRecord>,
    /// Limits passed, by section; empty when the pads suffice.
    pub passed: Vec<LimitPassed>,
    /// Time from the start to the end of the last section.
    pub time: Time,
    /// Hands-on time of each kind for priming, cleaning and washing, the wash after the vehicle included.
    pub handling: Vec<Time>,
    /// Pad lives used, by kind \[1\]; 1 is one whole pad.
    pub life_used: Vec<f64>,
    /// Worn-out pads replaced by fresh ones on the way, by kind; a search never comes to that.
    pub replaced: Vec<u32>,
    /// Washes by kind, those after the vehicle included.
    pub washes: Vec<u32>,
    /// Product used, priming included.
    pub product: Volume,
}

impl Rotation {
    /// What this way of working costs a season, for one kind; `None` for a kind that does not exist. See the
    /// example of [`run_rotation`].
    #[must_use]
    pub fn strategy(&self, job: &RotationJob, kind: usize) -> Option<PadStrategy> {
        let wash = job.kinds.get(kind)?.policy.wash;
        Some(PadStrategy {
            pads: u32::try_from(*self.pads.get(kind)?).ok()?,
            lives_per_vehicle: *self.life_used.get(kind)?,
            washes_per_vehicle: f64::from(*self.washes.get(kind)?),
            handling_per_vehicle: *self.handling.get(kind)?,
            turnaround: Time::from_s(wash.map_or(0.0, |w| w.time.s() + w.drying.s())),
        })
    }
}

/// Why no number of pads was found.
#[derive(Debug, Clone, PartialEq)]
pub struct RotationShort {
    /// Pads of each kind when the search ended.
    pub pads: Vec<usize>,
    /// The limit that binds.
    pub binds: LimitPassed,
    /// Whether a fresh, cold, primed pad passes the limit too, so that no number of pads helps: less
    /// work for each section, or another limit, is what is left.
    pub fresh_pad_fails: bool,
}

/// Answer of [`rotate`]: enough pads, or the limit for which there are none.
#[derive(Debug, Clone, PartialEq)]
pub enum RotationOutcome {
    /// So many pads suffice.
    Enough(Rotation),
    /// None of the numbers tried suffices.
    Short(RotationShort),
}

impl RotationOutcome {
    /// The rotation, if the pads suffice.
    #[must_use]
    pub fn enough(&self) -> Option<&Rotation> {
        match self {
            Self::Enough(r) => Some(r),
            Self::Short(_) => None,
        }
    }
}

/// Fewest pads of each kind that keep to every limit, up to `most_pads` (1 to [`MOST_PADS`]) of a kind.
///
/// Starts with one pad of each kind that has work and adds one of the kind that passes a limit first.
/// Pads start fresh or washed. At the end of its turn a pad is cleaned and the best rested one that
/// keeps to its limits takes over; one that cleaning no longer restores is washed and out of service
/// until dry.
///
/// # Assumptions and valid range
/// One operator, who never waits for a pad; sections in the order given; the laws of [`super::PadLaws`], all
/// assumed.
///
/// # Accuracy
/// The counts are the fewest where the kinds do not disturb each other's clock (checked against a search
/// over all counts in the tests); the clock couples them through cleaning time only.
///
/// # Errors
/// A number outside the range that stands with its field.
///
/// # Example
/// ```
/// use trochoid::units::{Area, Energy, Temperature, Time, Volume};
/// use trochoid::wear::{PadKind, RotationJob, SectionWork, rotate};
/// let section = SectionWork {
///     kind: 0,
///     work: Energy::from_kj(5.8),
///     time: Time::from_min(3.0),
///     nominal_removal: Volume::from_ml(0.4),
///     product: Volume::from_ml(0.75),
///     solids_share: 0.4,
/// };
/// let job = RotationJob {
///     kinds: vec![PadKind::new("cutting", Area::from_m2(0.0133))],
///     sections: vec![section; 50],
///     air: Temperature::from_c(20.0),
///     changeover: Time::from_s(20.0),
/// };
/// let found = rotate(&job, 40)?;
/// assert!(found.enough().is_some_and(|r| (4..=6).contains(&r.pads[0]) && r.passed.is_empty()));
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn rotate(job: &RotationJob, most_pads: usize) -> Result<RotationOutcome, RangeError> {
    job.check()?;
    within("most pads of a kind", most_pads as f64, 1.0, MOST_PADS as f64, "")?;
    let mut pads: Vec<usize> =
        (0..job.kinds.len()).map(|k| usize::from(job.sections.iter().any(|s| s.kind == k))).collect();
    loop {
        let rotation = Simulation::new(job, &pads)?.run(OnLimit::Stop)?;
        let Some(binds) = rotation.passed.first().copied() else {
            return Ok(RotationOutcome::Enough(rotation));
        };
        let fresh_pad_fails = fresh_pad_fails(job, binds.section)?;
        if fresh_pad_fails || pads[binds.kind] >= most_pads {
            return Ok(RotationOutcome::Short(RotationShort { pads, binds, fresh_pad_fails }));
        }
        pads[binds.kind] += 1;
    }
}

/// Whether even a fresh pad passes a limit at the section.
fn fresh_pad_fails(job: &RotationJob, section: usize) -> Result<bool, RangeError> {
    let work = job.sections[section];
    let alone = RotationJob { sections: vec![work], ..job.clone() };
    let pads: Vec<usize> = (0..job.kinds.len()).map(|k| usize::from(k == work.kind)).collect();
    Ok(!Simulation::new(&alone, &pads)?.run(OnLimit::Stop)?.passed.is_empty())
}

/// Works the sections with given numbers of pads, on past every limit; the limits passed are listed. A pad
/// that has used its life up is replaced by a fresh one.
///
/// # Assumptions and valid range
/// As [`rotate`]. Pads start fresh; the one that is best rested works on where none keeps to its limits.
///
/// # Errors
/// A number outside the range that stands with its field, a count for each kind missing, no pad of a
/// kind that has work, more than [`MOST_PADS`] of a kind; a core above 300 °C.
///
/// # Example
/// ```
/// use trochoid::units::{Area, Energy, Temperature, Time, Volume};
/// use trochoid::wear::{PadKind, RotationJob, SectionWork, run_rotation};
/// let section = SectionWork { kind: 0, work: Energy::from_kj(5.76), time: Time::from_min(3.0),
///     nominal_removal: Volume::from_ml(0.4), product: Volume::from_ml(0.75), solids_share: 0.4 };
/// let job = RotationJob { kinds: vec![PadKind::new("cutting", Area::from_m2(0.01327))], sections: vec![section; 3],
///     air: Temperature::from_c(20.0), changeover: Time::from_s(20.0) };
/// let run = run_rotation(&job, &[2])?;
/// // Priming 30 s, two sections, compressed air 20 s, the second pad primed 30 s, its section, two changeovers:
/// // 3 × 180 + 2 × 20 + 2 × 30 + 20 = 660 s. Product 3 × 0.75 + 2 × 1 = 4.25 ml. Both are washed afterwards.
/// assert!((run.time.s() - 660.0).abs() < 1e-9 && (run.product.ml() - 4.25).abs() < 1e-9);
/// assert_eq!(run.washes, [2]);
/// // Hands on for 2 × 30 + 20 s and two washes of 120 s; back in use 2 min and 8 h later.
/// let strategy = run.strategy(&job, 0);
/// assert!(strategy.is_some_and(|s| (s.handling_per_vehicle.s() - 320.0).abs() < 1e-9));
/// assert!(strategy.is_some_and(|s| (s.turnaround.s() - 28_920.0).abs() < 1e-9));
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn run_rotation(job: &RotationJob, pads: &[usize]) -> Result<Rotation, RangeError> {
    job.check()?;
    within("counts of pads", pads.len() as f64, job.kinds.len() as f64, job.kinds.len() as f64, "")?;
    for (kind, n) in pads.iter().enumerate() {
        let least = usize::from(job.sections.iter().any(|s| s.kind == kind));
        within("pads of a kind", *n as f64, least as f64, MOST_PADS as f64, "")?;
    }
    Simulation::new(job, pads)?.run(OnLimit::WorkOn)
}
