//! Lays a path down waypoint by waypoint: lengths on the surface, leads, times, lifts.

use super::ground::{Ground, SAMPLE, SLACK, between, distance};
use super::{MAX_WAYPOINTS, PathError, PathSetup, SectionRun, SurfaceLine, SurfacePath, SurfacePathOptions, Waypoint};
use crate::panel::Surface;

/// Distance below which two places are one, m: no time passes between them.
const TOUCH: f64 = 1e-9;

/// Share of the steady value at a line's very end, and the length on the surface of the ramp.
#[derive(Debug, Clone, Copy)]
struct Ramp {
    length: f64,
    force: f64,
    feed: f64,
}

impl Ramp {
    /// Share at a distance from the end.
    fn share(self, end: f64, distance: f64) -> f64 {
        if distance >= self.length { 1.0 } else { end + (1.0 - end) * distance / self.length }
    }

    /// Time over the part of the ramp from the end to `distance`, at a steady feed of 1 m/s: the
    /// integral of ds/(feed share), the feed share rising linearly.
    fn time(self, distance: f64) -> f64 {
        if self.length <= 0.0 {
            return distance;
        }
        let ramped = distance.min(self.length);
        let x = (1.0 - self.feed) * ramped / (self.length * self.feed);
        let stretch = if x.abs() < 1e-9 { 1.0 } else { x.ln_1p() / x };
        ramped / self.feed * stretch + (distance - ramped)
    }
}

pub(super) struct Trace<'a> {
    pub(super) ground: Ground<'a>,
    options: SurfacePathOptions,
    feed: f64,
    pub(super) pass: usize,
    pub(super) waypoints: Vec<Waypoint>,
    pub(super) lines: Vec<SurfaceLine>,
    pub(super) lifts: usize,
    /// Longest leg with the pad on between two lines, m.
    pub(super) reach: f64,
    start: (f64, f64),
}

impl<'a> Trace<'a> {
    pub(super) fn new(ground: Ground<'a>, setup: &PathSetup, options: &SurfacePathOptions, start: (f64, f64)) -> Self {
        Self {
            ground,
            options: *options,
            feed: setup.feed,
            pass: 0,
            waypoints: Vec::new(),
            lines: Vec::new(),
            lifts: 0,
            reach: 2.0 * setup.spacing,
            start,
        }
    }

    /// Sets where the path is to begin.
    pub(super) fn begin(&mut self, start: (f64, f64)) {
        self.start = start;
    }

    /// The finished path.
    pub(super) fn done(
        self,
        surface: &Surface,
        spacing: Vec<f64>,
        setup: &PathSetup,
        sections: Vec<SectionRun>,
    ) -> Result<SurfacePath, PathError> {
        if self.waypoints.len() < 2 {
            // Places that keep the inset, but no stretch long enough to be a pass.
            return Err(PathError::NothingToWork { inset: setup.inset, largest: setup.inset });
        }
        Ok(SurfacePath::finish(surface, self.waypoints, self.lines, self.lifts, spacing, sections))
    }

    /// Where the pad stands, or where the path is to begin.
    pub(super) fn at(&self) -> (f64, f64) {
        self.waypoints.last().map_or(self.start, |w| w.at)
    }

    fn now(&self) -> f64 {
        self.waypoints.last().map_or(0.0, |w| w.time_s)
    }

    pub(super) fn push(&mut self, at: (f64, f64), after: f64, force_share: f64) -> Result<(), PathError> {
        if self.waypoints.len() >= MAX_WAYPOINTS {
            return Err(PathError::TooManyWaypoints { allowed: MAX_WAYPOINTS });
        }
        let time_s = self.now() + after;
        self.waypoints.push(Waypoint { at, time_s, force_share, pass: self.pass });
        Ok(())
    }

    /// The place between two neighbours of a line, moved off what it would come too near to where the line
    /// bends; the nearer of the two where that cannot be done.
    fn held(&self, a: (f64, f64), b: (f64, f64), share: f64) -> (f64, f64) {
        let nearer = if share < 0.5 { a } else { b };
        self.ground.pushed(between(a, b, share), 5.0 * SAMPLE).unwrap_or(nearer)
    }

