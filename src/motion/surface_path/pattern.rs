//! Patterns over the workable region of a surface.
//!
//! The figure of eight is that of hand-arm vibration tests of polishers and sanders, where the machine is
//! led in figures of two touching circles of about 50 mm radius, some 4 s each, over a plate of at least
//! 400 x 300 mm (ISO 28927-3:2009, as summarised at second hand; the standard itself was not read).

use super::contour::Field;
use super::ground::{Ground, OPEN, SAMPLE, Sides, distance};
use super::lines::{LineSet, Turned, cells};
use super::order::{work_cells, work_rings};
use super::ring;
use super::sections::Section;
use super::trace::Trace;
use super::{MAX_WAYPOINTS, PathError, PathSetup, SectionRun, SurfacePath, SurfacePathOptions};
use crate::equipment::within;
use crate::error::RangeError;
use crate::panel::Surface;
use crate::units::Angle;
use core::f64::consts::TAU;

/// How a region is worked.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum SurfacePattern {
    /// Every pass along lines at one angle to plan x.
    Raster {
        /// Angle of the lines from plan x.
        angle: Angle,
    },
    /// Pass i along lines at the i-th angle, round again after the last.
    Crosshatch {
        /// Angles from plan x, 1 to 1000 of them.
        angles: Vec<Angle>,
    },
    /// Once along every border at the inset, then the inner pattern, which keeps half a spacing more: the
    /// edge is not worked twice, and no gap beside the ring is wider than the spacing. Where nothing is
    /// left inside the ring, the ring is all.
    EdgeFirst {
        /// What follows the edge ring; not another edge ring.
        inner: Box<SurfacePattern>,
    },
    /// Rings along the borders from the outside in, joined.
    Spiral,
    /// Figures of eight across lanes, advancing along them; the lanes stand as the lines of a raster do,
    /// where a whole figure keeps the inset.
    FigureOfEight {
        /// Angle of the lanes from plan x.
        angle: Angle,
        /// Radius of each of the two circles, on the surface, m (1 mm to 1 m).
        radius: f64,
        /// Advance along the lane with each figure, at most, m (1 mm to 1 m).
        advance: f64,
    },
}

impl SurfacePattern {
    /// Lines along x and along y in turn.
    #[must_use]
    pub fn crosshatch() -> Self {
        Self::Crosshatch { angles: vec![Angle::from_deg(0.0), Angle::from_deg(90.0)] }
    }

