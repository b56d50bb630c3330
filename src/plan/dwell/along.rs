//! Nodes and columns along the paths that steps are worked by: legs over a rectangle, stops over a real
//! panel.

use super::error::DwellError;
use super::feed::{FeedNode, FeedPath, bounded};
use crate::Error;
use crate::motion::{Leg, SurfacePath, ToolPath, Waypoint};
use crate::panel::Surface;
use crate::removal::{
    Column, Footprint, Grid, Quantity, Stop, SurfaceColumns, SurfaceSettings, leg_columns, stop_columns, stop_length,
};
use crate::spin::Setup;

/// Most nodes of a path.
const MOST_NODES: f64 = 200_000.0;

/// A sum of columns, each times its weight, in rising order of the cells.
fn summed(parts: &[(f64, &Column)]) -> Column {
    let mut all: Vec<(u32, f64)> =
        parts.iter().flat_map(|(w, c)| c.iter().map(move |(cell, v)| (*cell, w * v))).collect();
    // Stable, so that equal cells keep their order and the sums their bits.
    all.sort_by_key(|e| e.0);
    let mut out: Column = Vec::with_capacity(all.len());
    for (cell, v) in all {
        match out.last_mut() {
            Some(last) if last.0 == cell => last.1 += v,
            _ => out.push((cell, v)),
        }
    }
    out
}

/// Pieces of a length of at most `longest`.
fn pieces_of(length: f64, longest: f64) -> f64 {
    (length / longest - 1e-9).ceil().max(1.0)
}

impl FeedPath {
    /// The legs of a path over a rectangle, with nodes no further apart than `longest` \[m\].
    ///
    /// # Errors
    /// More nodes or entries than memory is set aside for; a path without a leg that has a length.
    pub fn over_legs(
        footprint: &Footprint,
        preston_per_pa: f64,
        path: &ToolPath,
        grid: &Grid,
        longest: f64,
    ) -> Result<Self, Error> {
        let legs: Vec<&Leg> = path.legs().iter().filter(|l| l.length() > 0.0).collect();
        let longest = longest.max(1e-6);
        let count: f64 = legs.iter().map(|l| pieces_of(l.length(), longest)).sum();
        let side = 2.0 * footprint.reach() + longest;
        let whole = (grid.count().0 * grid.count().1) as f64;
        refuse_many(count)?;
        bounded(2.0 * count, (side * side / grid.cell_area()).min(whole))?;
        let mut nodes: Vec<FeedNode> = Vec::new();
        let mut pieces: Vec<Leg> = Vec::new();
        // The piece that ends at each node, and the one that starts there.
        let mut beside: Vec<[Option<usize>; 2]> = Vec::new();
        let mut way = 0.0;
        for leg in legs {
            let near = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1) < 1e-9;
            let joined = nodes.last().is_some_and(|n| near(n.at, leg.from));
            if !joined {
                nodes.push(FeedNode { way, at: leg.from, pass: leg.pass, from_last: None, slowness: leg.slowness.0 });
                beside.push([None, None]);
            }
            let count = pieces_of(leg.length(), longest);
            let length = leg.length() / count;
            let mut k = 0.0;
            while k < count {
                let (from, to) = (leg.at(k / count), leg.at((k + 1.0) / count));
                if let Some(last) = beside.last_mut() {
                    last[1] = Some(pieces.len());
                }
                way += length;
                let share = (k + 1.0) / count;
                let slowness = leg.slowness.0 + share * (leg.slowness.1 - leg.slowness.0);
                nodes.push(FeedNode { way, at: to, pass: leg.pass, from_last: Some(length), slowness });
                beside.push([Some(pieces.len()), None]);
                pieces.push(Leg { from, to, slowness: (1.0, 1.0), pass: leg.pass });
                k += 1.0;
            }
        }
        let made = leg_columns(footprint, &pieces, grid, Quantity::Work);
        let columns: Vec<Column> = beside
            .iter()
            .map(|[before, after]| {
                let mut parts = Vec::new();
                parts.extend(before.map(|k| (preston_per_pa, &made[k][1])));
                parts.extend(after.map(|k| (preston_per_pa, &made[k][0])));
                summed(&parts)
            })
            .collect();
        Ok(Self::new(nodes, &columns, grid.count().0 * grid.count().1)?)
    }

    /// The same path with a slowness of its own at the nodes.
    ///
    /// # Errors
    /// As [`ToolPath::from_legs`].
    pub fn legs(&self, slowness: &[f64]) -> Result<ToolPath, Error> {
        let nodes = self.nodes();
        let legs = (1..nodes.len())
            .filter(|k| nodes[*k].from_last.is_some())
            .map(|k| Leg {
                from: nodes[k - 1].at,
                to: nodes[k].at,
                slowness: (slowness[k - 1], slowness[k]),
                pass: nodes[k].pass,
            })
            .collect();
        Ok(ToolPath::from_legs(legs)?)
    }

    /// The pad-on stretches of a path over a real panel, with nodes no further apart than `longest` \[m\],
    /// and the cells with what is known of them.
    ///
    /// # Accuracy
    /// The path is cut into stops of [`stop_length`], each with the slowness that the nodes give its middle.
    ///
    /// # Errors
    /// As [`stop_columns`]; more nodes or entries than memory is set aside for.
    pub fn over_surface(
        setup: &Setup,
        surface: &Surface,
        path: &SurfacePath,
        cell: f64,
        longest: f64,
        useful_spin: f64,
    ) -> Result<(Self, SurfaceColumns), Error> {
        let stretches = pad_on(path, surface);
        let longest = longest.max(1e-6);
        let step = stop_length(setup).min(longest);
        let count: f64 = stretches.iter().map(|s| pieces_of(s.length(), longest) + 1.0).sum();
        let stops_count: f64 = stretches.iter().map(|s| pieces_of(s.length(), step)).sum();
        refuse_many(count)?;
        let side = 2.0 * setup.pad().radius() / cell;
        bounded(stops_count + 2.0 * count, side * side)?;
        let (mut nodes, mut stops, mut weights) = (Vec::new(), Vec::new(), Vec::new());
        let mut way = 0.0;
        for s in &stretches {
            let whole = s.length();
            let pieces = pieces_of(whole, longest);
            let first = nodes.len();
            let mut k = 0.0;
            while k <= pieces {
                let (at, pass, slowness, _) = s.at(whole * k / pieces);
                let from_last = (k > 0.0).then_some(whole / pieces);
                nodes.push(FeedNode { way: way + whole * k / pieces, at, pass, from_last, slowness });
                k += 1.0;
            }
            let stops_here = pieces_of(whole, step);
            let mut i = 0.0;
            while i < stops_here {
                let along = (i + 0.5) / stops_here;
                let (at, pass, _, force_share) = s.at(whole * along);
                let pass = u32::try_from(pass).unwrap_or(u32::MAX);
                stops.push(Stop { at, time_s: 1.0, force_share, pass });
                let place = along * pieces;
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 ≤ place < pieces
                let left = (place.floor().min(pieces - 1.0)) as usize;
                weights.push((first + left, place - left as f64, whole / stops_here));
                i += 1.0;
            }
            way += whole;
        }
        let made = stop_columns(setup, surface, &stops, cell, useful_spin, &SurfaceSettings::default())?;
        let mut parts: Vec<Vec<(f64, &Column)>> = vec![Vec::new(); nodes.len()];
        for ((left, share, length), column) in weights.iter().zip(&made.columns) {
            parts[*left].push((length * (1.0 - share), column));
            parts[left + 1].push((length * share, column));
        }
        let columns = crate::math::reduce::map_indexed(parts.len(), |k| summed(&parts[k]));
        drop(parts);
        Ok((Self::new(nodes, &columns, made.grid.len())?, made))
    }
}

