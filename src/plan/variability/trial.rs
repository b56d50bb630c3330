//! Single trials: one panel worked by a hand that varies, as a cut map.

use super::habit::{Habit, HandScatter};
use super::outcome::VariabilitySettings;
use super::response::{AT_SET_POINTS, Away, Response, ResponseError, away};
use crate::Error;
use crate::contact::ContactSettings;
use crate::error::RangeError;
use crate::math::distribution::ln_sd_of_relative;
use crate::math::ornstein_uhlenbeck::OrnsteinUhlenbeck;
use crate::math::random::Seed;
use crate::motion::{Leg, ToolPath};
use crate::plan::StepTask;
use crate::removal::{Footprint, Grid, MovablePath, MovedStroke, Quantity, SweptPath, deposit_quantity};
use crate::spin::{SpinState, spin_state};

/// Streams of random numbers of one trial: one for each habit, two for the tilt, each with its part over
/// the whole panel.
const STREAMS: u64 = 16;
/// Most pieces that a path is cut into.
const MOST_PIECES: usize = 200_000;

/// Which trial each habit is taken from; the same number everywhere for an ordinary one.
pub(super) type Source = [u64; 5];

/// What a hand does at one piece of the path.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Deed {
    feed: f64,
    off: Away,
    sideways: f64,
}

/// One panel worked.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Cut at the cells of the grid \[m\], row by row.
    pub cut: Vec<f64>,
    /// Share of the time during which the pad turns slower than the useful minimum \[1\]; 0 for a driven pad.
    pub stalled_share: f64,
    /// Share of the pieces whose settings lie beyond the tables or bottom the pad out \[1\].
    pub beyond_share: f64,
}

/// A step made ready for trials.
pub struct HandTrials<'a> {
    task: &'a StepTask,
    contact: ContactSettings,
    grid: Grid,
    pieces: Vec<Leg>,
    spacing: Vec<f64>,
    swept: MovablePath,
    /// The same legs with the odd parts of the tilt along x and y.
    tilted: Vec<MovablePath>,
    process: OrnsteinUhlenbeck,
    response: Response,
    hand: HandScatter,
    seed: Seed,
    useful_spin: Option<f64>,
    preston: f64,
    inset: f64,
}

impl<'a> HandTrials<'a> {
    /// Makes a step with `passes` passes on a rectangle ready; `state` is its state at its set-points.
    /// `None` where nothing is cut: the face sticks.
    ///
    /// The path is cut into pieces of at most `1/pieces_per_length` of the correlation length over which
    /// the hand stays as it is: the variance of what a pass adds up is too large by (that share)²/12 of
    /// itself (the trapezoidal sum of exp(−x)), 0.5 % at the default of four.
    ///
    /// # Errors
    /// As [`StepTask::path`]; a correlation length so short that the path falls into more than 200 000
    /// pieces; a state that cannot be solved.
    pub fn new(
        task: &'a StepTask,
        state: &SpinState,
        passes: usize,
        hand: &HandScatter,
        settings: &VariabilitySettings,
    ) -> Result<Option<Self>, Error> {
        settings.check()?;
        if state.sticks || state.sums.speed_w <= 0.0 {
            return Ok(None);
        }
        let path = task.path(passes)?;
        let size = (task.panel.length().m(), task.panel.width().m());
        let coarse = (size.0 * size.1 / settings.most_cells as f64).sqrt();
        let grid = Grid::over(size, task.cell.m().max(coarse).min(1.0))?;
        let length = hand.correlation().s() * task.working.feed.m_s();
        let pieces = cut_into_pieces(&path, length / settings.pieces_per_length)?;
        let distances: Vec<f64> = pieces.windows(2).map(|w| 0.5 * (w[0].length() + w[1].length())).collect();
        let tool = task.setup.tool();
        let footprint = Footprint::new(&state.contact, task.setup.patch(), tool.rate().rad_s(), state.spin);
        let whole = ToolPath::from_legs(pieces.clone())?;
        let response = Response::new(&task.setup, state, hand, &settings.contact)?;
        let odd = response.odd_parts().into_iter().flatten();
        Ok(Some(Self {
            contact: settings.contact,
            tilted: odd.map(|f| SweptPath::new(f, &whole, Quantity::Work).movable()).collect(),
            swept: SweptPath::new(&footprint, &whole, Quantity::Work).movable(),
            process: OrnsteinUhlenbeck::along(&distances, length)?,
            response,
            spacing: path.spacing().to_vec(),
            hand: *hand,
            seed: Seed::new(settings.seed),
            useful_spin: tool.bearing().map(|_| settings.useful_spin.rad_s()),
            preston: task.setup.product().preston_per_pa(),
            inset: task.setup.pad().radius() + state.face_orbit_m,
            task,
            grid,
            pieces,
        }))
    }

