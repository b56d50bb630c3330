//! The pads of a rotation by heat conduction: core and face of each over its work, rests, blow-outs and
//! washes, with its condition before each section.
//!
//! The rotation decides who works when, with two time constants a pad; here each pad's own disc of foam
//! follows that timeline. Priming, at low rate, counts as a rest; a washed pad comes back at the air's
//! temperature; a brush only gives a pause.

use super::pads::PadsInRotation;
use crate::Error;
use crate::heat::{PadEvent, PadHeat, PadMoment, PadSettings, pad_history};
use crate::math::reduce::map_indexed;
use crate::plan::StepHeat;
use crate::units::{Temperature, Time};
use crate::wear::{Activity, Cleaning, CleaningKind, PadState, Rotation, ScheduleEntry, SectionLoad, run_rotation};

/// Coefficient at a face that is blown out with compressed air, W/(m² K): middle of the order of magnitude
/// of jets (Incropera et al., chapter 7; see [`PadEvent::Blow`]). Air through the foam is not counted.
pub const BLOW_OUT_W_M2K: f64 = 200.0;

/// One pad of a rotation over the job; made by [`pad_courses`].
#[derive(Debug, Clone, PartialEq)]
pub struct PadCourse {
    /// Kind of pad.
    pub kind: usize,
    /// Number of the pad among its kind, from 0.
    pub pad: usize,
    /// Clock at its first activity, s; the times in `heat` count from there.
    pub start_s: f64,
    /// What it does.
    pub entries: Vec<ScheduleEntry>,
    /// Number that each of the entries has as an event in `heat`.
    pub event_of: Vec<usize>,
    /// Its temperatures.
    pub heat: PadHeat,
    /// Section and condition before it, in the order of work.
    pub before: Vec<(usize, PadState)>,
    /// Condition at the end.
    pub after: PadState,
}

impl PadCourse {
    /// Hottest core while a section is worked; `None` for a section of another pad.
    #[must_use]
    pub fn core_of_section(&self, section: usize) -> Option<Temperature> {
        let own = self.moments_of(section)?.map(|m| m.core.k());
        own.max_by(f64::total_cmp).map(Temperature::from_k)
    }

    /// The moments while a section is worked; `None` for a section of another pad.
    #[must_use]
    pub fn moments_of(&self, section: usize) -> Option<impl Iterator<Item = &PadMoment>> {
        let entry = self.entries.iter().position(|e| e.activity == Activity::Work(section))?;
        let event = *self.event_of.get(entry)?;
        Some(self.heat.moments.iter().filter(move |m| m.event == event))
    }
}

/// A pad's timeline as events, and its condition.
struct Replay {
    events: Vec<PadEvent>,
    event_of: Vec<usize>,
    before: Vec<(usize, PadState)>,
    after: PadState,
}

fn replay(
    pads: &PadsInRotation,
    heats: &[Option<StepHeat>],
    rotation: &Rotation,
    entries: &[ScheduleEntry],
) -> Result<Option<Replay>, Error> {
    let Some(first) = entries.first() else { return Ok(None) };
    let kind = &pads.job.kinds[first.kind];
    let mut state = PadState::fresh(kind.face)?;
    let mut out = Replay { events: Vec::new(), event_of: Vec::new(), before: Vec::new(), after: state };
    for e in entries {
        let time = Time::from_s(e.end.s() - e.start.s());
        let cleaned =
            |kinds: [Option<Cleaning>; 2], what: CleaningKind| kinds.into_iter().flatten().find(|c| c.kind == what);
        let event = match e.activity {
            Activity::Prime => {
                if state.life_used() >= 1.0 {
                    state = PadState::fresh(kind.face)?;
                }
                state.prime(&kind.laws, kind.priming.strokes)?;
                PadEvent::Rest { time }
            }
            Activity::Work(section) => {
                let (work, record) = (&pads.job.sections[section], &rotation.sections[section]);
                let Some(h) = pads.step_of.get(section).and_then(|s| heats.get(*s)?.as_ref()) else {
                    return Ok(None);
                };
                let factor = state.heat_factor(&kind.laws);
                out.before.push((section, state));
                let load = SectionLoad {
                    work: work.work,
                    nominal_removal: work.nominal_removal,
                    product: work.product,
                    solids_share: work.solids_share,
                    peak_core: record.peak_core,
                    time: work.time,
                };
                state.advance(&kind.laws, &load)?;
                // The last stretch is what ends with the section.
                let mut stretches = h.pad.work(time, factor);
                let last = stretches.pop().unwrap_or(PadEvent::Rest { time });
                out.events.extend(stretches);
                last
            }
            Activity::Clean(what) => {
                if let Some(c) = cleaned([kind.policy.by, kind.policy.wash], what) {
                    state.clean(&c)?;
                }
                match what {
                    CleaningKind::CompressedAir => PadEvent::Blow { time, coefficient: BLOW_OUT_W_M2K },
                    CleaningKind::Wash => {
                        out.events.push(PadEvent::Swap);
                        PadEvent::Rest { time }
                    }
                    CleaningKind::Brush => PadEvent::Rest { time },
                }
            }
            Activity::Dry | Activity::Rest => PadEvent::Rest { time },
        };
        out.event_of.push(out.events.len());
        out.events.push(event);
    }
    out.after = state;
    Ok(Some(out))
}

