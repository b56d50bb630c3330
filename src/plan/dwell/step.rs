//! The feed along the path of a step of a job.

use super::error::DwellError;
use super::feed::{
    CutTarget, FeedLimits, FeedPath, FeedSettings, FeedSolution, TRADE_WEIGHTS, TradePoint, solve_feed, trade_off,
};
use crate::Error;
use crate::math::statistics::Summary;
use crate::motion::Pattern;
use crate::plan::StepTask;
use crate::removal::{Footprint, Grid};
use crate::spin::{StallSettings, spin_state};

/// What cut is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TargetKind {
    /// The same cut everywhere.
    #[default]
    Even,
    /// A cut in proportion to the clear coat: less where it is thin.
    Film,
}

impl TargetKind {
    /// The word in a job file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Even => "even",
            Self::Film => "film",
        }
    }
}

/// How a machine may lead the tool, and toward what.
#[derive(Debug, Clone, PartialEq)]
pub struct FeedTask {
    /// Limits of the feed.
    pub limits: FeedLimits,
    /// What is asked for.
    pub kind: TargetKind,
    /// Clear coat on the cells of [`feed_grid`] \[m\], row by row: for a rectangle with [`TargetKind::Film`]. A
    /// real panel has its own.
    pub film: Option<Vec<f64>>,
    /// Numerical knobs.
    pub settings: FeedSettings,
}

/// A cut over the cells of a panel.
#[derive(Debug, Clone, PartialEq)]
pub struct CutMap {
    /// Cells along x and y.
    pub count: (usize, usize),
    /// Lower corner \[m\].
    pub from: (f64, f64),
    /// Sides of a cell \[m\].
    pub cell: (f64, f64),
    /// Cut \[m\]; NaN where there is no paint to be worked.
    pub cut: Vec<f64>,
    /// Statistics inside the mask, every cell alike.
    pub inside: Option<Summary>,
    /// The same over all paint to be worked.
    pub panel: Option<Summary>,
}

/// The feed of a step with what it leaves.
#[derive(Debug, Clone)]
pub struct FeedPlan {
    /// The path.
    pub path: FeedPath,
    /// What is asked for.
    pub target: CutTarget,
    /// Mean of the target inside the mask, m.
    pub target_mean_m: f64,
    /// The solution.
    pub found: FeedSolution,
    /// Cut at the feed of the step.
    pub before: CutMap,
    /// Cut at the feed found.
    pub after: CutMap,
    /// What time buys: [`TRADE_WEIGHTS`].
    pub trade: Vec<TradePoint>,
    /// Share of the pad-on time during which the pad is stalled or sticks \[1\].
    pub stalled_share: f64,
    /// Shares of the length at the slowest and at the fastest feed \[1\].
    pub at_limits: (f64, f64),
}

/// Cells in a reach: the footprint is smooth over a ninth of it.
const CELLS_A_REACH: f64 = 9.0;
/// What a cell between the mask and the edge counts, share of one inside (assumed).
const RIM_WEIGHT: f64 = 0.25;
/// Nodes in a reach.
const NODES_A_REACH: f64 = 6.0;

fn cell_of(task: &StepTask) -> f64 {
    let reach = task.setup.pad().radius() + task.setup.face_orbit().radius_m;
    task.cell.m().max(reach / CELLS_A_REACH)
}

/// Cells on which the feed over a rectangle is sought: no finer than a ninth of the pad's reach.
///
/// # Errors
/// As [`Grid::over`].
///
/// # Example
/// With the step of the example of [`StepTask::new`]:
/// ```
/// use trochoid::plan::feed_grid;
/// # use trochoid::plan::{StepTask, Working};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let side = Length::from_mm(400.0);
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// // Face and orbit reach 50 + 7.5 mm; a ninth of it is 6.39 mm, and 400 mm take 63 cells of no more.
/// assert_eq!(feed_grid(&task)?.count(), (63, 63));
/// # Ok(())
/// # }
/// ```
pub fn feed_grid(task: &StepTask) -> Result<Grid, Error> {
    Grid::over((task.panel.length().m(), task.panel.width().m()), cell_of(task))
}

/// The path of a step with its columns, its cells, mask and film.
struct Ground {
    path: FeedPath,
    count: (usize, usize),
    from: (f64, f64),
    cell: (f64, f64),
    workable: Vec<bool>,
    mask: Vec<bool>,
    film: Option<Vec<f64>>,
    stalled_share: f64,
}

