//! Tool paths over a rectangle: raster and crosshatch, with their turns and lead-ins.
//!
//! A pass covers the section once in one direction. Pass lines are evenly fitted at no more than
//! (1 − overlap) x diameter, the first and the last on the panel's edges; the pad centre runs from
//! edge to edge, and straight legs along the edge join the lines at the same feed, pad on. Every
//! pass starts at the corner where the last one ended. Insets, round turns and lead-ins are options
//! ([`PathOptions`]).
//!
//! Own layout, as a practitioner works a section; lengths are in plan. Paths over curved and cut-out panels:
//! [`SurfacePath`](super::SurfacePath).

use crate::error::RangeError;
use core::f64::consts::PI;
use core::ops::Range;

/// Pattern of a step's passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Pattern {
    /// Every pass along x.
    Raster,
    /// Passes along x and along y in turn.
    Crosshatch,
}

impl Pattern {
    /// The word in a job file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Raster => "raster",
            Self::Crosshatch => "crosshatch",
        }
    }
}

/// A straight leg, with the pad on. The slowness (time per length, one over the feed) runs linearly along it.
///
/// # Example
/// ```
/// use trochoid::motion::Leg;
/// // 200 mm whose slowness runs from that of 50 mm/s to that of 25 mm/s: (20 + 40)/2 s/m × 0.2 m = 6 s.
/// let leg = Leg { from: (0.0, 0.0), to: (0.2, 0.0), slowness: (20.0, 40.0), pass: 0 };
/// assert!((leg.length() - 0.2).abs() < 1e-15 && (leg.time() - 6.0).abs() < 1e-14);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Start \[m\].
    pub from: (f64, f64),
    /// End \[m\].
    pub to: (f64, f64),
    /// Slowness at start and end [s/m].
    pub slowness: (f64, f64),
    /// Number of the pass, from 0.
    pub pass: usize,
}

impl Leg {
    /// A leg at constant feed [m/s], above 0.
    #[must_use]
    pub fn steady(from: (f64, f64), to: (f64, f64), feed: f64, pass: usize) -> Self {
        Self { from, to, slowness: (1.0 / feed, 1.0 / feed), pass }
    }

    /// Length \[m\].
    #[must_use]
    pub fn length(&self) -> f64 {
        (self.to.0 - self.from.0).hypot(self.to.1 - self.from.1)
    }

    /// Time \[s\]: mean slowness times length.
    #[must_use]
    pub fn time(&self) -> f64 {
        0.5 * (self.slowness.0 + self.slowness.1) * self.length()
    }

    /// Point \[m\] at a share of the length, 0 to 1.
    #[must_use]
    pub fn at(&self, share: f64) -> (f64, f64) {
        (self.from.0 + share * (self.to.0 - self.from.0), self.from.1 + share * (self.to.1 - self.from.1))
    }
}

/// How pass lines are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Turn {
    /// A straight leg along the edge.
    #[default]
    Straight,
    /// A half circle outside the lines' ends, in 16 straight legs.
    Round,
}

/// A pass line without its joints: from, to, m.
pub type PassLine = ((f64, f64), (f64, f64));

/// Options of a path. The default has none: no inset, straight turns, no lead.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PathOptions {
    /// Distance of the outer lines and of the lines' ends from the panel's edges \[m\].
    pub inset: f64,
    /// How lines are joined. Default straight.
    pub turn: Turn,
    /// Length over which the feed rises at the start of each line and falls at its end \[m\]. The
    /// slowness runs linearly from `lead_slowness` x the steady one. 0, the default, is no lead.
    pub lead: f64,
    /// Slowness at a line's very ends over the steady slowness \[1\] (2 = half the feed), 0.1 to 100; without a
    /// lead it is not looked at.
    pub lead_slowness: f64,
}

