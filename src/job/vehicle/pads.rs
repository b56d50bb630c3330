//! The pads of a vehicle: how many of each kind with its product, how they are cleaned, and what it costs
//! in waiting where fewer are at hand.
//!
//! Each kind is followed on a clock of its own, since pads of different kinds share nothing but the
//! operator. Where fewer pads are at hand than the rotation wants, each is cleaned after every section and
//! the least rest between sections is looked for that keeps all limits, up to [`LONGEST_REST_S`].

use super::Vehicle;
use super::work::Worked;
use crate::Error;
use crate::job::model::Job;
use crate::job::pads::rotation_job;
use crate::units::{Temperature, Time, Volume};
use crate::wear::{
    Activity, LimitPassed, MOST_PADS, PadKind, Rotation, RotationJob, RotationOutcome, SectionWork, rotate,
    run_rotation,
};

/// Longest rest between two sections that is looked at, s.
pub(super) const LONGEST_REST_S: f64 = 1800.0;

/// A kind of pad with its product.
#[derive(Debug, Clone)]
pub struct KindOfPad {
    /// Pad.
    pub pad: String,
    /// Product that it stays with.
    pub product: String,
    /// Pads that keep every limit without a rest; `None` where no number does.
    pub wanted: Option<usize>,
    /// Pads used.
    pub used: usize,
    /// Sections that one works before it is cleaned.
    pub clean_every: usize,
    /// Rest between two sections so that the pads at hand keep their limits.
    pub rest: Time,
    /// The limit that is passed all the same.
    pub passed: Option<LimitPassed>,
    /// Washes at the end, and the time of one.
    pub washes: (u32, Time),
    /// Product used, priming included.
    pub product_used: Volume,
    /// Hottest core.
    pub hottest: Option<Temperature>,
}

/// The pads of the vehicle.
#[derive(Debug, Clone, Default)]
pub struct PadsAtHand {
    /// Kinds in the order in which they come into use.
    pub kinds: Vec<KindOfPad>,
    /// Time to prime, to clean and to rest of each step, s.
    pub(super) handling: Vec<[f64; 3]>,
    /// Kind of each step.
    pub(super) kind_of: Vec<Option<usize>>,
}

/// How many of each kind may be used: the stock of a pad shared among its products, the largest wish cut
/// first, one each at least.
fn shares(wishes: &[(usize, usize)], stock: impl Fn(usize) -> Option<usize>) -> Vec<usize> {
    let mut out: Vec<usize> = wishes.iter().map(|w| w.1).collect();
    for pad in 0..=wishes.iter().map(|w| w.0).max().unwrap_or(0) {
        let Some(most) = stock(pad) else { continue };
        let own: Vec<usize> = (0..wishes.len()).filter(|i| wishes[*i].0 == pad).collect();
        while own.iter().map(|i| out[*i]).sum::<usize>() > most {
            match own.iter().copied().filter(|i| out[*i] > 1).max_by_key(|i| (out[*i], core::cmp::Reverse(*i))) {
                Some(i) => out[i] -= 1,
                None => break,
            }
        }
    }
    out
}