fn on_rectangle(task: &StepTask, settings: &StallSettings) -> Result<Ground, Error> {
    let run = spin_state(&task.setup, task.setup.patch(), &settings.contact)?;
    let grid = feed_grid(task)?;
    if run.sticks {
        return Err(DwellError::NothingCut.into());
    }
    let footprint = Footprint::new(&run.contact, task.panel.patch(), task.setup.tool().rate().rad_s(), run.spin);
    let reach = footprint.reach();
    let preston = task.setup.product().preston_per_pa();
    let path = FeedPath::over_legs(&footprint, preston, &task.path(task.passes)?, &grid, reach / NODES_A_REACH)?;
    let (count, cell) = (grid.count(), grid.cell());
    let size = (count.0 as f64 * cell.0, count.1 as f64 * cell.1);
    let mask = (0..count.0 * count.1)
        .map(|k| {
            let (x, y) = grid.centre(k % count.0, k / count.0);
            x >= reach && y >= reach && x <= size.0 - reach && y <= size.1 - reach
        })
        .collect();
    let stalled_share = if task.setup.stalls_at(run.spin, settings.useful_spin) { 1.0 } else { 0.0 };
    let workable = vec![true; count.0 * count.1];
    Ok(Ground { path, count, from: (0.0, 0.0), cell, workable, mask, film: None, stalled_share })
}

fn on_surface(task: &StepTask, settings: &StallSettings) -> Result<Option<Ground>, Error> {
    let Some(on) = &task.surface else { return Ok(None) };
    let (path, _) = on.path(task, task.passes, on.inset_of(task, task.passes))?;
    let reach = task.setup.pad().radius() + task.setup.face_orbit().radius_m;
    let (longest, useful) = (reach / NODES_A_REACH, settings.useful_spin);
    let (path, seen) = FeedPath::over_surface(&task.setup, &on.surface, &path, cell_of(task), longest, useful)?;
    let inside: Vec<bool> = (0..seen.grid.len()).map(|k| seen.workable[k] && seen.clearance[k] >= reach).collect();
    let film = on.film.as_ref().map(|film| {
        (0..seen.grid.len())
            .map(|k| {
                let (x, y) = seen.grid.centre(k % seen.grid.count.0, k / seen.grid.count.0);
                on.surface.heights().read(film, x, y)
            })
            .collect()
    });
    let stalled = seen.stalled.iter().filter(|s| **s).count();
    Ok(Some(Ground {
        path,
        count: seen.grid.count,
        from: seen.grid.origin,
        cell: (seen.grid.cell, seen.grid.cell),
        // Where the pad fits nowhere whole, all that is to be worked counts.
        mask: if inside.contains(&true) { inside } else { seen.workable.clone() },
        workable: seen.workable,
        film,
        stalled_share: stalled as f64 / seen.stalled.len().max(1) as f64,
    }))
}

impl Ground {
    fn map(&self, cut: &[f64]) -> CutMap {
        let inside: Vec<f64> = cut.iter().zip(&self.mask).filter(|(_, m)| **m).map(|(c, _)| *c).collect();
        let panel: Vec<f64> = cut.iter().zip(&self.workable).filter(|(_, m)| **m).map(|(c, _)| *c).collect();
        CutMap {
            count: self.count,
            from: self.from,
            cell: self.cell,
            cut: cut.iter().zip(&self.workable).map(|(c, on)| if *on { *c } else { f64::NAN }).collect(),
            inside: Summary::of(&inside),
            panel: Summary::of(&panel),
        }
    }

    /// The target: `level` everywhere in the mask, or in proportion to the film with `level` as its mean.
    ///
    /// Between the mask and the edge the step's own cut stands, or the target where that is less, at a
    /// weight of [`RIM_WEIGHT`]: edges burn through first, so that evenness inside may not be bought there.
    fn target(&self, level: f64, kind: TargetKind, film: Option<&Vec<f64>>, own: &[f64]) -> Result<CutTarget, Error> {
        if !self.mask.contains(&true) {
            return Err(DwellError::EmptyMask.into());
        }
        let mut cut = vec![level; self.mask.len()];
        if kind == TargetKind::Film {
            let Some(film) = film else {
                return Err(DwellError::UnknownFilm.into());
            };
            super::error::of_length("film", film.len(), cut.len())?;
            let inside = || film.iter().zip(&self.mask).filter(|(_, m)| **m).map(|(f, _)| *f);
            let values: Vec<f64> = inside().collect();
            super::error::not_negative("film", &values)?;
            let rim: Vec<f64> = film.iter().zip(&self.workable).filter(|(_, on)| **on).map(|(f, _)| *f).collect();
            super::error::not_negative("film", &rim)?;
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            if mean <= 0.0 {
                return Err(DwellError::ZeroTarget.into());
            }
            for (c, f) in cut.iter_mut().zip(film) {
                *c *= f / mean;
            }
        }
        let mut rim_weight = vec![0.0; cut.len()];
        for k in (0..cut.len()).filter(|k| self.workable[*k] && !self.mask[*k]) {
            cut[k] = cut[k].min(own[k]);
            rim_weight[k] = RIM_WEIGHT;
        }
        Ok(CutTarget { cut, mask: self.mask.clone(), rim_weight })
    }
}

