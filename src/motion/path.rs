//! Tool paths over a rectangle: raster and crosshatch.
//!
//! A pass covers the section once in one direction. Pass lines are evenly fitted at no more than
//! (1 − overlap) x diameter, the first and the last on the panel's edges; the pad centre runs from
//! edge to edge, and straight legs along the edge join the lines at the same feed, pad on. Every
//! pass starts at the corner where the last one ended.

use crate::error::RangeError;

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

/// A straight leg at constant feed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Start, m.
    pub from: (f64, f64),
    /// End, m.
    pub to: (f64, f64),
    /// Number of the pass, from 0.
    pub pass: usize,
}

impl Leg {
    /// Length, m.
    #[must_use]
    pub fn length(&self) -> f64 {
        (self.to.0 - self.from.0).hypot(self.to.1 - self.from.1)
    }
}

/// Legs in the order in which they are worked, at one feed.
#[derive(Debug, Clone, PartialEq)]
pub struct ToolPath {
    legs: Vec<Leg>,
    feed: f64,
    spacing: Vec<f64>,
}

/// Most legs a path may have.
pub const MAX_LEGS: usize = 1_000_000;

impl ToolPath {
    /// Passes over a rectangle with one corner at the origin.
    ///
    /// `size` sides along x and y [m], `max_spacing` largest distance of the pass lines [m], `feed`
    /// [m/s].
    ///
    /// # Errors
    /// No passes or more than 1000, a feed outside 0.1 mm/s to 10 m/s, a spacing that is not
    /// positive, more than 1 000 000 legs.
    pub fn over_rectangle(
        size: (f64, f64),
        pattern: Pattern,
        passes: usize,
        max_spacing: f64,
        feed: f64,
    ) -> Result<Self, RangeError> {
        if passes == 0 || passes > 1000 {
            return Err(RangeError::new("passes", passes as f64, "", "1 to 1000"));
        }
        crate::equipment::within("feed_mm_s", feed * 1e3, 0.1, 10_000.0, "mm/s")?;
        if !(max_spacing.is_finite() && max_spacing > 0.0) {
            return Err(RangeError::new("line spacing", max_spacing * 1e3, "mm", "above 0"));
        }
        let per_pass = 2.0 * (size.0.max(size.1) / max_spacing + 2.0);
        if per_pass * passes as f64 > MAX_LEGS as f64 {
            return Err(RangeError::new(
                "line spacing",
                max_spacing * 1e3,
                "mm",
                format!("a spacing that needs at most {MAX_LEGS} legs"),
            ));
        }
        let mut legs = Vec::new();
        let mut spacing = Vec::new();
        let mut at = (0.0, 0.0);
        for pass in 0..passes {
            let along_x = pattern == Pattern::Raster || pass % 2 == 0;
            let (run, step) = if along_x { size } else { (size.1, size.0) };
            // Coordinates as (along the lines, across the lines).
            let (mut u, mut w) = if along_x { at } else { (at.1, at.0) };
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // bounded by MAX_LEGS above
            let gaps = ((step / max_spacing - 1e-9).ceil().max(1.0)) as usize;
            let gap = step / gaps as f64;
            spacing.push(gap);
            let upward = w < 0.5 * step;
            let place = |u: f64, w: f64| if along_x { (u, w) } else { (w, u) };
            for line in 0..=gaps {
                let next_u = if u < 0.5 * run { run } else { 0.0 };
                legs.push(Leg { from: place(u, w), to: place(next_u, w), pass });
                u = next_u;
                if line < gaps {
                    let done = (line + 1) as f64;
                    let next_w = if upward { step * done / gaps as f64 } else { step * (1.0 - done / gaps as f64) };
                    legs.push(Leg { from: place(u, w), to: place(u, next_w), pass });
                    w = next_w;
                }
            }
            at = place(u, w);
        }
        Ok(Self { legs, feed, spacing })
    }

    /// Legs in order.
    #[must_use]
    pub fn legs(&self) -> &[Leg] {
        &self.legs
    }

    /// Feed, m/s.
    #[must_use]
    pub const fn feed(&self) -> f64 {
        self.feed
    }

    /// Distance of the pass lines in each pass, m.
    #[must_use]
    pub fn spacing(&self) -> &[f64] {
        &self.spacing
    }

    /// Length of the whole path, m.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.legs.iter().map(Leg::length).sum()
    }

    /// Time with the pad on, turns included, s.
    #[must_use]
    pub fn time(&self) -> f64 {
        self.length() / self.feed
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_fitted_edge_to_edge() {
        // 450 mm at no more than 65 mm: 7 gaps of 64.29 mm, 8 lines, 7 joints.
        let p = ToolPath::over_rectangle((0.6, 0.45), Pattern::Raster, 1, 0.065, 0.04).unwrap();
        assert_eq!(p.legs().len(), 15);
        assert!((p.spacing()[0] - 0.45 / 7.0).abs() < 1e-12);
        assert!((p.length() - (8.0 * 0.6 + 0.45)).abs() < 1e-12);
        let last = p.legs()[14];
        // Eight lines: the last one runs back to x = 0 at the far edge.
        assert!(last.to.0.abs() < 1e-12 && (last.to.1 - 0.45).abs() < 1e-12);
    }

    #[test]
    fn each_pass_starts_where_the_last_one_ended() {
        for pattern in [Pattern::Raster, Pattern::Crosshatch] {
            let p = ToolPath::over_rectangle((0.6, 0.45), pattern, 4, 0.065, 0.04).unwrap();
            for w in p.legs().windows(2) {
                assert!((w[0].to.0 - w[1].from.0).abs() < 1e-12 && (w[0].to.1 - w[1].from.1).abs() < 1e-12);
            }
        }
    }
}