    /// Points along a plan polyline, evenly spaced on the surface between the given distances along it.
    fn resampled(&self, points: &[(f64, f64)], breaks: &[f64]) -> Vec<(f64, f64)> {
        let mut along = Vec::with_capacity(points.len());
        let mut sum = 0.0;
        along.push(0.0);
        for w in points.windows(2) {
            sum += self.ground.length(w[0], w[1]);
            along.push(sum);
        }
        let mut marks = vec![0.0];
        for (from, to) in breaks.iter().zip(&breaks[1..]) {
            if to - from < 1e-9 {
                continue;
            }
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped
            let pieces = (((to - from) / self.options.waypoint_distance - 1e-9).ceil().clamp(1.0, 1e7)) as usize;
            marks.extend((1..=pieces).map(|i| from + (to - from) * i as f64 / pieces as f64));
        }
        let mut at = 0;
        marks
            .iter()
            .map(|m| {
                while at + 2 < along.len() && along[at + 1] < *m {
                    at += 1;
                }
                let piece = along[at + 1] - along[at];
                let share = if piece > 0.0 { ((m - along[at]) / piece).clamp(0.0, 1.0) } else { 0.0 };
                self.held(points[at], points[at + 1], share)
            })
            .collect()
    }

    fn surface_length(&self, points: &[(f64, f64)]) -> f64 {
        points.windows(2).map(|w| self.ground.length(w[0], w[1])).sum()
    }

    /// A pass line along a plan polyline from where the pad stands (or is set down), with its leads.
    pub(super) fn line(&mut self, points: &[(f64, f64)]) -> Result<(), PathError> {
        if points.len() < 2 {
            return Ok(());
        }
        let whole = self.surface_length(points);
        let lead = self.options.lead;
        let length = lead.length.min(0.5 * whole);
        let ramp = if length > 0.0 {
            Ramp { length, force: lead.force_share, feed: lead.feed_share }
        } else {
            Ramp { length: 0.0, force: 1.0, feed: 1.0 }
        };
        let mut marks = self.resampled(points, &[0.0, length, whole - length, whole]);
        self.touch(marks[0], ramp.share(ramp.force, 0.0))?;
        // The pad may stand a micrometre beside the line's first point already.
        marks[0] = self.at();
        // Times go by the chords between the waypoints, as every length that is reported does.
        let chords: Vec<f64> = marks.windows(2).map(|w| self.ground.length(w[0], w[1])).collect();
        let total: f64 = chords.iter().sum();
        let ramp = Ramp { length: ramp.length.min(0.5 * total), ..ramp };
        let time = |s: f64| {
            if s <= 0.5 * total { ramp.time(s) } else { 2.0 * ramp.time(0.5 * total) - ramp.time(total - s) }
        };
        let (mut done, mut before) = (0.0, 0.0);
        for (p, chord) in marks[1..].iter().zip(&chords) {
            done += chord;
            if *chord < TOUCH {
                continue;
            }
            let now = time(done);
            self.push(*p, (now - before) / self.feed, ramp.share(ramp.force, done.min((total - done).max(0.0))))?;
            before = now;
        }
        self.lines.push(SurfaceLine { points: marks, pass: self.pass });
        Ok(())
    }

    /// Sets the pad down at `p` with a share of the force, where it does not stand there already.
    fn touch(&mut self, p: (f64, f64), force_share: f64) -> Result<(), PathError> {
        match self.waypoints.last() {
            None => self.push(p, 0.0, force_share),
            Some(w) if w.force_share > 0.0 => Ok(()),
            Some(_) => self.push(p, self.options.raise_s, force_share),
        }
    }

    /// Brings the pad to `to`: along the surface at the line ends' own feed and force where a leg stays
    /// clear and is short, by a lift otherwise.
    pub(super) fn go_to(&mut self, to: (f64, f64)) -> Result<(), PathError> {
        let Some(last) = self.waypoints.last().copied() else { return Ok(()) };
        let from = last.at;
        if distance(from, to) < 2.0 * SLACK {
            return Ok(());
        }
        if last.force_share > 0.0 && distance(from, to) <= self.reach {
            let limit = 0.5 * self.reach;
            if let Some(leg) = self.ground.leg(from, to, limit)
                && self.surface_length(&leg) <= 1.5 * self.reach
            {
                let (force, feed) = match self.options.lead {
                    lead if lead.length > 0.0 => (lead.force_share, lead.feed_share * self.feed),
                    _ => (1.0, self.feed),
                };
                let whole = self.surface_length(&leg);
                let marks = self.resampled(&leg, &[0.0, whole]);
                for p in &marks[1..] {
                    let chord = self.ground.length(self.at(), *p);
                    if chord >= TOUCH {
                        self.push(*p, chord / feed, force)?;
                    }
                }
                return Ok(());
            }
        }
        if last.force_share > 0.0 {
            self.push(from, self.options.raise_s, 0.0)?;
            self.lifts += 1;
        }
        self.push(to, self.ground.length(from, to) / self.options.travel_speed, 0.0)
    }
}