/// The pads for the steps in their order.
pub(super) fn pads_at_hand(job: &Job, vehicle: &Vehicle, works: &[Worked]) -> Result<PadsAtHand, Error> {
    let steps: Vec<_> = works.iter().map(|w| w.step.clone()).collect();
    let heats: Vec<_> = works.iter().map(|w| w.heat.clone()).collect();
    let mut out =
        PadsAtHand { handling: vec![[0.0; 3]; works.len()], kind_of: vec![None; works.len()], ..PadsAtHand::default() };
    let Some((names, rotation, _)) = rotation_job(job, &steps, &heats)? else { return Ok(out) };
    let mut step_of: Vec<usize> = Vec::new();
    for (i, heat) in heats.iter().enumerate() {
        if let Some(h) = heat {
            step_of.extend(core::iter::repeat_n(i, h.sections));
            out.kind_of[i] =
                names.iter().position(|(pad, product)| *pad == steps[i].pad_name && *product == steps[i].product_name);
        }
    }
    let between = Time::from_s(vehicle.times.wipe.s() + vehicle.times.inspect.s());
    let mut alone = Vec::new();
    let mut wishes = Vec::new();
    for (k, (pad, _)) in names.iter().enumerate() {
        let mut kind = rotation.kinds[k].clone();
        if let Some(by) = &mut kind.policy.by {
            by.time = vehicle.times.clean;
        }
        let own: Vec<usize> = (0..rotation.sections.len()).filter(|s| rotation.sections[*s].kind == k).collect();
        let sections: Vec<SectionWork> = own.iter().map(|s| SectionWork { kind: 0, ..rotation.sections[*s] }).collect();
        let one = RotationJob { kinds: vec![kind], sections, air: rotation.air, changeover: between };
        let wanted = match rotate(&one, MOST_PADS)? {
            RotationOutcome::Enough(r) => Some(r.pads[0]),
            RotationOutcome::Short(_) => None,
        };
        let index = job.pads.iter().position(|p| p.name == *pad).unwrap_or(0);
        wishes.push((index, wanted.unwrap_or(1)));
        alone.push((one, own, wanted));
    }
    let used = shares(&wishes, |pad| vehicle.pads.get(pad).and_then(|p| p.count));
    for (k, (mut one, own, wanted)) in alone.into_iter().enumerate() {
        let (run, rest) = if wanted.is_some_and(|w| used[k] >= w) {
            (run_rotation(&one, &[used[k]])?, 0.0)
        } else {
            one.kinds[0].policy.turn = 1;
            with_rests(&one, used[k])?
        };
        account(&mut out.handling, &run, &own, &step_of, rest);
        let kind: &PadKind = &one.kinds[0];
        let wash = kind.policy.wash.map_or(Time::from_s(0.0), |w| w.time);
        out.kinds.push(KindOfPad {
            pad: names[k].0.clone(),
            product: names[k].1.clone(),
            wanted,
            used: used[k],
            clean_every: kind.policy.turn,
            rest: Time::from_s(rest),
            passed: run.passed.first().copied(),
            washes: (run.washes[0], wash),
            product_used: run.product,
            hottest: run.sections.iter().map(|s| s.peak_core.k()).max_by(f64::total_cmp).map(Temperature::from_k),
        });
    }
    Ok(out)
}

/// The least rest between sections with which so many pads keep every limit, to a second; none where even
/// the longest does not help.
fn with_rests(one: &RotationJob, pads: usize) -> Result<(Rotation, f64), Error> {
    let at = |rest: f64| -> Result<Rotation, Error> {
        let changeover = Time::from_s((one.changeover.s() + rest).min(3600.0));
        Ok(run_rotation(&RotationJob { changeover, ..one.clone() }, &[pads])?)
    };
    let none = at(0.0)?;
    if none.passed.is_empty() {
        return Ok((none, 0.0));
    }
    let mut best = at(LONGEST_REST_S)?;
    if !best.passed.is_empty() {
        return Ok((none, 0.0));
    }
    let (mut low, mut high) = (0.0, LONGEST_REST_S);
    while high - low > 1.0 {
        let middle = 0.5 * (low + high);
        let trial = at(middle)?;
        if trial.passed.is_empty() {
            (high, best) = (middle, trial);
        } else {
            low = middle;
        }
    }
    Ok((best, high))
}

/// Puts priming, cleaning and resting down to the steps that they belong to: priming to the section it
/// comes before, cleaning and rest to the one they come after.
fn account(handling: &mut [[f64; 3]], run: &Rotation, own: &[usize], step_of: &[usize], rest: f64) {
    let mut works: Vec<(f64, f64, usize)> = run
        .schedule
        .iter()
        .filter_map(|e| match e.activity {
            Activity::Work(section) => Some((e.start.s(), e.end.s(), section)),
            _ => None,
        })
        .collect();
    works.sort_by(|a, b| a.0.total_cmp(&b.0));
    let step = |section: usize| step_of[own[section]];
    // A thousandth of a second forgives the rounding of the clock.
    let slack = 1e-3;
    for e in &run.schedule {
        let time = e.end.s() - e.start.s();
        match e.activity {
            Activity::Prime => {
                if let Some(w) = works.iter().find(|w| w.0 >= e.end.s() - slack) {
                    handling[step(w.2)][0] += time;
                }
            }
            Activity::Clean(_) => {
                if let Some(w) = works.iter().rev().find(|w| w.1 <= e.start.s() + slack) {
                    handling[step(w.2)][1] += time;
                }
            }
            _ => {}
        }
    }
    for w in works.iter().rev().skip(1) {
        handling[step(w.2)][2] += rest;
    }
}