fn refuse_many(nodes: f64) -> Result<(), DwellError> {
    if nodes > MOST_NODES {
        return Err(DwellError::TooLarge { what: "nodes of the feed", size: nodes, most: MOST_NODES });
    }
    Ok(())
}

/// A place on a stretch.
#[derive(Clone, Copy)]
struct Along {
    /// Way on the surface from the stretch's start, m.
    way: f64,
    at: (f64, f64),
    pass: usize,
    time_s: f64,
    force_share: f64,
}

/// A stretch worked without lifting.
struct Stretch {
    points: Vec<Along>,
}

impl Stretch {
    fn length(&self) -> f64 {
        self.points.last().map_or(0.0, |p| p.way)
    }

    /// Place, pass, slowness and force share at a way from its start.
    fn at(&self, way: f64) -> ((f64, f64), usize, f64, f64) {
        let k = self.points.partition_point(|p| p.way < way).clamp(1, self.points.len() - 1);
        let (a, b) = (&self.points[k - 1], &self.points[k]);
        let length = (b.way - a.way).max(f64::MIN_POSITIVE);
        let t = ((way - a.way) / length).clamp(0.0, 1.0);
        let mix = |x: f64, y: f64| x + t * (y - x);
        let at = (mix(a.at.0, b.at.0), mix(a.at.1, b.at.1));
        (at, b.pass, (b.time_s - a.time_s) / length, mix(a.force_share, b.force_share))
    }
}

fn pad_on(path: &SurfacePath, surface: &Surface) -> Vec<Stretch> {
    let mut out: Vec<Stretch> = Vec::new();
    let mut on = false;
    for w in path.waypoints().windows(2) {
        let (a, b) = (&w[0], &w[1]);
        if a.force_share <= 0.0 || b.force_share <= 0.0 {
            on = false;
            continue;
        }
        let (p, q) = (surface.heights().point_at(a.at.0, a.at.1), surface.heights().point_at(b.at.0, b.at.1));
        let length = (q[0] - p[0]).hypot(q[1] - p[1]).hypot(q[2] - p[2]);
        if length <= 1e-9 {
            continue;
        }
        let place =
            |w: &Waypoint, way| Along { way, at: w.at, pass: w.pass, time_s: w.time_s, force_share: w.force_share };
        if !on {
            out.push(Stretch { points: vec![place(a, 0.0)] });
            on = true;
        }
        if let Some(s) = out.last_mut() {
            let way = s.length() + length;
            s.points.push(place(b, way));
        }
    }
    out
}