    /// Grid of the maps.
    #[must_use]
    pub const fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Pieces that the path is cut into.
    #[must_use]
    pub fn pieces(&self) -> &[Leg] {
        &self.pieces
    }

    /// How far the tables of the response are off.
    #[must_use]
    pub const fn response_error(&self) -> ResponseError {
        self.response.error()
    }

    /// Pairs of cell and piece that a trial looks at.
    pub(super) fn visits(&self) -> f64 {
        let widest = self.spacing.iter().fold(0.0_f64, |a, b| a.max(*b));
        let tables = (1 + self.tilted.len()) as f64;
        tables * self.swept.visits(&self.grid, 3.0 * self.hand.sd(Habit::Spacing) * widest)
    }

    /// Cells inside the worked mask, and whether there are any; every cell where there are none.
    pub(super) fn worked_cells(&self) -> (Vec<usize>, bool) {
        let (nx, ny) = self.grid.count();
        let (dx, dy) = self.grid.cell();
        let size = (nx as f64 * dx, ny as f64 * dy);
        let inside = |c: &usize| {
            let (x, y) = self.grid.centre(c % nx, c / nx);
            x >= self.inset && y >= self.inset && x <= size.0 - self.inset && y <= size.1 - self.inset
        };
        let cells: Vec<usize> = (0..nx * ny).filter(inside).collect();
        if cells.is_empty() { ((0..nx * ny).collect(), false) } else { (cells, true) }
    }

    /// The cut of a perfectly steady hand \[m\], row by row over the grid.
    #[must_use]
    pub fn planned(&self) -> Vec<f64> {
        let still = MovedStroke { by: (0.0, 0.0), factor: 1.0 };
        self.deposit(&vec![still; self.pieces.len()], &[])
    }

    fn deposit(&self, moved: &[MovedStroke], odd: &[Vec<MovedStroke>]) -> Vec<f64> {
        let (nx, ny) = self.grid.count();
        let mut out = vec![0.0; nx * ny];
        self.swept.add(&self.grid, moved, &mut out);
        for (swept, moved) in self.tilted.iter().zip(odd) {
            swept.add(&self.grid, moved, &mut out);
        }
        for v in &mut out {
            *v *= self.preston;
        }
        out
    }

    /// One trial; every number gives another panel, the same number always the same one.
    ///
    /// ```text
    /// cut(x) = k_p Σ_i [volume_i W_i(x − s_i) + odd_x W_xi(x − s_i) + odd_y W_yi(x − s_i)]/feed_i      [m]
    /// ```
    ///
    /// W_i is the work of the footprint on a piece of the path at the planned feed \[Pa·m\], W_xi and W_yi that of the
    /// odd parts of a tilted one \[Pa·m/rad\]; volume, odd and spin are the [`Response`] to what the hand does there,
    /// s its step aside \[m\], feed its feed over the planned one \[1\].
    #[must_use]
    pub fn trial(&self, number: u64) -> Trial {
        self.trial_of(&self.hand, &[number; 5])
    }

    /// One trial of a hand that scatters no further than that of the tables.
    pub(super) fn trial_of(&self, hand: &HandScatter, source: &Source) -> Trial {
        let deeds = self.deeds(hand, source);
        let mut moved = Vec::with_capacity(deeds.len());
        let mut odd =
            if self.tilted.is_empty() || hand.sd(Habit::Tilt) <= 0.0 { Vec::new() } else { vec![Vec::new(); 2] };
        let (mut beyond, mut stalled, mut time) = (0_usize, 0.0, 0.0);
        for (deed, piece) in deeds.iter().zip(&self.pieces) {
            let effect = self.response.at(&deed.off);
            beyond += usize::from(effect.beyond);
            let spent = piece.time() / deed.feed;
            time += spent;
            if self.useful_spin.is_some_and(|least| effect.spin < least) {
                stalled += spent;
            }
            let side = sideways(piece);
            let by = (deed.sideways * side.0, deed.sideways * side.1);
            moved.push(MovedStroke { by, factor: effect.volume / deed.feed });
            for (odd, angle) in odd.iter_mut().zip([effect.odd.0, effect.odd.1]) {
                odd.push(MovedStroke { by, factor: angle / deed.feed });
            }
        }
        Trial {
            cut: self.deposit(&moved, &odd),
            stalled_share: stalled / time,
            beyond_share: beyond as f64 / deeds.len() as f64,
        }
    }