/// Every pad of a rotation by heat conduction. The disc of a pad is that of the first step of its kind.
///
/// Each pad follows its own line of the schedule of `rotation`: work with the friction heat of its step, scaled by
/// its condition; blow-outs at [`BLOW_OUT_W_M2K`]; a wash brings it back to the air's temperature; all else is
/// rest. Accuracy and cost are those of [`pad_history`] with these settings. `heats` stand in the order of the
/// steps that made `pads`; a pad whose heat is missing is left out.
///
/// # Errors
/// As [`pad_history`].
///
/// # Example
/// ```
/// use trochoid::heat::PadSettings;
/// use trochoid::job::{Job, STARTER, pad_courses, pads_in_rotation, step_heats};
/// use trochoid::plan::plan_step;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let tasks: Vec<_> = job.steps.iter().map(|s| s.task(job.map.cell, (0.5, 2.0))).collect();
/// let plan = |t| plan_step(t, &AtHand::default(), &StallSettings::default());
/// let mut plans = tasks.iter().map(plan).collect::<Result<Vec<_>, _>>()?;
/// let heats = step_heats(&job, &job.steps, &tasks, &mut plans)?;
/// let pads = pads_in_rotation(&job, &job.steps, &heats)?.expect("both steps rub");
/// let courses = pad_courses(&pads, &heats, &pads.worked()?, &PadSettings::default())?;
/// // One section with each of two pads: two courses, and the first pad works the first section only.
/// assert_eq!(courses.len(), 2);
/// let core = courses[0].core_of_section(0).expect("it works there");
/// assert!(core.c() > 20.0 && courses[0].core_of_section(1).is_none());
/// # Ok(())
/// # }
/// ```
pub fn pad_courses(
    pads: &PadsInRotation,
    heats: &[Option<StepHeat>],
    rotation: &Rotation,
    settings: &PadSettings,
) -> Result<Vec<PadCourse>, Error> {
    let all: Vec<(usize, usize)> =
        rotation.pads.iter().enumerate().flat_map(|(kind, n)| (0..*n).map(move |pad| (kind, pad))).collect();
    let made = map_indexed(all.len(), |i| {
        let (kind, pad) = all[i];
        let entries: Vec<ScheduleEntry> =
            rotation.schedule.iter().filter(|e| e.kind == kind && e.pad == pad).copied().collect();
        let Some(of) = replay(pads, heats, rotation, &entries)? else { return Ok(None) };
        let first = pads.job.sections.iter().position(|s| s.kind == kind);
        let Some(h) = first.and_then(|s| heats.get(*pads.step_of.get(s)?)?.as_ref()) else { return Ok(None) };
        let limit = Some(pads.job.kinds[kind].limits.core);
        let heat = pad_history(&h.pad.disc, &of.events, limit, settings)?;
        let start_s = entries[0].start.s();
        let Replay { event_of, before, after, .. } = of;
        Ok::<_, Error>(Some(PadCourse { kind, pad, start_s, entries, event_of, heat, before, after }))
    });
    made.into_iter().filter_map(Result::transpose).collect()
}

/// Cores of the pads of one kind over the job, for a number of pads in rotation; made by [`cores_by_pads`].
#[derive(Debug, Clone, PartialEq)]
pub struct CoreOverJob {
    /// Pads of the kind in rotation.
    pub pads: usize,
    /// Clock \[s\] and core of the pad at work: all of its first section, then the hottest of each.
    pub points: Vec<(f64, Temperature)>,
    /// The hottest.
    pub peak: Temperature,
}

/// What 1 to `most` pads of a kind would come to, the other kinds as they are. Numbers of pads with which
/// the models leave their ranges (a core above 300 °C) are left out; no kind of that number gives none. `heats` as
/// for [`pad_courses`]; the set-up is that of the example of [`pad_courses`].
///
/// # Errors
/// As [`pad_courses`].
pub fn cores_by_pads(
    pads: &PadsInRotation,
    heats: &[Option<StepHeat>],
    kind: usize,
    most: usize,
) -> Result<Vec<CoreOverJob>, Error> {
    let mut out = Vec::new();
    for n in 1..=most {
        let mut counts = pads.counts().to_vec();
        let Some(own) = counts.get_mut(kind) else { return Ok(out) };
        *own = n;
        let Ok(rotation) = run_rotation(&pads.job, &counts) else { continue };
        let courses = pad_courses(pads, heats, &rotation, &PadSettings::default())?;
        let mut points: Vec<(f64, Temperature)> = Vec::new();
        for (section, record) in rotation.sections.iter().enumerate().filter(|(_, r)| r.kind == kind) {
            let Some(course) = courses.iter().find(|c| c.kind == kind && c.pad == record.pad) else { continue };
            let Some(own) = course.moments_of(section) else { continue };
            if points.is_empty() {
                points.extend(own.map(|m| (course.start_s + m.time_s, m.core)));
            } else if let Some((last, core)) = own.last().zip(course.core_of_section(section)) {
                points.push((course.start_s + last.time_s, core));
            }
        }
        let peak = points.iter().map(|p| p.1.k()).max_by(f64::total_cmp).map(Temperature::from_k);
        if let Some(peak) = peak {
            out.push(CoreOverJob { pads: n, points, peak });
        }
    }
    Ok(out)
}