/// Seeks the feed along the path of a step: its passes and lines as they stand, the cut as the step asks
/// for it, or with the mean that the step itself leaves.
///
/// # Assumptions
/// Contact, spin and product do not depend on the feed. Every cell of the mask counts alike: on a rectangle
/// those further from the edge than the pad's reach, on a real panel the same of what is to be worked. The
/// cells between there and the edge count a quarter: they are to keep the step's own cut, or the target
/// where that is less.
///
/// # Errors
/// As [`spin_state`], [`solve_feed`] and the paths; an empty mask; a film that is asked for and not known.
///
/// # Example
/// A machine that can run at one feed only, with the step of the example of [`StepTask::new`]:
/// ```
/// use trochoid::plan::{FeedLimits, FeedSettings, FeedTask, TargetKind, optimise_feed};
/// # use trochoid::plan::{StepTask, Working};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let side = Length::from_mm(400.0);
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// let only = Speed::from_mm_s(40.0);
/// let (limits, settings) = (FeedLimits::new(only, only)?, FeedSettings::default());
/// let feed = FeedTask { limits, kind: TargetKind::Even, film: None, settings };
/// // 4 m at 40 mm/s, the step's own feed: 100 s as before, and the cut stays what it was.
/// let plan = optimise_feed(&task, &feed, &Default::default())?;
/// assert!((plan.found.time_s - 100.0).abs() < 1e-6);
/// assert!((plan.found.residual_rel - plan.found.residual_given_rel).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
pub fn optimise_feed(task: &StepTask, feed: &FeedTask, settings: &StallSettings) -> Result<FeedPlan, Error> {
    let ground = match on_surface(task, settings)? {
        Some(ground) => ground,
        None => on_rectangle(task, settings)?,
    };
    let given = ground.path.given();
    let own_cut = ground.path.cut(&given);
    let before = ground.map(&own_cut);
    let own = before.inside.ok_or(DwellError::EmptyMask)?.mean;
    let level = task.target_cut.map_or(own, crate::units::Length::m);
    let target = ground.target(level, feed.kind, ground.film.as_ref().or(feed.film.as_ref()), &own_cut)?;
    let found = solve_feed(&ground.path, &target, &feed.limits, &feed.settings)?;
    let trade = trade_off(&ground.path, &target, &feed.limits, &feed.settings, &TRADE_WEIGHTS)?;
    let after = ground.map(&found.cut);
    let (mut slow, mut fast, mut whole) = (0.0, 0.0, 0.0);
    for (n, q) in ground.path.nodes().iter().zip(&found.slowness) {
        let h = n.from_last.unwrap_or(0.0);
        whole += h;
        slow += if q * feed.limits.low() > 0.999 { h } else { 0.0 };
        fast += if q * feed.limits.high() < 1.001 { h } else { 0.0 };
    }
    let at_limits = if whole > 0.0 { (slow / whole, fast / whole) } else { (0.0, 0.0) };
    let stalled_share = ground.stalled_share;
    let path = ground.path;
    Ok(FeedPlan { path, target, target_mean_m: level, found, before, after, trade, stalled_share, at_limits })
}

/// Passes after which the lines of a step repeat: one each way of a crosshatch, else one.
pub(super) fn passes_a_round(task: &StepTask) -> usize {
    use crate::motion::SurfacePattern;
    use crate::plan::Route;
    match task.surface.as_ref().map(|s| &s.route) {
        None => match task.pattern {
            Pattern::Crosshatch => 2,
            Pattern::Raster => 1,
        },
        Some(Route::Pattern(SurfacePattern::Crosshatch { angles })) => angles.len().max(1),
        Some(Route::Pattern(SurfacePattern::EdgeFirst { inner })) => match inner.as_ref() {
            SurfacePattern::Crosshatch { angles } => angles.len().max(1),
            _ => 1,
        },
        Some(_) => 1,
    }
}