    /// An inset from which the pattern reaches every part of the region.
    ///
    /// ```text
    /// 0.6 reach                        where something runs along every border, or lines end at it
    /// min(0.6 reach, reach − spacing)  where the nearest line may run a whole spacing away from one
    /// ```
    ///
    /// `reach` \[m\] of the pad (radius and face orbit), `spacing` of the lines \[m\], number of passes. A pad
    /// that keeps 0.6 of its reach from two edges reaches into corners down to 2·asin 0.6 = 74°; one that
    /// keeps its whole radius leaves the corners of a rectangle bare. The second line is for a raster whose
    /// lines run along the side of a hole: the line next to the hole may lie up to a spacing beyond the
    /// inset. Nought where the spacing is more than the reach: then no inset makes up for it.
    ///
    /// # Assumptions and valid range
    /// Own rule, from the geometry of a disc in a corner and beside a line.
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::SurfacePattern;
    /// use trochoid::Angle;
    /// // Reach 71 mm, lines 65 mm apart: 0.6 × 71 = 42.6 mm where lines end at every border; a raster can only
    /// // afford 71 − 65 = 6 mm beside a hole.
    /// let raster = SurfacePattern::Raster { angle: Angle::from_deg(0.0) };
    /// assert!((SurfacePattern::crosshatch().default_inset(0.071, 0.065, 2) - 0.0426).abs() < 1e-12);
    /// assert!((raster.default_inset(0.071, 0.065, 2) - 0.006).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn default_inset(&self, reach: f64, spacing: f64, passes: usize) -> f64 {
        let corner = 0.6 * reach;
        let by_ends = match self {
            Self::EdgeFirst { .. } | Self::Spiral => true,
            Self::Crosshatch { angles } => angles.iter().take(passes).any(|a| {
                let turn = (a.rad() - angles[0].rad()).sin().abs();
                turn > 0.8
            }),
            Self::Raster { .. } | Self::FigureOfEight { .. } => false,
        };
        if by_ends { corner } else { corner.min((reach - spacing).max(0.0)) }
    }

    fn check(&self) -> Result<(), RangeError> {
        match self {
            Self::Crosshatch { angles } if angles.is_empty() || angles.len() > 1000 => {
                Err(RangeError::new("crosshatch angles", angles.len() as f64, "", "1 to 1000 of them"))
            }
            Self::Crosshatch { angles } => angles.iter().try_for_each(|a| angle_within(*a)),
            Self::Raster { angle } => angle_within(*angle),
            Self::FigureOfEight { angle, radius, advance } => {
                angle_within(*angle)?;
                within("figure radius", radius * 1e3, 1.0, 1000.0, "mm")?;
                within("figure advance", advance * 1e3, 1.0, 1000.0, "mm").map(|_| ())
            }
            Self::EdgeFirst { inner } => match **inner {
                Self::EdgeFirst { .. } => {
                    Err(RangeError::new("edge rings", 2.0, "", "one: the inner pattern is not another edge ring"))
                }
                _ => inner.check(),
            },
            Self::Spiral => Ok(()),
        }
    }
}

fn angle_within(angle: Angle) -> Result<(), RangeError> {
    within("pattern angle", angle.deg(), -360.0, 360.0, "°").map(|_| ())
}

impl SurfacePath {
    /// A path over everything that is to be worked on a surface.
    ///
    /// # Errors
    /// Settings outside their ranges; no place as far from edges, tape and borders as the inset; more
    /// than [`MAX_WAYPOINTS`](super::MAX_WAYPOINTS).
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::{PathSetup, SurfacePath, SurfacePathOptions, SurfacePattern};
    /// use trochoid::panel::{HeightMap, Surface};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let flat = Surface::new(HeightMap::from_function((0.0, 0.0), (0.4, 0.3), 0.01, |_, _| 0.0)?);
    /// let pattern = SurfacePattern::Raster { angle: trochoid::Angle::from_deg(0.0) };
    /// let setup = PathSetup { spacing: 0.1, feed: 0.04, passes: 1, inset: 0.05 };
    /// // 50 mm inside 400 x 300 mm: three lines of 300 mm, two joints of 100 mm.
    /// let path = SurfacePath::over(&flat, &pattern, &setup, &SurfacePathOptions::default())?;
    /// assert_eq!((path.lines().len(), path.lifts()), (3, 0));
    /// assert!((path.length() - 1.1).abs() < 1e-3);
    /// # Ok(())
    /// # }
    /// ```
    pub fn over(
        surface: &Surface,
        pattern: &SurfacePattern,
        setup: &PathSetup,
        options: &SurfacePathOptions,
    ) -> Result<Self, PathError> {
        check(pattern, setup, options)?;
        let mut trace = Trace::new(ground(surface, OPEN, setup), setup, options, (0.0, 0.0));
        let mut spacing = Vec::new();
        let field = field(&trace.ground);
        let loops = region(&trace.ground, &field)?;
        trace.begin(options.start.unwrap_or_else(|| lower_corner(&loops)));
        work(&mut trace, &field, &loops, pattern, setup, options, &mut spacing)?;
        trace.done(surface, spacing, setup, Vec::new())
    }

