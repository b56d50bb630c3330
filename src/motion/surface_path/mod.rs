//! Tool paths over real surfaces: patterns, sections, paths from files, and what a path covers.
//!
//! A path is a list of [`Waypoint`]s, close enough that the straight plan pieces between them follow the
//! surface. Plan coordinates are not lengths: spacing, leads and feeds are measured on the surface, as
//! chords through space between neighbouring points. A chord of length d on a curve of radius R falls
//! short of it by d²/(24R²): 7 parts in a million at 5 mm on a radius of 0.4 m.
//!
//! The pad centre keeps an inset from every edge, tape line and border
//! ([`Surface::clearance_at`](crate::panel::Surface::clearance_at)), which is itself interpolated on the
//! grid of heights: near the corner of a hole or tape it may promise up to h²/(4ρ) too much, h the grid
//! step and ρ the distance of the corner.
//!
//! Not here: what the pad does along the path, and the choice of force and feed.

mod contour;
mod coverage;
mod error;
mod ground;
mod lines;
mod offsets;
mod order;
mod pattern;
mod recorded;
mod ring;
mod sections;
mod table;
mod trace;

pub use coverage::{PathReport, Revisits};
pub use error::{PathError, RowError};
pub use offsets::{LastLine, MAX_LINES, line_offsets};
pub use pattern::SurfacePattern;
pub use recorded::Steady;
pub use sections::{MAX_SECTIONS, Section, cut_sections};
pub use table::MAX_ROWS;

use crate::equipment::within;
use crate::error::RangeError;
use crate::panel::Surface;
use core::ops::Range;

/// Most waypoints a path may have.
pub const MAX_WAYPOINTS: usize = 1_000_000;

/// A place and time of the pad centre.
///
/// The piece between two waypoints is worked with the pad on where both have a force share above
/// nought; force and time run linearly along it. Where either has none, the pad is off the paint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Waypoint {
    /// Place in plan \[m\].
    pub at: (f64, f64),
    /// Time from the start of the path \[s\].
    pub time_s: f64,
    /// Force over the step's force \[1\]: 1 is the step's force, 0 lifted.
    pub force_share: f64,
    /// Number of the pass, from 0.
    pub pass: usize,
}

/// A pass line without its joints.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfaceLine {
    /// Plan polyline in the direction of work \[m\].
    pub points: Vec<(f64, f64)>,
    /// Number of the pass, from 0.
    pub pass: usize,
}

/// What is worked: line spacing, feed, passes, distance from edges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathSetup {
    /// Largest distance of neighbouring pass lines, measured on the surface \[m\] (0.1 mm to 10 m).
    pub spacing: f64,
    /// Steady feed along the surface [m/s] (0.1 mm/s to 10 m/s).
    pub feed: f64,
    /// Passes, each the whole region once (1 to 1000).
    pub passes: usize,
    /// Least distance of the pad centre from edges, tape and borders \[m\] (0 to 10 m).
    /// See [`SurfacePattern::default_inset`].
    pub inset: f64,
}

/// Ramps of force and feed at both ends of every pass line, linear in the distance on the surface.
///
/// A line shorter than two leads has them meet in its middle. Joints between lines are run at the
/// ends' own force and feed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lead {
    /// Length on the surface \[m\] (0 to 1 m); 0 for none.
    pub length: f64,
    /// Force at the very end over the steady force \[1\] (0.01 to 10).
    pub force_share: f64,
    /// Feed at the very end over the steady feed \[1\] (0.01 to 10).
    pub feed_share: f64,
}

impl Default for Lead {
    fn default() -> Self {
        Self { length: 0.0, force_share: 1.0, feed_share: 1.0 }
    }
}

/// How a path is laid out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SurfacePathOptions {
    /// What is done with the width left over across the lines. [`LastLine::Spill`] is refused: its last
    /// line would come nearer to the edge than the inset.
    pub last_line: LastLine,
    /// Ramps at the lines' ends.
    pub lead: Lead,
    /// Largest distance of waypoints on the surface \[m\] (0.1 mm to 0.1 m). Default 5 mm.
    pub waypoint_distance: f64,
    /// Speed of the lifted pad [m/s] (1 mm/s to 10 m/s). The default of 0.25 m/s is assumed.
    pub travel_speed: f64,
    /// Time to raise the pad, and again to set it down \[s\] (0.01 to 60). The default of 0.25 s is assumed.
    pub raise_s: f64,
    /// Where the path begins, as nearly as it can, in plan \[m\]; by default the corner of least x and y.
    pub start: Option<(f64, f64)>,
}

impl Default for SurfacePathOptions {
    fn default() -> Self {
        Self {
            last_line: LastLine::default(),
            lead: Lead::default(),
            waypoint_distance: 5e-3,
            travel_speed: 0.25,
            raise_s: 0.25,
            start: None,
        }
    }
}

impl PathSetup {
    fn check(&self) -> Result<(), RangeError> {
        within("line spacing", self.spacing * 1e3, 0.1, 10_000.0, "mm")?;
        within("feed_mm_s", self.feed * 1e3, 0.1, 10_000.0, "mm/s")?;
        within("inset_mm", self.inset * 1e3, 0.0, 10_000.0, "mm")?;
        if self.passes == 0 || self.passes > 1000 {
            return Err(RangeError::new("passes", self.passes as f64, "", "1 to 1000"));
        }
        Ok(())
    }
}

