//! Steps through the sections of a vehicle with given numbers of pads and writes down what each pad
//! does when.
//!
//! Not the search: one run. The operator's rules stand with [`super::rotate`].

use super::pad_kind::{PadAtWork, PadKind, SectionWork, Worked};
use super::pad_state::Cleaning;
use super::rotation::{Activity, LimitPassed, PadLimit, Rotation, RotationJob, ScheduleEntry, SectionRecord};
use crate::error::RangeError;
use crate::units::{Temperature, Time, Volume};

/// What to do where no pad keeps to its limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum OnLimit {
    Stop,
    WorkOn,
}

struct Pad {
    at_work: PadAtWork,
    /// Clock from which it can be used \[s\].
    ready: f64,
    /// Clock at the end of its last activity \[s\]; below 0 before the first.
    last: f64,
    /// Sections worked in this turn.
    turn: usize,
}

pub(super) struct Simulation<'a> {
    job: &'a RotationJob,
    pads: Vec<Vec<Pad>>,
    /// Pad of each kind that is on its turn.
    in_hand: Vec<Option<usize>>,
    now: f64,
    out: Rotation,
}

impl<'a> Simulation<'a> {
    pub(super) fn new(job: &'a RotationJob, counts: &[usize]) -> Result<Self, RangeError> {
        let pads = job
            .kinds
            .iter()
            .zip(counts)
            .map(|(kind, n)| {
                let one = PadAtWork::fresh(kind)?;
                Ok((0..*n).map(|_| Pad { at_work: one, ready: 0.0, last: -1.0, turn: 0 }).collect())
            })
            .collect::<Result<Vec<Vec<Pad>>, RangeError>>()?;
        let kinds = job.kinds.len();
        let out = Rotation {
            pads: counts.to_vec(),
            schedule: Vec::new(),
            sections: Vec::new(),
            passed: Vec::new(),
            time: Time::from_s(0.0),
            handling: vec![Time::from_s(0.0); kinds],
            life_used: vec![0.0; kinds],
            replaced: vec![0; kinds],
            washes: vec![0; kinds],
            product: Volume::from_m3(0.0),
        };
        Ok(Self { job, pads, in_hand: vec![None; kinds], now: 0.0, out })
    }

    pub(super) fn run(mut self, on_limit: OnLimit) -> Result<Rotation, RangeError> {
        let job = self.job;
        for (index, section) in job.sections.iter().enumerate() {
            if index > 0 {
                self.now += job.changeover.s();
            }
            let Some(pad) = self.choose(index, section, on_limit)? else { return Ok(self.out) };
            self.work(index, section, pad)?;
            if self.pads[section.kind][pad].turn >= job.kinds[section.kind].policy.turn
                && index + 1 < job.sections.len()
            {
                self.put_aside(index + 1, section.kind, pad)?;
            }
        }
        self.out.time = Time::from_s(self.now);
        self.finish();
        Ok(self.out)
    }

    /// The pad for a section; `None` where none keeps to its limits and the run is to stop there.
    fn choose(&mut self, index: usize, section: &SectionWork, on_limit: OnLimit) -> Result<Option<usize>, RangeError> {
        let kind = section.kind;
        if let Some(pad) = self.in_hand[kind] {
            if self.limit_passed(index, section, pad)?.is_none() {
                return Ok(Some(pad));
            }
            self.put_aside(index, kind, pad)?;
        }
        // Never empty: a pad is washed only while another of its kind is ready.
        let mut rested: Vec<usize> =
            (0..self.pads[kind].len()).filter(|p| self.pads[kind][*p].ready <= self.now).collect();
        rested.sort_by(|a, b| self.pads[kind][*a].last.total_cmp(&self.pads[kind][*b].last).then(a.cmp(b)));
        let mut best_rested = None;
        let mut found = None;
        for pad in rested.iter().copied() {
            match self.limit_passed(index, section, pad)? {
                None => {
                    found = Some(pad);
                    break;
                }
                // What the best rested pad lacks is what is told.
                Some(passed) => best_rested = best_rested.or(Some(passed)),
            }
        }
        if found.is_none() {
            self.out.passed.extend(best_rested);
            if on_limit == OnLimit::WorkOn {
                found = rested.first().copied();
                if let Some(pad) = found {
                    self.replace_if_worn(kind, pad)?;
                }
            }
        }
        self.in_hand[kind] = found;
        Ok(found)
    }

    fn replace_if_worn(&mut self, kind: usize, pad: usize) -> Result<(), RangeError> {
        let worn = &mut self.pads[kind][pad].at_work;
        if worn.state.life_used() >= 1.0 {
            *worn = PadAtWork { at: self.now, ..PadAtWork::fresh(&self.job.kinds[kind])? };
            self.out.replaced[kind] += 1;
        }
        Ok(())
    }

    /// The limit that the pad would pass at the section, if any.
    fn limit_passed(&self, index: usize, section: &SectionWork, pad: usize) -> Result<Option<LimitPassed>, RangeError> {
        let kind = &self.job.kinds[section.kind];
        let mut trial = self.pads[section.kind][pad].at_work;
        trial.rest_until(kind, self.now);
        prime(&mut trial, kind)?;
        let passed = |limit, value, allowed| LimitPassed { section: index, kind: section.kind, limit, value, allowed };
        let life = trial.state.life_used();
        if life >= 1.0 {
            return Ok(Some(passed(PadLimit::Life, life, 1.0)));
        }
        let core = trial.peak_core(kind, section, self.job.air);
        if core > kind.limits.core {
            return Ok(Some(passed(PadLimit::Core, core.c(), kind.limits.core.c())));
        }
        let cut = trial.work(kind, section, self.job.air)?.outcome.cut.pad();
        Ok((cut < kind.limits.least_cut).then(|| passed(PadLimit::Cut, cut, kind.limits.least_cut)))
    }