/// A path over a rectangle in plan: legs in the order in which they are worked, pad on from end to end.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolPath {
    legs: Vec<Leg>,
    lines: Vec<PassLine>,
    /// Number of the pass of each line.
    line_passes: Vec<usize>,
    spacing: Vec<f64>,
}

/// Most legs a path may have.
pub const MAX_LEGS: usize = 1_000_000;

impl ToolPath {
    /// Passes over a rectangle with one corner at the origin, lines from edge to edge.
    ///
    /// `size` sides along x and y \[m\], `max_spacing` largest distance of the pass lines \[m\], `feed`
    /// [m/s].
    ///
    /// # Errors
    /// No passes or more than 1000, a feed outside 0.1 mm/s to 10 m/s, a spacing that is not
    /// positive, more than 1 000 000 legs.
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::{Pattern, ToolPath};
    /// // One pass over 400 mm square, lines 100 mm apart: 5 lines of 0.4 m and 4 joints of 0.1 m at 40 mm/s.
    /// let path = ToolPath::over_rectangle((0.4, 0.4), Pattern::Raster, 1, 0.1, 0.04)?;
    /// assert!((path.length() - 2.4).abs() < 1e-12 && (path.time() - 60.0).abs() < 1e-9);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn over_rectangle(
        size: (f64, f64),
        pattern: Pattern,
        passes: usize,
        max_spacing: f64,
        feed: f64,
    ) -> Result<Self, RangeError> {
        Self::over_rectangle_with(size, pattern, passes, max_spacing, feed, &PathOptions::default())
    }

    /// As [`ToolPath::over_rectangle`], with options.
    ///
    /// # Errors
    /// As there; an inset that leaves nothing, a lead longer than half a line, a lead slowness
    /// outside 0.1 to 100.
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::{PathOptions, Pattern, ToolPath};
    /// let options = PathOptions { inset: 0.05, lead: 0.1, lead_slowness: 2.0, ..PathOptions::default() };
    /// let path = ToolPath::over_rectangle_with((0.4, 0.4), Pattern::Raster, 1, 0.1, 0.04, &options)?;
    /// // 50 mm from each edge: 4 lines of 0.3 m and 3 joints of 0.1 m. Each line has two leads of 0.1 m at
    /// // 1.5 times the slowness in the mean: 1.5/0.04 + 8 × 0.1 × 0.5/0.04 = 47.5 s.
    /// assert!((path.length() - 1.5).abs() < 1e-12 && (path.time() - 47.5).abs() < 1e-9);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn over_rectangle_with(
        size: (f64, f64),
        pattern: Pattern,
        passes: usize,
        max_spacing: f64,
        feed: f64,
        options: &PathOptions,
    ) -> Result<Self, RangeError> {
        if passes == 0 || passes > 1000 {
            return Err(RangeError::new("passes", passes as f64, "", "1 to 1000"));
        }
        crate::equipment::within("feed_mm_s", feed * 1e3, 0.1, 10_000.0, "mm/s")?;
        if !(max_spacing.is_finite() && max_spacing > 0.0) {
            return Err(RangeError::new("line spacing", max_spacing * 1e3, "mm", "above 0"));
        }
        let inset = options.inset;
        let short = size.0.min(size.1);
        if !(inset.is_finite() && inset >= 0.0 && 2.0 * inset < short) {
            return Err(RangeError::new(
                "inset_mm",
                inset * 1e3,
                "mm",
                format!("0 to below {} mm, half the panel", 500.0 * short),
            ));
        }
        let inner = (size.0 - 2.0 * inset, size.1 - 2.0 * inset);
        if !(options.lead.is_finite() && options.lead >= 0.0 && 2.0 * options.lead <= inner.0.min(inner.1)) {
            return Err(RangeError::new("lead_mm", options.lead * 1e3, "mm", "0 to half the shortest pass line"));
        }
        if options.lead > 0.0 {
            crate::equipment::within("lead_slowness", options.lead_slowness, 0.1, 100.0, "")?;
        }
        let per_pass = 20.0 * (inner.0.max(inner.1) / max_spacing + 2.0);
        if per_pass * passes as f64 > MAX_LEGS as f64 {
            return Err(RangeError::new(
                "line spacing",
                max_spacing * 1e3,
                "mm",
                format!("a spacing that needs at most {MAX_LEGS} legs"),
            ));
        }
        let mut path = Self { legs: Vec::new(), lines: Vec::new(), line_passes: Vec::new(), spacing: Vec::new() };
        let mut at = (0.0, 0.0);
        for pass in 0..passes {
            let along_x = pattern == Pattern::Raster || pass % 2 == 0;
            at = path.add_pass(pass, along_x, inner, at, max_spacing, feed, options);
        }
        for leg in &mut path.legs {
            for p in [&mut leg.from, &mut leg.to] {
                *p = (p.0 + inset, p.1 + inset);
            }
        }
        for line in &mut path.lines {
            for p in [&mut line.0, &mut line.1] {
                *p = (p.0 + inset, p.1 + inset);
            }
        }
        Ok(path)
    }

    /// Adds one pass from the corner `at` and returns the corner where it ends.
    #[allow(clippy::too_many_arguments)] // one call site; the loop body of `over_rectangle_with`
    fn add_pass(
        &mut self,
        pass: usize,
        along_x: bool,
        size: (f64, f64),
        at: (f64, f64),
        max_spacing: f64,
        feed: f64,
        options: &PathOptions,
    ) -> (f64, f64) {
        let (run, step) = if along_x { size } else { (size.1, size.0) };
        // Coordinates as (along the lines, across the lines).
        let (mut u, mut w) = if along_x { at } else { (at.1, at.0) };
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // bounded by MAX_LEGS
        let gaps = ((step / max_spacing - 1e-9).ceil().max(1.0)) as usize;
        self.spacing.push(step / gaps as f64);
        let upward = w < 0.5 * step;
        let place = |u: f64, w: f64| if along_x { (u, w) } else { (w, u) };
        for line in 0..=gaps {
            let next_u = if u < 0.5 * run { run } else { 0.0 };
            self.add_line(place(u, w), place(next_u, w), feed, pass, options);
            u = next_u;
            if line < gaps {
                let done = (line + 1) as f64 / gaps as f64;
                let next_w = if upward { step * done } else { step * (1.0 - done) };
                match options.turn {
                    Turn::Straight => {
                        self.legs.push(Leg::steady(place(u, w), place(u, next_w), feed, pass));
                    }
                    Turn::Round => {
                        let outward = if u > 0.5 * run { 1.0 } else { -1.0 };
                        let (middle, radius) = (0.5 * (w + next_w), 0.5 * (w - next_w));
                        let mut last = (u, w);
                        for k in 1..=16 {
                            let (sin, cos) = (PI * f64::from(k) / 16.0).sin_cos();
                            let next = (u + outward * radius.abs() * sin, middle + radius * cos);
                            self.legs.push(Leg::steady(place(last.0, last.1), place(next.0, next.1), feed, pass));
                            last = next;
                        }
                    }
                }
                w = next_w;
            }
        }
        place(u, w)
    }

    fn add_line(&mut self, from: (f64, f64), to: (f64, f64), feed: f64, pass: usize, options: &PathOptions) {
        self.lines.push((from, to));
        self.line_passes.push(pass);
        let whole = Leg::steady(from, to, feed, pass);
        if options.lead <= 0.0 {
            self.legs.push(whole);
            return;
        }
        let share = options.lead / whole.length();
        let (steady, slow) = (1.0 / feed, options.lead_slowness / feed);
        let (a, b) = (whole.at(share), whole.at(1.0 - share));
        self.legs.push(Leg { from, to: a, slowness: (slow, steady), pass });
        self.legs.push(Leg { from: a, to: b, slowness: (steady, steady), pass });
        self.legs.push(Leg { from: b, to, slowness: (steady, slow), pass });
    }

    /// A path from legs of one's own; each counts as a pass line.
    ///
    /// # Errors
    /// No legs or more than [`MAX_LEGS`]; a coordinate that is not finite or beyond 1 km; a slowness
    /// that is not positive and finite (a feed of zero or infinity).
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::{Leg, ToolPath};
    /// // 300 mm along x and 400 mm along y at 100 mm/s: 7 s.
    /// let (a, b, c) = ((0.0, 0.0), (0.3, 0.0), (0.3, 0.4));
    /// let path = ToolPath::from_legs(vec![Leg::steady(a, b, 0.1, 0), Leg::steady(b, c, 0.1, 0)])?;
    /// assert!((path.length() - 0.7).abs() < 1e-15 && (path.time() - 7.0).abs() < 1e-12);
    /// assert!(ToolPath::from_legs(vec![Leg::steady(a, b, 0.0, 0)]).is_err()); // a pad that stands still
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn from_legs(legs: Vec<Leg>) -> Result<Self, RangeError> {
        if legs.is_empty() || legs.len() > MAX_LEGS {
            return Err(RangeError::new("legs", legs.len() as f64, "", format!("1 to {MAX_LEGS}")));
        }
        for leg in &legs {
            for v in [leg.from.0, leg.from.1, leg.to.0, leg.to.1] {
                crate::equipment::within("leg coordinate", v, -1e3, 1e3, "m")?;
            }
            for s in [leg.slowness.0, leg.slowness.1] {
                if !(s.is_finite() && s > 0.0) {
                    return Err(RangeError::new(
                        "leg feed",
                        1e3 / s,
                        "mm/s",
                        "above 0 and finite: a pad that stands still has no deposit per length",
                    ));
                }
            }
        }
        let lines = legs.iter().map(|l| (l.from, l.to)).collect();
        let line_passes = legs.iter().map(|l| l.pass).collect();
        Ok(Self { legs, lines, line_passes, spacing: Vec::new() })
    }

    /// The same path at another feed in each pass: the feed of pass `n` times `share(n)` \[1\], above 0.
    #[must_use]
    pub fn with_feeds(mut self, share: impl Fn(usize) -> f64) -> Self {
        for leg in &mut self.legs {
            let share = share(leg.pass);
            leg.slowness = (leg.slowness.0 / share, leg.slowness.1 / share);
        }
        self
    }

    /// Some of the passes as a path of their own, numbered from 0 again; each starts where it does in
    /// the whole path.
    ///
    /// # Example
    /// ```
    /// use trochoid::motion::{Pattern, ToolPath};
    /// // Two crossed passes of 5 lines of 0.4 m and 4 joints of 0.1 m; the second alone is half of them, along y.
    /// let path = ToolPath::over_rectangle((0.4, 0.4), Pattern::Crosshatch, 2, 0.1, 0.04)?;
    /// let second = path.of_passes(1..2);
    /// assert!((path.length() - 4.8).abs() < 1e-12 && (second.length() - 2.4).abs() < 1e-12);
    /// let (from, to) = second.lines()[0];
    /// assert!((to.0 - from.0).abs() < 1e-12 && second.legs()[0].pass == 0);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn of_passes(&self, passes: Range<usize>) -> Self {
        let of = |pass: usize| passes.contains(&pass);
        let spacing = self.spacing.get(passes.start..passes.end.min(self.spacing.len())).unwrap_or_default().to_vec();
        let legs = self.legs.iter().filter(|l| of(l.pass)).map(|l| Leg { pass: l.pass - passes.start, ..*l }).collect();
        let own = self.lines.iter().zip(&self.line_passes).filter(|(_, pass)| of(**pass));
        let (lines, line_passes) = own.map(|(line, pass)| (*line, pass - passes.start)).unzip();
        Self { legs, lines, line_passes, spacing }
    }

    /// Legs in order.
    #[must_use]
    pub fn legs(&self) -> &[Leg] {
        &self.legs
    }

    /// Pass lines without their joints.
    #[must_use]
    pub fn lines(&self) -> &[PassLine] {
        &self.lines
    }

    /// Distance of the pass lines in each pass \[m\]; empty for a path from legs.
    #[must_use]
    pub fn spacing(&self) -> &[f64] {
        &self.spacing
    }

    /// Length of the whole path \[m\].
    #[must_use]
    pub fn length(&self) -> f64 {
        self.legs.iter().map(Leg::length).sum()
    }

    /// Time with the pad on, turns included \[s\].
    #[must_use]
    pub fn time(&self) -> f64 {
        self.legs.iter().map(Leg::time).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_fitted_edge_to_edge() {
        // 450 mm at no more than 65 mm: 7 gaps of 64.29 mm, 8 lines, 7 joints.
        let p = ToolPath::over_rectangle((0.6, 0.45), Pattern::Raster, 1, 0.065, 0.04).unwrap();
        assert_eq!((p.legs().len(), p.lines().len()), (15, 8));
        assert!((p.spacing()[0] - 0.45 / 7.0).abs() < 1e-12);
        assert!((p.length() - (8.0 * 0.6 + 0.45)).abs() < 1e-12);
        assert!((p.time() - p.length() / 0.04).abs() < 1e-9);
        let last = p.legs()[14];
        // Eight lines: the last one runs back to x = 0 at the far edge.
        assert!(last.to.0.abs() < 1e-12 && (last.to.1 - 0.45).abs() < 1e-12);
    }

    #[test]
    fn each_leg_starts_where_the_last_one_ended() {
        let round = PathOptions { inset: 0.03, turn: Turn::Round, lead: 0.05, lead_slowness: 1.5 };
        for options in [PathOptions::default(), round] {
            for pattern in [Pattern::Raster, Pattern::Crosshatch] {
                let p = ToolPath::over_rectangle_with((0.6, 0.45), pattern, 4, 0.065, 0.04, &options).unwrap();
                for w in p.legs().windows(2) {
                    assert!((w[0].to.0 - w[1].from.0).abs() < 1e-12 && (w[0].to.1 - w[1].from.1).abs() < 1e-12);
                }
            }
        }
    }

    #[test]
    fn passes_taken_apart_are_the_whole() {
        let whole = ToolPath::over_rectangle((0.6, 0.45), Pattern::Crosshatch, 5, 0.065, 0.04).unwrap();
        let parts = [0..2, 2..3, 3..5].map(|r| whole.of_passes(r));
        assert_eq!(parts.iter().map(|p| p.legs().len()).sum::<usize>(), whole.legs().len());
        assert_eq!(parts.iter().map(|p| p.lines().len()).sum::<usize>(), whole.lines().len());
        assert_eq!(parts.iter().map(|p| p.spacing().len()).collect::<Vec<_>>(), [2, 1, 2]);
        // The third pass runs along x again, from where the second one ended.
        assert_eq!(parts[1].legs()[0].from, parts[0].legs().last().unwrap().to);
        assert_eq!(parts[1].legs()[0].pass, 0);
        // Twice the feed in the last two passes takes half their time.
        let faster = whole.clone().with_feeds(|pass| if pass < 3 { 1.0 } else { 2.0 });
        let expected = parts[0].time() + parts[1].time() + 0.5 * parts[2].time();
        assert!((faster.time() - expected).abs() < 1e-9, "rounding");
        assert!(whole.of_passes(7..9).legs().is_empty());
    }

    #[test]
    fn a_standing_leg_is_refused() {
        let leg = Leg { from: (0.0, 0.0), to: (0.1, 0.0), slowness: (f64::INFINITY, 25.0), pass: 0 };
        assert!(ToolPath::from_legs(vec![leg]).unwrap_err().to_string().contains("leg feed = 0"));
    }
}