    /// A path over sections, each with all its passes before the next. A section in which no place keeps
    /// the inset gets no waypoints. `sections` as of [`cut_sections`](super::cut_sections), the rest as in the
    /// example of [`SurfacePath::over`].
    ///
    /// # Errors
    /// As [`SurfacePath::over`]; nothing to work in any section.
    pub fn over_sections(
        surface: &Surface,
        sections: &[Section],
        pattern: &SurfacePattern,
        setup: &PathSetup,
        options: &SurfacePathOptions,
    ) -> Result<Self, PathError> {
        check(pattern, setup, options)?;
        let mut trace = Trace::new(ground(surface, OPEN, setup), setup, options, (0.0, 0.0));
        let (mut spacing, mut runs) = (Vec::new(), Vec::new());
        let mut largest = f64::NEG_INFINITY;
        for section in sections {
            let from = trace.waypoints.len();
            trace.ground = ground(surface, section.sides(), setup);
            let field = field(&trace.ground);
            match region(&trace.ground, &field) {
                Ok(loops) => {
                    if from == 0 {
                        trace.begin(options.start.unwrap_or_else(|| lower_corner(&loops)));
                    }
                    work(&mut trace, &field, &loops, pattern, setup, options, &mut spacing)?;
                }
                Err(PathError::NothingToWork { largest: here, .. }) => largest = largest.max(here),
                Err(e) => return Err(e),
            }
            runs.push(SectionRun { number: section.number(), waypoints: from..trace.waypoints.len() });
        }
        if trace.waypoints.is_empty() {
            return Err(PathError::NothingToWork { inset: setup.inset, largest });
        }
        trace.done(surface, spacing, setup, runs)
    }
}

fn check(pattern: &SurfacePattern, setup: &PathSetup, options: &SurfacePathOptions) -> Result<(), PathError> {
    pattern.check()?;
    setup.check()?;
    options.check()?;
    Ok(())
}

fn ground<'a>(surface: &'a Surface, sides: Sides, setup: &PathSetup) -> Ground<'a> {
    Ground { surface, sides, inset: setup.inset }
}

/// Margins at the nodes of the part of the grid that the section needs.
fn field(ground: &Ground<'_>) -> Field {
    window(ground, |p| ground.margin(p))
}

fn window(ground: &Ground<'_>, f: impl Fn((f64, f64)) -> f64 + Sync + Send) -> Field {
    let heights = ground.surface.heights();
    let (origin, step, count) = (heights.origin(), heights.step(), heights.count());
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the grid
    let cut = |low: f64, high: f64, from: f64, count: usize| {
        let last = (count - 1) as f64;
        let a = ((low - from) / step - 2.0).floor().clamp(0.0, last - 2.0) as usize;
        let b = ((high - from) / step + 2.0).ceil().clamp(a as f64 + 2.0, last) as usize;
        (a, b - a + 1)
    };
    let s = ground.sides;
    let (i, nx) = cut(s[0], s[1], origin.0, count.0);
    let (j, ny) = cut(s[2], s[3], origin.1, count.1);
    Field::sample(heights.node(i, j), step, (nx, ny), |x, y| f((x, y)))
}

/// Borders of the region where the pad centre may stand.
fn region(ground: &Ground<'_>, field: &Field) -> Result<Vec<Vec<(f64, f64)>>, PathError> {
    let loops = field.loops(0.0);
    let largest = field.largest() + ground.inset;
    // Touching the inset at a node gives a loop of no extent; a pass needs a millimetre.
    let extent = |l: &Vec<(f64, f64)>| l.iter().any(|p| distance(*p, l[0]) > 1e-3);
    if field.largest() < 0.0 || !loops.iter().any(extent) {
        return Err(PathError::NothingToWork { inset: ground.inset, largest });
    }
    Ok(loops)
}

fn lower_corner(loops: &[Vec<(f64, f64)>]) -> (f64, f64) {
    loops.iter().flatten().fold((f64::INFINITY, f64::INFINITY), |low, p| (low.0.min(p.0), low.1.min(p.1)))
}