    /// The slow obvious way to the cut of a trial \[m\]: contact, spin and footprint solved again at every
    /// piece of the path. The tests hold [`HandTrials::trial`] against it; a set-up stands in the example of
    /// [`hand_variability`](super::hand_variability).
    ///
    /// # Errors
    /// A force that the pad cannot carry, a tilt outside the range of a hold.
    pub fn by_resolving(&self, number: u64) -> Result<Vec<f64>, Error> {
        let (nx, ny) = self.grid.count();
        let mut out = vec![0.0; nx * ny];
        for (deed, piece) in self.deeds(&self.hand, &[number; 5]).iter().zip(&self.pieces) {
            let setup = away(&self.task.setup, &deed.off)?;
            let run = spin_state(&setup, setup.patch(), &self.contact)?;
            if run.sticks {
                continue;
            }
            let footprint = Footprint::new(&run.contact, setup.patch(), setup.tool().rate().rad_s(), run.spin);
            let side = sideways(piece);
            let by = (deed.sideways * side.0, deed.sideways * side.1);
            let put = |p: (f64, f64)| (p.0 + by.0, p.1 + by.1);
            let slow = (piece.slowness.0 / deed.feed, piece.slowness.1 / deed.feed);
            let leg = Leg { from: put(piece.from), to: put(piece.to), slowness: slow, pass: piece.pass };
            let path = ToolPath::from_legs(vec![leg])?;
            let cut = deposit_quantity(&footprint, &path, &self.grid, Quantity::Work);
            for (sum, work) in out.iter_mut().zip(cut) {
                *sum += self.preston * work;
            }
        }
        Ok(out)
    }

    /// What the hand does at each piece.
    fn deeds(&self, hand: &HandScatter, source: &Source) -> Vec<Deed> {
        let share = hand.panel_share();
        let (over_panel, within) = (share.sqrt(), (1.0 - share).sqrt());
        let wander = |habit: Habit, part: u64| -> Option<Vec<f64>> {
            if hand.sd(habit) <= 0.0 {
                return None;
            }
            let stream = source[habit.number()] * STREAMS + 2 * (habit.number() as u64 + part);
            let steady = if share > 0.0 { over_panel * self.seed.normal(stream + 1, 0) } else { 0.0 };
            let mut z = self.process.path(|place| self.seed.normal(stream, place));
            for z in &mut z {
                *z = steady + within * *z;
            }
            Some(z)
        };
        let relative = |habit: Habit, z: Option<Vec<f64>>| {
            let s = ln_sd_of_relative(hand.sd(habit));
            z.map(|z| z.into_iter().map(|z| (s * z - 0.5 * s * s).exp()).collect::<Vec<f64>>())
        };
        let feed = relative(Habit::Feed, wander(Habit::Feed, 0));
        let force = relative(Habit::Force, wander(Habit::Force, 0));
        let rate = relative(Habit::Rate, wander(Habit::Rate, 0));
        // The second axis of the tilt takes the number after the last habit.
        let tilt = (wander(Habit::Tilt, 0), wander(Habit::Tilt, 3));
        let place = wander(Habit::Spacing, 0);
        let read = |z: &Option<Vec<f64>>, i: usize, still: f64| z.as_ref().map_or(still, |z| z[i]);
        self.pieces
            .iter()
            .enumerate()
            .map(|(i, piece)| {
                let spacing = self.spacing.get(piece.pass).copied().unwrap_or(0.0);
                Deed {
                    feed: read(&feed, i, 1.0),
                    off: Away {
                        force: read(&force, i, AT_SET_POINTS.force),
                        rate: read(&rate, i, AT_SET_POINTS.rate),
                        tilt: (
                            hand.sd(Habit::Tilt) * read(&tilt.0, i, 0.0),
                            hand.sd(Habit::Tilt) * read(&tilt.1, i, 0.0),
                        ),
                    },
                    sideways: hand.sd(Habit::Spacing) * spacing * read(&place, i, 0.0),
                }
            })
            .collect()
    }
}

/// Unit vector to the left of a piece.
fn sideways(piece: &Leg) -> (f64, f64) {
    let l = piece.length();
    (-(piece.to.1 - piece.from.1) / l, (piece.to.0 - piece.from.0) / l)
}

/// The legs of a path in even pieces of at most `longest` \[m\], turns included; legs of no length are
/// left out.
fn cut_into_pieces(path: &ToolPath, longest: f64) -> Result<Vec<Leg>, RangeError> {
    let count = |leg: &Leg| (leg.length() / longest - 1e-9).ceil().max(1.0);
    let all: f64 = path.legs().iter().map(count).sum();
    if all.is_nan() || all > MOST_PIECES as f64 {
        return Err(RangeError::new(
            "pieces of the path",
            all,
            "",
            format!("at most {MOST_PIECES}: a longer correlation time, fewer passes or a smaller panel"),
        ));
    }
    let mut out = Vec::new();
    for leg in path.legs().iter().filter(|l| l.length() > 0.0) {
        let n = count(leg);
        let slow = |share: f64| leg.slowness.0 + share * (leg.slowness.1 - leg.slowness.0);
        let mut k = 0.0;
        while k < n {
            let (a, b) = (k / n, (k + 1.0) / n);
            out.push(Leg { from: leg.at(a), to: leg.at(b), slowness: (slow(a), slow(b)), pass: leg.pass });
            k += 1.0;
        }
    }
    Ok(out)
}