    fn entry(&mut self, kind: usize, pad: usize, start: f64, end: f64, activity: Activity) {
        if end > start {
            self.out.schedule.push(ScheduleEntry {
                kind,
                pad,
                start: Time::from_s(start),
                end: Time::from_s(end),
                activity,
            });
        }
    }

    fn handled(&mut self, kind: usize, time: Time) {
        self.out.handling[kind] = Time::from_s(self.out.handling[kind].s() + time.s());
    }

    fn work(&mut self, index: usize, section: &SectionWork, number: usize) -> Result<(), RangeError> {
        let kind = &self.job.kinds[section.kind];
        let air: Temperature = self.job.air;
        let start = self.now;
        let pad = &mut self.pads[section.kind][number];
        pad.at_work.rest_until(kind, start);
        let primed = prime(&mut pad.at_work, kind)?;
        let begin = pad.at_work.at;
        let Worked { peak_core, outcome } = pad.at_work.work(kind, section, air)?;
        pad.last = pad.at_work.at;
        pad.turn += 1;
        let end = pad.last;
        self.now = end;
        let mut product = self.out.product.m3() + section.product.m3();
        if primed {
            product += kind.priming.product.m3();
            self.handled(section.kind, kind.priming.time);
        }
        self.out.product = Volume::from_m3(product);
        self.out.life_used[section.kind] += outcome.life_used_by_heat + outcome.life_used_by_work;
        self.out.sections.push(SectionRecord {
            kind: section.kind,
            pad: number,
            peak_core,
            cut: outcome.cut,
            removed: outcome.removed,
        });
        self.entry(section.kind, number, start, begin, Activity::Prime);
        self.entry(section.kind, number, begin, end, Activity::Work(index));
        Ok(())
    }

    /// Ends a pad's turn before section `next`: cleaned as the policy says, then out of the hand; washed
    /// where cleaning has not brought its cut back and another pad can take over.
    fn put_aside(&mut self, next: usize, kind: usize, pad: usize) -> Result<(), RangeError> {
        self.pads[kind][pad].turn = 0;
        self.in_hand[kind] = None;
        let policy = self.job.kinds[kind].policy;
        if let Some(cleaning) = policy.by {
            self.clean(kind, pad, &cleaning)?;
        }
        let Some(wash) = policy.wash else { return Ok(()) };
        let job = self.job;
        let Some((index, section)) = job.sections.iter().enumerate().skip(next).find(|(_, s)| s.kind == kind) else {
            return Ok(());
        };
        if !self.limit_passed(index, section, pad)?.is_some_and(|l| l.limit == PadLimit::Cut) {
            return Ok(());
        }
        for other in 0..self.pads[kind].len() {
            let ready = other != pad && self.pads[kind][other].ready <= self.now;
            if ready && self.limit_passed(index, section, other)?.is_none() {
                self.out.washes[kind] += 1;
                return self.clean(kind, pad, &wash);
            }
        }
        Ok(())
    }

    /// Cleans a pad in the operator's time.
    fn clean(&mut self, kind: usize, number: usize, cleaning: &Cleaning) -> Result<(), RangeError> {
        let start = self.now;
        let pad = &mut self.pads[kind][number];
        pad.at_work.rest_until(&self.job.kinds[kind], start);
        pad.at_work.clean(&self.job.kinds[kind], cleaning)?;
        let end = pad.at_work.at;
        pad.last = end;
        pad.ready = end + cleaning.drying.s();
        let ready = pad.ready;
        self.now = end;
        self.handled(kind, cleaning.time);
        self.entry(kind, number, start, end, Activity::Clean(cleaning.kind));
        self.entry(kind, number, end, ready, Activity::Dry);
        Ok(())
    }

    /// Counts the wash after the vehicle, fills the rests in and puts the timeline in order.
    fn finish(&mut self) {
        for (kind, pads) in self.pads.iter().enumerate() {
            if let Some(wash) = self.job.kinds[kind].policy.wash {
                for _ in pads.iter().filter(|p| !p.at_work.state.wants_priming()) {
                    self.out.washes[kind] += 1;
                    self.out.handling[kind] = Time::from_s(self.out.handling[kind].s() + wash.time.s());
                }
            }
        }
        let place = |e: &ScheduleEntry| (e.kind, e.pad);
        let schedule = &mut self.out.schedule;
        schedule.sort_by(|a, b| place(a).cmp(&place(b)).then(a.start.s().total_cmp(&b.start.s())));
        let rests: Vec<ScheduleEntry> = schedule
            .windows(2)
            .filter(|w| place(&w[0]) == place(&w[1]) && w[1].start > w[0].end)
            .map(|w| ScheduleEntry { start: w[0].end, end: w[1].start, activity: Activity::Rest, ..w[0] })
            .collect();
        schedule.extend(rests);
        schedule.sort_by(|a, b| place(a).cmp(&place(b)).then(a.start.s().total_cmp(&b.start.s())));
    }
}

/// Primes a pad that wants it; whether it did.
fn prime(pad: &mut PadAtWork, kind: &PadKind) -> Result<bool, RangeError> {
    let primed = pad.state.prime(&kind.laws, kind.priming.strokes)?;
    if primed {
        pad.rest_until(kind, pad.at + kind.priming.time.s());
    }
    Ok(primed)
}