impl SurfacePathOptions {
    fn check(&self) -> Result<(), RangeError> {
        within("lead_mm", self.lead.length * 1e3, 0.0, 1000.0, "mm")?;
        within("lead force share", self.lead.force_share, 0.01, 10.0, "")?;
        within("lead feed share", self.lead.feed_share, 0.01, 10.0, "")?;
        within("waypoint distance", self.waypoint_distance * 1e3, 0.1, 100.0, "mm")?;
        within("travel_mm_s", self.travel_speed * 1e3, 1.0, 10_000.0, "mm/s")?;
        within("raise_s", self.raise_s, 0.01, 60.0, "s")?;
        if let Some(p) = self.start {
            within("start of the path", p.0, -1e3, 1e3, "m")?;
            within("start of the path", p.1, -1e3, 1e3, "m")?;
        }
        if self.last_line == LastLine::Spill {
            let allowed = "drop, shift, spread or edge to edge: a spilled line comes nearer than the inset";
            return Err(RangeError::new("last line past the edge", 1.0, "", allowed));
        }
        Ok(())
    }
}

/// The waypoints of one section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SectionRun {
    /// Number of the section, as in [`Section::number`].
    pub number: usize,
    /// Its waypoints; empty where no place in it is as far from the borders as the inset. The lift on
    /// the way to it counts to it.
    pub waypoints: Range<usize>,
}

/// A tool path over a surface: made by [`SurfacePath::over`], [`SurfacePath::over_sections`], or from a file.
///
/// # Accuracy
/// Lengths are sums of chords between waypoints: 7 parts in a million short at 5 mm on a radius of 0.4 m.
#[derive(Debug, Clone, PartialEq)]
pub struct SurfacePath {
    waypoints: Vec<Waypoint>,
    lines: Vec<SurfaceLine>,
    sections: Vec<SectionRun>,
    spacing: Vec<f64>,
    lifts: usize,
    turns: usize,
    length: f64,
    travel: f64,
    time_on: f64,
}

impl SurfacePath {
    /// Joins what was traced, and measures it.
    fn finish(
        surface: &Surface,
        waypoints: Vec<Waypoint>,
        lines: Vec<SurfaceLine>,
        lifts: usize,
        spacing: Vec<f64>,
        sections: Vec<SectionRun>,
    ) -> Self {
        let mut out =
            Self { waypoints, lines, sections, spacing, lifts, turns: 0, length: 0.0, travel: 0.0, time_on: 0.0 };
        let mut heading: Option<[f64; 3]> = None;
        for w in out.waypoints.windows(2) {
            let (p, q) =
                (surface.heights().point_at(w[0].at.0, w[0].at.1), surface.heights().point_at(w[1].at.0, w[1].at.1));
            let way = [q[0] - p[0], q[1] - p[1], q[2] - p[2]];
            let length = way[0].hypot(way[1]).hypot(way[2]);
            if is_on(&w[0], &w[1]) {
                out.length += length;
                out.time_on += w[1].time_s - w[0].time_s;
            } else {
                out.travel += length;
            }
            // Below a hundredth of a millimetre a direction is rounding.
            if length > 1e-5 {
                let unit = way.map(|c| c / length);
                if let Some(h) = heading
                    && h[0] * unit[0] + h[1] * unit[1] + h[2] * unit[2] < core::f64::consts::FRAC_1_SQRT_2
                {
                    out.turns += 1;
                }
                heading = Some(unit);
            }
        }
        out
    }

    /// The same path at another feed in each pass: the feed of pass `n` with the pad on times `share(n)` \[1\],
    /// above 0; the lifted pad travels as before.
    #[must_use]
    pub fn with_feeds(mut self, share: impl Fn(usize) -> f64) -> Self {
        let (mut gained, mut time_on) = (0.0, 0.0);
        let mut last: Option<Waypoint> = None;
        for w in &mut self.waypoints {
            let given = *w;
            if let Some(before) = last.filter(|b| is_on(b, &given)) {
                let took = given.time_s - before.time_s;
                let takes = took / share(before.pass);
                gained += takes - took;
                time_on += takes;
            }
            w.time_s += gained;
            last = Some(given);
        }
        self.time_on = time_on;
        self
    }

    /// Waypoints in order; their times rise strictly.
    #[must_use]
    pub fn waypoints(&self) -> &[Waypoint] {
        &self.waypoints
    }

    /// Pass lines in the order in which they are worked.
    #[must_use]
    pub fn lines(&self) -> &[SurfaceLine] {
        &self.lines
    }

    /// Largest distance of neighbouring pass lines in each pass, on the surface \[m\]; empty for a path
    /// from a file.
    #[must_use]
    pub fn spacing(&self) -> &[f64] {
        &self.spacing
    }

    /// Waypoints of each section, for a path worked section by section.
    #[must_use]
    pub fn sections(&self) -> &[SectionRun] {
        &self.sections
    }

    /// Number of times the pad is lifted before the end.
    #[must_use]
    pub const fn lifts(&self) -> usize {
        self.lifts
    }

    /// Number of changes of direction above 45° at one place, lifted or not.
    #[must_use]
    pub const fn turns(&self) -> usize {
        self.turns
    }

    /// Length on the surface with the pad on \[m\].
    #[must_use]
    pub const fn length(&self) -> f64 {
        self.length
    }

    /// Length with the pad off, straight through space \[m\].
    #[must_use]
    pub const fn travel_length(&self) -> f64 {
        self.travel
    }

    /// Whole time, lifts included \[s\].
    #[must_use]
    pub fn time(&self) -> f64 {
        self.waypoints.last().map_or(0.0, |w| w.time_s)
    }

    /// Time with the pad on \[s\].
    #[must_use]
    pub const fn time_on(&self) -> f64 {
        self.time_on
    }
}

/// Whether the pad is on between two successive waypoints.
pub(super) fn is_on(a: &Waypoint, b: &Waypoint) -> bool {
    a.force_share > 0.0 && b.force_share > 0.0
}