fn work(
    trace: &mut Trace<'_>,
    field: &Field,
    loops: &[Vec<(f64, f64)>],
    pattern: &SurfacePattern,
    setup: &PathSetup,
    options: &SurfacePathOptions,
    spacing: &mut Vec<f64>,
) -> Result<(), PathError> {
    trace.pass = 0;
    if let SurfacePattern::EdgeFirst { inner } = pattern {
        work_rings(trace, ring::edge(field))?;
        let ground = Ground { inset: trace.ground.inset + 0.5 * setup.spacing, ..trace.ground };
        let field = self::field(&ground);
        return match region(&ground, &field) {
            Ok(loops) => passes(trace, &ground, &field, &loops, inner, setup, options, spacing),
            Err(PathError::NothingToWork { .. }) => Ok(()),
            Err(e) => Err(e),
        };
    }
    let ground = trace.ground;
    passes(trace, &ground, field, loops, pattern, setup, options, spacing)
}

/// All passes of a pattern; legs between lines keep the trace's own inset, lines that of `ground`.
#[allow(clippy::too_many_arguments)] // the second half of `work`
fn passes(
    trace: &mut Trace<'_>,
    ground: &Ground<'_>,
    field: &Field,
    loops: &[Vec<(f64, f64)>],
    inner: &SurfacePattern,
    setup: &PathSetup,
    options: &SurfacePathOptions,
    spacing: &mut Vec<f64>,
) -> Result<(), PathError> {
    for pass in 0..setup.passes {
        trace.pass = pass;
        let gap = match inner {
            SurfacePattern::Raster { angle } => raster(trace, ground, loops, *angle, setup, options)?,
            SurfacePattern::Crosshatch { angles } => {
                raster(trace, ground, loops, angles[pass % angles.len()], setup, options)?
            }
            SurfacePattern::Spiral => {
                let (rings, gap) = ring::spiral(ground, field, setup.spacing, options.waypoint_distance)?;
                work_rings(trace, rings)?;
                gap
            }
            SurfacePattern::FigureOfEight { angle, radius, advance } => {
                eights(trace, ground, *angle, *radius, *advance, setup, options)?
            }
            // Refused by the check: an edge ring holds no other.
            SurfacePattern::EdgeFirst { .. } => 0.0,
        };
        match spacing.get_mut(pass) {
            Some(s) => *s = s.max(gap),
            None => spacing.push(gap),
        }
    }
    Ok(())
}

/// Refuses a raster that would need far more waypoints than allowed before it is laid out.
fn bounded(set: &LineSet, figures: f64, setup: &PathSetup, options: &SurfacePathOptions) -> Result<(), PathError> {
    let lines = set.len() as f64 * setup.passes as f64;
    // A region may fill as little as a quarter of its box; the exact count is kept while tracing. Figures
    // are laid out finer than waypoints, a whole lane at once.
    let most = if figures > 1.0 { 1.0 } else { 4.0 } * MAX_WAYPOINTS as f64;
    if lines * set.run() * figures / options.waypoint_distance > most {
        return Err(PathError::TooManyWaypoints { allowed: MAX_WAYPOINTS });
    }
    Ok(())
}

fn raster(
    trace: &mut Trace<'_>,
    ground: &Ground<'_>,
    loops: &[Vec<(f64, f64)>],
    angle: Angle,
    setup: &PathSetup,
    options: &SurfacePathOptions,
) -> Result<f64, PathError> {
    let set = LineSet::fit(ground.surface.heights(), loops, angle.rad(), setup.spacing, options.last_line)?;
    bounded(&set, 1.0, setup, options)?;
    let lines = (0..set.len()).map(|k| set.stretches(k, |p| ground.margin(p))).collect();
    work_cells(trace, cells(lines), |points| points)?;
    Ok(set.spacing)
}

/// Points of one figure round its middle, along and across the lane, m; `turn` runs from 0 to 1.
fn eight(radius: f64, turn: f64) -> (f64, f64) {
    let (sin, cos) = (2.0 * TAU * turn).sin_cos();
    let side = if turn < 0.5 { 1.0 } else { -1.0 };
    (radius * sin, side * radius * (1.0 - cos))
}

#[allow(clippy::too_many_arguments)] // one call site; an arm of `passes`
fn eights(
    trace: &mut Trace<'_>,
    ground: &Ground<'_>,
    angle: Angle,
    radius: f64,
    advance: f64,
    setup: &PathSetup,
    options: &SurfacePathOptions,
) -> Result<f64, PathError> {
    let heights = ground.surface.heights();
    let turned = Turned::by(angle.rad());
    // Offsets on the surface, laid off in plan with the slopes, over the figure's own size, at its middle.
    let offsets_at = |middle: (f64, f64)| {
        let (sx, sy) = heights.slope_at(middle.0, middle.1, radius);
        let (lane, cross) = (turned.plan(1.0, 0.0), turned.plan(0.0, 1.0));
        let (rise, lean) = (sx * lane.0 + sy * lane.1, sx * cross.0 + sy * cross.1);
        let (short, narrow) = (1.0 / (1.0 + rise * rise).sqrt(), 1.0 / (1.0 + lean * lean).sqrt());
        move |(along, across): (f64, f64)| {
            let d = turned.plan(short * along, narrow * across);
            (middle.0 + d.0, middle.1 + d.1)
        }
    };
    let fits = |p: (f64, f64)| {
        let offset = offsets_at(p);
        (0..48).map(|i| ground.margin(offset(eight(radius, f64::from(i) / 48.0)))).fold(f64::INFINITY, f64::min)
    };
    let lanes = window(ground, fits);
    let loops = region(ground, &lanes).map_err(|e| match e {
        PathError::NothingToWork { inset, largest } => {
            PathError::NothingToWork { inset: inset + 2.0 * radius, largest: largest + 2.0 * radius }
        }
        other => other,
    })?;
    let set = LineSet::fit(heights, &loops, angle.rad(), setup.spacing, options.last_line)?;
    bounded(&set, 2.0 * TAU * radius / advance, setup, options)?;
    let lines = (0..set.len()).map(|k| set.stretches(k, fits)).collect();
    let figure = |points: Vec<(f64, f64)>| -> Vec<(f64, f64)> {
        let mut along = vec![0.0];
        for w in points.windows(2) {
            along.push(along[along.len() - 1] + ground.length(w[0], w[1]));
        }
        let whole = along[along.len() - 1];
        let figures = (whole / advance).ceil().max(1.0);
        // Pieces of at most 1 mm: 12.6 radii of way a figure.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // bounded above
        let (pieces, figures) = ((2.0 * TAU * radius / 1e-3).ceil() as usize, figures as usize);
        let steps = pieces * figures;
        let mut at = 0;
        let mut out: Vec<(f64, f64)> = (0..=steps)
            .map(|i| {
                let s = whole * i as f64 / steps as f64;
                while at + 2 < along.len() && along[at + 1] < s {
                    at += 1;
                }
                let piece = along[at + 1] - along[at];
                let share = if piece > 0.0 { ((s - along[at]) / piece).clamp(0.0, 1.0) } else { 0.0 };
                let middle = super::ground::between(points[at], points[at + 1], share);
                offsets_at(middle)(eight(radius, (i % pieces) as f64 / pieces as f64))
            })
            .collect();
        // The last figure closes in its middle, at the end of the lane.
        if let (Some(end), Some(last)) = (points.last(), out.last_mut()) {
            *last = *end;
        }
        // The figure was held against the clearance at 48 places: it may come a little nearer between them.
        out.into_iter().filter_map(|p| ground.pushed(p, 5.0 * SAMPLE)).collect()
    };
    work_cells(trace, cells(lines), figure)?;
    Ok(set.spacing)
}
